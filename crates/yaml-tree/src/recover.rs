//! Reading a text, and reading on after a fault.
//!
//! A sound text is read in one go. Otherwise its lines are gone through one by one: the indentation says
//! which list or map a line belongs to, and each entry, with the deeper lines under it, is read for
//! itself. Only where that fails are the lines under it gone through in turn. So a fault costs one
//! entry, and a line at a wrong indentation goes to the most likely neighbour.

use crate::place::char_start;
use crate::scan::{Reader, Scanned};
use crate::{DEEPEST, FileId, Kind, LARGEST_TEXT, Node, Scalar, TextFault, TextFaultKind, Tree, alias};
use std::borrow::Cow;
use std::ops::Range;

/// Read a text. Never fails: the faults stand in the tree.
pub fn parse(file: FileId, text: &str) -> Tree<'_> {
    let mut reader = Reader::new(file, text);
    if text.len() > LARGEST_TEXT {
        reader.fault(0..0, TextFaultKind::TooLarge { bytes: text.len(), limit: LARGEST_TEXT });
        return Tree { root: None, faults: reader.into_faults() };
    }
    let start = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let fresh = reader.mark();
    let whole = reader.scan(start..text.len(), 0);
    let mut root = match whole.fault {
        None => whole.node,
        Some(fault) if matches!(fault.kind, TextFaultKind::TooManyNodes { .. }) => {
            reader.add_fault(fault);
            whole.node
        }
        Some(fault) => {
            reader.back_to(fresh);
            recover(&mut reader, start, whole.node, fault)
        }
    };
    if let Some(root) = root.as_mut().filter(|_| reader.merges) {
        alias::merge(root, &mut |place| reader.add_fault(TextFault { place, kind: TextFaultKind::MergeOfNoMap }));
    }
    Tree { root, faults: reader.into_faults() }
}

/// A line that holds something, or what stands behind the dash of one.
#[derive(Clone, Copy)]
struct Line {
    /// Where its indentation starts.
    from: u32,
    /// Where its content starts.
    at: u32,
    /// How deep it stands, in columns.
    indent: u32,
}

impl Line {
    fn at(self) -> usize {
        self.at as usize
    }
}

/// A list or map whose lines are being gone through.
struct Level<'a> {
    indent: u32,
    is_map: bool,
    /// Items, or keys and values in turn.
    nodes: Vec<Node<'a>>,
    /// The last key has no value yet, or the last dash no item: what to put there if none comes.
    slot: Option<Node<'a>>,
    slot_anchor: Option<Cow<'a, str>>,
    start: usize,
    broken: bool,
}

/// What an entry is to become part of.
struct Target {
    /// Levels that stay.
    keep: usize,
    /// The indentation fits none of them.
    wrong: bool,
    /// A new level opens inside the last one that stays.
    opens: bool,
}

struct Recovery<'r, 'a> {
    reader: &'r mut Reader<'a>,
    lines: Vec<Line>,
    end: usize,
    levels: Vec<Level<'a>>,
    /// Where reading last stopped: an entry around this place is not worth another try in one go.
    trouble: usize,
    /// Bytes that may still be read in vain, so that faults in each other stay cheap.
    tries: usize,
    /// Parts that may still be read.
    parts: usize,
    /// Level and indentation of the line before, if those did not fit: a whole block at a wrong
    /// indentation is one fault.
    wrong: Option<(usize, u32)>,
}

/// In bytes; YAML 1.2.2, 7.4 allows a key of 1024 characters before its `:`.
const LONGEST_KEY: usize = 4 * 1024 + 2;
/// Far more than the lines of any design; each costs about a microsecond.
const MOST_PARTS: usize = 400_000;

fn recover<'a>(reader: &mut Reader<'a>, start: usize, partial: Option<Node<'a>>, fault: TextFault) -> Option<Node<'a>> {
    let text = reader.text;
    let known = reader.faults.len();
    let end = end_of_document(reader, start);
    let lines = lines(text, start..end);
    if is_one_value(text, &lines) {
        let mut fault = Some(fault);
        let closed = reader.close_brackets(&mut fault, start..end, 0);
        fault.into_iter().for_each(|it| reader.add_fault(it));
        return closed.or(partial);
    }
    drop(partial);
    let mut recovery = Recovery {
        reader,
        lines,
        end,
        levels: Vec::new(),
        trouble: fault.place.start as usize,
        tries: 4 * (end - start) + (1 << 20),
        parts: MOST_PARTS,
        wrong: None,
    };
    let root = recovery.run();
    if reader.faults.len() == known {
        reader.add_fault(fault);
    }
    root
}

/// Whether the whole text is in brackets or quotes, so that its lines mean nothing.
fn is_one_value(text: &str, lines: &[Line]) -> bool {
    let Some((first, others)) = lines.split_first() else { return true };
    let is_entry = |it: &Line| {
        let content = line_content(text, it.at());
        it.indent == 0
            && looks_like_entry(text, it.at())
            && !content.starts_with(['"', '\''])
            && !content.ends_with(',')
    };
    let starts = |with: &[char]| text[first.at()..].starts_with(with);
    starts(&['[', '{', '|', '>']) && !others.iter().any(is_entry)
        || starts(&['"', '\'']) && !looks_like_entry(text, first.at())
}

/// Where the first document ends; the start of a second one is a fault.
fn end_of_document(reader: &mut Reader, start: usize) -> usize {
    let text = reader.text;
    let mut at = start;
    let mut seen_content = false;
    let mut end = None;
    for line in text[start..].split_inclusive('\n') {
        let content = line.trim_end();
        let marker =
            |marker| content.strip_prefix(marker).is_some_and(|it: &str| it.is_empty() || it.starts_with([' ', '\t']));
        if let Some(end) = end {
            if !content.is_empty() && !content.starts_with('#') && !marker("...") {
                reader.fault(at..at + content.len(), TextFaultKind::MoreThanOneDocument);
                return end;
            }
        } else if marker("...") {
            end = Some(at);
        } else if marker("---") && seen_content {
            reader.fault(at..at + 3, TextFaultKind::MoreThanOneDocument);
            return at;
        } else {
            seen_content |= !content.is_empty() && !content.starts_with(['#', '%']);
        }
        at += line.len();
    }
    end.unwrap_or(text.len())
}

