//! A pipe keeps well away from flues, hearths, shafts and lift shafts.
//!
//! Beside a flue or a hearth a pipe gets hotter than it stands. In the edge of a shaft it is cut into when
//! the shaft is opened.
//!
//! ## How it is worked out
//! The clear distance is that from the middle line of the pipe, with its bends, less half of it, to the outline
//! of the upright.
//!
//! ## Limit
//! 200 mm: EN 1264-4, as secondary texts give it.
//!
//! ```yaml fails
//! uprights:
//!   F1: {kind: flue, outline: [[2, 1], [3, 1], [3, 2], [2, 2]]}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 0.9], [1, 0.9], [1, 3]]}
//! #                                             ^^^^^^^^ loop L1 is 92 mm clear of flue F1; 200 mm is the least
//! ```
//! ```yaml remedied
//! uprights:
//!   F1: {kind: flue, outline: [[2, 1], [3, 1], [3, 2], [2, 2]]}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 0.79], [1, 0.79], [1, 3]]}
//! ```

use super::pipe_too_near_wall::named;
use super::pipe_under_fixing::{clear, moved_off};
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use design::{Upright, UprightKind};
use workings::{NearTo, place_along};

pub static RULE: Rule = Rule {
    name: "pipe-too-near-flue",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[LEAST],
    caution: Some("Flues are for registered people only."),
    guards_people: true,
    file: include_str!("pipe_too_near_flue.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "clear-of-a-flue", value: "200 mm", source: "EN 1264-4, from secondary texts" };

/// What a tenth of a millimetre may be out.
const HAIR: Length = Length::millimetres(0.1);

fn check(inspection: &Inspection, found: &mut Findings) {
    let uprights = &inspection.design.uprights;
    if !uprights.values().any(keeps_pipes_away) {
        return;
    }
    for (at, upright) in uprights.values().enumerate() {
        if keeps_pipes_away(upright) && upright.outline.is_none() && !upright.broken {
            found.missing(Subject::Upright(at), "outline");
        }
    }
    let least = LEAST.get::<Length>(&RULE, inspection);
    for (it, near) in inspection.loops().zip(&inspection.workings.plan.near) {
        if !is_drawn(&it, found) {
            continue;
        }
        for near in near {
            let NearTo::Upright(at) = near.what else { continue };
            if !uprights.at(at).is_some_and(|(_, upright)| keeps_pipes_away(&upright.value)) {
                continue;
            }
            let Some(clear) = clear(found, &it, near) else { break };
            if clear >= least.value - HAIR {
                continue;
            }
            let (what, place) = named(inspection, near.what);
            let message = match clear > HAIR {
                true => format!("loop {} is {clear} clear of {what}; {} is the least", it.name, least.value),
                false if near.distance <= HAIR => {
                    format!("loop {} runs through {what}; {} clear of it is the least", it.name, least.value)
                }
                false => format!("loop {} touches {what}; {} clear of it is the least", it.name, least.value),
            };
            found.add(
                Finding::new(it.subject, place_along(it.given, near.along), message)
                    .value(clear)
                    .limit(&least)
                    .related(place, format!("{what} stands here"))
                    .remedy(moved_off(&it, near, least.value - clear)),
            );
        }
    }
}

fn keeps_pipes_away(upright: &Upright) -> bool {
    let kind = upright.kind.map(|kind| kind.value);
    matches!(kind, Some(UprightKind::Flue | UprightKind::Hearth | UprightKind::Shaft | UprightKind::LiftShaft))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(kind: &str, more: &str) -> String {
        format!(
            "uprights:\n  F1: {{kind: {kind}, outline: [[2, 1], [3, 1], [3, 2], [2, 2]]}}\nloops:\n  L1: {{room: hall, pipe: PE-X 16 x 2, {more}}}\n"
        )
    }

    fn at(kind: &str, y: f64) -> usize {
        messages(&RULE, &text(kind, &format!("route: [[0, {y}], [6, {y}]]"))).len()
    }

    #[test]
    fn two_hundred_millimetres_from_face_to_face() {
        assert_eq!([at("flue", 0.792), at("flue", 0.793)], [0, 1]);
        assert_eq!([at("lift shaft", 2.208), at("hearth", 2.207), at("shaft", 1.5)], [0, 1, 1]);
        assert_eq!([at("column", 0.9), at("stair", 0.9)], [0, 0]);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("flue", "spacing: 150 mm")), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, &text("column", "spacing: 150 mm")), [""; 0]);
        let no_outline = "uprights:\n  F1: {kind: flue}\nloops: {}\n";
        assert_eq!(not_checked(&RULE, no_outline), ["uprights/F1/outline"]);
    }
}
