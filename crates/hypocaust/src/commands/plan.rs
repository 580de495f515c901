//! `plan`: a design in, a drawing of each storey out.

use super::{looked_at, told_what_could_not_be_read};
use crate::Status;
use crate::arguments::Plan;
use crate::failure::{Failure, failure, failure_with_help};
use crate::output;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

pub fn plan(arguments: &Plan) -> Result<Status, Failure> {
    super::readable(arguments.house_standard.as_deref())?;
    let (path, outcome) = looked_at(&arguments.file, arguments.house_standard.as_deref())?;
    let storeys = match asked_for(arguments, &path, &outcome) {
        Ok(storeys) => storeys,
        Err(refusal) => {
            let is_empty = report::plan::storeys(&outcome).0.is_empty();
            // What is wanted may stand in the file and not be readable.
            return Err(match told_what_could_not_be_read(outcome) {
                Status::Clean => refusal,
                Status::Found | Status::NotDone if !is_empty => refusal,
                Status::Found | Status::NotDone => {
                    failure(format!("there is nothing to draw in what could be read of `{path}`"))
                }
            });
        }
    };
    let out = arguments.output.as_deref().filter(|out| *out != "-");
    let Some(out) = out.map(Path::new) else {
        let [storey] = storeys[..] else {
            return Err(failure_with_help(
                format!("`{path}` has {} storeys, and standard output takes one drawing", storeys.len()),
                "write them to files with `-o plan.svg`, or ask for one with `--storey NAME`",
            ));
        };
        output::print([drawing(&outcome, storey, arguments)?.as_bytes()])?;
        return Ok(told_what_could_not_be_read(outcome));
    };
    for (file, storey) in names(out, &storeys).iter().zip(&storeys) {
        if same_file(file, Path::new(&arguments.file)) {
            return Err(failure(format!("`{}` is the design itself; name another file", file.display())));
        }
        let text = drawing(&outcome, *storey, arguments)?;
        std::fs::write(file, text).map_err(|error| failure(format!("cannot write `{}`: {error}", file.display())))?;
        say_line!("{}", file.display());
    }
    Ok(told_what_could_not_be_read(outcome))
}

/// No building that is heated from below has more; a slip of the pen may.
pub(super) const MOST_STOREYS: usize = 200;

type Storeys<'o> = Vec<Option<&'o str>>;

/// The storeys to draw.
fn asked_for<'o>(arguments: &Plan, path: &str, outcome: &'o ::check::Outcome) -> Result<Storeys<'o>, Failure> {
    const WANTS: &str = "give the rooms an `outline: [[x, y], ..]` in metres, and the loops a `route:`";
    const NOTHING: &str = "no room has an outline and no loop a route";
    let (drawable, empty) = report::plan::storeys(outcome);
    // What is drawn and is wrong is not to be drawn once more.
    let nothing_to_draw = |of: &str, storey: Option<Option<&str>>| match report::plan::wrong(outcome, storey) {
        Some(wrong) => failure_with_help(
            format!("there is nothing to draw {of}: {wrong}"),
            "`hypocaust check` shows where it stands",
        ),
        None => failure_with_help(format!("there is nothing to draw {of}: {NOTHING}"), WANTS),
    };
    if let Some(name) = &arguments.storey {
        let named = |storey: &&Option<&str>| **storey == Some(name.as_str());
        if let Some(storey) = drawable.iter().find(named) {
            return Ok(vec![*storey]);
        }
        if empty.iter().any(|storey| named(&storey)) {
            return Err(nothing_to_draw(&format!("on storey `{name}` of `{path}`"), Some(Some(name))));
        }
        let known: Vec<&str> = drawable.iter().chain(&empty).flatten().copied().collect();
        let help = match known[..] {
            [] => "no room or loop names a storey; leave `--storey` out".to_string(),
            _ => format!("there are: {}", known.join(", ")),
        };
        return Err(failure_with_help(format!("no room or loop of `{path}` is on a storey `{name}`"), help));
    }
    if drawable.is_empty() {
        return Err(nothing_to_draw(&format!("in `{path}`"), None));
    }
    if drawable.len() > MOST_STOREYS {
        return Err(failure_with_help(
            format!("`{path}` has {} storeys; {MOST_STOREYS} are the most that are drawn at once", drawable.len()),
            "ask for one with `--storey NAME`",
        ));
    }
    for storey in empty.iter().flatten().take(MOST_STOREYS) {
        match report::plan::wrong(outcome, Some(Some(storey))) {
            Some(wrong) => say_line!("not drawn: storey {storey}; {wrong}"),
            None => say_line!("not drawn: storey {storey}, where {NOTHING}"),
        }
    }
    Ok(drawable)
}

fn drawing(outcome: &::check::Outcome, storey: Option<&str>, arguments: &Plan) -> Result<String, Failure> {
    report::plan::svg(outcome, storey, !arguments.without_findings).ok_or_else(|| failure("there is nothing to draw"))
}

/// A file for each storey: the one asked for, or several beside it that carry the names of the storeys.
fn names(out: &Path, storeys: &[Option<&str>]) -> Vec<PathBuf> {
    if storeys.len() == 1 {
        return vec![out.to_path_buf()];
    }
    let stem = out.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let ending = out.extension().map_or("svg".into(), |ending| ending.to_string_lossy());
    let mut taken = HashSet::new();
    let mut name = |storey: &Option<&str>| {
        // A name from a design file must not lead to another folder.
        let plain = |c: char| if c.is_alphanumeric() || c == '_' { c } else { '-' };
        let storey: String = storey.unwrap_or_default().chars().map(plain).take(60).collect();
        let mut name = format!("{stem}-{storey}.{ending}");
        let mut number = 2;
        while !taken.insert(name.clone()) {
            name = format!("{stem}-{storey}-{number}.{ending}");
            number += 1;
        }
        out.with_file_name(name)
    };
    storeys.iter().map(&mut name).collect()
}

/// Whether two paths lead to one file.
fn same_file(one: &Path, other: &Path) -> bool {
    matches!((one.canonicalize(), other.canonicalize()), (Ok(one), Ok(other)) if one == other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn several_storeys_are_several_files_in_one_folder() {
        let named = |storeys: &[&str]| -> Vec<String> {
            let storeys: Vec<Option<&str>> = storeys.iter().map(|name| Some(*name)).collect();
            names(Path::new("out/plan.svg"), &storeys).iter().map(|it| it.to_string_lossy().into_owned()).collect()
        };
        assert_eq!(named(&["ground"]), ["out/plan.svg"]);
        assert_eq!(named(&["ground", "first"]), ["out/plan-ground.svg", "out/plan-first.svg"]);
        assert_eq!(
            named(&["../../a", "///a", "ä 1"]),
            ["out/plan-------a.svg", "out/plan----a.svg", "out/plan-ä-1.svg"]
        );
        assert_eq!(named(&["a/b", "a.b"]), ["out/plan-a-b.svg", "out/plan-a-b-2.svg"]);
    }
}
