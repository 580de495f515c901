//! The outline of a room, a bay, a keep-clear area.

use super::box_tree::BoxTree;
use super::point::{Way, nearest_share, side};
use super::touching::within;
use super::{Bounds, Point, PointFault};
use quantity::{Area, Length};
use std::fmt;
use std::ops::ControlFlow;

/// A closed outline that does not cross itself: three or more corners, none repeated, an area.
///
/// It may be drawn either way round. Edge `n` goes from corner `n` to corner `n + 1`, the last edge
/// back to corner 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    corners: Vec<Point>,
    bounds: Bounds,
    /// In square metres, positive if the corners go anticlockwise.
    signed_area: f64,
    /// Of an outline with many corners, which edges to ask for a point.
    slabs: Option<Slabs>,
}

/// The edges of an outline by the slabs of the plan that they lie in.
#[derive(Debug, Clone, PartialEq)]
struct Slabs {
    /// Slabs that lie side by side in x, else in y.
    along_x: bool,
    low: f64,
    wide: f64,
    /// The numbers of the edges in each slab, one slab after the other.
    edges: Vec<u32>,
    starts: Vec<u32>,
}

impl Slabs {
    /// Slabs of a few edges each; nothing for few edges, or where most slabs would hold most edges.
    fn new(corners: &[Point], bounds: &Bounds) -> Option<Slabs> {
        const FEW_EDGES: usize = 64;
        const MOST_SLABS_OF_AN_EDGE: usize = 20;
        if corners.len() < FEW_EDGES {
            return None;
        }
        let made = |along_x: bool| {
            let place = |point: Point| if along_x { point.x } else { point.y };
            let count = corners.len() / 4;
            let low = place(bounds.low);
            let wide = (place(bounds.high) - low) / count as f64;
            let mut slabs = Slabs { along_x, low, wide, edges: Vec::new(), starts: vec![0; count + 1] };
            let spans = |(from, to): (Point, Point)| {
                let (from, to) = (slabs.number(place(from), count), slabs.number(place(to), count));
                from.min(to)..=from.max(to)
            };
            let most = MOST_SLABS_OF_AN_EDGE * corners.len();
            let mut starts = vec![0u32; count + 1];
            let mut all = 0;
            for edge in edges(corners) {
                let span = spans(edge);
                all += span.end() - span.start() + 1;
                if all > most {
                    return None;
                }
                span.for_each(|slab| starts[slab + 1] += 1);
            }
            for slab in 0..count {
                starts[slab + 1] += starts[slab];
            }
            let mut filled = starts.clone();
            let mut in_slabs = vec![0u32; all];
            for (number, edge) in (0..).zip(edges(corners)) {
                for slab in spans(edge) {
                    in_slabs[filled[slab] as usize] = number;
                    filled[slab] += 1;
                }
            }
            (slabs.edges, slabs.starts) = (in_slabs, starts);
            Some(slabs)
        };
        [made(true), made(false)].into_iter().flatten().min_by_key(|slabs| slabs.edges.len())
    }

    fn number(&self, place: f64, count: usize) -> usize {
        (((place - self.low) / self.wide) as usize).min(count - 1)
    }

    /// The edges that a line through the point, square to the slabs' row, may meet.
    fn at(&self, point: Point) -> &[u32] {
        let count = self.starts.len() - 1;
        let slab = self.number(if self.along_x { point.x } else { point.y }, count);
        &self.edges[self.starts[slab] as usize..self.starts[slab + 1] as usize]
    }
}

/// Why points are no outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OutlineFault {
    /// This corner is no point.
    Corner { corner: usize, fault: PointFault },
    /// Fewer than three corners, a repeat of the first at the end not counted.
    TooFewCorners { corners: usize },
    /// Two corners are the same point.
    RepeatedCorner { first: usize, again: usize, at: Point },
    /// All corners lie on one line, or the area is under a square centimetre.
    NoArea,
    /// Two edges cross or touch elsewhere than at a corner between them.
    CrossesItself { first: usize, second: usize, at: Point },
}

impl fmt::Display for OutlineFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            OutlineFault::Corner { corner, fault } => write!(f, "corner {}: {fault}", corner + 1),
            OutlineFault::TooFewCorners { corners } => {
                write!(f, "the outline has {corners} corners and wants three")
            }
            OutlineFault::RepeatedCorner { first, again, at } => {
                write!(f, "corner {} repeats corner {} at [{}, {}]", again + 1, first + 1, at.x, at.y)
            }
            OutlineFault::NoArea => f.write_str("the outline has no area"),
            OutlineFault::CrossesItself { at, .. } => {
                write!(f, "the outline crosses itself at [{:.3}, {:.3}]", at.x, at.y)
            }
        }
    }
}

/// Where a point lies to an outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Position {
    Inside,
    /// Exactly on an edge or a corner.
    OnEdge,
    Outside,
}

