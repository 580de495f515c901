//! A floor is not sent warmer water than its source gives.
//!
//! No mixing set makes water warmer. A floor designed for 45 °C on a source of 40 °C gives a fifth less than it should.
//!
//! ## How it is worked out
//! The flow temperature of each manifold that states its own, against the source's. The remedies send the floor what the
//! source gives, or let the source give what the floor asks; each is offered only where all else still holds.
//!
//! ## Limit
//! The source's flow temperature: common practice, no source.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 40 l}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, flow-temperature: 41 °C}
//! #                                                        ^^^^^ manifold M1 is to send 41.0 °C; its source gives 38.0 °C
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 40 l}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, flow-temperature: 38 °C}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "source-cooler-than-floor-needs",
    group: Group::Source,
    weights: [Warning, Warning, Error, Error],
    file: include_str!("source_cooler_than_floor_needs.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(source) = inspection.design.heat_source.flow_temperature else {
        if inspection.manifolds().any(|it| it.given.flow_temperature.is_some()) && !inspection.design.heat_source.broken
        {
            found.missing(Subject::HeatSource, "flow-temperature");
        }
        return;
    };
    for it in inspection.manifolds() {
        let Some(own) = it.given.flow_temperature.filter(|own| own.value > source.value) else { continue };
        let message = format!("manifold {} is to send {}; its source gives {}", it.name, own.value, source.value);
        let limit = LimitValue::new(source.value, "common practice, no source");
        let (of_source, of_floor) = (inspection.text(source.at), inspection.text(own.at));
        found.add(
            Finding::new(it.subject, own.at, message)
                .value(own.value)
                .limit(&limit)
                .related(source.at, "the source's flow temperature")
                .remedy(Remedy::new(format!("send {of_source}"), own.at, of_source))
                .remedy(Remedy::new(format!("let the source give {of_floor}"), source.at, of_floor)),
        );
    }
}
