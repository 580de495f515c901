//! Areas put together and taken from each other.
//!
//! The crate `i_overlay` does the work on a grid of whole numbers, of which the widest side of what is
//! given takes some 2⁶⁰ steps: finer than the places themselves.

use super::box_tree::BoxTree;
use super::coverage::free_along_lines;
use super::outline::{area_of, signed_area};
use super::{Outline, Point};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::scale::FixedScaleFloatOverlay;
use i_overlay::i_float::float::compatible::FloatPointCompatible;
use quantity::Area;
use std::ops::ControlFlow;

impl FloatPointCompatible for Point {
    type Scalar = f64;
    fn from_xy(x: f64, y: f64) -> Point {
        Point { x, y }
    }
    fn x(&self) -> f64 {
        self.x
    }
    fn y(&self) -> f64 {
        self.y
    }
}

/// Shapes, each with its outer line and then its holes.
pub(super) type Shapes = Vec<Vec<Vec<Point>>>;

/// The floor of a room that is left for pipe: the outline less the keep-clear areas.
///
/// Keep-clear areas may overlap each other and stick out of the room; what lies outside counts for
/// nothing and what lies twice counts once. Where thousands of them overlap, far more than any room has, the floor
/// is measured along lines and is good to a thousandth.
pub fn free_area(room: &Outline, keep_clear: &[&Outline]) -> Area {
    let near = |area: &&&Outline| area.bounds().touches(&room.bounds());
    let taken: Vec<&Outline> = keep_clear.iter().filter(near).copied().collect();
    if taken.is_empty() {
        return room.area();
    }
    if overlap_often(&taken) {
        return free_along_lines(room, &taken);
    }
    let left = combine(&[room], &taken, OverlayRule::Difference);
    area_of(square_metres(&left))
}

