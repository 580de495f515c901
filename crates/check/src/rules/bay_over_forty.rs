//! Movement joints cut heated screed into bays of about 40 m² at the most.
//!
//! Heated screed grows and shrinks more than any other. A bay that is too big cracks, and the tiles on it with it.
//!
//! ## How it is worked out
//! The outlines of the rooms of a storey whose floor is a screed are put together where they touch, and cut
//! along the movement joints, building joints and walls. A doorway is taken as cut: whether it has its joint is
//! asked by `no-joint-at-doorway`. A strip under 50 mm wide, where a joint is drawn beside a wall, is no bay.
//! A bay is heated where a loop of its rooms is drawn in it or not drawn at all. A crack inducer makes no bay.
//!
//! ## Limit
//! 40 m²: EN 1264-4, as a trade copy of its criteria gives it; a tile trade body says the same.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [9.5, 0], [9.5, 5], [0, 5]]}
//! #                                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ a bay of screed in hall has 47.5 m²; 40.0 m² is the most
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: none
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [9.5, 0], [9.5, 5], [0, 5]]}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! movement-joints: {J1: {line: [[4.75, 0], [4.75, 5]]}}
//! ```

use super::pipe_crosses_itself::written;
use super::prelude::*;
use super::sleeve_missing_at_wall::add_sleeves;
use crate::remedy::{Change, add_key};
use design::{Place, Point};
use workings::{BayWorkings, Gap};

pub static RULE: Rule = Rule {
    name: "bay-over-forty",
    group: Group::JointsAndSleeves,
    weights: [Hint, Warning, Error, Error],
    limits: &[MOST],
    file: include_str!("bay_over_forty.rs"),
    check,
    ..Rule::USUAL
};

pub(super) const MOST: Limit =
    Limit { name: "area-of-a-bay", value: "40 m²", source: "EN 1264-4, from a trade copy of its criteria" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most: LimitValue<Area> = MOST.get(&RULE, inspection);
    // A room without an outline that is no bigger than a bay may be passes anyhow.
    let small = |room: usize| inspection.workings.rooms[room].area.as_ref().is_ok_and(|area| area.value <= most.value);
    rooms_without_bays(inspection, found, |room| !small(room));
    for bay in heated_bays(inspection) {
        let area = bay.bay.area();
        if area <= most.value + Area::square_metres(1e-3) {
            continue;
        }
        let message = format!("a bay of screed in {} has {area}; {} is the most", names(inspection, bay), most.value);
        let parts = (area / most.value - 1e-6).ceil() as usize;
        found
            .add(told(inspection, bay, message).value(area).limit(&most).remedy(joints_across(inspection, bay, parts)));
    }
}

/// The bays that pipe heats.
pub(super) fn heated_bays<'i>(inspection: &Inspection<'i>) -> impl Iterator<Item = &'i BayWorkings> + use<'i> {
    // A joint that cannot be read may part them otherwise.
    let unread = inspection.design.movement_joints.values().any(|joint| joint.broken);
    inspection.workings.plan.bays.iter().filter(move |bay| bay.heated && !unread)
}

/// Says of the heated rooms on screed that were not cut into bays why they were not, where it matters.
pub(super) fn rooms_without_bays(inspection: &Inspection, found: &mut Findings, matters: impl Fn(usize) -> bool) {
    let workings = inspection.workings;
    for (at, room) in inspection.rooms().enumerate() {
        if room.worked.loops.is_empty() || !matters(at) {
            continue;
        }
        match workings.has_screed(inspection.design, at) {
            None if !room.given.broken && room.given.floor.is_none() => found.missing(room.subject, "floor"),
            Some(true) if room.given.outline.is_none() && !room.given.broken => found.missing(room.subject, "outline"),
            _ => {}
        }
    }
    for room in workings.plan.uncut.iter().filter(|room| matters(**room)) {
        let gap = Gap::NoMethod("the floor has too many edges and joints to be cut into bays".into());
        found.not_checked(Subject::Room(*room), &gap);
    }
}

/// A finding about a bay, at the outline of its first room, with the others beside it.
pub(super) fn told(inspection: &Inspection, bay: &BayWorkings, message: String) -> Finding {
    let design = inspection.design;
    let place = |room: usize| {
        let room = design.rooms.at(room).map(|(_, room)| room);
        room.map_or(Place::default(), |room| room.value.outline.as_ref().map_or(room.name_place, |outline| outline.at))
    };
    let mut rooms = bay.rooms.iter().copied();
    let first = rooms.next().unwrap_or_default();
    let mut finding = Finding::new(Subject::Room(first), place(first), message);
    let in_parts = inspection.workings.plan.bays.iter().filter(|other| other.rooms.contains(&first)).count() > 1;
    if in_parts {
        let low = bay.bay.outline.bounds().low;
        finding =
            finding.related(place(first), format!("the bay whose lower left corner is [{:.2}, {:.2}]", low.x, low.y));
    }
    rooms.fold(finding, |finding, room| finding.related(place(room), "the bay goes on here"))
}

