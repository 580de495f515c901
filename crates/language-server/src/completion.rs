//! What may be written at a place, the likeliest first.

use crate::context::{Context, On};
use crate::nearby::{Nearby, beside};
use crate::outline::{At, Outline};
use crate::preview::preview;
use crate::snapshot::Snapshot;
use design::{Kind, RecordInfo, Shape};
use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::path::PathBuf;

/// Something that may be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    pub label: String,
    pub kind: Sort,
    /// What it is in short.
    pub detail: String,
    /// More about it, where that costs nothing.
    pub about: Option<String>,
    /// Where more about it can be asked for.
    pub more: More,
    pub bytes: Range<usize>,
    pub insert: Vec<Piece>,
    /// Whether the next thing to be written is to be proposed at once.
    pub goes_on: bool,
}

/// What a proposal is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    Key,
    Block,
    Choice,
    Name,
    Material,
    Unit,
    Value,
    File,
    Rule,
    Sketch,
}

/// Where more about a proposal is found.
#[derive(Debug, Clone, PartialEq)]
pub enum More {
    Nothing,
    /// The key that these lead to.
    Key(Vec<String>),
    /// The page of the rule.
    Rule(String),
}

/// A piece of what is inserted.
#[derive(Debug, Clone, PartialEq)]
pub enum Piece {
    Text(String),
    /// Where the cursor stops, with what stands there at first.
    Stop(String),
    /// Where one of these is chosen.
    Choice(Vec<String>),
}

/// Everything that may be written at the place of `context`.
pub fn proposals(of: &Snapshot, nearby: &Nearby, context: &Context) -> Vec<Proposal> {
    let scope = Scope { of, nearby, context, blocks: RefCell::default() };
    match context.on {
        On::Key => scope.keys(),
        On::Value => scope.values(),
    }
}

/// What a resolved proposal says of a key.
pub fn about_key(root: &Shape, path: &[String]) -> Option<String> {
    let (key, within) = path.split_last()?;
    let block =
        within.iter().try_fold(root.clone(), |shape, key| shape.under(key).or_else(|| shape.item()?.under(key)))?;
    let record = block.record().or_else(|| block.item()?.record())?;
    let field = record.field(key)?;
    Some(format!("{}\n\n{}", field.about.trim(), sentence(&(field.shape)().words())))
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect::<String>() + ".").unwrap_or_default()
}

/// Names of a kind with what they are, in the order of the files.
type NamesOf = Vec<(String, String)>;

struct Scope<'s> {
    of: &'s Snapshot,
    nearby: &'s Nearby,
    context: &'s Context,
    /// The names of each kind that somebody has asked for.
    blocks: RefCell<HashMap<Kind, NamesOf>>,
}

