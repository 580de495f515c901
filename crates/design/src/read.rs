//! From tree to typed values, with every fault collected.

use crate::fault::{Expected, Fault, FaultKind};
use crate::names::{Definition, Reference, nearest};
use crate::shape::{RecordInfo, Shape};
use jiff::civil::Date;
use quantity::Quantity;
use serde_json::{Value as Json, json};
use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};
use std::mem::{Discriminant, discriminant};
use yaml_tree::{Kind, Node, Place};

/// A value and where it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed<T> {
    pub value: T,
    pub at: Place,
}

impl<T> std::ops::Deref for Placed<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

/// A value that a file may leave out.
pub type Given<T> = Option<Placed<T>>;

/// Several values; where one is given without brackets it stands for a list of one.
pub type List<T> = Vec<Placed<T>>;

/// Something that one node says.
pub trait Value: Sized {
    /// Whether an empty value is an empty block rather than nothing yet.
    const EMPTY_IS_A_BLOCK: bool = false;
    /// Whether the value is itself a list, so that a list of one needs its brackets.
    const IS_A_LIST: bool = false;

    /// The value, or nothing and a fault (no fault under a node that is broken already).
    fn read(node: &Node, reader: &mut Reader) -> Option<Self>;
    fn shape() -> Shape;
    /// The value as plain data: measured values as numbers in SI, words and names as text.
    fn plain(&self) -> Json;
}

/// How much of a record could be read.
pub trait Block {
    /// Whether part of it could not be.
    fn is_broken(&self) -> bool;
    /// Whether a key is given and could not be read, so that what it says is not known.
    fn has_unread(&self, key: &str) -> bool;
    /// What stands under a key, as plain data; nothing if there is no such key.
    fn plain_of(&self, key: &str) -> Option<Json>;
}

/// Something that stands under a key of a record: a value that may be missing, a list, named things.
pub trait Field: Default {
    fn read(node: &Node, reader: &mut Reader) -> Self;
    fn shape() -> Shape;
    /// What it says as plain data; null where it says nothing.
    fn plain(&self) -> Json;
}

/// Collects what is read on the way besides the values.
#[derive(Debug, Default)]
pub struct Reader {
    pub faults: Vec<Fault>,
    pub definitions: Vec<Definition>,
    pub references: Vec<Reference>,
    /// The key whose value is being read.
    key: &'static str,
    /// Faults are counted and not kept.
    is_quiet: bool,
    /// The names that were meant by misspelt ones, by their places.
    pub(crate) meant: HashMap<Place, String>,
    /// The values that are left out because nobody would believe them, in order.
    pub(crate) doubted: Vec<Place>,
    /// There were more faults than are kept.
    pub(crate) is_cut_short: bool,
    /// How many of the faults have their paths already.
    pub(crate) with_paths: usize,
    /// How many faults there were, those included that are not kept.
    pub(crate) seen: usize,
    /// What is kept. The nodes under an anchor are read for each of its aliases, and told once.
    told: HashSet<(Place, Discriminant<FaultKind>)>,
}

impl Reader {
    /// The greatest number of faults that are kept; a file with more is not a design.
    pub(crate) const MOST_FAULTS: usize = 1000;

    pub fn fault(&mut self, place: Place, kind: FaultKind) {
        self.seen += 1;
        if self.is_quiet {
            return;
        }
        if !self.takes_more(0) {
            self.is_cut_short = true;
        } else if self.told.insert((place, discriminant(&kind))) {
            self.faults.push(Fault { place, kind, path: String::new() });
        }
    }

    /// Whether so many faults would be kept, and one more.
    pub(crate) fn takes_more(&self, faults: usize) -> bool {
        self.faults.len() + faults < Self::MOST_FAULTS
    }

