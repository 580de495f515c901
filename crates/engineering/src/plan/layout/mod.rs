//! Routes that are laid out by the program: meanders and spirals over the free floor of rooms, with their tails.
//!
//! Both patterns are one closed line that crosses nowhere and stays on the floor, by the way they are made; it is
//! opened where the tails come in. Tails go first: what they take of other loops' floor is left out there. Wherever the
//! pipe does not bend so tightly the route is laid anew at last.

mod bends;
mod frame;
mod ground;
mod islands;
mod joins;
mod meander;
mod parts;
mod round_corners;
mod spiral;
mod spread;
mod standing;
mod storey;
mod tails;
mod ways;
mod zone;

use super::free_area::{Shapes, square_metres};
use super::near::{self, TooNear, between};
use super::{Bounds, Corner, Outline, Point, Route, Run, coverage};
use quantity::{Area, Length, Share};
use std::fmt;

pub use storey::lay_out;

/// How a loop is to be laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Runs there and back, with the way back along one side.
    Meander,
    /// Inwards and outwards side by side.
    Spiral,
}

/// The floor of a room.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    pub outline: Outline,
    /// What must stay clear, each with how far the middle of the pipe stays from it.
    pub keep_clear: Vec<(Outline, Length)>,
    /// What else stands there: walls, columns, fixing lines.
    pub things: Vec<(Outline, Length)>,
    /// The bays into which movement joints cut it; none if they do not.
    pub bays: Vec<Outline>,
    pub edge_zone: Option<EdgeZone>,
}

/// The strip along outside walls in which pipe lies closer.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeZone {
    pub width: Length,
    pub spacing: Length,
    /// The two ends of each of the outside walls, along the edge of the room.
    pub walls: Vec<[Point; 2]>,
}

/// A way for tails from room to room: a doorway, or a wall that is to be crossed.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    pub rooms: [usize; 2],
    /// Its two ends on the line of the wall.
    pub from: Point,
    pub to: Point,
    /// From one room to the other through the wall.
    pub depth: Length,
    /// The only loops that may take it, where it is no doorway.
    pub only: Vec<usize>,
}

/// A loop to be laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The room, by its number.
    pub room: usize,
    /// What other rooms it heats.
    pub also: Vec<usize>,
    pub pattern: Pattern,
    /// From run to run, middle to middle.
    pub spacing: Length,
    /// The outside diameter of the pipe.
    pub outside: Length,
    pub bend_radius: Length,
    /// The least that the middle of the pipe stays from a wall. Half a spacing is usual and takes its place if wider, up
    /// to [`USUAL_EDGE`].
    pub least_edge: Length,
    /// How much of the room it is to heat, where that is stated.
    pub area: Option<Area>,
    pub manifold: Option<Point>,
    /// Its route, where that is drawn: it stays, and its tails have a place among those of the others.
    pub drawn: Option<Route>,
}

/// All that a storey has for its loops.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Storey {
    pub floors: Vec<Floor>,
    pub passages: Vec<Passage>,
    /// Other routes that lie there already, each with its spacing.
    pub drawn: Vec<(Route, Length)>,
}

/// How far from a wall the first run usually lies, at most.
pub const USUAL_EDGE: Length = Length::millimetres(100.0);

/// A loop laid out.
#[derive(Debug, Clone)]
pub struct Laid {
    /// With its tails, where they could be led; else its two ends lie side by side at the edge of its floor.
    pub route: Route,
    /// Why the tails are not in the route, if they are not.
    pub without_tails: Option<NoTails>,
    /// Why it is laid as a spiral, if a meander is asked for.
    pub changed_pattern: Option<Changed>,
    /// The spacing at which its runs fit the floor, on average.
    pub spacing: Length,
    /// Turns that the pipe cannot be bent to.
    pub tight_turns: Vec<Corner>,
    /// Where it lies too near to other pipe, or to itself: the nearest place.
    pub too_near: Option<TooNear>,
    /// What of its edge zones could be laid no closer than the rest.
    pub zone_left: Area,
    /// How much of the free floor of each of its rooms all loops there cover, by the number of the room.
    pub rooms: Vec<(usize, Share)>,
    /// The least of these.
    pub covered: Share,
    /// Why that is less than [`ENOUGH_COVERED`]; empty if it is not.
    pub uncovered: Vec<Uncovered>,
}

/// Where less of the free floor is covered, it is said why.
pub const ENOUGH_COVERED: Share = Share::percent(95.0);

