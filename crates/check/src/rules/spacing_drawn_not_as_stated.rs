//! A loop is drawn at the spacing that it states.
//!
//! Heat and length are worked out with the stated spacing; the installer lays what is drawn. Where the two
//! differ the room gets another heat than the sheet says.
//!
//! ## How it is worked out
//! In the rooms that the loop heats, each of its runs is held against the nearest run beside it, of this loop
//! or of another in the room. Turns between runs do not count. A run with none beside it within three spacings
//! is not as stated either. In a room with an edge zone the spacing of the zone is as good as the loop's. Of a loop that
//! keeps its `layout` beside the route half of the length is enough: it was laid out to fit a floor that is no multiple of
//! its spacing.
//!
//! ## Limit
//! Within 15 % of the stated spacing on nine tenths of the length: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {outline: [[0, 0], [6, 0], [6, 1.5], [0, 1.5]]}
//! loops:
//!   L1:
//!     room: hall
//!     spacing: 200 mm
//! #            ^^^^^^ loop L1 states 200 mm and is drawn at 150 mm; 0 % of its runs are within 15 % of that, 90 % are wanted
//!     route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.25], [0.1, 0.25], [0.1, 0.4], [5.9, 0.4], [5.9, 0.55], [0.1, 0.55]]
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {outline: [[0, 0], [6, 0], [6, 1.5], [0, 1.5]]}
//! loops:
//!   L1:
//!     room: hall
//!     spacing: 150 mm
//!     route: [[0.1, 0.1], [5.9, 0.1], [5.9, 0.25], [0.1, 0.25], [0.1, 0.4], [5.9, 0.4], [5.9, 0.55], [0.1, 0.55]]
//! ```

use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use engineering::plan::RunSpacing;
use workings::place_along;

pub static RULE: Rule = Rule {
    name: "spacing-drawn-not-as-stated",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[WITHIN, MOST_OF_IT],
    file: include_str!("spacing_drawn_not_as_stated.rs"),
    check,
    ..Rule::USUAL
};

const WITHIN: Limit = Limit { name: "off-the-stated-spacing", value: "15 %", source: "common practice, no source" };
const MOST_OF_IT: Limit = Limit { name: "share-of-the-length", value: "90 %", source: "common practice, no source" };

/// Of what was drawn as it was laid out.
const OF_A_LAYOUT: Share = Share::percent(50.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let (within, most): (LimitValue<Share>, LimitValue<Share>) =
        (WITHIN.get(&RULE, inspection), MOST_OF_IT.get(&RULE, inspection));
    let measured = measured(inspection);
    for (at, (it, measured)) in inspection.loops().zip(measured).enumerate() {
        let Some(measured) = measured else {
            // What is not drawn, or states no spacing, has nothing to differ from.
            if it.given.route.is_some() && is_drawn(&it, found) {
                if it.given.spacing.is_some() {
                    // Without the outline of its rooms nothing tells runs from tails.
                    found.need(it.subject, &it.worked.length_in_room);
                } else if !it.given.broken {
                    found.missing(it.subject, "spacing");
                }
            }
            continue;
        };
        // A loop that is laid out is laid at what its floor allows: `layout-falls-short` tells of it.
        let Some(stated) = it.given.spacing.filter(|_| it.given.route.is_some()) else { continue };
        let also = edge_spacings(inspection, at);
        let most = match it.given.layout {
            Some(_) => most.with(most.value.min(OF_A_LAYOUT)),
            None => most,
        };
        let as_stated = as_stated(&measured, stated.value, within.value, &also);
        let Some(share) = as_stated.filter(|share| is_too_little(*share, most.value)) else { continue };
        let drawn = measured.median().map(rounded).filter(|median| *median > Length::ZERO);
        // Most of it may be as stated, and what is wanted to be known is where it is not.
        let off = (drawn == Some(rounded(stated.value))).then(|| measured.off(within.value, &also));
        let message = match drawn {
            Some(_) if off.is_some() => format!(
                "loop {} states {}; {share} of its runs are within {} of that, {} are wanted",
                it.name, stated.value, within.value, most.value
            ),
            Some(median) => format!(
                "loop {} states {} and is drawn at {}; {share} of its runs are within {} of that, {} are wanted",
                it.name, stated.value, median, within.value, most.value
            ),
            None => format!(
                "loop {} states {}; none of its runs has another within three times that beside it",
                it.name, stated.value
            ),
        };
        let mut finding = Finding::new(it.subject, stated.at, message).value(share).limit(&most);
        match (&it.given.route, &it.worked.route, off) {
            (Some(_), Some(Ok(route)), Some(off)) => {
                for off in off.iter().take(MOST_PLACES) {
                    let at = route.at(off.along);
                    let lies = match off.distance {
                        Some(distance) => format!("{} from the next run", rounded(distance)),
                        None => "with no other beside it".to_string(),
                    };
                    let said = format!("{} of a run from [{:.2}, {:.2}] on lie {lies}", off.length, at.x, at.y);
                    finding = finding.related(place_along(it.given, off.along), said);
                }
            }
            (Some(route), ..) => finding = finding.related(route.at, "it is drawn here"),
            _ => {}
        }
        let remedy = drawn.filter(|median| *median != rounded(stated.value)).map(|median| {
            Remedy::new(format!("state the spacing that is drawn, {median}"), stated.at, median.to_string())
        });
        found.add(finding.remedy(remedy));
    }
}

