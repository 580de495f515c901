//! The text must be YAML that can be read.
//!
//! A block that cannot be read is a block that is not checked. The rest of the file is checked all
//! the same.
//!
//! ## How it is worked out
//! The text is read as YAML 1.2. Where it is broken, the part that is broken is left out, line by line.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//!   W2
//! # ^^ this key has no `:` after it
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//!   W2:
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "syntax-error",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("syntax_error.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        let FaultKind::Text(kind) = &fault.kind else { continue };
        found.add(Finding::of_reading(fault, kind.to_string()).source("YAML 1.2"));
    }
}
