//! A point on the plan, the box round some points, and the exact question that all else rests on.

use quantity::Length;
use std::fmt;

/// A point on the plan of one storey, in metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    pub x: f64,
    pub y: f64,
}

/// The farthest that a coordinate may lie from the origin, in metres: room for every national grid,
/// and a place is still good to a thousandth of a millimetre.
pub const FARTHEST: f64 = 1e8;

/// Why a point is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PointFault {
    /// A coordinate is not a finite number.
    NotFinite,
    /// A coordinate lies more than [`FARTHEST`] from the origin.
    OffThePlan,
}

impl fmt::Display for PointFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            PointFault::NotFinite => "a coordinate is not a number",
            PointFault::OffThePlan => "a coordinate is more than 100,000 km from the origin",
        })
    }
}

impl Point {
    /// A point from its two coordinates in metres.
    pub const fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    /// The point on a grid of 2⁻³⁰ m, about a nanometre. What lies exactly on a line, or beside it, is told by the last digit of
    /// coordinates; on the grid a plan that is moved by whole metres, turned by a right angle or mirrored has the same digits,
    /// where 0.1 and 1000.1 as they are read lie 2 x 10⁻¹⁴ m beside each other.
    pub fn on_grid(self) -> Point {
        const LINES: f64 = (1 << 30) as f64;
        let nearest = |value: f64| (value * LINES).round() / LINES;
        Point { x: nearest(self.x), y: nearest(self.y) }
    }

    /// What is wrong with the point, if anything is.
    pub fn fault(self) -> Option<PointFault> {
        let farther = self.x.abs().max(self.y.abs());
        if !self.x.is_finite() || !self.y.is_finite() {
            Some(PointFault::NotFinite)
        } else if farther > FARTHEST {
            Some(PointFault::OffThePlan)
        } else {
            None
        }
    }

    /// How far it is to another point.
    pub fn distance(self, other: Point) -> Length {
        Length::metres(self.metres_to(other))
    }

    /// The point so far beyond another, seen from here; the other itself where both are the same.
    pub fn beyond(self, other: Point, by: Length) -> Point {
        let length = self.metres_to(other);
        if length == 0.0 {
            return other;
        }
        let (way, share) = (self.to(other), by.in_metres() / length);
        Point { x: other.x + way.x * share, y: other.y + way.y * share }
    }

    pub(super) fn metres_to(self, other: Point) -> f64 {
        let by = self.to(other);
        by.x.hypot(by.y)
    }

    /// The way from here to there.
    pub(super) fn to(self, other: Point) -> Way {
        Way { x: other.x - self.x, y: other.y - self.y }
    }

    /// The point at a share of the way to another; exact at both ends.
    pub(super) fn towards(self, other: Point, share: f64) -> Point {
        if share >= 1.0 {
            return other;
        }
        let way = self.to(other);
        Point { x: self.x + way.x * share, y: self.y + way.y * share }
    }
}

/// The way from one point to another, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    pub x: f64,
    pub y: f64,
}

impl Way {
    pub fn dot(self, other: Way) -> f64 {
        self.x * other.x + self.y * other.y
    }

    pub fn cross(self, other: Way) -> f64 {
        self.x * other.y - self.y * other.x
    }

    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }
}

/// Where `point` lies as seen from `from` looking to `to`: 1 to the left, -1 to the right, 0 on the
/// line. Exact for points without a [`PointFault`].
pub(super) fn side(from: Point, to: Point, point: Point) -> i8 {
    let coordinates = |point: Point| robust::Coord { x: point.x, y: point.y };
    let sign = robust::orient2d(coordinates(from), coordinates(to), coordinates(point));
    i8::from(sign > 0.0) - i8::from(sign < 0.0)
}

/// The point of the stretch `from`–`to` that is nearest to `point`, as a share of the stretch.
pub(super) fn nearest_share(from: Point, to: Point, point: Point) -> f64 {
    let way = from.to(to);
    let whole = way.dot(way);
    if whole > 0.0 { (from.to(point).dot(way) / whole).clamp(0.0, 1.0) } else { 0.0 }
}

