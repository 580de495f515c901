//! Valves by their flow coefficient Kv: the flow of water in m³/h that loses 1 bar.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{Density, FlowCoefficient, Length, MassFlow, Pressure};
use std::f64::consts::PI;

const VALVES: Method = Method("the square law of valves");

/// Pressure drop of a valve at a flow, `Δp = ρ/1000 · (V̇ / Kv)²` in bar and m³/h.
///
/// Units: as typed. Source: definition of Kv (EN 60534-2-1, turbulent flow). Holds for: Kv 0.001 to
/// 1000, density 500 to 2000 kg/m³, no reversed flow. At small lift with glycol Kv falls, and the law is optimistic.
pub fn pressure_drop(kv: FlowCoefficient, flow: MassFlow, density: Density) -> Result<Pressure, OutOfRange> {
    let flow = VALVES.takes("mass flow", flow, 0.0..=1e4)?;
    Ok(Pressure::pascals(resistance(kv, in_range(density)?)? * flow * flow))
}

/// Flow through a valve at a pressure drop: [`pressure_drop`] turned round.
///
/// Units, source, range: as there.
pub fn mass_flow(kv: FlowCoefficient, drop: Pressure, density: Density) -> Result<MassFlow, OutOfRange> {
    let drop = VALVES.takes("pressure drop", drop, 0.0..=1e5)?;
    let flow = (drop / resistance(kv, in_range(density)?)?).sqrt();
    Ok(MassFlow::kilograms_per_second(flow))
}

/// The Kv that loses this pressure at this flow.
///
/// Units, source: as [`pressure_drop`]. Holds for: a flow of 1e-6 kg/s and more, a drop of 0.001 Pa
/// and more.
pub fn kv(flow: MassFlow, drop: Pressure, density: Density) -> Result<FlowCoefficient, OutOfRange> {
    let flow = VALVES.takes("mass flow", flow, 1e-6..=1e4)?;
    let drop = VALVES.takes("pressure drop", drop, 1e-6..=1e5)?;
    let density = in_range(density)?;
    let kv = 3600.0 * flow / density / (drop / 1e5 * 1000.0 / density).sqrt();
    Ok(FlowCoefficient::cubic_metres_per_hour(kv))
}

/// Kv of valves one after the other; none of no valves.
///
/// Units: m³/h. Source: their pressure drops add. Holds for: Kv above zero.
pub fn in_series(valves: impl IntoIterator<Item = FlowCoefficient>) -> Option<FlowCoefficient> {
    let sum: f64 = valves.into_iter().map(|kv| kv.in_cubic_metres_per_hour().powi(-2)).sum();
    (sum > 0.0).then(|| FlowCoefficient::cubic_metres_per_hour(sum.powf(-0.5)))
}

/// Kv of valves side by side.
///
/// Units: m³/h. Source: their flows add. Holds for: all.
pub fn in_parallel(valves: impl IntoIterator<Item = FlowCoefficient>) -> FlowCoefficient {
    valves.into_iter().sum()
}

/// Loss coefficient of a valve by the velocity in a bore.
///
/// Units: none out. Source: `ζ = 2 A² · 1.296e9 / Kv²`, from the definitions. Holds for: Kv and bore
/// as [`pressure_drop`] and 2 to 200 mm.
pub fn loss_coefficient(kv: FlowCoefficient, bore: Length) -> Result<f64, OutOfRange> {
    let bore = VALVES.takes("bore", bore, 2.0..=200.0)?;
    let kv = VALVES.takes("Kv", kv, 0.001..=1000.0)?;
    let area = PI / 4.0 * bore * bore;
    Ok(2.0 * area * area * 1.296e9 / (kv * kv))
}

/// Share of the pressure that a valve has in hand: its drop when open at design flow over the
/// pressure across it when shut.
///
/// Units: none out. Source: definition; modulating control wants 0.3 and more (common practice, no
/// source). Holds for: a shut pressure above 0.001 Pa and no less than the open one.
pub fn authority(open: Pressure, shut: Pressure) -> Result<f64, OutOfRange> {
    let shut_pascals = VALVES.takes("pressure across the shut valve", shut, 1e-6..=1e5)?;
    let open = VALVES.takes("drop of the open valve", open, 0.0..=shut.in_kilopascals())?;
    Ok(open / shut_pascals)
}

/// Kv of a presettable valve by its setting, in turns or marks, rising in both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PresettingTable<'a> {
    points: &'a [(f64, FlowCoefficient)],
}

/// Why a list of points is no presetting table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableFault {
    /// There are fewer than two points.
    TooShort,
    /// Setting or Kv at this point, counted from zero, does not rise, or is no number; the first Kv may be nothing.
    NotRising(usize),
}

