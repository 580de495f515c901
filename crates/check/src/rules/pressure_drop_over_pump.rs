//! The pump can drive the loop that needs most.
//!
//! A pump that cannot starves the longest loop, and that is the room that stays cold.
//!
//! ## How it is worked out
//! The greatest pressure drop of the manifold's loops at the flows that they need, with its balancing valve open, plus the
//! feeder, in which behind a mixing set only the hot share flows, and the manifold's own parts; against what the pump offers at the flow of all loops. Between laminar and
//! turbulent flow the upper end of what the pressure drop may be counts. A pump that drives several manifolds is read at the
//! flow of all of them. The remedies take the loop that needs most down to the flow that it needs, where it is set to more;
//! take a pump that gives enough, in place of one with a curve one that keeps its pressure, with the valves set to that; or split that loop, where its parts still carry their air back.
//!
//! ## Limit
//! At most 90 % of what the pump offers: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 10 kPa}}
//! #                                                         ^^^^^^ manifold M1 needs 11.9 kPa; its pump offers 10.0 kPa, of which 90 %, 9.0 kPa, may be used
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 14 kPa}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 14 kPa}}
//! ```

use super::loop_pressure_drop_too_high::part_of;
use super::prelude::*;
use crate::inspection::Item;
use crate::split::split;
use design::{Manifold, Place, Placed, Pump};
use workings::ManifoldWorkings;

pub static RULE: Rule = Rule {
    name: "pressure-drop-over-pump",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[SHARE],
    follows: &[
        "floor-cannot-give-this-much",
        "temperature-drop-too-narrow",
        "insulation-missing",
        "void-insulation-missing",
        "second-emitter-missing",
    ],
    file: include_str!("pressure_drop_over_pump.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-head", value: "90 %", source: "common practice, no source" };

/// The head of a pump that is enough for a pressure.
pub(super) fn head_for(inspection: &Inspection, needed: Pressure) -> Pressure {
    needed / SHARE.get::<Share>(&RULE, inspection).value.in_fraction()
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let share = SHARE.get::<Share>(&RULE, inspection);
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let Some(needed) = found.need(it.subject, &it.worked.head_needed) else { continue };
        let Some(available) = found.need(it.subject, &it.worked.head_available) else { continue };
        let usable = available.value * share.value.in_fraction();
        if needed.value <= usable {
            continue;
        }
        // Between laminar and turbulent flow nobody knows which it is.
        let up_to = if it.worked.head_is_upper_end() { "up to " } else { "" };
        let message = format!(
            "manifold {} needs {up_to}{}; its pump offers {}, of which {}, {usable}, may be used",
            it.name, needed.value, available.value, share.value
        );
        let pump = available.inputs.iter().find(|input| input.name == "pump").and_then(|input| input.at);
        let index = it.worked.index_loop.and_then(|at| inspection.loop_at(at));
        let lower = index.as_ref().and_then(|index| crate::flows::no_more_than_needed(inspection, index));
        // What takes most of it: a flow that is set too high, the way to the manifold; else the pump is too weak.
        let common = it.worked.common_pressure_drop.as_ref().map_or(Pressure::ZERO, |common| common.value);
        let of_own_parts = it.given.pressure_loss.filter(|own| own.value > needed.value * 0.5).map(|own| own.at);
        let of_way = it.given.feeder.as_ref().filter(|_| common > needed.value * 0.5).map(|feeder| feeder.at);
        let stated = lower.as_ref().and_then(|_| index.as_ref()?.given.flow).map(|flow| flow.at);
        let place = of_own_parts.or(of_way).or(stated).or(pump).unwrap_or(it.place);
        let mut finding = Finding::new(it.subject, place, message)
            .value(needed.value)
            .limit(&share.with(usable))
            .figure(format!("manifolds.{}.head-needed", it.name));
        if let Some(pump) = pump.filter(|pump| *pump != place) {
            finding = finding.related(pump, "its pump");
        }
        if of_way.is_some() {
            finding = finding.remedy(super::primary_pipe_too_small::wider(inspection, &it));
        }
        if let Some(index) = index {
            finding = finding.related(index.place, "the loop that needs most").decided_by(index.subject);
            let across = it.worked.pressure_drop.as_ref().map_or(Pressure::ZERO, |drop| drop.value);
            let most = usable - (needed.value - across);
            finding = finding.remedy(lower).remedy(stronger(inspection, &it, needed.value)).remedy(split(
                inspection,
                &index,
                |part| part.carries_air(inspection, &index) && part_of(across, &index, part) <= most,
            ));
        }
        found.add(finding);
    }
}

