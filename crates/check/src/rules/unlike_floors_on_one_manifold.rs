//! The floors on one manifold want water of about the same temperature.
//!
//! One manifold sends one water. Where a poor floor needs it hot, the good floors beside it are too hot to walk on or are shut
//! for most of the day; where the good ones set it, the poor one stays cold.
//!
//! ## How it is worked out
//! For each loop, the flow temperature at which its floor gives just the heat needed while the water cools by the design drop.
//! The loop that needs the warmest is compared with the warmest need among loops whose floor gives at least a tenth more for
//! each kelvin. That a room needs little on a like floor does not count: its valve sees to that.
//!
//! ## Limit
//! 5 K: common practice, no source.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 42 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², covering: [{material: carpet, thickness: 8 mm}]}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ on manifold M1 loop L2 needs water of 41.6 °C, 8.8 K warmer than the better floors; they may differ by 5.0 K
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{closer_than, laid_at, output_if};
use workings::Otherwise;

pub static RULE: Rule = Rule {
    name: "unlike-floors-on-one-manifold",
    group: Group::Manifold,
    weights: [Hint, Information, Warning, Warning],
    limits: &[APART],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "spacing-off-module",
        "room-short-of-heat",
        "bathroom-short-of-heat",
        "spacing-too-wide",
        "covering-too-resistive",
        "floor-cannot-give-this-much",
    ],
    file: include_str!("unlike_floors_on_one_manifold.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "apart", value: "5 K", source: "common practice, no source" };

/// By how much a floor has to give more for each kelvin to count as a better one.
const BETTER: f64 = 1.1;

fn check(inspection: &Inspection, found: &mut Findings) {
    let apart = APART.get::<TemperatureDifference>(&RULE, inspection);
    for it in inspection.manifolds().filter(|it| it.worked.loops.len() > 1) {
        let mut needs: Vec<(Temperature, Transmittance, usize)> = Vec::with_capacity(it.worked.loops.len());
        for at in &it.worked.loops {
            let worked = &inspection.workings.loops[*at];
            let subject = Subject::Loop(*at);
            if let (Some(needed), Some(gives)) =
                (found.need(subject, &worked.flow_temperature_needed), found.need(subject, &worked.characteristic))
                && !super::one_room_sets_flow_temperature::asks_too_much(worked)
            {
                needs.push((needed.value, gives.value, *at));
            }
        }
        let warmer = |one: &&(Temperature, Transmittance, usize), other: &&(Temperature, Transmittance, usize)| {
            one.0.in_celsius().total_cmp(&other.0.in_celsius())
        };
        let Some((needed, gives, at)) = needs.iter().max_by(warmer) else { continue };
        let better = needs.iter().filter(|(_, other, _)| *other > *gives * BETTER).max_by(warmer);
        let Some((enough, _, other)) = better.filter(|(enough, ..)| *needed - *enough > apart.value) else { continue };
        let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let message = format!(
            "on manifold {} loop {} needs water of {needed}, {} warmer than the better floors; they may differ by {}",
            it.name,
            name(*at),
            *needed - *enough,
            apart.value
        );
        found.add(
            Finding::new(it.subject, it.place, message)
                .value(*needed - *enough)
                .limit(&apart)
                .figure(format!("loops.{}.flow-temperature-needed", name(*at)))
                .related(Subject::Loop(*at).place(inspection.design), format!("its floor gives {gives}"))
                .related(
                    Subject::Loop(*other).place(inspection.design),
                    format!("of the better floors this loop needs the warmest water, {enough}"),
                )
                .remedy(closer(inspection, *at, *enough + apart.value)),
        );
    }
}

/// The only room of a loop laid at the widest closer spacing at which water of a temperature is warm enough.
fn closer(inspection: &Inspection, at: usize, water: Temperature) -> Option<Remedy> {
    let [room] = inspection.workings.loops[at].rooms[..] else { return None };
    let room = inspection.rooms().nth(room)?;
    let needed = room.worked.heat_needed.as_ref().ok()?.value;
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::min)?;
    let is_enough = |spacing: &Length| {
        let otherwise = Otherwise {
            spacing: Some(*spacing),
            flow_temperature: Some(water),
            flow_needed: true,
            ..Otherwise::default()
        };
        output_if(inspection, &room, otherwise).is_ok_and(|output| output >= needed)
    };
    laid_at(inspection, &room, closer_than(inspection, &room, now).find(is_enough)?)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// The same floor, one room needing next to nothing.
    #[test]
    fn a_room_that_needs_little_is_no_unlike_floor() {
        let text = "rooms:\n  hall: {temperature: 20 °C, heat-loss: 100 W, floor: screeded, area: 12 m²}\n  \
                    study: {temperature: 20 °C, heat-loss: 700 W, floor: screeded, area: 11 m²}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
