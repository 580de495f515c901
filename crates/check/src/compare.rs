//! What a revision changed, in the terms of whoever reviews it: two checks held against each other.
//!
//! Things are known by their names. One that went and one that came and says the same is one that was renamed; names that follow it are
//! no change of their own. A value counts as changed when it says something else, not when it is written otherwise: an outline is the
//! same from whichever corner and whichever way round it is written.

use crate::same::{self, Known};
use crate::{Finding, Outcome, Severity};
use design::{Departure, Design, Given, Shape, Stage, Value};
use engineering::plan::{Line, Lines, Point, Route};
use jiff::civil::Date;
use quantity::Length;
use serde_json::Value as Json;
use std::cmp::Ordering;
use std::collections::{BTreeSet, HashMap, HashSet};
use yaml_tree::{FileId, Kind, Node};

/// What lies between two versions of a design.
#[derive(Debug)]
pub struct Comparison {
    /// Whether the revision was raised with what changed.
    pub revision: Revision,
    /// The things that changed, in the order of the format; last those of which only figures did.
    pub things: Vec<Thing>,
    pub findings: Vec<FindingChange>,
    /// How many findings are as they were.
    pub unchanged: usize,
}

/// Whether the revision was raised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Revision {
    /// It is a later one.
    Raised,
    /// It is a later one, and its day of issue lies before that of the old one.
    RaisedBefore { was: Date, is: Date },
    /// It is another one, and the two do not say which is the later.
    Changed { was: String, is: String },
    /// It is an earlier one.
    Lowered { was: String, is: String },
    /// Nothing that a drawing shows has changed.
    SameDesign,
    /// The old version was not issued: its revision is still being drawn.
    NotIssued,
    /// The old version was issued, the design is another one, and the revision is the same.
    NotRaised(String),
}

/// A thing of a design that changed.
#[derive(Debug, Clone)]
pub struct Thing {
    /// Its stable name, as it is now: `loops/L1`.
    pub at: String,
    pub fate: Fate,
    /// How far its pipe lies from where it lay, for a loop with a route.
    pub moved: Option<Length>,
    pub given: Vec<GivenChange>,
    pub figures: Vec<FigureChange>,
}

impl Thing {
    /// Whether the design says the same of it, and only figures changed with those of other things.
    pub fn only_follows(&self) -> bool {
        self.fate == Fate::Stays && self.moved.is_none() && self.given.is_empty()
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    Added,
    Removed,
    /// It had another name.
    Renamed(String),
    Stays,
}

/// What the design says of a thing, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenChange {
    /// The key, or the keys that lead to it.
    pub key: String,
    /// As it was written; lists and records in words.
    pub before: Option<String>,
    pub after: Option<String>,
    /// Where both are drawn: how far the one lies from the other.
    pub moved: Option<Length>,
}

/// A figure that was worked out of a thing, before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureChange {
    pub name: &'static str,
    pub unit: &'static str,
    /// In SI, and as the trade writes it.
    pub before: Option<(f64, String)>,
    pub after: Option<(f64, String)>,
}

/// A finding that is not as it was.
#[derive(Debug, Clone)]
pub struct FindingChange {
    pub became: Became,
    /// The finding of the new version, or that of the old one where there is none now.
    pub finding: Finding,
    pub at: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Became {
    New,
    /// It was there and weighed less.
    Graver(Severity),
    /// It was there and weighed more.
    Lighter(Severity),
    /// A departure accepts it now.
    Departed,
    /// It is gone, because the rule cannot look any more.
    NotChecked,
    Cleared,
}

impl Became {
    /// What became of it, in words.
    pub fn word(self) -> &'static str {
        match self {
            Became::New => "new",
            Became::Graver(_) => "graver",
            Became::Lighter(_) => "lighter",
            Became::Departed => "accepted by a departure",
            Became::NotChecked => "not checked any more",
            Became::Cleared => "cleared",
        }
    }

    /// Whether it weighs as something that was not there.
    pub fn is_worse(self) -> bool {
        matches!(self, Became::New | Became::Graver(_))
    }
}

/// Holds the new version of a design against the old one.
pub fn compare(old: &Outcome, new: &Outcome) -> Comparison {
    let (old_trees, new_trees) = (trees(old), trees(new));
    let (before, after) = (Side::of(old, &old_trees), Side::of(new, &new_trees));
    let mut renames = Renames::default();
    let mut things = Vec::new();
    for field in Design::INFO.fields {
        if ["format", "library", "departures"].contains(&field.key) {
            continue;
        }
        match (field.shape)() {
            Shape::Named(..) => named(field.key, &before, &after, &mut renames, &mut things),
            _ => {
                let change = Thing {
                    at: field.key.into(),
                    fate: Fate::Stays,
                    moved: None,
                    given: Vec::new(),
                    figures: Vec::new(),
                };
                things.extend(changed(change, &[field.key], &[field.key], &before, &after, &renames));
            }
        }
    }
    departures(&before, &after, &renames, &mut things);
    things.sort_by_key(Thing::only_follows);
    let (findings, unchanged) = findings(old, new, &renames);
    Comparison { revision: revision(&old.design, &new.design, &things), things, findings, unchanged }
}

/// The figures by which a reviewer knows a thing, by the block in which it stands.
const FIGURES: &[(&str, &[&str])] = &[
    ("floors", &["resistance-above", "insulation-below", "u-value"]),
    ("rooms", &["area", "heat-loss", "heat-needed", "flow-temperature-needed", "output", "surface-temperature-mean"]),
    (
        "loops",
        &[
            "length",
            "volume-flow",
            "presetting-kv",
            "presetting-turns",
            "pressure-drop",
            "flow-temperature",
            "return-temperature",
            "heat-up",
            "surface-temperature-mean",
        ],
    ),
    ("manifolds", &["volume-flow", "pressure-drop", "head-needed", "return-temperature"]),
    ("heat-source", &["flow", "return-temperature"]),
    ("water", &["content", "vessel-volume-needed"]),
    ("electric-mats", &["power", "current"]),
];

/// How much of a figure has to change before anyone adjusts anything for it (common practice, no source): a hundredth, or of a
/// temperature a tenth of a kelvin.
const SHARE: f64 = 0.01;
const KELVIN: f64 = 0.095;
/// Pipe that lies nearer to where it lay than this was not moved: that is the breadth of a line on a drawing.
const LINE: Length = Length::millimetres(10.0);
/// Corners that lie nearer to the line than this are where it was: the least that a tape shows.
const NOTHING: Length = Length::millimetres(0.5);
/// No outline and no loop has more corners; a file that has them must not take an hour.
const MOST_CORNERS: usize = 2000;

