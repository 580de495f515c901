//! Metal plates between joists lie on insulation that is fitted tight below them.
//!
//! Heat from a plate over an empty space goes down into the ceiling void and along it to the outside walls.
//!
//! ## How it is worked out
//! No layer from the plates downward insulates; or a gap of air lies between plates and insulation; or the insulation is said to be
//! held otherwise than `fitted tight`.
//!
//! ## Limit
//! Fitted tight below the plates: common practice, no source. How much: `insulation-below-minimum`, EN 1264-4, table 1.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: spreader-plates
//! #           ^^^^^^^^^^^^^^^ nothing insulates the space below the plates of floor screeded; they want insulation fitted tight below them
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 140 mm}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: air gap, thickness: 100 mm, pipe: at top}
//!       - {material: plasterboard, thickness: 15 mm}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 140 mm}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top, held: fitted tight}
//!       - {material: plasterboard, thickness: 15 mm}
//! ```

use super::insulation_below_minimum::concerned;
use super::prelude::*;
use crate::layers;
use crate::remedy::{Change, add_key};
use design::{Held, Layer, Method, Placed};
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "void-insulation-missing",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("void_insulation_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(concerned) {
        let Some(method) = floor.given.method.filter(|it| it.value == Method::SpreaderPlates) else { continue };
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        let insulation = layers::from(&floor, pipe_layer).find(|(_, _, worked)| worked.insulates());
        let gap = layers::from(&floor, pipe_layer).find(|(_, _, worked)| worked.is(Material::AirGap));
        let (place, message, remedy) = match (insulation, gap) {
            (None, _) => {
                match super::insulation_missing::is_missing(&floor) {
                    Ok(true) if inspection.is_read(floor.given.place) => {}
                    Ok(_) => continue,
                    Err(gap) => {
                        found.not_checked(floor.subject, &gap);
                        continue;
                    }
                }
                let message = format!(
                    "nothing insulates the space below the plates of floor {}; they want insulation fitted tight below them",
                    floor.name
                );
                (method.at, message, gap.and_then(|(_, given, _)| filled(inspection, given)))
            }
            (Some((at, ..)), Some((gap, given, _))) if gap < at => {
                let message = format!(
                    "a gap of air lies between the plates of floor {} and their insulation; it wants to be fitted tight below them",
                    floor.name
                );
                (given.material.as_ref().map_or(given.at, |it| it.at), message, filled(inspection, given))
            }
            (Some((_, given, _)), _) => match given.held {
                Some(held) if held.value != Held::FittedTight => {
                    let message = format!(
                        "the insulation below the plates of floor {} says `held: {}`; it wants to be fitted tight",
                        floor.name, held.value
                    );
                    (held.at, message, Some(Remedy::new("fit it tight", held.at, Held::FittedTight.word())))
                }
                Some(_) => continue,
                None => {
                    if !given.broken {
                        found.missing(floor.subject, "layers/…/held");
                    }
                    continue;
                }
            },
        };
        found.add(Finding::new(floor.subject, place, message).source("common practice, no source").remedy(remedy));
    }
}

/// The gap of air filled with wool.
fn filled(inspection: &Inspection, gap: &Placed<Layer>) -> Option<Remedy> {
    let material = gap.material.as_ref()?;
    let wool = Change { place: material.at, text: "mineral wool".into() };
    let tight = match gap.held {
        Some(held) => Change { place: held.at, text: Held::FittedTight.word().into() },
        None => add_key(inspection, gap.at, &format!("held: {}", Held::FittedTight.word()))?,
    };
    Remedy::of("fill it with mineral wool", [wool, tight])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn under(layers: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: spreader-plates\n    below: heated room\n    plates: {{thickness: 0.5 mm, width: 140 \
             mm}}\n    layers:\n{layers}"
        )
    }

    #[test]
    fn plates_hang_over_no_gap() {
        let gap = "      - {material: air gap, thickness: 20 mm, pipe: at top}\n";
        let wool = "      - {material: mineral wool, thickness: 100 mm, held: fitted tight}\n";
        assert_eq!(messages(&RULE, &under(&format!("{gap}{wool}"))).len(), 1);
        let wool_with_pipe = wool.replace("100 mm", "100 mm, pipe: at top");
        assert!(messages(&RULE, &under(&format!("{wool_with_pipe}{gap}"))).is_empty());
    }

    #[test]
    fn it_is_asked_how_the_wool_is_held() {
        let wool = "      - {material: mineral wool, thickness: 100 mm, pipe: at top}\n";
        assert_eq!(not_checked(&RULE, &under(wool)), ["floors/screeded/layers/…/held"]);
        let loose = wool.replace("at top", "at top, held: floating");
        assert_eq!(
            messages(&RULE, &under(&loose)),
            ["the insulation below the plates of floor screeded says `held: floating`; it wants to be fitted tight"]
        );
    }
}
