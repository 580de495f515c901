//! Where an electric floor is the main heat of a room, the design says why no water is laid there.
//!
//! The same warmth costs about three to four times as much as from a heat pump. For five square metres that is fine.
//!
//! ## How it is worked out
//! A mat that is the only heat must give its `reason`: no height, no route for water, a small room far away.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 11 m², power-density: 150 W/m², sole-heat: true}
//! #                                                                   ^^^^ electric mat E1 is the only heat of room hall, and nothing says why it is not water
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 11 m², power-density: 150 W/m², sole-heat: true, reason: two storeys from the manifold}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "electric-where-water-would-serve",
    group: Group::Electric,
    weights: [Hint, Information, Information, Information],
    file: include_str!("electric_where_water_would_serve.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(sole) = mat.given.sole_heat.filter(|sole| sole.value) else { continue };
        if mat.given.reason.as_ref().is_some_and(|reason| !reason.value.trim().is_empty()) {
            continue;
        }
        let room = mat.given.room.as_ref().map_or("its room".into(), |room| format!("room {}", room.value.name));
        let message =
            format!("electric mat {} is the only heat of {room}, and nothing says why it is not water", mat.name);
        found.add(Finding::new(mat.subject, sole.at, message).source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn an_empty_reason_is_none_and_comfort_needs_none() {
        assert_eq!(messages(&RULE, "electric-mats: {E1: {sole-heat: true, reason: ''}}\n").len(), 1);
        assert!(messages(&RULE, "electric-mats: {E1: {sole-heat: false}}\n").is_empty());
        assert!(messages(&RULE, "electric-mats: {E1: {}}\n").is_empty());
    }
}
