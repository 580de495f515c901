//! A pressure test with air follows a written method, with people kept out.
//!
//! Compressed air in a manifold with its loops throws a fitting across a room. People have been killed by it.
//!
//! ## How it is worked out
//! A test with air must name its `method` and say that people were kept out. The stored energy that the message tells is
//! p·V·ln(p/p₀) with absolute pressures and the water content of all loops.
//!
//! ## Limit
//! HSE guidance note GS4 (United Kingdom), fourth edition: a written method, an exclusion zone, pressure raised in steps, slow
//! release.
//!
//! Danger: compressed air. Test with water wherever frost allows it.
//!
//! ```yaml fails
//! records:
//!   pressure-test: {medium: air, pressure: 3 bar, duration: 60 min, end-pressure: 3 bar}
//! #                         ^^^ the air test stores about 11 kJ; no written method and no keeping out of people is recorded
//! ```
//! ```yaml passes
//! records:
//!   pressure-test: {medium: air, pressure: 3 bar, duration: 60 min, end-pressure: 3 bar, method: our method 7, people-kept-out: true}
//! ```

use super::prelude::*;
use design::TestMedium;
use workings::ValueOf;

pub static RULE: Rule = Rule {
    name: "air-test-without-care",
    group: Group::Safety,
    weights: [Error; 4],
    caution: Some("Danger: compressed air. Stop and read the pressure-test caution."),
    file: include_str!("air_test_without_care.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for test in &inspection.design.records.pressure_tests {
        let Some(medium) = test.medium.filter(|medium| medium.value == TestMedium::Air) else { continue };
        let method = test.method.as_ref().is_some_and(|method| !method.value.trim().is_empty());
        let kept_out = test.people_kept_out.is_some_and(|out| out.value);
        let lacks = match (method, kept_out) {
            (true, true) => continue,
            _ if !inspection.is_read(test.at) => continue,
            (false, true) => "no written method is recorded",
            (true, false) => "no keeping out of people is recorded",
            (false, false) => "no written method and no keeping out of people is recorded",
        };
        let energy = test.pressure.and_then(|pressure| stored_kilojoules(inspection, pressure.value));
        let message = match energy {
            Some(energy) => format!("the air test stores about {energy:.0} kJ; {lacks}"),
            None => format!("the test is made with air; {lacks}"),
        };
        let source = "HSE guidance note GS4 (United Kingdom), fourth edition";
        found.add(Finding::new(Subject::Records, medium.at, message).source(source));
    }
}

/// The energy of air at a gauge pressure in all loops together, in kilojoules.
///
/// Source: plain physics, expansion at one temperature: p·V·ln(p/p₀).
fn stored_kilojoules(inspection: &Inspection, gauge: Pressure) -> Option<f64> {
    let loops = inspection.workings.loops.iter().map(|it| it.water_content.value().ok());
    let volume = loops.sum::<Option<Volume>>()?;
    let outside = Pressure::bar(1.013);
    let inside = gauge + outside;
    let energy = inside.in_pascals() * volume.in_cubic_metres() * (inside / outside).ln() / 1e3;
    (energy > 0.0).then_some(energy)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn water_needs_no_such_care() {
        assert!(messages(&RULE, "records: {pressure-test: {pressure: 6 bar}}\n").is_empty());
    }

    #[test]
    fn both_are_wanted() {
        let text = "loops: {}\nrecords: {pressure-test: {medium: air, pressure: 3 bar, method: our method 7}}\n";
        assert_eq!(messages(&RULE, text), ["the test is made with air; no keeping out of people is recorded"]);
    }
}
