//! What routes come near to: walls, uprights, fixing lines, holes through the floor.

use super::ground::{Ground, Standing};
use super::passages::Doorway;
use super::{Stretch, point, points};
use crate::Workings;
use design::{Design, Loop};
use engineering::plan::{self, Line, Lines, Point};
use quantity::Length;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// A place where the middle of a pipe comes near to something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    pub what: NearTo,
    /// From the middle of the pipe to the face of the thing; nothing where the pipe lies on it.
    pub distance: Length,
    /// From the start of the route to there.
    pub along: Length,
    /// The place on the pipe.
    pub at: Point,
    /// The place on the thing.
    pub on_thing: Point,
}

/// What a pipe may come near to, by its position in the design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NearTo {
    /// A wall that is drawn.
    Wall(usize),
    /// An edge of a room behind which no other room goes on: room, edge.
    RoomEdge(usize, usize),
    /// Something that stands on the floor.
    Upright(usize),
    /// A fixing line of a room: room, line.
    FixingLine(usize, usize),
    /// A hole through the floor.
    FloorHole(usize),
}

/// How near a pipe has to come to a wall to be told, from face to face.
const TO_WALLS: Length = Length::millimetres(60.0);
/// The same for what stands on the floor, for fixing lines and holes.
const TO_OTHERS: Length = Length::millimetres(210.0);
/// Where it comes into a room a pipe has to be near the wall: so far along it is not looked at.
const WAY_IN: Length = Length::millimetres(250.0);
/// At a manifold pipes come up along the wall.
const AT_MANIFOLD: Length = Length::millimetres(500.0);
/// Half of the thickest pipe that is laid in a floor, for loops whose pipe is not known.
const THICKEST: Length = Length::millimetres(16.0);
/// A wall that is said to be thicker is a slip.
const THICKEST_WALL: Length = Length::millimetres(1000.0);

/// What stands on a storey that pipes must not come near to.
pub(super) struct Obstacles {
    walls: Lines,
    /// What each line is.
    of_walls: Vec<OfWall>,
    thickest_half: Length,
    others: Lines,
    of_others: Vec<NearTo>,
    /// Those of the others that fill their outlines.
    solids: Vec<(plan::Outline, NearTo)>,
}

/// What a line among the walls is.
#[derive(Clone, Copy)]
enum OfWall {
    /// The face of a wall, as a line between two ends or all round.
    Face(NearTo, [Point; 2]),
    /// The middle of a wall that has faces: what lies nearer to it than those lies in it.
    Middle(NearTo, [Point; 2], Length),
}

impl OfWall {
    fn ends(&self) -> [Point; 2] {
        let (OfWall::Face(_, ends) | OfWall::Middle(_, ends, _)) = self;
        *ends
    }
}

impl Obstacles {
    pub fn new(design: &Design, workings: &Workings, ground: &Ground) -> Obstacles {
        let mut of_walls = Vec::new();
        for &room in &ground.rooms {
            let Some(Ok(outline)) = &workings.rooms[room].outline else { continue };
            let edges = outline.edges().enumerate();
            of_walls.extend(edges.map(|(edge, (from, to))| OfWall::Face(NearTo::RoomEdge(room, edge), [from, to])));
        }
        let mut faces: Vec<Vec<Point>> = of_walls.iter().map(|it| it.ends().to_vec()).collect();
        let mut thickest_half = Length::ZERO;
        for standing in &ground.walls {
            let thickness = design.walls.at(standing.wall).and_then(|(_, wall)| wall.value.thickness);
            let half = thickness.map_or(Length::ZERO, |it| it.value.min(THICKEST_WALL) / 2.0);
            thickest_half = thickest_half.max(half);
            let pieces = between_openings(standing, &ground.openings[standing.wall]);
            for ends in pieces {
                let what = NearTo::Wall(standing.wall);
                of_walls.push(OfWall::Face(what, ends));
                match strip(ends[0], ends[1], half).filter(|_| half > Length::ZERO) {
                    None => faces.push(ends.to_vec()),
                    Some(face) => {
                        of_walls.push(OfWall::Middle(what, ends, half));
                        faces.extend([face.corners().to_vec(), ends.to_vec()]);
                    }
                }
            }
        }
        let walls =
            Lines::new(faces.iter().map(|line| if line.len() > 2 { Line::Closed(line) } else { Line::Open(line) }));

        let mut of_others = Vec::new();
        let mut outlines: Vec<Vec<Point>> = Vec::new();
        for &at in &ground.uprights {
            if let Some((_, upright)) = design.uprights.at(at)
                && let Some(outline) = &upright.value.outline
            {
                of_others.push(NearTo::Upright(at));
                outlines.push(points(&outline.value.corners));
            }
        }
        for &room in &ground.all_rooms {
            let lines = design.rooms.at(room).into_iter().flat_map(|(_, room)| room.value.fixing_lines.values());
            for (at, fixing) in lines.enumerate() {
                if let Some(line) = fixing.line {
                    of_others.push(NearTo::FixingLine(room, at));
                    outlines.push(vec![point(line.value.from), point(line.value.to)]);
                }
            }
        }
        for &at in &ground.floor_holes {
            if let Some((_, hole)) = design.floor_holes.at(at)
                && let (Some(middle), Some(diameter)) = (hole.value.at, hole.value.diameter)
            {
                of_others.push(NearTo::FloorHole(at));
                outlines.push(round(point(middle.value), diameter.value));
            }
        }
        let others = Lines::new(outlines.iter().map(|points| Line::Closed(points)));
        let solids = of_others.iter().zip(&outlines).filter(|(what, _)| !matches!(what, NearTo::FixingLine(..)));
        let solids = solids.filter_map(|(what, points)| Some((plan::Outline::new(points).ok()?, *what))).collect();
        Obstacles { walls, of_walls, thickest_half, others, of_others, solids }
    }

