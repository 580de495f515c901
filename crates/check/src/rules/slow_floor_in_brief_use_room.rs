//! A room that is used for short spells has a floor that warms quickly.
//!
//! A thick screed takes half a day to answer: the guests are gone before it is warm, and the room is heated when they have left.
//!
//! ## How it is worked out
//! In guest rooms, hobby rooms and rooms of assembly: how long the floor takes until it gives 90 % of its lasting heat after warm water
//! comes on, by conduction in two dimensions and in time.
//!
//! ## Limit
//! 5 h, what some 75 mm of sand and cement under tile takes: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: tile, thickness: 10 mm}
//!       - {material: cement screed, thickness: 80 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: guest room, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #             ^^^^^^^^^^ room hall is used as a guest room and its floor takes 5.1 h to warm up; at most 5.0 h answers in time
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: heated room
//!     layers:
//!       - {material: tile, thickness: 10 mm}
//!       - {material: flowing screed, thickness: 50 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: guest room, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "slow-floor-in-brief-use-room",
    group: Group::HeatOutput,
    weights: [Hint, Information, Information, Information],
    limits: &[MOST],
    file: include_str!("slow_floor_in_brief_use_room.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "slowest", value: "5 h", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Duration>(&RULE, inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let (Some(of_use), Some(floor)) = (room.given.use_, room.worked.floor) else { continue };
        if !matches!(of_use.value, Use::GuestRoom | Use::HobbyRoom | Use::Assembly) {
            continue;
        }
        let (Subject::Room(number), worked) = (room.subject, &inspection.workings.floors[floor]) else { continue };
        let variant = worked.variant_of(number).unwrap_or_default();
        let takes = match workings::pace(inspection.design, inspection.workings, floor, variant) {
            Ok(pace) => pace.warm_up.value,
            Err(gap) => {
                found.not_checked(Subject::Floor(floor), &gap);
                continue;
            }
        };
        if takes <= most.value {
            continue;
        }
        let article = if of_use.value == Use::Assembly { "for" } else { "as a" };
        let message = format!(
            "room {} is used {article} {} and its floor takes {takes} to warm up; at most {} answers in time",
            room.name, of_use.value, most.value
        );
        let (floor_name, place) =
            inspection.design.floors.at(floor).map_or(("?", room.place), |(name, entry)| (name, entry.name_place));
        found.add(
            Finding::new(room.subject, of_use.at, message)
                .value(takes)
                .limit(&most)
                .figure(worked.figure_name(floor_name, "warm-up-time", variant))
                .related(place, "its floor"),
        );
    }
}
