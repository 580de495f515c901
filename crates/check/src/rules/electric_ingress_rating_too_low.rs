//! A heating unit in concrete or adhesive is protected against water to IPX7.
//!
//! Adhesive is wet for days and grout lets water through for years.
//!
//! ## How it is worked out
//! The second figure of `ingress-protection` must be 7 or more.
//!
//! ## Limit
//! IPX7 by EN 60529: BS 7671, section 753, from trade texts.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², ingress-protection: IPX4}
//! #                                                                             ^^^^ electric mat E1 is protected to IPX4; IPX7 is the least in a floor
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m², ingress-protection: IPX7}
//! ```

use super::prelude::*;
use design::Stage;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "electric-ingress-rating-too-low",
    group: Group::Electric,
    weights: [Warning, Error, Error, Error],
    caution: Some("For planning only. A competent electrician must design and certify."),
    guards_people: true,
    file: include_str!("electric_ingress_rating_too_low.rs"),
    check,
    ..Rule::USUAL
};

/// The second figure of the code: against immersion.
const LEAST: u32 = 7;

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(code) = &mat.given.ingress_protection else {
            if inspection.design.stage() > Stage::Preliminary {
                found.missing(mat.subject, "ingress-protection");
            }
            continue;
        };
        match against_water(&code.value) {
            None => {
                let reason = format!("`{}` is no code such as IPX7", code.value);
                found.not_checked(mat.subject, &Gap::NoMethod(reason));
            }
            Some(figure) if figure < LEAST => {
                let message = format!(
                    "electric mat {} is protected to {}; IPX{LEAST} is the least in a floor",
                    mat.name, code.value
                );
                let source = "BS 7671, section 753, from trade texts";
                found.add(Finding::new(mat.subject, code.at, message).source(source));
            }
            Some(_) => {}
        }
    }
}

/// The figure of a code that tells of water: 7 of `IPX7` or `IP67`.
fn against_water(code: &str) -> Option<u32> {
    let mut signs = code.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase());
    let (Some('I'), Some('P'), Some(solid), Some(water)) = (signs.next(), signs.next(), signs.next(), signs.next())
    else {
        return None;
    };
    (solid == 'X' || solid.is_ascii_digit()).then(|| water.to_digit(10))?
}

#[cfg(test)]
mod tests {
    use super::{RULE, against_water};
    use crate::bench::not_checked;

    #[test]
    fn codes_are_read_as_they_are_printed() {
        assert_eq!(against_water("IPX7"), Some(7));
        assert_eq!(against_water("IP67"), Some(7));
        assert_eq!(against_water("ip x8"), Some(8));
        assert_eq!(against_water("IP6"), None);
        assert_eq!(against_water("IPXX"), None);
        assert_eq!(against_water("7"), None);
    }

    #[test]
    fn another_code_is_not_checked() {
        let text = "electric-mats: {E1: {ingress-protection: waterproof}}\n";
        assert_eq!(not_checked(&RULE, text), ["`waterproof` is no code such as IPX7"]);
        assert_eq!(not_checked(&RULE, "electric-mats: {E1: {}}\n"), ["electric-mats/E1/ingress-protection"]);
    }
}
