//! `workings`: the figures of a design and how they came about.

use super::looked_at;
use crate::Status;
use crate::arguments::{Format, Workings};
use crate::failure::{Failure, coloured, failure_with_help};
use crate::output;
use ::check::Group;

pub fn workings(arguments: &Workings) -> Result<Status, Failure> {
    let (path, mut outcome) = looked_at(&arguments.file)?;
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

    // What could not be read is missing from the figures: say so where it does not mix with them.
    outcome.findings.retain(|finding| finding.rule.group == Group::DesignFile);
    outcome.not_checked.clear();
    outcome.departed.clear();
    if !outcome.findings.is_empty() {
        let coloured = coloured(&std::io::stderr());
        eprint!("{}", String::from_utf8_lossy(&report::findings::text(&outcome, coloured)));
    }
    Ok(Status::Clean)
}

fn unknown(name: &str, path: &str, nearest: Option<String>) -> Failure {
    let help = match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("`hypocaust workings {path}` shows every figure"),
    };
    failure_with_help(format!("no figure of `{path}` is called `{name}`"), help)
}