/// A place on the edge of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePoint {
    pub distance: Length,
    pub at: Point,
    pub edge: usize,
}

/// A corner from which an outline goes back beside where it came from, so close that nobody drew two sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spike {
    pub corner: usize,
    /// It ends with that corner and the next one.
    pub is_blunt: bool,
    pub at: Point,
    /// Between the end of its shorter edge and the longer one, or of its blunt end if that is wider.
    pub width: Length,
}

/// The rectangle of least area, at any angle, that holds an outline; of several as small, as round a
/// triangle, the least slender.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastRectangle {
    pub long_side: Length,
    pub short_side: Length,
}

impl LeastRectangle {
    /// Long side over short side, from 1 up.
    pub fn ratio(&self) -> f64 {
        self.long_side / self.short_side
    }
}

/// The points without those that repeat the one before them, and without a repeat of the first at the
/// end: the remedy for corners drawn twice.
pub fn without_repeats(points: &[Point]) -> Vec<Point> {
    let mut kept = points.to_vec();
    kept.dedup();
    while kept.len() > 1 && kept.first() == kept.last() {
        kept.pop();
    }
    kept
}

/// So many square metres, to a hundredth of a square millimetre: coordinates are good to a nanometre, and a floor of 4 m by 3 m has
/// 12 m² and not a hair more.
pub(super) fn area_of(square_metres: f64) -> Area {
    Area::square_metres((square_metres * 1e8).round() / 1e8)
}

impl Outline {
    /// An outline with the corners, which are in metres. The first corner may be repeated at the end.
    ///
    /// Faults are looked for in the order in which [`OutlineFault`] lists them, and the first is
    /// given.
    pub fn new(corners: &[Point]) -> Result<Outline, OutlineFault> {
        let corners = match corners {
            [first, between @ .., last] if first == last && !between.is_empty() => &corners[..corners.len() - 1],
            _ => corners,
        };
        for (corner, point) in corners.iter().enumerate() {
            if let Some(fault) = point.fault() {
                return Err(OutlineFault::Corner { corner, fault });
            }
        }
        if corners.len() < 3 {
            return Err(OutlineFault::TooFewCorners { corners: corners.len() });
        }
        if let Some(fault) = repeated_corner(corners) {
            return Err(fault);
        }
        let (first, second) = (corners[0], corners[1]);
        if corners.iter().all(|&corner| side(first, second, corner) == 0) {
            return Err(OutlineFault::NoArea);
        }
        if let Some(fault) = crossing(corners) {
            return Err(fault);
        }
        let signed_area = signed_area(corners);
        if signed_area.abs() < 1e-4 {
            return Err(OutlineFault::NoArea);
        }
        let bounds = Bounds::around(corners.iter().copied());
        let slabs = Slabs::new(corners, &bounds);
        Ok(Outline { corners: corners.to_vec(), bounds, signed_area, slabs })
    }

