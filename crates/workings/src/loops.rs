//! Loops: lengths, flow, temperatures, heat, pressure drop.

use crate::floors::FloorPace;
use crate::heat::{self, BothMethods, Laid, Solved};
use crate::plan::length_in;
use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Design, Fluid, Loop, Pipe, PipeMaterial, Placed};
use engineering::heat::conduction::Influence;
use engineering::heat::loop_balance::HeatedFloor;
use engineering::heat::{FloorResponse, en1264};
use engineering::plan;
use engineering::water::fluids::{self, Properties};
use engineering::water::manifold::Duty;
use engineering::water::pipe_friction::{Line, PressureDrop, Run};
use engineering::water::pipes;
use engineering::water::valves::PresettingTable;
use quantity::*;
use std::sync::Arc;
use way::Way;

/// What a floor gives whose surface is 9 K over its room: EN 1264-2, basic characteristic.
const MOST_OF_A_FLOOR: HeatFlux = HeatFlux::watts_per_square_metre(100.0);

mod way;

/// What was worked out of a loop.
#[derive(Debug, Clone)]
pub struct LoopWorkings {
    pub manifold: Option<usize>,
    /// The rooms that it heats.
    pub rooms: Vec<usize>,
    pub pipe: Result<PipeWorkings, Gap>,
    /// Its route, drawn or laid out, if there is one: the geometry, or what is wrong with it.
    pub route: Option<Result<Arc<plan::Route>, String>>,
    /// How its route was laid out, or why it could not be; nothing where it is drawn or has no layout.
    pub laid: Option<Result<plan::Laid, plan::NoField>>,
    /// All its pipe, both tails included.
    pub length: Worked<Length>,
    /// In all the rooms that it heats together.
    pub length_in_room: Worked<Length>,
    /// The part of it in each room that it enters.
    pub length_in_rooms: Vec<(usize, Figure<Length>)>,
    /// Outside the rooms that it heats.
    pub tail_length: Worked<Length>,
    pub area_served: Worked<Area>,
    /// What it has to give to its rooms.
    pub heat_needed: Worked<Power>,
    /// Heat into the room for each square metre and kelvin between water and room.
    pub characteristic: Worked<Transmittance>,
    pub flow_temperature: Worked<Temperature>,
    /// At which the floor gives just the heat needed, the water cooling by the design drop.
    pub flow_temperature_needed: Worked<Temperature>,
    pub return_temperature: Worked<Temperature>,
    /// As stated, or the flow needed.
    pub flow: Worked<MassFlow>,
    /// What carries the heat needed, upward and downward, at the design drop.
    pub flow_needed: Worked<MassFlow>,
    pub volume_flow: Worked<VolumeFlow>,
    /// Into the rooms that it heats.
    pub heat_up: Worked<Power>,
    /// Into what lies below those rooms.
    pub heat_down: Worked<Power>,
    /// What its tails give, up and down, in the rooms that they pass; nothing where no tail is drawn through one.
    pub heat_of_tails: Option<Figure<Power>>,
    /// Into each room that it enters, where it is drawn: those that it heats and those that it passes.
    pub heat_in_rooms: Vec<(usize, Figure<Power>)>,
    /// The flow at which it gives just its heat needed with the water that it gets.
    pub flow_for_duty: Worked<MassFlow>,
    /// Upward, for each square metre of the area served, the edge zone left out.
    pub heat_flux: Worked<HeatFlux>,
    pub surface_temperature_mean: Worked<Temperature>,
    /// Above a pipe, the water as warm as on average.
    pub surface_temperature_highest: Worked<Temperature>,
    /// How much hotter than its mean the surface is above a pipe.
    pub surface_ripple: Worked<TemperatureDifference>,
    pub velocity: Worked<Velocity>,
    pub reynolds: Worked<Number>,
    /// Pipe, bends and, where the manifold states them, valves fully open.
    pub pressure_drop: Worked<Pressure>,
    /// The same at the upper end of what it may be between laminar and turbulent flow.
    pub pressure_drop_greatest: Worked<Pressure>,
    /// The flow coefficient that its balancing valve has to be set to.
    pub presetting_kv: Worked<FlowCoefficient>,
    /// The setting of its valve's table that comes nearest to that; nothing where the manifold has no table.
    pub presetting_turns: Option<Worked<Number>>,
    /// The flow that it gets with the valves as they are set, where settings are stated.
    pub flow_as_set: Worked<MassFlow>,
    pub water_content: Worked<Volume>,
    /// Pipe, bends and actuator valve, for the manifold.
    pub(crate) line: Result<Line, Gap>,
    /// The same with its balancing valve as it is set; nothing where that is shut.
    pub(crate) line_as_set: Result<Option<(Line, FlowCoefficient)>, Gap>,
    /// How its floor answers to warm water.
    pub(crate) response: Result<FloorResponse, Gap>,
    /// Of the edge zone.
    pub(crate) edge_flux: Option<Figure<HeatFlux>>,
    /// Mean and hottest point of its surface, where conduction gave them.
    surface: Option<[Influence; 2]>,
}

/// A pipe with all that is needed of it, given or standard.
#[derive(Debug, Clone, PartialEq)]
pub struct PipeWorkings {
    pub outside: Length,
    pub wall: Length,
    pub bore: Length,
    pub conductivity: Conductivity,
    pub roughness: Length,
    /// To the axis; given, or five times the outside diameter.
    pub least_bend_radius: Length,
    pub bend_radius_given: bool,
    /// What was taken to be so.
    pub assumptions: Vec<&'static str>,
}

impl LoopWorkings {
    /// The part of it that heats a room: by its length there, or shared alike while it is not drawn.
    pub fn share_in(&self, room: usize) -> f64 {
        if self.rooms.len() <= 1 {
            return 1.0;
        }
        let in_rooms = |wanted: Option<usize>| -> f64 {
            let counts = |at: &usize| self.rooms.contains(at) && wanted.is_none_or(|wanted| wanted == *at);
            self.length_in_rooms.iter().filter(|(at, _)| counts(at)).map(|(_, length)| length.value.in_metres()).sum()
        };
        let all = in_rooms(None);
        if all > 0.0 { in_rooms(Some(room)) / all } else { 1.0 / self.rooms.len() as f64 }
    }
}

/// What can be said of a loop before rooms and floors are worked out.
pub(crate) fn begin(design: &Design) -> Vec<LoopWorkings> {
    design
        .loops
        .values()
        .enumerate()
        .map(|(at, given)| LoopWorkings {
            manifold: given.manifold.as_ref().and_then(|it| design.manifolds.position(&it.value.name)),
            pipe: pipe(design, given, at),
            route: given.route.as_ref().map(|route| crate::plan::route(&route.value).map(Arc::new)),
            ..LoopWorkings::unknown()
        })
        .collect()
}

