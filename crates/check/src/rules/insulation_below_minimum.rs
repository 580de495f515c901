//! A heated floor is insulated below its pipe.
//!
//! Heat that goes down is paid for as long as the house stands, and no one can put insulation in later.
//!
//! ## How it is worked out
//! Thickness over conductivity of the insulation layers below the pipe; a studded or castellated board counts by its flat part only.
//!
//! ## Limit
//! EN 1264-4, table 1: over a heated room 0.75; over the ground, unheated or part-heated rooms 1.25; over outdoor air 1.25 at 0 °C and
//! above, 1.50 down to -5 °C, 2.00 m²·K/W down to -15 °C. Ground water within 5 m asks for more. Energy regulations usually ask far more.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: mineral wool, thickness: 25 mm, conductivity: 0.036 W/(m·K)}
//! #                                           ^^^^^ the insulation under floor screeded is 0.694 m²·K/W; over the ground at least 1.250 m²·K/W is wanted
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: mineral wool, thickness: 45 mm, conductivity: 0.036 W/(m·K)}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::prelude::*;
use design::Below;
use engineering::heat::materials::Kind as MaterialKind;

pub static RULE: Rule = Rule {
    name: "insulation-below-minimum",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[HEATED, UNHEATED, MILD, COOL, COLD],
    file: include_str!("insulation_below_minimum.rs"),
    check,
    ..Rule::USUAL
};

const HEATED: Limit = Limit {
    name: "over-heated-room",
    value: "0.75 m²K/W",
    source: "EN 1264-4, table 1, as several secondary copies give it",
};
const UNHEATED: Limit = Limit {
    name: "over-unheated-or-ground",
    value: "1.25 m²K/W",
    source: "EN 1264-4, table 1, as several secondary copies give it",
};
const MILD: Limit = Limit {
    name: "over-outdoor-air-to-0",
    value: "1.25 m²K/W",
    source: "EN 1264-4, table 1, as several secondary copies give it",
};
const COOL: Limit = Limit {
    name: "over-outdoor-air-to-minus-5",
    value: "1.50 m²K/W",
    source: "EN 1264-4, table 1; two secondary copies",
};
const COLD: Limit = Limit {
    name: "over-outdoor-air-to-minus-15",
    value: "2.00 m²K/W",
    source: "EN 1264-4, table 1, as several secondary copies give it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Some(below) = floor.given.below else {
            if !floor.given.broken {
                found.missing(floor.subject, "below");
            }
            continue;
        };
        let limit = match below.value {
            Below::HeatedRoom => HEATED.get::<ThermalResistance>(),
            Below::Ground | Below::UnheatedRoom | Below::PartHeatedRoom => UNHEATED.get(),
            Below::OutdoorAir => {
                let Some(outdoors) = inspection.design.site.outdoor_temperature else {
                    found.missing(Subject::Site, "outdoor-temperature");
                    continue;
                };
                match outdoors.value.in_celsius() {
                    celsius if celsius >= 0.0 => MILD.get(),
                    celsius if celsius >= -5.0 => COOL.get(),
                    _ => COLD.get(),
                }
            }
        };
        let Some(insulation) = found.need(floor.subject, &floor.worked.insulation_below) else { continue };
        if insulation.value >= limit.value - ThermalResistance::square_metre_kelvin_per_watt(1e-6) {
            continue;
        }
        let message = format!(
            "the insulation under floor {} is {}; over {} at least {} is wanted",
            floor.name,
            insulation.value,
            below_words(below.value),
            limit.value
        );
        let layer = floor
            .given
            .layers
            .iter()
            .zip(&floor.worked.layers)
            .skip(floor.worked.pipe_layer.clone().unwrap_or(0))
            .filter(|(given, layer)| {
                layer.is(MaterialKind::Insulation) && given.pipe.is_none() && given.flat_thickness.is_none()
            });
        let thickest = layer.filter_map(|(given, layer)| Some((given.thickness?, layer.conductivity?)));
        let thickest = thickest.max_by(|one, other| one.0.value.in_metres().total_cmp(&other.0.value.in_metres()));
        let place = thickest.map_or(floor.place, |(thickness, _)| thickness.at);
        let remedy = thickest.map(|(thickness, conductivity)| {
            let more = (limit.value - insulation.value) * conductivity;
            let text = format!("{:.0} mm", ((thickness.value + more).in_millimetres() - 1e-6).ceil());
            Remedy::new(format!("make it {text} thick"), thickness.at, text)
        });
        found.add(
            Finding::new(floor.subject, place, message)
                .value(insulation.value)
                .limit(&limit)
                .figure(format!("floors.{}.insulation-below", floor.name))
                .related(below.at, "what lies below")
                .remedy(remedy),
        );
    }
}

fn below_words(below: Below) -> &'static str {
    match below {
        Below::Ground => "the ground",
        Below::HeatedRoom => "a heated room",
        Below::PartHeatedRoom => "a part-heated room",
        Below::UnheatedRoom => "an unheated room",
        Below::OutdoorAir => "outdoor air",
    }
}
