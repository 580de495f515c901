//! On a wooden floor it is agreed what rugs and low furniture may lie on it.
//!
//! A rug holds the heat in: the wood under it becomes some 2 K warmer than beside it, and nobody thinks of the floor when buying one.
//!
//! ## How it is worked out
//! The topmost layer is wood or laminate, and the room's `rugs` say nothing.
//!
//! ## Limit
//! A note: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//! # ^^^^ nothing is agreed about rugs on the wood in hall; below a rug it becomes some 2 K warmer
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}], rugs: none thicker than 5 mm}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::zones::top_of_floor;

pub static RULE: Rule = Rule {
    name: "rugs-not-allowed-for",
    group: Group::SurfaceTemperature,
    weights: [Silent, Hint, Hint, Hint],
    file: include_str!("rugs_not_allowed_for.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let wood = top_of_floor(inspection, room.worked).is_some_and(|kind| kind.is_timber());
        if !wood || room.given.rugs.is_some() || !inspection.is_read(room.given.place) {
            continue;
        }
        let message = format!(
            "nothing is agreed about rugs on the wood in {}; below a rug it becomes some 2 K warmer",
            room.name
        );
        found.add(Finding::new(room.subject, room.place, message).source("common practice, no source"));
    }
}
