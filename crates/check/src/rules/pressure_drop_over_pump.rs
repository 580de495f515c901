//! The pump can drive the loop that needs most.
//!
//! A pump that cannot starves the longest loop, and that is the room that stays cold.
//!
//! ## How it is worked out
//! The greatest pressure drop of the manifold's loops at the flows that they need, with its balancing valve open, plus the
//! feeder, in which behind a mixing set only the hot share flows, and the manifold's own parts; against what the pump offers at the flow of all loops. Between laminar and
//! turbulent flow the upper end of what the pressure drop may be counts. A pump that drives several manifolds is read at the
//! flow of all of them. The remedies take the loop that needs most down to the flow that it needs, where it is set to more;
//! take a pump that gives enough; or split that loop, where its parts still carry their air back.
//!
//! ## Limit
//! At most 90 % of what the pump offers: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 10 kPa}}
//! #                                                         ^^^^^^ manifold M1 needs 11.9 kPa; its pump offers 10.0 kPa, of which 90 % may be used
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
use design::Manifold;
use workings::ManifoldWorkings;

pub static RULE: Rule = Rule {
    name: "pressure-drop-over-pump",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[SHARE],
    follows: &[
        "insulation-missing",
        "void-insulation-missing",
        "floor-cannot-give-this-much",
        "second-emitter-missing",
    ],
    file: include_str!("pressure_drop_over_pump.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-head", value: "90 %", source: "common practice, no source" };

/// The head of a pump that is enough for a pressure.
pub(super) fn head_for(needed: Pressure) -> Pressure {
    needed / SHARE.get::<Share>().value.in_fraction()
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let share = SHARE.get::<Share>();
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
            "manifold {} needs {up_to}{}; its pump offers {}, of which {} may be used",
            it.name, needed.value, available.value, share.value
        );
        let pump = available.inputs.iter().find(|input| input.name == "pump").and_then(|input| input.at);
        let mut finding = Finding::new(it.subject, pump.unwrap_or(it.place), message)
            .value(needed.value)
            .limit(&crate::LimitValue { value: usable, source: share.source })
            .figure(format!("manifolds.{}.head-needed", it.name));
        if let Some(index) = inspection.loops().nth(it.worked.index_loop.unwrap_or(usize::MAX)) {
            finding = finding.related(index.place, "the loop that needs most");
            let across = it.worked.pressure_drop.as_ref().map_or(Pressure::ZERO, |drop| drop.value);
            let most = usable - (needed.value - across);
            finding = finding
                .remedy(crate::flows::no_more_than_needed(inspection, &index))
                .remedy(stronger(inspection, &it, needed.value))
                .remedy(split(inspection, &index, |part| {
                    part.carries_air(&index) && part_of(across, &index, part) <= most
                }));
        }
        found.add(finding);
    }
}

/// A small circulator offers no more.
const MOST_HEAD: Pressure = Pressure::kilopascals(60.0);

/// A pump that gives so much, where its head alone is stated.
fn stronger(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, needed: Pressure) -> Option<Remedy> {
    let pump = it.given.pump.as_ref().or(inspection.design.heat_source.pump.as_ref())?;
    let head = pump.head.filter(|_| pump.curve.is_empty())?;
    let enough = head_for(needed);
    let text = format!("{:.0} kPa", (enough.in_kilopascals() - 1e-6).ceil());
    (enough <= MOST_HEAD).then(|| Remedy::new(format!("take a pump that gives {text}"), head.at, text))
}
