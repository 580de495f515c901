//! Edits back to text.

use std::fmt;
use std::ops::Range;

/// Put `text` in place of the bytes of `range`; an empty range inserts, an empty text takes away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    pub range: Range<usize>,
    pub text: String,
}

/// Why edits could not be applied; nothing was changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditFault {
    /// The range ends before it starts, reaches past the text, or cuts a character in two.
    NotInText(Range<usize>),
    /// Two edits change the same bytes, or change bytes around the place where another inserts.
    Overlap(Range<usize>, Range<usize>),
}

impl fmt::Display for EditFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            EditFault::NotInText(range) => {
                write!(out, "the bytes {range:?} are not a part of the text, so it cannot be changed there")
            }
            EditFault::Overlap(one, other) => {
                write!(out, "two changes meet at the bytes {one:?} and {other:?}; make one of them first")
            }
        }
    }
}

impl std::error::Error for EditFault {}

/// The text with all edits made. Their ranges are those of `text` as it is before any of them, in any
/// order; insertions at the same place keep the order in which they are given.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, EditFault> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|it| (it.range.start, it.range.end));
    let mut changed = String::with_capacity(text.len() + edits.iter().map(|it| it.text.len()).sum::<usize>());
    let mut done = 0..0;
    for edit in sorted {
        if edit.range.start < done.end {
            return Err(EditFault::Overlap(done, edit.range.clone()));
        }
        let (Some(kept), Some(_)) = (text.get(done.end..edit.range.start), text.get(edit.range.clone())) else {
            return Err(EditFault::NotInText(edit.range.clone()));
        };
        changed.push_str(kept);
        changed.push_str(&edit.text);
        done = edit.range.clone();
    }
    changed.push_str(text.get(done.end..).unwrap_or_default());
    Ok(changed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edit(range: Range<usize>, text: &str) -> Edit {
        Edit { range, text: text.to_string() }
    }

    #[test]
    fn edits_of_any_order_all_count_from_the_old_text() {
        let edits = [edit(10..10, "\n"), edit(0..1, "spacing"), edit(3..6, "20")];
        assert_eq!(apply("s: 150 mm.", &edits).as_deref(), Ok("spacing: 20 mm.\n"));
        assert_eq!(apply("same", &[]).as_deref(), Ok("same"));
    }

    #[test]
    fn insertions_at_one_place_keep_their_order() {
        assert_eq!(apply("ab", &[edit(1..1, "1"), edit(1..1, "2"), edit(1..2, "3")]).as_deref(), Ok("a123"));
    }

    #[test]
    fn an_edit_outside_the_text_changes_nothing() {
        #[expect(clippy::reversed_empty_ranges)]
        let backward = 2..1;
        for range in [5..6, 0..9, 1..2, backward] {
            assert_eq!(apply("°C ", &[edit(range.clone(), "")]), Err(EditFault::NotInText(range)));
        }
        assert_eq!(apply("°C", &[edit(0..2, "deg")]).as_deref(), Ok("degC"));
    }

    #[test]
    fn edits_that_meet_are_refused() {
        let found = apply("abcdef", &[edit(2..5, ""), edit(1..3, "")]);
        assert_eq!(found, Err(EditFault::Overlap(1..3, 2..5)));
        let inside = apply("abcdef", &[edit(1..3, ""), edit(2..2, "x")]);
        assert_eq!(inside, Err(EditFault::Overlap(1..3, 2..2)));
    }
}
