//! Every electric floor heating is protected by a residual-current device of 30 mA without delay.
//!
//! A screw through the cable makes the floor live. The device is what stands between that and a bare foot.
//!
//! ## How it is worked out
//! `residual-current-device` must be there from `for comment` on; its current is held against 30 mA, and
//! `time-delayed` must not be true.
//!
//! ## Limit
//! 30 mA, not time-delayed: BS 7671, section 753, from an article of the body that publishes it and electrical-trade texts. The rule
//! takes no departure.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m²}
//! # ^^ electric mat E1 has no residual-current device
//! ```
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², residual-current-device: {current: 100 mA, time-delayed: false}}
//! #                                                                                            ^^^^^^ the residual-current device of electric mat E1 trips at 100 mA; 30 mA is the most
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², residual-current-device: {current: 30 mA, time-delayed: false}}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "residual-current-device-missing",
    group: Group::Electric,
    weights: [Warning, Warning, Error, Error],
    limits: &[GREATEST],
    caution: Some("For planning only. A competent electrician must design and certify."),
    takes_departures: false,
    file: include_str!("residual_current_device_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "BS 7671, section 753, secondary texts";
const GREATEST: Limit = Limit { name: "greatest-residual-current", value: "30 mA", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let greatest = GREATEST.get::<Current>(&RULE, inspection);
    for mat in inspection.electric_mats() {
        let Some(device) = &mat.given.residual_current_device else {
            if inspection.design.stage() > Stage::Preliminary && inspection.is_read(mat.given.place) {
                let message = format!("electric mat {} has no residual-current device", mat.name);
                let device = "residual-current-device: {current: 30 mA, time-delayed: false}";
                let remedy = Remedy::of("ask for one of 30 mA", add_key(inspection, mat.given.place, device));
                found.add(Finding::new(mat.subject, mat.place, message).limit(&greatest).remedy(remedy));
            }
            continue;
        };
        match device.current {
            None => found.missing(mat.subject, "residual-current-device/current"),
            Some(current) if current.value > greatest.value => {
                let message = format!(
                    "the residual-current device of electric mat {} trips at {}; {} is the most",
                    mat.name, current.value, greatest.value
                );
                found.add(Finding::new(mat.subject, current.at, message).value(current.value).limit(&greatest));
            }
            Some(_) => {}
        }
        if let Some(delayed) = device.time_delayed.filter(|delayed| delayed.value) {
            let message = format!("the residual-current device of electric mat {} is time-delayed", mat.name);
            found.add(Finding::new(mat.subject, delayed.at, message).source(SOURCE));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    #[test]
    fn thirty_milliamperes_pass() {
        let mat = |device: &str| {
            messages(&RULE, &format!("electric-mats: {{E1: {{residual-current-device: {{{device}}}}}}}\n"))
        };
        assert!(mat("current: 30 mA").is_empty());
        assert_eq!(mat("current: 31 mA").len(), 1);
        assert_eq!(
            mat("current: 30 mA, time-delayed: true"),
            ["the residual-current device of electric mat E1 is time-delayed"]
        );
        let text = "electric-mats: {E1: {residual-current-device: {}}}\n";
        assert_eq!(not_checked(&RULE, text), ["electric-mats/E1/residual-current-device/current"]);
    }

    #[test]
    fn a_preliminary_design_need_not_have_it_yet_and_no_departure_is_taken() {
        assert!(messages(&RULE, "project: {stage: preliminary}\nelectric-mats: {E1: {}}\n").is_empty());
        let text = "electric-mats: {E1: {}}\ndepartures:\n  - {rule: residual-current-device-missing, reason: cost, agreed-by: \
                    nobody, until: 2027-01-01}\n";
        assert!(check(text).departed.is_empty());
    }
}
