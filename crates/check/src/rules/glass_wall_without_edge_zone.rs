//! High glass has an edge zone of closer pipe before it, or an emitter.
//!
//! Cold air falls down glass and runs over the floor; who sits there is cold though the room is warm.
//!
//! ## How it is worked out
//! A window or glazed door of a heated room stands higher than the limit, and the room has no edge zone with a spacing and no other emitter.
//!
//! ## Limit
//! An edge zone of 0.5 to 1.0 m before glass over 1.8 m high: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 550 W, floor: screeded, area: 11 m², height: 2.4 m, glazing: {doors: {kind: door, area: 5 m², height: 2.1 m, in-heat-loss: true}}}
//! #                                                                                                                                                          ^^^^^ the glass of doors in room hall stands 2.1 m high; above 1.8 m it wants an edge zone of closer pipe before it, or an emitter
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 550 W, floor: screeded, area: 11 m², height: 2.4 m, glazing: {doors: {kind: door, area: 5 m², height: 2.1 m, in-heat-loss: true}}, edge-zone: {width: 1 m, spacing: 100 mm}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use super::room_short_of_heat::closer_than;
use super::spacing_too_wide::CLOSE;
use crate::remedy::add_key;
use design::GlazingKind;

pub static RULE: Rule = Rule {
    name: "glass-wall-without-edge-zone",
    group: Group::HeatOutput,
    weights: [Hint, Information, Information, Information],
    limits: &[HIGHEST],
    file: include_str!("glass_wall_without_edge_zone.rs"),
    check,
    ..Rule::USUAL
};

const HIGHEST: Limit = Limit { name: "highest-glass", value: "1.8 m", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let highest = HIGHEST.get::<Length>(&RULE, inspection);
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let helped = room.given.edge_zone.is_some() || !room.given.other_emitters.is_empty();
        if helped || !inspection.is_read(room.given.place) {
            continue;
        }
        // One edge zone helps all the glass of a room: one finding, at the highest.
        let mut high: Vec<(&str, design::Placed<Length>)> = Vec::new();
        for (name, entry) in room.given.glazing.iter() {
            let glazing = &entry.value;
            match glazing.height {
                _ if glazing.kind.is_some_and(|kind| kind.value == GlazingKind::Rooflight) => {}
                Some(height) if height.value > highest.value => high.push((name, height)),
                Some(_) => {}
                None => found.missing(room.subject, "glazing/…/height"),
            }
        }
        high.sort_by(|one, other| other.1.value.in_metres().total_cmp(&one.1.value.in_metres()));
        let Some((name, height)) = high.first() else { continue };
        let (value, most) = (height.value, highest.value);
        let message = format!(
            "the glass of {name} in room {} stands {value} high; above {most} it wants an edge zone of closer pipe before it, or an emitter",
            room.name
        );
        // What its floor holds next to 100 mm, and no wider than an edge zone may be.
        let held = closer_than(
            inspection,
            &room,
            CLOSE.get::<Length>(&super::spacing_too_wide::RULE, inspection).value + Length::millimetres(1.0),
        );
        let off = |spacing: &Length| (spacing.in_millimetres() - 100.0).abs();
        let zone = held.min_by(|one, other| off(one).total_cmp(&off(other))).and_then(|spacing| {
            let change =
                add_key(inspection, room.given.place, &format!("edge-zone: {{width: 1 m, spacing: {spacing}}}"));
            Remedy::of(format!("lay an edge zone of 1 m at {spacing}"), change)
        });
        let mut finding =
            Finding::new(room.subject, height.at, message).value(height.value).limit(&highest).remedy(zone);
        for (_, other) in &high[1..] {
            finding = finding.related(other.at, "this glass as well");
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn hall(more: &str) -> String {
        format!("rooms: {{hall: {{temperature: 20 °C, heat-loss: 550 W, floor: screeded, area: 11 m², {more}}}}}\n")
    }

    /// Common practice, no source: 1.8 m.
    #[test]
    fn a_window_of_1_8_m_needs_none() {
        assert!(messages(&RULE, &hall("glazing: {a: {height: 1.8 m}}")).is_empty());
        assert_eq!(messages(&RULE, &hall("glazing: {a: {height: 1.81 m}, b: {height: 2.2 m}}")).len(), 1);
        assert!(messages(&RULE, &hall("glazing: {a: {kind: rooflight, height: 2.2 m}}")).is_empty());
        let trench = "glazing: {a: {height: 2.2 m}}, other-emitters: {trench: {output: 300 W}}";
        assert!(messages(&RULE, &hall(trench)).is_empty());
    }
}
