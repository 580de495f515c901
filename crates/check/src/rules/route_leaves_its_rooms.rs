//! A drawn loop lies in the rooms that it heats and in rooms on the way there.
//!
//! Pipe outside every room is pipe in a wall, in the ground outside, or a slip of the pen. A loop that is drawn in
//! another room than the one it names leaves that one cold.
//!
//! ## How it is worked out
//! The drawn route is cut with the outlines of the rooms of its storey. What lies in none of them counts, but
//! for the way through walls: their thickness along the route and 50 mm more, or 400 mm where no wall is drawn
//! there or its thickness is not given. At its manifold, which may stand in a wall, half a metre at each end does
//! not count. A room of which no part of the route lies in its outline gets no heat from the loop, whatever the
//! loop says.
//!
//! ## Limit
//! None outside beyond the thickness of walls: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//! walls:
//!   W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}
//! loops:
//!   L1: {room: hall, route: [[3, 1], [4.6, 1], [4.6, 2], [3, 2]]}
//! #                          ^^^^^^ 2.2 m of loop L1 lie outside every room
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {outline: [[4.1, 0], [6, 0], [6, 3], [4.1, 3]]}
//! walls:
//!   W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}
//! loops:
//!   L1: {room: hall, route: [[3, 1], [4.6, 1], [4.6, 2], [3, 2]]}
//! ```
//! ```yaml fails
//! rooms:
//!   hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {outline: [[4, 0], [6, 0], [6, 3], [4, 3]]}
//! loops:
//!   L1: {room: study, route: [[3, 1], [1, 1], [1, 2], [3, 2]]}
//! #            ^^^^^ no part of loop L1 lies in study, which it is to heat; it lies in hall
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use design::{Loop, Place};
use engineering::plan::Areas;
use workings::{Crossed, Gap, LoopWorkings, Stretch, place_along, storey_of};

pub static RULE: Rule = Rule {
    name: "route-leaves-its-rooms",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[BEYOND, UNKNOWN, AT_MANIFOLD],
    file: include_str!("route_leaves_its_rooms.rs"),
    check,
    ..Rule::USUAL
};

const BEYOND: Limit = Limit { name: "beyond-a-wall", value: "50 mm", source: "common practice, no source" };
const UNKNOWN: Limit = Limit { name: "wall-not-drawn", value: "400 mm", source: "common practice, no source" };
const AT_MANIFOLD: Limit = Limit { name: "at-the-manifold", value: "0.5 m", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    for (at, it) in inspection.loops().enumerate() {
        let Some(Ok(route)) = &it.worked.route else {
            // What is not drawn leaves no room; what cannot be followed may.
            if it.given.route.is_some() {
                is_drawn(&it, found);
            }
            continue;
        };
        if inspection.workings.plan.stretches[at].len() >= Areas::MOST_PIECES {
            let reason = "the route goes in and out of rooms too often to be followed";
            found.not_checked(it.subject, &Gap::NoMethod(reason.into()));
            continue;
        }
        let outside = outside(inspection, at, route.length());
        if let Some(finding) = astray(inspection, at, &it) {
            found.add(with_places(finding, &it, &outside));
            continue;
        }
        if outside.is_empty() {
            continue;
        }
        // It may lie in a room that has no outline yet.
        let storey = storey_of(design, it.given);
        let without = inspection.rooms().find(|room| {
            let its = room.given.storey.as_ref().map(|storey| storey.name.as_str());
            !matches!(room.worked.outline, Some(Ok(_))) && (its.is_none() || storey.is_none() || its == storey)
        });
        if let Some(room) = without {
            if room.given.outline.is_none() && !room.given.broken {
                found.missing(room.subject, "outline");
            }
            continue;
        }
        let length: Length = outside.iter().map(|it| it.length).sum();
        let message = format!("{length} of loop {} lie outside every room", it.name);
        let place = place_along(it.given, outside[0].from);
        let limit: LimitValue<Length> = BEYOND.get(&RULE, inspection);
        let finding = Finding::new(it.subject, place, message).value(length).source(limit.source);
        found.add(with_places(finding, &it, &outside));
    }
}

