//! Rooms: area, heat needed, and what the floor gives.

use crate::floors::{LayerWorkings, layers};
use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Below, Design, Element, OtherSide, Placed, Room};
use engineering::heat::en1264;
use engineering::plan;
use quantity::*;
use std::collections::BTreeMap;

/// What was worked out of a room.
#[derive(Debug, Clone)]
pub struct RoomWorkings {
    pub floor: Option<usize>,
    /// The loops that heat it.
    pub loops: Vec<usize>,
    /// Its own covering, on top of its floor's layers.
    pub covering: Vec<LayerWorkings>,
    /// Its outline, if one is given: the geometry, or what is wrong with it.
    pub outline: Option<Result<plan::Outline, plan::OutlineFault>>,
    /// Its keep-clear areas, as far as they are outlines, by their position.
    pub keep_clear: Vec<(usize, plan::Outline)>,
    pub area: Worked<Area>,
    /// Without its keep-clear areas; not known where one of them is not, and then nothing is of how the floor is covered.
    pub free_area: Worked<Area>,
    /// As stated, or by its fabric and its air.
    pub heat_loss: Worked<Power>,
    /// By its fabric and its air, where any element is given, whatever is stated.
    pub loss_by_fabric: Option<Worked<Power>>,
    /// What its floor has to give: the heat loss without that of the floor itself and without other emitters.
    pub heat_needed: Worked<Power>,
    /// R_o of EN 1264 with the room's own covering.
    pub resistance_above: Worked<ThermalResistance>,
    /// Of all layers above the one that holds the pipe.
    pub covering_resistance: Worked<ThermalResistance>,
    /// Of what lies below its floor.
    pub temperature_below: Worked<Temperature>,
    /// How far apart the tails lie that pass it, bare pipe to bare pipe.
    pub(crate) tails_apart: Option<Length>,
    /// What the tails of other rooms' loops give it, where any are drawn through it.
    pub heat_in_passing: Option<Figure<Power>>,
    /// The warmest that one of its loops needs.
    pub flow_temperature_needed: Worked<Temperature>,
    /// What its loops give it, and the tails that pass it.
    pub output: Worked<Power>,
    /// What its loops give each square metre that they heat, the edge zone apart.
    pub heat_flux: Worked<HeatFlux>,
    pub surface_temperature_mean: Worked<Temperature>,
    /// Of its edge zone, if it has one: the heat flux and the mean surface temperature of the loop that makes it warmest.
    pub edge_heat_flux: Option<Worked<HeatFlux>>,
    pub edge_surface_temperature: Option<Worked<Temperature>>,
}

/// What can be said of a room before its floor and loops are worked out.
pub(crate) fn begin(design: &Design) -> Vec<RoomWorkings> {
    let unknown = || Gap::NoMethod("no loop heats this room".into());
    design
        .rooms
        .values()
        .enumerate()
        .map(|(at, room)| {
            let outline = room.outline.as_ref().map(|it| plan::Outline::new(&crate::plan::points(&it.corners)));
            let keep_clear: Vec<(usize, plan::Outline)> = room
                .keep_clear
                .values()
                .enumerate()
                .filter_map(|(at, it)| Some((at, plan::Outline::new(&crate::plan::points(&it.corners)).ok()?)))
                .collect();
            let area = area(room, &outline, at);
            let free_area = free_area(room, &outline, &keep_clear, &area);
            let loss_by_fabric = loss_by_fabric(design, room, &area, at);
            let heat_loss = heat_loss(room, &loss_by_fabric, at);
            RoomWorkings {
                floor: room.floor.as_ref().and_then(|floor| design.floors.position(&floor.name)),
                loops: Vec::new(),
                covering: layers(&room.covering, |_| Subject::Room(at)),
                heat_needed: heat_needed(room, &heat_loss),
                outline,
                keep_clear,
                area,
                free_area,
                heat_loss,
                loss_by_fabric,
                resistance_above: Err(unknown()),
                covering_resistance: Err(unknown()),
                temperature_below: Err(unknown()),
                tails_apart: None,
                heat_in_passing: None,
                flow_temperature_needed: Err(unknown()),
                output: Err(unknown()),
                heat_flux: Err(unknown()),
                surface_temperature_mean: Err(unknown()),
                edge_heat_flux: None,
                edge_surface_temperature: None,
            }
        })
        .collect()
}

