//! The floor of each room gives the heat that the room needs.
//!
//! What is short on the coldest day cannot be added once the floor is down.
//!
//! ## How it is worked out
//! What the loops of the room give at the design flow temperature and their flows (EN 1264-2 for pipe in screed, conduction in two
//! dimensions for boards, plates and slabs; the water cools along the pipe), and the tails of other loops that are drawn through it,
//! against the heat loss of the room without that of its floor and without other emitters. Rugs are left out: how much of the floor they
//! cover is not said.
//!
//! Where the pipe of the room is drawn, and leaves much of the floor cold, lies at another spacing than stated, or crosses itself or
//! other pipe, that is to be mended first:
//! warmer water or a radiator would make up for a fault of the drawing, and be too much once it is mended. So neither is offered.
//!
//! ## Limit
//! At least what is needed: EN 1264-2 and -3; the heat loss by EN 12831-1.
//!
//! ## Exceptions
//! Where the room asks more than any floor can give, `floor-cannot-give-this-much` speaks; where it asks more than its covering bears,
//! `second-emitter-missing`; of bathrooms, `bathroom-short-of-heat`.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 250 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 700 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                    ^^^^^ the floor of room hall gives 681 W; it needs 700 W, 19 W more
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 10 m, flow: 1.8 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 700 W, floor: screeded, area: 12 m², height: 2.4 m}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::floor_cannot_give_this_much::beyond;
use super::pipe_crosses_itself::counts;
use super::prelude::*;
use super::room_partly_unheated::is_partly_unheated;
use super::second_emitter_missing;
use super::spacing_drawn_not_as_stated::is_drawn_otherwise;
use crate::inspection::Item;
use crate::remedy::Change;
use design::{Room, Use};
use engineering::plan::RouteMeeting;
use workings::{Gap, Otherwise, RoomWorkings, ValueOf, loop_if};

pub(super) type RoomItem<'i> = Item<'i, Room, RoomWorkings>;

pub static RULE: Rule = Rule {
    name: "room-short-of-heat",
    group: Group::HeatOutput,
    weights: [Warning, Error, Error, Error],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "covering-too-resistive",
        "deck-too-resistive-over-plates",
        "spacing-off-module",
        "temperature-drop-too-wide",
    ],
    file: include_str!("room_short_of_heat.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    unheated(inspection, found);
    judge(inspection, found, |room| room != Some(Use::Bathroom));
}