/// The rooms of a bay by name.
pub(super) fn names(inspection: &Inspection, bay: &BayWorkings) -> String {
    let names: Vec<&str> =
        bay.rooms.iter().filter_map(|room| inspection.design.rooms.at(*room)).map(|(name, _)| name).collect();
    match &names[..] {
        [names @ .., last] if !names.is_empty() => format!("{} and {last}", names.join(", ")),
        _ => names.join(""),
    }
}

/// Joints that cut a bay of four corners across its long side into so many parts.
pub(super) fn joints_across(inspection: &Inspection, bay: &BayWorkings, parts: usize) -> Option<Remedy> {
    let [a, b, c, d] = bay.bay.outline.corners() else { return None };
    if !bay.bay.holes.is_empty() || !(2..=10).contains(&parts) {
        return None;
    }
    let long = a.distance(*b) + c.distance(*d) >= b.distance(*c) + d.distance(*a);
    let (one, other) = if long { ((a, b), (d, c)) } else { ((b, c), (a, d)) };
    let at = |(from, to): (&engineering::plan::Point, &engineering::plan::Point), share: f64| Point {
        x: from.x + (to.x - from.x) * share,
        y: from.y + (to.y - from.y) * share,
    };
    let across = (1..parts).map(|part| part as f64 / parts as f64).map(|share| [at(one, share), at(other, share)]);
    let title = if parts == 2 { "add a joint across the middle" } else { "add joints across it" };
    with_joints(inspection, title, &bay.rooms, &across.collect::<Vec<_>>())
}

/// A remedy that adds joints to the floor of some rooms. Where one loop alone heats it and is laid out by rule, it will have to
/// cross them, and is given its sleeves.
pub(super) fn with_joints(
    inspection: &Inspection,
    title: &str,
    rooms: &[usize],
    joints: &[[Point; 2]],
) -> Option<Remedy> {
    let joint = add_joints(inspection, rooms.first().copied(), joints)?;
    let only = match rooms {
        [room] => match inspection.workings.rooms[*room].loops[..] {
            [only] => inspection.loop_at(only).filter(|it| it.worked.laid.is_some()),
            _ => None,
        },
        _ => None,
    };
    let names: Vec<String> = free_names(inspection).take(joints.len()).collect();
    let Some(sleeves) = only.as_ref().and_then(|it| add_sleeves(inspection, it.given, &names)) else {
        return Remedy::of(title, [joint]);
    };
    let sleeve = if names.len() == 1 { "a sleeve" } else { "sleeves" };
    Remedy::of(format!("{title}, with {sleeve} for {}", only.map_or("", |it| it.name)), [joint, sleeves])
}

/// The names that the next joints get.
pub(super) fn free_names(inspection: &Inspection) -> impl Iterator<Item = String> {
    let design = inspection.design;
    let taken = |name: &str| {
        design.movement_joints.get(name).is_some()
            || design.walls.get(name).is_some()
            || design.openings.get(name).is_some()
    };
    (1..).map(|number| format!("J{number}")).filter(move |name| !taken(name))
}

