//! The design flow of each loop can be read on the manifold's flow gauge.
//!
//! A flow that the gauge cannot show can be neither set nor proved, and the loop is balanced by ear.
//!
//! ## How it is worked out
//! The flow of the loop, stated or worked out, is compared with the range of the gauge. At the very foot of the scale a gauge shows
//! nothing that can be trusted, so a tenth of the full scale is the least that counts as readable. The remedy for a loop off the
//! foot of the scale is more flow, while its water still cools by 3 K; for one off its top, the flow that it needs, or a split; for
//! either, gauges of a usual range (0.5 to 3, 0.5 to 5, 1 to 8 or 2 to 16 l/min, from memory) that shows all loops of the manifold.
//!
//! ## Limit
//! Inside the range and above 10 % of full scale: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 2.5 to 8 l/min, pump: {head: 30 kPa}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 0.6 l/min}
//! #                                                                                           ^^^^^^^^^ loop L1 flows at 0.60 l/min; the gauge of manifold M1 shows 2.50 l/min to 8.00 l/min
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 2, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::split::split;
use design::Place;
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
    ],
    file: include_str!("flow_gauge_out_of_range.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-share-of-scale", value: "10 %", source: "common practice, no source" };

/// The least flow that a gauge shows so that it can be trusted.
pub(crate) fn least_shown(gauge: &Range<VolumeFlow>) -> VolumeFlow {
    gauge.least.max(gauge.greatest * LEAST.get::<Share>().value.in_fraction())
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let least_share = LEAST.get::<Share>();
    for manifold in inspection.manifolds() {
        let Some(gauge) = manifold.given.flow_gauge else {
            if !manifold.worked.loops.is_empty() && !manifold.given.broken {
                found.missing(manifold.subject, "flow-gauge");
            }
            continue;
        };
        let readable = least_shown(&gauge.value);
        let other_gauge = other_gauge(inspection, manifold.worked, gauge.at);
        for at in &manifold.worked.loops {
            let subject = Subject::Loop(*at);
            let Some(flow) = found.need(subject, &inspection.workings.loops[*at].volume_flow) else { continue };
            if flow.value >= readable && flow.value <= gauge.value.greatest {
                continue;
            }
            let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
            let message = format!(
                "loop {name} flows at {}; the gauge of manifold {} shows {readable} to {}",
                flow.value, manifold.name, gauge.value.greatest
            );
            let it = Item {
                name,
                subject,
                place: entry.name_place,
                given: &entry.value,
                worked: &inspection.workings.loops[*at],
            };
            let remedy = match flow.value < readable {
                true => crate::flows::at_least(inspection, &it, readable),
                false => crate::flows::no_more_than_needed(inspection, &it)
                    .or_else(|| split(inspection, &it, |part| flow.value * part.share <= gauge.value.greatest)),
            };
            let place = entry.value.flow.map_or(entry.name_place, |it| it.at);
            found.add(
                Finding::new(subject, place, message)
                    .value(flow.value)
                    .source(least_share.source)
                    .figure(format!("loops.{name}.volume-flow"))
                    .related(gauge.at, "the range of the gauge")
                    .remedy(remedy)
                    .remedy(other_gauge.clone()),
            );
        }
    }
}

/// A usual gauge that shows the flow of every loop of a manifold.
fn other_gauge(inspection: &Inspection, it: &ManifoldWorkings, at: Place) -> Option<Remedy> {
    let flows: Option<Vec<VolumeFlow>> =
        it.loops.iter().map(|at| Some(inspection.workings.loops[*at].volume_flow.as_ref().ok()?.value)).collect();
    let flows = flows?;
    let litres = VolumeFlow::litres_per_minute;
    let (least, most) = [(0.5, 3.0), (0.5, 5.0), (1.0, 8.0), (2.0, 16.0)].into_iter().find(|(least, greatest)| {
        let gauge = Range { least: litres(*least), greatest: litres(*greatest) };
        flows.iter().all(|flow| least_shown(&gauge) <= *flow && *flow <= gauge.greatest)
    })?;
    let text = format!("{least} to {most} l/min");
    Some(Remedy::new(format!("take gauges of {text}"), at, text))
}
