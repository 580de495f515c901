//! A layout fits its floor as it is asked for.
//!
//! The program lays a loop out as well as its floor, its spacing and its pipe allow. Where floor stays cold, a turn is
//! tighter than the pipe bends, or another pattern had to be taken, the installer will lay something else than the plan
//! shows, or the room gets less heat than it could.
//!
//! ## How it is worked out
//! The share of the free floor of the room that lies within half a spacing of a run of its loops; the turns of the route
//! against the least bend radius of the pipe, how near it comes to other pipe and to itself; the pattern that was laid; what of an edge zone could not be laid at its closer spacing. Where every loop of a room states its `area`, what
//! is left out is meant to be, and `room-partly-unheated` looks at it.
//!
//! ## Limit
//! 95 % of the free floor at the least, no turn tighter than the pipe bends, 6 mm between one pipe and another, the pattern that
//! is asked for: common practice, no source. A turn that is too tight, pipe too near to pipe, or under 85 % is a warning at any
//! stage; once it is to be built, a turn that is too tight and pipe within pipe are errors, as they are where it is drawn.
//!
//! ```yaml fails
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}
//! manifolds: {M1: {at: [4.9, 2], ports: 2}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 100 mm, layout: meander}
//! #                                                                                ^^^^^^^ the route laid out for loop L1 is a spiral, as the pipe does not bend to a meander at its spacing; a wider spacing or a drawn route may help
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {floor: screeded, outline: [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}
//! manifolds: {M1: {at: [4.9, 2], ports: 2}}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, layout: spiral}
//! ```

use super::departure_without_reason::listed_with;
use super::passage_heated_by_tails::tails;
use super::pipe_too_near_pipe::is_in_pipe;
use super::prelude::*;
use super::rooms_overlap::laid_over_each_other;
use engineering::plan::{Changed, Laid, Uncovered};

pub static RULE: Rule = Rule {
    name: "layout-falls-short",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[LEAST],
    file: include_str!("layout_falls_short.rs"),
    check,
    ..Rule::USUAL
};

const LEAST: Limit = Limit { name: "laid-out", value: "95 %", source: "common practice, no source" };

/// Less than this is a warning at any stage.
const FAR_SHORT: Share = Share::percent(85.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let least: LimitValue<Share> = LEAST.get(&RULE, inspection);
    for (at, it) in inspection.loops().enumerate() {
        let Some((laid, layout)) = laid(inspection, at).zip(it.given.layout) else { continue };
        let cold: Vec<(usize, Share)> = laid
            .rooms
            .iter()
            .copied()
            .filter(|(room, _)| first_of(inspection, *room, least.value) == Some(at))
            .collect();
        let mut short = Vec::new();
        let mut helps = Vec::new();
        let covers = cold.iter().filter_map(|&(room, covered)| {
            let (name, _) = inspection.design.rooms.at(room)?;
            Some(format!("{} of the free floor of {name}", covered))
        });
        let covers: Vec<String> = covers.collect();
        let mut why = String::new();
        if !covers.is_empty() {
            let reason = |reason: &Uncovered| match reason {
                Uncovered::Tails(area) => left_to_tails(inspection, *area, &cold),
                other => other.to_string(),
            };
            let reasons: Vec<String> = laid.uncovered.iter().map(reason).collect();
            if !reasons.is_empty() {
                why = format!(" ({})", reasons.join(", "));
            }
            short.push(format!("covers {}, {} is the least", covers.join(" and "), least.value));
            match laid.uncovered.iter().any(|reason| matches!(reason, Uncovered::Tails(_))) {
                true => helps.push("fewer tails through the room"),
                false => helps.extend(["another spacing", "a second loop"]),
            }
        }
        if laid.zone_left > Area::ZERO {
            short.push(format!("lays {} of the edge zone no closer than the rest of the floor", laid.zone_left));
        }
        let tight = &laid.tight_turns;
        if let Some(worst) =
            tight.iter().min_by(|one, other| one.largest_radius.si().total_cmp(&other.largest_radius.si()))
        {
            let turns = match tight.len() {
                1 => "a turn that is tighter than its pipe bends".to_string(),
                count => format!("{count} turns that are tighter than its pipe bends, the worst"),
            };
            short.push(format!("has {turns} at [{:.2}, {:.2}]", worst.at.x, worst.at.y));
        }
        let too_near =
            laid.too_near.filter(|near| near.other.is_none_or(|other| !laid_over_each_other(inspection, at, other)));
        if let Some(near) = too_near {
            let other = near.other.and_then(|other| inspection.design.loops.at(other));
            let what = other.map_or("itself".to_string(), |(name, _)| format!("loop {name}"));
            short.push(format!(
                "comes within {} of {what} at [{:.2}, {:.2}], middle to middle",
                near.gap, near.at.x, near.at.y
            ));
        }
        match laid.changed_pattern {
            Some(Changed::Spacing) => {
                short.push("is a spiral, as the pipe does not bend to a meander at its spacing".into());
                helps.push("a wider spacing");
            }
            Some(Changed::Floor) => {
                short.push(
                    "is a spiral, as turns of a meander on this floor would be tighter than the pipe bends".into(),
                );
            }
            None => {}
        }
        if !tight.is_empty() || too_near.is_some() {
            helps.push("another place of the manifold");
        }
        if short.is_empty() {
            continue;
        }
        helps.push("a drawn route");
        // The reasons come last: a long message is cut short on a narrow page.
        let message = format!(
            "the route laid out for loop {} {}; {} may help{why}",
            it.name,
            short.join(" and "),
            listed_with("or", &helps)
        );
        let mut finding = Finding::new(it.subject, layout.at, message).source(least.source);
        for &(room, _) in &cold {
            finding = finding.value(laid.covered).limit(&least);
            for &other in inspection.workings.rooms[room].loops.iter().filter(|other| **other != at) {
                if let Some((name, entry)) = inspection.design.loops.at(other) {
                    finding = finding.related(entry.name_place, format!("loop {name} lies in the same room"));
                }
            }
        }
        let spiral = laid.changed_pattern.map(|_| Remedy::new("ask for a spiral", layout.at, "spiral"));
        // Nobody could lay that, however early it is.
        let is_grave = !tight.is_empty() || too_near.is_some() || cold.iter().any(|(_, covered)| *covered < FAR_SHORT);
        let outside = it.worked.pipe.as_ref().map_or(Length::ZERO, |pipe| pipe.outside);
        let in_pipe = too_near.is_some_and(|near| is_in_pipe(near.gap, outside));
        let weight = match RULE.weight(inspection.design.stage()) {
            Hint if is_grave => Warning,
            Error if tight.is_empty() && !in_pipe => Warning,
            usual => usual,
        };
        found.add_as(weight, finding.remedy(spiral));
    }
}

/// What is said of floor that is left to tails of other loops: insulated tails warm nothing.
fn left_to_tails(inspection: &Inspection, area: Area, cold: &[(usize, Share)]) -> String {
    let loops: Vec<_> = inspection.loops().collect();
    let mut rooms: Vec<usize> = cold.iter().map(|(room, _)| *room).collect();
    rooms.sort_unstable();
    let passing: Vec<(usize, Length)> = tails(inspection, &loops, &rooms).into_iter().flatten().collect();
    let is_insulated =
        |at: usize| loops.get(at).and_then(|it| it.given.insulated_tails).is_some_and(|it| it.value > Length::ZERO);
    let is_bare = passing.iter().any(|(_, bare)| *bare > Length::ZERO);
    match passing.iter().any(|(at, _)| is_insulated(*at)) {
        true if is_bare => format!("{area} of the floor is left to tails of other loops, which are insulated in part"),
        true => format!("{area} of the floor is left to tails of other loops, which are insulated and do not warm it"),
        false => Uncovered::Tails(area).to_string(),
    }
}

/// How a loop was laid out, if it was.
fn laid<'i>(inspection: &Inspection<'i>, at: usize) -> Option<&'i Laid> {
    inspection.workings.loops.get(at)?.laid.as_ref()?.as_ref().ok()
}

