//! The flow that a loop is best set to, whatever is wrong with the one that it has: one for all rules, so that no remedy undoes
//! another.

use crate::inspection::{Inspection, Item};
use crate::remedy::{Remedy, add_key};
use crate::rules::{flow_carries_too_little_heat, flow_gauge_out_of_range, velocity_too_low};
use design::Loop;
use quantity::*;
use workings::LoopWorkings;

/// The least drop that leaves the return of use.
const LEAST_DROP: TemperatureDifference = TemperatureDifference::kelvin(3.0);
/// What a flow is set beyond a limit, so that nobody has to ask on which side of it the last digit is.
const BEYOND: f64 = 1.01;

/// Sets a loop to a flow, or to more: what its heat needs, what carries its air back, and what its gauge shows. More than its
/// heat needs only while the water still cools by a little.
pub(crate) fn at_least(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, wanted: VolumeFlow) -> Option<Remedy> {
    let best = best(inspection, it, wanted)?;
    let text = written(best);
    let title = format!("set it to {text}");
    match it.given.flow {
        Some(stated) => Some(Remedy::new(title, stated.at, text)),
        None => Remedy::of(title, add_key(inspection, it.given.place, &format!("flow: {text}"))),
    }
}

/// Takes a loop that is set to more than it needs down to that.
pub(crate) fn no_more_than_needed(inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> Option<Remedy> {
    let (stated, needed) = (it.given.flow?, flow_carries_too_little_heat::needed(it)?);
    let best = best(inspection, it, needed)?;
    let text = written(best);
    (best < stated.value).then(|| Remedy::new(format!("set the flow that its heat needs, {text}"), stated.at, text))
}

fn best(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, wanted: VolumeFlow) -> Option<VolumeFlow> {
    let (now, back) = (it.worked.volume_flow.as_ref().ok()?.value, it.worked.return_temperature.as_ref().ok()?.value);
    let drop = it.worked.flow_temperature.as_ref().ok()?.value - back;
    let still_cools = |flow: VolumeFlow| drop * (now / flow) >= LEAST_DROP;
    let needed = flow_carries_too_little_heat::needed(it).unwrap_or(VolumeFlow::ZERO);
    let mut best = needed;
    if wanted > needed {
        best = wanted * BEYOND;
        if !still_cools(best) {
            return None;
        }
    }
    let velocity = it.worked.velocity.as_ref().ok()?.value;
    let carries_air =
        now * (velocity_too_low::LEAST.get::<Velocity>(&velocity_too_low::RULE, inspection).value / velocity);
    let manifold = it.worked.manifold.and_then(|at| inspection.design.manifolds.at(at));
    let shown = manifold
        .and_then(|(_, entry)| Some(flow_gauge_out_of_range::least_shown(inspection, &entry.value.flow_gauge?.value)));
    for more in [Some(carries_air), shown].into_iter().flatten() {
        if more > best && still_cools(more * BEYOND) {
            best = more * BEYOND;
        }
    }
    Some(best)
}

/// A flow as it is written in a design: never less than it is.
pub(crate) fn written(flow: VolumeFlow) -> String {
    format!("{:.2} l/min", (flow.in_litres_per_minute() * 100.0 - 1e-6).ceil() / 100.0)
}
