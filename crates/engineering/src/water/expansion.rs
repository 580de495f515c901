//! Expansion of the water and the vessel that takes it up.

use super::fluids::{Fluid, vapour_pressure};
use crate::out_of_range::{Method, OutOfRange};
use quantity::{Length, Pressure, Share, Temperature, Volume};
use std::f64::consts::PI;

const EN_12828: Method = Method("EN 12828");

/// How much the content of a system grows from filling to its highest temperature, as a share of it.
///
/// Units: °C in, share out. Source: ratio of the densities of [`Fluid::at`], minus one. Holds for: its
/// range; a highest temperature not below that of filling.
pub fn expansion(fluid: Fluid, fill: Temperature, highest: Temperature) -> Result<Share, OutOfRange> {
    let from = fill.in_celsius();
    EN_12828.takes("highest temperature", highest, from..=f64::INFINITY)?;
    Ok(Share::fraction(fluid.at(fill)?.density / fluid.at(highest)?.density - 1.0))
}

/// Content of a pipe.
///
/// Units: as typed. Source: `π d² / 4 · length`. Holds for: all.
pub fn content(bore: Length, length: Length) -> Volume {
    let bore = bore.in_metres();
    Volume::cubic_metres(PI / 4.0 * bore * bore * length.in_metres())
}

/// The edition of EN 12828 whose least pressures count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edition {
    /// Static pressure and 0.3 bar, and 0.7 bar at least (from a works standard's annex).
    Of2003,
    /// Static pressure and 0.2 bar or the vapour pressure, whichever is more (from a trade
    /// federation).
    Present,
    /// Whatever asks for more of the two: for a design that names no edition.
    Stricter,
}

/// Least pressure of the gas in the empty vessel.
///
/// Units: gauge pressures. Source: EN 12828, as secondary texts give it. Holds for: static pressure
/// of 0 to 10 bar; highest temperature of 5 to 110 °C.
pub fn least_gas_pressure(
    edition: Edition,
    static_pressure: Pressure,
    highest: Temperature,
) -> Result<Pressure, OutOfRange> {
    EN_12828.takes("static pressure", static_pressure, 0.0..=1000.0)?;
    EN_12828.takes("highest temperature", highest, 5.0..=110.0)?;
    // Boiling is prevented by absolute pressure; below 100 °C the air outside does more than enough.
    let vapour = (vapour_pressure(highest)? - ATMOSPHERE).max(Pressure::ZERO);
    let of_2003 = (static_pressure + Pressure::bar(0.3)).max(Pressure::bar(0.7));
    let present = static_pressure + vapour.max(Pressure::bar(0.2));
    Ok(match edition {
        Edition::Of2003 => of_2003,
        Edition::Present => present,
        Edition::Stricter => of_2003.max(present),
    })
}

const ATMOSPHERE: Pressure = Pressure::bar(1.0);

/// A vessel sized for a system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    /// What the water grows by.
    pub expanded: Volume,
    /// Water that the vessel holds cold, against losses.
    pub reserve: Volume,
    /// Gauge pressure at the highest temperature.
    pub end_pressure: Pressure,
    /// Least nominal volume.
    pub nominal: Volume,
    /// Gauge pressure to fill to when cold, for a vessel of the nominal volume.
    pub fill_pressure: Pressure,
}

/// The highest pressure that a system is to reach when it is hot.
///
/// Units: gauge pressures. Source: EN 12828 in its form of 2003, from memory: 0.5 bar below the safety valve, a tenth
/// below it above 5 bar. Holds for: all.
pub fn end_pressure(safety_valve: Pressure) -> Pressure {
    if safety_valve <= Pressure::bar(5.0) { safety_valve - Pressure::bar(0.5) } else { safety_valve * 0.9 }
}

