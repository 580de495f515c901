//! Through the first heating the water warms and cools by no more than 5 K a day.
//!
//! A screed that is heated in one step grows at its base before it grows at its face, and cracks.
//!
//! ## How it is worked out
//! The difference between two days of the log that follow each other, over the days between them.
//!
//! ## Limit
//! 5 K a day: tiling and screed trade texts, one text. Some screed makers allow 10 K a day.
//!
//! ```yaml fails
//! records:
//!   heating-log:
//!     - {date: 2026-03-27, flow-temperature: 20 °C}
//!     - {date: 2026-03-28, flow-temperature: 40 °C}
//! #                                          ^^^^^ the water went from 20.0 °C to 40.0 °C, 20.0 K a day; 5.0 K a day is the most
//! ```
//! ```yaml passes
//! records:
//!   heating-log:
//!     - {date: 2026-03-27, flow-temperature: 25 °C}
//!     - {date: 2026-03-30, flow-temperature: 30 °C}
//!     - {date: 2026-03-31, flow-temperature: 35 °C}
//!     - {date: 2026-04-01, flow-temperature: 38 °C}
//!     - {date: 2026-04-05, flow-temperature: 33 °C}
//! ```

use super::prelude::*;
use crate::records::days_after;
use design::Placed;
use jiff::civil::Date;

pub static RULE: Rule = Rule {
    name: "heating-ramp-too-fast",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[STEEPEST],
    file: include_str!("heating_ramp_too_fast.rs"),
    check,
    ..Rule::USUAL
};

const STEEPEST: Limit = Limit { name: "kelvin-a-day", value: "5 K", source: "tiling and screed trade texts, one text" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let steepest = STEEPEST.get::<TemperatureDifference>(&RULE, inspection);
    let log = log(inspection);
    if log.len() < inspection.design.records.heating_log.len() {
        found.missing(Subject::Records, "heating-log/flow-temperature");
    }
    for days in log.windows(2) {
        let [(day, from), (next_day, to)] = days else { continue };
        let between = days_after(next_day, day).in_days().max(1.0);
        let change = (to.value - from.value).abs() / between;
        // Half a tenth of a kelvin is what rounding adds to two readings.
        if change <= steepest.value + TemperatureDifference::kelvin(0.05) {
            continue;
        }
        let message = format!(
            "the water went from {} to {}, {change} a day; {} a day is the most",
            from.value, to.value, steepest.value
        );
        let finding = Finding::new(Subject::Records, to.at, message).value(change).limit(&steepest);
        found.add(finding.related(from.at, format!("{} on {}", from.value, day.value)));
    }
}

/// The heating log in the order of its days, as far as day and temperature are given.
pub(crate) fn log(inspection: &Inspection) -> Vec<(Placed<Date>, Placed<Temperature>)> {
    let days = inspection.design.records.heating_log.iter();
    let mut log: Vec<_> = days.filter_map(|day| Some((day.date?, day.flow_temperature?))).collect();
    log.sort_by_key(|(day, _)| day.value);
    log
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn steps(temperatures: &[(u32, f64)]) -> Vec<String> {
        let day =
            |(day, celsius): &(u32, f64)| format!("    - {{date: 2026-04-{day:02}, flow-temperature: {celsius} °C}}\n");
        let log: String = temperatures.iter().map(day).collect();
        messages(&RULE, &format!("records:\n  heating-log:\n{log}"))
    }

    #[test]
    fn five_kelvin_a_day_pass_both_ways() {
        assert!(steps(&[(1, 25.0), (2, 30.0), (3, 25.0)]).is_empty());
        assert_eq!(steps(&[(1, 25.0), (2, 30.2)]).len(), 1);
        assert_eq!(steps(&[(1, 38.0), (2, 20.0)]).len(), 1);
    }

    #[test]
    fn days_between_and_the_order_of_days_count() {
        assert!(steps(&[(1, 25.0), (3, 35.0)]).is_empty());
        assert!(steps(&[(2, 30.0), (1, 25.0)]).is_empty());
        assert_eq!(steps(&[(1, 25.0), (1, 35.0)]).len(), 1);
    }

    #[test]
    fn a_day_without_its_temperature_is_told() {
        let text = "records: {heating-log: [{date: 2026-04-01}]}\n";
        assert_eq!(not_checked(&RULE, text), ["records/heating-log/flow-temperature"]);
    }
}
