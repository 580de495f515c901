//! What the water in the loops is like, with or without glycol.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{Conductivity, Density, Pressure, Share, SpecificHeat, Temperature, Viscosity};

/// What fills the loops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fluid {
    Water,
    /// Water with glycol, the glycol as a share of the mass; [`mass_share`] gives it from the share
    /// of the volume that labels name.
    Mixture {
        glycol: Glycol,
        mass_share: Share,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glycol {
    Propylene,
    Ethylene,
}

/// A fluid at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    pub density: Density,
    pub specific_heat: SpecificHeat,
    pub viscosity: Viscosity,
    pub conductivity: Conductivity,
}

const WATER: Method = Method("the fit of the properties of water");
const GLYCOL: Method = Method("the fit of the properties of glycol mixtures");

impl Fluid {
    /// Density, specific heat, viscosity and conductivity at a temperature.
    ///
    /// Units: as typed. Source: water, fits to IAPWS-95 at 2 bar (density within 2e-5, specific heat
    /// 2e-4, viscosity 1.2e-3, conductivity 7e-4); glycols, fits to the incompressible mixtures of
    /// CoolProp (within 0.1 %). A second set of glycol data differs by up to 3 % in viscosity and 2 %
    /// in specific heat, and inhibitors shift both.
    /// Holds for: water 5 to 90 °C; mixtures 5 to 60 °C, 15 to 50 % by mass.
    pub fn at(self, temperature: Temperature) -> Result<Properties, OutOfRange> {
        let (density, specific_heat, log_viscosity, conductivity) = match self {
            Fluid::Water => {
                let x = WATER.takes("temperature of the water", temperature, 5.0..=90.0)? / 100.0;
                (
                    polynomial(&WATER_DENSITY, x),
                    polynomial(&WATER_SPECIFIC_HEAT, x),
                    polynomial(&WATER_LOG_VISCOSITY, x),
                    polynomial(&WATER_CONDUCTIVITY, x),
                )
            }
            Fluid::Mixture { glycol, mass_share } => {
                let x = GLYCOL.takes("temperature of the mixture", temperature, 5.0..=60.0)? / 100.0;
                let w = glycol_share(mass_share)?;
                let fit = glycol.fit();
                (
                    surface(&fit.density, w, x),
                    surface(&fit.specific_heat, w, x),
                    surface(&fit.log_viscosity, w, x),
                    surface(&fit.conductivity, w, x),
                )
            }
        };
        Ok(Properties {
            density: Density::kilograms_per_cubic_metre(density),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(specific_heat),
            viscosity: Viscosity::pascal_seconds(log_viscosity.exp()),
            conductivity: Conductivity::watts_per_metre_kelvin(conductivity),
        })
    }

    /// Temperature at which ice begins to form. This is not protection against bursting: that ends
    /// lower, and inhibitors shift it.
    ///
    /// Units: °C. Source: fit to the incompressible mixtures of CoolProp, within 0.05 K; water 0 °C.
    /// Holds for: mixtures of 15 to 50 % by mass.
    pub fn freezing_point(self) -> Result<Temperature, OutOfRange> {
        let Fluid::Mixture { glycol, mass_share } = self else {
            return Ok(Temperature::celsius(0.0));
        };
        let w = glycol_share(mass_share)?;
        Ok(Temperature::celsius(polynomial(&glycol.fit().freezing_point, w)))
    }
}

impl Properties {
    /// Viscosity over density, in m²/s.
    pub fn kinematic_viscosity(&self) -> f64 {
        self.viscosity.in_pascal_seconds() / self.density.in_kilograms_per_cubic_metre()
    }

    /// Specific heat times viscosity over conductivity.
    pub fn prandtl(&self) -> f64 {
        self.specific_heat.in_joules_per_kilogram_kelvin() * self.viscosity.in_pascal_seconds()
            / self.conductivity.in_watts_per_metre_kelvin()
    }
}

/// Share of the mass from the share of the volume, which is what labels name; both parts measured at
/// 20 °C before they are mixed.
///
/// Units: shares. Source: densities at 20 °C of CoolProp (water 998.2, propylene glycol 1036.4,
/// ethylene glycol 1113.4 kg/m³). Holds for: 0 to 100 %.
pub fn mass_share(glycol: Glycol, volume_share: Share) -> Result<Share, OutOfRange> {
    let share = Method("glycol by volume").takes("share of glycol", volume_share, 0.0..=100.0)?;
    let (pure, water) = (glycol.density_at_20_celsius(), WATER_AT_20_CELSIUS);
    Ok(Share::fraction(share * pure / (share * pure + (1.0 - share) * water)))
}

