//! For gas, electrical and unvented hot-water work a competent person is named.
//!
//! The checker looks at water temperatures and lengths. It sees nothing of flues, cables and safety valves, and somebody
//! must.
//!
//! ## How it is worked out
//! By `project/competent-people`: `fuel` where the source burns gas, oil or solid fuel; `electrical` for every
//! heated floor with its pumps and controls, and for electric mats; `hot-water` where hot tap water is stored.
//!
//! ## Limit
//! Local law.
//!
//! ```yaml fails
//! project:
//!   stage: for construction
//! #        ^^^^^^^^^^^^^^^^ no competent person is named for electrical work
//! #        ^^^^^^^^^^^^^^^^ no competent person is named for hot-water work
//!   revision: P1
//!   issued: 2026-05-04
//!   checker: B. Reader
//! ```
//! ```yaml passes
//! project:
//!   stage: for construction
//!   revision: P1
//!   issued: 2026-05-04
//!   checker: B. Reader
//!   competent-people: {electrical: D. Wire, hot-water: E. Store}
//! ```

use super::prelude::*;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "licensed-work-not-named",
    group: Group::Safety,
    weights: [Silent, Silent, Warning, Warning],
    caution: Some("Gas, oil, refrigerant, electrical and unvented hot-water work is for licensed people only."),
    file: include_str!("licensed_work_not_named.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let people = &design.project.competent_people;
    if !inspection.is_read(design.project.place) {
        return;
    }
    let burns = design
        .heat_source
        .kind
        .filter(|kind| matches!(kind.value, SourceKind::CondensingBoiler | SourceKind::Boiler | SourceKind::SolidFuel));
    let stored = design.safety.hot_water.as_ref().and_then(|it| it.store_temperature);
    let electrical = !design.loops.is_empty() || !design.electric_mats.is_empty();
    let wanted = [
        (burns.is_some(), &people.fuel, "fuel"),
        (electrical, &people.electrical, "electrical"),
        (stored.is_some(), &people.hot_water, "hot-water"),
    ];
    for (is_done, person, work) in wanted {
        if is_done && person.as_ref().is_none_or(|person| person.value.trim().is_empty()) {
            let message = format!("no competent person is named for {work} work");
            found.add(Finding::new(Subject::Project, inspection.stage_place(), message).source("local law"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_boiler_wants_its_own_person() {
        let project = "project: {stage: as built, revision: P1, issued: 2026-05-04, competent-people: {electrical: D. Wire, \
                       hot-water: E. Store}}\n";
        let source = |kind: &str| messages(&RULE, &format!("{project}heat-source: {{kind: {kind}}}\n"));
        assert!(source("heat pump").is_empty());
        assert_eq!(source("condensing boiler"), ["no competent person is named for fuel work"]);
        assert_eq!(source("solid fuel").len(), 1);
    }

    #[test]
    fn while_the_design_is_drawn_nobody_is_asked_for() {
        assert!(messages(&RULE, "project: {stage: for comment}\n").is_empty());
    }
}