/// The lines that can start an entry.
fn lines(text: &str, part: Range<usize>) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    // Width and indentation of the first of several lines that start with a tab.
    let mut tabs: Option<(u32, u32)> = None;
    let mut from = part.start;
    for line in text[part].split_inclusive('\n') {
        let start = from;
        from += line.len();
        let content = line.trim_start_matches([' ', '\t']);
        let is_directive = content.len() == line.len() && (content.starts_with('%') || content.trim_end() == "---");
        if content.trim_end().is_empty() || content.starts_with('#') || is_directive {
            continue;
        }
        let is_middle = content.starts_with([']', '}', ',']) || content.starts_with(['[', '{']) && !lines.is_empty();
        if is_middle {
            continue;
        }
        let width = (line.len() - content.len()) as u32;
        let indent = if line[..width as usize].contains('\t') {
            let (first_width, first_indent) =
                *tabs.get_or_insert_with(|| (width, lines.last().map_or(0, |it| below(text, *it))));
            (first_indent + width).saturating_sub(first_width)
        } else {
            if let Some((_, guess)) = tabs.take() {
                settle(text, &mut lines, guess, width);
            }
            width
        };
        lines.push(Line { from: start as u32, at: start as u32 + width, indent });
    }
    lines
}

/// Sets right the lines at the end that are lead by tabs, whose indentation was guessed, once the line after them
/// tells the one of their neighbours: it stands deeper than the line before them, and under none of them.
fn settle(text: &str, lines: &mut [Line], guess: u32, after: u32) {
    let is_tabbed = |it: &Line| text[it.from as usize..it.at()].contains('\t');
    let first = lines.iter().rposition(|it| !is_tabbed(it)).map_or(0, |it| it + 1);
    let (before, tabbed) = lines.split_at_mut(first);
    let above = before.last().map_or(0, |it| it.indent);
    let takes_more = tabbed.last().is_some_and(|it| line_content(text, it.at()).ends_with(':'));
    if guess > above && after > above && !takes_more {
        tabbed.iter_mut().for_each(|it| it.indent = (it.indent + after).saturating_sub(guess));
    }
}

/// The indentation of a line that follows this one and is lead by a tab, so that nobody knows its own.
fn below(text: &str, line: Line) -> u32 {
    let content = line_content(text, line.at());
    let inner = content.trim_start_matches(['-', ' ']);
    let indent = line.indent + (content.len() - inner.len()) as u32;
    if inner.ends_with([':', '|', '>']) { indent + 1 } else { indent }
}

/// From `at` to the end of its line, without a comment. Cut off where no key reaches, so that a look at
/// each of many dashes on one line stays cheap.
fn line_content(text: &str, at: usize) -> &str {
    let end = char_start(text, at + LONGEST_KEY);
    let line = text[at..end].split(['\n', '\r']).next().unwrap_or_default();
    line.split(" #").next().unwrap_or_default().trim_end()
}

fn is_dash(text: &str, at: usize) -> bool {
    text[at..].strip_prefix('-').is_some_and(|it| it.is_empty() || it.starts_with([' ', '\t', '\n', '\r']))
}

/// Whether a line has its value, so that no line under it can belong to it.
fn is_complete(text: &str, at: usize) -> bool {
    let content = line_content(text, at);
    let open = content.ends_with([':', '|', '>', '[', '{', ',', '-', '+']) || content.contains(['"', '\'', '&', '!']);
    !open && (is_dash(text, at) || content.contains(": "))
}

fn looks_like_entry(text: &str, at: usize) -> bool {
    let content = line_content(text, at);
    is_dash(text, at) || content.ends_with(':') || content.contains(": ")
}

impl<'a> Reader<'a> {
    /// What a part says if its brackets are closed where they seem to lack, or at its end, where that is what it lacks. The
    /// fault is moved to the bracket that turns out to be open.
    fn close_brackets(&mut self, fault: &mut Option<TextFault>, part: Range<usize>, depth: usize) -> Option<Node<'a>> {
        let Some(TextFault { kind: TextFaultKind::UnclosedBracket(_), .. }) = fault else { return None };
        let text = &self.text[part.clone()];
        let closed = [closed(text, true), closed(text, false)];
        for Closed { text, open } in closed.into_iter().flatten() {
            let mark = self.mark();
            let mut scanned = self.scan_closed(part.clone(), &text, depth);
            if scanned.fault.is_some() {
                self.back_to(mark);
                continue;
            }
            if let Some(open) = open {
                let at = part.start + open;
                *fault = Some(TextFault { place: self.place(at..at + 1), kind: TextFaultKind::UnclosedBracket('[') });
            }
            if let Some(node) = &mut scanned.node {
                node.broken = true;
                if let Kind::Map(entries) = &mut node.kind {
                    entries.last_mut().into_iter().for_each(|(_, value)| value.broken = true);
                }
            }
            return scanned.node;
        }
        None
    }
}

/// A text whose brackets are closed.
struct Closed {
    text: String,
    /// Where the first bracket opens that was closed within the text.
    open: Option<usize>,
}