/// Judges what the floors of the rooms of some uses give against what the rooms need.
pub(super) fn judge(inspection: &Inspection, found: &mut Findings, of_use: impl Fn(Option<Use>) -> bool) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        if !of_use(room.given.use_.map(|it| it.value)) {
            continue;
        }
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some(output) = found.need(room.subject, &room.worked.output) else { continue };
        // Beyond what any floor gives, or what the covering bears, that is the cause, and its own rule says it.
        let beyond =
            beyond(inspection, &room).is_some() || second_emitter_missing::beyond_covering(inspection, &room).is_some();
        if output.value >= needed.value - Power::watts(0.5) || beyond {
            continue;
        }
        let short = needed.value - output.value;
        let (gives, needs) = (output.value, needed.value);
        let mut message = match gives < Power::ZERO {
            false => format!("the floor of room {} gives {gives}; it needs {needs}, {short} more", room.name),
            true => format!(
                "the floor of room {} takes {} out of it, its water is too cold; it needs {needs}",
                room.name,
                Power::ZERO - gives
            ),
        };
        if let (Ok(area), Ok(free)) = (&room.worked.area, &room.worked.free_area)
            && area.value - free.value > Area::square_metres(0.05)
        {
            let taken = 100.0 * (area.value - free.value) / area.value;
            message += &format!("; {taken:.0} % of it is taken up by what stands there");
        }
        let is_badly_drawn = is_badly_drawn(inspection, &room);
        if is_badly_drawn {
            message += "; how its pipe is drawn is to be mended first";
        }
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        let mut finding = Finding::new(room.subject, place, message)
            .value(output.value)
            .limit(&LimitValue::new(needed.value, "EN 1264-2 and -3, and EN 12831-1 for the heat loss"))
            .figure(format!("rooms.{}.output", room.name));
        for at in &room.worked.loops {
            finding = finding.related(Subject::Loop(*at).place(inspection.design), "a loop that heats it");
        }
        if is_badly_drawn {
            found.add(finding);
            continue;
        }
        let alone = [closer(inspection, &room, needed.value), warmer(inspection, &room, needed.value)];
        if alone.iter().all(Option::is_none) {
            let now = inspection.workings.loops[room.worked.loops[0]].flow_temperature.value();
            let steps = [now.map_or(WARMEST, |now| now.in_celsius().floor() + 1.0), WARMEST];
            finding.remedies.extend(closer_with_water(inspection, &room, needed.value, steps, |_| true));
        }
        finding.remedies.extend(alone.into_iter().flatten());
        if room.given.use_.is_some_and(|it| it.value == Use::Bathroom) {
            // With less to give, a loop whose flow follows from that gets less water: a larger rail makes up for it.
            let stated = |at: &usize| inspection.design.loops.at(*at).is_some_and(|(_, it)| it.value.flow.is_some());
            let rail = short * if room.worked.loops.iter().all(stated) { 1.0 } else { 1.4 };
            let remedy = second_emitter_missing::emitter(inspection, &room, "towel-rail", "towel rail", rail);
            finding.remedies.extend(remedy);
        } else {
            let left = short.max(second_emitter_missing::left_over(inspection, &room));
            // A floor that gives next to nothing is not helped by a radiator: that would be the heating.
            if left <= needs * 0.8 {
                let remedy = second_emitter_missing::emitter(inspection, &room, "radiator", "radiator", left);
                finding.remedies.extend(remedy);
            }
        }
        found.add(finding);
    }
}

/// Whether the pipe that heats a room is drawn with a fault of its own: it leaves much of the floor cold, lies at another spacing than
/// it states, or over pipe.
pub(super) fn is_badly_drawn(inspection: &Inspection, room: &RoomItem) -> bool {
    let Subject::Room(at) = room.subject else { return false };
    let of_room = |of: usize| room.worked.loops.contains(&of);
    let is_drawn = |of: usize| inspection.design.loops.at(of).is_some_and(|(_, it)| it.value.route.is_some());
    let lies_over = |meeting: &&RouteMeeting| {
        let routes = [meeting.first.route, meeting.second.route];
        routes.iter().any(|of| of_room(*of) && is_drawn(*of)) && counts(inspection, meeting)
    };
    room.worked.loops.iter().any(|of| is_drawn(*of)) && is_partly_unheated(inspection, at)
        || room.worked.loops.iter().any(|of| is_drawn_otherwise(inspection, *of))
        || inspection.workings.plan.meetings.iter().any(|meeting| lies_over(&meeting))
}

/// Rooms that need heat of a heated floor in which nothing is laid.
fn unheated(inspection: &Inspection, found: &mut Findings) {
    // A loop whose room could not be made out may be the one that heats it.
    let astray = &inspection.workings.plan.astray;
    let is_known = |at: usize| astray.binary_search_by_key(&at, |(astray, _)| *astray).is_ok();
    if inspection.workings.loops.iter().enumerate().any(|(at, it)| it.rooms.is_empty() && !is_known(at)) {
        return;
    }
    // A room whose loop is drawn elsewhere: `route-leaves-its-rooms` says it.
    let is_missed = |room: Subject| astray.iter().any(|(_, missed)| Subject::Room(*missed) == room);
    let by_mat = |name: &str| {
        inspection
            .design
            .electric_mats
            .values()
            .any(|mat| mat.room.as_ref().is_some_and(|room| room.value.name == name))
    };
    for room in inspection.rooms().filter(|room| room.worked.loops.is_empty() && room.worked.floor.is_some()) {
        let Ok(needed) = &room.worked.heat_needed else { continue };
        let passing = room.worked.heat_in_passing.as_ref().map_or(Power::ZERO, |heat| heat.value);
        if needed.value <= passing || by_mat(room.name) || is_missed(room.subject) {
            continue;
        }
        let message = match passing > Power::ZERO {
            false => format!("room {} needs {} of its floor, and no loop is laid in it", room.name, needed.value),
            true => format!(
                "room {} needs {} of its floor, and no loop is laid in it; tails that pass it give it {passing}",
                room.name, needed.value
            ),
        };
        found.add(
            Finding::new(room.subject, room.place, message)
                .value(passing)
                .limit(&LimitValue::new(needed.value, "EN 1264-2 and -3, and EN 12831-1 for the heat loss"))
                .figure(format!("rooms.{}.heat-needed", room.name)),
        );
    }
}

