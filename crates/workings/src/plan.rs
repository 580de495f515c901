//! The plan: which rooms routes run through, what they cross and where.

mod ground;
mod passages;

pub use passages::{Crossed, Crossing, Passage, crossed_by_name};

use crate::Workings;
use design::{Design, Loop, Place, Placed, Ref, Route, Storey};
use engineering::plan::{self, Point};
use ground::Ground;
use quantity::Length;
use std::collections::BTreeMap;

/// What was worked out of the plan.
#[derive(Debug, Clone, Default)]
pub struct PlanWorkings {
    /// For each loop, its route cut where it goes from one room to another: the room, from, to.
    pub stretches: Vec<Vec<Stretch>>,
    /// For each loop, where its route crosses walls and joints, in the order of the route.
    pub passages: Vec<Vec<Passage>>,
    /// For each loop, the same by what is crossed, with the sleeves there.
    pub crossings: Vec<Vec<Crossing>>,
    /// The routes are such a tangle that not all of them were looked at.
    pub broken_off: bool,
}

impl PlanWorkings {
    /// How many passages of one design are looked for: far more than any has, so that a hopeless file
    /// costs neither minutes nor gigabytes.
    const MOST_PASSAGES: usize = 300_000;
}

/// A stretch of a route in one room, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub room: Option<usize>,
    pub from: Length,
    pub to: Length,
}

/// The points of the design as points of the plan.
pub(crate) fn points(placed: &[Placed<design::Point>]) -> Vec<Point> {
    placed.iter().map(|it| point(it.value)).collect()
}

pub(crate) fn point(of: design::Point) -> Point {
    Point::new(of.x, of.y)
}

/// The geometry of a drawn route, or what is wrong with it.
pub(crate) fn route(of: &Route) -> Result<plan::Route, String> {
    let points = match of {
        Route::Points(points) => self::points(points),
        Route::Path(path) => points_of_path(path)?,
    };
    plan::Route::new(&points).map_err(|fault| fault.to_string())
}

fn points_of_path(path: &str) -> Result<Vec<Point>, String> {
    let lines = plan::svg_path(path).map_err(|fault| match path.get(fault.at..).filter(|rest| !rest.is_empty()) {
        Some(rest) => format!("{fault}, at `{}`", rest.chars().take(20).collect::<String>()),
        None => format!("{fault}, at the end"),
    })?;
    let mut lines = lines.into_iter();
    let Some(mut line) = lines.next() else { return Err("the path is empty".into()) };
    if lines.next().is_some() {
        return Err("the path is in several parts, and a pipe is one".into());
    }
    if line.closed {
        line.points.extend(line.points.first().copied());
    }
    Ok(line.points)
}

/// Where a leg of a loop's route begins in the file.
pub fn leg_place(of: &Loop, leg: usize) -> Place {
    match of.route.as_ref().map(|it| (&it.value, it.at)) {
        Some((Route::Points(points), at)) => points.get(leg).map_or(at, |point| point.at),
        Some((Route::Path(_), at)) => at,
        None => of.place,
    }
}

type StoreyName<'d> = Option<&'d str>;

fn storey_name(of: &Option<Placed<Ref<Storey>>>) -> StoreyName<'_> {
    of.as_ref().map(|it| it.value.name.as_str())
}

/// The storey that a loop is laid on: its own, its room's, its manifold's.
pub fn storey_of<'d>(design: &'d Design, of: &'d Loop) -> Option<&'d str> {
    let of_room = || of.rooms.first().and_then(|room| storey_name(&design.rooms.get(&room.value.name)?.storey));
    let of_manifold = || storey_name(&design.manifolds.get(&of.manifold.as_ref()?.value.name)?.storey);
    storey_name(&of.storey).or_else(of_room).or_else(of_manifold)
}

/// Finds what each drawn route runs through and crosses, and tells rooms of their loops.
pub(crate) fn work_out(design: &Design, workings: &mut Workings) {
    let mut plan = PlanWorkings {
        stretches: vec![Vec::new(); design.loops.len()],
        passages: vec![Vec::new(); design.loops.len()],
        crossings: vec![Vec::new(); design.loops.len()],
        broken_off: false,
    };
    let openings = passages::openings(design);
    let mut of_storeys: BTreeMap<StoreyName, Vec<usize>> = BTreeMap::new();
    for (at, given) in design.loops.values().enumerate() {
        of_storeys.entry(storey_of(design, given)).or_default().push(at);
    }
    let mut left = PlanWorkings::MOST_PASSAGES;
    for (storey, loops) in of_storeys {
        let ground = Ground::new(design, workings, storey);
        for at in loops {
            let (Some(Ok(route)), Some((_, given))) = (&workings.loops[at].route, design.loops.at(at)) else {
                continue;
            };
            plan.stretches[at] = ground.cut(route);
            if left == 0 {
                plan.broken_off = true;
                continue;
            }
            plan.passages[at] = passages::passages(design, &ground, &given.value, route, &openings);
            left = left.saturating_sub(plan.passages[at].len());
            plan.crossings[at] = passages::crossings(design, &given.value, &plan.passages[at]);
        }
    }
    for (at, given) in design.loops.values().enumerate() {
        let named = given.rooms.iter().filter_map(|room| design.rooms.position(&room.value.name));
        let mut rooms: Vec<usize> = named.collect();
        if rooms.is_empty() && given.rooms.is_empty() {
            rooms.extend(most_in(&plan.stretches[at]).or((design.rooms.len() == 1).then_some(0)));
        }
        for room in &rooms {
            if !workings.rooms[*room].loops.contains(&at) {
                workings.rooms[*room].loops.push(at);
            }
        }
        workings.loops[at].rooms = rooms;
    }
    workings.plan = plan;
}

/// The room in which most of a route lies.
fn most_in(stretches: &[Stretch]) -> Option<usize> {
    let mut rooms: Vec<usize> = stretches.iter().filter_map(|it| it.room).collect();
    rooms.sort_unstable();
    rooms.dedup();
    let in_room = |room: usize| length_in(stretches, Some(room)).in_metres();
    rooms.into_iter().max_by(|one, other| in_room(*one).total_cmp(&in_room(*other)))
}

/// The length of a route in a room, or in none.
pub(crate) fn length_in(stretches: &[Stretch], room: Option<usize>) -> Length {
    stretches.iter().filter(|it| it.room == room).map(|it| it.to - it.from).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_one_line() {
        let follow = |path: &str| route(&Route::Path(path.into())).map(|route| route.length());
        let length = |path: &str| follow(path).unwrap().in_metres();
        assert_eq!(length("M 8 1 H 6 V 4"), 5.0);
        assert_eq!(length("M 0 0 H 3 V 4 Z"), 12.0);
        // Two straight runs and a half circle.
        let hairpin = length("M 0 0 H 4 A 0.1 0.1 0 0 1 4 0.2 H 0");
        assert!((hairpin - (8.0 + 0.1 * std::f64::consts::PI)).abs() < 2e-3, "{hairpin}");
        assert_eq!(follow("M 0 0 H 3 M 5 5 H 8").unwrap_err(), "the path is in several parts, and a pipe is one");
        assert_eq!(follow("").unwrap_err(), "the path is empty");
        assert_eq!(follow("M 0 0").unwrap_err(), "fewer than two different points");
        assert!(follow("M 0 0 C 1 1").unwrap_err().ends_with("at `C 1 1`"));
        assert!(follow("M 0").unwrap_err().ends_with("at the end"));
    }
}
