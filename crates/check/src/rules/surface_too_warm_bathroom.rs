//! The floor of a bathroom is no warmer than bare feet like.
//!
//! People stand on it wet and bare; above the limit it is unpleasant, and for those with poor feeling it is a danger.
//!
//! ## How it is worked out
//! As for other rooms: mean surface = room temperature + (heat flux / 8.92)^(1/1.1), at the design flow temperature on the coldest day;
//! and the heat flux at which the hottest point, above a pipe, reaches the limit (`heat-flux-limit`).
//!
//! ## Limit
//! Room temperature + 9 K: 33 °C at 24 °C, EN 1264-2. The mean over the limit has the full weight; only the stripes above the pipes
//! over it are a warning, see `surface-too-warm-occupied`.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 52 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 1400 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the floor of hall becomes 33.6 °C where loop L1 lies; at most 31.0 °C is comfortable
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 40 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 700 W, floor: screeded, area: 12 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "surface-too-warm-bathroom",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[OVER],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "temperature-drop-too-narrow",
        "heat-pump-flow-too-warm",
        "layer-over-its-temperature-limit",
        "flow-temperature-over-regulation",
        "screed-too-thin-over-pipe",
        "screed-too-thin-overall",
    ],
    file: include_str!("surface_too_warm_bathroom.rs"),
    check,
    ..Rule::USUAL
};

const OVER: Limit =
    Limit { name: "over-room", value: "9 K", source: "EN 1264-2 (after ISO 7730), as several secondary texts give it" };

fn check(inspection: &Inspection, found: &mut Findings) {
    super::surface_too_warm_occupied::judge(inspection, found, &OVER, |room| room == Some(Use::Bathroom));
}
