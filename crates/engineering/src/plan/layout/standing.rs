//! Loops that are drawn beside others that are laid out: their tails have a place among those of the others.

use super::super::free_area::Shapes;
use super::super::point::{nearest_share, nearest_shares};
use super::super::{Point, Route};
use super::Passage;
use super::ground::{HAIR, overlay, straighten_way};
use super::tails::strip;
use i_overlay::core::overlay_rule::OverlayRule;
use quantity::Length;

/// A drawn loop whose two ends run side by side from its manifold to the floor that it heats.
pub(super) struct Standing {
    /// The middle of its tails.
    pub way: Vec<Point>,
    /// The passages that they take.
    pub chain: Vec<usize>,
    /// The rest of it.
    pub field: Route,
}

/// How far apart the tails of a loop may lie, in metres.
const WIDEST: f64 = 0.4;

impl Standing {
    /// What is tails of a drawn route, with its spacing in metres, and what is its field.
    pub fn of(route: &Route, spacing: f64, passages: &[Passage]) -> Option<Standing> {
        const STEP: f64 = 0.05;
        /// How far beyond the end of the tails a passage still is one that they take, in metres.
        const BEHIND: f64 = 0.6;
        /// How much farther apart two corners may lie than the tails.
        const MITRE: f64 = 2.0;
        /// Tails of more steps are none: 200 m.
        const LONGEST: usize = 4000;
        let length = route.metres();
        // What of the pipe has nothing to do with the place looked at: neither the leg nor its partner on the way back.
        let off = WIDEST + 2.0 * spacing;
        let mut end = None;
        for step in 0..LONGEST {
            let along = step as f64 * STEP;
            if along + off > length / 2.0 {
                break;
            }
            let here = at(route, along);
            let partner = nearest(route, here, (length - along - off, (length - along + off).min(length)));
            let field = nearest(route, here, (along + off, length - along - off));
            if partner.is_none_or(|it| it.0 > WIDEST) || field.is_some_and(|it| it.0 < 1.2 * spacing) {
                break;
            }
            end = partner.map(|(_, there)| (along, there));
        }
        let (along, there) = end?;
        let mut middles: Vec<(f64, Point)> = Vec::new();
        let corners = |from: f64, to: f64| {
            route
                .legs_along()
                .skip(1)
                .map(|(corner, _, leg)| (leg.from.in_metres(), corner))
                .filter(move |(at, _)| (from..to).contains(at))
        };
        // At a corner both turn: half way between their corners. Where only one does, half way to the other.
        let mut others: Vec<(f64, Point)> = corners(there, length).collect();
        for (from, corner) in corners(0.0, along) {
            let (apart, partner) = nearest(route, corner, (there, length))?;
            let far = |it: &&(f64, Point)| it.1.metres_to(corner);
            let turn = others.iter().min_by(|one, other| far(one).total_cmp(&far(other))).copied();
            let other = match turn.filter(|turn| far(&turn) < MITRE * apart) {
                Some(turn) => {
                    others.retain(|it| *it != turn);
                    turn.1
                }
                None => at(route, partner),
            };
            middles.push((from, corner.towards(other, 0.5)));
        }
        for (_, corner) in others {
            let (_, partner) = nearest(route, corner, (0.0, along))?;
            middles.push((partner, corner.towards(at(route, partner), 0.5)));
        }
        middles.push((0.0, at(route, 0.0).towards(at(route, length), 0.5)));
        middles.push((along, at(route, along).towards(at(route, there), 0.5)));
        // Where the pair has gone through a passage it may part at once.
        let mut chain: Vec<(f64, usize)> = Vec::new();
        for (number, passage) in passages.iter().enumerate() {
            let crossings = || {
                route.legs_along().filter_map(|(one, other, leg)| {
                    let (share, on) = nearest_shares(one, other, passage.from, passage.to);
                    let apart = one.towards(other, share).metres_to(passage.from.towards(passage.to, on));
                    (apart < HAIR).then(|| (leg.from + leg.length() * share).in_metres())
                })
            };
            let (first, last) = (crossings().fold(length, f64::min), crossings().fold(0.0, f64::max));
            if first < along + BEHIND && last > there - BEHIND && first < last {
                chain.push((first, number));
                if first > along {
                    middles.push((first, at(route, first).towards(at(route, last), 0.5)));
                }
            }
        }
        middles.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut way: Vec<Point> = middles.into_iter().map(|(_, middle)| middle).collect();
        straighten_way(&mut way);
        if way.len() < 2 {
            return None;
        }
        chain.sort_by(|one, other| one.0.total_cmp(&other.0));
        let chain = chain.into_iter().map(|(_, number)| number).collect();
        let mut field = vec![at(route, along)];
        field.extend(corners(along + HAIR, there).map(|(_, corner)| corner));
        field.push(at(route, there));
        Some(Standing { way, chain, field: Route::new(&field).ok()? })
    }

    /// The floor round its field.
    pub fn floor(&self, outline: &Shapes, half: f64) -> Shapes {
        let legs: Vec<Vec<Point>> = self.field.points().windows(2).map(|two| strip(two, half)).collect();
        overlay(outline, &legs, OverlayRule::Intersect)
    }
}

fn at(route: &Route, along: f64) -> Point {
    route.at(Length::metres(along))
}

/// How near the route comes to a place between two places along it, and where along it that is.
fn nearest(route: &Route, place: Point, (from, to): (f64, f64)) -> Option<(f64, f64)> {
    let legs = route.legs_along().filter_map(|(one, other, leg)| {
        let (start, end) = (leg.from.in_metres(), leg.to.in_metres());
        let share = |along: f64| ((along - start) / (end - start)).clamp(0.0, 1.0);
        if end <= from || start >= to {
            return None;
        }
        let on = nearest_share(one, other, place).clamp(share(from), share(to));
        Some((one.towards(other, on).metres_to(place), start + (end - start) * on))
    });
    legs.min_by(|one, other| one.0.total_cmp(&other.0))
}
