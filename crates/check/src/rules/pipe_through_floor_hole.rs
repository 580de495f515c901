//! No pipe runs where there is a hole through the floor.
//!
//! The soil pipe or the gully that comes up there stands in the way of the run; and whoever drills the hole
//! later drills the pipe.
//!
//! ## How it is worked out
//! The clear distance is that from the middle line of the pipe, with its bends, to the edge of the round hole, less half
//! the pipe.
//!
//! ## Limit
//! 50 mm: common practice, no source.
//!
//! ```yaml fails
//! floor-holes:
//!   soil: {at: [2, 1], diameter: 110 mm, before-pipe: true}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1], [1, 1], [1, 3]]}
//! #                                             ^^^^^^ loop L1 runs through floor hole soil; 50 mm clear of its edge is the least
//! ```
//! ```yaml passes
//! floor-holes:
//!   soil: {at: [2, 1], diameter: 110 mm, before-pipe: true}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1.12], [1, 1.12], [1, 3]]}
//! ```

use super::pipe_too_near_wall::named;
use super::pipe_under_fixing::{clear, moved_off};
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use workings::{NearTo, place_along};

pub static RULE: Rule = Rule {
    name: "pipe-through-floor-hole",
    group: Group::Geometry,
    weights: [Warning, Error, Error, Error],
    limits: &[LEAST],
    file: include_str!("pipe_through_floor_hole.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "clear-of-a-floor-hole", value: "50 mm", source: "common practice, no source" };

/// What a tenth of a millimetre may be out.
const HAIR: Length = Length::millimetres(0.1);

fn check(inspection: &Inspection, found: &mut Findings) {
    let holes = &inspection.design.floor_holes;
    if holes.is_empty() {
        return;
    }
    for (at, hole) in holes.values().enumerate().filter(|(_, hole)| !hole.broken) {
        let given = [(hole.at.is_some(), "at"), (hole.diameter.is_some(), "diameter")];
        for (_, key) in given.iter().filter(|(is_given, _)| !is_given) {
            found.missing(Subject::FloorHole(at), key);
        }
    }
    let least = LEAST.get::<Length>(&RULE, inspection);
    for (it, near) in inspection.loops().zip(&inspection.workings.plan.near) {
        if !is_drawn(&it, found) {
            continue;
        }
        for near in near.iter().filter(|near| matches!(near.what, NearTo::FloorHole(_))) {
            let Some(clear) = clear(found, &it, near) else { break };
            if clear >= least.value - HAIR {
                continue;
            }
            let (what, place) = named(inspection, near.what);
            let message = match near.distance > HAIR {
                true => format!("loop {} is {clear} clear of {what}; {} is the least", it.name, least.value),
                false => {
                    format!("loop {} runs through {what}; {} clear of its edge is the least", it.name, least.value)
                }
            };
            found.add(
                Finding::new(it.subject, place_along(it.given, near.along), message)
                    .value(clear)
                    .limit(&least)
                    .related(place, format!("{what} is here"))
                    .remedy(moved_off(&it, near, least.value - clear)),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(hole: &str, more: &str) -> String {
        format!(
            "floor-holes:\n  soil: {{{hole}}}\nloops:\n  L1: {{room: hall, pipe: PE-X 16 x 2, storey: ground, {more}}}\n\
             storeys: {{ground: {{}}, upper: {{}}}}\n"
        )
    }

    const ROUND: &str = "at: [2, 1], diameter: 110 mm";

    fn at(hole: &str, y: f64) -> usize {
        messages(&RULE, &text(hole, &format!("route: [[0, {y}], [6, {y}]]"))).len()
    }

    /// Half the hole, 50 mm, half the pipe: 55 + 50 + 8 mm from middle to middle.
    #[test]
    fn fifty_millimetres_from_edge_to_face() {
        assert_eq!([at(ROUND, 1.1132), at(ROUND, 1.1127)], [0, 1]);
        assert_eq!([at(ROUND, 0.8868), at(ROUND, 0.8873)], [0, 1]);
        let beside = messages(&RULE, &text(ROUND, "route: [[0, 1.0831], [6, 1.0831]]"));
        assert!(
            matches!(&beside[..], [it] if it.ends_with("mm clear of floor hole soil; 50 mm is the least")),
            "{beside:?}"
        );
    }

    #[test]
    fn a_hole_of_another_storey_is_not_in_the_way() {
        assert_eq!(at(&format!("{ROUND}, storey: upper"), 1.0), 0);
        assert_eq!(at(&format!("{ROUND}, storey: ground"), 1.0), 1);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text(ROUND, "spacing: 150 mm")), ["loops/L1/route"]);
        let no_width = text("at: [2, 1]", "route: [[0, 1], [6, 1]]");
        assert_eq!(not_checked(&RULE, &no_width), ["floor-holes/soil/diameter"]);
    }
}
