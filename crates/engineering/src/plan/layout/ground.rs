//! The floor on which pipe may lie: the room without the strip along its walls and round what stands in it.

use super::super::free_area::{Shapes, overlaid, square_metres};
use super::super::outline::signed_area;
use super::super::{Outline, Point};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};

/// Corners sharper than this are cut off when a line is moved outwards round them, in radians.
const SHARPEST: f64 = 0.6;

/// What is shorter or narrower is rounding, in metres.
pub(super) const HAIR: f64 = 1e-6;

/// Shapes with their edges moved outwards, or inwards if `by` is below nothing; corners stay corners.
pub(super) fn moved(shapes: &Shapes, by: f64) -> Shapes {
    let style = OutlineStyle::new(by).line_join(LineJoin::Miter(SHARPEST)).miter_min_turn(0.0);
    let mut moved = shapes.outline_as::<i64>(&style);
    tidy(&mut moved);
    moved
}

/// The shapes cut by, joined with or without others.
pub(super) fn overlay(subject: &Shapes, clip: &[Vec<Point>], rule: OverlayRule) -> Shapes {
    let mut found = overlaid(subject, &clip.to_vec(), rule);
    tidy(&mut found);
    found
}

/// Takes away what rounding leaves: repeated corners, corners in straight edges, specks.
fn tidy(shapes: &mut Shapes) {
    for shape in shapes.iter_mut() {
        for line in shape.iter_mut() {
            straighten(line);
        }
        let outer_stands = shape.first().is_some_and(|line| line.len() > 2);
        shape.retain(|line| outer_stands && line.len() > 2 && signed_area(line).abs() > HAIR);
    }
    shapes.retain(|shape| !shape.is_empty());
}

/// Drops the corners of a closed line that repeat or go straight on.
pub(super) fn straighten(line: &mut Vec<Point>) {
    const STRAIGHT: f64 = 1e-6;
    let mut kept: Vec<Point> = Vec::with_capacity(line.len());
    for &point in line.iter() {
        push_straight(&mut kept, point, STRAIGHT);
    }
    // The seam, where the line closes.
    while kept.len() > 2 {
        let (first, second) = (kept[0], kept[1]);
        let (last, before) = (kept[kept.len() - 1], kept[kept.len() - 2]);
        if first.metres_to(last) < HAIR || goes_straight(before, last, first, STRAIGHT) {
            kept.pop();
        } else if goes_straight(last, first, second, STRAIGHT) {
            kept.remove(0);
        } else {
            break;
        }
    }
    *line = kept;
}

/// Drops the places of a way that repeat or go straight on.
pub(super) fn straighten_way(way: &mut Vec<Point>) {
    let mut kept: Vec<Point> = Vec::with_capacity(way.len());
    for &point in way.iter() {
        push_straight(&mut kept, point, 1e-6);
    }
    *way = kept;
}

fn push_straight(kept: &mut Vec<Point>, point: Point, straight: f64) {
    if kept.last().is_some_and(|last| last.metres_to(point) < HAIR) {
        return;
    }
    while let [.., before, last] = kept[..]
        && goes_straight(before, last, point, straight)
    {
        kept.pop();
    }
    if kept.last().is_none_or(|last| last.metres_to(point) >= HAIR) {
        kept.push(point);
    }
}

/// Whether the way from one point by the next to the third has no corner; or doubles back, which leaves none.
fn goes_straight(before: Point, at: Point, after: Point, straight: f64) -> bool {
    let (came, goes) = (before.to(at), at.to(after));
    came.cross(goes).abs() <= straight * came.length() * goes.length()
}

/// The floor for pipe: the middle of it stays `edge` from the walls and so far as is said from each thing in the room.
/// Necks and niches narrower than `narrowest` are left out; how much floor that is, in square metres, is said.
pub(super) fn region(room: &Outline, things: &[(&Outline, f64)], edge: f64, narrowest: f64) -> (Shapes, f64) {
    let (room, by) = simpler(room.anticlockwise());
    let mut floor = moved(&vec![vec![room.clone()]], -edge - by);
    let grown = |nearer: f64| -> Vec<Vec<Point>> {
        let grown = things.iter().flat_map(|(thing, off)| {
            let (thing, by) = simpler(thing.anticlockwise());
            moved(&vec![vec![thing]], *off + by - nearer)
        });
        grown.filter_map(|shape| shape.into_iter().next()).collect()
    };
    let around = grown(0.0);
    let off_the_edge = grown(edge);
    if !around.is_empty() {
        floor = overlay(&floor, &around, OverlayRule::Difference);
    }
    let wide = opened(&floor, narrowest);
    // Free floor that is out of reach of what is left.
    let free = match off_the_edge.is_empty() {
        true => vec![vec![room]],
        false => overlay(&vec![vec![room]], &off_the_edge, OverlayRule::Difference),
    };
    let reached: Vec<Vec<Point>> = moved(&wide, edge + by + HAIR).into_iter().flatten().collect();
    let lost = match reached.is_empty() {
        true => square_metres(&free),
        false => square_metres(&overlay(&free, &reached, OverlayRule::Difference)),
    };
    (wide, lost)
}

