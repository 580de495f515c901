//! What a loop gives at a flow, and what flow it takes to give it.

use super::FloorResponse;
use crate::out_of_range::{Method, OutOfRange};
use crate::root::root;
use quantity::{Area, HeatFlux, MassFlow, Power, SpecificHeat, Temperature, TemperatureDifference, Transmittance};
use std::fmt;

/// The floor of a loop and its surroundings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatedFloor {
    pub area: Area,
    pub response: FloorResponse,
    pub room: Temperature,
    pub below: Temperature,
}

/// What a loop gives at one flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Output {
    pub return_temperature: Temperature,
    /// Mean of the water along the loop.
    pub mean_water: Temperature,
    /// Into the room.
    pub upward: Power,
    /// Into what lies below; negative where that is the warmer.
    pub downward: Power,
}

impl Output {
    /// What the water gives off.
    pub fn total(&self) -> Power {
        self.upward + self.downward
    }
}

/// What each piece of a loop gives, one after the other, as the water cools along them.
///
/// Units, source, range: as [`HeatedFloor::output`].
pub fn along(
    pieces: &[HeatedFloor],
    flow_temperature: Temperature,
    flow: MassFlow,
    specific_heat: SpecificHeat,
) -> Result<Vec<Output>, OutOfRange> {
    let mut water = flow_temperature;
    let mut outputs = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let output = piece.output(water, flow, specific_heat)?;
        water = output.return_temperature;
        outputs.push(output);
    }
    Ok(outputs)
}

const METHOD: Method = Method("the heat balance along a loop");

impl HeatedFloor {
    /// Return temperature and heat given, from flow temperature and mass flow; exact along the pipe.
    /// Water that enters colder than its surroundings takes heat up, and comes back warmer.
    ///
    /// Units: as typed. Source: `ṁ c dθ = −(up (θ − room) + down (θ − below)) dA`, solved. Holds for:
    /// flow of 1e-6 to 100 kg/s, area of 0.001 to 10 000 m², a response above zero, temperatures of −50 to 120 °C.
    pub fn output(
        &self,
        flow_temperature: Temperature,
        flow: MassFlow,
        specific_heat: SpecificHeat,
    ) -> Result<Output, OutOfRange> {
        let ends = self.ends(flow_temperature)?;
        let flow = METHOD.takes("mass flow", flow, 1e-6..=100.0)?;
        let carried = flow * specific_heat_of(specific_heat)?;
        Ok(self.output_at(&ends, carried))
    }

    /// Mass flow at which the water cools by a drop.
    ///
    /// Units, source: as [`HeatedFloor::output`], turned round. Holds for: as there, a flow temperature
    /// above the equilibrium of the surroundings, and a drop of 0.01 K up to 99.9 % of what lies
    /// between them.
    pub fn flow_for_drop(
        &self,
        flow_temperature: Temperature,
        drop: TemperatureDifference,
        specific_heat: SpecificHeat,
    ) -> Result<MassFlow, OutOfRange> {
        let ends = self.ends(flow_temperature)?;
        let specific_heat = specific_heat_of(specific_heat)?;
        let most = 0.999 * ends.excess();
        let drop = METHOD.takes("temperature drop of the water", drop, 0.01..=most)?;
        let transfer_units = -(-drop / ends.excess()).ln_1p();
        Ok(MassFlow::kilograms_per_second(ends.conductance / (specific_heat * transfer_units)))
    }

    /// Mass flow at which the loop gives a heat flow to its room.
    ///
    /// Output saturates with flow, so [`NoFlow::TooMuch`] names the most that any flow gives.
    ///
    /// Units, source: as [`HeatedFloor::output`], turned round. Holds for: as there.
    pub fn flow_for_output(
        &self,
        flow_temperature: Temperature,
        upward: Power,
        specific_heat: SpecificHeat,
    ) -> Result<MassFlow, NoFlow> {
        let ends = self.ends(flow_temperature)?;
        let specific_heat = specific_heat_of(specific_heat)?;
        let at = |flow: f64| self.output_at(&ends, flow * specific_heat).upward;
        // Beyond a hundred transfer units at either end the output no longer moves.
        let slowest = ends.conductance / specific_heat / 100.0;
        let (least, most) = (at(slowest), self.upward_at(ends.flow));
        if !(ends.excess() > 0.0 && upward < most) {
            return Err(NoFlow::TooMuch { most });
        }
        if upward <= least {
            return Err(NoFlow::TooLittle { least });
        }
        let wanted = upward.in_watts();
        let fastest = slowest.ln() + 30.0;
        root(slowest.ln(), fastest, 1e-12, |log| at(log.exp()).in_watts() - wanted)
            .map(|log| MassFlow::kilograms_per_second(log.exp()))
            .ok_or(NoFlow::TooMuch { most })
    }

