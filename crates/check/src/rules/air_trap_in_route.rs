//! No loop rises over a hump without a vent.
//!
//! Air gathers where a pipe goes up and comes down again. The loop stops, and nothing at the manifold can free it.
//!
//! ## How it is worked out
//! The height of the hump that the design gives as `unvented-rise`. A loop that gives none is taken to have none.
//!
//! ## Limit
//! No unvented high point: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, unvented-rise: 180 mm}
//! #                                                                                                    ^^^^^^ loop L1 goes over a hump of 180 mm that has no vent; air gathers there
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "air-trap-in-route",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("air_trap_in_route.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let Some(rise) = it.given.unvented_rise.filter(|rise| rise.value > Length::ZERO) else { continue };
        let message =
            format!("loop {} goes over a hump of {} that has no vent; air gathers there", it.name, rise.value);
        let finding = Finding::new(it.subject, rise.at, message).value(rise.value);
        found.add(finding.source("common practice, no source"));
    }
}
