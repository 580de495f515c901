//! Rooms: area, heat needed, and what the floor gives.

use crate::floors::{LayerWorkings, layers};
use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Below, Design, Element, OtherSide, Placed, Room};
use engineering::heat::en1264;
use engineering::plan;
use quantity::*;

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
    pub heat_loss: Worked<Power>,
    /// What its floor has to give: the heat loss without that of the floor itself and without other emitters.
    pub heat_needed: Worked<Power>,
    /// R_o of EN 1264 with the room's own covering.
    pub resistance_above: Worked<ThermalResistance>,
    /// Of all layers above the one that holds the pipe.
    pub covering_resistance: Worked<ThermalResistance>,
    /// Of what lies below its floor.
    pub temperature_below: Worked<Temperature>,
    /// What its loops give it.
    pub output: Worked<Power>,
    /// The output over the heated area.
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
            let heat_loss = heat_loss(design, room, &area, at);
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
                resistance_above: Err(unknown()),
                covering_resistance: Err(unknown()),
                temperature_below: Err(unknown()),
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

fn area(room: &Room, outline: &Option<Result<plan::Outline, plan::OutlineFault>>, at: usize) -> Worked<Area> {
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

fn heat_loss(design: &Design, room: &Room, area: &Worked<Area>, at: usize) -> Worked<Power> {
    if let Some(stated) = &room.heat_loss {
        return Ok(Figure::new(stated.value, "as stated", "the design").with_given("heat-loss", stated));
    }
    if room.fabric.is_empty() {
        return Err(gap(room, at, "heat-loss"));
    }
    let room_temperature = room.temperature.ok_or_else(|| gap(room, at, "temperature"))?;
    let outdoors = outdoor(design)?;
    let excess = room_temperature.value - outdoors.value;
    let source = "EN 12831-1, simplified method";
    let mut figure = Figure::new(Power::ZERO, "sum of area x (u-value + thermal-bridges) x share of (room - outdoors) + 0.34 x air-change-rate x volume x (room - outdoors)", source)
        .with_given("temperature", &room_temperature)
        .with_given("outdoor-temperature", &outdoors);
    for (_, entry) in room.fabric.iter() {
        let element = &entry.value;
        let (Some(area), Some(u_value)) = (element.area, element.u_value) else {
            return Err(gap(room, at, if element.area.is_none() { "fabric/…/area" } else { "fabric/…/u-value" }));
        };
        figure.value += element_loss(element, room_temperature.value, outdoors.value).unwrap_or_default();
        figure = figure.with_given("area", &area).with_given("u-value", &u_value);
    }
    for (_, entry) in room.glazing.iter() {
        let glazing = &entry.value;
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
    for at in 0..workings.rooms.len() {
        let (output, flux, surface) = from_loops(design, workings, at);
        let edge_flux = edge_heat_flux(design, workings, at);
        let temperature = design.rooms.at(at).and_then(|(_, room)| room.value.temperature);
        let it = &mut workings.rooms[at];
        (it.output, it.heat_flux, it.surface_temperature_mean) = (output, flux, surface);
        it.edge_surface_temperature = edge_flux
            .as_ref()
            .map(|flux| surface_temperature(flux.as_ref().map_err(Gap::clone)?.value, temperature, Subject::Room(at)));
        it.edge_heat_flux = edge_flux;
    }
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
    let of_loops = workings.rooms[at].loops.iter().map(|it| crate::loops::flux_at(design, workings, *it, at, spacing));
    let warmest = of_loops.reduce(|one, other| match (&one, &other) {
        (Ok(first), Ok(second)) if second.value > first.value => other,
        (Ok(_), Err(_)) => other,
        _ => one,
    });
    Some(warmest.unwrap_or_else(|| Err(Gap::NoMethod("no loop heats this room".into()))))
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
    let summed = || -> Result<(Figure<Power>, Area), Gap> {
        let loops = &workings.rooms[at].loops;
        if loops.is_empty() {
            return Err(Gap::NoMethod("no loop heats this room".into()));
        }
        let mut output = Figure::new(Power::ZERO, "sum of heat-up of its loops", "EN 1264-3");
        let mut heated = Area::ZERO;
        for it in loops {
            let worked = &workings.loops[*it];
            let share = worked.share_in(at);
            let up = worked.heat_up.value()? * share;
            output.value += up;
            output = output.with("heat-up", up);
            heated += worked.area_served.value()? * share;
        }
        Ok((output, heated))
    };
    let (output, heated) = match summed() {
        Ok(summed) => summed,
        Err(gap) => return (Err(gap.clone()), Err(gap.clone()), Err(gap)),
    };
    let flux = if heated > Area::ZERO {
        let value = output.value / heated;
        Ok(Figure::new(value, "output / heated area", "EN 1264-2")
            .with("output", output.value)
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
