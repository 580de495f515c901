//! A notice at the manifold says that there are heating pipes in the floor.
//!
//! "Heating pipes in this floor. Do not drill, nail or screw. Plan at the manifold." It is the last thing that stands
//! between a fitter and the pipe.
//!
//! ## How it is worked out
//! At `as built` `handover/drill-notice` must be true.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   handover: {plan: true, drill-notice: false}
//! #                                      ^^^^^ no notice at the manifold warns of drilling the floor
//! ```
//! ```yaml passes
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   handover: {plan: true, drill-notice: true}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "drill-warning-missing",
    group: Group::Records,
    weights: [Silent, Silent, Silent, Information],
    file: include_str!("drill_warning_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    // That nothing at all was handed over is said by the rule of the pack.
    let Some(handover) = design.records.handover.as_ref().filter(|_| !design.loops.is_empty()) else { return };
    if handover.drill_notice.is_some_and(|notice| notice.value) || !inspection.is_read(handover.at) {
        return;
    }
    let place = handover.drill_notice.map_or(handover.at, |notice| notice.at);
    let message = "no notice at the manifold warns of drilling the floor";
    found.add(Finding::new(Subject::Records, place, message).source("common practice, no source"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn it_is_asked_for_with_the_pack() {
        let built = "project: {stage: as built, revision: P5, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, &format!("{built}records: {{handover: {{plan: true}}}}\n")).len(), 1);
        assert!(messages(&RULE, built).is_empty());
    }
}
