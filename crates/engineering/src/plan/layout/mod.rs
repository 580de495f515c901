//! Routes that are laid out by the program: meanders and spirals over the free floor of a room.
//!
//! Both patterns are one closed line that crosses nowhere and stays on the floor, by the way they are made; it is
//! opened where the tails come in. Turns that are too narrow for the pipe become bulbs.

mod ground;
mod meander;
mod spiral;
mod turns;

use super::free_area::{Shapes, square_metres};
use super::point::nearest_share;
use super::{Bounds, Outline, Point, Route};
use ground::HAIR;
use quantity::{Area, Length};

/// How a loop is to be laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Runs there and back, with the way back along one side.
    Meander,
    /// Inwards and outwards side by side.
    Spiral,
}

/// What is asked of a loop on the floor of a room.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    pub room: &'a Outline,
    /// Things in the room, each with how far the middle of the pipe stays from it.
    pub things: &'a [(&'a Outline, Length)],
    pub pattern: Pattern,
    /// From run to run, middle to middle.
    pub spacing: Length,
    /// The least that the middle of the pipe stays from a wall; half a spacing is usual and takes its place if wider, up
    /// to [`USUAL_EDGE`].
    pub least_edge: Length,
    pub bend_radius: Length,
    /// Where the tails come into the room.
    pub entry: Option<Point>,
}

/// How far from a wall the first run usually lies, at most.
pub const USUAL_EDGE: Length = Length::millimetres(100.0);

/// A loop laid out on a floor, without its tails.
#[derive(Debug, Clone)]
pub struct Field {
    /// A closed line, opened: its two ends lie side by side.
    pub route: Route,
    /// The pattern that it could be laid in.
    pub pattern: Pattern,
    /// The spacing at which it fits the floor, on average.
    pub spacing: Length,
    /// From the walls.
    pub edge: Length,
    /// Turns that the pipe cannot be bent to.
    pub tight_turns: usize,
    /// Floor too narrow for a run there and back.
    pub too_narrow: Area,
    /// Floor that the pattern could not reach.
    pub cut_off: Area,
}

/// Why there is no field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoField {
    /// A measure is not a number above nothing.
    Measure,
    /// The floor has no part that is wide enough for a run there and back.
    TooNarrow,
    /// The floor would take more pipe than any loop has.
    TooLarge,
}

/// The most pipe that one field is laid out with, in metres: many times what any loop has.
const MOST_PIPE: f64 = 20_000.0;

/// Lays a loop out over the free floor of a room.
pub fn field(asked: &Asked) -> Result<Field, NoField> {
    let (spacing, radius) = (asked.spacing.in_metres(), asked.bend_radius.in_metres());
    let least_edge = asked.least_edge.in_metres();
    let good = |metres: f64| metres.is_finite() && metres >= 0.0;
    if !good(spacing) || spacing < 0.01 || !good(radius) || !good(least_edge) {
        return Err(NoField::Measure);
    }
    if asked.room.area().in_square_metres() / spacing > MOST_PIPE {
        return Err(NoField::TooLarge);
    }
    // The bulbs of a meander lie side by side, and the outermost stick out towards the wall.
    let usual_edge = (spacing / 2.0).min(USUAL_EDGE.in_metres()).max(least_edge);
    let edge_for_bulbs = turns::bulb_width(spacing, radius)
        .filter(|wide| 2.0 * spacing - wide >= BETWEEN_BULBS)
        .map(|wide| usual_edge.max(least_edge + (wide - spacing) / 2.0))
        .filter(|edge| edge - usual_edge < WIDER_FOR_BULBS);
    let (pattern, edge) = match (asked.pattern, edge_for_bulbs) {
        (Pattern::Meander, Some(edge)) => (Pattern::Meander, edge),
        _ => (Pattern::Spiral, usual_edge),
    };
    let origin = asked.room.bounds().low;
    let things: Vec<(&Outline, f64)> = asked.things.iter().map(|(thing, off)| (*thing, off.in_metres())).collect();
    let narrowest = spacing.min(2.0 * radius).max(0.6 * spacing);
    let (floor, too_narrow) = ground::region(asked.room, &things, origin, edge, narrowest);
    if floor.is_empty() {
        return Err(NoField::TooNarrow);
    }
    let entry = asked.entry.map(|entry| Point::new(entry.x - origin.x, entry.y - origin.y));
    let (mut line, real_spacing, cut_off) = match pattern {
        Pattern::Meander => {
            let it = meander(&floor, spacing, entry).ok_or(NoField::TooNarrow)?;
            (it.line, it.spacing, it.cut_off)
        }
        Pattern::Spiral => {
            let it = spiral::coil(&floor, spacing, radius, entry).ok_or(NoField::TooNarrow)?;
            (it.line, it.spacing, it.cut_off)
        }
    };
    let room = turns::Room { floor: &floor, beyond: edge - least_edge, apart: BETWEEN_BULBS };
    turns::ease(&mut line, radius, &room);
    let tight_turns = turns::tight(&line, radius);
    let open = opened(&line, entry, radius);
    let points: Vec<Point> = open.iter().map(|point| Point::new(point.x + origin.x, point.y + origin.y)).collect();
    Ok(Field {
        route: Route::new(&points).map_err(|_| NoField::TooNarrow)?,
        pattern,
        spacing: Length::metres(real_spacing),
        edge: Length::metres(edge),
        tight_turns,
        too_narrow: Area::square_metres(too_narrow),
        cut_off: Area::square_metres(cut_off),
    })
}

