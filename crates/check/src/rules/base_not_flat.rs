//! The base is flat enough for what is laid on it.
//!
//! A board does not bridge a hollow: it rocks, its joints open, and the tile above cracks.
//!
//! ## How it is worked out
//! The largest gap under a straightedge of two metres, as the design states it for the base, is compared with the limit of the method.
//!
//! ## Limit
//! 3 mm under boards, trays and dry floors: summaries of BS 5385-3 and of a French works standard. 5 mm under insulation and screed:
//! common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: screed, flatness: 6 mm}
//! #                                  ^^^^ the base of floor screeded is 6 mm out under a straightedge of two metres; at most 3 mm lets it lie flat
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 20 mm, pipe: at top, held: full bed}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: bonded-board
//!     below: heated room
//!     base: {kind: screed, flatness: 3 mm}
//!     layers:
//!       - {material: porcelain tile, thickness: 10 mm}
//!       - {material: XPS, thickness: 20 mm, pipe: at top, held: full bed}
//! ```

use super::prelude::*;
use design::Method;

pub static RULE: Rule = Rule {
    name: "base-not-flat",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[BOARD, SCREED],
    file: include_str!("base_not_flat.rs"),
    check,
    ..Rule::USUAL
};

const BOARD: Limit =
    Limit { name: "gap-under-boards", value: "3 mm", source: "summaries of BS 5385-3 and of a French works standard" };
const SCREED: Limit = Limit { name: "gap-under-screed", value: "5 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (board, screed) = (BOARD.get::<Length>(&RULE, inspection), SCREED.get::<Length>(&RULE, inspection));
    for it in inspection.floors() {
        let Some(method) = it.given.method else { continue };
        let limit = match method.value {
            Method::BondedBoard | Method::FloatingBoard | Method::CastellatedTray => &board,
            Method::ClippedInScreed => &screed,
            Method::SpreaderPlates | Method::EmbeddedInSlab | Method::ElectricMat => continue,
        };
        let Some(flatness) = it.given.base.as_ref().and_then(|base| base.flatness) else {
            found.missing(it.subject, "base/flatness");
            continue;
        };
        if flatness.value <= limit.value {
            continue;
        }
        let message = format!(
            "the base of floor {} is {} out under a straightedge of two metres; at most {} lets it lie flat",
            it.name, flatness.value, limit.value
        );
        let remedy = Remedy::new(format!("level the base to {}", limit.value), flatness.at, limit.value.to_string());
        let finding = Finding::new(it.subject, flatness.at, message).value(flatness.value).limit(limit);
        found.add(finding.remedy(remedy));
    }
}
