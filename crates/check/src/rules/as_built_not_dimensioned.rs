//! A floor as built has a plan of what was laid, dimensioned to walls and signed.
//!
//! The next drill goes where the drawing says there is no pipe. Fifty millimetres matter.
//!
//! ## How it is worked out
//! `records/as-built` must be there at `as built`, with `dimensioned` true and a name under `signed-by`.
//!
//! ## Limit
//! First runs, turns and tails dimensioned to within 50 mm, and signed: common practice, no source.
//!
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! #                ^^^^^^^^ no plan of what was laid is recorded
//! ```
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   as-built: {date: 2026-03-05, dimensioned: false}
//! #                                           ^^^^^ the plan of what was laid has no dimensions to walls
//! #           ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the plan of what was laid is not signed
//! ```
//! ```yaml passes
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! records:
//!   as-built: {date: 2026-03-05, dimensioned: true, signed-by: F. Layer}
//! ```

use super::prelude::*;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "as-built-not-dimensioned",
    group: Group::Records,
    weights: [Error; 4],
    file: include_str!("as_built_not_dimensioned.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let as_built = design.stage() == Stage::AsBuilt;
    let mut tell = |place, message: &str| {
        found.add(Finding::new(Subject::Records, place, message).source("common practice, no source"));
    };
    let Some(plan) = &design.records.as_built else {
        if as_built && !design.loops.is_empty() && inspection.is_read(design.records.place) {
            tell(inspection.stage_place(), "no plan of what was laid is recorded");
        }
        return;
    };
    let read = inspection.is_read(plan.at);
    match plan.dimensioned {
        Some(dimensioned) if dimensioned.value => {}
        None if !as_built || !read => {}
        given => {
            let place = given.map_or(plan.at, |given| given.at);
            tell(place, "the plan of what was laid has no dimensions to walls");
        }
    }
    if plan.signed_by.as_ref().is_none_or(|name| name.value.trim().is_empty()) && as_built && read {
        tell(plan.at, "the plan of what was laid is not signed");
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn before_it_is_built_only_what_is_wrong_is_told() {
        assert!(messages(&RULE, "records: {}\n").is_empty());
        assert!(messages(&RULE, "records: {as-built: {date: 2026-03-05}}\n").is_empty());
        assert_eq!(messages(&RULE, "records: {as-built: {dimensioned: false}}\n").len(), 1);
    }
}
