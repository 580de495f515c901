//! The water is turbulent enough to give its heat to the pipe.
//!
//! In laminar flow the core of the water runs through without touching the wall: less heat passes, and near the change to
//! turbulent flow a valve that is touched a little moves the flow a lot.
//!
//! ## How it is worked out
//! Reynolds number of the loop's flow in its bore, at the mean water temperature. From 2300 to 4000 the flow may be either.
//!
//! ## Limit
//! Reynolds number 2300: common practice, no source.
//!
//! ## Exceptions
//! Where the water is too slow even to carry its air, that is said instead. Loops that glycol makes laminar are told together: less
//! of it is for whoever knows how cold the house can become.
//!
//! ```yaml fails
//! water: {fluid: propylene glycol, volume-share: 30 %, working-pressure: 1.5 bar}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! # ^^ the flow of loop L1 is laminar, Reynolds number 1840; from 2300 on water gives its heat better
//! ```
//! ```yaml passes
//! water: {working-pressure: 1.5 bar}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::{Fluid, Loop};
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "flow-is-laminar",
    group: Group::Hydraulics,
    weights: [Hint; 4],
    limits: &[LEAST],
    file: include_str!("flow_is_laminar.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "least-reynolds-number", value: "2300", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Number>(&RULE, inspection);
    let slow = super::velocity_too_low::LEAST.get::<Velocity>(&super::velocity_too_low::RULE, inspection);
    let mut laminar: Vec<(f64, Item<Loop, LoopWorkings>)> = Vec::new();
    for it in inspection.loops() {
        let Some(reynolds) = found.need(it.subject, &it.worked.reynolds) else { continue };
        let said_elsewhere = it.worked.velocity.as_ref().is_ok_and(|velocity| velocity.value < slow.value);
        if reynolds.value < least.value && !said_elsewhere {
            laminar.push((reynolds.value.get(), it));
        }
    }
    // Thick water makes all of them so, and none of them is at fault.
    let thick = inspection.design.water.fluid.filter(|it| it.value != Fluid::Water);
    if let (Some(thick), [_, _, ..]) = (thick, &laminar[..]) {
        let (low, high) =
            laminar.iter().fold((f64::MAX, 0.0), |(low, high): (f64, f64), (it, _)| (low.min(*it), high.max(*it)));
        let message = format!(
            "with {} the flow of {} loops is laminar, Reynolds numbers {low:.0} to {high:.0}; from {} on water gives its heat better",
            inspection.text(thick.at),
            laminar.len(),
            least.value
        );
        let finding = Finding::new(Subject::Water, thick.at, message).value(Number::new(low)).limit(&least);
        return found.add(laminar.iter().fold(finding, |finding, (reynolds, it)| {
            finding.related(it.place, format!("its Reynolds number is {reynolds:.0}"))
        }));
    }
    for (reynolds, it) in laminar {
        let message = format!(
            "the flow of loop {} is laminar, Reynolds number {reynolds:.0}; from {} on water gives its heat better",
            it.name, least.value
        );
        let place = it.given.flow.map_or(it.place, |flow| flow.at);
        let finding = Finding::new(it.subject, place, message).value(Number::new(reynolds)).limit(&least);
        let quick = it.worked.volume_flow.as_ref().map(|flow| flow.value * (least.value.get() / reynolds));
        found.add(
            finding
                .figure(format!("loops.{}.reynolds", it.name))
                .remedy(quick.ok().and_then(|flow| crate::flows::at_least(inspection, &it, flow))),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn thick_water_is_told_once() {
        let text = "water: {fluid: propylene glycol, volume-share: 30 %}\n";
        let said = messages(&RULE, text);
        assert!(
            matches!(&said[..], [one] if one.starts_with("with propylene glycol the flow of 2 loops is laminar")),
            "{said:?}"
        );
    }

    #[test]
    fn water_that_creeps_is_said_elsewhere() {
        let text = "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: FLOW}\n";
        assert_eq!(messages(&RULE, &text.replace("FLOW", "0.8 l/min")), [""; 0]);
        assert_eq!(messages(&RULE, &text.replace("FLOW", "2 l/min")), [""; 0]);
    }
}
