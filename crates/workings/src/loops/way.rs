//! A loop's way through the rooms, piece by piece, and what it gives each of them.
//!
//! A drawn loop heats its rooms in the order in which its route enters them, and its tails warm the rooms that they
//! pass. The edge zone of a room comes first, and then the rest.

use super::{LoopWorkings, One};
use crate::heat;
use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{Design, Placed};
use engineering::OutOfRange;
use engineering::heat::loop_balance::{self, HeatedFloor, Output};
use engineering::water::fluids;
use quantity::*;

/// What a loop meets on its way.
pub(super) struct Way {
    /// In the order in which the water meets them.
    pieces: Vec<Piece>,
    /// All the floor that it heats, as one.
    pub floor: HeatedFloor,
}

#[derive(Clone, Copy)]
struct Piece {
    room: usize,
    kind: Kind,
    floor: HeatedFloor,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Occupied,
    Edge,
    /// In a room that the loop only passes.
    Tail,
}

/// A tail warms no more than this on either side together.
const REACH: Length = Length::millimetres(300.0);
/// Tails side by side.
const CLOSEST: Length = Length::millimetres(50.0);

/// Tells each room how far apart the tails lie that pass it: over what its own loops leave of it.
pub(super) fn space_tails(design: &Design, workings: &mut Workings) {
    let mut lengths = vec![Length::ZERO; workings.rooms.len()];
    for (at, given) in design.loops.values().enumerate() {
        let own = &workings.loops[at].rooms;
        let mut insulated = given.insulated_tails.map_or(Length::ZERO, |it| it.value);
        for stretch in &workings.plan.stretches[at] {
            if let Some(room) = stretch.room.filter(|room| !own.contains(room)) {
                lengths[room] += bare(stretch.length, &mut insulated);
            }
        }
    }
    for (at, length) in lengths.into_iter().enumerate().filter(|(_, length)| *length > Length::ZERO) {
        let room = &workings.rooms[at];
        let Ok(free) = room.free_area.value() else { continue };
        let heated = |it: &usize| {
            let it = &workings.loops[*it];
            it.area_served.value().unwrap_or_default() * it.share_in(at)
        };
        let left = (free - room.loops.iter().map(heated).sum()).max(Area::ZERO);
        workings.rooms[at].tails_apart = Some((left / length).max(CLOSEST).min(REACH));
    }
}

/// What of a stretch is bare, the insulation being used up from the manifold on.
fn bare(length: Length, insulated: &mut Length) -> Length {
    let bare = (length - *insulated).max(Length::ZERO);
    *insulated = (*insulated - length).max(Length::ZERO);
    bare
}

impl Way {
    fn floors(&self) -> Vec<HeatedFloor> {
        self.pieces.iter().map(|piece| piece.floor).collect()
    }

    /// Where the tails end that the water takes first, and where those begin that it takes last.
    fn tails(&self) -> (usize, usize) {
        let heats = |piece: &Piece| piece.kind != Kind::Tail;
        let first = self.pieces.iter().position(heats).unwrap_or(self.pieces.len());
        (first, self.pieces.iter().rposition(heats).map_or(self.pieces.len(), |last| last + 1))
    }

    /// What the tails give, up and down, of water that leaves them so much cooler.
    pub fn by_tails(&self, flow_temperature: Temperature, drop: TemperatureDifference) -> Power {
        let (before, after) = self.by_tails_apart(flow_temperature, drop);
        before + after
    }

    fn by_tails_apart(&self, flow_temperature: Temperature, drop: TemperatureDifference) -> (Power, Power) {
        let (first, last) = self.tails();
        let give = |pieces: &[Piece], water: Temperature| -> Power {
            let tails = pieces.iter().filter(|piece| piece.kind == Kind::Tail).map(|piece| &piece.floor);
            let heat = |floor: &HeatedFloor| {
                let up = floor.response.upward(water, floor.room, floor.below);
                ((up + floor.response.downward(water, floor.room, floor.below)) * floor.area).max(Power::ZERO)
            };
            tails.map(heat).sum()
        };
        (give(&self.pieces[..first], flow_temperature), give(&self.pieces[first.min(last)..], flow_temperature - drop))
    }

