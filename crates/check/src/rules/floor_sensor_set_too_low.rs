//! A floor sensor lets the floor become as warm as the room needs.
//!
//! One that stops the heat sooner leaves the room cold on the days that count, and nobody finds out why.
//!
//! ## How it is worked out
//! The surface temperature at which the floor just gives what the room needs: room temperature + (heat flux / 8.92)^(1/1.1), the
//! basic characteristic of EN 1264-2, with the heat flux that the floor has now in the ratio of what is needed to what it gives. The
//! limit of the sensor in the room's zone is held against it.
//!
//! ## Limit
//! That temperature itself: plain physics.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air and floor, height: 1.3 m}, floor-sensor: {limit: 22 °C, in-tube: true}, always-open: true}
//! #                                                                                                  ^^^^^ the floor sensor of zone hall stops the heat at 22.0 °C; the floor of room hall has to become 24.8 °C to give the 600 W that it needs
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air and floor, height: 1.3 m}, floor-sensor: {limit: 27 °C, in-tube: true}, always-open: true}
//! ```

use super::prelude::*;
use crate::zones::zone_of_rooms;
use engineering::heat::en1264::surface_excess;

pub static RULE: Rule = Rule {
    name: "floor-sensor-set-too-low",
    group: Group::Controls,
    weights: [Information, Warning, Error, Error],
    follows: &["floor-cannot-give-this-much", "second-emitter-missing"],
    file: include_str!("floor_sensor_set_too_low.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let zones = &inspection.design.controls.zones;
    if zones.values().all(|zone| zone.floor_sensor.is_none()) {
        return;
    }
    let of_rooms = zone_of_rooms(inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Subject::Room(at) = room.subject else { continue };
        let Some((name, entry)) = of_rooms[at].and_then(|zone| zones.at(zone)) else { continue };
        // That a sensor has no limit is told where it matters most, over wood.
        let Some(limit) = entry.value.floor_sensor.as_ref().and_then(|sensor| sensor.limit) else { continue };
        let Some(inside) = room.given.temperature else { continue };
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some(output) = found.need(room.subject, &room.worked.output) else { continue };
        let Some(flux) = found.need(room.subject, &room.worked.heat_flux) else { continue };
        if needed.value <= Power::ZERO || output.value <= Power::ZERO {
            continue;
        }
        let Ok(excess) = surface_excess(flux.value * (needed.value / output.value)) else { continue };
        let surface = inside.value + excess;
        if limit.value >= surface {
            continue;
        }
        let message = format!(
            "the floor sensor of zone {name} stops the heat at {}; the floor of room {} has to become {surface} to give the {} that it needs",
            limit.value, room.name, needed.value
        );
        let finding = Finding::new(room.subject, limit.at, message).value(limit.value);
        let least = LimitValue::new(surface, "plain physics");
        found.add(
            finding.limit(&least).related(room.place, "the room").figure(format!("rooms.{}.heat-needed", room.name)),
        );
    }
}
