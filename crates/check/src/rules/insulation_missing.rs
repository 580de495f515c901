//! A heated floor has insulation below its pipe.
//!
//! Without it the floor heats what lies below as much as the room, for as long as the house stands.
//!
//! ## How it is worked out
//! No layer from the pipe downward insulates: by its kind, or by a conductivity of at most 0.065 W/(m·K).
//!
//! ## Limit
//! Some insulation under every heated floor: EN 1264-4, table 1, as several secondary copies give it. The remedy lays what meets
//! `insulation-below-minimum`, `floor-u-value-over-regulation` and `downward-loss-too-high` at once.
//!
//! ## Exceptions
//! A slab between two heated rooms that heats both ways wants none (ISO 11855). Metal plates between joists have a rule of their own,
//! `void-insulation-missing`.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! #                  ^^^^^^^^^^^^^ floor screeded has no insulation below its pipe; over the ground at least 1.250 m²·K/W is wanted
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 100 mm}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::insulation_below_minimum::{below_words, concerned, wanted};
use super::prelude::*;
use crate::insulation;
use crate::layers::{self, FloorItem};
use crate::remedy::Remedy;
use design::Method;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "insulation-missing",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    file: include_str!("insulation_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(concerned) {
        // Between joists the space below the plates has its own rule.
        if floor.given.method.is_some_and(|it| it.value == Method::SpreaderPlates) {
            continue;
        }
        let missing = match is_missing(&floor) {
            Ok(missing) => missing,
            Err(gap) => {
                found.not_checked(floor.subject, &gap);
                continue;
            }
        };
        let Some(below) = floor.given.below else {
            found.missing(floor.subject, "below");
            continue;
        };
        if !missing || !inspection.is_read(floor.given.place) {
            continue;
        }
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else { continue };
        let place = floor.given.layers[pipe_layer].material.as_ref().map_or(floor.place, |it| it.at);
        let mut message = format!("floor {} has no insulation below its pipe", floor.name);
        let mut finding = Finding::new(floor.subject, place, "").value(ThermalResistance::ZERO);
        if let Ok(limit) = wanted(inspection, below.value) {
            message += &format!("; over {} at least {} is wanted", below_words(below.value), limit.value);
            let all = insulation::wanting(inspection, &floor).map_or(limit.value, |more| more.max(limit.value));
            finding = finding.limit(&limit).remedy(remedy(inspection, &floor, pipe_layer, all));
        } else {
            finding = finding.source("EN 1264-4, table 1, as several secondary copies give it");
        }
        finding.message = message;
        found.add(finding.related(below.at, "what lies below"));
    }
}

/// Whether no layer from the pipe downward insulates; a gap where a layer cannot be told.
pub(super) fn is_missing(floor: &FloorItem) -> Result<bool, Gap> {
    let pipe_layer = floor.worked.pipe_layer.clone()?;
    if layers::from(floor, pipe_layer).any(|(_, _, worked)| worked.insulates()) {
        return Ok(false);
    }
    match layers::from(floor, pipe_layer).find_map(|(_, given, worked)| layers::unknown(given, worked)) {
        Some(gap) => Err(gap),
        None => Ok(true),
    }
}

/// Expanded polystyrene that gives just enough, under a sheet where wet screed lies on it.
fn remedy(inspection: &Inspection, floor: &FloorItem, pipe_layer: usize, wanted: ThermalResistance) -> Option<Remedy> {
    let board = format!("{{material: EPS, thickness: {}}}", insulation::centimetres(wanted));
    let wet = layers::binder(&floor.given.layers[pipe_layer], &floor.worked.layers[pipe_layer]).is_some();
    let sheet = "{material: polyethylene membrane, thickness: 0.2 mm}";
    let new: &[&str] = if wet { &[sheet, &board] } else { &[&board] };
    Remedy::of("lay insulation under it", layers::lay_under(inspection, floor, pipe_layer, new))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(method: &str, below: &str, under: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: {method}\n    below: {below}\n    layers:\n      - {{material: cement screed, \
             thickness: 65 mm, pipe: at base}}\n      - {under}\n"
        )
    }

    #[test]
    fn a_board_by_its_own_name_insulates_by_its_values() {
        for under in [
            "{material: our board, thickness: 50 mm, conductivity: 0.065 W/(m·K)}",
            "{material: our board, thickness: 50 mm, resistance: 1.3 m²K/W}",
        ] {
            assert!(messages(&RULE, &floor("clipped-in-screed", "ground", under)).is_empty(), "{under}");
        }
        let dense = "{material: our board, thickness: 50 mm, conductivity: 0.066 W/(m·K)}";
        assert_eq!(messages(&RULE, &floor("clipped-in-screed", "ground", dense)).len(), 1);
    }

    #[test]
    fn what_cannot_be_told_is_not_checked() {
        let text = floor("clipped-in-screed", "ground", "{material: our board, thickness: 50 mm}");
        assert!(messages(&RULE, &text).is_empty());
        assert_eq!(not_checked(&RULE, &text), ["our board is no material that is known here; give its conductivity"]);
    }

    #[test]
    fn a_slab_that_heats_both_ways_wants_none() {
        let concrete = "{material: concrete, thickness: 100 mm}";
        assert!(messages(&RULE, &floor("embedded-in-slab", "heated room", concrete)).is_empty());
        assert_eq!(messages(&RULE, &floor("embedded-in-slab", "unheated room", concrete)).len(), 1);
    }
}
