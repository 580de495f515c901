//! The days of the records follow each other as the work does.
//!
//! Pipe is tested, covered, and then heated. A record that has it the other way round was made up afterwards or is a slip of the pen,
//! and nobody can rely on the rest of it; or the work was done so, and pipe was heated that nobody had tested.
//!
//! ## How it is worked out
//! The first heat, which is `first-heat` or the first day of the heating log, is held against the first pressure test and, where no
//! screed is recorded, against `pipe-covered`; the heating log against `first-heat`; the first screed against `pipe-covered`; each
//! test of moisture against the screed of its rooms. The last screed, or `pipe-covered` where none is recorded, is held against
//! `base-prepared`, and against the day of `as-built` where all pipe lies in screed: what is covered is measured no more. A house whose
//! floors are part screed and part not is not asked for these two, for one day stands for all of them. The same day passes. A test that
//! comes after covering, a screed that is heated too soon and a day that is still to come have rules of their own, and moisture may be
//! measured before the first heat as well as after it. Which of two days is the wrong one a hand has to say.
//!
//! ## Limit
//! The order of the work: common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!   first-heat: 2026-03-02
//! #             ^^^^^^^^^^ the floor was first heated on 2026-03-02, 2 days before its pipe was first tested on 2026-03-04
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!   first-heat: 2026-04-20
//! ```
//! ```yaml fails
//! records:
//!   first-heat: 2026-04-20
//!   heating-log:
//!     - {date: 2026-04-19, flow-temperature: 25 °C}
//! #            ^^^^^^^^^^ the heating was logged on 2026-04-19, 1 day before the floor was first heated on 2026-04-20
//!     - {date: 2026-04-20, flow-temperature: 25 °C}
//! ```
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-03-06}
//! #                ^^^^^^^^^^ screed was laid on 2026-03-06, 3 days before the pipe under it was measured on 2026-03-09
//!   as-built: {date: 2026-03-09, dimensioned: true, signed-by: F. Layer}
//! ```

use super::heated_too_soon::first_heat;
use super::prelude::*;
use crate::records::{days_after, rooms_of, screed_of};
use design::{Placed, ScreedRecord as Screed};
use jiff::civil::Date;

