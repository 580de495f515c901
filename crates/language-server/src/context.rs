//! What a place in a text is: the keys that lead to it and what may stand there, be the text half-typed.
//!
//! Only the lines are looked at that lead to the place: those further out on the left, and those of the innermost block. So a
//! text of a megabyte answers as soon as one of a page.

use design::Shape;
use std::ops::Range;
use yaml_tree::{FileId, Kind, Node};

/// What a place is.
#[derive(Debug, Clone)]
pub struct Context {
    /// The keys that lead to it; that of the value at the place, or being typed there, is the last one.
    pub path: Vec<String>,
    pub on: On,
    /// The text that is typed there, around the cursor.
    pub typed: Range<usize>,
    /// What stands there, whole.
    pub written: String,
    /// The part of it before the cursor.
    pub before: String,
    /// Of what is in the block: for a key the block itself, for a value what may stand there.
    pub shape: Option<Shape>,
    /// The keys that the block of the place has, the one under the cursor left out.
    pub given: Vec<String>,
    /// Whether the block is written in brackets or braces, on one line.
    pub in_brackets: bool,
    /// Spaces before the line of the block.
    pub indent: usize,
    /// Whether the key has its colon already.
    pub has_colon: bool,
    /// Whether a space is needed before what is typed.
    pub lacks_space: bool,
    /// Whether the value is an item of a list.
    pub is_item: bool,
}

/// Whether a place is where a key stands or where a value does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    Key,
    Value,
}

/// What no text holds, put where the cursor is.
const MARK: char = '\u{e0f1}';
/// Of lines around the cursor this many bytes are read, up and down.
const AROUND: usize = 16 << 10;

/// What the place at a byte is; nothing in a comment.
pub fn at(text: &str, offset: usize, root: &Shape) -> Option<Context> {
    let offset = text.floor_char_boundary(offset.min(text.len()));
    let excerpt = Excerpt::around(text, offset);
    let line = &text[excerpt.line.start..offset];
    if in_comment(line) {
        return None;
    }
    let lacks_space = line.ends_with(':');
    let space = if lacks_space { " " } else { "" };
    // As it is; and as a key whose colon is still to come.
    let endings: [&str; 2] = ["", ":"];
    for ending in endings {
        let marked = excerpt.with(text, &format!("{space}{MARK}{ending}"), ending.is_empty());
        let tree = yaml_tree::parse(FileId::new(0), &marked.text);
        let Some(found) = tree.root.as_ref().and_then(|node| find(node, root, &marked.text)) else { continue };
        // A text that goes on from the line before is no value: a new key is being typed.
        let begins_earlier = marked
            .text
            .get(found.place.clone())
            .is_some_and(|it| it.split(MARK).next().is_some_and(|it| it.contains('\n')));
        if ending.is_empty() && (begins_earlier || !found.is_whole) {
            continue;
        }
        let mark = marked.text.find(MARK)?;
        let written = marked.text.get(found.place.clone())?;
        let behind = written.len() - (mark.saturating_sub(found.place.start) + MARK.len_utf8()).min(written.len());
        let behind =
            if ending.is_empty() { behind } else { behind.saturating_sub(usize::from(written.ends_with(':'))) };
        let before = mark.saturating_sub(found.place.start);
        let end = (offset + behind).min(excerpt.line.end);
        let typed = offset.saturating_sub(before).max(excerpt.line.start)..end;
        let before = text.get(typed.start..offset)?.to_string();
        let mut given = found.given;
        if excerpt.is_cut && found.path.len() <= 1 {
            given.extend(outermost_keys(text, excerpt.line.clone()));
        }
        return Some(Context {
            on: found.on,
            path: found.path,
            has_colon: text.get(end..).is_some_and(|rest| rest.trim_start_matches(' ').starts_with(':')),
            written: text.get(typed.clone())?.to_string(),
            typed,
            before,
            shape: found.shape,
            given,
            in_brackets: found.in_brackets,
            indent: excerpt.indent,
            lacks_space,
            is_item: found.is_item,
        });
    }
    None
}

/// Whether the cursor is behind a `#` that begins a comment; quotes are looked at roughly.
fn in_comment(line: &str) -> bool {
    let mut quote = None;
    let mut last = ' ';
    for c in line.chars() {
        match quote {
            Some(open) if c == open => quote = None,
            Some(_) => {}
            None if c == '#' && last.is_whitespace() => return true,
            None if matches!(c, '"' | '\'') && (last.is_whitespace() || matches!(last, '[' | '{' | ',' | ':')) => {
                quote = Some(c)
            }
            None => {}
        }
        last = c;
    }
    false
}

