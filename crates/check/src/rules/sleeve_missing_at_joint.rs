//! Every pipe that crosses a movement joint has a sleeve there.
//!
//! The two sides of a joint move apart and up and down. A pipe that is held fast on both sides is
//! stretched and bent at the gap, day by day, until it breaks under the floor.
//!
//! ## How it is worked out
//! The drawn route is cut with the lines of the joints. A bare name in `sleeves` is a sleeve of its own
//! on every crossing; one that `serves` the flow or the return serves one crossing in the first or in
//! the second half of the route. A sleeve in a doorway serves a joint under its leaf.
//!
//! ## Limit
//! A flexible sleeve of 300 mm, centred on the joint: EN 1264-4, as secondary texts and the glossary of
//! a floor-construction handbook give it.
//!
//! ## Exceptions
//! A crack inducer is no movement joint. A building joint may not be crossed at all, which
//! `pipe-crosses-building-joint` says. Where more than flow and return cross, `heated-run-crosses-joint`
//! speaks; where part of the crossings has a sleeve, `one-sleeve-for-two-crossings`.
//!
//! ```yaml fails
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//! # ^^ loop L1 crosses movement joint J1 twice without a sleeve; each crossing wants one of 300 mm
//! ```
//! ```yaml remedied
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: [J1]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::{counted, finding, for_each_crossing};
use super::sleeve_too_short;
use design::JointKind;
use workings::Crossed;

pub static RULE: Rule = Rule {
    name: "sleeve-missing-at-joint",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("sleeve_missing_at_joint.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.movement_joints.is_empty() {
        return;
    }
    for (at, joint) in design.movement_joints.values().enumerate() {
        if joint.line.is_none() && !joint.broken {
            found.missing(Subject::MovementJoint(at), "line");
        }
    }
    let length = sleeve_too_short::LENGTH.get::<Length>(&sleeve_too_short::RULE, inspection);
    for_each_crossing(inspection, found, |it, crossing, passages, found| {
        let Crossed::MovementJoint(joint) = crossing.what else { return };
        let crossings = crossing.passages.len();
        if !wants_sleeves(inspection, joint, crossings) || crossing.without_sleeve.len() < crossings {
            return;
        }
        let (count, each) = counted(crossings);
        let message = format!(
            "loop {} crosses movement joint {} {count} without a sleeve; {each} crossing wants one of {}",
            it.name,
            crossing.what.name(design),
            length.value
        );
        found.add(finding(inspection, it, crossing, passages, message).source(length.source));
    });
}

/// Whether the crossings of a loop with a joint are such as sleeves make good: flow and return of a loop
/// across a movement joint.
pub(super) fn wants_sleeves(inspection: &Inspection, joint: usize, crossings: usize) -> bool {
    kind(inspection, joint) == JointKind::MovementJoint && crossings <= MOST_CROSSINGS
}

/// Flow and return: more is a heated run across a joint.
pub(super) const MOST_CROSSINGS: usize = 2;

/// The kind of a joint; a movement joint if the file does not say it.
pub(super) fn kind(inspection: &Inspection, joint: usize) -> JointKind {
    let joint = inspection.design.movement_joints.at(joint);
    joint.and_then(|(_, joint)| joint.value.kind).map_or(JointKind::MovementJoint, |kind| kind.value)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn said(joint: &str, route: &str) -> Vec<String> {
        let text = format!("movement-joints:\n  J1: {{{joint}}}\nloops:\n  L1: {{room: hall, route: {route}}}\n");
        messages(&RULE, &text)
    }

    const ACROSS: &str = "line: [[5, 0], [5, 4]]";

    #[test]
    fn only_movement_joints_want_sleeves() {
        let route = "[[6, 1], [1, 1], [1, 2], [6, 2]]";
        assert_eq!(said(ACROSS, route).len(), 1);
        assert_eq!(said(&format!("{ACROSS}, kind: movement joint"), route).len(), 1);
        assert_eq!(said(&format!("{ACROSS}, kind: crack inducer"), route).len(), 0);
        assert_eq!(said(&format!("{ACROSS}, kind: building joint"), route).len(), 0);
    }

    #[test]
    fn a_serpentine_across_the_joint_is_another_matter() {
        let twice = "[[6, 1], [1, 1], [1, 2], [6, 2]]";
        assert_eq!(said(ACROSS, twice).len(), 1);
        let four_times = "[[6, 1], [1, 1], [1, 2], [6, 2], [6, 2.2], [1, 2.2], [1, 2.4], [6, 2.4]]";
        assert_eq!(said(ACROSS, four_times).len(), 0);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        assert_eq!(not_checked(&RULE, "movement-joints:\n  J1: {width: 10 mm}\n").len(), 3);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
    }
}
