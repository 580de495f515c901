//! A movement joint in the screed goes on through the tile bed and the tiles, on the same line.
//!
//! Tiles that bridge a joint crack or come loose over it, whatever the screed does below.
//!
//! ## How it is worked out
//! `in-covering` of each movement joint and building joint that touches a room with tile or stone on its floor, or a
//! doorway of one. A joint whose line is not given is held against every such room of the design.
//!
//! ## Limit
//! On the same line, within 5 mm: tile trade texts.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [8, 0], [8, 4], [0, 4]]}
//! movement-joints:
//!   J1: {line: [[4, 0], [4, 4]], in-covering: false}
//! #                                           ^^^^^ movement joint J1 is not carried on through the tiles of hall
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [8, 0], [8, 4], [0, 4]]}
//! movement-joints:
//!   J1: {line: [[4, 0], [4, 4]], in-covering: true}
//! ```

use super::prelude::*;
use design::JointKind;
use engineering::heat::materials;
use engineering::plan::{Line, Lines, Route};
use workings::point;

pub static RULE: Rule = Rule {
    name: "joint-not-carried-through-tile",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("joint_not_carried_through_tile.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "tile trade texts";

/// A joint under a door leaf lies so far from the edges of the rooms that it parts.
const IN_DOORWAY: Length = Length::millimetres(300.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.movement_joints.is_empty() {
        return;
    }
    let is_tiled =
        |room: &usize| matches!(inspection.covering_of(*room), Some(materials::Kind::Tile | materials::Kind::Stone));
    let tiled: Vec<usize> = (0..design.rooms.len()).filter(is_tiled).collect();
    let outlines = Lines::new(tiled.iter().map(|room| match &inspection.workings.rooms[*room].outline {
        Some(Ok(outline)) => Line::Closed(outline.corners()),
        _ => Line::Open(&[]),
    }));
    for (at, (name, entry)) in design.movement_joints.iter().enumerate() {
        let joint = &entry.value;
        if joint.kind.is_some_and(|kind| kind.value == JointKind::CrackInducer)
            || joint.in_covering.is_some_and(|it| it.value)
        {
            continue;
        }
        let storey = joint.storey.as_ref().map(|storey| storey.name.as_str());
        let same_storey = |room: &usize| {
            let its = design
                .rooms
                .at(*room)
                .and_then(|(_, room)| room.value.storey.as_ref())
                .map(|storey| storey.name.as_str());
            storey.is_none() || its.is_none() || storey == its
        };
        let room = match joint.line.map(|line| Route::new(&[point(line.value.from), point(line.value.to)])) {
            Some(Ok(line)) => {
                let near = outlines.clearances(&line, [line.whole()], IN_DOORWAY);
                let mut beside = near.iter().map(|near| tiled[near.line]);
                let holds = |room: &&usize| match &inspection.workings.rooms[**room].outline {
                    Some(Ok(outline)) => outline.contains(line.points()[0]),
                    _ => false,
                };
                beside.find(same_storey).or_else(|| tiled.iter().filter(|room| same_storey(room)).find(holds).copied())
            }
            Some(Err(_)) => None,
            None => tiled.iter().copied().find(same_storey),
        };
        let Some((room, room_entry)) = room.and_then(|room| design.rooms.at(room)) else { continue };
        match joint.in_covering {
            None if !joint.broken => found.missing(Subject::MovementJoint(at), "in-covering"),
            Some(said) => {
                let message = format!("movement joint {name} is not carried on through the tiles of {room}");
                found.add(
                    Finding::new(Subject::MovementJoint(at), said.at, message)
                        .source(SOURCE)
                        .related(room_entry.name_place, format!("{room} is tiled"))
                        .remedy(Remedy::new("carry it on through the tiles", said.at, "true")),
                );
            }
            None => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(joint: &str) -> String {
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [8, 0], [8, 4], [0, 4]]}}\nmovement-joints: {{J1: {{{joint}}}}}\n"
        )
    }

    #[test]
    fn joints_in_tiled_rooms_and_their_doorways() {
        let says = |joint: &str| messages(&RULE, &text(&format!("{joint}, in-covering: false"))).len();
        assert_eq!(says("line: [[4, 0], [4, 4]]"), 1);
        assert_eq!(says("line: [[4, 1], [4, 2]]"), 1);
        assert_eq!(says("line: [[8.1, 1], [8.1, 2]]"), 1);
        assert_eq!(says("line: [[9, 1], [9, 2]]"), 0);
        assert_eq!(says("line: [[4, 0], [4, 4]], kind: crack inducer"), 0);
        assert_eq!(says("width: 8 mm"), 1);
    }

    #[test]
    fn what_is_not_said_is_not_checked_and_carpet_has_no_tiles() {
        assert_eq!(not_checked(&RULE, &text("line: [[4, 0], [4, 4]]")), ["movement-joints/J1/in-covering"]);
        let carpet = text("line: [[4, 0], [4, 4]], in-covering: false")
            .replace("floor: screeded", "floor: screeded, covering: [{material: carpet, thickness: 8 mm}]");
        assert_eq!(messages(&RULE, &carpet), [""; 0]);
    }
}
