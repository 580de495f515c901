//! The spiral: rings inside rings, one spacing apart, joined to one line that goes in and comes out side by side.
//!
//! The rings are the edge of the floor moved inwards again and again; in the arms of a room and round islands they
//! part. Two neighbouring rings become one line when both are opened at the same place and their ends joined across.
//! Joining all of them along a tree leaves one closed line that crosses nowhere, whatever the shape (compare Zhao and
//! others, Connected Fermat spirals for layered fabrication, ACM Transactions on Graphics 35, 2016). Where each place
//! lies just beside the one before it, the line winds inwards without turning back.

use super::super::box_tree::BoxTree;
use super::super::free_area::{Shapes, square_metres};
use super::super::outline::edges;
use super::super::point::Way;
use super::super::{Bounds, Point};
use super::bends::bulb_width;
use super::ground::{HAIR, is_convex, moved, narrow_half};
use super::{Closed, Measures, Pattern};
use std::collections::{BTreeMap, VecDeque};
use std::ops::ControlFlow;

/// A spiral over the floor that begins near `entry`; nothing if there is no floor.
pub(super) fn coil(floor: &Shapes, measures: &Measures, entry: Option<Point>) -> Option<Closed> {
    let Measures { spacing, radius, .. } = *measures;
    let area = square_metres(&moved(floor, spacing / 2.0));
    // What a pattern leaves cold, and how far it is from the spacing asked for.
    let fault = |rings: &[Ring], at: f64| {
        let laid: f64 = rings.iter().map(|ring| ring.length).sum();
        (1.0 - laid * at.max(spacing) / area).max(0.0) + 0.3 * (at / spacing - 1.0).abs()
    };
    let mut best: Option<(f64, f64, Vec<Ring>)> = None;
    for at in [fitted(floor, spacing, spacing), spacing, 0.95 * spacing, 0.9 * spacing] {
        let at = at.max(closest(measures));
        let rings = rings(floor, at);
        let fault = fault(&rings, at);
        if best.as_ref().is_none_or(|best| fault < best.0) {
            best = Some((fault, at, rings));
        }
        if best.as_ref().is_some_and(|best| best.0 < GOOD_ENOUGH) {
            break;
        }
    }
    let (_, spacing, rings) = best?;
    Rings::new(rings, spacing, radius).join(entry)
}

/// A spiral at a spacing of its own.
pub(super) fn coil_at(floor: &Shapes, measures: &Measures, spacing: f64, entry: Option<Point>) -> Option<Closed> {
    let spacing = spacing.max(closest(measures));
    Rings::new(rings(floor, spacing), spacing, measures.radius).join(entry)
}

/// Closer, a bulb would no longer fit between a run and the next but one.
fn closest(measures: &Measures) -> f64 {
    ((bulb_width(0.0, measures.radius) + measures.between) / 2.0).min(measures.spacing)
}

/// A pattern that leaves less cold than this is taken without looking for a better one.
const GOOD_ENOUGH: f64 = 0.035;

/// The spacings near to the stated one that leave room for the pipe to turn in the middle of the floor, and little more.
pub(super) fn turning_in_the_middle(floor: &Shapes, measures: &Measures) -> f64 {
    fitted(floor, measures.spacing, measures.spacing.max(2.0 * measures.radius))
}

/// The spacing near to the stated one with which the middle of the floor is as well filled as its edge.
///
/// The innermost ring is to be so wide: one spacing leaves nothing cold, where the pipe bends so tightly.
fn fitted(floor: &Shapes, spacing: f64, innermost: f64) -> f64 {
    let to_innermost = half_width(floor, spacing) - innermost / 2.0;
    let is_whole = innermost > spacing;
    let spacings = (to_innermost / spacing).round().max(0.0);
    let near = |fitted: &f64| (0.85..=1.04).contains(&(fitted / spacing));
    [spacings, spacings + 1.0]
        .map(|spacings| match is_whole {
            true => to_innermost / spacings,
            // Its own half width counts as half a spacing more.
            false => (to_innermost + innermost / 2.0) / (spacings + 0.5),
        })
        .into_iter()
        .find(near)
        .unwrap_or(spacing)
}

