//! The other files that a design may name: as the editor has them open, else as they stand on the disk.

use crate::disk;
use crate::state::Uri;
use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A file that is open in the editor.
#[derive(Debug, Clone)]
pub struct OpenFile {
    pub document: Uri,
    pub path: PathBuf,
    /// The client's number of the text.
    pub version: i32,
    /// When it last changed; no two texts of a file have the same.
    pub changed: u64,
    pub text: Arc<String>,
}

/// The files around one design.
#[derive(Debug, Clone)]
pub struct Nearby {
    pub folder: Option<PathBuf>,
    pub open: Arc<Vec<OpenFile>>,
}

impl Nearby {
    /// What surrounds the file at a path.
    pub fn of(path: Option<&Path>, open: Arc<Vec<OpenFile>>) -> Nearby {
        Nearby { folder: path.and_then(Path::parent).map(Path::to_path_buf), open }
    }

    /// What the library holds that the design names so, or why it cannot be read; where it stands is told to `asked`.
    pub fn library(&self, named: &str, asked: &RefCell<Vec<PathBuf>>) -> Result<Vec<u8>, String> {
        let Some(folder) = &self.folder else {
            return Err("a library is looked for from where the design stands: save the design first".into());
        };
        let path = beside(folder, named);
        let text = self.text(&path);
        asked.borrow_mut().push(path);
        text
    }

    /// What stands at a path, be it open or not.
    pub fn text(&self, path: &Path) -> Result<Vec<u8>, String> {
        match self.open_at(path) {
            Some(open) => Ok(open.text.as_bytes().to_vec()),
            None => disk::library(path),
        }
    }

    /// The open file at a path.
    pub fn open_at(&self, path: &Path) -> Option<&OpenFile> {
        self.open.iter().find(|it| it.path == path)
    }

    /// The house standard that the design is held against, as seen from its folder.
    pub fn house_standard(&self) -> Option<String> {
        self.folder.as_deref().and_then(disk::house_standard)
    }
}

/// Where a library is that a design in `folder` names.
pub fn beside(folder: &Path, library: &str) -> PathBuf {
    design::plain_path(&folder.join(library))
}
