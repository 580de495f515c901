//! Every room with a heated screed has a marked place where its moisture can be measured without hitting the pipe.
//!
//! The tester takes a chisel to the screed. He needs to know where no pipe is, and so must the screeder, who leaves a
//! flag there.
//!
//! ## How it is worked out
//! A point counts for the room that it names, or else for the room whose outline it lies in. A large
//! room has three for each 200 m². The rule asks once the records say that the pipe is covered, and of a
//! design `as built` in any case. A point that is given is held against the drawn routes at any stage.
//!
//! ## Limit
//! One a room, three for 200 m²: from memory, DIN practice. 50 mm to the pipe's axis, the middle between runs at
//! 100 mm: common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//!   moisture-points:
//!     P1: {room: hall}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! # ^^^^^ room study has 0 points for measuring moisture; 1 is the least
//! ```
//! ```yaml passes
//! records:
//!   pipe-covered: 2026-03-06
//!   moisture-points: {P1: {room: hall}, P2: {room: study}}
//! ```

use super::prelude::*;
use crate::records::{OnSite, screed_of};
use design::{MoisturePoint, Placed, Screed, Stage};
use engineering::plan::{Line, Lines, Point};

pub static RULE: Rule = Rule {
    name: "moisture-points-missing",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[FROM_PIPE, LARGE_ROOM],
    file: include_str!("moisture_points_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "from memory: DIN practice";
const FROM_PIPE: Limit = Limit { name: "from-pipe", value: "50 mm", source: "common practice, no source" };
const LARGE_ROOM: Limit = Limit { name: "three-for-each", value: "200 m²", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.records.place == design::Place::default() && design.stage() != Stage::AsBuilt {
        return;
    }
    let marked = &design.records.moisture_points;
    let routes = marked.values().any(|point| point.at.is_some()).then(|| routes(inspection));
    let mut points = vec![0.0; design.rooms.len()];
    for (name, entry) in marked.iter() {
        let Some(room) = room_of(inspection, &entry.value) else { continue };
        points[room] += 1.0;
        if let (Some(at), Some(routes)) = (entry.value.at, &routes) {
            near_pipe(inspection, found, name, at, room, routes);
        }
    }
    too_few(inspection, found, &points);
}

/// The room that a point names, or the one whose outline it lies in.
fn room_of(inspection: &Inspection, point: &MoisturePoint) -> Option<usize> {
    let rooms = &inspection.design.rooms;
    if let Some(room) = &point.room {
        return rooms.position(&room.value.name);
    }
    let at = point.at.map(|at| Point::new(at.value.x, at.value.y))?;
    let storey = point.storey.as_ref().map(|storey| &storey.value.name);
    rooms.values().zip(&inspection.workings.rooms).position(|(given, worked)| {
        let same = given.storey.as_ref().is_none_or(|it| storey.is_none_or(|storey| *storey == it.value.name));
        same && matches!(&worked.outline, Some(Ok(outline)) if outline.contains(at))
    })
}

/// Every drawn route as a line, in the order of the loops; a loop that is not drawn is a line without points.
fn routes(inspection: &Inspection) -> Lines {
    let points = inspection.workings.loops.iter().map(|it| match &it.route {
        Some(Ok(route)) => route.points(),
        _ => &[],
    });
    Lines::new(points.map(Line::Open))
}

fn too_few(inspection: &Inspection, found: &mut Findings, points: &[f64]) {
    let design = inspection.design;
    if !inspection.is_read(design.records.place) {
        return;
    }
    let as_built = design.stage() == Stage::AsBuilt;
    let on_site = OnSite::of(inspection);
    let large = LARGE_ROOM.get::<Area>(&RULE, inspection);
    let wet = |room: usize| matches!(screed_of(inspection, room), Some(Screed::SandCement | Screed::CalciumSulphate));
    for ((at, room), points) in inspection.rooms().enumerate().zip(points) {
        let covered = on_site.room(at).covered;
        if (covered.is_none() && !as_built) || !wet(at) {
            continue;
        }
        if let (0, Some(place)) = (
            design.records.moisture_points.len(),
            covered.map(|day| day.at).or(as_built.then(|| inspection.stage_place())),
        ) {
            let message = "no points for measuring the moisture of the screed are marked";
            found.add(Finding::new(Subject::Records, place, message).source(SOURCE));
            return;
        }
        let area = room.worked.area.as_ref().map_or(Area::ZERO, |area| area.value);
        let wanted = (3.0 * (area / large.value) + 1e-6).floor().max(1.0);
        if *points < wanted {
            let noun = if *points == 1.0 { "point" } else { "points" };
            let message =
                format!("room {} has {points} {noun} for measuring moisture; {wanted} is the least", room.name);
            let finding = Finding::new(room.subject, room.place, message).value(Number::new(*points));
            let finding = finding.limit(&LimitValue::new(Number::new(wanted), SOURCE));
            found.add(finding);
        }
    }
}

/// A point against the drawn routes of the loops in its room.
fn near_pipe(
    inspection: &Inspection,
    found: &mut Findings,
    name: &str,
    at: Placed<design::Point>,
    room: usize,
    routes: &Lines,
) {
    let least = FROM_PIPE.get::<Length>(&RULE, inspection);
    let point = Point::new(at.value.x, at.value.y);
    for of in &inspection.workings.rooms[room].loops {
        let Some(distance) = routes.nearest(*of, point).map(|nearest| nearest.distance) else { continue };
        // A tenth of a millimetre is nothing on a floor.
        if distance + Length::millimetres(0.1) < least.value {
            let of = inspection.design.loops.at(*of).map_or("?", |(name, _)| name);
            let message = format!(
                "the moisture point {name} is {distance} from the pipe of loop {of}; {} is the least",
                least.value
            );
            found.add(Finding::new(Subject::Records, at.at, message).value(distance).limit(&least));
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn without_any_it_is_told_once() {
        let text = "records: {pipe-covered: 2026-03-06}\n";
        assert_eq!(messages(&RULE, text), ["no points for measuring the moisture of the screed are marked"]);
        assert!(messages(&RULE, "records: {}\n").is_empty());
    }

    #[test]
    fn a_point_keeps_away_from_the_pipe() {
        let plan = "rooms: {hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\nloops: {L1: {room: hall, pipe: \
                    PEX-16, route: [[0, 1], [3, 1], [3, 1.15], [0, 1.15]]}}\n";
        let point =
            |y: &str| messages(&RULE, &format!("{plan}records: {{moisture-points: {{P1: {{at: [1.5, {y}]}}}}}}\n"));
        assert!(point("1.05").is_empty());
        let near = "the moisture point P1 is 40 mm from the pipe of loop L1; 50 mm is the least";
        assert_eq!(point("1.04"), [near]);
        assert!(point("2.5").is_empty());
    }

    #[test]
    fn a_large_room_wants_more() {
        let hall = |area: &str, points: &str| {
            let text = format!(
                "rooms: {{hall: {{floor: screeded, area: {area}}}}}\nloops: {{L1: {{room: hall, pipe: PEX-16}}}}\nrecords: \
                 {{pipe-covered: 2026-03-06, moisture-points: {points}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(hall("130 m²", "{P1: {room: hall}}").is_empty());
        let short = ["room hall has 1 point for measuring moisture; 3 is the least"];
        assert_eq!(hall("200 m²", "{P1: {room: hall}}"), short);
        assert!(hall("200 m²", "{P1: {room: hall}, P2: {room: hall}, P3: {room: hall}}").is_empty());
    }
}