/// What is taken to be so of a loop that the program laid out.
fn assumed(laid: &plan::Laid) -> Vec<&'static str> {
    let mut assumed = vec!["the route is not drawn: it is laid out from the layout, the outline and the spacing"];
    match laid.without_tails {
        Some(plan::NoTails::NoManifold) => {
            assumed.push("the tails are not laid out: the manifold has no place");
        }
        Some(plan::NoTails::OnOtherStorey) => {
            assumed.push("the tails are not laid out: the manifold stands on another storey");
        }
        Some(plan::NoTails::OutsideRooms) => {
            assumed.push("the tails are not laid out: the manifold stands in none of the rooms");
        }
        Some(plan::NoTails::NoPassage) => {
            assumed.push("the tails are not laid out: no doorway or sleeve leads to the room");
        }
        Some(plan::NoTails::TooMany { .. }) => {
            assumed.push("the tails are not laid out: more of them have to pass a place on the way than fit there");
        }
        Some(plan::NoTails::NoRoom { .. } | plan::NoTails::NotJoined | plan::NoTails::WouldCross(_)) => {
            assumed.push("the tails are not laid out: other pipe or what must stay clear is in the way");
        }
        None => {}
    }
    match laid.changed_pattern {
        Some(plan::Changed::Spacing) => assumed.push(
            "it is laid as a spiral: half the spacing is under the least bend radius and leaves no room for bulbs",
        ),
        Some(plan::Changed::Floor) => assumed
            .push("it is laid as a spiral: on this floor turns of a meander stay tighter than the least bend radius"),
        None => {}
    }
    if !laid.tight_turns.is_empty() {
        assumed.push("some turns are tighter than the least bend radius: the floor leaves no room for wider ones");
    }
    for reason in &laid.uncovered {
        assumed.push(match reason {
            plan::Uncovered::TooNarrow(_) => {
                "under 95 % of the floor is covered: a part is too narrow for a run there and back"
            }
            plan::Uncovered::NotPassed(_) => {
                "under 95 % of the floor is covered: the tails do not pass all that the loop is to heat on the way"
            }
            plan::Uncovered::CutOff(_) => "under 95 % of the floor is covered: the pattern does not reach all of it",
            plan::Uncovered::Bends(_) => "under 95 % of the floor is covered: the pipe does not bend into all of it",
            plan::Uncovered::Tails(_) => "under 95 % of the floor is covered: tails of other loops take a part of it",
            plan::Uncovered::Edge(_) => {
                "under 95 % of the floor is covered: so close a pipe stays more than half a spacing from walls"
            }
            plan::Uncovered::Remainder(_) => {
                "under 95 % of the floor is covered: runs and bends do not fill the shape of the floor"
            }
        });
    }
    assumed
}

/// Whether what a loop takes of the floor of its room is not known, because it cannot be read.
fn unread_share(given: &Loop) -> bool {
    ["route", "spacing", "area", "layout"].iter().any(|key| given.has_unread(key))
}

fn gap(given: &Loop, at: usize, key: &'static str) -> Gap {
    if given.broken { Gap::Unreadable } else { Gap::missing(Subject::Loop(at), key) }
}

fn pipe(design: &Design, given: &Loop, at: usize) -> Result<PipeWorkings, Gap> {
    let Some(name) = &given.pipe else { return Err(gap(given, at, "pipe")) };
    // A name that leads nowhere is a fault already.
    let pipe = design.pipe(&name.value.0).ok_or(Gap::Unreadable)?;
    let subject = design.pipes.position(&name.value.0).map_or(Subject::Loop(at), Subject::Pipe);
    pipe_workings(&pipe, subject)
}

/// A pipe's dimensions and properties.
pub(crate) fn pipe_workings(pipe: &Pipe, subject: Subject) -> Result<PipeWorkings, Gap> {
    let missing = |key| if pipe.broken { Gap::Unreadable } else { Gap::missing(subject, key) };
    let outside = pipe.outside_diameter.ok_or_else(|| missing("outside-diameter"))?.value;
    let bore = match (pipe.bore, pipe.wall_thickness) {
        (Some(bore), _) => bore.value,
        (None, Some(wall)) => outside - wall.value * 2.0,
        (None, None) => return Err(missing("wall-thickness")),
    };
    if bore <= Length::ZERO || bore >= outside {
        return Err(Gap::NoMethod("the pipe has no bore within its outside diameter".into()));
    }
    let material = pipe.material.map(|it| match it.value {
        PipeMaterial::Pex => pipes::PipeMaterial::PeX,
        PipeMaterial::PeRt => pipes::PipeMaterial::PeRt,
        PipeMaterial::Polybutylene => pipes::PipeMaterial::Pb,
        PipeMaterial::PolypropyleneRandom => pipes::PipeMaterial::PpR,
        PipeMaterial::Multilayer => pipes::PipeMaterial::Multilayer,
        PipeMaterial::Copper => pipes::PipeMaterial::Copper,
        PipeMaterial::Steel => pipes::PipeMaterial::Steel,
    });
    let mut assumptions = Vec::new();
    if material.is_none() && (pipe.conductivity.is_none() || pipe.roughness.is_none()) {
        assumptions.push("the pipe's material is not given: PE-X is taken");
    }
    let material = material.unwrap_or(pipes::PipeMaterial::PeX);
    Ok(PipeWorkings {
        outside,
        wall: pipe.wall_thickness.map_or((outside - bore) / 2.0, |it| it.value),
        bore,
        conductivity: pipe.conductivity.map_or(material.conductivity(), |it| it.value),
        roughness: pipe.roughness.map_or(material.roughness(), |it| it.value),
        least_bend_radius: pipe.least_bend_radius.map_or(outside * 5.0, |it| it.value),
        bend_radius_given: pipe.least_bend_radius.is_some(),
        assumptions,
    })
}

/// What flows in the circuit.
pub fn fluid(design: &Design) -> Result<fluids::Fluid, Gap> {
    let water = &design.water;
    let glycol = match water.fluid.map(|it| it.value) {
        None | Some(Fluid::Water) => return Ok(fluids::Fluid::Water),
        Some(Fluid::PropyleneGlycol) => fluids::Glycol::Propylene,
        Some(Fluid::EthyleneGlycol) => fluids::Glycol::Ethylene,
    };
    let mass_share = match (water.mass_share, water.volume_share) {
        (Some(share), _) => share.value,
        (None, Some(share)) => fluids::mass_share(glycol, share.value)?,
        (None, None) => return Err(Gap::missing(Subject::Water, "mass-share")),
    };
    if mass_share == Share::ZERO {
        return Ok(fluids::Fluid::Water);
    }
    Ok(fluids::Fluid::Mixture { glycol, mass_share })
}

/// Works every loop out, but for what its manifold decides.
pub(crate) fn work_out(design: &Design, workings: &mut Workings) {
    let fluid = fluid(design);
    let sharing: Vec<Sharing> = (0..workings.rooms.len()).map(|room| Sharing::new(design, workings, room)).collect();
    let solved = workings.solved.clone();
    for_each(design, workings, &solved, |one, it| one.lengths(it, &sharing));
    let heated: Vec<Result<Area, Gap>> =
        workings.rooms.iter().enumerate().map(|(at, _)| heated(workings, at)).collect();
    way::space_tails(design, workings);
    for_each(design, workings, &solved, |one, it| one.heat_and_flow(it, &fluid, &heated));
}

/// Does the same with each loop, which may look at all the others.
fn for_each(design: &Design, workings: &mut Workings, solved: &Solved, work: impl Fn(One, &mut LoopWorkings)) {
    for (at, entry) in design.loops.values().enumerate() {
        let mut it = std::mem::replace(&mut workings.loops[at], LoopWorkings::unknown());
        work(One { design, workings, given: entry, at, solved }, &mut it);
        workings.loops[at] = it;
    }
}

/// How the loops of a room share its free area.
struct Sharing {
    free: Result<Area, Gap>,
    /// What no loop is stated to heat.
    rest: Area,
    /// The loops that share the rest.
    loops: usize,
    /// Those of them that are not drawn.
    undrawn: usize,
    /// Drawn length x spacing of those that are, in m².
    drawn: f64,
}

impl Sharing {
    /// Whether all of the room's floor is taken up by what stands on it.
    fn is_full(&self) -> bool {
        self.free.as_ref().is_ok_and(|free| *free <= Area::ZERO)
    }

    fn new(design: &Design, workings: &Workings, room: usize) -> Sharing {
        let worked = &workings.rooms[room];
        let free = worked.free_area.value();
        let mut it = Sharing { rest: free.clone().unwrap_or_default(), free, loops: 0, undrawn: 0, drawn: 0.0 };
        for at in &worked.loops {
            let Some((_, entry)) = design.loops.at(*at) else { continue };
            match &entry.value.area {
                // The stated area of a loop in several rooms is taken to lie in each alike.
                Some(stated) => {
                    let reach = reach(workings, &entry.value, *at, &workings.loops[*at].rooms);
                    let heated = reach.map_or(stated.value, |reach| reach.min(stated.value));
                    it.rest -= heated / entry.value.rooms.len().max(1) as f64;
                }
                None => {
                    let drawn = drawn(workings, &entry.value, *at, room);
                    it.loops += 1;
                    it.undrawn += usize::from(drawn <= 0.0);
                    it.drawn += drawn;
                }
            }
        }
        it.rest = it.rest.max(Area::ZERO);
        it
    }
}

