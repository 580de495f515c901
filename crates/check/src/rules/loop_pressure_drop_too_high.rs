//! One loop does not take more pressure than a small pump can spare for it.
//!
//! What one loop takes the pump must give to the whole manifold, and all other valves must throttle it away again: it is paid
//! for in every hour of pumping, and heard.
//!
//! ## How it is worked out
//! Friction along the pipe by Darcy and Weisbach, its bends, and the open valves of its port, at the flow that the loop needs
//! or is set to. The remedies take a flow that is set too high down to what is needed; let the water cool by so much more
//! that the flow falls to what the limit allows; or split the loop, where its parts
//! still carry their air back.
//!
//! ## Limit
//! 20 kPa: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.9 l/min}
//! #                                                                                           ^^^^^^^^^ loop L1 takes 27.1 kPa at its flow; 20.0 kPa is as much as one loop should
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 45 kPa}, valves: {kv-open: 1.1 m³/h, kv-actuator: 2.5 m³/h}}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 1.84 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 45 kPa}, valves: {kv-open: 1.1 m³/h, kv-actuator: 2.5 m³/h}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::add_key;
use crate::split::{Part, split};
use design::Loop;
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "loop-pressure-drop-too-high",
    group: Group::Hydraulics,
    weights: [Hint, Information, Warning, Warning],
    limits: &[MOST],
    follows: &[
        "floor-cannot-give-this-much",
        "temperature-drop-too-narrow",
        "loop-over-maximum-length",
        "velocity-too-high",
        "insulation-missing",
        "void-insulation-missing",
        "second-emitter-missing",
    ],
    file: include_str!("loop_pressure_drop_too_high.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most", value: "20 kPa", source: "common practice, no source" };
/// The widest drop that floors are laid out for.
const WIDEST: TemperatureDifference = TemperatureDifference::kelvin(10.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Pressure>(&RULE, inspection);
    for it in inspection.loops() {
        let Some(drop) = found.need(it.subject, &it.worked.pressure_drop) else { continue };
        if drop.value <= most.value {
            continue;
        }
        let message =
            format!("loop {} takes {} at its flow; {} is as much as one loop should", it.name, drop.value, most.value);
        let place = it.given.flow.map_or(it.place, |flow| flow.at);
        found.add(
            Finding::new(it.subject, place, message)
                .value(drop.value)
                .limit(&most)
                .figure(format!("loops.{}.pressure-drop", it.name))
                .remedy(crate::flows::no_more_than_needed(inspection, &it))
                .remedy(wider_drop(inspection, &it, drop.value / most.value))
                .remedy(split(inspection, &it, |part| {
                    part.carries_air(inspection, &it) && part_of(drop.value, &it, part) <= most.value
                })),
        );
    }
}

/// What a part of a loop takes, about, of what the whole takes: between laminar and rough flow the pressure goes by the power
/// 1.75 of the flow.
pub(super) fn part_of(drop: Pressure, it: &Item<Loop, LoopWorkings>, part: Part) -> Pressure {
    let length = it.worked.length.as_ref().map_or(1.0, |length| part.length / length.value);
    drop * (length * part.share.powf(1.75))
}

/// A drop so much wider that the flow is small enough.
fn wider_drop(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, over: f64) -> Option<Remedy> {
    if it.given.flow.is_some() {
        return None;
    }
    let drop = it.worked.flow.as_ref().ok()?.inputs.iter().find(|input| input.name == "temperature-drop")?;
    let wider = (drop.value * over.powf(1.0 / 1.75) * 2.0).ceil() / 2.0;
    if TemperatureDifference::kelvin(wider) > WIDEST {
        return None;
    }
    let title = format!("let its water cool by {wider} K");
    match it.given.temperature_drop {
        Some(own) => Some(Remedy::new(title, own.at, format!("{wider} K"))),
        None => Remedy::of(title, add_key(inspection, it.given.place, &format!("temperature-drop: {wider} K"))),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, not_checked};

    #[test]
    fn a_long_loop_is_helped_by_a_wider_drop() {
        let text = "heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}\n\
                    loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 900 W}\n";
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let titles: Vec<&str> = finding.remedies.iter().map(|remedy| &*remedy.title).collect();
        assert_eq!(titles, ["let its water cool by 5.5 K", "split it into 2 loops of about 50.0 m"]);
    }

    #[test]
    fn without_a_length_it_is_not_checked() {
        let text = "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, tails: 10 m, flow: 1 l/min}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/spacing"]);
    }
}
