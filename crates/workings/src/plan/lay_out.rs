//! Loops with a layout and no route: the program lays them out.

use super::ground::Ground;
use super::passages::Doorway;
use super::{NotLaidOut, StoreyName, point, points, storey_of};
use crate::Workings;
use design::{Design, Fixing, Layout, Loop, UprightKind, WallKind};
use engineering::plan::{
    self, EdgeZone, Floor, Laid, NoField, NoTails, Outline, Pattern, Point, TailPassage, TooNear, Wanted,
};
use quantity::Length;
use std::collections::BTreeMap;
use std::sync::Arc;

/// From the face of a wall or the edge of a keep-clear area to the pipe.
const CLEAR: Length = Length::millimetres(50.0);
/// The closest that pipe is laid out.
const CLOSEST: Length = Length::millimetres(40.0);
/// From a flue, hearth or shaft to the pipe.
const CLEAR_OF_FLUE: Length = Length::millimetres(200.0);
/// From the screws of a WC pan to the pipe.
const CLEAR_OF_PAN: Length = Length::millimetres(150.0);
/// Of a wall whose thickness is not given.
const USUAL_WALL: Length = Length::millimetres(100.0);
/// The end of a movement joint meets what lies within the thickness of an edge strip.
const EDGE_STRIP: Length = Length::millimetres(10.0);
/// How far beyond the middle of a wall the room on that side is looked for, at most.
const BEYOND_WALL: Length = Length::millimetres(300.0);

/// Pipe that begins so near to a manifold begins at a port of it.
const AT_PORTS: Length = Length::millimetres(1200.0);

/// All that the layouts of a storey are made from, and what was made of it.
#[derive(Debug)]
pub struct LaidOut {
    storey: plan::Storey,
    wanted: Vec<Wanted>,
    laid: Vec<Result<Laid, NoField>>,
}

impl LaidOut {
    /// What it took: the metres of pipe, as often as they were laid. Where something is wrong with a loop the whole is laid in
    /// every way there is.
    pub(crate) fn effort(&self) -> f64 {
        const WAYS: f64 = 8.0;
        let is_well = |laid: &Laid| {
            let has_tails = laid.without_tails.is_none_or(|no| no == NoTails::NoManifold);
            has_tails && laid.tight_turns.is_empty() && laid.too_near.is_none() && laid.covered >= plan::ENOUGH_COVERED
        };
        let metres: f64 = self.laid.iter().flatten().map(|laid| laid.route.length().in_metres()).sum();
        let laid = self.laid.iter().zip(&self.wanted).filter(|(_, wanted)| wanted.drawn.is_none());
        if laid.into_iter().all(|(laid, _)| laid.as_ref().is_ok_and(is_well)) { metres } else { WAYS * metres }
    }
}

/// What was laid out of each loop, by its position in the design.
type OfLoops = Vec<(usize, Result<Laid, NoField>)>;

