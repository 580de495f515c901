//! How far apart the runs of pipe really lie.

use super::box_tree::BoxTree;
use super::point::{Way, nearest_share};
use super::{Bounds, Point, Route, Stretch};
use quantity::{Length, Quantity, Share};
use std::ops::ControlFlow;

/// A stretch of a route that heats a floor, with the spacing at which it is said to be laid.
#[derive(Debug, Clone, Copy)]
pub struct Run<'a> {
    pub route: &'a Route,
    pub stretch: Stretch,
    /// Run to run, centre to centre.
    pub spacing: Length,
}

/// One straight leg of a run, cut to its stretch.
#[derive(Debug, Clone, Copy)]
pub(super) struct RunLeg {
    pub from: Point,
    pub to: Point,
    /// In metres.
    pub spacing: f64,
    /// Metres from the start of the route to where it begins.
    along: f64,
    /// The piece of pipe between two runs.
    is_turn: bool,
    /// The number of its run.
    run: u32,
}

impl RunLeg {
    pub fn bounds(&self) -> Bounds {
        Bounds::around([self.from, self.to])
    }
}

/// A leg of up to so many spacings with a sharp corner at both ends is a turn, not a run.
const LONGEST_TURN: f64 = 1.5;
/// What bends more is a sharp corner.
const SHARP_DEGREES: f64 = 60.0;

/// The legs of the runs; a run whose spacing is not above zero and finite has none.
pub(super) fn legs(runs: &[Run]) -> Vec<RunLeg> {
    let mut legs = Vec::new();
    for (number, run) in (0..).zip(runs) {
        let spacing = run.spacing.in_metres();
        if !(spacing > 0.0 && spacing.is_finite()) {
            continue;
        }
        let range = run.route.legs_in(&run.stretch);
        let sharp = |one: u32, other: u32| {
            let way = |leg: u32| {
                let (from, to) = run.route.leg(leg);
                from.to(to)
            };
            let (came, goes) = (way(one), way(other));
            came.cross(goes).abs().atan2(came.dot(goes)).to_degrees() > SHARP_DEGREES
        };
        for leg in range.clone() {
            let Some(part) = run.route.part_in(leg, &run.stretch) else { continue };
            let (from, to) = run.route.leg(leg);
            let between = leg > range.start && leg + 1 < range.end;
            legs.push(RunLeg {
                from: from.towards(to, part.0),
                to: from.towards(to, part.1),
                spacing,
                along: run.route.metres_along(leg, part.0),
                run: number,
                is_turn: between
                    && from.metres_to(to) <= LONGEST_TURN * spacing
                    && sharp(leg - 1, leg)
                    && sharp(leg, leg + 1),
            });
        }
    }
    legs
}

/// The distances from run to run that were found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunSpacing {
    samples: Vec<Sample>,
    /// The length of pipe that has a run beside it.
    pub measured: Length,
    /// The length of pipe that has none within three spacings.
    pub alone: Length,
}

/// Pipe at one distance from the run beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Sample {
    /// Metres to the nearest run; without end where there is none.
    distance: f64,
    /// The same over the stated spacing.
    of_stated: f64,
    /// Metres of pipe.
    length: f64,
    /// Metres from the start of the route to its first place.
    along: f64,
}

/// A length of pipe that lies at another distance from the run beside it than is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffSpacing {
    /// To the nearest run; nothing where there is none within three spacings.
    pub distance: Option<Length>,
    pub length: Length,
    /// From the start of the route to its first place.
    pub along: Length,
}

impl RunSpacing {
    /// The distance that half of the measured length keeps or goes below; nothing without a run that
    /// has another beside it.
    pub fn median(&self) -> Option<Length> {
        // Just the half is reached, whichever way the last digit of lengths is rounded.
        let half = self.measured.in_metres() / 2.0 * (1.0 - 1e-6);
        let mut reached = 0.0;
        let mut samples: Vec<Sample> = self.samples.iter().filter(|it| it.distance.is_finite()).copied().collect();
        samples.sort_by(|one, other| one.distance.total_cmp(&other.distance));
        let at_half = samples.iter().find(|it| {
            reached += it.length;
            reached >= half
        });
        at_half.or(samples.last()).map(|it| Length::metres(it.distance))
    }

