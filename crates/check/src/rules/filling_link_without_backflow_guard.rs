//! The link through which the heating is filled has a double check valve, and its hose is taken off.
//!
//! When the main loses pressure, a link that is left joined sucks heating water with its inhibitor into the drinking
//! water of the house.
//!
//! ## How it is worked out
//! `double-check-valve` and `taken-off` of the filling link must be true.
//!
//! ## Limit
//! Water Supply (Water Fittings) Regulations of the United Kingdom, guidance of the approving body: closed circuits are
//! fluid category 3. Other places ask for other valves: there the rule is not checked.
//!
//! ```yaml fails
//! safety:
//!   limit-thermostat: {setting: 45 °C, independent: true, without-power: true}
//!   filling-link: {double-check-valve: false, taken-off: false}
//! #                                    ^^^^^ the filling link has no double check valve
//! #                                                      ^^^^^ the hose of the filling link is left joined
//! ```
//! ```yaml passes
//! safety:
//!   limit-thermostat: {setting: 45 °C, independent: true, without-power: true}
//!   filling-link: {double-check-valve: true, taken-off: true}
//! ```

use super::prelude::*;
use design::{Jurisdiction, Stage};

pub static RULE: Rule = Rule {
    name: "filling-link-without-backflow-guard",
    group: Group::Safety,
    weights: [Warning, Warning, Error, Error],
    caution: Some("Assumes the jurisdiction and edition shown; rules change."),
    file: include_str!("filling_link_without_backflow_guard.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "Water Supply (Water Fittings) Regulations (United Kingdom), guidance of the approving body";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    use Jurisdiction::{England, NorthernIreland, Scotland, Wales};
    // Where no place is given the rule still speaks: what flows back is poison anywhere.
    if design.site.jurisdiction.is_some() && !found.applies_in(inspection, &[England, Wales, Scotland, NorthernIreland])
    {
        return;
    }
    let link = design.safety.filling_link.as_ref().map(|link| &link.value);
    let must = [
        (
            link.and_then(|it| it.double_check_valve),
            "filling-link/double-check-valve",
            "the filling link has no double check valve",
        ),
        (link.and_then(|it| it.taken_off), "filling-link/taken-off", "the hose of the filling link is left joined"),
    ];
    for (given, key, message) in must {
        match given {
            None if design.stage() >= Stage::ForConstruction => found.missing(Subject::Safety, key),
            Some(given) if !given.value => found.add(Finding::new(Subject::Safety, given.at, message).source(SOURCE)),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn without_a_link_it_is_not_checked() {
        let wanted = ["safety/filling-link/double-check-valve", "safety/filling-link/taken-off"];
        assert_eq!(not_checked(&RULE, "safety: {}\n"), wanted);
        assert!(not_checked(&RULE, "project: {stage: preliminary}\nsafety: {}\n").is_empty());
    }

    #[test]
    fn other_places_have_other_valves() {
        let text = "site: {jurisdiction: Germany}\nsafety: {filling-link: {double-check-valve: false}}\n";
        assert!(messages(&RULE, text).is_empty());
        assert_eq!(
            not_checked(&RULE, text),
            ["this rule knows the regulations of England, Wales, Scotland, Northern Ireland"]
        );
        assert_eq!(messages(&RULE, "site: {}\nsafety: {filling-link: {double-check-valve: false}}\n").len(), 1);
    }
}
