//! The plan: which rooms routes run through, what they cross and where.

mod as_laid;
pub(crate) mod bays;
pub(crate) mod figures;
mod ground;
mod laid;
mod lay_out;
mod near;
mod passages;
mod storeys;

pub use as_laid::AsLaid;
pub use bays::{BayWorkings, ShortJoint};
pub use figures::spacing_drawn;
pub use laid::{Covered, Laid};
pub use lay_out::LaidOut;
pub use near::{Near, NearTo};
pub use passages::{Crossed, Crossing, InJoint, Passage, crossed_by_name};
pub use storeys::{OnStorey, on_storey, storeys};

use crate::{LoopWorkings, Workings};
use design::{Design, Loop, PathLeg, Place, Placed, Ref, Route, Storey};
use engineering::plan::{self, Areas, OFF_ARC, PathLine, PipeGap, PipeGaps, Point, RouteMeeting, RouteMeetings};
use ground::Ground;
use near::Obstacles;
use quantity::Length;
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

/// What was worked out of the plan.
#[derive(Debug, Clone, Default)]
pub struct PlanWorkings {
    /// For each loop with a route, how it lies, with its bends where they come near to something.
    pub(crate) lying: Vec<Option<Arc<plan::Lying>>>,
    /// For each loop, its route cut where it goes from one room to another.
    pub stretches: Vec<Vec<Stretch>>,
    /// For each loop, where its route crosses walls and joints, in the order of the route.
    pub passages: Vec<Vec<Passage>>,
    /// For each loop, the same by what is crossed, with the sleeves there.
    pub crossings: Vec<Vec<Crossing>>,
    /// For each loop, the movement joints that it lies in.
    pub in_joints: Vec<Vec<InJoint>>,
    /// For each loop, what its route comes near to.
    pub near: Vec<Vec<Near>>,
    /// For each loop, its pipe under keep-clear areas.
    pub under_keep_clear: Vec<Vec<Under>>,
    /// The routes as they were laid, of the loops of which the records say so.
    pub as_laid: BTreeMap<usize, AsLaid>,
    /// The rooms that a loop is to heat and its drawn route does not come into: loop, room.
    pub astray: Vec<(usize, usize)>,
    /// What movement joints cut the screed into; of rooms with an outline.
    pub bays: Vec<BayWorkings>,
    /// The ends of joints that stop short on open floor.
    pub short_joints: Vec<ShortJoint>,
    /// The rooms whose floor has so many edges and joints that it was not cut into bays.
    pub uncut: Vec<usize>,
    /// Where routes meet each other, or themselves; by loop, the lower first.
    pub meetings: Vec<RouteMeeting>,
    /// The pipes that come too near to each other or to themselves, by loop, where one of the two is drawn: what is laid out
    /// is held to it there.
    pub pipe_gaps: Vec<PipeGap>,
    /// What the routes of each storey that has layouts were made from.
    pub laid_out: Vec<Arc<LaidOut>>,
    /// The meetings of the routes of each storey.
    met: Vec<Arc<Met>>,
    /// For each room with an outline, its floor with the pipe in it.
    pub laid: Vec<Option<Arc<Laid>>>,
    /// The routes are such a tangle that not all of them were looked at.
    pub broken_off: bool,
    /// How many passages were found.
    count: usize,
}

impl PlanWorkings {
    /// How many passages of one design are looked for: far more than any has, so that a hopeless file
    /// costs neither minutes nor gigabytes.
    const MOST_PASSAGES: usize = 300_000;

    pub(crate) fn kept(&self) -> Kept {
        Kept { laid_out: self.laid_out.clone(), met: self.met.clone(), laid: self.laid.clone() }
    }

    /// What it took to lay out what was not laid out just so before: the metres of pipe, as often as they were laid.
    pub(crate) fn effort_after(&self, before: &Kept) -> f64 {
        let is_new = |it: &&Arc<LaidOut>| !before.laid_out.iter().any(|known| Arc::ptr_eq(known, it));
        self.laid_out.iter().filter(is_new).map(|it| it.effort()).sum()
    }
}

