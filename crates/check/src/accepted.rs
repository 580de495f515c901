//! Accepted findings: what stood in a firm's designs on the day when the check began there.
//!
//! The list names findings by design, rule and thing, never by line, by how grave they were, and by how far they were out. It accepts
//! those and nothing else: not a second finding of the rule at the same thing, not one that has become graver, whose value lies farther
//! beyond its limit or that stands in more places, and none of a rule that guards people, for which there are departures with a reason.
//! It is never added to; it only becomes shorter.

use crate::same::{self, Known};
use crate::{Amount, Finding, Outcome, RULES, Severity};
use quantity::{Number, Quantity};
use std::collections::{HashMap, HashSet};
use yaml_tree::lines::LineIndex;
use yaml_tree::{FileId, Node};

/// The list of accepted findings.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Accepted {
    pub entries: Vec<Entry>,
    /// By design the positions of its entries.
    of_design: HashMap<String, Vec<usize>>,
}

/// An accepted finding.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Entry {
    /// The path of the design, as seen from the folder of the list, with `/` between folders.
    pub design: String,
    /// The stable name of what it is about.
    pub at: String,
    pub rule: String,
    /// How grave it was.
    pub severity: Severity,
    /// Its value in SI units, where it had one.
    pub value: Option<String>,
    /// The limit that this was held against, in SI units, where it is a number.
    pub limit: Option<String>,
    /// In how many places it stood beside its own, where there were any.
    pub places: Option<usize>,
    /// What it said then; for readers, and to tell several of one rule at one thing apart.
    pub message: String,
}

/// What is wrong with a list, and in which line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAList {
    pub line: u32,
    pub reason: String,
}

/// The keys of an entry, as they are written.
const KEYS: [&str; 7] = ["rule", "at", "severity", "value", "limit", "places", "message"];
/// How much farther out a value may come to lie and still be the finding that stood (common practice, no source): a hundredth.
const SHARE: f64 = 0.01;

/// An entry that accepts nothing.
#[derive(Debug, Clone, Copy)]
pub struct Stale<'e> {
    pub entry: &'e Entry,
    /// Whether another one that says the same has taken what stands.
    pub is_doubled: bool,
}

impl Stale<'_> {
    pub fn sentence(&self) -> String {
        let Entry { design, at, rule, severity, .. } = self.entry;
        if self.is_doubled {
            return format!("{design}: {rule} at {at} stands more often in the list than in the design");
        }
        let severity = severity.word();
        let said = format!("{design}: {rule} at {at} was accepted as {severity} and no longer stands as such");
        if RULES.iter().any(|it| it.name == rule) {
            return said;
        }
        match design::nearest(rule, RULES.iter().map(|it| it.name)) {
            Some(meant) => format!("{said}; no rule of the program is called {rule}; did you mean {meant}"),
            None => format!("{said}; no rule of the program is called {rule}"),
        }
    }
}

impl Entry {
    /// Whether a finding of its rule at its thing is no worse than what stood; `places` are those that it stands in beside its own.
    fn accepts(&self, finding: &Finding, places: usize) -> bool {
        let number = |written: &Option<String>| written.as_ref().and_then(|it| it.parse::<f64>().ok());
        let is_farther =
            number(&self.value).zip(measured(finding)).is_some_and(|(was, Measured { value, limit, side })| {
                // A list that was written before limits stood in it goes by the value alone.
                let moved = number(&self.limit).zip(limit).map_or(0.0, |(was, limit)| limit - was);
                let farther = (value - was - moved) * side;
                farther > SHARE * was.abs() || is_count(finding) && farther > 0.0
            });
        // A list that was written before places were counted says nothing of them.
        let in_more = self.places.is_some_and(|was| places > was);
        finding.severity <= self.severity && !is_farther && !in_more && may_be_accepted(finding)
    }
}

/// How far out a finding lies, in SI units.
struct Measured {
    value: f64,
    limit: Option<f64>,
    /// The side of the limit that it lies on. Where there is no limit in numbers the value is how much is wrong, such as a number of
    /// passes without a sleeve, and more is worse.
    side: f64,
}

