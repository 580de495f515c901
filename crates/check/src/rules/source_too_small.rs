//! The source gives the heat that all it feeds needs together.
//!
//! On the coldest night every room asks at once, and so does the ground below the floors. A source that is too small leaves
//! them all a little cold, and there is nothing to turn up.
//!
//! ## How it is worked out
//! The heat that the floors have to give to their rooms, what goes down from them meanwhile, what other circuits give, and the
//! part kept for hot water; against the output at the design outdoor temperature. The remedy is the output that is enough, in half
//! kilowatts.
//!
//! ## Exceptions
//! A circuit for hot tap water counts by the allowance for it, not by the output of its coil.
//!
//! ## Limit
//! The output: common practice, no source.
//!
//! ```yaml fails
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 1.5 kW, hot-water-allowance: 500 W}
//! #                                                                                      ^^^^^^ the source gives 1500 W; 1758 W is asked of it: rooms 1190 W, downward 68 W, hot water 500 W
//! ```
//! ```yaml remedied
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 2 kW, hot-water-allowance: 500 W}
//! ```
//! ```yaml passes
//! heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 1.8 kW, hot-water-allowance: 500 W}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "source-too-small",
    group: Group::Source,
    weights: [Hint, Warning, Error, Error],
    follows: &["insulation-missing", "void-insulation-missing"],
    file: include_str!("source_too_small.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    if inspection.design.loops.is_empty() {
        return;
    }
    let Some(output) = source.output else {
        if !source.broken {
            found.missing(Subject::HeatSource, "output");
        }
        return;
    };
    let mut floors = Power::ZERO;
    for room in inspection.rooms().filter(|room| !room.worked.loops.is_empty()) {
        let Some(needed) = found.need(room.subject, &room.worked.heat_needed) else { return };
        floors += needed.value;
    }
    let mut downward = Power::ZERO;
    for it in inspection.loops().filter(|it| !it.worked.rooms.is_empty()) {
        let Some(flow) = found.need(it.subject, &it.worked.flow_needed) else { return };
        downward += flow
            .inputs
            .iter()
            .find(|input| input.name == "heat downward")
            .map_or(Power::ZERO, |it| Power::watts(it.value));
    }
    let circuits = source.other_circuits.values().filter(|it| !super::mixed_emitters_one_temperature::for_taps(it));
    let others = circuits.filter_map(|circuit| circuit.output).map(|output| output.value).sum::<Power>();
    let hot_water = source.hot_water_allowance.map_or(Power::ZERO, |it| it.value);
    let asked = floors + downward + others + hot_water;
    if asked <= output.value {
        return;
    }
    let parts: Vec<String> =
        [("rooms", floors), ("downward", downward), ("other circuits", others), ("hot water", hot_water)]
            .into_iter()
            .filter(|(_, part)| *part > Power::ZERO)
            .map(|(words, part)| format!("{words} {part}"))
            .collect();
    let message = format!("the source gives {}; {asked} is asked of it: {}", output.value, parts.join(", "));
    let limit = LimitValue::new(output.value, "common practice, no source");
    let text = format!("{} kW", (asked.in_kilowatts() * 2.0 - 1e-9).ceil() / 2.0);
    let remedy = Remedy::new(format!("take a source that gives {text}"), output.at, text);
    found.add(Finding::new(Subject::HeatSource, output.at, message).value(asked).limit(&limit).remedy(remedy));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn other_circuits_ask_for_theirs() {
        let text = "heat-source: {flow-temperature: 38 °C, temperature-drop: 5 K, output: 3 kW, \
                    other-circuits: {rails: {feeds: towel rails, output: 1.8 kW}}}\n";
        assert_eq!(messages(&RULE, text).len(), 1);
    }

    #[test]
    fn the_coil_of_a_cylinder_counts_by_the_allowance() {
        let text = "heat-source: {flow-temperature: 38 °C, temperature-drop: 5 K, output: 3 kW, hot-water-allowance: 300 W, \
                    other-circuits: {store: {feeds: hot water cylinder, output: 3 kW}}}\n";
        assert_eq!(messages(&RULE, text), [""; 0]);
    }

    #[test]
    fn the_output_is_asked_for() {
        assert_eq!(not_checked(&RULE, "heat-source: {flow-temperature: 38 °C}\n"), ["heat-source/output"]);
    }
}
