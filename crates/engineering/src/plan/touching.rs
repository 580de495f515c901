//! Where one chain of straight legs touches another without plainly crossing it: at corners, at ends,
//! and along stretches that lie on each other.
//!
//! Each unbroken touch is judged as a whole: the sides of the other line on which the chain comes and
//! goes decide whether it crosses. All questions of side are exact.

use super::Point;
use super::point::{nearest_share, side};
use std::cmp::Ordering;

/// Straight legs from point to point, of which no two neighbours are equal.
#[derive(Clone, Copy)]
pub(super) struct Chain<'a> {
    pub points: &'a [Point],
    pub ends: Ends,
}

#[derive(Clone, Copy, PartialEq)]
pub(super) enum Ends {
    /// None: one more leg goes from the last point to the first.
    Closed,
    /// What passes an end of a wall goes from one side of the wall to the other.
    OfALine,
    /// What passes an end of a pipe only touches it.
    OfAPipe,
}

impl Chain<'_> {
    /// The two ends of a leg, which there must be.
    pub fn leg(self, number: u32) -> (Point, Point) {
        let first = number as usize;
        let second = if first + 1 == self.points.len() { 0 } else { first + 1 };
        (self.points[first], self.points[second])
    }

    fn closed(self) -> bool {
        self.ends == Ends::Closed
    }

    fn legs(self) -> u32 {
        (self.points.len() - usize::from(!self.closed())) as u32
    }

    /// The point before a leg, if the chain has one.
    fn before(self, leg: u32) -> Option<Point> {
        match leg {
            0 if self.closed() => self.points.last().copied(),
            0 => None,
            _ => Some(self.leg(leg - 1).0),
        }
    }

    /// The point after a leg, if the chain has one.
    fn after(self, leg: u32) -> Option<Point> {
        let next = if leg + 1 < self.legs() { leg + 1 } else { 0 };
        (next > 0 || self.closed()).then(|| self.leg(next).1)
    }
}

/// How two legs stand to each other.
pub(super) enum Legs {
    Apart,
    /// They cross, each within its ends, at this share of the first.
    Cross(f64),
    /// They share a point that is an end of one of them, or they lie on one line and overlap.
    Touch,
}

/// How the leg `a`–`b` stands to the leg `c`–`d`. Neither may have length zero.
pub(super) fn legs(a: Point, b: Point, c: Point, d: Point) -> Legs {
    let value = |from: Point, to: Point, point: Point| {
        let coordinates = |point: Point| robust::Coord { x: point.x, y: point.y };
        robust::orient2d(coordinates(from), coordinates(to), coordinates(point))
    };
    let (of_a, of_b) = (value(c, d, a), value(c, d, b));
    if (of_a > 0.0 && of_b > 0.0) || (of_a < 0.0 && of_b < 0.0) {
        return Legs::Apart;
    }
    let (of_c, of_d) = (value(a, b, c), value(a, b, d));
    if (of_c > 0.0 && of_d > 0.0) || (of_c < 0.0 && of_d < 0.0) {
        return Legs::Apart;
    }
    if of_a != 0.0 && of_b != 0.0 && of_c != 0.0 && of_d != 0.0 {
        // Apart by a factor of two at the least from underflow, since the coordinates are bounded.
        let share = of_a / (of_a - of_b);
        return Legs::Cross(if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.5 });
    }
    let touch = (of_a == 0.0 && within(c, d, a))
        || (of_b == 0.0 && within(c, d, b))
        || (of_c == 0.0 && within(a, b, c))
        || (of_d == 0.0 && within(a, b, d));
    if touch { Legs::Touch } else { Legs::Apart }
}

/// Whether two legs share a point.
pub(super) fn meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    !matches!(legs(a, b, c, d), Legs::Apart)
}

/// Whether a point of the line through `from` and `to` lies between them, both included.
pub(super) fn within(from: Point, to: Point, point: Point) -> bool {
    from.x.min(to.x) <= point.x
        && point.x <= from.x.max(to.x)
        && from.y.min(to.y) <= point.y
        && point.y <= from.y.max(to.y)
}

/// A place on a chain: so far along a leg. The end of a leg is the start of the next.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Along {
    pub leg: u32,
    pub share: f64,
}

/// An unbroken touch of a chain with a line.
pub(super) struct Touching {
    pub from: Along,
    pub to: Along,
    /// Where it begins.
    pub at: Point,
    /// The leg of the line there.
    pub line_leg: u32,
    /// The chain comes on one side of the line and goes on the other.
    pub crosses: bool,
}

/// A point that the chain shares with the line.
#[derive(Clone, Copy)]
struct Mark {
    along: Along,
    point: Point,
    line_leg: u32,
    end: End,
}

