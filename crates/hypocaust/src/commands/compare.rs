//! `compare`: two versions of a design in, what lies between them out.

use crate::Status;
use crate::arguments::{Compare, CompareFormat};
use crate::failure::{Failure, failure, failure_with_help};
use crate::files::{self, Wanted};
use crate::output;
use crate::repository::Repository;
use ::check::compare::Revision;
use ::check::{Job, Outcome};
use jiff::civil::Date;
use report::compare::Versions;
use std::path::Path;

pub fn compare(arguments: &Compare) -> Result<Status, Failure> {
    let today = arguments.today.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let house_standard = arguments.house_standard.as_deref();
    super::readable(house_standard)?;
    let new_file = arguments.new.as_ref().unwrap_or(&arguments.old);
    let (old_name, old) = match &arguments.since {
        Some(revision) => at_revision(&arguments.old, revision, house_standard, today)?,
        None => on_disk(&arguments.old, house_standard, today)?,
    };
    let (new_name, new) = on_disk(new_file, house_standard, today)?;
    let comparison = ::check::compare::compare(&old, &new);
    let versions = Versions { old_name: &old_name, new_name: &new_name, old: &old, new: &new, comparison: &comparison };
    let printed = match arguments.format {
        CompareFormat::Text => report::compare::text(&versions),
        CompareFormat::Markdown => report::compare::markdown(&versions),
        CompareFormat::Json => report::compare::json(&versions),
    };
    output::print([printed.as_bytes()])?;
    let worse = comparison.findings.iter().any(|it| it.became.is_worse() && it.finding.severity >= arguments.fail_on);
    let not_raised = matches!(comparison.revision, Revision::NotRaised(_));
    Ok(if worse || not_raised { Status::Found } else { Status::Clean })
}

/// A version that stands in a file.
fn on_disk(file: &str, house_standard: Option<&str>, today: Date) -> Result<(String, Outcome), Failure> {
    let wanted = Wanted::new(file, true);
    let path = wanted.name();
    let bytes = wanted.bytes().map_err(|reason| failure(format!("cannot read `{path}`: {reason}")))?;
    let house_standard = files::house_standard(house_standard, &wanted);
    let outcome = ::check::check(&Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        house_standard: house_standard.as_deref(),
        today,
        remedies: false,
    });
    Ok((path, outcome))
}

/// A version as it was at a revision of the repository, with the libraries and the house standard of then.
fn at_revision(
    file: &str,
    revision: &str,
    house_standard: Option<&str>,
    today: Date,
) -> Result<(String, Outcome), Failure> {
    if file == "-" {
        return Err(failure("standard input was nothing at a revision; name a file"));
    }
    let repository = Repository::here()?;
    let commit = repository.commit(revision)?;
    let at = |path: &str| repository.file_at(&commit, Path::new(path));
    let wanted = Wanted::new(file, true);
    let path = wanted.name();
    let bytes = at(&path).map_err(|_| {
        let help = "one that had another name then can be written to a file with `git show REVISION:NAME > FILE`";
        failure_with_help(format!("`{path}` was not there at `{revision}`"), help)
    })?;
    let then = |path: &str| match path.ends_with(".yaml") || path.ends_with(".yml") {
        // Both versions are held against the one that is named.
        true if house_standard == Some(path) => files::library(path),
        true => at(path),
        false => Err("the name of a library ends with `.yaml`".into()),
    };
    let nearest = || {
        let paths = repository.house_standards(&wanted.path);
        paths.iter().map(|path| path.to_string_lossy().into_owned()).find(|path| at(path).is_ok())
    };
    let house_standard = house_standard.map(str::to_string).or_else(nearest);
    let outcome = ::check::check(&Job {
        path: &path,
        bytes: &bytes,
        files: &then,
        house_standard: house_standard.as_deref(),
        today,
        remedies: false,
    });
    Ok((format!("{path} at {revision}"), outcome))
}
