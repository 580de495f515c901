//! A heating cable is measured before laying, after laying and after covering.
//!
//! The three readings say who damaged it: the maker, the layer or the tiler. A reading that is out stops the job.
//!
//! ## How it is worked out
//! At `as built` a reading of each stage must be there. At any stage each reading is held against the resistance on the
//! label, and its insulation against 1 MΩ. The label itself is held against the mat's power: a cable of that resistance takes
//! its voltage squared over the resistance.
//!
//! ## Limit
//! Before and after covering: one trade text. −5 % to +10 % of the label and 1 MΩ at 500 V: from memory. A label 20 % off
//! the mat's power is another mat's: common practice, no source.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1:
//!     room: hall
//!     label-resistance: 78 ohm
//!     readings:
//!       - {stage: before laying, resistance: 78 ohm, insulation: 200 MΩ}
//!       - {stage: after laying, resistance: 92 ohm, insulation: 0.4 MΩ}
//! #                                         ^^^^^^ electric mat E1 reads 92 Ω after laying, 17.9 % off its label of 78 Ω; -5 % to 10 % is right
//! #                                                             ^^^^^^ the insulation of electric mat E1 reads 0.4 MΩ after laying; 1 MΩ is the least
//! ```
//! ```yaml fails
//! project: {stage: as built, revision: P5, issued: 2026-05-04, checker: B. Reader}
//! electric-mats:
//!   E1: {room: hall, label-resistance: 78 ohm, readings: [{stage: before laying, resistance: 78 ohm, insulation: 200 MΩ}]}
//! # ^^ electric mat E1 has no reading after laying and after covering
//! ```
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, power: 675 W, voltage: 230 V, label-resistance: 300 ohm}
//! #                                                                  ^^^^^^^ a cable of 300 Ω takes 176 W at 230 V; electric mat E1 is one of 675 W
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1:
//!     room: hall
//!     label-resistance: 78 ohm
//!     readings: {stage: before laying, resistance: 80 ohm, insulation: 200 MΩ}
//! ```

use super::departure_without_reason::listed;
use super::prelude::*;
use crate::inspection::Item;
use design::{ElectricMat, ReadingStage, Stage};
use workings::MatWorkings;

pub static RULE: Rule = Rule {
    name: "electric-readings-missing",
    group: Group::Electric,
    weights: [Error; 4],
    limits: &[LOWEST, HIGHEST, OFF_POWER, INSULATION],
    caution: Some("For planning only. A competent electrician must design and certify."),
    follows: &["electric-mat-bigger-than-free-area", "electric-density-unsuited"],
    file: include_str!("electric_readings_missing.rs"),
    check,
    ..Rule::USUAL
};

const LOWEST: Limit = Limit { name: "lowest-off-label", value: "-5 %", source: "from memory" };
const HIGHEST: Limit = Limit { name: "highest-off-label", value: "10 %", source: "from memory" };
const OFF_POWER: Limit = Limit { name: "most-off-power", value: "20 %", source: "common practice, no source" };
const INSULATION: Limit = Limit { name: "least-insulation", value: "1 MΩ", source: "from memory" };

const STAGES: [ReadingStage; 3] = [ReadingStage::BeforeLaying, ReadingStage::AfterLaying, ReadingStage::AfterCovering];

fn check(inspection: &Inspection, found: &mut Findings) {
    let as_built = inspection.design.stage() == Stage::AsBuilt;
    for mat in inspection.electric_mats() {
        label(inspection, &mat, found);
        readings(inspection, &mat, found);
        let taken =
            |stage: &ReadingStage| mat.given.readings.iter().any(|it| it.stage.is_some_and(|it| it.value == *stage));
        let missing: Vec<&str> = STAGES.iter().filter(|stage| !taken(stage)).map(|stage| stage.word()).collect();
        if as_built && !missing.is_empty() && inspection.is_read(mat.given.place) {
            let message = format!("electric mat {} has no reading {}", mat.name, listed(&missing));
            found.add(
                Finding::new(mat.subject, mat.place, message).source("trade text on electric floor heating, one text"),
            );
        }
    }
}

