//! The record of the check: every rule and what came of it, what was found, what could not be checked, what was agreed.

use super::Issue;
use super::sheet::{Sheet, Table};
use super::sources::printed;
use crate::findings::by_rule;
use crate::words::count;
use crate::{CAUTION, Summary};
use check::{Finding, Severity, Weight};
use std::collections::{BTreeMap, HashMap};

pub fn sheet(issue: &Issue) -> Sheet {
    let outcome = issue.outcome;
    let stage = outcome.design.stage();
    let mut sheet = Sheet::new("record", "Check record");
    let ran = outcome.house.rules().filter(|rule| outcome.house.weight(rule, stage) != Weight::Silent).count();
    let standard = outcome.sources.iter().skip(1).find(|it| design::is_house_standard(&it.path));
    sheet.table(Table::of_facts([
        ("checked as on", issue.day.to_string()),
        ("stage", stage.word().to_string()),
        ("program", format!("hypocaust {}", env!("CARGO_PKG_VERSION"))),
        ("house standard", standard.map_or("none".into(), |it| format!("{} ({})", outcome.house.name(), it.path))),
        ("rules run", format!("{ran} of {}", outcome.house.rules().count())),
        ("found", Summary::of(outcome).sentence()),
    ]));
    sheet.words(CAUTION);
    departures(issue, &mut sheet);
    findings(issue, &mut sheet);
    not_checked(issue, &mut sheet);
    house_standard(issue, &mut sheet);
    every_rule(issue, &mut sheet);
    sheet
}

fn departures(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    sheet.heading("Departures");
    if outcome.departed.is_empty() {
        sheet.words("None: no finding was accepted on purpose.");
        return;
    }
    sheet.words("A departure accepts a finding; it does not remove the fault.");
    let mut table = Table::new(["*rule", "at", "what was found", "reason", "agreed by", "until"]);
    for (finding, by) in &outcome.departed {
        let Some(departure) = outcome.design.departures.get(*by).map(|it| &it.value) else { continue };
        let text =
            |given: &design::Given<String>| given.as_ref().map_or("–".to_string(), |it| it.value.trim().to_string());
        table.row([
            finding.rule.name.to_string(),
            finding.at(&outcome.design),
            format!("{}: {}", finding.severity.word(), finding.message),
            text(&departure.reason),
            text(&departure.agreed_by),
            departure.until.map_or("–".to_string(), |it| it.value.to_string()),
        ]);
    }
    sheet.table(table);
}

fn findings(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    sheet.heading("Findings that stand");
    if outcome.findings.is_empty() {
        sheet.words("None.");
    } else {
        let mut table = Table::new(["*weight", "rule", "at", "what was found", "whose limit"]);
        let row = |finding: &Finding| {
            let whose =
                finding.limit.as_ref().map_or("–".to_string(), |limit| printed(&limit.whose(&outcome.sources)));
            let caution = finding.rule.caution.map_or(String::new(), |caution| format!("\n{caution}"));
            let at = finding.at(&outcome.design);
            [
                finding.severity.word().to_string(),
                finding.rule.name.to_string(),
                at,
                format!("{}{caution}", finding.message),
                whose,
            ]
        };
        for severity in Severity::ALL.into_iter().rev() {
            for finding in outcome.findings.iter().filter(|it| it.severity == severity) {
                table.row(row(finding));
            }
        }
        for finding in &outcome.followers {
            let mut cells = row(finding);
            cells[0] = format!("follows: {}", cells[0]);
            table.row(cells);
        }
        sheet.table(table);
    }
    if !outcome.followers.is_empty() {
        sheet.words("“Follows” marks what only follows from another finding of this table.");
    }
}

