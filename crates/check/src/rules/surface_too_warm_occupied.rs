//! The floor where people stay is no warmer than is comfortable and healthy.
//!
//! Above the limit feet swell and tire, coverings suffer, and the room overheats in the first sun.
//!
//! ## How it is worked out
//! Mean surface temperature = room temperature + (heat flux / 8.92)^(1/1.1), from the heat that the floor really gives at the design
//! flow temperature and the loop's flow, on the coldest day. The loop that makes the floor warmest counts.
//!
//! Over the pipes the floor is hotter than on average: `surface-temperature-highest` is the mean and the stripe over a pipe. The heat
//! flux at which the hottest point reaches the limit, `heat-flux-limit`, is of pipe in screed the limit curve of EN 1264-2,
//! φ·B_G·(Δθ/φ)^n_G where that meets the characteristic of the floor. Its tables lie up to 9 % under and, at wide spacings, up to 25 %
//! over a solution by conduction, so both are held. Of boards, plates and slabs both follow from the section and are one.
//!
//! ## Limit
//! Room temperature + 9 K: 29 °C at 20 °C, EN 1264-2 (after ISO 7730). The standard draws its limit curves for the hottest point, its
//! basic characteristic for the mean. A floor whose mean is over the limit has the full weight; one of which only the stripes above
//! the pipes are over it is a warning. In France 28 °C at any point, order of 23 June 1978.
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
//! # ^^^^ the floor of hall becomes 31.6 °C where loop L1 lies; at most 29.0 °C is comfortable
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 47 °C, temperature-drop: 5 K}
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 960 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ the floor of hall becomes 29.5 °C over the pipes of loop L1, 27.4 °C on average; at most 29.0 °C is allowed at its hottest point
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 300 mm, tails: 10 m}
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 40 °C, temperature-drop: 5 K}
//! ```

use super::heat_pump_flow_too_warm;
use super::prelude::*;
use super::room_short_of_heat::{RoomItem, closer_than, closer_with_water, laid_at, wider_than};
use crate::Weight;
use crate::remedy::{Change, add_key};
use design::{Jurisdiction, Stage, Use};
use workings::{Gap, LoopWorkings, Otherwise, ValueOf};

pub static RULE: Rule = Rule {
    name: "surface-too-warm-occupied",
    group: Group::SurfaceTemperature,
    weights: [Warning, Error, Error, Error],
    limits: &[OVER, FRANCE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "temperature-drop-too-narrow",
        "heat-pump-flow-too-warm",
        "layer-over-its-temperature-limit",
        "flow-temperature-over-regulation",
        "screed-too-thin-over-pipe",
        "screed-too-thin-overall",
    ],
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
    let over = over.get::<TemperatureDifference>(found.rule(), inspection);
    let french = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::France);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty() && !room.given.has_unread("use")) {
        if !of_use(room.given.use_.map(|it| it.value)) {
            continue;
        }
        let Some(temperature) = room.given.temperature else {
            found.missing(room.subject, "temperature");
            continue;
        };
        let mut limit = over.with(temperature.value + over.value);
        // In France the limit holds at any point.
        let of_france = FRANCE.get::<Temperature>(&RULE, inspection);
        let hottest: Hottest = if french && of_france.value <= limit.value {
            limit = of_france;
            |it| it.surface_temperature_highest.value()
        } else {
            |it| it.surface_temperature_mean.value()
        };
        let Some((at, surface)) = warmest(inspection, found, &room.worked.loops, hottest) else { continue };
        if surface <= limit.value {
            if limit.source == over.source {
                stripes(inspection, found, &room, over.value, limit.value);
            }
            continue;
        }
        let loop_name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
        let (value, most) = (surface, limit.value);
        let message = format!(
            "the floor of {} becomes {value} where loop {loop_name} lies; at most {most} is comfortable",
            room.name
        );
        let point = if limit.source == over.source { "mean" } else { "highest" };
        let finding = Finding::new(room.subject, room.place, message)
            .value(surface)
            .limit(&limit)
            .figure(format!("loops.{loop_name}.surface-temperature-{point}"))
            .related(Subject::Loop(at).place(inspection.design), "the loop that makes it warmest");
        // What makes the mean cool enough has to do for the stripes as well.
        let flux = (limit.source == over.source).then(|| flux_limit(inspection, at, None, over.value));
        let is_enough = |it: &LoopWorkings| {
            hottest(it).is_ok_and(|warm| warm <= most)
                && flux.as_ref().is_none_or(|flux| has_cool_stripes(it, flux, most))
        };
        found.add(cooler(inspection, finding, &room, at, is_enough));
    }
}

