//! Pipes lie so far apart that each can be held by itself.
//!
//! Between two pipes that nearly touch no clip fits and no screed flows; the floor is warm in a streak there, and what the one
//! pipe carries away the other brings back. Where they are nearer than their diameter they cannot lie in one layer at all.
//!
//! ## How it is worked out
//! The drawn routes of each storey, with each corner rounded to the bend of the pipe, are held against each other, against those
//! that are laid out, and each against itself: from middle to middle. The last half metre at the manifold, where pipes fan out to
//! their ports, is not looked at. Of two that cross or lie on each other `loops-cross` or `pipe-crosses-itself` tells it. Of
//! pipe that is all laid out `layout-falls-short` tells it, by the same measure.
//!
//! ## Limit
//! The outside diameter and 6 mm, so that a clip holds each of them: common practice, no source. A millimetre less is let pass. Where pipe would lie in
//! pipe it is as grave as where they cross; else it is a warning once it is to be built.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//!   L2: {room: hall, pipe: PEX-16, route: [[6, 1.2], [4, 1.2], [4, 1.018], [2, 1.018], [2, 1.5], [6, 1.5]]}
//! #                                                            ^^^^^^^^^^ loop L2 comes within 18 mm of loop L1 at [2.08, 1.02], middle to middle; 22 mm is the least
//! ```
//! ```yaml passes
//! loops:
//!   L1: {room: hall, pipe: PEX-16, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}
//!   L2: {room: hall, pipe: PEX-16, route: [[6, 1.2], [4, 1.2], [4, 1.025], [2, 1.025], [2, 1.5], [6, 1.5]]}
//! ```

use super::pipe_crosses_itself::{counts, not_all_counted};
use super::prelude::*;
use engineering::plan::{PipeGap, Point, least_between};
use std::collections::HashSet;
use workings::leg_place;

pub static RULE: Rule = Rule {
    name: "pipe-too-near-pipe",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("pipe_too_near_pipe.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let loops: Vec<_> = inspection.loops().collect();
    for it in loops.iter().filter(|it| it.given.route.is_some()) {
        if let Err(gap) = &it.worked.pipe {
            found.not_checked(it.subject, gap);
        }
    }
    let plan = &inspection.workings.plan;
    let meet: HashSet<[usize; 2]> = (plan.meetings.iter().filter(|it| counts(inspection, it)))
        .map(|it| [it.first.route, it.second.route])
        .collect();
    for near @ PipeGap { pipes: [one, other], .. } in &plan.pipe_gaps {
        let (Some(one), Some(other)) = (loops.get(*one), loops.get(*other)) else { continue };
        if meet.contains(&near.pipes) {
            continue;
        }
        // It is told of one that is drawn.
        let ((it, at), (beside, there)) = match other.given.route.is_some() {
            true => ((other, near.at[1]), (one, near.at[0])),
            false => ((one, near.at[0]), (other, near.at[1])),
        };
        let [one, other] = [it, beside].map(|it| it.worked.pipe.as_ref().map_or(Length::ZERO, |pipe| pipe.outside));
        let outside = one.max(other);
        let itself = near.pipes[0] == near.pipes[1];
        let of_what = if itself { "itself".to_string() } else { format!("loop {}", beside.name) };
        let message = format!(
            "loop {} comes within {} of {of_what} at [{:.2}, {:.2}], middle to middle; {} is the least",
            it.name,
            near.gap,
            at.x,
            at.y,
            least_between(outside)
        );
        let leg = |it: &crate::inspection::Item<design::Loop, workings::LoopWorkings>, at: Point| {
            let route = it.worked.route.as_ref().and_then(|route| route.as_ref().ok());
            leg_place(it.given, route.map_or(0, |route| route.leg_nearest(at)))
        };
        let related = if itself { "it lies here already".to_string() } else { format!("{of_what} lies here") };
        let finding = Finding::new(it.subject, leg(it, at), message)
            .value(near.gap)
            .limit(&LimitValue::new(least_between(outside), "common practice, no source"))
            .related(leg(beside, there), related);
        let weight = match RULE.weight(inspection.design.stage()) {
            Error if !is_in_pipe(near.gap, outside) => Warning,
            usual => usual,
        };
        found.add_as(weight, finding);
    }
    not_all_counted(inspection, found);
}

/// Whether pipes so far apart would lie in each other.
pub(super) fn is_in_pipe(gap: Length, outside: Length) -> bool {
    gap < outside - Length::millimetres(1.0)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::{check, messages, not_checked};

    fn text(one: &str, other: &str) -> String {
        let of = |name: &str, route: &str| format!("  {name}: {{room: hall, pipe: PEX-16, route: {route}}}\n");
        format!("loops:\n{}{}", of("L1", one), of("L2", other))
    }

    const ONE: &str = "[[6, 1], [1, 1], [1, 2], [6, 2]]";

    #[test]
    fn a_crossing_is_told_once() {
        assert_eq!(messages(&RULE, &text(ONE, "[[6, 1.2], [3, 1.2], [3, 0], [6, 0]]")), [""; 0]);
        assert_eq!(messages(&RULE, &text(ONE, "[[6, 1], [3, 1], [3, 1.5], [6, 1.5]]")), [""; 0]);
    }

    /// A 16 mm pipe 12 mm beside another one would lie in it.
    #[test]
    fn pipe_in_pipe_is_as_grave_as_a_crossing() {
        let severity = |beside: &str| {
            let other = format!("[[6, 1.2], [4, 1.2], [4, {beside}], [2, {beside}], [2, 1.5], [6, 1.5]]");
            let found = check(&text(ONE, &other)).findings;
            found.into_iter().find(|it| it.rule.name == RULE.name).map(|it| it.severity)
        };
        assert_eq!(severity("1.012"), Some(Severity::Error));
        assert_eq!(severity("1.017"), Some(Severity::Warning));
        assert_eq!(severity("1.022"), None);
    }

    /// The corner is drawn 10 mm from the other pipe; its bend of 75 mm lies 75 (√2 - 1) = 31 mm farther back.
    #[test]
    fn bends_count_as_they_will_be_built() {
        let corner = "[[6, 1.8], [3.79, 1.8], [3, 1.01], [2.21, 1.8]]";
        assert_eq!(messages(&RULE, &text(ONE, corner)), [""; 0]);
        let blunt = corner.replace("[3, 1.01]", "[3.1, 1.01], [2.9, 1.01]");
        assert_eq!(messages(&RULE, &text(ONE, &blunt)).len(), 1);
    }

    #[test]
    fn tails_may_be_near_beside_the_manifold() {
        let other = "[[6, 1.01], [5.6, 1.01], [5.6, 1.3], [2, 1.3], [2, 1.6], [6, 1.6]]";
        assert_eq!(messages(&RULE, &text(ONE, other)), [""; 0]);
    }

    #[test]
    fn pipe_beside_itself_is_told() {
        let route = "[[6, 1], [1, 1], [1, 2], [2, 2], [2, 1.02], [3, 1.02], [3, 2], [6, 2]]";
        let said = messages(&RULE, &format!("loops:\n  L1: {{room: hall, pipe: PEX-16, route: {route}}}\n"));
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("loop L1 comes within 20 mm of itself at ["), "{said:?}");
    }

    #[test]
    fn without_its_pipe_a_loop_is_not_checked() {
        let text = "loops:\n  L1: {room: hall, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/pipe"]);
    }
}
