//! The water cools by enough to be worth pumping.
//!
//! The less the water may cool the more of it has to flow: at 2 K it is two and a half times that of 5 K, and some six times the
//! pressure. Pipe, valves, gauges and pump are then all too small, and none of them is at fault.
//!
//! ## How it is worked out
//! The drop that is stated for the source, a manifold or a loop. What follows from it is told there: loops that take too much
//! pressure, a pump too weak for them, water that is heard.
//!
//! ## Limit
//! 3 K: common practice, no source. EN 1264-3 in a contractor's text and a trade summary has 0 to 5 K for the most demanding room,
//! which sets the flow temperature; no flow is set by so little.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 2 K}
//! #                                                                         ^^^ the water is to cool by 2.0 K; under 3.0 K takes more flow than it is worth
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 3 K}
//! ```

use super::prelude::*;
use design::Given;

pub static RULE: Rule = Rule {
    name: "temperature-drop-too-narrow",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[LEAST],
    file: include_str!("temperature_drop_too_narrow.rs"),
    check,
    ..Rule::USUAL
};

pub(crate) const LEAST: Limit = Limit { name: "least", value: "3 K", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    if inspection.design.loops.is_empty() {
        return;
    }
    hold(inspection, found, Subject::HeatSource, &inspection.design.heat_source.temperature_drop);
    inspection.manifolds().for_each(|it| hold(inspection, found, it.subject, &it.given.temperature_drop));
    inspection.loops().for_each(|it| hold(inspection, found, it.subject, &it.given.temperature_drop));
}

fn hold(inspection: &Inspection, found: &mut Findings, of: Subject, stated: &Given<TemperatureDifference>) {
    let least = LEAST.get::<TemperatureDifference>(&RULE, inspection);
    let Some(stated) = stated.as_ref().filter(|it| it.value < least.value) else { return };
    let message =
        format!("the water is to cool by {}; under {} takes more flow than it is worth", stated.value, least.value);
    let finding = Finding::new(of, stated.at, message).value(stated.value).limit(&least);
    found.add(finding.remedy(Remedy::new("let the water cool by 5 K", stated.at, "5 K")));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// One figure that is too small is one finding, not one for each thing that cannot bear the flow.
    #[test]
    fn what_cannot_bear_the_flow_is_told_there() {
        let outcome = check("heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 1.5 K}\n");
        let names: Vec<&str> = outcome.findings.iter().map(|it| it.rule.name).collect();
        assert!(names.contains(&RULE.name), "{names:?}");
        assert!(!names.contains(&"pressure-drop-over-pump") && !names.contains(&"velocity-too-high"), "{names:?}");
        let cause = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(cause.related.iter().any(|it| it.message.starts_with("and so")), "{cause:?}");
    }
}
