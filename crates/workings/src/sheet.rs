//! The calculation sheet: every figure of a design by its name.

use crate::plan::{Crossed, figures as plan};
use crate::{Figure, Gap, Input, Worked, Workings};
use design::Design;
use quantity::{
    Area, ArealMass, Current, Duration, FlowCoefficient, HeatFlux, Length, MassFlow, Number, Power, Pressure, Quantity,
    Share, Temperature, TemperatureDifference, ThermalResistance, Transmittance, Velocity, Volume, VolumeFlow,
};

/// A figure of the sheet, in SI, or why there is none.
#[derive(Debug, Clone)]
pub struct Line {
    /// The stable name: `loops.L1.length`.
    pub name: String,
    pub worked: Result<Figure<f64>, Gap>,
    /// The unit of the value.
    pub unit: &'static str,
    /// The value as the trade writes it: `118.4 m`.
    pub shown: Option<String>,
}

impl Line {
    fn new<Q: Quantity>(name: String, worked: &Worked<Q>) -> Line {
        Line {
            name,
            unit: Q::SI_UNIT,
            shown: worked.as_ref().ok().map(|figure| figure.value.to_string()),
            worked: worked.as_ref().map(in_si).map_err(Gap::clone),
        }
    }
}

fn in_si<Q: Quantity>(figure: &Figure<Q>) -> Figure<f64> {
    Figure {
        value: figure.value.si(),
        formula: figure.formula,
        inputs: figure.inputs.clone(),
        assumptions: figure.assumptions.clone(),
        source: figure.source,
    }
}

/// A figure by its name, and what it measures.
#[derive(Debug, Clone, Copy)]
pub struct FigureName {
    pub name: &'static str,
    /// The kind of its values in plain words, with its article: `a length`.
    pub kind: &'static str,
    /// The SI unit of its values.
    pub unit: &'static str,
}

const fn of<Q: Quantity>(name: &'static str) -> FigureName {
    FigureName { name, kind: Q::KIND, unit: Q::SI_UNIT }
}

