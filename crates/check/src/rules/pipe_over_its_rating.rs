//! No pipe and no manifold sees more heat or pressure than it is rated for.
//!
//! A pipe that is run above its class does not burst that day; it ages in years instead of decades, under the
//! floor. A part that is tested above its rating may burst in somebody's face.
//!
//! ## How it is worked out
//! The hottest flow of the loops of a pipe is held against its `highest-temperature`; the working pressure, the safety valve and each
//! test pressure against its `highest-pressure`, and against that of each manifold.
//!
//! ## Limit
//! The rating of the weakest part, as the design states it: common practice, no source.
//!
//! ```yaml fails
//! heat-source: {kind: boiler, flow-temperature: 75 °C, temperature-drop: 10 K}
//! pipes:
//!   PEX-16:
//!     material: PE-X
//!     outside-diameter: 16 mm
//!     wall-thickness: 2 mm
//!     highest-pressure: 6 bar
//!     highest-temperature: 70 °C
//! #                        ^^^^^ pipe PEX-16 carries water of 75.0 °C; it is rated for 70.0 °C
//! ```
//! ```yaml fails
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 8 bar, duration: 60 min, end-pressure: 8 bar}
//! #                                             ^^^^^ pipe PEX-16 is tested at 8.0 bar; it is rated for 6.0 bar
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {date: 2026-03-04, pressure: 6 bar, duration: 60 min, end-pressure: 6 bar}
//! ```

use super::prelude::*;
use design::{Given, Placed};
use workings::{Gap, ValueOf};

pub static RULE: Rule = Rule {
    name: "pipe-over-its-rating",
    group: Group::Safety,
    weights: [Warning, Error, Error, Error],
    caution: Some(
        "A pressure test stores energy; fittings and hoses that let go have killed. Never exceed the rating of the weakest part.",
    ),
    file: include_str!("pipe_over_its_rating.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "the part's rating, as the design states it";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let mut hottest: Vec<Option<(Temperature, usize)>> = vec![None; design.pipes.len()];
    let mut used = vec![false; design.pipes.len()];
    let mut standard_size = false;
    for (at, (given, worked)) in design.loops.values().zip(&inspection.workings.loops).enumerate() {
        let Some(name) = &given.pipe else { continue };
        let Some(pipe) = design.pipes.position(&name.value.0) else {
            standard_size |= worked.pipe.is_ok();
            continue;
        };
        used[pipe] = true;
        if let Ok(flow) = worked.flow_temperature.value()
            && hottest[pipe].is_none_or(|(other, _)| flow > other)
        {
            hottest[pipe] = Some((flow, at));
        }
    }
    for (at, (name, entry)) in design.pipes.iter().enumerate().filter(|(at, _)| used[*at]) {
        let (pipe, subject) = (&entry.value, Subject::Pipe(at));
        match (pipe.highest_temperature, hottest[at]) {
            (Some(rated), Some((flow, of))) if flow > rated.value => {
                let message = format!("pipe {name} carries water of {flow}; it is rated for {}", rated.value);
                let of = design.loops.at(of).map_or("?", |(name, _)| name);
                let finding = Finding::new(subject, rated.at, message).value(flow).source(SOURCE);
                found.add(finding.figure(format!("loops.{of}.flow-temperature")));
            }
            (None, Some(_)) => found.missing(subject, "highest-temperature"),
            _ => {}
        }
        pressures(inspection, found, subject, &format!("pipe {name}"), pipe.highest_pressure);
    }
    for it in inspection.manifolds() {
        pressures(inspection, found, it.subject, &format!("manifold {}", it.name), it.given.highest_pressure);
    }
    if standard_size {
        let reason = "a standard size written out has no rating; define the pipe under `pipes` with its own";
        found.not_checked(Subject::Design, &Gap::NoMethod(reason.into()));
    }
}

/// The working pressure and the highest test pressure against the rating of a part.
fn pressures(inspection: &Inspection, found: &mut Findings, part: Subject, name: &str, rated: Given<Pressure>) {
    let design = inspection.design;
    let tests = design.records.pressure_tests.iter().filter_map(|test| test.pressure);
    let tested = tests.reduce(|one, other| if other.value > one.value { other } else { one });
    let working = design.water.working_pressure;
    let Some(rated) = rated else {
        if tested.is_some() || working.is_some() {
            found.missing(part, "highest-pressure");
        }
        return;
    };
    let mut over = |pressure: Placed<Pressure>, what: &str| {
        if pressure.value > rated.value {
            let message = format!("{name} {what} {}; it is rated for {}", pressure.value, rated.value);
            let finding = Finding::new(part, pressure.at, message).value(pressure.value).source(SOURCE);
            found.add(finding.related(rated.at, "its rating"));
        }
    };
    tested.into_iter().for_each(|pressure| over(pressure, "is tested at"));
    working.into_iter().for_each(|pressure| over(pressure, "works at"));
    design.safety.safety_valve.into_iter().for_each(|pressure| over(pressure, "is guarded by a safety valve of"));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_part_may_be_used_to_its_rating() {
        let at = |celsius: f64| {
            messages(&RULE, &format!("heat-source: {{flow-temperature: {celsius} °C, temperature-drop: 5 K}}\n"))
        };
        assert!(at(70.0).is_empty());
        assert_eq!(at(70.1).len(), 1);
    }

    #[test]
    fn the_manifold_is_a_part_too() {
        let text = "manifolds: {M1: {highest-pressure: 4 bar}}\nrecords: {pressure-test: {pressure: 5 bar}}\nwater: \
                    {working-pressure: 4.5 bar}\n";
        assert_eq!(
            messages(&RULE, text),
            [
                "manifold M1 is tested at 5.0 bar; it is rated for 4.0 bar",
                "manifold M1 works at 4.5 bar; it is rated for 4.0 bar"
            ]
        );
    }

    /// A safety valve guards what it opens for in time.
    #[test]
    fn the_safety_valve_opens_before_the_rating() {
        let valve = |bar: u32| messages(&RULE, &format!("safety: {{safety-valve: {bar} bar}}\n"));
        assert_eq!(valve(6), [""; 0]);
        assert_eq!(valve(10), ["pipe PEX-16 is guarded by a safety valve of 10.0 bar; it is rated for 6.0 bar"]);
    }

    #[test]
    fn a_rating_that_is_not_known_is_told() {
        assert_eq!(not_checked(&RULE, "manifolds: {M1: {}}\n"), ["manifolds/M1/highest-pressure"]);
        let text = "loops: {L1: {manifold: M1, room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, tails: 10 m}}\n";
        assert!(not_checked(&RULE, text).iter().any(|it| it.contains("standard size")));
    }
}