/// Lays out every loop of a storey that has a layout and all else that it takes, but no route, and keeps what it did. Rooms
/// and loops are those of the design.
///
/// What was laid out before from just the same is taken over: to lay out a house takes longer than all else. It is
/// `Err` where it would have to be laid out anew and may not.
pub(super) fn lay_out(
    design: &Design,
    workings: &Workings,
    storey: StoreyName,
    ground: &Ground,
    loops: &[usize],
    before: &[Arc<LaidOut>],
    may_lay_out: bool,
) -> Result<Option<(Arc<LaidOut>, OfLoops)>, NotLaidOut> {
    let mut wanted: Vec<(usize, Wanted)> =
        loops.iter().filter_map(|&at| Some((at, wanted_of(design, workings, ground, at)?))).collect();
    if wanted.is_empty() {
        return Ok(None);
    }
    let here = design.loops.values().enumerate().filter(|(_, given)| storey_of(design, given) == storey);
    let mut drawn = Vec::new();
    let mut beside = Vec::new();
    for (at, given) in here {
        let Some(Ok(route)) = &workings.loops[at].route else { continue };
        match wanted_of(design, workings, ground, at).filter(|it| has_its_manifold(it, &wanted)) {
            Some(it) => beside.push((at, it)),
            None => drawn.push((plan::Route::clone(route), given.spacing.map_or(Length::ZERO, |it| it.value))),
        }
    }
    wanted.extend(beside);
    // By manifold and port, so that a row of ports makes a row of tails; by name, and not as they follow in the file.
    wanted.sort_by_key(|&(at, _)| {
        let (name, given) = design.loops.at(at).map_or(("", None), |(name, given)| (name, Some(&given.value)));
        let port = given.and_then(|it| it.port).map(|port| port.value);
        let manifold = given.and_then(|it| it.manifold.as_ref()).map(|it| it.value.name.as_str());
        (manifold, port.unwrap_or(u32::MAX), name.len(), name)
    });
    let (numbers, wanted): (Vec<usize>, Vec<Wanted>) = wanted.into_iter().unzip();
    let bays = bays(design, storey, ground, &wanted);
    let floors = obstacles(design, workings, ground, &wanted)
        .into_iter()
        .zip(bays)
        .enumerate()
        .map(|(number, ((keep_clear, things), bays))| Floor {
            outline: ground.areas.outline(number).clone(),
            keep_clear,
            things,
            bays,
            edge_zone: edge_zone(design, ground, number),
        })
        .collect();
    let storey = plan::Storey { floors, passages: passages(design, ground, &numbers, &wanted), drawn };
    let known = before.iter().find(|it| it.wanted == wanted && it.storey == storey).cloned();
    let laid_out = match known {
        Some(known) => known,
        None if !may_lay_out => return Err(NotLaidOut),
        None => {
            let laid = plan::lay_out(&storey, &wanted);
            Arc::new(LaidOut { storey, wanted, laid })
        }
    };
    let has_place = |at: usize| {
        let manifold = workings.loops[at].manifold.and_then(|it| design.manifolds.at(it));
        manifold.is_some_and(|(_, it)| it.value.at.is_some_and(|at| point(at.value).fault().is_none()))
    };
    let of_design = |at: usize, laid: &Laid| Laid {
        rooms: laid.rooms.iter().map(|&(room, covered)| (ground.rooms[room], covered)).collect(),
        without_tails: laid.without_tails.map(|no| match no {
            NoTails::NoManifold if has_place(at) => NoTails::OnOtherStorey,
            other => other.renumbered(|room| ground.rooms[room], |it| numbers[it]),
        }),
        too_near: laid.too_near.map(|it| TooNear { other: it.other.map(|other| numbers[other]), ..it }),
        ..laid.clone()
    };
    let laid = numbers.iter().zip(&laid_out.laid).zip(&laid_out.wanted).filter(|(_, wanted)| wanted.drawn.is_none());
    let laid = laid.map(|((&at, laid), _)| match laid {
        Ok(laid) => (at, Ok(of_design(at, laid))),
        Err(no) => (at, Err(*no)),
    });
    let laid = laid.collect();
    Ok(Some((laid_out, laid)))
}

/// Whether a loop is to be laid out, as far as its own block says it.
pub(super) fn has_layout(given: &Loop) -> bool {
    // What cannot be read may be its route.
    given.layout.is_some() && given.route.is_none() && !given.broken
}

fn wanted_of(design: &Design, workings: &Workings, ground: &Ground, at: usize) -> Option<Wanted> {
    let (_, given) = design.loops.at(at)?;
    let given = &given.value;
    let of_ground = |name: &str| {
        let room = design.rooms.position(name)?;
        ground.rooms.iter().position(|&it| it == room)
    };
    let drawn = workings.loops[at].route.as_ref().and_then(|route| route.as_ref().ok());
    let mut rooms: Vec<usize> = match drawn {
        Some(route) => {
            let lying = super::lying(route, &workings.loops[at], |_| false);
            let room = super::most_in(&ground.cut(&lying))?;
            vec![ground.rooms.iter().position(|&it| it == room)?]
        }
        None => given.rooms.iter().map(|room| of_ground(&room.value.name)).collect::<Option<_>>()?,
    };
    let mut seen = std::collections::BTreeSet::new();
    rooms.retain(|room| seen.insert(*room));
    let (&room, also) = rooms.split_first()?;
    let pipe = workings.loops[at].pipe.as_ref().ok()?;
    let manifold = workings.loops[at].manifold.and_then(|at| design.manifolds.at(at)).map(|(_, it)| &it.value);
    // What stands on another storey has its place there.
    let here = storey_of(design, given);
    let manifold =
        manifold.filter(|it| it.storey.as_ref().is_none_or(|storey| Some(storey.value.name.as_str()) == here));
    Some(Wanted {
        room,
        also: also.to_vec(),
        pattern: match given.layout.map(|it| it.value) {
            Some(Layout::Spiral) => Pattern::Spiral,
            _ => Pattern::Meander,
        },
        // Nobody lays pipe closer, and a slip of the pen would ask for kilometres of it.
        spacing: given.spacing.map(|it| it.value).filter(|spacing| *spacing >= CLOSEST)?,
        outside: pipe.outside,
        bend_radius: pipe.least_bend_radius,
        least_edge: CLEAR + pipe.outside / 2.0,
        area: given.area.map(|area| area.value),
        manifold: manifold.and_then(|it| it.at).map(|at| point(at.value)).filter(|at| at.fault().is_none()),
        drawn: drawn.map(|route| plan::Route::clone(route)),
    })
}

