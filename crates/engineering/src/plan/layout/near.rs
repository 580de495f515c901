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
        let (mut from_to, mut other_from_to) = ((one.from, one.to), (other.from, other.to));
        if one.pipe == other.pipe {
            // Of one pipe only what is not next to each other along it.
            let apart = 4.0 * least;
            let length = one.from.metres_to(one.to);
            let trim = (apart - (other.along - one.along - length)) / 2.0;
            let other_length = other.from.metres_to(other.to);
            if trim > 0.0 {
                if trim >= length || trim >= other_length {
                    return ControlFlow::Continue(());
                }
                from_to.1 = one.to.towards(one.from, trim / length);
                other_from_to.0 = other.from.towards(other.to, trim / other_length);
            }
        }
        let (a, b) = nearest_shares(from_to.0, from_to.1, other_from_to.0, other_from_to.1);
        let (at, there) = (from_to.0.towards(from_to.1, a), other_from_to.0.towards(other_from_to.1, b));
        let gap = at.metres_to(there);
        if gap < least - 1e-3 {
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