/// The label of another mat makes every reading look wrong, or right.
fn label(inspection: &Inspection, mat: &Item<ElectricMat, MatWorkings>, found: &mut Findings) {
    let (Some(label), Some(voltage), Ok(power)) = (mat.given.label_resistance, mat.given.voltage, &mat.worked.power)
    else {
        return;
    };
    let most = OFF_POWER.get::<Share>(&RULE, inspection);
    let takes = Power::watts(voltage.value.in_volts().powi(2) / label.value.in_ohms());
    let off = Share::fraction(takes / power.value - 1.0);
    if !off.in_fraction().is_finite() || off.in_fraction().abs() <= most.value.in_fraction() {
        return;
    }
    let message = format!(
        "a cable of {} takes {takes} at {}; electric mat {} is one of {}",
        label.value, voltage.value, mat.name, power.value
    );
    let finding = Finding::new(mat.subject, label.at, message).value(off).limit(&most);
    found.add_as(Warning, finding.figure(format!("electric-mats.{}.power", mat.name)));
}

fn readings(inspection: &Inspection, mat: &Item<ElectricMat, MatWorkings>, found: &mut Findings) {
    let (lowest, highest) = (LOWEST.get::<Share>(&RULE, inspection), HIGHEST.get::<Share>(&RULE, inspection));
    let least = INSULATION.get::<ElectricalResistance>(&RULE, inspection);
    if !mat.given.readings.is_empty() && mat.given.label_resistance.is_none() {
        found.missing(mat.subject, "label-resistance");
    }
    for reading in &mat.given.readings {
        let when = reading.stage.map(|stage| format!(" {}", stage.value)).unwrap_or_default();
        match (reading.resistance, mat.given.label_resistance) {
            (None, _) => found.missing(mat.subject, "readings/resistance"),
            (Some(read), Some(label)) if label.value > ElectricalResistance::ZERO => {
                let off = Share::fraction(read.value / label.value - 1.0);
                if lowest.is_missed_by(off) || highest.is_exceeded_by(off) {
                    let message = format!(
                        "electric mat {} reads {}{when}, {off} off its label of {}; {} to {} is right",
                        mat.name, read.value, label.value, lowest.value, highest.value
                    );
                    let limit = if off < lowest.value { &lowest } else { &highest };
                    let finding = Finding::new(mat.subject, read.at, message).value(off).limit(limit);
                    found.add(finding.related(label.at, "the label"));
                }
            }
            _ => {}
        }
        match reading.insulation {
            None => found.missing(mat.subject, "readings/insulation"),
            Some(read) if read.value < least.value => {
                let message = format!(
                    "the insulation of electric mat {} reads {}{when}; {} is the least",
                    mat.name, read.value, least.value
                );
                found.add(Finding::new(mat.subject, read.at, message).value(read.value).limit(&least));
            }
            Some(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn read(reading: &str) -> usize {
        let text = format!("electric-mats: {{E1: {{label-resistance: 100 ohm, readings: {{{reading}}}}}}}\n");
        messages(&RULE, &text).len()
    }

    #[test]
    fn just_off_the_label() {
        assert_eq!((read("resistance: 95.1 ohm"), read("resistance: 94.9 ohm")), (0, 1));
        assert_eq!((read("resistance: 109.9 ohm"), read("resistance: 110.1 ohm")), (0, 1));
        assert_eq!((read("insulation: 1 MΩ"), read("insulation: 999 kΩ")), (0, 1));
    }

    #[test]
    fn what_was_not_read_is_told() {
        let text = "electric-mats: {E1: {readings: {stage: after laying}}}\n";
        let wanted = ["label-resistance", "readings/resistance", "readings/insulation"];
        assert_eq!(not_checked(&RULE, text), wanted.map(|key| format!("electric-mats/E1/{key}")));
    }
}