/// One version of the design.
struct Side<'s> {
    outcome: &'s Outcome,
    /// All that it says, as plain data.
    plain: Json,
    /// What stands under the keys of a block.
    entries: HashMap<(&'s str, &'s str), &'s Node<'s>>,
    figures: HashMap<String, workings::Line>,
    /// Where names stand that nothing has, in order. They are read as the name that was probably meant, and say another all the same.
    unknown: Vec<&'s str>,
}

fn trees(outcome: &Outcome) -> Vec<yaml_tree::Tree<'_>> {
    let sources = outcome.sources.iter().enumerate();
    sources.map(|(at, source)| yaml_tree::parse(FileId::new(at as u16), &source.text)).collect()
}

impl<'s> Side<'s> {
    fn of(outcome: &'s Outcome, trees: &'s [yaml_tree::Tree<'s>]) -> Side<'s> {
        let mut entries = HashMap::new();
        for tree in trees {
            for (block, things) in tree.root.iter().filter_map(Node::as_map).flatten() {
                for (name, node) in things.as_map().into_iter().flatten() {
                    let (Some(block), Some(name)) = (block.as_text(), name.as_text()) else { continue };
                    // Of a name that is given twice the first is read.
                    entries.entry((block, name)).or_insert(node);
                }
            }
        }
        let lines = workings::figures(&outcome.design, &outcome.workings, &|_| false);
        let figures = lines.into_iter().map(|line| (line.name.clone(), line)).collect();
        let all = outcome.findings.iter().chain(&outcome.followers);
        let unknown =
            all.filter(|it| it.rule.name == "unknown-reference").filter_map(|it| it.path.as_deref()).collect();
        Side { outcome, plain: Value::plain(&outcome.design), entries, figures, unknown }
    }

    /// What stands under the keys, as plain data.
    fn at(&self, keys: &[&str]) -> Option<&Json> {
        keys.iter().try_fold(&self.plain, |at, key| at.get(key)).filter(|it| !it.is_null())
    }

    /// What stands under the keys, in words.
    fn text(&self, keys: &[String]) -> Option<String> {
        self.node(keys).map(in_words)
    }

    /// Whether all that stands under the keys is written as one value, such as `0.5 to 5 l/min`.
    fn is_one_value(&self, keys: &[String]) -> bool {
        self.node(keys).is_some_and(|node| node.as_text().is_some())
    }

    fn node(&self, keys: &[String]) -> Option<&'s Node<'s>> {
        let [block, name, below @ ..] = keys else { return None };
        let entry = *self.entries.get(&(block.as_str(), name.as_str()))?;
        below.iter().try_fold(entry, |at, key| match &at.kind {
            Kind::List(items) => items.get(key.parse::<usize>().ok()?.checked_sub(1)?),
            // One that is given without brackets stands for a list of one.
            Kind::Scalar(_) if key == "1" => Some(at),
            _ => at.get(key),
        })
    }

    /// The keys of a thing under which a name stands that nothing has.
    fn unknown_of(&self, thing: &[&str]) -> Vec<&'s str> {
        let begins = format!("{}/", thing.join("/"));
        let first = self.unknown.partition_point(|path| *path < begins.as_str());
        self.unknown[first..].iter().map_while(|path| path.strip_prefix(begins.as_str())).collect()
    }

    fn figure(&self, keys: &[&str], name: &str) -> Option<(&workings::Line, (f64, String))> {
        let line = self.figures.get(&format!("{}.{name}", keys.join(".")))?;
        let value = line.worked.as_ref().ok()?.value;
        Some((line, (value, line.shown.clone()?)))
    }

    fn route(&self, keys: &[&str]) -> Option<&'s Route> {
        let &["loops", name] = keys else { return None };
        let at = self.outcome.design.loops.position(name)?;
        self.outcome.workings.loops.get(at)?.route.as_ref()?.as_deref().ok()
    }
}

/// What a node says, without the signs of the file: `date 2026-05-01, pressure 6 bar`; points as `(0, 4.2)`, what is so as `yes`.
fn in_words(node: &Node) -> String {
    let is_plain = |node: &Node| matches!(node.kind, Kind::Null | Kind::Scalar(_));
    match &node.kind {
        Kind::Null => "nothing".into(),
        Kind::Scalar(scalar) => match &*scalar.text {
            "true" if !scalar.quoted => "yes".into(),
            "false" if !scalar.quoted => "no".into(),
            text => text.split_whitespace().collect::<Vec<_>>().join(" "),
        },
        Kind::List(items) => {
            let are_points = items.iter().all(|item| matches!(&item.kind, Kind::List(_)));
            let said = items.iter().map(|item| match are_points {
                true => format!("({})", in_words(item)),
                false => in_words(item),
            });
            let between = if are_points || items.iter().all(is_plain) { ", " } else { "; " };
            said.collect::<Vec<_>>().join(between)
        }
        Kind::Map(entries) => {
            let said = entries.iter().map(|(key, value)| match is_plain(value) {
                true => format!("{} {}", in_words(key), in_words(value)),
                false => format!("{} ({})", in_words(key), in_words(value)),
            });
            said.collect::<Vec<_>>().join(", ")
        }
    }
}

/// The new names of what was renamed, by old name.
#[derive(Default)]
struct Renames {
    in_block: HashMap<&'static str, HashMap<String, String>>,
    anywhere: HashMap<String, String>,
    /// The old names, by new name.
    former: HashMap<String, String>,
}

impl Renames {
    fn add(&mut self, block: &'static str, old: &str, new: &str) {
        self.in_block.entry(block).or_default().insert(old.to_string(), new.to_string());
        self.anywhere.insert(old.to_string(), new.to_string());
        self.former.insert(new.to_string(), old.to_string());
    }

    /// A path of the old version as it is in the new one.
    fn path(&self, path: &str) -> String {
        let renamed = || {
            let (block, below) = path.split_once('/')?;
            let names = self.in_block.get(block)?;
            // A name may have the sign in it that parts the steps; none has it more often than this.
            let ends = below.match_indices('/').map(|(at, _)| at).take(8).chain([below.len()]);
            let longest = ends.filter(|end| names.contains_key(&below[..*end])).last()?;
            Some(format!("{block}/{}{}", names[&below[..longest]], &below[longest..]))
        };
        renamed().unwrap_or_else(|| path.to_string())
    }

    /// What the old version said, with the new names.
    fn applied(&self, said: &Json) -> Json {
        match said {
            Json::String(text) => self.anywhere.get(text).unwrap_or(text).clone().into(),
            Json::Array(items) => items.iter().map(|item| self.applied(item)).collect(),
            Json::Object(entries) => entries.iter().map(|(key, value)| (key.clone(), self.applied(value))).collect(),
            other => other.clone(),
        }
    }
}

