//! Calcium sulphate and gypsum are kept out of floors that get wet, or are tanked.
//!
//! Water softens them for good: the tiles come loose over a screed that has turned to paste.
//!
//! ## How it is worked out
//! The floor of a bathroom has a layer of calcium-sulphate screed or gypsum board, and no membrane lies above it.
//!
//! ## Limit
//! None, or tanked above: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: tile, thickness: 10 mm}
//!       - {material: flowing screed, thickness: 55 mm, pipe: at base}
//! #                  ^^^^^^^^^^^^^^ floor screeded has flowing screed under bathroom hall with nothing above it that keeps water out
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: tile, thickness: 10 mm}
//!       - {material: membrane, thickness: 1 mm}
//!       - {material: flowing screed, thickness: 55 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::layers::{self, LayerAt};
use design::{Screed, Use};
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "calcium-sulphate-in-wet-room",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("calcium_sulphate_in_wet_room.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors() {
        // Down to the layer that holds the pipe; what lies below a floor's insulation stays dry.
        let last = floor.worked.pipe_layer.clone().unwrap_or(floor.given.layers.len());
        let soft = |layer: &LayerAt| {
            layer.2.is(Material::GypsumBoard) || layers::binder(layer.1, layer.2) == Some(Screed::CalciumSulphate)
        };
        let Some((at, given, _)) = layers::from(&floor, 0).take(last + 1).find(soft) else { continue };
        if layers::from(&floor, 0).take(at).any(|(_, _, worked)| worked.is(Material::Membrane)) {
            continue;
        }
        let wet: Vec<usize> = floor
            .worked
            .rooms
            .iter()
            .copied()
            .filter(|room| {
                let given = inspection.design.rooms.at(*room).map(|(_, entry)| &entry.value);
                let bathroom = given.and_then(|room| room.use_).is_some_and(|it| it.value == Use::Bathroom);
                let tanked = inspection.workings.rooms[*room].covering.iter().any(|layer| layer.is(Material::Membrane));
                bathroom && !tanked
            })
            .collect();
        let Some(first) = wet.first() else { continue };
        let message = format!(
            "floor {} has {} under bathroom {} with nothing above it that keeps water out",
            floor.name,
            layers::name(given),
            inspection.design.rooms.at(*first).map_or("?", |(name, _)| name)
        );
        let place = given.material.as_ref().map_or(given.at, |it| it.at);
        let mut finding = Finding::new(floor.subject, place, message).source("common practice, no source");
        for room in wet {
            finding = finding.related(Subject::Room(room).place(inspection.design), "a room that gets wet");
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_room_may_be_tanked_by_itself() {
        let text = |covering: &str| {
            format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, layers: [{{material: flowing screed, thickness: 55 mm, \
                 pipe: at base}}, {{material: EPS, thickness: 40 mm}}]}}}}\nrooms: {{bath: {{use: bathroom, floor: screeded, area: 5 m², \
                 covering: [{covering}]}}}}\n"
            )
        };
        assert_eq!(messages(&RULE, &text("{material: tile, thickness: 10 mm}")).len(), 1);
        assert!(messages(&RULE, &text("{material: tile, thickness: 10 mm}, {material: membrane}")).is_empty());
    }
}
