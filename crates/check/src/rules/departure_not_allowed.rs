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

use super::departure_expired::{places, without};
use super::prelude::*;
use crate::RULES;
use std::collections::HashMap;

pub static RULE: Rule = Rule {
    name: "departure-not-allowed",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    after_the_others: true,
    file: include_str!("departure_not_allowed.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let places = places(inspection);
    let design = inspection.design;
    let misspelt: HashMap<(&str, String), &Finding> = (found.so_far().iter())
        .filter(|finding| finding.is_misspelt)
        .map(|finding| ((finding.rule.name, finding.at(design)), finding))
        .collect();
    let mut new = Vec::new();
    for (at, departure) in design.departures.iter().enumerate() {
        let Some(rule) = &departure.rule else { continue };
        let accepts = departure.value.at.as_ref().and_then(|at| misspelt.get(&(rule.value.as_str(), at.value.clone())));
        let message = match accepts {
            Some(finding) => format!("{} takes no departure where a key is misspelt: {}", rule.value, finding.message),
            None if RULES.iter().any(|it| it.name == rule.value && !it.takes_departures) => {
                format!("{} takes no departure", rule.value)
            }
            None => continue,
        };
        let finding = Finding::new(Subject::Departure(at), rule.at, message).source("common practice, no source");
        new.push(finding.remedy(without(inspection, &places, at)));
    }
    new.into_iter().for_each(|finding| found.add(finding));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::RULES;
    use crate::bench::{check, messages};

    /// What a misspelt key should say is missing, and no rule speaks of it while that finding stands.
    #[test]
    fn a_slip_is_mended_and_not_accepted() {
        let text = "safety:\n  limit-thermostt: {setting: 45 °C, independent: true, without-power: true}\n  safety-valve: 3 bar\n\
                    departures:\n  - {rule: unknown-field, at: safety/limit-thermostt, reason: r, agreed-by: engineer, until: 2030-01-01}\n";
        assert_eq!(
            messages(&RULE, text),
            [
                "unknown-field takes no departure where a key is misspelt: a safety has no key `limit-thermostt`; did you mean \
              `limit-thermostat`"
            ]
        );
        assert!(check(text).findings.iter().any(|it| it.rule.name == "unknown-field"));
        let named_alone = text.replace("at: safety/limit-thermostt, ", "");
        assert!(check(&named_alone).findings.iter().any(|it| it.rule.name == "unknown-field"));
    }

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