/// The things of a block of names.
fn named(block: &'static str, before: &Side, after: &Side, renames: &mut Renames, things: &mut Vec<Thing>) {
    let names = |side: &Side| -> Vec<String> {
        let entries = side.at(&[block]).and_then(Json::as_object);
        entries.map(|entries| entries.keys().cloned().collect()).unwrap_or_default()
    };
    let (old, new) = (names(before), names(after));
    let (was, is): (HashSet<&str>, HashSet<&str>) =
        (old.iter().map(String::as_str).collect(), new.iter().map(String::as_str).collect());
    // What went, by what it said: one that says the same as one that came was renamed.
    let mut went: HashMap<String, Vec<&str>> = HashMap::new();
    for name in old.iter().filter(|name| !is.contains(name.as_str())) {
        let said = before.at(&[block, name]).map(|said| renames.applied(said)).unwrap_or_default();
        went.entry(said.to_string()).or_default().push(name);
    }
    let mut fates: HashMap<&str, Fate> = HashMap::new();
    let mut renamed: HashSet<&str> = HashSet::new();
    for name in new.iter().filter(|name| !was.contains(name.as_str())) {
        let said = after.at(&[block, name]).cloned().unwrap_or_default();
        let says_something = said.as_object().is_some_and(|said| said.len() > 1);
        let had = went.get_mut(&said.to_string()).filter(|_| says_something).and_then(Vec::pop);
        if let Some(had) = had {
            renames.add(block, had, name);
            renamed.insert(had);
        }
        fates.insert(name, had.map_or(Fate::Added, |had| Fate::Renamed(had.to_string())));
    }
    let went = old.iter().filter(|name| !is.contains(name.as_str()) && !renamed.contains(name.as_str()));
    let all = new.iter().map(|name| (name, fates.remove(name.as_str()).unwrap_or(Fate::Stays)));
    for (name, fate) in all.chain(went.map(|name| (name, Fate::Removed))) {
        let had = match &fate {
            Fate::Renamed(had) => had.clone(),
            _ => name.clone(),
        };
        let thing = Thing { at: format!("{block}/{name}"), fate, moved: None, given: Vec::new(), figures: Vec::new() };
        things.extend(changed(thing, &[block, &had], &[block, name], before, after, renames));
    }
}

/// The departures: those that came and went, and those with another reason, another role that agreed or another last day. They are known
/// by their rule and the name of what they are at.
fn departures(before: &Side, after: &Side, renames: &Renames, things: &mut Vec<Thing>) {
    let said = |side: &Side, is_old: bool| -> Vec<(String, [Option<String>; 3])> {
        let of = |departure: &Departure| {
            let text = |given: &Given<String>| given.as_ref().map(|it| it.value.trim().to_string());
            let rule = text(&departure.rule).unwrap_or_default();
            let at = text(&departure.at).map(|at| match is_old {
                true => renames.anywhere.get(&at).cloned().unwrap_or_else(|| renames.path(&at)),
                false => at,
            });
            let until = departure.until.map(|it| it.value.to_string());
            let name = ["departures".to_string(), rule].into_iter().chain(at).collect::<Vec<_>>().join("/");
            (name, [text(&departure.reason), text(&departure.agreed_by), until])
        };
        side.outcome.design.departures.iter().map(|it| of(&it.value)).collect()
    };
    let change = |at: String, fate: Fate, was: [Option<String>; 3], is: [Option<String>; 3]| {
        let rows = ["reason", "agreed-by", "until"].into_iter().zip(was.into_iter().zip(is));
        let given = rows.filter(|(_, (was, is))| was != is).map(|(key, (before, after))| GivenChange {
            key: key.to_string(),
            before,
            after,
            moved: None,
        });
        Thing { at, fate, moved: None, given: given.collect(), figures: Vec::new() }
    };
    // `L4` is the same as `loops/L4`.
    let known = |name: &str| {
        let mut steps = name.splitn(3, '/').skip(1);
        let (rule, at) = (steps.next().map(str::to_string), steps.next());
        let is_block = |step: &str| Design::INFO.fields.iter().any(|field| field.key == step);
        let below = at.map(|at| at.split_once('/').filter(|(block, _)| is_block(block)).map_or(at, |(_, below)| below));
        (rule, below.map(str::to_string))
    };
    let (then, now) = (said(before, true), said(after, false));
    let mut left: HashMap<_, Vec<usize>> = HashMap::new();
    for (number, (name, _)) in then.iter().enumerate().rev() {
        left.entry(known(name)).or_default().push(number);
    }
    let mut stays = vec![false; then.len()];
    for (name, is) in now {
        let was = left.get_mut(&known(&name)).and_then(Vec::pop);
        let (fate, was) = match was {
            Some(number) => {
                stays[number] = true;
                (Fate::Stays, then[number].1.clone())
            }
            None => (Fate::Added, Default::default()),
        };
        if fate == Fate::Added || was != is {
            things.push(change(name, fate, was, is));
        }
    }
    let gone = then.into_iter().zip(stays).filter(|(_, stays)| !stays).map(|(it, _)| it);
    things.extend(gone.map(|(name, was)| change(name, Fate::Removed, was, Default::default())));
}

/// The thing with all that changed of it; nothing if nothing did.
fn changed(
    mut thing: Thing,
    old: &[&str],
    new: &[&str],
    before: &Side,
    after: &Side,
    renames: &Renames,
) -> Option<Thing> {
    if let (Some(was), Some(is)) = (before.route(old), after.route(new)) {
        thing.moved = Some(apart(was.points(), is.points())).filter(|moved| *moved > LINE);
    }
    if let (Some(was), Some(is)) = (before.at(old), after.at(new)) {
        let keys = |keys: &[&str]| keys.iter().map(ToString::to_string).collect::<Vec<String>>();
        let mut walk =
            Walk { before, after, renames, old: keys(old), new: keys(new), below: old.len(), given: Vec::new() };
        walk.differ(Some(was), Some(is));
        let said: HashSet<&str> = walk.given.iter().map(|given| given.key.as_str()).collect();
        let (then, now) = (before.unknown_of(old), after.unknown_of(new));
        let unknown: BTreeSet<&str> = then.into_iter().chain(now).filter(|key| !said.contains(key)).collect();
        let unknown = unknown.into_iter().filter_map(|key| {
            let below =
                |keys: &[&str]| keys.iter().copied().chain(key.split('/')).map(str::to_string).collect::<Vec<_>>();
            let (was, is) = (before.text(&below(old))?, after.text(&below(new))?);
            let is_renamed = renames.anywhere.get(&was) == Some(&is);
            let change = GivenChange { key: key.to_string(), before: Some(was), after: Some(is), moved: None };
            (change.before != change.after && !is_renamed).then_some(change)
        });
        let unknown: Vec<GivenChange> = unknown.collect();
        walk.given.extend(unknown);
        thing.given = walk.given;
        // How far the pipe moved says more than the corners of its route.
        thing
            .given
            .retain(|given| given.key != "route" || thing.moved.is_none() && given.moved.is_none_or(|it| it > LINE));
    } else if thing.fate == Fate::Stays && (before.at(old).is_some() != after.at(new).is_some()) {
        thing.fate = if after.at(new).is_some() { Fate::Added } else { Fate::Removed };
    }
    for name in FIGURES.iter().filter(|(block, _)| *block == old[0]).flat_map(|(_, names)| *names) {
        let (was, is) = (before.figure(old, name), after.figure(new, name));
        let unit = was.as_ref().or(is.as_ref()).map_or("", |(line, _)| line.unit);
        let (was, is) = (was.map(|(_, it)| it), is.map(|(_, it)| it));
        let is_told = thing.given.iter().any(|given| given.key == *name);
        if !is_told && differs(name, unit, &was, &is) {
            thing.figures.push(FigureChange { name, unit, before: was, after: is });
        }
    }
    let same = thing.fate == Fate::Stays && thing.moved.is_none() && thing.given.is_empty() && thing.figures.is_empty();
    (!same).then_some(thing)
}

