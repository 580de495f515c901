//! For tests: the YAML test suite, and `serde_yaml` 0.9.34, against our tree.

use crate::outline::{outline, sound};
use crate::{FileId, Kind, Node, parse};
use serde_yaml::Value;
use std::collections::HashMap;

/// Takes the events of the first document, in the notation of the suite, to the form of `outline`.
struct Events<'e> {
    lines: std::iter::Peekable<std::str::Lines<'e>>,
    anchors: HashMap<&'e str, String>,
}

impl<'e> Events<'e> {
    fn node(&mut self) -> Option<String> {
        let line = self.lines.next()?.trim_start();
        let (kind, mut rest) = line.split_at(4);
        rest = rest.trim_start();
        for brackets in ["[]", "{}"] {
            rest = rest.strip_prefix(brackets).unwrap_or(rest).trim_start();
        }
        let mut anchor = None;
        while let Some(property) = rest.split(' ').next().filter(|it| it.starts_with(['&', '<'])) {
            anchor = property.strip_prefix('&').or(anchor);
            rest = rest[property.len()..].trim_start();
        }
        let node = match kind {
            "=VAL" => match rest.split_at(1) {
                (":", "") => "~".to_string(),
                (":", plain) => unescape(plain),
                (_, quoted) => format!("{:?}", unescape(quoted)),
            },
            "=ALI" => self.anchors.get(rest.trim_start_matches('*')).cloned()?,
            "+SEQ" => format!("[{}]", self.nodes("-SEQ").join(", ")),
            "+MAP" => {
                let nodes = self.nodes("-MAP");
                let entries: Vec<String> = nodes.chunks(2).map(|it| it.join(": ")).collect();
                format!("{{{}}}", entries.join(", "))
            }
            _ => return None,
        };
        if let Some(name) = anchor {
            self.anchors.insert(name, node.clone());
        }
        Some(node)
    }

    fn nodes(&mut self, end: &str) -> Vec<String> {
        let mut nodes = Vec::new();
        while self.lines.next_if(|it| it.trim_start() == end).is_none() {
            match self.node() {
                Some(node) => nodes.push(node),
                None => break,
            }
        }
        nodes
    }
}

fn unescape(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text.chars();
    while let Some(it) = rest.next() {
        match (it, it == '\\') {
            (_, true) => match rest.next() {
                Some('n') => out.push('\n'),
                Some('t') => out.push('\t'),
                Some('r') => out.push('\r'),
                Some('b') => out.push('\u{8}'),
                other => out.extend(other),
            },
            _ => out.push(it),
        }
    }
    out
}

/// <https://github.com/yaml/yaml-test-suite>; see `test-data/README.md`.
fn cases() -> Vec<Value> {
    serde_yaml::from_str(include_str!("../test-data/yaml-test-suite.json")).expect("the cases are JSON")
}

