//! What a value of the format looks like, as data: for the schema, completion and hover.

use crate::names::Kind;

/// A key of a record.
#[derive(Debug)]
pub struct FieldInfo {
    pub key: &'static str,
    /// What it means, in a sentence or two.
    pub about: &'static str,
    pub shape: fn() -> Shape,
}

/// A block with known keys.
#[derive(Debug)]
pub struct RecordInfo {
    /// Its name in the schema.
    pub name: &'static str,
    pub about: &'static str,
    pub fields: &'static [FieldInfo],
}

impl RecordInfo {
    /// The key with this spelling.
    pub fn field(&self, key: &str) -> Option<&'static FieldInfo> {
        self.fields.iter().find(|field| field.key == key)
    }
}

/// What a value may be.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Any text; the string is an example.
    Text(&'static str),
    /// A number without a unit; the string says what it counts.
    Number(&'static str),
    /// A whole number.
    Whole,
    /// `true` or `false`.
    Flag,
    /// A day, as in `2026-03-04`.
    Date,
    /// A number with its unit: the kind with its article, and the accepted units.
    Quantity { kind: &'static str, units: Vec<&'static str> },
    /// Two numbers and a unit, as in `0.5 to 5 l/min`.
    Range { kind: &'static str, units: Vec<&'static str> },
    /// One of these words.
    Word(&'static [(&'static str, &'static str)]),
    /// The name of a thing of this kind.
    Name(Kind),
    /// `[x, y]` in metres.
    Point,
    /// A block with known keys.
    Record(&'static RecordInfo),
    /// A block whose keys are names of the designer's choice.
    Named(Kind, Box<Shape>),
    /// A list; one value may stand for a list of one, if `or_one`.
    List { of: Box<Shape>, or_one: bool, least: usize },
    /// Any one of these.
    Either(Vec<Shape>),
}