/// What a room's loops would give it if something about them were otherwise.
pub(super) fn output_if(inspection: &Inspection, room: &RoomItem, otherwise: Otherwise) -> Result<Power, Gap> {
    let Subject::Room(number) = room.subject else { return Err(Gap::Unreadable) };
    let mut output = Power::ZERO;
    for at in &room.worked.loops {
        let it = loop_if(inspection.design, inspection.workings, *at, otherwise)?;
        output += it.heat_up_in(number).value()?;
    }
    let passing = room.worked.heat_in_passing.as_ref().map_or(Power::ZERO, |heat| heat.value);
    Ok(output + passing)
}

/// All the loops of a room laid at another spacing that it takes, where every one of them states its own and is neither drawn nor laid.
pub(super) fn laid_at(inspection: &Inspection, room: &RoomItem, spacing: Length) -> Option<Remedy> {
    if inspection.is_laid() {
        return None;
    }
    if let Subject::Room(at) = room.subject
        && super::spacing_too_wide::widest(inspection, at).is_some_and(|(most, _)| spacing > most.value)
    {
        return None;
    }
    let mut changes = Vec::new();
    for at in &room.worked.loops {
        let (_, entry) = inspection.design.loops.at(*at)?;
        let given = entry.value.spacing.filter(|_| entry.value.route.is_none())?;
        changes.push(Change { place: given.at, text: spacing.to_string() });
    }
    let mut remedy = Remedy::of(format!("lay its loops at {spacing}"), changes)?;
    if let Subject::Room(at) = room.subject
        && let Some((change, width)) = super::spacing_off_module::narrower_plates(inspection, at, spacing)
    {
        remedy.title += &format!(" with plates {width} wide");
        remedy.changes.push(change);
    }
    Some(remedy)
}

/// The widest closer spacing that is close enough.
fn closer(inspection: &Inspection, room: &RoomItem, needed: Power) -> Option<Remedy> {
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::min)?;
    let enough = |spacing: &Length| {
        let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed)
    };
    laid_at(inspection, room, closer_than(inspection, room, now).find(enough)?)
}

/// The spacings that a room's floor takes and that are closer than what is laid, the widest first.
pub(super) fn closer_than(
    inspection: &Inspection,
    room: &RoomItem,
    now: Length,
) -> impl Iterator<Item = Length> + use<> {
    spacings_of(inspection, room).into_iter().filter(move |spacing| *spacing < now)
}

/// Those that are wider, the closest first.
pub(super) fn wider_than(
    inspection: &Inspection,
    room: &RoomItem,
    now: Length,
) -> impl Iterator<Item = Length> + use<> {
    spacings_of(inspection, room).into_iter().rev().filter(move |spacing| *spacing > now)
}

fn spacings_of(inspection: &Inspection, room: &RoomItem) -> Vec<Length> {
    match room.subject {
        Subject::Room(at) => super::spacing_off_module::spacings(inspection, at),
        _ => Vec::new(),
    }
}

