//! The free floor of a bathroom gives the heat that the bathroom needs.
//!
//! Bath, tray, WC and units take the floor that would heat it, and a bathroom is the warmest room: a towel rail is planned with the floor or
//! bought in the first winter.
//!
//! ## How it is worked out
//! As for other rooms (`room-short-of-heat`): what the loops give at the design flow temperature, on the floor that is free of keep-clear
//! areas, against the heat loss without that of the floor itself and without other emitters.
//!
//! ## Limit
//! At least what is needed: EN 1264-2 and -3; the heat loss by EN 12831-1.
//!
//! ## Exceptions
//! Where the room asks more than any floor can give, `floor-cannot-give-this-much` speaks.
//!
//! Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 800 W, floor: screeded, area: 12 m², height: 2.4 m, keep-clear: {bath: [[0, 0], [1.7, 0], [1.7, 0.7], [0, 0.7]]}}
//! #                                                      ^^^^^ the floor of room hall gives 731 W; it needs 800 W, 69 W more; 10 % of it is taken up by what stands there
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```
//! ```yaml passes
//! rooms:
//!   hall: {use: bathroom, temperature: 22 °C, heat-loss: 800 W, floor: screeded, area: 12 m², height: 2.4 m, keep-clear: {bath: [[0, 0], [1.7, 0], [1.7, 0.7], [0, 0.7]]}, other-emitters: {towel-rail: {output: 150 W}}}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}
//! ```

use super::prelude::*;
use design::Use;

pub static RULE: Rule = Rule {
    name: "bathroom-short-of-heat",
    group: Group::HeatOutput,
    weights: [Warning; 4],
    caution: Some(
        "Calculated for steady design conditions by a standard-floor method; check against the maker's tested output.",
    ),
    follows: &[
        "covering-too-resistive",
        "deck-too-resistive-over-plates",
        "spacing-off-module",
        "spacing-too-wide",
        "temperature-drop-too-wide",
    ],
    file: include_str!("bathroom_short_of_heat.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    super::room_short_of_heat::judge(inspection, found, |room| room == Some(Use::Bathroom));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    fn bathroom(loss: &str) -> String {
        format!(
            "rooms: {{hall: {{use: bathroom, temperature: 22 °C, heat-loss: {loss}, floor: screeded, area: 12 m², height: 2.4 m}}}}\n"
        )
    }

    #[test]
    fn a_bathroom_is_short_once() {
        let text = bathroom("900 W");
        assert_eq!(messages(&RULE, &text).len(), 1);
        assert!(messages(&super::super::room_short_of_heat::RULE, &text).is_empty());
        assert!(messages(&RULE, &bathroom("600 W")).is_empty());
    }

    #[test]
    fn at_most_three_remedies_are_offered() {
        let outcome = check(&bathroom("900 W"));
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.remedies.len() <= 3);
        let titles: Vec<&str> = finding.remedies.iter().map(|it| it.title.as_str()).collect();
        assert!(titles.iter().any(|it| it.starts_with("add a towel rail of")), "{titles:?}");
    }
}
