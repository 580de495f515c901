//! A tree of boxes: which of many shapes may touch this one.

use super::Bounds;
use rstar::{AABB, RTree, RTreeObject};
use std::ops::ControlFlow;

/// Boxes by number, the first being 0. Numbers end at `u32::MAX`, far beyond any file.
pub(super) enum BoxTree {
    /// So few that looking at each is quicker than growing a tree.
    Few(Vec<Bounds>),
    Many(RTree<Entry>),
}

pub(super) struct Entry {
    bounds: AABB<[f64; 2]>,
    number: u32,
}

impl RTreeObject for Entry {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.bounds
    }
}

fn envelope(bounds: &Bounds) -> AABB<[f64; 2]> {
    AABB::from_corners([bounds.low.x, bounds.low.y], [bounds.high.x, bounds.high.y])
}

impl BoxTree {
    pub fn new(all: impl Iterator<Item = Bounds>) -> BoxTree {
        const FEW: usize = 48;
        let boxes: Vec<Bounds> = all.collect();
        if boxes.len() <= FEW {
            return BoxTree::Few(boxes);
        }
        let entry = |(number, bounds)| Entry { bounds: envelope(bounds), number };
        BoxTree::Many(RTree::bulk_load((0..).zip(&boxes).map(entry).collect()))
    }

    /// Calls `found` with the number of each box that touches `bounds`, in no stated order, until
    /// it breaks off.
    pub fn touching(&self, bounds: &Bounds, mut found: impl FnMut(u32) -> ControlFlow<()>) -> ControlFlow<()> {
        match self {
            BoxTree::Few(boxes) => {
                (0..).zip(boxes).filter(|(_, it)| it.touches(bounds)).try_for_each(|(number, _)| found(number))
            }
            BoxTree::Many(tree) => {
                tree.locate_in_envelope_intersecting_int(envelope(bounds), |entry| found(entry.number))
            }
        }
    }

    /// Calls `found` once with each two numbers whose boxes touch, the smaller number first, in no
    /// stated order, until it breaks off. A box is not paired with itself.
    pub fn pairs(&self, mut found: impl FnMut(u32, u32) -> ControlFlow<()>) -> ControlFlow<()> {
        match self {
            BoxTree::Few(boxes) => {
                for (number, one) in (0..).zip(boxes) {
                    let mut before = (0..number).zip(boxes).filter(|(_, it)| it.touches(one));
                    before.try_for_each(|(other, _)| found(other, number))?;
                }
            }
            BoxTree::Many(tree) => {
                for (one, other) in tree.intersection_candidates_with_other_tree(tree) {
                    if one.number < other.number {
                        found(one.number, other.number)?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::Numbers;
    use super::*;

    #[test]
    fn the_tree_finds_what_looking_at_all_finds() {
        let mut numbers = Numbers(7);
        for count in [0, 1, 2, 7, 40, 300] {
            let boxes: Vec<Bounds> = (0..count)
                .map(|_| {
                    let low = numbers.point(0.0, 50.0);
                    Bounds::around([
                        low,
                        super::super::Point::new(low.x + numbers.between(0.0, 5.0), low.y + numbers.between(0.0, 5.0)),
                    ])
                })
                .collect();
            let tree = BoxTree::new(boxes.iter().copied());
            let mut found = Vec::new();
            let flow = tree.pairs(|one, other| {
                found.push((one as usize, other as usize));
                ControlFlow::Continue(())
            });
            assert!(flow.is_continue());
            found.sort_unstable();
            let mut looked = Vec::new();
            for (i, one) in boxes.iter().enumerate() {
                for (j, other) in boxes.iter().enumerate().skip(i + 1) {
                    if one.touches(other) {
                        looked.push((i, j));
                    }
                }
            }
            assert_eq!(found, looked);
            for (i, one) in boxes.iter().enumerate() {
                let mut found = Vec::new();
                let _ = tree.touching(one, |number| {
                    found.push(number as usize);
                    ControlFlow::Continue(())
                });
                found.sort_unstable();
                let looked: Vec<usize> = (0..boxes.len()).filter(|&j| boxes[j].touches(&boxes[i])).collect();
                assert_eq!(found, looked);
            }
        }
    }
}
