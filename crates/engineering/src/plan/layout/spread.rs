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
use std::ops::{ControlFlow, Range};

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

/// Moves the legs on the floors to where they leave less cold: whole ones first, then parts of those that something else
/// holds back.
pub(super) fn spread(lines: &mut [Line], ground: &Ground) {
    /// Each is followed by moving whole legs again.
    const ROUNDS: usize = 3;
    let around =
        ground.floors.iter().map(|floor| Bounds::around(floor.iter().flatten().flatten().copied()).wider(REACH));
    let around: Vec<Bounds> = around.collect();
    move_whole(lines, ground, &around);
    for _ in 0..ROUNDS {
        if !move_parts(lines, ground, &around) {
            break;
        }
        move_whole(lines, ground, &around);
    }
}

/// The legs on the floors or near them, each by its line and its number there.
fn legs_near(lines: &[Line], around: &[Bounds]) -> Vec<(usize, usize)> {
    let mut legs = Vec::new();
    for (number, line) in lines.iter().enumerate() {
        let near = |leg: &usize| {
            let bounds = Bounds::around([line.points[*leg], line.points[leg + 1]]);
            around.iter().any(|it| it.touches(&bounds))
        };
        legs.extend((0..line.points.len().saturating_sub(1)).filter(near).map(|leg| (number, leg)));
    }
    legs
}

fn move_whole(lines: &mut [Line], ground: &Ground, around: &[Bounds]) {
    /// A bundle opens from its outermost pipe on, one leg after the other.
    const SWEEPS: usize = 20;
    let legs = legs_near(lines, around);
    for sweep in 0..SWEEPS {
        let neighbours = Neighbours::new(lines, &legs, ground);
        let mut is_moved = false;
        for at in 0..legs.len() {
            let (number, leg) = legs[if sweep % 2 == 0 { at } else { legs.len() - 1 - at }];
            if let Some((from, to)) = neighbours.moved(lines, number, leg, ground) {
                let points = &mut lines[number].points;
                (points[leg], points[leg + 1]) = (from, to);
                is_moved = true;
            }
        }
        if !is_moved {
            break;
        }
    }
}

