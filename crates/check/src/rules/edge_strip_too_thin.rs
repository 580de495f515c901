//! The edge strip lets the screed move by 5 mm.
//!
//! A strip that is crushed flat passes the push of the screed on to the wall.
//!
//! ## How it is worked out
//! `movement` of the strip, or 70 % of its thickness. For a bay with a side over 8 m a strip of 10 mm is asked. The
//! greatest growth that is named is that of the longest side of a bay by 25 K, at 0.012 mm for each metre and kelvin.
//!
//! ## Limit
//! 5 mm: EN 1264-4, from secondary texts; 8 mm of strip give them, which is a trade text's figure, and 10 mm beyond 8 m.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]
//!     edge-strip: {thickness: 5 mm, complete: true}
//! #                           ^^^^ the edge strip of floor screeded gives way by 3.5 mm; 5 mm is the least
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]
//!     edge-strip: {thickness: 8 mm, complete: true}
//! ```

use super::bay_side_over_eight::MOST as LONG_SIDE;
use super::prelude::*;
use design::EdgeStrip;

pub static RULE: Rule = Rule {
    name: "edge-strip-too-thin",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[MOVEMENT, CRUSH, LONG_BAYS],
    file: include_str!("edge_strip_too_thin.rs"),
    check,
    ..Rule::USUAL
};

const MOVEMENT: Limit = Limit { name: "movement", value: "5 mm", source: "EN 1264-4, from secondary texts" };
const CRUSH: Limit = Limit { name: "share-of-the-thickness", value: "70 %", source: "common practice, no source" };
const LONG_BAYS: Limit = Limit { name: "strip-at-long-bays", value: "10 mm", source: "trade text on edge strips" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let movement: LimitValue<Length> = MOVEMENT.get(&RULE, inspection);
    let crush = CRUSH.get::<Share>(&RULE, inspection).value.in_fraction();
    let long_bays: LimitValue<Length> = LONG_BAYS.get(&RULE, inspection);
    let workings = inspection.workings;
    for floor in inspection.floors() {
        let is_screed = |room: &usize| workings.has_screed(inspection.design, *room) == Some(true);
        if floor.worked.loops.is_empty() || !floor.worked.rooms.iter().any(is_screed) {
            continue;
        }
        // No strip at all has a rule of its own.
        let Some(strip) = &floor.given.edge_strip else { continue };
        let EdgeStrip::Strip(given) = &strip.value else { continue };
        let gives = match (given.movement, given.thickness) {
            (Some(movement), _) => movement.value,
            (None, Some(thickness)) => thickness.value * crush,
            (None, None) => {
                if !given.broken {
                    found.missing(floor.subject, "edge-strip/thickness");
                }
                continue;
            }
        };
        let sides = workings
            .plan
            .bays
            .iter()
            .filter(|bay| bay.heated && bay.rooms.iter().any(|room| floor.worked.rooms.contains(room)));
        let side = sides.map(|bay| bay.bay.longest_side()).fold(Length::ZERO, Length::max);
        let is_long = side
            > LONG_SIDE.get::<Length>(&super::bay_side_over_eight::RULE, inspection).value + Length::millimetres(0.5);
        let place = given.thickness.or(given.movement).map_or(strip.at, |given| given.at);
        let hair = Length::millimetres(1e-6);
        let thicker = |to: &str| {
            given
                .thickness
                .filter(|_| given.movement.is_none())
                .map(|thickness| Remedy::new(format!("lay a strip of {to}"), thickness.at, to))
        };
        if gives < movement.value - hair {
            let message =
                format!("the edge strip of floor {} gives way by {gives}; {} is the least", floor.name, movement.value);
            let to = if is_long { "10 mm" } else { "8 mm" };
            found.add(Finding::new(floor.subject, place, message).value(gives).limit(&movement).remedy(thicker(to)));
        } else if let (true, Some(thickness)) = (is_long, given.thickness)
            && thickness.value < long_bays.value - hair
        {
            let grows = Length::millimetres(side.in_metres() * 0.012 * 25.0);
            let message = format!(
                "the edge strip of floor {} is {} thick; a bay with a side of {side} grows by {grows} and wants {}",
                floor.name, thickness.value, long_bays.value
            );
            let finding = Finding::new(floor.subject, place, message).value(thickness.value).limit(&long_bays);
            found.add_as(Warning, finding.remedy(thicker("10 mm")));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(strip: &str, wide: f64) -> String {
        format!(
            "floors:\n  screeded:\n    layers: [{{material: cement screed, thickness: 65 mm, pipe: at base}}]\n    edge-strip: {{{strip}}}\nrooms:\n  \
             hall: {{floor: screeded, outline: [[0, 0], [{wide}, 0], [{wide}, 4], [0, 4]]}}\nloops:\n  L1: {{room: hall, spacing: 150 mm}}\n"
        )
    }

    /// Worked example of the rules' catalogue: 8 mm crushed by 70 % are 5.6 mm, 5 mm are 3.5 mm; a bay of 8 m grows by 2.4 mm.
    #[test]
    fn five_millimetres_of_movement() {
        let says = |strip: &str| messages(&RULE, &text(strip, 6.0));
        assert_eq!(says("thickness: 8 mm"), [""; 0]);
        assert_eq!(
            says("thickness: 5 mm"),
            ["the edge strip of floor screeded gives way by 3.5 mm; 5 mm is the least"]
        );
        assert_eq!(says("thickness: 5 mm, movement: 5 mm"), [""; 0]);
        assert_eq!(says("thickness: 10 mm, movement: 4.9 mm").len(), 1);
        assert_eq!(not_checked(&RULE, &text("complete: true", 6.0)), ["floors/screeded/edge-strip/thickness"]);
    }

    #[test]
    fn a_bay_over_eight_metres_wants_ten_millimetres() {
        assert_eq!(messages(&RULE, &text("thickness: 8 mm", 8.0)), [""; 0]);
        assert_eq!(
            messages(&RULE, &text("thickness: 8 mm", 10.0)),
            [
                "the edge strip of floor screeded is 8 mm thick; a bay with a side of 10.0 m grows by 3 mm and wants 10 mm"
            ]
        );
        assert_eq!(messages(&RULE, &text("thickness: 10 mm", 10.0)), [""; 0]);
    }
}
