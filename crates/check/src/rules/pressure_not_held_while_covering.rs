//! The loops stand under pressure while they are covered, and the pressure is read before and after.
//!
//! A nail or a shovel through a pipe shows at once, while the screed is wet. Full pipes also do not float.
//!
//! ## How it is worked out
//! Once the records say that the pipe is covered, and of a design `as built` in any case,
//! `pressure-while-covering` must be there. Both readings are held against the working pressure.
//!
//! ## Limit
//! The working pressure or more: older practice by EN 1264-4 and one trade text.
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
//! ```yaml passes
//! records:
//!   pipe-covered: 2026-03-06
//!   pressure-while-covering: {before: 3 bar, after: 3 bar}
//! ```

use super::prelude::*;
use crate::limit::LimitValue;
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
                let limit = LimitValue { value: working.value, source: SOURCE };
                let finding = Finding::new(Subject::Records, reading.at, message).value(reading.value).limit(&limit);
                found.add(finding.related(working.at, "the working pressure"));
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn the_working_pressure_is_enough() {
        let kept = |after: &str| {
            messages(&RULE, &format!("records: {{pressure-while-covering: {{before: 3 bar, after: {after} bar}}}}\n"))
        };
        assert!(kept("1.5").is_empty());
        assert_eq!(kept("1.4").len(), 1);
    }

    #[test]
    fn a_reading_that_is_not_there_is_told() {
        let text = "records: {pressure-while-covering: {before: 3 bar}}\n";
        assert_eq!(not_checked(&RULE, text), ["records/pressure-while-covering/after"]);
        assert!(messages(&RULE, "records: {}\n").is_empty());
    }
}
