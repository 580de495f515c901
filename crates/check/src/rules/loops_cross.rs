//! Two loops do not lie over each other.
//!
//! Where two pipes cross, the screed above is thinner by a diameter, and on boards or in trays they cannot
//! be laid at all. It is mostly a sign that two loops have each other's port.
//!
//! ## How it is worked out
//! The drawn routes of each storey are held against each other. The last half metre of both at the
//! manifold, where pipes fan out to their ports, is not looked at. Two pipes that touch or run on one line
//! lie over each other too. Where loops are laid out over each other because their rooms share floor, `rooms-overlap` tells it.
//!
//! ## Limit
//! No crossing: common practice, no source. What cover is left follows from the floor and the pipe.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//!   L2: {room: hall, pipe: PEX-16, route: [[6, 1.2], [3, 1.2], [3, 0], [6, 0]]}
//! #                                                  ^^^^^^^^ loop L2 crosses loop L1 at [3.00, 1.00]; of 49 mm of cover 33 mm are left there
//! ```
//! ```yaml passes
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//!   L2: {room: hall, pipe: PEX-16, route: [[6, 0.8], [3, 0.8], [3, 0], [6, 0]]}
//! ```

use super::pipe_crosses_itself::{
    MOST_RELATED, counts, cover_left, from_the_left, not_all_counted, place, places, verb,
};
use super::prelude::*;
use super::rooms_overlap::laid_over_each_other;
use engineering::plan::RouteMeeting;
use workings::leg_place;

pub static RULE: Rule = Rule {
    name: "loops-cross",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("loops_cross.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let loops: Vec<_> = inspection.loops().collect();
    let pair = |it: &RouteMeeting| (it.first.route, it.second.route);
    let meetings = inspection.workings.plan.meetings.iter().filter(|it| it.first.route != it.second.route);
    let meetings: Vec<&RouteMeeting> = meetings.filter(|it| counts(inspection, it)).collect();
    for of_two in meetings.chunk_by(|one, other| pair(one) == pair(other)) {
        let of_two = from_the_left(of_two);
        let first = of_two[0];
        let (Some(one), Some(other)) = (loops.get(first.first.route), loops.get(first.second.route)) else { continue };
        if laid_over_each_other(inspection, first.first.route, first.second.route) {
            continue;
        }
        let message = format!(
            "loop {} {} loop {} {}{}",
            other.name,
            verb(&of_two),
            one.name,
            places(inspection, &of_two),
            cover_left(inspection, other)
        );
        let mut finding = Finding::new(other.subject, leg_place(other.given, first.second.leg), message)
            .value(Number::new(of_two.len() as f64))
            .source("common practice, no source")
            .related(leg_place(one.given, first.first.leg), format!("loop {} lies here", one.name));
        for meeting in of_two.iter().skip(1).take(MOST_RELATED) {
            let again = format!("again {}", place(inspection, meeting));
            finding = finding.related(leg_place(other.given, meeting.second.leg), again);
        }
        found.add(finding);
    }
    not_all_counted(inspection, found);
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn said(one: &str, other: &str) -> Vec<String> {
        messages(&RULE, &format!("loops:\n  L1: {{route: {one}}}\n  L2: {{route: {other}}}\n"))
    }

    const ONE: &str = "[[6, 1], [1, 1], [1, 2], [6, 2]]";

    #[test]
    fn tails_may_cross_beside_the_manifold_and_nowhere_else() {
        assert_eq!(said(ONE, "[[6, 1], [5.7, 0.95], [5.7, 1.4], [2, 1.4], [2, 1.6], [5.8, 1.6], [6, 1]]"), [""; 0]);
        assert_eq!(said(ONE, "[[6, 1], [5.4, 0.9], [5.4, 1.4], [2, 1.4], [2, 1.6], [5.8, 1.6], [6, 1]]").len(), 1);
        // Near the end of the one, far along the other.
        assert_eq!(said("[[6, 1], [5.7, 1], [5.7, 3]]", "[[5, 2.8], [8, 2.8]]").len(), 1);
    }

    #[test]
    fn ends_at_different_manifolds_do_not_fan_out_together() {
        let of = |other: &str| {
            messages(
                &RULE,
                &format!(
                    "manifolds:\n  M1: {{at: [6, 1]}}\n  M2: {{at: [6, 1.2]}}\nloops:\n  L1: {{manifold: M1, route: [[6, 1], [1, 1], [1, \
                     2], [6, 2]]}}\n  L2: {{manifold: {other}, route: [[6, 1.2], [5.7, 1.2], [5.7, 0.6], [2, 0.6]]}}\n"
                ),
            )
        };
        assert_eq!((of("M1").len(), of("M2").len()), (0, 1));
    }

    #[test]
    fn tails_drawn_on_one_line_are_told() {
        let other = "[[6, 1], [3, 1], [3, 1.5], [6, 1.5]]";
        assert_eq!(
            said(ONE, other),
            ["loop L2 lies on loop L1 for 3.0 m from [3.00, 1.00] to [6.00, 1.00]; no pipe may lie over another"]
        );
    }

    #[test]
    fn loops_of_two_storeys_do_not_meet() {
        let text = "storeys: {ground: {}, upper: {}}\nloops:\n  L1: {storey: ground, route: [[0, 1], [6, 1]]}\n  \
                    L2: {storey: upper, route: [[3, 0], [3, 6]]}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
        assert_eq!(messages(&RULE, &text.replace("upper,", "ground,")).len(), 1);
    }
}
