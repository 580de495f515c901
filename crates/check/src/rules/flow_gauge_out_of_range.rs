//! The design flow of each loop can be read on the manifold's flow gauge.
//!
//! A flow that the gauge cannot show can be neither set nor proved, and the loop is balanced by ear.
//!
//! ## How it is worked out
//! The flow of the loop, stated or worked out, is compared with the range of the gauge. At the very foot of the scale a gauge shows
//! nothing that can be trusted, so a tenth of the full scale is the least that counts as readable. The remedy for a loop off the
//! foot of the scale is more flow, while its water still cools by 3 K; for one off its top, the flow that it needs, or a split; for
//! either, gauges of a usual range (0.5 to 3, 0.5 to 5, 1 to 8 or 2 to 16 l/min, from memory) that shows all loops of the manifold.
//! Several loops of one manifold are told together.
//!
//! ## Limit
//! Inside the range and above 10 % of full scale: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 2.5 to 8 l/min, pump: {head: 30 kPa}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.1 l/min}
//! #                                                                                           ^^^^^^^^^ loop L1 flows at 2.10 l/min; the gauge of manifold M1 shows 2.50 l/min to 8.00 l/min
//! ```
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 2 to 16 l/min, pump: {head: 30 kPa}}
//! #                            ^^^^^^^^^^^^^ the gauge of manifold M1 shows 2.00 l/min to 16.00 l/min; beside it flow L1 at 1.84 l/min, L2 at 1.80 l/min
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 0.5 to 3 l/min, pump: {head: 30 kPa}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::split::split;
use design::{Manifold, Place, Placed};
use workings::ManifoldWorkings;

pub static RULE: Rule = Rule {
    name: "flow-gauge-out-of-range",
    group: Group::Manifold,
    weights: [Information, Warning, Warning, Warning],
    limits: &[LEAST],
    follows: &[
        "insulation-missing",
        "void-insulation-missing",
        "floor-cannot-give-this-much",
        "second-emitter-missing",
        "flow-carries-too-little-heat",
        "temperature-drop-too-wide",
        "temperature-drop-too-narrow",
        "velocity-too-high",
    ],
    file: include_str!("flow_gauge_out_of_range.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-share-of-scale", value: "10 %", source: "common practice, no source" };

/// The least flow that a gauge shows so that it can be trusted.
pub(crate) fn least_shown(inspection: &Inspection, gauge: &Range<VolumeFlow>) -> VolumeFlow {
    gauge.least.max(gauge.greatest * LEAST.get::<Share>(&RULE, inspection).value.in_fraction())
}

fn check(inspection: &Inspection, found: &mut Findings) {
    for manifold in inspection.manifolds() {
        let Some(gauge) = manifold.given.flow_gauge else {
            if !manifold.worked.loops.is_empty() && !manifold.given.broken {
                found.missing(manifold.subject, "flow-gauge");
            }
            continue;
        };
        let mut below: Vec<(usize, VolumeFlow)> = Vec::new();
        let mut above: Vec<(usize, VolumeFlow)> = Vec::new();
        for at in &manifold.worked.loops {
            let Some(flow) = found.need(Subject::Loop(*at), &inspection.workings.loops[*at].volume_flow) else {
                continue;
            };
            if flow.value < least_shown(inspection, &gauge.value) {
                below.push((*at, flow.value));
            } else if flow.value > gauge.value.greatest {
                above.push((*at, flow.value));
            }
        }
        let other_gauge = other_gauge(inspection, manifold.worked, gauge.at);
        for beside in [below, above].iter().filter(|beside| !beside.is_empty()) {
            found.add(tell(inspection, &manifold, gauge, beside, other_gauge.clone()));
        }
    }
}

/// One loop whose flow lies beside the range of its gauge, or several of a manifold.
fn tell(
    inspection: &Inspection,
    manifold: &Item<Manifold, ManifoldWorkings>,
    gauge: Placed<Range<VolumeFlow>>,
    beside: &[(usize, VolumeFlow)],
    other_gauge: Option<Remedy>,
) -> Finding {
    let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    let range = format!(
        "the gauge of manifold {} shows {} to {}",
        manifold.name,
        least_shown(inspection, &gauge.value),
        gauge.value.greatest
    );
    let (first, flow) = beside[0];
    let finding = if beside.len() == 1 {
        let stated = inspection.design.loops.at(first).and_then(|(_, entry)| entry.value.flow);
        let place = stated.map_or(Subject::Loop(first).place(inspection.design), |it| it.at);
        Finding::new(Subject::Loop(first), place, format!("loop {} flows at {flow}; {range}", name(first)))
            .related(gauge.at, "the range of the gauge")
            .remedy(other_flow(inspection, first, flow, &gauge.value))
            .remedy(other_gauge)
    } else {
        let named: Vec<String> =
            beside.iter().take(NAMED).map(|(at, flow)| format!("{} at {flow}", name(*at))).collect();
        let more = match beside.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let message = format!("{range}; beside it flow {}{more}", named.join(", "));
        let flows: Option<Vec<Remedy>> =
            beside.iter().map(|(at, flow)| other_flow(inspection, *at, *flow, &gauge.value)).collect();
        let changes = flows.into_iter().flatten().flat_map(|remedy| remedy.changes);
        let of_all = Finding::new(manifold.subject, gauge.at, message)
            .remedy(other_gauge)
            .remedy(Remedy::of("set each of them to a flow that it shows", changes));
        beside.iter().fold(of_all, |finding, (at, flow)| {
            finding.related(Subject::Loop(*at).place(inspection.design), format!("flows at {flow}"))
        })
    };
    let (least, most) = (least_shown(inspection, &gauge.value), gauge.value.greatest);
    let limit = LimitValue::new(if flow < least { least } else { most }, LEAST.source);
    finding.value(flow).limit(&limit).figure(format!("loops.{}.volume-flow", name(first)))
}

/// How many loops a message names.
const NAMED: usize = 4;

/// A flow of the loop that the gauge shows: more, or no more than it needs, or that of each of its parts.
fn other_flow(inspection: &Inspection, at: usize, flow: VolumeFlow, gauge: &Range<VolumeFlow>) -> Option<Remedy> {
    let it = inspection.loop_at(at)?;
    if flow < least_shown(inspection, gauge) {
        return crate::flows::at_least(inspection, &it, least_shown(inspection, gauge));
    }
    crate::flows::no_more_than_needed(inspection, &it)
        .or_else(|| split(inspection, &it, |part| flow * part.share <= gauge.greatest))
}

/// A usual gauge that shows the flow of every loop of a manifold.
fn other_gauge(inspection: &Inspection, it: &ManifoldWorkings, at: Place) -> Option<Remedy> {
    let flows: Option<Vec<VolumeFlow>> =
        it.loops.iter().map(|at| Some(inspection.workings.loops[*at].volume_flow.as_ref().ok()?.value)).collect();
    let flows = flows?;
    let litres = VolumeFlow::litres_per_minute;
    let (least, most) = [(0.5, 3.0), (0.5, 5.0), (1.0, 8.0), (2.0, 16.0)].into_iter().find(|(least, greatest)| {
        let gauge = Range { least: litres(*least), greatest: litres(*greatest) };
        flows.iter().all(|flow| least_shown(inspection, &gauge) <= *flow && *flow <= gauge.greatest)
    })?;
    let text = format!("{least} to {most} l/min");
    Some(Remedy::new(format!("take gauges of {text}"), at, text))
}
