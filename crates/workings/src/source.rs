//! The source: what it passes, what comes back to it, and what a heat pump makes of its electricity.

use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Design, SourceKind};
use engineering::water::source::{HeatFrom, coefficient_of_performance};
use quantity::*;

/// What was worked out of the source.
#[derive(Debug, Clone)]
pub struct SourceWorkings {
    /// What all manifolds ask of it together.
    pub flow: Worked<MassFlow>,
    pub return_temperature: Worked<Temperature>,
    /// Of a heat pump, at 0 °C outdoors or in the ground: the least and the greatest of the published fits.
    pub performance: Option<[Worked<Number>; 2]>,
}

impl Default for SourceWorkings {
    fn default() -> Self {
        SourceWorkings { flow: Err(Gap::Unreadable), return_temperature: Err(Gap::Unreadable), performance: None }
    }
}

pub(crate) fn work_out(design: &Design, workings: &Workings) -> SourceWorkings {
    let is_heat_pump = design.heat_source.kind.is_some_and(|kind| kind.value == SourceKind::HeatPump);
    SourceWorkings {
        flow: flow(workings),
        return_temperature: return_temperature(design, workings),
        performance: is_heat_pump.then(|| {
            let both = performance(design);
            [both.clone().map(|[least, _]| least), both.map(|[_, greatest]| greatest)]
        }),
    }
}

fn flow(workings: &Workings) -> Worked<MassFlow> {
    let mut figure = Figure::new(MassFlow::ZERO, "sum of the primary flows of its manifolds", "plain physics");
    for it in workings.manifolds.iter().filter(|it| !it.loops.is_empty()) {
        let flow = it.primary_flow.value()?;
        figure.value += flow;
        figure = figure.with("primary-flow", flow);
    }
    match figure.inputs.is_empty() {
        true => Err(Gap::NoMethod("no loop is joined to a manifold".into())),
        false => Ok(figure),
    }
}

/// As stated; or of all manifolds together, where nothing but floors is joined to it and nothing stands between.
fn return_temperature(design: &Design, workings: &Workings) -> Worked<Temperature> {
    let source = &design.heat_source;
    if let Some(stated) = &source.return_temperature {
        let figure = Figure::new(stated.value, "as stated", "the design");
        return Ok(figure.with_given("return-temperature", stated));
    }
    if source.has_unread("return-temperature") || source.has_unread("other-circuits") {
        return Err(Gap::Unreadable);
    }
    if !source.other_circuits.is_empty() {
        return Err(Gap::missing(Subject::HeatSource, "return-temperature"));
    }
    let mut figure = Figure::new(
        Temperature::celsius(0.0),
        "mean of its manifolds' returns by their primary flows",
        "plain physics",
    );
    let (mut heat, mut all) = (0.0, 0.0);
    for it in workings.manifolds.iter().filter(|it| !it.loops.is_empty()) {
        let (flow, back) = (it.primary_flow.value()?, it.return_temperature.value()?);
        heat += flow.in_kilograms_per_second() * back.in_celsius();
        all += flow.in_kilograms_per_second();
        figure = figure.with("primary-flow", flow).with("return-temperature", back);
    }
    if all <= 0.0 {
        return Err(Gap::NoMethod("no water flows through its manifolds".into()));
    }
    figure.value = Temperature::celsius(heat / all);
    Ok(figure)
}

fn performance(design: &Design) -> Result<[Figure<Number>; 2], Gap> {
    const COLD: Temperature = Temperature::celsius(0.0);
    let missing = Gap::missing(Subject::HeatSource, "flow-temperature");
    let flow = design.heat_source.flow_temperature.ok_or(missing)?;
    let (mut least, mut greatest) = (f64::INFINITY, 0.0_f64);
    for from in [HeatFrom::Air, HeatFrom::Ground] {
        let range = coefficient_of_performance(from, flow.value, COLD)?;
        (least, greatest) = (least.min(range.least), greatest.max(range.greatest));
    }
    let figure = |value, formula| {
        let source =
            "fits to measured heat pumps: Staffell et al. (2012), Ruhnau et al. (2019) with 0.85 for the field";
        Figure::new(Number::new(value), formula, source)
            .with_given("flow-temperature", &flow)
            .with("outdoors, or in the ground", COLD)
    };
    Ok([
        figure(least, "the least of two fits for heat from air and from the ground"),
        figure(greatest, "the greatest of them"),
    ])
}
