//! The way a pipe really lies: straight legs, and a bend at every corner.

use super::route::Bend;
use super::{Point, Route};
use quantity::Length;

/// A part of the way that a pipe lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    Straight {
        from: Point,
        to: Point,
    },
    /// An arc of less than half a circle.
    Bend {
        from: Point,
        to: Point,
        centre: Point,
        radius: Length,
        /// Whether the pipe turns to its left.
        left: bool,
    },
}

impl Part {
    pub fn from(&self) -> Point {
        match self {
            Part::Straight { from, .. } | Part::Bend { from, .. } => *from,
        }
    }

    pub fn to(&self) -> Point {
        match self {
            Part::Straight { to, .. } | Part::Bend { to, .. } => *to,
        }
    }

    pub fn length(&self) -> Length {
        match *self {
            Part::Straight { from, to } => from.distance(to),
            Part::Bend { from, to, centre, radius, .. } => radius * turn(centre, from, to),
        }
    }

    /// The part up to a share of it, and the rest.
    fn split(self, share: f64) -> (Part, Part) {
        match self {
            Part::Straight { from, to } => {
                let at = from.towards(to, share);
                (Part::Straight { from, to: at }, Part::Straight { from: at, to })
            }
            Part::Bend { from, to, centre, radius, left } => {
                let angle = turn(centre, from, to) * share * if left { 1.0 } else { -1.0 };
                let arm = centre.to(from);
                let (sin, cos) = angle.sin_cos();
                let at = Point::new(centre.x + arm.x * cos - arm.y * sin, centre.y + arm.x * sin + arm.y * cos);
                (Part::Bend { from, to: at, centre, radius, left }, Part::Bend { from: at, to, centre, radius, left })
            }
        }
    }
}

/// The angle at the centre between two points of an arc, in radians.
fn turn(centre: Point, from: Point, to: Point) -> f64 {
    let (one, other) = (centre.to(from), centre.to(to));
    one.cross(other).abs().atan2(one.dot(other))
}

impl Route {
    /// The route with each corner rounded to the bend radius, or to the largest that fits there: the way whose
    /// length is [`Route::rounded_length`].
    pub fn bent(&self, bend_radius: Length) -> Vec<Part> {
        let points = self.points();
        let mut parts = Vec::with_capacity(2 * points.len());
        let mut reached = points[0];
        let straight_to = |parts: &mut Vec<Part>, from: Point, to: Point| {
            if from != to {
                parts.push(Part::Straight { from, to });
            }
        };
        for (corner, around) in self.corners().zip(points.windows(3)) {
            let (came, goes) = (around[0].to(around[1]), around[1].to(around[2]));
            let Some(Bend { radius, taken, .. }) = corner.bend(bend_radius) else {
                straight_to(&mut parts, reached, corner.at);
                reached = corner.at;
                continue;
            };
            let from = corner.at.towards(around[0], taken / came.length());
            let to = corner.at.towards(around[2], taken / goes.length());
            let left = came.cross(goes) > 0.0;
            let inwards = radius / came.length() * if left { 1.0 } else { -1.0 };
            let centre = Point::new(from.x - came.y * inwards, from.y + came.x * inwards);
            straight_to(&mut parts, reached, from);
            parts.push(Part::Bend { from, to, centre, radius: Length::metres(radius), left });
            reached = to;
        }
        straight_to(&mut parts, reached, points[points.len() - 1]);
        parts
    }
}

/// The parts up to a length along them, and those after it.
pub fn split_at(parts: &[Part], along: Length) -> (Vec<Part>, Vec<Part>) {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    let mut left = along;
    for &part in parts {
        let length = part.length();
        if left >= length {
            before.push(part);
        } else if left > Length::ZERO {
            let (one, other) = part.split(left / length);
            before.push(one);
            after.push(other);
        } else {
            after.push(part);
        }
        left -= length;
    }
    (before, after)
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;
    use std::f64::consts::PI;

    fn length(parts: &[Part]) -> f64 {
        parts.iter().map(|part| part.length().in_metres()).sum()
    }

    /// A quarter circle is πr/2 long, and leaves r of each leg.
    #[test]
    fn a_right_angle_becomes_a_quarter_circle() {
        let route = Route::new(&points(&[(0.0, 0.0), (2.0, 0.0), (2.0, 3.0)])).unwrap();
        let parts = route.bent(Length::metres(0.5));
        let [Part::Straight { to, .. }, Part::Bend { centre, left, .. }, Part::Straight { from, .. }] = parts[..]
        else {
            panic!("{parts:?}")
        };
        assert_eq!((to, centre, from, left), (Point::new(1.5, 0.0), Point::new(1.5, 0.5), Point::new(2.0, 0.5), true));
        assert!((length(&parts) - (1.5 + 2.5 + PI / 4.0)).abs() < 1e-12);
    }

    #[test]
    fn the_way_is_as_long_as_the_route_says_and_has_no_gap() {
        let mut numbers = Numbers(7);
        for _ in 0..200 {
            let all: Vec<Point> = (0..12).map(|_| numbers.point(0.0, 9.0)).collect();
            let route = Route::new(&all).unwrap();
            for radius in [0.0, 0.05, 0.4, 50.0] {
                let parts = route.bent(Length::metres(radius));
                let wanted = route.rounded_length(Length::metres(radius)).in_metres();
                assert!((length(&parts) - wanted).abs() < 1e-9, "{} is not {wanted}", length(&parts));
                assert!(parts.windows(2).all(|two| two[0].to().metres_to(two[1].from()) < 1e-12));
                let (before, after) = split_at(&parts, Length::metres(wanted * 0.37));
                assert!((length(&before) - wanted * 0.37).abs() < 1e-9);
                assert!((length(&before) + length(&after) - wanted).abs() < 1e-9);
                // A place on a straight part lies there as far along as the parts before it are long.
                let mut reached = 0.0;
                for part in &parts {
                    if let Part::Straight { from, to } = *part {
                        let leg = route.leg_nearest(from.towards(to, 0.5)) as u32;
                        let along = route.metres_along(leg, 0.0) + route.leg(leg).0.metres_to(from);
                        let found = route.along_rounded(Length::metres(radius), Length::metres(along)).in_metres();
                        assert!((found - reached).abs() < 1e-9, "{found} is not {reached}");
                    }
                    reached += part.length().in_metres();
                }
            }
        }
    }

    #[test]
    fn straight_back_and_straight_on_are_not_rounded() {
        let route = Route::new(&points(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (1.0, 0.0)])).unwrap();
        let parts = route.bent(Length::metres(0.1));
        assert!(parts.iter().all(|part| matches!(part, Part::Straight { .. })), "{parts:?}");
        assert_eq!(length(&parts), 3.0);
    }
}
