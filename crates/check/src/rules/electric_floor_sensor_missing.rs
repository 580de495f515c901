//! An electric floor has a sensor that stops the heat before the surface is too warm.
//!
//! An air thermostat knows nothing of the floor under a mattress or a dog's bed.
//!
//! ## How it is worked out
//! `floor-sensor-limit` must be there from `for comment` on. It is held against 35 °C, or 27 °C under wood.
//!
//! ## Limit
//! 35 °C at the surface, 27 °C under wood: BS 7671, section 753, and trade texts.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m²}
//! # ^^ electric mat E1 has no floor sensor that limits it
//! ```
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², floor-sensor-limit: 40 °C}
//! #                                                                             ^^^^^ the floor sensor of electric mat E1 is set to 40.0 °C; 35.0 °C is the most
//! ```
//! ```yaml remedied
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², floor-sensor-limit: 35 °C}
//! ```

use super::prelude::*;
use design::Stage;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "electric-floor-sensor-missing",
    group: Group::Electric,
    weights: [Warning, Warning, Error, Error],
    limits: &[GREATEST, GREATEST_WOOD],
    caution: Some("For planning only. A competent electrician must design and certify."),
    guards_people: true,
    file: include_str!("electric_floor_sensor_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "BS 7671, section 753, and trade texts";
const GREATEST: Limit = Limit { name: "greatest-floor-temperature", value: "35 °C", source: SOURCE };
const GREATEST_WOOD: Limit = Limit { name: "greatest-under-wood", value: "27 °C", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let covering = mat.worked.room.and_then(|room| inspection.covering_of(room));
        let greatest = if covering.is_some_and(Material::is_timber) { GREATEST_WOOD } else { GREATEST };
        let greatest = greatest.get::<Temperature>(&RULE, inspection);
        match mat.given.floor_sensor_limit {
            Some(limit) if limit.value > greatest.value => {
                let message = format!(
                    "the floor sensor of electric mat {} is set to {}; {} is the most",
                    mat.name, limit.value, greatest.value
                );
                let text = format!("{} °C", greatest.value.in_celsius());
                let remedy = Remedy::new(format!("set it to {text}"), limit.at, text);
                let finding = Finding::new(mat.subject, limit.at, message).value(limit.value);
                found.add(finding.limit(&greatest).remedy(remedy));
            }
            None if inspection.design.stage() > Stage::Preliminary && inspection.is_read(mat.given.place) => {
                let message = format!("electric mat {} has no floor sensor that limits it", mat.name);
                found.add(Finding::new(mat.subject, mat.place, message).limit(&greatest));
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn limited(to: &str, covering: &str) -> usize {
        let text = format!(
            "floors: {{screeded: {{layers: [{{material: {covering}, thickness: 10 mm}}]}}}}\nelectric-mats: {{E1: {{room: hall, \
             floor-sensor-limit: {to} °C}}}}\n"
        );
        messages(&RULE, &text).len()
    }

    #[test]
    fn wood_bears_less() {
        assert_eq!((limited("35", "ceramic tile"), limited("35.1", "ceramic tile")), (0, 1));
        assert_eq!((limited("27", "oak"), limited("27.1", "oak")), (0, 1));
    }

    #[test]
    fn a_preliminary_design_need_not_have_it_yet() {
        assert!(messages(&RULE, "project: {stage: preliminary}\nelectric-mats: {E1: {}}\n").is_empty());
    }
}
