//! The floor of each room gives the heat that the room needs.
//!
//! What is short on the coldest day cannot be added once the floor is down.
//!
//! ## How it is worked out
//! What the loops of the room give at the design flow temperature and their flows (EN 1264-2 for pipe in screed, conduction in two
//! dimensions for boards, plates and slabs; the water cools along the pipe), against the heat loss of the room without that of its
//! floor and without other emitters.
//!
//! ## Limit
//! At least what is needed: EN 1264-2 and -3; the heat loss by EN 12831-1.
//!
//! ## Exceptions
//! Where the room asks more than any floor can give, `floor-cannot-give-this-much` speaks.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 250 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 700 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                    ^^^^^ the floor of room hall gives 681 W; it needs 700 W, 19 W more
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 700 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::floor_cannot_give_this_much::beyond;
use super::prelude::*;
use crate::LimitValue;
use crate::remedy::Change;

pub static RULE: Rule = Rule {
    name: "room-short-of-heat",
    group: Group::HeatOutput,
    weights: [Warning, Error, Error, Error],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("room_short_of_heat.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    unheated(inspection, found);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some(output) = found.need(room.subject, &room.worked.output) else { continue };
        // Beyond what any floor gives, that is the cause, and its own rule says it.
        if output.value >= needed.value - Power::watts(0.5) || beyond(&room).is_some() {
            continue;
        }
        let message = format!(
            "the floor of room {} gives {}; it needs {}, {} more",
            room.name,
            output.value,
            needed.value,
            needed.value - output.value
        );
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        let mut finding = Finding::new(room.subject, place, message)
            .value(output.value)
            .limit(&LimitValue { value: needed.value, source: "EN 1264-2 and -3, and EN 12831-1 for the heat loss" })
            .figure(format!("rooms.{}.output", room.name));
        for at in &room.worked.loops {
            finding = finding.related(Subject::Loop(*at).place(inspection.design), "a loop that heats it");
        }
        finding.remedies.extend(closer(inspection, &room.worked.loops));
        finding.remedies.extend(warmer(inspection, &room.worked.loops));
        found.add(finding);
    }
}

/// Rooms that need heat of a heated floor in which nothing is laid.
fn unheated(inspection: &Inspection, found: &mut Findings) {
    // A loop whose room could not be made out may be the one that heats it.
    let astray = &inspection.workings.plan.astray;
    let is_known = |at: usize| astray.binary_search_by_key(&at, |(astray, _)| *astray).is_ok();
    if inspection.workings.loops.iter().enumerate().any(|(at, it)| it.rooms.is_empty() && !is_known(at)) {
        return;
    }
    // A room whose loop is drawn elsewhere: `route-leaves-its-rooms` says it.
    let is_missed = |room: Subject| astray.iter().any(|(_, missed)| Subject::Room(*missed) == room);
    let by_mat = |name: &str| {
        inspection
            .design
            .electric_mats
            .values()
            .any(|mat| mat.room.as_ref().is_some_and(|room| room.value.name == name))
    };
    for room in inspection.rooms().filter(|room| room.worked.loops.is_empty() && room.worked.floor.is_some()) {
        let Ok(needed) = &room.worked.heat_needed else { continue };
        if needed.value <= Power::ZERO || by_mat(room.name) || is_missed(room.subject) {
            continue;
        }
        let message = format!("room {} needs {} of its floor, and no loop is laid in it", room.name, needed.value);
        found.add(
            Finding::new(room.subject, room.place, message)
                .value(Power::ZERO)
                .limit(&LimitValue {
                    value: needed.value,
                    source: "EN 1264-2 and -3, and EN 12831-1 for the heat loss",
                })
                .figure(format!("rooms.{}.heat-needed", room.name)),
        );
    }
}

/// The loops at each closer spacing, the nearest first; the trial shows which is close enough.
fn closer(inspection: &Inspection, loops: &[usize]) -> Vec<Remedy> {
    let mut remedies = Vec::new();
    for mm in [200.0, 150.0, 125.0, 100.0] {
        let spacing = Length::millimetres(mm);
        let mut changes = Vec::new();
        for at in loops {
            let Some((_, entry)) = inspection.design.loops.at(*at) else { continue };
            if let (Some(given), None) = (entry.value.spacing, &entry.value.route)
                && spacing < given.value
            {
                changes.push(Change { place: given.at, text: spacing.to_string() });
            }
        }
        if changes.len() == loops.len() {
            remedies.extend(Remedy::of(format!("lay its loops at {spacing}"), changes));
        }
    }
    remedies
}

/// Warmer water by whole steps of 2 K, up to 55 °C.
fn warmer(inspection: &Inspection, loops: &[usize]) -> Vec<Remedy> {
    let first = loops.first().and_then(|at| inspection.workings.loops[*at].flow_temperature.as_ref().ok());
    let Some((now, Some(place))) =
        first.map(|it| (it.value.in_celsius(), it.inputs.first().and_then(|input| input.at)))
    else {
        return Vec::new();
    };
    let steps = (1..).map(|step| now + 2.0 * f64::from(step)).take_while(|celsius| *celsius <= 55.0);
    steps
        .map(|celsius| Remedy::new(format!("feed it with water of {celsius:.0} °C"), place, format!("{celsius:.0} °C")))
        .collect()
}
