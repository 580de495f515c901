//! Each loop of a manifold gets the flow that it needs.
//!
//! Water takes the easy way. Where one loop lets much more through than its room needs, another goes short: one room is
//! never warm and the next is never cool, and no thermostat can mend it.
//!
//! ## How it is worked out
//! Where every loop states a presetting, the manifold is solved as it stands: the pump, what is common, and each loop with
//! its valve; the flow that each loop gets is held against the flow that it needs. Where no presetting is stated, the
//! pressure drops of the loops at the flows that they need are compared: loops that differ by more than two to one will not
//! share the flow until they are throttled. The flow coefficient Kv to set follows from what has to be lost in the valve.
//!
//! ## Limit
//! Within 10 % of the flow needed; two to one in pressure drop while nothing is set: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m, duty: 350 W}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ nothing throttles the loops of manifold M1: L1 needs 11.0 kPa and L2 1.3 kPa, more than 2 to 1
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::{Change, add_key};
use design::Manifold;
use workings::{Gap, ManifoldWorkings};

pub static RULE: Rule = Rule {
    name: "manifold-flows-unbalanced",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[OFF, RATIO],
    file: include_str!("manifold_flows_unbalanced.rs"),
    check,
    ..Rule::USUAL
};

const OFF: Limit = Limit { name: "flow-off-by", value: "10 %", source: "common practice, no source" };
const RATIO: Limit = Limit { name: "pressure-drop-ratio", value: "2", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let given = |at: &usize| inspection.design.loops.at(*at);
        let loops = &it.worked.loops;
        let set =
            loops.iter().filter(|at| given(at).is_some_and(|(_, entry)| entry.value.presetting.is_some())).count();
        match set {
            _ if loops.len() < 2 => {}
            0 => unthrottled(inspection, &it, found),
            all if all == loops.len() => as_set(inspection, &it, found),
            _ => {
                for at in loops.iter().filter(|at| given(at).is_some_and(|(_, it)| it.value.presetting.is_none())) {
                    found.missing(Subject::Loop(*at), "presetting");
                }
            }
        }
    }
}

/// The flows that the loops get with their valves as they are set.
fn as_set(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let off = OFF.get::<Share>();
    let mut worst: Vec<(f64, usize, String)> = Vec::new();
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        let subject = Subject::Loop(*at);
        let (Some(gets), Some(needs)) = (found.need(subject, &worked.flow_as_set), found.need(subject, &worked.flow))
        else {
            return;
        };
        let (gets, needs) = (gets.value.in_kilograms_per_second(), needs.value.in_kilograms_per_second());
        if needs <= 0.0 {
            return found.not_checked(subject, &Gap::NoMethod("the loop needs no flow".into()));
        }
        let apart = gets / needs - 1.0;
        if apart.abs() > off.value.in_fraction() + 1e-9 {
            let name = inspection.design.loops.at(*at).map_or("?", |(name, _)| name);
            worst.push((apart, *at, format!("{name} {:+.0} %", apart * 100.0)));
        }
    }
    if worst.is_empty() {
        return;
    }
    worst.sort_by(|one, other| other.0.abs().total_cmp(&one.0.abs()));
    let named: Vec<&str> = worst.iter().take(4).map(|(_, _, words)| words.as_str()).collect();
    let more = if worst.len() > 4 { format!(" and {} more", worst.len() - 4) } else { String::new() };
    let message = format!(
        "as it is set, manifold {} gives its loops flows more than {} off what they need: {}{more}",
        it.name,
        off.value,
        named.join(", ")
    );
    let mut finding = Finding::new(it.subject, it.place, message)
        .value(Share::fraction(worst[0].0))
        .limit(&off)
        .remedy(presettings(inspection, it));
    for (apart, at, _) in &worst {
        let entry = inspection.design.loops.at(*at).and_then(|(_, entry)| entry.value.presetting);
        if let Some(presetting) = entry {
            finding =
                finding.related(presetting.at, format!("so set it gets {:+.0} % of the flow it needs", apart * 100.0));
        }
    }
    found.add(finding);
}

/// Loops that nothing throttles.
fn unthrottled(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let ratio = RATIO.get::<Number>();
    let mut drops: Vec<(Pressure, usize)> = Vec::with_capacity(it.worked.loops.len());
    for at in &it.worked.loops {
        let Some(drop) = found.need(Subject::Loop(*at), &inspection.workings.loops[*at].pressure_drop) else { return };
        drops.push((drop.value, *at));
    }
    drops.sort_by(|one, other| other.0.in_pascals().total_cmp(&one.0.in_pascals()));
    let (Some((most, most_at)), Some((least, least_at))) = (drops.first(), drops.last()) else { return };
    if *most <= *least * ratio.value.get() {
        return;
    }
    let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    let message = format!(
        "nothing throttles the loops of manifold {}: {} needs {most} and {} {least}, more than {} to 1",
        it.name,
        name(*most_at),
        name(*least_at),
        ratio.value
    );
    let mut finding = Finding::new(it.subject, it.place, message)
        .value(Number::new(*most / *least))
        .limit(&ratio)
        .figure(format!("manifolds.{}.pressure-drop", it.name))
        .remedy(presettings(inspection, it));
    for (drop, at) in &drops[1..] {
        if let Ok(kv) = &inspection.workings.loops[*at].presetting_kv {
            let place = Subject::Loop(*at).place(inspection.design);
            finding = finding.related(place, format!("{} to lose in its valve: {}", *most - *drop, kv.value));
        }
    }
    found.add(finding);
}

/// The presettings at which each loop gets what it needs.
fn presettings(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>) -> Option<Remedy> {
    let mut changes = Vec::new();
    for at in &it.worked.loops {
        let kv = inspection.workings.loops[*at].presetting_kv.as_ref().ok()?.value.in_cubic_metres_per_hour();
        let kv = format!("{kv:.3} m³/h");
        let (_, entry) = inspection.design.loops.at(*at)?;
        changes.push(match entry.value.presetting {
            Some(presetting) => Change { place: presetting.at, text: kv },
            None => add_key(inspection, entry.value.place, &format!("presetting: {kv}"))?,
        });
    }
    Remedy::of("set each valve to the flow coefficient that is worked out", changes)
}
