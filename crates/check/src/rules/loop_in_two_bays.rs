//! Each bay of screed has loops of its own.
//!
//! A loop that heats the floor on both sides of a movement joint is bent at the joint with every heating day, and one
//! bay cannot be left cool while the other is warm.
//!
//! ## How it is worked out
//! The bays as for `bay-over-forty`, and the length of each drawn loop in each, in the rooms that it heats: tails that pass
//! other rooms heat no bay, however long they are. A loop heats a bay where its pipe there, half a spacing to either side,
//! covers two fifths of the bay or is longer than the way round it: tails on their way to another bay of the same room do neither.
//!
//! ## Limit
//! One bay a loop: common practice, no source; it follows from `heated-run-crosses-joint`.
//!
//! ## Exceptions
//! Where more than flow and return cross a joint, `heated-run-crosses-joint` speaks.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 1.2], [0, 1.2]]}
//! movement-joints:
//!   J1: {line: [[3, 0], [3, 1.2]]}
//! loops:
//!   L1:
//! # ^^ loop L1 heats 2 bays, 17.2 m in one and 17.6 m in another; each bay wants loops of its own
//!     room: hall
//!     spacing: 200 mm
//!     route: [[0.1, 0.1], [2.8, 0.1], [2.8, 0.3], [0.1, 0.3], [0.1, 0.5], [5.9, 0.5], [5.9, 0.1], [3.2, 0.1], [3.2, 0.3], [5.7, 0.3], [5.7, 0.7], [3.2, 0.7], [3.2, 0.9], [5.9, 0.9], [5.9, 1.1], [2.8, 1.1], [2.8, 0.9], [0.1, 0.9], [0.1, 0.7], [2.7, 0.7], [2.7, 0.8], [0.2, 0.8]]
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 1.2], [0, 1.2]]}
//! movement-joints:
//!   J1: {line: [[3, 0], [3, 1.2]]}
//! loops:
//!   L1:
//!     room: hall
//!     spacing: 200 mm
//!     route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.3], [3.2, 0.3], [3.2, 0.5], [5.9, 0.5], [5.9, 0.7], [3.2, 0.7], [3.2, 0.9], [5.9, 0.9], [5.9, 1.1], [0.1, 1.1]]
//! ```

use super::prelude::*;
use super::sleeve_missing_at_joint::MOST_CROSSINGS;
use super::sleeve_missing_at_wall::is_drawn;
use design::Place;
use workings::{BayWorkings, Crossed};

pub static RULE: Rule = Rule {
    name: "loop-in-two-bays",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[COVERED],
    file: include_str!("loop_in_two_bays.rs"),
    check,
    ..Rule::USUAL
};

