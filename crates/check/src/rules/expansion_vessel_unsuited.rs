//! The expansion vessel takes up what the floor's water grows by.
//!
//! A floor adds water to the system, and warm water is more than cold. Where the vessel is too small the safety valve weeps
//! every winter, and the system is topped up with fresh water that rusts it.
//!
//! ## How it is worked out
//! Content: the loops, the vessel that is always in circuit and what else the system holds. Expansion from filling at 10 °C to
//! the highest temperature of the source, or its flow temperature while none is given. The vessel's least content by EN 12828: (expansion + reserve) x (end pressure +
//! 1 bar) / (end pressure - charge pressure), reserve 0.5 % of the content and 3 l at least, end pressure 0.5 bar below the
//! safety valve. A charge pressure that is left out follows from the static height; one that is given is held against it,
//! and 0.2 bar more, so that water does not fill the vessel before it is warm.
//!
//! ## Limit
//! EN 12828 in its form of 2003, the formula from memory; its pressures as a French works-standard annex and a Belgian
//! installers' federation set them out. The stricter of both editions counts for what is left out, the present one for
//! the charge that is given.
//!
//! ## Exceptions
//! Where the working pressure does not lie between charge and safety valve, that is said instead. A vessel with more charge than
//! is usual from the factory, 1 bar, is first offered less.
//!
//! ```yaml fails
//! water:
//!   working-pressure: 1.5 bar
//!   other-content: 120 l
//!   expansion-vessel: {volume: 8 l, charge-pressure: 1 bar, static-height: 3 m}
//! #                            ^^^ the expansion vessel has 8.0 l; a system of 179.8 l, which grows by 1.2 l, asks for 9.8 l
//! ```
//! ```yaml remedied
//! water:
//!   working-pressure: 1.5 bar
//!   other-content: 120 l
//!   expansion-vessel: {volume: 10 l, charge-pressure: 1 bar, static-height: 3 m}
//! ```
//! ```yaml fails
//! water: {working-pressure: 1.5 bar, other-content: 40 l}
//! #      ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the floor adds 19.8 l of water; no expansion vessel is given to take up what it grows by
//! ```
//! ```yaml fails
//! water:
//!   working-pressure: 1.5 bar
//!   other-content: 40 l
//!   expansion-vessel: {volume: 12 l, charge-pressure: 0.1 bar, static-height: 3 m}
//! #                                                   ^^^^^^^ the expansion vessel is charged to 0.10 bar; 0.49 bar is the least under 3.0 m of water
//! ```
//! ```yaml remedied
//! water:
//!   working-pressure: 1.5 bar
//!   other-content: 40 l
//!   expansion-vessel: {volume: 12 l, charge-pressure: 0.5 bar, static-height: 3 m}
//! ```
//! ```yaml passes
//! water:
//!   working-pressure: 1.5 bar
//!   other-content: 40 l
//!   expansion-vessel: {volume: 12 l, static-height: 3 m}
//! ```

use super::prelude::*;
use crate::remedy::Change;
use design::ExpansionVessel;
use engineering::water::expansion::end_pressure;