fn gap(room: &Room, at: usize, key: &'static str) -> Gap {
    if room.broken { Gap::Unreadable } else { Gap::missing(Subject::Room(at), key) }
}

/// No room is as large: a slip of units, which is told where it stands.
const BEYOND_BELIEF: Area = Area::square_metres(1e5);

fn area(room: &Room, outline: &Option<Result<plan::Outline, plan::OutlineFault>>, at: usize) -> Worked<Area> {
    let stated = match outline {
        Some(Ok(outline)) => Some(outline.area()),
        _ => room.area.map(|area| area.value),
    };
    if let Some(beyond) = stated.filter(|area| *area > BEYOND_BELIEF) {
        return Err(Gap::NoMethod(format!("a room of {beyond} is taken for a slip of units")));
    }
    match (outline, &room.area) {
        (Some(Ok(outline)), _) => {
            let corners = outline.corners().len() as f64;
            Ok(Figure::new(outline.area(), "area within the outline", "plain geometry").with_number("corners", corners))
        }
        (_, Some(area)) => Ok(Figure::new(area.value, "as stated", "the design").with_given("area", area)),
        (Some(Err(_)), None) => Err(Gap::NoMethod("the outline is no closed area".into())),
        (None, None) => Err(gap(room, at, "area")),
    }
}

fn free_area(
    room: &Room,
    outline: &Option<Result<plan::Outline, plan::OutlineFault>>,
    keep_clear: &[(usize, plan::Outline)],
    area: &Worked<Area>,
) -> Worked<Area> {
    let area = area.as_ref().map_err(Gap::clone)?;
    if room.has_unread("outline") || room.has_unread("keep-clear") {
        return Err(Gap::Unreadable);
    }
    if keep_clear.len() < room.keep_clear.len() {
        return Err(Gap::NoMethod("a keep-clear area is no closed area".into()));
    }
    if room.keep_clear.is_empty() {
        return Ok(Figure::new(area.value, "area", "plain geometry").with("area", area.value));
    }
    let areas: Vec<&plan::Outline> = keep_clear.iter().map(|(_, it)| it).collect();
    let free = match outline {
        Some(Ok(outline)) => plan::free_area(outline, &areas),
        // Without an outline nothing tells whether the areas lie apart: the sum is taken off.
        _ => (area.value - areas.iter().map(|it| it.area()).sum()).max(Area::ZERO),
    };
    let figure =
        Figure::new(free, "area - keep-clear areas, each part once", "plain geometry").with("area", area.value);
    Ok(figure.with("taken", area.value - free))
}

/// No room loses as much: a slip of units, which is told where it stands.
const LOSS_BEYOND_BELIEF: Power = Power::watts(200_000.0);

fn heat_loss(room: &Room, by_fabric: &Option<Worked<Power>>, at: usize) -> Worked<Power> {
    if room.heat_loss.is_some_and(|stated| stated.value > LOSS_BEYOND_BELIEF) {
        return Err(Gap::Unreadable);
    }
    match (&room.heat_loss, by_fabric) {
        (Some(stated), _) => Ok(Figure::new(stated.value, "as stated", "the design").with_given("heat-loss", stated)),
        (None, Some(by_fabric)) => by_fabric.clone(),
        (None, None) => Err(gap(room, at, "heat-loss")),
    }
}

/// What a room loses by its elements and its air, where any element is given.
fn loss_by_fabric(design: &Design, room: &Room, area: &Worked<Area>, at: usize) -> Option<Worked<Power>> {
    (!room.fabric.is_empty()).then(|| by_fabric(design, room, area, at))
}

