//! A manifold can be shut off, filled and drained by itself.
//!
//! Without valves on both bars, the whole house is drained to change a gauge; without cocks, no loop can be flushed alone.
//!
//! ## How it is worked out
//! What the design says of isolating valves and of fill and drain cocks on both bars.
//!
//! ## Limit
//! Both, on both bars: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, isolating-valves: true, fill-and-drain: false, pump: {head: 30 kPa}}
//! #                                                        ^^^^^ manifold M1 has no fill and drain cocks on its bars
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 4, isolating-valves: true, fill-and-drain: true, pump: {head: 30 kPa}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, isolating-valves: true, fill-and-drain: true, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use crate::remedy::Change;

pub static RULE: Rule = Rule {
    name: "manifold-without-isolation",
    group: Group::Manifold,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("manifold_without_isolation.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let parts = [
            ("isolating-valves", "isolating valves", it.given.isolating_valves),
            ("fill-and-drain", "fill and drain cocks", it.given.fill_and_drain),
        ];
        let mut absent = Vec::new();
        for (key, words, part) in parts {
            match part {
                Some(part) if !part.value => absent.push((words, part.at)),
                None if !it.given.broken => found.missing(it.subject, key),
                _ => {}
            }
        }
        let Some((_, place)) = absent.first() else { continue };
        let words: Vec<&str> = absent.iter().map(|(words, _)| *words).collect();
        let message = format!("manifold {} has no {} on its bars", it.name, words.join(" and no "));
        let remedy =
            Remedy::of("give it to both bars", absent.iter().map(|(_, at)| Change { place: *at, text: "true".into() }));
        found.add(Finding::new(it.subject, *place, message).source("common practice, no source").remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn what_is_not_said_is_not_passed() {
        let text = "manifolds:\n  M1: {ports: 4, pump: {head: 30 kPa}}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
        assert_eq!(not_checked(&RULE, text), ["manifolds/M1/isolating-valves", "manifolds/M1/fill-and-drain"]);
    }
}
