//! A castellated tray is lapped stud over stud, and fixed where nothing soft holds it.
//!
//! Flowing screed runs under a loose tray and floats it up with its pipe.
//!
//! ## How it is worked out
//! The tray's `lapped`; where it lies on the base without insulation, its `fixed`.
//!
//! ## Limit
//! Lapped, taped at the edge strip, fixed if there is no insulation: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: heated room
//!     tray: {lifts-pipe: 4 mm, lapped: false}
//! #                                    ^^^^^ the tray of floor screeded is not lapped stud over stud; screed runs under it and lifts it
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: EPS, thickness: 40 mm}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: castellated-tray
//!     below: heated room
//!     tray: {lifts-pipe: 4 mm, lapped: true}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//!       - {material: EPS, thickness: 40 mm}
//! ```

use super::prelude::*;
use crate::layers;
use design::Method;

pub static RULE: Rule = Rule {
    name: "tray-not-locked",
    group: Group::FloorConstruction,
    weights: [Silent, Warning, Warning, Warning],
    file: include_str!("tray_not_locked.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::CastellatedTray) {
            continue;
        }
        let tray = floor.given.tray.as_ref();
        let first = floor.worked.pipe_layer.clone().map_or(0, |at| at + 1);
        let bare = !layers::from(&floor, first).any(|(_, _, worked)| worked.insulates());
        let wanted = [
            (true, tray.and_then(|tray| tray.lapped), "tray/lapped", "lapped stud over stud", "lap it"),
            (bare, tray.and_then(|tray| tray.fixed), "tray/fixed", "fixed down and has no insulation", "fix it"),
        ];
        for (_, given, key, word, title) in wanted.into_iter().filter(|(wanted, ..)| *wanted) {
            let Some(given) = given else {
                found.missing(floor.subject, key);
                continue;
            };
            if given.value {
                continue;
            }
            let message = format!("the tray of floor {} is not {word}; screed runs under it and lifts it", floor.name);
            let finding = Finding::new(floor.subject, given.at, message).source("common practice, no source");
            found.add(finding.remedy(Remedy::new(title, given.at, "true")));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn on_a_bare_base_it_is_fixed() {
        let floor = |tray: &str, board: &str| {
            format!(
                "floors: {{screeded: {{method: castellated-tray, below: heated room, tray: {{{tray}}}, layers: [{{material: cement screed, \
                 thickness: 65 mm, pipe: at base}}, {{material: {board}, thickness: 50 mm}}]}}}}\n"
            )
        };
        assert!(messages(&RULE, &floor("lapped: true, fixed: false", "EPS")).is_empty());
        assert_eq!(messages(&RULE, &floor("lapped: true, fixed: false", "concrete")).len(), 1);
        assert_eq!(not_checked(&RULE, &floor("lapped: true", "concrete")), ["floors/screeded/tray/fixed"]);
    }
}
