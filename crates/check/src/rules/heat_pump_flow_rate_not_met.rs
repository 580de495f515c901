//! The loops that are always open pass the flow that a heat pump must have.
//!
//! A heat pump whose water stands still trips on high pressure, or freezes up as it defrosts. When the thermostats have shut
//! the bedrooms, what is still open has to take its flow.
//!
//! ## How it is worked out
//! The least flow that the maker states; else the output over (specific heat x 5 K). Against the flows of the loops that no
//! thermostat can shut, as the source sees them, and the by-pass; where the pump has a curve, with the flows that those loops
//! get while the others are shut. The remedies give a by-pass that passes what is short; or keep the zones of most flow always open,
//! without actuators, until they pass enough.
//!
//! ## Limit
//! The maker's figure; else 5 K, of the 5 to 7 K of trade texts.
//!
//! ## Exceptions
//! Where a vessel is always in circuit and no least flow is stated, the vessel may be what parts the flows: then the maker's
//! figure is asked for. Where every zone can shut, that is said instead.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 50 l}
//! #                                                                                                        ^^^^^^^ the heat pump must have 3.00 l/min; the loops that are always open pass 1.84 l/min
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 50 l}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m}, actuators: 1}
//!   interlock: true
//!   weather-compensation: true
//!   by-pass: 1.5 l/min
//! ```
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW}
//! #                                                                                      ^^^^ the heat pump must have 14.46 l/min; the loops that are always open pass 3.64 l/min
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 3 l/min, volume-vessel: 50 l}
//! ```

use super::prelude::*;
use crate::remedy::{Change, add_key};
use crate::zones;
use design::{Place, SourceKind};
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "heat-pump-flow-rate-not-met",
    group: Group::Source,
    weights: [Silent, Warning, Error, Error],
    limits: &[DROP],
    file: include_str!("heat_pump_flow_rate_not_met.rs"),
    check,
    ..Rule::USUAL
};

const DROP: Limit =
    Limit { name: "drop-through-the-heat-pump", value: "5 K", source: "trade texts on 5 to 7 K and least flow" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let source = &design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) || design.loops.is_empty() {
        return;
    }
    if design.controls.broken {
        return;
    }
    if design.controls.zones.is_empty() {
        return found.missing(Subject::Controls, "zones");
    }
    let (needed, whose, place) = match needed(inspection) {
        Ok(needed) => needed,
        Err(_) if source.broken => return,
        Err(gap) => return found.not_checked(Subject::HeatSource, &gap),
    };
    if zones::all_can_shut(inspection) {
        return;
    }
    let shuts = zones::loops_that_shut(inspection);
    let mut open = design.controls.by_pass.map_or(VolumeFlow::ZERO, |it| it.value);
    for at in (0..shuts.len()).filter(|at| !shuts[*at]) {
        match zones::primary_flow(inspection, at) {
            Ok(flow) => open += flow,
            Err((about, gap)) => return found.not_checked(about, &gap),
        }
    }
    if open >= needed {
        return;
    }
    // Loops that stay open get more than their own when a pump with a curve has only them to drive.
    let others_shut = more_with_others_shut(inspection, &shuts);
    let open = others_shut.filter(|flow| *flow > open).unwrap_or(open);
    if open >= needed {
        return;
    }
    let message = format!("the heat pump must have {needed}; the loops that are always open pass {open}");
    found.add(
        Finding::new(Subject::HeatSource, place, message)
            .value(open)
            .limit(&LimitValue::new(needed, whose))
            .remedy(by_pass(inspection, needed - open))
            .remedy(keep_open(inspection, needed - open)),
    );
}

/// The flow that the heat pump must have, whose figure it is and where it comes from.
pub(super) fn needed(inspection: &Inspection) -> Result<(VolumeFlow, &'static str, Place), Gap> {
    let source = &inspection.design.heat_source;
    let missing = |key| Gap::missing(Subject::HeatSource, key);
    let output = match (source.least_flow, source.volume_vessel, source.output) {
        (Some(least), ..) => return Ok((least.value, "the heat pump's maker, as the design gives it", least.at)),
        (None, Some(_), _) => return Err(missing("least-flow")),
        // A vessel that is there and cannot be read may well let the loops shut.
        (None, None, _) if source.has_unread("volume-vessel") => return Err(missing("volume-vessel")),
        (None, None, None) => return Err(missing("output")),
        (None, None, Some(output)) => output,
    };
    let drop = DROP.get::<TemperatureDifference>(&RULE, inspection);
    let at = source.flow_temperature.map_or(Temperature::celsius(35.0), |it| it.value);
    let water = workings::fluid(inspection.design)?.at(at)?;
    let carried = water.specific_heat.in_joules_per_kilogram_kelvin() * drop.value.in_kelvin();
    let flow = MassFlow::kilograms_per_second(output.value.in_watts() / carried);
    Ok((flow / water.density, drop.source, output.at))
}

