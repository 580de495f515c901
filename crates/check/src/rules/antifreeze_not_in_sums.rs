//! The sums count with the antifreeze that is in the water.
//!
//! Glycol carries less heat and runs thicker: the same room wants more flow, and the pump has to push harder. Sums made for
//! plain water promise what the floor will not give.
//!
//! ## How it is worked out
//! Density, specific heat and viscosity follow from the kind of glycol and its share, by mass or by volume as on the drum. A
//! share without a kind, or a kind without a share, cannot be counted with; nor can a share that the data do not cover. Of two
//! shares that do not belong together the sums take the one by mass. The remedy for a share that is not covered is the nearest that
//! is, or a usual one where pump and pipe will not have that: whether the house can freeze, and what the glycol's maker asks for against rust, is for a hand to say.
//!
//! ## Limit
//! 15 % to 50 % by mass: the range of the data that the sums rest on (fits to the incompressible mixtures of CoolProp).
//!
//! ```yaml fails
//! water: {volume-share: 30 %, working-pressure: 1.5 bar}
//! #                     ^^^^ a share of glycol of 30 % is given but no kind; the sums are those of plain water
//! ```
//! ```yaml remedied
//! water: {volume-share: 30 %, working-pressure: 1.5 bar, fluid: propylene glycol}
//! ```
//! ```yaml fails
//! water: {fluid: ethylene glycol, working-pressure: 1.5 bar}
//! #              ^^^^^^^^^^^^^^^ the water holds glycol but not how much; nothing that flows can be worked out
//! ```
//! ```yaml fails
//! water: {fluid: propylene glycol, mass-share: 60 %, working-pressure: 1.5 bar}
//! #                                            ^^^^ the water holds 60 % of glycol by mass; the sums can count with 15 % to 50 %
//! ```
//! ```yaml remedied
//! water: {fluid: propylene glycol, mass-share: 50 %, working-pressure: 1.5 bar}
//! ```
//! ```yaml passes
//! water: {fluid: propylene glycol, volume-share: 30 %, working-pressure: 1.5 bar}
//! ```

use super::prelude::*;
use crate::remedy::add_key;
use design::Fluid;
use engineering::water::fluids::{Glycol, mass_share};

pub static RULE: Rule = Rule {
    name: "antifreeze-not-in-sums",
    group: Group::Hydraulics,
    weights: [Warning; 4],
    limits: &[LEAST, MOST, APART],
    file: include_str!("antifreeze_not_in_sums.rs"),
    check,
    ..Rule::USUAL
};

const DATA: &str = "the range of the data: fits to the incompressible mixtures of CoolProp";
const APART: Limit = Limit { name: "apart-by-mass", value: "0.5 %", source: "common practice, no source" };
const LEAST: Limit = Limit { name: "least-by-mass", value: "15 %", source: DATA };
const MOST: Limit = Limit { name: "most-by-mass", value: "50 %", source: DATA };

