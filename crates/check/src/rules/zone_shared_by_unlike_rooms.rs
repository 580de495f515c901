//! Rooms that share a thermostat are alike.
//!
//! The thermostat feels one room and heats them all: the bathroom is cold, or the bedroom beside it is not to be slept in.
//!
//! ## How it is worked out
//! The rooms of a zone are compared with its first: their design temperatures, what they are used for (by day, for sleeping,
//! wet rooms, under glass, for work, for the public), and the kind of their covering.
//!
//! ## Limit
//! The same use, within 1 K, the same kind of covering: a trade summary of English guidance.
//!
//! ## Exceptions
//! A bathroom with a heat emitter of its own.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     all: {rooms: [hall, study], thermostat: {feels: air}}
//! #                       ^^^^^ zone all runs rooms hall and study by one thermostat: 18.0 °C and 22.0 °C, more than 1.0 K apart
//! rooms:
//!   hall: {use: bedroom, temperature: 18 °C, heat-loss: 500 W, floor: screeded, area: 12 m²}
//!   study: {use: bathroom, temperature: 22 °C, heat-loss: 500 W, floor: screeded, area: 11 m²}
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     all: {rooms: [hall], thermostat: {feels: air}}
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! rooms:
//!   hall: {use: bedroom, temperature: 18 °C, heat-loss: 500 W, floor: screeded, area: 12 m²}
//!   study: {use: bathroom, temperature: 22 °C, heat-loss: 500 W, floor: screeded, area: 11 m²}
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     all: {rooms: [hall, study], thermostat: {feels: air}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::{Change, remove_item};
use crate::zones::{top_of_floor, zone_of_its_own};
use design::{Place, Room, Use};
use engineering::heat::materials::Kind as Material;
use workings::RoomWorkings;

pub static RULE: Rule = Rule {
    name: "zone-shared-by-unlike-rooms",
    group: Group::Controls,
    weights: [Silent, Information, Warning, Warning],
    limits: &[APART],
    file: include_str!("zone_shared_by_unlike_rooms.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "apart", value: "1 K", source: "a trade summary of English guidance" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for (at, (zone, entry)) in inspection.design.controls.zones.iter().enumerate() {
        let named = entry.value.rooms.iter().filter_map(|room| {
            let at = inspection.design.rooms.position(&room.value.name)?;
            let (name, entry) = inspection.design.rooms.at(at)?;
            let worked = inspection.workings.rooms.get(at)?;
            let it = Item { name, subject: Subject::Room(at), place: entry.name_place, given: &entry.value, worked };
            let by_itself =
                it.given.use_.is_some_and(|it| it.value == Use::Bathroom) && !it.given.other_emitters.is_empty();
            (!by_itself).then_some((it, room.at))
        });
        let named: Vec<_> = named.collect();
        let [(first, _), others @ ..] = &named[..] else { continue };
        let unlike =
            others.iter().find_map(|(other, place)| Some((unlike(inspection, first, other, found)?, *place, other)));
        let Some(((what, value), place, other)) = unlike else { continue };
        let message = format!("zone {zone} runs rooms {} and {} by one thermostat: {what}", first.name, other.name);
        let mut finding =
            Finding::new(Subject::Zone(at), place, message).related(first.place, "the first room of the zone");
        finding = match value {
            Some(value) => finding.value(value).limit(&APART.get::<TemperatureDifference>(&RULE, inspection)),
            None => finding.source(APART.source),
        };
        found.add(finding.remedy(parted(inspection, at, other)));
    }
}

/// The other room in a zone of its own.
fn parted(inspection: &Inspection, zone: usize, room: &Item<Room, RoomWorkings>) -> Option<Remedy> {
    let (_, entry) = inspection.design.controls.zones.at(zone)?;
    let zone = &entry.value;
    if !zone.loops.is_empty() {
        return None;
    }
    let places: Vec<Place> = zone.rooms.iter().map(|room| room.at).collect();
    let named = zone.rooms.iter().position(|it| it.value.name == room.name)?;
    let loops = room.worked.loops.len();
    let open = zone.always_open.is_some_and(|open| open.value);
    let mut changes =
        vec![remove_item(inspection, &places, named)?, zone_of_its_own(inspection, room.name, loops, open)?];
    if let Some(actuators) = zone.actuators {
        changes.push(Change { place: actuators.at, text: (actuators.value as usize).checked_sub(loops)?.to_string() });
    }
    Remedy::of(format!("give room {} a zone of its own", room.name), changes)
}

/// What is unlike about two rooms, with the difference of temperature where it is that.
fn unlike(
    inspection: &Inspection,
    one: &Item<Room, RoomWorkings>,
    other: &Item<Room, RoomWorkings>,
    found: &mut Findings,
) -> Option<(String, Option<TemperatureDifference>)> {
    let apart = APART.get::<TemperatureDifference>(&RULE, inspection);
    match (one.given.temperature, other.given.temperature) {
        (Some(first), Some(second)) => {
            let between = first.value - second.value;
            if between.abs() > apart.value + TemperatureDifference::kelvin(1e-9) {
                let what = format!("{} and {}, more than {} apart", first.value, second.value, apart.value);
                return Some((what, Some(between.abs())));
            }
        }
        (None, _) => found.missing(one.subject, "temperature"),
        (_, None) => found.missing(other.subject, "temperature"),
    }
    if let (Some(first), Some(second)) = (one.given.use_, other.given.use_)
        && kind_of_use(first.value).zip(kind_of_use(second.value)).is_some_and(|(first, second)| first != second)
    {
        return Some((format!("{} and {} are unlike uses", first.value, second.value), None));
    }
    let (first, second) = (top_of_floor(inspection, one.worked)?, top_of_floor(inspection, other.worked)?);
    let (first, second) = (kind_of_covering(first)?, kind_of_covering(second)?);
    (first != second).then(|| (format!("{first} and {second} answer unlike"), None))
}

/// Uses that may share a thermostat have one word; what is used for anything has none.
fn kind_of_use(of: Use) -> Option<&'static str> {
    Some(match of {
        Use::Living | Use::Dining | Use::Kitchen | Use::Hall | Use::Office | Use::HobbyRoom => "by day",
        Use::Bedroom | Use::GuestRoom => "for sleeping",
        Use::Bathroom | Use::Toilet | Use::Utility => "wet",
        Use::Conservatory => "under glass",
        Use::Workshop | Use::Store | Use::Garage => "for work",
        Use::Assembly | Use::Shop | Use::Classroom => "for the public",
        Use::Other => return None,
    })
}

