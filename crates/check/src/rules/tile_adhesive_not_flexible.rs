//! Tiles on a heated floor lie in a flexible adhesive.
//!
//! The floor grows and shrinks with every heating day. A stiff bed lets go of the tile or cracks it.
//!
//! ## How it is worked out
//! The class by EN 12004 of the first adhesive layer under a tiled surface.
//!
//! ## Limit
//! C2 S1; S2 over timber. Classes of EN 12004, as tiling trade texts ask for them.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: tile adhesive, thickness: 5 mm, adhesive-class: C1}
//! #                                                                  ^^ the adhesive under the tiles of floor screeded is C1; a heated floor wants C2 S1
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: tile adhesive, thickness: 5 mm, adhesive-class: C2 S1}
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! ```

use super::prelude::*;
use engineering::heat::materials::Kind;

pub static RULE: Rule = Rule {
    name: "tile-adhesive-not-flexible",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("tile_adhesive_not_flexible.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.floors() {
        let Subject::Floor(floor) = it.subject else { continue };
        let tiled = it.worked.layers.first().is_some_and(|layer| layer.is(Kind::Tile) || layer.is(Kind::Stone));
        if !tiled {
            continue;
        }
        // The bed of the tile is the first adhesive under it.
        let bed = it.worked.layers.iter().position(|layer| layer.is(Kind::Adhesive));
        let Some(bed) = bed else { continue };
        let (subject, layer) = (Subject::Layer(floor, bed), &it.given.layers[bed]);
        let Some(class) = &layer.adhesive_class else {
            if !layer.broken {
                found.missing(subject, "adhesive-class");
            }
            continue;
        };
        let timber = it.given.base.as_ref().and_then(|base| base.kind).is_some_and(|kind| kind.value.is_timber());
        let wanted = if timber { "C2 S2" } else { "C2 S1" };
        let words: Vec<&str> = class.value.split([' ', ',']).collect();
        let improved = words.iter().any(|word| word.starts_with("C2") || word.starts_with('R'));
        let bends = words.iter().any(|word| word.contains("S2") || !timber && word.contains("S1"));
        if improved && bends {
            continue;
        }
        let message = format!(
            "the adhesive under the tiles of floor {} is {}; a heated floor wants {wanted}",
            it.name, class.value
        );
        let remedy = Remedy::new(format!("take an adhesive of class {wanted}"), class.at, wanted);
        found.add(
            Finding::new(subject, class.at, message)
                .source("EN 12004 classes, as tiling trade texts ask for them")
                .remedy(remedy),
        );
    }
}
