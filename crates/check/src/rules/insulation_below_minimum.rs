//! A heated floor is insulated below its pipe.
//!
//! Heat that goes down is paid for as long as the house stands, and no one can put insulation in later.
//!
//! ## How it is worked out
//! Thickness over conductivity of the insulation layers below the pipe; a studded or castellated board counts by its flat part only.
//!
//! ## Limit
//! EN 1264-4, table 1: over a heated room 0.75; over the ground, unheated or part-heated rooms 1.25; over outdoor air 1.25 at 0 °C and
//! above, 1.50 down to -5 °C, 2.00 m²·K/W down to -15 °C. Ground water within 5 m asks for more. Energy regulations usually ask far more:
//! the remedy meets `floor-u-value-over-regulation` and `downward-loss-too-high` as well.
//!
//! ## Exceptions
//! A slab between two heated rooms that heats both ways wants none (ISO 11855). Where there is no insulation at all `insulation-missing`
//! speaks.
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
//!       - {material: mineral wool, thickness: 100 mm, conductivity: 0.036 W/(m·K)}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::prelude::*;
use crate::insulation;
use crate::layers::FloorItem;
use design::{Below, Method};
use workings::Gap;

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
    for floor in inspection.floors().filter(concerned) {
        let Some(below) = floor.given.below else {
            if !floor.given.broken {
                found.missing(floor.subject, "below");
            }
            continue;
        };
        let limit = match wanted(inspection, below.value) {
            Ok(limit) => limit,
            Err(gap) => {
                found.not_checked(floor.subject, &gap);
                continue;
            }
        };
        let Some(resists) = found.need(floor.subject, &floor.worked.insulation_below) else { continue };
        if resists.value >= limit.value - ThermalResistance::square_metre_kelvin_per_watt(1e-6) {
            continue;
        }
        // None at all is another cause, and said by its own rule.
        if super::insulation_missing::is_missing(&floor) != Ok(false) {
            continue;
        }
        let (value, least) = (resists.value, limit.value);
        let message = format!(
            "the insulation under floor {} is {value}; over {} at least {least} is wanted",
            floor.name,
            below_words(below.value)
        );
        let (place, remedy) = match insulation::enough(inspection, &floor) {
            Some((place, remedy)) => (place, Some(remedy)),
            None => (floor.place, None),
        };
        found.add(
            Finding::new(floor.subject, place, message)
                .value(resists.value)
                .limit(&limit)
                .figure(format!("floors.{}.insulation-below", floor.name))
                .related(below.at, "what lies below")
                .remedy(remedy),
        );
    }
}

/// Heated floors that want insulation: all but a slab that heats the room below as well (ISO 11855).
pub(crate) fn concerned(floor: &FloorItem) -> bool {
    let both_ways = floor.given.method.is_some_and(|it| it.value == Method::EmbeddedInSlab)
        && floor.given.below.is_some_and(|it| it.value == Below::HeatedRoom);
    !floor.worked.loops.is_empty() && !both_ways
}

/// The least insulation over what lies below.
pub(crate) fn wanted(inspection: &Inspection, below: Below) -> Result<LimitValue<ThermalResistance>, Gap> {
    Ok(match below {
        Below::HeatedRoom => HEATED.get(&RULE, inspection),
        Below::Ground | Below::UnheatedRoom | Below::PartHeatedRoom => UNHEATED.get(&RULE, inspection),
        Below::OutdoorAir => {
            let outdoors = inspection.design.site.outdoor_temperature;
            match outdoors.ok_or(Gap::missing(Subject::Site, "outdoor-temperature"))?.value.in_celsius() {
                celsius if celsius >= 0.0 => MILD.get(&RULE, inspection),
                celsius if celsius >= -5.0 => COOL.get(&RULE, inspection),
                _ => COLD.get(&RULE, inspection),
            }
        }
    })
}

/// What lies below, in words.
pub(super) fn below_words(below: Below) -> &'static str {
    match below {
        Below::Ground => "the ground",
        Below::HeatedRoom => "a heated room",
        Below::PartHeatedRoom => "a part-heated room",
        Below::UnheatedRoom => "an unheated room",
        Below::OutdoorAir => "outdoor air",
    }
}