/// Whether so many areas lie on each other that putting them together takes too long.
fn overlap_often(areas: &[&Outline]) -> bool {
    const OFTEN: usize = 5000;
    let mut pairs = 0;
    let tree = BoxTree::new(areas.iter().map(|area| area.bounds()));
    let flow = tree.pairs(|_, _| {
        pairs += 1;
        if pairs < OFTEN { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    });
    flow.is_break()
}

/// The floor that two outlines share; nothing if they only touch.
pub fn overlap(one: &Outline, other: &Outline) -> Area {
    if !overlaps_openly(one, other) {
        return Area::ZERO;
    }
    area_of(square_metres(&combine(&[one], &[other], OverlayRule::Intersect)))
}

/// Each two outlines that share floor, by their numbers, with the area that they share; in order.
///
/// After twenty thousand pairs that may share floor, in a plan of one room on the other, the search is
/// broken off.
pub fn overlaps(outlines: &[&Outline]) -> Vec<(usize, usize, Area)> {
    const MOST_LOOKS: usize = 20_000;
    let tree = BoxTree::new(outlines.iter().map(|outline| outline.bounds()));
    let mut looks = 0;
    let mut found = Vec::new();
    let _ = tree.pairs(|one, other| {
        let (one, other) = (one as usize, other as usize);
        if !overlaps_openly(outlines[one], outlines[other]) {
            return ControlFlow::Continue(());
        }
        looks += 1;
        if looks > MOST_LOOKS {
            return ControlFlow::Break(());
        }
        let shared = overlap(outlines[one], outlines[other]);
        if shared > Area::ZERO {
            found.push((one, other, shared));
        }
        ControlFlow::Continue(())
    });
    found.sort_by_key(|&(one, other, _)| (one, other));
    found
}

/// Whether the boxes share more than an edge.
fn overlaps_openly(one: &Outline, other: &Outline) -> bool {
    let (a, b) = (one.bounds(), other.bounds());
    a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y
}

/// The outlines of each side put together, and the two sides combined.
pub(super) fn combine(subject: &[&Outline], clip: &[&Outline], rule: OverlayRule) -> Shapes {
    let lines =
        |outlines: &[&Outline]| -> Vec<Vec<Point>> { outlines.iter().map(|outline| outline.anticlockwise()).collect() };
    overlaid(&vec![lines(subject)], &lines(clip), rule)
}

/// The same of any shapes.
///
/// They are put on a grid of a tenth of a nanometre: on a finer one lines that all but coincide, by the last digits
/// of their numbers, are cut at each other without an end.
pub(super) fn overlaid(subject: &Shapes, clip: &Vec<Vec<Point>>, rule: OverlayRule) -> Shapes {
    const STEPS: f64 = 1e10;
    subject.overlay_with_fixed_scale_as::<i64>(clip, rule, FillRule::NonZero, STEPS).unwrap_or_default()
}

pub(super) fn square_metres(shapes: &Shapes) -> f64 {
    shapes.iter().flatten().map(|line| signed_area(line)).sum()
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    fn outline(pairs: &[(f64, f64)]) -> Outline {
        Outline::new(&points(pairs)).unwrap()
    }

    fn rectangle(x: f64, y: f64, wide: f64, deep: f64) -> Outline {
        outline(&[(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])
    }

    #[track_caller]
    fn assert_area(area: Area, square_metres: f64) {
        let is = area.in_square_metres();
        assert!((is - square_metres).abs() < 2e-8, "{is} m² for {square_metres} m²");
    }

    // The worked example of the rule catalogue for `room-short-of-heat`: 27.28 m² less an island of
    // 1.00 m² is 26.28 m².
    #[test]
    fn a_room_less_its_island() {
        let room = rectangle(0.0, 0.0, 6.2, 4.4);
        assert_area(free_area(&room, &[]), 27.28);
        assert_area(free_area(&room, &[&rectangle(2.0, 2.0, 1.0, 1.0)]), 26.28);
    }

    #[test]
    fn keep_clear_areas_count_once_and_only_within_the_room() {
        let room = rectangle(0.0, 0.0, 4.0, 4.0);
        let mut backwards = rectangle(1.0, 1.0, 2.0, 1.0).corners().to_vec();
        backwards.reverse();
        let backwards = Outline::new(&backwards).unwrap();
        // Overlapping each other, one drawn the other way round.
        assert_area(free_area(&room, &[&backwards, &rectangle(2.0, 1.0, 1.0, 2.0)]), 13.0);
        // Sticking out, wholly outside, touching from outside, and the whole room.
        assert_area(free_area(&room, &[&rectangle(3.0, 3.0, 5.0, 5.0)]), 15.0);
        assert_area(free_area(&room, &[&rectangle(6.0, 6.0, 1.0, 1.0)]), 16.0);
        assert_area(free_area(&room, &[&rectangle(4.0, 0.0, 1.0, 4.0)]), 16.0);
        assert_area(free_area(&room, &[&rectangle(-1.0, -1.0, 9.0, 9.0)]), 0.0);
        assert_area(free_area(&room, &[&room]), 0.0);
    }

    #[test]
    fn hundreds_of_areas_on_each_other_are_measured_along_lines() {
        let room = rectangle(0.0, 0.0, 4.0, 4.0);
        let mut numbers = Numbers(67);
        let mut area = || rectangle(numbers.between(-1.0, 3.0), numbers.between(-1.0, 3.0), 1.1, 1.1);
        let few: Vec<Outline> = (0..12).map(|_| area()).collect();
        let few: Vec<&Outline> = few.iter().collect();
        let exact = free_area(&room, &few).in_square_metres();
        let many: Vec<&Outline> = few.iter().copied().cycle().take(240).collect();
        assert!(overlap_often(&many) && !overlap_often(&few));
        let by_lines = free_area(&room, &many).in_square_metres();
        assert!((by_lines - exact).abs() < 0.01, "{by_lines} for {exact}");
    }

    #[test]
    fn rooms_side_by_side_share_nothing() {
        let (one, beside) = (rectangle(0.0, 0.0, 4.0, 4.0), rectangle(4.0, 0.0, 4.0, 4.0));
        assert_eq!(overlap(&one, &beside), Area::ZERO);
        let onto = rectangle(3.5, 3.0, 4.0, 4.0);
        assert_area(overlap(&one, &onto), 0.5);
        let inside_corner = outline(&[(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 4.0), (0.0, 4.0)]);
        assert_area(overlap(&inside_corner, &rectangle(1.0, 1.0, 3.0, 3.0)), 0.0);
        let found = overlaps(&[&one, &beside, &onto]);
        let shared: Vec<(usize, usize)> = found.iter().map(|&(a, b, _)| (a, b)).collect();
        assert_eq!(shared, [(0, 2), (1, 2)]);
    }

    #[test]
    fn far_from_the_origin_an_area_is_still_good_to_a_square_centimetre() {
        let (x, y) = (4.5e6, 5.3e6);
        let room = rectangle(x, y, 6.2, 4.4);
        let free = free_area(&room, &[&rectangle(x + 2.0, y + 2.0, 1.0, 1.0)]);
        assert!((free.in_square_metres() - 26.28).abs() < 1e-4, "{free}");
        let vast = rectangle(-1e8, -1e8, 2e8, 2e8);
        let left = free_area(&vast, &[&room]).in_square_metres();
        assert!((left / 4e16 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_free_and_what_is_shared_make_the_whole() {
        let mut numbers = Numbers(31);
        for _ in 0..500 {
            let mut shape = || loop {
                let corners: Vec<Point> = (0..5).map(|_| numbers.point(0.0, 6.0)).collect();
                if let Ok(outline) = Outline::new(&corners) {
                    return outline;
                }
            };
            let (one, other) = (shape(), shape());
            let whole = free_area(&one, &[&other]) + overlap(&one, &other);
            assert_area(whole, one.area().in_square_metres());
            let difference = overlap(&one, &other) - overlap(&other, &one);
            assert_area(difference, 0.0);
        }
    }
}
