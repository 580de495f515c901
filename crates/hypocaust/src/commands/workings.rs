//! `workings`: the figures of a design and how they came about.

use super::{looked_at, told_what_could_not_be_read};
use crate::Status;
use crate::arguments::{Format, Workings};
use crate::failure::{Failure, failure_with_help};
use crate::output;

pub fn workings(arguments: &Workings) -> Result<Status, Failure> {
    let (path, outcome) = looked_at(&arguments.file, None)?;
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
    Ok(told_what_could_not_be_read(outcome))
}

fn unknown(name: &str, path: &str, nearest: Option<String>) -> Failure {
    let help = match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("`hypocaust workings {path}` shows every figure"),
    };
    failure_with_help(format!("no figure of `{path}` is called `{name}`"), help)
}
