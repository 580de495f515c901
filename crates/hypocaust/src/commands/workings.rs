//! `workings`: the figures of a design and how they came about.

use crate::Status;
use crate::arguments::{Format, Workings};
use crate::commands::told_what_could_not_be_read;
use crate::failure::{Failure, failure, failure_with_help};
use crate::files::{self, Wanted};
use crate::output;
use ::check::Job;

pub fn workings(arguments: &Workings) -> Result<Status, Failure> {
    let wanted = Wanted::new(&arguments.file, true);
    let path = wanted.name();
    let bytes = wanted.bytes().map_err(|reason| failure(format!("cannot read `{path}`: {reason}")))?;
    let outcome = ::check::check(&Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        today: jiff::ZonedDateTime::now().date(),
        remedies: false,
    });
    let sheet = workings::sheet(&outcome.design, &outcome.workings);
    let lines = match &arguments.name {
        None => sheet.iter().collect(),
        Some(name) => report::workings::named(&sheet, name).map_err(|nearest| unknown(name, &path, nearest))?,
    };
    let printed = match arguments.format {
        Format::Text => report::workings::text(&outcome, &lines),
        Format::Json => report::workings::json(&outcome, &lines),
    };
    output::print([printed.as_bytes()])?;
    told_what_could_not_be_read(outcome);
    Ok(Status::Clean)
}

fn unknown(name: &str, path: &str, nearest: Option<String>) -> Failure {
    let help = match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("`hypocaust workings {path}` shows every figure"),
    };
    failure_with_help(format!("no figure of `{path}` is called `{name}`"), help)
}
