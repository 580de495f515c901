//! Blending hot water with the return down to the flow temperature of the floor.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{MassFlow, Share, Temperature};
use std::fmt;

/// How hot water and return come together in the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blend {
    /// Share of the flow that comes from the source; the rest goes round by the bypass.
    pub hot_share: Share,
}

impl Blend {
    /// What the source has to deliver, of the flow of the loops. It can fall below the least flow
    /// that a source bears.
    pub fn primary_flow(&self, loops: MassFlow) -> MassFlow {
        loops * self.hot_share.in_fraction()
    }
}

/// The blend that gives a flow temperature, `x = (flow − return) / (hot − return)`.
///
/// Units: °C in, shares out. Source: heat balance with one specific heat, within 0.15 % of enthalpy.
/// Holds for: temperatures of 0 to 120 °C with return ≤ flow ≤ hot and return < hot.
pub fn blend(flow: Temperature, return_temperature: Temperature, hot: Temperature) -> Result<Blend, NoBlend> {
    let method = Method("the blend of hot water and return");
    let flow = method.takes("flow temperature", flow, 0.0..=120.0)?;
    let back = method.takes("return temperature", return_temperature, 0.0..=120.0)?;
    let source = method.takes("temperature of the hot water", hot, 0.0..=120.0)?;
    if flow < back {
        return Err(NoBlend::FlowBelowReturn);
    }
    if source < flow || source <= back {
        return Err(NoBlend::SourceTooCold);
    }
    Ok(Blend { hot_share: Share::fraction((flow - back) / (source - back)) })
}

/// Why there is no blend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoBlend {
    /// The hot water is colder than the flow should be.
    SourceTooCold,
    FlowBelowReturn,
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for NoBlend {
    fn from(refusal: OutOfRange) -> Self {
        NoBlend::OutOfRange(refusal)
    }
}

impl fmt::Display for NoBlend {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            NoBlend::SourceTooCold => {
                write!(f, "the source is colder than the flow it should blend")
            }
            NoBlend::FlowBelowReturn => write!(f, "the flow is colder than the return"),
            NoBlend::OutOfRange(refusal) => refusal.fmt(f),
        }
    }
}

impl std::error::Error for NoBlend {}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 40 °C from 60 °C and 33 °C takes 7 parts in 27.
    #[test]
    fn a_blend_is_a_heat_balance() {
        let at =
            |flow, back, hot| blend(Temperature::celsius(flow), Temperature::celsius(back), Temperature::celsius(hot));
        let found = at(40.0, 33.0, 60.0).unwrap();
        assert!((found.hot_share.in_fraction() - 7.0 / 27.0).abs() < 1e-12);
        let loops = MassFlow::kilograms_per_second(0.27);
        assert!((found.primary_flow(loops).in_kilograms_per_second() - 0.07).abs() < 1e-12);
        assert_eq!(at(40.0, 33.0, 40.0).unwrap().hot_share, Share::fraction(1.0));
        assert_eq!(at(33.0, 33.0, 60.0).unwrap().hot_share, Share::ZERO);
        assert_eq!(at(40.0, 33.0, 39.0), Err(NoBlend::SourceTooCold));
        assert_eq!(at(33.0, 33.0, 33.0), Err(NoBlend::SourceTooCold));
        assert_eq!(at(30.0, 33.0, 60.0), Err(NoBlend::FlowBelowReturn));
        assert!(matches!(at(f64::NAN, 33.0, 60.0), Err(NoBlend::OutOfRange(_))));
    }
}
