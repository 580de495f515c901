//! What a revision changed, for programs. The shape is that of `schema/compare.schema.json`.

use super::Versions;
use crate::CAUTION;
use crate::findings::with_escapes;
use check::Outcome;
use check::compare::{Became, Fate, Revision};
use serde_json::{Map, Value, json};

pub fn json(versions: &Versions) -> String {
    let comparison = versions.comparison;
    let version = |name: &str, outcome: &Outcome| {
        let project = &outcome.design.project;
        json!({
            "file": name,
            "revision": project.revision.as_ref().map(|it| &it.value),
            "stage": outcome.design.stage().word(),
            "issued": project.issued.map(|it| it.value.to_string()),
        })
    };
    let things = comparison.things.iter().map(|thing| {
        let (fate, had) = match &thing.fate {
            Fate::Added => ("added", None),
            Fate::Removed => ("removed", None),
            Fate::Renamed(had) => ("renamed", Some(had)),
            Fate::Stays => ("changed", None),
        };
        let given = thing.given.iter().map(|it| {
            json!({"key": it.key, "before": it.before, "after": it.after, "moved": it.moved.map(|moved| moved.in_metres())})
        });
        let figures: Map<String, Value> = (thing.figures.iter())
            .map(|it| {
                let value = |side: &Option<(f64, String)>| side.as_ref().map(|(value, _)| *value);
                (it.name.to_string(), json!({"before": value(&it.before), "after": value(&it.after), "unit": it.unit}))
            })
            .collect();
        json!({
            "at": thing.at,
            "change": fate,
            "had-name": had,
            "moved": thing.moved.map(|moved| moved.in_metres()),
            "given": given.collect::<Value>(),
            "figures": figures,
        })
    });
    let findings = comparison.findings.iter().map(|it| {
        let (change, was) = match it.became {
            Became::New => ("new", None),
            Became::Graver(was) => ("graver", Some(was.word())),
            Became::Lighter(was) => ("lighter", Some(was.word())),
            Became::Departed => ("departed", None),
            Became::NotChecked => ("not-checked", None),
            Became::Cleared => ("cleared", None),
        };
        json!({
            "change": change,
            "rule": it.finding.rule.name,
            "severity": it.finding.severity.word(),
            "severity-before": was,
            "at": it.at,
            "message": it.finding.message,
        })
    });
    let revision = match &comparison.revision {
        Revision::Raised | Revision::RaisedBefore { .. } => "raised",
        Revision::Changed { .. } => "changed",
        Revision::Lowered { .. } => "lowered",
        Revision::SameDesign => "same-design",
        Revision::NotIssued => "not-issued",
        Revision::NotRaised(_) => "not-raised",
    };
    let document = json!({
        "old": version(versions.old_name, versions.old),
        "new": version(versions.new_name, versions.new),
        "revision": revision,
        "things": things.collect::<Value>(),
        "findings": findings.collect::<Value>(),
        "unchanged-findings": comparison.unchanged,
        "caution": CAUTION,
    });
    with_escapes(format!("{document:#}\n"))
}