pub static RULE: Rule = Rule {
    name: "records-out-of-order",
    group: Group::Records,
    weights: [Warning, Warning, Warning, Error],
    file: include_str!("records_out_of_order.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    // A day that is still to come is told as such.
    let out_of_order = |what, day, before, other: Option<Placed<Date>>| {
        out_of_order(what, day, before, other.filter(|it| it.value <= inspection.today))
    };
    let heat = first_heat(inspection);
    // Each loop has its own first test; one that has none is told by another rule.
    let tested = first_tests(inspection).into_iter().flatten().max_by_key(|day| day.value);
    let tested = tested.or_else(|| first(records.pressure_tests.iter().filter_map(|it| it.date)));
    // Under screed without pipe nothing is covered.
    let has_pipe = |it: &&Placed<Screed>| {
        it.rooms.is_empty() || rooms_of(inspection, &it.rooms).any(|at| !inspection.workings.rooms[at].loops.is_empty())
    };
    let laid = || records.screeds.iter().filter(has_pipe).filter_map(|it| it.laid);
    // Heat on a screed that is not laid yet is heat too soon.
    let covered = records.pipe_covered.filter(|_| records.screeds.is_empty());
    let heated = "the floor was first heated";
    let poured = "screed was laid";
    // One day stands for a whole house: it is held against others only where all floors are covered alike.
    let in_screed = InScreed::of(inspection);
    let (closing, closed) = match laid().max_by_key(|day| day.value) {
        Some(last) => (poured, Some(last).filter(|_| in_screed == InScreed::All)),
        None => ("the pipe was covered", records.pipe_covered.filter(|_| in_screed != InScreed::Some)),
    };
    let base = records.base_prepared.filter(|_| inspection.design.electric_mats.is_empty());
    let measured = records.as_built.as_ref().and_then(|it| it.date).filter(|_| in_screed == InScreed::All);
    let all = [
        out_of_order(heated, heat, "its pipe was first tested", tested),
        out_of_order(heated, heat, "its pipe was covered", covered),
        out_of_order(poured, laid().min_by_key(|day| day.value), "the pipe was first covered", records.pipe_covered),
        out_of_order(closing, closed, "the base was prepared", base),
        out_of_order(closing, closed, "the pipe under it was measured", measured),
    ];
    // One day that is wrong is one finding, whatever it comes before.
    let mut of_days: Vec<Finding> = Vec::new();
    for it in all.into_iter().flatten() {
        match of_days.iter_mut().find(|other| other.place == it.place) {
            Some(other) => other.related.extend(it.related),
            None => of_days.push(it),
        }
    }
    of_days.into_iter().for_each(|it| found.add(it));

    let mut log = records.heating_log.iter().filter_map(|it| it.date);
    let too_early = |day: &Placed<Date>| records.first_heat.is_some_and(|first| day.value < first.value);
    let logged =
        out_of_order("the heating was logged", log.find(too_early), "the floor was first heated", records.first_heat);
    let more = log.filter(too_early);
    if let Some(logged) = logged {
        found.add(more.fold(logged, |it, day| it.related(day.at, "so was it on this day")));
    }

    let screeds = first_screeds(inspection);
    for it in &records.moisture {
        let laid = rooms_of(inspection, &it.rooms).filter_map(|room| screeds[room]);
        // A measurement without rooms is of what is laid by then.
        let laid = if it.rooms.is_empty() { first(laid) } else { laid.max_by_key(|day| day.value) };
        let measured = out_of_order("moisture was measured", it.date, "the screed was laid", laid);
        measured.into_iter().for_each(|it| found.add(it));
    }
}

fn first(days: impl Iterator<Item = Placed<Date>>) -> Option<Placed<Date>> {
    days.min_by_key(|day| day.value)
}

/// For each loop the first day on which it was tested.
fn first_tests(inspection: &Inspection) -> Vec<Option<Placed<Date>>> {
    let loops = &inspection.design.loops;
    let tests = inspection.design.records.pressure_tests.iter().filter_map(|it| Some((it, it.date?)));
    let (of_all, of_some): (Vec<_>, Vec<_>) = tests.partition(|(it, _)| it.loops.is_empty());
    let mut firsts = vec![first(of_all.into_iter().map(|(_, day)| day)); loops.len()];
    for (it, day) in of_some {
        for at in it.loops.iter().filter_map(|named| loops.position(&named.value.name)) {
            firsts[at] = first(firsts[at].into_iter().chain([day]));
        }
    }
    firsts
}

/// For each room the first day on which screed was laid there; where it was laid anew the first may have been measured as well.
fn first_screeds(inspection: &Inspection) -> Vec<Option<Placed<Date>>> {
    let mut firsts = vec![None; inspection.design.rooms.len()];
    for it in &inspection.design.records.screeds {
        for room in rooms_of(inspection, &it.rooms).filter(|_| it.laid.is_some()) {
            firsts[room] = first(firsts[room].into_iter().chain(it.laid));
        }
    }
    firsts
}

/// How many of the floors with pipe are screeds.
#[derive(Clone, Copy, PartialEq)]
enum InScreed {
    All,
    Some,
    None,
}

impl InScreed {
    fn of(inspection: &Inspection) -> InScreed {
        let rooms = inspection.workings.rooms.iter().enumerate().filter(|(_, room)| !room.loops.is_empty());
        let (with, without): (Vec<_>, Vec<_>) = rooms.partition(|(at, _)| screed_of(inspection, *at).is_some());
        match (with.is_empty(), without.is_empty()) {
            (false, true) => InScreed::All,
            (false, false) => InScreed::Some,
            (true, _) => InScreed::None,
        }
    }
}

/// What is to be said of a day that comes before another, which it should follow.
fn out_of_order(what: &str, day: Option<Placed<Date>>, before: &str, other: Option<Placed<Date>>) -> Option<Finding> {
    let (day, other) = (day?, other?);
    if day.value >= other.value {
        return None;
    }
    let early = days_after(&other, &day);
    let message = format!("{what} on {}, {early} before {before} on {}", day.value, other.value);
    let finding = Finding::new(Subject::Records, day.at, message).value(early).source("common practice, no source");
    Some(finding.related(other.at, format!("{before} on this day")))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn the_same_day_passes_and_the_day_before_does_not() {
        let said = |text: &str| messages(&RULE, &format!("records: {{{text}}}\n"));
        for (before, after) in [
            ("first-heat: DAY", "pressure-test: {date: 2026-03-04}"),
            ("heating-log: {date: DAY}", "pressure-test: {date: 2026-03-04}"),
            ("first-heat: DAY", "pipe-covered: 2026-03-04"),
            ("screed: {laid: DAY}", "pipe-covered: 2026-03-04"),
            ("heating-log: {date: DAY}", "first-heat: 2026-03-04"),
            ("moisture: {date: DAY}", "screed: {laid: 2026-03-04}"),
            ("screed: {laid: DAY}", "base-prepared: 2026-03-04"),
            ("pipe-covered: DAY", "base-prepared: 2026-03-04"),
            ("screed: {laid: DAY}", "as-built: {date: 2026-03-04}"),
            ("pipe-covered: DAY", "as-built: {date: 2026-03-04}"),
        ] {
            let on = |day: &str| said(&format!("{}, {after}", before.replace("DAY", day)));
            assert_eq!(on("2026-03-04"), [""; 0], "{before} {after}");
            assert_eq!(on("2026-03-03").len(), 1, "{before} {after}: {:?}", on("2026-03-03"));
            assert!(on("2026-03-03")[0].contains(" on 2026-03-03, 1 day before "), "{:?}", on("2026-03-03"));
        }
    }

    #[test]
    fn each_room_has_its_own_screed_and_a_log_is_told_once() {
        let moisture = "records:\n  screed: [{laid: 2026-03-06, rooms: [hall]}, {laid: 2026-04-06, rooms: [study]}]\n  \
                        moisture: [{date: 2026-03-20, rooms: [hall]}, {date: 2026-03-20, rooms: [study]}]\n";
        assert_eq!(
            messages(&RULE, moisture),
            ["moisture was measured on 2026-03-20, 17 days before the screed was laid on 2026-04-06"]
        );
        let log = "records: {first-heat: 2026-03-06, heating-log: [{date: 2026-03-02}, {date: 2026-03-03}, {date: 2026-03-06}]}\n";
        assert_eq!(messages(&RULE, log).len(), 1);
        let both = "records: {first-heat: 2026-03-02, pressure-test: {date: 2026-03-04}, pipe-covered: 2026-03-05}\n";
        assert_eq!(
            messages(&RULE, both),
            ["the floor was first heated on 2026-03-02, 2 days before its pipe was first tested on 2026-03-04"]
        );
    }

    /// Boards are stuck down, and their pipe measured, in one room while the screed of another has long set.
    #[test]
    fn a_day_that_stands_for_floors_of_several_kinds_is_not_held_against_one_of_them() {
        let records =
            "records: {screed: {laid: 2026-03-06}, base-prepared: 2026-03-20, as-built: {date: 2026-03-20}}\n";
        assert_eq!(
            messages(&RULE, records),
            ["screed was laid on 2026-03-06, 14 days before the base was prepared on 2026-03-20"],
            "one day, told once"
        );
        let boards = "floors:\n  screeded: {method: floating-screed, layers: [{material: screed, thickness: 65 mm, pipe: at base, screed: sand-cement}]}\n  \
                      boarded: {method: bonded-board, layers: [{material: XPS, thickness: 40 mm, pipe: at top}]}\n\
                      rooms: {hall: {floor: screeded, area: 12 m²}, study: {floor: boarded, area: 11 m²}}\n";
        assert!(messages(&RULE, &format!("{boards}{records}")).is_empty());
        let poured = "screed: [{laid: 2026-03-06, rooms: [hall]}, {laid: 2026-04-06, rooms: [study]}]";
        assert!(messages(&RULE, &format!("records: {{{poured}, base-prepared: 2026-03-20}}\n")).is_empty());
    }

    #[test]
    fn each_loop_has_its_own_test_and_each_room_its_own_screed() {
        let said = |records: &str| messages(&RULE, &format!("records: {{{records}}}\n"));
        let late =
            "pressure-test: [{date: 2026-03-04, loops: [L1]}, {date: 2026-05-04, loops: [L2]}], first-heat: 2026-04-20";
        assert_eq!(
            said(late),
            ["the floor was first heated on 2026-04-20, 14 days before its pipe was first tested on 2026-05-04"]
        );
        // Tested again after it was heated.
        let again = "pressure-test: [{date: 2026-03-04, loops: [L1, L2]}, {date: 2026-05-04, loops: [L2]}], first-heat: 2026-04-20";
        assert_eq!(said(again), [""; 0]);
        let two = "screed: [{laid: 2026-03-06, rooms: [hall]}, {laid: 2026-03-20, rooms: [study]}]";
        let measured = said(&format!("{two}, moisture: {{date: 2026-03-10, rooms: [hall, study]}}"));
        assert_eq!(measured, ["moisture was measured on 2026-03-10, 10 days before the screed was laid on 2026-03-20"]);
        assert_eq!(said(&format!("{two}, moisture: {{date: 2026-03-10}}")), [""; 0]);
        // Laid anew where it had cracked.
        let anew = "screed: [{laid: 2026-03-06, rooms: [hall]}, {laid: 2026-06-10, rooms: [hall]}]";
        assert_eq!(said(&format!("{anew}, moisture: {{date: 2026-05-04, rooms: [hall]}}")), [""; 0]);
    }

    /// Screed of a passage without pipe covers none.
    #[test]
    fn screed_without_pipe_may_come_before_the_pipe_is_covered() {
        let rooms = "rooms: {hall: {floor: screeded, area: 12 m²}, study: {floor: screeded, area: 11 m²}, passage: {floor: screeded, area: 4 m²}}\n";
        let screed = |first: &str| {
            let records =
                format!("screed: [{{laid: 2026-02-20, rooms: [{first}]}}, {{laid: 2026-03-06, rooms: [study]}}]");
            messages(&RULE, &format!("{rooms}records: {{pipe-covered: 2026-03-06, {records}}}\n")).len()
        };
        assert_eq!((screed("passage"), screed("hall")), (0, 1));
    }

    #[test]
    fn a_day_that_is_still_to_come_is_left_to_its_own_rule() {
        let text = |day: &str| format!("records: {{screed: {{laid: 2026-03-06}}, base-prepared: {day}}}\n");
        assert_eq!(messages(&RULE, &text("2026-06-01")).len(), 1);
        assert!(messages(&RULE, &text("2026-06-02")).is_empty());
    }

    /// A reading before the first heat tells how far the screed has dried by itself.
    #[test]
    fn moisture_may_be_measured_before_the_first_heat() {
        let text = "records: {screed: {laid: 2026-03-06}, moisture: {date: 2026-04-02}, first-heat: 2026-04-20}\n";
        assert!(messages(&RULE, text).is_empty());
    }
}
