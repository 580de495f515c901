//! Heat from the water to the inner wall of the pipe.

use crate::out_of_range::{Method, OutOfRange};
use crate::water::fluids::Properties;
use crate::water::pipe_friction;
use quantity::{Length, MassFlow, Transmittance};

/// Heat transfer on the inner wall that EN 1264's tables were worked out with: turbulent water.
pub const TURBULENT: Transmittance = Transmittance::watts_per_square_metre_kelvin(2200.0);

/// Heat transfer from the water to the inner wall, by the flow.
///
/// Laminar water gives a tenth of what turbulent water gives; in the loop of a floor that costs 5 to
/// 15 % of the output.
///
/// Units: as typed. Source: laminar, Nusselt number 4.36 (constant heat flux); turbulent, Gnielinski
/// from Re 4000; between Re 2300 and 4000 straight from one to the other (V. Gnielinski 2013). Long
/// pipes, no entry. Holds for: bore of 2 to 200 mm, Re to 1e6, Prandtl number of 0.5 to 200.
pub fn coefficient(flow: MassFlow, bore: Length, fluid: &Properties) -> Result<Transmittance, OutOfRange> {
    let method = Method("the heat transfer in pipes");
    let diameter = method.takes("bore", bore, 2.0..=200.0)?;
    let prandtl = method.takes_number("Prandtl number", fluid.prandtl(), 0.5..=200.0)?;
    let reynolds = pipe_friction::reynolds(flow, bore, fluid);
    let reynolds = method.takes_number("Reynolds number", reynolds, 0.0..=1e6)?;
    let turbulent = |reynolds: f64| {
        let factor = (1.82 * reynolds.log10() - 1.64).powi(-2) / 8.0;
        factor * (reynolds - 1000.0) * prandtl / (1.0 + 12.7 * factor.sqrt() * (prandtl.powf(2.0 / 3.0) - 1.0))
    };
    let nusselt = if reynolds <= 2300.0 {
        LAMINAR
    } else if reynolds >= 4000.0 {
        turbulent(reynolds)
    } else {
        let share = (reynolds - 2300.0) / 1700.0;
        LAMINAR + (turbulent(4000.0) - LAMINAR) * share
    };
    let conductivity = fluid.conductivity.in_watts_per_metre_kelvin();
    Ok(Transmittance::watts_per_square_metre_kelvin(nusselt * conductivity / diameter))
}

const LAMINAR: f64 = 4.36;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::fluids::Fluid;
    use quantity::Temperature;

    /// ht 1.2.0, `turbulent_Gnielinski(Re, Pr, fd)` with `fd = (1.82 log10(Re) − 1.64)⁻²`: water of 35 °C
    /// in a bore of 12 mm.
    #[test]
    fn laminar_turbulent_and_between() {
        let fluid = Fluid::Water.at(Temperature::celsius(35.0)).unwrap();
        let bore = Length::millimetres(12.0);
        let at = |flow| {
            coefficient(MassFlow::kilograms_per_second(flow), bore, &fluid)
                .map(Transmittance::in_watts_per_square_metre_kelvin)
        };
        assert!((at(0.010).unwrap() - 4.36 * 0.6218 / 0.012).abs() < 0.5);
        assert!((at(0.030).unwrap() - 1609.4).abs() < 2.0);
        assert!((at(0.060).unwrap() - 3192.8).abs() < 4.0);
        let mut last = 0.0;
        for step in 16..200 {
            let found = at(f64::from(step) * 0.001).unwrap();
            assert!(found > last, "at {step} g/s");
            last = found;
        }
        assert!(at(-0.01).is_err());
    }
}
