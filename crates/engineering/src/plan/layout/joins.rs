//! Where a pair of tails is joined to the closed line of its field.

use super::super::box_tree::BoxTree;
use super::super::free_area::Shapes;
use super::super::point::{Way, nearest_share, nearest_shares};
use super::super::route::tangent;
use super::super::{Bounds, Point};
use super::ground::{HAIR, within};
use super::tails::beside;
use super::ways::are_apart;
use std::ops::ControlFlow;

/// A closed line opened nearest to the entry; its two ends lie side by side.
pub(super) fn opened(line: &[Point], entry: Option<Point>, radius: f64, apart: f64) -> Vec<Point> {
    let count = line.len();
    let at = |number: usize| line[number % count];
    let wanted = apart + 4.0 * radius;
    let best = (0..count)
        .map(|leg| {
            let (from, to) = (at(leg), at(leg + 1));
            let length = from.metres_to(to);
            let margin = (wanted / 2.0).min(length / 2.0) / length.max(HAIR);
            let share = match entry {
                Some(entry) => nearest_share(from, to, entry).clamp(margin, 1.0 - margin),
                None => 0.5,
            };
            let far = entry.map_or(0.0, |entry| from.towards(to, share).metres_to(entry));
            (far + (wanted - length).max(0.0) * 4.0, leg, share)
        })
        .min_by(|one, other| one.0.total_cmp(&other.0));
    let Some((_, leg, share)) = best else { return line.to_vec() };
    let (from, to) = (at(leg), at(leg + 1));
    let half = (apart / 2.0 / from.metres_to(to).max(HAIR)).min(0.25);
    let mut open = vec![from.towards(to, share + half)];
    open.extend((1..=count).map(|number| at(leg + number)));
    open.push(from.towards(to, share - half));
    open
}

/// What tails have to keep to where they are joined.
pub(super) struct Room<'a> {
    /// Where pipe may lie.
    pub floor: &'a Shapes,
    /// Whether all of the tails lies there.
    pub is_home: bool,
    /// From tail to tail, and from the middle of a pair to that of another.
    pub apart: f64,
    pub pairs_apart: f64,
    /// The ways of other tails.
    pub others: Vec<&'a [Point]>,
}

/// A place where a closed line may be opened and joined to its tails.
struct Join {
    /// How the pair comes to it, after the way: its middle.
    approach: Vec<Point>,
    /// The legs of the line where what is left of it begins and ends, and the places on them.
    begins: (usize, Point),
    ends: (usize, Point),
    /// Worse the higher, before anything is tried.
    cost: f64,
}

/// A closed line opened where a pair of tails comes to it, and joined to both; nothing if they cannot reach it without
/// crossing it. Of the ways to do it the one that bends best is taken.
///
/// How many of its first and of its last points are tails is told too.
pub(super) fn with_tails(
    line: &[Point],
    way: &[Point],
    radius: f64,
    room: &Room,
) -> Option<(Vec<Point>, (usize, usize))> {
    // A way that goes on beside the line may be joined where it comes near first.
    const NEAR: [f64; 2] = [0.06, 0.1];
    with_tails_to_the_end(line, way, radius, room).or_else(|| {
        let ways = NEAR.iter().filter_map(|near| until_near(line, way, *near));
        ways.into_iter().find_map(|way| with_tails_to_the_end(line, &way, radius, room))
    })
}

/// A way as far as it comes so near to a closed line, if it goes on from there.
fn until_near(line: &[Point], way: &[Point], near: f64) -> Option<Vec<Point>> {
    const STEP: f64 = 0.05;
    let is_near = |point: Point| {
        let legs = super::super::outline::edges(line);
        legs.into_iter().any(|(a, b)| a.towards(b, nearest_share(a, b, point)).metres_to(point) <= near)
    };
    way.windows(2).enumerate().find_map(|(leg, two)| {
        let steps = (two[0].metres_to(two[1]) / STEP).ceil().clamp(1.0, 1000.0);
        let places = (1..=steps as usize).map(|step| two[0].towards(two[1], step as f64 / steps));
        let at = places.into_iter().find(|place| is_near(*place))?;
        let goes_on = way.last().is_some_and(|end| end.metres_to(at) > STEP);
        goes_on.then(|| way[..=leg].iter().copied().chain([at]).collect())
    })
}

