//! All that stands on one storey, made ready for routes.

use super::passages::Doorway;
use super::{Crossed, StoreyName, Stretch, point, storey_name};
use crate::Workings;
use design::Design;
use engineering::plan::{self, Areas, Line, Lines, Piece, Point};
use quantity::Length;

pub(super) struct Ground<'w> {
    /// The rooms that have an outline.
    pub areas: Areas<'w>,
    /// The rooms behind the areas.
    pub rooms: Vec<usize>,
    /// Every room, with an outline or not.
    pub all_rooms: Vec<usize>,
    pub walls: Vec<Standing>,
    pub uprights: Vec<usize>,
    pub floor_holes: Vec<usize>,
    /// Walls and movement joints.
    pub lines: Lines,
    /// What each line is; for an opening's wall, the wall.
    pub what: Vec<Crossed>,
    /// Of each wall of the design.
    pub openings: &'w [Vec<Doorway>],
}

/// A wall where it stands.
pub(super) struct Standing {
    pub wall: usize,
    pub ends: [Point; 2],
}

/// What names no storey stands on every one.
pub(super) fn same_storey(one: StoreyName, other: StoreyName) -> bool {
    one.is_none() || other.is_none() || one == other
}

impl<'w> Ground<'w> {
    pub fn new(
        design: &'w Design,
        workings: &'w Workings,
        storey: StoreyName,
        openings: &'w [Vec<Doorway>],
    ) -> Ground<'w> {
        let here = |of| same_storey(storey, storey_name(of));
        let all_rooms: Vec<usize> =
            design.rooms.values().enumerate().filter(|(_, room)| here(&room.storey)).map(|(at, _)| at).collect();
        let with_outline = all_rooms.iter().filter_map(|&at| match &workings.rooms[at].outline {
            Some(Ok(outline)) => Some((at, outline)),
            _ => None,
        });
        let (rooms, outlines): (Vec<usize>, Vec<&plan::Outline>) = with_outline.unzip();
        let ends = |line: design::Line| [point(line.from), point(line.to)];
        let walls: Vec<Standing> = design
            .walls
            .values()
            .enumerate()
            .filter(|(_, wall)| here(&wall.storey))
            .filter_map(|(at, wall)| Some(Standing { wall: at, ends: ends(wall.line?.value) }))
            .collect();
        let joints: Vec<(usize, [Point; 2])> = design
            .movement_joints
            .values()
            .enumerate()
            .filter(|(_, joint)| here(&joint.storey))
            .filter_map(|(at, joint)| Some((at, ends(joint.line?.value))))
            .collect();
        let of_walls = walls.iter().map(|it| Crossed::Wall(it.wall));
        let what = of_walls.chain(joints.iter().map(|(at, _)| Crossed::MovementJoint(*at))).collect();
        let all_ends = walls.iter().map(|it| &it.ends).chain(joints.iter().map(|(_, ends)| ends));
        // A pipe that passes at the very end of a wall goes through it, whichever way the last digit is rounded.
        const BEYOND: Length = Length::millimetres(0.001);
        let drawn_out =
            |[from, to]: &[Point; 2]| [to.beyond(*from, BEYOND), from.beyond(*to, BEYOND)].map(Point::on_grid);
        let drawn_out: Vec<[Point; 2]> = all_ends.map(drawn_out).collect();
        let lines = Lines::new(drawn_out.iter().map(|ends| Line::Open(ends)));
        let uprights = design.uprights.values().enumerate();
        let uprights = uprights.filter(|(_, upright)| here(&upright.storey)).map(|(at, _)| at).collect();
        let holes = design.floor_holes.values().enumerate();
        let floor_holes = holes.filter(|(_, hole)| here(&hole.storey)).map(|(at, _)| at).collect();
        Ground { areas: Areas::new(outlines), rooms, all_rooms, walls, uprights, floor_holes, lines, what, openings }
    }

    /// Whether pipe in the box may go through a wall or a joint.
    pub fn comes_near(&self, bounds: &plan::Bounds) -> bool {
        self.lines.come_near(bounds, Length::ZERO)
    }

    /// A route as it lies, cut where it goes from one room to another.
    pub fn cut(&self, lying: &plan::Lying) -> Vec<Stretch> {
        let stretch = |piece: &Piece| {
            let (from, to) = (lying.along_drawn(piece.from), lying.along_drawn(piece.to));
            let length = lying.along_pipe(to) - lying.along_pipe(from);
            Stretch { room: piece.area.map(|area| self.rooms[area]), from, to, length }
        };
        self.areas.pieces(&lying.route).iter().map(stretch).collect()
    }
}
