//! A heat pump gives its floor water no warmer than the floor should need.
//!
//! Each kelvin warmer takes a heat pump 1.5 to 3 % more electricity, every hour of every winter.
//!
//! ## How it is worked out
//! The design flow temperature is compared with what a well-laid floor needs: closer spacing, a thinner covering or one more
//! emitter in the room that asks most bring it down. What warm water costs against water of 35 °C is a range, at 0 °C outdoors
//! or in the ground: fits to measured heat pumps by Staffell et al. (2012) and Ruhnau et al. (2019), for air and for ground.
//! The remedy gives water as warm as the floor that needs the warmest.
//!
//! ## Limit
//! 40 °C is a good aim; above 45 °C a warning, above 50 °C an error: common practice, no source.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 47 °C, temperature-drop: 5 K}
//! #                                                ^^^^^ the heat pump gives water of 47.0 °C; a floor should need no more than 45.0 °C, and against 35 °C it takes 20 to 44 % more electricity
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 34 °C, temperature-drop: 5 K}
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 45 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use design::{SourceKind, Stage};
use engineering::water::source::taken_for_warmer_flow;

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
    let (cool, frost) = (Temperature::celsius(35.0), Temperature::celsius(0.0));
    let taken = match taken_for_warmer_flow(flow.value, cool, frost) {
        Ok((least, most)) => {
            let (least, most) = (least.in_percent(), most.in_percent());
            format!(", and against 35 °C it takes {least:.0} to {most:.0} % more electricity")
        }
        Err(_) => String::new(),
    };
    let message =
        format!("the heat pump gives water of {}; a floor should need no more than {}{taken}", flow.value, limit.value);
    let finding = Finding::new(Subject::HeatSource, flow.at, message)
        .value(flow.value)
        .limit(limit)
        .remedy(as_floors_need(inspection));
    let is_early = inspection.design.stage() == Stage::Preliminary;
    if is_early || flow.value > most.value { found.add(finding) } else { found.add_as(Warning, finding) }
}

/// The source set to water as warm as all that it feeds needs, in whole kelvins, where it gives warmer.
pub(super) fn as_floors_need(inspection: &Inspection) -> Option<Remedy> {
    let source = &inspection.design.heat_source;
    let flow = source.flow_temperature?;
    let mut needed: Option<Temperature> = None;
    let mut wants = |temperature: Temperature| needed = Some(needed.map_or(temperature, |it| it.max(temperature)));
    for it in inspection.loops() {
        // A manifold with a temperature of its own asks for that.
        let own = it.worked.manifold.and_then(|at| inspection.design.manifolds.at(at)?.1.value.flow_temperature);
        match own {
            Some(own) => wants(own.value),
            None if super::one_room_sets_flow_temperature::asks_too_much(it.worked) => return None,
            None => wants(it.worked.flow_temperature_needed.as_ref().ok()?.value),
        }
    }
    let circuits = source.other_circuits.values().filter(|it| !super::mixed_emitters_one_temperature::for_taps(it));
    for circuit in circuits {
        wants(circuit.flow_temperature?.value);
    }
    let celsius = (needed?.in_celsius() - 1e-6).ceil();
    let title = format!("give water of {celsius} °C, as the floors need");
    (celsius < flow.value.in_celsius()).then(|| Remedy::new(title, flow.at, format!("{celsius} °C")))
}
