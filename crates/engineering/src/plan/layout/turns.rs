//! Turns: what makes a closed line of pipe bendable.

use super::super::box_tree::BoxTree;
use super::super::free_area::Shapes;
use super::super::point::{Way, nearest_share, nearest_shares};
use super::super::{Bounds, Point, Route, route_meetings};
use super::ground::{straighten, within};
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::ops::ControlFlow;

/// What a bulb may do to the pipe and the walls beside it.
pub(super) struct Room<'a> {
    pub floor: &'a Shapes,
    /// How far beyond the floor's edge a bulb may stick out, in metres.
    pub beyond: f64,
    /// From pipe to pipe beside a bulb.
    pub apart: f64,
}

/// Makes the tight turns of a closed line bendable, where there is room: a hairpin narrower than two radii becomes a bulb,
/// and a short leg between two corners becomes a slope or a single corner.
pub(super) fn ease(line: &mut Vec<Point>, radius: f64, room: &Room) {
    straighten(line);
    if line.len() < 4 || radius <= 0.0 {
        return;
    }
    // Begin at the end of the longest edge, so that no turn lies across the seam.
    let count = line.len();
    let length = |number: usize| line[number].metres_to(line[(number + 1) % count]);
    let longest = (0..count).max_by(|one, other| length(*one).total_cmp(&length(*other))).unwrap_or(0);
    line.rotate_left((longest + 1) % count);
    let turns: [Turn; 3] = [
        |it, eased, next| it.hairpin(eased, next),
        |it, eased, next| it.short_leg(eased, next),
        |it, eased, next| it.slight_turn(eased, next),
    ];
    for turn in turns {
        let Some(mut next) = eased(line, radius, room, turn) else { continue };
        straighten(&mut next);
        // What lies side by side was looked at as it was before; a line that crosses itself after all is not taken.
        let closed: Vec<Point> = next.iter().chain(next.first()).copied().collect();
        if Route::new(&closed).is_ok_and(|route| route_meetings(&[&route]).all.is_empty()) {
            *line = next;
        }
    }
}

/// What to lay instead of a turn, and the last corner of the turn.
type Instead = Option<(usize, Vec<Point>)>;

/// Looks at the turn that begins at a corner, after what has been eased so far.
type Turn = fn(&Easing, &[Point], usize) -> Instead;

/// The line with its turns replaced; nothing if none has to be.
fn eased(line: &[Point], radius: f64, room: &Room, turn: Turn) -> Option<Vec<Point>> {
    if tight(line, radius) == 0 {
        return None;
    }
    let mut easing = Easing::new(line, radius, room);
    let mut eased: Vec<Point> = Vec::with_capacity(line.len() * 2);
    let (mut next, mut changed) = (0, false);
    while next < line.len() {
        match turn(&easing, &eased, next) {
            Some((last, instead)) => {
                changed = true;
                if !instead.is_empty() {
                    easing.remember(&instead);
                }
                eased.extend(instead);
                next = last + 1;
            }
            None => {
                eased.push(line[next]);
                next += 1;
            }
        }
    }
    changed.then_some(eased)
}

/// How far apart the outermost places of a bulb lie; nothing where a hairpin so wide needs none or can have none.
pub(super) fn bulb_width(width: f64, radius: f64) -> Option<f64> {
    if width >= 2.0 * radius {
        return Some(width);
    }
    let bulb = bulb_both_sides(width, radius)?;
    let across = |pick: fn(f64, f64) -> f64, from: f64| bulb.iter().map(|it| it.1).fold(from, pick);
    Some(across(f64::max, width) - across(f64::min, 0.0))
}

struct Easing<'a> {
    line: &'a [Point],
    tree: BoxTree,
    radius: f64,
    room: &'a Room<'a>,
    /// The bulbs laid so far, by the square of the plan that the middle of each lies in.
    bulbs: BTreeMap<(i64, i64), Vec<Vec<Point>>>,
}

