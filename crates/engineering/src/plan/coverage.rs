//! How much of a floor has pipe near it, and where the largest patch without is.

use super::spacing::{Run, RunLeg, legs};
use super::{Outline, Point};
use quantity::{Area, Length, Share};

/// How far the pipe covers the free floor of a room.
#[derive(Debug, Clone)]
pub struct Coverage {
    /// The part of the free floor that lies within half a spacing of a run.
    pub covered: Share,
    /// About how far off `covered` may be: half the step of the lines that were looked along, times
    /// how much the free and the covered length differ from line to line.
    pub uncertainty: Share,
    legs: Vec<RunLeg>,
    lines: Lines,
    /// The free floor that is not covered, with the number of the line it is on.
    open: Vec<(usize, Interval)>,
}

/// A patch of free floor without pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// The place in it, of those looked at, that is farthest from any run.
    pub at: Point,
    pub area: Area,
    /// From there to the nearest run; infinite where there is none.
    pub to_nearest_run: Length,
}

/// A stretch of a line across the floor.
type Interval = (f64, f64);

/// The share of the room, less its keep-clear areas, that lies within half a spacing of the centre
/// line of a run.
///
/// The floor is looked at along parallel lines, square to the way most pipe goes, at a twenty-fourth of the least spacing or closer, at
/// 50 to 1600 of them, and fewer for tens of thousands of legs. Along each line the answer is exact.
/// Nothing if there is no free floor. Runs without a spacing cover nothing.
pub fn coverage(room: &Outline, keep_clear: &[&Outline], runs: &[Run]) -> Option<Coverage> {
    coverage_along(room, keep_clear, runs, 4.0)
}

/// The same along a quarter as many lines: within about a hundredth of it, for a third of the time.
pub fn rough_coverage(room: &Outline, keep_clear: &[&Outline], runs: &[Run]) -> Option<Coverage> {
    coverage_along(room, keep_clear, runs, 1.0)
}

fn coverage_along(room: &Outline, keep_clear: &[&Outline], runs: &[Run], times: f64) -> Option<Coverage> {
    let most_lines = 400.0 * times;
    const LEAST_LINES: f64 = 50.0;
    const MOST_LOOKS: f64 = 1e7;
    let legs = legs(runs);
    let (along_x, along_y) = legs.iter().fold((0.0, 0.0), |(x, y), leg| {
        let way = leg.from.to(leg.to);
        (x + way.x.abs(), y + way.y.abs())
    });
    let turn = if along_x >= along_y { Turn::Upright } else { Turn::Level };
    let bounds = room.bounds();
    let (low, high) = (turn.uv(bounds.low).0, turn.uv(bounds.high).0);
    let least = legs.iter().map(|leg| leg.spacing).fold(f64::INFINITY, f64::min);
    let wanted = (6.0 * times * (high - low) / least).ceil();
    // Each leg is held against each line: of very many legs fewer lines tell enough.
    let most = most_lines.min(MOST_LOOKS / legs.len().max(1) as f64).max(LEAST_LINES);
    let count = if legs.is_empty() { LEAST_LINES } else { wanted.clamp(LEAST_LINES, most) };
    let lines = Lines { turn, low, step: (high - low) / count, count: count as usize };

    let near_runs = by_line(&lines, &legs);
    let (mut free_length, mut covered_length) = (0.0, 0.0);
    // How much the free and the covered length differ from line to line.
    let (mut of_free_apart, mut of_covered_apart) = (0.0, 0.0);
    let mut last: Option<(f64, f64)> = None;
    let mut all_open = Vec::new();
    let (mut crossings, mut free, mut taken, mut open) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for number in 0..lines.count {
        let u = lines.at(number);
        free.clear();
        within(room, turn, u, &mut crossings, &mut free);
        if !keep_clear.is_empty() {
            taken.clear();
            for area in keep_clear {
                within(area, turn, u, &mut crossings, &mut taken);
            }
            taken.sort_by(|one, other| one.0.total_cmp(&other.0));
            open.clear();
            without(&free, &taken, &mut open);
            std::mem::swap(&mut free, &mut open);
        }
        open.clear();
        without(&free, near_runs.of(number), &mut open);
        let of_free = length(&free);
        let of_covered = of_free - length(&open);
        free_length += of_free;
        covered_length += of_covered;
        if let Some((free_before, covered_before)) = last {
            of_free_apart += (of_free - free_before).abs();
            of_covered_apart += (of_covered - covered_before).abs();
        }
        last = Some((of_free, of_covered));
        all_open.extend(open.iter().map(|stretch| (number, *stretch)));
    }
    if free_length <= 0.0 {
        return None;
    }
    let covered = covered_length / free_length;
    let uncertainty = (of_covered_apart + covered * of_free_apart) / 2.0 / free_length;
    Some(Coverage {
        covered: Share::fraction(covered),
        uncertainty: Share::fraction(uncertainty.min(1.0)),
        legs,
        lines,
        open: all_open,
    })
}

