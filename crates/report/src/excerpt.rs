//! The lines of a design that a finding marks, cut to what a person can read.

use crate::places::{Text, Texts};
use crate::words::{file_name, printable};
use check::{FileId, Place};
use codespan_reporting::files::{Error, Files};
use std::ops::Range;

/// A line of up to this many bytes is shown whole.
const WHOLE: usize = 200;
/// How much of a longer line is shown before what is marked, in bytes.
const BEFORE: usize = 60;

/// The marked lines of each file, and nothing else of it.
///
/// It plays the part of the files for the renderer, so that a megabyte in one line costs no more than a
/// short one, and so that nothing in it can steer the terminal.
#[derive(Default)]
pub(crate) struct Excerpt {
    files: Vec<FileShown>,
}

struct FileShown {
    file: FileId,
    name: String,
    text: String,
    lines: Vec<LineShown>,
}

struct LineShown {
    /// Counted from zero.
    index: usize,
    /// The bytes of the file that are shown.
    of_file: Range<usize>,
    /// Where they stand in the text shown, the signs of omission included.
    shown: Range<usize>,
    /// What stands for the part before, if part of the line is left out.
    omission: &'static str,
    /// How many columns further left the text shown begins than the line does.
    columns_left_out: usize,
}

/// Where a place is marked: the number of its file in the excerpt, and bytes of the text shown.
pub(crate) type Mark = (usize, Range<usize>);

impl Excerpt {
    /// The excerpt for places of which the first matters most, with a mark for each place. A place that
    /// stands too far from another one in the same long line has none, and neither has one in no file.
    ///
    /// A place that runs over its line is marked to the line's end.
    pub fn new(texts: &Texts, places: impl IntoIterator<Item = Place>) -> (Excerpt, Vec<Option<Mark>>) {
        let mut excerpt = Excerpt::default();
        let marks = places.into_iter().map(|place| excerpt.mark(texts.of(place)?, place)).collect();
        excerpt.fill_gaps(texts);
        (excerpt, marks)
    }

    fn mark(&mut self, text: &Text, place: Place) -> Option<Mark> {
        let range = place.range();
        let line = text.lines.line(range.start);
        let whole = text.lines.bytes(text.text, line);
        let start = range.start.clamp(whole.start, whole.end);
        let end = range.end.clamp(start, whole.end);
        let file = match self.files.iter().position(|it| it.file == place.file) {
            Some(at) => at,
            None => {
                let name = file_name(text.path).into_owned();
                self.files.push(FileShown { file: place.file, name, text: String::new(), lines: Vec::new() });
                self.files.len() - 1
            }
        };
        let shown = self.files.get_mut(file)?;
        shown.show(text, line, start);
        let line = shown.line(line as usize - 1)?;
        if start < line.of_file.start || start > line.of_file.end {
            return None;
        }
        let before = text.text.get(line.of_file.start..start)?;
        let marked = text.text.get(start..end.min(line.of_file.end))?;
        let start = line.shown.start + line.omission.len() + printable(before).len();
        Some((file, start..start + printable(marked).len()))
    }

    /// The renderer shows a single line between two marked ones instead of a sign of omission.
    fn fill_gaps(&mut self, texts: &Texts) {
        for shown in &mut self.files {
            let Some(text) = texts.of(Place { file: shown.file, ..Place::default() }) else { continue };
            let mut indices: Vec<usize> = shown.lines.iter().map(|it| it.index).collect();
            indices.sort_unstable();
            for pair in indices.windows(2) {
                if let [one, other] = *pair
                    && one + 2 == other
                {
                    let line = u32::try_from(one + 2).unwrap_or(u32::MAX);
                    shown.show(text, line, text.lines.start(line));
                }
            }
        }
    }
}

impl FileShown {
    fn line(&self, index: usize) -> Option<&LineShown> {
        self.lines.iter().find(|it| it.index == index)
    }

    /// Shows a line, counted from one; of a long one the part at `marked`.
    fn show(&mut self, text: &Text, line: u32, marked: usize) {
        let index = line.saturating_sub(1) as usize;
        if self.line(index).is_some() {
            return;
        }
        let whole = text.lines.bytes(text.text, line);
        let mut of_file = whole.clone();
        if whole.len() > WHOLE {
            of_file.start = text.text.floor_char_boundary(marked.saturating_sub(BEFORE).max(whole.start));
            of_file.end = text.text.floor_char_boundary((of_file.start + WHOLE).min(whole.end));
        }
        let omission = if of_file.start > whole.start { "…" } else { "" };
        let columns_before = text.position(of_file.start).column as usize - 1;
        let start = self.text.len();
        self.text.push_str(omission);
        self.text.push_str(&printable(text.text.get(of_file.clone()).unwrap_or_default()));
        if of_file.end < whole.end {
            self.text.push('…');
        }
        self.lines.push(LineShown {
            index,
            of_file,
            shown: start..self.text.len(),
            omission,
            columns_left_out: columns_before.saturating_sub(omission.chars().count()),
        });
        self.text.push('\n');
    }
}

impl<'a> Files<'a> for Excerpt {
    type FileId = usize;
    type Name = &'a str;
    type Source = &'a str;

    fn name(&'a self, file: usize) -> Result<&'a str, Error> {
        Ok(&self.files.get(file).ok_or(Error::FileMissing)?.name)
    }

    fn source(&'a self, file: usize) -> Result<&'a str, Error> {
        Ok(&self.files.get(file).ok_or(Error::FileMissing)?.text)
    }

    fn line_index(&'a self, file: usize, at: usize) -> Result<usize, Error> {
        let lines = &self.files.get(file).ok_or(Error::FileMissing)?.lines;
        let line = lines.iter().find(|it| it.shown.start <= at && at <= it.shown.end);
        Ok(line.ok_or(Error::IndexTooLarge { given: at, max: 0 })?.index)
    }

    fn line_range(&'a self, file: usize, index: usize) -> Result<Range<usize>, Error> {
        let line = self.files.get(file).ok_or(Error::FileMissing)?.line(index);
        Ok(line.ok_or(Error::LineTooLarge { given: index, max: 0 })?.shown.clone())
    }

    fn column_number(&'a self, file: usize, index: usize, at: usize) -> Result<usize, Error> {
        let shown = self.files.get(file).ok_or(Error::FileMissing)?;
        let line = shown.line(index).ok_or(Error::LineTooLarge { given: index, max: 0 })?;
        let before = shown.text.get(line.shown.start..at).unwrap_or_default().chars().count();
        Ok(line.columns_left_out + before + 1)
    }
}
