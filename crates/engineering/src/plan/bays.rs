//! Bays: the pieces into which movement joints cut a floor of screed.

use super::box_tree::BoxTree;
use super::free_area::{Shapes, combine};
use super::outline::edges;
use super::point::{nearest_share, nearest_shares};
use super::{Bounds, LeastRectangle, Outline, Point, Position};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::scale::FixedScaleFloatOverlay;
use i_overlay::float::slice::FloatSlice;
use quantity::{Area, Length};
use std::ops::ControlFlow;

/// One bay of a floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Bay {
    /// Its outer edge.
    pub outline: Outline,
    /// What lies within the outer edge and is no floor of this bay.
    pub holes: Vec<Outline>,
}

impl Bay {
    /// The area, less the holes.
    pub fn area(&self) -> Area {
        let holes: Area = self.holes.iter().map(Outline::area).sum();
        self.outline.area() - holes
    }

    /// The longest side of the outer edge.
    pub fn longest_side(&self) -> Length {
        self.outline.longest_side()
    }

    /// The rectangle of least area that holds the bay.
    pub fn least_rectangle(&self) -> LeastRectangle {
        self.outline.least_rectangle()
    }

    /// The inside corners from which no joint goes, those at holes included.
    pub fn inside_corners(&self) -> Vec<Point> {
        let corner = |outline: &Outline, number: usize| outline.corners()[number];
        let outer = self.outline.inside_corners().into_iter().map(|at| corner(&self.outline, at));
        let at_holes =
            self.holes.iter().flat_map(|hole| hole.outside_corners().into_iter().map(move |at| corner(hole, at)));
        outer.chain(at_holes).collect()
    }
}

/// An end of a joint that stops short on open floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointEnd {
    /// The number of the joint.
    pub joint: usize,
    pub at: Point,
    /// How far it is to the nearest edge of the floor or other joint.
    pub gap: Length,
    /// Where the joint made longer would meet one.
    pub ahead: Option<Point>,
}

/// A floor cut into bays.
#[derive(Debug, Clone, PartialEq)]
pub struct Bays {
    /// From left to right, then from below.
    pub bays: Vec<Bay>,
    /// In order of the joints.
    pub short_ends: Vec<JointEnd>,
}

/// Steps to a metre when floor is put together and cut: a tenth of a millimetre, so that rooms drawn
/// side by side with a rounded digit become one floor.
const STEPS: f64 = 1e4;

/// Bays smaller than this, in square metres, come from rounding.
const LEAST_BAY: f64 = 1e-4;

/// Rooms that lie side by side without a gap, and their floor cut into bays.
#[derive(Debug, Clone, PartialEq)]
pub struct CutFloor {
    /// By their numbers.
    pub rooms: Vec<usize>,
    /// Nothing where edges and joints are more than any floor has, and it was not cut.
    pub bays: Option<Bays>,
}

/// Cuts all the floors of a storey along the joints, as [`bays`] does with one.
pub fn cut_floors(rooms: &[&Outline], joints: &[&[Point]], reach: Length) -> Vec<CutFloor> {
    /// Each end of a joint is held against each edge and joint of its floor.
    const MOST_EDGES: usize = 4000;
    let boxes = BoxTree::new(joints.iter().map(|joint| Bounds::around(joint.iter().copied())));
    let cut = |of_floor: Vec<usize>| {
        let outlines: Vec<&Outline> = of_floor.iter().map(|&room| rooms[room]).collect();
        let bounds = outlines.iter().map(|room| room.bounds()).reduce(|one, other| one.join(&other));
        let mut near = Vec::new();
        let _ = bounds.map(|bounds| {
            boxes.touching(&bounds.wider(reach.in_metres().max(0.0)), |joint| {
                near.push(joint as usize);
                ControlFlow::Continue(())
            })
        });
        near.sort_unstable();
        let edges: usize = outlines.iter().map(|room| room.corners().len()).sum();
        let can_be_cut = near.is_empty() || (edges + near.len() <= MOST_EDGES && !is_grid(&near, joints));
        let bays = can_be_cut.then(|| {
            let of_near: Vec<&[Point]> = near.iter().map(|&joint| joints[joint]).collect();
            let mut bays = bays(&outlines, &of_near, reach);
            for end in &mut bays.short_ends {
                end.joint = near[end.joint];
            }
            bays
        });
        CutFloor { rooms: of_floor, bays }
    };
    side_by_side(rooms).into_iter().map(cut).collect()
}

