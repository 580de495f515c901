//! The system is flushed, filtered and dosed before it is handed over.
//!
//! Swarf and flux block the small valves of a manifold first; lukewarm water without biocide grows slime.
//!
//! ## How it is worked out
//! At `as built` `water-treatment` must say the day of the flush, the inhibitor, the biocide and that a filter is
//! fitted. A filter that is said not to be there is told at any stage.
//!
//! ## Limit
//! BS 7593:2019, from trade summaries: flush, in-line filter, inhibitor, biocide at low temperature, a check every year.
//!
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   water-treatment: {flushed: 2026-04-30, inhibitor: to BS 7593}
//! #                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the treatment of the water lacks a biocide and a filter
//! ```
//! ```yaml passes
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   water-treatment: {flushed: 2026-04-30, inhibitor: to BS 7593, biocide: to BS 7593, filter: true}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "flush-and-inhibitor-missing",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("flush_and_inhibitor_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "BS 7593:2019, from trade summaries";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let as_built = design.stage() == Stage::AsBuilt;
    let Some(treatment) = &design.records.water_treatment else {
        if as_built && !design.loops.is_empty() && inspection.is_read(design.records.place) {
            let message = "no flushing and treatment of the water is recorded";
            found.add(Finding::new(Subject::Records, inspection.stage_place(), message).source(SOURCE));
        }
        return;
    };
    let asked = as_built && inspection.is_read(treatment.at);
    let given = [
        (treatment.flushed.is_some(), "a flush"),
        (treatment.inhibitor.is_some(), "an inhibitor"),
        (treatment.biocide.is_some(), "a biocide"),
        (treatment.filter.is_some_and(|filter| filter.value), "a filter"),
    ];
    let unfiltered = treatment.filter.filter(|filter| !filter.value);
    let lacks: Vec<&str> = given.into_iter().filter(|(given, _)| !given && asked).map(|(_, what)| what).collect();
    if let Some(filter) = unfiltered.filter(|_| !asked) {
        let message = "the treatment of the water lacks a filter";
        found.add(Finding::new(Subject::Records, filter.at, message).source(SOURCE));
    } else if !lacks.is_empty() {
        let message = format!("the treatment of the water lacks {}", listed(&lacks));
        found.add(Finding::new(Subject::Records, treatment.at, message).source(SOURCE));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn before_it_is_built_only_what_is_wrong_is_told() {
        assert!(messages(&RULE, "records: {water-treatment: {inhibitor: some}}\n").is_empty());
        let text = "records: {water-treatment: {filter: false}}\n";
        assert_eq!(messages(&RULE, text), ["the treatment of the water lacks a filter"]);
    }

    #[test]
    fn as_built_it_is_there() {
        let built = "project: {stage: as built, revision: P5, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, built), ["no flushing and treatment of the water is recorded"]);
    }
}
