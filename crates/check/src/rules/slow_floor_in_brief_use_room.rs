//! A room that is used for short spells has a floor that warms quickly.
//!
//! A thick screed takes half a day to answer: the guests are gone before it is warm, and the room is heated when they have left.
//!
//! ## How it is worked out
//! Thickness of the screed or slab that holds the pipe in guest rooms, hobby rooms and rooms of assembly; the time is that in which 60 W/m²
//! warm it by 5 K: density x specific heat x thickness x 5 K / 60 W/m².
//!
//! ## Limit
//! 75 mm: common practice, no source.
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
//! #             ^^^^^^^^^^ room hall is used as a guest room and has 80 mm of screed, which takes 3.7 h to warm by 5 K; at most 75 mm answers in time
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: guest room, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::layers::binder;
use design::Use;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "slow-floor-in-brief-use-room",
    group: Group::HeatOutput,
    weights: [Hint, Information, Information, Information],
    limits: &[MOST],
    file: include_str!("slow_floor_in_brief_use_room.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "thickest", value: "75 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Length>();
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(of_use) = room.given.use_ else { continue };
        if !matches!(of_use.value, Use::GuestRoom | Use::HobbyRoom | Use::Assembly) {
            continue;
        }
        let Some(floor) = room.worked.floor.and_then(|floor| inspection.floors().nth(floor)) else { continue };
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        let (given, worked) = (&floor.given.layers[pipe_layer], &floor.worked.layers[pipe_layer]);
        let heavy = binder(given, worked).is_some() || worked.is(Material::Concrete);
        let Some(thickness) = given.thickness.filter(|thickness| heavy && thickness.value > most.value) else {
            if heavy && given.thickness.is_none() {
                found.need(floor.subject, &floor.worked.cover);
            }
            continue;
        };
        let density = given.density.map(|it| it.value).or(worked.material.and_then(|it| it.density));
        let heat = given.specific_heat.map(|it| it.value).or(worked.material.and_then(|it| it.specific_heat));
        let takes = density.zip(heat).map(|(density, heat)| {
            let stored = density.in_kilograms_per_cubic_metre() * heat.in_joules_per_kilogram_kelvin();
            let time = Duration::seconds(stored * thickness.value.in_metres() * 5.0 / 60.0);
            format!(", which takes {time} to warm by 5 K")
        });
        let (value, limit) = (thickness.value, most.value);
        let what = if worked.is(Material::Concrete) { "concrete" } else { "screed" };
        let article = if of_use.value == Use::Assembly { "for" } else { "as a" };
        let message = format!(
            "room {} is used {article} {} and has {value} of {what}{}; at most {limit} answers in time",
            room.name,
            of_use.value,
            takes.unwrap_or_default()
        );
        found.add(
            Finding::new(room.subject, of_use.at, message)
                .value(thickness.value)
                .limit(&most)
                .related(thickness.at, "the thickness"),
        );
    }
}