    /// Its spikes, in the order of the corners.
    pub fn spikes(&self) -> impl Iterator<Item = Spike> + '_ {
        /// A shorter one changes nothing that anyone would measure; a wider one may be a slot.
        const LEAST: f64 = 0.001;
        const SLOT: f64 = 0.005;
        /// How many times as long as wide it is at least: what is blunter is a small jag of the wall.
        const SLENDER: f64 = 5.0;
        const SLENDER_IN_MILLIMETRES: f64 = 20.0;
        let count = self.corners.len();
        let corner_at = move |at: usize| self.corners[at % count];
        // The end is a corner, or two so near to each other that they are none of a wall.
        let ending_at = move |corner: usize, last: usize| {
            let (at, end) = (corner_at(corner), corner_at(last));
            let (before, after) = (corner_at(corner + count - 1), corner_at(last + 1));
            let (one, other) = (at.to(before), end.to(after));
            let length = one.length().min(other.length());
            let apart = if one.length() < other.length() {
                other.cross(end.to(before)).abs() / other.length()
            } else {
                one.cross(at.to(after)).abs() / one.length()
            };
            let width = apart.max(at.to(end).length());
            let slender = if width < LEAST { SLENDER } else { SLENDER_IN_MILLIMETRES };
            let is_spike = one.dot(other) > 0.0 && length > LEAST && width < SLOT.min(length / slender);
            is_spike.then(|| Spike { corner, is_blunt: last > corner, at, width: Length::metres(width) })
        };
        // What is nowhere wider than that is no room with a spike.
        let is_wide = self.mean_width() > Length::metres(SLOT);
        let ends = (0..count).flat_map(|at| [(at, at), (at, at + 1)]).filter(move |_| is_wide && count > 3);
        ends.filter_map(move |(corner, last)| ending_at(corner, last))
    }

    /// How wide it is on average, as a strip so long that its two sides are its edge.
    pub fn mean_width(&self) -> Length {
        self.area() / (self.perimeter() / 2.0)
    }

    /// An outline of corners that are known to be one, such as come out of [`combine`].
    ///
    /// [`combine`]: super::free_area::combine
    pub(super) fn made(corners: Vec<Point>) -> Outline {
        let bounds = Bounds::around(corners.iter().copied());
        let signed_area = signed_area(&corners);
        let slabs = Slabs::new(&corners, &bounds);
        Outline { corners, bounds, signed_area, slabs }
    }

    /// The corners as given, without a repeat of the first at the end.
    pub fn corners(&self) -> &[Point] {
        &self.corners
    }

    /// The edges in order, as their two ends.
    pub fn edges(&self) -> impl ExactSizeIterator<Item = (Point, Point)> + Clone + '_ {
        edges(&self.corners)
    }

    /// The area within.
    pub fn area(&self) -> Area {
        area_of(self.signed_area.abs())
    }

    /// The length all the way round.
    pub fn perimeter(&self) -> Length {
        Length::metres(self.edges().map(|(from, to)| from.metres_to(to)).sum())
    }

    /// The upright box round the outline.
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Where the point lies; exact. A point that is none lies outside.
    pub fn position(&self, point: Point) -> Position {
        if !self.bounds.contains(point) {
            return Position::Outside;
        }
        let Some(slabs) = &self.slabs else { return position(self.edges(), point) };
        let edge = |number: &u32| {
            let from = *number as usize;
            (self.corners[from], self.corners[if from + 1 == self.corners.len() { 0 } else { from + 1 }])
        };
        let of_slab = slabs.at(point).iter().map(edge);
        if slabs.along_x {
            // The same question with the two coordinates changed over.
            let over = |point: Point| Point { x: point.y, y: point.x };
            position(of_slab.map(|(from, to)| (over(from), over(to))), over(point))
        } else {
            position(of_slab, point)
        }
    }

    /// Whether the point lies inside or on the edge.
    pub fn contains(&self, point: Point) -> bool {
        self.position(point) != Position::Outside
    }

    /// The place on the edge that is nearest to the point, from inside or outside. Of several, the one
    /// on the first edge.
    pub fn nearest_edge(&self, point: Point) -> EdgePoint {
        let mut nearest = EdgePoint { distance: Length::metres(f64::INFINITY), at: self.corners[0], edge: 0 };
        for (edge, (from, to)) in self.edges().enumerate() {
            let at = from.towards(to, nearest_share(from, to, point));
            let distance = at.distance(point);
            if distance < nearest.distance {
                nearest = EdgePoint { distance, at, edge };
            }
        }
        nearest
    }

    /// How far it is from the point to the floor within the outline; zero from inside.
    pub fn straight_distance(&self, point: Point) -> Length {
        if self.contains(point) { Length::ZERO } else { self.nearest_edge(point).distance }
    }

    /// The numbers of the inside corners, where the outline bends inwards, as in an L, a T or a U.
    /// A bend of less than [`Outline::LEAST_INSIDE_CORNER_DEGREES`] is none.
    pub fn inside_corners(&self) -> Vec<usize> {
        let bends_in = |turn: f64| turn <= -Self::LEAST_INSIDE_CORNER_DEGREES;
        self.turns().enumerate().filter(|&(_, turn)| bends_in(turn)).map(|(corner, _)| corner).collect()
    }

    /// The numbers of the corners that stick out: inside corners of the floor round a hole.
    pub(super) fn outside_corners(&self) -> Vec<usize> {
        let bends_out = |turn: f64| turn >= Self::LEAST_INSIDE_CORNER_DEGREES;
        self.turns().enumerate().filter(|&(_, turn)| bends_out(turn)).map(|(corner, _)| corner).collect()
    }

    /// A gentler bend belongs to a curved wall (common practice, no source).
    pub const LEAST_INSIDE_CORNER_DEGREES: f64 = 15.0;

    /// The longest side. Edges that go straight on, to within half a degree, are one side, so a
    /// corner in the middle of a straight wall does not shorten it.
    pub fn longest_side(&self) -> Length {
        let bends: Vec<usize> =
            self.turns().enumerate().filter(|(_, turn)| turn.abs() > 0.5).map(|(corner, _)| corner).collect();
        let ends = if bends.len() < 2 { (0..self.corners.len()).collect() } else { bends };
        let at = |end: usize| self.corners[ends[end % ends.len()]];
        let longest = (0..ends.len()).map(|end| at(end).metres_to(at(end + 1))).fold(0.0, f64::max);
        Length::metres(longest)
    }

    /// The rectangle of least area that holds the outline.
    pub fn least_rectangle(&self) -> LeastRectangle {
        least_rectangle(&self.corners)
    }

    /// By how many degrees the outline turns at each corner, outwards positive.
    fn turns(&self) -> impl Iterator<Item = f64> + '_ {
        let count = self.corners.len();
        let way_round = self.signed_area.signum();
        (0..count).map(move |corner| {
            let before = self.corners[(corner + count - 1) % count];
            let (at, after) = (self.corners[corner], self.corners[(corner + 1) % count]);
            let (came, goes) = (before.to(at), at.to(after));
            way_round * came.cross(goes).atan2(came.dot(goes)).to_degrees()
        })
    }

    /// The corners anticlockwise.
    pub(super) fn anticlockwise(&self) -> Vec<Point> {
        let mut corners = self.corners.clone();
        if self.signed_area < 0.0 {
            corners.reverse();
        }
        corners
    }
}

