//! No side of a bay of heated screed is longer than 8 m.
//!
//! A screed grows with its length. Over 8 m the edge strip cannot take up what the heat adds.
//!
//! ## How it is worked out
//! The bays as for `bay-over-forty`; the longest side of each, a corner in the middle of a straight side not counted.
//!
//! ## Limit
//! 8 m: EN 1264-4, as a trade copy of its criteria gives it.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [8.4, 0], [8.4, 4.4], [0, 4.4]]}
//! #                                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ a bay of screed in hall has a side of 8.4 m; 8.0 m is the most
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [8.4, 0], [8.4, 4.4], [0, 4.4]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: {J1: {line: [[4.2, 0], [4.2, 4.4]]}}
//! ```

use super::bay_over_forty::{heated_bays, joints_across, names, rooms_without_bays, told};
use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "bay-side-over-eight",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[MOST],
    file: include_str!("bay_side_over_eight.rs"),
    check,
    ..Rule::USUAL
};

pub(super) const MOST: Limit =
    Limit { name: "side-of-a-bay", value: "8 m", source: "EN 1264-4, from a trade copy of its criteria" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most: LimitValue<Length> = MOST.get(&RULE, inspection);
    rooms_without_bays(inspection, found, |_| true);
    for bay in heated_bays(inspection) {
        let side = bay.bay.longest_side();
        if side <= most.value + Length::millimetres(0.5) {
            continue;
        }
        let message =
            format!("a bay of screed in {} has a side of {side}; {} is the most", names(inspection, bay), most.value);
        let parts = (side / most.value - 1e-6).ceil() as usize;
        found
            .add(told(inspection, bay, message).value(side).limit(&most).remedy(joints_across(inspection, bay, parts)));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn says(corners: &str) -> usize {
        let text = format!(
            "rooms:\n  hall: {{floor: screeded, outline: [{corners}]}}\nloops:\n  L1: {{room: hall, spacing: 150 mm}}\n"
        );
        messages(&RULE, &text).len()
    }

    #[test]
    fn eight_metres() {
        assert_eq!(says("[0, 0], [8, 0], [8, 4], [0, 4]"), 0);
        assert_eq!(says("[0, 0], [8.01, 0], [8.01, 4], [0, 4]"), 1);
        // A corner in the middle of a straight side does not halve it; a bend does.
        assert_eq!(says("[0, 0], [4, 0], [9, 0], [9, 4], [0, 4]"), 1);
        assert_eq!(says("[0, 0], [5, 0], [9, 1], [8, 4], [3, 4]"), 0);
    }

    /// A loop that is laid out by rule and has the room to itself will have to cross the joint.
    #[test]
    fn a_joint_comes_with_the_sleeves_of_its_loop() {
        let text = "rooms:\n  hall: {floor: screeded, outline: [[0, 0], [9, 0], [9, 2.4], [0, 2.4]], keep-clear: none}\nmanifolds: \
                    {M1: {at: [0.1, 1.2], ports: 2}}\nloops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 300 \
                    mm, layout: meander}\n";
        let found = check(text).findings;
        let told = found.iter().find(|it| it.rule.name == RULE.name).expect("it is told");
        let titles: Vec<&str> = told.remedies.iter().map(|it| it.title.as_str()).collect();
        assert_eq!(titles, ["add a joint across the middle, with a sleeve for L1"]);
    }

    #[test]
    fn without_an_outline_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, ""), ["rooms/hall/outline", "rooms/study/outline"]);
    }
}
