//! What the records say was done was done by today, by the day of issue of a design as built, and not before the pipe was made.
//!
//! A record of tomorrow's work is a slip of the pen, or a promise. Whatever is held against its date then
//! passes without having been done. A handover pack that is dated before the work that it records is not the pack of that work.
//!
//! ## How it is worked out
//! Each date under `records` is held against the day of the check; the days of the heating log are told
//! together. At `as built` each is held against `issued` too, and all that are later are told with the latest of them. No pipe of
//! plastic warmed a floor before 1970.
//!
//! ## Limit
//! Today, the day of issue, and 1970: common practice, no source.
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
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   pipe-covered: 2026-03-06
//!   first-heat: 2026-05-11
//! #             ^^^^^^^^^^ the records say that the floor was first heated on 2026-05-11, 7 days after the design as built was issued on 2026-05-04
//! ```

use super::prelude::*;
use crate::records::days_after;
use design::{Placed, Stage};
use jiff::civil::{Date, date};

pub static RULE: Rule = Rule {
    name: "record-date-not-possible",
    group: Group::Records,
    weights: [Warning, Warning, Warning, Error],
    file: include_str!("record_date_not_possible.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source";

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
    let log = records.heating_log.iter().map(|it| (LOGGED, it.date));
    let several = tested.chain(screeds).chain(coverings).chain(moisture).chain(photographs).chain(repairs);
    let all = several.chain(once).chain(log).filter_map(|(what, day)| Some((what, day?)));

    let as_built = inspection.design.stage() == Stage::AsBuilt;
    // A day of issue that is still to come is told elsewhere.
    let issued = inspection.design.project.issued.filter(|it| as_built && it.value <= inspection.today);
    let today = |day: Placed<Date>| Placed { value: inspection.today, at: day.at };
    let (mut after_issue, mut logged): (Vec<Dated>, Vec<Dated>) = (Vec::new(), Vec::new());
    for (what, day) in all {
        if day.value < date(1970, 1, 1) {
            let message = format!("the records say that {what} on {}, before any such floor was laid", day.value);
            found.add(Finding::new(Subject::Records, day.at, message).source(SOURCE));
        } else if issued.is_some_and(|issued| day.value > issued.value) {
            after_issue.push((what, day));
        } else if day.value > inspection.today && what == LOGGED {
            logged.push((what, day));
        } else if day.value > inspection.today {
            found.add(late((what, day), &today(day), "ahead of today"));
        }
    }
    if let [first, more @ ..] = &logged[..] {
        let finding = late(*first, &today(first.1), "ahead of today");
        found.add(more.iter().fold(finding, |it, (_, day)| it.related(day.at, "this day too is still to come")));
    }
    if let (Some(issued), Some(latest)) = (issued, after_issue.iter().copied().max_by_key(|(_, day)| day.value)) {
        let than = format!("after the design as built was issued on {}", issued.value);
        let finding = late(latest, &issued, &than).related(issued.at, "the day of issue");
        let others = after_issue.into_iter().filter(|(_, day)| day.at != latest.1.at);
        found.add(others.fold(finding, |it, (what, day)| it.related(day.at, format!("{what} on {}", day.value))));
    }
}

const LOGGED: &str = "the heating was logged";

/// What was done, and the day that the records give to it.
type Dated = (&'static str, Placed<Date>);

/// What is to be said of a day that is later than it can be.
fn late((what, day): Dated, latest: &Placed<Date>, than: &str) -> Finding {
    let days = days_after(&day, latest);
    let message = format!("the records say that {what} on {}, {days} {than}", day.value);
    Finding::new(Subject::Records, day.at, message).value(days).source(SOURCE)
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

    #[test]
    fn what_a_handover_pack_records_was_done_before_its_issue() {
        let text = |stage: &str, heat: &str| {
            format!(
                "project: {{stage: {stage}, issued: 2026-05-04}}\nrecords:\n  first-heat: {heat}\n  \
                 heating-log: [{{date: 2026-05-05}}, {{date: 2026-05-06}}]\n"
            )
        };
        // Told once, with the latest.
        assert_eq!(
            messages(&RULE, &text("as built", "2026-05-05")),
            [
                "the records say that the heating was logged on 2026-05-06, 2 days after the design as built was issued on 2026-05-04"
            ]
        );
        assert!(messages(&RULE, &text("for construction", "2026-05-05")).is_empty());
        assert!(
            messages(&RULE, "project: {stage: as built, issued: 2026-05-04}\nrecords: {first-heat: 2026-05-04}\n")
                .is_empty()
        );
        // A day of issue that is still to come says nothing of the records.
        assert!(
            messages(&RULE, "project: {stage: as built, issued: 2026-07-01}\nrecords: {first-heat: 2026-05-04}\n")
                .is_empty()
        );
    }
}
