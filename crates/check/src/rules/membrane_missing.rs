//! A sheet keeps wet screed apart from the insulation below it.
//!
//! Without it cement slurry runs into the joints between the boards: it bridges them for heat and sound, holds the screed fast where it
//! ought to slide, and a flowing screed lifts the boards.
//!
//! ## How it is worked out
//! From the screed that holds the pipe downward a membrane comes before the first insulation. The sheet's thickness, its laps and, under
//! calcium sulphate (which is laid flowing), its tape are compared with the limits.
//!
//! ## Limit
//! A sheet of 0.15 mm with laps of 80 mm at least: EN 1264-4 and DIN 18560-2, in secondary texts. In Britain 0.125 mm (500 gauge): a
//! British specification clause. Taped under flowing screed: the same texts.
//!
//! ## Exceptions
//! A castellated tray stands in for the sheet (`tray-not-locked`). A board with a bare aluminium face under cement has a rule of its own,
//! `foil-faced-board-bare-to-cement`.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm}
//! #                  ^^^^^^^^^ no sheet lies between the screed of floor screeded and its insulation; 0.2 mm of polyethylene, lapped 100 mm, keeps them apart
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
//!       - {material: PIR board, thickness: 100 mm}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem, LayerAt};
use design::{Jurisdiction, Method, Screed};
use engineering::heat::materials::Kind as Material;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "membrane-missing",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[THICKNESS, BRITISH, LAPS],
    file: include_str!("membrane_missing.rs"),
    check,
    ..Rule::USUAL
};

const THICKNESS: Limit =
    Limit { name: "least-thickness", value: "0.15 mm", source: "EN 1264-4 and DIN 18560-2, in secondary texts" };
const BRITISH: Limit =
    Limit { name: "least-thickness-in-britain", value: "0.125 mm", source: "a British specification clause" };
const LAPS: Limit =
    Limit { name: "least-laps", value: "80 mm", source: "EN 1264-4 and DIN 18560-2, in secondary texts" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::ClippedInScreed) {
            continue;
        }
        match sheet_under_screed(&floor) {
            Ok(Sheet::Lies(sheet)) => judge(inspection, found, &floor, sheet),
            Ok(Sheet::NoInsulation) => {}
            Ok(Sheet::Missing(bare)) if inspection.is_read(floor.given.place) => {
                // Bare aluminium under cement is the graver cause, and its own rule says it.
                if !super::foil_faced_board_bare_to_cement::is_bare(&floor) {
                    found.add(missing(inspection, &floor, bare));
                }
            }
            Ok(Sheet::Missing(_)) => {}
            Err(gap) => found.not_checked(floor.subject, &gap),
        }
    }
}

/// What lies between a screed and the first insulation under it.
pub(super) enum Sheet<'i> {
    Lies(LayerAt<'i>),
    /// None over this insulation.
    Missing(LayerAt<'i>),
    NoInsulation,
}

/// Looks down from the layer that holds the pipe.
pub(super) fn sheet_under_screed<'i>(floor: &FloorItem<'i>) -> Result<Sheet<'i>, Gap> {
    let pipe_layer = floor.worked.pipe_layer.clone()?;
    for layer in layers::from(floor, pipe_layer + 1) {
        let (_, given, worked) = layer;
        if worked.is(Material::Membrane) {
            return Ok(Sheet::Lies(layer));
        }
        if worked.insulates() || worked.is(Material::Underlay) {
            return Ok(Sheet::Missing(layer));
        }
        if let Some(gap) = layers::unknown(given, worked) {
            return Err(gap);
        }
    }
    Ok(Sheet::NoInsulation)
}

fn missing(inspection: &Inspection, floor: &FloorItem, (at, bare, _): LayerAt) -> Finding {
    let message = format!(
        "no sheet lies between the screed of floor {} and its insulation; 0.2 mm of polyethylene, lapped 100 mm, keeps them apart",
        floor.name
    );
    let sheet = "{material: polyethylene membrane, thickness: 0.2 mm, laps: 100 mm, taped: true}";
    let change = layers::lay_under(inspection, floor, at - 1, &[sheet]);
    Finding::new(floor.subject, bare.material.as_ref().map_or(bare.at, |it| it.at), message)
        .source(THICKNESS.source)
        .remedy(Remedy::of("lay a sheet of polyethylene over the insulation", change))
}

