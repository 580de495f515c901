//! Which area a point or a piece of a route lies in: rooms, bays, keep-clear areas.

use super::box_tree::BoxTree;
use super::touching::{Legs, legs};
use super::{Bounds, Line, Lines, Outline, Point, Position, Route, Stretch};
use quantity::Length;
use std::collections::BTreeSet;
use std::ops::ControlFlow;

/// Many outlines of one storey, made ready once to be asked about many routes.
pub struct Areas<'a> {
    outlines: Vec<&'a Outline>,
    edges: Lines,
    boxes: BoxTree,
}

/// A piece of a route that lies in one area, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// The number of the area.
    pub area: Option<usize>,
    /// From the start of the route to the start of the piece.
    pub from: Length,
    /// From the start of the route to the end of the piece.
    pub to: Length,
}

impl Piece {
    /// How long the piece is.
    pub fn length(&self) -> Length {
        self.to - self.from
    }

    /// The stretch of the route that it is.
    pub fn stretch(&self) -> Stretch {
        Stretch { from: self.from, to: self.to }
    }
}

/// The length of all pieces in an area, or in none.
pub fn length_in(pieces: &[Piece], area: Option<usize>) -> Length {
    pieces.iter().filter(|piece| piece.area == area).map(Piece::length).sum()
}

/// The stretches of the route that lie in an area, or in none.
pub fn stretches_in(pieces: &[Piece], area: Option<usize>) -> impl Iterator<Item = Stretch> + '_ {
    pieces.iter().filter(move |piece| piece.area == area).map(Piece::stretch)
}

impl<'a> Areas<'a> {
    /// The areas in their order; the first has the number 0.
    pub fn new(outlines: impl IntoIterator<Item = &'a Outline>) -> Areas<'a> {
        let outlines: Vec<&Outline> = outlines.into_iter().collect();
        Areas {
            edges: Lines::new(outlines.iter().map(|outline| Line::Closed(outline.corners()))),
            boxes: BoxTree::new(outlines.iter().map(|outline| outline.bounds())),
            outlines,
        }
    }

    /// An area by its number, which there must be.
    pub fn outline(&self, area: usize) -> &'a Outline {
        self.outlines[area]
    }

    /// The area that holds the point, its edge included; of several, the one with the lowest number.
    pub fn at(&self, point: Point) -> Option<usize> {
        let mut lowest: Option<usize> = None;
        let bounds = Bounds { low: point, high: point };
        let _ = self.boxes.touching(&bounds, |number| {
            let number = number as usize;
            if lowest.is_none_or(|lowest| number < lowest) && self.outlines[number].position(point) != Position::Outside
            {
                lowest = Some(number);
            }
            ControlFlow::Continue(())
        });
        lowest
    }

    /// Whether an area may have a part in the box.
    pub fn come_near(&self, bounds: &Bounds) -> bool {
        self.boxes.touching(bounds, |_| ControlFlow::Break(())).is_break()
    }

    /// The most pieces that one route is cut into; the rest of a route that is cut oftener is given
    /// as one last piece in no area.
    pub const MOST_PIECES: usize = 20_000;

    /// The route from start to end, cut where it goes from one area to another or to none.
    ///
    /// The pieces follow each other without a gap and no two neighbours lie in the same area. A
    /// stretch in several areas, or along an edge between two, counts for the one with the lowest
    /// number only. A stretch along the edge of an area lies in it.
    ///
    /// Which areas the route is in is carried along it: each crossing of an edge goes in or out. Only where it
    /// touches an edge is the area asked anew.
    pub fn pieces(&self, route: &Route) -> Vec<Piece> {
        self.walk(route).0
    }

    /// The pieces of the route in each area, in order along it: a stretch in several areas is a piece of each of them.
    pub fn pieces_in_each(&self, route: &Route) -> Vec<Piece> {
        let (mut pieces, overlaps) = self.walk(route);
        pieces.retain(|piece| piece.area.is_some());
        pieces.extend(overlaps);
        pieces.sort_by(|one, other| one.from.in_metres().total_cmp(&other.from.in_metres()));
        pieces
    }

    /// The pieces, and those that lie in a further area as well.
    fn walk(&self, route: &Route) -> (Vec<Piece>, Vec<Piece>) {
        let mut walk = Walk::new(self, route);
        let flow = self.edges.near(route, |leg, number| {
            if leg != walk.leg {
                walk.take_leg();
                walk.leg = leg;
            }
            let (a, b) = route.leg(leg);
            let segment = self.edges.segment(number);
            let (c, d) = (segment.from, segment.to);
            match legs(a, b, c, d) {
                Legs::Apart => {}
                Legs::Cross(share) => walk.crossings.push((segment.line, share)),
                Legs::Touch => {
                    let way = a.to(b);
                    let share = |point| (a.to(point).dot(way) / way.dot(way)).clamp(0.0, 1.0);
                    let (from, to) = (share(c).min(share(d)), share(c).max(share(d)));
                    let on_one_line = super::point::side(a, b, c) == 0 && super::point::side(a, b, d) == 0;
                    walk.touches.push(Touch { area: segment.line, from, to, along: on_one_line });
                }
            }
            walk.may_go_on()
        });
        walk.end(flow.is_continue())
    }
}

