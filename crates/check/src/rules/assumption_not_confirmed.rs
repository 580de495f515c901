//! Nothing that is built from is still marked as assumed.
//!
//! An assumption is honest while the design is drawn. Built from, it is a guess with a signature.
//!
//! ## How it is worked out
//! Every key that an `assumed` list names, of the site, the source, the water, pipes, floors and their layers,
//! rooms, manifolds, loops and electric mats.
//!
//! ## Limit
//! None may be left at `for construction`: common practice, no source.
//!
//! ```yaml fails
//! site: {outdoor-temperature: -3 °C, jurisdiction: England, assumed: [outdoor-temperature]}
//! #                                                                   ^^^^^^^^^^^^^^^^^^^ outdoor-temperature of site is still assumed
//! ```
//! ```yaml passes
//! site: {outdoor-temperature: -3 °C, jurisdiction: England}
//! ```

use super::prelude::*;
use design::List;

pub static RULE: Rule = Rule {
    name: "assumption-not-confirmed",
    group: Group::DesignFile,
    weights: [Silent, Information, Warning, Warning],
    file: include_str!("assumption_not_confirmed.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    let mut tell = |about: Subject, assumed: &List<String>| {
        for key in assumed {
            let message = format!("{} of {} is still assumed", key.value, about.path(design));
            found.add(Finding::new(about, key.at, message).source("common practice, no source"));
        }
    };
    tell(Subject::Site, &design.site.assumed);
    tell(Subject::HeatSource, &design.heat_source.assumed);
    tell(Subject::Water, &design.water.assumed);
    design.pipes.values().enumerate().for_each(|(at, pipe)| tell(Subject::Pipe(at), &pipe.assumed));
    for (at, floor) in design.floors.values().enumerate() {
        tell(Subject::Floor(at), &floor.assumed);
        floor.layers.iter().enumerate().for_each(|(layer, it)| tell(Subject::Layer(at, layer), &it.assumed));
    }
    for (at, room) in design.rooms.values().enumerate() {
        tell(Subject::Room(at), &room.assumed);
        room.covering.iter().for_each(|layer| tell(Subject::Room(at), &layer.assumed));
    }
    design.manifolds.values().enumerate().for_each(|(at, it)| tell(Subject::Manifold(at), &it.assumed));
    design.loops.values().enumerate().for_each(|(at, it)| tell(Subject::Loop(at), &it.assumed));
    design.electric_mats.values().enumerate().for_each(|(at, it)| tell(Subject::ElectricMat(at), &it.assumed));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn every_block_is_asked() {
        let text = "water: {working-pressure: 1.5 bar, assumed: working-pressure}\nfloors:\n  screeded:\n    layers:\n      - \
                    {material: cement screed, thickness: 65 mm, assumed: [thickness]}\n";
        let found = messages(&RULE, text);
        assert_eq!(
            found,
            ["working-pressure of water is still assumed", "thickness of floors/screeded/layers/1 is still assumed"]
        );
    }

    #[test]
    fn a_preliminary_design_may_assume() {
        let text = "project: {stage: preliminary}\nwater: {working-pressure: 1.5 bar, assumed: working-pressure}\n";
        assert!(messages(&RULE, text).is_empty());
    }
}
