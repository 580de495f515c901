//! A screed has its time before the floor is first heated.
//!
//! Heat drives the water out of a green screed before it is strong: it cracks, curls and lets go of its
//! covering.
//!
//! ## How it is worked out
//! The first heat is `first-heat`, or the first day of the heating log if that is earlier. It is held
//! against the day each screed was laid and the days that its binder needs, or those that its maker asks for
//! if they are more. A special screed has its maker's days only; mastic asphalt needs none.
//!
//! ## Limit
//! Sand and cement 21 days, calcium sulphate 7 days: EN 1264-4 and DIN practice, from several heating and
//! screed texts.
//!
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-03-06}
//!   first-heat: 2026-03-16
//! #             ^^^^^^^^^^ first heat comes 10 days after the sand-cement screed was laid; it needs 21 days, until 2026-03-27
//! ```
//! ```yaml passes
//! records:
//!   screed: {laid: 2026-03-06}
//!   first-heat: 2026-03-27
//! ```
//! A day that is still to come can be moved:
//! ```yaml fails
//! records:
//!   screed: {laid: 2026-05-25}
//!   first-heat: 2026-06-08
//! #             ^^^^^^^^^^ first heat comes 14 days after the sand-cement screed was laid; it needs 21 days, until 2026-06-15
//! ```
//! ```yaml remedied
//! records:
//!   screed: {laid: 2026-05-25}
//!   first-heat: 2026-06-15
//! ```

use super::prelude::*;
use crate::records::{day_after, days_after, named, screed_of};
use design::{Given, Screed, ScreedRecord, Stage};
use jiff::civil::Date;

