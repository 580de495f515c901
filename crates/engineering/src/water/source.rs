//! What lower water temperatures are worth at the source.

use super::fluids::saturation_temperature;
use crate::out_of_range::{Method, OutOfRange};
use quantity::{Pressure, Share, Temperature, TemperatureDifference};

/// Dew point of the flue gas of methane burned with dry air; moist air of 7 g/kg adds some 1.1 K.
///
/// Units: air ratio (1 is just enough air) in, °C out. Source: stoichiometry at 101 325 Pa and
/// IAPWS-IF97. Holds for: air ratio of 1 to 3.
pub fn dew_point(air_ratio: f64) -> Result<Temperature, OutOfRange> {
    let ratio = Method("the dew point of flue gas").takes_number("air ratio", air_ratio, 1.0..=3.0)?;
    // CH₄ + 2 O₂ → CO₂ + 2 H₂O; dry air has 3.773 parts of other gases to one of oxygen.
    let (water, carbon_dioxide) = (2.0, 1.0);
    let (oxygen, others) = (2.0 * (ratio - 1.0), 2.0 * 3.773 * ratio);
    let share = water / (water + carbon_dioxide + oxygen + others);
    saturation_temperature(Pressure::pascals(101_325.0 * share))
}

/// How much warmer than the return the flue gas leaves a condensing boiler, about.
/// Common practice, no source.
pub const APPROACH: TemperatureDifference = TemperatureDifference::kelvin(5.0);

/// Whether a boiler condenses at this return temperature: the flue gas, warmer by [`APPROACH`],
/// leaves below its dew point.
///
/// Units, range: as [`dew_point`]. Source: derived from it.
pub fn condenses(return_temperature: Temperature, air_ratio: f64) -> Result<bool, OutOfRange> {
    Ok(return_temperature + APPROACH < dew_point(air_ratio)?)
}

/// Efficiency of a condensing boiler on the gross calorific value, by its return temperature; the
/// slope is uncertain by a factor of three, so print it as about.
///
/// Units: °C in, share out. Source: equilibrium of flue gas at air ratio 1.25, [`APPROACH`], 1 %
/// lost by the casing; straight between 30, 35, 40, 45, 50 and 60 °C. Holds for: 30 to 60 °C.
pub fn boiler_efficiency(return_temperature: Temperature) -> Result<Share, OutOfRange> {
    let method = Method("the efficiency of a condensing boiler");
    let celsius = method.takes("return temperature", return_temperature, 30.0..=60.0)?;
    let percent = BOILER
        .windows(2)
        .find_map(|points| {
            let [(from, high), (to, low)] = points else {
                return None;
            };
            let share = (celsius - from) / (to - from);
            (celsius <= *to).then(|| high + (low - high) * share)
        })
        .unwrap_or(f64::NAN);
    Ok(Share::percent(percent))
}

const BOILER: [(f64, f64); 6] = [(30.0, 95.1), (35.0, 93.8), (40.0, 92.2), (45.0, 90.1), (50.0, 87.6), (60.0, 87.1)];

/// What a heat pump takes its heat from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeatFrom {
    Air,
    Ground,
}

/// Coefficient of performance by two published fits to measured heat pumps, the lower first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoefficientOfPerformance {
    pub least: f64,
    pub greatest: f64,
}

/// Coefficient of performance of a heat pump, as a range: fleets of machines differ by more than
/// any formula tells.
///
/// Units: °C in. Source: Staffell et al., Energy & Environmental Science 5 (2012) 9291; Ruhnau et
/// al., Scientific Data 6 (2019) 189, with its factor 0.85 for the field. Holds for: 15 to 60 K (air)
/// or 20 to 60 K (ground) between flow and source.
pub fn coefficient_of_performance(
    heat_from: HeatFrom,
    flow: Temperature,
    source: Temperature,
) -> Result<CoefficientOfPerformance, OutOfRange> {
    let method = Method("the performance of heat pumps");
    let least = match heat_from {
        HeatFrom::Air => 15.0,
        HeatFrom::Ground => 20.0,
    };
    let lift = method.takes("difference of flow and source", flow - source, least..=60.0)?;
    let (one, other) = match heat_from {
        HeatFrom::Air => (6.81 - 0.121 * lift + 0.000630 * lift * lift, 6.08 - 0.09 * lift + 0.0005 * lift * lift),
        HeatFrom::Ground => (8.77 - 0.150 * lift + 0.000734 * lift * lift, 10.29 - 0.21 * lift + 0.0012 * lift * lift),
    };
    let other = 0.85 * other;
    Ok(CoefficientOfPerformance { least: one.min(other), greatest: one.max(other) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    /// Stoichiometry with IAPWS-95 and IAPWS-IF97 outside this project's code (CoolProp, iapws).
    #[test]
    fn dew_points_of_methane() {
        for (ratio, celsius) in [(1.0, 59.2), (1.15, 56.5), (1.25, 54.9), (1.3, 54.2)] {
            near(dew_point(ratio).unwrap().in_celsius(), celsius, 0.1);
        }
        assert!(dew_point(0.9).is_err());
        assert_eq!(condenses(Temperature::celsius(45.0), 1.25), Ok(true));
        assert_eq!(condenses(Temperature::celsius(50.5), 1.25), Ok(false));
    }

    #[test]
    fn cooler_returns_are_worth_more() {
        let at = |celsius| boiler_efficiency(Temperature::celsius(celsius)).map(Share::in_percent);
        near(at(30.0).unwrap(), 95.1, 1e-9);
        near(at(42.5).unwrap(), 91.15, 1e-9);
        near(at(60.0).unwrap(), 87.1, 1e-9);
        assert!(at(29.0).is_err() && at(61.0).is_err());
    }

    /// The fits themselves, by hand: air, 35 K.
    #[test]
    fn performance_is_a_range_that_falls_with_lift() {
        let at =
            |from, flow: f64| coefficient_of_performance(from, Temperature::celsius(flow), Temperature::celsius(0.0));
        let found = at(HeatFrom::Air, 35.0).unwrap();
        near(found.greatest, 6.81 - 4.235 + 0.77175, 1e-9);
        near(found.least, 0.85 * (6.08 - 3.15 + 0.6125), 1e-9);
        let better = found.greatest / at(HeatFrom::Air, 40.0).unwrap().greatest;
        near(better, 1.12, 0.01);
        assert!(at(HeatFrom::Ground, 19.0).is_err() && at(HeatFrom::Air, 61.0).is_err());
    }
}