impl Coverage {
    /// The largest patch of free floor that is not covered.
    pub fn largest_gap(&self) -> Option<Gap> {
        const MOST_PLACES: usize = 50;
        let mut patches = Patches::default();
        for of_line in self.open.chunk_by(|one, other| one.0 == other.0) {
            patches.add_line(of_line);
        }
        let (length, stretches) = patches.largest()?;
        let to_nearest = |place: Point| {
            let squared = |leg: &RunLeg| {
                let share = super::point::nearest_share(leg.from, leg.to, place);
                let way = leg.from.towards(leg.to, share).to(place);
                way.dot(way)
            };
            self.legs.iter().map(squared).fold(f64::INFINITY, f64::min).sqrt()
        };
        let apart = stretches.len().div_ceil(MOST_PLACES).max(1);
        let places = stretches.iter().step_by(apart);
        let places =
            places.map(|&(number, (from, to))| self.lines.turn.point(self.lines.at(number), (from + to) / 2.0));
        // A million looks are enough to find a good place.
        let most = (1_000_000 / self.legs.len().max(1)).max(1);
        let farthest =
            places.take(most).map(|place| (place, to_nearest(place))).max_by(|one, other| one.1.total_cmp(&other.1));
        let (at, distance) = farthest?;
        let area = Area::square_metres(length * self.lines.step);
        Some(Gap { at, area, to_nearest_run: Length::metres(distance) })
    }
}

/// Parallel lines across a floor.
#[derive(Debug, Clone, Copy)]
struct Lines {
    turn: Turn,
    low: f64,
    step: f64,
    count: usize,
}

impl Lines {
    fn at(&self, number: usize) -> f64 {
        self.low + self.step * (number as f64 + 0.5)
    }
}

/// The free floor of a room along lines across it: good to about the height of an area over a thousand for each
/// of its sides that is square to them, however often the areas overlap.
pub(super) fn free_along_lines(room: &Outline, keep_clear: &[&Outline]) -> Area {
    const MOST_LOOKS: usize = 10_000_000;
    let corners = keep_clear.iter().map(|area| area.corners().len()).sum::<usize>() + room.corners().len();
    let lines = (MOST_LOOKS / corners).clamp(400, 4000);
    let turn = Turn::Upright;
    let bounds = room.bounds();
    let step = (bounds.high.x - bounds.low.x) / lines as f64;
    let (mut crossings, mut free, mut taken, mut open) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut square_metres = 0.0;
    for number in 0..lines {
        let u = bounds.low.x + step * (number as f64 + 0.5);
        free.clear();
        taken.clear();
        open.clear();
        within(room, turn, u, &mut crossings, &mut free);
        for area in keep_clear {
            within(area, turn, u, &mut crossings, &mut taken);
        }
        taken.sort_by(|one, other| one.0.total_cmp(&other.0));
        without(&free, &taken, &mut open);
        square_metres += length(&open) * step;
    }
    Area::square_metres(square_metres)
}

/// Which way lines go: they go along v, and u counts from line to line.
#[derive(Debug, Clone, Copy)]
enum Turn {
    /// Along y.
    Upright,
    /// Along x.
    Level,
}

impl Turn {
    /// Which line the point is on, and how far along it.
    fn uv(self, point: Point) -> (f64, f64) {
        match self {
            Turn::Upright => (point.x, point.y),
            Turn::Level => (point.y, point.x),
        }
    }

    fn point(self, u: f64, v: f64) -> Point {
        match self {
            Turn::Upright => Point { x: u, y: v },
            Turn::Level => Point { x: v, y: u },
        }
    }
}

/// Adds the stretches of the line that lie in the outline, in order; `crossings` is room to work in.
fn within(outline: &Outline, turn: Turn, u: f64, crossings: &mut Vec<f64>, found: &mut Vec<Interval>) {
    let bounds = outline.bounds();
    if u < turn.uv(bounds.low).0 || u > turn.uv(bounds.high).0 {
        return;
    }
    crossings.clear();
    for (from, to) in outline.edges() {
        let (from, to) = (turn.uv(from), turn.uv(to));
        if (from.0 <= u) != (to.0 <= u) {
            crossings.push(from.1 + (to.1 - from.1) * ((u - from.0) / (to.0 - from.0)));
        }
    }
    crossings.sort_by(f64::total_cmp);
    found.extend(crossings.chunks_exact(2).map(|two| (two[0], two[1])));
}