    /// Says that something else was wanted here, unless the text is broken here anyway.
    pub fn wrong_shape(&mut self, node: &Node, expected: Expected) {
        if !node.broken {
            let found = match &node.kind {
                Kind::Null => "nothing".to_string(),
                Kind::Scalar(scalar) => format!("`{}`", shortened(&scalar.text)),
                Kind::List(items) if items.is_empty() => "an empty list".to_string(),
                Kind::List(_) => "a list".to_string(),
                Kind::Map(_) => "a block of keys".to_string(),
            };
            self.fault(node.place, FaultKind::WrongShape { expected, found });
        }
    }

    /// The text of a scalar.
    pub fn text<'n>(&mut self, node: &'n Node) -> Option<&'n str> {
        match &node.kind {
            Kind::Scalar(scalar) => Some(&scalar.text),
            Kind::Null if node.broken => None,
            _ => {
                self.wrong_shape(node, Expected::Text);
                None
            }
        }
    }

    /// The name of something that stands elsewhere, noted as a use of it.
    pub(crate) fn name(&mut self, kind: crate::Kind, written: &str, place: Place) -> String {
        let name = self.meant.get(&place).map_or(written, String::as_str).to_string();
        self.references.push(Reference { kind, name: name.clone(), place });
        name
    }

    /// Walks the keys of a record. `take` reads a key that it knows and says whether it did.
    pub fn fields(
        &mut self,
        node: &Node,
        record: &'static RecordInfo,
        mut take: impl FnMut(&mut Reader, &str, &Node) -> bool,
    ) {
        let known = |name: &str| record.fields.iter().map(|field| field.key).find(|key| *key == name);
        let pairs = match &node.kind {
            Kind::Map(pairs) => pairs,
            // `kitchen:` with nothing under it yet is a record without keys.
            Kind::Null => return,
            _ => return self.wrong_shape(node, Expected::Block),
        };
        let mut given = HashMap::with_capacity(pairs.len().min(record.fields.len()));
        let mut rest = pairs.iter();
        while let Some((key, value)) = rest.next() {
            let Some(name) = self.text(key) else { continue };
            match given.entry(name) {
                Entry::Vacant(vacant) => vacant.insert(key.place),
                Entry::Occupied(first) => {
                    self.fault(key.place, FaultKind::GivenTwice { name: shortened(name), first: *first.get() });
                    continue;
                }
            };
            if let Some(known) = known(name) {
                self.key = known;
            }
            if let Some((better, place)) = rest.as_slice().first().and_then(|after| decimal_comma(value, after)) {
                rest.next();
                let was_quiet = std::mem::replace(&mut self.is_quiet, true);
                take(self, name, value);
                self.is_quiet = was_quiet;
                self.fault(place, FaultKind::DecimalComma { better });
                continue;
            }
            if !take(self, name, value) {
                let keys = record.fields.iter().map(|field| field.key);
                let nearest = if self.takes_more(0) { nearest(name, keys) } else { None };
                let kind = FaultKind::UnknownKey { key: shortened(name), nearest, within: record.name };
                self.fault(key.place, kind);
                // The misspelt key is told; its value is read as if it were mended, or it would be told as missing.
                let stands_there = |meant: &str| pairs.iter().any(|(key, _)| key.as_text() == Some(meant));
                if let Some(meant) = nearest.filter(|meant| !stands_there(meant)) {
                    // A word or a number that the key does not take may show that the guess is wrong.
                    let was_quiet = std::mem::replace(&mut self.is_quiet, matches!(value.kind, Kind::Scalar(_)));
                    self.is_quiet |= was_quiet;
                    self.key = meant;
                    take(self, meant, value);
                    self.is_quiet = was_quiet;
                }
            }
        }
    }

    /// Says that the word here is none of those allowed.
    pub fn unknown_word(&mut self, node: &Node, words: &'static [(&'static str, &'static str)]) {
        let Kind::Scalar(scalar) = &node.kind else { return };
        let allowed: Vec<_> = words.iter().map(|(word, _)| *word).collect();
        if !node.broken {
            let nearest = if self.takes_more(0) { nearest(&scalar.text, allowed.iter().copied()) } else { None };
            self.fault(node.place, FaultKind::UnknownWord { word: shortened(&scalar.text), nearest, allowed });
        }
    }

    /// Says that nothing that is built has a number of this size.
    pub fn unbelievable(&mut self, node: &Node, kind: &'static str) {
        if !node.broken {
            let found = shortened(node.as_text().unwrap_or_default().trim());
            self.fault(node.place, FaultKind::Unbelievable { kind, found });
        }
    }

    /// A measured value from a scalar.
    pub fn measured<T>(
        &mut self,
        node: &Node,
        kind: &'static str,
        units: &'static [quantity::Unit],
        parse: impl FnOnce(&str) -> Result<T, quantity::Fault>,
    ) -> Option<T> {
        let Kind::Scalar(scalar) = &node.kind else {
            self.wrong_shape(node, Expected::Thing(kind));
            return None;
        };
        let text = scalar.text.trim();
        // Only a temperature, an angle, a level, a height or a difference can be less than nothing.
        let is_negative = text.starts_with(['-', '−'])
            && ![quantity::Temperature::KIND, quantity::Angle::KIND].contains(&kind)
            && !matches!(self.key, "level" | "height" | "stair-riser-difference");
        let fault = match parse(&scalar.text) {
            Ok(_) if is_negative => {
                self.fault(node.place, FaultKind::Negative { kind, found: shortened(text) });
                return None;
            }
            Ok(value) => return Some(value),
            Err(fault) => fault,
        };
        let (place, kind) = match fault {
            quantity::Fault::NoNumber => (node.place, FaultKind::NoNumber { kind, found: shortened(text) }),
            quantity::Fault::Unbelievable => (node.place, FaultKind::Unbelievable { kind, found: shortened(text) }),
            quantity::Fault::Reversed { better } => {
                (node.place, FaultKind::Reversed { found: shortened(text), better })
            }
            quantity::Fault::DecimalComma(better) => (node.place, FaultKind::DecimalComma { better }),
            quantity::Fault::NoUnit => {
                let meant = meant_by_bare(self.key, kind, units, text);
                (node.place, FaultKind::BareNumber { kind, number: text.to_string(), meant })
            }
            quantity::Fault::WrongUnit { unit, at, nearest, converted } => {
                let accepted = sizes(units);
                // A unit of something else is no slip of the finger, and one letter is as near to another as to any.
                let is_slip = unit.chars().count() > 1 && self.takes_more(0) && !quantity::is_unit(&unit);
                let guess = || self::nearest(&unit, units.iter().map(|unit| unit.spelling));
                let nearest = if is_slip { nearest.or_else(guess) } else { nearest };
                // Inside quotes, or with folded lines, the text is not the bytes: then the whole value is marked; and
                // so it is where the number must change with the unit.
                let is_folded = (node.place.end - node.place.start) as usize != scalar.text.len();
                let place = if scalar.quoted || is_folded || converted.is_some() {
                    node.place
                } else {
                    let start = node.place.start + at.start as u32;
                    Place { start, end: node.place.start + at.end as u32, ..node.place }
                };
                (place, FaultKind::WrongUnit { kind, unit: shortened(&unit), nearest, converted, accepted })
            }
        };
        if !node.broken {
            self.fault(place, kind);
        }
        None
    }
}

