//! The way a pipe really lies: straight legs, and a bend at every corner.

use super::{Bounds, Corner, Point, Route};
use quantity::Length;

/// So far from its arc a piece of a bend may be, of a pipe of which crossings and distances are told.
pub const OFF_ARC: Length = Length::millimetres(0.25);

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

    /// The points that follow its start when it is drawn as straight pieces, each of no more than `most` radians of a bend.
    pub(super) fn pieces(self, most: f64) -> impl Iterator<Item = Point> {
        let count = match self {
            Part::Straight { .. } => 1,
            // A whole number of pieces stays one whichever way its last digit is rounded.
            Part::Bend { from, to, centre, .. } => (turn(centre, from, to) / most - 1e-6).ceil().max(1.0) as usize,
        };
        (1..=count).map(move |piece| match piece == count {
            true => self.to(),
            false => self.split(piece as f64 / count as f64).0.to(),
        })
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

/// The way that a pipe lies as a route of short straight pieces, and how far along each place of it is as it is drawn and as
/// the pipe is long.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying {
    pub route: Route,
    /// The length along the straight legs as they are drawn.
    pub drawn: Length,
    /// The length of the pipe with all its bends, [`Bent::length`].
    pub pipe: Length,
    /// At the start and the end of each bend, in order.
    marks: Vec<Mark>,
}

/// How far along a place is, in metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Mark {
    /// On the straight legs as they are drawn.
    drawn: f64,
    /// On the route of short pieces.
    lying: f64,
    /// On the pipe with all its bends.
    pipe: f64,
}

impl Lying {
    /// So far along the drawn route is what lies so far along this one.
    pub fn along_drawn(&self, along: Length) -> Length {
        match along >= self.route.length() {
            true => self.drawn,
            false => self.mapped(along, |mark| mark.lying, |mark| mark.drawn),
        }
    }

    /// So far along this one is what is drawn so far along the route.
    pub fn along_lying(&self, along: Length) -> Length {
        self.mapped(along, |mark| mark.drawn, |mark| mark.lying)
    }

    /// So far along the pipe with all its bends is what is drawn so far along the route. What a bend cuts off lies where the
    /// bend is as far round.
    pub fn along_pipe(&self, along: Length) -> Length {
        match along >= self.drawn {
            true => self.pipe,
            false => self.mapped(along, |mark| mark.drawn, |mark| mark.pipe),
        }
    }

    fn mapped(&self, along: Length, of: fn(&Mark) -> f64, to: fn(&Mark) -> f64) -> Length {
        let along = along.in_metres();
        let next = self.marks.partition_point(|mark| of(mark) < along);
        let before = next.checked_sub(1).map_or(Mark::default(), |at| self.marks[at]);
        let beyond = along - of(&before);
        Length::metres(match self.marks.get(next) {
            Some(after) if of(after) > of(&before) => {
                to(&before) + (to(after) - to(&before)) * beyond / (of(after) - of(&before))
            }
            // Beyond the last bend all go on alike.
            _ => to(&before) + beyond,
        })
    }
}

/// The angle at the centre between two points of an arc, in radians.
fn turn(centre: Point, from: Point, to: Point) -> f64 {
    let (one, other) = (centre.to(from), centre.to(to));
    one.cross(other).abs().atan2(one.dot(other))
}

/// A route with each corner rounded to a bend radius, or to the largest that fits there. One that all but doubles back, by more
/// than 152 degrees, stays.
#[derive(Debug, Clone)]
pub struct Bent<'a> {
    route: &'a Route,
    bends: Vec<Bend>,
}

/// What takes the place of a corner.
#[derive(Debug, Clone, Copy)]
struct Bend {
    /// The number of the corner among [`Route::points`].
    number: usize,
    corner: Point,
    /// How far along the drawn route the corner is, in metres.
    along: f64,
    /// How much of each of its two legs it takes, in metres.
    taken: f64,
    arc: Part,
}

impl Bend {
    /// Where the corner is cut.
    fn bounds(&self) -> Bounds {
        Bounds::around([self.arc.from(), self.corner, self.arc.to()])
    }
}

