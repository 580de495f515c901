//! The heat loss of a tall room allows for its height.
//!
//! Warm air gathers under the roof: the plain sum, which takes one temperature for the whole room, comes out too low.
//!
//! ## How it is worked out
//! The height of a heated room whose heat loss is stated and not said to be worked out for a `tall room`. A heat loss that is worked out
//! from the fabric allows for a height of 4 m and more by 0.2 K for each metre from 1 m up to half the height: for floor heating, a figure from memory without a source.
//!
//! ## Limit
//! To be asked above 3.0 m: common practice, no source (information). To be corrected from 4 m on: EN 12831-1 of 2017, as a public copy
//! gives it; the edition of 2003 says 5 m, in two texts.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 4.2 m}
//! #                                                                                                 ^^^^^ room hall is 4.2 m high and its heat loss is a plain one; from 4.0 m on it has to allow for the height
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, heat-loss-method: tall room, floor: screeded, area: 12 m², height: 4.2 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 3 m}
//! ```

use super::prelude::*;
use design::HeatLossMethod;

pub static RULE: Rule = Rule {
    name: "high-room-not-allowed-for",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[ASK, CORRECT],
    file: include_str!("high_room_not_allowed_for.rs"),
    check,
    ..Rule::USUAL
};

const ASK: Limit = Limit { name: "to-be-asked", value: "3 m", source: "common practice, no source" };
const CORRECT: Limit = Limit {
    name: "to-be-corrected",
    value: "4 m",
    source: "EN 12831-1 of 2017, as a public copy gives it; the edition of 2003 says 5 m, in two texts",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let (ask, correct) = (ASK.get::<Length>(&RULE, inspection), CORRECT.get::<Length>(&RULE, inspection));
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(height) = room.given.height else {
            found.missing(room.subject, "height");
            continue;
        };
        let allowed = room.given.heat_loss_method.is_some_and(|it| it.value == HeatLossMethod::TallRoom);
        // What is worked out from the fabric allows for the height above 4 m.
        let known = room.given.heat_loss.is_some();
        if allowed || !known || height.value <= ask.value || !inspection.is_read(room.given.place) {
            continue;
        }
        let tall = height.value >= correct.value;
        let limit = if tall { correct } else { ask };
        let (value, most) = (height.value, limit.value);
        let demand = match tall {
            true => format!("from {most} on it has to allow for the height"),
            false => format!("above {most} say whether it allows for the height"),
        };
        let message = format!("room {} is {value} high and its heat loss is a plain one; {demand}", room.name);
        let mut finding = Finding::new(room.subject, height.at, message).value(height.value).limit(&limit);
        if let Some(loss) = room.given.heat_loss {
            finding = finding.related(loss.at, "the heat loss");
        }
        if tall {
            found.add(finding);
        } else {
            found.add_as(if RULE.weight(inspection.design.stage()) == Hint { Hint } else { Information }, finding);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::check;

    #[test]
    fn it_asks_above_three_metres_and_wants_it_from_four_on() {
        let at = |height: &str| {
            let text = format!(
                "rooms: {{hall: {{temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: {height}}}}}\n"
            );
            check(&text).findings.into_iter().find(|it| it.rule.name == RULE.name).map(|it| it.severity)
        };
        assert_eq!(at("3 m"), None);
        assert_eq!(at("3.1 m"), Some(Severity::Information));
        assert_eq!(at("3.99 m"), Some(Severity::Information));
        assert_eq!(at("4 m"), Some(Severity::Warning));
    }
}
