//! Findings in Markdown, for a comment on a merge request.
//!
//! What comes out of a design is escaped: a design may come from anyone, and is not to bring in links, pictures or mentions.

use super::Ending;
use super::notes::{gravest_first, notes_and_places};
use crate::places::Texts;
use crate::words::{file_name, sentence, wrapped};
use crate::{CAUTION, Summary};
use check::Outcome;

/// How many findings are shown; hosts cut comments that are too long, or refuse them.
const MOST_SHOWN: usize = 60;

/// What one design gave.
pub struct Section {
    heading: String,
    /// The findings, the gravest first.
    findings: Vec<String>,
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
            .take(MOST_SHOWN + 1)
            .map(|(_, it)| finding(it))
            .collect(),
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
    let mut left = MOST_SHOWN;
    for Section { heading, findings } in designs.iter().filter(|it| !it.findings.is_empty()) {
        text += &format!("\n### {heading}\n\n");
        findings.iter().take(left).for_each(|it| text += it);
        if findings.len() > left {
            text += "- and more, which a check on the command line shows\n";
        }
        left = left.saturating_sub(findings.len());
    }
    let clean: Vec<&str> = designs.iter().filter(|it| it.findings.is_empty()).map(|it| &*it.heading).collect();
    if !clean.is_empty() {
        text += "\n<details><summary>Designs without findings</summary>\n\n";
        clean.iter().for_each(|it| text += &format!("- {it}\n"));
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
        assert!(text.contains("- and more, which"), "{text}");
        assert!(text.len() < 60_000, "{}", text.len());
    }
}
