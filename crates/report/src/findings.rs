//! What a check found, written down in each way that people, programs and hosts of code read.
//!
//! A [`Writer`] writes each design by itself, so that it can be done side by side, and puts the parts together at the end. The same
//! finding reads the same in all of them: its message, what stands under it ([`notes`]), and its identity ([`identity`]).

mod github;
mod gitlab;
mod identity;
mod json;
mod junit;
mod markdown;
mod notes;
mod sarif;
mod text;

pub(crate) use markdown::escaped as escaped_markdown;
pub(crate) use notes::by_rule;
pub use text::listed;

use crate::words::is_hidden;
use crate::{Summary, Unreadable};
use check::{Outcome, Severity, Stale};
use serde_json::value::RawValue;

/// A way of writing findings down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    #[default]
    Text,
    Summary,
    Json,
    Sarif,
    Junit,
    Gitlab,
    Github,
    Markdown,
}

impl Form {
    pub const ALL: [Form; 8] =
        [Form::Text, Form::Summary, Form::Json, Form::Sarif, Form::Junit, Form::Gitlab, Form::Github, Form::Markdown];

    /// The word by which it is asked for.
    pub fn word(self) -> &'static str {
        self.words().0
    }

    /// For whom it is.
    pub fn about(self) -> &'static str {
        self.words().1
    }

    /// How many findings a host that takes this form keeps, where it is known to keep no more (the manual of GitHub on SARIF, from memory).
    pub fn most_kept(self) -> Option<usize> {
        (self == Form::Sarif).then_some(5_000)
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Form::Text => ("text", "for people: each finding with its lines, its source and its remedies"),
            Form::Summary => ("summary", "for people: one line a design"),
            Form::Json => ("json", "for programs, everything (see `hypocaust schema check`)"),
            Form::Sarif => ("sarif", "SARIF 2.1.0, for hosts of code and viewers of findings"),
            Form::Junit => ("junit", "JUnit XML, for build servers that show results of tests"),
            Form::Gitlab => ("gitlab", "the code quality report of GitLab"),
            Form::Github => ("github", "lines that a GitHub workflow shows beside the lines of a change"),
            Form::Markdown => ("markdown", "Markdown, for a comment on a merge request"),
        }
    }
}

/// Writes findings down in one form.
#[derive(Debug, Clone, Copy)]
pub struct Writer {
    pub form: Form,
    /// Whether text has colours.
    pub coloured: bool,
    /// The severity from which on findings fail the check.
    pub fails_from: Severity,
}

/// What one design gave, written down.
pub struct Part(Kind);

enum Kind {
    Bytes(Vec<u8>),
    Json(Box<RawValue>),
    Junit(junit::Suite),
    Markdown(markdown::Section),
    Sarif(sarif::Part),
}

/// How a check of several designs ended.
pub struct Ending<'e> {
    pub summary: Summary,
    pub unreadable: &'e [Unreadable],
    /// Entries of the list of accepted findings that no finding stands behind any more.
    pub stale: &'e [Stale<'e>],
    /// The status that the program ends with.
    pub status: u8,
}

impl Writer {
    /// Writes down what was found in one design.
    pub fn part(&self, outcome: &Outcome) -> Part {
        Part(match self.form {
            Form::Text => Kind::Bytes(text::text(outcome, self.coloured)),
            Form::Summary => Kind::Bytes(text::line(outcome, self.coloured)),
            Form::Json => Kind::Json(json::json(outcome)),
            Form::Sarif => Kind::Sarif(sarif::part(outcome)),
            Form::Junit => Kind::Junit(junit::suite(outcome, self.fails_from)),
            Form::Gitlab => Kind::Json(gitlab::issues(outcome)),
            Form::Github => Kind::Bytes(github::lines(outcome)),
            Form::Markdown => Kind::Markdown(markdown::section(outcome)),
        })
    }

    /// Puts together what designs gave, in the order given.
    pub fn whole(&self, parts: Vec<Part>, ending: &Ending) -> Vec<u8> {
        let mut text = Vec::new();
        let (mut json, mut suites, mut sections, mut runs) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for part in parts {
            match part.0 {
                Kind::Bytes(it) => text.extend(it),
                Kind::Json(it) => json.push(it),
                Kind::Junit(it) => suites.push(it),
                Kind::Markdown(it) => sections.push(it),
                Kind::Sarif(it) => runs.push(it),
            }
        }
        match self.form {
            Form::Text | Form::Summary => {
                text.extend(text::end(ending).into_bytes());
                text
            }
            Form::Github => {
                text.extend(github::end(ending).into_bytes());
                text
            }
            Form::Json => json::document(&json, ending),
            Form::Gitlab => gitlab::report(&json, ending),
            Form::Sarif => sarif::log(runs, ending),
            Form::Junit => junit::suites(&suites, ending, self.fails_from),
            Form::Markdown => markdown::comment(&sections, ending),
        }
    }
}

