//! The floor of a room does not give far more than the room needs.
//!
//! Its loop is throttled hard to keep the room from overheating: the valve sings, the room hunts, and pipe was laid for nothing.
//!
//! ## How it is worked out
//! What the loops of the room give at the design flow temperature and their flows, against the heat loss of the room without that of its
//! floor and without other emitters.
//!
//! ## Limit
//! 180 % of what is needed: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: bedroom, temperature: 20 °C, heat-loss: 350 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                     ^^^^^ the floor of room hall gives 845 W, 241.4 % of the 350 W that it needs; at most 180 % can be set well
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 30 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: bedroom, temperature: 20 °C, heat-loss: 350 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 300 mm, tails: 30 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{RoomItem, laid_at, output_if, wider_than};
use design::Place;
use std::collections::HashMap;
use workings::Otherwise;

pub static RULE: Rule = Rule {
    name: "room-far-over-heat",
    group: Group::HeatOutput,
    weights: [Hint; 4],
    limits: &[MOST],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "surface-too-warm-occupied",
        "surface-too-warm-edge",
        "surface-too-warm-bathroom",
        "timber-covering-too-warm",
        "resilient-covering-too-warm",
        "heat-pump-flow-too-warm",
        "flow-temperature-over-regulation",
        "room-temperature-out-of-line",
    ],
    file: include_str!("room_far_over_heat.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-of-what-is-needed", value: "180 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Share>(&RULE, inspection);
    let mut coolest = HashMap::new();
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some(output) = found.need(room.subject, &room.worked.output) else { continue };
        let allowed = needed.value * most.value.in_fraction();
        if needed.value <= Power::ZERO || output.value <= allowed {
            continue;
        }
        let (value, limit) = apart(Share::fraction(output.value / needed.value), most.value);
        let message = format!(
            "the floor of room {} gives {}, {value} of the {} that it needs; at most {limit} can be set well",
            room.name, output.value, needed.value
        );
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        found.add(
            Finding::new(room.subject, place, message)
                .value(output.value)
                .limit(&most.with(allowed))
                .figure(format!("rooms.{}.output", room.name))
                .remedy(wider(inspection, &room, needed.value, allowed))
                .remedy(cooler(inspection, &room, needed.value, allowed, &mut coolest)),
        );
    }
}

/// The coolest water that does for every room fed with it, where with that the floor no longer gives far too much.
fn cooler(
    inspection: &Inspection,
    room: &RoomItem,
    needed: Power,
    allowed: Power,
    known: &mut HashMap<Place, Option<f64>>,
) -> Option<Remedy> {
    let fed_from = |at: &usize| inspection.workings.loops[*at].flow_temperature.as_ref().ok()?.inputs.first()?.at;
    let place = fed_from(room.worked.loops.first()?)?;
    let celsius = (*known.entry(place).or_insert_with(|| {
        let fed = inspection.rooms().filter(|it| it.worked.loops.iter().any(|at| fed_from(at) == Some(place)));
        fed.map(|it| coolest(inspection, &it)).reduce(|one, other| Some(one?.max(other?)))?
    }))?;
    let otherwise = Otherwise { flow_temperature: Some(Temperature::celsius(celsius)), ..Otherwise::default() };
    let output = output_if(inspection, room, otherwise).ok()?;
    let fits = output >= needed && output <= allowed;
    fits.then(|| Remedy::new(format!("feed it with water of {celsius:.0} °C"), place, format!("{celsius:.0} °C")))
}

/// The coolest water in whole degrees with which a room gets what it needs; nothing where not even the warmer water does.
fn coolest(inspection: &Inspection, room: &RoomItem) -> Option<f64> {
    let needed = room.worked.heat_needed.as_ref().ok()?.value;
    let loops = room.worked.loops.iter().map(|at| &inspection.workings.loops[*at]);
    let now = loops.filter_map(|it| Some(it.flow_temperature.as_ref().ok()?.value.in_celsius())).reduce(f64::min)?;
    let enough = |celsius: f64| {
        let otherwise = Otherwise { flow_temperature: Some(Temperature::celsius(celsius)), ..Otherwise::default() };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed)
    };
    let steps = (0..40).map(|step| now.floor() - f64::from(step));
    steps.take_while(|celsius| *celsius >= 20.0 && enough(*celsius)).last()
}

/// The closest wider spacing at which the floor gives enough and not far too much.
fn wider(inspection: &Inspection, room: &RoomItem, needed: Power, allowed: Power) -> Option<Remedy> {
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::max)?;
    let fits = |spacing: &Length| {
        let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed && output <= allowed)
    };
    laid_at(inspection, room, wider_than(inspection, room, now).find(fits)?)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// What is offered for a room of that use, on a heat pump whose water another room needs.
    fn offered(use_of_it: &str) -> Vec<String> {
        let temperature = if use_of_it == "bathroom" { 22 } else { 20 };
        let outcome = check(&format!(
            "rooms:\n  hall: {{use: {use_of_it}, temperature: {temperature} °C, heat-loss: 350 W, floor: screeded, \
             area: 12 m², height: 2.4 m}}\n  study: {{use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 30 m, \
             flow: 1.8 l/min}}\n  L2: {{manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}}\n"
        ));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it gives far too much");
        finding.remedies.iter().map(|it| it.title.clone()).collect()
    }

    /// The only room, so that no other needs the warm water.
    #[test]
    fn cooler_water_is_offered_where_no_other_room_needs_it() {
        let outcome = check(
            "heat-source: {kind: condensing boiler, flow-temperature: 42 °C, temperature-drop: 5 K}\nrooms: {hall: {use: living, temperature: 20 °C, \
             heat-loss: 350 W, floor: screeded, area: 12 m², height: 2.4 m}}\nloops: {L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, \
             spacing: 150 mm, tails: 10 m, flow: 1.8 l/min}}\ncontrols: {zones: {hall: {rooms: [hall], thermostat: {feels: air, height: \
             1.3 m}}}}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it gives far too much");
        let titles: Vec<&str> = finding.remedies.iter().map(|it| it.title.as_str()).collect();
        assert_eq!(titles, ["feed it with water of 28 °C"]);
    }

    #[test]
    fn no_spacing_is_offered_that_is_too_wide_for_the_room() {
        let is_laid_at = |use_of_it: &str| offered(use_of_it).iter().any(|title| title == "lay its loops at 300 mm");
        assert!(is_laid_at("office"));
        assert!(!is_laid_at("living") && !is_laid_at("bathroom"));
    }
}
