//! A wooden covering is glued to the heated floor, or reckoned with the air below it.
//!
//! Under boards that float lies a film of air that no data sheet counts: it takes part of the heat and it lets the boards move and tick.
//!
//! ## How it is worked out
//! The topmost layer is wood or laminate and is held as `floating`, or lies on an underlay without a word on how it is held.
//!
//! ## Limit
//! Glued; else 0.02 to 0.05 m²·K/W more for the gap: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: floating}]}
//! #                                                                                                                                            ^^^^^^^^ the oak in hall floats; the air below it adds 0.02 to 0.05 m²·K/W to the 0.078 m²·K/W that it resists itself
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::{Held, Layer, Placed};
use engineering::heat::materials::Kind as Material;
use std::collections::HashSet;
use workings::LayerWorkings;

pub static RULE: Rule = Rule {
    name: "covering-not-bonded",
    group: Group::HeatOutput,
    weights: [Silent, Information, Information, Information],
    file: include_str!("covering_not_bonded.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    // A covering that several rooms share with their floor is said once.
    let mut said = HashSet::new();
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let floor = room.worked.floor.and_then(|floor| inspection.floors().nth(floor));
        let of_floor = floor.iter().flat_map(|floor| floor.given.layers.iter().zip(&floor.worked.layers));
        let layers: Vec<(&Placed<Layer>, &LayerWorkings)> =
            room.given.covering.iter().zip(&room.worked.covering).chain(of_floor).take(2).collect();
        let Some((top, worked)) = layers.first() else { continue };
        if !worked.material.is_some_and(|material| material.kind.is_timber()) || !said.insert(top.at) {
            continue;
        }
        let on_underlay = layers.get(1).is_some_and(|(_, below)| below.is(Material::Underlay));
        let place = match top.held {
            Some(held) if held.value == Held::Floating => held.at,
            Some(_) => continue,
            None if on_underlay && !top.broken => top.material.as_ref().map_or(top.at, |it| it.at),
            None => {
                if !top.broken {
                    found.missing(room.subject, "covering/…/held");
                }
                continue;
            }
        };
        let own = worked.resistance.as_ref().map(|it| format!(" to the {} that it resists itself", it.value));
        let message = format!(
            "the {} in {} floats; the air below it adds 0.02 to 0.05 m²·K/W{}",
            crate::layers::name(top),
            room.name,
            own.unwrap_or_default()
        );
        let remedy =
            top.held.filter(|_| !on_underlay).map(|held| Remedy::new("glue it down", held.at, Held::Glued.word()));
        found.add(Finding::new(room.subject, place, message).source("common practice, no source").remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn hall(covering: &str) -> String {
        format!(
            "rooms: {{hall: {{temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{covering}]}}}}\n"
        )
    }

    #[test]
    fn wood_on_an_underlay_floats_unless_it_is_said_to_be_held() {
        let underlay = "{material: underlay, thickness: 2 mm}";
        assert_eq!(messages(&RULE, &hall(&format!("{{material: laminate, thickness: 8 mm}}, {underlay}"))).len(), 1);
        let glued = format!("{{material: oak, thickness: 10 mm, held: glued}}, {underlay}");
        assert!(messages(&RULE, &hall(&glued)).is_empty());
        assert_eq!(not_checked(&RULE, &hall("{material: oak, thickness: 10 mm}")), ["rooms/hall/covering/…/held"]);
        assert!(messages(&RULE, &hall("{material: carpet, thickness: 8 mm, held: floating}")).is_empty());
    }
}
