//! The water comes back to a condensing boiler cool enough for its flue gas to condense.
//!
//! A boiler that does not condense gives away a tenth of its gas as steam. Floor heating is the system that lets it condense
//! all winter, if nothing warms the return on its way.
//!
//! ## How it is worked out
//! The return temperature that the design states; else that of all manifolds together, mixed by what each of them takes from
//! it, where nothing but floors is joined to the boiler. What a return of 45 °C would save is a range: between the equilibrium
//! of flue gas at air ratio 1.25 and the curve of condensing boilers that public simulations of buildings use. The remedy gives
//! water as warm as the floor that needs the warmest.
//!
//! ## Limit
//! Below 55 °C, the dew point of the flue gas: training-body and trade texts; it is 54 to 57 °C for natural gas with 13 to 30 %
//! more air than is just enough. Under 45 °C is better.
//!
//! ```yaml fails
//! heat-source: {kind: condensing boiler, flow-temperature: 65 °C, return-temperature: 60 °C, temperature-drop: 5 K}
//! #                                                                                   ^^^^^ the water comes back at 60.0 °C; a condensing boiler wants less than 55.0 °C, and a return of 45 °C would save 1 to 3 % of its fuel
//! ```
//! ```yaml passes
//! heat-source: {kind: condensing boiler, flow-temperature: 45 °C, return-temperature: 38 °C}
//! ```

use super::prelude::*;
use design::{Place, SourceKind};
use engineering::water::source::saved_by_cooler_return;

pub static RULE: Rule = Rule {
    name: "boiler-return-too-warm",
    group: Group::Source,
    weights: [Hint, Information, Warning, Warning],
    limits: &[DEW_POINT, BETTER],
    file: include_str!("boiler_return_too_warm.rs"),
    check,
    ..Rule::USUAL
};

pub(super) const DEW_POINT: Limit =
    Limit { name: "dew-point", value: "55 °C", source: "training-body and trade texts on the flue-gas dew point" };
const BETTER: Limit =
    Limit { name: "better", value: "45 °C", source: "training-body and trade texts on the flue-gas dew point" };

pub(super) const FIGURE: &str = "heat-source.return-temperature";

fn check(inspection: &Inspection, found: &mut Findings) {
    let source = &inspection.design.heat_source;
    if source.kind.is_none_or(|kind| kind.value != SourceKind::CondensingBoiler) {
        return;
    }
    let Some((back, place)) = return_temperature(inspection, found) else { return };
    let (dew_point, better) =
        (DEW_POINT.get::<Temperature>(&RULE, inspection), BETTER.get::<Temperature>(&RULE, inspection));
    if back >= dew_point.value {
        let saved = saved(back, better.value).map_or(String::new(), |saved| {
            format!(", and a return of {:.0} °C would save {saved}", better.value.in_celsius())
        });
        let message =
            format!("the water comes back at {back}; a condensing boiler wants less than {}{saved}", dew_point.value);
        let finding = Finding::new(Subject::HeatSource, place, message).value(back).limit(&dew_point).figure(FIGURE);
        found.add(finding.remedy(super::heat_pump_flow_too_warm::as_floors_need(inspection)));
    } else if back > better.value {
        let saved = saved(back, better.value).map_or(String::new(), |saved| format!(", which would save {saved}"));
        let message =
            format!("the water comes back at {back}; the boiler condenses well below {}{saved}", better.value);
        let weight = RULE.weight(inspection.design.stage());
        let softer = if weight == Hint { Hint } else { Information };
        let finding = Finding::new(Subject::HeatSource, place, message).value(back).limit(&better).figure(FIGURE);
        found.add_as(softer, finding.remedy(super::heat_pump_flow_too_warm::as_floors_need(inspection)));
    }
}

/// The return of the source, and where it is stated, or else where the source is.
pub(super) fn return_temperature(inspection: &Inspection, found: &mut Findings) -> Option<(Temperature, Place)> {
    let source = &inspection.design.heat_source;
    let back = found.need(Subject::HeatSource, &inspection.workings.source.return_temperature)?;
    let stated = source.return_temperature.map(|stated| stated.at);
    Some((back.value, stated.unwrap_or(source.kind.map_or(source.place, |kind| kind.at))))
}

/// What a cooler return is worth, where it is worth half a per cent.
fn saved(warm: Temperature, cool: Temperature) -> Option<String> {
    let (least, most) = saved_by_cooler_return(warm, cool).ok()?;
    let (least, most) = (least.in_percent(), most.in_percent());
    (most >= 0.5).then(|| format!("{least:.0} to {most:.0} % of its fuel"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_return_between_is_a_figure_to_see() {
        let text = "heat-source: {kind: condensing boiler, flow-temperature: 55 °C, return-temperature: 48 °C}\n";
        assert_eq!(
            messages(&RULE, text),
            [
                "the water comes back at 48.0 °C; the boiler condenses well below 45.0 °C, which would save 0 to 2 % of its fuel"
            ]
        );
    }

    #[test]
    fn what_radiators_send_back_must_be_stated() {
        let text = "heat-source: {kind: condensing boiler, flow-temperature: 40 °C, other-circuits: {radiators: {feeds: radiators}}}\n";
        assert_eq!(not_checked(&RULE, text), ["heat-source/return-temperature"]);
    }
}
