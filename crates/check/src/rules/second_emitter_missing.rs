//! A room that needs more than its covering bears has another emitter.
//!
//! Wood and glued coverings cap what the floor may give well below what a tiled floor gives. Either the covering is cooked, or its limiter
//! stops the floor on the coldest day: what is left over has to come from somewhere that is on the drawing.
//!
//! ## How it is worked out
//! What the floor has to give (heat loss, without that of the floor itself and without other emitters) over the free area; the surface that
//! gives it, by the basic characteristic of EN 1264-2, against what the covering bears.
//!
//! ## Limit
//! 27 °C at the surface of wood (about 64 W/m² at 21 °C) and at the underside of resilient coverings: the limits of `timber-covering-too-warm`
//! and `resilient-covering-too-warm`. In France 28 °C in every room, order of 23 June 1978.
//!
//! ## Exceptions
//! Beyond what any floor gives `floor-cannot-give-this-much` speaks.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 21 °C, heat-loss: 900 W, floor: screeded, area: 12 m², height: 2.4 m, covering: [{material: oak, thickness: 14 mm, held: glued}]}
//! #                                                    ^^^^^ room hall needs 75.0 W/m² of its floor, which makes its covering 27.9 °C; at 27.0 °C the floor gives 64.0 W/m², and no emitter is named for the other 132 W
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 21 °C, heat-loss: 900 W, floor: screeded, area: 12 m², height: 2.4 m, covering: [{material: oak, thickness: 14 mm, held: glued}], other-emitters: {radiator: {output: 140 W, kind: radiator}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::floor_cannot_give_this_much::beyond;
use super::prelude::*;
use super::room_short_of_heat::RoomItem;
use crate::remedy::add_key;
use crate::zones::top_of_floor;
use design::Jurisdiction;
use engineering::heat::materials::Kind as Material;
use engineering::heat::surface;

pub static RULE: Rule = Rule {
    name: "second-emitter-missing",
    group: Group::HeatOutput,
    weights: [Information, Warning, Error, Error],
    limits: &[COVERING, FRANCE],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("second_emitter_missing.rs"),
    check,
    ..Rule::USUAL
};

const COVERING: Limit = Limit {
    name: "most-of-the-covering",
    value: "27 °C",
    source: "flooring guidance that complements BS 8201, and BS 8203, as trade and warranty texts give them",
};
const FRANCE: Limit =
    Limit {
        name: "france", value: "28 °C", source: "French order of 23 June 1978, article 35, as two pages quote it"
    };

/// What a room asks of its covering.
pub(super) struct Asked {
    needed: HeatFlux,
    /// What the covering becomes when it gives that.
    becomes: Temperature,
    limit: LimitValue<Temperature>,
    /// What the floor gives at the limit.
    gives: HeatFlux,
    left: Power,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        if found.need(room.subject, &room.worked.heat_needed).is_none() {
            continue;
        }
        if room.given.other_emitters.values().any(|emitter| emitter.output.is_none() && !emitter.broken) {
            found.missing(room.subject, "other-emitters/…/output");
        }
        let Some(asked) = beyond_covering(inspection, &room) else { continue };
        let (becomes, most) = (asked.becomes, asked.limit.value);
        let message = format!(
            "room {} needs {} of its floor, which makes its covering {becomes}; at {most} the floor gives {}, and no emitter is named for the other {}",
            room.name, asked.needed, asked.gives, asked.left
        );
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        found.add(
            Finding::new(room.subject, place, message)
                .value(asked.becomes)
                .limit(&asked.limit)
                .figure(format!("rooms.{}.heat-needed", room.name))
                .remedy(emitter(inspection, &room, "radiator", "radiator", asked.left)),
        );
    }
}

/// An emitter for what is left over, in whole steps of 10 W, where the room names none yet.
pub(super) fn emitter(inspection: &Inspection, room: &RoomItem, name: &str, kind: &str, left: Power) -> Option<Remedy> {
    let output = Power::watts((left.in_watts() / 10.0).ceil().max(1.0) * 10.0);
    let key = format!("other-emitters: {{{name}: {{output: {output}, kind: {kind}}}}}");
    let change = room.given.other_emitters.is_empty().then(|| add_key(inspection, room.given.place, &key))?;
    Remedy::of(format!("add a {kind} of {output}"), change)
}