/// Whether a drawn loop begins and ends at a manifold from which others are to be laid out.
fn has_its_manifold(it: &Wanted, others: &[(usize, Wanted)]) -> bool {
    let (Some(manifold), Some(route)) = (it.manifold, &it.drawn) else { return false };
    let points = route.points();
    let is_there = |end: Option<&Point>| end.is_some_and(|end| end.distance(manifold) <= AT_PORTS);
    is_there(points.first()) && is_there(points.last()) && others.iter().any(|(_, other)| other.manifold == it.manifold)
}

/// Outlines with how far the middle of the pipe stays from each.
type Obstacles = Vec<(Outline, Length)>;

/// What must stay clear in each room, and what else stands there.
fn obstacles(design: &Design, workings: &Workings, ground: &Ground, wanted: &[Wanted]) -> Vec<(Obstacles, Obstacles)> {
    let edge = wanted.iter().map(|wanted| wanted.least_edge).fold(CLEAR, |one, other| one.max(other));
    let pipe = edge - CLEAR;
    let mut uprights: Obstacles = Vec::new();
    for &at in &ground.uprights {
        let Some((_, upright)) = design.uprights.at(at) else { continue };
        let off = match upright.value.kind.map(|kind| kind.value) {
            Some(UprightKind::Flue | UprightKind::Hearth | UprightKind::Shaft | UprightKind::LiftShaft) => {
                CLEAR_OF_FLUE + pipe
            }
            _ => edge,
        };
        let outline = upright.value.outline.as_ref().and_then(|it| Outline::new(&points(&it.value.corners)).ok());
        uprights.extend(outline.map(|outline| (outline, off)));
    }
    let mut walls: Obstacles = Vec::new();
    for standing in &ground.walls {
        let thickness = design.walls.at(standing.wall).and_then(|(_, wall)| wall.value.thickness);
        let half = thickness.map_or(Length::ZERO, |it| it.value.min(Length::metres(1.0))) / 2.0;
        let pieces = super::near::between_openings(standing, &ground.openings[standing.wall]);
        walls.extend(pieces.into_iter().filter_map(|[from, to]| Some((super::near::strip(from, to, half)?, edge))));
    }
    let of_room = |(number, &room): (usize, &usize)| {
        let outline = ground.areas.outline(number);
        let bounds = outline.bounds();
        let near = |it: &&(Outline, Length)| it.0.bounds().touches(&bounds);
        let keep_clear = workings.rooms[room].keep_clear.iter().map(|(_, it)| (it.clone(), edge));
        let keep_clear: Obstacles = keep_clear.chain(uprights.iter().filter(near).cloned()).collect();
        // A wall along the edge of a room that is drawn to its face takes nothing of the room.
        let within = |it: &&(Outline, Length)| plan::overlap(&it.0, outline).in_square_metres() > 1e-4;
        let mut things: Obstacles = walls.iter().filter(near).filter(within).cloned().collect();
        let fixings = design.rooms.at(room).into_iter().flat_map(|(_, room)| room.value.fixing_lines.values());
        for fixing in fixings {
            let Some(line) = fixing.line else { continue };
            let off = match fixing.kind.map(|kind| kind.value) {
                Some(Fixing::WcPan) => CLEAR_OF_PAN + pipe,
                _ => edge,
            };
            let line = super::near::strip(point(line.value.from), point(line.value.to), Length::ZERO);
            things.extend(line.map(|line| (line, off)));
        }
        (keep_clear, things)
    };
    ground.rooms.iter().enumerate().map(of_room).collect()
}