fn with_tails_to_the_end(
    line: &[Point],
    way: &[Point],
    radius: f64,
    room: &Room,
) -> Option<(Vec<Point>, (usize, usize))> {
    const TRIED: usize = 40;
    let tree = BoxTree::new((0..line.len()).map(|leg| Bounds::around([line[leg], line[(leg + 1) % line.len()]])));
    // A way that comes over the line ends there.
    let way = until_met(line, &tree, way);
    let end = *way.last()?;
    let came = match way[..] {
        [.., before, end] => unit(before.to(end)),
        _ => None,
    };
    let mut joins = joins(line, end, came, radius, room.apart);
    joins.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    joins.truncate(TRIED);
    let mut best: Option<(f64, Vec<Point>, (usize, usize))> = None;
    for join in joins {
        if best.as_ref().is_some_and(|best| best.0 <= join.cost) {
            break;
        }
        let Some(Joined { whole, tails: own, middle }) = joined(line, &way, &join, room.apart) else { continue };
        // From where the way ends.
        let led_on = &middle[middle.len() - 1 - join.approach.len().min(middle.len() - 1)..];
        let last = if room.is_home { whole.len() } else { join.approach.len() };
        let near = |at: usize| {
            (at > 0 && at + last >= own.0 && at < own.0)
                || (at + own.1 >= whole.len() && at + own.1 < whole.len() + last && at + 1 < whole.len())
        };
        // From the wall it goes as it was led, not slantwise.
        let turns_at_once = || match (&middle[..], &way[..]) {
            ([from, to, ..], [_, there, ..]) => {
                let [one, other] = [from.to(*to), from.to(*there)].map(unit);
                one.zip(other).is_none_or(|(one, other)| one.dot(other) < 0.9999)
            }
            _ => false,
        };
        if (room.is_home && turns_at_once())
            || crosses(line, &tree, &join, &own, &whole, room.apart)
            // Each with the leg that leads on to the line.
            || (1..whole.len() - 1).any(|at| {
                let leg = if at < own.0 { at } else { at - 1 };
                near(at) && !lies_on(room.floor, &whole, at, leg)
            })
            || led_on.windows(2).any(|two| comes_back(room.floor, two[0], two[1]))
            || !room.others.iter().all(|other| {
                are_apart(led_on, other, room.pairs_apart)
            })
        {
            continue;
        }
        let tight = tightness(&whole, radius, own.0, own.1);
        let cost = join.cost + 2.0 * tight;
        if best.as_ref().is_none_or(|best| cost < best.0) {
            best = Some((cost, whole, own));
        }
    }
    best.map(|(_, whole, tails)| (whole, tails))
}

fn unit(way: Way) -> Option<Way> {
    let length = way.length();
    (length > HAIR).then(|| Way { x: way.x / length, y: way.y / length })
}

/// Whether a corner of a line and one of its legs lie on a floor.
fn lies_on(floor: &Shapes, line: &[Point], corner: usize, leg: usize) -> bool {
    const STEP: f64 = 0.1;
    let (from, to) = (line[leg], line[leg + 1]);
    let steps = (from.metres_to(to) / STEP).ceil().clamp(1.0, 100.0);
    within(floor, line[corner]) && (1..steps as usize).all(|step| within(floor, from.towards(to, step as f64 / steps)))
}

/// Whether a straight way leaves a floor and comes back to it, over what stands there.
fn comes_back(floor: &Shapes, from: Point, to: Point) -> bool {
    const STEP: f64 = 0.1;
    let steps = (from.metres_to(to) / STEP).ceil().clamp(1.0, 1000.0);
    let mut is_on = (0..=steps as usize).map(|step| within(floor, from.towards(to, step as f64 / steps)));
    is_on.any(|on| on) && is_on.any(|on| !on) && is_on.any(|on| on)
}

