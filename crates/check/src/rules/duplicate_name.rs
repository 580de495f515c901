//! A name may be given to one thing only.
//!
//! The second of two things with one name is not read, so it is not checked and not built.
//!
//! ## How it is worked out
//! The keys of a block are compared, and the names of a library with those of the design.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//!   W1: {line: [[0, 3], [4, 3]], thickness: 100 mm}
//! # ^^ `W1` is given twice; only the first is read
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//!   W2: {line: [[0, 3], [4, 3]], thickness: 100 mm}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "duplicate-name",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("duplicate_name.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        let FaultKind::GivenTwice { name, first } = &fault.kind else { continue };
        let message = format!("`{name}` is given twice; only the first is read");
        found.add(Finding::of_reading(fault, message).related(*first, format!("`{name}` is given here first")));
    }
}