/// Sizes the vessel of a closed system.
///
/// Units: gauge pressures. Source: EN 12828 in its form of 2003, from memory:
/// `V = (expanded + reserve) (p_end + 1 bar) / (p_end − p_gas)`, reserve 0.5 % of the content and 3
/// litres at least, end pressure 0.5 bar (above 5 bar a tenth) below the safety valve. Holds for: content of 1 l to 100 m³,
/// expansion of 0 to 20 %, safety valve of 1 to 10 bar, gas pressure up to 0.1 bar below the end pressure.
pub fn vessel(
    content: Volume,
    expansion: Share,
    gas_pressure: Pressure,
    safety_valve: Pressure,
) -> Result<Vessel, OutOfRange> {
    let litres = EN_12828.takes("content of the system", content, 1.0..=1e5)?;
    let share = EN_12828.takes("expansion of the water", expansion, 0.0..=20.0)?;
    let valve = EN_12828.takes("safety valve", safety_valve, 100.0..=1000.0)?;
    let end = end_pressure(Pressure::pascals(valve)).in_pascals();
    let highest_gas = (end - 0.1e5) / 1e3;
    let gas = EN_12828.takes("gas pressure of the vessel", gas_pressure, 0.0..=highest_gas)?;
    let expanded = litres * share;
    let reserve = (0.005 * litres).max(0.003);
    let nominal = (expanded + reserve) * (end + 1e5) / (end - gas);
    let fill = nominal * (gas + 1e5) / (nominal - reserve) - 1e5;
    Ok(Vessel {
        expanded: Volume::cubic_metres(expanded),
        reserve: Volume::cubic_metres(reserve),
        end_pressure: Pressure::pascals(end),
        nominal: Volume::cubic_metres(nominal),
        fill_pressure: Pressure::pascals(fill),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::fluids::Glycol;

    const CELSIUS: fn(f64) -> Temperature = Temperature::celsius;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    /// Ratios of IAPWS-95 densities (CoolProp 8.0.0); propylene glycol of 30 % by its incompressible
    /// mixtures.
    #[test]
    fn water_and_glycol_expand() {
        for (celsius, percent) in [(40.0, 0.75), (55.0, 1.42), (70.0, 2.24), (80.0, 2.87), (90.0, 3.56)] {
            let found = expansion(Fluid::Water, CELSIUS(10.0), CELSIUS(celsius)).unwrap();
            near(found.in_percent(), percent, 0.01);
        }
        let glycol = Fluid::Mixture { glycol: Glycol::Propylene, mass_share: Share::percent(30.0) };
        near(expansion(glycol, CELSIUS(10.0), CELSIUS(55.0)).unwrap().in_percent(), 2.4, 0.1);
        assert!(expansion(Fluid::Water, CELSIUS(40.0), CELSIUS(10.0)).is_err());
    }

    /// By hand: 200 l, 1.42 %, 1.0 bar of gas, safety valve 3 bar: 2.84 + 3 l, times 3.5 / 1.5.
    #[test]
    fn a_vessel_of_a_house() {
        let found =
            vessel(Volume::litres(200.0), Share::percent(1.42), Pressure::bar(1.0), Pressure::bar(3.0)).unwrap();
        near(found.nominal.in_litres(), 5.84 * 3.5 / 1.5, 1e-9);
        near(found.end_pressure.in_bar(), 2.5, 1e-12);
        near(found.fill_pressure.in_bar(), 13.6267 * 2.0 / 10.6267 - 1.0, 1e-4);
        // Boyle: what the gas is pressed together by is the water taken in.
        let nominal = found.nominal.in_litres();
        near(nominal - nominal * 2.0 / 3.5, 5.84, 1e-9);
        let too_high = vessel(Volume::litres(200.0), Share::percent(1.4), Pressure::bar(2.5), Pressure::bar(3.0));
        assert!(too_high.is_err());
    }

    #[test]
    fn the_stricter_edition_counts_where_none_is_named() {
        let least =
            |edition, bar, celsius| least_gas_pressure(edition, Pressure::bar(bar), CELSIUS(celsius)).unwrap().in_bar();
        near(least(Edition::Of2003, 0.2, 55.0), 0.7, 1e-12);
        near(least(Edition::Present, 0.2, 55.0), 0.4, 1e-12);
        near(least(Edition::Stricter, 0.2, 55.0), 0.7, 1e-12);
        near(least(Edition::Stricter, 1.0, 55.0), 1.3, 1e-12);
        assert!(least(Edition::Present, 0.2, 110.0) > 0.6);
    }

    /// 16 × 2 holds 0.113 l on each metre.
    #[test]
    fn content_of_pipe() {
        near(content(Length::millimetres(12.0), Length::metres(1.0)).in_litres(), 0.1131, 1e-4);
    }
}
