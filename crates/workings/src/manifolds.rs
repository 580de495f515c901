//! Manifolds: what their loops need together, and what they get.

use crate::loops::LoopWorkings;
use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Design, Feeder, Manifold, Placed, Presetting, Pump, Valves};
use engineering::water::fluids::Properties;
use engineering::water::manifold::{Balance, Duty, Operation, Standing, balance, side_by_side};
use engineering::water::mixing::blend;
use engineering::water::pipe_friction::{Line, Run};
use engineering::water::pump::{Head, PumpCurve};
use engineering::water::valves::{self, PresettingTable, TableFault};
use quantity::*;
use std::collections::BTreeSet;

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
    /// What its pump offers at that flow; a pump that drives several manifolds, at the flow of all of them.
    pub head_available: Worked<Pressure>,
    /// How much more that is than is needed.
    pub head_margin: Worked<Pressure>,
    /// How much more than that flow its pump's curve passes at the head needed.
    pub flow_margin: Worked<VolumeFlow>,
    /// What the balancing valves are set for: the pressure drop of the loop that needs most, to which a pump is set that
    /// keeps its pressure; or what the curve of the pump leaves across the manifold, if that is more.
    pub pressure_across: Worked<Pressure>,
    /// What flows with the valves as they are set, all loops open.
    pub flow_as_set: Worked<VolumeFlow>,
    /// What its pump gives then.
    pub head_as_set: Worked<Pressure>,
    /// What of that lies across the manifold.
    pub across_as_set: Worked<Pressure>,
    pub return_temperature: Worked<Temperature>,
    /// What its source has to send it: all its flow, or the hot share of its blend.
    pub primary_flow: Worked<MassFlow>,
    /// Of that flow in its feeder.
    pub feeder_velocity: Worked<Velocity>,
    /// Of that flow in each metre of its feeder.
    pub feeder_drop_per_metre: Worked<Pressure>,
    /// What all its flow passes through.
    common: Result<Option<Line>, Gap>,
}

impl ManifoldWorkings {
    /// Whether the head needed is the upper end of what it may be: its water is between laminar and turbulent.
    pub fn head_is_upper_end(&self) -> bool {
        match (&self.head_needed, &self.pressure_drop, &self.common_pressure_drop) {
            (Ok(needed), Ok(across), Ok(common)) => needed.value > (across.value + common.value) * 1.01,
            _ => false,
        }
    }
}

/// A usual balancing valve, fully open (typical, from memory).
const USUAL_OPEN_VALVE: FlowCoefficient = FlowCoefficient::cubic_metres_per_hour(1.1);
const UPPER_END: &str =
    "between laminar and turbulent flow nobody knows which it is: the upper end of what the loops may take counts";
const OPEN_VALVE: &str = "the balancing valves are not given: Kv 1.1 m³/h fully open, typical, from memory";

/// Works every manifold out and tells its loops their presettings.
pub(crate) fn work_out(design: &Design, loops: &mut [LoopWorkings]) -> Vec<ManifoldWorkings> {
    let mut of_manifold = vec![Vec::new(); design.manifolds.len()];
    for (at, it) in loops.iter().enumerate() {
        if let Some(manifold) = it.manifold {
            of_manifold[manifold].push(at);
        }
    }
    let manifolds = design.manifolds.values().enumerate().zip(of_manifold);
    let ones: Vec<One> = manifolds.map(|((at, given), own)| One { design, given, at, own }).collect();
    let flows: Vec<Flows> = ones.iter().map(|one| one.flows(loops)).collect();
    let of_pump = of_source_pump(design, &ones, &flows);
    let worked: Vec<ManifoldWorkings> =
        ones.iter().zip(flows).map(|(one, flows)| one.work_out(loops, flows, &of_pump)).collect();
    as_set(design, loops, worked)
}

/// What flows through a manifold when every loop has its design flow.
struct Flows {
    mass: Worked<MassFlow>,
    volume: Worked<VolumeFlow>,
    density: Result<Density, Gap>,
}

