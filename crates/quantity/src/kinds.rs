//! The kinds of measured value that the trade uses.

use crate::text::{Quantity, Unit};
use std::fmt;

const fn unit(spelling: &'static str, factor: f64) -> Unit {
    Unit { spelling, factor, offset: 0.0 }
}

/// What is larger, in SI, is printed with an exponent: a value that nobody can mean must not fill the screen.
const MOST_WRITTEN_OUT: f64 = 1e9;

/// One kind of value: a private number in SI, its ways in and out, its spellings, its printed form.
macro_rules! kind {
    ($(#[$doc:meta])* $name:ident, $kind:literal, $si:literal, [$($unit:expr),+ $(,)?],
     $($into:ident / $out:ident = $factor:expr),+ ; |$value:ident, $f:ident| $show:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            $(
                #[doc = concat!("A value from a number of ", stringify!($into), ".")]
                pub const fn $into(number: f64) -> Self { $name(number * $factor) }
                #[doc = concat!("The value as a number of ", stringify!($into), ".")]
                pub const fn $out(self) -> f64 { self.0 / $factor }
            )+
        }

        impl Quantity for $name {
            const KIND: &'static str = $kind;
            const SI_UNIT: &'static str = $si;
            const UNITS: &'static [Unit] = &[$($unit),+];
            fn si(self) -> f64 { self.0 }
            fn from_si(si: f64) -> Self { $name(si) }
        }

        impl fmt::Display for $name {
            fn fmt(&self, $f: &mut fmt::Formatter) -> fmt::Result {
                // Of seconds there are many; they are printed in days.
                if self.0.abs() > MOST_WRITTEN_OUT && Self::SI_UNIT != "s" {
                    return write!($f, "{:.2e} {}", self.0, Self::SI_UNIT.trim_start_matches('1'));
                }
                let $value = *self;
                $show
            }
        }
    };
}

/// Adding, taking away and scaling, for kinds where that means something.
macro_rules! amounts {
    ($($name:ident),+) => {$(
        impl std::ops::Add for $name { type Output = $name; fn add(self, other: $name) -> $name { $name(self.0 + other.0) } }
        impl std::ops::Sub for $name { type Output = $name; fn sub(self, other: $name) -> $name { $name(self.0 - other.0) } }
        impl std::ops::Neg for $name { type Output = $name; fn neg(self) -> $name { $name(-self.0) } }
        impl std::ops::AddAssign for $name { fn add_assign(&mut self, other: $name) { self.0 += other.0 } }
        impl std::ops::SubAssign for $name { fn sub_assign(&mut self, other: $name) { self.0 -= other.0 } }
        impl std::ops::Mul<f64> for $name { type Output = $name; fn mul(self, by: f64) -> $name { $name(self.0 * by) } }
        impl std::ops::Mul<$name> for f64 { type Output = $name; fn mul(self, of: $name) -> $name { $name(self * of.0) } }
        impl std::ops::Div<f64> for $name { type Output = $name; fn div(self, by: f64) -> $name { $name(self.0 / by) } }
        impl std::ops::Div for $name { type Output = f64; fn div(self, by: $name) -> f64 { self.0 / by.0 } }
        impl std::iter::Sum for $name {
            // Of nothing at all the sum of floating numbers is a negative zero.
            fn sum<I: Iterator<Item = $name>>(all: I) -> $name { $name(all.map(|one| one.0).sum::<f64>() + 0.0) }
        }
        impl $name {
            /// Nothing of it.
            pub const ZERO: $name = $name(0.0);
            /// The smaller of the two.
            pub const fn min(self, other: $name) -> $name { $name(self.0.min(other.0)) }
            /// The greater of the two.
            pub const fn max(self, other: $name) -> $name { $name(self.0.max(other.0)) }
            /// The size without the sign.
            pub const fn abs(self) -> $name { $name(self.0.abs()) }
        }
    )+};
}