impl Route {
    /// The route with its bends. A radius that is not above zero rounds nothing.
    pub fn bent(&self, bend_radius: Length) -> Bent<'_> {
        let corners = (1..).zip(self.corners()).zip(self.points().windows(3));
        let bend = |((number, corner), around): ((usize, Corner), &[Point])| {
            let tangent = (corner.turn_degrees.to_radians() / 2.0).tan();
            let radius = bend_radius.min(corner.largest_radius);
            // Straight on there is nothing to round.
            if corner.turn_degrees == 0.0 || corner.doubles_back() || radius <= Length::ZERO {
                return None;
            }
            let taken = radius.in_metres() * tangent;
            let (came, goes) = (around[0].to(around[1]), around[1].to(around[2]));
            let from = corner.at.towards(around[0], taken / came.length());
            let to = corner.at.towards(around[2], taken / goes.length());
            let left = came.cross(goes) > 0.0;
            let inwards = radius.in_metres() / came.length() * if left { 1.0 } else { -1.0 };
            let centre = Point::new(from.x - came.y * inwards, from.y + came.x * inwards);
            let arc = Part::Bend { from, to, centre, radius, left };
            Some(Bend { number, corner: corner.at, along: corner.along.in_metres(), taken, arc })
        };
        let bends = if bend_radius > Length::ZERO { corners.filter_map(bend).collect() } else { Vec::new() };
        Bent { route: self, bends }
    }
}