/// What the loops that stay open pass when the others are shut, as pumps and valves are; nothing where a pump is not known.
fn more_with_others_shut(inspection: &Inspection, shuts: &[bool]) -> Option<VolumeFlow> {
    let mut all = inspection.design.controls.by_pass.map_or(VolumeFlow::ZERO, |it| it.value);
    let flows = workings::flows_with_shut(inspection.design, inspection.workings, shuts).ok()?;
    for (at, flow) in flows.into_iter().enumerate() {
        let Some(flow) = flow else { continue };
        let usual = inspection.workings.loops[at].flow.as_ref().ok()?.value;
        all += zones::primary_flow(inspection, at).ok()? * (flow / usual);
    }
    Some(all)
}

/// Keeps zones always open, those of most flow first, until they pass what is short.
pub(super) fn keep_open(inspection: &Inspection, short: VolumeFlow) -> Option<Remedy> {
    let shuts = zones::loops_that_shut(inspection);
    let zones = &inspection.design.controls.zones;
    let mut flows: Vec<(VolumeFlow, usize)> = Vec::new();
    for (zone, loops) in zones::loops_of_zones(inspection).iter().enumerate() {
        let loops = loops.iter().filter(|at| shuts[**at]);
        let flow: Result<Vec<VolumeFlow>, _> = loops.map(|at| zones::primary_flow(inspection, *at)).collect();
        flows.push((flow.ok()?.into_iter().sum(), zone));
    }
    flows.sort_by(|one, other| other.0.in_litres_per_minute().total_cmp(&one.0.in_litres_per_minute()));
    let (mut kept, mut names, mut changes) = (VolumeFlow::ZERO, Vec::new(), Vec::new());
    for (flow, zone) in flows.into_iter().filter(|(flow, _)| *flow > VolumeFlow::ZERO) {
        if kept >= short {
            break;
        }
        let (name, entry) = zones.at(zone)?;
        kept += flow;
        names.push(name);
        changes.push(match entry.value.always_open {
            Some(shut) => Change { place: shut.at, text: "true".into() },
            None => add_key(inspection, entry.value.place, "always-open: true")?,
        });
        // What never shuts has no actuators.
        let actuators = entry.value.actuators.filter(|it| it.value > 0);
        changes.extend(actuators.map(|it| Change { place: it.at, text: "0".into() }));
    }
    (kept >= short).then(|| Remedy::of(format!("keep {} always open", names.join(" and ")), changes)).flatten()
}

/// A by-pass that passes what is short, besides what it passes now: in half litres a minute.
pub(super) fn by_pass(inspection: &Inspection, short: VolumeFlow) -> Option<Remedy> {
    let controls = &inspection.design.controls;
    let now = controls.by_pass.map_or(VolumeFlow::ZERO, |it| it.value);
    let litres = ((now + short).in_litres_per_minute() * 2.0 - 1e-6).ceil() / 2.0;
    let title = format!("give it a by-pass of {litres} l/min");
    match controls.by_pass {
        Some(by_pass) => Some(Remedy::new(title, by_pass.at, format!("{litres} l/min"))),
        None => Remedy::of(title, add_key(inspection, controls.place, &format!("by-pass: {litres} l/min"))),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    /// 5 kW / (4.178 kJ/(kg·K) x 5 K) = 0.2394 kg/s; over 0.9930 kg/l (water at 38 °C, IAPWS-95) 14.46 l/min.
    #[test]
    fn the_flow_of_an_output_at_five_kelvin() {
        let text = "heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW}\n";
        assert_eq!(
            messages(&RULE, text),
            ["the heat pump must have 14.46 l/min; the loops that are always open pass 3.64 l/min"]
        );
    }

    /// A pump with a curve pushes more through the loop that stays open; one that keeps its pressure does not.
    #[test]
    fn loops_that_stay_open_get_the_flow_of_the_pump() {
        let text = |pump: &str| {
            format!(
                "heat-source: {{kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 kW, least-flow: 2 l/min, \
                 volume-vessel: 50 l, pump: {pump}}}\nmanifolds: {{M1: {{ports: 4, flow-gauge: 0.5 to 5 l/min}}}}\ncontrols:\n  zones:\n    \
                 hall: {{rooms: [hall], thermostat: {{feels: air}}, always-open: true}}\n    \
                 study: {{rooms: [study], thermostat: {{feels: air}}, actuators: 1}}\n"
            )
        };
        let curve = "{curve: [{flow: 0 l/min, head: 60 kPa}, {flow: 5 l/min, head: 20 kPa}]}";
        assert_eq!(messages(&RULE, &text(curve)), [""; 0]);
        let kept = "the heat pump must have 2.00 l/min; the loops that are always open pass 1.84 l/min";
        assert_eq!(messages(&RULE, &text("{head: 30 kPa}")), [kept]);
    }

    #[test]
    fn with_a_vessel_the_maker_is_asked() {
        assert_eq!(not_checked(&RULE, ""), ["heat-source/least-flow"]);
    }
}
