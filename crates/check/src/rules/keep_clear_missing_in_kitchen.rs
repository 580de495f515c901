//! A kitchen, a utility room and a bathroom say what is fixed to their floor.
//!
//! Units, trays and pans are screwed down, and heat under them is lost. A room of this kind without any is nearly always
//! one that no one has asked about.
//!
//! ## How it is worked out
//! A heated room with the use kitchen, utility or bathroom has `keep-clear` areas, or says `keep-clear: none`.
//!
//! ## Limit
//! One area at the least, or none on purpose: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: kitchen, floor: screeded, area: 12 m²}
//! # ^^^^ kitchen hall says nothing of units or ware that must stay free of pipe
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: kitchen, floor: screeded, area: 12 m², keep-clear: none}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "keep-clear-missing-in-kitchen",
    group: Group::Geometry,
    weights: [Silent, Warning, Warning, Warning],
    file: include_str!("keep_clear_missing_in_kitchen.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let mats = inspection.design.electric_mats.values();
    let with_mat: Vec<&str> = mats.filter_map(|mat| Some(mat.room.as_ref()?.value.name.as_str())).collect();
    for room in inspection.rooms() {
        let Some(used) = room.given.use_ else { continue };
        let is_asked = matches!(used.value, Use::Kitchen | Use::Utility | Use::Bathroom);
        let is_heated = !room.worked.loops.is_empty() || with_mat.contains(&room.name);
        if !is_asked || !is_heated || room.given.keep_clear.place.is_some() || room.given.broken {
            continue;
        }
        let called = match used.value {
            Use::Utility => "utility room",
            other => other.word(),
        };
        let called = match room.name.eq_ignore_ascii_case(called) {
            true => room.name.to_string(),
            false => format!("{called} {}", room.name),
        };
        let message = format!("{called} says nothing of units or ware that must stay free of pipe");
        found.add(Finding::new(room.subject, room.place, message).source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn says(room: &str) -> usize {
        messages(&RULE, &format!("rooms:\n  hall: {{{room}}}\n  study: {{area: 9 m²}}\n")).len()
    }

    #[test]
    fn a_kitchen_called_kitchen_is_named_once() {
        let text = "rooms:\n  Kitchen: {use: kitchen, area: 9 m²}\nloops:\n  L1: {room: Kitchen}\n";
        assert_eq!(messages(&RULE, text), ["Kitchen says nothing of units or ware that must stay free of pipe"]);
    }

    #[test]
    fn only_rooms_with_fixed_things_are_asked() {
        assert_eq!(
            (says("use: utility"), says("use: bathroom"), says("use: living"), says("area: 9 m²")),
            (1, 1, 0, 0)
        );
        assert_eq!(says("use: kitchen, keep-clear: {units: [[0, 0], [1, 0], [1, 0.6], [0, 0.6]]}"), 0);
        assert_eq!(messages(&RULE, "rooms:\n  hall: {}\n  bath: {use: bathroom, area: 4 m²}\n"), [""; 0]);
    }
}
