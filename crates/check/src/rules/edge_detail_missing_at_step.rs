//! The edge strip runs on at steps, stair feet and shower formers.
//!
//! Where it stops the floor leans on the upright: it presses on it when it warms, and steps sound through the house.
//!
//! ## How it is worked out
//! The floor has an edge strip, and says that it is not `complete`. Of a heated screed `edge-strip-missing` says it.
//!
//! ## Limit
//! A strip at every upright, from the base to the finished level: EN 1264-4, in secondary texts.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: gypsum fibre board, thickness: 20 mm, joints-glued: true}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//!     edge-strip: {thickness: 10 mm, complete: false}
//! #                                            ^^^^^ the edge strip of floor screeded is not at every upright and step; the floor leans where it is missing
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: gypsum fibre board, thickness: 20 mm, joints-glued: true}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//!     edge-strip: {thickness: 10 mm, complete: true}
//! ```

use super::prelude::*;
use design::EdgeStrip;

pub static RULE: Rule = Rule {
    name: "edge-detail-missing-at-step",
    group: Group::FloorConstruction,
    weights: [Silent, Warning, Warning, Warning],
    follows: &["edge-strip-missing"],
    file: include_str!("edge_detail_missing_at_step.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Some(EdgeStrip::Strip(strip)) = floor.given.edge_strip.as_ref().map(|it| &it.value) else { continue };
        let Some(complete) = strip.complete else {
            if !strip.broken {
                found.missing(floor.subject, "edge-strip/complete");
            }
            continue;
        };
        if complete.value {
            continue;
        }
        let message = format!(
            "the edge strip of floor {} is not at every upright and step; the floor leans where it is missing",
            floor.name
        );
        let remedy = Remedy::new("run the strip on at every upright", complete.at, "true");
        let finding = Finding::new(floor.subject, complete.at, message).source("EN 1264-4, in secondary texts");
        found.add(finding.remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn a_strip_of_which_nothing_is_said_is_asked() {
        let floor = |strip: &str| {
            format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, edge-strip: {strip}, layers: [{{material: cement screed, \
                 thickness: 65 mm, pipe: at base}}]}}}}\n"
            )
        };
        assert_eq!(not_checked(&RULE, &floor("{thickness: 10 mm}")), ["floors/screeded/edge-strip/complete"]);
        assert!(not_checked(&RULE, &floor("none")).is_empty());
    }
}