/// The change that adds movement joints on the storey of a room.
pub(super) fn add_joints(inspection: &Inspection, room: Option<usize>, joints: &[[Point; 2]]) -> Option<Change> {
    let design = inspection.design;
    let storey = room.and_then(|room| design.rooms.at(room)?.1.value.storey.as_ref());
    let storey = storey.map_or(String::new(), |storey| format!(", storey: {}", crate::remedy::written(&storey.name)));
    let entries: Vec<String> = free_names(inspection)
        .zip(joints)
        .map(|(name, [from, to])| format!("{name}: {{line: [{}, {}]{storey}}}", written(*from), written(*to)))
        .collect();
    let Some(place) = design.movement_joints.place else {
        return add_key(inspection, design.place, &format!("movement-joints: {{{}}}", entries.join(", ")));
    };
    match inspection.text(place) {
        "none" => Some(Change { place, text: format!("{{{}}}", entries.join(", ")) }),
        text if text.starts_with('{') => add_key(inspection, place, &entries.join(", ")),
        _ => add_key(inspection, place, &entries.join("\n")),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const LOOP: &str = "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}\n";

    fn says(wide: f64, more: &str) -> usize {
        let outline =
            format!("rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [{wide}, 0], [{wide}, 5], [0, 5]]}}\n");
        messages(&RULE, &format!("{outline}{LOOP}{more}")).len()
    }

    /// Worked example of the rules' catalogue: 6.2 m by 4.4 m is 27.3 m², 9.5 m by 5.0 m is 47.5 m², and a joint
    /// at 4.75 m gives two of 23.8 m².
    #[test]
    fn forty_square_metres() {
        assert_eq!((says(8.0, ""), says(8.01, "")), (0, 1));
        assert_eq!(says(9.5, ""), 1);
        let joint = |kind: &str| format!("movement-joints: {{J1: {{line: [[4.75, 0], [4.75, 5]], kind: {kind}}}}}\n");
        assert_eq!(says(9.5, &joint("movement joint")), 0);
        assert_eq!(says(9.5, &joint("building joint")), 0);
        assert_eq!(says(9.5, &joint("crack inducer")), 1);
        // One that stops a metre short cuts nothing.
        assert_eq!(says(9.5, "movement-joints: {J1: {line: [[4.75, 0], [4.75, 4]]}}\n"), 1);
        // Up to the edge strip of 10 mm it does.
        assert_eq!(says(9.5, "movement-joints: {J1: {line: [[4.75, 0.01], [4.75, 4.99]]}}\n"), 0);
        assert_eq!(says(9.5, "walls: {W1: {line: [[4.75, 0], [4.75, 5]]}}\n"), 0);
        // A joint along the wall leaves a strip that is no bay, neither too slender nor anything else.
        let beside = "movement-joints: {J1: {line: [[0.02, 0], [0.02, 5]]}}\n";
        let text =
            format!("rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [7, 0], [7, 5], [0, 5]]}}\n{LOOP}{beside}");
        assert_eq!(messages(&crate::rules::bay_too_slender::RULE, &text), [""; 0]);
    }

    #[test]
    fn rooms_that_touch_are_one_floor_and_storeys_are_not() {
        let two = |storey: &str| {
            format!(
                "storeys: {{ground: {{}}, first: {{}}}}\nrooms:\n  hall: {{storey: ground, floor: screeded, outline: [[0, 0], [6, 0], [6, 4], \
                 [0, 4]]}}\n  study: {{storey: {storey}, floor: screeded, outline: [[6, 0], [12, 0], [12, 4], [6, 4]]}}\n{LOOP}"
            )
        };
        assert_eq!(
            messages(&RULE, &two("ground")),
            ["a bay of screed in hall and study has 48.0 m²; 40.0 m² is the most"]
        );
        assert_eq!(messages(&RULE, &two("first")), [""; 0]);
    }

    #[test]
    fn only_heated_screed_wants_joints() {
        let boards = "floors:\n  boards: {method: floating-board, below: heated room, layers: [{material: plywood, thickness: 22 mm, pipe: at top}]}\n";
        let text = |floor: &str, of_loop: &str| {
            format!(
                "{boards}rooms:\n  hall: {{floor: {floor}, outline: [[0, 0], [9.5, 0], [9.5, 5], [0, 5]]}}\n  study: {{area: 9 m²}}\nloops:\n  \
                 L1: {{room: {of_loop}, spacing: 150 mm}}\n"
            )
        };
        assert_eq!(messages(&RULE, &text("boards", "hall")), [""; 0]);
        let screed = "screeded: {method: clipped-in-screed, below: ground, layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]}";
        let screed =
            |of_loop: &str| text("screeded", of_loop).replacen("floors:\n", &format!("floors:\n  {screed}\n"), 1);
        assert_eq!(messages(&RULE, &screed("hall")).len(), 1);
        assert_eq!(messages(&RULE, &screed("study")), [""; 0]);
    }

    #[test]
    fn a_room_without_an_outline_is_not_checked_unless_it_is_small() {
        let text = |area: &str| format!("rooms:\n  hall: {{floor: screeded, area: {area}}}\n{LOOP}");
        assert_eq!(not_checked(&RULE, &text("41 m²")), ["rooms/hall/outline"]);
        assert_eq!(not_checked(&RULE, &text("40 m²")), [""; 0]);
        assert_eq!(not_checked(&RULE, &format!("rooms:\n  hall: {{area: 60 m²}}\n{LOOP}")), ["rooms/hall/floor"]);
    }
}
