//! A loop with a layout is laid out, tails and all.
//!
//! Where that cannot be done, its length and its tails are assumed, and nothing on the plan shows where the pipe comes from:
//! too little to order pipe by or to lay it.
//!
//! ## How it is worked out
//! The pattern is laid over the free floor of the room; of several rooms, or of a room that movement joints cut, in each by
//! itself, let into the tails that pass there. The tails are led from the `at` of the manifold through the rooms
//! between: through `openings` in walls, and through the walls that the loop names in `sleeves`, past what is laid there
//! already. Until the manifold has a place and the room an outline there is nothing to lay out, and stated `tails` count; so
//! they do where the manifold stands on another storey.
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
use engineering::plan::{NoField, NoTails};
use workings::{LoopWorkings, storey_of};

pub static RULE: Rule = Rule {
    name: "layout-not-laid-out",
    group: Group::Geometry,
    weights: [Information, Warning, Error, Error],
    file: include_str!("layout_not_laid_out.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let Some(layout) = it.given.layout.filter(|_| it.given.route.is_none() && !it.given.broken) else { continue };
        let message = match &it.worked.laid {
            Some(Ok(laid)) => match (laid.without_tails, it.worked.manifold) {
                (None, _) => continue,
                (Some(NoTails::NoManifold), Some(manifold)) => {
                    found.missing(Subject::Manifold(manifold), "at");
                    continue;
                }
                (Some(NoTails::NoManifold), None) => {
                    found.missing(it.subject, "manifold");
                    continue;
                }
                // They cannot be drawn on one storey, and how long they are is said.
                (Some(NoTails::OnOtherStorey), _) if it.given.tails.is_some() => continue,
                (Some(no), _) => {
                    let (why, helps) = why_without_tails(inspection, &it, no);
                    format!("loop {} is laid out without its tails: {why}; {helps}", it.name)
                }
            },
            Some(Err(reason)) => {
                let helps = match reason {
                    NoField::Measure => "state a spacing that pipe is laid at",
                    NoField::TooNarrow => "a closer spacing, other loops' share of the room or a drawn route may help",
                    NoField::TooManyCorners => "draw its walls with fewer, or the route of the loop by hand",
                    NoField::CutUp => "draw what stands there simpler, or the route of the loop by hand",
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

/// Why the tails of a loop were not led, and what may help.
fn why_without_tails(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, no: NoTails) -> (String, String) {
    let design = inspection.design;
    let room = |room: usize| design.rooms.at(room).map_or("its room", |it| it.0);
    let of_loop = |at: usize| design.loops.at(at).map_or("another", |it| it.0);
    let manifold = it.worked.manifold.and_then(|at| design.manifolds.at(at));
    let from = manifold.map_or("its place", |it| it.0);
    let to = it.worked.rooms.first().map_or("its room", |at| room(*at));
    let elsewhere = "another place of the manifold, another order of the ports or a drawn route may help";
    match no {
        NoTails::NoManifold => ("the manifold has no place".into(), "its `at` would".into()),
        NoTails::OnOtherStorey => {
            let here = storey_of(design, it.given).unwrap_or("its storey");
            let storey =
                manifold.and_then(|(_, it)| it.value.storey.as_ref()).map_or("another", |it| it.value.name.as_str());
            (
                format!("manifold {from} stands on storey {storey} and the loop lies on {here}"),
                format!("a manifold on storey {here} would lead them, or state the length of its `tails`"),
            )
        }
        NoTails::OutsideRooms => (
            format!("manifold {from} stands in none of the rooms that are drawn, and in no wall of theirs"),
            "another place of it, or the outline of the room that it stands in, would lead them".into(),
        ),
        NoTails::NoPassage => (
            format!("no doorway and no wall named in its `sleeves` leads from manifold {from} to {to}"),
            "an opening in the wall between, its sleeve or a drawn route would".into(),
        ),
        NoTails::TooMany { pairs, fit, width, rooms } => {
            let [one, other] = rooms.map(room);
            let width = Length::millimetres(width.in_millimetres().round());
            let (place, helps) = match one == other {
                true => (format!("the {width} of {one} beside the manifold"), "a manifold in a wider place"),
                false => (format!("the doorway of {width} between {one} and {other}"), "a wall named in `sleeves`"),
            };
            (
                format!("{pairs} pairs of tails have to pass {place}, and {fit} fit there"),
                format!("{helps}, fewer loops, a second manifold or a drawn route may help"),
            )
        }
        NoTails::NoRoom { room: at, pairs: 0 } => (
            format!("from manifold {from} no way for two pipes side by side leads through {}", room(at)),
            "another place of the manifold, a wall named in `sleeves` or a drawn route may help".into(),
        ),
        NoTails::NoRoom { room: at, pairs } => {
            let others = if pairs == 1 { "one pair" } else { &format!("{pairs} pairs") };
            (format!("in {} no way is left for them past {others} of tails of other loops", room(at)), elsewhere.into())
        }
        NoTails::NotJoined => (
            format!("they come to {to} and cannot be joined to the runs there without crossing them"),
            elsewhere.into(),
        ),
        NoTails::WouldCross(other) => (format!("they would cross loop {}", of_loop(other)), elsewhere.into()),
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
        assert!(said[0].contains("from manifold M1 no way for two pipes side by side leads through study"), "{said:?}");
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

    /// Tails are led on one storey; where the manifold stands on another, their stated length is all that can be said.
    #[test]
    fn a_manifold_on_another_storey_is_told() {
        let text = |more: &str| {
            format!(
                "storeys: {{ground: {{level: 0 m}}, first: {{level: 3 m}}}}\nrooms:\n  hall: {{storey: first, floor: screeded, outline: \
                 [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}}\n  plant: {{storey: ground, outline: [[0, 0], [5, 0], [5, 4], [0, \
                 4]]}}\nmanifolds: {{M1: {{storey: ground, at: [0.1, 2], ports: 2}}}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, \
                 pipe: PEX-16, spacing: 150 mm, layout: spiral{more}}}\n"
            )
        };
        let said = messages(&RULE, &text(""));
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("manifold M1 stands on storey ground and the loop lies on first"), "{said:?}");
        assert_eq!(not_checked(&RULE, &text("")), [""; 0]);
        assert_eq!(messages(&RULE, &text(", tails: 9 m")), [""; 0]);
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
