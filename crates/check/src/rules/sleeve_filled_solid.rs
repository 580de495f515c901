//! A sleeve is filled with something soft, and in a fire wall with a named fire-stopping system.
//!
//! The sleeve is there so that the pipe can move. Filled with mortar or hard sealant it holds the pipe
//! as fast as the wall would. Where the wall must hold back fire, a soft fill lets fire through.
//!
//! ## How it is worked out
//! The `fill` of each sleeve is held against the kind of wall at which it stands.
//!
//! ## Limit
//! Soft fill, fire stopping in a fire wall: common practice, no source. What is asked of fire stopping
//! is for the building regulations of the place.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1: {room: hall, sleeves: [{at: W1, fill: solid}]}
//! #                                           ^^^^^ the sleeve of loop L1 at W1 is filled solid; the pipe in it must be free to move
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]]}
//! loops:
//!   L1: {room: hall, sleeves: [{at: W1, fill: soft}]}
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], kind: fire}
//! loops:
//!   L1: {room: hall, sleeves: [{at: W1, fill: soft}]}
//! #                                           ^^^^ the sleeve of loop L1 at W1 is filled soft; that wall must hold back fire
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], kind: fire}
//! loops:
//!   L1: {room: hall, sleeves: [{at: W1, fill: fire stopping}]}
//! ```

use super::prelude::*;
use design::{SleeveFill, WallKind};

pub static RULE: Rule = Rule {
    name: "sleeve-filled-solid",
    group: Group::JointsAndSleeves,
    weights: [Warning; 4],
    file: include_str!("sleeve_filled_solid.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    for it in inspection.loops() {
        for sleeve in &it.given.sleeves {
            let Some(name) = sleeve.value.at.as_ref().map(|at| &at.value.name) else { continue };
            let wall = design.walls.get(name);
            let fire = wall.and_then(|wall| wall.kind).is_some_and(|kind| kind.value == WallKind::Fire);
            let Some(fill) = sleeve.value.fill else {
                if fire {
                    found.missing(it.subject, "sleeves/…/fill");
                }
                continue;
            };
            let (why, better) = match (fill.value, fire) {
                (SleeveFill::Solid, false) => ("the pipe in it must be free to move", SleeveFill::Soft),
                (SleeveFill::Solid | SleeveFill::Soft, true) => {
                    ("that wall must hold back fire", SleeveFill::FireStopping)
                }
                _ => continue,
            };
            let message = format!("the sleeve of loop {} at {name} is filled {}; {why}", it.name, fill.value);
            found.add(
                Finding::new(it.subject, fill.at, message).source("common practice, no source").remedy(Remedy::new(
                    format!("fill it with {}", words(better)),
                    fill.at,
                    better.word(),
                )),
            );
        }
    }
}

fn words(fill: SleeveFill) -> &'static str {
    match fill {
        SleeveFill::Soft => "something soft",
        SleeveFill::Solid => "mortar",
        SleeveFill::FireStopping => "a fire-stopping system",
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(kind: &str, sleeve: &str) -> String {
        format!("walls:\n  W1: {{kind: {kind}}}\nloops:\n  L1: {{sleeves: [{sleeve}]}}\n")
    }

    #[test]
    fn each_wall_has_its_fill() {
        let said = |kind, fill| messages(&RULE, &text(kind, &format!("{{at: W1, fill: {fill}}}"))).len();
        assert_eq!(
            [said("partition", "soft"), said("partition", "solid"), said("partition", "fire stopping")],
            [0, 1, 0]
        );
        assert_eq!([said("fire", "soft"), said("fire", "solid"), said("fire", "fire stopping")], [1, 1, 0]);
    }

    #[test]
    fn the_fill_in_a_fire_wall_must_be_known() {
        assert_eq!(not_checked(&RULE, &text("fire", "W1")), ["loops/L1/sleeves/…/fill"]);
        assert_eq!(not_checked(&RULE, &text("partition", "W1")), [""; 0]);
    }
}
