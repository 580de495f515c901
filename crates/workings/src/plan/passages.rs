//! Where routes go through walls, doorways and joints, and which sleeves stand there.

use super::{Ground, point};
use crate::Subject;
use design::{Design, Loop, Place, Serves};
use engineering::plan::{self, Contact, Point};
use quantity::Length;
use std::collections::BTreeMap;

/// A crossing of a loop's route with something in its way.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    pub what: Crossed,
    pub at: Point,
    /// How far it is along the route.
    pub along: Length,
    /// Where the leg that crosses begins in the file.
    pub place: Place,
    /// Whether it is in the second half of the route, on the way back.
    pub on_return: bool,
    /// Between the leg and the line that it crosses: 90 for a square crossing.
    pub angle_degrees: f64,
    /// The opening in which it crosses a joint.
    pub in_opening: Option<usize>,
}

/// The pipe of a loop that lies in a movement joint, along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InJoint {
    pub joint: usize,
    /// All of it.
    pub length: Length,
    /// Where the first leg that does begins in the file.
    pub place: Place,
}

/// What a route may cross, by its position in the design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Crossed {
    /// A wall, not through an opening.
    Wall(usize),
    /// A wall, through this opening.
    Opening(usize),
    MovementJoint(usize),
}

impl Crossed {
    /// The wall, opening or joint as a thing of the design.
    pub fn subject(self) -> Subject {
        match self {
            Crossed::Wall(at) => Subject::Wall(at),
            Crossed::Opening(at) => Subject::Opening(at),
            Crossed::MovementJoint(at) => Subject::MovementJoint(at),
        }
    }

    /// Its name.
    pub fn name(self, design: &Design) -> &str {
        let name = match self {
            Crossed::Wall(at) => design.walls.at(at).map(|(name, _)| name),
            Crossed::Opening(at) => design.openings.at(at).map(|(name, _)| name),
            Crossed::MovementJoint(at) => design.movement_joints.at(at).map(|(name, _)| name),
        };
        name.unwrap_or_default()
    }
}

/// All passages of a loop through one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossing {
    pub what: Crossed,
    /// By their positions among the passages of the loop.
    pub passages: Vec<usize>,
    /// Those of them that no sleeve serves.
    pub without_sleeve: Vec<usize>,
    /// The sleeves that are named for it, by their positions among the sleeves of the loop.
    pub sleeves: Vec<usize>,
}

/// An opening with the two ends of its width, in metres along the line of its wall.
#[derive(Debug, Clone, Copy)]
pub(super) struct Doorway {
    pub opening: usize,
    pub from: f64,
    pub to: f64,
}

/// The openings of each wall.
pub(super) fn openings(design: &Design) -> Vec<Vec<Doorway>> {
    let mut of_walls = vec![Vec::new(); design.walls.len()];
    for (opening, given) in design.openings.values().enumerate() {
        if let (Some(wall), Some(from), Some(to)) = (&given.wall, given.from, given.to)
            && let Some(wall) = design.walls.position(&wall.value.name)
        {
            let (from, to) = (from.value.in_metres(), to.value.in_metres());
            of_walls[wall].push(Doorway { opening, from: from.min(to), to: from.max(to) });
        }
    }
    of_walls
}

/// Where a route crosses walls and joints as it lies, in the order of the route, and the joints in which it lies; `place` tells
/// where what is drawn so far along it begins in the file.
pub(super) fn passages(
    design: &Design,
    ground: &Ground,
    lying: &plan::Lying,
    place: impl Fn(Length) -> Place,
) -> (Vec<Passage>, Vec<InJoint>) {
    /// A pipe that crosses askew is in the joint for less.
    const LEAST: Length = Length::millimetres(20.0);
    let meetings = ground.lines.meetings(&lying.route);
    let crosses = meetings.all.iter().filter(|meeting| meeting.contact == Contact::Crosses);
    let mut passages: Vec<Passage> = crosses
        .map(|meeting| {
            let along = lying.along_drawn(meeting.along);
            let what = match ground.what[meeting.line] {
                // Pipe that runs along a wall passes through a doorway only if it stays in it.
                Crossed::Wall(wall) => {
                    let ends = [meeting.at, lying.route.at(meeting.along + meeting.runs_along)];
                    let [one, other] = ends.map(|at| through(design, wall, at, &ground.openings[wall]));
                    if one == other { one } else { Crossed::Wall(wall) }
                }
                other => other,
            };
            Passage {
                what,
                at: meeting.at,
                along,
                place: place(along),
                on_return: along > lying.drawn / 2.0,
                angle_degrees: meeting.angle_degrees,
                in_opening: None,
            }
        })
        .collect();
    find_openings_of_joints(&mut passages);
    let mut in_joints: Vec<InJoint> = Vec::new();
    for meeting in meetings.all.iter().filter(|it| it.runs_along > Length::ZERO) {
        let Crossed::MovementJoint(joint) = ground.what[meeting.line] else { continue };
        match in_joints.iter_mut().find(|it| it.joint == joint) {
            Some(it) => it.length += meeting.runs_along,
            None => {
                let place = place(lying.along_drawn(meeting.along));
                in_joints.push(InJoint { joint, length: meeting.runs_along, place });
            }
        }
    }
    in_joints.retain(|it| it.length >= LEAST);
    (passages, in_joints)
}

