//! A hall does not get its heat from the tails of other rooms.
//!
//! The tails are warm whenever the rooms behind call for heat, and no thermostat in the hall can stop them. It is too warm
//! when they run and cold when they do not.
//!
//! ## How it is worked out
//! The drawn pipe in a hall of loops that do not heat it, less what `insulated-tails` say. With the free floor of the hall it
//! gives a mean distance from pipe to pipe. What the hall's floor gives at that distance, at most 300 mm, with the water as it comes
//! through and the temperature of the hall (EN 1264-2), over the hall's heat loss. A hall without a floor of its own is taken to have
//! that of the loop's room.
//!
//! ## Limit
//! 70 % of the heat loss, and no closer than 100 mm: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: hall, temperature: 18 °C, heat-loss: 60 W, outline: [[0, 0], [1.5, 0], [1.5, 3], [0, 3]]}
//! # ^^^^ tails of other rooms give hall 470 W of its 60 W, 783.8 %; 70 % is the most
//!   study: {use: office, temperature: 20 °C, heat-loss: 300 W, floor: screeded, outline: [[1.6, 0], [5, 0], [5, 3], [1.6, 3]]}
//! loops:
//!   L1: {manifold: M1, room: study, pipe: PEX-16, spacing: 150 mm, route: [[0.1, 0.1], [0.1, 2.9], [0.2, 2.9], [0.2, 0.1], [0.3, 0.1], [0.3, 2.9], [0.4, 2.9], [0.4, 0.1], [0.5, 0.1], [0.5, 2.9], [0.6, 2.9], [0.6, 0.1], [0.7, 0.1], [0.7, 2.9], [0.8, 2.9], [0.8, 0.1], [0.9, 0.1], [0.9, 2.9], [1.0, 2.9], [1.0, 0.1], [1.1, 0.1], [1.1, 2.9], [1.2, 2.9], [1.2, 0.1], [1.3, 0.1], [1.3, 2.9], [1.4, 2.9], [1.4, 0.1], [4.9, 0.1], [4.9, 0.25], [1.4, 0.25], [1.4, 0.4], [4.9, 0.4], [4.9, 0.55], [1.4, 0.55], [1.4, 0.5], [0.15, 0.5]]}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: hall, temperature: 18 °C, heat-loss: 60 W, outline: [[0, 0], [1.5, 0], [1.5, 3], [0, 3]]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 300 W, floor: screeded, outline: [[1.6, 0], [5, 0], [5, 3], [1.6, 3]]}
//! loops:
//!   L1: {manifold: M1, room: study, pipe: PEX-16, spacing: 150 mm, route: [[1.4, 0.1], [4.9, 0.1], [4.9, 0.25], [1.7, 0.25], [1.7, 0.4], [4.9, 0.4], [4.9, 0.55], [1.4, 0.55]]}
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use crate::remedy::add_key;
use design::{Loop, Use};
use workings::{Gap, LoopWorkings, ValueOf};

pub static RULE: Rule = Rule {
    name: "passage-heated-by-tails",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[SHARE, CLOSEST],
    file: include_str!("passage_heated_by_tails.rs"),
    check,
    ..Rule::USUAL
};

const SHARE: Limit = Limit { name: "share-of-the-heat-loss", value: "70 %", source: "common practice, no source" };
const CLOSEST: Limit = Limit { name: "pipe-to-pipe", value: "100 mm", source: "common practice, no source" };

