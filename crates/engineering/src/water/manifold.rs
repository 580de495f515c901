//! The loops of a manifold: balanced for their design flows, and as they stand.

use super::pipe_friction::Line;
use super::pump::Head;
use super::valves::PresettingTable;
use crate::out_of_range::{Method, OutOfRange};
use quantity::{Density, FlowCoefficient, MassFlow, Pressure, VolumeFlow};
use std::fmt;

/// What a loop needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    /// Pipe, bends and actuator valve: all but the balancing valve.
    pub line: Line,
    pub mass_flow: MassFlow,
    /// The balancing valve wide open.
    pub balancing_valve: FlowCoefficient,
}

/// A manifold balanced for the design flows of its loops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Place of the index loop in the list: the one that needs most, its valve wide open.
    pub index: usize,
    /// Across the manifold.
    pub pressure: Pressure,
    /// The most it can be, where loops flow between laminar and turbulent.
    pub greatest_pressure: Pressure,
}

/// Finds the index loop and the pressure that the manifold needs. Loops without flow do not count.
///
/// Units: as typed. Source: hydraulics. Holds for: as [`Line::pressure_drop`]; no loop that flows, no
/// answer.
pub fn balance(duties: &[Duty]) -> Result<Balance, NoSolution> {
    let mut found: Option<Balance> = None;
    for (index, duty) in duties.iter().enumerate() {
        let open = duty.line.with_valve(duty.balancing_valve)?;
        let drop = open.pressure_drop(duty.mass_flow)?;
        if duty.mass_flow == MassFlow::ZERO {
            continue;
        }
        let (pressure, greatest) = (drop.total(), drop.greatest());
        found = Some(match found {
            Some(before) if before.pressure >= pressure => {
                Balance { greatest_pressure: before.greatest_pressure.max(greatest), ..before }
            }
            before => {
                let so_far = before.map_or(Pressure::ZERO, |before| before.greatest_pressure);
                Balance { index, pressure, greatest_pressure: so_far.max(greatest) }
            }
        });
    }
    found.ok_or(NoSolution::AllShut)
}

impl Balance {
    /// The same loops at more pressure than they need, as a pump leaves it: then the index loop is throttled too.
    pub fn at(self, across: Pressure) -> Balance {
        Balance { pressure: self.pressure.max(across), ..self }
    }

    /// What the balancing valve of a loop has to be set to: wide open for the index loop.
    ///
    /// Units: as typed. Source: what is left of the manifold's pressure is lost in the valve.
    /// Holds for: a loop that flows and was among those balanced.
    pub fn kv(&self, duty: &Duty) -> Result<FlowCoefficient, OutOfRange> {
        let kv = duty.line.valve_for(duty.mass_flow, self.pressure)?;
        // No balanced loop needs more than its open valve, but for the last digit.
        Ok(kv.min(duty.balancing_valve))
    }
}

impl Duty {
    /// Of the settings of a table the one that gives the flow nearest to the one needed, and its Kv.
    ///
    /// Units: as typed. Source: the flows at the two settings on either side of the Kv that would give it exactly.
    /// Holds for: as [`Line::mass_flow`].
    pub fn nearest_setting(
        &self,
        table: &PresettingTable,
        exact: FlowCoefficient,
        across: Pressure,
    ) -> Result<(f64, FlowCoefficient), OutOfRange> {
        let (low, high) = table.about(exact);
        let off = |kv| Ok((self.line.with_valve(kv)?.mass_flow(across)? - self.mass_flow).abs());
        // No loop is balanced by shutting it.
        if low.1 == FlowCoefficient::ZERO {
            return Ok(high);
        }
        Ok(if off(low.1)? <= off(high.1)? { low } else { high })
    }
}

/// A manifold as it stands: whatever its valves are set to, with a pump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing<'a> {
    /// Each loop with all its valves; none where the loop is shut.
    pub loops: &'a [Option<Line>],
    /// What all the flow passes through between pump and manifold.
    pub common: Option<Line>,
    pub head: Head<'a>,
    /// Of what the pump moves; that of the water in the loops where it is left out.
    pub density: Option<Density>,
}

