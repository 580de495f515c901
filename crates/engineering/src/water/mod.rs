//! Water: what flows through the loops, what it costs to move it, and where it comes from.

pub mod coils;
pub mod expansion;
pub mod fluids;
pub mod manifold;
pub mod mixing;
pub mod pipe_friction;
pub mod pipes;
pub mod pump;
#[cfg(test)]
mod reference;
pub mod source;
pub mod valves;
