//! A manifold has a port for every loop joined to it.
//!
//! A loop without a port is found on the day the pipe is laid, when the only way left is a joint in the floor.
//!
//! ## How it is worked out
//! The loops that name the manifold are counted and compared with its ports.
//!
//! ## Limit
//! One loop a port: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 1, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! #             ^ manifold M1 has 1 port for 2 loops
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "ports-too-few",
    group: Group::Manifold,
    weights: [Warning, Error, Error, Error],
    file: include_str!("ports_too_few.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let loops = it.worked.loops.len();
        let Some(ports) = it.given.ports else {
            if loops > 0 && !it.given.broken {
                found.missing(it.subject, "ports");
            }
            continue;
        };
        if loops <= ports.value as usize {
            continue;
        }
        let has = if ports.value == 1 { "1 port".to_string() } else { format!("{} ports", ports.value) };
        let message = format!("manifold {} has {has} for {loops} loop{}", it.name, if loops == 1 { "" } else { "s" });
        let remedy = Remedy::new(
            format!("take a manifold of {loops} port{}", if loops == 1 { "" } else { "s" }),
            ports.at,
            loops.to_string(),
        );
        let mut finding =
            Finding::new(it.subject, ports.at, message).source("common practice, no source").remedy(remedy);
        for at in it.worked.loops.iter().skip(ports.value as usize) {
            finding = finding.related(Subject::Loop(*at).place(inspection.design), "no port is left for this loop");
        }
        found.add(finding.value(Number::new(loops as f64)));
    }
}
