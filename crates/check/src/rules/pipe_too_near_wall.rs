//! A pipe keeps its distance from walls, columns and stairs.
//!
//! Skirtings, door linings and stair strings are screwed and nailed along the edge of a floor. There is no
//! heat to be gained there either: the edge strip and the wall take it.
//!
//! ## How it is worked out
//! The clear distance is that from the middle line of the pipe as it lies, with its bends, less half the pipe, to the edge of
//! the room, the face of a wall (its middle line and half its thickness), a column or a stair. Where a
//! pipe comes in through a wall or a doorway, 250 mm of it are not looked at; nor is the last half metre
//! at the manifold. An edge behind which another room goes on without a wall is open and does not count.
//!
//! ## Limit
//! 50 mm: EN 1264-4, as secondary texts give it. 100 mm from the wall to the middle of the pipe is usual. A warning at any
//! stage but `preliminary`; where pipe runs through a column or a stair it is an error once it is to be built.
//!
//! ```yaml fails
//! rooms:
//!   hall: {outline: [[0, 0], [6, 0], [6, 3], [0, 3]]}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[5, 1], [5, 0.045], [1, 0.045], [1, 2], [5, 2]]}
//! #                                                     ^^^^^^^^^^ loop L1 is 37 mm clear of the edge of hall at [4.92, 0.04]; 50 mm is the least
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {outline: [[0, 0], [6, 0], [6, 3], [0, 3]]}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[5, 1], [5, 0.1], [1, 0.1], [1, 2], [5, 2]]}
//! ```

use super::pipe_crosses_itself::written;
use super::pipe_under_fixing::{clear, moved_off};
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use crate::remedy::Change;
use design::{Loop, Place, Point, Route, UprightKind};
use engineering::plan::{self, Outline};
use workings::{LoopWorkings, Near, NearTo, place_along};

