//! Water moves fast enough to carry air back to the manifold.
//!
//! Where it creeps, air gathers at the first high place and stops the loop.
//!
//! ## How it is worked out
//! The velocity in the bore at the flow that the loop needs or is set to. The remedy is more flow: as much as its
//! heat needs, its air and its gauge, while the water still cools by 3 K.
//!
//! ## Limit
//! 0.15 m/s: common practice, no source; a trade text gives 0.2 to 0.5 m/s.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 300 W}
//! # ^^ water moves at 0.14 m/s in loop L1; under 0.15 m/s it leaves its air behind
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 300 W, flow: 1.04 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.1 l/min}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "velocity-too-low",
    group: Group::Hydraulics,
    weights: [Hint, Information, Warning, Warning],
    limits: &[LEAST],
    follows: &["value-not-believable", "flow-carries-too-little-heat", "temperature-drop-too-wide"],
    file: include_str!("velocity_too_low.rs"),
    check,
    ..Rule::USUAL
};

pub(crate) const LEAST: Limit = Limit { name: "least", value: "0.15 m/s", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Velocity>(&RULE, inspection);
    for it in inspection.loops() {
        let Some(velocity) = found.need(it.subject, &it.worked.velocity) else { continue };
        if velocity.value >= least.value {
            continue;
        }
        let message = format!(
            "water moves at {} in loop {}; under {} it leaves its air behind",
            velocity.value, it.name, least.value
        );
        let place = it.given.flow.map_or(it.place, |flow| flow.at);
        let finding = Finding::new(it.subject, place, message).value(velocity.value).limit(&least);
        let quick = it.worked.volume_flow.as_ref().map(|flow| flow.value * (least.value / velocity.value));
        found.add(
            finding
                .figure(format!("loops.{}.velocity", it.name))
                .remedy(quick.ok().and_then(|flow| crate::flows::at_least(inspection, &it, flow))),
        );
    }
}
