//! A loop is no longer than its pipe allows.
//!
//! Water loses pressure along the pipe. In a loop that is too long the pump cannot push the flow that the room needs, and
//! the far end of the floor stays cold.
//!
//! ## How it is worked out
//! The drawn route with its corners rounded; or the area served over the spacing, plus both tails.
//!
//! ## Limit
//! The pipe's own `longest-loop`, where its maker states one; else by outside diameter: up to 10 mm 50 m, 12 mm 80 m, 14 mm
//! 90 m, 17 mm 100 m, 20 mm 120 m. Two or three trade texts give those for 12, 16 and 20 mm, the others are from memory;
//! no standard sets a length. It stands for the pressure drop, which is worked out too. The remedies hand floor to other loops
//! of the room; lay it wider, where its floor still gives what is needed; or split it, where it is not drawn: the parts share
//! its floor, each with tails as long, on ports of their own.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 38.4 m}
//! # ^^ loop L1 is 118.4 m; the longest for a 16 mm pipe is 100.0 m
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 38.4 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, always-open: true}
//! ```
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 100 mm, tails: 42 m, area: 6 m²}
//! # ^^ loop L1 is 102.0 m; the longest for a 16 mm pipe is 100.0 m
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 100 mm, tails: 20 m, area: 6 m²}
//!   L3: {manifold: M1, port: 3, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 100 mm, tails: 42 m, area: 5.7 m²}
//!   L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 100 mm, tails: 20 m, area: 6.3 m²}
//!   L3: {manifold: M1, port: 3, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use crate::remedy::Change;
use crate::split::split_beside;
use design::Loop;
use workings::{LoopWorkings, Otherwise, ValueOf, loop_if};

pub static RULE: Rule = Rule {
    name: "loop-over-maximum-length",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    limits: &[TEN, TWELVE, FOURTEEN, SEVENTEEN, TWENTY],
    follows: &["spacing-off-module"],
    file: include_str!("loop_over_maximum_length.rs"),
    check,
    ..Rule::USUAL
};

const TRADE: &str = "trade texts; no standard sets a length";
const MEMORY: &str = "common practice, from memory; no standard sets a length";
const TEN: Limit = Limit { name: "longest-10-mm", value: "50 m", source: MEMORY };
const TWELVE: Limit = Limit { name: "longest-12-mm", value: "80 m", source: TRADE };
const FOURTEEN: Limit = Limit { name: "longest-14-mm", value: "90 m", source: MEMORY };
const SEVENTEEN: Limit = Limit { name: "longest-17-mm", value: "100 m", source: TRADE };
const TWENTY: Limit = Limit { name: "longest-20-mm", value: "120 m", source: TRADE };

fn check(inspection: &Inspection, found: &mut Findings) {
    // The ports of each manifold that the remedies want.
    let mut ports = vec![0; inspection.workings.manifolds.len()];
    for it in inspection.loops() {
        let Some(length) = found.need(it.subject, &it.worked.length) else { continue };
        let pipe = match &it.worked.pipe {
            Ok(pipe) => pipe,
            Err(gap) => {
                found.not_checked(it.subject, gap);
                continue;
            }
        };
        let own = it.given.pipe.as_ref().and_then(|name| inspection.design.pipe(&name.value.0)?.longest_loop);
        let limit = match own {
            Some(own) => LimitValue::new(own.value, "the pipe's maker, as the design gives it"),
            None => by_diameter(pipe.outside).get(&RULE, inspection),
        };
        let longest = limit.value;
        if length.value <= longest {
            continue;
        }
        let outside = pipe.outside;
        let message = format!("loop {} is {}; the longest for a {outside} pipe is {longest}", it.name, length.value);
        let mut finding = Finding::new(it.subject, it.place, message)
            .value(length.value)
            .limit(&limit)
            .figure(format!("loops.{}.length", it.name))
            .remedy(shared_out(inspection, &it, longest))
            .remedy(wider(inspection, &it, longest))
            .remedy(it.worked.manifold.and_then(|manifold| {
                split_beside(inspection, &it, &mut ports[manifold], |part| part.length <= longest)
            }));
        if let Some(own) = own
            && own.at != Default::default()
        {
            finding = finding.related(own.at, "the longest loop that this pipe's maker allows");
        }
        found.add(finding);
    }
}

fn by_diameter(outside: Length) -> &'static Limit {
    match outside.in_millimetres() {
        mm if mm < 11.0 => &TEN,
        mm if mm < 13.0 => &TWELVE,
        mm if mm < 15.5 => &FOURTEEN,
        mm if mm < 17.5 => &SEVENTEEN,
        _ => &TWENTY,
    }
}

