//! Names: where they are given and where they are used, in a design, its libraries and its house standard, and in all
//! designs that share these.

use crate::nearby::{Nearby, beside};
use crate::snapshot::name;
use crate::state::Uri;
use design::{FileId, Kind, Place, Reading};
use std::cell::RefCell;
use std::collections::HashMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use yaml_tree::lines::LineIndex;

/// What carries a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Thing(Kind),
    /// A rule of a house standard's own.
    Rule,
}

/// A name under the cursor.
#[derive(Debug, Clone, PartialEq)]
pub struct Name {
    pub what: What,
    pub text: String,
    /// Where it is written under the cursor.
    pub bytes: Range<usize>,
}

/// A file of which places are told.
#[derive(Debug)]
pub struct Text {
    /// How the client calls it, if it is open.
    pub document: Option<Uri>,
    pub path: Option<PathBuf>,
    /// The client's number of the text, if it is open.
    pub version: Option<i32>,
    pub text: Arc<str>,
    lines: OnceLock<LineIndex>,
}

/// A place where a name is written.
#[derive(Debug, Clone)]
pub struct Spot {
    pub file: Arc<Text>,
    pub bytes: Range<usize>,
    /// Whether the name is given here.
    pub is_definition: bool,
    /// Where it is part of a text, as in `loops/L1`: that text, and what stands in it before and behind the name.
    within: Option<(Range<usize>, String, String)>,
}

impl Spot {
    /// The bytes that another name takes the place of, and what is written there then.
    pub fn renamed(&self, new: &str) -> (Range<usize>, String) {
        match &self.within {
            None => (self.bytes.clone(), yaml_tree::written(new)),
            Some((whole, before, behind)) => (whole.clone(), yaml_tree::written(&format!("{before}{new}{behind}"))),
        }
    }
}

/// What was read of a design with its libraries and its house standard.
pub struct Names {
    pub reading: Reading,
    files: Vec<Arc<Text>>,
}

impl Text {
    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }
}

impl Names {
    /// Reads the design at a path; `document` is how the client calls it, if it is open.
    pub fn read(path: Option<&Path>, document: Option<(Uri, i32)>, text: &[u8], nearby: &Nearby) -> Names {
        let asked = RefCell::new(Vec::new());
        let house_standard = nearby.house_standard();
        let files = |library: &str| nearby.library(library, &asked);
        let own = name(path);
        let mut reading = design::read_under(&own, text, house_standard.as_deref(), &files, &[]);
        let sources = std::mem::take(&mut reading.sources);
        let files = sources.into_iter().enumerate().map(|(at, source)| {
            let path = match (at, &nearby.folder) {
                (0, _) => path.map(Path::to_path_buf),
                (_, Some(folder)) => Some(beside(folder, &source.path)),
                (_, None) => None,
            };
            let open = path.as_deref().filter(|_| at > 0).and_then(|path| nearby.open_at(path));
            let (document, version) = match open {
                Some(open) => (Some(open.document.clone()), Some(open.version)),
                None if at == 0 => (document.as_ref().map(|it| it.0.clone()), document.as_ref().map(|it| it.1)),
                None => (None, None),
            };
            Arc::new(Text { document, path, version, text: source.text, lines: OnceLock::new() })
        });
        let files = files.collect();
        Names { reading, files }
    }

    /// The name at a byte of the design's own file.
    pub fn at(&self, offset: usize) -> Option<Name> {
        let touches = |place: Place| {
            place.file == FileId::new(0) && place.start as usize <= offset && offset <= place.end as usize
        };
        let found = |what, text: &str, place: Place| Name { what, text: text.to_string(), bytes: place.range() };
        let rule = self.rules().find(|(_, place, _)| touches(*place));
        if let Some((name, place, _)) = rule {
            return Some(found(What::Rule, name, place));
        }
        let given = self.reading.definitions.iter().filter(|it| it.kind != Kind::Label).find(|it| touches(it.place));
        if let Some(given) = given {
            return Some(found(What::Thing(given.kind), &given.name, given.place));
        }
        let used = self.reading.references.iter().find(|it| touches(it.place));
        if let Some(used) = used {
            // What a sleeve serves may be of several kinds: the thing itself says of which.
            let given = self.reading.definitions.iter().find(|it| used.kind.accepts(it.kind) && it.name == used.name);
            return Some(found(What::Thing(given.map_or(used.kind, |it| it.kind)), &used.name, used.place));
        }
        let departed = self.departed().find(|it| touches(it.place))?;
        Some(found(What::Thing(departed.kind), departed.name, departed.place))
    }

