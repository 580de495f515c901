//! What stands on each storey.

use super::ground::same_storey;
use super::{storey_name, storey_of};
use design::{Design, Placed, Ref, Storey};
use std::collections::HashSet;

/// What stands on one storey, by position in the design. What names no storey stands on every one.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OnStorey<'d> {
    /// Nothing where the design tells no storeys apart.
    pub name: Option<&'d str>,
    pub rooms: Vec<usize>,
    pub walls: Vec<usize>,
    pub openings: Vec<usize>,
    pub movement_joints: Vec<usize>,
    pub uprights: Vec<usize>,
    pub floor_holes: Vec<usize>,
    pub manifolds: Vec<usize>,
    pub loops: Vec<usize>,
    pub electric_mats: Vec<usize>,
    pub moisture_points: Vec<usize>,
}

/// The storeys that rooms and loops are on, those of the block `storeys` first and in its order; one without a name if
/// nothing names one.
pub fn storeys(design: &Design) -> Vec<Option<&str>> {
    let of_rooms = design.rooms.values().map(|room| storey_name(&room.storey));
    let of_loops = design.loops.values().map(|given| storey_of(design, given));
    let used: Vec<&str> = of_rooms.chain(of_loops).flatten().collect();
    let mut left: HashSet<&str> = used.iter().copied().collect();
    let in_order = design.storeys.iter().map(|(name, _)| name).chain(used);
    let storeys: Vec<Option<&str>> = in_order.filter(|name| left.remove(name)).map(Some).collect();
    if storeys.is_empty() { vec![None] } else { storeys }
}

/// What stands on a storey.
pub fn on_storey<'d>(design: &'d Design, name: Option<&'d str>) -> OnStorey<'d> {
    let here = |of: &Option<Placed<Ref<Storey>>>| same_storey(name, storey_name(of));
    fn those<T>(all: impl Iterator<Item = T>, here: impl Fn(&T) -> bool) -> Vec<usize> {
        all.enumerate().filter(|(_, it)| here(it)).map(|(at, _)| at).collect()
    }
    let room = |of: Option<&Ref<design::Room>>| of.and_then(|room| design.rooms.get(&room.name));
    let wall = |of: Option<&Ref<design::Wall>>| of.and_then(|wall| design.walls.get(&wall.name));
    OnStorey {
        name,
        rooms: those(design.rooms.values(), |it| here(&it.storey)),
        walls: those(design.walls.values(), |it| here(&it.storey)),
        openings: those(design.openings.values(), |it| {
            wall(it.wall.as_ref().map(|wall| &wall.value)).is_some_and(|wall| here(&wall.storey))
        }),
        movement_joints: those(design.movement_joints.values(), |it| here(&it.storey)),
        uprights: those(design.uprights.values(), |it| here(&it.storey)),
        floor_holes: those(design.floor_holes.values(), |it| here(&it.storey)),
        manifolds: those(design.manifolds.values(), |it| here(&it.storey)),
        loops: those(design.loops.values(), |it| same_storey(name, storey_of(design, it))),
        electric_mats: those(design.electric_mats.values(), |it| {
            room(it.room.as_ref().map(|room| &room.value)).is_none_or(|room| here(&room.storey))
        }),
        moisture_points: those(design.records.moisture_points.values(), |it| {
            let of_room = || room(it.room.as_ref().map(|room| &room.value)).is_none_or(|room| here(&room.storey));
            if it.storey.is_some() { here(&it.storey) } else { of_room() }
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_names_no_storey_stands_on_every_one() {
        let text = "format: 1
storeys: {ground: {level: 0 m}, first: {level: 3 m}, loft: {level: 6 m}}
rooms: {landing: {storey: first}, hall: {storey: ground}, shaft: {area: 1 m²}}
walls: {W1: {storey: first}, W2: {thickness: 100 mm}}
openings: {D1: {wall: W1}, D2: {wall: W2}, D3: {wall: W9}}
manifolds: {M1: {storey: ground}}
loops: {L1: {room: landing}, L2: {manifold: M1}, L3: {spacing: 150 mm}, L4: {room: hall, storey: first}}
records: {moisture-points: {P1: {room: hall}, P2: {room: landing}, P3: {room: hall, storey: first}, P4: {}}}
";
        let design = design::read("a.ufh.yaml", text.as_bytes(), &|path| Err(path.to_string())).design;
        assert_eq!(storeys(&design), [Some("ground"), Some("first")]);
        let first = on_storey(&design, Some("first"));
        let wanted = OnStorey {
            name: Some("first"),
            rooms: vec![0, 2],
            walls: vec![0, 1],
            openings: vec![0, 1],
            loops: vec![0, 2, 3],
            moisture_points: vec![1, 2, 3],
            ..OnStorey::default()
        };
        assert_eq!(first, wanted);
        assert_eq!(on_storey(&design, Some("ground")).loops, [1, 2]);
        let plain = design::read("a.ufh.yaml", b"rooms: {hall: {}}", &|path| Err(path.to_string())).design;
        assert_eq!((storeys(&plain), on_storey(&plain, None).rooms), (vec![None], vec![0]));
    }
}
