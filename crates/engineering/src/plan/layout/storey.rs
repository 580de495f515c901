//! A storey: which loop heats which part of which floor, the ways of the tails, and then the routes.

use super::super::box_tree::BoxTree;
use super::super::free_area::{Shapes, square_metres};
use super::super::point::{Way, nearest_share};
use super::super::{Bounds, Outline, Point, Route, Run, coverage, route_meetings};
use super::frame::Frame;
use super::ground::{HAIR, moved, opened as opened_floor, overlay, region, within};
use super::islands;
use super::joins::{self, opened};
use super::near::{self, Pipe, bent};
use super::round_corners::Corners;
use super::spread::{self, spread};
use super::standing::Standing;
use super::tails::strip;
use super::zone::Zone;
use super::{
    Changed, Closed, ENOUGH_COVERED, Floor, Laid, MOST_BAYS, MOST_CORNERS, MOST_CROSSINGS, MOST_PIPE,
    MOST_SHARP_CORNERS, Measures, NoField, NoTails, Passage, Pattern, ROOMY, ROUNDING, Storey, TooNear, USUAL_EDGE,
    Uncovered, Wanted, bendable, bends, between, closed, other_lines,
};
use i_overlay::core::overlay_rule::OverlayRule;
use quantity::{Area, Length, Share};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

/// How far behind the face of a wall a manifold may hang and still be of that room, in metres.
pub(super) const IN_A_WALL: f64 = 1.0;

/// So much more than the least lies between drawn pipe and what is laid beside it, in metres.
const BESIDE_DRAWN: f64 = 0.01;

/// From a tail to the nearest run of another loop's field, in spacings of that.
const TO_TAILS: f64 = 0.9;

/// What of a floor a loop heats.
#[derive(Clone)]
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
    /// How many of the first and of the last points of the line are tails.
    tails: (usize, usize),
    without_tails: Option<NoTails>,
    /// Floor of the loop's other rooms or bays that could not be let into its tails, in square metres.
    not_passed: f64,
}

impl Field {
    fn alone(closed: Closed, line: Vec<Point>) -> Field {
        Field { closed, line, tails: (0, 0), without_tails: None, not_passed: 0.0 }
    }
}

/// Lays loops out over the floors of one storey, in order of the loops, which share the floor of a room and the doors.
///
/// Every route crosses neither itself nor another. The same input gives the same routes, and so does the same storey drawn
/// elsewhere, turned or mirrored.
pub fn lay_out(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let laid = Frame::of(storey, wanted).and_then(|frame| frame.lay_out(storey, wanted, lay_out_here));
    laid.unwrap_or_else(|| wanted.iter().map(|_| Err(NoField::TooNarrow)).collect())
}

/// Each island by itself.
fn lay_out_here(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let mut all: Vec<Result<Laid, NoField>> = wanted.iter().map(|_| Err(NoField::TooNarrow)).collect();
    for island in islands::of(storey, wanted) {
        if island.wanted.iter().all(|wanted| wanted.drawn.is_some()) {
            continue;
        }
        let laid = lay_out_island(&island.storey, &island.wanted);
        for (number, laid) in island.in_storey(laid) {
            all[number] = laid;
        }
    }
    all
}

fn lay_out_island(storey: &Storey, wanted: &[Wanted]) -> Vec<Result<Laid, NoField>> {
    let mut laying = Laying::new(storey, wanted);
    let Some(mut best) = best_found(&mut laying) else { return Vec::new() };
    // The way through walls that are named is taken where it is shorter; where it does not come about, one through doorways
    // alone may.
    if let Some(passages) = laying.by_doorways(&best)
        && let storey = (Storey { passages, ..storey.clone() })
        && let Some(other) = best_found(&mut Laying::new(&storey, wanted))
        && other.fault < best.fault
    {
        best = other;
    }
    best.laid
}

/// The best of all ways in which an island can be laid out.
fn best_found(laying: &mut Laying) -> Option<Found> {
    let parts = laying.parts();
    laying.choose_carriers(&parts);
    let mut patterns = Patterns::new();
    let mut best: Option<Found> = None;
    let mut tried: Vec<(f64, Ways)> = Vec::new();
    let is_laborious = laying.is_laborious();
    for (tails, well) in TAILS.into_iter().take(if is_laborious { 2 } else { TAILS.len() }) {
        if best.as_ref().is_some_and(|best| best.fault <= well) {
            break;
        }
        laying.tails = tails;
        let ways = laying.ways(&parts);
        // Short cuts that cut nothing short lay out the same.
        if tried.iter().any(|(apart, known)| (*apart, known) == (tails.apart, &ways)) {
            continue;
        }
        tried.push((tails.apart, ways.clone()));
        let worst = best.as_ref().map_or(f64::INFINITY, |best| best.fault);
        let Some(found) = laying.found(&parts, ways, Trial::default(), worst, &mut patterns) else { continue };
        let may_be_better = found.fault < worst + MENDED_BY_WARMTH;
        let found = if may_be_better { laying.warmer(&parts, found, SPREAD, &mut patterns) } else { found };
        if best.as_ref().is_none_or(|best| found.fault < best.fault) {
            best = Some(found);
        }
    }
    let mut best = best?;
    laying.tails = best.tails;
    // What was kept free for tails that were not joined after all goes back to the floors there.
    let mut ways = best.ways.clone();
    for (number, way) in ways.iter_mut().enumerate() {
        if let Ok(Some(no)) = best.laid[laying.loops[number]].as_ref().map(|laid| laid.without_tails) {
            *way = Err(no);
        }
    }
    if ways != best.ways
        && let Some(given_back) = laying.found(&parts, ways, Trial::default(), f64::INFINITY, &mut patterns)
    {
        let given_back = laying.warmer(&parts, given_back, SPREAD, &mut patterns);
        if given_back.fault < best.fault {
            best = given_back;
        }
    }
    Some(laying.warmer(&parts, best, if is_laborious { &[] } else { WARMER }, &mut patterns))
}

/// All loops of an island laid out in one way, and how bad that is.
struct Found {
    tails: Tails,
    ways: Ways,
    trial: Trial,
    laid: Vec<Result<Laid, NoField>>,
    fault: f64,
}

impl Found {
    fn is_better_than(&self, other: &Found) -> bool {
        let how_cold = |it: &Found| -> f64 {
            let less = |laid: &Laid| (ENOUGH_COVERED.in_fraction() - laid.covered.in_fraction()).max(0.0);
            it.laid.iter().flatten().map(less).sum()
        };
        self.fault < other.fault || (self.fault == other.fault && how_cold(self) < how_cold(other))
    }

    /// The rooms that stay cold.
    fn cold(&self) -> BTreeSet<usize> {
        let rooms = self.laid.iter().flatten().flat_map(|laid| laid.rooms.iter());
        rooms.filter(|it| it.1 < ENOUGH_COVERED).map(|it| it.0).collect()
    }
}

/// What is done for rooms that stay cold.
#[derive(Clone, Default)]
struct Trial {
    /// The rooms: pipe there is spread.
    cold: BTreeSet<usize>,
    /// Whether the warmest pattern is taken.
    warmest: bool,
    /// Into which loops floor that no pipe reaches is let in, and how near to other pipe that may lie, in spacings: one
    /// after the other.
    let_in: Vec<(LetIn, f64)>,
}