/// The edge zone of a room with its outside walls: those named in it, or the walls of that kind along its edge.
fn edge_zone(design: &Design, ground: &Ground, number: usize) -> Option<EdgeZone> {
    let (_, room) = design.rooms.at(ground.rooms[number])?;
    let zone = room.value.edge_zone.as_ref()?;
    let (width, spacing) = (zone.width?.value, zone.spacing?.value);
    let ends = |line: &design::Line| [point(line.from), point(line.to)];
    let mut walls: Vec<[Point; 2]> = room.value.outside_walls.iter().map(|line| ends(&line.value)).collect();
    if walls.is_empty() {
        let outline = ground.areas.outline(number);
        let outside: Vec<[Point; 2]> = ground
            .walls
            .iter()
            .filter(|standing| {
                let kind = design.walls.at(standing.wall).and_then(|(_, wall)| wall.value.kind);
                kind.is_some_and(|kind| kind.value == WallKind::Outside)
            })
            .map(|standing| standing.ends)
            .collect();
        // An edge of the room with an outside wall within a wall's thickness of its middle.
        let beside = |from: Point, to: Point| {
            let middle = Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
            outside.iter().any(|[a, b]| {
                let (x, y) = (b.x - a.x, b.y - a.y);
                let share =
                    (((middle.x - a.x) * x + (middle.y - a.y) * y) / (x * x + y * y).max(1e-12)).clamp(0.0, 1.0);
                Point::new(a.x + x * share, a.y + y * share).distance(middle) < BEYOND_WALL
            })
        };
        walls = outline.edges().filter(|&(from, to)| beside(from, to)).map(|(from, to)| [from, to]).collect();
    }
    walls.retain(|wall| wall.iter().all(|end| end.fault().is_none()));
    Some(EdgeZone { width, spacing, walls })
}

/// The bays of each room that loops heat, where movement joints cut it.
fn bays(design: &Design, storey: StoreyName, ground: &Ground, wanted: &[Wanted]) -> Vec<Vec<Outline>> {
    let joints: Vec<[Point; 2]> = design
        .movement_joints
        .values()
        .filter(|joint| super::ground::same_storey(storey, super::storey_name(&joint.storey)))
        .filter_map(|joint| joint.line.map(|line| [point(line.value.from), point(line.value.to)]))
        .collect();
    let joints: Vec<&[Point]> = joints.iter().map(|joint| &joint[..]).collect();
    let is_heated = |room: usize| wanted.iter().any(|wanted| wanted.room == room || wanted.also.contains(&room));
    (0..ground.rooms.len())
        .map(|room| {
            if joints.is_empty() || !is_heated(room) {
                return Vec::new();
            }
            let bays = plan::bays(&[ground.areas.outline(room)], &joints, EDGE_STRIP).bays;
            if bays.len() > 1 { bays.into_iter().map(|bay| bay.outline).collect() } else { Vec::new() }
        })
        .collect()
}

