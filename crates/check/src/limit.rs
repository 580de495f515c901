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
