//! Units that a design is not written in, but that say the same quantity: what is written in one can be converted.
//!
//! The factors are those of NIST Special Publication 811 (2008), appendix B; written from memory.

use crate::text::Unit;

const fn unit(spelling: &'static str, factor: f64) -> Unit {
    Unit { spelling, factor, offset: 0.0 }
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const POUND: f64 = 0.45359237;
/// International Table, in joules.
const BRITISH_THERMAL_UNIT: f64 = 1055.05585262;
const METRE_OF_WATER: f64 = 9806.65;

/// The other units of a kind, counted in its SI unit.
pub(crate) fn of(kind: &str) -> &'static [Unit] {
    OTHER_UNITS.iter().find(|(of, _)| *of == kind).map_or(&[], |(_, units)| units)
}

/// Gallons are not among them: there are two.
const OTHER_UNITS: &[(&str, &[Unit])] = &[
    (
        "a length",
        &[
            unit("dm", 0.1),
            unit("km", 1e3),
            unit("in", INCH),
            unit("inch", INCH),
            unit("inches", INCH),
            unit("\"", INCH),
            unit("″", INCH),
            unit("ft", FOOT),
            unit("foot", FOOT),
            unit("feet", FOOT),
            unit("'", FOOT),
            unit("′", FOOT),
            unit("yd", 3.0 * FOOT),
            unit("metres", 1.0),
            unit("meters", 1.0),
            unit("millimetres", 1e-3),
            unit("millimeters", 1e-3),
        ],
    ),
    (
        "an area",
        &[
            unit("dm²", 1e-2),
            unit("sqm", 1.0),
            unit("qm", 1.0),
            unit("in²", INCH * INCH),
            unit("ft²", FOOT * FOOT),
            unit("sqft", FOOT * FOOT),
        ],
    ),
    (
        "a volume",
        &[
            unit("cl", 1e-5),
            unit("dl", 1e-4),
            unit("hl", 0.1),
            unit("dm³", 1e-3),
            unit("cm³", 1e-6),
            unit("litres", 1e-3),
            unit("liters", 1e-3),
            unit("litre", 1e-3),
            unit("liter", 1e-3),
            unit("ft³", FOOT * FOOT * FOOT),
        ],
    ),
    (
        "a duration",
        &[
            unit("sec", 1.0),
            unit("seconds", 1.0),
            unit("minute", 60.0),
            unit("mins", 60.0),
            unit("hr", 3600.0),
            unit("hrs", 3600.0),
            unit("hour", 3600.0),
            unit("week", 604_800.0),
        ],
    ),
    (
        "a temperature",
        &[
            Unit { spelling: "K", factor: 1.0, offset: -273.15 },
            Unit { spelling: "°K", factor: 1.0, offset: -273.15 },
            Unit { spelling: "degK", factor: 1.0, offset: -273.15 },
            Unit { spelling: "°F", factor: 5.0 / 9.0, offset: -160.0 / 9.0 },
            Unit { spelling: "degF", factor: 5.0 / 9.0, offset: -160.0 / 9.0 },
            Unit { spelling: "F", factor: 5.0 / 9.0, offset: -160.0 / 9.0 },
        ],
    ),
    (
        "a temperature difference",
        &[
            unit("°C", 1.0),
            unit("degC", 1.0),
            unit("C", 1.0),
            unit("kelvin", 1.0),
            unit("°F", 5.0 / 9.0),
            unit("degF", 5.0 / 9.0),
            unit("F", 5.0 / 9.0),
        ],
    ),
    (
        "a power",
        &[
            unit("mW", 1e-3),
            unit("MW", 1e6),
            unit("watts", 1.0),
            unit("BTU/h", BRITISH_THERMAL_UNIT / 3600.0),
            unit("Btu/h", BRITISH_THERMAL_UNIT / 3600.0),
            unit("BTU/hr", BRITISH_THERMAL_UNIT / 3600.0),
            unit("kcal/h", 4186.8 / 3600.0),
        ],
    ),
    (
        "a heat flux",
        &[
            unit("kW/m²", 1e3),
            unit("W/ft²", 1.0 / (FOOT * FOOT)),
            unit("BTU/(h·ft²)", BRITISH_THERMAL_UNIT / 3600.0 / (FOOT * FOOT)),
        ],
    ),
    ("a conductivity", &[unit("W/m/K", 1.0), unit("mW/(m·K)", 1e-3), unit("W/(m·°C)", 1.0), unit("W/(cm·K)", 100.0)]),
    ("a thermal resistance", &[unit("m²·°C/W", 1.0), unit("K·m²/W", 1.0), unit("clo", 0.155)]),
    ("a heat transfer coefficient", &[unit("W/m²/K", 1.0), unit("W/(m²·°C)", 1.0)]),
    (
        "a flow",
        &[
            unit("ml/min", 1e-6 / 60.0),
            unit("ml/s", 1e-6),
            unit("cm³/s", 1e-6),
            unit("m³/min", 1.0 / 60.0),
            unit("l/hr", 1e-3 / 3600.0),
            unit("lpm", 1e-3 / 60.0),
            unit("lph", 1e-3 / 3600.0),
            unit("litres/min", 1e-3 / 60.0),
            unit("litres/h", 1e-3 / 3600.0),
        ],
    ),
    (
        "a velocity",
        &[
            unit("mm/s", 1e-3),
            unit("cm/s", 1e-2),
            unit("m/min", 1.0 / 60.0),
            unit("m/h", 1.0 / 3600.0),
            unit("km/h", 1e3 / 3600.0),
            unit("ft/s", FOOT),
        ],
    ),
    // The pump trade gives a head in metres: of water.
    (
        "a pressure",
        &[
            unit("m", METRE_OF_WATER),
            unit("mWS", METRE_OF_WATER),
            unit("cmH2O", METRE_OF_WATER / 100.0),
            unit("mmH2O", METRE_OF_WATER / 1000.0),
            unit("psi", 6894.757),
            unit("N/m²", 1.0),
            unit("kN/m²", 1e3),
            unit("mPa", 1e-3),
            unit("daPa", 10.0),
            unit("GPa", 1e9),
            unit("atm", 101_325.0),
            unit("ft", FOOT * METRE_OF_WATER),
        ],
    ),
    ("a density", &[unit("g/cm³", 1e3), unit("kg/l", 1e3), unit("kg/dm³", 1e3), unit("g/l", 1.0), unit("t/m³", 1e3)]),
    ("a mass for each area", &[unit("g/m²", 1e-3), unit("t/m²", 1e3), unit("lb/ft²", POUND / (FOOT * FOOT))]),
    ("a specific heat capacity", &[unit("Wh/(kg·K)", 3600.0), unit("J/kg/K", 1.0), unit("kJ/kg/K", 1e3)]),
    ("a flow coefficient Kv", &[unit("l/h", 1e-3), unit("l/min", 0.06), unit("l/s", 3.6)]),
    ("a share", &[unit("‰", 1e-3)]),
    ("an air change rate", &[unit("1/s", 1.0), unit("ach", 1.0 / 3600.0), unit("h-1", 1.0 / 3600.0)]),
    ("a volume for each kilowatt", &[unit("l/W", 1e-3), unit("m³/kW", 1e-3), unit("ml/W", 1e-6)]),
    ("a voltage", &[unit("mV", 1e-3), unit("MV", 1e6), unit("volts", 1.0)]),
    ("a current", &[unit("µA", 1e-6), unit("kA", 1e3), unit("amps", 1.0)]),
    (
        "an electrical resistance",
        &[unit("mΩ", 1e-3), unit("mohm", 1e-3), unit("GΩ", 1e9), unit("Gohm", 1e9), unit("ohms", 1.0)],
    ),
];
