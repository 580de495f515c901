//! A heat pump always has somewhere to send its water.
//!
//! When the last thermostat shuts, its water stands still: it trips on high pressure, or freezes as it defrosts.
//!
//! ## How it is worked out
//! Whether every loop answers to a zone that can shut, and no by-pass is given. A loop that answers to no thermostat is always
//! open. The remedies give a by-pass that passes what the heat pump must have, or keep the zones of most flow always open, without
//! actuators, until they pass it.
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
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 0, always-open: true}
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
            .remedy(by_pass(inspection))
            .remedy(keep_open(inspection)),
    );
}

/// Keeps zones always open, those of most flow first, until they pass what the heat pump must have, or one where nobody knows how
/// much that is.
fn keep_open(inspection: &Inspection) -> Option<Remedy> {
    const ANY: VolumeFlow = VolumeFlow::litres_per_minute(1e-6);
    let needed = super::heat_pump_flow_rate_not_met::needed(inspection).map_or(ANY, |(needed, ..)| needed);
    super::heat_pump_flow_rate_not_met::keep_open(inspection, needed)
}

/// A by-pass that passes what the heat pump must have.
fn by_pass(inspection: &Inspection) -> Option<Remedy> {
    let (needed, ..) = super::heat_pump_flow_rate_not_met::needed(inspection).ok()?;
    super::heat_pump_flow_rate_not_met::by_pass(inspection, needed)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    /// Each room's loop passes some 1.8 l/min: one is not enough for 3 l/min, two are, and for 8 l/min it takes a by-pass.
    #[test]
    fn so_much_is_kept_open_as_is_needed() {
        let titles = |least: &str| -> Vec<String> {
            let text = format!(
                "heat-source: {{kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: {least}, volume-vessel: \
                 50 l}}\ncontrols:\n  zones:\n    hall: {{rooms: [hall], thermostat: {{feels: air}}, actuators: 1}}\n    study: {{rooms: \
                 [study], thermostat: {{feels: air}}, actuators: 1}}\n"
            );
            let outcome = check(&text);
            let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
            finding.remedies.iter().map(|it| it.title.clone()).collect()
        };
        assert_eq!(titles("1.5 l/min"), ["give it a by-pass of 1.5 l/min", "keep hall always open"]);
        assert_eq!(titles("3 l/min"), ["give it a by-pass of 3 l/min", "keep hall and study always open"]);
        assert_eq!(titles("8 l/min"), ["give it a by-pass of 8 l/min"]);
    }

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
