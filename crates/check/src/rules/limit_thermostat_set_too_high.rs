//! The limit thermostat acts before any layer round the pipe becomes too hot.
//!
//! A limit that lets through more than the weakest layer bears guards nothing.
//!
//! ## How it is worked out
//! The weakest layer of all floors counts: the layer that holds the pipe and its neighbours, coverings left out.
//! A `highest-temperature` that a layer states counts before the usual one. A setting more than 10 K above the
//! hottest flow is for information.
//!
//! ## Limit
//! What the layers bear is that of `layer-over-its-temperature-limit`: screed 55 °C, gypsum board 50 °C, mastic
//! asphalt 45 °C. 10 K above the flow: common practice, no source.
//!
//! ```yaml fails
//! safety:
//!   limit-thermostat: {setting: 60 °C, independent: true, without-power: true}
//! #                             ^^^^^ the limit thermostat acts at 60.0 °C; the cement screed bears 55.0 °C
//! ```
//! ```yaml remedied
//! safety:
//!   limit-thermostat: {setting: 48 °C, independent: true, without-power: true}
//! ```

use super::layer_over_its_temperature_limit::bears;
use super::prelude::*;
use design::Place;
use workings::{Gap, ValueOf};

pub static RULE: Rule = Rule {
    name: "limit-thermostat-set-too-high",
    group: Group::Safety,
    weights: [Warning, Error, Error, Error],
    limits: &[ABOVE_FLOW],
    caution: Some(
        "Danger of over-heating: set it to the weakest layer, and for people with poor feeling in the feet take advice.",
    ),
    file: include_str!("limit_thermostat_set_too_high.rs"),
    check,
    ..Rule::USUAL
};

const ABOVE_FLOW: Limit = Limit { name: "above-flow", value: "10 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(limit) = &inspection.design.safety.limit_thermostat else { return };
    let Some(setting) = limit.setting else {
        found.missing(Subject::Safety, "limit-thermostat/setting");
        return;
    };
    let flow = hottest_flow(inspection);
    let finding = |message: String| {
        let lower = flow.map(|(flow, _)| {
            let text = format!("{} °C", usual_setting(inspection, flow).in_celsius().floor());
            Remedy::new(format!("set it to {text}"), setting.at, text)
        });
        Finding::new(Subject::Safety, setting.at, message).value(setting.value).remedy(lower)
    };
    match weakest(inspection) {
        Some(weakest) if setting.value > weakest.limit.value => {
            let (at, bears) = (setting.value, weakest.limit.value);
            let message = format!("the limit thermostat acts at {at}; the {} bears {bears}", weakest.what);
            found.add(finding(message).limit(&weakest.limit).related(weakest.layer, format!("the {}", weakest.what)));
            return;
        }
        None if !inspection.design.floors.is_empty() => {
            let reason = "no layer round the pipe has a known limit; give its highest-temperature";
            found.not_checked(Subject::Safety, &Gap::NoMethod(reason.into()));
        }
        _ => {}
    }
    let above = ABOVE_FLOW.get::<TemperatureDifference>(&RULE, inspection);
    if let Some((flow, at)) = flow
        && above.is_exceeded_by(setting.value - flow)
    {
        let over = setting.value - flow;
        let message =
            format!("the limit thermostat acts {over} above the hottest flow of {flow}; {} is usual", above.value);
        let name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        found.add_as(Information, finding(message).limit(&above).figure(format!("loops.{name}.flow-temperature")));
    }
}

/// The hottest water that any loop is designed for, and the loop.
pub(crate) fn hottest_flow(inspection: &Inspection) -> Option<(Temperature, usize)> {
    let flows = inspection.workings.loops.iter().enumerate();
    let known = flows.filter_map(|(at, it)| Some((it.flow_temperature.value().ok()?, at)));
    known.reduce(|one, other| if other.0 > one.0 { other } else { one })
}

/// What a limit thermostat is set to: 10 K above the flow, and no more than the weakest layer bears.
pub(crate) fn usual_setting(inspection: &Inspection, flow: Temperature) -> Temperature {
    let usual = flow + ABOVE_FLOW.get::<TemperatureDifference>(&RULE, inspection).value;
    weakest(inspection).map_or(usual, |weakest| usual.min(weakest.limit.value))
}

/// The layer round a pipe that bears least.
struct Weakest {
    what: String,
    layer: Place,
    limit: LimitValue<Temperature>,
}

fn weakest(inspection: &Inspection) -> Option<Weakest> {
    let mut weakest: Option<Weakest> = None;
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let Ok(pipe) = floor.worked.pipe_layer else { continue };
        let round = pipe.saturating_sub(1)..(pipe + 2).min(floor.given.layers.len());
        for at in round {
            let (Some(layer), Some(worked)) = (floor.given.layers.get(at), floor.worked.layers.get(at)) else {
                continue;
            };
            if at != pipe && worked.material.is_some_and(|material| material.kind.is_covering()) {
                continue;
            }
            let Some(limit) = bears(inspection, &floor, at) else { continue };
            if weakest.as_ref().is_none_or(|weakest| limit.value < weakest.limit.value) {
                let what = layer.material.as_ref().map_or("layer".into(), |material| material.value.clone());
                weakest = Some(Weakest { what, layer: layer.at, limit });
            }
        }
    }
    weakest
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn set(setting: &str, more: &str) -> Vec<String> {
        messages(&RULE, &format!("safety: {{limit-thermostat: {{setting: {setting}}}}}\n{more}"))
    }

    #[test]
    fn ten_kelvin_above_the_flow_are_usual() {
        assert!(set("48 °C", "").is_empty());
        assert_eq!(
            set("48.5 °C", ""),
            ["the limit thermostat acts 10.5 K above the hottest flow of 38.0 °C; 10.0 K is usual"]
        );
    }

    #[test]
    fn a_layer_bears_what_its_maker_says() {
        let floor = "floors:\n  screeded:\n    method: floating-board\n    layers:\n      - {material: gypsum fibre board, \
                     thickness: 20 mm}\n      - {material: EPS, thickness: 30 mm, pipe: at top, highest-temperature: 60 °C}\n";
        assert_eq!(
            set("51 °C", floor)[0],
            "the limit thermostat acts at 51.0 °C; the gypsum fibre board bears 50.0 °C"
        );
        assert!(!set("50 °C", floor)[0].contains("bears"));
        let weaker = floor.replace("60 °C", "45 °C");
        assert_eq!(set("46 °C", &weaker), ["the limit thermostat acts at 46.0 °C; the EPS bears 45.0 °C"]);
    }

    #[test]
    fn a_layer_without_a_known_limit_is_told() {
        let floor = "floors:\n  screeded:\n    layers: [{material: PIR board, thickness: 20 mm, pipe: at top}]\n";
        let text = format!("safety: {{limit-thermostat: {{setting: 45 °C}}}}\n{floor}");
        assert_eq!(not_checked(&RULE, &text).len(), 1);
    }
}
