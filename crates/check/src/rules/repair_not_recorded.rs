//! A repair under the floor has its place, its protection, its second test and its mark on the plan.
//!
//! A coupling in the floor is the first suspect of every later leak. Nobody finds it again without its place.
//!
//! ## How it is worked out
//! Each of `repairs` must say `at`, `tested-again`, `protected: true` and `on-plan: true`.
//!
//! ## Limit
//! EN 1264-4:2021, 4.2.2: repairs are joined, protected, tested again and marked on the plan.
//!
//! ```yaml fails
//! records:
//!   repairs:
//!     - {loop: L1, protected: true}
//! #     ^^^^^^^^^^^^^^^^^^^^^^^^^^^ the repair of loop L1 lacks its place, a second test and its mark on the plan
//! ```
//! ```yaml passes
//! records:
//!   repairs:
//!     - {loop: L1, at: [2.4, 1.1], protected: true, tested-again: 2026-03-05, on-plan: true}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "repair-not-recorded",
    group: Group::Records,
    weights: [Error; 4],
    file: include_str!("repair_not_recorded.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let yes = |given: design::Given<bool>| given.is_some_and(|it| it.value);
    for repair in &inspection.design.records.repairs {
        let given = [
            (repair.value.at.is_some(), "its place"),
            (yes(repair.protected), "protection from the screed"),
            (repair.tested_again.is_some(), "a second test"),
            (yes(repair.on_plan), "its mark on the plan"),
        ];
        let lacks: Vec<&str> = given.into_iter().filter(|(given, _)| !given).map(|(_, what)| what).collect();
        if lacks.is_empty() || !inspection.is_read(repair.at) {
            continue;
        }
        let of = repair.of_loop.as_ref().map_or("a loop".into(), |of| format!("loop {}", of.value.name));
        let message = format!("the repair of {of} lacks {}", listed(&lacks));
        found.add(Finding::new(Subject::Records, repair.at, message).source("EN 1264-4:2021, 4.2.2"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn each_part_is_wanted() {
        let text = "records: {repairs: [{at: [1, 1], tested-again: 2026-03-05, protected: false, on-plan: true}]}\n";
        assert_eq!(messages(&RULE, text), ["the repair of a loop lacks protection from the screed"]);
        assert!(messages(&RULE, "records: {repairs: []}\n").is_empty());
    }
}
