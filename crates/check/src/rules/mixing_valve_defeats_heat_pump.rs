//! A heat pump that runs at the floor's own temperature is joined to it without a mixing set.
//!
//! A blend can only make water cooler. To send the floor what it needs through one, the heat pump has to run some kelvin
//! warmer, all winter, for nothing.
//!
//! ## How it is worked out
//! Each manifold with a mixing set, where a heat pump feeds nothing that wants warmer water: no other circuit, and no manifold
//! that is sent warmer water. The remedy takes the mixing set out and lets the heat pump run at the manifold's temperature.
//!
//! ## Limit
//! None unless warmer circuits share the source: heat-pump trade texts. The limit thermostat stays.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 43 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 40 l}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! #                                                  ^^^^ manifold M1 blends the heat pump's water from 43.0 °C down to 38.0 °C, and nothing else wants it warmer
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 40 l}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: false, flow-temperature: 38 °C}
//! ```
//! ```yaml passes
//! heat-source:
//!   kind: heat pump
//!   flow-temperature: 43 °C
//!   temperature-drop: 5 K
//!   other-circuits: {radiators: {feeds: radiators, flow-temperature: 43 °C, output: 2 kW}}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! ```

use super::prelude::*;
use crate::remedy::Change;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "mixing-valve-defeats-heat-pump",
    group: Group::Source,
    weights: [Hint, Information, Warning, Warning],
    file: include_str!("mixing_valve_defeats_heat_pump.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let source = &design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) {
        return;
    }
    let sent = |manifold: &design::Manifold| manifold.flow_temperature.or(source.flow_temperature).map(|it| it.value);
    // A circuit that does not say what it wants may want warmer water.
    let circuits = source.other_circuits.values().map(|circuit| circuit.flow_temperature.map(|it| it.value));
    let circuits: Vec<Option<Temperature>> = circuits.chain(design.manifolds.values().map(sent)).collect();
    for it in inspection.manifolds() {
        let Some(mixing) = it.given.mixing_set.filter(|mixing| mixing.value) else { continue };
        let own = sent(it.given);
        if circuits.iter().any(|other| other.is_none() || own.is_some_and(|own| other.is_some_and(|other| other > own)))
        {
            continue;
        }
        let lost =
            it.given.flow_temperature.zip(source.flow_temperature).filter(|(own, source)| source.value > own.value);
        let message = match lost {
            Some((own, source)) => format!(
                "manifold {} blends the heat pump's water from {} down to {}, and nothing else wants it warmer",
                it.name, source.value, own.value
            ),
            None => format!(
                "manifold {} has a mixing set, and the heat pump feeds nothing that wants warmer water",
                it.name
            ),
        };
        let mut changes = vec![Change { place: mixing.at, text: "false".into() }];
        if let Some((own, source)) = lost {
            changes.push(Change { place: source.at, text: inspection.text(own.at).to_string() });
        }
        let mut finding = Finding::new(it.subject, mixing.at, message)
            .source("heat-pump trade texts")
            .remedy(Remedy::of("join it without a mixing set", changes));
        if let Some((own, source)) = lost {
            finding = finding.value(source.value - own.value).related(source.at, "the heat pump's flow temperature");
        }
        found.add(finding);
    }
}
