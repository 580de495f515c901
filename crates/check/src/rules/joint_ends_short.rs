//! A movement joint goes on to a wall, an edge strip or another joint.
//!
//! A joint that ends in the open floor parts nothing: the screed cracks on from its end, in its own direction.
//!
//! ## How it is worked out
//! Both ends of each movement joint and building joint that lie on a floor of screed, against the edge of the floor,
//! the faces of walls and the other joints. An end within the thickness of the edge strip, 10 mm if none is given,
//! meets it. Crack inducers are not looked at.
//!
//! ## Limit
//! Up to the edge strip: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [9.5, 0], [9.5, 4], [0, 4]]}
//! movement-joints:
//!   J1: {line: [[4.75, 0], [4.75, 3.7]]}
//! # ^^ movement joint J1 ends 300 mm short of the nearest wall or joint
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [9.5, 0], [9.5, 4], [0, 4]]}
//! movement-joints:
//!   J1: {line: [[4.75, 0], [4.75, 4]]}
//! ```

use super::bay_over_forty::rooms_without_bays;
use super::pipe_crosses_itself::written;
use super::prelude::*;
use design::Point;
use workings::point;

pub static RULE: Rule = Rule {
    name: "joint-ends-short",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("joint_ends_short.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.movement_joints.is_empty() {
        return;
    }
    if inspection.workings.plan.bays.is_empty() {
        rooms_without_bays(inspection, found, |_| true);
    }
    let mut short = inspection.workings.plan.short_joints.clone();
    short.sort_by_key(|end| end.joint);
    for ends in short.chunk_by(|one, other| one.joint == other.joint) {
        let Some((name, joint)) = design.movement_joints.at(ends[0].joint) else { continue };
        let Some(line) = joint.value.line else { continue };
        let gap = ends.iter().map(|end| end.gap).fold(Length::ZERO, Length::max);
        let where_ = if ends.len() == 1 { "ends" } else { "ends at both ends" };
        let message = format!("movement joint {name} {where_} {gap} short of the nearest wall or joint");
        let mut finding = Finding::new(Subject::MovementJoint(ends[0].joint), joint.name_place, message)
            .value(gap)
            .source("common practice, no source");
        for end in ends {
            let at = format!("this end, [{:.2}, {:.2}], is {} short", end.at.x, end.at.y, end.gap);
            finding = finding.related(line.at, at);
        }
        let moved = |from: Point| {
            let end = ends.iter().find(|end| end.at.distance(point(from)) < Length::millimetres(0.1));
            end.and_then(|end| end.ahead).map_or(from, |at| Point { x: at.x, y: at.y })
        };
        let (from, to) = (moved(line.value.from), moved(line.value.to));
        let text = format!("[{}, {}]", written(from), written(to));
        found.add(finding.remedy(Remedy::new("make the joint longer", line.at, text)));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn says(joints: &str, more: &str) -> Vec<String> {
        let room = "rooms:\n  hall: {floor: screeded, outline: [[0, 0], [9, 0], [9, 4], [0, 4]]}\n";
        messages(&RULE, &format!("{room}movement-joints: {{{joints}}}\n{more}"))
    }

    #[test]
    fn up_to_the_edge_strip() {
        assert_eq!(says("J1: {line: [[4, 0], [4, 3.99]]}", ""), [""; 0]);
        assert_eq!(says("J1: {line: [[4, 0], [4, 3.989]]}", "").len(), 1);
        assert_eq!(says("J1: {line: [[4, 0], [4, 3.9]], kind: crack inducer}", ""), [""; 0]);
        let both = says("J1: {line: [[4, 0.1], [4, 3.8]]}", "");
        assert_eq!(both, ["movement joint J1 ends at both ends 200 mm short of the nearest wall or joint"]);
    }

    #[test]
    fn it_may_end_at_another_joint_or_the_face_of_a_wall() {
        let across = "J1: {line: [[4, 0], [4, 4]]}, J2: {line: [[4, 2], [9, 2]]}";
        assert_eq!(says(across, ""), [""; 0]);
        assert_eq!(says(&across.replace("[[4, 2]", "[[4.5, 2]"), "").len(), 1);
        let wall = "walls: {W1: {line: [[4, 0], [4, 4]], thickness: 100 mm}}\n";
        assert_eq!(says("J1: {line: [[4.05, 2], [9, 2]]}", wall), [""; 0]);
        assert_eq!(says("J1: {line: [[4.07, 2], [9, 2]]}", wall).len(), 1);
    }

    #[test]
    fn outside_every_floor_it_ends_nowhere() {
        assert_eq!(
            says("J1: {line: [[4, -2], [4, 6]]}, J2: {line: [[12, 0], [12, 4]]}, J3: {line: [[4, 4], [4, 4]]}", ""),
            [""; 0]
        );
    }
}
