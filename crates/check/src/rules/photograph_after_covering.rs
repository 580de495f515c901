//! Photographs of the pipe are taken before it is covered.
//!
//! A picture of screed shows no pipe.
//!
//! ## How it is worked out
//! The earliest photographs of each room are held against the day its pipe was covered: its screed, or
//! `pipe-covered`. Photographs of the same day pass.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! records:
//!   photographs: {taken: 2026-03-08, of-each-room: 2, with-tape: true, manifold-labels: true}
//! #                      ^^^^^^^^^^ the photographs were taken 2 days after the pipe was covered on 2026-03-06
//!   pipe-covered: 2026-03-06
//! ```
//! ```yaml passes
//! records:
//!   photographs: {taken: 2026-03-04, of-each-room: 2, with-tape: true, manifold-labels: true}
//!   pipe-covered: 2026-03-06
//! ```

use super::prelude::*;
use crate::records::{OnSite, days_after, rooms_of};

pub static RULE: Rule = Rule {
    name: "photograph-after-covering",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("photograph_after_covering.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source";

fn check(inspection: &Inspection, found: &mut Findings) {
    let photographs = &inspection.design.records.photographs;
    let mut earliest = vec![None; inspection.design.rooms.len()];
    for (at, it) in photographs.iter().enumerate() {
        if let Some(before) = it.before_covering.filter(|before| !before.value) {
            let message = "the photographs were taken after the pipe was covered";
            found.add(Finding::new(Subject::Records, before.at, message).source(SOURCE));
            continue;
        }
        let Some(taken) = it.taken else {
            if it.before_covering.is_none() {
                found.missing(Subject::Records, "photographs/taken");
            }
            continue;
        };
        for room in rooms_of(inspection, &it.rooms) {
            if earliest[room].is_none_or(|(_, other)| taken.value < other) {
                earliest[room] = Some((at, taken.value));
            }
        }
    }
    if photographs.is_empty() {
        return;
    }
    let on_site = OnSite::of(inspection);
    let mut said = vec![false; photographs.len()];
    for (room, earliest) in earliest.into_iter().enumerate() {
        let (Some((at, _)), Some(covered)) = (earliest, on_site.room(room).covered) else { continue };
        let taken = photographs[at].taken.filter(|taken| taken.value > covered.value);
        let Some(taken) = taken.filter(|_| !said[at] && !inspection.workings.rooms[room].loops.is_empty()) else {
            continue;
        };
        said[at] = true;
        let late = days_after(&taken, &covered);
        let message = format!("the photographs were taken {late} after the pipe was covered on {}", covered.value);
        let finding = Finding::new(Subject::Records, taken.at, message).value(late).source(SOURCE);
        found.add(finding.related(covered.at, "the pipe was covered on this day"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn taken(photographs: &str) -> Vec<String> {
        messages(&RULE, &format!("records:\n  photographs: {photographs}\n  pipe-covered: 2026-03-06\n"))
    }

    #[test]
    fn the_same_day_passes_and_earlier_ones_count() {
        assert!(taken("{taken: 2026-03-06}").is_empty());
        assert_eq!(taken("{taken: 2026-03-07}").len(), 1);
        assert!(taken("[{taken: 2026-03-07}, {taken: 2026-03-05}]").is_empty());
    }

    #[test]
    fn the_record_may_say_so_itself() {
        assert_eq!(taken("{before-covering: false}"), ["the photographs were taken after the pipe was covered"]);
        assert!(not_checked(&RULE, "records: {photographs: {before-covering: true}}\n").is_empty());
        assert_eq!(not_checked(&RULE, "records: {photographs: {rooms: hall}}\n"), ["records/photographs/taken"]);
    }
}
