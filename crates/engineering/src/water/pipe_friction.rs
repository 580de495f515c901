//! Pressure that water loses along a pipe, in its bends and its valves.

use super::fluids::Properties;
use super::valves;
use crate::out_of_range::{Method, OutOfRange};
use quantity::{Area, Density, FlowCoefficient, Length, MassFlow, Pressure, Share, Velocity};
use std::f64::consts::{LN_10, PI};

/// Loss coefficient of a 180° turn with a radius of 5 to 8 bores, over the straight pipe of the same
/// length (Rennels, Crane, less their arc friction; 0.15 to 0.5).
pub const HALF_TURN: f64 = 0.3;
/// The same for a 90° turn.
pub const QUARTER_TURN: f64 = 0.2;

const FRICTION: Method = Method("the friction of pipes");
const LAMINAR_TO: f64 = 2000.0;
const TURBULENT_FROM: f64 = 4000.0;

/// Reynolds number of a flow through a round bore, `4 ṁ / (π d μ)`.
///
/// Units: as typed. Source: definition. Holds for: a bore and a viscosity above zero.
pub fn reynolds(flow: MassFlow, bore: Length, fluid: &Properties) -> f64 {
    4.0 * flow.in_kilograms_per_second() / (PI * bore.in_metres() * fluid.viscosity.in_pascal_seconds())
}

/// Mean velocity of a flow through a round bore.
///
/// Units: as typed. Source: definition. Holds for: a bore and a density above zero.
pub fn velocity(flow: MassFlow, bore: Length, fluid: &Properties) -> Velocity {
    flow / fluid.density / Area::square_metres(PI / 4.0 * bore.in_metres() * bore.in_metres())
}

/// Friction factor after Darcy: `64/Re` up to Re 2000, Colebrook–White from 4000, and between them a
/// curve that joins both without a jump or a kink.
///
/// The bridge is a convention: flow between 2000 and 4000 is not steady, and lies somewhere between
/// [`friction_band`]'s ends.
///
/// Units: none; roughness as a share of the bore. Source: Hagen–Poiseuille; Colebrook–White in the
/// explicit form of Serghides (within 3e-5); cubic Hermite between. Holds for: Re above 0 to 1e6,
/// roughness 0 to 2 % of the bore.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> Result<f64, OutOfRange> {
    let roughness = FRICTION.takes_number("roughness over bore", relative_roughness, 0.0..=0.02)?;
    let reynolds = FRICTION.takes_number("Reynolds number", reynolds, 1e-9..=1e6)?;
    Ok(Law::new(roughness).factor(reynolds))
}

/// Between Re 2000 and 4000 the factors of laminar and of turbulent flow, which are the ends of what
/// can happen; elsewhere none.
///
/// Units, source, range: as [`friction_factor`].
pub fn friction_band(reynolds: f64, relative_roughness: f64) -> Result<Option<(f64, f64)>, OutOfRange> {
    friction_factor(reynolds, relative_roughness)?;
    Ok((LAMINAR_TO < reynolds && reynolds < TURBULENT_FROM)
        .then(|| (64.0 / reynolds, turbulent(reynolds, relative_roughness))))
}

/// A run of pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Along the centre line, bends included.
    pub length: Length,
    pub bore: Length,
    /// Height of the roughness of the wall.
    pub roughness: Length,
    /// Turns of 180°.
    pub half_turns: u32,
    /// Turns of 90°.
    pub quarter_turns: u32,
    /// Sum of the loss coefficients of tees, couplings and the like, by the velocity in this bore.
    pub fittings: f64,
}

impl Run {
    /// Straight pipe.
    pub const fn straight(length: Length, bore: Length, roughness: Length) -> Run {
        Run { length, bore, roughness, half_turns: 0, quarter_turns: 0, fittings: 0.0 }
    }
}

/// A run of pipe and the valves in it, filled: pressure drop from flow and flow from pressure drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    law: Law,
    /// Reynolds number for each kg/s.
    reynolds: f64,
    /// m/s for each kg/s.
    velocity: f64,
    /// Pa for each (kg/s)² and unit of friction factor.
    friction: f64,
    /// Pa for each (kg/s)².
    bends: f64,
    valves: f64,
    density: f64,
}

