//! The heating is off while a covering is laid and its adhesive sets.
//!
//! On a warm floor adhesive skins over before the tile is in it, and what does not bond is drummy within the year.
//!
//! ## How it is worked out
//! `heating-on` of each covering record must not be true. Where it is not said, a day of the heating log on the same
//! date says that it was.
//!
//! ## Limit
//! Off before and for the adhesive's cure, then 5 K a day: one tiling trade text, which gives 28 days for a cement
//! adhesive bed.
//!
//! ```yaml fails
//! records:
//!   first-heat: 2026-04-01
//!   covering-laid: {date: 2026-05-10, heating-on: true}
//! #                                               ^^^^ the heating was on while the covering of 2026-05-10 was laid
//! ```
//! ```yaml passes
//! records:
//!   first-heat: 2026-04-01
//!   covering-laid: {date: 2026-05-10, heating-on: false}
//! ```

use super::prelude::*;
use std::collections::HashSet;

pub static RULE: Rule = Rule {
    name: "heating-on-while-tiling",
    group: Group::Records,
    weights: [Warning; 4],
    file: include_str!("heating_on_while_tiling.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let records = &inspection.design.records;
    if records.coverings_laid.is_empty() {
        return;
    }
    let heated: HashSet<_> = records.heating_log.iter().filter_map(|day| Some(day.date?.value)).collect();
    for record in &records.coverings_laid {
        let place = match (record.heating_on, record.date) {
            (Some(on), _) if on.value => on.at,
            (Some(_), _) => continue,
            (None, Some(date)) if heated.contains(&date.value) => date.at,
            (None, _) => {
                found.missing(Subject::Records, "covering-laid/heating-on");
                continue;
            }
        };
        let which = record.date.map(|date| format!(" of {}", date.value)).unwrap_or_default();
        let message = format!("the heating was on while the covering{which} was laid");
        found.add(Finding::new(Subject::Records, place, message).source("tiling trade text, one text"));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn the_log_may_say_it() {
        let text =
            |day: &str| format!("records:\n  heating-log: [{{date: 2026-05-10}}]\n  covering-laid: {{date: {day}}}\n");
        assert_eq!(messages(&RULE, &text("2026-05-10")).len(), 1);
        assert!(messages(&RULE, &text("2026-05-11")).is_empty());
        assert_eq!(not_checked(&RULE, &text("2026-05-11")), ["records/covering-laid/heating-on"]);
    }
}
