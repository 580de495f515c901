//! A storey: which loop heats which part of which floor, the ways of the tails, and then the routes.

use super::super::free_area::{Shapes, square_metres};
use super::super::point::{Way, nearest_share};
use super::super::{Bounds, Corner, Outline, Point, Route, Run, Stretch, coverage, route_meetings};
use super::frame::Frame;
use super::ground::{HAIR, moved, opened as opened_floor, overlay, region};
use super::joins::{self, opened};
use super::tails::strip;
use super::ways::APART;
use super::zone::Zone;
use super::{
    AT_MANIFOLD, BETWEEN_BULBS, Closed, ENOUGH_COVERED, Floor, Laid, MOST_CORNERS, MOST_PIPE, MOST_SHARP_CORNERS,
    Measures, NoField, NoTails, Passage, ROUNDING, Storey, USUAL_EDGE, Uncovered, Wanted, bends, closed,
};
use i_overlay::core::overlay_rule::OverlayRule;
use quantity::{Area, Length, Share};
use std::collections::BTreeMap;

/// From a tail to the nearest run of another loop's field, in spacings of that.
const TO_TAILS: f64 = 0.9;

/// What of a floor a loop heats.
pub(super) struct Part {
    pub measures: Measures,
    pub floor: Shapes,
    pub too_narrow: f64,
    /// What tails of other loops take of it, in square metres.
    pub to_tails: f64,
}

/// A closed line over a part of a floor, and what becomes of it: opened, with its tails or without.
struct Field {
    closed: Closed,
    line: Vec<Point>,
    without_tails: Option<NoTails>,
}

/// Lays loops out over the floors of one storey, in order of the loops, which share the floor of a room and the doors.
///
/// Every route crosses neither itself nor another. The same input gives the same routes, and so does the same storey drawn
/// elsewhere, turned or mirrored.
pub fn lay_out(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let laid = Frame::of(storey, wanted).and_then(|frame| frame.lay_out(storey, wanted, lay_out_here));
    laid.unwrap_or_else(|| wanted.iter().map(|_| Err(NoField::TooNarrow)).collect())
}

fn lay_out_here(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let (floors, passages, drawn) = (&storey.floors[..], &storey.passages[..], &storey.drawn[..]);
    let mut storey = Laying { floors, passages, drawn, wanted, homes: Vec::new(), of_rooms: BTreeMap::new() };
    storey.homes = wanted.iter().map(|wanted| wanted.manifold.and_then(|at| storey.room_of(at))).collect();
    for (number, passage) in passages.iter().enumerate() {
        for room in passage.rooms {
            storey.of_rooms.entry(room).or_default().push(number);
        }
    }
    let mut parts = storey.parts();
    let ways = storey.ways(&parts);
    storey.leave_ways_free(&mut parts, &ways);
    let boxes: Vec<Option<Bounds>> =
        ways.iter().map(|way| way.as_ref().ok().map(|way| Bounds::around(way.iter().copied()).wider(APART))).collect();
    let mut rooms: BTreeMap<usize, Shapes> = BTreeMap::new();
    for (part, wanted) in parts.iter().zip(wanted) {
        if part.is_ok() {
            rooms
                .entry(wanted.room)
                .or_insert_with(|| storey.floor(wanted.room, wanted.least_edge.in_metres() - 0.002, 0.002, &[]));
        }
    }
    let fields = parts.iter().zip(&ways).enumerate().map(|(number, (part, way))| {
        let part = part.as_ref().map_err(|no| *no)?;
        let entry = way.as_ref().ok().and_then(|way| way.last().copied());
        let zone = storey.zone(wanted[number].room);
        let closed = closed(&part.floor, &part.measures, zone.as_ref(), entry).ok_or(NoField::TooNarrow)?;
        let tails = way.as_ref().map_err(|no| *no).and_then(|way| {
            let near = Bounds::around(way.iter().chain(&closed.line).copied());
            let others =
                (0..ways.len()).filter(|other| *other != number && boxes[*other].is_some_and(|it| it.touches(&near)));
            let room = joins::Room {
                floor: &rooms[&wanted[number].room],
                is_home: storey.homes[number] == Some(wanted[number].room),
                others: others.filter_map(|other| ways[other].as_deref().ok()).collect(),
            };
            joins::with_tails(&closed.line, way, part.measures.radius, &room).ok_or(NoTails::NoWay)
        });
        Ok(match tails {
            Ok(line) => Field { closed, line, without_tails: None },
            Err(no) => {
                let line = opened(&closed.line, entry, part.measures.radius);
                Field { closed, line, without_tails: Some(no) }
            }
        })
    });
    let mut fields: Vec<Result<Field, NoField>> = fields.collect();
    storey.ease(&parts, &mut fields);
    storey.finished(&parts, fields)
}