/// Why a spiral is laid for a meander.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changed {
    /// Half the spacing is under the least bend, and there is no room for bulbs.
    Spacing,
    /// The turns of a meander stay too tight on this floor.
    Floor,
}

/// Why tails were not led.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoTails {
    /// It is not said where the manifold is.
    NoManifold,
    /// The manifold stands on another storey, as whoever knows the storeys can tell.
    OnOtherStorey,
    /// The manifold stands in none of the rooms, and in no wall of theirs.
    OutsideRooms,
    /// Neither doorways nor declared crossings of walls lead from the manifold to the room.
    NoPassage,
    /// More pairs of tails have to pass a place than fit there.
    TooMany {
        pairs: usize,
        fit: usize,
        /// Of the doorway, or of the floor beside the manifold.
        width: Length,
        /// The two rooms at the doorway; one room twice, if it is the floor beside the manifold.
        rooms: [usize; 2],
    },
    /// No way for two pipes side by side is left through this room, past what stands there and so many pairs of tails.
    NoRoom { room: usize, pairs: usize },
    /// They come to their floor, and cannot be joined to the runs there without crossing pipe.
    NotJoined,
    /// They would cross another loop, by its number.
    WouldCross(usize),
}

impl NoTails {
    /// The same with its rooms and loops numbered otherwise.
    pub fn renumbered(self, room: impl Fn(usize) -> usize, of_loop: impl Fn(usize) -> usize) -> NoTails {
        match self {
            NoTails::TooMany { pairs, fit, width, rooms } => {
                NoTails::TooMany { pairs, fit, width, rooms: rooms.map(room) }
            }
            NoTails::NoRoom { room: at, pairs } => NoTails::NoRoom { room: room(at), pairs },
            NoTails::WouldCross(other) => NoTails::WouldCross(of_loop(other)),
            other => other,
        }
    }
}

/// Why a part of the floor is not covered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Uncovered {
    /// Floor too narrow for a run there and back.
    TooNarrow(Area),
    /// Floor of other rooms or bays of the loop that its tails do not pass.
    NotPassed(Area),
    /// Floor that the pattern could not reach.
    CutOff(Area),
    /// Floor into which the pipe does not bend.
    Bends(Area),
    /// Floor that is left to the tails of other loops.
    Tails(Area),
    /// The first run has to lie so far from the wall.
    Edge(Length),
    /// Floor between runs and bends, and between these and walls: what is not to be explained otherwise.
    Remainder(Area),
}

impl fmt::Display for Uncovered {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Uncovered::TooNarrow(area) => write!(f, "{area} of the floor is too narrow for a run there and back"),
            Uncovered::NotPassed(area) => {
                write!(f, "its tails do not pass {area} of the floor that it is to heat on the way")
            }
            Uncovered::CutOff(area) => write!(f, "the pattern does not reach {area} of the floor"),
            Uncovered::Bends(area) => write!(f, "the pipe does not bend into {area} of the floor"),
            Uncovered::Tails(area) => write!(f, "{area} of the floor is left to tails of other loops, which warm it"),
            Uncovered::Edge(edge) => write!(f, "the pipe stays {edge} from walls and from what must be kept clear"),
            Uncovered::Remainder(area) => write!(f, "{area} is left at bends, in corners and between runs and walls"),
        }
    }
}

/// Why a loop could not be laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoField {
    /// A measure is not a number above nothing.
    Measure,
    /// The floor has no part that is wide enough for a run there and back.
    TooNarrow,
    /// The floor would take more pipe than any loop has.
    TooLarge,
    /// The outline of the room has more corners than walls have.
    TooManyCorners,
    /// Walls, keep-clear areas or joints cut the floor into more pieces than any has.
    CutUp,
}

impl fmt::Display for NoField {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            NoField::Measure => "the spacing cannot be laid",
            NoField::TooNarrow => "no part of the floor is wide enough for a run there and back",
            NoField::TooLarge => "the floor would take more pipe than any loop has",
            NoField::TooManyCorners => "the outline of its room has more corners than walls have",
            NoField::CutUp => "walls, keep-clear areas or joints cut its floor into more pieces than any has",
        })
    }
}

/// The most pipe that one loop is laid out with, in metres: many times what any has.
const MOST_PIPE: f64 = 20_000.0;

/// A round wall is drawn well with a hundred; thousands are no walls.
const MOST_CORNERS: usize = 4000;

/// What a ragged outline costs grows faster than its corners.
const MOST_SHARP_CORNERS: usize = 300;

/// What cuts up a floor costs as often as it crosses: nothing that is built does so thousands of times.
const MOST_CROSSINGS: usize = 4000;

