//! Holes through the floor are made before the pipe is laid.
//!
//! A core drill for a soil pipe or a gully goes through whatever lies there, and no one sees a pipe in screed.
//!
//! ## How it is worked out
//! `before-pipe` of each hole; or the day it was `made` against the day on which pipe was first covered or tested.
//!
//! ## Limit
//! Every hole before the pipe: EN 1264-4:2021 cl. 4.2.2, clause seen in a public excerpt.
//!
//! ```yaml fails
//! floor-holes:
//!   soil: {at: [1, 1], diameter: 110 mm, for: soil pipe, before-pipe: false}
//! #                                                                   ^^^^^ hole soil is to be made after the pipe is laid
//! ```
//! ```yaml passes
//! floor-holes:
//!   soil: {at: [1, 1], diameter: 110 mm, for: soil pipe, before-pipe: true}
//! ```

use super::prelude::*;
use crate::records::{OnSite, days_after};

pub static RULE: Rule = Rule {
    name: "floor-holes-not-made-first",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("floor_holes_not_made_first.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4:2021 cl. 4.2.2, seen in a public excerpt";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.floor_holes.is_empty() || design.loops.is_empty() {
        return;
    }
    let tested = design.records.pressure_tests.iter().filter_map(|test| test.date);
    let laid = OnSite::of(inspection).first_covered().into_iter().chain(tested).min_by_key(|day| day.value);
    for (at, (name, entry)) in design.floor_holes.iter().enumerate() {
        let (subject, hole) = (Subject::FloorHole(at), &entry.value);
        let told = |message: String, place| Finding::new(subject, place, message).source(SOURCE);
        match (hole.made, laid, hole.before_pipe) {
            (Some(made), Some(laid), _) if made.value > laid.value => {
                let late = days_after(&made, &laid);
                let message = format!("hole {name} is made {late} after the pipe lay there to be covered or tested");
                found.add(told(message, made.at).value(late).related(laid.at, "the pipe lay on this day"));
            }
            (_, _, Some(before)) if !before.value => {
                found.add(told(format!("hole {name} is to be made after the pipe is laid"), before.at));
            }
            (Some(_), Some(_), _) | (_, _, Some(_)) => {}
            _ if !hole.broken => found.missing(subject, "before-pipe"),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(hole: &str, records: &str) -> String {
        format!("floor-holes: {{soil: {{{hole}}}}}\nrecords: {{{records}}}\n")
    }

    #[test]
    fn on_the_day_itself_it_is_early_enough() {
        let says = |made: &str| messages(&RULE, &text(&format!("made: {made}"), "pipe-covered: 2026-05-20"));
        assert_eq!(says("2026-05-20"), [""; 0]);
        assert_eq!(says("2026-05-22"), ["hole soil is made 2 days after the pipe lay there to be covered or tested"]);
        let tested = text("made: 2026-05-20, before-pipe: true", "pressure-test: {date: 2026-05-19}");
        assert_eq!(messages(&RULE, &tested).len(), 1);
    }

    #[test]
    fn without_a_word_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("at: [1, 1]", "")), ["floor-holes/soil/before-pipe"]);
        assert_eq!(not_checked(&RULE, &text("made: 2026-05-20", "")), ["floor-holes/soil/before-pipe"]);
    }
}
