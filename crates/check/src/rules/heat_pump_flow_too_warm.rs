//! A heat pump gives its floor water no warmer than the floor should need.
//!
//! Each kelvin warmer costs a heat pump about 2.5 % of its efficiency, every hour of every winter.
//!
//! ## How it is worked out
//! The design flow temperature is compared with what a well-laid floor needs: closer spacing, a thinner covering or one more
//! emitter in the room that asks most bring it down. Loss of efficiency: 2.5 % a kelvin above 35 °C.
//!
//! ## Limit
//! 40 °C is a good aim; above 45 °C a warning, above 50 °C an error: common practice, no source. The 2.5 % a kelvin stands in one
//! trade text.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 47 °C, temperature-drop: 5 K}
//! #                                                ^^^^^ the heat pump gives water of 47.0 °C; a floor should need no more than 45.0 °C, and against 35 °C about 30 % of its efficiency is lost
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 45 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use design::{SourceKind, Stage};

pub static RULE: Rule = Rule {
    name: "heat-pump-flow-too-warm",
    group: Group::Source,
    weights: [Information, Error, Error, Error],
    limits: &[TARGET, MOST],
    file: include_str!("heat_pump_flow_too_warm.rs"),
    check,
    ..Rule::USUAL
};

const TARGET: Limit = Limit { name: "target", value: "45 °C", source: "common practice, no source" };
const MOST: Limit = Limit { name: "most", value: "50 °C", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) {
        return;
    }
    let Some(flow) = source.flow_temperature else { return found.missing(Subject::HeatSource, "flow-temperature") };
    let (target, most) = (TARGET.get::<Temperature>(), MOST.get::<Temperature>());
    let limit = if flow.value > most.value { &most } else { &target };
    if flow.value <= limit.value {
        return;
    }
    let lost = (flow.value - Temperature::celsius(35.0)).in_kelvin() * 2.5;
    let message = format!(
        "the heat pump gives water of {}; a floor should need no more than {}, and against 35 °C about {lost:.0} % of its efficiency is lost",
        flow.value, limit.value
    );
    let finding = Finding::new(Subject::HeatSource, flow.at, message).value(flow.value).limit(limit);
    let is_early = inspection.design.stage() == Stage::Preliminary;
    if is_early || flow.value > most.value { found.add(finding) } else { found.add_as(Warning, finding) }
}