fn not_checked(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    sheet.heading("Not checked");
    if outcome.not_checked.is_empty() {
        sheet.words("None: every rule had what it needs.");
        return;
    }
    sheet.words("What a rule could not look at, and the field of the design, or the reason, that would let it.");
    let mut table = Table::new(["*rule", "missing"]);
    for (rule, missing) in by_rule(outcome) {
        table.row([rule.name, &missing.join("; ")]);
    }
    sheet.table(table);
}

/// What the house standard has otherwise than the rules.
fn house_standard(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    let stage = outcome.design.stage();
    let mut limits = Table::new(["*rule", "limit", "by the rule", "by the house standard", "why"]);
    let mut weights = Table::new(["*rule", "by the rule", "by the house standard"]);
    for rule in outcome.house.rules() {
        for limit in rule.limits {
            if let Some(own) = outcome.house.limit(rule, limit.name) {
                let by_rule = format!("{} ({})", limit.value, printed(limit.source));
                let why = own.reason.as_deref().unwrap_or("–");
                limits.row([rule.name, limit.name, &by_rule, &own.text, why]);
            }
        }
        let (usual, own) = (rule.weight(stage), outcome.house.weight(rule, stage));
        if usual != own && own != Weight::Silent {
            weights.row([rule.name, word(usual), word(own)]);
        }
    }
    let mut off = Table::new(["*rule", "why it is not run"]);
    for it in outcome.house.switched_off() {
        off.row([it.rule.name, &it.reason]);
    }
    for (title, table) in [
        ("Limits that the house standard moves", limits),
        ("Weights that the house standard changes", weights),
        ("Rules that the house standard switches off", off),
    ] {
        if !table.rows.is_empty() {
            sheet.heading(title);
            sheet.table(table);
        }
    }
}

fn word(weight: Weight) -> &'static str {
    weight.severity().map_or("silent", Severity::word)
}

fn every_rule(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    let stage = outcome.design.stage();
    let tally = |rules: &mut dyn Iterator<Item = &'static str>| {
        let mut tally: HashMap<&'static str, usize> = HashMap::new();
        for rule in rules {
            *tally.entry(rule).or_default() += 1;
        }
        tally
    };
    let found = tally(&mut outcome.findings.iter().chain(&outcome.followers).map(|it| it.rule.name));
    let departed = tally(&mut outcome.departed.iter().map(|it| it.0.rule.name));
    let not_checked = tally(&mut outcome.not_checked.iter().map(|it| it.rule.name));
    sheet.heading("Every rule");
    sheet.words("What came of each. “hypocaust guidance RULE” prints what a rule asks, why, how it is worked out, and whose the limit is.");
    type Came<'r> = BTreeMap<(u8, String), Vec<&'r str>>;
    let mut groups: Vec<(&str, Came)> = Vec::new();
    for rule in outcome.house.rules() {
        let group = rule.group.word();
        let at = groups.iter().position(|it| it.0 == group).unwrap_or_else(|| {
            groups.push((group, Came::new()));
            groups.len() - 1
        });
        let of = |tally: &HashMap<&str, usize>| tally.get(rule.name).copied().unwrap_or_default();
        let said = [
            (of(&found) > 0).then(|| format!("{} found", of(&found))),
            (of(&departed) > 0).then(|| count(of(&departed), "departure", "departures")),
            (of(&not_checked) > 0).then(|| format!("{} not checked", of(&not_checked))),
        ];
        let said: Vec<String> = said.into_iter().flatten().collect();
        let came = match (outcome.house.weight(rule, stage), said.is_empty()) {
            (Weight::Silent, _) => (2, "not run at this stage".to_string()),
            (_, true) => (1, "no finding: nothing out of line, or nothing of the kind to look at".to_string()),
            (_, false) => (0, said.join(", ")),
        };
        groups[at].1.entry(came).or_default().push(rule.name);
    }
    let mut table = Table::new(["*came of it", "rules"]);
    for (group, rules) in groups {
        table.head(group);
        for ((_, came), rules) in rules {
            table.row([came, rules.join(", ")]);
        }
    }
    sheet.table(table);
}
