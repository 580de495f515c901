//! A boiler gets the flow that it must have.
//!
//! A boiler with little water in it boils that where too little flows, and shuts down with a noise. A mixing set takes of the
//! boiler's water only the hot share of its blend, often a quarter of what goes round in the floor.
//!
//! ## How it is worked out
//! The flow that the source sends each manifold when every loop is open: all of it, or the hot share where a mixing set blends
//! it with the return; and the by-pass. Against the least flow that the source states.
//!
//! ## Limit
//! The maker's figure.
//!
//! ## Exceptions
//! Heat pumps have a rule of their own. Where other circuits share the source and the floors alone do not take enough, it is not
//! checked: what flows through the others is not known.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 60 °C, temperature-drop: 5 K, least-flow: 2 l/min}
//! #                                                                                                  ^^^^^^^ the source must have 2.00 l/min; with every loop open the floors take 0.86 l/min of it
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! controls: {}
//! ```
//! ```yaml remedied
//! heat-source: {kind: condensing boiler, flow-temperature: 60 °C, temperature-drop: 5 K, least-flow: 2 l/min}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! controls: {by-pass: 1.5 l/min}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 60 °C, temperature-drop: 5 K, least-flow: 2 l/min}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//!   by-pass: 2 l/min
//! ```

use super::prelude::*;
use crate::zones;
use design::SourceKind;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "source-flow-rate-not-met",
    group: Group::Source,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("source_flow_rate_not_met.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    let Some(least) = source.least_flow.filter(|_| source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump))
    else {
        return;
    };
    if inspection.design.loops.is_empty() {
        return;
    }
    let mut flow = inspection.design.controls.by_pass.map_or(VolumeFlow::ZERO, |it| it.value);
    for at in 0..inspection.workings.loops.len() {
        match zones::primary_flow(inspection, at) {
            Ok(of_loop) => flow += of_loop,
            Err((about, gap)) => return found.not_checked(about, &gap),
        }
    }
    if flow >= least.value {
        return;
    }
    if !source.other_circuits.is_empty() {
        let reason = format!(
            "the floors take {flow} of the {} that the source must have; how much its other circuits take is not known",
            least.value
        );
        return found.not_checked(Subject::HeatSource, &Gap::NoMethod(reason));
    }
    let message = format!("the source must have {}; with every loop open the floors take {flow} of it", least.value);
    found.add(
        Finding::new(Subject::HeatSource, least.at, message)
            .value(flow)
            .limit(&LimitValue::new(least.value, "the source's maker, as the design gives it"))
            .remedy(super::heat_pump_flow_rate_not_met::by_pass(inspection, least.value - flow)),
    );
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn what_other_circuits_take_is_not_known() {
        let source = "heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K, least-flow: 20 l/min";
        assert_eq!(messages(&RULE, &format!("{source}}}\n")).len(), 1);
        let others = ", other-circuits: {radiators: {feeds: radiators, flow-temperature: 50 °C, output: 2 kW}}}\n";
        assert_eq!(messages(&RULE, &format!("{source}{others}")), [""; 0]);
        let reason = "the floors take 3.65 l/min of the 20.00 l/min that the source must have; how much its other circuits take is not known";
        assert_eq!(not_checked(&RULE, &format!("{source}{others}")), [reason]);
        assert_eq!(not_checked(&RULE, &format!("{source}{others}").replace("20 l/min", "3 l/min")), [""; 0]);
    }
}
