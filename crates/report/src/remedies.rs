//! What would put findings right, and what was done.

use crate::Summary;
use crate::places::Texts;
use crate::words::{file_name, printable, sentence};
use check::{Mended, Outcome, Severity};
use similar::TextDiff;

/// Every finding that has a remedy, with its remedies and what each changes in which file; and which findings have none.
pub fn list(outcome: &Outcome) -> String {
    let texts = Texts::new(&outcome.sources);
    let mut list = String::new();
    for finding in outcome.findings.iter().filter(|it| !it.remedies.is_empty()) {
        let Some(file) = texts.of(finding.place) else { continue };
        let at = file.position(finding.place.range().start);
        let (severity, rule) = (finding.severity.word(), finding.rule.name);
        let (path, message) = (file_name(file.path), sentence(&finding.message));
        list += &format!("{path}:{}:{}: {severity}[{rule}]: {message}\n", at.line, at.column);
        for remedy in &finding.remedies {
            list += &format!("  {}\n", sentence(&remedy.title));
            for (source, after) in outcome.sources.iter().zip(outcome.texts_after(&remedy.changes).unwrap_or_default())
            {
                for line in lines_of_change(&source.text, &after) {
                    list += &format!("    {}\n", printable(&line));
                }
            }
        }
        list.push('\n');
    }
    let without: Vec<String> = (outcome.findings.iter().filter(|it| it.remedies.is_empty()))
        .map(|it| format!("  {} at {}\n", it.rule.name, sentence(&it.at(&outcome.design))))
        .collect();
    if list.is_empty() {
        list += "no finding has a remedy that was shown to work\n";
    } else if !without.is_empty() {
        // One that was there before may be gone: tried on this text, it no longer clears the finding, or brings an error.
        list += "without a remedy: none is known, or none of those tried clears the finding and brings no error\n";
    }
    list + &without.concat()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checked;

    #[test]
    fn what_has_no_remedy_is_named_and_nothing_steers_the_terminal() {
        let text = list(&checked(
            "format: 1\nrooms: {\"\\e[2J\": {area: 12}, den: {use: living}}\nloops: {L1: {room: den, \"\\e[1m\": 1}}\n",
        ));
        assert!(text.contains("error[unit-missing-or-wrong]: "), "{text}");
        let (_, without) = text.split_once("without a remedy: none is known, ").expect("an unknown key has none");
        assert!(without.contains("\n  unknown-field at loops/L1/␛[1m\n"), "{text}");
        assert!(!text.contains('\u{1b}'), "{text}");
        assert!(
            list(&checked("format: 1\nproject: {stage: preliminary}\n"))
                .starts_with("no finding has a remedy that was shown to work\n")
        );
    }
}
