//! An electric mat does not lie under baths, trays, units or furniture with a flat base.
//!
//! Heat that cannot get out of the floor heats the cable until something gives.
//!
//! ## How it is worked out
//! The floor that the mat's outline shares with each keep-clear area of its room.
//!
//! ## Limit
//! None: trade texts on trapped heat, one text.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! rooms:
//!   hall: {area: 12 m², floor: screeded, keep-clear: {bath: [[0, 0], [1.7, 0], [1.7, 0.7], [0, 0.7]]}}
//! electric-mats:
//!   E1: {room: hall, power-density: 150 W/m², outline: [[1, 0.2], [3, 0.2], [3, 2], [1, 2]]}
//! #                                                    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 0.35 m² of electric mat E1 lie under bath
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {area: 12 m², floor: screeded, keep-clear: {bath: [[0, 0], [1.7, 0], [1.7, 0.7], [0, 0.7]]}}
//! electric-mats:
//!   E1: {room: hall, power-density: 150 W/m², outline: [[1, 0.8], [3, 0.8], [3, 2], [1, 2]]}
//! ```

use super::prelude::*;
use engineering::plan::overlap;

pub static RULE: Rule = Rule {
    name: "electric-under-fixed-unit",
    group: Group::Electric,
    weights: [Error; 4],
    caution: Some("For planning only. A competent electrician must design and certify."),
    guards_people: true,
    file: include_str!("electric_under_fixed_unit.rs"),
    check,
    ..Rule::USUAL
};

/// Less than this is drawn, not meant.
const NOTHING: Area = Area::square_metres(0.005);

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(room) = mat.worked.room else { continue };
        let keep_clear = &inspection.workings.rooms[room].keep_clear;
        let (Some(Ok(outline)), Some(drawn)) = (&mat.worked.outline, &mat.given.outline) else {
            if !keep_clear.is_empty() && mat.given.outline.is_none() && !mat.given.broken {
                found.missing(mat.subject, "outline");
            }
            continue;
        };
        for (at, area) in keep_clear {
            let shared = overlap(outline, area);
            if shared < NOTHING {
                continue;
            }
            let unit = inspection.design.rooms.at(room).and_then(|(_, room)| room.value.keep_clear.at(*at));
            let Some((name, entry)) = unit else { continue };
            let message = format!("{shared} of electric mat {} lie under {name}", mat.name);
            let finding = Finding::new(mat.subject, drawn.at, message).value(shared);
            let finding = finding.source("trade texts on electric floor heating, one text");
            found.add(finding.related(entry.name_place, format!("{name} stands here")));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn edges_may_touch() {
        let mat = |from: &str| {
            let text = format!(
                "rooms: {{hall: {{area: 12 m², keep-clear: {{bath: [[0, 0], [2, 0], [2, 1], [0, 1]]}}}}}}\nelectric-mats: {{E1: \
                 {{room: hall, outline: [[0, {from}], [2, {from}], [2, 2], [0, 2]]}}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(mat("1").is_empty());
        assert_eq!(mat("0.99"), ["0.02 m² of electric mat E1 lie under bath"]);
    }

    #[test]
    fn a_mat_that_is_not_drawn_is_not_checked() {
        let text = "rooms: {hall: {area: 12 m², keep-clear: {bath: [[0, 0], [2, 0], [2, 1]]}}}\nelectric-mats: {E1: {room: hall, \
                    area: 2 m²}}\n";
        assert_eq!(not_checked(&RULE, text), ["electric-mats/E1/outline"]);
    }
}
