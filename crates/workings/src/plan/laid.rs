//! How loops are laid in a room: the runs that are drawn there.

use super::Stretch;
use crate::Workings;
use design::Design;
use engineering::plan::{self, Run};
use quantity::Length;

/// The drawn pipe of the loops that heat a room.
pub struct Laid<'w> {
    pub runs: Vec<Run<'w>>,
    /// The loop of each run.
    pub loops: Vec<usize>,
    /// Loops that heat the room and cannot be followed: not drawn, or without a spacing.
    pub unknown: Vec<usize>,
}

/// The runs of the loops that heat a room, with the spacing that they state.
pub fn laid<'w>(design: &Design, workings: &'w Workings, room: usize) -> Laid<'w> {
    let mut laid = Laid { runs: Vec::new(), loops: Vec::new(), unknown: Vec::new() };
    for &at in &workings.rooms[room].loops {
        let spacing = design.loops.at(at).and_then(|(_, it)| it.value.spacing).map(|it| it.value);
        let (Some(Ok(route)), Some(spacing)) = (&workings.loops[at].route, spacing.filter(|it| *it > Length::ZERO))
        else {
            laid.unknown.push(at);
            continue;
        };
        let here = |stretch: &&Stretch| stretch.room == Some(room);
        for stretch in workings.plan.stretches[at].iter().filter(here) {
            laid.runs.push(Run { route, stretch: plan::Stretch { from: stretch.from, to: stretch.to }, spacing });
            laid.loops.push(at);
        }
    }
    laid
}

/// The pipe of other rooms' loops that passes each room, as far as it is drawn and has a spacing: it warms the floor there.
pub fn passing<'w>(design: &Design, workings: &'w Workings) -> Vec<Vec<Run<'w>>> {
    let mut of_rooms: Vec<Vec<Run>> = workings.rooms.iter().map(|_| Vec::new()).collect();
    for ((given, it), stretches) in design.loops.values().zip(&workings.loops).zip(&workings.plan.stretches) {
        let spacing = given.spacing.map(|it| it.value).filter(|it| *it > Length::ZERO);
        let (Some(Ok(route)), Some(spacing)) = (&it.route, spacing) else { continue };
        for stretch in stretches {
            if let Some(room) = stretch.room.filter(|room| !it.rooms.contains(room)) {
                let stretch = plan::Stretch { from: stretch.from, to: stretch.to };
                of_rooms[room].push(Run { route, stretch, spacing });
            }
        }
    }
    of_rooms
}
