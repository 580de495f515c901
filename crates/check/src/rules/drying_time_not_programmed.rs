//! Between laying a screed and covering it there is time for it to dry.
//!
//! The programme has a day for the tiler long before anybody measures. A thick screed that is given five
//! weeks is covered wet, or the tiler comes twice.
//!
//! ## How it is worked out
//! One day for each millimetre up to 40 mm, and two days for each further millimetre; the thickness is that of
//! the layer that holds the pipe. The days are those from the last pour to the covering of each room. Where
//! moisture was measured before covering, the measurement counts and this rule is silent.
//!
//! ## Limit
//! Screed-trade texts, for calcium sulphate at 20 °C and 65 % humidity; sand and cement dries more slowly. The
//! days are a guess for planning, never leave to lay.
//!
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-03-06}
//!   covering-laid: {date: 2026-04-10, heating-on: false}
//! #                       ^^^^^^^^^^ the covering of room hall comes 35 days after its screed; 65 mm need 90 days to dry, until 2026-06-04
//! ```
//! ```yaml passes
//! records:
//!   screed: {laid: 2026-03-06}
//!   covering-laid: {date: 2026-06-04, heating-on: false}
//! ```
//! A day that is still to come can be moved:
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-05-06}
//!   covering-laid: {date: 2026-06-10, heating-on: false}
//! #                       ^^^^^^^^^^ the covering of room hall comes 35 days after its screed; 65 mm need 90 days to dry, until 2026-08-04
//! ```
//! ```yaml remedied
//! records:
//!   screed: {laid: 2026-05-06}
//!   covering-laid: {date: 2026-08-04, heating-on: false}
//! ```

use super::prelude::*;
use super::screed_too_damp_for_covering::Tests;
use crate::House;
use crate::records::{OnSite, day_after, days_after, screed_of};
use design::Screed;
use std::collections::HashSet;

pub static RULE: Rule = Rule {
    name: "drying-time-not-programmed",
    group: Group::FloorConstruction,
    weights: [Warning; 4],
    limits: &[QUICK, QUICK_TO, SLOW],
    file: include_str!("drying_time_not_programmed.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str =
    "screed-trade texts, for calcium sulphate at 20 °C and 65 % humidity; sand and cement dries more slowly";
const QUICK: Limit = Limit { name: "for-each-millimetre", value: "1 day", source: SOURCE };
const QUICK_TO: Limit = Limit { name: "up-to", value: "40 mm", source: SOURCE };
const SLOW: Limit = Limit { name: "for-each-further-millimetre", value: "2 days", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if records.coverings_laid.is_empty() || records.screeds.is_empty() {
        return;
    }
    let on_site = OnSite::of(inspection);
    let tests = Tests::of(inspection);
    let mut said = HashSet::new();
    for (at, room) in inspection.rooms().enumerate() {
        let days = on_site.room(at);
        let (Some(laid), Some(covering)) = (days.screed_laid, days.covering_laid) else { continue };
        let dries = matches!(screed_of(inspection, at), Some(Screed::SandCement | Screed::CalciumSulphate));
        if !dries || tests.last(at, Some(covering.value)).is_some() || said.contains(&covering.at) {
            continue;
        }
        let Some((thickness, layer)) = screed_thickness(inspection, at) else {
            if let Some(floor) = room.worked.floor {
                found.missing(Subject::Floor(floor), "layers/…/thickness");
            }
            continue;
        };
        let needed = LimitValue::new(days_to_dry(inspection, thickness), SOURCE);
        let given = days_after(&covering, &laid);
        if given >= needed.value {
            continue;
        }
        said.insert(covering.at);
        let earliest = day_after(laid.value, needed.value);
        let comes = match given < Duration::ZERO {
            true => "before its screed".to_string(),
            false => format!("{given} after its screed"),
        };
        let message = format!(
            "the covering of room {} comes {comes}; {thickness} need {} to dry, until {earliest}",
            room.name, needed.value
        );
        let finding = Finding::new(Subject::Records, covering.at, message).value(given).limit(&needed);
        let finding = finding.related(laid.at, "the screed was laid on this day").related(layer, "the screed");
        let to_come = covering.value > inspection.today;
        let later = to_come.then(|| Remedy::new(format!("cover on {earliest}"), covering.at, earliest.to_string()));
        found.add(finding.remedy(later));
    }
}

/// How thick the layer is that holds the pipe of a room, and where it stands.
fn screed_thickness(inspection: &Inspection, room: usize) -> Option<(Length, design::Place)> {
    let floor = inspection.workings.rooms.get(room)?.floor?;
    let layer = *inspection.workings.floors.get(floor)?.pipe_layer.as_ref().ok()?;
    let layer = inspection.design.floors.at(floor)?.1.value.layers.get(layer)?;
    Some((layer.thickness?.value, layer.at))
}

/// The days that a screed needs to dry.
pub fn days_to_dry(house: impl AsRef<House>, thickness: Length) -> Duration {
    let house = house.as_ref();
    let (quick, slow) = (QUICK.get::<Duration>(&RULE, house).value, SLOW.get::<Duration>(&RULE, house).value);
    let quickly = thickness.min(QUICK_TO.get(&RULE, house).value).max(Length::ZERO);
    let further = (thickness - quickly).max(Length::ZERO);
    quick * quickly.in_millimetres() + slow * further.in_millimetres()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::messages;

    /// 50 mm of flowing screed: 40 + 10 / 0.5 = 60 days (screed-trade texts: 1 mm a day to 40 mm, then 0.5 mm).
    #[test]
    fn thick_screeds_dry_slowly() {
        let (reading, workings, house) = Default::default();
        let inspection = Inspection::new(&reading, &workings, &house, jiff::civil::date(2026, 6, 1));
        let near = |mm: f64, days: f64| {
            (days_to_dry(&inspection, Length::millimetres(mm)) - Duration::days(days)).abs() < Duration::minutes(1.0)
        };
        assert!(near(50.0, 60.0) && near(40.0, 40.0) && near(35.0, 35.0) && near(-1.0, 0.0));
    }

    #[test]
    fn a_measurement_counts_before_a_guess() {
        let text = "records:\n  screed: {laid: 2026-03-06}\n  covering-laid: {date: 2026-04-10}\n  moisture: {date: 2026-04-08, \
                    moisture: 1.7 %}\n";
        assert!(messages(&RULE, text).is_empty());
        let late = text.replace("2026-04-08", "2026-04-11");
        assert_eq!(messages(&RULE, &late).len(), 1);
    }

    #[test]
    fn a_day_short_is_told_and_one_covering_once() {
        let text = |day: &str| format!("records: {{screed: {{laid: 2026-03-06}}, covering-laid: {{date: {day}}}}}\n");
        assert_eq!(messages(&RULE, &text("2026-06-03")).len(), 1);
        assert!(messages(&RULE, &text("2026-06-04")).is_empty());
    }
}
