//! A manifold feeds the loops of one storey.
//!
//! Pipe that climbs to another storey traps air, is hard to balance against the rest, and runs where nobody looks for it.
//!
//! ## How it is worked out
//! The storeys of its loops: their own, their rooms', else the manifold's.
//!
//! ## Limit
//! One a storey is preferred: common practice, no source.
//!
//! ```yaml fails
//! storeys: {ground: {level: 0 m}, first: {level: 2.7 m}}
//! manifolds:
//!   M1: {ports: 4, storey: ground, pump: {head: 30 kPa}}
//! # ^^ manifold M1 feeds loops on storey ground and on storey first; one a storey is easier
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, storey: first, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml passes
//! storeys: {ground: {level: 0 m}, first: {level: 2.7 m}}
//! manifolds:
//!   M1: {ports: 4, storey: ground, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use workings::storey_of;

pub static RULE: Rule = Rule {
    name: "manifold-serves-two-storeys",
    group: Group::Manifold,
    weights: [Hint; 4],
    file: include_str!("manifold_serves_two_storeys.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let storey = |at: &usize| {
            let (_, entry) = inspection.design.loops.at(*at)?;
            Some((*at, storey_of(inspection.design, &entry.value)?))
        };
        let mut storeys = it.worked.loops.iter().filter_map(storey);
        let Some((_, first)) = storeys.next() else { continue };
        let Some((at, other)) = storeys.find(|(_, storey)| *storey != first) else { continue };
        let message =
            format!("manifold {} feeds loops on storey {first} and on storey {other}; one a storey is easier", it.name);
        found.add(
            Finding::new(it.subject, it.place, message)
                .source("common practice, no source")
                .related(Subject::Loop(at).place(inspection.design), "a loop on the other storey"),
        );
    }
}