impl Scope<'_> {
    fn proposal(&self, label: impl Into<String>, kind: Sort) -> Proposal {
        let label = label.into();
        Proposal {
            insert: vec![Piece::Text(label.clone())],
            label,
            kind,
            detail: String::new(),
            about: None,
            more: More::Nothing,
            bytes: self.context.typed.clone(),
            goes_on: false,
        }
    }

    /// The keys that the block may have and has not, in the order of the format; of a block of names a sketch of a new one.
    fn keys(&self) -> Vec<Proposal> {
        let Some(shape) = &self.context.shape else { return Vec::new() };
        let mut found = Vec::new();
        if self.context.is_item && !self.context.has_colon {
            // A name alone may stand for a whole item.
            let names = shape.alternatives().into_iter().filter(|it| matches!(it, Shape::Name(_)));
            found.extend(names.flat_map(|it| self.of_shape(&it)));
        }
        if let Some(record) = shape.record() {
            let missing =
                record.fields.iter().filter(|field| !self.context.given.iter().any(|given| given == field.key));
            for field in missing {
                found.push(self.key(record, field.key, (field.shape)(), field.about));
            }
        }
        match shape.names_of() {
            Some(Kind::Label) if self.context.path.first().is_some_and(|it| it == "rules") => {
                found.extend(self.rules_as_keys())
            }
            Some(Kind::Label) if self.is_limits() => found.extend(self.limits()),
            Some(kind) => found.extend(self.sketch(kind, shape)),
            None => {}
        }
        found
    }

    fn key(&self, record: &RecordInfo, key: &str, shape: Shape, about: &str) -> Proposal {
        let is_block = shape.record().is_some() || shape.names_of().is_some();
        let is_list = matches!(shape, Shape::List { or_one: false, .. });
        let mut path = self.context.path.clone();
        path.pop();
        path.push(key.to_string());
        let deeper = " ".repeat(self.context.indent + 2);
        let after = match () {
            () if self.context.has_colon => "",
            () if self.context.in_brackets => ": ",
            () if is_block && !has_short_form(&shape) => &format!(":\n{deeper}"),
            () if is_list => &format!(":\n{deeper}- "),
            () => ": ",
        };
        Proposal {
            detail: shape.words(),
            insert: vec![Piece::Text(format!("{key}{after}"))],
            more: More::Key(path),
            about: Some(about.lines().next().unwrap_or(record.about).trim().to_string()),
            goes_on: !self.context.has_colon,
            ..self.proposal(key, if is_block { Sort::Block } else { Sort::Key })
        }
    }

    /// The key under the cursor as it is typed so far, whole.
    fn typed_key(&self) -> String {
        self.of.text.get(self.context.typed.clone()).unwrap_or_default().to_string()
    }

    fn values(&self) -> Vec<Proposal> {
        let context = self.context;
        let (block, key) = (context.path.iter().rev().nth(1), context.path.last());
        let mut found = match (context.path.first().map(String::as_str), key.map(String::as_str)) {
            (Some("library"), _) => self.libraries(),
            (Some("departures"), Some("rule")) => self.rules(),
            (Some("departures"), Some("at")) => self.places(),
            (_, Some("assumed" | "from-maker")) => self.own_keys(),
            (_, Some("material")) if block.is_some_and(|it| it != "pipes") && self.takes_text() => self.materials(),
            _ => Vec::new(),
        };
        if let Some(shape) = &context.shape {
            for alternative in shape.alternatives() {
                found.extend(self.of_shape(&alternative));
            }
        }
        if context.lacks_space {
            for proposal in &mut found {
                proposal.insert.insert(0, Piece::Text(" ".into()));
            }
        }
        let mut labels = HashSet::new();
        found.retain(|it| labels.insert(it.label.clone()));
        found
    }

    fn takes_text(&self) -> bool {
        self.context.shape.as_ref().is_some_and(|it| it.alternatives().iter().any(|it| matches!(it, Shape::Text(_))))
    }

    fn of_shape(&self, shape: &Shape) -> Vec<Proposal> {
        match shape {
            Shape::Word(words) => words
                .iter()
                .map(|(word, about)| {
                    let about = about.trim();
                    Proposal { detail: about.to_string(), ..self.proposal(*word, Sort::Choice) }
                })
                .collect(),
            Shape::Flag => ["true", "false"].map(|word| self.proposal(word, Sort::Choice)).into(),
            Shape::Name(kind) => self.names(*kind),
            Shape::Quantity { kind, units } => self.units(kind, units, false),
            Shape::Range { kind, units } => self.units(kind, units, true),
            Shape::Date => {
                let today = jiff::ZonedDateTime::now().date().to_string();
                vec![Proposal { detail: "today".into(), ..self.proposal(today, Sort::Value) }]
            }
            Shape::Text(example) if *example == "multilayer 16 x 2" => self.pipes(),
            Shape::Text(example) if !example.is_empty() && self.context.before.is_empty() => {
                vec![Proposal { detail: "an example".into(), ..self.proposal(*example, Sort::Value) }]
            }
            Shape::Point => vec![Proposal {
                detail: "in metres".into(),
                insert: vec![text("["), stop("0"), text(", "), stop("0"), text("]")],
                ..self.proposal("[x, y]", Sort::Value)
            }],
            Shape::Record(info) if self.context.before.is_empty() => vec![self.in_braces(info)],
            Shape::Named(..) => {
                vec![Proposal { detail: "there are none".into(), ..self.proposal("none", Sort::Choice) }]
            }
            Shape::List { of, or_one: false, .. } if self.context.before.is_empty() && !self.context.is_item => {
                vec![Proposal {
                    detail: of.words(),
                    insert: vec![text("["), stop(""), text("]")],
                    ..self.proposal("[…]", Sort::Value)
                }]
            }
            _ => Vec::new(),
        }
    }

    /// A block of known keys on one line, with those that come first.
    fn in_braces(&self, info: &RecordInfo) -> Proposal {
        let mut insert = vec![text("{")];
        for (at, field) in info.fields.iter().take(2).enumerate() {
            insert.push(text(&format!("{}{}: ", if at > 0 { ", " } else { "" }, field.key)));
            insert.push(self.example(&(field.shape)()));
        }
        insert.push(text("}"));
        let detail = info.about.lines().next().unwrap_or_default().to_string();
        Proposal { detail, insert, ..self.proposal("{…}", Sort::Value) }
    }

    /// The number that is typed, in each unit that fits; without one, a number still to be typed.
    fn units(&self, kind: &str, units: &[&str], is_range: bool) -> Vec<Proposal> {
        let typed = self.context.before.trim_end();
        let number = typed.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.').to_string();
        let whole = if number.is_empty() { None } else { Some(number) };
        let unit = |unit: &str| match &whole {
            Some(number) => {
                let written = format!("{number} {unit}");
                Proposal { detail: kind.to_string(), ..self.proposal(written.trim_end(), Sort::Unit) }
            }
            None => {
                let (label, insert) = if is_range {
                    (format!("… to … {unit}"), vec![stop("0"), text(" to "), stop("1"), text(&format!(" {unit}"))])
                } else {
                    (format!("… {unit}"), vec![stop("0"), text(&format!(" {unit}"))])
                };
                Proposal { detail: kind.to_string(), insert, ..self.proposal(label, Sort::Unit) }
            }
        };
        match quantity::KINDS.iter().find(|it| it.kind == kind) {
            Some(kind) => kind.usual_units().map(|it| it.spelling).filter(|it| *it != "1").map(unit).collect(),
            None => units.first().map(|it| unit(it)).into_iter().collect(),
        }
    }

    fn names(&self, kind: Kind) -> Vec<Proposal> {
        let kinds: &[Kind] = match kind {
            Kind::Crossing => &[Kind::Wall, Kind::Opening, Kind::MovementJoint],
            _ => std::slice::from_ref(&kind),
        };
        let of_kind = |kind: &Kind| {
            let word = kind.word();
            self.names_of(*kind)
                .into_iter()
                .map(|(name, preview)| Proposal {
                    detail: if preview.is_empty() { word.to_string() } else { preview },
                    insert: vec![text(&yaml_tree::written(&name))],
                    ..self.proposal(name, Sort::Name)
                })
                .collect::<Vec<_>>()
        };
        kinds.iter().flat_map(of_kind).collect()
    }

    /// The names of a kind that the design and its libraries give.
    fn names_of(&self, kind: Kind) -> NamesOf {
        if let Some(known) = self.blocks.borrow().get(&kind) {
            return known.clone();
        }
        let mut found = named_in(&self.of.text, kind);
        if matches!(kind, Kind::Pipe | Kind::Floor | Kind::Manifold) {
            self.library_texts().iter().for_each(|text| found.extend(named_in(text, kind)));
        }
        let mut seen = HashSet::new();
        found.retain(|(name, _)| seen.insert(name.clone()));
        self.blocks.borrow_mut().insert(kind, found.clone());
        found
    }

    /// The texts of all libraries, those of libraries included.
    fn library_texts(&self) -> Vec<String> {
        const MOST: usize = 64;
        let (mut texts, mut seen) = (Vec::new(), HashSet::<PathBuf>::new());
        let Some(folder) = self.nearby.folder.clone() else { return texts };
        let mut waiting: Vec<PathBuf> = libraries_of(&self.of.text).iter().map(|it| beside(&folder, it)).collect();
        while let Some(path) = waiting.pop() {
            if texts.len() == MOST || !seen.insert(path.clone()) {
                continue;
            }
            let Ok(bytes) = self.nearby.text(&path) else { continue };
            let text = String::from_utf8_lossy(&bytes).into_owned();
            let folder = path.parent().map(PathBuf::from).unwrap_or_default();
            waiting.extend(libraries_of(&text).iter().map(|it| beside(&folder, it)));
            texts.push(text);
        }
        texts
    }

    fn pipes(&self) -> Vec<Proposal> {
        engineering::water::pipes::listed()
            .map(|pipe| {
                let bore = format!("bore {:.1} mm", pipe.bore().in_millimetres());
                Proposal { detail: bore, ..self.proposal(pipe.to_string(), Sort::Value) }
            })
            .collect()
    }

    fn materials(&self) -> Vec<Proposal> {
        let conductivity = |it: &engineering::heat::materials::Material| match it.conductivity {
            Some(conductivity) => format!("{conductivity}, {}", it.source.words()),
            None => "no conductivity counts".into(),
        };
        engineering::heat::materials::all()
            .iter()
            .map(|it| Proposal {
                detail: conductivity(it),
                about: Some(about_material(it)),
                ..self.proposal(it.name, Sort::Material)
            })
            .collect()
    }

    /// The keys that the block itself has.
    fn own_keys(&self) -> Vec<Proposal> {
        self.context
            .given
            .iter()
            .filter(|it| !matches!(it.as_str(), "assumed" | "from-maker"))
            .map(|key| self.proposal(key, Sort::Key))
            .collect()
    }

    fn rules(&self) -> Vec<Proposal> {
        let takes = check::RULES.iter().filter(|rule| rule.takes_departures);
        takes
            .map(|rule| Proposal {
                detail: rule.group.word().to_string(),
                more: More::Rule(rule.name.to_string()),
                ..self.proposal(rule.name, Sort::Rule)
            })
            .collect()
    }

    /// Every thing that a departure may name.
    fn places(&self) -> Vec<Proposal> {
        let kinds = [
            Kind::Loop,
            Kind::Room,
            Kind::Floor,
            Kind::Manifold,
            Kind::Wall,
            Kind::MovementJoint,
            Kind::Opening,
            Kind::Pipe,
            Kind::Zone,
        ];
        let of_kind = |kind: Kind| {
            let names = self.names_of(kind).into_iter();
            names.map(move |(name, preview)| {
                let path = format!("{}/{name}", kind.block());
                Proposal {
                    detail: preview,
                    insert: vec![text(&yaml_tree::written(&path))],
                    ..self.proposal(path, Sort::Name)
                }
            })
        };
        kinds.into_iter().flat_map(of_kind).collect()
    }

    fn rules_as_keys(&self) -> Vec<Proposal> {
        let deeper = " ".repeat(self.context.indent + 2);
        let may_move = check::RULES.iter().filter(|rule| !rule.stays_as_it_is());
        may_move
            .filter(|rule| !self.context.given.iter().any(|it| it == rule.name))
            .map(|rule| Proposal {
                detail: rule.group.word().to_string(),
                more: More::Rule(rule.name.to_string()),
                insert: vec![text(&if self.context.has_colon {
                    rule.name.into()
                } else {
                    format!("{}:\n{deeper}", rule.name)
                })],
                ..self.proposal(rule.name, Sort::Rule)
            })
            .collect()
    }

    fn is_limits(&self) -> bool {
        self.context.path.iter().any(|it| it == "limits")
    }

    /// The limits of the rule whose block this is.
    fn limits(&self) -> Vec<Proposal> {
        let rule = check::RULES.iter().find(|rule| self.context.path.get(1).is_some_and(|it| it == rule.name));
        let limits = rule.into_iter().flat_map(|rule| rule.limits);
        limits
            .filter(|limit| !self.context.given.iter().any(|it| it == limit.name))
            .map(|limit| Proposal {
                detail: format!("{}, {}", limit.value, limit.source),
                insert: vec![text(&format!("{}: ", limit.name)), stop(limit.value)],
                ..self.proposal(limit.name, Sort::Key)
            })
            .collect()
    }

    /// The files of designs beside this one and below, as they would be named.
    fn libraries(&self) -> Vec<Proposal> {
        const MOST: usize = 200;
        let Some(folder) = self.nearby.folder.as_deref() else { return Vec::new() };
        let mut found = Vec::new();
        let mut waiting = vec![(folder.to_path_buf(), String::new(), 0)];
        while let Some((folder, before, depth)) = waiting.pop() {
            let Ok(entries) = std::fs::read_dir(&folder) else { continue };
            for entry in entries.flatten().take(MOST) {
                let name = entry.file_name().to_string_lossy().into_owned();
                let Ok(kind) = entry.file_type() else { continue };
                if kind.is_dir() && depth < 2 && !name.starts_with('.') {
                    waiting.push((entry.path(), format!("{before}{name}/"), depth + 1));
                } else if kind.is_file() && name.ends_with(".yaml") && !design::is_house_standard(&name) {
                    let path = format!("{before}{name}");
                    if self.of.path.as_deref() != Some(&entry.path()) && found.len() < MOST {
                        found.push(path);
                    }
                }
            }
        }
        found.sort();
        found
            .into_iter()
            .map(|path| Proposal { insert: vec![text(&yaml_tree::written(&path))], ..self.proposal(path, Sort::File) })
            .collect()
    }

    /// A new thing with the keys that it needs first.
    fn sketch(&self, kind: Kind, shape: &Shape) -> Vec<Proposal> {
        let Some(record) = shape.alternatives().into_iter().find_map(|it| match it {
            Shape::Named(_, of) => of.record(),
            _ => None,
        }) else {
            return Vec::new();
        };
        let keys = kind.first_keys();
        if keys.is_empty() || self.context.has_colon {
            return Vec::new();
        }
        let name = self.new_name(kind);
        let mut insert = vec![stop(&name)];
        let deeper = " ".repeat(self.context.indent + 2);
        insert.push(text(if self.context.in_brackets { ": {" } else { ":" }));
        for (at, key) in keys.iter().enumerate() {
            let Some(field) = record.field(key) else { continue };
            insert.push(text(&match (self.context.in_brackets, at) {
                (true, 0) => format!("{key}: "),
                (true, _) => format!(", {key}: "),
                (false, _) => format!("\n{deeper}{key}: "),
            }));
            insert.push(self.example(&(field.shape)()));
        }
        if self.context.in_brackets {
            insert.push(text("}"));
        }
        let detail = format!("with {}", keys.join(", "));
        vec![Proposal { detail, insert, ..self.proposal(format!("new {}", kind.word()), Sort::Sketch) }]
    }

    /// What is typed already, or the next number after the last name.
    fn new_name(&self, kind: Kind) -> String {
        let typed = self.typed_key();
        if !typed.is_empty() {
            return typed;
        }
        let names = self.names_of(kind);
        let taken: HashSet<&str> = names.iter().map(|(name, _)| name.as_str()).collect();
        let last = names.last().map_or(kind.word(), |(name, _)| name);
        let stem = last.trim_end_matches(|c: char| c.is_ascii_digit());
        let stem = if stem == last { format!("{}-", stem.replace(' ', "-")) } else { stem.to_string() };
        (names.len() + 1..)
            .map(|number| format!("{stem}{number}"))
            .find(|name| !taken.contains(name.as_str()))
            .unwrap_or_default()
    }

    /// Something that may stand there, to be typed over.
    fn example(&self, shape: &Shape) -> Piece {
        let alternatives = shape.alternatives();
        for it in &alternatives {
            match it {
                Shape::Word(words) => return Piece::Choice(words.iter().map(|(word, _)| word.to_string()).collect()),
                Shape::Name(kind) if *kind != Kind::Crossing => {
                    let names: Vec<String> =
                        self.names_of(*kind).into_iter().map(|(name, _)| yaml_tree::written(&name)).take(40).collect();
                    if !names.is_empty() {
                        return Piece::Choice(names);
                    }
                }
                _ => {}
            }
        }
        let example = alternatives.iter().find_map(|it| match it {
            Shape::Quantity { units, .. } => units.first().map(|unit| format!("0 {unit}")),
            Shape::Range { units, .. } => units.first().map(|unit| format!("0 to 1 {unit}")),
            Shape::Flag => Some("true".into()),
            Shape::Whole | Shape::Number(_) => Some("1".into()),
            Shape::Point => Some("[0, 0]".into()),
            Shape::Text(example) if !example.is_empty() => Some((*example).to_string()),
            Shape::List { of, .. } if matches!(**of, Shape::Point) => Some("[[0, 0], [1, 0]]".into()),
            Shape::List { .. } => Some("[]".into()),
            Shape::Record(_) | Shape::Named(..) => Some("{}".into()),
            _ => None,
        });
        Piece::Stop(example.unwrap_or_default())
    }
}

