//! Each heated room states its heat loss, or the fabric it follows from.
//!
//! Without it nothing can tell whether the floor is enough, and every flow is a guess.
//!
//! ## How it is worked out
//! The room has loops, and neither `heat-loss` nor `fabric`.
//!
//! ## Limit
//! A figure for every heated room: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ room hall is heated and states no heat loss; what its floor has to give is not known
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "heat-loss-missing",
    group: Group::DesignFile,
    weights: [Information, Warning, Error, Error],
    file: include_str!("heat_loss_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms() {
        if room.worked.loops.is_empty() || room.given.broken || !inspection.is_read(room.given.place) {
            continue;
        }
        if room.given.heat_loss.is_some() || !room.given.fabric.is_empty() {
            continue;
        }
        let message =
            format!("room {} is heated and states no heat loss; what its floor has to give is not known", room.name);
        found.add(Finding::new(room.subject, room.place, message).source("common practice, no source"));
    }
}
