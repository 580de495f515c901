//! Limits: what counts, and whose it is.

use crate::{House, Rule};
use design::Place;
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
    /// Where a house standard set it, if one did.
    pub house: Option<MovedLimit>,
}

/// That a limit is a house standard's, and what it would be without that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovedLimit {
    /// Where the house standard sets it.
    pub set_at: Place,
    /// What it is by the rule, as that writes it.
    pub by_rule: &'static str,
}

impl<Q> LimitValue<Q> {
    /// A limit that no rule has: what the design itself sets, or what was worked out.
    pub fn new(value: Q, source: &'static str) -> LimitValue<Q> {
        LimitValue { value, source, house: None }
    }

    /// What follows from this limit for one thing.
    pub fn with<R>(&self, value: R) -> LimitValue<R> {
        LimitValue { value, source: self.source, house: self.house }
    }
}

impl Limit {
    /// This limit of its rule as a measured value: the house standard's if that has one of its own. The kind must be the one
    /// it is written in: a test reads them all.
    pub fn get<Q: Quantity>(&self, rule: &Rule, house: impl AsRef<House>) -> LimitValue<Q> {
        debug_assert!(rule.limits.iter().any(|it| it.name == self.name), "{} has no limit {}", rule.name, self.name);
        let by_rule = Q::parse(self.value).expect("the test `every_limit_can_be_read` reads them all");
        let moved = house.as_ref().limit(rule, self.name);
        match moved.and_then(|own| Some((Q::parse(&own.text).ok()?, own.place))) {
            Some((value, set_at)) => {
                let house = Some(MovedLimit { set_at, by_rule: self.value });
                LimitValue { value, source: self.source, house }
            }
            None => LimitValue::new(by_rule, self.source),
        }
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

    /// Coordinates of the plan are good to a nanometre: what is drawn just at the limit keeps it.
    fn hair(&self) -> f64 {
        1e-6 * self.value.si().abs()
    }
}