fn measured(finding: &Finding) -> Option<Measured> {
    let Amount { value, unit } = finding.value?;
    let limit = finding.limit.as_ref().and_then(|it| it.amount).filter(|limit| limit.unit == unit);
    let limit = limit.map(|limit| limit.value);
    Some(Measured { value, limit, side: limit.map_or(1.0, |limit| (value - limit).signum()) })
}

/// Six digits are more than anyone measures, and let a list be read.
fn six_digits(value: f64) -> String {
    format!("{value:.5e}").parse().unwrap_or(value).to_string()
}

/// Whether the value of a finding is a number of things, of which one more is one more.
fn is_count(finding: &Finding) -> bool {
    finding.value.is_some_and(|it| it.unit == Number::SI_UNIT && it.value.fract() == 0.0)
}

/// For each finding, those that are told with others behind, in how many places it stands beside its own. What only follows from it is
/// told there too, and is a finding of its own.
fn places(outcome: &Outcome) -> Vec<usize> {
    let mut places: Vec<usize> = outcome.findings.iter().chain(&outcome.followers).map(|it| it.related.len()).collect();
    for cause in &outcome.causes {
        places[*cause] = places[*cause].saturating_sub(1);
    }
    places
}

impl Accepted {
    pub fn new(mut entries: Vec<Entry>) -> Accepted {
        entries.sort();
        let mut of_design: HashMap<String, Vec<usize>> = HashMap::new();
        for (at, entry) in entries.iter().enumerate() {
            of_design.entry(entry.design.clone()).or_default().push(at);
        }
        Accepted { entries, of_design }
    }

    /// Reads a list as [`Accepted::text`] writes it.
    pub fn read(text: &str) -> Result<Accepted, NotAList> {
        let lines = LineIndex::new(text);
        let wrong = |start: u32, reason: String| NotAList { line: lines.line(start as usize), reason };
        let tree = yaml_tree::parse(FileId::new(0), text);
        if let Some(fault) = tree.faults.first() {
            return Err(wrong(fault.place.start, fault.kind.to_string()));
        }
        let Some(root) = &tree.root else { return Err(wrong(0, "the list is empty".into())) };
        if root.get("format").and_then(Node::as_text) != Some("1") {
            return Err(wrong(root.place.start, "a list of accepted findings begins with `format: 1`".into()));
        }
        known(root, &["format", "accepted"], "a list of accepted findings")
            .map_err(|(at, reason)| wrong(at, reason))?;
        let designs = root.entry("accepted").map(|(_, designs)| designs);
        let Some(designs) = designs else { return Err(wrong(root.place.start, "`accepted` is missing".into())) };
        let mut entries = Vec::new();
        if designs.is_null() {
            return Ok(Accepted::new(entries));
        }
        let Some(designs) = designs.as_map() else {
            return Err(wrong(
                designs.place.start,
                "`accepted` wants the findings of each design under its path".into(),
            ));
        };
        for (design, findings) in designs {
            let (Some(path), Some(findings)) = (design.as_text(), findings.as_list()) else {
                return Err(wrong(design.place.start, "a list of findings belongs under the path of a design".into()));
            };
            for finding in findings {
                known(finding, &KEYS, "an accepted finding").map_err(|(at, reason)| wrong(at, reason))?;
                let text = |key: &str| {
                    let text = finding.get(key).and_then(Node::as_text).filter(|text| !text.is_empty());
                    text.map(str::to_string)
                        .ok_or_else(|| wrong(finding.place.start, format!("the finding has no `{key}`")))
                };
                let weight = text("severity")?;
                let Some(severity) = Severity::ALL.into_iter().find(|it| it.word() == weight) else {
                    let words = Severity::ALL.map(Severity::word).join(", ");
                    return Err(wrong(finding.place.start, format!("`{weight}` is no severity; there are {words}")));
                };
                let number = |key: &str| {
                    let number = finding.get(key).map(|it| it.as_text().unwrap_or_default().to_string());
                    match number.filter(|it| !it.parse().is_ok_and(f64::is_finite)) {
                        Some(wrongly) => {
                            let reason = format!("`{wrongly}` is no {key} in SI units: a number without its unit");
                            Err(wrong(finding.place.start, reason))
                        }
                        None => Ok(finding.get(key).and_then(Node::as_text).map(str::to_string)),
                    }
                };
                let places = finding.get("places").map(|it| it.as_text().unwrap_or_default());
                if let Some(places) = places.filter(|it| it.parse::<usize>().is_err()) {
                    return Err(wrong(finding.place.start, format!("`{places}` is no number of places")));
                }
                entries.push(Entry {
                    design: path.into(),
                    at: text("at")?,
                    rule: text("rule")?,
                    severity,
                    value: number("value")?,
                    limit: number("limit")?,
                    places: places.and_then(|it| it.parse().ok()),
                    message: text("message")?,
                });
            }
        }
        Ok(Accepted::new(entries))
    }

