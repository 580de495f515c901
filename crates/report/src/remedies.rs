//! What would put findings right, and what was done.

use crate::Summary;
use crate::places::Texts;
use check::{Mended, Outcome, Severity};
use similar::TextDiff;

/// Every finding that has a remedy, with its remedies and what each changes in which file.
pub fn list(outcome: &Outcome) -> String {
    let texts = Texts::new(&outcome.sources);
    let mut list = String::new();
    for finding in outcome.findings.iter().filter(|it| !it.remedies.is_empty()) {
        let Some(file) = texts.of(finding.place) else { continue };
        let at = file.position(finding.place.range().start);
        let (severity, rule) = (finding.severity.word(), finding.rule.name);
        list += &format!("{}:{}:{}: {severity}[{rule}]: {}\n", file.path, at.line, at.column, finding.message);
        for remedy in &finding.remedies {
            list += &format!("  {}\n", remedy.title);
            for (source, after) in outcome.sources.iter().zip(outcome.texts_after(&remedy.changes).unwrap_or_default())
            {
                for line in lines_of_change(&source.text, &after) {
                    list += &format!("    {line}\n");
                }
            }
        }
        list.push('\n');
    }
    if list.is_empty() {
        list += "no finding has a remedy that was shown to work\n";
    }
    list
}

/// What changes between two texts, as a unified diff; nothing where they are the same.
pub fn diff(path: &str, before: &str, after: &str) -> String {
    TextDiff::from_lines(before, after).unified_diff().header(path, path).to_string()
}

/// The lines that go, with `-` before them, and those that come, with `+`.
fn lines_of_change(before: &str, after: &str) -> Vec<String> {
    let diff = TextDiff::from_lines(before, after);
    let changes = diff.iter_all_changes().filter(|it| it.tag() != similar::ChangeTag::Equal);
    changes.map(|it| format!("{} {}", it.tag(), it.value().trim_end())).collect()
}

/// What was done to a design and what is left of it to do.
pub fn done(path: &str, mended: &Mended) -> String {
    let mut text = String::new();
    for done in &mended.done {
        text += &format!("{path}: {}: {} ({})\n", done.at, done.title, done.rule.name);
    }
    if mended.done.is_empty() {
        text += &format!("{path}: nothing to mend\n");
    }
    if mended.only_slips && mended.left.findings.iter().any(|it| it.severity >= Severity::Warning) {
        text += &format!(
            "{path}: the design is as built: slips of writing are mended, what was built is not changed by a file\n"
        );
    }
    if mended.is_cut_short {
        text +=
            &format!("{path}: the design is large, and not all remedies were tried; run it once more for the rest\n");
    }
    text + &format!("{path}: left: {}\n", Summary::of(&mended.left).sentence())
}
