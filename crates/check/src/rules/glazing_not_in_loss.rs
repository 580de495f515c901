//! All the glass of a room is in its heat loss.
//!
//! Rooflights and sliding doors come late, after the heat loss was worked out; a square metre of glass loses as much as ten of wall.
//!
//! ## How it is worked out
//! Of a room with a stated heat loss: each of its `glazing` is said not to be in it; what is missing is area x u-value x (room - outdoors).
//! Where the heat loss is worked out from `fabric`, the glazing is counted in with its area and u-value.
//!
//! ## Limit
//! Every piece of glass with its area and u-value: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 500 W, floor: screeded, area: 12 m², height: 2.4 m, glazing: {roof: {kind: rooflight, area: 2 m², u-value: 1.4 W/(m²·K), in-heat-loss: false}}}
//! #                                                                                                                                                                                           ^^^^^ the heat loss of room hall leaves out its rooflight roof, which loses 64 W
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 564 W, floor: screeded, area: 12 m², height: 2.4 m, glazing: {roof: {kind: rooflight, area: 2 m², u-value: 1.4 W/(m²·K), in-heat-loss: true}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use crate::remedy::Change;

pub static RULE: Rule = Rule {
    name: "glazing-not-in-loss",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("glazing_not_in_loss.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        for (name, entry) in room.given.glazing.iter() {
            let glazing = &entry.value;
            let Some(loss) = room.given.heat_loss else {
                // Worked out from the fabric, the glass counts as far as it is known.
                let known = glazing.area.is_some() && glazing.u_value.is_some();
                if !known && !glazing.in_heat_loss.is_some_and(|it| it.value) && !glazing.broken {
                    let key = if glazing.area.is_none() { "glazing/…/area" } else { "glazing/…/u-value" };
                    found.missing(room.subject, key);
                }
                continue;
            };
            let Some(counted) = glazing.in_heat_loss else {
                if !glazing.broken {
                    found.missing(room.subject, "glazing/…/in-heat-loss");
                }
                continue;
            };
            if counted.value {
                continue;
            }
            let (inside, outdoors) = (room.given.temperature, inspection.design.site.outdoor_temperature);
            let missing = || Some(glazing.u_value?.value * (inside?.value - outdoors?.value) * glazing.area?.value);
            let missing = missing();
            let kind = glazing.kind.map_or("window", |kind| kind.value.word());
            let watts = missing.map(|watts| format!(", which loses {watts}")).unwrap_or_default();
            let message = format!("the heat loss of room {} leaves out its {kind} {name}{watts}", room.name);
            let mut finding = Finding::new(room.subject, counted.at, message).source("common practice, no source");
            if let Some(missing) = missing {
                let all = loss.value + missing;
                let changes = [
                    Change { place: loss.at, text: all.to_string() },
                    Change { place: counted.at, text: "true".to_string() },
                ];
                finding = finding.value(missing).remedy(Remedy::of(format!("add {missing} to the heat loss"), changes));
            }
            found.add(finding.related(loss.at, "the heat loss"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn hall(of: &str) -> String {
        format!("rooms: {{hall: {{temperature: 20 °C, {of}, floor: screeded, area: 12 m², height: 2.4 m}}}}\n")
    }

    /// 2 m² x 1.4 W/(m²·K) x 23 K = 64.4 W (plain physics).
    #[test]
    fn what_is_left_out_is_worked_out() {
        let text = hall("heat-loss: 500 W, glazing: {a: {area: 2 m², u-value: 1.4 W/(m²·K), in-heat-loss: false}}");
        assert_eq!(messages(&RULE, &text), ["the heat loss of room hall leaves out its window a, which loses 64 W"]);
        let unknown = hall("heat-loss: 500 W, glazing: {a: {in-heat-loss: false}}");
        assert_eq!(messages(&RULE, &unknown), ["the heat loss of room hall leaves out its window a"]);
    }

    #[test]
    fn it_asks_what_it_does_not_know() {
        let stated = hall("heat-loss: 500 W, glazing: {a: {area: 2 m²}}");
        assert_eq!(not_checked(&RULE, &stated), ["rooms/hall/glazing/…/in-heat-loss"]);
        let fabric = hall("fabric: {wall: {area: 9 m², u-value: 0.2 W/(m²·K)}}, glazing: {a: {area: 2 m²}}");
        assert_eq!(not_checked(&RULE, &fabric), ["rooms/hall/glazing/…/u-value"]);
    }
}
