//! The gate before a merge: which designs are looked at, and which findings stood before.

use crate::arguments::Share;
use crate::failure::{Failure, failure, failure_with_help};
use crate::files::{self, Wanted};
use crate::repository::{Changes, Repository, absolute};
use ::check::{Accepted, Entry, Finding, Job, Outcome, Stale};
use jiff::civil::Date;
use rayon::prelude::*;
use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Those of the designs that are touched by what changed since a revision, each asked of the repository that it is in.
pub fn touched(
    wanted: Vec<Wanted>,
    revision: &str,
    house_standard: Option<&str>,
    accepted: Option<&str>,
) -> Result<Vec<Wanted>, Failure> {
    let mut repositories: Vec<Repository> = Vec::new();
    for wanted in &wanted {
        if !repositories.iter().any(|it| it.holds(&wanted.path)) {
            repositories.push(Repository::of(&wanted.path)?);
        }
    }
    let changes: Vec<Changes> =
        repositories.iter().map(|repository| repository.changes_since(revision)).collect::<Result<_, _>>()?;
    let of = |path: &Path| changes.iter().find(|changes| changes.repository.holds(path));
    let touches = |list: &str| of(Path::new(list)).is_none_or(|changes| changes.touch(Path::new(list)));
    if accepted.is_some_and(touches) {
        return Ok(wanted);
    }
    let is_touched = |wanted: &Wanted| of(&wanted.path).is_none_or(|it| is_touched(wanted, it, house_standard));
    Ok(wanted.into_par_iter().filter(is_touched).collect())
}

fn is_touched(wanted: &Wanted, changes: &Changes, house_standard: Option<&str>) -> bool {
    if wanted.path == Path::new("-") || changes.touch(&wanted.path) {
        return true;
    }
    // A house standard that is gone has held for the design too.
    let on_the_way_up = || changes.repository.house_standards(&wanted.path).iter().any(|path| changes.touch(path));
    if house_standard.map_or_else(on_the_way_up, |named| changes.touch(Path::new(named))) {
        return true;
    }
    // What cannot be read is told by the check.
    let Ok(bytes) = wanted.bytes() else { return true };
    let asked_for: RefCell<Vec<PathBuf>> = RefCell::default();
    let library = |path: &str| {
        asked_for.borrow_mut().push(path.into());
        files::library(path)
    };
    design::read(&wanted.name(), &bytes, &library);
    asked_for.into_inner().iter().any(|path| changes.touch(path))
}

/// A share of the designs: a run of them, as long as any other but for one. House standards go with the design before them.
pub fn share(wanted: Vec<Wanted>, share: Share) -> Vec<Wanted> {
    let many = wanted.len();
    let designs: Vec<usize> = (0..many).filter(|at| !wanted[*at].is_house_standard()).collect();
    // Where the run that begins with this design begins.
    let edge = |number: usize| {
        let design = (designs.len() as u128 * number as u128 / share.of as u128) as usize;
        designs.get(design).copied().unwrap_or(many)
    };
    let start = if share.number == 1 { 0 } else { edge(share.number - 1) };
    let end = if share.number == share.of { many } else { edge(share.number) };
    wanted.into_iter().skip(start).take(end.saturating_sub(start)).collect()
}

/// House standards in which something is wrong, with what: it is told once, where they are checked themselves, and not with each design
/// that is held to them.
#[derive(Default)]
pub struct Standards(HashMap<String, Vec<Finding>>);

impl Standards {
    /// Looks at the house standards of the designs, and puts those in which something is wrong, and that nobody asked for, before the
    /// first design that is held to them.
    pub fn of(wanted: &mut Vec<Wanted>, named: Option<&str>, today: Date) -> Standards {
        let mut faults: HashMap<String, Vec<Finding>> = HashMap::new();
        let asked_for: HashSet<PathBuf> =
            wanted.iter().filter(|it| it.is_house_standard()).map(|it| absolute(&it.path)).collect();
        let mut folders: HashMap<PathBuf, Option<String>> = HashMap::new();
        let mut together = Vec::with_capacity(wanted.len());
        for design in std::mem::take(wanted) {
            let folder = design.path.parent().unwrap_or(Path::new("")).to_path_buf();
            let standard = match design.is_house_standard() {
                true => None,
                false => folders.entry(folder).or_insert_with(|| files::house_standard(named, &design)).clone(),
            };
            if let Some(path) = standard.filter(|path| !faults.contains_key(path)) {
                let wrong = faults_in(&path, today);
                if !wrong.is_empty() && !asked_for.contains(&absolute(Path::new(&path))) {
                    together.push(Wanted::new(&path, false));
                }
                faults.insert(path, wrong);
            }
            together.push(design);
        }
        *wanted = together;
        Standards(faults)
    }