/// The heat flux at which the hottest point of a loop's floor is so much over its room.
fn flux_limit(
    inspection: &Inspection,
    at: usize,
    spacing: Option<Length>,
    over: TemperatureDifference,
) -> Result<HeatFlux, Gap> {
    let limits = workings::limits(inspection.design, inspection.workings, at, spacing, over)?;
    Ok(limits.heat_flux.value)
}

/// Whether the hottest point of a floor is within the limit, as far as it can be told.
fn has_cool_stripes(it: &LoopWorkings, flux_limit: &Result<HeatFlux, Gap>, most: Temperature) -> bool {
    let over = |limit: &HeatFlux| it.heat_flux.value().is_ok_and(|flux| flux > *limit);
    let hot = it.surface_temperature_highest.value().is_ok_and(|warm| warm > most);
    !hot && !flux_limit.as_ref().is_ok_and(over)
}

/// Judges the hottest point of a room's floor, above a pipe, where its mean is cool enough: by its temperature, and by the limit curve.
fn stripes(
    inspection: &Inspection,
    found: &mut Findings,
    room: &RoomItem,
    over: TemperatureDifference,
    most: Temperature,
) {
    let limit_at = |at: usize, spacing: Option<Length>| flux_limit(inspection, at, spacing, over);
    let hottest: Hottest = |it| it.surface_temperature_highest.value();
    let Some((hot_at, hot)) = warmest(inspection, found, &room.worked.loops, hottest) else { return };
    let mut worst: Option<(usize, HeatFlux, HeatFlux)> = None;
    for at in &room.worked.loops {
        let Ok(flux) = inspection.workings.loops[*at].heat_flux.value() else { continue };
        // Where the limit curve has no answer the temperature has it.
        let Ok(most) = limit_at(*at, None) else { continue };
        if worst.is_none_or(|(_, flux_there, most_there)| flux / most > flux_there / most_there) {
            worst = Some((*at, flux, most));
        }
    }
    let name = |at: usize| inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    let (at, finding) = if hot > most {
        let mean = inspection.workings.loops[hot_at].surface_temperature_mean.value();
        let mean = mean.map_or(String::new(), |mean| format!(", {mean} on average"));
        let message = format!(
            "the floor of {} becomes {hot} over the pipes of loop {}{mean}; at most {most} is allowed at its hottest point",
            room.name,
            name(hot_at)
        );
        let finding = Finding::new(room.subject, room.place, message)
            .value(hot)
            .limit(&LimitValue::new(most, HOTTEST))
            .figure(format!("loops.{}.surface-temperature-highest", name(hot_at)));
        (hot_at, finding)
    } else {
        let Some((at, flux, most)) = worst.filter(|(_, flux, most)| flux > most) else { return };
        let message = format!(
            "the floor of {} gives {flux} through loop {}; by the limit curve its hottest point passes {over} over the room at {most}",
            room.name,
            name(at)
        );
        let finding = Finding::new(room.subject, room.place, message)
            .value(flux)
            .limit(&LimitValue::new(most, HOTTEST))
            .figure(format!("loops.{}.heat-flux-limit", name(at)));
        (at, finding)
    };
    let finding = finding.related(Subject::Loop(at).place(inspection.design), "the loop that makes it warmest");
    let limit_here = limit_at(at, None);
    // Wider pipe makes stripes, closer pipe makes an even floor.
    let finding = cooler_water(inspection, finding, at, |it| has_cool_stripes(it, &limit_here, most));
    let now = inspection.design.loops.at(at).and_then(|(_, it)| it.value.spacing).map(|it| it.value);
    let even_enough = |otherwise: Otherwise| {
        let then = workings::loop_if(inspection.design, inspection.workings, at, otherwise);
        then.is_ok_and(|it| has_cool_stripes(&it, &limit_at(at, otherwise.spacing), most))
    };
    let spacing = closer_than(inspection, room, now.unwrap_or(Length::ZERO))
        .find(|spacing| even_enough(Otherwise { spacing: Some(*spacing), ..Otherwise::default() }));
    let closer = spacing.and_then(|spacing| laid_at(inspection, room, spacing));
    let water = inspection.workings.loops[at].flow_temperature.value();
    let both = match (&room.worked.heat_needed, water) {
        (Ok(needed), Ok(water)) => {
            closer_with_water(inspection, room, needed.value, [25.0, water.in_celsius().ceil() - 1.0], even_enough)
        }
        _ => None,
    };
    found.add_as(softer(inspection), finding.remedy(closer).remedy(both));
}

