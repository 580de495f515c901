//! Remedies: changes of the text, kept only when they are shown to work.

use crate::{Finding, Job, Outcome, Severity, look};
use design::Place;
use std::collections::HashSet;
use workings::Subject;

/// A change that may clear a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What it does, as an order: `lay L1 at 200 mm`.
    pub title: String,
    pub changes: Vec<Change>,
}

/// New text in place of old.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    pub place: Place,
    pub text: String,
}

impl Remedy {
    /// A remedy of one change.
    pub fn new(title: impl Into<String>, place: Place, text: impl Into<String>) -> Remedy {
        Remedy { title: title.into(), changes: vec![Change { place, text: text.into() }] }
    }
}

/// Tries each remedy out on the text and keeps those that clear their finding and bring no new error.
pub(crate) fn keep_proven(job: &Job, outcome: &mut Outcome) {
    // A trial costs a whole check. In a large file only the first remedies are tried, so that a check
    // stays a check; those that are not tried are not offered.
    let mut trials = (4_000_000 / job.bytes.len().max(1)).clamp(4, 200);
    let before: HashSet<(&str, Subject)> = errors(&outcome.findings).collect();
    let mut findings = std::mem::take(&mut outcome.findings);
    for at in 0..findings.len() {
        let proposed = std::mem::take(&mut findings[at].remedies);
        // The same thing may be wrong in two places: one fewer is a finding cleared.
        let times = findings.iter().filter(|it| same(it, &findings[at])).count();
        for remedy in proposed {
            if trials == 0 {
                break;
            }
            trials -= 1;
            let Some(after) = after(job, outcome, &remedy) else { continue };
            let cleared = after.findings.iter().filter(|it| same(it, &findings[at])).count() < times;
            if cleared && errors(&after.findings).all(|error| before.contains(&error)) {
                findings[at].remedies.push(remedy);
            }
        }
    }
    outcome.findings = findings;
}

/// Every error by its identity.
fn errors(findings: &[Finding]) -> impl Iterator<Item = (&'static str, Subject)> {
    findings.iter().filter(|it| it.severity == Severity::Error).map(|it| (it.rule.name, it.about))
}

/// Whether two findings have one identity.
fn same(one: &Finding, other: &Finding) -> bool {
    std::ptr::eq(one.rule, other.rule) && one.about == other.about
}

/// The check of the changed text; nothing if the change does not fit.
fn after(job: &Job, outcome: &Outcome, remedy: &Remedy) -> Option<Outcome> {
    let texts = changed(outcome, remedy)?;
    let files = |path: &str| {
        let own = outcome.sources.iter().position(|source| source.path == path);
        match own.and_then(|at| texts.get(at)) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => (job.files)(path),
        }
    };
    Some(look(&Job { bytes: texts.first()?.as_bytes(), files: &files, remedies: false, ..*job }))
}

/// The texts of all files after the change; nothing if a change does not fit its text.
fn changed(outcome: &Outcome, remedy: &Remedy) -> Option<Vec<String>> {
    let mut texts = Vec::with_capacity(outcome.sources.len());
    for (file, source) in outcome.sources.iter().enumerate() {
        let edits: Vec<yaml_tree::Edit> = remedy
            .changes
            .iter()
            .filter(|change| usize::from(change.place.file.0) == file)
            .map(|change| yaml_tree::Edit { range: change.place.range(), text: change.text.clone() })
            .collect();
        texts.push(yaml_tree::apply(&source.text, &edits).ok()?);
    }
    Some(texts)
}
