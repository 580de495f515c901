//! A loop can be cut from its coil in one piece.
//!
//! What cannot be cut from one coil has a coupling under the finish, and that is where floors leak.
//!
//! ## How it is worked out
//! The length of the loop with 3 %, at least 2 m, for cutting and for what the drawing does not see; against the coil it is
//! cut from, or the longest coil of its pipe.
//!
//! ## Limit
//! The coil's own length: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 17.5 m, coil: 100 m}
//! #                                                                                             ^^^^^ loop L1 wants 100.4 m with what is lost in cutting; its coil has 100.0 m
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 17.5 m, coil: 120 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;
use crate::House;
use crate::inspection::Item;
use crate::split::{Part, split};
use design::Loop;
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "loop-longer-than-coil",
    group: Group::Hydraulics,
    weights: [Information, Warning, Error, Error],
    limits: &[LOST, LEAST_LOST],
    follows: &["loop-over-maximum-length"],
    file: include_str!("loop_longer_than_coil.rs"),
    check,
    ..Rule::USUAL
};

const LOST: Limit = Limit { name: "lost-in-cutting", value: "3 %", source: "common practice, no source" };
const LEAST_LOST: Limit = Limit { name: "least-lost-in-cutting", value: "2 m", source: "common practice, no source" };

/// What has to be cut from a coil for a loop of a length: common practice, no source.
pub fn length_to_cut(house: &House, length: Length) -> Length {
    length + (length * LOST.get::<Share>(&RULE, house).value.in_fraction()).max(LEAST_LOST.get(&RULE, house).value)
}

/// Whether a part of a loop can be cut from its coil, or from the longest that its pipe comes in.
pub(super) fn fits_a_coil(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, part: Part) -> bool {
    longest_coil(inspection, it.given).is_some_and(|coil| length_to_cut(inspection.house, part.length) <= coil)
}

/// The coil of a loop, or the longest that its pipe comes in.
fn longest_coil(inspection: &Inspection, given: &Loop) -> Option<Length> {
    let pipe = given.pipe.as_ref().and_then(|name| inspection.design.pipe(&name.value.0));
    let longest = || pipe?.coils.iter().map(|coil| coil.value).reduce(Length::max);
    given.coil.map(|coil| coil.value).or_else(longest)
}

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let pipe = it.given.pipe.as_ref().and_then(|name| inspection.design.pipe(&name.value.0));
        let coils = pipe.as_ref().map_or(&[][..], |pipe| &pipe.coils);
        let Some(coil) = longest_coil(inspection, it.given) else {
            if !it.given.broken && it.given.pipe.is_some() {
                found.missing(it.subject, "coil");
            }
            continue;
        };
        let Some(length) = found.need(it.subject, &it.worked.length) else { continue };
        let wanted = length_to_cut(inspection.house, length.value);
        if wanted <= coil {
            continue;
        }
        let message = format!("loop {} wants {wanted} with what is lost in cutting; its coil has {coil}", it.name);
        let place = it.given.coil.map_or(it.place, |coil| coil.at);
        let longer = coils.iter().map(|coil| coil.value).filter(|coil| *coil >= wanted).reduce(Length::min);
        let remedy = longer.filter(|_| it.given.coil.is_some()).map(|longer| {
            let text = format!("{} m", longer.in_metres());
            Remedy::new(format!("cut it from a coil of {text}"), place, text)
        });
        found.add(
            Finding::new(it.subject, place, message)
                .value(wanted)
                .limit(&LOST.get::<Share>(&RULE, inspection).with(coil))
                .figure(format!("loops.{}.length", it.name))
                .remedy(remedy)
                .remedy(split(inspection, &it, |part| fits_a_coil(inspection, &it, part))),
        );
    }
}
