//! The ways of the tails: from each manifold through rooms and doors to what its loops heat, side by side along the walls.
//!
//! In every room the pairs come in through one gate, the manifold or a doorway, and lie there from right to left in the
//! order in which they part: those that leave to the right hug the wall to the right, the first to leave outermost; those
//! to the left likewise; what heats the room itself goes in between. So no two ever cross.

use super::super::free_area::{Shapes, square_metres};
use super::super::point::{Way, nearest_share, nearest_shares};
use super::super::{Bounds, Point};
use super::ground::{HAIR, moved, opened, overlay, within_lines};
use super::storey::{Laying, Part};
use super::tails::{shortest, strip};
use super::{NoField, NoTails};
use i_overlay::core::overlay_rule::OverlayRule;
use quantity::Length;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// From the jamb of a doorway to the nearest tail, in metres.
const FROM_JAMB: f64 = 0.05;

/// How near to its floor a pair comes along a wall, in metres.
const NEAR: f64 = 0.02;

/// How far a pair goes straight in from a gate to its floor, at most, in metres.
const STRAIGHT_IN: f64 = 0.6;

/// Floor no farther from a gate along the wall than this lies beside it, in metres.
const BESIDE: f64 = 0.3;

/// From the middle of a wall to its face, at most, in metres.
const IN_A_DOORWAY: f64 = 0.2;

/// So many pairs that found no way are tried again, each by itself.
const MOST_AGAIN: usize = 12;

/// So far to either side of a manifold pipe comes down from its ports at most, if there is room for all there, in metres.
const BESIDE_MANIFOLD: f64 = 0.75;

/// The most rooms that tails are led through.
const MOST_ROOMS: usize = 60;

/// Where pairs come into a room: at a manifold, or through a passage.
#[derive(Clone, Copy)]
struct Gate {
    at: Point,
    inward: Way,
    /// From pair to pair, at most.
    step: f64,
    /// The room for pairs to the right and to the left of it.
    right: f64,
    left: f64,
}

impl Gate {
    fn lane(&self, to_right: f64) -> Point {
        Point::new(self.at.x + self.inward.y * to_right, self.at.y - self.inward.x * to_right)
    }

    fn inside(&self, at: Point, by: f64) -> Point {
        Point::new(at.x + self.inward.x * by, at.y + self.inward.y * by)
    }

    /// How far to the left of the gate a place lies.
    fn left_of(&self, at: Point) -> f64 {
        self.inward.cross(self.at.to(at))
    }

    /// Where a way goes through the gate, to the right: where it comes nearest to it.
    fn crossed_by(&self, way: &[Point]) -> Option<f64> {
        let (from, to) = (self.lane(-self.left - FROM_JAMB), self.lane(self.right + FROM_JAMB));
        let near = |two: &[Point]| {
            let (one, other) = nearest_shares(two[0], two[1], from, to);
            let on = two[0].towards(two[1], one);
            (on.metres_to(from.towards(to, other)), -self.left_of(on))
        };
        way.windows(2).map(near).min_by(|one, other| one.0.total_cmp(&other.0)).map(|it| it.1)
    }

    /// Whether another gate lies straight across, or nearly.
    fn faces(&self, other: &Gate) -> bool {
        const ASIDE: f64 = 0.35;
        self.inward.dot(other.inward) < -0.99 && self.inward.cross(self.at.to(other.at)).abs() < ASIDE
    }

    /// From pair to pair, where so many lie at the gate.
    fn step_of(&self, count: usize) -> f64 {
        self.step.min((self.right + self.left).max(0.0) / (count.max(2) - 1) as f64)
    }

    /// The place of one of the pairs that lie at the gate, counted from the right.
    fn place(&self, number: usize, count: usize) -> f64 {
        let step = self.step_of(count);
        // In the middle, or so far to one side as there is no room on the other.
        let half = step * (count as f64 - 1.0) / 2.0;
        let middle = if self.right < half { self.right - half } else { (half - self.left).max(0.0) };
        middle + ((count as f64 - 1.0) / 2.0 - number as f64) * step
    }
}

/// The pairs of one manifold in one room, from right to left.
struct Stop {
    order: Vec<usize>,
    /// The passages through which pairs leave.
    exits: BTreeMap<usize, usize>,
    /// How many of them leave to the right, and how many to the left.
    right: usize,
    left: usize,
}

/// A place on a ring.
#[derive(Clone, Copy)]
struct On {
    edge: usize,
    point: Point,
}

/// Which way round a room, seen from where a pair comes in.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Right,
    Left,
    Straight,
}

/// The way of a pair through one room.
struct Leg<'a> {
    number: usize,
    room: usize,
    /// Where it begins, and the place in the gate from which it goes inwards.
    here: Point,
    lane: Point,
    inward: Way,
    /// The place in the gate to which it goes and which way that looks into the room; else it goes to its floor.
    to: Option<(Point, Way)>,
    floor: &'a Shapes,
}

/// The pairs of one manifold.
struct Bundle<'a> {
    laying: &'a Laying<'a>,
    parts: &'a [Result<Part, NoField>],
    chains: &'a [Result<Vec<usize>, NoTails>],
    home: usize,
    manifold: Gate,
    /// How far from the wall the tails begin.
    begin: f64,
    /// Whether tails may leave the walls where no loop heats the floor.
    short_cuts: bool,
    /// What tails of other manifolds have taken.
    taken: &'a [Vec<Point>],
    /// Behind how many of the pairs that leave a room, from the right, the floor of some that end there lies.
    behind: &'a BTreeMap<usize, usize>,
    stops: BTreeMap<usize, Stop>,
    /// The floor over which the middle of a pair may go, by room and by how many pairs lie between it and the wall.
    levels: BTreeMap<(usize, usize), Shapes>,
    /// The same by room, whatever pipe is drawn there and however many pairs lie between.
    between_walls: BTreeMap<usize, Shapes>,
}

