//! Anchors, aliases and merge keys, within a budget: an alias is a copy, and copies of copies grow
//! without bound if nobody counts.

use crate::{Kind, MOST_ALIASED_NODES, Node, Place, Scalar, TextFaultKind};
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

/// The anchors that were met so far.
pub(crate) struct Anchors<'a> {
    /// The names after a `*` anywhere in the text, so that no anchor is kept that nobody asks for.
    wanted: HashSet<&'a str>,
    known: HashMap<Cow<'a, str>, Anchor<'a>>,
    budget: Budget,
}

/// Nodes that may still be copied.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) struct Budget {
    /// To have them at hand when an alias comes.
    keep: usize,
    /// In place of aliases.
    bring_in: usize,
}

enum Anchor<'a> {
    /// Inside what the anchor names.
    Open,
    Known {
        node: Node<'a>,
        height: usize,
    },
    TooLarge,
}

impl<'a> Anchors<'a> {
    pub fn new(text: &'a str) -> Anchors<'a> {
        let ends = |it: char| it.is_whitespace() || "[]{},".contains(it);
        let names = text.match_indices('*').filter_map(|(at, star)| {
            let (before, after) = (&text[..at], &text[at + star.len()..]);
            // Not the stars within a name, or a long row of them would take forever.
            let starts = before.is_empty() || before.ends_with(ends);
            starts.then(|| after.split(ends).next()).flatten().filter(|it| !it.is_empty())
        });
        let wanted = names.collect();
        let budget = Budget { keep: MOST_ALIASED_NODES, bring_in: MOST_ALIASED_NODES };
        Anchors { wanted, known: HashMap::new(), budget }
    }

    pub fn budget(&self) -> Budget {
        self.budget
    }

    pub fn set_budget(&mut self, budget: Budget) {
        self.budget = budget;
    }

    /// How many nodes the aliases may still bring in.
    pub fn left(&self) -> usize {
        self.budget.bring_in
    }

    pub fn wants(&self, name: &str) -> bool {
        self.wanted.contains(name)
    }

    /// From here on to [`Anchors::define`] the text is inside what the name stands for.
    pub fn open(&mut self, name: Cow<'a, str>) {
        self.known.insert(name, Anchor::Open);
    }

    pub fn define(&mut self, name: Cow<'a, str>, node: &Node<'a>) {
        let anchor = match copy(node, &mut self.budget.keep) {
            Some((node, height)) => Anchor::Known { node, height },
            None => Anchor::TooLarge,
        };
        self.known.insert(name, anchor);
    }

    /// The node that an alias at `place` stands for, not higher than `room`.
    pub fn resolve(&mut self, name: &str, place: Place, room: usize) -> Result<Node<'a>, TextFaultKind> {
        match self.known.get(name) {
            None => Err(TextFaultKind::UnknownAlias(name.to_string())),
            Some(Anchor::Open) => Err(TextFaultKind::AliasOfItself(name.to_string())),
            Some(Anchor::TooLarge) => Err(TextFaultKind::AliasTooLarge(name.to_string())),
            // A second look at a broken part of the text may know of anchors that come after it.
            Some(Anchor::Known { node, .. }) if node.place.start > place.start => {
                Err(TextFaultKind::UnknownAlias(name.to_string()))
            }
            Some(Anchor::Known { height, .. }) if *height > room => Err(TextFaultKind::TooDeep),
            Some(Anchor::Known { node, .. }) => match copy(node, &mut self.budget.bring_in) {
                Some((node, _)) => Ok(Node { place, ..node }),
                None => Err(TextFaultKind::AliasTooLarge(name.to_string())),
            },
        }
    }
}

