//! The floor is evenly warm underfoot.
//!
//! Pipe laid wide under thin cover or a covering that conducts well shows as warm and cool stripes.
//!
//! ## How it is worked out
//! How much warmer the surface is above a pipe than on average, from spacing, cover, covering and heat flux: of screeds by a
//! row of line sources in a massive layer (ISO 11855-2), under coverings that spread the heat sideways too; of boards, plates and slabs by
//! conduction in two dimensions. The loop with the
//! strongest stripes counts.
//!
//! ## Limit
//! 2 K in bathrooms and under tile and stone, 3 K elsewhere: common practice, no source.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1050 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the floor of hall is 2.3 K warmer above the pipes of loop L1 than on average; at most 2.0 K is not felt
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 300 mm, tails: 10 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 800 W, floor: screeded, area: 12 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{closer_than, laid_at};
use design::Use;
use engineering::heat::materials::Kind as Material;
use workings::{Otherwise, ValueOf, loop_if};

pub static RULE: Rule = Rule {
    name: "surface-ripple-too-great",
    group: Group::SurfaceTemperature,
    weights: [Hint, Information, Information, Information],
    limits: &[TILE, OTHER],
    follows: &[
        "screed-too-thin-over-pipe",
        "screed-too-thin-overall",
        "spacing-off-module",
        "spacing-too-wide",
        "temperature-drop-too-narrow",
    ],
    file: include_str!("surface_ripple_too_great.rs"),
    check,
    ..Rule::USUAL
};

const TILE: Limit =
    Limit { name: "most-under-tile-and-in-bathrooms", value: "2 K", source: "common practice, no source" };
const OTHER: Limit = Limit { name: "most-elsewhere", value: "3 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Subject::Room(number) = room.subject else { continue };
        let mut worst: Option<(usize, TemperatureDifference)> = None;
        for at in &room.worked.loops {
            let ripple = &inspection.workings.loops[*at].surface_ripple;
            let Some(ripple) = found.need(Subject::Loop(*at), ripple) else { continue };
            if worst.is_none_or(|(_, worst)| ripple.value > worst) {
                worst = Some((*at, ripple.value));
            }
        }
        let bathroom = room.given.use_.is_some_and(|it| it.value == Use::Bathroom);
        let hard = matches!(inspection.covering_of(number), Some(Material::Tile | Material::Stone));
        let limit = if bathroom || hard { TILE } else { OTHER }.get::<TemperatureDifference>(&RULE, inspection);
        let Some((at, ripple)) = worst.filter(|(_, ripple)| *ripple > limit.value) else { continue };
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, most) = (ripple, limit.value);
        let message = format!(
            "the floor of {} is {value} warmer above the pipes of loop {loop_name} than on average; at most {most} is not felt",
            room.name
        );
        let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
        let now = spacings.map(|it| it.value).reduce(Length::min).unwrap_or(Length::ZERO);
        let even_enough = |spacing: &Length| {
            let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
            room.worked.loops.iter().all(|at| {
                let then = loop_if(inspection.design, inspection.workings, *at, otherwise);
                then.and_then(|it| it.surface_ripple.value()).is_ok_and(|ripple| ripple <= most)
            })
        };
        let closer = closer_than(inspection, &room, now).find(even_enough);
        let mut finding = Finding::new(room.subject, room.place, message)
            .value(ripple)
            .limit(&limit)
            .figure(format!("loops.{loop_name}.surface-ripple"))
            .related(Subject::Loop(at).place(inspection.design), "the loop with the strongest stripes");
        finding.remedies.extend(closer.and_then(|spacing| laid_at(inspection, &room, spacing)));
        found.add(finding);
    }
}
