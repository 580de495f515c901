//! Pipe lies close enough for what the room is used for.
//!
//! Bare feet feel the stripes of a bathroom floor that is laid wide, and a heat pump wants much pipe and cool water. Beyond
//! 300 mm no screed evens the heat out.
//!
//! ## How it is worked out
//! The spacing of each loop against the least limit of the rooms that it heats, and the spacing of each edge zone.
//!
//! ## Limit
//! 150 mm in bathrooms and edge zones, 200 mm in living and dining rooms on a heat pump: trade guidance, one text. 300 mm in
//! screed: from memory.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: bathroom, floor: screeded, area: 6 m², keep-clear: none}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 10 m}
//! #                                                       ^^^^^^ loop L1 is laid at 200 mm in hall, a bathroom; 150 mm is the most
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: bathroom, floor: screeded, area: 6 m², keep-clear: none}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```

use super::prelude::*;
use super::spacing_off_module::{narrower_plates, spacings};
use design::{Place, SourceKind, Use};

pub static RULE: Rule = Rule {
    name: "spacing-too-wide",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[CLOSE, WITH_HEAT_PUMP, IN_SCREED],
    file: include_str!("spacing_too_wide.rs"),
    check,
    ..Rule::USUAL
};

pub(super) const CLOSE: Limit =
    Limit { name: "bathrooms-and-edge-zones", value: "150 mm", source: "trade guidance, one text" };
const WITH_HEAT_PUMP: Limit =
    Limit { name: "living-on-a-heat-pump", value: "200 mm", source: "trade guidance, one text" };
const IN_SCREED: Limit = Limit { name: "in-screed", value: "300 mm", source: "from memory" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    for it in inspection.loops() {
        let Some(spacing) = it.given.spacing else {
            if !it.given.broken && it.given.route.is_none() {
                found.missing(it.subject, "spacing");
            }
            continue;
        };
        let limits = it.worked.rooms.iter().filter_map(|room| {
            let (_, entry) = design.rooms.at(*room)?;
            let (limit, what) = widest(inspection, *room)?;
            Some((limit, what, entry.value.use_.map_or(entry.name_place, |used| used.at)))
        });
        let Some((limit, what, place)) = limits.min_by(|one, other| one.0.value.si().total_cmp(&other.0.value.si()))
        else {
            continue;
        };
        if spacing.value <= limit.value + Length::millimetres(0.1) {
            continue;
        }
        let message = format!("loop {} is laid at {} {what}; {} is the most", it.name, spacing.value, limit.value);
        let finding = Finding::new(it.subject, spacing.at, message).value(spacing.value).limit(&limit);
        // A drawn loop has to be drawn anew, and a number alone would not do.
        let undrawn = it.given.route.is_none();
        let rooms = it.worked.rooms.iter().filter(|_| undrawn);
        let remedy = rooms.copied().next().and_then(|room| closer(inspection, room, limit.value, spacing.at));
        found.add(finding.related(place, "this asks for it").remedy(remedy));
    }
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(spacing) = room.given.edge_zone.as_ref().and_then(|zone| zone.spacing) else { continue };
        let limit: LimitValue<Length> = CLOSE.get(&RULE, inspection);
        if spacing.value > limit.value + Length::millimetres(0.1) {
            let message =
                format!("the edge zone of {} is laid at {}; {} is the most", room.name, spacing.value, limit.value);
            let finding = Finding::new(room.subject, spacing.at, message).value(spacing.value).limit(&limit);
            let Subject::Room(at) = room.subject else { continue };
            found.add(finding.remedy(closer(inspection, at, limit.value, spacing.at)));
        }
    }
}

/// The widest spacing up to a limit that the floor of a room holds, for pipe that is still to be laid.
fn closer(inspection: &Inspection, room: usize, limit: Length, at: Place) -> Option<Remedy> {
    if inspection.is_laid() {
        return None;
    }
    let all = spacings(inspection, room);
    let spacing = all.into_iter().find(|spacing| *spacing <= limit + Length::millimetres(0.1))?;
    let mut remedy = Remedy::new(format!("lay it at {spacing}"), at, spacing.to_string());
    if let Some((change, width)) = narrower_plates(inspection, room, spacing) {
        remedy.title += &format!(" with plates {width} wide");
        remedy.changes.push(change);
    }
    Some(remedy)
}

/// The widest spacing that a room takes, and why.
pub(super) fn widest(inspection: &Inspection, room: usize) -> Option<(LimitValue<Length>, String)> {
    let design = inspection.design;
    let (name, entry) = design.rooms.at(room)?;
    let on_heat_pump = design.heat_source.kind.is_some_and(|kind| kind.value == SourceKind::HeatPump);
    Some(match entry.value.use_.map(|used| used.value) {
        Some(Use::Bathroom) => (CLOSE.get(&RULE, inspection), format!("in {name}, a bathroom")),
        Some(used @ (Use::Living | Use::Dining)) if on_heat_pump => {
            (WITH_HEAT_PUMP.get(&RULE, inspection), format!("in {name}, a {} room on a heat pump", used.word()))
        }
        _ if inspection.workings.has_screed(design, room) == Some(true) => {
            (IN_SCREED.get(&RULE, inspection), format!("in {name}, in screed"))
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn says(source: &str, used: &str, spacing: &str) -> usize {
        let text = format!(
            "heat-source: {{kind: {source}}}\nrooms:\n  hall: {{use: {used}, floor: screeded, area: 9 m²}}\nloops:\n  L1: {{room: hall, spacing: \
             {spacing}}}\n"
        );
        messages(&RULE, &text).len()
    }

    #[test]
    fn by_use_and_source() {
        assert_eq!((says("heat pump", "bathroom", "150 mm"), says("heat pump", "bathroom", "151 mm")), (0, 1));
        assert_eq!((says("heat pump", "living", "200 mm"), says("heat pump", "living", "201 mm")), (0, 1));
        assert_eq!(
            (says("condensing boiler", "living", "300 mm"), says("condensing boiler", "living", "301 mm")),
            (0, 1)
        );
        assert_eq!((says("heat pump", "bedroom", "300 mm"), says("heat pump", "bedroom", "301 mm")), (0, 1));
    }

    #[test]
    fn of_two_rooms_the_stricter_counts_and_edge_zones_are_close() {
        let text = "rooms:\n  hall: {use: hall, area: 9 m²}\n  bath: {use: bathroom, area: 4 m²}\nloops:\n  L1: {room: [hall, bath], spacing: 200 mm}\n";
        assert_eq!(messages(&RULE, text), ["loop L1 is laid at 200 mm in bath, a bathroom; 150 mm is the most"]);
        let zone = "rooms:\n  hall: {use: hall, area: 9 m², edge-zone: {width: 1 m, spacing: 175 mm}}\nloops:\n  L1: {room: hall, spacing: 200 mm}\n";
        assert_eq!(messages(&RULE, zone), ["the edge zone of hall is laid at 175 mm; 150 mm is the most"]);
    }

    /// What lies in a floor is told as it is; nobody can lay it closer.
    #[test]
    fn pipe_that_is_laid_is_not_laid_anew() {
        let offered = |stage: &str| {
            let outcome = check(&format!(
                "project: {{stage: {stage}, revision: P5, issued: 2026-05-04, checker: B. Reader}}\nrooms:\n  bath: {{use: bathroom, floor: \
                 screeded, area: 4 m²}}\nloops:\n  L1: {{room: bath, spacing: 200 mm}}\n"
            ));
            let finding = outcome.findings.into_iter().find(|it| it.rule.name == RULE.name);
            finding.expect("it is too wide at any stage").remedies.len()
        };
        assert_eq!((offered("for construction"), offered("as built")), (1, 0));
    }
}