/// How much farther from the wall the first run may go to make room for bulbs, in metres: beyond that, too much floor
/// would stay cold.
const WIDER_FOR_BULBS: f64 = 0.02;

/// From pipe to pipe where two bulbs lie side by side, in metres.
const BETWEEN_BULBS: f64 = 0.035;

/// The meander along the longer side of the floor's least rectangle, or along the shorter where that fits better.
fn meander(floor: &Shapes, spacing: f64, entry: Option<Point>) -> Option<meander::Comb> {
    let points: Vec<Point> = floor.iter().flatten().flatten().copied().collect();
    let along = super::outline::long_side_direction(&points);
    let mut best: Option<(f64, meander::Comb)> = None;
    for quarter in [false, true] {
        let (x, y) = if quarter { (-along.y, along.x) } else { (along.x, along.y) };
        let turn = |point: Point| Point::new(point.x * x + point.y * y, point.y * x - point.x * y);
        let back = |point: Point| Point::new(point.x * x - point.y * y, point.x * y + point.y * x);
        let turned: Vec<Vec<Vec<Point>>> = floor
            .iter()
            .map(|shape| shape.iter().map(|line| line.iter().map(|&point| turn(point)).collect()).collect())
            .collect();
        // The way back goes along the side of the entry.
        let bounds = Bounds::around(turned.iter().flatten().flatten().copied());
        let half_turn = entry.is_some_and(|entry| turn(entry).x > (bounds.low.x + bounds.high.x) / 2.0);
        let flip = |point: Point| if half_turn { Point::new(-point.x, -point.y) } else { point };
        let turned: Vec<Vec<Vec<Point>>> = turned
            .into_iter()
            .map(|shape| shape.into_iter().map(|line| line.into_iter().map(flip).collect()).collect())
            .collect();
        let Some(mut comb) = meander::comb(&turned, spacing) else { continue };
        // What is not gone round within a spacing is lost; a pattern much closer than asked is as bad.
        let laid: f64 = super::outline::edges(&comb.line).map(|(from, to)| from.metres_to(to)).sum();
        let area = square_metres(floor);
        let covered = (laid * comb.spacing / area).min(1.05) - comb.cut_off / area;
        let quality = covered - (comb.spacing / spacing - 1.0).abs() - if quarter { 0.02 } else { 0.0 };
        for point in &mut comb.line {
            *point = back(flip(*point));
        }
        if best.as_ref().is_none_or(|best| quality > best.0) {
            best = Some((quality, comb));
        }
    }
    best.map(|best| best.1)
}

/// A closed line opened nearest to the entry; its two ends lie so far apart that both tails can turn to it.
fn opened(line: &[Point], entry: Option<Point>, radius: f64) -> Vec<Point> {
    const APART: f64 = 0.1;
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

#[cfg(test)]
mod tests;