const COVERED: Limit = Limit { name: "share-of-a-bay-heated", value: "40 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let plan = &inspection.workings.plan;
    let covered = COVERED.get::<Share>(&RULE, inspection).value.in_fraction();
    let design = inspection.design;
    let mut of_loops: Vec<Vec<(&BayWorkings, Length)>> = vec![Vec::new(); design.loops.len()];
    let mut bays_of_rooms = vec![0; design.rooms.len()];
    for bay in &plan.bays {
        for room in &bay.rooms {
            bays_of_rooms[*room] += 1;
        }
        let around = bay.bay.least_rectangle();
        let around = (around.long_side + around.short_side) * 2.0;
        for (at, length) in &bay.loops {
            let spacing = design.loops.at(*at).and_then(|(_, it)| it.value.spacing).map(|it| it.value);
            let covers = spacing.is_some_and(|spacing| *length * spacing >= bay.bay.area() * covered);
            if covers || *length > around {
                of_loops[*at].push((bay, *length));
            }
        }
    }
    for ((at, it), bays) in inspection.loops().enumerate().zip(of_loops) {
        if !matches!(it.worked.route, Some(Ok(_))) {
            if it.worked.rooms.iter().map(|room| bays_of_rooms[*room]).sum::<usize>() > 1 {
                is_drawn(&it, found);
            }
            continue;
        }
        let runs_cross = plan.crossings[at].iter().any(|crossing| {
            matches!(crossing.what, Crossed::MovementJoint(_)) && crossing.passages.len() > MOST_CROSSINGS
        });
        let [(_, one), (_, other), ..] = bays[..] else { continue };
        if runs_cross {
            continue;
        }
        let message = format!(
            "loop {} heats {} bays, {one} in one and {other} in another; each bay wants loops of its own",
            it.name,
            bays.len()
        );
        let mut finding =
            Finding::new(it.subject, it.place, message).value(Number::new(bays.len() as f64)).source(COVERED.source);
        for (bay, length) in bays.iter().take(20) {
            let room = bay.rooms.first().and_then(|room| design.rooms.at(*room));
            let Some((name, room)) = room else { continue };
            let place: Place = room.value.outline.as_ref().map_or(room.name_place, |outline| outline.at);
            let low = bay.bay.outline.bounds().low;
            finding =
                finding.related(place, format!("{length} in the bay of {name} from [{:.2}, {:.2}] on", low.x, low.y));
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    /// Two bays of 3 m by 4 m, and a loop of so many runs in each, between which it goes over once and back once.
    fn text(runs: usize) -> String {
        let mut points: Vec<[f64; 2]> = vec![[0.1, 0.1]];
        for run in 0..runs {
            let y = 0.3 + 0.2 * run as f64;
            let (near, far) = if run % 2 == 0 { (0.1, 2.9) } else { (2.9, 0.1) };
            points.extend([[near, y], [far, y]]);
        }
        let last = points[points.len() - 1][1];
        points.extend([[2.9, last], [3.1, last]]);
        for run in 0..runs {
            let y = last - 0.2 * run as f64;
            let (near, far) = if run % 2 == 0 { (3.1, 5.9) } else { (5.9, 3.1) };
            points.extend([[near, y], [far, y]]);
        }
        points.push([5.9, 0.1]);
        points.push([0.1, 0.1]);
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [6, 0], [6, 4], [0, 4]]}}\nmovement-joints: {{J1: {{line: [[3, 0], [3, \
             4]]}}}}\nloops:\n  L1: {{room: hall, spacing: 200 mm, route: {points:?}}}\n"
        )
    }

    #[test]
    fn the_way_round_a_bay_is_heating_it() {
        // 3 m by 4 m: 14 m round it.
        assert_eq!(messages(&RULE, &text(3)), [""; 0]);
        assert_eq!(messages(&RULE, &text(5)).len(), 1);
    }

    /// Pipe of 17 m in each of two bays that are 8.4 m round: of a loop that heats them, and of one that only passes.
    #[test]
    fn tails_heat_no_bay_of_another_room() {
        let said = |rooms: &str, heated: &str| {
            let text = format!(
                "rooms:\n  {rooms}\n  attic: {{floor: screeded, outline: [[0, 2], [6, 2], [6, 4], [0, 4]]}}\nmovement-joints: {{J1: {{line: [[3, \
                 0], [3, 1.2]]}}}}\nloops:\n  L1: {{room: {heated}, spacing: 200 mm, route: [[0.1, 0.1], [2.8, 0.1], [2.8, 0.3], [0.1, 0.3], [0.1, \
                 0.5], [5.9, 0.5], [5.9, 0.1], [3.2, 0.1], [3.2, 0.3], [5.7, 0.3], [5.7, 0.7], [3.2, 0.7], [3.2, 0.9], [5.9, 0.9], [5.9, 1.1], \
                 [2.8, 1.1], [2.8, 0.9], [0.1, 0.9], [0.1, 0.7], [2.7, 0.7], [2.7, 0.8], [0.2, 0.8]]}}\n"
            );
            messages(&RULE, &text).len()
        };
        let one = "hall: {floor: screeded, outline: [[0, 0], [6, 0], [6, 1.2], [0, 1.2]]}";
        assert_eq!((said(one, "hall"), said(one, "attic"), said(one, "[hall, attic]")), (1, 0, 1));
        let two = "hall: {floor: screeded, outline: [[0, 0], [3, 0], [3, 1.2], [0, 1.2]]}\n  study: {floor: screeded, outline: [[3, 0], [6, 0], [6, \
                   1.2], [3, 1.2]]}";
        assert_eq!((said(two, "hall"), said(two, "[hall, study]")), (0, 1));
    }

    #[test]
    fn a_loop_that_is_not_drawn_is_not_checked_where_there_are_two() {
        let text = |joint: &str| {
            format!(
                "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [6, 0], [6, 4], [0, 4]]}}\nloops:\n  L1: {{room: hall, spacing: 200 mm}}\n\
                 movement-joints: {{{joint}}}\n"
            )
        };
        assert_eq!(not_checked(&RULE, &text("J1: {line: [[3, 0], [3, 4]]}")), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, &text("")), [""; 0]);
    }
}
