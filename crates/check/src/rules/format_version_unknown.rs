//! A design says which version of the format it is written in.
//!
//! Files outlive programs. A file that says its version can still be read rightly in twenty years.
//!
//! ## How it is worked out
//! The key `format` is compared with the versions that this program knows: 1.
//!
//! ```yaml fails
//! format: 2
//! #       ^ the format `2` is not known here; this program reads format 1
//! ```
//! ```yaml passes
//! format: 1
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "format-version-unknown",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("format_version_unknown.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        let (message, remedy) = match &fault.kind {
            FaultKind::UnknownFormat { number } => {
                (format!("the format `{number}` is not known here; this program reads format 1"), None)
            }
            FaultKind::FormatMissing => {
                let remedy = Remedy::new("say that the file is of format 1", fault.place, "format: 1\n");
                ("the file does not say its format; it begins with `format: 1`".to_string(), Some(remedy))
            }
            _ => continue,
        };
        found.add(Finding::of_reading(fault, message).remedy(remedy));
    }
}
