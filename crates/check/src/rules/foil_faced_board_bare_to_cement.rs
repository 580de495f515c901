//! Insulation with a bare aluminium face is kept apart from wet cement by a sheet.
//!
//! Wet cement is alkaline: it eats aluminium, gives off gas under the screed, and leaves a board without its face.
//!
//! ## How it is worked out
//! The layer that holds the pipe is bound with cement, or concrete; the first insulation below it is `aluminium-faced`, and no membrane
//! lies between.
//!
//! ## Limit
//! A separating sheet between them: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm, aluminium-faced: true}
//! #                                                                 ^^^^ the aluminium face of the insulation under floor screeded is bare to wet cement; a sheet has to lie between
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm, laps: 100 mm, taped: true}
//!       - {material: PIR board, thickness: 100 mm, aluminium-faced: true}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::membrane_missing::{Sheet, sheet_under_screed};
use super::prelude::*;
use crate::layers::{self, FloorItem, LayerAt};
use design::Screed;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "foil-faced-board-bare-to-cement",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    file: include_str!("foil_faced_board_bare_to_cement.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Some((at, board, _)) = bare_board(&floor) else { continue };
        let Some(faced) = board.aluminium_faced.filter(|_| inspection.is_read(floor.given.place)) else { continue };
        let message = format!(
            "the aluminium face of the insulation under floor {} is bare to wet cement; a sheet has to lie between",
            floor.name
        );
        let sheet = "{material: polyethylene membrane, thickness: 0.2 mm, laps: 100 mm, taped: true}";
        let change = layers::lay_under(inspection, &floor, at - 1, &[sheet]);
        found.add(
            Finding::new(floor.subject, faced.at, message)
                .source("common practice, no source")
                .remedy(Remedy::of("lay a sheet of polyethylene over it", change)),
        );
    }
}

/// Whether cement lies bare on the aluminium face of a floor's insulation.
pub(super) fn is_bare(floor: &FloorItem) -> bool {
    bare_board(floor).is_some()
}

fn bare_board<'i>(floor: &FloorItem<'i>) -> Option<LayerAt<'i>> {
    let pipe_layer = floor.worked.pipe_layer.clone().ok()?;
    let (given, worked) = (&floor.given.layers[pipe_layer], &floor.worked.layers[pipe_layer]);
    let cement = layers::binder(given, worked) == Some(Screed::SandCement) || worked.is(Material::Concrete);
    match sheet_under_screed(floor) {
        Ok(Sheet::Missing(board)) if cement => Some(board).filter(|it| it.1.aluminium_faced.is_some_and(|it| it.value)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn only_cement_eats_aluminium() {
        let over = |screed: &str, method: &str| {
            let text = format!(
                "floors:\n  screeded:\n    method: {method}\n    below: ground\n    layers:\n      - {{material: {screed}, thickness: \
                 65 mm, pipe: at base}}\n      - {{material: PIR board, thickness: 100 mm, aluminium-faced: true}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(over("cement screed", "clipped-in-screed"), 1);
        assert_eq!(over("concrete", "embedded-in-slab"), 1);
        assert_eq!(over("flowing screed", "clipped-in-screed"), 0);
    }
}
