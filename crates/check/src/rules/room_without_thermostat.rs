//! Each heated room answers to a thermostat.
//!
//! A room without one is as warm as the water happens to make it, and burns what it does not need.
//!
//! ## How it is worked out
//! The rooms that loops heat are looked up among the rooms of the zones that have a thermostat. A design that has no zones lacks them
//! all alike, which is told once.
//!
//! ## Limit
//! A thermostat for each room; like rooms that adjoin may share one. From a trade summary of English guidance.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, always-open: true}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! # ^^^^^ room study is heated and answers to no thermostat; each room wants its own
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, always-open: true}
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     all: {rooms: [hall, study], thermostat: {feels: air}}
//! ```

use super::prelude::*;
use super::room_short_of_heat::RoomItem;
use crate::remedy::add_key;
use crate::zones::{THERMOSTAT, zone_of_its_own};
use std::collections::HashSet;

pub static RULE: Rule = Rule {
    name: "room-without-thermostat",
    group: Group::Controls,
    weights: [Silent, Warning, Error, Error],
    file: include_str!("room_without_thermostat.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "summary of English guidance in a trade text; like adjoining rooms may share";

/// Where more rooms are without, nobody has thought of thermostats yet.
const MOST_FORGOTTEN: usize = 3;

/// So many rooms show it.
const MOST_RELATED: usize = 20;

fn check(inspection: &Inspection, found: &mut Findings) {
    let zones = &inspection.design.controls.zones;
    let mut ruled: HashSet<&str> = HashSet::new();
    for zone in zones.values() {
        if zone.thermostat.is_some() || zone.broken {
            ruled.extend(zone.rooms.iter().map(|room| room.value.name.as_str()));
            let loops = zone.loops.iter().filter_map(|it| inspection.design.loops.get(&it.value.name));
            ruled.extend(loops.flat_map(|it| &it.rooms).map(|room| room.value.name.as_str()));
        }
    }
    if inspection.design.controls.broken {
        return;
    }
    let without = inspection.rooms().filter(|room| !room.worked.loops.is_empty() && !ruled.contains(room.name));
    // A room that a departure names is told by itself, for that to accept.
    let (alike, alone): (Vec<_>, Vec<_>) =
        without.partition(|room| zones.is_empty() && !has_departure(inspection, room.name));
    if let [first, others @ ..] = &alike[..] {
        let about = if others.is_empty() { first.subject } else { Subject::Controls };
        let message = match others {
            [] => alone_without(first),
            _ => format!("{} heated rooms answer to no thermostat; each room wants its own", alike.len()),
        };
        let mut finding = Finding::new(about, first.place, message).source(SOURCE);
        for room in others.iter().take(MOST_RELATED) {
            finding = finding.related(room.place, format!("room {} has none either", room.name));
        }
        found.add(finding);
    }
    for (at, room) in alone.iter().enumerate() {
        let finding = Finding::new(room.subject, room.place, alone_without(room)).source(SOURCE);
        // A room that was forgotten is helped; a design without controls wants them designed.
        let is_forgotten = !zones.is_empty() && at < MOST_FORGOTTEN;
        found.add(finding.remedy(is_forgotten.then(|| own_thermostat(inspection, room)).flatten()));
    }
}

fn alone_without(room: &RoomItem) -> String {
    format!("room {} is heated and answers to no thermostat; each room wants its own", room.name)
}

fn has_departure(inspection: &Inspection, room: &str) -> bool {
    inspection.design.departures.iter().any(|departure| {
        let is_of_rule = departure.rule.as_ref().is_some_and(|rule| rule.value == RULE.name);
        let at = departure.value.at.as_ref().map(|at| at.value.as_str());
        is_of_rule && at.is_some_and(|at| at.strip_prefix("rooms/").unwrap_or(at) == room)
    })
}

/// A thermostat for the zone that has the room and none, or a zone of its own.
fn own_thermostat(inspection: &Inspection, room: &RoomItem) -> Option<Remedy> {
    let has = |zone: &design::Zone| zone.rooms.iter().any(|it| it.value.name == room.name);
    if let Some((name, entry)) = inspection.design.controls.zones.iter().find(|(_, entry)| has(&entry.value)) {
        let change = add_key(inspection, entry.value.place, THERMOSTAT);
        return Remedy::of(format!("give zone {name} a thermostat"), change);
    }
    let zone = zone_of_its_own(inspection, room.name, room.worked.loops.len(), false);
    Remedy::of("give it a zone of its own", zone)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    #[test]
    fn a_design_without_zones_is_told_once() {
        let outcome = check("controls: {interlock: true}\n");
        let found: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        let [found] = found[..] else { panic!("{found:#?}") };
        assert_eq!(found.message, "2 heated rooms answer to no thermostat; each room wants its own");
        assert_eq!(found.related.iter().map(|it| &*it.message).collect::<Vec<_>>(), ["room study has none either"]);
    }

    /// What a departure accepts for one room is not told of the others' finding.
    #[test]
    fn a_room_that_a_departure_names_is_told_by_itself() {
        let departure = "departures:\n  - {rule: room-without-thermostat, at: rooms/study, reason: opens into the hall, agreed-by: \
                         reviewer, until: 2026-12-31}\n";
        let text = format!("controls: {{interlock: true}}\n{departure}");
        assert_eq!(
            messages(&RULE, &text),
            ["room hall is heated and answers to no thermostat; each room wants its own"]
        );
        assert_eq!(check(&text).departed.len(), 1);
    }
}
