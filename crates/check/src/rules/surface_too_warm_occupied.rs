//! The floor where people stay is no warmer than is comfortable and healthy.
//!
//! Above the limit feet swell and tire, coverings suffer, and the room overheats in the first sun.
//!
//! ## How it is worked out
//! Mean surface temperature = room temperature + (heat flux / 8.92)^(1/1.1), from the heat that the floor really gives at the design
//! flow temperature and the loop's flow, on the coldest day. The loop that makes the floor warmest counts.
//!
//! ## Limit
//! Room temperature + 9 K: 29 °C at 20 °C, EN 1264-2 (after ISO 7730). In France 28 °C at any point, order of 23 June 1978.
//!
//! ## Exceptions
//! Bathrooms and edge zones have limits of their own. For the very old, the very young, or anyone with poor feeling in the feet keep
//! the surface near 25 to 26 °C and take advice.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 50 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1300 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the floor of hall becomes 31.7 °C above loop L1; at most 29.0 °C is comfortable
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 40 °C, temperature-drop: 5 K}
//! ```

use super::prelude::*;
use super::room_short_of_heat::{RoomItem, laid_at};
use crate::remedy::{Change, add_key};
use design::{Jurisdiction, Use};
use workings::{Gap, LoopWorkings, Otherwise, ValueOf};

pub static RULE: Rule = Rule {
    name: "surface-too-warm-occupied",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[OVER, FRANCE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("surface_too_warm_occupied.rs"),
    check,
    ..Rule::USUAL
};

const OVER: Limit =
    Limit { name: "over-room", value: "9 K", source: "EN 1264-2 (after ISO 7730), as several secondary texts give it" };
const FRANCE: Limit =
    Limit {
        name: "france", value: "28 °C", source: "French order of 23 June 1978, article 35, as two pages quote it"
    };

fn check(inspection: &Inspection, found: &mut Findings) {
    judge(inspection, found, &OVER, |room| room.is_none_or(|room| room != Use::Bathroom));
}

/// Judges the mean surface of the rooms of some uses against the room's temperature and so much more.
pub(super) fn judge(inspection: &Inspection, found: &mut Findings, over: &Limit, of_use: impl Fn(Option<Use>) -> bool) {
    let over = over.get::<TemperatureDifference>();
    let french = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::France);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty() && !room.given.has_unread("use")) {
        if !of_use(room.given.use_.map(|it| it.value)) {
            continue;
        }
        let Some(temperature) = room.given.temperature else {
            found.missing(room.subject, "temperature");
            continue;
        };
        let mut limit = crate::LimitValue { value: temperature.value + over.value, source: over.source };
        // In France the limit holds at any point.
        let of_france = FRANCE.get::<Temperature>();
        let hottest: Hottest = if french && of_france.value < limit.value {
            limit = of_france;
            |it| it.surface_temperature_highest.value()
        } else {
            |it| it.surface_temperature_mean.value()
        };
        let Some((at, surface)) = warmest(inspection, found, &room.worked.loops, hottest) else { continue };
        if surface <= limit.value {
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, most) = (surface, limit.value);
        let message =
            format!("the floor of {} becomes {value} above loop {loop_name}; at most {most} is comfortable", room.name);
        let finding = Finding::new(room.subject, room.place, message)
            .value(surface)
            .limit(&limit)
            .figure(format!("loops.{loop_name}.surface-temperature-mean"))
            .related(Subject::Loop(at).place(inspection.design), "the loop that makes it warmest");
        found.add(cooler(inspection, finding, &room, at, |it| hottest(it).is_ok_and(|warm| warm <= most)));
    }
}

/// A temperature of a loop's floor.
pub(super) type Hottest = fn(&LoopWorkings) -> Result<Temperature, Gap>;

/// The loop that makes a floor warmest, not the mean of all, and how warm.
pub(super) fn warmest(
    inspection: &Inspection,
    found: &mut Findings,
    loops: &[usize],
    hottest: Hottest,
) -> Option<(usize, Temperature)> {
    let mut warmest: Option<(usize, Temperature)> = None;
    for at in loops {
        match hottest(&inspection.workings.loops[*at]) {
            Ok(surface) if warmest.is_none_or(|(_, warm)| surface > warm) => warmest = Some((*at, surface)),
            Ok(_) => {}
            Err(gap) => found.not_checked(Subject::Loop(*at), &gap),
        }
    }
    warmest
}

/// Adds to a finding the water of the loop that makes a floor too warm, and what would make it cool enough: the flow at which the loop
/// gives just its duty, the warmest water that is cool enough, the closest wider pipe.
pub(super) fn cooler(
    inspection: &Inspection,
    mut finding: Finding,
    room: &RoomItem,
    at: usize,
    is_enough: impl Fn(&LoopWorkings) -> bool,
) -> Finding {
    let worked = &inspection.workings.loops[at];
    let enough = |otherwise: Otherwise| {
        workings::loop_if(inspection.design, inspection.workings, at, otherwise).is_ok_and(|it| is_enough(&it))
    };
    let place = worked.flow_temperature.as_ref().ok().and_then(|water| water.inputs.first()?.at);
    if let Some(place) = place {
        finding = finding.related(place, "the water's flow temperature");
    }
    finding = finding.remedy(throttled(inspection, at, enough));
    if let (Ok(water), Some(place)) = (&worked.flow_temperature, place) {
        let now = water.value.in_celsius();
        let steps = (1..=30).map(|step| now.ceil() - f64::from(step));
        let is_enough = |celsius: &f64| {
            let flow_temperature = Some(Temperature::celsius(*celsius));
            enough(Otherwise { flow_temperature, ..Otherwise::default() })
        };
        finding = finding.remedy(steps.take_while(|celsius| *celsius >= 25.0).find(is_enough).map(|celsius| {
            Remedy::new(format!("feed it with water of {celsius:.0} °C"), place, format!("{celsius:.0} °C"))
        }));
    }
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let Some(now) = spacings.map(|it| it.value).reduce(Length::max) else { return finding };
    let wider = [150.0, 200.0, 250.0, 300.0].map(Length::millimetres).into_iter().filter(|spacing| *spacing > now);
    let mut wide_enough = wider.filter(|spacing| enough(Otherwise { spacing: Some(*spacing), ..Otherwise::default() }));
    finding.remedy(wide_enough.next().and_then(|spacing| laid_at(inspection, room, spacing)))
}

/// The loop set to the flow at which it gives just its duty.
fn throttled(inspection: &Inspection, at: usize, enough: impl Fn(Otherwise) -> bool) -> Option<Remedy> {
    let worked = &inspection.workings.loops[at];
    let (duty, now) = (worked.flow_for_duty.as_ref().ok()?.value, worked.flow.as_ref().ok()?.value);
    let litres_now = worked.volume_flow.as_ref().ok()?.value.in_litres_per_minute();
    // A little more than the duty asks.
    let litres = (litres_now * (duty / now) * 100.0).ceil() / 100.0;
    let flow = Some(now * (litres / litres_now));
    if duty >= now || !enough(Otherwise { flow, ..Otherwise::default() }) {
        return None;
    }
    let (_, entry) = inspection.design.loops.at(at)?;
    let text = format!("{litres} l/min");
    let change = match entry.value.flow {
        Some(given) => Change { place: given.at, text: text.clone() },
        None => add_key(inspection, entry.value.place, &format!("flow: {text}"))?,
    };
    Remedy::of(format!("set it to {text}, which gives just what is needed"), [change])
}
