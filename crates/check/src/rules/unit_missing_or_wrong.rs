//! Every quantity is written with its unit, and with one of the right kind.
//!
//! A bare number is read by each trade in its own unit. A spacing of `150` is obvious until somebody
//! writes `0.15`.
//!
//! ## How it is worked out
//! The text is read as a number and a unit, and the unit is looked up among those of its kind. What is written in
//! another unit of the same quantity is offered converted: degrees Fahrenheit, feet, pounds to the square inch, and a
//! pressure in metres, which are metres of water.
//!
//! ## Exceptions
//! Coordinates in plan are bare numbers: they are metres.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100}
//! #                                         ^^^ `100` has no unit; a length is wanted, such as `100 mm`
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 l/min}
//! #                                             ^^^^^ `l/min` is no unit of a length; use mm, m, cm, µm
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 4 in}
//! #                                         ^^^^ `in` is no unit of a length; use mm, m, cm, µm; 4 in is 101.6 mm
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 101.6 mm}
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 10 cm}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "unit-missing-or-wrong",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("unit_missing_or_wrong.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        let place = fault.place;
        let (message, remedies) = match &fault.kind {
            FaultKind::BareNumber { kind, number, meant } => {
                let example = meant.first().map(|text| format!(", such as `{text}`")).unwrap_or_default();
                let message = format!("`{number}` has no unit; {kind} is wanted{example}");
                let remedies = meant.iter().map(|text| Remedy::new(format!("write `{text}`"), place, text));
                (message, remedies.collect())
            }
            FaultKind::WrongUnit { kind, unit, nearest, converted, accepted } => {
                let written = inspection.text(place).trim_matches(['\'', '"']);
                let (guess, remedy) = match (nearest, converted) {
                    (_, Some(converted)) => (
                        format!("; {written} is {converted}"),
                        Some(Remedy::new(format!("write `{converted}`"), place, converted)),
                    ),
                    (Some(nearest), None) => (
                        format!("; did you mean `{nearest}`"),
                        Some(Remedy::new(format!("write `{nearest}`"), place, *nearest)).filter(|_| written == unit),
                    ),
                    (None, None) => (String::new(), None),
                };
                let message = format!("`{unit}` is no unit of {kind}; use {}{guess}", accepted.join(", "));
                (message, remedy.into_iter().collect())
            }
            FaultKind::DecimalComma { better } => {
                let message = format!("a decimal comma cannot be read; write `{better}`");
                (message, vec![Remedy::new(format!("write `{better}`"), place, better.clone())])
            }
            FaultKind::NoNumber { kind, found } => {
                (format!("`{found}` is not {kind}: a number and its unit are wanted"), Vec::new())
            }
            _ => continue,
        };
        let mut finding = Finding::of_reading(fault, message);
        finding.remedies = remedies;
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::check;

    /// The title of each remedy that is offered for the only fault of a text.
    #[track_caller]
    fn offered(text: &str) -> Vec<String> {
        let outcome = check(text);
        let findings: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == super::RULE.name).collect();
        assert_eq!(findings.len(), 1, "{findings:?}");
        findings[0].remedies.iter().map(|it| it.title.clone()).collect()
    }

    #[test]
    fn a_remedy_keeps_the_quantity() {
        let source = |temperature: &str| {
            offered(&format!("heat-source: {{kind: heat pump, flow-temperature: {temperature}}}\n"))
        };
        assert_eq!(source("104 °F"), ["write `40 °C`"]);
        assert_eq!(source("313.15 K"), ["write `40 °C`"]);
        // Nobody lets water of 233 °C below zero into a floor.
        assert_eq!(source("40 K"), [""; 0]);
        assert_eq!(source("40 °"), ["write `°C`"]);
        let manifold = |given: &str| offered(&format!("manifolds: {{M1: {{ports: 4, {given}}}}}\n"));
        assert_eq!(manifold("pump: {head: 4 m}"), ["write `39.227 kPa`"]);
        assert_eq!(manifold("pump: {head: 4 l}"), [""; 0]);
        assert_eq!(manifold("flow-gauge: 0.5 to 5 gpm"), [""; 0]);
        let room = |given: &str| offered(&format!("rooms: {{hall: {{{given}}}}}\n"));
        assert_eq!(room("area: 130 ft²"), ["write `12.077 m²`"]);
        assert_eq!(room("area: 12 m"), [""; 0]);
        assert_eq!(room("heat-loss: 2 kWh"), [""; 0]);
    }

    /// In braces a comma parts the number in two; no remedy may lose what stands after it.
    #[test]
    fn a_decimal_comma_in_braces_is_told_as_one() {
        let text = "rooms: {hall: {area: 18,9 m², heat-loss: 600 W}}\n";
        assert_eq!(offered(text), ["write `18.9 m²`"]);
        assert!(check(text).findings.iter().all(|it| it.rule.name != "unknown-field"));
        assert_eq!(offered("rooms: {hall: {area: 18, 9 m²}}\n"), ["write `18 m²`"]);
    }

    #[test]
    fn a_bare_number_is_offered_its_usual_units() {
        let wall = |thickness: &str| offered(&format!("walls: {{W1: {{thickness: {thickness}}}}}\n"));
        assert_eq!(wall("100"), ["write `100 mm`"]);
        assert_eq!(wall("0.1"), ["write `0.1 m`"]);
        let plates = |coverage: &str| offered(&format!("floors: {{F: {{plates: {{coverage: {coverage}}}}}}}\n"));
        assert_eq!(plates("0.9"), ["write `90 %`"]);
        assert_eq!(plates("0.07"), ["write `7 %`"]);
        assert_eq!(plates("90"), ["write `90 %`"]);
    }
}