/// A copy and how many lists and maps stand in each other in it; nothing when the budget does not reach.
/// Recursion is bound by [`crate::DEEPEST`].
fn copy<'a>(node: &Node<'a>, left: &mut usize) -> Option<(Node<'a>, usize)> {
    const BYTES_AS_DEAR_AS_A_NODE: usize = 64;
    let mut price = 1;
    if let Kind::Scalar(Scalar { text: Cow::Owned(text), .. }) = &node.kind {
        price += text.len() / BYTES_AS_DEAR_AS_A_NODE;
    }
    match left.checked_sub(price) {
        Some(rest) => *left = rest,
        None => {
            *left = 0;
            return None;
        }
    }
    let mut height = 0;
    let mut under = |node: &Node<'a>| {
        let (node, its_height) = copy(node, left)?;
        height = height.max(its_height + 1);
        Some(node)
    };
    let kind = match &node.kind {
        Kind::Null => Kind::Null,
        Kind::Scalar(scalar) => Kind::Scalar(scalar.clone()),
        Kind::List(items) => Kind::List(items.iter().map(under).collect::<Option<_>>()?),
        Kind::Map(entries) => {
            let both = entries.iter().map(|(key, value)| Some((under(key)?, under(value)?)));
            Kind::Map(both.collect::<Option<_>>()?)
        }
    };
    let height = height.max(usize::from(matches!(kind, Kind::List(_) | Kind::Map(_))));
    Some((Node { kind, ..*node }, height))
}

/// The merge key of YAML 1.1, which is in wide use: <https://yaml.org/type/merge.html>.
pub(crate) const MERGE: &str = "<<";

fn is_merge(key: &Node) -> bool {
    matches!(&key.kind, Kind::Scalar(Scalar { text, quoted: false }) if text == MERGE)
}

/// Put the entries of all `<<` maps, here and below, where they belong: own entries first, and of two
/// maps that bring the same key the earlier counts. Calls `fault` with the place of a `<<` that brings
/// no map. Recursion is bound by [`crate::DEEPEST`].
pub(crate) fn merge(node: &mut Node, fault: &mut impl FnMut(Place)) {
    match &mut node.kind {
        Kind::Null | Kind::Scalar(_) => {}
        Kind::List(items) => items.iter_mut().for_each(|it| merge(it, fault)),
        Kind::Map(entries) => {
            for (key, value) in entries.iter_mut() {
                merge(key, fault);
                merge(value, fault);
            }
            if entries.iter().any(|(key, _)| is_merge(key)) {
                node.broken |= merge_entries(entries, fault);
            }
        }
    }
}

/// Whether what is brought in is broken.
fn merge_entries<'a>(entries: &mut Vec<(Node<'a>, Node<'a>)>, fault: &mut impl FnMut(Place)) -> bool {
    let (merges, own): (Vec<_>, Vec<_>) = std::mem::take(entries).into_iter().partition(|(key, _)| is_merge(key));
    let mut names: HashSet<String> = own.iter().filter_map(|(key, _)| key.as_text().map(str::to_string)).collect();
    *entries = own;
    let mut broken = false;
    for (_, value) in merges {
        let sources = match value {
            Node { kind: Kind::List(items), .. } => items,
            one => vec![one],
        };
        for source in sources {
            broken |= source.broken;
            match source.kind {
                Kind::Map(brought) => {
                    for (key, value) in brought {
                        if key.as_text().is_none_or(|name| names.insert(name.to_string())) {
                            entries.push((key, value));
                        }
                    }
                }
                _ if source.broken => {}
                _ => fault(source.place),
            }
        }
    }
    broken
}

#[cfg(test)]
mod tests {
    use crate::outline::outline;
    use crate::{FileId, parse};

    fn check(text: &str, expected: &str) {
        assert_eq!(outline(text), expected, "{text}");
    }