/// Adds what is left of the stretches without the others; both in order, the others may overlap.
fn without(stretches: &[Interval], others: &[Interval], left: &mut Vec<Interval>) {
    let mut first = 0;
    for &(mut from, to) in stretches {
        // The others are in order of their starts, so one that ends early may hide behind one that
        // ends late; nothing before `first` can reach this stretch.
        while others.get(first).is_some_and(|other| other.1 <= from) {
            first += 1;
        }
        for &(start, end) in &others[first..] {
            if start >= to {
                break;
            }
            if start > from {
                left.push((from, start));
            }
            from = from.max(end);
            if from >= to {
                break;
            }
        }
        if from < to {
            left.push((from, to));
        }
    }
}

fn length(stretches: &[Interval]) -> f64 {
    stretches.iter().map(|(from, to)| to - from).sum()
}

/// What the runs cover of each line, in order.
struct ByLine {
    intervals: Vec<Interval>,
    starts: Vec<u32>,
}

impl ByLine {
    fn of(&self, line: usize) -> &[Interval] {
        &self.intervals[self.starts[line] as usize..self.starts[line + 1] as usize]
    }
}

fn by_line(lines: &Lines, legs: &[RunLeg]) -> ByLine {
    let Lines { turn, low, step, count: lines } = *lines;
    // A hair more than half a spacing, so that two runs just one spacing apart leave no gap.
    let reach = |leg: &RunLeg| leg.spacing / 2.0 * (1.0 + 1e-9) + 1e-9;
    let range = |leg: &RunLeg| {
        let (one, other) = (turn.uv(leg.from).0, turn.uv(leg.to).0);
        let place = |u: f64| ((u - low) / step - 0.5).clamp(0.0, lines as f64);
        let first = place(one.min(other) - reach(leg)).ceil() as usize;
        let last = place(one.max(other) + reach(leg)).floor() as usize;
        first..(last + 1).min(lines)
    };
    let mut starts = vec![0u32; lines + 1];
    for leg in legs {
        for line in range(leg) {
            starts[line + 1] += 1;
        }
    }
    for line in 0..lines {
        starts[line + 1] += starts[line];
    }
    let mut filled = starts.clone();
    let mut intervals = vec![(0.0, 0.0); starts[lines] as usize];
    for leg in legs {
        let near = Near::new(turn.uv(leg.from), turn.uv(leg.to), reach(leg));
        for line in range(leg) {
            let u = low + step * (line as f64 + 0.5);
            let place = &mut filled[line];
            intervals[*place as usize] = near.on_line(u);
            *place += 1;
        }
    }
    for line in 0..lines {
        let of_line = &mut intervals[starts[line] as usize..starts[line + 1] as usize];
        of_line.sort_by(|one, other| one.0.total_cmp(&other.0));
    }
    ByLine { intervals, starts }
}

/// The floor within reach of a leg from `a` to `b`.
struct Near {
    a: (f64, f64),
    b: (f64, f64),
    reach: f64,
    /// From the leg square to its left side.
    aside: (f64, f64),
    way: (f64, f64),
    /// One over how far the leg goes from line to line; infinite where it goes along them.
    per_u: f64,
}

impl Near {
    fn new(a: (f64, f64), b: (f64, f64), reach: f64) -> Near {
        let way = (b.0 - a.0, b.1 - a.1);
        let length = way.0.hypot(way.1);
        let aside = (-way.1 / length * reach, way.0 / length * reach);
        Near { a, b, reach, aside, way, per_u: 1.0 / way.0 }
    }

    /// Its stretch on the line at `u`; an empty one if the line passes it by.
    fn on_line(&self, u: f64) -> Interval {
        let Near { a, b, reach, aside, way, per_u } = *self;
        let mut found = (f64::INFINITY, f64::NEG_INFINITY);
        let mut take = |v: f64| found = (found.0.min(v), found.1.max(v));
        // Round the two ends.
        for end in [a, b] {
            let off = u - end.0;
            if off.abs() <= reach {
                let half = (reach * reach - off * off).sqrt();
                take(end.1 - half);
                take(end.1 + half);
            }
        }
        // Along the two sides.
        for (off, along) in [aside, (-aside.0, -aside.1)] {
            let share = (u - a.0 - off) * per_u;
            if (0.0..=1.0).contains(&share) {
                take(a.1 + along + way.1 * share);
            }
        }
        if found.0 <= found.1 { found } else { (a.1, a.1) }
    }
}

