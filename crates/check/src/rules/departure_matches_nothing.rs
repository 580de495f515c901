//! A departure accepts something: there is a finding of its rule at its place.
//!
//! Once the fault is gone the departure must go too, or it will hide the next one.
//!
//! ## How it is worked out
//! The findings of the check, those that departures accept included, are held against the rule and the place
//! of each departure. A rule that does not exist is told with the nearest name.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! water: {working-pressure: 1.5 bar}
//! departures:
//!   - {rule: unknown-field, reason: kept for another tool, agreed-by: reviewing engineer, until: 2026-12-31}
//! #          ^^^^^^^^^^^^^ this departure accepts nothing: there is no finding of unknown-field
//! ```
//! ```yaml remedied
//! water: {working-pressure: 1.5 bar}
//! departures:
//!   []
//! ```
//! ```yaml passes
//! water: {working-pressure: 1.5 bar, colour: blue}
//! departures:
//!   - {rule: unknown-field, reason: kept for another tool, agreed-by: reviewing engineer, until: 2026-12-31}
//! ```
//! ```yaml fails
//! departures:
//!   - {rule: unknwon-field, reason: kept for another tool, agreed-by: reviewing engineer, until: 2026-12-31}
//! #          ^^^^^^^^^^^^^ there is no rule `unknwon-field`; did you mean `unknown-field`
//! ```

use super::departure_expired::{places, without};
use super::prelude::*;
use crate::departures::matched;

pub static RULE: Rule = Rule {
    name: "departure-matches-nothing",
    group: Group::DesignFile,
    weights: [Warning; 4],
    takes_departures: false,
    after_the_others: true,
    file: include_str!("departure_matches_nothing.rs"),
    check,
    ..Rule::USUAL
};

/// A guess compares all names of rules; a file that wants more of them has other troubles.
const MOST_GUESSES: usize = 100;

fn check(inspection: &Inspection, found: &mut Findings) {
    let departures = &inspection.design.departures;
    if departures.is_empty() {
        return;
    }
    let matched = matched(inspection, found.so_far());
    let places = places(inspection);
    let mut guesses = MOST_GUESSES;
    let is_name = |kind: &FaultKind| matches!(kind, FaultKind::UnknownName { .. });
    let unread = inspection.reading.faults.iter().any(|fault| !is_name(&fault.kind));
    let unread = unread || !inspection.reading.doubted.is_empty();
    for ((at, departure), matched) in departures.iter().enumerate().zip(matched) {
        let Some(rule) = departure.rule.as_ref().filter(|_| !matched) else { continue };
        let finding = match inspection.house.rules().find(|it| it.name == rule.value) {
            // That one takes no departure is said already.
            Some(known) if !known.takes_departures => continue,
            // What cannot be read may hide the finding.
            Some(_) if unread => continue,
            Some(_) => {
                let place = departure.value.at.as_ref().map(|at| format!(" at {}", at.value)).unwrap_or_default();
                let message = format!("this departure accepts nothing: there is no finding of {}{place}", rule.value);
                Finding::new(Subject::Departure(at), rule.at, message).remedy(without(inspection, &places, at))
            }
            None => {
                let names = inspection.house.rules().map(|it| it.name).take(if guesses > 0 { usize::MAX } else { 0 });
                guesses = guesses.saturating_sub(1);
                let nearest = design::nearest(&rule.value, names);
                let guess = nearest.map(|name| format!("; did you mean `{name}`")).unwrap_or_default();
                let message = format!("there is no rule `{}`{guess}", rule.value);
                let remedy = nearest.map(|name| Remedy::new(format!("write `{name}`"), rule.at, name));
                Finding::new(Subject::Departure(at), rule.at, message).remedy(remedy)
            }
        };
        found.add(finding.source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn departing(at: &str) -> Vec<String> {
        let text = format!(
            "loops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}}\ndepartures:\n  - \
             {{rule: definition-not-used, {at}reason: r, agreed-by: reviewer, until: 2026-12-31}}\npipes:\n  PEX-16: {{}}\n  \
             spare: {{}}\n"
        );
        messages(&RULE, &text)
    }

    #[test]
    fn a_place_is_its_path_or_its_name() {
        assert!(departing("").is_empty());
        assert!(departing("at: spare, ").is_empty());
        assert!(departing("at: pipes/spare, ").is_empty());
        assert_eq!(
            departing("at: L9, "),
            ["this departure accepts nothing: there is no finding of definition-not-used at L9"]
        );
    }

    #[test]
    fn one_that_has_run_out_still_matches() {
        let text = "water: {working-pressure: 1.5 bar, colour: blue}\ndepartures:\n  - {rule: unknown-field, reason: r, \
                    agreed-by: reviewer, until: 2026-01-31}\n";
        assert!(messages(&RULE, text).is_empty());
    }
}