kind! {
    /// How far, how thick, how long.
    Length, "a length", "m",
    [unit("mm", 1e-3), unit("m", 1.0), unit("cm", 1e-2), unit("µm", 1e-6), unit("um", 1e-6)],
    metres / in_metres = 1.0, millimetres / in_millimetres = 1e-3;
    |length, f| if length.0.abs() < 1.0 {
        let mm = length.in_millimetres();
        if (mm - mm.round()).abs() < 0.05 { write!(f, "{mm:.0} mm") } else { write!(f, "{mm:.1} mm") }
    } else { write!(f, "{:.1} m", length.0) }
}
kind! {
    /// A surface.
    Area, "an area", "m²", [unit("m²", 1.0), unit("m2", 1.0), unit("cm²", 1e-4), unit("mm²", 1e-6)],
    square_metres / in_square_metres = 1.0;
    |area, f| if area.0.abs() < 1.0 { write!(f, "{:.2} m²", area.0) } else { write!(f, "{:.1} m²", area.0) }
}
kind! {
    /// A content.
    Volume, "a volume", "m³", [unit("l", 1e-3), unit("m³", 1.0), unit("m3", 1.0), unit("ml", 1e-6)],
    cubic_metres / in_cubic_metres = 1.0, litres / in_litres = 1e-3;
    |volume, f| write!(f, "{:.1} l", volume.in_litres())
}
kind! {
    /// A length of time.
    Duration, "a duration", "s",
    [unit("min", 60.0), unit("h", 3600.0), unit("s", 1.0), unit("days", 86400.0), unit("day", 86400.0), unit("d", 86400.0), unit("hours", 3600.0), unit("minutes", 60.0), unit("weeks", 604800.0)],
    seconds / in_seconds = 1.0, minutes / in_minutes = 60.0, hours / in_hours = 3600.0, days / in_days = 86400.0;
    |time, f| if time.0 >= 86400.0 { let days = time.in_days().round(); write!(f, "{days} {}", if days == 1.0 { "day" } else { "days" }) } else if time.0 >= 7200.0 { write!(f, "{:.1} h", time.in_hours()) } else { write!(f, "{:.0} min", time.in_minutes()) }
}
kind! {
    /// A difference between two temperatures.
    TemperatureDifference, "a temperature difference", "K", [unit("K", 1.0)],
    kelvin / in_kelvin = 1.0;
    |difference, f| write!(f, "{:.1} K", difference.0)
}
kind! {
    /// A flow of heat.
    Power, "a power", "W", [unit("W", 1.0), unit("kW", 1e3)],
    watts / in_watts = 1.0, kilowatts / in_kilowatts = 1e3;
    |power, f| if power.0.abs() >= 10_000.0 { write!(f, "{:.1} kW", power.in_kilowatts()) } else { write!(f, "{:.0} W", power.0) }
}
kind! {
    /// A flow of heat through a surface.
    HeatFlux, "a heat flux", "W/m²", [unit("W/m²", 1.0), unit("W/m2", 1.0)],
    watts_per_square_metre / in_watts_per_square_metre = 1.0;
    |flux, f| write!(f, "{:.1} W/m²", flux.0)
}
kind! {
    /// How well a material conducts heat.
    Conductivity, "a conductivity", "W/(m·K)", [unit("W/(m·K)", 1.0), unit("W/mK", 1.0), unit("W/m.K", 1.0)],
    watts_per_metre_kelvin / in_watts_per_metre_kelvin = 1.0;
    |conductivity, f| write!(f, "{} W/(m·K)", rounded(conductivity.0, 3))
}
kind! {
    /// How well a layer holds heat back.
    ThermalResistance, "a thermal resistance", "m²·K/W",
    [unit("m²·K/W", 1.0), unit("m²K/W", 1.0), unit("m2K/W", 1.0), unit("m2.K/W", 1.0), unit("tog", 0.1)],
    square_metre_kelvin_per_watt / in_square_metre_kelvin_per_watt = 1.0;
    |resistance, f| write!(f, "{:.3} m²·K/W", resistance.0)
}
kind! {
    /// Heat through a surface for each kelvin: of a wall, of a floor, of a film.
    Transmittance, "a heat transfer coefficient", "W/(m²·K)",
    [unit("W/(m²·K)", 1.0), unit("W/m²K", 1.0), unit("W/m2K", 1.0), unit("W/m2.K", 1.0)],
    watts_per_square_metre_kelvin / in_watts_per_square_metre_kelvin = 1.0;
    |transmittance, f| write!(f, "{:.2} W/(m²·K)", transmittance.0)
}
kind! {
    /// A flow counted by what passes in kilograms.
    MassFlow, "a mass flow", "kg/s", [unit("kg/s", 1.0), unit("kg/h", 1.0 / 3600.0), unit("kg/min", 1.0 / 60.0)],
    kilograms_per_second / in_kilograms_per_second = 1.0;
    |flow, f| write!(f, "{:.4} kg/s", flow.0)
}
kind! {
    /// A flow counted by what passes in litres.
    VolumeFlow, "a flow", "m³/s",
    [unit("l/min", 1.0 / 60_000.0), unit("l/s", 1e-3), unit("l/h", 1.0 / 3_600_000.0), unit("m³/h", 1.0 / 3600.0), unit("m3/h", 1.0 / 3600.0), unit("m³/s", 1.0)],
    cubic_metres_per_second / in_cubic_metres_per_second = 1.0, litres_per_minute / in_litres_per_minute = 1.0 / 60_000.0;
    |flow, f| write!(f, "{:.2} l/min", flow.in_litres_per_minute())
}
kind! {
    /// How fast.
    Velocity, "a velocity", "m/s", [unit("m/s", 1.0)],
    metres_per_second / in_metres_per_second = 1.0;
    |velocity, f| write!(f, "{:.2} m/s", velocity.0)
}
kind! {
    /// A pressure, or a drop of it.
    Pressure, "a pressure", "Pa",
    [unit("kPa", 1e3), unit("bar", 1e5), unit("Pa", 1.0), unit("mbar", 1e2), unit("hPa", 1e2), unit("MPa", 1e6), unit("N/mm²", 1e6), unit("mH2O", 9806.65), unit("mWC", 9806.65)],
    pascals / in_pascals = 1.0, kilopascals / in_kilopascals = 1e3, bar / in_bar = 1e5;
    |pressure, f| if pressure.0.abs() >= 1e5 { write!(f, "{:.1} bar", pressure.in_bar()) } else if pressure.0.abs() >= 1e3 { write!(f, "{:.1} kPa", pressure.in_kilopascals()) } else { write!(f, "{:.0} Pa", pressure.0) }
}
kind! {
    /// Mass in a content.
    Density, "a density", "kg/m³", [unit("kg/m³", 1.0), unit("kg/m3", 1.0)],
    kilograms_per_cubic_metre / in_kilograms_per_cubic_metre = 1.0;
    |density, f| write!(f, "{:.0} kg/m³", density.0)
}
kind! {
    /// Mass on a surface.
    ArealMass, "a mass for each area", "kg/m²", [unit("kg/m²", 1.0), unit("kg/m2", 1.0)],
    kilograms_per_square_metre / in_kilograms_per_square_metre = 1.0;
    |mass, f| write!(f, "{:.0} kg/m²", mass.0)
}
kind! {
    /// Heat that a kilogram takes for each kelvin.
    SpecificHeat, "a specific heat capacity", "J/(kg·K)", [unit("J/(kg·K)", 1.0), unit("J/kgK", 1.0), unit("kJ/(kg·K)", 1e3), unit("kJ/kgK", 1e3)],
    joules_per_kilogram_kelvin / in_joules_per_kilogram_kelvin = 1.0;
    |heat, f| write!(f, "{:.0} J/(kg·K)", heat.0)
}
kind! {
    /// How thick a fluid runs.
    Viscosity, "a dynamic viscosity", "Pa·s", [unit("Pa·s", 1.0), unit("mPa·s", 1e-3)],
    pascal_seconds / in_pascal_seconds = 1.0;
    |viscosity, f| write!(f, "{:.4} mPa·s", viscosity.0 * 1e3)
}
kind! {
    /// Flow coefficient of a valve, Kv: cubic metres an hour of water at one bar.
    FlowCoefficient, "a flow coefficient Kv", "m³/h", [unit("m³/h", 1.0), unit("m3/h", 1.0)],
    cubic_metres_per_hour / in_cubic_metres_per_hour = 1.0;
    |kv, f| if kv.0.abs() >= 0.095 { write!(f, "Kv {:.2} m³/h", kv.0) } else { write!(f, "Kv {} m³/h", rounded(kv.0, 4)) }
}
kind! {
    /// A share of a whole.
    Share, "a share", "1", [unit("%", 0.01), unit("percent", 0.01)],
    fraction / in_fraction = 1.0, percent / in_percent = 0.01;
    |share, f| write!(f, "{} %", rounded(share.in_percent(), 1))
}
kind! {
    /// How often the air of a room is changed.
    AirChangeRate, "an air change rate", "1/s", [unit("1/h", 1.0 / 3600.0), unit("/h", 1.0 / 3600.0)],
    per_hour / in_per_hour = 1.0 / 3600.0;
    |rate, f| write!(f, "{} 1/h", rounded(rate.in_per_hour(), 2))
}
kind! {
    /// A content for each unit of power, as of the water that a heat pump wants in circuit.
    SpecificVolume, "a volume for each kilowatt", "m³/W", [unit("l/kW", 1e-6)],
    litres_per_kilowatt / in_litres_per_kilowatt = 1e-6;
    |volume, f| write!(f, "{:.1} l/kW", volume.in_litres_per_kilowatt())
}
kind! {
    /// A plain number, such as Reynolds'.
    Number, "a number", "1", [unit("1", 1.0)],
    new / get = 1.0;
    |number, f| write!(f, "{}", rounded(number.0, if number.0.abs() < 1000.0 { 3 } else { 0 }))
}
kind! {
    /// Electrical tension.
    Voltage, "a voltage", "V", [unit("V", 1.0), unit("kV", 1e3)],
    volts / in_volts = 1.0;
    |voltage, f| write!(f, "{} V", rounded(voltage.0, 1))
}
kind! {
    /// Electrical current.
    Current, "a current", "A", [unit("A", 1.0), unit("mA", 1e-3)],
    amperes / in_amperes = 1.0, milliamperes / in_milliamperes = 1e-3;
    |current, f| if current.0.abs() < 1.0 { write!(f, "{:.0} mA", current.in_milliamperes()) } else { write!(f, "{:.1} A", current.0) }
}
kind! {
    /// Electrical resistance.
    ElectricalResistance, "an electrical resistance", "Ω", [unit("Ω", 1.0), unit("ohm", 1.0), unit("MΩ", 1e6), unit("Mohm", 1e6), unit("kΩ", 1e3), unit("kohm", 1e3)],
    ohms / in_ohms = 1.0;
    |resistance, f| if resistance.0.abs() >= 1e5 { write!(f, "{} MΩ", rounded(resistance.0 / 1e6, 2)) } else { write!(f, "{} Ω", rounded(resistance.0, 1)) }
}
kind! {
    /// How far one direction lies from another, clockwise.
    Angle, "an angle", "°", [unit("°", 1.0), unit("deg", 1.0)],
    degrees / in_degrees = 1.0;
    |angle, f| write!(f, "{}°", rounded(angle.0, 1))
}