    /// Flow temperature at which the loop gives a heat flow to its room while its water cools by a drop.
    ///
    /// Units, source: as [`HeatedFloor::output`], turned round: the excess of the flow over the equilibrium of the
    /// surroundings is `drop / (1 − e^(−drop / mean excess))`. Holds for: as there, a heat flow that asks for water
    /// warmer than that equilibrium, a drop of 0.01 to 80 K.
    pub fn flow_temperature_for(&self, upward: Power, drop: TemperatureDifference) -> Result<Temperature, OutOfRange> {
        let ends = self.ends(self.room)?;
        let drop = METHOD.takes("temperature drop of the water", drop, 0.01..=80.0)?;
        let water = self.water_for(upward / self.area);
        let mean = METHOD.takes("mean water temperature", water, ends.rest + 1e-6..=1000.0)? - ends.rest;
        Ok(Temperature::celsius(ends.rest - drop / (-drop / mean).exp_m1()))
    }

    /// Water at which the floor gives a heat flux to its room.
    ///
    /// Units, source: as [`HeatedFloor::output`]. Holds for: a response above zero upward.
    pub fn water_for(&self, upward: HeatFlux) -> Temperature {
        self.room + (upward + self.response.up_across * (self.room - self.below)) / self.response.up
    }

    /// Several floors as one, each counted by its area, where water of one temperature meets them all.
    ///
    /// Units: as typed. Source: sums of the linear responses. Holds for: exactly where room and what lies below are the
    /// same for all; near enough where they differ by a few kelvins.
    pub fn together(floors: &[HeatedFloor]) -> Option<HeatedFloor> {
        let first = floors.first()?;
        let area: Area = floors.iter().map(|it| it.area).sum();
        if area <= Area::ZERO || floors.len() == 1 {
            return Some(*first);
        }
        let share = |it: &HeatedFloor| it.area / area;
        let mean = |of: fn(&FloorResponse) -> Transmittance| -> Transmittance {
            let sum = floors.iter().map(|it| of(&it.response).in_watts_per_square_metre_kelvin() * share(it)).sum();
            Transmittance::watts_per_square_metre_kelvin(sum)
        };
        let temperature = |of: fn(&HeatedFloor) -> Temperature| {
            Temperature::celsius(floors.iter().map(|it| of(it).in_celsius() * share(it)).sum())
        };
        let response = FloorResponse {
            up: mean(|it| it.up),
            down: mean(|it| it.down),
            up_across: mean(|it| it.up_across),
            down_across: mean(|it| it.down_across),
        };
        Some(HeatedFloor { area, response, room: temperature(|it| it.room), below: temperature(|it| it.below) })
    }

    /// Temperature at which still water in the floor would come to rest between room and below; none out of range.
    ///
    /// Units: as typed. Source: the heat balance of [`HeatedFloor::output`] without flow. Holds for: as there.
    pub fn at_rest(&self) -> Option<Temperature> {
        self.ends(self.room).ok().map(|ends| Temperature::celsius(ends.rest))
    }

    /// W/K of the whole floor, and where the water would come to rest.
    fn ends(&self, flow_temperature: Temperature) -> Result<Ends, OutOfRange> {
        let area = METHOD.takes("area of the loop", self.area, 0.001..=1e4)?;
        let flow = METHOD.takes("flow temperature", flow_temperature, -50.0..=120.0)?;
        METHOD.takes("room temperature", self.room, -50.0..=120.0)?;
        METHOD.takes("temperature below the floor", self.below, -50.0..=120.0)?;
        let (up, down) = (self.response.up, self.response.down);
        METHOD.takes("heat transfer of the floor upward", up, 1e-6..=1e4)?;
        METHOD.takes("heat transfer of the floor downward", down, 0.0..=1e4)?;
        let across = self.response.down_across - self.response.up_across;
        let sum = (up + down).in_watts_per_square_metre_kelvin();
        let rest = (up * (self.room - Temperature::celsius(0.0)) + down * (self.below - Temperature::celsius(0.0))
            - across * (self.room - self.below))
            .in_watts_per_square_metre()
            / sum;
        METHOD.takes("temperature at rest", Temperature::celsius(rest), -1000.0..=1000.0)?;
        Ok(Ends { flow, rest, conductance: sum * area })
    }

