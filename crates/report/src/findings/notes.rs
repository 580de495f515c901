//! What stands under a finding, a line each: whose the limit is, the figure, the page, the caution, the remedies.

use crate::places::{Text, Texts};
use crate::words::{file_name, sentence};
use check::{Finding, Outcome, Place, Rule, Severity};
use std::collections::{HashMap, HashSet};

pub fn notes(finding: &Finding, outcome: &Outcome) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(was) = &finding.accepted_as {
        notes.push(format!("accepted before, and worse now; then it was: {}", sentence(was)));
    }
    if let Some(limit) = &finding.limit {
        notes.push(format!("source: {}", sentence(&limit.whose(&outcome.sources))));
    }
    if let Some(figure) = &finding.figure {
        notes.push(format!("workings: {}", sentence(figure)));
    }
    notes.extend(outcome.house.page_of(finding.rule).map(|page| format!("guidance: {page}")));
    notes.extend(finding.rule.caution.map(|caution| format!("caution: {caution}")));
    notes.extend(finding.remedies.iter().map(|remedy| format!("remedy: {}", sentence(&remedy.title))));
    notes
}

/// The notes, with the related places before them.
pub fn notes_and_places(finding: &Finding, outcome: &Outcome, texts: &Texts) -> Vec<String> {
    let related = finding.related.iter().map(|it| match texts.of(it.place) {
        Some(text) => format!("{}: {}", sentence(&it.message), position(text, it.place)),
        None => sentence(&it.message).into_owned(),
    });
    related.chain(notes(finding, outcome)).collect()
}

/// Where a place begins: `house.ufh.yaml:12:3`.
pub fn position(text: &Text, place: Place) -> String {
    let position = text.position(place.range().start);
    format!("{}:{}:{}", file_name(text.path), position.line, position.column)
}

/// The findings with the gravest first, for forms of which readers and hosts show only the beginning.
pub fn gravest_first(findings: &[Finding]) -> Vec<(usize, &Finding)> {
    let mut findings: Vec<(usize, &Finding)> = findings.iter().enumerate().collect();
    findings.sort_by_key(|(at, finding)| (std::cmp::Reverse(finding.severity), *at));
    findings
}

/// The word for a severity where a form knows three: information and hints are notes.
pub fn one_of_three(severity: Severity, note: &'static str) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => note,
    }
}

/// A finding in one line, as compilers write them: `house.ufh.yaml:12:3: error[rule]: message`.
pub fn one_line(finding: &Finding, texts: &Texts) -> String {
    let position =
        texts.of(finding.place).map(|text| format!("{}: ", position(text, finding.place))).unwrap_or_default();
    format!("{position}{}[{}]: {}", finding.severity.word(), finding.rule.name, sentence(&finding.message))
}

/// What was not checked, the rules in the order in which they come, each missing field once.
pub fn by_rule(outcome: &Outcome) -> Vec<(&'static Rule, Vec<String>)> {
    let mut by_rule: Vec<(&'static Rule, Vec<String>)> = Vec::new();
    let mut position = HashMap::new();
    let mut seen = HashSet::new();
    for it in &outcome.not_checked {
        let at = *position.entry(it.rule.name).or_insert_with(|| {
            by_rule.push((it.rule, Vec::new()));
            by_rule.len() - 1
        });
        let missing = it.missing(&outcome.design);
        if seen.insert((it.rule.name, missing.clone())) {
            by_rule[at].1.push(missing);
        }
    }
    by_rule
}
