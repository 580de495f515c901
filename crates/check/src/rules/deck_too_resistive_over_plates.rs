//! The deck over metal plates or dry boards, with its covering, lets the heat through.
//!
//! Wood on wood adds up: a thick deck takes all that the resistance of a floor may be before any covering is laid, and warmer water to make
//! up for it dries the wood.
//!
//! ## How it is worked out
//! Thickness over conductivity of all layers above the plates or grooved boards, the room's own covering included, where a deck of boards is
//! among them.
//!
//! ## Limit
//! 0.15 m²·K/W for all above the plate: common practice, no source. 22 mm of chipboard alone is about 0.16.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 180 mm}
//!     layers:
//!       - {material: vinyl, thickness: 3 mm}
//!       - {material: chipboard, thickness: 22 mm}
//! #                                        ^^^^^ the deck of floor screeded and what covers it resist 0.169 m²·K/W in hall; at most 0.150 m²·K/W lets the heat through
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top, held: fitted tight}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 180 mm}
//!     layers:
//!       - {material: vinyl, thickness: 3 mm}
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top, held: fitted tight}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem, LayerAt};
use design::Method;
use engineering::heat::materials::Kind as Material;
use workings::RoomWorkings;

pub static RULE: Rule = Rule {
    name: "deck-too-resistive-over-plates",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[MOST],
    file: include_str!("deck_too_resistive_over_plates.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most", value: "0.15 m²K/W", source: "common practice, no source" };
/// The thinnest deck that spreads a load.
const THINNEST_DECK: Length = Length::millimetres(18.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<ThermalResistance>(&RULE, inspection);
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Some((_, deck, _)) = deck(&floor) else { continue };
        // The room whose covering resists most; the others are related places.
        let mut over: Vec<(usize, ThermalResistance)> = Vec::new();
        for room in floor.worked.rooms.iter().filter(|room| !inspection.workings.rooms[**room].loops.is_empty()) {
            let resistance = &inspection.workings.rooms[*room].covering_resistance;
            let Some(resistance) = found.need(Subject::Room(*room), resistance) else { continue };
            if most.is_exceeded_by(resistance.value) {
                over.push((*room, resistance.value));
            }
        }
        over.sort_by(|one, other| other.1.si().total_cmp(&one.1.si()));
        let Some((worst, resistance)) = over.first().copied() else { continue };
        let name = |room: usize| inspection.design.rooms.at(room).map_or("?", |(name, _)| name);
        let (value, limit) = (resistance, most.value);
        let message = format!(
            "the deck of floor {} and what covers it resist {value} in {}; at most {limit} lets the heat through",
            floor.name,
            name(worst)
        );
        let place = deck.thickness.map_or(deck.at, |thickness| thickness.at);
        let thinner = deck.thickness.filter(|thickness| thickness.value > THINNEST_DECK);
        let remedy = thinner
            .map(|it| Remedy::new(format!("make the deck {THINNEST_DECK} thick"), it.at, THINNEST_DECK.to_string()));
        let mut finding = Finding::new(floor.subject, place, message)
            .value(resistance)
            .limit(&most)
            .figure(format!("rooms.{}.covering-resistance", name(worst)))
            .remedy(remedy);
        for (room, resistance) in over {
            finding = finding.related(Subject::Room(room).place(inspection.design), format!("here it is {resistance}"));
        }
        found.add(finding);
    }
}

/// Whether a deck lies over the plates or boards of a room's floor, so that this rule judges what resists there.
pub(super) fn has_deck(inspection: &Inspection, room: &RoomWorkings) -> bool {
    let floor = room.floor.and_then(|floor| inspection.floors().nth(floor));
    floor.is_some_and(|floor| deck(&floor).is_some())
}

/// The thickest board above the plates or the grooved boards.
fn deck<'i>(floor: &FloorItem<'i>) -> Option<LayerAt<'i>> {
    let dry = matches!(floor.given.method?.value, Method::SpreaderPlates | Method::FloatingBoard);
    let pipe_layer = floor.worked.pipe_layer.clone().ok().filter(|_| dry)?;
    let boards = layers::from(floor, 0).take(pipe_layer).filter(|(_, _, worked)| {
        [Material::WoodBoard, Material::GypsumBoard, Material::CementBoard].into_iter().any(|kind| worked.is(kind))
    });
    let thickness = |layer: &LayerAt| layer.1.thickness.map_or(0.0, |it| it.value.in_metres());
    boards.max_by(|one, other| thickness(one).total_cmp(&thickness(other)))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn floor(deck: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: spreader-plates\n    below: heated room\n    plates: {{thickness: 0.5 mm, width: 180 \
             mm}}\n    layers:\n      - {deck}\n      - {{material: mineral wool, thickness: 100 mm, pipe: at top}}\n"
        )
    }

    /// 21 mm of chipboard at 0.14 W/(m·K) (EN ISO 10456) is 0.150 m²·K/W, 22 mm 0.157.
    #[test]
    fn chipboard_of_21_mm_is_the_most() {
        assert!(messages(&RULE, &floor("{material: chipboard, thickness: 21 mm}")).is_empty());
        assert_eq!(messages(&RULE, &floor("{material: chipboard, thickness: 22 mm}")).len(), 1);
    }

    #[test]
    fn it_says_it_once_and_alone() {
        let thick = floor("{material: OSB, thickness: 25 mm}");
        assert_eq!(messages(&RULE, &thick).len(), 1);
        assert!(messages(&super::super::covering_too_resistive::RULE, &thick).is_empty());
        let boards = floor("{material: oak, thickness: 30 mm}");
        assert!(messages(&RULE, &boards).is_empty());
        assert_eq!(messages(&super::super::covering_too_resistive::RULE, &boards).len(), 1);
    }
}
