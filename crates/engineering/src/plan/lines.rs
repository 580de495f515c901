//! What a route meets on its way: walls, joints, doorways, fixing lines, edges of keep-clear areas.

use super::box_tree::BoxTree;
use super::point::nearest_share;
use super::touching::{Chain, Ends, Legs, legs, touching};
use super::{Bounds, Point, Route};
use quantity::Length;
use std::ops::{ControlFlow, Range};

/// A line on the plan.
#[derive(Debug, Clone, Copy)]
pub enum Line<'a> {
    /// From its first point to its last.
    Open(&'a [Point]),
    /// Back from its last point to its first, which may be repeated at the end.
    Closed(&'a [Point]),
}

/// Many lines of one storey, made ready once to be asked about many routes.
pub struct Lines {
    points: Vec<Point>,
    lines: Vec<Span>,
    segments: Vec<Segment>,
    tree: BoxTree,
}

/// The points of one line.
#[derive(Clone)]
struct Span {
    points: Range<usize>,
    closed: bool,
}

#[derive(Clone, Copy)]
pub(super) struct Segment {
    pub from: Point,
    pub to: Point,
    /// Which line it belongs to.
    pub line: u32,
    /// Its number among the segments of the line that have a length.
    leg: u32,
    /// Its number as given.
    pub given: u32,
    /// Metres from the first point of the line, along it.
    start: f64,
}

impl Segment {
    pub fn bounds(&self) -> Bounds {
        Bounds::around([self.from, self.to])
    }
}

/// One unbroken contact of a route with a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The number of the line.
    pub line: usize,
    /// The number of its segment, from point `n` to point `n + 1`.
    pub segment: usize,
    /// The leg of the route, from point `n` to point `n + 1`.
    pub leg: usize,
    /// Where the contact begins.
    pub at: Point,
    /// From the start of the route to there.
    pub along: Length,
    /// From the first point of the line to there, along the line.
    pub line_along: Length,
    /// How far the route then runs along the line; zero for a contact in one point.
    pub runs_along: Length,
    /// Between leg and segment: 90 for a square crossing, 0 along the line.
    pub angle_degrees: f64,
    pub contact: Contact,
}

/// The place on a line that is nearest to a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePoint {
    pub at: Point,
    /// From the first point of the line to there, along the line.
    pub line_along: Length,
    /// From the point to there.
    pub distance: Length,
}

/// What a route does at a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contact {
    /// It comes on one side and goes on the other.
    Crosses,
    /// It comes and goes on the same side, or it begins or ends on the line.
    Touches,
}

/// The meetings of a route, in order along it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Meetings {
    pub all: Vec<Meeting>,
    /// There were more than [`Meetings::MOST`], and the search was broken off.
    pub broken_off: bool,
}

impl Meetings {
    /// How many meetings of one route are looked for: far more than any pipe has, so that a hopeless
    /// file costs neither minutes nor gigabytes.
    pub const MOST: usize = 20_000;

    /// How often the route crosses a line.
    pub fn crossings(&self, line: usize) -> usize {
        let crosses = |meeting: &&Meeting| meeting.line == line && meeting.contact == Contact::Crosses;
        self.all.iter().filter(crosses).count()
    }
}

