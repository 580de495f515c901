//! A loop with a layout is laid out, tails and all.
//!
//! Where that cannot be done, its length and its tails are assumed, and nothing on the plan shows where the pipe comes from:
//! too little to order pipe by or to lay it.
//!
//! ## How it is worked out
//! The pattern is laid over the free floor of the room; of several rooms, or of a room that movement joints cut, in each by
//! itself, let into the tails that pass there. The tails are led from the `at` of the manifold through the rooms
//! between: through `openings` in walls, and through the walls that the loop names in `sleeves`, past what is laid there
//! already. Until the manifold has a place and the room an outline there is nothing to lay out, and stated `tails` count.
//!
//! ## Limit
//! Every loop that has a `layout` and no `route`: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}
//!   study: {floor: screeded, outline: [[4.1, 0], [6, 0], [6, 3], [4.1, 3]], keep-clear: none}
//! walls: {W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}}
//! manifolds: {M1: {at: [5.9, 1.5], ports: 2}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, layout: spiral}
//! #                                                                                ^^^^^^ loop L1 is laid out without its tails: no doorway and no wall named in its `sleeves` leads from manifold M1 to hall; an opening in the wall between, its sleeve or a drawn route would
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}
//!   study: {floor: screeded, outline: [[4.1, 0], [6, 0], [6, 3], [4.1, 3]], keep-clear: none}
//! walls: {W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}}
//! manifolds: {M1: {at: [5.9, 1.5], ports: 2}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, layout: spiral, sleeves: [W1]}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::Loop;
use engineering::plan::{Areas, NoField, NoTails, Outline, Point};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use workings::{LoopWorkings, point, storey_of};

pub static RULE: Rule = Rule {
    name: "layout-not-laid-out",
    group: Group::Geometry,
    weights: [Information, Warning, Error, Error],
    file: include_str!("layout_not_laid_out.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut ways: HashMap<Option<&str>, Ways> = HashMap::new();
    for it in inspection.loops() {
        let Some(layout) = it.given.layout.filter(|_| it.given.route.is_none() && !it.given.broken) else { continue };
        let message = match &it.worked.laid {
            Some(Ok(laid)) => match laid.without_tails {
                None => continue,
                Some(NoTails::NoManifold) => {
                    match it.worked.manifold {
                        Some(manifold) => found.missing(Subject::Manifold(manifold), "at"),
                        None => found.missing(it.subject, "manifold"),
                    }
                    continue;
                }
                Some(NoTails::TooMany { pairs, fit, width, rooms }) => {
                    let name = |room: usize| inspection.design.rooms.at(room).map_or("its room", |it| it.0);
                    let [one, other] = rooms.map(name);
                    let width = Length::millimetres(width.in_millimetres().round());
                    let (place, helps) = match one == other {
                        true => (format!("the {width} of {one} beside the manifold"), "a manifold in a wider place"),
                        false => {
                            (format!("the doorway of {width} between {one} and {other}"), "a wall named in `sleeves`")
                        }
                    };
                    format!(
                        "loop {} is laid out without its tails: {pairs} pairs of tails have to pass {place}, and {fit} fit \
                         there; {helps}, fewer loops, a second manifold or a drawn route may help",
                        it.name
                    )
                }
                Some(NoTails::NoWay) => {
                    let storey = storey_of(inspection.design, it.given);
                    let ways = ways.entry(storey).or_insert_with(|| Ways::new(inspection, storey));
                    without_tails(inspection, ways, &it)
                }
            },
            Some(Err(reason)) => {
                let helps = match reason {
                    NoField::Measure => "state a spacing that pipe is laid at",
                    NoField::TooNarrow => "a closer spacing, other loops' share of the room or a drawn route may help",
                    NoField::TooManyCorners => "draw its walls with fewer, or the route of the loop by hand",
                    NoField::TooLarge => "a wider spacing, or several loops that share the room, may help",
                };
                format!("loop {} is not laid out: {reason}; {helps}", it.name)
            }
            None => {
                say_what_lacks(inspection, found, &it);
                continue;
            }
        };
        let mut finding = Finding::new(it.subject, layout.at, message).source("common practice, no source");
        if let Some(at) = it.worked.manifold.and_then(|at| inspection.design.manifolds.at(at)?.1.value.at) {
            finding = finding.related(at.at, "the manifold is here");
        }
        found.add(finding);
    }
}

fn without_tails(inspection: &Inspection, ways: &Ways, it: &Item<Loop, LoopWorkings>) -> String {
    let design = inspection.design;
    let manifold = it.worked.manifold.and_then(|at| design.manifolds.at(at));
    let room = it.worked.rooms.first().and_then(|at| design.rooms.at(*at));
    let (from, to) = (manifold.map_or("its place", |it| it.0), room.map_or("its room", |it| it.0));
    let at = manifold.and_then(|(_, it)| it.value.at).map(|at| point(at.value));
    let sleeves = it.given.sleeves.iter().filter_map(|sleeve| Some(sleeve.value.0.at.as_ref()?.value.name.as_str()));
    if at.is_some_and(|at| !ways.is_near_a_room(at)) {
        return format!(
            "loop {} is laid out without its tails: manifold {from} stands in none of the rooms that are drawn, and in no wall \
             of theirs; another place of it, or the outline of the room that it stands in, would lead them",
            it.name
        );
    }
    match at.zip(it.worked.rooms.first()).is_some_and(|(at, &room)| ways.lead(inspection, at, room, sleeves)) {
        true => format!(
            "loop {} is laid out without its tails: other pipe or what must stay clear is in the way from manifold {from} to \
             {to}; another place of the manifold, another order of the ports or a drawn route may help",
            it.name
        ),
        false => format!(
            "loop {} is laid out without its tails: no doorway and no wall named in its `sleeves` leads from manifold {from} \
             to {to}; an opening in the wall between, its sleeve or a drawn route would",
            it.name
        ),
    }
}

/// What the file does not say yet; what it says wrongly is told elsewhere.
fn say_what_lacks(inspection: &Inspection, found: &mut Findings, it: &Item<Loop, LoopWorkings>) {
    if it.given.rooms.is_empty() {
        return found.missing(it.subject, "room");
    }
    if let Err(gap) = &it.worked.pipe {
        found.not_checked(it.subject, gap);
    } else if it.given.spacing.is_none() {
        found.missing(it.subject, "spacing");
    }
    for &room in &it.worked.rooms {
        if inspection.design.rooms.at(room).is_some_and(|(_, it)| it.value.outline.is_none() && !it.value.broken) {
            found.missing(Subject::Room(room), "outline");
        }
    }
}

/// The rooms of a storey and the doorways between them.
struct Ways<'i> {
    areas: Areas<'i>,
    rooms: Vec<usize>,
    doorways: BTreeMap<usize, BTreeSet<usize>>,
}