/// From this height on the air under the roof counts as warmer, above an occupied zone of 1 m: EN 12831-1 of 2017, as an
/// open library of heat loads gives it.
const TALL: Length = Length::metres(4.0);

fn by_fabric(design: &Design, room: &Room, area: &Worked<Area>, at: usize) -> Worked<Power> {
    let room_temperature = room.temperature.ok_or_else(|| gap(room, at, "temperature"))?;
    let outdoors = outdoor(design)?;
    let source = "EN 12831-1, simplified method";
    let formula = "sum of area x (u-value + thermal-bridges) x share of (room - outdoors) + 0.34 x air-change-rate x volume x (room - outdoors)";
    let mut figure = Figure::new(Power::ZERO, formula, source)
        .with_given("temperature", &room_temperature)
        .with_given("outdoor-temperature", &outdoors);
    let mut inside = room_temperature.value;
    if let Some(height) = room.height.filter(|height| height.value >= TALL) {
        let warmer = TemperatureDifference::kelvin(0.2 * (height.value.in_metres() / 2.0 - 1.0));
        inside = inside + warmer;
        figure = figure.with("warmer at half its height", warmer).assuming(
            "a room of 4 m and more grows warmer by 0.2 K for each metre above 1 m: a figure for floor heating, from memory",
        );
    }
    let excess = inside - outdoors.value;
    for (_, entry) in room.fabric.iter() {
        let element = &entry.value;
        if !element.unread.is_empty() {
            return Err(Gap::Unreadable);
        }
        let (Some(area), Some(u_value)) = (element.area, element.u_value) else {
            return Err(gap(room, at, if element.area.is_none() { "fabric/…/area" } else { "fabric/…/u-value" }));
        };
        figure.value += element_loss(element, inside, outdoors.value).unwrap_or_default();
        figure = figure.with_given("area", &area).with_given("u-value", &u_value);
        if let Some(bridges) = &element.thermal_bridges {
            figure = figure.with_given("thermal-bridges", bridges);
        }
    }
    for (_, entry) in room.glazing.iter() {
        let glazing = &entry.value;
        if !glazing.unread.is_empty() {
            return Err(Gap::Unreadable);
        }
        if let (Some(area), Some(u_value)) = (glazing.area, glazing.u_value)
            && !glazing.in_heat_loss.is_some_and(|it| it.value)
        {
            figure.value += u_value.value * excess * area.value;
            figure = figure.with_given("area", &area).with_given("u-value", &u_value);
        }
    }
    match (&room.air_change_rate, &room.height) {
        (Some(rate), Some(height)) => {
            let volume = area.value()? * height.value;
            let by_air = 0.34 * rate.value.in_per_hour() * volume.in_cubic_metres() * excess.in_kelvin();
            figure.value += Power::watts(by_air);
            Ok(figure.with_given("air-change-rate", rate).with("volume", volume))
        }
        (None, _) => Err(gap(room, at, "air-change-rate")),
        (_, None) => Err(gap(room, at, "height")),
    }
}

/// What a room loses through an element of its fabric, as far as its area and its heat transfer coefficient are known.
pub fn element_loss(element: &Element, inside: Temperature, outdoors: Temperature) -> Option<Power> {
    let excess = inside - outdoors;
    let across = match (&element.temperature, element.to.map_or(OtherSide::Outdoors, |to| to.value)) {
        (Some(temperature), _) => inside - temperature.value,
        (None, OtherSide::Outdoors) => excess,
        (None, OtherSide::Ground) => excess * 0.3,
        (None, OtherSide::UnheatedRoom) => excess * 0.5,
        (None, OtherSide::HeatedRoom) => TemperatureDifference::ZERO,
    };
    let bridges = element.thermal_bridges.map_or(Transmittance::ZERO, |it| it.value);
    Some((element.u_value?.value + bridges) * across * element.area?.value)
}

