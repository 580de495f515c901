//! The same content written otherwise gives the same findings: in blocks, in braces, quoted, in another order of keys, with
//! other line ends, and each quantity in another unit of its kind.

use crate::Proof;
use crate::table::{Table, name_of};
use crate::trial::{Texts, said};
use check::Outcome;
use quantity::*;
use std::collections::BTreeSet;
use yaml_tree::{FileId, Kind, Node};

/// What a text holds.
enum Content {
    Nothing,
    Scalar { text: String, quoted: bool },
    List(Vec<Content>),
    Map(Vec<(String, Content)>),
}

/// How it is written.
#[derive(Clone, Copy)]
enum Quotes {
    Few,
    Single,
    Double,
}

type Rewrite = fn(&str) -> String;

const WAYS: [(&str, Rewrite); 3] = [
    ("in blocks and single quotes, keys from last to first, without comments", |text| {
        block(&ordered(content(text), false, &mut |it| it.reverse()), Quotes::Single)
    }),
    ("in braces and double quotes, keys in any order", |text| {
        flow(&ordered(content(text), false, &mut shuffle(7)), Quotes::Double)
    }),
    ("as another editor leaves it", as_another_editor),
];

/// A fault of reading quotes the quantity that it is about; without such a fault these give the same as well.
const UNITS: [(&str, Rewrite); 3] = [
    ("in the next unit of each kind", |text| block(&in_units(content(text), "", &other_sizes), Quotes::Few)),
    ("in the unit before", |text| {
        let before = |unit: &Unit, units| other_sizes(unit, units).into_iter().rev().collect();
        flow(&in_units(content(text), "", &before), Quotes::Few)
    }),
    ("in other spellings of the units", |text| block(&in_units(content(text), "", &other_spellings), Quotes::Few)),
];

/// With rooms, loops and all other things by name in another order as well. What is said of the first of several is said of
/// another then; that it is said, and how often, stays.
const IN_ANOTHER_ORDER: Rewrite = |text| block(&ordered(content(text), true, &mut shuffle(11)), Quotes::Few);

/// The blocks of the format that hold things by name.
const OF_NAMES: [&str; 23] = [
    "pipes",
    "floors",
    "storeys",
    "rooms",
    "walls",
    "openings",
    "movement-joints",
    "uprights",
    "floor-holes",
    "manifolds",
    "loops",
    "electric-mats",
    "zones",
    "keep-clear",
    "fixing-lines",
    "fabric",
    "glazing",
    "other-emitters",
    "other-circuits",
    "moisture-points",
    "set-flows",
    "routes",
    "readings",
];

pub fn prove(table: &Table) -> Proof {
    let clean: BTreeSet<&str> = table.seeded.values().flatten().map(|seed| seed.design.as_str()).collect();
    let mut texts: Vec<(Option<&str>, String, Texts)> =
        clean.into_iter().map(|design| (None, design.to_string(), Texts::of(design))).collect();
    for (rule, seeds) in &table.seeded {
        for seed in seeds {
            let Ok(changed) = Texts::of(&seed.design).changed(&seed.change) else { continue };
            // What is no whole YAML cannot be written otherwise.
            if yaml_tree::parse(FileId::new(0), &changed.design).faults.is_empty() {
                texts.push((Some(rule), format!("{rule} in {}: {:?}", seed.design, seed.change), changed));
            }
        }
    }
    let threads = std::thread::available_parallelism().map_or(1, |it| it.get());
    let prove = |part: &[(Option<&str>, String, Texts)]| {
        let mut proof = Proof::default();
        for (rule, name, texts) in part {
            if is_same(name, texts, &mut proof.broken) {
                proof.covers.extend(rule.and_then(name_of));
            }
        }
        proof
    };
    let mut whole = Proof::default();
    std::thread::scope(|scope| {
        let parts = texts.chunks(texts.len().div_ceil(threads).max(1));
        let running: Vec<_> = parts.map(|part| scope.spawn(move || prove(part))).collect();
        for part in running {
            let part = part.join().unwrap();
            whole.covers.extend(part.covers);
            whole.broken.extend(part.broken);
        }
    });
    whole
}

