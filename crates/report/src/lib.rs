//! What was found and worked out, as text for people and JSON for programs.
//!
//! One module for each thing that is printed: [`findings`], [`workings`], [`guidance`]. Each turns values
//! into bytes and nothing else.
//!
//! Absent from this crate: judgement, files, the terminal. Who prints says whether there are to be colours.

mod excerpt;
pub mod findings;
pub mod guidance;
mod page;
mod places;
pub mod summary;
mod words;
pub mod workings;

pub use summary::{Summary, Unreadable};

/// What every report ends with. No setting turns it off.
pub const CAUTION: &str = "This report compares a design file with stated limits. It is not a design, a calculation \
certificate or an approval. Limits are defaults from published standards, secondary texts and trade practice, and may \
be out of date or wrong for your country. A competent person must check the design, the site and the rules in force \
before work begins. Findings marked “not checked” were not checked.";
