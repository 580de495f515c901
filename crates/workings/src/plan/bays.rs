//! What movement joints cut the screed of each storey into.

use super::ground::same_storey;
use super::{StoreyName, Stretch, point, storey_name};
use crate::{Subject, Workings};
use design::{Design, EdgeStrip, JointKind};
use engineering::plan::{self, Areas, Bay, Outline, Point};
use quantity::{Area, Length};
use std::collections::BTreeMap;

/// A bay of screed.
#[derive(Debug, Clone)]
pub struct BayWorkings {
    pub bay: Bay,
    /// The rooms that it lies in.
    pub rooms: Vec<usize>,
    /// The loops that are drawn in it, with their length there in rooms that they heat: tails that only pass have none.
    pub loops: Vec<(usize, Length)>,
    /// Pipe heats it: pipe that is drawn in it, or a loop of its rooms that is not drawn.
    pub heated: bool,
}

/// An end of a joint that stops short on open floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShortJoint {
    pub joint: usize,
    pub at: Point,
    /// How far it is from there to the nearest wall or joint.
    pub gap: Length,
    /// Where the joint made longer would meet one.
    pub ahead: Option<Point>,
}

impl Workings {
    /// Whether the floor of a room is a screed, which wants joints; nothing where the file does not say its floor.
    pub fn has_screed(&self, design: &Design, room: usize) -> Option<bool> {
        let floor = self.rooms.get(room)?.floor?;
        let (given, worked) = (&design.floors.at(floor)?.1.value, self.floors.get(floor)?);
        let is_screed = |at: usize| {
            let stated = given.layers.get(at).and_then(|layer| layer.screed).map(|it| it.value);
            match stated {
                Some(screed) => screed != design::Screed::MasticAsphalt,
                None => worked.layers.get(at).and_then(|layer| layer.material).is_some_and(|material| {
                    use engineering::heat::materials::Kind::{CalciumSulphateScreed, CementScreed};
                    matches!(material.kind, CementScreed | CalciumSulphateScreed)
                }),
            }
        };
        Some(match worked.pipe_layer {
            Ok(at) => is_screed(at),
            Err(_) => (0..worked.layers.len()).any(is_screed),
        })
    }
}

/// Cuts the screed of every storey; floors must be worked out.
pub(crate) fn work_out(design: &Design, workings: &mut Workings) {
    let mut of_storeys: BTreeMap<StoreyName, Vec<usize>> = BTreeMap::new();
    for (at, room) in design.rooms.values().enumerate() {
        if matches!(workings.rooms[at].outline, Some(Ok(_))) && workings.has_screed(design, at) == Some(true) {
            of_storeys.entry(storey_name(&room.storey)).or_default().push(at);
        }
    }
    let (mut bays, mut short_joints, mut uncut) = (Vec::new(), Vec::new(), Vec::new());
    for (storey, rooms) in of_storeys {
        on_one_storey(design, workings, storey, &rooms, &mut bays, &mut short_joints, &mut uncut);
    }
    lay(design, workings, &mut bays);
    let plan = &mut workings.plan;
    (plan.bays, plan.short_joints, plan.uncut) = (bays, short_joints, uncut);
}

/// A narrower strip, as is left where a joint or a wall is drawn beside the edge of a room, is no bay.
const NARROWEST: Length = Length::millimetres(50.0);

fn on_one_storey(
    design: &Design,
    workings: &Workings,
    storey: StoreyName,
    rooms: &[usize],
    bays: &mut Vec<BayWorkings>,
    short_joints: &mut Vec<ShortJoint>,
    uncut: &mut Vec<usize>,
) {
    let outlines: Vec<&Outline> =
        rooms.iter().filter_map(|room| workings.rooms[*room].outline.as_ref()?.as_ref().ok()).collect();
    let reach = reach(design);
    let walls: Vec<([Point; 2], Length)> = design
        .walls
        .values()
        .filter(|wall| same_storey(storey, storey_name(&wall.storey)))
        .filter_map(|wall| {
            let line = wall.line?.value;
            let half = wall.thickness.map_or(Length::ZERO, |it| it.value / 2.0);
            Some(([point(line.from), point(line.to)], half))
        })
        .collect();
    let joints: Vec<(usize, [Point; 2])> = design
        .movement_joints
        .values()
        .enumerate()
        .filter(|(_, joint)| same_storey(storey, storey_name(&joint.storey)))
        .filter(|(_, joint)| joint.kind.is_none_or(|kind| kind.value != JointKind::CrackInducer))
        .filter_map(|(at, joint)| {
            let line = joint.line?.value;
            Some((at, up_to_walls([point(line.from), point(line.to)], &walls, reach)))
        })
        .collect();
    // A wall parts the screed on its two sides as a joint does; its doorways have a rule of their own.
    let cuts: Vec<&[Point]> =
        joints.iter().map(|(_, ends)| &ends[..]).chain(walls.iter().map(|(ends, _)| &ends[..])).collect();
    for floor in plan::cut_floors(&outlines, &cuts, reach) {
        let of_floor: Vec<usize> = floor.rooms.iter().map(|at| rooms[*at]).collect();
        let Some(cut) = floor.bays else {
            uncut.extend(of_floor);
            continue;
        };
        let short = cut.short_ends.iter().filter(|end| end.joint < joints.len());
        short_joints.extend(short.map(|end| ShortJoint {
            joint: joints[end.joint].0,
            at: end.at,
            gap: end.gap,
            ahead: end.ahead,
        }));
        for bay in cut.bays.into_iter().filter(|bay| bay.least_rectangle().short_side >= NARROWEST) {
            let lies_in = |room: &usize| match &workings.rooms[*room].outline {
                Some(Ok(outline)) => plan::overlap(outline, &bay.outline) > Area::square_metres(0.01),
                _ => false,
            };
            let rooms = match &of_floor[..] {
                [only] => vec![*only],
                several => several.iter().copied().filter(lies_in).collect(),
            };
            bays.push(BayWorkings { bay, rooms, loops: Vec::new(), heated: false });
        }
    }
}

