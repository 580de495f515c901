//! `remedy`: a design in, what would put it right out; or the design put right.

use crate::Status;
use crate::arguments::Remedy;
use crate::failure::{Failure, failure, failure_with_help};
use crate::files::{self, Wanted};
use crate::output;
use ::check::{Finding, Job};
use std::io::Write;
use std::path::Path;

pub fn remedy(arguments: &Remedy) -> Result<Status, Failure> {
    let wanted = Wanted::new(&arguments.file, true);
    let path = wanted.name();
    let bytes = wanted.bytes().map_err(|reason| failure(format!("cannot read `{path}`: {reason}")))?;
    let named = arguments.against.house_standard();
    super::readable(named)?;
    let house_standard = files::house_standard(named, &wanted);
    let house = super::house(house_standard.as_deref());
    for name in &arguments.only {
        report::guidance::named(&house, name).map_err(|nearest| no_such_rule(name, nearest))?;
    }
    let job = Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        house_standard: house_standard.as_deref(),
        today: arguments.against.day(),
        remedies: true,
    };
    let asked_for = |finding: &Finding| arguments.only.iter().any(|name| name == finding.rule.name);
    if !arguments.apply {
        let mut outcome = ::check::check(&job);
        outcome.findings.retain(|finding| arguments.only.is_empty() || asked_for(finding));
        output::print([report::remedies::list(&outcome).as_bytes()])?;
        return Ok(Status::Clean);
    }

    let mended = ::check::mend(&job, |finding| match arguments.only.is_empty() {
        true => ::check::weighs_enough(finding),
        false => asked_for(finding),
    });
    let Ok(before) = std::str::from_utf8(&bytes) else {
        return Err(failure_with_help(
            format!("`{path}` is not text in UTF-8, and nothing was changed"),
            "save it as UTF-8 in an editor",
        ));
    };
    let told = report::remedies::done(&path, &mended);
    if arguments.file == "-" {
        output::print([mended.text.as_bytes()])?;
        say!("{told}");
        return Ok(Status::Clean);
    }
    if !mended.done.is_empty() {
        replace(&wanted.path, &bytes, mended.text.as_bytes())
            .map_err(|reason| failure(format!("cannot write `{path}`: {reason}")))?;
        output::print([report::remedies::diff(&path, before, &mended.text).as_bytes()])?;
    }
    say!("{told}");
    Ok(Status::Clean)
}

/// Puts new contents in the place of old ones all at once: whatever happens, the file holds the one or the other.
pub fn replace(path: &Path, before: &[u8], after: &[u8]) -> std::io::Result<()> {
    let path = path.canonicalize()?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let write = || {
        let mut file = std::fs::File::options().write(true).create_new(true).open(&beside)?;
        file.write_all(after)?;
        file.set_permissions(path.metadata()?.permissions())?;
        file.sync_all()?;
        if std::fs::read(&path)? != before {
            return Err(std::io::Error::other("it was changed by somebody else in the meantime"));
        }
        std::fs::rename(&beside, &path)
    };
    let written = write();
    if written.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    written
}

/// The failure of a rule's name that there is not.
pub(super) fn no_such_rule(name: &str, nearest: Option<&str>) -> Failure {
    let help = match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => "`hypocaust guidance` tells every rule".to_string(),
    };
    failure_with_help(format!("no rule is called `{name}`"), help)
}
