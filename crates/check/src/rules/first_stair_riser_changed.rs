//! The new floor leaves the lowest or the topmost stair riser as high as the others.
//!
//! People fall over a riser that differs from those before it.
//!
//! ## How it is worked out
//! The difference that the room states for its stair, without its sign.
//!
//! ## Limit
//! 5 mm: common practice, no source. Building regulations ask for equal risers.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: hall, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, stair-riser-difference: 20 mm}
//! #                                                                                                                              ^^^^^ the new floor of hall makes a stair riser 20 mm unlike the others; at most 5 mm is safe
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: hall, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, stair-riser-difference: 5 mm}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "first-stair-riser-changed",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[MOST],
    caution: Some("People fall over a riser that differs; follow the local building regulation for stairs."),
    guards_people: true,
    file: include_str!("first_stair_riser_changed.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most", value: "5 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Length>(&RULE, inspection);
    let storeys = inspection.design.storeys.len();
    for room in inspection.rooms().filter(|room| room.worked.floor.is_some()) {
        let Some(difference) = room.given.stair_riser_difference else {
            // Where there are several storeys a hall has the stair.
            if storeys > 1 && room.given.use_.is_some_and(|it| it.value == Use::Hall) && !room.given.broken {
                found.missing(room.subject, "stair-riser-difference");
            }
            continue;
        };
        if difference.value.abs() <= most.value {
            continue;
        }
        let (value, limit) = (difference.value.abs(), most.value);
        let message = format!(
            "the new floor of {} makes a stair riser {value} unlike the others; at most {limit} is safe",
            room.name
        );
        found.add(Finding::new(room.subject, difference.at, message).value(difference.value).limit(&most));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_lower_riser_counts_as_a_higher_one() {
        let hall =
            |by: &str| format!("rooms: {{hall: {{floor: screeded, area: 9 m², stair-riser-difference: {by}}}}}\n");
        assert!(messages(&RULE, &hall("-5 mm")).is_empty());
        assert_eq!(messages(&RULE, &hall("-6 mm")).len(), 1);
    }

    #[test]
    fn the_hall_of_a_house_with_storeys_is_asked() {
        let hall = "storeys: {ground: {}, first: {}}\nrooms: {hall: {use: hall, floor: screeded, area: 9 m²}}\n";
        assert_eq!(not_checked(&RULE, hall), ["rooms/hall/stair-riser-difference"]);
        assert!(not_checked(&RULE, "").is_empty());
    }
}
