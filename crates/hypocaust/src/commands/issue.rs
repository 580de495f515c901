//! `issue`: a design in, the pack that goes out with its revision out; nothing while errors stand.

use super::plan::MOST_STOREYS;
use crate::Status;
use crate::arguments::Issue;
use crate::failure::{Failure, coloured, failure, failure_with_help};
use crate::files::{self, Wanted};
use ::check::{Job, Outcome, Severity};
use jiff::civil::Date;
use report::pack::{self, File, MANIFEST};
use std::collections::HashSet;
use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

pub fn issue(arguments: &Issue) -> Result<Status, Failure> {
    super::readable(arguments.house_standard.as_deref())?;
    let (mut outcome, day) = checked(arguments, &arguments.file, arguments.today)?;
    if outcome.findings.iter().any(|it| it.severity == Severity::Error) {
        outcome.findings.retain(|it| it.severity == Severity::Error);
        outcome.not_checked.clear();
        outcome.departed.clear();
        let coloured = coloured(&std::io::stderr());
        eprint!("{}", String::from_utf8_lossy(&report::findings::listed(&outcome, coloured)));
        let errors = outcome.findings.len();
        let stand = if errors == 1 { "1 error stands".to_string() } else { format!("{errors} errors stand") };
        eprintln!(
            "`{}` is not issued: {stand}; mend the design, or agree a departure where the rule takes one",
            arguments.file
        );
        return Ok(Status::Found);
    }
    let issued = arguments.issued.as_deref().map(|file| checked(arguments, file, Some(day))).transpose()?;
    let unread = |it: &&(Outcome, Date)| {
        it.0.findings.iter().any(|it| it.severity == Severity::Error && ::check::OF_READING.contains(&it.rule.name))
    };
    if let (Some(file), Some(_)) = (&arguments.issued, issued.as_ref().filter(unread)) {
        let help = format!("`hypocaust check {file}` tells what is wrong with it");
        return Err(failure_with_help(format!("`{file}` cannot be read whole, and nothing is held against it"), help));
    }
    let design = &outcome.design;
    if design.rooms.is_empty() && design.loops.is_empty() && design.electric_mats.is_empty() {
        let help = "a library of pipes, floors and manifolds goes out with the designs that use it";
        return Err(failure_with_help(
            format!("`{}` has nothing to issue: no room, loop or electric mat", arguments.file),
            help,
        ));
    }
    let storeys = report::plan::storeys(&outcome).0.len();
    if storeys > MOST_STOREYS {
        return Err(failure(format!(
            "`{}` has {storeys} storeys; no more than {MOST_STOREYS} are drawn",
            arguments.file
        )));
    }
    let files = pack::files(&outcome, day, issued.as_ref().map(|it| &it.0));
    let folder = Path::new(&arguments.out);
    put(folder, &files)?;
    for file in &files {
        eprintln!("{}", folder.join(&file.name).display());
    }
    Ok(Status::Clean)
}

/// The design, checked as from its own folder and as on the day of its issue, so that the same files give the same pack wherever
/// and whenever it is made.
fn checked(arguments: &Issue, file: &str, day: Option<Date>) -> Result<(Outcome, Date), Failure> {
    let wanted = Wanted::new(file, true);
    let unreadable = |reason| failure(format!("cannot read `{}`: {reason}", wanted.name()));
    let bytes = wanted.bytes().map_err(unreadable)?;
    let folder = wanted.path.parent().unwrap_or(Path::new("")).to_path_buf();
    let name = wanted.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    // A house standard that is named may lie anywhere; in the pack it stands by its own name.
    let named = arguments.house_standard.as_deref().map(|path| {
        let own = Path::new(path).file_name().unwrap_or_default().to_string_lossy().into_owned();
        (own, path)
    });
    let house_standard = match &named {
        Some((own, _)) => Some(own.clone()),
        None => files::house_standard_of_folder(&folder),
    };
    let read = |path: &str| match &named {
        Some((own, at)) if own == path => files::library(at),
        _ => files::library(&folder.join(path).to_string_lossy()),
    };
    let check = |today: Date| {
        ::check::check(&Job {
            path: &name,
            bytes: &bytes,
            files: &read,
            house_standard: house_standard.as_deref(),
            today,
            remedies: false,
        })
    };
    let now = || jiff::ZonedDateTime::now().date();
    let today = day.unwrap_or_else(now);
    let outcome = check(today);
    let issued = outcome.design.project.issued.map(|day| day.value);
    match issued.filter(|issued| day.is_none() && *issued < today) {
        Some(issued) => Ok((check(issued), issued)),
        None => Ok((outcome, today)),
    }
}