    /// What fills its outline, to ask whether a route starts within.
    pub fn solids(&self) -> plan::Areas<'_> {
        plan::Areas::new(self.solids.iter().map(|(outline, _)| outline))
    }

    /// Whether pipe in the box may come near to something.
    pub fn come_near(&self, bounds: &plan::Bounds, outside: Option<Length>) -> bool {
        let radius = radius_of(outside);
        self.walls.come_near(bounds, TO_WALLS + radius + self.thickest_half)
            || self.others.come_near(bounds, TO_OTHERS + radius)
    }

    /// All that a route comes near to as it lies, the nearest place of each, in order.
    pub fn near(
        &self,
        ground: &Ground,
        solids: &plan::Areas,
        given: &Loop,
        lying: &plan::Lying,
        stretches: &[Stretch],
        outside: Option<Length>,
    ) -> Vec<Near> {
        let route = &lying.route;
        let radius = radius_of(outside);
        let mut found: BTreeMap<NearTo, Near> = BTreeMap::new();
        let mut add = |near: Near| {
            let near = Near { along: lying.along_drawn(near.along), ..near };
            match found.entry(near.what) {
                Entry::Vacant(entry) => {
                    entry.insert(near);
                }
                Entry::Occupied(mut entry) if near.distance < entry.get().distance => {
                    entry.insert(near);
                }
                Entry::Occupied(_) => {}
            }
        };
        for it in self.others.clearances(route, [route.whole()], TO_OTHERS + radius) {
            add(Near {
                what: self.of_others[it.line],
                distance: it.distance,
                along: it.along,
                at: it.on_route,
                on_thing: it.on_line,
            });
        }
        // A route that lies wholly within comes near no edge.
        let start = route.points()[0];
        if let Some(solid) = solids.at(start) {
            let what = self.solids[solid].1;
            add(Near { what, distance: Length::ZERO, along: Length::ZERO, at: start, on_thing: start });
        }
        let reach = TO_WALLS + radius;
        for stretch in stretches.iter().filter(|stretch| stretch.room.is_some()) {
            let inside = without_ways_in(stretch, lying, given.manifold.is_some());
            for it in self.walls.clearances(route, [inside], reach + self.thickest_half) {
                let (what, distance) = match self.of_walls[it.line] {
                    OfWall::Face(what, _) => (what, it.distance),
                    OfWall::Middle(what, ends, half) => {
                        let is_beside = ends.iter().all(|end| it.on_line.distance(*end) > Length::ZERO);
                        if it.distance > half || !is_beside {
                            continue;
                        }
                        (what, Length::ZERO)
                    }
                };
                let counts = || match (what, self.of_walls[it.line]) {
                    (NearTo::RoomEdge(room, _), OfWall::Face(_, ends)) => {
                        stretch.room == Some(room) && !is_open(ground, ends, it.on_line)
                    }
                    _ => true,
                };
                if distance <= reach && counts() {
                    add(Near { what, distance, along: it.along, at: it.on_route, on_thing: it.on_line });
                }
            }
        }
        found.into_values().collect()
    }
}

