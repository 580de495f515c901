//! The sheet: its size, the scale, and where a point of the plan lies on it.

use engineering::plan::{Bounds, Point};
use quantity::Length;

/// A spot on the sheet, in millimetres from its upper left corner.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spot {
    pub x: f64,
    pub y: f64,
}

impl Spot {
    pub fn new(x: f64, y: f64) -> Spot {
        Spot { x, y }
    }

    /// The spot so far off in a direction.
    pub fn off(self, way: Spot, by: f64) -> Spot {
        Spot { x: self.x + way.x * by, y: self.y + way.y * by }
    }

    pub fn to(self, other: Spot) -> f64 {
        (other.x - self.x).hypot(other.y - self.y)
    }

    /// The direction to another spot, of length one; to the right if it is the same.
    pub fn way_to(self, other: Spot) -> Spot {
        match self.to(other) {
            0.0 => Spot { x: 1.0, y: 0.0 },
            far => Spot { x: (other.x - self.x) / far, y: (other.y - self.y) / far },
        }
    }

    /// Half way to another spot.
    pub fn middle(self, other: Spot) -> Spot {
        Spot { x: (self.x + other.x) / 2.0, y: (self.y + other.y) / 2.0 }
    }
}

/// An upright rectangle on the sheet, by its upper left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    pub x: f64,
    pub y: f64,
    pub wide: f64,
    pub high: f64,
}

impl Block {
    pub fn around(middle: Spot, wide: f64, high: f64) -> Block {
        Block { x: middle.x - wide / 2.0, y: middle.y - high / 2.0, wide, high }
    }

    pub fn middle(&self) -> Spot {
        Spot { x: self.x + self.wide / 2.0, y: self.y + self.high / 2.0 }
    }

    pub fn right(&self) -> f64 {
        self.x + self.wide
    }

    pub fn foot(&self) -> f64 {
        self.y + self.high
    }

    pub fn corners(&self) -> [Spot; 4] {
        let (left, top, right, foot) = (self.x, self.y, self.right(), self.foot());
        [Spot::new(left, top), Spot::new(right, top), Spot::new(right, foot), Spot::new(left, foot)]
    }

    /// The block without so much on each side.
    pub fn within(&self, by: f64) -> Block {
        Block { x: self.x + by, y: self.y + by, wide: self.wide - 2.0 * by, high: self.high - 2.0 * by }
    }
}

/// A sheet of paper with the plan on it.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its ISO 216 size.
    pub name: &'static str,
    pub wide: f64,
    pub high: f64,
    /// How many millimetres of the building are one on the sheet.
    pub scale: f64,
    /// Where the plan and its dimensions are.
    pub field: Block,
    /// The column of tables beside it.
    pub column: Block,
    /// The lower left corner of the plan: on the sheet, and in metres.
    corner: Spot,
    low: Point,
}

/// What has to go round the plan, in millimetres of the sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Margins {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub foot: f64,
}

/// ISO 216, landscape.
const SIZES: [(&str, f64, f64); 4] =
    [("A3", 420.0, 297.0), ("A2", 594.0, 420.0), ("A1", 841.0, 594.0), ("A0", 1189.0, 841.0)];
/// The frame is 20 mm off the filing edge and 10 mm off the others, as ISO 5457 has it (from memory).
const FILING_EDGE: f64 = 20.0;
const EDGE: f64 = 10.0;
const COLUMN: f64 = 130.0;
/// The strip of scale bar and north below the plan.
pub const STRIP: f64 = 13.0;

