//! The plan: which rooms routes run through, what they cross and where.

use crate::Workings;
use design::{Design, Line, Loop, Place, Placed, Ref, Route, Storey};
use engineering::plan::{self, Areas, Contact, Lines, Piece, Point};
use quantity::Length;

/// What was worked out of the plan.
#[derive(Debug, Clone, Default)]
pub struct PlanWorkings {
    /// For each loop, what its route crosses, in the order of the route.
    pub passages: Vec<Vec<Passage>>,
    /// For each loop, its route cut where it goes from one room to another: the room, from, to.
    pub stretches: Vec<Vec<Stretch>>,
}

/// A crossing of a loop's route with something in its way.
#[derive(Debug, Clone)]
pub struct Passage {
    pub what: Crossed,
    pub at: Point,
    /// How far it is along the route.
    pub along: Length,
    /// Where the leg that crosses begins in the file.
    pub place: Place,
    /// Whether it is in the second half of the route, on the way back.
    pub on_return: bool,
}

/// A stretch of a route in one room, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub room: Option<usize>,
    pub from: Length,
    pub to: Length,
}

/// What a route may cross, by its position in the design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Crossed {
    /// A wall, not through an opening.
    Wall(usize),
    /// A wall, through this opening.
    Opening(usize),
    MovementJoint(usize),
}

/// The points of the design as points of the plan.
pub(crate) fn points(placed: &[Placed<design::Point>]) -> Vec<Point> {
    placed.iter().map(|it| point(it.value)).collect()
}

pub(crate) fn point(of: design::Point) -> Point {
    Point::new(of.x, of.y)
}

/// The geometry of a drawn route, or what is wrong with it.
pub(crate) fn route(of: &Route) -> Result<plan::Route, String> {
    let points = match of {
        Route::Points(points) => self::points(points),
        Route::Path(path) => return Err(format!("`{path}` is not read yet")),
    };
    plan::Route::new(&points).map_err(|fault| fault.to_string())
}

type StoreyName<'d> = Option<&'d str>;

fn storey_name(of: &Option<Placed<Ref<Storey>>>) -> StoreyName<'_> {
    of.as_ref().map(|it| it.value.name.as_str())
}

/// The storey that a loop is laid on: its own, its room's, its manifold's.
pub(crate) fn storey_of<'d>(design: &'d Design, of: &'d Loop) -> StoreyName<'d> {
    let of_room = || of.rooms.first().and_then(|room| storey_name(&design.rooms.get(&room.value.name)?.storey));
    let of_manifold = || storey_name(&design.manifolds.get(&of.manifold.as_ref()?.value.name)?.storey);
    storey_name(&of.storey).or_else(of_room).or_else(of_manifold)
}

/// All that stands on one storey, made ready for routes.
struct Ground<'w> {
    storey: StoreyName<'w>,
    areas: Areas<'w>,
    /// The rooms behind the areas.
    rooms: Vec<usize>,
    lines: Lines,
    /// What each line is; for an opening's wall, the wall.
    what: Vec<Crossed>,
}

/// What names no storey stands on every one.
fn same_storey(one: StoreyName, other: StoreyName) -> bool {
    one.is_none() || other.is_none() || one == other
}

