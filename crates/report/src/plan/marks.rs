//! Where on the plan findings are.

use super::building::{inside, middle_of_opening, near_field};
use super::paper::{Sheet, Spot};
use super::scene::{Drawn, Scene};
use check::{Finding, Place, Subject};
use design::Route;
use engineering::plan::Point;
use std::cmp::Reverse;
use workings::{leg_place, place_along};

/// A finding that has a place on this plan.
pub struct Mark<'o> {
    pub finding: &'o Finding,
    pub spots: Vec<Spot>,
}

/// So many findings are looked for on a plan, the gravest first.
const MOST: usize = 300;
/// So many places of one finding are marked.
const MOST_SPOTS: usize = 8;

/// The findings that have a place on this plan, the gravest first, and how many have none here.
pub fn marks<'o>(scene: &Scene<'o>, sheet: &Sheet) -> (Vec<Mark<'o>>, usize) {
    let mut findings: Vec<&Finding> = scene.outcome.findings.iter().collect();
    findings.sort_by_key(|finding| Reverse(finding.severity));
    let routes = Routes::new(scene);
    let mut marks = Vec::new();
    for finding in findings.iter().take(MOST * 4) {
        let mut spots: Vec<Spot> = routes.of(scene, finding).into_iter().map(|point| sheet.spot(point)).collect();
        if spots.is_empty() {
            spots.extend(of_subject(scene, sheet, finding.about));
        }
        spots.retain(|spot| near_field(sheet, *spot));
        spots.truncate(MOST_SPOTS);
        if !spots.is_empty() && marks.len() < MOST {
            marks.push(Mark { finding, spots });
        }
    }
    let elsewhere = findings.len() - marks.len();
    (marks, elsewhere)
}

/// The drawn routes by where they stand in the file.
struct Routes<'o, 's>(Vec<(Place, &'s Drawn<'o>, &'o design::Loop)>);

impl<'o, 's> Routes<'o, 's> {
    fn new(scene: &'s Scene<'o>) -> Routes<'o, 's> {
        let design = &scene.outcome.design;
        let route = |it: &'s Drawn<'o>| {
            let given = &design.loops.at(it.at)?.1.value;
            Some((given.route.as_ref()?.at, it, given))
        };
        let mut routes: Vec<_> = scene.loops.iter().filter_map(route).collect();
        routes.sort_by_key(|(place, _, _)| *place);
        Routes(routes)
    }

    /// The places on routes that a finding points at.
    fn of(&self, scene: &Scene, finding: &Finding) -> Vec<Point> {
        let related = finding.related.iter().map(|it| it.place);
        let places: Vec<Place> = std::iter::once(finding.place).chain(related).collect();
        let mut points: Vec<Point> = Vec::new();
        for &place in places.iter().take(4 * MOST_SPOTS) {
            let last = self.0.partition_point(|(route, _, _)| (route.file, route.start) <= (place.file, place.start));
            let Some((route, it, given)) = last.checked_sub(1).and_then(|at| self.0.get(at)) else { continue };
            if place.file == route.file && place.end <= route.end {
                let found = on_route(scene, it, given, place, &places);
                points.extend(found.into_iter().filter(|point| !points.contains(point)).collect::<Vec<_>>());
            }
        }
        points
    }
}

/// The places on a route that a place in the file stands for: what is crossed there, what is near, or the leg itself.
fn on_route(scene: &Scene, it: &Drawn, given: &design::Loop, place: Place, all: &[Place]) -> Vec<Point> {
    let (design, plan) = (&scene.outcome.design, &scene.outcome.workings.plan);
    let crossed = plan.passages[it.at].iter().filter(|passage| passage.place == place);
    // One leg may cross several things: the one that the finding names counts.
    let named: Vec<Point> = crossed
        .clone()
        .filter(|passage| all.contains(&passage.what.subject().place(design)))
        .map(|passage| passage.at)
        .take(MOST_SPOTS)
        .collect();
    if !named.is_empty() {
        return named;
    }
    let near =
        plan.near[it.at].iter().take(200).find(|near| place_along(given, near.along) == place).map(|near| near.at);
    let under = || {
        let under =
            plan.under_keep_clear[it.at].iter().take(200).find(|under| place_along(given, under.along) == place);
        under.map(|under| it.route.at(under.along))
    };
    let meets = || {
        let mut meetings = plan.meetings.iter().take(20_000);
        let here = |leg: &engineering::plan::LegOf| leg.route == it.at && leg_place(given, leg.leg) == place;
        meetings.find(|meeting| here(&meeting.first) || here(&meeting.second)).map(|meeting| meeting.at)
    };
    let leg = || {
        let Some(Route::Points(points)) = given.route.as_ref().map(|route| &route.value) else { return None };
        let at = points.iter().position(|point| point.at == place)?;
        let (from, to) = (points.get(at)?, points.get(at + 1).or(points.get(at))?);
        Some(Point::new((from.value.x + to.value.x) / 2.0, (from.value.y + to.value.y) / 2.0))
    };
    let passage = || plan.passages[it.at].iter().find(|passage| passage.place == place).map(|passage| passage.at);
    meets().or(near).or_else(under).or_else(passage).or_else(leg).into_iter().collect()
}

/// Where a thing of the design is.
fn of_subject(scene: &Scene, sheet: &Sheet, about: Subject) -> Option<Spot> {
    let design = &scene.outcome.design;
    let here = |all: &[usize], at: usize| all.binary_search(&at).is_ok();
    let on = &scene.on;
    let between =
        |line: design::Line| sheet.spot(workings::point(line.from)).middle(sheet.spot(workings::point(line.to)));
    let of_outline = |outline: &Option<design::Placed<design::Outline>>| {
        let outline = workings::outline(&outline.as_ref()?.value).ok()?;
        Some(sheet.spot(inside(&outline)))
    };
    let room = |at: usize| match &scene.outcome.workings.rooms.get(at)?.outline {
        Some(Ok(outline)) if here(&on.rooms, at) => Some(sheet.spot(inside(outline))),
        _ => None,
    };
    match about {
        Subject::Room(at) => room(at),
        Subject::Loop(at) if here(&on.loops, at) => match scene.loops.iter().find(|it| it.at == at) {
            Some(it) => Some(sheet.spot(it.route.at(it.route.length() * 0.25))),
            None => scene.outcome.workings.loops.get(at)?.rooms.iter().find_map(|at| room(*at)),
        },
        Subject::Wall(at) if here(&on.walls, at) => design.walls.at(at)?.1.value.line.map(|line| between(line.value)),
        Subject::Opening(at) if here(&on.openings, at) => middle_of_opening(scene, sheet, at),
        Subject::MovementJoint(at) if here(&on.movement_joints, at) => {
            design.movement_joints.at(at)?.1.value.line.map(|line| between(line.value))
        }
        Subject::Upright(at) if here(&on.uprights, at) => of_outline(&design.uprights.at(at)?.1.value.outline),
        Subject::FloorHole(at) if here(&on.floor_holes, at) => {
            design.floor_holes.at(at)?.1.value.at.map(|at| sheet.spot(workings::point(at.value)))
        }
        Subject::Manifold(at) if here(&on.manifolds, at) => {
            design.manifolds.at(at)?.1.value.at.map(|at| sheet.spot(workings::point(at.value)))
        }
        Subject::ElectricMat(at) if here(&on.electric_mats, at) => {
            of_outline(&design.electric_mats.at(at)?.1.value.outline)
        }
        _ => None,
    }
}
