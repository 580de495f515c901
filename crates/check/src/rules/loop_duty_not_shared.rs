//! The duties that are stated for the loops of a room add up to what the room needs of its floor.
//!
//! Flows are set by the duties; what is missing from them is missing in the room, and what is too much is taken from others.
//!
//! ## How it is worked out
//! The sum of the duties of the room's loops against the heat loss of the room without that of its floor and without other emitters. A loop
//! without a duty counts with its share by area.
//!
//! ## Limit
//! Within 5 %: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the loops of room hall have duties of 560 W together; it needs 600 W of its floor, within 5 %
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, area: 7 m², duty: 350 W}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 12 m, area: 5 m², duty: 210 W}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, area: 7 m², duty: 350 W}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 12 m, area: 5 m², duty: 250 W}
//! ```

use super::prelude::*;
use super::room_short_of_heat::RoomItem;
use crate::remedy::Change;

pub static RULE: Rule = Rule {
    name: "loop-duty-not-shared",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[WITHIN],
    file: include_str!("loop_duty_not_shared.rs"),
    check,
    ..Rule::USUAL
};

const WITHIN: Limit = Limit { name: "within", value: "5 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let within = WITHIN.get::<Share>(&RULE, inspection);
    for room in inspection.rooms() {
        let Subject::Room(number) = room.subject else { continue };
        let stated: Vec<_> = room
            .worked
            .loops
            .iter()
            .filter_map(|at| Some((*at, inspection.design.loops.at(*at)?.1.value.duty?)))
            .collect();
        if stated.is_empty() {
            continue;
        }
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let mut sum = Power::ZERO;
        let mut all_known = true;
        for at in &room.worked.loops {
            let it = &inspection.workings.loops[*at];
            match found.need(Subject::Loop(*at), &it.heat_needed) {
                Some(duty) => sum += duty.value * it.share_in(number),
                None => all_known = false,
            }
        }
        if !all_known || (sum - needed.value).abs() <= needed.value * within.value.in_fraction() + Power::watts(0.01) {
            continue;
        }
        let (value, wanted) = (sum, needed.value);
        let message = format!(
            "the loops of room {} have duties of {value} together; it needs {wanted} of its floor, within {}",
            room.name, within.value
        );
        let mut finding = Finding::new(room.subject, room.place, message)
            .value(sum)
            .limit(&within.with(needed.value))
            .figure(format!("rooms.{}.heat-needed", room.name))
            .remedy(by_area(inspection, &room, needed.value));
        for (_, duty) in stated {
            finding = finding.related(duty.at, "a duty");
        }
        found.add(finding);
    }
}

/// Every duty anew, by the area that its loop heats; where each loop of the room states one and heats no other room.
fn by_area(inspection: &Inspection, room: &RoomItem, needed: Power) -> Option<Remedy> {
    let mut areas = Vec::new();
    for at in &room.worked.loops {
        let it = &inspection.workings.loops[*at];
        let duty = inspection.design.loops.at(*at)?.1.value.duty.filter(|_| it.rooms.len() == 1)?;
        areas.push((duty, it.area_served.as_ref().ok()?.value));
    }
    let all: Area = areas.iter().map(|(_, area)| *area).sum();
    let changes = areas.iter().filter_map(|(duty, area)| {
        let share = Power::watts((needed * (*area / all)).in_watts().round());
        (all > Area::ZERO && share != duty.value).then(|| Change { place: duty.at, text: share.to_string() })
    });
    Remedy::of("share them by area", changes.collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// Common practice, no source: 5 % of 600 W is 30 W.
    #[test]
    fn five_per_cent_pass() {
        let duty = |watts: &str| {
            let text = format!(
                "loops: {{L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: {watts}}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!((duty("570 W"), duty("630 W")), (0, 0));
        assert_eq!((duty("569 W"), duty("631 W")), (1, 1));
    }
}
