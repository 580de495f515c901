//! Radiators and floors on one source each get the water that suits them.
//!
//! One temperature for both leaves the radiators cold or makes the floors too warm, unless the radiators are large enough for
//! the floor's water or the floor's water is blended.
//!
//! ## How it is worked out
//! The flow temperature that each other circuit needs, against that of the source; and, where a manifold without a mixing set
//! is sent the source's own water, the flow temperature that its loops need.
//!
//! ## Limit
//! One temperature that suits both to within 5 K, or a blend: common practice, no source.
//!
//! ## Exceptions
//! A circuit for hot tap water takes its warmer water at other times.
//!
//! ```yaml fails
//! heat-source:
//!   kind: condensing boiler
//!   flow-temperature: 38 °C
//!   temperature-drop: 5 K
//!   other-circuits: {radiators: {feeds: radiators, flow-temperature: 50 °C, output: 2 kW}}
//! #                                                                  ^^^^^ circuit radiators needs water of 50.0 °C; the source gives 38.0 °C
//! ```
//! ```yaml fails
//! heat-source:
//!   kind: condensing boiler
//!   flow-temperature: 45 °C
//!   temperature-drop: 5 K
//!   other-circuits: {radiators: {feeds: radiators, flow-temperature: 45 °C, output: 2 kW}}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ manifold M1 gets the water of 45.0 °C that the other circuits want; its loops need 33.5 °C at most, and nothing blends it
//! ```
//! ```yaml remedied
//! heat-source:
//!   kind: condensing boiler
//!   flow-temperature: 45 °C
//!   temperature-drop: 5 K
//!   other-circuits: {radiators: {feeds: radiators, flow-temperature: 45 °C, output: 2 kW}}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 34 °C}
//! ```
//! ```yaml passes
//! heat-source:
//!   kind: condensing boiler
//!   flow-temperature: 45 °C
//!   temperature-drop: 5 K
//!   other-circuits: {radiators: {feeds: radiators, flow-temperature: 45 °C, output: 2 kW}}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! ```

use super::prelude::*;
use crate::remedy::{Change, add_key};
use design::OtherCircuit;

pub static RULE: Rule = Rule {
    name: "mixed-emitters-one-temperature",
    group: Group::Source,
    weights: [Hint, Information, Warning, Warning],
    limits: &[APART],
    file: include_str!("mixed_emitters_one_temperature.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "apart", value: "5 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let apart = APART.get::<TemperatureDifference>(&RULE, inspection);
    let circuits: Vec<_> =
        design.heat_source.other_circuits.iter().filter(|(_, circuit)| !for_taps(&circuit.value)).collect();
    if circuits.is_empty() {
        return;
    }
    let Some(source) = design.heat_source.flow_temperature else {
        if !design.heat_source.broken {
            found.missing(Subject::HeatSource, "flow-temperature");
        }
        return;
    };
    for (name, circuit) in &circuits {
        let Some(wanted) = circuit.value.flow_temperature else {
            if !circuit.value.broken {
                found.missing(Subject::HeatSource, "other-circuits/…/flow-temperature");
            }
            continue;
        };
        if wanted.value - source.value > apart.value {
            let message = format!("circuit {name} needs water of {}; the source gives {}", wanted.value, source.value);
            found.add(
                Finding::new(Subject::HeatSource, wanted.at, message)
                    .value(wanted.value - source.value)
                    .limit(&apart)
                    .related(source.at, "the source's flow temperature"),
            );
        }
    }
    for it in inspection.manifolds() {
        if it.given.flow_temperature.is_some() || it.given.mixing_set.is_some_and(|mixing| mixing.value) {
            continue;
        }
        let mut warmest: Option<Temperature> = None;
        for at in &it.worked.loops {
            let needed = &inspection.workings.loops[*at].flow_temperature_needed;
            let Some(needed) = found.need(Subject::Loop(*at), needed) else { continue };
            warmest = Some(warmest.map_or(needed.value, |so_far| so_far.max(needed.value)));
        }
        let Some(warmest) = warmest.filter(|warmest| source.value - *warmest > apart.value) else { continue };
        let message = format!(
            "manifold {} gets the water of {} that the other circuits want; its loops need {warmest} at most, and nothing blends it",
            it.name, source.value
        );
        let mut finding = Finding::new(it.subject, it.place, message)
            .value(source.value - warmest)
            .limit(&apart)
            .remedy(blend(inspection, it.given, warmest));
        for (name, circuit) in &circuits {
            finding = finding.related(circuit.name_place, format!("{name} shares the source"));
        }
        found.add(finding);
    }
}

/// A mixing set that sends a manifold what its loops need.
fn blend(inspection: &Inspection, given: &design::Manifold, warmest: Temperature) -> Option<Remedy> {
    let temperature = format!("flow-temperature: {:.0} °C", (warmest.in_celsius() - 1e-6).ceil());
    let mixing = match given.mixing_set {
        Some(none) => Change { place: none.at, text: "true".into() },
        None => add_key(inspection, given.place, "mixing-set: true")?,
    };
    let changes = [mixing, add_key(inspection, given.place, &temperature)?];
    Remedy::of("blend its water down to what its loops need", changes)
}

/// Whether a circuit warms tap water.
pub(super) fn for_taps(circuit: &OtherCircuit) -> bool {
    circuit.feeds.as_ref().is_some_and(|feeds| {
        let feeds = feeds.value.to_lowercase();
        ["cylinder", "hot water", "hot-water", "tap"].iter().any(|word| feeds.contains(word))
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_cylinder_takes_its_water_at_other_times() {
        let text = "heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, \
                    other-circuits: {dhw: {feeds: a hot water cylinder, flow-temperature: 55 °C}}}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