/// Where a point lies to edges of which those that reach its y are all there.
fn position(edges: impl Iterator<Item = (Point, Point)>, point: Point) -> Position {
    let mut inside = false;
    for (from, to) in edges {
        let (low, high) = if from.y <= to.y { (from, to) } else { (to, from) };
        if point.y < low.y || point.y > high.y {
            continue;
        }
        let side = side(low, high, point);
        if side == 0 && within(low, high, point) {
            return Position::OnEdge;
        }
        // The low end of an edge counts and the high end does not, so a corner counts once.
        if side > 0 && point.y < high.y {
            inside = !inside;
        }
    }
    if inside { Position::Inside } else { Position::Outside }
}

pub(super) fn edges(corners: &[Point]) -> impl ExactSizeIterator<Item = (Point, Point)> + Clone + '_ {
    let next = move |at: usize| corners[if at + 1 == corners.len() { 0 } else { at + 1 }];
    corners.iter().enumerate().map(move |(at, &from)| (from, next(at)))
}

/// Square metres within the closed line, positive if it goes anticlockwise.
pub(super) fn signed_area(corners: &[Point]) -> f64 {
    // Counted from a corner, so that a plan far from the origin loses no digits.
    let Some(&origin) = corners.first() else { return 0.0 };
    edges(corners).map(|(from, to)| origin.to(from).cross(origin.to(to))).sum::<f64>() / 2.0
}

fn repeated_corner(corners: &[Point]) -> Option<OutlineFault> {
    let mut order: Vec<u32> = (0..corners.len() as u32).collect();
    let key = |number: &u32| corners[*number as usize];
    order.sort_unstable_by(|one, other| {
        let (a, b) = (key(one), key(other));
        // Adding zero makes the two zeros one.
        (a.x + 0.0).total_cmp(&(b.x + 0.0)).then((a.y + 0.0).total_cmp(&(b.y + 0.0))).then(one.cmp(other))
    });
    order
        .windows(2)
        .filter(|two| key(&two[0]) == key(&two[1]))
        .min_by_key(|two| two[1])
        .map(|two| OutlineFault::RepeatedCorner { first: two[0] as usize, again: two[1] as usize, at: key(&two[0]) })
}

