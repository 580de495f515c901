//! Which coils pieces of pipe are cut from, and what is left of each.

use quantity::Length;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// A coil with the pieces that are cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Coil {
    pub size: Length,
    /// By their positions, the longest first.
    pub pieces: Vec<usize>,
    /// What remains on it.
    pub left: Length,
}

/// Cuts every piece from coils of the given sizes, the largest coil first; none where a piece fits in no coil.
///
/// Units: lengths in, whole millimetres inside. Source: packing by best fit, the longest piece first, from the largest size
/// or any smaller one that holds the longest piece, whichever takes least; then each coil as small as its pieces allow. It is
/// a good list, not always the best. Holds for: all.
pub fn cut(pieces: &[Length], sizes: &[Length]) -> Option<Vec<Coil>> {
    let millimetres = |length: &Length| length.in_millimetres().round().max(0.0) as u64;
    let pieces: Vec<u64> = pieces.iter().map(millimetres).collect();
    let sizes: Vec<u64> = sizes.iter().map(millimetres).collect();
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by_key(|at| Reverse(pieces[*at]));
    let Some(longest) = order.first().map(|at| pieces[*at]) else { return Some(Vec::new()) };
    let usable = sizes.iter().filter(|size| **size >= longest);
    let total = |coils: &Vec<(u64, Vec<usize>)>| coils.iter().map(|(size, _)| size).sum::<u64>();
    let mut coils = usable.map(|largest| cut_from(&pieces, &order, &sizes, *largest)).min_by_key(total)?;
    coils.sort_by_key(|(size, _)| Reverse(*size));
    let coil = |(size, of): (u64, Vec<usize>)| {
        let used: u64 = of.iter().map(|at| pieces[*at]).sum();
        let length = |millimetres: u64| Length::millimetres(millimetres as f64);
        Coil { size: length(size), left: length(size - used), pieces: of }
    };
    Some(coils.into_iter().map(coil).collect())
}

/// Each coil's size and pieces, if all are begun as coils of one size.
fn cut_from(pieces: &[u64], order: &[usize], sizes: &[u64], largest: u64) -> Vec<(u64, Vec<usize>)> {
    // The coils that are begun, by what is left on them.
    let mut begun: BTreeSet<(u64, usize)> = BTreeSet::new();
    let mut coils: Vec<Vec<usize>> = Vec::new();
    for &at in order {
        let (left, coil) = match begun.range((pieces[at], 0)..).next().copied() {
            Some(key) => {
                begun.remove(&key);
                key
            }
            None => {
                coils.push(Vec::new());
                (largest, coils.len() - 1)
            }
        };
        coils[coil].push(at);
        begun.insert((left - pieces[at], coil));
    }
    let least = |of: &[usize]| {
        let used: u64 = of.iter().map(|at| pieces[*at]).sum();
        sizes.iter().copied().filter(|size| *size >= used).min().unwrap_or(largest)
    };
    coils.into_iter().map(|of| (least(&of), of)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metres(lengths: &[u32]) -> Vec<Length> {
        lengths.iter().map(|it| Length::metres(f64::from(*it))).collect()
    }

    fn cut(pieces: &[u32], sizes: &[u32]) -> Option<Vec<(f64, Vec<usize>, f64)>> {
        let coils = super::cut(&metres(pieces), &metres(sizes))?;
        Some(coils.into_iter().map(|it| (it.size.in_metres(), it.pieces, it.left.in_metres())).collect())
    }

    #[test]
    fn short_pieces_share_a_coil() {
        let coils = cut(&[60, 40, 30], &[50, 100]);
        assert_eq!(coils, Some(vec![(100.0, vec![0, 1], 0.0), (50.0, vec![2], 20.0)]));
    }

    #[test]
    fn a_piece_that_no_coil_holds_cannot_be_cut() {
        assert_eq!(cut(&[130], &[50, 100]), None);
        assert_eq!(cut(&[130], &[]), None);
        assert_eq!(cut(&[], &[]), Some(vec![]));
    }

    /// Whatever is cut, each piece is cut once and no coil holds more than it has.
    #[test]
    fn every_piece_is_cut_once() {
        let mut seed = 1u64;
        let mut next = |below: u64| {
            seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (seed >> 33) % below
        };
        for _ in 0..200 {
            let pieces: Vec<Length> = (0..next(30)).map(|_| Length::metres(next(1000) as f64 / 10.0)).collect();
            let coils = super::cut(&pieces, &metres(&[25, 50, 100, 200])).unwrap();
            let mut cut: Vec<usize> = coils.iter().flat_map(|it| it.pieces.clone()).collect();
            cut.sort_unstable();
            assert_eq!(cut, (0..pieces.len()).collect::<Vec<_>>());
            for coil in coils {
                let used: Length = coil.pieces.iter().map(|at| pieces[*at]).sum();
                assert!((coil.size - used - coil.left).in_millimetres().abs() < 0.5 * coil.pieces.len() as f64 + 1e-6);
            }
        }
    }
}
