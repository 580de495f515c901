//! The refusal of a method to answer for a value that it does not hold for.

use quantity::Quantity;
use std::fmt;
use std::ops::RangeInclusive;

/// A value for which a method does not hold, and the range for which it does. The numbers count in
/// `unit`; an end that is infinite is no limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// What is out of range, in trade words: `pipe spacing`.
    pub what: &'static str,
    pub given: f64,
    pub least: f64,
    pub greatest: f64,
    /// Empty for a plain number.
    pub unit: &'static str,
    /// The method that does not hold: `EN 1264-2 type A`.
    pub method: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let OutOfRange { what, given, least, greatest, unit, method } = *self;
        let with_unit = |number| WithUnit { number, unit };
        write!(f, "the {what} is {}; {method} holds ", with_unit(given))?;
        match (least.is_finite(), greatest.is_finite()) {
            (true, true) => write!(f, "from {} to {}", with_unit(least), with_unit(greatest)),
            (true, false) => write!(f, "from {}", with_unit(least)),
            (false, true) => write!(f, "up to {}", with_unit(greatest)),
            (false, false) => write!(f, "for a finite number"),
        }
    }
}

impl std::error::Error for OutOfRange {}

struct WithUnit {
    number: f64,
    unit: &'static str,
}

impl fmt::Display for WithUnit {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        // Four significant figures tell the given value from the limit without a tail of digits.
        let places = match self.number.abs() {
            size if size >= 1000.0 || size == 0.0 => 0,
            size => (3 - size.log10().floor() as i32).clamp(0, 9),
        };
        let scale = 10f64.powi(places);
        write!(f, "{}", (self.number * scale).round() / scale)?;
        match self.unit {
            "" => Ok(()),
            unit => write!(f, " {unit}"),
        }
    }
}

/// The name of a method, and its guard: each input is held against the range that is written where it
/// is used.
#[derive(Clone, Copy)]
pub(crate) struct Method(pub &'static str);

impl Method {
    /// The value in SI, if it lies in the range; not-a-number never does. The range counts in the
    /// usual unit of the kind, the first of [`Quantity::UNITS`]: millimetres, kilopascals, litres.
    pub fn takes<Q: Quantity>(
        self,
        what: &'static str,
        value: Q,
        range: RangeInclusive<f64>,
    ) -> Result<f64, OutOfRange> {
        let Some(unit) = Q::UNITS.first() else {
            return self.takes_number(what, value.si(), range);
        };
        let given = (value.si() - unit.offset) / unit.factor;
        match self.takes_number(what, given, range) {
            Ok(_) => Ok(value.si()),
            Err(refusal) => Err(OutOfRange { unit: unit.spelling, ..refusal }),
        }
    }

    /// The same for a plain number.
    pub fn takes_number(self, what: &'static str, given: f64, range: RangeInclusive<f64>) -> Result<f64, OutOfRange> {
        let (least, greatest) = range.into_inner();
        // Counting in another unit may move an end by a rounding.
        let slack = given.abs() * 1e-12;
        if given.is_finite() && least - slack <= given && given <= greatest + slack {
            return Ok(given);
        }
        Err(OutOfRange { what, given, least, greatest, unit: "", method: self.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Length, Temperature};

    #[test]
    fn a_refusal_names_value_range_and_method() {
        let spacing = Length::millimetres(600.0);
        let refusal = Method("type B").takes("pipe spacing", spacing, 50.0..=450.0).unwrap_err();
        assert_eq!(refusal.to_string(), "the pipe spacing is 600 mm; type B holds from 50 mm to 450 mm");
        let water = Temperature::celsius(4.0);
        let refusal = Method("the fit").takes("water", water, 5.0..=f64::INFINITY).unwrap_err();
        assert_eq!(refusal.to_string(), "the water is 4 °C; the fit holds from 5 °C");
        assert!(Method("it").takes_number("ratio", f64::NAN, 0.0..=1.0).is_err());
        let edge = Length::millimetres(0.1) * 3.0;
        assert_eq!(Method("it").takes("wall", edge, 0.3..=0.3), Ok(edge.in_metres()));
    }
}
