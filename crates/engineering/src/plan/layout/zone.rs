//! The edge zone: closer pipe along outside walls, laid by itself and joined to the rest.

use super::super::free_area::{Shapes, square_metres};
use super::super::outline::edges;
use super::super::point::{Way, nearest_shares};
use super::super::{Bounds, Point};
use super::ground::{HAIR, moved, opened, overlay};
use super::tails::strip;
use super::{Closed, Measures, pattern};
use i_overlay::core::overlay_rule::OverlayRule;

/// An edge zone in metres.
pub(super) struct Zone {
    pub width: f64,
    pub spacing: f64,
    pub walls: Vec<[Point; 2]>,
}

impl Zone {
    /// The strips so far from the walls.
    fn strips(&self, width: f64) -> Vec<Vec<Point>> {
        let walls = self.walls.iter().filter(|[from, to]| from.metres_to(*to) > HAIR);
        walls.map(|[from, to]| strip(&[*from, *to], width)).collect()
    }
}

/// The closed line over a floor with an edge zone; nothing where there is no zone to lay or no floor besides, or nothing of
/// the zone can be joined to the rest.
///
/// What of the zone cannot be joined is laid with the rest, no closer: cold floor along an outside wall would be worse.
pub(super) fn laid(floor: &Shapes, measures: &Measures, zone: &Zone, entry: Option<Point>) -> Option<Closed> {
    /// More of the floor than this is not left out for the sake of a zone, as a share.
    const MOST_CUT_OFF: f64 = 0.03;
    let apart = (measures.spacing + zone.spacing) / 2.0;
    let close = Measures { spacing: zone.spacing, ..*measures }.bendable();
    let laid_close = |shape: Vec<Vec<Point>>| Some((pattern(&vec![shape.clone()], &close, entry)?.line, shape));
    let mut pieces: Vec<(Vec<Point>, Vec<Vec<Point>>)> =
        within(floor, &close, zone).into_iter().filter_map(laid_close).collect();
    while !pieces.is_empty() {
        let shapes: Shapes = pieces.iter().map(|(_, shape)| shape.clone()).collect();
        let around: Vec<Vec<Point>> = moved(&shapes, apart).into_iter().flatten().collect();
        let rest = opened(&overlay(floor, &around, OverlayRule::Difference), measures.narrowest());
        let mut whole = pattern(&rest, measures, entry)?;
        let all = pieces.len();
        pieces.retain(|(line, _)| match joined(&whole.line, line, apart, 2.0 * apart, |_| true) {
            Some((line, _)) => {
                whole.line = line;
                true
            }
            None => false,
        });
        if pieces.len() == all {
            whole.zone_left = (square_metres(&within(floor, &close, zone)) - square_metres(&shapes)).max(0.0);
            return (whole.cut_off < MOST_CUT_OFF * square_metres(floor)).then_some(whole);
        }
    }
    None
}

/// What of a floor lies in the zone and is wide enough for runs.
pub(super) fn within(floor: &Shapes, close: &Measures, zone: &Zone) -> Shapes {
    opened(&overlay(floor, &zone.strips(zone.width), OverlayRule::Intersect), close.narrowest())
}

/// Two closed lines that lie beside each other made one: both are opened where they face each other, on one of the legs of
/// the first that may be opened and is no farther than `reach`, and their ends joined across, `apart`. Which leg that was
/// is told too.
pub(super) fn joined(
    one: &[Point],
    other: &[Point],
    apart: f64,
    reach: f64,
    may_open: impl Fn(usize) -> bool,
) -> Option<(Vec<Point>, usize)> {
    const TRIED: usize = 20;
    struct Place {
        far: f64,
        overlap: f64,
        edges: [usize; 2],
        /// On the first edge, in metres from its start.
        from: f64,
        to: f64,
    }
    let mut places: Vec<Place> = Vec::new();
    let others: Vec<(Point, Point)> = edges(other).collect();
    for (number, (a, b)) in edges(one).enumerate() {
        let (way, length) = (a.to(b), a.metres_to(b));
        if length < apart || !may_open(number) {
            continue;
        }
        let along = Way { x: way.x / length, y: way.y / length };
        for (at, &(c, d)) in others.iter().enumerate() {
            let across = c.to(d);
            let far = along.cross(a.to(c)).abs();
            if far > reach || along.cross(across).abs() > 2e-3 * across.length() {
                continue;
            }
            let (from, to) = (along.dot(a.to(c)), along.dot(a.to(d)));
            let (from, to) = (from.min(to).max(0.0), from.max(to).min(length));
            if to - from >= apart {
                places.push(Place { far, overlap: to - from, edges: [number, at], from, to });
            }
        }
    }
    places.sort_by(|a, b| a.far.total_cmp(&b.far).then(b.overlap.total_cmp(&a.overlap)));
    places.iter().take(TRIED).find_map(|place| {
        let [number, at] = place.edges;
        let (a, b) = (one[number], one[(number + 1) % one.len()]);
        let (c, d) = (other[at], other[(at + 1) % other.len()]);
        let length = a.metres_to(b);
        let middle = (place.from + place.to) / 2.0;
        let [near, far] = [middle - apart / 2.0, middle + apart / 2.0].map(|along| a.towards(b, along / length));
        let onto = |point: Point| c.towards(d, super::super::point::nearest_share(c, d, point));
        let (begin, end) = (onto(near), onto(far));
        let mut line: Vec<Point> = one[..=number].to_vec();
        line.extend([near, begin]);
        // Away from the opening, all the way round, and back to its other side.
        let round = (1..=other.len()).map(|step| (at + step) % other.len());
        if c.metres_to(begin) > c.metres_to(end) {
            line.extend(round.map(|number| other[number]));
        } else {
            line.extend(round.rev().map(|number| other[number]));
        }
        line.extend([end, far]);
        line.extend(&one[number + 1..]);
        // The two lines lie apart: only what joins them may cross one of them.
        let is_free = |ways: [(Point, Point); 2], line: &[Point], opened: usize| {
            let others = edges(line).enumerate().filter(|(leg, _)| *leg != opened);
            others.map(|it| it.1).all(|(a, b)| {
                ways.iter().all(|&(from, to)| {
                    let bounds = Bounds::around([from, to]).wider(HAIR);
                    if !bounds.touches(&Bounds::around([a, b])) {
                        return true;
                    }
                    let (there, here) = nearest_shares(from, to, a, b);
                    from.towards(to, there).metres_to(a.towards(b, here)) > HAIR
                })
            })
        };
        let ways = [(near, begin), (end, far)];
        (is_free(ways, one, number) && is_free(ways, other, at)).then_some((line, number))
    })
}