/// No floor is in so many bays.
const MOST_BAYS: usize = 1000;

/// How much farther from the wall the first run may go to make room for bulbs, in metres: beyond that, too much floor
/// would stay cold.
const WIDER_FOR_BULBS: f64 = 0.02;

/// New bends keep so much more from other pipe, if there is room, in metres.
const ROOMY: f64 = 0.004;

/// What is nearer to walls by so little is not, in metres.
const ROUNDING: f64 = 5e-6;

/// What follows from a loop's measures, all in metres.
#[derive(Debug, Clone, Copy)]
struct Measures {
    pattern: Pattern,
    spacing: f64,
    radius: f64,
    between: f64,
    least_edge: f64,
    edge: f64,
}

impl Measures {
    fn new(wanted: &Wanted) -> Option<Measures> {
        let (spacing, radius) = (wanted.spacing.in_metres(), wanted.bend_radius.in_metres());
        let least_edge = wanted.least_edge.in_metres();
        let good = |metres: f64| metres.is_finite() && (0.0..10.0).contains(&metres);
        if !good(spacing) || spacing < 0.01 || !good(radius) || !good(least_edge) || !good(wanted.outside.in_metres()) {
            return None;
        }
        let between = between(wanted.outside);
        Some(Measures { pattern: wanted.pattern, spacing, radius, between, least_edge, edge: 0.0 }.bendable())
    }

    /// The measures with the distance from the walls; as a spiral, where a meander cannot be bent.
    fn bendable(self) -> Measures {
        let Measures { pattern, spacing, radius, between, least_edge, .. } = self;
        // The bulbs of a meander lie side by side, and the outermost stick out towards the wall.
        let usual_edge = (spacing / 2.0).min(USUAL_EDGE.in_metres()).max(least_edge);
        let wide = bends::bulb_width(spacing, radius);
        let edge_for_bulbs = usual_edge.max(least_edge + (wide - spacing) / 2.0);
        let edge_for_bulbs = (2.0 * spacing - wide >= between && edge_for_bulbs - usual_edge < WIDER_FOR_BULBS)
            .then_some(edge_for_bulbs);
        let (pattern, edge) = match (pattern, edge_for_bulbs) {
            (Pattern::Meander, Some(edge)) => (Pattern::Meander, edge),
            _ => (Pattern::Spiral, usual_edge),
        };
        Measures { pattern, edge, ..self }
    }

    /// Floor narrower than this takes no run there and back.
    fn narrowest(&self) -> f64 {
        self.spacing.min(2.0 * self.radius).max(0.6 * self.spacing)
    }
}

/// A closed line over a floor.
#[derive(Clone)]
struct Closed {
    line: Vec<Point>,
    spacing: f64,
    /// Floor not reached, in square metres.
    cut_off: f64,
    /// Floor of an edge zone that is laid no closer than the rest, in square metres.
    zone_left: f64,
    /// Pipe left out for want of room to bend it, in metres.
    lost: f64,
    /// Legs that are too short for the bends at their ends, and one more if it comes too near to itself.
    tight: usize,
    pattern: Pattern,
    /// Whether its runs go along the shorter side of the floor.
    quarter: bool,
}

impl Closed {
    /// How much of a floor it leaves cold, as a share.
    fn leaves_cold(&self, floor: &Shapes, measures: &Measures) -> f64 {
        let line: Vec<Point> = self.line.iter().chain(self.line.first()).copied().collect();
        let Ok(route) = Route::new(&line) else { return 1.0 };
        let Ok(route) = Route::new(&near::bent(&route, Length::metres(measures.radius))) else { return 1.0 };
        let run = Run { route: &route, stretch: route.whole(), spacing: Length::metres(measures.spacing) };
        let (mut cold, mut all) = (0.0, 0.0);
        for shape in floor {
            let outlines: Vec<Outline> = shape.iter().filter_map(|line| Outline::new(line).ok()).collect();
            let Some((outer, holes)) = outlines.split_first() else { continue };
            let area = square_metres(&vec![shape.clone()]);
            let covered =
                coverage(outer, &holes.iter().collect::<Vec<_>>(), &[run]).map_or(0.0, |it| it.covered.in_fraction());
            cold += (1.0 - covered) * area;
            all += area;
        }
        cold / all.max(ground::HAIR)
    }
}

