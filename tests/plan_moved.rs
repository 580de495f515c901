//! A plan that is moved, turned, mirrored or drawn the other way round is the same plan: the check says the same of it.

mod demos;

use check::Outcome;
use demos::{check, designs};
use std::path::{Path, PathBuf};
use yaml_tree::{FileId, Kind, Node, Place};

/// A finding with what it says in numbers, but for places in plan.
#[derive(Debug, Clone, PartialEq, PartialOrd)]
struct Said {
    rule: &'static str,
    at: String,
    severity: &'static str,
    related: usize,
    value: Option<f64>,
}

/// All that is said of a design, in an order that does not hang on places in the file.
fn said(outcome: &Outcome) -> (Vec<Said>, Vec<(&'static str, String)>) {
    let departed = outcome.departed.iter().map(|(finding, _)| finding);
    let findings = outcome.findings.iter().chain(departed).map(|it| Said {
        rule: it.rule.name,
        at: it.at(&outcome.design),
        severity: it.severity.word(),
        related: it.related.len(),
        value: it.value.map(|value| value.value),
    });
    let mut findings: Vec<Said> = findings.collect();
    findings.sort_by(|one, other| one.partial_cmp(other).unwrap());
    let mut not_checked: Vec<(&str, String)> =
        outcome.not_checked.iter().map(|it| (it.rule.name, it.about.path(&outcome.design))).collect();
    not_checked.sort();
    (findings, not_checked)
}

#[track_caller]
fn assert_same(name: &str, before: &Outcome, after: &Outcome) {
    let ((before, before_not), (after, after_not)) = (said(before), said(after));
    let without = |it: &Said| Said { value: None, ..it.clone() };
    let (known, new): (Vec<Said>, Vec<Said>) =
        (before.iter().map(without).collect(), after.iter().map(without).collect());
    let lost: Vec<&Said> = known.iter().filter(|it| !new.contains(it)).collect();
    let won: Vec<&Said> = new.iter().filter(|it| !known.contains(it)).collect();
    assert!(lost.is_empty() && won.is_empty(), "{name}: no longer {lost:#?}, but {won:#?}");
    assert_eq!(before_not, after_not, "{name}");
    for (one, other) in before.iter().zip(&after) {
        let (Some(one_value), Some(other_value)) = (one.value, other.value) else { continue };
        // Bays are good to a tenth of a millimetre; what a floor lacks of pipe is counted along lines and hangs on their way.
        let off = (one_value - other_value).abs();
        let most = match one.rule {
            "room-partly-unheated" => 0.02,
            // The warmer tail gives a passage more than the cooler one, by as much as its way there is longer.
            "room-far-over-heat" => 2e-3 * one_value.abs(),
            rule if rule.starts_with("bay-") => 5e-3 * one_value.abs(),
            _ => 1e-6 * one_value.abs().max(1e-3),
        };
        assert!(off <= most, "{name}: {one:?} became {other:?}");
    }
}

/// The same text with other text at some places.
fn edited(text: &str, mut edits: Vec<(Place, String)>) -> String {
    edits.sort_by_key(|(place, _)| std::cmp::Reverse(place.range().start));
    let mut text = text.to_string();
    for (place, new) in edits {
        text.replace_range(place.range(), &new);
    }
    text
}

fn point(node: &Node) -> Option<[f64; 2]> {
    let number = |node: &Node| match &node.kind {
        Kind::Scalar(scalar) => scalar.text.parse::<f64>().ok(),
        _ => None,
    };
    match &node.kind {
        Kind::List(items) => match &items[..] {
            [x, y] => Some([number(x)?, number(y)?]),
            _ => None,
        },
        _ => None,
    }
}

/// Every node with the keys that lead to it.
fn each<'n>(node: &'n Node<'n>, keys: &mut Vec<String>, look: &mut impl FnMut(&[String], &'n Node<'n>)) {
    look(keys, node);
    match &node.kind {
        Kind::List(items) => items.iter().for_each(|item| each(item, keys, look)),
        Kind::Map(entries) => {
            for (key, value) in entries {
                keys.push(match &key.kind {
                    Kind::Scalar(scalar) => scalar.text.to_string(),
                    _ => String::new(),
                });
                each(value, keys, look);
                keys.pop();
            }
        }
        Kind::Scalar(_) | Kind::Null => {}
    }
}

fn with_each(text: &str, mut edit: impl FnMut(&[String], &Node) -> Option<String>) -> String {
    let root = yaml_tree::parse(FileId::new(0), text).root.unwrap();
    let mut edits = Vec::new();
    each(&root, &mut Vec::new(), &mut |keys, node| {
        if let Some(new) = edit(keys, node) {
            edits.push((node.place, new));
        }
    });
    edited(text, edits)
}

