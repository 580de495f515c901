//! The one module that knows the scanner: events to nodes, its errors to our words.

use crate::alias::{Anchors, Budget, MERGE};
use crate::place::char_start;
use crate::{DEEPEST, FileId, Kind, MOST_FAULTS, MOST_NODES, Node, Place, Scalar, TextFault, TextFaultKind};
use granit_parser::{ErrorKind, Event, Options, Parser, ScalarStyle, ScanError, StructureStyle, options};
use std::borrow::Cow;
use std::ops::Range;

/// What is gathered while one text is read.
pub(crate) struct Reader<'a> {
    pub file: FileId,
    pub text: &'a str,
    pub faults: Vec<TextFault>,
    /// The first fault that was one too many.
    too_many: Option<Place>,
    nodes: usize,
    anchors: Anchors<'a>,
    /// Whether there is any `<<`.
    pub merges: bool,
    /// Where the scanner last found a fault.
    pub stopped: usize,
    values: Vec<Node<'a>>,
    frames: Vec<Frame<'a>>,
}

/// A list or map whose end has not come yet; its nodes so far stand in `Reader::values` from `first` on.
struct Frame<'a> {
    first: usize,
    start: usize,
    is_map: bool,
    in_brackets: bool,
    anchor: Option<Cow<'a, str>>,
}

/// What one part of the text gave.
pub(crate) struct Scanned<'a> {
    pub node: Option<Node<'a>>,
    /// Why reading stopped before the end of the part; then `node` is what came before, `broken`.
    pub fault: Option<TextFault>,
    /// The anchor of the very last value, if that value is not there (yet).
    pub open_anchor: Option<Cow<'a, str>>,
}

/// How far reading had come.
#[derive(Clone, Copy)]
pub(crate) struct Mark {
    faults: usize,
    too_many: Option<Place>,
    nodes: usize,
    budget: Budget,
}

fn scanner_options() -> Options {
    // The scanner's own limits lie above ours: with both kinds of nesting mixed only ours is exact.
    options! {
        emit_unresolved_aliases: true,
        emit_anchor_events: true,
        emit_comments: false,
        block_nesting_limit: DEEPEST + 1,
        flow_nesting_limit: DEEPEST + 1,
    }
}

impl<'a> Reader<'a> {
    pub fn new(file: FileId, text: &'a str) -> Reader<'a> {
        Reader {
            file,
            text,
            faults: Vec::new(),
            too_many: None,
            nodes: 0,
            anchors: Anchors::new(text),
            merges: false,
            stopped: 0,
            values: Vec::new(),
            frames: Vec::new(),
        }
    }

    pub fn place(&self, bytes: Range<usize>) -> Place {
        Place::new(self.file, bytes)
    }

    pub fn fault(&mut self, bytes: Range<usize>, kind: TextFaultKind) {
        self.add_fault(TextFault { place: self.place(bytes), kind });
    }

    pub fn add_fault(&mut self, fault: TextFault) {
        if self.faults.len() < MOST_FAULTS {
            self.faults.push(fault);
        } else {
            self.too_many.get_or_insert(fault.place);
        }
    }

    /// All faults, in order.
    pub fn into_faults(mut self) -> Vec<TextFault> {
        self.faults.sort_by_key(|it| it.place);
        self.faults.dedup();
        if let Some(place) = self.too_many {
            self.faults.push(TextFault { place, kind: TextFaultKind::TooManyFaults });
        }
        self.faults
    }

    pub fn mark(&self) -> Mark {
        Mark { faults: self.faults.len(), too_many: self.too_many, nodes: self.nodes, budget: self.anchors.budget() }
    }

    /// Forget what was gathered since.
    pub fn back_to(&mut self, mark: Mark) {
        self.faults.truncate(mark.faults);
        self.too_many = mark.too_many;
        self.nodes = mark.nodes;
        self.anchors.set_budget(mark.budget);
    }

    /// Whether there are more nodes than may be.
    pub fn is_full(&self) -> bool {
        self.nodes > MOST_NODES
    }

    pub fn define(&mut self, name: Cow<'a, str>, node: &Node<'a>) {
        self.anchors.define(name, node);
    }

    /// Read a part of the text that stands `depth` lists and maps deep.
    pub fn scan(&mut self, part: Range<usize>, depth: usize) -> Scanned<'a> {
        let text = self.text.get(part.clone()).unwrap_or_default();
        self.scan_text(text, part, depth, |value, _| value)
    }

