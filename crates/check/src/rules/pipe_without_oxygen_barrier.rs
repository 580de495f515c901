//! Pipe that lets oxygen through is kept away from steel.
//!
//! Oxygen that passes a plastic wall rusts boiler, radiators and pump from within. The sludge comes to rest in the floor.
//!
//! ## How it is worked out
//! Each pipe of plastic that is laid, where the system has parts of plain steel or cast iron and no heat exchanger keeps
//! the floor's water apart. Multilayer pipe is taken to be tight unless the design says that it is not.
//!
//! ## Limit
//! 0.32 mg/(m²·day) at 40 °C and 3.60 at 80 °C: DIN 4726, as test reports and a heating encyclopaedia give it; older pipes
//! were rated at 0.1 g/(m³·day) at 40 °C. The design says whether the pipe's barrier meets it.
//!
//! ```yaml fails
//! water: {working-pressure: 1.5 bar, steel-parts: true}
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, oxygen-barrier: false}
//! #                                                                                         ^^^^^ pipe PEX-16 has no oxygen barrier, and the system has parts of steel
//! ```
//! ```yaml remedied
//! water: {working-pressure: 1.5 bar, steel-parts: true}
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, oxygen-barrier: true}
//! ```
//! ```yaml fails
//! water: {working-pressure: 1.5 bar, steel-parts: true}
//! pipes:
//!   PEX-16: {material: multilayer, outside-diameter: 16 mm, wall-thickness: 2 mm, oxygen-barrier: false}
//! #                                                                                               ^^^^^ pipe PEX-16 has no oxygen barrier, and the system has parts of steel
//! ```
//! ```yaml passes
//! water: {working-pressure: 1.5 bar, steel-parts: true}
//! pipes:
//!   PEX-16: {material: multilayer, outside-diameter: 16 mm, wall-thickness: 2 mm}
//! ```

use super::prelude::*;
use design::PipeMaterial;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "pipe-without-oxygen-barrier",
    group: Group::Hydraulics,
    weights: [Information, Warning, Error, Error],
    file: include_str!("pipe_without_oxygen_barrier.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "DIN 4726, 0.32 mg/(m²·day) at 40 °C, as test reports and a heating encyclopaedia give it";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let steel = design.water.steel_parts;
    let apart = design.heat_source.heat_exchanger.is_some_and(|it| it.value);
    if apart || steel.is_some_and(|steel| !steel.value) {
        return;
    }
    for pipe in inspection.laid_pipes() {
        let barrier = pipe.given.oxygen_barrier;
        let tight = match pipe.given.material.map(|it| it.value) {
            Some(PipeMaterial::Copper | PipeMaterial::Steel) => true,
            // What is said of a pipe counts before what is usual.
            Some(PipeMaterial::Multilayer) => barrier.is_none_or(|barrier| barrier.value),
            _ => barrier.is_some_and(|barrier| barrier.value),
        };
        if tight {
            continue;
        }
        let (Some(steel), Some(barrier)) = (steel, barrier) else {
            match (steel, pipe.subject) {
                (None, _) if design.water.broken => {}
                (None, _) => found.missing(Subject::Water, "steel-parts"),
                (_, Subject::Pipe(_)) if pipe.given.broken => {}
                (_, Subject::Pipe(_)) => found.missing(pipe.subject, "oxygen-barrier"),
                (_, about) => found.not_checked(
                    about,
                    &Gap::NoMethod(format!(
                        "the size `{}` does not say its oxygen-barrier: name the pipe in `pipes`",
                        pipe.name
                    )),
                ),
            }
            continue;
        };
        let message = format!("pipe {} has no oxygen barrier, and the system has parts of steel", pipe.name);
        found.add(
            Finding::new(pipe.subject, barrier.at, message)
                .source(SOURCE)
                .related(steel.at, "the parts of steel")
                .remedy(Remedy::new("lay pipe with an oxygen barrier", barrier.at, "true")),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    const BARE: &str =
        "pipes:\n  PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, oxygen-barrier: false}\n";

    #[test]
    fn a_heat_exchanger_keeps_the_water_apart() {
        let text = format!(
            "{BARE}water: {{steel-parts: true}}\nheat-source: {{flow-temperature: 38 °C, heat-exchanger: true}}\n"
        );
        assert_eq!(messages(&RULE, &text), [""; 0]);
    }

    #[test]
    fn multilayer_is_tight_unless_it_is_said_not_to_be() {
        let said = |material: &str| {
            messages(
                &RULE,
                &format!("{}water: {{steel-parts: true}}\n", BARE.replace("PE-X,", &format!("{material},"))),
            )
        };
        assert_eq!(["PE-X", "multilayer", "copper", "steel"].map(|material| said(material).len()), [1, 1, 0, 0]);
    }

    #[test]
    fn steel_parts_must_be_known() {
        assert_eq!(not_checked(&RULE, BARE), ["water/steel-parts"]);
    }
}
