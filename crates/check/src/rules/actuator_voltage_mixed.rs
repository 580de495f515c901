//! Actuators and wiring centre are of one voltage, and all actuators stand alike without power.
//!
//! 24 V parts on 230 V burn. And where some valves open and others shut when the power goes, the same signal heats one room and
//! cools the next.
//!
//! ## How it is worked out
//! The voltages that the design gives are compared, and how its actuators stand without power.
//!
//! ## Limit
//! All alike: common practice, no source.
//!
//! ```yaml fails
//! controls:
//!   wiring-centre: {voltage: 24 V, channels: 6}
//!   actuators: {voltage: 230 V, normally: closed}
//! #                      ^^^^^ the actuators are for 230 V and the wiring centre gives 24 V
//! ```
//! ```yaml remedied
//! controls:
//!   wiring-centre: {voltage: 24 V, channels: 6}
//!   actuators: {voltage: 24 V, normally: closed}
//! ```
//! ```yaml fails
//! controls:
//!   wiring-centre: {voltage: 230 V, channels: 6}
//!   actuators: {voltage: 230 V, normally: mixed}
//! #                                       ^^^^^ some actuators are shut without power and others open; the same signal then means two things
//! ```
//! ```yaml passes
//! controls:
//!   wiring-centre: {voltage: 230 V, channels: 6}
//!   actuators: {voltage: 230 V, normally: closed}
//! ```

use super::prelude::*;
use design::Normally;

pub static RULE: Rule = Rule {
    name: "actuator-voltage-mixed",
    group: Group::Controls,
    weights: [Silent, Warning, Error, Error],
    caution: Some("For planning only. A competent electrician must design and certify it."),
    file: include_str!("actuator_voltage_mixed.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source";

fn check(inspection: &Inspection, found: &mut Findings) {
    let controls = &inspection.design.controls;
    let mixed = controls.actuators.as_ref().and_then(|it| it.normally).filter(|it| it.value == Normally::Mixed);
    if let Some(mixed) = mixed {
        let message = "some actuators are shut without power and others open; the same signal then means two things";
        found.add(Finding::new(Subject::Controls, mixed.at, message).source(SOURCE));
    }
    let Some(centre) = &controls.wiring_centre else { return };
    let (Some(of_centre), Some(of_actuators)) = (centre.voltage, controls.actuators.as_ref().and_then(|it| it.voltage))
    else {
        if !controls.broken {
            let key = if centre.voltage.is_none() { "wiring-centre/voltage" } else { "actuators/voltage" };
            found.missing(Subject::Controls, key);
        }
        return;
    };
    if of_centre.value == of_actuators.value {
        return;
    }
    let message =
        format!("the actuators are for {} and the wiring centre gives {}", of_actuators.value, of_centre.value);
    let text = inspection.text(of_centre.at);
    found.add(
        Finding::new(Subject::Controls, of_actuators.at, message)
            .value(of_actuators.value)
            .limit(&LimitValue::new(of_centre.value, SOURCE))
            .related(of_centre.at, "the voltage of the wiring centre")
            .remedy(Remedy::new(format!("take actuators for {text}"), of_actuators.at, text)),
    );
}