/// Closes the first list or map in brackets, at its end, or `within` it: a list of words or numbers that goes on with a list
/// inside another, as `[[0, 0], [5, 0, [5, 4]]`, lacks its bracket before that. There `, ` becomes `],`, so that all keeps its
/// place.
fn closed(text: &str, within: bool) -> Option<Closed> {
    struct Open {
        at: usize,
        closer: char,
        /// Whether a word or number stands in it.
        has_words: bool,
        /// The last comma in it, if nothing came since.
        comma: Option<usize>,
    }
    let mut open: Vec<Open> = Vec::new();
    let mut gaps: Vec<(usize, usize)> = Vec::new();
    let mut quote = None;
    let mut before = '\n';
    let mut in_comment = false;
    for (at, it) in text.char_indices() {
        let starts = before.is_whitespace() || "[{,:".contains(before);
        let opens = !open.is_empty() || starts;
        match it {
            '\n' | '\r' => in_comment = false,
            _ if in_comment => {}
            '"' | '\'' if quote.is_none() && !open.is_empty() && starts => quote = Some(it),
            '"' if before == '\\' => {}
            _ if quote.is_some() => quote = quote.filter(|quote| *quote != it),
            '#' if before.is_whitespace() => in_comment = true,
            '[' if opens => {
                let is_in_list = within && open.iter().rev().nth(1).is_some_and(|it| it.closer == ']');
                let gap = open.last().filter(|it| is_in_list && it.closer == ']' && it.has_words);
                let gap = gap.and_then(|it| it.comma.map(|comma| (it.at, comma)));
                if let Some((from, comma)) = gap.filter(|(_, comma)| text[comma + 1..].starts_with(' ')) {
                    gaps.push((from, comma));
                    open.pop();
                }
                open.push(Open { at, closer: ']', has_words: false, comma: None });
            }
            '{' if opens => open.push(Open { at, closer: '}', has_words: false, comma: None }),
            ']' | '}' if open.pop().is_some_and(|open| open.closer != it) => return None,
            ',' => open.last_mut().into_iter().for_each(|open| open.comma = Some(at)),
            _ if it.is_whitespace() || it == ']' || it == '}' => {}
            _ => open.last_mut().into_iter().for_each(|open| (open.has_words, open.comma) = (true, None)),
        }
        before = it;
    }
    if open.len() > DEEPEST || within == gaps.is_empty() || !within && open.is_empty() {
        return None;
    }
    let mut mended = text.to_string();
    gaps.iter().for_each(|(_, comma)| mended.replace_range(*comma..comma + 2, "],"));
    mended.push('\n');
    mended.extend(open.iter().rev().map(|it| it.closer));
    Some(Closed { text: mended, open: gaps.first().map(|(from, _)| *from) })
}

