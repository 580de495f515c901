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
    fn a_node_is_small() {
        assert!(size_of::<Node>() <= 48, "{}", size_of::<Node>());
    }
}