impl Line {
    /// The line without valves.
    ///
    /// Units: as typed. Source: Darcy–Weisbach. Holds for: length to 2 km, bore 2 to 200 mm,
    /// roughness to 2 % of the bore.
    pub fn new(run: &Run, fluid: &Properties) -> Result<Line, OutOfRange> {
        let length = FRICTION.takes("pipe length", run.length, 0.0..=2e6)?;
        let bore = FRICTION.takes("bore", run.bore, 2.0..=200.0)?;
        let roughness = run.roughness / run.bore;
        let roughness = FRICTION.takes_number("roughness over bore", roughness, 0.0..=0.02)?;
        let fittings = FRICTION.takes_number("loss coefficient", run.fittings, 0.0..=1e4)?;
        let density = FRICTION.takes("density of the fluid", fluid.density, 500.0..=2000.0)?;
        let viscosity = FRICTION.takes("viscosity of the fluid", fluid.viscosity, 1e-5..=1.0)?;
        let losses = fittings + HALF_TURN * f64::from(run.half_turns) + QUARTER_TURN * f64::from(run.quarter_turns);
        let of_square = 8.0 / (PI * PI * density * bore.powi(4));
        Ok(Line {
            law: Law::new(roughness),
            reynolds: 4.0 / (PI * bore * viscosity),
            velocity: 4.0 / (PI * density * bore * bore),
            friction: of_square * length / bore,
            bends: of_square * losses,
            valves: 0.0,
            density,
        })
    }

    /// The same line with one valve more.
    ///
    /// Units: m³/h at 1 bar. Source: definition of Kv. Holds for: Kv 0.001 to 1000.
    pub fn with_valve(self, kv: FlowCoefficient) -> Result<Line, OutOfRange> {
        Ok(Line { valves: self.valves + valves::resistance(kv, self.density)?, ..self })
    }

    /// The same line where only a share of the flow that is asked for passes through it, as in the pipe to a mixing set.
    pub fn carrying(self, share: Share) -> Line {
        let share = share.in_fraction();
        let square = share * share;
        Line {
            reynolds: self.reynolds * share,
            velocity: self.velocity * share,
            friction: self.friction * square,
            bends: self.bends * square,
            valves: self.valves * square,
            ..self
        }
    }

    /// A part of the pipe with its bends, and all the valves.
    pub fn part(self, of_pipe: Share) -> Line {
        let part = of_pipe.in_fraction().clamp(0.0, 1.0);
        Line { friction: self.friction * part, bends: self.bends * part, ..self }
    }

    /// Pressure drop at a flow.
    ///
    /// Units: as typed. Source: Darcy–Weisbach, [`friction_factor`]. Holds for: Re up to 1e6, no
    /// reversed flow.
    pub fn pressure_drop(&self, flow: MassFlow) -> Result<PressureDrop, OutOfRange> {
        let flow = FRICTION.takes("mass flow", flow, 0.0..=1e6 / self.reynolds)?;
        let reynolds = self.reynolds * flow;
        let factor = if flow > 0.0 { self.law.factor(reynolds) } else { 0.0 };
        let square = flow * flow;
        let rest = (self.bends + self.valves) * square;
        let with = |factor| Pressure::pascals(self.friction * factor * square + rest);
        Ok(PressureDrop {
            velocity: Velocity::metres_per_second(self.velocity * flow),
            reynolds,
            friction_factor: factor,
            friction: Pressure::pascals(self.friction * factor * square),
            bends: Pressure::pascals(self.bends * square),
            valves: Pressure::pascals(self.valves * square),
            band: (LAMINAR_TO < reynolds && reynolds < TURBULENT_FROM)
                .then(|| (with(64.0 / reynolds), with(turbulent(reynolds, self.law.roughness)))),
            loss_coefficients: 2.0 * self.bends / (self.density * self.velocity * self.velocity),
        })
    }

    /// Flow at a pressure drop.
    ///
    /// Units: as typed. Source: [`Line::pressure_drop`] turned round, to 1e-12 of the flow.
    /// Holds for: a line that resists, flows with Re up to 1e6, no reversed pressure.
    pub fn mass_flow(&self, drop: Pressure) -> Result<MassFlow, OutOfRange> {
        let most = self.drop(1e6 / self.reynolds) / 1e3;
        let drop = FRICTION.takes("pressure drop", drop, 0.0..=most)?;
        Ok(MassFlow::kilograms_per_second(self.flow(drop)))
    }