    /// Read a part of the text as if `text` stood there, the same but for its brackets and with more of them at its end.
    pub fn scan_closed(&mut self, part: Range<usize>, text: &str, depth: usize) -> Scanned<'a> {
        let whole = self.text;
        self.scan_text(text, part, depth, |value, at| match whole.get(at) {
            Some(text) if text == value => Cow::Borrowed(text),
            _ => Cow::Owned(value.into_owned()),
        })
    }

    /// `text` is what stands at `part`, perhaps with more at the end; `keep` makes of a string in it, and
    /// its place, one that lives as long as the tree.
    fn scan_text<'t>(
        &mut self,
        text: &'t str,
        part: Range<usize>,
        depth: usize,
        keep: impl Fn(Cow<'t, str>, Range<usize>) -> Cow<'a, str>,
    ) -> Scanned<'a> {
        self.values.clear();
        self.frames.clear();
        let mut documents = 0;
        let mut open_anchor = None;
        let mut fault = None;
        for next in Parser::new_from_str_with_options(text, scanner_options()) {
            let (event, span) = match next {
                Ok(event) => event,
                Err(error) => {
                    self.stopped = part.start + error.marker().byte_offset().unwrap_or_default();
                    fault = Some(self.explain(&error, &part));
                    break;
                }
            };
            let at = span.byte_range().unwrap_or_default();
            let at = (part.start + at.start).min(part.end)..(part.start + at.end).min(part.end);
            if event.is_node() {
                open_anchor = None;
            }
            match event {
                Event::DocumentStart(..) => {
                    documents += 1;
                    if documents > 1 {
                        let line = self.text.get(at.start..).and_then(|it| it.lines().next()).unwrap_or_default();
                        self.fault(at.start..at.start + line.trim_end().len(), TextFaultKind::MoreThanOneDocument);
                        break;
                    }
                }
                Event::Scalar(value, style, ..) => {
                    let value = keep(value, at.clone());
                    let node = self.scalar(at, value, style);
                    self.push(node);
                }
                Event::Alias(_) | Event::UnresolvedAlias(_) => {
                    let node = self.alias(at, depth);
                    self.push(node);
                }
                Event::SequenceStart(style, ..) | Event::MappingStart(style, ..) => {
                    if self.frames.len() + depth >= DEEPEST {
                        fault = Some(TextFault { place: self.place(at), kind: TextFaultKind::TooDeep });
                        break;
                    }
                    let is_map = matches!(event, Event::MappingStart(..));
                    let start =
                        if is_map || style == StructureStyle::Flow { at.start } else { self.first_dash(at.start) };
                    self.frames.push(Frame {
                        first: self.values.len(),
                        start,
                        is_map,
                        in_brackets: style == StructureStyle::Flow && !at.is_empty(),
                        anchor: None,
                    });
                }
                Event::Anchor(_, name) if self.anchors.wants(&name) => {
                    let name = keep(name, at.start + 1..at.end);
                    match self.frames.last_mut() {
                        // An anchor follows the start of what it names, so a list or map is still empty.
                        Some(frame) if frame.first == self.values.len() => {
                            self.anchors.open(name.clone());
                            frame.anchor = Some(name);
                        }
                        _ => {
                            if let Some(node) = self.values.last() {
                                open_anchor = node.is_null().then(|| name.clone());
                                self.anchors.define(name, node);
                            }
                        }
                    }
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(Some(at), false),
                _ => {}
            }
            if self.is_full() {
                let end = self.values.last().map_or(part.start, |it| it.place.range().end);
                let kind = TextFaultKind::TooManyNodes { limit: MOST_NODES };
                fault = Some(TextFault { place: self.place(end..end), kind });
                break;
            }
        }
        while !self.frames.is_empty() {
            self.close(None, true);
        }
        let mut node = self.values.drain(..).next();
        if let (Some(node), Some(_)) = (&mut node, &fault) {
            node.broken = true;
        }
        Scanned { node, fault, open_anchor }
    }

    fn push(&mut self, node: Node<'a>) {
        self.nodes += 1;
        self.values.push(node);
    }

    /// The key that the next node is the value of.
    fn key(&self) -> Option<&Node<'a>> {
        let frame = self.frames.last().filter(|it| it.is_map)?;
        if (self.values.len() - frame.first) % 2 == 1 { self.values.last() } else { None }
    }

    fn scalar(&mut self, at: Range<usize>, value: Cow<'a, str>, style: ScalarStyle) -> Node<'a> {
        let quoted = style != ScalarStyle::Plain;
        if at.is_empty() && !quoted {
            let key = self.key().filter(|key| !key.place.is_empty()).map(|key| key.place.range().end);
            let is_next = |key: &usize| {
                self.text.get(*key..at.start).is_some_and(|it| it.trim_matches([' ', '\t', ':']).is_empty())
            };
            let at = key.filter(is_next).map_or(at.start, |key| self.after_colon(key).max(at.start));
            return Node { place: self.place(at..at), broken: false, kind: Kind::Null };
        }
        let at = match style {
            ScalarStyle::Literal | ScalarStyle::Folded => self.block_scalar(at),
            _ => at,
        };
        if !quoted && value == MERGE {
            self.merges = true;
        }
        Node { place: self.place(at), broken: false, kind: Kind::Scalar(Scalar { text: value, quoted }) }
    }

    fn alias(&mut self, at: Range<usize>, depth: usize) -> Node<'a> {
        let text = self.text;
        let name = text.get(at.start + 1..at.end).unwrap_or_default();
        let place = self.place(at.clone());
        let room = DEEPEST.saturating_sub(depth + self.frames.len());
        let before = self.anchors.left();
        let resolved = self.anchors.resolve(name, place, room);
        self.nodes += before - self.anchors.left();
        resolved.unwrap_or_else(|kind| {
            self.fault(at, kind);
            Node { place, broken: true, kind: Kind::Null }
        })
    }

    /// Close the innermost list or map; `broken` when its end was not met.
    fn close(&mut self, at: Option<Range<usize>>, broken: bool) {
        let Some(frame) = self.frames.pop() else { return };
        let last = self.values.get(frame.first..).and_then(|it| it.last());
        let mut end = last.map_or(frame.start, |it| it.place.range().end).max(frame.start);
        if let Some(at) = at.filter(|it| !it.is_empty()) {
            end = at.end;
        } else if frame.in_brackets {
            end = end.max(frame.start + 1);
        }
        if frame.is_map && (self.values.len() - frame.first) % 2 == 1 {
            let at = if last.is_some_and(|it| it.place.is_empty()) { end } else { self.after_colon(end) };
            self.push(Node { place: self.place(at..at), broken: true, kind: Kind::Null });
            end = at;
        }
        let mut nodes = self.values.drain(frame.first..);
        let mut broken = broken;
        let kind = if frame.is_map {
            let mut entries = Vec::with_capacity(nodes.len() / 2);
            while let (Some(key), Some(value)) = (nodes.next(), nodes.next()) {
                broken |= key.broken | value.broken;
                entries.push((key, value));
            }
            Kind::Map(entries)
        } else {
            let mut items = Vec::with_capacity(nodes.len());
            for node in nodes.by_ref() {
                broken |= node.broken;
                items.push(node);
            }
            Kind::List(items)
        };
        drop(nodes);
        let node = Node { place: self.place(frame.start..end), broken, kind };
        if let Some(name) = frame.anchor {
            self.anchors.define(name, &node);
        }
        self.push(node);
    }

    /// The place after the `:` that follows a key; where there is none, the end of the key.
    fn after_colon(&self, key_end: usize) -> usize {
        let rest = self.text.get(key_end..).unwrap_or_default();
        let colon = rest.trim_start_matches([' ', '\t']);
        if colon.starts_with(':') { key_end + rest.len() - colon.len() + 1 } else { key_end }
    }

    /// The scanner starts a list at the indentation of its key behind the first dash instead of at it.
    fn first_dash(&self, start: usize) -> usize {
        if self.key().is_none() {
            return start;
        }
        let before = self.text.get(..start).unwrap_or_default();
        let line = before.rfind(['\n', '\r']).map_or(0, |it| it + 1);
        let lead = &before[line..];
        let dash = lead.trim_start_matches(' ');
        if dash.starts_with('-') && dash[1..].trim_matches([' ', '\t']).is_empty() { start - dash.len() } else { start }
    }

    /// From the `|` or `>` to the last line that holds anything; the scanner gives the lines alone, with
    /// the empty ones that follow.
    fn block_scalar(&self, lines: Range<usize>) -> Range<usize> {
        let before = self.text.get(..lines.start).unwrap_or_default().trim_end();
        let line = before.rfind(['\n', '\r']).map_or(0, |it| it + 1);
        let known = self.values.last().map_or(0, |it| it.place.range().end).max(line);
        let header = before.get(known..).unwrap_or_default();
        let mark = header.char_indices().find(|&(at, it)| {
            let spaced = at == 0 || header[..at].ends_with([' ', '\t']);
            spaced && matches!(it, '|' | '>')
        });
        let Some((mark, _)) = mark else { return lines };
        let start = known + mark;
        let content = self.text.get(start..lines.end).unwrap_or_default().trim_end();
        start..start + content.len()
    }

    /// The scanner's error in our words, at the place where the user would mend it.
    fn explain(&self, error: &ScanError, part: &Range<usize>) -> TextFault {
        let text = self.text.get(..part.end).unwrap_or_default();
        let at = part.start + error.marker().byte_offset().unwrap_or_default();
        let at = char_start(text, at);
        let character = text[at..].chars().next();
        let here = at..at + character.map_or(0, char::len_utf8);
        let bracket = self.frames.iter().rev().find(|it| it.in_brackets);
        let word = || {
            let line = text[at..].split(['\r', '\n']).next().unwrap_or_default();
            let line = line.split(" #").next().unwrap_or_default().trim_end();
            at..at + line.len()
        };
        let words = |words: &str| TextFaultKind::NotYaml(words.to_string());
        let (bytes, kind) = match error.kind() {
            ErrorKind::UnclosedQuotedScalar | ErrorKind::DocumentIndicatorInQuotedScalar => {
                (here, TextFaultKind::UnclosedQuote(character.unwrap_or('"')))
            }
            ErrorKind::TabNotAllowed
            | ErrorKind::TabInBlockIndentation
            | ErrorKind::TabInIndentation
            | ErrorKind::TabInPlainScalar
            | ErrorKind::TabAtBlockScalarStart => match leading_tab(text, at) {
                Some(tab) => (tab..tab + 1, TextFaultKind::TabIndent),
                None => (here, words("a tab cannot stand here; use spaces")),
            },
            ErrorKind::MismatchedFlowCollectionEnd { open, close } => {
                (here, TextFaultKind::NotYaml(format!("this `{open}` is closed by a `{close}`")))
            }
            ErrorKind::RecursionLimitExceeded => (here, TextFaultKind::TooDeep),
            // The scanner names the bracket itself; those in it may well be closed.
            ErrorKind::UnclosedFlowCollection { open } => (here, TextFaultKind::UnclosedBracket(*open)),
            ErrorKind::UnexpectedEofFlowMapping
            | ErrorKind::UnexpectedEofFlowSequence
            | ErrorKind::UnexpectedEofImplicitFlowMapping
            | ErrorKind::UnexpectedEof
            | ErrorKind::ExpectedFlowMappingSeparator
            | ErrorKind::ExpectedFlowSequenceSeparator
            | ErrorKind::BlockEntryInFlowCollection
            | ErrorKind::InvalidFlowScalarIndent
            | ErrorKind::ExpectedNodeContent
            | ErrorKind::InvalidColonPlacement
                if bracket.is_some() =>
            {
                let start = bracket.map_or(at, |it| it.start);
                let (open, close) = if text[start..].starts_with('{') { ('{', '}') } else { ('[', ']') };
                match self.values.last() {
                    _ if !text[at..].contains(close) => (start..start + 1, TextFaultKind::UnclosedBracket(open)),
                    _ if matches!(error.kind(), ErrorKind::ExpectedNodeContent) => {
                        (here, words("a value is missing here"))
                    }
                    Some(last) if character == Some(':') => (last.place.range(), TextFaultKind::NoComma),
                    _ => (here, TextFaultKind::NoComma),
                }
            }
            ErrorKind::MisplacedFlowCollectionEnd => (here, TextFaultKind::StrayBracket(character.unwrap_or(']'))),
            ErrorKind::MappingValueNotAllowed => match self.values.last().map(|it| it.place.range()) {
                Some(last) if text[last.clone()].contains('\n') => {
                    let line = text[last.clone()].rfind('\n').map_or(last.start, |it| last.start + it + 1);
                    let word = text[line..last.end].trim_start();
                    (last.end - word.len()..last.end, TextFaultKind::WrongIndent)
                }
                _ => (here, TextFaultKind::TwoValues),
            },
            ErrorKind::SimpleKeyExpected => (word(), TextFaultKind::NoColon),
            ErrorKind::ExpectedBlockMappingKey
            | ErrorKind::ExpectedBlockSequenceEntry
            | ErrorKind::InvalidIndentation
            | ErrorKind::InvalidBlockScalarIndent
            | ErrorKind::InvalidQuotedScalarIndent => {
                let before = text[..at].trim_end_matches([' ', '\t']);
                if before.is_empty() || before.ends_with(['\n', '\r', '\u{feff}']) {
                    (word(), TextFaultKind::WrongIndent)
                } else {
                    (word(), words("this does not belong to the value before it"))
                }
            }
            ErrorKind::InvalidTrailingSingleQuotedScalar | ErrorKind::InvalidTrailingDoubleQuotedScalar => {
                (word(), words("text stands after the closing quote; put all of it inside the quotes"))
            }
            ErrorKind::UnexpectedCharacter { character } => {
                let quote = format!("no value can start with `{}`; put it in quotes", character.escape_default());
                (here, TextFaultKind::NotYaml(quote))
            }
            ErrorKind::UnknownQuotedScalarEscape
            | ErrorKind::InvalidQuotedScalarHexEscape
            | ErrorKind::InvalidUnicodeEscape => (
                here,
                words("in double quotes `\\` starts an escape, and this is none; write `\\\\` or use single quotes"),
            ),
            ErrorKind::MissingAnchorOrAliasName => {
                (here, words("a name is missing here; put text that starts with `*` or `&` in quotes"))
            }
            ErrorKind::CommentNotSeparated => (here, words("a space is missing before the `#`")),
            ErrorKind::BlockSequenceEntryNotAllowed => (here, words("a list entry cannot start here")),
            _ => (here, TextFaultKind::NotYaml(error.info())),
        };
        TextFault { place: self.place(bytes), kind }
    }
}

