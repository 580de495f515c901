//! Every pipe that goes through a wall has a sleeve there.
//!
//! A wall moves, settles and is drilled; a pipe that is built into it is chafed or cut off, and no one
//! can get at it. In a sleeve it can move and be drawn out.
//!
//! ## How it is worked out
//! The drawn route is cut with the middle lines of the walls. A pass through an opening is none
//! through the wall. A bare name in `sleeves` is a sleeve of its own on every crossing; one that
//! `serves` the flow or the return serves one crossing in the first or in the second half of the route.
//!
//! ## Limit
//! A sleeve on every crossing, through the whole wall and 25 mm beyond it on each side. That pipes are
//! sleeved through the fabric stands in a British trade specification; the 25 mm are common practice
//! without a source.
//!
//! ## Exceptions
//! A pipe that runs along a wall line and leaves it on the same side does not pass through it. Where
//! part of the crossings has a sleeve, `one-sleeve-for-two-crossings` speaks.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//! # ^^ loop L1 passes through wall W1 twice without a sleeve; each pass wants one of 150 mm
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: [W1]}
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! openings:
//!   D1: {wall: W1, from: 0.8 m, to: 2.2 m}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//! ```

use super::prelude::*;
use super::sleeve_too_short;
use crate::inspection::Item;
use crate::remedy::{Change, add_items, add_key, written};
use design::{Loop, Place};
use engineering::plan::NoTails;
use workings::{Crossed, Crossing, Gap, LoopWorkings, Passage};

pub static RULE: Rule = Rule {
    name: "sleeve-missing-at-wall",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("sleeve_missing_at_wall.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.walls.is_empty() {
        return;
    }
    for (at, wall) in design.walls.values().enumerate() {
        if wall.line.is_none() && !wall.broken {
            found.missing(Subject::Wall(at), "line");
        }
    }
    let unknown = openings_without_ends(inspection);
    let beyond = sleeve_too_short::BEYOND.get::<Length>(&sleeve_too_short::RULE, inspection);
    let mut told = vec![false; design.openings.len()];
    for_each_crossing(inspection, found, |it, crossing, passages, found| {
        let Crossed::Wall(wall) = crossing.what else { return };
        if let Some(opening) = unknown[wall] {
            if !std::mem::replace(&mut told[opening], true) {
                found.missing(Subject::Opening(opening), "from");
            }
            return;
        }
        if crossing.without_sleeve.len() < crossing.passages.len() {
            return;
        }
        let thickness = design.walls.at(wall).and_then(|(_, wall)| wall.value.thickness);
        let length = match thickness {
            Some(thickness) => format!("of {}", thickness.value + beyond.value * 2.0),
            None => format!("through the wall and {} beyond on each side", beyond.value),
        };
        let name = crossing.what.name(design);
        let (count, each) = counted(crossing.passages.len());
        let message = format!(
            "loop {} passes through wall {name} {count} without a sleeve; {each} pass wants one {length}",
            it.name
        );
        found.add(finding(inspection, it, crossing, passages, message).source(beyond.source));
    });
}

/// For each wall, an opening in it of which the ends are not given.
fn openings_without_ends(inspection: &Inspection) -> Vec<Option<usize>> {
    let design = inspection.design;
    let mut unknown = vec![None; design.walls.len()];
    for (at, opening) in design.openings.values().enumerate() {
        if let Some(wall) = &opening.wall
            && (opening.from.is_none() || opening.to.is_none())
            && let Some(wall) = design.walls.position(&wall.value.name)
        {
            unknown[wall] = Some(at);
        }
    }
    unknown
}

/// Looks at all that each drawn loop crosses; a loop that is not drawn cannot be looked at.
pub(super) fn for_each_crossing(
    inspection: &Inspection,
    found: &mut Findings,
    mut look: impl FnMut(&Item<Loop, LoopWorkings>, &Crossing, &[Passage], &mut Findings),
) {
    let plan = &inspection.workings.plan;
    for ((it, crossings), passages) in inspection.loops().zip(&plan.crossings).zip(&plan.passages) {
        if !is_drawn(&it, found) {
            continue;
        }
        for crossing in crossings {
            look(&it, crossing, passages, found);
        }
    }
    if plan.broken_off {
        found.not_checked(Subject::Design, &Gap::NoMethod("the routes cross too often to be counted".into()));
    }
}

/// Whether the route of a loop can be followed; if not, a note that the rule could not look.
pub(super) fn is_drawn(it: &Item<Loop, LoopWorkings>, found: &mut Findings) -> bool {
    match &it.worked.route {
        Some(Ok(_)) => return has_tails(it, found),
        Some(Err(reason)) => {
            found.not_checked(it.subject, &Gap::NoMethod(format!("the route cannot be followed: {reason}")));
        }
        None if it.given.broken => {}
        None => found.missing(it.subject, "route"),
    }
    false
}

