//! No single room makes the water warmer for the whole house.
//!
//! All the house pays for the room that asks most: each kelvin costs a heat pump about 2.5 % of its efficiency. Closer pipe, a
//! thinner covering or one more emitter in that room is cheaper than warm water everywhere.
//!
//! ## How it is worked out
//! For each room the warmest flow temperature that one of its loops needs: that at which the floor gives just the heat needed
//! while the water cools by the design drop. The room that needs the warmest is compared with the next. The remedy is the widest
//! closer spacing that will do with water of the next room's need and the limit.
//!
//! ## Exceptions
//! A loop that is asked for more than 100 W/m², which no floor gives: no water is warm enough for it.
//!
//! ## Limit
//! 3 K above the next: common practice, no source.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 680 W, floor: screeded, area: 11 m²}
//! # ^^^^^ room study alone needs water of 36.9 °C; the next, hall, does with 32.7 °C, 4.1 K less
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 200 mm, tails: 4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 680 W, floor: screeded, area: 11 m²}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 640 W, floor: screeded, area: 11 m²}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{RoomItem, laid_at, output_if};
use workings::{LoopWorkings, Otherwise};

pub static RULE: Rule = Rule {
    name: "one-room-sets-flow-temperature",
    group: Group::Source,
    weights: [Hint, Information, Information, Information],
    limits: &[ABOVE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("one_room_sets_flow_temperature.rs"),
    check,
    ..Rule::USUAL
};

const ABOVE: Limit = Limit { name: "above-the-next", value: "3 K", source: "common practice, no source" };

/// Whether a loop is asked for more than any floor gives: no water is warm enough then, and that is said elsewhere.
pub(super) fn asks_too_much(it: &LoopWorkings) -> bool {
    let most = HeatFlux::watts_per_square_metre(100.0);
    matches!((&it.heat_needed, &it.area_served), (Ok(heat), Ok(area)) if heat.value > most * area.value)
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let above = ABOVE.get::<TemperatureDifference>();
    // The warmest need and the next, each with its room and its loop.
    let mut first: Option<(Temperature, usize, usize)> = None;
    let mut next: Option<(Temperature, usize, usize)> = None;
    for (at, room) in inspection.rooms().enumerate() {
        let mut needs: Option<(Temperature, usize, usize)> = None;
        for it in &room.worked.loops {
            let worked = &inspection.workings.loops[*it];
            let Some(needed) = found.need(Subject::Loop(*it), &worked.flow_temperature_needed) else {
                let gap = worked.flow_temperature_needed.as_ref().err();
                if gap.is_some_and(|gap| gap.is_unreadable(inspection.design)) {
                    // The loop that cannot be read may be the one that needs as warm.
                    return;
                }
                continue;
            };
            if asks_too_much(worked) {
                continue;
            }
            if needs.is_none_or(|(so_far, ..)| needed.value > so_far) {
                needs = Some((needed.value, at, *it));
            }
        }
        let Some(needs) = needs else { continue };
        if first.is_none_or(|(warmest, ..)| needs.0 > warmest) {
            next = first;
            first = Some(needs);
        } else if next.is_none_or(|(warmest, ..)| needs.0 > warmest) {
            next = Some(needs);
        }
    }
    let (Some((needed, at, of_loop)), Some((enough, other, _))) = (first, next) else { return };
    if needed - enough <= above.value {
        return;
    }
    let name = |at: usize| inspection.design.rooms.at(at).map_or("?", |(name, _)| name);
    let message = format!(
        "room {} alone needs water of {needed}; the next, {}, does with {enough}, {} less",
        name(at),
        name(other),
        needed - enough
    );
    let loop_name = inspection.design.loops.at(of_loop).map_or("?", |(name, _)| name);
    found.add(
        Finding::new(Subject::Room(at), Subject::Room(at).place(inspection.design), message)
            .value(needed - enough)
            .limit(&above)
            .figure(format!("loops.{loop_name}.flow-temperature-needed"))
            .related(Subject::Room(other).place(inspection.design), "the room that needs the next warmest water")
            .remedy(inspection.rooms().nth(at).and_then(|room| closer(inspection, &room, enough + above.value))),
    );
}

/// The widest closer spacing of a room's loops at which water of a temperature is warm enough.
pub(super) fn closer(inspection: &Inspection, room: &RoomItem, water: Temperature) -> Option<Remedy> {
    let needed = room.worked.heat_needed.as_ref().ok()?.value;
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::min)?;
    let closer = [200.0, 150.0, 125.0, 100.0].map(Length::millimetres).into_iter().filter(|spacing| *spacing < now);
    let enough = |spacing: &Length| {
        let otherwise = Otherwise {
            spacing: Some(*spacing),
            flow_temperature: Some(water),
            flow_needed: true,
            ..Otherwise::default()
        };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed)
    };
    laid_at(inspection, room, closer.into_iter().find(enough)?)
}
