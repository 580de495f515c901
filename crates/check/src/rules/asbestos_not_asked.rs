//! Before an old floor is lifted somebody asks for asbestos.
//!
//! Floor tiles, bitumen glue, screeds and lagging of old buildings may hold it. Breaking them without knowing puts fibres
//! into the lungs of everybody on site.
//!
//! ## How it is worked out
//! Asked of every scope but a new building, where the building is older than 2000: `site/asbestos-enquiry` must say
//! what the enquiry found.
//!
//! ## Limit
//! Buildings before 2000: common practice, no source; local law.
//!
//! Do not disturb the floor until it is answered.
//!
//! ```yaml fails
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, scope: renovation}
//! site: {built: 1965, jurisdiction: England, outdoor-temperature: -3 °C}
//! #             ^^^^ the building is of 1965 and no enquiry for asbestos is recorded; it is asked for before 2000
//! ```
//! ```yaml passes
//! project: {stage: for construction, revision: P1, issued: 2026-05-04, scope: renovation}
//! site: {built: 1965, jurisdiction: England, outdoor-temperature: -3 °C, asbestos-enquiry: survey of 2026-02-02 found none}
//! ```

use super::prelude::*;
use design::Scope;

pub static RULE: Rule = Rule {
    name: "asbestos-not-asked",
    group: Group::Safety,
    weights: [Information, Warning, Warning, Warning],
    caution: Some("Do not disturb the floor until answered."),
    file: include_str!("asbestos_not_asked.rs"),
    check,
    ..Rule::USUAL
};

/// The first year whose buildings are taken to be free of it.
const FREE_FROM: u32 = 2000;

fn check(inspection: &Inspection, found: &mut Findings) {
    let (site, scope) = (&inspection.design.site, inspection.design.project.scope);
    let said = site.asbestos_enquiry.as_ref().is_some_and(|enquiry| !enquiry.value.trim().is_empty());
    if said || scope.is_some_and(|scope| scope.value == Scope::NewBuilding) || !inspection.is_read(site.place) {
        return;
    }
    match (site.built, scope) {
        (Some(built), None) if built.value < FREE_FROM => found.missing(Subject::Project, "scope"),
        (Some(built), Some(_)) if built.value < FREE_FROM => {
            let message = format!(
                "the building is of {} and no enquiry for asbestos is recorded; it is asked for before {FREE_FROM}",
                built.value
            );
            found.add(Finding::new(Subject::Site, built.at, message).source("common practice, no source; local law"));
        }
        (None, Some(_)) => found.missing(Subject::Site, "built"),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn work(scope: &str, built: &str) -> Vec<String> {
        messages(&RULE, &format!("project: {{stage: for comment, {scope}}}\nsite: {{{built}}}\n"))
    }

    #[test]
    fn the_year_two_thousand_is_the_limit() {
        assert_eq!(work("scope: conversion", "built: 1999").len(), 1);
        assert!(work("scope: conversion", "built: 2000").is_empty());
        assert!(work("scope: new building", "built: 1900").is_empty());
    }

    #[test]
    fn what_is_not_said_is_not_checked() {
        let text = "project: {stage: for comment, scope: extension}\nsite: {}\n";
        assert_eq!(not_checked(&RULE, text), ["site/built"]);
        assert_eq!(not_checked(&RULE, "project: {stage: for comment}\nsite: {built: 1950}\n"), ["project/scope"]);
    }
}
