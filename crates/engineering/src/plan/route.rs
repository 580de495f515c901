//! The route of a pipe: straight legs from point to point, and its bends.

use super::point::nearest_share;
use super::{Bounds, Point, PointFault};
use quantity::Length;
use std::f64::consts::PI;
use std::fmt;

/// How much tighter than its pipe bends a corner may be: arcs of a path are cut into legs half a millimetre from them.
pub const LET_PASS: Length = Length::millimetres(1.0);

/// A corner that takes more of its legs than so many radii all but doubles back, by more than 152 degrees: it is not rounded, and
/// what is laid out is laid otherwise there.
pub(super) const DOUBLES_BACK: f64 = 4.0;

/// How much of each leg a bend of radius 1 takes at a corner: the tangent of half the angle.
pub(super) fn tangent(before: Point, at: Point, after: Point) -> f64 {
    let (came, goes) = (before.to(at), at.to(after));
    let along = came.length() * goes.length() + came.dot(goes);
    let across = came.cross(goes).abs();
    if across > 0.0 || along > 0.0 { across / along.max(0.0) } else { f64::INFINITY }
}

/// The drawn centre line of a pipe: straight legs from point to point.
///
/// A point that repeats the one before it is passed over; legs are still numbered as they were given,
/// the leg from point `n` to point `n + 1` being leg `n`.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    points: Vec<Point>,
    /// Metres from the start to each point.
    along: Vec<f64>,
    /// The numbers of the points that were passed over, in order.
    passed_over: Vec<u32>,
    bounds: Bounds,
}

/// Why points are no route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RouteFault {
    /// This point is none.
    Point { point: usize, fault: PointFault },
    /// There are fewer than two different points.
    NoLength,
}

impl fmt::Display for RouteFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            RouteFault::Point { point, fault } => write!(f, "point {}: {fault}", point + 1),
            RouteFault::NoLength => f.write_str("fewer than two different points"),
        }
    }
}

/// A corner of a route, where one leg meets the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// The number of the point, as given.
    pub point: usize,
    pub at: Point,
    /// From the start of the route.
    pub along: Length,
    /// How far the pipe turns: 0 straight on, 90 a right angle, 180 straight back.
    pub turn_degrees: f64,
    /// The largest bend radius for which the bend fits. A bend takes `radius * tan(turn / 2)` of
    /// each leg; a leg between two corners is lent to them in that proportion, so that bends of one
    /// radius fit everywhere if they can, the first and the last leg of a route are lent whole. A corner
    /// that goes straight on fits any radius (infinite), one that goes straight back none (zero), and takes nothing.
    pub largest_radius: Length,
}

impl Corner {
    /// Whether the pipe all but doubles back there, by more than 152 degrees: no bend goes round to the tip, which would cut off
    /// metres of run.
    pub fn doubles_back(&self) -> bool {
        (self.turn_degrees.to_radians() / 2.0).tan() > DOUBLES_BACK || self.turn_degrees >= 180.0
    }
}

/// A stretch of a route, by the distances of its two ends from the start of the route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub from: Length,
    pub to: Length,
}

impl Stretch {
    /// How long the stretch is; one whose end comes before its start has no length.
    pub fn length(&self) -> Length {
        (self.to - self.from).max(Length::ZERO)
    }

    /// The stretch without so much at each end, as to leave out the way through a wall.
    pub fn without_ends(&self, by: Length) -> Stretch {
        Stretch { from: self.from + by, to: self.to - by }
    }
}

impl Route {
    /// A route through the points, which are in metres.
    pub fn new(points: &[Point]) -> Result<Route, RouteFault> {
        let mut route = Route {
            points: Vec::with_capacity(points.len()),
            along: Vec::with_capacity(points.len()),
            passed_over: Vec::new(),
            bounds: Bounds::around(points.iter().copied()),
        };
        let mut length = 0.0;
        for (number, &point) in points.iter().enumerate() {
            if let Some(fault) = point.fault() {
                return Err(RouteFault::Point { point: number, fault });
            }
            match route.points.last() {
                Some(&last) if last == point => {
                    route.passed_over.push(number as u32);
                    continue;
                }
                Some(&last) => length += last.metres_to(point),
                None => {}
            }
            route.points.push(point);
            route.along.push(length);
        }
        if route.points.len() < 2 { Err(RouteFault::NoLength) } else { Ok(route) }
    }