/// What a person may have meant by a bare number, the likeliest first.
fn meant_by_bare(key: &str, kind: &str, units: &'static [quantity::Unit], number: &str) -> Vec<String> {
    // A share of `0.9` is nine tenths, and one of `1` may be the whole or a hundredth.
    if kind == quantity::Share::KIND
        && let Ok(share) = number.parse::<f64>()
        && (0.0..=1.0).contains(&share)
    {
        let percent = format!("{} %", (share * 1e7).round() / 1e5);
        let as_written = (share == 1.0).then(|| format!("{number} %"));
        return std::iter::once(percent).chain(as_written).collect();
    }
    let mut usual = sizes(units);
    usual.truncate(2);
    if kind == quantity::Length::KIND
        && let Ok(number) = number.parse::<f64>()
    {
        // A floor is so many millimetres thick and so many metres wide, and a coil has so many metres.
        let is_in_metres = match key {
            "coil" | "coils" | "tails" | "insulated-tails" | "longest-loop" | "perimeter" => true,
            "spacing" | "compression" | "flatness" | "laps" | "least-bend-radius" => number.abs() < 1.0,
            key if key.ends_with("thickness") || key.ends_with("diameter") => number.abs() < 1.0,
            _ => number.abs() < 20.0,
        };
        if is_in_metres {
            usual.reverse();
        }
    }
    usual.into_iter().map(|unit| format!("{number} {unit}")).collect()
}

