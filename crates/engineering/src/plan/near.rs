//! How near pipes come to each other.

use super::point::nearest_shares;
use super::strips::{pairs, strips};
use super::{Bounds, Lying, Point, Route};
use quantity::Length;
use std::collections::BTreeMap;
use std::ops::ControlFlow;

/// The least from pipe to pipe, middle to middle: so that a clip holds each of them.
pub fn least_between(outside: Length) -> Length {
    const GAP: Length = Length::millimetres(6.0);
    outside + GAP
}

/// The place where two pipes that come too near to each other, or to themselves, are nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeGap {
    /// The pipe with the lower number; twice the same where it comes too near to itself.
    pub pipes: [usize; 2],
    /// From middle to middle.
    pub gap: Length,
    /// On each of them.
    pub at: [Point; 2],
}

/// The pipes that come too near to each other, in order of the two.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PipeGaps {
    pub all: Vec<PipeGap>,
    /// The pipes are such a tangle that the search was broken off.
    pub broken_off: bool,
}

/// Which pipes, each with its outside diameter, lie nearer to each other than [`least_between`]. They are to lie with their bends
/// within that, [`lying_together`](super::lying_together).
///
/// Where two of them are both that near to one of their ends, as where they fan out to the ports of a manifold, it does not
/// count. Takes about n log n for n legs.
pub fn pipe_gaps(pipes: &[(&Lying, Length)], ends: Length) -> PipeGaps {
    let pipes = pipes.iter().map(|&(lying, outside)| Pipe { line: lying.route.points(), least: between(outside) });
    gaps(&pipes.collect::<Vec<_>>(), ends.in_metres())
}

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
pub(super) struct Pipe<'a> {
    pub line: &'a [Point],
    pub least: f64,
}

