//! Pipe spread over a floor: a leg that lies closer to its neighbour than it has to moves over to where floor on its other
//! side would stay cold, as a bundle of tails is laid wider where a hall has room for it.
//!
//! Legs move sideways as a whole, only so far that no bend becomes tighter than its legs allow, and never over other pipe, so
//! that nothing crosses that did not.

use super::super::box_tree::BoxTree;
use super::super::free_area::Shapes;
use super::super::outline::edges;
use super::super::point::{Way, nearest_shares};
use super::super::route::tangent;
use super::super::{Bounds, Point};
use super::ground::{HAIR, within, within_lines};
use std::ops::ControlFlow;

/// A route that is not bent yet.
pub(super) struct Line {
    pub points: Vec<Point>,
    pub radius: f64,
    pub spacing: f64,
}

/// Where legs may move.
pub(super) struct Ground<'a> {
    /// The floors, as far as the middle of the pipe may lie there.
    pub floors: &'a [Shapes],
    /// How far these stay from the walls, in metres.
    pub edge: f64,
    /// The least from pipe to pipe that a move leaves, middle to middle.
    pub apart: f64,
    /// Pipe that stays where it is.
    pub drawn: Vec<(Point, Point)>,
}

/// Farther than this nothing is looked for beside a leg, in metres.
const REACH: f64 = 0.8;

/// The most that a leg moves at once, in metres.
const STRIDE: f64 = 0.15;

/// Moves the legs on the floors to where they leave less cold.
pub(super) fn spread(lines: &mut [Line], ground: &Ground) {
    /// A bundle opens from its outermost pipe on, one leg after the other.
    const SWEEPS: usize = 20;
    let around =
        ground.floors.iter().map(|floor| Bounds::around(floor.iter().flatten().flatten().copied()).wider(REACH));
    let around: Vec<Bounds> = around.collect();
    for sweep in 0..SWEEPS {
        let mut legs: Vec<(usize, usize)> = Vec::new();
        for (number, line) in lines.iter().enumerate() {
            let near = |leg: &usize| {
                let bounds = Bounds::around([line.points[*leg], line.points[leg + 1]]);
                around.iter().any(|it| it.touches(&bounds))
            };
            legs.extend((0..line.points.len().saturating_sub(1)).filter(near).map(|leg| (number, leg)));
        }
        let neighbours = Neighbours::new(lines, &legs, ground);
        let mut is_moved = false;
        let count = legs.len();
        for at in 0..count {
            let (number, leg) = legs[if sweep % 2 == 0 { at } else { count - 1 - at }];
            is_moved |= neighbours.moved(lines, number, leg, ground);
        }
        if !is_moved {
            break;
        }
    }
}

/// What lies beside legs: other legs, by their numbers, then edges of floors and drawn pipe.
struct Neighbours {
    legs: Vec<(usize, usize)>,
    /// Each with whether it is pipe.
    fixed: Vec<(Point, Point, bool)>,
    tree: BoxTree,
}

impl Neighbours {
    fn new(lines: &[Line], legs: &[(usize, usize)], ground: &Ground) -> Neighbours {
        let floors = ground.floors.iter().flatten().flatten().flat_map(|line| edges(line));
        let mut fixed: Vec<(Point, Point, bool)> = floors.map(|(from, to)| (from, to, false)).collect();
        fixed.extend(ground.drawn.iter().map(|&(from, to)| (from, to, true)));
        let of_leg = |&(number, leg): &(usize, usize)| {
            let points = &lines[number].points;
            // It may have moved when another looks for it.
            Bounds::around([points[leg], points[leg + 1]]).wider(2.0 * STRIDE)
        };
        let of_fixed = |&(from, to, _): &(Point, Point, bool)| Bounds::around([from, to]);
        let tree = BoxTree::new(legs.iter().map(of_leg).chain(fixed.iter().map(of_fixed)));
        Neighbours { legs: legs.to_vec(), fixed, tree }
    }

