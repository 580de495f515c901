//! Loops that are filled with water in an unheated building are guarded against frost.
//!
//! Water that freezes in a pipe under a screed bursts it where nobody sees, and the thaw tells.
//!
//! ## How it is worked out
//! `lowest-site-temperature` is held against 0 °C, where water freezes, and against 5 °C, below which the floor may be
//! colder than the air: then it is a warning. Antifreeze in the water, or a test with antifreeze or air, is a guard.
//!
//! ## Limit
//! Antifreeze, an air test, or 5 °C and above: from memory, EN 1264-4, clause on frost. Glycol is flushed out before use.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-01-14, pressure: 6 bar, duration: 60 min, end-pressure: 6 bar}
//!   lowest-site-temperature: -4 °C
//! #                          ^^^^^ loops filled with plain water stood at -4.0 °C; 5.0 °C is the least without antifreeze
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {medium: water with antifreeze, date: 2026-01-14, pressure: 6 bar, duration: 60 min, end-pressure: 6 bar}
//!   lowest-site-temperature: -4 °C
//! ```

use super::prelude::*;
use design::{Fluid, TestMedium};

pub static RULE: Rule = Rule {
    name: "frost-not-guarded",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[LEAST],
    file: include_str!("frost_not_guarded.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit =
    Limit { name: "least-temperature", value: "5 °C", source: "from memory: EN 1264-4, clause on frost" };
const FREEZING: Temperature = Temperature::celsius(0.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let least = LEAST.get::<Temperature>(&RULE, inspection);
    let Some(lowest) = design.records.lowest_site_temperature.filter(|lowest| lowest.value < least.value) else {
        return;
    };
    if design.water.fluid.is_some_and(|fluid| fluid.value != Fluid::Water) {
        return;
    }
    let tests = &design.records.pressure_tests;
    if tests.is_empty() {
        return found.missing(Subject::Records, "pressure-test/medium");
    }
    let with_water = |test: &design::PressureTest| test.medium.is_none_or(|medium| medium.value == TestMedium::Water);
    let Some(test) = tests.iter().find(|test| with_water(test)) else { return };
    let message = format!(
        "loops filled with plain water stood at {}; {} is the least without antifreeze",
        lowest.value, least.value
    );
    let weight = if lowest.value < FREEZING { Error } else { Warning };
    let finding = Finding::new(Subject::Records, lowest.at, message).value(lowest.value).limit(&least);
    found.add_as(weight, finding.related(test.at, "the test with water"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::{check, not_checked};

    fn stood(at: &str, more: &str) -> Option<Severity> {
        let text = format!("records: {{pressure-test: {{pressure: 5 bar}}, lowest-site-temperature: {at} °C}}\n{more}");
        check(&text).findings.iter().find(|it| it.rule.name == RULE.name).map(|it| it.severity)
    }

    #[test]
    fn frost_is_an_error_and_cold_a_warning() {
        assert_eq!(stood("5", ""), None);
        assert_eq!(stood("4.9", ""), Some(Severity::Warning));
        assert_eq!(stood("0", ""), Some(Severity::Warning));
        assert_eq!(stood("-0.1", ""), Some(Severity::Error));
        assert_eq!(stood("-4", "water: {fluid: propylene glycol, mass-share: 30 %}\n"), None);
    }

    #[test]
    fn without_a_test_nobody_knows_what_stands_in_the_pipe() {
        assert_eq!(not_checked(&RULE, "records: {lowest-site-temperature: -4 °C}\n"), ["records/pressure-test/medium"]);
    }
}
