//! An electric mat fits the free floor of its room.
//!
//! A mat that is too big is cut on site, and a cut heating cable is scrap.
//!
//! ## How it is worked out
//! The areas of all mats of a room together, held against 95 % of the floor without its keep-clear areas: the rest is what
//! stays free along the walls.
//!
//! ## Limit
//! 95 % of the free floor, 50 mm off walls: common practice, no source.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 12 m², power-density: 150 W/m²}
//! # ^^ the electric mats of room hall cover 12.0 m²; 11.4 m² of its free floor is the most
//! ```
//! ```yaml remedied
//! electric-mats:
//!   E1: {room: hall, area: 11 m², power-density: 150 W/m²}
//! ```

use super::prelude::*;
use workings::ValueOf;

pub static RULE: Rule = Rule {
    name: "electric-mat-bigger-than-free-area",
    group: Group::Electric,
    weights: [Warning, Warning, Error, Error],
    limits: &[SHARE],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_mat_bigger_than_free_area.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-free-floor", value: "95 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let share = SHARE.get::<Share>(&RULE, inspection);
    let mut covered: Vec<Option<(usize, Area)>> = vec![None; inspection.design.rooms.len()];
    for (at, mat) in inspection.electric_mats().enumerate() {
        let Some(area) = found.need(mat.subject, &mat.worked.area) else { continue };
        match mat.worked.room {
            Some(room) => covered[room].get_or_insert((at, Area::ZERO)).1 += area.value,
            None if mat.given.room.is_none() && !mat.given.broken => found.missing(mat.subject, "room"),
            None => {}
        }
    }
    for (room, covered) in inspection.rooms().zip(covered) {
        let Some((mat, area)) = covered else { continue };
        let Ok(free) = room.worked.free_area.value() else {
            found.need(room.subject, &room.worked.free_area);
            continue;
        };
        let most = share.with(free * share.value.in_fraction());
        if area <= most.value {
            continue;
        }
        let message = format!(
            "the electric mats of room {} cover {area}; {} of its free floor is the most",
            room.name, most.value
        );
        let subject = Subject::ElectricMat(mat);
        let finding = Finding::new(subject, subject.place(inspection.design), message).value(area).limit(&most);
        let finding = finding.remedy(smaller(inspection, mat, most.value - area));
        found.add(finding.figure(format!("rooms.{}.free-area", room.name)).related(room.place, "the room"));
    }
}

/// The next smaller mat that fits: mats come in half square metres. One that states its power too is another mat then.
fn smaller(inspection: &Inspection, mat: usize, too_much: Area) -> Option<Remedy> {
    let given = &inspection.design.electric_mats.at(mat)?.1.value;
    let area = given.area.filter(|_| given.outline.is_none() && given.power.is_none())?;
    let fits = Area::square_metres(((area.value + too_much).in_square_metres() * 2.0 + 1e-6).floor() / 2.0);
    let text = format!("{} m²", fits.in_square_metres());
    (fits > Area::ZERO).then(|| Remedy::new(format!("choose a mat of {text}"), area.at, text))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    /// 4.5 m² on 4.8 m² are 94 %, 6.0 m² are 125 %: plain arithmetic.
    #[test]
    fn ninety_five_per_cent_of_the_free_floor() {
        let mats =
            |mats: &str| messages(&RULE, &format!("rooms: {{hall: {{area: 4.8 m²}}}}\nelectric-mats: {{{mats}}}\n"));
        assert!(mats("E1: {room: hall, area: 4.5 m²}").is_empty());
        assert_eq!(mats("E1: {room: hall, area: 6.0 m²}").len(), 1);
        assert_eq!(mats("E1: {room: hall, area: 2.5 m²}, E2: {room: hall, area: 2.5 m²}").len(), 1);
    }

    #[test]
    fn areas_that_are_not_known_are_told() {
        assert_eq!(not_checked(&RULE, "electric-mats: {E1: {room: hall}}\n"), ["electric-mats/E1/area"]);
        let text = "rooms: {hall: {}}\nelectric-mats: {E1: {room: hall, area: 2 m²}}\n";
        assert_eq!(not_checked(&RULE, text), ["rooms/hall/area"]);
    }
}