/// The radius of the largest circle on the floor, or nearly: what is left in the middle is taken to be long.
fn half_width(floor: &Shapes, spacing: f64) -> f64 {
    // A rectangle is done at once: what is left after a stride of nearly half its width is narrow.
    let stride = floor.iter().map(|shape| narrow_half(shape)).fold(0.0, f64::max) - spacing / 2.0;
    let (mut reached, mut left) = (0.0, floor.clone());
    if stride > 0.0 {
        let strode = moved(floor, -stride);
        if !strode.is_empty() {
            (reached, left) = (stride, strode);
        }
    }
    loop {
        let next = moved(&left, -spacing);
        if next.is_empty() || square_metres(&next) >= square_metres(&left) {
            return reached + left.iter().map(|shape| narrow_half(shape)).fold(0.0, f64::max);
        }
        left = next;
        reached += spacing;
    }
}

/// A closed line with its level: 0 at the edge of the floor.
struct Ring {
    points: Vec<Point>,
    level: usize,
    /// In metres.
    length: f64,
}

fn rings(floor: &Shapes, spacing: f64) -> Vec<Ring> {
    /// A ring, or an arm of one, narrower than this in spacings would be two pipes that all but touch.
    const NARROWEST: f64 = 0.5;
    let mut rings = Vec::new();
    let mut level = 0;
    let mut shapes = floor.clone();
    while !shapes.is_empty() {
        for shape in &shapes {
            for points in shape {
                let length = edges(points).map(|(from, to)| from.metres_to(to)).sum();
                rings.push(Ring { points: points.clone(), level, length });
            }
        }
        let mut next = moved(&shapes, -spacing);
        if next.iter().all(|shape| is_convex(shape)) {
            next.retain(|shape| 2.0 * narrow_half(shape) >= NARROWEST * spacing);
        } else {
            let half = NARROWEST / 2.0 * spacing;
            next = moved(&moved(&next, -half), half);
        }
        if square_metres(&next) >= square_metres(&shapes) {
            break;
        }
        shapes = next;
        level += 1;
    }
    rings
}

/// A stretch of an edge of one ring and what faces it on another.
#[derive(Clone, Copy)]
struct Facing {
    /// The two edges, each by its number in its ring.
    edges: [usize; 2],
    /// From the start of the first edge, in metres: where the overlap begins and ends.
    from: f64,
    to: f64,
    /// Where `from` lies on the second edge, and which way it goes on: 1 or -1.
    begins: f64,
    way: f64,
}

/// A place where two rings are opened and joined.
#[derive(Clone, Copy)]
struct Door {
    other: usize,
    edge: usize,
    from: f64,
    to: f64,
    /// The same place on the other ring.
    other_edge: usize,
    other_from: f64,
    other_to: f64,
}

struct Rings {
    rings: Vec<Ring>,
    spacing: f64,
    /// The least bend of the pipe.
    radius: f64,
    /// For each two rings, the lower number first.
    facing: BTreeMap<(usize, usize), Vec<Facing>>,
}

impl Rings {
    fn new(rings: Vec<Ring>, spacing: f64, radius: f64) -> Rings {
        let mut of_level: Vec<Vec<usize>> = Vec::new();
        for (number, ring) in rings.iter().enumerate() {
            of_level.resize_with(of_level.len().max(ring.level + 1), Vec::new);
            of_level[ring.level].push(number);
        }
        let mut all = Rings { rings, spacing, radius, facing: BTreeMap::new() };
        for level in 0..of_level.len() {
            // A ring faces those of the next level, and across what is left in the middle those of its own.
            let near: Vec<(usize, usize)> = of_level[level..(level + 2).min(of_level.len())]
                .iter()
                .flatten()
                .flat_map(|&ring| (0..all.rings[ring].points.len()).map(move |edge| (ring, edge)))
                .collect();
            let tree = BoxTree::new(near.iter().map(|&(ring, edge)| Bounds::around(all.edge(ring, edge))));
            for &ring in &of_level[level] {
                for edge in 0..all.rings[ring].points.len() {
                    let bounds = Bounds::around(all.edge(ring, edge)).wider(2.2 * spacing);
                    let mut found = Vec::new();
                    let _ = tree.touching(&bounds, |number| {
                        found.push(number);
                        ControlFlow::Continue(())
                    });
                    found.sort_unstable();
                    for number in found {
                        let (other, other_edge) = near[number as usize];
                        if other > ring {
                            all.face(ring, edge, other, other_edge);
                        }
                    }
                }
            }
        }
        all
    }

