//! Dry boards and metal plates carry a layer that spreads the load.
//!
//! Foam and plates give way under a chair's foot; the covering above breaks first at its joints.
//!
//! ## How it is worked out
//! The thickness of the boards, solid floorboards and screeds above the layer that holds the pipe, the room's own covering included; or
//! tile-backer under tile.
//!
//! ## Limit
//! A deck of 18 mm at least, in one layer or two; or 6 mm of tile-backer under tile on boards that lie full on their base: common practice,
//! no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: vinyl, thickness: 3 mm}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//! #                  ^^^ nothing spreads the load over the dry boards of floor screeded; they want a deck of at least 18 mm
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: vinyl, thickness: 3 mm}
//!       - {material: gypsum fibre board, thickness: 10 mm}
//!       - {material: gypsum fibre board, thickness: 10 mm}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem};
use design::{Layer, Method, Placed};
use engineering::heat::materials::Kind as Material;
use workings::LayerWorkings;

pub static RULE: Rule = Rule {
    name: "dry-floor-load-layer-missing",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Error, Error],
    limits: &[DECK, BACKER],
    file: include_str!("dry_floor_load_layer_missing.rs"),
    check,
    ..Rule::USUAL
};

const DECK: Limit = Limit { name: "thinnest-deck", value: "18 mm", source: "common practice, no source" };
const BACKER: Limit = Limit { name: "thinnest-tile-backer", value: "6 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (deck, backer) = (DECK.get::<Length>(&RULE, inspection), BACKER.get::<Length>(&RULE, inspection));
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Some(method) = floor.given.method else { continue };
        if !matches!(method.value, Method::FloatingBoard | Method::SpreaderPlates) {
            continue;
        }
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        let own: Vec<_> = layers::from(&floor, 0).take(pipe_layer).map(|(_, given, worked)| (given, worked)).collect();
        // The room with the weakest covering counts; a floor of equal rooms is said once.
        let mut weakest: Option<(usize, Length)> = None;
        for room in floor.worked.rooms.iter().copied().filter(|room| !inspection.workings.rooms[*room].loops.is_empty())
        {
            let covering = inspection.design.rooms.at(room).map_or(&[][..], |(_, room)| &room.value.covering);
            let worked = &inspection.workings.rooms[room].covering;
            let above: Vec<(&Placed<Layer>, &LayerWorkings)> =
                covering.iter().zip(worked).chain(own.iter().copied()).collect();
            let bears = above.iter().filter(|(given, worked)| spreads(given, worked));
            let bears: Length = bears.filter_map(|(given, _)| given.thickness).map(|it| it.value).sum();
            let tiled = above.first().is_some_and(|(_, top)| top.is(Material::Tile) || top.is(Material::Stone));
            let backed = above.iter().any(|(given, worked)| {
                let board = worked.is(Material::BackerBoard) || worked.is(Material::CementBoard);
                board && given.thickness.is_some_and(|it| it.value >= backer.value)
            });
            let on_base = method.value == Method::FloatingBoard && tiled && backed;
            if !on_base && weakest.is_none_or(|(_, weak)| bears < weak) {
                weakest = Some((room, bears));
            }
        }
        let Some((room, bears)) = weakest.filter(|(_, bears)| *bears < deck.value - Length::millimetres(1e-6)) else {
            continue;
        };
        if !inspection.is_read(floor.given.place) {
            continue;
        }
        let what = if method.value == Method::SpreaderPlates { "metal plates" } else { "dry boards" };
        let (value, least) = (bears, deck.value);
        let message = if bears > Length::ZERO {
            format!(
                "only {value} of deck spread the load over the {what} of floor {}; at least {least} is wanted",
                floor.name
            )
        } else {
            format!(
                "nothing spreads the load over the {what} of floor {}; they want a deck of at least {least}",
                floor.name
            )
        };
        let holds = &floor.given.layers[pipe_layer];
        let place = holds.material.as_ref().map_or(holds.at, |it| it.at);
        found.add(
            Finding::new(floor.subject, place, message)
                .value(bears)
                .limit(&deck)
                .related(Subject::Room(room).place(inspection.design), "the room with the thinnest deck")
                .remedy(deck_of(inspection, &floor, pipe_layer, room, least)),
        );
    }
}

