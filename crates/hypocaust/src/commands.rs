//! What each command does.

mod check;
mod guidance;
mod plan;
mod schema;
mod workings;

pub use check::check;
pub use guidance::guidance;
pub use plan::plan;
pub use schema::schema;
pub use workings::workings;

use crate::failure::coloured;
use ::check::{Group, Outcome};

/// What could not be read is missing from figures and drawings: says so where it does not mix with them.
fn told_what_could_not_be_read(mut outcome: Outcome) {
    outcome.findings.retain(|finding| finding.rule.group == Group::DesignFile);
    outcome.not_checked.clear();
    outcome.departed.clear();
    if !outcome.findings.is_empty() {
        let coloured = coloured(&std::io::stderr());
        eprint!("{}", String::from_utf8_lossy(&report::findings::text(&outcome, coloured)));
    }
}
