//! Notifiable work has the reference of its notice to building control.
//!
//! Work without its certificate stops the sale of the house years later.
//!
//! ## How it is worked out
//! Whether the work is notifiable is not checked here: the rule asks for `building-control-notice` from `for
//! construction` on, in the United Kingdom. Where none is needed, write why.
//!
//! ## Limit
//! Local regulations.
//!
//! ```yaml fails
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, checker: B. Reader}
//! #                ^^^^^^^^^^^^^^^^ no notice to building control is named; heating work may be notifiable in England
//! ```
//! ```yaml passes
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, checker: B. Reader, building-control-notice: BC-17}
//! ```

use super::prelude::*;
use design::Jurisdiction::{England, NorthernIreland, Scotland, Wales};

pub static RULE: Rule = Rule {
    name: "building-control-notice-missing",
    group: Group::Records,
    weights: [Silent, Silent, Information, Information],
    caution: Some("Assumes the jurisdiction and edition shown; rules change."),
    file: include_str!("building_control_notice_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let project = &inspection.design.project;
    let given = project.building_control_notice.as_ref().is_some_and(|notice| !notice.value.trim().is_empty());
    if given || !inspection.is_read(project.place) {
        return;
    }
    if !found.applies_in(inspection, &[England, Wales, Scotland, NorthernIreland]) {
        return;
    }
    let here = inspection.design.site.jurisdiction.map_or("", |here| here.value.word());
    let message = format!("no notice to building control is named; heating work may be notifiable in {here}");
    found.add(Finding::new(Subject::Project, inspection.stage_place(), message).source("local regulations"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn elsewhere_it_is_not_checked() {
        let project = "project: {stage: for construction}\n";
        assert!(messages(&RULE, &format!("{project}site: {{jurisdiction: France}}\n")).is_empty());
        assert_eq!(not_checked(&RULE, &format!("{project}site: {{}}\n")), ["site/jurisdiction"]);
        assert!(messages(&RULE, "project: {stage: for comment}\n").is_empty());
    }
}