/// Into which loops floor that no pipe reaches is let in.
#[derive(Clone, Copy, PartialEq)]
enum LetIn {
    /// Those of its room.
    ByOwn,
    /// All that pass there.
    ByAll,
}

/// So near pipe is laid to other pipe to reach floor that would stay cold, in spacings.
const CLOSE: f64 = 0.6;

/// What is tried first where rooms stay cold.
const SPREAD: &[fn(&mut Trial)] = &[|_| ()];

/// What is tried besides, each on top of what was better: what changes least comes first.
const WARMER: &[fn(&mut Trial)] = &[
    |trial| trial.warmest = true,
    |trial| trial.let_in.push((LetIn::ByOwn, TO_TAILS)),
    |trial| trial.let_in.push((LetIn::ByOwn, CLOSE)),
    |trial| trial.let_in.push((LetIn::ByAll, TO_TAILS)),
    |trial| trial.let_in.push((LetIn::ByAll, CLOSE)),
];

/// The tails of each piece, as the line in the middle of the two.
type Ways = Vec<Result<Vec<Point>, NoTails>>;

/// How tails are led.
#[derive(Clone, Copy)]
pub(super) struct Tails {
    /// From tail to tail, in metres, of one loop and of two.
    pub apart: f64,
    /// Straight over the floor, where the way along the walls is long.
    pub short_cuts: bool,
}

/// What is tried one after the other until no more is wrong with the loops than so much: first what is usual, then closer
/// together; between the two other floor is left to the fields, in which tails may be joined and pipe bent where they were
/// not, or what is clearly cold may be warmer.
const TAILS: [(Tails, f64); 6] = [
    (Tails { apart: 0.075, short_cuts: false }, 0.0),
    (Tails { apart: 0.075, short_cuts: true }, 0.0),
    (Tails { apart: 0.05, short_cuts: false }, 0.0),
    (Tails { apart: 0.05, short_cuts: true }, 0.0),
    (Tails { apart: 0.06, short_cuts: false }, CLEARLY_COLD),
    (Tails { apart: 0.067, short_cuts: false }, CLEARLY_COLD),
];

/// How bad floor is at most that spreading the pipe there warms: five per cent of it.
const MENDED_BY_WARMTH: f64 = 1.0;

/// How bad floor is that stays cold by a per cent and a half.
const CLEARLY_COLD: f64 = 0.3;

/// What was laid over a floor from a place before, by the number of the piece and whether it is the warmest.
type Patterns = BTreeMap<(usize, bool), Vec<(Shapes, Option<Point>, Closed)>>;

/// How bad it is that a loop is without its tails.
const NO_TAILS: f64 = 10.0;

/// How bad a loop is laid out, as far as other ways of the tails may help: worst without its own, then with pipe that does
/// not bend or lies too near to other pipe, then with cold floor where tails pass.
fn fault_of(laid: &Laid, tails_pass: bool) -> f64 {
    let no_tails = if laid.without_tails.is_some_and(|no| no != NoTails::NoManifold) { NO_TAILS } else { 0.0 };
    let bad_pipe = if laid.tight_turns.is_empty() && laid.too_near.is_none() { 0.0 } else { 3.0 };
    let cold = (ENOUGH_COVERED.in_fraction() - laid.covered.in_fraction()).max(0.0);
    no_tails + bad_pipe + if tails_pass { 20.0 * cold } else { 0.0 }
}

/// The bay in which each piece of a room that joints cut is laid. Of several loops each gets bays of its own, or shares one
/// with others where there are more loops than bays; where there are fewer, more pieces come in: a loop lays several bays
/// that follow each other from the manifold on, one by one.
fn bays_of_pieces(floors: &[Floor], cut_up: &[bool], pieces: &mut Vec<(usize, Wanted)>) -> Vec<Option<usize>> {
    let mut of_rooms: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    // A bay in which a drawn loop lies is that loop's.
    let mut of_drawn: BTreeSet<(usize, usize)> = BTreeSet::new();
    for (piece, (_, wanted)) in pieces.iter().enumerate() {
        let Some(floor) = floors.get(wanted.room).filter(|floor| floor.bays.len() > 1) else { continue };
        match &wanted.drawn {
            Some(route) => of_drawn.extend(bay_of(route, &floor.bays).map(|bay| (wanted.room, bay))),
            None if !cut_up[wanted.room] => of_rooms.entry(wanted.room).or_default().push(piece),
            None => {}
        }
    }
    let mut bays: Vec<Option<usize>> = vec![None; pieces.len()];
    for (room, here) in of_rooms {
        let area = |bay: &usize| floors[room].bays[*bay].area().in_square_metres();
        let all = || 0..floors[room].bays.len();
        let mut in_order: Vec<usize> = all().filter(|bay| !of_drawn.contains(&(room, *bay))).collect();
        if in_order.is_empty() {
            in_order = all().collect();
        }
        if in_order.len() <= here.len() {
            // One for each, and the rest one after the other to where most area is left for each.
            let mut count = vec![1; floors[room].bays.len()];
            for _ in in_order.len()..here.len() {
                let share = |bay: &usize| area(bay) / f64::from(count[*bay]);
                let most =
                    in_order.iter().max_by(|one, other| share(one).total_cmp(&share(other)).then(other.cmp(one)));
                count[most.copied().unwrap_or(0)] += 1;
            }
            let each = in_order.iter().flat_map(|&bay| (0..count[bay]).map(move |_| bay));
            here.iter().zip(each).for_each(|(&piece, bay)| bays[piece] = Some(bay));
            continue;
        }
        if let Some(manifold) = pieces[here[0]].1.manifold {
            let far = |bay: &usize| floors[room].bays[*bay].straight_distance(manifold).in_metres();
            in_order.sort_by(|one, other| far(one).total_cmp(&far(other)).then(one.cmp(other)));
        }
        let mut left: f64 = in_order.iter().map(area).sum();
        let mut rest = &in_order[..];
        for (at, &piece) in here.iter().enumerate() {
            let (others, wanted) = (here.len() - at - 1, left / (here.len() - at) as f64);
            let mut own = 1;
            let mut taken = area(&rest[0]);
            while own < rest.len() - others && (others == 0 || taken + area(&rest[own]) / 2.0 < wanted) {
                taken += area(&rest[own]);
                own += 1;
            }
            let (own, after) = rest.split_at(own);
            (rest, left) = (after, left - taken);
            let (of_loop, whole) = pieces[piece].clone();
            for (nth, bay) in own.iter().enumerate() {
                let area = whole.area.map(|stated| stated * (area(bay) / taken));
                let of_bay = (of_loop, Wanted { area, ..whole.clone() });
                if nth == 0 {
                    (pieces[piece], bays[piece]) = (of_bay, Some(*bay));
                } else {
                    pieces.push(of_bay);
                    bays.push(Some(*bay));
                }
            }
        }
    }
    bays
}

