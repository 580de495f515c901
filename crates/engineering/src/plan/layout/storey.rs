//! A storey: which loop heats which part of which floor, the ways of the tails, and then the routes.

use super::super::free_area::{Shapes, square_metres};
use super::super::point::{Way, nearest_share};
use super::super::{Bounds, Outline, Point, Route, Run, Stretch, coverage, route_meetings};
use super::ground::{HAIR, moved, opened as opened_floor, overlay, region};
use super::tails::{beside, shortest, strip};
use super::zone::Zone;
use super::{
    Closed, ENOUGH_COVERED, Floor, Laid, MOST_PIPE, Measures, NoField, NoTails, Passage, Storey, Uncovered, Wanted,
    closed, turns,
};
use i_overlay::core::overlay_rule::OverlayRule;
use quantity::{Area, Length, Share};
use std::collections::BTreeMap;

/// From pipe to pipe between the two tails of a loop, and between those of two loops, in metres.
const APART: f64 = 0.075;

/// How deep the floor at a manifold is left to the tails of a loop, in metres.
const AT_MANIFOLD: f64 = 0.3;

/// From the jamb of a doorway to the nearest tail, in metres.
const FROM_JAMB: f64 = 0.05;

/// What of a floor a loop heats, in metres from the storey's own origin.
struct Part {
    measures: Measures,
    floor: Shapes,
    too_narrow: f64,
}

/// A closed line over a part of a floor, and what becomes of it: opened, with its tails or without.
struct Field {
    closed: Closed,
    line: Vec<Point>,
    without_tails: Option<NoTails>,
}

/// Where a pair of tails begins.
struct Start {
    at: Point,
    /// Where it may first turn.
    turns: Point,
    /// Counted from the left.
    place: usize,
    /// Counted from whichever end of the row it turns to.
    rank: usize,
}

/// A pair of tails straight through a doorway.
struct Lane {
    into: Point,
    out: Point,
    /// The room it comes to.
    room: usize,
}

/// Lays loops out over the floors of one storey, in order of the loops, which share the floor of a room and the doors.
///
/// Every route crosses neither itself nor another. The same input gives the same routes.
pub fn lay_out(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let (floors, passages, drawn) = (&storey.floors[..], &storey.passages[..], &storey.drawn[..]);
    let Some(origin) = floors
        .iter()
        .map(|floor| floor.outline.bounds().low)
        .reduce(|one, other| Point::new(one.x.min(other.x), one.y.min(other.y)))
    else {
        return wanted.iter().map(|_| Err(NoField::TooNarrow)).collect();
    };
    let mut storey = Laying { floors, passages, drawn, wanted, origin, homes: Vec::new(), of_rooms: BTreeMap::new() };
    storey.homes = wanted.iter().map(|wanted| wanted.manifold.and_then(|at| storey.room_of(at))).collect();
    for (number, passage) in passages.iter().enumerate() {
        for room in passage.rooms {
            storey.of_rooms.entry(room).or_default().push(number);
        }
    }
    let mut parts = storey.parts();
    let ways = storey.ways(&parts);
    let around = |way: &Vec<Point>| Bounds::around(way.iter().copied()).wider(2.0 * APART);
    let boxes: Vec<Option<Bounds>> = ways.iter().map(|way| way.as_ref().ok().map(around)).collect();
    for (number, part) in parts.iter_mut().enumerate() {
        let Ok(part) = part else { continue };
        let half = APART / 2.0 + APART.max(part.measures.spacing / 2.0);
        let bounds = Bounds::around(part.floor.iter().flatten().flatten().copied()).wider(half);
        let near = |other: &usize| *other != number && boxes[*other].is_some_and(|it| it.touches(&bounds));
        let others = (0..ways.len()).filter(near).filter_map(|other| ways[other].as_ref().ok());
        let mut taken: Vec<Vec<Point>> = others.map(|way| strip(way, half)).collect();
        // At the manifold the floor is left to the tails.
        if let Ok(way) = &ways[number]
            && let [at, turns, ..] = way[..]
            && (super::ground::within(&part.floor, at) || super::ground::within(&part.floor, turns))
        {
            let depth = at.metres_to(turns).max(HAIR);
            let reach = AT_MANIFOLD / depth;
            let back = Point::new(at.x + (at.x - turns.x) * reach, at.y + (at.y - turns.y) * reach);
            let end = Point::new(at.x + (turns.x - at.x) * reach, at.y + (turns.y - at.y) * reach);
            // So wide that both tails can be bent on to the edge of the floor.
            taken.push(strip(&[back, end], APART / 2.0 + 2.1 * part.measures.radius));
        }
        if !taken.is_empty() {
            let left = overlay(&part.floor, &taken, OverlayRule::Difference);
            part.floor = opened_floor(&left, part.measures.narrowest());
        }
    }
    let fields = parts.iter().zip(&ways).enumerate().map(|(number, (part, way))| {
        let part = part.as_ref().map_err(|no| *no)?;
        let entry = way.as_ref().ok().and_then(|way| way.last().copied());
        let zone = storey.zone(wanted[number].room);
        let closed = closed(&part.floor, &part.measures, zone.as_ref(), entry).ok_or(NoField::TooNarrow)?;
        let tails = way.as_ref().map_err(|no| *no).and_then(|way| with_tails(&closed.line, way).ok_or(NoTails::NoWay));
        Ok(match tails {
            Ok(line) => Field { closed, line, without_tails: None },
            Err(no) => {
                let line = opened(&closed.line, entry, part.measures.radius);
                Field { closed, line, without_tails: Some(no) }
            }
        })
    });
    let fields = fields.collect();
    storey.finished(&parts, fields)
}

