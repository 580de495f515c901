//! Little of the floor's heat goes down.
//!
//! What goes into the ground or the open air is paid for all winter and warms no one, and the loops have to carry it as well.
//!
//! ## How it is worked out
//! Heat downward of the loops of each room at design, q_u = (R_o·q + room - below) / R_u (EN 1264-2), over the area that they heat and over
//! their heat upward. The worst room counts.
//!
//! ## Limit
//! 10 W/m² over the ground and outdoor air: one trade text; above it the finding has its full weight. Above 10 % of the heat upward it is
//! information: common practice, no source; the same text asks of the layers below the pipe ten times the resistance of those above.
//!
//! ## Exceptions
//! Where the insulation is missing or under the minimum of EN 1264-4 those rules speak.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 45 °C, temperature-drop: 5 K}
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 45 mm, conductivity: 0.036 W/(m·K)}
//! #                                  ^^^^^ floor screeded gives 18.4 W/m² downward in study, 17 % of what it gives upward; at most 10.0 W/m² is sound
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 45 °C, temperature-drop: 5 K}
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: polyethylene membrane, thickness: 0.2 mm}
//!       - {material: EPS, thickness: 90 mm, conductivity: 0.036 W/(m·K)}
//!       - {material: damp-proof membrane, thickness: 0.3 mm}
//!       - {material: concrete slab, thickness: 150 mm}
//! ```

use super::insulation_below_minimum::wanted;
use super::prelude::*;
use crate::insulation;
use crate::layers::FloorItem;
use design::Below;
use workings::{Gap, ValueOf};