fn heat_needed(room: &Room, heat_loss: &Worked<Power>) -> Worked<Power> {
    let loss = heat_loss.as_ref().map_err(Gap::clone)?;
    let mut figure = Figure::new(loss.value, "heat-loss - floor-loss-included - other-emitters", "EN 1264-3")
        .with("heat-loss", loss.value);
    if let Some(floor) = &room.floor_loss_included {
        figure.value -= floor.value;
        figure = figure.with_given("floor-loss-included", floor);
    }
    for emitter in room.other_emitters.values() {
        if let Some(output) = &emitter.output {
            figure.value -= output.value;
            figure = figure.with_given("other-emitters", output);
        }
    }
    figure.value = figure.value.max(Power::ZERO);
    Ok(figure)
}

fn outdoor(design: &Design) -> Result<Placed<Temperature>, Gap> {
    design.site.outdoor_temperature.ok_or_else(|| {
        if design.site.broken { Gap::Unreadable } else { Gap::missing(Subject::Site, "outdoor-temperature") }
    })
}

/// What follows for rooms once floors are worked out.
pub(crate) fn over_floors(design: &Design, workings: &mut Workings) {
    let Workings { rooms, floors, .. } = workings;
    for ((at, room), it) in design.rooms.values().enumerate().zip(rooms) {
        let Some(floor) = it.floor else {
            it.temperature_below = Err(gap(room, at, "floor"));
            it.covering_resistance = Err(gap(room, at, "floor"));
            it.resistance_above = Err(gap(room, at, "floor"));
            continue;
        };
        let given = design.floors.at(floor).map(|(_, entry)| &entry.value);
        let own = (!it.covering.is_empty()).then_some(&it.covering[..]);
        it.covering_resistance = floors[floor].covering(own);
        it.resistance_above = floors[floor].above(own);
        if let Some(given) = given {
            it.temperature_below = temperature_below(design, room, given, floor);
        }
    }
}

fn temperature_below(design: &Design, room: &Room, floor: &design::Floor, at: usize) -> Worked<Temperature> {
    let stated = room.temperature_below.as_ref().or(floor.temperature_below.as_ref());
    if let Some(stated) = stated {
        return Ok(Figure::new(stated.value, "as stated", "the design").with_given("temperature-below", stated));
    }
    let Some(below) = floor.below else {
        return Err(if floor.broken { Gap::Unreadable } else { Gap::missing(Subject::Floor(at), "below") });
    };
    let assumed = |celsius, what| {
        Ok(Figure::new(Temperature::celsius(celsius), "taken to be so", "common practice").assuming(what))
    };
    match below.value {
        Below::Ground => match &design.site.ground_temperature {
            Some(ground) => {
                Ok(Figure::new(ground.value, "as stated", "the design").with_given("ground-temperature", ground))
            }
            None => assumed(10.0, "the ground is taken at 10 °C"),
        },
        Below::HeatedRoom => assumed(20.0, "the heated room below is taken at 20 °C"),
        Below::PartHeatedRoom => assumed(15.0, "the part-heated room below is taken at 15 °C"),
        Below::UnheatedRoom => match (&design.site.outdoor_temperature, &room.temperature) {
            (Some(outdoors), Some(inside)) => {
                let value = inside.value - (inside.value - outdoors.value) * 0.5;
                let figure = Figure::new(value, "room - 0.5 x (room - outdoors)", "EN 12831-1, simplified method");
                Ok(figure.with_given("temperature", inside).with_given("outdoor-temperature", outdoors))
            }
            _ => assumed(10.0, "the unheated room below is taken at 10 °C"),
        },
        Below::OutdoorAir => {
            let outdoors = outdoor(design)?;
            Ok(Figure::new(outdoors.value, "outdoor-temperature", "the design")
                .with_given("outdoor-temperature", &outdoors))
        }
    }
}

