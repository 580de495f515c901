//! What lies over the heated layer lets its heat through.
//!
//! Each layer that resists asks for warmer water; a heat pump pays for it all winter.
//!
//! ## How it is worked out
//! Thickness over conductivity of all layers above the one that holds the pipe, the room's own covering included.
//!
//! ## Limit
//! 0.15 m²·K/W, EN 1264; 0.10 is a sound aim with a heat pump. A carpet trade body accepts 2.5 tog (0.25) for carpet with underlay.
//!
//! ## Exceptions
//! With a deck over metal plates or dry boards `deck-too-resistive-over-plates` speaks.
//!
//! ```yaml fails
//! rooms:
//!   hall:
//!     {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 15 mm, conductivity: 0.15 W/(m·K)}, {material: underlay, thickness: 3 mm, resistance: 0.067 m²K/W}]}
//! #                                                              ^^^^^^^^ what covers the floor of room hall resists 0.180 m²·K/W; at most 0.150 m²·K/W lets the heat through
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, conductivity: 0.17 W/(m·K)}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "covering-too-resistive",
    group: Group::HeatOutput,
    weights: [Information, Warning, Error, Error],
    limits: &[MOST],
    file: include_str!("covering_too_resistive.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit {
    name: "most",
    value: "0.15 m²K/W",
    source: "EN 1264, as several trade texts give it; a carpet trade body accepts 2.5 tog",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<ThermalResistance>();
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty() && room.worked.floor.is_some()) {
        let Some(covering) = found.need(room.subject, &room.worked.covering_resistance) else { continue };
        if covering.value <= most.value {
            continue;
        }
        if super::deck_too_resistive_over_plates::has_deck(inspection, room.worked) {
            continue;
        }
        let (value, limit) = (covering.value, most.value);
        let message = format!(
            "what covers the floor of room {} resists {value}; at most {limit} lets the heat through",
            room.name
        );
        let place = room.given.floor.as_ref().map_or(room.place, |floor| floor.at);
        let mut finding = Finding::new(room.subject, place, message)
            .value(covering.value)
            .limit(&most)
            .figure(format!("rooms.{}.covering-resistance", room.name));
        for input in &covering.inputs {
            if let Some(at) = input.at {
                let resistance = ThermalResistance::square_metre_kelvin_per_watt(input.value);
                finding = finding.related(at, format!("this layer resists {resistance}"));
            }
        }
        found.add(finding);
    }
}
