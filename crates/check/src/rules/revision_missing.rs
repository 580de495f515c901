//! A design that is issued says its stage, its revision and the day of issue.
//!
//! Two prints without a revision are two truths on one site.
//!
//! ## How it is worked out
//! `stage` is asked for wherever there is a project: without it the design is checked as `preliminary`. `revision`
//! and `issued` are asked for at every later stage. A sketch without a `project` block is asked for nothing.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! project: {name: Kiln Yard, stage: for construction}
//! #                                 ^^^^^^^^^^^^^^^^ the design is for construction and its project block lacks revision and issued
//! ```
//! ```yaml passes
//! project: {name: Kiln Yard, stage: for construction, revision: P3, issued: 2026-05-04}
//! ```
//! ```yaml fails
//! project: {name: Kiln Yard}
//! #        ^^^^^^^^^^^^^^^^^ no stage is given; the design is checked as preliminary
//! ```
//! ```yaml remedied
//! project: {name: Kiln Yard, stage: preliminary}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;
use crate::remedy::add_key;

pub static RULE: Rule = Rule {
    name: "revision-missing",
    group: Group::DesignFile,
    weights: [Hint, Error, Error, Error],
    file: include_str!("revision_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let project = &inspection.design.project;
    if project.place == design::Place::default() || !inspection.is_read(project.place) {
        return;
    }
    let Some(stage) = project.stage else {
        let message = "no stage is given; the design is checked as preliminary";
        let change = add_key(inspection, project.place, "stage: preliminary");
        let remedy = Remedy::of("say that the design is preliminary", change);
        let finding = Finding::new(Subject::Project, project.place, message).source("common practice, no source");
        return found.add(finding.remedy(remedy));
    };
    if stage.value == design::Stage::Preliminary {
        return;
    }
    let given = [("revision", project.revision.is_some()), ("issued", project.issued.is_some())];
    let lacks: Vec<&str> = given.into_iter().filter(|(_, given)| !given).map(|(key, _)| key).collect();
    if !lacks.is_empty() {
        let message = format!("the design is {} and its project block lacks {}", stage.value, listed(&lacks));
        found.add(Finding::new(Subject::Project, stage.at, message).source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{job, messages};

    #[test]
    fn a_preliminary_design_needs_no_revision() {
        assert!(messages(&RULE, "project: {stage: preliminary}\n").is_empty());
        assert_eq!(
            messages(&RULE, "project: {stage: for comment, revision: P1}\n"),
            ["the design is for comment and its project block lacks issued"]
        );
    }

    #[test]
    fn a_sketch_is_asked_for_nothing() {
        assert!(crate::check(&job("format: 1\n")).findings.is_empty());
    }

    #[test]
    fn what_is_misspelt_is_told_once() {
        assert!(messages(&RULE, "project: {stage: for construction, revison: P1, issued: 2026-05-04}\n").is_empty());
    }
}