/// The area that a loop's drawn pipe in a room stands for, in m²: a bend heats what its corner does, with less pipe.
fn drawn(workings: &Workings, given: &Loop, at: usize, room: usize) -> f64 {
    let here = workings.plan.stretches[at].iter().filter(|it| it.room == Some(room));
    let length: Length = here.map(|it| it.to - it.from).sum();
    length.in_metres() * given.spacing.map_or(1.0, |it| it.value.in_metres())
}

/// What the pipe of a loop heats in all its rooms, half a spacing on either side; nothing where that cannot be known.
fn reach(workings: &Workings, given: &Loop, at: usize, rooms: &[usize]) -> Option<Area> {
    given.spacing?;
    if !rooms.iter().all(|room| matches!(workings.rooms[*room].outline, Some(Ok(_)))) {
        return None;
    }
    let own: f64 = rooms.iter().map(|room| drawn(workings, given, at, *room)).sum();
    (own > 0.0).then(|| Area::square_metres(own))
}

/// The area of a room that its loops heat together.
fn heated(workings: &Workings, room: usize) -> Result<Area, Gap> {
    let mut all = Area::ZERO;
    for at in &workings.rooms[room].loops {
        let it = &workings.loops[*at];
        all += it.area_served.value()? * it.share_in(room);
    }
    Ok(all)
}

impl LoopWorkings {
    /// Nothing is worked out yet.
    fn unknown() -> LoopWorkings {
        let unknown = || Gap::Unreadable;
        LoopWorkings {
            manifold: None,
            rooms: Vec::new(),
            pipe: Err(unknown()),
            route: None,
            laid: None,
            length: Err(unknown()),
            length_in_room: Err(unknown()),
            length_in_rooms: Vec::new(),
            tail_length: Err(unknown()),
            area_served: Err(unknown()),
            heat_needed: Err(unknown()),
            characteristic: Err(unknown()),
            flow_temperature: Err(unknown()),
            flow_temperature_needed: Err(unknown()),
            return_temperature: Err(unknown()),
            flow: Err(unknown()),
            flow_needed: Err(unknown()),
            volume_flow: Err(unknown()),
            heat_up: Err(unknown()),
            heat_down: Err(unknown()),
            heat_of_tails: None,
            heat_in_rooms: Vec::new(),
            flow_for_duty: Err(unknown()),
            heat_flux: Err(unknown()),
            surface_temperature_mean: Err(unknown()),
            surface_temperature_highest: Err(unknown()),
            surface_ripple: Err(unknown()),
            velocity: Err(unknown()),
            reynolds: Err(unknown()),
            pressure_drop: Err(unknown()),
            pressure_drop_greatest: Err(unknown()),
            presetting_kv: Err(unknown()),
            presetting_turns: None,
            flow_as_set: Err(unknown()),
            water_content: Err(unknown()),
            line: Err(unknown()),
            line_as_set: Err(unknown()),
            response: Err(unknown()),
            edge_flux: None,
            surface: None,
        }
    }

    /// What it gives a room that it heats.
    pub fn heat_up_in(&self, room: usize) -> Worked<Power> {
        if let Some((_, heat)) = self.heat_in_rooms.iter().find(|(at, _)| *at == room) {
            return Ok(heat.clone());
        }
        let up = self.heat_up.as_ref().map_err(Gap::clone)?;
        let share = self.share_in(room);
        Ok(Figure::new(up.value * share, "heat-up x its share in the room", "plain arithmetic")
            .with("heat-up", up.value)
            .with_number("share", share))
    }
}

/// One loop with all around it.
struct One<'w> {
    design: &'w Design,
    workings: &'w Workings,
    given: &'w Loop,
    at: usize,
    solved: &'w Solved,
}

