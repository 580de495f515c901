//! The material of a layer is known, or the layer says how it conducts.
//!
//! A layer of which neither is known ends every sum of its floor: no heat, no temperature and no flow can be worked out, and
//! many rules fall silent for one slip of the pen.
//!
//! ## How it is worked out
//! The name of each layer of a floor, and of each covering of a room, is looked up among the standard materials, without
//! regard to capitals, spaces and hyphens. A layer that gives `conductivity` or `resistance` may be made of anything.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: sand and cement screed, thickness: 65 mm, pipe: at base}
//! #                  ^^^^^^^^^^^^^^^^^^^^^^ the material `sand and cement screed` is not known and the layer gives no conductivity; did you mean `cement screed`
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: binder of our own, thickness: 65 mm, pipe: at base, conductivity: 1.1 W/(m·K)}
//!       - {material: PIR board, thickness: 100 mm}
//! ```

use super::prelude::*;
use design::{Layer, Placed};
use engineering::heat::materials;
use std::collections::HashMap;
use workings::LayerWorkings;

pub static RULE: Rule = Rule {
    name: "material-not-known",
    group: Group::FloorConstruction,
    weights: [Information, Warning, Warning, Warning],
    file: include_str!("material_not_known.rs"),
    check,
    ..Rule::USUAL
};

/// A file with more unknown names than this gets no more guesses.
const MOST_GUESSES: usize = 100;

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut guesses = HashMap::new();
    for (at, floor) in inspection.floors().enumerate() {
        for (layer, (given, worked)) in floor.given.layers.iter().zip(&floor.worked.layers).enumerate() {
            look_up(Subject::Layer(at, layer), given, worked, &mut guesses, found);
        }
    }
    for room in inspection.rooms() {
        for (given, worked) in room.given.covering.iter().zip(&room.worked.covering) {
            look_up(room.subject, given, worked, &mut guesses, found);
        }
    }
}

fn look_up<'i>(
    subject: Subject,
    layer: &'i Placed<Layer>,
    worked: &LayerWorkings,
    guesses: &mut HashMap<&'i str, Option<&'static str>>,
    found: &mut Findings,
) {
    let Some(material) = &layer.material else { return };
    let is_given = |key: &str| layer.has_unread(key);
    let gives_its_own = layer.conductivity.is_some() || layer.resistance.is_some();
    if worked.material.is_some() || gives_its_own || is_given("conductivity") || is_given("resistance") {
        return;
    }
    let name = material.value.as_str();
    let guess = match guesses.get(name) {
        Some(guess) => *guess,
        None if guesses.len() < MOST_GUESSES => *guesses.entry(name).or_insert(nearest(name)),
        None => None,
    };
    let hint = match guess {
        Some(guess) => format!("did you mean `{guess}`"),
        None => "write its conductivity or a standard material".into(),
    };
    let message = format!("the material `{name}` is not known and the layer gives no conductivity; {hint}");
    let remedy = guess.map(|guess| Remedy::new(format!("write `{guess}`"), material.at, guess));
    found.add(Finding::new(subject, material.at, message).source("the design format, version 1").remedy(remedy));
}

/// The standard material whose name, or other name, is nearest.
fn nearest(name: &str) -> Option<&'static str> {
    let nearest =
        design::nearest(name, materials::names()).or_else(|| design::nearest(name, materials::all_names()))?;
    materials::find(nearest).map(|material| material.name)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn covering(layer: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!(
                "rooms:\n  hall: {{temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², covering: [{{{layer}}}]}}\n"
            ),
        )
    }

    #[test]
    fn a_covering_of_a_room_is_looked_up_too() {
        let said = covering("material: egineered wood, thickness: 14 mm");
        let wanted = "the material `egineered wood` is not known and the layer gives no conductivity; did you mean `engineered wood`";
        assert_eq!(said, [wanted]);
        let said = covering("material: moon dust, thickness: 14 mm");
        let wanted = "the material `moon dust` is not known and the layer gives no conductivity; write its conductivity or a standard material";
        assert_eq!(said, [wanted]);
        assert_eq!(covering("material: moon dust, resistance: 0.05 m²K/W"), [""; 0]);
        assert_eq!(covering("material: Engineered-Wood, thickness: 14 mm"), [""; 0]);
    }

    /// A conductivity that stands there but cannot be read is a fault already.
    #[test]
    fn an_unreadable_conductivity_is_not_a_missing_one() {
        assert_eq!(covering("material: moon dust, thickness: 14 mm, conductivity: 1.2"), [""; 0]);
    }
}
