//! From tree to typed values, with every fault collected.

use crate::fault::{Expected, Fault, FaultKind};
use crate::names::{Definition, Reference, nearest};
use crate::shape::{RecordInfo, Shape};
use jiff::civil::Date;
use quantity::Quantity;
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
}

/// Something that stands under a key of a record: a value that may be missing, a list, named things.
pub trait Field: Default {
    fn read(node: &Node, reader: &mut Reader) -> Self;
    fn shape() -> Shape;
}

/// Collects what is read on the way besides the values.
#[derive(Debug, Default)]
pub struct Reader {
    pub faults: Vec<Fault>,
    pub definitions: Vec<Definition>,
    pub references: Vec<Reference>,
}

impl Reader {
    /// The greatest number of faults that are kept; a file with more is not a design.
    const MOST_FAULTS: usize = 500;

    pub fn fault(&mut self, place: Place, kind: FaultKind) {
        if self.faults.len() < Self::MOST_FAULTS {
            self.faults.push(Fault { place, kind });
        }
    }

    /// Says that something else was wanted here, unless the text is broken here anyway.
    pub fn wrong_shape(&mut self, node: &Node, expected: Expected) {
        if !node.broken {
            let found = match &node.kind {
                Kind::Null => "nothing".to_string(),
                Kind::Scalar(scalar) => format!("`{}`", shortened(&scalar.text)),
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

    /// Walks the keys of a record. `take` reads a key that it knows and says whether it did.
    pub fn fields(
        &mut self,
        node: &Node,
        record: &'static RecordInfo,
        mut take: impl FnMut(&mut Reader, &str, &Node) -> bool,
    ) {
        let pairs = match &node.kind {
            Kind::Map(pairs) => pairs,
            // `kitchen:` with nothing under it yet is a record without keys.
            Kind::Null => return,
            _ => return self.wrong_shape(node, Expected::Block),
        };
        for (at, (key, value)) in pairs.iter().enumerate() {
            let Some(name) = self.text(key) else { continue };
            let first =
                pairs[..at].iter().find(|(earlier, _)| matches!(&earlier.kind, Kind::Scalar(it) if it.text == name));
            if let Some((first, _)) = first {
                self.fault(key.place, FaultKind::GivenTwice { name: name.to_string(), first: first.place });
                continue;
            }
            if !take(self, name, value) {
                let nearest = nearest(name, record.fields.iter().map(|field| field.key));
                let kind = FaultKind::UnknownKey { key: shortened(name), nearest, within: record.name };
                self.fault(key.place, kind);
            }
        }
    }

    /// Says that the word here is none of those allowed.
    pub fn unknown_word(&mut self, node: &Node, words: &'static [(&'static str, &'static str)]) {
        let Kind::Scalar(scalar) = &node.kind else { return };
        let allowed: Vec<_> = words.iter().map(|(word, _)| *word).collect();
        let nearest = nearest(&scalar.text, allowed.iter().copied());
        if !node.broken {
            self.fault(node.place, FaultKind::UnknownWord { word: shortened(&scalar.text), nearest, allowed });
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
        let fault = match parse(&scalar.text) {
            Ok(value) => return Some(value),
            Err(fault) => fault,
        };
        let text = scalar.text.trim();
        let (place, kind) = match fault {
            quantity::Fault::NoNumber | quantity::Fault::NotFinite => {
                (node.place, FaultKind::NoNumber { kind, found: shortened(text) })
            }
            quantity::Fault::DecimalComma(better) => (node.place, FaultKind::DecimalComma { better }),
            quantity::Fault::NoUnit => {
                let usual = usual_units(kind, units, text);
                (node.place, FaultKind::BareNumber { kind, number: text.to_string(), usual })
            }
            quantity::Fault::WrongUnit { unit, at, nearest } => {
                let accepted: Vec<_> = units.iter().map(|unit| unit.spelling).collect();
                // One letter is as near to another as to any.
                let guess = || self::nearest(&unit, accepted.iter().copied()).filter(|_| unit.chars().count() > 1);
                let nearest = nearest.or_else(guess);
                // Inside quotes, or with folded lines, the text is not the bytes: then the whole value is marked.
                let place = if scalar.quoted || (node.place.end - node.place.start) as usize != scalar.text.len() {
                    node.place
                } else {
                    let start = node.place.start + at.start as u32;
                    Place { start, end: node.place.start + at.end as u32, ..node.place }
                };
                (place, FaultKind::WrongUnit { kind, unit: shortened(&unit), nearest, accepted })
            }
        };
        if !node.broken {
            self.fault(place, kind);
        }
        None
    }
}

/// The units that a person would have meant by a bare number, the likeliest first.
fn usual_units(kind: &str, units: &'static [quantity::Unit], number: &str) -> Vec<&'static str> {
    if kind != quantity::Length::KIND {
        return units.iter().take(1).map(|unit| unit.spelling).collect();
    }
    // A floor is so many millimetres thick and so many metres wide.
    let small = number.parse::<f64>().is_ok_and(|number| number.abs() < 20.0);
    if small { vec!["m", "mm"] } else { vec!["mm", "m"] }
}

/// At most forty letters of a text, for a message.
fn shortened(text: &str) -> String {
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
        T::read(node, reader).map(|value| Placed { value, at: node.place })
    }

    fn shape() -> Shape {
        T::shape()
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
        Shape::List { of: Box::new(T::shape()), or_one: !T::IS_A_LIST, least: 0 }
    }
}

impl Value for String {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        reader.text(node).map(str::to_string)
    }

    fn shape() -> Shape {
        Shape::Text("")
    }
}

impl Value for f64 {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let Kind::Scalar(scalar) = &node.kind else {
            reader.wrong_shape(node, Expected::Number);
            return None;
        };
        match scalar.text.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                reader.wrong_shape(node, Expected::Number);
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Number("a number")
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
        }
    )+};
}

measured!(
    AirChangeRate,
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
}
