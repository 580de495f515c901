//! Where something stands: a file and a range of its bytes.

use std::num::NonZeroU16;
use std::ops::Range;

/// One file among those that are read together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(
    /// One more than its number: so that a place that may be missing takes no more room than one that is there.
    NonZeroU16,
);

impl FileId {
    /// The file of that number, the first being 0.
    pub const fn new(number: u16) -> FileId {
        FileId(NonZeroU16::MIN.saturating_add(number))
    }

    /// Its number.
    pub fn number(self) -> usize {
        usize::from(self.0.get() - 1)
    }
}

impl Default for FileId {
    fn default() -> FileId {
        FileId::new(0)
    }
}

/// Bytes of one file, the end not included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Place {
    pub file: FileId,
    /// Bytes from the start of the file, a byte order mark included.
    pub start: u32,
    /// The byte after the last one.
    pub end: u32,
}

impl Place {
    /// Offsets are in bytes; what no `u32` can hold is cut to the largest one, which no text that is
    /// read ever reaches.
    pub fn new(file: FileId, bytes: Range<usize>) -> Place {
        let cut = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let start = cut(bytes.start);
        Place { file, start, end: cut(bytes.end).max(start) }
    }

    /// The bytes, to slice the text with.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    pub fn is_empty(self) -> bool {
        self.start >= self.end
    }

    /// From the first byte of the two to the last; of two files, this one counts.
    pub fn to(self, other: Place) -> Place {
        if self.file != other.file {
            return self;
        }
        Place { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether the byte at `at` is one of these; the place just after the last one counts too, because
    /// that is where the cursor stands after typing.
    pub fn touches(self, at: usize) -> bool {
        (self.start as usize..=self.end as usize).contains(&at)
    }

    /// The empty place just after this one.
    pub fn after(self) -> Place {
        Place { start: self.end, ..self }
    }
}

/// The last place up to `at` where a character starts or the text ends.
pub(crate) fn char_start(text: &str, at: usize) -> usize {
    let at = at.min(text.len());
    (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_twelve_bytes() {
        assert_eq!(size_of::<Place>(), 12);
        assert_eq!(size_of::<Option<Place>>(), 12);
    }

    #[test]
    fn two_places_join() {
        let one = Place::new(FileId::new(1), 3..5);
        let two = Place::new(FileId::new(1), 9..12);
        assert_eq!(two.to(one).range(), 3..12);
        assert_eq!(one.to(Place::new(FileId::new(2), 0..99)), one);
    }

    #[test]
    fn a_backward_or_huge_range_is_empty() {
        assert!(Place::new(FileId::new(0), 5..usize::MAX).touches(6));
        #[expect(clippy::reversed_empty_ranges)]
        let backward = Place::new(FileId::new(0), 5..3);
        assert!(backward.is_empty());
        assert_eq!(backward.range(), 5..5);
    }
}
