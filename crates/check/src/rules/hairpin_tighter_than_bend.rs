//! A meander at the stated spacing turns no tighter than its pipe allows.
//!
//! The turn at the end of each run is a half circle over one spacing. Pipe that cannot be bent so tightly
//! is laid in a bulb, or comes out wider than drawn. It is the most common drafting fault of all.
//!
//! ## How it is worked out
//! A meander turns on half its spacing. A spiral turns on a whole spacing: its runs go there and back side
//! by side, and each turns round two spacings.
//!
//! ## Limit
//! Half the spacing of a meander, the whole of a spiral, not under the least bend radius of the pipe; that
//! is its own, or five times its outside diameter, from memory. The rule itself is common practice, no source.
//!
//! ## Exceptions
//! Where the loop is drawn, `bend-too-tight` looks at the turns as they are, bulbs included; where it is laid out from the
//! outline of its room, `layout-falls-short` does.
//!
//! ```yaml fails
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, layout: meander, tails: 10 m}
//! #                                              ^^^^^^ loop L1 turns on 75 mm at a spacing of 150 mm; the least bend of its pipe is 80 mm
//! ```
//! ```yaml remedied
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, layout: spiral, tails: 10 m}
//! ```

use super::bend_too_tight::least_bend_radius;
use super::prelude::*;
use design::Layout;

pub static RULE: Rule = Rule {
    name: "hairpin-tighter-than-bend",
    group: Group::Geometry,
    weights: [Hint, Warning, Warning, Warning],
    file: include_str!("hairpin_tighter_than_bend.rs"),
    check,
    ..Rule::USUAL
};

/// What a tenth of a millimetre may be out.
const HAIR: Length = Length::millimetres(0.1);

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.loops() {
        if matches!(it.worked.route, Some(Ok(_))) || it.worked.laid.is_some() {
            continue;
        }
        let Some(spacing) = it.given.spacing else {
            if !it.given.broken {
                found.missing(it.subject, "spacing");
            }
            continue;
        };
        let Some(least) = least_bend_radius(inspection, found, &it) else { continue };
        if spacing.value / 2.0 >= least.value - HAIR {
            continue;
        }
        let turns_on = match it.given.layout.map(|layout| layout.value) {
            Some(Layout::Meander) => spacing.value / 2.0,
            Some(Layout::Spiral) => spacing.value,
            None => {
                found.missing(it.subject, "layout");
                continue;
            }
        };
        if turns_on >= least.value - HAIR {
            continue;
        }
        let message = format!(
            "loop {} turns on {turns_on} at a spacing of {}; the least bend of its pipe is {}",
            it.name, spacing.value, least.value
        );
        let spiral = it.given.layout.map(|layout| Remedy::new("lay it as a spiral", layout.at, "spiral"));
        let wide =
            format!("{} mm", (least.value.in_millimetres() * (spacing.value / turns_on) / 10.0 - 1e-6).ceil() * 10.0);
        found.add(
            Finding::new(it.subject, spacing.at, message)
                .value(turns_on)
                .limit(&least)
                .remedy(spiral)
                .remedy(Remedy::new(format!("lay it at {wide}"), spacing.at, wide)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(more: &str) -> String {
        format!("loops:\n  L1: {{room: hall, pipe: PE-X 16 x 2, {more}}}\n")
    }

    fn said(more: &str) -> Vec<String> {
        messages(&RULE, &text(more))
    }

    /// Worked example of the rules' catalogue, common practice, no source: 200 mm turns on 100 mm, which 80 mm allows.
    #[test]
    fn half_the_spacing_of_a_meander_counts() {
        assert_eq!(said("spacing: 200 mm, layout: meander"), [""; 0]);
        assert_eq!(said("spacing: 160 mm, layout: meander"), [""; 0]);
        assert_eq!(said("spacing: 159 mm, layout: meander").len(), 1);
    }

    #[test]
    fn a_spiral_turns_on_its_whole_spacing() {
        assert_eq!(said("spacing: 80 mm, layout: spiral"), [""; 0]);
        assert_eq!(
            said("spacing: 75 mm, layout: spiral"),
            ["loop L1 turns on 75 mm at a spacing of 75 mm; the least bend of its pipe is 80 mm"]
        );
    }

    #[test]
    fn a_drawn_loop_is_looked_at_as_it_is_drawn() {
        assert_eq!(said("spacing: 100 mm, layout: meander, route: [[0, 0], [4, 0], [4, 1]]"), [""; 0]);
    }

    #[test]
    fn the_layout_matters_only_where_the_spacing_is_close() {
        assert_eq!(not_checked(&RULE, &text("spacing: 200 mm")), [""; 0]);
        assert_eq!(not_checked(&RULE, &text("spacing: 150 mm")), ["loops/L1/layout"]);
        assert_eq!(not_checked(&RULE, &text("layout: meander")), ["loops/L1/spacing"]);
    }
}
