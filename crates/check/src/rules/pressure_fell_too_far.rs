//! The pressure falls by no more than 0.2 bar during the test.
//!
//! A slow fall is a leak until it is proved to be something else.
//!
//! ## How it is worked out
//! The pressure after settling less the pressure at the end. What the temperature of water and pipe does to
//! the gauge has to be taken out of the readings before they are written down.
//!
//! ## Limit
//! 0.2 bar, common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.5 bar}
//! #                                                                                    ^^^^^^^ the pressure fell by 0.50 bar during the test, from 6.0 bar to 5.5 bar; 0.20 bar is the most
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "pressure-fell-too-far",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[GREATEST],
    guards_people: true,
    file: include_str!("pressure_fell_too_far.rs"),
    check,
    ..Rule::USUAL
};

/// The same fall is the most while the pipe is covered.
pub(super) const GREATEST: Limit =
    Limit { name: "greatest-fall", value: "0.2 bar", source: "common practice, no source" };

/// Ends read off one gauge differ in the last bit of a number.
pub(super) const GAUGE: Pressure = Pressure::pascals(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let greatest = GREATEST.get::<Pressure>(&RULE, inspection);
    for test in &inspection.design.records.pressure_tests {
        let Some(pressure) = test.pressure else {
            found.missing(Subject::Records, "pressure-test/pressure");
            continue;
        };
        let Some(end) = test.end_pressure else {
            found.missing(Subject::Records, "pressure-test/end-pressure");
            continue;
        };
        let fall = pressure.value - end.value;
        if fall <= greatest.value + GAUGE {
            continue;
        }
        let message = format!(
            "the pressure fell by {:.2} bar during the test, from {} to {}; {:.2} bar is the most",
            fall.in_bar(),
            pressure.value,
            end.value,
            greatest.value.in_bar(),
        );
        found.add(Finding::new(Subject::Records, end.at, message).value(fall).limit(&greatest));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn fell(to: &str) -> Vec<String> {
        messages(&RULE, &format!("records: {{pressure-test: {{pressure: 6 bar, end-pressure: {to}}}}}\n"))
    }

    #[test]
    fn a_fall_of_just_so_much_passes() {
        assert!(fell("5.8 bar").is_empty());
        assert!(fell("6.1 bar").is_empty());
        assert_eq!(fell("5.79 bar").len(), 1);
        let text = "records: {pressure-test: {pressure: 6 bar}}\n";
        assert_eq!(not_checked(&RULE, text), ["records/pressure-test/end-pressure"]);
    }
}