/// The line of a route with its bends, each as straight pieces.
pub(super) fn bent(route: &Route, radius: Length) -> Vec<Point> {
    const STEP: f64 = 0.3;
    let mut line = vec![route.points()[0]];
    for part in route.bent(radius).parts() {
        line.extend(part.pieces(STEP));
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

/// The least from pipe to pipe, in metres.
pub(super) fn between(outside: Length) -> f64 {
    least_between(outside).in_metres()
}

/// For each pipe the place where it lies nearest to another or to itself, if that is too near.
pub(super) fn too_near(pipes: &[Pipe]) -> Vec<Option<TooNear>> {
    let mut found: Vec<Option<TooNear>> = vec![None; pipes.len()];
    for PipeGap { pipes: [one, other], gap, at } in gaps(pipes, 0.0).all {
        for (pipe, beside, at) in [(one, other, at[0]), (other, one, at[1])] {
            if found[pipe].is_none_or(|known| gap < known.gap) {
                found[pipe] = Some(TooNear { gap, at, other: (one != other).then_some(beside) });
            }
        }
    }
    found
}

/// Where each two pipes that lie too near are nearest; not where both are so near to one of their ends, in metres.
fn gaps(pipes: &[Pipe], ends: f64) -> PipeGaps {
    /// What is nearer by so little is not, in metres: which of two like places is told does not hang on rounding.
    const ALIKE: f64 = 1e-7;
    /// A leg, or a part of one, and how far along its pipe it begins.
    struct Leg {
        number: usize,
        from: Point,
        to: Point,
        along: f64,
        at_end: bool,
        /// All boxes of what is too near to each other touch.
        bounds: Bounds,
    }
    let legs_of = |pipe: &Pipe| {
        let mut legs: Vec<Leg> = Vec::with_capacity(pipe.line.len());
        let length: f64 = pipe.line.windows(2).map(|two| two[0].metres_to(two[1])).sum();
        let mut along = 0.0;
        for (number, two) in pipe.line.windows(2).enumerate() {
            let (mut from, to) = (two[0], two[1]);
            let end = along + from.metres_to(to);
            let mut leg = |from: Point, to: Point, along: f64, end: f64| {
                let at_end = end <= ends || along >= length - ends;
                let bounds = Bounds::around([from, to]).wider(pipe.least / 2.0);
                legs.push(Leg { number, from, to, along, at_end, bounds });
            };
            for cut in [ends, length - ends] {
                if along < cut && cut < end {
                    let at = from.towards(to, (cut - along) / (end - along));
                    leg(from, at, along, cut);
                    (from, along) = (at, cut);
                }
            }
            leg(from, to, along, end);
            along = end;
        }
        legs
    };
    let legs: Vec<Vec<Leg>> = pipes.iter().map(legs_of).collect();
    let strips = strips(legs.iter().map(|legs| legs.iter().map(|leg| leg.bounds)));
    let mut found: BTreeMap<[u32; 2], (f64, [Point; 2])> = BTreeMap::new();
    let mut look = |one_pipe: u32, one: &Leg, other_pipe: u32, other: &Leg| {
        // Near the tip of a corner that all but doubles back its two legs are near to each other: that is a matter of bends.
        let at_one_corner = one_pipe == other_pipe && other.number - one.number < 2;
        if at_one_corner || one.at_end && other.at_end && ends > 0.0 {
            return;
        }
        let least = pipes[one_pipe as usize].least.max(pipes[other_pipe as usize].least);
        let nearest = match one_pipe == other_pipe {
            true => nearest_of_one((one.from, one.to), (other.from, other.to), other.along - one.along, least),
            false => Some(nearest((one.from, one.to), (other.from, other.to))),
        };
        let Some((at, there)) = nearest else { return };
        let gap = at.metres_to(there);
        if gap < least - LITTLE {
            let known = found.entry([one_pipe, other_pipe]).or_insert((gap, [at, there]));
            let is_left = (at.x, at.y) < (known.1[0].x, known.1[0].y);
            if gap < known.0 - ALIKE || gap < known.0 + ALIKE && is_left {
                *known = (gap, [at, there]);
            }
        }
    };
    let leg = |pipe: u32, leg: u32| &legs[pipe as usize][leg as usize];
    let flow = pairs(
        &strips,
        |pipe, of| leg(pipe, of).bounds,
        |[(one, first), (other, second)]| {
            look(one, leg(one, first), other, leg(other, second));
            ControlFlow::Continue(())
        },
    );
    let gap = |(pipes, (gap, at)): ([u32; 2], (f64, [Point; 2]))| PipeGap {
        pipes: pipes.map(|pipe| pipe as usize),
        gap: Length::metres(gap),
        at,
    };
    PipeGaps { all: found.into_iter().map(gap).collect(), broken_off: flow.is_break() }
}

#[cfg(test)]
mod tests {
    use super::super::{Bent, lying_together};
    use super::*;

    type Drawn<'a> = &'a [(f64, f64)];

    fn points(line: Drawn) -> Vec<Point> {
        line.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    fn nearest_of(lines: &[Drawn]) -> Vec<Option<TooNear>> {
        let lines: Vec<Vec<Point>> = lines.iter().copied().map(points).collect();
        too_near(&lines.iter().map(|line| Pipe { line, least: 0.026 }).collect::<Vec<_>>())
    }

    #[test]
    fn pipes_side_by_side_are_told_apart() {
        let straight: Drawn = &[(0.0, 0.0), (4.0, 0.0)];
        assert_eq!(nearest_of(&[straight, &[(0.0, 0.03), (4.0, 0.03)]]), [None, None]);
        let found = nearest_of(&[straight, &[(1.0, 1.0), (2.0, 0.02), (3.0, 1.0)]]);
        let first = found[0].unwrap();
        assert!((first.gap.in_millimetres() - 20.0).abs() < 1e-6);
        assert_eq!((first.other, found[1].unwrap().other), (Some(1), Some(0)));
    }

    /// A hairpin is near to itself where its runs are, not where it turns.
    #[test]
    fn a_hairpin_is_as_near_as_its_runs() {
        let hairpin = |wide: f64| nearest_of(&[&[(0.0, 0.0), (2.0, 0.0), (2.0, wide), (0.0, wide)]])[0];
        assert_eq!(hairpin(0.03), None);
        let near = hairpin(0.015).unwrap();
        assert!((near.gap.in_millimetres() - 15.0).abs() < 1e-6 && near.other.is_none());
        assert_eq!(nearest_of(&[&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)]]), [None]);
    }

    fn routes_too_near(all: &[Drawn], ends: f64) -> Vec<([usize; 2], f64)> {
        let routes: Vec<Route> = all.iter().map(|line| Route::new(&points(line)).unwrap()).collect();
        let outside = Length::millimetres(16.0);
        let bent: Vec<Bent> = routes.iter().map(|route| route.bent(Length::millimetres(80.0))).collect();
        let lying = lying_together(&bent, least_between(outside));
        let pipes: Vec<(&Lying, Length)> = lying.iter().map(|it| (it, outside)).collect();
        let found = pipe_gaps(&pipes, Length::metres(ends)).all;
        found.iter().map(|it| (it.pipes, (it.gap.in_millimetres() * 10.0).round() / 10.0)).collect()
    }

    /// A bend cuts its corner by `r (√2 - 1)`, so that a corner 40 mm beyond a straight pipe is not near to it, and one
    /// bent round the end of another pipe is.
    #[test]
    fn pipe_lies_with_its_bends() {
        let straight: &[(f64, f64)] = &[(0.0, 0.0), (4.0, 0.0)];
        let corner = |beyond: f64| [(1.0, 1.0 - beyond), (2.0, -beyond), (3.0, 1.0 - beyond)];
        // Its tip lies 80 (√2 - 1) = 33.1 mm back from the corner.
        assert_eq!(routes_too_near(&[straight, &corner(-0.0)], 0.0), []);
        assert_eq!(routes_too_near(&[straight, &corner(0.0131)], 0.0), [([0, 1], 20.0)]);
    }

    #[test]
    fn pipes_that_fan_out_to_their_ports_do_not_count_there() {
        let one: &[(f64, f64)] = &[(0.0, 0.0), (0.4, 0.0), (0.4, 4.0)];
        let other: &[(f64, f64)] = &[(0.0, 0.01), (0.3, 0.01), (0.3, 4.0)];
        assert_eq!(routes_too_near(&[one, other], 0.0), [([0, 1], 10.0)]);
        assert_eq!(routes_too_near(&[one, other], 0.5), []);
        // Only where both are at an end.
        let past: &[(f64, f64)] = &[(0.2, -2.0), (0.2, -0.02), (2.0, -0.02)];
        assert_eq!(routes_too_near(&[one, past], 0.5).len(), 1);
    }

    #[test]
    fn turned_and_reversed_pipes_are_as_near() {
        let lines: [&[(f64, f64)]; 2] =
            [&[(0.0, 0.0), (3.0, 0.0), (3.0, 2.0)], &[(2.98, 2.5), (2.98, 0.4), (0.0, 0.018)]];
        let said = routes_too_near(&lines, 0.0);
        assert_eq!(said.len(), 1);
        let turned = |reverse: bool| -> Vec<Vec<(f64, f64)>> {
            let turn = |&(x, y): &(f64, f64)| (5.0 - y, 7.0 + x);
            let one = |line: &&[(f64, f64)]| {
                let mut line: Vec<_> = line.iter().map(turn).collect();
                if reverse {
                    line.reverse();
                }
                line
            };
            lines.iter().map(one).collect()
        };
        for reverse in [false, true] {
            let lines = turned(reverse);
            assert_eq!(routes_too_near(&lines.iter().map(|it| &it[..]).collect::<Vec<_>>(), 0.0), said);
        }
    }
}
