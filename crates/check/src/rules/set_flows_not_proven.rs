//! The flow of every loop is set to its design and written down.
//!
//! Without the list nobody can tell a loop that was never set from one that somebody turned.
//!
//! ## How it is worked out
//! At `as built` each loop must stand in `set-flows`. At any stage a flow that is recorded is held against the
//! design flow.
//!
//! ## Limit
//! Within 10 % of the design flow: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, flow: 2 l/min}
//! records:
//!   set-flows:
//!     L1: 2.1 l/min
//!     L2: 1.5 l/min
//! #   ^^ loop L2 is set to 1.50 l/min, 25 % off its design flow of 2.00 l/min; 10 % is the most
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, flow: 2 l/min}
//! records:
//!   set-flows: {L1: 2.1 l/min, L2: 1.8 l/min}
//! ```

use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "set-flows-not-proven",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[WITHIN],
    file: include_str!("set_flows_not_proven.rs"),
    check,
    ..Rule::USUAL
};

const WITHIN: Limit = Limit { name: "within", value: "10 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let set_flows = &design.records.set_flows;
    let as_built = design.stage() == Stage::AsBuilt && inspection.is_read(design.records.place);
    if set_flows.is_empty() {
        if as_built && !design.loops.is_empty() {
            let message = "the flows that the loops were set to are not recorded";
            found.add(Finding::new(Subject::Records, inspection.stage_place(), message).source(WITHIN.source));
        }
        return;
    }
    let within = WITHIN.get::<Share>(&RULE, inspection);
    for it in inspection.loops() {
        let Some(set) = set_flows.entry(it.name) else {
            if as_built {
                let message = format!("the flow that loop {} was set to is not recorded", it.name);
                found.add(Finding::new(it.subject, it.place, message).source(WITHIN.source));
            }
            continue;
        };
        let worked = || found.need(it.subject, &it.worked.volume_flow).map(|flow| flow.value);
        let Some(flow) = it.given.flow.map(|flow| flow.value).or_else(worked) else { continue };
        let off = Share::fraction((set.value.0 / flow - 1.0).abs());
        // A thousandth is what rounding adds to a reading of just so much.
        if off <= within.value + Share::fraction(0.001) {
            continue;
        }
        let message = format!(
            "loop {} is set to {}, {off} off its design flow of {}; {} is the most",
            it.name, set.value.0, flow, within.value
        );
        let finding = Finding::new(it.subject, set.name_place, message).value(off).limit(&within);
        found.add(finding.figure(format!("loops.{}.volume-flow", it.name)));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const LOOP: &str =
        "loops: {L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2 l/min}}\n";

    #[test]
    fn ten_per_cent_pass_both_ways() {
        let set = |flow: &str| messages(&RULE, &format!("{LOOP}records: {{set-flows: {{L1: {flow} l/min}}}}\n"));
        assert!(set("2.2").is_empty() && set("1.8").is_empty());
        assert_eq!(set("2.21").len(), 1);
        assert_eq!(set("1.79").len(), 1);
    }

    #[test]
    fn a_design_as_built_has_them_all() {
        let built = "project: {stage: as built, revision: P5, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, built), ["the flows that the loops were set to are not recorded"]);
        let text = format!("{built}records: {{set-flows: {{L1: 1.1 l/min}}}}\n");
        assert!(messages(&RULE, &text).contains(&"the flow that loop L2 was set to is not recorded".to_string()));
        assert!(messages(&RULE, "records: {}\n").is_empty());
    }

    #[test]
    fn a_design_flow_that_is_not_known_is_told() {
        let text = "loops: {L1: {manifold: M1, room: hall, spacing: 150 mm}}\nrecords: {set-flows: {L1: 1 l/min}}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/pipe"]);
    }
}