/// The places where two stretches come nearest to each other, as shares of each; where they cross or
/// touch, a place that they share. Of several, one at the start of either comes first.
pub(super) fn nearest_shares(a: Point, b: Point, c: Point, d: Point) -> (f64, f64) {
    let (one, other) = (a.to(b), c.to(d));
    let turn = one.cross(other);
    if turn != 0.0 {
        let between = a.to(c);
        let (of_one, of_other) = (between.cross(other) / turn, between.cross(one) / turn);
        if (0.0..=1.0).contains(&of_one) && (0.0..=1.0).contains(&of_other) {
            return (of_one, of_other);
        }
    }
    let mut nearest = (0.0, nearest_share(c, d, a));
    let mut least = a.metres_to(c.towards(d, nearest.1));
    for shares in [(nearest_share(a, b, c), 0.0), (1.0, nearest_share(c, d, b)), (nearest_share(a, b, d), 1.0)] {
        let distance = a.towards(b, shares.0).metres_to(c.towards(d, shares.1));
        if distance < least {
            (nearest, least) = (shares, distance);
        }
    }
    nearest
}

/// The upright box round some points, its sides included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    pub low: Point,
    pub high: Point,
}

impl Bounds {
    /// The box round all the points; of no points, a box that nothing touches.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Bounds {
        let nothing = Bounds {
            low: Point { x: f64::INFINITY, y: f64::INFINITY },
            high: Point { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY },
        };
        points.into_iter().fold(nothing, |bounds, point| Bounds {
            low: Point { x: bounds.low.x.min(point.x), y: bounds.low.y.min(point.y) },
            high: Point { x: bounds.high.x.max(point.x), y: bounds.high.y.max(point.y) },
        })
    }

    /// Whether the two boxes share a point.
    pub fn touches(&self, other: &Bounds) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }

    /// Whether the box holds the point.
    pub fn contains(&self, point: Point) -> bool {
        self.touches(&Bounds { low: point, high: point })
    }

    /// The box, so many metres wider on every side.
    pub(super) fn wider(&self, by: f64) -> Bounds {
        Bounds {
            low: Point { x: self.low.x - by, y: self.low.y - by },
            high: Point { x: self.high.x + by, y: self.high.y + by },
        }
    }

    pub(super) fn join(&self, other: &Bounds) -> Bounds {
        Bounds::around([self.low, self.high, other.low, other.high])
    }

    /// Its sides along x and y, in metres.
    pub(super) fn sides(&self) -> (f64, f64) {
        (self.high.x - self.low.x, self.high.y - self.low.y)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A small generator of test numbers, the same on every run: the linear congruential generator of
    /// Knuth's MMIX (The Art of Computer Programming, volume 2, 3.3.4, table 1, line 26; from memory).
    pub struct Numbers(pub u64);

    impl Numbers {
        pub fn below(&mut self, limit: u32) -> u32 {
            self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            ((u64::from((self.0 >> 32) as u32) * u64::from(limit)) >> 32) as u32
        }

        pub fn between(&mut self, least: f64, greatest: f64) -> f64 {
            least + (greatest - least) * f64::from(self.below(1 << 31)) / f64::from(1u32 << 31)
        }

        pub fn point(&mut self, least: f64, greatest: f64) -> Point {
            Point::new(self.between(least, greatest), self.between(least, greatest))
        }
    }

    /// Points from pairs of numbers.
    pub fn points(pairs: &[(f64, f64)]) -> Vec<Point> {
        pairs.iter().map(|&(x, y)| Point { x, y }).collect()
    }

    #[test]
    fn the_side_of_a_line_is_exact() {
        // One step of the last digit off a slanting line, where plain arithmetic gives nought.
        let (from, to) = (Point::new(12.0, 12.0), Point::new(24.0, 24.0));
        let off = Point::new(0.5, 0.5 + f64::EPSILON);
        assert_eq!(side(from, to, off), 1);
        assert_eq!(side(from, to, Point::new(0.5, 0.5)), 0);
        assert_eq!(side(from, to, Point::new(0.5 + f64::EPSILON, 0.5)), -1);
    }

    #[test]
    fn a_point_that_is_none_says_why() {
        assert_eq!(Point::new(f64::NAN, 0.0).fault(), Some(PointFault::NotFinite));
        assert_eq!(Point::new(0.0, f64::NEG_INFINITY).fault(), Some(PointFault::NotFinite));
        assert_eq!(Point::new(1e9, 0.0).fault(), Some(PointFault::OffThePlan));
        assert_eq!(Point::new(-FARTHEST, FARTHEST).fault(), None);
    }

    #[test]
    fn a_box_of_nothing_touches_nothing() {
        let nothing = Bounds::around([]);
        let all = Bounds::around(points(&[(-1e8, -1e8), (1e8, 1e8)]));
        assert!(!nothing.touches(&all) && !all.touches(&nothing) && !nothing.contains(all.low));
        assert!(all.touches(&all) && all.contains(all.high));
    }
}