/// Tails shorter than this in all warm no hall.
const LITTLE: Length = Length::metres(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let (share, closest): (LimitValue<Share>, LimitValue<Length>) =
        (SHARE.get(&RULE, inspection), CLOSEST.get(&RULE, inspection));
    let loops: Vec<_> = inspection.loops().collect();
    let halls: Vec<usize> = inspection
        .rooms()
        .enumerate()
        .filter(|(_, room)| room.given.use_.is_some_and(|used| used.value == Use::Hall))
        .map(|(at, _)| at)
        .collect();
    if halls.is_empty() {
        return;
    }
    let tails = tails(inspection, &loops, &halls);
    let not_drawn = loops.iter().find(|it| !matches!(it.worked.route, Some(Ok(_))));
    for (at, room) in inspection.rooms().enumerate() {
        let Ok(place) = halls.binary_search(&at) else { continue };
        let elsewhere = |it: &&Item<Loop, LoopWorkings>| !it.worked.rooms.contains(&at);
        if !matches!(room.worked.outline, Some(Ok(_))) {
            if room.given.outline.is_none() && !room.given.broken && loops.iter().any(|it| elsewhere(&it)) {
                found.missing(room.subject, "outline");
            }
            continue;
        }
        if let Some(it) = not_drawn.filter(elsewhere) {
            is_drawn(it, found);
            continue;
        }
        let of_hall = &tails[place];
        let length: Length = of_hall.iter().map(|(_, length)| *length).sum();
        if length <= LITTLE {
            continue;
        }
        let Some(free) = found.need(room.subject, &room.worked.free_area) else { continue };
        let apart = free.value / length;
        let told = |message: String| {
            let mut finding = Finding::new(room.subject, room.place, message);
            for (at, length) in of_hall.iter().take(20) {
                finding = finding.related(loops[*at].place, format!("{length} of loop {} lie here", loops[*at].name));
            }
            finding.remedy(insulated(inspection, &loops, of_hall))
        };
        if apart < closest.value - Length::millimetres(0.1) {
            let message =
                format!("tails of other rooms lie {apart} apart in {}; {} is the least", room.name, closest.value);
            found.add(told(message).value(apart).limit(&closest));
            continue;
        }
        let Some(loss) = found.need(room.subject, &room.worked.heat_loss) else { continue };
        if loss.value <= Power::ZERO {
            continue;
        }
        let heat: Result<Power, (usize, Gap)> = of_hall
            .iter()
            .map(|(of_loop, _)| {
                let worked = loops[*of_loop].worked;
                worked.heat_up.value().map_err(|gap| (*of_loop, gap))?;
                let here = worked.heat_in_rooms.iter().filter(|(room, _)| *room == at);
                Ok(here.map(|(_, heat)| heat.value).sum())
            })
            .try_fold(Power::ZERO, |sum, heat: Result<Power, _>| Ok(sum + heat?.max(Power::ZERO)));
        let heat = match heat {
            Ok(heat) => heat,
            Err((of_loop, gap)) => {
                found.not_checked(Subject::Loop(of_loop), &gap);
                continue;
            }
        };
        let of_loss = Share::fraction(heat / loss.value);
        if of_loss <= share.value {
            continue;
        }
        let message = format!(
            "tails of other rooms give {} {heat} of its {}, {of_loss}; {} is the most",
            room.name, loss.value, share.value
        );
        found.add(told(message).value(of_loss).limit(&share));
    }
}

/// The bare pipe in each hall, the halls in order, of the loops that do not heat it.
pub(super) fn tails(
    inspection: &Inspection,
    loops: &[Item<Loop, LoopWorkings>],
    halls: &[usize],
) -> Vec<Vec<(usize, Length)>> {
    let mut tails = vec![Vec::new(); halls.len()];
    for (at, it) in loops.iter().enumerate() {
        let mut insulated = it.given.insulated_tails.map_or(Length::ZERO, |it| it.value);
        for stretch in &inspection.workings.plan.stretches[at] {
            let Some(place) = stretch.room.and_then(|room| halls.binary_search(&room).ok()) else { continue };
            if it.worked.rooms.contains(&halls[place]) {
                continue;
            }
            let length = stretch.length;
            let bare = (length - insulated).max(Length::ZERO);
            insulated = (insulated - length).max(Length::ZERO);
            let of_hall: &mut Vec<(usize, Length)> = &mut tails[place];
            match of_hall.last_mut() {
                Some((last, before)) if *last == at => *before += bare,
                _ => of_hall.push((at, bare)),
            }
        }
    }
    tails
}

