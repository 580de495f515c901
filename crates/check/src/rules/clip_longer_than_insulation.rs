//! The clips that hold the pipe end within the insulation.
//!
//! A clip that goes through bites into the damp-proof layer below, or bends on the slab and lets the pipe float up.
//!
//! ## How it is worked out
//! The thickness of the insulation right below the screed, less the length of the clips below the pipe.
//!
//! ## Limit
//! At least 5 mm left: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     clips: {spacing: 400 mm, length: 50 mm}
//! #                                    ^^^^^ the clips of floor screeded reach 50 mm into 40 mm of insulation; they want 5 mm left under them
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
//!     clips: {spacing: 400 mm, length: 35 mm}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem};
use design::Method;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "clip-longer-than-insulation",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[LEFT],
    file: include_str!("clip_longer_than_insulation.rs"),
    check,
    ..Rule::USUAL
};

const LEFT: Limit = Limit { name: "least-left", value: "5 mm", source: "common practice, no source" };
/// Shorter ones hold no pipe.
const SHORTEST: Length = Length::millimetres(20.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let left = LEFT.get::<Length>(&RULE, inspection);
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::ClippedInScreed) {
            continue;
        }
        let Some(insulation) = insulation(&floor) else { continue };
        let Some(length) = floor.given.clips.as_ref().and_then(|clips| clips.length) else {
            found.missing(floor.subject, "clips/length");
            continue;
        };
        let most = insulation - left.value;
        if length.value <= most + Length::millimetres(1e-6) {
            continue;
        }
        let message = format!(
            "the clips of floor {} reach {} into {insulation} of insulation; they want {} left under them",
            floor.name, length.value, left.value
        );
        let remedy = (most >= SHORTEST).then(|| {
            let text = format!("{:.0} mm", (most.in_millimetres() / 5.0 + 1e-6).floor() * 5.0);
            Remedy::new(format!("take clips of {text}"), length.at, text)
        });
        let limit = left.with(most);
        let finding = Finding::new(floor.subject, length.at, message).value(length.value).limit(&limit);
        found.add(finding.remedy(remedy).remedy(thicker(&floor, length.value - most)));
    }
}

/// The thickest board of the insulation made so much thicker, in whole centimetres.
fn thicker(floor: &FloorItem, more: Length) -> Option<Remedy> {
    let first = floor.worked.pipe_layer.clone().ok()? + 1;
    let boards =
        layers::from(floor, first).filter(|(_, given, worked)| worked.insulates() && given.resistance.is_none());
    let thicknesses = boards.filter_map(|(_, given, _)| given.thickness);
    let thickest = thicknesses.max_by(|one, other| one.value.si().total_cmp(&other.value.si()))?;
    let remedy = Remedy::new("", thickest.at, (thickest.value + more).to_string());
    let mut remedy = layers::to_the_centimetre(remedy)?;
    remedy.title = format!("make the insulation {} thick", remedy.changes.first()?.text);
    Some(remedy)
}

/// The insulation right below the screed, boards on boards; a sheet on top of it does not count.
fn insulation(floor: &FloorItem) -> Option<Length> {
    let below = layers::from(floor, floor.worked.pipe_layer.clone().ok()? + 1);
    let below = below.skip_while(|(_, _, worked)| worked.is(Material::Membrane));
    let boards = below.take_while(|(_, _, worked)| worked.insulates() || worked.is(Material::Underlay));
    let thicknesses: Option<Vec<Length>> = boards.map(|(_, given, _)| given.thickness.map(|it| it.value)).collect();
    thicknesses.filter(|all| !all.is_empty()).map(|all| all.into_iter().sum())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(clips: &str, boards: &str) -> String {
        format!(
            "floors: {{screeded: {{method: clipped-in-screed, below: heated room, clips: {{{clips}}}, layers: [{{material: cement screed, \
             thickness: 65 mm, pipe: at base}}, {boards}]}}}}\n"
        )
    }

    /// Clips that no insulation of such thickness takes: it is made thicker.
    #[test]
    fn thin_insulation_is_made_thicker() {
        let outcome = crate::bench::check(&floor("length: 50 mm", "{material: EPS, thickness: 22 mm}"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let titles: Vec<&str> = finding.remedies.iter().map(|it| it.title.as_str()).collect();
        assert_eq!(titles, ["make the insulation 60 mm thick"]);
    }

    /// Common practice, no source: 5 mm.
    #[test]
    fn two_boards_count_together() {
        let two = "{material: EPS, thickness: 30 mm}, {material: EPS, thickness: 25 mm}";
        assert!(messages(&RULE, &floor("length: 50 mm", two)).is_empty());
        assert_eq!(messages(&RULE, &floor("length: 51 mm", two)).len(), 1);
        let sheet = "{material: EPS, thickness: 30 mm}, {material: membrane}, {material: EPS, thickness: 25 mm}";
        assert_eq!(messages(&RULE, &floor("length: 50 mm", sheet)).len(), 1);
        assert_eq!(not_checked(&RULE, &floor("spacing: 400 mm", two)), ["floors/screeded/clips/length"]);
    }
}
