//! How much was found.

use crate::words::{count, wrapped};
use check::{Outcome, Severity};
use serde::Serialize;

/// How much was found in one design or in several.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    pub designs: usize,
    /// House standards that were checked by themselves; they are no designs.
    pub house_standards: usize,
    pub errors: usize,
    pub warnings: usize,
    pub information: usize,
    pub hints: usize,
    /// Checks that a rule could not make of a thing, for want of a field.
    pub not_checked: usize,
    /// Findings that a departure accepts.
    pub departures: usize,
    /// Findings that stood before and were accepted.
    pub accepted: usize,
    /// Accepted findings that stand no more.
    pub stale: usize,
    /// Files that could not be read.
    pub unreadable: usize,
    /// Files named like designs that a search of folders left out.
    pub left_out: usize,
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
        let is_standard = outcome.sources.first().is_some_and(|source| design::is_house_standard(&source.path));
        let mut summary = Summary {
            designs: usize::from(!is_standard),
            house_standards: usize::from(is_standard),
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

    /// What it is about: `20 designs and 1 house standard`.
    pub fn checked(&self) -> String {
        let designs = count(self.designs, "design", "designs");
        let standards = count(self.house_standards, "house standard", "house standards");
        match (self.designs, self.house_standards) {
            (_, 0) => designs,
            (0, _) => standards,
            _ => format!("{designs} and {standards}"),
        }
    }

    /// `2 errors, 1 hint; 12 checks not made`.
    pub fn sentence(&self) -> String {
        let words = [
            (self.errors, "error", "errors"),
            (self.warnings, "warning", "warnings"),
            (self.information, "information", "information"),
            (self.hints, "hint", "hints"),
        ];
        let found: Vec<String> =
            words.iter().filter(|it| it.0 > 0).map(|&(number, one, many)| count(number, one, many)).collect();
        let nothing = if self.accepted > 0 { "nothing new found" } else { "nothing found" };
        let mut said = if found.is_empty() { nothing.to_string() } else { found.join(", ") };
        if self.not_checked > 0 {
            said += &format!("; {} not made", count(self.not_checked, "check", "checks"));
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
        if self.left_out > 0 {
            said += &format!("; {} left out", count(self.left_out, "file", "files"));
        }
        said
    }

    /// The end of a report: the total where there was more than one design, and the caution.
    pub fn text(&self) -> String {
        let mut text = String::new();
        if self.designs + self.house_standards != 1 || self.unreadable > 0 || self.left_out > 0 {
            text += &format!("{}: {}\n", self.checked(), self.sentence());
        }
        text += &wrapped(crate::CAUTION, 100);
        text
    }
}

impl std::ops::AddAssign for Summary {
    fn add_assign(&mut self, other: Summary) {
        self.designs += other.designs;
        self.house_standards += other.house_standards;
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.information += other.information;
        self.hints += other.hints;
        self.not_checked += other.not_checked;
        self.departures += other.departures;
        self.accepted += other.accepted;
        self.stale += other.stale;
        self.unreadable += other.unreadable;
        self.left_out += other.left_out;
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
        assert_eq!(summary.sentence(), "1 error, 2 hints; 12 checks not made; 1 departure; 1 file could not be read");
    }

    #[test]
    fn a_house_standard_is_no_design() {
        let of = |designs, house_standards| Summary { designs, house_standards, ..Summary::default() }.checked();
        assert_eq!(
            [of(1, 0), of(0, 2), of(20, 1)],
            ["1 design", "2 house standards", "20 designs and 1 house standard"]
        );
    }

    #[test]
    fn every_report_ends_with_the_caution() {
        assert!(Summary::default().text().ends_with("Findings marked “not checked” were not checked.\n"));
    }
}
