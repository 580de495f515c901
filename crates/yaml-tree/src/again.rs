//! Reading a text again after a change in one of its entries.

use crate::place::char_start;
use crate::scan::Reader;
use crate::{FileId, Kind, MOST_NODES, Node, Place, Scalar, Tree, parse};
use self_cell::self_cell;
use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

self_cell! {
    /// A text with its tree, to be kept for the reading of the next text.
    pub struct Parsed {
        owner: Arc<str>,
        #[covariant]
        dependent: Read,
    }

    impl {Debug}
}

#[derive(Debug)]
struct Read<'t> {
    tree: Tree<'t>,
    /// Known as soon as somebody asked.
    reaches_far: OnceLock<bool>,
}

impl Parsed {
    /// Reads a text.
    pub fn of(file: FileId, text: Arc<str>) -> Parsed {
        Parsed::new(text, |text| Read { tree: parse(file, text), reaches_far: OnceLock::new() })
    }

    /// What [`Parsed::of`] gives, for less, where the text differs from one that was read before within one entry.
    ///
    /// The innermost entry that holds the difference is read anew, and all else is taken over, with its place moved on.
    /// Where that is not safe (a fault in one of the texts, anchors, tags, keys after a `?`, a second document, a difference that
    /// may reach into the next entry) all is read.
    pub fn after(before: &Parsed, file: FileId, text: Arc<str>) -> Parsed {
        let far = *before.borrow_dependent().reaches_far.get_or_init(|| reaches_far(before.text()));
        Parsed::new(text, |text| {
            let taken_over = if far { None } else { taken_over(text, before.tree(), before.text()) };
            match taken_over {
                Some(tree) => Read { tree, reaches_far: OnceLock::from(false) },
                None => Read { tree: parse(file, text), reaches_far: OnceLock::new() },
            }
        })
    }

    pub fn text(&self) -> &Arc<str> {
        self.borrow_owner()
    }

    pub fn tree(&self) -> &Tree<'_> {
        &self.borrow_dependent().tree
    }
}

/// The tree of a text that differs from an old one within one entry; nothing in either reaches beyond its entry.
fn taken_over<'a>(text: &'a str, before: &Tree, old_text: &str) -> Option<Tree<'a>> {
    let root = before.root.as_ref().filter(|_| before.faults.is_empty())?;
    if text.len() > MOST_NODES {
        return None;
    }
    let (old, new) = (old_text.as_bytes(), text.as_bytes());
    let mut start = alike(old, new);
    let mut behind = alike_at_end(&old[start..], &new[start..]);
    // New lines between two entries look as if they began within the indentation of the second: they are to begin at
    // the end of the first.
    let longer = if old.len() > new.len() { old } else { new };
    while behind + start == old.len().min(new.len())
        && start > 0
        && old.get(start) != Some(&b'\n')
        && old[start - 1] == longer[longer.len() - behind - 1]
    {
        (start, behind) = (start - 1, behind + 1);
    }
    // A sign that reaches far has a part in the change, and is no longer than a few letters.
    let around = start.saturating_sub(FAR_SIGN)..(new.len() - behind + FAR_SIGN).min(new.len());
    if reaches_far_within(text, around) {
        return None;
    }
    let old = start..old.len() - behind;
    let change = Change { old, grown: text.len() as i64 - old_text.len() as i64, old_text, text };
    let root = change.node(root, old_text.len(), 0)?;
    Some(Tree { root: Some(root), faults: Vec::new() })
}

/// How many bytes two texts have in common at their beginning.
fn alike(one: &[u8], other: &[u8]) -> usize {
    let chunks = one.chunks_exact(CHUNK).zip(other.chunks_exact(CHUNK)).take_while(|(one, other)| one == other).count();
    let known = chunks * CHUNK;
    known + one[known..].iter().zip(&other[known..]).take_while(|(one, other)| one == other).count()
}

/// The same at their end.
fn alike_at_end(one: &[u8], other: &[u8]) -> usize {
    let chunks =
        one.rchunks_exact(CHUNK).zip(other.rchunks_exact(CHUNK)).take_while(|(one, other)| one == other).count();
    let known = chunks * CHUNK;
    let (one, other) = (&one[..one.len() - known], &other[..other.len() - known]);
    known + one.iter().rev().zip(other.iter().rev()).take_while(|(one, other)| one == other).count()
}

/// So many bytes are compared at once.
const CHUNK: usize = 64;

/// Whether there is anything in a text whose meaning may reach beyond its entry, or that looks like it.
fn reaches_far(text: &str) -> bool {
    reaches_far_within(text, 0..text.len())
}

/// The longest sign that may reach far, in bytes.
const FAR_SIGN: usize = 4;

