//! The screed is no thicker than it has to be.
//!
//! A thick screed answers slowly, dries for months, and lifts every door.
//!
//! ## How it is worked out
//! Thickness of the screed that holds the pipe, by its binder; the drying is 1 mm a day to 40 mm, then half a millimetre a day.
//!
//! ## Limit
//! 75 mm of sand and cement, 60 mm of calcium sulphate: common practice, no source. Drying: screed-trade texts.
//!
//! ## Exceptions
//! Under heavy use the screed has to be thicker.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 80 mm, pipe: at base}
//! #                                            ^^^^^ the screed of floor screeded is 80 mm thick and dries for some 120 days; beyond 75 mm it answers slowly
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: heated room
//!     layers:
//!       - {material: cement screed, thickness: 75 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 40 mm}
//! ```

use super::prelude::*;
use crate::layers::binder;
use design::{Load, Method, Screed};

pub static RULE: Rule = Rule {
    name: "screed-too-thick",
    group: Group::FloorConstruction,
    weights: [Hint, Information, Information, Information],
    limits: &[CEMENT, SULPHATE],
    file: include_str!("screed_too_thick.rs"),
    check,
    ..Rule::USUAL
};

const CEMENT: Limit = Limit { name: "thickest-sand-cement", value: "75 mm", source: "common practice, no source" };
const SULPHATE: Limit =
    Limit { name: "thickest-calcium-sulphate", value: "60 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        let method = floor.given.method.map(|it| it.value);
        let heavy = floor.given.load.is_some_and(|load| load.value == Load::Heavy);
        let Ok(pipe_layer) = floor.worked.pipe_layer.clone() else { continue };
        let given = &floor.given.layers[pipe_layer];
        let limit = match binder(given, &floor.worked.layers[pipe_layer]) {
            Some(Screed::SandCement) => CEMENT.get::<Length>(&RULE, inspection),
            Some(Screed::CalciumSulphate) => SULPHATE.get(&RULE, inspection),
            _ => continue,
        };
        let in_screed = matches!(method, Some(Method::ClippedInScreed | Method::CastellatedTray));
        let Some(thickness) = given.thickness.filter(|_| in_screed && !heavy) else { continue };
        if thickness.value <= limit.value {
            continue;
        }
        let millimetres = thickness.value.in_millimetres();
        let days = 40.0 + (millimetres - 40.0) * 2.0;
        let (value, most) = (thickness.value, limit.value);
        let message = format!(
            "the screed of floor {} is {value} thick and dries for some {days:.0} days; beyond {most} it answers slowly",
            floor.name
        );
        let remedy = Remedy::new(format!("make it {} thick", limit.value), thickness.at, limit.value.to_string());
        found.add(
            Finding::new(floor.subject, thickness.at, message).value(thickness.value).limit(&limit).remedy(remedy),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    /// Common practice, no source. Drying of 50 mm: 40 + 10 x 2 = 60 days (screed-trade texts).
    #[test]
    fn each_binder_has_its_own() {
        let floor = |screed: &str, more: &str| {
            let text = format!(
                "floors: {{screeded: {{method: clipped-in-screed, below: heated room, {more}layers: [{{material: {screed}, pipe: at base}}, \
                 {{material: EPS, thickness: 40 mm}}]}}}}\n"
            );
            messages(&RULE, &text).len()
        };
        assert_eq!(floor("cement screed, thickness: 75 mm", ""), 0);
        assert_eq!(floor("flowing screed, thickness: 60 mm", ""), 0);
        assert_eq!(floor("flowing screed, thickness: 61 mm", ""), 1);
        assert_eq!(floor("cement screed, thickness: 90 mm", "load: heavy, "), 0);
    }
}
