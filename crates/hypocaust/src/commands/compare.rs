//! `compare`: two versions of a design in, what lies between them out.

use crate::Status;
use crate::arguments::{Compare, CompareFormat};
use crate::failure::{Failure, failure, failure_with_help, tell};
use crate::files::{self, Wanted};
use crate::output;
use crate::repository::{Repository, Then};
use ::check::compare::Revision;
use ::check::{Job, Outcome, Severity};
use jiff::civil::Date;
use report::compare::Versions;
use std::cell::RefCell;
use std::path::{Path, PathBuf};

pub fn compare(arguments: &Compare) -> Result<Status, Failure> {
    let (today, house_standard) = (arguments.against.day(), arguments.against.house_standard());
    super::readable(house_standard)?;
    let (old_name, old, (new_name, new)) = match (&arguments.new, &arguments.since) {
        (None, None) => {
            let help = format!(
                "name the new version too, or ask the repository for the old one: `hypocaust compare {} --since REVISION`",
                arguments.old
            );
            return Err(failure_with_help(format!("there is nothing to compare `{}` with", arguments.old), help));
        }
        (Some(new), _) if arguments.old == "-" && new == "-" => {
            return Err(failure("standard input can be read once; name a file for one of the versions"));
        }
        (Some(new), _) => {
            let (name, old) = on_disk(&arguments.old, house_standard, today)?;
            (name, old, on_disk(new, house_standard, today)?)
        }
        (None, Some(revision)) => {
            let (name, old) = at_revision(&arguments.old, revision, house_standard, today)?;
            (name, old, on_disk(&arguments.old, house_standard, today)?)
        }
    };
    let is_whole = is_read_whole(&old_name, &old)? & is_read_whole(&new_name, &new)?;
    let comparison = ::check::compare::compare(&old, &new);
    let versions = Versions { old_name: &old_name, new_name: &new_name, old: &old, new: &new, comparison: &comparison };
    let printed = match arguments.format {
        CompareFormat::Text => report::compare::text(&versions),
        CompareFormat::Markdown => report::compare::markdown(&versions),
        CompareFormat::Json => report::compare::json(&versions),
    };
    output::print([printed.as_bytes()])?;
    let worse = comparison.findings.iter().any(|it| it.became.is_worse() && it.finding.severity >= arguments.fail_on);
    let not_raised = matches!(comparison.revision, Revision::NotRaised(_) | Revision::Lowered { .. });
    Ok(if worse || not_raised || !is_whole { Status::Found } else { Status::Clean })
}

/// Whether all blocks of a version could be read; what is missing would be told as if it had been added or removed. Fails if nothing
/// could be read.
fn is_read_whole(name: &str, outcome: &Outcome) -> Result<bool, Failure> {
    let hides = |rule: &str| ["syntax-error", "format-version-unknown"].contains(&rule);
    let mut hidden = outcome.findings.iter().filter(|it| hides(it.rule.name) && it.severity == Severity::Error);
    let says_nothing = is_blank(&design::Value::plain(&outcome.design));
    match hidden.next() {
        Some(fault) if says_nothing => {
            Err(failure(format!("`{name}` cannot be read, and nothing is held against it: {}", fault.message)))
        }
        None if says_nothing => Err(failure(format!("`{name}` is no design: it says nothing"))),
        Some(fault) => {
            let help =
                "what stands there is missing from the comparison; `hypocaust check` tells what is wrong with it";
            tell(failure_with_help(format!("part of `{name}` could not be read: {}", fault.message), help));
            Ok(false)
        }
        None => Ok(true),
    }
}

/// Whether plain data say nothing at all.
fn is_blank(said: &serde_json::Value) -> bool {
    said.is_null() || said.as_object().is_some_and(|entries| entries.values().all(is_blank))
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
    let wanted = Wanted::new(file, true);
    let path = wanted.name();
    let repository = Repository::of(&wanted.path)?;
    let commit = repository.commit(revision)?;
    let bytes = match repository.file_at(&commit, &wanted.path) {
        Ok(Then::Held(bytes)) => bytes,
        Ok(Then::Outside(place)) => {
            return Err(failure(format!("`{path}` leads out of the repository, to `{}`", place.display())));
        }
        Err(reason) => {
            let help = "one that had another name then can be written to a file with `git show REVISION:NAME > FILE`";
            return Err(failure_with_help(format!("`{path}` was not there at `{revision}`: {reason}"), help));
        }
    };
    let outside: RefCell<Vec<String>> = RefCell::default();
    let then = |path: &str| match path.ends_with(".yaml") || path.ends_with(".yml") {
        // Both versions are held against the one that is named.
        true if house_standard == Some(path) => files::library(path),
        true => match repository.file_at(&commit, Path::new(path))? {
            Then::Held(bytes) => Ok(bytes),
            Then::Outside(place) => {
                outside.borrow_mut().push(path.to_string());
                files::library(&place.to_string_lossy())
            }
        },
        false => Err("the name of a library ends with `.yaml`".into()),
    };
    let nearest = || {
        let paths = repository.house_standards(&wanted.path);
        let was_there = |path: &PathBuf| matches!(repository.file_at(&commit, path), Ok(Then::Held(_)));
        paths.into_iter().find(was_there).map(|path| path.to_string_lossy().into_owned())
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
    let mut outside = outside.into_inner();
    outside.dedup();
    for library in outside {
        say_line!("`{}` is outside the repository: for both versions it is as it is now", report::printable(&library));
    }
    Ok((format!("{path} at {revision}"), outcome))
}
