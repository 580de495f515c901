//! Every heated room is photographed before its pipe is covered, with a tape in view.
//!
//! A drawing says where the pipe was meant to go, a photograph where it went. It is what the next trade
//! looks at before it drills.
//!
//! ## How it is worked out
//! Photographs count for the rooms that they name, or for all. The rule asks once the records say that the
//! pipe is covered, and of a design `as built` in any case. Fewer than two of each room, no tape in view, or
//! no picture of the manifold with its labels is a warning.
//!
//! ## Limit
//! Two of each room: common practice, no source.
//!
//! ```yaml fails
//! records:
//!   pipe-covered: 2026-03-06
//! #               ^^^^^^^^^^ the pipe was covered and no photographs of it are recorded
//! ```
//! ```yaml passes
//! records:
//!   photographs: {taken: 2026-03-04, of-each-room: 2, with-tape: true, manifold-labels: true}
//!   pipe-covered: 2026-03-06
//! ```
//! ```yaml fails
//! records:
//!   photographs: {taken: 2026-03-04, of-each-room: 1, with-tape: false, manifold-labels: true}
//! #                                                ^ 1 photograph of each room was taken; 2 are the least
//! #                                                              ^^^^^ the photographs show no tape to measure by
//!   pipe-covered: 2026-03-06
//! ```

use super::prelude::*;
use crate::records::{OnSite, named};
use design::Stage;

pub static RULE: Rule = Rule {
    name: "photographs-missing",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[LEAST],
    file: include_str!("photographs_missing.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "of-each-room", value: "2", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if inspection.design.loops.is_empty() {
        return;
    }
    poor(inspection, found);
    if !inspection.is_read(records.place) {
        return;
    }
    let as_built = inspection.design.stage() == Stage::AsBuilt;
    let on_site = OnSite::of(inspection);
    if records.photographs.is_empty() {
        let (place, message) = match on_site.first_covered() {
            Some(covered) => (covered.at, "the pipe was covered and no photographs of it are recorded"),
            None if as_built => {
                (inspection.stage_place(), "no photographs of the pipe before it was covered are recorded")
            }
            None => return,
        };
        found.add(Finding::new(Subject::Records, place, message).source(LEAST.source));
        return;
    }
    if records.photographs.iter().any(|it| it.rooms.is_empty()) {
        return;
    }
    let mut shown = vec![false; inspection.design.rooms.len()];
    records.photographs.iter().flat_map(|it| named(inspection, &it.rooms)).for_each(|room| shown[room] = true);
    for (at, it) in inspection.rooms().enumerate() {
        if !shown[at] && !it.worked.loops.is_empty() && (as_built || on_site.room(at).covered.is_some()) {
            let message = format!("no photographs of the pipe in room {} are recorded", it.name);
            found.add(Finding::new(it.subject, it.place, message).source(LEAST.source));
        }
    }
}

/// Photographs that are recorded and show too little.
fn poor(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Number>(&RULE, inspection);
    for it in &inspection.design.records.photographs {
        match it.of_each_room {
            None => found.missing(Subject::Records, "photographs/of-each-room"),
            Some(number) if f64::from(number.value) < least.value.get() => {
                let (photographs, were) =
                    if number.value == 1 { ("photograph", "was") } else { ("photographs", "were") };
                let message =
                    format!("{} {photographs} of each room {were} taken; {} are the least", number.value, least.value);
                let finding = Finding::new(Subject::Records, number.at, message).limit(&least);
                found.add_as(Warning, finding.value(Number::new(number.value.into())));
            }
            Some(_) => {}
        }
        let shows = [
            (it.with_tape, "photographs/with-tape", "the photographs show no tape to measure by"),
            (
                it.manifold_labels,
                "photographs/manifold-labels",
                "the photographs do not show the manifold with its labels",
            ),
        ];
        for (given, key, message) in shows {
            match given {
                None => found.missing(Subject::Records, key),
                Some(shown) if !shown.value => {
                    found.add_as(Warning, Finding::new(Subject::Records, shown.at, message).source(LEAST.source));
                }
                Some(_) => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn before_the_pipe_is_covered_nothing_is_missing() {
        assert!(messages(&RULE, "records: {}\n").is_empty());
        let built = "project: {revision: P1, stage: as built, issued: 2026-05-04}\n";
        assert_eq!(messages(&RULE, built), ["no photographs of the pipe before it was covered are recorded"]);
    }

    #[test]
    fn each_heated_room_is_shown() {
        let text = "records:\n  photographs: {rooms: hall, of-each-room: 2, with-tape: true, manifold-labels: true}\n  \
                    pipe-covered: 2026-03-06\n";
        assert_eq!(messages(&RULE, text), ["no photographs of the pipe in room study are recorded"]);
    }
}
