//! Each port of a manifold takes one loop, and there is no port beyond the last.
//!
//! Two loops on one port cannot be balanced, shut or flushed by themselves; and the label on the port is wrong for one of them.
//!
//! ## How it is worked out
//! The port numbers of a manifold's loops are compared with each other and with its ports.
//!
//! ## Limit
//! One loop a port: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 1, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! #                          ^ port 1 of manifold M1 is used twice
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 9, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! #                          ^ manifold M1 has no port 9; loop L1 needs another
//! ```

use super::prelude::*;
use std::collections::{HashMap, HashSet};

pub static RULE: Rule = Rule {
    name: "port-used-twice",
    group: Group::Manifold,
    weights: [Warning, Error, Error, Error],
    file: include_str!("port_used_twice.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for manifold in inspection.manifolds() {
        let loops = &manifold.worked.loops;
        let given = |at: &usize| inspection.design.loops.at(*at).map(|(name, entry)| (name, &entry.value));
        let mut first_on: HashMap<u32, usize> = HashMap::new();
        let taken: HashSet<u32> = loops.iter().filter_map(|at| Some(given(at)?.1.port?.value)).collect();
        let last = manifold.given.ports.map(|ports| ports.value);
        let mut free = (1..=last.unwrap_or(u32::MAX)).filter(|port| !taken.contains(port));
        for at in loops {
            let Some((name, it)) = given(at) else { continue };
            let Some(port) = it.port else { continue };
            let beyond = port.value == 0 || last.is_some_and(|last| port.value > last);
            let earlier = first_on.get(&port.value).copied();
            let message = match earlier {
                Some(_) => format!("port {} of manifold {} is used twice", port.value, manifold.name),
                None if beyond => {
                    format!("manifold {} has no port {}; loop {name} needs another", manifold.name, port.value)
                }
                None => {
                    first_on.insert(port.value, *at);
                    continue;
                }
            };
            let remedy = free.next().map(|free| Remedy::new(format!("use port {free}"), port.at, free.to_string()));
            let mut finding = Finding::new(Subject::Loop(*at), port.at, message).source("common practice, no source");
            if let Some(earlier) = earlier {
                let other = Subject::Loop(earlier);
                finding = finding.related(other.place(inspection.design), "the loop that has this port already");
            }
            found.add(finding.remedy(remedy));
        }
    }
}