impl Laying<'_> {
    /// The way of the middle of each loop's two tails, from the manifold to the part that it heats.
    pub(super) fn ways(&self, parts: &[Result<Part, NoField>]) -> Vec<Result<Vec<Point>, NoTails>> {
        let chains: Vec<Result<Vec<usize>, NoTails>> = (0..self.wanted.len())
            .map(|number| match (&parts[number], self.wanted[number].manifold) {
                (_, None) => Err(NoTails::NoManifold),
                // Without a field no tails are asked for.
                (Err(_), _) => Err(NoTails::NotJoined),
                (Ok(_), Some(_)) if self.homes[number].is_none() => Err(NoTails::OutsideRooms),
                (Ok(_), Some(_)) => {
                    self.chain(number).filter(|chain| chain.len() < MOST_ROOMS).ok_or(NoTails::NoPassage)
                }
            })
            .collect();
        let mut of_manifolds: Vec<(Point, Vec<usize>)> = Vec::new();
        for (number, wanted) in self.wanted.iter().enumerate() {
            if let (Some(at), Ok(_)) = (wanted.manifold, &chains[number]) {
                match of_manifolds.iter_mut().find(|it| it.0 == at) {
                    Some(it) => it.1.push(number),
                    None => of_manifolds.push((at, vec![number])),
                }
            }
        }
        let mut ways: Vec<Result<Vec<Point>, NoTails>> =
            chains.iter().map(|chain| Err(chain.as_ref().err().copied().unwrap_or(NoTails::OutsideRooms))).collect();
        let mut taken: Vec<Vec<Point>> = Vec::new();
        for (at, loops) in of_manifolds {
            let Some(home) = self.room_of(at) else { continue };
            let Some((manifold, begin)) = self.manifold_gate(at, home, loops.len()) else { continue };
            let find = |leads: Vec<usize>, taken: &[Vec<Point>]| {
                let lead = |parts: &[Result<Part, NoField>], behind: &BTreeMap<usize, usize>| {
                    let mut bundle = Bundle {
                        laying: self,
                        parts,
                        chains: &chains,
                        home,
                        manifold,
                        begin,
                        short_cuts: true,
                        taken,
                        behind,
                        stops: BTreeMap::new(),
                        levels: BTreeMap::new(),
                        between_walls: BTreeMap::new(),
                    };
                    let (found, not_found) = bundle.find(leads.clone());
                    let (left, behind) = bundle.left_of_floors(&found);
                    let why = |(number, no): (usize, NoTails)| (number, bundle.too_many(number, &leads).unwrap_or(no));
                    let not_found: Vec<(usize, NoTails)> = not_found.into_iter().map(why).collect();
                    ((found, not_found), left, behind)
                };
                let ((found, not_found), left, behind) = lead(parts, &BTreeMap::new());
                // What goes to the floor of the room itself goes to what the others leave of it.
                if left.is_empty() {
                    return (found, not_found);
                }
                let mut parts = parts.to_vec();
                for (number, floor) in left {
                    if let Ok(part) = &mut parts[number] {
                        part.floor = floor;
                    }
                }
                let ((again, not_again), ..) = lead(&parts, &behind);
                if again.len() >= found.len() { (again, not_again) } else { (found, not_found) }
            };
            let (mut best, not_found) = find(loops.clone(), &taken);
            // Where not all can be led the others are put in order again, as if those had no port: they lie closer then, and
            // may leave room for some of those after all.
            let mut left_out: Vec<usize> = not_found.iter().map(|(number, _)| *number).collect();
            for (number, no) in not_found {
                ways[number] = Err(no);
            }
            for again in std::iter::once(None).chain(left_out.clone().into_iter().take(MOST_AGAIN).map(Some)) {
                if left_out.is_empty() {
                    break;
                }
                let leads = loops.iter().copied().filter(|it| Some(*it) == again || !left_out.contains(it));
                let (found, not_found) = find(leads.collect(), &taken);
                // As many as fit are led, and this one would fit too: then it is something else that stands in its way.
                for &(number, no) in not_found.iter().filter(|(number, _)| Some(*number) == again) {
                    if !matches!(no, NoTails::TooMany { .. }) {
                        ways[number] = Err(no);
                    }
                }
                if found.len() > best.len() || (again.is_none() && found.len() == best.len()) {
                    best = found;
                    left_out.retain(|it| best.iter().all(|(number, _)| number != it));
                    for (number, no) in not_found {
                        left_out.push(number);
                        ways[number] = Err(no);
                    }
                }
            }
            taken.extend(best.iter().map(|(_, way)| strip(way, self.pair() - 0.002)));
            for (number, way) in best {
                ways[number] = Ok(way);
            }
        }
        ways
    }

    /// The gate at a manifold: the wall nearest to it, and how far from that the tails begin.
    fn manifold_gate(&self, at: Point, room: usize, pairs: usize) -> Option<(Gate, f64)> {
        let outline = &self.floors[room].outline;
        let edge = outline.nearest_edge(at);
        let corners = outline.corners();
        let (from, to) = (corners[edge.edge], corners[(edge.edge + 1) % corners.len()]);
        let length = from.metres_to(to);
        let along = Way { x: (to.x - from.x) / length, y: (to.y - from.y) / length };
        let middle = from.towards(to, 0.5);
        let step = Point::new(middle.x - along.y * 1e-3, middle.y + along.x * 1e-3);
        let hand = if outline.contains(step) { 1.0 } else { -1.0 };
        let inward = Way { x: -along.y * hand, y: along.x * hand };
        let on_wall = from.towards(to, nearest_share(from, to, at));
        let depth = on_wall.to(at).dot(inward);
        let begin = if depth < 0.4 { 0.0 } else { depth };
        // Looking inwards, an outline with its floor to the left goes on to the right.
        let (forwards, backwards) = (on_wall.metres_to(to), on_wall.metres_to(from));
        let (right, left) = if hand > 0.0 { (forwards, backwards) } else { (backwards, forwards) };
        let edge = self.edge(room) + self.tails.apart / 2.0;
        let mut gate = Gate { at: on_wall, inward, step: self.pair(), right: right - edge, left: left - edge };
        // No port lies behind what stands beside the manifold.
        let floor = &self.floors[room];
        for (thing, off) in floor.keep_clear.iter().chain(&floor.things) {
            let depth = |corner: &Point| on_wall.to(*corner).dot(inward);
            if thing.corners().iter().map(depth).fold(f64::INFINITY, f64::min) > BESIDE + begin {
                continue;
            }
            let asides = || thing.corners().iter().map(|corner| gate.left_of(*corner));
            let (least, most) = (asides().fold(f64::INFINITY, f64::min), asides().fold(f64::NEG_INFINITY, f64::max));
            let off = off.in_metres() + self.tails.apart / 2.0;
            if least > 0.0 {
                gate.left = gate.left.min(least - off);
            } else if most < 0.0 {
                gate.right = gate.right.min(-most - off);
            }
        }
        // As far from each other as is usual; closer, where some would lie far off.
        let room = gate.right.min(BESIDE_MANIFOLD) + gate.left.min(BESIDE_MANIFOLD);
        gate.step = gate.step.min((room / pairs.max(2) as f64).max(self.pairs_apart()));
        Some((gate, begin))
    }

    /// The gate that a passage makes into a room.
    fn passage_gate(&self, number: usize, room: usize) -> Gate {
        let passage = &self.passages[number];
        let (middle, width) = (passage.middle(), passage.from.metres_to(passage.to).max(HAIR));
        let (x, y) = ((passage.to.x - passage.from.x) / width, (passage.to.y - passage.from.y) / width);
        let step = passage.depth.in_metres() / 2.0 + 0.05;
        // Whether the room lies to the left of the wall's line.
        let beside = Point::new(middle.x - y * step, middle.y + x * step);
        let hand = if self.floors[room].outline.contains(beside) { 1.0 } else { -1.0 };
        let half = (width - 2.0 * FROM_JAMB - self.tails.apart).max(0.0) / 2.0;
        Gate { at: middle, inward: Way { x: -y * hand, y: x * hand }, step: self.pair(), right: half, left: half }
    }
}

