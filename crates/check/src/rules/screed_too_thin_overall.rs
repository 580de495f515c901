//! A screed that floats on insulation is thick enough to carry.
//!
//! It spans over soft boards; a thin one breaks at the first heavy foot, and at the hump in the slab that no section shows.
//!
//! ## How it is worked out
//! Thickness of the screed that holds the pipe, where insulation lies below it, or a sheet only (an unbonded screed), by its binder and
//! the load of the floor.
//!
//! ## Limit
//! Sand and cement: floating 65 mm in dwellings, 75 mm under heavier use, unbonded 50 mm: Concrete Society on BS 8204. Calcium sulphate:
//! floating 35 mm in dwellings, 40 mm elsewhere: trade texts on BS 8204-7. Measure at the thinnest place, not on average.
//!
//! ## Exceptions
//! A special screed, or one with a `least-cover` of its maker, goes by its maker's figures. In Germany DIN 18560-2 asks for cover over
//! the pipe instead. Where `screed-too-thin-over-pipe` asks for more it speaks.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 55 mm, pipe: at base}
//! #                                            ^^^^^ the screed of floor screeded is 55 mm thick, 39 mm of it over the pipe; sand and cement on insulation wants at least 65 mm
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 100 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 100 mm}
//! ```

use super::prelude::*;
use crate::layers::{self, FloorItem};
use design::{Jurisdiction, Load, Method, Screed};
use engineering::heat::materials::Kind as Material;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "screed-too-thin-overall",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[CEMENT, CEMENT_HEAVY, UNBONDED, SULPHATE, SULPHATE_HEAVY],
    file: include_str!("screed_too_thin_overall.rs"),
    check,
    ..Rule::USUAL
};

const CONCRETE_SOCIETY: &str = "Concrete Society on BS 8204, in secondary texts";
const CEMENT: Limit = Limit { name: "floating-sand-cement", value: "65 mm", source: CONCRETE_SOCIETY };
const CEMENT_HEAVY: Limit =
    Limit { name: "floating-sand-cement-under-heavy-use", value: "75 mm", source: CONCRETE_SOCIETY };
const UNBONDED: Limit = Limit { name: "unbonded-sand-cement", value: "50 mm", source: CONCRETE_SOCIETY };
const SULPHATE: Limit = Limit { name: "floating-calcium-sulphate", value: "35 mm", source: "trade texts on BS 8204-7" };
const SULPHATE_HEAVY: Limit =
    Limit { name: "floating-calcium-sulphate-under-heavy-use", value: "40 mm", source: "trade texts on BS 8204-7" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(in_screed) {
        let (limit, on) = match wanted(inspection, &floor) {
            Ok(Some(wanted)) => wanted,
            Ok(None) => continue,
            Err(gap) => {
                found.not_checked(floor.subject, &gap);
                continue;
            }
        };
        let Some(thickness) = thickness(&floor) else {
            found.need(floor.subject, &floor.worked.cover);
            continue;
        };
        if thickness.value >= limit.value - Length::millimetres(0.001) {
            continue;
        }
        // One screed is thickened once: the rule that asks for more speaks.
        if super::screed_too_thin_over_pipe::too_thin(inspection, &floor).is_some_and(|(_, cover)| cover > limit.value)
        {
            continue;
        }
        let (value, least) = (thickness.value, limit.value);
        let over = floor.worked.cover.as_ref().ok().map(|cover| format!(", {} of it over the pipe", cover.value));
        let message = format!(
            "the screed of floor {} is {value} thick{}; {on} wants at least {least}",
            floor.name,
            over.unwrap_or_default()
        );
        let remedy =
            Remedy::new(format!("make the screed {} thick", limit.value), thickness.at, limit.value.to_string());
        found.add(
            Finding::new(floor.subject, thickness.at, message).value(thickness.value).limit(&limit).remedy(remedy),
        );
    }
}

/// The thickness that this rule asks for, where a screed has less.
pub(super) fn asked(inspection: &Inspection, floor: &FloorItem) -> Option<Length> {
    let (limit, _) = wanted(inspection, floor).ok()??;
    let thickness = thickness(floor)?;
    (in_screed(floor) && thickness.value < limit.value - Length::millimetres(0.001)).then_some(limit.value)
}

fn in_screed(floor: &FloorItem) -> bool {
    let method = floor.given.method.map(|it| it.value);
    !floor.worked.loops.is_empty() && matches!(method, Some(Method::ClippedInScreed | Method::CastellatedTray))
}

