//! A movement joint parts heated screed from unheated, and rooms with thermostats of their own from each other.
//!
//! A warm bay grows while a cold one beside it does not. Without a joint between them the screed is torn along the
//! line where the heat ends.
//!
//! ## How it is worked out
//! The bays as for `bay-over-forty`. A bay that lies in several rooms may not have rooms with a loop and rooms without
//! one, nor rooms of different zones of the controls.
//!
//! ## Limit
//! A joint between: one trade text on the practice of DIN 18560-2.
//!
//! ## Exceptions
//! Rooms that meet only in a doorway are asked by `no-joint-at-doorway`.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}
//! #                                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ hall is heated and porch is not, and no joint parts them
//!   porch: {floor: screeded, outline: [[4, 0], [6, 0], [6, 4], [4, 4]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}
//!   porch: {floor: screeded, outline: [[4, 0], [6, 0], [6, 4], [4, 4]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: {J1: {line: [[4, 0], [4, 4]]}}
//! ```

use super::bay_over_forty::{add_joints, heated_bays, rooms_without_bays, told};
use super::prelude::*;
use crate::zones::zone_of_rooms;
use design::Point;
use workings::BayWorkings;

pub static RULE: Rule = Rule {
    name: "no-joint-between-unlike-heat",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("no_joint_between_unlike_heat.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "one trade text on the practice of DIN 18560-2";

fn check(inspection: &Inspection, found: &mut Findings) {
    if inspection.design.rooms.len() < 2 {
        return;
    }
    rooms_without_bays(inspection, found, |_| true);
    let zones = zone_of_rooms(inspection);
    let is_heated = |room: &usize| !inspection.workings.rooms[*room].loops.is_empty();
    let name = |room: usize| inspection.design.rooms.at(room).map_or("", |(name, _)| name);
    for bay in heated_bays(inspection) {
        let Some(&warm) = bay.rooms.iter().find(|room| is_heated(room)) else { continue };
        let cold = bay.rooms.iter().find(|room| !is_heated(room));
        let other_zone = || {
            let zone = zones[warm]?;
            bay.rooms.iter().find(|room| is_heated(room) && zones[**room].is_some_and(|other| other != zone))
        };
        let (message, other) = if let Some(&cold) = cold {
            (format!("{} is heated and {} is not, and no joint parts them", name(warm), name(cold)), cold)
        } else if let Some(&other) = other_zone() {
            let message =
                format!("{} and {} have thermostats of their own, and no joint parts them", name(warm), name(other));
            (message, other)
        } else {
            continue;
        };
        let remedy = between(inspection, bay, warm, other);
        found.add(told(inspection, bay, message).source(SOURCE).remedy(remedy));
    }
}

/// Joints along the edges that two rooms share.
fn between(inspection: &Inspection, bay: &BayWorkings, one: usize, other: usize) -> Option<Remedy> {
    let outline = |room: usize| inspection.workings.rooms[room].outline.as_ref()?.as_ref().ok();
    let (one, other) = (outline(one)?, outline(other)?);
    let mut shared: Vec<[Point; 2]> = Vec::new();
    for (a, b) in one.edges() {
        let (x, y) = (b.x - a.x, b.y - a.y);
        let length = x.hypot(y);
        // How far along the edge a point is, and how far beside it.
        let place = |it: engineering::plan::Point| {
            let (to_x, to_y) = (it.x - a.x, it.y - a.y);
            ((to_x * x + to_y * y) / length, (x * to_y - y * to_x) / length)
        };
        for (c, d) in other.edges() {
            let (from, to) = (place(c), place(d));
            let (first, last) = (from.0.min(to.0).max(0.0), from.0.max(to.0).min(length));
            if from.1.abs() < 2e-3 && to.1.abs() < 2e-3 && last - first > 0.1 {
                let at = |along: f64| Point { x: a.x + x / length * along, y: a.y + y / length * along };
                shared.push([at(first), at(last)]);
            }
        }
    }
    if shared.is_empty() {
        return None;
    }
    Remedy::of("add a joint between them", add_joints(inspection, bay.rooms.first().copied(), &shared))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn says(loops: &str, more: &str) -> Vec<String> {
        let rooms = "rooms:\n  hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}\n  study: {floor: screeded, outline: [[4, 0], \
                     [6, 0], [6, 4], [4, 4]]}\n";
        messages(&RULE, &format!("{rooms}loops: {{{loops}}}\n{more}"))
    }

    const BOTH: &str = "L1: {room: hall, spacing: 150 mm}, L2: {room: study, spacing: 150 mm}";
    const ONE_ZONE: &str = "controls: {zones: {all: {rooms: [hall, study]}}}\n";
    const TWO_ZONES: &str = "controls: {zones: {hall: {rooms: [hall]}, study: {rooms: [study]}}}\n";

    #[test]
    fn one_heat_and_one_thermostat_want_no_joint() {
        assert_eq!(says(BOTH, ONE_ZONE), [""; 0]);
        assert_eq!(says(BOTH, "controls: {interlock: true}\n"), [""; 0]);
        assert_eq!(says(BOTH, TWO_ZONES), ["hall and study have thermostats of their own, and no joint parts them"]);
        let one = "L1: {room: hall, spacing: 150 mm}";
        assert_eq!(says(one, ONE_ZONE), ["hall is heated and study is not, and no joint parts them"]);
    }

    #[test]
    fn a_joint_or_a_wall_parts_them() {
        assert_eq!(says(BOTH, &format!("{TWO_ZONES}movement-joints: {{J1: {{line: [[4, 0], [4, 4]]}}}}\n")), [""; 0]);
        assert_eq!(says(BOTH, &format!("{TWO_ZONES}walls: {{W1: {{line: [[4, 0], [4, 4]]}}}}\n")), [""; 0]);
        assert_eq!(says(BOTH, &format!("{TWO_ZONES}movement-joints: {{J1: {{line: [[4, 0], [4, 3]]}}}}\n")).len(), 1);
    }
}
