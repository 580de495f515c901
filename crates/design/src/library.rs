//! A design and the libraries it names, read as one.

use crate::Reading;
use crate::fault::{Fault, FaultKind};
use crate::format::{Design, HouseStandard};
use crate::names::{Candidates, Kind, Reference};
use crate::read::{Given, Reader, Value, shortened};
use std::collections::{HashMap, HashSet};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, OnceLock};
use yaml_tree::{FileId, Parsed, Place, Tree};

/// Brings the bytes of a library by its path, or says why it cannot.
pub type Files<'f> = dyn Fn(&str) -> Result<Vec<u8>, String> + 'f;

/// A file that was read.
#[derive(Debug, Clone)]
pub struct Source {
    pub path: String,
    pub text: Arc<str>,
    /// Kept for the reading of a text that differs in little.
    parsed: OnceLock<Arc<Parsed>>,
}

impl Source {
    pub fn new(path: impl Into<String>, text: impl Into<Arc<str>>) -> Source {
        Source { path: path.into(), text: text.into(), parsed: OnceLock::new() }
    }

    /// The text as a tree; `file` is the place of this source among those that were read.
    fn parsed(&self, file: FileId) -> &Arc<Parsed> {
        self.parsed.get_or_init(|| Arc::new(Parsed::of(file, self.text.clone())))
    }

    /// Frees the tree, which takes some ten times as much room as the text. It comes back when it is wanted.
    pub fn forget_tree(&mut self) {
        self.parsed = OnceLock::new();
    }

    /// The text of a file with its tree, read for less where `before` holds a text of that file which differs in little.
    fn after(before: &[Source], file: FileId, path: &str, text: Arc<str>) -> Source {
        let known = before.get(file.number()).filter(|it| it.path == path).map(|it| it.parsed(file));
        let parsed = match known {
            Some(known) if *known.text() == text => known.clone(),
            Some(known) => Arc::new(Parsed::after(known, file, text.clone())),
            None => Arc::new(Parsed::of(file, text.clone())),
        };
        Source { path: path.to_string(), text, parsed: OnceLock::from(parsed) }
    }
}

/// What the name of a house standard is, or ends with.
pub const HOUSE_STANDARD: &str = "house-standard.yaml";

/// Whether a path names a house standard and not a design.
pub fn is_house_standard(path: &str) -> bool {
    path.ends_with(HOUSE_STANDARD)
}

/// The number of this format.
const FORMAT: &str = "1";
/// How many libraries a design may use, those of libraries included.
const MOST_LIBRARIES: usize = 64;
/// The blocks that a library may hold.
pub(crate) const IN_LIBRARY: [&str; 5] = ["format", "library", "pipes", "floors", "manifolds"];

/// What one pass over the files gave.
struct Pass {
    design: Design,
    house_standard: Option<HouseStandard>,
    reader: Reader,
    sources: Vec<Source>,
}

pub(crate) fn read(
    path: &str,
    bytes: &[u8],
    house_standard: Option<&str>,
    files: &Files,
    before: &[Source],
    mut doubted: Vec<Place>,
) -> Reading {
    doubted.sort_unstable();
    let fresh = |meant: HashMap<Place, String>| {
        let mut reader = Reader::default();
        reader.meant = meant;
        reader.doubted.clone_from(&doubted);
        reader
    };
    let first = pass(path, bytes, house_standard, files, before, fresh(HashMap::new()));
    let Pass { mut design, house_standard: standard, mut reader, sources } = first;
    let meant = unknown_names(&mut reader);
    let Reader { mut faults, mut definitions, mut references, is_cut_short, with_paths, .. } = reader;
    if !meant.is_empty() {
        // A misspelt name is told; the rest of the check goes on as if it were mended, or a loop would be missing from
        // its room, a zone from its loops, and each of these would be told as well.
        let read_already = |path: &str| match sources.iter().find(|source| source.path == path) {
            Some(source) => Ok(source.text.as_bytes().to_vec()),
            None => Err(String::new()),
        };
        let mended = pass(path, bytes, None, &read_already, &sources, fresh(meant));
        design = mended.design;
        definitions = mended.reader.definitions;
        references = mended.reader.references;
    }
    // What is only seen when all files are read.
    let late = &mut faults[with_paths..];
    for (file, source) in sources.iter().enumerate() {
        let file = FileId::new(file as u16);
        if late.iter().any(|fault| fault.place.file == file && !matches!(fault.kind, FaultKind::FormatMissing)) {
            find_paths(late, source.parsed(file).tree(), file);
        }
    }
    faults.sort_by_key(|fault| fault.place);
    if is_cut_short && let Some(last) = faults.last() {
        let kind = FaultKind::TooManyFaults { limit: Reader::MOST_FAULTS };
        faults.push(Fault { place: last.place.after(), kind, path: String::new() });
    }
    Reading { design, house_standard: standard, faults, is_cut_short, definitions, references, sources, doubted }
}