/// What flows through a manifold as it stands; the flow of each loop is [`Line::mass_flow`] at
/// `across`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operation {
    /// Pressure across the manifold.
    pub across: Pressure,
    /// Pressure of the pump.
    pub pump: Pressure,
    /// All the loops together.
    pub mass_flow: MassFlow,
}

impl Standing<'_> {
    /// Density of what the pump moves, kg/m³; none where every loop is shut. Loops differ by a thousandth, as their water comes
    /// back more or less cool.
    fn moved(&self) -> Option<f64> {
        let (sum, count) =
            self.loops.iter().flatten().fold((0.0, 0.0), |(sum, count), line| (sum + line.density(), count + 1.0));
        (count > 0.0).then(|| self.density.map_or(sum / count, |density| density.in_kilograms_per_cubic_metre()))
    }

    /// The one state in which the pump gives what loops and common path take, to 1e-12 of the shut-off pressure.
    ///
    /// Units: as typed. Source: hydraulics; Newton steps in the pressure across the manifold, bracketed.
    /// Holds for: one fluid throughout, a pump that pushes forward, loops that resist; the flow has
    /// to lie on the pump's curve.
    pub fn solve(&self) -> Result<Operation, NoSolution> {
        let density = self.moved().ok_or(NoSolution::AllShut)?;
        let shut_off = Pressure::pascals(self.head.continued(0.0));
        let most = Method("a pump").takes("shut-off pressure", shut_off, 0.0..=1e4)?;
        if most == 0.0 {
            return Ok(Operation { across: Pressure::ZERO, pump: Pressure::ZERO, mass_flow: MassFlow::ZERO });
        }
        // What is left for the loops when so much flows through them.
        let left = |flow: f64| self.head.continued(flow / density) - self.common.map_or(0.0, |line| line.drop(flow));
        let mut flows: Vec<f64> = self.loops.iter().flatten().map(|line| line.flow(most)).collect();
        if !flows.iter().all(|flow| flow.is_finite()) {
            return Err(NoSolution::NoResistance);
        }
        // The more lies across the manifold, the less is left: one crossing between nothing and shut-off. Steps along
        // the tangent find it, kept between the ends that they have passed.
        let (mut low, mut high) = (0.0, most);
        let (mut across, mut last) = (0.75 * most, most);
        let mut mass_flow = 0.0;
        for _ in 0..100 {
            let mut slope = 0.0;
            mass_flow = 0.0;
            for (line, flow) in self.loops.iter().flatten().zip(&mut flows) {
                let (here, exponent) = line.flow_near(across, *flow * (across / last).sqrt());
                *flow = here;
                mass_flow += here;
                slope += here / (exponent * across);
            }
            let excess = left(mass_flow) - across;
            if excess > 0.0 {
                low = across
            } else {
                high = across
            }
            let nearby = mass_flow * 1e-6;
            let falls = (left(mass_flow + nearby) - left(mass_flow)) / nearby * slope - 1.0;
            last = across;
            let next = across - excess / falls;
            across = if low <= next && next <= high { next } else { (low + high) / 2.0 };
            // Where nearly all is lost on the way, what is left for the loops has to be right by itself.
            if (across - last).abs() <= (most * 1e-12).min(across * 1e-9) {
                break;
            }
        }
        let volume_flow = VolumeFlow::cubic_metres_per_second(mass_flow / density);
        let pump = self.head.at(volume_flow)?;
        Ok(Operation { across: Pressure::pascals(across), pump, mass_flow: MassFlow::kilograms_per_second(mass_flow) })
    }
}