impl<'a> Recovery<'_, 'a> {
    fn run(&mut self) -> Option<Node<'a>> {
        let mut next = 0;
        let mut inner = None;
        loop {
            let line = match inner.take() {
                Some(inner) => inner,
                None => match self.lines.get(next) {
                    Some(line) => {
                        next += 1;
                        *line
                    }
                    None => break,
                },
            };
            if self.reader.is_full() {
                break;
            }
            if self.parts == 0 {
                let at = line.at();
                self.reader.fault(at..at, TextFaultKind::TooManyNodes { limit: MOST_PARTS });
                break;
            }
            (inner, next) = self.line(line, next);
        }
        while self.levels.len() > 1 {
            self.close_level();
        }
        self.levels.pop().map(|it| self.finish(it))
    }

    fn text(&self) -> &'a str {
        self.reader.text
    }

    /// Read the entry that starts with `line`; `next` is the line after it. Gives the line to go on with,
    /// and before that what stands behind the dash of this one, if it is to be gone through by itself.
    fn line(&mut self, mut line: Line, next: usize) -> (Option<Line>, usize) {
        let text = self.text();
        let dash = is_dash(text, line.at());
        let content = line_content(text, line.at());
        let target = self.target(line, next, dash);
        while self.levels.len() > target.keep {
            self.close_level();
        }
        if target.opens {
            if self.levels.len() >= DEEPEST {
                self.fault(line.at()..line.at() + content.len(), TextFaultKind::TooDeep);
                return (None, self.end_of_entry(line, next, false));
            }
            self.levels.push(Level {
                indent: line.indent,
                is_map: !dash,
                nodes: Vec::new(),
                slot: None,
                slot_anchor: None,
                start: line.at(),
                broken: false,
            });
        }
        self.fill_slot();
        if let Some(tab) = self.first_tab(line, next) {
            self.fault(tab..tab + 1, TextFaultKind::TabIndent);
        }
        let depth = self.levels.len();
        let Some(top) = self.levels.last_mut() else { return (None, next) };
        let (is_map, wrong) = (top.is_map, target.wrong.then_some((depth, line.indent)));
        line.indent = line.indent.max(top.indent);
        let is_told = self.wrong == wrong;
        self.wrong = wrong;
        if target.wrong && dash != is_map && !is_told {
            let key = content.find(": ").or(content.strip_suffix(':').map(str::len)).unwrap_or(content.len());
            self.fault(line.at()..line.at() + key, TextFaultKind::WrongIndent);
        }
        match (dash, is_map) {
            (true, false) => self.item(line, next),
            (false, true) => (None, self.entry(line, next, content)),
            (true, true) => {
                let words = "a list entry stands where a key is due";
                self.fault(line.at()..line.at() + content.len(), TextFaultKind::NotYaml(words.to_string()));
                (None, self.end_of_entry(line, next, false))
            }
            (false, false) => {
                let at = line.at() + usize::from(content.starts_with('-'));
                let kind = if at > line.at() { TextFaultKind::NoSpaceAfterDash } else { TextFaultKind::NoDash };
                self.fault(line.at()..line.at() + content.len(), kind);
                self.item_content(line, at, next)
            }
        }
    }

    /// The first tab of this line, if it is lead by one and the line before is not.
    fn first_tab(&self, line: Line, next: usize) -> Option<usize> {
        let tab = |it: &Line| self.text()[it.from as usize..it.at()].find('\t').map(|tab| it.from as usize + tab);
        let before = next.checked_sub(2).and_then(|it| self.lines.get(it));
        tab(&line).filter(|_| before.and_then(tab).is_none())
    }

    fn target(&mut self, line: Line, next: usize, dash: bool) -> Target {
        let text = self.text();
        let fits = |level: &Level| level.is_map != dash;
        let stays = |level: usize, wrong| Target { keep: level + 1, wrong, opens: false };
        let following = self.lines.get(next).map(|it| it.indent);
        let Some(nearest) = self.levels.iter().rposition(|it| it.indent <= line.indent) else {
            // Left of everything so far: if that is where the text goes on, its first lines stood wrong.
            match self.levels.first_mut() {
                None => return Target { keep: 0, wrong: false, opens: true },
                Some(root) => root.indent = line.indent,
            }
            return stays(0, true);
        };
        let levels = &self.levels;
        if let Some(exact) = levels.iter().rposition(|it| it.indent == line.indent && fits(it)) {
            // A line that nothing can belong to, with lines after it that go on with a deeper list or map.
            let under = following.filter(|it| *it > line.indent && is_complete(text, line.at()));
            let deeper = under.and_then(|under| {
                levels.iter().rposition(|it| it.indent == under)?;
                levels.iter().rposition(|it| it.indent <= under && fits(it)).filter(|it| *it > exact)
            });
            return deeper.map_or(stays(exact, false), |it| stays(it, true));
        }
        let is_top = nearest + 1 == levels.len();
        let takes = |top: &Level| top.slot.is_some() && (line.indent > top.indent || dash && top.is_map);
        if is_top && levels.last().is_some_and(takes) {
            return Target { keep: levels.len(), wrong: false, opens: true };
        }
        let deeper = levels.iter().enumerate().skip(nearest + 1).find(|(_, it)| fits(it)).map(|(at, _)| at);
        if let Some(deeper) = deeper {
            if following == Some(line.indent) && deeper == nearest + 1 {
                self.levels[deeper].indent = line.indent;
            }
            return stays(deeper, true);
        }
        let is_key_in_list = !dash && levels[nearest].indent == line.indent;
        let shallower = levels[..=nearest].iter().rposition(fits).filter(|_| !is_key_in_list);
        stays(shallower.unwrap_or(nearest), true)
    }

    /// `- item`; the top level is a list.
    fn item(&mut self, line: Line, next: usize) -> (Option<Line>, usize) {
        let end = self.end_of_entry(line, next, false);
        let tried = self.attempt(line, next, end);
        if let Some(Scanned { node: Some(Node { kind: Kind::List(items), .. }), fault: None, .. }) = tried {
            self.extend(items);
            return (None, end);
        }
        self.item_content(line, line.at() + 1, next)
    }

    /// What stands behind a dash, from `after` on.
    fn item_content(&mut self, line: Line, after: usize, next: usize) -> (Option<Line>, usize) {
        let text = self.text();
        let content = text[after..].trim_start_matches([' ', '\t']);
        let at = text.len() - content.len();
        self.set_slot(self.null(after, false), None);
        if content.starts_with(['\n', '\r', '#']) || content.is_empty() {
            return (None, next);
        }
        let end = self.end_of_entry(line, next, false);
        let is_entry = |at| looks_like_entry(text, at) && !text[at..].starts_with(['[', '{', '"', '\'']);
        if is_entry(at) || self.lines[next..end].first().is_some_and(|it| is_entry(it.at())) {
            let indent = line.indent + ((at - line.at()) as u32).max(1);
            return (Some(Line { from: at as u32, at: at as u32, indent }), next);
        }
        let part = at..self.start_of(end);
        let Scanned { node, mut fault, .. } = self.scan(part.clone());
        let closed = self.close_brackets(&mut fault, part);
        let value = closed.or(node).unwrap_or_else(|| self.null(at, true));
        self.put_value(value);
        fault.into_iter().for_each(|it| self.add_fault(it));
        (None, end)
    }

    /// `key: value`; the top level is a map. Gives the line to go on with.
    fn entry(&mut self, line: Line, next: usize, content: &str) -> usize {
        let text = self.text();
        let end = self.end_of_entry(line, next, content.ends_with(':') || content.contains(": &"));
        let part = self.part(line, end);
        let has_more = next < end;
        let mut tried = self.attempt(line, next, end);
        let failed = matches!(tried, Some(Scanned { fault: Some(_), .. }));
        if tried.as_mut().is_some_and(|it| self.take_entries(it)) {
            return end;
        }
        let head = if has_more {
            let line_end = text[line.at()..].find('\n').map_or(self.end, |it| line.at() + it + 1);
            self.scan(self.part(line, next).start..line_end)
        } else {
            tried.take().unwrap_or_else(|| self.scan(part.clone()))
        };
        let is_unclosed = matches!(
            &head.fault,
            Some(TextFault { kind: TextFaultKind::UnclosedBracket(_) | TextFaultKind::UnclosedQuote(_), .. })
        );
        let is_block_scalar = head.fault.is_none() && content.ends_with(['|', '>', '-', '+']);
        if is_unclosed || has_more && is_block_scalar {
            // The value goes on in the lines below, up to the fault.
            let mut whole = match tried {
                _ if !has_more => head,
                Some(tried) => tried,
                None => self.scan(part.clone()),
            };
            if !self.take_entries(&mut whole) {
                let Scanned { node, mut fault, .. } = whole;
                let closed = self.close_brackets(&mut fault, part);
                self.take_part(closed.or(node));
                fault.into_iter().for_each(|it| self.add_fault(it));
            }
            return end;
        }
        let Scanned { node, fault, open_anchor } = head;
        match (node, fault) {
            (Some(Node { kind: Kind::Map(mut entries), .. }), fault) => {
                let last = entries.pop();
                for (key, value) in entries {
                    self.extend([key, value]);
                }
                if let Some((key, value)) = last {
                    self.extend([key]);
                    if fault.is_some() || value.is_null() {
                        self.set_slot(value, open_anchor);
                    } else {
                        self.extend([value]);
                    }
                }
                fault.into_iter().for_each(|it| self.add_fault(it));
                next
            }
            (Some(Node { kind: Kind::Scalar(scalar), place, .. }), _) => {
                self.half_typed(scalar, place.range());
                let goes_on = self.lines[next..end].first().is_some_and(|it| looks_like_entry(text, it.at()));
                if goes_on || failed { next } else { end }
            }
            (_, fault) => {
                let kind = TextFaultKind::NotYaml("this is neither a key nor a list entry".to_string());
                let place = self.reader.place(line.at()..line.at() + content.len());
                self.add_fault(fault.unwrap_or(TextFault { place, kind }));
                end
            }
        }
    }

    /// A word where a key should be.
    fn half_typed(&mut self, scalar: Scalar<'a>, at: Range<usize>) {
        let text = self.text();
        let word = &text[at.clone()];
        let first = word.split(['\n', '\r']).next().unwrap_or_default().trim_end();
        let node = |this: &Self, text: &'a str, start: usize| Node {
            place: this.reader.place(start..start + text.len()),
            broken: false,
            kind: Kind::Scalar(Scalar { text: Cow::Borrowed(text), quoted: false }),
        };
        match first.split_once(':') {
            Some((key, value)) if !scalar.quoted && !key.trim_end().is_empty() && !value.is_empty() => {
                let colon = at.start + key.len();
                self.fault(colon..colon + 1, TextFaultKind::NoSpaceAfterColon);
                let key = node(self, key.trim_end(), at.start);
                let scanned = self.scan(colon + 1..at.start + first.len());
                let null = self.null(colon + 1, true);
                self.extend([key]);
                let value = match scanned {
                    Scanned { node: Some(node), fault: None, .. } => node,
                    _ => null,
                };
                self.set_slot(value, None);
            }
            _ => {
                let end = at.start + first.len();
                self.fault(at.start..end, TextFaultKind::NoColon);
                let key = match scalar.quoted {
                    true => Node { place: self.reader.place(at), broken: false, kind: Kind::Scalar(scalar) },
                    false => node(self, first, at.start),
                };
                let null = self.null(key.place.range().end, true);
                self.extend([key]);
                self.set_slot(null, None);
            }
        }
    }

    /// Take over the entries of a map that was read without a fault.
    fn take_entries(&mut self, scanned: &mut Scanned<'a>) -> bool {
        if let Scanned { node: Some(Node { kind: Kind::Map(entries), .. }), fault: None, .. } = scanned {
            let entries = std::mem::take(entries);
            self.extend(entries.into_iter().flat_map(|(key, value)| [key, value]));
            return true;
        }
        false
    }

    /// Take over what was read before a fault.
    fn take_part(&mut self, node: Option<Node<'a>>) {
        match node {
            Some(Node { kind: Kind::Map(entries), .. }) => {
                self.extend(entries.into_iter().flat_map(|(key, value)| [key, value]));
            }
            Some(key @ Node { kind: Kind::Scalar(_), .. }) => {
                let null = self.null(key.place.range().end, true);
                self.extend([key, null]);
            }
            _ => {}
        }
    }

    /// The line after the entry that starts with `line`: the first that is not deeper. A list may stand at
    /// the indentation of its key.
    fn end_of_entry(&self, line: Line, next: usize, takes_list: bool) -> usize {
        let text = self.text();
        let under =
            |it: &Line| it.indent > line.indent || takes_list && it.indent == line.indent && is_dash(text, it.at());
        let rest = self.lines.get(next..).unwrap_or_default();
        next + rest.iter().position(|it| !under(it)).unwrap_or(rest.len())
    }

    /// Where a line starts; after the last one, the end of the document.
    fn start_of(&self, line: usize) -> usize {
        self.lines.get(line).map_or(self.end, |it| it.from as usize)
    }

    /// The bytes from a line to before another, with the indentation unless that is made of tabs.
    fn part(&self, line: Line, end: usize) -> Range<usize> {
        let is_spaces = !self.text()[line.from as usize..line.at()].contains('\t');
        let start = if is_spaces { line.from } else { line.at };
        start as usize..self.start_of(end)
    }

    fn close_brackets(&mut self, fault: &mut Option<TextFault>, part: Range<usize>) -> Option<Node<'a>> {
        self.parts = self.parts.saturating_sub(1);
        self.reader.close_brackets(fault, part, self.levels.len())
    }

    fn scan(&mut self, part: Range<usize>) -> Scanned<'a> {
        self.parts = self.parts.saturating_sub(1);
        self.reader.scan(part, self.levels.len())
    }

    /// Read an entry in one go, if that is worth a try; what comes with a fault leaves no traces.
    fn attempt(&mut self, line: Line, next: usize, end: usize) -> Option<Scanned<'a>> {
        let part = self.part(line, end);
        if next < end && (part.contains(&self.trouble) || self.tries == 0) || self.goes_on_after(line, end) {
            return None;
        }
        let mark = self.reader.mark();
        let start = part.start;
        let scanned = self.scan(part);
        if let Some(fault) = &scanned.fault {
            if !self.reader.is_full() {
                self.reader.back_to(mark);
            }
            self.trouble = fault.place.start as usize;
            self.tries = self.tries.saturating_sub(self.reader.stopped.saturating_sub(start));
        }
        Some(scanned)
    }

    /// Whether the line after an entry stands too far left, and belongs to it or is followed by lines that
    /// do: then the lists and maps in the entry must stay open.
    fn goes_on_after(&self, line: Line, end: usize) -> bool {
        let text = self.text();
        let Some(after) = self.lines.get(end) else { return false };
        let is_intruder =
            || is_complete(text, after.at()) && self.lines.get(end + 1).is_some_and(|it| it.indent > after.indent);
        let is_key_under_dash = || {
            let list_of_key = self.levels.iter().any(|it| it.is_map && it.indent == after.indent);
            is_dash(text, line.at()) && !is_dash(text, after.at()) && after.indent == line.indent && !list_of_key
        };
        is_key_under_dash() || is_intruder()
    }

    fn null(&self, at: usize, broken: bool) -> Node<'a> {
        Node { place: self.reader.place(at..at), broken, kind: Kind::Null }
    }

    fn fault(&mut self, bytes: Range<usize>, kind: TextFaultKind) {
        let place = self.reader.place(bytes);
        self.add_fault(TextFault { place, kind });
    }

    fn add_fault(&mut self, fault: TextFault) {
        if let Some(top) = self.levels.last_mut() {
            top.broken = true;
        }
        self.reader.add_fault(fault);
    }

    fn extend(&mut self, nodes: impl IntoIterator<Item = Node<'a>>) {
        if let Some(top) = self.levels.last_mut() {
            top.nodes.extend(nodes);
        }
    }

    fn set_slot(&mut self, node: Node<'a>, anchor: Option<Cow<'a, str>>) {
        if let Some(top) = self.levels.last_mut() {
            top.slot = Some(node);
            top.slot_anchor = anchor;
        }
    }

    /// Nothing came for the last key or dash.
    fn fill_slot(&mut self) {
        if let Some(top) = self.levels.last_mut() {
            top.slot_anchor = None;
            let slot = top.slot.take();
            top.nodes.extend(slot);
        }
    }

    /// Something came for the last key or dash.
    fn put_value(&mut self, value: Node<'a>) {
        if let Some(top) = self.levels.last_mut() {
            top.slot = None;
            if let Some(name) = top.slot_anchor.take() {
                self.reader.define(name, &value);
            }
            top.broken |= value.broken;
            top.nodes.push(value);
        }
    }

    fn close_level(&mut self) {
        self.fill_slot();
        if let Some(level) = self.levels.pop() {
            let node = self.finish(level);
            self.put_value(node);
        }
    }

    fn finish(&self, mut level: Level<'a>) -> Node<'a> {
        level.nodes.extend(level.slot.take());
        let broken = level.broken || level.nodes.iter().any(|it| it.broken);
        let end = level.nodes.iter().map(|it| it.place.range().end).max().unwrap_or(level.start);
        let mut nodes = level.nodes.into_iter();
        let kind = if level.is_map {
            let mut entries = Vec::with_capacity(nodes.len() / 2);
            while let (Some(key), Some(value)) = (nodes.next(), nodes.next()) {
                entries.push((key, value));
            }
            Kind::Map(entries)
        } else {
            Kind::List(nodes.collect())
        };
        Node { place: self.reader.place(level.start..end.max(level.start)), broken, kind }
    }
}

