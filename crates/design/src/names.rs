//! Names: what carries them, what uses them, and which one was probably meant.

use crate::read::{Field, Reader, Value};
use crate::shape::Shape;
use indexmap::IndexMap;
use serde_json::Value as Json;
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

    /// Whether libraries may hold such things, so that several designs share them.
    pub fn is_in_libraries(self) -> bool {
        crate::library::IN_LIBRARY.contains(&self.block())
    }

    /// The keys that a new thing of this kind is begun with; none where there is no usual beginning.
    pub fn first_keys(self) -> &'static [&'static str] {
        match self {
            Kind::Storey => &["level"],
            Kind::Pipe => &["material", "outside-diameter", "wall-thickness"],
            Kind::Floor => &["method", "below", "layers"],
            Kind::Room => &["use", "temperature", "heat-loss", "floor", "area"],
            Kind::Wall => &["line", "thickness"],
            Kind::Opening => &["wall", "from", "to"],
            Kind::MovementJoint => &["line"],
            Kind::Manifold => &["ports", "flow-gauge"],
            Kind::Loop => &["manifold", "port", "room", "pipe", "spacing", "tails"],
            Kind::Zone => &["rooms"],
            Kind::ElectricMat => &["room", "area", "power"],
            Kind::Upright | Kind::FloorHole | Kind::Crossing | Kind::Label => &[],
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
        let written = reader.text(node)?;
        Some(Ref::to(&reader.name(T::KIND, written, node.place)))
    }

    fn shape() -> Shape {
        Shape::Name(T::KIND)
    }

    fn plain(&self) -> Json {
        self.name.as_str().into()
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
            let mut name = name.to_string();
            if T::NAMES_STAND_ELSEWHERE {
                name = reader.name(T::KIND, &name, key.place);
            } else {
                let whole = key.place.to(value.place);
                reader.definitions.push(Definition { kind: T::KIND, name: name.clone(), place: key.place, whole });
            }
            if let Some(first) = named.entries.get(&name) {
                let name = crate::read::shortened(&name);
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

    fn plain(&self) -> Json {
        // Things may come from libraries alone.
        if self.place.is_none() && self.entries.is_empty() {
            return Json::Null;
        }
        self.iter().map(|(name, entry)| (name.to_string(), entry.value.plain())).collect()
    }
}

/// The candidate that was probably meant by a misspelt word, if one is near enough.
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let spellings = candidates.into_iter().map(|candidate| (candidate, Spelling::of(candidate)));
    let mut budget = usize::MAX;
    nearest_of(&Spelling::of(word), spellings, &mut budget)
}

/// Names of one kind, made ready to be compared with many misspelt words.
pub(crate) struct Candidates<'c> {
    spellings: Vec<(&'c str, Spelling)>,
    /// How many letters it is still worth comparing with others.
    budget: usize,
}

impl<'c> Candidates<'c> {
    /// A file that wants more guesses than this is hopeless, and gets none from there on.
    const MOST_LETTERS: usize = 20_000_000;

    pub(crate) fn new(names: impl IntoIterator<Item = &'c str>) -> Candidates<'c> {
        let spellings = names.into_iter().map(|name| (name, Spelling::of(name))).collect();
        Candidates { spellings, budget: Self::MOST_LETTERS }
    }

    pub(crate) fn nearest(&mut self, word: &str) -> Option<&'c str> {
        let spellings = self.spellings.iter().map(|(name, spelling)| (*name, spelling));
        nearest_of(&Spelling::of(word), spellings, &mut self.budget)
    }
}

/// A word as it is compared: what people confuse made one. Empty if it is too long to be anything's name.
struct Spelling(Vec<char>);

impl Spelling {
    /// A hostile key may be a megabyte long; no word that is known is.
    const LONGEST: usize = 64;

    fn of(word: &str) -> Spelling {
        if word.len() > 4 * Self::LONGEST {
            return Spelling(Vec::new());
        }
        let letters: Vec<char> =
            word.chars().flat_map(char::to_lowercase).map(|c| if matches!(c, ' ' | '_') { '-' } else { c }).collect();
        Spelling(if letters.len() > Self::LONGEST { Vec::new() } else { letters })
    }
}

fn nearest_of<'c>(
    word: &Spelling,
    candidates: impl Iterator<Item = (&'c str, impl std::borrow::Borrow<Spelling>)>,
    budget: &mut usize,
) -> Option<&'c str> {
    let mut best: Option<(usize, &str)> = None;
    let mut is_tied = false;
    if word.0.is_empty() {
        return None;
    }
    for (name, spelling) in candidates {
        let letters = &spelling.borrow().0;
        // Even to look at a name costs something.
        *budget = budget.checked_sub(4)?;
        // Numbers tell things apart: `M3` is no slip for `M1`.
        if letters.is_empty() || !digits(letters).eq(digits(&word.0)) {
            continue;
        }
        // A word that is only half typed is as far away as what it lacks.
        let begins = word.0.len() > 2 && letters.starts_with(&word.0);
        let far = if begins { letters.len() - word.0.len() } else { 1 + letters.len() / 4 };
        let far = best.map_or(far, |(best, _)| far.min(best));
        if word.0.len().abs_diff(letters.len()) > far {
            continue;
        }
        *budget = budget.checked_sub(word.0.len() * letters.len())?;
        if let Some(distance) = distance(&word.0, letters, far) {
            is_tied = best.is_some_and(|(best, _)| best == distance);
            best = Some((distance, name));
        }
    }
    // Of two that are as near nobody knows which was meant.
    best.filter(|_| !is_tied).map(|(_, name)| name)
}