/// All figures there are, by the block in which they stand.
pub const FIGURES: &[(&str, &[FigureName])] = &[
    (
        "floors",
        &[
            of::<Length>("height"),
            of::<Length>("cover"),
            of::<ThermalResistance>("resistance-above"),
            of::<ThermalResistance>("resistance-below"),
            of::<ThermalResistance>("insulation-below"),
            of::<Transmittance>("characteristic"),
            of::<Transmittance>("characteristic-by-standard"),
            of::<Transmittance>("characteristic-by-conduction"),
            of::<Share>("difference-of-methods"),
            of::<Duration>("response-time"),
            of::<Duration>("warm-up-time"),
            of::<Duration>("cool-down-time"),
            of::<ArealMass>("mass"),
            of::<Transmittance>("u-value"),
        ],
    ),
    (
        "rooms",
        &[
            of::<Area>("area"),
            of::<Area>("free-area"),
            of::<Share>("covered-share"),
            of::<Number>("bays"),
            of::<Area>("bay-area-greatest"),
            of::<Length>("bay-side-longest"),
            of::<Number>("bay-ratio-greatest"),
            of::<Number>("bay-inside-corners"),
            of::<Power>("heat-loss"),
            of::<Power>("heat-loss-by-fabric"),
            of::<Power>("heat-needed"),
            of::<Temperature>("temperature-below"),
            of::<ThermalResistance>("covering-resistance"),
            of::<ThermalResistance>("resistance-above"),
            of::<Temperature>("flow-temperature-needed"),
            of::<Power>("output"),
            of::<Power>("output-as-set"),
            of::<Power>("heat-in-passing"),
            of::<HeatFlux>("heat-flux"),
            of::<Temperature>("surface-temperature-mean"),
            of::<HeatFlux>("edge-heat-flux"),
            of::<HeatFlux>("edge-heat-flux-limit"),
            of::<Temperature>("edge-surface-temperature"),
        ],
    ),
    (
        "loops",
        &[
            of::<Length>("length"),
            of::<Length>("length-in-room"),
            of::<Length>("tail-length"),
            of::<Length>("length-outside-rooms"),
            of::<Length>("spacing-drawn"),
            of::<Length>("tightest-bend"),
            of::<Number>("wall-crossings"),
            of::<Number>("doorway-crossings"),
            of::<Number>("joint-crossings"),
            of::<Area>("area-served"),
            of::<Power>("heat-needed"),
            of::<Transmittance>("characteristic"),
            of::<Temperature>("flow-temperature"),
            of::<Temperature>("flow-temperature-needed"),
            of::<MassFlow>("flow"),
            of::<MassFlow>("flow-needed"),
            of::<MassFlow>("flow-for-duty"),
            of::<VolumeFlow>("volume-flow"),
            of::<Temperature>("return-temperature"),
            of::<Power>("heat-up"),
            of::<Power>("heat-down"),
            of::<Power>("heat-of-tails"),
            of::<HeatFlux>("heat-flux"),
            of::<HeatFlux>("heat-flux-limit"),
            of::<Temperature>("flow-temperature-limit"),
            of::<Temperature>("surface-temperature-mean"),
            of::<Temperature>("surface-temperature-highest"),
            of::<TemperatureDifference>("surface-ripple"),
            of::<Velocity>("velocity"),
            of::<Number>("reynolds"),
            of::<Pressure>("pressure-drop"),
            of::<Pressure>("pressure-drop-greatest"),
            of::<FlowCoefficient>("presetting-kv"),
            of::<Number>("presetting-turns"),
            of::<MassFlow>("flow-as-set"),
            of::<Temperature>("return-temperature-as-set"),
            of::<Power>("heat-up-as-set"),
            of::<Volume>("water-content"),
        ],
    ),
    (
        "manifolds",
        &[
            of::<MassFlow>("flow"),
            of::<VolumeFlow>("volume-flow"),
            of::<Pressure>("pressure-drop"),
            of::<Pressure>("head-needed"),
            of::<Pressure>("head-available"),
            of::<Pressure>("head-margin"),
            of::<VolumeFlow>("flow-margin"),
            of::<Pressure>("common-pressure-drop"),
            of::<Pressure>("pressure-across"),
            of::<VolumeFlow>("volume-flow-as-set"),
            of::<Pressure>("head-as-set"),
            of::<Pressure>("pressure-across-as-set"),
            of::<Temperature>("return-temperature"),
            of::<MassFlow>("primary-flow"),
            of::<Velocity>("feeder-velocity"),
            of::<Pressure>("feeder-drop-per-metre"),
        ],
    ),
    (
        "heat-source",
        &[
            of::<MassFlow>("flow"),
            of::<Temperature>("return-temperature"),
            of::<Number>("performance-least"),
            of::<Number>("performance-greatest"),
        ],
    ),
    (
        "water",
        &[
            of::<Volume>("loop-content"),
            of::<Volume>("content"),
            of::<Volume>("expansion"),
            of::<Pressure>("least-charge-pressure"),
            of::<Volume>("vessel-volume-needed"),
        ],
    ),
    (
        "electric-mats",
        &[of::<Area>("area"), of::<HeatFlux>("power-density"), of::<Power>("power"), of::<Current>("current")],
    ),
];

/// Every figure of the design, in the order floors, rooms, loops, manifolds, source, water, electric mats.
pub fn sheet(design: &Design, workings: &Workings) -> Vec<Line> {
    figures(design, workings, &|_| true)
}

/// The same; but of the figures that cost much to work out only those that are `wanted`.
pub fn figures(design: &Design, workings: &Workings, wanted: &dyn Fn(&str) -> bool) -> Vec<Line> {
    of_things(design, workings, wanted, &|_, _| true)
}

/// The figures of one thing, the costly ones left out: of `loops` and `L1`, or of `water` and nothing.
pub fn figures_of(design: &Design, workings: &Workings, block: &str, name: &str) -> Vec<Line> {
    const COSTLY: [&str; 8] = [
        "characteristic-by-standard",
        "characteristic-by-conduction",
        "difference-of-methods",
        "response-time",
        "warm-up-time",
        "cool-down-time",
        "heat-flux-limit",
        "flow-temperature-limit",
    ];
    of_things(design, workings, &|figure| !COSTLY.contains(&figure), &|of, it| (of, it) == (block, name))
}

/// The line of a figure that only what is drawn has.
fn drawn<Q: Quantity>(name: String, figure: Option<Figure<Q>>) -> Option<Line> {
    figure.map(|figure| Line::new(name, &Ok(figure)))
}

