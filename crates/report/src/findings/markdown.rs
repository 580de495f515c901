//! Findings in Markdown, for a comment on a merge request.
//!
//! What comes out of a design is escaped: a design may come from anyone, and is not to bring in links, pictures or mentions.

use super::Ending;
use super::notes::{gravest_first, notes_and_places};
use crate::places::Texts;
use crate::words::{file_name, sentence, wrapped};
use crate::{CAUTION, Summary};
use check::{Outcome, Severity};
use std::cmp::Reverse;

/// How many findings are shown, the gravest of all designs; hosts cut comments that are too long, or refuse them.
const MOST_SHOWN: usize = 60;
/// How many designs of which no finding is shown are named.
const MOST_NAMED: usize = 100;

/// What one design gave.
pub struct Section {
    heading: String,
    /// The findings that may be shown, the gravest first.
    findings: Vec<(Severity, String)>,
    /// How many there are.
    all: usize,
}

/// What was found in one design.
pub fn section(outcome: &Outcome) -> Section {
    let texts = Texts::new(&outcome.sources);
    let path = outcome.sources.first().map_or("", |source| &source.path);
    let finding = |finding: &check::Finding| {
        let line = texts.of(finding.place).map_or(1, |text| text.position(finding.place.range().start).line);
        let mut item = format!(
            "- **{}** line {line}: {} (`{}`)\n",
            finding.severity.word(),
            escaped(&sentence(&finding.message)),
            finding.rule.name
        );
        for note in notes_and_places(finding, outcome, &texts) {
            item += &format!("  - {}\n", escaped(&note));
        }
        item
    };
    Section {
        heading: format!("{}: {}", escaped(&file_name(path)), Summary::of(outcome).sentence()),
        findings: gravest_first(&outcome.findings)
            .into_iter()
            .take(MOST_SHOWN)
            .map(|(_, it)| (it.severity, finding(it)))
            .collect(),
        all: outcome.findings.len(),
    }
}

/// The comment. Its first line, which is not shown, lets a script find the comment of the last time and replace it.
pub fn comment(designs: &[Section], ending: &Ending) -> Vec<u8> {
    let mut text = "<!-- hypocaust check -->\n".to_string();
    text += &format!("## {}: {}\n\n", ending.summary.checked(), ending.summary.sentence());
    for it in ending.unreadable {
        text += &format!("- **not checked** {}: {}\n", escaped(&file_name(&it.file)), escaped(&sentence(&it.reason)));
    }
    for it in ending.stale {
        text += &format!("- {}\n", escaped(&sentence(&it.sentence())));
    }
    let mut gravest: Vec<(Severity, usize)> = (designs.iter().enumerate())
        .flat_map(|(design, section)| section.findings.iter().map(move |(severity, _)| (*severity, design)))
        .collect();
    gravest.sort_by_key(|(severity, _)| Reverse(*severity));
    let mut shown = vec![0; designs.len()];
    gravest.iter().take(MOST_SHOWN).for_each(|(_, design)| shown[*design] += 1);
    let (told, rest): (Vec<_>, Vec<_>) = designs.iter().zip(shown).partition(|(_, shown)| *shown > 0);
    for (Section { heading, findings, all }, shown) in told {
        text += &format!("\n### {heading}\n\n");
        findings.iter().take(shown).for_each(|(_, it)| text += it);
        if *all > shown {
            text += &format!("- and {} more, which a check on the command line shows\n", all - shown);
        }
    }
    let (clean, others): (Vec<_>, Vec<_>) = rest.into_iter().partition(|(section, _)| section.all == 0);
    for (what, sections) in [("Designs with more findings", others), ("Designs without findings", clean)] {
        if sections.is_empty() {
            continue;
        }
        text += &format!("\n<details><summary>{what}</summary>\n\n");
        sections.iter().take(MOST_NAMED).for_each(|(section, _)| text += &format!("- {}\n", section.heading));
        if sections.len() > MOST_NAMED {
            text += &format!("- and {} more\n", sections.len() - MOST_NAMED);
        }
        text += "\n</details>\n";
    }
    text += &format!("\n---\n\n{}", wrapped(CAUTION, 120));
    text.into_bytes()
}

/// Text with nothing in it that Markdown or a host reads as markup, a link or the name of a person.
pub(crate) fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '#' | '!' | '|' | '~' | '$' => {
                escaped.push('\\');
                escaped.push(c);
            }
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '&' => escaped.push_str("&amp;"),
            // A word joiner behind it keeps hosts from telling a person of that name.
            '@' => escaped.push_str("@\u{2060}"),
            '\n' | '\r' | '\t' => escaped.push(' '),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checked;
    use crate::findings::{Form, tests::written};

    #[test]
    fn a_comment_shows_findings_and_no_markup_of_the_design() {
        let text = written(
            &checked(
                "format: 1\nrooms: {\"![x](http://a) @all <b>\": {area: 12}, hall: {area: 9, colour: \"`@all`\"}}\n",
            ),
            Form::Markdown,
        );
        assert!(text.starts_with("<!-- hypocaust check -->\n## 1 design: "), "{text}");
        assert!(text.contains("### house.ufh.yaml: ") && text.contains("- **error** line 2: "), "{text}");
        assert!(text.contains("\n  - source: the design format, version 1\n"), "{text}");
        assert!(!text.contains("![x]") && !text.contains("@all") && !text.contains("<b>"), "{text}");
    }

    #[test]
    fn a_comment_has_an_end() {
        let rooms: String = (0..2000).map(|at| format!("  room{at}: {{area: 1{at}}}\n")).collect();
        let text = written(&checked(&format!("format: 1\nrooms:\n{rooms}")), Form::Markdown);
        assert_eq!(text.matches("\n- **").count(), MOST_SHOWN);
        assert!(text.contains("- and 941 more, which a check on the command line shows\n"), "{text}");
        assert!(text.len() < 60_000, "{}", text.len());
    }

    /// What other designs are told of less than an error hides none, and thousands of designs fit into a comment: GitHub takes one of up
    /// to 65,536 letters (the host's manual, from memory).
    #[test]
    fn errors_are_shown_wherever_they_stand() {
        let hints: String = (0..100).map(|at| format!("  pipe{at}: {{material: PE-X}}\n")).collect();
        let hints = section(&checked(&format!("format: 1\npipes:\n{hints}")));
        let error = section(&checked("format: 1\nrooms: {hall: {area: 12}}\n"));
        let clean = || Section {
            heading: "a/design/in/a/folder/of/its/own.ufh.yaml: nothing found".into(),
            findings: Vec::new(),
            all: 0,
        };
        assert!(hints.findings.iter().all(|(severity, _)| *severity < Severity::Error) && hints.all > MOST_SHOWN);
        let mut designs = vec![hints, error];
        designs.extend((0..5000).map(|_| clean()));
        let ending = Ending { summary: Summary::default(), unreadable: &[], stale: &[], status: 1 };
        let text = String::from_utf8(comment(&designs, &ending)).expect("a comment is UTF-8");
        assert_eq!(text.matches("\n- **").count(), MOST_SHOWN);
        assert!(text.contains("\n- **error** line 2: "), "{text}");
        assert!(text.contains("\n- and 4900 more\n") && text.len() < 65_536, "{}", text.len());
    }
}