/// The same of a part of a text.
fn reaches_far_within(text: &str, part: Range<usize>) -> bool {
    let start = char_start(text, part.start);
    let end = (part.end..text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len());
    let (part, all) = (&text[start..end], text.as_bytes());
    let at_start = start == 0 && ["---", "...", "%"].iter().any(|it| text.starts_with(it));
    let is_alone = |(at, _): (usize, &str)| all.get(start + at + 1) != Some(&b'\n');
    at_start
        || part.bytes().any(|it| matches!(it, b'&' | b'*' | b'!' | b'?' | b'\t'))
        || part.match_indices('\r').any(is_alone)
        || ["\n---", "\n...", "\n%", "<<", "\u{feff}"].iter().any(|it| part.contains(it))
}

/// How a text differs from an old one.
struct Change<'o, 'a> {
    /// The bytes of the old text that are not in the new one.
    old: Range<usize>,
    /// How much longer the new one is.
    grown: i64,
    old_text: &'o str,
    text: &'a str,
}

impl<'a> Change<'_, 'a> {
    /// A map of which one entry holds the change; `end` is where its last entry ends, in the old text.
    fn node(&self, map: &Node, end: usize, depth: usize) -> Option<Node<'a>> {
        let entries = map.as_map()?;
        let at = entries.partition_point(|(key, _)| key.place.range().end <= self.old.start).checked_sub(1)?;
        let (key, value) = &entries[at];
        let next = entries.get(at + 1).map(|(key, _)| self.line_start(key));
        let (from, to) = (self.line_start(key)?, next.unwrap_or(Some(end))?);
        if self.old.start < key.place.range().end || self.old.end > to {
            return None;
        }
        let mut kept: Vec<(Node<'a>, Node<'a>)> = Vec::with_capacity(entries.len());
        kept.extend(entries[..at].iter().map(|(key, value)| (self.moved(key), self.moved(value))));
        // In brackets, or on the line of its key, a map has no lines of its own.
        let has_lines = !value.place.is_empty()
            && value.as_map().is_some_and(|entries| {
                entries.first().is_some_and(|(key, _)| {
                    key.place.start == value.place.start && self.line_start(key).is_some_and(|line| line > from)
                })
            });
        match has_lines.then(|| self.node(value, to, depth + 1)).flatten() {
            Some(value) => kept.push((self.moved(key), value)),
            None => kept.extend(self.read(from..to, key, depth)?),
        }
        kept.extend(entries[at + 1..].iter().map(|(key, value)| (self.moved(key), self.moved(value))));
        let start = self.moved_place(map.place).start;
        let end = kept.last().map_or(start, |(_, value)| value.place.end).max(start);
        Some(Node { place: Place { start, end, ..map.place }, broken: false, kind: Kind::Map(kept) })
    }

    /// Where the line of a key of a map with lines of its own starts.
    fn line_start(&self, key: &Node) -> Option<usize> {
        let at = key.place.range().start;
        let start = self.old_text[..at].rfind('\n').map_or(0, |line| line + 1);
        self.old_text[start..at].bytes().all(|it| it == b' ').then_some(start)
    }

    /// The entries on the lines that were at `old` and started with `key`.
    fn read(&self, old: Range<usize>, key: &Node, depth: usize) -> Option<Vec<(Node<'a>, Node<'a>)>> {
        let end = usize::try_from(old.end as i64 + self.grown).ok()?;
        let new = old.start..end;
        let lines = self.text.get(new.clone())?;
        // How far a text of several lines goes is only known by the line behind it.
        if end < self.text.len() && !lines.ends_with('\n') || lines.contains(['|', '>']) {
            return None;
        }
        let mut reader = Reader::new(key.place.file, self.text);
        let scanned = reader.scan(new, depth);
        if scanned.fault.is_some() || !reader.faults.is_empty() {
            return None;
        }
        match scanned.node? {
            Node { place, kind: Kind::Map(entries), .. } if place.start == key.place.start => Some(entries),
            _ => None,
        }
    }

    fn moved_place(&self, place: Place) -> Place {
        let by = if place.range().start >= self.old.end { self.grown } else { 0 };
        let moved = |at: u32| (i64::from(at) + by) as u32;
        Place { start: moved(place.start), end: moved(place.end), ..place }
    }

    /// The same node in the new text; one that does not hold the change.
    fn moved(&self, node: &Node) -> Node<'a> {
        let place = self.moved_place(node.place);
        let kind = match &node.kind {
            Kind::Null => Kind::Null,
            Kind::Scalar(scalar) => {
                let same = self.text.get(place.range()).filter(|_| matches!(scalar.text, Cow::Borrowed(_)));
                // Most stand there as they are; what is in quotes stands further in.
                let written = same.and_then(|written| {
                    let start = if written.len() == scalar.text.len() { 0 } else { written.find(&*scalar.text)? };
                    written.get(start..start + scalar.text.len())
                });
                let text = written.map_or_else(|| Cow::Owned(scalar.text.clone().into_owned()), Cow::Borrowed);
                Kind::Scalar(Scalar { text, quoted: scalar.quoted })
            }
            Kind::List(items) => Kind::List(items.iter().map(|it| self.moved(it)).collect()),
            Kind::Map(entries) => {
                Kind::Map(entries.iter().map(|(key, value)| (self.moved(key), self.moved(value))).collect())
            }
        };
        Node { place, broken: node.broken, kind }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is taken over is what reading all of it gives.
    fn agrees(old: &str, new: &str) -> bool {
        let before = Parsed::of(FileId::new(0), old.into());
        let after = Parsed::after(&before, FileId::new(0), new.into());
        let whole = parse(FileId::new(0), new);
        let tree = after.tree();
        assert!(tree.faults == whole.faults && tree.root == whole.root, "{new}\n{tree:?}\n{whole:?}");
        after.borrow_dependent().reaches_far.get().is_some()
    }

    const DESIGN: &str = "format: 1\n# rooms\nrooms:\n  hall: {area: 12 m², 'use': living}\n  bath:\n    area: 4 m²\n\n    # wet\n    \
                          layers:\n      - {x: 1}\n      - y\nloops:\n  L1:\n    room: hall\n    route:\n      - [0, 1]\n      - [2, 3]\n  L2:\n    \
                          note: |\n      one\n      two\n    room: bath\n";

    #[test]
    fn a_change_within_an_entry_is_read_alone() {
        let changed = |from: &str, to: &str| agrees(DESIGN, &DESIGN.replacen(from, to, 1));
        for (from, to) in [
            ("12 m²", "120 m²"),
            ("4 m²", "5"),
            ("[0, 1]", "[0, 1.5]"),
            ("[2, 3]\n", "[2, 3]\n    sleeves: [W1]\n"),
            ("      - y\n", "      - y\n      - z\n  wc: {area: 2 m²}\n"),
            ("room: bath", "room: hall"),
            ("room: bath\n", "room: bath"),
            (" {area: 12 m², 'use': living}", ""),
            ("    room: hall\n", ""),
        ] {
            assert!(changed(from, to), "{from:?} to {to:?}");
        }
        // Lines may end as they do on Windows.
        let text = DESIGN.replace('\n', "\r\n");
        for (from, to) in
            [("12 m²", "120 m²"), ("      - y\r\n", "      - y\r\n      - z\r\n"), ("hall\r\n", "bath\r\n")]
        {
            assert!(agrees(&text, &text.replacen(from, to, 1)), "{from:?} to {to:?}");
        }
        agrees(&text, &text.replacen("hall\r\n", "hall\r", 1));
        agrees(&text, &text.replacen("hall\r\n", "hall\n", 1));
        for (from, to) in [
            // Into the next entry, or out of the entry.
            ("hall: {", "hall: {{"),
            ("[0, 1]", "[0, 1"),
            ("[2, 3]\n", "[2, 3]"),
            ("    room: hall\n", "  room: hall\n"),
            ("living}", "'living}"),
            ("rooms:", "roms:"),
            ("hall:", "hall: &h"),
            ("two\n", "two\n\n      three\n"),
            ("y\n", "y\n---\n"),
        ] {
            changed(from, to);
        }
    }

    #[test]
    fn any_change_of_a_few_letters_is_read_as_the_whole() {
        let windows = DESIGN.replace('\n', "\r\n");
        let pieces = [
            "",
            " ",
            "\r",
            "\r\n",
            "\n",
            "a",
            ": ",
            "- ",
            "[",
            "]",
            "{",
            "}",
            ",",
            "'",
            "\"",
            "#",
            " #",
            "|\n",
            "1",
            "\n  ",
            "\n    b: c",
            "?",
        ];
        let (mut taken, mut all) = (0, 0);
        for (design, lengths) in [(DESIGN, &[0, 1, 3][..]), (&windows, &[1])] {
            for at in (0..design.len()).filter(|at| design.is_char_boundary(*at)) {
                for long in lengths {
                    let Some(after) = design.get(at + long..) else { continue };
                    for piece in pieces {
                        taken += usize::from(agrees(design, &format!("{}{piece}{after}", &design[..at])));
                        all += 1;
                    }
                }
            }
        }
        assert!(taken * 4 > all, "{taken} of {all}");
    }
}
