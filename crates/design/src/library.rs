//! A design and the libraries it names, read as one.

use crate::Reading;
use crate::fault::{Fault, FaultKind};
use crate::format::Design;
use crate::names::{Kind, Reference, nearest};
use crate::read::{Reader, Value};
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::path::{Component, Path, PathBuf};
use yaml_tree::{FileId, Place};

/// Brings the bytes of a library by its path, or says why it cannot.
pub type Files<'f> = dyn Fn(&str) -> Result<Vec<u8>, String> + 'f;

/// A file that was read.
#[derive(Debug, Clone)]
pub struct Source {
    pub path: String,
    pub text: String,
}

/// The number of this format.
const FORMAT: &str = "1";
/// How many libraries a design may use, those of libraries included.
const MOST_LIBRARIES: usize = 64;
/// The blocks that a library may hold.
const IN_LIBRARY: [&str; 5] = ["format", "library", "pipes", "floors", "manifolds"];

pub(crate) fn read(path: &str, bytes: &[u8], files: &Files) -> Reading {
    let mut reader = Reader::default();
    let mut sources = Vec::new();
    let mut design = read_one(path, bytes, &mut reader, &mut sources);
    match &design.format {
        Some(format) if format.value != FORMAT => {
            reader.fault(format.at, FaultKind::UnknownFormat { number: format.value.clone() });
        }
        Some(_) => {}
        None if design.broken => {}
        None => reader.fault(Place::new(FileId(0), 0..0), FaultKind::FormatMissing),
    }

    let mut seen = HashSet::from([normal(Path::new(path))]);
    let mut waiting: Vec<(PathBuf, Place)> = wanted(path, &design);
    while let Some((path, named_at)) = waiting.pop() {
        if !seen.insert(path.clone()) {
            continue;
        }
        let shown = path.to_string_lossy().into_owned();
        if sources.len() > MOST_LIBRARIES {
            let reason = format!("a design may use up to {MOST_LIBRARIES} libraries");
            reader.fault(named_at, FaultKind::LibraryUnreadable { path: shown, reason });
            break;
        }
        match files(&shown) {
            Ok(bytes) => {
                let library = read_one(&shown, &bytes, &mut reader, &mut sources);
                waiting.extend(wanted(&shown, &library));
                join(&mut design, library, &mut reader);
            }
            Err(reason) => reader.fault(named_at, FaultKind::LibraryUnreadable { path: shown, reason }),
        }
    }

    unknown_names(&mut reader);
    reader.faults.sort_by_key(|fault| fault.place);
    let Reader { faults, definitions, references } = reader;
    Reading { design, faults, definitions, references, sources }
}

/// Reads one file into `sources` and gives what it says.
fn read_one(path: &str, bytes: &[u8], reader: &mut Reader, sources: &mut Vec<Source>) -> Design {
    let file = FileId(sources.len() as u16);
    let (text, fault) = yaml_tree::decode(file, bytes);
    if let Some(fault) = fault {
        reader.fault(fault.place, FaultKind::Text(fault.kind));
    }
    let tree = yaml_tree::parse(file, &text);
    for fault in tree.faults {
        reader.fault(fault.place, FaultKind::Text(fault.kind));
    }
    let mut design = match &tree.root {
        Some(root) => Design::read(root, reader).unwrap_or_default(),
        None => Design::default(),
    };
    if file != FileId(0)
        && let Some(entries) = tree.root.as_ref().and_then(|root| root.as_map())
    {
        for (key, _) in entries {
            let name = key.as_text().unwrap_or_default();
            if !IN_LIBRARY.contains(&name) && Design::INFO.field(name).is_some() {
                reader.fault(key.place, FaultKind::NotForLibrary { key: name.to_string() });
            }
        }
    }
    // A tree that could not be read at all must not look like an empty design.
    design.broken |= tree.root.is_none() && !reader.faults.is_empty();
    drop(tree.root);
    let text = match text {
        Cow::Borrowed(text) => text.to_string(),
        Cow::Owned(text) => text,
    };
    sources.push(Source { path: path.to_string(), text });
    design
}

/// The paths of the libraries that a file names, seen from where it stands.
fn wanted(path: &str, design: &Design) -> Vec<(PathBuf, Place)> {
    let folder = Path::new(path).parent().unwrap_or(Path::new(""));
    design.library.iter().rev().map(|library| (normal(&folder.join(&library.value)), library.at)).collect()
}

/// The path without `.` and with `..` taken back where that can be done by the letters alone.
pub fn normal(path: &Path) -> PathBuf {
    let mut normal = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(normal.components().next_back(), Some(Component::Normal(_))) => {
                normal.pop();
            }
            other => normal.push(other),
        }
    }
    normal
}

/// Adds a library's definitions to the design; the design's own come first.
fn join(design: &mut Design, library: Design, reader: &mut Reader) {
    let clashes = design
        .pipes
        .extend(library.pipes)
        .into_iter()
        .chain(design.floors.extend(library.floors))
        .chain(design.manifolds.extend(library.manifolds));
    for (name, place, first) in clashes {
        reader.fault(place, FaultKind::GivenTwice { name, first });
    }
}

/// Finds the uses of names that nothing carries.
fn unknown_names(reader: &mut Reader) {
    let mut known: HashMap<Kind, HashSet<&str>> = HashMap::new();
    for definition in &reader.definitions {
        known.entry(definition.kind).or_default().insert(&definition.name);
    }
    // A storey need not be declared: while none is, its name is only a label.
    let storeys_declared = known.contains_key(&Kind::Storey);
    let unknown: Vec<Fault> = reader
        .references
        .iter()
        .filter(|reference| reference.kind != Kind::Storey || storeys_declared)
        .filter(|reference| {
            !known.iter().any(|(kind, names)| reference.kind.accepts(*kind) && names.contains(&*reference.name))
        })
        .map(|Reference { kind, name, place }| {
            let names = known.iter().filter(|(of, _)| kind.accepts(**of)).flat_map(|(_, names)| names.iter().copied());
            let mut names: Vec<&str> = names.collect();
            names.sort_unstable();
            let nearest = nearest(name, names).map(str::to_string);
            Fault { place: *place, kind: FaultKind::UnknownName { name: name.clone(), kind: *kind, nearest } }
        })
        .collect();
    for fault in unknown {
        reader.fault(fault.place, fault.kind);
    }
}
