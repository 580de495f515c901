//! What is defined is used.
//!
//! A pipe or a floor that nothing names is what is left of an earlier idea. The next reader takes it for part of
//! the design.
//!
//! ## How it is worked out
//! The names of pipes, floors and storeys of the design are looked up among all uses of names. A library serves
//! several designs: its names may rest. Walls are there whether anything names them or not.
//!
//! ## Limit
//! Common practice, no source.
//!
//! ```yaml fails
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm}
//!   PEX-20: {material: PE-X, outside-diameter: 20 mm, wall-thickness: 2 mm}
//! # ^^^^^^ nothing uses the pipe PEX-20
//! ```
//! ```yaml remedied
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm}
//! ```

use super::prelude::*;
use crate::remedy::remove_entry;
use design::FileId;
use std::collections::HashSet;

pub static RULE: Rule = Rule {
    name: "definition-not-used",
    group: Group::DesignFile,
    weights: [Hint; 4],
    file: include_str!("definition_not_used.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let (reading, design) = (inspection.reading, inspection.design);
    let used: HashSet<(Kind, &str)> = reading.references.iter().map(|it| (it.kind, it.name.as_str())).collect();
    for definition in &reading.definitions {
        let at = match definition.kind {
            Kind::Pipe => design.pipes.position(&definition.name).map(Subject::Pipe),
            Kind::Floor => design.floors.position(&definition.name).map(Subject::Floor),
            Kind::Storey => Some(Subject::Design),
            _ => continue,
        };
        let Some(about) = at else { continue };
        if definition.place.file != FileId::new(0) || used.contains(&(definition.kind, &definition.name)) {
            continue;
        }
        let what = format!("the {} {}", definition.kind.word(), definition.name);
        let change = remove_entry(inspection, definition.whole);
        let remedy = Remedy::of(format!("take {what} out"), change);
        let finding = Finding::new(about, definition.place, format!("nothing uses {what}"));
        found.add(finding.source("common practice, no source").remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn storeys_and_floors_are_asked_too() {
        let text = "storeys: {ground: {level: 0 m}, first: {level: 2.7 m}}\nwalls: {W1: {storey: ground}}\n";
        assert_eq!(messages(&RULE, text), ["nothing uses the storey first"]);
        let text = "rooms: {hall: {area: 12 m²}, study: {area: 11 m²}}\n";
        assert_eq!(messages(&RULE, text), ["nothing uses the floor screeded"]);
    }

    #[test]
    fn a_feeder_uses_its_pipe() {
        let text = "manifolds: {M1: {feeder: {pipe: PEX-16}}}\nloops: {}\n";
        assert!(messages(&RULE, text).is_empty());
    }
}