pub static RULE: Rule = Rule {
    name: "downward-loss-too-high",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[FLUX, SHARE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &["insulation-missing", "insulation-below-minimum", "void-insulation-missing"],
    file: include_str!("downward_loss_too_high.rs"),
    check,
    ..Rule::USUAL
};

const TRADE: &str = "one trade text, for floors on the ground and over outdoor air";
const FLUX: Limit = Limit { name: "most", value: "10 W/m²", source: TRADE };
const SHARE: Limit = Limit { name: "most-of-the-heat-upward", value: "10 %", source: SHARE_SOURCE };
const SHARE_SOURCE: &str =
    "common practice, no source; one trade text asks of the layers below ten times the resistance of those above";

/// What goes down and up in a room.
struct Downward {
    room: usize,
    down: HeatFlux,
    up: HeatFlux,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let (flux, share) = (FLUX.get::<HeatFlux>(&RULE, inspection), SHARE.get::<Share>(&RULE, inspection));
    for floor in inspection.floors() {
        let Some(below) = floor.given.below else { continue };
        if !matches!(below.value, Below::Ground | Below::OutdoorAir)
            || floor.worked.loops.is_empty()
            || floor.given.broken
        {
            continue;
        }
        // Too little insulation even for the heating is said by its own rules.
        let insulation = floor.worked.insulation_below.as_ref().ok().map(|it| it.value);
        if let (Ok(least), Some(insulation)) = (wanted(inspection, below.value), insulation)
            && insulation < least.value - ThermalResistance::square_metre_kelvin_per_watt(1e-6)
        {
            continue;
        }
        let Some(worst) = worst_room(inspection, found, &floor) else { continue };
        let part = Share::fraction(worst.down / worst.up);
        let name = inspection.design.rooms.at(worst.room).map_or("?", |(name, _)| name);
        let over_flux = worst.down > flux.value;
        if !over_flux && part <= share.value {
            continue;
        }
        let says = |value: String, rest: String, most: String| {
            format!("floor {} gives {value} downward in {name}, {rest}; at most {most} is sound", floor.name)
        };
        let rounded = format!("{:.0} % of what it gives upward", part.in_percent());
        let (message, allowed) = if over_flux {
            let (value, most) = apart(worst.down, flux.value);
            (says(value, rounded, most), flux.value)
        } else {
            let (value, most) = apart(part, share.value);
            (
                says(worst.down.to_string(), format!("{value} of what it gives upward"), most),
                worst.up * share.value.in_fraction(),
            )
        };
        let better = insulation::enough(inspection, &floor);
        let place = better.as_ref().map_or(below.at, |(place, _)| *place);
        let limit = if over_flux { flux.with(flux.value) } else { share.with(allowed) };
        let finding = Finding::new(floor.subject, place, message)
            .value(worst.down)
            .limit(&limit)
            .figure(format!("floors.{}.resistance-below", floor.name))
            .related(Subject::Room(worst.room).place(inspection.design), "the room in which most goes down")
            .related(below.at, "what lies below")
            .remedy(better.map(|(_, remedy)| remedy));
        if over_flux {
            found.add(finding);
        } else {
            found.add_as(if RULE.weight(inspection.design.stage()) == Hint { Hint } else { Information }, finding);
        }
    }
}

/// The room of a floor in which most goes down for what goes up.
fn worst_room(inspection: &Inspection, found: &mut Findings, floor: &FloorItem) -> Option<Downward> {
    let mut worst: Option<Downward> = None;
    for room in &floor.worked.rooms {
        if inspection.workings.rooms[*room].loops.is_empty() {
            continue;
        }
        match of_room(inspection, *room) {
            Ok(it) if worst.as_ref().is_none_or(|worst| it.down > worst.down) => worst = Some(it),
            Ok(_) => {}
            Err(gap) => found.not_checked(Subject::Room(*room), &gap),
        }
    }
    worst
}

fn of_room(inspection: &Inspection, room: usize) -> Result<Downward, Gap> {
    let (mut down, mut up, mut area) = (Power::ZERO, Power::ZERO, Area::ZERO);
    for at in &inspection.workings.rooms[room].loops {
        let it = &inspection.workings.loops[*at];
        let share = it.share_in(room);
        down += it.heat_down.value()? * share;
        up += it.heat_up.value()? * share;
        area += it.area_served.value()? * share;
    }
    if area <= Area::ZERO || up <= Power::ZERO {
        return Err(Gap::NoMethod("the loops heat nothing".into()));
    }
    Ok(Downward { room, down: down / area, up: up / area })
}

/// How much more resistance below the pipe lets no more down than is allowed in any room; nothing where it is so already.
pub(crate) fn wanting(inspection: &Inspection, floor: &FloorItem) -> Option<ThermalResistance> {
    let below = floor.given.below?.value;
    if !matches!(below, Below::Ground | Below::OutdoorAir) {
        return None;
    }
    let over = |down: HeatFlux, up: HeatFlux| {
        down / FLUX
            .get::<HeatFlux>(&RULE, inspection)
            .value
            .min(up * SHARE.get::<Share>(&RULE, inspection).value.in_fraction())
    };
    let rooms = floor.worked.rooms.iter().filter(|room| !inspection.workings.rooms[**room].loops.is_empty());
    let now = rooms.filter_map(|room| of_room(inspection, *room).ok()).map(|it| (over(it.down, it.up), it.room));
    let (now, room) = now.max_by(|one, other| one.0.total_cmp(&other.0)).filter(|(now, _)| *now > 1.0)?;
    let first = floor.worked.resistance_below.as_ref().ok()?.value * (now - 1.0);
    let at = *inspection.workings.rooms[room].loops.first()?;
    let (up, down) = workings::fluxes_if(inspection.design, inspection.workings, at, first).ok()?;
    let then = over(down, up);
    // What goes down is one over a sum of resistances: two points tell it. The mean water warms a little once less goes
    // down: 2 % more.
    let whole = if now - then > 1e-6 { first * (then / (now - then)) } else { first };
    Some(whole * (now * 1.02 - 1.0))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    /// 100 mm at 0.022 W/(m·K) lets under 10 % down at 55 W/m²; 45 mm at 0.036, the least of EN 1264-4, does not.
    #[test]
    fn thin_insulation_lets_more_than_a_tenth_down() {
        let floor = |board: &str| {
            format!(
                "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    layers:\n      - {{material: cement \
                 screed, thickness: 65 mm, pipe: at base}}\n      - {{material: polyethylene membrane}}\n      - {board}\n"
            )
        };
        assert!(messages(&RULE, &floor("{material: PIR board, thickness: 100 mm}")).is_empty());
        let outcome = check(&floor("{material: EPS, thickness: 60 mm, conductivity: 0.036 W/(m·K)}"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.severity, crate::Severity::Warning);
    }
}
