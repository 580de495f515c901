//! What was wrong with the text of a design, as data. The rules of `check` word it.

use crate::names::Kind;
use yaml_tree::{Place, TextFaultKind};

/// One thing that was wrong, and where.
#[derive(Debug, Clone)]
pub struct Fault {
    pub place: Place,
    pub kind: FaultKind,
    /// The keys that lead to the place: `loops/L1/spacing`; empty where it stands outside of all of them.
    pub path: String,
}

/// What was wanted at a place.
#[derive(Debug, Clone, PartialEq)]
pub enum Expected {
    /// A block of keys.
    Block,
    /// A list.
    List,
    /// Any text.
    Text,
    /// A number without a unit.
    Number,
    /// A whole number that is not negative.
    Whole,
    /// `true` or `false`.
    Flag,
    /// A day.
    Date,
    /// `[x, y]` in metres.
    Point,
    /// Two points.
    Line,
    /// Some other thing, said in plain words with its article.
    Thing(&'static str),
}

#[derive(Debug, Clone)]
pub enum FaultKind {
    /// The text is not YAML, or not text.
    Text(TextFaultKind),
    /// A key that the format does not have here.
    UnknownKey { key: String, nearest: Option<&'static str>, within: &'static str },
    /// A key or a name given twice in one block, or in two files.
    GivenTwice { name: String, first: Place },
    /// More things of a kind than are read; from here on the rest is not.
    TooMany { kind: Kind, limit: usize },
    /// A value of another shape.
    WrongShape { expected: Expected, found: String },
    /// A point with something in it that is no number.
    NoCoordinate { found: String },
    /// A point of more or fewer than two numbers; the same written with decimal points, if commas seem to be meant as those.
    NotTwoNumbers { numbers: usize, better: Option<String> },
    /// A line of more than two points.
    LineGoesOn { points: usize },
    /// A number without its unit; what may be meant by it, the likeliest first.
    BareNumber { kind: &'static str, number: String, meant: Vec<String> },
    /// A unit of another kind, or none that is known; the same amount in one that is, where it can be converted.
    WrongUnit {
        kind: &'static str,
        unit: String,
        nearest: Option<&'static str>,
        converted: Option<String>,
        accepted: Vec<&'static str>,
    },
    /// A number written with a comma; the same with a point.
    DecimalComma { better: String },
    /// Not a number at all, where a measured value was wanted.
    NoNumber { kind: &'static str, found: String },
    /// Less than nothing of something that there can only be more of.
    Negative { kind: &'static str, found: String },
    /// Larger, or smaller and not nothing, than anything that is built, whatever the unit.
    Unbelievable { kind: &'static str, found: String },
    /// A range with its greater end first; the range the right way round, where that is plain.
    Reversed { found: String, better: Option<String> },
    /// A word that is not one of those allowed.
    UnknownWord { word: String, nearest: Option<&'static str>, allowed: Vec<&'static str> },
    /// A name that nothing carries.
    UnknownName { name: String, kind: Kind, nearest: Option<String> },
    /// The number of a format that this program does not know.
    UnknownFormat { number: String },
    /// No `format:` line.
    FormatMissing,
    /// A block that has no business in a library.
    NotForLibrary { key: String },
    /// A library that could not be read; the reason.
    LibraryUnreadable { path: String, reason: String },
    /// A house standard that could not be read; the reason.
    HouseStandardUnreadable { path: String, reason: String },
    /// There are more faults than are told; the place is that of the last one that is.
    TooManyFaults { limit: usize },
}
