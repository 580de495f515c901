//! The tree itself.

use crate::{Place, TextFault};
use std::borrow::Cow;

/// What was read of one text.
#[derive(Debug, Clone, Default)]
pub struct Tree<'a> {
    /// Nothing where the text holds nothing but space and comments.
    pub root: Option<Node<'a>>,
    /// In the order of their places.
    pub faults: Vec<TextFault>,
}

/// A key, a value, a list or a map.
///
/// Where the text says `*name`, the node is a copy of the one that the anchor names, at the place of
/// the alias; the nodes under it keep the places where they are written.
#[derive(Debug, Clone, PartialEq)]
pub struct Node<'a> {
    /// Of a map or list: from its first key, dash or bracket to the end of its last value or bracket.
    /// Of a quoted scalar: with the quotes. Of a block scalar: from `|` or `>` to the end of its text.
    /// Of nothing: the empty place after the `:`, `-` or anchor, where a value would be typed.
    pub place: Place,
    /// Something under this node could not be read: stay silent about what is missing in it.
    pub broken: bool,
    pub kind: Kind<'a>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Kind<'a> {
    /// Nothing is written here. A written `~` or `null` is a scalar.
    Null,
    Scalar(Scalar<'a>),
    List(Vec<Node<'a>>),
    /// Keys with their values, in the order of the text; a key that is written twice stands here twice.
    /// What a merge key `<<` brings stands after the map's own entries.
    Map(Vec<(Node<'a>, Node<'a>)>),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scalar<'a> {
    /// Without the quotes, escapes resolved, lines folded.
    pub text: Cow<'a, str>,
    /// In quotes or a block scalar: text and nothing else, even if it looks like a number.
    pub quoted: bool,
}

impl Tree<'_> {
    /// For each of the bytes, in their order, the keys that lead to it, with `/` between them: `loops/L1/spacing`.
    /// The items of a list count from 1. What stands behind an entry and before the next one belongs to it.
    pub fn paths(&self, bytes: &[u32]) -> Vec<String> {
        let mut paths = vec![String::new(); bytes.len()];
        if let Some(root) = &self.root {
            lead(root, bytes, &mut paths, &mut String::new());
        }
        paths
    }
}

/// Finds the paths of those bytes that stand in a node; `path` leads to it.
fn lead(node: &Node, bytes: &[u32], paths: &mut [String], path: &mut String) {
    let mut entries: Vec<(u32, usize)> = match &node.kind {
        Kind::List(items) => items.iter().enumerate().map(|(at, item)| (item.place.start, at)).collect(),
        Kind::Map(entries) => entries.iter().enumerate().map(|(at, (key, _))| (key.place.start, at)).collect(),
        Kind::Null | Kind::Scalar(_) => Vec::new(),
    };
    // What an alias or a merge key brings is written elsewhere.
    entries.retain(|(start, _)| *start >= node.place.start);
    entries.sort_by_key(|(start, _)| *start);
    let length = path.len();
    for (next, (start, at)) in (1..).zip(&entries) {
        let end = entries.get(next).map_or(u32::MAX, |(end, _)| *end);
        let first = bytes.partition_point(|byte| byte < start);
        let last = bytes.partition_point(|byte| *byte < end);
        if first >= last {
            continue;
        }
        let step = match &node.kind {
            Kind::Map(entries) => entries[*at].0.as_text().unwrap_or("?"),
            _ => &(at + 1).to_string(),
        };
        if length > 0 {
            path.push('/');
        }
        // A hostile key may be a megabyte long.
        path.extend(step.chars().take(LONGEST_STEP));
        paths[first..last].fill(path.clone());
        let inner = match &node.kind {
            Kind::Map(entries) => &entries[*at].1,
            Kind::List(items) => &items[*at],
            Kind::Null | Kind::Scalar(_) => return,
        };
        lead(inner, &bytes[first..last], &mut paths[first..last], path);
        path.truncate(length);
    }
}

/// How many letters of a key a path shows.
const LONGEST_STEP: usize = 64;

impl<'a> Node<'a> {
    /// The text of a scalar.
    pub fn as_text(&self) -> Option<&str> {
        match &self.kind {
            Kind::Scalar(scalar) => Some(&scalar.text),
            _ => None,
        }
    }

    pub fn as_list(&self) -> Option<&[Node<'a>]> {
        match &self.kind {
            Kind::List(items) => Some(items),
            _ => None,
        }
    }

    pub fn as_map(&self) -> Option<&[(Node<'a>, Node<'a>)]> {
        match &self.kind {
            Kind::Map(entries) => Some(entries),
            _ => None,
        }
    }

    pub fn is_null(&self) -> bool {
        matches!(self.kind, Kind::Null)
    }

    /// The key and value of the first entry of that name, if this is a map that has one.
    pub fn entry(&self, key: &str) -> Option<&(Node<'a>, Node<'a>)> {
        self.as_map()?.iter().find(|(name, _)| name.as_text() == Some(key))
    }

    /// The value of the first entry of that name, if this is a map that has one.
    pub fn get(&self, key: &str) -> Option<&Node<'a>> {
        self.entry(key).map(|(_, value)| value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_is_led_to_by_its_keys() {
        let text = "a: 1\nrooms:\n  hall: {area: 12}\n  bath:\n    layers:\n      - {x: 1}\n      - y\n  # end\nbase: &b\n  z: 1\nuse:\n  <<: *b\n  own: *b\n";
        let led = |to: &str| {
            let at = text.rfind(to).expect("the text holds it") as u32;
            crate::parse(crate::FileId::new(0), text).paths(&[at]).remove(0)
        };
        assert_eq!(led("1\nrooms"), "a");
        assert_eq!(led("12"), "rooms/hall/area");
        assert_eq!(led("x: 1"), "rooms/bath/layers/1/x");
        assert_eq!(led("y\n"), "rooms/bath/layers/2");
        assert_eq!(led("# end"), "rooms/bath/layers/2");
        assert_eq!(led("z: 1"), "base/z");
        assert_eq!(led("*b"), "use/own");
        assert_eq!(crate::parse(crate::FileId::new(0), "# none\na: 1").paths(&[0, 7, 9]), ["", "a", "a"]);
        assert_eq!(crate::parse(crate::FileId::new(0), "").paths(&[0]), [""]);
    }

    #[test]
    fn a_node_is_small() {
        assert!(size_of::<Node>() <= 48, "{}", size_of::<Node>());
    }
}