    /// The same for runs of one loop in several rooms or stretches.
    pub fn join(&mut self, other: &RunSpacing) {
        self.samples.extend_from_slice(&other.samples);
        self.measured += other.measured;
        self.alone += other.alone;
    }

    /// The length on which the distance differs from the stated spacing, or from one of the others that
    /// will do, by no more than so much of it.
    pub fn length_within(&self, tolerance: Share, others: &[Length]) -> Length {
        let within = self.samples.iter().filter(|it| it.is_within(tolerance, others));
        within.map(|it| Length::metres(it.length)).sum()
    }

    /// The rest, the longest first.
    pub fn off(&self, tolerance: Share, others: &[Length]) -> Vec<OffSpacing> {
        let off = self.samples.iter().filter(|it| !it.is_within(tolerance, others));
        let mut off: Vec<OffSpacing> = off
            .map(|it| OffSpacing {
                distance: it.distance.is_finite().then(|| Length::metres(it.distance)),
                length: Length::metres(it.length),
                along: Length::metres(it.along),
            })
            .collect();
        off.sort_by(|one, other| other.length.si().total_cmp(&one.length.si()));
        off
    }
}

impl Sample {
    fn is_within(&self, tolerance: Share, others: &[Length]) -> bool {
        // A hair of slack, so that a run exactly on the limit is within it.
        let tolerance = tolerance.in_fraction() + 1e-6;
        let near = |of_it: f64| (of_it - 1.0).abs() <= tolerance;
        near(self.of_stated) || others.iter().any(|other| near(self.distance / other.in_metres()))
    }
}

/// How far from each other the runs of one room lie; for each run by itself, the nearest of all counting.
///
/// Each leg is looked at once a spacing, but at no more than eight places: how far it is, square to the leg and to whichever side
/// is nearer, to another leg that goes the same way or the opposite to within 20°. So the leg round
/// the next corner never counts, and a hairpin's other run does. Turns between runs (legs of up to one
/// and a half spacings with a sharp corner at both ends) are not looked at. A leg with none beside it
/// within three spacings counts as alone.
///
/// After five million looks, far more than a floor takes, what is left is not measured.
pub fn run_spacing(runs: &[Run]) -> Vec<RunSpacing> {
    const REACH: f64 = 3.0;
    const MOST_SAMPLES: f64 = 8.0;
    const MOST_LOOKS: usize = 5_000_000;
    let parallel = 20f64.to_radians().sin();
    let legs = legs(runs);
    let tree = BoxTree::new(legs.iter().map(RunLeg::bounds));
    let mut all = vec![RunSpacing::default(); runs.len()];
    let mut looks = 0;
    let mut beside: Vec<RunLeg> = Vec::new();
    for (number, leg) in (0..).zip(&legs) {
        if leg.is_turn || looks > MOST_LOOKS {
            continue;
        }
        let way = leg.from.to(leg.to);
        let length = way.length();
        let reach = REACH * leg.spacing;
        let found = &mut all[leg.run as usize];
        beside.clear();
        let _ = tree.touching(&leg.bounds().wider(reach), |other| {
            let candidate = legs[other as usize];
            let other_way = candidate.from.to(candidate.to);
            if other != number && way.cross(other_way).abs() <= parallel * length * other_way.length() {
                beside.push(candidate);
            }
            looks += 1;
            ControlFlow::Continue(())
        });
        let count = (length / leg.spacing).ceil().clamp(1.0, MOST_SAMPLES) as u32;
        let weight = length / f64::from(count);
        for sample in 0..count {
            let at = leg.from.towards(leg.to, (f64::from(sample) + 0.5) / f64::from(count));
            let nearest = beside
                .iter()
                .filter_map(|other| square_distance(at, way, length, other))
                .filter(|&distance| distance <= reach)
                .min_by(f64::total_cmp);
            looks += beside.len();
            match nearest {
                Some(_) => found.measured += Length::metres(weight),
                None => found.alone += Length::metres(weight),
            }
            let distance = nearest.unwrap_or(f64::INFINITY);
            let of_stated = distance / leg.spacing;
            // Along a run the distance hardly ever changes.
            let same = |one: f64, other: f64| one == other || (one - other).abs() < 1e-9;
            match found.samples.last_mut() {
                Some(last) if same(last.distance, distance) && same(last.of_stated, of_stated) => last.length += weight,
                _ => {
                    let along = leg.along + length * f64::from(sample) / f64::from(count);
                    found.samples.push(Sample { distance, of_stated, length: weight, along });
                }
            }
        }
    }
    all
}

