//! Each crossing of a wall or a joint has a sleeve of its own.
//!
//! Flow and return both pass, and both must be free to move; two pipes in one sleeve chafe each other.
//!
//! ## How it is worked out
//! The crossings of the drawn route with each wall and each movement joint are counted, and the sleeves
//! that serve them: one that `serves` the flow or the return serves one crossing in the first or in the
//! second half of the route.
//!
//! ## Limit
//! One sleeve a pipe a crossing: common practice, no source.
//!
//! ## Exceptions
//! Where no crossing has a sleeve, `sleeve-missing-at-wall` and `sleeve-missing-at-joint` speak.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves:
//!       - {at: W1, serves: flow}
//! #       ^^^^^^^^^^^^^^^^^^^^^^ loop L1 crosses W1 twice with 1 sleeve; each crossing wants its own
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! loops:
//!   L1:
//!     room: hall
//!     route: [[6, 1], [1, 1], [1, 2], [6, 2]]
//!     sleeves:
//!       - {at: W1, serves: flow}
//!       - {at: W1, serves: return}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_joint::wants_sleeves;
use super::sleeve_missing_at_wall::{add_sleeves, counted, for_each_crossing, passes};
use crate::remedy::written;
use workings::{Crossed, Passage};

pub static RULE: Rule = Rule {
    name: "one-sleeve-for-two-crossings",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("one_sleeve_for_two_crossings.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.values().all(|it| it.sleeves.is_empty()) {
        return;
    }
    for_each_crossing(inspection, found, |it, crossing, passages, found| {
        let (all, bare) = (crossing.passages.len(), crossing.without_sleeve.len());
        let wanted = match crossing.what {
            Crossed::Wall(_) => true,
            Crossed::Opening(_) => false,
            Crossed::MovementJoint(joint) => wants_sleeves(inspection, joint, all),
        };
        if !wanted || bare == 0 || bare == all {
            return;
        }
        let name = crossing.what.name(design);
        let sleeves = match all - bare {
            1 => "1 sleeve".to_string(),
            count => format!("{count} sleeves"),
        };
        let message =
            format!("loop {} crosses {name} {} with {sleeves}; each crossing wants its own", it.name, counted(all).0);
        let place = crossing.sleeves.first().and_then(|at| it.given.sleeves.get(*at)).map_or(it.place, |it| it.at);
        let bare = || crossing.without_sleeve.iter().map(|at| &passages[*at]);
        let missing: Vec<String> = bare().map(|passage| sleeve(name, passage)).collect();
        let change = add_sleeves(inspection, it.given, &missing);
        let finding = Finding::new(it.subject, place, message)
            .value(Number::new((all - missing.len()) as f64))
            .limit(&LimitValue::new(Number::new(all as f64), "common practice, no source"));
        found.add(
            passes(inspection, finding, crossing.what, bare())
                .remedy(Remedy::of(format!("lay a sleeve on the other crossings of {name}"), change)),
        );
    });
}

/// A sleeve on one passage, as it is written in a design.
fn sleeve(name: &str, passage: &Passage) -> String {
    let way = if passage.on_return { "return" } else { "flow" };
    format!("{{at: {}, serves: {way}}}", written(name))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn said(sleeves: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!(
                "walls:\n  W1: {{line: [[5, 0], [5, 4]]}}\nmovement-joints:\n  J1: {{line: [[4, 0], [4, 4]]}}\nloops:\n  \
                 L1: {{room: hall, route: [[6, 1], [1, 1], [1, 2], [6, 2]], sleeves: {sleeves}}}\n"
            ),
        )
    }

    #[test]
    fn none_or_all_is_not_for_this_rule() {
        assert_eq!(said("[]"), [""; 0]);
        assert_eq!(said("[W1, J1]"), [""; 0]);
        assert_eq!(said("[W1, {at: J1, serves: flow}, {at: J1, serves: return}]"), [""; 0]);
    }

    #[test]
    fn one_for_two_is() {
        assert_eq!(
            said("[W1, {at: J1, serves: return}]"),
            ["loop L1 crosses J1 twice with 1 sleeve; each crossing wants its own"]
        );
        assert_eq!(said("[{at: W1, serves: flow}, {at: W1, serves: flow}]").len(), 1);
    }

    #[test]
    fn a_loop_that_is_not_drawn_is_not_checked() {
        let text = "walls:\n  W1: {line: [[5, 0], [5, 4]]}\nloops:\n  L1: {room: hall, sleeves: W1}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/route"]);
    }
}
