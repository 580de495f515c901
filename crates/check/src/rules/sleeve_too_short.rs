//! A sleeve reaches far enough beyond what it passes through, on both sides.
//!
//! A short sleeve slips out of place while the screed is laid, and a sleeve that lies to one side leaves
//! the pipe held fast where it should move.
//!
//! ## How it is worked out
//! At a wall: the thickness over the sine of the angle at which the pipe passes, and 25 mm on each side.
//! At a movement joint: 300 mm, of which 100 mm on the shorter side. Where `shorter-side` is left out
//! the sleeve lies in the middle. A sleeve in a doorway is held to a joint that it serves there.
//!
//! ## Limit
//! 300 mm at a joint is from EN 1264-4, as secondary texts give it; the 100 mm on each side and the
//! 25 mm beyond a wall are common practice without a source.
//!
//! ## Exceptions
//! A sleeve that is named without a length is taken to be as long as its crossing wants it.
//!
//! ```yaml fails
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves: [{at: J1, length: 200 mm}]
//! #                              ^^^^^^ the sleeve of loop L1 at J1 is 200 mm long; 300 mm is wanted
//! ```
//! ```yaml remedied
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves: [{at: J1, length: 300 mm}]
//! ```
//! ```yaml fails
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves: [{at: J1, length: 300 mm, shorter-side: 40 mm}]
//! #                                                    ^^^^^ the sleeve of loop L1 at J1 reaches 40 mm beyond it on one side; 100 mm is the least
//! ```
//! ```yaml remedied
//! movement-joints:
//!   J1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves: [{at: J1, length: 300 mm, shorter-side: 150 mm}]
//! ```

use super::prelude::*;
use super::sleeve_missing_at_joint::wants_sleeves;
use crate::inspection::Item;
use design::{Loop, Sleeve};
use workings::{Crossed, Crossing, LoopWorkings, Passage, crossed_by_name};

pub static RULE: Rule = Rule {
    name: "sleeve-too-short",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[LENGTH, BEYOND_JOINT, BEYOND],
    file: include_str!("sleeve_too_short.rs"),
    check,
    ..Rule::USUAL
};

pub(super) const LENGTH: Limit =
    Limit { name: "sleeve-at-joint", value: "300 mm", source: "EN 1264-4, from secondary texts" };
const BEYOND_JOINT: Limit = Limit { name: "beyond-joint", value: "100 mm", source: "common practice, no source" };
pub(super) const BEYOND: Limit = Limit {
    name: "beyond-each-side",
    value: "25 mm",
    source: "British trade specification for sleeves through fabric; the length is common practice, no source",
};

/// Below this angle a pipe runs along a wall rather than through it.
const LEAST_ANGLE_DEGREES: f64 = 10.0;

/// What a tenth of a millimetre may be out.
const HAIR: Length = Length::millimetres(0.1);

/// What a sleeve has to pass through and by how much to reach beyond it.
struct Wanted {
    through: Length,
    length: LimitValue<Length>,
    beyond: LimitValue<Length>,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let plan = &inspection.workings.plan;
    for ((it, crossings), passages) in inspection.loops().zip(&plan.crossings).zip(&plan.passages) {
        for (at, sleeve) in it.given.sleeves.iter().enumerate() {
            if sleeve.value.length.is_some() || sleeve.value.shorter_side.is_some() {
                let crossings = crossings.iter().filter(|it| it.sleeves.contains(&at));
                check_one(inspection, found, &it, &sleeve.value, crossings, passages);
            }
        }
    }
}

fn check_one<'c>(
    inspection: &Inspection,
    found: &mut Findings,
    it: &Item<Loop, LoopWorkings>,
    sleeve: &Sleeve,
    crossings: impl Iterator<Item = &'c Crossing> + Clone,
    passages: &[Passage],
) {
    let design = inspection.design;
    let Some(name) = sleeve.at.as_ref().map(|at| at.value.name.as_str()) else { return };
    // What it serves on the plan; while nothing is drawn, what it is named for.
    let served = crossings.clone().map(|crossing| (crossing.what, Some(crossing)));
    let named = crossed_by_name(design, name).map(|what| (what, None));
    for (what, crossing) in served.clone().chain(named.filter(|_| crossings.clone().next().is_none())) {
        let wanted = match what {
            Crossed::Opening(_) => continue,
            Crossed::Wall(wall) => {
                let Some(thickness) = design.walls.at(wall).and_then(|(_, wall)| wall.value.thickness) else {
                    found.missing(Subject::Wall(wall), "thickness");
                    continue;
                };
                let slant = crossing.map_or(1.0, |crossing| longest_way(crossing, passages));
                let (through, beyond) = (thickness.value * slant, BEYOND.get::<Length>(&RULE, inspection));
                Wanted { through, length: LimitValue { value: through + beyond.value * 2.0, ..beyond }, beyond }
            }
            Crossed::MovementJoint(joint) => {
                let crossings = crossing.map_or(0, |crossing| crossing.passages.len());
                if !wants_sleeves(inspection, joint, crossings) {
                    continue;
                }
                let width = design.movement_joints.at(joint).and_then(|(_, joint)| joint.value.width);
                let through = width.map_or(Length::ZERO, |width| width.value);
                Wanted { through, length: LENGTH.get(&RULE, inspection), beyond: BEYOND_JOINT.get(&RULE, inspection) }
            }
        };
        hold_against(found, it, sleeve, what.name(design), &wanted);
    }
}