/// What stripes over the limit weigh.
pub(super) fn softer(inspection: &Inspection) -> Weight {
    if inspection.design.stage() == Stage::Preliminary { Information } else { Warning }
}

/// Whose limit it is that holds for the hottest point.
pub(super) const HOTTEST: &str = "EN 1264-2, limit curve: the hottest point of the surface";

/// A temperature of a loop's floor.
type Hottest = fn(&LoopWorkings) -> Result<Temperature, Gap>;

/// The loop that makes a floor warmest, not the mean of all, and how warm.
pub(super) fn warmest(
    inspection: &Inspection,
    found: &mut Findings,
    loops: &[usize],
    hottest: impl Fn(&LoopWorkings) -> Result<Temperature, Gap>,
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
    finding: Finding,
    room: &RoomItem,
    at: usize,
    is_enough: impl Fn(&LoopWorkings) -> bool,
) -> Finding {
    let finding = cooler_water(inspection, finding, at, &is_enough);
    let spacings = room.worked.loops.iter().filter_map(|at| inspection.design.loops.at(*at)?.1.value.spacing);
    let Some(now) = spacings.map(|it| it.value).reduce(Length::max) else { return finding };
    let mut wide_enough = wider_than(inspection, room, now).filter(|spacing| {
        let otherwise = Otherwise { spacing: Some(*spacing), ..Otherwise::default() };
        workings::loop_if(inspection.design, inspection.workings, at, otherwise).is_ok_and(|it| is_enough(&it))
    });
    finding.remedy(wide_enough.next().and_then(|spacing| laid_at(inspection, room, spacing)))
}

/// The same but for wider pipe.
fn cooler_water(
    inspection: &Inspection,
    mut finding: Finding,
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
    // Water that is warmer than any floor needs is the cause; one loop throttled for it leaves all others too warm.
    let as_needed = heat_pump_flow_too_warm::celsius_needed(inspection).filter(|celsius| {
        let flow_temperature = Some(Temperature::celsius(*celsius));
        place == inspection.design.heat_source.flow_temperature.map(|it| it.at)
            && enough(Otherwise { flow_temperature, ..Otherwise::default() })
    });
    if as_needed.is_some() {
        finding = finding.remedy(heat_pump_flow_too_warm::as_floors_need(inspection));
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
    finding
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

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};
    use crate::{Severity, bench::BASE};

    fn hall(jurisdiction: &str, temperature: &str, spacing: &str, flow: &str) -> String {
        format!(
            "site: {{outdoor-temperature: -3 °C, jurisdiction: {jurisdiction}}}\nheat-source: {{kind: condensing boiler, flow-temperature: {flow}, \
             temperature-drop: 5 K}}\nrooms: {{hall: {{use: living, temperature: {temperature}, heat-loss: 800 W, floor: screeded, area: 12 m², height: 2.4 \
             m}}}}\nloops: {{L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: {spacing}, tails: 10 m}}}}\n"
        )
    }

    /// The mean over the limit is an error, the stripes alone a warning; closer pipe makes the floor even.
    #[test]
    fn stripes_weigh_less_than_a_mean() {
        let found = |text: &str| {
            let outcome = check(text);
            let finding = outcome.findings.into_iter().find(|it| it.rule.name == RULE.name);
            finding.map(|it| (it.severity, it.remedies.into_iter().map(|it| it.title).collect::<Vec<_>>()))
        };
        let (severity, remedies) = found(&hall("England", "20 °C", "300 mm", "47 °C")).unwrap();
        assert_eq!(severity, Severity::Warning);
        assert!(!remedies.is_empty());
        assert_eq!(found(&hall("England", "20 °C", "150 mm", "50 °C")).unwrap().0, Severity::Error);
        assert_eq!(found(BASE), None);
    }

    /// Of pipe in screed the limit curve of EN 1264-2 counts as well: heat flux and limit stand in the finding, and cooler
    /// water clears it. France has 28 °C at any point, in a room of 19 °C too.
    #[test]
    fn the_limit_curve_and_france() {
        let found = messages(&RULE, &hall("France", "19 °C", "300 mm", "47 °C"));
        assert!(found[0].ends_with("at most 28.0 °C is comfortable"), "{found:?}");
        let found = messages(&RULE, &hall("England", "20 °C", "200 mm", "47 °C"));
        assert_eq!(found.len(), 1, "{found:?}");
    }
}
