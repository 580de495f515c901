//! A pressure test with air is made at 2 to 3 bar.
//!
//! Compressed air stores very much more energy than water at the same pressure. Above 3 bar the test is
//! dangerous and no more thorough; below 2 bar a small leak does not show.
//!
//! ## How it is worked out
//! The pressure after settling is held against both ends of the band.
//!
//! ## Limit
//! 2 to 3 bar: EN 1264-4:2021, 4.2.3. The rule takes no departure.
//!
//! Danger: compressed air. People out of the room, a written method, pressure raised in steps, a calibrated
//! gauge, a relief valve fitted, a slow release, nobody tightening a fitting under pressure.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {medium: air, pressure: 6 bar, method: our method 7, people-kept-out: true}
//! #                                        ^^^^^ the air test was made at 6.0 bar; 3.0 bar is the most
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {medium: air, pressure: 3 bar, method: our method 7, people-kept-out: true}
//! ```

use super::prelude::*;
use design::TestMedium;

pub static RULE: Rule = Rule {
    name: "air-test-out-of-band",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[LEAST, GREATEST],
    caution: Some("Danger: compressed air. Stop and read the pressure-test caution."),
    takes_departures: false,
    file: include_str!("air_test_out_of_band.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-pressure", value: "2 bar", source: "EN 1264-4:2021, 4.2.3" };
const GREATEST: Limit = Limit { name: "greatest-pressure", value: "3 bar", source: "EN 1264-4:2021, 4.2.3" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (least, greatest) = (LEAST.get::<Pressure>(&RULE, inspection), GREATEST.get::<Pressure>(&RULE, inspection));
    for test in &inspection.design.records.pressure_tests {
        if test.medium.is_none_or(|medium| medium.value != TestMedium::Air) {
            continue;
        }
        let Some(pressure) = test.pressure else {
            found.missing(Subject::Records, "pressure-test/pressure");
            continue;
        };
        let (limit, word) = match pressure.value {
            value if value < least.value => (&least, "least"),
            value if value > greatest.value => (&greatest, "most"),
            _ => continue,
        };
        let message = format!("the air test was made at {}; {} is the {word}", pressure.value, limit.value);
        found.add(Finding::new(Subject::Records, pressure.at, message).value(pressure.value).limit(limit));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn tested(pressure: &str) -> Vec<String> {
        messages(&RULE, &format!("records: {{pressure-test: {{medium: air, pressure: {pressure}}}}}\n"))
    }

    #[test]
    fn both_ends_of_the_band_pass() {
        assert!(tested("2 bar").is_empty() && tested("3 bar").is_empty());
        assert_eq!(tested("1.9 bar"), ["the air test was made at 1.9 bar; 2.0 bar is the least"]);
        assert_eq!(tested("3.1 bar"), ["the air test was made at 3.1 bar; 3.0 bar is the most"]);
    }

    #[test]
    fn water_is_another_matter() {
        assert!(messages(&RULE, "records: {pressure-test: {pressure: 6 bar}}\n").is_empty());
        assert_eq!(not_checked(&RULE, "records: {pressure-test: {medium: air}}\n"), ["records/pressure-test/pressure"]);
    }
}