/// The ways that were found, and why others were not, each with the number of its piece.
type Found = (Vec<(usize, Vec<Point>)>, Vec<(usize, NoTails)>);

/// What is left of the floors of pieces, and behind how many pairs that lies.
type Left = (Vec<(usize, Shapes)>, BTreeMap<usize, usize>);

impl Bundle<'_> {
    /// Of the floors to which pairs do not come, since the ways of others cut them up: what these leave in one, and behind
    /// how many of those that leave the room, from the right, that lies.
    fn left_of_floors(&self, found: &[(usize, Vec<Point>)]) -> Left {
        /// A cut that is no more than a line, in metres.
        const LINE: f64 = 0.003;
        let mut left: Left = Default::default();
        let way = |number: usize| found.iter().find(|(other, _)| *other == number).map(|(_, way)| way);
        for (&room, stop) in &self.stops {
            let Some(gate) = self.gate_into(room, stop) else { continue };
            let leaving: Vec<(Point, &Vec<Point>)> = (stop.order.iter())
                .filter(|number| stop.exits.contains_key(number))
                .filter_map(|&number| Some((self.lane(room, gate, number)?, way(number)?)))
                .collect();
            let ending: Vec<usize> =
                stop.order.iter().copied().filter(|number| !stop.exits.contains_key(number)).collect();
            if leaving.is_empty() || ending.is_empty() {
                continue;
            }
            let cut_off: Vec<(usize, Vec<Vec<Point>>)> = ending
                .into_iter()
                .filter_map(|number| {
                    let part = self.parts[number].as_ref().ok()?;
                    let half = self.laying.off_tails(part);
                    let taken: Vec<Vec<Point>> = leaving.iter().map(|(_, way)| strip(way, half)).collect();
                    let rest =
                        opened(&overlay(&part.floor, &taken, OverlayRule::Difference), part.measures.narrowest());
                    let area = |shape: &Vec<Vec<Point>>| square_metres(&vec![shape.clone()]);
                    let most = rest.into_iter().max_by(|one, other| area(one).total_cmp(&area(other)))?;
                    // Its pair comes there as it is led.
                    let reaches = |way: &Vec<Point>| way.last().is_some_and(|end| is_near(&most, *end));
                    (!way(number).is_some_and(reaches)).then_some((number, most))
                })
                .collect();
            if cut_off.is_empty() {
                continue;
            }
            let stub = |lane: Point, way: &[Point]| (room == self.home).then(|| [gate.inside(lane, -0.05), way[0]]);
            let stubs = leaving.iter().filter_map(|(lane, way)| stub(*lane, way));
            let legs = leaving.iter().flat_map(|(_, way)| way.windows(2));
            let thin: Vec<Vec<Point>> =
                legs.map(|two| strip(two, LINE)).chain(stubs.map(|two| strip(&two, LINE))).collect();
            let outline = vec![vec![self.laying.floors[room].outline.anticlockwise()]];
            let cells = overlay(&outline, &thin, OverlayRule::Difference);
            let cell = |point: Point| cells.iter().position(|cell| within_lines(cell, point));
            // Where a pair that goes there would come in, from right to left.
            let aside = |lane: Point, by: f64| Point::new(lane.x - gate.inward.y * by, lane.y + gate.inward.x * by);
            let places = (0..=leaving.len()).map(|at| match (at.checked_sub(1), leaving.get(at)) {
                (Some(one), Some(other)) => leaving[one].0.towards(other.0, 0.5),
                (Some(one), None) => aside(leaving[one].0, 0.03),
                (None, _) => aside(leaving[0].0, -0.03),
            });
            let step = if room == self.home { 0.02 } else { self.depth_of(room, stop) / 2.0 + 0.02 };
            let between: Vec<Option<usize>> = places.map(|place| cell(gate.inside(place, step))).collect();
            for (number, most) in cut_off {
                let Some(here) = most.first().and_then(|line| cell(*line.first()?)) else { continue };
                if let Some(at) = between.iter().position(|cell| *cell == Some(here)) {
                    left.0.push((number, vec![most]));
                    left.1.insert(number, at);
                }
            }
        }
        left
    }

    /// The gate through which the pairs come into a room: a manifold that stands free parts none of them.
    fn gate_into(&self, room: usize, stop: &Stop) -> Option<Gate> {
        if room == self.home {
            return (self.begin == 0.0).then_some(self.manifold);
        }
        self.passage_into(room, stop).map(|passage| self.laying.passage_gate(passage, room))
    }

    fn passage_into(&self, room: usize, stop: &Stop) -> Option<usize> {
        let chain = self.chains[*stop.order.first()?].as_ref().ok()?;
        let mut at = self.home;
        chain.iter().copied().find(|&passage| {
            at = self.laying.other_side(passage, at);
            at == room
        })
    }

    /// How deep the wall is through which they come.
    fn depth_of(&self, room: usize, stop: &Stop) -> f64 {
        self.passage_into(room, stop).map_or(0.0, |passage| self.laying.passages[passage].depth.in_metres())
    }

    /// The ways of the pairs of so many loops, and why those of others were not found.
    fn find(&mut self, loops: Vec<usize>) -> Found {
        let order = self.visit(self.home, self.manifold, loops, 0);
        // From the walls inwards.
        let middle = self.stops.get(&self.home).map_or(order.len(), |stop| order.len() - stop.left);
        let order: Vec<usize> = order[..middle].iter().chain(order[middle..].iter().rev()).copied().collect();
        // Short cuts over floor without pipe, where they leave all others a way.
        let mut best: Found = Default::default();
        for short_cuts in [true, false] {
            self.short_cuts = short_cuts;
            let standing = |number: &usize| Some((*number, self.laying.standing.get(number)?.way.clone()));
            let mut found: Vec<(usize, Vec<Point>)> = order.iter().filter_map(standing).collect();
            let mut not_found = Vec::new();
            for &number in order.iter().filter(|number| !self.laying.standing.contains_key(number)) {
                match self.way(number, &found) {
                    Ok(way) => found.push((number, way)),
                    Err(no) => not_found.push((number, no)),
                }
            }
            let is_all = not_found.is_empty();
            if short_cuts || found.len() > best.0.len() {
                best = (found, not_found);
            }
            if is_all {
                break;
            }
        }
        best
    }

    /// Puts the pairs that come into a room in order, and those of the rooms behind.
    fn visit(&mut self, room: usize, gate: Gate, loops: Vec<usize>, depth: usize) -> Vec<usize> {
        let mut own = Vec::new();
        let mut exits: BTreeMap<usize, usize> = BTreeMap::new();
        let mut outlets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for number in loops {
            let chain = self.chains[number].as_deref().unwrap_or_default();
            match chain.get(depth) {
                Some(&passage) => {
                    exits.insert(number, passage);
                    outlets.entry(passage).or_default().push(number);
                }
                None => own.push(number),
            }
        }
        let [mut right, mut left]: [Vec<(f64, Vec<usize>)>; 2] = [Vec::new(), Vec::new()];
        let heated = self.laying.wanted.iter().any(|wanted| wanted.room == room);
        // Each with how far it is to the right along the wall, and to the left.
        let mut leaving: Vec<(f64, f64, Vec<usize>)> = Vec::new();
        let mut across: Option<(f64, Vec<usize>)> = None;
        for (passage, loops) in outlets {
            let out = self.laying.passage_gate(passage, room);
            let next = self.laying.other_side(passage, room);
            let into = self.laying.passage_gate(passage, next);
            let order = self.visit(next, into, loops, depth + 1);
            let level = self.between_walls(room);
            let there = ring_between(&level, gate.at, gate.inward, out.at, out.inward);
            let (to_right, whole) = match there {
                Some((ring, a, b)) => (way_round(ring, a, b), perimeter(ring)),
                None => (0.0, 1.0),
            };
            if !heated && across.is_none() && gate.faces(&out) {
                across = Some((to_right, order));
            } else {
                leaving.push((to_right, whole - to_right, order));
            }
        }
        // Those that go straight across part the others.
        for (to_right, to_left, order) in leaving {
            let is_right = match &across {
                Some((to_across, _)) => to_right < *to_across,
                None => to_right <= to_left,
            };
            if is_right { right.push((to_right, order)) } else { left.push((to_left, order)) }
        }
        let across = across.map_or(Vec::new(), |(_, order)| order);
        right.sort_by(|one, other| one.0.total_cmp(&other.0));
        left.sort_by(|one, other| other.0.total_cmp(&one.0));
        let (mut own_right, mut own_left, mut straight) = (Vec::new(), Vec::new(), Vec::new());
        let of_right: usize = right.iter().map(|it| it.1.len()).sum();
        let of_left: usize = left.iter().map(|it| it.1.len()).sum();
        let leaving = of_right + across.len() + of_left;
        // Behind some of those that leave: with how many of them lie to the right.
        let mut between: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for number in own {
            if let Some(&at) = self.behind.get(&number)
                && (at < of_right || at > leaving - of_left)
            {
                between.entry(at).or_default().push(number);
                continue;
            }
            let Ok(part) = &self.parts[number] else { continue };
            let level = self.between_walls(room);
            let near = |forwards: bool| {
                let (ring, from) = hit(&level, gate.at, gate.inward)?;
                first_near(ring, from, forwards, &part.floor).map(|it| it.0)
            };
            match (self.sees(gate, &level, part), near(true), near(false)) {
                (false, Some(to_right), Some(to_left)) if to_right.min(to_left) > BESIDE => {
                    if to_right <= to_left {
                        own_right.push((to_right, number));
                    } else {
                        own_left.push((to_left, number));
                    }
                }
                _ => straight.push((gate.left_of(part.middle()), number)),
            }
        }
        straight.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        // Along the wall in front of the others' floor goes the pair that goes farthest.
        own_right.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(&other.1)));
        own_left.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        let mut with_own_between = |leaving: Vec<(f64, Vec<usize>)>, first: usize| {
            let mut order: Vec<usize> = Vec::new();
            for (at, number) in leaving.into_iter().flat_map(|it| it.1).enumerate() {
                order.extend(between.remove(&(first + at)).unwrap_or_default());
                order.push(number);
            }
            order
        };
        let mut order = with_own_between(right, 0);
        let left = with_own_between(left, leaving - of_left);
        order.extend(own_right.into_iter().map(|it| it.1));
        let right = order.len();
        order.extend(across);
        order.extend(straight.into_iter().map(|it| it.1));
        let middle = order.len();
        order.extend(own_left.into_iter().map(|it| it.1));
        order.extend(left);
        order.extend(between.into_values().flatten());
        let left = order.len() - middle;
        self.stops.insert(room, Stop { order: order.clone(), exits, right, left });
        order
    }

    /// Whether a part lies straight in from a gate.
    fn sees(&self, gate: Gate, level: &Shapes, part: &Part) -> bool {
        let Some((_, on)) = hit(level, gate.at, gate.inward) else { return false };
        hit(&part.floor, gate.at, gate.inward).is_some_and(|(_, there)| on.point.metres_to(there.point) < STRAIGHT_IN)
    }

    /// The floor of a room over which the middle of a pair may go, be there drawn pipe or not.
    fn between_walls(&mut self, room: usize) -> Shapes {
        let ground = || self.laying.ground_between_walls(room, self.taken);
        self.between_walls.entry(room).or_insert_with(ground).clone()
    }

    /// The floor of a room over which the middle of a pair may go with so many pairs between it and the wall.
    fn level(&mut self, room: usize, pairs: usize) -> Shapes {
        if let Some(known) = self.levels.get(&(room, pairs)) {
            return known.clone();
        }
        let free = self.laying.pair() * pairs as f64;
        let ground = self.between_walls(room);
        let ground = if pairs > 0 { moved(&ground, -free) } else { ground };
        let level = self.laying.ground_beside_drawn(room, ground);
        self.levels.insert((room, pairs), level.clone());
        level
    }

    /// The way of a pair, room by room: along the walls, or where that cannot be, the shortest past those found before.
    fn way(&mut self, number: usize, found: &[(usize, Vec<Point>)]) -> Result<Vec<Point>, NoTails> {
        let chain = self.chains[number].as_ref().map_err(|no| *no)?;
        let part = self.parts[number].as_ref().map_err(|_| NoTails::NotJoined)?;
        let (mut room, mut gate) = (self.home, self.manifold);
        let mut way: Vec<Point> = Vec::new();
        for depth in 0..=chain.len() {
            let lane = self.lane(room, gate, number).unwrap_or(gate.at);
            let here = gate.inside(lane, if depth == 0 { self.begin } else { 0.0 });
            let out = match chain.get(depth) {
                Some(&passage) => {
                    let next = self.laying.other_side(passage, room);
                    let into = self.laying.passage_gate(passage, next);
                    let out = self.laying.passage_gate(passage, room);
                    Some((next, into, self.lane(next, into, number).unwrap_or(into.at), out.inward))
                }
                None => None,
            };
            let to = out.map(|(_, _, beyond, inward)| (beyond, inward));
            let leg = Leg { number, room, here, lane, inward: gate.inward, to, floor: &part.floor };
            let piece = self.beside_walls(&leg, found).or_else(|| self.beside_found(&leg, found));
            // Pipe need not keep to the walls if that is much longer, least of all over floor that no loop heats.
            let is_heated = self.laying.wanted.iter().any(|wanted| wanted.room == room);
            let much = if is_heated { 0.5 } else { 0.7 };
            let piece = match piece {
                Some(piece) if self.short_cuts && (!is_heated || self.laying.tails.short_cuts) => {
                    match self.shortest(&leg, found) {
                        Some(short) if length(&short) < much * length(&piece) => short,
                        _ => piece,
                    }
                }
                Some(piece) => piece,
                None => match self.shortest(&leg, found) {
                    Some(short) => short,
                    None => return Err(NoTails::NoRoom { room, pairs: self.pairs_in(room, found) }),
                },
            };
            way.extend(piece);
            if let Some((next, into, ..)) = out {
                (room, gate) = (next, into);
            }
        }
        super::ground::straighten_way(&mut way);
        // At the manifold the pipe comes down from its port: where there is no room to turn beside the wall, right there.
        let turns = part.measures.radius + self.laying.tails.apart / 2.0;
        if way.len() > 2 && way[0].metres_to(way[1]) < turns {
            way.remove(0);
        }
        // The last leg is led otherwise where it is joined.
        if way.split_last().is_some_and(|(_, before)| doubles_back(before)) {
            return Err(NoTails::NoRoom { room, pairs: self.pairs_in(room, found) });
        }
        if way.len() > 1 { Ok(way) } else { Err(NoTails::NotJoined) }
    }

    /// How many of the pairs that were led pass a room or end there, those of other manifolds too.
    fn pairs_in(&self, room: usize, found: &[(usize, Vec<Point>)]) -> usize {
        let of_this = found.iter().filter(|(number, _)| {
            let passes = |&passage: &usize| self.laying.passages[passage].rooms.contains(&room);
            room == self.home || self.chains[*number].iter().flatten().any(passes)
        });
        let outline = vec![vec![self.laying.floors[room].outline.anticlockwise()]];
        let lies_there =
            |strip: &&Vec<Point>| !overlay(&outline, std::slice::from_ref(*strip), OverlayRule::Intersect).is_empty();
        of_this.count() + self.taken.iter().filter(lies_there).count()
    }

    /// The place on the way of a pair that more of those that are led have to pass than fit there, if there is one.
    fn too_many(&self, number: usize, leads: &[usize]) -> Option<NoTails> {
        let crowded = |pairs: usize, width: f64, from_side: f64, rooms: [usize; 2]| {
            // A first pair takes the distance from tail to tail.
            let beside_first = width - 2.0 * from_side - self.laying.tails.apart;
            let fit = (beside_first / self.laying.pairs_apart() + 1.0 + 1e-6).max(0.0) as usize;
            (pairs > fit).then_some(NoTails::TooMany { pairs, fit, width: Length::metres(width), rooms })
        };
        // Beside the manifold those lie side by side that go to the same hand.
        let stop = self.stops.get(&self.home)?;
        let floor = vec![vec![self.laying.floors[self.home].outline.anticlockwise()]];
        let across = hit(&floor, self.manifold.inside(self.manifold.at, 0.01), self.manifold.inward);
        let beside = across.and_then(|(_, on)| {
            let width = on.point.metres_to(self.manifold.at);
            crowded(stop.right.max(stop.left), width, self.laying.edge(self.home), [self.home; 2])
        });
        let chain = self.chains[number].as_ref().ok()?;
        let mut doorways = chain.iter().filter_map(|&passage| {
            let it = &self.laying.passages[passage];
            let pairs =
                leads.iter().flat_map(|led| &self.chains[*led]).filter(|chain| chain.contains(&passage)).count();
            crowded(pairs, it.from.metres_to(it.to), FROM_JAMB, it.rooms)
        });
        doorways.next().or(beside)
    }

    /// Where a pair lies in a gate.
    fn lane(&self, room: usize, gate: Gate, number: usize) -> Option<Point> {
        let order = &self.stops.get(&room)?.order;
        let place = order.iter().position(|it| *it == number)?;
        Some(gate.lane(self.place(room, gate, order, place)))
    }

    /// The place at a gate of one of the pairs there, from right to left: beside those that are drawn.
    fn place(&self, room: usize, gate: Gate, order: &[usize], place: usize) -> f64 {
        let usual = gate.place(place, order.len());
        if self.laying.standing.is_empty() {
            return usual;
        }
        let step = gate.step_of(order.len());
        let (mut most, mut least) = (gate.right.max(usual), (-gate.left).min(usual));
        for (at, number) in order.iter().enumerate() {
            let drawn = self.laying.standing.get(number).and_then(|it| match room == self.home {
                true => it.way.first().map(|port| -gate.left_of(*port)),
                false => gate.crossed_by(&it.way),
            });
            let Some(drawn) = drawn else { continue };
            match at.cmp(&place) {
                Ordering::Less => most = most.min(drawn - step * (place - at) as f64),
                Ordering::Equal => return drawn,
                Ordering::Greater => least = least.max(drawn + step * (at - place) as f64),
            }
        }
        if least > most { least.midpoint(most) } else { usual.clamp(least, most) }
    }

    /// The way through one room along its walls: in its place, else farther from them.
    fn beside_walls(&mut self, leg: &Leg, found: &[(usize, Vec<Point>)]) -> Option<Vec<Point>> {
        /// How many pairs farther from the walls.
        const FARTHER: usize = 4;
        let stop = self.stops.get(&leg.room)?;
        let count = stop.order.len();
        let place = stop.order.iter().position(|it| *it == leg.number)?;
        let side = match place {
            _ if place < stop.right => Side::Right,
            _ if place >= count - stop.left => Side::Left,
            _ => Side::Straight,
        };
        let pairs = if side == Side::Right { place } else { count - 1 - place };
        let farther = if side == Side::Straight { 1 } else { FARTHER };
        let least = self.laying.pairs_apart();
        let is_clear = |piece: &Vec<Point>| found.iter().all(|(_, other)| are_apart(piece, other, least));
        (0..farther).find_map(|more| self.along_walls(leg, side, pairs + more).filter(is_clear))
    }

    /// The way through one room along what lies at its walls already: where so many pairs do not fit along all its walls, they
    /// may fit along those that they pass.
    fn beside_found(&mut self, leg: &Leg, found: &[(usize, Vec<Point>)]) -> Option<Vec<Point>> {
        let stop = self.stops.get(&leg.room)?;
        let place = stop.order.iter().position(|it| *it == leg.number)?;
        let forwards = place < stop.right;
        if !forwards && place < stop.order.len() - stop.left {
            return None;
        }
        let least = self.laying.pairs_apart();
        let ground = self.level(leg.room, 0);
        let bounds = Bounds::around(ground.iter().flatten().flatten().copied()).wider(self.laying.pair());
        let near: Vec<&Vec<Point>> =
            found.iter().map(|it| &it.1).filter(|way| Bounds::around(way.iter().copied()).touches(&bounds)).collect();
        let with = |half: f64, narrowest: f64| {
            let taken: Vec<Vec<Point>> = near.iter().map(|way| strip(way, half)).collect();
            let level = overlay(&ground, &taken, OverlayRule::Difference);
            let level = if narrowest > 0.0 { opened(&level, narrowest) } else { level };
            let (ring, from) = hit(&level, leg.lane, leg.inward)?;
            let to = match leg.to {
                Some((beyond, back)) => {
                    let (other, to) = hit(&level, beyond, back)?;
                    std::ptr::eq(ring, other).then_some(to)?
                }
                None => first_near(ring, from, forwards, leg.floor)?.1,
            };
            let mut way = vec![leg.here];
            way.extend(round(ring, from, to, forwards));
            Some(way)
        };
        let is_clear = |piece: &Vec<Point>| near.iter().all(|other| are_apart(piece, other, least));
        let pair = self.laying.pair();
        [(pair - 0.002, 2.0 * pair), (pair - 0.002, 0.0), (least + 0.002, 0.0)]
            .into_iter()
            .find_map(|(half, narrowest)| with(half, narrowest).filter(is_clear))
    }

    /// The way through one room along its walls, from a gate to the next or to the floor that is heated.
    fn along_walls(&mut self, leg: &Leg, side: Side, pairs: usize) -> Option<Vec<Point>> {
        let mut way = vec![leg.here];
        let level = self.level(leg.room, if side == Side::Straight { 0 } else { pairs });
        match (leg.to, side) {
            (None, Side::Straight) => {
                let (ring, on) = hit(&level, leg.lane, leg.inward)?;
                let there = hit(leg.floor, leg.lane, leg.inward).map(|(_, on)| on.point);
                match there.filter(|there| there.metres_to(on.point) < STRAIGHT_IN) {
                    Some(there) => way.push(there),
                    None => {
                        let [right, left] = [true, false].map(|forwards| first_near(ring, on, forwards, leg.floor));
                        let forwards = right?.0 <= left?.0;
                        // Past those that lie along the wall on that side.
                        let stop = self.stops.get(&leg.room)?;
                        let between = if forwards { stop.right } else { stop.left };
                        let level = self.level(leg.room, between);
                        let (ring, on) = hit(&level, leg.lane, leg.inward)?;
                        let (_, to) = first_near(ring, on, forwards, leg.floor)?;
                        way.extend(round(ring, on, to, forwards));
                    }
                }
            }
            (None, _) => {
                let level = self.up_to_the_wall(leg, side, pairs, &mut way)?;
                let (ring, from) = nearest_on(&level, *way.last()?)?;
                let (_, to) = first_near(ring, from, side == Side::Right, leg.floor)?;
                way.extend(round(ring, from, to, side == Side::Right));
            }
            (Some((beyond, back)), Side::Straight) => {
                // Straight across: aslant only once those to either hand have turned off.
                let (_, from, to) = ring_between(&level, leg.lane, leg.inward, beyond, back)?;
                let stop = self.stops.get(&leg.room)?;
                let deep = self.laying.pair() * stop.right.max(stop.left) as f64;
                let most = leg.inward.dot(from.point.to(to.point)) - 2.0 * self.laying.pair();
                let turn = deep.min(most).max(0.0);
                way.push(Point::new(from.point.x + leg.inward.x * turn, from.point.y + leg.inward.y * turn));
                way.push(to.point);
            }
            (Some((beyond, back)), _) => {
                let level = self.up_to_the_wall(leg, side, pairs, &mut way)?;
                let (ring, from) = nearest_on(&level, *way.last()?)?;
                let came = if side == Side::Right { -1.0 } else { 1.0 };
                let (beside, other, to) = self.hit_beside(&level, (beyond, back), (leg.room, pairs), came)?;
                if !std::ptr::eq(ring, other) {
                    return None;
                }
                way.extend(round(ring, from, to, side == Side::Right));
                way.extend(beside);
            }
        }
        Some(way)
    }

    /// Where a way straight in from a place in a gate meets the edge of the floor inside so many pairs. A wall beside the gate
    /// keeps that floor off it, with nobody between: then the way goes so deep, and on to that side (to the right, if above
    /// nothing) up to the floor; where it turns is told too.
    fn hit_beside<'f>(
        &self,
        level: &'f Shapes,
        (at, inward): (Point, Way),
        (room, pairs): (usize, usize),
        to_right: f64,
    ) -> Option<(Option<Point>, &'f Vec<Point>, On)> {
        let pair = self.laying.pair();
        let deep = self.laying.edge(room) + pair * (pairs as f64 + 0.5) + IN_A_DOORWAY;
        let beside = (0..=2 * pairs).find_map(|step| {
            let by = to_right * pair * 0.5 * step as f64;
            let aside = Point::new(at.x + inward.y * by, at.y - inward.x * by);
            let (ring, on) = hit(level, aside, inward)?;
            let depth = aside.metres_to(on.point);
            let turn = Point::new(at.x + inward.x * depth, at.y + inward.y * depth);
            (depth < deep).then_some(((step > 0).then_some(turn), ring, on))
        });
        beside.or_else(|| hit(level, at, inward).map(|(ring, on)| (None, ring, on)))
    }

    /// The way along a wall up to where nobody between it and the pair leaves any more: wherever some of them have left, and
    /// it goes on for a while, the pair moves up to the wall in their place. The floor on whose edge it then lies.
    fn up_to_the_wall(&mut self, leg: &Leg, side: Side, pairs: usize, way: &mut Vec<Point>) -> Option<Shapes> {
        /// So far it has to go on.
        const GOES_ON: f64 = 1.0;
        let forwards = side == Side::Right;
        let mut level = self.level(leg.room, pairs);
        let goes = if forwards { 1.0 } else { -1.0 };
        let (beside, _, on) = self.hit_beside(&level, (leg.lane, leg.inward), (leg.room, pairs), goes)?;
        way.extend(beside);
        way.push(on.point);
        let stop = self.stops.get(&leg.room)?;
        let place = stop.order.iter().position(|it| *it == leg.number)?;
        let outer = if forwards { &stop.order[..place] } else { &stop.order[place + 1..] };
        let exit = |number: &usize| stop.exits.get(number).copied();
        // The exits of those between it and the wall, each with how many leave there; then its own.
        let mut exits: Vec<(usize, usize)> = Vec::new();
        let in_order: Vec<usize> = if forwards { outer.to_vec() } else { outer.iter().rev().copied().collect() };
        for number in in_order.iter().filter_map(exit) {
            match exits.last_mut() {
                Some(last) if last.0 == number => last.1 += 1,
                _ => exits.push((number, 1)),
            }
        }
        let mut last = exit(&leg.number);
        let pair = self.laying.pair();
        let mut pairs = pairs;
        for at in 0..exits.len() {
            let (passage, leave) = exits[at];
            let next = exits.get(at + 1).map(|it| it.0).or(last.take());
            if next == Some(passage) || leave > pairs {
                break;
            }
            let gate = self.laying.passage_gate(passage, leg.room);
            let fits = ((leave.max(1) - 1) as f64 / 2.0 * pair).min(gate.right);
            let after = pairs - leave;
            let aside = fits + pair * (1.0 + 0.45 * after as f64);
            let ahead = |by: f64| gate.lane(if forwards { by } else { -by });
            let target = self.level(leg.room, after);
            let far = self.laying.edge(leg.room) + pair * (pairs as f64 + 0.5) + 0.05;
            let on_ring = |level: &Shapes, by: f64| {
                let (ring, on) = hit(level, ahead(by), gate.inward)?;
                (on.point.metres_to(ahead(by)) < far).then_some((std::ptr::from_ref(ring), on))
            };
            let (Some((begins_on, begin)), Some((_, end))) =
                (on_ring(&level, aside), on_ring(&target, aside + leave as f64 * pair))
            else {
                continue;
            };
            let goes_on = match next {
                Some(next) => {
                    let out = self.laying.passage_gate(next, leg.room);
                    hit(&target, out.at, out.inward).and_then(|(ring, to)| {
                        let (other, from) = nearest_on(&target, end.point)?;
                        std::ptr::eq(ring, other).then(|| {
                            let forward = way_round(ring, from, to);
                            if forwards { forward } else { perimeter(ring) - forward }
                        })
                    })
                }
                None => Some(f64::INFINITY),
            };
            let Some((ring, from)) = nearest_on(&level, *way.last()?) else { break };
            // Round another part of the floor there is no way.
            if !std::ptr::eq(ring, begins_on) {
                continue;
            }
            let so_far = way_round(ring, from, begin);
            let so_far = if forwards { so_far } else { perimeter(ring) - so_far };
            if goes_on.is_none_or(|by| by < GOES_ON) || !(0.1..perimeter(ring) / 2.0).contains(&so_far) {
                continue;
            }
            way.extend(round(ring, from, begin, forwards));
            way.push(end.point);
            (pairs, level) = (after, target);
        }
        Some(level)
    }

    /// The shortest way through one room past what others have taken.
    fn shortest(&mut self, leg: &Leg, found: &[(usize, Vec<Point>)]) -> Option<Vec<Point>> {
        /// How far from a gate the way may turn at last.
        const FIRST_TURN: f64 = 1.0;
        let level = self.level(leg.room, 0);
        let bounds = Bounds::around(level.iter().flatten().flatten().copied()).wider(self.laying.pair());
        let near = |(_, way): &&(usize, Vec<Point>)| Bounds::around(way.iter().copied()).touches(&bounds);
        let taken: Vec<Vec<Point>> =
            found.iter().filter(near).map(|(_, way)| strip(way, self.laying.pair() - 0.002)).collect();
        let ground = if taken.is_empty() { level } else { overlay(&level, &taken, OverlayRule::Difference) };
        let inside = |at: Point, way: Way| {
            hit(&ground, at, way).map(|(_, on)| on.point).filter(|on| on.metres_to(at) < FIRST_TURN)
        };
        let start = inside(leg.lane, leg.inward)?;
        let mut way = vec![leg.here];
        match leg.to {
            None => way.extend(shortest(&ground, start, leg.floor)?),
            Some((beyond, back)) => {
                let end = inside(beyond, back)?;
                // A goal of no width.
                let goal = vec![vec![vec![end, Point::new(end.x + HAIR, end.y), Point::new(end.x, end.y + HAIR)]]];
                way.extend(shortest(&ground, start, &goal)?);
                way.push(end);
            }
        }
        Some(way)
    }
}