/// Holds the sheet that lies there against the limits.
fn judge(inspection: &Inspection, found: &mut Findings, floor: &FloorItem, (at, sheet, _): LayerAt) {
    let Subject::Floor(number) = floor.subject else { return };
    let subject = Subject::Layer(number, at);
    let british = [Jurisdiction::England, Jurisdiction::Wales, Jurisdiction::Scotland, Jurisdiction::NorthernIreland];
    let in_britain = inspection.design.site.jurisdiction.is_some_and(|it| british.contains(&it.value));
    let least = if in_britain { BRITISH.get::<Length>(&RULE, inspection) } else { THICKNESS.get(&RULE, inspection) };
    let wanted =
        [(sheet.thickness, least, "thick", "thickness"), (sheet.laps, LAPS.get(&RULE, inspection), "lapped", "laps")];
    for (given, limit, word, key) in wanted {
        let Some(given) = given else {
            if !sheet.broken {
                found.missing(subject, key);
            }
            continue;
        };
        if given.value >= limit.value - Length::millimetres(1e-6) {
            continue;
        }
        let (value, least) = (given.value, limit.value);
        let message = format!(
            "the sheet under the screed of floor {} is {value} {word}; at least {least} keeps the wet screed out",
            floor.name
        );
        let (text, title) = match key {
            "laps" => ("100 mm", "lap it 100 mm"),
            _ => ("0.2 mm", "take a sheet of 0.2 mm"),
        };
        let remedy = Remedy::new(title, given.at, text);
        found.add(Finding::new(subject, given.at, message).value(given.value).limit(&limit).remedy(remedy));
    }
    let pipe_layer = floor.worked.pipe_layer.clone().unwrap_or(0);
    let flowing = layers::binder(&floor.given.layers[pipe_layer], &floor.worked.layers[pipe_layer])
        == Some(Screed::CalciumSulphate);
    match sheet.taped {
        Some(taped) if flowing && !taped.value => {
            let message = format!(
                "the laps of the sheet under floor {} are not taped; flowing screed runs through them",
                floor.name
            );
            let remedy = Remedy::new("tape the laps", taped.at, "true");
            found.add(Finding::new(subject, taped.at, message).source(LAPS.source).remedy(remedy));
        }
        None if flowing && !sheet.broken => found.missing(subject, "taped"),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn sheet(screed: &str, sheet: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    layers:\n      - {{material: {screed}, \
             thickness: 65 mm, pipe: at base}}\n      - {{material: polyethylene membrane, {sheet}}}\n      - {{material: PIR board, \
             thickness: 100 mm}}\n"
        )
    }

    /// 125 µm or 500 gauge in British specifications; laps of 80 to 100 mm in texts on EN 1264-4 and DIN 18560-2.
    #[test]
    fn the_sheet_is_held_against_its_limits() {
        let cement = |it: &str| messages(&RULE, &sheet("cement screed", it));
        assert!(cement("thickness: 0.125 mm, laps: 80 mm").is_empty());
        assert_eq!(
            cement("thickness: 0.124 mm, laps: 79 mm"),
            [
                "the sheet under the screed of floor screeded is 0.124 mm thick; at least 0.125 mm keeps the wet screed out",
                "the sheet under the screed of floor screeded is 79 mm lapped; at least 80 mm keeps the wet screed out"
            ]
        );
    }

    #[test]
    fn under_flowing_screed_it_is_taped() {
        let flowing = |it: &str| sheet("flowing screed", &format!("thickness: 0.2 mm, laps: 100 mm{it}"));
        assert_eq!(messages(&RULE, &flowing(", taped: false")).len(), 1);
        assert!(messages(&RULE, &flowing(", taped: true")).is_empty());
        assert_eq!(not_checked(&RULE, &flowing("")), ["floors/screeded/layers/2/taped"]);
        assert!(messages(&RULE, &sheet("cement screed", "thickness: 0.2 mm, laps: 100 mm, taped: false")).is_empty());
    }

    #[test]
    fn a_misspelt_floor_is_not_blamed_for_what_may_be_there() {
        let text = sheet("cement screed", "thickness: 0.2 mm").replace("material: poly", "materal: poly");
        assert!(messages(&RULE, &text).is_empty());
    }
}
