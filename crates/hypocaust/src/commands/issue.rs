//! `issue`: a design in, the pack that goes out with its revision out; nothing while errors stand.

use super::plan::MOST_STOREYS;
use crate::Status;
use crate::arguments::Issue;
use crate::failure::{Failure, coloured, failure, failure_with_help};
use crate::files::{self, Wanted};
use ::check::compare::{Revision, order};
use ::check::{Job, Outcome, Severity};
use design::{Design, Stage};
use jiff::civil::Date;
use report::pack::{self, File, MANIFEST, Pack, Project};
use std::cmp::Ordering;
use std::collections::HashSet;
use std::io::Write;
use std::path::Path;

pub fn issue(arguments: &Issue) -> Result<Status, Failure> {
    super::readable(arguments.house_standard.as_deref())?;
    let (mut outcome, day) = checked(arguments, &arguments.file, arguments.today)?;
    if outcome.findings.iter().any(|it| it.severity == Severity::Error) {
        outcome.findings.retain(|it| it.severity == Severity::Error);
        // They were not tried out.
        outcome.findings.iter_mut().for_each(|finding| finding.remedies.clear());
        outcome.not_checked.clear();
        outcome.departed.clear();
        let coloured = coloured(&std::io::stderr());
        say!("{}", String::from_utf8_lossy(&report::findings::listed(&outcome, coloured)));
        let errors = outcome.findings.len();
        let stand = if errors == 1 { "1 error stands".to_string() } else { format!("{errors} errors stand") };
        say_line!(
            "`{}` is not issued: {stand}; mend the design, or agree a departure where the rule takes one",
            arguments.file
        );
        return Ok(Status::Found);
    }
    if let Some(file) = &arguments.issued
        && let Some(pack) = std::fs::read(file).ok().and_then(|bytes| pack::read(&bytes))
    {
        let design = pack.made_from.first().map_or("the design", |(name, _)| name);
        let message = format!(
            "`{file}` is the manifest of a pack of {}, revision {}, and no design",
            pack.project, pack.revision
        );
        return Err(failure_with_help(message, format!("name what it was made from, `{design}` as it was then")));
    }
    let issued = arguments.issued.as_deref().map(|file| checked(arguments, file, Some(day))).transpose()?;
    let unread = |it: &&(Outcome, Date)| {
        it.0.findings.iter().any(|it| it.severity == Severity::Error && ::check::OF_READING.contains(&it.rule.name))
    };
    if let (Some(file), Some(_)) = (&arguments.issued, issued.as_ref().filter(unread)) {
        let help = format!("`hypocaust check {file}` tells what is wrong with it");
        return Err(failure_with_help(format!("`{file}` cannot be read whole, and nothing is held against it"), help));
    }
    let says_nothing = |it: &Design| it.rooms.is_empty() && it.loops.is_empty() && it.electric_mats.is_empty();
    if let (Some(file), true) = (&arguments.issued, issued.as_ref().is_some_and(|(it, _)| says_nothing(&it.design))) {
        return Err(failure(format!("`{file}` is no design that was issued: no room, loop or electric mat")));
    }
    let design = &outcome.design;
    if let (Some(file), Some((issued, _))) = (&arguments.issued, &issued) {
        let (own, other) = (Project::of(&outcome), Project::of(issued));
        if own.is_another_than(&other) {
            return Err(failure_with_help(
                format!("`{file}` is of {other}, and `{}` of {own}", arguments.file),
                "name the design of this project as it was issued before",
            ));
        }
    }
    if let (Some(file), Some((issued, _))) = (&arguments.issued, &issued)
        && design.stage() != Stage::AsBuilt
    {
        let own = &arguments.file;
        let revision = match ::check::compare::compare(issued, &outcome).revision {
            // Whoever names it here says that it went out, sketch or not.
            Revision::NotIssued => match &issued.design.project.revision {
                Some(revision) => Revision::NotRaised(revision.value.clone()),
                None => Revision::NotIssued,
            },
            other => other,
        };
        match revision {
            Revision::NotRaised(revision) => {
                say_line!(
                    "`{own}` is not issued: it differs from `{file}`, which went out as revision {revision}; raise the revision"
                );
                return Ok(Status::Found);
            }
            Revision::Lowered { was, is } => {
                say_line!(
                    "`{own}` is not issued: it is revision {is}, and `{file}` is {was} already; raise the revision"
                );
                return Ok(Status::Found);
            }
            _ => {}
        }
    }
    if says_nothing(design) {
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
        say_line!("{}", folder.join(&file.name).display());
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

/// Puts the files of a pack into a folder. All are written beside their names before the first takes its own, so that a full disk leaves
/// what was there; the folder itself stays, which may be a mount point or lie where nothing else may be made. What lies in it and is
/// not of an earlier pack, or was changed since, is not touched.
fn put(folder: &Path, files: &[File]) -> Result<(), Failure> {
    let told = |path: &Path, error: std::io::Error| failure(format!("cannot write `{}`: {error}", path.display()));
    if folder.file_name().is_none() {
        let help = "name a folder: `--out issued`";
        return Err(failure_with_help(format!("`{}` has no name of its own", folder.display()), help));
    }
    let is_there = std::fs::exists(folder).map_err(|error| told(folder, error))?;
    let earlier = if is_there { may_be_replaced(folder, files)? } else { Vec::new() };
    std::fs::create_dir_all(folder).map_err(|error| told(folder, error))?;
    let beside = |file: &File| folder.join(format!(".{}.{}.new", file.name, std::process::id()));
    let write = |file: &File| -> Result<(), Failure> {
        let path = beside(file);
        let written = std::fs::File::create_new(&path).and_then(|mut out| {
            out.write_all(&file.bytes)?;
            out.sync_all()
        });
        written.map_err(|error| told(&folder.join(&file.name), error))
    };
    let take_names = || -> Result<(), Failure> {
        for file in files {
            let path = folder.join(&file.name);
            std::fs::rename(beside(file), &path).map_err(|error| told(&path, error))?;
        }
        for name in earlier.iter().filter(|name| !files.iter().any(|file| file.name == **name)) {
            let path = folder.join(name);
            std::fs::remove_file(&path).map_err(|error| told(&path, error))?;
        }
        Ok(())
    };
    let put = files.iter().try_for_each(write).and_then(|()| take_names());
    if put.is_err() {
        for file in files {
            let _ = std::fs::remove_file(beside(file));
        }
        if !is_there {
            // Only if nothing is in it.
            let _ = std::fs::remove_dir(folder);
        }
    }
    put
}

/// The files of the earlier pack that lies in a folder, if all that lies there is of one, unchanged, or the same as what is to be written.
fn may_be_replaced(folder: &Path, files: &[File]) -> Result<Vec<String>, Failure> {
    let unreadable = |error: std::io::Error| failure(format!("cannot read `{}`: {error}", folder.display()));
    let refuse = |name: &str| {
        Err(failure_with_help(
            format!(
                "`{}` is there already, and is not a file of an earlier pack as it was written",
                folder.join(name).display()
            ),
            "name another folder, or move it away",
        ))
    };
    if !folder.is_dir() {
        return Err(failure(format!("`{}` is there already and is no folder", folder.display())));
    }
    let standing = std::fs::read(folder.join(MANIFEST)).ok().and_then(|bytes| pack::read(&bytes));
    let is_written = standing.is_some();
    let known: HashSet<&(String, String)> = standing.iter().flat_map(|it| &it.files).collect();
    let mut earlier = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let entry = entry.map_err(unreadable)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let kind = entry.file_type().map_err(unreadable)?;
        let is_of_pack = || files.iter().any(|file| file.name == name) || known.iter().any(|(file, _)| *file == name);
        if kind.is_dir() && !is_of_pack() {
            continue;
        }
        if !kind.is_file() {
            return refuse(&name);
        }
        if name == MANIFEST && is_written {
            continue;
        }
        let bytes = std::fs::read(entry.path()).map_err(unreadable)?;
        let is_same = files.iter().any(|file| file.name == name && file.bytes == bytes);
        if !is_same && !known.contains(&(name.clone(), pack::sha256(&bytes))) {
            return refuse(&name);
        }
        earlier.push(name);
    }
    let new = files.iter().find(|file| file.name == MANIFEST).and_then(|file| pack::read(&file.bytes));
    match (&standing, &new) {
        (Some(standing), Some(new)) => is_succeeded(folder, standing, new).map(|()| earlier),
        _ => Ok(earlier),
    }
}

/// Whether a pack may take the place of the one that stands in a folder: not of another project's, or of one that cannot be told from
/// another's; and not of what went out as a later revision, as one that may be later, or as the same one made from other files.
fn is_succeeded(folder: &Path, standing: &Pack, new: &Pack) -> Result<(), Failure> {
    let folder = folder.display();
    let help = "name another folder, or move the pack away";
    if new.project.is_another_than(&standing.project) {
        let message =
            format!("in `{folder}` stands the pack of {}, and this is one of {}", standing.project, new.project);
        return Err(failure_with_help(message, help));
    }
    if !new.project.is_surely(&standing.project) && !new.is_of_the_file_of(standing) {
        let message = format!(
            "in `{folder}` stands a pack of {}, and nothing tells whether this one of {} is of the same project",
            standing.project, new.project
        );
        let help = format!(
            "give the design the name and reference of its project, name it with `--issued` as it was issued before, {help}"
        );
        return Err(failure_with_help(message, help));
    }
    let went_out = standing.is_issued && !standing.is_handover && !new.is_handover;
    // What is built may bear the revision that it was built to.
    let is_built = new.is_handover && !standing.is_handover;
    let this = match &new.as_issued().revision {
        Some(revision) => format!("this is {revision}"),
        None => "this is one without a revision".to_string(),
    };
    let (why, help) = match order(&standing.as_issued(), &new.as_issued()) {
        Some(Ordering::Equal) if !is_built && standing.has_revision && standing.made_from != new.made_from => {
            ("made from other files".to_string(), format!("raise the revision; {help}, if it never went out"))
        }
        _ if !went_out => return Ok(()),
        Some(Ordering::Greater) => {
            (format!("and {this}, which comes before it"), format!("raise the revision; {help}, if it never went out"))
        }
        None => (
            format!("and {this}; neither the marks nor the days of issue tell which is later"),
            format!("list {} under `earlier-revisions` if it is the earlier one; else {help}", standing.revision),
        ),
        Some(Ordering::Less | Ordering::Equal) => return Ok(()),
    };
    let message = format!("revision {} stands in `{folder}` as it went out, {why}", standing.revision);
    Err(failure_with_help(message, help))
}