/// Lays a closed line over a floor, closer within the strips of an edge zone; nothing if there is no floor.
fn closed(floor: &Shapes, measures: &Measures, zone: Option<&zone::Zone>, entry: Option<Point>) -> Option<Closed> {
    let Some(zone) = zone else { return pattern(floor, measures, entry) };
    zone::laid(floor, measures, zone, entry).or_else(|| {
        let zone_left = square_metres(&zone::within(floor, measures, zone));
        Some(Closed { zone_left, ..pattern(floor, measures, entry)? })
    })
}

/// The same, bendable everywhere. Where a pattern leaves turns that are too tight or much of the floor cold, others are
/// tried: a meander the other way, a spiral at other spacings; and a spiral for a meander whose turns stay too tight.
///
/// For a floor that is too cold in the end all of them are tried, closer than asked too, and the warmest is taken.
fn bendable(
    floor: &Shapes,
    measures: &Measures,
    zone: Option<&zone::Zone>,
    entry: Option<Point>,
    warmest: bool,
) -> Option<Closed> {
    const MUCH: f64 = 0.025;
    const CLEARLY: f64 = 0.003;
    /// A spiral for a meander has to be worth it.
    const WORTH: f64 = 0.01;
    let mut best = closed(floor, measures, zone, entry)?;
    let mut tried = vec![best.line.clone()];
    ease(&mut best, floor, measures);
    if zone.is_some() && !warmest {
        return Some(best);
    }
    // A pattern much closer than asked is as bad.
    let too_close = |it: &Closed| {
        let asked = (it.spacing / measures.spacing - 1.0).abs();
        let other = if it.pattern == measures.pattern { 0.0 } else { WORTH };
        if warmest { 0.02 * asked + other } else { 0.3 * asked }
    };
    let cold = best.leaves_cold(floor, measures);
    let mut best_fault = cold + too_close(&best);
    let mut attempt = |best: &mut Closed, other: Option<Closed>| {
        let Some(mut other) = other.filter(|it| !tried.contains(&it.line)) else { return };
        // Bends leave more floor cold, not less: what is no better without them need not be bent.
        let could_be = |least: f64| best.tight > 0 || least < best_fault - CLEARLY;
        if !could_be(too_close(&other)) || !could_be(other.leaves_cold(floor, measures) + too_close(&other)) {
            return;
        }
        tried.push(other.line.clone());
        ease(&mut other, floor, measures);
        let fault = other.leaves_cold(floor, measures) + too_close(&other);
        let is_better = match other.tight.cmp(&best.tight) {
            std::cmp::Ordering::Equal => fault < best_fault - CLEARLY,
            fewer => fewer.is_lt(),
        };
        if is_better {
            (*best, best_fault) = (other, fault);
        }
    };
    let is_meander = measures.pattern == Pattern::Meander;
    if let Some(zone) = zone {
        for part in WARMER {
            let spacing = part * measures.spacing;
            let zone = zone::Zone { spacing: zone.spacing.min(spacing), walls: zone.walls.clone(), ..*zone };
            attempt(&mut best, closed(floor, &Measures { spacing, ..*measures }, Some(&zone), entry));
        }
        return Some(best);
    }
    if warmest && is_meander {
        for part in WARMER {
            for quarter in [false, true] {
                attempt(&mut best, meander(floor, part * measures.spacing, entry, &[quarter]));
            }
        }
    } else if is_meander && (best.tight > 0 || cold > MUCH) {
        let other = meander(floor, measures.spacing, entry, &[!best.quarter]);
        attempt(&mut best, other);
    }
    // Half the spacing is under the bend: then a spiral is as usual as bulbs.
    let may_coil = !is_meander || (warmest && measures.spacing < 2.0 * measures.radius);
    if may_coil && (warmest || best.tight > 0 || cold > MUCH) {
        let turning = spiral::turning_in_the_middle(floor, measures);
        let others = SPIRAL_SPACINGS.map(|part| part * measures.spacing);
        for spacing in std::iter::once(turning).chain(others) {
            attempt(&mut best, spiral::coil_at(floor, measures, spacing, entry));
        }
    }
    if best.tight > 0 && is_meander {
        attempt(&mut best, spiral::coil(floor, measures, entry));
    }
    Some(best)
}

/// At which parts of the spacing asked for a meander is tried where the floor stays too cold.
const WARMER: [f64; 4] = [1.0, 0.95, 0.9, 0.85];

/// The other lines of the same pattern over a floor, bendable.
fn other_lines(floor: &Shapes, measures: &Measures, entry: Option<Point>) -> Vec<Closed> {
    let mut lines: Vec<Closed> = match measures.pattern {
        Pattern::Meander => {
            let quarters = [false, true].map(|quarter| meander(floor, measures.spacing, entry, &[quarter]));
            quarters.into_iter().flatten().collect()
        }
        Pattern::Spiral => {
            let at = |part: f64| spiral::coil_at(floor, measures, part * measures.spacing, entry);
            SPIRAL_SPACINGS.into_iter().filter_map(at).collect()
        }
    };
    lines.iter_mut().for_each(|line| ease(line, floor, measures));
    lines
}