impl One<'_> {
    fn missing(&self, key: &'static str) -> Gap {
        gap(self.given, self.at, key)
    }

    fn room(&self, it: &LoopWorkings) -> Result<usize, Gap> {
        it.rooms.first().copied().ok_or_else(|| {
            let astray = &self.workings.plan.astray;
            match astray.binary_search_by_key(&self.at, |(at, _)| *at) {
                Ok(found) => {
                    let room = self.design.rooms.at(astray[found].1).map_or("", |(name, _)| name);
                    Gap::NoMethod(format!("no part of the route lies in {room}, which it is to heat"))
                }
                Err(_) if self.given.rooms.is_empty() => self.missing("room"),
                // A room whose name leads nowhere is a fault already.
                Err(_) => Gap::Unreadable,
            }
        })
    }

    fn lengths(&self, it: &mut LoopWorkings, sharing: &[Sharing]) {
        it.area_served = self.area_served(it, sharing);
        match &it.route {
            Some(Ok(route)) => self.drawn_lengths(&route.clone(), it),
            Some(Err(reason)) => {
                let gap = Gap::NoMethod(format!("the route cannot be followed: {reason}"));
                (it.length, it.length_in_room, it.tail_length) = (Err(gap.clone()), Err(gap.clone()), Err(gap));
            }
            None if self.given.has_unread("route") && self.given.length.is_none() => {
                let gap = Gap::Unreadable;
                (it.length, it.length_in_room, it.tail_length) = (Err(gap.clone()), Err(gap.clone()), Err(gap));
            }
            None => self.lengths_by_area(it),
        }
        let content = |length: &Figure<Length>| {
            let bore = it.pipe.as_ref().map_err(Gap::clone)?.bore;
            let value = bore * bore * (std::f64::consts::PI / 4.0) * length.value;
            Ok(Figure::new(value, "π / 4 x bore² x length", "plain geometry")
                .with("bore", bore)
                .with("length", length.value))
        };
        it.water_content = it.length.as_ref().map_err(Gap::clone).and_then(content);
    }

    fn drawn_lengths(&self, route: &plan::Route, it: &mut LoopWorkings) {
        let radius = it.pipe.as_ref().ok().map(|pipe| pipe.least_bend_radius);
        let straight = route.length();
        let rounded = self.workings.plan.lying[self.at].as_ref().map_or(straight, |lying| lying.pipe);
        let stretches = &self.workings.plan.stretches[self.at];
        let laid = it.laid.as_ref().and_then(|laid| laid.as_ref().ok());
        let of_layout = || self.given.layout.map(|layout| layout.at);
        let at = self.given.route.as_ref().map(|route| route.at).or_else(of_layout);
        let mut length = Figure::new(
            rounded,
            "sum of the legs of the route, corners rounded to the least bend radius, but those over 152°",
            "plain geometry",
        )
        .with_at("legs", straight, at);
        if let Some(radius) = radius {
            length = length.with("least bend radius", radius);
        }
        length = length.assuming_all(&laid.map(assumed).unwrap_or_default());
        let mut rooms: Vec<usize> = stretches.iter().filter_map(|it| it.room).collect();
        rooms.sort_unstable();
        rooms.dedup();
        let in_room = |room: usize| {
            let value = length_in(stretches, Some(room));
            Figure::new(value, "the part of the route within the room's outline", "plain geometry")
                .with_at("legs", straight, at)
        };
        it.length_in_rooms = rooms.iter().map(|room| (*room, in_room(*room))).collect();
        let served: Length =
            it.length_in_rooms.iter().filter(|(room, _)| it.rooms.contains(room)).map(|(_, length)| length.value).sum();
        let without_outline = it.rooms.iter().any(|room| !matches!(self.workings.rooms[*room].outline, Some(Ok(_))));
        if it.rooms.is_empty() || without_outline {
            let gap = match self.room(it) {
                Err(gap) => gap,
                Ok(room) => Gap::missing(Subject::Room(room), "outline"),
            };
            (it.length_in_room, it.tail_length) = (Err(gap.clone()), Err(gap));
        } else {
            it.length_in_room =
                Ok(Figure::new(served, "the part of the route within the rooms it heats", "plain geometry")
                    .with("length", rounded)
                    .assuming_all(&length.assumptions));
            it.tail_length = Ok(Figure::new(rounded - served, "length - length-in-room", "plain geometry")
                .with("length", rounded)
                .with("length-in-room", served));
        }
        it.length = Ok(length);
        if laid.is_some_and(|laid| laid.without_tails.is_some()) {
            self.add_tails(it);
            if let Some(stated) = &self.given.length {
                it.length = Ok(Figure::new(stated.value, "as stated", "the design").with_given("length", stated));
            }
        }
    }

    /// Adds the tails, as stated, to what was laid out without them.
    fn add_tails(&self, it: &mut LoopWorkings) {
        let tails = self.tails(it);
        let at = self.given.tails.map(|tails| tails.at);
        it.length = it.length.as_ref().map_err(Gap::clone).and_then(|field| {
            let tails = tails.as_ref().map_err(Gap::clone)?;
            let figure = Figure::new(
                field.value + tails.value,
                "legs of the route in the room, corners rounded to the least bend radius, + tails",
                "plain geometry",
            );
            let figure = figure.with("length-in-room", field.value).with_at("tails", tails.value, at);
            Ok(figure.assuming_all(&field.assumptions).assuming_all(&tails.assumptions))
        });
        it.tail_length = tails;
    }

    fn lengths_by_area(&self, it: &mut LoopWorkings) {
        let in_room = || -> Worked<Length> {
            if self.given.has_unread("route") {
                return Err(Gap::Unreadable);
            }
            let area = it.area_served.as_ref().map_err(Gap::clone)?;
            let spacing = self.spacing()?;
            let edge = self.edge_zone(it, &spacing);
            let Some((edge, closer)) = edge.filter(|(edge, _)| *edge > Area::ZERO) else {
                let figure =
                    Figure::new(area.value / spacing.value, "area-served / spacing", "EN 1264-4, plain geometry");
                return Ok(figure.with("area-served", area.value).with_given("spacing", &spacing));
            };
            let figure = Figure::new(
                (area.value - edge) / spacing.value + edge / closer.value,
                "(area-served - edge zone) / spacing + edge zone / its spacing",
                "EN 1264-4, plain geometry",
            );
            Ok(figure
                .with("area-served", area.value)
                .with_given("spacing", &spacing)
                .with("edge zone", edge)
                .with_given("spacing of the edge zone", &closer)
                .assuming_all(self.edge_assumption(it)))
        };
        let in_room = in_room();
        let tails = self.tails(it);
        it.length = self.whole_length(&in_room, &tails);
        if let ([only], Ok(in_room)) = (&it.rooms[..], &in_room) {
            it.length_in_rooms = vec![(*only, in_room.clone())];
        }
        it.length_in_room = in_room;
        it.tail_length = tails;
    }

    fn whole_length(&self, in_room: &Worked<Length>, tails: &Worked<Length>) -> Worked<Length> {
        if let Some(stated) = &self.given.length {
            return Ok(Figure::new(stated.value, "as stated", "the design").with_given("length", stated));
        }
        let (in_room, tails) = (in_room.as_ref().map_err(Gap::clone)?, tails.as_ref().map_err(Gap::clone)?);
        let figure = Figure::new(in_room.value + tails.value, "area-served / spacing + tails", "plain geometry");
        let figure = figure.with("length-in-room", in_room.value).assuming_all(&in_room.assumptions);
        let at = self.given.tails.map(|tails| tails.at);
        Ok(figure.with_at("tails", tails.value, at).assuming_all(&tails.assumptions))
    }

    fn spacing(&self) -> Result<Placed<Length>, Gap> {
        let spacing = self.given.spacing.ok_or_else(|| self.missing("spacing"))?;
        if spacing.value < Length::millimetres(10.0) {
            return Err(Gap::NoMethod("a spacing under 10 mm cannot be laid".into()));
        }
        Ok(spacing)
    }

    /// Both tails: as stated, or there and back on the straight way, while nothing better is drawn.
    fn tails(&self, it: &LoopWorkings) -> Worked<Length> {
        if let Some(stated) = &self.given.tails {
            return Ok(Figure::new(stated.value, "as stated", "the design").with_given("tails", stated));
        }
        let manifold = it.manifold.and_then(|manifold| self.design.manifolds.at(manifold)).map(|(_, it)| &it.value);
        let room = it.rooms.first().map(|room| &self.workings.rooms[*room]);
        if let (Some(at), Some(Some(Ok(outline)))) = (manifold.and_then(|it| it.at), room.map(|room| &room.outline)) {
            let way = outline.straight_distance(crate::plan::point(at.value));
            let Some(rise) = self.rise(it) else { return Err(self.missing("tails")) };
            let assumed = "both tails take the straight way from the manifold to the room";
            if rise > Length::ZERO {
                let figure =
                    Figure::new((way + rise) * 2.0, "2 x (straight way in plan + way up or down)", "common practice");
                return Ok(figure
                    .with_at("straight way", way, Some(at.at))
                    .with("way up or down", rise)
                    .assuming(assumed));
            }
            let figure = Figure::new(way * 2.0, "2 x straight way from manifold to room", "common practice");
            return Ok(figure.with_at("straight way", way, Some(at.at)).assuming(assumed));
        }
        Err(self.missing("tails"))
    }

    /// From the storey of the manifold to that of its first room; nothing where they differ and a level is not given.
    fn rise(&self, it: &LoopWorkings) -> Option<Length> {
        let manifold = it.manifold.and_then(|manifold| self.design.manifolds.at(manifold)).map(|(_, it)| &it.value);
        let room = it.rooms.first().and_then(|room| self.design.rooms.at(*room)).map(|(_, it)| &it.value);
        let (Some(from), Some(to)) =
            (manifold.and_then(|it| it.storey.as_ref()), room.and_then(|it| it.storey.as_ref()))
        else {
            return Some(Length::ZERO);
        };
        if from.value.name == to.value.name {
            return Some(Length::ZERO);
        }
        let level = |name: &str| self.design.storeys.get(name)?.level.map(|level| level.value);
        Some((level(&to.value.name)? - level(&from.value.name)?).abs())
    }

    /// As stated, but no more than its pipe heats; or the free area of its rooms, less what other loops are stated to
    /// heat, shared with the rest.
    fn area_served(&self, it: &LoopWorkings, sharing: &[Sharing]) -> Worked<Area> {
        if let Some(stated) = &self.given.area {
            return Ok(match (reach(self.workings, self.given, self.at, &it.rooms), &self.given.spacing) {
                (Some(reach), Some(spacing)) if reach < stated.value => {
                    Figure::new(reach, "least of the stated area and drawn length x spacing", "plain geometry")
                        .with_given("area", stated)
                        .with("drawn length x spacing", reach)
                        .with_given("spacing", spacing)
                        .assuming("the pipe does not cover the stated area: it heats half a spacing on either side")
                }
                _ => Figure::new(stated.value, "as stated", "the design").with_given("area", stated),
            });
        }
        self.room(it)?;
        let mut served = Figure::new(
            Area::ZERO,
            "share of the rooms' free area that no other loop is stated to heat; of a drawn loop at most drawn length x spacing",
            "plain geometry",
        );
        for room in &it.rooms {
            let sharing = &sharing[*room];
            let free = sharing.free.clone()?;
            let own = drawn(self.workings, self.given, self.at, *room);
            let share = if sharing.undrawn == 0 && sharing.drawn > 0.0 {
                own / sharing.drawn
            } else {
                1.0 / sharing.loops.max(1) as f64
            };
            let mut area = sharing.rest * share;
            served = served.with("free-area", free).with_number("share", share);
            if let (true, Some(spacing)) = (own > 0.0, self.given.spacing) {
                // Pipe that is drawn heats half a spacing on either side, and no more.
                let reach = Area::square_metres(own);
                served = served.with("drawn length x spacing", reach).with_given("spacing", &spacing);
                area = area.min(reach);
            }
            served.value += area;
        }
        if served.value <= Area::ZERO && it.rooms.iter().all(|room| sharing[*room].is_full()) {
            return Err(Gap::NoMethod("nothing of the room's floor is free".into()));
        }
        Ok(served)
    }

    fn heat_and_flow(&self, it: &mut LoopWorkings, fluid: &Result<fluids::Fluid, Gap>, heated: &[Result<Area, Gap>]) {
        it.heat_needed = self.heat_needed(it, heated);
        it.flow_temperature = self.flow_temperature(it);
        let heat = self.heat(it);
        it.characteristic = heat.as_ref().map(|heat| heat.characteristic.clone()).map_err(Gap::clone);
        it.surface = heat.as_ref().ok().and_then(|heat| heat.surface);
        it.response = heat.map(|heat| heat.response);
        let fluid = match fluid {
            Ok(fluid) => *fluid,
            Err(gap) => return it.all_missing(gap),
        };
        let way = self.way(it);
        it.flow_needed = self.flow_needed(it, &way, fluid);
        it.flow_temperature_needed = self.flow_temperature_needed(it, &way);
        it.flow = match self.given.flow {
            Some(_) => self.flow(it, &way, fluid),
            None => it.flow_needed.clone(),
        };
        self.output(it, &way, fluid);
        it.flow_for_duty = self.flow_for_duty(it, &way, fluid);
        it.surface_ripple = self.surface_ripple(it);
        it.surface_temperature_highest = self.surface_temperature_highest(it);
        self.hydraulics(it, fluid);
    }

    /// Stated as a duty, or the loop's share of what its rooms need.
    fn heat_needed(&self, it: &LoopWorkings, heated: &[Result<Area, Gap>]) -> Worked<Power> {
        if let Some(duty) = &self.given.duty {
            return Ok(Figure::new(duty.value, "as stated", "the design").with_given("duty", duty));
        }
        self.room(it)?;
        let own = it.area_served.value()?;
        let mut needed =
            Figure::new(Power::ZERO, "heat-needed of its rooms x its share of their heated area", "EN 1264-3");
        for room in &it.rooms {
            let need = self.workings.rooms[*room].heat_needed.value()?;
            // How much of the room another loop heats is not known while that loop cannot be read.
            let others = &self.workings.rooms[*room].loops;
            if others.iter().any(|at| self.design.loops.at(*at).is_some_and(|(_, other)| unread_share(&other.value))) {
                return Err(Gap::Unreadable);
            }
            let all = heated[*room].clone()?;
            let share = if all > Area::ZERO { own * it.share_in(*room) / all } else { 1.0 };
            needed.value += need * share;
            needed = needed.with("heat-needed", need).with_number("share", share);
        }
        Ok(needed)
    }

    /// The manifold's own, or the source's.
    fn flow_temperature(&self, it: &LoopWorkings) -> Worked<Temperature> {
        let manifold = it.manifold.and_then(|manifold| self.design.manifolds.at(manifold)).map(|(_, it)| &it.value);
        let own = manifold.and_then(|manifold| manifold.flow_temperature.as_ref());
        let source = self.design.heat_source.flow_temperature.as_ref();
        if manifold.is_some_and(|it| it.has_unread("flow-temperature")) {
            return Err(Gap::Unreadable);
        }
        if let Some(stated) = own.or(source) {
            return Ok(Figure::new(stated.value, "as stated", "the design").with_given("flow-temperature", stated));
        }
        let broken = self.design.heat_source.broken;
        Err(if broken { Gap::Unreadable } else { Gap::missing(Subject::HeatSource, "flow-temperature") })
    }

    fn heat(&self, it: &LoopWorkings) -> Result<heat::Heat, Gap> {
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        heat::heat(&self.laid(it)?, pipe, self.spacing()?.value, self.solved)
    }

    /// What it is laid in.
    fn laid(&self, it: &LoopWorkings) -> Result<Laid<'_>, Gap> {
        self.laid_in(self.room(it)?)
    }

    /// What is laid in a room is laid in this.
    fn laid_in(&self, room: usize) -> Result<Laid<'_>, Gap> {
        let worked = &self.workings.rooms[room];
        let Some(floor) = worked.floor else {
            let stated = self.design.rooms.at(room).is_some_and(|(_, room)| room.value.floor.is_some());
            return Err(if stated { Gap::Unreadable } else { Gap::missing(Subject::Room(room), "floor") });
        };
        let (_, entry) = self.design.floors.at(floor).ok_or(Gap::Unreadable)?;
        let room_covering = self.design.rooms.at(room).map_or(&[][..], |(_, room)| &room.value.covering);
        Ok(Laid {
            floor: &entry.value,
            worked: &self.workings.floors[floor],
            subject: Subject::Floor(floor),
            room_covering: (room_covering, &worked.covering),
            covering: &worked.covering_resistance,
            above: &worked.resistance_above,
        })
    }

    /// The loop's floor as its water meets it.
    fn heated_floor(&self, it: &LoopWorkings, response: &Result<FloorResponse, Gap>) -> Result<HeatedFloor, Gap> {
        let room = self.room(it)?;
        let given = self.design.rooms.at(room).and_then(|(_, room)| room.value.temperature);
        Ok(HeatedFloor {
            area: it.area_served.value()?,
            response: response.clone()?,
            room: given.ok_or(Gap::missing(Subject::Room(room), "temperature"))?.value,
            below: self.workings.rooms[room].temperature_below.value()?,
        })
    }

    /// As stated, or what carries the heat needed, upward and downward, at the design drop.
    fn flow(&self, it: &LoopWorkings, way: &Result<Way, Gap>, fluid: fluids::Fluid) -> Worked<MassFlow> {
        let flow_temperature = it.flow_temperature.value();
        if let Some(stated) = &self.given.flow {
            // A flow gauge shows litres of the water as it is; near enough its flow temperature.
            let at = flow_temperature.unwrap_or(Temperature::celsius(35.0));
            let density = fluid.at(at)?.density;
            let figure = Figure::new(stated.value * density, "flow x density", "plain physics");
            return Ok(figure.with_given("flow", stated).with("density", density));
        }
        self.flow_needed(it, way, fluid)
    }

    /// What carries the heat needed, upward and downward, at the design drop.
    fn flow_needed(&self, it: &LoopWorkings, way: &Result<Way, Gap>, fluid: fluids::Fluid) -> Worked<MassFlow> {
        let flow_temperature = it.flow_temperature.value();
        let (drop, drop_at, assumed) = self.temperature_drop(it)?;
        let way = way.as_ref().map_err(Gap::clone)?;
        let needed = it.heat_needed.value()?;
        let flow_temperature = flow_temperature?;
        let specific_heat = fluid.at(flow_temperature - drop / 2.0)?.specific_heat;
        if way.floor.area <= Area::ZERO {
            return Err(Gap::NoMethod("the loop heats no area".into()));
        }
        let floor = &way.floor;
        // What no floor gives no flow brings; another emitter has to give it.
        let most = MOST_OF_A_FLOOR * floor.area;
        let beyond = needed > most && self.given.duty.is_none();
        let needed = if beyond { most } else { needed };
        let upward = needed / floor.area;
        // The water at which the floor gives just what is needed tells what goes down.
        let water = floor.room + (upward + floor.response.up_across * (floor.room - floor.below)) / floor.response.up;
        let downward = floor.response.downward(water, floor.room, floor.below).max(HeatFlux::ZERO) * floor.area;
        let by_tails = way.by_tails(flow_temperature, drop);
        let value = en1264::carrying(needed + downward + by_tails, drop, specific_heat)?;
        let formula = match by_tails > Power::ZERO {
            false => "(heat-needed + heat downward) / (specific heat x temperature-drop)",
            true => "(heat-needed + heat downward + heat of the tails) / (specific heat x temperature-drop)",
        };
        let mut figure = Figure::new(value, formula, "EN 1264-3")
            .with("heat-needed", needed)
            .with("heat downward", downward)
            .with("specific heat", specific_heat)
            .with_at("temperature-drop", drop, drop_at);
        if by_tails > Power::ZERO {
            figure = figure.with("heat of the tails", by_tails);
        }
        if beyond {
            figure = figure
                .assuming("no floor gives more than 100 W/m² (EN 1264-2 at 9 K over the room): the flow is for that");
        }
        Ok(if assumed {
            figure.assuming("the temperature drop is not given: 5 K, the design drop of EN 1264-3")
        } else {
            figure
        })
    }

    /// The water at which the floor gives just the heat needed.
    fn flow_temperature_needed(&self, it: &LoopWorkings, way: &Result<Way, Gap>) -> Worked<Temperature> {
        let (drop, drop_at, assumed) = self.temperature_drop(it)?;
        let way = way.as_ref().map_err(Gap::clone)?;
        let needed = it.heat_needed.value()?;
        let value = way.flow_temperature_for(needed, drop)?;
        let floor = &way.floor;
        let figure = Figure::new(
            value,
            "θ* + temperature-drop / (1 - exp(-temperature-drop / (mean water - θ*)))",
            "heat balance along the pipe; EN 1264-2 for the floor",
        );
        let figure = figure
            .with("heat-needed", needed)
            .with_at("temperature-drop", drop, drop_at)
            .with("area-served", floor.area)
            .with("characteristic", floor.response.up)
            .with("temperature", floor.room)
            .with("temperature-below", floor.below);
        let figure = match floor.at_rest() {
            Some(rest) => figure.with("θ*", rest),
            None => figure,
        };
        Ok(if assumed {
            figure.assuming("the temperature drop is not given: 5 K, the design drop of EN 1264-3")
        } else {
            figure
        })
    }

    /// The design drop of the water: of the loop, the manifold, the source; or 5 K.
    fn temperature_drop(&self, it: &LoopWorkings) -> Result<(TemperatureDifference, Option<design::Place>, bool), Gap> {
        let manifold = it.manifold.and_then(|manifold| self.design.manifolds.at(manifold)).map(|(_, it)| &it.value);
        let source = &self.design.heat_source;
        let key = "temperature-drop";
        if self.given.has_unread(key) || manifold.is_some_and(|it| it.has_unread(key)) || source.has_unread(key) {
            return Err(Gap::Unreadable);
        }
        let stated = self
            .given
            .temperature_drop
            .or_else(|| manifold.and_then(|it| it.temperature_drop))
            .or(source.temperature_drop);
        if let Some(stated) = stated {
            return Ok((stated.value, Some(stated.at), false));
        }
        let own_water = manifold.is_none_or(|it| it.flow_temperature.is_none());
        if let (Some(flow), Some(back), true) = (source.flow_temperature, source.return_temperature, own_water)
            && flow.value > back.value
        {
            return Ok((flow.value - back.value, Some(back.at), false));
        }
        Ok((TemperatureDifference::kelvin(5.0), None, true))
    }

    /// How much hotter the surface is above a pipe than on average.
    fn surface_ripple(&self, it: &LoopWorkings) -> Worked<TemperatureDifference> {
        let flux = it.heat_flux.value()?;
        if let Some([mean, highest]) = it.surface {
            let floor = self.heated_floor(it, &it.response)?;
            let water = floor.water_for(flux);
            let [mean, highest] = [mean, highest].map(|it| it.temperature(water, floor.room, floor.below));
            let figure = Figure::new(
                (highest - mean).max(TemperatureDifference::ZERO),
                "hottest point of the surface - its mean, from the temperatures in the section",
                "steady conduction in two dimensions, ISO 11855-2 general method",
            );
            return Ok(figure.with("mean water temperature", water).with("temperature", floor.room));
        }
        self.surface_ripple_at(it, self.spacing()?.value)
    }

    /// The same of pipe in a screed or slab, at a spacing.
    fn surface_ripple_at(&self, it: &LoopWorkings, spacing: Length) -> Worked<TemperatureDifference> {
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        let flux = it.heat_flux.value()? + it.heat_down.value()? / it.area_served.value()?;
        let ripple = heat::ripple(&self.laid(it)?, pipe, spacing)?;
        let figure = Figure::new(
            flux * ripple,
            "(heat-flux + heat-down / area-served) x ripple of a row of pipes",
            "ISO 11855-2, resistance method; Fourier series of a row of line sources, layer by layer",
        );
        Ok(figure
            .with("heat flux up and down", flux)
            .with_at("spacing", spacing, self.given.spacing.map(|it| it.at))
            .with("ripple", ripple))
    }

    fn surface_temperature_highest(&self, it: &LoopWorkings) -> Worked<Temperature> {
        let (mean, ripple) = (it.surface_temperature_mean.value()?, it.surface_ripple.value()?);
        let figure = Figure::new(
            mean + ripple,
            "surface-temperature-mean + surface-ripple",
            "EN 1264-2, basic characteristic, and the section through the floor",
        );
        Ok(figure.with("surface-temperature-mean", mean).with("surface-ripple", ripple))
    }

    fn hydraulics(&self, it: &mut LoopWorkings, fluid: fluids::Fluid) {
        let mean = match (&it.flow_temperature, &it.return_temperature) {
            (Ok(flow), Ok(back)) => Temperature::celsius((flow.value.in_celsius() + back.value.in_celsius()) / 2.0),
            (Ok(flow), Err(_)) => flow.value,
            (Err(_), _) => Temperature::celsius(35.0),
        };
        let properties = match fluid.at(mean) {
            Ok(properties) => properties,
            Err(refusal) => return it.no_hydraulics(&refusal.into()),
        };
        // As a flow gauge shows it, which a flow that is stated was read from.
        let entering = it.flow_temperature.as_ref().map_or(mean, |warm| warm.value);
        let density = fluid.at(entering).map(|it| it.density);
        it.volume_flow = it.flow.as_ref().map_err(Gap::clone).and_then(|flow| {
            let density = density?;
            let figure = Figure::new(flow.value / density, "flow / density at the flow temperature", "plain physics");
            Ok(figure.with("flow", flow.value).with("density", density))
        });
        let line = self.line(it, &properties);
        let drop = || -> Result<(PressureDrop, MassFlow), Gap> {
            let line = line.as_ref().map_err(Gap::clone)?;
            let flow = it.flow.value()?;
            let open = self.open_valve(it);
            let line = open.map_or(Ok(*line), |open| line.with_valve(open.value))?;
            Ok((line.pressure_drop(flow)?, flow))
        };
        let (drop, flow) = match drop() {
            Ok(drop) => drop,
            Err(gap) => {
                it.no_hydraulics(&gap);
                it.line = line;
                return;
            }
        };
        let Ok(pipe) = it.pipe.as_ref() else { return };
        let (bore, roughness) = (pipe.bore, pipe.roughness);
        it.velocity = Ok(Figure::new(drop.velocity, "4 x flow / (π x density x bore²)", "plain physics")
            .with("flow", flow)
            .with("density", properties.density)
            .with("bore", bore));
        it.reynolds = Ok(Figure::new(Number::new(drop.reynolds), "4 x flow / (π x bore x viscosity)", "plain physics")
            .with("flow", flow)
            .with("bore", bore)
            .with("viscosity", properties.viscosity));
        let length = it.length.value().unwrap_or_default();
        let open_valve = self.open_valve(it);
        let actuator = self.actuator_valve(it);
        let figure = |value, formula, friction: Pressure| {
            // Only the friction tells the ends of what it may be from what is taken.
            let factor = if drop.friction > Pressure::ZERO { friction / drop.friction } else { 1.0 };
            let mut figure = Figure::new(value, formula, "Darcy-Weisbach; Colebrook-White, 64/Re when laminar")
                .with("length", length)
                .with("bore", bore)
                .with("roughness", roughness)
                .with("flow", flow)
                .with("density", properties.density)
                .with("velocity", drop.velocity)
                .with_number("friction factor", drop.friction_factor * factor)
                .with("friction", friction)
                .with_number("loss coefficients of its bends", drop.loss_coefficients)
                .with("bends", drop.bends);
            for (name, kv) in [("kv-open", &open_valve), ("kv-actuator", &actuator)] {
                if let Some(kv) = kv {
                    figure = figure.with_given(name, kv);
                }
            }
            figure = figure.with("valves", drop.valves);
            if open_valve.is_none() {
                figure = figure.assuming("no balancing valve is counted: the manifold does not give its valves");
            }
            figure
        };
        let formula = "friction factor x length / bore x ρv²/2 + bends + open valves";
        let taken = figure(drop.total(), formula, drop.friction);
        it.pressure_drop = Ok(match drop.band {
            Some((least, greatest)) => taken
                .with("least, if laminar", least)
                .with("greatest, if turbulent", greatest)
                .assuming("the flow is neither laminar nor turbulent: a curve that joins both laws is taken"),
            None => taken,
        });
        it.pressure_drop_greatest = Ok(figure(
            drop.greatest(),
            "the same, the friction factor at the upper end of what it may be between laminar and turbulent flow",
            drop.friction + drop.greatest() - drop.total(),
        ));
        it.line = line;
    }

    fn open_valve(&self, it: &LoopWorkings) -> Option<Placed<FlowCoefficient>> {
        let valves = it.manifold.and_then(|at| self.design.manifolds.at(at)?.1.value.valves.as_ref());
        crate::manifolds::open_valve(valves)
    }

    fn actuator_valve(&self, it: &LoopWorkings) -> Option<Placed<FlowCoefficient>> {
        self.design.manifolds.at(it.manifold?)?.1.value.valves.as_ref()?.kv_actuator
    }

    /// Pipe and bends, and the actuator's valve where the manifold states it.
    fn line(&self, it: &LoopWorkings, properties: &Properties) -> Result<Line, Gap> {
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        let length = it.length.value()?;
        let mut run = Run::straight(length, pipe.bore, pipe.roughness);
        match &it.route {
            Some(Ok(route)) => {
                // Two right angles one way within 0.4 m are one turn back.
                let mut last: Option<(f64, Length)> = None;
                for corner in bends(route) {
                    let near = last.is_some_and(|(_, along)| corner.along - along < Length::metres(0.4));
                    if corner.turn_degrees > 135.0 {
                        run.half_turns += 1;
                        last = None;
                    } else if near {
                        run.quarter_turns -= 1;
                        run.half_turns += 1;
                        last = None;
                    } else {
                        run.quarter_turns += 1;
                        last = Some((corner.turn_degrees, corner.along));
                    }
                }
            }
            _ => {
                // Not drawn: one turn back for each run across a square of the same area.
                if let (Ok(area), Ok(spacing)) = (&it.area_served, self.spacing()) {
                    let runs = area.value.in_square_metres().max(0.0).sqrt() / spacing.value.in_metres();
                    run.half_turns = runs.min(10_000.0) as u32;
                }
            }
        }
        let line = Line::new(&run, properties)?;
        Ok(match self.actuator_valve(it) {
            Some(kv) => line.with_valve(kv.value)?,
            None => line,
        })
    }
}

