//! The covering of each heated floor is stated.
//!
//! Tile or carpet makes a third of the output; a floor that is set up bare will be short under whatever is laid on it later.
//!
//! ## How it is worked out
//! Neither the room's `covering` nor its floor has a layer above the one that holds the pipe.
//!
//! ## Limit
//! Stated by the time of construction: common practice, no source. Until then EN 1264-3 reckons with 0.10 m²·K/W in living rooms (one trade
//! text) and with none in bathrooms (from memory).
//!
//! ## Exceptions
//! A heated slab may be its own surface.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ nothing says what covers the floor of hall; EN 1264-3 reckons with 0.10 m²·K/W until it is known
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², covering: [{material: vinyl, thickness: 3 mm}]}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, covering: [{material: covering, resistance: 0.10 m²K/W, assumed: [resistance]}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², covering: [{material: vinyl, thickness: 3 mm}]}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use design::{Method, Use};

pub static RULE: Rule = Rule {
    name: "covering-not-stated",
    group: Group::HeatOutput,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("covering_not_stated.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(floor) = room.worked.floor.and_then(|floor| inspection.floors().nth(floor)) else { continue };
        let Ok(pipe_layer) = floor.worked.pipe_layer else {
            found.need(room.subject, &room.worked.covering_resistance);
            continue;
        };
        let slab = floor.given.method.is_some_and(|method| method.value == Method::EmbeddedInSlab);
        let read = inspection.is_read(room.given.place) && inspection.is_read(floor.given.place);
        if slab || pipe_layer > 0 || !room.given.covering.is_empty() || !read {
            continue;
        }
        let bathroom = room.given.use_.is_some_and(|it| it.value == Use::Bathroom);
        let reckoned = if bathroom { "0.00" } else { "0.10" };
        let message = format!(
            "nothing says what covers the floor of {}; EN 1264-3 reckons with {reckoned} m²·K/W until it is known",
            room.name
        );
        let layer = format!("covering: [{{material: covering, resistance: {reckoned} m²K/W, assumed: [resistance]}}]");
        let change = add_key(inspection, room.given.place, &layer);
        found.add(
            Finding::new(room.subject, room.place, message)
                .source("common practice, no source; EN 1264-3 for what is reckoned with, in one trade text")
                .related(floor.place, "its floor, which has no layer above the pipe's")
                .remedy(Remedy::of(format!("assume {reckoned} m²·K/W for now"), change)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_slab_and_any_layer_above_say_enough() {
        let floor = |method: &str, layers: &str| {
            let text = format!(
                "floors:\n  screeded:\n    method: {method}\n    below: heated room\n    layers:\n{layers}      - {{material: concrete, \
                 thickness: 100 mm, pipe: in middle}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(floor("clipped-in-screed", ""), 2);
        assert_eq!(floor("clipped-in-screed", "      - {material: sealed finish, resistance: 0 m²K/W}\n"), 0);
        assert_eq!(floor("embedded-in-slab", ""), 0);
    }

    #[test]
    fn a_preliminary_design_may_leave_it_open() {
        let text = "project: {name: A, reference: A-1}\nfloors: {screeded: {method: clipped-in-screed, below: heated room, layers: [{material: \
                    cement screed, thickness: 65 mm, pipe: at base}]}}\n";
        assert!(messages(&RULE, text).is_empty());
    }
}
