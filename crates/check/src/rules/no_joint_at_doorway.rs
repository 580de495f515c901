//! A movement joint lies in every doorway between floors of heated screed.
//!
//! In a doorway the bays of two rooms meet in a neck. What they pull apart cracks there, under the threshold.
//!
//! ## How it is worked out
//! For each opening in a wall with a room on both sides, of which one at least is heated and both have a floor of
//! screed: the share of its width along which a movement joint or a building joint lies under the wall or within 50 mm of its
//! faces. Nine tenths are enough.
//!
//! ## Limit
//! A joint in every doorway: DIN 18560-2, from secondary texts, and trade texts.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}
//!   study: {floor: screeded, outline: [[4.1, 0], [8, 0], [8, 4], [4.1, 4]]}
//! walls:
//!   W1: {line: [[4.05, 0], [4.05, 4]], thickness: 100 mm}
//! openings:
//!   D1: {wall: W1, from: 1 m, to: 1.9 m}
//! # ^^ the screed of hall and study goes through doorway D1 without a joint
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}
//!   study: {floor: screeded, outline: [[4.1, 0], [8, 0], [8, 4], [4.1, 4]]}
//! walls:
//!   W1: {line: [[4.05, 0], [4.05, 4]], thickness: 100 mm}
//! openings:
//!   D1: {wall: W1, from: 1 m, to: 1.9 m}
//! movement-joints: {J1: {line: [[4.05, 1], [4.05, 1.9]]}}
//! ```

use super::bay_over_forty::{add_joints, free_names};
use super::prelude::*;
use super::sleeve_missing_at_wall::add_sleeves;
use crate::remedy::Change;
use design::{JointKind, WallKind};
use engineering::plan::{Areas, Line, Lines, Opening, Outline, Point, share_jointed};
use std::collections::BTreeMap;
use workings::{Crossed, point};

