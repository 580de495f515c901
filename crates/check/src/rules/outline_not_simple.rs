//! The outline of a room, of a keep-clear area, of what stands on the floor goes once round an area.
//!
//! An outline that crosses itself has no area that anyone could heat, and all that is worked out of it
//! would be wrong.
//!
//! ## How it is worked out
//! The corners are looked at in their order, the last joined to the first: three at least, none twice, no
//! edge across another, an area of more than a square centimetre. They may go either way round, and the
//! first may be repeated at the end.
//!
//! A spike, which goes out to a corner, or to two beside each other, and back again with less than five millimetres between, is a
//! warning: it makes two sides that no wall has. One that is itself no longer than a millimetre, or a jag less than five times as long
//! as wide, twenty times where that is more than a millimetre, is let pass: it changes no side, area or distance that anyone would
//! measure. An outline that is less than a millimetre wide on average is a line, and nothing has room in it.
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
use crate::remedy::{Change, remove_item};
use design::{Outline, Place};
use engineering::plan::{OutlineFault, Spike};

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
        if let (Some(outline), Some(worked)) = (&it.given.outline, &it.worked.outline) {
            let drawn = Drawn {
                about: it.subject,
                of: &|| format!("room {}", it.name),
                outline: &outline.value,
                whole: outline.at,
            };
            drawn.tell(inspection, found, worked.as_ref());
        }
        let mut worked = it.worked.keep_clear.iter().peekable();
        for (at, (name, area)) in it.given.keep_clear.iter().enumerate() {
            let of = || format!("the keep-clear area {name} of {}", it.name);
            let drawn = Drawn { about: it.subject, of: &of, outline: &area.value, whole: area.name_place };
            match worked.next_if(|(of, _)| *of == at) {
                Some((_, outline)) => drawn.tell(inspection, found, Ok(outline)),
                None => drawn.tell(inspection, found, workings::outline(&area.value).as_ref()),
            }
        }
    }
    for (at, (name, entry)) in inspection.design.uprights.iter().enumerate() {
        if let Some(outline) = &entry.value.outline {
            let about = Subject::Upright(at);
            let drawn = Drawn { about, of: &|| name.into(), outline: &outline.value, whole: outline.at };
            drawn.tell(inspection, found, workings::outline(&outline.value).as_ref());
        }
    }
    for (at, (name, entry)) in inspection.design.electric_mats.iter().enumerate() {
        if let Some(outline) = &entry.value.outline {
            let about = Subject::ElectricMat(at);
            let of = || format!("electric mat {name}");
            let drawn = Drawn { about, of: &of, outline: &outline.value, whole: outline.at };
            drawn.tell(inspection, found, workings::outline(&outline.value).as_ref());
        }
    }
}

/// So many show that an outline came out of some drawing with its slips.
const MOST_SPIKES: usize = 5;

/// An outline of the design.
struct Drawn<'d> {
    about: Subject,
    /// What it is the outline of, in words.
    of: &'d dyn Fn() -> String,
    outline: &'d Outline,
    whole: Place,
}