impl<'a> Easing<'a> {
    fn new(line: &'a [Point], radius: f64, room: &'a Room<'a>) -> Easing<'a> {
        let count = line.len();
        let tree = BoxTree::new((0..count).map(|leg| Bounds::around([line[leg], line[(leg + 1) % count]])));
        Easing { line, tree, radius, room, bulbs: BTreeMap::new() }
    }

    /// A corner that hardly turns, beside one that is too tight for want of its leg: it is left out.
    fn slight_turn(&self, eased: &[Point], at: usize) -> Instead {
        const SLIGHT: f64 = 0.25;
        const OFF: f64 = 0.012;
        let count = self.line.len();
        let [before_that, before] = [2, 1].map(|back| match eased.len().checked_sub(back) {
            Some(number) => eased[number],
            None => self.line[(at + count - back) % count],
        });
        let (here, after, then) = (self.at(at), self.at(at + 1), self.at(at + 2));
        let (came, goes) = (before.to(here), here.to(after));
        let turn = came.cross(goes).atan2(came.dot(goes));
        if turn.abs() > SLIGHT || at == 0 || at + 1 >= count {
            return None;
        }
        let tightest =
            |points: &[Point]| points.windows(3).map(|it| fits(it[0], it[1], it[2])).fold(f64::INFINITY, f64::min);
        let now = tightest(&[before_that, before, here, after, then]);
        let straight = tightest(&[before_that, before, after, then]);
        let off = before.towards(after, nearest_share(before, after, here)).metres_to(here);
        (now < self.radius - 1e-4 && straight > now && off < OFF && self.is_on_floor(before, after))
            .then_some((at, Vec::new()))
    }

    /// The leg that begins at a corner, if it is too short for its two corners: its end, and what to lay instead.
    fn short_leg(&self, eased: &[Point], first: usize) -> Instead {
        let count = self.line.len();
        let last = first + 1;
        let before = eased.last().copied().unwrap_or(self.line[count - 1]);
        if last + 1 >= count || eased.len() < 2 {
            return None;
        }
        let (one, other, after, then) = (self.at(first), self.at(last), self.at(last + 1), self.at(last + 2));
        let fits_all =
            |points: &[Point]| points.windows(3).map(|it| fits(it[0], it[1], it[2])).fold(f64::INFINITY, f64::min);
        let long = 2.0 * self.radius;
        let now = fits_all(&[before, one, other, after]);
        let leg = one.metres_to(other);
        if now >= self.radius - 1e-4 || leg >= long || leg > before.metres_to(one).min(other.metres_to(after)) {
            return None;
        }
        let (way_in, way_out) = (unit(before.to(one))?, unit(other.to(after))?);
        let back = |by: f64| Point::new(one.x - way_in.x * by, one.y - way_in.y * by);
        let on = |by: f64| Point::new(other.x + way_out.x * by, other.y + way_out.y * by);
        let mut instead: Vec<Vec<Point>> = Vec::new();
        for by in [1.0, 1.5, 2.5] {
            let by = by * leg.max(self.radius / 3.0);
            instead.extend([vec![back(by), other], vec![one, on(by)], vec![back(by / 2.0), on(by / 2.0)]]);
        }
        let turn = way_in.cross(way_out);
        if turn.abs() > 1e-6 {
            let along = one.to(other).cross(way_out) / turn;
            if along.abs() < long {
                instead.push(vec![back(-along)]);
            }
        }
        instead.push(vec![one.towards(other, 0.5)]);
        let before_that = eased[eased.len() - 2];
        instead.into_iter().find_map(|points| {
            let around: Vec<Point> =
                [before_that, before].into_iter().chain(points.iter().copied()).chain([after, then]).collect();
            let better = fits_all(&around[1..around.len() - 1]) >= self.radius - 1e-4
                && fits_all(&around)
                    >= fits_all(&[before_that, before, one, other, after, then]).min(self.radius) - 1e-4;
            let whole: Vec<Point> = [before].into_iter().chain(points.iter().copied()).chain([after]).collect();
            (better
                && whole.windows(2).all(|two| self.is_on_floor(two[0], two[1]))
                && self.is_free(&points, first, last)
                && self.crosses_nothing(&whole, first, last))
            .then_some((last, points))
        })
    }

    /// The square of the plan in which the middle of a bulb lies; a bulb is smaller than a square.
    fn square(&self, bulb: &[Point]) -> (i64, i64) {
        let bounds = Bounds::around(bulb.iter().copied());
        let size = 8.0 * self.radius;
        let square = |low: f64, high: f64| ((low + high) / 2.0 / size).floor() as i64;
        (square(bounds.low.x, bounds.high.x), square(bounds.low.y, bounds.high.y))
    }

    fn remember(&mut self, bulb: &[Point]) {
        self.bulbs.entry(self.square(bulb)).or_default().push(bulb.to_vec());
    }

    fn at(&self, number: usize) -> Point {
        self.line[number % self.line.len()]
    }

    /// The turn that begins at a corner, if it is a hairpin that is too tight: its last corner, and what to lay instead.
    fn hairpin(&self, eased: &[Point], first: usize) -> Instead {
        const MOST_CORNERS: usize = 5;
        let count = self.line.len();
        let came_from = eased.last().copied().unwrap_or(self.line[count - 1]);
        let way_in = unit(came_from.to(self.at(first)))?;
        let mut way = way_in;
        let mut turned = 0.0;
        let mut inner = 0.0;
        for last in first..(first + MOST_CORNERS).min(count) {
            let out = unit(self.at(last).to(self.at(last + 1)))?;
            let turn = way.cross(out).atan2(way.dot(out));
            if turned * turn < 0.0 {
                return None;
            }
            turned += turn;
            if turned.abs() > 1.09 * PI {
                return None;
            }
            if turned.abs() > 0.91 * PI {
                if last == first || !self.is_tight(came_from, first, last) {
                    return None;
                }
                let bulb = self.turn(first, last, way_in, came_from, turned.signum())?;
                return Some((last, bulb));
            }
            way = out;
            inner += self.at(last).metres_to(self.at(last + 1));
            if inner > 6.0 * self.radius {
                return None;
            }
        }
        None
    }

    /// Whether a bend of the radius does not fit some corner of a turn.
    fn is_tight(&self, came_from: Point, first: usize, last: usize) -> bool {
        (first..=last).any(|number| {
            let before = if number == first { came_from } else { self.at(number - 1) };
            fits(before, self.at(number), self.at(number + 1)) < self.radius - 1e-4
        })
    }

    /// What to lay instead of a turn straight back: a square turn where it is wide enough, else a bulb.
    fn turn(&self, first: usize, last: usize, along: Way, came_from: Point, hand: f64) -> Option<Vec<Point>> {
        let start = self.at(first);
        // u along the run that comes, v across to the run that goes.
        let across = Way { x: -along.y * hand, y: along.x * hand };
        let point =
            |(u, v): (f64, f64)| Point::new(start.x + along.x * u + across.x * v, start.y + along.y * u + across.y * v);
        let end = start.to(self.at(last));
        let (tip, width) = (end.dot(along).min(0.0), end.dot(across));
        if width <= 0.0 {
            return None;
        }
        let (came, goes) = (came_from.metres_to(start), self.at(last).metres_to(self.at(last + 1)));
        // How far back each run reaches, from where it turns now.
        let reach = (-came).max(end.dot(along) - goes);
        if width >= 2.0 * self.radius - 1e-4 {
            return (tip - reach > 2.0 * self.radius).then(|| vec![point((tip, 0.0)), point((tip, width))]);
        }
        let bulbs = [bulb_both_sides(width, self.radius), bulb_one_side(width, self.radius)];
        let [both, one] = bulbs;
        let mirrored = one.as_ref().map(|one| one.iter().rev().map(|&(u, v)| (u, width - v)).collect::<Vec<_>>());
        for bulb in [both, one, mirrored].into_iter().flatten() {
            let back = bulb.iter().map(|it| it.0).fold(0.0, f64::min);
            if tip + back < reach {
                continue;
            }
            let bulb: Vec<Point> = bulb.iter().map(|&(u, v)| point((tip + u, v))).collect();
            if self.is_free(&bulb, first, last) {
                return Some(bulb);
            }
        }
        None
    }

    /// Whether a stretch that takes the place of a turn and of its two runs crosses no other leg.
    fn crosses_nothing(&self, stretch: &[Point], first: usize, last: usize) -> bool {
        let count = self.line.len();
        let own = |leg: usize| (first..=last).contains(&leg) || (leg + 1) % count == first;
        let beside = |leg: usize| (leg + 2) % count == first || leg == (last + 1) % count;
        let mut free = true;
        for two in stretch.windows(2) {
            let _ = self.tree.touching(&Bounds::around(two.iter().copied()), |leg| {
                let leg = leg as usize;
                let (c, d) = (self.at(leg), self.at(leg + 1));
                // The runs before and after the stretch touch its ends.
                let crosses = if beside(leg) {
                    super::super::point::side(two[0], two[1], c) * super::super::point::side(two[0], two[1], d) < 0
                        && super::super::point::side(c, d, two[0]) * super::super::point::side(c, d, two[1]) < 0
                } else {
                    super::super::touching::meet(two[0], two[1], c, d)
                };
                free &= own(leg) || !crosses;
                if free { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
            });
        }
        free
    }

    fn is_near_floor(&self, point: Point) -> bool {
        let edges = || self.room.floor.iter().flatten().flat_map(|line| super::super::outline::edges(line));
        let off = |(from, to): (Point, Point)| from.towards(to, nearest_share(from, to, point)).metres_to(point);
        within(self.room.floor, point) || edges().any(|edge| off(edge) <= self.room.beyond + 1e-6)
    }

    /// Whether a leg stays on the floor, or as near to it as it may go.
    fn is_on_floor(&self, from: Point, to: Point) -> bool {
        const STEP: f64 = 0.02;
        let steps = (from.metres_to(to) / STEP).ceil().min(50.0);
        (1..steps as usize).all(|step| self.is_near_floor(from.towards(to, step as f64 / steps)))
    }

    /// Whether a bulb lies on the floor and clear of the rest of the line.
    fn is_free(&self, bulb: &[Point], first: usize, last: usize) -> bool {
        if !bulb.windows(2).all(|two| self.is_on_floor(two[0], two[1]))
            || !bulb.iter().all(|&it| self.is_near_floor(it))
        {
            return false;
        }
        let count = self.line.len();
        // The legs of the turn itself and the two runs.
        let own = |leg: usize| (first..=last).contains(&leg) || (leg + 1) % count == first;
        let mut free = true;
        for two in bulb.windows(2) {
            let _ = self.tree.touching(&Bounds::around(two.iter().copied()).wider(self.room.apart), |leg| {
                let leg = leg as usize;
                if !own(leg) {
                    let (c, d) = (self.at(leg), self.at(leg + 1));
                    let (one, other) = nearest_shares(two[0], two[1], c, d);
                    free &= two[0].towards(two[1], one).metres_to(c.towards(d, other)) >= self.room.apart - 1e-9;
                }
                if free { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
            });
        }
        let (x, y) = self.square(bulb);
        let near =
            (-1..=1).flat_map(|by| self.bulbs.range((x + by, y - 1)..=(x + by, y + 1))).flat_map(|(_, near)| near);
        free && near.flat_map(|other| other.windows(2)).all(|other| {
            bulb.windows(2).all(|two| {
                let (one, two_share) = nearest_shares(two[0], two[1], other[0], other[1]);
                two[0].towards(two[1], one).metres_to(other[0].towards(other[1], two_share)) >= self.room.apart - 1e-9
            })
        })
    }
}

/// The largest radius that fits a corner whose two legs are each lent half.
pub(super) fn fits(before: Point, at: Point, after: Point) -> f64 {
    let (came, goes) = (before.to(at), at.to(after));
    let turn = came.cross(goes).abs().atan2(came.dot(goes));
    let half = came.length().min(goes.length()) / 2.0;
    if turn < 1e-9 { f64::INFINITY } else { half / (turn / 2.0).tan() }
}

/// How many corners of a closed line are tighter than the radius.
pub(super) fn tight(line: &[Point], radius: f64) -> usize {
    let count = line.len();
    (0..count)
        .filter(|&at| fits(line[(at + count - 1) % count], line[at], line[(at + 1) % count]) < radius - 1e-3)
        .count()
}

fn unit(way: Way) -> Option<Way> {
    let length = way.length();
    (length > 0.0).then(|| Way { x: way.x / length, y: way.y / length })
}

/// A bulb between two runs, in corners (u, v): u along the first run, nothing at the tip and negative before it, v
/// across. Both runs swing out by an angle α before they turn back, all with one radius: cos α = (w/2 + r) / 2r.
fn bulb_both_sides(width: f64, radius: f64) -> Option<Vec<(f64, f64)>> {
    let arc = Arc::fitting(radius, |out| width / 2.0 / (2.0 * out.cos() - 1.0))?;
    let start = -PI / 2.0 - arc.out;
    let back = arc.middle() - 2.0 * arc.radius * arc.out.sin();
    let neck = arc.corners((back, -arc.radius), PI / 2.0, -1.0, arc.swings);
    let round = arc.corners((arc.middle(), width / 2.0), start, 1.0, arc.halves + 2 * arc.swings);
    let other_neck = neck.clone().into_iter().rev().map(|(u, v)| (u, width - v));
    Some(neck.iter().copied().chain(round).chain(other_neck).collect())
}

/// A bulb of which only the second run swings out: cos α = w / 2r.
fn bulb_one_side(width: f64, radius: f64) -> Option<Vec<(f64, f64)>> {
    let arc = Arc::fitting(radius, |out| width / 2.0 / out.cos())?;
    let back = arc.middle() - 2.0 * arc.radius * arc.out.sin();
    let round = arc.corners((arc.middle(), arc.radius), -PI / 2.0, 1.0, arc.halves + arc.swings);
    let neck = arc.corners((back, width + arc.radius), arc.out - PI / 2.0, -1.0, arc.swings);
    Some(round.into_iter().chain(neck).collect())
}

/// The arcs of a bulb, drawn as corners that all turn by the same angle: then the legs between them are alike, and each
/// lends its corners half.
struct Arc {
    radius: f64,
    /// The angle by which a run swings out.
    out: f64,
    /// The corners of a half circle, and those of swinging out.
    halves: usize,
    swings: usize,
}

impl Arc {
    /// The arcs whose radius, which follows from the angle, is the least that is no less than the one asked for.
    fn fitting(radius: f64, radius_at: impl Fn(f64) -> f64) -> Option<Arc> {
        let mut best: Option<Arc> = None;
        for halves in 6..=14 {
            for swings in 1..=halves / 2 {
                let out = PI * swings as f64 / halves as f64;
                let fits = radius_at(out);
                let better = best.as_ref().is_none_or(|best| fits < best.radius - 1e-4);
                if fits >= radius && better {
                    best = Some(Arc { radius: fits, out, halves, swings });
                }
            }
        }
        best
    }

    fn step(&self) -> f64 {
        PI / self.halves as f64
    }

    /// From the middle of the circle to a corner.
    fn to_corner(&self) -> f64 {
        self.radius / (self.step() / 2.0).cos()
    }

    /// How far along the middle of the bulb lies, with its outermost corner at the tip.
    fn middle(&self) -> f64 {
        -self.to_corner()
    }

    fn corners(&self, middle: (f64, f64), from: f64, hand: f64, count: usize) -> Vec<(f64, f64)> {
        let angle = |number: usize| from + hand * self.step() * (number as f64 + 0.5);
        let corner =
            |angle: f64| (middle.0 + self.to_corner() * angle.cos(), middle.1 + self.to_corner() * angle.sin());
        (0..count).map(|number| corner(angle(number))).collect()
    }
}
