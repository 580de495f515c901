//! Where on the plan findings are.

use super::building::{inside, middle_of_opening, near_field};
use super::paper::{Sheet, Spot};
use super::scene::{Drawn, Scene};
use check::{Finding, Place, Subject};
use design::Route;
use engineering::plan::{LegOf, Point};
use std::cmp::Reverse;
use workings::{NearTo, leg_place, place_along};

/// A finding that has a place on this plan.
pub struct Mark<'o> {
    pub finding: &'o Finding,
    pub spots: Vec<Spot>,
}

/// So many findings are looked for on a plan, the gravest first.
const MOST: usize = 300;
/// So many of the things that a route comes near to are gone through for each place.
const MOST_LOOKED_AT: usize = 40;
/// So many places of one finding are marked.
const MOST_SPOTS: usize = 6;

/// The findings that have a place on this plan, the gravest first, and how many more there are of this storey or of the
/// whole design.
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
    let here = findings.iter().filter(|finding| is_of_storey(scene, finding.about)).count();
    let elsewhere = here.saturating_sub(marks.len());
    (marks, elsewhere)
}

/// Whether a thing stands on this storey, or on none.
fn is_of_storey(scene: &Scene, about: Subject) -> bool {
    let on = &scene.on;
    let (all, at) = match about {
        Subject::Room(at) => (&on.rooms, at),
        Subject::Loop(at) => (&on.loops, at),
        Subject::Wall(at) => (&on.walls, at),
        Subject::Opening(at) => (&on.openings, at),
        Subject::MovementJoint(at) => (&on.movement_joints, at),
        Subject::Upright(at) => (&on.uprights, at),
        Subject::FloorHole(at) => (&on.floor_holes, at),
        Subject::Manifold(at) => (&on.manifolds, at),
        Subject::ElectricMat(at) => (&on.electric_mats, at),
        _ => return true,
    };
    all.binary_search(&at).is_ok()
}

/// The loops with a route by where the route stands in the file; one that is laid out by rule has its whole block there.
struct Routes<'o, 's>(Vec<(Place, &'s Drawn<'o>, &'o design::Loop)>);

impl<'o, 's> Routes<'o, 's> {
    fn new(scene: &'s Scene<'o>) -> Routes<'o, 's> {
        let design = &scene.outcome.design;
        let route = |it: &'s Drawn<'o>| {
            let given = &design.loops.at(it.at)?.1.value;
            Some((given.route.as_ref().map_or(given.place, |route| route.at), it, given))
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
        for &place in places.iter().take(2 * MOST_SPOTS) {
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

/// The places on a route that a place in the file stands for. One leg may cross several things, come near to others and
/// meet other pipes: what the finding names besides counts, else the corner where the leg begins.
fn on_route(scene: &Scene, it: &Drawn, given: &design::Loop, place: Place, all: &[Place]) -> Vec<Point> {
    let (design, plan) = (&scene.outcome.design, &scene.outcome.workings.plan);
    let named = |at: Option<Place>| at.is_some_and(|at| all.contains(&at));
    let crossed = plan.passages[it.at].iter().filter(|passage| passage.place == place);
    let crossed = crossed.filter(|passage| named(Some(passage.what.subject().place(design))));
    let points: Vec<Point> = crossed.map(|passage| passage.at).take(MOST_SPOTS).collect();
    if !points.is_empty() {
        return points;
    }
    let room = |at: usize| design.rooms.at(at).map(|(_, entry)| entry);
    let near = plan.near[it.at].iter().take(MOST_LOOKED_AT).find(|near| {
        let what = match near.what {
            NearTo::Wall(at) => Some(Subject::Wall(at).place(design)),
            NearTo::Upright(at) => Some(Subject::Upright(at).place(design)),
            NearTo::FloorHole(at) => Some(Subject::FloorHole(at).place(design)),
            NearTo::RoomEdge(at, _) => Some(Subject::Room(at).place(design)),
            NearTo::FixingLine(at, line) => {
                room(at).and_then(|room| Some(room.value.fixing_lines.at(line)?.1.name_place))
            }
        };
        named(what) && place_along(given, near.along) == place
    });
    let under = || {
        plan.under_keep_clear[it.at].iter().take(MOST_LOOKED_AT).find(|under| {
            let area = room(under.room).and_then(|room| Some(room.value.keep_clear.at(under.area)?.1.name_place));
            named(area) && place_along(given, under.along) == place
        })
    };
    let meets = || {
        plan.meetings.iter().take(100 * MOST_LOOKED_AT).find(|meeting| {
            let leg = |leg: &LegOf| design.loops.at(leg.route).map(|(_, entry)| leg_place(&entry.value, leg.leg));
            let legs = [leg(&meeting.first), leg(&meeting.second)];
            (meeting.first.route == it.at || meeting.second.route == it.at)
                && legs.contains(&Some(place))
                && legs.iter().all(|leg| named(*leg))
        })
    };
    let close = || {
        plan.pipe_gaps.iter().filter(|gap| gap.pipes.contains(&it.at)).take(MOST_LOOKED_AT).find(|gap| {
            let legs = [0, 1].map(|end| {
                let Some(Ok(route)) = &scene.outcome.workings.loops.get(gap.pipes[end])?.route else { return None };
                let (_, entry) = design.loops.at(gap.pipes[end])?;
                Some(leg_place(&entry.value, route.leg_nearest(gap.at[end])))
            });
            legs.contains(&Some(place)) && legs.iter().all(|leg| named(*leg))
        })
    };
    let corner = || match given.route.as_ref().map(|route| &route.value) {
        Some(Route::Points(points)) => {
            points.iter().find(|point| point.at == place).map(|it| workings::point(it.value))
        }
        Some(Route::Path(_)) => {
            let Some(Ok(route)) = &scene.outcome.workings.loops.get(it.at)?.route else { return None };
            let drawn: Vec<Point> =
                (0..).zip(route.points()).filter(|(leg, _)| leg_place(given, *leg) == place).map(|it| *it.1).collect();
            // An arc is many legs.
            drawn.get(drawn.len() / 2).copied()
        }
        None => None,
    };
    let point = near.map(|near| near.at).or_else(|| under().map(|under| it.route.at(under.along)));
    let point = point.or_else(|| meets().map(|meeting| meeting.at)).or_else(|| close().map(|gap| gap.at[0]));
    point.or_else(corner).into_iter().collect()
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
