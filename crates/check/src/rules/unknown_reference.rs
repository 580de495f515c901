//! Every name that is used must be given to something.
//!
//! A loop in a room that does not exist heats nothing, and nothing of it can be worked out.
//!
//! ## How it is worked out
//! The name is looked up among those of its kind, in the design and its libraries. The nearest spelling is offered
//! where it is the only one; the rest of the check then goes on as if that were written. Where a library cannot be read,
//! pipes, floors and manifolds that may be given in it are told with it.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hal, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! #                                   ^^^ there is no room `hal`; did you mean `hall`
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```

use super::prelude::*;
use crate::remedy::written;
use design::Place;

pub static RULE: Rule = Rule {
    name: "unknown-reference",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("unknown_reference.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let faults = &inspection.reading.faults;
    let is_unread = |fault: &design::Fault| matches!(fault.kind, FaultKind::LibraryUnreadable { .. });
    let unread = faults.iter().any(is_unread);
    // Names that may be given in a library that could not be read.
    let mut perhaps_there: Vec<(Place, String)> = Vec::new();
    for fault in faults {
        if let FaultKind::UnknownName { name, kind, nearest } = &fault.kind {
            if unread && nearest.is_none() && matches!(kind, Kind::Pipe | Kind::Floor | Kind::Manifold) {
                perhaps_there.push((fault.place, format!("the {} `{name}` may be given in it", kind.word())));
                continue;
            }
            let guess = nearest.as_ref().map(|name| format!("; did you mean `{name}`")).unwrap_or_default();
            let message = match kind {
                Kind::Pipe => format!("`{name}` is neither one of `pipes` nor a size such as `PE-X 16 x 2`{guess}"),
                _ => format!("there is no {} `{name}`{guess}", kind.word()),
            };
            let remedy =
                nearest.as_ref().map(|name| Remedy::new(format!("write `{name}`"), fault.place, written(name)));
            found.add(Finding::of_reading(fault, message).remedy(remedy));
        }
    }
    for fault in faults {
        if let FaultKind::LibraryUnreadable { path, reason } = &fault.kind {
            let mut finding = Finding::of_reading(fault, format!("the library `{path}` cannot be read: {reason}"));
            for (place, message) in perhaps_there.drain(..).take(TOLD) {
                finding = finding.related(place, message);
            }
            found.add(finding);
        }
        if let FaultKind::HouseStandardUnreadable { path, reason } = &fault.kind {
            let message = format!("the house standard `{path}` cannot be read: {reason}");
            found.add(Finding::of_reading(fault, message));
        }
    }
}

/// How many names are told with a library that cannot be read.
const TOLD: usize = 20;
