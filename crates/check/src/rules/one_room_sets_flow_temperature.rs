//! No single room makes the water warmer for the whole house.
//!
//! All the house pays for the room that asks most: each kelvin costs a heat pump about 2.5 % of its efficiency. Closer pipe, a
//! thinner covering or one more emitter in that room is cheaper than warm water everywhere.
//!
//! ## How it is worked out
//! For each room the warmest flow temperature that one of its loops needs: that at which the floor gives just the heat needed
//! while the water cools by the design drop. The room that needs the warmest is compared with the next.
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
//!   study: {use: office, temperature: 20 °C, heat-loss: 790 W, floor: screeded, area: 11 m²}
//! # ^^^^^ room study alone needs water of 37.1 °C; the next, hall, does with 32.7 °C, 4.3 K less
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 640 W, floor: screeded, area: 11 m²}
//! ```

use super::prelude::*;
use workings::LoopWorkings;

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
            .related(Subject::Room(other).place(inspection.design), "the room that needs the next warmest water"),
    );
}