/// The figures of some things; `is_meant` is asked with the block and the name, which the source and the water have not.
fn of_things(
    design: &Design,
    workings: &Workings,
    wanted: &dyn Fn(&str) -> bool,
    is_meant: &dyn Fn(&str, &str) -> bool,
) -> Vec<Line> {
    let mut lines = Vec::new();
    for (at, ((floor, _), it)) in design.floors.iter().zip(&workings.floors).enumerate() {
        if !is_meant("floors", floor) {
            continue;
        }
        let name = |figure: &str| format!("floors.{floor}.{figure}");
        lines.push(Line::new(name("height"), &it.height));
        lines.push(Line::new(name("cover"), &it.cover));
        lines.push(Line::new(name("resistance-above"), &it.resistance_above));
        lines.push(Line::new(name("resistance-below"), &it.resistance_below));
        lines.push(Line::new(name("insulation-below"), &it.insulation_below));
        for (number, variant) in it.variants.iter().enumerate() {
            let name = |figure: &str| it.figure_name(floor, figure, number);
            lines.push(Line::new(name("characteristic"), &variant.characteristic));
            if ["characteristic-by-standard", "characteristic-by-conduction", "difference-of-methods"]
                .into_iter()
                .any(wanted)
            {
                let both = crate::both_methods(design, workings, at, number);
                lines.push(Line::new(name("characteristic-by-standard"), &both.standard));
                lines.push(Line::new(name("characteristic-by-conduction"), &both.conduction));
                lines.push(Line::new(name("difference-of-methods"), &both.difference));
            }
            if ["response-time", "warm-up-time", "cool-down-time"].into_iter().any(wanted) {
                let pace = crate::pace(design, workings, at, number);
                let of = |figure: fn(&crate::FloorPace) -> &Figure<quantity::Duration>| match &pace {
                    Ok(pace) => Ok(figure(pace).clone()),
                    Err(gap) => Err(gap.clone()),
                };
                lines.push(Line::new(name("response-time"), &of(|pace| &pace.response)));
                lines.push(Line::new(name("warm-up-time"), &of(|pace| &pace.warm_up)));
                lines.push(Line::new(name("cool-down-time"), &of(|pace| &pace.cool_down)));
            }
        }
        lines.push(Line::new(name("mass"), &it.mass));
        lines.push(Line::new(name("u-value"), &it.u_value));
    }
    for (at, ((name, _), it)) in design.rooms.iter().zip(&workings.rooms).enumerate() {
        if !is_meant("rooms", name) {
            continue;
        }
        let name = |figure: &str| format!("rooms.{name}.{figure}");
        lines.push(Line::new(name("area"), &it.area));
        lines.push(Line::new(name("free-area"), &it.free_area));
        lines.extend(drawn(name("covered-share"), plan::covered_share(workings, at)));
        if let Some(bays) = plan::bays_of(workings, at) {
            lines.push(Line::new(name("bays"), &Ok(bays.number)));
            lines.push(Line::new(name("bay-area-greatest"), &Ok(bays.area)));
            lines.push(Line::new(name("bay-side-longest"), &Ok(bays.side)));
            lines.push(Line::new(name("bay-ratio-greatest"), &Ok(bays.ratio)));
            lines.push(Line::new(name("bay-inside-corners"), &Ok(bays.inside_corners)));
        }
        lines.push(Line::new(name("heat-loss"), &it.heat_loss));
        if let Some(by_fabric) = &it.loss_by_fabric {
            lines.push(Line::new(name("heat-loss-by-fabric"), by_fabric));
        }
        lines.push(Line::new(name("heat-needed"), &it.heat_needed));
        lines.push(Line::new(name("temperature-below"), &it.temperature_below));
        lines.push(Line::new(name("covering-resistance"), &it.covering_resistance));
        lines.push(Line::new(name("resistance-above"), &it.resistance_above));
        lines.push(Line::new(name("flow-temperature-needed"), &it.flow_temperature_needed));
        lines.push(Line::new(name("output"), &it.output));
        if it.loops.iter().any(|at| workings.loops[*at].flow_as_set.is_ok()) {
            lines.push(Line::new(name("output-as-set"), &crate::output_as_set(design, workings, at)));
        }
        if let Some(passing) = &it.heat_in_passing {
            lines.push(Line::new(name("heat-in-passing"), &Ok(passing.clone())));
        }
        lines.push(Line::new(name("heat-flux"), &it.heat_flux));
        lines.push(Line::new(name("surface-temperature-mean"), &it.surface_temperature_mean));
        if let (Some(flux), Some(surface)) = (&it.edge_heat_flux, &it.edge_surface_temperature) {
            lines.push(Line::new(name("edge-heat-flux"), flux));
            lines.push(Line::new(name("edge-heat-flux-limit"), &crate::edge_limit(design, workings, at)));
            lines.push(Line::new(name("edge-surface-temperature"), surface));
        }
    }
    for (at, ((name, _), it)) in design.loops.iter().zip(&workings.loops).enumerate() {
        if !is_meant("loops", name) {
            continue;
        }
        let name = |figure: &str| format!("loops.{name}.{figure}");
        lines.push(Line::new(name("length"), &it.length));
        lines.push(Line::new(name("length-in-room"), &it.length_in_room));
        for (room, length) in &it.length_in_rooms {
            let room = design.rooms.at(*room).map_or("?", |(room, _)| room);
            lines.push(Line::new(name(&format!("length-in-room.{room}")), &Ok(length.clone())));
        }
        lines.push(Line::new(name("tail-length"), &it.tail_length));
        lines.extend(drawn(name("length-outside-rooms"), plan::outside_rooms(workings, at)));
        lines.extend(drawn(name("spacing-drawn"), plan::spacing_drawn(workings, at)));
        lines.extend(drawn(name("tightest-bend"), plan::tightest_bend(workings, at)));
        let crossings = |of| plan::crossings(design, workings, at, of);
        lines.extend(drawn(name("wall-crossings"), crossings(|it| matches!(it, Crossed::Wall(_)))));
        lines.extend(drawn(name("doorway-crossings"), crossings(|it| matches!(it, Crossed::Opening(_)))));
        lines.extend(drawn(name("joint-crossings"), crossings(|it| matches!(it, Crossed::MovementJoint(_)))));
        lines.push(Line::new(name("area-served"), &it.area_served));
        lines.push(Line::new(name("heat-needed"), &it.heat_needed));
        lines.push(Line::new(name("characteristic"), &it.characteristic));
        lines.push(Line::new(name("flow-temperature"), &it.flow_temperature));
        lines.push(Line::new(name("flow-temperature-needed"), &it.flow_temperature_needed));
        lines.push(Line::new(name("flow"), &it.flow));
        lines.push(Line::new(name("flow-needed"), &it.flow_needed));
        lines.push(Line::new(name("flow-for-duty"), &it.flow_for_duty));
        lines.push(Line::new(name("volume-flow"), &it.volume_flow));
        lines.push(Line::new(name("return-temperature"), &it.return_temperature));
        lines.push(Line::new(name("heat-up"), &it.heat_up));
        for (room, heat) in &it.heat_in_rooms {
            let room = design.rooms.at(*room).map_or("?", |(room, _)| room);
            lines.push(Line::new(name(&format!("heat-up.{room}")), &Ok(heat.clone())));
        }
        lines.push(Line::new(name("heat-down"), &it.heat_down));
        if let Some(tails) = &it.heat_of_tails {
            lines.push(Line::new(name("heat-of-tails"), &Ok(tails.clone())));
        }
        lines.push(Line::new(name("heat-flux"), &it.heat_flux));
        if ["heat-flux-limit", "flow-temperature-limit"].into_iter().any(wanted) {
            let (most, warmest) = match crate::limits(design, workings, at, None, TemperatureDifference::kelvin(9.0)) {
                Ok(limits) => (Ok(limits.heat_flux), Ok(limits.flow_temperature)),
                Err(gap) => (Err(gap.clone()), Err(gap)),
            };
            lines.push(Line::new(name("heat-flux-limit"), &most));
            lines.push(Line::new(name("flow-temperature-limit"), &warmest));
        }
        lines.push(Line::new(name("surface-temperature-mean"), &it.surface_temperature_mean));
        lines.push(Line::new(name("surface-temperature-highest"), &it.surface_temperature_highest));
        lines.push(Line::new(name("surface-ripple"), &it.surface_ripple));
        lines.push(Line::new(name("velocity"), &it.velocity));
        lines.push(Line::new(name("reynolds"), &it.reynolds));
        lines.push(Line::new(name("pressure-drop"), &it.pressure_drop));
        lines.push(Line::new(name("pressure-drop-greatest"), &it.pressure_drop_greatest));
        lines.push(Line::new(name("presetting-kv"), &it.presetting_kv));
        lines.extend(it.presetting_turns.iter().map(|turns| Line::new(name("presetting-turns"), turns)));
        lines.push(Line::new(name("flow-as-set"), &it.flow_as_set));
        if let (Ok(_), Ok(set)) = (&it.flow_as_set, crate::loop_as_set(design, workings, at)) {
            lines.push(Line::new(name("return-temperature-as-set"), &set.return_temperature));
            lines.push(Line::new(name("heat-up-as-set"), &set.heat_up));
        }
        lines.push(Line::new(name("water-content"), &it.water_content));
    }
    for ((name, _), it) in design.manifolds.iter().zip(&workings.manifolds) {
        if !is_meant("manifolds", name) {
            continue;
        }
        let name = |figure: &str| format!("manifolds.{name}.{figure}");
        lines.push(Line::new(name("flow"), &it.flow));
        lines.push(Line::new(name("volume-flow"), &it.volume_flow));
        lines.push(Line::new(name("pressure-drop"), &it.pressure_drop));
        lines.push(Line::new(name("head-needed"), &it.head_needed));
        lines.push(Line::new(name("head-available"), &it.head_available));
        lines.push(Line::new(name("head-margin"), &it.head_margin));
        lines.push(Line::new(name("flow-margin"), &it.flow_margin));
        lines.push(Line::new(name("common-pressure-drop"), &it.common_pressure_drop));
        lines.push(Line::new(name("pressure-across"), &it.pressure_across));
        lines.push(Line::new(name("volume-flow-as-set"), &it.flow_as_set));
        lines.push(Line::new(name("head-as-set"), &it.head_as_set));
        lines.push(Line::new(name("pressure-across-as-set"), &it.across_as_set));
        lines.push(Line::new(name("return-temperature"), &it.return_temperature));
        lines.push(Line::new(name("primary-flow"), &it.primary_flow));
        lines.push(Line::new(name("feeder-velocity"), &it.feeder_velocity));
        lines.push(Line::new(name("feeder-drop-per-metre"), &it.feeder_drop_per_metre));
    }
    if !design.loops.is_empty() && is_meant("heat-source", "") {
        let it = &workings.source;
        lines.push(Line::new("heat-source.flow".into(), &it.flow));
        lines.push(Line::new("heat-source.return-temperature".into(), &it.return_temperature));
        if let Some([least, greatest]) = &it.performance {
            lines.push(Line::new("heat-source.performance-least".into(), least));
            lines.push(Line::new("heat-source.performance-greatest".into(), greatest));
        }
    }
    if !design.loops.is_empty() && is_meant("water", "") {
        let it = &workings.water;
        lines.push(Line::new("water.loop-content".into(), &it.loop_content));
        lines.push(Line::new("water.content".into(), &it.content));
        lines.push(Line::new("water.expansion".into(), &it.expansion));
        lines.push(Line::new("water.least-charge-pressure".into(), &it.least_charge_pressure));
        lines.push(Line::new("water.vessel-volume-needed".into(), &it.vessel_volume_needed));
    }
    for ((name, _), it) in design.electric_mats.iter().zip(&workings.electric_mats) {
        if !is_meant("electric-mats", name) {
            continue;
        }
        let name = |figure: &str| format!("electric-mats.{name}.{figure}");
        lines.push(Line::new(name("area"), &it.area));
        lines.push(Line::new(name("power-density"), &it.power_density));
        lines.push(Line::new(name("power"), &it.power));
        lines.push(Line::new(name("current"), &it.current));
    }
    lines
}

/// An input as text: value, unit.
impl std::fmt::Display for Input {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        let digits = 4 - self.value.abs().log10().floor().clamp(-6.0, 4.0) as i32;
        let scale = 10f64.powi(digits);
        let value = (self.value * scale).round() / scale;
        match self.unit {
            "1" => write!(f, "{} = {value}", self.name),
            unit => write!(f, "{} = {value} {unit}", self.name),
        }
    }
}