struct Laying<'a> {
    floors: &'a [Floor<'a>],
    passages: &'a [Passage],
    drawn: &'a [(&'a Route, Length)],
    wanted: &'a [Wanted],
    origin: Point,
    /// The room that the manifold of each loop stands in.
    homes: Vec<Option<usize>>,
    /// The passages of each room.
    of_rooms: BTreeMap<usize, Vec<usize>>,
}

impl Laying<'_> {
    fn local(&self, point: Point) -> Point {
        Point::new(point.x - self.origin.x, point.y - self.origin.y)
    }

    fn local_outline(&self, outline: &Outline) -> Shapes {
        vec![vec![outline.anticlockwise().into_iter().map(|point| self.local(point)).collect()]]
    }

    /// The edge zone of a room, if it has one that can be laid.
    fn zone(&self, room: usize) -> Option<Zone> {
        let zone = self.floors.get(room)?.edge_zone.as_ref()?;
        let (width, spacing) = (zone.width.in_metres(), zone.spacing.in_metres());
        let good = (0.01..10.0).contains(&spacing) && (0.0..100.0).contains(&width) && !zone.walls.is_empty();
        let walls = zone.walls.iter().map(|wall| wall.map(|point| self.local(point))).collect();
        good.then_some(Zone { width, spacing, walls })
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
            let (mut region, too_narrow) = region(bay, &things, self.origin, edge, narrowest);
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
                parts.push((number, Part { measures, floor, too_narrow: too_narrow / here.len() as f64 }));
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
            .map(|(from, to, half)| strip(&[self.local(from), self.local(to)], half))
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
    fn room_of(&self, manifold: Point) -> Option<usize> {
        let far = |room: &usize| self.floors[*room].outline.straight_distance(manifold).in_metres();
        (0..self.floors.len()).min_by(|one, other| far(one).total_cmp(&far(other)))
    }

    /// The passages from the manifold to the room of a loop, the way through their middles being the shortest.
    fn chain(&self, number: usize) -> Option<Vec<usize>> {
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

    /// The way of the middle of each loop's two tails, from the manifold to the part that it heats.
    fn ways(&self, parts: &[Result<Part, NoField>]) -> Vec<Result<Vec<Point>, NoTails>> {
        let chains: Vec<Result<Vec<usize>, NoTails>> = (0..self.wanted.len())
            .map(|number| match (&parts[number], self.wanted[number].manifold) {
                (_, None) => Err(NoTails::NoManifold),
                (Err(_), _) => Err(NoTails::NoWay),
                (Ok(_), Some(_)) => self.chain(number).ok_or(NoTails::NoWay),
            })
            .collect();
        let starts = self.starts(parts, &chains);
        let lanes = self.lanes(&starts, &chains, parts);
        let mut order: Vec<usize> = (0..starts.len()).filter(|&number| starts[number].is_some()).collect();
        order.sort_by_key(|&number| (starts[number].as_ref().map(|start| start.rank), number));
        let mut ways: Vec<Result<Vec<Point>, NoTails>> =
            chains.iter().map(|chain| Err(chain.as_ref().err().copied().unwrap_or(NoTails::NoWay))).collect();
        let mut taken: Vec<Vec<Point>> = Vec::new();
        for number in order {
            let (Ok(chain), Some(start), Ok(part)) = (&chains[number], &starts[number], &parts[number]) else {
                continue;
            };
            if let Some(way) = self.way(number, chain, start, &lanes, part, parts, &taken) {
                taken.push(strip(&way, 2.0 * APART - 0.002));
                ways[number] = Ok(way);
            }
        }
        ways
    }

    /// The way of one loop: through each room on the way to its lane in the next doorway, straight through, and on.
    #[allow(clippy::too_many_arguments)]
    fn way(
        &self,
        number: usize,
        chain: &[usize],
        start: &Start,
        lanes: &BTreeMap<(usize, usize), Lane>,
        part: &Part,
        parts: &[Result<Part, NoField>],
        taken: &[Vec<Point>],
    ) -> Option<Vec<Point>> {
        let mut room = self.homes[number]?;
        let mut way = vec![start.at];
        let mut here = start.turns;
        for passage in chain {
            let lane = lanes.get(&(number, *passage))?;
            let ground = self.ground(number, room, parts, taken);
            // A goal of no width.
            let (x, y) = (lane.into.x, lane.into.y);
            let goal = vec![vec![vec![lane.into, Point::new(x + HAIR, y), Point::new(x, y + HAIR)]]];
            way.extend(shortest(&ground, here, &goal)?);
            way.push(lane.into);
            here = lane.out;
            room = lane.room;
        }
        way.extend(shortest(&self.ground(number, room, parts, taken), here, &part.floor)?);
        way.dedup_by(|one, other| one.metres_to(*other) < 1e-5);
        Some(way)
    }

    /// Where the tails of each loop begin: side by side along the wall at the manifold. They go straight off it and turn
    /// one after the other, the outermost first.
    fn starts(&self, parts: &[Result<Part, NoField>], chains: &[Result<Vec<usize>, NoTails>]) -> Vec<Option<Start>> {
        let mut starts: Vec<Option<Start>> = (0..self.wanted.len()).map(|_| None).collect();
        let mut manifolds: Vec<Point> = Vec::new();
        for (number, wanted) in self.wanted.iter().enumerate() {
            if let (Some(at), Ok(_)) = (wanted.manifold, &chains[number])
                && !manifolds.contains(&at)
            {
                manifolds.push(at);
            }
        }
        for at in manifolds {
            let Some(room) = self.room_of(at) else { continue };
            let edge = self.floors[room].outline.nearest_edge(at);
            let corners = self.floors[room].outline.corners();
            let (from, to) = (corners[edge.edge], corners[(edge.edge + 1) % corners.len()]);
            let length = from.metres_to(to);
            let along = Way { x: (to.x - from.x) / length, y: (to.y - from.y) / length };
            // The room lies to the left of an outline drawn anticlockwise.
            let middle = from.towards(to, 0.5);
            let step = Point::new(middle.x - along.y * 1e-3, middle.y + along.x * 1e-3);
            let hand = if self.floors[room].outline.contains(step) { 1.0 } else { -1.0 };
            let inward = Way { x: -along.y * hand, y: along.x * hand };
            let right = Way { x: inward.y, y: -inward.x };
            // By the way to the first door, and behind it by the way on from it; from the left.
            let key = |number: usize| -> Vec<f64> {
                let chain = chains[number].as_deref().unwrap_or_default();
                let mut places = vec![at];
                places.extend(chain.iter().map(|&passage| self.passages[passage].middle()));
                places.push(self.middle_of(&parts[number]));
                let mut way = inward;
                let angles = places.windows(2).map(|two| {
                    let next = two[0].to(two[1]);
                    let angle = -way.cross(next).atan2(way.dot(next));
                    way = next;
                    // A door is a door: rounding must not part those that take it.
                    (angle * 1e6).round()
                });
                angles.collect()
            };
            let mut here: Vec<(Vec<f64>, usize)> = (0..self.wanted.len())
                .filter(|&number| self.wanted[number].manifold == Some(at) && chains[number].is_ok())
                .map(|number| (key(number), number))
                .collect();
            here.sort_by(|one, other| {
                let by_angle = one.0.iter().zip(&other.0).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne());
                by_angle.unwrap_or(std::cmp::Ordering::Equal).then(one.1.cmp(&other.1))
            });
            let count = here.len();
            let to_left = here.iter().filter(|(angles, _)| angles.first().is_some_and(|angle| *angle < 0.0)).count();
            for (place, (_, number)) in here.into_iter().enumerate() {
                let by = (place as f64 - (count as f64 - 1.0) / 2.0) * 2.0 * APART;
                let rank = if place < to_left { place } else { count - 1 - place };
                let off = 2.0 * APART * (rank + 1) as f64;
                let point = |by: f64, off: f64| {
                    Point::new(at.x + right.x * by + inward.x * off, at.y + right.y * by + inward.y * off)
                };
                starts[number] =
                    Some(Start { at: self.local(point(by, 0.0)), turns: self.local(point(by, off)), place, rank });
            }
        }
        starts
    }

    /// How the middle of each loop's pair of tails goes through each passage, by loop and passage: side by side, in the
    /// order in which they begin at the manifold.
    fn lanes(
        &self,
        starts: &[Option<Start>],
        chains: &[Result<Vec<usize>, NoTails>],
        parts: &[Result<Part, NoField>],
    ) -> BTreeMap<(usize, usize), Lane> {
        struct Through {
            place: usize,
            number: usize,
            room: usize,
            before: Point,
            after: Point,
        }
        let mut of_passages: BTreeMap<usize, Vec<Through>> = BTreeMap::new();
        for (number, chain) in chains.iter().enumerate() {
            let (Ok(chain), Some(start), Some(at)) = (chain, &starts[number], self.wanted[number].manifold) else {
                continue;
            };
            let mut room = self.homes[number].unwrap_or_default();
            for (step, &passage) in chain.iter().enumerate() {
                let [one, other] = self.passages[passage].rooms;
                room = if room == one { other } else { one };
                let before = if step == 0 { at } else { self.passages[chain[step - 1]].middle() };
                let after = chain
                    .get(step + 1)
                    .map_or_else(|| self.middle_of(&parts[number]), |&next| self.passages[next].middle());
                of_passages.entry(passage).or_default().push(Through {
                    place: start.place,
                    number,
                    room,
                    before,
                    after,
                });
            }
        }
        let mut lanes = BTreeMap::new();
        for (at, mut loops) in of_passages {
            loops.sort_by_key(|it| (it.place, it.number));
            let passage = &self.passages[at];
            let (middle, width) = (passage.middle(), passage.from.metres_to(passage.to).max(HAIR));
            let along = Way { x: (passage.to.x - passage.from.x) / width, y: (passage.to.y - passage.from.y) / width };
            let count = loops.len();
            let most = (width - 2.0 * FROM_JAMB - APART).max(0.0) / (count.max(2) - 1) as f64;
            for (place, it) in loops.into_iter().enumerate() {
                // Whether the room that it goes into lies to the left of the wall's line.
                let step = passage.depth.in_metres() / 2.0 + 0.05;
                let beside = Point::new(middle.x - along.y * step, middle.y + along.x * step);
                let hand = if self.floors[it.room].outline.contains(beside) { 1.0 } else { -1.0 };
                let into = Way { x: -along.y * hand, y: along.x * hand };
                let by = hand * (place as f64 - (count as f64 - 1.0) / 2.0) * (2.0 * APART).min(most);
                let edge = self.wanted[it.number].least_edge.in_metres() + APART / 2.0;
                let reach = passage.depth.in_metres() / 2.0 + edge + 0.01;
                // Pairs that turn together turn one after the other, so that they stay apart.
                let later = |came: Way, goes: Way| {
                    let turn = came.cross(goes) / (came.length() * goes.length()).max(HAIR);
                    let rank = if turn > 0.05 {
                        place
                    } else if turn < -0.05 {
                        count - 1 - place
                    } else {
                        0
                    };
                    2.0 * APART * rank as f64
                };
                let (before, after) = (later(it.before.to(middle), into), later(into, middle.to(it.after)));
                let point = |off: f64| {
                    self.local(Point::new(
                        middle.x + along.x * by + into.x * off,
                        middle.y + along.y * by + into.y * off,
                    ))
                };
                let lane = Lane { into: point(-reach - before), out: point(reach + after), room: it.room };
                lanes.insert((it.number, at), lane);
            }
        }
        lanes
    }

    /// The middle of the box round what a loop heats.
    fn middle_of(&self, part: &Result<Part, NoField>) -> Point {
        let bounds = Bounds::around(part.iter().flat_map(|part| part.floor.iter().flatten().flatten()).copied());
        let middle = bounds.low.towards(bounds.high, 0.5);
        Point::new(middle.x + self.origin.x, middle.y + self.origin.y)
    }

    /// Floor of a room over which the middle of a pair of tails may go: without what other tails have taken and what
    /// other loops need; along the walls there is room for tails.
    fn ground(&self, number: usize, room: usize, parts: &[Result<Part, NoField>], taken: &[Vec<Point>]) -> Shapes {
        let half = APART / 2.0;
        let edge = self.wanted[number].least_edge.in_metres() + half;
        let ground = moved(&self.local_outline(self.floors[room].outline), -edge);
        let bounds = Bounds::around(ground.iter().flatten().flatten().copied());
        let near = |line: &&Vec<Point>| Bounds::around(line.iter().copied()).touches(&bounds);
        let mut things: Vec<Vec<Point>> = taken.iter().filter(near).cloned().collect();
        if !self.drawn.is_empty() {
            things.extend(self.strips_of_drawn(self.floors[room].outline, 1.5 * APART));
        }
        for (thing, off) in self.floors[room].keep_clear.iter().chain(&self.floors[room].things) {
            let grown = moved(&self.local_outline(thing), off.in_metres() + half);
            things.extend(grown.into_iter().filter_map(|shape| shape.into_iter().next()));
        }
        let sharing = self.wanted.iter().filter(|it| it.room == room).count().max(2);
        let band = 2.0 * APART * sharing as f64;
        for (other, part) in parts.iter().enumerate() {
            if let Ok(part) = part
                && other != number
                && self.wanted[other].room == room
            {
                things.extend(moved(&part.floor, -band).into_iter().filter_map(|shape| shape.into_iter().next()));
            }
        }
        if things.is_empty() { ground } else { overlay(&ground, &things, OverlayRule::Difference) }
    }

    /// The routes, with what is to be said of each; where two cross after all, the tails of the later one are left out.
    fn finished(
        &self,
        parts: &[Result<Part, NoField>],
        mut fields: Vec<Result<Field, NoField>>,
    ) -> Vec<Result<Laid, NoField>> {
        let route = |line: &[Point]| {
            let points: Vec<Point> =
                line.iter().map(|point| Point::new(point.x + self.origin.x, point.y + self.origin.y)).collect();
            Route::new(&points)
        };
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
                    tight_turns: turns::tight(&field.line, part.measures.radius),
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
    if part.measures.edge > part.measures.spacing / 2.0 + 0.005 {
        reasons.push(Uncovered::Edge(Length::metres(part.measures.edge)));
    }
    if reasons.is_empty() {
        reasons.push(Uncovered::Remainder);
    }
    reasons
}

impl Passage {
    fn middle(&self) -> Point {
        self.from.towards(self.to, 0.5)
    }
}

/// A closed line opened nearest to the entry; its two ends lie side by side.
fn opened(line: &[Point], entry: Option<Point>, radius: f64) -> Vec<Point> {
    let count = line.len();
    let at = |number: usize| line[number % count];
    let wanted = APART + 4.0 * radius;
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
    let half = (APART / 2.0 / from.metres_to(to).max(HAIR)).min(0.25);
    let mut open = vec![from.towards(to, share + half)];
    open.extend((1..=count).map(|number| at(leg + number)));
    open.push(from.towards(to, share - half));
    open
}

/// Where a way first comes to a closed line: the leg of the way, the leg of the line, the place.
fn first_meeting(line: &[Point], way: &[Point]) -> Option<(usize, usize, Point)> {
    let count = line.len();
    way.windows(2).enumerate().find_map(|(step, two)| {
        let (a, b) = (two[0], two[1]);
        let met = (0..count).filter_map(|leg| {
            let (c, d) = (line[leg], line[(leg + 1) % count]);
            let (one, other) = super::super::point::nearest_shares(a, b, c, d);
            let (here, there) = (a.towards(b, one), c.towards(d, other));
            (here.metres_to(there) < HAIR).then_some((one, leg, there))
        });
        let first = met.min_by(|one, other| one.0.total_cmp(&other.0));
        first.map(|(_, leg, at)| (step, leg, at))
    })
}

/// A closed line opened where a pair of tails comes to it, and joined to both; nothing if they cannot reach it without
/// crossing it.
fn with_tails(line: &[Point], way: &[Point]) -> Option<Vec<Point>> {
    const TRIED: usize = 12;
    let count = line.len();
    let at = |number: usize| line[number % count];
    let end = *way.last()?;
    let came = match way {
        [.., before, end] => before.to(*end),
        _ => Way { x: 0.0, y: 0.0 },
    };
    let mut legs: Vec<(f64, usize, f64)> = (0..count)
        .filter_map(|leg| {
            let (from, to) = (at(leg), at(leg + 1));
            let length = from.metres_to(to);
            if length < 1.5 * APART {
                return None;
            }
            let margin = APART / 2.0 / length;
            let share = nearest_share(from, to, end).clamp(margin, 1.0 - margin);
            let far = from.towards(to, share).metres_to(end);
            // Square to the leg is best.
            let along = from.to(to).dot(came).abs() / (length * came.length()).max(HAIR);
            Some((far + 0.05 * along, leg, share))
        })
        .collect();
    legs.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
    legs.truncate(TRIED);
    // A way that comes over the line ends there.
    let first = first_meeting(line, way);
    let cut: Vec<Point> = match first {
        Some((step, _, at)) => way[..=step].iter().copied().chain([at]).collect(),
        None => way.to_vec(),
    };
    let way = &cut[..];
    if let Some((_, leg, at)) = first {
        let (from, to) = (line[leg], line[(leg + 1) % count]);
        let length = from.metres_to(to);
        let margin = APART / 2.0 / length;
        if margin < 0.5 {
            legs.insert(0, (0.0, leg, (from.metres_to(at) / length).clamp(margin, 1.0 - margin)));
        }
    }
    for (_, leg, share) in legs {
        let (from, to) = (at(leg), at(leg + 1));
        let half = APART / 2.0 / from.metres_to(to);
        let (first, last) = (from.towards(to, share + half), from.towards(to, share - half));
        // The way goes on to the line, so that both tails end where they join it.
        let mut way = way.to_vec();
        let on = from.towards(to, share);
        if let [.., _, end] = &mut way[..]
            && end.metres_to(on) < APART
        {
            *end = on;
        } else {
            way.push(on);
        }
        way.dedup_by(|one, other| one.metres_to(*other) < HAIR);
        if way.len() < 2 {
            continue;
        }
        for hand in [1.0, -1.0] {
            let mut flow = beside(&way, hand * APART / 2.0);
            let mut back = beside(&way, -hand * APART / 2.0);
            flow.pop();
            back.pop();
            let mut whole = flow;
            whole.push(first);
            whole.extend((1..=count).map(|number| at(leg + number)));
            whole.push(last);
            back.reverse();
            whole.extend(back);
            whole.dedup_by(|one, other| one.metres_to(*other) < HAIR);
            let crosses = Route::new(&whole).map_or(true, |route| !route_meetings(&[&route]).all.is_empty());
            if !crosses {
                return Some(whole);
            }
        }
    }
    None
}
