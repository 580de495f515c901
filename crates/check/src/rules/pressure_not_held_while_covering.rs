//! The loops stand under pressure while they are covered, and the pressure is read before and after.
//!
//! A nail or a shovel through a pipe shows at once, while the screed is wet. Full pipes also do not float.
//!
//! ## How it is worked out
//! Once the records say that the pipe is covered, and of a design `as built` in any case,
//! `pressure-while-covering` must be there. Both readings are held against the working pressure, and the second
//! against the first.
//!
//! ## Limit
//! The working pressure or more: older practice by EN 1264-4 and one trade text. A fall of 0.2 bar, as in the
//! pressure test: common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//! #               ^^^^^^^^^^ the pipe was covered and no pressure is recorded that it kept meanwhile
//! ```
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//!   pressure-while-covering: {before: 3 bar, after: 1 bar}
//! #                                                 ^^^^^ the loops stood at 1.0 bar after covering; the working pressure of 1.5 bar is the least
//! ```
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//!   pressure-while-covering: {before: 6 bar, after: 3 bar}
//! #                                                 ^^^^^ the pressure fell by 3.00 bar while the pipe was covered, from 6.0 bar to 3.0 bar; 0.20 bar is the most
//! ```
//! ```yaml passes
//! records:
//!   pipe-covered: 2026-03-06
//!   pressure-while-covering: {before: 3 bar, after: 3 bar}
//! ```

use super::prelude::*;
use super::pressure_fell_too_far::{GAUGE, GREATEST};
use crate::records::OnSite;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "pressure-not-held-while-covering",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("pressure_not_held_while_covering.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "older practice by EN 1264-4, one trade text";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    let Some(readings) = &design.records.pressure_while_covering else {
        let covered = OnSite::of(inspection).first_covered().map(|day| day.at);
        let as_built = (design.stage() == Stage::AsBuilt).then(|| inspection.stage_place());
        if let Some(place) = covered.or(as_built).filter(|_| inspection.is_read(design.records.place)) {
            let message = "the pipe was covered and no pressure is recorded that it kept meanwhile";
            found.add(Finding::new(Subject::Records, place, message).source(SOURCE));
        }
        return;
    };
    let working = design.water.working_pressure;
    let reads = [
        (readings.before, "pressure-while-covering/before", "before"),
        (readings.after, "pressure-while-covering/after", "after"),
    ];
    for (reading, key, when) in reads {
        match (reading, working) {
            (None, _) => found.missing(Subject::Records, key),
            (_, None) => found.missing(Subject::Water, "working-pressure"),
            (Some(reading), Some(working)) if reading.value < working.value => {
                let message = format!(
                    "the loops stood at {} {when} covering; the working pressure of {} is the least",
                    reading.value, working.value
                );
                let limit = LimitValue::new(working.value, SOURCE);
                let finding = Finding::new(Subject::Records, reading.at, message).value(reading.value).limit(&limit);
                found.add(finding.related(working.at, "the working pressure"));
            }
            _ => {}
        }
    }
    let (Some(before), Some(after)) = (readings.before, readings.after) else { return };
    let (fall, greatest) =
        (before.value - after.value, GREATEST.get::<Pressure>(&super::pressure_fell_too_far::RULE, inspection));
    // A pressure below that of working is one finding, however it came to be.
    let is_told = working.is_some_and(|working| after.value < working.value);
    if fall > greatest.value + GAUGE && !is_told {
        let message = format!(
            "the pressure fell by {:.2} bar while the pipe was covered, from {} to {}; {:.2} bar is the most",
            fall.in_bar(),
            before.value,
            after.value,
            greatest.value.in_bar(),
        );
        let finding = Finding::new(Subject::Records, after.at, message).value(fall).limit(&greatest);
        found.add(finding.related(before.at, "the pressure before"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn the_working_pressure_is_enough() {
        let kept = |after: &str| {
            messages(&RULE, &format!("records: {{pressure-while-covering: {{before: 1.6 bar, after: {after} bar}}}}\n"))
        };
        assert!(kept("1.5").is_empty());
        assert_eq!(kept("1.4").len(), 1);
    }

    #[test]
    fn a_fall_of_just_so_much_as_in_the_test_passes() {
        let fell = |after: &str| {
            messages(&RULE, &format!("records: {{pressure-while-covering: {{before: 6 bar, after: {after} bar}}}}\n"))
        };
        assert_eq!(["5.8", "6.1", "5.79", "1.4"].map(|after| fell(after).len()), [0, 0, 1, 1]);
    }

    #[test]
    fn a_reading_that_is_not_there_is_told() {
        let text = "records: {pressure-while-covering: {before: 3 bar}}\n";
        assert_eq!(not_checked(&RULE, text), ["records/pressure-while-covering/after"]);
        assert!(messages(&RULE, "records: {}\n").is_empty());
    }
}
