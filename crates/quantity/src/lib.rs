//! Measured values: one type a kind, read and written with their unit.
//!
//! A value is a private `f64` in SI with named ways in and out, so a length cannot be handed over as
//! a pressure and a millimetre cannot be taken for a metre. A temperature and a temperature
//! difference are two kinds: a point minus a point is a difference, and a point plus a point does
//! not compile.
//!
//! ```compile_fail
//! use quantity::Temperature;
//! let nonsense = Temperature::celsius(20.0) + Temperature::celsius(9.0);
//! ```

mod kinds;
mod other_units;
mod products;
mod range;
mod text;

pub use kinds::*;
pub use range::Range;
pub use text::{Fault, GREATEST, Quantity, Unit, apart, in_other_units, is_unit, readings};
