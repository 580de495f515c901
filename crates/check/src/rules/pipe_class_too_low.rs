//! The pipe is made for floor heating, and for the pressure and the water of this system.
//!
//! Plastic pipe ages by heat and pressure together. A class says for which life it was tested; a pipe of a lesser one may last
//! ten winters instead of fifty, under a floor that was meant to outlive them all.
//!
//! ## How it is worked out
//! The class, the pressure and the highest temperature of each pipe that is laid, against what the system asks.
//!
//! ## Limit
//! ISO 10508 class 4, or class 5, which may serve class 4 floors: 20 °C for 2.5 years, 40 °C for 20, 60 °C for 25, 70 °C for
//! 2.5 and 100 °C for 100 hours, from a certification body's own pages. 4 bar and the working pressure. The pipe's own highest
//! temperature, as its maker states it.
//!
//! ```yaml fails
//! pipes:
//!   PEX-16:
//!     material: PE-X
//!     outside-diameter: 16 mm
//!     wall-thickness: 2 mm
//!     class: 2
//! #          ^ pipe PEX-16 is of class 2; floor heating asks for class 4 or 5
//!     highest-pressure: 6 bar
//! ```
//! ```yaml fails
//! water: {working-pressure: 3 bar}
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, highest-pressure: 3.5 bar}
//! #                                                                                                     ^^^^^^^ pipe PEX-16 is made for 3.5 bar; the system asks for 4.0 bar
//! ```
//! ```yaml fails
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, highest-pressure: 6 bar, highest-temperature: 35 °C}
//! #                                                                                                                                 ^^^^^ pipe PEX-16 bears water of 35.0 °C; loop L1 is fed with 38.0 °C
//! ```
//! ```yaml passes
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 5, highest-pressure: 6 bar}
//! ```

use super::prelude::*;
use crate::inspection::LaidPipe;
use design::PipeMaterial;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "pipe-class-too-low",
    group: Group::Hydraulics,
    weights: [Information, Warning, Error, Error],
    limits: &[PRESSURE],
    file: include_str!("pipe_class_too_low.rs"),
    check,
    ..Rule::USUAL
};

const CLASSES: &str = "ISO 10508, class 4 for floor heating, as a certification body's pages give it";
const PRESSURE: Limit = Limit { name: "least-pressure", value: "4 bar", source: CLASSES };

fn check(inspection: &Inspection, found: &mut Findings) {
    for pipe in inspection.laid_pipes() {
        let plastic =
            !matches!(pipe.given.material.map(|it| it.value), Some(PipeMaterial::Copper | PipeMaterial::Steel));
        if plastic {
            class(&pipe, found);
        }
        pressure(inspection, &pipe, found);
        temperature(inspection, &pipe, found);
    }
}

fn class(pipe: &LaidPipe, found: &mut Findings) {
    match pipe.given.class {
        Some(class) if !matches!(class.value, 4 | 5) => {
            let message =
                format!("pipe {} is of class {}; floor heating asks for class 4 or 5", pipe.name, class.value);
            found.add(Finding::new(pipe.subject, class.at, message).source(CLASSES));
        }
        Some(_) => {}
        None => missing(pipe, found, "class"),
    }
}

fn pressure(inspection: &Inspection, pipe: &LaidPipe, found: &mut Findings) {
    let Some(highest) = pipe.given.highest_pressure else { return missing(pipe, found, "highest-pressure") };
    let mut limit = PRESSURE.get::<Pressure>();
    let working = inspection.design.water.working_pressure.filter(|working| working.value > limit.value);
    if let Some(working) = working {
        limit = crate::LimitValue {
            value: working.value,
            source: "the working pressure of the system, as the design gives it",
        };
    }
    if highest.value >= limit.value {
        return;
    }
    let message = format!("pipe {} is made for {}; the system asks for {}", pipe.name, highest.value, limit.value);
    let mut finding = Finding::new(pipe.subject, highest.at, message).value(highest.value).limit(&limit);
    if let Some(working) = working {
        finding = finding.related(working.at, "the working pressure");
    }
    found.add(finding);
}

fn temperature(inspection: &Inspection, pipe: &LaidPipe, found: &mut Findings) {
    let Some(highest) = pipe.given.highest_temperature else { return };
    let loops = pipe.loops.iter().rev().filter_map(|at| {
        let flow = inspection.workings.loops[*at].flow_temperature.as_ref().ok()?;
        (flow.value > highest.value).then_some((*at, flow.value))
    });
    let Some((at, flow)) = loops.max_by(|one, other| one.1.in_celsius().total_cmp(&other.1.in_celsius())) else {
        return;
    };
    let name = inspection.design.loops.at(at).map_or("?", |(name, _)| name);
    let message = format!("pipe {} bears water of {}; loop {name} is fed with {flow}", pipe.name, highest.value);
    found.add(
        Finding::new(pipe.subject, highest.at, message)
            .value(flow)
            .limit(&crate::LimitValue { value: highest.value, source: "the pipe's maker, as the design gives it" })
            .related(Subject::Loop(at).place(inspection.design), "the loop with the warmest water"),
    );
}

/// A size written out has no keys: the pipe would have to be named.
fn missing(pipe: &LaidPipe, found: &mut Findings, key: &'static str) {
    match pipe.subject {
        Subject::Pipe(_) if pipe.given.broken => {}
        Subject::Pipe(_) => found.missing(pipe.subject, key),
        about => found.not_checked(
            about,
            &Gap::NoMethod(format!("the size `{}` does not say its {key}: name the pipe in `pipes`", pipe.name)),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_size_written_out_cannot_say_its_class() {
        let text = "loops:\n  L1: {manifold: M1, room: hall, pipe: PE-RT 16 x 2, spacing: 150 mm, tails: 10 m}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
        assert_eq!(
            not_checked(&RULE, text),
            [
                "the size `PE-RT 16 x 2` does not say its class: name the pipe in `pipes`",
                "the size `PE-RT 16 x 2` does not say its highest-pressure: name the pipe in `pipes`"
            ]
        );
    }

    #[test]
    fn a_pipe_that_is_not_laid_is_not_judged() {
        let text = "pipes:\n  PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, highest-pressure: 4 bar}\n  \
                    old: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 1}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }
}
