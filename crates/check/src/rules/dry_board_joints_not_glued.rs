//! The boards of a floating dry floor are glued to each other.
//!
//! Dry joints work under every step: the floor squeaks, and the covering above opens along them.
//!
//! ## How it is worked out
//! Of a floor of floating boards, each layer that is said to have joints without glue, from the one that holds the pipe upward. The load
//! layer over it, or where there is none the board itself, has to say.
//!
//! ## Limit
//! Every tongue or lap glued, joints staggered: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: gypsum fibre board, thickness: 20 mm, joints-glued: false}
//! #                                                                      ^^^^^ the joints of the gypsum fibre board of floor screeded are not glued; a floor that floats works in them
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: floating-board
//!     below: heated room
//!     plates: {thickness: 0.5 mm, width: 130 mm}
//!     layers:
//!       - {material: gypsum fibre board, thickness: 20 mm, joints-glued: true}
//!       - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true}
//! ```

use super::prelude::*;
use crate::layers;
use crate::remedy::Change;
use design::Method;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "dry-board-joints-not-glued",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("dry_board_joints_not_glued.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::FloatingBoard) {
            continue;
        }
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        let boards = [Material::WoodBoard, Material::GypsumBoard, Material::CementBoard];
        let upward: Vec<_> = layers::from(&floor, 0).take(pipe_layer + 1).collect();
        let loose: Vec<_> = upward
            .iter()
            .filter_map(|(_, given, _)| Some((*given, given.joints_glued.filter(|glued| !glued.value)?)))
            .collect();
        let Some((board, glued)) = loose.first() else {
            let bears =
                upward.iter().find(|(at, _, worked)| boards.iter().any(|kind| worked.is(*kind)) || *at == pipe_layer);
            if let (Some((at, given, _)), Subject::Floor(number)) = (bears, floor.subject)
                && given.joints_glued.is_none()
                && !given.broken
            {
                found.missing(Subject::Layer(number, *at), "joints-glued");
            }
            continue;
        };
        let message = format!(
            "the joints of the {} of floor {} are not glued; a floor that floats works in them",
            layers::name(board),
            floor.name
        );
        let changes = loose.iter().map(|(_, glued)| Change { place: glued.at, text: "true".to_string() });
        let mut finding = Finding::new(floor.subject, glued.at, message)
            .source("common practice, no source")
            .remedy(Remedy::of("glue the joints", changes));
        for (_, glued) in &loose[1..] {
            finding = finding.related(glued.at, "these joints as well");
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn several_layers_are_one_finding() {
        let floor = |of_deck: &str, of_board: &str| {
            format!(
                "floors: {{screeded: {{method: floating-board, below: heated room, plates: {{thickness: 0.5 mm, width: 130 mm}}, layers: \
                 [{{material: chipboard, thickness: 18 mm{of_deck}}}, {{material: EPS, thickness: 30 mm, pipe: at top{of_board}}}]}}}}\n"
            )
        };
        assert_eq!(messages(&RULE, &floor(", joints-glued: false", ", joints-glued: false")).len(), 1);
        assert!(messages(&RULE, &floor(", joints-glued: true", "")).is_empty());
        assert_eq!(not_checked(&RULE, &floor("", ", joints-glued: true")), ["floors/screeded/layers/1/joints-glued"]);
    }
}
