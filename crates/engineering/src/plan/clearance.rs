//! How near a pipe comes to walls, flues and fixing lines.

use super::outline::Outline;
use super::point::nearest_shares;
use super::{Bounds, Lines, Point, Route, Stretch};
use quantity::Length;
use std::ops::ControlFlow;

/// The place where the centre line of a pipe comes nearest to a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Zero where the pipe crosses or touches the line.
    pub distance: Length,
    /// The number of the line; of an outline 0.
    pub line: usize,
    /// Its segment or edge.
    pub segment: usize,
    /// The place on the line.
    pub on_line: Point,
    /// The place on the route.
    pub on_route: Point,
    /// From the start of the route to there.
    pub along: Length,
}

impl Outline {
    /// Where stretches of the route come nearest to the edge; nothing if no stretch has a length. Of
    /// several places, the first along the route.
    ///
    /// A stretch that begins or ends at the edge comes as near as nothing: a caller that asks about the
    /// run in a room leaves out the way through the wall ([`Stretch::without_ends`]).
    pub fn clearance(&self, route: &Route, stretches: impl IntoIterator<Item = Stretch>) -> Option<Clearance> {
        let mut nearest: Option<Clearance> = None;
        for stretch in stretches {
            for leg in route.legs_in(&stretch) {
                let Some(part) = route.part_in(leg, &stretch) else { continue };
                for (edge, ends) in self.edges().enumerate() {
                    let found = approach(route, leg, part, ends, 0, edge, nearest.as_ref());
                    nearest = found.or(nearest);
                }
            }
        }
        nearest
    }
}

impl Lines {
    /// For each line that stretches of the route come within `reach` of, the place where they come
    /// nearest to it; in order of the lines. Of several places on one line, one of the nearest.
    pub fn clearances(
        &self,
        route: &Route,
        stretches: impl IntoIterator<Item = Stretch>,
        reach: Length,
    ) -> Vec<Clearance> {
        let reach = reach.in_metres();
        if reach.is_nan() || reach < 0.0 {
            return Vec::new();
        }
        let mut nearest: Vec<Clearance> = Vec::new();
        for stretch in stretches {
            let legs = route.legs_in(&stretch);
            let mut look = |leg: u32, part: (f64, f64), number: u32| {
                let segment = self.segment(number);
                let line = segment.line as usize;
                let place = nearest.binary_search_by_key(&line, |other| other.line);
                let before = place.ok().map(|at| nearest[at]);
                let ends = (segment.from, segment.to);
                let given = segment.given as usize;
                if let Some(found) = approach(route, leg, part, ends, line, given, before.as_ref())
                    && found.distance.in_metres() <= reach
                {
                    match place {
                        Ok(at) => nearest[at] = found,
                        Err(at) => nearest.insert(at, found),
                    }
                }
                ControlFlow::Continue(())
            };
            if legs.len() == 1 {
                // A short stretch of a long leg is near to little of what the whole leg is near to.
                let leg = legs.start;
                let Some(part) = route.part_in(leg, &stretch) else { continue };
                let (from, to) = route.leg(leg);
                let bounds = Bounds::around([from.towards(to, part.0), from.towards(to, part.1)]).wider(reach);
                self.touching_numbers(&bounds, |number| look(leg, part, number));
                continue;
            }
            let _ = self.near_within(route, legs, reach, |leg, number| match route.part_in(leg, &stretch) {
                Some(part) => look(leg, part, number),
                None => ControlFlow::Continue(()),
            });
        }
        nearest
    }
}

/// Where a part of a leg comes nearest to a segment, if nearer than `before`.
fn approach(
    route: &Route,
    leg: u32,
    part: (f64, f64),
    (c, d): (Point, Point),
    line: usize,
    segment: usize,
    before: Option<&Clearance>,
) -> Option<Clearance> {
    let (from, to) = route.leg(leg);
    let (a, b) = (from.towards(to, part.0), from.towards(to, part.1));
    if let Some(before) = before {
        let apart = boxes_apart(&Bounds::around([a, b]), &Bounds::around([c, d]));
        if apart >= before.distance.in_metres() {
            return None;
        }
    }
    let (of_leg, of_line) = nearest_shares(a, b, c, d);
    let (on_route, on_line) = (a.towards(b, of_leg), c.towards(d, of_line));
    // Where they cross the two places differ by rounding only.
    let crosses = super::touching::meet(a, b, c, d);
    let distance = if crosses { Length::ZERO } else { on_route.distance(on_line) };
    if before.is_some_and(|before| before.distance <= distance) {
        return None;
    }
    let share = part.0 + (part.1 - part.0) * of_leg;
    let along = Length::metres(route.metres_along(leg, share));
    Some(Clearance { distance, line, segment, on_line, on_route, along })
}