/// A line of many corners, as a curved wall has, with those left out that make no odds, and by how much it may then be off.
///
/// Pipe along a curve is as good along longer chords, and rings and runs find straight edges to meet on. (Douglas and
/// Peucker, Algorithms for the reduction of the number of points required to represent a digitized line, 1973.)
fn simpler(line: Vec<Point>) -> (Vec<Point>, f64) {
    const FEW: usize = 24;
    const OFF: f64 = 0.008;
    if line.len() <= FEW {
        return (line, 0.0);
    }
    let count = line.len();
    // Between the two corners farthest apart along the box.
    let extreme = |best: fn(f64, f64) -> bool| {
        (1..count).fold(0, |at, next| if best(line[next].x, line[at].x) { next } else { at })
    };
    let (left, right) = (extreme(|one, other| one < other), extreme(|one, other| one > other));
    let mut keep = vec![false; count];
    (keep[left], keep[right]) = (true, true);
    let span = |from: usize, to: usize| if to > from { to - from } else { to + count - from };
    let mut todo = vec![(left, span(left, right)), (right, span(right, left))];
    while let Some((from, span)) = todo.pop() {
        let (a, b) = (line[from], line[(from + span) % count]);
        let far = |step: usize| {
            let point = line[(from + step) % count];
            a.towards(b, super::super::point::nearest_share(a, b, point)).metres_to(point)
        };
        let farthest = (1..span).max_by(|one, other| far(*one).total_cmp(&far(*other)));
        if let Some(step) = farthest.filter(|step| far(*step) > OFF) {
            keep[(from + step) % count] = true;
            todo.push((from, step));
            todo.push(((from + step) % count, span - step));
        }
    }
    let kept: Vec<Point> = line.iter().zip(&keep).filter(|(_, keep)| **keep).map(|(point, _)| *point).collect();
    if kept.len() < 3 || Outline::new(&kept).is_err() { (line, 0.0) } else { (kept, OFF) }
}

/// The floor without necks, niches and pieces that are narrower.
pub(super) fn opened(floor: &Shapes, narrowest: f64) -> Shapes {
    if floor.is_empty() {
        return Vec::new();
    }
    if floor.iter().all(|shape| is_convex(shape) && 2.0 * narrow_half(shape) >= narrowest) {
        return floor.clone();
    }
    let half = narrowest / 2.0;
    let opened = moved(&moved(floor, -half), half);
    // Moving in and out again may put a corner out by rounding, never more.
    let clips: Vec<Vec<Point>> = opened.into_iter().flatten().collect();
    let opened = overlay(floor, &clips, OverlayRule::Intersect);
    opened.into_iter().filter(|shape| square_metres(&vec![shape.clone()]) > narrowest * narrowest).collect()
}

/// Whether a shape has neither holes nor corners that bend inwards.
pub(super) fn is_convex(shape: &[Vec<Point>]) -> bool {
    let [line] = shape else { return false };
    let count = line.len();
    (0..count).all(|at| {
        let (before, here, after) = (line[(at + count - 1) % count], line[at], line[(at + 1) % count]);
        before.to(here).cross(here.to(after)) > 0.0
    })
}

/// Half the width of a long shape, from its area and edge: for a rectangle exact.
pub(super) fn narrow_half(shape: &[Vec<Point>]) -> f64 {
    let edges = || shape.iter().flat_map(|line| super::super::outline::edges(line));
    let area: f64 = shape.iter().map(|line| signed_area(line)).sum();
    let half_edge: f64 = edges().map(|(from, to)| from.metres_to(to)).sum::<f64>() / 2.0;
    // The sides a and b of the rectangle with that area and edge: a + b = half the edge, a b = area.
    let root = (half_edge * half_edge / 4.0 - area).max(0.0).sqrt();
    (half_edge / 2.0 - root) / 2.0
}