/// The one board there is made as thick as it has to be; or a deck laid over the pipe: of gypsum fibre under tile and stone, else of
/// chipboard.
fn deck_of(
    inspection: &Inspection,
    floor: &FloorItem,
    pipe_layer: usize,
    room: usize,
    least: Length,
) -> Option<Remedy> {
    let text = format!("{:.0} mm", least.in_millimetres());
    let mut decks = layers::from(floor, 0).take(pipe_layer).filter(|(_, given, worked)| spreads(given, worked));
    if let Some((_, given, _)) = decks.next() {
        let thickness = given.thickness.filter(|_| decks.next().is_none())?;
        return Some(Remedy::new(format!("make the deck {text} thick"), thickness.at, text));
    }
    let hard = matches!(inspection.covering_of(room), Some(Material::Tile | Material::Stone));
    let board = if hard { "gypsum fibre board" } else { "chipboard" };
    let deck = format!("{{material: {board}, thickness: {text}}}");
    // In a list of layers there is a place after a layer; one before the first a hand has to find.
    let change = layers::lay_under(inspection, floor, pipe_layer.checked_sub(1)?, &[&deck]);
    Remedy::of(format!("lay {text} of {board} over it"), change)
}

/// Boards, solid wood and screeds spread a load; sheets, textiles and foams do not.
fn spreads(given: &Layer, worked: &LayerWorkings) -> bool {
    let boards =
        [Material::WoodBoard, Material::GypsumBoard, Material::CementBoard, Material::Timber, Material::Concrete];
    layers::binder(given, worked).is_some() || boards.iter().any(|kind| worked.is(*kind))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn floor(method: &str, above: &str) -> String {
        format!(
            "floors: {{screeded: {{method: {method}, below: heated room, plates: {{thickness: 0.5 mm, width: 130 mm}}, layers: [{above}, \
             {{material: EPS, thickness: 40 mm, pipe: at top}}]}}}}\n"
        )
    }

    #[test]
    fn a_deck_is_laid_or_made_thicker() {
        let offered = |above: &str| {
            // Rooms that need little, so that the deck does not leave them cold.
            let rooms = "rooms: {hall: {temperature: 20 °C, heat-loss: 200 W, floor: screeded, area: 12 m²}, study: {temperature: 20 °C, heat-loss: \
                         200 W, floor: screeded, area: 11 m²}}\n";
            let outcome = crate::bench::check(&(floor("spreader-plates", above) + rooms));
            let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("the deck is too thin");
            finding.remedies.iter().map(|it| it.title.clone()).collect::<Vec<_>>()
        };
        assert_eq!(offered("{material: vinyl, thickness: 3 mm}"), ["lay 18 mm of chipboard over it"]);
        assert_eq!(offered("{material: tile, thickness: 10 mm}"), ["lay 18 mm of gypsum fibre board over it"]);
        assert_eq!(offered("{material: chipboard, thickness: 12 mm}"), ["make the deck 18 mm thick"]);
    }

    /// Common practice, no source: 18 mm of deck; 6 mm of tile-backer under tile.
    #[test]
    fn a_deck_of_18_mm_does() {
        let deck = |above: &str| messages(&RULE, &floor("spreader-plates", above)).len();
        assert_eq!(deck("{material: chipboard, thickness: 18 mm}"), 0);
        assert_eq!(deck("{material: chipboard, thickness: 17.9 mm}"), 1);
        assert_eq!(deck("{material: oak, thickness: 20 mm}"), 0);
    }

    #[test]
    fn tile_backer_does_on_boards_that_lie_full() {
        let tiled = "{material: tile, thickness: 10 mm}, {material: tile backer board, thickness: 6 mm}";
        assert!(messages(&RULE, &floor("floating-board", tiled)).is_empty());
        assert_eq!(messages(&RULE, &floor("spreader-plates", tiled)).len(), 1);
        let thin = tiled.replace("thickness: 6 mm", "thickness: 5 mm");
        assert_eq!(messages(&RULE, &floor("floating-board", &thin)).len(), 1);
    }
}