    /// Moves a leg to where it leaves the least cold beside it; whether it did.
    fn moved(&self, lines: &mut [Line], number: usize, leg: usize, ground: &Ground) -> bool {
        const SHORTEST: f64 = 0.2;
        const STEP: f64 = 0.1;
        /// Pipe lies close where this share of what both warm is warmed twice.
        const CLOSE: f64 = 0.2;
        /// Less is not worth a move, in square metres.
        const GAIN: f64 = 1e-3;
        let Line { points, radius, spacing } = &lines[number];
        if leg == 0 || leg + 2 >= points.len() {
            return false;
        }
        let (before, from, to, after) = (points[leg - 1], points[leg], points[leg + 1], points[leg + 2]);
        let length = from.metres_to(to);
        if length < SHORTEST.max(3.0 * radius) {
            return false;
        }
        if !ground.floors.iter().any(|floor| [0.0, 0.5, 1.0].iter().all(|&at| within(floor, from.towards(to, at)))) {
            return false;
        }
        let Some(mut sideways) = Sideways::new(points, leg, *radius) else { return false };
        let samples = (length / STEP).ceil().clamp(2.0, 60.0) as usize;
        // The gaps to the right and to the left at each place.
        let mut gaps = vec![[Gap { wide: REACH, warm: *spacing, cold: REACH - spacing }; 2]; samples];
        let along = sideways.along;
        let local = |point: Point| {
            let off = from.to(point);
            (along.dot(off), along.cross(off))
        };
        let bounds = Bounds::around([from, to]).wider(REACH).join(&Bounds::around([before, after]).wider(ground.apart));
        let mut beside: Vec<Beside> = Vec::new();
        let is_free = self.tree.touching(&bounds, |found| {
            let found = found as usize;
            let it = match self.legs.get(found) {
                Some(&(other, at)) => {
                    if other == number && at.abs_diff(leg) <= 1 {
                        return ControlFlow::Continue(());
                    }
                    let points = &lines[other].points;
                    let touches_before = other == number && at + 2 == leg;
                    let touches_after = other == number && at == leg + 2;
                    let spacing = Some(lines[other].spacing);
                    Beside { from: points[at], to: points[at + 1], spacing, touches_before, touches_after }
                }
                None => {
                    let (from, to, is_pipe) = self.fixed[found - self.legs.len()];
                    let spacing = is_pipe.then_some(*spacing);
                    Beside { from, to, spacing, touches_before: false, touches_after: false }
                }
            };
            let (one, other) = (local(it.from), local(it.to));
            let own = it.spacing;
            beside.push(it);
            let (low, high) = if one.0 <= other.0 { (one, other) } else { (other, one) };
            if high.0 < 0.0 || low.0 > length {
                return ControlFlow::Continue(());
            }
            let at = |u: f64| {
                let wide = high.0 - low.0;
                if wide < HAIR { low.1 } else { low.1 + (high.1 - low.1) * ((u - low.0) / wide).clamp(0.0, 1.0) }
            };
            let is_across = high.0 - low.0 < HAIR;
            let (first, last) = if is_across { (low.1, high.1) } else { (at(0.0), at(length)) };
            if first * last <= 0.0 {
                return ControlFlow::Break(());
            }
            let side = usize::from(first > 0.0);
            let gap = first.abs().min(last.abs());
            // What both warm, and how near they may come.
            let (warm, least) = match own {
                Some(other) => ((spacing + other) / 2.0, ground.apart),
                None => ((spacing / 2.0 - ground.edge).max(0.0), 0.0),
            };
            sideways.limit(side, gap - gap.min(least));
            for (sample, gaps) in gaps.iter_mut().enumerate() {
                let u = (sample as f64 + 0.5) / samples as f64 * length;
                if (low.0..=high.0).contains(&u) {
                    let here = at(u).abs();
                    if here < gaps[side].wide {
                        gaps[side] = Gap { wide: here, warm, cold: here - warm };
                    }
                }
            }
            ControlFlow::Continue(())
        });
        if is_free.is_break() {
            return false;
        }
        let each = length / samples as f64;
        // Cold floor counts most; then that what lies close to other pipe lies in the middle, which makes room for the next.
        let fault = |by: f64| -> f64 {
            let of_gap = |cold: f64, warm: f64| cold.max(0.0) + (-cold - CLOSE * warm).max(0.0).powi(2);
            let at = |[right, left]: &[Gap; 2]| of_gap(left.cold - by, left.warm) + of_gap(right.cold + by, right.warm);
            gaps.iter().map(at).sum::<f64>() * each
        };
        let (mut low, mut high) = (sideways.least.min(0.0), sideways.most.max(0.0));
        for _ in 0..40 {
            let (one, other) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if fault(one) <= fault(other) { high = other } else { low = one }
        }
        let best = (low + high) / 2.0;
        if fault(best) > fault(0.0) - GAIN {
            return false;
        }
        // Of places as good the nearest.
        let (mut stays, mut far) = (0.0, best);
        for _ in 0..30 {
            let middle = (stays + far) / 2.0;
            if fault(middle) < fault(best) + HAIR { far = middle } else { stays = middle }
        }
        // At its ends it may come near to what does not lie beside it: then it does not go all the way.
        let corners = [before, from, to, after];
        let places = [1.0, 0.5, 0.25].map(|part| sideways.places(from, to, part * far));
        let is_good = |&(from, to): &(Point, Point)| {
            bends_as_well(points, leg, from, to, *radius)
                && beside.iter().all(|it| it.stays_clear(corners, [before, from, to, after], ground.apart))
        };
        let Some((from, to)) = places.into_iter().find(is_good) else {
            return false;
        };
        let points = &mut lines[number].points;
        (points[leg], points[leg + 1]) = (from, to);
        true
    }
}

