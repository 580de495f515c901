//! Bath taps of a new home are blended down to 48 °C.
//!
//! Water that is hot enough to be safe from bacteria scalds a child in seconds.
//!
//! ## How it is worked out
//! Asked of a design with hot tap water and a bathroom, in England, of a new building or a conversion:
//! `bath-temperature` must be there and be no higher.
//!
//! ## Limit
//! 48 °C: Approved Document G, requirement G3(4), England; from a building-control body's page and a trade text.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: bathroom, temperature: 22 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! safety:
//!   hot-water: {store-temperature: 60 °C, shared-with-floor: false}
//! #                                ^^^^^ nothing says that bath taps are blended; 48.0 °C is the most at a bath
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m²}
//!   study: {use: bathroom, temperature: 22 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! safety:
//!   hot-water: {store-temperature: 60 °C, shared-with-floor: false, bath-temperature: 46 °C}
//! ```

use super::prelude::*;
use design::{Jurisdiction, Scope, Use};

pub static RULE: Rule = Rule {
    name: "scald-guard-missing",
    group: Group::Safety,
    weights: [Silent, Information, Information, Information],
    limits: &[GREATEST],
    caution: Some("Assumes the jurisdiction and edition shown; rules change."),
    file: include_str!("scald_guard_missing.rs"),
    check,
    ..Rule::USUAL
};

const GREATEST: Limit = Limit {
    name: "greatest-bath-temperature",
    value: "48 °C",
    source: "Approved Document G, requirement G3(4) (England)",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let Some(hot_water) = &design.safety.hot_water else { return };
    let is_bathroom = |use_: &design::Given<Use>| use_.is_some_and(|it| it.value == Use::Bathroom);
    if !design.rooms.values().any(|room| is_bathroom(&room.use_)) || !inspection.is_read(hot_water.at) {
        return;
    }
    if !found.applies_in(inspection, &[Jurisdiction::England]) {
        return;
    }
    match design.project.scope.map(|scope| scope.value) {
        None => return found.missing(Subject::Project, "scope"),
        Some(Scope::NewBuilding | Scope::Conversion) => {}
        Some(_) => return,
    }
    let greatest = GREATEST.get::<Temperature>(&RULE, inspection);
    match hot_water.bath_temperature {
        Some(bath) if bath.value > greatest.value => {
            let message = format!("bath taps are blended to {}; {} is the most", bath.value, greatest.value);
            found.add(Finding::new(Subject::Safety, bath.at, message).value(bath.value).limit(&greatest));
        }
        Some(_) => {}
        None => {
            let message = format!("nothing says that bath taps are blended; {} is the most at a bath", greatest.value);
            let place = hot_water.store_temperature.map_or(hot_water.at, |store| store.at);
            found.add(Finding::new(Subject::Safety, place, message).limit(&greatest));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const BATHROOM: &str = "rooms: {hall: {use: bathroom}, study: {use: office}}\n";

    fn bath(celsius: &str) -> Vec<String> {
        messages(&RULE, &format!("{BATHROOM}safety: {{hot-water: {{bath-temperature: {celsius} °C}}}}\n"))
    }

    #[test]
    fn forty_eight_degrees_pass() {
        assert!(bath("48").is_empty());
        assert_eq!(bath("48.5"), ["bath taps are blended to 48.5 °C; 48.0 °C is the most"]);
    }

    #[test]
    fn other_work_and_other_places_are_not_asked() {
        let more = "safety: {hot-water: {}}\n";
        let renovation = format!("{BATHROOM}{more}project: {{stage: for comment, scope: renovation}}\n");
        assert!(messages(&RULE, &renovation).is_empty());
        assert_eq!(not_checked(&RULE, &format!("{BATHROOM}{more}site: {{}}\n")), ["site/jurisdiction"]);
        assert!(messages(&RULE, more).is_empty(), "a house without a bathroom");
    }
}