/// Reads the design and its libraries.
fn pass(
    path: &str,
    bytes: &[u8],
    house_standard: Option<&str>,
    files: &Files,
    before: &[Source],
    mut reader: Reader,
) -> Pass {
    let mut sources = Vec::new();
    if is_house_standard(path) {
        let standard = read_standard(path, bytes, before, &mut reader, &mut sources);
        return Pass { design: Design::default(), house_standard: Some(standard), reader, sources };
    }
    let mut design = read_design(path, bytes, before, &mut reader, &mut sources);
    look_at_format(&design.format, design.has_unread("format"), FileId::new(0), &mut reader);

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
                let library = read_design(&shown, &bytes, before, &mut reader, &mut sources);
                waiting.extend(wanted(&shown, &library));
                join(&mut design, library, &mut reader);
            }
            Err(reason) => reader.fault(named_at, FaultKind::LibraryUnreadable { path: shown, reason }),
        }
    }
    let house_standard = house_standard.and_then(|path| match files(path) {
        Ok(bytes) => Some(read_standard(path, &bytes, before, &mut reader, &mut sources)),
        Err(reason) => {
            let place = Place::new(FileId::new(0), 0..0);
            reader.fault(place, FaultKind::HouseStandardUnreadable { path: shortened(path), reason });
            None
        }
    });
    Pass { design, house_standard, reader, sources }
}

/// Says what is wrong with the number of a file's format.
fn look_at_format(format: &Given<String>, is_unread: bool, file: FileId, reader: &mut Reader) {
    // A misspelt `format` is told as that; and what could not be read at all must not look like an empty design.
    let speaks_already = |fault: &Fault| match fault.kind {
        _ if fault.place.file != file => false,
        FaultKind::Text(_) => true,
        FaultKind::UnknownKey { within, nearest, .. } => {
            [Design::INFO.name, HouseStandard::INFO.name].contains(&within) && nearest == Some("format")
        }
        _ => false,
    };
    match format {
        Some(format) if format.value != FORMAT => {
            reader.fault(format.at, FaultKind::UnknownFormat { number: shortened(&format.value) });
        }
        Some(_) => {}
        None if reader.is_cut_short || is_unread || reader.faults.iter().any(speaks_already) => {}
        None => reader.fault(Place::new(file, 0..0), FaultKind::FormatMissing),
    }
}

/// Finds the keys that lead to those of the faults that stand in a file.
fn find_paths(faults: &mut [Fault], tree: &yaml_tree::Tree, file: FileId) {
    let mut of_file: Vec<&mut Fault> = faults.iter_mut().filter(|fault| fault.place.file == file).collect();
    of_file.sort_by_key(|fault| fault.place);
    let starts: Vec<u32> = of_file.iter().map(|fault| fault.place.start).collect();
    for (fault, path) in of_file.into_iter().zip(tree.paths(&starts)) {
        fault.path = path;
    }
}