/// A bend of a route: how far it turns, and where it begins.
struct Bend {
    turn_degrees: f64,
    along: Length,
}

/// The bends of a route that turn by more than 45°; the small corners of an arc that follow each other are one bend.
fn bends(route: &plan::Route) -> impl Iterator<Item = Bend> {
    const OF_AN_ARC: Length = Length::millimetres(150.0);
    let mut bends: Vec<Bend> = Vec::new();
    let mut last: Option<(Length, bool)> = None;
    for corner in route.corners() {
        let small = corner.turn_degrees <= 45.0;
        match (bends.last_mut(), last) {
            (Some(bend), Some((along, true))) if small && corner.along - along <= OF_AN_ARC => {
                bend.turn_degrees += corner.turn_degrees;
            }
            _ => bends.push(Bend { turn_degrees: corner.turn_degrees, along: corner.along }),
        }
        last = Some((corner.along, small));
    }
    bends.into_iter().filter(|bend| bend.turn_degrees > 45.0)
}

/// What may be otherwise about a loop, to see what it would give then.
#[derive(Debug, Clone, Copy, Default)]
pub struct Otherwise {
    /// Laid at another spacing, where it lies in screed.
    pub spacing: Option<Length>,
    /// Fed with other water.
    pub flow_temperature: Option<Temperature>,
    /// Set to the flow that carries the heat needed, whatever flow is stated.
    pub flow_needed: bool,
    /// Given this flow.
    pub flow: Option<MassFlow>,
}