fn thickness(floor: &FloorItem) -> Option<design::Placed<Length>> {
    floor.given.layers.get(floor.worked.pipe_layer.clone().ok()?)?.thickness
}

/// The least thickness, with what it is the least of; none where no limit is known.
fn wanted(inspection: &Inspection, floor: &FloorItem) -> Result<Option<(LimitValue<Length>, &'static str)>, Gap> {
    let at = floor.worked.pipe_layer.clone()?;
    let (given, worked) = (&floor.given.layers[at], &floor.worked.layers[at]);
    let heavy = floor.given.load.is_some_and(|load| load.value == Load::Heavy);
    let on_insulation = layers::from(floor, at + 1).any(|(_, _, worked)| worked.insulates());
    let on_sheet = layers::from(floor, at + 1).next().is_some_and(|(_, _, worked)| worked.is(Material::Membrane));
    let german = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::Germany);
    if given.least_cover.is_some() || german {
        return Ok(None);
    }
    Ok(match layers::binder(given, worked) {
        Some(Screed::SandCement) if on_insulation && heavy => {
            Some((CEMENT_HEAVY.get(&RULE, inspection), "sand and cement on insulation under heavy use"))
        }
        Some(Screed::SandCement) if on_insulation => {
            Some((CEMENT.get(&RULE, inspection), "sand and cement on insulation"))
        }
        Some(Screed::SandCement) if on_sheet => Some((UNBONDED.get(&RULE, inspection), "unbonded sand and cement")),
        Some(Screed::CalciumSulphate) if on_insulation && heavy => {
            Some((SULPHATE_HEAVY.get(&RULE, inspection), "calcium sulphate on insulation under heavy use"))
        }
        Some(Screed::CalciumSulphate) if on_insulation => {
            Some((SULPHATE.get(&RULE, inspection), "calcium sulphate on insulation"))
        }
        Some(Screed::Special) => {
            return Err(Gap::NoMethod("the maker's figures count for a special screed; give its least-cover".into()));
        }
        None => {
            return Err(Gap::NoMethod(format!("nothing tells what binds {}; give its `screed`", layers::name(given))));
        }
        Some(_) => None,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn floor(screed: &str, under: &str, more: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: clipped-in-screed\n    below: heated room\n{more}    layers:\n      - {{material: \
             {screed}, pipe: at base}}\n      - {{material: polyethylene membrane, thickness: 0.2 mm}}\n      - {under}\n"
        )
    }

    const BOARD: &str = "{material: EPS, thickness: 40 mm}";
    const SLAB: &str = "{material: concrete, thickness: 150 mm}";

    /// Concrete Society on BS 8204, and trade texts on BS 8204-7, in secondary texts.
    #[test]
    fn each_screed_has_its_own_least() {
        for (screed, under, more, passes, fails) in [
            ("cement screed", BOARD, "", "65 mm", "64 mm"),
            ("cement screed", BOARD, "    load: heavy\n", "75 mm", "74 mm"),
            ("cement screed", SLAB, "", "50 mm", "49 mm"),
        ] {
            let at = |thickness: &str| {
                messages(&RULE, &floor(&format!("{screed}, thickness: {thickness}"), under, more)).len()
            };
            assert_eq!((at(passes), at(fails)), (0, 1), "{screed} {under} {more}");
        }
    }

    /// 30 mm of cover over a pipe of 16 mm is 46 mm: more than the 35 mm that calcium sulphate wants by itself.
    #[test]
    fn the_rule_that_asks_for_more_speaks() {
        let thin = floor("flowing screed, thickness: 34 mm", BOARD, "");
        assert!(messages(&RULE, &thin).is_empty());
        assert_eq!(messages(&super::super::screed_too_thin_over_pipe::RULE, &thin).len(), 1);
        let cement = floor("cement screed, thickness: 34 mm", BOARD, "");
        assert_eq!(messages(&RULE, &cement).len(), 1);
        assert!(messages(&super::super::screed_too_thin_over_pipe::RULE, &cement).is_empty());
    }

    #[test]
    fn a_special_screed_goes_by_its_maker() {
        let special = floor("cement screed, screed: special, thickness: 30 mm", BOARD, "");
        assert_eq!(
            not_checked(&RULE, &special),
            ["the maker's figures count for a special screed; give its least-cover"]
        );
        let by_maker = floor("cement screed, least-cover: 15 mm, thickness: 32 mm", BOARD, "");
        assert!(messages(&RULE, &by_maker).is_empty());
    }
}
