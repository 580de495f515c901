//! Every quantity is written with its unit, and with one of the right kind.
//!
//! A bare number is read by each trade in its own unit. A spacing of `150` is obvious until somebody
//! writes `0.15`.
//!
//! ## How it is worked out
//! The text is read as a number and a unit, and the unit is looked up among those of its kind.
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
//! #                                             ^^^^^ `l/min` is no unit of a length; use mm, m, cm, µm, um
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
            FaultKind::BareNumber { kind, number, usual } => {
                let example = usual.first().map(|unit| format!(", such as `{number} {unit}`")).unwrap_or_default();
                let message = format!("`{number}` has no unit; {kind} is wanted{example}");
                let with_unit = |unit: &&str| {
                    let text = format!("{number} {unit}");
                    Remedy::new(format!("write `{text}`"), place, text)
                };
                (message, usual.iter().map(with_unit).collect())
            }
            FaultKind::WrongUnit { kind, unit, nearest, accepted } => {
                let message = match nearest {
                    Some(nearest) => format!("`{unit}` is no unit of {kind}; did you mean `{nearest}`"),
                    None => format!("`{unit}` is no unit of {kind}; use {}", accepted.join(", ")),
                };
                let written = inspection.text(place);
                let remedy = nearest
                    .filter(|_| written == unit)
                    .map(|nearest| Remedy::new(format!("write `{nearest}`"), place, nearest));
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
        let mut finding = Finding::new(Subject::Design, place, message).source("the design format, version 1");
        finding.remedies = remedies;
        found.add(finding);
    }
}