fn until_met(line: &[Point], tree: &BoxTree, way: &[Point]) -> Vec<Point> {
    let count = line.len();
    for (step, two) in way.windows(2).enumerate() {
        let mut first: Option<f64> = None;
        let _ = tree.touching(&Bounds::around([two[0], two[1]]).wider(HAIR), |leg| {
            let (c, d) = (line[leg as usize], line[(leg as usize + 1) % count]);
            let (one, other) = nearest_shares(two[0], two[1], c, d);
            if two[0].towards(two[1], one).metres_to(c.towards(d, other)) < HAIR {
                first = Some(first.map_or(one, |first| first.min(one)));
            }
            ControlFlow::Continue(())
        });
        if let Some(share) = first {
            let mut cut = way[..=step].to_vec();
            cut.push(two[0].towards(two[1], share));
            cut.dedup_by(|one, other| one.metres_to(*other) < HAIR);
            return cut;
        }
    }
    way.to_vec()
}

/// The places near to where the way ends.
fn joins(line: &[Point], end: Point, came: Option<Way>, radius: f64, apart: f64) -> Vec<Join> {
    let count = line.len();
    let at = |number: usize| line[number % count];
    let room = apart / 2.0 + 2.0 * radius;
    let mut joins = Vec::new();
    for leg in 0..count {
        let (from, to) = (at(leg), at(leg + 1));
        let length = from.metres_to(to);
        let Some(along) = unit(from.to(to)) else { continue };
        // Square to a leg: one tail turns off each way.
        if length >= 1.5 * apart {
            let mut places = vec![nearest_share(from, to, end)];
            let margin = (room / length).min(0.5);
            places.push(places[0].clamp(margin, 1.0 - margin));
            if let Some(came) = came {
                // Straight on.
                let turn = came.cross(along);
                if turn.abs() > 0.3 {
                    let share = end.to(from).cross(came) / turn / length;
                    if (0.0..=1.0).contains(&share) {
                        places.push(share);
                        places.push(share.clamp(margin, 1.0 - margin));
                    }
                }
            }
            for share in places {
                let share = share.clamp(apart / 2.0 / length, 1.0 - apart / 2.0 / length);
                let on = from.towards(to, share);
                let far = end.metres_to(on);
                let skew = came.map_or(0.0, |came| along.dot(came).abs());
                let half = apart / 2.0 / length;
                joins.push(Join {
                    approach: vec![on],
                    begins: (leg, from.towards(to, (share + half).min(1.0))),
                    ends: (leg, from.towards(to, (share - half).max(0.0))),
                    cost: far + 0.1 * skew,
                });
            }
        }
        // In line with a leg: one tail goes straight on along it, the other turns off at its corner.
        for (corner, other) in [(from, at(leg + count - 1)), (to, at(leg + 2))] {
            let begins_here = corner == from;
            let out = if begins_here { along } else { Way { x: -along.x, y: -along.y } };
            let Some(off) = unit(corner.to(other)) else { continue };
            let side = out.cross(off);
            if side.abs() < 0.9 || corner.metres_to(other) < 1.5 * apart + 2.0 * radius || length < 2.0 * radius {
                continue;
            }
            // The middle of the pair lies half the distance to the side of the other leg.
            let shift = Point::new(corner.x + off.x * apart / 2.0, corner.y + off.y * apart / 2.0);
            let back = |by: f64| Point::new(shift.x - out.x * by, shift.y - out.y * by);
            let turned = corner.towards(other, apart / corner.metres_to(other));
            for run in [1.2 * radius, 2.2 * radius, 3.5 * radius] {
                let far = end.metres_to(back(run));
                let skew = came.map_or(0.0, |came| 1.0 - out.dot(came));
                let (begins, ends) = if begins_here {
                    ((leg, corner), ((leg + count - 1) % count, turned))
                } else {
                    (((leg + 1) % count, turned), (leg, corner))
                };
                joins.push(Join { approach: vec![back(run), shift], begins, ends, cost: far + 0.15 * skew });
            }
        }
        joins.extend(joins_at_turn(line, leg, end, came, radius, apart));
    }
    joins
}