/// The share of the runs that lie about as stated. A single run, as through a narrow passage, has no spacing.
fn as_stated(measured: &RunSpacing, stated: Length, within: Share, also: &[Length]) -> Option<Share> {
    let all = measured.measured + measured.alone;
    (all > stated * 10.0).then(|| Share::fraction(measured.length_within(within, also) / all))
}

fn is_too_little(share: Share, most: Share) -> bool {
    share.in_fraction() < most.in_fraction() - 1e-9
}

/// Whether a loop is drawn by hand at another spacing than it states.
pub(super) fn is_drawn_otherwise(inspection: &Inspection, at: usize) -> bool {
    let (within, most): (LimitValue<Share>, LimitValue<Share>) =
        (WITHIN.get(&RULE, inspection), MOST_OF_IT.get(&RULE, inspection));
    let Some((_, it)) = inspection.design.loops.at(at) else { return false };
    let Some(stated) = it.value.spacing.filter(|_| it.value.route.is_some() && it.value.layout.is_none()) else {
        return false;
    };
    let mut own = RunSpacing::default();
    let laid =
        inspection.workings.loops[at].rooms.iter().filter_map(|room| inspection.workings.plan.laid[*room].as_ref());
    laid.flat_map(|laid| laid.spacings()).filter(|(of, _)| *of == at).for_each(|(_, spacing)| own.join(spacing));
    let also = edge_spacings(inspection, at);
    as_stated(&own, stated.value, within.value, &also).is_some_and(|share| is_too_little(share, most.value))
}

/// So many places are told of a loop, those of most pipe.
const MOST_PLACES: usize = 5;

/// To five millimetres: no one lays pipe more exactly.
fn rounded(spacing: Length) -> Length {
    Length::millimetres((spacing.in_millimetres() / 5.0).round() * 5.0)
}

/// What lies beside the runs of each loop in the rooms that it heats.
fn measured(inspection: &Inspection) -> Vec<Option<RunSpacing>> {
    let mut all: Vec<Option<RunSpacing>> = vec![None; inspection.design.loops.len()];
    for (at, spacing) in inspection.workings.plan.laid.iter().flatten().flat_map(|laid| laid.spacings()) {
        all[at].get_or_insert_default().join(spacing);
    }
    all
}

