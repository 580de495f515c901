//! Where pipes cross each other, or themselves.

use super::lines::angle_degrees;
use super::strips::{pairs, strips};
use super::touching::{Chain, Ends, Legs, legs, touching};
use super::{Contact, Lying, Point, Route};
use quantity::Length;
use std::ops::ControlFlow;

/// One unbroken contact of a route with another, or with itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RouteMeeting {
    /// The route with the lower number, or the earlier leg of the one route.
    pub first: LegOf,
    pub second: LegOf,
    /// Where the contact begins, going along the first.
    pub at: Point,
    /// How far the two then run on one line; zero for a contact in one point.
    pub runs_along: Length,
    /// 90 for a square crossing, 0 along each other.
    pub angle_degrees: f64,
    pub contact: Contact,
}

/// A place on one of several routes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegOf {
    /// The number of the route.
    pub route: usize,
    /// Its leg, from point `n` to point `n + 1`.
    pub leg: usize,
    /// From the start of the route.
    pub along: Length,
}

/// The meetings of routes, in order of the two routes and along the first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RouteMeetings {
    pub all: Vec<RouteMeeting>,
    /// The routes are such a tangle that the search was broken off: there are more meetings.
    pub broken_off: bool,
}

/// All contacts of the routes with each other and with themselves.
///
/// What crosses and what touches is told apart as for [`Lines::meetings`](super::Lines::meetings): a
/// pipe that comes and goes on the same side of the other, or begins or ends on it, touches. The common
/// corner of two neighbouring legs is no contact, unless the pipe doubles back there; nor is a
/// common end of two routes, as at a manifold. Takes about n log n for n legs.
pub fn route_meetings(routes: &[&Route]) -> RouteMeetings {
    let mut search = Search { routes, meetings: RouteMeetings::default(), touches: Vec::new() };
    let strips = strips(routes.iter().map(|route| (0..route.legs()).map(|leg| route.leg_bounds(leg))));
    let bounds = |route: u32, leg: u32| routes[route as usize].leg_bounds(leg);
    let flow = pairs(&strips, bounds, |[(one, first), (other, second)]| search.look(one, first, other, second));
    search.meetings.broken_off = flow.is_break();
    search.judge_touches();
    let mut meetings = search.meetings;
    meetings.all.sort_by(|one, other| {
        let key = |meeting: &RouteMeeting| (meeting.first.route, meeting.second.route);
        let along = |meeting: &RouteMeeting| meeting.first.along.in_metres();
        key(one).cmp(&key(other)).then(along(one).total_cmp(&along(other))).then(one.second.leg.cmp(&other.second.leg))
    });
    meetings
}

/// All contacts of the routes with each other and with themselves as they lie among each other, [`lying_together`]. Places along
/// and legs are of the routes as they are drawn.
pub fn pipe_meetings(routes: &[&Route], lying: &[Lying]) -> RouteMeetings {
    let mut found = route_meetings(&lying.iter().map(|it| &it.route).collect::<Vec<_>>());
    for meeting in &mut found.all {
        for of in [&mut meeting.first, &mut meeting.second] {
            of.along = lying[of.route].along_drawn(of.along);
            of.leg = routes[of.route].leg_at(of.along);
        }
    }
    found
}

struct Search<'a> {
    routes: &'a [&'a Route],
    meetings: RouteMeetings,
    /// First route, second route, leg of the first, leg of the second.
    touches: Vec<(u32, u32, u32, u32)>,
}

