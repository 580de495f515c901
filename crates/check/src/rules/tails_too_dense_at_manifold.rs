//! Tails do not lie bunched together over a square metre in front of their manifold.
//!
//! Pipe at less than 50 mm makes the hottest patch of the house, over any limit of its covering, and no screed gets round
//! the pipes.
//!
//! ## How it is worked out
//! The floor round the manifold in squares of 250 mm. The drawn pipe of its loops in each square, less what `insulated-tails`
//! say of it, half at each end of the loop, gives the distance from pipe to pipe. Squares with less than 50 mm are added up.
//!
//! ## Limit
//! Closer than 50 mm over no more than 1 m²: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {at: [0, 0]}
//! # ^^ tails lie closer than 50 mm over 2.0 m² in front of manifold M1; 1.0 m² is the most
//! loops:
//!   L1: {manifold: M1, room: hall, route: [[0, 0.01], [2, 0.01], [2, 0.05], [0, 0.05], [0, 0.09], [2, 0.09], [2, 0.13], [0, 0.13], [0, 0.17], [2, 0.17], [2, 0.21], [0, 0.21], [0, 0.26], [2, 0.26], [2, 0.3], [0, 0.3], [0, 0.34], [2, 0.34], [2, 0.38], [0, 0.38], [0, 0.42], [2, 0.42], [2, 0.46], [0, 0.46]]}
//!   L2: {manifold: M1, room: hall, route: [[0, 0.51], [2, 0.51], [2, 0.55], [0, 0.55], [0, 0.59], [2, 0.59], [2, 0.63], [0, 0.63], [0, 0.67], [2, 0.67], [2, 0.71], [0, 0.71], [0, 0.76], [2, 0.76], [2, 0.8], [0, 0.8], [0, 0.84], [2, 0.84], [2, 0.88], [0, 0.88], [0, 0.92], [2, 0.92], [2, 0.96], [0, 0.96]]}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {at: [0, 0]}
//! loops:
//!   L1: {manifold: M1, room: hall, route: [[0, 0.01], [2, 0.01], [2, 0.05], [0, 0.05], [0, 0.09], [2, 0.09], [2, 0.13], [0, 0.13], [0, 0.17], [2, 0.17], [2, 0.21], [0, 0.21], [0, 0.26], [2, 0.26], [2, 0.3], [0, 0.3], [0, 0.34], [2, 0.34], [2, 0.38], [0, 0.38], [0, 0.42], [2, 0.42], [2, 0.46], [0, 0.46]]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use design::Loop;
use engineering::plan::Point;
use workings::{LoopWorkings, point, storey_of};

