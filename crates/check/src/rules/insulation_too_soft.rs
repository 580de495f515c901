//! The layers under a floating screed give way little under load.
//!
//! On a bed that is too soft the screed sinks at its edges, cracks over the pipe and shears off at the door.
//!
//! ## How it is worked out
//! The sum of what the insulation and sound layers below the screed give way, as the design states it of each.
//!
//! ## Limit
//! 5 mm for all layers in dwellings, up to 3 kN/m²: DIN 18560-2, in one handbook. 3 mm under heavier use: from memory.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm, compression: 2 mm}
//! #                                                      ^^^^ the layers under the screed of floor screeded give way by 6 mm; at most 5 mm bears it
//!       - {material: impact sound mat, thickness: 20 mm, compression: 4 mm}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm, compression: 2 mm}
//!       - {material: impact sound mat, thickness: 20 mm, compression: 3 mm}
//! ```

use super::prelude::*;
use crate::layers;
use design::{Load, Method};
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "insulation-too-soft",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[DOMESTIC, HEAVY],
    file: include_str!("insulation_too_soft.rs"),
    check,
    ..Rule::USUAL
};

const DOMESTIC: Limit = Limit { name: "in-dwellings", value: "5 mm", source: "DIN 18560-2, in one handbook" };
const HEAVY: Limit = Limit { name: "under-heavy-use", value: "3 mm", source: "from memory" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let method = floor.given.method.map(|it| it.value);
        let (Subject::Floor(number), Some(Method::ClippedInScreed | Method::CastellatedTray)) = (floor.subject, method)
        else {
            continue;
        };
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        let soft = layers::from(&floor, pipe_layer + 1)
            .filter(|(_, _, worked)| worked.insulates() || worked.is(Material::Underlay));
        let mut stated = Vec::new();
        let mut all_known = true;
        for (at, given, _) in soft {
            match given.compression {
                Some(compression) => stated.push(compression),
                None => {
                    all_known = false;
                    if !given.broken {
                        found.missing(Subject::Layer(number, at), "compression");
                    }
                }
            }
        }
        let heavy = floor.given.load.is_some_and(|load| load.value == Load::Heavy);
        let limit = if heavy { HEAVY } else { DOMESTIC }.get::<Length>(&RULE, inspection);
        let sum: Length = stated.iter().map(|it| it.value).sum();
        // What is known may be too much already.
        if sum <= limit.value + Length::millimetres(1e-6) {
            continue;
        }
        let Some(first) = stated.first() else { continue };
        let (value, most) = (sum, limit.value);
        let least = if all_known { "" } else { "at least " };
        let message = format!(
            "the layers under the screed of floor {} give way by {least}{value}; at most {most} bears it",
            floor.name
        );
        let mut finding = Finding::new(floor.subject, first.at, message).value(sum).limit(&limit);
        for other in &stated[1..] {
            finding = finding.related(other.at, "and this layer");
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(load: &str, compression: &str) -> String {
        format!(
            "floors: {{screeded: {{method: clipped-in-screed, below: heated room, {load}layers: [{{material: cement screed, thickness: 65 mm, \
             pipe: at base}}, {{material: EPS, thickness: 40 mm{compression}}}]}}}}\n"
        )
    }

    #[test]
    fn heavy_use_allows_less() {
        assert!(messages(&RULE, &floor("", ", compression: 5 mm")).is_empty());
        assert!(messages(&RULE, &floor("load: heavy, ", ", compression: 3 mm")).is_empty());
        assert_eq!(messages(&RULE, &floor("load: heavy, ", ", compression: 3.1 mm")).len(), 1);
        assert_eq!(not_checked(&RULE, &floor("", "")), ["floors/screeded/layers/2/compression"]);
    }
}
