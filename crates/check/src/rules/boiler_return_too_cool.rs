//! The water comes back to a boiler that must not condense warm enough.
//!
//! Where cool water meets the flue gas, its steam turns to acid water. A boiler that is not made for it rusts through in a few
//! winters, and its chimney with it. Floors send back cool water: such a boiler wants a valve that raises its return, or a store
//! between.
//!
//! ## How it is worked out
//! The return temperature that the design states; else that of all manifolds together, mixed by what each of them takes from
//! it, where nothing but floors is joined to the boiler. A mixing set does not help: what it takes from the boiler it sends
//! back as cool.
//!
//! ## Limit
//! 55 °C, about the dew point of the flue gas of natural gas: training-body and trade texts. Of oil it is some 8 K lower, from
//! memory.
//!
//! ## Exceptions
//! Where a vessel, a heat exchanger or other circuits stand between, the return that reaches the boiler has to be stated. A boiler
//! for solid fuel is for other rules.
//!
//! ```yaml fails
//! heat-source: {kind: boiler, flow-temperature: 45 °C, temperature-drop: 5 K}
//! #                   ^^^^^^ the water comes back at 35.6 °C; below 55.0 °C the flue gas condenses in a boiler that must not
//! ```
//! ```yaml passes
//! heat-source: {kind: boiler, flow-temperature: 70 °C, return-temperature: 58 °C}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, temperature-drop: 5 K}
//! ```

use super::boiler_return_too_warm::{DEW_POINT as OF_GAS, FIGURE, return_temperature};
use super::prelude::*;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "boiler-return-too-cool",
    group: Group::Source,
    weights: [Hint, Information, Warning, Warning],
    limits: &[DEW_POINT],
    file: include_str!("boiler_return_too_cool.rs"),
    check,
    ..Rule::USUAL
};

const DEW_POINT: Limit = Limit { name: "dew-point", ..OF_GAS };

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::Boiler) || inspection.design.loops.is_empty() {
        return;
    }
    let between = source.volume_vessel.is_some() || source.heat_exchanger.is_some_and(|it| it.value);
    if between && source.return_temperature.is_none() {
        return found.missing(Subject::HeatSource, "return-temperature");
    }
    let Some((back, place)) = return_temperature(inspection, found) else { return };
    let dew_point = DEW_POINT.get::<Temperature>(&RULE, inspection);
    if back >= dew_point.value {
        return;
    }
    let message = format!(
        "the water comes back at {back}; below {} the flue gas condenses in a boiler that must not",
        dew_point.value
    );
    found.add(Finding::new(Subject::HeatSource, place, message).value(back).limit(&dew_point).figure(FIGURE));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn what_stands_between_is_asked_for() {
        let text = "heat-source: {kind: boiler, flow-temperature: 60 °C, heat-exchanger: true}\n";
        assert_eq!(not_checked(&RULE, text), ["heat-source/return-temperature"]);
    }
}
