//! A departure names its rule, its reason, the role that agreed and its last day.
//!
//! Without them nobody can say later whether a fault was accepted or merely hidden. A departure that lacks one of
//! them accepts nothing.
//!
//! ## How it is worked out
//! `rule`, `reason`, `agreed-by` and `until` must be there and not be empty.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! departures:
//!   - {rule: loop-length, at: L1, until: 2026-12-31}
//! #   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ this departure lacks its reason and agreed-by, and accepts nothing
//! ```
//! ```yaml passes
//! departures:
//!   - {rule: loop-length, at: L1, reason: existing conduit, agreed-by: reviewing engineer, until: 2026-12-31}
//! ```

use super::prelude::*;
use crate::departures::lacks;

pub static RULE: Rule = Rule {
    name: "departure-without-reason",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("departure_without_reason.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for (at, departure) in inspection.design.departures.iter().enumerate() {
        let lacks = lacks(departure);
        if lacks.is_empty() || !inspection.is_read(departure.at) {
            continue;
        }
        let message = format!("this departure lacks its {}, and accepts nothing", listed(&lacks));
        found.add(Finding::new(Subject::Departure(at), departure.at, message).source("common practice, no source"));
    }
}

/// Words as a list in a sentence: `a, b and c`.
pub(crate) fn listed(words: &[&str]) -> String {
    listed_with("and", words)
}

/// Words as a list in a sentence with another word before the last: `a, b or c`.
pub(crate) fn listed_with(joint: &str, words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => one.to_string(),
        [first @ .., last] => format!("{} {joint} {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::{RULE, listed};
    use crate::bench::{check, messages};

    #[test]
    fn an_empty_reason_is_none() {
        let text = "water: {working-pressure: 1.5 bar, colour: blue}\ndepartures:\n  - {rule: unknown-field, reason: ' ', \
                    agreed-by: reviewer, until: 2026-12-31}\n";
        assert_eq!(messages(&RULE, text), ["this departure lacks its reason, and accepts nothing"]);
        assert!(check(text).departed.is_empty());
    }

    #[test]
    fn a_day_that_cannot_be_read_is_told_once() {
        let text = "departures:\n  - {rule: unknown-field, reason: r, agreed-by: reviewer, until: next year}\n";
        assert!(messages(&RULE, text).is_empty());
    }

    #[test]
    fn words_are_listed_as_one_says_them() {
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
    }
}
