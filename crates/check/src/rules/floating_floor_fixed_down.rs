//! A floor that floats is not fixed through to what is below.
//!
//! A screw through a dry floor holds it fast in one place: it ticks and opens beside the screw, and screws find the pipe.
//!
//! ## How it is worked out
//! The base of a floor of floating boards is said to be `fixed-through`, or a layer from the one that holds the pipe upward is held as
//! `screwed` or `nailed` right onto it.
//!
//! ## Limit
//! No fixing through: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     base: {kind: boarded timber, fixed-through: true}
//! #                                               ^^^^ floor screeded floats and is fixed through to its base; nothing may go through it
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm, joints-glued: true}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, held: floating}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     base: {kind: boarded timber, fixed-through: false}
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm, joints-glued: true}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, held: floating}
//! ```

use super::prelude::*;
use design::{Held, Method};

pub static RULE: Rule = Rule {
    name: "floating-floor-fixed-down",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("floating_floor_fixed_down.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::FloatingBoard) {
            continue;
        }
        let through = floor.given.base.as_ref().and_then(|base| base.fixed_through);
        let holds = floor.worked.pipe_layer.clone().ok().and_then(|at| floor.given.layers.get(at));
        let screwed = holds.and_then(|layer| layer.held).filter(|it| matches!(it.value, Held::Screwed | Held::Nailed));
        let (place, message, remedy) = match (through, screwed) {
            (Some(through), _) if through.value => (
                through.at,
                format!("floor {} floats and is fixed through to its base; nothing may go through it", floor.name),
                Remedy::new("leave it unfixed", through.at, "false"),
            ),
            (_, Some(held)) => (
                held.at,
                format!(
                    "the boards of floor {} say `held: {}`; boards that float are not fixed",
                    floor.name, held.value
                ),
                Remedy::new("let them float", held.at, Held::Floating.word()),
            ),
            (None, None) if holds.is_none_or(|layer| layer.held.is_none()) => {
                found.missing(floor.subject, "base/fixed-through");
                continue;
            }
            _ => continue,
        };
        found.add(Finding::new(floor.subject, place, message).source("common practice, no source").remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn boards_that_are_screwed_do_not_float() {
        let floor = |held: &str| {
            format!(
                "floors: {{screeded: {{method: floating-board, below: heated room, plates: {{thickness: 0.5 mm, width: 130 mm}}, layers: \
                 [{{material: chipboard, thickness: 18 mm}}, {{material: EPS, thickness: 30 mm, pipe: at top{held}}}]}}}}\n"
            )
        };
        assert_eq!(messages(&RULE, &floor(", held: screwed")).len(), 1);
        assert!(messages(&RULE, &floor(", held: floating")).is_empty());
        assert_eq!(not_checked(&RULE, &floor("")), ["floors/screeded/base/fixed-through"]);
    }
}
