//! A manifold stands near the rooms that it feeds.
//!
//! Pipe that only leads to a room costs pressure and money, warms what it passes, and takes its length from the loop.
//!
//! ## How it is worked out
//! The tails of all its loops over the whole of their pipe.
//!
//! ## Limit
//! 25 %: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 26 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 200 mm, tails: 30 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ 56.0 m of the 171.0 m of pipe on manifold M1 only leads to its rooms, 32.7 %; 25 % is usual at most
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "manifold-far-from-rooms",
    group: Group::Manifold,
    // Where a manifold is built its pipe is laid.
    weights: [Hint, Hint, Hint, Silent],
    limits: &[MOST],
    file: include_str!("manifold_far_from_rooms.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-of-tails", value: "25 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Share>(&RULE, inspection);
    for it in inspection.manifolds() {
        let (mut tails, mut whole) = (Length::ZERO, Length::ZERO);
        for at in &it.worked.loops {
            let worked = &inspection.workings.loops[*at];
            let subject = Subject::Loop(*at);
            // One loop that is not known leaves the others to be judged.
            if let (Some(tail), Some(length)) =
                (found.need(subject, &worked.tail_length), found.need(subject, &worked.length))
            {
                tails += tail.value;
                whole += length.value;
            }
        }
        if whole <= Length::ZERO || tails <= whole * most.value.in_fraction() {
            continue;
        }
        let share = Share::fraction(tails / whole);
        let message = format!(
            "{tails} of the {whole} of pipe on manifold {} only leads to its rooms, {share}; {} is usual at most",
            it.name, most.value
        );
        let place = it.given.at.map_or(it.place, |at| at.at);
        found.add(Finding::new(it.subject, place, message).value(share).limit(&most));
    }
}
