//! No valve has to throttle away so much pressure that it sings.
//!
//! Water that is forced through a valve nearly shut whistles, and the house hears it at night.
//!
//! ## How it is worked out
//! The pressure drop of the loop that needs most, its balancing valve open, less what pipe, bends and actuator of this loop
//! take: what is left its balancing valve has to lose.
//!
//! ## Limit
//! 15 kPa: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 125 mm, tails: 20 m, flow: 2.4 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 300 mm, tails: 4 m}
//! # ^^ the valve of loop L2 has to lose 19.4 kPa; beyond 15.0 kPa it will be heard
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 4 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "throttled-loop-will-sing",
    group: Group::Hydraulics,
    weights: [Silent, Information, Information, Information],
    limits: &[MOST],
    file: include_str!("throttled_loop_will_sing.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-in-a-valve", value: "15 kPa", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Pressure>();
    for it in inspection.manifolds().filter(|it| it.worked.loops.len() > 1) {
        let Some(across) = found.need(it.subject, &it.worked.pressure_drop) else { continue };
        for at in &it.worked.loops {
            let worked = &inspection.workings.loops[*at];
            if found.need(Subject::Loop(*at), &worked.pressure_drop).is_none() {
                continue;
            }
            let Ok(left) = worked.left_for_valve(across.value) else { continue };
            let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
            if left <= most.value {
                continue;
            }
            let message =
                format!("the valve of loop {name} has to lose {left}; beyond {} it will be heard", most.value);
            let mut finding = Finding::new(Subject::Loop(*at), entry.name_place, message)
                .value(left)
                .limit(&most)
                .figure(format!("loops.{name}.presetting-kv"));
            if let Some(index) = it.worked.index_loop {
                finding = finding.related(Subject::Loop(index).place(inspection.design), "the loop that needs most");
            }
            found.add(finding);
        }
    }
}