/// How near to a wall the end of a joint meets it: the thickest edge strip.
fn reach(design: &Design) -> Length {
    let strips = design.floors.values().filter_map(|floor| match floor.edge_strip.as_ref().map(|it| &it.value) {
        Some(EdgeStrip::Strip(strip)) => strip.thickness.map(|it| it.value.min(Length::millimetres(50.0))),
        _ => None,
    });
    strips.fold(Length::millimetres(10.0), Length::max)
}

/// A joint that ends at the face of a wall, made longer to the wall's middle line.
fn up_to_walls(joint: [Point; 2], walls: &[([Point; 2], Length)], reach: Length) -> [Point; 2] {
    let extended = |end: Point| {
        let meets = walls.iter().find_map(|(ends, half)| {
            let at = nearest(*ends, end);
            let distance = at.distance(end);
            (distance > reach && distance <= *half + reach).then_some(at)
        });
        meets.unwrap_or(end)
    };
    joint.map(extended)
}

/// The point of a straight line that is nearest to a point.
fn nearest([from, to]: [Point; 2], at: Point) -> Point {
    let (x, y) = (to.x - from.x, to.y - from.y);
    let whole = x * x + y * y;
    let share = if whole > 0.0 { ((at.x - from.x) * x + (at.y - from.y) * y) / whole } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    Point::new(from.x + x * share, from.y + y * share)
}

/// Finds which loops lie in which bay.
fn lay(design: &Design, workings: &Workings, bays: &mut [BayWorkings]) {
    let mut of_rooms: Vec<Vec<usize>> = vec![Vec::new(); design.rooms.len()];
    for (at, bay) in bays.iter().enumerate() {
        for room in &bay.rooms {
            of_rooms[*room].push(at);
        }
    }
    // Of bays within each other the inner one comes first.
    let mut parts: Vec<usize> =
        (0..bays.len()).filter(|bay| bays[*bay].rooms.iter().any(|room| of_rooms[*room].len() > 1)).collect();
    parts.sort_by(|one, other| {
        bays[*one].bay.area().in_square_metres().total_cmp(&bays[*other].bay.area().in_square_metres())
    });
    let outlines: Vec<Outline> = parts.iter().map(|bay| bays[*bay].bay.outline.clone()).collect();
    let areas = Areas::new(&outlines);
    let storeys: Vec<StoreyName> = bays.iter().map(|bay| storey_of_room(design, bay.rooms.first())).collect();
    let mut lengths: BTreeMap<usize, Length> = BTreeMap::new();
    for (at, (given, worked)) in design.loops.values().zip(&workings.loops).enumerate() {
        let Some(Ok(route)) = &worked.route else { continue };
        let mut in_parts = false;
        let stretches = &workings.plan.stretches[at];
        let heated = |stretch: &Stretch, from: Length, to: Length| {
            let is_heated = stretch.room.is_some_and(|room| worked.rooms.contains(&room));
            let length = stretch.to.min(to) - stretch.from.max(from);
            if is_heated && length > Length::ZERO { length } else { Length::ZERO }
        };
        for stretch in stretches {
            match stretch.room.map(|room| &of_rooms[room][..]) {
                Some([only]) => *lengths.entry(*only).or_default() += heated(stretch, stretch.from, stretch.to),
                Some([]) | None => {}
                Some(_) => in_parts = true,
            }
        }
        if in_parts {
            let storey = super::storey_of(design, given);
            let mut first = 0;
            for piece in areas.pieces(route) {
                // Stretches and pieces both follow the route.
                first += stretches[first..].iter().take_while(|stretch| stretch.to <= piece.from).count();
                let Some(bay) = piece.area.map(|area| parts[area]) else { continue };
                if same_storey(storey, storeys[bay]) && bays[bay].rooms.iter().all(|room| of_rooms[*room].len() > 1) {
                    let of_piece = stretches[first..].iter().take_while(|stretch| stretch.from < piece.to);
                    let length = of_piece.map(|stretch| heated(stretch, piece.from, piece.to));
                    *lengths.entry(bay).or_default() += length.sum::<Length>();
                }
            }
        }
        for (bay, length) in std::mem::take(&mut lengths) {
            bays[bay].loops.push((at, length));
        }
    }
    for bay in bays {
        let not_drawn = |at: &usize| !matches!(workings.loops[*at].route, Some(Ok(_)));
        // Tails on their way to other rooms make no heated bay.
        let heats = |at: usize| workings.loops[at].rooms.iter().any(|room| bay.rooms.contains(room));
        bay.heated = bay.loops.iter().any(|(at, _)| heats(*at))
            || bay.rooms.iter().any(|room| workings.rooms[*room].loops.iter().any(not_drawn));
    }
}

fn storey_of_room<'d>(design: &'d Design, room: Option<&usize>) -> StoreyName<'d> {
    storey_name(&design.rooms.at(*room?)?.1.value.storey)
}

impl BayWorkings {
    /// What it is about: its first room.
    pub fn subject(&self) -> Subject {
        Subject::Room(self.rooms.first().copied().unwrap_or_default())
    }
}
