//! The water does not cool so much on its way that one end of the floor is warm and the other cold.
//!
//! A wide drop saves pump work and costs even warmth: bare feet feel it, and so does the room at the far end.
//!
//! ## How it is worked out
//! Flow temperature less the return temperature that the floor leaves at the loop's flow. The remedy is the flow at which the
//! water cools by just under the limit.
//!
//! ## Limit
//! 10 K; 5 K is the design drop of the room that asks most, and 7 to 8 K is usual: EN 1264-3 as a university library, a
//! contractor's text and a trade summary give it.
//!
//! ## Exceptions
//! Where the flow that is set cannot carry the heat, that is said instead.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 48 °C, temperature-drop: 5 K}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 1.85 l/min}
//! #                                                                                           ^^^^^^^^^^ the water of loop L1 cools by 10.8 K, from 48.0 °C to 37.2 °C; beyond 10.0 K the floor is uneven
//! ```
//! ```yaml remedied
//! heat-source: {kind: condensing boiler, flow-temperature: 48 °C, temperature-drop: 5 K}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.10 l/min}
//! ```

use super::prelude::*;
use crate::remedy::add_key;

pub static RULE: Rule = Rule {
    name: "temperature-drop-too-wide",
    group: Group::Hydraulics,
    weights: [Hint, Information, Warning, Warning],
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

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<TemperatureDifference>();
    for it in inspection.loops() {
        let Some(back) = found.need(it.subject, &it.worked.return_temperature) else { continue };
        let Ok(flow) = &it.worked.flow_temperature else { continue };
        let drop = flow.value - back.value;
        if drop <= most.value || super::flow_carries_too_little_heat::falls_short(&it) {
            continue;
        }
        let message = format!(
            "the water of loop {} cools by {drop}, from {} to {}; beyond {} the floor is uneven",
            it.name, flow.value, back.value, most.value
        );
        let remedy = more_flow(&it, drop, most.value).and_then(|text| {
            let title = format!("set it to {text}");
            match it.given.flow {
                Some(stated) => Some(Remedy::new(title, stated.at, text)),
                None => Remedy::of(title, add_key(inspection, it.given.place, &format!("flow: {text}"))),
            }
        });
        found.add(
            Finding::new(it.subject, it.given.flow.map_or(it.place, |flow| flow.at), message)
                .value(drop)
                .limit(&most)
                .figure(format!("loops.{}.return-temperature", it.name))
                .remedy(remedy),
        );
    }
}

/// The flow at which the water cools by just less than the limit.
fn more_flow(
    it: &crate::Item<design::Loop, workings::LoopWorkings>,
    drop: TemperatureDifference,
    most: TemperatureDifference,
) -> Option<String> {
    let flow = it.worked.flow_temperature.as_ref().ok()?;
    let room = it.worked.return_temperature.as_ref().ok()?.inputs.iter().find(|input| input.name == "temperature")?;
    // Along the pipe the excess over the room falls as exp(-a / flow).
    let excess = (flow.value - Temperature::celsius(room.value)).in_kelvin();
    let share = |drop: TemperatureDifference| -(-drop.in_kelvin() / excess).ln_1p();
    let volume = it.given.flow.map(|it| it.value).or(it.worked.volume_flow.as_ref().ok().map(|it| it.value))?;
    let wanted = volume * (share(drop) / share(most - TemperatureDifference::kelvin(0.2)));
    let finite = wanted.in_litres_per_minute().is_finite() && wanted > volume;
    finite.then(|| super::flow_carries_too_little_heat::written(wanted))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_flow_that_carries_too_little_is_said_elsewhere() {
        let text =
            "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 0.9 l/min}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
