//! The products that the trade uses, and no others.

use crate::kinds::*;
use std::ops::{Div, Mul};

macro_rules! product {
    ($($left:ident * $right:ident = $result:ident;)+) => {$(
        impl Mul<$right> for $left {
            type Output = $result;
            fn mul(self, right: $right) -> $result {
                use crate::Quantity;
                $result::from_si(self.si() * right.si())
            }
        }
        impl Div<$right> for $result {
            type Output = $left;
            fn div(self, right: $right) -> $left {
                use crate::Quantity;
                $left::from_si(self.si() / right.si())
            }
        }
    )+};
}

product! {
    HeatFlux * Area = Power;
    Transmittance * TemperatureDifference = HeatFlux;
    HeatFlux * ThermalResistance = TemperatureDifference;
    ThermalResistance * Conductivity = Length;
    Density * Length = ArealMass;
    VolumeFlow * Density = MassFlow;
    Area * Length = Volume;
    Velocity * Area = VolumeFlow;
    Current * Voltage = Power;
}

impl Div<Transmittance> for HeatFlux {
    type Output = TemperatureDifference;
    fn div(self, by: Transmittance) -> TemperatureDifference {
        TemperatureDifference::kelvin(self.in_watts_per_square_metre() / by.in_watts_per_square_metre_kelvin())
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Length) -> Area {
        Area::square_metres(self.in_metres() * other.in_metres())
    }
}

impl Div<Length> for Area {
    type Output = Length;
    fn div(self, by: Length) -> Length {
        Length::metres(self.in_square_metres() / by.in_metres())
    }
}

impl ThermalResistance {
    /// The resistance of a layer from its thickness and conductivity.
    pub fn of(thickness: Length, conductivity: Conductivity) -> ThermalResistance {
        ThermalResistance::square_metre_kelvin_per_watt(
            thickness.in_metres() / conductivity.in_watts_per_metre_kelvin(),
        )
    }
}