    /// Takes out what is told where the house standard itself is checked.
    pub fn take_out(&self, standard: Option<&str>, outcome: &mut Outcome) {
        if let Some((path, faults)) = standard.and_then(|path| Some((path, self.0.get(path)?))) {
            outcome.without_those_of(path, faults);
        }
    }
}

/// What every design that is held to a house standard would be told of it.
fn faults_in(path: &str, today: Date) -> Vec<Finding> {
    if !design::is_house_standard(path) {
        return Vec::new();
    }
    let outcome = ::check::check(&Job {
        path: "-",
        bytes: b"format: 1\n",
        files: &files::library,
        house_standard: Some(path),
        today,
        remedies: false,
    });
    let of_standard =
        |finding: &Finding| outcome.sources.get(finding.place.file.number()).is_some_and(|source| source.path == path);
    outcome.findings.iter().filter(|finding| of_standard(finding)).cloned().collect()
}

/// The list of accepted findings in its file.
pub struct List {
    path: PathBuf,
    /// What the file holds; nothing where it is to be written first.
    text: Option<String>,
    accepted: Accepted,
}

/// What the list says of a design.
pub struct Held {
    design: String,
    /// The entries that accept a finding.
    by: Vec<usize>,
    /// What is accepted from now on, where the list is written first, and how many findings cannot be.
    first: Vec<Entry>,
    left: usize,
}

impl List {
    /// Reads the list; one that is not there yet may be written first.
    pub fn read(path: &str, writes: bool) -> Result<List, Failure> {
        let path = PathBuf::from(path);
        let name = path.to_string_lossy();
        // Opening a pipe may wait for ever.
        if path.metadata().is_ok_and(|it| !it.is_file()) {
            return Err(failure(format!("the list of accepted findings `{name}` is no ordinary file")));
        }
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound && writes => {
                return Ok(List { path, text: None, accepted: Accepted::default() });
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                let help = "`--write-accepted` writes one of all that stands now";
                return Err(failure_with_help(format!("there is no list of accepted findings `{name}`"), help));
            }
            Err(error) => return Err(failure(format!("cannot read the list of accepted findings `{name}`: {error}"))),
        };
        let unsound = |line, reason| failure(format!("{name}:{line}: this is no list of accepted findings: {reason}"));
        let text = String::from_utf8(bytes).map_err(|_| unsound(1, "it is not text in UTF-8".into()))?;
        let accepted = Accepted::read(&text).map_err(|wrong| unsound(wrong.line, wrong.reason))?;
        Ok(List { path, text: Some(text), accepted })
    }

    /// Sets apart what the list accepts of a design.
    pub fn accept(&self, wanted: &Wanted, outcome: &mut Outcome) -> Held {
        let folder = absolute(&self.path);
        let design = seen_from(folder.parent().unwrap_or(Path::new("/")), &absolute(&wanted.path));
        if self.text.is_some() {
            let by = self.accepted.accept(&design, outcome);
            return Held { design, by, first: Vec::new(), left: 0 };
        }
        let first = Accepted::of(&design, outcome);
        Accepted::new(first.clone()).accept(&design, outcome);
        Held { design, by: Vec::new(), first, left: outcome.findings.len() }
    }

    /// The entries that accept nothing any more: of designs that were checked, and of those that are gone.
    pub fn stale(&self, held: &[Held], also_gone: bool) -> Vec<Stale<'_>> {
        let said = |at: usize| {
            let Entry { design, rule, at, message, .. } = &self.accepted.entries[at];
            (design, rule, at, message)
        };
        let taken: HashSet<_> = held.iter().flat_map(|it| &it.by).map(|at| said(*at)).collect();
        let stale = |at| Stale { entry: &self.accepted.entries[at], is_doubled: taken.contains(&said(at)) };
        self.stale_at(held, also_gone).into_iter().map(stale).collect()
    }

    fn stale_at(&self, held: &[Held], also_gone: bool) -> Vec<usize> {
        let checked: HashSet<&str> = held.iter().map(|it| it.design.as_str()).collect();
        let by: HashSet<usize> = held.iter().flat_map(|it| it.by.iter().copied()).collect();
        let folder = self.path.parent().unwrap_or(Path::new(""));
        let is_stale = |(at, entry): &(usize, &Entry)| match checked.contains(&*entry.design) {
            true => !by.contains(at),
            false => also_gone && !folder.join(&entry.design).exists(),
        };
        self.accepted.entries.iter().enumerate().filter(is_stale).map(|(at, _)| at).collect()
    }

    /// Writes the list: first of all that stands, later without what stands no more. Says what was done.
    pub fn write(&self, held: &[Held]) -> Result<String, Failure> {
        let name = self.path.to_string_lossy();
        let cannot =
            |error: std::io::Error| failure(format!("cannot write the list of accepted findings `{name}`: {error}"));
        let Some(before) = &self.text else {
            let list = Accepted::new(held.iter().flat_map(|it| it.first.iter().cloned()).collect());
            let mut file = std::fs::File::create_new(&self.path).map_err(cannot)?;
            file.write_all(list.text().as_bytes()).map_err(cannot)?;
            let left: usize = held.iter().map(|it| it.left).sum();
            let cannot = match left {
                0 => String::new(),
                left => format!("; {left} cannot be: they guard people, or stand in the way of reading"),
            };
            return Ok(format!("{name}: {} accepted{cannot}", findings(list.entries.len())));
        };
        let stale: HashSet<usize> = self.stale_at(held, true).into_iter().collect();
        if stale.is_empty() {
            return Ok(format!("{name}: nothing to take out"));
        }
        let entries = self.accepted.entries.iter().enumerate();
        let left = entries.filter(|(at, _)| !stale.contains(at)).map(|(_, entry)| entry.clone()).collect();
        let after = Accepted::new(left).text();
        crate::commands::replace(&self.path, before.as_bytes(), after.as_bytes()).map_err(cannot)?;
        Ok(format!("{name}: {} taken out", findings(stale.len())))
    }
}