/// Moves a part of each leg that gains by it; whether any did.
fn move_parts(lines: &mut [Line], ground: &Ground, around: &[Bounds]) -> bool {
    let mut is_moved = false;
    let mut legs = legs_near(lines, around);
    let mut neighbours = Neighbours::new(lines, &legs, ground);
    // From the last on: those before a leg keep their numbers.
    for (number, leg) in legs.clone().into_iter().rev() {
        if let Some(aside) = neighbours.part_moved(lines, number, leg, ground) {
            lines[number].points.splice(leg + 1..leg + 1, aside);
            legs = legs_near(lines, around);
            neighbours = Neighbours::new(lines, &legs, ground);
            is_moved = true;
        }
    }
    is_moved
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
            Bounds::around([points[leg], points[leg + 1]]).wider(4.0 * STRIDE)
        };
        let of_fixed = |&(from, to, _): &(Point, Point, bool)| Bounds::around([from, to]);
        let tree = BoxTree::new(legs.iter().map(of_leg).chain(fixed.iter().map(of_fixed)));
        Neighbours { legs: legs.to_vec(), fixed, tree }
    }

    /// What lies beside a leg that may move; nothing if it must stay where it is.
    fn beside(&self, lines: &[Line], number: usize, leg: usize, ground: &Ground) -> Option<Place> {
        const SHORTEST: f64 = 0.2;
        const STEP: f64 = 0.1;
        let Line { points, radius, spacing } = &lines[number];
        if leg == 0 || leg + 2 >= points.len() {
            return None;
        }
        let corners = [points[leg - 1], points[leg], points[leg + 1], points[leg + 2]];
        let [before, from, to, after] = corners;
        let length = from.metres_to(to);
        if length < SHORTEST.max(3.0 * radius) {
            return None;
        }
        if !ground.floors.iter().any(|floor| [0.0, 0.5, 1.0].iter().all(|&at| within(floor, from.towards(to, at)))) {
            return None;
        }
        let way = from.to(to);
        let along = Way { x: way.x / length, y: way.y / length };
        let samples = (length / STEP).ceil().clamp(2.0, 60.0) as usize;
        let each = length / samples as f64;
        let open = Gap { wide: REACH, free: REACH, warm: *spacing };
        let mut place = Place { corners, along, each, gaps: vec![[open; 2]; samples], others: Vec::new() };
        let local = |point: Point| {
            let off = from.to(point);
            (along.dot(off), along.cross(off))
        };
        let bounds = Bounds::around([from, to]).wider(REACH).join(&Bounds::around([before, after]).wider(ground.apart));
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
                    Other { from: points[at], to: points[at + 1], spacing, touches_before, touches_after }
                }
                None => {
                    let (from, to, is_pipe) = self.fixed[found - self.legs.len()];
                    let spacing = is_pipe.then_some(*spacing);
                    Other { from, to, spacing, touches_before: false, touches_after: false }
                }
            };
            // What both warm, and how near they may come.
            let (warm, least) = match it.spacing {
                Some(other) => ((spacing + other) / 2.0, ground.apart),
                None => ((spacing / 2.0 - ground.edge).max(0.0), 0.0),
            };
            let (one, other) = (local(it.from), local(it.to));
            place.others.push(it);
            let (low, high) = if one.0 <= other.0 { (one, other) } else { (other, one) };
            if high.0 < 0.0 || low.0 > length {
                return ControlFlow::Continue(());
            }
            let is_across = high.0 - low.0 < HAIR;
            let at = |u: f64| low.1 + (high.1 - low.1) * ((u - low.0) / (high.0 - low.0)).clamp(0.0, 1.0);
            let between = |a: f64, b: f64| if is_across { (low.1, high.1) } else { (at(a), at(b)) };
            let (first, last) = between(0.0, length);
            if first * last <= 0.0 {
                return ControlFlow::Break(());
            }
            let side = usize::from(first > 0.0);
            let beside = |u: f64| (u / each).clamp(0.0, samples as f64 - 1.0) as usize;
            for sample in beside(low.0)..=beside(high.0) {
                let gap = &mut place.gaps[sample][side];
                let (begin, end) = between(sample as f64 * each, (sample + 1) as f64 * each);
                let nearest = begin.abs().min(end.abs());
                gap.free = gap.free.min(nearest - nearest.min(least));
                let middle = (sample as f64 + 0.5) * each;
                if !is_across && (low.0..=high.0).contains(&middle) && at(middle).abs() < gap.wide {
                    (gap.wide, gap.warm) = (at(middle).abs(), warm);
                }
            }
            ControlFlow::Continue(())
        });
        is_free.is_continue().then_some(place)
    }

    /// The ends of a leg where it leaves the least cold beside it, if that is elsewhere.
    fn moved(&self, lines: &[Line], number: usize, leg: usize, ground: &Ground) -> Option<(Point, Point)> {
        /// Less is not worth a move, in square metres.
        const GAIN: f64 = 1e-3;
        let Line { points, radius, .. } = &lines[number];
        let place = self.beside(lines, number, leg, ground)?;
        let mut sideways = Sideways::new(points, leg, *radius)?;
        let whole = 0..place.gaps.len();
        sideways.least = sideways.least.max(-place.free(&whole, 0));
        sideways.most = sideways.most.min(place.free(&whole, 1));
        let far = place.best(&whole, sideways.least.min(0.0), sideways.most.max(0.0));
        if place.fault(&whole, far) > place.fault(&whole, 0.0) - GAIN {
            return None;
        }
        // At its ends it may come near to what does not lie beside it: then it does not go all the way.
        let [before, from, to, after] = place.corners;
        let places = [1.0, 0.5, 0.25].map(|part| sideways.places(from, to, part * far));
        places.into_iter().find(|&(from, to)| {
            bends_as_well(points, leg, from, to, *radius)
                && place.others.iter().all(|it| it.stays_clear(place.corners, [before, from, to, after], ground.apart))
        })
    }

    /// The corners to put between the ends of a leg, where a part of it leaves less cold farther to one side. It goes there
    /// and comes back at half a right angle.
    fn part_moved(&self, lines: &[Line], number: usize, leg: usize, ground: &Ground) -> Option<[Point; 4]> {
        /// Less is not worth the bends, in square metres.
        const GAIN: f64 = 0.02;
        /// So much cold floor beside a leg is looked at, in spacings.
        const COLD: f64 = 0.2;
        let Line { points, radius, spacing } = &lines[number];
        let place = self.beside(lines, number, leg, ground)?;
        let bend = radius * std::f64::consts::FRAC_PI_8.tan();
        let takes = |at: usize| radius * tangent(points[at - 1], points[at], points[at + 1]);
        let (begin, end) = (takes(leg) + bend, place.length() - takes(leg + 1) - bend);
        let least = std::f64::consts::SQRT_2 * bend;
        let mut best: Option<(f64, [Point; 4])> = None;
        for side in 0..2 {
            let is_cold = |sample: &usize| place.gaps[*sample][side].cold() > COLD * spacing;
            let mut first = 0;
            while let Some(start) = (first..place.gaps.len()).find(is_cold) {
                let stop = (start..place.gaps.len()).find(|at| !is_cold(at)).unwrap_or(place.gaps.len());
                first = stop;
                let most = place.free(&(start..stop), side).min(2.0 * STRIDE);
                if most < least {
                    continue;
                }
                let hand = if side == 1 { 1.0 } else { -1.0 };
                let (one, other) = if side == 1 { (least, most) } else { (-most, -least) };
                let by = place.best(&(start..stop), one, other);
                let (from, to) = ((start as f64 * place.each).max(begin), (stop as f64 * place.each).min(end));
                let (out, back) = (from + by.abs(), to - by.abs());
                if back - out < 2.0 * bend.max(place.each) {
                    continue;
                }
                let moved = (out / place.each).ceil() as usize..(back / place.each) as usize;
                let gain = place.fault(&moved, 0.0) - place.fault(&moved, by);
                let corners = [place.at(from, 0.0), place.at(out, by), place.at(back, by), place.at(to, 0.0)];
                if gain > best.map_or(GAIN, |best| best.0) && hand * by > 0.0 && place.is_clear(&corners, ground.apart)
                {
                    best = Some((gain, corners));
                }
            }
        }
        best.map(|best| best.1)
    }
}

