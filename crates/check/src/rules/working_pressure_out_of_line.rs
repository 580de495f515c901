//! The working pressure lies between the gas of the expansion vessel and the safety valve.
//!
//! Above the valve the system spits water until it is empty; below the charge the vessel holds none, and the first cold night draws air.
//!
//! ## How it is worked out
//! `working-pressure` is held against `safety-valve` and against the `charge-pressure` of the expansion vessel.
//!
//! ## Limit
//! 0.5 bar under the safety valve at most: EN 12828, as a works standard's annex and an installers' federation give it. Not under the
//! charge pressure: plain physics.
//!
//! Let the pressure off before a vessel is charged or a valve changed; hot water scalds.
//!
//! ```yaml fails
//! water: {working-pressure: 3.5 bar}
//! #                         ^^^^^^^ the working pressure is 3.5 bar and the safety valve opens at 3.0 bar; 2.5 bar is the most under it
//! safety: {safety-valve: 3 bar}
//! ```
//! ```yaml fails
//! water: {working-pressure: 1.2 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1.5 bar}}
//! #                         ^^^^^^^ the working pressure is 1.2 bar and the expansion vessel is charged to 1.5 bar: it holds no water to give back
//! ```
//! ```yaml passes
//! water: {working-pressure: 1.5 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1 bar}}
//! safety: {safety-valve: 3 bar}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "working-pressure-out-of-line",
    group: Group::Hydraulics,
    weights: [Warning, Error, Error, Error],
    limits: &[UNDER_VALVE],
    caution: Some("Let the pressure off before a vessel is charged or a valve changed; hot water scalds."),
    file: include_str!("working_pressure_out_of_line.rs"),
    check,
    ..Rule::USUAL
};

const UNDER_VALVE: Limit = Limit {
    name: "least-under-safety-valve",
    value: "0.5 bar",
    source: "EN 12828, as a works standard's annex and an installers' federation give it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let Some(working) = design.water.working_pressure else { return };
    let under = UNDER_VALVE.get::<Pressure>();
    let most = design
        .safety
        .safety_valve
        .map(|valve| (valve, crate::LimitValue { value: valve.value - under.value, source: under.source }));
    if let Some((valve, limit)) = most.filter(|(_, most)| most.is_exceeded_by(working.value)) {
        let message = format!(
            "the working pressure is {} and the safety valve opens at {}; {} is the most under it",
            working.value, valve.value, limit.value
        );
        let finding = Finding::new(Subject::Water, working.at, message).value(working.value);
        found.add(finding.limit(&limit).related(valve.at, "the safety valve"));
    }
    if let Some(charge) = design.water.expansion_vessel.as_ref().and_then(|it| it.charge_pressure)
        && working.value < charge.value
    {
        let message = format!(
            "the working pressure is {} and the expansion vessel is charged to {}: it holds no water to give back",
            working.value, charge.value
        );
        let finding = Finding::new(Subject::Water, working.at, message).value(working.value);
        let limit = crate::LimitValue { value: charge.value, source: "plain physics" };
        found.add(finding.limit(&limit).related(charge.at, "its charge"));
    }
}
