//! Bends: what makes lines of pipe bendable everywhere.
//!
//! Where a leg is too short for the bends at its two ends, the stretch about it is laid anew between two of the legs around
//! it: with one plain corner, or as a pipe lies that goes from leg to leg in bends of its least radius (Dubins, On curves of
//! minimal length with a constraint on average curvature, American Journal of Mathematics 79, 1957). Between two runs side
//! by side that is a bulb, at a step a slope, in a nook a wider turn. Of those that keep clear of walls and other pipe the
//! one is taken that loses least pipe, if need be a run or two: a kinked pipe is worse than a cold strip.

use super::super::box_tree::BoxTree;
use super::super::free_area::Shapes;
use super::super::outline::edges;
use super::super::point::{Way, nearest_share, nearest_shares};
use super::super::route::{DOUBLES_BACK, LET_PASS, tangent};
use super::super::touching::meet;
use super::super::{Bounds, Point};
use super::ground::HAIR;
use super::near::is_near_itself;
use std::collections::HashMap;
use std::f64::consts::{PI, TAU};
use std::ops::ControlFlow;

/// What no new stretch of pipe may cross.
pub(super) struct Fence {
    lines: Vec<(Point, Point)>,
    tree: BoxTree,
}

impl Fence {
    pub fn new(lines: Vec<(Point, Point)>) -> Fence {
        let tree = BoxTree::new(lines.iter().map(|&(from, to)| Bounds::around([from, to])));
        Fence { lines, tree }
    }

    /// The edges of shapes.
    pub fn around(shapes: &Shapes) -> Fence {
        Fence::new(shapes.iter().flatten().flat_map(|line| edges(line)).collect())
    }

