//! `check`: designs in, findings out.

use crate::Status;
use crate::arguments::{Check, Colour, Format};
use crate::failure::{Failure, failure, failure_with_help, tell};
use crate::files::{self, Wanted};
use crate::output;
use ::check::{Job, Outcome, Severity};
use indicatif::{ProgressBar, ProgressDrawTarget};
use jiff::civil::Date;
use rayon::prelude::*;
use report::{Summary, Unreadable};
use serde_json::value::RawValue;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// From how many files on it is worth showing how far the check has come.
const MANY: usize = 10;

/// What a design gave, ready to be printed.
struct Checked {
    printed: Printed,
    summary: Summary,
}

enum Printed {
    Text(Vec<u8>),
    Json(Box<RawValue>),
}

pub fn check(arguments: &Check) -> Result<Status, Failure> {
    let today = arguments.today.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let coloured = match arguments.color {
        Colour::Auto => output::shows_colours(),
        Colour::Always => true,
        Colour::Never => false,
    };
    let print = |outcome: &Outcome| match arguments.format {
        Format::Text => Printed::Text(report::findings::text(outcome, coloured)),
        Format::Json => Printed::Json(report::findings::json(outcome)),
    };
    super::readable(arguments.house_standard.as_deref())?;
    let (wanted, mut unreadable) = files::wanted(&arguments.paths);
    let progress = progress(wanted.len());
    let results: Vec<Result<Option<Checked>, Unreadable>> = wanted
        .par_iter()
        .map(|wanted| {
            // A fault of the program in one design must not take the findings of the others along.
            let result = catch_unwind(AssertUnwindSafe(|| {
                check_one(wanted, arguments.house_standard.as_deref(), today, &print)
            }));
            progress.inc(1);
            result.unwrap_or_else(|_| {
                let reason = "the check broke off; this is a fault of the program, please report it".into();
                Err(Unreadable { file: wanted.name(), reason })
            })
        })
        .collect();
    progress.finish_and_clear();

    let mut total = Summary::default();
    let mut texts = Vec::new();
    let mut designs = Vec::new();
    for result in results {
        match result {
            Ok(Some(checked)) => {
                total += checked.summary;
                match checked.printed {
                    Printed::Text(text) => texts.push(text),
                    Printed::Json(design) => designs.push(design),
                }
            }
            Ok(None) => {}
            Err(reason) => unreadable.push(reason),
        }
    }
    total.unreadable = unreadable.len();
    match arguments.format {
        Format::Text => texts.push(total.text().into_bytes()),
        Format::Json => texts.push(report::findings::document(&designs, &unreadable, &total).into_bytes()),
    }
    output::print(texts.iter().map(Vec::as_slice))?;

    for Unreadable { file, reason } in &unreadable {
        tell(failure(format!("cannot check `{file}`: {reason}")));
    }
    if total.designs == 0 && unreadable.is_empty() {
        let help = "libraries of pipes, floors and manifolds are passed over in a folder; name one to check it";
        return Err(failure_with_help("there is no design to check", help));
    }
    let fails = Severity::ALL.into_iter().any(|it| it >= arguments.fail_on && total.count(it) > 0);
    Ok(match (unreadable.is_empty(), fails) {
        (false, _) => Status::NotDone,
        (true, true) => Status::Found,
        (true, false) => Status::Clean,
    })
}

/// Checks a file; nothing if it was found in a folder and is only a library.
fn check_one(
    wanted: &Wanted,
    house_standard: Option<&str>,
    today: Date,
    print: &(impl Fn(&Outcome) -> Printed + Sync),
) -> Result<Option<Checked>, Unreadable> {
    let path = wanted.name();
    let bytes = match wanted.bytes() {
        Ok(bytes) => bytes,
        Err(reason) => return Err(Unreadable { file: path, reason }),
    };
    let house_standard = files::house_standard(house_standard, wanted);
    let outcome = ::check::check(&Job {
        path: &path,
        bytes: &bytes,
        files: &files::library,
        house_standard: house_standard.as_deref(),
        today,
        remedies: true,
    });
    if !wanted.named && !design::is_house_standard(&path) && is_library(&outcome) {
        return Ok(None);
    }
    Ok(Some(Checked { summary: Summary::of(&outcome), printed: print(&outcome) }))
}

/// Whether a file only defines what designs share. A broken or empty file says no such thing.
fn is_library(outcome: &Outcome) -> bool {
    let design = &outcome.design;
    let blank = outcome.sources.first().is_none_or(|source| source.text.trim().is_empty());
    !blank
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
