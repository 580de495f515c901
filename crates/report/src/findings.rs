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
pub use text::listed;

use crate::{Summary, Unreadable};
use check::{Entry, Outcome, Severity};
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
    pub stale: &'e [&'e Entry],
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
            Form::Text | Form::Summary | Form::Github => {
                text.extend(text::end(ending).into_bytes());
                text
            }
            Form::Json => json::document(&json, ending),
            Form::Gitlab => gitlab::report(&json),
            Form::Sarif => sarif::log(runs, ending),
            Form::Junit => junit::suites(&suites, ending),
            Form::Markdown => markdown::comment(&sections, ending),
        }
    }
}

/// A value as a document in JSON, on one line.
fn as_json(value: &impl serde::Serialize) -> Vec<u8> {
    let mut text = serde_json::to_vec(value).expect("every key is a word, and memory takes every byte");
    text.push(b'\n');
    text
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