/// The opening of a wall that a point on its line lies in, or the wall itself.
fn through(design: &Design, wall: usize, at: Point, openings: &[Doorway]) -> Crossed {
    let line = design.walls.at(wall).and_then(|(_, entry)| entry.value.line);
    let Some(line) = line else { return Crossed::Wall(wall) };
    let along = point(line.value.from).distance(at).in_metres();
    // A tail drawn on the very edge of a doorway passes through it.
    let opening = openings.iter().find(|it| (it.from - 1e-6..=it.to + 1e-6).contains(&along));
    opening.map_or(Crossed::Wall(wall), |it| Crossed::Opening(it.opening))
}

/// A joint under a door leaf is crossed within this of the middle of the wall: as far as a sleeve of
/// 300 mm that is centred there still reaches 50 mm beyond the joint.
const IN_DOORWAY: Length = Length::millimetres(100.0);

fn find_openings_of_joints(passages: &mut [Passage]) {
    let near = |one: &Passage, other: &Passage| (one.along - other.along).abs() <= IN_DOORWAY;
    for at in 0..passages.len() {
        if !matches!(passages[at].what, Crossed::MovementJoint(_)) {
            continue;
        }
        let (before, from_here) = passages.split_at(at);
        let here = &from_here[0];
        let around = before.iter().rev().take_while(|it| near(it, here));
        let around = around.chain(from_here[1..].iter().take_while(|it| near(it, here)));
        let opening = around.filter_map(|it| match it.what {
            Crossed::Opening(opening) => Some(opening),
            _ => None,
        });
        passages[at].in_opening = opening.min();
    }
}

/// The passages of a loop by what is crossed, in the order in which it is met first.
pub(super) fn crossings(design: &Design, given: &Loop, passages: &[Passage]) -> Vec<Crossing> {
    let mut order: Vec<usize> = (0..passages.len()).collect();
    order.sort_by_key(|at| passages[*at].what);
    let sleeves = Sleeves::of(design, given);
    let of_one = |of_one: &[usize]| crossing(of_one, passages, &sleeves);
    let mut crossings: Vec<Crossing> =
        order.chunk_by(|one, other| passages[*one].what == passages[*other].what).map(of_one).collect();
    crossings.sort_by_key(|it| it.passages.first().copied());
    crossings
}

fn crossing(of_one: &[usize], passages: &[Passage], all: &Sleeves) -> Crossing {
    let what = passages[of_one[0]].what;
    let mut own = all.at(what);
    let mut in_openings: BTreeMap<usize, Standing> = BTreeMap::new();
    let (mut sleeves, mut without_sleeve) = (Vec::new(), Vec::new());
    for &at in of_one {
        let passage = &passages[at];
        let by = own.take(passage.on_return).or_else(|| {
            let opening = passage.in_opening?;
            let there = in_openings.entry(opening).or_insert_with(|| all.at(Crossed::Opening(opening)));
            there.take(passage.on_return)
        });
        match by {
            Some(sleeve) => sleeves.push(sleeve),
            None => without_sleeve.push(at),
        }
    }
    sleeves.sort_unstable();
    sleeves.dedup();
    Crossing { what, passages: of_one.to_vec(), without_sleeve, sleeves }
}

/// The sleeves of a loop in the order of what they serve.
struct Sleeves(Vec<Serving>);

/// A sleeve at one thing.
struct Serving {
    what: Crossed,
    /// By its position among the sleeves of the loop.
    sleeve: usize,
    /// Nothing for one on every crossing, else whether it serves the return.
    on_return: Option<bool>,
}

/// The sleeves at one thing, taken one after the other: first those of the flow, then those of the return.
struct Standing<'s> {
    all: &'s [Serving],
    on_every: Option<usize>,
    next: [usize; 2],
}