/// Stretches of neighbouring lines that touch, put together.
#[derive(Default)]
struct Patches {
    stretches: Vec<(usize, Interval)>,
    /// Of each stretch, an earlier one of the same patch, or itself.
    earlier: Vec<u32>,
    last_line: std::ops::Range<usize>,
}

impl Patches {
    fn add_line(&mut self, stretches: &[(usize, Interval)]) {
        let start = self.stretches.len();
        let mut before = self.last_line.start;
        if let (Some((last, _)), Some((this, _))) = (self.stretches.last(), stretches.first())
            && last + 1 < *this
        {
            self.last_line = start..start;
            before = start;
        }
        for &(number, (from, to)) in stretches {
            let this = self.stretches.len();
            self.stretches.push((number, (from, to)));
            self.earlier.push(this as u32);
            while before < self.last_line.end && self.stretches[before].1.1 <= from {
                before += 1;
            }
            let mut beside = before;
            while beside < self.last_line.end && self.stretches[beside].1.0 < to {
                self.join(this as u32, beside as u32);
                beside += 1;
            }
        }
        self.last_line = start..self.stretches.len();
    }

    fn first(&mut self, mut stretch: u32) -> u32 {
        while self.earlier[stretch as usize] != stretch {
            let earlier = self.earlier[stretch as usize];
            self.earlier[stretch as usize] = self.earlier[earlier as usize];
            stretch = earlier;
        }
        stretch
    }

    fn join(&mut self, one: u32, other: u32) {
        let (one, other) = (self.first(one), self.first(other));
        self.earlier[one.max(other) as usize] = one.min(other);
    }

