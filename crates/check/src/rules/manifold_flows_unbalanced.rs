//! Each loop of a manifold gets the flow that it needs.
//!
//! Water takes the easy way. Where one loop lets much more through than its room needs, another goes short: one room is
//! never warm and the next is never cool, and no thermostat can mend it.
//!
//! ## How it is worked out
//! Where presettings are stated, the manifold is solved as it stands: the pump, what is common, and each loop with its valve,
//! which is fully open where none is stated; the flow that each loop gets is held against the flow that it needs, and what
//! the rooms get then against the heat that they need. Manifolds on one pump with a curve are solved together. Where no
//! presetting is stated at all, the pressure drops of the loops at the flows that they need are compared: loops that differ
//! by more than two to one will not share the flow until they are throttled. Where valves have a table of settings, the
//! nearest of them is taken for each loop that states none, and the manifold solved so. The flow coefficient Kv to set
//! follows from what has to be lost in the valve: of what the loop that needs most takes, to which a pump that keeps its
//! pressure is set, or of what the curve of the pump leaves across the manifold. The remedy sets the pump to no more than is
//! needed, and the valves to that; or else the valves for the pump as it is: to the nearest settings of the table where there is
//! one, between them where those are too coarse. Where most valves are right the others alone are set.
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
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 0.716 m³/h}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m, duty: 350 W, presetting: 0.188 m³/h}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 13.3 kPa}}
//! ```
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 2.5 turns}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, presetting: 0.5 turns}
//! #                                                                                                  ^^^^^^^^^ as it is set, manifold M1 gives its loops flows more than 10 % off what they need: L2 -32 %
//! manifolds:
//!   M1:
//!     ports: 4
//!     pump: {head: 15 kPa}
//!     valves:
//!       kv-open: 1.1 m³/h
//!       settings: [{turns: 0.5, kv: 0.22 m³/h}, {turns: 1, kv: 0.4 m³/h}, {turns: 2, kv: 0.7 m³/h}, {turns: 4, kv: 1.1 m³/h}]
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: 2.5 turns}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, presetting: 1 turn}
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
use design::{Manifold, Place, Presetting};
use engineering::water::valves::PresettingTable;
use workings::{Gap, ManifoldWorkings, ValueOf};

pub static RULE: Rule = Rule {
    name: "manifold-flows-unbalanced",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[OFF, RATIO],
    follows: &[
        "floor-cannot-give-this-much",
        "temperature-drop-too-narrow",
        "temperature-drop-too-wide",
        "loop-over-maximum-length",
        "pressure-drop-over-pump",
        "insulation-missing",
        "void-insulation-missing",
        "second-emitter-missing",
        "spacing-off-module",
        "loop-over-maximum-length",
    ],
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
        if it.worked.loops.iter().all(|at| is_shut(inspection, *at)) {
            let message =
                format!("every balancing valve of manifold {} is set shut; none of its loops gets water", it.name);
            let mut finding =
                Finding::new(it.subject, it.place, message).source("the presettings, as the design gives them");
            for place in it.worked.loops.iter().filter_map(|at| presetting(inspection, *at)) {
                finding = finding.related(place, "shut");
            }
            found.add(finding);
            continue;
        }
        match any_preset(inspection, it.worked) {
            true => as_set(inspection, &it, found),
            false if unlike_drops(inspection, it.worked).is_none() && has_table(&it) => as_set(inspection, &it, found),
            false => unthrottled(inspection, &it, found),
        }
    }
}

/// Whether its valves can be set to the settings of a table only, and its pump is known: then it is known what flows.
fn has_table(it: &Item<Manifold, ManifoldWorkings>) -> bool {
    it.given.valves.as_ref().is_some_and(|valves| !valves.settings.is_empty()) && it.worked.head_available.is_ok()
}

