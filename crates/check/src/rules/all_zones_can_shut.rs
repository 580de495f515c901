//! A heat pump always has somewhere to send its water.
//!
//! When the last thermostat shuts, its water stands still: it trips on high pressure, or freezes as it defrosts.
//!
//! ## How it is worked out
//! Whether every loop answers to a zone that can shut, and no by-pass is given. A loop that answers to no thermostat is always
//! open. The remedy keeps the zone of most flow always open.
//!
//! ## Limit
//! An open path of the least flow, or a by-pass: common practice, no source. Whether what is open passes enough is another
//! question, and so is what stops a pump against shut valves.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//! #   ^^^^ every zone can shut, and there is no by-pass; the heat pump's water then stands still
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1, always-open: true}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//!   by-pass: 15 l/min
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use crate::zones;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "all-zones-can-shut",
    group: Group::Controls,
    weights: [Silent, Warning, Error, Error],
    file: include_str!("all_zones_can_shut.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let controls = &design.controls;
    if design.heat_source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) || design.loops.is_empty() {
        return;
    }
    if controls.zones.is_empty() {
        if !controls.broken {
            found.missing(Subject::Controls, "zones");
        }
        return;
    }
    if controls.broken || !zones::all_can_shut(inspection) {
        return;
    }
    let message = "every zone can shut, and there is no by-pass; the heat pump's water then stands still";
    let place = controls.zones.iter().next().map_or(controls.place, |(_, entry)| entry.name_place);
    found.add(
        Finding::new(Subject::Controls, place, message)
            .source("common practice, no source")
            .remedy(keep_one_open(inspection)),
    );
}

/// Keeps the zone of most flow always open.
fn keep_one_open(inspection: &Inspection) -> Option<Remedy> {
    let flow = |loops: &Vec<usize>| -> f64 {
        let flows = loops.iter().filter_map(|at| inspection.workings.loops[*at].volume_flow.as_ref().ok());
        flows.map(|flow| flow.value.in_litres_per_minute()).sum()
    };
    let of_zones = zones::loops_of_zones(inspection);
    let most = (0..of_zones.len()).max_by(|one, other| flow(&of_zones[*one]).total_cmp(&flow(&of_zones[*other])))?;
    let (name, entry) = inspection.design.controls.zones.at(most)?;
    let title = format!("keep {name} always open");
    match entry.value.always_open {
        Some(shut) => Some(Remedy::new(title, shut.at, "true")),
        None => Remedy::of(title, add_key(inspection, entry.value.place, "always-open: true")),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_loop_without_a_thermostat_is_always_open() {
        let text = "controls:\n  zones:\n    hall: {rooms: [hall], thermostat: {feels: air}, actuators: 1}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }

    #[test]
    fn a_boiler_is_stopped_instead() {
        let text = "heat-source: {kind: condensing boiler, flow-temperature: 38 °C, temperature-drop: 5 K}\n\
                    controls:\n  zones:\n    all: {rooms: [hall, study], thermostat: {feels: air}, actuators: 2}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
