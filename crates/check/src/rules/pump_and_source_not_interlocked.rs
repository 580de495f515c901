//! Pump and source stop when every valve is shut.
//!
//! A pump that runs against shut valves wears itself out, and a boiler that fires into no flow trips and cycles all night.
//!
//! ## How it is worked out
//! What the design says of the interlock, where thermostats can shut loops at all.
//!
//! ## Limit
//! Interlock through the wiring centre: English compliance guidance, seen in a trade discussion.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//!   interlock: false
//! #            ^^^^^ pump and source go on running when every valve is shut
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//!   interlock: true
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "pump-and-source-not-interlocked",
    group: Group::Controls,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("pump_and_source_not_interlocked.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let controls = &inspection.design.controls;
    if controls.zones.is_empty() || inspection.design.loops.is_empty() {
        return;
    }
    let Some(interlock) = controls.interlock else {
        if !controls.broken {
            found.missing(Subject::Controls, "interlock");
        }
        return;
    };
    if interlock.value || controls.zones.values().all(|zone| zone.always_open.is_some_and(|open| open.value)) {
        return;
    }
    let message = "pump and source go on running when every valve is shut";
    found.add(
        Finding::new(Subject::Controls, interlock.at, message)
            .source("English compliance guidance, seen in a trade discussion")
            .remedy(Remedy::new("stop them through the wiring centre", interlock.at, "true")),
    );
}
