//! No layer is heated beyond what it bears.
//!
//! Screeds crack, gypsum loses its water, asphalt flows, glue lets go.
//!
//! ## How it is worked out
//! The warmest flow temperature of the loops laid in the floor, against the limit of each layer: its own where the design gives one. A
//! layer away from the pipe, with a limit of its own, is judged by the warmest point of its underside above or below a pipe, by
//! conduction in two dimensions.
//!
//! ## Limit
//! Cement and calcium-sulphate screed 55 °C, mastic asphalt 45 °C, gypsum board 50 °C: EN 1264-4 safety clause, DIN 18560-2, in trade
//! copies. Timber decks as their makers say.
//!
//! ```yaml fails
//! site: {outdoor-temperature: -3 °C, jurisdiction: Germany}
//! heat-source: {kind: condensing boiler, flow-temperature: 60 °C, temperature-drop: 5 K}
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! #                  ^^^^^^^^^^^^^ water of 60.0 °C is sent into floor screeded; its cement screed bears 55.0 °C
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml remedied
//! site: {outdoor-temperature: -3 °C, jurisdiction: Germany}
//! heat-source: {kind: condensing boiler, flow-temperature: 33 °C, temperature-drop: 5 K}
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm}
//! ```

use super::heat_pump_flow_too_warm;
use super::prelude::*;
use crate::inspection::Item;
use design::Floor;
use engineering::heat::materials::Kind as MaterialKind;
use workings::FloorWorkings;

pub static RULE: Rule = Rule {
    name: "layer-over-its-temperature-limit",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[SCREED, ASPHALT, GYPSUM],
    follows: &["flow-temperature-over-regulation", "heat-pump-flow-too-warm"],
    guards_people: true,
    file: include_str!("layer_over_its_temperature_limit.rs"),
    check,
    ..Rule::USUAL
};

const SCREED: Limit =
    Limit { name: "screed", value: "55 °C", source: "EN 1264-4 safety clause and DIN 18560-2, in trade copies" };
const ASPHALT: Limit =
    Limit { name: "mastic-asphalt", value: "45 °C", source: "EN 1264-4 safety clause, in trade copies" };
const GYPSUM: Limit = Limit { name: "gypsum-board", value: "50 °C", source: "EN 1264-4, in trade copies" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors() {
        let Subject::Floor(at) = floor.subject else { continue };
        // The warmest water that is sent into the floor.
        let loops = floor.worked.loops.iter().map(|it| (*it, &inspection.workings.loops[*it].flow_temperature));
        let warmest = loops
            .filter_map(|(at, it)| Some((at, it.as_ref().ok()?)))
            .max_by(|(_, one), (_, other)| one.value.in_celsius().total_cmp(&other.value.in_celsius()));
        let Some((of_loop, water)) = warmest else {
            if let Some(first) = floor.worked.loops.first() {
                found.need(floor.subject, &inspection.workings.loops[*first].flow_temperature);
            }
            continue;
        };
        for (number, given) in floor.given.layers.iter().enumerate() {
            let Some(limit) = bears(inspection, &floor, number) else { continue };
            if water.value <= limit.value {
                continue;
            }
            let name = given.material.as_ref().map_or("a layer", |name| &name.value);
            let at_pipe = floor.worked.pipe_layer.as_ref().is_ok_and(|pipe| *pipe == number);
            let here = match given.highest_temperature.is_none() || at_pipe {
                true => water.value,
                false => match workings::under_layer(inspection.design, inspection.workings, of_loop, number) {
                    Ok(here) => here,
                    Err(gap) => {
                        found.not_checked(floor.subject, &gap);
                        continue;
                    }
                },
            };
            if here <= limit.value {
                continue;
            }
            let message = match here < water.value {
                false => {
                    format!("water of {here} is sent into floor {}; its {name} bears {}", floor.name, limit.value)
                }
                true => format!(
                    "the {name} of floor {} becomes {here} at its underside; it bears {}",
                    floor.name, limit.value
                ),
            };
            let place = given.material.as_ref().map_or(given.at, |name| name.at);
            let mut finding = Finding::new(Subject::Layer(at, number), place, message).value(here).limit(&limit);
            if let Some(flow) = water.inputs.first().and_then(|input| input.at) {
                // The layer follows the water from the room's temperature on, which is some 20 °C.
                let from = Temperature::celsius(20.0).min(limit.value);
                let cooler = from + (water.value - from) * ((limit.value - from) / (here - from)).clamp(0.0, 1.0);
                let text = format!("{} °C", (cooler.in_celsius() + 1e-6).floor());
                let as_needed = heat_pump_flow_too_warm::as_floors_need(inspection).filter(|it| {
                    let enough = heat_pump_flow_too_warm::celsius_needed(inspection)
                        .is_some_and(|celsius| celsius <= cooler.in_celsius());
                    enough && it.changes.iter().all(|change| change.place == flow)
                });
                finding = finding.related(flow, "the flow temperature").remedy(as_needed).remedy(Remedy::new(
                    format!("send water of {text}"),
                    flow,
                    text,
                ));
            }
            found.add(finding);
        }
    }
}

/// The temperature that a layer of a floor bears: its own, or that of its material.
pub(crate) fn bears(
    inspection: &Inspection,
    floor: &Item<Floor, FloorWorkings>,
    layer: usize,
) -> Option<LimitValue<Temperature>> {
    let (given, worked) = (floor.given.layers.get(layer)?, floor.worked.layers.get(layer)?);
    match (given.highest_temperature, worked.material.map(|it| it.kind)) {
        (Some(own), _) => Some(LimitValue::new(own.value, "the layer's maker, as the design gives it")),
        (None, Some(kind)) if kind.is_screed() => Some(SCREED.get(&RULE, inspection)),
        (None, Some(MaterialKind::MasticAsphalt)) => Some(ASPHALT.get(&RULE, inspection)),
        (None, Some(MaterialKind::GypsumBoard))
            if floor.worked.pipe_layer.as_ref().is_ok_and(|pipe| layer <= *pipe) =>
        {
            Some(GYPSUM.get(&RULE, inspection))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    /// Plain physics: a covering over 50 mm of screed is far cooler than the water below it.
    #[test]
    fn a_layer_away_from_the_pipe_is_as_warm_as_it_is() {
        let text = |bears: &str| {
            format!(
                "heat-source: {{kind: heat pump, flow-temperature: 40 °C, temperature-drop: 5 K}}\nfloors:\n  screeded:\n    method: \
                 clipped-in-screed\n    below: ground\n    layers:\n      - {{material: our mat, thickness: 4 mm, conductivity: 0.2 W/(m·K), \
                 highest-temperature: {bears}}}\n      - {{material: cement screed, thickness: 65 mm, pipe: at base}}\n      - {{material: PIR \
                 board, thickness: 100 mm}}\n"
            )
        };
        assert_eq!(messages(&RULE, &text("35 °C")), [""; 0]);
        let outcome = check(&text("27 °C"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.message.starts_with("the our mat of floor screeded becomes "), "{}", finding.message);
        assert!(finding.value.unwrap().value < 35.0);
    }
}
