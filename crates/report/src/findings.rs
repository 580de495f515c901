//! What a check found.

mod json;
mod text;

pub use json::{document, json};
pub use text::{listed, text};
