//! What can be wrong with the text itself.

use crate::Place;
use std::fmt;

/// A fault of the text itself, whatever it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextFault {
    pub place: Place,
    pub kind: TextFaultKind,
}

/// The kinds of faults; `Display` gives a sentence for the user, without the place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextFaultKind {
    /// Anything else that is not YAML, in words.
    NotYaml(String),
    /// A tab where the indentation is counted.
    TabIndent,
    /// A word where a key should be, without the `:`; it is in the tree as a key with no value.
    NoColon,
    /// `key:value`, which YAML reads as one word.
    NoSpaceAfterColon,
    /// A line among the entries of a list, without the `-`.
    NoDash,
    /// `-entry`, which YAML reads as one word.
    NoSpaceAfterDash,
    /// The line stands deeper or shallower than its neighbours allow.
    WrongIndent,
    /// `[` or `{` that is never closed; the place is that of the bracket.
    UnclosedBracket(char),
    /// `]` or `}` that closes nothing.
    StrayBracket(char),
    /// A quote that is never closed; the place is that of the quote.
    UnclosedQuote(char),
    /// Two values on one line, as in `a: b: c`.
    TwoValues,
    /// Between two entries of `[…]` or `{…}`.
    NoComma,
    /// More than [`crate::DEEPEST`] lists and maps in each other.
    TooDeep,
    /// Longer than may be read; nothing of it is.
    TooLarge { bytes: usize, limit: usize },
    /// More than [`crate::MOST_NODES`] keys and values; the rest is not read.
    TooManyNodes { limit: usize },
    /// A byte that is not UTF-8; it is in the text as U+FFFD.
    NotUtf8 { byte: u8 },
    /// The file is UTF-16; nothing of it is read.
    Utf16,
    /// `*name` without an earlier `&name`.
    UnknownAlias(String),
    /// `*name` inside what `&name` names.
    AliasOfItself(String),
    /// The aliases of this file bring in more than [`crate::MOST_ALIASED_NODES`] nodes together.
    AliasTooLarge(String),
    /// `<<:` with something that is not a map.
    MergeOfNoMap,
    /// `---` for a second time; only the first document is read.
    MoreThanOneDocument,
    /// More than [`crate::MOST_FAULTS`]; the place is that of the first that is not told.
    TooManyFaults,
}

impl fmt::Display for TextFaultKind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotYaml(words) => out.write_str(words),
            Self::TabIndent => out.write_str("a tab stands where the indentation is; use spaces"),
            Self::NoColon => out.write_str("this key has no `:` after it"),
            Self::NoSpaceAfterColon => out.write_str("a space is missing after the `:`"),
            Self::NoDash => out.write_str("this line stands among the entries of a list and has no `-` before it"),
            Self::NoSpaceAfterDash => out.write_str("a space is missing after the `-`"),
            Self::WrongIndent => out.write_str("this line is indented differently from the lines it belongs to"),
            Self::UnclosedBracket(bracket) => {
                let close = if *bracket == '{' { '}' } else { ']' };
                write!(out, "this `{bracket}` is never closed; a `{close}` is missing")
            }
            Self::StrayBracket(bracket) => write!(out, "this `{bracket}` closes nothing"),
            Self::UnclosedQuote(quote) => write!(out, "this quote is never closed; a {quote} is missing"),
            Self::TwoValues => out.write_str("one key cannot have two values on a line; put text with `: ` in quotes"),
            Self::NoComma => out.write_str("a comma is missing between two entries"),
            Self::TooDeep => {
                write!(
                    out,
                    "more than {} lists and maps stand in each other here; the rest is not read",
                    crate::DEEPEST
                )
            }
            Self::TooLarge { bytes, limit } => {
                write!(out, "the file has {bytes} bytes and up to {limit} are read; split it into several files")
            }
            Self::TooManyNodes { limit } => write!(
                out,
                "the file has more than {limit} keys and values; the rest is not read, split it into several files"
            ),
            Self::NotUtf8 { byte } => {
                write!(out, "the byte 0x{byte:02X} is not UTF-8")?;
                if *byte >= 0xa0 {
                    write!(out, " (in Latin-1 it is `{}`)", char::from(*byte))?;
                }
                out.write_str("; save the file as UTF-8")
            }
            Self::Utf16 => out.write_str("the file is UTF-16; save it as UTF-8"),
            Self::UnknownAlias(name) => {
                write!(out, "`*{name}` stands for nothing; there is no `&{name}` before it")
            }
            Self::AliasOfItself(name) => write!(out, "`*{name}` stands inside the very thing that it names"),
            Self::AliasTooLarge(name) => write!(
                out,
                "`*{name}` is not read: the aliases of this file stand for more than {} keys and values together",
                crate::MOST_ALIASED_NODES
            ),
            Self::MergeOfNoMap => out.write_str("`<<` takes a map, or a list of maps"),
            Self::MoreThanOneDocument => out.write_str("a second document starts here; only the first one is read"),
            Self::TooManyFaults => {
                write!(out, "there are more than {} faults; those from here on are not told", crate::MOST_FAULTS)
            }
        }
    }
}