/// The keys on the left edge of a text, but for the one on that line.
fn outermost_keys(text: &str, but: Range<usize>) -> Vec<String> {
    let mut start = 0;
    let mut keys = Vec::new();
    for line in text.split_inclusive('\n') {
        if start != but.start && line.starts_with(|c: char| c.is_ascii_lowercase()) {
            keys.extend(line.split_once(':').map(|(key, _)| key.to_string()));
        }
        start += line.len();
    }
    keys
}

/// The lines of a text that matter for a place in it.
struct Excerpt {
    /// Further out on the left, in the order of the text.
    outer: Vec<Range<usize>>,
    /// Of the innermost block, before the cursor's line and behind it.
    above: Range<usize>,
    below: Range<usize>,
    /// The line of the cursor, without its line end.
    line: Range<usize>,
    cursor: usize,
    indent: usize,
    /// Whether the innermost block is longer than what is read of it.
    is_cut: bool,
}

/// An excerpt with the mark.
struct Marked {
    text: String,
}

impl Excerpt {
    fn around(text: &str, cursor: usize) -> Excerpt {
        let start = text[..cursor].rfind('\n').map_or(0, |at| at + 1);
        let end = text[cursor..].find('\n').map_or(text.len(), |at| cursor + at);
        let end = start + text[start..end].trim_end_matches('\r').len();
        let end = end.max(cursor);
        let blank = text[start..end].trim().is_empty();
        let indent = if blank { cursor - start } else { indent_of(&text[start..end]) };
        let mut excerpt = Excerpt {
            outer: Vec::new(),
            above: start..start,
            below: end..end,
            line: start..end,
            cursor,
            indent,
            is_cut: false,
        };
        excerpt.look_up(text);
        excerpt.look_down(text);
        excerpt
    }

    fn look_up(&mut self, text: &str) {
        let mut level = self.indent;
        let mut innermost = true;
        let mut after_dash = text[self.line.clone()].trim_start().starts_with("- ");
        let mut at = self.line.start;
        while at > 0 && (level > 0 || innermost || after_dash) {
            let start = text[..at - 1].rfind('\n').map_or(0, |it| it + 1);
            let line = &text[start..at];
            let here = start..at;
            at = start;
            let content = line.trim();
            if content.is_empty() || content.starts_with('#') {
                if innermost && !self.is_cut {
                    self.above.start = start;
                }
                continue;
            }
            let indent = indent_of(line);
            let dash = content.starts_with("- ") || content == "-";
            if indent < level || (indent == level && after_dash && !dash) {
                if innermost {
                    innermost = false;
                }
                after_dash = dash;
                level = indent;
                self.outer.push(here);
            } else if innermost && !self.is_cut {
                if self.line.start - start > AROUND {
                    self.is_cut = true;
                    self.above = self.line.start..self.line.start;
                } else {
                    self.above.start = start;
                }
            }
        }
        self.outer.reverse();
        if let Some(last) = self.outer.last() {
            // What stands between the block and its first line belongs to neither.
            self.above.start = self.above.start.max(last.end);
        }
    }

    fn look_down(&mut self, text: &str) {
        let mut at = (self.line.end + 1).min(text.len());
        if text[self.line.end..].starts_with('\r') {
            at = (self.line.end + 2).min(text.len());
        }
        self.below = at..at;
        while at < text.len() {
            let end = text[at..].find('\n').map_or(text.len(), |it| at + it + 1);
            let line = &text[at..end];
            if !line.trim().is_empty() && indent_of(line) < self.indent {
                // A closing bracket may stand further out.
                if line.trim_start().starts_with([']', '}']) {
                    self.below.end = end;
                }
                break;
            }
            if end - self.below.start > AROUND {
                self.is_cut = true;
                break;
            }
            at = end;
            self.below.end = end;
        }
    }

    /// The lines as one text, with something put in at the cursor. Before a colon that is still to come, what is behind the cursor
    /// is kept; else the line is as it is.
    fn with(&self, text: &str, mark: &str, as_it_is: bool) -> Marked {
        let mut marked = String::new();
        for outer in &self.outer {
            marked.push_str(&text[outer.clone()]);
        }
        marked.push_str(&text[self.above.clone()]);
        marked.push_str(&text[self.line.start..self.cursor]);
        let rest = &text[self.cursor..self.line.end];
        if as_it_is {
            marked.push_str(mark);
            marked.push_str(rest);
        } else {
            let (mark, colon) = mark.split_at(mark.len() - 1);
            let word =
                rest.find(|c: char| c.is_whitespace() || matches!(c, ',' | '}' | ']' | ':')).unwrap_or(rest.len());
            marked.push_str(mark);
            marked.push_str(&rest[..word]);
            marked.push_str(colon);
            marked.push(' ');
            marked.push_str(&rest[word..]);
        }
        marked.push('\n');
        marked.push_str(&text[self.below.clone()]);
        Marked { text: marked }
    }
}

