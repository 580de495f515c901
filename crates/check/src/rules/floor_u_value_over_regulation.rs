//! The whole floor holds heat as well as the building regulation asks.
//!
//! The regulation counts the floor against the outdoors, heated or not; building control refuses one that loses more.
//!
//! ## How it is worked out
//! Over the ground by EN ISO 13370 from the layers and the slab's area and edge; over outdoor air by EN ISO 6946 from the layers and films.
//!
//! ## Limit
//! England, 2021 edition: 0.18 W/(m²·K) for new buildings and new floors (Approved Document L, volume 1, tables 4.1 and 4.2, as a
//! consultant's copy and three more texts give them), 0.25 for floors that are renovated (table 4.3, as one page gives it). The 2026
//! edition takes over on 24 March 2027; its figures were not seen.
//!
//! ## Exceptions
//! Where the insulation is missing or under the minimum of EN 1264-4 those rules speak.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     slab: {area: 60 m², perimeter: 32 m}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 60 mm, conductivity: 0.022 W/(m·K)}
//! #                                        ^^^^^ floor screeded lets 0.25 W/(m²·K) through; the regulation allows a new floor at most 0.18 W/(m²·K)
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     slab: {area: 60 m², perimeter: 32 m}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: PIR board, thickness: 100 mm, conductivity: 0.022 W/(m·K)}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::insulation_below_minimum::wanted;
use super::prelude::*;
use crate::insulation;
use crate::layers::FloorItem;
use design::{Below, Jurisdiction, Scope};
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "floor-u-value-over-regulation",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[NEW, RENOVATED],
    caution: Some("Assumes the jurisdiction and edition shown; rules change."),
    file: include_str!("floor_u_value_over_regulation.rs"),
    check,
    ..Rule::USUAL
};

const NEW: Limit = Limit {
    name: "new-floor-in-england",
    value: "0.18 W/(m²·K)",
    source: "Approved Document L, volume 1 (England, 2021 edition), tables 4.1 and 4.2, as a consultant's copy and three more texts give them",
};
const RENOVATED: Limit = Limit {
    name: "renovated-floor-in-england",
    value: "0.25 W/(m²·K)",
    source: "Approved Document L, volume 1 (England, 2021 edition), table 4.3, as one page gives it",
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let outside = |below: Below| matches!(below, Below::Ground | Below::OutdoorAir);
    let mut floors = inspection
        .floors()
        .filter(|floor| !floor.worked.loops.is_empty() && floor.given.below.is_some_and(|it| outside(it.value)))
        .peekable();
    if floors.peek().is_none() || !found.applies_in(inspection, &[Jurisdiction::England]) {
        return;
    }
    if inspection.today >= NEXT_EDITION {
        let reason = "the 2026 edition of Approved Document L is in force, and its figures are not known here";
        return found.not_checked(Subject::Site, &Gap::NoMethod(reason.into()));
    }
    let Some((limit, kind)) = allowed(inspection) else { return found.missing(Subject::Project, "scope") };
    for floor in floors {
        // Too little insulation even for the heating is said by its own rules.
        let least = floor.given.below.and_then(|below| wanted(inspection, below.value).ok());
        let resists = floor.worked.insulation_below.as_ref().ok().map(|it| it.value);
        if let (Some(least), Some(resists)) = (least, resists)
            && resists < least.value
        {
            continue;
        }
        let Some(u) = found.need(floor.subject, &floor.worked.u_value) else { continue };
        if u.value <= limit.value {
            continue;
        }
        let (value, most) = (u.value, limit.value);
        let message = format!("floor {} lets {value} through; the regulation allows {kind} at most {most}", floor.name);
        let (place, remedy) = match insulation::enough(inspection, &floor) {
            Some((place, remedy)) => (place, Some(remedy)),
            None => (floor.place, None),
        };
        found.add(
            Finding::new(floor.subject, place, message)
                .value(u.value)
                .limit(&limit)
                .figure(format!("floors.{}.u-value", floor.name))
                .remedy(remedy),
        );
    }
}

/// What the regulation allows, and of what kind of floor; nothing where it is not known.
fn allowed(inspection: &Inspection) -> Option<(LimitValue<Transmittance>, &'static str)> {
    match inspection.design.project.scope?.value {
        Scope::NewBuilding | Scope::Extension => Some((NEW.get(&RULE, inspection), "a new floor")),
        Scope::Conversion | Scope::Renovation | Scope::Replacement => {
            Some((RENOVATED.get(&RULE, inspection), "a renovated floor"))
        }
    }
}

/// From this day on another edition counts.
const NEXT_EDITION: jiff::civil::Date = jiff::civil::date(2027, 3, 24);

/// How much more resistance a floor wants for the regulation, where one is known for it; nothing where it is met.
pub(crate) fn wanting(inspection: &Inspection, floor: &FloorItem) -> Option<ThermalResistance> {
    let england = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::England);
    if !england || inspection.today >= NEXT_EDITION {
        return None;
    }
    let most = allowed(inspection)?.0.value;
    let number = insulation::number(floor)?;
    let resistance = ThermalResistance::square_metre_kelvin_per_watt;
    let over = |more: f64| {
        let u = workings::u_value_if(inspection.design, inspection.workings, number, resistance(more)).ok()?;
        Some(u > most)
    };
    if !over(0.0)? {
        return None;
    }
    // The ground's own share falls as more is laid: halved in on.
    let (mut short, mut enough) = (0.0, 10.0);
    if over(enough)? {
        return None;
    }
    for _ in 0..40 {
        let middle = (short + enough) / 2.0;
        if over(middle)? { short = middle } else { enough = middle }
    }
    Some(resistance(enough))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{BASE, messages, not_checked};

    fn floor(thickness: &str) -> String {
        format!(
            "floors:\n  screeded:\n    method: clipped-in-screed\n    below: outdoor air\n    layers:\n      - {{material: cement \
             screed, thickness: 65 mm, pipe: at base, conductivity: 1.3 W/(m·K)}}\n      - {{material: a board, thickness: {thickness}, \
             conductivity: 0.02 W/(m·K)}}\n"
        )
    }

    /// EN ISO 6946: 0.17 + 0.05 + d / 0.02 + 0.04 = 1 / 0.18 at d = 105.9 mm, and 1 / 0.25 at 74.8 mm.
    #[test]
    fn new_and_renovated_floors_in_england() {
        assert!(messages(&RULE, &floor("106 mm")).is_empty());
        assert_eq!(
            messages(&RULE, &floor("105.8 mm")),
            ["floor screeded lets 0.1802 W/(m²·K) through; the regulation allows a new floor at most 0.18 W/(m²·K)"]
        );
        let project = |scope: &str| format!("project: {{name: A, reference: A-1, revision: P1, scope: {scope}}}\n");
        assert!(messages(&RULE, &(project("renovation") + &floor("74.9 mm"))).is_empty());
        assert_eq!(messages(&RULE, &(project("renovation") + &floor("74.7 mm"))).len(), 1);
    }

    #[test]
    fn elsewhere_and_without_its_edge_it_is_not_checked() {
        let elsewhere = "site: {outdoor-temperature: -3 °C, jurisdiction: France}\n".to_string() + &floor("80 mm");
        assert_eq!(not_checked(&RULE, &elsewhere), ["this rule knows the regulations of England"]);
        assert_eq!(not_checked(&RULE, BASE), ["floors/screeded/slab/area"]);
    }
}
