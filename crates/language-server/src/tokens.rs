//! What each word of a document is, for its colour.

use crate::outline::{At, Form};
use crate::snapshot::Snapshot;
use design::Shape;
use std::ops::Range;

/// What a word is. The order is that of the legend that the client is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    Comment,
    /// A block of the design.
    Block,
    /// A key of the format.
    Key,
    /// The name of something, given here.
    NameGiven,
    /// The name of something that stands elsewhere.
    NameUsed,
    /// One of the words that the format knows.
    Choice,
    /// A number, with its unit where it has one.
    Number,
    Flag,
    Text,
}

/// Every word, in the order of the text; none is longer than its line.
pub fn tokens(of: &Snapshot) -> Vec<(Range<usize>, Word)> {
    let text = of.text.as_str();
    let mut found: Vec<(Range<usize>, Word)> = Vec::new();
    if let Some(root) = of.outline().root(text) {
        walk(root, Some(&of.shape()), &mut found);
    }
    found.extend(of.outline().comments().map(|it| (it, Word::Comment)));
    found.sort_by_key(|(bytes, _)| bytes.start);
    let mut words = Vec::with_capacity(found.len());
    let mut end = 0;
    for (bytes, word) in found {
        // Faults may leave two readings of the same bytes: the first one counts.
        if bytes.start < end || bytes.is_empty() {
            continue;
        }
        end = bytes.end;
        words.extend(by_line(text, bytes).map(|line| (line, word)));
    }
    words
}

/// The parts of a range on each line, without the spaces around them.
fn by_line(text: &str, bytes: Range<usize>) -> impl Iterator<Item = Range<usize>> {
    let written = text.get(bytes.clone()).unwrap_or_default();
    let mut start = bytes.start;
    written.split_inclusive(['\n', '\r']).filter_map(move |line| {
        let from = start + (line.len() - line.trim_start().len());
        let to = start + line.trim_end().len();
        start += line.len();
        (from < to).then_some(from..to)
    })
}

fn walk(item: At, shape: Option<&Shape>, found: &mut Vec<(Range<usize>, Word)>) {
    match item.form() {
        Form::Nothing => {}
        Form::Scalar { .. } | Form::Alias => found.push((item.value(), scalar(item, shape))),
        Form::List => {
            let of_items = shape.and_then(Shape::item);
            item.children().for_each(|it| walk(it, of_items.as_ref(), found));
        }
        Form::Map => {
            let names = shape.is_some_and(|it| it.names_of().is_some());
            for entry in item.children() {
                let of_entry = shape.and_then(|it| it.under(entry.key_text()?));
                if let Some(key) = entry.key() {
                    let word = match () {
                        () if names => Word::NameGiven,
                        () if item.parent().is_none() => Word::Block,
                        () => Word::Key,
                    };
                    found.push((key, word));
                }
                walk(entry, of_entry.as_ref(), found);
            }
        }
    }
}

fn scalar(item: At, shape: Option<&Shape>) -> Word {
    let text = item.value_text().unwrap_or_default();
    let is_bare_number = matches!(item.form(), Form::Scalar { quoted: false }) && text.parse::<f64>().is_ok();
    // Points have no shape for their numbers, and what the format does not know has none at all.
    let Some(shape) = shape else { return if is_bare_number { Word::Number } else { Word::Text } };
    let begins_as_number = text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+' | '.'));
    let alternatives = shape.alternatives();
    let any = |is: &dyn Fn(&Shape) -> bool| alternatives.iter().any(is);
    if any(&|it| matches!(it, Shape::Word(words) if words.iter().any(|(word, _)| *word == text))) {
        Word::Choice
    } else if any(&|it| matches!(it, Shape::Flag)) {
        Word::Flag
    } else if begins_as_number
        && any(&|it| {
            matches!(
                it,
                Shape::Quantity { .. }
                    | Shape::Range { .. }
                    | Shape::Number(_)
                    | Shape::Whole
                    | Shape::Date
                    | Shape::Point
            )
        })
    {
        Word::Number
    } else if any(&|it| matches!(it, Shape::Name(_))) && !text.contains(' ') {
        Word::NameUsed
    } else if is_bare_number {
        Word::Number
    } else {
        Word::Text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    #[test]
    fn words_are_told_apart() {
        let text = "# top\nrooms:\n  hall: {use: living, area: 12 m², outline: [[0, 1.5]]} # end\nloops: {L1: {room: hall, pipe: copper 15 x 1}}\nproject:\n  name: >\n    two\n    lines\n";
        let of = Snapshot::new("a".into(), Some("a.ufh.yaml".into()), 1, Arc::new(text.into()));
        let words: Vec<(&str, Word)> = tokens(&of).into_iter().map(|(bytes, word)| (&text[bytes], word)).collect();
        for wanted in [
            ("# top", Word::Comment),
            ("rooms", Word::Block),
            ("hall", Word::NameGiven),
            ("use", Word::Key),
            ("living", Word::Choice),
            ("12 m²", Word::Number),
            ("1.5", Word::Number),
            ("# end", Word::Comment),
            ("hall", Word::NameUsed),
            ("copper 15 x 1", Word::Text),
        ] {
            assert!(words.contains(&wanted), "{wanted:?} is not in {words:?}");
        }
        assert!(words.iter().all(|(word, _)| !word.contains('\n')));
    }
}
