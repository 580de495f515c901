//! Every loop is tested under pressure before its pipe is covered, and the test is recorded.
//!
//! The hour before the screed comes is the only cheap moment to find a leak. A leak found under a
//! finished floor costs the floor.
//!
//! ## How it is worked out
//! A test counts for the loops that it names, for those of the manifolds that it names, or for all. The
//! rule asks once the records say that the pipe is covered, and of a design `as built` in any case.
//!
//! ## Limit
//! EN 1264-4:2021, 4.2.3: loops are tested for leaks before the screed is laid.
//!
//! Any pressure test stores energy: people have been killed by fittings and hoses let go. Water first; cut
//! off whatever does not stand the pressure; nobody tightens a fitting under pressure.
//!
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//! #               ^^^^^^^^^^ the pipe was covered and no pressure test is recorded
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!   pipe-covered: 2026-03-06
//! ```
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-04, loops: [L1], pressure: 6 bar, duration: 60 min, end-pressure: 5.9 bar}
//!   pipe-covered: 2026-03-06
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! # ^^ no pressure test of loop L2 is recorded
//! ```

use super::prelude::*;
use crate::records::OnSite;
use design::Stage;

pub static RULE: Rule = Rule {
    name: "pressure-test-missing",
    group: Group::Records,
    weights: [Error; 4],
    takes_departures: false,
    caution: Some(
        "A pressure test stores energy; fittings and hoses that let go have killed. Water first, by a written method.",
    ),
    file: include_str!("pressure_test_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4:2021, 4.2.3";

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if inspection.design.loops.is_empty() || !inspection.is_read(records.place) {
        return;
    }
    let as_built = inspection.design.stage() == Stage::AsBuilt;
    let on_site = OnSite::of(inspection);
    if records.pressure_tests.is_empty() {
        if let Some(covered) = on_site.first_covered() {
            let message = "the pipe was covered and no pressure test is recorded";
            found.add(Finding::new(Subject::Records, covered.at, message).source(SOURCE));
        } else if as_built {
            let message = "no pressure test is recorded; as built, every loop has one";
            found.add(Finding::new(Subject::Records, inspection.stage_place(), message).source(SOURCE));
        }
        return;
    }
    let tested = tested(inspection);
    for (it, tested) in inspection.loops().zip(tested) {
        let covered = on_site.covered(it.worked);
        if !tested && (as_built || covered.is_some()) {
            let message = format!("no pressure test of loop {} is recorded", it.name);
            let mut finding = Finding::new(it.subject, it.place, message).source(SOURCE);
            if let Some(covered) = covered {
                finding = finding.related(covered.at, "the pipe was covered on this day");
            }
            found.add(finding);
        }
    }
}

/// Of each loop, whether a test counts for it.
fn tested(inspection: &Inspection) -> Vec<bool> {
    let design = inspection.design;
    let mut tested = vec![false; design.loops.len()];
    for test in &design.records.pressure_tests {
        for at in loops_of(inspection, test) {
            tested[at] = true;
        }
    }
    tested
}

/// The loops that a test counts for.
pub(crate) fn loops_of<'i>(
    inspection: &Inspection<'i>,
    test: &'i design::PressureTest,
) -> impl Iterator<Item = usize> + 'i {
    let (design, workings) = (inspection.design, inspection.workings);
    let every = test.loops.is_empty() && test.manifolds.is_empty();
    let manifolds = test.manifolds.iter().filter_map(|it| design.manifolds.position(&it.name));
    let of_manifolds = manifolds.filter_map(|at| workings.manifolds.get(at)).flat_map(|it| it.loops.iter().copied());
    let named = test.loops.iter().filter_map(|it| design.loops.position(&it.name));
    named.chain(of_manifolds).chain(if every { 0..design.loops.len() } else { 0..0 })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    #[test]
    fn before_anything_is_covered_nothing_is_missing() {
        assert!(messages(&RULE, "records: {}\n").is_empty());
        assert!(messages(&RULE, "loops: {}\nrecords: {pipe-covered: 2026-03-06}\n").is_empty());
    }

    #[test]
    fn a_design_as_built_has_its_tests() {
        let built = "project: {revision: P1, stage: as built, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, built), ["no pressure test is recorded; as built, every loop has one"]);
        let by_manifold = format!("{built}records: {{pressure-test: {{manifolds: M1}}}}\n");
        assert!(messages(&RULE, &by_manifold).is_empty());
    }

    #[test]
    fn one_cause_one_finding() {
        assert!(messages(&RULE, "records: {pipe-covered: 2026-03-06, presure-test: {}}\n").is_empty());
    }

    #[test]
    fn no_departure_is_taken() {
        let text = "records: {pipe-covered: 2026-03-06}\ndepartures:\n  - {rule: pressure-test-missing, reason: \
                    haste, agreed-by: nobody, until: 2027-01-01}\n";
        assert!(check(text).departed.is_empty());
    }
}