amounts!(
    Length,
    Area,
    Volume,
    Duration,
    TemperatureDifference,
    Power,
    HeatFlux,
    Conductivity,
    ThermalResistance,
    Transmittance,
    MassFlow,
    VolumeFlow,
    Velocity,
    Pressure,
    Density,
    ArealMass,
    SpecificHeat,
    Viscosity,
    FlowCoefficient,
    AirChangeRate,
    SpecificVolume,
    Share,
    Voltage,
    Current,
    ElectricalResistance
);

/// A point on the temperature scale, in degrees Celsius inside and out: every formula of this trade
/// takes differences, and files and figures name Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Temperature(f64);

impl Temperature {
    /// A temperature from degrees Celsius.
    pub const fn celsius(number: f64) -> Self {
        Temperature(number)
    }

    /// The temperature in degrees Celsius.
    pub const fn in_celsius(self) -> f64 {
        self.0
    }

    /// The cooler of the two.
    pub const fn min(self, other: Self) -> Self {
        Temperature(self.0.min(other.0))
    }

    /// The warmer of the two.
    pub const fn max(self, other: Self) -> Self {
        Temperature(self.0.max(other.0))
    }
}

impl Quantity for Temperature {
    const KIND: &'static str = "a temperature";
    const SI_UNIT: &'static str = "°C";
    const UNITS: &'static [Unit] = &[unit("°C", 1.0), unit("degC", 1.0), unit("C", 1.0), unit("deg C", 1.0)];
    fn si(self) -> f64 {
        self.0
    }
    fn from_si(si: f64) -> Self {
        Temperature(si)
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        if self.0.abs() > MOST_WRITTEN_OUT {
            return write!(f, "{:.2e} °C", self.0);
        }
        write!(f, "{:.1} °C", self.0)
    }
}