/// The loop by which it is told that the layouts of a room leave too much of it cold: that of the first port, whichever way
/// the loops follow each other in the file.
fn first_of(inspection: &Inspection, room: usize, least: Share) -> Option<usize> {
    let loops = &inspection.workings.rooms.get(room)?.loops;
    let is_cold = |laid: &Laid| laid.rooms.iter().any(|(of, covered)| *of == room && *covered < least);
    // What could not be laid out at all is told by itself.
    let is_laid = |at: &usize| inspection.workings.loops.get(*at).is_none_or(|it| !matches!(it.laid, Some(Err(_))));
    let loops: Vec<usize> = loops.iter().copied().filter(is_laid).collect();
    let all = loops.iter().all(|at| laid(inspection, *at).is_some_and(is_cold));
    let with_area = |at: &usize| inspection.design.loops.at(*at).is_some_and(|(_, it)| it.value.area.is_some());
    let by_port = |at: &usize| {
        let (name, it) = inspection.design.loops.at(*at)?;
        let manifold = it.value.manifold.as_ref().map(|it| it.value.name.as_str());
        let port = it.value.port.map_or(u32::MAX, |port| port.value);
        Some((manifold, port, name.len(), name))
    };
    loops.iter().copied().min_by_key(by_port).filter(|_| all && !loops.iter().all(with_area))
}

