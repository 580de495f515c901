//! No mains thermostat hangs where a bath or shower can wet it.
//!
//! **Caution.** Water and mains kill. Zones 0 to 2 of a bathroom take no mains control; the competent electrician decides.
//!
//! ## How it is worked out
//! What the design says of the thermostat and of its voltage; or its place in plan, within 0.6 m of a keep-clear area that is
//! named a bath, a shower or a tray, in a bathroom. The remedy hangs it outside.
//!
//! ## Limit
//! Outside zones 0 to 2 (0.6 m from bath or tray), or extra-low voltage: BS 7671 section 701, in trade texts; 25 V from memory.
//!
//! For planning only. A competent electrician must design and certify it.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m, voltage: 230 V, in-splash-zone: true}}
//! #                                                                                                 ^^^^ the thermostat of zone hall, of 230 V, hangs in the splash zone of a bath or shower
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m, voltage: 230 V, in-splash-zone: false}}
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m, voltage: 24 V, in-splash-zone: true}}
//! ```

use super::prelude::*;
use design::{Place, Thermostat, Use, Zone};
use engineering::plan::Point;

pub static RULE: Rule = Rule {
    name: "bathroom-control-in-splash-zone",
    group: Group::Controls,
    weights: [Warning, Error, Error, Error],
    limits: &[EXTRA_LOW, ZONES],
    caution: Some("For planning only. A competent electrician must design and certify it."),
    guards_people: true,
    file: include_str!("bathroom_control_in_splash_zone.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "BS 7671 section 701, in trade texts; 25 V from memory";
const EXTRA_LOW: Limit = Limit { name: "extra-low-voltage", value: "25 V", source: SOURCE };
const ZONES: Limit = Limit { name: "from-bath-or-tray", value: "0.6 m", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let extra_low = EXTRA_LOW.get::<Voltage>(&RULE, inspection);
    for (at, (name, entry)) in inspection.design.controls.zones.iter().enumerate() {
        let Some(thermostat) = &entry.value.thermostat else { continue };
        if thermostat.voltage.is_some_and(|voltage| voltage.value <= extra_low.value) {
            continue;
        }
        let wet = match splashed(inspection, &entry.value, thermostat) {
            Splashed::Yes(place) => place,
            Splashed::No => continue,
            Splashed::Unknown => {
                if !thermostat.broken {
                    found.missing(Subject::Zone(at), "thermostat/in-splash-zone");
                }
                continue;
            }
        };
        let voltage = match thermostat.voltage {
            Some(voltage) => format!("of {}", voltage.value),
            None => "of unknown voltage".to_string(),
        };
        let message = format!("the thermostat of zone {name}, {voltage}, hangs in the splash zone of a bath or shower");
        let remedy =
            thermostat.in_splash_zone.map(|stated| Remedy::new("hang it outside the splash zone", stated.at, "false"));
        let mut finding = Finding::new(Subject::Zone(at), wet, message).limit(&extra_low).remedy(remedy);
        if let Some(voltage) = thermostat.voltage {
            finding = finding.value(voltage.value);
        }
        found.add(finding);
    }
}

/// Whether a thermostat can be wetted, and where that stands.
enum Splashed {
    Yes(Place),
    No,
    /// It belongs to a bathroom, and nothing tells.
    Unknown,
}

fn splashed(inspection: &Inspection, zone: &Zone, thermostat: &Thermostat) -> Splashed {
    if let Some(stated) = thermostat.in_splash_zone {
        return if stated.value { Splashed::Yes(stated.at) } else { Splashed::No };
    }
    let rooms = &inspection.design.rooms;
    let bathrooms = zone.rooms.iter().filter_map(|room| rooms.position(&room.value.name));
    let mut bathrooms = bathrooms
        .filter(|room| rooms.at(*room).is_some_and(|(_, it)| it.value.use_.is_some_and(|it| it.value == Use::Bathroom)))
        .peekable();
    if bathrooms.peek().is_none() {
        return Splashed::No;
    }
    let Some(at) = thermostat.at else { return Splashed::Unknown };
    let here = Point::new(at.value.x, at.value.y);
    let within = ZONES.get::<Length>(&RULE, inspection).value;
    let mut drawn = false;
    for room in bathrooms {
        let Some((_, entry)) = rooms.at(room) else { continue };
        for (area, outline) in &inspection.workings.rooms[room].keep_clear {
            let name = entry.value.keep_clear.at(*area).map_or(String::new(), |(name, _)| name.to_lowercase());
            if !["bath", "shower", "tray"].iter().any(|word| name.contains(word)) {
                continue;
            }
            drawn = true;
            if outline.contains(here) || outline.straight_distance(here) < within {
                return Splashed::Yes(at.at);
            }
        }
    }
    if drawn { Splashed::No } else { Splashed::Unknown }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn bathroom(at: &str) -> String {
        format!(
            "rooms:\n  hall: {{use: bathroom, temperature: 22 °C, heat-loss: 600 W, floor: screeded, \
             outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: {{bath: [[0, 0], [1.7, 0], [1.7, 0.7], [0, 0.7]]}}}}\n\
             controls:\n  zones:\n    hall: {{rooms: [hall], thermostat: {{feels: air{at}}}}}\n"
        )
    }

    #[test]
    fn its_distance_from_the_bath_tells() {
        assert_eq!(messages(&RULE, &bathroom(", at: [2.2, 0.1]")).len(), 1);
        assert_eq!(messages(&RULE, &bathroom(", at: [2.4, 0.1]")), [""; 0]);
    }

    #[test]
    fn in_a_bathroom_it_must_be_known() {
        assert_eq!(not_checked(&RULE, &bathroom("")), ["controls/zones/hall/thermostat/in-splash-zone"]);
    }
}
