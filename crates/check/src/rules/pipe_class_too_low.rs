//! The pipe is made for floor heating, and for the pressure that its class asks.
//!
//! Plastic pipe ages by heat and pressure together. A class says for which life it was tested; a pipe of a lesser one may last
//! ten winters instead of fifty, under a floor that was meant to outlive them all.
//!
//! ## How it is worked out
//! The class and the pressure of each pipe that is laid, against what floor heating asks. Water that is hotter than the
//! pipe may bear, or that stands under more pressure, is for `pipe-over-its-rating`.
//!
//! ## Limit
//! ISO 10508 class 4, or class 5, which may serve class 4 floors: 20 °C for 2.5 years, 40 °C for 20, 60 °C for 25, 70 °C for
//! 2.5 and 100 °C for 100 hours, from a certification body's own pages. 4 bar, as that class is tested.
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
//! ```yaml remedied
//! pipes:
//!   PEX-16:
//!     material: PE-X
//!     outside-diameter: 16 mm
//!     wall-thickness: 2 mm
//!     class: 4
//!     highest-pressure: 6 bar
//! ```
//! ```yaml fails
//! water: {working-pressure: 3 bar}
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, highest-pressure: 3.5 bar}
//! #                                                                                                     ^^^^^^^ pipe PEX-16 is made for 3.5 bar; floor heating asks for 4.0 bar
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
    }
}

fn class(pipe: &LaidPipe, found: &mut Findings) {
    match pipe.given.class {
        Some(class) if !matches!(class.value, 4 | 5) => {
            let message =
                format!("pipe {} is of class {}; floor heating asks for class 4 or 5", pipe.name, class.value);
            let remedy = Remedy::new("lay pipe of class 4", class.at, "4");
            let (value, least) = (Number::new(f64::from(class.value)), LimitValue::new(Number::new(4.0), CLASSES));
            found.add(Finding::new(pipe.subject, class.at, message).value(value).limit(&least).remedy(remedy));
        }
        Some(_) => {}
        None => missing(pipe, found, "class"),
    }
}

fn pressure(inspection: &Inspection, pipe: &LaidPipe, found: &mut Findings) {
    let Some(highest) = pipe.given.highest_pressure else { return missing(pipe, found, "highest-pressure") };
    let limit = PRESSURE.get::<Pressure>(&RULE, inspection);
    let is_over = inspection.design.water.working_pressure.is_some_and(|working| working.value > highest.value);
    if highest.value >= limit.value || is_over {
        return;
    }
    let message = format!("pipe {} is made for {}; floor heating asks for {}", pipe.name, highest.value, limit.value);
    found.add(Finding::new(pipe.subject, highest.at, message).value(highest.value).limit(&limit));
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
