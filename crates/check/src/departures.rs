//! Departures: findings accepted on purpose.

use crate::{Finding, Inspection};
use design::Departure;

/// Takes out the findings that a departure accepts, and gives them back with its position.
///
/// A departure holds that names the rule, matches the place, has not run out and gives a reason and
/// the role that agreed; the rules about departures say what is wrong with one that does not.
pub(crate) fn apply(inspection: &Inspection, findings: &mut Vec<Finding>) -> Vec<(Finding, usize)> {
    let departures = &inspection.design.departures;
    if departures.is_empty() {
        return Vec::new();
    }
    let mut departed = Vec::new();
    findings.retain(|finding| {
        let by = departures.iter().position(|departure| {
            finding.rule.takes_departures
                && holds(&departure.value, inspection)
                && names(&departure.value, finding, inspection)
        });
        if let Some(by) = by {
            departed.push((finding.clone(), by));
        }
        by.is_none()
    });
    departed
}

/// Whether a departure is complete and has not run out.
pub(crate) fn holds(departure: &Departure, inspection: &Inspection) -> bool {
    departure.reason.is_some()
        && departure.agreed_by.is_some()
        && departure.until.is_some_and(|until| until.value >= inspection.today)
}

/// Whether a departure is from this finding's rule at this finding's place.
pub(crate) fn names(departure: &Departure, finding: &Finding, inspection: &Inspection) -> bool {
    if departure.rule.as_ref().is_none_or(|rule| rule.value != finding.rule.name) {
        return false;
    }
    let Some(at) = &departure.at else { return true };
    let path = finding.about.path(inspection.design);
    // `L4` is enough where `loops/L4` is meant.
    path == at.value || path.rsplit('/').next() == Some(&at.value)
}
