//! The frame in which a storey is laid out: its own, whichever way it is drawn.
//!
//! Turned, mirrored or drawn elsewhere, the same rooms have the same coordinates in it, and so get the same routes: one
//! axis lies along the longest wall of the room that is laid first. Where several are longest, or both sides look alike,
//! what else there is decides.

use super::super::point::Way;
use super::super::{Outline, Point, Route};
use super::{EdgeZone, Floor, Laid, NoField, Passage, Storey, TooNear, Wanted};
use quantity::Length;

/// The middle of the corners of an outline.
fn middle(outline: &Outline) -> Point {
    let corners = outline.corners();
    let share = 1.0 / corners.len() as f64;
    // Counted from a corner, so that a plan far from the origin loses no digits.
    let sum = corners.iter().map(|corner| corners[0].to(*corner));
    let (x, y) = sum.fold((0.0, 0.0), |(x, y), way| (x + way.x * share, y + way.y * share));
    Point::new(corners[0].x + x, corners[0].y + y)
}

pub(super) struct Frame {
    origin: Point,
    along: Way,
    /// Across the other way.
    mirrored: bool,
}

/// So finely are coordinates told apart, in metres: what is finer is rounding.
const FINEST: f64 = 1e-6;

impl Frame {
    /// The frame of a storey.
    pub fn of(storey: &Storey, wanted: &[Wanted]) -> Option<Frame> {
        /// Of a round hall not every wall is tried.
        const MOST: usize = 200;
        let room = wanted.iter().find_map(|wanted| storey.floors.get(wanted.room)).or(storey.floors.first())?;
        let corners = room.outline.anticlockwise();
        let count = corners.len();
        let length = |edge: usize| corners[edge].metres_to(corners[(edge + 1) % count]);
        let longest = (0..count).map(length).fold(0.0, f64::max);
        let edges = (0..count).filter(|&edge| length(edge) > longest - 10.0 * FINEST).take(MOST);
        let frames = edges.flat_map(|edge| {
            let (from, to) = (corners[edge], corners[(edge + 1) % count]);
            let along = |from: Point, to: Point| {
                let way = from.to(to);
                Way { x: way.x / way.length(), y: way.y / way.length() }
            };
            // The corners in the order in which they come, floor to the left of the wall; in the mirror it is so too.
            let forwards = (0..count).map(|step| corners[(edge + step) % count]).collect::<Vec<_>>();
            let backwards = (0..count).map(|step| corners[(edge + 1 + count - step) % count]).collect::<Vec<_>>();
            [
                (Frame { origin: from, along: along(from, to), mirrored: false }, forwards),
                (Frame { origin: to, along: along(to, from), mirrored: true }, backwards),
            ]
        });
        let known: Vec<(Vec<i64>, Frame)> =
            frames.map(|(frame, corners)| (frame.numbers(corners.into_iter()), frame)).collect();
        let least = known.iter().map(|(numbers, _)| numbers).min()?.clone();
        let alike = known.into_iter().filter(|(numbers, _)| *numbers == least).map(|(_, frame)| frame);
        let rest = || {
            let manifolds = wanted.iter().filter_map(|wanted| wanted.manifold);
            let passages = storey.passages.iter().map(|passage| passage.middle());
            let things = storey.floors.iter().flat_map(|floor| {
                let things = floor.keep_clear.iter().chain(&floor.things).map(|(thing, _)| thing);
                let zone = floor.edge_zone.iter().flat_map(|zone| zone.walls.iter().flatten().copied());
                std::iter::once(&floor.outline).chain(things).map(middle).chain(zone)
            });
            let drawn = storey.drawn.iter().flat_map(|(route, _)| route.points().iter().copied());
            let wanted =
                wanted.iter().filter_map(|it| it.drawn.as_ref()).flat_map(|route| route.points().iter().copied());
            manifolds.chain(passages).chain(things).chain(drawn).chain(wanted)
        };
        let mut alike: Vec<Frame> = alike.collect();
        if alike.len() > 1 {
            alike.sort_by_cached_key(|frame| frame.numbers(rest()));
        }
        alike.into_iter().next()
    }

