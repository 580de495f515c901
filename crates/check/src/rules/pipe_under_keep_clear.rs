//! No pipe lies under what is fixed to the floor: units, islands, baths, trays, WCs, hearths.
//!
//! Plinths, pans and units are screwed down, and the screws find the pipe. Heat under a bath or a closed
//! unit goes nowhere, and the trap dries out.
//!
//! ## How it is worked out
//! The middle line of the pipe, with its bends, is cut with the keep-clear areas of its storey; what lies on the edge
//! of an area lies in it.
//!
//! ## Limit
//! No pipe under a keep-clear area: common practice, no source.
//!
//! ## Exceptions
//! Tails alone may pass, in a sleeve or insulation, where the loop says `tails-under-keep-clear: true`. A
//! loop in the room that it heats is no tail. A keep-clear area in which the manifold itself stands is where
//! pipes come up.
//!
//! ```yaml fails
//! rooms:
//!   hall:
//!     outline: [[0, 0], [6, 0], [6, 3], [0, 3]]
//!     keep-clear: {units: [[1, 0], [3.4, 0], [3.4, 0.6], [1, 0.6]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 0.1], [0.5, 0.1], [0.5, 0.3], [4, 0.3], [4, 0.5], [0.5, 0.5], [0.5, 2], [6, 2]]
//! #           ^^^^^^^^ 7.2 m of loop L1 lie under units of hall, which must stay free of pipe
//! ```
//! ```yaml passes
//! rooms:
//!   hall:
//!     outline: [[0, 0], [6, 0], [6, 3], [0, 3]]
//!     keep-clear: {units: [[1, 0], [3.4, 0], [3.4, 0.6], [1, 0.6]]}
//! loops:
//!   L1: {room: hall, route: [[6, 0.65], [0.5, 0.65], [0.5, 2], [6, 2]]}
//! ```

use super::pipe_crosses_itself::written;
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use crate::remedy::Change;
use design::{Loop, Route};
use engineering::plan::{self, Line, Lines, Point};
use workings::{LoopWorkings, Under, outline, place_along, point, storey_of};

pub static RULE: Rule = Rule {
    name: "pipe-under-keep-clear",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("pipe_under_keep_clear.rs"),
    check,
    ..Rule::USUAL
};

/// What a pipe may lie under an area by the rounding of coordinates.
const LET_PASS: Length = Length::millimetres(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.rooms.values().all(|room| room.keep_clear.is_empty()) {
        return;
    }
    for (it, all_under) in inspection.loops().zip(&inspection.workings.plan.under_keep_clear) {
        let has_areas =
            |room: &usize| design.rooms.at(*room).is_some_and(|(_, room)| !room.value.keep_clear.is_empty());
        if !matches!(it.worked.route, Some(Ok(_))) {
            if it.worked.rooms.iter().any(has_areas) {
                is_drawn(&it, found);
            }
            continue;
        }
        for under in all_under {
            check_one(inspection, found, &it, under);
        }
    }
}

fn check_one(inspection: &Inspection, found: &mut Findings, it: &Item<Loop, LoopWorkings>, under: &Under) {
    let Some((room, entry)) = inspection.design.rooms.at(under.room) else { return };
    let Some((name, area)) = entry.value.keep_clear.at(under.area) else { return };
    let is_tail = !it.worked.rooms.contains(&under.room);
    let on_purpose = it.given.tails_under_keep_clear.is_some_and(|it| it.value);
    if under.length <= LET_PASS || (is_tail && on_purpose) || holds_manifold(inspection, it, &area.value) {
        return;
    }
    let message =
        format!("{} of loop {} lie under {name} of {room}, which must stay free of pipe", under.length, it.name);
    let comes_under = match &it.worked.route {
        Some(Ok(route)) => {
            format!("; the pipe comes under it at [{:.2}, {:.2}]", route.at(under.along).x, route.at(under.along).y)
        }
        _ => String::new(),
    };
    found.add(
        Finding::new(it.subject, place_along(it.given, under.along), message)
            .value(under.length)
            .source("common practice, no source")
            .related(area.name_place, format!("{name} stands here{comes_under}"))
            .remedy((!is_tail).then(|| cut_back(it, &area.value)).flatten()),
    );
}

/// How far a run that is cut back stays from the edge, from its face.
const CLEAR: Length = Length::millimetres(50.0);

/// Runs that turn back under an area, cut back along themselves to where they come under it. What ends there or has a
/// corner there wants another way.
fn cut_back(it: &Item<Loop, LoopWorkings>, area: &design::Outline) -> Option<Remedy> {
    let Some(Route::Points(points)) = it.given.route.as_ref().map(|route| &route.value) else { return None };
    let area = outline(area).ok()?;
    // Each point is held against each edge: of thousands no remedy is made out.
    if points.len() * area.corners().len() > 1_000_000 {
        return None;
    }
    let edge = Lines::new([Line::Closed(area.corners())]);
    let back = CLEAR + it.worked.pipe.as_ref().ok()?.outside / 2.0;
    let is_under = |at: usize| points.get(at).is_some_and(|it| area.contains(point(it.value)));
    let mut changes = Vec::new();
    for first in (1..points.len()).filter(|at| is_under(*at) && !is_under(at - 1)) {
        let last = first + 1;
        if !is_under(last) || is_under(last + 1) || last + 1 >= points.len() {
            return None;
        }
        for (from, under) in [(first - 1, first), (last + 1, last)] {
            let run = plan::Route::new(&[point(points[from].value), point(points[under].value)]).ok()?;
            let along = edge.meetings(&run).all.first()?.along - back;
            if along <= Length::ZERO {
                return None;
            }
            let Point { x, y } = run.at(along);
            changes.push(Change { place: points[under].at, text: written(design::Point { x, y }) });
        }
    }
    Remedy::of(format!("cut the runs back to {CLEAR} from its edge"), changes)
}