/// Whether two pairs of tails stay clear of each other.
pub(super) fn are_apart(one: &[Point], other: &[Point], least: f64) -> bool {
    let bounds = Bounds::around(one.iter().copied()).wider(least);
    if !bounds.touches(&Bounds::around(other.iter().copied())) {
        return true;
    }
    one.windows(2).all(|two| {
        let bounds = Bounds::around([two[0], two[1]]).wider(least);
        other.windows(2).filter(|it| bounds.touches(&Bounds::around([it[0], it[1]]))).all(|it| {
            let (a, b) = nearest_shares(two[0], two[1], it[0], it[1]);
            two[0].towards(two[1], a).metres_to(it[0].towards(it[1], b)) >= least
        })
    })
}

/// Where a straight way from a place first meets the outer edge of a shape: its ring, and where on it.
fn hit(shapes: &Shapes, from: Point, way: Way) -> Option<(&Vec<Point>, On)> {
    let mut best: Option<(f64, &Vec<Point>, On)> = None;
    for ring in shapes.iter().filter_map(|shape| shape.first()) {
        for edge in 0..ring.len() {
            let (a, b) = (ring[edge], ring[(edge + 1) % ring.len()]);
            let along = a.to(b);
            let turn = way.cross(along);
            if turn.abs() < 1e-9 * along.length() {
                continue;
            }
            let far = from.to(a).cross(along) / turn;
            let share = from.to(a).cross(way) / turn;
            if far > -1e-6 && (-1e-9..=1.0 + 1e-9).contains(&share) && best.as_ref().is_none_or(|best| far < best.0) {
                best = Some((far, ring, On { edge, point: a.towards(b, share.clamp(0.0, 1.0)) }));
            }
        }
    }
    best.map(|(_, ring, on)| (ring, on))
}

