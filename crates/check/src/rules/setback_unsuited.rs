//! A heavy floor is lowered a little at night, and no more.
//!
//! A slow floor takes hours to warm. Lowered by five kelvin it is still cold at breakfast and at its warmest when all have left. A quick
//! one, such as a low-build board, may be lowered as far as one likes.
//!
//! ## How it is worked out
//! The set-back of each zone, and how long the floors of its rooms take until they give 63 % of their lasting heat after warm water
//! comes on: conduction in two dimensions and in time. In England, whether a zone with a screed of more than 65 mm has a set-back at
//! all. Zones over one floor with the same fault are told together.
//!
//! ## Limit
//! 3 K at most for a slow floor; automatic set-back where its screed is over 65 mm: a trade reference on English guidance. Slow is what
//! takes longer than an hour: common practice, no source.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true, set-back: 5 K}
//! #                                                                                               ^^^ zone hall is lowered by 5.0 K at night; floor screeded takes 2.1 h to answer and follows 3.0 K at most
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true, set-back: 2 K}
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true, set-back: 3 K}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;
use crate::remedy::{Change, add_key};
use crate::zones::zone_of_rooms;
use design::{Jurisdiction, Place};
use std::collections::BTreeMap;

pub static RULE: Rule = Rule {
    name: "setback-unsuited",
    group: Group::Controls,
    weights: [Silent, Information, Information, Information],
    limits: &[MOST, HEAVY, SLOW],
    follows: &["screed-too-thick"],
    file: include_str!("setback_unsuited.rs"),
    check,
    ..Rule::USUAL
};

const GUIDANCE: &str = "a trade reference on English guidance";
const MOST: Limit = Limit { name: "most-for-a-screed", value: "3 K", source: GUIDANCE };
const HEAVY: Limit = Limit { name: "screed-that-wants-one", value: "65 mm", source: GUIDANCE };
const SLOW: Limit = Limit { name: "slow-from", value: "1 h", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    // The zones over each floor, each zone once.
    let mut zones_of_floors: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (room, zone) in inspection.rooms().zip(zone_of_rooms(inspection)) {
        let (Some(zone), Some(floor)) = (zone, room.worked.floor.filter(|_| !room.worked.loops.is_empty())) else {
            continue;
        };
        let zones = zones_of_floors.entry(floor).or_default();
        if !zones.contains(&zone) {
            zones.push(zone);
        }
    }
    for (floor, zones) in zones_of_floors {
        too_far(inspection, found, floor, &zones);
        not_at_all(inspection, found, floor, &zones);
    }
}

/// Zones that are lowered further than their floor follows.
fn too_far(inspection: &Inspection, found: &mut Findings, floor: usize, zones: &[usize]) {
    let (most, slow) = (MOST.get::<TemperatureDifference>(&RULE, inspection), SLOW.get::<Duration>(&RULE, inspection));
    let zones: Vec<_> = zones
        .iter()
        .filter_map(|at| Some((*at, inspection.design.controls.zones.at(*at)?)))
        .filter_map(|(at, (name, entry))| Some((at, name, entry.value.set_back?)))
        .filter(|(.., set_back)| set_back.value > most.value)
        .collect();
    let Some((_, _, first)) = zones.first().copied() else { return };
    let worked = &inspection.workings.floors[floor];
    // Under the covering of the rooms of these zones that makes it slowest.
    let lowered = zone_of_rooms(inspection);
    let of_rooms = |room: &usize| lowered[*room].is_some_and(|zone| zones.iter().any(|(at, ..)| *at == zone));
    let mut slowest: Option<(usize, Duration)> = None;
    for (variant, _) in worked.variants.iter().enumerate().filter(|(_, it)| it.rooms.iter().any(of_rooms)) {
        match workings::pace(inspection.design, inspection.workings, floor, variant) {
            Ok(pace) if slowest.is_none_or(|(_, so_far)| pace.response.value > so_far) => {
                slowest = Some((variant, pace.response.value));
            }
            Ok(_) => {}
            Err(gap) => return found.not_checked(Subject::Floor(floor), &gap),
        }
    }
    let Some((variant, takes)) = slowest.filter(|(_, takes)| *takes > slow.value) else { return };
    let furthest = zones.iter().map(|(.., it)| it.value).fold(first.value, TemperatureDifference::max);
    let floor_name = inspection.design.floors.at(floor).map_or("?", |(name, _)| name);
    let message = format!(
        "{} lowered by {}{furthest} at night; floor {floor_name} takes {takes} to answer and follows {} at most",
        of_zones(zones.iter().map(|(_, name, _)| *name)),
        if zones.iter().all(|(.., it)| it.value == furthest) { "" } else { "up to " },
        most.value
    );
    let changes = zones.iter().map(|(.., it)| Change { place: it.at, text: "2 K".into() });
    let finding = Finding::new(about(floor, &zones.iter().map(|(at, ..)| *at).collect::<Vec<_>>()), first.at, message);
    let mut finding = finding
        .value(furthest)
        .limit(&most)
        .figure(worked.figure_name(floor_name, "response-time", variant))
        .remedy(Remedy::of("lower it by 2 K", changes.collect::<Vec<_>>()));
    for (_, name, set_back) in &zones[1..] {
        finding = finding.related(set_back.at, format!("the set-back of zone {name}"));
    }
    found.add(finding);
}

