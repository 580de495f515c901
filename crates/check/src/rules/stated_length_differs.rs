//! The length that a loop states is that of its drawn route.
//!
//! The coil is ordered and the flow is set by the stated length. A route that was changed afterwards makes both
//! wrong, and no one sees it on the sheet.
//!
//! ## How it is worked out
//! The drawn route, its corners rounded to the least bend radius, against `length`.
//!
//! ## Limit
//! 5 % of the drawn length or 3 m, whichever is more: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, length: 50 m, route: [[0, 0], [40, 0], [40, 0.2], [0, 0.2]]}
//! #                          ^^^^ loop L1 states 50.0 m and is drawn 80.2 m long; 4.0 m is the most that they may differ
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {room: hall, length: 80.2 m, route: [[0, 0], [40, 0], [40, 0.2], [0, 0.2]]}
//! ```

use super::prelude::*;
use crate::limit::LimitValue;

pub static RULE: Rule = Rule {
    name: "stated-length-differs",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[SHARE, LENGTH],
    file: include_str!("stated_length_differs.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-the-length", value: "5 %", source: "common practice, no source" };
const LENGTH: Limit = Limit { name: "difference", value: "3 m", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (share, least): (LimitValue<Share>, LimitValue<Length>) = (SHARE.get(), LENGTH.get());
    for it in inspection.loops() {
        let (Some(stated), Some(route)) = (it.given.length, &it.given.route) else { continue };
        let Some(drawn) = found.need(it.subject, &it.worked.length) else { continue };
        let most = LimitValue { value: least.value.max(drawn.value * share.value.in_fraction()), ..least };
        let difference = (stated.value - drawn.value).abs();
        if difference <= most.value + Length::millimetres(1.0) {
            continue;
        }
        let message = format!(
            "loop {} states {} and is drawn {} long; {} is the most that they may differ",
            it.name, stated.value, drawn.value, most.value
        );
        let in_metres = format!("{:.1} m", drawn.value.in_metres());
        found.add(
            Finding::new(it.subject, stated.at, message)
                .value(difference)
                .limit(&most)
                .figure(format!("loops.{}.length", it.name))
                .related(route.at, "it is drawn here")
                .remedy(Remedy::new(format!("state the drawn length, {in_metres}"), stated.at, in_metres)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn says(stated: &str, route: &str) -> usize {
        messages(&RULE, &format!("loops:\n  L1: {{room: hall, length: {stated}, route: {route}}}\n")).len()
    }

    #[test]
    fn three_metres_or_five_per_cent() {
        let forty = "[[0, 0], [40, 0]]";
        assert_eq!((says("43 m", forty), says("43.1 m", forty), says("36.9 m", forty)), (0, 1, 1));
        let hundred = "[[0, 0], [100, 0]]";
        assert_eq!((says("95 m", hundred), says("94.9 m", hundred), says("105.1 m", hundred)), (0, 1, 1));
    }

    #[test]
    fn a_route_that_cannot_be_followed_is_not_checked() {
        let text = "loops:\n  L1: {room: hall, length: 40 m, route: [[0, 0], [1e9, 0]]}\n";
        let reason = "the route cannot be followed: point 2: a coordinate is more than 100,000 km from the origin";
        assert_eq!(not_checked(&RULE, text), [reason]);
        assert_eq!(not_checked(&RULE, "loops:\n  L1: {room: hall, length: 40 m}\n"), [""; 0]);
    }
}
