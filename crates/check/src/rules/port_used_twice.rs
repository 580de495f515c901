//! Each port of a manifold takes one loop, and there is no port beyond the last.
//!
//! Two loops on one port cannot be balanced, shut or flushed by themselves; and the label on the port is wrong for one of them.
//!
//! ## How it is worked out
//! The port numbers of a manifold's loops are compared with each other and with its ports. Where it has fewer ports than
//! loops, `ports-too-few` says it of those that are missing.
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
use design::{Place, Placed};
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
        let last = manifold.given.ports.map(|ports| ports.value);
        let of_loops = manifold.worked.loops.len() as u32;
        let is_beyond = |port: u32| port == 0 || last.is_some_and(|last| port > last);
        let mut on_ports: Vec<(usize, &str, Placed<u32>)> = Vec::with_capacity(manifold.worked.loops.len());
        for at in &manifold.worked.loops {
            if let Some((name, entry)) = inspection.design.loops.at(*at)
                && let Some(port) = entry.value.port
            {
                on_ports.push((*at, name, port));
            }
        }
        // The loop whose name comes first has its port, wherever it stands: a file put in another order says the same. `L2` comes before
        // `L10`.
        on_ports.sort_by_key(|(_, name, _)| (name.len(), *name));
        let taken: HashSet<u32> = on_ports.iter().map(|(.., port)| port.value).collect();
        let mut free = (1..=last.unwrap_or(u32::MAX)).filter(|port| !taken.contains(port));
        let mut first_on: HashMap<u32, Place> = HashMap::new();
        // Where there are too few ports that is said, and how many there are to be.
        let wanted = manifold.worked.loops.len() as u32;
        for (at, name, port) in on_ports {
            if is_beyond(port.value) && (1..=wanted).contains(&port.value) {
                continue;
            }
            let finding = |message: String| {
                Finding::new(Subject::Loop(at), port.at, message).source("common practice, no source")
            };
            // The manifold that takes all its loops has this port; that there is none yet is said of the manifold.
            if is_beyond(port.value) && (1..=of_loops).contains(&port.value) {
                continue;
            }
            let finding = if is_beyond(port.value) {
                // On a port that is not there nothing is used twice.
                finding(format!("manifold {} has no port {}; loop {name} needs another", manifold.name, port.value))
            } else if let Some(earlier) = first_on.get(&port.value) {
                finding(format!("port {} of manifold {} is used twice", port.value, manifold.name))
                    .related(*earlier, "the loop that has this port already")
            } else {
                first_on.insert(port.value, port.at);
                continue;
            };
            let remedy = free.next().map(|free| Remedy::new(format!("use port {free}"), port.at, free.to_string()));
            found.add(finding.remedy(remedy));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    #[test]
    fn two_loops_on_a_port_that_is_not_there_each_need_another() {
        let text =
            "manifolds: {M1: {ports: 2}}\nloops:\n  L1: {manifold: M1, port: 7}\n  L2: {manifold: M1, port: 7}\n";
        let wanted =
            ["manifold M1 has no port 7; loop L1 needs another", "manifold M1 has no port 7; loop L2 needs another"];
        assert_eq!(messages(&RULE, text), wanted);
    }

    #[test]
    fn the_loop_whose_name_comes_later_is_the_finding_whatever_the_order() {
        let (two, ten) = ("  L2: {manifold: M1, port: 1}\n", "  L10: {manifold: M1, port: 1}\n");
        for loops in [[two, ten], [ten, two]] {
            let outcome = check(&format!("manifolds: {{M1: {{ports: 4}}}}\nloops:\n{}", loops.concat()));
            let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
            assert_eq!(finding.at(&outcome.design), "loops/L10");
        }
    }
}