impl std::ops::Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Temperature) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}

impl std::ops::Add<TemperatureDifference> for Temperature {
    type Output = Temperature;
    fn add(self, by: TemperatureDifference) -> Temperature {
        Temperature(self.0 + by.0)
    }
}

impl std::ops::Sub<TemperatureDifference> for Temperature {
    type Output = Temperature;
    fn sub(self, by: TemperatureDifference) -> Temperature {
        Temperature(self.0 - by.0)
    }
}

/// A kind of value as data, for those who learn only from a text which kind it is.
#[derive(Debug)]
pub struct AnyKind {
    /// The kind in plain words, with its article.
    pub kind: &'static str,
    pub si_unit: &'static str,
    pub units: &'static [Unit],
    /// A value, given in SI, as the trade writes it.
    pub shown: fn(f64) -> String,
}

impl AnyKind {
    /// Its units, each in its usual spelling.
    pub fn usual_units(&self) -> impl Iterator<Item = &'static Unit> {
        let units = self.units;
        let is_first = move |at: usize, unit: &Unit| {
            !units[..at].iter().any(|it| (it.factor, it.offset) == (unit.factor, unit.offset))
        };
        units.iter().enumerate().filter(move |(at, unit)| is_first(*at, unit)).map(|(_, unit)| unit)
    }
}

macro_rules! any_kinds {
    ($($name:ident),+ $(,)?) => {
        &[$(AnyKind {
            kind: $name::KIND,
            si_unit: $name::SI_UNIT,
            units: $name::UNITS,
            shown: |si| $name(si).to_string(),
        }),+]
    };
}

/// Every kind; but for angles, whose `°` is rather a temperature half typed.
pub const KINDS: &[AnyKind] = any_kinds![
    Length,
    Area,
    Volume,
    Duration,
    TemperatureDifference,
    Power,
    HeatFlux,
    Conductivity,
    ThermalResistance,
    Transmittance,
    MassFlow,
    VolumeFlow,
    Velocity,
    Pressure,
    Density,
    ArealMass,
    SpecificHeat,
    Viscosity,
    FlowCoefficient,
    Share,
    AirChangeRate,
    SpecificVolume,
    Number,
    Voltage,
    Current,
    ElectricalResistance,
    Temperature,
];

/// A number to so many places, without trailing zeros.
fn rounded(number: f64, places: i32) -> f64 {
    let scale = 10f64.powi(places);
    (number * scale).round() / scale
}
