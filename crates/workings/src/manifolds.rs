//! Manifolds: what their loops need together, and what they get.

use crate::loops::LoopWorkings;
use crate::{Figure, Gap, Subject, ValueOf, Worked};
use design::{Design, Feeder, Manifold, Presetting};
use engineering::water::manifold::{Balance, Duty, Standing, balance};
use engineering::water::mixing::blend;
use engineering::water::pipe_friction::{Line, Run};
use engineering::water::pump::{Head, PumpCurve};
use engineering::water::valves::{self, PresettingTable};
use quantity::*;

/// What was worked out of a manifold.
#[derive(Debug, Clone)]
pub struct ManifoldWorkings {
    /// Its loops, in the order of the file.
    pub loops: Vec<usize>,
    /// All its loops together.
    pub flow: Worked<MassFlow>,
    pub volume_flow: Worked<VolumeFlow>,
    /// Across it: of the loop that needs most, its balancing valve fully open.
    pub pressure_drop: Worked<Pressure>,
    /// The loop that needs most.
    pub index_loop: Option<usize>,
    /// In the feeder and in the manifold's own parts, at that flow.
    pub common_pressure_drop: Worked<Pressure>,
    /// Across it and in what is common, at the upper end of what it may be.
    pub head_needed: Worked<Pressure>,
    /// What its pump offers at that flow.
    pub head_available: Worked<Pressure>,
    pub return_temperature: Worked<Temperature>,
    /// What its source has to send it: all its flow, or the hot share of its blend.
    pub primary_flow: Worked<MassFlow>,
    /// Of that flow in its feeder.
    pub feeder_velocity: Worked<Velocity>,
    /// Of that flow in each metre of its feeder.
    pub feeder_drop_per_metre: Worked<Pressure>,
}

/// A usual balancing valve, fully open (typical, from memory).
const USUAL_OPEN_VALVE: FlowCoefficient = FlowCoefficient::cubic_metres_per_hour(1.1);

/// Works every manifold out and tells its loops their presettings.
pub(crate) fn work_out(design: &Design, loops: &mut [LoopWorkings]) -> Vec<ManifoldWorkings> {
    let mut of_manifold = vec![Vec::new(); design.manifolds.len()];
    for (at, it) in loops.iter().enumerate() {
        if let Some(manifold) = it.manifold {
            of_manifold[manifold].push(at);
        }
    }
    let manifolds = design.manifolds.values().enumerate().zip(of_manifold);
    manifolds.map(|((at, given), own)| One { design, given, at, own }.work_out(loops)).collect()
}

/// One manifold with its loops.
struct One<'d> {
    design: &'d Design,
    given: &'d Manifold,
    at: usize,
    own: Vec<usize>,
}