/// Whether a block is usually written on one line.
fn has_short_form(shape: &Shape) -> bool {
    shape.record().is_some_and(|record| {
        let nested = |shape: Shape| shape.record().is_some() || shape.names_of().is_some();
        record.fields.len() <= 6 && !record.fields.iter().any(|field| nested((field.shape)()))
    })
}

fn text(text: &str) -> Piece {
    Piece::Text(text.to_string())
}

fn stop(text: &str) -> Piece {
    Piece::Stop(text.to_string())
}

/// What is known of a standard material.
pub fn about_material(it: &engineering::heat::materials::Material) -> String {
    let mut said = vec![format!("**{}**", it.name)];
    if let Some(conductivity) = it.conductivity {
        said.push(format!("conductivity {conductivity} ({})", it.source.words()));
    }
    said.extend(it.density.map(|density| format!("density {density}")));
    said.extend(it.specific_heat.map(|heat| format!("specific heat {heat}")));
    said.join("  \n")
}

/// The lines of a block on the left edge of a text, its key included.
fn block<'t>(text: &'t str, key: &str) -> Option<&'t str> {
    let begins = |at: usize| text[at..].strip_prefix(key).is_some_and(|rest| rest.starts_with(':'));
    let start = if begins(0) { 0 } else { (text.match_indices('\n').map(|(at, _)| at + 1)).find(|at| begins(*at))? };
    let rest = &text[start..];
    let next = |at: usize| rest[at..].starts_with(|c: char| !c.is_whitespace() && !matches!(c, '#' | '-' | '}' | ']'));
    let end = rest.match_indices('\n').map(|(at, _)| at + 1).find(|at| next(*at)).unwrap_or(rest.len());
    Some(&rest[..end])
}