/// Whether this rule tells how much of a room stays cold.
pub(super) fn tells_of(inspection: &Inspection, room: usize) -> bool {
    first_of(inspection, room, LEAST.get::<Share>(&RULE, inspection).value).is_some()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::{check, messages};

    fn text(outline: &str, more: &str) -> String {
        format!(
            "rooms:\n  hall: {{floor: screeded, outline: {outline}, keep-clear: none}}\nmanifolds: {{M1: {{at: [0.1, 0.1], ports: \
             2}}}}\nloops:\n  L1: {{manifold: M1, port: 1, room: hall, pipe: PEX-16, {more}}}\n"
        )
    }

    /// A room with a long nook that is too narrow for a run there and back: nothing else speaks of the cold floor.
    #[test]
    fn cold_floor_is_told_once() {
        let nook = "[[0, 0], [3, 0], [3, 3], [7, 3], [7, 3.25], [3, 3.25], [3, 3.3], [0, 3.3]]";
        let text = text(nook, "spacing: 200 mm, layout: spiral");
        let said = messages(&RULE, &text);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("of the free floor of hall, 95 % is the least"), "{said:?}");
        let outcome = check(&text);
        for name in
            ["room-partly-unheated", "cold-strip-at-outside-wall", "spacing-drawn-not-as-stated", "bend-too-tight"]
        {
            assert!(outcome.findings.iter().all(|it| it.rule.name != name), "{name}");
        }
    }

    /// Beside a unit at the door of a hall pipe has to bend tighter than it can; what nobody can build is not issued to be built.
    #[test]
    fn a_turn_that_is_too_tight_is_an_error_once_it_is_to_be_built() {
        let room = |name: &str, from: f64, to: f64| {
            format!(
                "  {name}: {{floor: screeded, outline: [[1.3, {from}], [4.5, {from}], [4.5, {to}], [1.3, {to}]], keep-clear: none}}\n"
            )
        };
        let rooms = [room("r0", 0.0, 2.6), room("r1", 2.7, 5.3), room("r2", 5.4, 8.0)].concat();
        let of_loop = |name: &str, port: u8, room: &str, layout: &str| {
            format!(
                "  {name}: {{manifold: M1, port: {port}, room: {room}, pipe: PEX-16, spacing: 150 mm, layout: {layout}}}\n"
            )
        };
        let loops =
            [of_loop("L1", 4, "r0", "spiral"), of_loop("L2", 3, "r1", "meander"), of_loop("L3", 1, "r2", "meander")];
        let text = format!(
            "rooms:\n  hall: {{outline: [[0, 0], [1.2, 0], [1.2, 8], [0, 8]], keep-clear: {{unit: [[0.3, 0], [0.9, 0], [0.9, 0.5], [0.3, \
             0.5]]}}}}\n{rooms}walls: {{W1: {{line: [[1.25, 0], [1.25, 8]], thickness: 100 mm}}}}\nopenings: {{D0: {{wall: W1, from: 0.2 m, to: \
             1.1 m}}, D1: {{wall: W1, from: 2.9 m, to: 3.8 m}}, D2: {{wall: W1, from: 6 m, to: 6.9 m}}}}\nmanifolds: {{M1: {{at: [0.05, 1.64], \
             ports: 5}}}}\nloops:\n{}",
            loops.concat()
        );
        let mut told = 0;
        for (stage, weight) in [("for comment", Severity::Warning), ("for construction", Severity::Error)] {
            let outcome = check(&format!("project: {{name: Mill, stage: {stage}}}\n{text}"));
            let of_rule = outcome.findings.iter().filter(|it| it.rule.name == RULE.name);
            for it in of_rule.filter(|it| it.message.contains("tighter than its pipe bends")) {
                assert_eq!(it.severity, weight, "{stage}: {}", it.message);
                told += 1;
            }
        }
        assert!(told >= 2, "{told}");
    }

    /// Insulated tails warm no floor, and nobody says that they do.
    #[test]
    fn insulated_tails_warm_nothing() {
        let room = |name: &str, outline: &str| {
            format!("  {name}: {{floor: screeded, outline: [{outline}], keep-clear: none}}\n")
        };
        let rooms = [
            room("living", "[0, 0], [5, 0], [5, 4.2], [0, 4.2]"),
            room("hall", "[5.1, 0], [6.6, 0], [6.6, 3], [10, 3], [10, 4.2], [5.1, 4.2]"),
            room("bedroom", "[6.7, 0], [10, 0], [10, 2.9], [6.7, 2.9]"),
            room("bathroom", "[5.1, 4.3], [7.4, 4.3], [7.4, 7.5], [5.1, 7.5]"),
            room("study", "[7.5, 4.3], [10, 4.3], [10, 7.5], [7.5, 7.5]"),
        ];
        let of_loop = |(port, room): (usize, &str), more: &str| {
            format!(
                "  L{port}: {{manifold: M1, port: {port}, room: {room}, pipe: PEX-16, spacing: 200 mm, layout: meander{more}}}\n"
            )
        };
        let said = |insulated: [&str; 2]| {
            let [one, more] = insulated;
            let others = [(1, "living"), (4, "bedroom"), (5, "bathroom"), (6, "study"), (7, "living")];
            let others = others.map(|it| of_loop(it, if it.0 == 6 { one } else { more })).concat();
            let text = format!(
                "rooms:\n{}walls:\n  W1: {{line: [[5.05, 0], [5.05, 7.5]], thickness: 100 mm}}\n  W2: {{line: [[0, 4.25], [10, 4.25]], \
                 thickness: 100 mm}}\n  W4: {{line: [[6.6, 2.95], [10, 2.95]], thickness: 100 mm}}\nopenings:\n  D1: {{wall: W1, from: 3 m, \
                 to: 3.9 m}}\n  D3: {{wall: W2, from: 5.4 m, to: 6.2 m}}\n  D4: {{wall: W2, from: 8 m, to: 8.8 m}}\n  D5: {{wall: W4, from: \
                 0.6 m, to: 1.4 m}}\nmanifolds: {{M1: {{at: [5.2, 1.5], ports: 7}}}}\nloops:\n{}{others}",
                rooms.concat(),
                of_loop((3, "hall"), ""),
            );
            let said = messages(&RULE, &text);
            let of_hall = said.into_iter().find(|it| it.contains("of the free floor of hall"));
            of_hall.expect("the hall is left to tails")
        };
        let all = ", insulated-tails: 40 m";
        assert!(said(["", ""]).contains("tails of other loops, which warm it"));
        assert!(said([all, ""]).contains("tails of other loops, which are insulated in part"));
        assert!(said([all, all]).contains("tails of other loops, which are insulated and do not warm it"));
    }

    /// Of two loops in a cold room that of the first port is told, whichever stands first.
    #[test]
    fn the_order_of_the_loops_does_not_matter() {
        let nook = "[[0, 0], [3, 0], [3, 3], [7, 3], [7, 3.25], [3, 3.25], [3, 3.3], [0, 3.3]]";
        let of_loop = |name: &str, port: u8| {
            format!(
                "  {name}: {{manifold: M1, port: {port}, room: hall, pipe: PEX-16, spacing: 200 mm, layout: spiral}}\n"
            )
        };
        let head = text(nook, "");
        let head = &head[..head.find("  L1:").unwrap()];
        let [one, other] = [of_loop("L1", 2), of_loop("L2", 1)];
        let said = messages(&RULE, &format!("{head}{one}{other}"));
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("loop L2"), "{said:?}");
        assert_eq!(messages(&RULE, &format!("{head}{other}{one}")), said);
    }

    /// A loop with too little floor to be laid out does not hide how cold the room is.
    #[test]
    fn a_loop_that_is_not_laid_out_hides_nothing() {
        let nook = "[[0, 0], [3, 0], [3, 3], [7, 3], [7, 3.25], [3, 3.25], [3, 3.3], [0, 3.3]]";
        let other =
            "  L2: {manifold: M1, port: 2, room: hall, pipe: PEX-16, spacing: 400 mm, area: 0.3 m², layout: spiral}\n";
        let text = format!("{}{other}", text(nook, "spacing: 200 mm, layout: spiral"));
        let not_laid = messages(&crate::rules::layout_not_laid_out::RULE, &text);
        assert!(not_laid.iter().any(|it| it.contains("loop L2 is not laid out")), "{not_laid:?}");
        let said = messages(&RULE, &text);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("loop L1") && said[0].contains("of the free floor of hall"), "{said:?}");
    }

    #[test]
    fn a_plain_room_and_a_drawn_route_are_let_pass() {
        let plain = "[[0, 0], [5, 0], [5, 4], [0, 4]]";
        assert_eq!(messages(&RULE, &text(plain, "spacing: 150 mm, layout: spiral")), [""; 0]);
        let drawn = "spacing: 150 mm, layout: spiral, route: [[0.1, 0.1], [4, 0.1], [4, 0.25], [0.1, 0.25]]";
        assert_eq!(messages(&RULE, &text(plain, drawn)), [""; 0]);
    }
}