/// The units of a kind, one spelling of each.
fn sizes(units: &'static [quantity::Unit]) -> Vec<&'static str> {
    let is_first = |(at, unit): &(usize, &quantity::Unit)| {
        !units[..*at].iter().any(|it| (it.factor, it.offset) == (unit.factor, unit.offset))
    };
    units.iter().enumerate().filter(is_first).map(|(_, unit)| unit.spelling).collect()
}

/// A number that was written with a comma, which in braces parts it in two, as `{area: 18,9 m²}`: the same with a point,
/// and where it stands.
fn decimal_comma(value: &Node, (key, nothing): &(Node, Node)) -> Option<(String, Place)> {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|it| it.is_ascii_digit());
    let whole = value.as_text().filter(|whole| digits(whole.strip_prefix('-').unwrap_or(whole)))?;
    let after = key.as_text().filter(|after| after.starts_with(|it: char| it.is_ascii_digit()))?;
    let adjoin = key.place.start == value.place.end + 1 && matches!(nothing.kind, Kind::Null);
    adjoin.then(|| (format!("{whole}.{}", shortened(after)), Place { end: key.place.end, ..value.place }))
}

/// At most forty letters of a text, for a message.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_string(),
    }
}

impl<T: Value> Field for Given<T> {
    fn read(node: &Node, reader: &mut Reader) -> Self {
        // `flow:` with nothing behind it is on its way to being typed: not given.
        let nothing = match &node.kind {
            Kind::Null => true,
            Kind::Scalar(scalar) => !scalar.quoted && matches!(&*scalar.text, "~" | "null"),
            _ => false,
        };
        if nothing && !T::EMPTY_IS_A_BLOCK {
            return None;
        }
        let value = T::read(node, reader)?;
        if reader.doubted.binary_search(&node.place).is_ok() {
            // As if there were a fault, which is told elsewhere.
            reader.seen += 1;
            return None;
        }
        Some(Placed { value, at: node.place })
    }

    fn shape() -> Shape {
        T::shape()
    }

    fn plain(&self) -> Json {
        self.as_ref().map_or(Json::Null, |given| given.value.plain())
    }
}

impl<T: Value> Field for List<T> {
    fn read(node: &Node, reader: &mut Reader) -> Self {
        match &node.kind {
            Kind::List(items) => items
                .iter()
                .filter_map(|item| T::read(item, reader).map(|value| Placed { value, at: item.place }))
                .collect(),
            Kind::Null => Vec::new(),
            _ if T::IS_A_LIST => {
                reader.wrong_shape(node, Expected::List);
                Vec::new()
            }
            _ => T::read(node, reader).map(|value| Placed { value, at: node.place }).into_iter().collect(),
        }
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(T::shape()), or_one: !T::IS_A_LIST, least: 0, most: None }
    }

    fn plain(&self) -> Json {
        plain_list(self)
    }
}

/// A list of points that says how one value goes with another: empty it says nothing, and was not meant.
#[derive(Debug, Clone)]
pub struct Points<T>(List<T>);

impl<T> Default for Points<T> {
    fn default() -> Self {
        Points(Vec::new())
    }
}

impl<T> std::ops::Deref for Points<T> {
    type Target = [Placed<T>];
    fn deref(&self) -> &[Placed<T>] {
        &self.0
    }
}

