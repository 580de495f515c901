//! An electric mat draws no more than its circuit carries and its thermostat switches.
//!
//! Contacts that switch more than they bear weld, and then the floor is never off.
//!
//! ## How it is worked out
//! Power over voltage, 230 V if none is given, held against `circuit` and `thermostat-current`.
//!
//! ## Limit
//! What the circuit and the thermostat are rated for: common practice, no source. A 13 A spur carries 3 kW, a thermostat often 16 A.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 11 m², power-density: 200 W/m², circuit: 6 A, thermostat-current: 16 A}
//! #                                                                 ^^^ electric mat E1 draws 9.6 A; its circuit carries 6.0 A
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 11 m², power-density: 150 W/m², circuit: 13 A, thermostat-current: 16 A}
//! ```

use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "electric-load-over-circuit",
    group: Group::Electric,
    weights: [Warning, Error, Error, Error],
    caution: Some("For planning only. A competent electrician must design and certify."),
    guards_people: true,
    file: include_str!("electric_load_over_circuit.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(current) = found.need(mat.subject, &mat.worked.current) else { continue };
        let parts = [
            (mat.given.circuit, "circuit", "its circuit carries"),
            (mat.given.thermostat_current, "thermostat-current", "its thermostat switches"),
        ];
        for (given, key, bears) in parts {
            match given {
                Some(part) if current.value > part.value => {
                    let message = format!("electric mat {} draws {}; {bears} {}", mat.name, current.value, part.value);
                    let limit = LimitValue::new(part.value, "its rating, as the design states it");
                    let finding = Finding::new(mat.subject, part.at, message).value(current.value).limit(&limit);
                    found.add(finding.figure(format!("electric-mats.{}.current", mat.name)));
                }
                None if inspection.design.stage() > Stage::Preliminary => found.missing(mat.subject, key),
                _ => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_spur_may_be_used_to_the_full() {
        let mat = |power: &str| {
            messages(
                &RULE,
                &format!(
                    "electric-mats: {{E1: {{power: {power}, voltage: 230 V, circuit: 13 A, thermostat-current: 10 A}}}}\n"
                ),
            )
        };
        assert!(mat("2300 W").is_empty());
        assert_eq!(mat("2990 W"), ["electric mat E1 draws 13.0 A; its thermostat switches 10.0 A"]);
        assert_eq!(mat("3 kW").len(), 2);
    }

    #[test]
    fn what_is_not_known_is_told() {
        let wanted = ["electric-mats/E1/circuit", "electric-mats/E1/thermostat-current"];
        assert_eq!(not_checked(&RULE, "electric-mats: {E1: {power: 300 W}}\n"), wanted);
        assert_eq!(not_checked(&RULE, "electric-mats: {E1: {}}\n"), ["electric-mats/E1/power-density"]);
    }
}