/// What the plan after a change can take over; each of it names all that it was made from.
#[derive(Debug, Clone, Default)]
pub(crate) struct Kept {
    laid_out: Vec<Arc<LaidOut>>,
    met: Vec<Arc<Met>>,
    laid: Vec<Option<Arc<Laid>>>,
}

/// Something would have to be laid out anew, and may not.
pub(crate) struct NotLaidOut;

/// The routes of a storey and their meetings, taken over by the next workings as long as they are the same.
#[derive(Debug)]
struct Met {
    routes: Vec<Arc<plan::Route>>,
    meetings: RouteMeetings,
    /// The outside diameter and the bend radius of each pipe of which they are known.
    pipes: Vec<Option<(Length, Length)>>,
    /// By the number of the route.
    gaps: PipeGaps,
}

/// So far from the manifold pipes fan out to their ports.
pub const AT_MANIFOLD: Length = Length::millimetres(500.0);

/// The pipe of a loop that lies under a keep-clear area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Under {
    pub room: usize,
    /// The keep-clear area, by its position in the room.
    pub area: usize,
    /// All of it there.
    pub length: Length,
    /// From the start of the route to where it first comes under it.
    pub along: Length,
}

/// A stretch of a route in one room, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub room: Option<usize>,
    /// Along the route as it is drawn.
    pub from: Length,
    pub to: Length,
    /// The pipe of it, with its bends.
    pub length: Length,
}

/// The points of the design as points of the plan.
pub(crate) fn points(placed: &[Placed<design::Point>]) -> Vec<Point> {
    placed.iter().map(|it| point(it.value)).collect()
}

/// A point of the design as one of the plan.
pub fn point(of: design::Point) -> Point {
    Point::new(of.x, of.y).on_grid()
}

/// An outline of the design as one of the plan, or what is wrong with it.
pub fn outline(of: &design::Outline) -> Result<plan::Outline, plan::OutlineFault> {
    plan::Outline::new(&points(&of.corners))
}

/// The geometry of a drawn route, or what is wrong with it.
pub fn route(of: &Route) -> Result<plan::Route, String> {
    let points = match of {
        Route::Points(points) => self::points(points),
        Route::Path(path) => line_of_path(&path.text)?.points,
    };
    plan::Route::new(&points).map_err(|fault| fault.to_string())
}

/// The one line of a path, its first point again at the end of a closed one.
fn line_of_path(path: &str) -> Result<PathLine, String> {
    let lines = plan::svg_path(path).map_err(|fault| match path.get(fault.at..).filter(|rest| !rest.is_empty()) {
        Some(rest) => format!("{fault}, at `{}`", rest.chars().take(20).collect::<String>()),
        None => format!("{fault}, at the end"),
    })?;
    let mut lines = lines.into_iter();
    let Some(mut line) = lines.next() else { return Err("the path is empty".into()) };
    if lines.next().is_some() {
        return Err("the path is in several parts, and a pipe is one".into());
    }
    if line.closed {
        line.points.extend(line.points.first().copied());
    }
    Ok(line)
}

/// The legs of a path, made out once.
fn legs_of_path(path: &design::Path) -> &[PathLeg] {
    path.legs.get_or_init(|| {
        let Ok(PathLine { points, written, .. }) = line_of_path(&path.text) else { return Vec::new() };
        let legs = points.windows(2).zip(written.into_iter().skip(1));
        legs.map(|(leg, written)| PathLeg { length: leg[0].distance(leg[1]), written }).collect()
    })
}

/// The place in the file where the leg begins that lies so far along a loop's route; its layout, where it is not drawn.
pub fn place_along(of: &Loop, along: Length) -> Place {
    let lengths: Vec<Length> = match of.route.as_ref().map(|route| &route.value) {
        Some(Route::Points(points)) => {
            points.windows(2).map(|leg| point(leg[0].value).distance(point(leg[1].value))).collect()
        }
        Some(Route::Path(path)) => legs_of_path(path).iter().map(|leg| leg.length).collect(),
        None => Vec::new(),
    };
    let mut reached = Length::ZERO;
    let leg = lengths.iter().position(|length| {
        reached += *length;
        reached > along
    });
    leg_place(of, leg.unwrap_or(lengths.len().saturating_sub(1)))
}