impl Lines {
    /// The lines in their order; the first has the number 0.
    ///
    /// A line with a [fault](Point::fault) in one of its points, or with fewer than two different
    /// points, keeps its number but meets nothing.
    pub fn new<'a>(lines: impl IntoIterator<Item = Line<'a>>) -> Lines {
        let mut points: Vec<Point> = Vec::new();
        let mut spans: Vec<Span> = Vec::new();
        let mut segments: Vec<Segment> = Vec::new();
        for line in lines {
            let (given, closed) = match line {
                Line::Open(given) => (given, false),
                Line::Closed(given) => (given, true),
            };
            let first = points.len();
            let number = spans.len() as u32;
            let faulty = given.iter().any(|point| point.fault().is_some());
            let mut start = 0.0;
            let mut add = |from: Point, to: Point, leg: usize, given: u32| {
                segments.push(Segment { from, to, line: number, leg: leg as u32, given, start });
                start += from.metres_to(to);
            };
            for (place, &point) in (0..).zip(given.iter().filter(|_| !faulty)) {
                match points[first..] {
                    [.., last] if last == point => {}
                    [.., last] => {
                        add(last, point, points.len() - first - 1, place - 1);
                        points.push(point);
                    }
                    [] => points.push(point),
                }
            }
            if closed && points.len() - first > 2 {
                let (from, to) = (points[points.len() - 1], points[first]);
                if from == to {
                    points.pop();
                } else {
                    add(from, to, points.len() - first - 1, given.len() as u32 - 1);
                }
            }
            // Two points left over from a closed line lie there and back on one stretch.
            let closed = closed && points.len() - first > 2;
            spans.push(Span { points: first..points.len(), closed });
        }
        let tree = BoxTree::new(segments.iter().map(Segment::bounds));
        Lines { points, lines: spans, segments, tree }
    }

    /// How many lines there are.
    pub fn count(&self) -> usize {
        self.lines.len()
    }

    /// Everything that the route meets, in order along it, then by number of the line.
    ///
    /// - Going through a line is one crossing, be it through a segment, a corner of the line or a
    ///   point of the route that lies on the line.
    /// - Touching it and going back is a touch.
    /// - Running along it is one meeting with the length of the run: a crossing if the route leaves
    ///   on the other side than it came from, else a touch.
    /// - Beginning or ending on it is a touch.
    /// - The ends of an open line belong to it. Past an end, what is "the other side" is read off the
    ///   line made longer.
    ///
    /// A route that crosses a line at a place where the line touches itself is judged by one of the
    /// branches there.
    pub fn meetings(&self, route: &Route) -> Meetings {
        let mut meetings = Meetings::default();
        // Line, leg of the route, leg of the line.
        let mut touches: Vec<(u32, u32, u32)> = Vec::new();
        let flow = self.near(route, |leg, number| {
            let segment = &self.segments[number as usize];
            let (a, b) = route.leg(leg);
            match legs(a, b, segment.from, segment.to) {
                Legs::Apart => return ControlFlow::Continue(()),
                Legs::Touch => touches.push((segment.line, leg, segment.leg)),
                Legs::Cross(share) => {
                    let at = a.towards(b, share);
                    meetings.all.push(Meeting {
                        line: segment.line as usize,
                        segment: segment.given as usize,
                        leg: route.given_number(leg as usize),
                        at,
                        along: Length::metres(route.metres_along(leg, share)),
                        line_along: Length::metres(segment.start + segment.from.metres_to(at)),
                        runs_along: Length::ZERO,
                        angle_degrees: angle_degrees((a, b), (segment.from, segment.to)),
                        contact: Contact::Crosses,
                    });
                }
            }
            if meetings.all.len() + touches.len() < 2 * Meetings::MOST {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        });
        meetings.broken_off = flow.is_break();
        self.judge_touches(route, touches, &mut meetings.all);
        meetings.all.sort_by(|one, other| {
            let (one_along, other_along) = (one.along.in_metres(), other.along.in_metres());
            one_along.total_cmp(&other_along).then(one.line.cmp(&other.line))
        });
        if meetings.all.len() > Meetings::MOST {
            meetings.broken_off = true;
            meetings.all.truncate(Meetings::MOST);
        }
        meetings
    }

    fn judge_touches(&self, route: &Route, mut touches: Vec<(u32, u32, u32)>, found: &mut Vec<Meeting>) {
        touches.sort_unstable();
        let mut pairs = Vec::new();
        for of_one_line in touches.chunk_by(|one, other| one.0 == other.0) {
            let number = of_one_line[0].0;
            pairs.clear();
            pairs.extend(of_one_line.iter().map(|&(_, leg, line_leg)| (leg, line_leg)));
            let chain = self.chain(number);
            touching(route.points(), chain, &pairs, |touch| {
                let leg = touch.from.leg.min(route.legs() - 1);
                let along = route.metres_along(touch.from.leg, touch.from.share);
                let end = route.metres_along(touch.to.leg, touch.to.share);
                let Some(segment) = self.segments(number as usize).get(touch.line_leg as usize) else {
                    return;
                };
                found.push(Meeting {
                    line: number as usize,
                    segment: segment.given as usize,
                    leg: route.given_number(leg as usize),
                    at: touch.at,
                    along: Length::metres(along),
                    line_along: Length::metres(segment.start + segment.from.metres_to(touch.at)),
                    runs_along: Length::metres(end - along),
                    angle_degrees: angle_degrees(route.leg(leg), chain.leg(touch.line_leg)),
                    contact: if touch.crosses { Contact::Crosses } else { Contact::Touches },
                });
            });
        }
    }

    fn chain(&self, line: u32) -> Chain<'_> {
        let span = &self.lines[line as usize];
        let ends = if span.closed { Ends::Closed } else { Ends::OfALine };
        Chain { points: &self.points[span.points.clone()], ends }
    }

    /// The segments of a line that have a length, in order.
    pub(super) fn segments(&self, line: usize) -> &[Segment] {
        let before = self.segments.partition_point(|segment| (segment.line as usize) < line);
        let count = self.segments[before..].partition_point(|segment| segment.line as usize == line);
        &self.segments[before..before + count]
    }

    /// The length of a line; zero if there is no such line or it is faulty.
    pub fn length(&self, line: usize) -> Length {
        let length = |last: &Segment| last.start + last.from.metres_to(last.to);
        Length::metres(self.segments(line).last().map_or(0.0, length))
    }

    /// The place on a line that is nearest to the point; nothing for a faulty line. Of several, the
    /// one nearest to the start of the line.
    pub fn nearest(&self, line: usize, point: Point) -> Option<LinePoint> {
        let mut nearest: Option<LinePoint> = None;
        for segment in self.segments(line) {
            let share = nearest_share(segment.from, segment.to, point);
            let at = segment.from.towards(segment.to, share);
            let distance = at.distance(point);
            if nearest.is_none_or(|before| distance < before.distance) {
                let line_along = Length::metres(segment.start + segment.from.metres_to(at));
                nearest = Some(LinePoint { at, line_along, distance });
            }
        }
        nearest
    }

    /// The pieces of a line between two distances from its first point, in order.
    pub(super) fn between(&self, line: usize, from: Length, to: Length) -> impl Iterator<Item = (Point, Point)> + '_ {
        let (from, to) = (from.min(to).in_metres(), from.max(to).in_metres());
        self.segments(line).iter().filter_map(move |segment| {
            let length = segment.from.metres_to(segment.to);
            let share = |along: f64| ((along - segment.start) / length).clamp(0.0, 1.0);
            let (first, last) = (share(from), share(to));
            let at = |share| segment.from.towards(segment.to, share);
            (first < last).then(|| (at(first), at(last)))
        })
    }

    /// Calls `found` with each segment whose box touches `bounds`.
    pub(super) fn touching(&self, bounds: &Bounds, mut found: impl FnMut(&Segment)) {
        let _ = self.tree.touching(bounds, |number| {
            found(&self.segments[number as usize]);
            ControlFlow::Continue(())
        });
    }

    /// Calls `found` with the number of each segment whose box touches `bounds`.
    pub(super) fn touching_numbers(&self, bounds: &Bounds, found: impl FnMut(u32) -> ControlFlow<()>) {
        let _ = self.tree.touching(bounds, found);
    }

    /// Whether something may lie within `reach` of the box.
    pub fn come_near(&self, bounds: &Bounds, reach: Length) -> bool {
        self.tree.touching(&bounds.wider(reach.in_metres()), |_| ControlFlow::Break(())).is_break()
    }

    pub(super) fn segment(&self, number: u32) -> &Segment {
        &self.segments[number as usize]
    }

    /// Calls `found` with each leg of the route and each segment whose boxes touch, in order of the
    /// legs, until it breaks off.
    pub(super) fn near(&self, route: &Route, mut found: impl FnMut(u32, u32) -> ControlFlow<()>) -> ControlFlow<()> {
        self.near_legs(route, 0..route.legs(), 0.0, &mut Vec::new(), &mut found)
    }

    /// The same for some of the legs, and boxes so many metres apart or less.
    pub(super) fn near_within(
        &self,
        route: &Route,
        legs: Range<u32>,
        reach: f64,
        mut found: impl FnMut(u32, u32) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        self.near_legs(route, legs, reach, &mut Vec::new(), &mut found)
    }

    /// A route with few segments round it is asked about once as a whole; another half by half.
    fn near_legs(
        &self,
        route: &Route,
        legs: Range<u32>,
        reach: f64,
        near: &mut Vec<u32>,
        found: &mut impl FnMut(u32, u32) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        const FEW: usize = 24;
        near.clear();
        if legs.is_empty() {
            return ControlFlow::Continue(());
        }
        let one_leg = legs.len() == 1;
        let points = &route.points()[legs.start as usize..=legs.end as usize];
        let bounds = Bounds::around(points.iter().copied()).wider(reach);
        let asked = self.tree.touching(&bounds, |number| {
            near.push(number);
            if one_leg || near.len() <= FEW { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        });
        if asked.is_break() {
            let middle = legs.start + legs.len() as u32 / 2;
            self.near_legs(route, legs.start..middle, reach, near, found)?;
            return self.near_legs(route, middle..legs.end, reach, near, found);
        }
        if near.is_empty() {
            return ControlFlow::Continue(());
        }
        for leg in legs {
            let bounds = route.leg_bounds(leg).wider(reach);
            for &number in near.iter() {
                if self.segments[number as usize].bounds().touches(&bounds) {
                    found(leg, number)?;
                }
            }
        }
        ControlFlow::Continue(())
    }
}

