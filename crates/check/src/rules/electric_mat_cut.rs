//! An electric heating cable is never shortened and never crossed.
//!
//! A shorter cable runs hotter over its whole length; where it crosses itself it burns through.
//!
//! ## How it is worked out
//! `cut-or-crossed` must not be true.
//!
//! ## Limit
//! Never: trade texts on electric floor heating, one text.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², cut-or-crossed: true}
//! #                                                                         ^^^^ the cable of electric mat E1 was shortened or crossed
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², cut-or-crossed: false}
//! ```

use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "electric-mat-cut",
    group: Group::Electric,
    weights: [Error; 4],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_mat_cut.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        match mat.given.cut_or_crossed {
            Some(cut) if cut.value => {
                let message = format!("the cable of electric mat {} was shortened or crossed", mat.name);
                let source = "trade texts on electric floor heating, one text";
                found.add(Finding::new(mat.subject, cut.at, message).source(source));
            }
            None if inspection.design.stage() == Stage::AsBuilt => found.missing(mat.subject, "cut-or-crossed"),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn as_built_it_is_asked_for() {
        let mats = "electric-mats: {E1: {room: hall}}\n";
        assert!(not_checked(&RULE, mats).is_empty());
        let built = format!("project: {{stage: as built}}\n{mats}");
        assert_eq!(not_checked(&RULE, &built), ["electric-mats/E1/cut-or-crossed"]);
    }
}
