//! Each loop of a manifold gets the flow that it needs.
//!
//! Water takes the easy way. Where one loop lets much more through than its room needs, another goes short: one room is
//! never warm and the next is never cool, and no thermostat can mend it.
//!
//! ## How it is worked out
//! Where presettings are stated, the manifold is solved as it stands: the pump, what is common, and each loop with its valve,
//! which is fully open where none is stated; the flow that each loop gets is held against the flow that it needs. Where no
//! presetting is stated at all, the pressure drops of the loops at the flows that they need are compared: loops that differ by more than two to one will not
//! share the flow until they are throttled. The flow coefficient Kv to set follows from what has to be lost in the valve: of
//! the pressure that the pump leaves across the manifold, or of what the loop that needs most takes while no pump is known.
//! The remedies set the valves, by the manifold's table of settings where it has one; or set the pump to no more than is
//! needed, and the valves to that.
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
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 0.251 m³/h}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m, duty: 350 W, presetting: 0.122 m³/h}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 2.5 turns}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, presetting: 0.5 turns}
//! manifolds:
//!   M1:
//! # ^^ as it is set, manifold M1 gives its loops flows more than 10 % off what they need: L2 -32 %
//!     ports: 4
//!     pump: {head: 15 kPa}
//!     valves:
//!       kv-open: 1.1 m³/h
//!       settings: [{turns: 0.5, kv: 0.22 m³/h}, {turns: 1, kv: 0.4 m³/h}, {turns: 2, kv: 0.7 m³/h}, {turns: 4, kv: 1.1 m³/h}]
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 1.48 turns}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, presetting: 1.28 turns}
//! manifolds:
//!   M1:
//!     ports: 4
//!     pump: {head: 15 kPa}
//!     valves:
//!       kv-open: 1.1 m³/h
//!       settings: [{turns: 0.5, kv: 0.22 m³/h}, {turns: 1, kv: 0.4 m³/h}, {turns: 2, kv: 0.7 m³/h}, {turns: 4, kv: 1.1 m³/h}]
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::{Change, add_key};
use design::{Manifold, Place};
use engineering::water::valves::PresettingTable;
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

/// How many loops a message names.
const NAMED: usize = 4;

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds().filter(|it| it.worked.loops.len() > 1) {
        match any_preset(inspection, it.worked) {
            false => unthrottled(inspection, &it, found),
            true => as_set(inspection, &it, found),
        }
    }
}

/// Where a loop's presetting stands.
fn presetting(inspection: &Inspection, at: usize) -> Option<Place> {
    inspection.design.loops.at(at).and_then(|(_, entry)| entry.value.presetting).map(|presetting| presetting.at)
}

/// Whether any loop of a manifold states a presetting, so that the flows that all get can be worked out.
pub(super) fn any_preset(inspection: &Inspection, it: &ManifoldWorkings) -> bool {
    it.loops.iter().any(|at| presetting(inspection, *at).is_some())
}

fn name<'i>(inspection: &Inspection<'i>, at: usize) -> &'i str {
    inspection.design.loops.at(at).map_or("?", |(name, _)| name)
}

/// The flows that the loops get with their valves as they are set.
fn as_set(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let off = OFF.get::<Share>();
    if let (Some(left), Ok(needed)) = (left_by_pump(it.worked), &it.worked.pressure_drop)
        && left < needed.value
    {
        // No setting helps where the pump is too weak, which is said already.
        return;
    }
    let mut astray: Vec<(f64, usize)> = Vec::new();
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        let subject = Subject::Loop(*at);
        let (Some(gets), Some(needs)) = (found.need(subject, &worked.flow_as_set), found.need(subject, &worked.flow))
        else {
            return;
        };
        if needs.value <= MassFlow::ZERO {
            return found.not_checked(subject, &Gap::NoMethod("the loop needs no flow".into()));
        }
        let apart = gets.value / needs.value - 1.0;
        if apart.abs() > off.value.in_fraction() + 1e-9 {
            astray.push((apart, *at));
        }
    }
    astray.sort_by(|one, other| other.0.abs().total_cmp(&one.0.abs()));
    let Some((worst, worst_at)) = astray.first() else { return };
    let named: Vec<String> = astray
        .iter()
        .take(NAMED)
        .map(|(apart, at)| format!("{} {:+.0} %", name(inspection, *at), apart * 100.0))
        .collect();
    let more = if astray.len() > NAMED { format!(" and {} more", astray.len() - NAMED) } else { String::new() };
    let message = format!(
        "as it is set, manifold {} gives its loops flows more than {} off what they need: {}{more}",
        it.name,
        off.value,
        named.join(", ")
    );
    let mut finding = Finding::new(it.subject, it.place, message)
        .value(Share::fraction(*worst))
        .limit(&off)
        .figure(format!("loops.{}.flow-as-set", name(inspection, *worst_at)));
    for (apart, at) in &astray {
        let Ok(needs) = &inspection.workings.loops[*at].volume_flow else { continue };
        let gets = needs.value * (1.0 + apart);
        let (place, how) = match presetting(inspection, *at) {
            Some(place) => (place, "so set"),
            None => (Subject::Loop(*at).place(inspection.design), "with its valve open, as no presetting is stated,"),
        };
        finding = finding.related(place, format!("{how} it gets {gets} of the {} that it needs", needs.value));
    }
    found.add(with_remedies(inspection, it, finding));
}

