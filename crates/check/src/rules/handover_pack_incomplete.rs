//! The owner gets the whole pack: plan, photographs, test, heating log, flows, a guide to the controls, and the limits
//! for coverings.
//!
//! What is not handed over on the day is not found ten years later.
//!
//! ## How it is worked out
//! At `as built` all seven parts of `handover` must be true.
//!
//! ## Limit
//! All seven: common practice, no source.
//!
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   handover: {plan: true, photographs: true, pressure-test: true, heating-log: true, set-flows: true, controls-guide: false}
//! #           ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the handover lacks controls-guide and covering-limits
//! ```
//! ```yaml passes
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   handover: {plan: true, photographs: true, pressure-test: true, heating-log: true, set-flows: true, controls-guide: true, covering-limits: true}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "handover-pack-incomplete",
    group: Group::Records,
    weights: [Silent, Silent, Silent, Warning],
    file: include_str!("handover_pack_incomplete.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    let (place, message) = match &design.records.handover {
        None if inspection.is_read(design.records.place) => {
            (inspection.stage_place(), "nothing is recorded as handed over".to_string())
        }
        Some(handover) if inspection.is_read(handover.at) => {
            let parts = [
                (handover.plan, "plan"),
                (handover.photographs, "photographs"),
                (handover.pressure_test, "pressure-test"),
                (handover.heating_log, "heating-log"),
                (handover.set_flows, "set-flows"),
                (handover.controls_guide, "controls-guide"),
                (handover.covering_limits, "covering-limits"),
            ];
            let missing = parts.into_iter().filter(|(given, _)| !given.is_some_and(|it| it.value));
            let lacks: Vec<&str> = missing.map(|(_, what)| what).collect();
            if lacks.is_empty() {
                return;
            }
            (handover.at, format!("the handover lacks {}", listed(&lacks)))
        }
        _ => return,
    };
    found.add(Finding::new(Subject::Records, place, message).source("common practice, no source"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn only_what_is_built_is_handed_over() {
        assert!(messages(&RULE, "records: {handover: {plan: true}}\n").is_empty());
        let built = "project: {stage: as built, revision: P5, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, built), ["nothing is recorded as handed over"]);
    }
}
