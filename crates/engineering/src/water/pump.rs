//! The pump: the pressure it gives at a flow, and the power it takes.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{Density, Length, Power, Pressure, VolumeFlow};
use std::fmt;

/// Pressure of a pump over its flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Head<'a> {
    /// The same at any flow, as a pump holds it that is set to constant pressure.
    Constant(Pressure),
    /// A parabola from the shut-off pressure to nothing at the greatest flow.
    Parabola { shut_off: Pressure, greatest_flow: VolumeFlow },
    /// Points of a measured curve, straight between them.
    Curve(PumpCurve<'a>),
}

/// Points (flow, pressure) of a pump: the flow rises, the pressure does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpCurve<'a> {
    points: &'a [(VolumeFlow, Pressure)],
}

/// Why a list of points is no pump curve that has one flow for each pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurveFault {
    /// There are fewer than two points.
    TooShort,
    /// At this point, counted from zero, the flow does not rise, the pressure rises, or one is
    /// negative.
    NotFalling(usize),
}

impl fmt::Display for CurveFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            CurveFault::TooShort => write!(f, "a pump curve needs two points at least"),
            CurveFault::NotFalling(at) => {
                write!(f, "at point {} of the pump curve the flow has to rise and the pressure may not", at + 1)
            }
        }
    }
}

impl std::error::Error for CurveFault {}

impl<'a> PumpCurve<'a> {
    /// A curve of points (flow, pressure).
    pub fn new(points: &'a [(VolumeFlow, Pressure)]) -> Result<Self, CurveFault> {
        if points.len() < 2 {
            return Err(CurveFault::TooShort);
        }
        let mut last: Option<(VolumeFlow, Pressure)> = None;
        for (at, &(flow, pressure)) in points.iter().enumerate() {
            let follows = last.is_none_or(|last| flow > last.0 && pressure <= last.1);
            let positive = flow >= VolumeFlow::ZERO && pressure >= Pressure::ZERO;
            if !(follows && positive && flow.in_cubic_metres_per_second().is_finite()) {
                return Err(CurveFault::NotFalling(at));
            }
            last = Some((flow, pressure));
        }
        Ok(PumpCurve { points })
    }
}

impl Head<'_> {
    /// Pressure at a flow.
    ///
    /// Units: as typed. Source: the curve itself. Holds for: flows of the curve, from its first to its
    /// last point; to the greatest flow of a parabola.
    pub fn at(&self, flow: VolumeFlow) -> Result<Pressure, OutOfRange> {
        let (least, greatest) = self.flows();
        let range = least.in_litres_per_minute()..=greatest.in_litres_per_minute();
        let flow = Method("the pump curve").takes("flow of the pump", flow, range)?;
        Ok(Pressure::pascals(self.continued(flow)))
    }

    /// The greatest flow at which the pump still gives a pressure; nothing where it never does, or always.
    ///
    /// Units: as typed. Source, range: as [`Head::at`].
    pub fn flow_at(&self, pressure: Pressure) -> Option<VolumeFlow> {
        match self {
            Head::Constant(_) => None,
            Head::Parabola { shut_off, greatest_flow } => {
                let share = 1.0 - pressure / *shut_off;
                (0.0..=1.0).contains(&share).then(|| *greatest_flow * share.sqrt())
            }
            Head::Curve(curve) => {
                let last = curve.points.iter().rposition(|point| point.1 >= pressure)?;
                let here = curve.points[last];
                let Some(next) = curve.points.get(last + 1) else { return Some(here.0) };
                Some(here.0 + (next.0 - here.0) * ((here.1 - pressure) / (here.1 - next.1)))
            }
        }
    }

    /// The least and the greatest flow that the curve holds for.
    pub fn flows(&self) -> (VolumeFlow, VolumeFlow) {
        match self {
            Head::Constant(_) => (VolumeFlow::ZERO, VolumeFlow::cubic_metres_per_second(f64::INFINITY)),
            Head::Parabola { greatest_flow, .. } => (VolumeFlow::ZERO, *greatest_flow),
            Head::Curve(curve) => match curve.points {
                [first, .., last] => (first.0, last.0),
                _ => (VolumeFlow::ZERO, VolumeFlow::ZERO),
            },
        }
    }

    /// Pa at a flow in m³/s, the curve carried on beyond its ends so that a search may pass through
    /// there: level before its first point, falling after its last.
    pub(crate) fn continued(&self, flow: f64) -> f64 {
        match self {
            Head::Constant(pressure) => pressure.in_pascals(),
            Head::Parabola { shut_off, greatest_flow } => {
                let share = flow / greatest_flow.in_cubic_metres_per_second();
                shut_off.in_pascals() * (1.0 - share * share)
            }
            Head::Curve(curve) => curve.continued(flow),
        }
    }
}

impl PumpCurve<'_> {
    fn continued(&self, flow: f64) -> f64 {
        let key = |point: &(VolumeFlow, Pressure)| point.0.in_cubic_metres_per_second();
        let above = self.points.partition_point(|point| key(point) <= flow);
        match (self.points.get(above.wrapping_sub(1)), self.points.get(above)) {
            (Some(low), Some(high)) => {
                let share = (flow - key(low)) / (key(high) - key(low));
                (low.1 + (high.1 - low.1) * share).in_pascals()
            }
            (None, Some(first)) => first.1.in_pascals(),
            (Some(last), None) => last.1.in_pascals() - 1e5 * (flow / key(last) - 1.0),
            (None, None) => f64::NAN,
        }
    }
}

