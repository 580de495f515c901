//! How much heat a floor gives for each kelvin, upward and downward.

use quantity::{HeatFlux, Temperature, Transmittance};

/// The heat of one square metre of floor, linear in the temperatures of water, room and what lies
/// below.
///
/// Upward, at the floor surface: `up · (water − room) − up_across · (room − below)`.
/// Downward, into what lies below: `down · (water − below) + down_across · (room − below)`.
/// The water gives the sum. In a floor that conducts heat by the laws of physics both `across` are
/// one and the same; EN 1264 charges it to the water only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorResponse {
    pub up: Transmittance,
    pub down: Transmittance,
    pub up_across: Transmittance,
    pub down_across: Transmittance,
}

impl FloorResponse {
    /// Heat flux from the floor surface into the room.
    pub fn upward(&self, water: Temperature, room: Temperature, below: Temperature) -> HeatFlux {
        self.up * (water - room) - self.up_across * (room - below)
    }

    /// Heat flux into what lies below the floor.
    pub fn downward(&self, water: Temperature, room: Temperature, below: Temperature) -> HeatFlux {
        self.down * (water - below) + self.down_across * (room - below)
    }
}
