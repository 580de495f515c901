//! The pipe from the source to a manifold is insulated where its heat is not wanted.
//!
//! A bare pipe in a void or a cold store heats it all winter, day and night.
//!
//! ## How it is worked out
//! What the design says of the feeder: whether it passes through unheated space or a floor void, and whether it is insulated.
//!
//! ## Limit
//! Insulated in unheated space, and wherever heat is not wanted: English guidance on primaries of cylinders, as a warranty
//! body sums it up; the wider rule is common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, feeder: {pipe: copper 22 x 0.9, length: 12 m, in-cold-space: true, insulated: false}}
//! #                                                                                                                    ^^^^^ the feeder of manifold M1 runs bare through unheated space
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, feeder: {pipe: copper 22 x 0.9, length: 12 m, in-cold-space: true, insulated: true}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, feeder: {pipe: copper 22 x 0.9, length: 12 m, in-cold-space: false, insulated: false}}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "primary-pipe-not-insulated",
    group: Group::Manifold,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("primary_pipe_not_insulated.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str =
    "English guidance on cylinder primaries, as a warranty body sums it up; wider: common practice, no source";

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let Some(feeder) = &it.given.feeder else {
            if !it.given.broken {
                found.missing(it.subject, "feeder");
            }
            continue;
        };
        match (feeder.in_cold_space, feeder.insulated) {
            (_, Some(insulated)) if insulated.value => {}
            (Some(cold), _) if !cold.value => {}
            (Some(_), Some(insulated)) => {
                let message = format!("the feeder of manifold {} runs bare through unheated space", it.name);
                found.add(Finding::new(it.subject, insulated.at, message).source(SOURCE).remedy(Remedy::new(
                    "insulate it",
                    insulated.at,
                    "true",
                )));
            }
            _ if feeder.broken => {}
            (None, _) => found.missing(it.subject, "feeder/in-cold-space"),
            (_, None) => found.missing(it.subject, "feeder/insulated"),
        }
    }
}
