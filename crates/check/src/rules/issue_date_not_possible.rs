//! The days of issue rise with the revisions, and none lies in the future.
//!
//! A drawing with tomorrow's date is taken for the newer one long after it is not.
//!
//! ## How it is worked out
//! `issued` is held against the day of the check, and the days of `earlier-revisions` against each other and
//! against `issued`, in their order. What is listed as earlier must not be the present revision, or one that by its mark comes after
//! it.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! project: {stage: for comment, revision: P2, issued: 2026-06-11}
//! #                                                   ^^^^^^^^^^ the day of issue is 10 days ahead of today
//! ```
//! ```yaml remedied
//! project: {stage: for comment, revision: P2, issued: 2026-06-01}
//! ```
//! ```yaml fails
//! project:
//!   stage: for comment
//!   revision: P2
//!   issued: 2026-05-01
//! #         ^^^^^^^^^^ revision P2 is issued 3 days before P1
//!   earlier-revisions:
//!     - {revision: P1, issued: 2026-05-04}
//! ```
//! ```yaml fails
//! project:
//!   stage: for comment
//!   revision: P2
//!   earlier-revisions:
//!     - {revision: P1}
//!     - {revision: P2}
//! #                ^^ P2 is listed as earlier, and is the present revision
//! ```
//! ```yaml passes
//! project:
//!   stage: for comment
//!   revision: P2
//!   issued: 2026-05-04
//!   earlier-revisions:
//!     - {revision: P1, issued: 2026-05-04}
//! ```

use super::prelude::*;
use crate::compare::later;
use crate::records::days_after;
use design::{Given, Placed};
use jiff::civil::Date;
use std::cmp::Ordering;

pub static RULE: Rule = Rule {
    name: "issue-date-not-possible",
    group: Group::DesignFile,
    weights: [Warning; 4],
    file: include_str!("issue_date_not_possible.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source";

fn check(inspection: &Inspection, found: &mut Findings) {
    let project = &inspection.design.project;
    let mut earlier = Vec::new();
    for listed in &project.earlier_revisions {
        let present = listed.revision.as_ref().zip(project.revision.as_ref());
        let why = present.and_then(|(listed, present)| match later(&listed.value, &present.value)? {
            Ordering::Less => None,
            Ordering::Equal => Some((listed, present, "and is the present revision".to_string())),
            Ordering::Greater => Some((listed, present, format!("and comes after {}", present.value.trim()))),
        });
        let Some((listed, present, why)) = why else {
            earlier.push((&listed.revision, listed.issued));
            continue;
        };
        let message = format!("{} is listed as earlier, {why}", listed.value.trim());
        let finding = Finding::new(Subject::Project, listed.at, message).source(SOURCE);
        found.add(finding.related(present.at, "the present revision"));
    }
    let mut before: Option<(&Given<String>, Placed<Date>)> = None;
    for (revision, issued) in earlier.into_iter().chain([(&project.revision, project.issued)]) {
        let Some(issued) = issued else { continue };
        if issued.value > inspection.today {
            let today = Placed { value: inspection.today, at: issued.at };
            let ahead = days_after(&issued, &today);
            let message = format!("the day of issue is {ahead} ahead of today");
            let finding = Finding::new(Subject::Project, issued.at, message).value(ahead).source(SOURCE);
            found.add(finding.remedy(Remedy::new("write today's date", issued.at, inspection.today.to_string())));
        } else if let Some((other, first)) = before.filter(|(_, first)| issued.value < first.value) {
            let days = days_after(&first, &issued);
            let message = format!("{} is issued {days} before {}", called(revision, "revision "), called(other, ""));
            let finding = Finding::new(Subject::Project, issued.at, message).value(days).source(SOURCE);
            found.add(finding.related(first.at, "the earlier revision"));
        }
        before = Some((revision, issued));
    }
}

/// A revision by its name, or as one without.
fn called(revision: &Given<String>, before: &str) -> String {
    revision.as_ref().map_or("a revision".into(), |revision| format!("{before}{}", revision.value))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn today_is_possible_and_tomorrow_is_not() {
        assert!(messages(&RULE, "project: {issued: 2026-06-01}\n").is_empty());
        assert_eq!(messages(&RULE, "project: {issued: 2026-06-02}\n"), ["the day of issue is 1 day ahead of today"]);
    }

    /// The day of one that is listed by mistake is not told beside it.
    #[test]
    fn what_is_listed_as_earlier_is_earlier() {
        let told = |listed: &str| {
            let text = format!(
                "project: {{revision: P2, issued: 2026-05-04, earlier-revisions: [{{revision: {listed}, issued: 2026-05-05}}]}}\n"
            );
            messages(&RULE, &text)
        };
        assert_eq!(told("Rev P2"), ["Rev P2 is listed as earlier, and is the present revision"]);
        assert_eq!(told("P3"), ["P3 is listed as earlier, and comes after P2"]);
        assert_eq!(told("C1"), ["revision P2 is issued 1 day before C1"]);
    }

    #[test]
    fn earlier_revisions_rise_too() {
        let text = "project:\n  earlier-revisions: [{revision: P1, issued: 2026-03-02}, {issued: 2026-03-01}]\n";
        assert_eq!(messages(&RULE, text), ["a revision is issued 1 day before P1"]);
    }
}
