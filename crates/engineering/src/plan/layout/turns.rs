//! Turns: what makes a closed line of pipe bendable.

use super::super::point::Way;
use super::super::Point;
use super::ground::straighten;
use std::f64::consts::PI;

/// A bend is drawn in pieces of no more than this.
const PIECE: f64 = PI / 4.0;

/// Makes the tight turns of a closed line bendable: a hairpin narrower than two radii becomes a bulb, which may stick
/// out beside its two runs by no more than `bulge`.
pub(super) fn ease(line: &mut Vec<Point>, radius: f64, bulge: f64) {
    straighten(line);
    let count = line.len();
    if count < 4 || radius <= 0.0 {
        return;
    }
    // Begin in the middle of the longest edge, so that no turn lies across the seam.
    let at = |number: usize| line[number % count];
    let length = |number: usize| at(number).metres_to(at(number + 1));
    let longest = (0..count).max_by(|one, other| length(*one).total_cmp(&length(*other))).unwrap_or(0);
    line.rotate_left((longest + 1) % count);
    let mut eased: Vec<Point> = Vec::with_capacity(count * 2);
    let mut next = 0;
    while next < count {
        let turned = if next + 2 < count { hairpin(line, &eased, next, radius, bulge) } else { None };
        match turned {
            Some((last, bulb)) => {
                eased.extend(bulb);
                next = last + 1;
            }
            None => {
                eased.push(line[next]);
                next += 1;
            }
        }
    }
    *line = eased;
    straighten(line);
}

/// The turn that begins at a corner, if it is a hairpin that is too tight: its last corner, and what to lay instead.
fn hairpin(line: &[Point], eased: &[Point], first: usize, radius: f64, bulge: f64) -> Option<(usize, Vec<Point>)> {
    const MOST_CORNERS: usize = 5;
    let count = line.len();
    let at = |number: usize| line[number % count];
    let came_from = eased.last().copied().unwrap_or(line[count - 1]);
    let way_in = unit(came_from.to(at(first)))?;
    let mut way = way_in;
    let mut turned = 0.0;
    let mut inner = 0.0;
    for last in first..(first + MOST_CORNERS).min(count) {
        let out = unit(at(last).to(at(last + 1)))?;
        let turn = way.cross(out).atan2(way.dot(out));
        if turned != 0.0 && turn * turned < 0.0 {
            return None;
        }
        turned += turn;
        if turned.abs() > 1.09 * PI {
            return None;
        }
        if turned.abs() > 0.91 * PI {
            if last == first || !is_tight(line, came_from, first, last, radius) {
                return None;
            }
            let room = came_from.metres_to(at(first)).min(at(last).metres_to(at(last + 1)));
            let from = (at(first), way_in);
            return bulb(from, &line[first..=last], turned.signum(), room, radius, bulge).map(|bulb| (last, bulb));
        }
        way = out;
        inner += at(last).metres_to(at(last + 1));
        if inner > 6.0 * radius {
            return None;
        }
    }
    None
}

/// Whether a bend of the radius does not fit some corner of a turn.
fn is_tight(line: &[Point], came_from: Point, first: usize, last: usize, radius: f64) -> bool {
    let at = |number: usize| if number < first { came_from } else { line[number % line.len()] };
    (first..=last).any(|number| {
        let before = if number == first { came_from } else { at(number - 1) };
        fits(before, at(number), at(number + 1)) < radius - 1e-4
    })
}

/// The largest radius that fits a corner whose two legs are each lent half.
pub(super) fn fits(before: Point, at: Point, after: Point) -> f64 {
    let (came, goes) = (before.to(at), at.to(after));
    let turn = came.cross(goes).abs().atan2(came.dot(goes));
    let half = came.length().min(goes.length()) / 2.0;
    if turn < 1e-9 { f64::INFINITY } else { half / (turn / 2.0).tan() }
}

/// How many corners of a closed line are tighter than the radius.
pub(super) fn tight(line: &[Point], radius: f64) -> usize {
    let count = line.len();
    (0..count)
        .filter(|&at| fits(line[(at + count - 1) % count], line[at], line[(at + 1) % count]) < radius - 1e-3)
        .count()
}

fn unit(way: Way) -> Option<Way> {
    let length = way.length();
    (length > 0.0).then(|| Way { x: way.x / length, y: way.y / length })
}

/// A turn straight back through corners: square where it is wide enough, else a bulb of the radius.
fn bulb(
    (start, along): (Point, Way),
    corners: &[Point],
    hand: f64,
    room: f64,
    radius: f64,
    bulge: f64,
) -> Option<Vec<Point>> {
    // u along the run that comes, v across to the run that goes.
    let across = Way { x: -along.y * hand, y: along.x * hand };
    let point = |u: f64, v: f64| {
        Point::new(start.x + along.x * u + across.x * v, start.y + along.y * u + across.y * v)
    };
    let end = start.to(*corners.last()?);
    let (tip, width) = (end.dot(along).min(0.0), end.dot(across));
    if width <= 0.0 {
        return None;
    }
    let back = (-tip).max(end.dot(along) - tip);
    if width >= 2.0 * radius - 1e-4 {
        return (room > back + 2.0 * radius).then(|| vec![point(tip, 0.0), point(tip, width)]);
    }
    let out = ((width / 2.0 + radius) / (2.0 * radius)).clamp(-1.0, 1.0).acos();
    let sweep = PI + 2.0 * out;
    let pieces = (sweep / PIECE).ceil();
    let piece = sweep / pieces;
    let corner = radius / (piece / 2.0).cos();
    if corner - width / 2.0 > bulge {
        return None;
    }
    let middle = tip - corner;
    let neck = middle - 2.0 * radius * out.sin();
    let straight = radius * (out / 2.0).tan();
    if room < end.dot(along).max(0.0) - neck + straight {
        return None;
    }
    let from = (-out.cos()).atan2(-out.sin());
    let mut bulb = vec![point(neck + straight, 0.0)];
    for number in 0..pieces as usize {
        let angle = from + piece * (number as f64 + 0.5);
        bulb.push(point(middle + corner * angle.cos(), width / 2.0 + corner * angle.sin()));
    }
    bulb.push(point(neck + straight, width));
    Some(bulb)
}