/// Makes a closed line over a floor bendable.
fn ease(it: &mut Closed, floor: &Shapes, measures: &Measures) {
    let fence = || bends::Fence::around(&ground::moved(floor, measures.edge - measures.least_edge + ROUNDING));
    let mut lines = [bends::Line { points: std::mem::take(&mut it.line), closed: true, radius: measures.radius }];
    // Clear of other pipe by as much again, if there is room.
    it.lost += bends::ease(&mut lines, fence, measures.between + ROOMY)[0];
    it.lost += bends::ease(&mut lines, fence, measures.between)[0];
    let [mut line] = lines;
    ground::straighten(&mut line.points);
    it.tight = bends::count_of_short_legs(&line) + usize::from(is_too_near(&line.points, measures));
    it.line = line.points;
}

/// Whether a closed line, bent, comes too near to itself.
fn is_too_near(line: &[Point], measures: &Measures) -> bool {
    let Measures { radius, between, .. } = *measures;
    let open = joins::opened(line, None, radius, 8.0 * between);
    let Ok(route) = Route::new(&open) else { return false };
    let line = near::bent(&route, Length::metres(radius));
    near::too_near(&[near::Pipe { line: &line, least: between }])[0].is_some()
}

fn pattern(floor: &Shapes, measures: &Measures, entry: Option<Point>) -> Option<Closed> {
    match measures.pattern {
        Pattern::Meander => meander(floor, measures.spacing, entry, &[false, true]),
        Pattern::Spiral => spiral::coil(floor, measures, entry),
    }
}

/// At which parts of the spacing asked for a spiral is tried: an even number of runs has to fit across the floor.
const SPIRAL_SPACINGS: [f64; 4] = [1.0, 0.95, 0.9, 0.85];

/// Where the meander one way is as good as this, it is not tried the other way.
const GOOD_ENOUGH: f64 = 0.98;

/// The meander along the longer side of the floor's least rectangle, or along the shorter where that fits better.
fn meander(floor: &Shapes, spacing: f64, entry: Option<Point>, quarters: &[bool]) -> Option<Closed> {
    let points: Vec<Point> = floor.iter().flatten().flatten().copied().collect();
    if points.len() < 3 {
        return None;
    }
    let along = super::outline::long_side_direction(&points);
    let mut best: Option<(f64, Closed)> = None;
    for &quarter in quarters {
        let (x, y) = if quarter { (-along.y, along.x) } else { (along.x, along.y) };
        let turn = |point: Point| Point::new(point.x * x + point.y * y, point.y * x - point.x * y);
        let back = |point: Point| Point::new(point.x * x - point.y * y, point.x * y + point.y * x);
        let turned = mapped(floor, turn);
        // The way back goes along the side of the entry.
        let bounds = Bounds::around(turned.iter().flatten().flatten().copied());
        let half_turn = entry.is_some_and(|entry| turn(entry).x > (bounds.low.x + bounds.high.x) / 2.0);
        let flip = |point: Point| if half_turn { Point::new(-point.x, -point.y) } else { point };
        let Some(mut comb) = meander::comb(&mapped(&turned, flip), spacing) else { continue };
        // What is not gone round within a spacing is lost; a pattern much closer than asked is as bad.
        let laid: f64 = super::outline::edges(&comb.line).map(|(from, to)| from.metres_to(to)).sum();
        let area = square_metres(floor);
        let covered = (laid * comb.spacing / area).min(1.05) - comb.cut_off / area;
        let quality = covered - (comb.spacing / spacing - 1.0).abs() - if quarter { 0.02 } else { 0.0 };
        comb.quarter = quarter;
        for point in &mut comb.line {
            *point = back(flip(*point));
        }
        if best.as_ref().is_none_or(|best| quality > best.0) {
            best = Some((quality, comb));
        }
        if quality > GOOD_ENOUGH {
            break;
        }
    }
    best.map(|best| best.1)
}

fn mapped(shapes: &Shapes, map: impl Fn(Point) -> Point) -> Shapes {
    let line = |line: &Vec<Point>| line.iter().map(|&point| map(point)).collect();
    shapes.iter().map(|shape| shape.iter().map(line).collect()).collect()
}

#[cfg(test)]
mod tests;