/// How far it is from each place to the nearest run, up to `reach`.
pub fn distances_to_runs(places: &[Point], runs: &[Run], reach: Length) -> Vec<Option<Length>> {
    let legs = legs(runs);
    let tree = BoxTree::new(legs.iter().map(RunLeg::bounds));
    let reach = reach.in_metres();
    let nearest = |place: &Point| {
        let mut nearest = reach;
        let mut found = false;
        // First what lies close by: where there is a run that saves looking at all the others.
        for within in [reach / 8.0, reach] {
            let bounds = Bounds { low: *place, high: *place }.wider(within);
            let _ = tree.touching(&bounds, |number| {
                let leg = &legs[number as usize];
                let distance = leg.from.towards(leg.to, nearest_share(leg.from, leg.to, *place)).metres_to(*place);
                if distance <= nearest {
                    (nearest, found) = (distance, true);
                }
                ControlFlow::Continue(())
            });
            if found && nearest <= within {
                break;
            }
        }
        found.then(|| Length::metres(nearest))
    };
    places.iter().map(nearest).collect()
}

/// How far it is from a point of a leg, square to the leg, to another leg, if it lies there.
fn square_distance(at: Point, way: Way, length: f64, other: &RunLeg) -> Option<f64> {
    let (from, to) = (at.to(other.from), at.to(other.to));
    let (ahead_from, ahead_to) = (from.dot(way), to.dot(way));
    if ahead_from.signum() == ahead_to.signum() && ahead_from != 0.0 && ahead_to != 0.0 {
        return None;
    }
    let over = ahead_from - ahead_to;
    let share = if over == 0.0 { 0.0 } else { ahead_from / over };
    let (off_from, off_to) = (way.cross(from) / length, way.cross(to) / length);
    Some((off_from + (off_to - off_from) * share).abs())
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::*;

    /// A serpentine of runs along x, from the corner of a rectangle.
    pub fn serpentine(x: f64, y: f64, wide: f64, runs: u32, spacing: f64) -> Route {
        let mut pairs = Vec::new();
        for run in 0..runs {
            let y = y + spacing * f64::from(run);
            let (near, far) = if run % 2 == 0 { (x, x + wide) } else { (x + wide, x) };
            pairs.extend([(near, y), (far, y)]);
        }
        Route::new(&points(&pairs)).unwrap()
    }

    fn spacing_of(route: &Route, stated: f64) -> RunSpacing {
        run_spacing(&[Run { route, stretch: route.whole(), spacing: Length::metres(stated) }]).remove(0)
    }

    fn within_15(spacing: &RunSpacing) -> f64 {
        spacing.length_within(Share::percent(15.0), &[]) / spacing.measured
    }

    #[test]
    fn a_serpentine_as_stated_and_not() {
        let route = serpentine(0.1, 0.1, 4.0, 14, 0.15);
        let as_stated = spacing_of(&route, 0.15);
        assert!((as_stated.median().unwrap().in_millimetres() - 150.0).abs() < 1e-6);
        assert!((within_15(&as_stated) - 1.0).abs() < 1e-12);
        assert!((as_stated.measured.in_metres() - 14.0 * 4.0).abs() < 1e-9);
        assert_eq!(as_stated.alone, Length::ZERO);
        let stated_wider = spacing_of(&route, 0.2);
        assert!((stated_wider.median().unwrap().in_millimetres() - 150.0).abs() < 1e-6);
        assert_eq!(within_15(&stated_wider), 0.0);
        // 150 mm is 13 % under 172 mm.
        assert!((within_15(&spacing_of(&route, 0.172)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_spiral_has_its_spacing_all_over() {
        let mut pairs = vec![(0.0, 0.0)];
        for turn in 0..40 {
            let (x, y) = pairs[turn];
            let leg = 0.1 * (turn / 2 + 1) as f64;
            pairs.push(match turn % 4 {
                0 => (x + leg, y),
                1 => (x, y + leg),
                2 => (x - leg, y),
                _ => (x, y - leg),
            });
        }
        let spacing = spacing_of(&Route::new(&points(&pairs)).unwrap(), 0.1);
        assert!((spacing.median().unwrap().in_millimetres() - 100.0).abs() < 1e-6);
        assert!(within_15(&spacing) > 0.99);
    }

    #[test]
    fn two_loops_in_one_room_are_measured_together() {
        let (one, other) = (serpentine(0.0, 0.0, 4.0, 2, 0.3), serpentine(0.0, 0.15, 4.0, 2, 0.3));
        let run = |route| Run { route, stretch: one.whole(), spacing: Length::metres(0.15) };
        let spacing = run_spacing(&[run(&one), run(&other)]);
        assert!(spacing.iter().all(|it| (it.median().unwrap().in_millimetres() - 150.0).abs() < 1e-6));
        let [first, second] = <[RunSpacing; 2]>::try_from(spacing).unwrap();
        let mut both = first.clone();
        both.join(&second);
        assert!((both.measured - first.measured - second.measured).abs() < Length::metres(1e-9));
        assert!((both.median().unwrap().in_millimetres() - 150.0).abs() < 1e-6);
    }

    #[test]
    fn a_run_alone_measures_nothing() {
        let run = Route::new(&points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)])).unwrap();
        let spacing = spacing_of(&run, 0.15);
        assert_eq!((spacing.median(), spacing.length_within(Share::percent(15.0), &[])), (None, Length::ZERO));
        assert!((spacing.alone.in_metres() - 7.0).abs() < 1e-9);
        for stated in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(spacing_of(&run, stated), RunSpacing::default());
        }
        assert_eq!(run_spacing(&[]), []);
    }

    #[test]
    fn from_places_to_the_nearest_run() {
        let route = serpentine(0.0, 0.0, 4.0, 2, 0.2);
        let run = Run { route: &route, stretch: route.whole(), spacing: Length::metres(0.2) };
        let places = points(&[(1.0, -0.3), (1.0, 0.1), (1.0, 0.0), (9.0, 0.0), (4.3, 0.1), (f64::NAN, 0.0)]);
        let found = distances_to_runs(&places, &[run], Length::metres(1.0));
        let millimetres = found.iter().map(|it| it.map(|distance| distance.in_millimetres().round()));
        let wanted = [Some(300.0), Some(100.0), Some(0.0), None, Some(300.0), None];
        assert_eq!(millimetres.collect::<Vec<_>>(), wanted);
        assert_eq!(distances_to_runs(&places[..1], &[], Length::metres(1.0)), [None]);
    }

    #[test]
    fn a_gap_shows_in_the_share_and_not_in_the_median() {
        let pairs =
            [(0.0, 0.0), (4.0, 0.0), (4.0, 0.15), (0.0, 0.15), (0.0, 0.3), (4.0, 0.3), (4.0, 0.55), (0.0, 0.55)];
        let spacing = spacing_of(&Route::new(&points(&pairs)).unwrap(), 0.15);
        assert!((spacing.median().unwrap().in_millimetres() - 150.0).abs() < 1e-6);
        assert!((within_15(&spacing) - 12.0 / 16.25).abs() < 0.02);
    }

    #[test]
    fn any_tangle_is_measured_somehow() {
        let mut numbers = Numbers(59);
        for _ in 0..200 {
            let tangle: Vec<Point> =
                (0..12).map(|_| Point::new(f64::from(numbers.below(4)), f64::from(numbers.below(4)))).collect();
            let Ok(route) = Route::new(&tangle) else { continue };
            let spacing = spacing_of(&route, 0.4);
            let all = spacing.measured + spacing.alone;
            assert!(all <= route.length() + Length::metres(1e-9));
        }
    }
}
