//! A manifold keeps a port for the rooms that are to come.
//!
//! A port costs a little now. A second manifold beside the first costs a cupboard.
//!
//! ## How it is worked out
//! Where the design names rooms to be joined later: the ports less the loops.
//!
//! ## Limit
//! One spare: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 2, pump: {head: 30 kPa}, future-rooms: [garden room]}
//! #             ^ all 2 ports of manifold M1 are taken, and garden room is to be joined later
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 3, pump: {head: 30 kPa}, future-rooms: [garden room]}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "spare-port-missing",
    group: Group::Manifold,
    weights: [Hint; 4],
    file: include_str!("spare_port_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let Some(room) = it.given.future_rooms.first() else { continue };
        let Some(ports) = it.given.ports else {
            if !it.given.broken {
                found.missing(it.subject, "ports");
            }
            continue;
        };
        // More loops than ports is said elsewhere.
        if it.worked.loops.len() != ports.value as usize {
            continue;
        }
        let message = format!(
            "all {} ports of manifold {} are taken, and {} is to be joined later",
            ports.value, it.name, room.value
        );
        let more = ports.value.saturating_add(1).to_string();
        found.add(
            Finding::new(it.subject, ports.at, message)
                .source("common practice, no source")
                .related(room.at, "to be joined later")
                .remedy(Remedy::new(format!("take a manifold of {more} ports"), ports.at, more)),
        );
    }
}
