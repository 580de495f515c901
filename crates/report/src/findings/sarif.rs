//! Findings as a log in SARIF 2.1.0 (OASIS Standard, 2020).

use super::Ending;
use super::as_json;
use super::identity::identities;
use super::notes::{by_rule, one_of_three};
use crate::places::{Text, Texts};
use crate::words::{count, ten_digits};
use crate::{CAUTION, guidance};
use check::{Amount, Finding, Outcome, Place, Rule};
use design::Stage;
use serde_json::{Map, Value, json};
use std::collections::HashSet;

/// What one design gives to the log.
pub struct Part {
    artifacts: Vec<Value>,
    rules: Vec<Value>,
    results: Vec<Value>,
    notifications: Vec<Value>,
}

pub fn part(outcome: &Outcome) -> Part {
    let texts = Texts::new(&outcome.sources);
    let mut part = Part { artifacts: Vec::new(), rules: Vec::new(), results: Vec::new(), notifications: Vec::new() };
    for (at, source) in outcome.sources.iter().enumerate() {
        let mut artifact = json!({"location": location(&source.path), "sourceLanguage": "yaml", "encoding": "utf-8"});
        if at == 0 {
            artifact["roles"] = json!(["analysisTarget"]);
        }
        part.artifacts.push(artifact);
    }
    let departed = outcome.departed.iter().map(|(finding, by)| (finding, Some(departure(outcome, &texts, *by))));
    let accepted = outcome.accepted.iter().map(|finding| {
        let reason = "it stood when the list of accepted findings was written";
        (finding, Some(json!({"kind": "external", "status": "accepted", "justification": reason})))
    });
    let standing = outcome.findings.iter().map(|finding| (finding, None));
    let all: Vec<(&Finding, Option<Value>)> = standing.chain(departed).chain(accepted).collect();
    let identities = identities(outcome, all.iter().map(|(finding, _)| *finding));
    let not_checked = by_rule(outcome);
    let mut seen = HashSet::new();
    for rule in all.iter().map(|(finding, _)| finding.rule).chain(not_checked.iter().map(|(rule, _)| *rule)) {
        if seen.insert(rule.name) {
            part.rules.push(descriptor(outcome, rule));
        }
    }
    for ((finding, suppression), identity) in all.into_iter().zip(identities) {
        let mut result = result(outcome, &texts, finding, &identity);
        // Where one result of a run has suppressions, all of them say whether they have.
        result["suppressions"] = suppression.into_iter().collect();
        part.results.push(result);
    }
    let path = outcome.sources.first().map_or("", |source| &source.path);
    for (rule, missing) in not_checked {
        part.notifications.push(json!({
            "descriptor": {"id": "not-checked"},
            "associatedRule": {"id": rule.name},
            "level": "note",
            "message": {"text": format!("{} not checked: {}", rule.name, missing.join(", "))},
            "locations": [{"physicalLocation": {"artifactLocation": location(path)}}],
        }));
    }
    for off in outcome.house.switched_off() {
        part.notifications.push(json!({
            "descriptor": {"id": "switched-off"},
            "associatedRule": {"id": off.rule.name},
            "level": "note",
            "message": {"text": format!("{} is switched off by the house standard: {}", off.rule.name, off.reason)},
            "locations": texts.of(off.place).map(|text| json!({"physicalLocation": physical(text, off.place)})).into_iter().collect::<Value>(),
        }));
        if seen.insert(off.rule.name) {
            part.rules.push(descriptor(outcome, off.rule));
        }
    }
    part
}

