//! Some rules take no departure.
//!
//! A few rules guard people: an independent limit thermostat, heating water apart from drinking water, a test
//! before covering, residual-current protection. No reason makes their breach acceptable. Faults of the file
//! itself take none either: they are mended.
//!
//! ## How it is worked out
//! The rule that the departure names says whether it takes one.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! departures:
//!   - {rule: pressure-test-missing, reason: no time, agreed-by: site manager, until: 2026-12-31}
//! #          ^^^^^^^^^^^^^^^^^^^^^ pressure-test-missing takes no departure
//! ```
//! ```yaml remedied
//! departures:
//!   []
//! ```
//! ```yaml passes
//! departures: []
//! ```

use super::departure_expired::without;
use super::prelude::*;
use crate::RULES;

pub static RULE: Rule = Rule {
    name: "departure-not-allowed",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("departure_not_allowed.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for (at, departure) in inspection.design.departures.iter().enumerate() {
        let Some(rule) = &departure.rule else { continue };
        if RULES.iter().any(|it| it.name == rule.value && !it.takes_departures) {
            let message = format!("{} takes no departure", rule.value);
            let finding = Finding::new(Subject::Departure(at), rule.at, message).source("common practice, no source");
            found.add(finding.remedy(without(inspection, at)));
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::RULES;

    /// The closed list: what guards people takes no departure.
    #[test]
    fn what_guards_people_takes_none() {
        for name in [
            "limit-thermostat-missing",
            "heating-water-meets-drinking-water",
            "pressure-test-missing",
            "pressure-test-after-covering",
            "air-test-out-of-band",
            "residual-current-device-missing",
            "electric-earth-layer-missing",
            "solid-fuel-source-uncontrolled",
        ] {
            let rule = RULES.iter().find(|rule| rule.name == name);
            assert!(rule.is_none_or(|rule| !rule.takes_departures), "{name}");
        }
    }
}