/// A leg, what lies beside it, and the gaps to that to the right and to the left, all along it.
struct Place {
    /// Where the leg before it begins, its own ends, and where the leg after it ends.
    corners: [Point; 4],
    along: Way,
    /// So long are the pieces of the leg for which gaps are told, in metres.
    each: f64,
    gaps: Vec<[Gap; 2]>,
    others: Vec<Other>,
}

impl Place {
    fn length(&self) -> f64 {
        self.each * self.gaps.len() as f64
    }

    /// So far along the leg and to the left of it.
    fn at(&self, along: f64, left: f64) -> Point {
        let Way { x, y } = self.along;
        Point::new(self.corners[1].x + x * along - y * left, self.corners[1].y + y * along + x * left)
    }

    /// How far these pieces may go to the right (0) or to the left (1).
    fn free(&self, pieces: &Range<usize>, side: usize) -> f64 {
        self.gaps[pieces.clone()].iter().map(|gaps| gaps[side].free).fold(f64::INFINITY, f64::min)
    }

    /// How bad it is where these pieces lie so far to the left. Cold floor counts most; then that what lies close to other
    /// pipe lies in the middle, which makes room for the next.
    fn fault(&self, pieces: &Range<usize>, left: f64) -> f64 {
        /// Pipe lies close where this share of what both warm is warmed twice.
        const CLOSE: f64 = 0.2;
        let of_gap = |gap: &Gap, nearer: f64| {
            let cold = gap.cold() - nearer;
            cold.max(0.0) + (-cold - CLOSE * gap.warm).max(0.0).powi(2)
        };
        let gaps = &self.gaps[pieces.start.min(pieces.end)..pieces.end];
        gaps.iter().map(|[right, other]| of_gap(other, left) + of_gap(right, -left)).sum::<f64>() * self.each
    }

    /// How far to the left it is best for these pieces, and of places as good the nearest.
    fn best(&self, pieces: &Range<usize>, mut low: f64, mut high: f64) -> f64 {
        let nearest = 0.0_f64.clamp(low, high);
        for _ in 0..40 {
            let (one, other) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if self.fault(pieces, one) <= self.fault(pieces, other) { high = other } else { low = one }
        }
        let best = (low + high) / 2.0;
        let least = self.fault(pieces, best) + HAIR;
        let (mut stays, mut far) = (nearest, best);
        for _ in 0..30 {
            let middle = (stays + far) / 2.0;
            if self.fault(pieces, middle) < least { far = middle } else { stays = middle }
        }
        far
    }

    /// Whether a way aside comes no nearer to anything than it may, or than the leg itself.
    fn is_clear(&self, corners: &[Point], apart: f64) -> bool {
        let [_, from, to, _] = self.corners;
        self.others.iter().all(|it| {
            let least = if it.spacing.is_some() { apart } else { HAIR };
            let least = least.min(it.far(from, to) - HAIR);
            corners.windows(2).all(|two| it.far(two[0], two[1]) >= least)
        })
    }
}

/// The gap beside a piece of a leg, in metres.
#[derive(Clone, Copy)]
struct Gap {
    wide: f64,
    /// How far the piece may go into it.
    free: f64,
    /// What of it the pipe on both sides warms.
    warm: f64,
}

impl Gap {
    fn cold(&self) -> f64 {
        self.wide - self.warm
    }
}

/// What lies beside a leg.
struct Other {
    from: Point,
    to: Point,
    /// Of pipe; else it is the edge of a floor.
    spacing: Option<f64>,
    /// Whether it is the leg next but one, before it or after.
    touches_before: bool,
    touches_after: bool,
}

impl Other {
    /// From a leg to this, in metres.
    fn far(&self, from: Point, to: Point) -> f64 {
        let (one, other) = nearest_shares(from, to, self.from, self.to);
        from.towards(to, one).metres_to(self.from.towards(self.to, other))
    }

    /// Whether a leg and those before and after it come no nearer to this than they may, or than they were, where the
    /// ends of the leg move.
    fn stays_clear(&self, old: [Point; 4], new: [Point; 4], apart: f64) -> bool {
        let least = if self.spacing.is_some() { apart } else { HAIR };
        let far = |from: Point, to: Point| self.far(from, to);
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
        const SQUARE: f64 = 0.5;
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
        let mut it = Sideways { first, last, least: -STRIDE, most: STRIDE };
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