/// What rooms get, once loops are worked out.
pub(crate) fn sum_up(design: &Design, workings: &mut Workings) {
    for (at, heat) in in_passing(workings) {
        workings.rooms[at].heat_in_passing = Some(heat);
    }
    for at in 0..workings.rooms.len() {
        let (output, flux, surface) = from_loops(design, workings, at);
        let edge_flux = edge_heat_flux(design, workings, at);
        let needed = flow_temperature_needed(workings, at);
        let temperature = design.rooms.at(at).and_then(|(_, room)| room.value.temperature);
        let it = &mut workings.rooms[at];
        it.flow_temperature_needed = needed;
        (it.output, it.heat_flux, it.surface_temperature_mean) = (output, flux, surface);
        it.edge_surface_temperature = edge_flux
            .as_ref()
            .map(|flux| surface_temperature(flux.as_ref().map_err(Gap::clone)?.value, temperature, Subject::Room(at)));
        it.edge_heat_flux = edge_flux;
    }
}

/// What the tails of loops give the rooms that they pass.
fn in_passing(workings: &Workings) -> BTreeMap<usize, Figure<Power>> {
    let mut passed: BTreeMap<usize, Figure<Power>> = BTreeMap::new();
    for it in &workings.loops {
        for (room, heat) in it.heat_in_rooms.iter().filter(|(room, _)| !it.rooms.contains(room)) {
            let source = "heat balance along the pipe; EN 1264-2 for the floor";
            let mut sum = passed.remove(room).unwrap_or_else(|| {
                Figure::new(Power::ZERO, "sum of what the tails of other rooms' loops give it", source)
            });
            sum.value += heat.value;
            passed.insert(*room, sum.with("heat of a tail", heat.value).assuming_all(&heat.assumptions));
        }
    }
    passed
}

/// The warmest flow temperature that a loop of a room needs.
fn flow_temperature_needed(workings: &Workings, at: usize) -> Worked<Temperature> {
    let mut warmest: Worked<Temperature> = Err(Gap::NoMethod("no loop heats this room".into()));
    for it in &workings.rooms[at].loops {
        let needed = workings.loops[*it].flow_temperature_needed.as_ref().map_err(Gap::clone)?;
        if warmest.as_ref().map_or(true, |so_far| needed.value > so_far.value) {
            let figure = Figure::new(needed.value, "greatest flow-temperature-needed of its loops", needed.source);
            warmest = Ok(figure.with("flow-temperature-needed", needed.value).assuming_all(&needed.assumptions));
        }
    }
    warmest
}

/// The heat flux of a room's edge zone, of the loop that makes it warmest.
fn edge_heat_flux(design: &Design, workings: &Workings, at: usize) -> Option<Worked<HeatFlux>> {
    let (_, room) = design.rooms.at(at)?;
    let zone = room.value.edge_zone.as_ref()?;
    let Some(spacing) = zone.spacing else {
        return Some(Err(if zone.broken {
            Gap::Unreadable
        } else {
            Gap::missing(Subject::Room(at), "edge-zone/spacing")
        }));
    };
    let of_loops = workings.rooms[at].loops.iter().map(|it| match &workings.loops[*it].edge_flux {
        Some(flux) => Ok(flux.clone()),
        None => crate::loops::flux_at(design, workings, *it, at, spacing),
    });
    let warmest = of_loops.reduce(|one, other| match (&one, &other) {
        (Ok(first), Ok(second)) if second.value > first.value => other,
        (Ok(_), Err(_)) => other,
        _ => one,
    });
    Some(warmest.unwrap_or_else(|| Err(Gap::NoMethod("no loop heats this room".into()))))
}

/// The most heat of a room's edge zone without a point of it being too much over the room: 15 K, in a bathroom 9 K.
pub fn edge_limit(design: &Design, workings: &Workings, at: usize) -> Worked<HeatFlux> {
    let (_, room) = design.rooms.at(at).ok_or(Gap::Unreadable)?;
    let spacing = room.value.edge_zone.as_ref().and_then(|zone| zone.spacing);
    let spacing = spacing.ok_or(Gap::missing(Subject::Room(at), "edge-zone/spacing"))?;
    let bathroom = room.value.use_.is_some_and(|it| it.value == design::Use::Bathroom);
    let over = TemperatureDifference::kelvin(if bathroom { 9.0 } else { 15.0 });
    let of_loops = workings.rooms[at].loops.iter().map(|it| {
        let limits = crate::limits(design, workings, *it, Some(spacing.value), over)?;
        Ok(limits.heat_flux)
    });
    let least = of_loops.reduce(|one, other| match (&one, &other) {
        (Ok(first), Ok(second)) if second.value < first.value => other,
        (Ok(_), Err(_)) => other,
        _ => one,
    });
    least.unwrap_or_else(|| Err(Gap::NoMethod("no loop heats this room".into())))
}