/// Whether the point lies within the shapes.
pub(super) fn within(shapes: &[Vec<Vec<Point>>], point: Point) -> bool {
    shapes.iter().any(|shape| within_lines(shape, point))
}

/// Whether the point lies within the outer line and in no hole.
pub(super) fn within_lines(lines: &[Vec<Point>], point: Point) -> bool {
    let mut inside = false;
    for line in lines {
        for (from, to) in super::super::outline::edges(line) {
            if (from.y > point.y) != (to.y > point.y) {
                let x = from.x + (to.x - from.x) * ((point.y - from.y) / (to.y - from.y));
                inside ^= x > point.x;
            }
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The floor beside five ways that begin at one place, which lie on each other but for the last digit: to cut it found no
    /// end before the corners were brought to a grid.
    #[test]
    fn lines_that_all_but_coincide_are_cut() {
        const FLOOR: &[(f64, f64)] = &[
            (4.919024819487025, 8.650648415639617),
            (4.919004180483332, 0.07505196236278877),
            (6.032092756437027, 0.07499203777862284),
            (6.032179243613778, 8.65065458438452),
        ];
        const STRIPS: &[&[(f64, f64)]] = &[
            &[
                (6.107142717311032, 5.028878536524122),
                (6.167142717322585, 5.028877931412787),
                (6.167164579330403, 7.196612024273707),
                (6.172112281142263, 7.196611974796689),
                (6.172112110792914, 7.257452819598439),
                (6.49211211079166, 7.257453715572052),
                (6.492111385178863, 7.516608774821648),
                (5.84716780660685, 7.516615224257432),
                (5.847139490078409, 4.7088811586895085),
                (6.107139490050584, 4.708878536540395),
            ],
            &[
                (6.107142717311033, 5.028878536524122),
                (6.069142717327568, 5.0288789197613),
                (6.069165600279042, 7.297844994131276),
                (6.0087980845840185, 7.296613607943653),
                (6.307109953168384, 7.296610624824966),
                (6.307113153168384, 7.616610624808967),
                (6.005536318391014, 7.616613640577315),
                (5.749168762365034, 7.611384214389895),
                (5.749139490083393, 4.708882147038023),
                (6.107139490050583, 4.708878536540395),
            ],
            &[
                (6.107142717311032, 5.028878536524122),
                (5.478330644740523, 5.028884878212658),
                (4.807195768031339, 0.76002237436556),
                (4.944006243933218, 0.76002237436556),
                (4.643995368377309, 0.7600253744743163),
                (4.643992168377309, 0.4400253744903163),
                (4.9440046439332175, 0.4400223743655599),
                (5.080817119835097, 0.4400223743655599),
                (5.751951562700341, 4.708882118677739),
                (6.107139490050584, 4.708878536540395),
            ],
            &[
                (6.107142717311032, 5.028878536524122),
                (5.5531427173538095, 5.028884123718774),
                (5.553140053154261, 4.76471460015621),
                (5.7609924629554055, 0.4202478040167182),
                (6.005383840601482, 0.4150135448486697),
                (6.332085595300448, 0.41501047000862534),
                (6.332088607065154, 0.7350104699944523),
                (6.008811757899714, 0.7350135126000917),
                (6.066358110951871, 0.7337810119736285),
                (5.873140130311087, 4.772363495160175),
                (5.873139490077087, 4.708880896474598),
                (6.107139490050584, 4.708878536540395),
            ],
            &[
                (6.107142717311033, 5.028878536524122),
                (5.651142717348826, 5.028883135370261),
                (5.651140076783539, 4.767057074251174),
                (5.8545706105191195, 0.5150149642717351),
                (6.517086986254598, 0.5150087288234917),
                (6.5170916919109105, 2.9719760539169093),
                (6.197091691911498, 2.971976666790351),
                (6.19708759913322, 0.8350117405966029),
                (6.159627005019858, 0.8350120931669004),
                (5.971140153940365, 4.77470596925514),
                (5.971139490072103, 4.708879908126086),
                (6.107139490050583, 4.708878536540395),
            ],
        ];
        let line = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
        let strips: Vec<Vec<Point>> = STRIPS.iter().map(|strip| line(strip)).collect();
        let left = overlay(&vec![vec![line(FLOOR)]], &strips, OverlayRule::Difference);
        let area = square_metres(&left);
        // What they take of 9.5 m², as shapely 2.2.0 (GEOS 3.14.1) sees it.
        assert!((area - 5.854_826).abs() < 1e-4, "{area}");
    }
}