/// What the source's pump passes: the flows of all manifolds that have none of their own.
fn of_source_pump(design: &Design, ones: &[One], flows: &[Flows]) -> Worked<VolumeFlow> {
    let mut sum =
        Figure::new(VolumeFlow::ZERO, "sum of the flows of the manifolds on the source's pump", "plain physics");
    if design.heat_source.pump.is_none() {
        return Ok(sum);
    }
    let driven = ones.iter().zip(flows).filter(|(one, _)| one.given.pump.is_none() && !one.own.is_empty());
    for (_, flows) in driven {
        let flow = flows.volume.value()?;
        sum.value += flow;
        sum = sum.with("volume-flow", flow);
    }
    Ok(sum)
}

/// The pump that drives a manifold: its own, or the source's.
fn pump<'d>(design: &'d Design, given: &'d Manifold) -> Option<&'d Placed<Pump>> {
    given.pump.as_ref().or(design.heat_source.pump.as_ref())
}

fn curve(pump: Option<&Placed<Pump>>) -> Vec<(VolumeFlow, Pressure)> {
    let points = pump.iter().flat_map(|pump| pump.value.curve.iter());
    points.filter_map(|point| Some((point.flow?.value, point.head?.value))).collect()
}

/// A fully open balancing valve: as stated, or the last of the table of settings.
pub(crate) fn open_valve(valves: Option<&Placed<Valves>>) -> Option<Placed<FlowCoefficient>> {
    let valves = valves?;
    valves.kv_open.or_else(|| valves.settings.last().and_then(|last| last.kv))
}

/// The table of settings of a manifold's valves, as points; empty where it has none.
pub fn settings(manifold: &Manifold) -> Vec<(f64, FlowCoefficient)> {
    let settings = manifold.valves.iter().flat_map(|valves| valves.value.settings.iter());
    settings.filter_map(|it| Some((it.turns?.value, it.kv?.value))).collect()
}

