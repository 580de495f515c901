//! Finding designs, and reading files without being led astray by their size or kind.

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

    /// The name of the file in findings.
    pub fn name(&self) -> String {
        let name = self.path.to_string_lossy();
        name.strip_prefix("./").unwrap_or(&name).to_string()
    }

    /// What the file holds, or why it cannot be read.
    pub fn bytes(&self) -> Result<Vec<u8>, String> {
        if self.path == Path::new("-") { disk::bounded(std::io::stdin().lock()) } else { disk::read(&self.path) }
    }
}

/// The files that the paths stand for, each once, in the order of the paths, those of a folder by name.
pub fn wanted(paths: &[String]) -> (Vec<Wanted>, Vec<Unreadable>) {
    let mut wanted = Vec::new();
    let mut unreadable = Vec::new();
    for path in paths {
        if path != "-" && Path::new(path).is_dir() {
            let before = wanted.len() + unreadable.len();
            search(path, &mut wanted, &mut unreadable);
            if wanted.len() + unreadable.len() == before {
                let reason = format!("the folder holds no design, no file named `*{ENDING}`");
                unreadable.push(Unreadable { file: path.clone(), reason });
            }
        } else {
            wanted.push(Wanted::new(path, true));
        }
    }
    let mut seen = HashSet::new();
    wanted.retain(|it: &Wanted| seen.insert(it.name()));
    (wanted, unreadable)
}

/// Adds the designs and house standards in a folder and in those below it.
fn search(folder: &str, wanted: &mut Vec<Wanted>, unreadable: &mut Vec<Unreadable>) {
    let walk = WalkBuilder::new(folder).require_git(false).sort_by_file_path(Ord::cmp).build();
    for entry in walk {
        match entry {
            Ok(entry) => {
                let name = entry.file_name().to_string_lossy();
                let named_so = name.ends_with(ENDING) || design::is_house_standard(&name);
                if named_so && !entry.file_type().is_some_and(|it| it.is_dir()) {
                    wanted.push(Wanted::new(entry.into_path(), false));
                }
            }
            Err(error) => unreadable.push(Unreadable { file: folder.to_string(), reason: error.to_string() }),
        }
    }
}

/// The house standard that a design is held against: the one named, or the nearest on the way up from the design.
pub fn house_standard(named: Option<&str>, design: &Wanted) -> Option<String> {
    if let Some(named) = named {
        return Some(named.to_string());
    }
    let folder = design.path.parent().unwrap_or(Path::new(""));
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