    fn lets_pass(&self, from: Point, to: Point) -> bool {
        let crossed = self.tree.touching(&Bounds::around([from, to]), |number| {
            let (a, b) = self.lines[number as usize];
            if meet(from, to, a, b) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        crossed.is_continue()
    }
}

/// A line of pipe that is to be made bendable.
#[derive(Clone)]
pub(super) struct Line {
    pub points: Vec<Point>,
    /// Whether its last point is joined to its first.
    pub closed: bool,
    pub radius: f64,
}

/// Makes the lines bendable wherever there is a way to do it; says how much pipe each has lost thereby, in metres.
///
/// New stretches stay within the fence, and so far from other pipe as `apart` says.
pub(super) fn ease(lines: &mut [Line], fence: impl FnOnce() -> Fence, apart: f64) -> Vec<f64> {
    const ROUNDS: usize = 3;
    /// Where so many stretches of a line found no way the pattern is too tight for its pipe, and looking on costs seconds.
    const HOPELESS: usize = 8;
    let mut lost = vec![0.0; lines.len()];
    let mut in_vain = vec![0; lines.len()];
    if lines.iter().all(|line| line.radius <= 0.0 || !has_short_leg(line)) {
        return lost;
    }
    let mut pipes = Pipes::new(lines, fence(), apart);
    for _ in 0..ROUNDS {
        let mut mended = false;
        for (number, lost) in lost.iter_mut().enumerate() {
            for leg in pipes.short_legs(number) {
                if !pipes.is_alive(leg) || !pipes.is_short(leg) || in_vain[number] >= HOPELESS {
                    continue;
                }
                match pipes.mend(number, leg) {
                    Some(by) => {
                        *lost += by;
                        mended = true;
                    }
                    None => in_vain[number] += 1,
                }
            }
        }
        if !mended {
            break;
        }
    }
    for (number, line) in lines.iter_mut().enumerate() {
        line.points = pipes.points_of(number);
    }
    lost
}

/// Whether the two bends at the ends of a leg do not fit on it, or one of them all but doubles back.
fn short(length: f64, radius: f64, takes: [f64; 2]) -> bool {
    takes.iter().any(|takes| *takes > DOUBLES_BACK)
        || length < (radius - LET_PASS.in_metres() / 2.0) * (takes[0] + takes[1])
}

fn has_short_leg(line: &Line) -> bool {
    count_of_short_legs(line) > 0
}

/// How many legs of a line are too short for the bends at their ends.
pub(super) fn count_of_short_legs(line: &Line) -> usize {
    let (points, count) = (&line.points, line.points.len());
    let takes = |at: usize| match line.closed || (at > 0 && at + 1 < count) {
        true => tangent(points[(at + count - 1) % count], points[at], points[(at + 1) % count]),
        false => 0.0,
    };
    let legs = if line.closed { count } else { count.saturating_sub(1) };
    let is_short = |leg: &usize| {
        let to = (leg + 1) % count;
        short(points[*leg].metres_to(points[to]), line.radius, [takes(*leg), takes(to)])
    };
    (0..legs).filter(is_short).count()
}

const NONE: usize = usize::MAX;

/// The points of all lines, each with the next; a leg has the number of its first point.
struct Pipes {
    points: Vec<Point>,
    next: Vec<usize>,
    before: Vec<usize>,
    alive: Vec<bool>,
    /// A point of each line that stays, its first if it is open.
    heads: Vec<usize>,
    radii: Vec<f64>,
    /// The line that each point is of.
    of_line: Vec<usize>,
    /// The legs that may lie in each square of the plan.
    squares: HashMap<(i64, i64), Vec<usize>>,
    fence: Fence,
    apart: f64,
}

/// A stretch of a line laid anew: what takes the place of the corners from one to another.
struct Stretch {
    cost: f64,
    lost: f64,
    from: usize,
    to: usize,
    instead: Vec<Point>,
}

/// One of the legs between which a stretch is laid anew, seen from the stretch.
#[derive(Clone, Copy)]
struct Anchor {
    /// The corner where it ends now.
    corner: Point,
    /// Along the leg away from the stretch.
    away: Way,
    /// How much of it the bend at its other end leaves free.
    free: f64,
}

impl Anchor {
    fn at(&self, back: f64) -> Point {
        Point::new(self.corner.x + self.away.x * back, self.corner.y + self.away.y * back)
    }
}

/// The side of a square of the plan, in metres.
const SQUARE: f64 = 0.4;

impl Pipes {
    fn new(lines: &[Line], fence: Fence, apart: f64) -> Pipes {
        let mut pipes = Pipes {
            points: Vec::new(),
            next: Vec::new(),
            before: Vec::new(),
            alive: Vec::new(),
            heads: Vec::new(),
            radii: lines.iter().map(|line| line.radius).collect(),
            of_line: Vec::new(),
            squares: HashMap::new(),
            fence,
            apart,
        };
        for (of_line, line) in lines.iter().enumerate() {
            let first = pipes.points.len();
            let last = (first + line.points.len()).saturating_sub(1);
            pipes.heads.push(if line.points.is_empty() { NONE } else { first });
            for (number, &point) in (first..).zip(&line.points) {
                let next = match (number < last, line.closed) {
                    (true, _) => number + 1,
                    (false, true) => first,
                    (false, false) => NONE,
                };
                let before = match (number > first, line.closed) {
                    (true, _) => number - 1,
                    (false, true) => last,
                    (false, false) => NONE,
                };
                pipes.push(of_line, point, before, next);
            }
        }
        for leg in 0..pipes.points.len() {
            pipes.register(leg);
        }
        pipes
    }

    fn push(&mut self, of_line: usize, point: Point, before: usize, next: usize) {
        self.of_line.push(of_line);
        self.points.push(point);
        self.before.push(before);
        self.next.push(next);
        self.alive.push(true);
    }

    fn is_alive(&self, leg: usize) -> bool {
        self.alive[leg]
    }

    /// Notes in which squares a leg lies.
    fn register(&mut self, leg: usize) {
        let Some((from, to)) = self.leg(leg) else { return };
        for square in squares_along(from, to) {
            self.squares.entry(square).or_default().push(leg);
        }
    }

    fn leg(&self, leg: usize) -> Option<(Point, Point)> {
        let next = self.next[leg];
        (next != NONE).then(|| (self.points[leg], self.points[next]))
    }

    fn length(&self, leg: usize) -> f64 {
        self.leg(leg).map_or(0.0, |(from, to)| from.metres_to(to))
    }

    /// What the bend at a corner takes of its legs, in radii.
    fn takes(&self, at: usize) -> f64 {
        let (before, next) = (self.before[at], self.next[at]);
        if before == NONE || next == NONE {
            return 0.0;
        }
        tangent(self.points[before], self.points[at], self.points[next])
    }

    fn is_short(&self, leg: usize) -> bool {
        let next = self.next[leg];
        next != NONE && short(self.length(leg), self.radii[self.of_line[leg]], [self.takes(leg), self.takes(next)])
    }

    /// The legs of a line that are too short for the bends at their ends.
    fn short_legs(&self, number: usize) -> Vec<usize> {
        let mut legs = Vec::new();
        let head = self.heads[number];
        let mut leg = head;
        while leg != NONE && self.next[leg] != NONE {
            if self.is_short(leg) {
                legs.push(leg);
            }
            leg = self.next[leg];
            if leg == head {
                break;
            }
        }
        legs
    }

    fn points_of(&self, number: usize) -> Vec<Point> {
        let head = self.heads[number];
        let (mut points, mut at) = (Vec::new(), head);
        while at != NONE {
            points.push(self.points[at]);
            at = self.next[at];
            if at == head {
                break;
            }
        }
        points
    }

    /// Lays the stretch about a short leg anew, if there is a way to do it; how much pipe is lost thereby.
    fn mend(&mut self, number: usize, leg: usize) -> Option<f64> {
        /// The most corners that go with those of the leg itself.
        const MOST: usize = 6;
        /// A stretch that costs no more, in metres, is taken without looking for a better one.
        const CHEAP: f64 = 0.15;
        const CHEAP_EACH: f64 = 0.1;
        let mut best: Option<Stretch> = None;
        // Of a corner that doubles back it is only the corner.
        for corner in [leg, self.next[leg]] {
            if self.takes(corner) > DOUBLES_BACK {
                best = best.or(self.stretch(number, corner, corner, f64::INFINITY));
            }
        }
        for more in 0..=MOST {
            for back in 0..=more {
                let (mut from, mut to) = (leg, self.next[leg]);
                (0..back).for_each(|_| from = if from == NONE { NONE } else { self.before[from] });
                (0..more - back).for_each(|_| to = if to == NONE { NONE } else { self.next[to] });
                let most = best.as_ref().map_or(f64::INFINITY, |best| best.cost);
                if let Some(found) = self.stretch(number, from, to, most) {
                    best = Some(found);
                }
            }
            if best.as_ref().is_some_and(|best| best.from == best.to || best.cost < CHEAP + CHEAP_EACH * more as f64) {
                break;
            }
        }
        let Stretch { lost, from, to, instead, .. } = best?;
        self.lay(number, from, to, &instead);
        Some(lost)
    }

    /// Puts corners in the place of those from one to another.
    fn lay(&mut self, number: usize, from: usize, to: usize, instead: &[Point]) {
        let (mut before, next) = (self.before[from], self.next[to]);
        let mut at = from;
        loop {
            self.alive[at] = false;
            if self.heads[number] == at {
                self.heads[number] = before;
            }
            if at == to {
                break;
            }
            at = self.next[at];
        }
        let first = before;
        for &point in instead {
            let new = self.points.len();
            self.push(number, point, before, NONE);
            self.next[before] = new;
            before = new;
        }
        self.next[before] = next;
        self.before[next] = before;
        let mut leg = first;
        while leg != next {
            self.register(leg);
            leg = self.next[leg];
        }
    }

    /// The cheapest way to lay a stretch anew from one corner to another, if any costs less than the most.
    fn stretch(&self, number: usize, from: usize, to: usize, most: f64) -> Option<Stretch> {
        if from == NONE || to == NONE || self.before[from] == NONE || self.next[to] == NONE {
            return None;
        }
        let mut window = vec![self.before[from], from];
        let mut inner = 0.0;
        while window[window.len() - 1] != to {
            let last = window[window.len() - 1];
            inner += self.length(last);
            let next = self.next[last];
            if next == NONE || window.contains(&next) {
                return None;
            }
            window.push(next);
        }
        if window.contains(&self.next[to]) {
            return None;
        }
        let radius = self.radii[number];
        let anchor = |corner: usize, other: usize| {
            let way = self.points[corner].to(self.points[other]);
            let length = way.length();
            (length > HAIR).then(|| Anchor {
                corner: self.points[corner],
                away: Way { x: way.x / length, y: way.y / length },
                free: length - radius * self.takes(other),
            })
        };
        let came = anchor(from, self.before[from])?;
        let goes = anchor(to, self.next[to])?;
        let between = Between { came, goes, radius, inner };
        let mut best: Option<Stretch> = None;
        let corners: Vec<Point> = window[1..].iter().map(|&at| self.points[at]).collect();
        // First what nearly always does.
        for ways in [Between::plain_corner, Between::bulbs, Between::bends] {
            let mut ways = ways(&between, &corners);
            ways.sort_by(|one, other| one.cost.total_cmp(&other.cost));
            for way in ways.into_iter().take(MOST_TRIED) {
                let most = best.as_ref().map_or(most, |best| best.cost);
                if way.cost >= most {
                    break;
                }
                let drawn = way.drawn(radius).into_iter().find(|points| self.is_free(&way, points, &window));
                let Some(instead) = drawn else { continue };
                let near = if self.is_near_itself(&way, &instead, &window) { NEAR_ITSELF } else { 0.0 };
                let cost = way.cost + strays(&way, &corners, &instead) / radius / 2.0 + near;
                if cost < most {
                    best = Some(Stretch { cost, lost: way.lost, from, to, instead });
                }
            }
            if best.as_ref().is_some_and(|best| best.cost < NEAR_ITSELF) {
                break;
            }
        }
        best
    }

    /// Whether a new stretch, the legs between which it is laid and the next ones come too near to each other.
    fn is_near_itself(&self, way: &Candidate, points: &[Point], window: &[usize]) -> bool {
        let (first, last) = (window[0], window[window.len() - 1]);
        let after = self.next[last];
        let mut line: Vec<Point> = Vec::with_capacity(points.len() + 6);
        line.extend(self.points.get(self.before[first]));
        line.extend([self.points[first], way.start]);
        line.extend(points);
        line.extend([way.end, self.points[after]]);
        line.extend(self.points.get(self.next[after]));
        line.dedup_by(|one, other| one.metres_to(*other) < HAIR);
        is_near_itself(&line, self.apart)
    }

    /// Whether a new stretch keeps within the fence, clear of other pipe and of itself.
    fn is_free(&self, way: &Candidate, points: &[Point], window: &[usize]) -> bool {
        let mut new = vec![way.start];
        new.extend(points);
        new.push(way.end);
        new.dedup_by(|one, other| one.metres_to(*other) < HAIR);
        let legs: Vec<(Point, Point)> = new.windows(2).map(|two| (two[0], two[1])).collect();
        let crosses_itself = || {
            let later = |at: usize| legs.get(at + 2..).unwrap_or_default();
            legs.iter().enumerate().any(|(at, one)| later(at).iter().any(|other| meet(one.0, one.1, other.0, other.1)))
        };
        if !legs.iter().all(|leg| self.fence.lets_pass(leg.0, leg.1)) || crosses_itself() {
            return false;
        }
        // The legs between which it is laid, as far as they stay, and the next ones touch it or nearly.
        let (first, last) = (window[0], window[window.len() - 1]);
        let (came_from, goes_to) = (self.points[first], self.points[self.next[last]]);
        let meets = |from: Point, to: Point, legs: &[(Point, Point)]| {
            from.metres_to(to) > HAIR && legs.iter().any(|leg| meet(leg.0, leg.1, from, to))
        };
        if let [_, but_first @ ..] = &legs[..]
            && let [but_last @ .., _] = &legs[..]
            && (meets(came_from, way.start, but_first) || meets(way.end, goes_to, but_last))
        {
            return false;
        }
        let beside = [self.before[first], self.next[last]];
        let bounds = Bounds::around(new.iter().copied()).wider(self.apart);
        let mut seen: Vec<usize> = Vec::new();
        squares_of(&bounds).filter_map(|square| self.squares.get(&square)).flatten().all(|&other| {
            if !self.alive[other] || window.contains(&other) || seen.contains(&other) {
                return true;
            }
            seen.push(other);
            let Some((c, d)) = self.leg(other) else { return true };
            let box_of = Bounds::around([c, d]);
            let apart = if beside.contains(&other) { 1e-6 } else { self.apart };
            !box_of.touches(&bounds)
                || legs.iter().all(|&(a, b)| {
                    if !Bounds::around([a, b]).wider(apart).touches(&box_of) {
                        return true;
                    }
                    let (one, two) = nearest_shares(a, b, c, d);
                    a.towards(b, one).metres_to(c.towards(d, two)) >= apart - 1e-9
                })
        })
    }
}

/// The squares of the plan that a box touches.
fn squares_of(bounds: &Bounds) -> impl Iterator<Item = (i64, i64)> + use<> {
    let square = |at: f64| (at / SQUARE).floor() as i64;
    let (left, right) = (square(bounds.low.x), square(bounds.high.x));
    let (low, high) = (square(bounds.low.y), square(bounds.high.y));
    (left..=right).flat_map(move |x| (low..=high).map(move |y| (x, y)))
}

/// The squares of the plan that a leg may touch, found piece by piece.
fn squares_along(from: Point, to: Point) -> Vec<(i64, i64)> {
    let pieces = (from.metres_to(to) / SQUARE).ceil().max(1.0) as usize;
    let at = |piece: usize| from.towards(to, piece as f64 / pieces as f64);
    let mut squares: Vec<(i64, i64)> =
        (0..pieces).flat_map(|piece| squares_of(&Bounds::around([at(piece), at(piece + 1)]))).collect();
    squares.sort_unstable();
    squares.dedup();
    squares
}

/// The two legs between which a stretch is laid anew.
struct Between {
    came: Anchor,
    goes: Anchor,
    radius: f64,
    /// How long the stretch is now.
    inner: f64,
}

/// A way to lay a stretch anew.
struct Candidate {
    cost: f64,
    lost: f64,
    /// Where what is new begins and ends.
    start: Point,
    end: Point,
    shape: Shape,
}

enum Shape {
    Corner(Point),
    /// From a place, along a direction: three pieces.
    Bends(Point, Way, [Piece; 3]),
}

/// A bend to the left (hand 1) or right (-1) by an angle in radians, or a straight piece (0) in radii.
#[derive(Clone, Copy)]
struct Piece {
    hand: f64,
    size: f64,
}

/// How far apart the outermost places of a bulb lie between two runs so far apart; of runs far enough apart for a half circle,
/// these themselves.
pub(super) fn bulb_width(width: f64, radius: f64) -> f64 {
    width.max(2.0 * radius / (EACH / 2.0).cos())
}

/// A bend is cut into corners of so much at most, in radians.
const EACH: f64 = 0.4;

/// To lose so much pipe, in metres, is better than to lie too near to itself.
const NEAR_ITSELF: f64 = 1.5;

/// The most ways that are held against what lies about them.
const MOST_TRIED: usize = 40;

impl Between {
    /// The legs as they are, made longer or shorter to where they meet.
    fn plain_corner(&self, _: &[Point]) -> Vec<Candidate> {
        const SHARPEST: f64 = 2.2;
        const FARTHEST: f64 = 4.0;
        let (came, goes) = (self.came, self.goes);
        let turn = came.away.cross(goes.away);
        let angle = PI - turn.abs().atan2(came.away.dot(goes.away));
        if turn.abs() < 1e-3 {
            return Vec::new();
        }
        let between = came.corner.to(goes.corner);
        let (back, on) = (between.cross(goes.away) / turn, between.cross(came.away) / turn);
        let takes = self.radius * (angle / 2.0).tan();
        let most = FARTHEST * self.radius;
        if back + takes > came.free || on + takes > goes.free || back < -most || on < -most {
            return Vec::new();
        }
        if angle > SHARPEST {
            return self.ways(back + takes * 1.001, on + takes * 1.001);
        }
        let corner = came.at(back);
        let lost = self.inner + back + on;
        vec![Candidate::new(lost, 0.0, (came, back), (goes, on), Shape::Corner(corner))]
    }

    /// Bulbs between two legs that lie side by side, as far out as the corners between them.
    fn bulbs(&self, corners: &[Point]) -> Vec<Candidate> {
        let (came, goes) = (self.came, self.goes);
        if came.away.dot(goes.away) < 0.99 {
            return Vec::new();
        }
        let out = |point: Point| -came.corner.to(point).dot(came.away);
        let tip = corners.iter().map(|&at| out(at)).fold(0.0, f64::max);
        let level = out(goes.corner);
        // Level with each other both legs swing out; where one ends so much before the other, only that one does.
        let width = came.corner.to(goes.corner).cross(came.away).abs();
        let before = 1.02 * (4.0 * self.radius * self.radius - width * width).max(0.0).sqrt();
        let mut bulbs = Vec::new();
        for (back, on) in [(0.0, 0.0), (before, 0.0), (0.0, before)] {
            for bulb in self.ways(back, level + on) {
                let Some(points) = bulb.drawn(self.radius).pop() else { continue };
                let beyond = points.into_iter().map(out).fold(f64::NEG_INFINITY, f64::max) - tip;
                let reaching = self.ways_between(back + beyond, level + on + beyond);
                bulbs.extend(reaching.into_iter().filter(|it| it.hands() == bulb.hands()));
            }
        }
        bulbs
    }

    /// Every way from places on the one leg to places on the other.
    fn bends(&self, _: &[Point]) -> Vec<Candidate> {
        const PLACES: [f64; 9] = [-1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0];
        let places = |free: f64| {
            let mut places: Vec<f64> = PLACES.iter().map(|place| place * self.radius).filter(|it| *it < free).collect();
            if places.len() < PLACES.len() && free > -self.radius {
                places.push(free);
            }
            places
        };
        let on = places(self.goes.free);
        places(self.came.free)
            .into_iter()
            .flat_map(|back| on.iter().flat_map(move |&on| self.ways_between(back, on)))
            .collect()
    }

    /// The ways from one place to another, if both legs reach so far.
    fn ways_between(&self, back: f64, on: f64) -> Vec<Candidate> {
        if back > self.came.free || on > self.goes.free { Vec::new() } else { self.ways(back, on) }
    }

    fn ways(&self, back: f64, on: f64) -> Vec<Candidate> {
        let (came, goes) = (self.came, self.goes);
        let way_in = Way { x: -came.away.x, y: -came.away.y };
        let (from, to) = (came.at(back), goes.at(on));
        let ways = words(from, way_in, to, goes.away, self.radius);
        let candidate = |pieces: [Piece; 3]| {
            let length: f64 = pieces.iter().map(|piece| piece.size * self.radius).sum();
            let lost = self.inner + back + on - length;
            let far = back.abs() + on.abs();
            Candidate::new(lost, far, (came, back), (goes, on), Shape::Bends(from, way_in, pieces))
        };
        ways.into_iter().map(candidate).collect()
    }
}

impl Candidate {
    fn new(lost: f64, far: f64, came: (Anchor, f64), goes: (Anchor, f64), shape: Shape) -> Candidate {
        // Pipe that is not laid leaves floor cold; more of it than before does little harm.
        const MORE: f64 = 0.3;
        const FAR: f64 = 0.01;
        let cost = if lost > 0.0 { lost } else { -MORE * lost } + FAR * far;
        Candidate { cost, lost, start: came.0.at(came.1.max(0.0)), end: goes.0.at(goes.1.max(0.0)), shape }
    }

    fn hands(&self) -> [f64; 3] {
        match &self.shape {
            Shape::Corner(_) => [0.0; 3],
            Shape::Bends(_, _, pieces) => pieces.map(|piece| piece.hand),
        }
    }

    /// The corners of the stretch: with few where a bend is no more than a right angle, or as finely as a bend asks for.
    fn drawn(&self, radius: f64) -> Vec<Vec<Point>> {
        const RIGHT_ANGLE: f64 = 1.59;
        const SLIGHT: f64 = 1.06;
        let (from, way, pieces) = match &self.shape {
            Shape::Corner(corner) => return vec![vec![*corner]],
            Shape::Bends(from, way, pieces) => (*from, *way, pieces),
        };
        [RIGHT_ANGLE, SLIGHT]
            .map(|one_corner| {
                let (mut at, mut way) = (from, way);
                let mut corners = Vec::new();
                for piece in pieces {
                    if piece.hand == 0.0 {
                        at = ahead(at, way, piece.size * radius);
                        continue;
                    }
                    let count = if piece.size <= one_corner { 1.0 } else { (piece.size / EACH).ceil() };
                    let step = piece.size / count;
                    if step < 1e-9 {
                        continue;
                    }
                    let by = radius * (step / 2.0).tan();
                    let (sin, cos) = (piece.hand * step).sin_cos();
                    for _ in 0..count as usize {
                        at = ahead(at, way, by);
                        corners.push(at);
                        way = Way { x: way.x * cos - way.y * sin, y: way.x * sin + way.y * cos };
                        at = ahead(at, way, by);
                    }
                }
                corners
            })
            .to_vec()
    }
}

/// The floor that a stretch leaves by taking another way, in square metres: along the old way the distance to the new one.
fn strays(way: &Candidate, old: &[Point], new: &[Point]) -> f64 {
    /// Farther off other pipe is nearer.
    const MOST: f64 = 0.1;
    const STEP: f64 = 0.1;
    let old: Vec<Point> = [way.start].into_iter().chain(old.iter().copied()).chain([way.end]).collect();
    let new: Vec<Point> = [way.start].into_iter().chain(new.iter().copied()).chain([way.end]).collect();
    let off = |point: Point| {
        let legs =
            new.windows(2).map(|two| two[0].towards(two[1], nearest_share(two[0], two[1], point)).metres_to(point));
        legs.fold(MOST, f64::min)
    };
    let of_leg = |two: &[Point]| {
        let length = two[0].metres_to(two[1]);
        let steps = (length / STEP).ceil().max(1.0);
        let at = |step: usize| two[0].towards(two[1], (step as f64 + 0.5) / steps);
        (0..steps as usize).map(|step| off(at(step))).sum::<f64>() * length / steps
    };
    old.windows(2).map(of_leg).sum()
}

fn ahead(at: Point, way: Way, by: f64) -> Point {
    Point::new(at.x + way.x * by, at.y + way.y * by)
}

/// The ways from one place and direction to another in two bends of the radius with a straight piece or a third bend
/// between: Dubins' six words, as far as they exist and no pipe turns more than once round.
fn words(from: Point, way_in: Way, to: Point, way_out: Way, radius: f64) -> Vec<[Piece; 3]> {
    let round = |angle: f64| {
        let angle = angle.rem_euclid(TAU);
        if angle > TAU - 1e-7 { 0.0 } else { angle }
    };
    let between = from.to(to);
    let far = between.length() / radius;
    let towards = if far > 0.0 { between.y.atan2(between.x) } else { 0.0 };
    let a = round(way_in.y.atan2(way_in.x) - towards);
    let b = round(way_out.y.atan2(way_out.x) - towards);
    let ((sa, ca), (sb, cb)) = (a.sin_cos(), b.sin_cos());
    let cos = (a - b).cos();
    const LEFT: f64 = 1.0;
    const RIGHT: f64 = -1.0;
    let mut found: Vec<[Piece; 3]> = Vec::new();
    let mut add = |hands: [f64; 3], sizes: [f64; 3]| {
        /// More would cross itself.
        const MOST: f64 = 1.5 * PI;
        if sizes[0] < MOST && sizes[2] < MOST && sizes.iter().all(|size| size.is_finite()) {
            let piece = |at: usize| Piece { hand: hands[at], size: sizes[at] };
            found.push([piece(0), piece(1), piece(2)]);
        }
    };
    for hand in [LEFT, RIGHT] {
        // To the right is to the left in a mirror.
        let (a, b, sa, sb) = if hand == LEFT { (a, b, sa, sb) } else { (-a, -b, -sa, -sb) };
        // The same hand twice.
        let square = 2.0 + far * far - 2.0 * cos + 2.0 * far * (sa - sb);
        if square >= 0.0 {
            let angle = (cb - ca).atan2(far + sa - sb);
            add([hand, 0.0, hand], [round(angle - a), square.sqrt(), round(b - angle)]);
        }
        // The one hand and then the other.
        let square = far * far - 2.0 + 2.0 * cos + 2.0 * far * (sa + sb);
        if square >= 0.0 {
            let straight = square.sqrt();
            let angle = (-ca - cb).atan2(far + sa + sb) - (-2.0f64).atan2(straight);
            add([hand, 0.0, -hand], [round(angle - a), straight, round(angle - b)]);
        }
        // Out, round and back.
        let middle = (6.0 - far * far + 2.0 * cos - 2.0 * far * (sa - sb)) / 8.0;
        if middle.abs() <= 1.0 {
            let middle = round(TAU - middle.acos());
            let first = round(-a - (ca - cb).atan2(far + sa - sb) + middle / 2.0);
            add([hand, -hand, hand], [first, middle, round(b - a - first + middle)]);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::super::Route;
    use super::super::super::point::tests::{Numbers, points};
    use super::*;
    use quantity::Length;

    /// Wherever a way leads, it ends at the place and in the direction that it is to go to.
    #[test]
    fn every_word_ends_where_it_is_to() {
        let mut numbers = Numbers(5);
        let mut counted = [0; 7];
        for _ in 0..2000 {
            let [from, to] = [(); 2].map(|()| numbers.point(0.0, 0.4));
            let [way_in, way_out] = [(); 2].map(|()| {
                let (y, x) = numbers.between(0.0, TAU).sin_cos();
                Way { x, y }
            });
            let words = words(from, way_in, to, way_out, 0.08);
            counted[words.len()] += 1;
            for pieces in words {
                let (mut at, mut way) = (from, way_in);
                for piece in pieces {
                    // Straight steps of a fine polygon.
                    let step = piece.size / 2000.0;
                    for _ in 0..2000 {
                        let (sin, cos) = (piece.hand * step / 2.0).sin_cos();
                        let turned = |way: Way| Way { x: way.x * cos - way.y * sin, y: way.x * sin + way.y * cos };
                        way = turned(way);
                        at = ahead(at, way, 0.08 * step);
                        way = turned(way);
                    }
                }
                assert!(
                    at.metres_to(to) < 1e-5 && way.dot(way_out) > 1.0 - 1e-9,
                    "{from:?} {to:?} {way_in:?} {way_out:?}"
                );
            }
        }
        assert!(counted[2] > 100 && counted[3] > 0, "{counted:?}");
    }

    fn eased(pairs: &[(f64, f64)], fence: Vec<(Point, Point)>) -> Route {
        let mut line = [Line { points: points(pairs), closed: false, radius: 0.08 }];
        ease(&mut line, || Fence::new(fence), 0.025);
        Route::new(&line[0].points).unwrap()
    }

    /// A hairpin, a step, a nook and a short leg at an open corner: nothing is tighter than the bend afterwards.
    #[test]
    fn tight_turns_become_bulbs_slopes_and_plain_corners() {
        for pairs in [
            &[(0.0, 0.0), (2.0, 0.0), (2.0, 0.12), (0.0, 0.12)][..],
            &[(0.0, 0.0), (2.0, 0.0), (2.0, 0.05), (4.0, 0.05)],
            &[(0.0, 0.0), (2.0, 0.0), (2.0, 0.05), (2.05, 0.05), (2.05, 2.0)],
            &[(0.0, 0.0), (2.0, 0.0), (2.04, 0.03), (2.04, 2.0)],
            &[(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (2.1, 1.0), (2.1, 0.0), (4.0, 0.0)],
        ] {
            let before = Route::new(&points(pairs)).unwrap();
            let route = eased(pairs, Vec::new());
            let least = Length::metres(0.08);
            assert!(before.tight_corners(least).count() > 0);
            assert_eq!(route.tight_corners(least).count(), 0, "{pairs:?}: {:?}", route.points());
            assert!((route.length().in_metres() / before.length().in_metres() - 1.0).abs() < 0.1);
        }
    }

    /// Where a wall stands in the way, a bulb reaches no farther than the hairpin did; where both sides are taken, it stays.
    #[test]
    fn a_bulb_keeps_to_the_floor() {
        let hairpin = [(0.0, 0.0), (2.0, 0.0), (2.0, 0.1), (0.0, 0.1)];
        let wall = (Point::new(2.001, -1.0), Point::new(2.001, 1.0));
        let route = eased(&hairpin, vec![wall]);
        assert_eq!(route.tight_corners(Length::metres(0.08)).count(), 0);
        assert!(route.points().iter().all(|point| point.x <= 2.0 + 1e-6));
        let beside = [-0.01, 0.11].map(|y| (Point::new(0.0, y), Point::new(3.0, y)));
        let route = eased(&hairpin, beside.to_vec());
        assert_eq!(route.points(), points(&hairpin));
    }
}