/// At least how far apart what lies in the two boxes is.
fn boxes_apart(one: &Bounds, other: &Bounds) -> f64 {
    let apart = |low: f64, high: f64| low.max(high).max(0.0);
    let x = apart(one.low.x - other.high.x, other.low.x - one.high.x);
    let y = apart(one.low.y - other.high.y, other.low.y - one.high.y);
    x.hypot(y)
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::super::{Areas, Line, stretches_in};
    use super::*;

    fn route(pairs: &[(f64, f64)]) -> Route {
        Route::new(&points(pairs)).unwrap()
    }

    fn outline(pairs: &[(f64, f64)]) -> Outline {
        Outline::new(&points(pairs)).unwrap()
    }

    // The worked example of the rule catalogue for `pipe-too-near-wall`: a run centre 100 mm from the
    // plaster is 92 mm clear with a 16 mm pipe, one at 45 mm is 37 mm clear.
    #[test]
    fn a_run_along_a_wall() {
        let room = outline(&[(0.0, 0.0), (6.2, 0.0), (6.2, 4.4), (0.0, 4.4)]);
        let pipe_radius = Length::millimetres(8.0);
        for (off, clear) in [(0.1, 92.0), (0.045, 37.0)] {
            let run = route(&[(1.0, 1.0), (1.0, off), (5.0, off), (5.0, 1.0)]);
            let nearest = room.clearance(&run, [run.whole()]).unwrap();
            let left = nearest.distance - pipe_radius;
            assert!((left.in_millimetres() - clear).abs() < 1e-9);
            assert_eq!((nearest.segment, nearest.on_line), (0, Point::new(1.0, 0.0)));
            assert!((nearest.along.in_metres() - (1.0 - off)).abs() < 1e-12);
        }
    }

    #[test]
    fn only_the_given_stretches_count() {
        let room = outline(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let run = route(&[(-2.0, 2.0), (3.5, 2.0), (3.5, 3.0)]);
        let pieces = Areas::new([&room]).pieces(&run);
        let inside: Vec<Stretch> = stretches_in(&pieces, Some(0)).collect();
        let nearest = room.clearance(&run, inside.iter().copied()).unwrap();
        assert_eq!(nearest.distance, Length::ZERO);
        let without = inside[0].without_ends(Length::metres(1.0));
        let nearest = room.clearance(&run, [without]).unwrap();
        assert_eq!((nearest.distance, nearest.segment), (Length::metres(0.5), 1));
        assert_eq!(nearest.on_route, Point::new(3.5, 2.0));
        assert_eq!(room.clearance(&run, []), None);
        let nothing = inside[0].without_ends(Length::metres(9.0));
        assert_eq!(room.clearance(&run, [nothing]), None);
        let beyond = Stretch { from: Length::metres(100.0), to: Length::metres(200.0) };
        assert_eq!(room.clearance(&run, [beyond]), None);
        let not_a_number = Stretch { from: Length::metres(f64::NAN), to: Length::metres(f64::NAN) };
        assert_eq!(room.clearance(&run, [not_a_number]), None);
    }

    #[test]
    fn fixing_lines_within_reach_are_told_each() {
        let lines = [
            points(&[(1.0, 0.1), (2.0, 0.1)]),
            points(&[(3.0, 0.04), (3.0, 2.0)]),
            points(&[(4.0, -1.0), (4.0, 1.0)]),
            points(&[(5.0, 0.3), (6.0, 0.3)]),
        ];
        let lines = Lines::new(lines.iter().map(|line| Line::Open(line)));
        let run = route(&[(0.0, 0.0), (10.0, 0.0)]);
        let found = lines.clearances(&run, [run.whole()], Length::millimetres(150.0));
        let told: Vec<(usize, f64)> = found.iter().map(|one| (one.line, one.distance.in_millimetres())).collect();
        assert_eq!(told, [(0, 100.0), (1, 40.0), (2, 0.0)]);
        assert_eq!(found[1].on_route, Point::new(3.0, 0.0));
        assert_eq!(found[2].along, Length::metres(4.0));
        for reach in [-1.0, f64::NAN] {
            assert!(lines.clearances(&run, [run.whole()], Length::metres(reach)).is_empty());
        }
        assert_eq!(lines.clearances(&run, [run.whole()], Length::metres(f64::INFINITY)).len(), 4);
    }

    #[test]
    fn no_place_on_the_route_is_nearer_than_the_nearest() {
        let mut numbers = Numbers(47);
        for _ in 0..300 {
            let mut made = |count: usize| -> Vec<Point> { (0..count).map(|_| numbers.point(0.0, 6.0)).collect() };
            let Ok(room) = Outline::new(&made(5)) else { continue };
            let run = Route::new(&made(4)).unwrap();
            let stretch = run.whole().without_ends(Length::metres(0.3));
            let Some(nearest) = room.clearance(&run, [stretch]) else { continue };
            let by_samples = (0..=2000)
                .map(|n| run.at(stretch.from + stretch.length() * (f64::from(n) / 2000.0)))
                .map(|point| room.nearest_edge(point).distance.in_metres())
                .fold(f64::INFINITY, f64::min);
            let least = nearest.distance.in_metres();
            assert!(least <= by_samples + 1e-9 && by_samples < least + 0.02, "{least} {by_samples}");
            let lines = Lines::new([Line::Closed(room.corners())]);
            let found = lines.clearances(&run, [stretch], Length::metres(100.0));
            assert!((found[0].distance - nearest.distance).abs() < Length::metres(1e-12));
        }
    }
}
