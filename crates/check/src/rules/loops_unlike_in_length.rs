//! The loops of a manifold are of like length.
//!
//! Like loops share the flow by themselves. A short one among long ones takes what it can get, and its valve has to throttle
//! away what the long ones need.
//!
//! ## How it is worked out
//! The longest loop over the shortest.
//!
//! ## Limit
//! The longest within 30 % of the shortest: common practice, no source.
//!
//! ## Exceptions
//! Where every loop states a presetting, what each of them gets is worked out instead. Where nothing throttles loops that
//! differ by more than two to one in pressure drop, that is said instead.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 200 mm, tails: 6 m}
//! manifolds:
//!   M1: {ports: 4, flow-gauge: 0.5 to 5 l/min, pump: {head: 30 kPa}}
//! # ^^ loop L1 of manifold M1 is 90.0 m and loop L2 61.0 m; the longest should be within 30 % of the shortest
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "loops-unlike-in-length",
    group: Group::Hydraulics,
    weights: [Silent, Hint, Warning, Warning],
    limits: &[APART],
    follows: &["loop-over-maximum-length", "spacing-off-module", "spacing-too-wide"],
    file: include_str!("loops_unlike_in_length.rs"),
    check,
    ..Rule::USUAL
};

const APART: Limit = Limit { name: "longest-over-shortest", value: "30 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let apart = APART.get::<Share>(&RULE, inspection);
    let design = inspection.design;
    for it in inspection.manifolds().filter(|it| it.worked.loops.len() > 1) {
        // Where a drop cannot be told for want of a value that can be read, nobody knows whether lengths matter.
        let drops = it.worked.loops.iter().map(|at| &inspection.workings.loops[*at].pressure_drop);
        if drops.filter_map(|drop| drop.as_ref().err()).any(|gap| gap.is_unreadable(design)) {
            continue;
        }
        if super::manifold_flows_unbalanced::any_preset(inspection, it.worked)
            || super::manifold_flows_unbalanced::unlike_drops(inspection, it.worked).is_some()
        {
            continue;
        }
        let mut lengths: Vec<(Length, usize)> = Vec::with_capacity(it.worked.loops.len());
        for at in &it.worked.loops {
            if let Some(length) = found.need(Subject::Loop(*at), &inspection.workings.loops[*at].length) {
                lengths.push((length.value, *at));
            }
        }
        let by_length =
            |one: &&(Length, usize), other: &&(Length, usize)| one.0.in_metres().total_cmp(&other.0.in_metres());
        let (Some((longest, long)), Some((shortest, short))) =
            (lengths.iter().max_by(by_length), lengths.iter().min_by(by_length))
        else {
            continue;
        };
        if *longest <= *shortest * (1.0 + apart.value.in_fraction()) {
            continue;
        }
        let name = |at: usize| design.loops.at(at).map_or("?", |(name, _)| name);
        let message = format!(
            "loop {} of manifold {} is {longest} and loop {} {shortest}; the longest should be within {} of the shortest",
            name(*long),
            it.name,
            name(*short),
            apart.value
        );
        let finding = Finding::new(it.subject, it.place, message)
            .value(Share::fraction(*longest / *shortest - 1.0))
            .limit(&apart)
            .figure(format!("loops.{}.length", name(*long)))
            .related(Subject::Loop(*long).place(design), "the longest loop")
            .related(Subject::Loop(*short).place(design), "the shortest loop");
        found.add(super::manifold_flows_unbalanced::with_remedies(inspection, &it, finding));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn lengths(second: &str, more: &str) -> String {
        format!(
            "loops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: 200 mm, tails: 15 m{more}}}\n  \
             L2: {{manifold: M1, room: study, pipe: PEX-16, spacing: 150 mm, length: {second}{more}}}\n"
        )
    }

    /// L1 is 75.0 m.
    #[test]
    fn at_the_limit_is_allowed() {
        assert_eq!(messages(&RULE, &lengths("97.5 m", "")), [""; 0]);
        assert_eq!(messages(&RULE, &lengths("97.6 m", "")).len(), 1);
    }

    #[test]
    fn of_a_loop_that_is_too_long_that_is_told() {
        assert_eq!(messages(&RULE, &lengths("117.1 m", "")), [""; 0]);
    }

    #[test]
    fn loops_that_are_preset_are_worked_out_instead() {
        assert_eq!(messages(&RULE, &lengths("97.6 m", ", presetting: 0.5 m³/h")), [""; 0]);
    }
}
