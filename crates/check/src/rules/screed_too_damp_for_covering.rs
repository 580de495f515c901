//! A screed is dry enough before it is covered.
//!
//! Moisture under a covering has nowhere to go: wood swells, vinyl blisters, adhesive lets go.
//!
//! ## How it is worked out
//! The last test of each room that is not later than its covering is held against the limit of its screed.
//! While no covering is laid, a reading above the limit is for information: the screed is still drying.
//!
//! ## Limit
//! By the carbide method 1.8 % for sand and cement, 0.5 % for calcium sulphate: EN 1264-4:2021, Table 2, quoted
//! by a mortar trade association. In Germany the stone, parquet and resilient trades keep 0.3 % on heated calcium
//! sulphate: a warning. By hygrometer 75 %: several flooring texts; 65 % under wood, where makers ask for 65 to
//! 70 %: a warning.
//!
//! ```yaml fails
//! records:
//!   moisture: {date: 2026-05-02, moisture: 2.3 %}
//! #                                        ^^^^^ the sand-cement screed of room hall holds 2.3 %; 1.8 % is the most under a covering
//!   covering-laid: {date: 2026-05-10, heating-on: false}
//! ```
//! ```yaml passes
//! records:
//!   moisture:
//!     - {date: 2026-05-02, moisture: 2.3 %}
//!     - {date: 2026-05-09, moisture: 1.7 %}
//!   covering-laid: {date: 2026-05-10, heating-on: false}
//! ```

use super::prelude::*;
use crate::records::{OnSite, named, screed_of};
use design::{Jurisdiction, MoistureMethod, MoistureTest, Placed, Screed};
use engineering::heat::materials::Kind as Covering;
use jiff::civil::Date;

pub static RULE: Rule = Rule {
    name: "screed-too-damp-for-covering",
    group: Group::Records,
    weights: [Error; 4],
    limits: &[SAND_CEMENT, CALCIUM_SULPHATE, CALCIUM_SULPHATE_GERMAN_TRADES, HYGROMETER, HYGROMETER_WOOD],
    file: include_str!("screed_too_damp_for_covering.rs"),
    check,
    ..Rule::USUAL
};

const TABLE: &str = "EN 1264-4:2021, Table 2, as a trade association quotes it";
const SAND_CEMENT: Limit = Limit { name: "sand-cement", value: "1.8 %", source: TABLE };
const CALCIUM_SULPHATE: Limit = Limit { name: "calcium-sulphate", value: "0.5 %", source: TABLE };
const CALCIUM_SULPHATE_GERMAN_TRADES: Limit = Limit {
    name: "calcium-sulphate-german-trades",
    value: "0.3 %",
    source: "German rules of the stone, parquet and adhesive trades, secondary texts",
};
const HYGROMETER: Limit = Limit { name: "hygrometer", value: "75 %", source: "several flooring texts" };
const HYGROMETER_WOOD: Limit =
    Limit { name: "hygrometer-under-wood", value: "65 %", source: "wood floor makers, flooring texts" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if records.moisture.is_empty() && records.coverings_laid.is_empty() {
        return;
    }
    let on_site = OnSite::of(inspection);
    let tests = Tests::of(inspection);
    let mut said = vec![false; records.moisture.len()];
    let mut untested = false;
    for (at, room) in inspection.rooms().enumerate() {
        let Some(screed) = screed_of(inspection, at).filter(|screed| *screed != Screed::MasticAsphalt) else {
            continue;
        };
        let laid = on_site.room(at).covering_laid;
        let Some(decisive) = tests.last(at, laid.map(|day| day.value)) else {
            untested |= laid.is_some();
            continue;
        };
        let test = &records.moisture[decisive].value;
        let Some(moisture) = test.moisture.filter(|_| !said[decisive]) else { continue };
        let Some((limit, strict)) = limits(inspection, at, screed, test) else {
            said[decisive] = true;
            let reason = format!("the maker of a {screed} screed says how dry it must be");
            found.not_checked(Subject::Records, &workings::Gap::NoMethod(reason));
            continue;
        };
        let weight = if laid.is_none() {
            Information
        } else if strict {
            Warning
        } else {
            Error
        };
        if moisture.value <= limit.value {
            continue;
        }
        said[decisive] = true;
        let message = format!(
            "the {screed} screed of room {} holds {}; {} is the most under a covering",
            room.name, moisture.value, limit.value
        );
        let mut finding = Finding::new(Subject::Records, moisture.at, message).value(moisture.value).limit(&limit);
        if let Some(laid) = laid {
            finding = finding.related(laid.at, "the covering is laid on this day");
        }
        found.add_as(weight, finding);
    }
    if untested {
        found.missing(Subject::Records, "moisture");
    }
    if records.moisture.iter().any(|test| test.moisture.is_none()) {
        found.missing(Subject::Records, "moisture/moisture");
    }
}

