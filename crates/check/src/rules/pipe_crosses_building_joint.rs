//! No pipe of the heating crosses a joint of the building.
//!
//! The two parts of a building beside such a joint settle apart by centimetres over the years. No sleeve
//! makes that good. Each part has a manifold of its own.
//!
//! ## How it is worked out
//! The crossings of the drawn route with joints of the kind `building joint` are counted.
//!
//! ## Limit
//! None: EN 1264-4, as a trade copy of its criteria gives it.
//!
//! ```yaml fails
//! movement-joints:
//!   B1: {line: [[5, 0], [5, 4]], kind: building joint}
//! loops:
//!   L1: {room: hall, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: [B1]}
//! #                          ^^^^^^ loop L1 crosses building joint B1 twice; no pipe may cross it
//! ```
//! ```yaml passes
//! movement-joints:
//!   B1: {line: [[5, 0], [5, 4]], kind: building joint}
//! loops:
//!   L1: {room: hall, route: [[4, 1], [1, 1], [1, 2], [4, 2]]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_joint::kind;
use super::sleeve_missing_at_wall::{counted, for_each_crossing, passes};
use design::JointKind;
use workings::Crossed;

pub static RULE: Rule = Rule {
    name: "pipe-crosses-building-joint",
    group: Group::JointsAndSleeves,
    weights: [Warning, Error, Error, Error],
    file: include_str!("pipe_crosses_building_joint.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if !(0..design.movement_joints.len()).any(|joint| kind(inspection, joint) == JointKind::BuildingJoint) {
        return;
    }
    for_each_crossing(inspection, found, |it, crossing, passages, found| {
        let Crossed::MovementJoint(joint) = crossing.what else { return };
        if kind(inspection, joint) != JointKind::BuildingJoint {
            return;
        }
        let (count, _) = counted(crossing.passages.len());
        let name = crossing.what.name(design);
        let message = format!("loop {} crosses building joint {name} {count}; no pipe may cross it", it.name);
        let all = || crossing.passages.iter().map(|at| &passages[*at]);
        let place = all().next().map_or(it.place, |passage| passage.place);
        let finding = Finding::new(it.subject, place, message)
            .value(Number::new(crossing.passages.len() as f64))
            .source("EN 1264-4, from a trade copy of its criteria");
        found.add(passes(inspection, finding, crossing.what, all()));
    });
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(kind: &str, loops: &str) -> String {
        format!("movement-joints:\n  B1: {{line: [[5, 0], [5, 4]], kind: {kind}}}\nloops:\n  L1: {{{loops}}}\n")
    }

    #[test]
    fn one_crossing_is_too_many() {
        let once = "route: [[6, 1], [1, 1]]";
        assert_eq!(
            messages(&RULE, &text("building joint", once)),
            ["loop L1 crosses building joint B1 once; no pipe may cross it"]
        );
        assert_eq!(messages(&RULE, &text("building joint", "route: [[6, 1], [5, 1], [6, 2]]")), [""; 0]);
        assert_eq!(messages(&RULE, &text("movement joint", once)), [""; 0]);
    }

    #[test]
    fn a_loop_that_is_not_drawn_is_not_checked_where_there_is_such_a_joint() {
        assert_eq!(not_checked(&RULE, &text("building joint", "room: hall")), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, &text("movement joint", "room: hall")), [""; 0]);
    }
}
