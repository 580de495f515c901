//! The coils are chosen so that little is left over.
//!
//! Offcuts are too short for a loop and too long to forget: paid for, carried, and thrown away.
//!
//! ## How it is worked out
//! The loops that name a coil, each with what is lost in cutting, are cut from coils of those sizes, the longest loops first,
//! each from the coil with the least left that still holds it. What is left over all coils is held against the limit. The
//! same is done with every size that the pipe comes in, each coil in the end no larger than it need be; where that takes less
//! pipe, it is proposed. Pipe that is laid, `as built`, is cut already.
//!
//! ## Limit
//! 12 % left over: common practice, no source.
//!
//! ```yaml fails
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, coils: [60 m, 100 m]}
//! # ^^^^^^ 113.0 m of pipe PEX-16 is cut from 200.0 m of coils; 2 x 60 m would do
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 250 mm, tails: 8 m, duty: 400 W, coil: 100 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 250 mm, tails: 9 m, duty: 400 W, coil: 100 m}
//! ```
//! ```yaml remedied
//! pipes:
//!   PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, class: 4, coils: [60 m, 100 m]}
//! loops:
//!   L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 250 mm, tails: 8 m, duty: 400 W, coil: 60 m}
//!   L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 250 mm, tails: 9 m, duty: 400 W, coil: 60 m}
//! ```

use super::prelude::*;
use crate::remedy::Change;
use design::Placed;
use engineering::water::coils::{Coil, cut};
use std::collections::BTreeMap;

pub static RULE: Rule = Rule {
    name: "coils-cut-wastefully",
    group: Group::Hydraulics,
    // Pipe that is laid is not cut anew.
    weights: [Silent, Hint, Hint, Silent],
    limits: &[LEFT],
    file: include_str!("coils_cut_wastefully.rs"),
    check,
    ..Rule::USUAL
};

const LEFT: Limit = Limit { name: "left-over", value: "12 %", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let left = LEFT.get::<Share>(&RULE, inspection);
    for pipe in inspection.laid_pipes() {
        // The pieces to be cut, and the coil that each names.
        let (mut pieces, mut named): (Vec<Length>, Vec<Placed<Length>>) = (Vec::new(), Vec::new());
        for at in &pipe.loops {
            let Some((_, entry)) = inspection.design.loops.at(*at) else { continue };
            let Some(coil) = entry.value.coil else { continue };
            let Some(length) = found.need(Subject::Loop(*at), &inspection.workings.loops[*at].length) else { continue };
            let piece = super::loop_longer_than_coil::length_to_cut(inspection.house, length.value);
            // What no coil holds is said elsewhere.
            if piece <= coil.value {
                pieces.push(piece);
                named.push(coil);
            }
        }
        if pieces.is_empty() {
            continue;
        }
        if pipe.given.coils.is_empty() {
            if matches!(pipe.subject, Subject::Pipe(_)) && !pipe.given.broken {
                found.missing(pipe.subject, "coils");
            }
            continue;
        }
        let sizes: Vec<Length> = pipe.given.coils.iter().map(|coil| coil.value).collect();
        let Some(best) = cut(&pieces, &sizes) else { continue };
        let wanted: Length = pieces.iter().copied().sum();
        let taken = as_named(&pieces, &named);
        let needed: Length = best.iter().map(|coil| coil.size).sum();
        let share = 1.0 - wanted / taken;
        if share <= left.value.in_fraction() || needed >= taken {
            continue;
        }
        let message = format!("{wanted} of pipe {} is cut from {taken} of coils; {} would do", pipe.name, list(&best));
        let changes = best.iter().flat_map(|coil| coil.pieces.iter().map(move |piece| (coil.size, *piece)));
        let changes = changes.filter(|(size, piece)| named[*piece].value != *size);
        let changes = changes.map(|(size, piece)| Change { place: named[piece].at, text: metres(size) });
        found.add(
            Finding::new(pipe.subject, pipe.place, message)
                .value(Share::fraction(share))
                .limit(&left)
                .remedy(Remedy::of(format!("cut from {}", list(&best)), changes)),
        );
    }
}

/// All the coils together if each piece is cut from the size that it names.
fn as_named(pieces: &[Length], named: &[Placed<Length>]) -> Length {
    let mut of_sizes: BTreeMap<u64, Vec<Length>> = BTreeMap::new();
    for (piece, coil) in pieces.iter().zip(named) {
        of_sizes.entry(coil.value.in_millimetres().round() as u64).or_default().push(*piece);
    }
    let coils = of_sizes.into_iter().flat_map(|(size, pieces)| cut(&pieces, &[Length::millimetres(size as f64)]));
    coils.flatten().map(|coil| coil.size).sum()
}

fn metres(size: Length) -> String {
    format!("{} m", size.in_millimetres().round() / 1000.0)
}

/// `2 x 120 m and 1 x 100 m`.
fn list(coils: &[Coil]) -> String {
    let mut counts: Vec<(Length, usize)> = Vec::new();
    for coil in coils {
        match counts.last_mut() {
            Some((size, count)) if *size == coil.size => *count += 1,
            _ => counts.push((coil.size, 1)),
        }
    }
    let each: Vec<String> = counts.iter().map(|(size, count)| format!("{count} x {}", metres(*size))).collect();
    each.join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coils_are_counted_by_size() {
        let coil = |metres: f64| Coil { size: Length::metres(metres), pieces: Vec::new(), left: Length::ZERO };
        assert_eq!(list(&[coil(120.0), coil(100.0), coil(100.0)]), "1 x 120 m and 2 x 100 m");
    }
}
