//! A manifold stands above its loops, or has vents.
//!
//! Air rises. Where the loops are the highest place it gathers in the floor, and no vent at the manifold reaches it unless
//! the water drives it there.
//!
//! ## How it is worked out
//! The level of the manifold's storey and its height over that floor, against the level of the floors that its loops lie in.
//!
//! ## Limit
//! Above its loops, or with vents on both bars: common practice, no source.
//!
//! ```yaml fails
//! storeys: {cellar: {level: -2.4 m}, ground: {level: 0 m}}
//! manifolds:
//!   M1: {ports: 4, storey: cellar, height: 1.2 m, air-vents: false, pump: {head: 30 kPa}}
//! #                                                          ^^^^^ manifold M1 is 1.2 m below loop L1 and has no vents; air gathers in the floor
//! loops:
//!   L1: {manifold: M1, port: 1, storey: ground, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```
//! ```yaml remedied
//! storeys: {cellar: {level: -2.4 m}, ground: {level: 0 m}}
//! manifolds:
//!   M1: {ports: 4, storey: cellar, height: 1.2 m, air-vents: true, pump: {head: 30 kPa}}
//! loops:
//!   L1: {manifold: M1, port: 1, storey: ground, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, height: 0.6 m, air-vents: false, pump: {head: 30 kPa}}
//! ```

use super::prelude::*;
use workings::storey_of;

pub static RULE: Rule = Rule {
    name: "manifold-below-loops",
    group: Group::Manifold,
    weights: [Hint, Information, Warning, Warning],
    file: include_str!("manifold_below_loops.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let level = |storey: Option<&str>| {
        storey.map(|name| design.storeys.get(name).and_then(|storey| storey.level)).map(|it| it.map(|it| it.value))
    };
    for it in inspection.manifolds() {
        if it.worked.loops.is_empty() || it.given.air_vents.is_some_and(|vents| vents.value) {
            continue;
        }
        let Some(height) = it.given.height else {
            if !it.given.broken {
                found.missing(it.subject, "height");
            }
            continue;
        };
        let own = it.given.storey.as_ref().map(|storey| storey.value.name.as_str());
        let mut lowest: Option<(Length, usize)> = None;
        let mut unknown = false;
        for at in &it.worked.loops {
            let Some((_, entry)) = design.loops.at(*at) else { continue };
            let of_loop = storey_of(design, &entry.value);
            let above = match (of_loop == own || of_loop.is_none() || own.is_none(), level(own), level(of_loop)) {
                (true, ..) => height.value,
                (false, Some(Some(own)), Some(Some(loops))) => own + height.value - loops,
                _ => {
                    unknown = true;
                    continue;
                }
            };
            if lowest.is_none_or(|(lowest, _)| above < lowest) {
                lowest = Some((above, *at));
            }
        }
        if unknown {
            found.missing(Subject::Design, "storeys/…/level");
        }
        let Some((above, at)) = lowest.filter(|(above, _)| *above < Length::ZERO) else { continue };
        let Some(vents) = it.given.air_vents else {
            found.missing(it.subject, "air-vents");
            continue;
        };
        let name = design.loops.at(at).map_or("?", |(name, _)| name);
        let message =
            format!("manifold {} is {} below loop {name} and has no vents; air gathers in the floor", it.name, -above);
        found.add(
            Finding::new(it.subject, vents.at, message)
                .value(-above)
                .source("common practice, no source")
                .related(Subject::Loop(at).place(design), "a loop above the manifold")
                .remedy(Remedy::new("put vents on both bars", vents.at, "true")),
        );
    }
}
