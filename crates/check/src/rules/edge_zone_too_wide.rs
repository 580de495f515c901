//! The strip in which pipe is laid closer along outside walls is a metre deep at the most.
//!
//! Such a strip may be warmer than the rest of the floor because no one stands there for long. Deeper in the room
//! someone does.
//!
//! ## How it is worked out
//! `width` of the room's `edge-zone`.
//!
//! ## Limit
//! 1.0 m: the peripheral area of EN 1264-2 and -3, from two secondary texts.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, area: 12 m², edge-zone: {width: 1.2 m, spacing: 100 mm}}
//! #                                                         ^^^^^ the edge zone of hall is 1.2 m deep; 1.0 m is the most
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {floor: screeded, area: 12 m², edge-zone: {width: 1 m, spacing: 100 mm}}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "edge-zone-too-wide",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[MOST],
    file: include_str!("edge_zone_too_wide.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "depth-of-an-edge-zone", value: "1 m", source: "EN 1264-2 and -3, from two secondary texts" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most: LimitValue<Length> = MOST.get(&RULE, inspection);
    for room in inspection.rooms() {
        let Some(zone) = &room.given.edge_zone else { continue };
        let Some(width) = zone.width else {
            if !zone.broken {
                found.missing(room.subject, "edge-zone/width");
            }
            continue;
        };
        if width.value <= most.value + Length::millimetres(0.1) {
            continue;
        }
        let message = format!("the edge zone of {} is {} deep; {} is the most", room.name, width.value, most.value);
        found.add(Finding::new(room.subject, width.at, message).value(width.value).limit(&most).remedy(Remedy::new(
            "trim it to 1.0 m",
            width.at,
            "1 m",
        )));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn one_metre() {
        let text = |zone: &str| format!("rooms:\n  hall: {{area: 12 m², edge-zone: {{{zone}}}}}\n");
        assert_eq!(messages(&RULE, &text("width: 1 m")).len(), 0);
        assert_eq!(messages(&RULE, &text("width: 1001 mm")).len(), 1);
        assert_eq!(not_checked(&RULE, &text("spacing: 100 mm")), ["rooms/hall/edge-zone/width"]);
    }
}