    /// Every place where a name is written, in all files that were read.
    pub fn spots(&self, what: What, text: &str) -> Vec<Spot> {
        let mut spots = Vec::new();
        let mut add = |place: Place, is_definition: bool, within: Option<(Range<usize>, String, String)>| {
            let Some(file) = self.files.get(place.file.number()) else { return };
            // A misspelt name is meant to be the right one, but is not written so.
            let written = file.text.get(place.range()).unwrap_or_default();
            if written == text || written.starts_with(['"', '\'']) {
                spots.push(Spot { file: file.clone(), bytes: place.range(), is_definition, within });
            }
        };
        match what {
            What::Rule => {
                for (_, place, whole) in self.rules().filter(|(name, _, _)| *name == text) {
                    add(place, whole.is_some(), None);
                }
            }
            What::Thing(kind) => {
                let given = self.reading.definitions.iter().filter(|it| it.kind == kind && it.name == text);
                given.for_each(|it| add(it.place, true, None));
                let used = self.reading.references.iter().filter(|it| it.kind.accepts(kind) && it.name == text);
                used.for_each(|it| add(it.place, false, None));
                for it in self.departed().filter(|it| it.kind == kind && it.name == text) {
                    let start = (it.place.start - it.whole.start) as usize;
                    let (before, behind) = (&it.text[..start], &it.text[start + it.name.len()..]);
                    add(it.place, false, Some((it.whole.range(), before.into(), behind.into())));
                }
            }
        }
        spots.sort_by_key(|spot| (spot.file.path.clone(), spot.bytes.start));
        spots.dedup_by(|one, other| Arc::ptr_eq(&one.file, &other.file) && one.bytes == other.bytes);
        spots
    }

    /// Whether something of that kind carries a name.
    pub fn is_taken(&self, what: What, text: &str) -> bool {
        match what {
            What::Rule => {
                check::RULES.iter().any(|rule| rule.name == text)
                    || self.rules().any(|(name, _, whole)| whole.is_some() && name == text)
            }
            What::Thing(kind) => self.reading.definitions.iter().any(|it| it.kind == kind && it.name == text),
        }
    }

    /// Where a file that was read stands, the design itself among them.
    pub fn files(&self) -> impl Iterator<Item = &Arc<Text>> {
        self.files.iter()
    }

    pub fn file(&self, file: FileId) -> Option<&Arc<Text>> {
        self.files.get(file.number())
    }

    /// Own rules of the house standard where they are given, and departures from them.
    fn rules(&self) -> impl Iterator<Item = (&str, Place, Option<Place>)> {
        let own = self.reading.house_standard.iter().flat_map(|it| it.own_rules.iter());
        let given = own.map(|(name, entry)| (name, entry.name_place, Some(entry.name_place)));
        let own = |name: &str| self.reading.house_standard.as_ref().is_some_and(|it| it.own_rules.get(name).is_some());
        let departures = self.reading.design.departures.iter().filter_map(|it| it.value.rule.as_ref());
        let used = departures.filter(move |rule| own(&rule.value)).map(|rule| (rule.value.as_str(), rule.at, None));
        given.chain(used)
    }