    #[test]
    fn an_alias_stands_for_what_the_anchor_names() {
        check("a: &x 1 mm\nb: *x\n", "{a: 1 mm, b: 1 mm}");
        check("a: &x {k: [v]}\nb: *x\n", "{a: {k: [v]}, b: {k: [v]}}");
        check(
            "a: &x\n  k: v\n  l: 'w'\nb: [*x, *x]\n",
            "{a: {k: v, l: \"w\"}, b: [{k: v, l: \"w\"}, {k: v, l: \"w\"}]}",
        );
        check("&x a: b\nc: *x\n", "{a: b, c: a}");
        check("a: &x\nb: *x\n", "{a: ~, b: ~}");
        check("a: &x 1\nb: &x 2\nc: *x\n", "{a: 1, b: 2, c: 2}");
    }

    #[test]
    fn an_alias_stands_at_its_own_place_and_what_is_under_it_where_it_is_written() {
        let text = "a: &x {k: v}\nb: *x\n";
        let tree = parse(FileId::new(0), text);
        let alias = tree.root.as_ref().and_then(|it| it.get("b")).expect("b is there");
        assert_eq!(alias.place.range(), 16..18);
        let value = alias.get("k").expect("k is brought in");
        assert_eq!(value.place.range(), 10..11);
    }

    #[test]
    fn an_alias_without_an_anchor() {
        check("a: *x\nb: 1\n", "!{a: !~, b: 1}\nUnknownAlias(\"x\") at 3 \"*x\"");
        check("a: *x\nb: &x 1\n", "!{a: !~, b: 1}\nUnknownAlias(\"x\") at 3 \"*x\"");
        check("a: *x\nb: &x 1\nc\n", "!{a: !~, b: 1, c: !~}\nUnknownAlias(\"x\") at 3 \"*x\"\nNoColon at 14 \"c\"");
        check("a: &x [*x]\n", "!{a: ![!~]}\nAliasOfItself(\"x\") at 7 \"*x\"");
    }

    #[test]
    fn anchors_in_a_broken_text() {
        check("a: &x 1\nfoo\nb: *x\n", "!{a: 1, foo: !~, b: 1}\nNoColon at 8 \"foo\"");
        check("d: &x\n  e: 1\n  foo\nb: *x\n", "!{d: !{e: 1, foo: !~}, b: !{e: 1, foo: !~}}\nNoColon at 15 \"foo\"");
    }

    #[test]
    fn aliases_do_not_nest_deeper_than_text_may() {
        let open = "[".repeat(40);
        let close = "]".repeat(40);
        let found = outline(&format!("a: &a {open}{close}\nb: {open}*a{close}\n"));
        assert!(found.contains("TooDeep at 130 \"*a\""), "{found}");
    }

    #[test]
    fn merge_keys() {
        check("a: &x {k: 1, l: 2}\nb:\n  <<: *x\n  l: 3\n", "{a: {k: 1, l: 2}, b: {l: 3, k: 1}}");
        check("a: &x {k: 1}\nb: &y {k: 2, l: 3}\nc: {<<: [*x, *y]}\n", "{a: {k: 1}, b: {k: 2, l: 3}, c: {k: 1, l: 3}}");
        check("a: &x {k: 1}\nb: &y\n  <<: *x\n  l: 2\nc: {<<: *y}\n", "{a: {k: 1}, b: {l: 2, k: 1}, c: {l: 2, k: 1}}");
        check("a: {\"<<\": 1}\n", "{a: {\"<<\": 1}}");
    }

    #[test]
    fn merge_keys_in_a_broken_text() {
        check(
            "a: &x {k: 1}\nb:\n  <<: *x\n  k: 2\n  foo\n",
            "!{a: {k: 1}, b: !{k: 2, foo: !~}}\nNoColon at 34 \"foo\"",
        );
    }

    #[test]
    fn a_merge_key_takes_only_maps() {
        check("a: {<<: 1, b: 2}\n", "{a: {b: 2}}\nMergeOfNoMap at 8 \"1\"");
        check("a: {<<: *x, b: 2}\n", "!{a: !{b: 2}}\nUnknownAlias(\"x\") at 8 \"*x\"");
    }
}
