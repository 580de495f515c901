//! The working pressure lies between the gas of the expansion vessel and the safety valve.
//!
//! Above the valve the system spits water until it is empty; below the charge the vessel holds none, and the first cold night draws air.
//!
//! ## How it is worked out
//! `working-pressure` is held against `safety-valve` and against the `charge-pressure` of the expansion vessel.
//!
//! ## Limit
//! 0.5 bar under the safety valve at most: EN 12828, as a works standard's annex and an installers' federation give it. 0.3 bar over the
//! charge at least: common practice, no source.
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
//! ```yaml remedied
//! water: {working-pressure: 1.8 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1.5 bar}}
//! ```
//! ```yaml fails
//! water: {working-pressure: 1.5 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1.4 bar}}
//! #                         ^^^^^^^ the working pressure is 1.5 bar and the expansion vessel is charged to 1.4 bar: it holds next to no water to give back
//! ```
//! ```yaml passes
//! water: {working-pressure: 1.5 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1 bar}}
//! safety: {safety-valve: 3 bar}
//! ```

use super::prelude::*;
use design::Placed;

pub static RULE: Rule = Rule {
    name: "working-pressure-out-of-line",
    group: Group::Hydraulics,
    weights: [Warning, Error, Error, Error],
    limits: &[UNDER_VALVE, OVER_CHARGE],
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

const OVER_CHARGE: Limit = Limit { name: "least-over-charge", value: "0.3 bar", source: "common practice, no source" };

/// What is filled in is so much more than the charge of the vessel, so that it holds a reserve.
pub(super) fn over_charge(inspection: &Inspection) -> Pressure {
    OVER_CHARGE.get::<Pressure>(&RULE, inspection).value
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let Some(working) = design.water.working_pressure else { return };
    let under = UNDER_VALVE.get::<Pressure>(&RULE, inspection);
    let most = design.safety.safety_valve.map(|valve| valve.value - under.value);
    let charge = design.water.expansion_vessel.as_ref().and_then(|it| it.charge_pressure);
    let least = charge.map(|charge| charge.value + over_charge(inspection));
    // Filled so far that the vessel holds a reserve, and the valve is not near.
    let filled = least.filter(|least| most.is_none_or(|most| *least <= most)).map(|least| {
        let text = format!("{:.1} bar", least.in_bar());
        Remedy::new(format!("fill it to {text}"), working.at, text)
    });
    if let (Some(valve), Some(most)) = (design.safety.safety_valve, most)
        && under.with(most).is_exceeded_by(working.value)
    {
        let message = format!(
            "the working pressure is {} and the safety valve opens at {}; {} is the most under it",
            in_bar(working.value),
            in_bar(valve.value),
            in_bar(most)
        );
        let finding = Finding::new(Subject::Water, working.at, message).value(working.value);
        let limit = under.with(most);
        found.add(finding.limit(&limit).related(valve.at, "the safety valve").remedy(filled.clone()));
    }
    let (Some(charge), Some(least)) = (charge, least) else { return };
    if working.value >= least - Pressure::pascals(1.0) {
        return;
    }
    let holds = if working.value < charge.value { "no water to give back" } else { "next to no water to give back" };
    let message = format!(
        "the working pressure is {} and the expansion vessel is charged to {}: it holds {holds}",
        in_bar(working.value),
        in_bar(charge.value)
    );
    let limit = OVER_CHARGE.get::<Pressure>(&RULE, inspection).with(least);
    let finding = Finding::new(Subject::Water, working.at, message).value(working.value).limit(&limit);
    let finding =
        finding.related(charge.at, "its charge").remedy(filled).remedy(less_charge(inspection, &charge, working.value));
    match (working.value < charge.value, RULE.weight(design.stage())) {
        (false, Error) => found.add_as(Warning, finding),
        _ => found.add(finding),
    }
}

/// A charge so much under the working pressure that the vessel holds a reserve, where it carries the water above it.
fn less_charge(inspection: &Inspection, charge: &Placed<Pressure>, working: Pressure) -> Option<Remedy> {
    let least = inspection.workings.water.least_charge_pressure.as_ref().ok()?.value;
    let tenths = ((working - over_charge(inspection)).in_bar() * 10.0 + 1e-6).floor() / 10.0;
    let text = format!("{tenths:.1} bar");
    (Pressure::bar(tenths) >= least).then(|| Remedy::new(format!("charge the vessel to {text}"), charge.at, text))
}

/// Pressures of the system are read in bar, however small.
fn in_bar(pressure: Pressure) -> String {
    format!("{:.1} bar", pressure.in_bar())
}
