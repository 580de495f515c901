//! The loops of a manifold are of one bore.
//!
//! A thin pipe beside a thick one wants a different valve, a different gauge and a different fitting in the van; who comes to
//! mend it brings the wrong one.
//!
//! ## How it is worked out
//! The bores of the manifold's loops are compared.
//!
//! ## Limit
//! One bore: common practice, no source.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: multilayer 20 x 2, spacing: 150 mm, tails: 12 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ the loops of manifold M1 have bores of 12 mm and 16 mm; one bore is easier to balance
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: multilayer 16 x 2, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "mixed-pipe-on-one-manifold",
    group: Group::Hydraulics,
    weights: [Silent, Information, Information, Information],
    file: include_str!("mixed_pipe_on_one_manifold.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds() {
        let mut first: Option<Length> = None;
        let mut other: Option<(Length, usize)> = None;
        for at in &it.worked.loops {
            let bore = match &inspection.workings.loops[*at].pipe {
                Ok(pipe) => pipe.bore,
                Err(gap) => {
                    found.not_checked(Subject::Loop(*at), gap);
                    continue;
                }
            };
            let known = *first.get_or_insert(bore);
            if (bore - known).abs() > Length::millimetres(0.1) && other.is_none() {
                other = Some((bore, *at));
            }
        }
        let (Some(first), Some((bore, at))) = (first, other) else { continue };
        let message = format!(
            "the loops of manifold {} have bores of {first} and {bore}; one bore is easier to balance",
            it.name
        );
        found.add(
            Finding::new(it.subject, it.place, message)
                .source("common practice, no source")
                .related(Subject::Loop(at).place(inspection.design), format!("the first loop of {bore}")),
        );
    }
}