/// Where a leg of a loop's route begins in the file, or what draws it of a path.
pub fn leg_place(of: &Loop, leg: usize) -> Place {
    match &of.route {
        Some(Placed { value: Route::Path(path), at, .. }) => {
            let of_path = || {
                let written = &legs_of_path(path).get(leg)?.written;
                let start = (at.start + path.begins?) as usize;
                Some(Place::new(at.file, start + written.start..start + written.end))
            };
            of_path().unwrap_or(*at)
        }
        Some(route) => place_of_leg(&route.value, route.at, leg),
        None => of.layout.map_or(of.place, |layout| layout.at),
    }
}

/// Where a leg begins of a route that stands at a place.
fn place_of_leg(route: &Route, at: Place, leg: usize) -> Place {
    match route {
        Route::Points(points) => points.get(leg).map_or(at, |point| point.at),
        Route::Path(_) => at,
    }
}

type StoreyName<'d> = Option<&'d str>;

fn storey_name(of: &Option<Placed<Ref<Storey>>>) -> StoreyName<'_> {
    of.as_ref().map(|it| it.value.name.as_str())
}

/// The storey that a loop is laid on: its own, its room's, its manifold's.
pub fn storey_of<'d>(design: &'d Design, of: &'d Loop) -> Option<&'d str> {
    let of_room = || of.rooms.first().and_then(|room| storey_name(&design.rooms.get(&room.value.name)?.storey));
    let of_manifold = || storey_name(&design.manifolds.get(&of.manifold.as_ref()?.value.name)?.storey);
    storey_name(&of.storey).or_else(of_room).or_else(of_manifold)
}

/// Finds what each drawn route runs through and crosses, and tells rooms of their loops.
///
/// What was made before from just the same is taken over.
pub(crate) fn work_out(
    design: &Design,
    workings: &mut Workings,
    before: &Kept,
    may_lay_out: bool,
) -> Result<(), NotLaidOut> {
    let loops = design.loops.len();
    let mut plan = PlanWorkings {
        lying: vec![None; loops],
        stretches: vec![Vec::new(); loops],
        passages: vec![Vec::new(); loops],
        crossings: vec![Vec::new(); loops],
        in_joints: vec![Vec::new(); loops],
        near: vec![Vec::new(); loops],
        under_keep_clear: vec![Vec::new(); loops],
        ..PlanWorkings::default()
    };
    let openings = passages::openings(design);
    plan.laid_out = lay_out(design, workings, &openings, &before.laid_out, may_lay_out)?;
    let mut of_storeys: BTreeMap<StoreyName, Vec<usize>> = BTreeMap::new();
    for (at, given) in design.loops.values().enumerate() {
        if matches!(workings.loops[at].route, Some(Ok(_))) {
            of_storeys.entry(storey_of(design, given)).or_default().push(at);
        }
    }
    for (storey, loops) in of_storeys {
        let ground = Ground::new(design, workings, storey, &openings);
        on_one_storey(design, workings, &ground, &loops, &mut plan, &before.met);
    }
    for (at, given) in design.loops.values().enumerate() {
        let named = given.rooms.iter().filter_map(|room| design.rooms.position(&room.value.name));
        let mut rooms: Vec<usize> = named.collect();
        if rooms.is_empty() && given.rooms.is_empty() {
            rooms.extend(most_in(&plan.stretches[at]).or((design.rooms.len() == 1).then_some(0)));
        }
        let mut seen = HashSet::new();
        rooms.retain(|room| seen.insert(*room));
        if matches!(workings.loops[at].route, Some(Ok(_))) {
            // Pipe that is drawn elsewhere heats elsewhere, whatever room the loop names.
            let stretches = &plan.stretches[at];
            let comes_in = |room: &usize| {
                !matches!(workings.rooms[*room].outline, Some(Ok(_)))
                    || stretches.iter().any(|it| it.room == Some(*room))
            };
            plan.astray.extend(rooms.iter().filter(|room| !comes_in(room)).map(|room| (at, *room)));
            rooms.retain(comes_in);
        }
        for room in &rooms {
            workings.rooms[*room].loops.push(at);
        }
        workings.loops[at].rooms = rooms;
    }
    plan.laid = laid::laid(design, workings, &plan, &before.laid);
    plan.as_laid = as_laid::as_laid(design, workings, &openings);
    workings.plan = plan;
    Ok(())
}

