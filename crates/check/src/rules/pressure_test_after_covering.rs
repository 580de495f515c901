//! The pressure test is made before the pipe is covered.
//!
//! A test after the screed is laid finds the same leak at fifty times the cost, and a small leak into wet
//! screed may not show on the gauge at all.
//!
//! ## How it is worked out
//! The earliest test of each loop is held against the day its pipe was covered: the screed of its rooms,
//! or `pipe-covered`. A test on the same day passes.
//!
//! ## Limit
//! EN 1264-4:2021, 4.2.3: loops are tested for leaks before the screed is laid.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-09, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//! #                       ^^^^^^^^^^ the pressure test was made 3 days after the pipe was covered on 2026-03-06
//!   pipe-covered: 2026-03-06
//! ```
//! ```yaml passes
//! records:
//!   pressure-test:
//!     - {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!     - {date: 2026-03-09, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!   pipe-covered: 2026-03-06
//! ```

use super::prelude::*;
use super::pressure_test_missing::loops_of;
use crate::records::{OnSite, days_after};

pub static RULE: Rule = Rule {
    name: "pressure-test-after-covering",
    group: Group::Records,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("pressure_test_after_covering.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let tests = &inspection.design.records.pressure_tests;
    if tests.is_empty() || inspection.design.loops.is_empty() {
        return;
    }
    let on_site = OnSite::of(inspection);
    if on_site.first_covered().is_none() {
        return;
    }
    if tests.iter().any(|test| test.date.is_none()) {
        found.missing(Subject::Records, "pressure-test/date");
    }
    let mut earliest = vec![None; inspection.design.loops.len()];
    for (at, test) in tests.iter().enumerate() {
        let Some(date) = test.date else { continue };
        for it in loops_of(inspection, test) {
            if earliest[it].is_none_or(|(_, other)| date.value < other) {
                earliest[it] = Some((at, date.value));
            }
        }
    }
    let mut said = vec![false; tests.len()];
    for (it, earliest) in inspection.workings.loops.iter().zip(earliest) {
        let (Some((at, _)), Some(covered)) = (earliest, on_site.covered(it)) else { continue };
        let Some(date) = tests[at].date.filter(|date| date.value > covered.value && !said[at]) else { continue };
        said[at] = true;
        let late = days_after(&date, &covered);
        let message = format!("the pressure test was made {late} after the pipe was covered on {}", covered.value);
        found.add(
            Finding::new(Subject::Records, date.at, message)
                .value(late)
                .source("EN 1264-4:2021, 4.2.3")
                .related(covered.at, "the pipe was covered on this day"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn tested(date: &str) -> Vec<String> {
        messages(&RULE, &format!("records: {{pressure-test: {{date: {date}}}, pipe-covered: 2026-03-06}}\n"))
    }

    #[test]
    fn the_same_day_passes() {
        assert!(tested("2026-03-06").is_empty());
        assert_eq!(tested("2026-03-07"), ["the pressure test was made 1 day after the pipe was covered on 2026-03-06"]);
    }

    #[test]
    fn each_room_has_its_own_screed() {
        let text = "records:\n  pressure-test: {date: 2026-03-09}\n  screed:\n    - {laid: 2026-03-06, rooms: cellar}\n    \
                    - {laid: 2026-03-10, rooms: [hall, study]}\n";
        assert!(messages(&RULE, text).is_empty());
    }

    #[test]
    fn a_test_without_a_day_is_not_checked() {
        let text = "records: {pressure-test: {pressure: 6 bar}, pipe-covered: 2026-03-06}\n";
        assert_eq!(not_checked(&RULE, text), ["records/pressure-test/date"]);
    }
}
