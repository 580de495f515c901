//! The meander: runs there and back across the floor, with the way back along one side.
//!
//! The floor is cut across the runs into teeth and gaps, each one spacing wide. A bridge at one end of every gap joins
//! the tooth on either side, so that all become one comb without a hole; its edge is the pipe. Round islands and in
//! the arms of a room teeth fall into pieces: bridges join all of them, but never close a ring.

use super::super::free_area::{Shapes, square_metres};
use super::super::outline::edges;
use super::super::{Bounds, Point};
use super::ground::{HAIR, overlay, within_lines};
use super::{Closed, Pattern};
use i_overlay::core::overlay_rule::OverlayRule;

/// A meander over the floor with its runs along x and its way back at low x; nothing if there is no floor.
pub(super) fn comb(floor: &Shapes, spacing: f64) -> Option<Closed> {
    // Beside a wall that slopes gently a bridge reaches far; where that closes a ring, not.
    match comb_reaching(floor, spacing, 12.0)? {
        (comb, false) => Some(comb),
        (_, true) => Some(comb_reaching(floor, spacing, 1.0)?.0),
    }
}

/// The comb, and whether it has a hole.
fn comb_reaching(floor: &Shapes, spacing: f64, reach: f64) -> Option<(Closed, bool)> {
    let bounds = Bounds::around(floor.iter().flatten().flatten().copied());
    if bounds.low.x > bounds.high.x {
        return None;
    }
    let lines = run_lines(floor, bounds.low.y, bounds.high.y, spacing);
    let (left, right) = (bounds.low.x - 1.0, bounds.high.x + 1.0);
    let strips: Vec<Vec<Point>> = lines.chunks_exact(2).map(|two| rectangle(left, right, two[0], two[1])).collect();
    let teeth = Teeth::new(overlay(floor, &strips, OverlayRule::Intersect), &lines);
    let mut joined: Vec<usize> = (0..teeth.shapes.len()).collect();
    let mut clips = strips;
    for (gap, pieces) in pieces_in_gaps(floor, &lines).into_iter().enumerate() {
        let (low, high) = (lines[2 * gap + 1], lines[2 * gap + 2]);
        let over = (high - low) / 20.0;
        for bridge in bridges(floor, pieces, low, high, spacing, reach) {
            let [below, above] = [(gap, low - over), (gap + 1, high + over)]
                .map(|(tooth, y)| teeth.at(tooth, Point::new(bridge.middle, y)));
            let (Some(below), Some(above)) = (below, above) else { continue };
            let (one, other) = (root(&mut joined, below), root(&mut joined, above));
            if one != other {
                joined[one.max(other)] = one.min(other);
                clips.push(rectangle(bridge.from, bridge.to, low - over, high + over));
            }
        }
    }
    let mut combs = overlay(floor, &clips, OverlayRule::Intersect);
    let area = |shape: &Vec<Vec<Point>>| square_metres(&vec![shape.clone()]);
    let all: f64 = combs.iter().map(area).sum();
    combs.sort_by(|one, other| area(other).total_cmp(&area(one)));
    let best = combs.into_iter().next()?;
    let cut_off = (all - area(&best)) * 2.0;
    let has_hole = best.len() > 1;
    let line = best.into_iter().next()?;
    let spacing = (lines[lines.len() - 1] - lines[0]) / (lines.len() - 1) as f64;
    Some((
        Closed {
            line,
            spacing,
            cut_off,
            zone_left: 0.0,
            lost: 0.0,
            tight: 0,
            pattern: Pattern::Meander,
            quarter: false,
        },
        has_hole,
    ))
}

fn rectangle(left: f64, right: f64, low: f64, high: f64) -> Vec<Point> {
    vec![Point::new(left, low), Point::new(right, low), Point::new(right, high), Point::new(left, high)]
}

/// The places of the runs from low to high, an even number: from each odd one to the next is a gap.
///
/// The first and the last lie on the edge of the floor. Edges along the runs that are long enough to matter get a run
/// of their own, where the runs between can then still be near the spacing.
fn run_lines(floor: &Shapes, low: f64, high: f64, spacing: f64) -> Vec<f64> {
    // A wall above the floor ends a tooth (odd), one below begins one (even).
    let mut levels = vec![(low, 0usize), (high, 1)];
    let mut walls: Vec<(f64, f64, usize)> = Vec::new();
    for (from, to) in floor.iter().flatten().flat_map(|line| edges(line)) {
        let (wide, up) = (to.x - from.x, to.y - from.y);
        if up.abs() < 0.01 * wide.abs() && wide.abs() > 2.0 * spacing {
            walls.push((wide.abs(), (from.y + to.y) / 2.0, usize::from(wide < 0.0)));
        }
    }
    walls.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.total_cmp(&other.1)));
    for (_, y, parity) in walls {
        let at = levels.partition_point(|level| level.0 < y);
        let (Some(before), Some(after)) = (at.checked_sub(1).map(|at| levels[at]), levels.get(at).copied()) else {
            continue;
        };
        let good = |one: (f64, usize), other: (f64, usize)| {
            let gaps = gaps(other.0 - one.0, one.1 != other.1, spacing);
            let each = (other.0 - one.0) / gaps as f64 / spacing;
            (0.82..=1.12).contains(&each)
        };
        if good(before, (y, parity)) && good((y, parity), after) {
            levels.insert(at, (y, parity));
        }
    }
    let mut lines = vec![low];
    for two in levels.windows(2) {
        let gaps = gaps(two[1].0 - two[0].0, two[0].1 != two[1].1, spacing);
        let step = (two[1].0 - two[0].0) / gaps as f64;
        lines.extend((1..=gaps).map(|number| two[0].0 + step * number as f64));
    }
    lines
}

