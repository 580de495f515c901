//! The layout of a text put in order: indentation and spaces, and nothing else. No word, no comment and no line break is
//! changed, and lines that were put together stay together: how a route is broken into lines is the designer's.
//!
//! The formatters there are print a text anew, break its lines by their length, and know no range; so this one is our own.

use crate::outline::{At, Form};
use crate::snapshot::Snapshot;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use yaml_tree::{Edit, FileId, Kind, Node};

/// How far a block stands within another one.
const STEP: usize = 2;

/// The edits that put the layout in order on the lines of a range; none where the text cannot be read, or where it would then be
/// read otherwise.
pub fn edits(of: &Snapshot, range: &Range<usize>) -> Vec<Edit> {
    let outline = of.outline();
    let Some(root) = outline.root(&of.text).filter(|_| !outline.is_faulty) else { return Vec::new() };
    let mut layout = Layout { of, lines: BTreeMap::new(), kept: BTreeSet::new(), edits: Vec::new() };
    if root.is_in_brackets() {
        layout.inside(root);
    } else {
        layout.block(root, 0);
    }
    // Whole lines: nobody wants half of one in order.
    let lines = of.lines();
    let (first, end) = (lines.start(lines.line(range.start)), lines.bytes(&of.text, lines.line(range.end)).end);
    let end = end.max(range.end);
    let edits: Vec<Edit> =
        layout.finished().into_iter().filter(|edit| edit.range.start >= first && edit.range.start <= end).collect();
    let is_same = |changed: &str| {
        let (before, after) = (yaml_tree::parse(FileId::new(0), &of.text), yaml_tree::parse(FileId::new(0), changed));
        match (&before.root, &after.root) {
            (Some(one), Some(other)) => same(one, other) && after.faults.is_empty(),
            (one, other) => one.is_none() && other.is_none(),
        }
    };
    match yaml_tree::apply(&of.text, &edits) {
        Ok(changed) if is_same(&changed) => edits,
        _ => Vec::new(),
    }
}

/// Spaces for a line that was just begun: further in where the line before opens a block.
pub fn indent_of_new_line(of: &Snapshot, offset: usize) -> Option<Edit> {
    let text = of.text.as_str();
    let offset = text.floor_char_boundary(offset.min(text.len()));
    let start = text[..offset].rfind('\n').map_or(0, |at| at + 1);
    let end = text[start..].find('\n').map_or(text.len(), |at| start + at);
    let here = &text[start..end];
    if !here.trim().is_empty() || start == 0 {
        return None;
    }
    let before = text[..start - 1].rsplit('\n').next().unwrap_or_default();
    let content = before.split(" #").next().unwrap_or_default().trim();
    let indent = before.len() - before.trim_start_matches(' ').len();
    let dash = if content.starts_with("- ") { STEP } else { 0 };
    let deeper = if content.ends_with(':') { STEP } else { 0 };
    let wanted = " ".repeat(indent + dash + deeper);
    let blank = here.trim_end_matches('\r');
    (blank != wanted && (deeper > 0 || dash > 0)).then_some(Edit { range: start..start + blank.len(), text: wanted })
}

/// Whether two trees say the same.
fn same(one: &Node, other: &Node) -> bool {
    match (&one.kind, &other.kind) {
        (Kind::Null, Kind::Null) => true,
        (Kind::Scalar(one), Kind::Scalar(other)) => one == other,
        (Kind::List(one), Kind::List(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Kind::Map(one), Kind::Map(other)) => {
            one.len() == other.len()
                && one.iter().zip(other).all(|(one, other)| same(&one.0, &other.0) && same(&one.1, &other.1))
        }
        _ => false,
    }
}

struct Layout<'s> {
    of: &'s Snapshot,
    /// The spaces that each line is to begin with, by its number; lines that go on from another follow that one.
    lines: BTreeMap<u32, Start>,
    /// Lines within a text of several lines, whose ends are its own.
    kept: BTreeSet<u32>,
    edits: Vec<Edit>,
}

#[derive(Clone, Copy)]
enum Start {
    At(usize),
    /// As far from that line as it was.
    Beside(u32),
}

