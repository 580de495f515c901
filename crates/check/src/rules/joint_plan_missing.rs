//! Where a floor has movement joints, their layout is agreed with screeder and tiler.
//!
//! A joint that the tiler does not know of comes through his tiles; one that the screeder sets elsewhere cuts across the
//! pipe.
//!
//! ## How it is worked out
//! With a movement joint in the design, `records/joints-agreed` must be there from `for construction` on. A day that
//! is later than the first screed is told as well.
//!
//! ## Limit
//! Agreed before screeding: one trade text on the co-ordination of heated floors.
//!
//! ```yaml fails
//! movement-joints:
//!   J1: {line: [[4, 0], [4, 5]]}
//! # ^^ the layout of the movement joints is not agreed with screeder and tiler
//! ```
//! ```yaml passes
//! movement-joints:
//!   J1: {line: [[4, 0], [4, 5]]}
//! records: {joints-agreed: 2026-02-20}
//! ```

use super::prelude::*;
use crate::records::days_after;
use design::JointKind;

pub static RULE: Rule = Rule {
    name: "joint-plan-missing",
    group: Group::JointsAndSleeves,
    weights: [Silent, Silent, Warning, Warning],
    file: include_str!("joint_plan_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "trade text on the co-ordination of heated floors, one text";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let moves = |joint: &design::MovementJoint| joint.kind.is_none_or(|kind| kind.value == JointKind::MovementJoint);
    let Some((at, joint)) = design.movement_joints.iter().enumerate().find(|(_, (_, joint))| moves(&joint.value))
    else {
        return;
    };
    let Some(agreed) = design.records.joints_agreed else {
        if inspection.is_read(design.records.place) {
            let message = "the layout of the movement joints is not agreed with screeder and tiler";
            found.add(Finding::new(Subject::MovementJoint(at), joint.1.name_place, message).source(SOURCE));
        }
        return;
    };
    let first = design.records.screeds.iter().filter_map(|screed| screed.laid).min_by_key(|laid| laid.value);
    if let Some(laid) = first.filter(|laid| laid.value < agreed.value) {
        let late = days_after(&agreed, &laid);
        let message = format!("the layout of the movement joints was agreed {late} after the screed was laid");
        let finding = Finding::new(Subject::Records, agreed.at, message).value(late).source(SOURCE);
        found.add(finding.related(laid.at, "the screed was laid on this day"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn it_is_agreed_before_the_screed() {
        let text = |agreed: &str| {
            format!(
                "movement-joints: {{J1: {{}}}}\nrecords: {{joints-agreed: {agreed}, screed: {{laid: 2026-03-06}}}}\n"
            )
        };
        assert!(messages(&RULE, &text("2026-03-06")).is_empty());
        let late = "the layout of the movement joints was agreed 1 day after the screed was laid";
        assert_eq!(messages(&RULE, &text("2026-03-07")), [late]);
    }

    #[test]
    fn a_cut_alone_makes_no_bay() {
        assert!(messages(&RULE, "movement-joints: {J1: {kind: crack inducer}}\n").is_empty());
    }
}
