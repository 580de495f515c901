//! A floor on the ground has a damp-proof layer.
//!
//! Moisture that rises from the ground wets the insulation, swells wooden coverings and lifts the glue of all others.
//!
//! ## How it is worked out
//! Over the ground, a damp-proof membrane stands among the layers, or another sheet below the insulation, or mastic asphalt; or the base
//! says of its damp-proof layer whether it is pierced.
//!
//! ## Limit
//! Present, and not pierced: common practice, no source. Local regulations say what it has to be, and where radon is to be kept out.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//! #          ^^^^^^ floor screeded lies on the ground and has no damp-proof layer
//!     base: {kind: slab}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 100 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     base: {kind: slab}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 100 mm}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem};
use design::{BaseKind, Below};
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "damp-proof-membrane-missing",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("damp_proof_membrane_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.rooms.is_empty()) {
        let Some(below) = floor.given.below else { continue };
        let base = floor.given.base.as_ref();
        // Beams and joists span over a void; what damp there is does not rise through them.
        let spans = base
            .and_then(|base| base.kind)
            .is_some_and(|kind| kind.value.is_timber() || kind.value == BaseKind::BeamAndBlock);
        let told = base.is_some_and(|base| base.damp_layer_pierced.is_some());
        if below.value != Below::Ground || spans || told || !inspection.is_read(floor.given.place) {
            continue;
        }
        if let Some(gap) = layers::from(&floor, 0).find_map(|(_, given, worked)| {
            layers::unknown(given, worked)
                .filter(|_| given.thickness.is_none_or(|it| it.value < Length::millimetres(5.0)))
        }) {
            found.not_checked(floor.subject, &gap);
            continue;
        }
        if floor.given.layers.is_empty() {
            found.missing(floor.subject, "layers");
            continue;
        }
        if keeps_damp_out(&floor) {
            continue;
        }
        let message = format!("floor {} lies on the ground and has no damp-proof layer", floor.name);
        let lowest = layers::from(&floor, 0).filter(|(_, _, worked)| worked.insulates()).last();
        let lowest = lowest.map(|(at, ..)| at).or(floor.worked.pipe_layer.clone().ok());
        let remedy = lowest.and_then(|at| {
            let sheet = "{material: damp-proof membrane, thickness: 0.3 mm}";
            Remedy::of("lay a damp-proof membrane under it", layers::lay_under(inspection, &floor, at, &[sheet]))
        });
        found.add(
            Finding::new(floor.subject, below.at, message)
                .source("common practice, no source; local regulations")
                .remedy(remedy),
        );
    }
}

/// A damp-proof membrane anywhere, another sheet below the insulation, or asphalt.
fn keeps_damp_out(floor: &FloorItem) -> bool {
    let lowest = layers::from(floor, 0).filter(|(_, _, worked)| worked.insulates()).last().map(|(at, ..)| at);
    layers::from(floor, 0).any(|(at, _, worked)| match worked.material {
        Some(material) if material.name == "damp-proof membrane" => true,
        Some(material) if material.kind == Material::MasticAsphalt => true,
        Some(material) => material.kind == Material::Membrane && lowest.is_some_and(|lowest| at > lowest),
        None => false,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn floor(base: &str, last: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    base: {{{base}}}\n    layers:\n      - \
             {{material: cement screed, thickness: 65 mm, pipe: at base}}\n      - {{material: polyethylene membrane, thickness: 0.2 \
             mm}}\n      - {{material: PIR board, thickness: 100 mm}}\n      - {last}\n"
        )
    }

    #[test]
    fn a_sheet_below_the_insulation_or_asphalt_does() {
        let on_slab = |last: &str| messages(&RULE, &floor("kind: slab", last)).len();
        assert_eq!(on_slab("{material: concrete, thickness: 150 mm}"), 1);
        assert_eq!(on_slab("{material: polyethylene sheet, thickness: 0.3 mm}"), 0);
        assert_eq!(on_slab("{material: asphalt, thickness: 20 mm}"), 0);
        assert_eq!(on_slab("{material: radon membrane}"), 0);
    }

    #[test]
    fn a_known_layer_or_a_void_below_does() {
        let on = |base: &str| messages(&RULE, &floor(base, "{material: concrete, thickness: 150 mm}")).len();
        assert_eq!(on("kind: slab, damp-layer-pierced: false"), 0);
        assert_eq!(on("kind: beam and block"), 0);
        assert_eq!(on("kind: screed"), 1);
    }
}
