//! Every value must be of the shape, or one of the words, that its key takes.
//!
//! A value that cannot be understood is not read, and what depends on it is not checked.
//!
//! ## How it is worked out
//! The value is held against what the format says of its key; the nearest word is offered.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], kind: partion}
//! #                                    ^^^^^^^ `partion` is not one of partition, outside, party, fire; did you mean `partition`
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], kind: partition}
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: -100 mm}
//! #                                         ^^^^^^^ `-100 mm` is less than nothing; a length is never that
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [0, 4], kind: partition}
//! #             ^ a point, as `[x, y]` in metres, is wanted, but here is `0`
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "value-not-understood",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("value_not_understood.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        let (message, remedy) = match &fault.kind {
            FaultKind::WrongShape { expected, found } => {
                (format!("{} is wanted, but here is {found}", wanted(expected)), None)
            }
            FaultKind::NoCoordinate { found } => {
                (format!("`{found}` is no number; a point is `[x, y]` in metres"), None)
            }
            FaultKind::NotTwoNumbers { numbers: 1, .. } => {
                ("a point has two numbers, `[x, y]` in metres, and here is one".to_string(), None)
            }
            FaultKind::NotTwoNumbers { numbers, better } => {
                let hint = better.as_ref().map(|it| format!("; if commas are meant as decimal points, write `{it}`"));
                let message = format!(
                    "a point has two numbers, `[x, y]` in metres, and here are {numbers}{}",
                    hint.unwrap_or_default()
                );
                (message, better.as_ref().map(|it| Remedy::new(format!("write `{it}`"), fault.place, it)))
            }
            FaultKind::LineGoesOn { points } => {
                (format!("a line has two points, and here are {points}; draw the rest as a second one"), None)
            }
            FaultKind::TooMany { kind, limit } => (
                format!("more than {limit} {}s are named here; the rest is not read, split the file", kind.word()),
                None,
            ),
            FaultKind::TooManyFaults { limit } => {
                (format!("more than {limit} things could not be read; those from here on are not told"), None)
            }
            FaultKind::Negative { kind, found } => {
                (format!("`{found}` is less than nothing; {kind} is never that"), None)
            }
            FaultKind::Unbelievable { kind, found } => (
                format!("`{found}` is hard to believe in any unit; {kind} is read from 1e-12 to 1e12 in SI units"),
                None,
            ),
            FaultKind::Reversed { found, better } => {
                let hint = better.as_ref().map(|better| format!("; write `{better}`")).unwrap_or_default();
                let remedy = better.as_ref().map(|it| Remedy::new(format!("write `{it}`"), fault.place, it));
                (format!("the range `{found}` has its greater end first{hint}"), remedy)
            }
            FaultKind::UnknownWord { word, nearest, allowed } => {
                let guess = nearest.map(|word| format!("; did you mean `{word}`")).unwrap_or_default();
                let message = format!("`{word}` is not one of {}{guess}", allowed.join(", "));
                (message, nearest.map(|word| Remedy::new(format!("write `{word}`"), fault.place, word)))
            }
            _ => continue,
        };
        found.add(Finding::of_reading(fault, message).remedy(remedy));
    }
}

fn wanted(expected: &Expected) -> &'static str {
    match expected {
        Expected::Block => "a block of keys",
        Expected::List => "a list",
        Expected::Text => "text",
        Expected::Number => "a number",
        Expected::Whole => "a whole number",
        Expected::Flag => "`true` or `false`",
        Expected::Date => "a date, as `2026-03-04`,",
        Expected::Point => "a point, as `[x, y]` in metres,",
        Expected::Line => "a line, as `[[x, y], [x, y]]` in metres,",
        Expected::Thing(thing) => thing,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    /// The message of the only finding, and the titles of its remedies.
    #[track_caller]
    fn told(text: &str) -> (String, Vec<String>) {
        let outcome = check(text);
        let found: Vec<_> = outcome.findings.into_iter().filter(|it| it.rule.name == RULE.name).collect();
        assert_eq!(found.len(), 1, "{found:?}");
        (found[0].message.clone(), found[0].remedies.iter().map(|it| it.title.clone()).collect())
    }

    #[test]
    fn a_range_the_wrong_way_round_is_turned_only_where_it_has_one_unit() {
        let gauge = |range: &str| told(&format!("manifolds: {{M1: {{ports: 4, flow-gauge: {range}}}}}\n"));
        let (message, remedies) = gauge("5 to 0.5 l/min");
        assert_eq!(message, "the range `5 to 0.5 l/min` has its greater end first; write `0.5 to 5 l/min`");
        assert_eq!(remedies, ["write `0.5 to 5 l/min`"]);
        assert_eq!(gauge("5 l/min to 30 l/h").1, [""; 0]);
    }

    #[test]
    fn a_line_has_two_points() {
        let joint = |line: &str| told(&format!("movement-joints: {{J1: {{line: {line}}}}}\n")).0;
        assert_eq!(
            joint("[[0, 0], [3, 0], [3, 2]]"),
            "a line has two points, and here are 3; draw the rest as a second one"
        );
        assert_eq!(joint("[[0, 0]]"), "a line, as `[[x, y], [x, y]]` in metres, is wanted, but here is a list");
    }

    #[test]
    fn a_point_is_two_numbers() {
        let joint = |point: &str| told(&format!("movement-joints: {{J1: {{line: [[0, 0], {point}]}}}}\n"));
        assert_eq!(joint("[NaN, 3.55]").0, "`NaN` is no number; a point is `[x, y]` in metres");
        assert_eq!(joint("[.nan, 4]").0, "`.nan` is no number; a point is `[x, y]` in metres");
        assert_eq!(joint("[1.5 m, 4]").0, "`1.5 m` is no number; a point is `[x, y]` in metres");
        assert_eq!(joint("[1]").0, "a point has two numbers, `[x, y]` in metres, and here is one");
        assert_eq!(joint("[1, 2, 3]").0, "a point has two numbers, `[x, y]` in metres, and here are 3");
        for (point, better) in [("[0,15, 3.55]", "[0.15, 3.55]"), ("[-0,15, 3,55]", "[-0.15, 3.55]")] {
            let (message, remedies) = joint(point);
            assert!(
                message.ends_with(&format!("; if commas are meant as decimal points, write `{better}`")),
                "{message}"
            );
            assert_eq!(remedies, [format!("write `{better}`")]);
        }
        assert_eq!(joint("[0.1,15, 3]").1, [""; 0]);
    }

    #[test]
    fn a_size_that_nothing_has_is_refused() {
        for corner in ["1e308", "-1e999"] {
            let (message, _) = told(&format!("walls: {{W1: {{line: [[0, 0], [{corner}, 0]]}}}}\n"));
            assert!(message.starts_with(&format!("`{corner}` is hard to believe in any unit")), "{message}");
        }
        for loss in ["1e308 W", "1e999 W", "1e-308 W"] {
            let (message, _) = told(&format!("rooms: {{hall: {{heat-loss: {loss}}}}}\n"));
            assert!(message.starts_with(&format!("`{loss}` is hard to believe in any unit")), "{message}");
        }
    }
}
