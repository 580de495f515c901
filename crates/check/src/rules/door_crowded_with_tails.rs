//! No more tails pass a doorway than there is room for.
//!
//! Tails of a whole storey bunch up in the one doorway beside the manifold. Closer than 50 mm they cannot be clipped, the
//! screed does not get between them, and the threshold becomes the hottest place of the house.
//!
//! ## How it is worked out
//! The passes of drawn routes through the opening, against its clear width less 50 mm at each jamb, over 50 mm.
//!
//! ## Limit
//! (clear width - 100 mm) / 50 mm: common practice, no source.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! openings:
//!   D1: {wall: W1, from: 1 m, to: 1.25 m}
//! # ^^ 4 tails pass through D1; there is room for 3 at 50 mm in its 250 mm
//! loops:
//!   L1: {room: hall, route: [[6, 1.05], [1, 1.05], [1, 1.1], [6, 1.1]]}
//!   L2: {room: study, route: [[6, 1.15], [1, 1.15], [1, 1.2], [6, 1.2]]}
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[5, 0], [5, 4]], thickness: 100 mm}
//! openings:
//!   D1: {wall: W1, from: 1 m, to: 1.3 m}
//! loops:
//!   L1: {room: hall, route: [[6, 1.05], [1, 1.05], [1, 1.1], [6, 1.1]]}
//!   L2: {room: study, route: [[6, 1.15], [1, 1.15], [1, 1.2], [6, 1.2]]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::for_each_crossing;
use design::Place;
use workings::Crossed;

pub static RULE: Rule = Rule {
    name: "door-crowded-with-tails",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[APART, AT_JAMBS],
    file: include_str!("door_crowded_with_tails.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "apart", value: "50 mm", source: "common practice, no source" };
const AT_JAMBS: Limit = Limit { name: "at-both-jambs", value: "100 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.openings.is_empty() {
        return;
    }
    let mut passes: Vec<Vec<(usize, usize, Place)>> = vec![Vec::new(); design.openings.len()];
    for_each_crossing(inspection, found, |it, crossing, passages, _| {
        if let (Crossed::Opening(opening), Subject::Loop(at)) = (crossing.what, it.subject) {
            let place = crossing.passages.first().map_or(it.place, |at| passages[*at].place);
            passes[opening].push((at, crossing.passages.len(), place));
        }
    });
    let (apart, at_jambs): (LimitValue<Length>, LimitValue<Length>) =
        (APART.get(&RULE, inspection), AT_JAMBS.get(&RULE, inspection));
    for (at, ((name, entry), loops)) in design.openings.iter().zip(&passes).enumerate() {
        let opening = &entry.value;
        let wide = opening.clear_width.or_else(|| {
            let (from, to) = (opening.from?, opening.to?);
            Some(design::Placed { value: (to.value - from.value).abs(), at: to.at })
        });
        let (Some(wide), false) = (wide, loops.is_empty()) else { continue };
        let room = ((wide.value - at_jambs.value) / apart.value + 1e-6).floor().max(0.0);
        let tails: usize = loops.iter().map(|(_, tails, _)| tails).sum();
        if tails as f64 <= room {
            continue;
        }
        let message = format!(
            "{tails} tails pass through {name}; there is room for {room} at {} in its {}",
            apart.value, wide.value
        );
        let limit = apart.with(Number::new(room));
        let mut finding = Finding::new(Subject::Opening(at), entry.name_place, message)
            .value(Number::new(tails as f64))
            .limit(&limit);
        for (at, tails, place) in loops.iter().take(50) {
            let name = design.loops.at(*at).map_or("", |(name, _)| name);
            finding = finding.related(*place, format!("{tails} of them are of loop {name}"));
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    /// So many loops through a doorway of 838 mm clear in a wall along y.
    fn text(loops: usize) -> String {
        let one = |at: usize| {
            let y = 2.03 + 0.05 * at as f64;
            let (x, back) = (1.0 + 0.1 * at as f64, y + 0.025);
            format!("  L{at}: {{room: hall, route: [[-1, {y}], [{x}, {y}], [{x}, {back}], [-1, {back}]]}}\n")
        };
        let loops: String = (0..loops).map(one).collect();
        format!(
            "walls:\n  W1: {{line: [[0, 0], [0, 5]]}}\nopenings:\n  D1: {{wall: W1, from: 2 m, to: 2.9 m, clear-width: 838 mm}}\nloops:\n{loops}"
        )
    }

    /// Worked example of the rules' catalogue: 838 mm clear has room for 14; ten tails pass, sixteen do not.
    #[test]
    fn fourteen_tails_through_a_door() {
        assert_eq!(messages(&RULE, &text(5)), [""; 0]);
        assert_eq!(messages(&RULE, &text(7)), [""; 0]);
        assert_eq!(
            messages(&RULE, &text(8)),
            ["16 tails pass through D1; there is room for 14 at 50 mm in its 838 mm"]
        );
        let outcome = check(&text(8));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.related.len(), 8);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        assert_eq!(not_checked(&RULE, &format!("{}  L9: {{room: hall}}\n", text(1))), ["loops/L9/route"]);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
    }
}
