//! What the records say was done was done by today, and not before the pipe was made.
//!
//! A record of tomorrow's work is a slip of the pen, or a promise. Whatever is held against its date then
//! passes without having been done.
//!
//! ## How it is worked out
//! Each date under `records` is held against the day of the check. The days of the heating log are told
//! together. No pipe of plastic warmed a floor before 1970.
//!
//! ## Limit
//! Today, and 1970: common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pipe-covered: 2027-03-06
//! #               ^^^^^^^^^^ the records say that the pipe was covered on 2027-03-06, 278 days ahead of today
//! ```
//! ```yaml passes
//! records:
//!   pipe-covered: 2026-03-06
//! ```

use super::prelude::*;
use crate::records::days_after;
use design::{Given, Placed};
use jiff::civil::{Date, date};

pub static RULE: Rule = Rule {
    name: "record-date-not-possible",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("record_date_not_possible.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    let tested = records.pressure_tests.iter().map(|it| ("the pressure was tested", it.date));
    let screeds = records.screeds.iter().map(|it| ("screed was laid", it.laid));
    let coverings = records.coverings_laid.iter().map(|it| ("a covering was laid", it.date));
    let moisture = records.moisture.iter().map(|it| ("moisture was measured", it.date));
    let photographs = records.photographs.iter().map(|it| ("photographs were taken", it.taken));
    let repairs = records.repairs.iter().map(|it| ("a repaired loop was tested again", it.tested_again));
    let once = [
        ("the pipe was covered", records.pipe_covered),
        ("the floor was first heated", records.first_heat),
        ("the joints were agreed", records.joints_agreed),
        ("the base was prepared", records.base_prepared),
        ("what was laid was measured", records.as_built.as_ref().and_then(|it| it.date)),
        ("the loops were flushed", records.water_treatment.as_ref().and_then(|it| it.flushed)),
    ];
    let several = tested.chain(screeds).chain(coverings).chain(moisture).chain(photographs).chain(repairs);
    for (what, day) in several.chain(once) {
        if let Some(finding) = out_of_time(inspection, what, day) {
            found.add(finding);
        }
    }
    let mut log = records.heating_log.iter().filter_map(|it| it.date).filter(|day| day.value > inspection.today);
    if let Some(finding) = out_of_time(inspection, "the heating was logged", log.next()) {
        found.add(log.fold(finding, |finding, day| finding.related(day.at, "this day too is still to come")));
    }
}

/// What is to be said of a day, if it is still to come or too long ago.
fn out_of_time(inspection: &Inspection, what: &str, day: Given<Date>) -> Option<Finding> {
    let day = day?;
    if day.value < date(1970, 1, 1) {
        let message = format!("the records say that {what} on {}, before any such floor was laid", day.value);
        return Some(Finding::new(Subject::Records, day.at, message).source("common practice, no source"));
    }
    if day.value <= inspection.today {
        return None;
    }
    let days = days_after(&day, &Placed { value: inspection.today, at: day.at });
    let message = format!("the records say that {what} on {}, {days} ahead of today", day.value);
    Some(Finding::new(Subject::Records, day.at, message).value(days).source("common practice, no source"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// The day of the bench is 1 June 2026.
    #[test]
    fn today_is_possible_and_tomorrow_is_not() {
        assert_eq!(messages(&RULE, "records: {first-heat: 2026-06-01}\n"), [""; 0]);
        assert_eq!(
            messages(&RULE, "records: {first-heat: 0206-06-01}\n"),
            ["the records say that the floor was first heated on 0206-06-01, before any such floor was laid"]
        );
        assert_eq!(
            messages(&RULE, "records: {first-heat: 2026-06-02}\n"),
            ["the records say that the floor was first heated on 2026-06-02, 1 day ahead of today"]
        );
    }

    #[test]
    fn every_date_of_the_records_counts() {
        let text = "records:\n  pressure-test: [{date: 2027-01-01}, {date: 2027-01-02}]\n  pipe-covered: 2027-01-01\n  \
                    screed: {laid: 2027-01-01}\n  first-heat: 2027-01-01\n  covering-laid: {date: 2027-01-01}\n  \
                    moisture: {date: 2027-01-01}\n  photographs: {taken: 2027-01-01}\n  as-built: {date: 2027-01-01}\n  \
                    water-treatment: {flushed: 2027-01-01}\n  repairs: {tested-again: 2027-01-01}\n  \
                    joints-agreed: 2027-01-01\n  base-prepared: 2027-01-01\n";
        assert_eq!(messages(&RULE, text).len(), 13);
    }

    #[test]
    fn a_heating_log_of_the_wrong_year_is_told_once() {
        let text = "records: {heating-log: [{date: 2026-05-31}, {date: 2027-06-01}, {date: 2027-06-02}]}\n";
        assert_eq!(
            messages(&RULE, text),
            ["the records say that the heating was logged on 2027-06-01, 365 days ahead of today"]
        );
    }
}
