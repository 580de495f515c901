//! No room asks more of its floor than any floor can give.
//!
//! A cold glazed room cannot be cured once the floor is down; another emitter has to be planned now.
//!
//! ## How it is worked out
//! What the floor has to give (heat loss, without that of the floor itself and without other emitters) over the free area.
//!
//! ## Limit
//! 100 W/m²: what a surface 9 K over its room gives, EN 1264-2 basic characteristic. It holds whatever the water temperature.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1596 W, floor: screeded, area: 12 m², height: 2.4 m}
//! #                                                    ^^^^^^ room hall needs 133.0 W/m² of its floor; no floor gives more than 100.0 W/m² without becoming too warm, 396 W are left for another emitter
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 1596 W, floor: screeded, area: 12 m², height: 2.4 m, other-emitters: {trench: {output: 900 W}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::LimitValue;
use crate::inspection::Item;
use design::Room;
use workings::RoomWorkings;

pub static RULE: Rule = Rule {
    name: "floor-cannot-give-this-much",
    group: Group::HeatOutput,
    weights: [Warning, Error, Error, Error],
    limits: &[MOST],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    file: include_str!("floor_cannot_give_this_much.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "most", value: "100 W/m²", source: "EN 1264-2, basic characteristic at 9 K over the room" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { continue };
        let Some((flux, limit)) = beyond(&room) else { continue };
        let Ok(free) = &room.worked.free_area else { continue };
        let short = needed.value - limit.value * free.value;
        let message = format!(
            "room {} needs {flux} of its floor; no floor gives more than {} without becoming too warm, {short} are left for another emitter",
            room.name, limit.value
        );
        let place = room.given.heat_loss.map_or(room.place, |loss| loss.at);
        found.add(
            Finding::new(room.subject, place, message)
                .value(flux)
                .limit(&limit)
                .figure(format!("rooms.{}.heat-needed", room.name)),
        );
    }
}

/// The heat that a room needs of each square metre, and the limit, where it is over that.
pub(super) fn beyond(room: &Item<Room, RoomWorkings>) -> Option<(HeatFlux, LimitValue<HeatFlux>)> {
    let (needed, free) = (room.worked.heat_needed.as_ref().ok()?, room.worked.free_area.as_ref().ok()?);
    let limit = MOST.get::<HeatFlux>();
    if free.value <= Area::ZERO {
        return None;
    }
    let flux = needed.value / free.value;
    (flux > limit.value).then_some((flux, limit))
}
