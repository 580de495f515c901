//! A keep-clear area lies in its room.
//!
//! One that lies elsewhere keeps nothing clear: it stands under the wrong room, or its corner is mistyped.
//!
//! ## How it is worked out
//! The least distance between the area and the outline of the room that it is given to, where they lie apart; else how far
//! its farthest corner lies beyond the outline, or what lies beyond it divided by the area's longest side, if that is more.
//!
//! ## Limit
//! Up to 100 mm may be drawn beyond the room, as into the thickness of a wall: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall:
//!     outline: [[0, 0], [4, 0], [4, 3], [0, 3]]
//!     keep-clear: {units: [[5, 0], [6, 0], [6, 0.6], [5, 0.6]]}
//! #                ^^^^^ units of hall lies 1.0 m outside it, in study
//!   study: {outline: [[4, 0], [8, 0], [8, 3], [4, 3]]}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall:
//!     outline: [[0, 0], [4, 0], [4, 3], [0, 3]]
//!     keep-clear: none
//!   study: {outline: [[4, 0], [8, 0], [8, 3], [4, 3]], keep-clear: {units: [[5, 0], [6, 0], [6, 0.6], [5, 0.6]]}}
//! ```
//! ```yaml fails
//! rooms:
//!   hall:
//!     outline: [[0, 0], [4, 0], [4, 3], [0, 3]]
//!     keep-clear: {sofa: [[3, 0], [5, 0], [5, 1], [3, 1]]}
//! #                ^^^^ sofa of hall goes 1.0 m beyond it; 100 mm is the most
//! ```
//! ```yaml passes
//! rooms:
//!   hall:
//!     outline: [[0, 0], [4, 0], [4, 3], [0, 3]]
//!     keep-clear: {sofa: [[3, 0], [4.1, 0], [4.1, 1], [3, 1]]}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::{Change, add_key, remove_entry, written};
use design::{Place, Room};
use engineering::plan::{Outline, overlap};
use workings::RoomWorkings;

pub static RULE: Rule = Rule {
    name: "keep-clear-outside-room",
    group: Group::Geometry,
    weights: [Warning; 4],
    limits: &[BEYOND],
    follows: &["metres-and-millimetres-mixed"],
    file: include_str!("keep_clear_outside_room.rs"),
    check,
    ..Rule::USUAL
};

const BEYOND: Limit = Limit { name: "beyond-its-room", value: "100 mm", source: "common practice, no source" };

/// What lies nearer touches.
const TOUCHES: Length = Length::millimetres(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms() {
        if room.worked.keep_clear.is_empty() {
            continue;
        }
        let Some(Ok(outline)) = &room.worked.outline else {
            if room.given.outline.is_none() && !room.given.broken {
                found.missing(room.subject, "outline");
            }
            continue;
        };
        for (at, area) in &room.worked.keep_clear {
            let Some((name, entry)) = room.given.keep_clear.at(*at) else { continue };
            let most = BEYOND.get::<Length>(&RULE, inspection);
            let shared = overlap(outline, area);
            let apart = if shared > Area::ZERO { None } else { apart(outline, area) };
            let off = apart.unwrap_or_else(|| beyond(outline, area, shared));
            if apart.is_none() && off <= most.value + TOUCHES {
                continue;
            }
            let storey = room.given.storey.as_ref().map(|storey| storey.name.as_str());
            let holder = inspection.rooms().find(|other| {
                let its = other.given.storey.as_ref().map(|storey| storey.name.as_str());
                other.subject != room.subject
                    && (its.is_none() || storey.is_none() || its == storey)
                    && matches!(&other.worked.outline, Some(Ok(other)) if area.corners().iter().all(|corner| other.contains(*corner)))
            });
            let within = holder.as_ref().map_or(String::new(), |holder| format!(", in {}", holder.name));
            let message = match apart {
                Some(_) => format!("{name} of {} lies {off} outside it{within}", room.name),
                None => format!("{name} of {} goes {off} beyond it{within}; {} is the most", room.name, most.value),
            };
            let finding = Finding::new(room.subject, entry.name_place, message).value(off);
            let mut finding = match apart {
                Some(_) => finding.source("common practice, no source"),
                None => finding.limit(&most),
            };
            if let Some(outline) = &room.given.outline {
                finding = finding.related(outline.at, format!("{} is here", room.name));
            }
            if let Some(holder) = &holder {
                finding = finding.related(holder.place, format!("{} holds it", holder.name)).remedy(moved(
                    inspection,
                    &room,
                    holder,
                    name,
                    entry.name_place,
                ));
            }
            found.add(finding);
        }
    }
}