/// Where on the leg of the line.
#[derive(Clone, Copy)]
enum End {
    Start,
    Between,
    Finish,
}

/// All touches of the open chain `route` with `line`, in order along the route, from the pairs of legs
/// (of the route, of the line) that touch.
pub(super) fn touching(route: &[Point], line: Chain, pairs: &[(u32, u32)], mut found: impl FnMut(Touching)) {
    let mut marks: Vec<Mark> = Vec::with_capacity(4 * pairs.len());
    let mut overlaps: Vec<(Along, Along)> = Vec::new();
    for &(leg, line_leg) in pairs {
        let before = marks.len();
        let (a, b) = (route[leg as usize], route[leg as usize + 1]);
        let (c, d) = line.leg(line_leg);
        let (a_on, b_on) = (side(c, d, a) == 0, side(c, d, b) == 0);
        for (on, point, leg) in [(a_on, a, leg), (b_on, b, leg + 1)] {
            if on && within(c, d, point) {
                let end = match point {
                    _ if point == c => End::Start,
                    _ if point == d => End::Finish,
                    _ => End::Between,
                };
                marks.push(Mark { along: Along { leg, share: 0.0 }, point, line_leg, end });
            }
        }
        for (point, end) in [(c, End::Start), (d, End::Finish)] {
            if point != a && point != b && side(a, b, point) == 0 && within(a, b, point) {
                let share = nearest_share(a, b, point).clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON);
                marks.push(Mark { along: Along { leg, share }, point, line_leg, end });
            }
        }
        if a_on && b_on {
            let shared = marks[before..].iter().map(|mark| mark.along);
            let (first, last) = (shared.clone().min_by(order), shared.max_by(order));
            overlaps.extend(first.zip(last).filter(|(first, last)| first != last));
        }
    }
    marks.sort_by(|one, other| order(&one.along, &other.along));
    overlaps.sort_by(|one, other| order(&one.0, &other.0));

    let mut overlaps = overlaps.into_iter().peekable();
    let mut reach = Along { leg: 0, share: -1.0 };
    let mut left = marks.as_slice();
    while let Some((first, mut rest)) = left.split_first() {
        let mut last = first;
        loop {
            while let Some(&(from, to)) = overlaps.peek()
                && from <= last.along
            {
                if to > reach {
                    reach = to;
                }
                overlaps.next();
            }
            match rest.split_first() {
                Some((next, after)) if next.along == last.along || next.along <= reach => {
                    (last, rest) = (next, after);
                }
                _ => break,
            }
        }
        left = rest;
        let came_from = match first.along {
            Along { leg: 0, share: 0.0 } => None,
            Along { leg, share: 0.0 } => route.get(leg as usize - 1),
            Along { leg, .. } => route.get(leg as usize),
        };
        let goes_to = route.get(last.along.leg as usize + 1);
        let crosses = came_from.zip(goes_to).is_some_and(|(&came_from, &goes_to)| {
            let came = side_of_line(line, first, came_from);
            let goes = side_of_line(line, last, goes_to);
            came * goes < 0
        });
        found(Touching { from: first.along, to: last.along, at: first.point, line_leg: first.line_leg, crosses });
    }
}

fn order(one: &Along, other: &Along) -> Ordering {
    one.leg.cmp(&other.leg).then(one.share.total_cmp(&other.share))
}

/// On which side of the line a chain leaves the mark that heads for `point`: 1 left, -1 right, 0 along
/// the line itself or where there are no sides.
fn side_of_line(line: Chain, mark: &Mark, point: Point) -> i8 {
    let (from, to) = line.leg(mark.line_leg);
    let corner = match mark.end {
        End::Between => return side(from, to, point),
        End::Start => line.before(mark.line_leg).map(|before| (before, from, to)),
        End::Finish => line.after(mark.line_leg).map(|after| (from, to, after)),
    };
    let Some((before, corner, after)) = corner else {
        return if line.ends == Ends::OfAPipe { 0 } else { side(from, to, point) };
    };
    let (of_first, of_second) = (side(before, corner, point), side(corner, after, point));
    let heading = corner.to(point);
    let along = (of_first == 0 && heading.dot(corner.to(before)) > 0.0)
        || (of_second == 0 && heading.dot(corner.to(after)) > 0.0);
    match side(before, corner, after) {
        _ if along => 0,
        1 => {
            if of_first > 0 && of_second > 0 {
                1
            } else {
                -1
            }
        }
        -1 => {
            if of_first < 0 && of_second < 0 {
                -1
            } else {
                1
            }
        }
        // Where the line doubles back there is no other side of its tip.
        _ if before.to(corner).dot(corner.to(after)) < 0.0 => 1,
        _ => of_first,
    }
}
