//! Names: what carries them, what uses them, and which one was probably meant.

use crate::read::{Field, Reader, Value};
use crate::shape::Shape;
use indexmap::IndexMap;
use std::marker::PhantomData;
use yaml_tree::{Kind as NodeKind, Node, Place};

/// The kinds of thing that carry a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    Storey,
    Pipe,
    Floor,
    Room,
    Wall,
    Opening,
    MovementJoint,
    Upright,
    FloorHole,
    Manifold,
    Loop,
    Zone,
    ElectricMat,
    /// A wall, an opening or a movement joint: what a sleeve may serve.
    Crossing,
    /// A name that is used nowhere else, such as that of a keep-clear area.
    Label,
}

impl Kind {
    /// The kind in plain words, without an article.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Storey => "storey",
            Kind::Pipe => "pipe",
            Kind::Floor => "floor",
            Kind::Room => "room",
            Kind::Wall => "wall",
            Kind::Opening => "opening",
            Kind::MovementJoint => "movement joint",
            Kind::Upright => "upright",
            Kind::FloorHole => "hole in the floor",
            Kind::Manifold => "manifold",
            Kind::Loop => "loop",
            Kind::Zone => "zone",
            Kind::ElectricMat => "electric mat",
            Kind::Crossing => "wall, opening or movement joint",
            Kind::Label => "name",
        }
    }

    /// The block of a design in which things of this kind are named.
    pub fn block(self) -> &'static str {
        match self {
            Kind::Storey => "storeys",
            Kind::Pipe => "pipes",
            Kind::Floor => "floors",
            Kind::Room => "rooms",
            Kind::Wall => "walls",
            Kind::Opening => "openings",
            Kind::MovementJoint => "movement-joints",
            Kind::Upright => "uprights",
            Kind::FloorHole => "floor-holes",
            Kind::Manifold => "manifolds",
            Kind::Loop => "loops",
            Kind::Zone => "controls/zones",
            Kind::ElectricMat => "electric-mats",
            Kind::Crossing | Kind::Label => "",
        }
    }

    /// Whether a definition of `other` answers a use of `self`.
    pub fn accepts(self, other: Kind) -> bool {
        self == other || self == Kind::Crossing && matches!(other, Kind::Wall | Kind::Opening | Kind::MovementJoint)
    }
}

/// A type whose values are kept under a name.
pub trait Nameable {
    const KIND: Kind;
    /// Whether the names are not given here but stand elsewhere, as those of loops over their set flows.
    const NAMES_STAND_ELSEWHERE: bool = false;
}

/// A name given to something.
#[derive(Debug, Clone)]
pub struct Definition {
    pub kind: Kind,
    pub name: String,
    pub place: Place,
    /// The name and all that stands under it.
    pub whole: Place,
}

/// A use of a name.
#[derive(Debug, Clone)]
pub struct Reference {
    pub kind: Kind,
    pub name: String,
    pub place: Place,
}

/// The name of a `T` that stands elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Ref<T> {
    pub name: String,
    of: PhantomData<T>,
}

impl<T> Ref<T> {
    /// A use of this name.
    pub fn to(name: &str) -> Ref<T> {
        Ref { name: name.to_string(), of: PhantomData }
    }
}

impl<T: Nameable> Value for Ref<T> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let name = reader.text(node)?;
        reader.references.push(Reference { kind: T::KIND, name: name.to_string(), place: node.place });
        Some(Ref::to(name))
    }

    fn shape() -> Shape {
        Shape::Name(T::KIND)
    }
}

/// How many things of one kind a file may name: more than any building has, so that a hopeless file costs no gigabytes.
const MOST_OF_A_KIND: usize = 10_000;

/// Things under names of the designer's choice, in the order of the file.
#[derive(Debug, Clone)]
pub struct Named<T> {
    entries: IndexMap<String, Entry<T>>,
    /// Where the block stands, if it was given; `none` is a block without entries.
    pub place: Option<Place>,
}

/// A thing with its name.
#[derive(Debug, Clone)]
pub struct Entry<T> {
    /// Where the name stands.
    pub name_place: Place,
    pub value: T,
}

impl<T> Default for Named<T> {
    fn default() -> Self {
        Named { entries: IndexMap::new(), place: None }
    }
}