#[cfg(test)]
mod tests {
    use crate::outline::{DESIGN, mutants, outline, sound};
    use crate::{FileId, Kind, LARGEST_TEXT, Node, TextFaultKind, parse};

    /// The tree, with `!` before what is broken, then each fault with its first byte and its text.
    fn check(text: &str, expected: &str) {
        assert_eq!(outline(text), expected, "{text}");
        // The same with other line ends: the same tree, the faults further on.
        let shape = |it: &str| it.split(" at ").next().unwrap_or_default().to_string();
        assert_eq!(shape(&outline(&text.replace('\n', "\r\n"))), shape(expected), "{text}");
    }

    #[test]
    fn nothing_at_all() {
        check("", "nothing");
        check("\n  \n# comment\n", "nothing");
        check("\u{feff}", "nothing");
        check("---\n", "~");
    }

    #[test]
    fn half_typed_key() {
        check("a: 1\nfoo\nb: 2\n", "!{a: 1, foo: !~, b: 2}\nNoColon at 5 \"foo\"");
        check("foo\na: 1\n", "!{foo: !~, a: 1}\nNoColon at 0 \"foo\"");
        check("a: 1\nfoo", "!{a: 1, foo: !~}\nNoColon at 5 \"foo\"");
        check("a: 1\n\"foo\"\nb: 2\n", "!{a: 1, \"foo\": !~, b: 2}\nNoColon at 5 \"\\\"foo\\\"\"");
    }