/// The angle between two lines: from 0 for parallel to 90 for square.
pub(super) fn angle_degrees(one: (Point, Point), other: (Point, Point)) -> f64 {
    let (one, other) = (one.0.to(one.1), other.0.to(other.1));
    one.cross(other).abs().atan2(one.dot(other).abs()).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    fn meet(route: &[(f64, f64)], lines: &[&[(f64, f64)]]) -> Vec<Meeting> {
        let lines: Vec<Vec<Point>> = lines.iter().map(|line| points(line)).collect();
        let lines = Lines::new(lines.iter().map(|line| Line::Open(line)));
        lines.meetings(&Route::new(&points(route)).unwrap()).all
    }

    fn contacts(route: &[(f64, f64)], line: &[(f64, f64)]) -> Vec<Contact> {
        meet(route, &[line]).iter().map(|meeting| meeting.contact).collect()
    }

    use Contact::{Crosses, Touches};

    const WALL: [(f64, f64); 2] = [(0.0, 0.0), (10.0, 0.0)];

    #[test]
    fn a_plain_crossing_tells_where() {
        let found = meet(&[(1.0, 3.0), (4.0, 3.0), (4.0, -1.0)], &[&WALL]);
        assert_eq!(
            found,
            [Meeting {
                line: 0,
                segment: 0,
                leg: 1,
                at: Point::new(4.0, 0.0),
                along: Length::metres(6.0),
                line_along: Length::metres(4.0),
                runs_along: Length::ZERO,
                angle_degrees: 90.0,
                contact: Crosses,
            }]
        );
        let slanting = meet(&[(0.0, 1.0), (2.0, -1.0)], &[&WALL]);
        assert!((slanting[0].angle_degrees - 45.0).abs() < 1e-12);
    }

    #[test]
    fn a_point_of_the_route_on_the_line_counts_once_or_not_at_all() {
        assert_eq!(contacts(&[(4.0, 1.0), (5.0, 0.0), (6.0, -1.0)], &WALL), [Crosses]);
        assert_eq!(contacts(&[(4.0, 1.0), (5.0, 0.0), (6.0, 1.0)], &WALL), [Touches]);
        assert_eq!(contacts(&[(4.0, 1.0), (5.0, 0.0), (4.0, 1.0)], &WALL), [Touches]);
        // Beginning and ending there.
        assert_eq!(contacts(&[(4.0, 0.0), (5.0, 1.0)], &WALL), [Touches]);
        assert_eq!(contacts(&[(4.0, 1.0), (5.0, 0.0)], &WALL), [Touches]);
    }

    #[test]
    fn a_corner_of_the_line_counts_once_or_not_at_all() {
        let corner = [(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)];
        assert_eq!(contacts(&[(4.0, 1.0), (6.0, -1.0)], &corner), [Crosses]);
        assert_eq!(contacts(&[(4.0, -1.0), (6.0, 1.0)], &corner), [Touches]);
        assert_eq!(contacts(&[(4.0, -1.0), (5.0, 0.0), (6.0, 1.0)], &corner), [Touches]);
        assert_eq!(contacts(&[(4.0, -1.0), (5.0, 0.0), (4.0, 1.0)], &corner), [Crosses]);
        // Through a corner that goes straight on.
        let straight = [(0.0, 0.0), (5.0, 0.0), (10.0, 0.0)];
        assert_eq!(contacts(&[(4.0, 1.0), (6.0, -1.0)], &straight), [Crosses]);
    }

    #[test]
    fn the_end_of_a_line_belongs_to_it() {
        assert_eq!(contacts(&[(10.0, 1.0), (10.0, -1.0)], &WALL), [Crosses]);
        assert_eq!(contacts(&[(10.0, 1.0), (10.0, 0.0), (11.0, 1.0)], &WALL), [Touches]);
        assert_eq!(contacts(&[(10.1, 1.0), (10.1, -1.0)], &WALL), []);
    }

    #[test]
    fn running_along_a_line_is_one_meeting_with_its_length() {
        let across = [(2.0, 1.0), (2.0, 0.0), (6.0, 0.0), (6.0, -1.0)];
        let back = [(2.0, 1.0), (2.0, 0.0), (6.0, 0.0), (6.0, 1.0)];
        for (route, contact) in [(across, Crosses), (back, Touches)] {
            let found = meet(&route, &[&WALL]);
            assert_eq!(found.len(), 1);
            assert_eq!(found[0].contact, contact);
            assert_eq!(found[0].along, Length::metres(1.0));
            assert_eq!(found[0].runs_along, Length::metres(4.0));
        }
        // Over several segments, round a corner, with points of both on the way.
        let line = [(0.0, 0.0), (3.0, 0.0), (5.0, 0.0), (5.0, 5.0)];
        let route = [(1.0, 1.0), (2.0, 0.0), (4.0, 0.0), (5.0, 0.0), (5.0, 2.0), (6.0, 2.0)];
        let found = meet(&route, &[&line]);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].contact, found[0].runs_along), (Crosses, Length::metres(5.0)));
        // On the line beyond the wall, and past the end of the wall.
        let along = meet(&[(-2.0, 0.0), (12.0, 0.0)], &[&WALL]);
        assert_eq!(along.len(), 1);
        assert_eq!((along[0].contact, along[0].runs_along), (Touches, Length::metres(10.0)));
        let began_on_it = meet(&[(2.0, 0.0), (6.0, 0.0), (6.0, -1.0)], &[&WALL]);
        assert_eq!((began_on_it[0].contact, began_on_it[0].runs_along), (Touches, Length::metres(4.0)));
        // There and back on the wall.
        let to_and_fro = meet(&[(2.0, 1.0), (2.0, 0.0), (6.0, 0.0), (4.0, 0.0), (4.0, -1.0)], &[&WALL]);
        assert_eq!(to_and_fro.len(), 1);
        assert_eq!((to_and_fro[0].contact, to_and_fro[0].runs_along), (Crosses, Length::metres(6.0)));
    }

    #[test]
    fn a_closed_line_has_a_last_edge() {
        let square = points(&[(2.0, 2.0), (3.0, 2.0), (3.0, 3.0), (2.0, 3.0)]);
        let mut repeated = square.clone();
        repeated.push(square[0]);
        let lines = Lines::new([Line::Closed(&square), Line::Closed(&repeated), Line::Open(&square)]);
        let through = Route::new(&points(&[(0.0, 2.5), (5.0, 2.5)])).unwrap();
        let found = lines.meetings(&through);
        assert_eq!([0, 1, 2].map(|line| found.crossings(line)), [2, 2, 1]);
        let segments: Vec<(usize, usize)> = found.all.iter().map(|meeting| (meeting.line, meeting.segment)).collect();
        assert_eq!(segments, [(0, 3), (1, 3), (0, 1), (1, 1), (2, 1)]);
        // Through the first corner, which is also the last, and past it.
        let diagonal = Route::new(&points(&[(0.0, 0.0), (5.0, 5.0)])).unwrap();
        assert_eq!(lines.meetings(&diagonal).crossings(1), 2);
        let past = Route::new(&points(&[(0.0, 4.0), (4.0, 0.0)])).unwrap();
        assert_eq!(lines.meetings(&past).crossings(1), 0);
        assert_eq!(lines.meetings(&past).all.iter().filter(|meeting| meeting.line == 1).count(), 1);
    }

    #[test]
    fn places_along_a_line() {
        let wall = points(&[(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]);
        let lines = Lines::new([Line::Open(&wall), Line::Open(&[])]);
        assert_eq!([0, 1, 2].map(|line| lines.length(line).in_metres()), [7.0, 0.0, 0.0]);
        let nearest = lines.nearest(0, Point::new(2.5, 1.0)).unwrap();
        assert_eq!(nearest.line_along, Length::metres(4.0));
        assert_eq!((nearest.at, nearest.distance), (Point::new(3.0, 1.0), Length::metres(0.5)));
        assert_eq!(lines.nearest(1, Point::new(0.0, 0.0)), None);
        let between: Vec<(Point, Point)> = lines.between(0, Length::metres(5.0), Length::metres(1.0)).collect();
        let (corner, end) = (Point::new(3.0, 0.0), Point::new(3.0, 2.0));
        assert_eq!(between, [(Point::new(1.0, 0.0), corner), (corner, end)]);
        let crossing = Route::new(&points(&[(2.0, 2.0), (4.0, 2.0)])).unwrap();
        assert_eq!(lines.meetings(&crossing).all[0].line_along, Length::metres(5.0));
        let touching = Route::new(&points(&[(2.0, 1.0), (3.0, 2.0)])).unwrap();
        assert_eq!(lines.meetings(&touching).all[0].line_along, Length::metres(5.0));
    }

    #[test]
    fn faulty_lines_keep_their_number_and_meet_nothing() {
        let faulty = points(&[(0.0, 0.0), (f64::NAN, 0.0), (10.0, 0.0)]);
        let (point, wall) = (points(&[(5.0, 0.0), (5.0, 0.0)]), points(&WALL));
        let far = points(&[(-1e9, 0.0), (1e9, 0.0)]);
        let nothing = Vec::new();
        let lines = [&faulty, &point, &far, &nothing, &wall].map(|line| Line::Open(line));
        let lines = Lines::new(lines);
        let route = Route::new(&points(&[(5.0, 1.0), (5.0, -1.0)])).unwrap();
        let found = lines.meetings(&route);
        assert_eq!(found.all.iter().map(|meeting| meeting.line).collect::<Vec<_>>(), [4]);
        assert_eq!(lines.count(), 5);
        assert_eq!(Lines::new([]).meetings(&route).all, []);
    }

    #[test]
    fn repeated_points_do_not_shift_numbers() {
        let line = [(0.0, 0.0), (0.0, 0.0), (3.0, 0.0), (3.0, 0.0), (9.0, 0.0)];
        let found = meet(&[(5.0, 2.0), (5.0, 2.0), (5.0, -1.0)], &[&line]);
        assert_eq!((found[0].segment, found[0].leg), (3, 1));
    }

    // Worked examples of the rule catalogue: `sleeve-missing-at-wall`, flow and return each through the
    // wall; `heated-run-crosses-joint`, seven runs laid across the joint.
    #[test]
    fn tails_and_runs_through_a_wall_and_a_joint() {
        let wall = [(3.0, 0.0), (3.0, 4.0)];
        let tails = [(0.0, 1.0), (5.0, 1.0), (5.0, 2.0), (0.0, 2.0)];
        assert_eq!(contacts(&tails, &wall), [Crosses, Crosses]);
        let mut serpentine = Vec::new();
        for run in 0..7 {
            let y = 0.5 + 0.15 * f64::from(run);
            let (near, far) = if run % 2 == 0 { (1.0, 5.0) } else { (5.0, 1.0) };
            serpentine.extend([(near, y), (far, y)]);
        }
        assert_eq!(contacts(&serpentine, &wall).len(), 7);
        let mut there_and_back = serpentine.clone();
        there_and_back.extend(serpentine.iter().rev().map(|&(x, y)| (x, y + 1.2)));
        assert_eq!(contacts(&there_and_back, &wall).len(), 14);
    }

    fn grid_point(numbers: &mut Numbers) -> Point {
        Point::new(f64::from(numbers.below(7)), f64::from(numbers.below(7)))
    }

    /// On a coarse grid nearly every contact is a corner, an end or an overlap.
    #[test]
    fn counts_do_not_change_when_the_plan_is_moved_turned_or_walked_backwards() {
        let mut numbers = Numbers(5);
        let turns: [fn(Point) -> Point; 4] = [
            |point| Point::new(point.x + 1000.0, point.y - 37.0),
            |point| Point::new(-point.y, point.x),
            |point| Point::new(-point.x, -point.y),
            |point| Point::new(point.y, -point.x),
        ];
        for _ in 0..4000 {
            let (legs, segments) = (2 + numbers.below(6), 2 + numbers.below(4));
            let route: Vec<Point> = (0..legs).map(|_| grid_point(&mut numbers)).collect();
            let line: Vec<Point> = (0..segments).map(|_| grid_point(&mut numbers)).collect();
            let closed = numbers.below(2) == 0;
            let look = |route: &[Point], line: &[Point]| -> Option<Vec<(Contact, f64)>> {
                let route = Route::new(route).ok()?;
                let lines = Lines::new([if closed { Line::Closed(line) } else { Line::Open(line) }]);
                let all = lines.meetings(&route).all;
                Some(all.iter().map(|one| (one.contact, one.runs_along.in_metres())).collect())
            };
            let Some(found) = look(&route, &line) else { continue };
            let same = |other: Vec<(Contact, f64)>| {
                assert_eq!(found.len(), other.len(), "{route:?} {line:?}");
                for (one, other) in found.iter().zip(&other) {
                    assert_eq!(one.0, other.0, "{route:?} {line:?}");
                    assert!((one.1 - other.1).abs() < 1e-9, "{route:?} {line:?}");
                }
            };
            for turn in turns {
                let turned = |points: &[Point]| points.iter().map(|&point| turn(point)).collect::<Vec<_>>();
                same(look(&turned(&route), &turned(&line)).unwrap());
            }
            let backwards: Vec<Point> = route.iter().rev().copied().collect();
            let mut met = look(&backwards, &line).unwrap();
            met.reverse();
            // A line that touches itself may be judged by another branch from the other end.
            if simple(&line, closed) {
                same(met);
                let line_back: Vec<Point> = line.iter().rev().copied().collect();
                same(look(&route, &line_back).unwrap());
            }
        }
    }

    fn simple(line: &[Point], closed: bool) -> bool {
        if closed {
            return super::super::Outline::new(line).is_ok();
        }
        match Route::new(line) {
            Ok(route) => super::super::route_meetings(&[&route]).all.is_empty(),
            Err(_) => true,
        }
    }

    /// Crossing a closed line changes inside to outside and back: the count is odd just when one end
    /// lies inside and the other outside (Jordan's theorem).
    #[test]
    fn crossings_of_a_closed_line_agree_with_where_the_ends_lie() {
        use super::super::{Outline, Position};
        let mut numbers = Numbers(17);
        let mut looked = 0;
        for _ in 0..6000 {
            let corners: Vec<Point> = (0..3 + numbers.below(4)).map(|_| grid_point(&mut numbers)).collect();
            let Ok(outline) = Outline::new(&corners) else { continue };
            let route: Vec<Point> = (0..2 + numbers.below(6)).map(|_| grid_point(&mut numbers)).collect();
            let Ok(made) = Route::new(&route) else { continue };
            let ends = [route[0], route[route.len() - 1]].map(|end| outline.position(end));
            if ends.contains(&Position::OnEdge) {
                continue;
            }
            let lines = Lines::new([Line::Closed(&corners)]);
            let count = lines.meetings(&made).crossings(0);
            assert_eq!(count % 2 == 1, ends[0] != ends[1], "{corners:?} {route:?}");
            looked += 1;
        }
        assert!(looked > 500, "{looked}");
    }

    #[test]
    fn a_hopeless_tangle_is_broken_off() {
        let mut numbers = Numbers(23);
        let mut tangle = |count: usize| -> Vec<Point> { (0..count).map(|_| numbers.point(0.0, 10.0)).collect() };
        let (route, line) = (tangle(1000), tangle(1000));
        let lines = Lines::new([Line::Open(&line)]);
        let found = lines.meetings(&Route::new(&route).unwrap());
        assert!(found.broken_off);
        assert_eq!(found.all.len(), Meetings::MOST);
    }
}