/// Whether joints cross each other more often than on any floor: each crossing is the corner of a bay.
fn is_grid(near: &[usize], joints: &[&[Point]]) -> bool {
    const MOST_CROSSINGS: usize = 10_000;
    let boxes = BoxTree::new(near.iter().map(|&joint| Bounds::around(joints[joint].iter().copied())));
    let mut crossings = 0;
    let flow = boxes.pairs(|_, _| {
        crossings += 1;
        if crossings < MOST_CROSSINGS { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    });
    flow.is_break()
}

/// The rooms whose boxes touch, put together.
fn side_by_side(rooms: &[&Outline]) -> Vec<Vec<usize>> {
    /// So many pairs are rooms one on the other, which is a fault of its own.
    const MOST_PAIRS: usize = 1_000_000;
    fn first(of: &mut [usize], mut room: usize) -> usize {
        while of[room] != room {
            of[room] = of[of[room]];
            room = of[room];
        }
        room
    }
    let tree = BoxTree::new(rooms.iter().map(|room| room.bounds().wider(0.5 / STEPS)));
    let mut of: Vec<usize> = (0..rooms.len()).collect();
    let mut pairs = 0;
    let _ = tree.pairs(|one, other| {
        let (one, other) = (first(&mut of, one as usize), first(&mut of, other as usize));
        of[one.max(other)] = one.min(other);
        pairs += 1;
        if pairs < MOST_PAIRS { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    });
    let mut together: Vec<Vec<usize>> = vec![Vec::new(); rooms.len()];
    for room in 0..rooms.len() {
        together[first(&mut of, room)].push(room);
    }
    together.retain(|rooms| !rooms.is_empty());
    together
}

/// Cuts the floor of the rooms along the joints.
///
/// The rooms are those that share one floor: put together, they are one or several pieces. `reach` is
/// how far from the edge of the floor or from another joint the end of a joint may lie and still
/// meets it: the thickness of the edge strip. A joint that stops shorter cuts nothing with that end.
/// Joints that lie outside, or have a [fault](Point::fault) in a point, are passed over.
///
/// Corners of cut bays are good to a tenth of a millimetre. A room that no joint cuts is given as it is.
pub fn bays(rooms: &[&Outline], joints: &[&[Point]], reach: Length) -> Bays {
    let floor = floor(rooms);
    let bounds = Bounds::around(floor.iter().flatten().flatten().copied());
    let reach = if reach > Length::ZERO { reach.in_metres() } else { 0.0 };
    let near: Vec<(usize, Vec<Point>)> = joints
        .iter()
        .enumerate()
        .filter(|(_, joint)| joint.iter().all(|point| point.fault().is_none()))
        .filter(|(_, joint)| Bounds::around(joint.iter().copied()).wider(reach).touches(&bounds))
        .map(|(number, joint)| {
            let mut points = joint.to_vec();
            points.dedup();
            (number, points)
        })
        .filter(|(_, joint)| joint.len() > 1)
        .collect();

    let outlines: Vec<Vec<Outline>> =
        floor.iter().map(|shape| shape.iter().cloned().map(Outline::made).collect()).collect();
    // What an end may meet: the edges of the floor, then the joints, each with its place among them.
    let of_floor = floor.iter().flatten().flat_map(|line| edges(line)).map(|edge| (edge, None));
    let of_joints = near
        .iter()
        .enumerate()
        .flat_map(|(place, (_, joint))| joint.windows(2).map(move |two| ((two[0], two[1]), Some(place))));
    let all: Vec<((Point, Point), Option<usize>)> = of_floor.chain(of_joints).collect();
    let boxes = BoxTree::new(all.iter().map(|((from, to), _)| Bounds::around([*from, *to])));
    let mut short_ends = Vec::new();
    let mut cuts: Vec<Vec<Point>> = Vec::new();
    for (place, (number, joint)) in near.iter().enumerate() {
        cuts.push(joint.clone());
        let mut back = joint.clone();
        back.reverse();
        for points in [back, joint.clone()] {
            let [.., before, end] = points[..] else { continue };
            if !on_floor(&outlines, end) {
                continue;
            }
            let others = || all.iter().filter(|(_, of)| *of != Some(place)).map(|(ends, _)| *ends);
            // Most ends meet something: only for one that stops short all is looked at.
            let mut beside = Vec::new();
            let _ = boxes.touching(&Bounds::around([end]).wider(reach), |number| {
                beside.push(number as usize);
                ControlFlow::Continue(())
            });
            beside.sort_unstable();
            let beside = beside.into_iter().map(|number| &all[number]).filter(|(_, of)| *of != Some(place));
            let nearest = nearest_to(end, beside.map(|(ends, _)| *ends))
                .filter(|meets| meets.metres_to(end) <= reach)
                .or_else(|| nearest_to(end, others()));
            let Some(meets) = nearest else { continue };
            let gap = meets.metres_to(end);
            if gap > reach {
                let ahead = ahead(before, end, others());
                short_ends.push(JointEnd { joint: *number, at: end, gap: Length::metres(gap), ahead });
            } else {
                // A little farther, so that rounding cannot part what meets.
                let way = if gap > 0.0 { end.to(meets) } else { before.to(end) };
                let over = 1e-3 / way.length();
                let past = Point { x: meets.x + way.x * over, y: meets.y + way.y * over };
                cuts.push(vec![end, past]);
            }
        }
    }
    short_ends.sort_by_key(|end| end.joint);
    let cut = if cuts.is_empty() {
        floor
    } else {
        let cut = floor.slice_by_fixed_scale_as::<i64>(&cuts, FillRule::NonZero, STEPS);
        cut.map_or(floor, on_the_step)
    };
    Bays { bays: sorted(cut), short_ends }
}

/// The place nearest to a point on any of the lines; of several the first.
fn nearest_to(point: Point, lines: impl Iterator<Item = (Point, Point)>) -> Option<Point> {
    lines
        .map(|(from, to)| from.towards(to, nearest_share(from, to, point)))
        .min_by(|one, other| one.metres_to(point).total_cmp(&other.metres_to(point)))
}

/// The rooms put together.
fn floor(rooms: &[&Outline]) -> Shapes {
    if let [room] = rooms {
        return vec![vec![room.anticlockwise()]];
    }
    let lines: Vec<Vec<Point>> = rooms.iter().map(|room| room.anticlockwise()).collect();
    let nothing: Vec<Vec<Point>> = Vec::new();
    lines
        .overlay_with_fixed_scale_as::<i64>(&nothing, OverlayRule::Subject, FillRule::NonZero, STEPS)
        .map_or_else(|_| combine(rooms, &[], OverlayRule::Subject), on_the_step)
}

/// The shapes with their corners on whole steps, as a plan would give them.
fn on_the_step(mut shapes: Shapes) -> Shapes {
    let step = |metres: f64| (metres * STEPS).round() / STEPS;
    for point in shapes.iter_mut().flatten().flatten() {
        *point = Point { x: step(point.x), y: step(point.y) };
    }
    shapes
}

fn sorted(shapes: Shapes) -> Vec<Bay> {
    let mut bays: Vec<Bay> = shapes
        .into_iter()
        .filter_map(|shape| {
            let mut lines = shape.into_iter().map(Outline::made);
            let outline = lines.next()?;
            Some(Bay { outline, holes: lines.collect() })
        })
        .filter(|bay| bay.area().in_square_metres() > LEAST_BAY)
        .collect();
    bays.sort_by(|one, other| {
        let (one, other) = (one.outline.bounds().low, other.outline.bounds().low);
        one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y))
    });
    bays
}

