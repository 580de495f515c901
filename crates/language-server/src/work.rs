//! One check of one document.

use crate::nearby::{Nearby, OpenFile, beside};
use crate::snapshot::name;
use crate::state::{Depth, Uri};
use check::{FileId, Job, Kept, Outcome};
use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use yaml_tree::lines::LineIndex;

/// A check that is to be made, with all that it needs.
pub struct Work {
    pub document: Uri,
    /// Which opening of the document it is of.
    pub opened: u64,
    pub depth: Depth,
    /// The moment whose texts it looks at.
    pub as_of: u64,
    /// Where the document stands, if it is a file.
    pub path: Option<PathBuf>,
    pub text: Arc<String>,
    pub nearby: Nearby,
    /// The check before, of which what did not change is taken over.
    pub before: Option<Arc<Kept>>,
    /// Set as soon as nobody wants it any more.
    pub stop: Arc<AtomicBool>,
}

/// What came of it.
pub struct Done {
    pub document: Uri,
    pub opened: u64,
    pub depth: Depth,
    pub as_of: u64,
    /// The libraries it asked for, whether they could be read or not.
    pub libraries: Vec<PathBuf>,
    /// Nothing if the check panicked, or was given up.
    pub checked: Option<Arc<Checked>>,
    /// Whether it was given up.
    pub stopped: bool,
}

/// A check that was made, with the lines of its texts.
#[derive(Debug)]
pub struct Checked {
    pub outcome: Outcome,
    lines: Vec<LineIndex>,
    folder: Option<PathBuf>,
}

impl Work {
    pub fn run(self) -> Done {
        let asked = RefCell::new(Vec::new());
        let remedies = self.depth == Depth::Remedies;
        let stop = || self.stop.load(Relaxed);
        let checked = catch_unwind(AssertUnwindSafe(|| {
            let before = self.before.as_deref();
            check(self.path.as_deref(), self.text.as_bytes(), &self.nearby, before, remedies, &asked, &stop)
        }));
        if checked.is_err() {
            // The panic itself has been told by then.
            eprintln!("the check of {} failed; that is a fault of hypocaust, not of the design", self.document);
        }
        Done {
            document: self.document,
            opened: self.opened,
            depth: self.depth,
            as_of: self.as_of,
            libraries: asked.into_inner(),
            stopped: matches!(checked, Ok(None)),
            checked: checked.ok().flatten().map(Arc::new),
        }
    }
}

/// Checks the design at a path; nothing if it was given up. Where the other files stand that it asked for is told to `asked`.
pub fn check(
    path: Option<&Path>,
    text: &[u8],
    nearby: &Nearby,
    before: Option<&Kept>,
    remedies: bool,
    asked: &RefCell<Vec<PathBuf>>,
    stop: &dyn Fn() -> bool,
) -> Option<Checked> {
    let outcome = with_job(path, text, nearby, remedies, asked, |job| check::check_until(job, before, stop))?;
    let lines = outcome.sources.iter().map(|source| LineIndex::new(&source.text)).collect();
    Some(Checked { outcome, lines, folder: nearby.folder.clone() })
}

/// Calls `ask` with the job of a design.
pub fn with_job<T>(
    path: Option<&Path>,
    text: &[u8],
    nearby: &Nearby,
    remedies: bool,
    asked: &RefCell<Vec<PathBuf>>,
    ask: impl FnOnce(&Job) -> T,
) -> T {
    let files = |library: &str| nearby.library(library, asked);
    ask(&Job {
        path: &name(path),
        bytes: text,
        files: &files,
        house_standard: nearby.house_standard().as_deref(),
        today: jiff::ZonedDateTime::now().date(),
        remedies,
    })
}

impl Checked {
    /// Calls `ask` with the job that it came of, the other files as they are now.
    pub fn with_job<T>(&self, open: Arc<Vec<OpenFile>>, ask: impl FnOnce(&Job) -> T) -> Option<T> {
        let design = self.outcome.sources.first()?;
        let nearby = Nearby { folder: self.folder.clone(), open };
        Some(with_job(Some(Path::new(&design.path)), design.text.as_bytes(), &nearby, false, &RefCell::default(), ask))
    }

    /// The text of a file that was read, and its lines.
    pub fn text(&self, file: FileId) -> Option<(&str, &LineIndex)> {
        let at = file.number();
        Some((&self.outcome.sources.get(at)?.text, self.lines.get(at)?))
    }

    /// The libraries that were read, each with its path.
    pub fn libraries(&self) -> impl Iterator<Item = (FileId, PathBuf)> {
        let folder = self.folder.as_deref().unwrap_or(Path::new(""));
        let sources = self.outcome.sources.iter().enumerate().skip(1);
        sources.map(move |(at, source)| (FileId::new(at as u16), beside(folder, &source.path)))
    }

    /// The path of a library; nothing for the design itself.
    pub fn path(&self, file: FileId) -> Option<PathBuf> {
        self.libraries().find(|(library, _)| *library == file).map(|(_, path)| path)
    }
}
