//! Lines and columns, for people and their editors; everything else speaks in bytes.

use crate::place::char_start;

/// Where the lines of one text start. A line ends with a line feed, a carriage return or both.
#[derive(Debug, Clone)]
pub struct LineIndex {
    starts: Vec<u32>,
    /// Where the text starts: after the byte order mark, which no editor shows.
    first: u32,
    length: u32,
}

/// A line and a column, both counted from one, the column in Unicode scalar values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Position {
    pub line: u32,
    pub column: u32,
}

/// The first byte of each line but the first.
pub fn starts_after(text: &str) -> impl Iterator<Item = usize> + '_ {
    let bytes = text.as_bytes();
    let ends = memchr::memchr2_iter(b'\n', b'\r', bytes);
    ends.filter(|at| bytes[*at] == b'\n' || bytes.get(at + 1) != Some(&b'\n')).map(|at| at + 1)
}

impl LineIndex {
    /// Takes a text of up to 4 GiB; what lies behind that counts as its end.
    pub fn new(text: &str) -> LineIndex {
        let cut = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let first = if text.starts_with('\u{feff}') { 3 } else { 0 };
        let mut starts = vec![first];
        starts.extend(starts_after(text).map(cut));
        LineIndex { starts, first, length: cut(text.len()) }
    }

    /// How many lines there are: one more than line ends.
    pub fn count(&self) -> u32 {
        u32::try_from(self.starts.len()).unwrap_or(u32::MAX)
    }

    /// The line, counted from one, that the byte at `offset` is in; past the end, the last one.
    pub fn line(&self, offset: usize) -> u32 {
        let after = self.starts.partition_point(|start| *start as usize <= offset);
        u32::try_from(after).unwrap_or(u32::MAX).max(1)
    }

    /// The first byte of a line that is counted from one; past the last line, the end of the text.
    pub fn start(&self, line: u32) -> usize {
        let at = line.saturating_sub(1) as usize;
        self.starts.get(at).copied().unwrap_or(self.length) as usize
    }

    /// The bytes of a line that is counted from one, without its line end.
    pub fn bytes(&self, text: &str, line: u32) -> std::ops::Range<usize> {
        let start = self.start(line).min(text.len());
        let end = self.start(line.saturating_add(1)).min(text.len());
        let content = text.get(start..end).unwrap_or_default();
        start..start + content.trim_end_matches(['\r', '\n']).len()
    }

    /// The position of a byte; inside a character, that of the character; past the end, the end.
    pub fn position(&self, text: &str, offset: usize) -> Position {
        let offset = char_start(text, offset.max(self.first as usize));
        let line = self.line(offset);
        let before = text.get(self.start(line)..offset).unwrap_or_default();
        Position { line, column: u32::try_from(before.chars().count()).unwrap_or(u32::MAX).saturating_add(1) }
    }

    /// The byte at a position; past the end of the line, the end of it without the line end; past the
    /// last line, the end of the text.
    pub fn offset(&self, text: &str, position: Position) -> usize {
        if position.line > self.count() {
            return text.len();
        }
        let line = self.bytes(text, position.line);
        let content = text.get(line.clone()).unwrap_or_default();
        let before = position.column.saturating_sub(1) as usize;
        line.start + content.char_indices().nth(before).map_or(content.len(), |(at, _)| at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: u32, column: u32) -> Position {
        Position { line, column }
    }

    #[test]
    fn both_ways_at_every_character() {
        for text in ["", "a", "a\n", "\u{feff}a: 21 °C\r\nb: 🔥!\n\n\rc", "\u{feff}", "\r\n\r\n"] {
            let lines = LineIndex::new(text);
            for (offset, character) in text.char_indices().filter(|(_, it)| *it != '\u{feff}') {
                let position = lines.position(text, offset);
                let inside = character == '\n' && text[..offset].ends_with('\r');
                assert!(inside || lines.offset(text, position) == offset, "{text:?} {offset} {position:?}");
            }
        }
    }

    #[test]
    fn columns_count_characters_and_lines_end_in_three_ways() {
        let text = "ä: b\r\n°C x\ry\n";
        let lines = LineIndex::new(text);
        assert_eq!(lines.count(), 4);
        assert_eq!(lines.position(text, 4), at(1, 4));
        assert_eq!(lines.position(text, text.find('x').unwrap_or(0)), at(2, 4));
        assert_eq!(lines.position(text, text.find('y').unwrap_or(0)), at(3, 1));
        assert_eq!(&text[lines.bytes(text, 1)], "ä: b");
        assert_eq!(&text[lines.bytes(text, 2)], "°C x");
        assert_eq!(lines.bytes(text, 4), text.len()..text.len());
    }

    #[test]
    fn the_byte_order_mark_takes_no_column() {
        let text = "\u{feff}a";
        let lines = LineIndex::new(text);
        assert_eq!(lines.position(text, 3), at(1, 1));
        assert_eq!(lines.position(text, 0), at(1, 1));
        assert_eq!(lines.offset(text, at(1, 1)), 3);
    }

    #[test]
    fn what_lies_outside_is_brought_inside() {
        let text = "°\nab\n";
        let lines = LineIndex::new(text);
        assert_eq!(lines.position(text, 1), at(1, 1), "inside a character");
        assert_eq!(lines.position(text, 99), at(3, 1));
        assert_eq!(lines.offset(text, at(0, 0)), 0);
        assert_eq!(lines.offset(text, at(2, 99)), 5);
        assert_eq!(lines.offset(text, at(99, 1)), 6);
        assert_eq!(lines.offset(text, at(u32::MAX, u32::MAX)), 6);
    }
}