impl std::fmt::Display for TableFault {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self {
            TableFault::TooShort => write!(f, "a presetting table needs two points at least"),
            TableFault::NotRising(0) => {
                write!(f, "the first point of the presetting table has no setting or Kv that a valve can have")
            }
            TableFault::NotRising(at) => {
                write!(f, "point {} of the presetting table does not rise above the one before", at + 1)
            }
        }
    }
}

impl std::error::Error for TableFault {}

impl<'a> PresettingTable<'a> {
    /// A table of points (setting, Kv).
    pub fn new(points: &'a [(f64, FlowCoefficient)]) -> Result<Self, TableFault> {
        if points.len() < 2 {
            return Err(TableFault::TooShort);
        }
        let mut last = (f64::NEG_INFINITY, FlowCoefficient::ZERO);
        for (at, &(setting, kv)) in points.iter().enumerate() {
            // The first may be shut.
            let rises = setting > last.0 && (kv > last.1 || at == 0 && kv == last.1);
            if !(rises && setting.is_finite() && kv.in_cubic_metres_per_hour().is_finite()) {
                return Err(TableFault::NotRising(at));
            }
            last = (setting, kv);
        }
        Ok(PresettingTable { points })
    }

    /// Kv at a setting, linear between the points.
    ///
    /// Units: turns or marks in, m³/h out. Source: the table. Holds for: its own range.
    pub fn kv_at(&self, setting: f64) -> Result<FlowCoefficient, OutOfRange> {
        let (least, greatest) = self.ends();
        let method = Method("the presetting table");
        method.takes_number("presetting", setting, least.0..=greatest.0)?;
        Ok(self.between(|point| point.0, setting, |low, high, share| low.1 + (high.1 - low.1) * share))
    }

    /// The setting that gives a Kv, linear between the points.
    ///
    /// Units: m³/h in, turns or marks out. Source: the table. Holds for: its own range; a valve cannot
    /// be set to less than its first point, nor opened beyond its last.
    pub fn setting_for(&self, kv: FlowCoefficient) -> Result<f64, OutOfRange> {
        let (least, greatest) = self.ends();
        let range = least.1.in_cubic_metres_per_hour()..=greatest.1.in_cubic_metres_per_hour();
        let wanted = Method("the presetting table").takes("Kv of the balancing valve", kv, range)?;
        Ok(self.between(
            |point| point.1.in_cubic_metres_per_hour(),
            wanted,
            |low, high, share| low.0 + (high.0 - low.0) * share,
        ))
    }

    /// The settings on either side of a Kv; the last one twice beyond an end.
    pub fn about(&self, kv: FlowCoefficient) -> ((f64, FlowCoefficient), (f64, FlowCoefficient)) {
        let above = self.points.partition_point(|point| point.1 <= kv);
        let (least, greatest) = self.ends();
        let low = self.points.get(above.wrapping_sub(1)).copied();
        (low.unwrap_or(least), self.points.get(above).copied().unwrap_or(greatest))
    }

    /// Setting and Kv of the valve wide open.
    pub fn open(&self) -> (f64, FlowCoefficient) {
        self.ends().1
    }

    fn ends(&self) -> ((f64, FlowCoefficient), (f64, FlowCoefficient)) {
        match self.points {
            [first, .., last] => (*first, *last),
            // `new` takes no shorter list.
            _ => ((f64::NAN, FlowCoefficient::ZERO), (f64::NAN, FlowCoefficient::ZERO)),
        }
    }

    /// What `mix` makes of the two points about `wanted`, and of how far it is from one to the other.
    fn between<T>(
        &self,
        key: impl Fn(&(f64, FlowCoefficient)) -> f64,
        wanted: f64,
        mix: impl Fn((f64, FlowCoefficient), (f64, FlowCoefficient), f64) -> T,
    ) -> T {
        let above = self.points.partition_point(|point| key(point) <= wanted);
        let high = above.clamp(1, self.points.len().saturating_sub(1));
        let (low, high) = match self.points.get(high - 1..=high) {
            Some([low, high]) => (*low, *high),
            _ => self.ends(),
        };
        mix(low, high, (wanted - key(&low)) / (key(&high) - key(&low)))
    }
}

/// Pa for each (kg/s)², by a density in kg/m³.
pub(crate) fn resistance(kv: FlowCoefficient, density: f64) -> Result<f64, OutOfRange> {
    let kv = VALVES.takes("Kv", kv, 0.001..=1000.0)?;
    Ok(1e5 * 3600.0 * 3600.0 / (1000.0 * density * kv * kv))
}

