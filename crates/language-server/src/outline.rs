//! The tree of a text without the text: flat, small, and kept for as long as the text is.

use std::ops::Range;
use yaml_tree::{FileId, Kind, Node};

/// Every key and value of a text, in their order.
#[derive(Debug, Default)]
pub struct Outline {
    items: Vec<Item>,
    comments: Vec<Span>,
    /// Whether something could not be read.
    pub is_faulty: bool,
}

/// Bytes of the text.
type Span = (u32, u32);

#[derive(Debug)]
struct Item {
    /// Its own number for what stands under nothing.
    parent: u32,
    /// The number of the first item behind it and all under it.
    end: u32,
    /// Of an entry of a map.
    key: Option<Span>,
    value: Span,
    form: Form,
    /// Key and value, where they mean something else than what is written: quotes, escapes, folded lines.
    key_text: Option<Box<str>>,
    value_text: Option<Box<str>>,
}

/// What an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    Nothing,
    Scalar {
        quoted: bool,
    },
    List,
    Map,
    /// The text names something that is written elsewhere.
    Alias,
}

/// One item of an outline.
#[derive(Clone, Copy)]
pub struct At<'o> {
    outline: &'o Outline,
    text: &'o str,
    number: usize,
}

impl Outline {
    pub fn of(text: &str) -> Outline {
        let file = FileId::new(0);
        let tree = yaml_tree::parse(file, text);
        let mut outline = Outline { is_faulty: !tree.faults.is_empty(), ..Outline::default() };
        if let Some(root) = &tree.root {
            outline.add(text, None, None, root);
        }
        let comments = yaml_tree::comments(file, text, &tree);
        outline.comments = comments.into_iter().map(|it| (it.start, it.end)).collect();
        outline.items.shrink_to_fit();
        outline
    }

    fn add(&mut self, text: &str, parent: Option<u32>, key: Option<&Node>, value: &Node) {
        let number = self.items.len() as u32;
        let inside = |it: &Node| it.place.start >= value.place.start && it.place.end <= value.place.end;
        let written = |node: &Node| match &node.kind {
            Kind::Scalar(scalar) if text.get(node.place.range()) != Some(&*scalar.text) => {
                Some(Box::from(&*scalar.text))
            }
            _ => None,
        };
        let starts = text.get(value.place.range()).and_then(|it| it.chars().next());
        let form = match &value.kind {
            _ if starts == Some('*') => Form::Alias,
            Kind::Null => Form::Nothing,
            Kind::Scalar(scalar) => Form::Scalar { quoted: scalar.quoted },
            Kind::List(_) => Form::List,
            Kind::Map(_) => Form::Map,
        };
        self.items.push(Item {
            parent: parent.unwrap_or(number),
            end: number + 1,
            key: key.map(|key| (key.place.start, key.place.end)),
            value: (value.place.start, value.place.end),
            form,
            key_text: key.and_then(written),
            value_text: written(value),
        });
        match &value.kind {
            _ if form == Form::Alias => {}
            Kind::List(items) => {
                items.iter().filter(|it| inside(it)).for_each(|it| self.add(text, Some(number), None, it))
            }
            Kind::Map(entries) => entries
                .iter()
                .filter(|(key, value)| inside(key) && inside(value))
                .for_each(|(key, value)| self.add(text, Some(number), Some(key), value)),
            _ => {}
        }
        self.items[number as usize].end = self.items.len() as u32;
    }

    /// The outermost value; nothing in a text of nothing but comments. `text` is the one that the outline is of.
    pub fn root<'o>(&'o self, text: &'o str) -> Option<At<'o>> {
        (!self.items.is_empty()).then_some(At { outline: self, text, number: 0 })
    }

    /// Every item in the order of the text.
    pub fn all<'o>(&'o self, text: &'o str) -> impl Iterator<Item = At<'o>> {
        (0..self.items.len()).map(move |number| At { outline: self, text, number })
    }

    /// Each from its `#` to the end of its line.
    pub fn comments(&self) -> impl ExactSizeIterator<Item = Range<usize>> {
        self.comments.iter().map(|it| range(*it))
    }