/// The place on the outer edges of shapes that is nearest to a point on one of them: its ring, and where on it.
fn nearest_on(shapes: &Shapes, point: Point) -> Option<(&Vec<Point>, On)> {
    let mut best: Option<(f64, &Vec<Point>, On)> = None;
    for ring in shapes.iter().filter_map(|shape| shape.first()) {
        for edge in 0..ring.len() {
            let (a, b) = (ring[edge], ring[(edge + 1) % ring.len()]);
            let on = a.towards(b, nearest_share(a, b, point));
            let far = on.metres_to(point);
            if best.as_ref().is_none_or(|best| far < best.0) {
                best = Some((far, ring, On { edge, point: on }));
            }
        }
    }
    best.map(|(_, ring, on)| (ring, on))
}

/// The ring that two gates both look at, and where.
fn ring_between(shapes: &Shapes, a: Point, a_way: Way, b: Point, b_way: Way) -> Option<(&Vec<Point>, On, On)> {
    let (ring, from) = hit(shapes, a, a_way)?;
    let (other, to) = hit(shapes, b, b_way)?;
    std::ptr::eq(ring, other).then_some((ring, from, to))
}

/// Whether a way turns back upon itself, as it does where another lies before its end: no pair can turn so sharply.
fn doubles_back(way: &[Point]) -> bool {
    /// Of an angle of 150 degrees.
    const SHARP: f64 = -0.866;
    way.windows(3).any(|three| {
        let (came, goes) = (three[0].to(three[1]), three[1].to(three[2]));
        came.dot(goes) < SHARP * came.length() * goes.length()
    })
}