/// The log of all designs, as one run.
pub fn log(designs: Vec<Part>, ending: &Ending) -> Vec<u8> {
    let mut whole = Part { artifacts: Vec::new(), rules: Vec::new(), results: Vec::new(), notifications: Vec::new() };
    for part in designs {
        whole.artifacts.extend(part.artifacts);
        whole.rules.extend(part.rules);
        whole.results.extend(part.results);
        whole.notifications.extend(part.notifications);
    }
    // A library that several designs use is one artifact, and a rule stands once.
    let mut seen = HashSet::new();
    whole.artifacts.retain(|it| seen.insert(it["location"]["uri"].to_string()));
    let mut seen = HashSet::new();
    whole.rules.retain(|it| seen.insert(it["id"].to_string()));
    for it in ending.unreadable {
        whole.notifications.push(json!({
            "descriptor": {"id": "unreadable"},
            "level": "error",
            "message": {"text": format!("cannot check `{}`: {}", it.file, it.reason)},
            "locations": [{"physicalLocation": {"artifactLocation": location(&it.file)}}],
        }));
    }
    for it in ending.stale {
        whole.notifications.push(json!({
            "descriptor": {"id": "accepted-and-gone"},
            "level": "warning",
            "message": {"text": it.sentence()},
            "locations": [{"physicalLocation": {"artifactLocation": location(&it.entry.design)}}],
        }));
    }
    if ending.summary.left_out > 0 {
        let left_out = count(ending.summary.left_out, "file named like a design was", "files named like designs were");
        whole.notifications.push(json!({
            "descriptor": {"id": "left-out"},
            "level": "note",
            "message": {"text": format!("{left_out} left out: an ignore file names it, or it is hidden, as what begins with a dot")},
        }));
    }
    let notification = |id: &str, text: &str| json!({"id": id, "shortDescription": {"text": text}});
    as_json(&json!({
        "$schema": "https://raw.githubusercontent.com/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": {"driver": {
                "name": "hypocaust",
                "version": env!("CARGO_PKG_VERSION"),
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "shortDescription": {"text": "Checks designs of warm-water underfloor heating."},
                "rules": whole.rules,
                "notifications": [
                    notification("not-checked", "What a rule could not look at, and the field that would let it."),
                    notification("switched-off", "A rule that the house standard does not let run."),
                    notification("unreadable", "A file that could not be read."),
                    notification("accepted-and-gone", "An accepted finding that stands no more."),
                    notification("left-out", "Files that a search of folders did not look at."),
                ],
            }},
            "language": "en-GB",
            "columnKind": "unicodeCodePoints",
            "invocations": [{
                "executionSuccessful": ending.unreadable.is_empty(),
                "exitCode": ending.status,
                "toolExecutionNotifications": whole.notifications,
            }],
            "artifacts": whole.artifacts,
            "results": whole.results,
            "properties": {"caution": CAUTION},
        }],
    }))
}

fn descriptor(outcome: &Outcome, rule: &Rule) -> Value {
    let house = &outcome.house;
    let page = house.guidance(rule);
    let weight = |stage: &Stage| house.weight(rule, *stage);
    let gravest = Stage::ALL.iter().map(weight).max().and_then(|it| it.severity());
    let weights: Map<String, Value> = Stage::ALL
        .iter()
        .map(|stage| (stage.word().to_string(), weight(stage).severity().map_or("silent", |it| it.word()).into()))
        .collect();
    let mut descriptor = json!({
        "id": rule.name,
        "shortDescription": {"text": page.summary},
        "fullDescription": {"text": page.summary},
        "help": {"text": guidance::page(house, rule, false), "markdown": guidance::markdown(house, rule)},
        "defaultConfiguration": {"level": gravest.map_or("none", |it| one_of_three(it, "note"))},
        "properties": {"tags": [rule.group.word()], "group": rule.group.word(), "weights": weights},
    });
    if let Some(address) = house.page_of(rule) {
        descriptor["helpUri"] = address.into();
    }
    if let Some(caution) = rule.caution {
        descriptor["properties"]["caution"] = caution.into();
    }
    descriptor
}

fn result(outcome: &Outcome, texts: &Texts, finding: &Finding, identity: &str) -> Value {
    let at = finding.at(&outcome.design);
    let mut place = json!({"logicalLocations": [{"name": at.rsplit('/').next(), "fullyQualifiedName": at}]});
    if let Some(text) = texts.of(finding.place) {
        place["physicalLocation"] = physical(text, finding.place);
    }
    let related = finding.related.iter().enumerate().filter_map(|(id, it)| {
        let physical = physical(texts.of(it.place)?, it.place);
        Some(json!({"id": id, "message": message(&it.message), "physicalLocation": physical}))
    });
    let fixes = finding.remedies.iter().map(|remedy| {
        let mut changes: Vec<(&str, Vec<Value>)> = Vec::new();
        for change in &remedy.changes {
            let Some(text) = texts.of(change.place) else { continue };
            let mut replacement = json!({"deletedRegion": region(text, change.place)});
            if !change.text.is_empty() {
                replacement["insertedContent"] = json!({"text": change.text});
            }
            match changes.iter_mut().find(|(path, _)| *path == text.path) {
                Some((_, replacements)) => replacements.push(replacement),
                None => changes.push((text.path, vec![replacement])),
            }
        }
        let changes = changes
            .into_iter()
            .map(|(path, replacements)| json!({"artifactLocation": location(path), "replacements": replacements}));
        json!({"description": {"text": remedy.title}, "artifactChanges": changes.collect::<Value>()})
    });
    let limit = finding.limit.as_ref();
    json!({
        "ruleId": finding.rule.name,
        "kind": "fail",
        "level": one_of_three(finding.severity, "note"),
        "message": message(&finding.message),
        "locations": [place],
        "relatedLocations": related.collect::<Value>(),
        "fixes": fixes.collect::<Value>(),
        // Hosts that know but one fingerprint ask for it by the second name.
        "partialFingerprints": {"ruleAndPlace/v1": identity, "primaryLocationLineHash": identity},
        "properties": {
            "severity": finding.severity.word(),
            "group": finding.rule.group.word(),
            "at": at,
            "value": finding.value.map(amount),
            "limit": limit.and_then(|it| it.amount).map(amount),
            "source": limit.map(|it| it.whose(&outcome.sources)),
            "figure": finding.figure,
            "caution": finding.rule.caution,
            "accepted-as": finding.accepted_as,
        },
    })
}

