//! The edge zone along outside walls is no warmer than its limit.
//!
//! Pipe is laid closer there to make up for the cold wall; nobody stays on it long, but children sit there, and coverings suffer.
//!
//! ## How it is worked out
//! Room temperature + (heat flux / 8.92)^(1/1.1), with the heat flux at the edge zone's own spacing. The water comes to the edge zone
//! first. The loop that makes it warmest counts. `edge-heat-flux-limit` is the heat flux at which the hottest point of the strip, above
//! a pipe, reaches the limit.
//!
//! ## Limit
//! Room temperature + 15 K: 35 °C at 20 °C, in a strip of at most 1 m: EN 1264-2. In a bathroom 9 K. The mean over the limit has the full
//! weight; only the stripes above the pipes over it are a warning, see `surface-too-warm-occupied`. In France 28 °C, order of 23 June
//! 1978.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 55 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1190 W, floor: screeded, area: 12 m², height: 2.4 m, edge-zone: {width: 1 m, spacing: 75 mm}}
//! #                                                                                                                                          ^^^^^ the edge zone of room hall becomes 37.4 °C; at most 35.0 °C is allowed there
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, edge-zone: {width: 1 m, spacing: 75 mm}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::wider_than;
use super::spacing_too_wide::CLOSE;
use super::surface_too_warm_occupied::{HOTTEST, cooler, softer};
use design::{Jurisdiction, Use};
use workings::{LoopWorkings, ValueOf};

pub static RULE: Rule = Rule {
    name: "surface-too-warm-edge",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[OVER, BATHROOM, FRANCE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "flow-temperature-over-regulation",
        "heat-pump-flow-too-warm",
        "screed-too-thin-over-pipe",
        "screed-too-thin-overall",
    ],
    file: include_str!("surface_too_warm_edge.rs"),
    check,
    ..Rule::USUAL
};

const EN_1264: &str = "EN 1264-2, as several secondary texts give it";
const OVER: Limit = Limit { name: "over-room", value: "15 K", source: EN_1264 };
const BATHROOM: Limit = Limit { name: "over-bathroom", value: "9 K", source: EN_1264 };
const FRANCE: Limit =
    Limit {
        name: "france", value: "28 °C", source: "French order of 23 June 1978, article 35, as two pages quote it"
    };

fn check(inspection: &Inspection, found: &mut Findings) {
    let french = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::France);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(zone) = &room.given.edge_zone else { continue };
        let (Some(worked), Some(flux)) = (&room.worked.edge_surface_temperature, &room.worked.edge_heat_flux) else {
            continue;
        };
        if found.need(room.subject, flux).is_none() {
            continue;
        }
        let Some(surface) = found.need(room.subject, worked) else { continue };
        let Some(temperature) = room.given.temperature else { continue };
        let over = if room.given.use_.is_some_and(|it| it.value == Use::Bathroom) { BATHROOM } else { OVER };
        let over = over.get::<TemperatureDifference>(&RULE, inspection);
        let mut limit = over.with(temperature.value + over.value);
        if french && FRANCE.get::<Temperature>(&RULE, inspection).value < limit.value {
            limit = FRANCE.get(&RULE, inspection);
        }
        let place = zone.spacing.map_or(room.place, |spacing| spacing.at);
        let (weight, mut finding, share) = if surface.value > limit.value {
            let (value, most) = (surface.value, limit.value);
            let message =
                format!("the edge zone of room {} becomes {value}; at most {most} is allowed there", room.name);
            let finding = Finding::new(room.subject, place, message)
                .value(surface.value)
                .limit(&limit)
                .figure(format!("rooms.{}.edge-surface-temperature", room.name));
            // The edge zone follows the water as the rest of the floor does, from the room's temperature on.
            let over_room = (surface.value - temperature.value).in_kelvin();
            let share = (limit.value - temperature.value).in_kelvin() / over_room;
            // What makes the mean cool enough has to do for the stripes as well.
            let stripes = match (room.subject, flux) {
                (Subject::Room(number), Ok(flux)) if limit.source == over.source => {
                    let most = workings::edge_limit(inspection.design, inspection.workings, number);
                    most.map_or(1.0, |most| (most.value / flux.value).powf(1.0 / 1.1))
                }
                _ => 1.0,
            };
            let share = share.min(stripes);
            (RULE.weight(inspection.design.stage()), finding, share)
        } else {
            let Subject::Room(number) = room.subject else { continue };
            let most = workings::edge_limit(inspection.design, inspection.workings, number);
            let (Some(most), Ok(flux)) = (found.need(room.subject, &most), flux) else { continue };
            if limit.source != over.source || flux.value <= most.value {
                continue;
            }
            let message = format!(
                "the edge zone of room {} gives {}; its hottest point passes {} over the room at {}",
                room.name, flux.value, over.value, most.value
            );
            let finding = Finding::new(room.subject, place, message)
                .value(flux.value)
                .limit(&LimitValue::new(most.value, HOTTEST))
                .figure(format!("rooms.{}.edge-heat-flux-limit", room.name));
            (softer(inspection), finding, (most.value / flux.value).powf(1.0 / 1.1))
        };
        if let Some(spacing) = zone.spacing {
            let close = wider_than(inspection, &room, spacing.value);
            for wide in close
                .filter(|wide| *wide <= CLOSE.get::<Length>(&super::spacing_too_wide::RULE, inspection).value)
                .take(2)
            {
                finding = finding.remedy(Remedy::new(format!("lay it at {wide}"), spacing.at, wide.to_string()));
            }
        }
        if let Some(at) = room.worked.loops.first() {
            let now = inspection.workings.loops[*at].surface_temperature_mean.value();
            let is_enough = |it: &LoopWorkings| match (it.surface_temperature_mean.value(), &now) {
                (Ok(then), Ok(now)) => then - temperature.value <= (*now - temperature.value) * share,
                _ => false,
            };
            finding = cooler(inspection, finding, &room, *at, is_enough);
        }
        found.add_as(weight, finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn hall(zone: &str, jurisdiction: &str) -> String {
        format!(
            "site: {{outdoor-temperature: -3 °C, jurisdiction: {jurisdiction}}}\nheat-source: {{kind: condensing boiler, flow-temperature: \
             45 °C}}\nrooms: {{hall: {{use: living, temperature: 20 °C, heat-loss: 1190 W, floor: screeded, area: 12 m², height: 2.4 m, \
             edge-zone: {{{zone}}}}}}}\n"
        )
    }

    /// France allows 28 °C at any point.
    #[test]
    fn a_strip_is_cooler_in_france() {
        assert!(messages(&RULE, &hall("width: 1 m, spacing: 100 mm", "England")).is_empty());
        assert_eq!(messages(&RULE, &hall("width: 1 m, spacing: 100 mm", "France")).len(), 1);
    }
}
