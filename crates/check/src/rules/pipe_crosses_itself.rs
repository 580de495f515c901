//! A loop does not lie over itself.
//!
//! Where a pipe crosses over itself there are two diameters in the floor instead of one: the screed above
//! is thinner by a diameter, and on boards or in trays it cannot be laid at all.
//!
//! ## How it is worked out
//! Every run of the route, with its bends, is held against every other, but for two that both lie in the last half metre at an
//! end, where pipes fan out to their ports at the manifold: an end that lies elsewhere is none. A pipe that touches another, or
//! runs back over it, lies over it too.
//!
//! ## Limit
//! No crossing: common practice, no source. What cover is left follows from the floor and the pipe.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 3], [3, 3], [3, 0], [6, 0]]}
//! #                                                                ^^^^^^ loop L1 crosses itself at [3.00, 1.00]; of 49 mm of cover 33 mm are left there
//! ```
//! ```yaml passes
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 3], [3, 3], [3, 1.2], [6, 1.2]]}
//! ```

use super::departure_without_reason::listed_with;
use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::Change;
use design::{Loop, Placed, Point, Route};
use engineering::plan::{Contact, RouteMeeting};
use std::cmp::Ordering;
use workings::{AT_MANIFOLD, Gap, LoopWorkings, ValueOf, leg_place, storey_of};

pub static RULE: Rule = Rule {
    name: "pipe-crosses-itself",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("pipe_crosses_itself.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let plan = &inspection.workings.plan;
    let loops: Vec<_> = inspection.loops().collect();
    let own = |it: &&RouteMeeting| it.first.route == it.second.route;
    let own: Vec<&RouteMeeting> = plan.meetings.iter().filter(own).filter(|it| counts(inspection, it)).collect();
    for of_loop in own.chunk_by(|one, other| one.first.route == other.first.route) {
        let of_loop = from_the_left(of_loop);
        let first = of_loop[0];
        let Some(it) = loops.get(first.first.route) else { continue };
        let places = places(inspection, &of_loop);
        let message = format!("loop {} {} itself {places}{}", it.name, verb(&of_loop), cover_left(inspection, it));
        let mut finding = Finding::new(it.subject, leg_place(it.given, first.second.leg), message)
            .value(Number::new(of_loop.len() as f64))
            .source("common practice, no source")
            .related(leg_place(it.given, first.first.leg), "it lies here already");
        for meeting in of_loop.iter().skip(1).take(MOST_RELATED) {
            let again = format!("again {}", place(inspection, meeting));
            finding = finding.related(leg_place(it.given, meeting.second.leg), again);
        }
        if let [meeting] = of_loop[..] {
            finding = finding.remedy(turned_round(it.given, meeting));
        }
        found.add(finding);
    }
    not_all_counted(inspection, found);
}

/// In a tangle of routes some of their meetings were not found.
pub(super) fn not_all_counted(inspection: &Inspection, found: &mut Findings) {
    if inspection.workings.plan.broken_off {
        found.not_checked(Subject::Design, &Gap::NoMethod("the routes cross too often to be counted".into()));
    }
}

/// A few places are enough to see what is wrong.
pub(super) const MOST_RELATED: usize = 20;

/// Whether any of a meeting lies beyond the ends at the manifold that both pipes come from.
pub(super) fn counts(inspection: &Inspection, meeting: &RouteMeeting) -> bool {
    let beyond = |route: usize, along: Length| {
        let worked = inspection.workings.loops.get(route);
        let Some(Some(Ok(route))) = worked.map(|it| &it.route) else { return false };
        along > AT_MANIFOLD && along < route.length() - AT_MANIFOLD
    };
    let (first, second) = (&meeting.first, &meeting.second);
    beyond(first.route, first.along)
        || beyond(second.route, second.along)
        || meeting.runs_along > AT_MANIFOLD
        || beyond(first.route, first.along + meeting.runs_along)
        || is_far_from_manifold(inspection, meeting)
}

/// Whether a meeting of two ends lies nowhere near the manifold of both; where nobody says where that stands, it is not.
fn is_far_from_manifold(inspection: &Inspection, meeting: &RouteMeeting) -> bool {
    /// What a manifold with many ports takes to either side.
    const HALF_A_BAR: Length = Length::millimetres(400.0);
    let design = inspection.design;
    let of = |route: usize| inspection.workings.loops.get(route).and_then(|it| it.manifold);
    let manifolds = [of(meeting.first.route), of(meeting.second.route)];
    if manifolds[0] != manifolds[1] {
        return true;
    }
    let Some((_, manifold)) = manifolds[0].and_then(|at| design.manifolds.at(at)) else { return false };
    let storey = manifold.value.storey.as_ref().map(|it| it.value.name.as_str());
    let of_loop = design.loops.at(meeting.first.route).and_then(|(_, it)| storey_of(design, &it.value));
    let is_elsewhere = storey.is_some() && of_loop.is_some() && storey != of_loop;
    let Some(stands) = manifold.value.at.filter(|_| !is_elsewhere) else { return false };
    workings::point(stands.value).distance(meeting.at) > AT_MANIFOLD * 2.0 + HALF_A_BAR
}

/// What one pipe does to the other at one of these places or another.
pub(super) fn verb(meetings: &[&RouteMeeting]) -> String {
    let does = |meeting: &RouteMeeting| match meeting.contact {
        _ if meeting.runs_along > Length::ZERO => "lies on",
        Contact::Crosses => "crosses",
        Contact::Touches => "touches",
    };
    let verbs = ["crosses", "touches", "lies on"];
    let done = verbs.into_iter().filter(|verb| meetings.iter().any(|meeting| does(meeting) == *verb));
    listed_with("or", &done.collect::<Vec<_>>())
}

/// The meetings from the left to the right of the plan: whichever way the water runs, the same is told first.
pub(super) fn from_the_left<'i>(meetings: &[&'i RouteMeeting]) -> Vec<&'i RouteMeeting> {
    let mut meetings = meetings.to_vec();
    meetings.sort_by(|one, other| from_left(one.at, other.at));
    meetings
}

