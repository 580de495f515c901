//! Where the comments are.

use crate::{FileId, Kind, Node, Place, Tree};

/// The comments of a text, in order, each from its `#` to the end of its line. Found when somebody asks,
/// so that reading does not pay for them; `tree` is what was read of the same text.
pub fn comments(file: FileId, text: &str, tree: &Tree) -> Vec<Place> {
    let mut values = Vec::new();
    if let Some(root) = &tree.root {
        scalars(text, root, &mut values);
    }
    values.sort_unstable();
    let mut values = values.into_iter().peekable();
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = text.get(from..).and_then(|rest| rest.find('#')).map(|it| from + it) {
        while values.next_if(|(_, end)| *end as usize <= at).is_some() {}
        if let Some((_, end)) = values.peek().copied().filter(|(start, _)| (*start as usize) < at) {
            from = end as usize;
        } else if at > 0 && !text[..at].ends_with([' ', '\t', '\r', '\n', '\u{feff}']) {
            from = at + 1;
        } else {
            let end = text[at..].find(['\r', '\n']).map_or(text.len(), |it| at + it);
            found.push(Place::new(file, at..end));
            from = end;
        }
    }
    found
}

/// Start and end of what can hold a `#` that is text: quotes, and block scalars without their first line.
fn scalars(text: &str, node: &Node, found: &mut Vec<(u32, u32)>) {
    match &node.kind {
        Kind::Null => {}
        Kind::Scalar(scalar) => {
            let written = text.get(node.place.range()).unwrap_or_default();
            let first = if written.starts_with(['|', '>']) { written.find('\n').unwrap_or(written.len()) } else { 0 };
            if scalar.quoted {
                found.push((node.place.start + first as u32, node.place.end));
            }
        }
        Kind::List(items) => items.iter().for_each(|it| scalars(text, it, found)),
        Kind::Map(entries) => entries.iter().for_each(|(key, value)| {
            scalars(text, key, found);
            scalars(text, value, found);
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse;

    fn check(text: &str, expected: &[&str]) {
        let tree = parse(FileId::new(0), text);
        let found: Vec<&str> = comments(FileId::new(0), text, &tree).into_iter().map(|it| &text[it.range()]).collect();
        assert_eq!(found, expected, "{text}");
    }

    #[test]
    fn comments_are_told_from_text() {
        check("# one\na: 1 # two\r\nb: 'x # y'   # three\nc: a#b\nd: \"#\" #", &["# one", "# two", "# three", "#"]);
        check("a: [1, # one\n  2] # two\n# three", &["# one", "# two", "# three"]);
        check("\u{feff}# one\n", &["# one"]);
    }

    #[test]
    fn block_scalars_hold_no_comments_but_on_their_first_line() {
        check("a: | # one\n  # text\n  more\n# two\nb: 1\n", &["# one", "# two"]);
    }

    #[test]
    fn comments_of_a_broken_text() {
        check("a: [1 # one\nfoo # two\n# three\nb: 1\n", &["# one", "# two", "# three"]);
    }
}
