//! A heat pump gives its floor water no warmer than the floor should need.
//!
//! Each kelvin warmer takes a heat pump 1.5 to 3 % more electricity, every hour of every winter.
//!
//! ## How it is worked out
//! The design flow temperature is compared with what a well-laid floor needs: closer spacing, a thinner covering or one more
//! emitter in the room that asks most bring it down. What warm water costs against water of 35 °C is a range, at 0 °C outdoors
//! or in the ground: fits to measured heat pumps by Staffell et al. (2012) and Ruhnau et al. (2019), for air and for ground.
//! Water of less is held against what the floor that needs the warmest does with, and against what other circuits and manifolds
//! with water of their own ask for. The remedy gives water as warm as that.
//!
//! ## Limit
//! 40 °C is a good aim; above 45 °C a warning, above 50 °C an error; 5 K warmer than all floors need a warning: common practice,
//! no source.
//!
//! ## Exceptions
//! A loop that is asked for more than 100 W/m², which no floor gives: no water is warm enough for it.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 47 °C, temperature-drop: 5 K}
//! #                                                ^^^^^ the heat pump gives water of 47.0 °C; a floor should need no more than 45.0 °C, and against 35 °C it takes 20 to 44 % more electricity
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 34 °C, temperature-drop: 5 K}
//! ```
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 43 °C, temperature-drop: 5 K}
//! #                                                ^^^^^ the heat pump gives water of 43.0 °C; loop L2 needs the warmest, 33.5 °C, and for 9.5 K more it takes 16 to 32 % more electricity
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 34 °C, temperature-drop: 5 K}
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 37 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{closer_than, laid_at};
use crate::remedy::Change;
use design::{Placed, SourceKind, Stage};
use engineering::water::source::taken_for_warmer_flow;
use std::collections::HashMap;
use workings::{Gap, Otherwise, ValueOf, loop_if};

pub static RULE: Rule = Rule {
    name: "heat-pump-flow-too-warm",
    group: Group::Source,
    weights: [Information, Error, Error, Error],
    limits: &[TARGET, MOST, WARMER],
    follows: &["flow-temperature-over-regulation", "temperature-drop-too-narrow"],
    file: include_str!("heat_pump_flow_too_warm.rs"),
    check,
    ..Rule::USUAL
};

const TARGET: Limit = Limit { name: "target", value: "45 °C", source: "common practice, no source" };
const MOST: Limit = Limit { name: "most", value: "50 °C", source: "common practice, no source" };

const WARMER: Limit = Limit { name: "warmer-than-needed", value: "5 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::HeatPump) {
        return;
    }
    let Some(flow) = source.flow_temperature else { return found.missing(Subject::HeatSource, "flow-temperature") };
    let (target, most) = (TARGET.get::<Temperature>(&RULE, inspection), MOST.get::<Temperature>(&RULE, inspection));
    let limit = if flow.value > most.value { &most } else { &target };
    if flow.value <= limit.value {
        return warmer_than_needed(inspection, found, &flow);
    }
    let taken = taken(flow.value, Temperature::celsius(35.0))
        .map_or(String::new(), |taken| format!(", and against 35 °C {taken}"));
    let message =
        format!("the heat pump gives water of {}; a floor should need no more than {}{taken}", flow.value, limit.value);
    let finding = Finding::new(Subject::HeatSource, flow.at, message)
        .value(flow.value)
        .limit(limit)
        .remedy(as_floors_need(inspection))
        .remedy(closer_and_cooler(inspection, limit.value));
    let is_early = inspection.design.stage() == Stage::Preliminary;
    if is_early || flow.value > most.value { found.add(finding) } else { found.add_as(Warning, finding) }
}

/// What warmer water takes than cooler, at 0 °C outdoors or in the ground.
fn taken(warm: Temperature, cool: Temperature) -> Option<String> {
    let (least, most) = taken_for_warmer_flow(warm, cool, Temperature::celsius(0.0)).ok()?;
    Some(format!("it takes {:.0} to {:.0} % more electricity", least.in_percent(), most.in_percent()))
}

fn warmer_than_needed(inspection: &Inspection, found: &mut Findings, flow: &Placed<Temperature>) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    // What floors need hangs on all of these; a part of them that cannot be read may well want warmer water.
    let blocks = [
        design.rooms.place,
        design.floors.place,
        design.walls.place,
        design.openings.place,
        design.movement_joints.place,
        design.loops.place,
        design.manifolds.place,
        design.pipes.place,
    ];
    if !blocks.into_iter().flatten().all(|block| inspection.is_read(block)) {
        return found.not_checked(Subject::HeatSource, &Gap::Unreadable);
    }
    for it in inspection.loops() {
        if let Err(gap) = &it.worked.flow_temperature_needed {
            return found.not_checked(it.subject, gap);
        }
    }
    let mut circuits = inspection.design.heat_source.other_circuits.values();
    if circuits.any(|it| it.flow_temperature.is_none() && !super::mixed_emitters_one_temperature::for_taps(it)) {
        return found.missing(Subject::HeatSource, "other-circuits/…/flow-temperature");
    }
    let warmer = WARMER.get::<TemperatureDifference>(&RULE, inspection);
    let Some((needed, who)) = needed(inspection, &HashMap::new()) else { return };
    if flow.value - needed <= warmer.value {
        return;
    }
    let taken = taken(flow.value, needed)
        .map_or(String::new(), |taken| format!(", and for {} more {taken}", flow.value - needed));
    let message = format!("the heat pump gives water of {}; {who} needs the warmest, {needed}{taken}", flow.value);
    let finding = Finding::new(Subject::HeatSource, flow.at, message).value(flow.value - needed).limit(&warmer);
    let weight = if inspection.design.stage() == Stage::Preliminary { Hint } else { Warning };
    found.add_as(weight, finding.remedy(as_floors_need(inspection)));
}