pub static RULE: Rule = Rule {
    name: "expansion-vessel-unsuited",
    group: Group::Hydraulics,
    weights: [Silent, Information, Warning, Warning],
    follows: &["working-pressure-out-of-line"],
    file: include_str!("expansion_vessel_unsuited.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str =
    "EN 12828, form of 2003 from memory; pressures as works standard and installers' federation give them";

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.loops.is_empty() {
        return;
    }
    let water = &inspection.workings.water;
    for it in inspection.loops() {
        if found.need(it.subject, &it.worked.water_content).is_none() {
            return;
        }
    }
    let Some(content) = found.need(Subject::Water, &water.loop_content) else { return };
    let content = content.value;
    let Some(given) = &design.water.expansion_vessel else {
        if design.water.broken {
            return;
        }
        let message =
            format!("the floor adds {content} of water; no expansion vessel is given to take up what it grows by");
        let place = if design.water.place.is_empty() { Subject::HeatSource.place(design) } else { design.water.place };
        return found.add(Finding::new(Subject::Water, place, message).value(content).source(SOURCE));
    };
    if let (Some(charge), Some(valve)) = (given.charge_pressure, design.safety.safety_valve)
        && charge.value > end_pressure(valve.value)
        && end_pressure(valve.value) > Pressure::ZERO
    {
        let message = format!(
            "the expansion vessel is charged to {} and can take up nothing: {} is the most under a \
             safety valve of {}",
            charge.value,
            end_pressure(valve.value),
            valve.value
        );
        let finding = Finding::new(Subject::Water, charge.at, message).value(charge.value);
        let limit = LimitValue::new(end_pressure(valve.value), SOURCE);
        return found.add(finding.limit(&limit).related(valve.at, "the safety valve"));
    }
    if let Some(finding) = charged_too_low(inspection, given, found) {
        return found.add(finding);
    }
    let Some(volume) = given.volume else {
        return found.missing(Subject::Water, "expansion-vessel/volume");
    };
    let (Some(content), Some(grows), Some(needed)) = (
        found.need(Subject::Water, &water.content),
        found.need(Subject::Water, &water.expansion),
        found.need(Subject::Water, &water.vessel_volume_needed),
    ) else {
        return;
    };
    // What else the system holds can only make it more.
    let at_least = if design.water.other_content.is_none() { "at least " } else { "" };
    if volume.value >= needed.value {
        if design.water.other_content.is_none() {
            found.missing(Subject::Water, "other-content");
        }
        return;
    }
    let message = format!(
        "the expansion vessel has {}; a system of {at_least}{}, which grows by {}, asks for {at_least}{}",
        volume.value, content.value, grows.value, needed.value
    );
    let text = format!("{} l", needed.value.in_litres().ceil());
    let less = less_charge(inspection, given, needed.value, volume.value);
    found.add(
        Finding::new(Subject::Water, volume.at, message)
            .value(volume.value)
            .limit(&LimitValue::new(needed.value, SOURCE))
            .figure("water.vessel-volume-needed")
            .remedy(less)
            .remedy(Remedy::new(format!("take a vessel of {text}"), volume.at, text)),
    );
}

/// What is usual from the factory.
const USUAL_CHARGE: Pressure = Pressure::bar(1.0);

/// A vessel charged to more than is usual is large enough with less charge, where that still carries the water above it.
fn less_charge(inspection: &Inspection, given: &ExpansionVessel, needed: Volume, has: Volume) -> Option<Remedy> {
    let (charge, valve) = (given.charge_pressure?, inspection.design.safety.safety_valve?);
    let least = inspection.workings.water.least_charge_pressure.as_ref().ok()?.value;
    let end = end_pressure(valve.value);
    let most = end - (end - charge.value) * (needed / has);
    let tenths = (most.in_bar() * 10.0 + 1e-6).floor() / 10.0;
    let text = format!("{tenths:.1} bar");
    let fits = charge.value > USUAL_CHARGE && Pressure::bar(tenths) >= least;
    fits.then(|| Remedy::new(format!("charge the vessel to {text}"), charge.at, text))
}

/// A vessel that is charged to less than the water above it presses is full before the water grows.
fn charged_too_low(inspection: &Inspection, given: &ExpansionVessel, found: &mut Findings) -> Option<Finding> {
    let charge = given.charge_pressure?;
    let least = found.need(Subject::Water, &inspection.workings.water.least_charge_pressure)?.value;
    let height = given.static_height?;
    if charge.value >= least - Pressure::pascals(1.0) {
        return None;
    }
    let message = format!(
        "the expansion vessel is charged to {:.2} bar; {:.2} bar is the least under {} of water",
        charge.value.in_bar(),
        least.in_bar(),
        height.value
    );
    let text = format!("{:.1} bar", (least.in_bar() * 10.0).ceil() / 10.0);
    let finding = Finding::new(Subject::Water, charge.at, message).value(charge.value);
    let finding = finding.limit(&LimitValue::new(least, SOURCE));
    let finding = finding.related(height.at, "the static height");
    let finding = finding.figure("water.least-charge-pressure");
    let tenths = (least.in_bar() * 10.0).ceil() / 10.0;
    let mut title = format!("charge the vessel to {text}");
    let mut changes = vec![Change { place: charge.at, text }];
    // What is filled in has to be more.
    let fill = Pressure::bar(tenths) + super::working_pressure_out_of_line::over_charge(inspection);
    if let Some(working) = inspection.design.water.working_pressure.filter(|working| working.value < fill) {
        let text = format!("{:.1} bar", fill.in_bar());
        title += &format!(" and fill it to {text}");
        changes.push(Change { place: working.at, text });
    }
    Some(finding.remedy(Remedy::of(title, changes)))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn what_else_the_system_holds_is_asked_for() {
        let text = "water: {working-pressure: 1.5 bar, expansion-vessel: {volume: 12 l, charge-pressure: 1 bar, static-height: 3 m}}\n";
        assert_eq!(not_checked(&RULE, text), ["water/other-content"]);
        let text = "water: {working-pressure: 1.5 bar, expansion-vessel: {volume: 2 l, charge-pressure: 1 bar}}\n";
        let said = messages(&RULE, text);
        assert!(said.len() == 1 && said[0].contains("asks for at least"), "{said:?}");
    }

    /// 2 m of water are 0.196 bar; with 0.2 bar more, 0.396 bar.
    #[test]
    fn the_charge_carries_the_water_above_it() {
        let charged =
            |more: &str| format!("water: {{other-content: 40 l, expansion-vessel: {{volume: 80 l, {more}}}}}\n");
        let said =
            |bar: &str| messages(&RULE, &charged(&format!("charge-pressure: {bar} bar, static-height: 2 m"))).len();
        assert_eq!([said("0.39"), said("0.4")], [1, 0]);
        let without_height = charged("charge-pressure: 0.1 bar");
        assert_eq!(not_checked(&RULE, &without_height), ["water/expansion-vessel/static-height"]);
        assert_eq!(messages(&RULE, &without_height), [""; 0]);
    }

    #[test]
    fn a_vessel_charged_to_the_end_pressure_takes_up_nothing() {
        let charged = |bar: f64| {
            let text = "water: {other-content: 40 l, expansion-vessel: {volume: 80 l, charge-pressure: ";
            messages(&RULE, &format!("{text}{bar} bar}}}}\n"))
        };
        assert_eq!(charged(1.5), [""; 0]);
        assert_eq!(
            charged(2.6),
            ["the expansion vessel is charged to 2.6 bar and can take up nothing: 2.5 bar is the most under a safety \
              valve of 3.0 bar"]
        );
    }
}
