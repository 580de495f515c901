//! A stove or solid-fuel boiler feeds a floor only through a blend, a limit thermostat and with a heat dump.
//!
//! Solid-fuel heat cannot be switched off. When the pump stops the water goes on getting hotter: without somewhere safe for
//! it to go it boils, and a floor that is joined to it is cooked.
//!
//! **Caution.** It needs a heat dump and over-heat protection designed by a competent person before any floor is joined to it.
//! Local combustion rules apply.
//!
//! ## How it is worked out
//! Where the source is solid fuel: whether the design names a heat dump, a limit thermostat, and a mixing set at each manifold.
//! What it does not name is taken not to be there.
//!
//! ## Limit
//! All three: common practice, no source; local combustion rules apply.
//!
//! ```yaml fails
//! heat-source: {kind: solid fuel, flow-temperature: 38 °C, temperature-drop: 5 K, output: 8 kW}
//! #                   ^^^^^^^^^^ solid fuel feeds the floor without a heat dump, without a mixing set at manifold M1
//! ```
//! ```yaml passes
//! heat-source: {kind: solid fuel, flow-temperature: 70 °C, temperature-drop: 5 K, output: 8 kW, heat-dump: true}
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, mixing-set: true, flow-temperature: 38 °C}
//! ```

use super::prelude::*;
use design::SourceKind;

pub static RULE: Rule = Rule {
    name: "solid-fuel-source-uncontrolled",
    group: Group::Source,
    weights: [Warning, Error, Error, Error],
    caution: Some(
        "Solid-fuel heat cannot be switched off. It needs a heat dump and over-heat protection designed by a competent person before any floor is joined to it.",
    ),
    takes_departures: false,
    file: include_str!("solid_fuel_source_uncontrolled.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let source = &design.heat_source;
    let Some(kind) = source.kind.filter(|kind| kind.value == SourceKind::SolidFuel) else { return };
    if design.manifolds.is_empty() && design.loops.is_empty() {
        return;
    }
    let mut absent = Vec::new();
    if !source.broken && source.heat_dump.is_none_or(|dump| !dump.value) {
        absent.push("a heat dump".to_string());
    }
    if !design.safety.broken && design.safety.limit_thermostat.is_none() {
        absent.push("a limit thermostat".to_string());
    }
    let bare: Vec<&str> = inspection
        .manifolds()
        .filter(|it| !it.given.broken && it.given.mixing_set.is_none_or(|mixing| !mixing.value))
        .map(|it| it.name)
        .collect();
    match bare[..] {
        [] => {}
        [only] => absent.push(format!("a mixing set at manifold {only}")),
        [first, ..] => absent.push(format!("a mixing set at {} manifolds, {first} the first", bare.len())),
    }
    if absent.is_empty() {
        return;
    }
    let message = format!("solid fuel feeds the floor without {}", absent.join(", without "));
    let finding = Finding::new(Subject::HeatSource, kind.at, message);
    found.add(finding.source("common practice, no source; local combustion rules apply"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn each_part_is_asked_for() {
        let text = "heat-source: {kind: solid fuel, flow-temperature: 70 °C, heat-dump: false}\nsafety: {}\n\
                    manifolds:\n  M1: {ports: 4, mixing-set: true, flow-temperature: 38 °C}\n";
        assert_eq!(
            messages(&RULE, text),
            ["solid fuel feeds the floor without a heat dump, without a limit thermostat"]
        );
    }
}
