//! Pipe under a screed is clipped closely enough to stay down.
//!
//! Between clips that are too far apart the pipe floats in the wet screed, and the cover over it is gone.
//!
//! ## How it is worked out
//! The distance between clips that the floor states.
//!
//! ## Limit
//! 400 mm along straight runs, one each side of a bend (a screeding trade text); 500 mm at most (from memory).
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     clips: {spacing: 700 mm}
//! #                    ^^^^^^ the pipe of floor screeded is clipped every 700 mm; beyond 500 mm it floats up
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: clipped-in-screed
//!     below: ground
//!     clips: {spacing: 400 mm}
//!     layers:
//!       - {material: cement screed, thickness: 65 mm, pipe: at base}
//! ```

use super::prelude::*;
use design::Method;

pub static RULE: Rule = Rule {
    name: "clips-too-far-apart",
    group: Group::FloorConstruction,
    weights: [Hint, Information, Warning, Warning],
    limits: &[MOST],
    file: include_str!("clips_too_far_apart.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit =
    Limit { name: "most", value: "500 mm", source: "a screeding trade text gives 400 mm; 500 mm from memory" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let most = MOST.get::<Length>(&RULE, inspection);
    for it in inspection.floors() {
        if it.given.method.is_none_or(|method| method.value != Method::ClippedInScreed) {
            continue;
        }
        let Some(spacing) = it.given.clips.as_ref().and_then(|clips| clips.spacing) else {
            found.missing(it.subject, "clips/spacing");
            continue;
        };
        if spacing.value <= most.value {
            continue;
        }
        let message = format!(
            "the pipe of floor {} is clipped every {}; beyond {} it floats up",
            it.name, spacing.value, most.value
        );
        let finding = Finding::new(it.subject, spacing.at, message).value(spacing.value).limit(&most);
        found.add(finding.remedy(Remedy::new("clip it every 400 mm", spacing.at, "400 mm")));
    }
}
