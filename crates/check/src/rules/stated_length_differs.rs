//! The length that a loop states is that of its route.
//!
//! The coil is ordered and the flow is set by the stated length. A route that was changed afterwards makes both
//! wrong, and no one sees it on the sheet.
//!
//! ## How it is worked out
//! The route, drawn, or laid out together with its tails, its corners rounded to the least bend radius, against `length`.
//! Where the tails could not be laid out, those stated are added.
//!
//! ## Limit
//! 5 % of the route's length or 3 m, whichever is more: common practice, no source.
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

/// How much two lengths of a loop may differ of which one is this.
pub(super) fn most(inspection: &Inspection, length: Length) -> LimitValue<Length> {
    let (share, least): (LimitValue<Share>, LimitValue<Length>) =
        (SHARE.get(&RULE, inspection), LENGTH.get(&RULE, inspection));
    LimitValue { value: least.value.max(length * share.value.in_fraction()), ..least }
}

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let Some(stated) = it.given.length else { continue };
        let (place, is, drawn_or_laid) = match (&it.given.route, it.given.layout, &it.worked.laid) {
            (Some(route), ..) => (route.at, "drawn", "drawn length"),
            (None, Some(layout), Some(Ok(_))) => (layout.at, "laid out", "length laid out"),
            _ => continue,
        };
        let without_tails = matches!(&it.worked.laid, Some(Ok(laid)) if laid.without_tails.is_some());
        let (drawn, with_tails) = if without_tails {
            let Some(field) = found.need(it.subject, &it.worked.length_in_room) else { continue };
            let Some(tails) = it.given.tails else {
                found.missing(it.subject, "tails");
                continue;
            };
            (field.value + tails.value, " with its tails as stated")
        } else {
            let Some(drawn) = found.need(it.subject, &it.worked.length) else { continue };
            (drawn.value, "")
        };
        let most = most(inspection, drawn);
        let difference = (stated.value - drawn).abs();
        if difference <= most.value + Length::millimetres(1.0) {
            continue;
        }
        let message = format!(
            "loop {} states {} and is {is} {drawn} long{with_tails}; {} is the most that they may differ",
            it.name, stated.value, most.value
        );
        let in_metres = format!("{:.1} m", drawn.in_metres());
        found.add(
            Finding::new(it.subject, stated.at, message)
                .value(difference)
                .limit(&most)
                .figure(format!("loops.{}.length", it.name))
                .related(place, format!("it is {is} here"))
                .remedy(Remedy::new(format!("state the {drawn_or_laid}, {in_metres}"), stated.at, in_metres)),
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

    /// A meander that leaves its wall for the manifold has its tails laid out; without a place for the manifold it has not.
    #[test]
    fn what_is_laid_out_with_its_tails_is_compared() {
        let laid = |manifold: &str, length: &str| {
            messages(
                &RULE,
                &format!(
                    "rooms:\n  hall: {{temperature: 20 °C, heat-loss: 500 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}}\n\
                     manifolds:\n  M1: {{ports: 4{manifold}}}\n\
                     loops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, layout: meander, tails: 14 m, length: {length}}}\n"
                ),
            )
        };
        let said = laid(", at: [3.9, 1.5]", "40 m");
        let [said] = &said[..] else { panic!("{said:?}") };
        assert!(said.starts_with("loop L1 states 40.0 m and is laid out "), "{said}");
        let metres = said.split("laid out ").nth(1).and_then(|it| it.split(" long").next()).unwrap_or_default();
        assert_eq!(laid(", at: [3.9, 1.5]", metres), [""; 0]);
        // 10.2 m² at 150 mm are some 75 m, and 14 m of tails are stated.
        let [said] = &laid("", "40 m")[..] else { panic!() };
        assert!(said.contains(" long with its tails as stated; "), "{said}");
        let metres = said.split("laid out ").nth(1).and_then(|it| it.split(" long").next()).unwrap_or_default();
        assert!((80.0..95.0).contains(&metres.trim_end_matches(" m").parse::<f64>().unwrap()), "{metres}");
        assert_eq!(laid("", metres), [""; 0]);
    }

    #[test]
    fn a_route_that_cannot_be_followed_is_not_checked() {
        let text = "loops:\n  L1: {room: hall, length: 40 m, route: [[2e8, 0], [2e8, 1]]}\n";
        let reason = "the route cannot be followed: point 1: a coordinate is more than 100,000 km from the origin";
        assert_eq!(not_checked(&RULE, text), [reason]);
        assert_eq!(not_checked(&RULE, "loops:\n  L1: {room: hall, length: 40 m}\n"), [""; 0]);
    }
}