    /// The patch with the greatest length in all, and its stretches.
    fn largest(mut self) -> Option<(f64, Vec<(usize, Interval)>)> {
        let mut lengths = vec![0.0; self.stretches.len()];
        for stretch in 0..self.stretches.len() {
            let (_, (from, to)) = self.stretches[stretch];
            lengths[self.first(stretch as u32) as usize] += to - from;
        }
        let (largest, &length) = lengths.iter().enumerate().rev().max_by(|one, other| one.1.total_cmp(other.1))?;
        let of_largest = (0..self.stretches.len())
            .filter(|&stretch| self.first(stretch as u32) as usize == largest)
            .collect::<Vec<_>>();
        let stretches = of_largest.into_iter().map(|stretch| self.stretches[stretch]).collect();
        Some((length, stretches))
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::super::spacing::tests::serpentine;
    use super::super::{Route, Stretch};
    use super::*;

    fn rectangle(x: f64, y: f64, wide: f64, deep: f64) -> Outline {
        Outline::new(&points(&[(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])).unwrap()
    }

    fn run(route: &Route, spacing: f64) -> Run<'_> {
        Run { route, stretch: route.whole(), spacing: Length::metres(spacing) }
    }

    #[track_caller]
    fn assert_covered(coverage: Option<Coverage>, share: f64) {
        let Coverage { covered, uncertainty, .. } = coverage.unwrap();
        let off = (covered.in_fraction() - share).abs();
        assert!(off < 1e-6 + uncertainty.in_fraction(), "{covered} ± {uncertainty} for {share}");
        assert!(off < 0.004, "{covered} ± {uncertainty} for {share}");
    }

    #[test]
    fn one_run_covers_a_strip_with_round_ends() {
        let room = rectangle(0.0, 0.0, 5.0, 4.0);
        let strip = (4.0 * 0.2 + std::f64::consts::PI * 0.01) / 20.0;
        for pairs in [[(0.5, 2.0), (4.5, 2.0)], [(0.7, 0.3), (3.9, 2.7)]] {
            let route = Route::new(&points(&pairs)).unwrap();
            assert_covered(coverage(&room, &[], &[run(&route, 0.2)]), strip);
        }
        let upright = Route::new(&points(&[(2.0, 0.5), (2.0, 3.5)])).unwrap();
        let strip = (3.0 * 0.2 + std::f64::consts::PI * 0.01) / 20.0;
        assert_covered(coverage(&room, &[], &[run(&upright, 0.2)]), strip);
        // Only a stretch of it.
        let stretch = Stretch { from: Length::metres(1.0), to: Length::metres(2.0) };
        let part = Run { stretch, ..run(&upright, 0.2) };
        let strip = (1.0 * 0.2 + std::f64::consts::PI * 0.01) / 20.0;
        assert_covered(coverage(&room, &[], &[part]), strip);
    }

    #[test]
    fn a_room_full_of_pipe() {
        // 30 m², runs at 150 mm from 75 mm off the walls: the floor but for the corners of the turns.
        let room = rectangle(0.0, 0.0, 6.0, 5.1);
        let full = serpentine(0.075, 0.075, 5.85, 34, 0.15);
        let found = coverage(&room, &[], &[run(&full, 0.15)]).unwrap();
        assert!(found.covered.in_percent() > 99.7, "{found:?}");
        let half = serpentine(0.075, 0.075, 5.85, 17, 0.15);
        let found = coverage(&room, &[], &[run(&half, 0.15)]).unwrap();
        assert!((found.covered.in_percent() - 50.0).abs() < 0.3, "{found:?}");
        let gap = found.largest_gap().unwrap();
        assert!((gap.area.in_square_metres() - 15.3).abs() < 0.1, "{gap:?}");
        assert!(gap.at.y > 4.9 || gap.to_nearest_run > Length::metres(1.2), "{gap:?}");
    }

    #[test]
    fn keep_clear_areas_are_no_free_floor() {
        let room = rectangle(0.0, 0.0, 4.0, 4.0);
        let half = [rectangle(2.0, -1.0, 3.0, 6.0), rectangle(1.9, 1.0, 1.0, 1.0)];
        let keep_clear: Vec<&Outline> = half.iter().collect();
        let route = Route::new(&points(&[(1.0, 0.0), (1.0, 4.0)])).unwrap();
        let free = 8.0 - 0.1;
        assert_covered(coverage(&room, &keep_clear, &[run(&route, 0.4)]), 1.6 / free);
        assert!(coverage(&room, &[&rectangle(-1.0, -1.0, 9.0, 9.0)], &[run(&route, 0.4)]).is_none());
    }

    #[test]
    fn without_runs_all_is_one_gap() {
        let room = rectangle(0.0, 0.0, 4.0, 4.0);
        let found = coverage(&room, &[], &[]).unwrap();
        assert_eq!(found.covered, Share::ZERO);
        let gap = found.largest_gap().unwrap();
        assert!((gap.area.in_square_metres() - 16.0).abs() < 1e-9);
        assert!(room.contains(gap.at) && gap.to_nearest_run == Length::metres(f64::INFINITY));
        let route = Route::new(&points(&[(1.0, 0.0), (1.0, 4.0)])).unwrap();
        let no_spacing = coverage(&room, &[], &[run(&route, f64::NAN)]).unwrap();
        assert_eq!(no_spacing.covered, Share::ZERO);
        let tiny = coverage(&room, &[], &[run(&route, 1e-9)]).unwrap();
        assert!(tiny.covered.in_fraction() < 1e-6);
    }

    #[test]
    fn the_largest_of_two_gaps_is_told() {
        let room = rectangle(0.0, 0.0, 6.0, 4.0);
        let route = Route::new(&points(&[(4.0, -1.0), (4.0, 5.0)])).unwrap();
        let gap = coverage(&room, &[], &[run(&route, 0.5)]).unwrap().largest_gap().unwrap();
        assert!((gap.area.in_square_metres() - 3.75 * 4.0).abs() < 0.01, "{gap:?}");
        assert!(gap.at.x < 3.75);
    }

    /// Against points thrown at the floor.
    #[test]
    fn random_floors_agree_with_random_points() {
        let mut numbers = Numbers(61);
        for _ in 0..40 {
            let mut made = |count: u32| -> Vec<Point> { (0..count).map(|_| numbers.point(0.0, 6.0)).collect() };
            let (Ok(room), Ok(island)) = (Outline::new(&made(6)), Outline::new(&made(3))) else { continue };
            let route = Route::new(&made(8)).unwrap();
            let found = coverage(&room, &[&island], &[run(&route, 0.5)]);
            let (mut free, mut covered) = (0u32, 0u32);
            for _ in 0..20_000 {
                let point = numbers.point(0.0, 6.0);
                if !room.contains(point) || island.contains(point) {
                    continue;
                }
                free += 1;
                let near = route.points().windows(2).any(|leg| {
                    let share = super::super::point::nearest_share(leg[0], leg[1], point);
                    leg[0].towards(leg[1], share).metres_to(point) <= 0.25
                });
                covered += u32::from(near);
            }
            if free < 2000 {
                continue;
            }
            let share = f64::from(covered) / f64::from(free);
            let found = found.unwrap().covered.in_fraction();
            assert!((found - share).abs() < 0.05, "{found} {share}");
        }
    }
}
