//! Which rooms and loops answer to which thermostat, and which can never shut.

use crate::inspection::Inspection;
use crate::remedy::{Change, add_key, written};
use design::Zone;
use engineering::heat::materials;
use quantity::*;
use workings::{Gap, RoomWorkings, Subject};

/// Which loops answer to which zone.
pub(crate) struct Zones {
    /// The loops of each zone: those that it names, or those that heat its rooms.
    loops: Vec<Vec<usize>>,
    /// The zones of each loop.
    of_loops: Vec<Vec<usize>>,
}

fn zones<'i>(inspection: &'i Inspection) -> &'i Zones {
    inspection.zones.get_or_init(|| {
        let design = inspection.design;
        let loops: Vec<Vec<usize>> =
            design.controls.zones.values().map(|zone| loops_of_zone(inspection, zone)).collect();
        let mut of_loops = vec![Vec::new(); design.loops.len()];
        for (zone, loops) in loops.iter().enumerate() {
            loops.iter().for_each(|at| of_loops[*at].push(zone));
        }
        Zones { loops, of_loops }
    })
}

/// The loops of each zone.
pub(crate) fn loops_of_zones<'i>(inspection: &'i Inspection) -> &'i [Vec<usize>] {
    &zones(inspection).loops
}

/// The zones that a loop answers to.
pub(crate) fn zones_of_loop<'i>(inspection: &'i Inspection, at: usize) -> &'i [usize] {
    &zones(inspection).of_loops[at]
}

fn loops_of_zone(inspection: &Inspection, zone: &Zone) -> Vec<usize> {
    let design = inspection.design;
    let mut loops: Vec<usize> = if zone.loops.is_empty() {
        let rooms = zone.rooms.iter().filter_map(|room| design.rooms.position(&room.value.name));
        rooms.flat_map(|room| inspection.workings.rooms[room].loops.iter().copied()).collect()
    } else {
        zone.loops.iter().filter_map(|it| design.loops.position(&it.value.name)).collect()
    };
    loops.sort_unstable();
    loops.dedup();
    loops
}

/// Whether each loop can be shut: it answers to a zone, and to none that is always open.
pub(crate) fn loops_that_shut(inspection: &Inspection) -> Vec<bool> {
    let mut shuts = vec![None; inspection.design.loops.len()];
    for (zone, loops) in inspection.design.controls.zones.values().zip(loops_of_zones(inspection)) {
        let open = zone.always_open.is_some_and(|it| it.value);
        for at in loops {
            shuts[*at] = Some(!open && shuts[*at] != Some(false));
        }
    }
    shuts.into_iter().map(|it| it.unwrap_or(false)).collect()
}

/// Whether thermostats can shut every loop, so that no water can flow.
pub(crate) fn all_can_shut(inspection: &Inspection) -> bool {
    let by_pass = inspection.design.controls.by_pass.is_some_and(|it| it.value > VolumeFlow::ZERO);
    let shuts = loops_that_shut(inspection);
    !by_pass && !shuts.is_empty() && shuts.into_iter().all(|shuts| shuts)
}

/// The flow that the source sees of each loop: all of it, or the hot share where its manifold blends.
pub(crate) fn primary_flow(inspection: &Inspection, at: usize) -> Result<VolumeFlow, (Subject, Gap)> {
    let it = &inspection.workings.loops[at];
    let flow = it.volume_flow.as_ref().map_err(|gap| (Subject::Loop(at), gap.clone()))?.value;
    let Some(manifold) = it.manifold else { return Ok(flow) };
    let worked = &inspection.workings.manifolds[manifold];
    let missing = |gap: &Gap| (Subject::Manifold(manifold), gap.clone());
    let primary = worked.primary_flow.as_ref().map_err(missing)?.value;
    let all = worked.flow.as_ref().map_err(missing)?.value;
    Ok(if all > MassFlow::ZERO { flow * (primary / all) } else { flow })
}

/// The zone that each room answers to: the first that names it, or one of its loops.
pub(crate) fn zone_of_rooms(inspection: &Inspection) -> Vec<Option<usize>> {
    let design = inspection.design;
    let mut zones = vec![None; design.rooms.len()];
    let mut claim = |room: usize, zone: usize| {
        if let Some(claimed @ None) = zones.get_mut(room) {
            *claimed = Some(zone);
        }
    };
    for (at, zone) in design.controls.zones.values().enumerate() {
        for room in zone.rooms.iter().filter_map(|room| design.rooms.position(&room.value.name)) {
            claim(room, at);
        }
        for it in zone.loops.iter().filter_map(|it| design.loops.position(&it.value.name)) {
            for room in &inspection.workings.loops[it].rooms {
                claim(*room, at);
            }
        }
    }
    zones
}

/// A zone of its own for a room, with a thermostat that feels the air; nothing where a zone of that name is there.
pub(crate) fn zone_of_its_own(inspection: &Inspection, room: &str, loops: usize, always_open: bool) -> Option<Change> {
    let zones = &inspection.design.controls.zones;
    if zones.get(room).is_some() {
        return None;
    }
    let name = written(room);
    let open = if always_open { ", always-open: true" } else { "" };
    let entry = format!("{name}: {{rooms: [{name}], {THERMOSTAT}, actuators: {loops}{open}}}");
    add_key(inspection, zones.place?, &entry)
}

/// A thermostat as it is usual.
pub(crate) const THERMOSTAT: &str = "thermostat: {feels: air}";

/// The material on top of a room's floor.
pub(crate) fn top_of_floor(inspection: &Inspection, room: &RoomWorkings) -> Option<materials::Kind> {
    let floor = room.floor.and_then(|floor| inspection.workings.floors.get(floor));
    let top = room.covering.first().or(floor.and_then(|floor| floor.layers.first()));
    Some(top?.material?.kind)
}