/// Whether the point lies on the floor or its edge.
fn on_floor(floor: &[Vec<Outline>], point: Point) -> bool {
    floor.iter().any(|shape| {
        let mut lines = shape.iter().map(|line| line.position(point));
        lines.next().is_some_and(|outer| outer != Position::Outside) && lines.all(|hole| hole != Position::Inside)
    })
}

/// Where the joint that ends so would meet something, made longer.
fn ahead(before: Point, end: Point, around: impl Iterator<Item = (Point, Point)> + Clone) -> Option<Point> {
    let all = Bounds::around(around.clone().flat_map(|(from, to)| [from, to, end]));
    let (wide, high) = all.sides();
    let way = before.to(end);
    let far = (wide + high) / way.length();
    let to = Point { x: end.x + way.x * far, y: end.y + way.y * far };
    around
        .filter(|&(c, d)| super::touching::meet(end, to, c, d))
        .map(|(c, d)| nearest_shares(end, to, c, d).0)
        .min_by(f64::total_cmp)
        .map(|share| end.towards(to, share))
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    const EDGE_STRIP: Length = Length::millimetres(10.0);

    fn outline(pairs: &[(f64, f64)]) -> Outline {
        Outline::new(&points(pairs)).unwrap()
    }

    fn rectangle(x: f64, y: f64, wide: f64, deep: f64) -> Outline {
        outline(&[(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])
    }

    fn cut(rooms: &[&Outline], joints: &[&[(f64, f64)]]) -> Bays {
        let joints: Vec<Vec<Point>> = joints.iter().map(|joint| points(joint)).collect();
        let joints: Vec<&[Point]> = joints.iter().map(|joint| joint.as_slice()).collect();
        bays(rooms, &joints, EDGE_STRIP)
    }

    fn areas(bays: &Bays) -> Vec<f64> {
        bays.bays.iter().map(|bay| (bay.area().in_square_metres() * 1e3).round() / 1e3).collect()
    }

    // The worked example of the rule catalogue for `bay-over-forty` and `bay-side-over-eight`: 9.5 m by
    // 5.0 m is 47.5 m²; a joint at 4.75 m gives two of 23.75 m².
    #[test]
    fn a_joint_across_the_middle() {
        let room = rectangle(0.0, 0.0, 9.5, 5.0);
        let whole = cut(&[&room], &[]);
        assert_eq!(areas(&whole), [47.5]);
        assert_eq!(whole.bays[0].longest_side(), Length::metres(9.5));
        let halves = cut(&[&room], &[&[(4.75, 0.0), (4.75, 5.0)]]);
        assert_eq!(areas(&halves), [23.75, 23.75]);
        assert_eq!(halves.bays[0].longest_side(), Length::metres(5.0));
        assert!((halves.bays[1].least_rectangle().ratio() - 5.0 / 4.75).abs() < 1e-9);
        assert_eq!(halves.short_ends, []);
    }

    #[test]
    fn a_joint_that_stops_short_cuts_nothing() {
        let room = rectangle(0.0, 0.0, 9.5, 5.0);
        let short = cut(&[&room], &[&[(4.75, 0.0), (4.75, 4.8)]]);
        assert_eq!(areas(&short), [47.5]);
        let [end] = short.short_ends[..] else { panic!("{:?}", short.short_ends) };
        assert_eq!((end.joint, end.at), (0, Point::new(4.75, 4.8)));
        assert!((end.gap.in_millimetres() - 200.0).abs() < 1e-9);
        let ahead = end.ahead.unwrap();
        assert!(ahead.metres_to(Point::new(4.75, 5.0)) < 1e-12);
        // Within the edge strip it meets the wall.
        let to_the_strip = cut(&[&room], &[&[(4.75, 0.008), (4.75, 4.992)]]);
        assert_eq!(areas(&to_the_strip), [23.75, 23.75]);
        assert_eq!(to_the_strip.short_ends, []);
    }

    #[test]
    fn joints_that_meet_each_other() {
        let room = rectangle(0.0, 0.0, 8.0, 6.0);
        let across: &[(f64, f64)] = &[(4.0, 0.0), (4.0, 6.0)];
        let tee = cut(&[&room], &[across, &[(4.0, 3.0), (8.0, 3.0)]]);
        assert_eq!(areas(&tee), [24.0, 12.0, 12.0]);
        let near_tee = cut(&[&room], &[across, &[(4.006, 3.0), (8.0, 3.0)]]);
        assert_eq!(areas(&near_tee), [24.0, 12.0, 12.0]);
        let short_tee = cut(&[&room], &[across, &[(4.5, 3.0), (8.0, 3.0)]]);
        assert_eq!(areas(&short_tee), [24.0, 24.0]);
        assert_eq!(short_tee.short_ends[0].ahead, Some(Point::new(4.0, 3.0)));
        let cross = cut(&[&room], &[across, &[(0.0, 3.0), (8.0, 3.0)]]);
        assert_eq!(areas(&cross), [12.0; 4]);
    }

    #[test]
    fn an_inside_corner_wants_a_joint() {
        let room = outline(&[(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (2.0, 2.0), (2.0, 5.0), (0.0, 5.0)]);
        let without = cut(&[&room], &[]);
        assert_eq!(without.bays[0].inside_corners(), [Point::new(2.0, 2.0)]);
        let with = cut(&[&room], &[&[(2.0, 2.0), (0.0, 2.0)]]);
        assert_eq!(areas(&with), [12.0, 6.0]);
        assert!(with.bays.iter().all(|bay| bay.inside_corners().is_empty()));
        let beside = cut(&[&room], &[&[(3.0, 2.0), (3.0, 0.0)]]);
        assert_eq!(beside.bays[0].inside_corners(), [Point::new(2.0, 2.0)]);
    }

    #[test]
    fn rooms_with_an_open_boundary_are_one_floor() {
        let (kitchen, hall) = (rectangle(0.0, 0.0, 5.0, 4.0), rectangle(5.00003, 0.0, 4.0, 4.0));
        let one = cut(&[&kitchen, &hall], &[]);
        assert_eq!(areas(&one), [36.0]);
        let cut_there = cut(&[&kitchen, &hall], &[&[(5.0, 0.0), (5.0, 4.0)]]);
        assert_eq!(areas(&cut_there), [20.0, 16.0]);
        let apart = rectangle(20.0, 0.0, 2.0, 2.0);
        assert_eq!(areas(&cut(&[&kitchen, &apart], &[])), [20.0, 4.0]);
        assert!(cut(&[], &[&[(0.0, 0.0), (1.0, 0.0)]]).bays.is_empty());
    }

    #[test]
    fn each_floor_is_cut_by_itself() {
        let rooms = [
            rectangle(0.0, 0.0, 5.0, 4.0),
            rectangle(20.0, 0.0, 2.0, 2.0),
            rectangle(5.0, 0.0, 4.0, 4.0),
            rectangle(9.1, 0.0, 3.0, 4.0),
        ];
        let joints = [
            points(&[(30.0, 0.0), (30.0, 4.0)]),
            points(&[(10.0, 0.0), (10.0, 3.0)]),
            points(&[(5.0, 0.0), (5.0, 4.0)]),
        ];
        let joints: Vec<&[Point]> = joints.iter().map(|joint| joint.as_slice()).collect();
        let floors = cut_floors(&rooms.each_ref(), &joints, EDGE_STRIP);
        let of_rooms: Vec<&[usize]> = floors.iter().map(|floor| floor.rooms.as_slice()).collect();
        assert_eq!(of_rooms, [&[0, 2][..], &[1], &[3]]);
        let of_first = floors[0].bays.as_ref().unwrap();
        assert_eq!(areas(of_first), [20.0, 16.0]);
        let of_last = floors[2].bays.as_ref().unwrap();
        assert_eq!((areas(of_last), of_last.short_ends[0].joint), (vec![12.0], 1));
        let many: Vec<&[Point]> = vec![joints[2]; 5000];
        assert_eq!(cut_floors(&rooms.each_ref(), &many, EDGE_STRIP)[0].bays, None);
        assert!(cut_floors(&[], &joints, EDGE_STRIP).is_empty());
    }

    #[test]
    fn round_a_shaft_there_are_inside_corners() {
        let ring = [
            rectangle(0.0, 0.0, 6.0, 2.0),
            rectangle(0.0, 4.0, 6.0, 2.0),
            rectangle(0.0, 2.0, 2.0, 2.0),
            rectangle(4.0, 2.0, 2.0, 2.0),
        ];
        let floor = cut(&ring.each_ref(), &[]);
        assert_eq!(areas(&floor), [32.0]);
        assert_eq!(floor.bays[0].inside_corners().len(), 4);
        let joints: [&[(f64, f64)]; 4] = [
            &[(0.0, 2.0), (2.0, 2.0)],
            &[(4.0, 2.0), (6.0, 2.0)],
            &[(0.0, 4.0), (2.0, 4.0)],
            &[(4.0, 4.0), (6.0, 4.0)],
        ];
        let cut_up = cut(&ring.each_ref(), &joints);
        assert_eq!(areas(&cut_up), [12.0, 4.0, 12.0, 4.0]);
        assert!(cut_up.bays.iter().all(|bay| bay.inside_corners().is_empty()));
    }

    #[test]
    fn faulty_and_far_joints_are_passed_over() {
        let room = rectangle(0.0, 0.0, 4.0, 4.0);
        let joints: [&[(f64, f64)]; 5] = [
            &[(2.0, f64::NAN), (2.0, 5.0)],
            &[(1e9, 0.0), (2.0, 5.0)],
            &[(2.0, 2.0), (2.0, 2.0)],
            &[],
            &[(50.0, 0.0), (50.0, 9.0)],
        ];
        let whole = cut(&[&room], &joints);
        assert_eq!(areas(&whole), [16.0]);
        assert_eq!(whole.short_ends, []);
        assert_eq!(areas(&cut(&[&room], &[&[(2.0, -1e8), (2.0, 1e8)]])), [8.0, 8.0]);
    }

    #[test]
    fn the_bays_make_the_floor() {
        let mut numbers = Numbers(53);
        for _ in 0..300 {
            let mut made = |count: u32| -> Vec<Point> { (0..count).map(|_| numbers.point(0.0, 9.0)).collect() };
            let Ok(room) = Outline::new(&made(6)) else { continue };
            let joints = [made(2), made(3), made(2)];
            let joints: Vec<&[Point]> = joints.iter().map(|joint| joint.as_slice()).collect();
            let found = bays(&[&room], &joints, EDGE_STRIP);
            let sum: Area = found.bays.iter().map(Bay::area).sum();
            // Half a step along the whole of every edge, and the bays too small to tell.
            let lost = (sum - room.area()).abs().in_square_metres();
            assert!(lost < 2e-3 + 20.0 * LEAST_BAY, "{lost}");
        }
    }
}
