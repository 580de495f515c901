//! The flow that a loop is set to carries the heat that its room needs.
//!
//! Water that comes too slowly is cold before it has been round, and the room stays cold with it, however warm the flow is.
//!
//! ## How it is worked out
//! Flow x specific heat x temperature drop, against the heat upward and downward of the loop. A flow that the design leaves
//! out is worked out from the same sum and is never too small.
//!
//! ## Limit
//! The flow by EN 1264-3, as a public copy gives it; less 1 % for rounding.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 1.2 l/min}
//! #                                                                                           ^^^^^^^^^ at 1.20 l/min and a drop of 5.0 K loop L1 carries 415 W; it needs 635 W, which takes 1.84 l/min
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 1.84 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::Loop;
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "flow-carries-too-little-heat",
    group: Group::Hydraulics,
    weights: [Information, Warning, Error, Error],
    limits: &[ROUNDING],
    file: include_str!("flow_carries_too_little_heat.rs"),
    check,
    ..Rule::USUAL
};

const ROUNDING: Limit = Limit { name: "rounding", value: "1 %", source: "common practice, no source" };
const SOURCE: &str = "EN 1264-3, flow from heat, as a public copy gives it";

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let Some(stated) = it.given.flow else { continue };
        let Some(flow) = found.need(it.subject, &it.worked.flow_needed) else { continue };
        let Some(needed) = needed(&it) else { continue };
        if !falls_short(inspection, &it) {
            continue;
        }
        let input = |name| flow.inputs.iter().find(|input| input.name == name).map_or(0.0, |input| input.value);
        let heat = Power::watts(input("heat-needed") + input("heat downward"));
        let drop = TemperatureDifference::kelvin(input("temperature-drop"));
        let message = format!(
            "at {} and a drop of {drop} loop {} carries {}; it needs {heat}, which takes {needed}",
            stated.value,
            it.name,
            heat * (stated.value / needed)
        );
        found.add(
            Finding::new(it.subject, stated.at, message)
                .value(stated.value)
                .limit(&LimitValue::new(needed, SOURCE))
                .figure(format!("loops.{}.flow-needed", it.name))
                .remedy(crate::flows::at_least(inspection, &it, needed)),
        );
    }
}

/// Whether the flow that a loop is set to is less than it needs, by more than rounding.
pub(super) fn falls_short(inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> bool {
    let short = |(set, needed): (VolumeFlow, VolumeFlow)| {
        set < needed * (1.0 - ROUNDING.get::<Share>(&RULE, inspection).value.in_fraction())
    };
    it.given.flow.zip(needed(it)).is_some_and(|(set, needed)| short((set.value, needed)))
}

/// The flow that carries the heat needed, as a flow gauge shows it.
pub(crate) fn needed(it: &Item<Loop, LoopWorkings>) -> Option<VolumeFlow> {
    let (volume, mass, needed) =
        (it.worked.volume_flow.as_ref().ok()?, it.worked.flow.as_ref().ok()?, it.worked.flow_needed.as_ref().ok()?);
    let shown = it.given.flow.map_or(volume.value, |stated| stated.value);
    (mass.value > MassFlow::ZERO).then(|| shown * (needed.value / mass.value))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn with_flow(flow: &str) -> String {
        format!("loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m{flow}}}\n")
    }

    #[test]
    fn the_flow_that_is_worked_out_carries_it() {
        assert_eq!(messages(&RULE, &with_flow("")), [""; 0]);
        assert_eq!(messages(&RULE, &with_flow(", flow: 1.83 l/min")), [""; 0]);
        assert_eq!(messages(&RULE, &with_flow(", flow: 1.80 l/min")).len(), 1);
    }

    #[test]
    fn a_room_without_heat_loss_is_not_passed() {
        let text =
            with_flow(", flow: 1.8 l/min") + "rooms:\n  hall: {temperature: 20 °C, floor: screeded, area: 12 m²}\n";
        assert_eq!(not_checked(&RULE, &text), ["rooms/hall/heat-loss"]);
    }
}