fn kind_of_covering(of: Material) -> Option<&'static str> {
    Some(match of {
        Material::Tile | Material::Stone => "tile",
        kind if kind.is_timber() => "wood",
        Material::Resilient => "resilient covering",
        Material::Carpet => "carpet",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn shared(first: &str, second: &str) -> String {
        format!(
            "controls:\n  zones:\n    all: {{rooms: [hall, study], thermostat: {{feels: air}}}}\nrooms:\n  \
             hall: {{{first}, heat-loss: 500 W, floor: screeded, area: 12 m²}}\n  \
             study: {{{second}, heat-loss: 500 W, floor: screeded, area: 11 m²}}\n"
        )
    }

    #[test]
    fn one_kelvin_apart_is_alike() {
        let living = "use: living, temperature: 20 °C";
        assert_eq!(messages(&RULE, &shared(living, "use: kitchen, temperature: 19 °C")), [""; 0]);
        assert_eq!(messages(&RULE, &shared(living, "use: kitchen, temperature: 18.9 °C")).len(), 1);
    }

    #[test]
    fn use_and_covering_count_too() {
        let living = "use: living, temperature: 20 °C";
        let found = messages(&RULE, &shared(living, "use: bedroom, temperature: 20 °C"));
        assert_eq!(found, ["zone all runs rooms hall and study by one thermostat: living and bedroom are unlike uses"]);
        let oak = format!("{living}, covering: [{{material: oak, thickness: 14 mm}}]");
        let found = messages(&RULE, &shared(living, &oak));
        assert_eq!(found, ["zone all runs rooms hall and study by one thermostat: tile and wood answer unlike"]);
    }

    #[test]
    fn a_bathroom_with_a_towel_rail_may_share() {
        let bath = "use: bathroom, temperature: 24 °C, other-emitters: {rail: {output: 200 W}}";
        assert_eq!(messages(&RULE, &shared("use: bedroom, temperature: 18 °C", bath)), [""; 0]);
    }
}