/// By how much a pipe passes through a wall longer than squarely, at its most slanting passage.
fn longest_way(crossing: &Crossing, passages: &[Passage]) -> f64 {
    let slant = |at: &usize| {
        let degrees = passages[*at].angle_degrees;
        if degrees < LEAST_ANGLE_DEGREES { 1.0 } else { 1.0 / degrees.to_radians().sin() }
    };
    crossing.passages.iter().map(slant).fold(1.0, f64::max)
}

fn hold_against(found: &mut Findings, it: &Item<Loop, LoopWorkings>, sleeve: &Sleeve, name: &str, wanted: &Wanted) {
    if let Some(length) = sleeve.length
        && length.value < wanted.length.value - HAIR
    {
        let longer = upwards(wanted.length.value);
        let message = format!(
            "the sleeve of loop {} at {name} is {} long; {} is wanted",
            it.name, length.value, wanted.length.value
        );
        found.add(
            Finding::new(it.subject, length.at, message).value(length.value).limit(&wanted.length).remedy(Remedy::new(
                format!("make the sleeve {longer} long"),
                length.at,
                longer,
            )),
        );
    } else if let Some(side) = sleeve.shorter_side
        && side.value < wanted.beyond.value - HAIR
    {
        let middle = sleeve.length.map(|length| (length.value - wanted.through) / 2.0);
        let middle = middle.filter(|middle| *middle >= wanted.beyond.value - HAIR).map(|middle| {
            let text = format!("{} mm", (middle.in_millimetres() + 0.01).floor());
            Remedy::new("lay the sleeve in the middle", side.at, text)
        });
        let message = format!(
            "the sleeve of loop {} at {name} reaches {} beyond it on one side; {} is the least",
            it.name, side.value, wanted.beyond.value
        );
        found.add(Finding::new(it.subject, side.at, message).value(side.value).limit(&wanted.beyond).remedy(middle));
    }
}

/// A length in whole millimetres, not shorter.
fn upwards(length: Length) -> String {
    format!("{} mm", (length.in_millimetres() - 0.01).ceil())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn said(sleeve: &str, route: &str) -> Vec<String> {
        messages(&RULE, &text(sleeve, route))
    }

    fn text(sleeve: &str, route: &str) -> String {
        format!(
            "walls:\n  W1: {{line: [[5, 0], [5, 4]], thickness: 100 mm}}\n  W2: {{line: [[9, 0], [9, 4]]}}\nopenings:\n  \
             D1: {{wall: W1, from: 1 m, to: 2 m}}\nmovement-joints:\n  J1: {{line: [[5, 1], [5, 2]], width: 10 mm}}\nloops:\n  \
             L1: {{room: hall, sleeves: [{{at: {sleeve}}}], {route}}}\n"
        )
    }

    const THROUGH_WALL: &str = "route: [[6, 3], [1, 3]]";
    const THROUGH_DOOR: &str = "route: [[6, 1.5], [1, 1.5]]";

    #[test]
    fn a_wall_wants_its_thickness_and_25_mm_on_each_side() {
        assert_eq!(said("W1, length: 150 mm", THROUGH_WALL), [""; 0]);
        assert_eq!(
            said("W1, length: 149 mm", THROUGH_WALL),
            ["the sleeve of loop L1 at W1 is 149 mm long; 150 mm is wanted"]
        );
        assert_eq!(said("W1, length: 200 mm, shorter-side: 25 mm", THROUGH_WALL), [""; 0]);
        assert_eq!(said("W1, length: 200 mm, shorter-side: 24 mm", THROUGH_WALL).len(), 1);
        // Also while the loop is not drawn, and longer through a slant: 100 mm x √2 + 50 mm.
        assert_eq!(said("W1, length: 149 mm", "layout: spiral").len(), 1);
        assert_eq!(
            said("W1, length: 191 mm", "route: [[6, 2.5], [4, 4.5], [4, 2.5]]"),
            ["the sleeve of loop L1 at W1 is 191 mm long; 191.4 mm is wanted"]
        );
        assert_eq!(said("W1, length: 192 mm", "route: [[6, 2.5], [4, 4.5], [4, 2.5]]"), [""; 0]);
    }

    #[test]
    fn a_joint_wants_300_mm() {
        assert_eq!(said("J1, length: 300 mm", THROUGH_DOOR), [""; 0]);
        assert_eq!(said("J1, length: 299 mm", THROUGH_DOOR).len(), 1);
        assert_eq!(said("J1, length: 300 mm, shorter-side: 100 mm", THROUGH_DOOR), [""; 0]);
        assert_eq!(said("J1, length: 300 mm, shorter-side: 99 mm", THROUGH_DOOR).len(), 1);
        assert_eq!(said("J1", THROUGH_DOOR), [""; 0]);
    }

    #[test]
    fn a_sleeve_in_a_doorway_is_held_to_the_joint_there() {
        assert_eq!(
            said("D1, length: 200 mm", THROUGH_DOOR),
            ["the sleeve of loop L1 at J1 is 200 mm long; 300 mm is wanted"]
        );
        assert_eq!(said("D1, length: 200 mm", "layout: spiral"), [""; 0]);
    }

    #[test]
    fn a_wall_without_thickness_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("W2, length: 100 mm", THROUGH_WALL)), ["walls/W2/thickness"]);
        assert_eq!(not_checked(&RULE, &text("W2", THROUGH_WALL)), [""; 0]);
    }
}
