//! Finding designs, and reading files without being led astray by their size or kind.

use crate::repository;
use ignore::WalkBuilder;
use language_server::disk;
use report::Unreadable;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// What the name of a design ends with.
pub const ENDING: &str = ".ufh.yaml";

/// A file to check.
#[derive(Debug, PartialEq, Eq)]
pub struct Wanted {
    pub path: PathBuf,
    /// Whether the file itself was named; else it was found in a folder.
    pub named: bool,
}

impl Wanted {
    pub fn new(path: impl Into<PathBuf>, named: bool) -> Wanted {
        Wanted { path: path.into(), named }
    }

    /// The name of the file in findings: as seen from here, where it is here or below, so that it is the same on every machine.
    pub fn name(&self) -> String {
        // From the topmost folder all is below.
        let here = std::env::current_dir().ok().filter(|here| self.path.is_absolute() && here.parent().is_some());
        let below = here.and_then(|here| self.path.strip_prefix(here).ok()).filter(|it| !it.as_os_str().is_empty());
        let name = below.unwrap_or(&self.path).to_string_lossy();
        name.strip_prefix("./").unwrap_or(&name).to_string()
    }

    pub fn is_house_standard(&self) -> bool {
        design::is_house_standard(&self.path.to_string_lossy())
    }

    /// What the file holds, or why it cannot be read.
    pub fn bytes(&self) -> Result<Vec<u8>, String> {
        if self.path == Path::new("-") { disk::bounded(std::io::stdin().lock()) } else { disk::read(&self.path) }
    }
}

/// What a search for designs gave.
#[derive(Debug, Default)]
pub struct Search {
    /// Each file once, in the order of the paths, those of a folder by name.
    pub wanted: Vec<Wanted>,
    pub unreadable: Vec<Unreadable>,
    /// Files named like designs that were passed over.
    pub left_out: Vec<PathBuf>,
    /// Folders elsewhere that links lead to, into which nobody looked.
    pub linked: Vec<PathBuf>,
}

/// The files that the paths stand for.
pub fn wanted(paths: &[String]) -> Search {
    let mut search = Search::default();
    for path in paths {
        if path != "-" && Path::new(path).is_dir() {
            search.folder(path);
        } else {
            search.wanted.push(Wanted::new(path, true));
        }
    }
    // A file that is named is checked whatever it holds, though a folder brings it too; and what any path brings is not left out.
    let plain = |path: &Path| design::plain_path(&std::path::absolute(path).unwrap_or_else(|_| path.into()));
    let named: HashSet<PathBuf> = search.wanted.iter().filter(|it| it.named).map(|it| plain(&it.path)).collect();
    let mut seen = HashSet::new();
    search.wanted.retain(|it| seen.insert(plain(&it.path)));
    search.wanted.iter_mut().for_each(|it| it.named |= named.contains(&plain(&it.path)));
    search.left_out.retain(|path| seen.insert(plain(path)));
    search
}

impl Search {
    /// Adds the designs and house standards in a folder and in those below it.
    ///
    /// What an ignore file names, or lies in a hidden folder, is passed over; but not what `git` keeps all the same, for that goes out with
    /// the rest. Of `.ignore`, which is for programs that search, what it names is passed over in any case.
    fn folder(&mut self, folder: &str) {
        let here = Path::new(folder).canonicalize().unwrap_or_default();
        // What a link leads to within the folder is found there.
        let leads_away = |link: &Path| link.canonicalize().is_ok_and(|real| real.is_dir() && !real.starts_with(&here));
        let mut plain = HashSet::new();
        let before = self.unreadable.len();
        for entry in walk(folder, true, true) {
            match entry {
                Ok(entry) if is_named_so(&entry) => drop(plain.insert(entry.into_path())),
                Ok(entry) if entry.depth() > 0 && entry.path_is_symlink() && leads_away(entry.path()) => {
                    self.linked.push(entry.into_path())
                }
                Ok(_) => {}
                Err(error) => self.unreadable.push(Unreadable { file: folder.to_string(), reason: error.to_string() }),
            }
        }
        // What cannot be read there is of no concern to anyone.
        let all: Vec<PathBuf> = named_so(walk(folder, false, false)).collect();
        let kept = if all.len() == plain.len() { HashSet::new() } else { kept(folder) };
        let is_there = !all.is_empty();
        for path in all {
            if plain.contains(&path) || kept.contains(&path) {
                self.wanted.push(Wanted::new(path, false));
            } else if !Wanted::new(&path, false).is_house_standard() {
                self.left_out.push(path);
            }
        }
        if !is_there && self.unreadable.len() == before {
            let reason = format!("the folder holds no design, no file named `*{ENDING}`");
            self.unreadable.push(Unreadable { file: folder.to_string(), reason });
        }
    }
}

/// The files in a folder that `git` keeps, but for what `.ignore` names.
fn kept(folder: &str) -> HashSet<PathBuf> {
    let Some(kept) = repository::kept(Path::new(folder)) else { return HashSet::new() };
    let kept: HashSet<PathBuf> = kept.into_iter().map(|path| Path::new(folder).join(path)).collect();
    named_so(walk(folder, true, false)).filter(|path| kept.contains(path)).collect()
}

/// The way through a folder and those below it, by name; with what `.ignore` says, and with what else leaves files out, or without.
fn walk(folder: &str, ignored: bool, hidden: bool) -> ignore::Walk {
    let mut walk = WalkBuilder::new(folder);
    walk.standard_filters(hidden).ignore(ignored).parents(ignored).require_git(false).sort_by_file_path(Ord::cmp);
    walk.filter_entry(|entry| entry.file_name() != ".git").build()
}

fn named_so(walk: ignore::Walk) -> impl Iterator<Item = PathBuf> {
    walk.filter_map(Result::ok).filter(is_named_so).map(ignore::DirEntry::into_path)
}

/// Whether an entry of a folder has the name of a design or of a house standard.
fn is_named_so(entry: &ignore::DirEntry) -> bool {
    let name = entry.file_name().to_string_lossy();
    (name.ends_with(ENDING) || design::is_house_standard(&name)) && !entry.file_type().is_some_and(|it| it.is_dir())
}

/// The house standard that a design is held against: the one named, or the nearest on the way up from the design.
pub fn house_standard(named: Option<&str>, design: &Wanted) -> Option<String> {
    if let Some(named) = named {
        return Some(named.to_string());
    }
    // As the design is named; a name that is no text would lead elsewhere.
    let path = design.path.to_str().map_or_else(|| design.path.clone(), |_| design.name().into());
    let folder = path.parent().unwrap_or(Path::new(""));
    let found = house_standard_of_folder(folder)?;
    Some(design::plain_path(&folder.join(found)).to_string_lossy().into_owned())
}

/// The nearest house standard on the way up from a folder, as a path from there.
pub fn house_standard_of_folder(folder: &Path) -> Option<String> {
    disk::house_standard(folder)
}

/// What a library holds, or why it cannot be read.
pub fn library(path: &str) -> Result<Vec<u8>, String> {
    disk::library(Path::new(path))
}
