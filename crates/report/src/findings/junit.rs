//! Findings as JUnit XML, for build servers that show results of tests.
//!
//! A design is a suite. Each finding is a case of it: one that fails the check is a failure, one that does not has passed and tells what
//! was found; what a rule could not look at, what a departure accepts and what was accepted before is skipped, with the reason. What was
//! accepted before and is gone is a suite of its own.

use super::Ending;
use super::notes::{notes_and_places, one_line};
use crate::CAUTION;
use crate::places::Texts;
use crate::words::{escaped, sentence};
use check::{Finding, Outcome, Severity};

/// A design with its cases.
pub struct Suite {
    name: String,
    tests: usize,
    failures: usize,
    errors: usize,
    skipped: usize,
    cases: String,
}

impl Suite {
    fn new(name: &str) -> Suite {
        Suite { name: escaped(name), tests: 0, failures: 0, errors: 0, skipped: 0, cases: String::new() }
    }

    fn add(&mut self, name: &str, class: &str, inside: &str) {
        self.tests += 1;
        let (name, class) = (escaped(name), escaped(class));
        self.cases += &format!("    <testcase name=\"{name}\" classname=\"{class}\">{inside}</testcase>\n");
    }

    fn skip(&mut self, name: &str, class: &str, reason: &str) {
        self.skipped += 1;
        self.add(name, class, &format!("<skipped message=\"{}\"/>", escaped(reason)));
    }
}

/// What was found in one design.
pub fn suite(outcome: &Outcome, fails_from: Severity) -> Suite {
    let path = outcome.sources.first().map_or("", |source| &source.path);
    let texts = Texts::new(&outcome.sources);
    let name = |finding: &Finding| format!("{} at {}", finding.rule.name, finding.at(&outcome.design));
    let mut suite = Suite::new(path);
    for finding in &outcome.findings {
        let mut lines = vec![one_line(finding, &texts)];
        lines.extend(notes_and_places(finding, outcome, &texts));
        let lines: Vec<String> = lines.iter().map(|line| escaped(line)).collect();
        let lines = lines.join("\n");
        let inside = if finding.severity >= fails_from {
            suite.failures += 1;
            let (severity, message) = (finding.severity.word(), escaped(&finding.message));
            format!("<failure type=\"{severity}\" message=\"{message}\">{lines}</failure>")
        } else {
            format!("<system-out>{lines}</system-out>")
        };
        suite.add(&name(finding), path, &inside);
    }
    for it in &outcome.not_checked {
        let name = format!("{} at {}", it.rule.name, it.about.path(&outcome.design));
        suite.skip(&name, path, &format!("not checked: {}", it.missing(&outcome.design)));
    }
    for (finding, by) in &outcome.departed {
        let departure = outcome.design.departures.get(*by);
        let reason = departure.and_then(|it| it.value.reason.as_ref()).map_or("", |reason| &reason.value);
        suite.skip(&name(finding), path, &format!("departure: {reason}: {}", finding.message));
    }
    for finding in &outcome.accepted {
        suite.skip(&name(finding), path, &format!("accepted before: {}", finding.message));
    }
    // A design in which nothing is wrong is a case that has passed.
    suite.add("the check was made", path, "");
    suite
}

/// The document, of the designs in the order given; what could not be read is an error.
pub fn suites(designs: &[Suite], ending: &Ending, fails_from: Severity) -> Vec<u8> {
    let mut others = Vec::new();
    for it in ending.unreadable {
        let mut suite = Suite::new(&it.file);
        suite.errors += 1;
        suite.add(
            "the check was made",
            &it.file,
            &format!("<error type=\"unreadable\" message=\"{}\"/>", escaped(&it.reason)),
        );
        others.push(suite);
    }
    others.extend(gone(ending, fails_from));
    let all = || designs.iter().chain(&others);
    let sum = |of: fn(&Suite) -> usize| all().map(of).sum::<usize>();
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"hypocaust\" tests=\"{}\" failures=\"{}\" errors=\"{}\">\n",
        sum(|it| it.tests),
        sum(|it| it.failures),
        sum(|it| it.errors)
    );
    for Suite { name, tests, failures, errors, skipped, cases } in all() {
        text += &format!(
            "  <testsuite name=\"{name}\" tests=\"{tests}\" failures=\"{failures}\" errors=\"{errors}\" skipped=\"{skipped}\">\n\
             {cases}    <system-out>{}</system-out>\n  </testsuite>\n",
            escaped(CAUTION)
        );
    }
    text += "</testsuites>\n";
    text.into_bytes()
}

/// The accepted findings that stand no more: they fail the check as warnings do.
fn gone(ending: &Ending, fails_from: Severity) -> Option<Suite> {
    let mut suite = Suite::new("accepted findings");
    for it in ending.stale {
        let said = escaped(&sentence(&it.sentence()));
        let inside = if fails_from <= Severity::Warning {
            suite.failures += 1;
            format!("<failure type=\"warning\" message=\"{said}\"/>")
        } else {
            format!("<system-out>{said}</system-out>")
        };
        suite.add(&format!("{} at {}", it.entry.rule, it.entry.at), &it.entry.design, &inside);
    }
    (suite.tests > 0).then_some(suite)
}