    /// The flow coefficient of one valve more with which the line loses this pressure at a flow.
    ///
    /// Units: as typed. Source: what is left of the pressure is lost in the valve. Holds for: a pressure above what the
    /// line loses without it.
    pub fn valve_for(&self, flow: MassFlow, drop: Pressure) -> Result<FlowCoefficient, OutOfRange> {
        let rest = self.pressure_drop(flow)?.total();
        valves::kv(flow, drop - rest, self.filled_with())
    }

    /// Density of what fills it.
    pub fn filled_with(&self) -> Density {
        Density::kilograms_per_cubic_metre(self.density)
    }

    /// The same in kg/m³.
    pub(crate) fn density(&self) -> f64 {
        self.density
    }

    /// Pa at a flow in kg/s, not negative.
    pub(crate) fn drop(&self, flow: f64) -> f64 {
        if flow <= 0.0 {
            return 0.0;
        }
        let factor = self.law.factor(self.reynolds * flow);
        (self.friction * factor + self.bends + self.valves) * flow * flow
    }

    /// kg/s at a pressure drop in Pa; infinite in a line that does not resist.
    pub(crate) fn flow(&self, drop: f64) -> f64 {
        self.flow_near(drop, (drop / (0.035 * self.friction + self.bends + self.valves)).sqrt()).0
    }

    /// The same from a guess, and the exponent: how many per cent the drop rises for one of the flow.
    pub(crate) fn flow_near(&self, drop: f64, guess: f64) -> (f64, f64) {
        if drop <= 0.0 {
            return (0.0, 1.0);
        }
        let rest = self.bends + self.valves;
        // Laminar: drop = a m + rest m², in the form that keeps its digits.
        let a = 64.0 * self.friction / self.reynolds;
        let laminar = 2.0 * drop / (a + (a * a + 4.0 * rest * drop).sqrt());
        if laminar * self.reynolds <= LAMINAR_TO || laminar.is_infinite() {
            return (laminar, 1.0 + rest * laminar * laminar / drop);
        }
        // The logarithms of drop and flow lie almost on a line, so a few steps along the tangent do; the drop always
        // rises with the flow, so the flow stays between those that gave less and more.
        let (mut low, mut high) = ((LAMINAR_TO / self.reynolds).ln(), f64::INFINITY);
        let mut x = guess.ln().max(low);
        let mut exponent = 2.0;
        for _ in 0..60 {
            let flow = x.exp();
            let reynolds = self.reynolds * flow;
            let (factor, slope) = self.law.factor_and_slope(reynolds);
            let weight = self.friction * factor + rest;
            let excess = (weight * flow * flow / drop).ln();
            if excess > 0.0 {
                high = x
            } else {
                low = x
            }
            exponent = 2.0 + self.friction * slope * reynolds / weight;
            let next = x - excess / exponent;
            let inside = low <= next && next <= high;
            let step = if inside { next - x } else { (low + high.min(low + 1.0)) / 2.0 - x };
            x += step;
            // The error falls by its square.
            if step.abs() < 1e-7 {
                break;
            }
        }
        (x.exp(), exponent)
    }
}

/// Pressure that a line loses at one flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureDrop {
    pub velocity: Velocity,
    pub reynolds: f64,
    pub friction_factor: f64,
    /// Along the pipe.
    pub friction: Pressure,
    /// In bends and fittings.
    pub bends: Pressure,
    pub valves: Pressure,
    /// Where the flow is neither laminar nor turbulent: the least and the greatest total.
    pub band: Option<(Pressure, Pressure)>,
    /// Sum of the loss coefficients of bends and fittings.
    pub loss_coefficients: f64,
}

impl PressureDrop {
    /// All of it.
    pub fn total(&self) -> Pressure {
        self.friction + self.bends + self.valves
    }

    /// The most it can be: what a pump has to be checked against.
    pub fn greatest(&self) -> Pressure {
        self.band.map_or(self.total(), |(_, greatest)| greatest)
    }
}

/// The friction factor of one roughness.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Law {
    roughness: f64,
    /// Where the bridge ends, and how steeply.
    at_end: f64,
    slope_at_end: f64,
}

impl Law {
    fn new(roughness: f64) -> Law {
        let at_end = turbulent(TURBULENT_FROM, roughness);
        Law { roughness, at_end, slope_at_end: turbulent_slope(at_end, TURBULENT_FROM, roughness) }
    }