/// Whether the manifold of a loop stands in a keep-clear area.
fn holds_manifold(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, area: &design::Outline) -> bool {
    let manifold = it.worked.manifold.and_then(|manifold| inspection.design.manifolds.at(manifold));
    let storey =
        manifold.and_then(|(_, manifold)| manifold.value.storey.as_ref()).map(|storey| storey.value.name.as_str());
    let of_loop = storey_of(inspection.design, it.given);
    if storey.is_some() && of_loop.is_some() && storey != of_loop {
        return false;
    }
    let at = manifold.and_then(|(_, manifold)| manifold.value.at);
    at.is_some_and(|at| outline(area).is_ok_and(|area| area.contains(point(at.value))))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn text(room: &str, route: &str, more: &str) -> String {
        format!(
            "rooms:\n  hall: {{outline: [[0, 0], [6, 0], [6, 3], [0, 3]], keep-clear: {{bath: [[1, 1], [2, 1], [2, 2], [1, 2]]}}}}\n  \
             study: {{outline: [[0, 3], [6, 3], [6, 6], [0, 6]]}}\nmanifolds:\n  M1: {{at: [1.5, 1.5]}}\n  M2: {{at: [0, 0]}}\nloops:\n  \
             L1: {{room: {room}, route: {route}{more}}}\n"
        )
    }

    fn said(room: &str, route: &str, more: &str) -> Vec<String> {
        messages(&RULE, &text(room, route, more))
    }

    #[test]
    fn on_the_edge_is_under_and_beside_it_is_not() {
        assert_eq!(
            said("hall", "[[0, 1.0], [6, 1.0]]", ""),
            ["1.0 m of loop L1 lie under bath of hall, which must stay free of pipe"]
        );
        assert_eq!(said("hall", "[[0, 0.999], [6, 0.999]]", ""), [""; 0]);
        // Touching a corner.
        assert_eq!(said("hall", "[[0, 2], [1, 1], [2, 0]]", ""), [""; 0]);
    }

    #[test]
    fn pipe_under_two_things_is_told_of_both() {
        let both = text("hall", "[[0, 1.5], [6, 1.5]]", "")
            .replace("{bath:", "{tray: [[1.6, 1], [4, 1], [4, 2], [1.6, 2]], bath:");
        let mut found = messages(&RULE, &both);
        found.sort();
        assert_eq!(
            found,
            [
                "1.0 m of loop L1 lie under bath of hall, which must stay free of pipe",
                "2.4 m of loop L1 lie under tray of hall, which must stay free of pipe"
            ]
        );
    }

    #[test]
    fn tails_may_pass_on_purpose() {
        let route = "[[1.5, 0], [1.5, 5], [1.7, 5], [1.7, 0]]";
        assert_eq!(said("study", route, "").len(), 1);
        assert_eq!(said("study", route, ", tails-under-keep-clear: true"), [""; 0]);
        assert_eq!(said("hall", route, ", tails-under-keep-clear: true").len(), 1);
        // Only who lays the pipe can say so.
        let outcome = check(&text("study", route, ""));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.remedies.is_empty());
    }

    /// The bath reaches to x = 2 m; 50 mm and half of 16 mm farther the runs turn back.
    #[test]
    fn runs_that_turn_under_it_are_cut_back() {
        let remedies = |route: &str| -> Vec<String> {
            let outcome = check(&text("hall", route, ", pipe: PE-X 16 x 2"));
            let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
            finding.remedies.iter().flat_map(|it| &it.changes).map(|it| it.text.clone()).collect()
        };
        let turns = "[[6, 1.2], [1.5, 1.2], [1.5, 1.4], [5.8, 1.4], [5.8, 1.6], [1.5, 1.6], [1.5, 1.8], [6, 1.8]]";
        assert_eq!(remedies(turns), ["[2.058, 1.2]", "[2.058, 1.4]", "[2.058, 1.6]", "[2.058, 1.8]"]);
        // One that goes through, has a single corner there, or ends there.
        assert_eq!(remedies("[[6, 1.2], [0.5, 1.2], [0.5, 1.4], [6, 1.4]]"), [""; 0]);
        assert_eq!(remedies("[[6, 1.2], [1.5, 1.2], [1.5, 2.8], [6, 2.8]]"), [""; 0]);
        assert_eq!(remedies("[[6, 1.2], [1.5, 1.2]]"), [""; 0]);
    }

    #[test]
    fn pipes_come_up_where_the_manifold_stands() {
        let route = "[[1.5, 1.5], [1.5, 5], [1.7, 5], [1.7, 1.5]]";
        assert_eq!(said("study", route, ", manifold: M1"), [""; 0]);
        assert_eq!(said("study", route, ", manifold: M2").len(), 1);
    }

    #[test]
    fn a_manifold_on_another_storey_excuses_nothing() {
        let route = "[[1.5, 1.5], [1.5, 5], [1.7, 5], [1.7, 1.5]]";
        let text = |storey: &str| {
            let text = text("study", route, ", manifold: M1, storey: ground");
            text.replace("M1: {at", &format!("M1: {{storey: {storey}, at")) + "storeys: {ground: {}, first: {}}\n"
        };
        assert_eq!((messages(&RULE, &text("ground")).len(), messages(&RULE, &text("first")).len()), (0, 1));
    }

    #[test]
    fn a_loop_that_is_not_drawn_is_not_checked_where_there_are_areas() {
        let undrawn = |room: &str| text(room, "[]", "").replace("route: []", "spacing: 150 mm");
        assert_eq!(not_checked(&RULE, &undrawn("hall")), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, &undrawn("study")), [""; 0]);
    }
}