/// The bay in which most of a route lies, by the middles of its legs.
fn bay_of(route: &Route, bays: &[Outline]) -> Option<usize> {
    let mut lengths = vec![0.0; bays.len()];
    for two in route.points().windows(2) {
        let middle = two[0].towards(two[1], 0.5);
        if let Some(bay) = bays.iter().position(|bay| bay.contains(middle)) {
            lengths[bay] += two[0].metres_to(two[1]);
        }
    }
    let most = (0..bays.len()).max_by(|one, other| lengths[*one].total_cmp(&lengths[*other]))?;
    (lengths[most] > 0.0).then_some(most)
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

/// Whether what stands on a floor or parts it cuts it up more than anything built does.
fn is_cut_up(floor: &Floor) -> bool {
    let things = || floor.keep_clear.iter().chain(&floor.things);
    let mut crossings = 0;
    let tree = BoxTree::new(things().map(|(thing, _)| thing.bounds()));
    let all = tree.pairs(|_, _| {
        crossings += 1;
        if crossings > MOST_CROSSINGS { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    all.is_break() || floor.bays.len() > MOST_BAYS
}

/// The room that a manifold stands in, or the nearest if it hangs in a niche of that room's wall.
pub(super) fn home_of(floors: &[Floor], rooms: impl Iterator<Item = usize>, manifold: Point) -> Option<usize> {
    let far = |room: &usize| floors[*room].outline.straight_distance(manifold).in_metres();
    let nearest = rooms.min_by(|one, other| far(one).total_cmp(&far(other)));
    nearest.filter(|room| far(room) <= IN_A_WALL)
}

/// All that is laid out on a storey. A loop through several rooms or bays is one piece for each: its tails go to the last
/// of them, its carrier, and pass the others, whose closed lines are let into them on the way.
pub(super) struct Laying<'a> {
    pub(super) floors: &'a [Floor],
    pub(super) passages: &'a [Passage],
    /// Routes that lie there already, each with its spacing, and what of them tails have to go round, as near as other tails.
    drawn: Vec<(Route, Length)>,
    in_the_way: Vec<Route>,
    /// The tails and the field of each piece that is drawn.
    pub(super) standing: BTreeMap<usize, Standing>,
    /// The pieces of the loops: the first of each loop in their order, then the others.
    pub(super) wanted: Vec<Wanted>,
    /// The loop that each piece is of.
    loops: Vec<usize>,
    /// The bay of its room that each piece is laid in, where joints cut the room.
    bays: Vec<Option<usize>>,
    /// The piece whose tails each of the others is let into.
    carriers: Vec<Option<usize>>,
    /// The room that the manifold of each piece stands in.
    pub(super) homes: Vec<Option<usize>>,
    /// The passages from the manifold to the room of each piece.
    chains: Vec<Option<Vec<usize>>>,
    /// The passages of each room.
    of_rooms: BTreeMap<usize, Vec<usize>>,
    /// Whether the floor of each room is so cut up that nothing is laid there.
    cut_up: Vec<bool>,
    pub(super) tails: Tails,
    /// The least from pipe to pipe, middle to middle.
    between: f64,
}

impl Part {
    /// The middle of the box round it.
    pub fn middle(&self) -> Point {
        let bounds = Bounds::around(self.floor.iter().flatten().flatten().copied());
        bounds.low.towards(bounds.high, 0.5)
    }
}

impl<'a> Laying<'a> {
    fn new(storey: &'a Storey, wanted: &[Wanted]) -> Laying<'a> {
        let Storey { floors, passages, drawn } = storey;
        let mut pieces: Vec<(usize, Wanted)> = wanted.iter().cloned().enumerate().collect();
        for (number, wanted) in wanted.iter().enumerate() {
            let several = !wanted.also.is_empty();
            for &room in &wanted.also {
                pieces.push((number, Wanted { room, area: None, ..wanted.clone() }));
            }
            if several {
                pieces[number].1.area = None;
            }
        }
        let cut_up: Vec<bool> = floors.iter().map(is_cut_up).collect();
        let bays = bays_of_pieces(floors, &cut_up, &mut pieces);
        let (loops, wanted): (Vec<usize>, Vec<Wanted>) = pieces.into_iter().unzip();
        let count = wanted.len();
        let between = wanted.iter().map(|wanted| between(wanted.outside)).fold(0.0, f64::max);
        let mut laying = Laying {
            floors,
            passages,
            drawn: drawn.clone(),
            in_the_way: drawn.iter().map(|(route, _)| route.clone()).collect(),
            standing: BTreeMap::new(),
            wanted,
            loops,
            bays,
            carriers: vec![None; count],
            homes: Vec::new(),
            chains: Vec::new(),
            of_rooms: BTreeMap::new(),
            cut_up,
            tails: TAILS[0].0,
            between,
        };
        for (number, passage) in passages.iter().enumerate() {
            for room in passage.rooms {
                laying.of_rooms.entry(room).or_default().push(number);
            }
        }
        let home = |wanted: &Wanted| wanted.manifold.and_then(|at| laying.room_of(at));
        laying.homes = laying.wanted.iter().map(home).collect();
        for number in 0..count {
            let Wanted { drawn: Some(route), spacing, .. } = laying.wanted[number].clone() else { continue };
            let standing = Standing::of(&route, spacing.in_metres(), passages);
            let ends_in = |standing: &Standing| {
                let leads_on = |room: usize, &passage: &usize| {
                    passages[passage].rooms.contains(&room).then(|| laying.other_side(passage, room))
                };
                standing.chain.iter().try_fold(laying.homes[number]?, leads_on)
            };
            let in_the_way = match standing.and_then(|it| Some((ends_in(&it)?, it))) {
                Some((room, standing)) => {
                    let field = standing.field.clone();
                    laying.wanted[number].room = room;
                    laying.standing.insert(number, standing);
                    field
                }
                None => route.clone(),
            };
            laying.in_the_way.push(in_the_way);
            laying.drawn.push((route, spacing));
        }
        laying.chains = (0..count)
            .map(|number| {
                let wanted = &laying.wanted[number];
                if wanted.drawn.is_some() {
                    return laying.standing.get(&number).map(|standing| standing.chain.clone());
                }
                laying.chain_between(laying.homes[number]?, wanted.manifold?, wanted.room, laying.may_take(number))
            })
            .collect();
        laying
    }

    /// Of the pieces of each loop the one to which its tails go: in the room to which a way leads past most of the others,
    /// and there the farthest from where they come in.
    fn choose_carriers(&mut self, parts: &[Result<Part, NoField>]) {
        let loops = self.loops.iter().max().map_or(0, |most| most + 1);
        for of_loop in 0..loops {
            let pieces: Vec<usize> = (0..self.loops.len()).filter(|&it| self.loops[it] == of_loop).collect();
            if pieces.len() < 2 {
                continue;
            }
            let mut chain = None;
            let mut last = self.wanted[pieces[0]].room;
            if let (Some(home), Some(manifold)) = (self.homes[pieces[0]], self.wanted[pieces[0]].manifold) {
                let mut tour: Vec<usize> = Vec::new();
                let mut passed = vec![home];
                last = home;
                let mut at = manifold;
                // From each to the nearest of the others.
                loop {
                    let open = pieces.iter().filter(|&&it| !passed.contains(&self.wanted[it].room));
                    let leads = |&piece: &usize| {
                        let way = self.chain_between(last, at, self.wanted[piece].room, self.may_take(piece))?;
                        let rooms = self.rooms_along(last, &way);
                        rooms.iter().all(|room| !passed.contains(room)).then_some((way, rooms))
                    };
                    let Some((way, rooms)) = open.filter_map(leads).min_by_key(|(way, _)| way.len()) else { break };
                    last = rooms.last().copied().unwrap_or(last);
                    at = way.last().map_or(at, |&passage| self.passages[passage].middle());
                    passed.extend(rooms);
                    tour.extend(way);
                }
                chain = Some(tour);
            }
            let entry = match chain.as_ref().map(|chain| chain.last()) {
                Some(Some(&passage)) => Some(self.passages[passage].middle()),
                _ => self.wanted[pieces[0]].manifold,
            };
            let far = |piece: &usize| match (&parts[*piece], entry) {
                (Ok(part), Some(entry)) => part.middle().metres_to(entry),
                _ => -1.0,
            };
            let here = pieces.iter().copied().filter(|&it| self.wanted[it].room == last && parts[it].is_ok());
            let Some(carrier) = here
                .max_by(|one, other| far(one).total_cmp(&far(other)).then(other.cmp(one)))
                .or_else(|| pieces.iter().copied().find(|&it| parts[it].is_ok()))
            else {
                continue;
            };
            if self.wanted[carrier].room == last {
                self.chains[carrier] = chain;
            }
            for piece in pieces.into_iter().filter(|&it| it != carrier) {
                self.carriers[piece] = Some(carrier);
                self.wanted[piece].manifold = None;
            }
        }
    }

    /// The rooms into which passages lead one after the other.
    fn rooms_along(&self, from: usize, passages: &[usize]) -> Vec<usize> {
        let mut room = from;
        let next = |&passage: &usize| {
            room = self.other_side(passage, room);
            room
        };
        passages.iter().map(next).collect()
    }

    /// The closed line of each piece, and with its tails the line of each loop.
    fn fields(
        &self,
        parts: &[Result<Part, NoField>],
        ways: &[Result<Vec<Point>, NoTails>],
        patterns: &mut Patterns,
        warmest_in: &[usize],
    ) -> Vec<Result<Field, NoField>> {
        let around = |way: &Vec<Point>| Bounds::around(way.iter().copied()).wider(self.tails.apart);
        let boxes: Vec<Option<Bounds>> = ways.iter().map(|way| way.as_ref().ok().map(around)).collect();
        let mut rooms: BTreeMap<usize, Shapes> = BTreeMap::new();
        for (part, wanted) in parts.iter().zip(&self.wanted) {
            if part.is_ok() {
                rooms
                    .entry(wanted.room)
                    .or_insert_with(|| self.floor(wanted.room, wanted.least_edge.in_metres() - 0.002, 0.002));
            }
        }
        let mut field = |number: usize| {
            let part = parts[number].as_ref().map_err(|no| *no)?;
            if self.wanted[number].drawn.is_some() {
                return Err(NoField::TooNarrow);
            }
            let zone = self.zone(self.wanted[number].room);
            if let Some(carrier) = self.carriers[number] {
                let middle = part.middle();
                let far = |point: &&Point| point.metres_to(middle);
                let passing = ways[carrier].iter().flatten().min_by(|one, other| far(one).total_cmp(&far(other)));
                let closed = closed(&part.floor, &part.measures, zone.as_ref(), passing.copied());
                return Ok(Field::alone(closed.ok_or(NoField::TooNarrow)?, Vec::new()));
            }
            let way = ways[number].as_ref();
            let entry = way.ok().and_then(|way| way.last().copied());
            let warmest = warmest_in.contains(&self.wanted[number].room);
            let known = patterns.entry((number, warmest)).or_default();
            let mut closed = match known.iter().find(|(floor, from, _)| (floor, from) == (&part.floor, &entry)) {
                Some((.., closed)) => closed.clone(),
                None => {
                    let closed = bendable(&part.floor, &part.measures, zone.as_ref(), entry, warmest)
                        .ok_or(NoField::TooNarrow)?;
                    known.push((part.floor.clone(), entry, closed.clone()));
                    closed
                }
            };
            let is_home = self.homes[number] == Some(self.wanted[number].room);
            const FROM_PORT: f64 = 0.3;
            // A field that begins right at the manifold has no tails.
            let begins_there = |way: &Vec<Point>| {
                let far: f64 = way.windows(2).map(|two| two[0].metres_to(two[1])).sum();
                is_home && far < part.measures.radius + self.tails.apart / 2.0 && !self.carriers.contains(&Some(number))
            };
            let tails = way.map_err(|no| *no).and_then(|way| {
                if begins_there(way) {
                    let line = opened(&closed.line, Some(way[0]), part.measures.radius, self.tails.apart);
                    if line[0].metres_to(way[0]) < FROM_PORT {
                        return Ok((line, (0, 0)));
                    }
                }
                let near = Bounds::around(way.iter().chain(&closed.line).copied());
                let others = (0..ways.len())
                    .filter(|other| *other != number && boxes[*other].is_some_and(|it| it.touches(&near)));
                let room = joins::Room {
                    floor: &rooms[&self.wanted[number].room],
                    is_home,
                    apart: self.tails.apart,
                    pairs_apart: self.pairs_apart(),
                    others: others.filter_map(|other| ways[other].as_deref().ok()).collect(),
                };
                let with_tails = |line: &[Point]| joins::with_tails(line, way, part.measures.radius, &room);
                if let Some(joined) = with_tails(&closed.line) {
                    return Ok(joined);
                }
                // Another line over the same floor may have a place for them.
                let others = other_lines(&part.floor, &part.measures, entry).into_iter();
                let joined =
                    others.filter(|it| it.tight <= closed.tight).find_map(|it| Some((with_tails(&it.line)?, it)));
                let (joined, other) = joined.ok_or(NoTails::NotJoined)?;
                closed = other;
                Ok(joined)
            });
            Ok(match tails {
                Ok((line, tails)) => Field { tails, ..Field::alone(closed, line) },
                Err(no) => {
                    let line = opened(&closed.line, entry, part.measures.radius, self.tails.apart);
                    Field { without_tails: Some(no), ..Field::alone(closed, line) }
                }
            })
        };
        (0..parts.len()).map(&mut field).collect()
    }

    /// Lets the closed lines of the other pieces into the tails of their loop.
    fn splice(&self, parts: &[Result<Part, NoField>], fields: &mut [Result<Field, NoField>]) {
        for number in 0..fields.len() {
            let (Some(carrier), Ok(part)) = (self.carriers[number], &parts[number]) else { continue };
            let area = square_metres(&part.floor);
            let let_in = match (&fields[number], &fields[carrier]) {
                (Ok(one), Ok(of_loop)) if of_loop.without_tails.is_none() => {
                    let (first, last) = (of_loop.tails.0, of_loop.line.len().saturating_sub(of_loop.tails.1));
                    let is_tail = |leg: usize| leg + 1 < first || (leg >= last && leg + 1 < of_loop.line.len());
                    let apart = one.closed.spacing;
                    super::zone::joined(&of_loop.line, &one.closed.line, apart, 2.0 * apart, is_tail)
                }
                _ => None,
            };
            let own = fields[number].as_ref().map(|field| field.closed.cut_off);
            let is_passed = let_in.is_some();
            let (own, added) = match (&let_in, own) {
                (Some((line, leg)), Ok(own)) => (own, Some((line.clone(), *leg))),
                (None, Ok(_)) | (_, Err(_)) => (area, None),
            };
            if let Ok(of_loop) = &mut fields[carrier] {
                *(if is_passed { &mut of_loop.closed.cut_off } else { &mut of_loop.not_passed }) += own;
                if let Some((line, leg)) = added {
                    let more = line.len() - of_loop.line.len();
                    if leg < of_loop.tails.0 {
                        of_loop.tails.0 += more;
                    } else {
                        of_loop.tails.1 += more;
                    }
                    of_loop.line = line;
                }
            }
        }
    }

    /// Lays closed lines over what no pipe comes near to in some rooms, each let into a loop that passes it.
    fn let_in(
        &self,
        parts: &[Result<Part, NoField>],
        fields: &mut [Result<Field, NoField>],
        rooms: &[usize],
        (by, near): (LetIn, f64),
    ) {
        for &room in rooms {
            let is_own = |number: &usize| self.wanted[*number].room == room;
            let Some(measures) =
                (0..parts.len()).filter(is_own).find_map(|own| Some(parts[own].as_ref().ok()?.measures))
            else {
                continue;
            };
            let floor = self.floor(room, self.least_edge(), 0.0);
            let ground = self.floor(room, self.least_edge() - ROUNDING, ROUNDING);
            // No other pipe lies between.
            let reach = near * measures.spacing + 0.01;
            let around = Bounds::around(floor.iter().flatten().flatten().copied()).wider(measures.spacing);
            let mut taken: Vec<Vec<Point>> = Vec::new();
            for field in fields.iter().flatten() {
                let legs = field.line.windows(2).filter(|two| Bounds::around([two[0], two[1]]).touches(&around));
                let off = near * measures.spacing;
                taken.extend(legs.map(|two| strip(&beyond_ends(two[0], two[1], off), off)));
            }
            taken.extend(strips_of(
                self.drawn.iter().map(|(route, _)| route),
                &self.floors[room].outline.bounds(),
                measures.spacing,
            ));
            // A few at a time: the strips lie over each other, and what many of them cut grows with their square.
            const AT_ONCE: usize = 32;
            let less = |floor: Shapes, taken: &[Vec<Point>]| overlay(&floor, taken, OverlayRule::Difference);
            let cold = opened_floor(&taken.chunks(AT_ONCE).fold(floor, less), measures.narrowest());
            let mut cold: Vec<(f64, Vec<Vec<Point>>)> =
                cold.into_iter().map(|shape| (square_metres(&vec![shape.clone()]), shape)).collect();
            cold.sort_by(|one, other| other.0.total_cmp(&one.0));
            for (area, shape) in cold {
                let Some(more) = closed(&vec![shape], &measures, None, None) else { continue };
                let passing = (0..fields.len()).filter(|it| is_own(it) || by == LetIn::ByAll);
                let mut passing: Vec<usize> = passing.collect();
                passing.sort_by_key(|it| !is_own(it));
                for number in passing {
                    let Ok(field) = &mut fields[number] else { continue };
                    let lies_here = |leg: usize| {
                        field.line.get(leg..leg + 2).is_some_and(|ends| ends.iter().all(|end| within(&ground, *end)))
                    };
                    let joined = super::zone::joined(&field.line, &more.line, measures.spacing, reach, lies_here);
                    let Some((line, leg)) = joined else { continue };
                    let more = line.len() - field.line.len();
                    if leg < field.tails.0 {
                        field.tails.0 += more;
                    } else if leg + field.tails.1 >= field.line.len() {
                        field.tails.1 += more;
                    }
                    field.line = line;
                    for own in (0..parts.len()).filter(is_own) {
                        if let Ok(own) = &mut fields[own] {
                            own.closed.cut_off = (own.closed.cut_off - area).max(0.0);
                        }
                    }
                    break;
                }
            }
        }
    }

    /// Whether so much pipe lies so much closer than it bends that to try all of it again and again takes many seconds: each
    /// of its turns has to be laid anew.
    fn is_laborious(&self) -> bool {
        const MUCH: f64 = 500.0;
        const CLOSE: f64 = 1.8;
        let metres = self.wanted.iter().filter_map(|wanted| {
            let spacing = wanted.spacing.in_metres();
            let is_close = 2.0 * wanted.bend_radius.in_metres() > CLOSE * spacing;
            if wanted.drawn.is_some() {
                return None;
            }
            let sharing = self.wanted.iter().filter(|other| other.room == wanted.room).count() as f64;
            let area = self.floors.get(wanted.room)?.outline.area().in_square_metres() / sharing;
            is_close.then_some(area / spacing)
        });
        metres.sum::<f64>() > MUCH
    }

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
                Some(measures) if wanted.drawn.is_some() => {
                    if let Some(standing) = self.standing.get(&number) {
                        let floor = standing.floor(&shapes(&floor.outline), measures.spacing);
                        parts[number] = Ok(Part { measures, floor, too_narrow: 0.0, to_tails: 0.0 });
                    }
                }
                None => parts[number] = Err(NoField::Measure),
                Some(measures) if floor.outline.area().in_square_metres() / measures.spacing > MOST_PIPE => {
                    parts[number] = Err(NoField::TooLarge);
                }
                Some(_) if is_ragged(&floor.outline) => {
                    parts[number] = Err(NoField::TooManyCorners);
                }
                Some(_) if self.cut_up[wanted.room] => parts[number] = Err(NoField::CutUp),
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

    /// The floor of a room shared among its loops, in each bay so that all loops come out about as long.
    fn shared(&self, room: usize, loops: &[(usize, Measures)]) -> Vec<(usize, Part)> {
        let floor = &self.floors[room];
        let mut of_bays: BTreeMap<Option<usize>, Vec<(usize, Measures)>> = BTreeMap::new();
        for &(number, measures) in loops {
            of_bays.entry(self.bays[number]).or_default().push((number, measures));
        }
        let mut parts = Vec::new();
        for (bay, here) in of_bays {
            let bay = bay.map_or(&floor.outline, |bay| &floor.bays[bay]);
            let edge = here.iter().map(|(_, measures)| measures.edge).fold(0.0, f64::max);
            let narrowest = here.iter().map(|(_, measures)| measures.narrowest()).fold(0.0, f64::max);
            let keep_clear = floor.keep_clear.iter().map(|(thing, off)| (thing, off.in_metres().max(edge)));
            let things = floor.things.iter().map(|(thing, off)| (thing, off.in_metres()));
            let things: Vec<(&Outline, f64)> = keep_clear.chain(things).collect();
            let (mut region, too_narrow) = region(bay, &things, edge, narrowest);
            let gap = here.iter().map(|(_, measures)| measures.spacing).sum::<f64>() / here.len().max(1) as f64;
            let drawn = strips_of(self.in_the_way.iter(), &bay.bounds(), gap);
            if !drawn.is_empty() {
                region = opened_floor(&overlay(&region, &drawn, OverlayRule::Difference), narrowest);
            }
            let shares = self.shares(&here, &region, bay);
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

    /// The room that a manifold stands in.
    pub(super) fn room_of(&self, manifold: Point) -> Option<usize> {
        home_of(self.floors, 0..self.floors.len(), manifold)
    }

    /// From pair to pair, middle to middle.
    pub(super) fn pair(&self) -> f64 {
        2.0 * self.tails.apart
    }

    /// The least between two pairs of tails, middle to middle.
    pub(super) fn pairs_apart(&self) -> f64 {
        self.tails.apart + self.between
    }

    /// The passages from the manifold to the room of a piece.
    pub(super) fn chain(&self, number: usize) -> Option<Vec<usize>> {
        self.chains[number].clone()
    }

    /// The passages that a piece may take.
    fn may_take(&self, number: usize) -> impl Fn(&Passage) -> bool {
        let of_loop = self.loops[number];
        move |passage| passage.is_doorway() || passage.only.contains(&of_loop)
    }

    /// The passages from a place in one room to another room, the way through their middles being the shortest.
    fn chain_between(
        &self,
        start: usize,
        from: Point,
        goal: usize,
        may_take: impl Fn(&Passage) -> bool,
    ) -> Option<Vec<usize>> {
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
                if nearer && may_take(passage) {
                    steps.insert(next, step);
                }
            }
        };
        reach(&mut steps, start, 0.0, from, None);
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

    /// The passages that are left where loops go through doorways alone that have no tails on a way through walls named for
    /// them; nothing if there are none, or no doorways lead there.
    fn by_doorways(&self, best: &Found) -> Option<Vec<Passage>> {
        let without = |of_loop: usize| {
            let laid = best.laid[of_loop].as_ref();
            laid.is_ok_and(|laid| laid.without_tails.is_some_and(|no| no != NoTails::NoManifold))
        };
        let goes_round = |of_loop: &usize| {
            let piece = self.carriers[*of_loop].unwrap_or(*of_loop);
            let named = self.chains[piece].iter().flatten().any(|&it| !self.passages[it].is_doorway());
            let (Some(home), Some(at)) = (self.homes[piece], self.wanted[piece].manifold) else { return false };
            named && self.chain_between(home, at, self.wanted[piece].room, Passage::is_doorway).is_some()
        };
        let round: Vec<usize> = (0..best.laid.len()).filter(|it| without(*it)).filter(goes_round).collect();
        if round.is_empty() {
            return None;
        }
        let left = |passage: &Passage| {
            let only: Vec<usize> = passage.only.iter().copied().filter(|it| !round.contains(it)).collect();
            (passage.is_doorway() || !only.is_empty()).then(|| Passage { only, ..passage.clone() })
        };
        Some(self.passages.iter().filter_map(left).collect())
    }

    /// The room on the other side of a passage.
    pub(super) fn other_side(&self, passage: usize, room: usize) -> usize {
        let [one, other] = self.passages[passage].rooms;
        if one == room { other } else { one }
    }

    /// Floor of a room over which the middle of a pair of tails may go, but for the pipe that is drawn there.
    pub(super) fn ground_between_walls(&self, room: usize, taken: &[Vec<Point>]) -> Shapes {
        let half = self.tails.apart / 2.0;
        self.floor_between_walls(room, self.edge(room) + half, -half, taken)
    }

    /// What of such floor drawn pipe leaves.
    pub(super) fn ground_beside_drawn(&self, room: usize, ground: Shapes) -> Shapes {
        self.without_drawn(room, ground, self.tails.apart / 2.0)
    }

    /// Floor of a room beside drawn pipe and so far from its walls, and so much nearer to what stands in it than pipe may
    /// come.
    fn floor(&self, room: usize, edge: f64, nearer: f64) -> Shapes {
        self.without_drawn(room, self.floor_between_walls(room, edge, nearer, &[]), -nearer)
    }

    fn floor_between_walls(&self, room: usize, edge: f64, nearer: f64, taken: &[Vec<Point>]) -> Shapes {
        if self.cut_up[room] {
            return Vec::new();
        }
        let ground = moved(&shapes(&self.floors[room].outline), -edge);
        let bounds = Bounds::around(ground.iter().flatten().flatten().copied());
        let near = |line: &&Vec<Point>| Bounds::around(line.iter().copied()).touches(&bounds);
        let mut things: Vec<Vec<Point>> = taken.iter().filter(near).cloned().collect();
        for (thing, off) in self.floors[room].keep_clear.iter().chain(&self.floors[room].things) {
            let grown = moved(&shapes(thing), off.in_metres() - nearer);
            things.extend(grown.into_iter().filter_map(|shape| shape.into_iter().next()));
        }
        if things.is_empty() { ground } else { overlay(&ground, &things, OverlayRule::Difference) }
    }

    /// Floor of a room without what the drawn pipe there takes of it, with so much more beside that.
    fn without_drawn(&self, room: usize, floor: Shapes, more: f64) -> Shapes {
        let off = self.between + BESIDE_DRAWN + more;
        let strips = strips_of(self.in_the_way.iter(), &self.floors[room].outline.bounds(), off);
        if strips.is_empty() { floor } else { overlay(&floor, &strips, OverlayRule::Difference) }
    }

    /// How far pipe stays from the walls of a room: as its own loops do, else as is usual.
    pub(super) fn edge(&self, room: usize) -> f64 {
        let own = self.wanted.iter().filter(|wanted| wanted.room == room).filter_map(Measures::new);
        let least = self.least_edge();
        own.map(|measures| measures.edge)
            .fold(None, |most: Option<f64>, it| Some(most.map_or(it, |most| most.max(it))))
            .unwrap_or(USUAL_EDGE.in_metres())
            .max(least)
    }

    /// The least that the middle of any pipe stays from walls.
    fn least_edge(&self) -> f64 {
        self.wanted.iter().map(|wanted| wanted.least_edge.in_metres()).fold(0.0, f64::max)
    }

    /// The loops with their tails led in one way, and how bad that is; nothing once so many are without tails that it is no
    /// better than what is known: all that comes after is most of the work.
    fn found(
        &self,
        whole: &[Result<Part, NoField>],
        ways: Ways,
        trial: Trial,
        known: f64,
        patterns: &mut Patterns,
    ) -> Option<Found> {
        let mut parts = whole.to_vec();
        self.leave_ways_free(&mut parts, &ways);
        let cold: Vec<usize> = trial.cold.iter().copied().collect();
        let mut fields = self.fields(&parts, &ways, patterns, if trial.warmest { &cold } else { &[] });
        let is_without = |field: &&Field| field.without_tails.is_some_and(|no| no != NoTails::NoManifold);
        if NO_TAILS * fields.iter().flatten().filter(is_without).count() as f64 >= known {
            return None;
        }
        self.splice(&parts, &mut fields);
        for let_in in &trial.let_in {
            self.let_in(&parts, &mut fields, &cold, *let_in);
        }
        self.spread(&parts, &mut fields, &cold);
        self.ease(&parts, &mut fields);
        let laid = self.finished(&parts, fields);
        let passed = |number: usize| parts[number].as_ref().is_ok_and(|part| part.to_tails > 0.0);
        let tails_pass =
            |of_loop: usize| (0..parts.len()).any(|number| self.loops[number] == of_loop && passed(number));
        let faults = laid.iter().enumerate().map(|(number, laid)| match laid {
            _ if self.wanted[number].drawn.is_some() => 0.0,
            Ok(laid) => fault_of(laid, tails_pass(number)),
            // The tails of others took all of its floor.
            Err(_) if tails_pass(number) => 10.0,
            Err(_) => 0.0,
        });
        let fault = faults.sum();
        Some(Found { tails: self.tails, ways, trial, laid, fault })
    }

    /// The same with what was found, after some changes for the rooms that stay cold, as far as each makes it better.
    fn warmer(
        &self,
        parts: &[Result<Part, NoField>],
        mut best: Found,
        changes: &[fn(&mut Trial)],
        patterns: &mut Patterns,
    ) -> Found {
        for change in changes {
            let cold = best.cold();
            if cold.is_empty() {
                break;
            }
            let mut trial = best.trial.clone();
            trial.cold.extend(cold);
            change(&mut trial);
            let Some(found) = self.found(parts, best.ways.clone(), trial, f64::INFINITY, patterns) else { continue };
            if found.is_better_than(&best) {
                best = found;
            }
        }
        best
    }

    /// How far a part begins from the middle of a pair of tails that passes it.
    pub(super) fn off_tails(&self, part: &Part) -> f64 {
        self.tails.apart / 2.0 + self.tails.apart.max(TO_TAILS * part.measures.spacing)
    }

    /// Takes the ways of other loops' tails out of the floor that each loop heats.
    fn leave_ways_free(&self, parts: &mut [Result<Part, NoField>], ways: &[Result<Vec<Point>, NoTails>]) {
        let around = |way: &Vec<Point>| Bounds::around(way.iter().copied());
        let boxes: Vec<Option<Bounds>> = ways.iter().map(|way| way.as_ref().ok().map(around)).collect();
        for (number, part) in parts.iter_mut().enumerate() {
            let Ok(part) = part else { continue };
            let half = self.off_tails(part);
            let bounds = Bounds::around(part.floor.iter().flatten().flatten().copied()).wider(half);
            let near = |other: &usize| *other != number && boxes[*other].is_some_and(|it| it.touches(&bounds));
            let others = (0..ways.len()).filter(near).filter_map(|other| ways[other].as_ref().ok());
            // Round the ports too.
            let from_before = |way: &Vec<Point>| match way[..] {
                [first, second, ..] => {
                    let before = first.towards(second, -half / first.metres_to(second).max(HAIR));
                    std::iter::once(before).chain(way[1..].iter().copied()).collect()
                }
                _ => way.clone(),
            };
            let taken: Vec<Vec<Point>> = others.map(|way| strip(&from_before(way), half)).collect();
            if !taken.is_empty() {
                let left = overlay(&part.floor, &taken, OverlayRule::Difference);
                let left = opened_floor(&left, part.measures.narrowest());
                part.to_tails = square_metres(&part.floor) - square_metres(&left);
                part.floor = left;
            }
        }
    }

    /// Spreads the pipe in some rooms.
    fn spread(&self, parts: &[Result<Part, NoField>], fields: &mut [Result<Field, NoField>], rooms: &[usize]) {
        if rooms.is_empty() {
            return;
        }
        let edge = self.least_edge();
        let floors: Vec<Shapes> = rooms.iter().map(|&room| self.floor(room, edge - ROUNDING, ROUNDING)).collect();
        let drawn = self.drawn.iter().flat_map(|(route, _)| route.points().windows(2).map(|two| (two[0], two[1])));
        let ground = spread::Ground { floors: &floors, edge, apart: self.tails.apart, drawn: drawn.collect() };
        let mut numbers = Vec::new();
        let mut lines = Vec::new();
        for (number, (field, part)) in fields.iter_mut().zip(parts).enumerate() {
            if let (Ok(field), Ok(part)) = (field, part)
                && !field.line.is_empty()
            {
                let Measures { radius, spacing, .. } = part.measures;
                numbers.push(number);
                lines.push(spread::Line { points: std::mem::take(&mut field.line), radius, spacing });
            }
        }
        spread(&mut lines, &ground);
        for (number, line) in numbers.into_iter().zip(lines) {
            if let Ok(field) = &mut fields[number] {
                field.line = line.points;
            }
        }
    }

    /// Makes the whole routes bendable, tails and where they are joined included.
    fn ease(&self, parts: &[Result<Part, NoField>], fields: &mut [Result<Field, NoField>]) {
        let mut numbers = Vec::new();
        let mut lines = Vec::new();
        for (number, (field, part)) in fields.iter_mut().zip(parts).enumerate() {
            if let (Ok(field), Ok(part)) = (field, part)
                && !field.line.is_empty()
            {
                let points = std::mem::take(&mut field.line);
                numbers.push(number);
                lines.push(bends::Line { points, closed: false, radius: part.measures.radius });
            }
        }
        let corners = Corners::new(self.floors, self.least_edge());
        // Off the corners of what stands there first, so that room is made for the bends as they are then; unless that leaves
        // more bends without.
        let eased = |off_first: bool| {
            let mut lines = lines.clone();
            if off_first {
                lines.iter_mut().for_each(|line| corners.keep_off(line, true));
            }
            let roomy = bends::ease(&mut lines, || self.fence(), self.between + ROOMY);
            let lost = bends::ease(&mut lines, || self.fence(), self.between);
            let lost: Vec<f64> = roomy.into_iter().zip(lost).map(|(one, other)| one + other).collect();
            lines.iter_mut().for_each(|line| corners.keep_off(line, false));
            let short: usize = lines.iter().map(bends::count_of_short_legs).sum();
            (short, lines, lost)
        };
        let mut best = eased(true);
        if best.0 > 0 {
            let other = eased(false);
            if other.0 < best.0 {
                best = other;
            }
        }
        let (_, lines, lost) = best;
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
        let least = self.least_edge();
        let mut lines: Vec<(Point, Point)> = Vec::new();
        for room in 0..self.floors.len() {
            let floor = self.floor(room, least - ROUNDING, ROUNDING);
            // The walls too: at a manifold the pipe begins beside one.
            let walls = moved(&shapes(&self.floors[room].outline), 0.002);
            lines.extend(floor.iter().chain(&walls).flatten().flat_map(|line| super::super::outline::edges(line)));
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
        for two in self.drawn.iter().flat_map(|(route, _)| route.points().windows(2)) {
            lines.push((two[0], two[1]));
            lines.extend(super::super::outline::edges(&strip(two, self.between)));
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
            let laid = routes.iter().flatten().chain(self.drawn.iter().map(|(route, _)| route));
            let meetings = route_meetings(&laid.collect::<Vec<_>>());
            let mut left_out: Vec<(usize, usize)> = Vec::new();
            for meeting in &meetings.all {
                let pair = [meeting.second.route, meeting.first.route].map(|at| numbers.get(at).copied());
                // What is drawn stays; pipe that would cross it is as one that crosses itself.
                let pair = match pair {
                    [Some(one), Some(other)] => [one, other],
                    [Some(one), None] | [None, Some(one)] => [one, one],
                    [None, None] => continue,
                };
                let has_tails = |at: &usize| fields[*at].as_ref().is_ok_and(|field| field.without_tails.is_none());
                if round < 3 && pair.iter().any(|at| left_out.iter().any(|(number, _)| number == at)) {
                    continue;
                }
                let both = pair.into_iter().zip([pair[1], pair[0]]).filter(|(at, _)| has_tails(at));
                left_out.extend(both.take(if round < 3 { 1 } else { 2 }));
            }
            if left_out.is_empty() {
                break;
            }
            for (number, other) in left_out {
                if let (Ok(field), Ok(part)) = (&mut fields[number], &parts[number]) {
                    field.without_tails = Some(match self.loops[other] == self.loops[number] {
                        true => NoTails::NotJoined,
                        false => NoTails::WouldCross(self.loops[other]),
                    });
                    // What was let into them goes with them.
                    let others = (0..parts.len()).filter(|&it| self.carriers[it] == Some(number));
                    let areas = others.filter_map(|it| parts[it].as_ref().ok()).map(|part| square_metres(&part.floor));
                    field.not_passed = areas.sum();
                    field.line = opened(&field.closed.line, None, part.measures.radius, self.tails.apart);
                    routes[number] = route(&field.line).ok();
                }
            }
        }
        let bent: Vec<Vec<Point>> = routes
            .iter()
            .zip(&self.wanted)
            .map(|(route, wanted)| route.as_ref().map_or(Vec::new(), |route| bent(route, wanted.bend_radius)))
            .collect();
        let covered = self.covered(&bent);
        let pipes = bent.iter().zip(&self.wanted).map(|(line, wanted)| Pipe { line, least: between(wanted.outside) });
        let too_near = near::too_near(&pipes.collect::<Vec<_>>());
        let loops = self.loops.iter().max().map_or(0, |most| most + 1);
        let laid = |of_loop: usize| {
            let carrier = self.carriers[of_loop].unwrap_or(of_loop);
            let field = fields[carrier].as_ref().map_err(|no| *no)?;
            let (Some(route), Ok(part)) = (&routes[carrier], &parts[carrier]) else { return Err(NoField::TooNarrow) };
            let own = fields.iter().zip(&self.loops).filter(|(_, number)| **number == of_loop);
            let zone_left = own.filter_map(|(field, _)| Some(field.as_ref().ok()?.closed.zone_left)).sum();
            let mut rooms: Vec<(usize, Share)> = Vec::new();
            let mut coldest = (Share::percent(100.0), usize::MAX, 0.0);
            for (_, wanted) in self.loops.iter().zip(&self.wanted).filter(|(number, _)| **number == of_loop) {
                if rooms.iter().all(|(room, _)| *room != wanted.room) {
                    let (share, cold) = covered.get(&wanted.room).copied().unwrap_or_default();
                    rooms.push((wanted.room, share));
                    if share < coldest.0 {
                        coldest = (share, wanted.room, cold);
                    }
                }
            }
            let (covered, coldest, cold) = coldest;
            let in_coldest = parts.iter().zip(&fields).zip(&self.wanted).filter(|(_, wanted)| wanted.room == coldest);
            let in_coldest: Vec<(&Part, &Field)> =
                in_coldest.filter_map(|((part, field), _)| Some((part.as_ref().ok()?, field.as_ref().ok()?))).collect();
            Ok(Laid {
                tight_turns: route.tight_corners(self.wanted[carrier].bend_radius).collect(),
                too_near: too_near[carrier].map(|it| TooNear { other: it.other.map(|other| self.loops[other]), ..it }),
                route: route.clone(),
                without_tails: field.without_tails,
                changed_pattern: match (field.closed.pattern == self.wanted[carrier].pattern, part.measures.pattern) {
                    (true, _) => None,
                    (false, Pattern::Spiral) => Some(Changed::Spacing),
                    (false, Pattern::Meander) => Some(Changed::Floor),
                },
                spacing: Length::metres(field.closed.spacing),
                zone_left: Area::square_metres(zone_left),
                rooms,
                covered,
                uncovered: if covered < ENOUGH_COVERED { uncovered(&in_coldest, cold) } else { Vec::new() },
            })
        };
        (0..loops).map(laid).collect()
    }

    /// How much of each room's free floor its loops cover, and how many square metres they do not.
    fn covered(&self, lines: &[Vec<Point>]) -> BTreeMap<usize, (Share, f64)> {
        let routes: Vec<Option<Route>> = lines.iter().map(|line| Route::new(line).ok()).collect();
        let mut rooms: Vec<usize> = self.wanted.iter().map(|wanted| wanted.room).collect();
        rooms.sort_unstable();
        rooms.dedup();
        let of_room = |room: usize| {
            let floor = self.floors.get(room)?;
            let laid =
                routes.iter().zip(&self.wanted).filter_map(|(route, wanted)| Some((route.as_ref()?, wanted.spacing)));
            let drawn = self.drawn.iter().map(|(route, spacing)| (route, *spacing)).filter(|it| it.1 > Length::ZERO);
            // Tails of other rooms' loops are warm too.
            let near = laid.chain(drawn).filter(|(route, _)| route.bounds().touches(&floor.outline.bounds()));
            let runs: Vec<Run> = near.map(|(route, spacing)| Run { route, stretch: route.whole(), spacing }).collect();
            let things: Vec<&Outline> = floor.keep_clear.iter().map(|(thing, _)| thing).collect();
            let covered = coverage(&floor.outline, &things, &runs)?.covered;
            let free = super::super::free_area(&floor.outline, &things).in_square_metres();
            Some((room, (covered, (1.0 - covered.in_fraction()) * free)))
        };
        rooms.into_iter().filter_map(of_room).collect()
    }
}

/// What routes take of the floor in a box, so that pipe beside them lies `spacing` away.
fn strips_of<'r>(routes: impl Iterator<Item = &'r Route>, bounds: &Bounds, spacing: f64) -> Vec<Vec<Point>> {
    let half = spacing - HAIR;
    let near = routes.filter(|route| route.bounds().touches(bounds));
    near.flat_map(|route| route.points().windows(2))
        .filter(|two| Bounds::around(two.iter().copied()).wider(half).touches(bounds))
        .map(|two| strip(&beyond_ends(two[0], two[1], half), half))
        .collect()
}

/// A leg that goes on so far beyond both its ends, for what is to stay clear of these too.
fn beyond_ends(from: Point, to: Point, by: f64) -> [Point; 2] {
    let share = -by / from.metres_to(to).max(HAIR);
    [from.towards(to, share), to.towards(from, share)]
}

fn shapes(outline: &Outline) -> Shapes {
    vec![vec![outline.anticlockwise()]]
}

/// Why so much floor of a room is not covered, in square metres, from its parts and what is laid there: what is known to be
/// lost, and what is left.
fn uncovered(laid: &[(&Part, &Field)], cold: f64) -> Vec<Uncovered> {
    let all = |of: fn(&Part, &Field) -> f64| laid.iter().map(|(part, field)| of(part, field)).sum::<f64>();
    let area = all(|part, _| square_metres(&part.floor));
    let matters = |lost: f64| lost > 0.01 * area;
    let not_passed = all(|_, field| field.not_passed);
    let too_narrow = all(|part, _| part.too_narrow);
    let cut_off = all(|_, field| field.closed.cut_off);
    let bends = all(|_, field| field.closed.lost * field.closed.spacing);
    let tails = all(|part, _| part.to_tails);
    type Reason = fn(Area) -> Uncovered;
    let known: [(f64, Reason); 5] = [
        (not_passed, Uncovered::NotPassed),
        (too_narrow, Uncovered::TooNarrow),
        (cut_off, Uncovered::CutOff),
        (bends, Uncovered::Bends),
        (tails, Uncovered::Tails),
    ];
    let mut reasons: Vec<Uncovered> = (known.into_iter())
        .filter(|(lost, _)| matters(*lost))
        .map(|(lost, reason)| reason(Area::square_metres(lost)))
        .collect();
    let edges = laid.iter().filter(|(part, _)| part.measures.edge > part.measures.spacing / 2.0 + 0.005);
    let edge = edges.map(|(part, _)| part.measures.edge).fold(0.0, f64::max);
    if edge > 0.0 {
        reasons.push(Uncovered::Edge(Length::metres(edge)));
    }
    let rest = cold - not_passed - too_narrow - cut_off - bends;
    if matters(rest) || reasons.is_empty() {
        reasons.push(Uncovered::Remainder(Area::square_metres(rest.max(0.0))));
    }
    reasons
}

impl Passage {
    fn is_doorway(&self) -> bool {
        self.only.is_empty()
    }

    pub(super) fn middle(&self) -> Point {
        self.from.towards(self.to, 0.5)
    }
}
