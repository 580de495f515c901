//! The water of the whole system: how much there is, what it grows by, and the vessel that takes that up.

use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Design, Placed};
use engineering::water::expansion::{self, Edition, end_pressure, least_gas_pressure};
use quantity::*;

/// What was worked out of the water.
#[derive(Debug, Clone)]
pub struct WaterWorkings {
    /// In the loops.
    pub loop_content: Worked<Volume>,
    /// In all the system, as far as it is given.
    pub content: Worked<Volume>,
    /// What that grows by from filling to its highest temperature.
    pub expansion: Worked<Volume>,
    /// The least gas pressure of the empty vessel under the water above it.
    pub least_charge_pressure: Worked<Pressure>,
    /// The least nominal volume of the expansion vessel.
    pub vessel_volume_needed: Worked<Volume>,
}

impl Default for WaterWorkings {
    fn default() -> Self {
        let unknown = || Gap::Unreadable;
        WaterWorkings {
            loop_content: Err(unknown()),
            content: Err(unknown()),
            expansion: Err(unknown()),
            least_charge_pressure: Err(unknown()),
            vessel_volume_needed: Err(unknown()),
        }
    }
}

const FILLED_AT: Temperature = Temperature::celsius(10.0);
const FORM_OF_2003: &str = "EN 12828, form of 2003, from memory";
const PRESSURES: &str = "EN 12828, as a works standard's annex and an installers' federation give it";
const FLOW_IS_HIGHEST: &str = "the highest temperature of the source is not given: its flow temperature";

pub(crate) fn work_out(design: &Design, workings: &Workings) -> WaterWorkings {
    let loop_content = loop_content(workings);
    let content = content(design, &loop_content);
    let expansion = grows(design, &content);
    let least_charge_pressure = least_charge(design, Edition::Present);
    let vessel_volume_needed = vessel(design, &content);
    WaterWorkings { loop_content, content, expansion, least_charge_pressure, vessel_volume_needed }
}

fn loop_content(workings: &Workings) -> Worked<Volume> {
    let mut figure = Figure::new(Volume::ZERO, "sum of the water-content of all loops", "plain geometry");
    for it in &workings.loops {
        let content = it.water_content.value()?;
        figure.value += content;
        figure = figure.with("water-content", content);
    }
    Ok(figure)
}

fn content(design: &Design, loops: &Worked<Volume>) -> Worked<Volume> {
    let loops = loops.value()?;
    let mut figure = Figure::new(loops, "water of the loops + volume-vessel + other-content", "plain arithmetic")
        .with("water of the loops", loops);
    if let Some(vessel) = &design.heat_source.volume_vessel {
        figure.value += vessel.value;
        figure = figure.with_given("volume-vessel", vessel);
    }
    match &design.water.other_content {
        Some(other) => {
            figure.value += other.value;
            Ok(figure.with_given("other-content", other))
        }
        None => Ok(figure.assuming("what else the system holds is not given: nothing")),
    }
}

/// The highest temperature of the water, and whether it is only the flow temperature.
fn highest(design: &Design) -> Result<(Placed<Temperature>, bool), Gap> {
    let source = &design.heat_source;
    let unread = source.broken && ["highest-temperature", "flow-temperature"].iter().any(|key| source.has_unread(key));
    match (source.highest_temperature, source.flow_temperature) {
        _ if unread => Err(Gap::Unreadable),
        (Some(highest), _) => Ok((highest, false)),
        (None, Some(flow)) => Ok((flow, true)),
        (None, None) => Err(Gap::missing(Subject::HeatSource, "highest-temperature")),
    }
}

fn with_highest<T>(figure: Figure<T>, (highest, is_flow): (Placed<Temperature>, bool)) -> Figure<T> {
    let figure = figure.with_given("highest temperature", &highest);
    if is_flow { figure.assuming(FLOW_IS_HIGHEST) } else { figure }
}

fn share(design: &Design) -> Result<Share, Gap> {
    Ok(expansion::expansion(crate::fluid(design)?, FILLED_AT, highest(design)?.0.value)?)
}

fn grows(design: &Design, content: &Worked<Volume>) -> Worked<Volume> {
    let (content, share) = (content.as_ref().map_err(Gap::clone)?, share(design)?);
    let formula = "content x (density at filling / density at the highest temperature - 1)";
    let figure = Figure::new(content.value * share.in_fraction(), formula, "IAPWS-95, or the glycol's own data");
    let figure = figure.with("content", content.value).with("filled at", FILLED_AT);
    let figure = with_highest(figure, highest(design)?).with_number("grows by", share.in_fraction());
    Ok(figure.assuming_all(&content.assumptions))
}

fn least_charge(design: &Design, edition: Edition) -> Worked<Pressure> {
    let key = "expansion-vessel/static-height";
    let vessel = design.water.expansion_vessel.as_ref();
    let height = vessel.and_then(|it| it.static_height).ok_or(Gap::missing(Subject::Water, key))?;
    let highest = highest(design)?;
    // A metre of water is 9.81 kPa.
    let of_water = Pressure::kilopascals(9.81 * height.value.in_metres());
    let least = least_gas_pressure(edition, of_water, highest.0.value)?;
    let formula = match edition {
        Edition::Present => "9.81 kPa/m x static-height + the greater of 0.2 bar and the gauge pressure of its steam",
        _ => "9.81 kPa/m x static-height + 0.3 bar, 0.7 bar at least, or by its steam if that is more",
    };
    let figure = Figure::new(least, formula, PRESSURES).with_given("static-height", &height);
    Ok(with_highest(figure, highest))
}

fn vessel(design: &Design, content: &Worked<Volume>) -> Worked<Volume> {
    let content = content.as_ref().map_err(Gap::clone)?;
    let given = design.water.expansion_vessel.as_ref();
    let missing = |key| Gap::missing(Subject::Water, key);
    let highest = highest(design)?;
    let valve = design.safety.safety_valve.ok_or(Gap::missing(Subject::Safety, "safety-valve"))?;
    let charge = match given.map(|it| (it.charge_pressure, it.static_height)) {
        Some((Some(charge), _)) => (charge.value, Some(charge.at)),
        Some((None, Some(_))) => (least_charge(design, Edition::Stricter)?.value, None),
        _ => return Err(missing("expansion-vessel/charge-pressure")),
    };
    let sized = expansion::vessel(content.value, share(design)?, charge.0, valve.value)?;
    let formula = "(expansion + reserve) x (end pressure + 1 bar) / (end pressure - charge pressure)";
    let figure = Figure::new(sized.nominal, formula, FORM_OF_2003)
        .with("content", content.value)
        .with("expansion", sized.expanded)
        .with("reserve, 0.5 % of the content and 3 l at least", sized.reserve)
        .with_given("safety-valve", &valve)
        .with("end pressure", end_pressure(valve.value))
        .with_at("charge pressure", charge.0, charge.1);
    Ok(with_highest(figure, highest).assuming_all(&content.assumptions))
}
