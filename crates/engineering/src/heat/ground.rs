//! Heat through a slab on the ground.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{Area, Conductivity, Length, ThermalResistance, Transmittance};
use std::f64::consts::PI;

const ISO_13370: Method = Method("ISO 13370 slab on ground");
/// Films of ISO 6946, m²·K/W: inside downward, and outside.
const INSIDE: f64 = 0.17;
const OUTSIDE: f64 = 0.04;

/// A slab on the ground, without edge insulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundSlab {
    /// Whole ground floor, not one room of it.
    pub area: Area,
    /// Its edge towards outside air and unheated space.
    pub exposed_perimeter: Length,
    /// Thickness of the outside walls.
    pub wall: Length,
    /// Sand and gravel 2.0, clay and silt 1.5 W/(m·K).
    pub ground: Conductivity,
    /// All layers of the floor.
    pub floor: ThermalResistance,
}

/// How a slab loses heat to the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundLoss {
    /// `B' = area / (perimeter / 2)`.
    pub characteristic_dimension: Length,
    /// Ground that resists as wall, floor and films do.
    pub equivalent_thickness: Length,
    /// Between inside and outside, averaged over the year.
    pub u: Transmittance,
    /// Of the ground alone, below the floor's own layers.
    pub of_ground: ThermalResistance,
}

impl GroundSlab {
    /// Heat loss of the slab. For the loss downward of a heated floor, take the resistance of its
    /// layers below the pipes and `of_ground` against the mean outdoor temperature.
    ///
    /// Units: as typed. Source: ISO 13370, slab on ground; films of ISO 6946. Holds for: area of 1 to
    /// 100 000 m², exposed perimeter of 0.1 m and more,
    /// walls to 1.5 m, ground of 0.5 to 5 W/(m·K), floor to 20 m²·K/W.
    pub fn loss(&self) -> Result<GroundLoss, OutOfRange> {
        let area = ISO_13370.takes("area of the ground floor", self.area, 1.0..=1e5)?;
        let perimeter = ISO_13370.takes("exposed perimeter", self.exposed_perimeter, 100.0..=1e8)?;
        let wall = ISO_13370.takes("thickness of the walls", self.wall, 0.0..=1500.0)?;
        let ground = ISO_13370.takes("conductivity of the ground", self.ground, 0.5..=5.0)?;
        let floor = ISO_13370.takes("resistance of the floor", self.floor, 0.0..=20.0)?;
        let dimension = area / (perimeter / 2.0);
        let thickness = wall + ground * (INSIDE + floor + OUTSIDE);
        let u = if thickness < dimension {
            2.0 * ground / (PI * dimension + thickness) * (PI * dimension / thickness).ln_1p()
        } else {
            ground / (0.457 * dimension + thickness)
        };
        Ok(GroundLoss {
            characteristic_dimension: Length::metres(dimension),
            equivalent_thickness: Length::metres(thickness),
            u: Transmittance::watts_per_square_metre_kelvin(u),
            of_ground: ThermalResistance::square_metre_kelvin_per_watt(1.0 / u - INSIDE - floor),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slab(area: f64, perimeter: f64, floor: f64) -> GroundSlab {
        GroundSlab {
            area: Area::square_metres(area),
            exposed_perimeter: Length::metres(perimeter),
            wall: Length::millimetres(300.0),
            ground: Conductivity::watts_per_metre_kelvin(2.0),
            floor: ThermalResistance::square_metre_kelvin_per_watt(floor),
        }
    }

    /// By hand from the two formulas of ISO 13370: 10 m × 8 m, sand, floor of 0.2 and of 4 m²·K/W.
    #[test]
    fn the_two_formulas() {
        let found = slab(80.0, 36.0, 0.2).loss().unwrap();
        let b = 80.0 / 18.0;
        assert!((found.characteristic_dimension.in_metres() - b).abs() < 1e-12);
        let d = 0.3 + 2.0 * 0.41;
        let u = 4.0 / (PI * b + d) * (PI * b / d + 1.0).ln();
        assert!((found.u.in_watts_per_square_metre_kelvin() - u).abs() < 1e-12);
        assert!((u - 0.6890).abs() < 1e-3, "{u}");

        let found = slab(80.0, 36.0, 4.0).loss().unwrap();
        let u = 2.0 / (0.457 * b + 0.3 + 2.0 * 4.21);
        assert!((found.u.in_watts_per_square_metre_kelvin() - u).abs() < 1e-12);
        assert!((found.of_ground.in_square_metre_kelvin_per_watt() - (1.0 / u - 4.17)).abs() < 1e-12);
    }

    /// The two formulas meet, near enough, where the equivalent thickness is the dimension.
    #[test]
    fn loss_falls_with_insulation_without_a_great_jump() {
        let mut last = f64::INFINITY;
        for step in 0..200 {
            let u = slab(80.0, 36.0, f64::from(step) * 0.02).loss().unwrap().u;
            let u = u.in_watts_per_square_metre_kelvin();
            assert!(u < last && (last.is_infinite() || last - u < 0.06), "{u} after {last}");
            last = u;
        }
        assert!(slab(80.0, 0.0, 1.0).loss().is_err());
        assert!(slab(f64::NAN, 36.0, 1.0).loss().is_err());
    }
}