/// Manifolds side by side on one pump, each with its own common path: what flows through each of them.
///
/// Their own heads do not count. A manifold of which every loop is shut has no flow.
///
/// Units: as typed. Source: hydraulics; the pump's pressure lies between nothing and shut-off, and the flow that it gives
/// falls with it while that of the manifolds rises. Holds for: as [`Standing::solve`].
pub fn side_by_side(manifolds: &[Standing], head: Head) -> Result<Vec<Operation>, NoSolution> {
    if manifolds.iter().all(|it| it.moved().is_none()) {
        return Err(NoSolution::AllShut);
    }
    let volume_flow = |each: &[Operation]| -> f64 {
        let flows = manifolds
            .iter()
            .zip(each)
            .filter_map(|(it, now)| Some(now.mass_flow.in_kilograms_per_second() / it.moved()?));
        flows.sum()
    };
    let most = Method("a pump").takes("shut-off pressure", Pressure::pascals(head.continued(0.0)), 0.0..=1e4)?;
    let at = |pressure: f64| -> Result<(Vec<Operation>, f64), NoSolution> {
        let pump = Pressure::pascals(pressure);
        let each = manifolds.iter().map(|it| match (Standing { head: Head::Constant(pump), ..*it }).solve() {
            Err(NoSolution::AllShut) => Ok(Operation { across: pump, pump, mass_flow: MassFlow::ZERO }),
            solved => solved,
        });
        let each = each.collect::<Result<Vec<_>, _>>()?;
        let excess = head.continued(volume_flow(&each)) - pressure;
        Ok((each, excess))
    };
    // One crossing, met by secants between ends on either side of it. An end that stays weighs less each time, by as much
    // as the other came nearer (after Anderson and Björck).
    let (mut each, over) = at(most)?;
    let (mut low, mut high) = ((0.0, most), (most, over));
    for _ in 0..100 {
        let next = low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1);
        if !next.is_finite() || (high.0 - low.0).abs() <= most * 1e-12 {
            break;
        }
        let (operations, excess) = at(next)?;
        each = operations;
        if excess.abs() <= most * 1e-10 {
            break;
        }
        let (moved, stays) = if excess > 0.0 { (&mut low, &mut high) } else { (&mut high, &mut low) };
        let nearer = 1.0 - excess / moved.1;
        stays.1 *= if nearer > 0.0 { nearer } else { 0.5 };
        *moved = (next, excess);
    }
    head.at(VolumeFlow::cubic_metres_per_second(volume_flow(&each)))?;
    Ok(each)
}

/// Why a manifold has no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoSolution {
    /// No loop is open, or none has a flow.
    AllShut,
    /// A loop is open that does not resist.
    NoResistance,
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for NoSolution {
    fn from(refusal: OutOfRange) -> Self {
        NoSolution::OutOfRange(refusal)
    }
}

impl fmt::Display for NoSolution {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            NoSolution::AllShut => write!(f, "no loop of the manifold has a flow"),
            NoSolution::NoResistance => {
                write!(f, "a loop of the manifold does not resist its flow")
            }
            NoSolution::OutOfRange(refusal) => refusal.fmt(f),
        }
    }
}

impl std::error::Error for NoSolution {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::fluids::{Fluid, Properties};
    use crate::water::pipe_friction::Run;
    use crate::water::pump::PumpCurve;
    use crate::water::valves::PresettingTable;
    use quantity::{Length, Temperature};

    const KV: fn(f64) -> FlowCoefficient = FlowCoefficient::cubic_metres_per_hour;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    fn water() -> Properties {
        Fluid::Water.at(Temperature::celsius(36.0)).unwrap()
    }

    /// Pipe 16 × 2 with an actuator valve of Kv 2.5.
    fn line(metres: f64, half_turns: u32) -> Line {
        let run = Run {
            half_turns,
            ..Run::straight(Length::metres(metres), Length::millimetres(12.0), Length::millimetres(0.007))
        };
        Line::new(&run, &water()).unwrap().with_valve(KV(2.5)).unwrap()
    }