/// The limit that a reading is over, or the plain one, and whether only the stricter of two is broken.
fn limits(
    inspection: &Inspection,
    room: usize,
    screed: Screed,
    test: &MoistureTest,
) -> Option<(LimitValue<Share>, bool)> {
    let covering = inspection.covering_of(room);
    let german = inspection.design.site.jurisdiction.is_some_and(|it| it.value == Jurisdiction::Germany);
    let tight = matches!(covering, Some(Covering::Stone | Covering::Timber | Covering::Resilient));
    let hygrometer = test.method.is_some_and(|method| method.value == MoistureMethod::Hygrometer);
    let (plain, strict) = match (hygrometer, screed) {
        (true, _) => (HYGROMETER, covering.is_some_and(Covering::is_timber).then_some(HYGROMETER_WOOD)),
        (false, Screed::SandCement) => (SAND_CEMENT, None),
        (false, Screed::CalciumSulphate) => {
            (CALCIUM_SULPHATE, (german && tight).then_some(CALCIUM_SULPHATE_GERMAN_TRADES))
        }
        (false, Screed::Special | Screed::MasticAsphalt) => return None,
    };
    let plain = plain.get::<Share>(&RULE, inspection);
    let over_plain = test.moisture.is_some_and(|moisture| moisture.value > plain.value);
    Some(match strict.filter(|_| !over_plain) {
        Some(strict) => (strict.get(&RULE, inspection), true),
        None => (plain, false),
    })
}

/// The tests of residual moisture, ready to be asked for the last of a room.
pub(crate) struct Tests {
    of_rooms: Vec<Vec<(Date, usize)>>,
    of_all: Vec<(Date, usize)>,
}

impl Tests {
    pub fn of(inspection: &Inspection) -> Tests {
        // A test without a day is taken to be older than any other.
        let day = |test: &Placed<MoistureTest>| test.date.map_or(Date::MIN, |date| date.value);
        let mut of_rooms = vec![Vec::new(); inspection.design.rooms.len()];
        let mut of_all = Vec::new();
        for (at, test) in inspection.design.records.moisture.iter().enumerate() {
            if test.rooms.is_empty() {
                of_all.push((day(test), at));
            }
            named(inspection, &test.rooms).for_each(|room| of_rooms[room].push((day(test), at)));
        }
        of_all.sort();
        of_rooms.iter_mut().for_each(|tests| tests.sort());
        Tests { of_rooms, of_all }
    }

    /// The last test of a room that is not later than a day.
    pub fn last(&self, room: usize, until: Option<Date>) -> Option<usize> {
        let until = until.unwrap_or(Date::MAX);
        let last = |tests: &[(Date, usize)]| {
            let end = tests.partition_point(|(date, _)| *date <= until);
            end.checked_sub(1).map(|at| tests[at])
        };
        self.of_rooms.get(room).and_then(|own| last(own)).max(last(&self.of_all)).map(|(_, test)| test)
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::{check, messages, not_checked};

    fn damp(more: &str, records: &str) -> Vec<(Severity, String)> {
        let outcome = check(&format!("{more}records:\n{records}"));
        let of_rule = outcome.findings.into_iter().filter(|it| it.rule.name == RULE.name);
        of_rule.map(|it| (it.severity, it.message)).collect()
    }

    fn measured(more: &str, moisture: &str) -> Option<Severity> {
        let records = format!("  moisture: {{date: 2026-05-02, {moisture}}}\n  covering-laid: {{date: 2026-05-10}}\n");
        damp(more, &records).first().map(|(severity, _)| *severity)
    }

    const OAK_ON_SULPHATE: &str = "floors:\n  screeded:\n    method: clipped-in-screed\n    layers:\n      - {material: oak, \
        thickness: 14 mm}\n      - {material: flowing screed, thickness: 50 mm, pipe: at base}\n";

    #[test]
    fn each_screed_and_covering_has_its_limit() {
        assert_eq!(measured("", "moisture: 1.8 %"), None);
        assert_eq!(measured("", "moisture: 1.81 %"), Some(Severity::Error));
        assert_eq!(measured(OAK_ON_SULPHATE, "moisture: 0.5 %"), None);
        assert_eq!(measured(OAK_ON_SULPHATE, "moisture: 0.6 %"), Some(Severity::Error));
        let german = format!("site: {{jurisdiction: Germany}}\n{OAK_ON_SULPHATE}");
        assert_eq!(measured(&german, "moisture: 0.4 %"), Some(Severity::Warning));
        assert_eq!(measured(&german, "moisture: 0.3 %"), None);
        assert_eq!(measured("", "method: hygrometer, moisture: 75 %"), None);
        assert_eq!(measured("", "method: hygrometer, moisture: 76 %"), Some(Severity::Error));
        assert_eq!(measured(OAK_ON_SULPHATE, "method: hygrometer, moisture: 70 %"), Some(Severity::Warning));
    }

    #[test]
    fn a_screed_that_is_still_drying_is_no_fault() {
        let found = damp("", "  moisture: {date: 2026-05-02, moisture: 2.3 %}\n");
        assert_eq!(found.first().map(|it| it.0), Some(Severity::Information));
        let found =
            damp("", "  moisture: [{date: 2026-05-02, moisture: 2.3 %}, {date: 2026-05-22, moisture: 1.7 %}]\n");
        assert!(found.is_empty());
    }

    #[test]
    fn a_test_after_the_covering_proves_nothing() {
        let text = "records:\n  moisture: {date: 2026-05-12, moisture: 1.0 %}\n  covering-laid: {date: 2026-05-10}\n";
        assert!(messages(&RULE, text).is_empty());
        assert_eq!(not_checked(&RULE, text), ["records/moisture"]);
    }

    #[test]
    fn a_room_may_have_its_own_test() {
        let text = "  moisture:\n    - {date: 2026-05-02, moisture: 2.5 %}\n    - {date: 2026-05-08, rooms: hall, moisture: 1.5 \
                    %}\n  covering-laid: {date: 2026-05-10}\n";
        let found: Vec<String> = damp("", text).into_iter().map(|it| it.1).collect();
        assert_eq!(found, ["the sand-cement screed of room study holds 2.5 %; 1.8 % is the most under a covering"]);
    }
}
