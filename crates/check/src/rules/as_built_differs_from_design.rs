//! A loop that was laid otherwise than drawn is worked out again.
//!
//! The pipe went round a beam that nobody knew of: now it is longer, lies elsewhere, and the flows that were set are those of
//! another loop.
//!
//! ## How it is worked out
//! For each of `as-built/routes` the greatest distance of its corners from the design's route, and of the design's corners
//! from what was laid. Where the design draws no route, its length against the length laid, corners rounded to the least bend radius.
//!
//! ## Limit
//! One spacing of the loop; of lengths what `stated-length-differs` lets them differ, 5 % or 3 m: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, route: [[0, 0], [4, 0], [4, 0.15], [0, 0.15]]}
//! records:
//!   as-built:
//!     routes:
//!       L1: [[0, 0], [3, 0], [3, 0.15], [0, 0.15]]
//! #     ^^ loop L1 was laid up to 1.0 m off its design; 150 mm is the most before it is worked out again
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, route: [[0, 0], [3, 0], [3, 0.15], [0, 0.15]]}
//! records:
//!   as-built:
//!     routes:
//!       L1: [[0, 0], [3, 0], [3, 0.15], [0, 0.15]]
//! ```

use super::prelude::*;
use super::stated_length_differs;
use design::{Place, Route};
use engineering::plan::{self, Line, Lines};
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "as-built-differs-from-design",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("as_built_differs_from_design.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "one spacing; common practice, no source";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let Some(as_built) = &design.records.as_built else { return };
    for (name, entry) in as_built.routes.iter() {
        let (Some(at), Some(given)) = (design.loops.position(name), design.loops.get(name)) else { continue };
        let subject = Subject::Loop(at);
        let drawn = match &inspection.workings.loops[at].route {
            Some(Ok(drawn)) => drawn,
            // What is wrong with the drawn one is said where it stands.
            Some(Err(_)) => continue,
            None => {
                length_differs(inspection, found, at, entry.name_place);
                continue;
            }
        };
        let laid = match workings::route(&entry.value) {
            Ok(laid) => laid,
            Err(fault) => {
                let reason = format!("the route of {name} as it was laid is no route: {fault}");
                found.not_checked(Subject::Records, &Gap::NoMethod(reason));
                continue;
            }
        };
        let Some(spacing) = given.spacing else {
            found.missing(subject, "spacing");
            continue;
        };
        let off = farthest(&laid, drawn).max(farthest(drawn, &laid));
        let limit = LimitValue::new(spacing.value, SOURCE);
        if !limit.is_exceeded_by(off) {
            continue;
        }
        let message = format!(
            "loop {name} was laid up to {off} off its design; {} is the most before it is worked out again",
            spacing.value
        );
        let remedy = given
            .route
            .as_ref()
            .zip(written(&entry.value))
            .map(|(route, text)| Remedy::new(format!("draw loop {name} as it was laid"), route.at, text));
        found.add(Finding::new(subject, entry.name_place, message).value(off).limit(&limit).remedy(remedy));
    }
}

/// Holds the length of a loop that the design does not draw against that which was laid.
fn length_differs(inspection: &Inspection, found: &mut Findings, at: usize, place: Place) {
    let (subject, worked) = (Subject::Loop(at), &inspection.workings.loops[at]);
    let (Some(laid), Ok(designed)) = (inspection.workings.plan.as_laid.get(&at), &worked.length) else {
        found.missing(subject, "route");
        return;
    };
    let radius = worked.pipe.as_ref().map_or(Length::ZERO, |pipe| pipe.least_bend_radius);
    let (laid, designed) = (laid.route.rounded_length(radius), designed.value);
    let limit = stated_length_differs::most(inspection, designed);
    let off = (laid - designed).abs();
    if limit.is_exceeded_by(off) {
        let name = inspection.design.loops.at(at).map_or("", |(name, _)| name);
        let message = format!(
            "loop {name} was laid {laid} long and is {designed} long by the design; {} is the most before it is worked out again",
            limit.value
        );
        let finding = Finding::new(subject, place, message).value(off).limit(&limit);
        found.add(finding.figure(format!("loops.{name}.length")));
    }
}

/// The greatest distance of a corner of one route from the other route.
fn farthest(from: &plan::Route, to: &plan::Route) -> Length {
    let line = Lines::new([Line::Open(to.points())]);
    let distances = from.points().iter().take(MOST_CORNERS).filter_map(|corner| line.nearest(0, *corner));
    distances.map(|nearest| nearest.distance).fold(Length::ZERO, Length::max)
}

/// No loop has more; a file that has them must not take an hour.
const MOST_CORNERS: usize = 2000;

/// A route of points as it is written on one line.
fn written(route: &Route) -> Option<String> {
    match route {
        Route::Points(points) => {
            let points: Vec<String> = points.iter().map(|it| format!("[{}, {}]", it.value.x, it.value.y)).collect();
            Some(format!("[{}]", points.join(", ")))
        }
        Route::Path(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn laid(more: &str, route: &str) -> String {
        format!(
            "loops: {{L1: {{room: hall, pipe: PEX-16{more}}}}}\nrecords: {{as-built: {{routes: {{L1: {route}}}}}}}\n"
        )
    }

    const DRAWN: &str = ", spacing: 150 mm, route: [[0, 1], [3, 1], [3, 2]]";

    #[test]
    fn one_spacing_off_passes() {
        let off = |by: &str| messages(&RULE, &laid(DRAWN, &format!("[[0, {by}], [3, {by}], [3, 2]]")));
        assert!(off("1.15").is_empty());
        assert_eq!(off("1.16").len(), 1);
        assert!(messages(&RULE, &laid(DRAWN, "M 0 1 H 3 V 2")).is_empty());
    }

    /// 12 m² over 150 mm and 10 m of tails are 90 m; a twentieth of that is 4.5 m (plain arithmetic).
    #[test]
    fn of_what_is_not_drawn_the_length_counts() {
        let says = |metres: &str| {
            let loops = "loops: {L1: {room: bath, pipe: PEX-16, spacing: 150 mm, tails: 10 m}}";
            let rooms = "rooms: {bath: {area: 12 m², floor: screeded}}";
            messages(
                &RULE,
                &format!("{rooms}\n{loops}\nrecords: {{as-built: {{routes: {{L1: [[0, 0], [{metres}, 0]]}}}}}}\n"),
            )
        };
        assert_eq!((says("94.4").len(), says("85.6").len(), says("85.4").len()), (0, 0, 1));
        let longer = "loop L1 was laid 100.0 m long and is 90.0 m long by the design; 4.5 m is the most before it is worked out again";
        assert_eq!(says("100"), [longer]);
    }

    #[test]
    fn what_is_missing_is_told() {
        let here = "[[0, 1], [3, 1]]";
        assert_eq!(not_checked(&RULE, &laid("", here)), ["loops/L1/route"]);
        assert_eq!(not_checked(&RULE, &laid(", route: [[0, 1], [3, 1]]", here)), ["loops/L1/spacing"]);
        assert_eq!(not_checked(&RULE, &laid(DRAWN, "[[0, 1]]")).len(), 1);
    }
}
