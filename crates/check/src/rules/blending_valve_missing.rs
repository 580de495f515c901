//! Water that is too warm for a floor is blended before it gets there.
//!
//! A source that runs warmer than the floor was designed for cooks the floor, and the people on it, for as long as nothing
//! makes its water cooler.
//!
//! ## How it is worked out
//! The source's flow temperature against that of each manifold that states its own, where no mixing set is named.
//!
//! ## Limit
//! 3 K: common practice, no source. What a source may send if its control fails is the limit thermostat's to stop.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 55 °C, temperature-drop: 5 K, output: 12 kW}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, flow-temperature: 38 °C}
//! #                                                        ^^^^^ manifold M1 is to send 38.0 °C and its source gives 55.0 °C, 17.0 K warmer, with no mixing set between
//! ```
//! ```yaml remedied
//! heat-source: {kind: condensing boiler, flow-temperature: 55 °C, temperature-drop: 5 K, output: 12 kW}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, flow-temperature: 38 °C, mixing-set: true}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 40 °C, temperature-drop: 5 K, output: 12 kW}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, flow-temperature: 38 °C}
//! ```

use super::prelude::*;
use crate::remedy::add_key;

pub static RULE: Rule = Rule {
    name: "blending-valve-missing",
    group: Group::Source,
    weights: [Information, Warning, Error, Error],
    limits: &[WARMER],
    file: include_str!("blending_valve_missing.rs"),
    check,
    ..Rule::USUAL
};

const WARMER: Limit = Limit { name: "warmer-than-the-floor", value: "3 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let warmer = WARMER.get::<TemperatureDifference>(&RULE, inspection);
    let Some(source) = inspection.design.heat_source.flow_temperature else {
        // Only a manifold with a temperature of its own can differ from its source.
        if inspection.manifolds().any(|it| it.given.flow_temperature.is_some()) && !inspection.design.heat_source.broken
        {
            found.missing(Subject::HeatSource, "flow-temperature");
        }
        return;
    };
    for it in inspection.manifolds() {
        let Some(own) = it.given.flow_temperature else { continue };
        if it.given.mixing_set.is_some_and(|mixing| mixing.value) || !warmer.is_exceeded_by(source.value - own.value) {
            continue;
        }
        let message = format!(
            "manifold {} is to send {} and its source gives {}, {} warmer, with no mixing set between",
            it.name,
            own.value,
            source.value,
            source.value - own.value
        );
        let remedy = match it.given.mixing_set {
            Some(none) => Some(Remedy::new("give it a mixing set", none.at, "true")),
            None => Remedy::of("give it a mixing set", add_key(inspection, it.given.place, "mixing-set: true")),
        };
        found.add(
            Finding::new(it.subject, own.at, message)
                .value(source.value - own.value)
                .limit(&warmer)
                .related(source.at, "the source's flow temperature")
                .remedy(remedy),
        );
    }
}