/// Share of the volume from the share of the mass: [`mass_share`] turned round.
///
/// Units, source, range: as there.
pub fn volume_share(glycol: Glycol, mass_share: Share) -> Result<Share, OutOfRange> {
    let share = Method("glycol by mass").takes("share of glycol", mass_share, 0.0..=100.0)?;
    let (pure, water) = (glycol.density_at_20_celsius(), WATER_AT_20_CELSIUS);
    Ok(Share::fraction(share / pure / (share / pure + (1.0 - share) / water)))
}

/// Pressure, absolute, at which water boils at a temperature.
///
/// Units: as typed. Source: IAPWS-IF97, region 4. Holds for: 0.01 to 370 °C.
pub fn vapour_pressure(temperature: Temperature) -> Result<Pressure, OutOfRange> {
    let celsius = BOILING.takes("temperature of the water", temperature, 0.01..=370.0)?;
    let kelvin = celsius + 273.15;
    let t = kelvin + IF97[8] / (kelvin - IF97[9]);
    let a = t * t + IF97[0] * t + IF97[1];
    let b = IF97[2] * t * t + IF97[3] * t + IF97[4];
    let c = IF97[5] * t * t + IF97[6] * t + IF97[7];
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    Ok(Pressure::pascals(root.powi(4) * 1e6))
}

/// Temperature at which water boils at an absolute pressure: [`vapour_pressure`] turned round.
///
/// Units, source: as there. Holds for: 0.62 to 20 000 kPa.
pub fn saturation_temperature(pressure: Pressure) -> Result<Temperature, OutOfRange> {
    let pascals = BOILING.takes("vapour pressure", pressure, 0.62..=20_000.0)?;
    let beta = (pascals / 1e6).powf(0.25);
    let e = beta * beta + IF97[2] * beta + IF97[5];
    let f = IF97[0] * beta * beta + IF97[3] * beta + IF97[6];
    let g = IF97[1] * beta * beta + IF97[4] * beta + IF97[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = IF97[9] + d;
    let kelvin = (sum - (sum * sum - 4.0 * (IF97[8] + IF97[9] * d)).sqrt()) / 2.0;
    Ok(Temperature::celsius(kelvin - 273.15))
}

const BOILING: Method = Method("the boiling of water");
/// The ten numbers of the saturation line.
#[rustfmt::skip]
const IF97: [f64; 10] = [
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
];

fn glycol_share(mass_share: Share) -> Result<f64, OutOfRange> {
    GLYCOL.takes("glycol by mass", mass_share, 15.0..=50.0)
}

/// `Σ cᵢ xⁱ`.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// `Σ cⱼᵢ wʲ xⁱ`.
fn surface<const ROWS: usize, const COLUMNS: usize>(coefficients: &[[f64; COLUMNS]; ROWS], w: f64, x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, row| sum * w + polynomial(row, x))
}

/// Fits in x = °C / 100 and w = mass share.
struct Fit {
    density: [[f64; 3]; 3],
    specific_heat: [[f64; 3]; 3],
    log_viscosity: [[f64; 4]; 4],
    conductivity: [[f64; 3]; 3],
    freezing_point: [f64; 4],
}

impl Glycol {
    const fn fit(self) -> &'static Fit {
        match self {
            Glycol::Propylene => &PROPYLENE,
            Glycol::Ethylene => &ETHYLENE,
        }
    }

    const fn density_at_20_celsius(self) -> f64 {
        match self {
            Glycol::Propylene => 1036.4,
            Glycol::Ethylene => 1113.4,
        }
    }
}

const WATER_AT_20_CELSIUS: f64 = 998.2;
const WATER_DENSITY: [f64; 5] = [999.994051, 4.46493148, -73.5333961, 40.3535479, -12.9981121];
const WATER_SPECIFIC_HEAT: [f64; 5] = [4215.64263, -266.745041, 663.922705, -678.667958, 284.773885];
const WATER_LOG_VISCOSITY: [f64; 5] = [-6.32970312, -3.37207385, 2.8080381, -1.89305763, 0.617910396];
const WATER_CONDUCTIVITY: [f64; 4] = [0.556947394, 0.233582344, -0.151515066, 0.0393107345];