/// The doorways between rooms, and the walls that loops are to cross by their sleeves.
fn passages(design: &Design, ground: &Ground, numbers: &[usize], wanted: &[Wanted]) -> Vec<TailPassage> {
    /// Places in a wall are looked at so far apart, in metres like the rest.
    const STEP: f64 = 0.1;
    /// What one pair of tails takes of a wall, and each beside it.
    const FIRST_PAIR: f64 = 0.2;
    const NEXT_PAIR: f64 = 0.15;
    const FROM_CORNER: f64 = 0.2;
    /// A manifold so near to the middle of a wall hangs on it.
    const ON_WALL: f64 = 0.4;
    const FROM_MANIFOLD: f64 = 0.5;
    let mut passages = Vec::new();
    let mut sleeved: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (number, &of_loop) in numbers.iter().enumerate() {
        let sleeves = design.loops.at(of_loop).map_or(&[][..], |(_, given)| &given.value.sleeves[..]);
        for at in sleeves.iter().filter_map(|sleeve| sleeve.value.0.at.as_ref()) {
            let of_wall = sleeved.entry(&at.value.name).or_default();
            if of_wall.last() != Some(&number) {
                of_wall.push(number);
            }
        }
    }
    for standing in &ground.walls {
        let [from, to] = standing.ends;
        let length = from.distance(to).in_metres();
        if length <= 0.0 || from.fault().is_some() || to.fault().is_some() {
            continue;
        }
        let given = design.walls.at(standing.wall);
        let depth = given.and_then(|(_, wall)| wall.value.thickness).map_or(USUAL_WALL, |it| it.value);
        let at = |along: f64| {
            let share = (along / length).clamp(0.0, 1.0);
            Point::new(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share)
        };
        let rooms_at = |along: f64| -> Option<[usize; 2]> {
            let middle = at(along);
            let (x, y) = ((from.y - to.y) / length, (to.x - from.x) / length);
            let room = |side: f64| {
                let nearest = (depth / 2.0).in_metres() + 0.01;
                [nearest, BEYOND_WALL.in_metres()]
                    .into_iter()
                    .find_map(|off| ground.areas.at(Point::new(middle.x + x * off * side, middle.y + y * off * side)))
            };
            let rooms = [room(1.0)?, room(-1.0)?];
            (rooms[0] != rooms[1]).then_some(rooms)
        };
        for doorway in &ground.openings[standing.wall] {
            let Doorway { from, to, .. } = *doorway;
            if let Some(rooms) = rooms_at((from + to) / 2.0) {
                let only = Vec::new();
                passages.push(TailPassage { rooms, from: at(from), to: at(to), depth, only });
            }
        }
        let name = given.map_or("", |(name, _)| name);
        // Loops from one manifold between the same two rooms go through the wall side by side.
        let mut side_by_side: Vec<(Point, [usize; 2], Vec<usize>)> = Vec::new();
        let steps = ((length / STEP) as usize).min(500);
        let places: Vec<(f64, [usize; 2])> =
            (0..=steps).map(|step| step as f64 * STEP).filter_map(|along| Some((along, rooms_at(along)?))).collect();
        for &number in sleeved.get(name).into_iter().flatten() {
            let Some(manifold) = wanted[number].manifold else { continue };
            let of_loop = || wanted[number].also.iter().chain([&wanted[number].room]);
            let far = |along: f64| at(along).distance(manifold).in_metres();
            let leads = places.iter().filter(|(_, rooms)| of_loop().any(|room| rooms.contains(room)));
            let Some((_, rooms)) = leads.min_by(|one, other| far(one.0).total_cmp(&far(other.0))) else { continue };
            match side_by_side.iter_mut().find(|it| (it.0, it.1) == (manifold, *rooms)) {
                Some(it) => it.2.push(number),
                None => side_by_side.push((manifold, *rooms, vec![number])),
            }
        }
        let mut taken: Vec<(f64, f64)> = ground.openings[standing.wall].iter().map(|it| (it.from, it.to)).collect();
        for (manifold, rooms, only) in side_by_side {
            let half = (FIRST_PAIR + NEXT_PAIR * (only.len() - 1) as f64) / 2.0;
            let is_open = |along: f64| {
                along > half
                    && along < length - half
                    && [-half, half].iter().all(|by| rooms_at(along + by) == Some(rooms))
                    && !taken.iter().any(|(from, to)| along + half > *from && along - half < *to)
            };
            // Clear of the corners of both rooms, where tails could not turn in, and of a manifold on this very wall, before
            // which they turn back; unless there is nothing else.
            let off_the_wall = {
                let (x, y) = (to.x - from.x, to.y - from.y);
                (x * (manifold.y - from.y) - y * (manifold.x - from.x)).abs() / length
            };
            let badness = |along: f64| {
                let by = half + FROM_CORNER;
                let is_clear = [-by, by].iter().all(|by| rooms_at(along + by) == Some(rooms));
                let far = at(along).distance(manifold).in_metres();
                let beside_manifold = off_the_wall < ON_WALL && far < half + FROM_MANIFOLD;
                f64::from(u8::from(!is_clear) + u8::from(beside_manifold)) * 1e3 + far
            };
            let open = places.iter().map(|it| it.0).filter(|along| is_open(*along));
            if let Some(along) = open.min_by(|one, other| badness(*one).total_cmp(&badness(*other))) {
                taken.push((along - half, along + half));
                passages.push(TailPassage { rooms, from: at(along - half), to: at(along + half), depth, only });
            }
        }
    }
    passages
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ValueOf, place_along};

    fn read(text: &str) -> Design {
        let reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
        assert!(reading.faults.is_empty(), "{:?}", reading.faults);
        reading.design
    }

    const HOUSE: &str = "format: 1
