//! Parts of a floor: one for each of the loops that share it.

use super::super::free_area::{Shapes, square_metres};
use super::super::outline::edges;
use super::super::point::Way;
use super::super::{Bounds, Point};
use super::ground::overlay;
use i_overlay::core::overlay_rule::OverlayRule;

/// Cuts a floor across a direction into parts whose areas are in proportion to the shares, in order along it, `gap` apart.
pub(super) fn split(floor: &Shapes, along: Way, shares: &[f64], gap: f64) -> Vec<Shapes> {
    let place = |point: Point| point.x * along.x + point.y * along.y;
    let across = |point: Point| point.y * along.x - point.x * along.y;
    let back = |u: f64, v: f64| Point::new(u * along.x - v * along.y, u * along.y + v * along.x);
    let all = Bounds::around(floor.iter().flatten().flatten().map(|&point| Point::new(place(point), across(point))));
    let (whole, sum) = (square_metres(floor), shares.iter().sum::<f64>());
    let mut taken = 0.0;
    let mut from = all.low.x - gap;
    let mut parts = Vec::new();
    for (number, share) in shares.iter().enumerate() {
        taken += share / sum * whole;
        let to = if number + 1 == shares.len() {
            all.high.x + gap
        } else {
            cut_at(floor, place, across, taken, all.low.x, all.high.x)
        };
        let (low, high) = (all.low.y - 1.0, all.high.y + 1.0);
        let (left, right) = (from + gap / 2.0, to - gap / 2.0);
        let strip = [(left, low), (right, low), (right, high), (left, high)].map(|(u, v)| back(u, v)).to_vec();
        parts.push(if right > left { overlay(floor, &[strip], OverlayRule::Intersect) } else { Vec::new() });
        from = to;
    }
    parts
}

/// Where so much of the floor lies before a line across.
fn cut_at(
    floor: &Shapes,
    place: impl Fn(Point) -> f64,
    across: impl Fn(Point) -> f64,
    wanted: f64,
    mut low: f64,
    mut high: f64,
) -> f64 {
    // Green's theorem on what lies before the line: its own piece along the line adds nothing to the integral of (u - line) dv.
    let before = |line: f64| -> f64 {
        let of_edge = |(from, to): (Point, Point)| {
            let (a, b) = ((place(from) - line, across(from)), (place(to) - line, across(to)));
            let (a, b) = match (a.0 < 0.0, b.0 < 0.0) {
                (true, true) => (a, b),
                (false, false) => return 0.0,
                (inside, _) => {
                    let share = a.0 / (a.0 - b.0);
                    let on = (0.0, a.1 + (b.1 - a.1) * share);
                    if inside { (a, on) } else { (on, b) }
                }
            };
            (a.0 + b.0) / 2.0 * (b.1 - a.1)
        };
        floor.iter().flatten().flat_map(|line| edges(line)).map(of_edge).sum()
    };
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if before(middle) < wanted { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}
