//! Heat: what a floor gives, upward and downward, and how warm it becomes.

pub mod conduction;
pub mod en1264;
pub mod ground;
pub mod loop_balance;
pub mod materials;
pub mod series;
pub mod surface;
pub mod water_film;

mod response;

#[cfg(test)]
mod reference;

pub use response::FloorResponse;

use quantity::Transmittance;

/// Heat transfer from a floor to its room, radiation and convection together, where a formula takes
/// it as a constant: 10.8 W/(m²·K), EN 1264-2.
pub const FLOOR_FILM: Transmittance = Transmittance::watts_per_square_metre_kelvin(10.8);
