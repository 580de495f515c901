//! The first run along an outside wall lies near it.
//!
//! The wall is where the room loses its heat, and a strip of cold floor there is felt as a draught.
//!
//! ## How it is worked out
//! Along the edges of the room behind which an outside wall stands, or that `outside-walls` name, every 100 mm: how far it
//! is to the nearest pipe in the room, be it a run of the loops that heat it or a tail of others. Where a keep-clear area lies
//! within 250 mm of the wall nothing is asked. A wall is told where on more than half of what is left the nearest pipe is too
//! far, and all such walls of a room are one finding.
//!
//! ## Limit
//! 250 mm: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 3], [0, 3]], outside-walls: [[[0, 0], [6, 0]]]}
//! # ^^^^ the first run along the outside wall of hall lies 400 mm from it; 250 mm is the most
//! loops:
//!   L1: {room: hall, spacing: 150 mm, route: [[0.1, 0.4], [5.9, 0.4], [5.9, 0.55], [0.1, 0.55]]}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 3], [0, 3]], outside-walls: [[[0, 0], [6, 0]]]}
//! loops:
//!   L1: {room: hall, spacing: 150 mm, route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.25], [0.1, 0.25]]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use design::{Place, Room, WallKind};
use engineering::plan::{Outline, Point, distances_to_runs};
use workings::{RoomWorkings, point};

pub static RULE: Rule = Rule {
    name: "cold-strip-at-outside-wall",
    group: Group::Geometry,
    weights: [Hint, Information, Information, Information],
    limits: &[MOST],
    file: include_str!("cold_strip_at_outside_wall.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "first-run", value: "250 mm", source: "common practice, no source" };

/// From place to place along a wall.
const STEP: f64 = 0.1;
/// What is farther than this has no run beside it.
const REACH: Length = Length::metres(2.0);
/// How far the face of a wall may lie from the edge of the room that is drawn at it.
const AT_FACE: Length = Length::millimetres(60.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let most: LimitValue<Length> = MOST.get(&RULE, inspection);
    let outside = outside_walls(inspection);
    let loops: Vec<_> = inspection.loops().collect();
    for (at, room) in inspection.rooms().enumerate() {
        let (Some(Ok(outline)), Some(laid)) = (&room.worked.outline, &inspection.workings.plan.laid[at]) else {
            continue;
        };
        // Where all is laid out, `layout-falls-short` tells why the first run lies far from the wall.
        if room.worked.free_area.is_err() || room.worked.loops.iter().all(|at| loops[*at].worked.laid.is_some()) {
            continue;
        }
        let walls = walls_of(&room, &outside);
        if walls.is_empty() {
            // A design that names outside walls anywhere has none at this room.
            if outside.is_empty() && room.given.outside_walls.is_empty() && !room.given.broken {
                found.missing(room.subject, "outside-walls");
            }
            continue;
        }
        if let Some(it) = laid.unknown().first().map(|at| &loops[*at]) {
            if is_drawn(it, found) && !it.given.broken {
                found.missing(it.subject, "spacing");
            }
            continue;
        }
        let keep_clear: Vec<&Outline> = room.worked.keep_clear.iter().map(|(_, area)| area).collect();
        let pipe = laid.all_pipe();
        let mut cold: Vec<ColdStrip> = Vec::new();
        for wall in &walls {
            let along = places(outline, wall, &keep_clear, most.value);
            let mut distances: Vec<Length> =
                distances_to_runs(&along, &pipe, REACH).into_iter().map(|distance| distance.unwrap_or(REACH)).collect();
            distances.sort_by(|one, other| one.si().total_cmp(&other.si()));
            let Some(&distance) = distances.get(distances.len() / 2) else { continue };
            // A wall that the room names may be drawn as well.
            let is_told = cold.iter().any(|it| it.along == along);
            if distance > most.value + Length::millimetres(1.0) && !is_told {
                cold.push(ColdStrip { distance, place: wall.place, along });
            }
        }
        let Some(worst) = cold.iter().map(|it| it.distance).reduce(Length::max) else { continue };
        let message = match cold[..] {
            [_] if worst < REACH => format!(
                "the first run along the outside wall of {} lies {worst} from it; {} is the most",
                room.name, most.value
            ),
            [_] => format!("no run lies along the outside wall of {}; {} from it is the most", room.name, most.value),
            _ => format!(
                "along {} outside walls of {} the first run lies too far off or there is none; {} is the most",
                cold.len(),
                room.name,
                most.value
            ),
        };
        let mut finding = Finding::new(room.subject, room.place, message).value(worst).limit(&most);
        for it in &cold {
            let said = match cold.len() {
                1 => "the outside wall".to_string(),
                _ if it.distance < REACH => format!("the first run lies {} from this outside wall", it.distance),
                _ => "no run lies along this outside wall".to_string(),
            };
            finding = finding.related(it.place, said);
        }
        found.add(finding);
    }
}

/// A strip of floor along an outside wall without pipe near the wall.
struct ColdStrip {
    /// From the wall to the nearest pipe.
    distance: Length,
    place: Place,
    /// The places along the wall where it was looked for.
    along: Vec<Point>,
}

/// An outside wall: its two ends, and how far its face lies from its line.
struct OutsideWall<'i> {
    ends: [Point; 2],
    half: Length,
    storey: Option<&'i str>,
    place: Place,
}

/// The walls to the outdoors.
fn outside_walls<'i>(inspection: &Inspection<'i>) -> Vec<OutsideWall<'i>> {
    let walls = inspection.design.walls.iter();
    let outside = walls.filter(|(_, wall)| wall.value.kind.is_some_and(|kind| kind.value == WallKind::Outside));
    outside
        .filter_map(|(_, entry)| {
            let wall = &entry.value;
            let line = wall.line?.value;
            Some(OutsideWall {
                ends: [point(line.from), point(line.to)],
                half: wall.thickness.map_or(Length::millimetres(400.0), |it| it.value) / 2.0,
                storey: wall.storey.as_ref().map(|storey| storey.name.as_str()),
                place: entry.name_place,
            })
        })
        .collect()
}

