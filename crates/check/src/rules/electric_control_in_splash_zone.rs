//! Spur and thermostat of an electric mat are outside the splash zones of a bathroom.
//!
//! Mains and wet hands do not go together.
//!
//! ## How it is worked out
//! `control-in-splash-zone` must not be true; in a bathroom it must be said.
//!
//! ## Limit
//! Outside zones 0 to 2: BS 7671, section 701, from a trade text.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², control-in-splash-zone: true}
//! #                                                                                 ^^^^ the thermostat or spur of electric mat E1 is in a splash zone
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², control-in-splash-zone: false}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "electric-control-in-splash-zone",
    group: Group::Electric,
    weights: [Error; 4],
    caution: Some("For planning only. A competent electrician must design and certify."),
    guards_people: true,
    file: include_str!("electric_control_in_splash_zone.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let room = mat.worked.room.and_then(|room| inspection.design.rooms.at(room));
        let bathroom = room.is_some_and(|(_, room)| room.value.use_.is_some_and(|it| it.value == Use::Bathroom));
        match mat.given.control_in_splash_zone {
            Some(inside) if inside.value => {
                let message = format!("the thermostat or spur of electric mat {} is in a splash zone", mat.name);
                found.add(
                    Finding::new(mat.subject, inside.at, message).source("BS 7671, section 701, from a trade text"),
                );
            }
            None if bathroom => found.missing(mat.subject, "control-in-splash-zone"),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn in_a_bathroom_it_must_be_said() {
        let mat = |room: &str| format!("rooms: {{hall: {{use: {room}}}}}\nelectric-mats: {{E1: {{room: hall}}}}\n");
        assert_eq!(not_checked(&RULE, &mat("bathroom")), ["electric-mats/E1/control-in-splash-zone"]);
        assert!(not_checked(&RULE, &mat("hall")).is_empty());
    }
}