    /// Flow temperature at which the floor gives a heat flow while the water cools by a drop, tails included.
    pub fn flow_temperature_for(&self, needed: Power, drop: TemperatureDifference) -> Result<Temperature, OutOfRange> {
        let alone = self.floor.flow_temperature_for(needed, drop)?;
        let (before, after) = self.by_tails_apart(alone, drop);
        if before + after <= Power::ZERO {
            return Ok(alone);
        }
        let water = self.floor.water_for(needed / self.floor.area);
        let down = self.floor.response.downward(water, self.floor.room, self.floor.below).max(HeatFlux::ZERO);
        let room = needed + down * self.floor.area;
        let all = room + before + after;
        if all <= Power::ZERO {
            return Ok(alone);
        }
        Ok(self.floor.flow_temperature_for(needed, drop * (room / all))? + drop * (before / all))
    }
}

impl One<'_> {
    /// The pieces of floor that a loop meets on its way.
    pub(super) fn way(&self, it: &LoopWorkings) -> Result<Way, Gap> {
        let first = self.heated_floor(it, &it.response)?;
        let mut pieces = self.drawn_way(it, &first)?;
        if !pieces.iter().any(|piece| piece.kind != Kind::Tail) {
            pieces = self.plain_way(it, &first)?;
        }
        self.split_edge(it, &mut pieces)?;
        let heated: Vec<HeatedFloor> =
            pieces.iter().filter(|piece| piece.kind != Kind::Tail).map(|piece| piece.floor).collect();
        let floor = HeatedFloor::together(&heated).ok_or(Gap::Unreadable)?;
        Ok(Way { pieces, floor })
    }

    /// Stretch by stretch, where the route is known; nothing where it is not.
    fn drawn_way(&self, it: &LoopWorkings, first: &HeatedFloor) -> Result<Vec<Piece>, Gap> {
        let stretches = &self.workings.plan.stretches[self.at];
        let mut of_room: Vec<(usize, HeatedFloor, Length)> = Vec::new();
        for room in &it.rooms {
            let length = crate::plan::length_in(stretches, Some(*room));
            if length > Length::ZERO {
                let floor = self.floor_in(it, *room, first)?;
                of_room.push((*room, HeatedFloor { area: floor.area * it.share_in(*room), ..floor }, length));
            }
        }
        if of_room.is_empty() {
            return Ok(Vec::new());
        }
        let mut insulated = self.given.insulated_tails.map_or(Length::ZERO, |it| it.value);
        let mut tails: Vec<(usize, Option<HeatedFloor>)> = Vec::new();
        let mut pieces: Vec<Piece> = Vec::with_capacity(stretches.len());
        for stretch in stretches {
            let Some(room) = stretch.room else { continue };
            let length = stretch.length;
            let (kind, floor, length) = match of_room.iter().find(|(at, ..)| *at == room) {
                Some((_, floor, all)) => {
                    (Kind::Occupied, HeatedFloor { area: floor.area * (length / *all), ..*floor }, length)
                }
                None if it.rooms.contains(&room) => continue,
                None => {
                    let known = tails.iter().find(|(at, _)| *at == room).map(|(_, floor)| *floor);
                    let of_metre = known.unwrap_or_else(|| {
                        let fresh = self.tail_in(it, room, first).ok();
                        tails.push((room, fresh));
                        fresh
                    });
                    let Some(of_metre) = of_metre else { continue };
                    let bare = bare(length, &mut insulated);
                    (Kind::Tail, HeatedFloor { area: of_metre.area * bare.in_metres(), ..of_metre }, bare)
                }
            };
            // So short a piece gives nothing that counts.
            if length < Length::millimetres(1.0) || floor.area < Area::square_metres(0.002) {
                continue;
            }
            match pieces.last_mut() {
                Some(last) if last.room == room && last.kind == kind => last.floor.area += floor.area,
                _ => pieces.push(Piece { room, kind, floor }),
            }
        }
        Ok(pieces)
    }

    /// Room by room with its share.
    fn plain_way(&self, it: &LoopWorkings, first: &HeatedFloor) -> Result<Vec<Piece>, Gap> {
        let mut pieces = Vec::with_capacity(it.rooms.len() + 1);
        for room in &it.rooms {
            let floor = self.floor_in(it, *room, first)?;
            let floor = HeatedFloor { area: floor.area * it.share_in(*room), ..floor };
            pieces.push(Piece { room: *room, kind: Kind::Occupied, floor });
        }
        Ok(pieces)
    }

    /// Puts the edge zone of its room before the rest: the water comes there first.
    fn split_edge(&self, it: &LoopWorkings, pieces: &mut Vec<Piece>) -> Result<(), Gap> {
        let zone = self.spacing().ok().and_then(|spacing| self.edge_zone(it, &spacing));
        let Some((edge, spacing)) = zone else { return Ok(()) };
        let Some(first) = pieces.iter().position(|piece| piece.kind == Kind::Occupied) else { return Ok(()) };
        let heated = || pieces.iter().filter(|piece| piece.kind == Kind::Occupied);
        let all: Area = heated().map(|piece| piece.floor.area).sum();
        if edge <= Area::ZERO || edge >= all {
            return Ok(());
        }
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        let Ok(closer) = heat::heat(&self.laid_in(pieces[first].room)?, pipe, spacing.value, self.solved) else {
            return Ok(());
        };
        let left = 1.0 - edge / all;
        for piece in pieces.iter_mut().filter(|piece| piece.kind == Kind::Occupied) {
            piece.floor.area = piece.floor.area * left;
        }
        let Piece { room, floor, .. } = pieces[first];
        let floor = HeatedFloor { area: edge, response: closer.response, ..floor };
        pieces.insert(first, Piece { room, kind: Kind::Edge, floor });
        Ok(())
    }

    /// The floor of one of its rooms, with all the area that the loop serves.
    fn floor_in(&self, it: &LoopWorkings, room: usize, first: &HeatedFloor) -> Result<HeatedFloor, Gap> {
        if it.rooms.first() == Some(&room) {
            return Ok(*first);
        }
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        let response = heat::heat(&self.laid_in(room)?, pipe, self.spacing()?.value, self.solved)?.response;
        self.around(room, HeatedFloor { response, ..*first })
    }

    /// A floor among the temperatures of a room.
    fn around(&self, room: usize, floor: HeatedFloor) -> Result<HeatedFloor, Gap> {
        let temperature = self.design.rooms.at(room).and_then(|(_, room)| room.value.temperature);
        let temperature = temperature.ok_or(Gap::missing(Subject::Room(room), "temperature"))?;
        let below = self.workings.rooms[room].temperature_below.value().unwrap_or(floor.below);
        Ok(HeatedFloor { room: temperature.value, below, ..floor })
    }

    /// A metre of tail in a room that the loop passes; as in the loop's own floor where the room has none.
    fn tail_in(&self, it: &LoopWorkings, room: usize, first: &HeatedFloor) -> Result<HeatedFloor, Gap> {
        let apart = self.workings.rooms[room].tails_apart.ok_or(Gap::Unreadable)?;
        let pipe = it.pipe.as_ref().map_err(Gap::clone)?;
        let laid = self.laid_in(room).or_else(|_| self.laid(it))?;
        // To whole steps, so that a few constructions stand for all.
        let pitch = Length::millimetres((apart.in_millimetres() / 25.0).round() * 25.0);
        let response = heat::heat(&laid, pipe, pitch, self.solved)?.response;
        let floor = HeatedFloor { response, area: Area::square_metres(apart.in_metres()), ..*first };
        self.around(room, floor)
    }

    /// The area of its room's edge zone that a loop heats, and the spacing there.
    pub(super) fn edge_zone(&self, it: &LoopWorkings, spacing: &Placed<Length>) -> Option<(Area, Placed<Length>)> {
        let [room] = it.rooms[..] else { return None };
        let (_, entry) = self.design.rooms.at(room)?;
        let zone = entry.value.edge_zone.as_ref()?;
        let (width, closer) = (zone.width?, zone.spacing?);
        if width.value <= Length::ZERO || closer.value < Length::millimetres(10.0) || closer.value >= spacing.value {
            return None;
        }
        let worked = &self.workings.rooms[room];
        let (area, served) = (worked.area.value().ok()?, it.area_served.value().ok()?);
        let along = self.along_outside(room).unwrap_or(Length::metres(area.in_square_metres().max(0.0).sqrt()));
        // What stands on the floor may stand in the zone or not.
        let whole = (width.value * along).min(area);
        let share = (served / area).clamp(0.0, 1.0);
        Some((whole * share, closer))
    }

    /// Length of the outside walls named in a room.
    fn along_outside(&self, room: usize) -> Option<Length> {
        let walls = &self.design.rooms.at(room)?.1.value.outside_walls;
        let length = |line: &design::Line| {
            let (x, y) = (line.to.x - line.from.x, line.to.y - line.from.y);
            Length::metres(x.hypot(y))
        };
        (!walls.is_empty()).then(|| walls.iter().map(|line| length(&line.value)).sum())
    }

    pub(super) fn edge_assumption(&self, it: &LoopWorkings) -> &'static [&'static str] {
        match it.rooms.first().and_then(|room| self.along_outside(*room)) {
            Some(_) => &[],
            None => &["the edge zone lies along one side of a square room: no outside walls are named in it"],
        }
    }

    /// What the floor really gives at that flow, along the pipe.
    pub(super) fn output(&self, it: &mut LoopWorkings, way: &Result<Way, Gap>, fluid: fluids::Fluid) {
        let solved = || {
            let way = way.as_ref().map_err(Gap::clone)?;
            let flow_temperature = it.flow_temperature.value()?;
            let flow = it.flow.value()?;
            let specific_heat = fluid.at(flow_temperature)?.specific_heat;
            let outputs = loop_balance::along(&way.floors(), flow_temperature, flow, specific_heat)?;
            Ok((way, outputs, flow, specific_heat, flow_temperature))
        };
        let (way, outputs, flow, specific_heat, flow_temperature) = match solved() {
            Ok(solved) => solved,
            Err(gap) => return it.no_output(&gap),
        };
        let given: Vec<(&Piece, &Output)> = way.pieces.iter().zip(&outputs).collect();
        let up = |wanted: &dyn Fn(&Piece) -> bool| -> Power {
            given.iter().filter(|(piece, _)| wanted(piece)).map(|(_, output)| output.upward).sum()
        };
        let heats = |piece: &Piece| piece.kind != Kind::Tail;
        let source = "heat balance along the pipe; EN 1264-2 for the floor";
        let floor = &way.floor;
        let back = outputs.last().map_or(flow_temperature, |output| output.return_temperature);
        let heated_area: Area = given.iter().filter(|(piece, _)| heats(piece)).map(|(piece, _)| piece.floor.area).sum();
        let mean_water = {
            let sum: f64 = given
                .iter()
                .filter(|(piece, _)| heats(piece))
                .map(|(piece, output)| output.mean_water.in_celsius() * (piece.floor.area / heated_area))
                .sum();
            Temperature::celsius(sum)
        };
        let in_pieces = way.pieces.len() > 1;
        let formula = match in_pieces {
            false => "θ* + (flow-temperature - θ*) x exp(-(U_up + U_down) x area / (flow x specific heat))",
            true => {
                "the same along each piece of its way: θ* + (θ - θ*) x exp(-(U_up + U_down) x area / (flow x specific heat))"
            }
        };
        let mut figure = Figure::new(back, formula, source);
        if let Some(rest) = floor.at_rest() {
            figure = figure.with("θ*", rest);
        }
        it.return_temperature = Ok(figure
            .with("U_up", floor.response.up)
            .with("U_down", floor.response.down)
            .with("flow-temperature", flow_temperature)
            .with("flow", flow)
            .with("specific heat", specific_heat)
            .with("area-served", floor.area)
            .with("temperature", floor.room)
            .with("temperature-below", floor.below)
            .with("characteristic", floor.response.up));
        let power = |value, formula| {
            Figure::new(value, formula, source)
                .with("flow-temperature", flow_temperature)
                .with("return-temperature", back)
                .with("mean water temperature", mean_water)
                .with("area-served", floor.area)
        };
        let upward = up(&heats);
        it.heat_up = Ok(power(
            upward,
            match in_pieces {
                false => "characteristic x area-served x (mean water - temperature)",
                true => "sum over the pieces of its way of characteristic x area x (mean water - temperature)",
            },
        )
        .with("characteristic", floor.response.up)
        .with("temperature", floor.room));
        it.heat_down = Ok(power(
            given.iter().filter(|(piece, _)| heats(piece)).map(|(_, output)| output.downward).sum(),
            "(U_down x (mean water - temperature-below) + U_across x (temperature - temperature-below)) x area-served",
        )
        .with("U_down", floor.response.down)
        .with("U_across", floor.response.down_across)
        .with("temperature", floor.room)
        .with("temperature-below", floor.below));
        it.heat_of_tails = way.pieces.iter().any(|piece| piece.kind == Kind::Tail).then(|| {
            let tails = given.iter().filter(|(piece, _)| !heats(piece));
            power(
                tails.map(|(_, output)| output.total()).sum(),
                "sum of what its tails give in the rooms that they pass",
            )
        });
        it.heat_in_rooms = in_rooms(&given, source);
        self.surface(it, &given);
    }

    /// The heat flux of the floor where people stay, and how warm its surface is.
    fn surface(&self, it: &mut LoopWorkings, given: &[(&Piece, &Output)]) {
        let occupied = || given.iter().filter(|(piece, _)| piece.kind == Kind::Occupied);
        let area: Area = occupied().map(|(piece, _)| piece.floor.area).sum();
        let up: Power = occupied().map(|(_, output)| output.upward).sum();
        let flux = up / area;
        it.edge_flux = given.iter().find(|(piece, _)| piece.kind == Kind::Edge).map(|(piece, output)| {
            let formula = "characteristic at the spacing of the edge zone x (mean water there - temperature)";
            Figure::new(output.upward / piece.floor.area, formula, "EN 1264-2")
                .with("characteristic", piece.floor.response.up)
                .with("mean water temperature", output.mean_water)
                .with("temperature", piece.floor.room)
                .with("edge zone", piece.floor.area)
                .assuming("the water comes to the edge zone first")
        });
        let without_edge = it.edge_flux.is_some();
        let formula =
            if without_edge { "heat-up / area-served, without the edge zone" } else { "heat-up / area-served" };
        it.heat_flux = Ok(Figure::new(flux, formula, "EN 1264-2").with("heat-up", up).with("area-served", area));
        let room = it.rooms.first().copied().unwrap_or_default();
        let temperature = self.design.rooms.at(room).and_then(|(_, room)| room.value.temperature);
        it.surface_temperature_mean = crate::rooms::surface_temperature(flux, temperature, Subject::Room(room));
    }

    /// The flow at which the loop gives just its heat needed with the water that it gets.
    pub(super) fn flow_for_duty(
        &self,
        it: &LoopWorkings,
        way: &Result<Way, Gap>,
        fluid: fluids::Fluid,
    ) -> Worked<MassFlow> {
        let way = way.as_ref().map_err(Gap::clone)?;
        let (needed, flow_temperature) = (it.heat_needed.value()?, it.flow_temperature.value()?);
        let specific_heat = fluid.at(flow_temperature)?.specific_heat;
        let flow = way.floor.flow_for_output(flow_temperature, needed, specific_heat);
        let flow = flow.map_err(|refusal| Gap::NoMethod(refusal.to_string()))?;
        let figure = Figure::new(
            flow,
            "flow at which characteristic x area-served x (mean water - temperature) is heat-needed",
            "EN 1264-3, heat balance along the pipe",
        );
        Ok(figure
            .with("heat-needed", needed)
            .with("flow-temperature", flow_temperature)
            .with("area-served", way.floor.area)
            .with("characteristic", way.floor.response.up)
            .with("temperature", way.floor.room))
    }
}

/// What a loop gives each room, where there is more than one piece of way.
fn in_rooms(given: &[(&Piece, &Output)], source: &'static str) -> Vec<(usize, Figure<Power>)> {
    let mut rooms: Vec<(usize, Figure<Power>)> = Vec::new();
    if given.len() < 2 {
        return rooms;
    }
    for (piece, output) in given {
        let found = match rooms.iter().position(|(room, _)| *room == piece.room) {
            Some(found) => found,
            None => {
                let formula = "sum over the pieces in the room of characteristic x area x (mean water - temperature)";
                rooms.push((piece.room, Figure::new(Power::ZERO, formula, source)));
                rooms.len() - 1
            }
        };
        let (_, figure) = &mut rooms[found];
        figure.value += output.upward;
        // A loop that crosses a room many times would fill the sheet.
        if figure.inputs.len() < 20 {
            let named = std::mem::replace(figure, Figure::new(Power::ZERO, "", source));
            *figure = named
                .with("area", piece.floor.area)
                .with("characteristic", piece.floor.response.up)
                .with("mean water temperature", output.mean_water)
                .with("temperature", piece.floor.room);
        }
    }
    rooms
}