    /// The points, none equal to the one before it.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Its legs, each from point to point, with the part of the route that it is.
    pub fn legs_along(&self) -> impl Iterator<Item = (Point, Point, Stretch)> + '_ {
        let ends = self.points.windows(2).zip(self.along.windows(2));
        ends.map(|(points, along)| {
            (points[0], points[1], Stretch { from: Length::metres(along[0]), to: Length::metres(along[1]) })
        })
    }

    /// The box round the route.
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// The length along the straight legs.
    pub fn length(&self) -> Length {
        Length::metres(self.metres())
    }

    pub(super) fn metres(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// The length with its bends, as [`Route::bent`] puts them in.
    pub fn rounded_length(&self, bend_radius: Length) -> Length {
        self.bent(bend_radius).length()
    }

    /// The corners in order along the route; the two ends are none.
    pub fn corners(&self) -> impl ExactSizeIterator<Item = Corner> + Clone + '_ {
        (1..self.points.len() - 1).map(move |number| {
            let (before, at, after) = (self.points[number - 1], self.points[number], self.points[number + 1]);
            let (came, goes) = (before.to(at), at.to(after));
            let turn = came.cross(goes).abs().atan2(came.dot(goes));
            let radius = match turn {
                0.0 => f64::INFINITY,
                _ if turn >= PI => 0.0,
                _ => self.room(number, |own, other| 1.0 / (1.0 + other / own)) / (turn / 2.0).tan(),
            };
            Corner {
                point: self.given_number(number),
                at,
                along: Length::metres(self.along[number]),
                turn_degrees: turn.to_degrees(),
                largest_radius: Length::metres(radius),
            }
        })
    }

    /// How much of the shorter of its legs a corner is lent, by what it and its neighbour take.
    fn room(&self, number: usize, share: impl Fn(f64, f64) -> f64) -> f64 {
        let own = self.takes(number);
        let lent = |from: usize, neighbour: usize| {
            // One that is not rounded takes nothing.
            let other = Some(self.takes(neighbour)).filter(|takes| *takes <= DOUBLES_BACK);
            self.points[from].metres_to(self.points[from + 1]) * share(own, other.unwrap_or(0.0))
        };
        lent(number - 1, number - 1).min(lent(number, number + 1))
    }

    /// What the bend at a point takes of its legs, in radii: without end where the pipe goes straight back, at the two ends nothing.
    fn takes(&self, number: usize) -> f64 {
        match self.points.get(number.wrapping_sub(1)..number + 2) {
            Some(&[before, at, after]) => tangent(before, at, after),
            _ => 0.0,
        }
    }

    /// The corners that are tighter than a pipe of this least bend radius goes. Of two that share a leg too short for both it
    /// is the one that takes more than half of it, or both of them.
    pub fn tight_corners(&self, least: Length) -> impl Iterator<Item = Corner> + '_ {
        let least = least - LET_PASS;
        (1..)
            .zip(self.corners())
            .filter(move |(number, corner)| {
                let half = |_, other| if other > 0.0 { 0.5 } else { 1.0 };
                let by_half = || self.room(*number, half) / (corner.turn_degrees.to_radians() / 2.0).tan();
                corner.largest_radius < least && by_half() < least.in_metres()
            })
            .map(|(_, corner)| corner)
    }

    /// The place at a distance along the route; short of the start it is the start, beyond the end
    /// the end.
    pub fn at(&self, along: Length) -> Point {
        let along = along.in_metres();
        let next = self.along.partition_point(|&reached| reached <= along);
        match (self.points.get(next.wrapping_sub(1)), self.points.get(next)) {
            (Some(&from), Some(&to)) => {
                let start = self.along[next - 1];
                from.towards(to, (along - start) / (self.along[next] - start))
            }
            (Some(&end), None) => end,
            (None, _) => self.points[0],
        }
    }

    /// The leg that a place at a distance along the route lies on, as it was given.
    pub fn leg_at(&self, along: Length) -> usize {
        let along = along.in_metres();
        let reached = self.along.partition_point(|&reached| reached <= along);
        self.given_number(reached.saturating_sub(1).min(self.points.len() - 2))
    }

    /// The leg that passes nearest to a place, as it was given.
    pub fn leg_nearest(&self, place: Point) -> usize {
        let far = |leg: &u32| {
            let (from, to) = self.leg(*leg);
            from.towards(to, nearest_share(from, to, place)).metres_to(place)
        };
        let nearest = (0..self.legs()).min_by(|one, other| far(one).total_cmp(&far(other)));
        self.given_number(nearest.unwrap_or(0) as usize)
    }

    /// The whole route as a stretch.
    pub fn whole(&self) -> Stretch {
        Stretch { from: Length::ZERO, to: self.length() }
    }

    /// The part of a leg that lies in a stretch, as the two shares of the leg, if any does.
    pub(super) fn part_in(&self, leg: u32, stretch: &Stretch) -> Option<(f64, f64)> {
        let (start, end) = (self.metres_along(leg, 0.0), self.metres_along(leg, 1.0));
        let (from, to) = (stretch.from.in_metres().max(start), stretch.to.in_metres().min(end));
        let share = |along: f64| ((along - start) / (end - start)).clamp(0.0, 1.0);
        (from < to).then(|| (share(from), share(to)))
    }

    /// The legs that may have a part in a stretch.
    pub(super) fn legs_in(&self, stretch: &Stretch) -> std::ops::Range<u32> {
        let (from, to) = (stretch.from.in_metres(), stretch.to.in_metres());
        let first = self.along.partition_point(|&along| along <= from).saturating_sub(1) as u32;
        let last = self.along.partition_point(|&along| along < to) as u32;
        first.min(self.legs())..last.min(self.legs())
    }

    /// How many legs there are, zero-length ones not counted.
    pub(super) fn legs(&self) -> u32 {
        (self.points.len() - 1) as u32
    }

    /// The two ends of a leg, which there must be.
    pub(super) fn leg(&self, number: u32) -> (Point, Point) {
        (self.points[number as usize], self.points[number as usize + 1])
    }

    pub(super) fn leg_bounds(&self, number: u32) -> Bounds {
        let (from, to) = self.leg(number);
        Bounds::around([from, to])
    }

    /// Metres from the start to the place so far along a leg.
    pub(super) fn metres_along(&self, leg: u32, share: f64) -> f64 {
        let start = self.along[leg as usize];
        match self.along.get(leg as usize + 1) {
            Some(end) => start + (end - start) * share,
            None => start,
        }
    }

    /// The number that a leg or point had when it was given, those passed over counted; of a point
    /// that repeats, the last.
    pub(super) fn given_number(&self, number: usize) -> usize {
        self.passed_over.iter().fold(number, |number, &passed| number + usize::from(passed as usize <= number + 1))
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    fn route(pairs: &[(f64, f64)]) -> Route {
        Route::new(&points(pairs)).unwrap()
    }

    #[test]
    fn the_nearest_leg_is_told_as_it_was_given() {
        let run = route(&[(0.0, 0.0), (0.0, 0.0), (4.0, 0.0), (4.0, 2.0)]);
        assert_eq!(run.leg_nearest(Point::new(1.0, 0.5)), 1);
        assert_eq!(run.leg_nearest(Point::new(5.0, 1.0)), 2);
    }

    #[test]
    fn a_route_wants_two_different_points() {
        assert_eq!(Route::new(&[]), Err(RouteFault::NoLength));
        assert_eq!(Route::new(&points(&[(1.0, 1.0); 3])), Err(RouteFault::NoLength));
        let fault = Route::new(&points(&[(0.0, 0.0), (f64::NAN, 1.0)])).unwrap_err();
        assert_eq!(fault, RouteFault::Point { point: 1, fault: PointFault::NotFinite });
        assert_eq!(fault.to_string(), "point 2: a coordinate is not a number");
        let fault = Route::new(&points(&[(1e9, 0.0), (0.0, 1.0)])).unwrap_err();
        assert_eq!(fault, RouteFault::Point { point: 0, fault: PointFault::OffThePlan });
    }

    #[test]
    fn repeated_points_are_passed_over_and_legs_keep_their_numbers() {
        let pairs = [(0.0, 0.0), (0.0, 0.0), (3.0, 0.0), (3.0, 4.0), (3.0, 4.0), (3.0, 4.0), (0.0, 4.0)];
        let route = route(&pairs);
        assert_eq!(route.points().len(), 4);
        assert_eq!(route.length(), Length::metres(10.0));
        let given: Vec<usize> = (0..4).map(|number| route.given_number(number)).collect();
        assert_eq!(given, [1, 2, 5, 6]);
        assert_eq!(route.corners().map(|corner| corner.point).collect::<Vec<_>>(), [2, 5]);
    }

    #[test]
    fn places_along_the_route() {
        let route = route(&[(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]);
        let at = |metres| route.at(Length::metres(metres));
        assert_eq!(at(0.0), Point::new(0.0, 0.0));
        assert_eq!(at(1.5), Point::new(1.5, 0.0));
        assert_eq!(at(3.0), Point::new(3.0, 0.0));
        assert_eq!(at(5.0), Point::new(3.0, 2.0));
        assert_eq!(at(7.0), Point::new(3.0, 4.0));
        assert_eq!(at(-1.0), Point::new(0.0, 0.0));
        assert_eq!(at(f64::INFINITY), Point::new(3.0, 4.0));
        assert_eq!(at(f64::NAN), Point::new(0.0, 0.0));
    }

    // The worked examples of the rule catalogue for `bend-too-tight`: common practice, no source.
    #[test]
    fn the_radius_that_fits_a_corner() {
        // A right angle with legs of 300 mm, each shared with the next corner: 150 mm.
        let shared = route(&[(0.0, 0.0), (0.3, 0.0), (0.3, 0.3), (0.6, 0.3), (0.6, 0.6), (0.9, 0.6)]);
        let radii: Vec<f64> = shared.corners().map(|corner| corner.largest_radius.in_millimetres()).collect();
        for radius in radii {
            assert!((radius - 150.0).abs() < 1e-9, "{radius}");
        }
        // Legs of 60 and 300 mm, neither shared: 60 mm.
        let corner = route(&[(0.0, 0.0), (0.06, 0.0), (0.06, 0.3)]).corners().next().unwrap();
        assert!((corner.largest_radius.in_millimetres() - 60.0).abs() < 1e-9);
        assert!((corner.turn_degrees - 90.0).abs() < 1e-9);
        assert_eq!(corner.along, Length::millimetres(60.0));
        // `hairpin-tighter-than-bend`: runs 150 mm apart leave 75 mm, runs 200 mm apart 100 mm.
        for (spacing, radius) in [(0.15, 75.0), (0.2, 100.0)] {
            let hairpin = route(&[(0.0, 0.0), (4.0, 0.0), (4.0, spacing), (0.0, spacing)]);
            for corner in hairpin.corners() {
                assert!((corner.largest_radius.in_millimetres() - radius).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn straight_and_doubled_back_corners() {
        let route = route(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (0.5, 0.0)]);
        let corners: Vec<Corner> = route.corners().collect();
        assert_eq!(corners[0].turn_degrees, 0.0);
        assert_eq!(corners[0].largest_radius, Length::metres(f64::INFINITY));
        assert_eq!(corners[1].turn_degrees, 180.0);
        assert_eq!(corners[1].largest_radius, Length::ZERO);
        assert_eq!(route.rounded_length(Length::metres(0.1)), Length::metres(3.5));
    }

    #[test]
    fn rounding_a_hairpin_to_half_its_width_gives_a_half_circle() {
        let route = route(&[(0.0, 0.0), (4.0, 0.0), (4.0, 0.2), (0.0, 0.2)]);
        let half_circle = 2.0 * 3.9 + PI * 0.1;
        for radius in [0.1, 0.5, f64::INFINITY] {
            let length = route.rounded_length(Length::metres(radius)).in_metres();
            assert!((length - half_circle).abs() < 1e-12, "{length}");
        }
        for radius in [0.0, -1.0, f64::NAN] {
            assert_eq!(route.rounded_length(Length::metres(radius)), route.length());
        }
    }

    /// A right angle of radius 0.5 takes half a metre of each leg and is π/4 long.
    #[test]
    fn places_along_the_rounded_route() {
        let run = route(&[(0.0, 0.0), (2.0, 0.0), (2.0, 3.0)]);
        let arc = PI / 4.0;
        for (along, wanted) in [
            (0.0, 0.0),
            (1.0, 1.0),
            (1.5, 1.5),
            (1.75, 1.5 + arc / 4.0),
            (2.0, 1.5 + arc / 2.0),
            (2.5, 1.5 + arc),
            (3.5, 2.5 + arc),
            (9.0, 4.0 + arc),
        ] {
            let lying = run.bent(Length::metres(0.5)).lying(Length::millimetres(1.0), |_, _| false);
            let found = lying.along_pipe(Length::metres(along)).in_metres();
            assert!((found - wanted).abs() < 1e-12, "{along} is {found}, not {wanted}");
            let sharp = run.bent(Length::ZERO).lying(Length::millimetres(1.0), |_, _| true);
            assert_eq!(sharp.along_pipe(Length::metres(along)).in_metres(), along.min(5.0));
        }
    }

    /// A bend through φ takes r·tan(φ/2) of each leg, of a shared leg both bends together: plain geometry.
    #[test]
    fn a_corner_that_all_but_doubles_back_fits_where_there_is_room() {
        for degrees in [150.0f64, 160.0, 170.0, 175.0] {
            let (sin, cos) = degrees.to_radians().sin_cos();
            // After the hairpin a leg of this length, and a right angle.
            let tip = (30.0, 0.0);
            let legs = |length: f64| {
                let next = (tip.0 + cos * length, tip.1 + sin * length);
                route(&[(0.0, 0.0), tip, next, (next.0 + sin, next.1 - cos)])
            };
            let needs = 0.08 * ((degrees.to_radians() / 2.0).tan() + 1.0);
            let radius = |length: f64| legs(length).corners().next().unwrap().largest_radius.in_metres();
            assert!((radius(needs) - 0.08).abs() < 1e-9, "{degrees}: {}", radius(needs));
            let tight = |length: f64| legs(length).tight_corners(Length::metres(0.08)).count();
            assert_eq!((tight(needs), tight(needs * 0.97)), (0, 1), "{degrees}");
        }
    }

    #[test]
    fn rounding_never_lengthens_and_never_goes_below_the_straight_distance() {
        let mut numbers = Numbers(3);
        for _ in 0..500 {
            let count = 2 + numbers.below(20) as usize;
            let made: Vec<Point> = (0..count).map(|_| numbers.point(0.0, 6.0)).collect();
            let route = Route::new(&made).unwrap();
            let mut last = route.length();
            for radius in [0.02, 0.08, 0.3, 2.0] {
                let length = route.rounded_length(Length::metres(radius));
                assert!(length <= last + Length::metres(1e-9));
                last = length;
            }
            assert!(last >= made[0].distance(made[count - 1]) - Length::metres(1e-9));
            let mut back = made.clone();
            back.reverse();
            let back = Route::new(&back).unwrap().rounded_length(Length::metres(0.08));
            let there = route.rounded_length(Length::metres(0.08));
            assert!((back - there).abs() < Length::metres(1e-9));
        }
    }
}