/// The finding about rooms that a loop is to heat and does not come into.
fn astray(inspection: &Inspection, at: usize, it: &Item<Loop, LoopWorkings>) -> Option<Finding> {
    let design = inspection.design;
    let astray = &inspection.workings.plan.astray;
    let first = astray.partition_point(|(of, _)| *of < at);
    let missed: Vec<usize> = astray[first..].iter().take_while(|(of, _)| *of == at).map(|(_, room)| *room).collect();
    let name = |room: usize| design.rooms.at(room).map_or("", |(name, _)| name);
    let names = |rooms: &[usize]| rooms.iter().map(|room| name(*room)).collect::<Vec<_>>().join(" and ");
    let room = *missed.first()?;
    let mut lies_in: Vec<usize> = it.worked.length_in_rooms.iter().map(|(room, _)| *room).collect();
    lies_in.sort_unstable();
    let instead = match &lies_in[..] {
        [] => "it lies in no room".to_string(),
        rooms if rooms.len() > 3 => format!("it lies in {} others", rooms.len()),
        rooms => format!("it lies in {}", names(rooms)),
    };
    let message = format!("no part of loop {} lies in {}, which it is to heat; {instead}", it.name, names(&missed));
    let said = it.given.rooms.iter().find(|said| said.name == name(room));
    let place: Place = said.map_or(it.place, |said| said.at);
    let mut finding = Finding::new(it.subject, place, message).value(Length::ZERO).source(BEYOND.source);
    for room in missed {
        let outline = design.rooms.at(room).and_then(|(_, room)| room.value.outline.as_ref());
        if let Some(outline) = outline {
            finding = finding.related(outline.at, format!("{} gets no heat from it", name(room)));
        }
    }
    Some(finding)
}

/// The stretches of a loop outside every room that no wall accounts for.
fn outside(inspection: &Inspection, at: usize, whole: Length) -> Vec<Stretch> {
    let plan = &inspection.workings.plan;
    let (beyond, unknown) =
        (BEYOND.get::<Length>(&RULE, inspection).value, UNKNOWN.get::<Length>(&RULE, inspection).value);
    let at_manifold = AT_MANIFOLD.get::<Length>(&RULE, inspection).value;
    let passages = &plan.passages[at];
    let is_too_long = |stretch: &&Stretch| {
        let first = passages.partition_point(|passage| passage.along < stretch.from);
        let within = passages[first..].iter().take_while(|passage| passage.along <= stretch.to);
        let mut through = Length::ZERO;
        for passage in within {
            let wall = match passage.what {
                Crossed::Wall(wall) => Some(wall),
                Crossed::Opening(opening) => inspection.design.openings.at(opening).and_then(|(_, opening)| {
                    inspection.design.walls.position(&opening.value.wall.as_ref()?.value.name)
                }),
                Crossed::MovementJoint(_) => continue,
            };
            let wall = wall.and_then(|wall| inspection.design.walls.at(wall));
            let Some(thickness) = wall.and_then(|(_, wall)| wall.value.thickness) else {
                through += unknown;
                continue;
            };
            // A slanting pass is longer; along the wall it is none.
            through += thickness.value / passage.angle_degrees.to_radians().sin().max(0.25);
        }
        let mut most = if through > Length::ZERO { through + beyond } else { unknown };
        if stretch.from <= Length::ZERO || stretch.to >= whole {
            most = most.max(at_manifold);
        }
        stretch.length > most + Length::millimetres(0.1)
    };
    plan.stretches[at].iter().filter(|stretch| stretch.room.is_none()).filter(is_too_long).copied().collect()
}