/// What a loop would give its rooms if something about it were otherwise: its heat, its flow and its surface
/// temperature are worked out anew, nothing else.
pub fn loop_if(design: &Design, workings: &Workings, at: usize, otherwise: Otherwise) -> Result<LoopWorkings, Gap> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let before = workings.loops.get(at).ok_or(Gap::Unreadable)?;
    let fluid = fluid(design)?;
    let mut it = LoopWorkings {
        manifold: before.manifold,
        rooms: before.rooms.clone(),
        length_in_rooms: before.length_in_rooms.clone(),
        pipe: before.pipe.clone(),
        area_served: before.area_served.clone(),
        heat_needed: before.heat_needed.clone(),
        flow_temperature: before.flow_temperature.clone(),
        response: before.response.clone(),
        surface: before.surface,
        ..LoopWorkings::unknown()
    };
    if let Some(spacing) = otherwise.spacing {
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        it.response = heat::in_screed_at(&one.laid(&it)?, pipe, spacing);
        it.surface = None;
    }
    if let (Some(warmer), Ok(figure)) = (otherwise.flow_temperature, &mut it.flow_temperature) {
        figure.value = warmer;
    }
    let way = one.way(&it);
    it.flow = match otherwise.flow {
        Some(flow) => Ok(Figure::new(flow, "as it would be", "plain physics")),
        None if otherwise.flow_needed => one.flow_needed(&it, &way, fluid),
        None => one.flow(&it, &way, fluid),
    };
    one.output(&mut it, &way, fluid);
    it.flow_temperature_needed = one.flow_temperature_needed(&it, &way);
    it.surface_ripple = match otherwise.spacing {
        Some(spacing) => one.surface_ripple_at(&it, spacing),
        None => one.surface_ripple(&it),
    };
    it.surface_temperature_highest = one.surface_temperature_highest(&it);
    it.volume_flow = it.flow.as_ref().map_err(Gap::clone).and_then(|flow| {
        let density = fluid.at(it.flow_temperature.value()?)?.density;
        Ok(Figure::new(flow.value / density, "flow / density", "plain physics"))
    });
    Ok(it)
}