/// The loops of a room laid closer, and water at which they give what it needs then: the widest spacing that `is_enough` takes with the
/// water that it wants, in whole kelvins from `coolest` to `warmest`.
pub(super) fn closer_with_water(
    inspection: &Inspection,
    room: &RoomItem,
    needed: Power,
    [coolest, warmest]: [f64; 2],
    is_enough: impl Fn(Otherwise) -> bool,
) -> Option<Remedy> {
    let water = inspection.workings.loops[*room.worked.loops.first()?].flow_temperature.as_ref().ok()?;
    let place = water.inputs.first()?.at?;
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let now = spacings.map(|it| it.value).reduce(Length::min)?;
    closer_than(inspection, room, now).find_map(|spacing| {
        let otherwise = |celsius: f64| Otherwise {
            spacing: Some(spacing),
            flow_temperature: Some(Temperature::celsius(celsius)),
            ..Otherwise::default()
        };
        let gives_enough = |celsius: f64| output_if(inspection, room, otherwise(celsius)).is_ok_and(|it| it >= needed);
        let steps = (0..).map(|step| coolest + f64::from(step)).take_while(|celsius| *celsius <= warmest);
        let celsius = steps.into_iter().find(|celsius| gives_enough(*celsius))?;
        if !is_enough(otherwise(celsius)) {
            return None;
        }
        let mut remedy = laid_at(inspection, room, spacing)?;
        remedy.title += &format!(" and give them water of {celsius:.0} °C");
        remedy.changes.push(Change { place, text: format!("{celsius:.0} °C") });
        Some(remedy)
    })
}

/// The warmest water that a remedy offers, °C.
const WARMEST: f64 = 55.0;

/// The least warmer water that is warm enough, in whole kelvins.
fn warmer(inspection: &Inspection, room: &RoomItem, needed: Power) -> Option<Remedy> {
    let water = inspection.workings.loops[*room.worked.loops.first()?].flow_temperature.as_ref().ok()?;
    let place = water.inputs.first()?.at?;
    let enough = |celsius: &f64| {
        let warmer = Temperature::celsius(*celsius);
        let otherwise = Otherwise { flow_temperature: Some(warmer), ..Otherwise::default() };
        output_if(inspection, room, otherwise).is_ok_and(|output| output >= needed)
    };
    let first = water.value.in_celsius().floor() + 1.0;
    let celsius = (0..).map(|step| first + f64::from(step)).take_while(|it| *it <= WARMEST).find(enough)?;
    Some(Remedy::new(format!("feed it with water of {celsius:.0} °C"), place, format!("{celsius:.0} °C")))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    /// A radiator that makes up for a floor drawn badly is too much once that is mended.
    #[test]
    fn how_the_pipe_is_drawn_comes_before_a_radiator() {
        let drawn = |runs: usize, spacing: usize| {
            let step = spacing as f64 / 1000.0;
            let run = |at: usize| {
                let y = 0.1 + step * at as f64;
                let (near, far) = if at.is_multiple_of(2) { (0.1, 4.9) } else { (4.9, 0.1) };
                format!("[{near}, {y:.2}], [{far}, {y:.2}]")
            };
            let route: Vec<String> = (0..runs).map(run).collect();
            let outcome = check(&format!(
                "rooms:\n  hall: {{use: living, temperature: 20 °C, heat-loss: 1300 W, floor: screeded, outline: [[0, 0], [5, 0], [5, 3], [0, \
                 3]], keep-clear: none, height: 2.4 m}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: {spacing} \
                 mm, route: [{}]}}\n",
                route.join(", ")
            ));
            let found = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it is short");
            let titles: Vec<String> = found.remedies.iter().map(|it| it.title.clone()).collect();
            (found.message.contains("how its pipe is drawn is to be mended first"), titles)
        };
        let (says, titles) = drawn(10, 300);
        assert!(!says && titles.iter().any(|it| it.contains("radiator")), "{titles:?}");
        assert_eq!(drawn(5, 300), (true, Vec::new()));
    }

    #[test]
    fn water_colder_than_the_room_takes_heat_out_of_it() {
        let found = messages(&RULE, "heat-source: {kind: heat pump, flow-temperature: 15 °C, temperature-drop: 5 K}\n");
        assert_eq!(found[0], "the floor of room hall takes 241 W out of it, its water is too cold; it needs 600 W");
    }
}