fn differs(name: &str, unit: &str, was: &Option<(f64, String)>, is: &Option<(f64, String)>) -> bool {
    match (was, is) {
        (None, None) => false,
        (Some((was, shown)), Some((is, shows))) => {
            let least = match unit {
                _ if name == "presetting-turns" => 0.0,
                "°C" | "K" => KELVIN,
                _ => SHARE * was.abs().max(is.abs()),
            };
            shown != shows && (was - is).abs() > least
        }
        _ => true,
    }
}

/// The way through what two versions say of one thing.
struct Walk<'w, 's> {
    before: &'w Side<'s>,
    after: &'w Side<'s>,
    renames: &'w Renames,
    /// The keys that lead to where the walk is, in both versions.
    old: Vec<String>,
    new: Vec<String>,
    /// How many of them lead to the thing.
    below: usize,
    given: Vec<GivenChange>,
}

impl Walk<'_, '_> {
    fn differ(&mut self, was: Option<&Json>, is: Option<&Json>) {
        if was == is {
            return;
        }
        match (was, is) {
            (Some(Json::Object(was)), Some(Json::Object(is)))
                if !self.before.is_one_value(&self.old) && !self.after.is_one_value(&self.new) =>
            {
                // What is called after a thing that was renamed, as a zone after its room, has its old name before.
                let had = |key: &String| {
                    let former = self.renames.former.get(key).filter(|_| !was.contains_key(key));
                    former.filter(|had| was.contains_key(*had) && !is.contains_key(*had)).unwrap_or(key).clone()
                };
                let mut keys: Vec<(String, String)> = is.keys().map(|key| (had(key), key.clone())).collect();
                let known: HashSet<&String> = keys.iter().map(|(had, _)| had).collect();
                let gone: Vec<_> =
                    was.keys().filter(|key| !known.contains(key)).map(|key| (key.clone(), key.clone())).collect();
                keys.extend(gone);
                for (had, key) in keys {
                    self.step(&had, &key, was.get(&had), is.get(&key));
                }
            }
            (Some(Json::Array(was)), Some(Json::Array(is)))
                if was.len() == is.len() && was.iter().chain(is).all(Json::is_object) =>
            {
                for (number, (was, is)) in (1..).zip(was.iter().zip(is)) {
                    let number = number.to_string();
                    self.step(&number, &number, Some(was), Some(is));
                }
            }
            // A word of the format may be the name of something, too: only what differs is looked up.
            _ if was.is_some_and(|was| Some(&self.renames.applied(was)) == is) => {}
            _ => {
                let points = was.and_then(points).zip(is.and_then(points));
                let key = self.new.last().map_or("", String::as_str);
                // The pipe of a route has an end at the flow and one at the return: written backwards it is another one.
                let is_turned = |was: &[Point], is: &[Point]| {
                    let ends = |of: &[Point]| Some((*of.first()?, *of.last()?));
                    ends(was).zip(ends(is)).is_some_and(|((from, to), (first, last))| {
                        from.distance(last) + to.distance(first) < from.distance(first) + to.distance(last)
                    })
                };
                let drawn = match points {
                    Some((was, is)) if key == "route" && is_turned(&was, &is) => None,
                    Some((was, is)) => {
                        let is_round = key == "outline" || self.new[self.below..].iter().any(|it| it == "keep-clear");
                        Some(if is_round { apart_round(&was, &is) } else { apart(&was, &is) })
                    }
                    None => None,
                };
                if key != "route" && drawn.is_some_and(|moved| moved < NOTHING) {
                    return;
                }
                self.given.push(GivenChange {
                    key: self.new[self.below..].join("/"),
                    before: was.and_then(|_| self.before.text(&self.old)),
                    after: is.and_then(|_| self.after.text(&self.new)),
                    moved: drawn,
                });
            }
        }
    }

    fn step(&mut self, had: &str, key: &str, was: Option<&Json>, is: Option<&Json>) {
        self.old.push(had.to_string());
        self.new.push(key.to_string());
        self.differ(was, is);
        self.old.pop();
        self.new.pop();
    }
}

/// The points that plain data are, if they are points of the plan: one or a list.
fn points(said: &Json) -> Option<Vec<Point>> {
    let point = |it: &Json| match it.as_array()?.as_slice() {
        [x, y] => Some(Point { x: x.as_f64()?, y: y.as_f64()? }),
        _ => None,
    };
    point(said).map(|it| vec![it]).or_else(|| said.as_array()?.iter().map(point).collect())
}

/// The greatest distance of a corner of either from the line of the other.
fn apart(one: &[Point], other: &[Point]) -> Length {
    farthest(one, Line::Open(other)).max(farthest(other, Line::Open(one)))
}

/// The same of outlines, which end where they begin.
fn apart_round(one: &[Point], other: &[Point]) -> Length {
    farthest(one, Line::Closed(other)).max(farthest(other, Line::Closed(one)))
}

fn farthest(from: &[Point], to: Line) -> Length {
    let corners = from.iter().take(MOST_CORNERS);
    let (Line::Open(points) | Line::Closed(points)) = to;
    if points.len() < 2 {
        let distances = corners.filter_map(|corner| Some(corner.distance(*points.first()?)));
        return distances.fold(Length::ZERO, Length::max);
    }
    let line = Lines::new([to]);
    let distances = corners.filter_map(|corner| line.nearest(0, *corner));
    distances.map(|nearest| nearest.distance).fold(Length::ZERO, Length::max)
}

