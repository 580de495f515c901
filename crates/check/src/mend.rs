//! Making the changes of remedies, one after the other, until none is left to make.

use crate::remedy::{Checked, is_of_reading, prove_by_reading, trials};
use crate::{Change, Finding, Job, Outcome, Remedy, Rule, Severity, look};
use design::{FileId, Stage};
use std::collections::HashSet;

/// A design that was mended.
#[derive(Debug)]
pub struct Mended {
    /// The changed text of the design.
    pub text: String,
    /// What was done, in that order.
    pub done: Vec<Done>,
    /// What a check says of the changed text; no remedies were tried.
    pub left: Outcome,
    /// Whether only slips of writing were mended: the design is `as built`, and what was built is not changed by a file.
    pub only_slips: bool,
}

/// A remedy that was applied.
#[derive(Debug, Clone)]
pub struct Done {
    pub rule: &'static Rule,
    /// The stable name of what the finding was about.
    pub at: String,
    pub message: String,
    pub title: String,
}

/// Applies the first remedy of each finding that `wanted` picks, the gravest first, each shown to clear its finding and to
/// bring no new error; then checks and goes on, until there is none to apply. Changes no library.
pub fn mend(job: &Job, wanted: impl Fn(&Finding) -> bool) -> Mended {
    const MOST_ROUNDS: usize = 300;
    let mut outcome = look(job);
    let only_slips = outcome.design.stage() == Stage::AsBuilt;
    let mut text = outcome.sources.first().map(|source| source.text.clone()).unwrap_or_default();
    let mut seen: HashSet<String> = HashSet::from([text.clone()]);
    let mut failed: HashSet<(&'static str, String)> = HashSet::new();
    let mut done = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let now = of(job, &text);
        let wanted = |finding: &Finding| wanted(finding) && (!only_slips || is_of_reading(finding));
        let Some((next, made)) = step(&now, &mut outcome, &wanted, &mut failed, &seen) else { break };
        done.extend(made);
        seen.insert(next.clone());
        text = next;
        outcome = look(&of(job, &text));
    }
    outcome.findings.iter_mut().for_each(|finding| finding.remedies.clear());
    Mended { text, done, left: outcome, only_slips }
}

/// The same job on another text.
fn of<'j>(job: &Job<'j>, text: &'j str) -> Job<'j> {
    Job { bytes: text.as_bytes(), ..*job }
}

/// The text after the next remedy: all slips of writing together, or else the first that holds of the gravest finding.
fn step(
    job: &Job,
    outcome: &mut Outcome,
    wanted: &impl Fn(&Finding) -> bool,
    failed: &mut HashSet<(&'static str, String)>,
    seen: &HashSet<String>,
) -> Option<(String, Vec<Done>)> {
    let mut proposed: Vec<Vec<Remedy>> = (outcome.findings.iter_mut())
        .map(|finding| {
            let remedies = std::mem::take(&mut finding.remedies);
            let own = |remedy: &Remedy| remedy.changes.iter().all(|change| change.place.file == FileId::new(0));
            if wanted(finding) { remedies.into_iter().filter(own).collect() } else { Vec::new() }
        })
        .collect();
    let did = |finding: &Finding, remedy: &Remedy| Done {
        rule: finding.rule,
        at: finding.at(&outcome.design),
        message: finding.message.clone(),
        title: remedy.title.clone(),
    };
    let after = |changes: &[Change]| {
        let text = outcome.texts_after(changes)?.swap_remove(0);
        (!seen.contains(&text)).then_some(text)
    };

    let proven = prove_by_reading(job, outcome, &mut proposed);
    let mut changes: Vec<Change> = Vec::new();
    let mut done = Vec::new();
    for (finding, remedies) in outcome.findings.iter().zip(&proven) {
        let Some(remedy) = remedies.first() else { continue };
        let new = remedy.changes.iter().filter(|change| !changes.contains(change));
        let together: Vec<Change> = changes.iter().chain(new).cloned().collect();
        if after(&together).is_some() {
            changes = together;
            done.push(did(finding, remedy));
        }
    }
    if let Some(text) = after(&changes) {
        return Some((text, done));
    }

    let mut order: Vec<(usize, &Remedy)> =
        proposed.iter().enumerate().flat_map(|(at, remedies)| remedies.iter().map(move |it| (at, it))).collect();
    // What failed before may hold by now, but is tried last.
    let has_failed = |at: usize, remedy: &Remedy, failed: &HashSet<(&'static str, String)>| {
        failed.contains(&(outcome.findings[at].rule.name, remedy.title.clone()))
    };
    order.sort_by_key(|(at, remedy)| {
        (has_failed(*at, remedy, failed), std::cmp::Reverse(outcome.findings[*at].severity), *at)
    });
    let before = Checked::new(job, outcome);
    for (at, remedy) in order.into_iter().take(trials(job, outcome)) {
        let finding = &outcome.findings[at];
        let text = after(&remedy.changes);
        match text.filter(|_| before.clears(finding, remedy).unwrap_or(false)) {
            Some(text) => return Some((text, vec![did(finding, remedy)])),
            None => drop(failed.insert((finding.rule.name, remedy.title.clone()))),
        }
    }
    None
}

/// Whether a finding weighs enough to be mended without being asked for by name.
pub fn weighs_enough(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::filled;

    fn mended(text: &str) -> Mended {
        let text = filled(text);
        mend(&job(&text), weighs_enough)
    }

    fn job(text: &str) -> Job<'_> {
        Job {
            path: "a.ufh.yaml",
            bytes: text.as_bytes(),
            files: &|path| Err(format!("there is no {path}")),
            today: jiff::civil::date(2026, 6, 1),
            remedies: false,
        }
    }

    #[test]
    fn slips_and_faults_are_mended_until_none_is_left() {
        let it = mended(
            "heat-source: {kind: heat pump, flow-temperture: 58 °C, temperature-drop: 5 K}\nwalls:\n  W1: {line: [[0, 0], [4, 0]], \
             thickness: 5000 mm} # as measured\n",
        );
        let done: Vec<&str> = it.done.iter().map(|it| it.title.as_str()).collect();
        assert!(done.contains(&"write `flow-temperature`") && done.contains(&"write `500 mm`"), "{done:?}");
        assert!(it.text.contains("thickness: 500 mm} # as measured"), "{}", it.text);
        assert!(it.left.findings.iter().all(|it| it.severity < Severity::Error), "{:#?}", it.left.findings);
        let again = mend(&job(&it.text), weighs_enough);
        assert!(again.done.is_empty() && again.text == it.text, "{:?}", again.done);
    }

    #[test]
    fn what_was_built_is_not_changed() {
        let it = mended(
            "project: {stage: as built}\nheat-source: {kind: heat pump, flow-temperture: 58 °C, temperature-drop: 5 K}\n",
        );
        assert!(it.only_slips);
        assert!(it.text.contains("flow-temperature: 58 °C"), "{}", it.text);
    }

    #[test]
    fn nothing_to_do_leaves_every_byte() {
        let it = mended("");
        assert!(it.done.is_empty());
        assert_eq!(it.text, filled(""));
    }
}
