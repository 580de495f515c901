//! Limits: what counts, and whose it is.

use quantity::Quantity;

/// A limit of a rule, written as a designer would write it.
#[derive(Debug)]
pub struct Limit {
    /// Plain words, hyphenated, unique in its rule.
    pub name: &'static str,
    /// With its unit.
    pub value: &'static str,
    /// The standard or text that it comes from, or `common practice, no source`.
    pub source: &'static str,
}

/// The limit that counts.
#[derive(Debug, Clone, Copy)]
pub struct LimitValue<Q> {
    pub value: Q,
    pub source: &'static str,
}

impl Limit {
    /// The limit as a measured value. The kind must be the one it is written in: a test reads them all.
    pub fn get<Q: Quantity>(&self) -> LimitValue<Q> {
        let value = Q::parse(self.value).expect("the test `every_limit_can_be_read` reads them all");
        LimitValue { value, source: self.source }
    }
}

impl<Q: Quantity> LimitValue<Q> {
    /// Whether a value is more than the limit allows. The last digits of a sum are no more: 41.3 °C less 36.3 °C are 5 K.
    pub fn is_exceeded_by(&self, value: Q) -> bool {
        value.si() > self.value.si() + self.hair()
    }

    /// Whether a value is less than the limit asks for.
    pub fn is_missed_by(&self, value: Q) -> bool {
        value.si() < self.value.si() - self.hair()
    }

    fn hair(&self) -> f64 {
        1e-9 * self.value.si().abs()
    }
}