    #[test]
    fn half_typed_key_deep_in_a_list() {
        check(
            "rooms:\n  hall:\n    area: 3\n  bat\n  kitchen:\n    area: 4\n    ar\n",
            "!{rooms: !{hall: {area: 3}, bat: !~, kitchen: !{area: 4, ar: !~}}}\n\
             NoColon at 29 \"bat\"\nNoColon at 60 \"ar\"",
        );
        check(
            "layers:\n  - material: x\n    thickness 3\n  - material: y\n",
            "!{layers: ![!{material: x, thickness 3: !~}, {material: y}]}\nNoColon at 28 \"thickness 3\"",
        );
        check("- - a\n  - b: 1\n    foo\n  - c\n- d\n", "![![a, !{b: 1, foo: !~}, c], d]\nNoColon at 19 \"foo\"");
    }

    #[test]
    fn a_half_typed_key_keeps_what_stands_under_it() {
        check(
            "loop\n  L1:\n    x: 1\n  L2: 3\nrooms: 2\n",
            "!{loop: {L1: {x: 1}, L2: 3}, rooms: 2}\nNoColon at 0 \"loop\"",
        );
        check("foo\n  - a\n  - b\nc: 1\n", "!{foo: [a, b], c: 1}\nNoColon at 0 \"foo\"");
        check("a: 1\nfoo\n- a\n- b\nc: 1\n", "!{a: 1, foo: [a, b], c: 1}\nNoColon at 5 \"foo\"");
        check(
            "rooms:\n  hall:\n    area: 1\nloop\n  L1:\n    x: 1\n",
            "!{rooms: {hall: {area: 1}}, loop: {L1: {x: 1}}}\nNoColon at 27 \"loop\"",
        );
    }

    #[test]
    fn no_space_after_the_colon() {
        check("a: 1\nb:2 mm\nc: 3\n", "!{a: 1, b: 2 mm, c: 3}\nNoSpaceAfterColon at 6 \":\"");
        check("a: 1\nb:[1, 2]\nc: 3\n", "!{a: 1, b: [1, 2], c: 3}\nNoSpaceAfterColon at 6 \":\"");
    }

    #[test]
    fn unclosed_bracket() {
        check("a: [1, 2\nb: 3\n", "!{a: ![1, 2], b: 3}\nUnclosedBracket('[') at 3 \"[\"");
        check("a: {b: 1, c: 2 mm\nd: 3\n", "!{a: !{b: 1, c: 2 mm}, d: 3}\nUnclosedBracket('{') at 3 \"{\"");
        check("a:\n  [[0, 0],\n  [1, 1] # c\nb: 2\n", "!{a: ![[0, 0], [1, 1]], b: 2}\nUnclosedBracket('[') at 5 \"[\"");
        check(
            "l:\n- a: 1\n  b: [\n- c: 2\nd: 3\n",
            "!{l: ![!{a: 1, b: ![]}, {c: 2}], d: 3}\nUnclosedBracket('[') at 15 \"[\"",
        );
        check("- [0, 0]\n- [0, 1\n- [1, 1]\n", "![[0, 0], ![0, 1], [1, 1]]\nUnclosedBracket('[') at 11 \"[\"");
        check(
            "a: [[0, 0], [5, 4], [0, 4]\nb: 2\n",
            "!{a: ![[0, 0], [5, 4], [0, 4]], b: 2}\nUnclosedBracket('[') at 3 \"[\"",
        );
        check("- [[0, 0], [0, 4]\n- b\n", "![![[0, 0], [0, 4]], b]\nUnclosedBracket('[') at 2 \"[\"");
        check("{a: 1, b: [1, 2\n", "!{a: 1, b: ![1, 2]}\nUnclosedBracket('[') at 10 \"[\"");
    }

