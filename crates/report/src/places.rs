//! Lines and columns of the files that were read.

use check::{Place, Source};
use std::cell::Cell;
use yaml_tree::lines::{LineIndex, Position};

/// The files that were read, with their lines.
pub(crate) struct Texts<'o>(Vec<Text<'o>>);

/// A file with its lines.
pub(crate) struct Text<'o> {
    pub path: &'o str,
    pub text: &'o str,
    pub lines: LineIndex,
    /// The last position asked for. Counting on from it keeps a file that is one long line from
    /// costing its length for each finding.
    last: Cell<(usize, Position)>,
}

impl<'o> Texts<'o> {
    pub fn new(sources: &'o [Source]) -> Texts<'o> {
        Texts(sources.iter().map(Text::new).collect())
    }

    /// The file of a place; nothing if it is not among those that were read.
    pub fn of(&self, place: Place) -> Option<&Text<'o>> {
        self.0.get(place.file.number())
    }
}

impl<'o> Text<'o> {
    fn new(source: &'o Source) -> Text<'o> {
        let lines = LineIndex::new(&source.text);
        let first = Position { line: 1, column: 1 };
        Text { path: &source.path, text: &source.text, last: Cell::new((lines.start(1), first)), lines }
    }

    /// The line and the column of a byte, each counted from one; past the end, those of the end.
    pub fn position(&self, offset: usize) -> Position {
        let offset = self.text.floor_char_boundary(offset.max(self.lines.start(1)));
        let line = self.lines.line(offset);
        let (last_offset, last) = self.last.get();
        let position = if line == last.line {
            let between = |from, to| self.text.get(from..to).map_or(0, |text: &str| text.chars().count()) as u32;
            let column = if offset >= last_offset {
                last.column + between(last_offset, offset)
            } else {
                last.column.saturating_sub(between(offset, last_offset))
            };
            Position { line, column }
        } else {
            self.lines.position(self.text, offset)
        };
        self.last.set((offset, position));
        position
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counting_on_gives_what_counting_anew_gives() {
        let source = Source::new("a", "\u{feff}a: 21 °C\r\nb: 🔥!\n\n\rc °°°");
        let lines = LineIndex::new(&source.text);
        let text = Text::new(&source);
        let mut offset = 0;
        for _ in 0..1000 {
            // A walk that jumps forward and back over the whole text.
            offset = (offset + 7) % (source.text.len() + 3);
            assert_eq!(text.position(offset), lines.position(&source.text, offset), "{offset}");
        }
    }
}
