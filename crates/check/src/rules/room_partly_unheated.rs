//! The pipe of a room covers its free floor.
//!
//! Heat goes half a spacing to either side of a run. A corner or a strip without pipe stays cold underfoot,
//! and the rest has to give what it does not.
//!
//! ## How it is worked out
//! Of the floor within the outline, less the keep-clear areas, the share that lies within half a spacing of a
//! run of the loops that heat the room, or of a tail that passes, along lines across it. The largest patch without pipe is named.
//!
//! ## Limit
//! 85 % at the least: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {outline: [[0, 0], [6, 0], [6, 1], [0, 1]]}
//! # ^^^^ only 59.7 % of the free floor of hall lie within half a spacing of a run; 85 % is the least
//! loops:
//!   L1: {room: hall, spacing: 200 mm, route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.3], [0.1, 0.3], [0.1, 0.5], [5.9, 0.5]]}
//! ```
//! ```yaml passes
//! rooms:
//!   hall:
//!     outline: [[0, 0], [6, 0], [6, 1], [0, 1]]
//!     keep-clear: {units: [[0, 0.6], [6, 0.6], [6, 1], [0, 1]]}
//! loops:
//!   L1: {room: hall, spacing: 200 mm, route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.3], [0.1, 0.3], [0.1, 0.5], [5.9, 0.5]]}
//! ```

use super::layout_falls_short;
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;

pub static RULE: Rule = Rule {
    name: "room-partly-unheated",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[LEAST],
    follows: &["spacing-drawn-not-as-stated"],
    file: include_str!("room_partly_unheated.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "covered", value: "85 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let least: LimitValue<Share> = LEAST.get(&RULE, inspection);
    let loops: Vec<_> = inspection.loops().collect();
    for (at, room) in inspection.rooms().enumerate() {
        if room.worked.loops.is_empty() || layout_falls_short::tells_of(inspection, at) {
            continue;
        }
        let Some(laid) = &inspection.workings.plan.laid[at] else {
            let is_drawn = |at: &usize| matches!(loops[*at].worked.route, Some(Ok(_)));
            if room.given.outline.is_none() && !room.given.broken && room.worked.loops.iter().any(is_drawn) {
                found.missing(room.subject, "outline");
            }
            continue;
        };
        if found.need(room.subject, &room.worked.free_area).is_none() {
            continue;
        }
        if !laid.unknown().is_empty() {
            for it in laid.unknown().iter().map(|at| &loops[*at]) {
                if is_drawn(it, found) && !it.given.broken {
                    found.missing(it.subject, "spacing");
                }
            }
            continue;
        }
        let Some(looked) = too_little_covered(laid, least.value) else { continue };
        let message = format!(
            "only {} of the free floor of {} lie within half a spacing of a run; {} is the least",
            looked.share, room.name, least.value
        );
        let mut finding = Finding::new(room.subject, room.place, message).value(looked.share).limit(&least);
        if let (Some(gap), Some(outline)) = (laid.largest_gap(), &room.given.outline) {
            let patch =
                format!("the largest patch without pipe, {}, is about [{:.2}, {:.2}]", gap.area, gap.at.x, gap.at.y);
            finding = finding.related(outline.at, patch);
        }
        for it in room.worked.loops.iter().map(|at| &loops[*at]) {
            finding = finding.related(it.place, format!("loop {} heats it", it.name));
        }
        found.add(finding);
    }
}

/// How much of a room is covered, where that is surely less than the least.
fn too_little_covered(laid: &workings::Laid, least: Share) -> Option<workings::Covered> {
    let covered = laid.covered()?;
    (covered.share.in_fraction() + covered.uncertainty.in_fraction() < least.in_fraction()).then_some(covered)
}

/// Whether too little of a room lies near its runs, as they are drawn.
pub(super) fn is_partly_unheated(inspection: &Inspection, room: usize) -> bool {
    let least: LimitValue<Share> = LEAST.get(&RULE, inspection);
    let laid = inspection.workings.plan.laid.get(room).and_then(Option::as_ref);
    laid.filter(|laid| laid.unknown().is_empty()).is_some_and(|laid| too_little_covered(laid, least.value).is_some())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    /// A room so deep, with five runs of 6 m at 200 mm that cover its first metre but for the corners.
    fn text(deep: f64, more: &str) -> String {
        format!(
            "rooms:\n  hall: {{outline: [[0, 0], [6, 0], [6, {deep}], [0, {deep}]]}}\nloops:\n  L1: {{room: hall, {more}, route: [[0, \
             0.1], [6, 0.1], [6, 0.3], [0, 0.3], [0, 0.5], [6, 0.5], [6, 0.7], [0, 0.7], [0, 0.9], [6, 0.9]]}}\n"
        )
    }

    #[test]
    fn eighty_five_per_cent() {
        let says = |deep: f64| messages(&RULE, &text(deep, "spacing: 200 mm")).len();
        assert_eq!((says(1.0), says(1.0 / 0.855), says(1.0 / 0.845)), (0, 0, 1));
    }

    /// The tails of another room's loop warm the floor that they pass.
    #[test]
    fn tails_of_other_loops_are_warm() {
        let passing = "\n  L2: {room: den, spacing: 200 mm, route: [[-1, 1.1], [6, 1.1], [6, 1.3], [-1, 1.3]]}\n";
        let rooms = "rooms:\n  den: {outline: [[-3, 0], [-0.5, 0], [-0.5, 2], [-3, 2]]}\n";
        let alone = text(1.4, "spacing: 200 mm").replace("rooms:\n", rooms);
        let hall = |text: &str| messages(&RULE, text).iter().filter(|it| it.contains("hall")).count();
        assert_eq!((hall(&alone), hall(&format!("{alone}{passing}"))), (1, 0));
    }

    #[test]
    fn the_largest_patch_is_named() {
        let outcome = check(&text(3.0, "spacing: 200 mm"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(
            finding.related[0].message.starts_with("the largest patch without pipe, 12.0 m², is about ["),
            "{finding:?}"
        );
        assert_eq!(finding.related[1].message, "loop L1 heats it");
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text(3.0, "pipe: PEX-16")), ["loops/L1/spacing"]);
        let undrawn = "rooms:\n  hall: {outline: [[0, 0], [6, 0], [6, 2], [0, 2]]}\nloops:\n  L1: {room: hall}\n";
        assert_eq!(not_checked(&RULE, undrawn), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
        let drawn = "loops:\n  L1: {room: hall, spacing: 150 mm, route: [[0, 0], [4, 0], [4, 1], [0, 1]]}\n";
        assert_eq!(not_checked(&RULE, drawn), ["rooms/hall/outline"]);
    }
}