fn check(inspection: &Inspection, found: &mut Findings) {
    let water = &inspection.design.water;
    let share = water.mass_share.or(water.volume_share);
    let glycol = match (water.fluid.map(|it| it.value), share) {
        (None | Some(Fluid::Water), None) => return,
        (None | Some(Fluid::Water), Some(share)) if share.value == Share::ZERO => return,
        (None | Some(Fluid::Water), Some(share)) => {
            let message =
                format!("a share of glycol of {} is given but no kind; the sums are those of plain water", share.value);
            let title = "say that it is propylene glycol";
            let remedy = match water.fluid {
                Some(plain) => Some(Remedy::new(title, plain.at, "propylene glycol")),
                None => Remedy::of(title, add_key(inspection, water.place, "fluid: propylene glycol")),
            };
            let finding = Finding::new(Subject::Water, share.at, message).value(share.value);
            return found.add(finding.source("common practice, no source").remedy(remedy));
        }
        (Some(Fluid::PropyleneGlycol), _) => Glycol::Propylene,
        (Some(Fluid::EthyleneGlycol), _) => Glycol::Ethylene,
    };
    let at = water.fluid.map_or(water.place, |fluid| fluid.at);
    let Some(share) = share else {
        if water.broken {
            return;
        }
        let message = "the water holds glycol but not how much; nothing that flows can be worked out";
        return found.add(Finding::new(Subject::Water, at, message).source("common practice, no source"));
    };
    if share.value == Share::ZERO {
        let message = format!(
            "{} is named, but the water holds 0 % of it; the sums are those of plain water",
            inspection.text(at)
        );
        let finding = Finding::new(Subject::Water, at, message).value(share.value).source("the design");
        return found.add(finding.remedy(Remedy::new("say that it is water", at, "water")));
    }
    let by_mass = match water.mass_share {
        Some(share) => Ok(share.value),
        None => mass_share(glycol, share.value),
    };
    let by_mass = match by_mass {
        Ok(by_mass) => by_mass,
        Err(refusal) => return found.not_checked(Subject::Water, &refusal.into()),
    };
    if let (Some(mass), Some(volume)) = (water.mass_share, water.volume_share)
        && let Ok(of_volume) = mass_share(glycol, volume.value)
        && (of_volume - mass.value).abs() > APART.get::<Share>(&RULE, inspection).value
    {
        let message = format!(
            "{} of glycol by volume is {of_volume} by mass; {} by mass is given, and counted with",
            volume.value, mass.value
        );
        let finding = Finding::new(Subject::Water, volume.at, message).value(of_volume);
        found.add(
            finding
                .limit(&LimitValue::new(mass.value, "the design"))
                .related(mass.at, "the share by mass")
                .remedy(Remedy::new(format!("count with {of_volume} by mass"), mass.at, of_volume.to_string())),
        );
    }
    let (least, most) = (LEAST.get::<Share>(&RULE, inspection), MOST.get::<Share>(&RULE, inspection));
    let limit = if by_mass < least.value {
        least
    } else if by_mass > most.value {
        most
    } else {
        return;
    };
    let message = format!(
        "the water holds {by_mass} of glycol by mass; the sums can count with {} to {}",
        least.value, most.value
    );
    let finding = Finding::new(Subject::Water, share.at, message).value(by_mass).limit(&limit);
    // Whole per cents within the range, by mass or by volume as it is stated.
    let at_the_end = (1..100).map(|percent| Share::percent(f64::from(percent))).filter(|share| {
        let by_mass = if water.mass_share.is_some() { Ok(*share) } else { mass_share(glycol, *share) };
        by_mass.is_ok_and(|by_mass| (least.value..=most.value).contains(&by_mass))
    });
    let nearest = if by_mass < least.value { at_the_end.min_by(by_size) } else { at_the_end.max_by(by_size) };
    // So thick a mixture is often more than pipe and pump were laid out for.
    let thinner = [40.0, 30.0, 25.0].map(Share::percent).into_iter().filter(|_| by_mass > most.value);
    let remedies = nearest.into_iter().chain(thinner).map(|then| {
        let text = then.to_string();
        Remedy::new(format!("mix it to {text}"), share.at, text)
    });
    found.add(remedies.fold(finding, Finding::remedy));
}

fn by_size(one: &Share, other: &Share) -> std::cmp::Ordering {
    one.in_fraction().total_cmp(&other.in_fraction())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages};

    /// 30 % by volume of propylene glycol is 30.8 % by mass: 0.30 x 1036.4 / (0.30 x 1036.4 + 0.70 x 998.2), densities at
    /// 20 °C of CoolProp.
    #[test]
    fn two_shares_have_to_belong_together() {
        let text = |mass| format!("water: {{fluid: propylene glycol, volume-share: 30 %, mass-share: {mass}}}\n");
        assert_eq!(messages(&RULE, &text("31 %")), [""; 0]);
        let apart = "30 % of glycol by volume is 30.8 % by mass; 30 % by mass is given, and counted with";
        assert_eq!(messages(&RULE, &text("30 %")), [apart]);
    }

    #[test]
    fn nothing_of_a_glycol_is_water() {
        let text = "water: {fluid: propylene glycol, volume-share: 0 %}\n";
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let titles: Vec<&str> = finding.remedies.iter().map(|remedy| &*remedy.title).collect();
        assert_eq!(titles, ["say that it is water"]);
        assert_eq!(messages(&RULE, &text.replace("propylene glycol", "water")), [""; 0]);
    }

    /// 15 % by mass of propylene glycol is 14.5 % by volume, 50 % is 49.1 % (densities at 20 °C of CoolProp: 1036.4 and 998.2).
    #[test]
    fn a_share_is_brought_within_the_range() {
        for (stated, mended) in [("volume-share: 10 %", "mix it to 15 %"), ("volume-share: 60 %", "mix it to 49 %")] {
            let outcome = check(&format!("water: {{fluid: propylene glycol, {stated}}}\n"));
            let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
            assert_eq!(finding.remedies.iter().map(|it| &*it.title).collect::<Vec<_>>(), [mended]);
        }
    }

    /// 48 % by volume of ethylene glycol is 50.7 % by mass: 0.48 x 1113.4 / (0.48 x 1113.4 + 0.52 x 998.2), densities at
    /// 20 °C of CoolProp.
    #[test]
    fn a_share_by_volume_is_judged_by_mass() {
        let text = |share| format!("water: {{fluid: ethylene glycol, volume-share: {share}}}\n");
        let over = "the water holds 50.7 % of glycol by mass; the sums can count with 15 % to 50 %";
        assert_eq!(messages(&RULE, &text("48 %")), [over]);
        assert_eq!(messages(&RULE, &text("47 %")), [""; 0]);
    }
}
