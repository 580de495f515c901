//! How pipe lies in a room: the runs that are drawn there, and what takes long to see of them.

use super::{PlanWorkings, Stretch};
use crate::Workings;
use design::Design;
use engineering::plan::{self, Coverage, Gap, Lying, Outline, Route, Run, RunSpacing};
use quantity::{Length, Share};
use std::sync::{Arc, OnceLock};

/// The floor of a room with an outline, and the drawn pipe in it.
///
/// What takes long to see of it is looked at when it is first asked for. As long as nothing of the floor changes, the next workings
/// take it over.
#[derive(Debug)]
pub struct Laid {
    floor: Floor,
    covered: OnceLock<Option<Covered>>,
    largest_gap: OnceLock<Option<Gap>>,
    spacings: OnceLock<Vec<RunSpacing>>,
}

/// How much of the free floor is covered.
#[derive(Debug, Clone, Copy)]
pub struct Covered {
    /// The part of it that lies within half a spacing of a run.
    pub share: Share,
    /// About how far off that may be.
    pub uncertainty: Share,
}

#[derive(Debug, PartialEq)]
struct Floor {
    outline: Outline,
    keep_clear: Vec<Outline>,
    /// Of the loops that heat the room.
    own: Vec<Piece>,
    /// The loop of each of these.
    loops: Vec<usize>,
    /// Of other rooms' loops that pass: it warms the floor too.
    passing: Vec<Piece>,
    unknown: Vec<usize>,
}

/// A run that outlives the workings that it was found in.
#[derive(Debug, PartialEq)]
struct Piece {
    route: Arc<Route>,
    /// How tightly its pipe is bent.
    bend_radius: Length,
    stretch: plan::Stretch,
    spacing: Length,
}

impl Piece {
    fn run(&self) -> Run<'_> {
        Run { route: &self.route, stretch: self.stretch, spacing: self.spacing }
    }
}

impl Laid {
    /// Loops that heat the room and cannot be followed: not drawn, or without a spacing.
    pub fn unknown(&self) -> &[usize] {
        &self.floor.unknown
    }

    /// The runs of the loops that heat the room.
    pub fn runs(&self) -> Vec<Run<'_>> {
        self.floor.own.iter().map(Piece::run).collect()
    }

    /// The same, and the pipe of other loops that passes: it warms the floor where it lies.
    pub fn all_pipe(&self) -> Vec<Run<'_>> {
        self.floor.own.iter().chain(&self.floor.passing).map(Piece::run).collect()
    }

    /// How far the pipe covers the free floor; nothing where there is no free floor. Where it is nearly all, a rough look tells that.
    pub fn covered(&self) -> Option<Covered> {
        const NEARLY_ALL: f64 = 0.95;
        let covered = |it: Coverage| Covered { share: it.covered, uncertainty: it.uncertainty };
        *self.covered.get_or_init(|| {
            let rough = covered(self.look(plan::rough_coverage)?);
            if rough.share.in_fraction() > NEARLY_ALL { Some(rough) } else { self.look(plan::coverage).map(covered) }
        })
    }

    /// The largest patch without pipe. Few floors are asked for it, and what it is found from is too large to be kept.
    pub fn largest_gap(&self) -> Option<Gap> {
        *self.largest_gap.get_or_init(|| self.look(plan::coverage)?.largest_gap())
    }

    /// Looks at the floor with the pipe as it lies there: a bend covers less than the corner that it cuts.
    fn look(&self, how: impl Fn(&Outline, &[&Outline], &[Run]) -> Option<Coverage>) -> Option<Coverage> {
        /// No piece of a bend is farther from its arc: a few thousandths of what the pipe covers to either side.
        const OFF: Length = Length::millimetres(2.0);
        let floor = &self.floor;
        let keep_clear: Vec<&Outline> = floor.keep_clear.iter().collect();
        let pieces: Vec<&Piece> = floor.own.iter().chain(&floor.passing).collect();
        let here = floor.outline.bounds();
        // The pieces of a loop follow each other.
        let of_one_route: Vec<(Lying, &[&Piece])> = pieces
            .chunk_by(|one, other| Arc::ptr_eq(&one.route, &other.route))
            .map(|of| (of[0].route.bent(of[0].bend_radius).lying(OFF, |_, bounds| bounds.touches(&here)), of))
            .collect();
        let runs = of_one_route.iter().flat_map(|(lying, of)| {
            of.iter().map(|piece| {
                let [from, to] = [piece.stretch.from, piece.stretch.to].map(|along| lying.along_lying(along));
                Run { route: &lying.route, stretch: plan::Stretch { from, to }, spacing: piece.spacing }
            })
        });
        how(&floor.outline, &keep_clear, &runs.collect::<Vec<_>>())
    }

    /// What lies beside each run of the loops that heat the room, with its loop.
    pub fn spacings(&self) -> impl Iterator<Item = (usize, &RunSpacing)> {
        let look = || plan::run_spacing(&self.runs());
        self.floor.loops.iter().copied().zip(self.spacings.get_or_init(look))
    }
}

/// The floor of each room; nothing for those without an outline.
pub(super) fn laid(
    design: &Design,
    workings: &Workings,
    plan: &PlanWorkings,
    before: &[Option<Arc<Laid>>],
) -> Vec<Option<Arc<Laid>>> {
    let begin = |room: &crate::RoomWorkings| {
        let outline = room.outline.as_ref()?.as_ref().ok()?.clone();
        let keep_clear = room.keep_clear.iter().map(|(_, area)| area.clone()).collect();
        let (own, loops, passing, unknown) = Default::default();
        Some(Floor { outline, keep_clear, own, loops, passing, unknown })
    };
    let mut floors: Vec<Option<Floor>> = workings.rooms.iter().map(begin).collect();
    for (at, ((given, it), stretches)) in design.loops.values().zip(&workings.loops).zip(&plan.stretches).enumerate() {
        let spacing = given.spacing.map(|it| it.value).filter(|it| *it > Length::ZERO);
        let (Some(Ok(route)), Some(spacing)) = (&it.route, spacing) else {
            for room in &it.rooms {
                floors[*room].iter_mut().for_each(|floor| floor.unknown.push(at));
            }
            continue;
        };
        let bend_radius = super::measures_of(it).map_or(Length::ZERO, |(_, radius)| radius);
        for Stretch { room, from, to, .. } in stretches {
            let Some((room, floor)) = room.and_then(|room| Some((room, floors[room].as_mut()?))) else { continue };
            let stretch = plan::Stretch { from: *from, to: *to };
            let piece = Piece { route: route.clone(), bend_radius, stretch, spacing };
            if it.rooms.contains(&room) {
                floor.own.push(piece);
                floor.loops.push(at);
            } else {
                floor.passing.push(piece);
            }
        }
    }
    let mut before = before.iter();
    let take_over = |floor: Option<Floor>| {
        let known = before.next().and_then(Option::as_ref);
        floor.map(|floor| match known {
            Some(known) if known.floor == floor => known.clone(),
            _ => {
                let (covered, largest_gap, spacings) = Default::default();
                Arc::new(Laid { floor, covered, largest_gap, spacings })
            }
        })
    };
    floors.into_iter().map(take_over).collect()
}