/// What a loop gives its rooms at the flow that it gets with the valves as they are set.
pub fn loop_as_set(design: &Design, workings: &Workings, at: usize) -> Result<LoopWorkings, Gap> {
    let before = workings.loops.get(at).ok_or(Gap::Unreadable)?;
    let flow = before.flow_as_set.value()?;
    loop_if(design, workings, at, Otherwise { flow: Some(flow), ..Otherwise::default() })
}

/// Heat into a room from a strip of a loop at another spacing, as warm inside as the loop is on average.
pub(crate) fn flux_at(
    design: &Design,
    workings: &Workings,
    at: usize,
    room: usize,
    spacing: Placed<Length>,
) -> Worked<HeatFlux> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let it = &workings.loops[at];
    let floor = one.heated_floor(it, &it.response)?;
    let water = floor.water_for(it.heat_flux.value()?);
    let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
    let strip = heat::at_pitch(&one.laid(it)?, pipe, spacing.value)?;
    let temperature = design.rooms.at(room).and_then(|(_, room)| room.value.temperature);
    let temperature = temperature.ok_or(Gap::missing(Subject::Room(room), "temperature"))?;
    let value = strip.upward(water, temperature.value, floor.below);
    let figure =
        Figure::new(value, "characteristic at the spacing of the edge zone x (mean water - temperature)", "EN 1264-2");
    Ok(figure
        .with_given("spacing", &spacing)
        .with("characteristic", strip.up)
        .with("mean water temperature", water)
        .with_given("temperature", &temperature)
        .assuming("the water under the edge zone is as warm as in its loop on average"))
}

/// What a floor gives under one of its coverings for each kelvin by the tables of the standard and by conduction.
pub fn both_methods(design: &Design, workings: &Workings, floor: usize, variant: usize) -> BothMethods {
    let found = of_variant(design, workings, floor, variant, |laid, pipe, pitch| Ok(heat::both(laid, pipe, pitch)));
    found.unwrap_or_else(|gap| BothMethods {
        standard: Err(gap.clone()),
        conduction: Err(gap.clone()),
        difference: Err(gap),
    })
}