    /// The list as a file: sorted, one finding a line, so that a change of it can be read.
    pub fn text(&self) -> String {
        let mut text = HEAD.to_string();
        let mut design = None;
        for entry in &self.entries {
            if design != Some(&entry.design) {
                text += &format!("  {}:\n", written(&entry.design));
                design = Some(&entry.design);
            }
            let Entry { at, rule, severity, value, limit, places, message, .. } = entry;
            let (rule, at, severity, message) = (written(rule), written(at), severity.word(), quoted(message));
            let value = value.as_ref().map(|value| format!(", value: {value}")).unwrap_or_default();
            let limit = limit.as_ref().map(|limit| format!(", limit: {limit}")).unwrap_or_default();
            let places = places.map(|places| format!(", places: {places}")).unwrap_or_default();
            text += &format!(
                "    - {{rule: {rule}, at: {at}, severity: {severity}{value}{limit}{places}, message: {message}}}\n"
            );
        }
        text
    }

    /// The findings of a design that a list may accept.
    pub fn of(design: &str, outcome: &Outcome) -> Vec<Entry> {
        // What follows from another stands too, and would be told once that is mended.
        let all = outcome.findings.iter().chain(&outcome.followers).zip(places(outcome));
        let findings = all.filter(|(finding, _)| may_be_accepted(finding));
        let entry = |(finding, places): (&Finding, usize)| Entry {
            design: design.to_string(),
            at: finding.at(&outcome.design),
            rule: finding.rule.name.to_string(),
            severity: finding.severity,
            value: measured(finding).map(|it| six_digits(it.value)),
            limit: measured(finding).and_then(|it| it.limit).map(six_digits),
            places: Some(places),
            message: finding.message.clone(),
        };
        findings.map(entry).collect()
    }

    /// Sets the findings of a design that the list accepts apart, and gives the positions of the entries that something stands behind:
    /// a finding that is accepted, or one that has become worse and says so. What follows from one that is accepted is told for itself,
    /// unless the list accepts it too.
    pub fn accept(&self, design: &str, outcome: &mut Outcome) -> Vec<usize> {
        let Some(own) = self.of_design.get(design) else { return Vec::new() };
        let all: Vec<&Finding> = outcome.findings.iter().chain(&outcome.followers).collect();
        let (of, places) = (all.iter().map(|finding| finding.at(&outcome.design)).collect::<Vec<_>>(), places(outcome));
        let now: Vec<Known> =
            (all.iter().zip(&of)).map(|(it, at)| Known { rule: it.rule.name, at, message: &it.message }).collect();
        let then: Vec<Known> = (own.iter().map(|at| &self.entries[*at]))
            .map(|it| Known { rule: &it.rule, at: &it.at, message: &it.message })
            .collect();
        let accepts = |finding: usize, entry: usize| self.entries[own[entry]].accepts(all[finding], places[finding]);
        let by = same::pairs(&now, &then, accepts);
        let taken: HashSet<usize> = by.iter().flatten().copied().collect();
        let is_worse = |finding: usize, entry: usize| {
            by[finding].is_none() && !taken.contains(&entry) && may_be_accepted(all[finding])
        };
        let worse = same::pairs(&now, &then, is_worse);
        let standing = by.iter().chain(&worse).flatten().map(|entry| own[*entry]).collect();
        let was: Vec<(usize, String)> = worse
            .iter()
            .enumerate()
            .filter_map(|(finding, entry)| Some((finding, self.entries[own[(*entry)?]].message.clone())))
            .collect();
        let goes: Vec<bool> = by.iter().map(Option::is_some).collect();
        let told = outcome.findings.len();
        for (finding, was) in was {
            let findings = &mut outcome.findings;
            let finding = if finding < told { &mut findings[finding] } else { &mut outcome.followers[finding - told] };
            finding.accepted_as = Some(was);
        }
        let accepted = outcome.take_out(&goes);
        outcome.accepted.extend(accepted);
        standing
    }
}

