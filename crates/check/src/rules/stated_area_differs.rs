//! The area that a loop states is one that its pipe covers, and that its room has.
//!
//! Pipe heats the floor that it lies in, and none beyond. An area that is stated for more of it promises heat that no one
//! will feel.
//!
//! ## How it is worked out
//! Of a loop that is drawn or laid out: the length in its rooms x its spacing, which is half a spacing on either side of the
//! pipe, against `area`. The lesser of the two counts in all that is worked out of the loop. Of a room: what the loops that heat
//! it alone state together, against its free floor.
//!
//! ## Limit
//! 15 % beyond what the pipe covers; 5 % beyond the free floor of the room: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//! loops:
//!   L1: {room: hall, pipe: PEX-16, spacing: 150 mm, area: 12 m², route: [[4, 1], [0.2, 1], [0.2, 1.2], [4, 1.2]]}
//! #                                                       ^^^^^ loop L1 states 12.0 m² and its pipe covers 1.2 m²; 15 % is the most that may be beyond it
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//! loops:
//!   L1: {room: hall, pipe: PEX-16, spacing: 150 mm, area: 1.17 m², route: [[4, 1], [0.2, 1], [0.2, 1.2], [4, 1.2]]}
//! ```
//! ```yaml fails
//! rooms:
//!   hall: {temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 18.9 m²}
//! # ^^^^ the loops of hall state 24.0 m²; its free floor is 18.9 m²
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 8 m, area: 12 m²}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 8 m, area: 12 m²}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 18.9 m²}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 8 m, area: 9.5 m²}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 8 m, area: 9.4 m²}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::{Loop, Placed};
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "stated-area-differs",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[PIPE, FLOOR],
    file: include_str!("stated_area_differs.rs"),
    check,
    ..Rule::USUAL
};

const PIPE: Limit = Limit { name: "beyond-the-pipe", value: "15 %", source: "common practice, no source" };
const FLOOR: Limit = Limit { name: "beyond-the-free-floor", value: "5 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut is_said = vec![false; inspection.workings.loops.len()];
    for (it, is_said) in inspection.loops().zip(&mut is_said) {
        *is_said = beyond_the_pipe(inspection, &it, found);
    }
    beyond_the_floor(inspection, &is_said, found);
}

/// Whether a loop states more than its pipe covers.
fn beyond_the_pipe(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, found: &mut Findings) -> bool {
    let most = PIPE.get::<Share>(&RULE, inspection);
    let (Some(stated), Some(Ok(_))) = (it.given.area, &it.worked.route) else { return false };
    if it.given.spacing.is_none() {
        if !it.given.broken {
            found.missing(it.subject, "spacing");
        }
        return false;
    }
    // Pipe that misses its rooms altogether is said elsewhere.
    if found.need(it.subject, &it.worked.length_in_room).is_none_or(|length| length.value <= Length::ZERO) {
        return false;
    }
    let Some(covered) = found.need(it.subject, &it.worked.area_served) else { return false };
    if stated.value <= covered.value * (1.0 + most.value.in_fraction() + 1e-9) {
        return false;
    }
    let message = format!(
        "loop {} states {} and its pipe covers {}; {} is the most that may be beyond it",
        it.name, stated.value, covered.value, most.value
    );
    let in_square_metres = format!("{:.2} m²", covered.value.in_square_metres());
    let mut finding = Finding::new(it.subject, stated.at, message)
        .value(stated.value)
        .limit(&most)
        .figure(format!("loops.{}.area-served", it.name));
    if let Some(place) = it.given.route.as_ref().map(|it| it.at).or(it.given.layout.map(|it| it.at)) {
        finding = finding.related(place, "its pipe is here");
    }
    let title = format!("state the area that its pipe covers, {in_square_metres}");
    found.add(finding.remedy(Remedy::new(title, stated.at, in_square_metres)));
    true
}

/// Rooms whose loops state more than there is.
fn beyond_the_floor(inspection: &Inspection, is_said: &[bool], found: &mut Findings) {
    let most = FLOOR.get::<Share>(&RULE, inspection);
    for room in inspection.rooms() {
        let stated: Vec<(&str, Placed<Area>)> = room
            .worked
            .loops
            .iter()
            .filter(|at| !is_said[**at])
            .filter_map(|at| inspection.design.loops.at(*at))
            .filter(|(_, entry)| entry.value.rooms.len() == 1)
            .filter_map(|(name, entry)| Some((name, entry.value.area?)))
            .collect();
        if stated.is_empty() {
            continue;
        }
        let Some(free) = found.need(room.subject, &room.worked.free_area) else { continue };
        let together: Area = stated.iter().map(|(_, area)| area.value).sum();
        if together <= free.value * (1.0 + most.value.in_fraction() + 1e-9) {
            continue;
        }
        let state = if stated.len() == 1 {
            format!("loop {} of {} states", stated[0].0, room.name)
        } else {
            format!("the loops of {} state", room.name)
        };
        let message = format!("{state} {together}; its free floor is {}", free.value);
        let mut finding = Finding::new(room.subject, room.place, message)
            .value(together)
            .limit(&most)
            .figure(format!("rooms.{}.free-area", room.name));
        for (name, area) in stated {
            finding = finding.related(area.at, format!("{name} states this"));
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn drawn(area: &str, room: &str, rest: &str) -> String {
        format!(
            "rooms:\n  hall: {{temperature: 20 °C, heat-loss: 600 W, floor: screeded, {room}}}\n\
             loops:\n  L1: {{room: hall, pipe: PEX-16, area: {area}{rest}}}\n"
        )
    }

    const HALL: &str = "outline: [[0, 0], [10, 0], [10, 3], [0, 3]]";

    /// 10 m of pipe at 0.2 m cover 2 m²: plain arithmetic.
    #[test]
    fn fifteen_per_cent_beyond_the_pipe() {
        let route = ", spacing: 200 mm, route: [[0, 1], [10, 1]]";
        assert_eq!(messages(&RULE, &drawn("2.3 m²", HALL, route)), [""; 0]);
        assert_eq!(messages(&RULE, &drawn("2.31 m²", HALL, route)).len(), 1);
        assert_eq!(messages(&RULE, &drawn("1 m²", HALL, route)), [""; 0]);
    }

    #[test]
    fn what_is_not_known_is_not_passed() {
        let route = ", route: [[0, 1], [10, 1]]";
        assert_eq!(not_checked(&RULE, &drawn("9 m²", HALL, route)), ["loops/L1/spacing"]);
        let without_outline = drawn("9 m²", "area: 30 m²", &format!(", spacing: 200 mm{route}"));
        assert_eq!(not_checked(&RULE, &without_outline), ["rooms/hall/outline"]);
    }

    /// One cause, one finding: a loop whose area is said to be wrong is left out of the room's sum.
    #[test]
    fn a_loop_is_not_said_twice() {
        let text = drawn("90 m²", HALL, ", spacing: 200 mm, route: [[0, 1], [10, 1]]");
        assert_eq!(messages(&RULE, &text).len(), 1);
        let alone = drawn("90 m²", HALL, ", spacing: 200 mm");
        assert_eq!(messages(&RULE, &alone), ["loop L1 of hall states 90.0 m²; its free floor is 30.0 m²"]);
    }
}