/// Puts the files of a pack into a folder, all of them or none: they are written to a folder beside it, which then takes its name.
/// What lies there and is not of an earlier pack, or was changed since, is not touched.
fn put(folder: &Path, files: &[File]) -> Result<(), Failure> {
    let told = |path: &Path, error: std::io::Error| failure(format!("cannot write `{}`: {error}", path.display()));
    if folder.file_name().is_none() {
        let help = "name a folder: `--out issued`";
        return Err(failure_with_help(format!("`{}` has no name of its own", folder.display()), help));
    }
    let is_there = folder.exists();
    // A link is followed: what it leads to is replaced, not the link.
    let folder =
        &if is_there { folder.canonicalize().map_err(|error| told(folder, error))? } else { folder.to_path_buf() };
    if is_there {
        may_be_replaced(folder, files)?;
    }
    let parent = match folder.parent() {
        Some(parent) if parent != Path::new("") => parent,
        _ => Path::new("."),
    };
    std::fs::create_dir_all(parent).map_err(|error| told(parent, error))?;
    let beside = |ending: &str| {
        let mut own = OsString::from(".");
        own.push(folder.file_name().unwrap_or_default());
        own.push(format!(".{}.{ending}", std::process::id()));
        parent.join(own)
    };
    let (new, old) = (beside("new"), beside("old"));
    let write = || -> std::io::Result<()> {
        std::fs::create_dir(&new)?;
        for file in files {
            let mut out = std::fs::File::create_new(new.join(&file.name))?;
            out.write_all(&file.bytes)?;
            out.sync_all()?;
        }
        if !is_there {
            return std::fs::rename(&new, folder);
        }
        std::fs::set_permissions(&new, folder.metadata()?.permissions())?;
        std::fs::rename(folder, &old)?;
        if let Err(error) = std::fs::rename(&new, folder) {
            // What was there comes back.
            std::fs::rename(&old, folder)?;
            return Err(error);
        }
        std::fs::remove_dir_all(&old)
    };
    let written = write();
    if written.is_err() {
        let _ = std::fs::remove_dir_all(&new);
    }
    written.map_err(|error| told(folder, error))
}

/// Whether all that lies in a folder is an earlier pack, unchanged, or the same as what is to be written.
fn may_be_replaced(folder: &Path, files: &[File]) -> Result<(), Failure> {
    let unreadable = |error: std::io::Error| failure(format!("cannot read `{}`: {error}", folder.display()));
    let refuse = |name: &str| {
        Err(failure_with_help(
            format!(
                "`{}` is there already, and is not a file of an earlier pack as it was written",
                folder.join(name).display()
            ),
            "name another folder, or move that file away",
        ))
    };
    if !folder.is_dir() {
        return Err(failure(format!("`{}` is there already and is no folder", folder.display())));
    }
    let written = std::fs::read(folder.join(MANIFEST)).map(|bytes| pack::digests(&bytes)).unwrap_or_default();
    let known: HashSet<(&str, &str)> = written.iter().map(|(name, digest)| (&**name, &**digest)).collect();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let entry = entry.map_err(unreadable)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if !entry.file_type().map_err(unreadable)?.is_file() {
            return refuse(&name);
        }
        if name == MANIFEST && !written.is_empty() {
            continue;
        }
        let bytes = std::fs::read(entry.path()).map_err(unreadable)?;
        let is_same = files.iter().any(|file| file.name == name && file.bytes == bytes);
        if !is_same && !known.contains(&(&*name, &*pack::sha256(&bytes))) {
            return refuse(&name);
        }
    }
    Ok(())
}
