//! Every drawn turn leaves room for the tightest bend that the pipe allows.
//!
//! A pipe that is forced round a tighter corner kinks, or springs back and lies where nobody drew it. A
//! kink takes the flow of the whole loop and is found when the floor is down.
//!
//! ## How it is worked out
//! A bend through the angle φ takes `radius x tan(φ / 2)` of each leg beside it. A leg between two
//! corners is lent to them in the proportion of what they take; the first and the last leg are lent
//! whole. From that follows the largest radius that fits each corner; a pipe that goes straight back fits none. Of two corners
//! that share a leg too short for both it is the one that takes more than half of it, or both. Where a pipe all but doubles back, by
//! more than 152 degrees, and has not that much room, no bend reaches the tip.
//!
//! ## Limit
//! The pipe's own `least-bend-radius`, measured to its axis. Where it is not given, five times the
//! outside diameter for plastic and multilayer pipe: EN 1264-4 refers to the standard of the pipe, and
//! the five times are from memory. A millimetre is let pass, because arcs are cut into straight legs.
//!
//! ## Exceptions
//! For metal pipe no figure is known here: give the radius.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1], [5, 1], [5, 1.06], [1, 1.06]]}
//! #                                                     ^^^^^^ loop L1 has 2 turns that are too tight for its pipe; the tightest fits a bend of 30 mm, and 80 mm is the least
//! ```
//! ```yaml passes
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1], [5, 1], [5, 1.16], [1, 1.16]]}
//! ```

use super::prelude::*;
use design::{PipeMaterial, Placed};
use engineering::plan::Corner;
use workings::{Gap, leg_place};

pub static RULE: Rule = Rule {
    name: "bend-too-tight",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("bend_too_tight.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        // Of a loop that is laid out `layout-falls-short` tells it.
        let (Some(Ok(route)), Some(_)) = (&it.worked.route, &it.given.route) else { continue };
        let Some(least) = least_bend_radius(inspection, found, &it) else { continue };
        let tight: Vec<Corner> = route.tight_corners(least.value).collect();
        let Some(worst) = tightest(&tight) else { continue };
        let bend = match fits(worst) > Length::millimetres(0.05) {
            true => format!("a bend of {}", fits(worst)),
            false => "no bend".to_string(),
        };
        let turns: Vec<&Corner> = turns(&tight);
        let count = match turns.len() {
            1 => "a turn that is too tight for its pipe; it fits".to_string(),
            count => format!("{count} turns that are too tight for its pipe; the tightest fits"),
        };
        let mut message = format!("loop {} has {count} {bend}, and {} is the least", it.name, least.value);
        if worst.doubles_back() {
            message += "; the pipe doubles back there: lead it round in two turns with a run between them";
        }
        let place = leg_place(it.given, worst.point);
        let mut finding = Finding::new(it.subject, place, message).value(fits(worst)).limit(&least);
        for corner in turns.into_iter().filter(|corner| corner.point != worst.point).take(MOST_RELATED) {
            let (x, y) = (corner.at.x, corner.at.y);
            let at = match corner.doubles_back() {
                true => format!("at [{x:.2}, {y:.2}] the pipe doubles back, and no bend fits"),
                false => format!("at [{x:.2}, {y:.2}] a bend of {} fits", corner.largest_radius),
            };
            finding = finding.related(leg_place(it.given, corner.point), at);
        }
        found.add(finding);
    }
}

/// Of the corners of each turn the tightest: an arc is drawn as many short legs, and is one turn.
fn turns(tight: &[Corner]) -> Vec<&Corner> {
    const OF_AN_ARC: f64 = 45.0;
    let is_one = |one: &Corner, other: &Corner| {
        other.point == one.point + 1 && one.turn_degrees < OF_AN_ARC && other.turn_degrees < OF_AN_ARC
    };
    tight.chunk_by(is_one).filter_map(tightest).collect()
}

fn tightest(turn: &[Corner]) -> Option<&Corner> {
    turn.iter().min_by(|one, other| fits(one).si().total_cmp(&fits(other).si()))
}

/// The radius of the bend that fits a corner: none goes round where the pipe doubles back.
fn fits(corner: &Corner) -> Length {
    if corner.doubles_back() { Length::ZERO } else { corner.largest_radius }
}

/// A serpentine at too close a spacing is too tight everywhere; a few places show it.
const MOST_RELATED: usize = 5;

type Loop<'i> = crate::inspection::Item<'i, design::Loop, workings::LoopWorkings>;

