//! A heavy floor is lowered a little at night, and no more.
//!
//! A screed takes hours to warm. Lowered by five kelvin it is still cold at breakfast and at its warmest when all have left.
//!
//! ## How it is worked out
//! The set-back of each zone whose rooms have their pipe in a screed. In England, whether a zone with a screed of more than
//! 65 mm has one at all.
//!
//! ## Limit
//! 3 K at most for a screed; automatic set-back where it is over 65 mm: a trade reference on English guidance.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1, always-open: true, set-back: 5 K}
//! #                                                                                                             ^^^ zone hall is lowered by 5.0 K at night; a screed of 65 mm follows 3.0 K at most
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1, always-open: true, set-back: 2 K}
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1, always-open: true, set-back: 3 K}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use crate::zones::zone_of_rooms;
use design::Jurisdiction;

pub static RULE: Rule = Rule {
    name: "setback-unsuited",
    group: Group::Controls,
    weights: [Silent, Information, Information, Information],
    limits: &[MOST, HEAVY],
    file: include_str!("setback_unsuited.rs"),
    check,
    ..Rule::USUAL
};

const GUIDANCE: &str = "a trade reference on English guidance";
const MOST: Limit = Limit { name: "most-for-a-screed", value: "3 K", source: GUIDANCE };
const HEAVY: Limit = Limit { name: "screed-that-wants-one", value: "65 mm", source: GUIDANCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (most, heavy) = (MOST.get::<TemperatureDifference>(), HEAVY.get::<Length>());
    let england = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::England);
    // Of each zone, the thickest screed that holds its pipe.
    let mut screeds: Vec<Option<Length>> = vec![None; inspection.design.controls.zones.len()];
    for (room, zone) in inspection.rooms().zip(zone_of_rooms(inspection)) {
        let Some(zone) = zone else { continue };
        if let Some(thickness) = screed(inspection, room.worked.floor) {
            screeds[zone] = Some(screeds[zone].map_or(thickness, |thickest| thickest.max(thickness)));
        }
    }
    for (at, (name, entry)) in inspection.design.controls.zones.iter().enumerate() {
        let Some(screed) = screeds[at] else { continue };
        let zone = &entry.value;
        match zone.set_back {
            Some(set_back) if set_back.value > most.value => {
                let message = format!(
                    "zone {name} is lowered by {} at night; a screed of {screed} follows {} at most",
                    set_back.value, most.value
                );
                found.add(
                    Finding::new(Subject::Zone(at), set_back.at, message)
                        .value(set_back.value)
                        .limit(&most)
                        .remedy(Remedy::new("lower it by 2 K", set_back.at, "2 K")),
                );
            }
            None if england && screed > heavy.value && !zone.broken => {
                let message = format!(
                    "zone {name} is not lowered at night; with a screed of {screed}, over {}, English guidance asks for it",
                    heavy.value
                );
                found.add(
                    Finding::new(Subject::Zone(at), entry.name_place, message)
                        .value(screed)
                        .limit(&heavy)
                        .remedy(Remedy::of("lower it by 2 K", add_key(inspection, zone.place, "set-back: 2 K"))),
                );
            }
            _ => {}
        }
    }
}

/// How thick the screed is that holds a floor's pipe.
fn screed(inspection: &Inspection, floor: Option<usize>) -> Option<Length> {
    let worked = inspection.workings.floors.get(floor?)?;
    let layer = *worked.pipe_layer.as_ref().ok()?;
    let given = inspection.design.floors.at(floor?)?.1.value.layers.get(layer)?;
    let is_screed = given.screed.is_some()
        || worked.layers.get(layer).and_then(|it| it.material).is_some_and(|material| material.kind.is_screed());
    if is_screed { Some(given.thickness?.value) } else { None }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_heavy_screed_in_england_wants_one() {
        let text = "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    layers:\n      \
                    - {material: cement screed, thickness: 75 mm, pipe: at base}\n      - {material: PIR board, thickness: 130 mm}\n";
        let found = messages(&RULE, text);
        assert_eq!(found.len(), 2);
        assert!(found[0].ends_with("with a screed of 75 mm, over 65 mm, English guidance asks for it"), "{}", found[0]);
        let elsewhere = format!("{text}site: {{outdoor-temperature: -3 °C, jurisdiction: Germany}}\n");
        assert_eq!(messages(&RULE, &elsewhere), [""; 0]);
    }
}
