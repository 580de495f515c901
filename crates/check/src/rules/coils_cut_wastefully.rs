//! The coils are chosen so that little is left over.
//!
//! Offcuts are too short for a loop and too long to forget: paid for, carried, and thrown away.
//!
//! ## How it is worked out
//! The loops that name a coil, each with what is lost in cutting, are cut from coils of those sizes, the longest loops first,
//! each from the coil with the least left that still holds it. What is left over all coils is held against the limit. The
//! same is done with every size that the pipe comes in, each coil in the end no larger than it need be; where that takes less
//! pipe, it is proposed.
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
use std::collections::BTreeMap;

pub static RULE: Rule = Rule {
    name: "coils-cut-wastefully",
    group: Group::Hydraulics,
    weights: [Silent, Hint, Hint, Hint],
    limits: &[LEFT],
    file: include_str!("coils_cut_wastefully.rs"),
    check,
    ..Rule::USUAL
};

const LEFT: Limit = Limit { name: "left-over", value: "12 %", source: "common practice, no source" };

/// A loop to be cut: what it wants, and the coil that it names.
struct Piece {
    millimetres: u64,
    coil: Placed<Length>,
}

fn check(inspection: &Inspection, found: &mut Findings) {
    let left = LEFT.get::<Share>();
    for pipe in inspection.laid_pipes() {
        let mut pieces = Vec::new();
        for at in &pipe.loops {
            let Some((_, entry)) = inspection.design.loops.at(*at) else { continue };
            let Some(coil) = entry.value.coil else { continue };
            let Some(length) = found.need(Subject::Loop(*at), &inspection.workings.loops[*at].length) else { continue };
            let wanted = super::loop_longer_than_coil::wanted(length.value);
            // What no coil holds is said elsewhere.
            if wanted <= coil.value {
                pieces.push(Piece { millimetres: millimetres(wanted), coil });
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
        pieces.sort_by_key(|piece| std::cmp::Reverse(piece.millimetres));
        let wanted: u64 = pieces.iter().map(|piece| piece.millimetres).sum();
        let taken = as_named(&pieces);
        let share = 1.0 - wanted as f64 / taken as f64;
        let sizes: Vec<u64> = pipe.given.coils.iter().map(|coil| millimetres(coil.value)).collect();
        let Some(best) = best(&pieces, &sizes) else { continue };
        let needed: u64 = best.iter().sum::<u64>();
        if share <= left.value.in_fraction() || needed >= taken {
            continue;
        }
        let metres = |millimetres: u64| Length::millimetres(millimetres as f64);
        let message = format!(
            "{} of pipe {} is cut from {} of coils; {} would do",
            metres(wanted),
            pipe.name,
            metres(taken),
            list(&best)
        );
        let changes =
            pieces.iter().zip(coil_of_each(&pieces, &sizes).unwrap_or_default()).filter_map(|(piece, coil)| {
                let text = format!("{} m", coil as f64 / 1000.0);
                (millimetres(piece.coil.value) != coil).then_some(Change { place: piece.coil.at, text })
            });
        found.add(
            Finding::new(pipe.subject, pipe.place, message)
                .value(Share::fraction(share))
                .limit(&left)
                .remedy(Remedy::of(format!("cut from {}", list(&best)), changes)),
        );
    }
}

fn millimetres(length: Length) -> u64 {
    length.in_millimetres().round().max(0.0) as u64
}

/// All the coils together if each piece is cut from the size that it names.
fn as_named(pieces: &[Piece]) -> u64 {
    let mut left: BTreeMap<u64, BTreeMap<u64, u32>> = BTreeMap::new();
    let mut taken = 0;
    for piece in pieces {
        let size = millimetres(piece.coil.value);
        if cut(left.entry(size).or_default(), piece.millimetres, size).is_none() {
            taken += size;
        }
    }
    taken
}

/// Takes a piece from the coil with the least left that holds it, or from a new one: what was left on it before, if it was begun.
fn cut(left: &mut BTreeMap<u64, u32>, piece: u64, size: u64) -> Option<u64> {
    let begun = left.range(piece..).next().map(|(rest, _)| *rest);
    if let Some(rest) = begun {
        match left.get_mut(&rest) {
            Some(count) if *count > 1 => *count -= 1,
            _ => {
                left.remove(&rest);
            }
        }
    }
    let rest = begun.unwrap_or(size).saturating_sub(piece);
    *left.entry(rest).or_default() += 1;
    begun
}

/// The sizes of the coils that do, the largest first; none where a piece fits in none.
fn best(pieces: &[Piece], sizes: &[u64]) -> Option<Vec<u64>> {
    let (coils, _) = packed(pieces, sizes)?;
    let mut coils: Vec<u64> = coils;
    coils.sort_unstable_by_key(|size| std::cmp::Reverse(*size));
    Some(coils)
}

/// The coil that each piece is cut from.
fn coil_of_each(pieces: &[Piece], sizes: &[u64]) -> Option<Vec<u64>> {
    let (coils, of_each) = packed(pieces, sizes)?;
    Some(of_each.into_iter().map(|coil| coils[coil]).collect())
}

/// Cuts all pieces from the largest size, then takes for each coil the least size that holds what is cut from it; with the
/// best of the sizes as the largest.
fn packed(pieces: &[Piece], sizes: &[u64]) -> Option<(Vec<u64>, Vec<usize>)> {
    let longest = pieces.first()?.millimetres;
    let usable = sizes.iter().copied().filter(|size| *size >= longest);
    usable.map(|largest| packed_from(pieces, sizes, largest)).min_by_key(|(coils, _)| coils.iter().sum::<u64>())
}

fn packed_from(pieces: &[Piece], sizes: &[u64], largest: u64) -> (Vec<u64>, Vec<usize>) {
    // The coils that are begun, by what is left on them.
    let mut begun: BTreeMap<(u64, usize), ()> = BTreeMap::new();
    let mut used: Vec<u64> = Vec::new();
    let mut of_each = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let (left, coil) = match begun.range((piece.millimetres, 0)..).next().map(|(key, ())| *key) {
            Some(key) => {
                begun.remove(&key);
                key
            }
            None => {
                used.push(0);
                (largest, used.len() - 1)
            }
        };
        used[coil] += piece.millimetres;
        begun.insert((left - piece.millimetres, coil), ());
        of_each.push(coil);
    }
    let least = |used: u64| sizes.iter().copied().filter(|size| *size >= used).min().unwrap_or(largest);
    (used.into_iter().map(least).collect(), of_each)
}

/// `2 x 120 m and 1 x 100 m`.
fn list(coils: &[u64]) -> String {
    let mut counts: Vec<(u64, usize)> = Vec::new();
    for coil in coils {
        match counts.last_mut() {
            Some((size, count)) if size == coil => *count += 1,
            _ => counts.push((*coil, 1)),
        }
    }
    let each: Vec<String> =
        counts.iter().map(|(size, count)| format!("{count} x {} m", *size as f64 / 1000.0)).collect();
    each.join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pieces(metres: &[u64]) -> Vec<Piece> {
        let coil = Placed { value: Length::metres(100.0), at: Default::default() };
        metres.iter().map(|metres| Piece { millimetres: metres * 1000, coil }).collect()
    }

    #[test]
    fn two_short_loops_share_a_coil() {
        assert_eq!(best(&pieces(&[60, 40, 30]), &[50_000, 100_000]), Some(vec![100_000, 50_000]));
        assert_eq!(as_named(&pieces(&[60, 40, 30])), 200_000);
        assert_eq!(best(&pieces(&[130]), &[50_000, 100_000]), None);
        assert_eq!(list(&[120_000, 100_000, 100_000]), "1 x 120 m and 2 x 100 m");
    }
}
