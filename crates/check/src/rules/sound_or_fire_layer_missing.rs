//! A floor between two dwellings has the sound and fire layers that the local regulation asks for.
//!
//! A heating floor replaces layers that kept sound and fire apart; what is taken out with the old floor is not put back by itself.
//!
//! ## How it is worked out
//! A heated room says that it is `over-other-dwelling`. Whether its floor has a sound layer below the pipe is told; whether the floor
//! fulfils the regulation is not checked here.
//!
//! ## Limit
//! Local regulations, not checked here.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, over-other-dwelling: true}
//! #                                                                                                                             ^^^^ room hall lies over another dwelling and floor screeded has no sound layer; sound and fire go by the local regulation, which is not checked here
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, over-other-dwelling: false}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::layers;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "sound-or-fire-layer-missing",
    group: Group::FloorConstruction,
    weights: [Hint, Information, Information, Information],
    caution: Some("Fire and sound between dwellings go by local regulations; this program does not check them."),
    guards_people: true,
    file: include_str!("sound_or_fire_layer_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(over) = room.given.over_other_dwelling.filter(|over| over.value) else { continue };
        let Some(floor) = room.worked.floor.and_then(|floor| inspection.floors().nth(floor)) else { continue };
        let first = floor.worked.pipe_layer.clone().unwrap_or(0);
        // Sound mats and soft fibre keep steps and voices back; foam does not.
        let sound = layers::from(&floor, first).any(|(_, _, worked)| {
            let fibre = ["mineral wool", "wood fibre", "sheep wool", "cellulose"];
            worked.is(Material::Underlay) || worked.material.is_some_and(|it| fibre.contains(&it.name))
        });
        if sound {
            continue;
        }
        let message = format!(
            "room {} lies over another dwelling and floor {} has no sound layer; sound and fire go by the local regulation, which is not checked here",
            room.name, floor.name
        );
        let finding = Finding::new(room.subject, over.at, message).source("local regulations, not checked here");
        found.add(finding.related(floor.place, "the floor"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_sound_mat_is_seen() {
        let floor = |board: &str| {
            let text = format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, layers: [{{material: cement screed, thickness: 65 mm, \
                 pipe: at base}}, {{material: EPS, thickness: 40 mm}}, {board}]}}}}\nrooms: {{hall: {{floor: screeded, area: 12 m², \
                 over-other-dwelling: true}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(floor("{material: impact sound mat, thickness: 5 mm}"), 0);
        assert_eq!(floor("{material: mineral wool, thickness: 30 mm}"), 0);
        assert_eq!(floor("{material: XPS, thickness: 30 mm}"), 1);
    }
}
