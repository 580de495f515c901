//! An electric mat on a slab has an insulating board under it.
//!
//! Laid straight on a cold slab it heats the slab first, and the slab has all day.
//!
//! ## How it is worked out
//! The floor of the mat's room must have insulation or an insulating tile backer among its layers, unless it lies over a
//! heated room or on timber.
//!
//! ## Limit
//! 6 to 10 mm of insulating tile backer: common practice, no source.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     below: ground
//!     layers:
//!       - {material: ceramic tile, thickness: 10 mm}
//!       - {material: concrete, thickness: 150 mm}
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m²}
//! # ^^ electric mat E1 lies on floor screeded, which has no insulation
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     below: ground
//!     layers:
//!       - {material: ceramic tile, thickness: 10 mm}
//!       - {material: tile backer board, thickness: 10 mm}
//!       - {material: concrete, thickness: 150 mm}
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m²}
//! ```

use super::electric_density_unsuited::insulated;
use super::prelude::*;
use crate::remedy::add_items;
use design::{Below, Floor, Layer, Place, Placed};
use engineering::heat::materials::{self, Kind};

pub static RULE: Rule = Rule {
    name: "electric-insulation-missing",
    group: Group::Electric,
    weights: [Hint, Warning, Warning, Warning],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_insulation_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(room) = mat.worked.room else { continue };
        let Some(insulated) = insulated(inspection, room) else {
            found.missing(Subject::Room(room), "floor");
            continue;
        };
        let floor = inspection.workings.rooms[room].floor.and_then(|floor| inspection.design.floors.at(floor));
        let Some((name, floor)) = floor.filter(|_| !insulated) else { continue };
        let warm_below = floor.value.below.is_some_and(|below| below.value == Below::HeatedRoom);
        let kind = floor.value.base.as_ref().and_then(|base| base.kind);
        if warm_below || kind.is_some_and(|kind| kind.value.is_timber()) || floor.value.layers.is_empty() {
            continue;
        }
        let message = format!("electric mat {} lies on floor {name}, which has no insulation", mat.name);
        let finding = Finding::new(mat.subject, mat.place, message).source("common practice, no source");
        found.add(finding.related(floor.name_place, "the floor").remedy(backer(inspection, &floor.value)));
    }
}

/// 10 mm of tile backer under what covers the floor.
fn backer(inspection: &Inspection, floor: &Floor) -> Option<Remedy> {
    let covers = |layer: &Placed<Layer>| {
        let material = layer.material.as_ref().and_then(|name| materials::find(&name.value));
        material.is_some_and(|it| it.kind.is_covering() || matches!(it.kind, Kind::Adhesive))
    };
    let last = floor.layers.iter().take_while(|layer| covers(layer)).count().checked_sub(1)?;
    let places: Vec<Place> = floor.layers[..=last].iter().map(|layer| layer.at).collect();
    let board = "{material: tile backer board, thickness: 10 mm}".to_string();
    Remedy::of("lay 10 mm of tile backer under it", add_items(inspection, &places, &[board]))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn over_a_heated_room_or_on_timber_none_is_wanted() {
        let floor = |more: &str| {
            let text = format!(
                "floors: {{screeded: {{{more}, layers: [{{material: plywood, thickness: 18 mm}}]}}}}\nelectric-mats: {{E1: {{room: \
                 hall}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(floor("below: unheated room"), 1);
        assert_eq!(floor("below: heated room"), 0);
        assert_eq!(floor("base: {kind: joists}"), 0);
    }

    #[test]
    fn a_room_without_its_floor_is_not_checked() {
        let text = "rooms: {hall: {area: 4 m²}}\nelectric-mats: {E1: {room: hall}}\n";
        assert_eq!(not_checked(&RULE, text), ["rooms/hall/floor"]);
    }
}
