//! Screed is laid and kept for three days at 5 °C or warmer.
//!
//! Cold stops the setting, frost breaks it. The screed looks like any other and has no strength.
//!
//! ## How it is worked out
//! `lowest-temperature` of each screed record is held against 5 °C.
//!
//! ## Limit
//! 5 °C for typically three days: EN 1264-4:2021, 4.2.2 and its note.
//!
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-03-06, lowest-temperature: 2 °C}
//! #                                                ^^^^ the screed stood at 2.0 °C; 5.0 °C is the least while it sets
//! ```
//! ```yaml passes
//! records:
//!   screed: {laid: 2026-03-06, lowest-temperature: 7 °C}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "screed-laid-too-cold",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[LEAST],
    file: include_str!("screed_laid_too_cold.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-temperature", value: "5 °C", source: "EN 1264-4:2021, 4.2.2" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Temperature>(&RULE, inspection);
    for record in &inspection.design.records.screeds {
        match record.lowest_temperature {
            None => found.missing(Subject::Records, "screed/lowest-temperature"),
            Some(lowest) if lowest.value < least.value => {
                let message =
                    format!("the screed stood at {}; {} is the least while it sets", lowest.value, least.value);
                found.add(Finding::new(Subject::Records, lowest.at, message).value(lowest.value).limit(&least));
            }
            Some(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn five_degrees_are_enough() {
        let laid =
            |celsius: &str| messages(&RULE, &format!("records: {{screed: {{lowest-temperature: {celsius} °C}}}}\n"));
        assert!(laid("5").is_empty());
        assert_eq!(laid("4.9").len(), 1);
        assert_eq!(
            not_checked(&RULE, "records: {screed: {laid: 2026-03-06}}\n"),
            ["records/screed/lowest-temperature"]
        );
    }
}