/// The flows that the loops get with their valves as they are set, where any loop of the manifold states its setting or
/// the valves can be set to the settings of a table only. Manifolds on one pump with a curve are solved together.
fn as_set(design: &Design, loops: &mut [LoopWorkings], mut worked: Vec<ManifoldWorkings>) -> Vec<ManifoldWorkings> {
    let of_source = on_source_curve(design, &worked);
    // What nobody has set runs as it is worked out, unless it can be set to the settings of a table only.
    let is_set = |at: usize| -> Result<(), Gap> {
        let (_, entry) = design.manifolds.at(at).ok_or(Gap::Unreadable)?;
        let any = entry.value.valves.as_ref().is_some_and(|valves| !valves.settings.is_empty())
            || worked[at].loops.iter().any(|own| presetting_of(design, *own).is_some());
        let unread = |own: &&usize| design.loops.at(**own).is_some_and(|(_, it)| it.value.has_unread("presetting"));
        let first = worked[at].loops.iter().find(unread).or(worked[at].loops.first());
        match first {
            None => Err(Gap::NoMethod("no loop is joined to this manifold".into())),
            Some(first) if !any => Err(Gap::missing(Subject::Loop(*first), "presetting")),
            Some(_) => Ok(()),
        }
    };
    let mut solved: Vec<Result<Operation, Gap>> = (0..worked.len())
        .map(|at| {
            is_set(at)?;
            match of_source.contains(&at) {
                true => Err(Gap::Unreadable),
                false => running(design, loops, &worked, &[at], None).map(|mut it| it.remove(0)),
            }
        })
        .collect();
    if of_source.iter().any(|at| is_set(*at).is_ok()) {
        let group: Vec<usize> = of_source.iter().copied().collect();
        let together = running(design, loops, &worked, &group, None);
        for (place, at) in group.iter().enumerate() {
            solved[*at] = together.as_ref().map(|it| it[place]).map_err(Gap::clone);
        }
    }
    for ((at, it), solved) in worked.iter_mut().enumerate().zip(solved) {
        let given = design.manifolds.at(at).map(|(_, entry)| &entry.value);
        let assumes_open = given.is_none_or(|given| open_valve(given.valves.as_ref()).is_none());
        let any_set = it.loops.iter().any(|at| presetting_of(design, *at).is_some());
        for own in &it.loops {
            let flow = solved.as_ref().map_err(Gap::clone).and_then(|solved| {
                let line = loops[*own].line_as_set.as_ref().map_err(Gap::clone)?;
                Ok(match line {
                    None => (MassFlow::ZERO, FlowCoefficient::ZERO, solved.across),
                    Some((line, kv)) => (line.mass_flow(solved.across)?, *kv, solved.across),
                })
            });
            let is_set = presetting_of(design, *own).is_some();
            loops[*own].flow_as_set = flow.map(|(flow, kv, across)| {
                let figure = Figure::new(
                    flow,
                    "the flow at which pipe, bends and valves lose the pressure across the manifold",
                    "hydraulics; bracketed root",
                )
                .with("pressure across the manifold", across)
                .with("presetting", kv);
                match (is_set, any_set) {
                    (true, _) => figure,
                    (false, false) if loops[*own].presetting_turns.is_none() => {
                        figure.assuming("no presetting is stated: each valve is set as it is worked out")
                    }
                    (false, false) => figure.assuming(
                        "no presetting is stated: each valve is set to the setting of its table that comes nearest",
                    ),
                    (false, true) if assumes_open => {
                        figure.assuming("no presetting is stated: its valve is fully open").assuming(OPEN_VALVE)
                    }
                    (false, true) => figure.assuming("no presetting is stated: its valve is fully open"),
                }
            });
        }
        let source = "hydraulics; bracketed root";
        it.flow_as_set = solved.as_ref().map_err(Gap::clone).and_then(|solved| {
            let flow = it.volume_flow.value()? * (solved.mass_flow / it.flow.value()?);
            let formula = "the flow at which the pump gives what loops and common path take";
            Ok(Figure::new(flow, formula, source).with("pressure across the manifold", solved.across))
        });
        it.head_as_set = solved.as_ref().map_err(Gap::clone).map(|solved| {
            Figure::new(solved.pump, "the pump's pressure at the flow as set", source).with("flow", solved.mass_flow)
        });
        it.across_as_set = solved.map(|solved| {
            let figure = Figure::new(solved.across, "head-as-set - common path", source);
            figure.with("head-as-set", solved.pump).with("flow", solved.mass_flow)
        });
    }
    worked
}

fn presetting_of(design: &Design, at: usize) -> Option<Presetting> {
    design.loops.at(at)?.1.value.presetting.map(|it| it.value)
}

/// How manifolds run that one pump drives, some of their loops shut.
fn running(
    design: &Design,
    loops: &[LoopWorkings],
    worked: &[ManifoldWorkings],
    manifolds: &[usize],
    shut: Option<&[bool]>,
) -> Result<Vec<Operation>, Gap> {
    let mut lines: Vec<Vec<Option<Line>>> = Vec::with_capacity(manifolds.len());
    for at in manifolds {
        let is_shut = |at: usize| shut.is_some_and(|shut| shut.get(at) == Some(&true));
        let own = worked[*at].loops.iter().map(|own| match is_shut(*own) {
            true => Ok(None),
            false => loops[*own].line_as_set.clone().map(|line| line.map(|(line, _)| line)),
        });
        lines.push(own.collect::<Result<_, _>>()?);
    }
    let first = manifolds.first().and_then(|at| design.manifolds.at(*at)).ok_or(Gap::Unreadable)?;
    let points = curve(pump(design, &first.1.value));
    let one = One { design, given: &first.1.value, at: manifolds[0], own: Vec::new() };
    let head = match one.head(&points)?.0 {
        Head::Constant(offers) => Head::Constant(set_to(design, &worked[manifolds[0]], offers)?),
        head => head,
    };
    let standing = manifolds.iter().zip(&lines).map(|(at, loops)| {
        let density = worked[*at].flow.value().and_then(|mass| density(mass, worked[*at].volume_flow.value()?)).ok();
        Ok(Standing { loops, common: worked[*at].common.clone()?, head, density })
    });
    let standing = standing.collect::<Result<Vec<_>, Gap>>()?;
    let solved = match &standing[..] {
        [alone] => alone.solve().map(|it| vec![it]),
        several => side_by_side(several, head),
    };
    solved.map_err(|fault| Gap::NoMethod(fault.to_string()))
}