fn length(way: &[Point]) -> f64 {
    way.windows(2).map(|two| two[0].metres_to(two[1])).sum()
}

fn perimeter(ring: &[Point]) -> f64 {
    super::super::outline::edges(ring).map(|(from, to)| from.metres_to(to)).sum()
}

fn along_ring(ring: &[Point], on: On) -> f64 {
    ring[..=on.edge].windows(2).map(|two| two[0].metres_to(two[1])).sum::<f64>() + ring[on.edge].metres_to(on.point)
}

/// How far it is from one place of a ring forwards to another.
fn way_round(ring: &[Point], from: On, to: On) -> f64 {
    (along_ring(ring, to) - along_ring(ring, from)).rem_euclid(perimeter(ring))
}

/// The way along a ring from one place to another, forwards or backwards.
fn round(ring: &[Point], from: On, to: On, forwards: bool) -> Vec<Point> {
    /// So little the wrong way is meant.
    const LITTLE: f64 = 0.6;
    let forward = way_round(ring, from, to);
    let backward = perimeter(ring) - forward;
    let forwards =
        if forwards { backward > LITTLE || forward < backward } else { forward < LITTLE && forward < backward };
    let count = ring.len();
    let mut way = vec![from.point];
    if forwards {
        let steps = (to.edge + count - from.edge) % count;
        let whole = if steps == 0 && ring[from.edge].metres_to(to.point) < ring[from.edge].metres_to(from.point) - HAIR
        {
            count
        } else {
            steps
        };
        way.extend((1..=whole).map(|step| ring[(from.edge + step) % count]));
    } else {
        let steps = (from.edge + count - to.edge) % count;
        let whole = if steps == 0 && ring[from.edge].metres_to(to.point) > ring[from.edge].metres_to(from.point) + HAIR
        {
            count
        } else {
            steps
        };
        way.extend((0..whole).map(|step| ring[(from.edge + count - step) % count]));
    }
    way.push(to.point);
    way.dedup_by(|one, other| one.metres_to(*other) < HAIR);
    way
}

/// Whether a point lies within a shape, or nearly.
fn is_near(shape: &[Vec<Point>], point: Point) -> bool {
    within_lines(shape, point)
        || shape
            .iter()
            .flat_map(|line| super::super::outline::edges(line))
            .any(|(a, b)| a.towards(b, nearest_share(a, b, point)).metres_to(point) <= NEAR)
}

/// The first place round a ring that comes near to a floor, and how far it is.
fn first_near(ring: &[Point], from: On, forwards: bool, floor: &Shapes) -> Option<(f64, On)> {
    const STEP: f64 = 0.05;
    let count = ring.len();
    let mut far = 0.0;
    let (mut here, mut edge) = (from.point, from.edge);
    for _ in 0..=count {
        let next = if forwards { ring[(edge + 1) % count] } else { ring[edge] };
        let length = here.metres_to(next);
        let steps = (length / STEP).ceil().max(1.0);
        for step in 0..steps as usize {
            let point = here.towards(next, step as f64 / steps);
            if floor.iter().any(|shape| is_near(shape, point)) {
                return Some((far + here.metres_to(point), On { edge, point }));
            }
        }
        far += length;
        here = next;
        edge = if forwards { (edge + 1) % count } else { (edge + count - 1) % count };
    }
    None
}
