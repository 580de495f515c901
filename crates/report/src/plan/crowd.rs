//! How crowded the sheet is, so that words find the free places.

use super::paper::{Block, Spot};

/// What stands where on the sheet, in cells of a millimetre.
#[derive(Debug)]
pub struct Crowd {
    wide: usize,
    high: usize,
    cells: Vec<u16>,
}

/// What may be written over at a pinch: a pipe, a hatch.
pub const LIGHT: u16 = 2;
/// What should stay free: a wall, a corner of a pipe.
pub const HEAVY: u16 = 12;
/// What must not be written over: other words.
pub const FULL: u16 = 1000;

impl Crowd {
    pub fn new(wide: f64, high: f64) -> Crowd {
        let (wide, high) = (wide.ceil() as usize, high.ceil() as usize);
        Crowd { wide, high, cells: vec![0; wide * high] }
    }

    /// Marks a block.
    pub fn fill(&mut self, block: Block, weight: u16) {
        let (columns, rows) = self.cells_of(block);
        for row in rows {
            for cell in &mut self.cells[row * self.wide..][columns.clone()] {
                *cell = cell.saturating_add(weight);
            }
        }
    }

    /// Marks all that lies outside a block.
    pub fn outside(&mut self, block: Block) {
        let (wide, high) = (self.wide as f64, self.high as f64);
        self.fill(Block { x: 0.0, y: 0.0, wide: block.x, high }, FULL);
        self.fill(Block { x: block.right(), y: 0.0, wide: wide - block.right(), high }, FULL);
        self.fill(Block { x: 0.0, y: 0.0, wide, high: block.y }, FULL);
        self.fill(Block { x: 0.0, y: block.foot(), wide, high: high - block.foot() }, FULL);
    }

    /// Marks a line.
    pub fn line(&mut self, from: Spot, to: Spot, weight: u16) {
        let steps = (from.to(to) / 0.8).clamp(1.0, 4000.0).ceil();
        let mut last = usize::MAX;
        for step in 0..=steps as usize {
            let share = step as f64 / steps;
            let (x, y) = (from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share);
            if x >= 0.0 && y >= 0.0 && (x as usize) < self.wide && (y as usize) < self.high {
                let cell = y as usize * self.wide + x as usize;
                if cell != last {
                    self.cells[cell] = self.cells[cell].saturating_add(weight);
                }
                last = cell;
            }
        }
    }

    /// How much stands in a block; what lies off the sheet is full.
    pub fn weight(&self, block: Block) -> u32 {
        if block.x < 0.0 || block.y < 0.0 || block.right() > self.wide as f64 || block.foot() > self.high as f64 {
            return u32::from(FULL) * 1000;
        }
        let (columns, rows) = self.cells_of(block);
        rows.map(|row| self.cells[row * self.wide..][columns.clone()].iter().map(|cell| u32::from(*cell)).sum::<u32>())
            .sum()
    }

    fn cells_of(&self, block: Block) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
        let span = |from: f64, to: f64, most: usize| {
            let from = (from.max(0.0).floor() as usize).min(most);
            from..(to.max(0.0).ceil() as usize).min(most).max(from)
        };
        (span(block.x, block.right(), self.wide), span(block.y, block.foot(), self.high))
    }

    /// The least crowded of some blocks that stand for the same words, the first of equals; `far` is what a place costs
    /// for being far off. It is marked as taken.
    pub fn take(&mut self, candidates: impl IntoIterator<Item = (Block, u32)>) -> Option<Block> {
        let weighed = candidates.into_iter().map(|(block, far)| (block, self.weight(block) + far));
        let (best, _) = weighed.min_by_key(|(_, weight)| *weight)?;
        self.fill(best, FULL);
        Some(best)
    }

    /// A place near a spot for words of this size, nearest first; not on the spot itself.
    pub fn near(&mut self, spot: Spot, wide: f64, high: f64) -> Block {
        const DIRECTIONS: [(f64, f64); 8] =
            [(1.0, -0.7), (-1.0, -0.7), (1.0, 0.7), (-1.0, 0.7), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)];
        let rings = [1.2, 2.2, 3.5, 5.0, 7.0, 10.0, 14.0, 19.0];
        let candidates = rings.into_iter().enumerate().flat_map(|(ring, off)| {
            DIRECTIONS.into_iter().map(move |(x, y)| {
                let middle = Spot::new(spot.x + x * (wide / 2.0 + off), spot.y + y * (high / 2.0 + off));
                (Block::around(middle, wide, high), ring as u32 * 4)
            })
        });
        self.take(candidates).expect("there are candidates")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_go_where_nothing_stands() {
        let mut crowd = Crowd::new(100.0, 100.0);
        let spot = Spot::new(50.0, 50.0);
        let blocks: Vec<Block> = (0..12).map(|_| crowd.near(spot, 8.0, 3.0)).collect();
        for (number, one) in blocks.iter().enumerate() {
            for other in &blocks[..number] {
                let apart =
                    one.x >= other.right() || other.x >= one.right() || one.y >= other.foot() || other.y >= one.foot();
                assert!(apart, "{one:?} covers {other:?}");
            }
        }
    }

    #[test]
    fn off_the_sheet_is_no_place() {
        let mut crowd = Crowd::new(50.0, 50.0);
        let block = crowd.near(Spot::new(1.0, 1.0), 10.0, 4.0);
        assert!(block.x >= 0.0 && block.y >= 0.0, "{block:?}");
        crowd.line(Spot::new(-1e9, 5.0), Spot::new(1e9, 5.0), LIGHT);
        crowd.fill(Block { x: f64::NAN, y: 0.0, wide: 1.0, high: 1.0 }, LIGHT);
    }
}