impl Sleeves {
    fn of(design: &Design, given: &Loop) -> Sleeves {
        let mut all = Vec::with_capacity(given.sleeves.len());
        for (sleeve, it) in given.sleeves.iter().enumerate() {
            let Some(name) = it.value.at.as_ref().map(|at| &at.value.name) else { continue };
            let on_return = match it.value.serves.map(|serves| serves.value) {
                None | Some(Serves::Every) => None,
                Some(Serves::Flow) => Some(false),
                Some(Serves::Return) => Some(true),
            };
            let named = crossed_by_name(design, name);
            all.extend(named.map(|what| Serving { what, sleeve, on_return }));
        }
        all.sort_by_key(|it| it.what);
        Sleeves(all)
    }

    fn at(&self, what: Crossed) -> Standing<'_> {
        let from = self.0.partition_point(|it| it.what < what);
        let to = self.0.partition_point(|it| it.what <= what);
        let all = &self.0[from..to];
        let on_every = all.iter().find(|it| it.on_return.is_none()).map(|it| it.sleeve);
        Standing { all, on_every, next: [0, 0] }
    }
}

impl Standing<'_> {
    /// The sleeve for one more passage: one on every crossing, or the next on that way.
    fn take(&mut self, on_return: bool) -> Option<usize> {
        if self.on_every.is_some() {
            return self.on_every;
        }
        let next = &mut self.next[usize::from(on_return)];
        let found = self.all[*next..].iter().position(|it| it.on_return == Some(on_return))?;
        *next += found + 1;
        Some(self.all[*next - 1].sleeve)
    }
}

