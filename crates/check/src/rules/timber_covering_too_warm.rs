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
//! A floor sensor of the room's zone that stops the heat at the limit guards the wood. Under rugs of a stated resistance it does not: there
//! the floor becomes warmer than where the sensor lies, which keeps the heat beside the rug at its limit. Rugs hold heat in: say so in the
//! handover.
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
use super::room_short_of_heat::RoomItem;
use super::surface_too_warm_occupied::{cooler, warmest};
use design::Placed;
use engineering::heat::en1264::basic_characteristic;
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
    follows: &[
        "flow-temperature-over-regulation",
        "heat-pump-flow-too-warm",
        "screed-too-thin-over-pipe",
        "screed-too-thin-overall",
    ],
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
        let top = Top::of(inspection, &room);
        if top.is_guarded(most.value) {
            continue;
        }
        let hottest = |it: &LoopWorkings| Ok(top.hottest(it)?.0);
        let Some((at, surface)) = warmest(inspection, found, &room.worked.loops, hottest) else { continue };
        if surface <= most.value {
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, bears) = (surface, most.value);
        let below = top.below();
        let message = format!("the wood on the floor of room {} becomes {value}{below}; it bears {bears}", room.name);
        let mut finding = Finding::new(room.subject, room.place, message)
            .value(surface)
            .limit(&most)
            .figure(format!("loops.{loop_name}.surface-temperature-highest"));
        finding.remedies.extend(top.remedies(&room, |top| {
            inspection.workings.loops.get(at).is_some_and(|it| top.hottest(it).is_ok_and(|(warm, _)| warm <= bears))
        }));
        if let Some(rugs) = room.given.rugs.as_ref().filter(|_| !below.is_empty()) {
            finding = finding.related(rugs.at, "the rugs that are allowed for");
        }
        found.add(cooler(inspection, finding, &room, at, |it| hottest(it).is_ok_and(|warm| warm <= bears)));
    }
}

/// What lies over a room's covering and what stops the heat under it.
#[derive(Clone, Copy)]
pub(super) struct Top {
    /// Of the thickest rug that the room allows for, and the room's temperature.
    rug: Option<(ThermalResistance, Temperature)>,
    /// At which the floor sensor of its zone stops the heat.
    stops: Option<Placed<Temperature>>,
}

impl Top {
    pub(super) fn of(inspection: &Inspection, room: &RoomItem) -> Top {
        let rug = room.given.rugs.as_ref().and_then(|rugs| ThermalResistance::parse(&rugs.value).ok());
        let rug = rug.filter(|rug| *rug > ThermalResistance::ZERO);
        let zones = inspection.design.controls.zones.values();
        let zones = zones.filter(|zone| zone.rooms.iter().any(|it| it.value.name == room.name));
        let limits = zones.filter_map(|zone| zone.floor_sensor.as_ref()?.limit);
        Top {
            rug: rug.zip(room.given.temperature.map(|it| it.value)),
            stops: limits.min_by(|one, other| one.value.in_celsius().total_cmp(&other.value.in_celsius())),
        }
    }

    /// Whether a floor sensor keeps the covering from becoming warmer than a limit, whatever the water could do. Of what lies under a rug a
    /// sensor beside it knows nothing.
    pub(super) fn is_guarded(&self, limit: Temperature) -> bool {
        self.rug.is_none() && self.stops.is_some_and(|stops| stops.value <= limit)
    }

    /// The top of the covering over a pipe, and the heat that passes there: under the rug, where there is one.
    pub(super) fn hottest(&self, it: &LoopWorkings) -> Result<(Temperature, HeatFlux), Gap> {
        let flux = it.heat_flux.value()?;
        let Some((rug, room)) = self.rug.filter(|_| flux > HeatFlux::ZERO) else {
            return Ok((it.surface_temperature_highest.value()?, flux));
        };
        // Beside the rug the floor is no warmer than the sensor lets it be.
        let stops = self.stops.map(|stops| stops.value).filter(|stops| *stops > room);
        let stopped = stops.map(|stops| basic_characteristic(stops - room));
        let beside = stopped.transpose()?.map_or(flux, |stopped| stopped.min(flux));
        let per_kelvin = it.characteristic.value()?.in_watts_per_square_metre_kelvin();
        let share = 1.0 / (1.0 + per_kelvin * rug.in_square_metre_kelvin_per_watt());
        let through = beside * share;
        let ripple = it.surface_ripple.value()? * (through / flux);
        Ok((surface::under(surface::mean(through, room)? + ripple, through, rug), through))
    }

