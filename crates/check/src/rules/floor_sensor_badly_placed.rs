//! A sensor in the floor lies between two runs, in a tube, and where the floor is like everywhere else.
//!
//! On a pipe it feels the water and shuts too soon; under a unit or in a joint it feels neither floor nor room. Without a tube
//! it dies with the screed around it.
//!
//! ## How it is worked out
//! From its place in plan: the distance to the nearest drawn run of the loops of its zone, to movement joints, to the walls of
//! its room and to keep-clear areas.
//!
//! ## Limit
//! At least a quarter of the spacing from a run, 0.3 m in from the wall, 50 mm from a joint, not within a keep-clear area, in a
//! tube: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air and floor}, floor-sensor: {limit: 29 °C, at: [0.1, 1.5], in-tube: true}}
//! #                                                                                              ^^^^^^^^^^ the floor sensor of zone hall is 100 mm in from the wall of room hall, less than 300 mm
//!     study: {rooms: [study], thermostat: {feels: air and floor}, floor-sensor: {limit: 29 °C, in-tube: false}}
//! #                                                                                                     ^^^^^ the floor sensor of zone study lies in no tube and cannot be drawn
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air and floor}, floor-sensor: {limit: 29 °C, at: [0.4, 1.5], in-tube: true}}
//! ```

use super::prelude::*;
use crate::zones::{loops_of_zones, zone_of_rooms};
use engineering::plan::{Line, Lines, Point};

pub static RULE: Rule = Rule {
    name: "floor-sensor-badly-placed",
    group: Group::Controls,
    weights: [Silent, Information, Information, Information],
    limits: &[FROM_WALL, FROM_JOINT, FROM_RUN],
    file: include_str!("floor_sensor_badly_placed.rs"),
    check,
    ..Rule::USUAL
};

const PRACTICE: &str = "common practice, no source";
const FROM_WALL: Limit = Limit { name: "in-from-the-wall", value: "0.3 m", source: PRACTICE };
const FROM_JOINT: Limit = Limit { name: "from-a-joint", value: "50 mm", source: PRACTICE };
const FROM_RUN: Limit = Limit { name: "from-a-run-over-spacing", value: "25 %", source: PRACTICE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let of_rooms = zone_of_rooms(inspection);
    let zones = inspection.design.controls.zones.iter().zip(loops_of_zones(inspection)).enumerate();
    for (at, ((name, entry), loops)) in zones {
        let Some(sensor) = &entry.value.floor_sensor else { continue };
        let subject = Subject::Zone(at);
        let mut wrong = Vec::new();
        let mut place = sensor.at;
        match sensor.in_tube {
            Some(tube) if !tube.value => {
                wrong.push("lies in no tube and cannot be drawn".to_string());
                place = tube.at;
            }
            None if !sensor.broken => found.missing(subject, "floor-sensor/in-tube"),
            _ => {}
        }
        match sensor.value.at {
            Some(here) => {
                let point = Point::new(here.value.x, here.value.y);
                let rooms: Vec<usize> = (0..of_rooms.len()).filter(|room| of_rooms[*room] == Some(at)).collect();
                let of_place = [near_runs(inspection, point, loops), in_room(inspection, point, &rooms)].concat();
                if !of_place.is_empty() {
                    place = here.at;
                }
                wrong.extend(of_place);
            }
            None if !sensor.broken => found.missing(subject, "floor-sensor/at"),
            None => {}
        }
        if wrong.is_empty() {
            continue;
        }
        let message = format!("the floor sensor of zone {name} {}", wrong.join(", and it "));
        found.add(Finding::new(subject, place, message).source(PRACTICE));
    }
}

/// What runs come too near, each as the end of a sentence.
fn near_runs(inspection: &Inspection, here: Point, loops: &[usize]) -> Vec<String> {
    let mut wrong = Vec::new();
    for at in loops {
        let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
        let (Some(Ok(route)), Some(spacing)) = (&inspection.workings.loops[*at].route, entry.value.spacing) else {
            continue;
        };
        let least = spacing.value * FROM_RUN.get::<Share>(&RULE, inspection).value.in_fraction();
        if let Some(nearest) = Lines::new([Line::Open(route.points())]).nearest(0, here)
            && nearest.distance < least
        {
            wrong.push(format!("is {} from a run of loop {name}, nearer than {least}", nearest.distance));
        }
    }
    wrong
}

/// Walls and joints that are too near, and keep-clear areas above, each as the end of a sentence.
fn in_room(inspection: &Inspection, here: Point, rooms: &[usize]) -> Vec<String> {
    let mut wrong = Vec::new();
    for room in rooms {
        let (Some((name, entry)), worked) = (inspection.design.rooms.at(*room), &inspection.workings.rooms[*room])
        else {
            continue;
        };
        let Some(Ok(outline)) = worked.outline.as_ref().filter(|it| it.as_ref().is_ok_and(|it| it.contains(here)))
        else {
            continue;
        };
        let (from_wall, least) =
            (outline.nearest_edge(here).distance, FROM_WALL.get::<Length>(&RULE, inspection).value);
        if from_wall < least {
            wrong.push(format!("is {from_wall} in from the wall of room {name}, less than {least}"));
        }
        if let Some((area, _)) = worked.keep_clear.iter().find(|(_, area)| area.contains(here)) {
            let area = entry.value.keep_clear.at(*area).map_or("a keep-clear area", |(name, _)| name);
            wrong.push(format!("lies under {area}"));
        }
        let storey = entry.value.storey.as_ref().map(|it| &it.value.name);
        for (joint, entry) in inspection.design.movement_joints.iter() {
            let Some(line) = entry.value.line else { continue };
            let other = entry.value.storey.as_ref().map(|it| &it.value.name);
            if storey.zip(other).is_some_and(|(one, other)| one != other) {
                continue;
            }
            let (from, to) = (line.value.from, line.value.to);
            let ends = [Point::new(from.x, from.y), Point::new(to.x, to.y)];
            let least = FROM_JOINT.get::<Length>(&RULE, inspection).value;
            if let Some(nearest) = Lines::new([Line::Open(&ends)]).nearest(0, here)
                && nearest.distance < least
            {
                wrong.push(format!("is {} from joint {joint}, nearer than {least}", nearest.distance));
            }
        }
    }
    wrong
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn sensor(at: &str) -> String {
        format!(
            "rooms:\n  hall: {{temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\n\
             loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 200 mm, route: [[1, -1], [1, 2], [1.2, 2], [1.2, -1]]}}\n\
             movement-joints:\n  J1: {{line: [[2, 0], [2, 3]]}}\n\
             controls:\n  zones:\n    hall: {{rooms: [hall], thermostat: {{feels: floor}}, floor-sensor: {{in-tube: true{at}}}}}\n"
        )
    }

    #[test]
    fn midway_between_runs_is_right() {
        assert_eq!(messages(&RULE, &sensor(", at: [1.1, 1.0]")), [""; 0]);
        let found = messages(&RULE, &sensor(", at: [1.04, 1.0]"));
        assert_eq!(found, ["the floor sensor of zone hall is 40 mm from a run of loop L1, nearer than 50 mm"]);
    }

    #[test]
    fn a_joint_is_no_place_for_it() {
        let found = messages(&RULE, &sensor(", at: [2.03, 1.0]"));
        assert_eq!(found, ["the floor sensor of zone hall is 30 mm from joint J1, nearer than 50 mm"]);
    }

    #[test]
    fn its_place_is_asked_for() {
        assert_eq!(not_checked(&RULE, &sensor("")), ["controls/zones/hall/floor-sensor/at"]);
    }
}