impl One<'_> {
    fn missing(&self, key: &'static str) -> Gap {
        if self.given.broken { Gap::Unreadable } else { Gap::missing(Subject::Manifold(self.at), key) }
    }

    fn work_out(self, loops: &mut [LoopWorkings]) -> ManifoldWorkings {
        let flow = self.flow(loops);
        let density = self.density(loops);
        let volume_flow = flow.as_ref().map_err(Gap::clone).and_then(|flow| {
            let density = density.clone()?;
            let figure = Figure::new(flow.value / density, "flow / density", "plain physics");
            Ok(figure.with("flow", flow.value).with("density", density))
        });
        let common = self.common(&flow, &density);
        let balanced = self.balance(loops);
        let index_loop = balanced.as_ref().ok().map(|(balance, _)| self.own[balance.index]);
        let pressure_drop = self.across(&balanced, loops);
        self.presettings(&balanced, loops);
        self.flows_as_set(&common, loops);
        let head_available = self.head_available(&volume_flow);
        let return_temperature = self.return_temperature(loops);
        let common_pressure_drop = common.as_ref().map_err(Gap::clone).and_then(|common| {
            let (line, flow) = (common, flow.value()?);
            let value = line.map_or(Ok(Pressure::ZERO), |line| line.pressure_drop(flow).map(|drop| drop.greatest()))?;
            let figure = Figure::new(value, "feeder + pressure-loss of the manifold's own parts", "Darcy-Weisbach");
            let figure = figure.with("flow", flow);
            Ok(if line.is_none() {
                figure.assuming("no feeder and no loss of the manifold's own parts is given")
            } else {
                figure
            })
        });
        let head_needed = match (&balanced, &common_pressure_drop) {
            (Ok((balance, _)), Ok(common)) => {
                let value = balance.greatest_pressure + common.value;
                Ok(Figure::new(value, "pressure-drop (upper end) + common", "plain physics")
                    .with("pressure-drop", balance.greatest_pressure)
                    .with("common", common.value)
                    .assuming_all(&common.assumptions))
            }
            (Err(gap), _) | (_, Err(gap)) => Err(gap.clone()),
        };
        let primary_flow = self.primary_flow(&flow, &return_temperature);
        let (feeder_velocity, feeder_drop_per_metre) = match self.in_feeder(&primary_flow) {
            Ok((velocity, drop)) => (Ok(velocity), Ok(drop)),
            Err(gap) => (Err(gap.clone()), Err(gap)),
        };
        ManifoldWorkings {
            flow,
            volume_flow,
            pressure_drop,
            index_loop,
            common_pressure_drop,
            head_needed,
            head_available,
            return_temperature,
            primary_flow,
            feeder_velocity,
            feeder_drop_per_metre,
            loops: self.own,
        }
    }

    fn flow(&self, loops: &[LoopWorkings]) -> Worked<MassFlow> {
        if self.own.is_empty() {
            return Err(Gap::NoMethod("no loop is joined to this manifold".into()));
        }
        let mut figure = Figure::new(MassFlow::ZERO, "sum of the flows of its loops", "plain physics");
        for at in &self.own {
            let flow = loops[*at].flow.value()?;
            figure.value += flow;
            figure = figure.with("flow", flow);
        }
        Ok(figure)
    }

    /// Of the water in its first loop whose density is known; loops differ by a thousandth.
    fn density(&self, loops: &[LoopWorkings]) -> Result<Density, Gap> {
        let known = self.own.iter().find_map(|at| {
            let (mass, volume) = (loops[*at].flow.as_ref().ok()?, loops[*at].volume_flow.as_ref().ok()?);
            (volume.value > VolumeFlow::ZERO).then(|| {
                let density = mass.value.in_kilograms_per_second() / volume.value.in_cubic_metres_per_second();
                Density::kilograms_per_cubic_metre(density)
            })
        });
        known.ok_or(Gap::NoMethod("the flow of its loops is not known".into()))
    }

    fn open_valve(&self) -> (FlowCoefficient, Option<design::Place>) {
        let open = self.given.valves.as_ref().and_then(|valves| valves.kv_open);
        (open.map_or(USUAL_OPEN_VALVE, |it| it.value), open.map(|it| it.at))
    }

    fn balance(&self, loops: &[LoopWorkings]) -> Result<(Balance, Vec<Duty>), Gap> {
        if self.own.is_empty() {
            return Err(Gap::NoMethod("no loop is joined to this manifold".into()));
        }
        let balancing_valve = self.open_valve().0;
        let mut duties = Vec::with_capacity(self.own.len());
        for at in &self.own {
            let it = &loops[*at];
            let (line, mass_flow) = (it.line.clone()?, it.flow.value()?);
            duties.push(Duty { line, mass_flow, balancing_valve });
        }
        let balance = balance(&duties).map_err(|fault| Gap::NoMethod(fault.to_string()))?;
        Ok((balance, duties))
    }

    fn with_open_valve<T>(&self, figure: Figure<T>) -> Figure<T> {
        let (kv, at) = self.open_valve();
        let figure = figure.with_at("kv-open", kv, at);
        if at.is_some() {
            figure
        } else {
            figure.assuming("the balancing valves are not given: Kv 1.1 m³/h fully open, typical, from memory")
        }
    }

    fn across(&self, balanced: &Result<(Balance, Vec<Duty>), Gap>, loops: &[LoopWorkings]) -> Worked<Pressure> {
        let (balance, _) = balanced.as_ref().map_err(Gap::clone)?;
        let figure = Figure::new(
            balance.pressure,
            "the greatest of its loops' pressure drops, its balancing valve fully open",
            "Darcy-Weisbach",
        );
        let flow = loops[self.own[balance.index]].flow.value()?;
        Ok(self.with_open_valve(figure.with("flow", flow)))
    }

    fn presettings(&self, balanced: &Result<(Balance, Vec<Duty>), Gap>, loops: &mut [LoopWorkings]) {
        for (place, at) in self.own.iter().enumerate() {
            loops[*at].presetting_kv = self.presetting(balanced, place);
        }
    }

    fn presetting(&self, balanced: &Result<(Balance, Vec<Duty>), Gap>, place: usize) -> Worked<FlowCoefficient> {
        let (balance, duties) = balanced.as_ref().map_err(Gap::clone)?;
        let duty = &duties[place];
        let figure = Figure::new(
            balance.kv(duty)?,
            "3600 x flow / density / sqrt((manifold pressure-drop - pipe, bends, actuator) / 1 bar x 1000 / density)",
            "definition of Kv",
        );
        let figure = figure.with("flow", duty.mass_flow).with("manifold pressure-drop", balance.pressure);
        Ok(self.with_open_valve(figure))
    }

    /// What all the flow passes through: the feeder, its valves, the manifold's own parts.
    fn common(&self, flow: &Worked<MassFlow>, density: &Result<Density, Gap>) -> Result<Option<Line>, Gap> {
        let feeder = self.given.feeder.as_ref().map(|it| &it.value);
        let loss = self.given.pressure_loss;
        if feeder.is_none() && loss.is_none() {
            return Ok(None);
        }
        let mut line = self.feeder(feeder)?;
        if let Some(loss) = loss
            && loss.value > Pressure::ZERO
        {
            // The loss is stated at the design flow and grows with the square of the flow, as a valve's does.
            line = line.with_valve(valves::kv(flow.value()?, loss.value, density.clone()?)?)?;
        }
        Ok(Some(line))
    }

    /// All its flow, or what of it comes from the source where a mixing set blends it with the return.
    fn primary_flow(&self, flow: &Worked<MassFlow>, back: &Worked<Temperature>) -> Worked<MassFlow> {
        let flow = flow.value()?;
        let source = self.design.heat_source.flow_temperature;
        let (Some(own), Some(source), Some(true)) =
            (self.given.flow_temperature, source, self.given.mixing_set.map(|it| it.value))
        else {
            return Ok(Figure::new(flow, "flow", "plain physics").with("flow", flow));
        };
        let back = back.value()?;
        let blend = blend(own.value, back, source.value).map_err(|fault| Gap::NoMethod(fault.to_string()))?;
        let formula = "flow x (flow-temperature - return) / (source - return)";
        let figure = Figure::new(blend.primary_flow(flow), formula, "heat balance of the blend").with("flow", flow);
        Ok(figure.with_given("flow-temperature", &own).with_given("source", &source).with("return", back))
    }

    /// Velocity and pressure drop of a metre of the feeder, at the flow that the source sends.
    fn in_feeder(&self, primary_flow: &Worked<MassFlow>) -> Result<(Figure<Velocity>, Figure<Pressure>), Gap> {
        let feeder = self.given.feeder.as_ref().ok_or_else(|| self.missing("feeder"))?;
        let pipe = feeder.pipe.as_ref().ok_or_else(|| self.missing("feeder/pipe"))?;
        let pipe = self.design.pipe(&pipe.value.0).ok_or(Gap::Unreadable)?;
        let pipe = crate::loops::pipe_workings(&pipe, Subject::Manifold(self.at))?;
        let flow = primary_flow.value()?;
        let temperature = self.design.heat_source.flow_temperature.or(self.given.flow_temperature);
        let water =
            crate::loops::fluid(self.design)?.at(temperature.map_or(Temperature::celsius(35.0), |it| it.value))?;
        let drop =
            Line::new(&Run::straight(Length::metres(1.0), pipe.bore, pipe.roughness), &water)?.pressure_drop(flow)?;
        let velocity = Figure::new(drop.velocity, "4 x primary-flow / (π x density x bore²)", "plain physics")
            .with("primary-flow", flow)
            .with("density", water.density)
            .with("bore", pipe.bore);
        let formula = "friction factor x 1 m / bore x ρv²/2";
        let drop = Figure::new(drop.greatest(), formula, "Darcy-Weisbach; Colebrook-White")
            .with("primary-flow", flow)
            .with("bore", pipe.bore)
            .with("roughness", pipe.roughness)
            .with_number("friction factor", drop.friction_factor);
        Ok((velocity, drop))
    }

    fn feeder(&self, feeder: Option<&Feeder>) -> Result<Line, Gap> {
        let fluid = crate::loops::fluid(self.design)?;
        let temperature = self.given.flow_temperature.or(self.design.heat_source.flow_temperature);
        let properties = fluid.at(temperature.map_or(Temperature::celsius(35.0), |it| it.value))?;
        let bare = Run::straight(Length::ZERO, Length::millimetres(20.0), Length::millimetres(0.007));
        let Some(feeder) = feeder else { return Ok(Line::new(&bare, &properties)?) };
        let run = match (&feeder.pipe, feeder.length) {
            (Some(pipe), Some(length)) => {
                let pipe = self.design.pipe(&pipe.value.0).ok_or(Gap::Unreadable)?;
                let pipe = crate::loops::pipe_workings(&pipe, Subject::Manifold(self.at))?;
                Run::straight(length.value, pipe.bore, pipe.roughness)
            }
            (None, None) => bare,
            (None, _) => return Err(self.missing("feeder/pipe")),
            (_, None) => return Err(self.missing("feeder/length")),
        };
        let run = Run { fittings: feeder.loss_coefficients.map_or(0.0, |it| it.value), ..run };
        let line = Line::new(&run, &properties)?;
        Ok(match feeder.kv {
            Some(kv) => line.with_valve(kv.value)?,
            None => line,
        })
    }

    fn curve(&self) -> Vec<(VolumeFlow, Pressure)> {
        let pump = self.given.pump.as_ref().or(self.design.heat_source.pump.as_ref());
        let points = pump.iter().flat_map(|pump| &pump.value.curve);
        points.filter_map(|point| Some((point.flow?.value, point.head?.value))).collect()
    }

    /// The pump of the manifold, or the source's where the manifold has none of its own.
    fn head<'c>(&self, curve: &'c [(VolumeFlow, Pressure)]) -> Result<(Head<'c>, Option<design::Place>), Gap> {
        let pump = self.given.pump.as_ref().or(self.design.heat_source.pump.as_ref());
        let pump = pump.ok_or_else(|| self.missing("pump"))?;
        if !curve.is_empty() {
            let curve = PumpCurve::new(curve).map_err(|fault| Gap::NoMethod(fault.to_string()))?;
            return Ok((Head::Curve(curve), Some(pump.at)));
        }
        let head = pump.value.head.ok_or_else(|| self.missing("pump/head"))?;
        Ok((Head::Constant(head.value), Some(head.at)))
    }

    fn head_available(&self, volume_flow: &Worked<VolumeFlow>) -> Worked<Pressure> {
        let curve = self.curve();
        let (head, at) = self.head(&curve)?;
        let flow = volume_flow.value()?;
        let value = head.at(flow)?;
        let figure = Figure::new(value, "the pump's pressure at the flow of all loops", "the design");
        Ok(figure.with("volume-flow", flow).with_at("pump", value, at))
    }

    /// Mixed from its loops.
    fn return_temperature(&self, loops: &[LoopWorkings]) -> Worked<Temperature> {
        let (mut heat, mut all) = (0.0, 0.0);
        for at in &self.own {
            let it = &loops[*at];
            let flow = it.flow.value()?.in_kilograms_per_second();
            heat += flow * it.return_temperature.value()?.in_celsius();
            all += flow;
        }
        if all <= 0.0 {
            return Err(Gap::NoMethod("no water flows through this manifold".into()));
        }
        let figure =
            Figure::new(Temperature::celsius(heat / all), "mean of its loops' returns by flow", "plain physics");
        Ok(figure.with("flow", MassFlow::kilograms_per_second(all)))
    }

    /// The flows that the loops get with their valves as they are set, where any loop states its setting. A valve
    /// of which none is stated stands open.
    fn flows_as_set(&self, common: &Result<Option<Line>, Gap>, loops: &mut [LoopWorkings]) {
        let solved = self.solve_as_set(common, loops);
        for (place, at) in self.own.iter().enumerate() {
            loops[*at].flow_as_set = solved.as_ref().map_err(Gap::clone).map(|(flows, across)| {
                let figure = Figure::new(
                    flows[place],
                    "the flow at which pump, common path and this loop agree",
                    "hydraulics; bracketed root",
                )
                .with("pressure across the manifold", *across);
                match self.presetting_of(*at) {
                    Some(_) => figure,
                    None => self.with_open_valve(figure.assuming("no presetting is stated: its valve is fully open")),
                }
            });
        }
    }

    fn presetting_of(&self, at: usize) -> Option<Presetting> {
        self.design.loops.at(at)?.1.value.presetting.map(|it| it.value)
    }

    fn solve_as_set(
        &self,
        common: &Result<Option<Line>, Gap>,
        loops: &[LoopWorkings],
    ) -> Result<(Vec<MassFlow>, Pressure), Gap> {
        let settings = self.given.valves.iter().flat_map(|valves| &valves.value.settings);
        let table: Vec<(f64, FlowCoefficient)> =
            settings.filter_map(|it| Some((it.turns?.value, it.kv?.value))).collect();
        let set = |at: &usize| self.presetting_of(*at).is_some();
        if let Some(first) = self.own.first().filter(|_| !self.own.iter().any(set)) {
            return Err(Gap::missing(Subject::Loop(*first), "presetting"));
        }
        let unread = |at: &usize| self.design.loops.at(*at).is_some_and(|(_, it)| it.value.has_unread("presetting"));
        let valves_unread = self.given.valves.as_ref().is_some_and(|valves| valves.value.broken);
        if valves_unread || self.given.has_unread("valves") || self.own.iter().any(unread) {
            return Err(Gap::Unreadable);
        }
        let mut lines = Vec::with_capacity(self.own.len());
        for at in &self.own {
            let kv = match self.presetting_of(*at) {
                None => self.open_valve().0,
                Some(Presetting::Kv(kv)) => kv,
                Some(Presetting::Turns(turns)) => {
                    if table.is_empty() {
                        return Err(self.missing("valves/settings"));
                    }
                    let table = PresettingTable::new(&table).map_err(|fault| Gap::NoMethod(fault.to_string()))?;
                    table.kv_at(turns)?
                }
            };
            lines.push(Some(loops[*at].line.clone()?.with_valve(kv)?));
        }
        let curve = self.curve();
        let (head, _) = self.head(&curve)?;
        let standing = Standing { loops: &lines, common: common.clone()?, head };
        let solved = standing.solve().map_err(|fault| Gap::NoMethod(fault.to_string()))?;
        let flows = lines.iter().flatten().map(|line| line.mass_flow(solved.across));
        Ok((flows.collect::<Result<Vec<_>, _>>()?, solved.across))
    }
}
