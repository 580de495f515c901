//! A heat loss that is stated agrees with the room's fabric, where both are given.
//!
//! One of the two is from another day: a wall was insulated, a window grew, the air tightness was a wish. The floor is designed for the
//! figure that is stated.
//!
//! ## How it is worked out
//! The stated heat loss against the sum of the room's elements, its glazing and its air, by the simplified method of EN 12831-1.
//!
//! ## Limit
//! Within 10 %: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, air-change-rate: 0.5 1/h, fabric: {wall: {area: 16 m², u-value: 0.9 W/(m²·K)}, window: {area: 2 m², u-value: 1.4 W/(m²·K)}}}
//! #                                                    ^^^^^ the heat loss of room hall is stated as 600 W; its fabric and air make it 508 W, 15 % less
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 508 W, floor: screeded, area: 12 m², height: 2.4 m, air-change-rate: 0.5 1/h, fabric: {wall: {area: 16 m², u-value: 0.9 W/(m²·K)}, window: {area: 2 m², u-value: 1.4 W/(m²·K)}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "stated-heat-loss-differs",
    group: Group::HeatOutput,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[WITHIN],
    file: include_str!("stated_heat_loss_differs.rs"),
    check,
    ..Rule::USUAL
};

const WITHIN: Limit = Limit { name: "within", value: "10 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let within = WITHIN.get::<Share>(&RULE, inspection);
    for room in inspection.rooms() {
        let (Some(stated), Some(by_fabric)) = (room.given.heat_loss, &room.worked.loss_by_fabric) else { continue };
        let Some(by_fabric) = found.need(room.subject, by_fabric) else { continue };
        let differs = by_fabric.value - stated.value;
        let most = stated.value * within.value.in_fraction();
        if by_fabric.value <= Power::ZERO || stated.value <= Power::ZERO || (differs <= most && -differs <= most) {
            continue;
        }
        let share = 100.0 * (differs / stated.value);
        let message = format!(
            "the heat loss of room {} is stated as {}; its fabric and air make it {}, {:.0} % {}",
            room.name,
            stated.value,
            by_fabric.value,
            share.abs(),
            if share > 0.0 { "more" } else { "less" }
        );
        let text = by_fabric.value.to_string();
        found.add(
            Finding::new(room.subject, stated.at, message)
                .value(stated.value)
                .limit(&within.with(by_fabric.value))
                .figure(format!("rooms.{}.heat-loss-by-fabric", room.name))
                .remedy(Remedy::new(format!("state {text}"), stated.at, text)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn hall(loss: &str, more: &str) -> String {
        format!(
            "rooms: {{hall: {{temperature: 20 °C, heat-loss: {loss}, floor: screeded, area: 12 m², height: 2.4 m{more}, fabric: {{wall: \
             {{area: 20 m², u-value: 1 W/(m²·K)}}}}}}}}\n"
        )
    }

    /// By hand, 23 K over the outdoors: 20 m² x 1 W/(m²·K) x 23 K = 460 W, and 0.34 x 0.5 x 28.8 m³ x 23 K = 113 W.
    #[test]
    fn ten_per_cent_pass() {
        let air = ", air-change-rate: 0.5 1/h";
        assert_eq!(messages(&RULE, &hall("573 W", air)), [""; 0]);
        assert_eq!(messages(&RULE, &hall("522 W", air)), [""; 0]);
        assert_eq!(messages(&RULE, &hall("630 W", air)), [""; 0]);
        assert_eq!(messages(&RULE, &hall("640 W", air)).len(), 1);
        assert_eq!(messages(&RULE, &hall("515 W", air)).len(), 1);
        assert_eq!(not_checked(&RULE, &hall("573 W", "")), ["rooms/hall/air-change-rate"]);
    }
}