/// The names of a kind that a text gives, with what each of them is.
fn named_in(text: &str, kind: Kind) -> NamesOf {
    let mut keys = kind.block().split('/');
    let Some(block) = keys.next().filter(|it| !it.is_empty()).and_then(|key| block(text, key)) else {
        return Vec::new();
    };
    let outline = Outline::of(block);
    let Some(mut at) = outline.root(block).and_then(|root| root.children().next()) else { return Vec::new() };
    for key in keys {
        let Some(inner) = at.get(key) else { return Vec::new() };
        at = inner;
    }
    let named = |it: At| Some((it.key_text().filter(|name| !name.is_empty())?.to_string(), preview(it)));
    at.children().filter_map(named).collect()
}

/// The libraries that a text names.
fn libraries_of(text: &str) -> Vec<String> {
    let Some(block) = block(text, "library") else { return Vec::new() };
    let outline = Outline::of(block);
    let Some(list) = outline.root(block).and_then(|root| root.children().next()) else { return Vec::new() };
    let one = list.value_text().map(str::to_string);
    one.into_iter().chain(list.children().filter_map(|it| Some(it.value_text()?.to_string()))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::context;
    use std::sync::Arc;

    fn proposed(text: &str) -> Vec<Proposal> {
        proposed_in("/x/a.ufh.yaml", text)
    }

    fn proposed_in(path: &str, text: &str) -> Vec<Proposal> {
        let at = text.find('|').expect("there is a cursor");
        let text = text.replacen('|', "", 1);
        let of = Snapshot::new(path.into(), Some(path.into()), 1, Arc::new(text));
        let nearby = Nearby::of(of.path.as_deref(), Arc::new(Vec::new()));
        let Some(context) = context::at(&of.text, at, &of.shape()) else { return Vec::new() };
        proposals(&of, &nearby, &context)
    }

    fn labels(text: &str) -> Vec<String> {
        proposed(text).into_iter().map(|it| it.label).collect()
    }

    /// As a client that takes no snippets would have it.
    fn inserted(it: &Proposal) -> String {
        let piece = |piece: &Piece| match piece {
            Piece::Text(text) | Piece::Stop(text) => text.clone(),
            Piece::Choice(words) => words.first().cloned().unwrap_or_default(),
        };
        it.insert.iter().map(piece).collect()
    }

    #[test]
    fn keys_come_in_the_order_of_need() {
        let found = labels("loops:\n  L1:\n    manifold: M1\n    |\n");
        assert_eq!(found[..4], ["port", "room", "pipe", "spacing"]);
        assert!(!found.contains(&"manifold".to_string()));
        let found = proposed("loops:\n  L1:\n    |\n");
        assert_eq!((inserted(&found[0]).as_str(), found[0].detail.as_str()), ("manifold: ", "the name of a manifold"));
        assert_eq!(labels("|")[..3], ["format", "project", "library"]);
    }

    #[test]
    fn words_names_and_units_fit_the_place() {
        let rooms = "rooms:\n  hall: {use: living, area: 12 m²}\n  bath: {use: bathroom}\n";
        let found = proposed(&format!("{rooms}loops:\n  L1: {{room: |}}\n"));
        let shown: Vec<(&str, &str)> = found.iter().map(|it| (it.label.as_str(), it.detail.as_str())).take(2).collect();
        assert_eq!(shown, [("hall", "living, 12 m²"), ("bath", "bathroom")]);
        assert!(labels("loops:\n  L1:\n    spacing: 150|\n").starts_with(&[
            "150 mm".into(),
            "150 m".into(),
            "150 cm".into()
        ]));
        assert!(labels("loops:\n  L1:\n    spacing: 150 m|\n").contains(&"150 mm".to_string()));
        assert_eq!(labels("loops:\n  L1:\n    layout: |\n"), ["meander", "spiral"]);
        assert!(labels("loops:\n  L1:\n    pipe: |\n").iter().any(|it| it.starts_with("PE-X 16 x 2")));
        let found = proposed("floors:\n  f:\n    layers:\n      - {material: |}\n");
        let screed = found.iter().find(|it| it.label == "cement screed").expect("screed is a standard material");
        assert!(screed.detail.contains("W/(m·K)"), "{}", screed.detail);
    }

    /// Every key of a format, by its path: `None` stands for an item of a list, `x` for a name of the designer's choice.
    fn keys_of(
        shape: &Shape,
        path: &mut Vec<Option<&'static str>>,
        found: &mut Vec<(Vec<Option<&'static str>>, Shape)>,
    ) {
        if path.len() > 12 {
            return;
        }
        for it in shape.alternatives() {
            let (step, of) = match it {
                Shape::Record(info) => {
                    for field in info.fields {
                        path.push(Some(field.key));
                        found.push((path.clone(), (field.shape)()));
                        keys_of(&(field.shape)(), path, found);
                        path.pop();
                    }
                    continue;
                }
                Shape::Named(_, of) => (Some("x"), of),
                Shape::List { of, .. } => (None, of),
                _ => continue,
            };
            path.push(step);
            if step.is_none() {
                found.push((path.clone(), (*of).clone()));
            }
            keys_of(&of, path, found);
            path.pop();
        }
    }

    /// Something put at the end of a path, as YAML in blocks, beside what stands there already.
    fn put(at: &mut serde_json::Value, path: &[Option<&str>], leaf: &str) {
        use serde_json::{Value, json};
        match path {
            [] => *at = json!(leaf),
            [Some(key), rest @ ..] => {
                if !at.is_object() {
                    *at = json!({});
                }
                let under = at.as_object_mut().expect("it is one now").entry(*key).or_insert(Value::Null);
                put(under, rest, leaf);
            }
            [None, rest @ ..] => {
                *at = json!([null]);
                put(&mut at[0], rest, leaf);
            }
        }
    }

    fn in_blocks(of: &serde_json::Value, indent: usize) -> String {
        use serde_json::Value;
        match of {
            Value::Object(entries) => entries
                .iter()
                .map(|(key, value)| match value {
                    Value::String(leaf) => format!("{:indent$}{key}: {leaf}\n", ""),
                    other => format!("{:indent$}{key}:\n{}", "", in_blocks(other, indent + 2)),
                })
                .collect(),
            Value::Array(items) => match &items[0] {
                Value::String(leaf) => format!("{:indent$}- {leaf}\n", ""),
                other => format!("{:indent$}- {}", "", in_blocks(other, indent + 2).trim_start()),
            },
            _ => String::new(),
        }
    }

    /// Whatever the table of the format knows of a key, completion proposes: its words, `true` and `false`, `none`, units, and
    /// the names that the design gives.
    #[test]
    fn every_key_is_proposed_what_it_takes() {
        let mut keys = Vec::new();
        keys_of(&<design::Design as design::Value>::shape(), &mut Vec::new(), &mut keys);
        assert!(keys.len() > 400, "{} keys", keys.len());
        let mut names = 0;
        for (path, shape) in &keys {
            let mut wanted: Vec<String> = Vec::new();
            let mut design = serde_json::json!({});
            for it in shape.alternatives() {
                match it {
                    Shape::Word(words) => wanted.extend(words.iter().map(|(word, _)| word.to_string())),
                    Shape::Flag => wanted.extend(["true", "false"].map(String::from)),
                    Shape::Named(..) => wanted.push("none".into()),
                    Shape::Quantity { units, .. } => {
                        wanted.extend(units.first().filter(|it| **it != "1").map(|it| format!("… {it}")));
                    }
                    Shape::Name(kind) if kind != Kind::Label => {
                        let block = if kind == Kind::Crossing { Kind::Wall } else { kind }.block();
                        let known: Vec<Option<&str>> = block.split('/').map(Some).chain([Some("known")]).collect();
                        put(&mut design, &known, "{}");
                        wanted.push("known".into());
                        names += 1;
                    }
                    _ => {}
                }
            }
            put(&mut design, path, "|");
            let mut texts = vec![in_blocks(&design, 0)];
            // On one line, too.
            if let [.., Some(_), Some(last)] = &path[..] {
                put(&mut design, &path[..path.len() - 1], &format!("{{{last}: |}}"));
                texts.push(in_blocks(&design, 0));
            }
            for text in texts {
                let found = labels(&text);
                let missing: Vec<&String> = wanted.iter().filter(|it| !found.contains(it)).collect();
                assert!(missing.is_empty(), "{missing:?} not in {found:?} at\n{text}");
            }
        }
        assert!(names > 20, "{names} keys take names");
    }

    #[test]
    fn a_sketch_of_a_new_thing_is_a_design_that_can_be_read() {
        for (block, word) in [
            ("rooms", "room"),
            ("loops", "loop"),
            ("floors", "floor"),
            ("manifolds", "manifold"),
            ("pipes", "pipe"),
            ("walls", "wall"),
        ] {
            let text = format!("format: 1\n{block}:\n  |\n");
            let found = proposed(&text);
            let sketch = found.iter().find(|it| it.label == format!("new {word}")).unwrap_or_else(|| panic!("{block}"));
            let text = text.replacen('|', &inserted(sketch), 1);
            let reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
            let broken = reading.faults.iter().find(|it| !matches!(it.kind, design::FaultKind::UnknownName { .. }));
            assert!(broken.is_none(), "{text}: {broken:?}");
        }
    }

    #[test]
    fn rules_and_their_limits_are_known() {
        assert!(labels("departures:\n  - {rule: |}\n").contains(&"spacing-too-wide".to_string()));
        assert_eq!(labels("loops: {L1: {}}\ndepartures:\n  - {at: |}\n")[0], "loops/L1");
        let found = proposed_in("/x/house-standard.yaml", "rules:\n  |\n");
        assert!(found.iter().any(|it| it.label == "loop-over-maximum-length"), "{found:?}");
        let found =
            proposed_in("/x/house-standard.yaml", "rules:\n  loop-over-maximum-length:\n    limits:\n      |\n");
        assert!(!found.is_empty(), "the rule has limits");
    }

    #[test]
    fn more_is_said_of_a_key_when_asked() {
        let root = <design::Design as design::Value>::shape();
        let about = |path: &[&str]| about_key(&root, &path.iter().map(|it| it.to_string()).collect::<Vec<_>>());
        let said = about(&["loops", "L1", "spacing"]).expect("it is a key");
        assert!(said.starts_with("The distance between its runs"), "{said}");
        assert!(said.contains("A length in mm, m, cm"), "{said}");
        assert!(about(&["floors", "f", "layers", "thickness"]).is_some());
        assert!(about(&["nothing"]).is_none());
        for text in [
            "loops:\n  L1:\n    |\n",
            "floors:\n  f:\n    layers:\n      - |\n",
            "|",
            "rooms:\n  hall: {use: living, |}\n",
            "project:\n  n|\n",
        ] {
            for it in proposed(text).into_iter().filter(|it| it.kind != Sort::Sketch) {
                let More::Key(path) = &it.more else { panic!("{it:?}") };
                assert!(about_key(&root, path).is_some(), "{text:?}: {path:?}");
            }
        }
    }
}