#[test]
fn valid_texts_of_the_yaml_test_suite() {
    let mut wrong = Vec::new();
    let mut right = 0;
    for case in cases() {
        let (Some(text), Some(events)) = (case["yaml"].as_str(), case["events"].as_str()) else { continue };
        let mut lines = events.lines().peekable();
        while lines.next_if(|it| it.starts_with("+STR") || it.trim_start().starts_with("+DOC")).is_some() {}
        let expected = Events { lines, anchors: HashMap::new() }.node().unwrap_or("nothing".to_string());
        let found = outline(text);
        let more = usize::from(events.matches("+DOC").count() > 1);
        let faults = found.matches("\nMoreThanOneDocument").count();
        if found.split_once("\nMoreThan").map_or(&found[..], |it| it.0) == expected && faults == more {
            right += 1;
        } else {
            wrong.push(format!(
                "{} {text:?}\n  expected {expected}\n  found {found}",
                case["name"].as_str().unwrap_or("?")
            ));
        }
    }
    assert!(wrong.is_empty(), "{right} right, {} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert_eq!(right, 302);
}

/// Three are taken as `libyaml` takes them: a bracket or a quoted text that goes on at the indentation of
/// its key.
const LENIENT: [&str; 3] = ["9C9N", "DK95-2", "QB6E"];

#[test]
fn wrong_texts_of_the_yaml_test_suite() {
    let mut taken = Vec::new();
    for case in cases() {
        let (Some(text), Some(true)) = (case["yaml"].as_str(), case["fails"].as_bool()) else { continue };
        let name = case["name"].as_str().unwrap_or("?");
        if parse(FileId::new(3), text).faults.is_empty() {
            taken.push(name.to_string());
        }
    }
    assert_eq!(taken, LENIENT);
}

/// Whether `serde_yaml` sees the same; a plain scalar has no type here, so its text is compared.
fn same(node: &Node, value: &Value) -> bool {
    match (&node.kind, value) {
        (Kind::Null, Value::Null) => true,
        (Kind::Scalar(it), Value::String(text)) => it.text == *text,
        (Kind::Scalar(it), _) => !it.quoted && serde_yaml::from_str::<Value>(&it.text).is_ok_and(|it| it == *value),
        (Kind::List(items), Value::Sequence(values)) => {
            items.len() == values.len() && items.iter().zip(values).all(|(node, value)| same(node, value))
        }
        (Kind::Map(entries), Value::Mapping(values)) => {
            let pairs = || entries.iter().zip(values);
            entries.len() == values.len() && pairs().all(|((k, v), (key, value))| same(k, key) && same(v, value))
        }
        _ => false,
    }
}

#[test]
fn serde_yaml_sees_the_same_design() {
    for text in [crate::outline::DESIGN, &crate::outline::DESIGN.replace('\n', "\r\n")] {
        let tree = parse(FileId::new(3), text);
        assert_eq!(tree.faults, []);
        let mut value: Value = serde_yaml::from_str(text).expect("the design is valid");
        value.apply_merge().expect("all that is merged are maps");
        assert!(tree.root.is_some_and(|it| same(&it, &value)));
    }
}

/// `libyaml`, under `serde_yaml`, knows YAML 1.1 and not all of 1.2.
const BUT: [&str; 5] = ["652Z", "HM87-2", "JEF9-3", "L24T-2", "Y2GN"];

#[test]
fn serde_yaml_sees_the_same_in_the_suite() {
    let mut compared = 0;
    let mut different = Vec::new();
    for case in cases() {
        let Some(text) = case["yaml"].as_str() else { continue };
        let tree = parse(FileId::new(3), text);
        let tagged = text.contains('!') || text.contains("\u{feff}");
        if let (Ok(value), Some(root), [], false) =
            (serde_yaml::from_str::<Value>(text), &tree.root, &tree.faults[..], tagged)
        {
            let name = case["name"].as_str().unwrap_or("?");
            compared += 1;
            if !same(root, &value) {
                different.push(name.to_string());
            }
        }
    }
    assert_eq!(different, BUT);
    assert!(compared > 150, "{compared}");
}

#[test]
fn broken_texts_of_the_suite_stay_sound() {
    for case in cases() {
        let Some(text) = case["yaml"].as_str() else { continue };
        for (at, _) in text.char_indices() {
            let (before, after) = text.split_at(at);
            let next = after.char_indices().nth(1).map_or("", |(next, _)| &after[next..]);
            for text in [
                before.to_string(),
                format!("{before}{next}"),
                format!("{before}[{after}"),
                format!("{before}\n{after}"),
            ] {
                let tree = parse(FileId::new(3), &text);
                sound(&text, &tree);
            }
        }
    }
}

#[test]
fn a_fault_is_told_wherever_serde_yaml_tells_one() {
    for line in 0..crate::outline::DESIGN.lines().count() {
        if crate::outline::DESIGN.lines().nth(line).is_some_and(|it| it.is_empty() || it.trim_start().starts_with('#'))
        {
            continue;
        }
        for text in crate::outline::mutants(line) {
            let refused = match serde_yaml::from_str::<Value>(&text) {
                Ok(_) => false,
                Err(refused) => !refused.to_string().contains("duplicate entry"),
            };
            let told = !parse(FileId::new(3), &text).faults.is_empty();
            assert!(told || !refused, "{text}");
        }
    }
}