    /// The innermost item whose key or value holds a byte, or ends there.
    pub fn at<'o>(&'o self, text: &'o str, offset: usize) -> Option<At<'o>> {
        let mut at = self.root(text).filter(|root| root.holds(offset))?;
        while let Some(inner) = at.children().find(|it| it.holds(offset)) {
            at = inner;
        }
        Some(at)
    }
}

impl<'o> At<'o> {
    fn item(self) -> &'o Item {
        &self.outline.items[self.number]
    }

    pub fn form(self) -> Form {
        self.item().form
    }

    /// Where its key stands, of an entry of a map.
    pub fn key(self) -> Option<Range<usize>> {
        self.item().key.map(range)
    }

    pub fn value(self) -> Range<usize> {
        range(self.item().value)
    }

    /// From its key to the end of its value.
    pub fn whole(self) -> Range<usize> {
        let value = self.value();
        self.key().map_or(value.start, |key| key.start)..value.end
    }

    pub fn holds(self, offset: usize) -> bool {
        let whole = self.whole();
        whole.start <= offset && offset <= whole.end
    }

    /// What its key says.
    pub fn key_text(self) -> Option<&'o str> {
        let item = self.item();
        item.key_text.as_deref().or_else(|| self.text.get(range(item.key?)))
    }

    /// What its value says, if it is a scalar.
    pub fn value_text(self) -> Option<&'o str> {
        let item = self.item();
        let is_scalar = matches!(item.form, Form::Scalar { .. });
        is_scalar.then(|| item.value_text.as_deref().or_else(|| self.text.get(self.value())))?
    }

    /// Whether it is written in brackets or braces.
    pub fn is_in_brackets(self) -> bool {
        self.text.get(self.value()).is_some_and(|it| it.starts_with(['{', '[']))
    }

    pub fn parent(self) -> Option<At<'o>> {
        let parent = self.item().parent as usize;
        (parent != self.number).then_some(At { number: parent, ..self })
    }

    /// Its entries or items.
    pub fn children(self) -> impl Iterator<Item = At<'o>> + Clone {
        let end = self.item().end as usize;
        let mut next = self.number + 1;
        std::iter::from_fn(move || {
            let number = next;
            (number < end).then(|| {
                next = self.outline.items[number].end as usize;
                At { number, ..self }
            })
        })
    }

    /// The entry of this name, if it is a map that has one.
    pub fn get(self, key: &str) -> Option<At<'o>> {
        self.children().find(|it| it.key_text() == Some(key))
    }
}

fn range((start, end): Span) -> Range<usize> {
    start as usize..end as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_values_are_found_by_name_and_by_byte() {
        let text = "rooms:\n  hall: {area: 12 m², \"use\": 'living'} # big\n  bath:\n    layers:\n      - {x: 1}\n      - y\nb: &b {z: 1}\nc: *b\n";
        let outline = Outline::of(text);
        let root = outline.root(text).expect("something is written");
        let hall = root.get("rooms").and_then(|it| it.get("hall")).expect("there is a hall");
        assert_eq!(
            hall.children().map(|it| (it.key_text(), it.value_text())).collect::<Vec<_>>(),
            [(Some("area"), Some("12 m²")), (Some("use"), Some("living"))]
        );
        assert!(hall.is_in_brackets());
        let at =
            |of: &str| outline.at(text, text.find(of).expect("the text holds it")).expect("something stands there");
        assert_eq!(at("12 m²").key_text(), Some("area"));
        assert_eq!(at("x: 1").parent().and_then(|it| it.parent()).and_then(At::key_text), Some("layers"));
        assert_eq!(at("y\n").value_text(), Some("y"));
        assert_eq!(root.get("c").map(|it| (it.form(), it.children().count())), Some((Form::Alias, 0)));
        assert_eq!(outline.comments().map(|it| &text[it]).collect::<Vec<_>>(), ["# big"]);
        assert!(Outline::of("# nothing\n").root("# nothing\n").is_none());
    }
}
