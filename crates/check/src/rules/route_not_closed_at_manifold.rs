//! A loop begins and ends at its manifold.
//!
//! A route that stops short is a length, a pressure drop and a coil that are too short, and a pipe that the
//! installer has to find a way for on site.
//!
//! ## How it is worked out
//! The distance of both ends of the route, drawn or laid out, from the bar of the manifold: from its place in plan, less half
//! of what its `ports` take, 50 mm each. Where the manifold
//! stands on another storey, the way up or down is not drawn and the ends cannot be judged.
//!
//! ## Limit
//! 0.5 m, and 50 mm from port to port: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {at: [6, 1]}
//! loops:
//!   L1: {manifold: M1, room: hall, route: [[6, 1.2], [1, 1], [1, 2], [5, 2]]}
//! #                                                                  ^^^^^^ the route of loop L1 ends 1.4 m from manifold M1; 500 mm is the most
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {at: [6, 1]}
//! loops:
//!   L1: {manifold: M1, room: hall, route: [[6, 1.2], [1, 1], [1, 2], [5, 2], [6, 1]]}
//! ```

use super::pipe_crosses_itself::written;
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::remedy::Change;
use design::{Placed, Point, Route};
use workings::{Gap, point, storey_of};

pub static RULE: Rule = Rule {
    name: "route-not-closed-at-manifold",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[MOST],
    file: include_str!("route_not_closed_at_manifold.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "from-the-manifold", value: "0.5 m", source: "common practice, no source" };

/// What a port takes of the bar of a manifold.
const PORT: Length = Length::millimetres(50.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let most: LimitValue<Length> = MOST.get(&RULE, inspection);
    for it in inspection.loops() {
        // A layout says by itself where its tails are not laid out.
        let is_led =
            it.worked.laid.as_ref().is_some_and(|it| it.as_ref().is_ok_and(|laid| laid.without_tails.is_none()));
        if !is_led && (it.given.route.is_none() || !is_drawn(&it, found)) {
            continue;
        }
        let Some(Ok(route)) = &it.worked.route else { continue };
        let drawn = it.given.route.as_ref();
        let Some(at) = drawn.map(|route| route.at).or(it.given.layout.map(|layout| layout.at)) else { continue };
        let Some((name, manifold)) = it.worked.manifold.and_then(|at| inspection.design.manifolds.at(at)) else {
            if it.given.manifold.is_none() && !it.given.broken {
                found.missing(it.subject, "manifold");
            }
            continue;
        };
        let Some(stands) = manifold.value.at else {
            if !manifold.value.broken {
                found.missing(Subject::Manifold(it.worked.manifold.unwrap_or_default()), "at");
            }
            continue;
        };
        let storey = manifold.value.storey.as_ref().map(|storey| storey.value.name.as_str());
        if let (Some(of_manifold), Some(of_loop)) = (storey, storey_of(inspection.design, it.given))
            && of_manifold != of_loop
        {
            let reason =
                format!("manifold {name} is on {of_manifold}, and the way from there to {of_loop} is not drawn");
            found.not_checked(it.subject, &Gap::NoMethod(reason));
            continue;
        }
        let ends = [route.points().first(), route.points().last()];
        let half = PORT * (f64::from(manifold.value.ports.map_or(0, |it| it.value)) / 2.0);
        let gap = |end: &engineering::plan::Point| (end.distance(point(stands.value)) - half).max(Length::ZERO);
        let [begins, ends] = ends.map(|end| end.map_or(Length::ZERO, gap));
        let is_far = |gap: Length| gap > most.value + Length::millimetres(0.1);
        let far = match (is_far(begins), is_far(ends)) {
            (false, false) => continue,
            (true, false) => format!("begins {begins}"),
            (false, true) => format!("ends {ends}"),
            (true, true) => format!("begins {begins} and ends {ends}"),
        };
        let message = format!("the route of loop {} {far} from manifold {name}; {} is the most", it.name, most.value);
        let points = match drawn.map(|route| &route.value) {
            Some(Route::Points(points)) => &points[..],
            Some(Route::Path(_)) | None => &[],
        };
        let place = match (is_far(begins), points) {
            (true, [first, ..]) => first.at,
            (false, [.., last]) => last.at,
            _ => at,
        };
        let remedy = Remedy::of(
            format!("draw it to manifold {name}"),
            drawn_to(points, stands.value, is_far(begins), is_far(ends)),
        );
        found.add(
            Finding::new(it.subject, place, message)
                .value(begins.max(ends))
                .limit(&most)
                .related(stands.at, format!("manifold {name} stands here"))
                .remedy(remedy),
        );
    }
}

/// The manifold's point before the first and behind the last point of a route.
fn drawn_to(points: &[Placed<Point>], manifold: Point, first: bool, last: bool) -> Vec<Change> {
    let ([begins, ..], [.., ends]) = (points, points) else { return Vec::new() };
    let at = written(manifold);
    let before =
        first.then(|| Change { place: design::Place { end: begins.at.start, ..begins.at }, text: format!("{at}, ") });
    let behind = last.then(|| Change { place: ends.at.after(), text: format!(", {at}") });
    before.into_iter().chain(behind).collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn text(manifold: &str, route: &str) -> String {
        format!("manifolds:\n  M1: {{{manifold}}}\nloops:\n  L1: {{manifold: M1, room: hall, route: {route}}}\n")
    }

    #[test]
    fn half_a_metre() {
        let says = |route: &str| messages(&RULE, &text("at: [6, 1]", route));
        assert_eq!(says("[[5.5, 1], [1, 1], [1, 2], [6, 1.5]]"), [""; 0]);
        assert_eq!(
            says("[[5.4, 1], [1, 1], [1, 2], [6, 1.6]]"),
            ["the route of loop L1 begins 600 mm and ends 600 mm from manifold M1; 500 mm is the most"]
        );
        assert_eq!(says("M 5.4 1 H 1 V 2 L 6 1.2").len(), 1);
    }

    /// The bar of ten ports is half a metre long.
    #[test]
    fn from_the_end_of_the_bar() {
        let says = |ends: &str| {
            messages(&RULE, &text("at: [6, 1], ports: 10", &format!("[[6, 1.7], [1, 1], [1, 2], {ends}]")))
        };
        assert_eq!(says("[6, 1.75]"), [""; 0]);
        assert_eq!(says("[6, 1.76]"), ["the route of loop L1 ends 510 mm from manifold M1; 500 mm is the most"]);
    }

    /// In a nook beside a hall there is no room for the ends of four loops.
    #[test]
    fn a_route_that_is_laid_out_is_held_to_it_too() {
        let rooms: String = (0..4)
            .map(|number| {
                let (from, to) = (2.5 * f64::from(number), 2.5 * f64::from(number) + 2.4);
                format!("  r{number}: {{floor: screeded, outline: [[1.6, {from}], [5.6, {from}], [5.6, {to}], [1.6, {to}]], keep-clear: none}}\n")
            })
            .collect();
        let doors = [("D0", 0.8), ("D1", 3.3), ("D2", 5.8), ("D3", 8.3)]
            .map(|(name, from)| format!("  {name}: {{wall: W1, from: {from} m, to: {} m}}\n", from + 0.9))
            .concat();
        let loops: String = (0..4)
            .map(|number| {
                let port = number + 1;
                format!("  L{port}: {{manifold: M1, port: {port}, room: r{number}, pipe: PEX-16, spacing: 150 mm, layout: meander}}\n")
            })
            .collect();
        let hall = "[[0, 0], [1.5, 0], [1.5, 9.9], [0, 9.9], [0, 5.2], [-0.6, 5.2], [-0.6, 4.2], [0, 4.2]]";
        let outcome = check(&format!(
            "rooms:\n  hall: {{outline: {hall}, keep-clear: none}}\n{rooms}walls: {{W1: {{line: [[1.55, 0], [1.55, 9.9]], thickness: 100 \
             mm}}}}\nopenings:\n{doors}manifolds:\n  M1: {{at: [0.2, 4.7], ports: 6}}\nloops:\n{loops}"
        ));
        let stands = workings::point(design::Point { x: 0.2, y: 4.7 });
        let mut far = 0;
        for (at, it) in outcome.workings.loops.iter().enumerate() {
            let name = outcome.design.loops.at(at).unwrap().0;
            let (Some(Ok(route)), Some(Ok(laid))) = (&it.route, &it.laid) else { continue };
            let ends =
                [route.points().first(), route.points().last()].map(|it| it.unwrap().distance(stands).in_metres());
            let is_far = laid.without_tails.is_none() && ends.iter().any(|it| *it > 0.501);
            far += usize::from(is_far);
            let begins = format!("the route of loop {name} ");
            let is_told =
                outcome.findings.iter().any(|it| it.rule.name == RULE.name && it.message.starts_with(&begins));
            assert_eq!(is_told, is_far, "{name} {ends:?}");
        }
        assert!(far > 0, "some do not reach it");
    }

    #[test]
    fn both_ends_are_drawn_to_the_manifold() {
        let outcome = check(&text("at: [6, 1]", "[[5.4, 1.2], [1, 1.2], [1, 2], [5, 2]]"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let texts: Vec<&str> = finding.remedies[0].changes.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(texts, ["[6, 1], ", ", [6, 1]"]);
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("ports: 2", "[[5, 1], [1, 1]]")), ["manifolds/M1/at"]);
        assert_eq!(not_checked(&RULE, "loops:\n  L1: {room: hall, route: [[5, 1], [1, 1]]}\n"), ["loops/L1/manifold"]);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
        let storeys = "storeys: {ground: {}, first: {}}\nrooms:\n  hall: {storey: first, area: 9 m²}\n";
        let text = format!("{storeys}{}", text("at: [6, 1], storey: ground", "[[5, 1], [1, 1]]"));
        assert_eq!(
            not_checked(&RULE, &text),
            ["manifold M1 is on ground, and the way from there to first is not drawn"]
        );
        assert_eq!(messages(&RULE, &text), [""; 0]);
    }
}