/// Whether an outline has more corners, or more sharp ones, than the walls of any room.
fn is_ragged(outline: &Outline) -> bool {
    const SHARP: f64 = 0.2;
    let corners = outline.corners();
    let count = corners.len();
    let is_sharp = |at: &usize| {
        let (before, after) = (corners[(at + count - 1) % count], corners[(at + 1) % count]);
        let (came, goes) = (before.to(corners[*at]), corners[*at].to(after));
        came.cross(goes).abs().atan2(came.dot(goes)) > SHARP
    };
    count > MOST_CORNERS || (0..count).filter(is_sharp).count() > MOST_SHARP_CORNERS
}

pub(super) struct Laying<'a> {
    pub(super) floors: &'a [Floor<'a>],
    pub(super) passages: &'a [Passage],
    drawn: &'a [(&'a Route, Length)],
    pub(super) wanted: &'a [Wanted],
    /// The room that the manifold of each loop stands in.
    homes: Vec<Option<usize>>,
    /// The passages of each room.
    of_rooms: BTreeMap<usize, Vec<usize>>,
}

impl Part {
    /// The middle of the box round it.
    pub fn middle(&self) -> Point {
        let bounds = Bounds::around(self.floor.iter().flatten().flatten().copied());
        bounds.low.towards(bounds.high, 0.5)
    }
}