/// The warmest water that anything asks of the source, and what asks for it; nothing while that is not known, or where no water
/// is warm enough. Some loops may be `laid` closer than they are.
fn needed(inspection: &Inspection, laid: &HashMap<usize, Length>) -> Option<(Temperature, String)> {
    let source = &inspection.design.heat_source;
    let mut needed: Option<(Temperature, String)> = None;
    let mut wants = |temperature: Temperature, who: &dyn Fn() -> String| {
        if needed.as_ref().is_none_or(|(warmest, _)| temperature > *warmest) {
            needed = Some((temperature, who()));
        }
    };
    for (at, it) in inspection.loops().enumerate() {
        // A manifold with a temperature of its own asks for that.
        let manifold = it.worked.manifold.and_then(|at| inspection.design.manifolds.at(at));
        match manifold.and_then(|(name, entry)| Some((name, entry.value.flow_temperature?))) {
            Some((name, own)) => wants(own.value, &|| format!("manifold {name}")),
            None if super::one_room_sets_flow_temperature::asks_too_much(it.worked) => return None,
            None => {
                let temperature = match laid.get(&at) {
                    None => it.worked.flow_temperature_needed.as_ref().ok()?.value,
                    spacing => needed_at(inspection, at, *spacing?)?,
                };
                wants(temperature, &|| format!("loop {}", it.name));
            }
        }
    }
    let circuits =
        source.other_circuits.iter().filter(|(_, it)| !super::mixed_emitters_one_temperature::for_taps(&it.value));
    for (name, circuit) in circuits {
        wants(circuit.value.flow_temperature?.value, &|| format!("circuit {name}"));
    }
    needed
}

/// The source set to water as warm as all that it feeds needs, in whole kelvins, where it gives warmer.
pub(super) fn as_floors_need(inspection: &Inspection) -> Option<Remedy> {
    let flow = inspection.design.heat_source.flow_temperature?;
    let celsius = celsius_needed(inspection)?;
    let title = format!("give water of {celsius} °C, as the floors need");
    (celsius < flow.value.in_celsius()).then(|| Remedy::new(title, flow.at, format!("{celsius} °C")))
}

/// The water that all that the source feeds needs, in whole degrees.
pub(super) fn celsius_needed(inspection: &Inspection) -> Option<f64> {
    Some((needed(inspection, &HashMap::new())?.0.in_celsius() - 1e-6).ceil())
}

/// The water that a loop would need at another spacing.
fn needed_at(inspection: &Inspection, at: usize, spacing: Length) -> Option<Temperature> {
    let otherwise = Otherwise { spacing: Some(spacing), ..Otherwise::default() };
    let then = loop_if(inspection.design, inspection.workings, at, otherwise).ok()?;
    then.flow_temperature_needed.value().ok()
}

/// Closer pipe in every room that asks for water over the limit, at the widest spacing that does, and the water that all need then.
fn closer_and_cooler(inspection: &Inspection, limit: Temperature) -> Option<Remedy> {
    let flow = inspection.design.heat_source.flow_temperature?;
    let (mut changes, mut closer, mut laid) = (Vec::new(), Vec::new(), HashMap::new());
    for room in inspection.rooms() {
        let asks = |at: &usize| {
            let needed = inspection.workings.loops[*at].flow_temperature_needed.value();
            !laid.contains_key(at) && needed.is_ok_and(|needed| needed > limit)
        };
        if !room.worked.loops.iter().any(asks) {
            continue;
        }
        let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
        let now = spacings.map(|it| it.value).reduce(Length::min)?;
        let does = |spacing: &Length| {
            room.worked.loops.iter().all(|at| needed_at(inspection, *at, *spacing).is_some_and(|it| it <= limit))
        };
        let spacing = closer_than(inspection, &room, now).find(does)?;
        if room.worked.loops.iter().any(|at| laid.insert(*at, spacing).is_some()) {
            return None;
        }
        changes.extend(laid_at(inspection, &room, spacing)?.changes);
        closer.push(format!("{} at {spacing}", room.name));
    }
    if closer.is_empty() {
        return None;
    }
    let celsius = (needed(inspection, &laid)?.0.in_celsius() - 1e-6).ceil();
    changes.push(Change { place: flow.at, text: format!("{celsius} °C") });
    let closer = if closer.len() > 3 { format!("{} rooms closer", closer.len()) } else { closer.join(", ") };
    Remedy::of(format!("lay the loops of {closer} and give water of {celsius} °C"), changes)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// Where the floors of a room want warmer water than a heat pump should give, closer pipe lets it give cooler.
    #[test]
    fn closer_pipe_lets_the_water_be_cooler() {
        let outcome = check(
            "heat-source: {kind: heat pump, flow-temperature: 48 °C, temperature-drop: 5 K}\nrooms:\n  hall: {use: office, temperature: 20 °C, \
             heat-loss: 620 W, floor: screeded, area: 12 m², height: 2.4 m, covering: [{material: carpet, thickness: 8 mm}]}\n  study: {use: \
             office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}\nloops:\n  L1: {manifold: M1, port: 1, \
             room: hall, pipe: PEX-16, spacing: 300 mm, tails: 10 m}\n  L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, \
             tails: 12 m}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.remedies[0].title, "lay the loops of hall at 250 mm and give water of 45 °C");
    }
}