/// Whether every way of writing it gives the same.
fn is_same(name: &str, texts: &Texts, broken: &mut Vec<String>) -> bool {
    let rewritten = |rewrite: Rewrite| {
        let mut otherwise = texts.clone();
        (otherwise.design, otherwise.library) = (rewrite(&texts.design), rewrite(&texts.library));
        otherwise
    };
    let before = broken.len();
    let mut compare = |way: &str, plain: &[String], now: &[String]| {
        if now != plain {
            let lost: Vec<_> = plain.iter().filter(|it| !now.contains(it)).collect();
            let won: Vec<_> = now.iter().filter(|it| !plain.contains(it)).collect();
            broken.push(format!("{name}\n{way}: no longer {lost:#?}, but {won:#?}"));
        }
    };
    let plain = texts.check();
    let all = all_said(&plain);
    let quotes = plain.findings.iter().any(|it| it.path.is_some());
    let units = UNITS.into_iter().filter(|_| !quotes);
    for (way, rewrite) in WAYS.into_iter().chain(units) {
        compare(way, &all, &all_said(&rewritten(rewrite).check()));
    }
    compare("names in another order", &counted(&plain), &counted(&rewritten(IN_ANOTHER_ORDER).check()));
    broken.len() == before
}

/// Findings with what belongs to them, what was departed from and what was not checked.
fn all_said(outcome: &Outcome) -> Vec<String> {
    let mut all: Vec<String> = outcome
        .findings
        .iter()
        .map(|it| {
            let mut related: Vec<&str> = it.related.iter().map(|related| related.message.as_str()).collect();
            related.sort_unstable();
            format!("{:?} {related:?}", said(outcome, it))
        })
        .collect();
    all.extend(outcome.departed.iter().map(|(it, by)| format!("{:?} by departure {by}", said(outcome, it))));
    let not_checked = outcome.not_checked.iter();
    all.extend(not_checked.map(|it| {
        format!("not checked: {} {} {}", it.rule.name, it.about.path(&outcome.design), it.missing(&outcome.design))
    }));
    all.sort();
    all
}

/// The rule and severity of each finding.
fn counted(outcome: &Outcome) -> Vec<String> {
    let mut all: Vec<String> =
        outcome.findings.iter().map(|it| format!("{} {}", it.severity.word(), it.rule.name)).collect();
    all.sort();
    all
}

/// With a byte order mark, document marks, carriage returns and a comment behind each line.
fn as_another_editor(text: &str) -> String {
    let lines = text.lines().flat_map(|line| [line, "  # as drawn: 1 mm, {a: [b]}\r\n"]);
    format!("\u{feff}---\r\n{}...\r\n", lines.collect::<String>())
}

fn content(text: &str) -> Content {
    fn of(node: &Node) -> Content {
        match &node.kind {
            Kind::Null => Content::Nothing,
            Kind::Scalar(scalar) => Content::Scalar { text: scalar.text.to_string(), quoted: scalar.quoted },
            Kind::List(items) => Content::List(items.iter().map(of).collect()),
            Kind::Map(entries) => Content::Map(
                entries.iter().map(|(key, value)| (key.as_text().unwrap_or_default().to_string(), of(value))).collect(),
            ),
        }
    }
    yaml_tree::parse(FileId::new(0), text).root.as_ref().map_or(Content::Nothing, of)
}

/// Whether a text has to be quoted to be read as itself.
fn wants_quotes(text: &str) -> bool {
    let opens = |c: char| "-?:,[]{}#&*!|>'\"%@` ".contains(c);
    let marks_entry = text.starts_with(opens) && !text.starts_with("-") || text == "-" || text.starts_with("- ");
    text.is_empty() || marks_entry || text.ends_with(' ') || text.contains([',', '[', ']', '{', '}', '#', ':', '\n'])
}