/// What is left of a room's need beyond what its floor gives with the water it gets, that cooling by the design drop, and a
/// little more; nothing where the water is warm enough.
pub(super) fn left_over(inspection: &Inspection, room: &RoomItem) -> Power {
    let (Ok(needed), Some(inside)) = (&room.worked.heat_needed, room.given.temperature) else { return Power::ZERO };
    let short = room.worked.loops.iter().filter_map(|at| {
        let it = &inspection.workings.loops[*at];
        let (water, wanted) = (it.flow_temperature.as_ref().ok()?, it.flow_temperature_needed.as_ref().ok()?);
        let drop = wanted.inputs.iter().find(|input| input.name == "temperature-drop").map_or(5.0, |input| input.value);
        // What a floor gives goes with its mean water over the room.
        let excess = |water: Temperature| (water - inside.value).in_kelvin() - drop / 2.0;
        (excess(wanted.value) > 0.0).then(|| 1.0 - excess(water.value) / excess(wanted.value))
    });
    // Its loops are laid out for no more than any floor gives.
    let of_floor = beyond(inspection, room)
        .zip(room.worked.free_area.as_ref().ok())
        .map(|((_, most), free)| most.value * free.value);
    let of_floor = of_floor.unwrap_or(needed.value);
    (needed.value - of_floor * (1.0 - short.fold(0.0, f64::max).min(1.0))) * 1.03
}

/// What a room asks of its covering, where that is more than the covering bears.
pub(super) fn beyond_covering(inspection: &Inspection, room: &RoomItem) -> Option<Asked> {
    if beyond(inspection, room).is_some() {
        return None;
    }
    let (needed, free) = (room.worked.heat_needed.as_ref().ok()?.value, room.worked.free_area.as_ref().ok()?.value);
    let inside = room.given.temperature?.value;
    if free <= Area::ZERO {
        return None;
    }
    let french = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::France);
    let (limit, under) = match top_of_floor(inspection, room.worked)? {
        kind if kind.is_timber() => (COVERING.get::<Temperature>(&RULE, inspection), ThermalResistance::ZERO),
        Material::Resilient => (
            COVERING.get(&RULE, inspection),
            super::resilient_covering_too_warm::top_resistance(inspection, room.worked)?,
        ),
        _ if french => (FRANCE.get(&RULE, inspection), ThermalResistance::ZERO),
        _ => return None,
    };
    let becomes = |flux: HeatFlux| Some(surface::under(surface::mean(flux, inside).ok()?, flux, under));
    let needed_flux = needed / free;
    let hot = becomes(needed_flux)?;
    if hot <= limit.value {
        return None;
    }
    // The heat at the limit lies between nothing and what is needed.
    let (mut low, mut high) = (HeatFlux::ZERO, needed_flux);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if becomes(middle)? > limit.value { high = middle } else { low = middle }
    }
    Some(Asked { needed: needed_flux, becomes: hot, limit, gives: low, left: needed - low * free })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn hall(loss: &str, more: &str) -> String {
        format!(
            "rooms: {{hall: {{use: living, temperature: 21 °C, heat-loss: {loss}, floor: screeded, area: 10 m², height: 2.4 m, {more}}}}}\n"
        )
    }
    const OAK: &str = "covering: [{material: oak, thickness: 14 mm, held: glued}]";

    /// 8.92 x 6^1.1 = 64.0 W/m² at 21 °C (EN 1264-2, basic characteristic).
    #[test]
    fn wood_at_27_degrees_gives_64_watts() {
        assert!(messages(&RULE, &hall("640 W", OAK)).is_empty());
        assert_eq!(messages(&RULE, &hall("642 W", OAK)).len(), 1);
        assert!(messages(&RULE, &hall("642 W", "covering: [{material: tile, thickness: 10 mm}]")).is_empty());
    }

    #[test]
    fn short_of_heat_it_says_it_alone() {
        let text = hall("900 W", OAK);
        assert_eq!(messages(&RULE, &text).len(), 1);
        assert!(messages(&super::super::room_short_of_heat::RULE, &text).is_empty());
    }

    #[test]
    fn an_emitter_without_its_output_is_asked_for_it() {
        let text = hall("642 W", &format!("{OAK}, other-emitters: {{stove: {{kind: stove}}}}"));
        assert!(not_checked(&RULE, &text).contains(&"rooms/hall/other-emitters/…/output".to_string()));
    }
}
