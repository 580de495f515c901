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
    List { of: Box<Shape>, or_one: bool, least: usize, most: Option<usize> },
    /// Any one of these.
    Either(Vec<Shape>),
}

impl Shape {
    /// What may stand here, one by one: a list that may be left out without its brackets gives its items as well.
    pub fn alternatives(&self) -> Vec<Shape> {
        match self {
            Shape::Either(shapes) => shapes.iter().flat_map(Shape::alternatives).collect(),
            Shape::List { of, or_one: true, .. } => std::iter::once(self.clone()).chain(of.alternatives()).collect(),
            other => vec![other.clone()],
        }
    }

    /// What may stand under a key of it.
    pub fn under(&self, key: &str) -> Option<Shape> {
        self.alternatives().into_iter().find_map(|shape| match shape {
            Shape::Record(info) => info.field(key).map(|field| (field.shape)()),
            Shape::Named(_, of) => Some(*of),
            _ => None,
        })
    }

    /// What an item of it may be.
    pub fn item(&self) -> Option<Shape> {
        self.alternatives().into_iter().find_map(|shape| match shape {
            Shape::List { of, .. } => Some(*of),
            // Points have no items that anybody would ask for.
            _ => None,
        })
    }

    /// The block of known keys that it may be.
    pub fn record(&self) -> Option<&'static RecordInfo> {
        self.alternatives().into_iter().find_map(|shape| match shape {
            Shape::Record(info) => Some(info),
            _ => None,
        })
    }

    /// Whose names its keys are, if they are names.
    pub fn names_of(&self) -> Option<Kind> {
        self.alternatives().into_iter().find_map(|shape| match shape {
            Shape::Named(kind, _) => Some(kind),
            _ => None,
        })
    }

    /// What may be written here, in words.
    pub fn words(&self) -> String {
        let quoted = |words: &[(&str, &str)]| {
            let words: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
            words.join(", ")
        };
        match self {
            Shape::Text("") => "text".into(),
            Shape::Text(example) => format!("text such as `{example}`"),
            Shape::Number(what) => (*what).into(),
            Shape::Whole => "a whole number".into(),
            Shape::Flag => "`true` or `false`".into(),
            Shape::Date => "a day such as `2026-03-04`".into(),
            Shape::Quantity { kind, units } => format!("{kind} in {}", usual(kind, units).join(", ")),
            Shape::Range { kind, units } => {
                let unit = usual(kind, units).first().copied().unwrap_or_default();
                format!("a range such as `0.5 to 5 {unit}`")
            }
            Shape::Word(words) => format!("one of {}", quoted(words)),
            Shape::Name(kind) => format!("the name of a {}", kind.word()),
            Shape::Point => "a point `[x, y]` in metres".into(),
            Shape::Record(info) => info.about.lines().next().unwrap_or_default().trim_end_matches('.').to_string(),
            Shape::Named(..) => "names, each with its own block".into(),
            Shape::List { of, .. } => format!("a list: {}", of.words()),
            Shape::Either(shapes) => shapes.iter().map(Shape::words).collect::<Vec<_>>().join(", or "),
        }
    }
}

/// The usual spelling of each unit of a kind.
fn usual(kind: &str, units: &[&'static str]) -> Vec<&'static str> {
    match quantity::KINDS.iter().find(|it| it.kind == kind) {
        Some(kind) => kind.usual_units().map(|unit| unit.spelling).collect(),
        None => units.to_vec(),
    }
}