/// The gap beside a leg at one place, in metres: as it is, what of it both warm, and what is left.
#[derive(Clone, Copy)]
struct Gap {
    wide: f64,
    warm: f64,
    cold: f64,
}

/// What lies beside a leg.
struct Beside {
    from: Point,
    to: Point,
    /// Of pipe; else it is the edge of a floor.
    spacing: Option<f64>,
    /// Whether it is the leg next but one, before it or after.
    touches_before: bool,
    touches_after: bool,
}

impl Beside {
    /// Whether a leg and those before and after it come no nearer to this than they may, or than they were, where the
    /// ends of the leg move.
    fn stays_clear(&self, old: [Point; 4], new: [Point; 4], apart: f64) -> bool {
        let least = if self.spacing.is_some() { apart } else { HAIR };
        let far = |from: Point, to: Point| {
            let (one, other) = nearest_shares(from, to, self.from, self.to);
            from.towards(to, one).metres_to(self.from.towards(self.to, other))
        };
        let legs = (0..3).filter(|leg| !(*leg == 0 && self.touches_before || *leg == 2 && self.touches_after));
        let nearest = |corners: [Point; 4]| {
            legs.clone().map(|leg| far(corners[leg], corners[leg + 1])).fold(f64::INFINITY, f64::min)
        };
        let now = nearest(new);
        // What the ends go over: the legs before and after turn about their other ends.
        let goes_over = |end: usize, about: usize| {
            far(old[end], new[end]) == 0.0 || within_lines(&[vec![old[about], old[end], new[end]]], self.from)
        };
        (now >= least || now >= nearest(old) - HAIR)
            && !(1..3).any(|end| old[end].metres_to(new[end]) > HAIR && goes_over(end, 3 * (end - 1)))
    }
}

/// Whether the legs round one whose ends move are no more too short for their bends than they were.
fn bends_as_well(points: &[Point], leg: usize, from: Point, to: Point, radius: f64) -> bool {
    let (first, last) = (leg.saturating_sub(3), (leg + 5).min(points.len()));
    let old = &points[first..last];
    let mut new = old.to_vec();
    (new[leg - first], new[leg + 1 - first]) = (from, to);
    let spare = |points: &[Point], leg: usize| {
        let takes = |at: usize| match points.get(at.wrapping_sub(1)..at + 2) {
            Some(&[before, here, after]) => tangent(before, here, after),
            _ => 0.0,
        };
        points[leg].metres_to(points[leg + 1]) - radius * (takes(leg) + takes(leg + 1))
    };
    let seen = usize::from(first > 0)..old.len() - 1 - usize::from(last < points.len());
    seen.into_iter().all(|leg| spare(&new, leg) >= spare(old, leg).min(0.0) - HAIR)
}

/// How a leg moves sideways: its ends go along the legs before and after it.
struct Sideways {
    along: Way,
    /// How far its ends go for each metre to the left.
    first: Way,
    last: Way,
    /// So far it may go: to the right, below nothing, and to the left.
    least: f64,
    most: f64,
}

impl Sideways {
    fn new(points: &[Point], leg: usize, radius: f64) -> Option<Sideways> {
        /// Along a leg that goes on straighter the end would go far.
        const SQUARE: f64 = 0.3;
        let unit = |from: Point, to: Point| {
            let (way, length) = (from.to(to), from.metres_to(to));
            (length > HAIR).then(|| (Way { x: way.x / length, y: way.y / length }, length))
        };
        let (came, before) = unit(points[leg - 1], points[leg])?;
        let (along, length) = unit(points[leg], points[leg + 1])?;
        let (goes, after) = unit(points[leg + 1], points[leg + 2])?;
        // Along the leg before or after it, or straight to the side where that goes on nearly straight.
        let end = |way: Way| {
            let across = along.cross(way);
            match across.abs() < SQUARE {
                true => Way { x: -along.y, y: along.x },
                false => Way { x: way.x / across, y: way.y / across },
            }
        };
        let (first, last) = (end(came), end(goes));
        let mut it = Sideways { along, first, last, least: -STRIDE, most: STRIDE };
        let takes = |at: usize| match points.get(at.wrapping_sub(1)..at + 2) {
            Some(&[before, here, after]) => tangent(before, here, after),
            _ => 0.0,
        };
        let mut keep = |length: f64, corners: [usize; 2], for_each: f64| {
            let needed = radius * (takes(corners[0]) + takes(corners[1]));
            let spare = (length - needed).max(0.0);
            if for_each < -HAIR {
                it.most = it.most.min(spare / -for_each);
            } else if for_each > HAIR {
                it.least = it.least.max(-spare / for_each);
            }
        };
        keep(before, [leg - 1, leg], came.dot(first));
        keep(after, [leg + 1, leg + 2], -goes.dot(last));
        keep(length, [leg, leg + 1], along.dot(last) - along.dot(first));
        Some(it)
    }

