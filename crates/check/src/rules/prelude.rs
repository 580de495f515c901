//! What a rule file needs.

pub use crate::finding::{Finding, Findings};
pub use crate::inspection::Inspection;
pub use crate::limit::{Limit, LimitValue};
pub use crate::remedy::Remedy;
pub use crate::rule::Weight::*;
pub use crate::rule::{Group, Rule};
pub use design::{Expected, FaultKind, Kind};
pub use quantity::*;
pub use workings::Subject;
