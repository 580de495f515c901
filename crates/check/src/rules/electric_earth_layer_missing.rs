//! The heating cable has an earthed sheath, or an earthed grid lies over it.
//!
//! Without an earth round the cable the residual-current device has nothing to feel.
//!
//! ## How it is worked out
//! `earthed` must be true.
//!
//! ## Limit
//! A sheath, or a grid of 30 mm mesh or less above: BS 7671, section 753, from an article of the body that publishes it. The rule
//! takes no departure.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², earthed: false}
//! #                                                                  ^^^^^ electric mat E1 has neither an earthed sheath nor a grid
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², earthed: true}
//! ```

use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "electric-earth-layer-missing",
    group: Group::Electric,
    weights: [Error; 4],
    caution: Some("For planning only. A competent electrician must design and certify."),
    takes_departures: false,
    file: include_str!("electric_earth_layer_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        match mat.given.earthed {
            Some(earthed) if !earthed.value => {
                let message = format!("electric mat {} has neither an earthed sheath nor a grid", mat.name);
                found
                    .add(Finding::new(mat.subject, earthed.at, message).source("BS 7671, section 753, secondary text"));
            }
            None if inspection.design.stage() > Stage::Preliminary => found.missing(mat.subject, "earthed"),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn what_is_not_said_is_not_checked() {
        assert_eq!(not_checked(&RULE, "electric-mats: {E1: {}}\n"), ["electric-mats/E1/earthed"]);
        assert!(not_checked(&RULE, "project: {stage: preliminary}\nelectric-mats: {E1: {}}\n").is_empty());
    }
}
