//! Finding designs, and reading files without being led astray by their size or kind.

use ignore::WalkBuilder;
use report::Unreadable;
use std::collections::HashSet;
use std::fs::File;
use std::io::{Error, ErrorKind, Read};
use std::path::{Path, PathBuf};

/// What the name of a design ends with.
const ENDING: &str = ".ufh.yaml";

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
        if self.path == Path::new("-") { bounded(std::io::stdin().lock()) } else { bytes(&self.path) }
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

/// Adds the designs in a folder and in those below it.
fn search(folder: &str, wanted: &mut Vec<Wanted>, unreadable: &mut Vec<Unreadable>) {
    let walk = WalkBuilder::new(folder).require_git(false).sort_by_file_path(Ord::cmp).build();
    for entry in walk {
        match entry {
            Ok(entry) => {
                let named_so = entry.file_name().to_string_lossy().ends_with(ENDING);
                if named_so && !entry.file_type().is_some_and(|it| it.is_dir()) {
                    wanted.push(Wanted::new(entry.into_path(), false));
                }
            }
            Err(error) => unreadable.push(Unreadable { file: folder.to_string(), reason: error.to_string() }),
        }
    }
}

/// What a library holds, or why it cannot be read.
///
/// A design may come from anyone and its findings go into build logs, lines of its libraries included:
/// only files of YAML are opened, so that a design cannot bring other files to light.
pub fn library(path: &str) -> Result<Vec<u8>, String> {
    let path = Path::new(path);
    if path.extension().is_none_or(|it| it != "yaml" && it != "yml") {
        return Err("the name of a library ends with `.yaml`".into());
    }
    bytes(path)
}

/// What a file holds, up to one byte more than may be checked, or why it cannot be read.
fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    let metadata = std::fs::metadata(path).map_err(reason)?;
    if metadata.is_dir() {
        return Err("it is a folder".into());
    }
    // Opening a pipe may wait for ever, and a device may never end.
    if !metadata.is_file() {
        return Err("it is no ordinary file".into());
    }
    bounded(File::open(path).map_err(reason)?)
}

/// One byte too many is enough to know that the text is too large.
fn bounded(from: impl Read) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    from.take(yaml_tree::LARGEST_TEXT as u64 + 1).read_to_end(&mut bytes).map_err(reason)?;
    Ok(bytes)
}

fn reason(error: Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "you have no permission to read it".into(),
        _ => error.to_string(),
    }
}