    fn edge(&self, ring: usize, edge: usize) -> [Point; 2] {
        let points = &self.rings[ring].points;
        [points[edge], points[(edge + 1) % points.len()]]
    }

    /// Notes where two edges face each other.
    fn face(&mut self, ring: usize, edge: usize, other: usize, other_edge: usize) {
        let ([a, b], [c, d]) = (self.edge(ring, edge), self.edge(other, other_edge));
        let (way, other_way) = (a.to(b), c.to(d));
        let (length, other_length) = (way.length(), other_way.length());
        if way.cross(other_way).abs() > 2e-3 * length * other_length {
            return;
        }
        let along = Way { x: way.x / length, y: way.y / length };
        let off = along.cross(a.to(c));
        let same_way = along.dot(other_way) > 0.0;
        let next_level = self.rings[other].level > self.rings[ring].level;
        // Floor lies to the left of every ring.
        let faces = if next_level {
            same_way && (off - self.spacing).abs() < 0.02 * self.spacing
        } else {
            !same_way && off > 0.3 * self.spacing && off < 2.1 * self.spacing
        };
        if !faces {
            return;
        }
        let (one, two) = (along.dot(a.to(c)), along.dot(a.to(d)));
        let (from, to) = (one.min(two).max(0.0), one.max(two).min(length));
        if to - from < 0.5 * self.spacing {
            return;
        }
        let (begins, way) = if same_way { (from - one, 1.0) } else { (one - from, -1.0) };
        self.facing.entry((ring, other)).or_default().push(Facing { edges: [edge, other_edge], from, to, begins, way });
    }

    /// Joins the rings along a tree and follows the line.
    fn join(self, entry: Option<Point>) -> Option<Closed> {
        let root = self.root(entry)?;
        let mut next_to: Vec<Vec<usize>> = vec![Vec::new(); self.rings.len()];
        let mut joined: Vec<usize> = (0..self.rings.len()).collect();
        fn top(joined: &mut [usize], of: usize) -> usize {
            let mut at = of;
            while joined[at] != at {
                joined[at] = joined[joined[at]];
                at = joined[at];
            }
            at
        }
        let mut pairs: Vec<(usize, usize)> = self.facing.keys().copied().collect();
        let same_level = |&(one, other): &(usize, usize)| self.rings[one].level == self.rings[other].level;
        let short = |pair: &(usize, usize)| {
            let longest = self.facing[pair].iter().map(|it| it.to - it.from).fold(0.0, f64::max);
            longest < self.spacing - HAIR
        };
        // Neighbours first, and those that face each other over more than one spacing.
        pairs.sort_by_key(|pair| (same_level(pair), short(pair), self.rings[pair.0].level, *pair));
        for (one, other) in pairs {
            let (top_one, top_other) = (top(&mut joined, one), top(&mut joined, other));
            if top_one != top_other {
                joined[top_one.max(top_other)] = top_one.min(top_other);
                next_to[one].push(other);
                next_to[other].push(one);
            }
        }
        let mut doors: Vec<Vec<Door>> = vec![Vec::new(); self.rings.len()];
        let mut reached = vec![false; self.rings.len()];
        let mut ways_in: Vec<Option<(usize, f64, f64, f64)>> = vec![None; self.rings.len()];
        let mut queue = VecDeque::from([root]);
        reached[root] = true;
        while let Some(ring) = queue.pop_front() {
            for &other in &next_to[ring] {
                if reached[other] {
                    continue;
                }
                let Some((door, hand)) = self.door(ring, other, &doors[ring], ways_in[ring], entry) else { continue };
                reached[other] = true;
                ways_in[other] = Some((door.other_edge, door.other_from, door.other_to, hand));
                doors[other].push(Door {
                    other: ring,
                    edge: door.other_edge,
                    from: door.other_from,
                    to: door.other_to,
                    other_edge: door.edge,
                    other_from: door.from,
                    other_to: door.to,
                });
                doors[ring].push(door);
                queue.push_back(other);
            }
        }
        let lost = self.rings.iter().zip(&reached).filter(|(_, reached)| !**reached);
        let cut_off = lost.map(|(ring, _)| ring.length).sum::<f64>() * self.spacing;
        for doors in &mut doors {
            doors.sort_by(|one, other| one.edge.cmp(&other.edge).then(one.from.total_cmp(&other.from)));
        }
        Some(Closed {
            line: self.follow(root, &doors),
            spacing: self.spacing,
            cut_off,
            zone_left: 0.0,
            lost: 0.0,
            tight: 0,
            pattern: Pattern::Spiral,
            quarter: false,
        })
    }

