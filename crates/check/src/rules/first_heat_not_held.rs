//! The first heating holds 20 to 25 °C for three days and then the design flow temperature for four.
//!
//! The first step dries and settles the screed, the second proves the floor at the worst it will see while a
//! crack can still be mended under no covering.
//!
//! ## How it is worked out
//! From the heating log: the days until the first temperature above 25 °C, and the days at the highest flow
//! temperature of the design, less 1 K for the reading. The second step is asked for once the log cools
//! again, a covering is laid, or the design is `as built`.
//!
//! ## Limit
//! Three days and four days: one text that cites EN 1264-4:2021, 4.2.4; a national training body gives the same.
//!
//! ```yaml fails
//! records:
//!   heating-log:
//!     - {date: 2026-03-27, flow-temperature: 25 °C}
//!     - {date: 2026-03-28, flow-temperature: 30 °C}
//! #                                          ^^^^^ the first heating held 25.0 °C or less for 1 day; 3 days are needed
//!     - {date: 2026-03-30, flow-temperature: 38 °C}
//!     - {date: 2026-03-31, flow-temperature: 30 °C}
//! #                                          ^^^^^ the first heating held 38.0 °C for 1 day; 4 days are needed
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

use super::heating_ramp_too_fast::log;
use super::prelude::*;
use crate::records::{days_after, screed_of};
use design::{Placed, Stage};
use jiff::civil::Date;
use workings::ValueOf;

pub static RULE: Rule = Rule {
    name: "first-heat-not-held",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[LOW, LOW_FOR, HIGH_FOR],
    file: include_str!("first_heat_not_held.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4:2021, as a secondary text cites it";
const LOW: Limit = Limit { name: "first-temperature", value: "25 °C", source: SOURCE };
const LOW_FOR: Limit = Limit { name: "first-days", value: "3 days", source: SOURCE };
const HIGH_FOR: Limit = Limit { name: "days-at-design-temperature", value: "4 days", source: SOURCE };

/// What a thermometer on the pipe may read low.
const READING: TemperatureDifference = TemperatureDifference::kelvin(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let log = log(inspection);
    if log.is_empty() {
        let as_built = inspection.design.stage() == Stage::AsBuilt;
        if as_built && (0..inspection.design.rooms.len()).any(|room| screed_of(inspection, room).is_some()) {
            found.missing(Subject::Records, "heating-log");
        }
        return;
    }
    low_step(inspection, &log, found);
    high_step(inspection, &log, found);
}

type Day = (Placed<Date>, Placed<Temperature>);

fn low_step(inspection: &Inspection, log: &[Day], found: &mut Findings) {
    let (low, days) = (LOW.get::<Temperature>(&RULE, inspection), LOW_FOR.get::<Duration>(&RULE, inspection));
    let Some((day, temperature)) = log.iter().find(|(_, it)| it.value > low.value) else { return };
    let held = days_after(day, &log[0].0);
    if held < days.value {
        let message =
            format!("the first heating held {} or less for {}; {} are needed", low.value, shown(held), days.value);
        found.add(Finding::new(Subject::Records, temperature.at, message).value(held).limit(&days));
    }
}

fn high_step(inspection: &Inspection, log: &[Day], found: &mut Findings) {
    let days = HIGH_FOR.get::<Duration>(&RULE, inspection);
    let flows = inspection.workings.loops.iter().filter_map(|it| it.flow_temperature.value().ok());
    let Some(design) = flows.reduce(Temperature::max) else {
        found.missing(Subject::HeatSource, "flow-temperature");
        return;
    };
    let is_high = |day: &&Day| day.1.value >= design - READING;
    let first = log.iter().position(|day| is_high(&day));
    let after = first.and_then(|first| log[first..].iter().find(|day| !is_high(day)));
    let records = &inspection.design.records;
    let over = after.is_some() || !records.coverings_laid.is_empty() || inspection.design.stage() == Stage::AsBuilt;
    let (Some(last), true) = (log.last(), over) else { return };
    let Some(first) = first else {
        let highest = log.iter().map(|day| day.1.value).fold(last.1.value, Temperature::max);
        let message =
            format!("the first heating went no higher than {highest}; {design} is to be held for {}", days.value);
        found.add(Finding::new(Subject::Records, last.1.at, message).value(highest).limit(&days));
        return;
    };
    let until = after.unwrap_or(last);
    let last_day = if after.is_some() { 0.0 } else { 1.0 };
    let held = days_after(&until.0, &log[first].0) + Duration::days(last_day);
    if held < days.value {
        let message = format!("the first heating held {design} for {}; {} are needed", shown(held), days.value);
        found.add(Finding::new(Subject::Records, until.1.at, message).value(held).limit(&days));
    }
}

/// A number of days; none is `0 days`.
fn shown(days: Duration) -> String {
    if days == Duration::ZERO { "0 days".into() } else { days.to_string() }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn heated(days: &[(u32, f64)], more: &str) -> Vec<String> {
        let day =
            |(day, celsius): &(u32, f64)| format!("    - {{date: 2026-04-{day:02}, flow-temperature: {celsius} °C}}\n");
        let log: String = days.iter().map(day).collect();
        messages(&RULE, &format!("records:\n  heating-log:\n{log}{more}"))
    }

    #[test]
    fn a_log_in_the_making_is_not_wrong_yet() {
        assert!(heated(&[(1, 25.0)], "").is_empty());
        assert!(heated(&[(1, 25.0), (4, 30.0), (5, 38.0)], "").is_empty());
    }

    #[test]
    fn four_days_at_the_design_temperature() {
        let covered = "  covering-laid: {date: 2026-05-10}\n";
        assert!(heated(&[(1, 25.0), (4, 38.0), (5, 38.0), (6, 38.0), (7, 38.0)], covered).is_empty());
        let short = heated(&[(1, 25.0), (4, 38.0), (5, 38.0), (6, 38.0)], covered);
        assert_eq!(short, ["the first heating held 38.0 °C for 3 days; 4 days are needed"]);
        let low = heated(&[(1, 25.0), (4, 30.0)], covered);
        assert_eq!(low, ["the first heating went no higher than 30.0 °C; 38.0 °C is to be held for 4 days"]);
    }

    #[test]
    fn heat_at_once_is_told() {
        assert_eq!(heated(&[(1, 38.0)], ""), ["the first heating held 25.0 °C or less for 0 days; 3 days are needed"]);
    }

    #[test]
    fn as_built_without_a_log_is_not_checked() {
        let built = "project: {revision: P1, stage: as built, issued: 2026-05-04}\n";
        assert_eq!(not_checked(&RULE, built), ["records/heating-log"]);
    }
}