/// Gives a route to each loop that has a layout and none.
fn lay_out(
    design: &Design,
    workings: &mut Workings,
    openings: &[Vec<passages::Doorway>],
    before: &[Arc<LaidOut>],
    may_lay_out: bool,
) -> Result<Vec<Arc<LaidOut>>, NotLaidOut> {
    // What cannot be read may stand in the way. A room of which nobody knows where it lies does not: what leads through it is left.
    let is_room_unread = design.rooms.values().any(|room| room.has_unread("outline"));
    let unread = design.rooms.values().any(|room| room.has_unread("keep-clear"))
        || design.walls.values().any(|wall| wall.broken)
        || design.openings.values().any(|opening| opening.broken)
        || design.movement_joints.values().any(|joint| joint.broken)
        || design.uprights.values().any(|upright| upright.broken);
    if unread {
        return Ok(Vec::new());
    }
    let mut of_storeys: BTreeMap<StoreyName, Vec<usize>> = BTreeMap::new();
    // Beside a loop that cannot be read nobody knows which part of the room is left.
    let broken: Vec<&Loop> = design.loops.values().filter(|given| given.broken).collect();
    let stands_alone = |given: &Loop| {
        broken.iter().all(|other| {
            let mut shared =
                given.rooms.iter().filter(|room| other.rooms.iter().any(|it| it.value.name == room.value.name));
            !other.rooms.is_empty() && shared.next().is_none()
        })
    };
    let laid_out = |given: &Loop| lay_out::has_layout(given) && stands_alone(given);
    for (at, given) in design.loops.values().enumerate().filter(|(_, given)| laid_out(given)) {
        of_storeys.entry(storey_of(design, given)).or_default().push(at);
    }
    let mut all = Vec::new();
    for (storey, loops) in of_storeys {
        let ground = Ground::new(design, workings, storey, openings);
        let Some((laid_out, laid)) = lay_out::lay_out(design, workings, storey, &ground, &loops, before, may_lay_out)?
        else {
            continue;
        };
        all.push(laid_out);
        let comes_to_manifold = |at: usize, laid: &plan::Laid| {
            let manifold = design.loops.at(at).and_then(|(_, it)| it.value.manifold.as_ref());
            let manifold = manifold.and_then(|it| design.manifolds.get(&it.value.name)?.at);
            manifold.is_some_and(|at| laid.route.points()[0].distance(point(at.value)) <= AT_MANIFOLD)
        };
        let is_whole = |at: usize, laid: &Result<plan::Laid, plan::NoField>| {
            laid.as_ref().is_ok_and(|it| it.without_tails.is_none() && comes_to_manifold(at, it))
        };
        for (at, laid) in laid.into_iter().filter(|(at, laid)| !is_room_unread || is_whole(*at, laid)) {
            let it = &mut workings.loops[at];
            it.route = laid.as_ref().ok().map(|laid| Ok(Arc::new(laid.route.clone())));
            it.laid = Some(laid);
        }
    }
    Ok(all)
}