impl<'w> Ground<'w> {
    fn new(design: &'w Design, workings: &'w Workings, storey: StoreyName<'w>) -> Ground<'w> {
        let here = |of| same_storey(storey, storey_name(of));
        let mut rooms = Vec::new();
        let mut outlines = Vec::new();
        for (at, (given, worked)) in design.rooms.values().zip(&workings.rooms).enumerate() {
            if let Some(Ok(outline)) = &worked.outline
                && here(&given.storey)
            {
                rooms.push(at);
                outlines.push(outline);
            }
        }
        let mut what = Vec::new();
        let mut ends = Vec::new();
        let mut add = |crossed, line: &Option<Placed<Line>>| {
            if let Some(line) = line {
                what.push(crossed);
                ends.push([point(line.value.from), point(line.value.to)]);
            }
        };
        for (at, wall) in design.walls.values().enumerate().filter(|(_, wall)| here(&wall.storey)) {
            add(Crossed::Wall(at), &wall.line);
        }
        for (at, joint) in design.movement_joints.values().enumerate().filter(|(_, joint)| here(&joint.storey)) {
            add(Crossed::MovementJoint(at), &joint.line);
        }
        let lines = Lines::new(ends.iter().map(|line| plan::Line::Open(line)));
        Ground { storey, areas: Areas::new(outlines), rooms, lines, what }
    }
}

/// The openings of each wall: position, and where they begin and end along its line.
fn openings(design: &Design) -> Vec<Vec<(usize, f64, f64)>> {
    let mut of_walls = vec![Vec::new(); design.walls.len()];
    for (at, opening) in design.openings.values().enumerate() {
        if let (Some(wall), Some(from), Some(to)) = (&opening.wall, opening.from, opening.to)
            && let Some(wall) = design.walls.position(&wall.value.name)
        {
            let (from, to) = (from.value.in_metres(), to.value.in_metres());
            of_walls[wall].push((at, from.min(to), from.max(to)));
        }
    }
    of_walls
}

/// Finds what each drawn route runs through and crosses, and tells rooms of their loops.
pub(crate) fn work_out(design: &Design, workings: &mut Workings) {
    let mut passages = vec![Vec::new(); design.loops.len()];
    let mut stretches = vec![Vec::new(); design.loops.len()];
    let openings = openings(design);
    let mut grounds: Vec<Ground> = Vec::new();
    for (at, (given, worked)) in design.loops.values().zip(&workings.loops).enumerate() {
        let Some(Ok(route)) = &worked.route else { continue };
        let storey = storey_of(design, given);
        let ground = match grounds.iter().position(|ground| ground.storey == storey) {
            Some(known) => &grounds[known],
            None => {
                grounds.push(Ground::new(design, workings, storey));
                &grounds[grounds.len() - 1]
            }
        };
        stretches[at] = cut(ground, route);
        passages[at] = crossings(design, ground, given, route, &openings);
    }
    drop(grounds);
    for (at, given) in design.loops.values().enumerate() {
        let named = given.rooms.iter().filter_map(|room| design.rooms.position(&room.value.name));
        let mut rooms: Vec<usize> = named.collect();
        if rooms.is_empty() && given.rooms.is_empty() {
            rooms.extend(most_in(&stretches[at]).or((design.rooms.len() == 1).then_some(0)));
        }
        for room in &rooms {
            if !workings.rooms[*room].loops.contains(&at) {
                workings.rooms[*room].loops.push(at);
            }
        }
        workings.loops[at].rooms = rooms;
    }
    workings.plan = PlanWorkings { passages, stretches };
}

fn cut(ground: &Ground, route: &plan::Route) -> Vec<Stretch> {
    let stretch =
        |piece: &Piece| Stretch { room: piece.area.map(|area| ground.rooms[area]), from: piece.from, to: piece.to };
    ground.areas.pieces(route).iter().map(stretch).collect()
}

/// The room in which most of a route lies.
fn most_in(stretches: &[Stretch]) -> Option<usize> {
    let mut rooms: Vec<usize> = stretches.iter().filter_map(|it| it.room).collect();
    rooms.sort_unstable();
    rooms.dedup();
    let in_room = |room: usize| length_in(stretches, Some(room)).in_metres();
    rooms.into_iter().max_by(|one, other| in_room(*one).total_cmp(&in_room(*other)))
}

/// The length of a route in a room, or in none.
pub(crate) fn length_in(stretches: &[Stretch], room: Option<usize>) -> Length {
    stretches.iter().filter(|it| it.room == room).map(|it| it.to - it.from).sum()
}

fn crossings(
    design: &Design,
    ground: &Ground,
    given: &Loop,
    route: &plan::Route,
    openings: &[Vec<(usize, f64, f64)>],
) -> Vec<Passage> {
    let whole = route.length();
    let meetings = ground.lines.meetings(route);
    let crosses = meetings.all.iter().filter(|meeting| meeting.contact == Contact::Crosses);
    crosses
        .map(|meeting| {
            let what = match ground.what[meeting.line] {
                Crossed::Wall(wall) => through(design, wall, meeting.at, &openings[wall]),
                other => other,
            };
            let place = match given.route.as_ref().map(|it| (&it.value, it.at)) {
                Some((Route::Points(points), at)) => points.get(meeting.leg).map_or(at, |point| point.at),
                Some((_, at)) => at,
                None => given.place,
            };
            let on_return = meeting.along > whole / 2.0;
            Passage { what, at: meeting.at, along: meeting.along, place, on_return }
        })
        .collect()
}

/// The opening of a wall that a point on its line lies in, or the wall itself.
fn through(design: &Design, wall: usize, at: Point, openings: &[(usize, f64, f64)]) -> Crossed {
    let line = design.walls.at(wall).and_then(|(_, entry)| entry.value.line);
    let Some(line) = line else { return Crossed::Wall(wall) };
    let along = point(line.value.from).distance(at).in_metres();
    // A tail drawn on the very edge of a doorway passes through it.
    let opening = openings.iter().find(|(_, from, to)| (*from - 1e-6..=*to + 1e-6).contains(&along));
    opening.map_or(Crossed::Wall(wall), |(opening, ..)| Crossed::Opening(*opening))
}
