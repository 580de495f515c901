//! Electric mat and water pipe do not share one piece of floor.
//!
//! Two heaters in one floor fight over its thermostat, and the mat lies on warm screed that it was not rated for.
//!
//! ## How it is worked out
//! Where mat and routes are drawn, the length of pipe under the mat. Where they are not, the area of the room's mats
//! and of its loops together, held against the free floor: more than that must share.
//!
//! ## Limit
//! None, unless the mat is for comfort alone and interlocked with the water: common practice, no source. A departure may say so.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 3 m², power-density: 150 W/m²}
//! # ^^ the electric mats of room hall and its loops take 15.0 m² of the 12.0 m² that are free
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, area: 9 m², pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! electric-mats:
//!   E1: {room: hall, area: 3 m², power-density: 150 W/m²}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::ElectricMat;
use engineering::plan::{Areas, length_in};
use std::collections::HashSet;
use workings::{MatWorkings, ValueOf};

pub static RULE: Rule = Rule {
    name: "electric-area-on-water-zone",
    group: Group::Electric,
    weights: [Warning; 4],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_area_on_water_zone.rs"),
    check,
    ..Rule::USUAL
};

/// Less than this is drawn, not meant.
const NOTHING: Length = Length::millimetres(50.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut summed = HashSet::new();
    for mat in inspection.electric_mats() {
        let Some(room) = mat.worked.room else { continue };
        let loops = &inspection.workings.rooms[room].loops;
        if loops.is_empty() {
            continue;
        }
        let drawn = loops.iter().all(|at| matches!(inspection.workings.loops[*at].route, Some(Ok(_))));
        if drawn && matches!(mat.worked.outline, Some(Ok(_))) {
            pipe_under(inspection, found, &mat, room);
        } else if summed.insert(room) {
            areas_together(inspection, found, mat.subject, room);
        }
    }
}

fn pipe_under(inspection: &Inspection, found: &mut Findings, mat: &Item<ElectricMat, MatWorkings>, room: usize) {
    let Some(Ok(outline)) = &mat.worked.outline else { return };
    let areas = Areas::new([outline]);
    for at in &inspection.workings.rooms[room].loops {
        let Some(Ok(route)) = &inspection.workings.loops[*at].route else { continue };
        if !route.bounds().touches(&outline.bounds()) {
            continue;
        }
        let length = length_in(&areas.pieces(route), Some(0));
        if length > NOTHING {
            let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
            let message = format!("{length} of loop {name} lie under electric mat {}", mat.name);
            let place = mat.given.outline.as_ref().map_or(mat.place, |outline| outline.at);
            let finding = Finding::new(mat.subject, place, message).value(length).source("common practice, no source");
            found.add(finding.related(entry.name_place, "the loop"));
        }
    }
}

fn areas_together(inspection: &Inspection, found: &mut Findings, subject: Subject, room: usize) {
    let Some((name, _)) = inspection.design.rooms.at(room) else { return };
    let worked = &inspection.workings.rooms[room];
    let mats = inspection.workings.electric_mats.iter().filter(|mat| mat.room == Some(room));
    let mats: Option<Area> = mats.map(|mat| mat.area.value().ok()).sum();
    let loops = worked.loops.iter().map(|at| {
        let of = &inspection.workings.loops[*at];
        Some(of.area_served.value().ok()? * of.share_in(room))
    });
    let (Some(mats), Some(loops)) = (mats, loops.sum::<Option<Area>>()) else {
        return found.missing(subject, "outline");
    };
    let Some(free) = found.need(Subject::Room(room), &worked.free_area) else { return };
    let taken = mats + loops;
    // A hundredth is what rounding adds to areas that are written down.
    if taken <= free.value * 1.01 {
        return;
    }
    let message =
        format!("the electric mats of room {name} and its loops take {taken} of the {} that are free", free.value);
    let finding = Finding::new(subject, subject.place(inspection.design), message).value(taken);
    found.add(finding.source("common practice, no source").figure(format!("rooms.{name}.free-area")));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn where_both_are_drawn_the_pipe_under_the_mat_counts() {
        let mat = |outline: &str| {
            let text = format!(
                "rooms: {{hall: {{floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}}}\nloops: {{L1: {{room: hall, pipe: PEX-16, \
                 spacing: 150 mm, route: [[0, 1], [3, 1], [3, 1.15], [0, 1.15]]}}}}\nelectric-mats: {{E1: {{room: hall, outline: {outline}}}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(mat("[[0, 2], [1, 2], [1, 3], [0, 3]]").is_empty());
        assert_eq!(mat("[[0, 0.5], [1, 0.5], [1, 1.5], [0, 1.5]]"), ["2.0 m of loop L1 lie under electric mat E1"]);
    }

    #[test]
    fn a_room_without_water_is_free() {
        assert!(messages(&RULE, "loops: {}\nelectric-mats: {E1: {room: hall, area: 3 m²}}\n").is_empty());
    }
}
