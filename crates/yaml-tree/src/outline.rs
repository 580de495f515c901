//! For tests: a tree and its faults on a few lines, and what must hold of any tree.

use crate::{FileId, Kind, Node, Place, Tree, parse};
use std::fmt::Write;

const FILE: FileId = FileId::new(3);

/// The tree of a text on one line, then its faults with the first byte and the text they are about. `!` marks what is
/// broken, quotes what is quoted, `~` what is not there.
pub fn outline(text: &str) -> String {
    let tree = parse(FILE, text);
    sound(text, &tree);
    let mut out = String::new();
    match &tree.root {
        None => out.push_str("nothing"),
        Some(root) => write_node(&mut out, root),
    }
    for fault in &tree.faults {
        let _ = write!(out, "\n{:?} at {} {:?}", fault.kind, fault.place.start, &text[fault.place.range()]);
    }
    out
}

fn write_node(out: &mut String, node: &Node) {
    if node.broken {
        out.push('!');
    }
    match &node.kind {
        Kind::Null => out.push('~'),
        Kind::Scalar(scalar) if scalar.quoted => {
            let _ = write!(out, "{:?}", scalar.text);
        }
        Kind::Scalar(scalar) => out.push_str(&scalar.text),
        Kind::List(items) => {
            out.push('[');
            for (at, item) in items.iter().enumerate() {
                out.push_str(if at > 0 { ", " } else { "" });
                write_node(out, item);
            }
            out.push(']');
        }
        Kind::Map(entries) => {
            out.push('{');
            for (at, (key, value)) in entries.iter().enumerate() {
                out.push_str(if at > 0 { ", " } else { "" });
                write_node(out, key);
                out.push_str(": ");
                write_node(out, value);
            }
            out.push('}');
        }
    }
}

/// Every place lies in the text, at characters; and without aliases what is under a node stands inside
/// it and one after the other.
pub fn sound(text: &str, tree: &Tree) {
    for fault in &tree.faults {
        assert!(text.get(fault.place.range()).is_some(), "{fault:?} in {text:?}");
        assert!(!fault.kind.to_string().is_empty());
        assert_eq!(fault.place.file, FILE);
    }
    assert!(tree.faults.is_sorted_by_key(|it| (it.kind == crate::TextFaultKind::TooManyFaults, it.place)));
    if let Some(root) = &tree.root {
        sound_node(text, root, !text.contains('*'));
    }
}

fn sound_node(text: &str, node: &Node, ordered: bool) {
    assert!(text.get(node.place.range()).is_some(), "{node:?} in {text:?}");
    assert_eq!(node.place.file, FILE);
    let mut before: Option<Place> = None;
    let mut inside = |it: &Node| {
        let in_order = before.is_none_or(|before| before.end <= it.place.start);
        let enclosed = node.place.start <= it.place.start && it.place.end <= node.place.end;
        assert!(!ordered || in_order && enclosed, "{it:?} in {node:?} in {text:?}");
        assert!(node.broken || !it.broken, "{it:?} in {node:?} in {text:?}");
        before = Some(it.place);
        sound_node(text, it, ordered);
    };
    match &node.kind {
        Kind::Null | Kind::Scalar(_) => {}
        Kind::List(items) => items.iter().for_each(inside),
        Kind::Map(entries) => entries.iter().for_each(|(key, value)| {
            inside(key);
            inside(value);
        }),
    }
}

/// A design that uses most of what a text can hold.
pub const DESIGN: &str = r#"# Kiln Yard, ground floor
format: 1
project: {name: "Kiln Yard", reference: KY-014, stage: for construction}
library: [pipes.ufh.yaml, 'floors.ufh.yaml']
site:
  outdoor-temperature: -3 °C
  note: |
    Frost from November on; the yard
      lies open: mind the wind.

    # not a comment
heat-source: {kind: heat pump, flow-temperature: 40 °C}   # as ordered

floors:
  screeded: &screed
    method: clipped-in-screed
    below: ground
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - material: cement screed
        thickness: 75 mm
        pipe: at base
      - {material: PIR board, thickness: 100 mm, conductivity: 0.022 W/(m·K)}
  upstairs:
    <<: *screed
    below: heated room

rooms:
  throwing-room:
    use: living
    temperature: 20 °C
    heat-loss: 1450 W
    floor: screeded
    outline: [[0, 0], [6.2, 0],
              [6.2, 4.4], [0, 4.4]]
    keep-clear:
      island: [[2, 2], [3, 2], [3, 3], [2, 3]]
  "glaze store":
    use: store
    area: 8.4 m2
    floor: screeded
    remarks: >-
      folded text
      of two lines

manifolds:
  M1:
    at: &hall [8.0, 1.0]
    ports: 6
    pump: {head: 25 kPa}
  M2: {at: *hall, ports: 2}

loops:
  L1:
    manifold: M1
    port: 1
    spacing: 150 mm
    flow: 2.1 l/min
    route:
      - [0.5, 0.5]
      - [5.5, 0.5]
      - [5.5, 4.0]
    sleeves:
    - at: [6.2, 1.0]
      length: 300 mm
    - at: [6.2, 2.0]
  L2:
    manifold: M1
    port: 2
    spacing: 200 mm
  L3:
    manifold: M2
    port:
    spacing: 100 mm

departures:
  - rule: loop-length
    where: L1
    reason: 'agreed on site: see the minutes'
    until: 2027-01-31
"#;

/// The design with one line mistaken in each of several ways.
pub fn mutants(line: usize) -> Vec<String> {
    let lines: Vec<&str> = DESIGN.lines().collect();
    let (before, after) = (lines[..line].join("\n"), lines[line + 1..].join("\n"));
    let content = lines[line].trim_start();
    let indent = &lines[line][..lines[line].len() - content.len()];
    let half = content.char_indices().nth(content.chars().count() / 2).map_or(0, |it| it.0);
    let key = content.find(':').unwrap_or(half);
    let changed = [
        None,
        Some(format!("  {}", lines[line])),
        Some(format!("      {}", lines[line])),
        Some(lines[line].strip_prefix("  ").unwrap_or(content).to_string()),
        Some(content.to_string()),
        Some(format!("\t{content}")),
        Some(format!("{indent}{}", &content[..half])),
        Some(format!("{indent}{}", &content[..key])),
        Some(format!("{indent}{}", &content[..key.saturating_sub(1)])),
        Some(lines[line].replacen(": ", ":", 1)),
        Some(lines[line].replacen(": ", ": [", 1)),
        Some(lines[line].replacen(": ", ": \"", 1)),
        Some(format!("{indent}new\n{}", lines[line])),
        Some(format!("{indent}- new\n{}", lines[line])),
        Some(format!("{indent}]\n{}", lines[line])),
        Some(format!("{} x: y", lines[line])),
    ];
    let join = |it: Option<String>| match it {
        Some(it) => format!("{before}\n{it}\n{after}\n"),
        None => format!("{before}\n{after}\n"),
    };
    changed.into_iter().map(join).collect()
}