impl Laying<'_> {
    /// The edge zone of a room, if it has one that can be laid.
    fn zone(&self, room: usize) -> Option<Zone> {
        let zone = self.floors.get(room)?.edge_zone.as_ref()?;
        let (width, spacing) = (zone.width.in_metres(), zone.spacing.in_metres());
        let good = (0.01..10.0).contains(&spacing) && (0.0..100.0).contains(&width) && !zone.walls.is_empty();
        good.then(|| Zone { width, spacing, walls: zone.walls.clone() })
    }

    /// What each loop heats: the free floor of its room, or a share of it.
    fn parts(&self) -> Vec<Result<Part, NoField>> {
        let mut parts: Vec<Result<Part, NoField>> = self.wanted.iter().map(|_| Err(NoField::TooNarrow)).collect();
        let mut of_rooms: BTreeMap<usize, Vec<(usize, Measures)>> = BTreeMap::new();
        for (number, wanted) in self.wanted.iter().enumerate() {
            let Some(floor) = self.floors.get(wanted.room) else { continue };
            match Measures::new(wanted) {
                None => parts[number] = Err(NoField::Measure),
                Some(measures) if floor.outline.area().in_square_metres() / measures.spacing > MOST_PIPE => {
                    parts[number] = Err(NoField::TooLarge);
                }
                Some(_) if is_ragged(floor.outline) => {
                    parts[number] = Err(NoField::TooManyCorners);
                }
                Some(measures) => of_rooms.entry(wanted.room).or_default().push((number, measures)),
            }
        }
        for (room, loops) in of_rooms {
            for (number, part) in self.shared(room, &loops) {
                if !part.floor.is_empty() {
                    parts[number] = Ok(part);
                }
            }
        }
        parts
    }

    /// The floor of a room shared among its loops: bay by bay where there are enough of them, and in each so that all
    /// loops come out about as long.
    fn shared(&self, room: usize, loops: &[(usize, Measures)]) -> Vec<(usize, Part)> {
        let floor = &self.floors[room];
        let bays: Vec<&Outline> = if floor.bays.len() > 1 && floor.bays.len() <= loops.len() {
            floor.bays.clone()
        } else {
            vec![floor.outline]
        };
        // Loops for each bay: one, and the rest one after the other to where most area is left for each.
        let mut count = vec![1; bays.len()];
        for _ in bays.len()..loops.len() {
            let share = |bay: usize| bays[bay].area().in_square_metres() / f64::from(count[bay]);
            let most = (0..bays.len()).max_by(|one, other| share(*one).total_cmp(&share(*other)).then(other.cmp(one)));
            count[most.unwrap_or(0)] += 1;
        }
        let mut parts = Vec::new();
        let mut left = loops;
        for (bay, count) in bays.iter().zip(count) {
            let (here, rest) = left.split_at((count as usize).min(left.len()));
            left = rest;
            let edge = here.iter().map(|(_, measures)| measures.edge).fold(0.0, f64::max);
            let narrowest = here.iter().map(|(_, measures)| measures.narrowest()).fold(0.0, f64::max);
            let keep_clear = floor.keep_clear.iter().map(|(thing, off)| (*thing, off.in_metres().max(edge)));
            let things = floor.things.iter().map(|(thing, off)| (*thing, off.in_metres()));
            let things: Vec<(&Outline, f64)> = keep_clear.chain(things).collect();
            let (mut region, too_narrow) = region(bay, &things, edge, narrowest);
            let gap = here.iter().map(|(_, measures)| measures.spacing).sum::<f64>() / here.len().max(1) as f64;
            let drawn = self.strips_of_drawn(bay, gap);
            if !drawn.is_empty() {
                region = opened_floor(&overlay(&region, &drawn, OverlayRule::Difference), narrowest);
            }
            let shares = self.shares(here, &region, bay);
            let floors = if shares.len() == 1 {
                vec![region]
            } else {
                super::parts::split(&region, self.along(room, bay, here[0].0), &shares, gap)
            };
            for (&(number, measures), floor) in here.iter().zip(floors) {
                let measures = Measures { edge, ..measures };
                parts.push((
                    number,
                    Part { measures, floor, too_narrow: too_narrow / here.len() as f64, to_tails: 0.0 },
                ));
            }
        }
        parts
    }

    /// How loops share a floor: by the areas stated for them, what is left in proportion to their spacings; a last share
    /// for no loop, where much is left over.
    fn shares(&self, loops: &[(usize, Measures)], region: &Shapes, floor: &Outline) -> Vec<f64> {
        const LEFT_OVER: f64 = 0.05;
        let whole = square_metres(region);
        // The strip along the walls belongs to the areas stated, in proportion.
        let of_stated = whole / floor.area().in_square_metres().max(HAIR);
        let stated: Vec<Option<f64>> = loops
            .iter()
            .map(|(number, _)| self.wanted[*number].area.map(|area| area.in_square_metres().max(0.0) * of_stated))
            .collect();
        let sum: f64 = stated.iter().flatten().sum();
        let spacings: f64 =
            loops.iter().zip(&stated).filter(|(_, it)| it.is_none()).map(|((_, it), _)| it.spacing).sum();
        let left = (whole - sum).max(0.05 * whole);
        let of_loop = |((_, measures), stated): (&(usize, Measures), &Option<f64>)| {
            stated.unwrap_or(left * measures.spacing / spacings.max(HAIR))
        };
        let mut shares: Vec<f64> = loops.iter().zip(&stated).map(of_loop).collect();
        if spacings == 0.0 && whole - sum > LEFT_OVER * whole {
            shares.push(whole - sum);
        }
        shares
    }

    /// What drawn routes take of a floor, so that pipe laid beside them lies `spacing` away.
    fn strips_of_drawn(&self, floor: &Outline, spacing: f64) -> Vec<Vec<Point>> {
        let bounds = floor.bounds();
        let near = self.drawn.iter().filter(|(route, _)| route.bounds().touches(&bounds));
        let strips = near.flat_map(|(route, own)| {
            let half = spacing.max(own.in_metres().clamp(0.0, 1.0)) - HAIR;
            route.points().windows(2).map(move |two| (two[0], two[1], half))
        });
        strips
            .filter(|(from, to, half)| Bounds::around([*from, *to]).wider(*half).touches(&bounds))
            .map(|(from, to, half)| strip(&[from, to], half))
            .collect()
    }

    /// Which way the parts of a floor follow each other: along the wall through which the tails come, so that each part
    /// has some of it; or along the longer side.
    fn along(&self, room: usize, floor: &Outline, first: usize) -> Way {
        const SLIMMEST: f64 = 1.0;
        let long = super::super::outline::long_side_direction(floor.corners());
        let entry = self.entry(room, first).filter(|_| floor.area().in_square_metres() > SLIMMEST);
        let Some(entry) = entry else { return long };
        let edges = super::super::outline::edges(&floor.anticlockwise()).collect::<Vec<_>>();
        let far = |(from, to): (Point, Point)| from.towards(to, nearest_share(from, to, entry)).metres_to(entry);
        let wall = edges.into_iter().min_by(|one, other| far(*one).total_cmp(&far(*other)));
        match wall {
            Some((from, to)) => {
                let (way, length) = (from.to(to), from.metres_to(to));
                let unit = Way { x: way.x / length, y: way.y / length };
                // Always the same way along a wall, whichever way the outline is drawn.
                if unit.dot(long) < 0.0 { Way { x: -unit.x, y: -unit.y } } else { unit }
            }
            None => long,
        }
    }

    /// Where the tails of a loop come into its room: the last doorway on the way, or the manifold if it is there.
    fn entry(&self, room: usize, number: usize) -> Option<Point> {
        let manifold = self.wanted[number].manifold?;
        let chain = self.chain(number)?;
        Some(match chain.last() {
            Some(&last) if self.wanted[number].room == room => self.passages[last].middle(),
            _ => manifold,
        })
    }

    /// The room that a manifold stands in, or the nearest.
    pub(super) fn room_of(&self, manifold: Point) -> Option<usize> {
        let far = |room: &usize| self.floors[*room].outline.straight_distance(manifold).in_metres();
        (0..self.floors.len()).min_by(|one, other| far(one).total_cmp(&far(other)))
    }

    /// The passages from the manifold to the room of a loop, the way through their middles being the shortest.
    pub(super) fn chain(&self, number: usize) -> Option<Vec<usize>> {
        let goal = self.wanted[number].room;
        let manifold = self.wanted[number].manifold?;
        let start = self.homes[number]?;
        if start == goal {
            return Some(Vec::new());
        }
        /// A passage on the way: how far it is, the room behind it, the passage before it.
        struct Step {
            far: f64,
            into: usize,
            before: Option<usize>,
            is_left: bool,
        }
        let mut steps: BTreeMap<usize, Step> = BTreeMap::new();
        let reach = |steps: &mut BTreeMap<usize, Step>, room: usize, far: f64, at: Point, before: Option<usize>| {
            for &next in self.of_rooms.get(&room).into_iter().flatten() {
                let passage = &self.passages[next];
                let [one, other] = passage.rooms;
                let step = Step {
                    far: far + passage.middle().metres_to(at),
                    into: if room == one { other } else { one },
                    before,
                    is_left: false,
                };
                let nearer = steps.get(&next).is_none_or(|known| !known.is_left && step.far < known.far);
                if nearer && passage.only.is_none_or(|only| only == number) {
                    steps.insert(next, step);
                }
            }
        };
        reach(&mut steps, start, 0.0, manifold, None);
        loop {
            let open = steps.iter_mut().filter(|(_, step)| !step.is_left);
            let (&next, step) = open.min_by(|one, other| one.1.far.total_cmp(&other.1.far))?;
            step.is_left = true;
            let (far, into) = (step.far, step.into);
            if into == goal {
                let mut chain = vec![next];
                while let Some(before) = steps.get(&chain[chain.len() - 1]).and_then(|step| step.before) {
                    chain.push(before);
                }
                chain.reverse();
                return Some(chain);
            }
            reach(&mut steps, into, far, self.passages[next].middle(), Some(next));
        }
    }

    /// The room on the other side of a passage.
    pub(super) fn other_side(&self, passage: usize, room: usize) -> usize {
        let [one, other] = self.passages[passage].rooms;
        if one == room { other } else { one }
    }

    /// Floor of a room over which the middle of a pair of tails may go.
    pub(super) fn ground(&self, room: usize, taken: &[Vec<Point>]) -> Shapes {
        let half = APART / 2.0;
        self.floor(room, self.edge(room) + half, -half, taken)
    }

    /// Floor of a room so far from its walls, and so much nearer to what stands in it than pipe may come.
    fn floor(&self, room: usize, edge: f64, nearer: f64, taken: &[Vec<Point>]) -> Shapes {
        let ground = moved(&shapes(self.floors[room].outline), -edge);
        let bounds = Bounds::around(ground.iter().flatten().flatten().copied());
        let near = |line: &&Vec<Point>| Bounds::around(line.iter().copied()).touches(&bounds);
        let mut things: Vec<Vec<Point>> = taken.iter().filter(near).cloned().collect();
        if !self.drawn.is_empty() {
            things.extend(self.strips_of_drawn(self.floors[room].outline, 1.5 * APART));
        }
        for (thing, off) in self.floors[room].keep_clear.iter().chain(&self.floors[room].things) {
            let grown = moved(&shapes(thing), off.in_metres() - nearer);
            things.extend(grown.into_iter().filter_map(|shape| shape.into_iter().next()));
        }
        if things.is_empty() { ground } else { overlay(&ground, &things, OverlayRule::Difference) }
    }

    /// How far pipe stays from the walls of a room: as its own loops do, else as is usual.
    pub(super) fn edge(&self, room: usize) -> f64 {
        let own = self.wanted.iter().filter(|wanted| wanted.room == room).filter_map(Measures::new);
        let least = self.wanted.iter().map(|wanted| wanted.least_edge.in_metres()).fold(0.0, f64::max);
        own.map(|measures| measures.edge)
            .fold(None, |most: Option<f64>, it| Some(most.map_or(it, |most| most.max(it))))
            .unwrap_or(USUAL_EDGE.in_metres())
            .max(least)
    }

    /// Takes the ways of other loops' tails out of the floor that each loop heats.
    fn leave_ways_free(&self, parts: &mut [Result<Part, NoField>], ways: &[Result<Vec<Point>, NoTails>]) {
        let around = |way: &Vec<Point>| Bounds::around(way.iter().copied());
        let boxes: Vec<Option<Bounds>> = ways.iter().map(|way| way.as_ref().ok().map(around)).collect();
        for (number, part) in parts.iter_mut().enumerate() {
            let Ok(part) = part else { continue };
            let half = APART / 2.0 + APART.max(TO_TAILS * part.measures.spacing);
            let bounds = Bounds::around(part.floor.iter().flatten().flatten().copied()).wider(half);
            let near = |other: &usize| *other != number && boxes[*other].is_some_and(|it| it.touches(&bounds));
            let others = (0..ways.len()).filter(near).filter_map(|other| ways[other].as_ref().ok());
            let taken: Vec<Vec<Point>> = others.map(|way| strip(way, half)).collect();
            if !taken.is_empty() {
                let left = overlay(&part.floor, &taken, OverlayRule::Difference);
                let left = opened_floor(&left, part.measures.narrowest());
                part.to_tails = square_metres(&part.floor) - square_metres(&left);
                part.floor = left;
            }
        }
    }

    /// Makes the whole routes bendable, tails and where they are joined included.
    fn ease(&self, parts: &[Result<Part, NoField>], fields: &mut [Result<Field, NoField>]) {
        let mut numbers = Vec::new();
        let mut lines = Vec::new();
        for (number, (field, part)) in fields.iter_mut().zip(parts).enumerate() {
            if let (Ok(field), Ok(part)) = (field, part) {
                let points = std::mem::take(&mut field.line);
                numbers.push(number);
                lines.push(bends::Line { points, closed: false, radius: part.measures.radius });
            }
        }
        let lost = bends::ease(&mut lines, || self.fence(), BETWEEN_BULBS, AT_MANIFOLD.in_metres());
        for ((number, line), lost) in numbers.into_iter().zip(lines).zip(lost) {
            if let Ok(field) = &mut fields[number] {
                field.line = line.points;
                field.closed.lost += lost;
            }
        }
    }

    /// The edges of the floor on which pipe may lie in each room, the jambs of the doorways, and routes that lie there.
    fn fence(&self) -> bends::Fence {
        const FROM_JAMB: f64 = 0.04;
        let least = self.wanted.iter().map(|wanted| wanted.least_edge.in_metres()).fold(0.0, f64::max);
        let mut lines: Vec<(Point, Point)> = Vec::new();
        for room in 0..self.floors.len() {
            let floor = self.floor(room, least - ROUNDING, ROUNDING, &[]);
            lines.extend(floor.iter().flatten().flat_map(|line| super::super::outline::edges(line)));
        }
        for passage in self.passages {
            let (from, to) = (passage.from, passage.to);
            let width = from.metres_to(to).max(HAIR);
            let across = Way { x: (from.y - to.y) / width, y: (to.x - from.x) / width };
            let half = passage.depth.in_metres() / 2.0 + least;
            for jamb in [FROM_JAMB, width - FROM_JAMB] {
                let at = from.towards(to, jamb / width);
                let end = |by: f64| Point::new(at.x + across.x * by, at.y + across.y * by);
                lines.push((end(-half), end(half)));
            }
        }
        for (route, _) in self.drawn {
            lines.extend(route.points().windows(2).map(|two| (two[0], two[1])));
        }
        bends::Fence::new(lines)
    }

    /// The routes, with what is to be said of each; where two cross after all, the tails of the later one are left out.
    fn finished(
        &self,
        parts: &[Result<Part, NoField>],
        mut fields: Vec<Result<Field, NoField>>,
    ) -> Vec<Result<Laid, NoField>> {
        let route = |line: &[Point]| Route::new(line);
        let mut routes: Vec<Option<Route>> =
            fields.iter().map(|field| field.as_ref().ok().and_then(|it| route(&it.line).ok())).collect();
        // Once or twice is enough, unless tails that are left out make others cross that did not: then all of them go.
        for round in 0..4 {
            let numbers: Vec<usize> = (0..routes.len()).filter(|&at| routes[at].is_some()).collect();
            let meetings = route_meetings(&routes.iter().flatten().collect::<Vec<_>>());
            let mut left_out: Vec<usize> = Vec::new();
            for meeting in &meetings.all {
                let pair = [meeting.second.route, meeting.first.route].map(|at| numbers[at]);
                let has_tails = |at: &usize| fields[*at].as_ref().is_ok_and(|field| field.without_tails.is_none());
                if round < 3 && pair.iter().any(|at| left_out.contains(at)) {
                    continue;
                }
                left_out.extend(pair.into_iter().filter(has_tails).take(if round < 3 { 1 } else { 2 }));
            }
            if left_out.is_empty() {
                break;
            }
            for number in left_out {
                if let (Ok(field), Ok(part)) = (&mut fields[number], &parts[number]) {
                    field.without_tails = Some(NoTails::NoWay);
                    field.line = opened(&field.closed.line, None, part.measures.radius);
                    routes[number] = route(&field.line).ok();
                }
            }
        }
        let covered = self.covered(&routes);
        fields
            .into_iter()
            .zip(routes)
            .zip(parts)
            .enumerate()
            .map(|(number, ((field, route), part))| {
                let Field { closed: field, without_tails, .. } = field?;
                let (Some(route), Ok(part)) = (route, part) else { return Err(NoField::TooNarrow) };
                let covered = covered.get(&self.wanted[number].room).copied().unwrap_or_default();
                Ok(Laid {
                    tight_turns: tight_turns(&route, self.wanted[number].bend_radius),
                    route,
                    without_tails,
                    changed_pattern: part.measures.pattern != self.wanted[number].pattern,
                    spacing: Length::metres(field.spacing),
                    covered,
                    uncovered: if covered < ENOUGH_COVERED { uncovered(part, &field) } else { Vec::new() },
                })
            })
            .collect()
    }

    /// How much of each room's free floor its loops cover.
    fn covered(&self, routes: &[Option<Route>]) -> BTreeMap<usize, Share> {
        let mut rooms: Vec<usize> = self.wanted.iter().map(|wanted| wanted.room).collect();
        rooms.sort_unstable();
        rooms.dedup();
        let of_room = |room: usize| {
            let floor = self.floors.get(room)?;
            let runs: Vec<Run> = self
                .wanted
                .iter()
                .zip(routes)
                .filter_map(|(wanted, route)| {
                    // Tails of other rooms' loops are warm too.
                    let route = route.as_ref().filter(|route| route.bounds().touches(&floor.outline.bounds()))?;
                    let stretch: Stretch = route.whole();
                    Some(Run { route, stretch, spacing: wanted.spacing })
                })
                .collect();
            let things: Vec<&Outline> = floor.keep_clear.iter().map(|(thing, _)| *thing).collect();
            coverage(floor.outline, &things, &runs).map(|it| (room, it.covered))
        };
        rooms.into_iter().filter_map(of_room).collect()
    }
}

