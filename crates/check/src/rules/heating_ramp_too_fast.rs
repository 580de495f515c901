//! Through the first heating the water warms and cools by no more than 5 K a day.
//!
//! A screed that is heated in one step grows at its base before it grows at its face, and cracks.
//!
//! ## How it is worked out
//! The difference between two days of the log that follow each other, over the days between them. Of several readings on one day the
//! coolest and the warmest are held against each other, and each against the last of the day before.
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
    let mut before: Option<&Reading> = None;
    for day in log.chunk_by(|(one, _), (other, _)| one.value == other.value) {
        let steepest_of_day = steepest_of(day, before);
        before = day.last();
        let Some((from, to, change)) = steepest_of_day else { continue };
        // Half a tenth of a kelvin is what rounding adds to two readings.
        if change <= steepest.value + TemperatureDifference::kelvin(0.05) {
            continue;
        }
        let message = format!(
            "the water went from {} to {}, {change} a day; {} a day is the most",
            from.1.value, to.1.value, steepest.value
        );
        let finding = Finding::new(Subject::Records, to.1.at, message).value(change).limit(&steepest);
        found.add(finding.related(from.1.at, format!("{} on {}", from.1.value, from.0.value)));
    }
}

/// The steepest change that the readings of one day tell, a day: between two of them, or from the last one before.
fn steepest_of<'r>(
    day: &'r [Reading],
    before: Option<&'r Reading>,
) -> Option<(&'r Reading, &'r Reading, TemperatureDifference)> {
    let warmth = |at: &usize| day[*at].1.value.in_celsius();
    let coolest = (0..day.len()).min_by(|one, other| warmth(one).total_cmp(&warmth(other)))?;
    let warmest = (0..day.len()).max_by(|one, other| warmth(one).total_cmp(&warmth(other)))?;
    let (first, last) = (&day[coolest.min(warmest)], &day[coolest.max(warmest)]);
    let within = (day.len() > 1).then_some((first, last));
    let since = before.into_iter().flat_map(|before| [(before, first), (before, last)]);
    let changes = since.chain(within).map(|(from, to)| {
        let days = days_after(&to.0, &from.0).in_days().max(1.0);
        (from, to, (to.1.value - from.1.value).abs() / days)
    });
    changes.max_by(|one, other| one.2.in_kelvin().total_cmp(&other.2.in_kelvin()))
}

/// A day of the heating log and its temperature.
pub(crate) type Reading = (Placed<Date>, Placed<Temperature>);

/// The heating log in the order of its days, as far as day and temperature are given.
pub(crate) fn log(inspection: &Inspection) -> Vec<Reading> {
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
    fn several_readings_of_one_day_count_together() {
        assert_eq!(
            steps(&[(1, 25.0), (2, 29.0), (2, 33.0)]),
            ["the water went from 25.0 °C to 33.0 °C, 8.0 K a day; 5.0 K a day is the most"]
        );
        assert_eq!(steps(&[(1, 25.0), (1, 28.0), (1, 31.0)]).len(), 1);
        assert_eq!(steps(&[(1, 25.0), (1, 35.0), (1, 25.0)]).len(), 1);
        assert!(steps(&[(1, 25.0), (1, 29.0), (2, 30.0), (2, 33.0)]).is_empty());
        assert!(steps(&[(1, 25.0), (1, 25.0), (2, 30.0)]).is_empty());
    }

    #[test]
    fn a_day_without_its_temperature_is_told() {
        let text = "records: {heating-log: [{date: 2026-04-01}]}\n";
        assert_eq!(not_checked(&RULE, text), ["records/heating-log/flow-temperature"]);
    }
}
