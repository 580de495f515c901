//! Vinyl, linoleum, rubber or cork is kept at a temperature that its glue bears.
//!
//! The glue softens under the covering, seams open and edges curl; the surface itself may still feel right.
//!
//! ## How it is worked out
//! The surface above the pipes of the loop that makes it warmest at the design flow temperature, and what the heat adds through the
//! covering: surface + heat flux x resistance of the covering. Where the room's `rugs` give a resistance, below such a rug, as in
//! `timber-covering-too-warm`.
//!
//! ## Limit
//! 27 °C at the underside of the covering: BS 8203, quoted by a warranty body. Apply the maker's own figure where there is one.
//!
//! ## Exceptions
//! A floor sensor of the room's zone that stops the heat at the limit guards the glue.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 900 W, floor: screeded, area: 12 m², covering: [{material: vinyl, thickness: 3 mm, held: glued}]}
//! # ^^^^ the glue under the floor of room hall becomes 30.4 °C; it bears 27.0 °C
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 35 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², covering: [{material: vinyl, thickness: 3 mm, held: glued}]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::surface_too_warm_occupied::{cooler, warmest};
use super::timber_covering_too_warm::Top;
use crate::zones::top_of_floor;
use engineering::heat::materials::Kind as Material;
use engineering::heat::surface;
use workings::{Gap, LoopWorkings, RoomWorkings};

pub static RULE: Rule = Rule {
    name: "resilient-covering-too-warm",
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
    file: include_str!("resilient_covering_too_warm.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "most-at-the-underside", value: "27 °C", source: "BS 8203, quoted by a warranty body" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Temperature>(&RULE, inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        if top_of_floor(inspection, room.worked) != Some(Material::Resilient) {
            continue;
        }
        let Some(covering) = top_resistance(inspection, room.worked) else {
            found.need(room.subject, &room.worked.covering_resistance);
            continue;
        };
        let top = Top::of(inspection, &room);
        if top.is_guarded(most.value) {
            continue;
        }
        let glue_under = |top: &Top, it: &LoopWorkings| {
            let (surface, flux) = top.hottest(it)?;
            Ok::<_, Gap>(surface::under(surface, flux, covering))
        };
        let glue_of = |it: &LoopWorkings| glue_under(&top, it);
        let Some((at, glue)) = warmest(inspection, found, &room.worked.loops, glue_of) else { continue };
        if glue <= most.value {
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, bears) = (glue, most.value);
        let below = top.below();
        let message =
            format!("the glue under the floor of room {} becomes {value}{below}; it bears {bears}", room.name);
        let mut finding = Finding::new(room.subject, room.place, message)
            .value(glue)
            .limit(&most)
            .figure(format!("loops.{loop_name}.surface-temperature-highest"));
        finding.remedies.extend(top.remedies(&room, |top| {
            let it = inspection.workings.loops.get(at);
            it.is_some_and(|it| glue_under(top, it).is_ok_and(|warm| warm <= bears))
        }));
        if let Some(rugs) = room.given.rugs.as_ref().filter(|_| !below.is_empty()) {
            finding = finding.related(rugs.at, "the rugs that are allowed for");
        }
        found.add(cooler(inspection, finding, &room, at, |it| glue_of(it).is_ok_and(|warm| warm <= bears)));
    }
}

/// What the uppermost layer of a room's floor resists.
pub(super) fn top_resistance(inspection: &Inspection, room: &RoomWorkings) -> Option<ThermalResistance> {
    let floor = room.floor.and_then(|floor| inspection.workings.floors.get(floor));
    let top = room.covering.first().or(floor.and_then(|floor| floor.layers.first()))?;
    Some(top.resistance.as_ref().ok()?.value)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// 60 W/m² at 20 °C through vinyl of 0.012 m²·K/W: 25.7 + 0.7 = 26.4 °C at the glue; 70 W/m²: 26.5 + 0.8 = 27.3 °C
    /// (EN 1264-2, basic characteristic, and plain physics).
    #[test]
    fn the_glue_is_warmer_than_the_surface() {
        use engineering::heat::surface::{mean, under};
        use quantity::*;
        let glue = |watts: f64| {
            let flux = HeatFlux::watts_per_square_metre(watts);
            let vinyl = ThermalResistance::square_metre_kelvin_per_watt(0.012);
            under(mean(flux, Temperature::celsius(20.0)).unwrap(), flux, vinyl).in_celsius()
        };
        assert!((glue(60.0) - 26.4).abs() < 0.05 && (glue(70.0) - 27.3).abs() < 0.1);
    }

    #[test]
    fn a_floor_sensor_guards_the_glue() {
        let text = |zone: &str| {
            format!(
                "heat-source: {{kind: condensing boiler, flow-temperature: 45 °C}}\nrooms: {{hall: {{temperature: 20 °C, heat-loss: 900 W, \
                 floor: screeded, area: 12 m², covering: [{{material: linoleum, thickness: 3 mm}}]}}}}\ncontrols: {{zones: {{hall: {{rooms: \
                 [hall]{zone}}}}}}}\n"
            )
        };
        assert_eq!(messages(&RULE, &text("")).len(), 1);
        assert!(messages(&RULE, &text(", floor-sensor: {limit: 27 °C}")).is_empty());
        assert_eq!(messages(&RULE, &text(", floor-sensor: {limit: 27.1 °C}")).len(), 1);
    }
}