/// The places at the turn after a leg, if the pipe turns straight back there: the turn is left out, and both runs go on as
/// tails.
fn joins_at_turn(line: &[Point], leg: usize, end: Point, came: Option<Way>, radius: f64, apart: f64) -> Vec<Join> {
    const MOST_CORNERS: usize = 16;
    const MOST_APART: f64 = 0.35;
    let count = line.len();
    let at = |number: usize| line[number % count];
    let (from, tip) = (at(leg), at(leg + 1));
    let length = from.metres_to(tip);
    let Some(out) = unit(from.to(tip)) else { return Vec::new() };
    let mut inner = 0.0;
    for next in leg + 1..leg + MOST_CORNERS.min(count - 1) {
        let (begin, far_end) = (at(next), at(next + 1));
        if next > leg + 1 && unit(begin.to(far_end)).is_some_and(|back| back.dot(out) < -0.999) {
            let off = tip.to(begin);
            let width = out.cross(off).abs();
            let other = begin.metres_to(far_end);
            if !(apart / 2.0..MOST_APART).contains(&width) {
                return Vec::new();
            }
            let mut joins = Vec::new();
            for by in [1.0, 2.0, 4.0] {
                // Level with each other, so far back from the turn.
                let (one, two) = (by * radius + (-off.dot(out)).max(0.0), by * radius + off.dot(out).max(0.0));
                if one + radius > length || two + radius > other {
                    break;
                }
                let (ends, begins) = (tip.towards(from, one / length), begin.towards(far_end, two / other));
                let middle = ends.towards(begins, 0.5);
                let ahead = |by: f64| Point::new(middle.x + out.x * by, middle.y + out.y * by);
                let skew = came.map_or(0.0, |came| 1.0 + out.dot(came));
                let join = |approach: Vec<Point>, cost: f64| Join {
                    approach,
                    begins: (next % count, begins),
                    ends: (leg, ends),
                    cost,
                };
                joins.push(join(vec![middle], end.metres_to(middle) + 0.3 * skew));
                for run in [1.2 * radius, 2.2 * radius, 3.5 * radius] {
                    let far = end.metres_to(ahead(run)) + 0.5 * run;
                    joins.push(join(vec![ahead(run), middle], far + 0.15 * skew));
                }
            }
            return joins;
        }
        inner += begin.metres_to(far_end);
        if inner > 8.0 * radius + MOST_APART {
            return Vec::new();
        }
    }
    Vec::new()
}

/// A closed line with its tails.
struct Joined {
    whole: Vec<Point>,
    /// How many of its first and of its last points are tails.
    tails: (usize, usize),
    /// The middle of the tails.
    middle: Vec<Point>,
}

/// A closed line joined to its tails at a place.
fn joined(line: &[Point], way: &[Point], join: &Join, apart: f64) -> Option<Joined> {
    let count = line.len();
    let mut middle = way.to_vec();
    let straight_on = join.approach.len() == 1;
    match middle[..] {
        [.., end] if straight_on && middle.len() > 1 && end.metres_to(join.approach[0]) < apart => {
            middle.pop();
        }
        // A way that ends beside the run-up turns on to it before its end.
        [.., before, end] if !straight_on && middle.len() > 1 => {
            let (to_end, start) = (before.to(end), before.to(join.approach[0]));
            let length = to_end.length().max(HAIR);
            let reach = start.dot(to_end) / length;
            if reach < length {
                middle.pop();
                if reach < 0.0 && middle.len() > 1 {
                    return None;
                }
            }
        }
        _ => {}
    }
    middle.extend(&join.approach);
    super::ground::straighten_way(&mut middle);
    if middle.len() < 2 {
        return None;
    }
    let mut best: Option<(f64, Vec<Point>, Vec<Point>)> = None;
    for hand in [1.0, -1.0] {
        let (mut flow, mut back) = (beside(&middle, hand * apart / 2.0), beside(&middle, -hand * apart / 2.0));
        let far = flow.last()?.metres_to(join.begins.1) + back.last()?.metres_to(join.ends.1);
        flow.pop();
        back.pop();
        if best.as_ref().is_none_or(|best| far < best.0) {
            best = Some((far, flow, back));
        }
    }
    let (_, flow, mut back) = best?;
    let mut whole = flow;
    whole.push(join.begins.1);
    let first = whole.len();
    let (begin, end) = (join.begins.0, join.ends.0);
    let legs = (end + count - begin) % count;
    let legs = if legs == 0 { count } else { legs };
    whole.extend((1..=legs).map(|number| line[(begin + number) % count]));
    let last = whole.len();
    whole.push(join.ends.1);
    back.reverse();
    whole.extend(back);
    let tails = (first, whole.len() - last);
    Some(Joined { whole, tails, middle })
}

