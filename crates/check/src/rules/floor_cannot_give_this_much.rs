//! No room asks more of its floor than any floor can give.
//!
//! A cold glazed room cannot be cured once the floor is down; another emitter has to be planned now.
//!
//! ## How it is worked out
//! What the floor has to give (heat loss, without that of the floor itself and without other emitters) over the free area.
//!
//! ## Limit
//! 100 W/m²: what a surface 9 K over its room gives, EN 1264-2 basic characteristic. It holds whatever the water temperature.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1596 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                    ^^^^^^ room hall needs 133.0 W/m² of its floor; no floor gives more than 100.0 W/m² without becoming too warm, 396 W are left for another emitter
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1596 W, floor: screeded, area: 12 m², height: 2.4 m, other-emitters: {trench: {output: 900 W}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::is_badly_drawn;
use super::second_emitter_missing::{emitter, left_over};
use crate::inspection::Item;
use design::Room;
use workings::RoomWorkings;

pub static RULE: Rule = Rule {
    name: "floor-cannot-give-this-much",
    group: Group::HeatOutput,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("floor_cannot_give_this_much.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "most", value: "100 W/m²", source: "EN 1264-2, basic characteristic at 9 K over the room" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some(free) = found.need(room.subject, &room.worked.free_area) else { continue };
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        // A room of no area at all is a slip, told where it stands.
        if room.worked.area.as_ref().is_ok_and(|area| area.value <= Area::ZERO) {
            continue;
        }
        if free.value <= Area::ZERO && needed.value > Power::ZERO {
            let message = format!(
                "nothing of the floor of room {} is free of what stands on it; the {} that it needs are left for another emitter",
                room.name, needed.value
            );
            let limit = MOST.get::<HeatFlux>(&RULE, inspection);
            let mut finding = Finding::new(room.subject, place, message).value(free.value).source(limit.source);
            for at in &room.worked.loops {
                finding = finding.related(Subject::Loop(*at).place(inspection.design), "a loop that would lie there");
            }
            found.add(finding);
            continue;
        }
        let Some((flux, limit)) = beyond(inspection, &room) else { continue };
        let short = needed.value - limit.value * free.value;
        let message = format!(
            "room {} needs {flux} of its floor; no floor gives more than {} without becoming too warm, {short} are left for another emitter",
            room.name, limit.value
        );
        // What pipe that is badly drawn leaves is for the pipe to give.
        let left = match is_badly_drawn(inspection, &room) {
            true => short,
            false => short.max(left_over(inspection, &room)),
        };
        found.add(
            Finding::new(room.subject, place, message)
                .value(flux)
                .limit(&limit)
                .figure(format!("rooms.{}.heat-needed", room.name))
                .remedy(emitter(inspection, &room, "radiator", "radiator", left)),
        );
    }
}

/// The heat that a room needs of each square metre, and the limit, where it is over that.
pub(super) fn beyond(
    inspection: &Inspection,
    room: &Item<Room, RoomWorkings>,
) -> Option<(HeatFlux, LimitValue<HeatFlux>)> {
    let (needed, free) = (room.worked.heat_needed.as_ref().ok()?, room.worked.free_area.as_ref().ok()?);
    let limit = MOST.get::<HeatFlux>(&RULE, inspection);
    if free.value <= Area::ZERO {
        return None;
    }
    let flux = needed.value / free.value;
    limit.is_exceeded_by(flux).then_some((flux, limit))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// Water that is too cool for the rest as well: the emitter takes what the floor will not give, so that nothing is short.
    #[test]
    fn the_emitter_is_as_large_as_what_the_floor_leaves() {
        let outcome = check(
            "rooms: {hall: {use: living, temperature: 20 °C, heat-loss: 1596 W, floor: screeded, area: 12 m², height: 2.4 m}}\nloops: {L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it asks too much");
        let titles: Vec<&str> = finding.remedies.iter().map(|it| it.title.as_str()).collect();
        assert!(matches!(titles[..], [only] if only.starts_with("add a radiator of ")), "{titles:?}");
    }

    /// Pipe over less than half of the floor leaves most of what the room needs: that is for pipe to give, not for a radiator.
    #[test]
    fn a_radiator_does_not_make_up_for_floor_without_pipe() {
        let outcome = check(
            "rooms: {hall: {use: living, temperature: 20 °C, heat-loss: 1900 W, floor: screeded, height: 2.4 m, outline: [[0, 0], [4, 0], [4, 4], [0, 4]], keep-clear: none}}\nloops: {L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, route: [[0.1, 0.1], [3.9, 0.1], [3.9, 0.25], [0.1, 0.25], [0.1, 0.4], [3.9, 0.4], [3.9, 0.55], [0.1, 0.55]]}}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it asks too much");
        let titles: Vec<&str> = finding.remedies.iter().map(|it| it.title.as_str()).collect();
        assert!(finding.message.ends_with("are left for another emitter"), "{}", finding.message);
        let left = finding.message.split(", ").last().unwrap_or_default().to_string();
        let watts: f64 = left.split(' ').next().and_then(|it| it.parse().ok()).expect("a number");
        let mut offered = titles.iter().filter_map(|it| it.split(' ').nth(4)?.parse::<f64>().ok());
        assert!(offered.all(|it| it < watts + 20.0), "{titles:?} for {left}");
    }

    #[test]
    fn a_floor_that_is_all_taken_up_is_said_once() {
        let text = "rooms: {hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, height: 2.4 m, outline: [[0, 0], [4, 0], [4, 3], \
                    [0, 3]], keep-clear: {stage: [[0, 0], [4, 0], [4, 3], [0, 3]]}}}\nloops: {L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, \
                    spacing: 150 mm, tails: 10 m, flow: 2 l/min}}\ncontrols: {zones: {hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}}}}\n";
        let of_room: Vec<_> = check(text)
            .findings
            .into_iter()
            .filter(|it| {
                !matches!(it.rule.group, crate::Group::DesignFile | crate::Group::Safety | crate::Group::Controls)
            })
            .map(|it| (it.rule.name, it.message))
            .collect();
        assert_eq!(
            of_room,
            [(RULE.name, "nothing of the floor of room hall is free of what stands on it; the 600 W that it needs are left for another emitter".into())]
        );
    }
}