pub static RULE: Rule = Rule {
    name: "pipe-too-near-wall",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[LEAST],
    file: include_str!("pipe_too_near_wall.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "clear-of-a-wall", value: "50 mm", source: "EN 1264-4, from secondary texts" };

/// Where a run along a wall usually lies, from the wall to the middle of the pipe.
const USUAL: f64 = 0.1;

/// Nobody lays pipe to half a millimetre.
const HAIR: Length = Length::millimetres(0.5);

fn check(inspection: &Inspection, found: &mut Findings) {
    let least: LimitValue<Length> = LEAST.get(&RULE, inspection);
    for (it, near) in inspection.loops().zip(&inspection.workings.plan.near) {
        if !matches!(it.worked.route, Some(Ok(_))) {
            let has_outline = |room: &usize| inspection.workings.rooms[*room].outline.is_some();
            if it.worked.rooms.iter().any(has_outline) {
                is_drawn(&it, found);
            }
            continue;
        }
        let mut too_near: Vec<(&Near, Length)> = Vec::new();
        for near in near.iter().filter(|near| is_upright(inspection, near.what)) {
            let Some(clear) = clear(found, &it, near) else { break };
            if clear < least.value - HAIR {
                too_near.push((near, clear));
            }
        }
        let Some((worst, clear)) = too_near.iter().min_by(|one, other| one.1.si().total_cmp(&other.1.si())) else {
            continue;
        };
        let (what, _) = named(inspection, worst.what);
        let is_through = worst.distance <= HAIR && matches!(worst.what, NearTo::Upright(_));
        let at = format!("at [{:.2}, {:.2}]", worst.at.x, worst.at.y);
        let message = match *clear > HAIR {
            true => format!("loop {} is {clear} clear of {what} {at}; {} is the least", it.name, least.value),
            false if is_through => {
                format!("loop {} runs through {what} {at}; {} clear of it is the least", it.name, least.value)
            }
            false => format!("loop {} touches {what} {at}; {} clear of it is the least", it.name, least.value),
        };
        let mut finding =
            Finding::new(it.subject, place_along(it.given, worst.along), message).value(*clear).limit(&least);
        for (near, clear) in &too_near {
            let (what, place) = named(inspection, near.what);
            let text = format!("{clear} clear of {what} at [{:.2}, {:.2}]", near.at.x, near.at.y);
            finding = finding.related(place, text);
        }
        let weight = match RULE.weight(inspection.design.stage()) {
            Error if !is_through => Warning,
            usual => usual,
        };
        let stands_free = matches!(worst.what, NearTo::Upright(_));
        let off = stands_free.then(|| moved_off(&it, worst, least.value - *clear)).flatten();
        found.add_as(weight, finding.remedy(moved_in(inspection, &it)).remedy(off));
    }
}

/// Whether it is one of the uprights of this rule, whatever does not say what it is among them; flues, hearths and shafts have a
/// rule of their own.
fn is_upright(inspection: &Inspection, what: NearTo) -> bool {
    match what {
        NearTo::Wall(_) | NearTo::RoomEdge(..) => true,
        NearTo::FixingLine(..) | NearTo::FloorHole(_) => false,
        NearTo::Upright(at) => {
            let kind = inspection.design.uprights.at(at).and_then(|(_, upright)| upright.value.kind);
            matches!(kind.map(|kind| kind.value), None | Some(UprightKind::Column | UprightKind::Stair))
        }
    }
}

/// What a pipe is near to, in words, and where it stands in the file.
pub(super) fn named(inspection: &Inspection, what: NearTo) -> (String, Place) {
    let design = inspection.design;
    let named = match what {
        NearTo::Wall(at) => design.walls.at(at).map(|(name, wall)| (format!("wall {name}"), wall.name_place)),
        NearTo::RoomEdge(at, _) => design.rooms.at(at).map(|(name, room)| {
            let outline = room.value.outline.as_ref().map_or(room.name_place, |outline| outline.at);
            (format!("the edge of {name}"), outline)
        }),
        NearTo::Upright(at) => design.uprights.at(at).map(|(name, upright)| {
            let kind = upright.value.kind.map_or("upright", |kind| kind.value.word());
            (format!("{kind} {name}"), upright.name_place)
        }),
        NearTo::FloorHole(at) => {
            design.floor_holes.at(at).map(|(name, hole)| (format!("floor hole {name}"), hole.name_place))
        }
        NearTo::FixingLine(..) => None,
    };
    named.unwrap_or_default()
}

/// The points of the route that lie too near the edges of the loop's rooms, moved to the usual distance.
fn moved_in(inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> Option<Remedy> {
    let Some(Route::Points(points)) = it.given.route.as_ref().map(|route| &route.value) else { return None };
    let rooms: Vec<&Outline> = it
        .worked
        .rooms
        .iter()
        .filter_map(|room| inspection.workings.rooms[*room].outline.as_ref()?.as_ref().ok())
        .collect();
    let moved = |placed: &design::Placed<Point>| {
        let point = placed.value;
        let room = rooms.iter().find(|room| room.contains(workings::point(point)))?;
        let (x, y) = away_from_edges(room, point);
        (x != 0.0 || y != 0.0)
            .then(|| Change { place: placed.at, text: written(Point { x: point.x + x, y: point.y + y }) })
    };
    // Each point is held against each edge: of thousands no remedy is made out.
    let edges: usize = rooms.iter().map(|room| room.corners().len()).sum();
    if points.len() * edges > 1_000_000 {
        return None;
    }
    // The first and the last point are those at the manifold.
    let inner = points.get(1..points.len().saturating_sub(1))?;
    Remedy::of("move the runs along the wall to 100 mm from it", inner.iter().filter_map(moved))
}

/// How far a point has to move to be as far from the edges near it as is usual.
fn away_from_edges(room: &Outline, point: Point) -> (f64, f64) {
    let (mut x, mut y) = (0.0, 0.0);
    for (from, to) in room.edges() {
        let way = (to.x - from.x, to.y - from.y);
        let length = way.0.hypot(way.1);
        let to_point = (point.x - from.x, point.y - from.y);
        let along = (to_point.0 * way.0 + to_point.1 * way.1) / length;
        // To the left of the edge, positive.
        let off = (way.0 * to_point.1 - way.1 * to_point.0) / length;
        if off.abs() < USUAL && (0.0..=length).contains(&along) {
            // What lies on the edge goes into the room.
            let inwards = || {
                let left = plan::Point::new(point.x - way.1 * USUAL / length, point.y + way.0 * USUAL / length);
                if room.contains(left) { 1.0 } else { -1.0 }
            };
            let side = if off.abs() < HAIR.in_metres() { inwards() } else { off.signum() };
            let by = (USUAL - off * side) * side / length;
            x -= way.1 * by;
            y += way.0 * by;
        }
    }
    (x, y)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn text(route: &str) -> String {
        format!(
            "rooms:\n  hall: {{outline: [[0, 0], [6, 0], [6, 3], [0, 3]]}}\nuprights:\n  C1: {{kind: column, outline: [[2, 1.4], \
             [2.3, 1.4], [2.3, 1.7], [2, 1.7]]}}\n  F1: {{kind: flue, outline: [[4, 1.4], [4.3, 1.4], [4.3, 1.7], [4, 1.7]]}}\nloops:\n  \
             L1: {{room: hall, pipe: PE-X 16 x 2, {route}}}\n"
        )
    }

    fn said(route: &str) -> Vec<String> {
        messages(&RULE, &text(&format!("route: {route}")))
    }

    /// Worked example of the rules' catalogue for EN 1264-4: 100 mm to the middle is 92 mm clear, 45 mm is 37 mm.
    #[test]
    fn fifty_millimetres_from_face_to_face() {
        let run = |off: f64| said(&format!("[[5, 1], [5, {off}], [1, {off}], [1, 1]]"));
        assert_eq!(run(0.1), [""; 0]);
        assert_eq!(run(0.058), [""; 0]);
        assert_eq!(run(0.0576), [""; 0]);
        assert_eq!(run(0.057), ["loop L1 is 49 mm clear of the edge of hall at [4.92, 0.06]; 50 mm is the least"]);
        assert_eq!(run(0.0), ["loop L1 touches the edge of hall at [4.92, 0.00]; 50 mm clear of it is the least"]);
    }

    /// On whichever edge, and however its coordinates are rounded.
    #[test]
    fn a_run_on_the_edge_is_moved_into_the_room() {
        for (x, wanted) in [(9.1, "9"), (5.1, "5.2")] {
            let text = format!(
                "rooms:\n  hall: {{outline: [[5.1, 0], [9.1, 0], [9.1, 3], [5.1, 3]]}}\nloops:\n  L1: {{room: hall, pipe: PE-X 16 x 2, \
                 route: [[7, 1], [{x}, 1], [{x}, 2], [7, 2]]}}\n"
            );
            let outcome = check(&text);
            let found = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it is told");
            let texts: Vec<&str> = found.remedies[0].changes.iter().map(|it| it.text.as_str()).collect();
            assert_eq!(texts, [format!("[{wanted}, 1]"), format!("[{wanted}, 2]")]);
        }
    }

    #[test]
    fn through_a_column_is_graver_than_beside_it() {
        let told = |at: f64| {
            let found = check(&text(&format!("route: [[5, 1], [5, {at}], [1, {at}], [1, 1]]"))).findings;
            let told = found.into_iter().find(|it| it.rule.name == RULE.name);
            told.map(|it| (it.severity, it.message))
        };
        let through = "loop L1 runs through column C1 at [2.30, 1.50]; 50 mm clear of it is the least".to_string();
        assert_eq!(told(1.5), Some((crate::Severity::Error, through)));
        assert_eq!(told(1.36).map(|it| it.0), Some(crate::Severity::Warning));
        let beside = check(&text("route: [[5, 1], [5, 1.36], [1, 1.36], [1, 1]]")).findings;
        let beside = beside.iter().find(|it| it.rule.name == RULE.name).expect("it is told");
        assert_eq!(beside.remedies.iter().map(|it| it.title.as_str()).collect::<Vec<_>>(), ["move the run 20 mm off"]);
    }

    #[test]
    fn columns_count_and_flues_have_their_own_rule() {
        assert_eq!(
            said("[[1, 1.36], [3, 1.36]]"),
            ["loop L1 is 32 mm clear of column C1 at [2.00, 1.36]; 50 mm is the least"]
        );
        assert_eq!(said("[[3.5, 1.36], [5, 1.36]]"), [""; 0]);
    }

    #[test]
    fn a_loop_round_the_room_is_told_once_and_moved_in_on_every_side() {
        let outcome =
            check(&text("route: [[5, 2], [5.96, 2], [5.96, 0.04], [0.04, 0.04], [0.04, 2.96], [3, 2.96], [3, 2]]"));
        let findings: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].related.len(), 4);
        let texts: Vec<&str> = findings[0].remedies[0].changes.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(texts, ["[5.9, 2]", "[5.9, 0.1]", "[0.1, 0.1]", "[0.1, 2.9]", "[3, 2.9]"]);
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("spacing: 150 mm")), ["loops/L1/route"]);
        let text = text("route: [[5, 1], [5, 0.04], [1, 0.04], [1, 1]]").replace("pipe: PE-X 16 x 2, ", "");
        assert_eq!(not_checked(&RULE, &text), ["loops/L1/pipe"]);
    }
}
