//! The outline of a room, of a keep-clear area, of what stands on the floor goes once round an area.
//!
//! An outline that crosses itself has no area that anyone could heat, and all that is worked out of it
//! would be wrong.
//!
//! ## How it is worked out
//! The corners are looked at in their order, the last joined to the first: three at least, none twice, no
//! edge across another, an area of more than a square millimetre. They may go either way round, and the
//! first may be repeated at the end.
//!
//! ## Limit
//! A simple outline: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 0], [4, 3], [0, 3]]}
//! #                                                   ^^^^^^ the outline of room hall has the corner [4, 0] twice
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//! ```
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 3], [4, 0], [0, 3]]}
//! #                                           ^^^^^^ the outline of room hall crosses itself at [2.00, 1.50]
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]]}
//! ```

use super::prelude::*;
use crate::remedy::remove_item;
use design::{Outline, Place};
use engineering::plan::OutlineFault;

pub static RULE: Rule = Rule {
    name: "outline-not-simple",
    group: Group::Geometry,
    weights: [Error; 4],
    file: include_str!("outline_not_simple.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.rooms() {
        if let (Some(outline), Some(Err(fault))) = (&it.given.outline, &it.worked.outline) {
            tell(inspection, found, it.subject, format!("room {}", it.name), &outline.value, outline.at, fault);
        }
        if it.worked.keep_clear.len() < it.given.keep_clear.len() {
            for (name, area) in it.given.keep_clear.iter() {
                if let Err(fault) = workings::outline(&area.value) {
                    let what = format!("the keep-clear area {name} of {}", it.name);
                    tell(inspection, found, it.subject, what, &area.value, area.name_place, &fault);
                }
            }
        }
    }
    for (at, (name, entry)) in inspection.design.uprights.iter().enumerate() {
        if let Some(outline) = &entry.value.outline
            && let Err(fault) = workings::outline(&outline.value)
        {
            tell(inspection, found, Subject::Upright(at), name.into(), &outline.value, outline.at, &fault);
        }
    }
    for (at, (name, entry)) in inspection.design.electric_mats.iter().enumerate() {
        if let Some(outline) = &entry.value.outline
            && let Err(fault) = workings::outline(&outline.value)
        {
            let what = format!("electric mat {name}");
            tell(inspection, found, Subject::ElectricMat(at), what, &outline.value, outline.at, &fault);
        }
    }
}

fn tell(
    inspection: &Inspection,
    found: &mut Findings,
    about: Subject,
    of: String,
    outline: &Outline,
    whole: Place,
    fault: &OutlineFault,
) {
    let corner = |at: usize| outline.corners.get(at % outline.corners.len().max(1));
    let place = |at: usize| corner(at).map_or(whole, |corner| corner.at);
    // A corner that could not be read is told as such, and what is left of the outline means nothing.
    let unread = |fault: &design::Fault| whole.file == fault.place.file && whole.touches(fault.place.start as usize);
    if inspection.reading.faults.iter().any(unread) {
        return;
    }
    let (at, what) = match fault {
        OutlineFault::Corner { corner, fault } => (place(*corner), format!("has a corner that is none: {fault}")),
        OutlineFault::TooFewCorners { corners } => (whole, format!("has {corners} corners; three are the least")),
        OutlineFault::RepeatedCorner { again, at, .. } => {
            (place(*again), format!("has the corner [{}, {}] twice", at.x, at.y))
        }
        OutlineFault::NoArea => (whole, "has no area".to_string()),
        OutlineFault::CrossesItself { first, at, .. } => {
            (place(first + 1), format!("crosses itself at [{:.2}, {:.2}]", at.x, at.y))
        }
    };
    let mut finding =
        Finding::new(about, at, format!("the outline of {of} {what}")).source("common practice, no source");
    match fault {
        OutlineFault::RepeatedCorner { first, again, .. } => {
            let corners: Vec<Place> = outline.corners.iter().map(|corner| corner.at).collect();
            let change = remove_item(inspection, &corners, *again);
            finding = finding
                .related(place(*first), "it is here too")
                .remedy(Remedy::of("take the second of the two corners out", change));
        }
        OutlineFault::CrossesItself { second, .. } => {
            finding = finding.related(place(*second), "the edge from here crosses it");
        }
        _ => {}
    }
    found.add(finding);
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn said(outline: &str) -> Vec<String> {
        messages(&RULE, &format!("rooms:\n  hall: {{outline: {outline}}}\n"))
    }

    #[test]
    fn every_fault_of_an_outline_is_told() {
        assert_eq!(said("[[0, 0], [4, 0]]"), ["the outline of room hall has 2 corners; three are the least"]);
        assert_eq!(said("[[0, 0], [4, 0], [8, 0]]"), ["the outline of room hall has no area"]);
        assert_eq!(
            said("[[2e8, 0], [200000004, 0], [2e8, 3]]"),
            [
                "the outline of room hall has a corner that is none: a coordinate is more than 100,000 km from the origin"
            ]
        );
        assert_eq!(said("[[0, 0], [0, 3], [4, 3], [4, 0]]"), [""; 0]);
    }

    #[test]
    fn an_outline_with_an_unread_corner_is_told_once() {
        assert_eq!(said("[[0, 0], [4, 0], [4, x]]"), [""; 0]);
    }

    #[test]
    fn keep_clear_areas_and_uprights_have_outlines_too() {
        let text = "rooms:\n  hall:\n    outline: [[0, 0], [4, 0], [4, 3]]\n    keep-clear:\n      bath: [[0, 0], [1, 0]]\n\
                    uprights:\n  C1: {kind: column, outline: [[0, 0], [0, 1], [0, 2]]}\nelectric-mats:\n  E1: {outline: [[0, 0], [2, 2], [2, 0], [0, 2]]}\n";
        assert_eq!(
            messages(&RULE, text),
            [
                "the outline of the keep-clear area bath of hall has 2 corners; three are the least",
                "the outline of C1 has no area",
                "the outline of electric mat E1 crosses itself at [1.00, 1.00]",
            ]
        );
    }
}
