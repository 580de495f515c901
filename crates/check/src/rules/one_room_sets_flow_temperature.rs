//! No single room makes the water warmer for the whole house.
//!
//! All the house pays for the room that asks most: each kelvin costs a heat pump about 2.5 % of its efficiency. Closer pipe, a
//! thinner covering or one more emitter in that room is cheaper than warm water everywhere.
//!
//! ## How it is worked out
//! For each room the warmest flow temperature that one of its loops needs: that at which the floor gives just the heat needed
//! while the water cools by the design drop (EN 1264-3). The room that needs the warmest is compared with the next. Of a heat pump
//! each kelvin is counted with 2.5 %.
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
//! # ^^^^^ room study alone needs water of 37.1 °C; the next, hall, does with 32.7 °C: to treat study is worth 4.3 K to the whole house, some 11 % of what a heat pump draws
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 640 W, floor: screeded, area: 11 m²}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{closer_than, laid_at};
use design::SourceKind;
use workings::{LoopWorkings, Otherwise, ValueOf, loop_if};

pub static RULE: Rule = Rule {
    name: "one-room-sets-flow-temperature",
    group: Group::Source,
    weights: [Hint, Information, Information, Information],
    limits: &[ABOVE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "room-short-of-heat",
        "bathroom-short-of-heat",
        "floor-cannot-give-this-much",
        "second-emitter-missing",
        "room-temperature-out-of-line",
        "spacing-off-module",
        "spacing-too-wide",
        "unlike-floors-on-one-manifold",
    ],
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
    let above = ABOVE.get::<TemperatureDifference>(&RULE, inspection);
    // What each room needs, with the loop that needs it.
    let mut all: Vec<(Temperature, usize, usize)> = Vec::new();
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
        all.extend(needs);
    }
    all.sort_by(|(one, ..), (other, ..)| other.si().total_cmp(&one.si()));
    let [(needed, at, of_loop), others @ ..] = &all[..] else { return };
    let (needed, at, of_loop) = (*needed, *at, *of_loop);
    let Some((enough, other, _)) = others.first().copied() else { return };
    if needed - enough <= above.value {
        return;
    }
    let name = |at: usize| inspection.design.rooms.at(at).map_or("?", |(name, _)| name);
    let worth = needed - enough;
    let pump = inspection.design.heat_source.kind.is_some_and(|kind| kind.value == SourceKind::HeatPump);
    let message = format!(
        "room {} alone needs water of {needed}; the next, {}, does with {enough}: to treat {} is worth {worth} to the whole house{}",
        name(at),
        name(other),
        name(at),
        if pump { format!(", some {:.0} % of what a heat pump draws", 2.5 * worth.in_kelvin()) } else { String::new() }
    );
    let loop_name = inspection.design.loops.at(of_loop).map_or("?", |(name, _)| name);
    let mut finding = Finding::new(Subject::Room(at), Subject::Room(at).place(inspection.design), message)
        .value(worth)
        .limit(&above)
        .figure(format!("loops.{loop_name}.flow-temperature-needed"));
    for (water, room, _) in others.iter().take(5) {
        finding = finding.related(Subject::Room(*room).place(inspection.design), format!("does with water of {water}"));
    }
    found.add(finding.remedy(closer(inspection, at, enough + above.value)));
}

/// The widest closer spacing at which the room does with water so warm.
fn closer(inspection: &Inspection, at: usize, water: Temperature) -> Option<Remedy> {
    let room = inspection.rooms().nth(at)?;
    let spacings = room.worked.loops.iter().filter_map(|it| inspection.design.loops.at(*it)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::min)?;
    let is_enough = |spacing: &Length| {
        let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
        room.worked.loops.iter().all(|it| {
            let then = loop_if(inspection.design, inspection.workings, *it, otherwise);
            then.and_then(|it| it.flow_temperature_needed.value()).is_ok_and(|needed| needed <= water)
        })
    };
    laid_at(inspection, &room, closer_than(inspection, &room, now).find(is_enough)?)
}
