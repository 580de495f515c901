//! The limit thermostat acts only above the water that the floor is meant to have.
//!
//! One that acts at the design flow temperature stops the pump on the coldest day, and is soon turned up or bridged.
//!
//! ## How it is worked out
//! The setting of `limit-thermostat` against the hottest flow of any loop.
//!
//! ## Limit
//! 5 K above the hottest flow at least: common practice, no source. At or below the flow it is an error.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! safety:
//!   limit-thermostat: {setting: 36 °C, independent: true, without-power: true}
//! #                             ^^^^^ the limit thermostat acts at 36.0 °C, and the floor is to have water of 38.0 °C: it stops the heat before the house is warm
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! safety:
//!   limit-thermostat: {setting: 48 °C, independent: true, without-power: true}
//! ```
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! safety:
//!   limit-thermostat: {setting: 41 °C, independent: true, without-power: true}
//! #                             ^^^^^ the limit thermostat acts 3.0 K above the hottest flow of 38.0 °C; 5.0 K at least keeps it from stopping the heat by mistake
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! safety:
//!   limit-thermostat: {setting: 43 °C, independent: true, without-power: true}
//! ```

use super::limit_thermostat_set_too_high::{hottest_flow, usual_setting};
use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "limit-thermostat-set-too-low",
    group: Group::Safety,
    weights: [Warning, Error, Error, Error],
    limits: &[ABOVE_FLOW],
    follows: &[
        "flow-temperature-over-regulation",
        "heat-pump-flow-too-warm",
        "layer-over-its-temperature-limit",
        "source-cooler-than-floor-needs",
    ],
    file: include_str!("limit_thermostat_set_too_low.rs"),
    check,
    ..Rule::USUAL
};

const ABOVE_FLOW: Limit = Limit { name: "least-above-flow", value: "5 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    // That a setting is missing is told by its neighbour, which holds it against the floor.
    let Some(setting) = inspection.design.safety.limit_thermostat.as_ref().and_then(|it| it.setting) else { return };
    let Some((flow, at)) = hottest_flow(inspection) else { return };
    let (least, over) = (ABOVE_FLOW.get::<TemperatureDifference>(&RULE, inspection), setting.value - flow);
    if !least.is_missed_by(over) {
        return;
    }
    let stops = setting.value <= flow;
    let message = if stops {
        format!(
            "the limit thermostat acts at {}, and the floor is to have water of {flow}: it stops the heat before the house is warm",
            setting.value
        )
    } else {
        format!(
            "the limit thermostat acts {over} above the hottest flow of {flow}; {} at least keeps it from stopping the heat by mistake",
            least.value
        )
    };
    let name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    let text = format!("{} °C", usual_setting(inspection, flow).in_celsius().floor());
    let finding = Finding::new(Subject::Safety, setting.at, message)
        .value(over)
        .limit(&least)
        .figure(format!("loops.{name}.flow-temperature"))
        .remedy(Remedy::new(format!("set it to {text}"), setting.at, text));
    if stops { found.add(finding) } else { found.add_as(Warning, finding) }
}