/// Half of what a pipe measures, if that is known.
fn radius_of(outside: Option<Length>) -> Length {
    outside.map_or(THICKEST, |outside| outside / 2.0)
}

/// The ground that a straight thing takes, with ends square to it, so far to either side; a line is given a millimetre.
pub(super) fn strip(from: Point, to: Point, half: Length) -> Option<plan::Outline> {
    let by = half.in_metres().max(1e-3) / from.distance(to).in_metres();
    let (x, y) = ((from.y - to.y) * by, (to.x - from.x) * by);
    let corner = |at: Point, side: f64| Point::new(at.x + x * side, at.y + y * side);
    plan::Outline::new(&[corner(from, -1.0), corner(to, -1.0), corner(to, 1.0), corner(from, 1.0)]).ok()
}

/// The edge of a round hole, a thousandth of its width or less too wide.
fn round(middle: Point, diameter: Length) -> Vec<Point> {
    const SIDES: u32 = 72;
    let side = std::f64::consts::TAU / f64::from(SIDES);
    let radius = diameter.in_metres() / 2.0 / (side / 2.0).cos();
    let corner = |at: u32| {
        let (sine, cosine) = (f64::from(at) * side).sin_cos();
        Point::new(middle.x + radius * cosine, middle.y + radius * sine)
    };
    (0..SIDES).map(corner).collect()
}

/// A stretch of a drawn route in a room, without the way in through the wall and up to the manifold: as the pipe lies.
fn without_ways_in(stretch: &Stretch, lying: &plan::Lying, has_manifold: bool) -> plan::Stretch {
    let off = |is_end: bool| match (is_end, has_manifold) {
        (false, _) => WAY_IN,
        (true, true) => AT_MANIFOLD,
        (true, false) => Length::ZERO,
    };
    plan::Stretch {
        from: lying.along_lying(stretch.from) + off(stretch.from <= Length::ZERO),
        to: lying.along_lying(stretch.to) - off(stretch.to >= lying.drawn),
    }
}

/// Whether another room goes on behind the edge of a room.
fn is_open(ground: &Ground, [from, to]: [Point; 2], at: Point) -> bool {
    const BEHIND: f64 = 0.005;
    let length = from.distance(to).in_metres();
    let step = BEHIND / length;
    // At a corner that stands into the room both sides of the edge are of the room: it is looked at a little before it.
    let share = from.distance(at).in_metres() / length;
    let inwards = (2.0 * step).min(0.5);
    let share = share.clamp(inwards, 1.0 - inwards);
    let at = Point::new(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share);
    let (x, y) = ((from.y - to.y) * step, (to.x - from.x) * step);
    let beside = [Point::new(at.x + x, at.y + y), Point::new(at.x - x, at.y - y)];
    beside.iter().all(|point| ground.areas.at(*point).is_some())
}

