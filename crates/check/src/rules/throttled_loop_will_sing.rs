//! No valve has to throttle away so much pressure that it sings.
//!
//! Water that is forced through a valve nearly shut whistles, and the house hears it at night.
//!
//! ## How it is worked out
//! The pressure across the manifold, less what pipe, bends and actuator of this loop take: what is left its balancing valve
//! has to lose. Where presettings are stated, that is what the manifold is solved to; else what the loop that needs most
//! takes, its valve open, to which a pump is set that keeps its pressure, or what the curve of the pump leaves.
//! The remedy sets the pump to no more than is needed, and the valves to that.
//!
//! ## Limit
//! 15 kPa: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 0.228 m³/h}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 4 m, presetting: 0.209 m³/h}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 35 kPa}}
//! # ^^ valves of manifold M1 have to lose more than 15.0 kPa, which will be heard: L2 26.0 kPa, L1 23.8 kPa
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 0.716 m³/h}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 4 m, presetting: 0.527 m³/h}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 13.3 kPa}}
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 4 m}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::Manifold;
use workings::ManifoldWorkings;

pub static RULE: Rule = Rule {
    name: "throttled-loop-will-sing",
    group: Group::Hydraulics,
    weights: [Silent, Information, Information, Information],
    limits: &[MOST],
    follows: &[
        "floor-cannot-give-this-much",
        "temperature-drop-too-narrow",
        "velocity-too-high",
        "loop-pressure-drop-too-high",
        "pressure-drop-over-pump",
        "manifold-flows-unbalanced",
        "insulation-missing",
        "void-insulation-missing",
        "second-emitter-missing",
        "spacing-off-module",
        "loop-over-maximum-length",
    ],
    file: include_str!("throttled_loop_will_sing.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-in-a-valve", value: "15 kPa", source: "common practice, no source" };

/// How many loops a message names.
const NAMED: usize = 4;

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Pressure>(&RULE, inspection);
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let is_set = super::manifold_flows_unbalanced::any_preset(inspection, it.worked);
        let across = if is_set { &it.worked.across_as_set } else { &it.worked.pressure_across };
        let Some(across) = found.need(it.subject, across) else { continue };
        // What each valve has to lose that has to lose too much, with its loop.
        let mut throttled: Vec<(Pressure, usize)> = Vec::new();
        for at in &it.worked.loops {
            let worked = &inspection.workings.loops[*at];
            let flow = if is_set { &worked.flow_as_set } else { &worked.flow };
            let Some(flow) = found.need(Subject::Loop(*at), flow) else { continue };
            // A valve that is shut is silent.
            if flow.value <= MassFlow::ZERO {
                continue;
            }
            if found.need(Subject::Loop(*at), &worked.pressure_drop).is_none() {
                continue;
            }
            throttled.extend(worked.left_for_valve(flow.value, across.value).ok().map(|left| (left, *at)));
        }
        throttled.retain(|(left, _)| *left > most.value);
        throttled.sort_by(|one, other| other.0.in_pascals().total_cmp(&one.0.in_pascals()));
        let Some((worst, first)) = throttled.first() else { continue };
        let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let place = |at: usize| Subject::Loop(at).place(inspection.design);
        let figure = format!("loops.{}.presetting-kv", name(*first));
        let mut finding = if throttled.len() == 1 {
            let message = format!(
                "the valve of loop {} has to lose {worst}; beyond {} it will be heard",
                name(*first),
                most.value
            );
            Finding::new(Subject::Loop(*first), place(*first), message)
        } else {
            let named: Vec<String> =
                throttled.iter().take(NAMED).map(|(left, at)| format!("{} {left}", name(*at))).collect();
            let more = match throttled.len().saturating_sub(NAMED) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let message = format!(
                "valves of manifold {} have to lose more than {}, which will be heard: {}{more}",
                it.name,
                most.value,
                named.join(", ")
            );
            let of_all = Finding::new(it.subject, it.place, message);
            throttled.iter().fold(of_all, |finding, (left, at)| {
                finding.related(place(*at), format!("its valve has to lose {left}"))
            })
        };
        finding = finding.value(*worst).limit(&most).figure(figure);
        if let Some(index) = it.worked.index_loop.filter(|index| throttled.iter().all(|(_, at)| at != index)) {
            finding = finding.related(place(index), "the loop that needs most");
        }
        let lower = is_set.then(|| super::manifold_flows_unbalanced::with_lower_head(inspection, &it));
        found.add(finding.remedy(lower.flatten()));
    }
}

/// The pump set to no more than is needed, or one that keeps so much in place of one with a curve; and how much that is.
pub(super) fn lower_head(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>) -> Option<(Remedy, Pressure)> {
    let pump = it.given.pump.as_ref()?;
    let enough = super::pressure_drop_over_pump::head_for(inspection, it.worked.head_needed.as_ref().ok()?.value);
    let enough = Pressure::kilopascals((enough.in_kilopascals() * 10.0).ceil() / 10.0);
    if !pump.curve.is_empty() {
        let offers = it.worked.head_available.as_ref().ok()?.value;
        return if enough < offers {
            Some((super::pressure_drop_over_pump::that_keeps(inspection, pump, enough)?, enough))
        } else {
            None
        };
    }
    let head = pump.head?;
    let text = format!("{} kPa", enough.in_kilopascals());
    (enough < head.value).then(|| (Remedy::new(format!("set the pump to {text}"), head.at, text), enough))
}
