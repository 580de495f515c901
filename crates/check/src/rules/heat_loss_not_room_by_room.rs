//! The heat loss of each room is its own, not a share of the whole building's.
//!
//! A corner room under the roof loses twice what an inner room does; shared out alike one stays cold and the other hunts.
//!
//! ## How it is worked out
//! A room's heat loss is said to be from the `whole building` or a `rule of thumb`; or at least three heated rooms, of which it is not said
//! that they were worked out room by room, have the same W/m² to within the limit.
//!
//! ## Limit
//! Room by room, to EN 12831-1: MIS 3005-D and recent English guidance, in secondary texts. Alike to within 1 %: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, heat-loss-method: rule of thumb, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                                             ^^^^^^^^^^^^^ the heat loss of room hall is by `rule of thumb`; each room wants its own, worked out to EN 12831-1
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, heat-loss-method: room by room, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, heat-loss-method: room by room, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, heat-loss-method: room by room, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::HeatLossMethod;

pub static RULE: Rule = Rule {
    name: "heat-loss-not-room-by-room",
    group: Group::DesignFile,
    weights: [Silent, Information, Warning, Warning],
    limits: &[ALIKE],
    file: include_str!("heat_loss_not_room_by_room.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "MIS 3005-D and recent English guidance, in secondary texts; EN 12831-1 for the method";
const ALIKE: Limit = Limit { name: "alike-to-within", value: "1 %", source: "common practice, no source" };
/// So many rooms alike are suspect.
const SUSPECT: usize = 3;

fn check(inspection: &Inspection, found: &mut Findings) {
    let alike = ALIKE.get::<Share>(&RULE, inspection);
    let mut unsaid = Vec::new();
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(loss) = room.given.heat_loss else { continue };
        match room.given.heat_loss_method {
            Some(method) if matches!(method.value, HeatLossMethod::WholeBuilding | HeatLossMethod::RuleOfThumb) => {
                let message = format!(
                    "the heat loss of room {} is by `{}`; each room wants its own, worked out to EN 12831-1",
                    room.name, method.value
                );
                found.add(
                    Finding::new(room.subject, method.at, message).source(SOURCE).related(loss.at, "the heat loss"),
                );
            }
            Some(_) => {}
            None => {
                if let Ok(area) = &room.worked.area
                    && area.value > Area::ZERO
                    && loss.value > Power::ZERO
                    && inspection.is_read(room.given.place)
                {
                    unsaid.push((loss.value / area.value, room.subject, loss.at));
                }
            }
        }
    }
    unsaid.sort_by(|one, other| one.0.si().total_cmp(&other.0.si()));
    // The longest run of rooms that lie within the limit of its first.
    let mut run = &unsaid[..0];
    let mut end = 0;
    for start in 0..unsaid.len() {
        let most = unsaid[start].0 * (1.0 + alike.value.in_fraction());
        end = end.max(start);
        while unsaid.get(end).is_some_and(|it| it.0 <= most) {
            end += 1;
        }
        if end - start > run.len() {
            run = &unsaid[start..end];
        }
    }
    if let [first, .., last] = run
        && run.len() >= SUSPECT
    {
        let message = format!(
            "{} rooms lose {} each, to within {}; heat losses worked out room by room differ more",
            run.len(),
            (first.0 + last.0) / 2.0,
            alike.value
        );
        let earliest = run.iter().min_by_key(|it| it.2).unwrap_or(first);
        let mut finding = Finding::new(earliest.1, earliest.2, message).source(SOURCE);
        for it in run.iter().filter(|it| it.2 != earliest.2) {
            finding = finding.related(it.2, "as much here");
        }
        found.add(finding);
        return;
    }
    unsaid.sort_by_key(|it| it.2);
    for (_, subject, _) in unsaid {
        found.missing(subject, "heat-loss-method");
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn rooms(losses: [&str; 3]) -> String {
        let mut text = String::from("rooms:\n");
        for (at, loss) in losses.iter().enumerate() {
            text += &format!("  r{at}: {{temperature: 20 °C, heat-loss: {loss}, floor: screeded, area: 10 m²}}\n");
        }
        text += "loops:\n";
        for at in 0..3 {
            text += &format!("  L{at}: {{manifold: M1, room: r{at}, pipe: PEX-16, spacing: 150 mm, tails: 5 m}}\n");
        }
        text
    }

    /// Common practice, no source: three rooms alike to within 1 %.
    #[test]
    fn three_rooms_alike_are_suspect() {
        assert_eq!(
            messages(&RULE, &rooms(["500 W", "502 W", "505 W"])),
            ["3 rooms lose 50.2 W/m² each, to within 1 %; heat losses worked out room by room differ more"]
        );
        assert!(messages(&RULE, &rooms(["500 W", "502 W", "506 W"])).is_empty());
        assert_eq!(not_checked(&RULE, &rooms(["500 W", "502 W", "506 W"])).len(), 3);
    }
}
