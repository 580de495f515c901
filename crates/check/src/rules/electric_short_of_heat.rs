//! Where an electric floor is the only heat of a room, it gives more than the room loses.
//!
//! A mat that just meets the loss never catches up after a cold night.
//!
//! ## How it is worked out
//! The power of all mats of the room of which one is the only heat, held against the room's heat loss times 1.15.
//!
//! ## Limit
//! 115 % of the heat loss: common practice, no source.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², sole-heat: true, reason: no route for water}
//! # ^^ the electric heating of room hall gives 675 W; 690 W is the least where it is the only heat
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.8 m², power-density: 150 W/m², sole-heat: true, reason: no route for water}
//! ```

use super::prelude::*;
use super::room_short_of_heat::RoomItem;
use super::second_emitter_missing::emitter;
use crate::remedy::Change;

pub static RULE: Rule = Rule {
    name: "electric-short-of-heat",
    group: Group::Electric,
    weights: [Warning, Warning, Error, Error],
    limits: &[SHARE],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_short_of_heat.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-heat-loss", value: "115 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let share = SHARE.get::<Share>(&RULE, inspection);
    // For each room: the first mat that is its only heat, and what all of its mats give, if that is known.
    let mut heated: Vec<Option<(usize, Option<Power>)>> = vec![None; inspection.design.rooms.len()];
    for (at, mat) in inspection.electric_mats().enumerate() {
        if !mat.given.sole_heat.is_some_and(|sole| sole.value) {
            continue;
        }
        let Some(room) = mat.worked.room else {
            if mat.given.room.is_none() && !mat.given.broken {
                found.missing(mat.subject, "room");
            }
            continue;
        };
        heated[room].get_or_insert((at, Some(Power::ZERO)));
    }
    for mat in inspection.electric_mats() {
        if let Some((_, sum)) = mat.worked.room.and_then(|room| heated[room].as_mut()) {
            let power = found.need(mat.subject, &mat.worked.power).map(|power| power.value);
            *sum = sum.zip(power).map(|(sum, power)| sum + power);
        }
    }
    for (room, heated) in inspection.rooms().zip(heated) {
        let Some((mat, Some(gives))) = heated else { continue };
        let Some(loss) = found.need(room.subject, &room.worked.heat_loss) else { continue };
        let wanted = share.with(loss.value * share.value.in_fraction());
        if !wanted.is_missed_by(gives) {
            continue;
        }
        let message = format!(
            "the electric heating of room {} gives {gives}; {} is the least where it is the only heat",
            room.name, wanted.value
        );
        let subject = Subject::ElectricMat(mat);
        let finding = Finding::new(subject, subject.place(inspection.design), message).value(gives).limit(&wanted);
        let finding = finding.figure(format!("rooms.{}.heat-loss", room.name)).related(room.place, "the room");
        found.add(finding.remedy(no_longer_alone(inspection, &room, mat, wanted.value - gives)));
    }
}

/// A radiator for what is short; then the mat is no longer the only heat.
fn no_longer_alone(inspection: &Inspection, room: &RoomItem, mat: usize, short: Power) -> Option<Remedy> {
    let sole = inspection.design.electric_mats.at(mat)?.1.value.sole_heat?;
    let not_alone = Change { place: sole.at, text: "false".into() };
    let named: Power = room.given.other_emitters.values().filter_map(|it| it.output).map(|it| it.value).sum();
    if named >= short {
        return Remedy::of("say that the room's other emitters heat it as well", [not_alone]);
    }
    let mut remedy = emitter(inspection, room, "radiator", "radiator", short)?;
    remedy.changes.push(not_alone);
    Some(remedy)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    /// 675 W against 560 W x 1.15 = 644 W, and against 700 W x 1.15 = 805 W: plain arithmetic.
    #[test]
    fn fifteen_per_cent_more_are_enough() {
        let hall = |loss: &str| {
            let text = format!(
                "rooms: {{hall: {{heat-loss: {loss}}}}}\nelectric-mats: {{E1: {{room: hall, power: 675 W, sole-heat: true}}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(hall("560 W").is_empty());
        assert!(hall("586 W").is_empty());
        assert_eq!(
            hall("700 W"),
            ["the electric heating of room hall gives 675 W; 805 W is the least where it is the only heat"]
        );
    }

    #[test]
    fn mats_of_a_room_count_together() {
        let text =
            "electric-mats:\n  E1: {room: hall, power: 400 W, sole-heat: true}\n  E2: {room: hall, power: 400 W}\n";
        assert!(messages(&RULE, text).is_empty());
        assert!(messages(&RULE, "electric-mats: {E1: {room: hall, power: 100 W}}\n").is_empty());
    }

    #[test]
    fn a_mat_of_unknown_power_is_not_checked() {
        let text = "electric-mats: {E1: {room: hall, sole-heat: true}}\n";
        assert_eq!(not_checked(&RULE, text), ["electric-mats/E1/power-density"]);
        assert!(messages(&RULE, text).is_empty());
    }
}
