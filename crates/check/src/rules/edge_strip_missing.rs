//! A screed has an edge strip round all that stands up from it.
//!
//! A heated screed grows. Where it is tight against a wall, a column or a door frame it pushes, cracks, and carries sound
//! and heat into the wall.
//!
//! ## How it is worked out
//! `edge-strip` of each floor of screed in which loops are laid, and of each upright within a heated room. The length is
//! that of the outlines of its heated rooms.
//!
//! ## Limit
//! Round every upright, from the base to the finished level: EN 1264-4, from secondary texts.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]
//!     edge-strip: none
//! #               ^^^^ floor screeded has no edge strip
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]
//!     edge-strip: {thickness: 10 mm, complete: true}
//! ```

use super::prelude::*;
use design::{EdgeStrip, Place};
use workings::{outline, point};

pub static RULE: Rule = Rule {
    name: "edge-strip-missing",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("edge_strip_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4, from secondary texts";
const WHOLE: &str = "{thickness: 10 mm, complete: true}";

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors() {
        if !is_heated_screed(inspection, &floor.worked.rooms) || floor.worked.loops.is_empty() {
            continue;
        }
        let (place, what, remedy) = match &floor.given.edge_strip {
            None => {
                if !floor.given.broken && inspection.is_read(floor.given.place) {
                    found.missing(floor.subject, "edge-strip");
                }
                continue;
            }
            Some(strip) => match &strip.value {
                EdgeStrip::None => (
                    strip.at,
                    "no edge strip",
                    Some(Remedy::new("lay an edge strip of 10 mm all round", strip.at, WHOLE)),
                ),
                EdgeStrip::Strip(given) => match given.complete {
                    Some(complete) if !complete.value => (
                        complete.at,
                        "an edge strip that is not complete",
                        Some(Remedy::new("lay it all round", complete.at, "true")),
                    ),
                    Some(_) => continue,
                    None => {
                        if !given.broken {
                            found.missing(floor.subject, "edge-strip/complete");
                        }
                        continue;
                    }
                },
            },
        };
        let length = edge(inspection, &floor.worked.rooms);
        let length = length.map_or(String::new(), |length| format!("; {length} of edge want one"));
        let message = format!("floor {} has {what}{length}", floor.name);
        found.add(Finding::new(floor.subject, place, message).source(SOURCE).remedy(remedy));
    }
    uprights(inspection, found);
}

/// Whether any of the rooms is heated, on a screed.
fn is_heated_screed(inspection: &Inspection, rooms: &[usize]) -> bool {
    let workings = inspection.workings;
    rooms.iter().any(|room| {
        !workings.rooms[*room].loops.is_empty() && workings.has_screed(inspection.design, *room) == Some(true)
    })
}

/// The length of the edges of the heated rooms; nothing where one of them has no outline.
fn edge(inspection: &Inspection, rooms: &[usize]) -> Option<Length> {
    let heated = rooms.iter().map(|room| &inspection.workings.rooms[*room]).filter(|room| !room.loops.is_empty());
    heated.map(|room| Some(room.outline.as_ref()?.as_ref().ok()?.perimeter())).sum()
}

/// Columns, stairs and what else stands in a heated room.
fn uprights(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    for (at, (name, entry)) in design.uprights.iter().enumerate() {
        let upright = &entry.value;
        let Some(Ok(stands)) = upright.outline.as_ref().map(|it| outline(&it.value)) else { continue };
        let storey = upright.storey.as_ref().map(|storey| storey.name.as_str());
        let room = inspection.rooms().enumerate().find(|(at, room)| {
            let of_room = room.given.storey.as_ref().map(|storey| storey.name.as_str());
            let Some(Ok(outline)) = &room.worked.outline else { return false };
            (storey.is_none() || of_room.is_none() || storey == of_room)
                && is_heated_screed(inspection, &[*at])
                && (stands.corners().iter().any(|corner| outline.contains(*corner))
                    || outline.contains(point(first_corner(upright))))
        });
        let Some((_, room)) = room else { continue };
        let kind = upright.kind.map_or("upright", |kind| kind.value.word());
        match upright.edge_strip {
            None if !upright.broken => found.missing(Subject::Upright(at), "edge-strip"),
            Some(strip) if !strip.value => {
                let message = format!(
                    "{kind} {name} in {} has no edge strip; {} of edge want one",
                    room.name,
                    stands.perimeter()
                );
                let place: Place = strip.at;
                let finding = Finding::new(Subject::Upright(at), place, message).source(SOURCE);
                found.add(finding.remedy(Remedy::new("lay an edge strip round it", place, "true")));
            }
            _ => {}
        }
    }
}

fn first_corner(upright: &design::Upright) -> design::Point {
    let corner = upright.outline.as_ref().and_then(|outline| outline.value.corners.first());
    corner.map_or(design::Point { x: f64::NAN, y: f64::NAN }, |corner| corner.value)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(strip: &str) -> String {
        format!(
            "floors:\n  screeded:\n    layers: [{{material: cement screed, thickness: 65 mm, pipe: at base}}]\n{strip}rooms:\n  hall: {{floor: \
             screeded, outline: [[0, 0], [6, 0], [6, 3], [0, 3]]}}\nloops:\n  L1: {{room: hall, spacing: 150 mm}}\n"
        )
    }

    #[test]
    fn it_goes_all_round() {
        let says = |strip: &str| messages(&RULE, &text(&format!("    edge-strip: {strip}\n")));
        assert_eq!(says("{thickness: 8 mm, complete: true}"), [""; 0]);
        assert_eq!(says("none"), ["floor screeded has no edge strip; 18.0 m of edge want one"]);
        let part = "floor screeded has an edge strip that is not complete; 18.0 m of edge want one";
        assert_eq!(says("{thickness: 8 mm, complete: false}"), [part]);
        assert_eq!(not_checked(&RULE, &text("")), ["floors/screeded/edge-strip"]);
        assert_eq!(
            not_checked(&RULE, &text("    edge-strip: {thickness: 8 mm}\n")),
            ["floors/screeded/edge-strip/complete"]
        );
    }

    #[test]
    fn a_column_in_a_heated_room_wants_one() {
        let whole = "    edge-strip: {thickness: 8 mm, complete: true}\n";
        let column = |x: f64, strip: &str| {
            let (wide, outline) = (x + 0.3, text(whole));
            format!(
                "{outline}uprights:\n  C1: {{kind: column, outline: [[{x}, 1], [{wide}, 1], [{wide}, 1.3], [{x}, 1.3]]{strip}}}\n"
            )
        };
        let says = |x: f64, strip: &str| messages(&RULE, &column(x, strip));
        assert_eq!(says(2.0, ", edge-strip: true"), [""; 0]);
        assert_eq!(says(2.0, ", edge-strip: false"), ["column C1 in hall has no edge strip; 1.2 m of edge want one"]);
        assert_eq!(says(9.0, ", edge-strip: false"), [""; 0]);
        assert_eq!(not_checked(&RULE, &column(2.0, "")), ["uprights/C1/edge-strip"]);
    }

    #[test]
    fn only_screed_wants_one() {
        let boards =
            text("    edge-strip: none\n").replace("cement screed, thickness: 65 mm", "plywood, thickness: 22 mm");
        assert_eq!(messages(&RULE, &boards), [""; 0]);
    }
}
