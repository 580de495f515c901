//! The pipe from the source to a manifold is wide enough.
//!
//! A feeder that is too thin hums, wears and eats the head of the pump before the first loop has had any.
//!
//! ## How it is worked out
//! The flow that the source sends: all of the manifold's, or the hot share of its blend. Its velocity in the feeder's bore,
//! and the pressure that a metre of the feeder takes. The remedy is the next standard size of the same material that does.
//!
//! ## Limit
//! 1.0 m/s and 300 Pa a metre: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, pump: {head: 45 kPa}, feeder: {pipe: copper 10 x 0.6, length: 12 m}}
//! #                                                     ^^^^^^^^^^^^^^^ each metre of the feeder of manifold M1 takes 1.7 kPa; 300 Pa is as much as it should
//! ```
//! ```yaml remedied
//! manifolds:
//!   M1: {ports: 4, pump: {head: 45 kPa}, feeder: {pipe: copper 15 x 1, length: 12 m}}
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, pump: {head: 45 kPa}, feeder: {pipe: copper 22 x 0.9, length: 12 m}}
//! ```

use super::prelude::*;
use crate::inspection::Item;
use design::Manifold;
use engineering::water::pipes::{Pipe, listed};
use workings::ManifoldWorkings;

pub static RULE: Rule = Rule {
    name: "primary-pipe-too-small",
    group: Group::Manifold,
    weights: [Hint, Information, Warning, Warning],
    limits: &[FASTEST, STEEPEST],
    follows: &["floor-cannot-give-this-much", "temperature-drop-too-narrow", "pressure-drop-over-pump"],
    file: include_str!("primary_pipe_too_small.rs"),
    check,
    ..Rule::USUAL
};

const FASTEST: Limit = Limit { name: "fastest", value: "1.0 m/s", source: "common practice, no source" };
const STEEPEST: Limit = Limit { name: "most-in-a-metre", value: "300 Pa", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (fastest, steepest) = (FASTEST.get::<Velocity>(&RULE, inspection), STEEPEST.get::<Pressure>(&RULE, inspection));
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let Some(velocity) = found.need(it.subject, &it.worked.feeder_velocity) else { continue };
        let Ok(drop) = &it.worked.feeder_drop_per_metre else { continue };
        let place = it.given.feeder.as_ref().and_then(|feeder| feeder.pipe.as_ref()).map_or(it.place, |pipe| pipe.at);
        let over = over(velocity.value, drop.value, fastest.value, steepest.value);
        let finding = if velocity.value > fastest.value {
            let message = format!(
                "water moves at {} in the feeder of manifold {}; {} is quiet",
                velocity.value, it.name, fastest.value
            );
            let finding = Finding::new(it.subject, place, message).value(velocity.value).limit(&fastest);
            finding.figure(format!("manifolds.{}.feeder-velocity", it.name))
        } else if drop.value > steepest.value {
            let message = format!(
                "each metre of the feeder of manifold {} takes {}; {} is as much as it should",
                it.name, drop.value, steepest.value
            );
            let finding = Finding::new(it.subject, place, message).value(drop.value).limit(&steepest);
            finding.figure(format!("manifolds.{}.feeder-drop-per-metre", it.name))
        } else {
            continue;
        };
        found.add(finding.remedy(next_size(&it, over)));
    }
}

/// A feeder of the next size that is quiet, where it is not.
pub(super) fn wider(inspection: &Inspection, it: &Item<Manifold, ManifoldWorkings>) -> Option<Remedy> {
    let (fastest, steepest) = (FASTEST.get::<Velocity>(&RULE, inspection), STEEPEST.get::<Pressure>(&RULE, inspection));
    let (velocity, drop) = (it.worked.feeder_velocity.as_ref().ok()?, it.worked.feeder_drop_per_metre.as_ref().ok()?);
    let over = over(velocity.value, drop.value, fastest.value, steepest.value);
    (over > 1.0).then(|| next_size(it, over)).flatten()
}

/// How much more than is quiet flows, as a share of what may.
fn over(velocity: Velocity, drop: Pressure, fastest: Velocity, steepest: Pressure) -> f64 {
    (velocity / fastest).max((drop / steepest).powf(1.0 / 2.4))
}

/// The next standard size whose bore is so much larger that velocity (bore squared) and pressure (about its power 4.8) fit.
fn next_size(it: &Item<Manifold, ManifoldWorkings>, over: f64) -> Option<Remedy> {
    let pipe = it.given.feeder.as_ref()?.pipe.as_ref()?;
    let now = Pipe::parse(&pipe.value.0).ok()?;
    let least = now.bore() * over.sqrt();
    let wider = listed().filter(|other| other.material == now.material && other.bore() >= least);
    let next = wider.min_by(|one, other| one.bore().in_metres().total_cmp(&other.bore().in_metres()))?;
    Some(Remedy::new(format!("lead there with {next}"), pipe.at, next.to_string()))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn without_a_feeder_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, ""), ["manifolds/M1/feeder"]);
    }
}