fn in_range(density: Density) -> Result<f64, OutOfRange> {
    VALVES.takes("density of the fluid", density, 500.0..=2000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const KV: fn(f64) -> FlowCoefficient = FlowCoefficient::cubic_metres_per_hour;
    const WATER: Density = Density::kilograms_per_cubic_metre(994.08);

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    fn points() -> [(f64, FlowCoefficient); 12] {
        [
            (0.25, KV(0.12)),
            (0.5, KV(0.22)),
            (0.75, KV(0.31)),
            (1.0, KV(0.40)),
            (1.25, KV(0.48)),
            (1.5, KV(0.56)),
            (1.75, KV(0.63)),
            (2.0, KV(0.70)),
            (2.5, KV(0.83)),
            (3.0, KV(0.94)),
            (3.5, KV(1.03)),
            (4.0, KV(1.10)),
        ]
    }

    /// By hand from the definition: 0.030 kg/s of water at 35 °C.
    #[test]
    fn drop_flow_and_kv_are_one_law() {
        let flow = MassFlow::kilograms_per_second(0.030);
        let drop = pressure_drop(KV(2.5), flow, WATER).unwrap();
        near(drop.in_pascals(), 187.7, 0.1);
        near(pressure_drop(KV(1.1), flow, WATER).unwrap().in_pascals(), 969.7, 0.1);
        near(kv(flow, drop, WATER).unwrap().in_cubic_metres_per_hour(), 2.5, 1e-12);
        near(mass_flow(KV(2.5), drop, WATER).unwrap().in_kilograms_per_second(), 0.030, 1e-12);
        let cubic_metre_an_hour = MassFlow::kilograms_per_second(1000.0 / 3600.0);
        let cold = Density::kilograms_per_cubic_metre(1000.0);
        near(pressure_drop(KV(1.0), cubic_metre_an_hour, cold).unwrap().in_bar(), 1.0, 1e-12);
        assert!(pressure_drop(KV(0.0), flow, WATER).is_err());
        assert!(kv(MassFlow::ZERO, drop, WATER).is_err());
        assert!(kv(flow, -drop, WATER).is_err());
    }

    #[test]
    fn valves_combine() {
        near(in_series([KV(1.0), KV(1.0)]).unwrap().in_cubic_metres_per_hour(), 0.5f64.sqrt(), 1e-12);
        assert_eq!(in_series([]), None);
        near(in_parallel([KV(1.0), KV(0.5)]).in_cubic_metres_per_hour(), 1.5, 1e-12);
        let bar = Pressure::bar(0.1);
        near(authority(bar * 0.3, bar).unwrap(), 0.3, 1e-12);
        assert!(authority(bar, bar * 0.5).is_err());
    }

    /// The same drop by Kv and by loss coefficient, 12 mm bore.
    #[test]
    fn loss_coefficients_agree_with_kv() {
        let bore = Length::millimetres(12.0);
        let zeta = loss_coefficient(KV(1.1), bore).unwrap();
        let flow = MassFlow::kilograms_per_second(0.030);
        let velocity: f64 = 0.030 / 994.08 / (PI / 4.0 * 0.012 * 0.012);
        let drop = pressure_drop(KV(1.1), flow, WATER).unwrap().in_pascals();
        near(zeta * 994.08 * velocity * velocity / 2.0, drop, 1e-6);
    }

    #[test]
    fn the_presetting_table_reads_both_ways() {
        let points = points();
        let table = PresettingTable::new(&points).unwrap();
        near(table.kv_at(4.0).unwrap().in_cubic_metres_per_hour(), 1.10, 1e-12);
        near(table.kv_at(0.25).unwrap().in_cubic_metres_per_hour(), 0.12, 1e-12);
        near(table.kv_at(2.25).unwrap().in_cubic_metres_per_hour(), 0.765, 1e-12);
        for step in 0..=375 {
            let setting = 0.25 + f64::from(step) * 0.01;
            near(table.setting_for(table.kv_at(setting).unwrap()).unwrap(), setting, 1e-9);
        }
        assert_eq!(table.open(), (4.0, KV(1.10)));
        let refusal = table.setting_for(KV(0.05)).unwrap_err().to_string();
        assert_eq!(
            refusal,
            "the Kv of the balancing valve is 0.05 m³/h; the presetting table holds from 0.12 m³/h to 1.1 m³/h"
        );
        assert!(table.kv_at(4.1).is_err());
        assert_eq!(PresettingTable::new(&points[..1]), Err(TableFault::TooShort));
        let shut = [(0.0, FlowCoefficient::ZERO), points[0], points[1]];
        assert!(PresettingTable::new(&shut).is_ok());
        let mut falling = points;
        falling[3].1 = KV(0.2);
        assert_eq!(PresettingTable::new(&falling), Err(TableFault::NotRising(3)));
    }
}
