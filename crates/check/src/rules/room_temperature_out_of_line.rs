//! A room is designed for a temperature that is usual for its use.
//!
//! One kelvin more is about a twelfth more heat; one kelvin less, and the client calls.
//!
//! ## How it is worked out
//! The room's temperature against the usual range of its use.
//!
//! ## Limit
//! Living and dining rooms 20 to 22 °C, bedrooms 18 to 21 °C, bathrooms 21 to 24 °C, halls 18 to 21 °C: BS EN 12831 national annex and warranty
//! standards; 21 °C in living rooms in a secondary text, the rest from memory. Other uses have no usual range here.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: bathroom, temperature: 19 °C, heat-loss: 500 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                    ^^^^^ room hall is designed for 19.0 °C; 21.0 °C to 24.0 °C is usual for a bathroom
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: bathroom, temperature: 21 °C, heat-loss: 500 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "room-temperature-out-of-line",
    group: Group::DesignFile,
    weights: [Hint, Information, Information, Information],
    limits: &[LIVING_LEAST, LIVING_MOST, BEDROOM_LEAST, BEDROOM_MOST, BATHROOM_LEAST, BATHROOM_MOST],
    file: include_str!("room_temperature_out_of_line.rs"),
    check,
    ..Rule::USUAL
};

const LIVING: &str = "BS EN 12831 national annex; 21 °C in a secondary text, the ends of the range from memory";
const MEMORY: &str = "BS EN 12831 national annex and warranty standards, from memory";
const LIVING_LEAST: Limit = Limit { name: "living-least", value: "20 °C", source: LIVING };
const LIVING_MOST: Limit = Limit { name: "living-most", value: "22 °C", source: LIVING };
const BEDROOM_LEAST: Limit = Limit { name: "bedroom-and-hall-least", value: "18 °C", source: MEMORY };
const BEDROOM_MOST: Limit = Limit { name: "bedroom-and-hall-most", value: "21 °C", source: MEMORY };
const BATHROOM_LEAST: Limit = Limit { name: "bathroom-least", value: "21 °C", source: MEMORY };
const BATHROOM_MOST: Limit = Limit { name: "bathroom-most", value: "24 °C", source: MEMORY };

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let (Some(of_use), Some(temperature)) = (room.given.use_, room.given.temperature) else { continue };
        let (least, most) = match of_use.value {
            Use::Living | Use::Dining => (LIVING_LEAST, LIVING_MOST),
            Use::Bedroom | Use::Hall => (BEDROOM_LEAST, BEDROOM_MOST),
            Use::Bathroom => (BATHROOM_LEAST, BATHROOM_MOST),
            _ => continue,
        };
        let (least, most) = (least.get::<Temperature>(&RULE, inspection), most.get::<Temperature>(&RULE, inspection));
        let nearest = if temperature.value < least.value {
            least
        } else if temperature.value > most.value {
            most
        } else {
            continue;
        };
        let message = format!(
            "room {} is designed for {}; {} to {} is usual for a {}",
            room.name, temperature.value, least.value, most.value, of_use.value
        );
        let usual = format!("{:.0} °C", nearest.value.in_celsius());
        found.add(
            Finding::new(room.subject, temperature.at, message)
                .value(temperature.value)
                .limit(&nearest)
                .remedy(Remedy::new(format!("design it for {usual}"), temperature.at, usual)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn the_ends_of_the_ranges_are_usual() {
        let room = |of_use: &str, celsius: &str| {
            let text = format!(
                "rooms: {{hall: {{use: {of_use}, temperature: {celsius} °C, heat-loss: 500 W, floor: screeded, area: 12 m²}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        for (of_use, least, most) in [("living", 20, 22), ("bedroom", 18, 21), ("bathroom", 21, 24), ("hall", 18, 21)] {
            let at = |celsius: i32| room(of_use, &celsius.to_string());
            assert_eq!((at(least - 1), at(least), at(most), at(most + 1)), (1, 0, 0, 1), "{of_use}");
        }
        assert_eq!(room("workshop", "16"), 0);
    }
}