/// A value as a document in JSON, on one line.
fn as_json(value: &impl serde::Serialize) -> Vec<u8> {
    let text = serde_json::to_string(value).expect("every key is a word, and memory takes every byte");
    let mut text = with_escapes(text);
    text.push('\n');
    text.into_bytes()
}

/// A document in JSON in which nothing is hidden: what a viewer of the text would obey, such as a mark that turns the direction of writing,
/// is written as an escape (RFC 8259, section 7, from memory). Outside of texts JSON has no such characters but line feeds.
pub(crate) fn with_escapes(text: String) -> String {
    let is_raw = |c: char| c != '\n' && is_hidden(c);
    if !text.contains(is_raw) {
        return text;
    }
    let mut escaped = String::with_capacity(text.len() + 64);
    for c in text.chars() {
        // All of them are in the first plane.
        if is_raw(c) { escaped += &format!("\\u{:04x}", u32::from(c)) } else { escaped.push(c) }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checked;

    /// What an outcome is in a form.
    pub(super) fn written(outcome: &Outcome, form: Form) -> String {
        let writer = Writer { form, coloured: false, fails_from: Severity::Error };
        let ending = Ending { summary: Summary::of(outcome), unreadable: &[], stale: &[], status: 1 };
        String::from_utf8(writer.whole(vec![writer.part(outcome)], &ending)).expect("every form is UTF-8")
    }

    /// Names that a file from anyone may have, each made to break out of a form, or to hide in it.
    const HOSTILE: &str =
        "x]]>&#0;\u{1b}[2J\u{9b}1m\u{7f}\u{85}\u{2028}::error::\u{2029}%0A\u{202e}\u{2066}\u{61c}|`<b>@all\\";

    /// What is hidden in a name is seen in every form, and breaks none.
    #[test]
    fn a_name_hides_nothing_in_any_form() {
        let name = with_escapes(serde_json::to_string(HOSTILE).expect("it is text"));
        let text = format!(
            "format: 1\nrooms: {{{name}: {{area: 12, use: {name}}}}}\nloops: {{L1: {{room: {name}, {name}: 1}}}}\n"
        );
        let outcome = checked(&text);
        assert!(outcome.findings.len() > 2, "{:#?}", outcome.findings);
        let known = [FileName("house.ufh.yaml"), FileName(HOSTILE)];
        for (form, FileName(path)) in Form::ALL.into_iter().flat_map(|form| known.iter().map(move |path| (form, path)))
        {
            let mut outcome = checked(&text);
            outcome.sources[0].path = path.to_string();
            let text = written(&outcome, form);
            let raw: Vec<char> = text.chars().filter(|c| *c != '\n' && is_hidden(*c)).collect();
            assert!(raw.is_empty(), "{form:?}: {raw:?}");
            match form {
                Form::Json | Form::Sarif | Form::Gitlab => {
                    let document: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
                    assert!(
                        document.to_string().contains("\u{2028}::error::\u{2029}"),
                        "{form:?} keeps what was written"
                    );
                }
                Form::Github => {
                    let begins = |line: &str| {
                        ["::error file=", "::warning file=", "::notice file=", "Checked "]
                            .iter()
                            .any(|it| line.starts_with(it))
                    };
                    assert!(text.lines().all(|line| !line.contains("::") || begins(line)), "{text}");
                }
                Form::Markdown => assert!(!text.contains("<b>") && !text.contains("@all"), "{text}"),
                // The program has no reader of XML; `tests/forms.rs` reads it.
                Form::Junit => assert!(!text.contains("]]>") && !text.contains("<b>") && !text.contains("&#0;")),
                Form::Text | Form::Summary => {}
            }
        }
    }

    struct FileName(&'static str);

    /// The message of every finding stands in every form but the summary, whatever the form does to its letters.
    #[test]
    fn the_same_finding_reads_the_same_everywhere() {
        let outcome = checked("format: 1\nrooms: {hall: {area: 12}}\nloops: {L1: {room: hal}}\n");
        assert!(outcome.findings.len() > 2);
        let letters = |text: &str| -> String { text.chars().filter(|c| c.is_alphabetic()).collect() };
        for form in Form::ALL.into_iter().filter(|it| *it != Form::Summary) {
            let text = written(&outcome, form).replace("&#39;", "'").replace("%3A", ":").replace("%2C", ",");
            for finding in &outcome.findings {
                assert!(letters(&text).contains(&letters(&finding.message)), "{form:?}: {}\n{text}", finding.message);
                assert!(text.contains(finding.rule.name), "{form:?}: {}", finding.rule.name);
            }
        }
    }
}