/// What became of the findings, and how many are as they were.
fn findings(old: &Outcome, new: &Outcome, renames: &Renames) -> (Vec<FindingChange>, usize) {
    type Place = (&'static str, String);
    let now = |finding: &Finding| -> Place { (finding.rule.name, finding.at(&new.design)) };
    let then = |finding: &Finding| -> Place { (finding.rule.name, renames.path(&finding.at(&old.design))) };
    // What is told with another stands too.
    let stands: Vec<(&Finding, Place)> =
        new.findings.iter().chain(&new.followers).map(|finding| (finding, now(finding))).collect();
    let stood: Vec<(&Finding, Place)> =
        old.findings.iter().chain(&old.followers).map(|finding| (finding, then(finding))).collect();
    fn known<'k>(of: &'k [(&Finding, Place)]) -> Vec<Known<'k>> {
        of.iter().map(|(finding, (rule, at))| Known { rule, at, message: &finding.message }).collect()
    }
    let mut changes = Vec::new();
    let mut unchanged = 0;
    let mut is_gone = vec![true; stood.len()];
    let pairs = same::pairs(&known(&stands), &known(&stood), |_, _| true);
    for ((finding, (_, at)), was) in stands.iter().zip(pairs) {
        let became = match was.map(|was| {
            is_gone[was] = false;
            stood[was].0.severity
        }) {
            Some(was) if finding.severity > was => Became::Graver(was),
            Some(was) if finding.severity < was => Became::Lighter(was),
            None => Became::New,
            Some(_) => {
                unchanged += 1;
                continue;
            }
        };
        changes.push(FindingChange { became, finding: (*finding).clone(), at: at.clone() });
    }
    let departs: HashSet<Place> = new.departed.iter().map(|(finding, _)| now(finding)).collect();
    let waits: HashSet<Place> = new.not_checked.iter().map(|it| (it.rule.name, it.about.path(&new.design))).collect();
    let mut gone: Vec<(&Finding, Place)> =
        stood.into_iter().zip(is_gone).filter(|(_, is_gone)| *is_gone).map(|(it, _)| it).collect();
    gone.sort_by_key(|(finding, _)| (finding.place, finding.rule.name));
    for (finding, place) in gone {
        let became = match () {
            () if departs.contains(&place) => Became::Departed,
            () if waits.contains(&place) => Became::NotChecked,
            () => Became::Cleared,
        };
        changes.push(FindingChange { became, finding: finding.clone(), at: place.1 });
    }
    (changes, unchanged)
}

fn revision(old: &Design, new: &Design, things: &[Thing]) -> Revision {
    // What was done on site, who checked it, what was accepted and how far it has come are no part of what is drawn.
    let is_drawn =
        |thing: &&Thing| !["project", "records"].contains(&thing.at.as_str()) && !thing.at.starts_with("departures/");
    let (before, after) = (Issued::of(old), Issued::of(new));
    let raised = || match before.day.zip(after.day).filter(|(was, is)| is < was) {
        Some((was, is)) => Revision::RaisedBefore { was, is },
        None => Revision::Raised,
    };
    let texts = || (before.revision.unwrap_or_default().to_string(), after.revision.unwrap_or_default().to_string());
    if after.revision.is_some() {
        match order(&before, &after) {
            Some(Ordering::Less) => return raised(),
            Some(Ordering::Greater) => {
                let (was, is) = texts();
                return Revision::Lowered { was, is };
            }
            None => {
                let (was, is) = texts();
                return Revision::Changed { was, is };
            }
            Some(Ordering::Equal) => {}
        }
    }
    // One that went was not raised.
    match before.revision {
        _ if things.iter().filter(is_drawn).count() == 0 => Revision::SameDesign,
        Some(revision) if before.day.is_some() && old.stage() != Stage::Preliminary => {
            Revision::NotRaised(revision.to_string())
        }
        _ => Revision::NotIssued,
    }
}

/// What tells where a revision stands among others.
#[derive(Debug, Clone, Default)]
pub struct Issued<'d> {
    pub revision: Option<&'d str>,
    /// The day on which it was issued.
    pub day: Option<Date>,
    /// The revisions that its design lists as earlier.
    pub earlier: Vec<&'d str>,
}

