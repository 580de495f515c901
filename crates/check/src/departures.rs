//! Departures: findings accepted on purpose.

use crate::{Finding, Inspection};
use design::{Departure, Placed};
use std::collections::HashMap;

/// Takes out the findings that a departure accepts, and gives them back with its position.
///
/// A departure holds that names the rule, matches the place, has not run out and gives a reason and
/// the role that agreed; the rules about departures say what is wrong with one that does not.
pub(crate) fn apply(inspection: &Inspection, findings: &mut Vec<Finding>) -> Vec<(Finding, usize)> {
    let departures = &inspection.design.departures;
    let mut index: HashMap<(&str, Option<&str>), usize> = HashMap::new();
    for (at, departure) in departures.iter().enumerate().filter(|(_, departure)| holds(departure, inspection)) {
        if let Some(rule) = &departure.rule {
            index.entry((&rule.value, named_at(departure))).or_insert(at);
        }
    }
    if index.is_empty() {
        return Vec::new();
    }
    let mut departed = Vec::new();
    findings.retain(|finding| {
        if !finding.takes_departures() {
            return true;
        }
        let path = finding.at(inspection.design);
        let by = keys(finding, &path).into_iter().filter_map(|key| index.get(&key)).min();
        if let Some(by) = by {
            // What is accepted is not to be changed.
            departed.push((finding.clone().without_remedies(), *by));
        }
        by.is_none()
    });
    departed
}

/// For each departure, whether there is a finding of its rule at its place.
pub(crate) fn matched(inspection: &Inspection, findings: &[Finding]) -> Vec<bool> {
    let departures = &inspection.design.departures;
    let mut index: HashMap<(&str, Option<&str>), Vec<usize>> = HashMap::new();
    for (at, departure) in departures.iter().enumerate() {
        if let Some(rule) = &departure.rule {
            index.entry((&rule.value, named_at(departure))).or_default().push(at);
        }
    }
    let mut matched = vec![false; departures.len()];
    for finding in findings {
        let path = finding.at(inspection.design);
        for all in keys(finding, &path).into_iter().filter_map(|key| index.get(&key)) {
            if all.first().is_some_and(|first| !matched[*first]) {
                all.iter().for_each(|at| matched[*at] = true);
            }
        }
    }
    matched
}

/// Whether a departure is complete and has not run out.
fn holds(departure: &Departure, inspection: &Inspection) -> bool {
    lacks(departure).is_empty() && departure.until.is_some_and(|until| until.value >= inspection.today)
}

/// The keys that a departure must have and does not.
pub(crate) fn lacks(departure: &Departure) -> Vec<&'static str> {
    let said = |text: &Option<Placed<String>>| text.as_ref().is_some_and(|text| !text.value.trim().is_empty());
    let keys = [
        ("rule", said(&departure.rule)),
        ("reason", said(&departure.reason)),
        ("agreed-by", said(&departure.agreed_by)),
        ("until", departure.until.is_some()),
    ];
    keys.into_iter().filter(|(_, given)| !given).map(|(key, _)| key).collect()
}

fn named_at(departure: &Departure) -> Option<&str> {
    departure.at.as_ref().map(|at| at.value.as_str())
}

/// What a departure may name to mean this finding: its rule alone, or at its path, or at its name.
/// `L4` is enough where `loops/L4` is meant.
fn keys<'f>(finding: &Finding, path: &'f str) -> [(&'static str, Option<&'f str>); 3] {
    let rule = finding.rule.name;
    [(rule, None), (rule, Some(path)), (rule, path.rsplit('/').next())]
}