fn indent_of(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}

/// What holds the mark.
struct Found {
    path: Vec<String>,
    on: On,
    place: Range<usize>,
    shape: Option<Shape>,
    given: Vec<String>,
    in_brackets: bool,
    is_item: bool,
    /// Whether the mark stands where a key or value belongs, by itself.
    is_whole: bool,
}

fn find(root: &Node, shape: &Shape, text: &str) -> Option<Found> {
    let mut path = Vec::new();
    let mark = text.find(MARK)?;
    descend(root, Some(shape.clone()), text, mark, &mut path, false)
}

fn holds(node: &Node, mark: usize) -> bool {
    node.place.range().start <= mark && mark < node.place.range().end
}

fn descend(
    node: &Node,
    shape: Option<Shape>,
    text: &str,
    mark: usize,
    path: &mut Vec<String>,
    is_item: bool,
) -> Option<Found> {
    if !holds(node, mark) {
        return None;
    }
    let in_brackets = text.get(node.place.range()).is_some_and(|it| it.starts_with(['{', '[']));
    match &node.kind {
        Kind::Map(entries) => {
            let given = |but: &Node| {
                let keys = entries.iter().filter(|(key, _)| key.place != but.place);
                keys.filter_map(|(key, _)| Some(key.as_text()?.to_string())).collect::<Vec<_>>()
            };
            for (key, value) in entries {
                if holds(key, mark) {
                    path.push(without_mark(key.as_text().unwrap_or_default()));
                    return Some(Found {
                        path: std::mem::take(path),
                        on: On::Key,
                        place: key.place.range(),
                        shape,
                        given: given(key),
                        in_brackets,
                        is_item: false,
                        is_whole: true,
                    });
                }
                if holds(value, mark) {
                    let name = key.as_text().unwrap_or_default().to_string();
                    let under = shape.as_ref().and_then(|it| it.under(&name));
                    path.push(name);
                    let mut found = descend(value, under, text, mark, path, false)?;
                    if found.on == On::Value && found.given.is_empty() {
                        found.given = given(key);
                    }
                    return Some(found);
                }
            }
            None
        }
        Kind::List(items) => {
            let of_item = shape.as_ref().and_then(Shape::item);
            let inner = items.iter().find(|it| holds(it, mark))?;
            let mut found = descend(inner, of_item, text, mark, path, true)?;
            found.in_brackets |= in_brackets;
            Some(found)
        }
        Kind::Scalar(scalar) => {
            let record =
                shape.as_ref().and_then(Shape::record).is_some() || shape.as_ref().and_then(Shape::names_of).is_some();
            // On its own line under a block, or as an item, a word is the beginning of a key.
            let on = if record && is_key_like(text, node, is_item) { On::Key } else { On::Value };
            if on == On::Key {
                path.push(without_mark(&scalar.text));
            }
            Some(Found {
                path: std::mem::take(path),
                on,
                place: node.place.range(),
                shape,
                given: Vec::new(),
                in_brackets: false,
                is_item,
                is_whole: scalar.text.contains(MARK),
            })
        }
        Kind::Null => None,
    }
}

/// Whether a word stands where the first key of a block would.
fn is_key_like(text: &str, node: &Node, is_item: bool) -> bool {
    let before = text.get(..node.place.range().start).unwrap_or_default();
    let line = before.rsplit('\n').next().unwrap_or_default();
    line.trim().is_empty() || is_item && line.trim_end().ends_with('-')
}