/// The first edge that crosses or touches a later one elsewhere than at their common corner.
///
/// In a tangle of thousands of edges, after a thousand crossings or twenty million looks, the first
/// found so far counts.
fn crossing(corners: &[Point]) -> Option<OutlineFault> {
    const MOST_LOOKS: usize = 20_000_000;
    const MOST_CROSSINGS: usize = 1000;
    let count = corners.len();
    let edge = |number: usize| (corners[number], corners[(number + 1) % count]);
    let mut found: Option<(usize, usize, Point)> = None;
    let mut crossings = 0;
    let mut look = |first: usize, second: usize| {
        let (a, b) = edge(first);
        let (c, d) = edge(second);
        let at = if first + 1 == second {
            doubles_back(a, b, d)
        } else if first == 0 && second + 1 == count {
            doubles_back(c, a, b)
        } else {
            shared_point(a, b, c, d)
        };
        if let Some(at) = at {
            crossings += 1;
            if found.is_none_or(|before| (first, second) < (before.0, before.1)) {
                found = Some((first, second, at));
            }
        }
        crossings
    };
    if count <= 32 {
        for second in 1..count {
            for first in 0..second {
                look(first, second);
            }
        }
    } else {
        let box_of = |(from, to): (Point, Point)| Bounds::around([from, to]);
        let tree = BoxTree::new(edges(corners).map(box_of));
        let mut looks = 0;
        let _ = tree.pairs(|first, second| {
            looks += 1;
            let crossings = look(first as usize, second as usize);
            let enough = looks >= MOST_LOOKS || crossings >= MOST_CROSSINGS;
            if enough { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
    }
    found.map(|(first, second, at)| OutlineFault::CrossesItself { first, second, at })
}

/// The corner, if the edge after it goes straight back over the edge before it.
fn doubles_back(before: Point, corner: Point, after: Point) -> Option<Point> {
    let straight = side(before, corner, after) == 0;
    (straight && before.to(corner).dot(corner.to(after)) < 0.0).then_some(corner)
}

/// A point that two edges share.
fn shared_point(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    use super::touching::{Legs, legs};
    match legs(a, b, c, d) {
        Legs::Apart => None,
        Legs::Cross(share) => Some(a.towards(b, share)),
        Legs::Touch => {
            let on = |from, to, point| side(from, to, point) == 0 && within(from, to, point);
            let ends = [(a, b, c), (a, b, d), (c, d, a), (c, d, b)];
            ends.into_iter().find(|&(from, to, point)| on(from, to, point)).map(|(_, _, point)| point)
        }
    }
}

/// The rectangle of least area that holds the points, of which three do not lie on one line.
///
/// One side lies on an edge of the hull (Freeman and Shapira, Determining the minimum-area encasing
/// rectangle for an arbitrary closed curve, 1975), and the points that touch the other three sides
/// go round with it. All three of a triangle are as large as each other: of those that differ by no more than the
/// rounding of cut corners the least slender counts.
fn least_rectangle(points: &[Point]) -> LeastRectangle {
    let hull = hull(points);
    let count = hull.len();
    let at = |number: usize| hull[number % count];
    let (mut right, mut far, mut left) = (1, 1, 1);
    const ALIKE: f64 = 1e-3;
    let mut all: Vec<(f64, f64)> = Vec::with_capacity(count);
    for edge in 0..count {
        let way = at(edge).to(at(edge + 1));
        let length = way.length();
        if length == 0.0 {
            continue;
        }
        let along = |number: usize| at(edge).to(at(number)).dot(way) / length;
        let off = |number: usize| way.cross(at(edge).to(at(number))) / length;
        right = right.max(edge + 1);
        while right < edge + count && along(right + 1) > along(right) {
            right += 1;
        }
        far = far.max(right);
        while far < edge + count && off(far + 1) > off(far) {
            far += 1;
        }
        left = left.max(far);
        while left < edge + count && along(left + 1) < along(left) {
            left += 1;
        }
        all.push((along(right) - along(left), off(far)));
    }
    let area = |(wide, deep): &(f64, f64)| wide * deep;
    let ratio = |(wide, deep): &(f64, f64)| wide.max(*deep) / wide.min(*deep);
    let least = all.iter().map(area).fold(f64::INFINITY, f64::min);
    let alike = all.iter().filter(|it| area(it) <= least * (1.0 + ALIKE));
    let (wide, deep) = alike.min_by(|one, other| ratio(one).total_cmp(&ratio(other))).copied().unwrap_or_default();
    LeastRectangle { long_side: Length::metres(wide.max(deep)), short_side: Length::metres(wide.min(deep)) }
}

/// The direction of the longer side of the least rectangle round the points, of length one; pointing right, or up.
pub(super) fn long_side_direction(points: &[Point]) -> Way {
    let hull = hull(points);
    let count = hull.len();
    let mut best = (f64::INFINITY, Way { x: 1.0, y: 0.0 });
    for edge in 0..count {
        let way = hull[edge].to(hull[(edge + 1) % count]);
        let length = way.length();
        if length == 0.0 {
            continue;
        }
        let unit = Way { x: way.x / length, y: way.y / length };
        let across = Way { x: -unit.y, y: unit.x };
        let extent = |along: Way| {
            let places = hull.iter().map(|point| hull[0].to(*point).dot(along));
            let (low, high) = places.fold((0.0f64, 0.0f64), |(low, high), at| (low.min(at), high.max(at)));
            high - low
        };
        let (wide, deep) = (extent(unit), extent(across));
        if wide * deep < best.0 * (1.0 - 1e-9) {
            best = (wide * deep, if wide >= deep { unit } else { across });
        }
    }
    let way = best.1;
    if way.x < -1e-9 || (way.x.abs() <= 1e-9 && way.y < 0.0) { Way { x: -way.x, y: -way.y } } else { way }
}

/// The convex hull, anticlockwise, without points in the middle of a side (Andrew, Another efficient
/// algorithm for convex hulls in two dimensions, 1979).
fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
    let mut hull: Vec<Point> = Vec::with_capacity(sorted.len() + 1);
    let mut half = |points: &mut dyn Iterator<Item = &Point>| {
        let start = hull.len();
        for &point in points {
            while let [.., before, last] = hull[start..]
                && side(before, last, point) <= 0
            {
                hull.pop();
            }
            hull.push(point);
        }
        hull.pop();
    };
    half(&mut sorted.iter());
    half(&mut sorted.iter().rev());
    hull
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    fn outline(pairs: &[(f64, f64)]) -> Outline {
        Outline::new(&points(pairs)).unwrap()
    }

    fn fault(pairs: &[(f64, f64)]) -> OutlineFault {
        Outline::new(&points(pairs)).unwrap_err()
    }

    const L_SHAPE: [(f64, f64); 6] = [(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (2.0, 2.0), (2.0, 5.0), (0.0, 5.0)];

    // The worked examples of the rule catalogue for `bay-over-forty`, `bay-side-over-eight` and
    // `bay-too-slender`.
    /// Many corners are asked by slabs, and the answer is that of all edges.
    #[test]
    fn slabs_give_the_same_answer() {
        let mut numbers = Numbers(71);
        for turned in [false, true] {
            let comb = |at: u32| {
                let (along, off) = (f64::from(at), if at.is_multiple_of(2) { 9.0 } else { 1.0 });
                if turned { Point::new(off, along) } else { Point::new(along, off) }
            };
            let ends = if turned { [(0.0, 199.0), (0.0, 0.0)] } else { [(199.0, 0.0), (0.0, 0.0)] };
            let corners: Vec<Point> = (0..200).map(comb).chain(points(&ends)).collect();
            let outline = Outline::new(&corners).unwrap();
            assert!(outline.slabs.is_some());
            let asked = (0..4000).map(|_| numbers.point(-1.0, 201.0)).chain(corners.iter().copied());
            let on_grid = (0..200).flat_map(|x| (0..10).map(move |y| (f64::from(x), f64::from(y))));
            for point in asked.chain(on_grid.map(|(x, y)| if turned { Point::new(y, x) } else { Point::new(x, y) })) {
                let by_all = match outline.bounds.contains(point) {
                    true => position(outline.edges(), point),
                    false => Position::Outside,
                };
                assert_eq!(outline.position(point), by_all, "{point:?}");
            }
        }
        // A star whose points all go through the middle has no slabs, and few corners want none.
        assert_eq!(Outline::new(&points(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])).unwrap().slabs, None);
    }

    #[test]
    fn areas_sides_and_ratios_of_the_worked_examples() {
        let room = outline(&[(0.0, 0.0), (6.2, 0.0), (6.2, 4.4), (0.0, 4.4)]);
        assert!((room.area().in_square_metres() - 27.28).abs() < 1e-12);
        assert_eq!(room.longest_side(), Length::metres(6.2));
        assert!((room.least_rectangle().ratio() - 6.2 / 4.4).abs() < 1e-12);
        let bay = outline(&[(0.0, 0.0), (9.5, 0.0), (9.5, 5.0), (0.0, 5.0)]);
        assert!((bay.area().in_square_metres() - 47.5).abs() < 1e-12);
        assert_eq!(bay.longest_side(), Length::metres(9.5));
        let slender = outline(&[(0.0, 0.0), (7.8, 0.0), (7.8, 3.0), (0.0, 3.0)]);
        assert!((slender.area().in_square_metres() - 23.4).abs() < 1e-12);
        assert!((slender.least_rectangle().ratio() - 2.6).abs() < 1e-12);
    }

    #[test]
    fn either_way_round_and_closed_or_not_is_the_same_outline() {
        let pairs = L_SHAPE;
        let mut back = pairs;
        back.reverse();
        let mut closed = pairs.to_vec();
        closed.push(pairs[0]);
        for pairs in [&pairs[..], &back[..], &closed[..]] {
            let outline = outline(pairs);
            assert_eq!(outline.corners().len(), 6);
            assert_eq!(outline.area(), Area::square_metres(18.0));
            assert_eq!(outline.perimeter(), Length::metres(22.0));
            let inside: Vec<Point> = outline.inside_corners().iter().map(|&corner| outline.corners()[corner]).collect();
            assert_eq!(inside, points(&[(2.0, 2.0)]));
        }
    }

    #[test]
    fn each_fault_is_told() {
        assert_eq!(fault(&[]), OutlineFault::TooFewCorners { corners: 0 });
        assert_eq!(fault(&[(0.0, 0.0), (1.0, 0.0), (0.0, 0.0)]), OutlineFault::TooFewCorners { corners: 2 });
        assert_eq!(
            fault(&[(0.0, 0.0), (f64::NAN, 0.0), (1.0, 1.0)]),
            OutlineFault::Corner { corner: 1, fault: PointFault::NotFinite }
        );
        assert_eq!(
            fault(&[(0.0, 0.0), (1e9, 0.0), (1.0, 1.0)]),
            OutlineFault::Corner { corner: 1, fault: PointFault::OffThePlan }
        );
        let repeated = fault(&[(0.0, 0.0), (4.0, 0.0), (4.0, 0.0), (4.0, 4.0)]);
        assert_eq!(repeated, OutlineFault::RepeatedCorner { first: 1, again: 2, at: Point::new(4.0, 0.0) });
        assert_eq!(repeated.to_string(), "corner 3 repeats corner 2 at [4, 0]");
        assert_eq!(fault(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]), OutlineFault::NoArea);
        assert_eq!(fault(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1e-7)]), OutlineFault::NoArea);
        let bow_tie = fault(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]);
        assert_eq!(bow_tie, OutlineFault::CrossesItself { first: 0, second: 2, at: Point::new(2.0, 2.0) });
        assert_eq!(bow_tie.to_string(), "the outline crosses itself at [2.000, 2.000]");
        // A corner on another edge, and an edge that goes back over the one before it.
        let touches = fault(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 0.0), (0.0, 4.0)]);
        assert_eq!(touches, OutlineFault::CrossesItself { first: 0, second: 2, at: Point::new(2.0, 0.0) });
        let spike = fault(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 2.0), (0.0, 2.0)]);
        assert_eq!(spike, OutlineFault::CrossesItself { first: 1, second: 2, at: Point::new(4.0, 4.0) });
        let spike_at_start = fault(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 0.0)]);
        assert!(matches!(spike_at_start, OutlineFault::CrossesItself { first: 0, .. }));
    }

    #[test]
    fn a_spike_is_no_side() {
        let with_spike = |long: f64, wide: f64| {
            let corners = [(0.0, 0.0), (2.0, 0.0), (2.0, -long), (2.0 + wide, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)];
            Outline::new(&points(&corners)).unwrap().spikes().next()
        };
        let found = with_spike(0.5, 0.0002).unwrap();
        assert_eq!((found.corner, found.at), (2, Point::new(2.0, -0.5)));
        assert!((found.width.in_millimetres() - 0.2).abs() < 1e-4, "{found:?}");
        // Into the room as well as out of it.
        assert_eq!(with_spike(-0.5, 0.0002).map(|it| it.corner), Some(2));
        assert_eq!(with_spike(0.5, 0.0051), None, "a slot of more than five millimetres");
        assert_eq!(with_spike(0.05, 0.003), None, "a jag of millimetres");
        assert_eq!(with_spike(0.0002, 0.0001), None, "as short as nobody can draw");
        assert_eq!(with_spike(0.002, 0.0009), None, "a jag");
    }

    #[test]
    fn a_spike_may_end_bluntly_and_there_may_be_several() {
        let spikes = |corners: &[(f64, f64)]| {
            let outline = Outline::new(&points(corners)).unwrap();
            outline.spikes().map(|it| (it.corner, it.is_blunt)).collect::<Vec<_>>()
        };
        let blunt = |base: f64, tip: f64, long: f64| {
            let end = 3.0 + long;
            spikes(&[
                (0.0, 0.0),
                (4.0, 0.0),
                (4.0, 3.0),
                (2.0 + base, 3.0),
                (2.0 + tip, end),
                (2.0, end),
                (2.0, 3.0),
                (0.0, 3.0),
            ])
        };
        assert_eq!(blunt(0.0005, 0.0005, 0.5), [(4, true)]);
        assert_eq!(blunt(0.0005, 0.003, 0.5), [(4, true)]);
        assert_eq!(blunt(0.003, 0.003, -1.5), [(4, true)]);
        assert_eq!(blunt(0.006, 0.006, 0.5), [], "a slot");
        assert_eq!(blunt(0.004, 0.004, 0.05), [], "a jag");
        let two = [
            (0.0, 0.0),
            (2.0, 0.0),
            (2.0, -0.5),
            (2.0001, 0.0),
            (4.0, 0.0),
            (4.0, -0.5),
            (4.0001, 0.0),
            (5.0, 0.0),
            (5.0, 3.0),
            (0.0, 3.0),
        ];
        assert_eq!(spikes(&two), [(2, false), (5, false)]);
        assert_eq!(spikes(&[(0.0, 0.0), (4.0, 0.0), (4.0, 0.002), (0.0, 0.002)]), [], "thin all over");
    }

    #[test]
    fn corners_drawn_twice_can_be_dropped() {
        let drawn = points(&[(0.0, 0.0), (0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 4.0), (0.0, 0.0)]);
        assert_eq!(without_repeats(&drawn), points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0)]));
        assert_eq!(without_repeats(&points(&[(1.0, 1.0); 4])).len(), 1);
        assert_eq!(without_repeats(&[]), []);
    }

    #[test]
    fn a_long_outline_that_crosses_itself_is_found_too() {
        let ring = |count: u32| -> Vec<Point> {
            (0..count)
                .map(|n| {
                    let angle = f64::from(n) / f64::from(count) * std::f64::consts::TAU;
                    Point::new(10.0 * angle.cos(), 10.0 * angle.sin())
                })
                .collect()
        };
        let mut corners = ring(400);
        let round = Outline::new(&corners).unwrap();
        let exact = 400.0 / 2.0 * 100.0 * (std::f64::consts::TAU / 400.0).sin();
        assert!((round.area().in_square_metres() - exact).abs() < 1e-8);
        assert!((round.least_rectangle().ratio() - 1.0).abs() < 1e-3);
        assert!(round.inside_corners().is_empty());
        corners.swap(100, 101);
        assert!(matches!(Outline::new(&corners), Err(OutlineFault::CrossesItself { first: 99, .. })));
    }

    #[test]
    fn positions_are_exact() {
        let shape = outline(&L_SHAPE);
        let position = |x, y| shape.position(Point::new(x, y));
        assert_eq!(position(1.0, 1.0), Position::Inside);
        assert_eq!(position(1.0, 2.0), Position::Inside);
        assert_eq!(position(3.0, 2.0), Position::OnEdge);
        assert_eq!(position(2.0, 2.0), Position::OnEdge);
        assert_eq!(position(0.0, 0.0), Position::OnEdge);
        assert_eq!(position(3.0, 2.0 + 2.0 * f64::EPSILON), Position::Outside);
        assert_eq!(position(3.0, 2.0 - f64::EPSILON), Position::Inside);
        assert_eq!(position(-1.0, 0.0), Position::Outside);
        assert_eq!(position(7.0, 0.0), Position::Outside);
        assert_eq!(position(f64::NAN, 1.0), Position::Outside);
        assert_eq!(position(1.0, f64::INFINITY), Position::Outside);
    }

    #[test]
    fn distances_to_the_edge() {
        let shape = outline(&L_SHAPE);
        let nearest = shape.nearest_edge(Point::new(3.0, 1.5));
        assert_eq!(nearest.distance, Length::metres(0.5));
        assert_eq!((nearest.at, nearest.edge), (Point::new(3.0, 2.0), 2));
        assert_eq!(shape.straight_distance(Point::new(3.0, 1.5)), Length::ZERO);
        assert_eq!(shape.straight_distance(Point::new(9.0, 6.0)), Length::metres(5.0));
    }

    #[test]
    fn a_corner_in_a_straight_wall_does_not_shorten_it() {
        let split = outline(&[(0.0, 0.0), (3.0, 0.0), (9.5, 0.0), (9.5, 5.0), (0.0, 5.0)]);
        assert_eq!(split.longest_side(), Length::metres(9.5));
        let split_at_start = outline(&[(3.0, 0.0), (9.5, 0.0), (9.5, 5.0), (0.0, 5.0), (0.0, 0.0)]);
        assert_eq!(split_at_start.longest_side(), Length::metres(9.5));
    }

    #[test]
    fn the_least_rectangle_may_stand_askew() {
        let askew = outline(&[(0.0, 0.0), (3.0, 4.0), (-1.0, 7.0), (-4.0, 3.0)]);
        let rectangle = askew.least_rectangle();
        assert!((rectangle.long_side.in_metres() - 5.0).abs() < 1e-12);
        assert!((rectangle.short_side.in_metres() - 5.0).abs() < 1e-12);
        let triangle = outline(&[(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)]).least_rectangle();
        let area = triangle.long_side * triangle.short_side;
        assert!((area.in_square_metres() - 12.0).abs() < 1e-12);
    }

    #[test]
    fn any_points_give_an_outline_or_a_fault() {
        let mut numbers = Numbers(11);
        let mut good = 0;
        for _ in 0..3000 {
            let count = numbers.below(9);
            // Whole numbers, so that repeats and points on lines are common.
            let corners: Vec<Point> =
                (0..count).map(|_| Point::new(f64::from(numbers.below(6)), f64::from(numbers.below(6)))).collect();
            let Ok(outline) = Outline::new(&corners) else { continue };
            good += 1;
            assert!(outline.area() > Area::ZERO);
            let rectangle = outline.least_rectangle();
            assert!(rectangle.long_side * rectangle.short_side > outline.area() * (1.0 - 1e-12));
            assert!(rectangle.ratio() >= 1.0);
            assert!(outline.longest_side() <= outline.perimeter());
            // A quarter turn changes no figure.
            let turned: Vec<Point> = corners.iter().map(|corner| Point::new(-corner.y, corner.x)).collect();
            let turned = Outline::new(&turned).unwrap();
            assert_eq!(turned.area(), outline.area());
            assert_eq!(turned.perimeter(), outline.perimeter());
            assert_eq!(turned.inside_corners(), outline.inside_corners());
            for _ in 0..5 {
                let point = Point::new(f64::from(numbers.below(13)) / 2.0, f64::from(numbers.below(13)) / 2.0);
                let turned_point = Point::new(-point.y, point.x);
                assert_eq!(outline.position(point), turned.position(turned_point));
                let on_edge = outline.position(point) == Position::OnEdge;
                let distance = outline.nearest_edge(point).distance;
                assert!(!on_edge || distance < Length::metres(1e-12));
            }
        }
        assert!(good > 300, "{good}");
    }
}
