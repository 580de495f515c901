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
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: ground
//!     tray: {lifts-pipe: 3 mm}
//!     layers:
//!       - {material: cement screed, thickness: 42 mm, pipe: at base}
//! #                                            ^^^^^ floor screeded has 23 mm of screed over its pipe; at least 30 mm is wanted
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: ground
//!     tray: {lifts-pipe: 3 mm}
//!     layers:
//!       - {material: cement screed, thickness: 49 mm, pipe: at base}
//!       - {material: PIR board, thickness: 100 mm}
//! ```

use super::prelude::*;
use crate::LimitValue;
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
    let german = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::Germany);
    for floor in inspection.floors() {
        let in_screed =
            matches!(floor.given.method.map(|it| it.value), Some(Method::ClippedInScreed | Method::CastellatedTray));
        if !in_screed || floor.worked.loops.is_empty() {
            continue;
        }
        let Some(cover) = found.need(floor.subject, &floor.worked.cover) else { continue };
        let layer = floor.worked.pipe_layer.clone().ok().and_then(|at| floor.given.layers.get(at));
        let own = layer.and_then(|layer| layer.least_cover);
        let limit = match own {
            Some(own) => LimitValue { value: own.value, source: "the screed's maker, as the design gives it" },
            None if german
                && layer.is_none_or(|it| it.strength_class.as_ref().is_none_or(|class| class.value == "F4")) =>
            {
                GERMANY.get::<Length>()
            }
            None => LEAST.get(),
        };
        if cover.value >= limit.value - Length::millimetres(0.001) {
            continue;
        }
        let message = format!(
            "floor {} has {} of screed over its pipe; at least {} is wanted",
            floor.name, cover.value, limit.value
        );
        let thickness = layer.and_then(|layer| layer.thickness);
        let remedy = thickness.map(|thickness| {
            let text =
                format!("{:.0} mm", ((thickness.value + limit.value - cover.value).in_millimetres() - 1e-6).ceil());
            Remedy::new(format!("make the screed {text} thick"), thickness.at, text)
        });
        let place = thickness.map_or(floor.place, |thickness| thickness.at);
        found.add(
            Finding::new(floor.subject, place, message)
                .value(cover.value)
                .limit(&limit)
                .figure(format!("floors.{}.cover", floor.name))
                .remedy(remedy),
        );
    }
}