/// Part of its floor handed to the loop of the same room that has most to spare, where both are of one pipe and neither is
/// drawn.
fn shared_out(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, longest: Length) -> Option<Remedy> {
    let Subject::Loop(at) = it.subject else { return None };
    let [room] = it.worked.rooms[..] else { return None };
    // Its stated area, its length and how much of that lies in each square metre.
    let undrawn = |at: usize| {
        let (name, entry) = inspection.design.loops.at(at)?;
        let (given, worked) = (&entry.value, inspection.workings.loops.get(at)?);
        if worked.route.is_some() || given.length.is_some() || worked.rooms != [room] {
            return None;
        }
        let (length, in_room) = (worked.length.as_ref().ok()?.value, worked.length_in_room.as_ref().ok()?.value);
        let area = given.area?;
        Some((name, given, area, length, in_room / area.value.in_square_metres()))
    };
    let (_, own, area, length, dense) = undrawn(at)?;
    let others =
        inspection.workings.rooms[room].loops.iter().filter(|other| **other != at).filter_map(|at| undrawn(*at));
    let like = others
        .filter(|(_, other, ..)| other.pipe.as_ref().map(|it| &it.value) == own.pipe.as_ref().map(|it| &it.value));
    let (name, _, of_other, other_length, other_dense) = like.min_by(|one, two| one.3.si().total_cmp(&two.3.si()))?;
    // A tenth of a square metre is as well as anyone lays it out.
    let handed = ((length - longest * 0.995) / dense * 10.0).ceil() / 10.0;
    if other_length + other_dense * handed > longest * 0.995 || handed >= area.value.in_square_metres() {
        return None;
    }
    let square_metres = |area: f64| format!("{} m²", (area * 100.0).round() / 100.0);
    let changes = [
        Change { place: area.at, text: square_metres(area.value.in_square_metres() - handed) },
        Change { place: of_other.at, text: square_metres(of_other.value.in_square_metres() + handed) },
    ];
    Remedy::of(format!("let loop {name} heat {handed} m² of its floor"), changes)
}

/// The same loop at the next wider spacing at which it is short enough, while it is neither drawn nor laid and its floor gives enough.
fn wider(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, longest: Length) -> Option<Remedy> {
    let (worked, Subject::Loop(at)) = (it.worked, it.subject) else { return None };
    let (spacing, tails) = (it.given.spacing?, worked.tail_length.as_ref().ok()?);
    let (area, water) = (worked.area_served.as_ref().ok()?, worked.flow_temperature.as_ref().ok()?);
    if worked.route.is_some() || inspection.is_laid() {
        return None;
    }
    let widest = worked.rooms.iter().filter_map(|room| super::spacing_too_wide::widest(inspection, *room));
    let widest = widest.map(|(most, _)| most.value).reduce(Length::min);
    let held = super::spacing_off_module::spacings(inspection, *worked.rooms.first()?);
    let wide = held
        .into_iter()
        .rev()
        .filter(|wider| widest.is_none_or(|widest| *wider <= widest))
        .find(|wider| *wider > spacing.value && area.value / *wider + tails.value <= longest)?;
    let then =
        loop_if(inspection.design, inspection.workings, at, Otherwise { spacing: Some(wide), ..Otherwise::default() });
    let gives_enough = then.and_then(|it| it.flow_temperature_needed.value()).is_ok_and(|needed| needed <= water.value);
    gives_enough.then(|| Remedy::new(format!("lay it at {wide}"), spacing.at, wide.to_string()))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn with_tails(tails: &str) -> String {
        format!("loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: {tails}}}\n")
    }

    /// 12.0 m² at 150 mm is 80 m in the room.
    #[test]
    fn at_the_limit_is_allowed() {
        assert_eq!(messages(&RULE, &with_tails("19.9 m")), [""; 0]);
        assert_eq!(messages(&RULE, &with_tails("20 m")), [""; 0]);
        assert_eq!(messages(&RULE, &with_tails("20.1 m")).len(), 1);
    }

    #[test]
    fn an_unknown_length_is_not_passed() {
        let text = "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, tails: 10 m}\n";
        assert_eq!(not_checked(&RULE, text), ["loops/L1/spacing"]);
    }

    #[test]
    fn the_maker_counts_before_the_trade() {
        let text = with_tails("15 m").replace("PEX-16", "short")
            + "pipes:\n  short: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, longest-loop: 90 m}\n";
        assert_eq!(messages(&RULE, &text), ["loop L1 is 95.0 m; the longest for a 16 mm pipe is 90.0 m"]);
    }
}
