//! The engineering of warm-water floor heating: numbers in, numbers out.
//!
//! Functions take and give values of the crate `quantity`, are pure, and hold over the range that
//! they state; outside it they give an [`OutOfRange`] instead of a number. Nothing here knows a file,
//! a design or a place in one.

pub mod heat;
pub mod plan;
pub mod water;

mod out_of_range;
mod root;

pub use out_of_range::OutOfRange;
