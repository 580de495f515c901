//! What each command does.

mod check;
mod compare;
mod guidance;
mod install;
mod issue;
mod plan;
mod remedy;
mod schedule;
mod schema;
mod start;
mod workings;

use crate::Status;
use crate::failure::{Failure, coloured, failure};
use crate::files::{self, Wanted};
use ::check::{Finding, House, Job, Outcome};

pub use check::check;
pub use compare::compare;
pub use guidance::guidance;
pub use install::{completions, manual};
pub use issue::issue;
pub use plan::plan;
pub use remedy::{remedy, replace};
pub use schedule::schedule;
pub use schema::schema;
pub use start::start;
pub use workings::workings;

/// The path of one design as it is to be named, and all that a check of it gives; remedies are not tried out.
fn looked_at(file: &str, house_standard: Option<&str>) -> Result<(String, Outcome), Failure> {
    let wanted = Wanted::new(file, true);
    let path = wanted.name();
    let bytes = wanted.bytes().map_err(|reason| failure(format!("cannot read `{path}`: {reason}")))?;
    let outcome = ::check::check(&Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        house_standard: files::house_standard(house_standard, &wanted).as_deref(),
        today: jiff::ZonedDateTime::now().date(),
        remedies: false,
    });
    Ok((path.to_string(), outcome))
}

/// The house standard of a path, as far as it can be read.
fn house(path: Option<&str>) -> House {
    let read = |path| Some(House::read(path, &files::library(path).ok()?));
    path.and_then(read).unwrap_or_default()
}

/// Fails early where the house standard that is named cannot be read.
fn readable(house_standard: Option<&str>) -> Result<(), Failure> {
    let Some(path) = house_standard else { return Ok(()) };
    let unreadable = |reason| failure(format!("cannot read the house standard `{path}`: {reason}"));
    files::library(path).map(|_| ()).map_err(unreadable)
}

/// What could not be read, or that nobody would believe, is missing from figures and drawings: says so where it does not mix with them, and by the exit
/// status, for whoever sees only what was printed.
fn told_what_could_not_be_read(mut outcome: Outcome) -> Status {
    let is_missing = |it: &Finding| ::check::OF_READING.contains(&it.rule.name) || it.leaves_values_out();
    outcome.findings.retain(is_missing);
    outcome.not_checked.clear();
    outcome.departed.clear();
    if outcome.findings.is_empty() {
        return Status::Clean;
    }
    let coloured = coloured(&std::io::stderr());
    say!("{}", String::from_utf8_lossy(&report::findings::listed(&outcome, coloured)));
    Status::Found
}
