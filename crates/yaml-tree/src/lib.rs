//! Text to a tree in which every key and value knows its bytes, and edits back to text.
//!
//! Reading never fails: what cannot be read becomes a [`TextFault`], and the rest of the file stays in
//! the tree. The tree knows no types: `12 mm`, `true` and `~` are scalars with that text, and what they
//! mean is for the reader above to say. Only a value that is not there at all is [`Kind::Null`].
//!
//! ```
//! use yaml_tree::{FileId, parse};
//!
//! let text = "loops:\n  L1:\n    spacing: 150 mm\n";
//! let tree = parse(FileId::new(0), text);
//! let spacing = tree.root.as_ref().and_then(|it| it.get("loops")?.get("L1")?.get("spacing"));
//! let spacing = spacing.expect("all three keys are there");
//! assert_eq!(spacing.as_text(), Some("150 mm"));
//! assert_eq!(&text[spacing.place.range()], "150 mm");
//! ```

mod again;
mod alias;
mod comment;
mod decode;
mod edit;
mod fault;
pub mod lines;
#[cfg(test)]
mod outline;
mod place;
mod recover;
mod scan;
#[cfg(test)]
mod suite;
mod tree;
mod written;

pub use again::Parsed;
pub use comment::comments;
pub use decode::decode;
pub use edit::{Edit, EditFault, apply};
pub use fault::{TextFault, TextFaultKind};
pub use place::{FileId, Place};
pub use recover::parse;
pub use tree::{Kind, Node, Scalar, Tree};
pub use written::written;

/// The longest text that is read, in bytes: 16 MiB. A longer one gives [`TextFaultKind::TooLarge`].
pub const LARGEST_TEXT: usize = 16 << 20;
/// How deep lists and maps may stand in each other.
pub const DEEPEST: usize = 64;
/// How many keys, values, lists and maps one file may hold.
pub const MOST_NODES: usize = 1_500_000;
/// How many nodes the aliases of one file may bring in all together.
pub const MOST_ALIASED_NODES: usize = 100_000;
/// How many faults of the text are told of one file.
pub const MOST_FAULTS: usize = 100;
