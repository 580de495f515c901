//! The route of a loop can be followed from end to end.
//!
//! A route that is no line has no length. Nothing that hangs on it can be worked out: pressure drop, flow,
//! the heat of its room, what it crosses.
//!
//! ## How it is worked out
//! A route has two different points at least, each within 100,000 km of the origin; an SVG path can be read to
//! its end and is one line. The same is asked of a route `as-built` in the records.
//!
//! ## Limit
//! A line of some length: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, route: [[0.2, 2.6]]}
//! #                         ^^^^^^^^^^^^ the route of loop L1 cannot be followed: fewer than two different points
//! ```
//! ```yaml fails
//! loops:
//!   L1: {room: hall, route: M 0 0 H 3 M 5 5 H 8}
//! #                         ^^^^^^^^^^^^^^^^^^^ the route of loop L1 cannot be followed: the path is in several parts, and a pipe is one
//! ```
//! ```yaml passes
//! loops:
//!   L1: {room: hall, route: [[0.2, 2.6], [3.8, 2.6], [3.8, 2.4], [0.2, 2.4]]}
//! ```

use super::prelude::*;
use design::Place;

pub static RULE: Rule = Rule {
    name: "route-cannot-be-followed",
    group: Group::Geometry,
    weights: [Warning, Error, Error, Error],
    file: include_str!("route_cannot_be_followed.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        if let (Some(route), Some(Err(reason))) = (&it.given.route, &it.worked.route) {
            tell(inspection, found, it.subject, route.at, &format!("loop {}", it.name), reason);
        }
    }
    let Some(as_built) = &inspection.design.records.as_built else { return };
    for (name, route) in as_built.routes.iter() {
        if let Err(reason) = workings::route(&route.value) {
            tell(
                inspection,
                found,
                Subject::Records,
                route.name_place,
                &format!("loop {name} as it was laid"),
                &reason,
            );
        }
    }
}

fn tell(inspection: &Inspection, found: &mut Findings, about: Subject, at: Place, of: &str, reason: &str) {
    // A point that could not be read is told as such, and what is left of the route means nothing.
    if inspection.is_read(at) {
        let message = format!("the route of {of} cannot be followed: {reason}");
        found.add(Finding::new(about, at, message).source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn reason(route: &str) -> Vec<String> {
        let said = messages(&RULE, &format!("loops:\n  L1: {{room: hall, route: {route}}}\n"));
        let of = "the route of loop L1 cannot be followed: ";
        said.iter().map(|message| message.strip_prefix(of).unwrap().to_string()).collect()
    }

    #[test]
    fn every_route_that_is_no_line_is_told() {
        let short = ["fewer than two different points"];
        assert_eq!(reason("[[1, 1]]"), short);
        assert_eq!(reason("[[1, 1], [1, 1], [1, 1]]"), short);
        assert_eq!(reason("M 1 1 H 1"), short);
        assert_eq!(reason("[[2e8, 1], [2e8, 2]]"), ["point 1: a coordinate is more than 100,000 km from the origin"]);
        assert!(reason("M 0 0 H 4 C 1 1")[0].ends_with("at `C 1 1`"));
        assert_eq!(reason("[[1, 1], [1, 1.001]]"), [""; 0]);
    }

    #[test]
    fn a_route_with_an_unread_point_is_told_once() {
        assert_eq!(reason("[[1, 1], [2, x]]"), [""; 0]);
    }

    #[test]
    fn a_route_as_it_was_laid_is_a_route_too() {
        let text = "records: {as-built: {routes: {L1: [[1, 1]]}}}\n";
        assert_eq!(
            messages(&RULE, text),
            ["the route of loop L1 as it was laid cannot be followed: fewer than two different points"]
        );
    }
}