/// How far beyond the middle of a wall the room on that side is looked for.
const BEYOND: [f64; 3] = [0.06, 0.16, 0.3];

impl<'i> Ways<'i> {
    fn new(inspection: &Inspection<'i>, storey: Option<&str>) -> Ways<'i> {
        let design = inspection.design;
        let here = |at: &usize| {
            let of_room = design.rooms.at(*at).and_then(|(_, room)| room.value.storey.as_ref());
            of_room.is_none_or(|it| storey.is_none_or(|storey| it.value.name == storey))
        };
        let outlined = inspection.workings.rooms.iter().enumerate().filter(|(at, _)| here(at));
        let (rooms, outlines): (Vec<usize>, Vec<&Outline>) =
            outlined.filter_map(|(at, room)| Some((at, room.outline.as_ref()?.as_ref().ok()?))).unzip();
        let mut ways = Ways { areas: Areas::new(outlines), rooms, doorways: BTreeMap::new() };
        for opening in design.openings.values() {
            let (Some(wall), Some(from), Some(to)) = (&opening.wall, opening.from, opening.to) else { continue };
            let middle = (from.value + to.value).in_metres() / 2.0;
            let Some([one, other]) = ways.beside(inspection, &wall.value.name, |length| middle / length) else {
                continue;
            };
            ways.doorways.entry(one).or_default().insert(other);
            ways.doorways.entry(other).or_default().insert(one);
        }
        ways
    }

    /// Whether a place lies in a room, or no farther from one than a manifold hangs in its wall.
    fn is_near_a_room(&self, at: Point) -> bool {
        const IN_A_WALL: Length = Length::metres(1.0);
        (0..self.rooms.len()).any(|room| self.areas.outline(room).straight_distance(at) <= IN_A_WALL)
    }

    /// The two rooms beside a wall, so far along it.
    fn beside(&self, inspection: &Inspection, wall: &str, share: impl Fn(f64) -> f64) -> Option<[usize; 2]> {
        let line = inspection.design.walls.get(wall)?.line?.value;
        let (from, to) = (point(line.from), point(line.to));
        let length = from.distance(to).in_metres();
        let share = share(length).clamp(0.0, 1.0);
        let (x, y) = (to.x - from.x, to.y - from.y);
        let room = |side: f64| {
            BEYOND.iter().find_map(|off| {
                let off = off * side / length;
                self.areas.at(Point::new(from.x + x * share - y * off, from.y + y * share + x * off))
            })
        };
        let (one, other) = (self.rooms[room(1.0)?], self.rooms[room(-1.0)?]);
        (one != other).then_some([one, other])
    }

    /// Whether doorways and the walls of these sleeves lead from a place to a room, whatever lies in the way.
    fn lead<'n>(
        &self,
        inspection: &Inspection,
        from: Point,
        to: usize,
        sleeves: impl Iterator<Item = &'n str>,
    ) -> bool {
        const PLACES: usize = 20;
        let Some(start) = self.areas.at(from).map(|at| self.rooms[at]) else { return false };
        let mut sleeved: Vec<[usize; 2]> = Vec::new();
        for wall in sleeves {
            let places = (0..PLACES).map(|at| (at as f64 + 0.5) / PLACES as f64);
            sleeved.extend(places.filter_map(|share| self.beside(inspection, wall, |_| share)));
        }
        let (mut seen, mut next) = (BTreeSet::from([start]), vec![start]);
        while let Some(room) = next.pop() {
            let through_walls = sleeved.iter().filter(|pair| pair.contains(&room)).flatten().copied();
            for other in self.doorways.get(&room).into_iter().flatten().copied().chain(through_walls) {
                if seen.insert(other) {
                    next.push(other);
                }
            }
        }
        seen.contains(&to)
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const ROOMS: &str = "rooms:
  hall: {floor: screeded, outline: [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}
  study: {floor: screeded, outline: [[5.1, 0], [6.1, 0], [6.1, 4], [5.1, 4]], keep-clear: none}
walls: {W1: {line: [[5.05, 0], [5.05, 4]], thickness: 100 mm}}
";

    fn said(manifold: &str, more: &str, of_loop: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!(
                "{ROOMS}{more}manifolds: {{M1: {{{manifold}ports: 4}}}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, \
                 pipe: PEX-16, spacing: 150 mm, layout: spiral{of_loop}}}\n"
            ),
        )
    }

    #[test]
    fn a_doorway_or_a_sleeve_leads_the_tails() {
        let at = "at: [5.9, 2], ";
        let alone = said(at, "", "");
        assert_eq!(alone.len(), 1);
        assert!(alone[0].contains("no doorway and no wall named in its `sleeves` leads from manifold M1 to hall"));
        assert_eq!(said(at, "openings: {D1: {wall: W1, from: 1.5 m, to: 2.4 m}}\n", ""), [""; 0]);
        assert_eq!(said(at, "", ", sleeves: [W1]"), [""; 0]);
        assert_eq!(said("at: [4.9, 2], ", "", ""), [""; 0]);
        assert_eq!(said(at, "", ", route: [[5.9, 2], [1, 2], [1, 3], [5.9, 3]]"), [""; 0]);
    }

    /// A keep-clear area across the way, from wall to wall: the doorway is there.
    #[test]
    fn what_is_in_the_way_is_told_as_such() {
        let text = format!(
            "{ROOMS}openings: {{D1: {{wall: W1, from: 3 m, to: 3.8 m}}}}\nmanifolds: {{M1: {{at: [5.9, 0.2], ports: 4}}}}\nloops:\n  \
             L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, layout: spiral}}\n"
        )
        .replace("[5.1, 4]], keep-clear: none", "[5.1, 4]], keep-clear: {plant: [[5.1, 1], [6.1, 1], [6.1, 2], [5.1, 2]]}");
        let said = messages(&RULE, &text);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("is in the way from manifold M1 to hall"), "{said:?}");
    }