/// The least bend radius of a loop's pipe with whose it is; nothing, and a note, where it is not known.
pub(super) fn least_bend_radius(
    inspection: &Inspection,
    found: &mut Findings,
    it: &Loop,
) -> Option<LimitValue<Length>> {
    let pipe = match &it.worked.pipe {
        Ok(pipe) => pipe,
        Err(gap) => {
            found.not_checked(it.subject, gap);
            return None;
        }
    };
    if pipe.bend_radius_given {
        return Some(LimitValue::new(pipe.least_bend_radius, "the pipe's least-bend-radius"));
    }
    let name = &it.given.pipe.as_ref()?.value.0;
    let material = inspection.design.pipe(name).and_then(|pipe| pipe.material.as_ref().map(|it: &Placed<_>| it.value));
    if matches!(material, Some(PipeMaterial::Copper | PipeMaterial::Steel)) {
        let gap = match inspection.design.pipes.position(name) {
            Some(pipe) => Gap::missing(Subject::Pipe(pipe), "least-bend-radius"),
            None => Gap::NoMethod(format!("how tightly `{name}` may be bent is not known; name it in `pipes`")),
        };
        found.not_checked(it.subject, &gap);
        return None;
    }
    let source = "five times the outside diameter, from memory; EN 1264-4 refers to the standard of the pipe";
    Some(LimitValue::new(pipe.least_bend_radius, source))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn said(pipe: &str, route: &str) -> Vec<String> {
        messages(&RULE, &format!("loops:\n  L1: {{room: hall, pipe: {pipe}, route: {route}}}\n"))
    }

    /// Worked example of the rules' catalogue, common practice, no source: legs of 60 and 300 mm leave 60 mm.
    #[test]
    fn legs_of_60_and_300_mm_leave_60_mm() {
        assert_eq!(
            said("PE-X 16 x 2", "[[0, 0], [0.06, 0], [0.06, 0.3]]"),
            ["loop L1 has a turn that is too tight for its pipe; it fits a bend of 60 mm, and 80 mm is the least"]
        );
        assert_eq!(said("PE-X 16 x 2", "[[0, 0], [0.08, 0], [0.08, 0.3]]"), [""; 0]);
        assert_eq!(said("PE-X 16 x 2", "[[0, 0], [0.078, 0], [0.078, 0.3]]").len(), 1);
    }

    #[test]
    fn the_pipe_in_pipes_has_its_own_radius() {
        assert_eq!(said("PEX-16", "[[6, 1], [5, 1], [5, 1.15], [1, 1.15]]"), [""; 0]);
        assert_eq!(said("PEX-16", "[[6, 1], [5, 1], [5, 1.147], [1, 1.147]]").len(), 1);
        assert_eq!(
            said("PEX-16", "[[6, 1], [1, 1], [5, 1]]"),
            [
                "loop L1 has a turn that is too tight for its pipe; it fits no bend, and 75 mm is the least; the pipe doubles back there: \
                 lead it round in two turns with a run between them"
            ]
        );
    }

    /// A turn of 170° takes 11.43 radii of each leg, a right angle one: together 994 mm of the leg between them, for 80 mm.
    #[test]
    fn a_turn_that_all_but_doubles_back_fits_where_there_is_room() {
        assert_eq!(said("PE-X 16 x 2", "[[0, 0], [4, 0], [3.015, 0.1736], [3.189, 1.158]]"), [""; 0]);
        assert_eq!(
            said("PE-X 16 x 2", "[[0, 0], [4, 0], [3.064, 0.165], [3.238, 1.15]]"),
            [
                "loop L1 has a turn that is too tight for its pipe; it fits no bend, and 80 mm is the least; the pipe doubles back there: \
                 lead it round in two turns with a run between them"
            ]
        );
    }

    /// An arc is as tight as it is drawn.
    #[test]
    fn arcs_count_with_their_radius() {
        let hairpin = |radius: f64| format!("M 0 0 H 4 A {radius} {radius} 0 0 1 4 {} H 0", radius * 2.0);
        assert_eq!(said("PE-X 16 x 2", &hairpin(0.08)), [""; 0]);
        assert_eq!(
            said("PE-X 16 x 2", &hairpin(0.05)),
            ["loop L1 has a turn that is too tight for its pipe; it fits a bend of 49.6 mm, and 80 mm is the least"]
        );
    }

    #[test]
    fn metal_pipe_must_say_its_radius() {
        let text = "loops:\n  L1: {room: hall, pipe: copper 15 x 0.7, route: [[0, 0], [4, 0], [4, 1]]}\n";
        assert_eq!(
            not_checked(&RULE, text),
            ["how tightly `copper 15 x 0.7` may be bent is not known; name it in `pipes`"]
        );
        let text = "loops:\n  L1: {room: hall, route: [[0, 0], [4, 0], [4, 1]]}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/pipe"]);
    }
}
