//! A doorway lies within the length of its wall, from its first side to its second.
//!
//! An opening that runs over the end of its wall, or the wrong way round, is a slip, and pipe is then held to pass through
//! a door where it passes through masonry.
//!
//! ## How it is worked out
//! `from` and `to` along the line of the wall, from its first point; `clear-width` against the distance between them.
//!
//! ## Limit
//! Within the wall: common practice, no source.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]]}
//! openings:
//!   D1: {wall: W1, from: 2 m, to: 1.1 m}
//! #                               ^^^^^ opening D1 begins at 2.0 m and ends at 1.1 m
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[5, 0], [5, 4]]}
//! openings:
//!   D1: {wall: W1, from: 1.1 m, to: 2 m}
//! ```
//! ```yaml fails
//! walls:
//!   W1: {line: [[5, 0], [5, 4]]}
//! openings:
//!   D1: {wall: W1, from: 3.5 m, to: 4.4 m}
//! #                                 ^^^^^ opening D1 goes 400 mm beyond the end of wall W1, which is 4.0 m long
//! ```

use super::prelude::*;
use workings::point;

pub static RULE: Rule = Rule {
    name: "opening-not-in-its-wall",
    group: Group::Geometry,
    weights: [Warning, Error, Error, Error],
    file: include_str!("opening_not_in_its_wall.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source";

/// What lies nearer to the end of a wall is at its end.
const HAIR: Length = Length::millimetres(1.0);

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    for (at, (name, entry)) in design.openings.iter().enumerate() {
        let opening = &entry.value;
        let (Some(from), Some(to)) = (opening.from, opening.to) else { continue };
        let told = |message: String, place| Finding::new(Subject::Opening(at), place, message).source(SOURCE);
        let wide = to.value - from.value;
        if wide < Length::ZERO {
            let message = format!("opening {name} begins at {} and ends at {}", from.value, to.value);
            let swapped = [
                crate::remedy::Change { place: from.at, text: inspection.text(to.at).into() },
                crate::remedy::Change { place: to.at, text: inspection.text(from.at).into() },
            ];
            found.add(
                told(message, to.at)
                    .related(from.at, "it begins here")
                    .remedy(Remedy::of("change the two ends over", swapped)),
            );
            continue;
        }
        if wide <= Length::ZERO {
            found.add(told(format!("opening {name} has no width: it begins and ends at {}", from.value), to.at));
            continue;
        }
        if let Some(clear) = opening.clear_width.filter(|clear| clear.value > wide + HAIR) {
            let message = format!("opening {name} is {wide} wide and {} clear", clear.value);
            found.add(told(message, clear.at).related(to.at, "it ends here"));
        }
        // A wall without a line is asked for by the rules that need it.
        let wall = opening.wall.as_ref().and_then(|wall| Some((&wall.name, design.walls.entry(&wall.name)?)));
        let Some((wall_name, wall)) = wall else { continue };
        let Some(line) = wall.value.line else { continue };
        let length = point(line.value.from).distance(point(line.value.to));
        if to.value > length + HAIR {
            let beyond = to.value - length;
            let message =
                format!("opening {name} goes {beyond} beyond the end of wall {wall_name}, which is {length} long");
            found.add(told(message, to.at).value(beyond).related(wall.name_place, "the wall stands here"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    fn says(opening: &str) -> Vec<String> {
        messages(
            &RULE,
            &format!("walls:\n  W1: {{line: [[5, 0], [5, 4]]}}\nopenings:\n  D1: {{wall: W1, {opening}}}\n"),
        )
    }

    #[test]
    fn within_the_wall() {
        assert_eq!(says("from: 0 m, to: 4 m"), [""; 0]);
        assert_eq!(says("from: 3 m, to: 4.002 m").len(), 1);
        assert_eq!(says("from: 1 m, to: 1 m"), ["opening D1 has no width: it begins and ends at 1.0 m"]);
        assert_eq!(says("from: 1 m, to: 1.8 m, clear-width: 838 mm"), ["opening D1 is 800 mm wide and 838 mm clear"]);
        assert_eq!(says("from: 1 m"), [""; 0]);
    }
}
