//! A bay of heated screed is at most twice as long as it is wide.
//!
//! A long narrow bay shrinks along its length and cracks across, about where it would have become square.
//!
//! ## How it is worked out
//! The bays as for `bay-over-forty`; the rectangle of least area that holds the bay, its long side over its short
//! side.
//!
//! ## Limit
//! 2 : 1: EN 1264-4, as a trade copy of its criteria gives it.
//!
//! ## Exceptions
//! Where a side is over 8 m, `bay-side-over-eight` speaks.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [7.8, 0], [7.8, 3], [0, 3]]}
//! #                                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ a bay of screed in hall is 7.8 m long and 3.0 m wide, 2.6 : 1; 2 : 1 is the most
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [7.8, 0], [7.8, 3], [0, 3]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: {J1: {line: [[3.9, 0], [3.9, 3]]}}
//! ```

use super::bay_over_forty::{heated_bays, joints_across, names, rooms_without_bays, told};
use super::bay_side_over_eight::MOST as LONGEST;
use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "bay-too-slender",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[MOST],
    file: include_str!("bay_too_slender.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "long-over-short", value: "2", source: "EN 1264-4, from a trade copy of its criteria" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (most, longest): (LimitValue<Number>, LimitValue<Length>) =
        (MOST.get(&RULE, inspection), LONGEST.get(&super::bay_side_over_eight::RULE, inspection));
    rooms_without_bays(inspection, found, |_| true);
    for bay in heated_bays(inspection) {
        let rectangle = bay.bay.least_rectangle();
        let ratio = rectangle.ratio();
        if ratio <= most.value.si() + 1e-3 || bay.bay.longest_side() > longest.value + Length::millimetres(0.5) {
            continue;
        }
        let message = format!(
            "a bay of screed in {} is {} long and {} wide, {} : 1; {} : 1 is the most",
            names(inspection, bay),
            rectangle.long_side,
            rectangle.short_side,
            Number::new(ratio),
            most.value
        );
        let parts = (ratio / most.value.si() - 1e-6).ceil() as usize;
        let finding = told(inspection, bay, message).value(Number::new(ratio)).limit(&most);
        found.add(finding.remedy(joints_across(inspection, bay, parts)));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn says(wide: f64, deep: f64) -> usize {
        let text = format!(
            "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [{wide}, 0], [{wide}, {deep}], [0, {deep}]]}}\nloops:\n  L1: {{room: hall, \
             spacing: 150 mm}}\n"
        );
        messages(&RULE, &text).len()
    }

    #[test]
    fn two_to_one() {
        assert_eq!((says(6.0, 3.0), says(6.01, 3.0), says(3.0, 6.01)), (0, 1, 1));
    }

    #[test]
    fn a_side_over_eight_metres_is_told_once() {
        assert_eq!((says(8.0, 3.0), says(8.1, 3.0)), (1, 0));
    }
}
