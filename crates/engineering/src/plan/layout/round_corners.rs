//! Pipe round a corner of a wall that stands into the room: its bend cuts the corner of the line, and comes nearer to the
//! wall than the line does.

use super::super::box_tree::BoxTree;
use super::super::outline::signed_area;
use super::super::route::tangent;
use super::super::{Bounds, Outline, Point};
use super::bends::Line;
use super::ground::HAIR;
use std::ops::ControlFlow;

/// The corners of rooms that stand into the floor, and how far the middle of the pipe stays from them.
pub(super) struct Corners {
    all: Vec<Point>,
    tree: BoxTree,
    off: f64,
}

impl Corners {
    pub fn new<'o>(rooms: impl Iterator<Item = &'o Outline>, off: f64) -> Corners {
        let mut all = Vec::new();
        for corners in rooms.map(Outline::corners) {
            let (count, hand) = (corners.len(), signed_area(corners).signum());
            all.extend((0..count).filter_map(|at| {
                let (before, after) = (corners[(at + count - 1) % count], corners[(at + 1) % count]);
                (hand * before.to(corners[at]).cross(corners[at].to(after)) < -HAIR).then_some(corners[at])
            }));
        }
        let tree = BoxTree::new(all.iter().map(|at| Bounds::around([*at])));
        Corners { all, tree, off }
    }

    /// Moves the corners of a line away from those round which it is bent too near.
    pub fn keep_off(&self, line: &mut Line) {
        /// Farther no corner is moved, in metres: so little takes it over no other pipe.
        const MOST: f64 = 0.015;
        let radius = line.radius;
        for at in 1..line.points.len().saturating_sub(1) {
            let (before, here, after) = (line.points[at - 1], line.points[at], line.points[at + 1]);
            let (came, goes) = (before.metres_to(here), here.metres_to(after));
            let share = tangent(before, here, after);
            // Legs long enough for a whole bend at either end.
            if !(0.2..2.0).contains(&share) || came.min(goes) < 2.0 * radius * share {
                continue;
            }
            let (to_before, to_after) = (here.to(before), here.to(after));
            let (x, y) = (to_before.x / came + to_after.x / goes, to_before.y / came + to_after.y / goes);
            let length = x.hypot(y);
            let (x, y) = (x / length, y / length);
            let far = radius * (1.0 + share * share).sqrt();
            let centre = Point::new(here.x + x * far, here.y + y * far);
            let mut by: f64 = 0.0;
            let _ = self.tree.touching(&Bounds::around([here]).wider(2.0 * radius), |number| {
                let corner = self.all[number as usize];
                let short = self.off - (radius - centre.metres_to(corner));
                if centre.metres_to(corner) < radius && short < MOST {
                    by = by.max(short);
                }
                ControlFlow::Continue(())
            });
            if by > HAIR {
                line.points[at] = Point::new(here.x - x * by, here.y - y * by);
                // The corners beside it turn otherwise now.
                let fits = (at.max(2) - 1..=(at + 1).min(line.points.len() - 2)).all(|at| bends_fit(line, at));
                if !fits {
                    line.points[at] = here;
                }
            }
        }
    }
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
        let room = Outline::new(&points.map(|(x, y)| Point::new(x, y))).unwrap();
        let corners = Corners::new([&room].into_iter(), 0.06);
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
        corners.keep_off(&mut line);
        assert!((nearest(&line) - 0.06).abs() < 1e-3, "{}", nearest(&line));
    }
}