fn scalar(text: &str, quoted: bool, quotes: Quotes) -> String {
    let doubly = || format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"));
    match quotes {
        Quotes::Few if quoted || wants_quotes(text) => doubly(),
        Quotes::Few => text.to_string(),
        Quotes::Single if text.contains('\n') => doubly(),
        Quotes::Single => format!("'{}'", text.replace('\'', "''")),
        Quotes::Double => doubly(),
    }
}

fn flow(content: &Content, quotes: Quotes) -> String {
    match content {
        Content::Nothing => String::new(),
        Content::Scalar { text, quoted } => scalar(text, *quoted, quotes),
        Content::List(items) => {
            let items: Vec<String> = items.iter().map(|item| flow(item, quotes)).collect();
            format!("[{}]", items.join(", "))
        }
        Content::Map(entries) => {
            let key = |key: &str| scalar(key, false, Quotes::Few);
            let entries: Vec<String> =
                entries.iter().map(|(name, value)| format!("{}: {}", key(name), flow(value, quotes))).collect();
            format!("{{{}}}", entries.join(", "))
        }
    }
}

fn block(content: &Content, quotes: Quotes) -> String {
    fn under(content: &Content, quotes: Quotes, indent: usize, text: &mut String) {
        let margin = " ".repeat(indent);
        let mut entry = |head: String, value: &Content| {
            text.push_str(&margin);
            text.push_str(&head);
            match value {
                Content::List(items) if !items.is_empty() => {
                    text.push('\n');
                    under(value, quotes, indent + 2, text);
                }
                Content::Map(entries) if !entries.is_empty() => {
                    text.push('\n');
                    under(value, quotes, indent + 2, text);
                }
                _ => {
                    text.push(' ');
                    text.push_str(&flow(value, quotes));
                    text.push('\n');
                }
            }
        };
        match content {
            Content::List(items) => items.iter().for_each(|item| entry("-".into(), item)),
            Content::Map(entries) => {
                entries.iter().for_each(|(name, value)| entry(format!("{}:", scalar(name, false, Quotes::Few)), value))
            }
            _ => {}
        }
    }
    let mut text = String::new();
    under(content, quotes, 0, &mut text);
    text
}

/// The entries of each map in another order, those of things by name only if `names`; lists keep theirs.
fn ordered(content: Content, names: bool, order: &mut impl FnMut(&mut Vec<(String, Content)>)) -> Content {
    fn of<O: FnMut(&mut Vec<(String, Content)>)>(content: Content, key: &str, names: bool, order: &mut O) -> Content {
        match content {
            Content::Map(mut entries) => {
                if names || !OF_NAMES.contains(&key) {
                    order(&mut entries);
                }
                let entries = entries.into_iter().map(|(key, value)| {
                    let value = of(value, &key, names, order);
                    (key, value)
                });
                Content::Map(entries.collect())
            }
            Content::List(items) => Content::List(items.into_iter().map(|item| of(item, key, names, order)).collect()),
            other => other,
        }
    }
    of(content, "", names, order)
}

/// Puts entries in any order, always the same from the same seed.
fn shuffle(seed: u64) -> impl FnMut(&mut Vec<(String, Content)>) {
    let mut state = seed;
    move |entries| {
        for at in (1..entries.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            entries.swap(at, (state >> 33) as usize % (at + 1));
        }
    }
}

