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
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: bedroom, temperature: 20 °C, heat-loss: 350 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 300 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{RoomItem, laid_at, output_if};
use crate::LimitValue;
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
    let most = MOST.get::<Share>();
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
                .limit(&LimitValue { value: allowed, source: most.source })
                .figure(format!("rooms.{}.output", room.name))
                .remedy(wider(inspection, &room, needed.value, allowed)),
        );
    }
}

/// The closest wider spacing at which the floor gives enough and not far too much.
fn wider(inspection: &Inspection, room: &RoomItem, needed: Power, allowed: Power) -> Option<Remedy> {
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::max)?;
    let fits = |spacing: &Length| {
        let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed && output <= allowed)
    };
    let steps = [150.0, 200.0, 250.0, 300.0].map(Length::millimetres);
    laid_at(inspection, room, steps.into_iter().filter(|spacing| *spacing > now).find(fits)?)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// What is offered for a room of that use, on a heat pump.
    fn offered(use_of_it: &str) -> Vec<String> {
        let temperature = if use_of_it == "bathroom" { 22 } else { 20 };
        let outcome = check(&format!(
            "rooms:\n  hall: {{use: {use_of_it}, temperature: {temperature} °C, heat-loss: 350 W, floor: screeded, \
             area: 12 m², height: 2.4 m}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, \
             flow: 1.8 l/min}}\n"
        ));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it gives far too much");
        finding.remedies.iter().map(|it| it.title.clone()).collect()
    }

    #[test]
    fn no_spacing_is_offered_that_is_too_wide_for_the_room() {
        assert_eq!(offered("office"), ["lay its loops at 300 mm"]);
        assert_eq!(offered("living"), [""; 0]);
        assert_eq!(offered("bathroom"), [""; 0]);
    }
}