/// The outside walls that may stand at a room: those on its storey, and those that it names itself.
fn walls_of<'i>(room: &Item<'i, Room, RoomWorkings>, outside: &[OutsideWall<'i>]) -> Vec<OutsideWall<'i>> {
    let Some(Ok(outline)) = &room.worked.outline else { return Vec::new() };
    let storey = room.given.storey.as_ref().map(|storey| storey.name.as_str());
    let bounds = outline.bounds();
    let near = |wall: &&OutsideWall| {
        let [from, to] = wall.ends;
        let reach = (wall.half + AT_FACE).in_metres();
        (storey.is_none() || wall.storey.is_none() || storey == wall.storey)
            && from.x.min(to.x) <= bounds.high.x + reach
            && from.x.max(to.x) >= bounds.low.x - reach
            && from.y.min(to.y) <= bounds.high.y + reach
            && from.y.max(to.y) >= bounds.low.y - reach
    };
    let named = room.given.outside_walls.iter().map(|line| OutsideWall {
        ends: [point(line.value.from), point(line.value.to)],
        half: Length::ZERO,
        storey,
        place: line.at,
    });
    let built = outside.iter().filter(near).map(|wall| OutsideWall { ..*wall });
    named.chain(built).collect()
}

/// Places on the edge of a room along an outside wall, but for those before keep-clear areas.
fn places(outline: &Outline, wall: &OutsideWall, keep_clear: &[&Outline], depth: Length) -> Vec<Point> {
    const MOST_PLACES: usize = 2000;
    let [from, to] = wall.ends;
    let length = from.distance(to).in_metres();
    let mut found = Vec::new();
    if length <= 0.0 {
        return found;
    }
    let way = ((to.x - from.x) / length, (to.y - from.y) / length);
    let reach = (wall.half + AT_FACE).in_metres();
    for (a, b) in outline.edges() {
        let edge = a.distance(b).in_metres();
        let (x, y) = ((b.x - a.x) / edge, (b.y - a.y) / edge);
        // Along the wall to within 10°.
        if (x * way.1 - y * way.0).abs() > 0.17 {
            continue;
        }
        let count = (edge / STEP).ceil() as usize;
        for place in 0..count {
            if found.len() >= MOST_PLACES {
                return found;
            }
            let along = edge * (place as f64 + 0.5) / count as f64;
            let at = Point::new(a.x + x * along, a.y + y * along);
            let of_wall =
                ((at.x - from.x) * way.0 + (at.y - from.y) * way.1, (at.x - from.x) * way.1 - (at.y - from.y) * way.0);
            let is_along = (0.0..=length).contains(&of_wall.0) && of_wall.1.abs() <= reach;
            let depth = depth.in_metres();
            let inside = [0.05, 0.5, 1.0].map(|share| {
                let off = depth * share;
                [Point::new(at.x - y * off, at.y + x * off), Point::new(at.x + y * off, at.y - x * off)]
            });
            let is_kept = || keep_clear.iter().any(|area| inside.iter().flatten().any(|at| area.contains(*at)));
            if is_along && !is_kept() {
                found.push(at);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(first: f64, room: &str, more: &str) -> String {
        let back = first + 0.15;
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [6, 0], [6, 3], [0, 3]]{room}}}\nloops:\n  L1: {{room: hall, spacing: 150 mm, \
             route: [[0.1, {first}], [5.9, {first}], [5.9, {back}], [0.1, {back}]]}}\n{more}"
        )
    }

    fn wall(kind: &str) -> String {
        format!("walls: {{south: {{line: [[-1, -0.15], [7, -0.15]], thickness: 300 mm, kind: {kind}}}}}\n")
    }

    #[test]
    fn a_quarter_of_a_metre_from_the_face() {
        let says = |first: f64, kind: &str| messages(&RULE, &text(first, "", &wall(kind))).len();
        assert_eq!((says(0.25, "outside"), says(0.26, "outside"), says(0.26, "partition")), (0, 1, 0));
        let far = messages(&RULE, &text(2.4, "", &wall("outside")));
        assert_eq!(far, ["no run lies along the outside wall of hall; 250 mm from it is the most"]);
    }

    /// Of two cold walls both are told, in one finding; a tail of another room's loop along one of them warms it.
    #[test]
    fn all_cold_strips_of_a_room_are_one_finding() {
        let walls = "walls:\n  south: {line: [[-1, -0.15], [7, -0.15]], thickness: 300 mm, kind: outside}\n  north: {line: [[-1, 3.15], [7, 3.15]], \
                     thickness: 300 mm, kind: outside}\n";
        let told = |tail: &str, room: &str| {
            let text = text(0.4, room, &format!("{tail}{walls}"));
            let outcome = crate::bench::check(&text);
            let found: Vec<_> = outcome.findings.into_iter().filter(|it| it.rule.name == RULE.name).collect();
            let [finding] = &found[..] else { panic!("{found:#?}") };
            let places: Vec<String> = finding.related.iter().map(|it| it.message.clone()).collect();
            (finding.message.clone(), places)
        };
        let (message, places) = told("", "");
        assert_eq!(
            message,
            "along 2 outside walls of hall the first run lies too far off or there is none; 250 mm is the most"
        );
        assert_eq!(places, ["the first run lies 400 mm from this outside wall", "no run lies along this outside wall"]);
        // The room names one of them too.
        assert_eq!(told("", ", outside-walls: [[[0, 0], [6, 0]]]").1.len(), 2);
        let tail = "  L2: {room: study, spacing: 150 mm, route: [[0, 2.9], [6, 2.9], [6, 2.8], [0, 2.8]]}\n";
        let (message, places) = told(tail, "");
        assert_eq!(
            (&*message, &places[..]),
            (
                "the first run along the outside wall of hall lies 400 mm from it; 250 mm is the most",
                &["the outside wall".to_string()][..]
            )
        );
    }

    #[test]
    fn before_units_nothing_is_asked() {
        let units = |to: f64| format!(", keep-clear: {{units: [[0, 0], [{to}, 0], [{to}, 0.6], [0, 0.6]]}}");
        let says = |to: f64| messages(&RULE, &text(0.7, &units(to), &wall("outside"))).len();
        assert_eq!((says(3.0), says(6.0)), (1, 0));
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text(0.4, "", "")), ["rooms/hall/outside-walls"]);
        let undrawn = text(0.4, "", &wall("outside")).replace("spacing: 150 mm, route", "spacing: 150 mm} #");
        assert_eq!(not_checked(&RULE, &undrawn), ["loops/L1/route"]);
    }
}
