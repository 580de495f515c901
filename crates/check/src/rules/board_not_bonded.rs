//! A low-build grooved board is bonded to its base in a full bed of flexible adhesive.
//!
//! A board laid loose or on dabs moves under every step; the tiles above it lift within the season.
//!
//! ## How it is worked out
//! The layer that holds the pipe of a bonded-board floor says how it is held.
//!
//! ## Limit
//! A full bed of flexible tile adhesive on a flat, primed, sound base: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 20 mm, pipe: at top, held: floating}
//! #                                                             ^^^^^^^^ the grooved board of floor screeded says `held: floating`; it wants a full bed of flexible adhesive on a level base
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 20 mm, pipe: at top, held: full bed}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::prelude::*;
use design::{Held, Method};

pub static RULE: Rule = Rule {
    name: "board-not-bonded",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("board_not_bonded.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.floors() {
        if it.given.method.is_none_or(|method| method.value != Method::BondedBoard) {
            continue;
        }
        let Ok(board) = it.worked.pipe_layer else { continue };
        let layer = &it.given.layers[board];
        let subject = match it.subject {
            Subject::Floor(floor) => Subject::Layer(floor, board),
            other => other,
        };
        let Some(held) = layer.held else {
            if !layer.broken {
                found.missing(subject, "held");
            }
            continue;
        };
        if matches!(held.value, Held::FullBed | Held::Glued) {
            continue;
        }
        let message = format!(
            "the grooved board of floor {} says `held: {}`; it wants a full bed of flexible adhesive on a level base",
            it.name, held.value
        );
        let remedy = Remedy::new("lay the board in a full bed", held.at, Held::FullBed.word());
        found.add(Finding::new(subject, held.at, message).source("common practice, no source").remedy(remedy));
    }
}
