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
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 125 mm, tails: 20 m, flow: 2.4 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m}
//! # ^^ the valve of loop L2 has to lose 19.4 kPa; beyond 15.0 kPa it will be heard
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
    file: include_str!("throttled_loop_will_sing.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-in-a-valve", value: "15 kPa", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Pressure>();
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let is_set = super::manifold_flows_unbalanced::any_preset(inspection, it.worked);
        let across = if is_set { &it.worked.across_as_set } else { &it.worked.pressure_across };
        let Some(across) = found.need(it.subject, across) else { continue };
        let mut is_first = true;
        for at in &it.worked.loops {
            let worked = &inspection.workings.loops[*at];
            if found.need(Subject::Loop(*at), &worked.pressure_drop).is_none() {
                continue;
            }
            let Ok(left) = worked.left_for_valve(across.value) else { continue };
            let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
            if left <= most.value {
                continue;
            }
            let message =
                format!("the valve of loop {name} has to lose {left}; beyond {} it will be heard", most.value);
            let mut finding = Finding::new(Subject::Loop(*at), entry.name_place, message)
                .value(left)
                .limit(&most)
                .figure(format!("loops.{name}.presetting-kv"));
            // One change helps all its loops, so it is offered for the first.
            if is_set && std::mem::take(&mut is_first) {
                finding = finding.remedy(super::manifold_flows_unbalanced::with_lower_head(inspection, &it));
            }
            if let Some(index) = it.worked.index_loop.filter(|index| index != at) {
                finding = finding.related(Subject::Loop(index).place(inspection.design), "the loop that needs most");
            }
            found.add(finding);
        }
    }
}

/// The pump set to no more than is needed, and to how much, where its head is given and more.
pub(super) fn lower_head(it: &Item<Manifold, ManifoldWorkings>) -> Option<(Remedy, Pressure)> {
    let head = it.given.pump.as_ref().filter(|pump| pump.curve.is_empty())?.head?;
    let enough = super::pressure_drop_over_pump::head_for(it.worked.head_needed.as_ref().ok()?.value);
    let enough = Pressure::kilopascals((enough.in_kilopascals() * 10.0).ceil() / 10.0);
    let text = format!("{} kPa", enough.in_kilopascals());
    (enough < head.value).then(|| (Remedy::new(format!("set the pump to {text}"), head.at, text), enough))
}
