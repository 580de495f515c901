//! The protocol's lines and characters to bytes and back; the only place that knows UTF-16.

use std::ops::Range;
use yaml_tree::lines::{self, LineIndex};

/// What a client counts as one character of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Encoding {
    Utf8,
    /// What counts when client and server have not agreed on another one.
    #[default]
    Utf16,
    Utf32,
}

/// A line and a character, both counted from zero, the character in the units of an [`Encoding`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Point {
    pub line: u32,
    pub character: u32,
}

impl Encoding {
    /// How many units the text takes.
    fn units(self, text: &str) -> usize {
        // Counted byte by byte without decoding, so that a file of one long line costs little.
        let characters = || text.bytes().filter(|byte| byte & 0xc0 != 0x80).count();
        match self {
            Encoding::Utf8 => text.len(),
            Encoding::Utf16 => characters() + text.bytes().filter(|byte| *byte >= 0xf0).count(),
            Encoding::Utf32 => characters(),
        }
    }

    fn units_of(self, character: char) -> usize {
        match self {
            Encoding::Utf8 => character.len_utf8(),
            Encoding::Utf16 => character.len_utf16(),
            Encoding::Utf32 => 1,
        }
    }

    /// The byte at a point. Past the end of a line it is that end, before its line break; past the last line the
    /// end of the text; inside a character the start of it.
    pub fn offset(self, text: &str, point: Point) -> usize {
        self.offset_in(text, line_start(text, point.line), point)
    }

    /// The same of a line that starts there, or that the text does not have.
    fn offset_in(self, text: &str, start: Option<usize>, point: Point) -> usize {
        let Some(start) = start else { return text.len() };
        let line = text.get(start..).unwrap_or_default();
        let mut left = point.character as usize;
        for (at, character) in line.char_indices() {
            let units = self.units_of(character);
            if left < units || matches!(character, '\n' | '\r') {
                return start + at;
            }
            left -= units;
        }
        text.len()
    }

    /// The bytes between two points, in whichever order they are given.
    pub fn range(self, text: &str, between: (Point, Point)) -> Range<usize> {
        let (one, other) = between;
        let start = line_start(text, one.line);
        // Most edits are within a line, and to find one takes long in a long text.
        let other_start = if other.line == one.line { start } else { line_start(text, other.line) };
        let (one, other) = (self.offset_in(text, start, one), self.offset_in(text, other_start, other));
        one.min(other)..one.max(other)
    }

    /// The point of a byte. Inside a line break it is the end of the line; past the end of the text, that end;
    /// inside a character, the start of it.
    pub fn point(self, text: &str, lines: &LineIndex, offset: usize) -> Point {
        let offset = text.floor_char_boundary(offset);
        let line = lines.line(offset);
        // The index has the first line begin behind a byte order mark; in a text from an editor it is a character.
        let start = if line == 1 { 0 } else { lines.start(line) };
        let end = offset.min(lines.bytes(text, line).end.max(start));
        let units = self.units(text.get(start..end).unwrap_or_default());
        Point { line: line - 1, character: u32::try_from(units).unwrap_or(u32::MAX) }
    }

    /// The points around a range of bytes. Line breaks at its end are left out.
    pub fn points(self, text: &str, lines: &LineIndex, bytes: Range<usize>) -> (Point, Point) {
        let marked = text.get(bytes.clone()).unwrap_or_default();
        let end = bytes.start + marked.trim_end_matches(['\r', '\n']).len();
        (self.point(text, lines, bytes.start), self.point(text, lines, end))
    }
}

/// The first byte of a line that is counted from zero. A line ends with a line feed, a carriage return or both.
fn line_start(text: &str, line: u32) -> Option<usize> {
    match line.checked_sub(1) {
        None => Some(0),
        Some(before) => lines::starts_after(text).nth(before as usize),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];
    const TEXTS: [&str; 8] = [
        "",
        "a",
        "\n",
        "a: 21 °C\r\nb: 12 m²  # 🔥!\r\n",
        "\u{feff}a: 🔥\rb\n\r\n\nc",
        "\r\r\n\r",
        "floor: Ø 16 mm\n  λ: 0,035 W/(m·K)\n\n",
        "🔥🔥\n🔥",
    ];

    fn at(line: u32, character: u32) -> Point {
        Point { line, character }
    }

    /// Lines as the protocol splits them, each with the byte that it starts at; slow and plain.
    fn plain_lines(text: &str) -> Vec<(usize, String)> {
        let mut lines = vec![(0, String::new())];
        let mut characters = text.char_indices().peekable();
        while let Some((at, character)) = characters.next() {
            if character == '\r' && characters.next_if(|next| next.1 == '\n').is_some() {
                lines.push((at + 2, String::new()));
            } else if matches!(character, '\r' | '\n') {
                lines.push((at + 1, String::new()));
            } else if let Some(line) = lines.last_mut() {
                line.1.push(character);
            }
        }
        lines
    }

    #[test]
    fn both_ways_at_every_character() {
        for text in TEXTS {
            let lines = LineIndex::new(text);
            for (number, (start, line)) in plain_lines(text).into_iter().enumerate() {
                for (bytes, _) in line.char_indices().chain([(line.len(), ' ')]) {
                    let before = &line[..bytes];
                    // The standard library counts the units of each encoding.
                    let counts = [before.len(), before.encode_utf16().count(), before.chars().count()];
                    for (encoding, units) in ALL.into_iter().zip(counts) {
                        let point = at(number as u32, units as u32);
                        assert_eq!(encoding.offset(text, point), start + bytes, "{text:?} {encoding:?} {point:?}");
                        assert_eq!(encoding.point(text, &lines, start + bytes), point, "{text:?} {encoding:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn what_lies_outside_is_brought_inside() {
        let text = "a: 21 °C\r\nb: 🔥\n";
        for encoding in ALL {
            assert_eq!(encoding.offset(text, at(0, 99)), 9, "before the line break");
            assert_eq!(encoding.offset(text, at(2, 0)), text.len());
            assert_eq!(encoding.offset(text, at(2, 7)), text.len());
            assert_eq!(encoding.offset(text, at(u32::MAX, u32::MAX)), text.len());
            let lines = LineIndex::new(text);
            let end = encoding.point(text, &lines, 9);
            assert_eq!(encoding.point(text, &lines, 10), end, "between carriage return and line feed");
            assert_eq!(encoding.point(text, &lines, 99), at(2, 0));
        }
        assert_eq!(Encoding::Utf16.offset(text, at(1, 4)), 14, "inside a pair of surrogates");
        assert_eq!(Encoding::Utf8.offset(text, at(1, 6)), 14, "inside a character");
    }

    #[test]
    fn a_range_ends_before_the_line_break() {
        let text = "loops:\r\n  L1: °\r\nrooms:\r\n";
        let lines = LineIndex::new(text);
        assert_eq!(Encoding::Utf16.points(text, &lines, 8..18), (at(1, 0), at(1, 7)));
        assert_eq!(Encoding::Utf16.points(text, &lines, 3..3), (at(0, 3), at(0, 3)));
        assert_eq!(Encoding::Utf16.range(text, (at(1, 7), at(1, 2))), 10..16);
    }
}
