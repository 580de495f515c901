//! The designs of all folders that the editor has open, be they open themselves or not.

use crate::nearby::{Nearby, OpenFile};
use crate::work::{Checked, check};
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::SystemTime;

/// Designs that are looked at in one workspace at most.
const MOST_DESIGNS: usize = 5_000;
/// Files and folders that are passed on the way: somebody may have opened all of a disk.
const MOST_PASSED: usize = 200_000;
/// What the file of a design is called.
const ENDING: &str = ".ufh.yaml";

/// Every design and house standard in the folders, by its path.
pub fn designs(folders: &[PathBuf]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in folders {
        let walk = ignore::WalkBuilder::new(folder).require_git(false).sort_by_file_path(Ord::cmp).build();
        for entry in walk.flatten().take(MOST_PASSED) {
            let name = entry.file_name().to_string_lossy();
            let named_so = name.ends_with(ENDING) || design::is_house_standard(&name);
            if named_so && entry.file_type().is_some_and(|it| it.is_file()) {
                found.push(entry.into_path());
            }
            if found.len() == MOST_DESIGNS {
                return found;
            }
        }
    }
    found.sort();
    found.dedup();
    found
}

/// What a file was when it was looked at.
#[derive(Debug, Clone, PartialEq)]
enum Stamp {
    Open(u64),
    Disk(SystemTime, u64),
    Missing,
}

/// What was looked at for one design, and what came of it.
struct Kept<T> {
    stamps: Vec<(PathBuf, Stamp)>,
    house_standard: Option<String>,
    /// For each file that has findings or was read, what is to be told.
    told: Arc<BTreeMap<PathBuf, T>>,
}

/// What was told of each design, for as long as none of its files changes.
pub struct Memory<T> {
    kept: Mutex<HashMap<PathBuf, Kept<T>>>,
}

impl<T> Default for Memory<T> {
    fn default() -> Memory<T> {
        Memory { kept: Mutex::new(HashMap::new()) }
    }
}

impl<T> Memory<T> {
    /// What is to be told of the files of a design. `tell` says it of a check; that is only made if a file has changed. Nothing if
    /// it was given up or panicked.
    pub fn of(
        &self,
        design: &Path,
        open: &Arc<Vec<OpenFile>>,
        stop: &dyn Fn() -> bool,
        tell: impl FnOnce(&Arc<Checked>) -> BTreeMap<PathBuf, T>,
    ) -> Option<Arc<BTreeMap<PathBuf, T>>> {
        let nearby = Nearby::of(Some(design), open.clone());
        let stamp = |path: &Path| match nearby.open_at(path) {
            Some(open) => Stamp::Open(open.changed),
            None => match std::fs::metadata(path).and_then(|it| Ok((it.modified()?, it.len()))) {
                Ok((modified, length)) => Stamp::Disk(modified, length),
                Err(_) => Stamp::Missing,
            },
        };
        let house_standard = nearby.house_standard();
        if let Ok(kept) = self.kept.lock()
            && let Some(kept) = kept.get(design)
            && kept.house_standard == house_standard
            && kept.stamps.iter().all(|(path, before)| stamp(path) == *before)
        {
            return Some(kept.told.clone());
        }
        let own = stamp(design);
        let text = match nearby.open_at(design) {
            Some(open) => open.text.as_bytes().to_vec(),
            None => crate::disk::read(design).ok()?,
        };
        let asked = RefCell::new(Vec::new());
        let checked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            check(Some(design), &text, &nearby, None, false, &asked, stop)
        }));
        let checked = Arc::new(checked.ok().flatten()?);
        let told = Arc::new(tell(&checked));
        let others = asked.into_inner().into_iter().map(|path| (path.clone(), stamp(&path)));
        let stamps = std::iter::once((design.to_path_buf(), own)).chain(others).collect();
        if let Ok(mut kept) = self.kept.lock() {
            kept.insert(design.to_path_buf(), Kept { stamps, house_standard, told: told.clone() });
        }
        Some(told)
    }

    /// Forgets designs that are no longer there.
    pub fn keep_only(&self, designs: &[PathBuf]) {
        if let Ok(mut kept) = self.kept.lock() {
            kept.retain(|path, _| designs.binary_search(path).is_ok());
        }
    }
}