/// The first tab in the indentation of the line of `at` or one after it.
fn leading_tab(text: &str, at: usize) -> Option<usize> {
    let mut line = text[..at].rfind('\n').map_or(0, |it| it + 1);
    loop {
        let rest = &text[line..];
        let lead = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        if let Some(tab) = rest[..lead].find('\t') {
            return Some(line + tab);
        }
        line += rest.find('\n')? + 1;
    }
}

#[cfg(test)]
mod tests {
    use crate::outline::{DESIGN, outline, sound};
    use crate::{FileId, Kind, LARGEST_TEXT, MOST_NODES, Node, TextFaultKind, Tree, parse};
    use std::time::{Duration, Instant};

    fn read(text: &str) -> Tree<'_> {
        let tree = parse(FileId::new(3), text);
        sound(text, &tree);
        tree
    }

    /// Each node in the order of the text, with its first byte.
    fn pieces<'t>(text: &'t str, node: &Node, found: &mut Vec<(u32, &'t str)>) {
        found.push((node.place.start, &text[node.place.range()]));
        match &node.kind {
            Kind::Null | Kind::Scalar(_) => {}
            Kind::List(items) => items.iter().for_each(|it| pieces(text, it, found)),
            Kind::Map(entries) => entries.iter().for_each(|(key, value)| {
                pieces(text, key, found);
                pieces(text, value, found);
            }),
        }
    }

    fn check(text: &str, expected: &[(u32, &str)]) {
        let tree = read(text);
        assert_eq!(tree.faults, [], "{text:?}");
        let mut found = Vec::new();
        tree.root.iter().for_each(|it| pieces(text, it, &mut found));
        assert_eq!(found, expected, "{text:?}");
    }

    #[test]
    fn places_of_keys_and_values() {
        check(
            "a: 21 °C # b\nc:\n  d: e\n",
            &[(0, "a: 21 °C # b\nc:\n  d: e"), (0, "a"), (3, "21 °C"), (14, "c"), (19, "d: e"), (19, "d"), (22, "e")],
        );
    }

    #[test]
    fn places_with_carriage_returns_and_a_byte_order_mark() {
        check("\u{feff}a: é\r\nb: c\r\n", &[(3, "a: é\r\nb: c"), (3, "a"), (6, "é"), (10, "b"), (13, "c")]);
    }

    #[test]
    fn places_in_brackets_and_quotes() {
        check(
            "a: [1, {b: 'ü', \"c\": ~}]\n",
            &[
                (0, "a: [1, {b: 'ü', \"c\": ~}]"),
                (0, "a"),
                (3, "[1, {b: 'ü', \"c\": ~}]"),
                (4, "1"),
                (7, "{b: 'ü', \"c\": ~}"),
                (8, "b"),
                (11, "'ü'"),
                (17, "\"c\""),
                (22, "~"),
            ],
        );
        check("[a: b]", &[(0, "[a: b]"), (1, "a: b"), (1, "a"), (4, "b")]);
    }

    #[test]
    fn places_of_lists() {
        check("- a\n- b: c\n", &[(0, "- a\n- b: c"), (2, "a"), (6, "b: c"), (6, "b"), (9, "c")]);
        check(
            "l:\n-  a\n-\n- - b\n",
            &[(0, "l:\n-  a\n-\n- - b"), (0, "l"), (3, "-  a\n-\n- - b"), (6, "a"), (9, ""), (12, "- b"), (14, "b")],
        );
        check("l:\n  - - -1\n", &[(0, "l:\n  - - -1"), (0, "l"), (5, "- - -1"), (7, "- -1"), (9, "-1")]);
    }

    #[test]
    fn places_of_block_scalars() {
        check(
            "a: | # x > y\n\n  ä\n  b\n\nc: &x >-\n  d\ne:\n- |2\n   f",
            &[
                (0, "a: | # x > y\n\n  ä\n  b\n\nc: &x >-\n  d\ne:\n- |2\n   f"),
                (0, "a"),
                (3, "| # x > y\n\n  ä\n  b"),
                (24, "c"),
                (30, ">-\n  d"),
                (37, "e"),
                (40, "- |2\n   f"),
                (42, "|2\n   f"),
            ],
        );
        check(
            "a: |\nb: >-\n\nc:",
            &[(0, "a: |\nb: >-\n\nc:"), (0, "a"), (3, "|"), (5, "b"), (8, ">-"), (12, "c"), (14, "")],
        );
    }

    #[test]
    fn places_of_what_is_not_there() {
        check(
            "a:\nb : # c\nc: &x\n",
            &[(0, "a:\nb : # c\nc: &x"), (0, "a"), (2, ""), (3, "b"), (6, ""), (11, "c"), (16, "")],
        );
        check("{a, b: , c:}", &[(0, "{a, b: , c:}"), (1, "a"), (2, ""), (4, "b"), (6, ""), (9, "c"), (11, "")]);
    }

    #[test]
    fn scalars_keep_their_text_and_know_their_quotes() {
        let expected =
            r#"{a: 0x1F, b: "1", c: "x\ny", d: "it's", e: "text\nmore\n", f: "one two", g: one two, h: ~, i: null}"#;
        let text = "a: 0x1F\nb: '1'\nc: \"x\\ny\"\nd: 'it''s'\ne: |\n  text\n  more\nf: >-\n  one\n  two\ng: one\n  two\nh:\ni: null\n";
        assert_eq!(outline(text), expected);
    }

    #[test]
    fn plain_text_is_not_copied() {
        let tree = read(DESIGN);
        let format = tree.root.as_ref().and_then(|it| it.get("format"));
        assert!(
            matches!(&format.map(|it| &it.kind), Some(Kind::Scalar(it)) if matches!(it.text, std::borrow::Cow::Borrowed("1")))
        );
    }

    fn padded(depth: usize, line: &str) -> String {
        format!("{}{line}\n", " ".repeat(depth))
    }

    fn numbered(count: usize, line: impl Fn(usize) -> String) -> String {
        (0..count).map(line).collect()
    }

    /// Texts made to take forever, or all memory, each with a fault that must be among those told.
    #[test]
    fn hostile_texts_end_soon() {
        let bomb = numbered(10, |at| match at {
            0 => "a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_string(),
            _ => format!("a{at}: &a{at} [{}]\n", vec![format!("*a{}", at - 1); 9].join(", ")),
        });
        let mut long_alias = format!("a: &a \"{}\\n\"\n", "x".repeat(1 << 20));
        long_alias += &numbered(10_000, |at| format!("b{at}: *a\n"));
        let far = LARGEST_TEXT / 32;
        let most = "too many";
        let deep = "each other";
        let cases = [
            ("3,000 maps in each other", numbered(3000, |at| padded(at, "a:")), deep),
            ("brackets", "[".repeat(far), deep),
            ("brackets and braces", "[{a: ".repeat(10_000), deep),
            ("dashes on one line", "- ".repeat(far / 2), deep),
            ("question marks", "? ".repeat(far / 2), deep),
            ("colons", "a: ".repeat(far / 3), "two values"),
            ("unclosed brackets", "- [1, 2\n".repeat(28_000), most),
            ("unclosed brackets under keys", "a: [\n".repeat(far / 5), most),
            ("unclosed quotes", "a: \"x\nb\n".repeat(far / 8), most),
            ("one quote", format!("a: \"{}", "x\n".repeat(far / 2)), most),
            ("half-typed keys", numbered(1000, |at| format!("k{at}:\n  a: 1\n  b\n")), most),
            ("half-typed keys everywhere", "a:\nb\n".repeat(far / 5), most),
            ("tabs", "\ta: 1\n".repeat(far / 6), "tab"),
            ("stairs", numbered(1900, |at| padded(at, "a: 1")), most),
            ("stairs of dashes", numbered(1900, |at| padded(at, "- a: 1")), most),
            ("waves", numbered(20_000, |at| padded(at * 37 % 100, "a:")), most),
            (
                "a fault in each of 60 levels",
                {
                    let levels = numbered(60, |at| padded(at, "k:"));
                    let faults: String = (0..60).rev().map(|at| padded(at + 1, "b: @")).collect();
                    format!("{levels}{}{faults}", padded(60, "k: 1234567890").repeat(20_000))
                },
                "quotes",
            ),
            ("aliases of aliases", bomb, "aliases"),
            ("aliases of a long text", long_alias, "aliases"),
            ("unknown aliases", numbered(100_000, |at| format!("- *a{at}\n")), most),
            ("stars", "*".repeat(far), "stands for nothing"),
            ("stars in a row", "- * *\n".repeat(far / 6), most),
        ];
        for (name, text, expected) in &cases {
            let start = Instant::now();
            let tree = read(text);
            let took = start.elapsed();
            // Far more than it takes on an idle machine, far less than anything that is not linear.
            assert!(took < Duration::from_secs(20), "{name} took {took:?}");
            let told = tree.faults.iter().any(|it| {
                it.kind.to_string().contains(expected) || *expected == most && it.kind == TextFaultKind::TooManyFaults
            });
            assert!(told, "{name}: {:?}", tree.faults.first());
        }
    }

    #[test]
    fn large_texts_that_are_sound_are_read() {
        let anchors = numbered(100_000, |at| format!("- &a{at} x\n"));
        for text in [
            " ".repeat(1 << 20),
            "\n".repeat(1 << 20),
            "# x\n".repeat(1 << 18),
            "x".repeat(1 << 20),
            format!("a: |\n{}", " x\n".repeat(1 << 18)),
            anchors,
        ] {
            assert_eq!(read(&text).faults, []);
        }
    }

    #[test]
    fn more_nodes_than_may_be() {
        let text = "a: 1\n".repeat(MOST_NODES / 2 + 10);
        for text in [text.clone(), format!("{text}b\n"), format!("b\n{text}")] {
            let tree = parse(FileId::new(3), &text);
            let told = tree.faults.iter().any(|it| matches!(it.kind, TextFaultKind::TooManyNodes { .. }));
            assert!(told, "{:?}", tree.faults);
            let root = tree.root.expect("what could be read is there");
            assert!(root.broken);
            assert!(root.as_map().is_some_and(|it| it.len() > 100_000), "{:?}", root.as_map().map(|it| it.len()));
        }
    }
}