/// What a name may be crossed as: a wall, an opening and a joint may share it.
pub fn crossed_by_name(design: &Design, name: &str) -> impl Iterator<Item = Crossed> + use<> {
    let named = [
        design.walls.position(name).map(Crossed::Wall),
        design.openings.position(name).map(Crossed::Opening),
        design.movement_joints.position(name).map(Crossed::MovementJoint),
    ];
    named.into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The passages of the loop L1 in a design with the wall W1 from (5, 0) to (5, 5), its doorway D1
    /// from 2 m to 3 m, the joint J1 under the door leaf, and the joint J2 from (0, 1) to (5, 1).
    fn worked(route: &str, sleeves: &str) -> (Design, Vec<Passage>, Vec<Crossing>) {
        let text = format!(
            "format: 1\nwalls:\n  W1: {{line: [[5, 0], [5, 5]], thickness: 100 mm}}\nopenings:\n  \
             D1: {{wall: W1, from: 2 m, to: 3 m}}\nmovement-joints:\n  J1: {{line: [[5, 2], [5, 3]]}}\n  \
             J2: {{line: [[0, 1], [5, 1]]}}\nloops:\n  L1: {{route: {route}, sleeves: [{sleeves}]}}\n"
        );
        let reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
        assert!(reading.faults.is_empty(), "{:?}", reading.faults);
        let mut plan = crate::work_out(&reading.design).plan;
        (reading.design, plan.passages.remove(0), plan.crossings.remove(0))
    }

    /// What is crossed, in order; `<` on the way back.
    fn crossed(route: &str) -> String {
        let (_, passages, _) = worked(route, "");
        let word = |it: &Passage| {
            let what = match it.what {
                Crossed::Wall(wall) => format!("W{}", wall + 1),
                Crossed::Opening(opening) => format!("D{}", opening + 1),
                Crossed::MovementJoint(joint) => format!("J{}", joint + 1),
            };
            what + if it.on_return { "<" } else { "" }
        };
        passages.iter().map(word).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn flow_and_return_through_a_wall() {
        assert_eq!(crossed("[[8, 1.5], [2, 1.5], [2, 1.7], [8, 1.7]]"), "W1 W1<");
        assert_eq!(crossed("[[8, 1.7], [2, 1.7], [2, 1.5], [8, 1.5]]"), "W1 W1<");
        // The way back is the longer one.
        assert_eq!(crossed("[[6, 1.5], [4, 1.5], [4, 4], [2, 4], [2, 1.7], [6, 1.7]]"), "W1 W1<");
    }

    #[test]
    fn points_of_a_route_on_the_wall_count_once_or_not_at_all() {
        assert_eq!(crossed("[[8, 1.5], [5, 1.5], [2, 1.5]]"), "W1");
        assert_eq!(crossed("[[8, 1.5], [5, 1.5], [8, 1.7]]"), "");
        assert_eq!(crossed("[[8, 1.5], [5, 1.5], [8, 1.5]]"), "");
        // Along the wall, then on to the other side, or back.
        assert_eq!(crossed("[[8, 1.2], [5, 1.2], [5, 1.8], [2, 1.8]]"), "W1");
        assert_eq!(crossed("[[8, 1.2], [5, 1.2], [5, 1.8], [8, 1.8]]"), "");
        // Along it and past a doorway, either way.
        assert_eq!(crossed("[[8, 2.5], [5, 2.5], [5, 3.8], [2, 3.8]]"), "W1");
        assert_eq!(crossed("[[2, 3.8], [5, 3.8], [5, 2.5], [8, 2.5]]"), "W1");
        // Beginning and ending at a manifold in the wall.
        assert_eq!(crossed("[[5, 1.5], [2, 1.5], [2, 1.7], [5, 1.7]]"), "");
        // Past the end of the wall, and just at it.
        assert_eq!(crossed("[[8, 5.001], [2, 5.001]]"), "");
        assert_eq!(crossed("[[8, 5], [2, 5]]"), "W1");
    }

    #[test]
    fn a_doorway_has_its_edges() {
        assert_eq!(crossed("[[8, 2], [6, 2], [2, 2]]"), "D1 J1");
        assert_eq!(crossed("[[8, 3], [2, 3]]"), "D1 J1");
        assert_eq!(crossed("[[8, 1.999], [2, 1.999]]"), "W1");
        assert_eq!(crossed("[[8, 3.001], [2, 3.001]]"), "W1");
        assert_eq!(crossed("[[8, 2.5], [2, 2.5], [2, 2.6], [8, 2.6]]"), "D1 J1 D1< J1<");
    }

    #[test]
    fn a_serpentine_over_a_joint_is_counted_run_by_run() {
        let mut route = vec!["[1, 3]".to_string()];
        for run in 0..7 {
            let x = 1.0 + 0.2 * f64::from(run);
            route.extend([format!("[{x}, 0.5]"), format!("[{}, 0.5]", x + 0.1), format!("[{}, 3]", x + 0.1)]);
            if run < 6 {
                route.push(format!("[{}, 3]", x + 0.2));
            }
        }
        assert_eq!(crossed(&format!("[{}]", route.join(", "))).split(' ').count(), 14);
        // Turning on the joint itself is no crossing.
        assert_eq!(crossed("[[1, 3], [1, 1], [1.2, 1], [1.2, 3]]"), "");
    }

    /// The passages that are left without a sleeve: of W1 (or J1, J2), in order along the route.
    fn bare(route: &str, sleeves: &str) -> Vec<(Crossed, usize)> {
        let (_, _, crossings) = worked(route, sleeves);
        crossings
            .iter()
            .filter(|it| !it.without_sleeve.is_empty())
            .map(|it| (it.what, it.without_sleeve.len()))
            .collect()
    }

    #[test]
    fn a_bare_name_is_a_sleeve_on_every_crossing_and_others_serve_one() {
        let through_wall = "[[8, 1.5], [2, 1.5], [2, 1.7], [8, 1.7]]";
        let wall = Crossed::Wall(0);
        for (sleeves, left) in [
            ("", 2),
            ("W1", 0),
            ("{at: W1}", 0),
            ("{at: W1, serves: every crossing}", 0),
            ("{at: W1, serves: flow}", 1),
            ("{at: W1, serves: return}", 1),
            ("{at: W1, serves: flow}, {at: W1, serves: flow}", 1),
            ("{at: W1, serves: flow}, {at: W1, serves: return}", 0),
            ("D1", 2),
        ] {
            let wanted = if left > 0 { vec![(wall, left)] } else { vec![] };
            assert_eq!(bare(through_wall, sleeves), wanted, "{sleeves}");
        }
    }

    #[test]
    fn a_sleeve_in_a_doorway_serves_the_joint_there() {
        let through_door = "[[8, 2.5], [2, 2.5], [2, 2.6], [8, 2.6]]";
        let (door, joint) = (Crossed::Opening(0), Crossed::MovementJoint(0));
        assert_eq!(bare(through_door, ""), [(door, 2), (joint, 2)]);
        assert_eq!(bare(through_door, "J1"), [(door, 2)]);
        assert_eq!(bare(through_door, "D1"), []);
        assert_eq!(bare(through_door, "{at: D1, serves: return}"), [(door, 1), (joint, 1)]);
        assert_eq!(bare(through_door, "W1"), [(door, 2), (joint, 2)]);
    }
}
