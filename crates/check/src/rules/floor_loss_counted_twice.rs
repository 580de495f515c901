//! The heat that a room loses through its own heated floor is not in its heat loss.
//!
//! A heated floor is warmer than the room: nothing flows down through it from the room. What it loses downward is worked out by itself; if
//! the heat loss has it as well, the floor is designed for it twice.
//!
//! ## How it is worked out
//! Of a heat loss that is worked out from `fabric`: an element that is named as a floor or slab, or goes to the ground with the area of the
//! room, while `floor-loss-included` does not take it off again.
//!
//! ## Limit
//! Without the loss of the heated floor: EN 1264-3 with EN 12831-1, from memory.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, floor: screeded, area: 12 m², height: 2.4 m, air-change-rate: 0.5 1/h, fabric: {wall: {area: 16 m², u-value: 0.9 W/(m²·K)}, floor: {area: 12 m², u-value: 0.18 W/(m²·K), to: ground}}}
//! #                                                                                                                                                                     ^^^^^ the heat loss of room hall has 15 W through its own heated floor; it loses them there once, not twice
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, floor: screeded, area: 12 m², height: 2.4 m, air-change-rate: 0.5 1/h, fabric: {wall: {area: 16 m², u-value: 0.9 W/(m²·K)}, floor: {area: 12 m², u-value: 0.18 W/(m²·K), to: ground}}, floor-loss-included: 15 W}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use design::OtherSide;

pub static RULE: Rule = Rule {
    name: "floor-loss-counted-twice",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("floor_loss_counted_twice.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let off = room.given.floor_loss_included.is_some() || !inspection.is_read(room.given.place);
        if room.given.heat_loss.is_some() || off {
            continue;
        }
        let (Some(inside), Some(outdoors)) = (room.given.temperature, inspection.design.site.outdoor_temperature)
        else {
            continue;
        };
        for (name, entry) in room.given.fabric.iter() {
            let element = &entry.value;
            let Some(area) = element.area else { continue };
            let named = ["floor", "slab"].iter().any(|word| name.to_lowercase().contains(word));
            let to_ground = element.to.is_some_and(|to| to.value == OtherSide::Ground);
            let as_large = room.worked.area.as_ref().is_ok_and(|room| (area.value / room.value - 1.0).abs() < 0.05);
            if !(named || to_ground && as_large) {
                continue;
            }
            let Some(loss) = workings::element_loss(element, inside.value, outdoors.value) else { continue };
            if loss < Power::watts(0.5) {
                continue;
            }
            let message = format!(
                "the heat loss of room {} has {loss} through its own heated floor; it loses them there once, not twice",
                room.name
            );
            let entry_place = entry.name_place;
            let change = add_key(inspection, room.given.place, &format!("floor-loss-included: {loss}"));
            found.add(
                Finding::new(room.subject, entry_place, message)
                    .value(loss)
                    .source("EN 1264-3 with EN 12831-1, from memory")
                    .remedy(Remedy::of("take it off again", change)),
            );
            // Of several, the first is said; the remedy covers one.
            break;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn hall(element: &str) -> String {
        format!(
            "rooms: {{hall: {{temperature: 20 °C, floor: screeded, area: 12 m², height: 2.4 m, air-change-rate: 0.5 1/h, fabric: \
             {{{element}}}}}}}\n"
        )
    }

    #[test]
    fn a_wall_in_the_ground_is_no_floor() {
        assert!(messages(&RULE, &hall("cellar-wall: {area: 20 m², u-value: 0.3 W/(m²·K), to: ground}")).is_empty());
        assert_eq!(messages(&RULE, &hall("below: {area: 12 m², u-value: 0.3 W/(m²·K), to: ground}")).len(), 1);
        assert_eq!(messages(&RULE, &hall("slab: {area: 9 m², u-value: 0.3 W/(m²·K), to: ground}")).len(), 1);
        let warm_below = "floor: {area: 12 m², u-value: 0.3 W/(m²·K), to: heated room}";
        assert!(messages(&RULE, &hall(warm_below)).is_empty());
    }
}