    fn output_at(&self, ends: &Ends, carried: f64) -> Output {
        let end = ends.rest + ends.excess() * (-ends.conductance / carried).exp();
        // ṁ c (flow − return) is what the water gives; over the conductance it is the mean excess.
        let mean = ends.rest - carried * ends.excess() * (-ends.conductance / carried).exp_m1() / ends.conductance;
        let mean_water = Temperature::celsius(mean);
        Output {
            return_temperature: Temperature::celsius(end),
            mean_water,
            upward: self.upward_at(mean),
            downward: self.response.downward(mean_water, self.room, self.below) * self.area,
        }
    }

    fn upward_at(&self, water: f64) -> Power {
        self.response.upward(Temperature::celsius(water), self.room, self.below) * self.area
    }
}

struct Ends {
    /// Flow temperature, °C.
    flow: f64,
    /// Where the water would stop to give heat, °C.
    rest: f64,
    /// W/K of the whole floor.
    conductance: f64,
}

impl Ends {
    fn excess(&self) -> f64 {
        self.flow - self.rest
    }
}

fn specific_heat_of(fluid: SpecificHeat) -> Result<f64, OutOfRange> {
    METHOD.takes("specific heat of the fluid", fluid, 1000.0..=10_000.0)
}

/// Why no flow gives the output asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoFlow {
    /// More than the floor gives at any flow.
    TooMuch {
        most: Power,
    },
    /// Less than the floor gives at the smallest flow.
    TooLittle {
        least: Power,
    },
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for NoFlow {
    fn from(refusal: OutOfRange) -> Self {
        NoFlow::OutOfRange(refusal)
    }
}

impl fmt::Display for NoFlow {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            NoFlow::TooMuch { most } => {
                write!(f, "the loop gives less than {most} at this flow temperature, whatever its flow")
            }
            NoFlow::TooLittle { least } => {
                write!(f, "the loop gives more than {least} at any flow")
            }
            NoFlow::OutOfRange(refusal) => refusal.fmt(f),
        }
    }
}

impl std::error::Error for NoFlow {}

#[cfg(test)]
mod tests {
    use super::*;

    const CELSIUS: fn(f64) -> Temperature = Temperature::celsius;
    const WATER: SpecificHeat = SpecificHeat::joules_per_kilogram_kelvin(4178.995);

    fn flow(kilograms_per_second: f64) -> MassFlow {
        MassFlow::kilograms_per_second(kilograms_per_second)
    }

    fn floor() -> HeatedFloor {
        let watts = Transmittance::watts_per_square_metre_kelvin;
        HeatedFloor {
            area: Area::square_metres(18.0),
            response: FloorResponse {
                up: watts(5.0),
                down: watts(0.35),
                up_across: Transmittance::ZERO,
                down_across: Transmittance::ZERO,
            },
            room: CELSIUS(20.0),
            below: CELSIUS(8.0),
        }
    }

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    /// The differential equation, solved numerically outside this project's code to 1e-10 K.
    #[test]
    fn the_return_of_a_loop_of_18_square_metres() {
        let found = floor().output(CELSIUS(40.0), flow(0.030), WATER).unwrap();
        near(found.return_temperature.in_celsius(), 28.857, 1e-3);
        near(found.upward.in_watts(), 1235.0, 0.1);
        near(found.downward.in_watts(), 162.0, 0.1);
        let carried = 0.030 * 4178.995 * (40.0 - found.return_temperature.in_celsius());
        near(found.total().in_watts(), carried, 1e-6);
    }

    /// [`HeatedFloor::output`], turned round: water of this temperature, at the flow that carries the heat at the drop,
    /// gives the heat and cools by the drop.
    #[test]
    fn the_flow_temperature_for_a_heat_and_a_drop() {
        let watts = Transmittance::watts_per_square_metre_kelvin;
        for across in [0.0, 0.05] {
            let mut floor = floor();
            floor.response.up_across = watts(across);
            let drop = TemperatureDifference::kelvin(7.0);
            let flow_temperature = floor.flow_temperature_for(Power::watts(900.0), drop).unwrap();
            let flow = floor.flow_for_drop(flow_temperature, drop, WATER).unwrap();
            let found = floor.output(flow_temperature, flow, WATER).unwrap();
            near(found.upward.in_watts(), 900.0, 1e-6);
            near((flow_temperature - found.return_temperature).in_kelvin(), 7.0, 1e-9);
        }
        assert!(floor().flow_temperature_for(Power::watts(-900.0), TemperatureDifference::kelvin(7.0)).is_err());
    }