rooms:
  passage: {outline: [[0, 0], [1.5, 0], [1.5, 5.6], [0, 5.6]], keep-clear: none}
  study: {outline: [[1.6, 0], [5.8, 0], [5.8, 2.75], [1.6, 2.75]], keep-clear: {hearth: [[5, 1], [5.8, 1], [5.8, 1.8], [5, 1.8]]}}
  music: {outline: [[1.6, 2.85], [5.8, 2.85], [5.8, 5.6], [1.6, 5.6]], keep-clear: none}
walls:
  W1: {line: [[1.55, 0], [1.55, 5.6]], thickness: 100 mm}
  W2: {line: [[1.6, 2.8], [5.8, 2.8]], thickness: 100 mm}
openings:
  D1: {wall: W1, from: 1.0 m, to: 1.9 m}
manifolds: {M1: {at: [0.2, 2.8], ports: 3}}
";

    const LOOPS: &str = "loops:
  L1: {manifold: M1, port: 1, room: study, pipe: PE-X 16 x 2, spacing: 150 mm, layout: meander}
  L2: {manifold: M1, port: 2, room: music, pipe: PE-X 16 x 2, spacing: 150 mm, layout: spiral, sleeves: [W1]}
";

    /// Through the doorway, through the wall that its sleeve names, and nowhere else; the figures follow from the route.
    #[test]
    fn loops_are_laid_out_with_their_tails() {
        let design = read(&format!("{HOUSE}{LOOPS}"));
        let workings = crate::work_out(&design);
        assert_eq!(workings.plan.meetings, []);
        let passes = |at: usize| workings.plan.crossings[at].iter().map(|it| it.what.name(&design)).collect::<Vec<_>>();
        assert_eq!(passes(0), ["D1"]);
        assert_eq!(passes(1), ["W1"]);
        for (at, area) in [(0, 4.2 * 2.75 - 0.64), (1, 4.2 * 2.75)] {
            let it = &workings.loops[at];
            let laid = it.laid.as_ref().unwrap().as_ref().unwrap();
            assert_eq!((laid.without_tails, &laid.tight_turns[..]), (None, &[][..]), "loop {at}");
            assert_eq!(laid.uncovered, [], "loop {at}");
            let length = it.length.as_ref().unwrap();
            assert!(length.assumptions.iter().any(|it| it.contains("laid out")), "{:?}", length.assumptions);
            let in_room = it.length_in_room.value().unwrap().in_metres();
            assert!((in_room / (area / 0.15) - 1.0).abs() < 0.06, "loop {at}: {in_room}");
            let tails = it.tail_length.value().unwrap().in_metres();
            assert!((2.0..6.0).contains(&tails), "loop {at}: {tails}");
            assert_eq!(workings.plan.under_keep_clear[at], []);
            // What is found on the way points at the layout.
            let given = &design.loops.at(at).unwrap().1.value;
            assert_eq!(place_along(given, Length::metres(20.0)), given.layout.unwrap().at);
        }
    }

    /// One room of which nobody knows where it lies leaves the others as they are, but for those that are reached through it.
    #[test]
    fn a_room_that_cannot_be_read_stops_no_other() {
        let laid = |room: &str| {
            let text = format!("{HOUSE}{LOOPS}");
            let outline = text.lines().find(|line| line.starts_with(&format!("  {room}:"))).expect("it is there");
            let text = text.replace(outline, &outline.replacen("outline: [[", "outline: [[x, ", 1));
            let design = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new())).design;
            let workings = crate::work_out(&design);
            [0, 1].map(|at| workings.loops[at].laid.is_some())
        };
        assert_eq!([laid("music"), laid("study"), laid("passage")], [[true, false], [false, true], [false, false]]);
    }

    #[test]
    fn where_no_way_leads_the_stated_tails_count() {
        let house = HOUSE.replace("at: [0.2, 2.8], ", "");
        let text = format!("{house}{LOOPS}").replace("layout: meander", "layout: meander, tails: 9 m");
        let workings = crate::work_out(&read(&text));
        let it = &workings.loops[0];
        assert_eq!(it.laid.as_ref().unwrap().as_ref().unwrap().without_tails, Some(plan::NoTails::NoManifold));
        assert_eq!(it.tail_length.value().unwrap(), Length::metres(9.0));
        let whole = it.length.value().unwrap() - it.length_in_room.value().unwrap();
        assert!((whole - Length::metres(9.0)).abs() < Length::millimetres(1.0));
        // The other states none, and nothing tells how far it is.
        assert!(workings.loops[1].length.is_err());
    }

    /// Whichever of the loops is drawn as it was laid out: it stays, and the others have their tails past it as before.
    #[test]
    fn a_loop_that_is_drawn_leaves_the_others_their_way() {
        let layouts = ["spiral", "meander", "spiral"];
        let rooms = ["study", "music", "passage"];
        let text = |drawn: Option<(usize, &plan::Route)>| {
            let mut text = format!("{HOUSE}  D2: {{wall: W1, from: 3.6 m, to: 4.5 m}}\nloops:\n");
            text = text
                .replace("manifolds: {M1: {at: [0.2, 2.8], ports: 3}}\n  D2", "  D2")
                .replace("loops:\n", "manifolds: {M1: {at: [0.05, 2.8], ports: 3}}\nloops:\n");
            for (at, room) in rooms.iter().enumerate() {
                let way = match drawn.filter(|it| it.0 == at) {
                    Some((_, route)) => {
                        let points = route.points().iter().map(|it| format!("[{:.3}, {:.3}]", it.x, it.y));
                        format!("route: [{}]", points.collect::<Vec<_>>().join(", "))
                    }
                    None => format!("layout: {}", layouts[at]),
                };
                text += &format!(
                    "  L{at}: {{manifold: M1, port: {}, room: {room}, pipe: PE-X 16 x 2, spacing: 150 mm, {way}}}\n",
                    at + 1
                );
            }
            text
        };
        let before = crate::work_out(&read(&text(None)));
        for drawn in 0..rooms.len() {
            let route = before.loops[drawn].route.as_ref().unwrap().as_ref().unwrap();
            let after = crate::work_out(&read(&text(Some((drawn, route)))));
            assert_eq!(after.plan.meetings, [], "L{drawn} drawn");
            assert_eq!(after.plan.pipe_gaps, [], "L{drawn} drawn");
            for other in (0..rooms.len()).filter(|it| *it != drawn) {
                let laid = after.loops[other].laid.as_ref().unwrap().as_ref().unwrap();
                assert_eq!(laid.without_tails, None, "L{other} beside L{drawn}");
                assert!(laid.covered >= plan::ENOUGH_COVERED, "L{other} beside L{drawn}: {}", laid.covered);
            }
        }
    }

    /// A loop through two rooms goes through the door between them, and no other wall.
    #[test]
    fn a_loop_heats_several_rooms() {
        let text = format!("{HOUSE}{LOOPS}").replace("room: study", "room: [study, passage]");
        let design = read(&text);
        let workings = crate::work_out(&design);
        let laid = workings.loops[0].laid.as_ref().unwrap().as_ref().unwrap();
        assert_eq!(laid.without_tails, None);
        let names: Vec<&str> = laid.rooms.iter().map(|(room, _)| design.rooms.at(*room).unwrap().0).collect();
        assert_eq!(names, ["study", "passage"]);
        let passes = workings.plan.crossings[0].iter().map(|it| it.what.name(&design)).collect::<Vec<_>>();
        assert_eq!(passes, ["D1"]);
    }

    /// Nothing but `room: [a, b]` and a layout: in either order, from the passage and from a room beside, both are heated and
    /// each wall is crossed where its doorway or sleeve is.
    #[test]
    fn two_rooms_need_no_more_than_their_names() {
        for (rooms, at, sleeves, crossed) in [
            ("[study, passage]", "[0.2, 2.8]", "", &["D1"][..]),
            ("[passage, study]", "[0.2, 2.8]", "", &["D1"]),
            ("[study, music]", "[0.2, 2.8]", ", sleeves: [W2]", &["D1", "W2"]),
            ("[music, study]", "[5.7, 0.5]", ", sleeves: [W2]", &["W2"]),
        ] {
            let house = HOUSE.replace("[0.2, 2.8]", at);
            let text = format!(
                "{house}loops:\n  L1: {{manifold: M1, port: 1, room: {rooms}, pipe: PE-X 16 x 2, spacing: 150 mm, layout: spiral{sleeves}}}\n"
            );
            let design = read(&text);
            let workings = crate::work_out(&design);
            let laid = workings.loops[0].laid.as_ref().unwrap().as_ref().unwrap();
            assert_eq!(laid.without_tails, None, "{rooms} from {at}");
            assert_eq!(workings.plan.meetings, [], "{rooms} from {at}");
            let mut passes = workings.plan.crossings[0].iter().map(|it| it.what.name(&design)).collect::<Vec<_>>();
            passes.sort_unstable();
            assert_eq!(passes, crossed, "{rooms} from {at}");
            for (room, covered) in &laid.rooms {
                assert!(covered.in_percent() > 88.0, "{rooms} from {at}: {covered} of {room}, {:?}", laid.uncovered);
            }
        }
    }

    /// The tails of a loop on the first storey, whose manifold stands on the ground: told as such, and nothing is led.
    #[test]
    fn a_manifold_on_another_storey_leads_no_tails() {
        let text = format!("{HOUSE}{LOOPS}")
            .replace(
                "manifolds: {M1: {",
                "storeys: {ground: {level: 0 m}, first: {level: 3 m}}\nmanifolds: {M1: {storey: ground, ",
            )
            .replace("  study: {", "  study: {storey: first, ");
        let workings = crate::work_out(&read(&text));
        let laid = workings.loops[0].laid.as_ref().unwrap().as_ref().unwrap();
        assert_eq!(laid.without_tails, Some(NoTails::OnOtherStorey));
        assert!(laid.covered.in_percent() > 95.0, "{}", laid.covered);
    }

    /// A change that bears on no layout takes them over as they are; one that does lays them anew, as if nothing were known.
    #[test]
    fn layouts_are_taken_over_where_nothing_of_them_changed() {
        let text = format!("{HOUSE}{LOOPS}");
        let before = crate::work_out(&read(&text));
        let after = |change: (&str, &str)| {
            let design = read(&text.replace(change.0, change.1));
            let (after, anew) = (crate::work_out_after(&design, &before.kept()), crate::work_out(&design));
            let routes = |it: &Workings| {
                it.loops.iter().map(|it| it.route.as_ref().unwrap().as_ref().unwrap().clone()).collect::<Vec<_>>()
            };
            assert_eq!(routes(&after), routes(&anew), "{change:?}");
            Arc::ptr_eq(&after.plan.laid_out[0], &before.plan.laid_out[0])
        };
        assert!(after(("port: 2, ", "port: 2, flow: 1.2 l/min, ")));
        assert!(after(("  L1: {", "  first: {")));
        assert!(!after(("spacing: 150 mm, layout: meander", "spacing: 200 mm, layout: meander")));
        assert!(!after(("from: 1.0 m, to: 1.9 m", "from: 0.4 m, to: 1.3 m")));
        assert!(!after(("[5, 1], [5.8, 1]", "[5, 0.9], [5.8, 0.9]")));
        assert!(!after(("[0.2, 2.8]", "[0.2, 2.9]")));
    }

    /// What a route says is not overruled, and without a spacing nothing is laid.
    #[test]
    fn only_what_is_not_drawn_is_laid_out() {
        for change in [
            ("layout: meander", "layout: meander, route: [[2, 1], [5, 1]]"),
            ("spacing: 150 mm, layout: meander", "layout: meander"),
        ] {
            let workings = crate::work_out(&read(&format!("{HOUSE}{LOOPS}").replace(change.0, change.1)));
            assert!(workings.loops[0].laid.is_none(), "{change:?}");
        }
    }

    /// A room cut by a movement joint: each of two loops stays in its bay, and they share the way in.
    #[test]
    fn each_loop_stays_in_a_bay() {
        let text = "format: 1
rooms: {hall: {outline: [[0, 0], [9, 0], [9, 4], [0, 4]], keep-clear: none}}
movement-joints: {J1: {line: [[4, 0], [4, 4]]}}
manifolds: {M1: {at: [0.1, 2], ports: 2}}
loops:
  L1: {manifold: M1, port: 1, room: hall, pipe: PE-X 16 x 2, spacing: 200 mm, layout: spiral}
  L2: {manifold: M1, port: 2, room: hall, pipe: PE-X 16 x 2, spacing: 200 mm, layout: spiral}
";
        let design = read(text);
        let workings = crate::work_out(&design);
        assert_eq!(workings.plan.meetings, []);
        let crossings = |at: usize| workings.plan.passages[at].len();
        assert_eq!(crossings(0), 0);
        assert!(crossings(1) <= 2, "{}", crossings(1));
    }
}