impl<T: Value> Field for Points<T> {
    fn read(node: &Node, reader: &mut Reader) -> Self {
        if matches!(&node.kind, Kind::List(items) if items.is_empty()) {
            reader.wrong_shape(node, Expected::Thing("a list of two points or more"));
        }
        Points(Field::read(node, reader))
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(T::shape()), or_one: false, least: 2, most: None }
    }

    fn plain(&self) -> Json {
        plain_list(self)
    }
}

/// A list as plain data; an empty one says nothing.
pub(crate) fn plain_list<T: Value>(list: &[Placed<T>]) -> Json {
    if list.is_empty() { Json::Null } else { list.iter().map(|it| it.value.plain()).collect() }
}

impl Value for String {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        reader.text(node).map(str::to_string)
    }

    fn shape() -> Shape {
        Shape::Text("")
    }

    fn plain(&self) -> Json {
        self.as_str().into()
    }
}

impl Value for f64 {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let Kind::Scalar(scalar) = &node.kind else {
            reader.wrong_shape(node, Expected::Number);
            return None;
        };
        match scalar.text.parse::<f64>() {
            Ok(number) if number.abs() <= quantity::GREATEST => Some(number),
            Ok(number) if !number.is_nan() => {
                reader.unbelievable(node, "a number");
                None
            }
            _ => {
                reader.wrong_shape(node, Expected::Number);
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Number("a number")
    }

    fn plain(&self) -> Json {
        (*self).into()
    }
}

impl Value for u32 {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let Kind::Scalar(scalar) = &node.kind
            && let Ok(number) = scalar.text.parse()
        {
            return Some(number);
        }
        reader.wrong_shape(node, Expected::Whole);
        None
    }

    fn shape() -> Shape {
        Shape::Whole
    }

    fn plain(&self) -> Json {
        (*self).into()
    }
}

impl Value for bool {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let Kind::Scalar(scalar) = &node.kind {
            match &*scalar.text {
                "true" | "yes" => return Some(true),
                "false" | "no" => return Some(false),
                _ => {}
            }
        }
        reader.wrong_shape(node, Expected::Flag);
        None
    }

    fn shape() -> Shape {
        Shape::Flag
    }

    fn plain(&self) -> Json {
        (*self).into()
    }
}

impl Value for Date {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let Kind::Scalar(scalar) = &node.kind
            && let Ok(date) = scalar.text.trim().parse()
            // The standard's other spellings are not for a record that people read.
            && scalar.text.trim().len() == 10
        {
            return Some(date);
        }
        reader.wrong_shape(node, Expected::Date);
        None
    }

    fn shape() -> Shape {
        Shape::Date
    }

    fn plain(&self) -> Json {
        self.to_string().into()
    }
}

macro_rules! measured {
    ($($name:ident),+ $(,)?) => {$(
        impl Value for quantity::$name {
            fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
                reader.measured(node, Self::KIND, Self::UNITS, Self::parse)
            }

            fn shape() -> Shape {
                Shape::Quantity { kind: Self::KIND, units: Self::UNITS.iter().map(|unit| unit.spelling).collect() }
            }

            fn plain(&self) -> Json {
                self.si().into()
            }
        }
    )+};
}

measured!(
    AirChangeRate,
    Angle,
    Area,
    ArealMass,
    Conductivity,
    Current,
    Density,
    Duration,
    ElectricalResistance,
    FlowCoefficient,
    HeatFlux,
    Length,
    Power,
    Pressure,
    Share,
    SpecificHeat,
    SpecificVolume,
    Temperature,
    TemperatureDifference,
    ThermalResistance,
    Transmittance,
    Velocity,
    Voltage,
    Volume,
    VolumeFlow,
);

impl<Q: Quantity> Value for quantity::Range<Q> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        reader.measured(node, Q::KIND, Q::UNITS, Self::parse)
    }

    fn shape() -> Shape {
        Shape::Range { kind: Q::KIND, units: Q::UNITS.iter().map(|unit| unit.spelling).collect() }
    }

    fn plain(&self) -> Json {
        json!({"least": self.least.si(), "greatest": self.greatest.si()})
    }
}