pub static RULE: Rule = Rule {
    name: "tails-too-dense-at-manifold",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[APART, MOST],
    file: include_str!("tails_too_dense_at_manifold.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "pipe-to-pipe", value: "50 mm", source: "common practice, no source" };
const MOST: Limit = Limit { name: "area-so-dense", value: "1 m²", source: "common practice, no source" };

/// The side of a square, in metres.
const SQUARE: f64 = 0.25;
/// How far from the manifold tails are looked at, in metres.
const ROUND: f64 = 3.0;
/// How many squares lie across all that is looked at.
const ACROSS: usize = (2.0 * ROUND / SQUARE) as usize;
/// Fewer loops than this cannot cover a square metre on the straight way: twenty tails at 50 mm are a metre wide.
const FEW: usize = 10;

fn check(inspection: &Inspection, found: &mut Findings) {
    let (apart, most): (LimitValue<Length>, LimitValue<Area>) =
        (APART.get(&RULE, inspection), MOST.get(&RULE, inspection));
    let mut of_manifolds: Vec<Vec<Item<Loop, LoopWorkings>>> = vec![Vec::new(); inspection.design.manifolds.len()];
    for it in inspection.loops() {
        if let Some(manifold) = it.worked.manifold {
            of_manifolds[manifold].push(it);
        }
    }
    for (manifold, loops) in inspection.manifolds().zip(of_manifolds) {
        let Some(stands) = manifold.given.at else {
            if loops.len() >= FEW && !manifold.given.broken {
                found.missing(manifold.subject, "at");
            }
            continue;
        };
        let storey = manifold.given.storey.as_ref().map(|storey| storey.name.as_str());
        let mut squares = [0.0; ACROSS * ACROSS];
        let mut drawn: Vec<&Item<Loop, LoopWorkings>> = Vec::new();
        for it in &loops {
            if !matches!(it.worked.route, Some(Ok(_))) {
                if loops.len() >= FEW {
                    is_drawn(it, found);
                }
                continue;
            }
            let of_loop = storey_of(inspection.design, it.given);
            if storey.is_none() || of_loop.is_none() || storey == of_loop {
                add(it, point(stands.value), &mut squares);
                drawn.push(it);
            }
        }
        let dense = SQUARE * SQUARE / apart.value.in_metres();
        let count = squares.iter().filter(|length| **length > dense + 1e-9).count();
        let area = Area::square_metres(count as f64 * SQUARE * SQUARE);
        if area <= most.value {
            continue;
        }
        let message = format!(
            "tails lie closer than {} over {area} in front of manifold {}; {} is the most",
            apart.value, manifold.name, most.value
        );
        let mut finding = Finding::new(manifold.subject, manifold.place, message).value(area).limit(&most);
        for it in drawn.iter().take(20) {
            finding = finding.related(it.place, format!("loop {} starts from it", it.name));
        }
        found.add(finding);
    }
}

/// Adds the bare pipe of a loop round a manifold to the squares that it lies in.
fn add(it: &Item<Loop, LoopWorkings>, stands: Point, squares: &mut [f64; ACROSS * ACROSS]) {
    let Some(Ok(route)) = &it.worked.route else { return };
    let insulated = it.given.insulated_tails.map_or(0.0, |it| it.value.in_metres() / 2.0).max(0.0);
    let bare = insulated..route.length().in_metres() - insulated;
    for (from, to, leg) in route.legs_along() {
        let (start, length) = (leg.from.in_metres(), leg.length().in_metres());
        let near = |from: f64, to: f64, at: f64| from.min(to) <= at + ROUND && from.max(to) >= at - ROUND;
        if !near(from.x, to.x, stands.x) || !near(from.y, to.y, stands.y) {
            continue;
        }
        // In squares, from the corner of all that is looked at.
        let axis = |from: f64, to: f64, at: f64| ((from - at + ROUND) / SQUARE, (to - from) / SQUARE);
        let (x, y) = (axis(from.x, to.x, stands.x), axis(from.y, to.y, stands.y));
        // The part of the leg within the round, so that a leg of a kilometre is no long walk.
        let clip = |(from, by): (f64, f64)| match by {
            0.0 => (0.0, 1.0),
            by => {
                let (one, other) = (-from / by, (ACROSS as f64 - from) / by);
                (one.min(other), one.max(other))
            }
        };
        let (within_x, within_y) = (clip(x), clip(y));
        let (mut share, last) = (within_x.0.max(within_y.0).max(0.0), within_x.1.min(within_y.1).min(1.0));
        let (mut column, mut row) = (Steps::new(x, share), Steps::new(y, share));
        while share < last {
            // On a leg of astronomic length a square is no share at all.
            let next = column.leaves.min(row.leaves).max(share.next_up()).min(last);
            let (begins, ends) = (start + length * share, start + length * next);
            squares[row.square() * ACROSS + column.square()] += (ends.min(bare.end) - begins.max(bare.start)).max(0.0);
            share = next;
            column.pass(share);
            row.pass(share);
        }
    }
}

/// From square to square along one axis.
struct Steps {
    /// The square that the leg is in, counted from 0.
    at: f64,
    /// At which share of the leg it leaves that square.
    leaves: f64,
    /// To which square it goes on, and after which share of it.
    step: f64,
    by: f64,
}

impl Steps {
    /// A leg that starts at `from` and goes on by so many squares, as it is at a share of it.
    fn new((from, by): (f64, f64), share: f64) -> Steps {
        let place = from + by * share;
        // On the line between two squares it is in the one ahead.
        let at = if by < 0.0 { (place - 1e-9).ceil() - 1.0 } else { (place + 1e-9).floor() };
        let side = if by < 0.0 { at } else { at + 1.0 };
        let leaves = if by == 0.0 { f64::INFINITY } else { (side - from) / by };
        Steps { at, leaves, step: by.signum(), by: by.abs().recip() }
    }

    fn square(&self) -> usize {
        self.at.clamp(0.0, ACROSS as f64 - 1.0) as usize
    }

    /// Goes on, where the square ends at that share.
    fn pass(&mut self, share: f64) {
        if self.leaves <= share {
            self.at += self.step;
            self.leaves += self.by;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    /// So many runs of a metre, from the manifold on, at so many millimetres.
    fn text(runs: usize, apart: f64, more: &str) -> String {
        let mut points: Vec<[f64; 2]> = Vec::new();
        for run in 0..runs {
            let y = 0.01 + apart / 1000.0 * run as f64;
            let (near, far) = if run % 2 == 0 { (0.0, 2.0) } else { (2.0, 0.0) };
            points.extend([[near, y], [far, y]]);
        }
        format!(
            "manifolds:\n  M1: {{at: [0, 0]}}\nloops:\n  L1: {{manifold: M1, room: hall{more}, route: {points:?}}}\n"
        )
    }

    #[test]
    fn a_square_metre_at_fifty_millimetres() {
        assert_eq!(messages(&RULE, &text(25, 40.0, "")).len(), 1);
        assert_eq!(messages(&RULE, &text(20, 50.0, "")), [""; 0]);
        // Half a metre deep, two metres long.
        assert_eq!(messages(&RULE, &text(12, 40.0, "")), [""; 0]);
    }

    #[test]
    fn insulated_tails_do_not_count() {
        assert_eq!(messages(&RULE, &text(25, 40.0, ", insulated-tails: 60 m")), [""; 0]);
        assert_eq!(messages(&RULE, &text(25, 40.0, ", insulated-tails: 2 m")).len(), 1);
    }

    #[test]
    fn many_loops_that_are_not_drawn_are_not_checked() {
        let loops = |count: usize| -> String { (0..count).map(|at| format!("  L{at}: {{manifold: M1}}\n")).collect() };
        let text = |count: usize| format!("manifolds:\n  M1: {{at: [0, 0]}}\nloops:\n{}", loops(count));
        assert_eq!(not_checked(&RULE, &text(9)), [""; 0]);
        assert_eq!(not_checked(&RULE, &text(10)).len(), 10);
    }
}
