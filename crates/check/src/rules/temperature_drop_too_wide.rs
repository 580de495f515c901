//! The water does not cool so much on its way that one end of the floor is warm and the other cold.
//!
//! A wide drop saves pump work and costs even warmth: bare feet feel it, and so does the room at the far end.
//!
//! ## How it is worked out
//! Flow temperature less return temperature while the loop gives the heat needed, at the flow that it is set to or that the
//! design drop asks for. A drop that is stated once for many loops is said once. Where a room of theirs goes short of heat that is
//! told here, and the remedy is the drop of the room that asks most, or the least after it that all else bears.
//!
//! ## Limit
//! 10 K; 5 K is the design drop of the room that asks most, and 7 to 8 K is usual: EN 1264-3 as a public copy, a
//! contractor's text and a trade summary give it.
//!
//! ## Exceptions
//! Where the flow that is set cannot carry the heat, that is said instead. Where the water is so warm that the floor gives more
//! than is needed, its drop is wide only until the thermostat shuts.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 12 K}
//! #                                                                                 ^^^^ the water of loop L1 and of 1 more cools by 12.0 K; beyond 10.0 K the floor is uneven
//! ```
//! ```yaml remedied
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 10 K}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 8 K}
//! ```

use super::prelude::*;
use std::collections::HashMap;

pub static RULE: Rule = Rule {
    name: "temperature-drop-too-wide",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[MOST],
    file: include_str!("temperature_drop_too_wide.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit {
    name: "most",
    value: "10 K",
    source: "EN 1264-3 in a contractor's text and a trade summary: 5 to 10 K used",
};

const DEMANDING: TemperatureDifference = TemperatureDifference::kelvin(5.0);
const USUAL: TemperatureDifference = TemperatureDifference::kelvin(8.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<TemperatureDifference>(&RULE, inspection);
    let design = inspection.design;
    // Where a drop is stated, with the first loop that it makes too wide and how many more.
    let mut stated: Vec<(Subject, design::Place, usize, TemperatureDifference, usize)> = Vec::new();
    let mut known: HashMap<(Subject, design::Place), usize> = HashMap::new();
    for it in inspection.loops() {
        let (Some(back), Some(needed)) =
            (found.need(it.subject, &it.worked.return_temperature), found.need(it.subject, &it.worked.flow_needed))
        else {
            continue;
        };
        let (Ok(flow), Ok(warm)) = (&it.worked.flow, &it.worked.flow_temperature) else { continue };
        let Some(input) = needed.inputs.iter().find(|input| input.name == "temperature-drop") else { continue };
        let while_needed = TemperatureDifference::kelvin(input.value) * (needed.value / flow.value);
        let drop = (warm.value - back.value).min(while_needed);
        if drop <= most.value || super::flow_carries_too_little_heat::falls_short(inspection, &it) {
            continue;
        }
        let (Subject::Loop(at), place) = (it.subject, input.at.unwrap_or(it.place)) else { continue };
        let own = it.given.temperature_drop.is_some_and(|own| own.at == place) || input.at.is_none();
        let of_manifold = it.worked.manifold.filter(|manifold| {
            let drop = design.manifolds.at(*manifold).and_then(|(_, entry)| entry.value.temperature_drop);
            drop.is_some_and(|drop| drop.at == place)
        });
        let about = match of_manifold {
            _ if own => it.subject,
            Some(manifold) => Subject::Manifold(manifold),
            None => Subject::HeatSource,
        };
        match known.get(&(about, place)) {
            Some(known) => stated[*known].4 += 1,
            None => {
                known.insert((about, place), stated.len());
                stated.push((about, place, at, drop, 0));
            }
        }
    }
    for (about, place, at, drop, more) in stated {
        let Some((name, entry)) = design.loops.at(at) else { continue };
        let leaves_cold = leaves_cold(inspection, about);
        let more = match more {
            0 => String::new(),
            more => format!(" and of {more} more"),
        };
        let message =
            format!("the water of loop {name}{more} cools by {drop}; beyond {} the floor is uneven", most.value);
        // That of the most demanding room, where one goes short of heat; else, or where the pump will not have it, more.
        let drops: &[TemperatureDifference] = if leaves_cold { &[DEMANDING, USUAL, most.value] } else { &[most.value] };
        let is_drop = inspection.text(place).trim_end().ends_with('K');
        let mut finding =
            Finding::new(about, place, message).value(drop).limit(&most).figure(format!("loops.{name}.flow-needed"));
        for text in drops.iter().filter(|_| is_drop).map(|drop| format!("{} K", drop.in_kelvin())) {
            finding = finding.remedy(Remedy::new(format!("let the water cool by {text}"), place, text));
        }
        if about != Subject::Loop(at) {
            finding = finding.related(entry.name_place, "a loop whose water cools so much");
        }
        match (leaves_cold, RULE.weight(design.stage())) {
            (true, _) | (_, Hint) => found.add(finding),
            (_, Error) => found.add_as(Warning, finding),
            _ => found.add_as(Information, finding),
        }
    }
}

/// Whether a room that such loops heat goes short of heat.
fn leaves_cold(inspection: &Inspection, about: Subject) -> bool {
    let short = |room: &usize| {
        let room = &inspection.workings.rooms[*room];
        let (needed, output) = (&room.heat_needed, &room.output);
        matches!((needed, output), (Ok(needed), Ok(output)) if output.value < needed.value - Power::watts(0.5))
    };
    let concerns = |at: usize| match about {
        Subject::Loop(own) => own == at,
        Subject::Manifold(own) => inspection.workings.loops[at].manifold == Some(own),
        _ => true,
    };
    let loops = inspection.workings.loops.iter().enumerate().filter(|(at, _)| concerns(*at));
    loops.flat_map(|(_, it)| &it.rooms).any(short)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn with(loop_keys: &str, drop: &str) -> String {
        format!(
            "heat-source: {{kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: {drop}}}\n\
             loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m{loop_keys}}}\n"
        )
    }

    #[test]
    fn a_flow_that_carries_too_little_is_said_elsewhere() {
        assert_eq!(messages(&RULE, &with(", flow: 0.7 l/min", "5 K")), [""; 0]);
    }

    /// With water that leaves the room short the drop is the cause, and what the room lacks is told there.
    #[test]
    fn a_room_left_cold_makes_it_grave() {
        let text = with("", "16 K").replace("45 °C", "38 °C");
        let outcome = crate::bench::check(&text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.severity, crate::Severity::Error);
        assert!(finding.related.iter().any(|it| it.message.starts_with("and so the floor of room")), "{finding:?}");
        // That the study has no loop at all is another matter.
        let short = outcome.findings.iter().filter(|it| it.rule.name == "room-short-of-heat");
        assert_eq!(short.map(|it| it.at(&outcome.design)).collect::<Vec<_>>(), ["rooms/study"]);
        assert_eq!(finding.remedies.iter().map(|it| &*it.title).collect::<Vec<_>>(), ["let the water cool by 5 K"]);
    }

    #[test]
    fn water_warmer_than_needed_does_not_count() {
        assert_eq!(messages(&RULE, &with("", "5 K")), [""; 0]);
        assert_eq!(messages(&RULE, &with(", flow: 1.9 l/min", "5 K")), [""; 0]);
    }

    #[test]
    fn a_loop_may_state_its_own() {
        let found = messages(&RULE, &with(", temperature-drop: 11 K", "5 K"));
        assert_eq!(found, ["the water of loop L1 cools by 11.0 K; beyond 10.0 K the floor is uneven"]);
        assert_eq!(messages(&RULE, &with(", temperature-drop: 10 K", "5 K")), [""; 0]);
    }
}
