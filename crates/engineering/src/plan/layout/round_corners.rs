//! Pipe round a corner that stands into the floor, of a wall or of what stands there: its bend cuts the corner of the line,
//! and comes nearer to it than the line does.

use super::super::box_tree::BoxTree;
use super::super::outline::signed_area;
use super::super::route::tangent;
use super::super::{Bounds, Outline, Point};
use super::Floor;
use super::bends::Line;
use super::ground::HAIR;
use std::ops::ControlFlow;

/// The corners that stand into the floors, each with how far the middle of the pipe stays from it.
pub(super) struct Corners {
    all: Vec<(Point, f64)>,
    tree: BoxTree,
}

impl Corners {
    /// Those of rooms, from whose walls pipe stays `off`, and of what stands there.
    pub fn new(floors: &[Floor], off: f64) -> Corners {
        let mut all = Vec::new();
        for floor in floors {
            all.extend(corners(&floor.outline, -1.0).map(|corner| (corner, off)));
            for (thing, off) in floor.keep_clear.iter().chain(&floor.things) {
                all.extend(corners(thing, 1.0).map(|corner| (corner, off.in_metres())));
            }
        }
        let tree = BoxTree::new(all.iter().map(|(at, _)| Bounds::around([*at])));
        Corners { all, tree }
    }

    /// Moves the corners of a line away from those round which it is bent too near; before room is made for all bends these
    /// need have none beside them.
    pub fn keep_off(&self, line: &mut Line, before: bool) {
        /// Farther no corner is moved, in metres: so little takes it over no other pipe.
        const MOST: f64 = 0.04;
        /// A corner that is moved turns less, and is bent nearer again by a little.
        const ROUNDS: usize = 4;
        for at in 1..line.points.len().saturating_sub(1) {
            let drawn = line.points[at];
            for _ in 0..ROUNDS {
                let here = line.points[at];
                let Some(moved) = self.farther_off(line, at).filter(|moved| moved.metres_to(drawn) < MOST) else {
                    break;
                };
                line.points[at] = moved;
                // The corners beside it turn otherwise now.
                let mut beside = at.max(2) - 1..=(at + 1).min(line.points.len() - 2);
                if !before && !beside.all(|at| bends_fit(line, at)) {
                    line.points[at] = here;
                    break;
                }
            }
        }
    }

    /// Where a corner of a line would have to be to be bent no nearer than it may; nothing if it is not.
    fn farther_off(&self, line: &Line, at: usize) -> Option<Point> {
        /// So little too near is not mended, in metres.
        const LITTLE: f64 = 1e-4;
        let radius = line.radius;
        let (before, here, after) = (line.points[at - 1], line.points[at], line.points[at + 1]);
        let share = tangent(before, here, after);
        if !(0.2..2.0).contains(&share) {
            return None;
        }
        let (to_before, to_after) = (here.to(before), here.to(after));
        let (came, goes) = (to_before.length(), to_after.length());
        let (x, y) = (to_before.x / came + to_after.x / goes, to_before.y / came + to_after.y / goes);
        let length = x.hypot(y);
        let (x, y) = (x / length, y / length);
        let far = radius * (1.0 + share * share).sqrt();
        let centre = Point::new(here.x + x * far, here.y + y * far);
        let mut by: f64 = 0.0;
        let _ = self.tree.touching(&Bounds::around([here]).wider(2.0 * radius), |number| {
            let (corner, off) = self.all[number as usize];
            let (to_corner, to_here) = (centre.to(corner), centre.to(here));
            let is_within = to_corner.cross(to_here).abs() <= share * to_corner.dot(to_here);
            if is_within && to_corner.length() < radius {
                by = by.max(off - (radius - to_corner.length()));
            }
            ControlFlow::Continue(())
        });
        (by > LITTLE).then(|| Point::new(here.x - x * by, here.y - y * by))
    }
}

/// The corners of an outline that stand out of it, or into it if `out` is below nothing.
fn corners(outline: &Outline, out: f64) -> impl Iterator<Item = Point> {
    let corners = outline.corners();
    let (count, hand) = (corners.len(), out * signed_area(corners).signum());
    (0..count).filter_map(move |at| {
        let (before, after) = (corners[(at + count - 1) % count], corners[(at + 1) % count]);
        (hand * before.to(corners[at]).cross(corners[at].to(after)) > HAIR).then_some(corners[at])
    })
}

/// Whether there is room for the bend at a corner, and for those beside it.
fn bends_fit(line: &Line, at: usize) -> bool {
    let share = |at: usize| match line.points.get(at.wrapping_sub(1)..at + 2) {
        Some(&[before, here, after]) => tangent(before, here, after),
        _ => 0.0,
    };
    let takes = |one: usize, other: usize| line.radius * (share(one) + share(other));
    let (before, here, after) = (line.points[at - 1], line.points[at], line.points[at + 1]);
    takes(at - 1, at) <= before.metres_to(here) && takes(at, at + 1) <= here.metres_to(after)
}

#[cfg(test)]
mod tests {
    use super::super::super::Route;
    use super::super::near::bent;
    use super::*;
    use quantity::Length;

    /// A right angle round a corner, its runs 60 mm off the walls: the bend of 80 mm comes within 52 mm, as the diagonals
    /// say, √2 · 60 − (√2 − 1) · 80 = 51.7; then it stays 60 mm off.
    #[test]
    fn a_bend_round_a_corner_keeps_off() {
        let points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 3.0), (2.0, 1.0), (0.0, 1.0)];
        let outline = Outline::new(&points.map(|(x, y)| Point::new(x, y))).unwrap();
        let floor = Floor { outline, keep_clear: Vec::new(), things: Vec::new(), bays: Vec::new(), edge_zone: None };
        let corners = Corners::new(&[floor], 0.06);
        let points = [(0.5, 0.94), (2.06, 0.94), (2.06, 2.5)].map(|(x, y)| Point::new(x, y)).to_vec();
        let mut line = Line { points, closed: false, radius: 0.08 };
        let nearest = |line: &Line| {
            let route = Route::new(&line.points).unwrap();
            let bent = Route::new(&bent(&route, Length::metres(0.08))).unwrap();
            let far = bent.points().windows(2).map(|leg| {
                let share = super::super::super::point::nearest_share(leg[0], leg[1], Point::new(2.0, 1.0));
                leg[0].towards(leg[1], share).metres_to(Point::new(2.0, 1.0))
            });
            far.fold(f64::INFINITY, f64::min)
        };
        assert!((nearest(&line) - 0.0517).abs() < 5e-4, "{}", nearest(&line));
        corners.keep_off(&mut line, false);
        assert!((nearest(&line) - 0.06).abs() < 1e-3, "{}", nearest(&line));
    }
}