/// The design with every point of its plan elsewhere.
fn moved(text: &str, place: impl Fn([f64; 2]) -> [f64; 2]) -> String {
    with_each(text, |_, node| {
        let [x, y] = place(point(node)?);
        Some(format!("[{x:.10}, {y:.10}]"))
    })
}

/// The text of each point of a list of points.
fn points<'t>(text: &'t str, node: &Node) -> Option<Vec<&'t str>> {
    let Kind::List(items) = &node.kind else { return None };
    (items.len() > 2 && items.iter().all(|item| point(item).is_some()))
        .then(|| items.iter().map(|item| &text[item.place.range()]).collect())
}

fn is_route(keys: &[String]) -> bool {
    keys.last().is_some_and(|key| key == "route") || keys.iter().rev().nth(1).is_some_and(|key| key == "routes")
}

/// Designs of random plans: rooms one on the other, routes across them and across each other, walls and a joint.
fn random_designs() -> Vec<(String, String)> {
    let file: serde_json::Value = serde_json::from_str(include_str!("reference/plan/plans.json")).unwrap();
    let design = |plan: &serde_json::Value| {
        let areas = plan["keep_clear"].as_array().unwrap().iter().enumerate();
        let areas: Vec<String> = areas.map(|(number, area)| format!("k{number}: {area}")).collect();
        let walls = plan["lines"].as_array().unwrap().iter().enumerate();
        let wall = |(number, line): (usize, &serde_json::Value)| {
            format!("W{number}: {{line: [{}, {}], thickness: 100 mm}}", line[0], line[1])
        };
        let walls: Vec<String> = walls.map(wall).collect();
        format!(
            "format: 1
floors:
  s:
    method: clipped-in-screed
    below: ground
    layers:
      - {{material: porcelain tile, thickness: 10 mm}}
      - {{material: cement screed, thickness: 65 mm, pipe: at base, screed: sand-cement}}
      - {{material: PIR board, thickness: 130 mm}}
rooms:
  a: {{floor: s, temperature: 20 °C, heat-loss: 900 W, outline: {}, keep-clear: {{{}}}}}
  b: {{floor: s, temperature: 20 °C, heat-loss: 600 W, outline: {}, keep-clear: none}}
walls: {{{}}}
movement-joints: {{J: {{line: {}}}}}
manifolds: {{M: {{at: {}, ports: 4}}}}
loops:
  L1: {{manifold: M, port: 1, room: a, pipe: multilayer 16 x 2, spacing: 150 mm, sleeves: [W0], route: {}}}
  L2: {{manifold: M, port: 2, room: b, pipe: multilayer 16 x 2, spacing: 200 mm, route: {}}}
",
            plan["room"],
            areas.join(", "),
            plan["other"],
            walls.join(", "),
            plan["joint"],
            plan["route"][0],
            plan["route"],
            plan["second"],
        )
    };
    let plans = file["plans"].as_array().unwrap().iter().enumerate();
    plans.map(|(number, plan)| (format!("random plan {number}"), design(plan))).collect()
}

/// Every demo design, every random one, and what a change makes of it; those that the program lays out only where `laid_out` is set: a
/// layout begins at a corner that turning the plan may change.
fn each_design(laid_out: bool, change: impl Fn(&str) -> String) {
    let mut drawn = 0;
    let read = |path: PathBuf| (path.to_string_lossy().into_owned(), std::fs::read_to_string(&path).unwrap());
    for (name, text) in designs().into_iter().map(read).chain(random_designs()) {
        if text.contains("layout:") && !laid_out {
            continue;
        }
        let changed = change(&text);
        drawn += usize::from(changed != text);
        assert_same(&name, &check(Path::new(&name), &text), &check(Path::new(&name), &changed));
    }
    assert!(drawn >= 240, "only {drawn} designs were changed");
}

#[test]
fn a_plan_that_is_moved_is_the_same() {
    for (by_x, by_y) in [(13.7, -5.21), (-1e6, 1e6)] {
        each_design(true, |text| moved(text, |[x, y]| [x + by_x, y + by_y]));
    }
}

#[test]
fn a_plan_that_is_turned_is_the_same() {
    for degrees in [90f64, 180.0, 30.0, -17.3] {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        each_design(false, |text| moved(text, |[x, y]| [x * cosine - y * sine, x * sine + y * cosine]));
    }
}