/// What the loops of a room give it at the flows that they get with the valves as they are set.
pub fn output_as_set(design: &Design, workings: &Workings, at: usize) -> Worked<Power> {
    let room = workings.rooms.get(at).ok_or(Gap::Unreadable)?;
    if room.loops.is_empty() {
        return Err(Gap::NoMethod("no loop heats this room".into()));
    }
    let mut output = Figure::new(Power::ZERO, "sum of heat-up-as-set of its loops", "EN 1264-3");
    for own in &room.loops {
        let it = crate::loops::loop_as_set(design, workings, *own)?;
        let up = it.heat_up.value()? * workings.loops[*own].share_in(at);
        output.value += up;
        output = output.with("heat-up-as-set", up);
    }
    Ok(output)
}

fn from_loops(
    design: &Design,
    workings: &Workings,
    at: usize,
) -> (Worked<Power>, Worked<HeatFlux>, Worked<Temperature>) {
    let summed = || -> Result<(Figure<Power>, Area, Power), Gap> {
        let loops = &workings.rooms[at].loops;
        if loops.is_empty() {
            return Err(Gap::NoMethod("no loop heats this room".into()));
        }
        let mut output = Figure::new(Power::ZERO, "sum of heat-up of its loops", "EN 1264-3");
        let (mut heated, mut occupied) = (Area::ZERO, Power::ZERO);
        for it in loops {
            let worked = &workings.loops[*it];
            let up = worked.heat_up_in(at).value()?;
            output.value += up;
            output = output.with("heat-up", up);
            let area = worked.area_served.value()? * worked.share_in(at);
            heated += area;
            // Where people stay, the edge zone apart.
            occupied += if worked.rooms.len() == 1 { worked.heat_flux.value()? * area } else { up };
        }
        Ok((output, heated, occupied))
    };
    let (mut output, heated, occupied) = match summed() {
        Ok(summed) => summed,
        Err(gap) => return (Err(gap.clone()), Err(gap.clone()), Err(gap)),
    };
    if let Some(passing) = &workings.rooms[at].heat_in_passing {
        output.value += passing.value;
        output.formula = "sum of heat-up of its loops + heat-in-passing";
        output = output.with("heat-in-passing", passing.value);
    }
    let flux = if heated > Area::ZERO {
        Ok(Figure::new(occupied / heated, "heat-flux of its loops, each by its area", "EN 1264-2")
            .with("heat-up, the edge zone as the rest", occupied)
            .with("heated area", heated))
    } else {
        Err(Gap::NoMethod("the heated area is nothing".into()))
    };
    let surface = flux.as_ref().map_err(Gap::clone).and_then(|flux| {
        let room = design.rooms.at(at).and_then(|(_, room)| room.value.temperature);
        surface_temperature(flux.value, room, Subject::Room(at))
    });
    (Ok(output), flux, surface)
}

/// Mean surface temperature by the basic curve.
pub(crate) fn surface_temperature(
    flux: HeatFlux,
    room: Option<Placed<Temperature>>,
    subject: Subject,
) -> Worked<Temperature> {
    let room = room.ok_or(Gap::missing(subject, "temperature"))?;
    let excess = en1264::surface_excess(flux)?;
    let figure = Figure::new(
        room.value + excess,
        "temperature + (heat-flux / 8.92)^(1 / 1.1)",
        "EN 1264-2, basic characteristic",
    );
    Ok(figure.with_given("temperature", &room).with("heat-flux", flux))
}