/// The units that a quantity may be written in, the best first.
type Choose<'c> = &'c dyn Fn(&Unit, &'static [Unit]) -> Vec<&'static Unit>;

/// Each quantity in the first of the units of its kind that says it exactly.
fn in_units(content: Content, key: &str, choose: Choose) -> Content {
    match content {
        Content::Map(entries) => Content::Map(
            entries
                .into_iter()
                .map(|(key, value)| {
                    let value = in_units(value, &key, choose);
                    (key, value)
                })
                .collect(),
        ),
        Content::List(items) => Content::List(items.into_iter().map(|item| in_units(item, key, choose)).collect()),
        Content::Scalar { text, quoted } => {
            let text = measured(&text, key, choose).unwrap_or(text);
            Content::Scalar { text, quoted }
        }
        Content::Nothing => Content::Nothing,
    }
}

fn measured(text: &str, key: &str, choose: Choose) -> Option<String> {
    // A flow through a valve and its coefficient are both in cubic metres an hour.
    if key.starts_with("kv") || key == "presetting" {
        return converted::<FlowCoefficient>(text, choose);
    }
    let kinds: [fn(&str, Choose) -> Option<String>; 27] = [
        converted::<Length>,
        converted::<Area>,
        converted::<Volume>,
        converted::<Duration>,
        converted::<Temperature>,
        converted::<TemperatureDifference>,
        converted::<Power>,
        converted::<HeatFlux>,
        converted::<Conductivity>,
        converted::<ThermalResistance>,
        converted::<Transmittance>,
        converted::<MassFlow>,
        converted::<VolumeFlow>,
        converted::<Velocity>,
        converted::<Pressure>,
        converted::<Density>,
        converted::<ArealMass>,
        converted::<SpecificHeat>,
        converted::<Viscosity>,
        converted::<Share>,
        converted::<AirChangeRate>,
        converted::<SpecificVolume>,
        converted::<Voltage>,
        converted::<Current>,
        converted::<ElectricalResistance>,
        converted::<Angle>,
        converted::<FlowCoefficient>,
    ];
    kinds.into_iter().find_map(|kind| kind(text, choose))
}

/// A value or a range of the kind in another unit; nothing if it is none of the kind.
fn converted<Q: Quantity>(text: &str, choose: Choose) -> Option<String> {
    let (from, to) = match text.split_once(" to ") {
        Some((from, to)) => (Some(from.parse::<f64>().ok()?), to),
        None => (None, text),
    };
    let value = Q::parse(to).ok()?;
    let spelling = to.trim_start_matches(|c: char| c.is_ascii_digit() || "+-.".contains(c)).trim();
    let unit = Q::UNITS.iter().find(|unit| unit.spelling == spelling)?;
    choose(unit, Q::UNITS).into_iter().find_map(|other| {
        let number = |si: f64| short((si - other.offset) / other.factor);
        let written = format!("{} {}", number(value.si())?, other.spelling);
        let again = Q::parse(&written).unwrap_or_else(|fault| panic!("{written}: {fault:?}"));
        assert!((again.si() - value.si()).abs() <= 1e-12 * value.si().abs(), "{text} is not {written}");
        Some(match from {
            Some(from) => format!("{} to {written}", number(from * unit.factor + unit.offset)?),
            None => written,
        })
    })
}

/// A number in few digits; nothing if they do not say it exactly, as of an hour in weeks.
fn short(number: f64) -> Option<String> {
    let rounded: f64 = format!("{number:.8e}").parse().ok()?;
    ((rounded - number).abs() <= 1e-14 * number.abs()).then(|| rounded.to_string())
}

/// The units of other sizes, from the one that stands behind it on.
fn other_sizes(unit: &Unit, units: &'static [Unit]) -> Vec<&'static Unit> {
    let at = units.iter().position(|it| it.spelling == unit.spelling).unwrap_or(0);
    units[at..].iter().chain(&units[..at]).filter(|it| it.factor != unit.factor).collect()
}

/// The same unit, spelled otherwise.
fn other_spellings(unit: &Unit, units: &'static [Unit]) -> Vec<&'static Unit> {
    units.iter().filter(|it| it.factor == unit.factor && it.spelling != unit.spelling).collect()
}
