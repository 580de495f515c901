//! One check of one document.

use crate::disk;
use crate::state::{Depth, Uri};
use check::{FileId, Job, Outcome};
use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
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
    /// What is open besides, and may be a library.
    pub others: Vec<(PathBuf, Arc<String>)>,
}

/// What came of it.
pub struct Done {
    pub document: Uri,
    pub opened: u64,
    pub depth: Depth,
    pub as_of: u64,
    /// The libraries it asked for, whether they could be read or not.
    pub libraries: Vec<PathBuf>,
    /// Nothing if the check panicked.
    pub checked: Option<Arc<Checked>>,
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
        let checked = catch_unwind(AssertUnwindSafe(|| self.check(&asked)));
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
            checked: checked.ok().map(Arc::new),
        }
    }

    fn check(&self, asked: &RefCell<Vec<PathBuf>>) -> Checked {
        let folder = self.path.as_deref().and_then(Path::parent);
        let files = |library: &str| {
            let Some(folder) = folder else {
                return Err("a library is looked for from where the design stands: save the design first".into());
            };
            let path = beside(folder, library);
            asked.borrow_mut().push(path.clone());
            match self.others.iter().find(|(other, _)| *other == path) {
                Some((_, text)) => Ok(text.as_bytes().to_vec()),
                None => disk::library(&path),
            }
        };
        // Only the name of the file, so that findings name libraries as the design does.
        let name = match &self.path {
            Some(path) => path.file_name().unwrap_or_default().to_string_lossy(),
            None => "untitled".into(),
        };
        let house_standard = folder.and_then(disk::house_standard);
        let outcome = check::check(&Job {
            path: &name,
            bytes: self.text.as_bytes(),
            files: &files,
            house_standard: house_standard.as_deref(),
            today: jiff::ZonedDateTime::now().date(),
            remedies: self.depth == Depth::Remedies,
        });
        let lines = outcome.sources.iter().map(|source| LineIndex::new(&source.text)).collect();
        Checked { outcome, lines, folder: folder.map(Path::to_path_buf) }
    }
}

impl Checked {
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

/// Where a library is that a design in `folder` names.
fn beside(folder: &Path, library: &str) -> PathBuf {
    design::plain_path(&folder.join(library))
}