impl Search<'_> {
    const MOST_MEETINGS: usize = 100_000;

    fn look(&mut self, one: u32, first: u32, other: u32, second: u32) -> ControlFlow<()> {
        let (one_route, other_route) = (self.routes[one as usize], self.routes[other as usize]);
        let (a, b) = one_route.leg(first);
        let (c, d) = other_route.leg(second);
        if one == other && second == first + 1 {
            let doubles_back = super::point::side(a, b, d) == 0 && a.to(b).dot(c.to(d)) < 0.0;
            if doubles_back {
                self.touches.push((one, other, first, second));
            }
            return ControlFlow::Continue(());
        }
        match legs(a, b, c, d) {
            Legs::Apart => {}
            Legs::Touch => self.touches.push((one, other, first, second)),
            Legs::Cross(share) => {
                let at = a.towards(b, share);
                let of_second = super::point::nearest_share(c, d, at);
                self.meetings.all.push(RouteMeeting {
                    first: self.place(one, first, share),
                    second: self.place(other, second, of_second),
                    at,
                    runs_along: Length::ZERO,
                    angle_degrees: angle_degrees((a, b), (c, d)),
                    contact: Contact::Crosses,
                });
            }
        }
        let found = self.meetings.all.len() + self.touches.len();
        if found < Self::MOST_MEETINGS { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    }

    fn place(&self, route: u32, leg: u32, share: f64) -> LegOf {
        let of = self.routes[route as usize];
        LegOf {
            route: route as usize,
            leg: of.given_number(leg.min(of.legs() - 1) as usize),
            along: Length::metres(of.metres_along(leg, share)),
        }
    }

    fn judge_touches(&mut self) {
        let mut touches = std::mem::take(&mut self.touches);
        touches.sort_unstable();
        let mut pairs: Vec<(u32, u32)> = Vec::new();
        for of_two in touches.chunk_by(|one, other| (one.0, one.1) == (other.0, other.1)) {
            let (one, other) = (of_two[0].0, of_two[0].1);
            let (one_route, other_route) = (self.routes[one as usize], self.routes[other as usize]);
            let chain = Chain { points: other_route.points(), ends: Ends::OfAPipe };
            pairs.clear();
            pairs.extend(of_two.iter().map(|&(_, _, first, second)| (first, second)));
            let mut found = Vec::new();
            touching(one_route.points(), chain, &pairs, |touch| {
                let (c, d) = chain.leg(touch.line_leg);
                let share = super::point::nearest_share(c, d, touch.at);
                let leg = touch.from.leg.min(one_route.legs() - 1);
                let first = self.place(one, touch.from.leg, touch.from.share);
                let end = one_route.metres_along(touch.to.leg, touch.to.share);
                let meeting = RouteMeeting {
                    first,
                    second: self.place(other, touch.line_leg, share),
                    at: touch.at,
                    runs_along: Length::metres(end) - first.along,
                    angle_degrees: angle_degrees(one_route.leg(leg), (c, d)),
                    contact: if touch.crosses { Contact::Crosses } else { Contact::Touches },
                };
                let is_end = |route: &Route, along: Length| along == Length::ZERO || along == route.length();
                let common_end = meeting.runs_along == Length::ZERO
                    && is_end(one_route, meeting.first.along)
                    && is_end(other_route, meeting.second.along);
                if !common_end {
                    found.push(meeting);
                }
            });
            self.meetings.all.append(&mut found);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::super::{Bent, Line, Lines, lying_together};
    use super::*;
    use Contact::{Crosses, Touches};

    fn meet(routes: &[&[(f64, f64)]]) -> Vec<RouteMeeting> {
        let routes: Vec<Route> = routes.iter().map(|pairs| Route::new(&points(pairs)).unwrap()).collect();
        let routes: Vec<&Route> = routes.iter().collect();
        route_meetings(&routes).all
    }

    fn contacts(routes: &[&[(f64, f64)]]) -> Vec<Contact> {
        meet(routes).iter().map(|meeting| meeting.contact).collect()
    }

    #[test]
    fn a_route_that_crosses_itself_tells_both_places() {
        let found = meet(&[&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (2.0, 2.0), (2.0, -2.0)]]);
        assert_eq!(
            found,
            [RouteMeeting {
                first: LegOf { route: 0, leg: 0, along: Length::metres(2.0) },
                second: LegOf { route: 0, leg: 3, along: Length::metres(10.0) },
                at: Point::new(2.0, 0.0),
                runs_along: Length::ZERO,
                angle_degrees: 90.0,
                contact: Crosses,
            }]
        );
    }

    #[test]
    fn touching_is_not_crossing() {
        // Ends on its own leg; touches it with a corner; comes back to its start.
        assert_eq!(contacts(&[&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (2.0, 2.0), (2.0, 0.0)]]), [Touches]);
        let corner = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (3.0, 2.0), (2.0, 0.0), (1.0, 2.0)];
        assert_eq!(contacts(&[&corner]), [Touches]);
        let through = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (3.0, 2.0), (2.0, 0.0), (1.0, -2.0)];
        assert_eq!(contacts(&[&through]), [Crosses]);
        assert_eq!(contacts(&[&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 0.0)]]), []);
        // Neighbouring legs meet at their corner, and that is no contact; doubling back is.
        assert_eq!(contacts(&[&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]]), []);
        let doubled = meet(&[&[(0.0, 0.0), (4.0, 0.0), (1.0, 0.0), (1.0, 3.0)]]);
        assert_eq!(doubled.len(), 1);
        assert_eq!((doubled[0].contact, doubled[0].runs_along), (Touches, Length::metres(3.0)));
    }

    #[test]
    fn two_routes_cross_touch_and_run_along_each_other() {
        let run: &[(f64, f64)] = &[(0.0, 0.0), (10.0, 0.0)];
        assert_eq!(contacts(&[run, &[(5.0, 1.0), (5.0, -1.0)]]), [Crosses]);
        assert_eq!(contacts(&[run, &[(4.0, 1.0), (5.0, 0.0), (6.0, -1.0)]]), [Crosses]);
        assert_eq!(contacts(&[run, &[(4.0, 1.0), (5.0, 0.0), (6.0, 1.0)]]), [Touches]);
        assert_eq!(contacts(&[run, &[(5.0, 1.0), (5.0, 0.0)]]), [Touches]);
        let along = meet(&[run, &[(2.0, 1.0), (2.0, 0.0), (6.0, 0.0), (6.0, -1.0)]]);
        assert_eq!(along.len(), 1);
        assert_eq!((along[0].contact, along[0].runs_along), (Crosses, Length::metres(4.0)));
        // Both at the manifold.
        assert_eq!(contacts(&[run, &[(0.0, 0.0), (0.0, 5.0)]]), []);
        assert_eq!(contacts(&[run, &[(0.0, 0.5), (10.0, 0.5)]]), []);
    }

    #[test]
    fn a_serpentine_and_a_spiral_do_not_cross_themselves() {
        let mut serpentine = Vec::new();
        for run in 0..200 {
            let y = 0.15 * f64::from(run);
            let (near, far) = if run % 2 == 0 { (0.0, 5.0) } else { (5.0, 0.0) };
            serpentine.extend([(near, y), (far, y)]);
        }
        assert_eq!(contacts(&[&serpentine]), []);
        let mut spiral = vec![(0.0, 0.0)];
        for turn in 0..400 {
            let (x, y) = spiral[turn];
            let leg = 0.15 * (turn / 2 + 1) as f64;
            spiral.push(match turn % 4 {
                0 => (x + leg, y),
                1 => (x, y + leg),
                2 => (x - leg, y),
                _ => (x, y - leg),
            });
        }
        assert_eq!(contacts(&[&spiral]), []);
        // A tail from the middle straight out crosses one leg a ring.
        let tail = [(0.05, 0.05), (0.05, 100.0)];
        let crossings = meet(&[&spiral, &tail]).len();
        assert_eq!(crossings, 100);
    }

    /// Two corners whose tips overlap by 14 mm along the diagonal, bent with 80 mm, which cuts off 33 mm of each.
    #[test]
    fn bends_keep_apart_what_corners_would_not() {
        let one = Route::new(&points(&[(0.0, 1.0), (1.0, 1.0), (1.0, 0.0)])).unwrap();
        let other = Route::new(&points(&[(0.99, 2.0), (0.99, 0.99), (2.0, 0.99)])).unwrap();
        let meet = |pipes: &[(&Route, f64)]| {
            let (routes, bent): (Vec<&Route>, Vec<Bent>) =
                pipes.iter().map(|(route, radius)| (*route, route.bent(Length::millimetres(*radius)))).unzip();
            pipe_meetings(&routes, &lying_together(&bent, Length::ZERO)).all
        };
        let both = |radius: f64| meet(&[(&one, radius), (&other, radius)]);
        assert_eq!(both(0.0).iter().map(|it| it.contact).collect::<Vec<_>>(), [Crosses, Crosses]);
        assert_eq!(both(80.0), []);
        // A straight leg over a bend, seen from both ways and as it is drawn.
        let across = Route::new(&points(&[(0.0, 0.5), (0.7, 0.5), (2.0, 0.5)])).unwrap();
        let found = meet(&[(&one, 80.0), (&across, 0.0)]);
        let [only] = found[..] else { panic!("{found:?}") };
        assert_eq!((only.at, only.first.leg, only.second.leg), (Point::new(1.0, 0.5), 1, 1));
        assert!((only.first.along - Length::metres(1.5)).abs() < Length::metres(1e-9));
    }

    /// What the tree of strips finds is what each route finds with every other taken as a line.
    #[test]
    fn routes_among_each_other_are_as_routes_and_lines() {
        let mut numbers = Numbers(37);
        for _ in 0..300 {
            let routes: Vec<Route> = (0..5)
                .map(|_| {
                    let count = 2 + numbers.below(8);
                    let made: Vec<Point> = (0..count).map(|_| numbers.point(0.0, 6.0)).collect();
                    Route::new(&made).unwrap()
                })
                .collect();
            let references: Vec<&Route> = routes.iter().collect();
            let found = route_meetings(&references);
            assert!(!found.broken_off);
            for (one, first) in routes.iter().enumerate() {
                for (other, second) in routes.iter().enumerate().skip(one + 1) {
                    let lines = Lines::new([Line::Open(second.points())]);
                    let of_two = |meeting: &&RouteMeeting| (meeting.first.route, meeting.second.route) == (one, other);
                    let count = found.all.iter().filter(of_two).count();
                    assert_eq!(count, lines.meetings(first).crossings(0));
                }
            }
        }
    }

    /// On a coarse grid nearly every contact is a corner, an end or an overlap.
    #[test]
    fn which_pipe_is_asked_first_changes_no_count() {
        let mut numbers = Numbers(43);
        for _ in 0..4000 {
            let mut made = || {
                let count = 2 + numbers.below(4);
                let grid: Vec<Point> =
                    (0..count).map(|_| Point::new(f64::from(numbers.below(6)), f64::from(numbers.below(6)))).collect();
                Route::new(&grid).ok().filter(|route| route_meetings(&[route]).all.is_empty())
            };
            let (Some(one), Some(other)) = (made(), made()) else { continue };
            let count = |routes: &[&Route]| {
                let all = route_meetings(routes).all;
                let crossings = all.iter().filter(|meeting| meeting.contact == Crosses).count();
                let run: f64 = all.iter().map(|meeting| meeting.runs_along.in_metres()).sum();
                (crossings, (run * 1e6).round())
            };
            assert_eq!(count(&[&one, &other]), count(&[&other, &one]), "{one:?} {other:?}");
        }
    }

    #[test]
    fn a_hopeless_tangle_is_broken_off() {
        let mut numbers = Numbers(41);
        let tangle: Vec<Point> = (0..3000).map(|_| numbers.point(0.0, 10.0)).collect();
        let found = route_meetings(&[&Route::new(&tangle).unwrap()]);
        assert!(found.broken_off);
        assert!(route_meetings(&[]).all.is_empty());
    }
}