pub static RULE: Rule = Rule {
    name: "heated-too-soon",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[SAND_CEMENT, CALCIUM_SULPHATE],
    file: include_str!("heated_too_soon.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "EN 1264-4 and DIN practice, secondary texts";
const SAND_CEMENT: Limit = Limit { name: "sand-cement", value: "21 days", source: SOURCE };
const CALCIUM_SULPHATE: Limit = Limit { name: "calcium-sulphate", value: "7 days", source: SOURCE };

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if records.screeds.is_empty() {
        return;
    }
    let Some(heat) = first_heat(inspection) else {
        if inspection.design.stage() == Stage::AsBuilt {
            found.missing(Subject::Records, "first-heat");
        }
        return;
    };
    let everywhere = slowest((0..inspection.design.rooms.len()).filter_map(|room| screed_of(inspection, room)));
    for record in &records.screeds {
        let Some(laid) = record.laid else {
            found.missing(Subject::Records, "screed/laid");
            continue;
        };
        let of_rooms = match record.rooms.is_empty() {
            true => everywhere,
            false => slowest(named(inspection, &record.rooms).filter_map(|room| screed_of(inspection, room))),
        };
        let Some(screed) = of_rooms.or(record.screed.map(|it| it.value)) else {
            found.missing(Subject::Records, "screed/screed");
            continue;
        };
        let Some(needs) = needs(inspection, screed, record) else {
            if screed == Screed::Special {
                found.missing(Subject::Records, "screed/days-before-heat");
            }
            continue;
        };
        let waited = days_after(&heat, &laid);
        if waited >= needs.value {
            continue;
        }
        let earliest = day_after(laid.value, needs.value);
        let comes = match waited < Duration::ZERO {
            true => format!("first heat comes before the {screed} screed is laid"),
            false => format!("first heat comes {waited} after the {screed} screed was laid"),
        };
        let message = format!("{comes}; it needs {}, until {earliest}", needs.value);
        let finding = Finding::new(Subject::Records, heat.at, message).value(waited).limit(&needs);
        let to_come = heat.value > inspection.today;
        let later = to_come.then(|| Remedy::new(format!("heat on {earliest}"), heat.at, earliest.to_string()));
        found.add(finding.related(laid.at, "the screed was laid on this day").remedy(later));
    }
}

/// The day the floor was first heated, by whichever record is earlier.
pub(crate) fn first_heat(inspection: &Inspection) -> Given<Date> {
    let records = &inspection.design.records;
    let logged = records.heating_log.iter().filter_map(|day| day.date);
    logged.chain(records.first_heat).min_by_key(|day| day.value)
}

/// Of several binders the one that needs longest.
fn slowest(screeds: impl Iterator<Item = Screed>) -> Option<Screed> {
    screeds.max_by_key(|screed| match screed {
        Screed::MasticAsphalt => 0,
        Screed::Special => 1,
        Screed::CalciumSulphate => 2,
        Screed::SandCement => 3,
    })
}

/// The days that a screed needs before heat: its binder's, or its maker's if they are more.
fn needs(inspection: &Inspection, screed: Screed, record: &ScreedRecord) -> Option<LimitValue<Duration>> {
    let of_maker = record
        .days_before_heat
        .map(|days| LimitValue::new(Duration::days(days.value.into()), "the screed's maker, as the design states it"));
    let of_binder = match screed {
        Screed::SandCement => Some(SAND_CEMENT.get(&RULE, inspection)),
        Screed::CalciumSulphate => Some(CALCIUM_SULPHATE.get(&RULE, inspection)),
        Screed::MasticAsphalt | Screed::Special => None,
    };
    match (of_binder, of_maker) {
        (Some(binder), Some(maker)) if maker.value <= binder.value => Some(binder),
        (binder, maker) => maker.or(binder),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn heated(screed: &str, on: &str) -> Vec<String> {
        messages(&RULE, &format!("records:\n  screed: {{laid: 2026-03-06, {screed}}}\n  first-heat: {on}\n"))
    }

    /// The catalogue's own dates: calcium sulphate laid 2026-03-06 may be heated from 2026-03-13.
    #[test]
    fn on_the_day_it_passes() {
        assert!(heated("rooms: [hall]", "2026-03-27").is_empty());
        assert_eq!(heated("rooms: [hall]", "2026-03-26").len(), 1);
        assert_eq!(
            heated("rooms: [hall]", "2026-03-01"),
            ["first heat comes before the sand-cement screed is laid; it needs 21 days, until 2026-03-27"]
        );
        let sulphate =
            "floors:\n  screeded:\n    layers: [{material: flowing screed, thickness: 50 mm, pipe: at base}]\n";
        let on = |day: &str| {
            messages(&RULE, &format!("{sulphate}records: {{screed: {{laid: 2026-03-06}}, first-heat: {day}}}\n"))
        };
        assert!(on("2026-03-13").is_empty());
        assert_eq!(on("2026-03-12").len(), 1);
    }

    #[test]
    fn the_later_of_binder_and_maker_counts() {
        assert_eq!(heated("days-before-heat: 28", "2026-03-30").len(), 1);
        assert!(heated("days-before-heat: 10", "2026-03-27").is_empty());
        assert_eq!(heated("days-before-heat: 10", "2026-03-20").len(), 1);
    }

    #[test]
    fn the_log_may_begin_earlier() {
        let text = "records:\n  screed: {laid: 2026-03-06}\n  first-heat: 2026-03-30\n  heating-log:\n    - {date: \
                    2026-03-10, flow-temperature: 25 °C}\n";
        assert_eq!(messages(&RULE, text).len(), 1);
    }

    #[test]
    fn a_special_screed_has_its_makers_days_only() {
        let special = "floors:\n  screeded:\n    layers: [{material: quick, conductivity: 1.2 W/mK, thickness: 50 mm, \
                       pipe: at base, screed: special}]\n";
        let text = format!("{special}records: {{screed: {{laid: 2026-03-06}}, first-heat: 2026-03-08}}\n");
        assert!(messages(&RULE, &text).is_empty());
        assert_eq!(not_checked(&RULE, &text), ["records/screed/days-before-heat"]);
    }
}