/// How many spacings to cut a stretch into, odd or even.
fn gaps(stretch: f64, odd: bool, spacing: f64) -> usize {
    /// A little wider than stated is better than much closer.
    const WIDER: f64 = 1.05;
    let wanted = stretch / spacing;
    let least = if odd { 1.0 } else { 2.0 };
    let fewest = ((wanted / WIDER - least) / 2.0).ceil().max(0.0) * 2.0 + least;
    // Two fewer, where that is the nearer.
    let fewer = fewest - 2.0;
    if fewer >= least && wanted / fewer < 1.12 && wanted / fewest < 0.88 { fewer as usize } else { fewest as usize }
}

/// The pieces of the teeth, with the tooth that each is of.
struct Teeth {
    shapes: Vec<Vec<Vec<Point>>>,
    of_tooth: Vec<Vec<usize>>,
}

impl Teeth {
    fn new(shapes: Shapes, lines: &[f64]) -> Teeth {
        let mut of_tooth = vec![Vec::new(); lines.len() / 2];
        for (number, shape) in shapes.iter().enumerate() {
            let bounds = Bounds::around(shape[0].iter().copied());
            let middle = (bounds.low.y + bounds.high.y) / 2.0;
            let tooth = lines.partition_point(|&line| line < middle).saturating_sub(1) / 2;
            if let Some(of_tooth) = of_tooth.get_mut(tooth) {
                of_tooth.push(number);
            }
        }
        Teeth { shapes, of_tooth }
    }

    fn at(&self, tooth: usize, point: Point) -> Option<usize> {
        self.of_tooth.get(tooth)?.iter().copied().find(|&shape| within_lines(&self.shapes[shape], point))
    }
}

fn root(joined: &mut [usize], of: usize) -> usize {
    let mut at = of;
    while joined[at] != at {
        joined[at] = joined[joined[at]];
        at = joined[at];
    }
    at
}

/// A piece of an edge of the floor within a gap: its ends along x, and where it crosses the middle of the gap.
struct PieceInGap {
    from: f64,
    to: f64,
}

fn pieces_in_gaps(floor: &Shapes, lines: &[f64]) -> Vec<Vec<PieceInGap>> {
    let gaps = lines.len() / 2 - 1;
    let mut pieces: Vec<Vec<PieceInGap>> = (0..gaps).map(|_| Vec::new()).collect();
    for (from, to) in floor.iter().flatten().flat_map(|line| edges(line)) {
        let (low, high) = if from.y <= to.y { (from, to) } else { (to, from) };
        let first = lines.partition_point(|&line| line <= low.y).saturating_sub(1) / 2;
        for gap in first..gaps {
            let (bottom, top) = (lines[2 * gap + 1], lines[2 * gap + 2]);
            if bottom >= high.y - HAIR {
                break;
            }
            if top <= low.y + HAIR {
                continue;
            }
            let x_at = |y: f64| {
                if high.y - low.y < 1e-12 { low.x } else { low.x + (high.x - low.x) * ((y - low.y) / (high.y - low.y)) }
            };
            let (one, other) =
                if high.y - low.y < 1e-12 { (low.x, high.x) } else { (x_at(bottom.max(low.y)), x_at(top.min(high.y))) };
            pieces[gap].push(PieceInGap { from: one.min(other), to: one.max(other) });
        }
    }
    pieces
}

/// A place where a gap can be bridged.
struct Bridge {
    from: f64,
    to: f64,
    /// Where it surely has floor above and below.
    middle: f64,
}

/// One bridge for each part of a gap that is open from tooth to tooth, at its low end.
fn bridges(floor: &Shapes, mut pieces: Vec<PieceInGap>, low: f64, high: f64, spacing: f64, reach: f64) -> Vec<Bridge> {
    pieces.sort_by(|one, other| one.from.total_cmp(&other.from));
    let reach = reach * (high - low);
    let mut bridges = Vec::new();
    let mut walls: Vec<(f64, f64)> = Vec::new();
    for piece in pieces {
        match walls.last_mut() {
            Some(wall) if piece.from <= wall.1 => wall.1 = wall.1.max(piece.to),
            _ => walls.push((piece.from, piece.to)),
        }
    }
    for two in walls.windows(2) {
        let (from, to) = (two[0].1, two[1].0);
        if to - from < 0.5 * spacing || !super::ground::within(floor, Point::new((from + to) / 2.0, (low + high) / 2.0))
        {
            continue;
        }
        // What lies beside a sloping wall belongs to the bridge.
        let begins = two[0].0.max(from - reach);
        let narrow = to - from < 2.0 * spacing;
        let ends = if narrow { two[1].1.min(to + reach) } else { from + spacing };
        let middle = (from + to.min(from + spacing)) / 2.0;
        bridges.push(Bridge { from: begins - 1e-3, to: ends + if narrow { 1e-3 } else { 0.0 }, middle });
    }
    bridges
}