impl Layout<'_> {
    fn line(&self, offset: usize) -> u32 {
        self.of.lines().line(offset)
    }

    fn text(&self, range: Range<usize>) -> &str {
        self.of.text.get(range).unwrap_or_default()
    }

    fn starts_its_line(&self, offset: usize) -> bool {
        let start = self.of.lines().start(self.line(offset));
        self.text(start..offset).trim_start_matches(' ').is_empty()
    }

    /// A block of lines of its own, its keys or dashes so far to the right.
    fn block(&mut self, block: At, indent: usize) {
        for child in block.children() {
            let start = match (block.form(), child.key()) {
                (Form::Map, Some(key)) => key.start,
                _ => {
                    let before = self.text(0..child.value().start).trim_end();
                    if !before.ends_with('-') {
                        continue;
                    }
                    let dash = before.len() - 1;
                    let gap = dash + 1..child.value().start;
                    if !self.text(gap.clone()).contains('\n') && !gap.is_empty() && child.form() != Form::Nothing {
                        self.put(gap, " ");
                    }
                    dash
                }
            };
            if self.starts_its_line(start) {
                let line = self.line(start);
                self.lines.insert(line, Start::At(indent));
            }
            self.value(child, start, indent + STEP);
        }
    }

    /// What stands behind a key or a dash at `start`.
    fn value(&mut self, child: At, start: usize, indent: usize) {
        if let Some(key) = child.key() {
            self.colon(key.end, child);
        }
        let value = child.value();
        let own_line = self.line(start);
        match child.form() {
            Form::Map | Form::List if !child.is_in_brackets() => return self.block(child, indent),
            Form::Map | Form::List => self.inside(child),
            _ => {}
        }
        let written = value.start + self.text(value.clone()).trim_end().len();
        let is_text = matches!(child.form(), Form::Scalar { .. });
        for line in own_line + 1..=self.line(written.max(value.start)) {
            self.lines.entry(line).or_insert(Start::Beside(own_line));
            if is_text {
                self.kept.insert(line - 1);
                self.kept.insert(line);
            }
        }
    }

    /// The colon behind a key and the space behind that.
    fn colon(&mut self, key_end: usize, child: At) {
        let gap = key_end..child.value().start;
        let written = self.text(gap.clone());
        let is_plain = written.trim() == ":" && !written.contains('\n') && child.form() != Form::Nothing;
        if is_plain {
            self.put(gap, ": ");
        }
    }

    /// The spaces within brackets or braces, as far as they stand on one line.
    fn inside(&mut self, of: At) {
        let (mut end, last) = (of.value().start + 1, of.value().end.saturating_sub(1));
        let mut before: Option<At> = None;
        for child in of.children() {
            let whole = child.whole();
            let gap = end..whole.start;
            let written = self.text(gap.clone());
            match before {
                None if written.trim_matches(' ').is_empty() => self.put(gap, ""),
                Some(before) if before.form() != Form::Nothing && written.trim_matches(' ') == "," => {
                    self.put(gap, ", ")
                }
                _ => {}
            }
            if let Some(key) = child.key() {
                self.colon(key.end, child);
            }
            if matches!(child.form(), Form::Map | Form::List) && child.is_in_brackets() {
                self.inside(child);
            }
            end = whole.end;
            before = Some(child);
        }
        let gap = end..last;
        if before.is_some_and(|it| it.form() != Form::Nothing)
            && end <= last
            && self.text(gap.clone()).trim_matches(' ').is_empty()
        {
            self.put(gap, "");
        }
    }

    fn put(&mut self, range: Range<usize>, text: &str) {
        if self.text(range.clone()) != text {
            self.edits.push(Edit { range, text: text.to_string() });
        }
    }

    /// All edits: those within the lines, and those at their beginnings and ends.
    fn finished(mut self) -> Vec<Edit> {
        let lines = self.of.lines();
        let count = lines.count();
        let old = |number: u32| {
            let bytes = lines.bytes(&self.of.text, number);
            let line = &self.of.text[bytes];
            line.len() - line.trim_start_matches(' ').len()
        };
        let mut new: BTreeMap<u32, usize> = BTreeMap::new();
        for (number, start) in &self.lines {
            let indent = match *start {
                Start::At(indent) => indent,
                Start::Beside(other) => {
                    let moved = new.get(&other).copied().unwrap_or_else(|| old(other)) as i64 - old(other) as i64;
                    usize::try_from(old(*number) as i64 + moved).unwrap_or_default()
                }
            };
            new.insert(*number, indent);
        }
        // A comment on a line of its own stands with the line below that stood like it, else with the one above.
        let comments: Vec<Range<usize>> = self.of.outline().comments().collect();
        for comment in comments {
            let number = lines.line(comment.start);
            if !self.starts_its_line(comment.start) || self.kept.contains(&number) {
                continue;
            }
            let below = new.range(number + 1..).next().filter(|(below, _)| old(**below) == old(number));
            let above = new.range(..number).next_back().filter(|(above, _)| old(**above) == old(number));
            if let Some((_, indent)) = below.or(above) {
                let indent = *indent;
                new.insert(number, indent);
            }
        }
        let mut edits = std::mem::take(&mut self.edits);
        let mut blank_before = false;
        for number in 1..=count {
            let bytes = lines.bytes(&self.of.text, number);
            let line = self.text(bytes.clone());
            let is_blank = line.trim_matches([' ', '\t']).is_empty();
            if self.kept.contains(&number) {
                blank_before = false;
            } else if is_blank {
                let next = lines.start(number + 1);
                if blank_before && number < count {
                    edits.push(Edit { range: bytes.start..next, text: String::new() });
                } else if !line.is_empty() {
                    edits.push(Edit { range: bytes.clone(), text: String::new() });
                }
                blank_before = true;
                continue;
            } else {
                blank_before = false;
                let written = line.trim_end_matches([' ', '\t']).len();
                if written < line.len() {
                    edits.push(Edit { range: bytes.start + written..bytes.end, text: String::new() });
                }
            }
            if let Some(indent) = new.get(&number).filter(|indent| **indent != old(number) && !is_blank) {
                edits.push(Edit { range: bytes.start..bytes.start + old(number), text: " ".repeat(*indent) });
            }
        }
        let text = self.of.text.as_str();
        let written = text.trim_end_matches(['\n', '\r', ' ', '\t']).len();
        let behind = &text[written..];
        let line_end = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let last_is_kept = self.kept.contains(&lines.line(written.saturating_sub(1)));
        if !last_is_kept && behind != line_end && written > 0 {
            edits.retain(|edit| edit.range.start < written);
            edits.push(Edit { range: written..text.len(), text: line_end.to_string() });
        }
        edits.sort_by_key(|edit| (edit.range.start, edit.range.end));
        edits
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn formatted(text: &str) -> String {
        let of = Snapshot::new("a".into(), None, 1, Arc::new(text.into()));
        yaml_tree::apply(text, &edits(&of, &(0..text.len()))).expect("the edits fit")
    }

    #[test]
    fn indentation_and_spaces_are_put_in_order() {
        let text = "format:   1\n\n\n\nrooms:\n    hall:   { use: living,area : 12 m²}   \n    # wet\n    bath:\n          area:  4 m²  # small\n          layers:\n          -   material: x\n              thickness: 1 mm\n          - {a: 1,b: [ 1,2 ]}\nnote: |\n  a  \n\n\n  b\nloops:\n   L1: {room: hall,\n      route: [[0,0],\n              [1,1]]}";
        let wanted = "format: 1\n\nrooms:\n  hall: {use: living, area: 12 m²}\n  # wet\n  bath:\n    area: 4 m²  # small\n    layers:\n      - material: x\n        thickness: 1 mm\n      - {a: 1, b: [1, 2]}\nnote: |\n  a  \n\n\n  b\nloops:\n  L1: {room: hall,\n     route: [[0, 0],\n             [1, 1]]}\n";
        assert_eq!(formatted(text), wanted);
        assert_eq!(formatted(wanted), wanted);
    }

    #[test]
    fn what_cannot_be_read_is_left_alone() {
        for text in ["rooms:\n   hall: [\n", "a: 1\n   b: 2\n", "x: \"q\n", "", "# only\n#  that   \n"] {
            assert_eq!(formatted(text), text);
        }
        assert_eq!(formatted("a: 1\r\nb:   2\r\n"), "a: 1\r\nb: 2\r\n");
        assert_eq!(formatted("a: {reason: , until: }\n"), "a: {reason: , until: }\n");
    }

    #[test]
    fn a_range_is_put_in_order_alone() {
        let text = "a:   1\nb:   2\nc:   3\n";
        let of = Snapshot::new("a".into(), None, 1, Arc::new(text.into()));
        let edits = edits(&of, &(8..10));
        assert_eq!(yaml_tree::apply(text, &edits).expect("they fit"), "a:   1\nb: 2\nc:   3\n");
    }

    #[test]
    fn the_next_line_of_a_block_stands_further_in() {
        let new_line = |text: &str| {
            let of = Snapshot::new("a".into(), None, 1, Arc::new(text.into()));
            indent_of_new_line(&of, text.len()).map(|edit| edit.text)
        };
        assert_eq!(new_line("rooms:\n"), Some("  ".into()));
        assert_eq!(new_line("rooms:\n  hall: # big\n"), Some("    ".into()));
        assert_eq!(new_line("layers:\n  - material: x\n"), Some("    ".into()));
        assert_eq!(new_line("a: 1\n"), None);
    }
}
