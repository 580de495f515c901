//! Heating water and drinking water never mix.
//!
//! Water that stands lukewarm in a hundred metres of plastic pipe is where Legionella grows. It must not come out of
//! a tap or a shower.
//!
//! ## How it is worked out
//! `safety/hot-water/shared-with-floor` must not be true. Hot water and floor may share a source through a heat
//! exchanger, or a coil in a cylinder.
//!
//! ## Limit
//! Common practice, no source; water byelaws and guidance on Legionella. The rule takes no departure.
//!
//! ```yaml fails
//! safety:
//!   hot-water: {store-temperature: 60 °C, shared-with-floor: true}
//! #                                                          ^^^^ the water of the floor is the hot tap water
//! ```
//! ```yaml passes
//! safety:
//!   hot-water: {store-temperature: 60 °C, shared-with-floor: false}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "heating-water-meets-drinking-water",
    group: Group::Safety,
    weights: [Error; 4],
    takes_departures: false,
    caution: Some(
        "Health risk: heating water and drinking water never mix. Take competent advice on Legionella and backflow.",
    ),
    file: include_str!("heating_water_meets_drinking_water.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(hot_water) = &inspection.design.safety.hot_water else { return };
    match hot_water.shared_with_floor {
        None => found.missing(Subject::Safety, "hot-water/shared-with-floor"),
        Some(shared) if shared.value => {
            let message = "the water of the floor is the hot tap water";
            found.add(Finding::new(Subject::Safety, shared.at, message).source("common practice, no source"));
        }
        Some(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn what_is_not_said_is_not_checked() {
        assert_eq!(not_checked(&RULE, "safety: {hot-water: {}}\n"), ["safety/hot-water/shared-with-floor"]);
        assert!(not_checked(&RULE, "safety: {}\n").is_empty());
        assert!(messages(&RULE, "safety: {}\n").is_empty());
    }
}