/// Where a key stands that is none of these, and what is to be said of it.
fn known(of: &Node, keys: &[&str], what: &str) -> Result<(), (u32, String)> {
    for (key, _) in of.as_map().into_iter().flatten() {
        let name = key.as_text().unwrap_or_default();
        if keys.contains(&name) {
            continue;
        }
        let meant = design::nearest(name, keys.iter().copied()).map(|it| format!("; did you mean `{it}`"));
        let all = keys.join("`, `");
        let reason = format!("{what} has no `{name}`; it has `{all}`{}", meant.unwrap_or_default());
        return Err((key.place.start, reason));
    }
    Ok(())
}

/// Whether a list can accept a finding. What guards people, and what stands in the way of reading, it cannot.
fn may_be_accepted(finding: &Finding) -> bool {
    !finding.rule.stays_as_it_is()
}

const HEAD: &str = "\
# Findings that stood when this list was written. A check with `--accepted` counts them and does not fail for them.
# The list only becomes shorter: with `--write-accepted` a check takes out what stands no more, and adds nothing.
# To accept a finding on purpose, write a departure into the design, with its reason.
format: 1
accepted:
";

/// A text as it is written in a list: in quotes where it needs them.
fn written(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
    let needs_none = text.chars().all(plain) && text.starts_with(|c: char| c.is_ascii_alphabetic() || c == '.');
    if needs_none { text.to_string() } else { quoted(text) }
}

fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("a text can be written")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::job;
    use crate::check;

    fn outcome(text: &str) -> Outcome {
        check(&job(text))
    }

    /// A design with a floor of each name, whose insulation over the ground is as thick as given, in millimetres.
    fn floors(stage: &str, floors: &[(&str, u32)]) -> String {
        let base = include_str!("bench/base.ufh.yaml").replace("stage: for construction", &format!("stage: {stage}"));
        let (before, floor) = base.split_once("  screeded:\n").expect("the base has a floor");
        let (floor, after) = floor.split_once("rooms:\n").expect("rooms stand behind it");
        let mut text = before.to_string();
        for (name, thickness) in floors {
            text += &format!("  {name}:\n{}", floor.replace("130 mm", &format!("{thickness} mm")));
        }
        // One room stands on the first of them, one on the last.
        let on = |at: usize| format!("floor: {}", floors[at].0);
        let after = after.replacen("floor: screeded", &on(0), 1).replacen("floor: screeded", &on(floors.len() - 1), 1);
        text + "rooms:\n" + &after
    }

    fn rules_at(outcome: &Outcome) -> Vec<(&str, String)> {
        outcome.findings.iter().map(|it| (it.rule.name, it.at(&outcome.design))).collect()
    }

    #[test]
    fn what_is_written_is_read_and_accepts_what_stood() {
        let text = floors("for comment", &[("thin", 20), ("\"odd: ü\"", 25)]);
        let before = outcome(&text);
        let list = Accepted::new(Accepted::of("b/a.ufh.yaml", &before));
        assert_eq!(Accepted::read(&list.text()), Ok(list.clone()), "{}", list.text());
        assert!(list.entries.iter().any(|it| it.rule == "insulation-below-minimum" && it.at == "floors/thin"));

        // Another line, another value: the same finding.
        let mut after = outcome(&format!("# moved\n{}", text.replace("20 mm", "22 mm")));
        let standing = rules_at(&before).len();
        let held = list.accept("b/a.ufh.yaml", &mut after);
        assert_eq!(held.len(), list.entries.len(), "{:#?}", after.findings);
        assert_eq!(after.accepted.len() + after.findings.len(), standing);
        assert!(after.findings.iter().all(|it| it.rule.stays_as_it_is()), "{:?}", rules_at(&after));

        let mut elsewhere = outcome(&text);
        assert!(list.accept("a.ufh.yaml", &mut elsewhere).is_empty() && elsewhere.accepted.is_empty());
    }

    #[test]
    fn what_is_new_is_not_accepted() {
        let list = Accepted::new(Accepted::of("a", &outcome(&floors("for comment", &[("thin", 20)]))));
        let mut more = outcome(&floors("for comment", &[("thin", 20), ("cold", 25)]));
        list.accept("a", &mut more);
        let left = rules_at(&more);
        assert!(left.contains(&("insulation-below-minimum", "floors/cold".into())), "{left:?}");
        assert!(!left.contains(&("insulation-below-minimum", "floors/thin".into())), "{left:?}");
    }

    /// A coil that is too short is told with the length of the loop, and is a fault of its own once that is accepted.
    #[test]
    fn what_follows_from_an_accepted_finding_is_told_unless_it_was_accepted_too() {
        let text = |coil: &str| {
            let base = include_str!("bench/base.ufh.yaml");
            let text = base.replacen("tails: 10 m, coil: 100 m", &format!("tails: 60 m, coil: {coil}"), 1);
            assert_ne!(text, base);
            text
        };
        let long = outcome(&text("200 m"));
        let both = outcome(&text("100 m"));
        let has = |findings: &[Finding], rule: &str| findings.iter().any(|it| it.rule.name == rule);
        assert!(has(&both.findings, "loop-over-maximum-length") && has(&both.followers, "loop-longer-than-coil"));
        let list = Accepted::new(Accepted::of("a", &long));
        let mut now = outcome(&text("100 m"));
        list.accept("a", &mut now);
        assert!(has(&now.accepted, "loop-over-maximum-length") && has(&now.findings, "loop-longer-than-coil"));
        assert!(now.findings.is_sorted_by_key(|it| it.place));
        let list = Accepted::new(Accepted::of("a", &both));
        let mut now = outcome(&text("100 m"));
        assert_eq!(list.accept("a", &mut now).len(), list.entries.len());
        assert!(!has(&now.findings, "loop-longer-than-coil") && has(&now.accepted, "loop-longer-than-coil"));
    }

    #[test]
    fn what_has_become_graver_is_not_accepted() {
        let before = outcome(&floors("preliminary", &[("thin", 20)]));
        let list = Accepted::new(Accepted::of("a", &before));
        let mut after = outcome(&floors("for construction", &[("thin", 20)]));
        let weight = |outcome: &Outcome| {
            let found = outcome.findings.iter().find(|it| it.rule.name == "insulation-below-minimum");
            found.map(|it| it.severity)
        };
        assert!(weight(&after) > weight(&before), "the rule weighs more for construction");
        list.accept("a", &mut after);
        assert!(weight(&after).is_some());
    }

    /// A hall's loop of a greater length is worse by as much; one that is shorter is what stood, and so is one within a hundredth.
    #[test]
    fn what_lies_farther_beyond_its_limit_is_not_accepted() {
        let long = |tails: u32| {
            outcome(&include_str!("bench/base.ufh.yaml").replacen(
                "tails: 10 m, coil: 100 m",
                &format!("tails: {tails} m, coil: 200 m"),
                1,
            ))
        };
        let rule = "loop-over-maximum-length";
        let list = Accepted::new(Accepted::of("a", &long(60)));
        let entry = list.entries.iter().find(|it| it.rule == rule).expect("the loop is too long");
        assert_eq!(entry.value.as_deref(), Some("140"), "12 m² at 150 mm and 60 m of tails");
        for (tails, is_accepted) in [(55, true), (60, true), (61, true), (62, false), (80, false)] {
            let mut now = long(tails);
            list.accept("a", &mut now);
            assert_eq!(now.accepted.iter().any(|it| it.rule.name == rule), is_accepted, "{tails} m");
            assert_eq!(now.findings.iter().any(|it| it.rule.name == rule), !is_accepted, "{tails} m");
        }
        // Thinner insulation is worse, and so less is worse where the limit is a least one.
        let thin = |thickness| outcome(&floors("for comment", &[("thin", thickness)]));
        let list = Accepted::new(Accepted::of("a", &thin(25)));
        for (thickness, is_accepted) in [(30, true), (25, true), (20, false)] {
            let mut now = thin(thickness);
            list.accept("a", &mut now);
            let stands = now.findings.iter().any(|it| it.rule.name == "insulation-below-minimum");
            assert_eq!(stands, !is_accepted, "{thickness} mm");
        }
        // A list without values, as the first ones were, goes by how grave things are.
        let without =
            list.entries.iter().map(|it| Entry { value: None, limit: None, places: None, ..it.clone() }).collect();
        let mut now = thin(20);
        Accepted::new(without).accept("a", &mut now);
        assert!(now.findings.iter().all(|it| it.rule.name != "insulation-below-minimum"));
    }

    #[test]
    fn an_entry_of_a_rule_that_there_is_not_says_which_was_meant() {
        let list =
            "format: 1\naccepted:\n  a:\n    - {rule: loop-over-maximum-lenght, at: x, severity: error, message: z}\n";
        let list = Accepted::read(list).expect("it is a list");
        assert!(
            Stale { entry: &list.entries[0], is_doubled: false }
                .sentence()
                .ends_with("did you mean loop-over-maximum-length")
        );
    }

    #[test]
    fn a_second_finding_at_the_same_thing_is_new() {
        let text = floors("for comment", &[("thin", 20)]);
        let first = Accepted::of("a", &outcome(&text)).into_iter().find(|it| it.rule == "insulation-below-minimum");
        let first = first.expect("the insulation is too thin");
        let list = Accepted::new(vec![first.clone()]);
        let mut twice = outcome(&text);
        let same = twice.findings.iter().find(|it| it.rule.name == first.rule).cloned().expect("it is found again");
        let mut second = same;
        second.message = "another".into();
        twice.findings.push(second);
        list.accept("a", &mut twice);
        assert_eq!(twice.accepted.len(), 1);
        assert_eq!(twice.accepted[0].message, first.message);
        assert!(twice.findings.iter().any(|it| it.message == "another"));
    }

    #[test]
    fn what_guards_people_is_not_accepted() {
        let text = "format: 1\nproject: {stage: for construction}\nrooms: {hall: {area: 12}}\n";
        let before = outcome(text);
        let entry = |rule: &str, at: &str| Entry {
            design: "a".into(),
            at: at.into(),
            rule: rule.into(),
            severity: Severity::Error,
            value: None,
            limit: None,
            places: None,
            message: "x".into(),
        };
        let entries = before.findings.iter().map(|it| entry(it.rule.name, &it.at(&before.design))).collect();
        let mut after = outcome(text);
        Accepted::new(entries).accept("a", &mut after);
        assert!(after.findings.iter().any(|it| it.rule.name == "unit-missing-or-wrong"));
        assert!(after.accepted.iter().all(|it| !it.rule.stays_as_it_is()));
        assert!(Accepted::of("a", &before).iter().all(|it| it.rule != "unit-missing-or-wrong"));
    }

    /// One that has become worse stands and says what it was; its entry is not told as one that is gone.
    #[test]
    fn what_has_become_worse_says_what_it_was_and_keeps_its_entry() {
        let thin = |thickness| outcome(&floors("for comment", &[("thin", thickness)]));
        let rule = "insulation-below-minimum";
        let list = Accepted::new(Accepted::of("a", &thin(25)));
        let at = list.entries.iter().position(|it| it.rule == rule).expect("the insulation is too thin");
        let mut now = thin(20);
        assert!(list.accept("a", &mut now).contains(&at));
        let found = now.findings.iter().find(|it| it.rule.name == rule).expect("it is thinner still");
        assert_eq!(found.accepted_as.as_ref(), Some(&list.entries[at].message));
        // Thick enough, there is nothing behind it.
        assert!(!list.accept("a", &mut thin(200)).contains(&at));
    }

    /// A wall that is passed without sleeves twice, and then four times; a manifold with one port too few, and then two.
    #[test]
    fn what_stands_in_more_places_is_not_accepted() {
        let base = include_str!("bench/base.ufh.yaml");
        let passes = |legs: usize| {
            let route: Vec<String> = (0..legs)
                .flat_map(|leg| {
                    let (from, to) = if leg % 2 == 0 { (6, 1) } else { (1, 6) };
                    [from, to].map(|x| format!("[{x}, {}]", 0.5 + 0.3 * leg as f64))
                })
                .collect();
            let (before, _) = base.split_once("loops:\n").expect("the base has loops");
            let wall = "walls:\n  W1: {line: [[5, 0], [5, 4]]}\n";
            let route = route.join(", ");
            outcome(&format!(
                "{before}{wall}loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, route: [{route}]}}\n"
            ))
        };
        let ports = |ports: usize, loops: usize| {
            let (before, _) = base.split_once("loops:\n").expect("the base has loops");
            let (start, manifolds) = before.split_once("manifolds:\n").expect("the base has manifolds");
            let after = manifolds.split_once("\n").map_or("", |(_, after)| after);
            let loops: String = (1..=loops)
                .map(|at| {
                    format!("  L{at}: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}}\n")
                })
                .collect();
            outcome(&format!("{start}manifolds:\n  M1: {{ports: {ports}}}\n{after}loops:\n{loops}"))
        };
        for (rule, then, rest) in [
            ("sleeve-missing-at-wall", passes(4), [(passes(4), true), (passes(3), true), (passes(5), false)]),
            ("ports-too-few", ports(4, 5), [(ports(4, 5), true), (ports(5, 6), false), (ports(4, 6), false)]),
        ] {
            let list = Accepted::new(Accepted::of("a", &then));
            assert_eq!(Accepted::read(&list.text()), Ok(list.clone()));
            assert!(list.entries.iter().any(|it| it.rule == rule), "{:#?}", list.entries);
            for (number, (mut now, is_accepted)) in rest.into_iter().enumerate() {
                list.accept("a", &mut now);
                let stands = now.findings.iter().any(|it| it.rule.name == rule);
                assert_eq!(stands, !is_accepted, "{rule} {number}");
                assert_eq!(now.accepted.iter().any(|it| it.rule.name == rule), is_accepted, "{rule} {number}");
            }
        }
    }

    #[test]
    fn what_is_no_list_is_told_with_its_line() {
        for (text, line, reason) in [
            ("", 1, "empty"),
            ("format: 2\naccepted: {}\n", 1, "format: 1"),
            ("format: 1\n", 1, "`accepted` is missing"),
            ("format: 1\naccepted: [1]\n", 2, "under its path"),
            ("format: 1\naccepted:\n  a.ufh.yaml: 3\n", 3, "list of findings"),
            ("format: 1\naccepted:\n  a:\n    - {rule: x, at: y, message: z}\n", 4, "no `severity`"),
            (
                "format: 1\naccepted:\n  a:\n    - {rule: x, at: y, severity: bad, message: z}\n",
                4,
                "`bad` is no severity",
            ),
            (
                "format: 1\naccepted:\n  a:\n    - {rule: x, at: y, severity: error, value: 3 m, message: z}\n",
                4,
                "`3 m` is no value in SI units",
            ),
            (
                "format: 1\naccepted:\n  a:\n    - {rule: x, at: y, sevrity: error, message: z}\n",
                4,
                "an accepted finding has no `sevrity`; it has `rule`, `at`, `severity`, `value`, `limit`, `places`, `message`; did you mean `severity`",
            ),
            ("format: 1\nacepted:\n", 2, "no `acepted`; it has `format`, `accepted`; did you mean `accepted`"),
            ("format: 1\naccepted: {\n", 2, "closed"),
        ] {
            let wrong = Accepted::read(text).expect_err(text);
            assert!(wrong.line == line && wrong.reason.contains(reason), "{text:?}: {wrong:?}");
        }
        assert_eq!(Accepted::read("format: 1\naccepted:\n"), Ok(Accepted::default()));
    }
}
