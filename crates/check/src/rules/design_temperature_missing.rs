//! The temperature that each heated room is to have is stated, and that of the coldest day outdoors.
//!
//! All heat follows from the two; without them no output, flow or surface temperature means anything.
//!
//! ## How it is worked out
//! The site has no `outdoor-temperature`, or a room with loops no `temperature`.
//!
//! ## Limit
//! Both given: common practice, no source. The remedy inserts usual values, marked as assumed: living rooms 21 °C, bathrooms 22 °C,
//! bedrooms 18 °C.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m}
//! # ^^^^ room hall is heated, and nothing says to what temperature
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, temperature: 21 °C, assumed: [temperature]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use design::Use;

pub static RULE: Rule = Rule {
    name: "design-temperature-missing",
    group: Group::DesignFile,
    weights: [Information, Warning, Error, Error],
    file: include_str!("design_temperature_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut heated = inspection.rooms().filter(|room| !room.worked.loops.is_empty()).peekable();
    let site = &inspection.design.site;
    if heated.peek().is_some() && site.outdoor_temperature.is_none() && !site.broken && inspection.is_read(site.place) {
        let message = "the design has no outdoor temperature; nothing says how cold the coldest day is";
        let place = if site.place.start < site.place.end { site.place } else { inspection.design.project.place };
        found.add(Finding::new(Subject::Site, place, message).source("common practice, no source"));
    }
    for room in heated {
        if room.given.temperature.is_some() || room.given.broken || !inspection.is_read(room.given.place) {
            continue;
        }
        let message = format!("room {} is heated, and nothing says to what temperature", room.name);
        let usual = room.given.use_.and_then(|of_use| usual(of_use.value)).filter(|_| room.given.assumed.is_empty());
        let remedy = usual.and_then(|celsius| {
            let keys = match inspection.text(room.given.place).starts_with('{') {
                true => format!("temperature: {celsius} °C, assumed: [temperature]"),
                false => format!("temperature: {celsius} °C\nassumed: [temperature]"),
            };
            let change = add_key(inspection, room.given.place, &keys);
            Remedy::of(format!("assume {celsius} °C for now"), change)
        });
        let finding = Finding::new(room.subject, room.place, message).source("common practice, no source");
        found.add(finding.remedy(remedy));
    }
}

/// The usual temperature of a use, in °C.
fn usual(of_use: Use) -> Option<u8> {
    match of_use {
        Use::Living | Use::Dining => Some(21),
        Use::Bathroom => Some(22),
        Use::Bedroom => Some(18),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn the_coldest_day_is_asked() {
        assert_eq!(
            messages(&RULE, "site: {jurisdiction: England}\n"),
            ["the design has no outdoor temperature; nothing says how cold the coldest day is"]
        );
    }

    #[test]
    fn what_cannot_be_read_is_not_missing() {
        assert!(messages(&RULE, "site: {outdoor-temperature: -3, jurisdiction: England}\n").is_empty());
        let room = "rooms: {hall: {use: living, temperature: warm, heat-loss: 600 W, floor: screeded, area: 12 m²}}\n";
        assert!(messages(&RULE, room).is_empty());
    }
}