    /// Five pairs in a doorway for two.
    #[test]
    fn more_tails_than_fit_through_a_doorway_are_counted() {
        let loops: String = (1..=5)
            .map(|at| {
                format!(
                    "  L{at}: {{manifold: M1, port: {at}, room: hall, pipe: PEX-16, spacing: 150 mm, layout: spiral}}\n"
                )
            })
            .collect();
        let text = format!(
            "{ROOMS}openings: {{D1: {{wall: W1, from: 1.5 m, to: 1.8 m}}}}\nmanifolds: {{M1: {{at: [6.05, 1.65], ports: 6}}}}\nloops:\n{loops}"
        );
        let said = messages(&RULE, &text);
        let counted = "5 pairs of tails have to pass the doorway of 300 mm between";
        assert!(said.iter().any(|it| it.contains(counted) && it.contains(", and 2 fit there")), "{said:?}");
    }

    /// Outside of all rooms: no way leads from there, and it is told once for each loop.
    #[test]
    fn a_manifold_out_of_every_room_is_told() {
        for at in ["at: [20, 20], ", "at: [-5, 2], "] {
            let said = said(at, "", "");
            assert_eq!(said.len(), 1, "{said:?}");
            assert!(said[0].contains("manifold M1 stands in none of the rooms"), "{said:?}");
        }
    }

    #[test]
    fn a_floor_too_narrow_is_told() {
        let text = "rooms: {hall: {floor: screeded, outline: [[0, 0], [0.25, 0], [0.25, 4], [0, 4]]}}\nloops:\n  L1: {manifold: M1, room: \
                    hall, pipe: PEX-16, spacing: 200 mm, layout: spiral}\n";
        let said = messages(&RULE, text);
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("loop L1 is not laid out: no part of the floor is wide enough"), "{said:?}");
    }

    #[test]
    fn early_files_are_not_scolded() {
        let text = |room: &str, more: &str| {
            format!(
                "rooms:\n  hall: {{{room}}}\nloops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, layout: spiral{more}}}\n"
            )
        };
        let area = text("area: 12 m²", ", spacing: 150 mm, tails: 8 m");
        assert_eq!(messages(&RULE, &area), [""; 0]);
        assert_eq!(not_checked(&RULE, &area), ["rooms/hall/outline"]);
        let outline = "outline: [[0, 0], [4, 0], [4, 3], [0, 3]]";
        assert_eq!(not_checked(&RULE, &text(outline, ", spacing: 150 mm, tails: 8 m")), ["manifolds/M1/at"]);
        assert_eq!(not_checked(&RULE, &text(outline, "")), ["loops/L1/spacing"]);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
    }
}
