//! A new or wholly replaced wet system is designed for water no warmer than the regulation allows.
//!
//! Cooler water lets a boiler condense and a heat pump work well, for as long as the house stands.
//!
//! ## How it is worked out
//! The design flow temperature of the source is compared with the limit of the jurisdiction. The remedies design for water as
//! warm as the floor that needs the warmest, or for the limit.
//!
//! ## Limit
//! England: 55 °C, Approved Document L volume 1, 2021 edition; where that is not feasible, the lowest that meets the load. The 2026
//! edition replaces it on 24 March 2027. France: water at 50 °C or below. Other jurisdictions are not checked.
//!
//! ## Exceptions
//! Where a higher temperature was agreed, record a departure.
//!
//! Assumes the jurisdiction and edition shown; rules change.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 60 °C, temperature-drop: 5 K}
//! #                                                        ^^^^^ the water is designed for 60.0 °C; the regulation allows new systems at most 55.0 °C
//! ```
//! ```yaml remedied
//! heat-source: {kind: condensing boiler, flow-temperature: 34 °C, temperature-drop: 5 K}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 55 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use design::Jurisdiction;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "flow-temperature-over-regulation",
    group: Group::Source,
    weights: [Warning, Error, Error, Error],
    limits: &[ENGLAND, FRANCE],
    caution: Some("Assumes the jurisdiction and edition shown; rules change."),
    file: include_str!("flow_temperature_over_regulation.rs"),
    check,
    ..Rule::USUAL
};

const ENGLAND: Limit = Limit {
    name: "england",
    value: "55 °C",
    source: "Approved Document L, volume 1 (England, 2021 edition; replaced by the 2026 edition on 24 March 2027)",
};
const FRANCE: Limit = Limit {
    name: "france",
    value: "50 °C",
    source: "French works standard, as a building federation and a trade text give it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let Some(flow) = design.heat_source.flow_temperature else {
        if design.manifolds.is_empty() || design.heat_source.broken {
            return;
        }
        return found.missing(Subject::HeatSource, "flow-temperature");
    };
    let limit = match design.site.jurisdiction.map(|it| it.value) {
        Some(Jurisdiction::England) => ENGLAND.get::<Temperature>(&RULE, inspection),
        Some(Jurisdiction::France) => FRANCE.get::<Temperature>(&RULE, inspection),
        None => return found.missing(Subject::Site, "jurisdiction"),
        Some(other) => {
            let reason = format!("the regulation of {other} is not known here");
            return found.not_checked(Subject::HeatSource, &Gap::NoMethod(reason));
        }
    };
    if flow.value <= limit.value {
        return;
    }
    let message =
        format!("the water is designed for {}; the regulation allows new systems at most {}", flow.value, limit.value);
    let finding = Finding::new(Subject::HeatSource, flow.at, message).value(flow.value).limit(&limit);
    let cooler =
        Remedy::new(format!("design for {}", limit.value), flow.at, format!("{} °C", limit.value.in_celsius()));
    let needed = super::heat_pump_flow_too_warm::as_floors_need(inspection);
    found.add(finding.remedy(needed).remedy(cooler));
}