    /// No farther than that to the right (0) or to the left (1).
    fn limit(&mut self, side: usize, by: f64) {
        match side {
            0 => self.least = self.least.max(-by),
            _ => self.most = self.most.min(by),
        }
    }

    fn places(&self, from: Point, to: Point, by: f64) -> (Point, Point) {
        let moved = |at: Point, way: Way| Point::new(at.x + way.x * by, at.y + way.y * by);
        (moved(from, self.first), moved(to, self.last))
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::point::tests::points;
    use super::*;

    fn line(corners: &[(f64, f64)]) -> Line {
        Line { points: points(corners), radius: 0.05, spacing: 0.2 }
    }

    fn spread_on(floor: (f64, f64), lines: &mut [Line]) {
        let (wide, deep) = floor;
        let floors = [vec![vec![points(&[(0.06, 0.06), (wide, 0.06), (wide, deep), (0.06, deep)])]]];
        spread(lines, &Ground { floors: &floors, edge: 0.06, apart: 0.075, drawn: Vec::new() });
    }

    /// A run that lies 75 mm from another moves away as far as both warm the floor between, and no farther.
    #[test]
    fn a_run_moves_to_where_floor_is_cold() {
        let beside_the_wall = [(0.2, 0.06), (0.2, 0.1), (3.5, 0.1), (3.5, 0.06)];
        let mut lines = [line(&beside_the_wall), line(&[(0.3, 0.94), (0.3, 0.175), (3.4, 0.175), (3.4, 0.94)])];
        spread_on((3.94, 0.94), &mut lines);
        assert_eq!(lines[0].points, points(&beside_the_wall));
        for at in [1, 2] {
            assert!((lines[1].points[at].y - 0.3).abs() < 1e-5, "{:?}", lines[1].points);
        }
    }

    /// Of a bundle each pipe moves, as the next has made room; none comes nearer to another than they were.
    #[test]
    fn a_bundle_opens() {
        let pipe = |number: usize| {
            let (x, y) = (0.3 + 0.1 * number as f64, 0.1 + 0.075 * number as f64);
            line(&[(x, 1.94), (x, y), (6.0 - x, y), (6.0 - x, 1.94)])
        };
        let mut lines: Vec<Line> = (0..5).map(pipe).collect();
        spread_on((5.94, 1.94), &mut lines);
        let at: Vec<f64> = lines.iter().map(|line| line.points[1].y).collect();
        for two in at.windows(2) {
            assert!((0.15..=0.2 + 1e-9).contains(&(two[1] - two[0])), "{at:?}");
        }
    }

    /// What would have to cross, or to bend tighter than the pipe does, stays.
    #[test]
    fn nothing_is_crossed_and_no_bend_gets_tighter() {
        // Another pipe ends right beside the run.
        let beside_the_wall = line(&[(0.2, 0.06), (0.2, 0.1), (3.5, 0.1), (3.5, 0.06)]);
        let stops = line(&[(1.0, 0.94), (1.2, 0.25), (1.4, 0.94)]);
        let run = line(&[(0.3, 0.94), (0.3, 0.175), (3.4, 0.175), (3.4, 0.94)]);
        let mut lines = [run, beside_the_wall, stops];
        spread_on((3.94, 0.94), &mut lines);
        assert!((lines[0].points[1].y - 0.175).abs() < 1e-9, "{:?}", lines[0].points);
        // The legs at its ends are just long enough.
        let mut lines = [line(&[(0.1, 0.275), (0.3, 0.275), (0.3, 0.175), (3.4, 0.175), (3.4, 0.275), (3.8, 0.275)])];
        spread_on((3.94, 0.94), &mut lines);
        assert!((lines[0].points[3].y - lines[0].points[4].y).abs() >= 0.1 - 1e-9, "{:?}", lines[0].points);
    }
}
