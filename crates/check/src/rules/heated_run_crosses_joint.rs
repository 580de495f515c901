//! No more of a loop than its flow and its return crosses a movement joint.
//!
//! The two bays beside a joint move. Each run across it is bent and stretched at the gap, and a sleeve
//! on every run leaves a strip of floor without heat. Each bay has loops of its own.
//!
//! ## How it is worked out
//! The crossings of the drawn route with each movement joint are counted. Touching a joint and turning
//! back is none; a run that lies in the joint, along it, is told as such.
//!
//! ## Limit
//! Two crossings a loop a joint. That heating runs may not cross a movement joint and connecting pipes
//! may is from EN 1264-4 and DIN 18560-2, as secondary texts give them.
//!
//! ## Exceptions
//! A crack inducer is no movement joint. Across a building joint no pipe may go at all:
//! `pipe-crosses-building-joint`.
//!
//! ```yaml fails
//! movement-joints:
//!   J1: {line: [[0, 2], [5, 2]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 3], [1.2, 3], [1.2, 1.2], [1.4, 1.2], [1.4, 3], [1.6, 3], [1.6, 1.2], [6, 1.2]]
//! #                   ^^^^^^ loop L1 crosses movement joint J1 4 times; flow and return, 2 crossings, are the most
//! ```
//! ```yaml passes
//! movement-joints:
//!   J1: {line: [[0, 2], [5, 2]]}
//! loops:
//!   L1: {room: hall, route: [[6, 1], [1, 1], [1, 3], [1.2, 3], [1.2, 1.2], [6, 1.2]], sleeves: [J1]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_joint::{MOST_CROSSINGS, kind};
use super::sleeve_missing_at_wall::{for_each_crossing, passes};
use design::JointKind;
use workings::Crossed;

pub static RULE: Rule = Rule {
    name: "heated-run-crosses-joint",
    group: Group::JointsAndSleeves,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    file: include_str!("heated_run_crosses_joint.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "crossings-of-a-loop", value: "2", source: "EN 1264-4 and DIN 18560-2, from secondary texts" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.movement_joints.is_empty() {
        return;
    }
    let most: LimitValue<Number> = MOST.get(&RULE, inspection);
    for_each_crossing(inspection, found, |it, crossing, passages, found| {
        let Crossed::MovementJoint(joint) = crossing.what else { return };
        let count = crossing.passages.len();
        if count <= MOST_CROSSINGS || kind(inspection, joint) != JointKind::MovementJoint {
            return;
        }
        let name = crossing.what.name(design);
        let message = format!(
            "loop {} crosses movement joint {name} {count} times; flow and return, {} crossings, are the most",
            it.name, most.value
        );
        let all = || crossing.passages.iter().map(|at| &passages[*at]);
        let place = all().next().map_or(it.place, |passage| passage.place);
        let finding = Finding::new(it.subject, place, message).value(Number::new(count as f64)).limit(&most);
        found.add(passes(inspection, finding, crossing.what, all()));
    });
    for (it, in_joints) in inspection.loops().zip(&inspection.workings.plan.in_joints) {
        for lies in in_joints.iter().filter(|lies| kind(inspection, lies.joint) == JointKind::MovementJoint) {
            let Some((name, joint)) = design.movement_joints.at(lies.joint) else { continue };
            let message = format!(
                "loop {} lies in movement joint {name} for {}; pipe may cross it, not lie in it",
                it.name, lies.length
            );
            let finding = Finding::new(it.subject, lies.place, message).value(lies.length);
            found.add(finding.source(most.source).related(joint.name_place, format!("joint {name}")));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    /// A serpentine of runs along y from 1 to 3, across the joint at y = 2.
    fn serpentine(runs: usize, kind: &str) -> String {
        let mut points = vec!["[6, 0.5]".to_string()];
        for run in 0..runs {
            let x = 1.0 + 0.2 * run as f64;
            let (near, far) = if run % 2 == 0 { (1, 3) } else { (3, 1) };
            points.extend([format!("[{x}, {near}]"), format!("[{x}, {far}]")]);
        }
        points.push(format!("[6, {}]", if runs.is_multiple_of(2) { 1 } else { 3 }));
        format!(
            "movement-joints:\n  J1: {{line: [[0, 2], [5, 2]], kind: {kind}}}\nloops:\n  L1: {{room: hall, route: [{}]}}\n",
            points.join(", ")
        )
    }

    #[test]
    fn two_crossings_are_the_most() {
        assert_eq!(messages(&RULE, &serpentine(2, "movement joint")), [""; 0]);
        assert_eq!(messages(&RULE, &serpentine(3, "movement joint")).len(), 1);
        assert_eq!(messages(&RULE, &serpentine(14, "crack inducer")), [""; 0]);
        assert_eq!(messages(&RULE, &serpentine(14, "building joint")), [""; 0]);
    }

    /// One cause, one finding: fourteen runs are told once, with their fourteen places, and nothing is said of sleeves.
    #[test]
    fn fourteen_runs_are_one_finding() {
        let outcome = check(&serpentine(14, "movement joint"));
        let of_joint: Vec<_> = outcome.findings.iter().filter(|it| it.message.contains("J1")).collect();
        assert_eq!(of_joint.len(), 1);
        assert_eq!(
            of_joint[0].message,
            "loop L1 crosses movement joint J1 14 times; flow and return, 2 crossings, are the most"
        );
        assert_eq!(of_joint[0].related.len(), 1 + 14);
    }

    /// Along the joint it crosses nothing, and lies where the screed opens.
    #[test]
    fn a_run_in_the_joint_is_told() {
        let text = |y: f64| {
            format!(
                "movement-joints:\n  J1: {{line: [[0, 2], [5, 2]], kind: movement joint}}\nloops:\n  L1: {{room: hall, route: [[0.2, 1], \
                 [4.5, 1], [4.5, {y}], [0.4, {y}], [0.4, 1.2]]}}\n"
            )
        };
        assert_eq!(
            messages(&RULE, &text(2.0)),
            ["loop L1 lies in movement joint J1 for 4.1 m; pipe may cross it, not lie in it"]
        );
        assert_eq!(messages(&RULE, &text(1.9)), [""; 0]);
    }

    #[test]
    fn a_loop_that_is_not_drawn_is_not_checked() {
        assert_eq!(not_checked(&RULE, "movement-joints:\n  J1: {line: [[0, 2], [5, 2]]}\n").len(), 2);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
    }
}
