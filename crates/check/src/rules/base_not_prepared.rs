//! What is stuck to the base holds, because the base was primed, and calcium sulphate sanded.
//!
//! Laitance and dust let go under the first warm winter; board, adhesive and tile come up with them.
//!
//! ## How it is worked out
//! Of floors whose grooved board or electric mat is stuck to the base, and of calcium-sulphate screeds under a bonded covering: the base's
//! `primed`, and on calcium sulphate its `sanded`.
//!
//! ## Limit
//! Sanded, vacuumed, primed: one screed-trade text.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: screed, flatness: 2 mm, primed: false}
//! #                                                ^^^^^ the base of floor screeded is not primed; what is stuck to it comes loose
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 40 mm, pipe: at top, held: full bed}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: screed, flatness: 2 mm, primed: true}
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 40 mm, pipe: at top, held: full bed}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem};
use design::{Method, Screed};
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "base-not-prepared",
    group: Group::FloorConstruction,
    weights: [Silent, Warning, Warning, Warning],
    file: include_str!("base_not_prepared.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.rooms.is_empty()) {
        let stuck = floor.given.method.is_some_and(|it| matches!(it.value, Method::BondedBoard | Method::ElectricMat));
        let sulphate = sulphate_under_bond(&floor);
        if !stuck && !sulphate {
            continue;
        }
        let base = floor.given.base.as_ref();
        let wanted = [
            (true, base.and_then(|base| base.primed), "base/primed", "primed", "prime it"),
            (sulphate, base.and_then(|base| base.sanded), "base/sanded", "sanded", "sand it"),
        ];
        for (_, given, key, word, title) in wanted.into_iter().filter(|(wanted, ..)| *wanted) {
            let Some(given) = given else {
                found.missing(floor.subject, key);
                continue;
            };
            if given.value {
                continue;
            }
            let what = if sulphate { "calcium sulphate" } else { "base" };
            let message = format!("the {what} of floor {} is not {word}; what is stuck to it comes loose", floor.name);
            let finding = Finding::new(floor.subject, given.at, message).source("one screed-trade text");
            found.add(finding.remedy(Remedy::new(title, given.at, "true")));
        }
    }
}

/// Whether tile, adhesive or a glued covering lies on a screed of calcium sulphate.
fn sulphate_under_bond(floor: &FloorItem) -> bool {
    let mut above = layers::from(floor, 0).zip(layers::from(floor, 1));
    above.any(|((_, over, worked), (_, under, under_worked))| {
        let bonds = [Material::Tile, Material::Stone, Material::Adhesive, Material::BackerBoard].into_iter();
        let stuck = bonds.into_iter().any(|kind| worked.is(kind))
            || over.held.is_some_and(|it| matches!(it.value, design::Held::Glued | design::Held::FullBed));
        stuck && layers::binder(under, under_worked) == Some(Screed::CalciumSulphate)
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(base: &str) -> String {
        format!(
            "floors: {{screeded: {{method: clipped-in-screed, below: heated room, base: {{{base}}}, layers: [{{material: tile, thickness: 10 \
             mm}}, {{material: flowing screed, thickness: 55 mm, pipe: at base}}, {{material: EPS, thickness: 40 mm}}]}}}}\n"
        )
    }

    #[test]
    fn calcium_sulphate_is_sanded_as_well() {
        assert!(messages(&RULE, &floor("primed: true, sanded: true")).is_empty());
        assert_eq!(
            messages(&RULE, &floor("primed: true, sanded: false")),
            ["the calcium sulphate of floor screeded is not sanded; what is stuck to it comes loose"]
        );
        assert_eq!(not_checked(&RULE, &floor("primed: true")), ["floors/screeded/base/sanded"]);
    }

    #[test]
    fn under_insulation_nothing_is_stuck() {
        assert!(messages(&RULE, "").is_empty() && not_checked(&RULE, "").is_empty());
    }
}