/// Why a finding is accepted on purpose, and where that stands.
fn departure(outcome: &Outcome, texts: &Texts, by: usize) -> Value {
    let mut suppression = json!({"kind": "inSource", "status": "accepted"});
    let Some(departure) = outcome.design.departures.get(by) else { return suppression };
    let said = |text: &Option<design::Placed<String>>| text.as_ref().map(|it| it.value.clone()).unwrap_or_default();
    let until = departure.value.until.map(|it| it.value.to_string()).unwrap_or_default();
    let (reason, agreed_by) = (said(&departure.value.reason), said(&departure.value.agreed_by));
    suppression["justification"] = format!("{reason}; agreed by {agreed_by}, until {until}").into();
    if let Some(text) = texts.of(departure.at) {
        suppression["location"] = json!({"physicalLocation": physical(text, departure.at)});
    }
    suppression
}

/// A message. What stands in braces would be taken for the place of an argument, were it not doubled.
fn message(text: &str) -> Value {
    json!({"text": text.replace('{', "{{").replace('}', "}}")})
}

fn amount(amount: Amount) -> Value {
    json!({"value": ten_digits(amount.value), "unit": amount.unit})
}

fn physical(text: &Text, place: Place) -> Value {
    json!({"artifactLocation": location(text.path), "region": region(text, place)})
}

fn region(text: &Text, place: Place) -> Value {
    let range = place.range();
    let (start, end) = (text.position(range.start), text.position(range.end));
    json!({"startLine": start.line, "startColumn": start.column, "endLine": end.line, "endColumn": end.column})
}

/// Where a file is: relative to where the check was made, as it was named there.
fn location(path: &str) -> Value {
    let slashes = if cfg!(windows) { path.replace('\\', "/") } else { path.to_string() };
    let mut uri = String::new();
    for byte in slashes.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            _ => uri += &format!("%{byte:02X}"),
        }
    }
    if uri.starts_with('/') {
        uri.insert_str(0, "file://");
    }
    json!({"uri": uri})
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checked;
    use crate::findings::{Form, tests::written};

    fn run(text: &str) -> Value {
        let log: Value = serde_json::from_str(&written(&checked(text), Form::Sarif)).expect("a log is JSON");
        log["runs"][0].clone()
    }

    #[test]
    fn a_result_has_its_place_its_related_places_and_its_fixes() {
        let run = run("format: 1\nwalls:\n  W1: {}\n  W1: {}\nloops: {L1: {room: hal}}\nrooms: {hall: {}}\n");
        let of = |rule: &str| {
            let results = run["results"].as_array().expect("a run has results");
            results.iter().find(|it| it["ruleId"] == rule).cloned().unwrap_or_else(|| panic!("{rule}: {run:#}"))
        };
        let twice = of("duplicate-name");
        let region = &twice["locations"][0]["physicalLocation"]["region"];
        assert_eq!(*region, json!({"startLine": 4, "startColumn": 3, "endLine": 4, "endColumn": 5}));
        assert_eq!(twice["relatedLocations"][0]["physicalLocation"]["region"]["startLine"], 3);
        let fix = &of("unknown-reference")["fixes"][0];
        assert_eq!(fix["artifactChanges"][0]["replacements"][0]["insertedContent"]["text"], "hall");
        let rules: Vec<&str> = run["tool"]["driver"]["rules"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|it| it["id"].as_str())
            .collect();
        assert!(rules.contains(&"duplicate-name") && rules.contains(&"unknown-reference"), "{rules:?}");
        let notes = run["invocations"][0]["toolExecutionNotifications"].as_array().map_or(0, Vec::len);
        assert!(notes > 0, "what was not checked is told");
    }

    #[test]
    fn a_departure_is_a_suppression_with_its_reason() {
        let departure = "{rule: unknown-field, reason: kept for another tool, agreed-by: reviewer, until: 2026-12-31}";
        let run = run(&format!("format: 1\ndepartures: [{departure}]\nwater: {{colour: blue}}\n"));
        let results = run["results"].as_array().expect("a run has results");
        let field = results.iter().find(|it| it["ruleId"] == "unknown-field").expect("it is told though it departs");
        let suppression = &field["suppressions"][0];
        assert_eq!(suppression["kind"], "inSource");
        assert_eq!(suppression["justification"], "kept for another tool; agreed by reviewer, until 2026-12-31");
        assert!(results.iter().all(|it| it["suppressions"].is_array()));
    }

    #[test]
    fn a_path_is_a_uri() {
        assert_eq!(location("a b/ü#1.yaml")["uri"], "a%20b/%C3%BC%231.yaml");
        assert_eq!(location("/a/b.yaml")["uri"], "file:///a/b.yaml");
        assert_eq!(location("../c:d")["uri"], "../c%3Ad");
    }
}
