//! `check`: designs in, findings out.

use crate::Status;
use crate::arguments::{Check, Colour};
use crate::failure::{Failure, failure, failure_with_help, tell};
use crate::files::{self, Search, Wanted};
use crate::gate::{self, Held, List, Standards};
use crate::output;
use ::check::{Job, Outcome, Severity};
use indicatif::{ProgressBar, ProgressDrawTarget};
use jiff::civil::Date;
use rayon::prelude::*;
use report::findings::{Ending, Part, Writer};
use report::{Summary, Unreadable};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;

/// From how many files on it is worth showing how far the check has come.
const MANY: usize = 10;

/// What a design gave, ready to be printed.
struct Checked {
    part: Part,
    summary: Summary,
    held: Option<Held>,
}

pub fn check(arguments: &Check) -> Result<Status, Failure> {
    let (today, house_standard) = (arguments.against.day(), arguments.against.house_standard());
    let coloured = match arguments.color {
        Colour::Auto => output::shows_colours(),
        Colour::Always => true,
        Colour::Never => false,
    };
    super::readable(house_standard)?;
    let list = match &arguments.accepted {
        Some(path) => Some(List::read(path, arguments.write_accepted)?),
        None => None,
    };
    let Search { mut wanted, mut unreadable, mut left_out, mut linked } = files::wanted(&arguments.paths);
    if let Some(revision) = &arguments.changed_since {
        wanted = gate::touched(wanted, revision, house_standard, arguments.accepted.as_deref())?;
    }
    let standards = Standards::of(&mut wanted, house_standard, today);
    let is_first = arguments.share.is_none_or(|share| share.number == 1);
    if let Some(share) = arguments.share {
        wanted = gate::share(wanted, share);
        // What is wrong with a folder is told once.
        unreadable.retain(|_| is_first);
        left_out.retain(|_| is_first);
        linked.retain(|_| is_first);
    }
    let writer = Writer { form: arguments.format, coloured, fails_from: arguments.fail_on };
    let look = Look { house_standard, standards, today, list: list.as_ref(), writer };
    let progress = progress(wanted.len());
    let results: Vec<Result<Option<Checked>, Unreadable>> = wanted
        .par_iter()
        .map(|wanted| {
            // A fault of the program in one design must not take the findings of the others along.
            let result = catch_unwind(AssertUnwindSafe(|| look.at(wanted)));
            progress.inc(1);
            result.unwrap_or_else(|_| {
                let reason = "the check broke off; this is a fault of the program, please report it".into();
                Err(Unreadable { file: wanted.name(), reason })
            })
        })
        .collect();
    progress.finish_and_clear();

    let mut summary = Summary::default();
    let (mut parts, mut held) = (Vec::new(), Vec::new());
    for result in results {
        match result {
            Ok(Some(checked)) => {
                summary += checked.summary;
                parts.push(checked.part);
                held.extend(checked.held);
            }
            Ok(None) => {}
            Err(reason) => unreadable.push(reason),
        }
    }
    let stale = match &list {
        Some(list) if !arguments.write_accepted => list.stale(&held, is_first),
        _ => Vec::new(),
    };
    summary.unreadable = unreadable.len();
    summary.stale = stale.len();
    summary.left_out = left_out.len();
    let found = Severity::ALL.into_iter().any(|it| it >= arguments.fail_on && summary.count(it) > 0);
    // A list from which nobody takes out what is mended lets it come back: that weighs as much as a warning.
    let fails = found || !stale.is_empty() && arguments.fail_on <= Severity::Warning;
    let status = match (unreadable.is_empty(), fails) {
        (false, _) => Status::NotDone,
        (true, true) => Status::Found,
        (true, false) => Status::Clean,
    };
    let ending = Ending { summary, unreadable: &unreadable, stale: &stale, status: status as u8 };
    output::print([writer.whole(parts, &ending).as_slice()])?;

    told_what_was_passed_over(&left_out, &linked);
    let told = Severity::ALL.map(|it| summary.count(it)).iter().sum::<usize>() + summary.departures + summary.accepted;
    if let Some(most) = arguments.format.most_kept().filter(|most| told > *most) {
        say_line!(
            "these are {told} findings, and hosts of code keep the gravest {most} of a log: have shares of the designs write logs of their own"
        );
    }
    for Unreadable { file, reason } in &unreadable {
        tell(failure(format!("cannot check `{file}`: {reason}")));
    }
    if let Some(list) = list.filter(|_| arguments.write_accepted) {
        if unreadable.is_empty() {
            say_line!("{}", list.write(&held)?);
        } else {
            tell(failure("the list of accepted findings was left alone: not everything could be checked"));
        }
    }
    if summary.designs + summary.house_standards == 0 && unreadable.is_empty() {
        return match (&arguments.changed_since, arguments.share) {
            (Some(revision), _) => {
                say_line!("no design is touched by what changed since `{revision}`");
                Ok(status)
            }
            (None, Some(_)) => Ok(status),
            (None, None) => {
                let help = match left_out.is_empty() {
                    true => {
                        "libraries of pipes, floors and manifolds are passed over in a folder; name one to check it"
                    }
                    false => "name what was left out to check it",
                };
                Err(failure_with_help("there is no design to check", help))
            }
        };
    }
    Ok(status)
}