    /// The ring at the edge of the floor that comes nearest to the entry; else the longest.
    fn root(&self, entry: Option<Point>) -> Option<usize> {
        let first_level = (0..self.rings.len()).filter(|&ring| self.rings[ring].level == 0);
        let far = |ring: &usize| match entry {
            Some(entry) => edges(&self.rings[*ring].points)
                .map(|(from, to)| {
                    from.towards(to, super::super::point::nearest_share(from, to, entry)).metres_to(entry)
                })
                .fold(f64::INFINITY, f64::min),
            None => -self.rings[*ring].length,
        };
        first_level.min_by(|one, other| far(one).total_cmp(&far(other)))
    }

    /// Where to open two rings: best just beside the way in of the first, else at a corner, clear of other doors.
    fn door(
        &self,
        ring: usize,
        other: usize,
        taken: &[Door],
        way_in: Option<(usize, f64, f64, f64)>,
        entry: Option<Point>,
    ) -> Option<(Door, f64)> {
        let first = ring < other;
        let facing = self.facing.get(&(ring.min(other), ring.max(other)))?;
        let mut best: Option<(f64, Door, f64)> = None;
        for it in facing {
            // Seen from the ring.
            let (edge, other_edge) = if first { (it.edges[0], it.edges[1]) } else { (it.edges[1], it.edges[0]) };
            let length = it.to - it.from;
            let (from, begins) = match (first, it.way > 0.0) {
                (true, _) => (it.from, it.begins),
                (false, true) => (it.begins, it.from),
                (false, false) => (it.begins - length, it.to),
            };
            let to = from + length;
            let wide = self.spacing.min(length);
            let [a, b] = self.edge(ring, edge);
            let whole = a.metres_to(b);
            let mut places = vec![(from, 1.0, 3.0), (to - wide, -1.0, 3.0), ((from + to - wide) / 2.0, 0.0, 8.0)];
            if let Some((way_edge, low, high, hand)) = way_in
                && way_edge == edge
            {
                for (place, side) in [(high, 1.0), (low - wide, -1.0)] {
                    places.push((place, side, if side == hand || hand == 0.0 { 0.0 } else { 30.0 }));
                }
            }
            for (place, hand, cost) in places {
                let end = place + wide;
                if place < from - HAIR || end > to + HAIR {
                    continue;
                }
                let of_edge = || taken.iter().filter(|door| door.edge == edge);
                if of_edge().any(|door| place < door.to - HAIR && end > door.from + HAIR) {
                    continue;
                }
                // A narrow stretch left between two doors would be a pipe that turns on the spot.
                let beside = of_edge().map(|door| (place - door.to).max(door.from - end)).fold(f64::INFINITY, f64::min);
                let crowded = beside > 1e-3 && beside < 1.5 * self.spacing;
                let middle = a.towards(b, (place + wide / 2.0) / whole);
                let far = match (way_in, entry) {
                    (Some((way_edge, low, high, _)), _) => {
                        let [c, d] = self.edge(ring, way_edge);
                        middle.metres_to(c.towards(d, (low + high) / 2.0 / c.metres_to(d).max(HAIR)))
                    }
                    // Near the entry, but not where the tails have to turn in.
                    (None, Some(entry)) => {
                        let far = middle.metres_to(entry);
                        far / 4.0 + if far < 4.0 * self.spacing { 6.0 } else { 0.0 }
                    }
                    (None, None) => 0.0,
                };
                let (other_from, other_to) = if it.way > 0.0 {
                    (begins + place - from, begins + place - from + wide)
                } else {
                    (begins - (place - from) - wide, begins - (place - from))
                };
                let door = Door { other, edge, from: place, to: end, other_edge, other_from, other_to };
                let corners = self.near_corners(other, other_edge, other_from, other_to);
                let cost =
                    cost + far + if crowded { 20.0 } else { 0.0 } + 10.0 * (1.0 - wide / self.spacing) + 15.0 * corners;
                if best.as_ref().is_none_or(|best| cost < best.0) {
                    best = Some((cost, door, hand));
                }
            }
        }
        best.map(|(_, door, hand)| (door, hand))
    }

