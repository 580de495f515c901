//! Enough screed lies over the pipe.
//!
//! Under thin cover the screed cracks along the pipe and the floor shows warm and cold stripes.
//!
//! ## How it is worked out
//! Thickness of the screed, less what lifts the pipe, less the outside diameter of the thickest pipe laid in it.
//!
//! ## Limit
//! 30 mm over the crown, EN 1264-4:2021 clause 4.2.2.9.2; less only for a special screed whose maker says so (`least-cover`). Germany:
//! 45 mm at strength class F4, DIN 18560-2. A British warranty standard gives 25 mm over any service pipe.
//!
//! ## Exceptions
//! Where `screed-too-thin-overall` asks for more it speaks.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: ground
//!     tray: {lifts-pipe: 3 mm}
//!     layers:
//!       - {material: flowing screed, thickness: 42 mm, pipe: at base}
//! #                                             ^^^^^ floor screeded has 23 mm of screed over its pipe; at least 30 mm is wanted
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: ground
//!     tray: {lifts-pipe: 3 mm}
//!     layers:
//!       - {material: flowing screed, thickness: 49 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm}
//! ```

use super::prelude::*;
use crate::layers::FloorItem;
use design::{Jurisdiction, Method};

pub static RULE: Rule = Rule {
    name: "screed-too-thin-over-pipe",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[LEAST, GERMANY],
    file: include_str!("screed_too_thin_over_pipe.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit {
    name: "least",
    value: "30 mm",
    source: "EN 1264-4:2021, clause 4.2.2.9.2, as a national mortar trade association quotes it",
};
const GERMANY: Limit = Limit {
    name: "germany",
    value: "45 mm",
    source: "DIN 18560-2 at strength class F4, as three German texts give it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors() {
        let in_screed =
            matches!(floor.given.method.map(|it| it.value), Some(Method::ClippedInScreed | Method::CastellatedTray));
        if !in_screed || floor.worked.loops.is_empty() || floor.given.broken {
            continue;
        }
        let Some(cover) = found.need(floor.subject, &floor.worked.cover) else { continue };
        let Some((limit, thickness)) = too_thin(inspection, &floor) else { continue };
        // One screed is thickened once: the rule that asks for more speaks.
        if super::screed_too_thin_overall::asked(inspection, &floor).is_some_and(|overall| overall >= thickness) {
            continue;
        }
        let (value, least) = (cover.value, limit.value);
        let message = match value < Length::ZERO {
            false => format!("floor {} has {value} of screed over its pipe; at least {least} is wanted", floor.name),
            true => format!(
                "the pipe of floor {} stands {} out of its screed; at least {least} over it is wanted",
                floor.name,
                Length::ZERO - value
            ),
        };
        let layer = floor.worked.pipe_layer.clone().ok().and_then(|at| floor.given.layers.get(at));
        let given = layer.and_then(|layer| layer.thickness);
        let remedy = given.map(|given| {
            let text = format!("{:.0} mm", (thickness.in_millimetres() - 1e-6).ceil());
            Remedy::new(format!("make the screed {text} thick"), given.at, text)
        });
        let place = given.map_or(floor.place, |given| given.at);
        found.add(
            Finding::new(floor.subject, place, message)
                .value(cover.value)
                .limit(&limit)
                .figure(format!("floors.{}.cover", floor.name))
                .remedy(remedy),
        );
    }
}

/// The least cover and the thickness of screed that gives it, where there is less.
pub(super) fn too_thin(inspection: &Inspection, floor: &FloorItem) -> Option<(LimitValue<Length>, Length)> {
    let german = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::Germany);
    let cover = floor.worked.cover.as_ref().ok()?;
    let layer = floor.given.layers.get(floor.worked.pipe_layer.clone().ok()?)?;
    let limit = match layer.least_cover {
        Some(own) => LimitValue::new(own.value, "the screed's maker, as the design gives it"),
        None if german && layer.strength_class.as_ref().is_none_or(|class| class.value == "F4") => {
            GERMANY.get(&RULE, inspection)
        }
        None => LEAST.get::<Length>(&RULE, inspection),
    };
    let thin = cover.value < limit.value - Length::millimetres(0.001);
    thin.then(|| (limit, layer.thickness.map_or(limit.value, |it| it.value) + limit.value - cover.value))
}