fn from_left(one: engineering::plan::Point, other: engineering::plan::Point) -> Ordering {
    one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y))
}

/// Where two pipes meet, and for how long.
pub(super) fn place(inspection: &Inspection, meeting: &RouteMeeting) -> String {
    let written = |at: engineering::plan::Point| format!("[{:.2}, {:.2}]", at.x, at.y);
    if meeting.runs_along <= Length::ZERO {
        return format!("at {}", written(meeting.at));
    }
    let worked = inspection.workings.loops.get(meeting.first.route);
    let mut ends = [meeting.at; 2];
    if let Some(Some(Ok(route))) = worked.map(|it| &it.route) {
        let end = meeting.first.along + meeting.runs_along;
        ends[1] = route.at(end);
        // Where it goes there and back again it ends where it began; how far it went is to be told.
        if ends[0].distance(ends[1]) < Length::millimetres(1.0) {
            let corners = route.legs_along().filter(|(.., leg)| leg.to > meeting.first.along && leg.to < end);
            let far = |at: &engineering::plan::Point| at.distance(meeting.at).in_metres();
            let farthest = corners.map(|(_, corner, _)| corner).max_by(|one, other| far(one).total_cmp(&far(other)));
            ends[1] = farthest.unwrap_or(ends[1]);
        }
    }
    ends.sort_by(|one, other| from_left(*one, *other));
    format!("for {} from {} to {}", meeting.runs_along, written(ends[0]), written(ends[1]))
}

/// Where two pipes meet first, and how often.
pub(super) fn places(inspection: &Inspection, meetings: &[&RouteMeeting]) -> String {
    let first = meetings.first().map_or(String::new(), |meeting| place(inspection, meeting));
    match meetings.len() {
        0 | 1 => first,
        count if inspection.workings.plan.broken_off => format!("at least {count} times, leftmost {first}"),
        count => format!("{count} times, leftmost {first}"),
    }
}

