//! A thermostat hangs where the air of the room is as people feel it.
//!
//! On an outside wall it feels the wall, at the ceiling the warmth under it, at the skirting the draught; and it heats the room
//! by that.
//!
//! ## How it is worked out
//! Its height, whether the design puts it on an outside wall, and whether its place in plan is at a wall that is one.
//!
//! ## Limit
//! 1.2 m to 1.5 m up, on an inside wall: common practice, no source. Where rules on access ask for switches lower down, they
//! come first: record a departure.
//!
//! ## Exceptions
//! A thermostat that feels the floor alone.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.9 m}}
//! #                                                          ^^^^^ the thermostat of zone hall hangs 1.9 m up; 1.2 m to 1.5 m is where people feel the air
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.3 m, on-outside-wall: true}}
//! #                                                                                    ^^^^ the thermostat of zone study hangs on an outside wall
//! ```
//! ```yaml passes
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.2 m}}
//!     study: {rooms: [study], thermostat: {feels: air, height: 1.5 m, on-outside-wall: false}}
//! ```

use super::prelude::*;
use design::{Feels, Placed, Thermostat, WallKind};
use engineering::plan::{Line, Lines, Point};

pub static RULE: Rule = Rule {
    name: "thermostat-badly-placed",
    group: Group::Controls,
    weights: [Silent, Information, Information, Information],
    limits: &[LOWEST, HIGHEST],
    file: include_str!("thermostat_badly_placed.rs"),
    check,
    ..Rule::USUAL
};

const PRACTICE: &str = "common practice, no source";
const LOWEST: Limit = Limit { name: "lowest", value: "1.2 m", source: PRACTICE };
const HIGHEST: Limit = Limit { name: "highest", value: "1.5 m", source: PRACTICE };

/// How near a wall's face counts as hanging on it.
const ON_IT: Length = Length::millimetres(100.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    for (at, (name, entry)) in inspection.design.controls.zones.iter().enumerate() {
        let Some(thermostat) = &entry.value.thermostat else { continue };
        if thermostat.feels.is_some_and(|feels| feels.value == Feels::Floor) {
            continue;
        }
        let subject = Subject::Zone(at);
        if let Some((place, wall)) = on_outside_wall(inspection, thermostat) {
            let message = format!("the thermostat of zone {name} hangs on an outside wall");
            let mut finding = Finding::new(subject, place, message).source(PRACTICE);
            if let Some(wall) = wall {
                finding = finding.related(Subject::Wall(wall).place(inspection.design), "the outside wall");
            }
            found.add(finding);
        }
        let Some(height) = thermostat.height else {
            if !thermostat.broken {
                found.missing(subject, "thermostat/height");
            }
            continue;
        };
        let (lowest, highest) = (LOWEST.get::<Length>(&RULE, inspection), HIGHEST.get::<Length>(&RULE, inspection));
        if height.value >= lowest.value && height.value <= highest.value {
            continue;
        }
        let message = format!(
            "the thermostat of zone {name} hangs {} up; {} to {} is where people feel the air",
            height.value, lowest.value, highest.value
        );
        let limit = if height.value < lowest.value { lowest } else { highest };
        found.add(Finding::new(subject, height.at, message).value(height.value).limit(&limit));
    }
}

/// Where it says so, or its place in plan and the wall that it is at.
fn on_outside_wall(inspection: &Inspection, it: &Placed<Thermostat>) -> Option<(design::Place, Option<usize>)> {
    if let Some(stated) = it.on_outside_wall {
        return stated.value.then_some((stated.at, None));
    }
    let at = it.value.at?;
    let here = Point::new(at.value.x, at.value.y);
    let outside = |(_, wall): &(usize, &design::Wall)| wall.kind.is_some_and(|kind| kind.value == WallKind::Outside);
    let (wall, _) = inspection.design.walls.values().enumerate().filter(outside).find(|(_, wall)| {
        let Some(line) = wall.line else { return false };
        let (from, to) = (line.value.from, line.value.to);
        let ends = [Point::new(from.x, from.y), Point::new(to.x, to.y)];
        let half = wall.thickness.map_or(Length::ZERO, |it| it.value / 2.0);
        Lines::new([Line::Open(&ends)]).nearest(0, here).is_some_and(|nearest| nearest.distance <= half + ON_IT)
    })?;
    Some((at.at, Some(wall)))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn its_place_in_plan_tells_the_wall() {
        let text = "walls:\n  north: {line: [[0, 0], [4, 0]], thickness: 300 mm, kind: outside}\n\
                    controls:\n  zones:\n    hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m, at: [2, Y]}}\n";
        assert_eq!(
            messages(&RULE, &text.replace('Y', "0.2")),
            ["the thermostat of zone hall hangs on an outside wall"]
        );
        assert_eq!(messages(&RULE, &text.replace('Y', "0.3")), [""; 0]);
    }
}