/// The loops whose pressure drops differ by more than the limit while nothing is set: the most, the least.
pub(super) fn unlike_drops(
    inspection: &Inspection,
    it: &ManifoldWorkings,
) -> Option<((Pressure, usize), (Pressure, usize))> {
    if any_preset(inspection, it) {
        return None;
    }
    let mut most: Option<(Pressure, usize)> = None;
    let mut least: Option<(Pressure, usize)> = None;
    for at in &it.loops {
        let drop = inspection.workings.loops[*at].pressure_drop.as_ref().ok()?.value;
        most = most.filter(|(most, _)| *most >= drop).or(Some((drop, *at)));
        least = least.filter(|(least, _)| *least <= drop).or(Some((drop, *at)));
    }
    let (most, least) = (most?, least?);
    (most.0 > least.0 * RATIO.get::<Number>().value.get()).then_some((most, least))
}

/// Loops that nothing throttles.
fn unthrottled(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let ratio = RATIO.get::<Number>();
    for at in &it.worked.loops {
        if found.need(Subject::Loop(*at), &inspection.workings.loops[*at].pressure_drop).is_none() {
            return;
        }
    }
    let Some(((most, most_at), (least, least_at))) = unlike_drops(inspection, it.worked) else { return };
    let message = format!(
        "nothing throttles the loops of manifold {}: {} needs {most} and {} {least}, more than {} to 1",
        it.name,
        name(inspection, most_at),
        name(inspection, least_at),
        ratio.value
    );
    let mut finding = Finding::new(it.subject, it.place, message)
        .value(Number::new(most / least))
        .limit(&ratio)
        .figure(format!("manifolds.{}.pressure-drop", it.name));
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        if let (Ok(across), Ok(kv)) = (&it.worked.pressure_drop, &worked.presetting_kv)
            && let Ok(left) = worked.left_for_valve(across.value)
            && *at != most_at
        {
            let place = Subject::Loop(*at).place(inspection.design);
            finding = finding.related(place, format!("{left} to lose in its valve: {}", kv.value));
        }
    }
    found.add(with_remedies(inspection, it, finding));
}

/// What the pump leaves across the manifold at the flow that all loops need.
fn left_by_pump(it: &ManifoldWorkings) -> Option<Pressure> {
    Some(it.head_available.as_ref().ok()?.value - it.common_pressure_drop.as_ref().ok()?.value)
}

/// The valves set for the pump as it is; or the pump set to no more than is needed, and the valves to that.
fn with_remedies(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, finding: Finding) -> Finding {
    let left = left_by_pump(it.worked);
    let valves = presettings(inspection, it, left);
    let finding =
        finding.remedy(valves.and_then(|valves| Remedy::of("set each valve for the flow that its loop needs", valves)));
    let head = it.given.pump.as_ref().filter(|pump| pump.curve.is_empty()).and_then(|pump| pump.head);
    let (Some(head), Ok(needed), Ok(common)) = (head, &it.worked.head_needed, &it.worked.common_pressure_drop) else {
        return finding;
    };
    let enough = super::pressure_drop_over_pump::head_for(needed.value);
    let kilopascals = (enough.in_kilopascals() * 10.0).ceil() / 10.0;
    let enough = Pressure::kilopascals(kilopascals);
    let Some(mut changes) = presettings(inspection, it, Some(enough - common.value)) else { return finding };
    if enough >= head.value {
        return finding;
    }
    changes.push(Change { place: head.at, text: format!("{kilopascals} kPa") });
    let title = format!("set the pump to {kilopascals} kPa, and each valve for the flow that its loop needs");
    finding.remedy(Remedy::of(title, changes))
}