    fn numbers(&self, points: impl Iterator<Item = Point>) -> Vec<i64> {
        /// Coarser than the coordinates, so that these do not differ by a last digit.
        const COARSE: f64 = 1e-4;
        points
            .map(|point| self.to(point))
            .flat_map(|point| [point.x, point.y].map(|at| (at / COARSE).round() as i64))
            .collect()
    }

    fn to(&self, point: Point) -> Point {
        let way = self.origin.to(point);
        let fine = |at: f64| (at / FINEST).round() * FINEST;
        let across = self.along.cross(way);
        Point::new(fine(self.along.dot(way)), fine(if self.mirrored { -across } else { across }))
    }

    fn back(&self, point: Point) -> Point {
        let (u, v) = (point.x, if self.mirrored { -point.y } else { point.y });
        let Way { x, y } = self.along;
        Point::new(self.origin.x + (u * x - v * y), self.origin.y + (u * y + v * x))
    }

    /// Lays out in the frame, and brings the routes back.
    pub fn lay_out(
        &self,
        storey: &Storey,
        wanted: &[Wanted],
        lay_out: impl Fn(&Storey, &[Wanted]) -> Vec<Result<Laid, NoField>>,
    ) -> Option<Vec<Result<Laid, NoField>>> {
        let outline = |outline: &Outline| {
            let corners: Vec<Point> = outline.corners().iter().map(|&corner| self.to(corner)).collect();
            Outline::new(&corners).ok()
        };
        // A thing too small to be told from a point is none.
        let things = |things: &[(Outline, Length)]| {
            things.iter().filter_map(|(thing, off)| Some((outline(thing)?, *off))).collect()
        };
        let floor = |floor: &Floor| {
            let mut bays: Vec<&Outline> = floor.bays.iter().collect();
            bays.sort_by_cached_key(|bay| self.numbers(std::iter::once(middle(bay))));
            Some(Floor {
                outline: outline(&floor.outline)?,
                keep_clear: things(&floor.keep_clear),
                things: things(&floor.things),
                bays: bays.into_iter().filter_map(outline).collect(),
                edge_zone: floor.edge_zone.as_ref().map(|zone| EdgeZone {
                    walls: zone.walls.iter().map(|wall| wall.map(|end| self.to(end))).collect(),
                    ..zone.clone()
                }),
            })
        };
        let drawn = |route: &Route| {
            let points: Vec<Point> = route.points().iter().map(|&point| self.to(point)).collect();
            Route::new(&points).ok()
        };
        let passage =
            |passage: &Passage| Passage { from: self.to(passage.from), to: self.to(passage.to), ..passage.clone() };
        let here = Storey {
            floors: storey.floors.iter().map(floor).collect::<Option<_>>()?,
            passages: storey.passages.iter().map(passage).collect(),
            drawn: storey.drawn.iter().filter_map(|(route, spacing)| Some((drawn(route)?, *spacing))).collect(),
        };
        let wanted: Vec<Wanted> = wanted
            .iter()
            .map(|wanted| Wanted {
                manifold: wanted.manifold.map(|at| self.to(at)),
                drawn: wanted.drawn.as_ref().and_then(drawn),
                ..wanted.clone()
            })
            .collect();
        let back = |laid: Laid| {
            let points: Vec<Point> = laid.route.points().iter().map(|&point| self.back(point)).collect();
            let mut tight_turns = laid.tight_turns;
            tight_turns.iter_mut().for_each(|corner| corner.at = self.back(corner.at));
            let too_near = laid.too_near.map(|it| TooNear { at: self.back(it.at), ..it });
            Ok(Laid { route: Route::new(&points).map_err(|_| NoField::TooNarrow)?, tight_turns, too_near, ..laid })
        };
        Some(lay_out(&here, &wanted).into_iter().map(|laid| laid.and_then(back)).collect())
    }
}