/// A small circulator offers no more.
const MOST_HEAD: Pressure = Pressure::kilopascals(60.0);

/// A pump that gives so much, where its head alone is stated.
fn stronger(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, needed: Pressure) -> Option<Remedy> {
    let pump = it.given.pump.as_ref().or(inspection.design.heat_source.pump.as_ref())?;
    let enough = Pressure::kilopascals((head_for(inspection, needed).in_kilopascals() - 1e-6).ceil());
    if enough > MOST_HEAD {
        return None;
    }
    let other = match (pump.head, pump.curve.is_empty()) {
        (Some(head), true) => {
            let text = format!("{} kPa", enough.in_kilopascals());
            Remedy::new(format!("take a pump that gives {text}"), head.at, text)
        }
        _ => that_keeps(inspection, pump, enough)?,
    };
    match super::manifold_flows_unbalanced::any_preset(inspection, it.worked) && it.given.pump.is_some() {
        true => super::manifold_flows_unbalanced::with_presettings(inspection, it, other, enough),
        false => Some(other),
    }
}

/// A pump that keeps a pressure at any flow, in place of one with a curve: which curve another has nobody knows.
pub(super) fn that_keeps(inspection: &Inspection, pump: &Placed<Pump>, head: Pressure) -> Option<Remedy> {
    let written = inspection.text(pump.at);
    if written.is_empty() || written.starts_with(['*', '&']) {
        return None;
    }
    let place = Place { end: pump.at.start + written.trim_end().len() as u32, ..pump.at };
    let text = format!("{} kPa", head.in_kilopascals());
    Some(Remedy::new(format!("take a pump that keeps {text}"), place, format!("{{head: {text}}}")))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, filled};

    fn found(text: &str) -> (String, Vec<String>) {
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("the pump is too weak");
        let at = filled(text)[finding.place.range()].to_string();
        (at, finding.remedies.iter().map(|it| it.title.clone()).collect())
    }

    /// Which curve another pump has nobody knows; one that keeps its pressure is set to what is needed, and the valves to that.
    #[test]
    fn a_weak_pump_with_a_curve_gives_way_to_one_that_keeps_its_pressure() {
        let (_, titles) = found(
            "manifolds:\n  M1:\n    ports: 4\n    valves: {kv-open: 1.1 m³/h, kv-actuator: 2.5 m³/h}\n    pump:\n      \
             curve: [{flow: 0 l/min, head: 12 kPa}, {flow: 10 l/min, head: 2 kPa}]\n\
             loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 1 m³/h}\n  \
             L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, presetting: 1 m³/h}\n",
        );
        assert_eq!(titles, ["take a pump that keeps 14 kPa, and set each valve for the flow that its loop needs"]);
    }

    /// Where the way to the manifold takes most of the pressure, it is the way that is at fault.
    #[test]
    fn a_feeder_that_takes_most_is_told() {
        let text = "manifolds:\n  M1: {ports: 4, pump: {head: 30 kPa}, valves: {kv-open: 1.1 m³/h, kv-actuator: 2.5 m³/h}, \
                    feeder: {pipe: copper 10 x 0.6, length: 40 m}}\n";
        let (at, titles) = found(text);
        assert_eq!(at, "{pipe: copper 10 x 0.6, length: 40 m}");
        assert!(titles[0].starts_with("lead there with copper"), "{titles:?}");
    }
}
