//! Lines cut into strips of a few legs, to find quickly which legs may touch.

use super::Bounds;
use super::box_tree::BoxTree;
use std::ops::{ControlFlow, Range};

/// Some legs of a line that follow each other and lie close together.
pub(super) struct Strip {
    /// The number of the line.
    line: u32,
    legs: Range<u32>,
    bounds: Bounds,
}

impl Strip {
    /// The legs to hold against a leg of another strip, or of the same one: there those that come after it.
    fn legs_after(&self, strip: &Strip, leg: u32) -> Range<u32> {
        let is_same = (self.line, self.legs.start) == (strip.line, strip.legs.start);
        if is_same { leg + 1..self.legs.end } else { self.legs.clone() }
    }
}

/// Lines cut into slim or small strips, such as a run and the turn after it: a tree of these is a quarter the size of a tree of
/// legs and tells them apart as well. Each line is given as the boxes of its legs.
pub(super) fn strips<Legs: Iterator<Item = Bounds>>(lines: impl Iterator<Item = Legs>) -> Vec<Strip> {
    const MOST_LEGS: usize = 4;
    const SMALL: f64 = 0.1;
    let fits = |bounds: &Bounds| {
        let (wide, high) = bounds.sides();
        let (less, more) = (wide.min(high), wide.max(high));
        4.0 * less <= more || more <= SMALL
    };
    let mut strips: Vec<Strip> = Vec::new();
    for (line, legs) in (0..).zip(lines) {
        let mut open: Option<Strip> = None;
        for (leg, bounds) in (0..).zip(legs) {
            if let Some(strip) = &mut open {
                let joined = strip.bounds.join(&bounds);
                if strip.legs.len() < MOST_LEGS && fits(&joined) {
                    (strip.legs.end, strip.bounds) = (leg + 1, joined);
                    continue;
                }
            }
            strips.extend(open.replace(Strip { line, legs: leg..leg + 1, bounds }));
        }
        strips.extend(open);
    }
    strips
}

/// Two legs whose boxes touch, each by the number of its line and its own; the one that comes first first.
pub(super) type Pair = [(u32, u32); 2];

/// Calls `found` with each two legs whose boxes touch, in no stated order, until it breaks off, or until so many were looked at
/// that it is a tangle.
pub(super) fn pairs(
    strips: &[Strip],
    bounds: impl Fn(u32, u32) -> Bounds,
    mut found: impl FnMut(Pair) -> ControlFlow<()>,
) -> ControlFlow<()> {
    const MOST_LOOKS: usize = 20_000_000;
    let mut looks = 0;
    let mut between = |one: &Strip, other: &Strip| {
        for first in one.legs.clone() {
            looks += 1;
            let here = bounds(one.line, first);
            if !here.touches(&other.bounds) {
                continue;
            }
            for second in other.legs_after(one, first) {
                looks += 1;
                if here.touches(&bounds(other.line, second)) {
                    found([(one.line, first), (other.line, second)])?;
                }
            }
        }
        if looks < MOST_LOOKS { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    };
    strips.iter().try_for_each(|strip| between(strip, strip))?;
    let tree = BoxTree::new(strips.iter().map(|strip| strip.bounds));
    tree.pairs(|one, other| between(&strips[one as usize], &strips[other as usize]))
}