fn on_one_storey(
    design: &Design,
    workings: &Workings,
    ground: &Ground,
    loops: &[usize],
    plan: &mut PlanWorkings,
    before: &[Arc<Met>],
) {
    let obstacles = Obstacles::new(design, workings, ground);
    let solids = obstacles.solids();
    let (keep_clear, outlines): (Vec<_>, Vec<_>) = ground
        .all_rooms
        .iter()
        .flat_map(|&room| workings.rooms[room].keep_clear.iter().map(move |(area, it)| ((room, *area), it)))
        .unzip();
    let areas = Areas::new(outlines);
    let mut routes = Vec::with_capacity(loops.len());
    for &at in loops {
        let (Some(Ok(route)), Some((_, given))) = (&workings.loops[at].route, design.loops.at(at)) else { continue };
        let given = &given.value;
        routes.push((at, route));
        let outside = measures_of(&workings.loops[at]).map(|(outside, _)| outside);
        // The edges of rooms are among the obstacles.
        let lying = lying(route, &workings.loops[at], |bounds| {
            ground.comes_near(bounds) || obstacles.come_near(bounds, outside) || areas.come_near(bounds)
        });
        plan.stretches[at] = ground.cut(&lying);
        plan.near[at] = obstacles.near(ground, &solids, given, &lying, &plan.stretches[at], outside);
        if !keep_clear.is_empty() {
            plan.under_keep_clear[at] = under(&areas, &keep_clear, &lying);
        }
        plan.broken_off |= plan.count >= PlanWorkings::MOST_PASSAGES;
        if !plan.broken_off {
            (plan.passages[at], plan.in_joints[at]) =
                passages::passages(design, ground, &lying, |along| leg_place(given, route.leg_at(along)));
            plan.crossings[at] = passages::crossings(design, given, &plan.passages[at]);
            plan.count += plan.passages[at].len();
        }
        plan.lying[at] = Some(Arc::new(lying));
    }
    let is_drawn = |at: usize| workings.loops[at].laid.is_none();
    let any_drawn = routes.iter().any(|(at, _)| is_drawn(*at));
    let pipes: Vec<Option<(Length, Length)>> = routes.iter().map(|(at, _)| measures_of(&workings.loops[*at])).collect();
    let same = |it: &&Arc<Met>| it.routes.iter().eq(routes.iter().map(|(_, route)| *route)) && it.pipes == pipes;
    let met = before.iter().find(same).cloned().unwrap_or_else(|| {
        let routes_alone: Vec<&plan::Route> = routes.iter().map(|(_, route)| &***route).collect();
        let lying = lying_together(&routes_alone, &pipes);
        let meetings = plan::pipe_meetings(&routes_alone, &lying);
        // Nobody looks at how near pipes lie in a tangle.
        let gaps = if meetings.broken_off || !any_drawn { PipeGaps::default() } else { gaps(&lying, &pipes) };
        let routes = routes.iter().map(|(_, route)| (*route).clone()).collect();
        Arc::new(Met { routes, meetings, pipes, gaps })
    });
    plan.broken_off |= met.meetings.broken_off || met.gaps.broken_off;
    let of_loops = |gap: &PipeGap| PipeGap { pipes: gap.pipes.map(|it| routes[it].0), ..*gap };
    plan.pipe_gaps.extend(met.gaps.all.iter().map(of_loops).filter(|it| it.pipes.iter().any(|at| is_drawn(*at))));
    plan.meetings.extend(met.meetings.all.iter().map(|meeting| {
        let mut meeting = *meeting;
        meeting.first.route = routes[meeting.first.route].0;
        meeting.second.route = routes[meeting.second.route].0;
        meeting
    }));
    plan.met.push(met);
}

/// The outside diameter of a loop's pipe and how tightly it is bent.
fn measures_of(of: &LoopWorkings) -> Option<(Length, Length)> {
    of.pipe.as_ref().ok().map(|pipe| (pipe.outside, pipe.least_bend_radius))
}

/// The route of a loop as its pipe lies, with the bends in the boxes for which it matters; of a pipe that is not known, as it is drawn.
fn lying(route: &plan::Route, of: &LoopWorkings, mut matters: impl FnMut(&plan::Bounds) -> bool) -> plan::Lying {
    let radius = measures_of(of).map_or(Length::ZERO, |(_, radius)| radius);
    route.bent(radius).lying(OFF_ARC, |_, bounds| matters(bounds))
}

/// The routes as their pipes lie among each other; what is not known of a pipe is left as it is drawn.
fn lying_together(routes: &[&plan::Route], pipes: &[Option<(Length, Length)>]) -> Vec<plan::Lying> {
    let radius = |pipe: &Option<(Length, Length)>| pipe.map_or(Length::ZERO, |(_, radius)| radius);
    let bent: Vec<plan::Bent> = routes.iter().zip(pipes).map(|(route, pipe)| route.bent(radius(pipe))).collect();
    let widest = pipes.iter().flatten().map(|(outside, _)| *outside).fold(Length::ZERO, Length::max);
    plan::lying_together(&bent, plan::least_between(widest))
}

