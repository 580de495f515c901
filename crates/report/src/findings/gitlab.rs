//! Findings as the code quality report of GitLab, which the host shows in a merge request.

use super::identity::{identities, identity_of};
use super::notes::notes_and_places;
use super::{Ending, as_json};
use crate::places::Texts;
use check::{Outcome, Severity};
use serde_json::value::{RawValue, to_raw_value};
use serde_json::{Value, json};
use std::collections::HashMap;

/// The issues of one design.
pub fn issues(outcome: &Outcome) -> Box<RawValue> {
    let texts = Texts::new(&outcome.sources);
    let identities = identities(outcome, outcome.findings.iter());
    let issues: Vec<_> = (outcome.findings.iter().zip(identities))
        .map(|(finding, identity)| {
            let range = finding.place.range();
            let text = texts.of(finding.place);
            let line = |offset| text.map_or(1, |text| text.position(offset).line);
            let severity = match finding.severity {
                Severity::Error => "critical",
                Severity::Warning => "major",
                Severity::Information => "minor",
                Severity::Hint => "info",
            };
            json!({
                "type": "issue",
                "description": finding.message,
                "content": {"body": notes_and_places(finding, outcome, &texts).join("\n\n")},
                "check_name": finding.rule.name,
                "categories": ["Bug Risk"],
                "fingerprint": identity,
                "severity": severity,
                "location": {
                    "path": text.map_or("", |text| text.path).replace('\\', "/"),
                    "lines": {"begin": line(range.start), "end": line(range.end)},
                },
            })
        })
        .collect();
    to_raw_value(&issues).expect("every key is a word, and memory takes every byte")
}

/// The report: one list of the issues of all designs, and of the accepted findings that stand no more.
pub fn report(designs: &[Box<RawValue>], ending: &Ending) -> Vec<u8> {
    let gone = to_raw_value(&gone(ending)).expect("every key is a word, and memory takes every byte");
    let mut all: Vec<&RawValue> = Vec::new();
    for part in designs.iter().chain([&gone]) {
        all.extend(serde_json::from_str::<Vec<&RawValue>>(part.get()).expect("each part is a list"));
    }
    as_json(&all)
}

/// Accepted findings that stand no more, each at the beginning of its design: they weigh as warnings do.
fn gone(ending: &Ending) -> Vec<Value> {
    let mut seen: HashMap<[&str; 3], usize> = HashMap::new();
    let mut issues = Vec::new();
    for stale in ending.stale {
        let it = stale.entry;
        let nth = seen.entry([&it.rule, &it.design, &it.at]).or_default();
        *nth += 1;
        issues.push(json!({
            "type": "issue",
            "description": stale.sentence(),
            "content": {"body": it.message},
            "check_name": "accepted-and-gone",
            "categories": ["Bug Risk"],
            "fingerprint": identity_of(&["accepted-and-gone", &it.rule, &it.design, &it.at, &nth.to_string()]),
            "severity": "major",
            "location": {"path": it.design, "lines": {"begin": 1, "end": 1}},
        }));
    }
    issues
}

#[cfg(test)]
mod tests {
    use crate::checked;
    use crate::findings::{Form, tests::written};
    use serde_json::Value;
    use std::collections::HashSet;

    /// The host wants these fields, and fingerprints of which no two are the same (the host's manual, "code quality report
    /// format").
    #[test]
    fn every_issue_has_what_the_host_wants() {
        let text = written(&checked("format: 1\nrooms: {hall: {area: 12, colour: 1}, den: {area: 9}}\n"), Form::Gitlab);
        let issues: Vec<Value> = serde_json::from_str(&text).expect("a report is a list");
        assert!(issues.len() > 2, "{text}");
        let mut seen = HashSet::new();
        for issue in &issues {
            for field in ["description", "check_name", "fingerprint"] {
                assert!(issue[field].as_str().is_some_and(|it| !it.is_empty()), "{field}: {issue}");
            }
            assert!(
                ["info", "minor", "major", "critical", "blocker"].contains(&issue["severity"].as_str().unwrap_or(""))
            );
            assert_eq!(issue["location"]["path"], "house.ufh.yaml");
            assert!(issue["location"]["lines"]["begin"].as_u64() >= Some(1), "{issue}");
            assert!(seen.insert(issue["fingerprint"].to_string()), "{issue}");
        }
    }
}