/// Where a loop's presetting stands.
fn is_shut(inspection: &Inspection, at: usize) -> bool {
    let stated = inspection.design.loops.at(at).and_then(|(_, entry)| entry.value.presetting);
    stated.is_some_and(|it| match it.value {
        Presetting::Turns(turns) => turns <= 0.0,
        Presetting::Kv(kv) => kv <= FlowCoefficient::ZERO,
    })
}

fn presetting(inspection: &Inspection, at: usize) -> Option<Place> {
    inspection.design.loops.at(at).and_then(|(_, entry)| entry.value.presetting).map(|presetting| presetting.at)
}

/// Whether any loop of a manifold states a presetting, so that the flows that all get can be worked out.
pub(crate) fn any_preset(inspection: &Inspection, it: &ManifoldWorkings) -> bool {
    it.loops.iter().any(|at| presetting(inspection, *at).is_some())
}

fn name<'i>(inspection: &Inspection<'i>, at: usize) -> &'i str {
    inspection.design.loops.at(at).map_or("?", |(name, _)| name)
}

/// The flows that the loops get with their valves as they are set.
fn as_set(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let off = OFF.get::<Share>(&RULE, inspection);
    let is_set = any_preset(inspection, it.worked);
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
        let Some(needs) = needed(inspection, *at) else { continue };
        let apart = gets.value / needs - 1.0;
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
    let how = if is_set { "as it is set" } else { "with each valve at the nearest setting of its table" };
    let message = format!(
        "{how}, manifold {} gives its loops flows more than {} off what they need: {}{more}",
        it.name,
        off.value,
        named.join(", ")
    );
    // One valve that is set wrongly is put right where it is set.
    let place = match astray[..] {
        [(_, only)] => presetting(inspection, only).unwrap_or(it.place),
        _ => it.place,
    };
    let mut finding = Finding::new(it.subject, place, message)
        .value(Share::fraction(*worst))
        .limit(&off)
        .figure(format!("loops.{}.flow-as-set", name(inspection, *worst_at)));
    for (_, at) in &astray {
        let worked = &inspection.workings.loops[*at];
        let (Ok(volume), Ok(mass), Ok(gets)) = (&worked.volume_flow, &worked.flow, &worked.flow_as_set) else {
            continue;
        };
        let Some(needs) = needed(inspection, *at) else { continue };
        let (gets, needs) = (volume.value * (gets.value / mass.value), volume.value * (needs / mass.value));
        let own = Subject::Loop(*at).place(inspection.design);
        let (place, how) = match (presetting(inspection, *at), &inspection.workings.loops[*at].presetting_turns) {
            (Some(place), _) => (place, "so set".to_string()),
            (None, Some(Ok(turns))) if !is_set && turns.value.get() == 1.0 => (own, "at 1 turn".to_string()),
            (None, Some(Ok(turns))) if !is_set => (own, format!("at {} turns", turns.value)),
            (None, _) => (own, "with its valve open, as no presetting is stated,".to_string()),
        };
        finding = finding.related(place, format!("{how} it gets {gets} of the {needs} that it needs"));
    }
    for room in short_rooms(inspection, astray.iter().filter(|(apart, _)| *apart < 0.0).map(|(_, at)| *at)) {
        let (place, gets, needs) = room;
        finding = finding.related(place, format!("with these flows the room gets {gets} of the {needs} that it needs"));
    }
    let these: Vec<usize> = astray.iter().map(|(_, at)| *at).collect();
    let finding = with_remedies(inspection, it, finding.remedy(these_set(inspection, it, &these)));
    if is_set { found.add(finding) } else { found.add_as(softer(inspection), finding) }
}

/// The flow that a loop's valve is to be set for. A flow that is stated too low is said already, and no valve is set for it.
fn needed(inspection: &Inspection, at: usize) -> Option<MassFlow> {
    let own = inspection.loop_at(at)?;
    match super::flow_carries_too_little_heat::falls_short(inspection, &own) {
        true => own.worked.flow_needed.value().ok(),
        false => own.worked.flow.value().ok(),
    }
}

