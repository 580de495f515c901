//! A sleeve stands where its loop crosses something.
//!
//! A sleeve at a wall that the loop never meets is usually a slip: the wall that it was meant for has
//! none.
//!
//! ## How it is worked out
//! The name at which a sleeve stands is looked up among the walls, openings and joints that the drawn
//! route crosses. A wall is met in its doorways too.
//!
//! ## Limit
//! No sleeve on nothing: common practice, no source.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//!   W2: {line: [[0, 4], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1: {room: hall, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: [W1, W2]}
//! #                                                                         ^^ loop L1 has a sleeve at W2, which it never crosses
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//!   W2: {line: [[0, 4], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1: {room: hall, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: [W1]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::remedy::remove_item;
use design::{Design, Place};
use std::collections::HashSet;
use workings::{Crossed, crossed_by_name};

pub static RULE: Rule = Rule {
    name: "sleeve-on-nothing",
    group: Group::JointsAndSleeves,
    weights: [Warning; 4],
    file: include_str!("sleeve_on_nothing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let plan = &inspection.workings.plan;
    if plan.broken_off {
        return;
    }
    for (it, crossings) in inspection.loops().zip(&plan.crossings) {
        if it.given.sleeves.is_empty() || !is_drawn(&it, found) {
            continue;
        }
        let mut met: HashSet<Crossed> = crossings.iter().map(|crossing| crossing.what).collect();
        let walls: Vec<Crossed> = met.iter().filter_map(|what| wall_of(design, *what)).collect();
        met.extend(walls);
        let items: Vec<Place> = it.given.sleeves.iter().map(|sleeve| sleeve.at).collect();
        for (at, sleeve) in it.given.sleeves.iter().enumerate() {
            let Some(name) = &sleeve.value.at else { continue };
            let mut named = crossed_by_name(design, &name.value.name).peekable();
            // A name that leads nowhere is told as such; what has no line cannot be met.
            let Some(first) = named.peek().copied() else { continue };
            if !has_line(design, first) || named.any(|what| met.contains(&what)) {
                continue;
            }
            let name = &name.value.name;
            let message = format!("loop {} has a sleeve at {name}, which it never crosses", it.name);
            let change = remove_item(inspection, &items, at);
            found.add(
                Finding::new(it.subject, sleeve.at, message)
                    .source("common practice, no source")
                    .related(first.subject().place(design), format!("{name} stands here"))
                    .remedy(Remedy::of(format!("take the sleeve at {name} out"), change)),
            );
        }
    }
}

/// The wall that an opening is in.
fn wall_of(design: &Design, what: Crossed) -> Option<Crossed> {
    let Crossed::Opening(opening) = what else { return None };
    let wall = design.openings.at(opening)?.1.value.wall.as_ref()?;
    design.walls.position(&wall.value.name).map(Crossed::Wall)
}

/// Whether it is known where something stands; if not, `sleeve-missing-at-wall` says so.
fn has_line(design: &Design, what: Crossed) -> bool {
    match what {
        Crossed::Wall(at) => design.walls.at(at).is_some_and(|(_, it)| it.value.line.is_some()),
        Crossed::MovementJoint(at) => design.movement_joints.at(at).is_some_and(|(_, it)| it.value.line.is_some()),
        Crossed::Opening(at) => {
            design.openings.at(at).is_some_and(|(_, it)| it.value.from.is_some() && it.value.to.is_some())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn said(route: &str, sleeves: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!(
                "walls:\n  W1: {{line: [[5, 0], [5, 4]]}}\n  W2: {{thickness: 90 mm}}\nopenings:\n  D1: {{wall: W1, from: 1 m, \
                 to: 2 m}}\nloops:\n  L1: {{room: hall, route: {route}, sleeves: {sleeves}}}\n"
            ),
        )
    }

    #[test]
    fn touching_is_not_crossing() {
        let touches = "[[6, 3], [5, 3], [5, 3.5], [6, 3.5]]";
        assert_eq!(said(touches, "W1"), ["loop L1 has a sleeve at W1, which it never crosses"]);
        assert_eq!(said("[[6, 3], [4, 3]]", "W1"), [""; 0]);
    }

    #[test]
    fn a_doorway_is_part_of_its_wall_and_not_the_other_way_round() {
        let through_door = "[[6, 1.5], [4, 1.5]]";
        assert_eq!(said(through_door, "[W1, D1]"), [""; 0]);
        assert_eq!(said("[[6, 3], [4, 3]]", "[W1, D1]"), ["loop L1 has a sleeve at D1, which it never crosses"]);
    }

    #[test]
    fn unknown_names_and_unknown_places_are_told_elsewhere() {
        assert_eq!(said("[[6, 3], [4, 3]]", "[W1, W2, W9]"), [""; 0]);
        let text = "walls:\n  W1: {line: [[5, 0], [5, 4]]}\nloops:\n  L1: {sleeves: W1}\n  L2: {}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/route"]);
    }
}