    /// The things at which departures hold: `L4`, or `loops/L4`.
    fn departed(&self) -> impl Iterator<Item = Departed<'_>> {
        let places = self.reading.design.departures.iter().filter_map(|it| it.value.at.as_ref());
        let mut things: HashMap<&str, Vec<Kind>> = HashMap::new();
        for it in self.reading.definitions.iter().filter(|it| it.kind != Kind::Label) {
            things.entry(&it.name).or_default().push(it.kind);
        }
        places.filter_map(move |at| {
            let text = at.value.as_str();
            // A name by itself; or behind its block, up to the end or to a part of the thing.
            let slashes = text.match_indices('/').take(MOST_STEPS).map(|(at, _)| at);
            let starts = std::iter::once(0).chain(slashes.clone().map(|at| at + 1));
            let ends = std::iter::once(text.len()).chain(slashes);
            let (name, kind) = starts
                .flat_map(|start| ends.clone().filter(move |end| *end > start).map(move |end| start..end))
                .filter(|range| range.start > 0 || range.end == text.len())
                .find_map(|range| {
                    let (name, kinds) = things.get_key_value(&text[range.clone()])?;
                    let block = text[..range.start].trim_end_matches('/');
                    let kind = kinds.iter().find(|kind| range.start == 0 || kind.block() == block)?;
                    Some((*name, *kind))
                })?;
            let before = if text == name { 0 } else { kind.block().len() + 1 };
            // In quotes the bytes are others than the letters.
            let is_plain = at.at.range().len() == text.len();
            let start = at.at.start + before as u32;
            let place = Place { start, end: start + name.len() as u32, ..at.at };
            is_plain.then_some(Departed { kind, name, place, whole: at.at, text })
        })
    }
}

/// Steps of a path that are looked at.
const MOST_STEPS: usize = 8;

/// A thing that a departure names.
struct Departed<'n> {
    kind: Kind,
    name: &'n str,
    place: Place,
    /// What stands there in all: `loops/L4`.
    whole: Place,
    text: &'n str,
}

/// Everything that a name is written at: in the design, and in others that share the file in which it is given.
pub fn everywhere(own: &Names, name: &Name, others: &[Names]) -> Vec<Spot> {
    let mut spots = own.spots(name.what, &name.text);
    let given_in: Vec<PathBuf> =
        spots.iter().filter(|it| it.is_definition).filter_map(|it| it.file.path.clone()).collect();
    for other in others {
        let shares = other.files().any(|file| file.path.as_ref().is_some_and(|path| given_in.contains(path)));
        if !shares {
            continue;
        }
        let theirs = other.spots(name.what, &name.text);
        // A design that gives the name to a thing of its own means that one.
        let first = theirs.iter().find(|it| it.is_definition);
        if first.is_none_or(|it| it.file.path.as_ref().is_some_and(|path| given_in.contains(path))) {
            spots.extend(theirs);
        }
    }
    spots.sort_by(|one, other| (&one.file.path, one.bytes.start).cmp(&(&other.file.path, other.bytes.start)));
    spots.dedup_by(|one, other| {
        one.bytes == other.bytes
            && (Arc::ptr_eq(&one.file, &other.file) || one.file.path.is_some() && one.file.path == other.file.path)
    });
    spots
}

