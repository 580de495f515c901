//! A departure holds until its last day and no longer.
//!
//! A concession for one revision that stays in for ever silences the fault the day it comes back.
//!
//! ## How it is worked out
//! `until` is held against the day of the check. From the day after it the findings that the departure accepted
//! are findings again, at their full severity.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! departures:
//!   - {rule: loop-length, at: L1, reason: existing conduit, agreed-by: reviewing engineer, until: 2026-05-28}
//! #                                                                                               ^^^^^^^^^^ this departure ran out 4 days ago
//! ```
//! ```yaml remedied
//! departures:
//!   []
//! ```
//! ```yaml passes
//! departures:
//!   - {rule: loop-length, at: L1, reason: existing conduit, agreed-by: reviewing engineer, until: 2026-06-01}
//! ```

use super::prelude::*;
use crate::records::days_after;
use crate::remedy::remove_item;
use design::Placed;

pub static RULE: Rule = Rule {
    name: "departure-expired",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("departure_expired.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for (at, departure) in inspection.design.departures.iter().enumerate() {
        let Some(until) = departure.until.filter(|until| until.value < inspection.today) else { continue };
        let past = days_after(&Placed { value: inspection.today, at: until.at }, &until);
        let finding = Finding::new(Subject::Departure(at), until.at, format!("this departure ran out {past} ago"));
        let finding = finding.value(past).source("common practice, no source");
        found.add(finding.remedy(without(inspection, at)));
    }
}

/// The list without a departure.
pub(crate) fn without(inspection: &Inspection, at: usize) -> Option<Remedy> {
    let places: Vec<_> = inspection.design.departures.iter().map(|it| it.at).collect();
    let change = remove_item(inspection, &places, at)?;
    Remedy::of("take this departure out", vec![change])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn until(day: &str) -> String {
        format!("departures:\n  - {{rule: unknown-field, reason: old key, agreed-by: reviewer, until: {day}}}\n")
    }

    #[test]
    fn the_last_day_counts() {
        assert!(messages(&RULE, &until("2026-06-01")).is_empty());
        assert_eq!(messages(&RULE, &until("2026-05-31")), ["this departure ran out 1 day ago"]);
    }

    #[test]
    fn what_it_accepted_is_a_finding_again() {
        let text = |day| format!("water: {{working-pressure: 1.5 bar, colour: blue}}\n{}", until(day));
        assert_eq!(check(&text("2026-06-01")).departed.len(), 1);
        assert!(check(&text("2026-05-31")).findings.iter().any(|it| it.rule.name == "unknown-field"));
    }
}
