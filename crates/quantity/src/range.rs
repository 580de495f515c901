//! A span of values with one unit, as on a flow gauge: `0.5 to 5 l/min`.

use crate::text::{Fault, Quantity, believable, split, unit};
use std::fmt;

/// From the least to the greatest value, both included; `least <= greatest`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range<Q> {
    pub least: Q,
    pub greatest: Q,
}

impl<Q: Quantity> Range<Q> {
    /// Reads `0.5 to 5 l/min`, or `0.5 l/min to 5 l/min`; the lesser end stands first, or one of them is a slip.
    pub fn parse(text: &str) -> Result<Self, Fault> {
        let Some((first, second)) = text.split_once(" to ") else {
            return Err(Q::parse(text).err().unwrap_or(Fault::NoNumber));
        };
        let greatest = Q::parse(second).map_err(|fault| fault.moved(text.len() - second.len()))?;
        let (number, first_unit) = split(first)?;
        let (_, second_unit) = split(second)?;
        let least = if first_unit.is_empty() {
            let unit = unit::<Q>(second, second_unit.clone())?;
            believable(Q::from_si(number * unit.factor + unit.offset))?
        } else {
            Q::parse(first).map_err(|fault| fault.moved(0))?
        };
        if least <= greatest {
            return Ok(Range { least, greatest });
        }
        // Between two units either may be the slip; with one, the ends only stand the wrong way round.
        let unit = &second[second_unit.clone()];
        let better = (first_unit.is_empty() || first[first_unit.clone()] == *unit).then(|| {
            let (lesser, greater) = (second[..second_unit.start].trim(), first[..first_unit.start].trim());
            format!("{lesser} to {greater} {unit}").trim_end().to_string()
        });
        Err(Fault::Reversed { better })
    }

    /// Whether the value lies between the ends or on one.
    pub fn contains(&self, value: Q) -> bool {
        self.least <= value && value <= self.greatest
    }
}

impl Fault {
    fn moved(self, by: usize) -> Fault {
        match self {
            // Half a range converted would be worse than none.
            Fault::WrongUnit { unit, at, nearest, .. } => {
                Fault::WrongUnit { unit, at: at.start + by..at.end + by, nearest, converted: None }
            }
            other => other,
        }
    }
}

impl<Q: Quantity> fmt::Display for Range<Q> {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{} to {}", self.least, self.greatest)
    }
}

#[cfg(test)]
mod tests {
    use crate::*;

    #[test]
    fn one_unit_serves_both_ends() {
        let gauge: Range<VolumeFlow> = Range::parse("0.5 to 5 l/min").unwrap();
        assert!(gauge.contains(VolumeFlow::litres_per_minute(0.5)));
        assert!(!gauge.contains(VolumeFlow::litres_per_minute(0.49)));
        assert_eq!(Range::parse("0.5 l/min to 5 l/min"), Ok(gauge));
        assert_eq!(Range::<VolumeFlow>::parse("0.5 to 5"), Err(Fault::NoUnit));
    }

    #[test]
    fn a_range_the_wrong_way_round_is_told() {
        let better = |text: &str| match Range::<VolumeFlow>::parse(text) {
            Err(Fault::Reversed { better }) => better,
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!(better("5 to 0.5 l/min").as_deref(), Some("0.5 to 5 l/min"));
        assert_eq!(better("5 l/min to 0.5 l/min").as_deref(), Some("0.5 to 5 l/min"));
        assert_eq!(better("5 l/min to 30 l/h"), None);
        assert!(Range::<VolumeFlow>::parse("5 to 5 l/min").is_ok());
    }
}