/// Says what a search of folders did not look at: a design that is left out by a slip must not go out unchecked.
fn told_what_was_passed_over(left_out: &[PathBuf], linked: &[PathBuf]) {
    const MOST_NAMED: usize = 5;
    for (paths, one, many, help) in [
        (
            left_out,
            "file named like a design was left out",
            "files named like designs were left out",
            "an ignore file names it, or it is hidden, as what begins with a dot; name it to check it",
        ),
        (
            linked,
            "folder is a link, and was not searched",
            "folders are links, and were not searched",
            "name it to search it",
        ),
    ] {
        let mut named: Vec<String> =
            paths.iter().take(MOST_NAMED).map(|path| format!("`{}`", path.display())).collect();
        if paths.len() > MOST_NAMED {
            named.push(format!("{} more", paths.len() - MOST_NAMED));
        }
        if !named.is_empty() {
            let words = if paths.len() == 1 { one } else { many };
            say_line!("{} {words}: {}; {help}", paths.len(), report::printable(&named.join(", ")));
        }
    }
}

/// How each design is looked at.
struct Look<'l> {
    house_standard: Option<&'l str>,
    standards: Standards,
    today: Date,
    list: Option<&'l List>,
    writer: Writer,
}

impl Look<'_> {
    /// Checks a file; nothing if it was found in a folder and is only a library.
    fn at(&self, wanted: &Wanted) -> Result<Option<Checked>, Unreadable> {
        let path = wanted.name();
        let bytes = match wanted.bytes() {
            Ok(bytes) => bytes,
            Err(reason) => return Err(Unreadable { file: path, reason }),
        };
        let house_standard = files::house_standard(self.house_standard, wanted);
        let mut outcome = ::check::check(&Job {
            path: &path,
            bytes: &bytes,
            files: &files::library,
            house_standard: house_standard.as_deref(),
            today: self.today,
            remedies: true,
        });
        if !wanted.named && !design::is_house_standard(&path) && is_library(&outcome) {
            return Ok(None);
        }
        if !wanted.is_house_standard() {
            self.standards.take_out(house_standard.as_deref(), &mut outcome);
        }
        let held = self.list.map(|list| list.accept(wanted, &mut outcome));
        Ok(Some(Checked { summary: Summary::of(&outcome), part: self.writer.part(&outcome), held }))
    }
}

/// Whether a file only defines what designs share. A broken or empty file says no such thing, and what cannot be read is told.
fn is_library(outcome: &Outcome) -> bool {
    let design = &outcome.design;
    let blank = outcome.sources.first().is_none_or(|source| source.text.trim().is_empty());
    let hides = |rule: &str| ::check::OF_READING.contains(&rule) && rule != "format-version-unknown";
    let is_read = outcome.findings.iter().all(|it| !hides(it.rule.name));
    !blank
        && is_read
        && !design.broken
        && design.project.place.is_empty()
        && design.rooms.place.is_none()
        && design.loops.place.is_none()
}

/// A bar on standard error, if that is a terminal and there is enough to do.
fn progress(files: usize) -> ProgressBar {
    if files > MANY {
        ProgressBar::with_draw_target(Some(files as u64), ProgressDrawTarget::stderr())
    } else {
        ProgressBar::hidden()
    }
}
