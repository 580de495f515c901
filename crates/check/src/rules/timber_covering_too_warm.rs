//! A wooden covering is kept at a temperature that it bears.
//!
//! Over the limit it dries out, gaps, cups and lifts in the first heating season; a whole floor of boards can be spoilt in days.
//!
//! ## How it is worked out
//! The surface above the pipes of the loop that makes it warmest, at the design flow temperature, where the topmost layer is wood or
//! laminate: its mean by EN 1264-2, and what the stripe above a pipe is warmer. Where the room's `rugs` give a resistance, below such a
//! rug: less heat goes up there, heat-flux / (1 + characteristic x rug), and what goes has to pass the rug.
//!
//! ## Limit
//! 27 °C at the surface: flooring guidance that complements BS 8201; warranty-body and timber-floor texts agree. Apply the maker's own
//! figure where there is one.
//!
//! ## Exceptions
//! A floor sensor of the room's zone that stops the heat at the limit guards the wood. Rugs hold heat in: say so in the handover.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1150 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//! # ^^^^ the wood on the floor of room hall becomes 28.7 °C; it bears 27.0 °C
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 42 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², rugs: 0.1 m²K/W, covering: [{material: oak, thickness: 14 mm, held: glued}]}
//! # ^^^^ the wood on the floor of room hall becomes 29.1 °C below its rugs; it bears 27.0 °C
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: oak, thickness: 14 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::surface_too_warm_occupied::{cooler, warmest};
use engineering::heat::surface;
use workings::{Gap, LoopWorkings, ValueOf};

pub static RULE: Rule = Rule {
    name: "timber-covering-too-warm",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("timber_covering_too_warm.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit {
    name: "most",
    value: "27 °C",
    source: "flooring guidance that complements BS 8201; warranty-body and timber-floor texts agree",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Temperature>(&RULE, inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let floor = room.worked.floor.and_then(|floor| inspection.workings.floors.get(floor));
        let top = room.worked.covering.first().or(floor.and_then(|floor| floor.layers.first()));
        if !top.and_then(|layer| layer.material).is_some_and(|material| material.kind.is_timber()) {
            continue;
        }
        let rug = room.given.rugs.as_ref().and_then(|rugs| ThermalResistance::parse(&rugs.value).ok());
        let rug = rug.filter(|rug| *rug > ThermalResistance::ZERO).zip(room.given.temperature);
        let hottest = |it: &LoopWorkings| match rug {
            Some((rug, temperature)) => below_rug(it, rug, temperature.value),
            None => it.surface_temperature_highest.value(),
        };
        let Some((at, surface)) = warmest(inspection, found, &room.worked.loops, hottest) else { continue };
        if surface <= most.value || stopped_by_floor_sensor(inspection, room.name, most.value) {
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, bears) = (surface, most.value);
        let below = if rug.is_some() { " below its rugs" } else { "" };
        let message = format!("the wood on the floor of room {} becomes {value}{below}; it bears {bears}", room.name);
        let finding = Finding::new(room.subject, room.place, message)
            .value(surface)
            .limit(&most)
            .figure(format!("loops.{loop_name}.surface-temperature-highest"));
        found.add(cooler(inspection, finding, &room, at, |it| hottest(it).is_ok_and(|warm| warm <= bears)));
    }
}

/// The wood below a rug, over a pipe.
fn below_rug(it: &LoopWorkings, rug: ThermalResistance, room: Temperature) -> Result<Temperature, Gap> {
    let per_kelvin = it.characteristic.value()?.in_watts_per_square_metre_kelvin();
    let share = 1.0 / (1.0 + per_kelvin * rug.in_square_metre_kelvin_per_watt());
    let flux = it.heat_flux.value()? * share;
    let top = surface::mean(flux, room)? + it.surface_ripple.value()? * share;
    Ok(surface::under(top, flux, rug))
}

/// Whether a floor sensor of a room's zone stops the heat at a limit, which guards the covering whatever the water could do.
pub(super) fn stopped_by_floor_sensor(inspection: &Inspection, room: &str, limit: Temperature) -> bool {
    inspection.design.controls.zones.values().any(|zone| {
        let here = zone.rooms.iter().any(|it| it.value.name == room);
        let stops = zone.floor_sensor.as_ref().and_then(|sensor| sensor.limit);
        here && stops.is_some_and(|stops| stops.value <= limit)
    })
}