    /// The bracket that lacks is the one of a point in a list of points, not the last.
    #[test]
    fn unclosed_bracket_in_brackets() {
        check(
            "a: [[0, 0], [5, 0, [5, 4], [0, 4]]\nb: 2\n",
            "!{a: ![[0, 0], [5, 0], [5, 4], [0, 4]], b: 2}\nUnclosedBracket('[') at 12 \"[\"",
        );
        check(
            "a: [[0, 0], [5, 0, [5, 4], [0, 4, [0, 2]\nb: 2\n",
            "!{a: ![[0, 0], [5, 0], [5, 4], [0, 4], [0, 2]], b: 2}\nUnclosedBracket('[') at 12 \"[\"",
        );
        // Where lists and words stand side by side anyway, it is the last.
        check("a: [x, [0, 0]\nb: 2\n", "!{a: ![x, [0, 0]], b: 2}\nUnclosedBracket('[') at 3 \"[\"");
    }

    #[test]
    fn stray_and_mismatched_brackets() {
        check("a: [1 2] ]\nb: 1\n", "!{a: [1 2], b: 1}\nStrayBracket(']') at 9 \"]\"");
        check("a: 1\n]\nb: 2\n", "!{a: 1, b: 2}\nStrayBracket(']') at 5 \"]\"");
        check("a: [1, 2}\nb: 1\n", "!{a: ![1], b: 1}\nNotYaml(\"this `[` is closed by a `}`\") at 3 \"[\"");
    }

    #[test]
    fn missing_comma() {
        check("a: {b: 1 c: 2}\nd: 1\n", "!{a: !{b: 1 c}, d: 1}\nNoComma at 7 \"1 c\"");
        check("a: [[0, 0],\n  [1, 1]\n  [2, 2]]\nb: 2\n", "!{a: ![[0, 0], [1, 1]], b: 2}\nNoComma at 23 \"[\"");
    }

    #[test]
    fn unclosed_quote() {
        check("a: \"x\nb: 3\nc: 4\n", "!{a: !~, b: 3, c: 4}\nUnclosedQuote('\"') at 3 \"\\\"\"");
        check("a: 1\n'b: 3\n", "!{a: 1}\nUnclosedQuote('\\'') at 5 \"'\"");
    }

    #[test]
    fn two_values() {
        check("a: b: c\nd: 1\n", "!{a: b, d: 1}\nTwoValues at 4 \":\"");
        check("loops: x:\n  L1: 1\n  L2: 2\nb: 1\n", "!{loops: {L1: 1, L2: 2}, b: 1}\nTwoValues at 8 \":\"");
    }

    #[test]
    fn too_deep_a_line() {
        check("a: 1\n  b: 2\nc: 3\n", "!{a: 1, b: 2, c: 3}\nWrongIndent at 7 \"b\"");
        check("a: 1\n    x: 1\n    y: 2\nb: 1\n", "!{a: 1, x: 1, y: 2, b: 1}\nWrongIndent at 9 \"x\"");
        check(
            "loops:\n  L1:\n    x: 1\n      y:\n        w: 2\n    z: 3\n  L2: 4\n",
            "!{loops: !{L1: !{x: 1, y: {w: 2}, z: 3}, L2: 4}}\nWrongIndent at 28 \"y\"",
        );
        check("  a: 1\nb: 2\nc: 3\n", "!{a: 1, b: 2, c: 3}\nWrongIndent at 7 \"b\"");
    }

    #[test]
    fn too_shallow_a_line() {
        check(
            "loops:\n  L1:\n    x: 1\n   y: 2\n    z: 3\n  L2: 4\nr: 1\n",
            "!{loops: !{L1: !{x: 1, y: 2, z: 3}, L2: 4}, r: 1}\nWrongIndent at 25 \"y\"",
        );
        check(
            "loops:\n  L1:\n    x: 1\ny: 2\n    z: 3\n  L2: 4\nr: 1\n",
            "!{loops: !{L1: !{x: 1, y: 2, z: 3}, L2: 4}, r: 1}\nWrongIndent at 22 \"y\"",
        );
        check(
            "a:\n    x: 1\n    y: 2\n  z: 3\n  w: 4\nb: 1\n",
            "!{a: !{x: 1, y: 2, z: 3, w: 4}, b: 1}\nWrongIndent at 23 \"z\"",
        );
        check(
            "layers:\n  - material: x\n  thickness: 3\n  - material: y\n",
            "!{layers: ![!{material: x, thickness: 3}, {material: y}]}\nWrongIndent at 26 \"thickness\"",
        );
        check("key:\n    - a\n  - b\nc: 1\n", "!{key: ![a, b], c: 1}\nWrongIndent at 15 \"- b\"");
    }

    #[test]
    fn tabs() {
        check("a: 1\n\tb: 2\nc: 3\n", "!{a: 1, b: 2, c: 3}\nTabIndent at 5 \"\\t\"");
        check(
            "a:\n\tb:\n\t\tc: 1\n\t\td: 2\n\te: 3\nf: 4\n",
            "!{a: !{b: {c: 1, d: 2}, e: 3}, f: 4}\nTabIndent at 3 \"\\t\"",
        );
        check("a:\n\tb: 1\n    c: 2\nd: 3\n", "!{a: !{b: 1, c: 2}, d: 3}\nTabIndent at 3 \"\\t\"");
        check("a:\n\tb:\n        c: 1\nd: 3\n", "!{a: !{b: {c: 1}}, d: 3}\nTabIndent at 3 \"\\t\"");
        check("l:\n  - a: 1\n\tb: 2\n  - c: 3\n", "!{l: ![!{a: 1, b: 2}, {c: 3}]}\nTabIndent at 12 \"\\t\"");
    }

