//! Water moves slowly enough to be quiet.
//!
//! Fast water hums in the pipe, wears it, and costs pump pressure by its square.
//!
//! ## How it is worked out
//! The velocity in the bore at the flow that the loop needs or is set to. The remedies are the flow that it needs, where it is set
//! to more, and a split.
//!
//! ## Limit
//! 0.5 m/s in loops: a trade text.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 3.6 l/min}
//! #                                                                                           ^^^^^^^^^ water moves at 0.53 m/s in loop L1; over 0.50 m/s it is heard
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.1 l/min}
//! ```

use super::prelude::*;
use crate::split::{Part, split};

pub static RULE: Rule = Rule {
    name: "velocity-too-high",
    group: Group::Hydraulics,
    weights: [Hint, Information, Warning, Warning],
    limits: &[MOST],
    follows: &[
        "floor-cannot-give-this-much",
        "temperature-drop-too-narrow",
        "insulation-missing",
        "void-insulation-missing",
        "second-emitter-missing",
    ],
    file: include_str!("velocity_too_high.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most", value: "0.5 m/s", source: "a trade text" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Velocity>(&RULE, inspection);
    for it in inspection.loops() {
        let Some(velocity) = found.need(it.subject, &it.worked.velocity) else { continue };
        if velocity.value <= most.value {
            continue;
        }
        let message = format!("water moves at {} in loop {}; over {} it is heard", velocity.value, it.name, most.value);
        let place = it.given.flow.map_or(it.place, |flow| flow.at);
        let finding = Finding::new(it.subject, place, message).value(velocity.value).limit(&most);
        let parts = |part: Part| velocity.value * part.share <= most.value;
        found.add(
            finding
                .figure(format!("loops.{}.velocity", it.name))
                .remedy(crate::flows::no_more_than_needed(inspection, &it))
                .remedy(split(inspection, &it, parts)),
        );
    }
}