    fn factor(&self, reynolds: f64) -> f64 {
        if reynolds <= LAMINAR_TO {
            64.0 / reynolds
        } else if reynolds >= TURBULENT_FROM {
            turbulent(reynolds, self.roughness)
        } else {
            self.bridge(reynolds).0
        }
    }

    /// The factor, and its derivative by the Reynolds number; above the laminar region.
    fn factor_and_slope(&self, reynolds: f64) -> (f64, f64) {
        if reynolds < TURBULENT_FROM {
            return self.bridge(reynolds);
        }
        let factor = turbulent(reynolds, self.roughness);
        (factor, turbulent_slope(factor, reynolds, self.roughness))
    }

    /// Cubic Hermite from the end of the laminar to the beginning of the turbulent law, and its derivative.
    fn bridge(&self, reynolds: f64) -> (f64, f64) {
        let span = TURBULENT_FROM - LAMINAR_TO;
        let t = (reynolds - LAMINAR_TO) / span;
        let rest = 1.0 - t;
        let (start, slope) = (64.0 / LAMINAR_TO, -64.0 / (LAMINAR_TO * LAMINAR_TO) * span);
        let (end, end_slope) = (self.at_end, self.slope_at_end * span);
        let factor = start * (1.0 + 2.0 * t) * rest * rest + slope * t * rest * rest + end * t * t * (3.0 - 2.0 * t)
            - end_slope * t * t * rest;
        let by_t = 6.0 * (end - start) * t * rest + slope * rest * (1.0 - 3.0 * t) + end_slope * t * (3.0 * t - 2.0);
        (factor, by_t / span)
    }
}

/// Derivative of Colebrook–White by the Reynolds number, by implicit differentiation of x = 1/√f.
fn turbulent_slope(factor: f64, reynolds: f64, roughness: f64) -> f64 {
    let x = 1.0 / factor.sqrt();
    let inner = roughness / 3.7 + 2.51 * x / reynolds;
    let weight = 2.0 / LN_10 * 2.51 / (reynolds * inner);
    let slope_of_x = weight * x / reynolds / (1.0 + weight);
    -2.0 * slope_of_x / (x * x * x)
}