/// The schedule gives the settings; that the design states none is no reason not to issue it.
fn softer(inspection: &Inspection) -> crate::rule::Weight {
    match RULE.weight(inspection.design.stage()) {
        Error => Warning,
        softer => softer,
    }
}

/// The rooms of loops that do not get the heat that they need at the flows as set, with what they get and need.
fn short_rooms(inspection: &Inspection, loops: impl Iterator<Item = usize>) -> Vec<(Place, Power, Power)> {
    let mut rooms: Vec<usize> = loops.flat_map(|at| inspection.workings.loops[at].rooms.iter().copied()).collect();
    rooms.sort_unstable();
    rooms.dedup();
    let short = rooms.into_iter().filter_map(|at| {
        let needs = inspection.workings.rooms[at].heat_needed.value().ok()?;
        let gets = workings::output_as_set(inspection.design, inspection.workings, at).ok()?.value;
        (gets < needs * 0.99).then(|| (Subject::Room(at).place(inspection.design), gets, needs))
    });
    short.collect()
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
    (most.0 > least.0 * RATIO.get::<Number>(&RULE, inspection).value.get()).then_some((most, least))
}

/// Loops that nothing throttles.
fn unthrottled(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, found: &mut Findings) {
    let ratio = RATIO.get::<Number>(&RULE, inspection);
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
    let needed = it.worked.pressure_drop.as_ref().ok().map(|drop| drop.value);
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        if let (Ok(across), Ok(kv)) = (&it.worked.pressure_across, &worked.presetting_kv)
            && let Ok(left) = worked.flow.value().and_then(|flow| worked.left_for_valve(flow, across.value))
            && !(it.worked.index_loop == Some(*at) && needed.is_some_and(|needed| across.value <= needed))
        {
            let place = Subject::Loop(*at).place(inspection.design);
            finding = finding.related(place, format!("{left} to lose in its valve: {}", kv.value));
        }
    }
    found.add_as(softer(inspection), with_remedies(inspection, it, finding));
}

/// What the pump leaves across the manifold at the flow that all loops need.
pub(crate) fn left_by_pump(it: &ManifoldWorkings) -> Option<Pressure> {
    Some(it.head_available.as_ref().ok()?.value - it.common_pressure_drop.as_ref().ok()?.value)
}

/// The pump set to no more than is needed, and the valves to that; or the valves set for the pump as it is.
pub(super) fn with_remedies(
    inspection: &Inspection,
    it: &Item<Manifold, ManifoldWorkings>,
    finding: Finding,
) -> Finding {
    let as_it_is = || {
        Remedy::of(
            "set each valve for the flow that its loop needs",
            presettings(inspection, it, left_by_pump(it.worked))?,
        )
    };
    // A pump with a curve is not set, but taken in place of another.
    let has_curve = it.given.pump.as_ref().is_some_and(|pump| !pump.curve.is_empty());
    match has_curve {
        true => finding.remedy(as_it_is()).remedy(with_lower_head(inspection, it)),
        false => finding.remedy(with_lower_head(inspection, it)).remedy(as_it_is()),
    }
}

/// The valves set that let too much or too little through, where those of most other loops are right.
fn these_set(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>, these: &[usize]) -> Option<Remedy> {
    if these.len() * 2 > it.worked.loops.len() || these.iter().any(|at| presetting(inspection, *at).is_none()) {
        return None;
    }
    let places: Vec<Place> = these.iter().filter_map(|at| presetting(inspection, *at)).collect();
    let mut changes = presettings(inspection, it, left_by_pump(it.worked))?;
    changes.retain(|change| places.contains(&change.place));
    let names: Vec<&str> = these.iter().map(|at| name(inspection, *at)).collect();
    Remedy::of(format!("set the valve of {} for the flow that it needs", names.join(" and of ")), changes)
}

pub(super) fn with_lower_head(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>) -> Option<Remedy> {
    let (lower, head) = super::throttled_loop_will_sing::lower_head(inspection, it)?;
    with_presettings(inspection, it, lower, head)
}