/// How fast a floor under one of its coverings follows the water.
pub fn pace<'w>(design: &Design, workings: &'w Workings, floor: usize, variant: usize) -> Result<&'w FloorPace, Gap> {
    let worked = workings.floors.get(floor).and_then(|floor| floor.variants.get(variant)).ok_or(Gap::Unreadable)?;
    let work = || {
        let (pace, assumed) = of_variant(design, workings, floor, variant, heat::pace)?;
        let source = "conduction in two dimensions and in time";
        let figure = |value, formula| Figure::new(value, formula, source).assuming_all(&assumed);
        Ok(FloorPace {
            response: figure(pace.response, "from warm water on until the floor gives 63 % of its lasting heat"),
            warm_up: figure(pace.warm_up, "from warm water on until the floor gives 90 % of its lasting heat"),
            cool_down: figure(pace.cool_down, "from the water's standing still until the floor gives 37 % of its heat"),
        })
    };
    worked.pace.get_or_init(work).as_ref().map_err(Gap::clone)
}

/// What the hottest point of a floor allows.
#[derive(Debug, Clone)]
pub struct Limits {
    pub heat_flux: Figure<HeatFlux>,
    /// At which the loop gives that, its water cooling by the design drop.
    pub flow_temperature: Figure<Temperature>,
}

/// The most heat that a loop's floor gives without a point of it being so much over its room, by EN 1264-2 and -3; at the
/// spacing of the loop or at another.
pub fn limits(
    design: &Design,
    workings: &Workings,
    at: usize,
    spacing: Option<Length>,
    over: TemperatureDifference,
) -> Result<Limits, Gap> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let it = &workings.loops[at];
    let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
    let laid = one.laid(it)?;
    let (floor, surface, pitch) = match spacing {
        None => (one.heated_floor(it, &it.response)?, it.surface, one.spacing()?.value),
        Some(pitch) => {
            let heat = heat::heat(&laid, pipe, pitch, one.solved)?;
            (one.heated_floor(it, &Ok(heat.response))?, heat.surface, pitch)
        }
    };
    let most = heat::most(&laid, pipe, pitch, over, surface, &floor)?;
    let heat_flux = most.heat_flux.with_at("spacing", pitch, entry.value.spacing.map(|it| it.at));
    let (drop, drop_at, _) = one.temperature_drop(it)?;
    let flow_temperature =
        Figure::new(most.water + drop / 2.0, "mean water at the heat-flux-limit + temperature-drop / 2", "EN 1264-3")
            .with("mean water", most.water)
            .with_at("temperature-drop", drop, drop_at);
    Ok(Limits { heat_flux, flow_temperature })
}

/// What a loop's floor gives upward and downward, its water as warm as on average now, if so much more resistance lay under it.
pub fn fluxes_if(
    design: &Design,
    workings: &Workings,
    at: usize,
    more: ThermalResistance,
) -> Result<(HeatFlux, HeatFlux), Gap> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let it = &workings.loops[at];
    let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
    let laid = one.laid(it)?;
    let worked = laid.worked.with_more_below(more);
    let heat = heat::heat(&Laid { worked: &worked, ..laid }, pipe, one.spacing()?.value, one.solved)?;
    let floor = one.heated_floor(it, &it.response)?;
    let water = floor.water_for(it.heat_flux.value()?);
    let response = heat.response;
    Ok((response.upward(water, floor.room, floor.below), response.downward(water, floor.room, floor.below)))
}

/// The temperature at the underside of a layer of a loop's floor, where it is hottest, at the loop's flow temperature.
pub fn under_layer(design: &Design, workings: &Workings, at: usize, layer: usize) -> Result<Temperature, Gap> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let it = &workings.loops[at];
    let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
    let influence = heat::under_layer(&one.laid(it)?, pipe, one.spacing()?.value, layer)?;
    let floor = one.heated_floor(it, &it.response)?;
    Ok(influence.temperature(it.flow_temperature.value()?, floor.room, floor.below))
}

/// Does something with a floor under one of its coverings.
fn of_variant<T>(
    design: &Design,
    workings: &Workings,
    floor: usize,
    variant: usize,
    work: impl FnOnce(&Laid, &PipeWorkings, Length) -> Result<T, Gap>,
) -> Result<T, Gap> {
    let worked = workings.floors.get(floor).and_then(|floor| floor.variants.get(variant)).ok_or(Gap::Unreadable)?;
    let (room, at) = worked.example.ok_or(Gap::NoMethod("no loop is laid in this floor".into()))?;
    in_room(design, workings, at, room, work)
}

/// Does something with the floor of a room as a loop meets it.
pub(crate) fn in_room<T>(
    design: &Design,
    workings: &Workings,
    at: usize,
    room: usize,
    work: impl FnOnce(&Laid, &PipeWorkings, Length) -> Result<T, Gap>,
) -> Result<T, Gap> {
    let (_, entry) = design.loops.at(at).ok_or(Gap::Unreadable)?;
    let one = One { design, workings, given: &entry.value, at, solved: &workings.solved };
    let pipe = workings.loops[at].pipe.as_ref().map_err(Gap::clone)?;
    work(&one.laid_in(room)?, pipe, one.spacing()?.value)
}

impl LoopWorkings {
    /// The flow coefficient of a balancing valve that loses what is left of a pressure across the manifold when the loop
    /// has a flow.
    pub fn valve_for(&self, flow: MassFlow, across: Pressure) -> Result<FlowCoefficient, Gap> {
        Ok(self.line.as_ref().map_err(Gap::clone)?.valve_for(flow, across)?)
    }

    /// The same for a part of its pipe as a loop of its own.
    pub fn valve_for_part(&self, part: Share, flow: MassFlow, across: Pressure) -> Result<FlowCoefficient, Gap> {
        Ok(self.line.as_ref().map_err(Gap::clone)?.part(part).valve_for(flow, across)?)
    }

    /// The setting of a table at which the flow comes nearest to its own, for the flow coefficient that would give it
    /// just so; and the flow then, as a share of its own.
    pub fn nearest_setting(
        &self,
        table: &PresettingTable,
        exact: FlowCoefficient,
        across: Pressure,
    ) -> Result<(f64, Share), Gap> {
        let line = self.line.clone()?;
        let duty = Duty { line, mass_flow: self.flow.value()?, balancing_valve: exact };
        let (setting, kv) = duty.nearest_setting(table, exact, across)?;
        Ok((setting, Share::fraction(line.with_valve(kv)?.mass_flow(across)? / duty.mass_flow)))
    }

    /// What its balancing valve has to lose at a flow of a pressure across the manifold: all that pipe, bends and actuator
    /// leave.
    pub fn left_for_valve(&self, flow: MassFlow, across: Pressure) -> Result<Pressure, Gap> {
        let line = self.line.as_ref().map_err(Gap::clone)?;
        Ok(across - line.pressure_drop(flow)?.total())
    }

    fn all_missing(&mut self, gap: &Gap) {
        self.flow = Err(gap.clone());
        self.flow_needed = Err(gap.clone());
        self.flow_temperature_needed = Err(gap.clone());
        self.no_output(gap);
        self.no_hydraulics(gap);
    }

    fn no_output(&mut self, gap: &Gap) {
        self.return_temperature = Err(gap.clone());
        self.heat_up = Err(gap.clone());
        self.heat_down = Err(gap.clone());
        self.flow_for_duty = Err(gap.clone());
        self.heat_flux = Err(gap.clone());
        self.surface_temperature_mean = Err(gap.clone());
        self.surface_temperature_highest = Err(gap.clone());
        self.surface_ripple = Err(gap.clone());
    }

    fn no_hydraulics(&mut self, gap: &Gap) {
        if self.volume_flow.is_err() {
            self.volume_flow = Err(gap.clone());
        }
        self.velocity = Err(gap.clone());
        self.reynolds = Err(gap.clone());
        self.pressure_drop = Err(gap.clone());
        self.pressure_drop_greatest = Err(gap.clone());
    }
}