impl Sheet {
    /// The sheet on which a plan of these bounds is largest and can still be read: A3 at up to 1:50, else a larger sheet,
    /// and only then a smaller scale. `margins` tells what goes round the plan at a scale; `least_column` is the height
    /// that the tables ask for, as far as a sheet can give it.
    pub fn fitting(bounds: Bounds, margins: impl Fn(f64) -> Margins, least_column: f64) -> Sheet {
        let usual = [20.0, 25.0, 50.0].map(|scale| (0, scale));
        let large = [50.0, 100.0].into_iter().flat_map(|scale| (1..4).map(move |size| (size, scale)));
        let larger = [200.0, 500.0].map(|scale| (3, scale));
        // No building is larger; a slip of the pen may be.
        let steps = (3..10).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| (3, digit * 10f64.powi(power))));
        let mut last = None;
        for (size, scale) in usual.into_iter().chain(large).chain(larger).chain(steps) {
            let sheet = Sheet::new(SIZES[size], scale, bounds, margins(scale));
            let column_does = sheet.column.high >= least_column || size == 3;
            match sheet {
                sheet if sheet.holds(bounds, margins(scale)) && column_does => return sheet,
                sheet => last = Some(sheet),
            }
        }
        last.expect("there are sheets to choose from")
    }

    fn new((name, wide, high): (&'static str, f64, f64), scale: f64, bounds: Bounds, margins: Margins) -> Sheet {
        let frame = Block { x: FILING_EDGE, y: EDGE, wide: wide - FILING_EDGE - EDGE, high: high - 2.0 * EDGE };
        let field = Block { wide: frame.wide - COLUMN, ..frame };
        let column = Block { x: field.right(), wide: COLUMN, ..frame };
        let mut sheet = Sheet { name, wide, high, scale, field, column, corner: Spot::default(), low: bounds.low };
        let (plan_wide, plan_high) = sheet.size(bounds);
        let spare_x = field.wide - plan_wide - margins.left - margins.right;
        let spare_y = field.high - STRIP - plan_high - margins.top - margins.foot;
        sheet.corner = Spot {
            x: field.x + margins.left + spare_x.max(0.0) / 2.0,
            y: field.foot() - STRIP - margins.foot - spare_y.max(0.0) / 2.0,
        };
        sheet
    }

    fn holds(&self, bounds: Bounds, margins: Margins) -> bool {
        let (wide, high) = self.size(bounds);
        wide + margins.left + margins.right <= self.field.wide
            && high + margins.top + margins.foot <= self.field.high - STRIP
    }

    /// How large something of the plan is on the sheet.
    fn size(&self, bounds: Bounds) -> (f64, f64) {
        ((bounds.high.x - bounds.low.x) * 1000.0 / self.scale, (bounds.high.y - bounds.low.y) * 1000.0 / self.scale)
    }

    /// The whole of the sheet within the frame.
    pub fn frame(&self) -> Block {
        Block { wide: self.field.wide + self.column.wide, ..self.field }
    }

    /// Where a point of the plan is on the sheet; up the plan is up the sheet.
    pub fn spot(&self, point: Point) -> Spot {
        Spot {
            x: self.corner.x + (point.x - self.low.x) * 1000.0 / self.scale,
            y: self.corner.y - (point.y - self.low.y) * 1000.0 / self.scale,
        }
    }

    /// How long a length is on the sheet.
    pub fn scaled(&self, length: Length) -> f64 {
        length.in_millimetres() / self.scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(wide: f64, high: f64) -> Bounds {
        Bounds::around([Point::new(1.0, 2.0), Point::new(1.0 + wide, 2.0 + high)])
    }

    #[test]
    fn the_sheet_grows_with_the_building() {
        for (wide, high, name, scale) in [
            (4.0, 3.0, "A3", 20.0),
            (6.0, 6.0, "A3", 25.0),
            (12.0, 10.0, "A3", 50.0),
            (20.0, 12.0, "A2", 50.0),
            (30.0, 20.0, "A1", 50.0),
            (50.0, 30.0, "A0", 50.0),
            (60.0, 50.0, "A1", 100.0),
            (150.0, 100.0, "A0", 200.0),
            (2e8, 2e8, "A0", 5e8),
        ] {
            let sheet = Sheet::fitting(bounds(wide, high), |_| Margins::default(), 0.0);
            assert_eq!((sheet.name, sheet.scale), (name, scale), "{wide} m x {high} m");
            for corner in [Point::new(1.0, 2.0), Point::new(1.0 + wide, 2.0 + high)] {
                let Spot { x, y } = sheet.spot(corner);
                assert!(x >= sheet.field.x && x <= sheet.field.right(), "{x}");
                assert!(y >= sheet.field.y && y <= sheet.field.foot(), "{y}");
            }
        }
    }

    #[test]
    fn a_metre_is_a_metre() {
        let sheet = Sheet::fitting(bounds(12.0, 10.0), |_| Margins { left: 20.0, ..Margins::default() }, 0.0);
        assert!((sheet.spot(Point::new(2.0, 3.0)).to(sheet.spot(Point::new(5.0, 7.0))) - 100.0).abs() < 1e-9);
        assert_eq!(sheet.scaled(Length::metres(5.0)), 100.0);
    }
}
