//! A floor that cools is kept above the dew point.
//!
//! Below it the floor is wet: slippery first, then mouldy, then off its adhesive.
//!
//! ## How it is worked out
//! Where the design has floor cooling: whether it names a dew-point guard, and how cool the surface may become. A guard that it
//! does not name is taken not to be there.
//!
//! ## Limit
//! Above the dew point, and 19 °C at the surface: a trade summary of EN 1264-4 and ISO 7730.
//!
//! ```yaml fails
//! controls:
//!   cooling: {dew-point-guard: false, coolest-surface: 20 °C}
//! #                            ^^^^^ the floor cools, and no guard keeps it above the dew point
//! ```
//! ```yaml remedied
//! controls:
//!   cooling: {dew-point-guard: true, coolest-surface: 20 °C}
//! ```
//! ```yaml fails
//! controls:
//!   cooling: {dew-point-guard: true, coolest-surface: 17 °C}
//! #                                                   ^^^^^ the floor may cool to 17.0 °C; 19.0 °C is as cool as it should be
//! ```
//! ```yaml passes
//! controls:
//!   cooling: {dew-point-guard: true, coolest-surface: 19 °C}
//! ```

use super::prelude::*;
use crate::remedy::add_key;

pub static RULE: Rule = Rule {
    name: "cooling-without-dew-point-guard",
    group: Group::Controls,
    weights: [Warning, Error, Error, Error],
    limits: &[COOLEST],
    file: include_str!("cooling_without_dew_point_guard.rs"),
    check,
    ..Rule::USUAL
};

const COOLEST: Limit =
    Limit { name: "coolest-surface", value: "19 °C", source: "a trade summary of EN 1264-4 and ISO 7730" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(cooling) = &inspection.design.controls.cooling else { return };
    let coolest = COOLEST.get::<Temperature>(&RULE, inspection);
    if !cooling.broken && cooling.dew_point_guard.is_none_or(|guard| !guard.value) {
        let place = cooling.dew_point_guard.map_or(cooling.at, |guard| guard.at);
        let remedy = match cooling.dew_point_guard {
            Some(none) => Some(Remedy::new("guard it by a dew-point sensor", none.at, "true")),
            None => Remedy::of(
                "guard it by a dew-point sensor",
                add_key(inspection, cooling.value.place, "dew-point-guard: true"),
            ),
        };
        let message = "the floor cools, and no guard keeps it above the dew point";
        found.add(Finding::new(Subject::Controls, place, message).source(coolest.source).remedy(remedy));
    }
    let Some(surface) = cooling.coolest_surface else {
        if !cooling.broken {
            found.missing(Subject::Controls, "cooling/coolest-surface");
        }
        return;
    };
    if surface.value < coolest.value {
        let message = format!("the floor may cool to {}; {} is as cool as it should be", surface.value, coolest.value);
        let text = format!("{} °C", coolest.value.in_celsius());
        found.add(
            Finding::new(Subject::Controls, surface.at, message)
                .value(surface.value)
                .limit(&coolest)
                .remedy(Remedy::new(format!("stop at {text}"), surface.at, text)),
        );
    }
}
