//! What each command does.

mod check;
mod guidance;
mod schedule;
mod schema;
mod workings;

use crate::failure::{Failure, failure};
use crate::files::{self, Wanted};

pub use check::check;
pub use guidance::guidance;
pub use schedule::schedule;
pub use schema::schema;
pub use workings::workings;

/// The path of one design as it is to be named, and all that a check of it gives; remedies are not tried out.
fn looked_at(file: &str) -> Result<(String, ::check::Outcome), Failure> {
    let wanted = Wanted::new(file, true);
    let path = wanted.name();
    let bytes = wanted.bytes().map_err(|reason| failure(format!("cannot read `{path}`: {reason}")))?;
    let outcome = ::check::check(&::check::Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        today: jiff::ZonedDateTime::now().date(),
        remedies: false,
    });
    Ok((path.to_string(), outcome))
}
