//! Water moves fast enough to carry air back to the manifold.
//!
//! Where it creeps, air gathers at the first high place and stops the loop.
//!
//! ## How it is worked out
//! The velocity in the bore at the flow that the loop needs or is set to. The remedy is more flow: as much as its
//! heat needs, its air and its gauge, while the water still cools by 3 K. Loops of one manifold that state no flow
//! of their own are told together.
//!
//! ## Limit
//! 0.15 m/s: common practice, no source; a trade text gives 0.2 to 0.5 m/s.
//!
//! ```yaml fails
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 300 W}
//! # ^^ water moves at 0.14 m/s in loop L1; under 0.15 m/s it leaves its air behind
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 300 W, flow: 1.04 l/min}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}
//! ```
//! ```yaml passes
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 2.1 l/min}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::Loop;
use workings::LoopWorkings;

pub static RULE: Rule = Rule {
    name: "velocity-too-low",
    group: Group::Hydraulics,
    weights: [Hint, Information, Warning, Warning],
    limits: &[LEAST],
    follows: &["flow-carries-too-little-heat", "temperature-drop-too-wide"],
    file: include_str!("velocity_too_low.rs"),
    check,
    ..Rule::USUAL
};

pub(crate) const LEAST: Limit = Limit { name: "least", value: "0.15 m/s", source: "common practice, no source" };

/// How many loops a message names.
const NAMED: usize = 4;

fn check(inspection: &Inspection, found: &mut Findings) {
    let least = LEAST.get::<Velocity>(&RULE, inspection);
    // Loops that creep because of what is stated for all of them are told together, by manifold.
    let mut of_manifolds: Vec<Vec<(Velocity, Item<Loop, LoopWorkings>)>> =
        inspection.workings.manifolds.iter().map(|_| Vec::new()).collect();
    for it in inspection.loops() {
        let Some(velocity) = found.need(it.subject, &it.worked.velocity) else { continue };
        if velocity.value >= least.value {
            continue;
        }
        match it.worked.manifold.filter(|_| it.given.flow.is_none()) {
            Some(manifold) => of_manifolds[manifold].push((velocity.value, it)),
            None => found.add(of_loop(inspection, &it, velocity.value)),
        }
    }
    for (manifold, slow) in inspection.manifolds().zip(of_manifolds) {
        if let [(velocity, it)] = &slow[..] {
            found.add(of_loop(inspection, it, *velocity));
            continue;
        }
        let Some((slowest, first)) = slow.iter().min_by(|one, other| one.0.si().total_cmp(&other.0.si())) else {
            continue;
        };
        let named: Vec<String> =
            slow.iter().take(NAMED).map(|(velocity, it)| format!("{} {velocity}", it.name)).collect();
        let more = match slow.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let message = format!(
            "in loops of manifold {} water moves so slowly that it leaves its air behind, under {}: {}{more}",
            manifold.name,
            least.value,
            named.join(", ")
        );
        let flows: Option<Vec<Remedy>> = slow.iter().map(|(velocity, it)| quicker(inspection, it, *velocity)).collect();
        let changes = flows.into_iter().flatten().flat_map(|remedy| remedy.changes);
        let finding = Finding::new(manifold.subject, manifold.place, message)
            .value(*slowest)
            .limit(&least)
            .figure(format!("loops.{}.velocity", first.name))
            .remedy(Remedy::of("set each of them to a flow that carries its air", changes));
        found.add(slow.iter().fold(finding, |finding, (velocity, it)| {
            finding.related(it.place, format!("its water moves at {velocity}"))
        }));
    }
}

fn of_loop(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, velocity: Velocity) -> Finding {
    let least = LEAST.get::<Velocity>(&RULE, inspection);
    let message =
        format!("water moves at {velocity} in loop {}; under {} it leaves its air behind", it.name, least.value);
    let place = it.given.flow.map_or(it.place, |flow| flow.at);
    Finding::new(it.subject, place, message)
        .value(velocity)
        .limit(&least)
        .figure(format!("loops.{}.velocity", it.name))
        .remedy(quicker(inspection, it, velocity))
}

/// A flow that carries the loop's air.
fn quicker(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, velocity: Velocity) -> Option<Remedy> {
    let flow = it.worked.volume_flow.as_ref().ok()?.value * (LEAST.get::<Velocity>(&RULE, inspection).value / velocity);
    crate::flows::at_least(inspection, it, flow)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::check;

    #[test]
    fn loops_that_one_drop_makes_slow_are_told_once() {
        let text = "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, duty: 300 W}\n  \
                    L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, duty: 290 W}\n";
        let outcome = check(text);
        let found: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        assert!(matches!(found[..], [one] if one.message.contains("L1 0.1") && one.related.len() == 2), "{found:?}");
        let titles: Vec<&str> = found[0].remedies.iter().map(|it| it.title.as_str()).collect();
        assert_eq!(titles, ["set each of them to a flow that carries its air"]);
    }
}