    /// How much too short the legs are from a door to the corners of its edge: nothing where the pipe can be bent, or where
    /// the door is right at a square corner and the pipe goes straight on.
    fn near_corners(&self, ring: usize, edge: usize, from: f64, to: f64) -> f64 {
        let points = &self.rings[ring].points;
        let count = points.len();
        let at = |number: usize| points[number % count];
        let whole = at(edge).metres_to(at(edge + 1));
        let turn = |corner: usize| {
            let (came, goes) = (at(corner + count - 1).to(at(corner)), at(corner).to(at(corner + 1)));
            came.cross(goes).atan2(came.dot(goes))
        };
        let short = |leg: f64, turn: f64| {
            if leg < HAIR {
                return if (turn - std::f64::consts::FRAC_PI_2).abs() < 0.003 { 0.0 } else { 1.0 };
            }
            let needed = 2.0 * self.radius * (turn.abs() / 2.0).tan().max(1.0);
            (1.0 - leg / needed).max(0.0)
        };
        short(from, turn(edge)).max(short(whole - to, turn(edge + 1)))
    }

    /// The one line through all rings that hang together with the root.
    fn follow(&self, root: usize, doors: &[Vec<Door>]) -> Vec<Point> {
        /// A ring on the way: where it stands, and what is left of it.
        struct On {
            ring: usize,
            /// Things met on the way round, in order: a corner, or a door.
            steps: std::vec::IntoIter<Step>,
            /// Where it comes back to its door, and the other side of the door.
            out: Option<[Point; 2]>,
        }
        enum Step {
            Corner(Point),
            Through(Door, bool),
        }
        // Round a ring from a door, leaving it at one end and coming to the other.
        let round = |ring: usize, through: Option<&Door>, forwards: bool| -> On {
            let points = &self.rings[ring].points;
            // All steps forwards, from the start of edge 0.
            let mut steps: Vec<Step> = Vec::new();
            let mut start = 0;
            let mut next = doors[ring].iter().peekable();
            for (edge, &corner) in points.iter().enumerate() {
                steps.push(Step::Corner(corner));
                while let Some(door) = next.next_if(|door| door.edge == edge) {
                    if through.is_some_and(|it| it.edge == door.edge && it.from == door.from) {
                        start = steps.len();
                    } else {
                        steps.push(Step::Through(*door, true));
                    }
                }
            }
            steps.rotate_left(start);
            if !forwards {
                steps.reverse();
                for step in &mut steps {
                    if let Step::Through(_, forwards) = step {
                        *forwards = false;
                    }
                }
            }
            On { ring, steps: steps.into_iter(), out: None }
        };
        let on_edge = |ring: usize, edge: usize, at: f64| {
            let [a, b] = self.edge(ring, edge);
            a.towards(b, at / a.metres_to(b).max(HAIR))
        };
        let mut line = Vec::new();
        let mut stack = vec![round(root, None, true)];
        while let Some(on) = stack.last_mut() {
            match on.steps.next() {
                Some(Step::Corner(point)) => line.push(point),
                Some(Step::Through(door, forwards)) => {
                    let ring = on.ring;
                    let (near, far) = if forwards { (door.from, door.to) } else { (door.to, door.from) };
                    line.push(on_edge(ring, door.edge, near));
                    // Opposite the near end lies the end of the other ring's door where its way round begins.
                    let here = on_edge(ring, door.edge, near);
                    let [one, two] =
                        [door.other_from, door.other_to].map(|at| on_edge(door.other, door.other_edge, at));
                    let at_low = here.metres_to(one) <= here.metres_to(two);
                    let (begin, end) = if at_low { (one, two) } else { (two, one) };
                    line.push(begin);
                    let back = doors[door.other]
                        .iter()
                        .find(|it| it.edge == door.other_edge && it.from == door.other_from && it.other == ring);
                    let far = on_edge(ring, door.edge, far);
                    // Away from the door: from its low end backwards, from its high end forwards.
                    let mut next = round(door.other, back, !at_low);
                    next.out = Some([end, far]);
                    stack.push(next);
                }
                None => {
                    let done = stack.pop();
                    line.extend(done.and_then(|on| on.out).into_iter().flatten());
                }
            }
        }
        line
    }
}