/// Another head of the pump, and the valves set to what it then leaves across the manifold.
pub(super) fn with_presettings(
    inspection: &Inspection,
    it: &Item<Manifold, ManifoldWorkings>,
    pump: Remedy,
    head: Pressure,
) -> Option<Remedy> {
    let common = it.worked.common_pressure_drop.as_ref().ok()?.value;
    let mut changes = presettings(inspection, it, Some(head - common))?;
    changes.extend(pump.changes);
    Remedy::of(format!("{}, and set each valve for the flow that its loop needs", pump.title), changes)
}

/// The presettings at which each loop gets what it needs, at the pressure that its pump leaves or at another.
pub(crate) fn presettings(
    inspection: &Inspection,
    it: &Item<Manifold, ManifoldWorkings>,
    across: Option<Pressure>,
) -> Option<Vec<Change>> {
    let across = across.or_else(|| it.worked.pressure_across.value().ok())?;
    let points = workings::settings(it.given);
    let table = PresettingTable::new(&points).ok();
    let mut changes = Vec::with_capacity(it.worked.loops.len() + 1);
    for at in &it.worked.loops {
        let worked = &inspection.workings.loops[*at];
        let flow = worked.flow.value().ok()?;
        let kv = worked.valve_for(flow, across).ok()?;
        let text = match &table {
            Some(table) => setting(inspection, table, kv, worked.nearest_setting(table, kv, across).ok()?)?,
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

/// The nearest setting of a table, where its share of the flow needed is near enough; else one between two of them.
fn setting(
    inspection: &Inspection,
    table: &PresettingTable,
    exact: FlowCoefficient,
    (nearest, gets): (f64, Share),
) -> Option<String> {
    // Loops together shift the pressure a little, so the whole limit is not used up.
    let near = 0.8 * OFF.get::<Share>(&RULE, inspection).value.in_fraction();
    if (gets.in_fraction() - 1.0).abs() <= near {
        return Some(format!("{nearest} {}", if nearest == 1.0 { "turn" } else { "turns" }));
    }
    Some(format!("{:.2} turns", table.setting_for(exact).ok()?))
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

    #[test]
    fn all_shut_is_told() {
        let says = |first: &str, second: &str| {
            messages(&RULE, &set(&format!(", presetting: {first}"), &format!(", presetting: {second}"), "15 kPa"))
        };
        let shut = "every balancing valve of manifold M1 is set shut; none of its loops gets water";
        assert_eq!(says("0 turns", "0 m³/h"), [shut]);
        assert!(!says("0 turns", "0.5 m³/h").contains(&shut.to_string()));
        let unread = set(", presetting: -1 turns", ", presetting: 1e308 turns", "15 kPa");
        assert_eq!(messages(&super::super::value_not_understood::RULE, &unread).len(), 2);
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
    fn a_loop_that_is_shut_gets_nothing() {
        let outcome = check(&set(", presetting: 0.3 m³/h", ", presetting: 0 m³/h", "15 kPa"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let said: Vec<&str> = finding.related.iter().map(|it| it.message.as_str()).collect();
        assert!(said.contains(&"so set it gets 0.00 l/min of the 1.80 l/min that it needs"), "{said:?}");
    }

    #[test]
    fn a_pump_that_is_too_weak_is_said_elsewhere() {
        let text = set(", presetting: 1.1 m³/h", ", presetting: 1.1 m³/h", "4 kPa");
        assert_eq!(messages(&RULE, &text), [""; 0]);
    }

    /// Valves set for the pump as it is would be other values for the same presettings.
    #[test]
    fn the_remedy_is_one() {
        let outcome = check(&set(", presetting: 1.1 m³/h", ", presetting: 1.1 m³/h", "30 kPa"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let titles: Vec<&str> = finding.remedies.iter().map(|remedy| &*remedy.title).collect();
        assert_eq!(titles, ["set the pump to 13.3 kPa, and set each valve for the flow that its loop needs"]);
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
