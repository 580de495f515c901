//! How pipes lie among each other.

use super::strips::{pairs, strips};
use super::{Bent, Bounds, Lying, OFF_ARC};
use quantity::Length;
use std::ops::ControlFlow;

/// A leg, and the bend at its start.
struct Part {
    leg: Bounds,
    bend: Option<Bounds>,
}

/// The pipes as they lie, with each bend that comes within a distance of another pipe, or of its own but what is next to it: few
/// do, and for meetings and gaps only these matter. The other corners stay as they are drawn. Takes about n log n for n legs.
pub fn lying_together(pipes: &[Bent], within: Length) -> Vec<Lying> {
    let wider = |bounds: Bounds| bounds.wider(within.in_metres() / 2.0);
    let parts_of = |pipe: &Bent| -> Vec<Part> {
        let mut bends = pipe.boxes().peekable();
        let part = |leg| Part {
            leg: wider(pipe.route().leg_bounds(leg)),
            bend: bends.next_if(|(number, _)| *number == leg as usize).map(|(_, bounds)| wider(bounds)),
        };
        (0..pipe.route().legs()).map(part).collect()
    };
    let parts: Vec<Vec<Part>> = pipes.iter().map(parts_of).collect();
    let whole = |part: &Part| part.bend.map_or(part.leg, |bend| bend.join(&part.leg));
    let strips = strips(parts.iter().map(|of| of.iter().map(whole)));
    let mut is_near: Vec<Vec<bool>> = parts.iter().map(|of| vec![false; of.len()]).collect();
    let touch = |one: Option<Bounds>, other: Option<Bounds>| one.zip(other).is_some_and(|(a, b)| a.touches(&b));
    let part = |line: u32, leg: u32| &parts[line as usize][leg as usize];
    let flow = pairs(
        &strips,
        |line, leg| whole(part(line, leg)),
        |[(one, first), (other, second)]| {
            let (here, there) = (part(one, first), part(other, second));
            // Next to a bend are its two legs and the bends at their other ends.
            let is_next = one == other && second == first + 1;
            let bends = !is_next && touch(here.bend, there.bend);
            is_near[one as usize][first as usize] |= bends || touch(here.bend, Some(there.leg));
            is_near[other as usize][second as usize] |= bends || !is_next && touch(Some(here.leg), there.bend);
            ControlFlow::Continue(())
        },
    );
    // In a tangle all bends are near to something.
    let lie =
        |(pipe, is_near): (&Bent, &Vec<bool>)| pipe.lying(OFF_ARC, |number, _| flow.is_break() || is_near[number]);
    pipes.iter().zip(&is_near).map(lie).collect()
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::Numbers;
    use super::super::{Point, Route, pipe_gaps, pipe_meetings};
    use super::*;

    /// The bends that are left sharp change nothing: with all of them drawn out pipes meet and come near alike.
    #[test]
    fn the_other_bends_do_not_matter() {
        let mut numbers = Numbers(11);
        let (mut meetings, mut gaps, mut sharp) = (0, 0, 0);
        for round in 0..400 {
            // Crowded and roomy plans; right angles on a grid with hairpins, and all angles.
            let size = [1.5, 8.0][round % 2];
            let on_grid = round % 4 < 2;
            let mut made = || {
                let mut at = numbers.point(0.0, size);
                let legs = 3 + numbers.below(12);
                let mut points = vec![at.on_grid()];
                for leg in 0..legs {
                    let next = numbers.point(0.0, size);
                    let snapped = Point::new((next.x / 0.16).round() * 0.16, (next.y / 0.16).round() * 0.16);
                    at = match (on_grid, leg % 2) {
                        (true, 0) => Point::new(snapped.x, at.y),
                        (true, _) => Point::new(at.x, snapped.y),
                        (false, _) => next,
                    };
                    points.push(at.on_grid());
                }
                Route::new(&points).ok()
            };
            let routes: Vec<Route> = (0..4).filter_map(|_| made()).collect();
            let routes: Vec<&Route> = routes.iter().collect();
            let outside = Length::millimetres(16.0);
            let bent: Vec<Bent> = routes.iter().map(|route| route.bent(Length::millimetres(80.0))).collect();
            let all: Vec<Lying> = bent.iter().map(|it| it.lying(OFF_ARC, |_, _| true)).collect();
            let few = lying_together(&bent, super::super::least_between(outside));
            sharp += all.iter().zip(&few).filter(|(all, few)| all.route.points() != few.route.points()).count();
            let met = |lying: &[Lying]| -> Vec<_> {
                let all = pipe_meetings(&routes, lying).all;
                all.iter().map(|it| (it.first.route, it.second.route, it.contact)).collect()
            };
            assert_eq!(met(&few), met(&all), "{routes:?}");
            let near = |lying: &[Lying]| -> Vec<_> {
                let pipes: Vec<_> = lying.iter().map(|it| (it, outside)).collect();
                let all = pipe_gaps(&pipes, Length::ZERO).all;
                all.iter().map(|it| (it.pipes, (it.gap.in_millimetres() * 10.0).round())).collect()
            };
            assert_eq!(near(&few), near(&all), "{routes:?}");
            meetings += met(&all).len();
            gaps += near(&all).len();
        }
        assert!(meetings > 1000 && gaps > 300 && sharp > 100, "{meetings} {gaps} {sharp}");
    }
}
