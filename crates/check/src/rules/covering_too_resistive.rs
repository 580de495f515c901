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
//! ```yaml remedied
//! rooms:
//!   hall:
//!     {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 15 mm, conductivity: 0.15 W/(m·K)}, {material: underlay, thickness: 3 mm, resistance: 0.036 m²K/W}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, conductivity: 0.17 W/(m·K)}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::RoomItem;
use crate::layers;
use engineering::heat::materials::Kind as Material;
use std::cmp::Ordering;
use workings::LayerWorkings;

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
    let most = MOST.get::<ThermalResistance>(&RULE, inspection);
    // What lies on a floor is one fact, however many rooms have that floor.
    let mut told = vec![false; inspection.design.floors.len()];
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(floor) = room.worked.floor else { continue };
        let Some(covering) = found.need(room.subject, &room.worked.covering_resistance) else { continue };
        if !most.is_exceeded_by(covering.value) {
            continue;
        }
        if super::deck_too_resistive_over_plates::has_deck(inspection, room.worked) {
            continue;
        }
        let (value, limit) = (covering.value, most.value);
        let (about, name, place) = if room.given.covering.is_empty() {
            if std::mem::replace(&mut told[floor], true) {
                continue;
            }
            let about = Subject::Floor(floor);
            let name = inspection.design.floors.at(floor).map_or("?", |(name, _)| name);
            (about, format!("floor {name}"), about.place(inspection.design))
        } else {
            let place = room.given.floor.as_ref().map_or(room.place, |floor| floor.at);
            (room.subject, format!("the floor of room {}", room.name), place)
        };
        let message = format!("what covers {name} resists {value}; at most {limit} lets the heat through");
        let mut finding = Finding::new(about, place, message)
            .value(covering.value)
            .limit(&most)
            .figure(format!("rooms.{}.covering-resistance", room.name));
        for input in &covering.inputs {
            if let Some(at) = input.at {
                let resistance = ThermalResistance::square_metre_kelvin_per_watt(input.value);
                finding = finding.related(at, format!("this layer resists {resistance}"));
            }
        }
        found.add(finding.remedy(thinner(inspection, &room, covering.value - most.value)));
    }
}

/// The underlay, or else the most resistive layer, as thin as the limit asks, where that can still be bought.
fn thinner(inspection: &Inspection, room: &RoomItem, over: ThermalResistance) -> Option<Remedy> {
    let floor = room.worked.floor?;
    let (given, worked) = (&inspection.design.floors.at(floor)?.1.value, inspection.workings.floors.get(floor)?);
    let pipe_layer = worked.pipe_layer.clone().ok()?;
    let own = room.given.covering.iter().zip(&room.worked.covering);
    let layers = own.chain(given.layers.iter().zip(&worked.layers).take(pipe_layer));
    let known = layers.filter_map(|(given, worked)| Some((given, worked, worked.resistance.as_ref().ok()?.value)));
    let (given, worked, resists) = known.max_by(|(_, one, resists), (_, other, than)| {
        let underlay = |it: &LayerWorkings| it.is(Material::Underlay);
        (underlay(one), resists.si()).partial_cmp(&(underlay(other), than.si())).unwrap_or(Ordering::Equal)
    })?;
    let left = (resists - over).in_square_metre_kelvin_per_watt();
    if let Some(stated) = given.resistance {
        let left = (left * 1000.0).floor() / 1000.0;
        let text = format!("{left} m²K/W");
        return (left >= 0.01)
            .then(|| Remedy::new(format!("choose {} of {text}", layers::name(given)), stated.at, text));
    }
    let thickness = given.thickness?;
    let least = if worked.is(Material::Underlay) { 1.0 } else { 8.0 };
    let millimetres = (left * worked.conductivity?.in_watts_per_metre_kelvin() * 1000.0).floor();
    let text = format!("{millimetres} mm");
    (millimetres >= least).then(|| Remedy::new(format!("choose {} of {text}", layers::name(given)), thickness.at, text))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// 20 mm of carpet over the tiles on the floor itself, which two rooms have: one finding.
    #[test]
    fn what_lies_on_a_floor_is_told_once() {
        let text = crate::bench::filled("").replacen(
            "    layers:\n",
            "    layers:\n      - {material: carpet, thickness: 20 mm, resistance: 0.33 m²K/W}\n",
            1,
        );
        assert_eq!(
            messages(&RULE, &text),
            ["what covers floor screeded resists 0.343 m²·K/W; at most 0.150 m²·K/W lets the heat through"]
        );
    }
}