/// Whether the tails are part of the route, as they are where it is drawn; if not, a note of what would let them be led.
fn has_tails(it: &Item<Loop, LoopWorkings>, found: &mut Findings) -> bool {
    let without = it.worked.laid.as_ref().and_then(|laid| laid.as_ref().ok()?.without_tails);
    match (without, it.worked.manifold) {
        (None, _) => return true,
        (Some(NoTails::NoManifold), None) => found.missing(it.subject, "manifold"),
        (Some(NoTails::NoManifold), Some(manifold)) => found.missing(Subject::Manifold(manifold), "at"),
        (Some(_), _) => found.missing(it.subject, "route"),
    }
    false
}

/// A finding about a crossing without any sleeve: at the name of the loop, with each pass beside it.
pub(super) fn finding(
    inspection: &Inspection,
    it: &Item<Loop, LoopWorkings>,
    crossing: &Crossing,
    passages: &[Passage],
    message: String,
) -> Finding {
    let name = crossing.what.name(inspection.design);
    let change = add_sleeves(inspection, it.given, &[written(name)]);
    let remedy = Remedy::of(format!("lay a sleeve on every crossing of {name}"), change);
    let finding = Finding::new(it.subject, it.place, message).value(Number::new(crossing.passages.len() as f64));
    passes(inspection, finding, crossing.what, crossing.passages.iter().map(|at| &passages[*at])).remedy(remedy)
}

/// The finding with what is crossed, and the places where it is crossed, beside it.
pub(super) fn passes<'p>(
    inspection: &Inspection,
    finding: Finding,
    what: Crossed,
    passages: impl Iterator<Item = &'p Passage>,
) -> Finding {
    let design = inspection.design;
    let finding = finding.related(what.subject().place(design), format!("{} stands here", what.name(design)));
    passages.fold(finding, |finding, passage| {
        let way = if passage.on_return { "on the way back" } else { "on the way out" };
        finding.related(passage.place, format!("{way} at [{:.2}, {:.2}]", passage.at.x, passage.at.y))
    })
}

/// The change that adds sleeves to a loop.
pub(super) fn add_sleeves(inspection: &Inspection, given: &Loop, sleeves: &[String]) -> Option<Change> {
    let items: Vec<Place> = given.sleeves.iter().map(|it| it.at).collect();
    match items.is_empty() {
        true => add_key(inspection, given.place, &format!("sleeves: [{}]", sleeves.join(", "))),
        false => add_items(inspection, &items, sleeves),
    }
}

/// `once` and `the`, or so many times and `each`.
pub(super) fn counted(count: usize) -> (String, &'static str) {
    match count {
        1 => ("once".into(), "the"),
        2 => ("twice".into(), "each"),
        _ => (format!("{count} times"), "each"),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const WALL: &str = "walls:\n  W1: {line: [[5, 0], [5, 4]]}\n";

    fn said(route: &str, more: &str) -> Vec<String> {
        messages(&RULE, &format!("{WALL}{more}loops:\n  L1: {{manifold: M1, room: hall, route: {route}}}\n"))
    }

    #[test]
    fn passing_is_not_touching() {
        assert_eq!(said("[[6, 1], [5, 1], [5, 2], [6, 2]]", ""), [""; 0]);
        assert_eq!(said("[[6, 1], [5, 1], [6, 2]]", ""), [""; 0]);
        assert_eq!(said("[[6, 5], [1, 5]]", ""), [""; 0]);
        let once = "loop L1 passes through wall W1 once without a sleeve; the pass wants one through the wall and 25 mm \
                    beyond on each side";
        assert_eq!(said("[[6, 1], [5, 1], [5, 2], [4, 2]]", ""), [once]);
    }

    #[test]
    fn an_opening_whose_ends_are_not_known_leaves_the_wall_unchecked() {
        let door = "openings:\n  D1: {wall: W1, from: 1 m}\n";
        let text = format!("{WALL}{door}loops:\n  L1: {{room: hall, route: [[6, 1], [1, 1]]}}\n");
        assert_eq!(messages(&RULE, &text), [""; 0]);
        assert_eq!(not_checked(&RULE, &text), ["openings/D1/from"]);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        assert_eq!(
            not_checked(&RULE, "walls:\n  W1: {thickness: 100 mm}\n"),
            ["walls/W1/line", "loops/L1/route", "loops/L2/route",]
        );
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
    }

    #[test]
    fn a_sleeve_elsewhere_does_not_help() {
        let text =
            format!("{WALL}  W2: {{line: [[9, 0], [9, 4]]}}\nloops:\n  L1: {{route: [[6, 1], [1, 1]], sleeves: W2}}\n");
        assert_eq!(messages(&RULE, &text).len(), 1);
        let text = text.replace("W2}", "[W2, W1]}");
        assert_eq!(messages(&RULE, &text).len(), 0);
    }
}
