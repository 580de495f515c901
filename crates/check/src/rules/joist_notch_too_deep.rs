//! A joist is notched or bored only as deep, and only there, as it can bear.
//!
//! A notch at mid-span takes from the joist just the timber that carries the floor.
//!
//! ## How it is worked out
//! The depth of each notch, and the diameter of each hole, over the depth of the joist; its distance from the nearer support over the span.
//!
//! ## Limit
//! Notches: up to 0.125 of the depth, between 0.07 and 0.25 of the span from a support. Holes on the centre line: up to 0.25 of the
//! depth, between 0.25 and 0.4 of the span. Published building-regulation and timber guidance, for solid joists up to 250 mm deep.
//!
//! Do not cut a trussed, webbed or engineered joist except as its maker says; ask the structural engineer.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     joists: {depth: 170 mm, span: 3.5 m, notches: [{size: 25 mm, from-support: 0.6 m}]}
//! #                                                         ^^^^^ a notch of 25 mm weakens the 170 mm joists of floor screeded; at most 21.2 mm may be cut
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top}
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     joists: {depth: 200 mm, span: 3.5 m, notches: [{size: 20 mm, from-support: 0.6 m}]}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::{Cut, Floor, Joists, Placed};
use std::ops::RangeInclusive;
use workings::FloorWorkings;

pub static RULE: Rule = Rule {
    name: "joist-notch-too-deep",
    group: Group::FloorConstruction,
    weights: [Warning, Error, Error, Error],
    limits: &[NOTCH, HOLE],
    caution: Some("Do not cut a joist beyond published limits; ask a structural engineer."),
    guards_people: true,
    file: include_str!("joist_notch_too_deep.rs"),
    check,
    ..Rule::USUAL
};

const NOTCH: Limit =
    Limit { name: "notch-of-depth", value: "12.5 %", source: "published building-regulation and timber guidance" };
const HOLE: Limit =
    Limit { name: "hole-of-depth", value: "25 %", source: "published building-regulation and timber guidance" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.floors() {
        let Some(joists) = &it.given.joists else { continue };
        cuts(&it, joists, &joists.notches, "notch", NOTCH.get(&RULE, inspection), 0.07..=0.25, found);
        cuts(&it, joists, &joists.holes, "hole", HOLE.get(&RULE, inspection), 0.25..=0.4, found);
    }
}

/// Cuts of one kind: how deep of the joist, and how far from a support of its span.
fn cuts(
    it: &Item<Floor, FloorWorkings>,
    joists: &Joists,
    cuts: &[Placed<Cut>],
    kind: &str,
    share: LimitValue<Share>,
    of_span: RangeInclusive<f64>,
    found: &mut Findings,
) {
    for cut in cuts {
        match (joists.depth, cut.size) {
            (Some(depth), Some(size)) => {
                let most = depth.value * share.value.in_fraction();
                if size.value > most + Length::millimetres(0.001) {
                    let message = format!(
                        "a {kind} of {} weakens the {} joists of floor {}; at most {most} may be cut",
                        size.value, depth.value, it.name
                    );
                    let limit = share.with(most);
                    let finding = Finding::new(it.subject, size.at, message).value(size.value).limit(&limit);
                    found.add(finding.related(depth.at, "the depth of the joists"));
                }
            }
            (None, _) => found.missing(it.subject, "joists/depth"),
            (_, None) => found.missing(it.subject, "joists/…/size"),
        }
        match (joists.span, cut.from_support) {
            (Some(span), Some(place)) => {
                let (near, far) = (span.value * *of_span.start(), span.value * *of_span.end());
                if place.value < near || place.value > far {
                    let message = format!(
                        "a {kind} stands {} from the support of a span of {}; only between {near} and {far} may a joist be cut so",
                        place.value, span.value
                    );
                    found.add(Finding::new(it.subject, place.at, message).value(place.value).source(share.source));
                }
            }
            (None, _) => found.missing(it.subject, "joists/span"),
            (_, None) => found.missing(it.subject, "joists/…/from-support"),
        }
    }
}