/// Why a name cannot be given.
pub fn refusal(own: &Names, name: &Name, new: &str) -> Option<String> {
    if new.trim().is_empty() || new.chars().any(char::is_control) {
        return Some("a name has at least one letter, and stands on one line".into());
    }
    if new != name.text && own.is_taken(name.what, new) {
        let word = match name.what {
            What::Thing(kind) => kind.word(),
            What::Rule => "rule",
        };
        return Some(format!("there is a {word} `{new}` already"));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nearby::OpenFile;

    const LIBRARY: &str = "format: 1\npipes:\n  thin: {material: PE-X}\n";
    const DESIGN: &str = "format: 1\nlibrary: [pipes.yaml]\nwalls: {W1: {line: [[0, 0], [1, 1]]}}\nrooms: {\"hall\": {}}\nloops:\n  L1: {room: hall, pipe: thin, sleeves: [W1]}\n\
                          departures:\n  - {rule: spacing-too-wide, at: loops/L1}\n  - {rule: spacing-too-wide, at: hall}\nrecords: {set-flows: {L1: 2 l/min}}\n";

    fn nearby() -> Nearby {
        let file = |path: &str, text: &str| OpenFile {
            document: path.into(),
            path: path.into(),
            version: 1,
            changed: 1,
            text: Arc::new(text.into()),
        };
        Nearby { folder: Some("/x".into()), open: Arc::new(vec![file("/x/pipes.yaml", LIBRARY)]) }
    }

    fn read(path: &str, text: &str) -> Names {
        Names::read(Some(Path::new(path)), Some((path.into(), 1)), text.as_bytes(), &nearby())
    }

    fn written(text: &str, of: &str) -> Vec<(String, String, bool)> {
        let names = read("/x/a.ufh.yaml", text);
        let name = names.at(text.find(of).expect("the text holds it")).unwrap_or_else(|| panic!("{of} is a name"));
        let spots = names.spots(name.what, &name.text);
        let shown = |it: &Spot| {
            (
                it.file.path.as_ref().unwrap().display().to_string(),
                it.file.text[it.bytes.clone()].to_string(),
                it.is_definition,
            )
        };
        spots.iter().map(shown).collect()
    }

    #[test]
    fn every_use_of_a_name_is_found() {
        let own = |text: &str, given| ("/x/a.ufh.yaml".to_string(), text.to_string(), given);
        assert_eq!(written(DESIGN, "L1}\n"), [own("L1", true), own("L1", false), own("L1", false)]);
        assert_eq!(written(DESIGN, "hall, pipe"), [own("\"hall\"", true), own("hall", false), own("hall", false)]);
        assert_eq!(written(DESIGN, "W1]"), [own("W1", true), own("W1", false)]);
        assert_eq!(written(DESIGN, "thin,"), [own("thin", false), ("/x/pipes.yaml".into(), "thin".into(), true)]);
    }

    #[test]
    fn a_shared_thing_is_used_in_other_designs() {
        let (one, two) = (read("/x/a.ufh.yaml", DESIGN), read("/x/b.ufh.yaml", DESIGN));
        let three = read("/x/c.ufh.yaml", "format: 1\npipes: {thin: {}}\nloops: {L1: {pipe: thin}}\n");
        let library = read("/x/pipes.yaml", LIBRARY);
        let name = library.at(LIBRARY.find("thin").unwrap()).expect("it is a name");
        let spots = everywhere(&library, &name, &[one, two, three]);
        let files: Vec<String> = spots.iter().map(|it| it.file.path.as_ref().unwrap().display().to_string()).collect();
        assert_eq!(files, ["/x/a.ufh.yaml", "/x/b.ufh.yaml", "/x/pipes.yaml"]);
    }

    #[test]
    fn a_name_within_a_text_is_changed_with_that_text() {
        let names = read("/x/a.ufh.yaml", DESIGN);
        let name = names.at(DESIGN.find("L1}\n").unwrap()).expect("it is a name");
        let renamed: Vec<String> = names.spots(name.what, &name.text).iter().map(|it| it.renamed("a, b").1).collect();
        assert_eq!(renamed, ["\"a, b\"", "\"loops/a, b\"", "\"a, b\""]);
    }

    #[test]
    fn a_name_that_is_taken_is_refused() {
        let text = "format: 1\nloops: {L1: {}, L2: {}}\n";
        let names = read("/x/a.ufh.yaml", text);
        let name = names.at(text.find("L1").unwrap()).expect("it is a name");
        assert_eq!(refusal(&names, &name, "L2").as_deref(), Some("there is a loop `L2` already"));
        assert!(refusal(&names, &name, " ").is_some() && refusal(&names, &name, "a\nb").is_some());
        assert_eq!(refusal(&names, &name, "north loop"), None);
        assert!(names.at(2).is_none());
    }
}