fn findings(number: usize) -> String {
    format!("{number} {}", if number == 1 { "finding" } else { "findings" })
}

/// A path as seen from a folder, with `/` between folders; both from the root on.
fn seen_from(folder: &Path, path: &Path) -> String {
    let (from, to): (Vec<_>, Vec<_>) = (folder.components().collect(), path.components().collect());
    let common = from.iter().zip(&to).take_while(|(one, other)| one == other).count();
    let up = from[common..].iter().map(|_| "..".into());
    let down = to[common..].iter().map(|it| it.as_os_str().to_string_lossy());
    up.chain(down).collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_put_together_are_the_whole() {
        let all: Vec<String> = (0..11).map(|at| format!("{at}.ufh.yaml")).collect();
        for of in 1..=14 {
            let mut put_together = Vec::new();
            for number in 1..=of {
                let wanted = all.iter().map(|path| Wanted::new(path, false)).collect();
                let share = share(wanted, Share { number, of });
                assert!((11 / of..=11_usize.div_ceil(of)).contains(&share.len()), "{number}/{of}");
                put_together.extend(share.iter().map(Wanted::name));
            }
            assert_eq!(put_together, all);
        }
    }

    #[test]
    fn a_house_standard_takes_no_designs_place_in_a_share() {
        let names = ["house-standard.yaml", "a", "b", "x/house-standard.yaml", "c", "d", "y/house-standard.yaml"];
        let of = |number, of| -> Vec<String> {
            let wanted = names.iter().map(|path| Wanted::new(*path, false)).collect();
            share(wanted, Share { number, of }).iter().map(Wanted::name).collect()
        };
        assert_eq!(of(1, 2), ["house-standard.yaml", "a", "b", "x/house-standard.yaml"]);
        assert_eq!(of(2, 2), ["c", "d", "y/house-standard.yaml"]);
        assert_eq!([of(1, 9), of(9, 9)].concat(), ["house-standard.yaml", "d", "y/house-standard.yaml"]);
        for many in 1..9 {
            assert_eq!((1..=many).flat_map(|number| of(number, many)).collect::<Vec<_>>(), names);
        }
    }

    #[test]
    fn a_path_is_seen_from_a_folder() {
        let seen = |folder: &str, path: &str| seen_from(Path::new(folder), Path::new(path));
        assert_eq!(seen("/a", "/a/b/c.yaml"), "b/c.yaml");
        assert_eq!(seen("/a/ci", "/a/b/c.yaml"), "../b/c.yaml");
        assert_eq!(seen("/", "/c.yaml"), "c.yaml");
    }
}