/// Reads a house standard into `sources` and gives what it says.
fn read_standard(
    path: &str,
    bytes: &[u8],
    before: &[Source],
    reader: &mut Reader,
    sources: &mut Vec<Source>,
) -> HouseStandard {
    let file = FileId::new(sources.len() as u16);
    let standard: HouseStandard = read_one(path, bytes, before, reader, sources, |_, _, _| {});
    look_at_format(&standard.format, standard.has_unread("format"), file, reader);
    standard
}

/// Reads a design or a library into `sources` and gives what it says.
fn read_design(path: &str, bytes: &[u8], before: &[Source], reader: &mut Reader, sources: &mut Vec<Source>) -> Design {
    let file = FileId::new(sources.len() as u16);
    read_one(path, bytes, before, reader, sources, |design: &mut Design, tree, reader| {
        if file != FileId::new(0)
            && let Some(entries) = tree.root.as_ref().and_then(|root| root.as_map())
        {
            for (key, _) in entries {
                let name = key.as_text().unwrap_or_default();
                if !IN_LIBRARY.contains(&name) && Design::INFO.field(name).is_some() {
                    reader.fault(key.place, FaultKind::NotForLibrary { key: shortened(name) });
                }
            }
        }
        design.broken |= tree.root.is_none() && !reader.faults.is_empty();
    })
}

/// Reads one file into `sources` and gives what it says; `look` looks at it while its tree is there.
fn read_one<T: Value + Default>(
    path: &str,
    bytes: &[u8],
    before: &[Source],
    reader: &mut Reader,
    sources: &mut Vec<Source>,
    look: impl FnOnce(&mut T, &Tree, &mut Reader),
) -> T {
    let file = FileId::new(sources.len() as u16);
    let (text, fault) = yaml_tree::decode(file, bytes);
    if let Some(fault) = fault {
        reader.fault(fault.place, FaultKind::Text(fault.kind));
    }
    let source = Source::after(before, file, path, text.into());
    let tree = source.parsed(file).tree();
    for fault in &tree.faults {
        reader.fault(fault.place, FaultKind::Text(fault.kind.clone()));
    }
    let mut said = match &tree.root {
        Some(root) => T::read(root, reader).unwrap_or_default(),
        None => T::default(),
    };
    look(&mut said, tree, reader);
    find_paths(&mut reader.faults[reader.with_paths..], tree, file);
    reader.with_paths = reader.faults.len();
    sources.push(source);
    said
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

/// Finds the uses of names that nothing carries, and gives the names that were probably meant.
fn unknown_names(reader: &mut Reader) -> HashMap<Place, String> {
    let mut known: HashMap<Kind, HashSet<&str>> = HashMap::new();
    for definition in &reader.definitions {
        known.entry(definition.kind).or_default().insert(&definition.name);
    }
    // A storey need not be declared: while none is, its name is only a label.
    let storeys_declared = known.contains_key(&Kind::Storey);
    let is_known = |reference: &Reference| {
        known.iter().any(|(kind, names)| reference.kind.accepts(*kind) && names.contains(&*reference.name))
    };
    let mut candidates: HashMap<Kind, Candidates> = HashMap::new();
    let mut unknown = Vec::new();
    for reference in &reader.references {
        if reference.kind == Kind::Storey && !storeys_declared || is_known(reference) {
            continue;
        }
        if !reader.takes_more(unknown.len()) {
            reader.is_cut_short = true;
            break;
        }
        let Reference { kind, name, place } = reference;
        let candidates = candidates.entry(*kind).or_insert_with(|| {
            let of_kind = known.iter().filter(|(of, _)| kind.accepts(**of));
            Candidates::new(of_kind.flat_map(|(_, names)| names.iter().copied()))
        });
        let nearest = candidates.nearest(name).map(str::to_string);
        unknown.push((*place, FaultKind::UnknownName { name: shortened(name), kind: *kind, nearest }));
    }
    let mut meant = HashMap::new();
    for (place, kind) in unknown {
        if let FaultKind::UnknownName { nearest: Some(name), .. } = &kind {
            meant.insert(place, name.clone());
        }
        reader.fault(place, kind);
    }
    meant
}
