//! The floor where people stay is no warmer than is comfortable and healthy.
//!
//! Above the limit feet swell and tire, coverings suffer, and the room overheats in the first sun.
//!
//! ## How it is worked out
//! Mean surface temperature = room temperature + (heat flux / 8.92)^(1/1.1), from the heat that the floor really gives at the design
//! flow temperature and the loop's flow, on the coldest day. The loop that makes the floor warmest counts.
//!
//! ## Limit
//! Room temperature + 9 K: 29 °C at 20 °C, EN 1264-2 (after ISO 7730). In France 28 °C at any point, order of 23 June 1978.
//!
//! ## Exceptions
//! Bathrooms and edge zones have limits of their own. For the very old, the very young, or anyone with poor feeling in the feet keep
//! the surface near 25 to 26 °C and take advice.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1300 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the floor of hall becomes 31.7 °C above loop L1; at most 29.0 °C is comfortable
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 40 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use design::{Jurisdiction, Use};

pub static RULE: Rule = Rule {
    name: "surface-too-warm-occupied",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[OVER, FRANCE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("surface_too_warm_occupied.rs"),
    check,
    ..Rule::USUAL
};

const OVER: Limit =
    Limit { name: "over-room", value: "9 K", source: "EN 1264-2 (after ISO 7730), as several secondary texts give it" };
const FRANCE: Limit =
    Limit {
        name: "france", value: "28 °C", source: "French order of 23 June 1978, article 35, as two pages quote it"
    };

fn check(inspection: &Inspection, found: &mut Findings) {
    judge(inspection, found, &OVER, |room| room.is_none_or(|room| room != Use::Bathroom));
}

/// Judges the mean surface of the rooms of some uses against the room's temperature and so much more.
pub(super) fn judge(inspection: &Inspection, found: &mut Findings, over: &Limit, of_use: impl Fn(Option<Use>) -> bool) {
    let over = over.get::<TemperatureDifference>();
    let french = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::France);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty() && !room.given.has_unread("use")) {
        if !of_use(room.given.use_.map(|it| it.value)) {
            continue;
        }
        let Some(temperature) = room.given.temperature else {
            found.missing(room.subject, "temperature");
            continue;
        };
        let Some((at, surface)) = warmest(inspection, found, &room.worked.loops) else { continue };
        let mut limit = crate::LimitValue { value: temperature.value + over.value, source: over.source };
        if french && FRANCE.get::<Temperature>().value < limit.value {
            limit = FRANCE.get();
        }
        if surface <= limit.value {
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, most) = (surface, limit.value);
        let message =
            format!("the floor of {} becomes {value} above loop {loop_name}; at most {most} is comfortable", room.name);
        let finding = Finding::new(room.subject, room.place, message)
            .value(surface)
            .limit(&limit)
            .figure(format!("loops.{loop_name}.surface-temperature-mean"))
            .related(Subject::Loop(at).place(inspection.design), "the loop that makes it warmest");
        found.add(cooler(inspection, finding, at, surface - limit.value));
    }
}

/// The loop that makes a floor warmest, not the mean of all, and how warm.
pub(super) fn warmest(inspection: &Inspection, found: &mut Findings, loops: &[usize]) -> Option<(usize, Temperature)> {
    let mut warmest: Option<(usize, Temperature)> = None;
    for at in loops {
        let worked = &inspection.workings.loops[*at];
        let Some(surface) = found.need(Subject::Loop(*at), &worked.surface_temperature_mean) else { continue };
        if warmest.is_none_or(|(_, warm)| surface.value > warm) {
            warmest = Some((*at, surface.value));
        }
    }
    warmest
}

/// Adds to a finding the water of the loop that makes a floor so much too warm, and cooler water as a remedy.
pub(super) fn cooler(inspection: &Inspection, finding: Finding, at: usize, over: TemperatureDifference) -> Finding {
    let Ok(water) = &inspection.workings.loops[at].flow_temperature else { return finding };
    let Some(place) = water.inputs.first().and_then(|input| input.at) else { return finding };
    // A surface follows the water by about two thirds.
    let cooler = format!("{:.0} °C", (water.value.in_celsius() - over.in_kelvin() * 1.6).floor());
    let remedy = Remedy::new(format!("feed it with water of {cooler}"), place, cooler);
    finding.related(place, "the water's flow temperature").remedy(remedy)
}
