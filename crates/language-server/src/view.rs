//! What a check says of one open document.

use crate::work::Checked;
use check::{FileId, Finding, Place};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

/// A check, seen from one document: the design that was checked, or a library of it that is open too.
///
/// A finding in a library is shown in the library if that is open. Else the design shows it at the line that
/// names the library, because an editor shows nothing of a file that nobody has opened.
#[derive(Debug, Clone)]
pub struct View {
    pub checked: Arc<Checked>,
    /// Which of the files that were read the document is.
    pub file: FileId,
    /// Libraries that are not open and so are shown in this document.
    pub closed: Vec<FileId>,
}

/// A finding as a document shows it.
#[derive(Debug, Clone)]
pub struct Shown<'v> {
    pub view: &'v View,
    pub finding: &'v Finding,
    /// The bytes of the document that are marked.
    pub bytes: Range<usize>,
}

impl View {
    /// Every finding that the document shows.
    pub fn findings(&self) -> impl Iterator<Item = Shown<'_>> {
        self.checked.outcome.findings.iter().filter_map(|finding| {
            let file = finding.place.file;
            let place = match file == self.file {
                true => finding.place,
                false if self.closed.contains(&file) => self.named_at(file),
                false => return None,
            };
            Some(Shown { view: self, finding, bytes: place.range() })
        })
    }

    /// The findings that the cursor or the selection touches.
    pub fn touched(&self, selected: &Range<usize>) -> impl Iterator<Item = Shown<'_>> {
        self.findings().filter(|it| it.bytes.start <= selected.end && selected.start <= it.bytes.end)
    }

    /// Where the design names a library; one that only another library names is shown at the first of the list.
    fn named_at(&self, file: FileId) -> Place {
        let named = &self.checked.outcome.design.library;
        let sources = &self.checked.outcome.sources;
        let path = sources.get(file.number()).map(|source| Path::new(&source.path));
        let own = named.iter().find(|it| path == Some(&design::plain_path(Path::new(&it.value))));
        own.or(named.first()).map(|it| it.at).unwrap_or_default()
    }
}

impl Shown<'_> {
    /// Whether the finding stands in another file than the one that shows it.
    pub fn elsewhere(&self) -> bool {
        self.finding.place.file != self.view.file
    }
}
