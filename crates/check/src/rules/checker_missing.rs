//! A design that is issued to be built from names a checker other than the designer.
//!
//! Whoever drew the slip reads over it.
//!
//! ## How it is worked out
//! `checker` must be there, and must not be the name that stands under `designer`.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, designer: A. Drawer}
//! #                                                                              ^^^^^^^^^ the design is for construction and no checker is named
//! ```
//! ```yaml fails
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, designer: A. Drawer, checker: a. drawer}
//! #                                                                                                  ^^^^^^^^^ the checker is the designer
//! ```
//! ```yaml passes
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, designer: A. Drawer, checker: B. Reader}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "checker-missing",
    group: Group::DesignFile,
    weights: [Silent, Silent, Warning, Warning],
    file: include_str!("checker_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let project = &inspection.design.project;
    if !inspection.is_read(project.place) {
        return;
    }
    let (place, message) = match (&project.designer, &project.checker) {
        (Some(designer), Some(checker)) if same_name(&designer.value, &checker.value) => {
            (checker.at, "the checker is the designer".to_string())
        }
        (_, Some(_)) => return,
        (designer, None) => {
            let place = designer.as_ref().map_or(inspection.stage_place(), |designer| designer.at);
            (place, format!("the design is {} and no checker is named", inspection.design.stage()))
        }
    };
    found.add(Finding::new(Subject::Project, place, message).source("common practice, no source"));
}

/// Whether two names are one, without regard to case and spaces.
fn same_name(one: &str, other: &str) -> bool {
    let letters =
        |name: &str| -> String { name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect() };
    letters(one) == letters(other)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_design_that_is_still_drawn_needs_no_checker() {
        assert!(messages(&RULE, "project: {stage: for comment, revision: P1, issued: 2026-05-04}\n").is_empty());
        let unnamed = "project: {stage: as built, revision: P1, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, unnamed), ["the design is as built and no checker is named"]);
    }
}
