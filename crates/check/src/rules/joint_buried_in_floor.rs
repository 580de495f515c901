//! No coupling is planned under the finish.
//!
//! A coupling is where floors leak, and one that lies in the screed is found by the water that comes through the ceiling. A
//! loop is laid in one piece from port to port.
//!
//! ## How it is worked out
//! The couplings that the design gives for a loop are counted. The remedy takes the only coupling out where the loop can be
//! cut from its coil in one piece; else it splits the loop so that each part can.
//!
//! ## Limit
//! None: common practice, no source. EN 1264-4:2021, 4.2.2 knows a coupling as the repair of damaged pipe only: protected,
//! tested again and marked on the plan.
//!
//! ## Exceptions
//! A loop of which the records give a repair: how it was done is another question.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, coil: 100 m, couplings: [54 m]}
//! #                                                                                                              ^^^^ loop L1 has a coupling under the finish, 54.0 m along; a loop is one piece
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, coil: 100 m, couplings: []}
//! ```

use super::loop_longer_than_coil::fits_a_coil;
use super::prelude::*;
use crate::remedy::remove_item;
use crate::split::split;

pub static RULE: Rule = Rule {
    name: "joint-buried-in-floor",
    group: Group::Hydraulics,
    weights: [Warning, Error, Error, Error],
    file: include_str!("joint_buried_in_floor.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        let Some(first) = it.given.couplings.first() else { continue };
        let repairs = &inspection.design.records.repairs;
        if repairs.iter().any(|repair| repair.of_loop.as_ref().is_some_and(|of| of.value.name == it.name)) {
            continue;
        }
        let message = match &it.given.couplings[..] {
            [only] => {
                format!("loop {} has a coupling under the finish, {} along; a loop is one piece", it.name, only.value)
            }
            all => format!("loop {} has {} couplings under the finish; a loop is one piece", it.name, all.len()),
        };
        let places: Vec<_> = it.given.couplings.iter().map(|coupling| coupling.at).collect();
        let one_piece = it.given.coil.is_some_and(|coil| {
            it.worked.length.as_ref().is_ok_and(|length| {
                super::loop_longer_than_coil::length_to_cut(inspection.house, length.value) <= coil.value
            })
        });
        let remedy = (one_piece && places.len() == 1)
            .then(|| Remedy::of("cut it from its coil in one piece", remove_item(inspection, &places, 0)))
            .flatten();
        found.add(
            Finding::new(it.subject, first.at, message)
                .value(Number::new(places.len() as f64))
                .source("EN 1264-4:2021, 4.2.2 (couplings as repairs only); none planned: common practice, no source")
                .remedy(remedy)
                .remedy(if one_piece {
                    None
                } else {
                    split(inspection, &it, |part| fits_a_coil(inspection, &it, part))
                }),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn a_repair_on_record_is_no_planned_coupling() {
        let text = "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, couplings: [54 m, 60 m]}\n";
        assert_eq!(messages(&RULE, text), ["loop L1 has 2 couplings under the finish; a loop is one piece"]);
        let repaired = format!("{text}records:\n  repairs: [{{loop: L1, protected: true}}]\n");
        assert_eq!(messages(&RULE, &repaired), [""; 0]);
    }
}