/// The pieces of a wall between its openings.
pub(super) fn between_openings(standing: &Standing, openings: &[Doorway]) -> Vec<[Point; 2]> {
    let [from, to] = standing.ends;
    let length = from.distance(to).in_metres();
    if openings.is_empty() || length <= 0.0 {
        return vec![standing.ends];
    }
    let at = |along: f64| {
        let share = (along / length).clamp(0.0, 1.0);
        Point::new(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share)
    };
    let mut sorted: Vec<&Doorway> = openings.iter().collect();
    sorted.sort_by(|one, other| one.from.total_cmp(&other.from));
    let mut pieces = Vec::new();
    let mut reached = 0.0;
    for opening in sorted {
        if opening.from > reached {
            pieces.push([at(reached), at(opening.from)]);
        }
        reached = opening.to.max(reached);
    }
    if reached < length {
        pieces.push([at(reached), to]);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What loop L1 comes near to, with the distance in whole millimetres.
    fn near(rooms_and_more: &str, route: &str) -> Vec<(NearTo, i64)> {
        let text = format!("format: 1\n{rooms_and_more}loops:\n  L1: {{pipe: PE-X 16 x 2, route: {route}}}\n");
        let reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
        assert!(reading.faults.is_empty(), "{:?}", reading.faults);
        let plan = crate::work_out(&reading.design).plan;
        let near = |it: &Near| (it.what, it.distance.in_millimetres().round() as i64);
        plan.near[0].iter().map(near).collect()
    }

    const ROOM: &str = "rooms:\n  hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}\n";

    #[test]
    fn runs_along_the_edges_of_a_room() {
        let found = near(ROOM, "[[1, 1], [1, 0.05], [3.96, 0.05], [3.96, 2]]");
        assert_eq!(found, [(NearTo::RoomEdge(0, 0), 50), (NearTo::RoomEdge(0, 1), 40)]);
        assert_eq!(near(ROOM, "[[1, 1], [1, 0.07], [3.9, 0.07], [3.9, 2]]"), []);
    }

    #[test]
    fn the_way_in_is_not_near_the_wall_that_it_goes_through() {
        assert_eq!(near(ROOM, "[[-1, 1], [2, 1], [2, 1.2], [-1, 1.2]]"), []);
        // In at the corner and along the wall.
        assert_eq!(near(ROOM, "[[-1, 0.04], [2, 0.04]]"), [(NearTo::RoomEdge(0, 0), 40)]);
        assert_eq!(near(ROOM, "[[-1, 0.04], [0.2, 0.04], [0.2, 2]]"), []);
    }

    #[test]
    fn an_edge_to_a_room_that_goes_on_is_open() {
        let two = "rooms:\n  hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}\n  bay: {outline: [[4, 0], [6, 0], [6, 3], [4, 3]]}\n";
        let along_the_edge = "[[2, 1], [3.97, 1], [3.97, 2], [2, 2]]";
        assert_eq!(near(two, along_the_edge), []);
        assert_eq!(near(ROOM, along_the_edge), [(NearTo::RoomEdge(0, 1), 30)]);
        // A wall between rooms that are drawn to its middle, with a doorway in it.
        let wall = format!("{two}walls:\n  W1: {{line: [[4, 0], [4, 3]], thickness: 100 mm}}\n");
        assert_eq!(near(&wall, "[[2, 1], [3.92, 1], [3.92, 2], [2, 2]]"), [(NearTo::Wall(0), 30)]);
        let door = format!("{wall}openings:\n  D1: {{wall: W1, from: 0.5 m, to: 2.5 m}}\n");
        assert_eq!(near(&door, "[[2, 1], [3.92, 1], [3.92, 2], [2, 2]]"), []);
        assert_eq!(near(&door, "[[2, 1], [3.92, 1], [3.92, 2.8], [2, 2.8]]"), [(NearTo::Wall(0), 30)]);
    }

    /// Runs 60 mm off two walls of a corner that stands into the room, or of a column, bent with 80 mm: as the diagonals say
    /// the bend comes within √2 · 60 − (√2 − 1) · 80 = 52 mm of the corner. Inside a corner it comes no nearer.
    #[test]
    fn a_bend_cuts_its_corner() {
        let room = "rooms:\n  hall: {outline: [[0, 0], [4, 0], [4, 4], [2, 4], [2, 2], [0, 2]]}\n";
        let round = "[[0.5, 1.94], [2.06, 1.94], [2.06, 3.5]]";
        assert_eq!(near(room, round), [(NearTo::RoomEdge(0, 3), 52), (NearTo::RoomEdge(0, 4), 52)]);
        let column = format!("{ROOM}uprights:\n  C1: {{kind: column, outline: [[1, 1], [2, 1], [2, 2], [1, 2]]}}\n");
        assert_eq!(near(&column, "[[0.5, 0.94], [2.06, 0.94], [2.06, 2.5]]"), [(NearTo::Upright(0), 52)]);
        assert_eq!(
            near(ROOM, "[[2, 0.06], [3.94, 0.06], [3.94, 1.5]]"),
            [(NearTo::RoomEdge(0, 0), 60), (NearTo::RoomEdge(0, 1), 60)]
        );
        // At the corner as it is drawn it would lie under the column.
        let within = near(&column, "[[0.8, 0.8], [1.01, 0.8], [1.01, 0.98], [1.15, 0.8], [1.8, 0.8]]");
        assert!(matches!(within[..], [(NearTo::Upright(0), 1..)]), "{within:?}");
    }

    /// What lies beyond the last bend is held to the wall up to its very end, and not at all at a manifold.
    #[test]
    fn a_route_ends_where_it_ends() {
        let ends = "[[1.1, 0.7], [2.3, 0.7], [2.3, 1.5], [3.97, 1.5]]";
        assert_eq!(near(ROOM, ends), [(NearTo::RoomEdge(0, 1), 30)]);
        let manifold = format!("{ROOM}manifolds: {{M1: {{at: [3.97, 1.5]}}}}\n");
        let at_manifold = ends.replace("]]", "]], manifold: M1");
        assert_eq!(near(&manifold, &at_manifold), []);
    }

    #[test]
    fn pipe_that_passes_an_inside_corner_slantwise_is_near_it() {
        let room = "rooms:\n  hall: {outline: [[0, 0], [4, 0], [4, 4], [2, 4], [2, 2], [0, 2]]}\n";
        let found = near(room, "[[0.5, 0.46], [3.5, 3.46], [3.5, 1], [1, 0.3]]");
        assert_eq!(found, [(NearTo::RoomEdge(0, 3), 28), (NearTo::RoomEdge(0, 4), 28)]);
    }

    /// A wall ends square, as it is drawn: beside its end pipe is as far from it as from that line.
    #[test]
    fn a_wall_ends_square() {
        let wall = format!("{ROOM}walls:\n  W1: {{line: [[2, 0], [2, 1]], thickness: 300 mm}}\n");
        assert_eq!(near(&wall, "[[0.5, 1.1], [3.5, 1.1], [3.5, 1.5], [0.5, 1.5]]"), []);
        assert_eq!(near(&wall, "[[0.5, 1.05], [3.5, 1.05], [3.5, 1.5], [0.5, 1.5]]"), [(NearTo::Wall(0), 50)]);
        assert_eq!(near(&wall, "[[0.5, 0.5], [1.81, 0.5], [1.81, 1.5], [0.5, 1.5]]"), [(NearTo::Wall(0), 40)]);
        assert_eq!(near(&wall, "[[0.3, 0.5], [2.02, 0.5], [2.02, 0.7], [0.3, 0.7]]"), [(NearTo::Wall(0), 0)]);
        // All of it within the wall.
        assert_eq!(near(&wall, "[[2.02, 0.4], [2.02, 0.9]]"), [(NearTo::Wall(0), 0)]);
    }

    #[test]
    fn uprights_and_fixing_lines() {
        let more = "rooms:\n  hall:\n    fixing-lines: {pan: {kind: WC pan, line: [[1, 1], [1, 1.4]]}}\nuprights:\n  \
                    F1: {kind: flue, outline: [[2, 1.2], [3, 1.2], [3, 2], [2, 2]]}\n";
        let found = near(more, "[[0, 0.9], [4, 0.9]]");
        assert_eq!(found, [(NearTo::FixingLine(0, 0), 100)]);
        let found = near(more, "[[0, 1.05], [4, 1.05]]");
        assert_eq!(found, [(NearTo::Upright(0), 150), (NearTo::FixingLine(0, 0), 0)]);
    }

    #[test]
    fn holes_through_the_floor() {
        let hole = "floor-holes:\n  soil: {at: [2, 1], diameter: 200 mm}\n";
        assert_eq!(near(hole, "[[0, 1.05], [4, 1.05]]"), [(NearTo::FloorHole(0), 0)]);
        assert_eq!(near(hole, "[[0, 1.25], [4, 1.25]]"), [(NearTo::FloorHole(0), 150)]);
        assert_eq!(near(hole, "[[2.6, 0], [2.6, 4]]"), []);
        let wide = "floor-holes:\n  stair: {at: [2, 2], diameter: 8 m}\n";
        assert_eq!(near(wide, "[[1.5, 1.5], [2.5, 1.5], [2.5, 2.5]]"), [(NearTo::FloorHole(0), 0)]);
    }

    #[test]
    fn openings_part_a_wall() {
        let standing = Standing { wall: 0, ends: [Point::new(0.0, 0.0), Point::new(4.0, 0.0)] };
        let pieces = |openings: &[(f64, f64)]| -> Vec<(f64, f64)> {
            let doorways: Vec<Doorway> = openings.iter().map(|&(from, to)| Doorway { opening: 0, from, to }).collect();
            between_openings(&standing, &doorways).iter().map(|[from, to]| (from.x, to.x)).collect()
        };
        assert_eq!(pieces(&[]), [(0.0, 4.0)]);
        assert_eq!(pieces(&[(2.0, 3.0), (0.0, 1.0)]), [(1.0, 2.0), (3.0, 4.0)]);
        assert_eq!(pieces(&[(1.0, 3.0), (1.5, 2.0), (3.5, 9.0)]), [(0.0, 1.0), (3.0, 3.5)]);
    }
}
