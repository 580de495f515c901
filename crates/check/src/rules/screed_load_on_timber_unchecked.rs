//! An engineer has agreed to a wet screed on a timber floor.
//!
//! A screed weighs five times a dry floor. Joists that carried boards for a century sag under it, or worse.
//!
//! ## How it is worked out
//! Thickness x density of all layers above the boards or joists, where a screed, mortar or concrete is among them; and whether the base names
//! an engineer.
//!
//! ## Limit
//! 25 kg/m² added without a structural word: common practice, no source. Dry boards stay under it; a screed never does.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     base: {kind: boarded timber}
//! #                ^^^^^^^^^^^^^^ floor screeded adds 131 kg/m² to a timber floor, and no engineer is named; above 25 kg/m² one has to agree
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//!       - {material: softwood boards, thickness: 22 mm}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     base: {kind: boarded timber, engineer: S. Beam}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//!       - {material: softwood boards, thickness: 22 mm}
//! ```

use super::prelude::*;
use crate::layers;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "screed-load-on-timber-unchecked",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    caution: Some("A timber floor that is overloaded can fail; a structural engineer has to agree to the load."),
    guards_people: true,
    file: include_str!("screed_load_on_timber_unchecked.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "most-without-an-engineer", value: "25 kg/m²", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<ArealMass>(&RULE, inspection);
    for floor in inspection.floors().filter(|floor| !floor.worked.rooms.is_empty()) {
        let Some(base) = &floor.given.base else { continue };
        let Some(kind) = base.kind.filter(|kind| kind.value.is_timber()) else { continue };
        let wet = layers::from(&floor, 0)
            .any(|(_, given, worked)| layers::binder(given, worked).is_some() || worked.is(Material::Concrete));
        if !wet || base.engineer.is_some() || !inspection.is_read(base.place) {
            continue;
        }
        let Some(mass) = found.need(floor.subject, &floor.worked.mass) else { continue };
        if mass.value <= most.value {
            continue;
        }
        let (value, limit) = (mass.value, most.value);
        let message = format!(
            "floor {} adds {value} to a timber floor, and no engineer is named; above {limit} one has to agree",
            floor.name
        );
        found.add(
            Finding::new(floor.subject, kind.at, message)
                .value(mass.value)
                .limit(&most)
                .figure(format!("floors.{}.mass", floor.name)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// 12 mm x 2000 kg/m³ is 24 kg/m², 13 mm 26 kg/m² (densities of EN ISO 10456 from memory).
    #[test]
    fn a_thin_screed_may_lie_there() {
        let floor = |screed: &str, base: &str| {
            let text = format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, base: {{kind: {base}}}, layers: [{{material: cement \
                 screed, thickness: {screed}, pipe: at base}}, {{material: softwood boards, thickness: 22 mm}}]}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(floor("12 mm", "boarded timber"), 0);
        assert_eq!(floor("13 mm", "boarded timber"), 1);
        assert_eq!(floor("65 mm", "slab"), 0);
    }

    #[test]
    fn dry_floors_do_not_speak_here() {
        let dry = "floors: {screeded: {method: floating-board, below: heated room, base: {kind: boarded timber}, layers: [{material: gypsum fibre \
                   board, thickness: 30 mm}, {material: EPS, thickness: 30 mm, pipe: at top}]}}\n";
        assert!(messages(&RULE, dry).is_empty());
    }
}