impl Drawn<'_> {
    fn tell(
        &self,
        inspection: &Inspection,
        found: &mut Findings,
        worked: Result<&engineering::plan::Outline, &OutlineFault>,
    ) {
        // A corner that could not be read is told as such, and what is left of the outline means nothing.
        let unread = |fault: &design::Fault| {
            self.whole.file == fault.place.file && self.whole.touches(fault.place.start as usize)
        };
        match worked {
            Err(_) if inspection.reading.faults.iter().any(unread) => {}
            Err(fault) => found.add(self.fault(inspection, fault)),
            Ok(outline) if outline.mean_width() < Length::millimetres(1.0) => {
                let what = format!("is {} wide on average; nothing has room in it", outline.mean_width());
                found.add(self.finding(self.whole, what));
            }
            Ok(outline) => {
                for Spike { corner, is_blunt, at, width } in outline.spikes().take(MOST_SPIKES) {
                    let what = format!("goes out to [{:.2}, {:.2}] and back with {width} between", at.x, at.y);
                    let finding = self.finding(self.place(corner), what);
                    let finding = match is_blunt {
                        true => finding.related(self.place(corner + 1), "it ends with this corner"),
                        false => finding.remedy(Remedy::of("take this corner out", self.without(inspection, corner))),
                    };
                    found.add_as(Warning, finding);
                }
            }
        }
    }

    fn fault(&self, inspection: &Inspection, fault: &OutlineFault) -> Finding {
        let (at, what) = match fault {
            OutlineFault::Corner { corner, fault } => {
                (self.place(*corner), format!("has a corner that is none: {fault}"))
            }
            OutlineFault::TooFewCorners { corners } => {
                (self.whole, format!("has {corners} corners; three are the least"))
            }
            OutlineFault::RepeatedCorner { again, at, .. } => {
                (self.place(*again), format!("has the corner [{}, {}] twice", at.x, at.y))
            }
            OutlineFault::NoArea => (self.whole, "has no area".to_string()),
            OutlineFault::CrossesItself { first, at, .. } => {
                (self.place(first + 1), format!("crosses itself at [{:.2}, {:.2}]", at.x, at.y))
            }
        };
        let finding = self.finding(at, what);
        match fault {
            OutlineFault::RepeatedCorner { first, again, .. } => {
                let change = self.without(inspection, *again);
                finding
                    .related(self.place(*first), "it is here too")
                    .remedy(Remedy::of("take the second of the two corners out", change))
            }
            OutlineFault::CrossesItself { second, .. } => {
                finding.related(self.place(*second), "the edge from here crosses it")
            }
            _ => finding,
        }
    }

    fn finding(&self, at: Place, what: String) -> Finding {
        let message = format!("the outline of {} {what}", (self.of)());
        Finding::new(self.about, at, message).source("common practice, no source")
    }

    /// Where a corner stands.
    fn place(&self, at: usize) -> Place {
        let corners = &self.outline.corners;
        corners.get(at % corners.len().max(1)).map_or(self.whole, |corner| corner.at)
    }

    fn without(&self, inspection: &Inspection, corner: usize) -> Option<Change> {
        let corners: Vec<Place> = self.outline.corners.iter().map(|corner| corner.at).collect();
        remove_item(inspection, &corners, corner)
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

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
    fn a_spike_is_told_and_taken_out() {
        let text = "rooms:\n  hall: {outline: [[0, 0], [2, 0], [2.0001, -0.5], [2.0002, 0], [4, 0], [4, 3], [0, 3]]}\n";
        let outcome = check(text);
        let found: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        assert_eq!(
            found.iter().map(|it| (&*it.message, it.severity)).collect::<Vec<_>>(),
            [(
                "the outline of room hall goes out to [2.00, -0.50] and back with 0.2 mm between",
                crate::Severity::Warning
            )]
        );
        assert_eq!(found[0].remedies.len(), 1);
        // One that is no longer than it is wide changes nothing.
        assert_eq!(said("[[0, 0], [2, 0], [2, -0.0002], [2.0001, 0], [4, 0], [4, 3], [0, 3]]"), [""; 0]);
    }

    #[test]
    fn two_spikes_and_a_blunt_one_are_told() {
        let two = said(
            "[[0, 0], [2, 0], [2.0001, -0.5], [2.0002, 0], [3, 0], [3.0001, -0.4], [3.0002, 0], [4, 0], [4, 3], [0, 3]]",
        );
        assert_eq!(two.len(), 2, "{two:?}");
        assert!(two[1].contains("goes out to [3.00, -0.40] and back"), "{two:?}");
        assert_eq!(
            said("[[0, 0], [4, 0], [4, 3], [2.003, 3], [2.003, 3.5], [2, 3.5], [2, 3], [0, 3]]"),
            ["the outline of room hall goes out to [2.00, 3.50] and back with 3 mm between"]
        );
    }

    #[test]
    fn an_outline_as_thin_as_a_line_has_no_room() {
        assert_eq!(
            said("[[0, 0], [4, 0], [4, 0.0008], [0, 0.0008]]"),
            ["the outline of room hall is 0.8 mm wide on average; nothing has room in it"]
        );
        assert_eq!(said("[[0, 0], [4, 0], [4, 0.0012], [0, 0.0012]]"), [""; 0]);
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
