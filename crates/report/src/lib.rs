//! What was found and worked out, as text for people, JSON for programs and drawings for the site.
//!
//! One module for each thing that is printed: [`findings`], [`workings`], [`schedule`], [`guidance`], [`plan`], [`remedies`], [`compare`]. Each turns values
//! into bytes and nothing else.
//!
//! Absent from this crate: judgement, files, the terminal. Who prints says whether there are to be colours.

pub mod compare;
mod excerpt;
pub mod findings;
pub mod guidance;
mod page;
mod places;
pub mod plan;
pub mod remedies;
pub mod schedule;
pub mod summary;
mod words;
pub mod workings;

pub use summary::{Summary, Unreadable};

/// What every report ends with. No setting turns it off.
pub const CAUTION: &str = "This report compares a design file with stated limits. It is not a design, a calculation \
certificate or an approval. Limits are defaults from published standards, secondary texts and trade practice, and may \
be out of date or wrong for your country. A competent person must check the design, the site and the rules in force \
before work begins. Findings marked “not checked” were not checked.";

/// Checks a text, for the tests of this crate; it may name the library `pipes.yaml`.
#[cfg(test)]
fn checked(text: &str) -> check::Outcome {
    check::check(&check::Job {
        path: "house.ufh.yaml",
        house_standard: None,
        bytes: text.as_bytes(),
        files: &|path| match path {
            "pipes.yaml" => Ok(b"format: 1\npipes: {thin: {material: PE-X}}\n".to_vec()),
            _ => Err("there is no such file".into()),
        },
        today: jiff::civil::date(2026, 6, 1),
        remedies: true,
    })
}