/// The pipes among the routes that come too near to each other; by the number of the route.
fn gaps(lying: &[plan::Lying], pipes: &[Option<(Length, Length)>]) -> PipeGaps {
    let of_pipe = |(number, (lying, pipe)): (usize, (_, &Option<(Length, Length)>))| {
        pipe.map(|(outside, _)| (number, (lying, outside)))
    };
    let (numbers, pipes): (Vec<usize>, Vec<_>) = lying.iter().zip(pipes).enumerate().filter_map(of_pipe).unzip();
    let mut found = plan::pipe_gaps(&pipes, AT_MANIFOLD);
    found.all.iter_mut().for_each(|gap| gap.pipes = gap.pipes.map(|pipe| numbers[pipe]));
    found
}

/// The pipe of a route under each keep-clear area, in the order in which it comes under them.
fn under(areas: &Areas, keep_clear: &[(usize, usize)], lying: &plan::Lying) -> Vec<Under> {
    let mut found: Vec<Under> = Vec::new();
    let mut known: BTreeMap<usize, usize> = BTreeMap::new();
    for piece in areas.pieces_in_each(&lying.route) {
        let Some(area) = piece.area else { continue };
        let at = *known.entry(area).or_insert_with(|| {
            let (room, area) = keep_clear[area];
            found.push(Under { room, area, length: Length::ZERO, along: lying.along_drawn(piece.from) });
            found.len() - 1
        });
        found[at].length += piece.length();
    }
    found
}

/// The room in which most of a route lies.
fn most_in(stretches: &[Stretch]) -> Option<usize> {
    let mut rooms: Vec<usize> = stretches.iter().filter_map(|it| it.room).collect();
    rooms.sort_unstable();
    rooms.dedup();
    let in_room = |room: usize| length_in(stretches, Some(room)).in_metres();
    rooms.into_iter().max_by(|one, other| in_room(*one).total_cmp(&in_room(*other)))
}

/// The length of pipe in a room, or in none.
pub(crate) fn length_in(stretches: &[Stretch], room: Option<usize>) -> Length {
    stretches.iter().filter(|it| it.room == room).map(|it| it.length).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the text stands in the file as it is read, the leg is marked; else the whole.
    #[test]
    fn a_leg_of_a_path_is_what_draws_it() {
        let marked = |route: &str| {
            let text = format!("format: 1\nloops:\n  L1:\n    room: hall\n    route: {route}\n    port: 2\n");
            let reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
            let given = &reading.design.loops.at(0).expect("it is there").1.value;
            let places = [
                leg_place(given, 1),
                place_along(given, Length::metres(4.1)),
                place_along(given, Length::metres(99.0)),
            ];
            places.map(|place| text[place.range()].to_string())
        };
        let legs = ["V 3", "V 3", "A 1 1 0 0 1 0 3"];
        assert_eq!(marked("M 0 0 H 4 V 3 H 2 A 1 1 0 0 1 0 3"), legs);
        assert_eq!(marked("'M 0 0 H 4 V 3 H 2 A 1 1 0 0 1 0 3'"), legs);
        let folded = "M 0 0 H 4 V 3\n      H 2 A 1 1 0 0 1 0 3";
        assert_eq!(marked(folded), [folded; 3]);
    }

    #[test]
    fn a_path_is_one_line() {
        let follow = |path: &str| {
            let path = design::Path { text: path.into(), begins: None, legs: Default::default() };
            route(&Route::Path(path)).map(|route| route.length())
        };
        let length = |path: &str| follow(path).unwrap().in_metres();
        assert_eq!(length("M 8 1 H 6 V 4"), 5.0);
        assert_eq!(length("M 0 0 H 3 V 4 Z"), 12.0);
        // Two straight runs and a half circle.
        let hairpin = length("M 0 0 H 4 A 0.1 0.1 0 0 1 4 0.2 H 0");
        assert!((hairpin - (8.0 + 0.1 * std::f64::consts::PI)).abs() < 2e-3, "{hairpin}");
        assert_eq!(follow("M 0 0 H 3 M 5 5 H 8").unwrap_err(), "the path is in several parts, and a pipe is one");
        assert_eq!(follow("").unwrap_err(), "the path is empty");
        assert_eq!(follow("M 0 0").unwrap_err(), "fewer than two different points");
        assert!(follow("M 0 0 C 1 1").unwrap_err().ends_with("at `C 1 1`"));
        assert!(follow("M 0").unwrap_err().ends_with("at the end"));
    }
}
