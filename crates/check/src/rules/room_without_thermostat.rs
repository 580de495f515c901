//! Each heated room answers to a thermostat.
//!
//! A room without one is as warm as the water happens to make it, and burns what it does not need.
//!
//! ## How it is worked out
//! The rooms that loops heat are looked up among the rooms of the zones that have a thermostat.
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

/// Where more rooms are without, nobody has thought of thermostats yet.
const MOST_FORGOTTEN: usize = 3;

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
    let mut without = 0;
    for room in inspection.rooms() {
        if room.worked.loops.is_empty() || ruled.contains(room.name) || inspection.design.controls.broken {
            continue;
        }
        let message = format!("room {} is heated and answers to no thermostat; each room wants its own", room.name);
        let finding = Finding::new(room.subject, room.place, message)
            .source("summary of English guidance in a trade text; like adjoining rooms may share");
        // A room that was forgotten is helped; a design without controls wants them designed.
        without += 1;
        let is_forgotten = !zones.is_empty() && without <= MOST_FORGOTTEN;
        found.add(finding.remedy(is_forgotten.then(|| own_thermostat(inspection, &room)).flatten()));
    }
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
