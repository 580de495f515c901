//! The build-up is no higher than the survey allows.
//!
//! What is too high meets the door threshold, the lowest stair or the sill; it is found when the screed is due.
//!
//! ## How it is worked out
//! The sum of the layers above what carries the floor (slab, old screed, boards, joists) and of the room's own covering, against
//! `height-for-build-up` of the room.
//!
//! ## Limit
//! The stated height and a tolerance of 5 mm: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, height-for-build-up: 200 mm}
//! #                                                                                                                             ^^^^^^ the build-up of floor screeded is 210.5 mm in room hall; the survey allows 200 mm, with 5 mm of tolerance
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, height-for-build-up: 206 mm}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Scope;

pub static RULE: Rule = Rule {
    name: "build-up-higher-than-room",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[TOLERANCE],
    file: include_str!("build_up_higher_than_room.rs"),
    check,
    ..Rule::USUAL
};

const TOLERANCE: Limit = Limit { name: "tolerance", value: "5 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let tolerance = TOLERANCE.get::<Length>(&RULE, inspection);
    // A new building makes its heights; an old one has them.
    let surveyed = matches!(
        inspection.design.project.scope.map(|it| it.value),
        Some(Scope::Conversion | Scope::Renovation | Scope::Replacement)
    );
    for room in inspection.rooms() {
        let Some(floor) = room.worked.floor.and_then(|floor| inspection.floors().nth(floor)) else { continue };
        let Some(allowed) = room.given.height_for_build_up else {
            if surveyed && !room.given.broken {
                found.missing(room.subject, "height-for-build-up");
            }
            continue;
        };
        if floor.given.broken {
            continue;
        }
        let Some(height) = found.need(floor.subject, &floor.worked.height) else { continue };
        let mut whole = height.value;
        let mut known = true;
        for layer in &room.given.covering {
            match layer.thickness {
                Some(thickness) => whole += thickness.value,
                None => known = false,
            }
        }
        if !known {
            found.missing(room.subject, "covering/…/thickness");
            continue;
        }
        if whole <= allowed.value + tolerance.value + Length::millimetres(1e-6) {
            continue;
        }
        let (value, most) = (whole, allowed.value);
        let message = format!(
            "the build-up of floor {} is {value} in room {}; the survey allows {most}, with {} of tolerance",
            floor.name, room.name, tolerance.value
        );
        let limit = tolerance.with(allowed.value + tolerance.value);
        found.add(
            Finding::new(room.subject, allowed.at, message)
                .value(whole)
                .limit(&limit)
                .figure(format!("floors.{}.height", floor.name))
                .related(floor.place, "the floor"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// Only what is added on the old boards counts: 12 + 18 + 30 mm.
    #[test]
    fn what_carries_the_floor_does_not_count() {
        let loft = |allowed: &str| {
            let text = format!(
                "floors:\n  dry:\n    method: floating-board\n    below: heated room\n    base: {{kind: boarded timber}}\n    layers:\n      - \
                 {{material: oak, thickness: 12 mm}}\n      - {{material: gypsum fibre board, thickness: 18 mm}}\n      - {{material: EPS, \
                 thickness: 30 mm, pipe: at top}}\n      - {{material: softwood boards, thickness: 22 mm}}\n      - {{material: mineral wool, \
                 thickness: 100 mm}}\nrooms: {{hall: {{floor: dry, area: 12 m², height-for-build-up: {allowed}}}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(loft("55 mm").is_empty());
        assert_eq!(
            loft("54 mm"),
            ["the build-up of floor dry is 60 mm in room hall; the survey allows 54 mm, with 5 mm of tolerance"]
        );
    }
}