/// Whether the tails cross what is left of the line, or each other.
fn crosses(line: &[Point], tree: &BoxTree, join: &Join, tails: &(usize, usize), whole: &[Point], apart: f64) -> bool {
    let count = line.len();
    let (flow, back) = (&whole[..tails.0], &whole[whole.len() - tails.1..]);
    let gap = |leg: usize, point: Point| {
        // The leg that is opened: what is cut out of it is no pipe.
        let (from, to) = (line[leg], line[(leg + 1) % count]);
        let share = nearest_share(from, to, point);
        let begin = nearest_share(from, to, join.begins.1);
        let end = nearest_share(from, to, join.ends.1);
        match (leg == join.begins.0, leg == join.ends.0) {
            (true, true) => share < begin + 1e-9 && share > end - 1e-9,
            (true, false) => share < begin + 1e-9,
            (false, true) => share > end - 1e-9,
            _ => false,
        }
    };
    // Of an opening at a corner or a turn the legs between are gone.
    let gone = (join.begins.0 + count - join.ends.0) % count;
    let is_gone = |leg: usize| (1..gone).contains(&((leg + count - join.ends.0) % count));
    let mut meets = false;
    for tail in [flow, back] {
        for two in tail.windows(2) {
            let _ = tree.touching(&Bounds::around([two[0], two[1]]).wider(HAIR), |leg| {
                let leg = leg as usize;
                let (c, d) = (line[leg], line[(leg + 1) % count]);
                let (one, other) = nearest_shares(two[0], two[1], c, d);
                let there = c.towards(d, other);
                if two[0].towards(two[1], one).metres_to(there) < 1e-5
                    && !is_gone(leg)
                    && !gap(leg, there)
                    && there.metres_to(join.begins.1) > 1e-5
                    && there.metres_to(join.ends.1) > 1e-5
                {
                    meets = true;
                    return ControlFlow::Break(());
                }
                ControlFlow::Continue(())
            });
        }
    }
    meets
        || flow.windows(2).any(|one| {
            back.windows(2).any(|other| {
                let (a, b) = nearest_shares(one[0], one[1], other[0], other[1]);
                one[0].towards(one[1], a).metres_to(other[0].towards(other[1], b)) < 0.5 * apart
            })
        })
}

/// How far the corners of the tails, and of where they join, are from being bendable.
fn tightness(whole: &[Point], radius: f64, flow: usize, back: usize) -> f64 {
    const SEEN: usize = 3;
    let count = whole.len();
    let takes = |at: usize| match whole.get(at.wrapping_sub(1)..at + 2) {
        Some(&[before, here, after]) => tangent(before, here, after),
        _ => 0.0,
    };
    let fits = |leg: usize| whole[leg].metres_to(whole[leg + 1]) / (takes(leg) + takes(leg + 1));
    (1..count - 1)
        .filter(|&at| at < flow + SEEN || at + back + SEEN >= count)
        .map(|at| (1.0 - fits(at - 1).min(fits(at)) / radius).max(0.0))
        .map(|short| if short > 0.01 { 0.2 + short } else { 0.0 })
        .sum()
}
