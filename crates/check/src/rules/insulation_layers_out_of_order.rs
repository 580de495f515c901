//! The heated layer lies on a flat bed: services below it, the soft layer under the firm one, no gap between.
//!
//! Pipes and cables of others in the heated layer lift the boards and the heating pipe; a soft mat on top gives way unevenly.
//!
//! ## How it is worked out
//! The floor says that services lie in the heated layer; or below the pipe a sound mat lies above thermal insulation; or a gap of air lies
//! right between screed and base.
//!
//! ## Limit
//! Services fixed and levelled up below, the heated layer on a flat bed: EN 1264-4, clause 4.2.1 in the numbering of 2001, as the French works
//! standard quotes it. The order of the layers: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     services-in-heated-layer: true
//! #                             ^^^^ pipes or cables of others lie in the heated layer of floor screeded; they want to be fixed and levelled up below it
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     services-in-heated-layer: false
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! ```

use super::prelude::*;
use crate::layers;
use design::Method;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "insulation-layers-out-of-order",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("insulation_layers_out_of_order.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if let Some(services) = floor.given.services_in_heated_layer.filter(|it| it.value) {
            let message = format!(
                "pipes or cables of others lie in the heated layer of floor {}; they want to be fixed and levelled up below it",
                floor.name
            );
            let remedy = Remedy::new("lay them below the heated layer", services.at, "false");
            let source = "EN 1264-4, clause 4.2.1 in the numbering of 2001, as the French works standard quotes it";
            found.add(Finding::new(floor.subject, services.at, message).source(source).remedy(remedy));
        }
        let wet =
            matches!(floor.given.method.map(|it| it.value), Some(Method::ClippedInScreed | Method::CastellatedTray));
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        if !wet {
            continue;
        }
        let below: Vec<_> = layers::from(&floor, pipe_layer + 1).collect();
        let lowest = below.iter().rposition(|(_, _, worked)| worked.insulates());
        let above_insulation = &below[..lowest.unwrap_or(0)];
        let wrong =
            above_insulation.iter().find(|(_, _, worked)| worked.is(Material::Underlay) || worked.is(Material::AirGap));
        let Some((_, given, worked)) = wrong else { continue };
        let message = if worked.is(Material::AirGap) {
            format!(
                "a gap of air lies under the screed of floor {}; the boards want to lie full on each other",
                floor.name
            )
        } else {
            format!(
                "the {} of floor {} lies above its insulation; the soft layer wants to lie under the firm one",
                layers::name(given),
                floor.name
            )
        };
        let place = given.material.as_ref().map_or(given.at, |it| it.at);
        found.add(Finding::new(floor.subject, place, message).source("common practice, no source"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn the_soft_layer_lies_under_the_firm_one() {
        let floor = |boards: &str| {
            let text = format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, layers: [{{material: cement screed, thickness: 65 mm, \
                 pipe: at base}}, {boards}]}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        let (mat, eps) = ("{material: impact sound mat, thickness: 5 mm}", "{material: EPS, thickness: 40 mm}");
        assert_eq!(floor(&format!("{mat}, {eps}")), 1);
        assert_eq!(floor(&format!("{eps}, {mat}")), 0);
        assert_eq!(floor(&format!("{eps}, {{material: air gap, thickness: 20 mm}}, {eps}")), 1);
    }
}
