//! A document as it was at one moment, and what is read of it when somebody first asks.

use crate::outline::Outline;
use crate::state::Uri;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use yaml_tree::lines::LineIndex;

/// A text that nobody changes any more.
#[derive(Debug)]
pub struct Snapshot {
    pub document: Uri,
    /// Where the document stands, if it is a file.
    pub path: Option<PathBuf>,
    /// The client's number of the text.
    pub version: i32,
    pub text: Arc<String>,
    lines: OnceLock<LineIndex>,
    outline: OnceLock<Outline>,
}

impl Snapshot {
    pub fn new(document: Uri, path: Option<PathBuf>, version: i32, text: Arc<String>) -> Snapshot {
        Snapshot { document, path, version, text, lines: OnceLock::new(), outline: OnceLock::new() }
    }

    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }

    pub fn outline(&self) -> &Outline {
        self.outline.get_or_init(|| Outline::of(&self.text))
    }

    /// The folder that it stands in.
    pub fn folder(&self) -> Option<&Path> {
        self.path.as_deref().and_then(Path::parent)
    }

    /// Its name as findings tell it.
    pub fn name(&self) -> String {
        name(self.path.as_deref())
    }

    /// Whether it is a house standard and no design.
    pub fn is_house_standard(&self) -> bool {
        design::is_house_standard(&self.name())
    }

    /// What may stand in it.
    pub fn shape(&self) -> design::Shape {
        if self.is_house_standard() {
            <design::HouseStandard as design::Value>::shape()
        } else {
            <design::Design as design::Value>::shape()
        }
    }
}

/// Only the name of the file, so that findings name libraries as the design does.
pub fn name(path: Option<&Path>) -> String {
    match path {
        Some(path) => path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        None => "untitled".into(),
    }
}