fn without_mark(text: &str) -> String {
    text.chars().filter(|c| *c != MARK).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root() -> Shape {
        <design::Design as design::Value>::shape()
    }

    /// The context at the `|` of a text.
    fn context(text: &str) -> Option<Context> {
        let at = text.find('|').expect("there is a cursor");
        super::at(&text.replacen('|', "", 1), at, &root())
    }

    fn shown(text: &str) -> (String, On, String) {
        let it = context(text).unwrap_or_else(|| panic!("no context in {text:?}"));
        (it.path.join("/"), it.on, it.before)
    }

    #[test]
    fn keys_and_values_are_told_apart_in_half_typed_text() {
        let key = |path: &str, before: &str| (path.to_string(), On::Key, before.to_string());
        let value = |path: &str, before: &str| (path.to_string(), On::Value, before.to_string());
        for (text, wanted) in [
            ("ro|", key("ro", "ro")),
            ("|", key("", "")),
            ("format: 1\n|\nrooms: {}\n", key("", "")),
            ("rooms:\n  hall:\n    us|\n  bath: {}\n", key("rooms/hall/us", "us")),
            ("rooms:\n  hall:\n    use: living\n    |\n  bath: {}\n", key("rooms/hall/", "")),
            ("rooms:\n  hall:\n    |\n", key("rooms/hall/", "")),
            ("rooms:\n  hall: {use: living, te|}\n", key("rooms/hall/te", "te")),
            ("rooms:\n  hall: {use: living, |}\n", key("rooms/hall/", "")),
            ("rooms:\n  hall: {use: liv|ing}\n", value("rooms/hall/use", "liv")),
            ("rooms:\n  hall: {use: |}\n", value("rooms/hall/use", "")),
            ("rooms:\n  hall: {use: |\n  bath: {}\n", value("rooms/hall/use", "")),
            ("rooms:\n  hall:\n    use:|\n    area: 12 m²\n", value("rooms/hall/use", "")),
            ("rooms:\n  hall:\n    use: |\n    area: 12 m²\n", value("rooms/hall/use", "")),
            ("loops:\n  L1:\n    spacing: 150 m|\n", value("loops/L1/spacing", "150 m")),
            ("loops:\n  L1:\n    sleeves: [W1, |]\n", value("loops/L1/sleeves", "")),
            ("floors:\n  f:\n    layers:\n      - {material: por|}\n", value("floors/f/layers/material", "por")),
            ("floors:\n  f:\n    layers:\n      - mat|\n", key("floors/f/layers/mat", "mat")),
            ("floors:\n  f:\n    layers:\n    - material: x\n      th|\n    - {}\n", key("floors/f/layers/th", "th")),
            ("rooms:\n  hall: {use: living,\n    ar|}\n", key("rooms/hall/ar", "ar")),
            ("rooms:\n  ha|ll: {}\n", key("rooms/hall", "ha")),
            ("rooms:\r\n  hall:\r\n    us|\r\n", key("rooms/hall/us", "us")),
        ] {
            assert_eq!(shown(text), wanted, "{text:?}");
        }
        assert!(context("rooms: # a | comment\n").is_none());
    }

    #[test]
    fn what_is_given_already_is_known() {
        let it = context("rooms:\n  hall:\n    use: living\n    |\n    area: 12 m²\n  bath: {height: 2 m}\n")
            .expect("a place for a key");
        assert_eq!(it.given, ["use", "area"]);
        let it = context("format: 1\nro|\nloops: {}\n").expect("a place for a key");
        assert_eq!(it.given, ["format", "loops"]);
        let it = context("rooms:\n  hall: {use: living, |area: 12 m²}\n").expect("a key");
        assert_eq!(it.given, ["use"]);
    }

    /// However much stands around, the same is said, and soon.
    #[test]
    fn a_long_text_changes_nothing() {
        let rooms: String =
            (0..20_000).map(|it| format!("  r{it}: {{use: living, area: 12 m²,\n    height: 2.4 m}}\n")).collect();
        let text = format!("format: 1\nrooms:\n{rooms}  hall: {{use: |}}\n{rooms}|");
        let begun = std::time::Instant::now();
        assert_eq!(shown(&text).0, "rooms/hall/use");
        let text = text.replacen('|', "", 1);
        let it =
            context(&text.replace("rooms:\n", "rooms:\n  |\n").replacen("\n|", "\n", 1)).expect("a place for a name");
        assert_eq!(it.path, ["rooms", ""]);
        assert!(begun.elapsed().as_millis() < 1000, "{:?}", begun.elapsed());
    }

    #[test]
    fn no_place_of_any_beginning_panics() {
        let text = "format: 1\nrooms:\n  \"ha°ll\": {use: living, 'x': [1, 2], area: 12 m²} # c\n  b:\n    - x: |\n        a\n      y: \"q\nloops: [\n";
        for end in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
            for at in (0..=end).filter(|at| text.is_char_boundary(*at)) {
                let context = super::at(&text[..end], at, &root());
                if let Some(it) = context {
                    assert!(text[..end].get(it.typed.clone()).is_some(), "{:?} at {at}: {it:?}", &text[..end]);
                    assert!(it.typed.start <= at && at <= it.typed.end, "{:?} at {at}: {it:?}", &text[..end]);
                }
            }
        }
    }
}