pub static RULE: Rule = Rule {
    name: "no-joint-at-doorway",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[BESIDE, JOINTED],
    follows: &["opening-not-in-its-wall"],
    file: include_str!("no_joint_at_doorway.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "DIN 18560-2, from secondary texts, and trade texts";
const BESIDE: Limit = Limit { name: "beside-the-wall", value: "50 mm", source: "common practice, no source" };
const JOINTED: Limit = Limit { name: "share-of-the-width", value: "90 %", source: "common practice, no source" };

/// A wall whose thickness is not given is taken to be so thick.
const USUAL_WALL: Length = Length::millimetres(100.0);
/// Rooms may be drawn to the plaster: so far behind the face of a wall the floor is looked for.
const BEHIND: Length = Length::millimetres(50.0);

/// What a doorway is asked about on its storey.
struct Ground<'i> {
    areas: Areas<'i>,
    rooms: Vec<usize>,
    joints: Lines,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let is_heated_screed = |room: &usize| {
        !inspection.workings.rooms[*room].loops.is_empty()
            && inspection.workings.has_screed(design, *room) == Some(true)
    };
    if !(0..design.rooms.len()).any(|room| is_heated_screed(&room)) {
        return;
    }
    // A joint that cannot be read may be the one that is sought.
    if design.movement_joints.values().any(|joint| joint.broken) {
        return;
    }
    if design.openings.place.is_none() && design.rooms.len() > 1 && inspection.is_read(design.place) {
        found.missing(Subject::Design, "openings");
    }
    let beside = BESIDE.get::<Length>(&RULE, inspection).value + Length::millimetres(0.1);
    let jointed = JOINTED.get::<Share>(&RULE, inspection).value;
    let mut grounds: BTreeMap<Option<&str>, Ground> = BTreeMap::new();
    for (at_opening, (name, entry)) in design.openings.iter().enumerate() {
        let opening = &entry.value;
        let subject = Subject::Opening(at_opening);
        let mut missing = |key| {
            if !opening.broken {
                found.missing(subject, key);
            }
        };
        let Some(wall) = &opening.wall else {
            missing("wall");
            continue;
        };
        let (Some(from), Some(to)) = (opening.from, opening.to) else {
            missing(if opening.from.is_none() { "from" } else { "to" });
            continue;
        };
        let Some((wall_name, wall)) = design.walls.position(&wall.name).and_then(|wall| design.walls.at(wall)) else {
            continue;
        };
        let wall = &wall.value;
        let Some(line) = wall.line else {
            if !wall.broken {
                found.missing(Subject::Wall(design.walls.position(wall_name).unwrap_or_default()), "line");
            }
            continue;
        };
        let storey = wall.storey.as_ref().map(|storey| storey.name.as_str());
        let ground = grounds.entry(storey).or_insert_with(|| Ground::new(inspection, storey));
        let ends = [point(line.value.from), point(line.value.to)];
        let half = wall.thickness.map_or(USUAL_WALL, |it| it.value) / 2.0;
        let Some(sides) = sides(ends, (from.value + to.value) / 2.0, half + BEHIND) else { continue };
        let [one, other] = sides.map(|side| ground.areas.at(side).map(|area| ground.rooms[area]));
        let (Some(one), Some(other)) = (one, other) else {
            let is_outside = wall.kind.is_some_and(|kind| matches!(kind.value, WallKind::Outside | WallKind::Party));
            // The room behind it may have no outline yet.
            let without = inspection.rooms().find(|room| room.given.outline.is_none() && !room.given.broken);
            let heated = one.or(other).is_some_and(|room| is_heated_screed(&room));
            if let (false, true, Some(room)) = (is_outside, heated, without) {
                found.missing(room.subject, "outline");
            }
            continue;
        };
        if one == other || !(is_heated_screed(&one) || is_heated_screed(&other)) {
            continue;
        }
        let walls = Lines::new([Line::Open(&ends)]);
        let in_wall = Opening { wall: 0, from: from.value, to: to.value };
        if share_jointed(&walls, &in_wall, &ground.joints, half + beside).in_fraction() >= jointed.in_fraction() - 1e-6
        {
            continue;
        }
        let unknown = [one, other].into_iter().find(|room| inspection.workings.has_screed(design, *room).is_none());
        if let Some(room) = unknown {
            if design.rooms.at(room).is_some_and(|(_, room)| room.value.floor.is_none() && !room.value.broken) {
                found.missing(Subject::Room(room), "floor");
            }
            continue;
        }
        if [one, other].iter().any(|room| inspection.workings.has_screed(design, *room) == Some(false)) {
            continue;
        }
        let room =
            |room: usize| design.rooms.at(room).map_or(("", entry.name_place), |(name, room)| (name, room.name_place));
        let ((one_name, one_place), (other_name, other_place)) = (room(one), room(other));
        let message = format!("the screed of {one_name} and {other_name} goes through doorway {name} without a joint");
        let at = |along: Length| {
            let share = along / ends[0].distance(ends[1]);
            design::Point {
                x: ends[0].x + (ends[1].x - ends[0].x) * share,
                y: ends[0].y + (ends[1].y - ends[0].y) * share,
            }
        };
        // The pipes that pass there will cross it.
        let passing = inspection.loops().zip(&inspection.workings.plan.crossings);
        let passing = passing.filter(|(_, through)| through.iter().any(|it| it.what == Crossed::Opening(at_opening)));
        let joint_name = free_names(inspection).next().unwrap_or_default();
        let sleeves: Vec<Change> = passing
            .filter_map(|(it, _)| add_sleeves(inspection, it.given, std::slice::from_ref(&joint_name)))
            .collect();
        let title = match sleeves.len() {
            0 => "add a joint under the door leaf".to_string(),
            1 => "add a joint under the door leaf, with sleeves for the loop that passes".to_string(),
            count => format!("add a joint under the door leaf, with sleeves for the {count} loops that pass"),
        };
        let joint = add_joints(inspection, Some(one), &[[at(from.value), at(to.value)]]);
        found.add(
            Finding::new(subject, entry.name_place, message)
                .source(SOURCE)
                .related(one_place, "on one side of it")
                .related(other_place, "on the other side of it")
                .remedy(joint.and_then(|joint| Remedy::of(title, std::iter::once(joint).chain(sleeves)))),
        );
    }
}

impl<'i> Ground<'i> {
    fn new(inspection: &Inspection<'i>, storey: Option<&str>) -> Ground<'i> {
        let design = inspection.design;
        let here = |of: Option<&str>| of.is_none() || storey.is_none() || of == storey;
        let (rooms, outlines): (Vec<usize>, Vec<&Outline>) = inspection
            .rooms()
            .enumerate()
            .filter(|(_, room)| here(room.given.storey.as_ref().map(|storey| storey.name.as_str())))
            .filter_map(|(at, room)| Some((at, room.worked.outline.as_ref()?.as_ref().ok()?)))
            .unzip();
        let joints: Vec<[Point; 2]> = design
            .movement_joints
            .values()
            .filter(|joint| here(joint.storey.as_ref().map(|storey| storey.name.as_str())))
            .filter(|joint| joint.kind.is_none_or(|kind| kind.value != JointKind::CrackInducer))
            .filter_map(|joint| joint.line.map(|line| [point(line.value.from), point(line.value.to)]))
            .collect();
        Ground { areas: Areas::new(outlines), rooms, joints: Lines::new(joints.iter().map(|ends| Line::Open(ends))) }
    }
}

/// The two places so far to either side of the middle of an opening.
fn sides([from, to]: [Point; 2], middle: Length, off: Length) -> Option<[Point; 2]> {
    let length = from.distance(to).in_metres();
    let (x, y) = ((to.x - from.x) / length, (to.y - from.y) / length);
    let (along, off) = (middle.in_metres(), off.in_metres());
    let at = Point::new(from.x + x * along, from.y + y * along);
    (length > 0.0).then(|| [Point::new(at.x - y * off, at.y + x * off), Point::new(at.x + y * off, at.y - x * off)])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn text(rooms: &str, more: &str) -> String {
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}}\n{rooms}walls:\n  W1: {{line: [[4.05, 0], [4.05, 4]], \
             thickness: 100 mm}}\nopenings:\n  D1: {{wall: W1, from: 1 m, to: 2 m}}\nloops:\n  L1: {{room: hall, spacing: 150 mm}}\n{more}"
        )
    }

    const STUDY: &str = "  study: {floor: screeded, outline: [[4.1, 0], [8, 0], [8, 4], [4.1, 4]]}\n";

    #[test]
    fn nine_tenths_of_the_width_under_the_wall() {
        let says =
            |joint: &str| messages(&RULE, &text(STUDY, &format!("movement-joints: {{J1: {{{joint}}}}}\n"))).len();
        assert_eq!(says("line: [[4.05, 1], [4.05, 1.9]]"), 0);
        assert_eq!(says("line: [[4.05, 1], [4.05, 1.89]]"), 1);
        assert_eq!(says("line: [[4.15, 0], [4.15, 4]]"), 0);
        assert_eq!(says("line: [[4.16, 0], [4.16, 4]]"), 1);
        assert_eq!(says("line: [[4.05, 0], [4.05, 4]], kind: crack inducer"), 1);
        assert_eq!(says("line: [[4.05, 0], [4.05, 4]], kind: building joint"), 0);
    }

    /// The tails that pass the doorway get their sleeves with the joint: without them it would only bring another error.
    #[test]
    fn a_joint_comes_with_the_sleeves_of_what_passes() {
        let loops = "manifolds: {M1: {at: [0.1, 1.5], ports: 2}}\nloops:\n  L1: {manifold: M1, port: 1, room: study, pipe: PEX-16, spacing: 150 mm, layout: meander}\n";
        let text = text(STUDY, "").replace("loops:\n  L1: {room: hall, spacing: 150 mm}\n", loops);
        let found = check(&text).findings;
        let doorway = found.iter().find(|it| it.rule.name == RULE.name).expect("it is told");
        let titles: Vec<&str> = doorway.remedies.iter().map(|it| it.title.as_str()).collect();
        assert_eq!(titles, ["add a joint under the door leaf, with sleeves for the loop that passes"]);
        assert!(doorway.remedies[0].changes.iter().any(|it| it.text.contains("sleeves: [J1]")), "{doorway:#?}");
    }

    #[test]
    fn both_sides_must_be_screed() {
        assert_eq!(messages(&RULE, &text(STUDY, "")).len(), 1);
        assert_eq!(not_checked(&RULE, &text(&STUDY.replace("floor: screeded, ", ""), "")), ["rooms/study/floor"]);
        let outdoors = text("", "").replace("thickness: 100 mm", "thickness: 100 mm, kind: outside");
        assert_eq!((messages(&RULE, &outdoors).len(), not_checked(&RULE, &outdoors).len()), (0, 0));
        assert_eq!(not_checked(&RULE, &text("  study: {area: 9 m²}\n", "")), ["rooms/study/outline"]);
    }

    #[test]
    fn without_openings_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, ""), ["openings"]);
        assert_eq!(not_checked(&RULE, "openings: none\n"), [""; 0]);
    }
}