fn shapes(outline: &Outline) -> Shapes {
    vec![vec![outline.anticlockwise()]]
}

fn tight_turns(route: &Route, radius: Length) -> Vec<Corner> {
    let field = AT_MANIFOLD..route.length() - AT_MANIFOLD;
    route.tight_corners(radius).filter(|corner| field.contains(&corner.along)).collect()
}

/// Why so much floor is not covered: what is known to be lost, or else that runs do not fit.
fn uncovered(part: &Part, field: &Closed) -> Vec<Uncovered> {
    let area = square_metres(&part.floor);
    let matters = |lost: f64| lost > 0.01 * area;
    let mut reasons = Vec::new();
    if matters(part.too_narrow) {
        reasons.push(Uncovered::TooNarrow(Area::square_metres(part.too_narrow)));
    }
    if matters(field.cut_off) {
        reasons.push(Uncovered::CutOff(Area::square_metres(field.cut_off)));
    }
    let bends = field.lost * field.spacing;
    if matters(bends) {
        reasons.push(Uncovered::Bends(Area::square_metres(bends)));
    }
    if matters(part.to_tails) {
        reasons.push(Uncovered::Tails(Area::square_metres(part.to_tails)));
    }
    if part.measures.edge > part.measures.spacing / 2.0 + 0.005 {
        reasons.push(Uncovered::Edge(Length::metres(part.measures.edge)));
    }
    if reasons.is_empty() {
        reasons.push(Uncovered::Remainder);
    }
    reasons
}

impl Passage {
    pub(super) fn middle(&self) -> Point {
        self.from.towards(self.to, 0.5)
    }
}
