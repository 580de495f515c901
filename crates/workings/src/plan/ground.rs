//! All that stands on one storey, made ready for routes.

use super::{Crossed, StoreyName, Stretch, point, storey_name};
use crate::Workings;
use design::{Design, Line, Placed};
use engineering::plan::{self, Areas, Lines, Piece};

pub(super) struct Ground<'w> {
    pub areas: Areas<'w>,
    /// The rooms behind the areas.
    pub rooms: Vec<usize>,
    /// Walls and movement joints.
    pub lines: Lines,
    /// What each line is; for an opening's wall, the wall.
    pub what: Vec<Crossed>,
}

/// What names no storey stands on every one.
fn same_storey(one: StoreyName, other: StoreyName) -> bool {
    one.is_none() || other.is_none() || one == other
}

impl<'w> Ground<'w> {
    pub fn new(design: &'w Design, workings: &'w Workings, storey: StoreyName) -> Ground<'w> {
        let here = |of| same_storey(storey, storey_name(of));
        let mut rooms = Vec::new();
        let mut outlines = Vec::new();
        for (at, (given, worked)) in design.rooms.values().zip(&workings.rooms).enumerate() {
            if let Some(Ok(outline)) = &worked.outline
                && here(&given.storey)
            {
                rooms.push(at);
                outlines.push(outline);
            }
        }
        let mut what = Vec::new();
        let mut ends = Vec::new();
        let mut add = |crossed, line: &Option<Placed<Line>>| {
            if let Some(line) = line {
                what.push(crossed);
                ends.push([point(line.value.from), point(line.value.to)]);
            }
        };
        for (at, wall) in design.walls.values().enumerate().filter(|(_, wall)| here(&wall.storey)) {
            add(Crossed::Wall(at), &wall.line);
        }
        for (at, joint) in design.movement_joints.values().enumerate().filter(|(_, joint)| here(&joint.storey)) {
            add(Crossed::MovementJoint(at), &joint.line);
        }
        let lines = Lines::new(ends.iter().map(|line| plan::Line::Open(line)));
        Ground { areas: Areas::new(outlines), rooms, lines, what }
    }

    /// A route cut where it goes from one room to another.
    pub fn cut(&self, route: &plan::Route) -> Vec<Stretch> {
        let stretch =
            |piece: &Piece| Stretch { room: piece.area.map(|area| self.rooms[area]), from: piece.from, to: piece.to };
        self.areas.pieces(route).iter().map(stretch).collect()
    }
}