impl<'d> Issued<'d> {
    pub fn of(design: &'d Design) -> Issued<'d> {
        let project = &design.project;
        let text = |given: &'d Given<String>| given.as_ref().map(|it| it.value.trim());
        Issued {
            revision: text(&project.revision),
            day: project.issued.map(|day| day.value),
            earlier: project.earlier_revisions.iter().filter_map(|it| text(&it.value.revision)).collect(),
        }
    }

    fn follows(&self, other: &Issued) -> bool {
        let is_other = |listed: &&str| other.revision.and_then(|other| later(listed, other)) == Some(Ordering::Equal);
        self.earlier.iter().any(is_other)
    }
}

/// Which of two revisions is the later: by their marks; where those do not tell, by what each design lists as earlier; else by the days
/// of issue. Nothing where none of them tells.
pub fn order(one: &Issued, other: &Issued) -> Option<Ordering> {
    let by_mark = match (one.revision, other.revision) {
        (None, None) => Some(Ordering::Equal),
        (None, Some(_)) => Some(Ordering::Less),
        (Some(_), None) => None,
        (Some(one), Some(other)) => later(one, other),
    };
    let by_list = || match (one.follows(other), other.follows(one)) {
        (true, false) => Some(Ordering::Greater),
        (false, true) => Some(Ordering::Less),
        _ => None,
    };
    let by_day = || Some(one.day?.cmp(&other.day?)).filter(|order| order.is_ne());
    by_mark.or_else(by_list).or_else(by_day)
}

/// Which of two revisions is the later by their marks, however they are spelt; nothing where that cannot be told, as of `P3` and `C1`.
/// Numbers are counted; letters go from A to Z and on with AA where they stand alone or behind a number; `P2.1` or `P2A` is later than
/// `P2` (common practice, no source).
pub fn later(one: &str, other: &str) -> Option<Ordering> {
    let (one, other) = (parts(one), parts(other));
    for (at, (left, right)) in one.iter().zip(&other).enumerate() {
        let is_number = |part: &str| part.starts_with(|c: char| c.is_ascii_digit());
        // The longer one is the greater; leading zeros are gone.
        let counted = || left.chars().count().cmp(&right.chars().count()).then_with(|| left.cmp(right));
        let order = match (is_number(left), is_number(right)) {
            (true, true) => counted(),
            (false, false) if left == right => continue,
            (false, false)
                if are_letters(left) && are_letters(right) && (at > 0 || one.len() == 1 && other.len() == 1) =>
            {
                counted()
            }
            _ => return None,
        };
        if order != Ordering::Equal {
            return Some(order);
        }
    }
    Some(one.len().cmp(&other.len()))
}

/// Whether a part counts as A, B, .. AA, AB; no firm has come to AAA, and longer ones are words.
fn are_letters(part: &str) -> bool {
    part.chars().count() <= 2
}

/// Words before the mark that say no more than that it is one.
const A_REVISION: [&str; 5] = ["REVISION", "RÉVISION", "REV", "INDEX", "INDICE"];

/// What a revision is made of: numbers, and words between them in capitals.
fn parts(revision: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut before = None;
    for c in revision.chars() {
        // The letters and digits of East Asian type, as broad as they are high, are the same ones.
        let c = match c {
            '\u{ff01}'..='\u{ff5e}' => char::from_u32(c as u32 - 0xfee0).unwrap_or(c),
            c => c,
        };
        let kind = c.is_alphanumeric().then(|| c.is_ascii_digit());
        if kind.is_some() {
            if before != Some(kind) {
                parts.push(String::new());
            }
            parts.last_mut().expect("there is one now").extend(c.to_uppercase());
        }
        before = Some(kind);
    }
    let behind_word = parts.first().and_then(|first| A_REVISION.iter().find_map(|word| first.strip_prefix(word)));
    match behind_word.map(str::to_string) {
        Some(mark) if mark.is_empty() && parts.len() > 1 => {
            parts.remove(0);
        }
        Some(mark) if !mark.is_empty() && are_letters(&mark) => parts[0] = mark,
        _ => {}
    }
    let plain = |part: String| match part.trim_start_matches('0') {
        "" => "0".to_string(),
        number if part.starts_with('0') => number.to_string(),
        _ => part,
    };
    parts.into_iter().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::job;
    use crate::check;

    const BASE: &str = include_str!("bench/base.ufh.yaml");

    fn outcome(text: &str) -> Outcome {
        check(&job(text))
    }

    fn compared(old: &str, new: &str) -> Comparison {
        compare(&outcome(old), &outcome(new))
    }

    fn thing<'c>(comparison: &'c Comparison, at: &str) -> &'c Thing {
        let found = comparison.things.iter().find(|it| it.at == at);
        found.unwrap_or_else(|| panic!("{at}: {:#?}", comparison.things))
    }

    #[test]
    fn what_is_written_otherwise_is_no_change() {
        let otherwise = BASE
            .replace("thickness: 65 mm", "thickness: 6.5 cm")
            .replace("  temperature: 20 °C", "  temperature:   20 degC # as asked");
        assert_ne!(otherwise, BASE);
        let it = compared(BASE, &format!("# a comment\n{otherwise}"));
        assert!(it.things.is_empty(), "{:#?}", it.things);
        assert_eq!((it.findings.len(), it.revision), (0, Revision::SameDesign));
    }

    /// Twice the heat wants about twice the water: the flow carries the heat at the same drop (plain physics).
    #[test]
    fn a_value_is_shown_with_the_figures_that_follow_from_it() {
        let it = compared(BASE, &BASE.replacen("heat-loss: 600 W", "heat-loss: 700 W", 1));
        let hall = thing(&it, "rooms/hall");
        let given = GivenChange {
            key: "heat-loss".into(),
            before: Some("600 W".into()),
            after: Some("700 W".into()),
            moved: None,
        };
        assert_eq!(hall.given, [given]);
        let needed = hall.figures.iter().find(|it| it.name == "heat-needed").expect("it follows");
        let (was, is) = (needed.before.clone().unwrap().0, needed.after.clone().unwrap().0);
        assert!((is - was - 100.0).abs() < 1e-6, "{needed:?}");
        assert_eq!(it.revision, Revision::NotRaised("P1".into()));
        assert_eq!(
            compared(BASE, &BASE.replace("600 W", "700 W").replace("revision: P1", "revision: P2")).revision,
            Revision::Raised
        );
        let sketch = |text: &str| text.replace("  issued: 2026-05-04\n", "");
        assert_eq!(compared(&sketch(BASE), &sketch(&BASE.replace("600 W", "700 W"))).revision, Revision::NotIssued);
    }

    /// What is several values to the program and one to whoever writes it is told as it is written.
    #[test]
    fn a_value_of_several_parts_is_told_as_it_is_written() {
        let with = |kv: &str, gauge: &str| {
            let text = BASE.replacen("  L1: {", &format!("  L1: {{presetting: {kv}, "), 1);
            text.replacen("flow-gauge: 0.5 to 5 l/min", &format!("flow-gauge: {gauge}"), 1)
        };
        let it = compared(&with("0.5 m³/h", "0.5 to 5 l/min"), &with("2.5 turns", "1 to 6 l/min"));
        for (at, key, was, is) in [
            ("loops/L1", "presetting", "0.5 m³/h", "2.5 turns"),
            ("manifolds/M1", "flow-gauge", "0.5 to 5 l/min", "1 to 6 l/min"),
        ] {
            let given = &thing(&it, at).given;
            let told = [GivenChange { key: key.into(), before: Some(was.into()), after: Some(is.into()), moved: None }];
            assert_eq!(given[..], told);
        }
    }

    /// Nobody reads a list with the signs of the file, nor half of it.
    #[test]
    fn lists_and_records_are_told_whole_and_in_words() {
        let log = (1..12).map(|day| format!("{{date: 2026-05-{day:02}, flow-temperature: 25 °C}}"));
        let log = log.collect::<Vec<_>>().join(", ");
        let base = format!("{BASE}records: {{first-heat: 2026-05-01}}\n");
        let more = format!("heating-log: [{log}], as-built: {{dimensioned: true, routes: {{L1: [[0, 0], [4.2, 0]]}}}}");
        let built = base.replace("05-01}", &format!("05-01, {more}}}"));
        let given = thing(&compared(&base, &built), "records").given.clone();
        let said = |key: &str| given.iter().find(|it| it.key == key).and_then(|it| it.after.clone());
        let heating = said("heating-log").expect("it came");
        assert!(heating.starts_with("date 2026-05-01, flow-temperature 25 °C; date 2026-05-02,"), "{heating}");
        assert!(heating.ends_with("date 2026-05-11, flow-temperature 25 °C"), "{heating}");
        assert_eq!(said("as-built").as_deref(), Some("dimensioned yes, routes (L1 ((0, 0), (4.2, 0)))"));
    }

    #[test]
    fn what_came_what_went_and_what_was_renamed() {
        let base = BASE.replacen("use: living", "use: hall", 1);
        let it = compared(&base, &base.replace("hall", "lobby").replace("use: lobby", "use: hall"));
        let lobby = thing(&it, "rooms/lobby");
        assert_eq!((&lobby.fate, lobby.given.len()), (&Fate::Renamed("hall".into()), 0), "{lobby:#?}");
        assert!(
            it.things.iter().all(|it| !it.at.starts_with("loops/")),
            "a name that follows is no change: {:#?}",
            it.things
        );
        assert!(it.findings.is_empty(), "{:#?}", it.findings);

        let more = BASE.replace("rooms:\n", "rooms:\n  porch: {use: hall, area: 3}\n");
        let it = compared(BASE, &more);
        assert_eq!(thing(&it, "rooms/porch").fate, Fate::Added);
        let back = compared(&more, BASE);
        assert_eq!(thing(&back, "rooms/porch").fate, Fate::Removed);
        let (came, went) = (&it.findings, &back.findings);
        assert!(came.iter().any(|it| it.became == Became::New) && went.iter().any(|it| it.became == Became::Cleared));
    }

    #[test]
    fn a_route_that_moved_says_how_far() {
        let drawn = |y: f64| {
            format!(
                "format: 1\nrooms: {{hall: {{outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}}}\nloops: {{L1: {{room: hall, route: [[0, 1], [3, {y}], \
                 [3, 2]]}}}}\n"
            )
        };
        let it = compared(&drawn(1.0), &drawn(1.25));
        let moved = thing(&it, "loops/L1").moved.expect("it moved");
        assert!((moved.in_metres() - 0.25).abs() < 0.01, "{moved}");
        assert!(thing(&it, "loops/L1").given.is_empty());
        let wider = compared(&drawn(1.0), &drawn(1.0).replace("[4, 0], [4, 3]", "[4.5, 0], [4.5, 3]"));
        let outline = &thing(&wider, "rooms/hall").given[0];
        assert_eq!((outline.key.as_str(), outline.moved.map(|it| it.in_metres())), ("outline", Some(0.5)));
        assert!(compared(&drawn(1.0), &drawn(1.004)).things.iter().all(|it| it.moved.is_none()));
    }

    /// The same ring of corners is the same outline (plain geometry).
    #[test]
    fn an_outline_from_another_corner_or_the_other_way_round_is_the_same() {
        let room = |outline: &str| {
            format!(
                "format: 1\nrooms: {{hall: {{outline: {outline}, keep-clear: {{stove: {outline}}}}}}}\nwalls: {{W1: {{line: [[0, 0], [4, 0]]}}}}\n"
            )
        };
        let is = room("[[0, 0], [4, 0], [4, 3], [0, 3]]");
        for other in [
            "[[4, 3], [0, 3], [0, 0], [4, 0]]",
            "[[0, 3], [4, 3], [4, 0], [0, 0]]",
            "[[0, 0], [2, 0], [4, 0], [4, 3], [0, 3]]",
        ] {
            let it = compared(&is, &room(other));
            assert!(it.things.is_empty() && it.revision == Revision::SameDesign, "{other}: {:#?}", it.things);
        }
        assert!(compared(&is, &is.replace("[[0, 0], [4, 0]]}", "[[4, 0], [0, 0]]}")).things.is_empty());
        // The side from the last corner to the first counts as any other.
        let it = compared(&is, &room("[[0, 0], [4, 0], [4, 3], [0, 3], [-1, 1.5]]"));
        assert_eq!(thing(&it, "rooms/hall").given[0].moved.map(|it| it.in_metres()), Some(1.0));
    }

    /// Where the flow comes in, the return goes out, and so it is no small thing.
    #[test]
    fn a_route_written_backwards_is_another_one() {
        let drawn = |route: &str| {
            format!(
                "format: 1\nrooms: {{hall: {{outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}}}\nloops: {{L1: {{room: hall, route: {route}}}}}\n"
            )
        };
        let it = compared(&drawn("[[0, 1], [3, 1], [3, 2], [0, 2]]"), &drawn("[[0, 2], [3, 2], [3, 1], [0, 1]]"));
        let given = &thing(&it, "loops/L1").given[0];
        assert_eq!((given.key.as_str(), given.moved), ("route", None), "{it:#?}");
        assert_eq!(given.after.as_deref(), Some("(0, 2), (3, 2), (3, 1), (0, 1)"));
    }

    /// Revisions as firms count them (common practice, no source).
    #[test]
    fn a_revision_is_later_however_it_is_spelt() {
        use Ordering::{Equal, Greater, Less};
        for (one, other, order) in [
            ("P1", "P2", Some(Less)),
            ("P9", "P10", Some(Less)),
            ("P2", "P1", Some(Greater)),
            ("P2", "p2", Some(Equal)),
            ("P2", " P 02", Some(Equal)),
            ("P2", "P-2", Some(Equal)),
            ("A", "B", Some(Less)),
            ("b", "A", Some(Greater)),
            ("9", "10", Some(Less)),
            ("P2", "P2.1", Some(Less)),
            ("P2A", "P2", Some(Greater)),
            ("P2a", "P2B", Some(Less)),
            ("0", "00", Some(Equal)),
            ("99999999999999999999999", "100000000000000000000000", Some(Less)),
            ("P3", "C1", None),
            ("P3", "A", None),
            ("1", "A", None),
            ("first issue", "second issue", None),
            ("P1", "Rev P1", Some(Equal)),
            ("Rev. P1", "P2", Some(Less)),
            ("2", "Rev 1", Some(Greater)),
            ("Revision 2", "Rev 10", Some(Less)),
            ("RevA", "rev B", Some(Less)),
            ("Index a", "Indice b", Some(Less)),
            ("Rev", "Rev", Some(Equal)),
            ("Ｐ１", "P1", Some(Equal)),
            ("P２", "P10", Some(Less)),
            ("AB", "AA", Some(Greater)),
            ("AA", "Z", Some(Greater)),
            ("2Z", "2AA", Some(Less)),
            ("Rev P3", "Rev C1", None),
            ("", "", Some(Equal)),
        ] {
            assert_eq!(later(one, other), order, "{one} {other}");
            assert_eq!(later(other, one), order.map(Ordering::reverse), "{other} {one}");
        }
    }

    #[test]
    fn a_revision_that_is_lowered_or_spelt_otherwise_was_not_raised() {
        let more = BASE.replace("600 W", "700 W");
        let of = |old: &str, new: &str| {
            let with = |text: &str, revision: &str| text.replacen("revision: P1", &format!("revision: {revision}"), 1);
            compared(&with(BASE, old), &with(&more, new)).revision
        };
        assert_eq!(of("P2", "p2"), Revision::NotRaised("P2".into()));
        assert_eq!(of("P2", "P1"), Revision::Lowered { was: "P2".into(), is: "P1".into() });
        assert_eq!(of("P2", "C1"), Revision::Changed { was: "P2".into(), is: "C1".into() });
        assert_eq!(of("P2", "P3"), Revision::Raised);
        assert_eq!(of("P1", "Rev P1"), Revision::NotRaised("P1".into()));
        assert_eq!(of("AA", "Z"), Revision::Lowered { was: "AA".into(), is: "Z".into() });
    }

    /// P2 of 30 April, C1 of 4 May: marks of two kinds, which the lists of earlier revisions put in order before the days do.
    #[test]
    fn what_the_marks_do_not_tell_the_lists_and_the_days_do() {
        use Ordering::{Equal, Greater, Less};
        let day = |day| Some(jiff::civil::date(2026, 5, day));
        let of = |revision, day, earlier: &[&'static str]| Issued { revision, day, earlier: earlier.to_vec() };
        for (one, other, wanted) in [
            (of(Some("P2"), day(1), &[]), of(Some("C1"), day(4), &[]), Some(Less)),
            (of(Some("P2"), day(4), &[]), of(Some("C1"), day(4), &[]), None),
            (of(Some("P2"), None, &[]), of(Some("C1"), day(4), &[]), None),
            (of(Some("P2"), day(5), &[]), of(Some("C1"), day(4), &["P1", "Rev P2"]), Some(Less)),
            (of(Some("P2"), None, &["C1"]), of(Some("C1"), None, &["P2"]), None),
            (of(Some("P2"), day(5), &[]), of(Some("P3"), day(4), &[]), Some(Less)),
            (of(None, day(5), &[]), of(Some("P3"), day(4), &[]), Some(Less)),
            (of(None, day(5), &[]), of(None, day(4), &[]), Some(Equal)),
        ] {
            assert_eq!(order(&one, &other), wanted, "{one:?} {other:?}");
            if one.revision.is_some() {
                assert_eq!(order(&other, &one), wanted.map(Ordering::reverse), "{other:?} {one:?}");
            }
        }
        assert_eq!(order(&of(Some("P3"), day(4), &[]), &of(None, day(3), &[])), Some(Greater));
        let more = BASE.replace("600 W", "700 W").replace("revision: P1", "revision: C1");
        assert_eq!(
            compared(BASE, &more.replace("issued: 2026-05-04", "issued: 2026-05-05")).revision,
            Revision::Raised
        );
        let was = Revision::Lowered { was: "P1".into(), is: "C1".into() };
        assert_eq!(compared(BASE, &more.replace("issued: 2026-05-04", "issued: 2026-05-03")).revision, was);
        let listed = more.replace("issued: 2026-05-04", "issued: 2026-05-03\n  earlier-revisions: [{revision: P1}]");
        let (was, is) = (jiff::civil::date(2026, 5, 4), jiff::civil::date(2026, 5, 3));
        assert_eq!(compared(BASE, &listed).revision, Revision::RaisedBefore { was, is });
    }

    /// What was probably meant is read in place of a name that nothing has; the design says that name all the same.
    #[test]
    fn a_name_that_nothing_has_is_told_as_written() {
        let misspelt = BASE.replace("room: study", "room: stdy");
        for (old, new, wanted) in [(BASE, misspelt.as_str(), ["study", "stdy"]), (&misspelt, BASE, ["stdy", "study"])] {
            let it = compared(old, new);
            let given = &thing(&it, "loops/L2").given;
            let rows: Vec<_> =
                given.iter().map(|it| (it.key.as_str(), it.before.as_deref(), it.after.as_deref())).collect();
            assert_eq!(rows, [("room", Some(wanted[0]), Some(wanted[1]))]);
        }
        let renamed = misspelt.replace("L2:", "L9:");
        assert!(compared(&misspelt, &renamed).things.iter().all(|it| it.given.is_empty()));
    }

    /// A name may have in it the sign that parts the steps of a path.
    #[test]
    fn a_name_with_a_stroke_in_it_is_a_name() {
        let named = |name: &str| {
            BASE.replace("floor: screeded", "floor: thin")
                .replacen("  screeded:", "  thin:", 1)
                .replace("130 mm", "20 mm")
                .replace("thin", &format!("\"{name}\""))
        };
        let it = compared(&named("a"), &named("b/c"));
        let found = |it: &Comparison| it.findings.iter().map(|it| it.at.clone()).collect::<Vec<_>>();
        assert_eq!(found(&it), [""; 0], "the same floor has the same findings");
        assert_eq!(found(&compared(&named("b/c"), &named("d/e"))), [""; 0]);
        assert_eq!(thing(&it, "floors/b/c").fate, Fate::Renamed("a".into()));
    }

    #[test]
    fn departures_that_came_went_or_changed_are_told() {
        let with = |at: &str, reason: &str, role: &str| {
            format!(
                "{BASE}departures:\n  - {{rule: unknown-field, at: {at}, reason: {reason}, agreed-by: {role}, until: 2026-12-31}}\n"
            )
        };
        let some = |text: &str| Some(text.to_string());
        let one = with("hall", "kept", "reviewer");
        let came = compared(BASE, &one);
        let it = thing(&came, "departures/unknown-field/hall");
        let rows: Vec<_> = it.given.iter().map(|it| (it.key.as_str(), it.before.clone(), it.after.clone())).collect();
        let wanted = [
            ("reason", None, some("kept")),
            ("agreed-by", None, some("reviewer")),
            ("until", None, some("2026-12-31")),
        ];
        assert_eq!((&it.fate, &rows[..]), (&Fate::Added, &wanted[..]));
        assert_eq!(came.revision, Revision::SameDesign, "a departure is not drawn");
        assert_eq!(thing(&compared(&one, BASE), "departures/unknown-field/hall").fate, Fate::Removed);
        let role = compared(&one, &with("hall", "kept", "client"));
        let given = &thing(&role, "departures/unknown-field/hall").given;
        assert_eq!((given.len(), given[0].key.as_str(), &given[0].after), (1, "agreed-by", &some("client")));
        assert!(compared(&one, &with("rooms/hall", "kept", "reviewer")).things.is_empty(), "both name the hall");
        let renamed =
            one.replacen("use: living", "use: hall", 1).replace("hall", "lobby").replace("use: lobby", "use: hall");
        let it = compared(&one.replacen("use: living", "use: hall", 1), &renamed);
        assert!(it.things.iter().all(|it| !it.at.starts_with("departures/")), "{:#?}", it.things);
    }

    #[test]
    fn what_a_rule_cannot_look_at_any_more_is_not_called_cleared() {
        let cold = BASE.replace("130 mm", "20 mm");
        let it = compared(&cold, &cold.replace("below: ground\n", "#\n"));
        let insulation = it.findings.iter().find(|it| it.finding.rule.name == "insulation-below-minimum");
        assert_eq!(insulation.map(|it| it.became), Some(Became::NotChecked), "{:#?}", it.findings);
        let graver = compared(&cold.replace("for construction", "preliminary"), &cold);
        assert!(
            graver
                .findings
                .iter()
                .any(|it| matches!(it.became, Became::Graver(_)) && it.finding.rule.name == "insulation-below-minimum")
        );
    }

    #[test]
    fn a_departure_clears_nothing() {
        let cold = BASE.replace("130 mm", "20 mm");
        let departure = "departures:\n  - {rule: insulation-below-minimum, at: floors/screeded, reason: the slab stays, agreed-by: reviewer, until: 2026-12-31}\n";
        let it = compared(&cold, &format!("{cold}{departure}"));
        let found = it.findings.iter().find(|it| it.finding.rule.name == "insulation-below-minimum");
        assert_eq!(found.map(|it| it.became), Some(Became::Departed));
    }
}