/// Zones in England over a heavy screed that are not lowered.
fn not_at_all(inspection: &Inspection, found: &mut Findings, floor: usize, zones: &[usize]) {
    let heavy = HEAVY.get::<Length>(&RULE, inspection);
    let england = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::England);
    let Some(screed) = screed(inspection, floor).filter(|screed| england && *screed > heavy.value) else { return };
    let zones: Vec<(usize, &str, Place, Place)> = zones
        .iter()
        .filter_map(|at| Some((*at, inspection.design.controls.zones.at(*at)?)))
        .filter(|(_, (_, entry))| {
            let lowered = entry.value.set_back.is_some_and(|it| it.value > TemperatureDifference::ZERO);
            !lowered && !entry.value.broken
        })
        .map(|(at, (name, entry))| (at, name, entry.name_place, entry.value.place))
        .collect();
    let Some((_, _, first, _)) = zones.first().copied() else { return };
    let message = format!(
        "{} not lowered at night; with a screed of {screed}, over {}, English guidance asks for it",
        of_zones(zones.iter().map(|(_, name, ..)| *name)),
        heavy.value
    );
    let changes = zones.iter().filter_map(|(.., block)| add_key(inspection, *block, "set-back: 2 K"));
    let finding = Finding::new(about(floor, &zones.iter().map(|(at, ..)| *at).collect::<Vec<_>>()), first, message);
    let mut finding =
        finding.value(screed).limit(&heavy).remedy(Remedy::of("lower it by 2 K", changes.collect::<Vec<_>>()));
    for (_, name, place, _) in &zones[1..] {
        finding = finding.related(*place, format!("zone {name}"));
    }
    found.add(finding);
}

/// One zone speaks for itself, several for their floor.
fn about(floor: usize, zones: &[usize]) -> Subject {
    match zones {
        [only] => Subject::Zone(*only),
        _ => Subject::Floor(floor),
    }
}

fn of_zones<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.collect();
    match names[..] {
        [only] => format!("zone {only} is"),
        _ => format!("zones {} are", listed(&names)),
    }
}

/// How thick the screed is that holds a floor's pipe.
fn screed(inspection: &Inspection, floor: usize) -> Option<Length> {
    let worked = inspection.workings.floors.get(floor)?;
    let layer = *worked.pipe_layer.as_ref().ok()?;
    let given = inspection.design.floors.at(floor)?.1.value.layers.get(layer)?;
    let is_screed = given.screed.is_some()
        || worked.layers.get(layer).and_then(|it| it.material).is_some_and(|material| material.kind.is_screed());
    if is_screed { Some(given.thickness?.value) } else { None }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    #[test]
    fn a_heavy_screed_in_england_wants_one() {
        let text = "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    layers:\n      \
                    - {material: cement screed, thickness: 75 mm, pipe: at base}\n      - {material: PIR board, thickness: 130 mm}\n";
        let found = messages(&RULE, text);
        assert_eq!(
            found,
            [
                "zones hall and study are not lowered at night; with a screed of 75 mm, over 65 mm, English guidance asks for it"
            ]
        );
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.remedies[0].changes.len(), 2);
        let elsewhere = format!("{text}site: {{outdoor-temperature: -3 °C, jurisdiction: Germany}}\n");
        assert_eq!(messages(&RULE, &elsewhere), [""; 0]);
    }

    /// Common practice, no source: day and night set-back works on a low-build board.
    #[test]
    fn a_quick_floor_is_lowered_as_one_likes() {
        let text = "floors:\n  screeded:\n    method: bonded-board\n    below: heated room\n    layers:\n      \
                    - {material: tile, thickness: 8 mm}\n      - {material: gypsum fibre board, thickness: 20 mm, pipe: at top}\n      \
                    - {material: EPS, thickness: 50 mm}\ncontrols:\n  zones:\n    hall: {rooms: [hall], set-back: 6 K}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