    /// Ten thousand small steps of the same equation, with heat that passes from room to below.
    #[test]
    fn heat_from_room_to_below_is_counted_once() {
        let watts = Transmittance::watts_per_square_metre_kelvin;
        let mut floor = floor();
        floor.response.up_across = watts(0.05);
        floor.response.down_across = watts(0.15);
        let found = floor.output(CELSIUS(40.0), flow(0.030), WATER).unwrap();
        let (mut water, mut upward, mut downward) = (40.0, 0.0, 0.0);
        let steps = 10_000;
        for _ in 0..steps {
            let area = 18.0 / f64::from(steps);
            let here = CELSIUS(water);
            let up = floor.response.upward(here, floor.room, floor.below).in_watts_per_square_metre();
            let down = floor.response.downward(here, floor.room, floor.below).in_watts_per_square_metre();
            upward += up * area;
            downward += down * area;
            water -= (up + down) * area / (0.030 * 4178.995);
        }
        near(found.return_temperature.in_celsius(), water, 1e-3);
        near(found.upward.in_watts(), upward, 0.1);
        near(found.downward.in_watts(), downward, 0.1);
    }

    /// Cut anywhere, the water along a loop cools as if it were whole (the exact solution of one differential equation);
    /// and two halves of one room together are that room.
    #[test]
    fn pieces_in_a_row_give_what_the_whole_gives() {
        let whole = floor().output(CELSIUS(40.0), flow(0.030), WATER).unwrap();
        let part = |square_metres| HeatedFloor { area: Area::square_metres(square_metres), ..floor() };
        let pieces = [part(3.0), part(10.0), part(5.0)];
        let found = along(&pieces, CELSIUS(40.0), flow(0.030), WATER).unwrap();
        near(found[2].return_temperature.in_celsius(), whole.return_temperature.in_celsius(), 1e-9);
        let upward: f64 = found.iter().map(|it| it.upward.in_watts()).sum();
        near(upward, whole.upward.in_watts(), 1e-6);
        assert!(found[0].mean_water > found[1].mean_water && found[1].mean_water > found[2].mean_water);
        let together = HeatedFloor::together(&pieces).unwrap();
        near(together.area.in_square_metres(), 18.0, 1e-12);
        near(together.response.up / floor().response.up, 1.0, 1e-12);
        near(together.room.in_celsius(), 20.0, 1e-12);
        assert_eq!(HeatedFloor::together(&[]), None);
    }

    #[test]
    fn flows_for_a_drop_and_for_an_output_come_back() {
        let floor = floor();
        for wanted in [0.001, 0.01, 0.03, 0.1, 1.0] {
            let found = floor.output(CELSIUS(40.0), flow(wanted), WATER).unwrap();
            let drop = CELSIUS(40.0) - found.return_temperature;
            if let Ok(back) = floor.flow_for_drop(CELSIUS(40.0), drop, WATER) {
                near(back.in_kilograms_per_second(), wanted, wanted * 1e-8);
            }
            let back = floor.flow_for_output(CELSIUS(40.0), found.upward, WATER).unwrap();
            near(back.in_kilograms_per_second(), wanted, wanted * 1e-8);
        }
    }

    #[test]
    fn output_rises_with_flow_but_saturates() {
        let floor = floor();
        let mut last = Power::ZERO;
        for step in 1..200 {
            let found = floor.output(CELSIUS(40.0), flow(f64::from(step) * 0.002), WATER).unwrap();
            assert!(found.upward > last);
            last = found.upward;
        }
        let most = Power::watts(5.0 * 18.0 * 20.0);
        assert!(last < most);
        let refusal = floor.flow_for_output(CELSIUS(40.0), most, WATER);
        assert_eq!(refusal, Err(NoFlow::TooMuch { most }));
        let cold = floor.flow_for_output(CELSIUS(15.0), Power::watts(100.0), WATER);
        assert!(matches!(cold, Err(NoFlow::TooMuch { .. })));
    }

    #[test]
    fn what_has_no_answer_is_refused() {
        let mut floor = floor();
        assert!(floor.output(CELSIUS(40.0), MassFlow::ZERO, WATER).is_err());
        assert!(floor.output(CELSIUS(f64::NAN), flow(0.03), WATER).is_err());
        assert!(floor.flow_for_drop(CELSIUS(15.0), TemperatureDifference::kelvin(5.0), WATER).is_err());
        assert!(floor.flow_for_drop(CELSIUS(40.0), TemperatureDifference::kelvin(25.0), WATER).is_err());
        floor.area = Area::ZERO;
        assert!(floor.output(CELSIUS(40.0), flow(0.03), WATER).is_err());
    }
}