fn digits(letters: &[char]) -> impl Iterator<Item = &char> {
    letters.iter().filter(|c| c.is_ascii_digit())
}

/// Single letters to insert, delete, replace or swap with their neighbour to get from one word to the other, if they
/// are not more than `most`.
fn distance(from: &[char], to: &[char], most: usize) -> Option<usize> {
    if from.len().abs_diff(to.len()) > most || to.len() > Spelling::LONGEST {
        return None;
    }
    let mut rows = [[0; Spelling::LONGEST + 1]; 3];
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    let mut least_of_last = 0;
    for (i, a) in from.iter().enumerate() {
        let [last, before, row] = &mut rows;
        row[0] = i + 1;
        let mut least = row[0];
        for (j, b) in to.iter().enumerate() {
            let mut cell = (last[j] + usize::from(a != b)).min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b {
                cell = cell.min(before[j - 1] + 1);
            }
            row[j + 1] = cell;
            least = least.min(cell);
        }
        // A swap looks back over two rows.
        if least.min(least_of_last) > most {
            return None;
        }
        least_of_last = least;
        rows.rotate_right(1);
    }
    Some(rows[0][to.len()]).filter(|distance| *distance <= most)
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
        assert_eq!(nearest("heat", keys), Some("heat-loss"));
        assert_eq!(nearest("", keys), None);
        assert_eq!(nearest("M3", ["M1", "M2"]), None);
        assert_eq!(nearest("M1x", ["M1", "M2", "M12"]), Some("M1"));
        assert_eq!(nearest("bat", ["bar", "bath"]), None);
        assert_eq!(nearest(&"x".repeat(1_000_000), keys), None);
        assert_eq!(nearest(&"x".repeat(64), [&*"x".repeat(65)]), None);
        assert_eq!(nearest("x", [&*"x".repeat(1_000_000), "y"]), Some("y"));
    }

    #[test]
    fn what_a_thing_is_begun_with_are_keys_of_it() {
        use crate::{Kind, Shape};
        let design = <crate::Design as crate::Value>::shape();
        for kind in [
            Kind::Storey,
            Kind::Pipe,
            Kind::Floor,
            Kind::Room,
            Kind::Wall,
            Kind::Opening,
            Kind::MovementJoint,
            Kind::Manifold,
            Kind::Loop,
            Kind::Zone,
            Kind::ElectricMat,
        ] {
            let block = kind.block().split('/').try_fold(design.clone(), |shape, key| shape.under(key));
            let Some(Shape::Named(of, thing)) = block else { panic!("{kind:?} has no block") };
            assert_eq!(of, kind);
            let record = thing.record().unwrap_or_else(|| panic!("{kind:?} is no record"));
            kind.first_keys().iter().for_each(|key| assert!(record.field(key).is_some(), "{kind:?} has no {key}"));
        }
    }

    /// The recursion as it is defined, without a limit.
    fn plain(from: &[char], to: &[char]) -> usize {
        let ([from_rest @ .., a], [to_rest @ .., b]) = (from, to) else { return from.len().max(to.len()) };
        let mut least = plain(from_rest, to_rest) + usize::from(a != b);
        least = least.min(plain(from_rest, to) + 1).min(plain(from, to_rest) + 1);
        if let ([from_rest @ .., before_a], [to_rest @ .., before_b]) = (from_rest, to_rest)
            && (a, before_a) == (before_b, b)
        {
            least = least.min(plain(from_rest, to_rest) + 1);
        }
        least
    }

    #[test]
    fn a_limit_only_cuts_what_is_farther() {
        let words: Vec<Vec<char>> =
            ["", "a", "ab", "ba", "abc", "acb", "bca", "abcd", "badc"].map(|it| it.chars().collect()).into();
        for from in &words {
            for to in &words {
                let whole = plain(from, to);
                for most in 0..6 {
                    let wanted = (whole <= most).then_some(whole);
                    assert_eq!(super::distance(from, to, most), wanted, "{from:?} {to:?} {most}");
                }
            }
        }
    }

    #[test]
    fn a_hopeless_file_gets_no_more_guesses() {
        let mut candidates = super::Candidates { budget: 70, ..super::Candidates::new(["hall", "bath"]) };
        assert_eq!(candidates.nearest("hal"), Some("hall"));
        assert_eq!(candidates.nearest("bat"), Some("bath"));
        assert_eq!(candidates.nearest("hal"), None);
    }
}
