//! Clips, screws and pipes do not pierce a damp-proof or radon layer.
//!
//! A layer with a hundred staples through it is a sieve. Damp comes up into the insulation, and radon into the room.
//!
//! ## How it is worked out
//! `base/damp-layer-pierced` of each floor must not be true. It is asked for where the floor lies on the ground and
//! has a membrane among its layers.
//!
//! ## Limit
//! None, or sealed by a named system: common practice, no source. A departure may name the system.
//!
//! ```yaml fails
//! floors:
//!   screeded:
//!     below: ground
//!     base: {kind: slab, damp-layer-pierced: true}
//! #                                          ^^^^ the damp-proof or radon layer of floor screeded is pierced
//! ```
//! ```yaml passes
//! floors:
//!   screeded:
//!     below: ground
//!     base: {kind: slab, damp-layer-pierced: false}
//! ```

use super::prelude::*;
use design::Below;
use engineering::heat::materials::Kind as Material;

pub static RULE: Rule = Rule {
    name: "radon-or-damp-layer-pierced",
    group: Group::Safety,
    weights: [Warning; 4],
    caution: Some("Ground gas harms without being noticed. Do not pierce the layer without a sealed detail."),
    file: include_str!("radon_or_damp_layer_pierced.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors().filter(|floor| !floor.worked.rooms.is_empty()) {
        match floor.given.base.as_ref().and_then(|base| base.damp_layer_pierced) {
            Some(pierced) if pierced.value => {
                let message = format!("the damp-proof or radon layer of floor {} is pierced", floor.name);
                found.add(Finding::new(floor.subject, pierced.at, message).source("common practice, no source"));
            }
            None if floor.given.below.is_some_and(|below| below.value == Below::Ground)
                && floor.worked.layers.iter().any(|layer| layer.is(Material::Membrane)) =>
            {
                found.missing(floor.subject, "base/damp-layer-pierced");
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn it_is_asked_for_on_the_ground_only() {
        let floor = |below: &str| {
            let layers = "layers: [{material: membrane, thickness: 0.2 mm}]";
            not_checked(&RULE, &format!("floors: {{screeded: {{below: {below}, {layers}}}}}\n"))
        };
        assert_eq!(floor("ground"), ["floors/screeded/base/damp-layer-pierced"]);
        assert!(floor("heated room").is_empty());
    }
}