/// Colebrook–White in the explicit form of Serghides.
fn turbulent(reynolds: f64, roughness: f64) -> f64 {
    let step = |x: f64| -2.0 * (roughness / 3.7 + x / reynolds).log10();
    let a = step(12.0);
    let b = step(2.51 * a);
    let c = step(2.51 * b);
    let x = a - (b - a) * (b - a) / (c - 2.0 * b + a);
    1.0 / (x * x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::fluids::{Fluid, Glycol};
    use quantity::Temperature;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    fn water(celsius: f64) -> Properties {
        Fluid::Water.at(Temperature::celsius(celsius)).unwrap()
    }

    /// Pipe 16 × 2, 80 m, twelve U-turns, an actuator valve and a balancing valve.
    fn line(fluid: &Properties) -> Line {
        let run = Run {
            half_turns: 12,
            ..Run::straight(Length::metres(80.0), Length::millimetres(12.0), Length::millimetres(0.007))
        };
        let valve = FlowCoefficient::cubic_metres_per_hour;
        Line::new(&run, fluid).unwrap().with_valve(valve(2.5)).unwrap().with_valve(valve(1.1)).unwrap()
    }

    fn flow(kilograms_per_second: f64) -> MassFlow {
        MassFlow::kilograms_per_second(kilograms_per_second)
    }

    /// Colebrook–White solved by Newton's method (own, and fluids 1.3.1, which agree to 1e-12).
    #[test]
    fn friction_factors_of_the_three_regions() {
        let roughness = 5.8333e-4;
        near(friction_factor(3000.0, roughness).unwrap(), 0.032970, 1e-6);
        near(friction_factor(5000.0, roughness).unwrap(), 0.038040, 1e-6);
        let (least, greatest) = friction_band(3000.0, roughness).unwrap().unwrap();
        near(least, 0.02133, 1e-5);
        near(greatest, 0.04404, 1e-5);
        near(friction_factor(1000.0, roughness).unwrap(), 0.064, 1e-12);
        near(Law::new(roughness).slope_at_end, -2.888e-6, 1e-9);
        assert_eq!(friction_band(4000.0, roughness), Ok(None));
        assert!(friction_factor(0.0, roughness).is_err());
        assert!(friction_factor(1e7, roughness).is_err());
        assert!(friction_factor(3000.0, 0.03).is_err());
        assert!(friction_factor(f64::NAN, roughness).is_err());
    }

    /// fluids 1.3.1, `fluids.friction.Colebrook(Re, roughness, tol=-1)`.
    #[test]
    fn turbulent_flow_agrees_with_an_open_library() {
        for (roughness, reynolds, wanted) in [
            (0.0, 4e3, 0.0399070),
            (0.0, 2e4, 0.0258831),
            (0.0, 1e5, 0.0179898),
            (5.8333e-4, 4e3, 0.0404952),
            (5.8333e-4, 6e3, 0.0362044),
            (5.8333e-4, 1e5, 0.0206612),
            (2e-3, 4e3, 0.0418909),
            (2e-3, 2e4, 0.0297883),
            (2e-3, 1e5, 0.0251066),
        ] {
            near(friction_factor(reynolds, roughness).unwrap(), wanted, wanted * 4e-5);
        }
    }

    /// No jump and no kink where the regions meet, and a drop that always rises with the flow, so that
    /// every network has one solution.
    #[test]
    fn the_bridge_is_smooth_and_the_drop_rises() {
        for roughness in [0.0, 1e-4, 5.8e-4, 2e-3, 0.02] {
            let law = Law::new(roughness);
            for meeting in [2000.0, 4000.0] {
                near(law.factor(meeting - 1e-6), law.factor(meeting + 1e-6), 1e-9);
                let slope = |at: f64| (law.factor(at + 0.5) - law.factor(at - 0.5)) / 1.0;
                near(slope(meeting - 1.0), slope(meeting + 1.0), 1.5e-7);
            }
            let mut last = 0.0;
            for step in 1..4000 {
                let reynolds = f64::from(step) * 5.0;
                let drop = law.factor(reynolds) * reynolds * reynolds;
                assert!(drop > last, "at Re {reynolds}, roughness {roughness}");
                last = drop;
            }
        }
    }

    /// Worked with the fluid properties of CoolProp and an exact Colebrook–White.
    #[test]
    fn a_loop_of_water() {
        let found = line(&water(35.0)).pressure_drop(flow(0.030)).unwrap();
        near(found.velocity.in_metres_per_second(), 0.26684, 1e-5);
        near(found.reynolds, 4426.3, 2.0);
        near(found.friction.in_pascals(), 9284.4, 2.0);
        near(found.bends.in_pascals(), 127.4, 0.1);
        near(found.valves.in_pascals(), 187.7 + 969.7, 0.1);
        near(found.total().in_pascals(), 10_569.0, 2.0);
        assert_eq!(found.band, None);
        near(found.greatest().in_pascals(), found.total().in_pascals(), 0.0);
    }

    #[test]
    fn a_loop_of_water_with_glycol() {
        let glycol = Fluid::Mixture { glycol: Glycol::Propylene, mass_share: Share::percent(25.0) };
        let fluid = glycol.at(Temperature::celsius(35.0)).unwrap();
        let found = line(&fluid).pressure_drop(flow(0.030)).unwrap();
        near(found.reynolds, 2064.6, 0.8);
        near(found.total().in_pascals(), 8457.0, 3.0);
        let (least, greatest) = found.band.unwrap();
        near(least.in_pascals(), 8442.0, 3.0);
        near(greatest.in_pascals(), 12_704.0, 5.0);
    }

    #[test]
    fn flow_from_drop_is_drop_from_flow_turned_round() {
        let line = line(&water(35.0));
        for step in 1..400 {
            let wanted = f64::from(step) * 0.0005;
            let drop = line.pressure_drop(flow(wanted)).unwrap().total();
            let found = line.mass_flow(drop).unwrap().in_kilograms_per_second();
            near(found, wanted, wanted * 1e-12);
        }
        for pascals in [1e-6, 1e6, 1e7] {
            let found = line.mass_flow(Pressure::pascals(pascals)).unwrap();
            near(line.pressure_drop(found).unwrap().total().in_pascals(), pascals, pascals * 1e-9);
        }
        assert_eq!(line.mass_flow(Pressure::ZERO), Ok(MassFlow::ZERO));
        assert_eq!(line.pressure_drop(MassFlow::ZERO).unwrap().total(), Pressure::ZERO);
        assert!(line.mass_flow(Pressure::pascals(-1.0)).is_err());
        assert!(line.pressure_drop(flow(-0.01)).is_err());
        assert!(line.pressure_drop(flow(f64::INFINITY)).is_err());
    }
}
