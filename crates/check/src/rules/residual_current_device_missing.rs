//! An electric heating mat is protected by a residual-current device of 30 mA without delay.
//!
//! A drilled or chafed cable in a wet floor can kill. The device cuts off before the current through a person does harm.
//!
//! ## How it is worked out
//! The device that the mat names is compared with the limit.
//!
//! ## Limit
//! 30 mA, not time-delayed: BS 7671 regulation 753.415.1. Takes no departure.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 3 m², residual-current-device: {current: 100 mA}}
//! #                                                                 ^^^^^^ the residual-current device of E1 trips at 100 mA; at most 30 mA protects a person
//! ```
//! ```yaml remedied
//! electric-mats:
//!   E1: {room: hall, area: 3 m², residual-current-device: {current: 30 mA}}
//! ```
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 3 m²}
//! # ^^ electric mat E1 names no residual-current device; it wants one of 30 mA
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "residual-current-device-missing",
    group: Group::Electric,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    caution: Some("For planning only. A competent electrician must design and certify."),
    takes_departures: false,
    file: include_str!("residual_current_device_missing.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit {
    name: "greatest-residual-current",
    value: "30 mA",
    source: "BS 7671, regulation 753.415.1, as an article of the institution that publishes it gives it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Current>();
    for (at, (name, entry)) in inspection.design.electric_mats.iter().enumerate() {
        let subject = Subject::ElectricMat(at);
        let mat = &entry.value;
        let Some(device) = &mat.residual_current_device else {
            if !mat.broken {
                let message =
                    format!("electric mat {name} names no residual-current device; it wants one of {}", most.value);
                found.add(Finding::new(subject, entry.name_place, message).limit(&most));
            }
            continue;
        };
        match device.current {
            Some(current) if current.value > most.value => {
                let message = format!(
                    "the residual-current device of {name} trips at {}; at most {} protects a person",
                    current.value, most.value
                );
                let remedy = Remedy::new("take one of 30 mA", current.at, "30 mA");
                found.add(Finding::new(subject, current.at, message).value(current.value).limit(&most).remedy(remedy));
            }
            Some(_) => {}
            None if device.broken => {}
            None => found.missing(subject, "residual-current-device/current"),
        }
        if let Some(delayed) = device.time_delayed
            && delayed.value
        {
            let message = format!("the residual-current device of {name} waits before it trips; it may not");
            let remedy = Remedy::new("take one without delay", delayed.at, "false");
            found.add(Finding::new(subject, delayed.at, message).limit(&most).remedy(remedy));
        }
    }
}