/// The presettings at which each loop gets what it needs, at a pressure across the manifold or at the least that does.
fn presettings(
    inspection: &Inspection,
    it: &Item<Manifold, ManifoldWorkings>,
    across: Option<Pressure>,
) -> Option<Vec<Change>> {
    let settings = it.given.valves.iter().flat_map(|valves| &valves.value.settings);
    let points: Vec<(f64, FlowCoefficient)> = settings.filter_map(|it| Some((it.turns?.value, it.kv?.value))).collect();
    let table = PresettingTable::new(&points).ok();
    let mut changes = Vec::with_capacity(it.worked.loops.len() + 1);
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        let kv = match across {
            Some(across) => worked.valve_for(worked.flow.as_ref().ok()?.value, across).ok()?,
            None => worked.presetting_kv.as_ref().ok()?.value,
        };
        let text = match &table {
            Some(table) => format!("{:.2} turns", table.setting_for(kv).ok()?),
            None => format!("{:.3} m³/h", kv.in_cubic_metres_per_hour()),
        };
        let (_, entry) = inspection.design.loops.at(*at)?;
        changes.push(match entry.value.presetting {
            Some(presetting) => Change { place: presetting.at, text },
            None => add_key(inspection, entry.value.place, &format!("presetting: {text}"))?,
        });
    }
    Some(changes)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn set(first: &str, second: &str, head: &str) -> String {
        format!(
            "loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m{first}}}\n  \
             L2: {{manifold: M1, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m{second}}}\n\
             manifolds:\n  M1: {{ports: 4, pump: {{head: {head}}}}}\n"
        )
    }

    /// A valve that nobody has set is open, and takes the water of the others.
    #[test]
    fn one_presetting_of_two_leaves_the_other_open() {
        let text = set(", presetting: 0.3 m³/h", "", "15 kPa");
        let outcome = check(&text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.message.contains("L2 +"), "{}", finding.message);
        assert!(finding.related.iter().any(|it| it.message.contains("as no presetting is stated")));
        let open = set(", presetting: 0.3 m³/h", ", presetting: 1.1 m³/h", "15 kPa");
        assert_eq!(messages(&RULE, &open), std::slice::from_ref(&finding.message));
    }

    #[test]
    fn a_pump_that_is_too_weak_is_said_elsewhere() {
        let text = set(", presetting: 1.1 m³/h", ", presetting: 1.1 m³/h", "4 kPa");
        assert_eq!(messages(&RULE, &text), [""; 0]);
    }

    #[test]
    fn the_remedies_are_two() {
        let outcome = check(&set(", presetting: 1.1 m³/h", ", presetting: 1.1 m³/h", "30 kPa"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let titles: Vec<&str> = finding.remedies.iter().map(|remedy| &*remedy.title).collect();
        assert_eq!(
            titles,
            [
                "set each valve for the flow that its loop needs",
                "set the pump to 13.3 kPa, and each valve for the flow that its loop needs"
            ]
        );
    }

    /// The pressure that the valve has to lose is the one of its flow coefficient: Kv = flow in m³/h / sqrt(loss in bar) of
    /// water of about 1000 kg/m³, by the definition of Kv (EN 60534-2-1).
    #[test]
    fn pressure_and_flow_coefficient_belong_together() {
        let outcome = check(
            "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2 l/min}\n  \
             L2: {manifold: M1, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m, flow: 1 l/min}\n\
             manifolds:\n  M1: {ports: 4}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let said = finding.related.iter().find(|it| it.message.contains("to lose in its valve")).unwrap();
        let numbers: Vec<f64> =
            said.message.split(|c: char| !c.is_ascii_digit() && c != '.').filter_map(|it| it.parse().ok()).collect();
        let loss = numbers[0] / 100.0;
        assert!((0.06 / loss.sqrt() - numbers[1]).abs() < 0.006, "{}", said.message);
    }

    #[test]
    fn a_loop_without_a_known_flow_is_not_passed() {
        let text = set("", "", "15 kPa")
            + "rooms:\n  hall: {temperature: 20 °C, floor: screeded, area: 12 m²}\n  \
                    study: {temperature: 20 °C, floor: screeded, area: 12 m², heat-loss: 590 W}\n";
        assert_eq!(not_checked(&RULE, &text), ["rooms/hall/heat-loss"]);
    }
}