/// What is left of the cover where two pipes of a loop's floor lie over each other, as far as it is known.
pub(super) fn cover_left(inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> String {
    let known = || {
        let room = inspection.workings.rooms.get(*it.worked.rooms.first()?)?;
        let cover = inspection.workings.floors.get(room.floor?)?.cover.value().ok()?;
        let left = cover - it.worked.pipe.as_ref().ok()?.outside;
        Some(format!("; of {cover} of cover {} are left there", left.max(Length::ZERO)))
    };
    known().unwrap_or_else(|| "; no pipe may lie over another".to_string())
}

/// The points between two legs that cross in turned order: the usual slip is two points swapped.
fn turned_round(given: &Loop, meeting: &RouteMeeting) -> Option<Remedy> {
    const MOST_POINTS: usize = 4;
    let Some(Route::Points(points)) = given.route.as_ref().map(|route| &route.value) else { return None };
    let between: &[Placed<Point>] = points.get(meeting.first.leg + 1..=meeting.second.leg)?;
    if between.len() > MOST_POINTS || meeting.contact != Contact::Crosses {
        return None;
    }
    let turned = between.iter().zip(between.iter().rev()).filter(|(one, other)| one.value != other.value);
    let changes = turned.map(|(at, from)| Change { place: at.at, text: written(from.value) });
    Remedy::of("turn the order of the points between the crossing legs round", changes)
}

/// A point as it is written in a design, to the millimetre.
pub(super) fn written(point: Point) -> String {
    let number = |metres: f64| {
        let rounded = (metres * 1000.0).round() / 1000.0;
        if rounded == 0.0 { "0".to_string() } else { rounded.to_string() }
    };
    format!("[{}, {}]", number(point.x), number(point.y))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn text(route: &str) -> String {
        format!("loops:\n  L1: {{room: hall, pipe: PEX-16, route: {route}}}\n")
    }

    fn said(route: &str) -> Vec<String> {
        messages(&RULE, &text(route))
    }

    #[test]
    fn the_ends_at_the_manifold_are_not_looked_at() {
        assert_eq!(said("[[6, 1], [1, 1], [1, 1.2], [5.8, 1.2], [5.8, 0.9]]"), [""; 0]);
        assert_eq!(said("[[6, 1], [1, 1], [1, 1.2], [5.4, 1.2], [5.4, 0.9]]").len(), 1);
        assert_eq!(said("[[6, 1], [1, 1], [1, 1.2], [6, 1]]"), [""; 0]);
    }

    /// Ends that cross are told where the manifold stands elsewhere; where none is named, nobody knows.
    #[test]
    fn ends_that_lie_elsewhere_are_looked_at() {
        let crossed = |manifold: &str, more: &str| {
            let route = "[[1.4, 1], [1, 1], [1, 2], [1.2, 2], [1.2, 0.8]]";
            messages(&RULE, &format!("{more}loops:\n  L1: {{room: hall, pipe: PEX-16, {manifold}route: {route}}}\n"))
                .len()
        };
        let at = |x: f64| format!("manifolds:\n  M1: {{at: [{x}, 1]}}\n");
        assert_eq!(crossed("manifold: M1, ", &at(1.4)), 0);
        assert_eq!(crossed("manifold: M1, ", &at(6.0)), 1);
        assert_eq!(crossed("", ""), 0);
    }

    #[test]
    fn lying_on_itself_and_touching_are_told() {
        assert_eq!(
            said("[[6, 1], [1, 1], [1, 2], [2, 2], [2, 1], [4, 1], [4, 2], [6, 2]]"),
            [
                "loop L1 lies on itself for 1.8 m from [2.08, 1.00] to [3.92, 1.00]; of 49 mm of cover 33 mm are left there"
            ]
        );
        assert_eq!(
            said("[[6, 1], [1, 1], [1, 2], [2, 2], [2.5, 1], [3.5, 1], [4, 2], [6, 2]]"),
            [
                "loop L1 lies on itself for 907.3 mm from [2.55, 1.00] to [3.45, 1.00]; of 49 mm of cover 33 mm are left there"
            ]
        );
        assert_eq!(
            said("[[6, 1], [1, 1], [1, 2], [3, 2], [3, 1]]"),
            ["loop L1 touches itself at [3.00, 1.00]; of 49 mm of cover 33 mm are left there"]
        );
        // The tip of a corner touches, and its bend does not.
        assert_eq!(said("[[6, 1], [1, 1], [1, 2], [2, 2], [3, 1], [4, 2], [6, 2]]"), [""; 0]);
        // There and back and there again.
        assert_eq!(
            said("[[6, 1], [1, 1], [3, 1], [1, 1], [1, 2], [6, 2]]"),
            [
                "loop L1 lies on itself 2 times, leftmost for 1.9 m from [1.08, 1.00] to [3.00, 1.00]; of 49 mm of cover 33 mm are left there"
            ]
        );
    }

    #[test]
    fn several_crossings_are_one_finding() {
        let said = said("[[6, 1], [1, 1], [1, 2], [2, 2], [2, 0], [3, 0], [3, 2], [6, 2]]");
        assert_eq!(
            said,
            ["loop L1 crosses itself 2 times, leftmost at [2.00, 1.00]; of 49 mm of cover 33 mm are left there"]
        );
    }

    #[test]
    fn two_points_in_the_wrong_order_are_swapped_back() {
        let outcome = check(&text("[[6, 1], [1, 1], [3, 2], [1, 2], [3, 1.2], [6, 1.2]]"));
        let remedies: Vec<_> =
            outcome.findings.iter().filter(|it| it.rule.name == RULE.name).flat_map(|it| &it.remedies).collect();
        assert_eq!(remedies.len(), 1, "{:?}", outcome.findings);
        let texts: Vec<&str> = remedies[0].changes.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(texts, ["[1, 2]", "[3, 2]"]);
    }

    /// What is said of several places is true of all of them, whichever is leftmost.
    #[test]
    fn places_of_several_kinds_are_told_as_such() {
        let said = said("[[6, 1], [1, 1], [1, 3], [2, 3], [2, 0], [3, 0], [3, 1], [5, 1], [5, 3], [6, 3]]");
        assert!(
            said.len() == 1 && said[0].starts_with("loop L1 crosses or lies on itself 2 times, leftmost at "),
            "{said:?}"
        );
    }

    #[test]
    fn a_floor_without_cover_says_so_plainly() {
        let said = messages(&RULE, "loops:\n  L1: {route: [[6, 1], [1, 1], [1, 3], [3, 3], [3, 0], [6, 0]]}\n");
        assert_eq!(said, ["loop L1 crosses itself at [3.00, 1.00]; no pipe may lie over another"]);
    }
}
