//! Tile over timber lies on a stiff sheet.
//!
//! Boards that bend and move crack the joints first and then the tiles.
//!
//! ## How it is worked out
//! The base is timber and the covering tile or stone: the thickness of the sheet that is screwed to the base, or of the thickest board
//! among the layers, and the distance between its screws.
//!
//! ## Limit
//! 15 mm, screwed every 300 mm: BS 5385-3, in trade summaries of 2014 and 2024. How far the floor bends is for the engineer.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: boarded timber, flatness: 2 mm, primed: true, sheet-thickness: 12 mm, screw-spacing: 300 mm}
//! #                                                                               ^^^^^ the tiles of floor screeded lie on timber over a sheet of 12 mm; at least 15 mm is stiff enough
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 40 mm, pipe: at top, held: full bed}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: boarded timber, flatness: 2 mm, primed: true, sheet-thickness: 15 mm, screw-spacing: 300 mm}
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 40 mm, pipe: at top, held: full bed}
//! ```

use super::prelude::*;
use crate::layers;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "tile-on-timber-not-stiff",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[SHEET, SCREWS],
    file: include_str!("tile_on_timber_not_stiff.rs"),
    check,
    ..Rule::USUAL
};

const BS_5385: &str = "BS 5385-3, in trade summaries of 2014 and 2024";
const SHEET: Limit = Limit { name: "thinnest-sheet", value: "15 mm", source: BS_5385 };
const SCREWS: Limit = Limit { name: "farthest-screws", value: "300 mm", source: BS_5385 };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (sheet, screws) = (SHEET.get::<Length>(&RULE, inspection), SCREWS.get::<Length>(&RULE, inspection));
    for floor in inspection.floors().filter(|floor| !floor.worked.rooms.is_empty()) {
        let Some(base) = &floor.given.base else { continue };
        let timber = base.kind.is_some_and(|kind| kind.value.is_timber());
        let tiled = floor
            .worked
            .rooms
            .iter()
            .any(|room| matches!(inspection.covering_of(*room), Some(Material::Tile | Material::Stone)));
        if !timber || !tiled {
            continue;
        }
        // A board among the layers serves as well; its screws are then its own matter.
        let boards = layers::from(&floor, 0).filter(|(_, _, worked)| worked.is(Material::WoodBoard));
        let boards = boards.filter_map(|(_, given, _)| given.thickness);
        let board = boards.max_by(|one, other| one.value.in_metres().total_cmp(&other.value.in_metres()));
        let thickest = match (base.sheet_thickness, board) {
            (Some(sheet), Some(board)) if board.value > sheet.value => Some(board),
            (sheet, board) => sheet.or(board),
        };
        let Some(thickness) = thickest else {
            if !base.broken {
                found.missing(floor.subject, "base/sheet-thickness");
            }
            continue;
        };
        if thickness.value < sheet.value - Length::millimetres(1e-6) {
            let (value, least) = (thickness.value, sheet.value);
            let message = format!(
                "the tiles of floor {} lie on timber over a sheet of {value}; at least {least} is stiff enough",
                floor.name
            );
            let remedy = Remedy::new(format!("take a sheet of {}", sheet.value), thickness.at, sheet.value.to_string());
            let finding = Finding::new(floor.subject, thickness.at, message).value(thickness.value).limit(&sheet);
            found.add(finding.remedy(remedy));
            continue;
        }
        let Some(spacing) = base.screw_spacing else {
            if base.sheet_thickness.is_some() && !base.broken {
                found.missing(floor.subject, "base/screw-spacing");
            }
            continue;
        };
        if spacing.value > screws.value {
            let (value, most) = (spacing.value, screws.value);
            let message = format!(
                "the sheet under the tiles of floor {} is screwed every {value}; at most {most} holds it still",
                floor.name
            );
            let remedy = Remedy::new(format!("screw it every {}", screws.value), spacing.at, screws.value.to_string());
            let finding = Finding::new(floor.subject, spacing.at, message).value(spacing.value).limit(&screws);
            found.add(finding.remedy(remedy));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(base: &str, top: &str) -> String {
        format!(
            "floors: {{screeded: {{method: bonded-board, below: heated room, base: {{{base}}}, layers: [{{material: {top}, thickness: 10 mm}}, \
             {{material: XPS, thickness: 40 mm, pipe: at top}}]}}}}\n"
        )
    }

    /// BS 5385-3 in trade summaries: 15 mm, screwed every 300 mm.
    #[test]
    fn screws_stand_close_enough() {
        let timber = |more: &str| floor(&format!("kind: boarded timber{more}"), "tile");
        assert!(messages(&RULE, &timber(", sheet-thickness: 15 mm, screw-spacing: 300 mm")).is_empty());
        assert_eq!(
            messages(&RULE, &timber(", sheet-thickness: 15 mm, screw-spacing: 301 mm")),
            ["the sheet under the tiles of floor screeded is screwed every 301 mm; at most 300 mm holds it still"]
        );
        assert_eq!(not_checked(&RULE, &timber("")), ["floors/screeded/base/sheet-thickness"]);
        assert!(not_checked(&RULE, &floor("kind: slab", "tile")).is_empty());
        assert!(not_checked(&RULE, &floor("kind: boarded timber", "vinyl")).is_empty());
    }
}