#[test]
fn a_plan_that_is_mirrored_is_the_same() {
    each_design(false, |text| moved(text, |[x, y]| [-x, y]));
    each_design(false, |text| moved(text, |[x, y]| [y, x]));
}

#[test]
fn an_outline_may_go_round_either_way_and_begin_anywhere() {
    let is_outline = |keys: &[String]| !is_route(keys);
    each_design(true, |text| {
        with_each(text, |keys, node| {
            let points = points(text, node).filter(|_| is_outline(keys))?;
            Some(format!("[{}]", points.into_iter().rev().collect::<Vec<_>>().join(", ")))
        })
    });
    each_design(false, |text| {
        with_each(text, |keys, node| {
            let mut points = points(text, node).filter(|_| is_outline(keys))?;
            points.rotate_left(1);
            Some(format!("[{}]", points.join(", ")))
        })
    });
}

/// Flow and return change places, and with them what their sleeves serve.
#[test]
fn a_route_may_be_drawn_either_way() {
    each_design(false, |text| {
        with_each(text, |keys, node| match &node.kind {
            Kind::Scalar(scalar) if keys.last().is_some_and(|key| key == "serves") => match &*scalar.text {
                "flow" => Some("return".to_string()),
                "return" => Some("flow".to_string()),
                _ => None,
            },
            _ => {
                let points = points(text, node).filter(|_| is_route(keys))?;
                Some(format!("[{}]", points.into_iter().rev().collect::<Vec<_>>().join(", ")))
            }
        })
    });
}

/// Straight legs say the same as points and as a path, in metres.
#[test]
fn a_route_may_be_a_path() {
    each_design(false, |text| {
        with_each(text, |keys, node| {
            let points = points(text, node).filter(|_| is_route(keys))?;
            let plain = |point: &&str| point.trim_matches(['[', ']']).replace(',', " ");
            Some(format!("M {}", points.iter().map(plain).collect::<Vec<_>>().join(" L ")))
        })
    });
}

/// Designs on a coarse grid, where routes go through ends of walls and joints, along them and through their own corners.
fn coarse_designs() -> Vec<String> {
    // The linear congruential generator of Knuth's MMIX (The Art of Computer Programming, volume 2, 3.3.4; from memory).
    let mut state = 5u64;
    let mut below = |limit: u64| {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        ((state >> 32) * limit) >> 32
    };
    let mut design = || {
        let mut route = || {
            let points: Vec<String> = (0..4 + below(9))
                .map(|_| format!("[{:.2}, {:.2}]", 0.1 + 0.35 * below(18) as f64, 0.3 + 0.35 * below(12) as f64))
                .collect();
            points.join(", ")
        };
        format!(
            "format: 1
rooms:
  a: {{outline: [[0, 0], [4, 0], [4, 5], [0, 5]]}}
  b: {{outline: [[4.1, 0], [8, 0], [8, 5], [4.1, 5]]}}
walls:
  W1: {{line: [[4.05, 0], [4.05, 5]], thickness: 100 mm}}
  W2: {{line: [[1.5, 1], [1.5, 2.05]], thickness: 100 mm}}
  W3: {{line: [[4.65, 2.05], [6.05, 3.45]], thickness: 100 mm}}
openings: {{D1: {{wall: W1, from: 1.0 m, to: 1.9 m}}}}
movement-joints:
  J1: {{line: [[2.2, 0], [2.2, 3.1]]}}
  J2: {{line: [[0.1, 3.8], [3.95, 3.8]]}}
loops:
  L1: {{room: a, pipe: multilayer 16 x 2, spacing: 150 mm, route: [{}]}}
  L2: {{room: b, pipe: multilayer 16 x 2, spacing: 200 mm, route: [{}]}}
",
            route(),
            route()
        )
    };
    (0..150).map(|_| design()).collect()
}

/// What lies exactly on a line, or at its end, is told alike wherever the plan lies, though its coordinates are rounded otherwise.
#[test]
fn what_touches_is_the_same_elsewhere() {
    let changes: [fn([f64; 2]) -> [f64; 2]; 4] =
        [|[x, y]| [x + 1000.0, y - 1000.0], |[x, y]| [x + 77.0, y + 13.0], |[x, y]| [-y, x], |[x, y]| [-x, y]];
    for text in coarse_designs() {
        let before = check(Path::new("coarse.ufh.yaml"), &text);
        for change in changes {
            let changed = moved(&text, change);
            assert_same(&text, &before, &check(Path::new("coarse.ufh.yaml"), &changed));
        }
    }
}