/// What a pump that keeps its pressure is set to: all that it offers where presettings are stated, for then it is part of
/// what is set; else no more than is needed.
fn set_to(design: &Design, it: &ManifoldWorkings, offers: Pressure) -> Result<Pressure, Gap> {
    if it.loops.iter().any(|at| presetting_of(design, *at).is_some()) {
        return Ok(offers);
    }
    Ok(offers.min(it.pressure_across.value()? + lost_on_the_way(&it.common, &it.flow)?))
}

/// Of what flows, by its mass and its volume.
fn density(mass: MassFlow, volume: VolumeFlow) -> Result<Density, Gap> {
    if volume <= VolumeFlow::ZERO {
        return Err(Gap::NoMethod("no water flows through this manifold".into()));
    }
    let density = mass.in_kilograms_per_second() / volume.in_cubic_metres_per_second();
    Ok(Density::kilograms_per_cubic_metre(density))
}

/// What a manifold's whole flow loses in its common path.
fn lost_on_the_way(common: &Result<Option<Line>, Gap>, flow: &Worked<MassFlow>) -> Result<Pressure, Gap> {
    match common {
        Ok(None) => Ok(Pressure::ZERO),
        Ok(Some(line)) => Ok(line.pressure_drop(flow.value()?)?.total()),
        Err(gap) => Err(gap.clone()),
    }
}

/// The flow of every loop of the design when some are shut by their actuators; nothing in those, nor in loops that are
/// joined to no manifold.
pub fn flows_with_shut(design: &Design, workings: &Workings, shut: &[bool]) -> Result<Vec<Option<MassFlow>>, Gap> {
    let of_source = on_source_curve(design, &workings.manifolds);
    let alone = (0..workings.manifolds.len()).filter(|at| !of_source.contains(at)).map(|at| vec![at]);
    let is_shut = |at: usize| shut.get(at) == Some(&true);
    let mut flows = vec![None; workings.loops.len()];
    for group in alone.chain([of_source.iter().copied().collect::<Vec<_>>()]) {
        let open: Vec<usize> =
            group.iter().flat_map(|at| &workings.manifolds[*at].loops).copied().filter(|at| !is_shut(*at)).collect();
        if open.is_empty() {
            continue;
        }
        let solved = running(design, &workings.loops, &workings.manifolds, &group, Some(shut))?;
        for (manifold, solved) in group.iter().zip(solved) {
            for at in workings.manifolds[*manifold].loops.iter().filter(|at| !is_shut(**at)) {
                let line = workings.loops[*at].line_as_set.as_ref().map_err(Gap::clone)?;
                flows[*at] = line.map(|(line, _)| line.mass_flow(solved.across)).transpose()?;
            }
        }
    }
    Ok(flows)
}

