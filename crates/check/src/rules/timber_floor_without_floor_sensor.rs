//! A wooden floor is guarded by a sensor in it, or by water that cannot make it too warm.
//!
//! A thermostat that feels the air lets the floor get as warm as it likes until the room is warm. On a cold morning that is
//! long enough to cook boards.
//!
//! ## How it is worked out
//! Rooms whose topmost layer is wood or laminate: the sensor of their zone and the temperature at which it stops the heat.
//! Without one, the surface temperature is worked out for water as warm as the limit thermostat lets pass; where that is
//! within the limit too, nothing more is wanted.
//!
//! ## Limit
//! 27 °C: flooring makers' terms and a trade text, which ask for a thermostat that feels air and floor.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! #                                     ^^^^^^^^^^^^^^^^^^^^^^^^^^^ room hall has a wooden floor, and zone hall has no sensor in it
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! safety:
//!   limit-thermostat: {setting: 55 °C, independent: true, without-power: true}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true, floor-sensor: {limit: 27 °C, in-tube: true}}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! safety:
//!   limit-thermostat: {setting: 55 °C, independent: true, without-power: true}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air and floor, height: 1.3 m}, floor-sensor: {limit: 27 °C, in-tube: true}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use crate::zones::{top_of_floor, zone_of_rooms};
use workings::{Otherwise, RoomWorkings, loop_if};

pub static RULE: Rule = Rule {
    name: "timber-floor-without-floor-sensor",
    group: Group::Controls,
    weights: [Silent, Information, Warning, Warning],
    limits: &[MOST],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &["timber-covering-too-warm"],
    file: include_str!("timber_floor_without_floor_sensor.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most", value: "27 °C", source: "flooring makers' terms and a trade text" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Temperature>(&RULE, inspection);
    let zones = &inspection.design.controls.zones;
    let of_rooms = zone_of_rooms(inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        if !top_of_floor(inspection, room.worked).is_some_and(|top| top.is_timber()) {
            continue;
        }
        let Subject::Room(at) = room.subject else { continue };
        // A room without a thermostat is said elsewhere.
        let Some((zone_at, (name, entry))) = of_rooms[at].and_then(|zone| Some((zone, zones.at(zone)?))) else {
            continue;
        };
        let zone = &entry.value;
        if let Some(sensor) = &zone.floor_sensor {
            match sensor.limit {
                Some(limit) if limit.value > most.value => {
                    let message = format!(
                        "the sensor of zone {name} stops the heat at {}; the wood in room {} bears {}",
                        limit.value, room.name, most.value
                    );
                    let text = format!("{} °C", most.value.in_celsius());
                    found.add(
                        Finding::new(room.subject, limit.at, message)
                            .value(limit.value)
                            .limit(&most)
                            .remedy(Remedy::new(format!("stop the heat at {text}"), limit.at, text)),
                    );
                }
                None if !sensor.broken => found.missing(Subject::Zone(zone_at), "floor-sensor/limit"),
                _ => {}
            }
            continue;
        }
        if zone.broken || water_cannot(inspection, room.worked, most.value) {
            continue;
        }
        let message = format!("room {} has a wooden floor, and zone {name} has no sensor in it", room.name);
        let place = zone.thermostat.as_ref().map_or(entry.name_place, |thermostat| thermostat.at);
        let entry_text = format!("floor-sensor: {{limit: {} °C, in-tube: true}}", most.value.in_celsius());
        found.add(
            Finding::new(room.subject, place, message)
                .limit(&most)
                .related(room.place, "the room with the wooden floor")
                .remedy(Remedy::of("put a sensor in the floor", add_key(inspection, zone.place, &entry_text))),
        );
    }
}

/// Whether even water as warm as the limit thermostat lets pass leaves the surface within the limit.
fn water_cannot(inspection: &Inspection, room: &RoomWorkings, most: Temperature) -> bool {
    let safety = &inspection.design.safety;
    let Some(setting) = safety.limit_thermostat.as_ref().and_then(|it| it.setting) else { return false };
    let warmest = Otherwise { flow_temperature: Some(setting.value), ..Otherwise::default() };
    room.loops.iter().all(|at| {
        let it = loop_if(inspection.design, inspection.workings, *at, warmest);
        it.is_ok_and(|it| it.surface_temperature_mean.is_ok_and(|surface| surface.value <= most))
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn wooden(zone: &str, setting: &str) -> String {
        format!(
            "rooms:\n  hall: {{temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{{material: oak, thickness: 14 mm}}]}}\n\
             loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}}\n\
             controls:\n  zones:\n    hall: {{rooms: [hall], thermostat: {{feels: air}}{zone}}}\n\
             safety:\n  limit-thermostat: {{setting: {setting}, independent: true, without-power: true}}\n"
        )
    }

    #[test]
    fn water_that_cannot_be_too_warm_guards_too() {
        assert_eq!(messages(&RULE, &wooden("", "40 °C")), [""; 0]);
        assert_eq!(messages(&RULE, &wooden("", "55 °C")).len(), 1);
    }

    #[test]
    fn the_sensor_must_stop_the_heat_in_time() {
        let late = ["the sensor of zone hall stops the heat at 30.0 °C; the wood in room hall bears 27.0 °C"];
        assert_eq!(messages(&RULE, &wooden(", floor-sensor: {limit: 30 °C}", "55 °C")), late);
        let text = wooden(", floor-sensor: {in-tube: true}", "55 °C");
        assert_eq!(not_checked(&RULE, &text), ["controls/zones/hall/floor-sensor/limit"]);
    }
}
