//! Two rooms of a storey share no floor.
//!
//! Floor that lies in two rooms is heated twice and counted twice: lengths, heat and bays are wrong in
//! both.
//!
//! ## How it is worked out
//! The outlines of the rooms of each storey are laid over each other.
//!
//! ## Limit
//! An overlap of less than 0.05 m² is the width of a line: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {floor: screeded, outline: [[3.8, 0], [8, 0], [8, 3], [3.8, 3]]}
//! #                                   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ rooms hall and study share 0.60 m² of floor; two rooms share none
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {floor: screeded, outline: [[4, 0], [8, 0], [8, 3], [4, 3]]}
//! ```

use super::prelude::*;
use engineering::plan::{Outline, overlap, overlaps};
use std::collections::BTreeMap;

pub static RULE: Rule = Rule {
    name: "rooms-overlap",
    group: Group::Geometry,
    weights: [Error; 4],
    limits: &[MOST],
    file: include_str!("rooms_overlap.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "overlap", value: "0.05 m²", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Area>(&RULE, inspection);
    let mut storeys: BTreeMap<Option<&str>, Vec<_>> = BTreeMap::new();
    for it in inspection.rooms() {
        if let (Some(Ok(outline)), Some(given)) = (&it.worked.outline, &it.given.outline) {
            let storey = it.given.storey.as_ref().map(|storey| storey.value.name.as_str());
            storeys.entry(storey).or_default().push((it, outline, given.at));
        }
    }
    for rooms in storeys.into_values() {
        let outlines: Vec<&Outline> = rooms.iter().map(|(_, outline, _)| *outline).collect();
        for (one, other, shared) in overlaps(&outlines) {
            if shared < most.value {
                continue;
            }
            let ((one, _, at_one), (other, _, at_other)) = (&rooms[one], &rooms[other]);
            let message =
                format!("rooms {} and {} share {shared} of floor; two rooms share none", one.name, other.name);
            found.add(
                Finding::new(other.subject, *at_other, message)
                    .value(shared)
                    .limit(&most)
                    .related(*at_one, format!("room {} lies here", one.name)),
            );
        }
    }
}

/// Whether two loops are laid out over each other because rooms of theirs share floor, which is told of the rooms.
pub(super) fn laid_over_each_other(inspection: &Inspection, one: usize, other: usize) -> bool {
    let most = MOST.get::<Area>(&RULE, inspection).value;
    let (Some(one), Some(other)) = (inspection.workings.loops.get(one), inspection.workings.loops.get(other)) else {
        return false;
    };
    let outline = |room: usize| inspection.workings.rooms.get(room)?.outline.as_ref()?.as_ref().ok();
    let shares = |a: usize, b: usize| a != b && outline(a).zip(outline(b)).is_some_and(|(a, b)| overlap(a, b) >= most);
    one.laid.is_some() && other.laid.is_some() && one.rooms.iter().any(|&a| other.rooms.iter().any(|&b| shares(a, b)))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn said(from: f64, storey: &str) -> usize {
        let text = format!(
            "rooms:\n  hall: {{storey: ground, outline: [[0, 0], [4, 0], [4, 4], [0, 4]]}}\n  study: {{storey: {storey}, outline: \
             [[{from}, 0], [8, 0], [8, 4], [{from}, 4]]}}\n"
        );
        messages(&RULE, &text).len()
    }

    #[test]
    fn the_width_of_a_line_is_let_pass() {
        assert_eq!(said(3.98, "ground"), 1);
        assert_eq!(said(3.99, "ground"), 0);
        assert_eq!(said(4.0, "ground"), 0);
        assert_eq!(said(0.0, "ground"), 1);
    }

    /// The pipe that is laid out in both is not told to cross: that follows.
    #[test]
    fn what_is_laid_out_there_is_not_told_too() {
        let text = "rooms:\n  hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 4], [0, 4]], keep-clear: none}\n  study: {floor: \
                    screeded, outline: [[3, 0], [7, 0], [7, 4], [3, 4]], keep-clear: none}\nmanifolds: {M1: {at: [3.5, 0.1], ports: \
                    2}}\nloops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, layout: meander}\n  \
                    L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, layout: meander}\n";
        let outcome = check(text);
        assert!(!outcome.workings.plan.meetings.is_empty(), "they cross");
        let told: Vec<&str> = outcome.findings.iter().map(|it| it.rule.name).collect();
        assert!(told.contains(&RULE.name) && !told.contains(&"loops-cross"), "{told:?}");
    }

    #[test]
    fn storeys_lie_over_each_other() {
        assert_eq!(said(2.0, "upper"), 0);
    }
}
