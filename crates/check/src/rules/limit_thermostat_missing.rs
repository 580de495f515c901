//! An independent limit thermostat keeps over-hot water out of the floor.
//!
//! Controllers fail, valves stick, somebody turns a knob. A floor that sees boiler water for a day is a spoiled
//! floor, and a foot that feels nothing is burned.
//!
//! ## How it is worked out
//! `safety/limit-thermostat` must be there, be separate from the controller and act without power. What a
//! controller sets for itself does not count.
//!
//! ## Limit
//! EN 1264-4, clause on safety, in a trade copy. The rule takes no departure.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! #                                                ^^^^^ no independent limit thermostat keeps over-hot water out of the floor
//! safety:
//!   filling-link: {double-check-valve: true, taken-off: true}
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
//! safety:
//!   filling-link: {double-check-valve: true, taken-off: true}
//!   limit-thermostat: {setting: 48 °C, independent: true, without-power: true}
//! ```
//! ```yaml fails
//! safety:
//!   limit-thermostat: {setting: 45 °C, independent: false, without-power: true}
//! #                                                 ^^^^^ the limit thermostat is not independent of the controller
//! ```

use super::limit_thermostat_set_too_high::{hottest_flow, usual_setting};
use super::prelude::*;
use crate::remedy::add_key;
use design::{Place, Stage};

pub static RULE: Rule = Rule {
    name: "limit-thermostat-missing",
    group: Group::Safety,
    weights: [Warning, Warning, Error, Error],
    takes_departures: false,
    caution: Some(
        "Danger of over-heating: a device of its own must stop water that is too hot, even if the controller or the power fails.",
    ),
    file: include_str!("limit_thermostat_missing.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4, clause on safety";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    let Some(limit) = &design.safety.limit_thermostat else {
        if design.stage() == Stage::Preliminary || !inspection.is_read(design.safety.place) {
            return;
        }
        let message = "no independent limit thermostat keeps over-hot water out of the floor";
        let finding = Finding::new(Subject::Safety, blamed(inspection), message).source(SOURCE);
        found.add(finding.remedy(one_more(inspection)));
        return;
    };
    let must = [
        (limit.independent, "limit-thermostat/independent", "is not independent of the controller", "take one that is"),
        (
            limit.without_power,
            "limit-thermostat/without-power",
            "does not act when the power fails",
            "take one that does",
        ),
    ];
    for (given, key, fault, title) in must {
        match given {
            None => found.missing(Subject::Safety, key),
            Some(given) if !given.value => {
                let message = format!("the limit thermostat {fault}");
                let finding = Finding::new(Subject::Safety, given.at, message).source(SOURCE);
                found.add(finding.remedy(Remedy::new(title, given.at, "true")));
            }
            Some(_) => {}
        }
    }
}

/// What sends the water: the source's flow temperature or kind, else a manifold, else the stage.
fn blamed(inspection: &Inspection) -> Place {
    let source = &inspection.design.heat_source;
    let manifold = inspection.design.manifolds.at(0).map(|(_, entry)| entry.name_place);
    let of_source = source.flow_temperature.map(|it| it.at).or(source.kind.map(|it| it.at));
    of_source.or(manifold).unwrap_or(inspection.stage_place())
}

/// A limit thermostat at its usual setting.
fn one_more(inspection: &Inspection) -> Option<Remedy> {
    let design = inspection.design;
    let (flow, _) = hottest_flow(inspection)?;
    let setting = usual_setting(inspection, flow).in_celsius().floor();
    let entry = format!("limit-thermostat: {{setting: {setting} °C, independent: true, without-power: true}}");
    let change = match design.safety.place == Place::default() {
        true => add_key(inspection, design.place, &format!("safety:\n  {entry}"))?,
        false => add_key(inspection, design.safety.place, &entry)?,
    };
    Remedy::of("put an independent limit thermostat on the flow", vec![change])
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    #[test]
    fn a_preliminary_design_need_not_have_it_yet() {
        assert!(messages(&RULE, "project: {stage: preliminary}\nsafety: {}\n").is_empty());
        assert!(messages(&RULE, "loops: {}\nsafety: {}\n").is_empty());
        assert_eq!(messages(&RULE, "safety: {}\n").len(), 1);
    }

    #[test]
    fn a_wrong_one_is_wrong_at_any_stage() {
        let text =
            "project: {stage: preliminary}\nsafety: {limit-thermostat: {independent: true, without-power: false}}\n";
        assert_eq!(messages(&RULE, text), ["the limit thermostat does not act when the power fails"]);
    }

    #[test]
    fn what_is_not_said_is_not_checked() {
        let text = "safety: {limit-thermostat: {setting: 45 °C, independent: true}}\n";
        assert_eq!(not_checked(&RULE, text), ["safety/limit-thermostat/without-power"]);
    }

    #[test]
    fn no_departure_is_taken() {
        let text = "safety: {}\ndepartures:\n  - {rule: limit-thermostat-missing, reason: cost, agreed-by: nobody, until: \
                    2027-01-01}\n";
        assert!(check(text).departed.is_empty());
    }
}