#[rustfmt::skip]
const PROPYLENE: Fit = Fit {
    density: [
        [994.543272, 8.48413534, -47.4086284],
        [140.427327, -164.827855, 80.8642283],
        [-52.6383094, 64.9195001, -43.6462862],
    ],
    specific_heat: [
        [4125.30632, 23.2877317, 110.552683],
        [-676.444357, 1021.61557, -711.886481],
        [-1335.20053, -616.790961, 985.564679],
    ],
    log_viscosity: [
        [-6.23132493, -3.39514124, 2.35837972, -0.870013018],
        [2.72809097, -1.9830681, 2.37252912, -1.58582132],
        [7.53921254, -18.6427035, 13.4812954, -0.4465],
        [-7.80273994, 21.2563428, -15.89, 1.76528806e-10],
    ],
    conductivity: [
        [0.563093336, 0.190638075, -0.0703881789],
        [-0.483094246, -0.486029791, 0.357209545],
        [0.112485948, 0.403094651, -0.416099547],
    ],
    freezing_point: [2.995422, -62.88169, 108.5705, -246.7849],
};

#[rustfmt::skip]
const ETHYLENE: Fit = Fit {
    density: [
        [995.704439, 7.69608234, -45.0772423],
        [173.972473, -152.447301, 72.9416531],
        [-30.9726545, 92.2793858, -44.0282476],
    ],
    specific_heat: [
        [4214.81838, -96.1866656, 130.447786],
        [-1606.90145, 1387.44507, -699.815985],
        [-848.945215, -97.9534318, 410.072625],
    ],
    log_viscosity: [
        [-6.38564389, -3.27114898, 2.27488199, -0.878961607],
        [3.35874093, -2.02873981, -0.683515562, 2.3605829],
        [-1.21170131, 0.496351698, 3.45432068, -6.475],
        [1.37689684, -2.14139297, 4.063, 1.33269809e-10],
    ],
    conductivity: [
        [0.567623247, 0.191262708, -0.0777691073],
        [-0.442020224, -0.39413039, 0.320550608],
        [0.119779564, 0.27494348, -0.335576453],
    ],
    freezing_point: [-0.7983552, -19.12414, -69.68464, -65.81247],
};

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    fn mixture(glycol: Glycol, mass_share: f64) -> Fluid {
        Fluid::Mixture { glycol, mass_share: Share::fraction(mass_share) }
    }

    /// IAPWS-95 (CoolProp 8.0.0, `PropsSI("D", "T", t + 273.15, "P", 2e5, "Water")` and so on) and
    /// IAPWS-IF97 (iapws 1.5.5, `IAPWS97(T=t + 273.15, P=0.2)`); the two agree to 2e-5 in density and
    /// viscosity, 5e-4 in specific heat.
    #[test]
    fn water_agrees_with_the_steam_tables() {
        for (celsius, density, specific_heat, viscosity, conductivity) in [
            (5.0, 1000.02, 4204.6, 1.5180, 0.5679),
            (20.0, 998.25, 4183.7, 1.0016, 0.5981),
            (35.0, 994.08, 4179.0, 0.7191, 0.6218),
            (50.0, 988.08, 4181.1, 0.5465, 0.6407),
            (70.0, 977.81, 4189.9, 0.4036, 0.6598),
            (90.0, 965.35, 4205.0, 0.3142, 0.6728),
        ] {
            let found = Fluid::Water.at(Temperature::celsius(celsius)).unwrap();
            near(found.density.in_kilograms_per_cubic_metre(), density, 0.03);
            near(found.specific_heat.in_joules_per_kilogram_kelvin(), specific_heat, 0.9);
            near(found.viscosity.in_pascal_seconds() * 1e3, viscosity, viscosity * 1.3e-3);
            near(found.conductivity.in_watts_per_metre_kelvin(), conductivity, 5e-4);
        }
        let found = Fluid::Water.at(Temperature::celsius(35.0)).unwrap();
        near(found.kinematic_viscosity(), 7.2342e-7, 3e-10);
    }

    /// CoolProp 8.0.0, `PropsSI(key, "T", t + 273.15, "P", 2e5, "INCOMP::MPG-25%")` and so on, and
    /// `T_freeze`.
    #[test]
    fn mixtures_agree_with_the_incompressible_fluids_of_an_open_library() {
        use Glycol::{Ethylene, Propylene};
        for (glycol, share, celsius, density, specific_heat, viscosity, conductivity, freezes) in [
            (Propylene, 0.20, 10.0, 1017.86, 3956.08, 2.87472, 0.481777, -7.173),
            (Propylene, 0.25, 35.0, 1012.48, 3956.67, 1.54174, 0.481389, -9.785),
            (Propylene, 0.40, 55.0, 1009.86, 3818.21, 1.43616, 0.423162, -20.568),
            (Ethylene, 0.20, 10.0, 1026.94, 3878.30, 2.25040, 0.496163, -7.949),
            (Ethylene, 0.25, 35.0, 1024.90, 3845.89, 1.27969, 0.500831, -10.966),
            (Ethylene, 0.40, 55.0, 1032.32, 3652.42, 1.18803, 0.451680, -23.813),
        ] {
            let fluid = mixture(glycol, share);
            let found = fluid.at(Temperature::celsius(celsius)).unwrap();
            near(found.density.in_kilograms_per_cubic_metre(), density, density * 5e-4);
            let found_heat = found.specific_heat.in_joules_per_kilogram_kelvin();
            near(found_heat, specific_heat, specific_heat * 1.1e-3);
            near(found.viscosity.in_pascal_seconds() * 1e3, viscosity, viscosity * 1e-3);
            let found_conductivity = found.conductivity.in_watts_per_metre_kelvin();
            near(found_conductivity, conductivity, conductivity * 1e-3);
            near(fluid.freezing_point().unwrap().in_celsius(), freezes, 0.05);
        }
    }

    /// The table of check values of IAPWS-IF97, region 4.
    #[test]
    fn the_saturation_line_agrees_with_its_check_values() {
        for (kelvin, pascals) in [(300.0, 0.353658941e4), (500.0, 0.263889776e7)] {
            let found = vapour_pressure(Temperature::celsius(kelvin - 273.15)).unwrap();
            near(found.in_pascals(), pascals, pascals * 1e-8);
        }
        for (pascals, kelvin) in [(1e5, 0.372755919e3), (1e6, 0.453035632e3)] {
            let found = saturation_temperature(Pressure::pascals(pascals)).unwrap();
            near(found.in_celsius() + 273.15, kelvin, 1e-6);
        }
        assert!(vapour_pressure(Temperature::celsius(-1.0)).is_err());
    }

    #[test]
    fn freezing_points_and_ranges() {
        let celsius = Temperature::celsius;
        assert!(Fluid::Water.at(celsius(4.9)).is_err());
        assert!(Fluid::Water.at(celsius(90.1)).is_err());
        assert!(Fluid::Water.at(celsius(f64::NAN)).is_err());
        assert!(mixture(Glycol::Propylene, 0.25).at(celsius(61.0)).is_err());
        assert!(mixture(Glycol::Propylene, 0.10).at(celsius(35.0)).is_err());
        assert!(mixture(Glycol::Ethylene, 0.51).freezing_point().is_err());
        assert_eq!(Fluid::Water.freezing_point(), Ok(celsius(0.0)));
        let mut last = 0.0;
        for percent in 15..=50 {
            let fluid = mixture(Glycol::Ethylene, f64::from(percent) / 100.0);
            let freezes = fluid.freezing_point().unwrap().in_celsius();
            assert!(freezes < last, "at {percent} %");
            last = freezes;
        }
    }

    #[test]
    fn viscosity_falls_with_warmth_and_rises_with_glycol() {
        for glycol in [Glycol::Propylene, Glycol::Ethylene] {
            for percent in 15..50 {
                for celsius in 5..60 {
                    let at = |percent: i32, celsius: i32| {
                        let fluid = mixture(glycol, f64::from(percent) / 100.0);
                        fluid.at(Temperature::celsius(f64::from(celsius))).unwrap().viscosity
                    };
                    assert!(at(percent, celsius) > at(percent, celsius + 1));
                    assert!(at(percent + 1, celsius) > at(percent, celsius));
                }
            }
        }
    }

    /// A label of 30 % by volume is about 31 % (propylene) and 32 % (ethylene) by mass.
    #[test]
    fn labels_name_the_volume() {
        let share = |glycol| mass_share(glycol, Share::percent(30.0)).unwrap();
        near(share(Glycol::Propylene).in_percent(), 30.8, 0.1);
        near(share(Glycol::Ethylene).in_percent(), 32.3, 0.1);
        let back = volume_share(Glycol::Ethylene, share(Glycol::Ethylene)).unwrap();
        near(back.in_percent(), 30.0, 1e-9);
        assert!(mass_share(Glycol::Ethylene, Share::percent(101.0)).is_err());
    }
}
