//! Enough water is always in circuit for a heat pump to defrost with.
//!
//! To thaw itself an air-source heat pump takes heat back from the floor. With too little water it cools that to freezing,
//! breaks off, and ices over.
//!
//! ## How it is worked out
//! The content of the loops that no thermostat can shut and of the vessel that is always in circuit, over the output. The
//! remedy is a vessel that makes up what is short, to the next ten litres.
//!
//! ## Limit
//! The maker's figure; else 10 l/kW, of the 10 to 20 l/kW of common practice, from memory.
//!
//! ## Exceptions
//! Where every zone can shut, that is said instead.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min}
//! #                                                                                      ^^^^ 19.8 l of water is always in circuit, 4.0 l/kW; the heat pump wants 10.0 l/kW
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 40 l}
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, least-water: 3 l/kW}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use crate::zones;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "heat-pump-volume-too-small",
    group: Group::Source,
    weights: [Silent, Information, Warning, Warning],
    limits: &[LEAST],
    file: include_str!("heat_pump_volume_too_small.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit =
    Limit { name: "least-water", value: "10 l/kW", source: "common practice, from memory (10 to 20 l/kW)" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let source = &design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) || design.loops.is_empty() {
        return;
    }
    if design.controls.zones.is_empty() {
        if !design.controls.broken {
            found.missing(Subject::Controls, "zones");
        }
        return;
    }
    let Some(output) = source.output else {
        if !source.broken {
            found.missing(Subject::HeatSource, "output");
        }
        return;
    };
    if source.has_unread("volume-vessel") || source.has_unread("least-water") {
        return;
    }
    let vessel = source.volume_vessel.map_or(Volume::ZERO, |vessel| vessel.value);
    if output.value <= Power::ZERO || zones::all_can_shut(inspection) {
        return;
    }
    let mut water = vessel;
    let shuts = zones::loops_that_shut(inspection);
    for it in inspection.loops().zip(&shuts).filter(|(_, shuts)| !**shuts).map(|(it, _)| it) {
        let Some(content) = found.need(it.subject, &it.worked.water_content) else { return };
        water += content.value;
    }
    let mut least = LEAST.get::<SpecificVolume>(&RULE, inspection);
    if let Some(own) = source.least_water {
        least = LimitValue::new(own.value, "the heat pump's maker, as the design gives it");
    }
    let each = SpecificVolume::litres_per_kilowatt(water.in_litres() / output.value.in_kilowatts());
    if each >= least.value {
        return;
    }
    let message = format!("{water} of water is always in circuit, {each}; the heat pump wants {}", least.value);
    let short = least.value.in_litres_per_kilowatt() * output.value.in_kilowatts() - water.in_litres();
    let text = format!("{} l", ((vessel.in_litres() + short) / 10.0 - 1e-9).ceil() * 10.0);
    let title = format!("put a vessel of {text} in circuit");
    let remedy = match source.volume_vessel {
        Some(vessel) => Some(Remedy::new(title, vessel.at, text)),
        None => Remedy::of(title, add_key(inspection, source.place, &format!("volume-vessel: {text}"))),
    };
    let place = source.volume_vessel.map_or(output.at, |vessel| vessel.at);
    found.add(Finding::new(Subject::HeatSource, place, message).value(each).limit(&least).remedy(remedy));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// The loops hold 175.3 m x π/4 x (12 mm)² = 19.8 l.
    #[test]
    fn a_vessel_counts_in_full() {
        let text = |vessel| {
            format!(
                "heat-source: {{kind: heat pump, flow-temperature: 38 °C, output: 5 kW, volume-vessel: {vessel}}}\n"
            )
        };
        assert_eq!(messages(&RULE, &text("30.1 l")).len(), 1);
        assert_eq!(messages(&RULE, &text("30.2 l")), [""; 0]);
    }
}
