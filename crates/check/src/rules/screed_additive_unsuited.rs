//! An additive in the screed entrains no more than 5 % of air.
//!
//! Air in the screed keeps heat from the pipe and takes its strength.
//!
//! ## How it is worked out
//! `entrained-air` of each screed record is held against 5 %. Where an additive is named, it is asked for.
//!
//! ## Limit
//! 5 % of air, and an additive that its supplier approves for heated screed: EN 1264-4:2021, 4.2.2.
//!
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-03-06, lowest-temperature: 7 °C, additive: plasticiser by its supplier's letter, entrained-air: 8 %}
//! #                                                                                                                     ^^^ the screed holds 8 % of air; 5 % is the most
//! ```
//! ```yaml passes
//! records:
//!   screed: {laid: 2026-03-06, lowest-temperature: 7 °C, additive: plasticiser by its supplier's letter, entrained-air: 5 %}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "screed-additive-unsuited",
    group: Group::Records,
    weights: [Warning; 4],
    limits: &[GREATEST],
    file: include_str!("screed_additive_unsuited.rs"),
    check,
    ..Rule::USUAL
};

const GREATEST: Limit = Limit { name: "greatest-entrained-air", value: "5 %", source: "EN 1264-4:2021, 4.2.2" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let greatest = GREATEST.get::<Share>(&RULE, inspection);
    for record in &inspection.design.records.screeds {
        match record.entrained_air {
            None if record.additive.is_some() => found.missing(Subject::Records, "screed/entrained-air"),
            Some(air) if air.value > greatest.value => {
                let message = format!("the screed holds {} of air; {} is the most", air.value, greatest.value);
                found.add(Finding::new(Subject::Records, air.at, message).value(air.value).limit(&greatest));
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
    fn five_per_cent_pass() {
        assert!(messages(&RULE, "records: {screed: {entrained-air: 5 %}}\n").is_empty());
        assert_eq!(messages(&RULE, "records: {screed: {entrained-air: 5.1 %}}\n").len(), 1);
        assert!(not_checked(&RULE, "records: {screed: {laid: 2026-03-06}}\n").is_empty());
        assert_eq!(not_checked(&RULE, "records: {screed: {additive: some}}\n"), ["records/screed/entrained-air"]);
    }
}