    /// Where the heat is meant: a word for the message.
    pub(super) fn below(&self) -> &'static str {
        if self.rug.is_some() { " below its rugs" } else { "" }
    }

    /// What makes it cool enough under a rug.
    pub(super) fn remedies(&self, room: &RoomItem, is_enough: impl Fn(&Top) -> bool) -> impl Iterator<Item = Remedy> {
        self.cooler_sensor(&is_enough).into_iter().chain(self.thinner_rug(room, &is_enough))
    }

    /// The floor sensor beside the rug set so that the covering below bears the heat, in whole degrees.
    fn cooler_sensor(&self, is_enough: impl Fn(&Top) -> bool) -> Option<Remedy> {
        let (stops, _) = (self.stops?, self.rug?);
        let lower = (1..6).map(|step| stops.value.in_celsius().ceil() - f64::from(step));
        let with = |celsius: f64| Placed { value: Temperature::celsius(celsius), at: stops.at };
        let fits = |celsius: &f64| is_enough(&Top { stops: Some(with(*celsius)), ..*self });
        let text = format!("{:.0} °C", lower.into_iter().find(fits)?);
        Some(Remedy::new(format!("set the floor sensor to {text}"), stops.at, text))
    }

    /// The thickest rug under which the covering bears the heat, in hundredths.
    fn thinner_rug(&self, room: &RoomItem, is_enough: impl Fn(&Top) -> bool) -> Option<Remedy> {
        let (now, temperature) = self.rug?;
        let given = room.given.rugs.as_ref()?;
        let resistance = ThermalResistance::square_metre_kelvin_per_watt;
        let hundredths = (now.in_square_metre_kelvin_per_watt().min(1.0) * 100.0).ceil() as u32;
        let thinner = (1..hundredths).rev().map(|it| resistance(f64::from(it) / 100.0));
        let fits = |rug: &ThermalResistance| is_enough(&Top { rug: Some((*rug, temperature)), ..*self });
        let text = format!("{:.2} m²·K/W", thinner.into_iter().find(fits)?.in_square_metre_kelvin_per_watt());
        Some(Remedy::new(format!("allow for rugs of {text} at most"), given.at, text))
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// A sensor beside a rug keeps 27 °C there, and knows nothing of the wood below. By hand, from EN 1264-2's basic characteristic: 7 K over
    /// 20 °C is 75.9 W/m², of which
    /// 1 / (1 + 3.5 x 0.2) pass a rug of 0.2 m²·K/W, 44.6 W/m²: 20 + 4.3 + 8.9 °C and a hair for the stripe.
    #[test]
    fn a_floor_sensor_does_not_see_below_a_rug() {
        let found = |more: &str| {
            let outcome = check(&format!(
                "heat-source: {{kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}}\nrooms:\n  hall: {{use: living, \
                 temperature: 20 °C, heat-loss: 1150 W, floor: screeded, area: 12 m², covering: [{{material: oak, thickness: 14 mm, held: \
                 glued}}]{more}}}\ncontrols: {{zones: {{hall: {{rooms: [hall], floor-sensor: {{limit: 27 °C}}}}}}}}\n"
            ));
            outcome.findings.into_iter().find(|it| it.rule.name == RULE.name)
        };
        assert!(found("").is_none());
        let under = found(", rugs: 0.2 m²K/W").unwrap();
        assert!(under.message.ends_with("below its rugs; it bears 27.0 °C"), "{}", under.message);
        let celsius = under.value.unwrap().value;
        assert!((celsius - 33.3).abs() < 0.3, "{celsius}");
    }
}
