//! Tails: the two pipes side by side from the manifold to the floor that a loop heats.
//!
//! The middle of the pair takes the shortest way over floor that is wide enough for both: from corner to corner of what
//! stands in the way, as a taut string lies (Lee, Proximity and reachability in the plane, 1978).

use super::super::free_area::Shapes;
use super::super::outline::edges;
use super::super::point::{Way, nearest_share};
use super::super::{Bounds, Point};
use super::ground::{HAIR, within};

/// The shortest way over the floor from a point to the nearest place of some goal lines; both lie on the floor or nearly.
pub(super) fn shortest(floor: &Shapes, from: Point, goal: &Shapes) -> Option<Vec<Point>> {
    let lines: Vec<(Point, Point)> = floor.iter().flatten().flat_map(|line| edges(line)).collect();
    let from = onto(floor, &lines, from);
    if within(goal, from) {
        return Some(vec![from]);
    }
    // Corners that bend round what stands in the way.
    let mut places = vec![from];
    for line in floor.iter().flatten() {
        let count = line.len();
        for at in 0..count {
            let (before, here, after) = (line[(at + count - 1) % count], line[at], line[(at + 1) % count]);
            if before.to(here).cross(here.to(after)) < -HAIR {
                places.push(here);
            }
        }
    }
    let goals: Vec<(Point, Point)> = goal.iter().flatten().flat_map(|line| edges(line)).collect();
    // Dijkstra's way: the nearest place not yet left is final.
    let mut far = vec![f64::INFINITY; places.len()];
    let mut came_from: Vec<Option<usize>> = vec![None; places.len()];
    let mut left = vec![false; places.len()];
    far[0] = 0.0;
    let mut best: Option<(f64, usize, Point)> = None;
    loop {
        let next = (0..places.len())
            .filter(|&at| !left[at] && far[at].is_finite())
            .min_by(|one, other| far[*one].total_cmp(&far[*other]));
        let Some(at) = next else { break };
        if best.as_ref().is_some_and(|best| best.0 <= far[at]) {
            break;
        }
        left[at] = true;
        let here = places[at];
        for &(a, b) in &goals {
            let there = a.towards(b, nearest_share(a, b, here));
            let length = far[at] + here.metres_to(there);
            if best.as_ref().is_none_or(|best| length < best.0 - HAIR) && sees(floor, &lines, here, there) {
                best = Some((length, at, there));
            }
        }
        for other in 1..places.len() {
            let length = far[at] + here.metres_to(places[other]);
            if !left[other] && length < far[other] - HAIR && sees(floor, &lines, here, places[other]) {
                (far[other], came_from[other]) = (length, Some(at));
            }
        }
    }
    let (_, mut at, end) = best?;
    let mut way = vec![end];
    loop {
        way.push(places[at]);
        match came_from[at] {
            Some(before) => at = before,
            None => break,
        }
    }
    way.reverse();
    way.dedup_by(|one, other| one.metres_to(*other) < HAIR);
    Some(way)
}

/// The point, or the place of the floor's edge that is nearest to it.
fn onto(floor: &Shapes, lines: &[(Point, Point)], point: Point) -> Point {
    if within(floor, point) {
        return point;
    }
    let on = lines.iter().map(|&(a, b)| a.towards(b, nearest_share(a, b, point)));
    on.min_by(|one, other| one.metres_to(point).total_cmp(&other.metres_to(point))).unwrap_or(point)
}

/// Whether the straight way between two places stays on the floor; it may touch the edge.
fn sees(floor: &Shapes, lines: &[(Point, Point)], from: Point, to: Point) -> bool {
    let way = from.to(to);
    let length = way.length();
    if length < HAIR {
        return true;
    }
    let bounds = Bounds::around([from, to]);
    // How far to the left of the way a point lies.
    let off = |point: Point| way.cross(from.to(point)) / length;
    for &(a, b) in lines {
        if !bounds.touches(&Bounds::around([a, b]).wider(HAIR)) {
            continue;
        }
        let (one, other) = (off(a), off(b));
        if one * other >= 0.0 || one.abs() < 1e-6 || other.abs() < 1e-6 {
            continue;
        }
        let share = one / (one - other);
        let at = way.dot(from.to(a.towards(b, share))) / length;
        if at > 1e-6 && at < length - 1e-6 {
            return false;
        }
    }
    // A way that crosses no edge may still lie outside, or run through corners: a few places tell.
    [0.5, 0.2113, 0.7887].iter().all(|&share| {
        let place = from.towards(to, share);
        within(floor, place)
            || lines.iter().any(|&(a, b)| a.towards(b, nearest_share(a, b, place)).metres_to(place) < 1e-5)
    })
}

/// The line so far to the left of a way, or to its right if below nothing, with its corners kept.
pub(super) fn beside(way: &[Point], off: f64) -> Vec<Point> {
    let unit = |from: Point, to: Point| {
        let way = from.to(to);
        let length = way.length().max(HAIR);
        Way { x: way.x / length, y: way.y / length }
    };
    let count = way.len();
    (0..count)
        .map(|at| {
            let came = if at > 0 { unit(way[at - 1], way[at]) } else { unit(way[at], way[at + 1]) };
            let goes = if at + 1 < count { unit(way[at], way[at + 1]) } else { came };
            // The normals of both legs; their sum points along the mitre.
            let (x, y) = (-(came.y + goes.y), came.x + goes.x);
            let size = (x * x + y * y) / 2.0;
            let by = off / size.max(0.2);
            Point::new(way[at].x + x * by, way[at].y + y * by)
        })
        .collect()
}

/// The strip that a way takes, so wide on either side.
pub(super) fn strip(way: &[Point], half: f64) -> Vec<Point> {
    let mut around = beside(way, -half);
    around.extend(beside(way, half).into_iter().rev());
    around
}