/// The tails insulated as far as they lie in the hall.
fn insulated(inspection: &Inspection, loops: &[Item<Loop, LoopWorkings>], tails: &[(usize, Length)]) -> Option<Remedy> {
    let changes =
        tails.iter().filter(|(at, _)| loops[*at].given.insulated_tails.is_none()).filter_map(|(at, length)| {
            add_key(inspection, loops[*at].given.place, &format!("insulated-tails: {} m", length.in_metres().ceil()))
        });
    Remedy::of("insulate the tails in the hall", changes)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    /// A hall of 1.5 m by 3 m with so many pairs of tails through it.
    fn text(pairs: usize, loss: &str) -> String {
        let mut route = String::new();
        for pair in 0..pairs {
            let (x, back) = (0.1 + 0.28 * pair as f64, 0.24 + 0.28 * pair as f64);
            route += &format!("[{x:.2}, 0.1], [{x:.2}, 2.9], [{back:.2}, 2.9], [{back:.2}, 0.1], ");
        }
        format!(
            "rooms:\n  hall: {{use: hall, temperature: 18 °C, heat-loss: {loss}, outline: [[0, 0], [1.5, 0], [1.5, 3], [0, 3]]}}\n  study: {{use: \
             office, temperature: 20 °C, heat-loss: 300 W, floor: screeded, outline: [[1.6, 0], [5, 0], [5, 3], [1.6, 3]]}}\nloops:\n  L1: \
             {{manifold: M1, room: study, pipe: PEX-16, spacing: 150 mm, route: [{route}[4.9, 0.1], [4.9, 0.25], [1.7, 0.25], [1.7, 0.4], [4.9, \
             0.4], [4.9, 0.55], [1.4, 0.55]]}}\n"
        )
    }

    #[test]
    fn seven_tenths_of_the_heat_loss() {
        assert_eq!(messages(&RULE, &text(4, "900 W")), [""; 0]);
        let warm = messages(&RULE, &text(4, "200 W"));
        assert!(warm.len() == 1 && warm[0].starts_with("tails of other rooms give hall "), "{warm:?}");
        assert_eq!(messages(&RULE, &text(0, "20 W")), [""; 0]);
        assert_eq!(messages(&RULE, &text(4, "0 W")), [""; 0]);
    }

    #[test]
    fn a_tenth_of_a_metre_from_tail_to_tail() {
        let says = |runs: usize| {
            let mut route = String::new();
            for run in 0..runs {
                let x = 0.06 + 0.09 * run as f64;
                let (near, far) = if run % 2 == 0 { (0.05, 2.95) } else { (2.95, 0.05) };
                route += &format!("[{x:.2}, {near}], [{x:.2}, {far}], ");
            }
            messages(&RULE, &text(0, "5000 W").replace("route: [", &format!("route: [{route}")))
        };
        assert_eq!(says(14), [""; 0]);
        let dense = says(16);
        assert!(dense.len() == 1 && dense[0].starts_with("tails of other rooms lie 9"), "{dense:?}");
    }

    #[test]
    fn insulation_is_offered() {
        let outcome = check(&text(4, "200 W"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.remedies[0].changes[0].text.starts_with(", insulated-tails: 2"), "{:?}", finding.remedies);
    }

    #[test]
    fn what_is_not_drawn_is_not_checked() {
        let undrawn = text(4, "200 W").replace("route: [", "tails: 6 m} # [");
        assert_eq!(not_checked(&RULE, &undrawn), ["loops/L1/route"]);
        let no_outline = "rooms:\n  hall: {use: hall, area: 4 m²}\n  study: {area: 9 m²}\n";
        assert_eq!(not_checked(&RULE, no_outline), ["rooms/hall/outline"]);
    }
}
