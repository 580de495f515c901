//! How warm a floor surface may be, and how people feel about it.

use super::en1264;
use crate::out_of_range::{Method, OutOfRange};
use quantity::{HeatFlux, Share, Temperature, TemperatureDifference, ThermalResistance};

/// How a part of a floor is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FloorUse {
    /// Where people stay.
    Occupied,
    /// A strip along outside walls, at most 1 m wide.
    Edge,
    Bathroom,
}

/// Highest temperature that the surface may reach anywhere: 29 °C where people stay, 35 °C along the
/// edge, 9 K over the room in a bathroom. France allows 28 °C in all rooms.
///
/// Units: °C. Source: EN 1264-2 and -3, several secondary texts. Holds for: all.
pub fn highest(floor_use: FloorUse, room: Temperature) -> Temperature {
    match floor_use {
        FloorUse::Occupied => Temperature::celsius(29.0),
        FloorUse::Edge => Temperature::celsius(35.0),
        FloorUse::Bathroom => room + TemperatureDifference::kelvin(9.0),
    }
}

/// Highest surface temperature in France, at any point of all rooms: order of 1978, article 35.
pub const HIGHEST_IN_FRANCE: Temperature = Temperature::celsius(28.0);

/// Highest temperature of a wooden surface, at its hottest point: flooring guidance beside BS 8201.
pub const HIGHEST_OF_TIMBER: Temperature = Temperature::celsius(27.0);

/// Highest temperature of the glue under vinyl, linoleum or rubber: BS 8203, quoted by a warranty
/// body.
pub const HIGHEST_OF_GLUE: Temperature = Temperature::celsius(27.0);

/// Mean surface temperature of a floor that gives a heat flux.
///
/// Units: as typed. Source: EN 1264-2, basic characteristic. Holds for: 0 to 1000 W/m².
pub fn mean(flux: HeatFlux, room: Temperature) -> Result<Temperature, OutOfRange> {
    Ok(room + en1264::surface_excess(flux)?)
}

/// Temperature below a layer, at its underside: of the glue under a covering, or of the floor under a
/// rug, from the temperature of its upper side.
///
/// Units: as typed. Source: heat flux times resistance. Holds for: all.
pub fn under(surface: Temperature, flux: HeatFlux, layer: ThermalResistance) -> Temperature {
    surface + flux * layer
}

/// Share of people whom a floor surface leaves discontented, warm or cold; at least 5.5 %, at 23.6 °C.
///
/// Units: °C in, share out. Source: ISO 7730, for people in light indoor shoes. Holds for: 5 to 40 °C.
pub fn share_discontented(surface: Temperature) -> Result<Share, OutOfRange> {
    let warm = Method("ISO 7730, warm and cold floors").takes("floor surface", surface, 5.0..=40.0)?;
    Ok(Share::percent(100.0 - 94.0 * (-1.387 + 0.118 * warm - 0.0025 * warm * warm).exp()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const CELSIUS: fn(f64) -> Temperature = Temperature::celsius;

    /// EN 1264-2: 33 °C in a bathroom of 24 °C.
    #[test]
    fn limits_by_use() {
        assert_eq!(highest(FloorUse::Bathroom, CELSIUS(24.0)), CELSIUS(33.0));
        assert_eq!(highest(FloorUse::Occupied, CELSIUS(20.0)), CELSIUS(29.0));
        assert_eq!(highest(FloorUse::Edge, CELSIUS(20.0)), CELSIUS(35.0));
    }

    /// ISO 7730, values of its formula: 10.4 % at 19 °C, 12.1 % at 29 °C, least 5.5 % at 23.6 °C.
    #[test]
    fn discontent_is_least_near_24_degrees() {
        let percent = |celsius| share_discontented(CELSIUS(celsius)).unwrap().in_percent();
        assert!((percent(19.0) - 10.4).abs() < 0.05);
        assert!((percent(29.0) - 12.1).abs() < 0.05);
        assert!((percent(23.6) - 5.5).abs() < 0.05);
        assert!(percent(23.6) < percent(23.0) && percent(23.6) < percent(24.2));
        assert!(share_discontented(CELSIUS(4.0)).is_err());
    }

    /// By hand: 60 W/m² through 0.012 m²·K/W is 0.72 K.
    #[test]
    fn the_glue_is_warmer_than_the_surface() {
        let flux = HeatFlux::watts_per_square_metre(60.0);
        let vinyl = ThermalResistance::square_metre_kelvin_per_watt(0.012);
        let surface = mean(flux, CELSIUS(20.0)).unwrap();
        assert!((surface.in_celsius() - 25.65).abs() < 0.01);
        let warmer = (under(surface, flux, vinyl) - surface).in_kelvin();
        assert!((warmer - 0.72).abs() < 1e-9);
    }
}