/// The finding with the stretches outside beside it.
fn with_places(finding: Finding, it: &Item<Loop, LoopWorkings>, outside: &[Stretch]) -> Finding {
    let Some(Ok(route)) = &it.worked.route else { return finding };
    outside.iter().take(50).fold(finding, |finding, stretch| {
        let (length, at) = (stretch.length, route.at(stretch.from));
        let what = format!("{length} from [{:.2}, {:.2}] lie outside every room", at.x, at.y);
        finding.related(place_along(it.given, stretch.from), what)
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};
    use workings::ValueOf;

    fn text(walls: &str, route: &str) -> String {
        format!(
            "rooms:\n  hall: {{outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\n  study: {{outline: [[4.3, 0], [8, 0], [8, 3], [4.3, 3]]}}\n\
             {walls}loops:\n  L1: {{room: hall, route: {route}}}\n"
        )
    }

    fn says(walls: &str, route: &str) -> usize {
        messages(&RULE, &text(walls, route)).len()
    }

    #[test]
    fn the_way_through_a_wall_is_let_pass() {
        let wall =
            |thickness: &str| format!("walls:\n  W1: {{line: [[4.15, 0], [4.15, 3]], thickness: {thickness}}}\n");
        let across = "[[6, 1], [1, 1], [1, 2], [6, 2]]";
        assert_eq!(says(&wall("300 mm"), across), 0);
        assert_eq!(says(&wall("250 mm"), across), 0);
        assert_eq!(says(&wall("249 mm"), across), 1);
        assert_eq!(says("", across), 0);
        // At 45° the way through is longer.
        let slanting = "[[5, 0.5], [3.5, 2], [1, 2]]";
        assert_eq!((says(&wall("300 mm"), slanting), says(&wall("200 mm"), slanting)), (0, 1));
    }

    #[test]
    fn along_in_the_wall_and_at_the_manifold() {
        assert_eq!(says("", "[[1, 1], [4.1, 1], [4.1, 1.2], [1, 1.2]]"), 0);
        assert_eq!(says("", "[[1, 1], [4.1, 1], [4.1, 1.21], [1, 1.21]]"), 1);
        assert_eq!(says("", "[[-0.5, 1], [1, 1], [1, 2], [-0.5, 2]]"), 0);
        assert_eq!(says("", "[[-0.6, 1], [1, 1], [1, 2], [-0.5, 2]]"), 1);
    }

    /// A loop drawn in another room than it names heats nothing of the room that it names.
    #[test]
    fn the_named_room_gets_no_heat() {
        let text = "rooms:\n  hall: {temperature: 20 °C, heat-loss: 300 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}\n  \
                    study: {temperature: 20 °C, heat-loss: 0 W, floor: screeded, outline: [[4.3, 0], [8, 0], [8, 3], [4.3, 3]]}\nloops:\n  L1: {manifold: \
                    M1, pipe: PEX-16, spacing: 150 mm, room: hall, route: [[5, 1], [7, 1], [7, 1.15], [5, 1.15]]}\n";
        let outcome = check(text);
        let hall = &outcome.workings.rooms[0];
        assert!(hall.loops.is_empty() && hall.output.is_err());
        assert!(outcome.workings.loops[0].area_served.value().is_err());
        let of_heat: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == "room-short-of-heat").collect();
        assert_eq!(of_heat.len(), 0, "one cause, one finding: {of_heat:?}");
        assert_eq!(messages(&RULE, text), ["no part of loop L1 lies in hall, which it is to heat; it lies in study"]);
    }

    /// Storeys lie over each other in plan: a route on one of them is in no room of another.
    #[test]
    fn a_room_on_another_storey_is_not_come_into() {
        let text = "storeys: {ground: {}, first: {}}\nrooms:\n  hall: {storey: ground, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}\n  \
                    bed: {storey: first, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}\nloops:\n  L1: {storey: first, room: hall, route: \
                    [[1, 1], [3, 1]]}\n";
        assert_eq!(messages(&RULE, text), ["no part of loop L1 lies in hall, which it is to heat; it lies in bed"]);
    }

    #[test]
    fn a_room_without_an_outline_leaves_it_open() {
        let text = text("", "[[1, 1], [1, -2], [2, -2], [2, 1]]").replace("study: {outline", "study: {} #");
        assert_eq!(not_checked(&RULE, &text), ["rooms/study/outline"]);
        assert_eq!(messages(&RULE, &text), [""; 0]);
    }
}
