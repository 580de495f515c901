//! A pressure test with water is made at 4 to 6 bar, and at 1.3 times the working pressure or more.
//!
//! A joint that holds at tap pressure may still weep when the system is hot and full. More than 6 bar
//! proves nothing more and can break a gauge, a flow meter or a vent.
//!
//! ## How it is worked out
//! The pressure after settling is held against the least pressure, and against the working pressure
//! times 1.3. Above 6 bar the finding is for information: every part in the test must be rated for it.
//!
//! ## Limit
//! 4 to 6 bar: EN 1264-4:2021, 4.2.3. 1.3 times the working pressure: EN 14336, from a secondary text.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 2 bar, duration: 60 min, end-pressure: 2 bar}
//! #                                             ^^^^^ the water test was made at 2.0 bar; 4.0 bar is the least
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//! ```

use super::prelude::*;
use design::TestMedium;

pub static RULE: Rule = Rule {
    name: "pressure-test-too-low",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[LEAST, TIMES_WORKING, GREATEST],
    caution: Some(
        "A pressure test stores energy; fittings and hoses that let go have killed. Never exceed the rating of the weakest part.",
    ),
    guards_people: true,
    file: include_str!("pressure_test_too_low.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-pressure", value: "4 bar", source: "EN 1264-4:2021, 4.2.3" };
const GREATEST: Limit = Limit { name: "usual-pressure", value: "6 bar", source: "EN 1264-4:2021, 4.2.3" };
const TIMES_WORKING: Limit =
    Limit { name: "share-of-working-pressure", value: "130 %", source: "EN 14336, from a secondary text" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (least, greatest, times) = (
        LEAST.get::<Pressure>(&RULE, inspection),
        GREATEST.get::<Pressure>(&RULE, inspection),
        TIMES_WORKING.get::<Share>(&RULE, inspection),
    );
    let working = inspection.design.water.working_pressure;
    for test in &inspection.design.records.pressure_tests {
        if test.medium.is_some_and(|medium| medium.value == TestMedium::Air) {
            continue;
        }
        let Some(pressure) = test.pressure else {
            found.missing(Subject::Records, "pressure-test/pressure");
            continue;
        };
        let finding = |what: String| {
            let message = format!("the water test was made at {}; {what}", pressure.value);
            Finding::new(Subject::Records, pressure.at, message).value(pressure.value)
        };
        if pressure.value < least.value {
            found.add(finding(format!("{} is the least", least.value)).limit(&least));
            continue;
        }
        if pressure.value > greatest.value {
            let what = format!("{} is usual, and every part in the test must stand more", greatest.value);
            found.add_as(Information, finding(what).limit(&greatest));
        }
        let Some(working) = working else {
            found.missing(Subject::Water, "working-pressure");
            continue;
        };
        let wanted = working.value * times.value.in_fraction();
        if pressure.value < wanted {
            let what = format!("{wanted} is the least at a working pressure of {}", working.value);
            let limit = times.with(wanted);
            found.add(finding(what).limit(&limit).related(working.at, "the working pressure"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::{check, messages, not_checked};

    fn tested(pressure: &str, working: &str) -> Vec<String> {
        let text =
            format!("water: {{working-pressure: {working}}}\nrecords: {{pressure-test: {{pressure: {pressure}}}}}\n");
        messages(&RULE, &text)
    }

    #[test]
    fn four_bar_are_enough_and_a_little_less_is_not() {
        assert!(tested("4 bar", "1.5 bar").is_empty());
        assert_eq!(tested("3.9 bar", "1.5 bar"), ["the water test was made at 3.9 bar; 4.0 bar is the least"]);
    }

    #[test]
    fn a_high_working_pressure_asks_for_more() {
        assert!(tested("5.2 bar", "4 bar").is_empty());
        let wanted = "the water test was made at 5.0 bar; 5.2 bar is the least at a working pressure of 4.0 bar";
        assert_eq!(tested("5 bar", "4 bar"), [wanted]);
    }

    #[test]
    fn more_than_six_bar_are_told() {
        let outcome = check("records: {pressure-test: {pressure: 8 bar}}\n");
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.severity, Severity::Information);
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(
            not_checked(&RULE, "records: {pressure-test: {date: 2026-03-04}}\n"),
            ["records/pressure-test/pressure"]
        );
        let text = "water: {}\nrecords: {pressure-test: {pressure: 5 bar}}\n";
        assert_eq!(not_checked(&RULE, text), ["water/working-pressure"]);
        assert!(messages(&RULE, "records: {pressure-test: {medium: air, pressure: 3 bar}}\n").is_empty());
    }
}