    #[test]
    fn dashes() {
        check("- a\nfoo\n- b\n", "![a, foo, b]\nNoDash at 4 \"foo\"");
        check("- a: 1\nb: 2\n- c: 3\n", "![!{a: 1, b: 2}, {c: 3}]\nWrongIndent at 7 \"b\"");
        check(
            "l:\n  - a\n  b: 2\n  c:\n    d: 3\n",
            "!{l: ![a, !{b: 2, c: {d: 3}}]}\nNoDash at 11 \"b: 2\"\nWrongIndent at 18 \"c\"",
        );
        check("- a: 1\n  b: 2\n  - c: 3\n", "![{a: 1, b: 2}, {c: 3}]\nWrongIndent at 16 \"- c\"");
        check("- a\n-foo\n- b\n", "![a, foo, b]\nNoSpaceAfterDash at 4 \"-foo\"");
        check("a: 1\n- b\nc: 2\n", "!{a: 1, c: 2}\nNotYaml(\"a list entry stands where a key is due\") at 5 \"- b\"");
    }

    #[test]
    fn values_that_cannot_start_so() {
        check("a: @x\nb: 1\n", "!{a: !~, b: 1}\nNotYaml(\"no value can start with `@`; put it in quotes\") at 3 \"@\"");
        check(
            "a: 'x' y\nb: 1\n",
            "!{a: !~, b: 1}\nNotYaml(\"text stands after the closing quote; put all of it inside the quotes\") at 7 \"y\"",
        );
    }

    #[test]
    fn block_scalars() {
        check("s: |\n  one\n two\nb: 1\n", "!{s: \"one\\n\", b: 1}\nWrongIndent at 12 \"two\"");
        check(
            "a: @\ns: |\n  x: [\n\n  # y\nb: 1\n",
            "!{a: !~, s: \"x: [\\n\\n# y\\n\", b: 1}\n\
             NotYaml(\"no value can start with `@`; put it in quotes\") at 3 \"@\"",
        );
    }

    #[test]
    fn several_documents() {
        check("a: 1\n---\nb: 2\n", "{a: 1}\nMoreThanOneDocument at 5 \"---\"");
        check("---\na: 1\n...\nb: 2\n", "{a: 1}\nMoreThanOneDocument at 13 \"b: 2\"");
        check("a: 1\nfoo\n---\nb: [\n", "!{a: 1, foo: !~}\nNoColon at 5 \"foo\"\nMoreThanOneDocument at 9 \"---\"");
        check("%YAML 1.2\n---\na: 1\nfoo\n...\n", "!{a: 1, foo: !~}\nNoColon at 19 \"foo\"");
    }

    #[test]
    fn many_faults_in_one_pass() {
        check(
            "a: [1\nb 2\nc: \"x\n\td: 4\ne: {f: 1}\n",
            "!{a: ![1], b 2: !~, c: !~, d: 4, e: {f: 1}}\nUnclosedBracket('[') at 3 \"[\"\nNoColon at 6 \"b 2\"\n\
             UnclosedQuote('\"') at 13 \"\\\"\"\nTabIndent at 16 \"\\t\"",
        );
    }

    #[test]
    fn only_so_many_faults_are_told() {
        let text = "a: @\n".repeat(200);
        let tree = parse(FileId::new(3), &text);
        sound(&text, &tree);
        assert_eq!(tree.faults.len(), crate::MOST_FAULTS + 1);
        let last = tree.faults.last().map(|it| (&it.kind, it.place.start));
        assert_eq!(last, Some((&TextFaultKind::TooManyFaults, 503)));
        let entries = tree.root.as_ref().and_then(Node::as_map).map(<[_]>::len);
        assert_eq!(entries, Some(200), "what is not told is still read");
    }

    #[test]
    fn too_large() {
        let text = "a".repeat(LARGEST_TEXT + 1);
        assert_eq!(outline(&text), "nothing\nTooLarge { bytes: 16777217, limit: 16777216 } at 0 \"\"");
    }

    #[test]
    fn every_start_of_a_design_is_sound() {
        for text in [DESIGN, &DESIGN.replace('\n', "\r\n"), &format!("\u{feff}{DESIGN}")] {
            for (at, _) in text.char_indices() {
                sound(&text[..at], &parse(FileId::new(3), &text[..at]));
                sound(&text[at..], &parse(FileId::new(3), &text[at..]));
            }
        }
    }

    /// Each key with the line it stands on and the line of the key it stands under; what an alias brings
    /// left out.
    fn keys<'t>(text: &'t str, node: &Node, under: &'t str, found: &mut Vec<(String, &'t str, &'t str)>) {
        match &node.kind {
            Kind::Null | Kind::Scalar(_) => {}
            Kind::List(items) => items.iter().for_each(|it| keys(text, it, under, found)),
            Kind::Map(entries) => {
                for (key, value) in entries.iter().filter(|(key, _)| key.place.start >= node.place.start) {
                    let start = text[..key.place.range().start].rfind('\n').map_or(0, |it| it + 1);
                    let line = text[start..].lines().next().unwrap_or_default().trim();
                    found.push((key.as_text().unwrap_or_default().to_string(), line, under));
                    keys(text, value, line, found);
                }
            }
        }
    }

    #[test]
    fn one_wrong_line_costs_little_else() {
        let text = DESIGN.replace("    <<: *screed\n", "");
        let tree = parse(FileId::new(3), &text);
        let mut all = Vec::new();
        keys(&text, tree.root.as_ref().expect("the design is valid"), "", &mut all);
        assert!(all.len() > 70);
        let known: Vec<&str> = DESIGN.lines().map(str::trim).collect();
        let (mut kept, mut due, mut worst) = (0, 0, (1.0, String::new()));
        for (line, content) in DESIGN.lines().map(str::trim).enumerate() {
            let others: Vec<_> = all.iter().filter(|it| it.1 != content).collect();
            for text in mutants(line) {
                let tree = parse(FileId::new(3), &text);
                let mut found = Vec::new();
                if let Some(root) = &tree.root {
                    keys(&text, root, "", &mut found);
                }
                // The wrong line is still the one to stand under.
                for it in found.iter_mut().filter(|it| !known.contains(&it.2)) {
                    it.2 = content;
                }
                let here = others.iter().filter(|it| found.contains(it)).count();
                let share = here as f64 / others.len() as f64;
                (kept, due) = (kept + here, due + others.len());
                if share < worst.0 {
                    worst = (share, text);
                }
            }
        }
        let share = kept as f64 / due as f64;
        assert!(share > 0.99, "{share}");
        assert!(worst.0 > 0.8, "{} of\n{}", worst.0, worst.1);
    }
}
