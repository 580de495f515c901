//! How near pipes come to each other.

use super::super::box_tree::BoxTree;
use super::super::point::nearest_shares;
use super::super::{Bounds, Part, Point, Route};
use quantity::Length;
use std::ops::ControlFlow;

/// A place where a pipe lies too near to another, or to itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TooNear {
    /// From middle to middle.
    pub gap: Length,
    pub at: Point,
    /// The other loop, if it is not the same.
    pub other: Option<usize>,
}

/// A pipe as it lies: its line with bends drawn as short straight pieces, and the least from the middle of it to that of
/// another pipe, in metres.
pub(super) struct Pipe {
    pub line: Vec<Point>,
    pub least: f64,
}

/// The line of a route with its bends, each as straight pieces.
pub(super) fn bent(route: &Route, radius: Length) -> Vec<Point> {
    const STEP: f64 = 0.3;
    let mut line = vec![route.points()[0]];
    for part in route.bent(radius) {
        if let Part::Bend { from, to, centre, .. } = part {
            let (one, other) = (centre.to(from), centre.to(to));
            let turn = one.cross(other).atan2(one.dot(other));
            let steps = (turn.abs() / STEP).ceil().max(1.0);
            line.extend((1..steps as usize).map(|step| {
                let (sin, cos) = (turn * step as f64 / steps).sin_cos();
                Point::new(centre.x + one.x * cos - one.y * sin, centre.y + one.x * sin + one.y * cos)
            }));
        }
        line.push(part.to());
    }
    line
}

/// So little too near is not told, in metres.
const LITTLE: f64 = 1e-3;

/// Where two legs come nearest.
fn nearest(one: (Point, Point), other: (Point, Point)) -> (Point, Point) {
    let (a, b) = nearest_shares(one.0, one.1, other.0, other.1);
    (one.0.towards(one.1, a), other.0.towards(other.1, b))
}

/// Where two legs of one pipe come nearest, the one so much farther along it than the other; only what is not next to each
/// other along the pipe counts.
fn nearest_of_one(
    mut one: (Point, Point),
    mut other: (Point, Point),
    farther: f64,
    least: f64,
) -> Option<(Point, Point)> {
    let apart = 4.0 * least;
    let (length, other_length) = (one.0.metres_to(one.1), other.0.metres_to(other.1));
    let trim = (apart - (farther - length)) / 2.0;
    if trim > 0.0 {
        if trim >= length || trim >= other_length {
            return None;
        }
        one.1 = one.1.towards(one.0, trim / length);
        other.0 = other.0.towards(other.1, trim / other_length);
    }
    Some(nearest(one, other))
}

/// Whether a short line of pipe comes nearer to itself than that.
pub(super) fn is_near_itself(line: &[Point], least: f64) -> bool {
    let mut along = 0.0;
    let mut legs: Vec<(Point, Point, f64)> = Vec::with_capacity(line.len());
    for two in line.windows(2) {
        let (from, to, from_start) = (two[0], two[1], along);
        along += from.metres_to(to);
        let near = |&(a, b, at): &(Point, Point, f64)| {
            nearest_of_one((a, b), (from, to), from_start - at, least)
                .is_some_and(|(one, other)| one.metres_to(other) < least - LITTLE)
        };
        if legs.iter().any(near) {
            return true;
        }
        legs.push((from, to, from_start));
    }
    false
}

/// For each pipe the place where it lies nearest to another or to itself, if that is too near.
pub(super) fn too_near(pipes: &[Pipe]) -> Vec<Option<TooNear>> {
    /// A leg, and how far along its pipe it begins.
    struct Leg {
        pipe: usize,
        from: Point,
        to: Point,
        along: f64,
    }
    let mut legs: Vec<Leg> = Vec::new();
    for (pipe, it) in pipes.iter().enumerate() {
        let mut along = 0.0;
        for two in it.line.windows(2) {
            legs.push(Leg { pipe, from: two[0], to: two[1], along });
            along += two[0].metres_to(two[1]);
        }
    }
    let tree =
        BoxTree::new(legs.iter().map(|leg| Bounds::around([leg.from, leg.to]).wider(pipes[leg.pipe].least / 2.0)));
    let mut found: Vec<Option<TooNear>> = vec![None; pipes.len()];
    let _ = tree.pairs(|one, other| {
        let (one, other) = (one.min(other) as usize, one.max(other) as usize);
        let (one, other) = (&legs[one], &legs[other]);
        let least = pipes[one.pipe].least.max(pipes[other.pipe].least);
        let nearest = match one.pipe == other.pipe {
            true => nearest_of_one((one.from, one.to), (other.from, other.to), other.along - one.along, least),
            false => Some(nearest((one.from, one.to), (other.from, other.to))),
        };
        let Some((at, there)) = nearest else { return ControlFlow::Continue(()) };
        let gap = at.metres_to(there);
        if gap < least - LITTLE {
            let same = one.pipe == other.pipe;
            for (pipe, other, at) in [(one.pipe, other.pipe, at), (other.pipe, one.pipe, there)] {
                let is_nearer = found[pipe].as_ref().is_none_or(|known: &TooNear| gap < known.gap.in_metres());
                if is_nearer {
                    found[pipe] = Some(TooNear { gap: Length::metres(gap), at, other: (!same).then_some(other) });
                }
            }
        }
        ControlFlow::Continue(())
    });
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pipe(points: &[(f64, f64)]) -> Pipe {
        Pipe { line: points.iter().map(|&(x, y)| Point::new(x, y)).collect(), least: 0.026 }
    }

    #[test]
    fn pipes_side_by_side_are_told_apart() {
        let one = pipe(&[(0.0, 0.0), (4.0, 0.0)]);
        let far = pipe(&[(0.0, 0.03), (4.0, 0.03)]);
        assert_eq!(too_near(&[one, far]), [None, None]);
        let found = too_near(&[pipe(&[(0.0, 0.0), (4.0, 0.0)]), pipe(&[(1.0, 1.0), (2.0, 0.02), (3.0, 1.0)])]);
        let first = found[0].unwrap();
        assert!((first.gap.in_millimetres() - 20.0).abs() < 1e-6);
        assert_eq!((first.other, found[1].unwrap().other), (Some(1), Some(0)));
    }

    /// A hairpin is near to itself where its runs are, not where it turns.
    #[test]
    fn a_hairpin_is_as_near_as_its_runs() {
        let hairpin = |wide: f64| pipe(&[(0.0, 0.0), (2.0, 0.0), (2.0, wide), (0.0, wide)]);
        assert_eq!(too_near(&[hairpin(0.03)]), [None]);
        let near = too_near(&[hairpin(0.015)])[0].unwrap();
        assert!((near.gap.in_millimetres() - 15.0).abs() < 1e-6 && near.other.is_none());
        assert_eq!(too_near(&[pipe(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)])]), [None]);
    }
}
