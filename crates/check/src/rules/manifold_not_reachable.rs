//! One can get at a manifold and work there.
//!
//! It has to be set, bled, flushed and mended for as long as the house stands. Behind a kitchen unit it is not.
//!
//! ## How it is worked out
//! The clear depth in front of it; and whether it stands within a keep-clear area of a room on its storey.
//!
//! ## Limit
//! 600 mm clear in front, and not within a keep-clear area: common practice, no source.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, clearance: 450 mm, pump: {head: 30 kPa}}
//! #                           ^^^^^^ 450 mm are clear in front of manifold M1; work there takes 600 mm
//! ```
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, at: [0.3, 0.3], clearance: 700 mm, pump: {head: 30 kPa}}
//! #                    ^^^^^^^^^^ manifold M1 stands within units of room hall; nobody can work there
//! rooms:
//!   hall: {use: kitchen, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3.6], [0, 3.6]], keep-clear: {units: [[0, 0], [2.4, 0], [2.4, 0.6], [0, 0.6]]}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, clearance: 600 mm, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use engineering::plan::Point;

pub static RULE: Rule = Rule {
    name: "manifold-not-reachable",
    group: Group::Manifold,
    weights: [Hint, Information, Warning, Warning],
    limits: &[LEAST],
    file: include_str!("manifold_not_reachable.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-in-front", value: "600 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Length>(&RULE, inspection);
    let with_areas: Vec<_> = inspection.rooms().filter(|room| !room.worked.keep_clear.is_empty()).collect();
    for it in inspection.manifolds() {
        if let Some(at) = it.given.at {
            let here = Point::new(at.value.x, at.value.y);
            let storey = it.given.storey.as_ref().map(|storey| &storey.value.name);
            for room in &with_areas {
                let other = room.given.storey.as_ref().map(|storey| &storey.value.name);
                if storey.zip(other).is_some_and(|(one, other)| one != other) {
                    continue;
                }
                let Some((within, _)) = room.worked.keep_clear.iter().find(|(_, outline)| outline.contains(here))
                else {
                    continue;
                };
                let Some((name, entry)) = room.given.keep_clear.at(*within) else { continue };
                let message =
                    format!("manifold {} stands within {name} of room {}; nobody can work there", it.name, room.name);
                found.add(
                    Finding::new(it.subject, at.at, message)
                        .source(least.source)
                        .related(entry.name_place, "the keep-clear area"),
                );
            }
        }
        let Some(clearance) = it.given.clearance else {
            if !it.given.broken {
                found.missing(it.subject, "clearance");
            }
            continue;
        };
        if clearance.value < least.value {
            let message = format!(
                "{} are clear in front of manifold {}; work there takes {}",
                clearance.value, it.name, least.value
            );
            found.add(Finding::new(it.subject, clearance.at, message).value(clearance.value).limit(&least));
        }
    }
}
