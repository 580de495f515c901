//! A heated screed is warmed through before its covering is laid.
//!
//! The first heating drives the last water out and shows the cracks. Under a covering the water stays, and
//! the crack comes through the tile.
//!
//! ## How it is worked out
//! The day each covering was laid is held against the first heat, and against the last day of the heating
//! log. Only rooms with their pipe in sand-cement or calcium-sulphate screed count.
//!
//! ## Limit
//! Heat first: summaries of the tiling codes (three weeks to cure, three days at temperature, cool, then
//! tile).
//!
//! ```yaml fails
//! records:
//!   first-heat: 2026-04-20
//!   covering-laid: {date: 2026-04-10, heating-on: false}
//! #                       ^^^^^^^^^^ the covering of room hall was laid on 2026-04-10, before the first heat on 2026-04-20
//! ```
//! ```yaml passes
//! records:
//!   first-heat: 2026-04-20
//!   covering-laid: {date: 2026-05-10, heating-on: false}
//! ```
//! ```yaml fails
//! records:
//!   covering-laid: {date: 2026-04-10, heating-on: false}
//! #                       ^^^^^^^^^^ the covering of room hall was laid on 2026-04-10, and no first heat is recorded
//! ```

use super::heated_too_soon::first_heat;
use super::prelude::*;
use crate::records::{rooms_of, screed_of};
use design::Screed;

pub static RULE: Rule = Rule {
    name: "covering-laid-before-first-heat",
    group: Group::Records,
    weights: [Error; 4],
    file: include_str!("covering_laid_before_first_heat.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "summaries of the tiling codes";

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if records.coverings_laid.is_empty() || !inspection.is_read(records.place) {
        return;
    }
    let first = first_heat(inspection);
    let last = records.heating_log.iter().filter_map(|day| day.date).max_by_key(|day| day.value);
    let laid_wet = |room| matches!(screed_of(inspection, room), Some(Screed::SandCement | Screed::CalciumSulphate));
    for record in &records.coverings_laid {
        let Some(date) = record.date else {
            found.missing(Subject::Records, "covering-laid/date");
            continue;
        };
        let (why, day) = match (first, last) {
            (None, _) => ("and no first heat is recorded".to_string(), None),
            (Some(first), _) if date.value <= first.value => {
                (format!("before the first heat on {}", first.value), Some(first))
            }
            (_, Some(last)) if date.value <= last.value => {
                (format!("before the first heating ended on {}", last.value), Some(last))
            }
            _ => continue,
        };
        let Some(room) = rooms_of(inspection, &record.rooms).find(|room| laid_wet(*room)) else { continue };
        let name = inspection.design.rooms.at(room).map_or("?", |(name, _)| name);
        let message = format!("the covering of room {name} was laid on {}, {why}", date.value);
        let mut finding = Finding::new(Subject::Records, date.at, message).source(SOURCE);
        if let Some(day) = day {
            finding = finding.related(day.at, "the day of the heating");
        }
        found.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn the_heating_has_to_be_over() {
        let log = "records:\n  heating-log:\n    - {date: 2026-04-01}\n    - {date: 2026-04-09}\n";
        let laid = |day: &str| messages(&RULE, &format!("{log}  covering-laid: {{date: {day}}}\n"));
        assert!(laid("2026-04-10").is_empty());
        let early = "the covering of room hall was laid on 2026-04-09, before the first heating ended on 2026-04-09";
        assert_eq!(laid("2026-04-09"), [early]);
    }

    #[test]
    fn a_dry_floor_is_another_matter() {
        let dry = "floors:\n  screeded:\n    method: floating-board\n    layers: [{material: EPS, thickness: 30 mm, pipe: at top}]\n";
        assert!(messages(&RULE, &format!("{dry}records: {{covering-laid: {{date: 2026-04-10}}}}\n")).is_empty());
    }

    #[test]
    fn a_covering_without_a_day_is_not_checked() {
        assert_eq!(not_checked(&RULE, "records: {covering-laid: {rooms: hall}}\n"), ["records/covering-laid/date"]);
    }
}
