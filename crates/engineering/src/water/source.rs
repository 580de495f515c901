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

/// What share of its fuel a condensing boiler saves when its water comes back cooler: the least and the most of two models
/// that differ by a factor of three.
///
/// Units: °C in, shares out. Source: [`boiler_efficiency`]; and the curve of condensing boilers that open building
/// simulations use, at full and at a third of its load. Holds for: returns of 30 to 60 °C, the first the warmer.
pub fn saved_by_cooler_return(warm: Temperature, cool: Temperature) -> Result<(Share, Share), OutOfRange> {
    let equilibrium = 1.0 - boiler_efficiency(warm)? / boiler_efficiency(cool)?;
    let curve = |celsius: f64, load: f64| {
        1.124970374 + 0.014963852 * load
            - 0.02599835 * load * load
            - 1.40464e-6 * celsius * celsius
            - 0.00153624 * load * celsius
    };
    let (warm, cool) = (warm.in_celsius(), cool.in_celsius());
    let by_curve = [1.0, 1.0 / 3.0].map(|load| 1.0 - curve(warm, load) / curve(cool, load));
    Ok(range([equilibrium, by_curve[0], by_curve[1]]))
}

/// The least and the greatest of some shares.
fn range<const N: usize>(shares: [f64; N]) -> (Share, Share) {
    let least = shares.into_iter().fold(f64::INFINITY, f64::min);
    let greatest = shares.into_iter().fold(f64::NEG_INFINITY, f64::max);
    (Share::fraction(least), Share::fraction(greatest))
}

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
    let [one, other] = performance(heat_from, flow, source)?;
    Ok(CoefficientOfPerformance { least: one.min(other), greatest: one.max(other) })
}

/// By each of the two fits.
fn performance(heat_from: HeatFrom, flow: Temperature, source: Temperature) -> Result<[f64; 2], OutOfRange> {
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
    Ok([one, 0.85 * other])
}

/// How much more electricity a heat pump takes for warmer water, as a share of what it takes for cooler: the least and the
/// most of both fits for heat from air and from the ground.
///
/// Units: °C in, shares out. Source: as [`coefficient_of_performance`]. Holds for: 20 to 60 K between each flow and the
/// source.
pub fn taken_for_warmer_flow(
    warm: Temperature,
    cool: Temperature,
    source: Temperature,
) -> Result<(Share, Share), OutOfRange> {
    let of = |from| Ok::<_, OutOfRange>((performance(from, warm, source)?, performance(from, cool, source)?));
    let (air, ground) = (of(HeatFrom::Air)?, of(HeatFrom::Ground)?);
    let more = |(warm, cool): ([f64; 2], [f64; 2])| [cool[0] / warm[0] - 1.0, cool[1] / warm[1] - 1.0];
    let ([one, two], [three, four]) = (more(air), more(ground));
    Ok(range([one, two, three, four]))
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

    /// 0.15 to 0.5 points a kelvin bracket what the two models say (by hand from the table and from the curve).
    #[test]
    fn a_cooler_return_saves_a_range() {
        let (least, most) = saved_by_cooler_return(Temperature::celsius(55.0), Temperature::celsius(40.0)).unwrap();
        near(most.in_percent(), 100.0 * (1.0 - 87.35 / 92.2), 1e-9);
        near(least.in_percent(), 0.87, 0.02);
        let (least, most) = saved_by_cooler_return(Temperature::celsius(45.0), Temperature::celsius(45.0)).unwrap();
        assert_eq!((least, most), (Share::ZERO, Share::ZERO));
        assert!(saved_by_cooler_return(Temperature::celsius(70.0), Temperature::celsius(45.0)).is_err());
    }

    /// By hand from the fits at 0 °C, 40 °C against 35 °C: air 12 % and 8 %, ground 12 % and 16 %.
    #[test]
    fn warmer_water_takes_more_electricity() {
        let at = |warm, cool| {
            taken_for_warmer_flow(Temperature::celsius(warm), Temperature::celsius(cool), Temperature::celsius(0.0))
        };
        let (least, most) = at(40.0, 35.0).unwrap();
        near(least.in_percent(), 100.0 * (3.5425 / 3.28 - 1.0), 1e-9);
        near(most.in_percent(), 100.0 * (4.41 / 3.81 - 1.0), 1e-9);
        assert!(at(65.0, 35.0).is_err() && at(40.0, 15.0).is_err());
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
