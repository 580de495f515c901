//! From each inside corner of a heated screed a joint goes across, so that every bay is a rectangle.
//!
//! In an L, a T or a U the two arms pull on the inside corner when they shrink, and the crack starts there.
//!
//! ## How it is worked out
//! The bays as for `bay-over-forty`; in each the corners at which the floor goes round more than a straight angle, by
//! 15° and more. A step of under 100 mm, as at a pier or a lining, is no corner.
//!
//! ## Limit
//! A joint from each inside corner: a trade text on heated screeds. The 15° and the 100 mm are common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 3], [3, 3], [3, 5], [0, 5]]}
//! #                                                           ^^^^^^ no joint goes from the inside corner of hall at [3.00, 3.00]
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 3], [3, 3], [3, 5], [0, 5]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: {J1: {line: [[3, 3], [0, 3]]}}
//! ```

use super::bay_over_forty::{heated_bays, names, rooms_without_bays, told, with_joints};
use super::prelude::*;
use design::Place;
use engineering::plan::{Bay, Outline, Point};
use std::collections::HashSet;
use workings::{BayWorkings, point};

pub static RULE: Rule = Rule {
    name: "no-joint-at-inside-corner",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[STEP],
    file: include_str!("no_joint_at_inside_corner.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "trade text on heated screeds";
const STEP: Limit = Limit { name: "step-that-is-no-corner", value: "100 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    rooms_without_bays(inspection, found, |_| true);
    let step: LimitValue<Length> = STEP.get(&RULE, inspection);
    for bay in heated_bays(inspection) {
        let corners = corners(&bay.bay, step.value);
        let Some(first) = corners.first() else { continue };
        let rooms = names(inspection, bay);
        let message = match corners.len() {
            1 => format!("no joint goes from the inside corner of {rooms} at [{:.2}, {:.2}]", first.at.x, first.at.y),
            count => format!("no joint goes from {count} inside corners of {rooms}"),
        };
        let mut finding = told(inspection, bay, message).value(Number::new(corners.len() as f64)).source(SOURCE);
        let places: Vec<Option<Place>> =
            corners.iter().take(50).map(|corner| place(inspection, bay, corner.at)).collect();
        finding.place = places.iter().flatten().next().copied().unwrap_or(finding.place);
        for (corner, place) in corners.iter().zip(&places).filter(|_| corners.len() > 1) {
            let place = place.unwrap_or(finding.place);
            finding = finding.related(place, format!("an inside corner at [{:.2}, {:.2}]", corner.at.x, corner.at.y));
        }
        let mut across: Vec<[Point; 2]> = Vec::new();
        for corner in corners.iter().take(6) {
            // One joint may serve the corners at both its ends.
            let is_served = |[_, end]: &[Point; 2]| end.distance(corner.at) < Length::millimetres(1.0);
            if !across.iter().any(is_served) {
                across.extend(self::across(&bay.bay, corner));
            }
        }
        let title =
            if across.len() == 1 { "add a joint along the shorter way" } else { "add a joint from each corner" };
        let joints: Vec<[design::Point; 2]> =
            across.iter().map(|ends| ends.map(|it| design::Point { x: it.x, y: it.y })).collect();
        let remedy = (!joints.is_empty()).then(|| with_joints(inspection, title, &bay.rooms, &joints));
        found.add(finding.remedy(remedy.flatten()));
    }
}

/// An inside corner with its two neighbours.
struct InsideCorner {
    before: Point,
    at: Point,
    after: Point,
}

/// The inside corners of a bay, without those of steps.
fn corners(bay: &Bay, step: Length) -> Vec<InsideCorner> {
    let bits = |it: &Point| (it.x.to_bits(), it.y.to_bits());
    let inside: HashSet<(u64, u64)> = bay.inside_corners().iter().map(bits).collect();
    let lines = std::iter::once(&bay.outline).chain(&bay.holes);
    let of_line = |line: &Outline| -> Vec<InsideCorner> {
        let (all, count) = (line.corners(), line.corners().len());
        let number = |number: usize| InsideCorner {
            before: all[(number + count - 1) % count],
            at: all[number],
            after: all[(number + 1) % count],
        };
        (0..count).map(number).filter(|it| inside.contains(&bits(&it.at))).collect()
    };
    let is_step = |it: &InsideCorner| it.before.distance(it.at).min(it.at.distance(it.after)) < step;
    lines.flat_map(of_line).filter(|it| !is_step(it)).collect()
}

/// Where the file gives a corner.
fn place(inspection: &Inspection, bay: &BayWorkings, at: Point) -> Option<Place> {
    let outlines = bay.rooms.iter().filter_map(|room| inspection.design.rooms.at(*room)?.1.value.outline.as_ref());
    let mut corners = outlines.flat_map(|outline| &outline.value.corners);
    corners.find(|corner| point(corner.value).distance(at) < Length::millimetres(1.0)).map(|corner| corner.at)
}

/// The joint that makes one of the two edges at a corner longer, up to the other side: the shorter of the two.
fn across(bay: &Bay, corner: &InsideCorner) -> Option<[Point; 2]> {
    let ends = [corner.before, corner.after].into_iter().filter_map(|from| {
        let (x, y) = (corner.at.x - from.x, corner.at.y - from.y);
        let lines = std::iter::once(&bay.outline).chain(&bay.holes);
        let meets = lines.flat_map(|line| line.edges()).filter_map(|(c, d)| {
            let (of_x, of_y) = (d.x - c.x, d.y - c.y);
            let turn = x * of_y - y * of_x;
            let (to_x, to_y) = (c.x - corner.at.x, c.y - corner.at.y);
            let (ahead, along) = ((to_x * of_y - to_y * of_x) / turn, (to_x * y - to_y * x) / turn);
            (turn != 0.0 && ahead > 1e-9 && (-1e-9..=1.0 + 1e-9).contains(&along)).then_some(ahead)
        });
        let ahead = meets.min_by(f64::total_cmp)?;
        Some(Point::new(corner.at.x + x * ahead, corner.at.y + y * ahead))
    });
    let shortest = ends.min_by(|one, other| one.distance(corner.at).si().total_cmp(&other.distance(corner.at).si()))?;
    Some([corner.at, shortest])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn text(corners: &str, joints: &str) -> String {
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: [{corners}]}}\nloops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 \
             mm, tails: 10 m}}\nmovement-joints: {{{joints}}}\n"
        )
    }

    const ELL: &str = "[0, 0], [6, 0], [6, 3], [3, 3], [3, 5], [0, 5]";
    const TEE: &str = "[0, 0], [6, 0], [6, 2], [4, 2], [4, 5], [2, 5], [2, 2], [0, 2]";

    #[test]
    fn a_joint_from_the_corner_and_one_beside_it() {
        let says = |joints: &str| messages(&RULE, &text(ELL, joints)).len();
        assert_eq!(says(""), 1);
        assert_eq!(says("J1: {line: [[3, 3], [0, 3]]}"), 0);
        assert_eq!(says("J1: {line: [[3, 3], [3, 0]]}"), 0);
        assert_eq!(says("J1: {line: [[3.5, 3], [3.5, 0]]}"), 1);
        assert_eq!(says("J1: {line: [[3, 3], [0, 3]], kind: crack inducer}"), 1);
    }

    #[test]
    fn two_corners_are_one_finding() {
        let outcome = check(&text(TEE, ""));
        let findings: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].message, "no joint goes from 2 inside corners of hall");
        assert_eq!(findings[0].related.len(), 2);
        let change = &findings[0].remedies[0].changes[0].text;
        assert_eq!(change, "J1: {line: [[4, 2], [2, 2]]}");
    }

    #[test]
    fn rectangles_curves_and_steps_have_none() {
        assert_eq!(messages(&RULE, &text("[0, 0], [6, 0], [6, 3], [0, 3]", "")), [""; 0]);
        let pier = |deep: f64| {
            format!("[0, 0], [6, 0], [6, 3], [4, 3], [4, {}], [3, {}], [3, 3], [0, 3]", 3.0 - deep, 3.0 - deep)
        };
        assert_eq!(messages(&RULE, &text(&pier(0.09), "")).len(), 0);
        assert_eq!(messages(&RULE, &text(&pier(0.11), "")).len(), 1);
        // A bend of 11°.
        assert_eq!(messages(&RULE, &text("[0, 0], [5, 1], [10, 0], [8, 4], [2, 4]", "")).len(), 1);
        assert_eq!(messages(&RULE, &text("[0, 0], [5, 0.5], [10, 0], [8, 4], [2, 4]", "")).len(), 0);
    }
}