/// The spacings of the edge zones in the rooms of a loop.
fn edge_spacings(inspection: &Inspection, at: usize) -> Vec<Length> {
    let rooms = inspection.workings.loops[at].rooms.iter();
    let zones = rooms.filter_map(|room| inspection.design.rooms.at(*room)?.1.value.edge_zone.as_ref()?.spacing);
    zones.map(|spacing| spacing.value).collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    /// Runs of 5.8 m along x, the first `drawn` of them at one distance, the rest at another.
    fn text(stated: &str, distances: &[f64], more: &str) -> String {
        let mut points = vec![[0.1, 0.1], [5.9, 0.1]];
        let mut y = 0.1;
        for (at, distance) in distances.iter().enumerate() {
            y += distance;
            let (near, far) = if at % 2 == 0 { (5.9, 0.1) } else { (0.1, 5.9) };
            points.extend([[near, y], [far, y]]);
        }
        format!(
            "rooms:\n  hall: {{outline: [[0, 0], [6, 0], [6, 9], [0, 9]]{more}}}\nloops:\n  L1: {{room: hall, {stated}, route: {points:?}}}\n"
        )
    }

    fn says(stated: &str, distances: &[f64]) -> usize {
        messages(&RULE, &text(&format!("spacing: {stated}"), distances, "")).len()
    }

    #[test]
    fn fifteen_per_cent_either_way() {
        assert_eq!(says("100 mm", &[0.115; 9]), 0);
        assert_eq!(says("100 mm", &[0.116; 9]), 1);
        assert_eq!(says("100 mm", &[0.085; 9]), 0);
        assert_eq!(says("100 mm", &[0.084; 9]), 1);
    }

    #[test]
    fn nine_tenths_of_the_length() {
        // The last run lies apart: one of ten, then one of nine.
        let mut distances = vec![0.1; 9];
        distances[8] = 0.14;
        assert_eq!(says("100 mm", &distances), 0);
        distances.remove(0);
        assert_eq!(says("100 mm", &distances), 1);
    }

    /// Most of it is drawn as stated: where it is not is told, and nobody is told that 100 mm is not 100 mm.
    #[test]
    fn where_it_is_not_as_stated_is_told() {
        let outcome = check(&text("spacing: 100 mm", &[0.1, 0.1, 0.1, 0.1, 0.1, 0.14, 0.5], ""));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("it is told");
        assert_eq!(
            finding.message,
            "loop L1 states 100 mm; 74.2 % of its runs are within 15 % of that, 90 % are wanted"
        );
        assert!(finding.remedies.is_empty(), "{:?}", finding.remedies);
        let text = &outcome.sources[0].text;
        let own = finding.related.iter().filter(|it| !it.message.starts_with("and so "));
        let told: Vec<(&str, &str)> = own.map(|it| (&text[it.place.range()], &*it.message)).collect();
        assert_eq!(
            told,
            [
                ("[5.9, 0.74]", "6.3 m of a run from [5.90, 0.74] on lie with no other beside it"),
                ("[0.1, 0.74]", "5.8 m of a run from [0.10, 0.74] on lie 140 mm from the next run"),
            ]
        );
    }

    #[test]
    fn far_apart_is_not_as_stated() {
        let far = messages(&RULE, &text("spacing: 100 mm", &[0.5; 5], ""));
        assert_eq!(far, ["loop L1 states 100 mm; none of its runs has another within three times that beside it"]);
    }

    #[test]
    fn two_loops_laid_into_each_other_and_an_edge_zone() {
        let run = |y: f64| format!("[[0.1, {y}], [5.9, {y}], [5.9, {}], [0.1, {}]]", y + 0.3, y + 0.3);
        let text = format!(
            "rooms:\n  hall: {{outline: [[0, 0], [6, 0], [6, 9], [0, 9]]}}\nloops:\n  L1: {{room: hall, spacing: 150 mm, route: {}}}\n  \
             L2: {{room: hall, spacing: 150 mm, route: {}}}\n",
            run(0.1),
            run(0.25)
        );
        assert_eq!(messages(&RULE, &text), [""; 0]);
        let zone = ", edge-zone: {width: 1 m, spacing: 100 mm}";
        let distances = [0.1, 0.1, 0.1, 0.1, 0.2, 0.2, 0.2];
        assert_eq!(messages(&RULE, &self::text("spacing: 200 mm", &distances, zone)), [""; 0]);
        assert_eq!(messages(&RULE, &self::text("spacing: 200 mm", &distances, "")).len(), 1);
    }

    #[test]
    fn without_a_spacing_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("pipe: PEX-16", &[0.1; 4], "")), ["loops/L1/spacing"]);
        assert_eq!(not_checked(&RULE, ""), [""; 0]);
        let no_outline = "loops:\n  L1: {room: hall, spacing: 150 mm, route: [[0, 0], [4, 0], [4, 1], [0, 1]]}\n";
        assert_eq!(not_checked(&RULE, no_outline), ["rooms/hall/outline"]);
    }
}
