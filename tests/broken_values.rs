//! A value that cannot be read is told once, and as that: no rule takes it for absent.
//!
//! Each scalar of each demo design is broken in turn. Beside the fault of reading nothing may be found that was not
//! found before; what a rule can no longer look at it may say, for that is no finding.

mod demos;

use check::{Group, Outcome};
use demos::{check, check_after, designs};
use std::collections::HashSet;
use std::path::Path;
use yaml_tree::{FileId, Kind, Node, Place};

/// Every value that is a scalar, in the order of the text; of the points of a drawing only the first few.
fn scalars(node: &Node, found: &mut Vec<Place>) {
    match &node.kind {
        Kind::Scalar(_) => found.push(node.place),
        Kind::List(items) => items.iter().take(6).for_each(|item| scalars(item, found)),
        Kind::Map(entries) => entries.iter().for_each(|(_, value)| scalars(value, found)),
        Kind::Null => {}
    }
}

/// Whether a finding says that something could not be read.
fn is_of_reading(finding: &check::Finding) -> bool {
    finding.path.is_some() && finding.rule.group == Group::DesignFile
}

fn identities(outcome: &Outcome) -> HashSet<(&'static str, String)> {
    let departed = outcome.departed.iter().map(|(finding, _)| finding);
    outcome
        .findings
        .iter()
        .chain(&outcome.followers)
        .chain(departed)
        .map(|it| (it.rule.name, it.at(&outcome.design)))
        .collect()
}

/// The check of a text with another value at a place.
fn with(before: &Outcome, path: &Path, text: &str, place: Place, value: &str) -> Outcome {
    let text = format!("{}{value}{}", &text[..place.range().start], &text[place.range().end..]);
    check_after(path, text.as_bytes(), Some(before), false)
}

/// What is found besides faults of reading, and was not before.
fn besides(before: &Outcome, after: &Outcome) -> Vec<String> {
    let known = identities(before);
    let new = after.findings.iter().filter(|it| !is_of_reading(it));
    let new = new.map(|it| ((it.rule.name, it.at(&after.design)), &it.message)).filter(|(it, _)| !known.contains(it));
    new.map(|((rule, at), message)| format!("{rule} at {at}: {message}")).collect()
}

/// Every key, in the order of the text.
fn keys(node: &Node, found: &mut Vec<Place>) {
    match &node.kind {
        Kind::List(items) => items.iter().for_each(|item| keys(item, found)),
        Kind::Map(entries) => {
            for (key, value) in entries {
                found.push(key.place);
                keys(value, found);
            }
        }
        Kind::Scalar(_) | Kind::Null => {}
    }
}

/// A key that is misspelt is told, and what stands under it is not taken for absent.
#[test]
fn a_misspelt_key_is_told_once() {
    let mut told = 0;
    let mut cascades = Vec::new();
    for path in designs() {
        let text = std::fs::read_to_string(&path).unwrap();
        let before = check(&path, &text);
        let unknown = |outcome: &Outcome| outcome.findings.iter().filter(|it| it.rule.name == "unknown-field").count();
        let mut places = Vec::new();
        keys(&yaml_tree::parse(FileId::new(0), &text).root.unwrap(), &mut places);
        for place in places {
            let written = &text[place.range()];
            let after = with(&before, &path, &text, place, &format!("{written}x"));
            // A name is what the designer makes it.
            if unknown(&after) <= unknown(&before) {
                continue;
            }
            let besides = besides(&before, &after);
            told += 1;
            let line = text[..place.range().start].matches('\n').count() + 1;
            let name = path.file_name().unwrap().to_string_lossy();
            cascades.extend(besides.into_iter().map(|it| format!("{name}:{line}: {written} as {written}x: {it}")));
        }
    }
    assert!(told > 1000, "only {told} keys could be broken");
    assert!(cascades.is_empty(), "{} cascades\n{}", cascades.len(), cascades.join("\n"));
}

#[test]
fn a_value_that_cannot_be_read_is_not_taken_for_absent() {
    let mut told = 0;
    let mut cascades = Vec::new();
    for path in designs() {
        let text = std::fs::read_to_string(&path).unwrap();
        let before = check(&path, &text);
        let mut places = Vec::new();
        scalars(&yaml_tree::parse(FileId::new(0), &text).root.unwrap(), &mut places);
        for place in places {
            let written = &text[place.range()];
            // A slip of the finger, and, where any word will do, a block where no block belongs.
            let slip = match written.chars().last() {
                Some(last @ ('"' | '\'')) => format!("{}x{last}", &written[..written.len() - 1]),
                _ => format!("{written}x"),
            };
            for value in [slip.as_str(), "{colour: blue}"] {
                let after = with(&before, &path, &text, place, value);
                let count = |outcome: &Outcome| outcome.findings.iter().filter(|it| is_of_reading(it)).count();
                if count(&after) <= count(&before) {
                    continue;
                }
                let besides = besides(&before, &after);
                told += 1;
                let line = text[..place.range().start].matches('\n').count() + 1;
                let name = path.file_name().unwrap().to_string_lossy();
                cascades.extend(besides.into_iter().map(|it| format!("{name}:{line}: {written} as {value}: {it}")));
                break;
            }
        }
    }
    assert!(told > 1000, "only {told} values could be broken");
    assert!(cascades.is_empty(), "{} cascades\n{}", cascades.len(), cascades.join("\n"));
}