    fn duties() -> [Duty; 3] {
        let duty = |metres, flow, half_turns| Duty {
            line: line(metres, half_turns),
            mass_flow: MassFlow::kilograms_per_second(flow),
            balancing_valve: KV(1.10),
        };
        [duty(95.0, 0.031, 14), duty(70.0, 0.026, 10), duty(48.0, 0.017, 8)]
    }

    fn open_loops() -> [Option<Line>; 3] {
        duties().map(|duty| duty.line.with_valve(duty.balancing_valve).ok())
    }

    fn common() -> Option<Line> {
        let run = Run {
            fittings: 3.0,
            ..Run::straight(Length::metres(10.0), Length::millimetres(20.4), Length::millimetres(0.007))
        };
        Line::new(&run, &water()).unwrap().with_valve(KV(4.0)).ok()
    }

    fn parabola() -> Head<'static> {
        Head::Parabola {
            shut_off: Pressure::kilopascals(30.0),
            greatest_flow: VolumeFlow::cubic_metres_per_second(3e-4),
        }
    }

    /// Own Newton over the network, with IAPWS water and exact Colebrook–White, outside this project's
    /// code.
    #[test]
    fn three_loops_are_balanced() {
        let duties = duties();
        let found = balance(&duties).unwrap();
        assert_eq!(found.index, 0);
        near(found.pressure.in_pascals(), 12_999.6, 2.0);
        assert!(found.greatest_pressure >= found.pressure);
        let points = [
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
        ];
        let table = PresettingTable::new(&points).unwrap();
        let wanted = [(1.10, 4.0), (0.36891, 0.9137), (0.18041, 0.4010)];
        for (duty, (kv, turns)) in duties.iter().zip(wanted) {
            let found = found.kv(duty).unwrap();
            near(found.in_cubic_metres_per_hour(), kv, 1e-4);
            near(table.setting_for(found).unwrap(), turns, 5e-4);
        }
    }

    /// As above; three loops with open valves, a pump and a common path.
    #[test]
    fn three_loops_as_they_stand() {
        let loops = open_loops();
        let standing = Standing { loops: &loops, common: common(), head: parabola(), density: None };
        let found = standing.solve().unwrap();
        near(found.across.in_pascals(), 20_041.6, 3.0);
        near(found.pump.in_pascals(), 23_301.7, 3.0);
        for (line, wanted) in loops.iter().flatten().zip([0.039659, 0.046185, 0.055024]) {
            let flow = line.mass_flow(found.across).unwrap();
            near(flow.in_kilograms_per_second(), wanted, 1e-5);
        }
    }

    #[test]
    fn a_shut_loop_leaves_more_to_the_others_under_a_falling_pump_only() {
        let loops = open_loops();
        let shut = [loops[0], None, loops[2]];
        let solve = |loops: &[Option<Line>], common, head| Standing { loops, common, head, density: None }.solve();
        let all = solve(&loops, common(), parabola()).unwrap();
        let some = solve(&shut, common(), parabola()).unwrap();
        assert!(some.across > all.across && some.mass_flow < all.mass_flow);
        let constant = Head::Constant(Pressure::kilopascals(20.0));
        let all = solve(&loops, None, constant).unwrap();
        let some = solve(&shut, None, constant).unwrap();
        near(all.across.in_pascals(), 20_000.0, 1e-6);
        near(some.across.in_pascals(), 20_000.0, 1e-6);
    }

    #[test]
    fn what_cannot_flow_is_said() {
        let loops = open_loops();
        let solve = |loops: &[Option<Line>], head| Standing { loops, common: common(), head, density: None }.solve();
        assert_eq!(solve(&[], parabola()), Err(NoSolution::AllShut));
        assert_eq!(solve(&[None, None], parabola()), Err(NoSolution::AllShut));
        let off = solve(&loops, Head::Constant(Pressure::ZERO)).unwrap();
        assert_eq!(off.mass_flow, MassFlow::ZERO);
        assert!(solve(&loops, Head::Constant(Pressure::pascals(-1.0))).is_err());
        assert!(solve(&loops, Head::Constant(Pressure::pascals(f64::NAN))).is_err());
        let nothing = Line::new(&Run::straight(Length::ZERO, Length::millimetres(12.0), Length::ZERO), &water());
        assert_eq!(solve(&[nothing.ok()], parabola()), Err(NoSolution::NoResistance));
        let mut idle = duties();
        for duty in &mut idle {
            duty.mass_flow = MassFlow::ZERO;
        }
        assert_eq!(balance(&idle), Err(NoSolution::AllShut));
        idle[0].mass_flow = MassFlow::kilograms_per_second(-0.01);
        assert!(balance(&idle).is_err());
    }

    /// The flow lies beyond the last point of a weak pump's curve: no answer by extrapolation.
    #[test]
    fn a_pump_curve_is_not_carried_on() {
        let litres = VolumeFlow::litres_per_minute;
        let points = [(litres(0.0), Pressure::kilopascals(30.0)), (litres(2.0), Pressure::kilopascals(29.0))];
        let head = Head::Curve(PumpCurve::new(&points).unwrap());
        let loops = open_loops();
        let refusal = Standing { loops: &loops, common: None, head, density: None }.solve().unwrap_err();
        assert!(refusal.to_string().starts_with("the flow of the pump is "), "{refusal}");
    }

    /// Three loops parted between two manifolds without common paths are the three loops of one.
    #[test]
    fn manifolds_side_by_side_share_the_pump() {
        let loops = open_loops();
        let standing = |loops, common| Standing { loops, common, head: parabola(), density: None };
        let one = standing(&loops[..], None).solve().unwrap();
        let two = side_by_side(&[standing(&loops[..1], None), standing(&loops[1..], None)], parabola()).unwrap();
        let flow: f64 = two.iter().map(|it| it.mass_flow.in_kilograms_per_second()).sum();
        near(flow, one.mass_flow.in_kilograms_per_second(), 1e-9);
        near(two[1].pump.in_pascals(), one.pump.in_pascals(), 1e-4);
        let alone = side_by_side(&[standing(&loops[..], common())], parabola()).unwrap();
        near(alone[0].across.in_pascals(), standing(&loops[..], common()).solve().unwrap().across.in_pascals(), 1e-4);
        let shut = side_by_side(&[standing(&loops[..], common()), standing(&[None], common())], parabola()).unwrap();
        assert_eq!(shut[1].mass_flow, MassFlow::ZERO);
        near(shut[0].across.in_pascals(), alone[0].across.in_pascals(), 1e-4);
        assert_eq!(side_by_side(&[standing(&[None], None)], parabola()), Err(NoSolution::AllShut));
        assert_eq!(side_by_side(&[], parabola()), Err(NoSolution::AllShut));
    }

    /// Two hundred loops of 20 to 119 m: as much flows in them together as in each by itself, and the pump gives it.
    #[test]
    fn two_hundred_loops_have_their_answer() {
        let loops: Vec<_> = (0..200).map(|n| Some(line(20.0 + f64::from(n % 100), 10))).collect();
        let head = Head::Parabola {
            shut_off: Pressure::kilopascals(40.0),
            greatest_flow: VolumeFlow::litres_per_minute(900.0),
        };
        let found = Standing { loops: &loops, common: None, head, density: None }.solve().unwrap();
        let each: f64 =
            loops.iter().flatten().map(|it| it.mass_flow(found.across).unwrap().in_kilograms_per_second()).sum();
        near(each, found.mass_flow.in_kilograms_per_second(), each * 1e-9);
        near(found.pump.in_pascals(), found.across.in_pascals(), 1e-4);
    }

    /// Pipes from a hair to a main, valves from nearly shut to none, pumps from a breath to a mains: there is an answer that
    /// balances, or a reason, and never a search without end.
    #[test]
    fn whatever_stands_there_is_solved_or_refused() {
        let mut state = 1264u64;
        let mut number = |least: f64, greatest: f64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let share = (state >> 11) as f64 / (1u64 << 53) as f64;
            least * (greatest / least).powf(share)
        };
        let mut solved = 0;
        for _ in 0..2000 {
            let mut line = || {
                let (metres, millimetres) = (number(1e-3, 1e3), number(2.0, 200.0));
                let run = Run {
                    half_turns: number(1.0, 1e3) as u32,
                    fittings: number(1e-3, 1e3),
                    ..Run::straight(
                        Length::metres(metres),
                        Length::millimetres(millimetres),
                        Length::millimetres(0.007),
                    )
                };
                Line::new(&run, &water()).unwrap().with_valve(KV(number(1e-3, 1e3))).ok()
            };
            let loops: Vec<_> = (0..6).map(|at| if at == 2 { None } else { line() }).collect();
            let common = line();
            let (pressure, flow) = (number(1e-4, 1e4), number(1e-3, 1e5));
            let (shut_off, greatest_flow) = (Pressure::kilopascals(pressure), VolumeFlow::litres_per_minute(flow));
            let points =
                [(VolumeFlow::ZERO, shut_off), (greatest_flow * 0.5, shut_off * 0.9), (greatest_flow, Pressure::ZERO)];
            let heads = [
                Head::Constant(shut_off),
                Head::Parabola { shut_off, greatest_flow },
                Head::Curve(PumpCurve::new(&points).unwrap()),
            ];
            for head in heads {
                let Ok(found) = (Standing { loops: &loops, common, head, density: None }).solve() else { continue };
                solved += 1;
                let each: f64 = loops.iter().flatten().map(|it| it.flow(found.across.in_pascals())).sum();
                let all = found.mass_flow.in_kilograms_per_second();
                assert!((each - all).abs() <= all * 1e-6, "{each} kg/s in the loops, {all} together");
                let over = (found.pump - found.across).in_pascals() - common.unwrap().drop(all);
                assert!(over.abs() <= shut_off.in_pascals() * 1e-6, "{over} Pa over of {shut_off}");
            }
        }
        assert!(solved > 5000, "{solved}");
    }

    #[test]
    fn the_nearest_setting_is_the_one_of_the_nearest_flow() {
        let points = [(1.0, KV(0.40)), (2.0, KV(0.70)), (4.0, KV(1.10))];
        let table = PresettingTable::new(&points).unwrap();
        let [_, duty, _] = duties();
        let across = Pressure::kilopascals(13.0);
        let flow = |kv| duty.line.with_valve(kv).unwrap().mass_flow(across).unwrap().in_kilograms_per_second();
        for step in 0..=70 {
            let wanted = Duty { mass_flow: MassFlow::kilograms_per_second(0.018 + f64::from(step) * 2e-4), ..duty };
            let exact = wanted.line.valve_for(wanted.mass_flow, across).unwrap();
            let (_, kv) = wanted.nearest_setting(&table, exact, across).unwrap();
            let off = |kv| (flow(kv) - wanted.mass_flow.in_kilograms_per_second()).abs();
            assert!(points.iter().all(|(_, other)| off(kv) <= off(*other)), "step {step}");
        }
    }

    #[test]
    fn a_great_manifold_at_any_pump_has_its_answer() {
        for kilopascals in [0.001, 0.1, 1.0, 5.0, 20.0, 80.0, 400.0] {
            let loops: Vec<_> = (1..=12).map(|n| Some(line(f64::from(n) * 10.0, n as u32))).collect();
            let head = Head::Parabola {
                shut_off: Pressure::kilopascals(kilopascals),
                greatest_flow: VolumeFlow::litres_per_minute(60.0),
            };
            let found = Standing { loops: &loops, common: common(), head, density: None }.solve().unwrap();
            let common = common().unwrap().pressure_drop(found.mass_flow).unwrap().total();
            let over = (found.pump - common - found.across).in_pascals();
            near(over, 0.0, kilopascals * 1e-6);
        }
    }
}
