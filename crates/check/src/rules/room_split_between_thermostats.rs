//! All loops of a room answer to one thermostat.
//!
//! Two thermostats in one air fight: one heats what the other thinks is warm enough, and neither is ever right.
//!
//! ## How it is worked out
//! The zones that name a room, or a loop that heats it, are counted; and the zones to which the rooms of one loop answer. The
//! remedy takes the room out of the second zone that names it.
//!
//! ## Limit
//! One thermostat a room: common practice, no source.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     north: {rooms: [hall], thermostat: {feels: air}}
//!     south: {rooms: [study, hall], thermostat: {feels: air}}
//! #                          ^^^^ room hall answers to the thermostats of north and south
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     north: {rooms: [hall], thermostat: {feels: air}}
//!     south: {rooms: [study], thermostat: {feels: air}}
//! ```
//! ```yaml fails
//! controls:
//!   zones:
//!     north: {loops: [L1], thermostat: {feels: air}}
//!     south: {loops: [L2], thermostat: {feels: air}}
//! #                   ^^ room hall answers to the thermostats of north and south
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use crate::remedy::remove_item;
use design::Place;

pub static RULE: Rule = Rule {
    name: "room-split-between-thermostats",
    group: Group::Controls,
    weights: [Silent, Warning, Error, Error],
    file: include_str!("room_split_between_thermostats.rs"),
    check,
    ..Rule::USUAL
};

/// Who commands a room: the zone, where that is said, and the remedy that takes it away.
#[derive(Clone)]
struct Claim {
    zone: usize,
    place: Place,
    named: Option<usize>,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let zones = &design.controls.zones;
    let mut rooms: Vec<Vec<Claim>> = vec![Vec::new(); design.rooms.len()];
    for (zone, it) in zones.values().enumerate() {
        let mut claim = |room: usize, place: Place, named: Option<usize>| {
            if !rooms[room].iter().any(|claim| claim.zone == zone) {
                rooms[room].push(Claim { zone, place, named });
            }
        };
        // A zone that names loops commands those, whatever rooms it names beside them.
        for (at, room) in it.rooms.iter().enumerate().filter(|_| it.loops.is_empty()) {
            if let Some(room) = design.rooms.position(&room.value.name) {
                claim(room, it.rooms[at].at, Some(at));
            }
        }
        for named in &it.loops {
            let Some(at) = design.loops.position(&named.value.name) else { continue };
            for room in &inspection.workings.loops[at].rooms {
                claim(*room, named.at, None);
            }
        }
    }
    let name = |zone: usize| zones.at(zone).map_or("?", |(name, _)| name);
    for (at, claims) in rooms.iter().enumerate() {
        let [first, second, ..] = &claims[..] else { continue };
        let room = design.rooms.at(at).map_or("?", |(name, _)| name);
        let message =
            format!("room {room} answers to the thermostats of {} and {}", name(first.zone), name(second.zone));
        let remedy = second.named.and_then(|item| {
            let (_, zone) = zones.at(second.zone)?;
            let places: Vec<Place> = zone.value.rooms.iter().map(|room| room.at).collect();
            let title = format!("take it out of zone {}", name(second.zone));
            Remedy::of(title, remove_item(inspection, &places, item))
        });
        found.add(
            Finding::new(Subject::Room(at), second.place, message)
                .source("common practice, no source")
                .related(first.place, format!("zone {} commands it here", name(first.zone)))
                .remedy(remedy),
        );
    }
    for it in inspection.loops().filter(|it| it.worked.rooms.len() > 1) {
        let mut of_rooms = it.worked.rooms.iter().filter_map(|room| match &rooms[*room][..] {
            [only] => Some((*room, only)),
            _ => None,
        });
        let Some((_, first)) = of_rooms.next() else { continue };
        let Some((_, other)) = of_rooms.find(|(_, claim)| claim.zone != first.zone) else { continue };
        let message = format!(
            "loop {} heats rooms of zone {} and of zone {}; it can only answer to one",
            it.name,
            name(first.zone),
            name(other.zone)
        );
        found.add(
            Finding::new(it.subject, it.place, message)
                .source("common practice, no source")
                .related(first.place, format!("a room of zone {}", name(first.zone)))
                .related(other.place, format!("a room of zone {}", name(other.zone))),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_loop_in_two_rooms_answers_to_one_thermostat() {
        let text = "loops:\n  L1: {manifold: M1, room: [hall, study], pipe: PEX-16, spacing: 150 mm, tails: 10 m}\n";
        let split = "loop L1 heats rooms of zone hall and of zone study; it can only answer to one";
        assert_eq!(messages(&RULE, text), [split]);
        let one = format!("{text}controls:\n  zones: {{all: {{rooms: [hall, study], thermostat: {{feels: air}}}}}}\n");
        assert_eq!(messages(&RULE, &one), [""; 0]);
    }
}