/// How far an area lies outside a room; nothing where they share floor or touch.
fn apart(room: &Outline, area: &Outline) -> Option<Length> {
    let inside = |outline: &Outline, of: &Outline| of.corners().iter().any(|corner| outline.contains(*corner));
    if inside(room, area) || inside(area, room) {
        return None;
    }
    let nearest = |outline: &Outline, of: &Outline| {
        of.corners().iter().map(|corner| outline.nearest_edge(*corner).distance).reduce(Length::min)
    };
    let off = nearest(room, area)?.min(nearest(area, room)?);
    (off > TOUCHES).then_some(off)
}

/// How far an area goes beyond a room with which it shares some floor, or touches.
fn beyond(room: &Outline, area: &Outline, shared: Area) -> Length {
    let outside = area.area() - shared;
    if outside <= Area::ZERO {
        return Length::ZERO;
    }
    let corners = area.corners().iter().filter(|corner| !room.contains(**corner));
    let farthest = corners.map(|corner| room.nearest_edge(*corner).distance).reduce(Length::max).unwrap_or_default();
    // All corners may lie in a room that the area leaves between them.
    farthest.max(outside / area.longest_side())
}

/// The area taken out of its room and put into the one that holds it.
fn moved(
    inspection: &Inspection,
    from: &Item<Room, RoomWorkings>,
    to: &Item<Room, RoomWorkings>,
    name: &str,
    name_place: Place,
) -> Option<Remedy> {
    let whole = inspection.reading.definitions.iter().find(|it| it.place == name_place)?.whole;
    let outline = inspection.text(whole).split_once(':')?.1.trim();
    // An outline of several lines would have to be set in anew.
    if outline.contains('\n') || to.given.keep_clear.get(name).is_some() {
        return None;
    }
    let entry = format!("{}: {outline}", written(name));
    let taken = match (from.given.keep_clear.len(), from.given.keep_clear.place) {
        (1, Some(place)) => Change { place, text: "none".into() },
        _ => remove_entry(inspection, whole)?,
    };
    let put = match to.given.keep_clear.place {
        None => add_key(inspection, to.given.place, &format!("keep-clear: {{{entry}}}"))?,
        Some(place) if inspection.text(place) == "none" => Change { place, text: format!("{{{entry}}}") },
        Some(place) => add_key(inspection, place, &entry)?,
    };
    Remedy::of(format!("move it to {}", to.name), [taken, put])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn says(area: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!("rooms:\n  hall: {{outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: {{bath: {area}}}}}\n"),
        )
    }

    #[test]
    fn a_tenth_of_a_metre_may_be_beyond() {
        assert_eq!(says("[[3, 0], [4.1, 0], [4.1, 1], [3, 1]]"), [""; 0]);
        assert_eq!(
            says("[[3, 0], [4.12, 0], [4.12, 1], [3, 1]]"),
            ["bath of hall goes 120 mm beyond it; 100 mm is the most"]
        );
        let a_metre = ["bath of hall goes 1.0 m beyond it; 100 mm is the most"];
        assert_eq!(says("[[4, 0], [5, 0], [5, 1], [4, 1]]"), a_metre);
        assert_eq!(says("[[4.002, 0], [5, 0], [5, 1], [4.002, 1]]"), ["bath of hall lies 2 mm outside it"]);
        assert_eq!(says("[[3, 1], [5, 1], [5, 2], [3, 2]]"), a_metre);
        // Across the whole room, with no corner of either in the other.
        assert_eq!(says("[[-1, 1], [5, 1], [5, 2], [-1, 2]]"), a_metre);
        assert_eq!(says("[[-1, -1], [5, -1], [5, 4], [-1, 4]]").len(), 1);
    }

    /// The corners of the area lie in both arms of a room like a U, its middle does not: 2 m² of 4 m long area.
    #[test]
    fn an_area_may_leave_its_room_between_its_corners() {
        let text = "rooms:\n  hall:\n    outline: [[0, 0], [4, 0], [4, 3], [3, 3], [3, 1], [1, 1], [1, 3], [0, 3]]\n    \
                    keep-clear: {bath: [[0, 2], [4, 2], [4, 3], [0, 3]]}\n";
        assert_eq!(messages(&RULE, text), ["bath of hall goes 500 mm beyond it; 100 mm is the most"]);
    }

    /// A corner 82 m off is one finding, of its numbers.
    #[test]
    fn what_is_too_long_for_a_house_is_told_of_its_numbers() {
        let area = "[[3, 0], [91, 0], [4, 3], [3, 3]]";
        assert_eq!(says(area), [""; 0]);
    }

    #[test]
    fn without_an_outline_it_is_not_checked() {
        let text = "rooms:\n  hall: {area: 12 m², keep-clear: {bath: [[0, 0], [1, 0], [1, 1]]}}\n";
        assert_eq!(not_checked(&RULE, text), ["rooms/hall/outline"]);
    }
}
