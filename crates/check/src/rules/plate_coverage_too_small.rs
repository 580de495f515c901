//! Metal plates cover most of the pipe's run.
//!
//! Between plates the pipe heats a strip of its own width; the floor shows stripes, and the water has to be warmer for the same heat.
//! Plates that touch tick when they grow.
//!
//! ## How it is worked out
//! The share of the run that plates cover, and the gap between plates, as the design states them.
//!
//! ## Limit
//! 80 % of the run; gaps of 10 to 20 mm: common practice, no source.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 180 mm, gap: 15 mm, coverage: 79.9 %}
//! #                                                                                         ^^^^^^ the plates of floor screeded cover 79.9 % of the run; at least 80 % is wanted
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top, held: fitted tight}
//! ```
//! ```yaml remedied
//! floors:
//!   screeded:
//!     method: spreader-plates
//!     below: heated room
//!     plates: {material: aluminium, thickness: 0.5 mm, width: 180 mm, gap: 15 mm, coverage: 80 %}
//!     layers:
//!       - {material: chipboard, thickness: 18 mm}
//!       - {material: mineral wool, thickness: 100 mm, pipe: at top, held: fitted tight}
//! ```

use super::prelude::*;
use design::Method;

pub static RULE: Rule = Rule {
    name: "plate-coverage-too-small",
    group: Group::FloorConstruction,
    weights: [Hint, Warning, Warning, Warning],
    limits: &[COVERAGE, NARROWEST, WIDEST],
    file: include_str!("plate_coverage_too_small.rs"),
    check,
    ..Rule::USUAL
};

const COVERAGE: Limit = Limit { name: "least-coverage", value: "80 %", source: "common practice, no source" };
const NARROWEST: Limit = Limit { name: "narrowest-gap", value: "10 mm", source: "common practice, no source" };
const WIDEST: Limit = Limit { name: "widest-gap", value: "20 mm", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let coverage = COVERAGE.get::<Share>(&RULE, inspection);
    for floor in inspection.floors().filter(|floor| !floor.worked.loops.is_empty()) {
        if floor.given.method.is_none_or(|method| method.value != Method::SpreaderPlates) {
            continue;
        }
        let plates = floor.given.plates.as_ref();
        match plates.and_then(|plates| plates.coverage) {
            None => found.missing(floor.subject, "plates/coverage"),
            // Too few plates leave wide gaps: one cause, said once.
            Some(covered) if covered.value < coverage.value => {
                let (value, least) = (covered.value, coverage.value);
                let message =
                    format!("the plates of floor {} cover {value} of the run; at least {least} is wanted", floor.name);
                let remedy = Remedy::new(format!("cover {least} of the run"), covered.at, "80 %");
                let finding = Finding::new(floor.subject, covered.at, message).value(covered.value).limit(&coverage);
                found.add(finding.remedy(remedy));
                continue;
            }
            Some(_) => {}
        }
        let Some(gap) = plates.and_then(|plates| plates.gap) else {
            found.missing(floor.subject, "plates/gap");
            continue;
        };
        let (limit, word) = match (NARROWEST.get::<Length>(&RULE, inspection), WIDEST.get::<Length>(&RULE, inspection))
        {
            (narrowest, _) if gap.value < narrowest.value => (narrowest, "at least"),
            (_, widest) if gap.value > widest.value => (widest, "at most"),
            _ => continue,
        };
        let (value, wanted) = (gap.value, limit.value);
        let message = format!("the plates of floor {} lie {value} apart; {word} {wanted} is wanted", floor.name);
        let remedy = Remedy::new("leave gaps of 15 mm", gap.at, "15 mm");
        found.add(Finding::new(floor.subject, gap.at, message).value(gap.value).limit(&limit).remedy(remedy));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn plates(of: &str) -> String {
        format!(
            "floors: {{screeded: {{method: spreader-plates, below: heated room, plates: {{{of}}}, layers: [{{material: mineral wool, \
             thickness: 100 mm, pipe: at top}}]}}}}\n"
        )
    }

    /// Common practice, no source: plates 10 to 20 mm apart.
    #[test]
    fn gaps_have_both_ends() {
        let gap = |of: &str| messages(&RULE, &plates(&format!("coverage: 80 %, gap: {of}")));
        assert!(gap("10 mm").is_empty() && gap("20 mm").is_empty());
        assert_eq!(gap("9 mm"), ["the plates of floor screeded lie 9 mm apart; at least 10 mm is wanted"]);
        assert_eq!(gap("21 mm"), ["the plates of floor screeded lie 21 mm apart; at most 20 mm is wanted"]);
    }

    #[test]
    fn what_is_not_said_is_asked() {
        let asked = not_checked(&RULE, &plates("thickness: 0.5 mm"));
        assert_eq!(asked, ["floors/screeded/plates/coverage", "floors/screeded/plates/gap"]);
    }
}