/// The manifolds that share the pump of the source, where that has a curve and drives more than one.
fn on_source_curve(design: &Design, worked: &[ManifoldWorkings]) -> BTreeSet<usize> {
    if curve(design.heat_source.pump.as_ref()).len() < 2 {
        return BTreeSet::new();
    }
    let all = design.manifolds.values().enumerate();
    let driven: BTreeSet<usize> =
        all.filter(|(at, given)| given.pump.is_none() && !worked[*at].loops.is_empty()).map(|(at, _)| at).collect();
    if driven.len() > 1 { driven } else { BTreeSet::new() }
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

    fn flows(&self, loops: &[LoopWorkings]) -> Flows {
        let (mass, volume) = (self.flow(loops), self.volume_flow(loops));
        let density = mass.value().and_then(|mass| density(mass, volume.value()?));
        Flows { mass, volume, density }
    }

    fn work_out(&self, loops: &mut [LoopWorkings], flows: Flows, of_pump: &Worked<VolumeFlow>) -> ManifoldWorkings {
        let Flows { mass: flow, volume: volume_flow, density } = flows;
        let return_temperature = self.return_temperature(loops);
        let primary_flow = self.primary_flow(&flow, &return_temperature);
        let common = self.common(&flow, &density, &primary_flow, &return_temperature);
        let balanced = self.balance(loops);
        let index_loop = balanced.as_ref().ok().map(|(balance, _)| self.own[balance.index]);
        let pressure_drop = self.across(&balanced, loops);
        let through_pump = if self.given.pump.is_some() { &volume_flow } else { of_pump };
        let head_available = self.head_available(through_pump);
        let pressure_across = self.pressure_across(&pressure_drop, &head_available, &common, &flow);
        self.presettings(&balanced, &pressure_across, loops);
        let common_pressure_drop = common.as_ref().map_err(Gap::clone).and_then(|common| {
            let (line, flow) = (common, flow.value()?);
            let value = line.map_or(Ok(Pressure::ZERO), |line| line.pressure_drop(flow).map(|drop| drop.greatest()))?;
            let formula = "friction and bends of the feeder + its valves and pressure-loss of the manifold's own parts";
            let mut figure = Figure::new(value, formula, "Darcy-Weisbach").with("flow", flow);
            if let (Some(_), Ok(primary)) = (&self.given.feeder, primary_flow.value()) {
                figure = figure.with("flow in the feeder", primary);
            }
            if let Some(line) = line {
                let drop = line.pressure_drop(flow)?;
                let friction = drop.friction + drop.greatest() - drop.total();
                figure = figure.with("friction of the feeder", friction).with("bends of the feeder", drop.bends);
                figure = figure.with("valves and pressure-loss", drop.valves);
            }
            Ok(if line.is_none() {
                figure.assuming("no feeder and no loss of the manifold's own parts is given")
            } else {
                figure
            })
        });
        let head_needed = match (&balanced, &common_pressure_drop) {
            (Ok((balance, _)), Ok(common)) => {
                let value = balance.greatest_pressure + common.value;
                let figure =
                    Figure::new(value, "greatest pressure-drop-greatest of its loops + common", "plain physics")
                        .with("pressure-drop, upper end", balance.greatest_pressure)
                        .with("common, upper end", common.value)
                        .assuming_all(&common.assumptions);
                let is_upper_end = balance.greatest_pressure > balance.pressure * 1.01;
                Ok(if is_upper_end { figure.assuming(UPPER_END) } else { figure })
            }
            (Err(gap), _) | (_, Err(gap)) => Err(gap.clone()),
        };
        let head_margin = match (&head_available, &head_needed) {
            (Ok(available), Ok(needed)) => {
                Ok(Figure::new(available.value - needed.value, "head-available - head-needed", "plain arithmetic")
                    .with("head-available", available.value)
                    .with("head-needed", needed.value))
            }
            (Err(gap), _) | (_, Err(gap)) => Err(gap.clone()),
        };
        let flow_margin = self.flow_margin(through_pump, &head_needed);
        let (feeder_velocity, feeder_drop_per_metre) = match self.in_feeder(&primary_flow, &return_temperature) {
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
            head_margin,
            flow_margin,
            pressure_across,
            flow_as_set: Err(Gap::Unreadable),
            head_as_set: Err(Gap::Unreadable),
            across_as_set: Err(Gap::Unreadable),
            return_temperature,
            primary_flow,
            feeder_velocity,
            feeder_drop_per_metre,
            common,
            loops: self.own.clone(),
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

    fn volume_flow(&self, loops: &[LoopWorkings]) -> Worked<VolumeFlow> {
        if self.own.is_empty() {
            return Err(Gap::NoMethod("no loop is joined to this manifold".into()));
        }
        let mut figure = Figure::new(VolumeFlow::ZERO, "sum of the volume-flows of its loops", "plain physics");
        for at in &self.own {
            let flow = loops[*at].volume_flow.value()?;
            figure.value += flow;
            figure = figure.with("volume-flow", flow);
        }
        Ok(figure)
    }

    fn open_valve(&self) -> (FlowCoefficient, Option<design::Place>) {
        let open = open_valve(self.given.valves.as_ref());
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
        if at.is_some() { figure } else { figure.assuming(OPEN_VALVE) }
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

    /// What its valves have to share.
    fn pressure_across(
        &self,
        pressure_drop: &Worked<Pressure>,
        available: &Worked<Pressure>,
        common: &Result<Option<Line>, Gap>,
        flow: &Worked<MassFlow>,
    ) -> Worked<Pressure> {
        let needed = pressure_drop.as_ref().map_err(Gap::clone)?;
        let has_curve = curve(pump(self.design, self.given)).len() > 1;
        let (true, Ok(available), Ok(lost)) = (has_curve, available, lost_on_the_way(common, flow)) else {
            let figure =
                Figure::new(needed.value, "pressure-drop", "plain physics").with("pressure-drop", needed.value);
            return Ok(figure.assuming_all(&needed.assumptions));
        };
        let left = available.value - lost;
        let figure = Figure::new(
            left.max(needed.value),
            "head-available - common path, pressure-drop at least",
            "plain physics",
        )
        .with("head-available", available.value)
        .with("common path", lost)
        .with("pressure-drop", needed.value);
        Ok(figure.assuming_all(&needed.assumptions))
    }

    /// How much more flow the curve of the pump passes at the head needed.
    fn flow_margin(&self, through_pump: &Worked<VolumeFlow>, head_needed: &Worked<Pressure>) -> Worked<VolumeFlow> {
        let points = curve(pump(self.design, self.given));
        let (head, _) = self.head(&points)?;
        let (flow, needed) = (through_pump.value()?, head_needed.value()?);
        let passes = head.flow_at(needed).ok_or_else(|| {
            Gap::NoMethod(match head {
                Head::Constant(_) => "the pump's curve is not given, only its head".into(),
                _ => "the pump nowhere offers the head that is needed".into(),
            })
        })?;
        let figure = Figure::new(passes - flow, "flow of the pump's curve at head-needed - flow", "plain arithmetic");
        Ok(figure.with("flow at head-needed", passes).with("flow", flow).with("head-needed", needed))
    }

    fn presettings(
        &self,
        balanced: &Result<(Balance, Vec<Duty>), Gap>,
        across: &Worked<Pressure>,
        loops: &mut [LoopWorkings],
    ) {
        let points = settings(self.given);
        let table = PresettingTable::new(&points);
        let any_set = self.own.iter().any(|at| presetting_of(self.design, *at).is_some());
        for (place, at) in self.own.iter().enumerate() {
            let kv = self.presetting(balanced, across, place);
            let stated = presetting_of(self.design, *at).is_some();
            loops[*at].presetting_turns = (!points.is_empty() && !stated).then(|| {
                let table = table.as_ref().map_err(|fault| Gap::NoMethod(fault.to_string()))?;
                let kv = kv.as_ref().map_err(Gap::clone)?;
                let (_, duties) = balanced.as_ref().map_err(Gap::clone)?;
                let (turns, found) = duties[place].nearest_setting(table, kv.value, across.value()?)?;
                let figure =
                    Figure::new(Number::new(turns), "the setting of the table whose flow comes nearest", "the design");
                Ok(figure.with("presetting-kv", kv.value).with("Kv at the setting", found))
            });
            loops[*at].presetting_kv = kv;
            loops[*at].line_as_set = self.line_as_set(&loops[*at], *at, any_set, &table);
        }
    }

    fn presetting(
        &self,
        balanced: &Result<(Balance, Vec<Duty>), Gap>,
        across: &Worked<Pressure>,
        place: usize,
    ) -> Worked<FlowCoefficient> {
        let (balance, duties) = balanced.as_ref().map_err(Gap::clone)?;
        let (duty, balance) = (&duties[place], balance.at(across.value()?));
        let figure = Figure::new(
            balance.kv(duty)?,
            "3600 x flow / density / sqrt((pressure-across - pipe, bends, actuator) / 1 bar x 1000 / density)",
            "definition of Kv",
        );
        let rest = duty.line.pressure_drop(duty.mass_flow)?.total();
        let figure = figure.with("flow", duty.mass_flow).with("density", duty.line.filled_with());
        let figure = figure.with("pressure-across", balance.pressure).with("pipe, bends, actuator", rest);
        Ok(self.with_open_valve(figure))
    }

    /// A loop with its balancing valve as it is set: as stated, open where others only are stated, and by the table, or
    /// else exactly, where none is.
    fn line_as_set(
        &self,
        it: &LoopWorkings,
        at: usize,
        any_set: bool,
        table: &Result<PresettingTable, TableFault>,
    ) -> Result<Option<(Line, FlowCoefficient)>, Gap> {
        let unread = |at: &usize| self.design.loops.at(*at).is_some_and(|(_, it)| it.value.has_unread("presetting"));
        let valves_unread = self.given.valves.as_ref().is_some_and(|valves| valves.value.broken);
        if valves_unread || self.given.has_unread("valves") || unread(&at) {
            return Err(Gap::Unreadable);
        }
        let table = || match table {
            Ok(table) => Ok(table),
            Err(_) if settings(self.given).is_empty() => Err(self.missing("valves/settings")),
            Err(fault) => Err(Gap::NoMethod(fault.to_string())),
        };
        let kv = match (presetting_of(self.design, at), &it.presetting_turns) {
            (Some(Presetting::Turns(0.0)), _) => return Ok(None),
            (Some(Presetting::Kv(kv)), _) => kv,
            (Some(Presetting::Turns(turns)), _) => table()?.kv_at(turns)?,
            (None, _) if any_set => self.open_valve().0,
            (None, Some(turns)) => table()?.kv_at(turns.value()?.get())?,
            (None, None) => it.presetting_kv.value()?,
        };
        if kv == FlowCoefficient::ZERO {
            return Ok(None);
        }
        Ok(Some((it.line.clone()?.with_valve(kv)?, kv)))
    }

    /// What all the flow passes through: the feeder and its valves, where behind a mixing set only the hot share flows, and the
    /// manifold's own parts.
    fn common(
        &self,
        flow: &Worked<MassFlow>,
        density: &Result<Density, Gap>,
        primary_flow: &Worked<MassFlow>,
        back: &Worked<Temperature>,
    ) -> Result<Option<Line>, Gap> {
        let feeder = self.given.feeder.as_ref().map(|it| &it.value);
        let loss = self.given.pressure_loss;
        if feeder.is_none() && loss.is_none() {
            return Ok(None);
        }
        let hot = match (primary_flow.value(), flow.value()) {
            (Ok(primary), Ok(all)) if all > MassFlow::ZERO => Share::fraction(primary / all),
            // All of it is the most that it can be.
            _ => Share::fraction(1.0),
        };
        let mut line = self.feeder(feeder, back)?.carrying(hot);
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
        let figure = figure.with_given("flow-temperature", &own).with_given("source", &source).with("return", back);
        Ok(figure.with_number("hot share", blend.hot_share.in_fraction()))
    }

    /// Velocity and pressure drop of a metre of the feeder, at the flow that the source sends.
    fn in_feeder(
        &self,
        primary_flow: &Worked<MassFlow>,
        back: &Worked<Temperature>,
    ) -> Result<(Figure<Velocity>, Figure<Pressure>), Gap> {
        let feeder = self.given.feeder.as_ref().ok_or_else(|| self.missing("feeder"))?;
        let pipe = feeder.pipe.as_ref().ok_or_else(|| self.missing("feeder/pipe"))?;
        let pipe = self.design.pipe(&pipe.value.0).ok_or(Gap::Unreadable)?;
        let pipe = crate::loops::pipe_workings(&pipe, Subject::Manifold(self.at))?;
        let flow = primary_flow.value()?;
        let water = self.feeder_water(back)?;
        let drop =
            Line::new(&Run::straight(Length::metres(1.0), pipe.bore, pipe.roughness), &water)?.pressure_drop(flow)?;
        let velocity = Figure::new(drop.velocity, "4 x primary-flow / (π x density x bore²)", "plain physics")
            .with("primary-flow", flow)
            .with("density", water.density)
            .with("bore", pipe.bore);
        let formula = "friction factor x 1 m / bore x ρv²/2";
        let drop = Figure::new(drop.greatest(), formula, "Darcy-Weisbach; Colebrook-White")
            .with("primary-flow", flow)
            .with("density", water.density)
            .with("velocity", drop.velocity)
            .with("bore", pipe.bore)
            .with("roughness", pipe.roughness)
            .with_number("friction factor", drop.friction_factor);
        Ok((velocity, drop))
    }

    /// The water of the feeder, there and back: as warm as the source sends it and the loops send it back, on average.
    fn feeder_water(&self, back: &Worked<Temperature>) -> Result<Properties, Gap> {
        let sent = self.design.heat_source.flow_temperature.or(self.given.flow_temperature).map(|it| it.value);
        let mean = match (sent, back.value()) {
            (Some(sent), Ok(back)) => Temperature::celsius((sent.in_celsius() + back.in_celsius()) / 2.0),
            (Some(sent), Err(_)) => sent,
            (None, _) => Temperature::celsius(35.0),
        };
        Ok(crate::loops::fluid(self.design)?.at(mean)?)
    }

    fn feeder(&self, feeder: Option<&Feeder>, back: &Worked<Temperature>) -> Result<Line, Gap> {
        let properties = self.feeder_water(back)?;
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

    /// The pump of the manifold, or the source's where the manifold has none of its own.
    fn head<'c>(&self, curve: &'c [(VolumeFlow, Pressure)]) -> Result<(Head<'c>, Option<design::Place>), Gap> {
        let pump = pump(self.design, self.given).ok_or_else(|| self.missing("pump"))?;
        if !curve.is_empty() {
            let curve = PumpCurve::new(curve).map_err(|fault| Gap::NoMethod(fault.to_string()))?;
            return Ok((Head::Curve(curve), Some(pump.at)));
        }
        let head = pump.value.head.ok_or_else(|| self.missing("pump/head"))?;
        Ok((Head::Constant(head.value), Some(head.at)))
    }

    fn head_available(&self, volume_flow: &Worked<VolumeFlow>) -> Worked<Pressure> {
        let curve = curve(pump(self.design, self.given));
        let (head, at) = self.head(&curve)?;
        let flow = volume_flow.value()?;
        let value = head.at(flow)?;
        let figure = Figure::new(value, "the pump's pressure at the flow of all loops that it drives", "the design");
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
        let mut figure =
            Figure::new(Temperature::celsius(heat / all), "mean of its loops' returns by flow", "plain physics");
        for at in &self.own {
            let it = &loops[*at];
            figure = figure.with("flow", it.flow.value()?).with("return-temperature", it.return_temperature.value()?);
        }
        Ok(figure)
    }
}
