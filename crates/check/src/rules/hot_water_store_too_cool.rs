//! Hot tap water is stored at 60 °C, or kept safe by a written scheme.
//!
//! A cylinder that is let down to the temperature of the floor saves a little energy and breeds Legionella. People
//! die of it.
//!
//! ## How it is worked out
//! `store-temperature` is held against 60 °C, unless `scheme` names the written scheme that a competent person
//! approved.
//!
//! ## Limit
//! 60 °C stored and 50 °C at the tap within a minute: the safety authority's own page on hot and cold water. What the
//! tap gives is not checked here.
//!
//! Health risk: take competent advice on Legionella.
//!
//! ```yaml fails
//! safety:
//!   hot-water: {store-temperature: 48 °C, shared-with-floor: false}
//! #                                ^^^^^ hot water is stored at 48.0 °C without a written scheme; 60.0 °C is the least
//! ```
//! ```yaml passes
//! safety:
//!   hot-water: {store-temperature: 48 °C, shared-with-floor: false, scheme: weekly to 65 °C by plan WS-2}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "hot-water-store-too-cool",
    group: Group::Safety,
    weights: [Warning; 4],
    limits: &[LEAST],
    caution: Some("Health risk: take competent advice on Legionella."),
    file: include_str!("hot_water_store_too_cool.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit {
    name: "least-store-temperature",
    value: "60 °C",
    source: "HSE (United Kingdom), page on hot and cold water",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(hot_water) = &inspection.design.safety.hot_water else { return };
    let Some(store) = hot_water.store_temperature else {
        found.missing(Subject::Safety, "hot-water/store-temperature");
        return;
    };
    let least = LEAST.get::<Temperature>(&RULE, inspection);
    let scheme = hot_water.scheme.as_ref().is_some_and(|scheme| !scheme.value.trim().is_empty());
    if store.value < least.value && !scheme {
        let message =
            format!("hot water is stored at {} without a written scheme; {} is the least", store.value, least.value);
        found.add(Finding::new(Subject::Safety, store.at, message).value(store.value).limit(&least));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn sixty_degrees_are_enough() {
        let stored =
            |celsius: &str| messages(&RULE, &format!("safety: {{hot-water: {{store-temperature: {celsius} °C}}}}\n"));
        assert!(stored("60").is_empty());
        assert_eq!(stored("59.9").len(), 1);
        assert_eq!(not_checked(&RULE, "safety: {hot-water: {}}\n"), ["safety/hot-water/store-temperature"]);
    }
}