/// A leg touches an edge of an area.
#[derive(Clone, Copy)]
struct Touch {
    area: u32,
    /// Shares of the leg between which the edge lies beside it.
    from: f64,
    to: f64,
    /// They lie on one line.
    along: bool,
}

/// A route on its way through areas.
struct Walk<'w> {
    areas: &'w Areas<'w>,
    route: &'w Route,
    pieces: Vec<Piece>,
    /// Of the areas that it is in as well.
    overlaps: Vec<Piece>,
    /// The areas that it is in.
    within: BTreeSet<u32>,
    /// How far it has been judged, in metres.
    done_to: f64,
    leg: u32,
    /// Of this leg: area, share.
    crossings: Vec<(u32, f64)>,
    touches: Vec<Touch>,
    /// Of this leg: share, area, whether it is in the area from there on; nothing if it goes in or out there.
    changes: Vec<(f64, u32, Option<bool>)>,
    /// How much work it was.
    looks: usize,
}

impl<'w> Walk<'w> {
    /// Far more than any plan takes.
    const MOST_LOOKS: usize = 100_000_000;

    fn new(areas: &'w Areas<'w>, route: &'w Route) -> Walk<'w> {
        let mut within = BTreeSet::new();
        let start = route.points()[0];
        let _ = areas.boxes.touching(&super::Bounds { low: start, high: start }, |number| {
            if areas.outlines[number as usize].position(start) != Position::Outside {
                within.insert(number);
            }
            ControlFlow::Continue(())
        });
        Walk {
            areas,
            route,
            pieces: Vec::new(),
            overlaps: Vec::new(),
            within,
            done_to: 0.0,
            leg: 0,
            crossings: Vec::new(),
            touches: Vec::new(),
            changes: Vec::new(),
            looks: 0,
        }
    }

    fn may_go_on(&self) -> ControlFlow<()> {
        if self.pieces.len() < Areas::MOST_PIECES && self.looks < Self::MOST_LOOKS {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    }

    /// So far along it is in the areas that it is in now.
    fn go_on_to(&mut self, along: f64) {
        let mut areas = self.within.iter().map(|area| Some(*area as usize));
        add(&mut self.pieces, areas.next().flatten(), self.done_to, along);
        let (from, to) = (Length::metres(self.done_to), Length::metres(along));
        self.overlaps.extend(areas.map(|area| Piece { area, from, to }));
        self.looks += self.within.len();
        self.done_to = along;
    }

    /// Takes in what was found of the leg.
    fn take_leg(&mut self) {
        if self.crossings.is_empty() && self.touches.is_empty() {
            return;
        }
        self.ask_touched();
        let crossings = self.crossings.drain(..);
        self.changes.extend(crossings.map(|(area, share)| (share, area, None)));
        self.changes.sort_by(|one, other| one.0.total_cmp(&other.0));
        self.looks += 10 * self.changes.len();
        for (share, area, is_in) in std::mem::take(&mut self.changes) {
            let along = self.route.metres_along(self.leg, share);
            // Under a nanometre there is nothing to tell.
            if along - self.done_to > 1e-9 {
                self.go_on_to(along);
            }
            match is_in {
                Some(true) => drop(self.within.insert(area)),
                Some(false) => drop(self.within.remove(&area)),
                None => {
                    if !self.within.remove(&area) {
                        self.within.insert(area);
                    }
                }
            }
        }
    }

    /// Asks the areas whose edges the leg touches, stretch by stretch.
    fn ask_touched(&mut self) {
        if self.touches.is_empty() {
            return;
        }
        self.touches.sort_by_key(|touch| touch.area);
        self.crossings.sort_by_key(|crossing| crossing.0);
        let (a, b) = self.route.leg(self.leg);
        let length = a.metres_to(b);
        let mut cuts: Vec<f64> = Vec::new();
        for touches in self.touches.chunk_by(|one, other| one.area == other.area) {
            let area = touches[0].area;
            let outline = self.areas.outlines[area as usize];
            cuts.clear();
            cuts.extend([0.0, 1.0]);
            cuts.extend(touches.iter().flat_map(|touch| [touch.from, touch.to]));
            let first = self.crossings.partition_point(|crossing| crossing.0 < area);
            cuts.extend(self.crossings[first..].iter().take_while(|crossing| crossing.0 == area).map(|it| it.1));
            cuts.sort_by(f64::total_cmp);
            let mut from = 0.0;
            for &to in &cuts {
                if (to - from) * length <= 1e-9 {
                    continue;
                }
                let middle = (from + to) / 2.0;
                let along = touches.iter().any(|it| it.along && it.from <= middle && middle <= it.to);
                let is_in = along || outline.position(a.towards(b, middle)) != Position::Outside;
                self.looks += outline.corners().len();
                self.changes.push((from, area, Some(is_in)));
                from = to;
            }
        }
        let touches = &self.touches;
        let is_touched = |area: u32| touches.binary_search_by_key(&area, |touch| touch.area).is_ok();
        self.crossings.retain(|crossing| !is_touched(crossing.0));
        self.touches.clear();
    }

    fn end(mut self, whole: bool) -> (Vec<Piece>, Vec<Piece>) {
        self.take_leg();
        let length = self.route.metres();
        if self.done_to < length {
            if !whole {
                self.within.clear();
            }
            self.go_on_to(length);
        }
        if let Some(last) = self.pieces.last_mut() {
            last.to = Length::metres(length);
        }
        (self.pieces, self.overlaps)
    }
}

fn add(pieces: &mut Vec<Piece>, area: Option<usize>, from: f64, to: f64) {
    match pieces.last_mut() {
        Some(last) if last.area == area => last.to = Length::metres(to),
        Some(last) => {
            let from = last.to;
            pieces.push(Piece { area, from, to: Length::metres(to) });
        }
        None => {
            pieces.push(Piece { area, from: Length::metres(from.min(0.0)), to: Length::metres(to) });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    fn outline(pairs: &[(f64, f64)]) -> Outline {
        Outline::new(&points(pairs)).unwrap()
    }

    fn square(x: f64, y: f64, side: f64) -> Outline {
        outline(&[(x, y), (x + side, y), (x + side, y + side), (x, y + side)])
    }

    fn cut(route: &[(f64, f64)], areas: &[Outline]) -> Vec<(Option<usize>, f64, f64)> {
        let route = Route::new(&points(route)).unwrap();
        let pieces = Areas::new(areas).pieces(&route);
        pieces.iter().map(|piece| (piece.area, piece.from.in_metres(), piece.to.in_metres())).collect()
    }

    #[test]
    fn a_route_through_two_rooms_and_the_wall_between_them() {
        let rooms = [square(0.0, 0.0, 4.0), square(4.1, 0.0, 4.0)];
        let found = cut(&[(1.0, 1.0), (6.0, 1.0), (6.0, 2.0)], &rooms);
        let areas: Vec<Option<usize>> = found.iter().map(|piece| piece.0).collect();
        assert_eq!(areas, [Some(0), None, Some(1)]);
        assert!((found[1].2 - found[1].1 - 0.1).abs() < 1e-12);
        assert_eq!(found[2].2, 6.0);
    }

    #[test]
    fn a_stretch_along_a_shared_edge_counts_once() {
        let rooms = [square(0.0, 0.0, 4.0), square(4.0, 0.0, 4.0)];
        assert_eq!(cut(&[(4.0, 1.0), (4.0, 3.0)], &rooms), [(Some(0), 0.0, 2.0)]);
        let along_and_away = [(6.0, 1.0), (4.0, 1.0), (4.0, 3.0), (4.0, 6.0)];
        assert_eq!(cut(&along_and_away, &rooms), [(Some(1), 0.0, 2.0), (Some(0), 2.0, 5.0), (None, 5.0, 7.0)]);
        // Also along a slanting edge, where rounding would put the middle on either side.
        let slanting = [outline(&[(0.0, 0.0), (3.0, 1.0), (0.0, 7.0)]), outline(&[(3.0, 1.0), (0.0, 7.0), (5.0, 7.0)])];
        let along = cut(&[(3.0, 1.0), (0.0, 7.0)], &slanting);
        assert_eq!(along.len(), 1);
        assert_eq!(along[0].0, Some(0));
    }

    #[test]
    fn inside_one_room_outside_all_and_touching() {
        let rooms = [square(0.0, 0.0, 4.0)];
        assert_eq!(cut(&[(1.0, 1.0), (1.0, 3.0)], &rooms), [(Some(0), 0.0, 2.0)]);
        assert_eq!(cut(&[(5.0, 1.0), (5.0, 3.0)], &rooms), [(None, 0.0, 2.0)]);
        assert_eq!(cut(&[(5.0, 1.0), (5.0, 3.0)], &[]), [(None, 0.0, 2.0)]);
        // Touching a corner from outside, and an edge from inside, cuts nothing.
        assert_eq!(cut(&[(3.0, 5.0), (4.0, 4.0), (5.0, 5.0)], &rooms).len(), 1);
        assert_eq!(cut(&[(1.0, 1.0), (2.0, 4.0), (3.0, 1.0)], &rooms).len(), 1);
    }

    #[test]
    fn of_overlapping_areas_each_has_its_pieces() {
        let rooms = [square(2.0, 0.0, 4.0), square(0.0, 0.0, 4.0)];
        let route = Route::new(&points(&[(1.0, 1.0), (7.0, 1.0)])).unwrap();
        let found = Areas::new(&rooms).pieces_in_each(&route);
        let found: Vec<_> = found.iter().map(|it| (it.area, it.from.in_metres(), it.to.in_metres())).collect();
        assert_eq!(found, [(Some(1), 0.0, 1.0), (Some(0), 1.0, 5.0), (Some(1), 1.0, 3.0)]);
    }

    #[test]
    fn of_overlapping_areas_the_first_counts() {
        let rooms = [square(2.0, 0.0, 4.0), square(0.0, 0.0, 4.0)];
        assert_eq!(
            cut(&[(1.0, 1.0), (7.0, 1.0)], &rooms),
            [(Some(1), 0.0, 1.0), (Some(0), 1.0, 5.0), (None, 5.0, 6.0)]
        );
        assert_eq!(Areas::new(&rooms).at(Point::new(3.0, 1.0)), Some(0));
        assert_eq!(Areas::new(&rooms).at(Point::new(0.0, 0.0)), Some(1));
        assert_eq!(Areas::new(&rooms).at(Point::new(f64::NAN, 0.0)), None);
    }

    // The worked example of the rule catalogue for `pipe-under-keep-clear`: three runs under base
    // units of 2.4 m by 0.6 m are 7.2 m of pipe.
    #[test]
    fn runs_under_base_units() {
        let units = [outline(&[(1.0, 0.0), (3.4, 0.0), (3.4, 0.6), (1.0, 0.6)])];
        let runs = [(0.5, 0.1), (4.0, 0.1), (4.0, 0.3), (0.5, 0.3), (0.5, 0.5), (4.0, 0.5)];
        let route = Route::new(&points(&runs)).unwrap();
        let pieces = Areas::new(&units).pieces(&route);
        let under = length_in(&pieces, Some(0));
        assert!((under.in_metres() - 7.2).abs() < 1e-12);
        assert!((length_in(&pieces, None) + under - route.length()).abs() < Length::metres(1e-12));
    }

    /// On a coarse grid edges, corners and routes fall on each other all the time.
    #[test]
    fn pieces_follow_each_other_and_each_lies_where_it_says() {
        let mut numbers = Numbers(29);
        for _ in 0..2000 {
            let mut grid = |count: u32| -> Vec<Point> {
                (0..count).map(|_| Point::new(f64::from(numbers.below(7)), f64::from(numbers.below(7)))).collect()
            };
            let rooms: Vec<Outline> = (0..4).filter_map(|_| Outline::new(&grid(4)).ok()).collect();
            let Ok(route) = Route::new(&grid(5)) else { continue };
            let areas = Areas::new(&rooms);
            let pieces = areas.pieces(&route);
            assert_eq!(pieces[0].from, Length::ZERO);
            assert_eq!(pieces[pieces.len() - 1].to, route.length());
            for two in pieces.windows(2) {
                assert_eq!(two[0].to, two[1].from);
                assert_ne!(two[0].area, two[1].area);
            }
            for piece in &pieces {
                for share in [0.1, 0.37, 0.71, 0.9] {
                    let at = route.at(piece.from + piece.length() * share);
                    // Rounding may move a point off an edge along which the route runs.
                    let near = |number: usize| rooms[number].nearest_edge(at).distance < Length::metres(1e-9);
                    let held = |number: usize| rooms[number].contains(at) || near(number);
                    match piece.area {
                        Some(area) => {
                            assert!(held(area));
                            assert!((0..area).all(|lower| !rooms[lower].contains(at) || near(lower)));
                        }
                        None => assert!((0..rooms.len()).all(|room| !rooms[room].contains(at) || near(room))),
                    }
                }
            }
            let backwards: Vec<Point> = route.points().iter().rev().copied().collect();
            let back = areas.pieces(&Route::new(&backwards).unwrap());
            for area in (0..rooms.len()).map(Some).chain([None]) {
                let difference = length_in(&pieces, area) - length_in(&back, area);
                assert!(difference.abs() < Length::metres(1e-9));
            }
        }
    }
}