/// Pressure as a column of the fluid.
///
/// Units: as typed. Source: `Δp / (ρ g)`, g 9.80665 m/s². Holds for: a density above zero.
pub fn column(pressure: Pressure, density: Density) -> Length {
    Length::metres(pressure.in_pascals() / (density.in_kilograms_per_cubic_metre() * 9.80665))
}

/// Power that the water takes up, `V̇ · Δp`.
///
/// Units: as typed. Source: definition. Holds for: all.
pub fn hydraulic_power(flow: VolumeFlow, pressure: Pressure) -> Power {
    Power::watts(flow.in_cubic_metres_per_second() * pressure.in_pascals())
}

/// Electrical power of the reference circulator that gives this hydraulic power at its best point.
///
/// Units: W. Source: Regulation (EC) 641/2009, Annex II, as amended by 622/2012. Holds for: hydraulic
/// power of 1 to 2500 W.
pub fn reference_power(best_hydraulic: Power) -> Result<Power, OutOfRange> {
    let method = Method("the energy efficiency index of circulators");
    let best = method.takes("hydraulic power of the pump", best_hydraulic, 1.0..=2500.0)?;
    Ok(Power::watts(1.7 * best + 17.0 * (1.0 - (-0.3 * best).exp())))
}

/// Electrical power of a circulator at parts of its rated flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadProfile {
    pub at_100_percent: Power,
    pub at_75_percent: Power,
    pub at_50_percent: Power,
    pub at_25_percent: Power,
}

/// Energy efficiency index of a stand-alone circulator. It rates the product, not its duty; from
/// 1 August 2015 the law asks for 0.23 at most.
///
/// Units: none out. Source: Regulation (EC) 641/2009 as amended, weights and 0.49 of EN 16297.
/// Holds for: hydraulic power of 1 to 2500 W.
pub fn energy_efficiency_index(load: &LoadProfile, best_hydraulic: Power) -> Result<f64, OutOfRange> {
    let weighted =
        load.at_100_percent * 0.06 + load.at_75_percent * 0.15 + load.at_50_percent * 0.35 + load.at_25_percent * 0.44;
    Ok(0.49 * (weighted / reference_power(best_hydraulic)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LITRES: fn(f64) -> VolumeFlow = VolumeFlow::litres_per_minute;
    const KPA: fn(f64) -> Pressure = Pressure::kilopascals;

    #[test]
    fn curves_answer_between_their_ends_only() {
        let points = [(LITRES(0.0), KPA(50.0)), (LITRES(10.0), KPA(40.0)), (LITRES(20.0), KPA(10.0))];
        let curve = Head::Curve(PumpCurve::new(&points).unwrap());
        assert_eq!(curve.at(LITRES(0.0)), Ok(KPA(50.0)));
        assert!((curve.at(LITRES(15.0)).unwrap().in_kilopascals() - 25.0).abs() < 1e-9);
        assert_eq!(curve.at(LITRES(20.0)), Ok(KPA(10.0)));
        assert!(curve.at(LITRES(20.1)).is_err());
        assert!(curve.continued(21.0 / 60_000.0) < curve.continued(20.5 / 60_000.0));
        for (kilopascals, litres) in [(50.0, 0.0), (45.0, 5.0), (40.0, 10.0), (25.0, 15.0), (10.0, 20.0), (5.0, 20.0)] {
            let found = curve.flow_at(KPA(kilopascals)).unwrap();
            assert!((found.in_litres_per_minute() - litres).abs() < 1e-9, "{kilopascals} kPa: {found}");
        }
        assert_eq!(curve.flow_at(KPA(51.0)), None);
        assert_eq!(PumpCurve::new(&points[..1]), Err(CurveFault::TooShort));
        let rising = [points[1], points[0]];
        assert_eq!(PumpCurve::new(&rising), Err(CurveFault::NotFalling(1)));
        let parabola = Head::Parabola { shut_off: KPA(30.0), greatest_flow: LITRES(18.0) };
        assert!(parabola.at(LITRES(18.0)).unwrap().in_pascals().abs() < 1e-6);
        assert!(parabola.at(LITRES(-1.0)).is_err());
        assert!((parabola.flow_at(KPA(22.5)).unwrap().in_litres_per_minute() - 9.0).abs() < 1e-9);
        assert_eq!(Head::Constant(KPA(30.0)).flow_at(KPA(20.0)), None);
    }

    /// By hand from the formula of the regulation: 10 W hydraulic make 33.15 W.
    #[test]
    fn the_reference_pump_and_the_index() {
        let best = Power::watts(10.0);
        assert!((reference_power(best).unwrap().in_watts() - 33.1536).abs() < 1e-3);
        let even = LoadProfile { at_100_percent: best, at_75_percent: best, at_50_percent: best, at_25_percent: best };
        let index = energy_efficiency_index(&even, best).unwrap();
        assert!((index - 0.49 * 10.0 / 33.1536).abs() < 1e-5);
        assert!(reference_power(Power::watts(0.5)).is_err());
    }

    #[test]
    fn a_metre_of_cold_water_is_9_8_kilopascals() {
        let density = Density::kilograms_per_cubic_metre(1000.0);
        assert!((column(KPA(9.80665), density).in_metres() - 1.0).abs() < 1e-12);
        let power = hydraulic_power(LITRES(12.0), KPA(20.0));
        assert!((power.in_watts() - 4.0).abs() < 1e-12);
    }
}