impl Bent<'_> {
    pub(super) fn route(&self) -> &Route {
        self.route
    }

    /// How long the pipe is. A bend through the angle φ takes 2·r·tan(φ/2) of the legs away and puts r·φ of arc in.
    pub fn length(&self) -> Length {
        let saved = |bend: &Bend| 2.0 * bend.taken - bend.arc.length().in_metres();
        self.route.length() - Length::metres(self.bends.iter().map(saved).sum())
    }

    /// The way along it.
    pub fn parts(&self) -> Vec<Part> {
        let mut parts = Vec::with_capacity(self.route.points().len() + self.bends.len());
        let mut bends = self.bends.iter().peekable();
        let mut reached = self.route.points()[0];
        for (number, &point) in self.route.points().iter().enumerate().skip(1) {
            let bend = bends.next_if(|bend| bend.number == number);
            let to = bend.map_or(point, |bend| bend.arc.from());
            if reached != to {
                parts.push(Part::Straight { from: reached, to });
            }
            parts.extend(bend.map(|bend| bend.arc));
            reached = bend.map_or(point, |bend| bend.arc.to());
        }
        parts
    }

    /// The boxes in which corners are cut by bends, with their numbers among [`Route::points`].
    pub(super) fn boxes(&self) -> impl Iterator<Item = (usize, Bounds)> + '_ {
        self.bends.iter().map(|bend| (bend.number, bend.bounds()))
    }

    /// The pipe as it lies, with the bends for which it matters, by the number of the point among [`Route::points`] and the
    /// box in which the corner is cut; the other corners stay as they are drawn. No piece of a bend is farther from its arc than
    /// `off`.
    pub fn lying(&self, off: Length, mut matters: impl FnMut(usize, &Bounds) -> bool) -> Lying {
        let drawn = self.route.points();
        let mut points = Vec::with_capacity(drawn.len());
        let mut marks = Vec::with_capacity(2 * self.bends.len());
        // So much shorter than as it is drawn.
        let (mut lying_less, mut pipe_less) = (0.0, 0.0);
        let mut bends = self.bends.iter().peekable();
        for (number, &point) in drawn.iter().enumerate() {
            let Some(bend) = bends.next_if(|bend| bend.number == number) else {
                points.push(point);
                continue;
            };
            let Part::Bend { radius, .. } = bend.arc else { continue };
            let before = bend.along - bend.taken;
            marks.push(Mark { drawn: before, lying: before - lying_less, pipe: before - pipe_less });
            if matters(number, &bend.bounds()) {
                let mut last = bend.arc.from().on_grid();
                let mut length = 0.0;
                points.push(last);
                for at in bend.arc.pieces((8.0 * off.in_metres() / radius.in_metres()).sqrt()) {
                    let at = at.on_grid();
                    length += last.metres_to(at);
                    points.push(at);
                    last = at;
                }
                lying_less += 2.0 * bend.taken - length;
            } else {
                points.push(point);
            }
            pipe_less += 2.0 * bend.taken - bend.arc.length().in_metres();
            let after = bend.along + bend.taken;
            marks.push(Mark { drawn: after, lying: after - lying_less, pipe: after - pipe_less });
        }
        let (drawn, pipe) = (self.route.length(), self.route.length() - Length::metres(pipe_less));
        // Bends as large as their legs leave nothing of these.
        match Route::new(&points) {
            Ok(route) => Lying { route, drawn, pipe, marks },
            Err(_) => Lying { route: self.route.clone(), drawn, pipe: drawn, marks: Vec::new() },
        }
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
        let parts = route.bent(Length::metres(0.5)).parts();
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
                let parts = route.bent(Length::metres(radius)).parts();
                let wanted = route.rounded_length(Length::metres(radius)).in_metres();
                assert!((length(&parts) - wanted).abs() < 1e-9, "{} is not {wanted}", length(&parts));
                assert!(parts.windows(2).all(|two| two[0].to().metres_to(two[1].from()) < 1e-12));
                let (before, after) = split_at(&parts, Length::metres(wanted * 0.37));
                assert!((length(&before) - wanted * 0.37).abs() < 1e-9);
                assert!((length(&before) + length(&after) - wanted).abs() < 1e-9);
                // A place on a straight part lies there as far along as the parts before it are long.
                let lying = route.bent(Length::metres(radius)).lying(OFF_ARC, |_, _| false);
                let mut reached = 0.0;
                for part in &parts {
                    if let Part::Straight { from, to } = *part {
                        let leg = route.leg_nearest(from.towards(to, 0.5)) as u32;
                        let along = route.metres_along(leg, 0.0) + route.leg(leg).0.metres_to(from);
                        let found = lying.along_pipe(Length::metres(along)).in_metres();
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
        let parts = route.bent(Length::metres(0.1)).parts();
        assert!(parts.iter().all(|part| matches!(part, Part::Straight { .. })), "{parts:?}");
        assert_eq!(length(&parts), 3.0);
    }

    /// Of two corners that take a radius of each leg and give πr/2 for it, one matters.
    #[test]
    fn places_along_the_lying_pipe() {
        let route = Route::new(&points(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (4.0, 2.0)])).unwrap();
        let radius = Length::metres(0.5);
        let lying = route.bent(radius).lying(OFF_ARC, |_, bounds| bounds.low.y < 0.1);
        assert_eq!(lying.route.points()[1], Point::new(1.5, 0.0));
        assert_eq!(lying.route.points()[lying.route.points().len() - 2], Point::new(2.0, 2.0));
        let arc = 0.25 * PI;
        let length = lying.route.length().in_metres();
        assert!((length - (5.0 + arc)).abs() < 1e-3, "{length}");
        for (drawn, lies) in [(0.0, 0.0), (1.5, 1.5), (2.0, 1.5 + arc / 2.0), (2.5, 1.5 + arc), (6.0, 5.0 + arc)] {
            let found = lying.along_lying(Length::metres(drawn)).in_metres();
            assert!((found - lies).abs() < 1e-3, "{drawn} {found} {lies}");
            let back = lying.along_drawn(Length::metres(found)).in_metres();
            assert!((back - drawn).abs() < 1e-9, "{drawn} {back}");
        }
        assert_eq!(route.bent(radius).lying(OFF_ARC, |_, _| false).route, route);
    }

    /// All points of the lying pipe are within a quarter of a millimetre of its bends.
    #[test]
    fn lying_pipe_is_as_long_as_its_bends() {
        let mut numbers = Numbers(5);
        for _ in 0..200 {
            let route = Route::new(&(0..12).map(|_| numbers.point(0.0, 3.0)).collect::<Vec<_>>()).unwrap();
            for radius in [0.0, 0.08, 0.3] {
                let radius = Length::metres(radius);
                let lying = route.bent(radius).lying(OFF_ARC, |_, _| true);
                let (length, bent) = (lying.route.length().in_metres(), route.rounded_length(radius).in_metres());
                assert!(length <= bent + 1e-9 && length > bent - 0.02, "{length} {bent}");
            }
        }
    }
}
