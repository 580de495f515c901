//! The floor's water follows the weather.
//!
//! A floor that always gets the water of the coldest night is shut and opened all spring by its thermostats, and a heat pump
//! pays for every kelvin of it.
//!
//! ## How it is worked out
//! What the design says of weather compensation, unless the source is solid fuel.
//!
//! ## Limit
//! Present for heat pumps, recommended for boilers: a trade text on English guidance.
//!
//! ```yaml fails
//! controls: {weather-compensation: false, interlock: true}
//! #                                ^^^^^ the flow temperature of the heat pump does not follow the weather
//! ```
//! ```yaml remedied
//! controls: {weather-compensation: true, interlock: true}
//! ```

use super::prelude::*;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "no-weather-compensation",
    group: Group::Source,
    weights: [Silent, Information, Information, Information],
    file: include_str!("no_weather_compensation.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let kind = design.heat_source.kind.map(|kind| kind.value);
    if design.loops.is_empty() || kind == Some(SourceKind::SolidFuel) {
        return;
    }
    let Some(compensation) = design.controls.weather_compensation else {
        if !design.controls.broken {
            found.missing(Subject::Controls, "weather-compensation");
        }
        return;
    };
    if compensation.value {
        return;
    }
    let message = match kind {
        Some(kind) => format!("the flow temperature of the {kind} does not follow the weather"),
        None => "the flow temperature does not follow the weather".to_string(),
    };
    found.add(
        Finding::new(Subject::Controls, compensation.at, message)
            .source("a trade text on English guidance")
            .remedy(Remedy::new("let it follow the weather", compensation.at, "true")),
    );
}
