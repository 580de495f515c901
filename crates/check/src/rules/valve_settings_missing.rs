//! Every port has a flow to be set to.
//!
//! Without one the loops are set by ear on the last day, and the house is balanced by complaints for years.
//!
//! ## How it is worked out
//! A flow that is stated counts, and so does one that can be worked out from the heat needed: it stands in the schedule. A
//! loop that has neither has nothing to be set to.
//!
//! ## Limit
//! A flow for every loop: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, height: 2.4 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ manifold M1 has no flow to set for 1 of its 2 loops: L2
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, floor: screeded, area: 11 m², height: 2.4 m}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, flow: 1.8 l/min}
//! ```

use super::prelude::*;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "valve-settings-missing",
    group: Group::Hydraulics,
    weights: [Silent, Information, Error, Error],
    follows: &["heat-loss-missing", "design-temperature-missing"],
    file: include_str!("valve_settings_missing.rs"),
    check,
    ..Rule::USUAL
};

/// How many loops a message names.
const NAMED: usize = 4;

fn check(inspection: &Inspection, found: &mut Findings) {
    // A glycol that cannot be counted with is said once, where it stands.
    let water = workings::fluid(inspection.design).and_then(|it| Ok(it.at(Temperature::celsius(35.0))?));
    if water.is_err() {
        return;
    }
    let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    for it in inspection.manifolds() {
        let without: Vec<(usize, &Gap)> = it
            .worked
            .loops
            .iter()
            .filter_map(|at| Some((*at, inspection.workings.loops[*at].flow.as_ref().err()?)))
            .filter(|(at, gap)| !gap.is_unreadable(inspection.design) && is_read(inspection, *at))
            .collect();
        if without.is_empty() {
            continue;
        }
        let named: Vec<&str> = without.iter().take(NAMED).map(|(at, _)| name(*at)).collect();
        let more = if without.len() > NAMED { " and others" } else { "" };
        let message = format!(
            "manifold {} has no flow to set for {} of its {} loops: {}{more}",
            it.name,
            without.len(),
            it.worked.loops.len(),
            named.join(", ")
        );
        let mut finding = Finding::new(it.subject, it.place, message).source("common practice, no source");
        for (at, gap) in &without {
            let place = Subject::Loop(*at).place(inspection.design);
            let wants = gap.wants(inspection.design);
            finding =
                finding.related(place, format!("no flow is stated, and it cannot be worked out without: {wants}"));
        }
        found.add(finding.value(Number::new(without.len() as f64)));
    }
    for it in
        inspection.loops().filter(|it| it.worked.manifold.is_none() && !it.given.broken && it.given.manifold.is_none())
    {
        found.missing(it.subject, "manifold");
    }
}

/// Whether all that a loop is laid in could be read: another method may fail where a value is missing only for that.
fn is_read(inspection: &Inspection, at: usize) -> bool {
    let rooms = inspection.workings.loops[at].rooms.iter();
    let floors = rooms.clone().filter_map(|room| inspection.workings.rooms[*room].floor.map(Subject::Floor));
    let mut all = rooms.map(|room| Subject::Room(*room)).chain(floors).chain([Subject::Loop(at), Subject::HeatSource]);
    !all.any(|it| it.is_broken(inspection.design))
}
