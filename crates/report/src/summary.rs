//! How much was found.

use crate::words::{count, wrapped};
use check::{Outcome, Severity};
use serde::Serialize;

/// How much was found in one design or in several.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    pub designs: usize,
    pub errors: usize,
    pub warnings: usize,
    pub information: usize,
    pub hints: usize,
    pub not_checked: usize,
    /// Findings that a departure accepts.
    pub departures: usize,
    /// Findings that stood before and were accepted.
    pub accepted: usize,
    /// Accepted findings that stand no more.
    pub stale: usize,
    /// Files that could not be read.
    pub unreadable: usize,
}

/// A file that could not be read, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unreadable {
    pub file: String,
    pub reason: String,
}

impl Summary {
    /// How much was found in one design.
    pub fn of(outcome: &Outcome) -> Summary {
        let mut summary = Summary {
            designs: 1,
            not_checked: outcome.not_checked.len(),
            departures: outcome.departed.len(),
            accepted: outcome.accepted.len(),
            ..Summary::default()
        };
        for finding in &outcome.findings {
            *match finding.severity {
                Severity::Error => &mut summary.errors,
                Severity::Warning => &mut summary.warnings,
                Severity::Information => &mut summary.information,
                Severity::Hint => &mut summary.hints,
            } += 1;
        }
        summary
    }

    /// How many findings there are of a severity.
    pub fn count(&self, severity: Severity) -> usize {
        match severity {
            Severity::Error => self.errors,
            Severity::Warning => self.warnings,
            Severity::Information => self.information,
            Severity::Hint => self.hints,
        }
    }

    /// `2 errors, 1 hint; 12 not checked`.
    pub fn sentence(&self) -> String {
        let words = [
            (self.errors, "error", "errors"),
            (self.warnings, "warning", "warnings"),
            (self.information, "information", "information"),
            (self.hints, "hint", "hints"),
        ];
        let found: Vec<String> =
            words.iter().filter(|it| it.0 > 0).map(|&(number, one, many)| count(number, one, many)).collect();
        let mut said = if found.is_empty() { "nothing found".to_string() } else { found.join(", ") };
        if self.not_checked > 0 {
            said += &format!("; {} not checked", self.not_checked);
        }
        if self.departures > 0 {
            said += &format!("; {}", count(self.departures, "departure", "departures"));
        }
        if self.accepted > 0 {
            said += &format!("; {} accepted before", self.accepted);
        }
        if self.stale > 0 {
            said += &format!("; {} accepted before and gone", self.stale);
        }
        if self.unreadable > 0 {
            said += &format!("; {} could not be read", count(self.unreadable, "file", "files"));
        }
        said
    }

    /// The end of a report: the total where there was more than one design, and the caution.
    pub fn text(&self) -> String {
        let mut text = String::new();
        if self.designs != 1 || self.unreadable > 0 {
            text += &format!("{}: {}\n", count(self.designs, "design", "designs"), self.sentence());
        }
        text += &wrapped(crate::CAUTION, 100);
        text
    }
}

impl std::ops::AddAssign for Summary {
    fn add_assign(&mut self, other: Summary) {
        self.designs += other.designs;
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.information += other.information;
        self.hints += other.hints;
        self.not_checked += other.not_checked;
        self.departures += other.departures;
        self.accepted += other.accepted;
        self.stale += other.stale;
        self.unreadable += other.unreadable;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_there_is_counted_out() {
        assert_eq!(Summary::default().sentence(), "nothing found");
        let summary =
            Summary { errors: 1, hints: 2, not_checked: 12, departures: 1, unreadable: 1, ..Summary::default() };
        assert_eq!(summary.sentence(), "1 error, 2 hints; 12 not checked; 1 departure; 1 file could not be read");
    }

    #[test]
    fn every_report_ends_with_the_caution() {
        assert!(Summary::default().text().ends_with("Findings marked “not checked” were not checked.\n"));
    }
}