impl<T> Named<T> {
    /// Every thing with its name, in the order of the file.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (&str, &Entry<T>)> + Clone {
        self.entries.iter().map(|(name, entry)| (name.as_str(), entry))
    }

    /// The things alone.
    pub fn values(&self) -> impl ExactSizeIterator<Item = &T> + Clone {
        self.entries.values().map(|entry| &entry.value)
    }

    /// The thing of this name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.entries.get(name).map(|entry| &entry.value)
    }

    /// The thing of this name with the place of the name.
    pub fn entry(&self, name: &str) -> Option<&Entry<T>> {
        self.entries.get(name)
    }

    /// The position of this name in the order of the file.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.entries.get_index_of(name)
    }

    /// The thing at a position, with its name.
    pub fn at(&self, position: usize) -> Option<(&str, &Entry<T>)> {
        self.entries.get_index(position).map(|(name, entry)| (name.as_str(), entry))
    }

    pub fn len(&self) -> usize {
        self.entries.len()
    }

    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Adds the things of a library; what is here already stays, and is given back as a clash.
    pub(crate) fn extend(&mut self, other: Named<T>) -> Vec<(String, Place, Place)> {
        let mut clashes = Vec::new();
        for (name, entry) in other.entries {
            if let Some(own) = self.entries.get(&name) {
                clashes.push((name, entry.name_place, own.name_place));
            } else {
                self.entries.insert(name, entry);
            }
        }
        clashes
    }
}

impl<T: Value + Nameable> Field for Named<T> {
    fn read(node: &Node, reader: &mut Reader) -> Self {
        let mut named = Named { entries: IndexMap::new(), place: Some(node.place) };
        let pairs = match &node.kind {
            NodeKind::Map(pairs) => pairs,
            NodeKind::Null => return named,
            NodeKind::Scalar(scalar) if scalar.text == "none" => return named,
            _ => {
                reader.wrong_shape(node, crate::Expected::Thing("names, each with its own block"));
                return named;
            }
        };
        named.entries.reserve(pairs.len().min(MOST_OF_A_KIND));
        for (key, value) in pairs {
            if named.entries.len() == MOST_OF_A_KIND {
                reader.fault(key.place, crate::FaultKind::TooMany { kind: T::KIND, limit: MOST_OF_A_KIND });
                break;
            }
            let Some(name) = reader.text(key) else { continue };
            let name = name.to_string();
            if T::NAMES_STAND_ELSEWHERE {
                reader.references.push(Reference { kind: T::KIND, name: name.clone(), place: key.place });
            } else {
                let whole = key.place.to(value.place);
                reader.definitions.push(Definition { kind: T::KIND, name: name.clone(), place: key.place, whole });
            }
            if let Some(first) = named.entries.get(&name) {
                reader.fault(key.place, crate::FaultKind::GivenTwice { name, first: first.name_place });
                continue;
            }
            if let Some(thing) = T::read(value, reader) {
                named.entries.insert(name, Entry { name_place: key.place, value: thing });
            }
        }
        named
    }

    fn shape() -> Shape {
        Shape::Named(T::KIND, Box::new(T::shape()))
    }
}

/// The candidate that was probably meant by a misspelt word, if one is near enough.
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let lower = word.to_lowercase().replace([' ', '_'], "-");
    candidates
        .into_iter()
        .map(|candidate| (distance(&lower, &candidate.to_lowercase().replace([' ', '_'], "-")), candidate))
        .filter(|(distance, candidate)| {
            *distance <= 1 + candidate.len() / 4 || candidate.starts_with(&*lower) && lower.len() > 2
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Single letters to insert, delete, replace or swap with their neighbour to get from one word to the other.
fn distance(from: &str, to: &str) -> usize {
    // A hostile key may be a megabyte long; no known word is.
    if from.len() > 64 {
        return usize::MAX / 2;
    }
    let from: Vec<char> = from.chars().collect();
    let to: Vec<char> = to.chars().collect();
    let mut before: Vec<usize> = vec![0; to.len() + 1];
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1; to.len() + 1];
        for (j, b) in to.iter().enumerate() {
            let swapped = i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b;
            row[j + 1] = (last[j] + usize::from(a != b)).min(last[j + 1] + 1).min(row[j] + 1);
            if swapped {
                row[j + 1] = row[j + 1].min(before[j - 1] + 1);
            }
        }
        before = std::mem::replace(&mut last, row);
    }
    last[to.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_its_word() {
        let keys = ["flow", "floor", "spacing", "heat-loss"];
        assert_eq!(nearest("flw", keys), Some("flow"));
        assert_eq!(nearest("heat_loss", keys), Some("heat-loss"));
        assert_eq!(nearest("spaicng", keys), Some("spacing"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(nearest(&"x".repeat(1_000_000), keys), None);
    }
}
