//! The typed design and its format.
//!
//! A design file is read into a [`Design`] *and* its [`Fault`]s: reading never fails. Every record of
//! the format is declared once, in `format/`, with its keys and their descriptions; that one table
//! serves the reader, the JSON Schema ([`schema`]), and an editor's completion and hover.
//!
//! Absent from this crate: figures, limits, severities, words of findings.

mod fault;
mod format;
mod library;
mod names;
mod read;
mod record;
pub mod schema;
mod shape;

pub use fault::{Expected, Fault, FaultKind};
pub use format::*;
pub use library::{Files, HOUSE_STANDARD, Source, is_house_standard, normal as plain_path};
pub use names::{Definition, Entry, Kind, Nameable, Named, Ref, Reference, nearest};
pub use read::{Block, Field, Given, List, Placed, Points, Reader, Value};
pub use shape::{FieldInfo, RecordInfo, Shape};
pub use yaml_tree::{FileId, Place};

/// What reading gives: the design as far as it could be read, and all that was wrong with the text.
#[derive(Debug, Default)]
pub struct Reading {
    pub design: Design,
    /// The standard of the house that the design is held against, if there is one.
    pub house_standard: Option<HouseStandard>,
    /// In the order of the files.
    pub faults: Vec<Fault>,
    /// There were more faults than are kept: what is missing may be among what could not be read.
    pub is_cut_short: bool,
    /// Every name that is given to something, in the order of the files.
    pub definitions: Vec<Definition>,
    /// Every use of a name.
    pub references: Vec<Reference>,
    /// The files that were read; a [`FileId`] is an index into it.
    pub sources: Vec<Source>,
    /// The values that were left out because nobody would believe them, in the order of the files.
    pub doubted: Vec<Place>,
}

/// Reads a design and the libraries it names.
///
/// `path` names the file in findings; `text` is what it holds; `files` brings the text of a library.
/// Never fails: what could not be read is in `faults`, the rest is in the design.
pub fn read(path: &str, bytes: &[u8], files: &Files) -> Reading {
    read_under(path, bytes, None, files, &[])
}

/// The same under a house standard, which `files` brings by its path too; and for less where the texts are those of
/// `before` but for a change in one entry. Where `path` itself names a house standard, that is read, and there is no design.
pub fn read_under(path: &str, bytes: &[u8], house_standard: Option<&str>, files: &Files, before: &[Source]) -> Reading {
    read_without(Vec::new(), path, bytes, house_standard, files, before)
}

/// The same once more, with the values at some places left out as if they could not be read.
pub fn read_without(
    doubted: Vec<Place>,
    path: &str,
    bytes: &[u8],
    house_standard: Option<&str>,
    files: &Files,
    before: &[Source],
) -> Reading {
    library::read(path, bytes, house_standard, files, before, doubted)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Reading {
        super::read("house.ufh.yaml", text.as_bytes(), &|path| match path {
            "library/pipes.ufh.yaml" => {
                Ok(b"format: 1\npipes:\n  thin: {material: PE-X, outside-diameter: 12 mm}\n".to_vec())
            }
            _ => Err("no such file".into()),
        })
    }

    /// The faults of a text, each with the bytes it marks.
    fn faults(text: &str) -> Vec<(String, String)> {
        read(text)
            .faults
            .into_iter()
            .map(|fault| {
                let kind = format!("{:?}", fault.kind);
                let kind = kind.split([' ', '(']).next().unwrap_or_default().to_string();
                (kind, text.get(fault.place.range()).unwrap_or("?").to_string())
            })
            .collect()
    }

    #[test]
    fn fifteen_lines_are_a_design() {
        let reading = read(
            "format: 1\nproject: {name: Kiln Yard, reference: KY-014, revision: P3, stage: for construction}\n\
             library: [library/pipes.ufh.yaml]\nsite: {outdoor-temperature: -3 °C}\n\
             heat-source: {kind: heat pump, flow-temperature: 40 °C}\nfloors:\n  screeded:\n    method: clipped-in-screed\n\
             \x20   below: ground\n    layers:\n      - {material: porcelain tile, thickness: 10 mm}\n\
             \x20     - {material: cement screed, thickness: 75 mm, pipe: at base}\nrooms:\n  hall: {area: 12 m², floor: screeded, \
             keep-clear: {island: [[2, 2], [3, 2], [3, 3]]}}\nwalls:\n  W1: {line: [[6.2, 0], [6.2, 4.4]], thickness: 100 mm}\n\
             manifolds:\n  M1: {at: [8.0, 1.0], ports: 6, flow-gauge: 0.5 to 5 l/min, pump: {head: 25 kPa}}\nloops:\n  L1: \
             {manifold: M1, room: hall, pipe: thin, flow: 2.1 l/min, sleeves: [W1, {at: W1, serves: return}], \
             route: M 8 1 H 6 V 4}\n",
        );
        assert!(reading.faults.is_empty(), "{:#?}", reading.faults);
        let design = reading.design;
        assert_eq!(design.stage(), Stage::ForConstruction);
        let (name, l1) = design.loops.at(0).unwrap();
        assert_eq!((name, &*l1.value.rooms[0].name), ("L1", "hall"));
        assert_eq!(l1.value.flow.unwrap().value, quantity::VolumeFlow::litres_per_minute(2.1));
        assert_eq!(l1.value.sleeves.len(), 2);
        assert!(matches!(l1.value.route.as_ref().unwrap().value, Route::Path(_)));
        assert!(design.pipe("thin").is_some() && design.pipe("PE-RT 17 x 2").is_some() && design.pipe("x").is_none());
    }

    #[test]
    fn every_fault_is_told_at_its_own_bytes() {
        let text = "format: 1\nrooms:\n  hall: {area: 12, flor: x, height: 2.4 l/min, use: livin, keep-clear: none}\n  hall: {}\n\
                    loops:\n  L1: {room: hal, port: -1, pipe: wide}\n  L2\n";
        let wanted = [
            ("BareNumber", "12"),
            ("UnknownKey", "flor"),
            // What the misspelt key was meant to say is read all the same.
            ("UnknownName", "x"),
            ("WrongUnit", "l/min"),
            ("UnknownWord", "livin"),
            ("GivenTwice", "hall"),
            ("UnknownName", "hal"),
            ("WrongShape", "-1"),
            ("UnknownName", "wide"),
            ("Text", "L2"),
        ];
        let found = faults(text);
        let found: Vec<(&str, &str)> = found.iter().map(|(kind, text)| (&**kind, &**text)).collect();
        assert_eq!(found, wanted);
    }

    #[test]
    fn a_library_that_names_itself_ends() {
        let reading = super::read("a/house.ufh.yaml", b"format: 1\nlibrary: [../b.yaml]\n", &|path| match path {
            "b.yaml" => Ok(b"library: [b.yaml, ./b.yaml, a/house.ufh.yaml]\nrooms: {}\n".to_vec()),
            other => panic!("{other} is not wanted"),
        });
        let kinds: Vec<_> = reading.faults.iter().map(|fault| &fault.kind).collect();
        assert!(matches!(kinds[..], [FaultKind::NotForLibrary { .. }]), "{kinds:?}");
    }

    #[test]
    fn what_is_half_typed_is_not_missing() {
        assert_eq!(faults("format: 1\nrooms:\n  hall: {area: , height: ~}\nloops:\n"), []);
        assert_eq!(faults(""), [("FormatMissing".to_string(), String::new())]);
    }

    #[test]
    fn only_a_misspelt_format_stands_for_it() {
        let kinds = |text: &str| faults(text).into_iter().map(|(kind, _)| kind).collect::<Vec<_>>();
        assert_eq!(kinds("colour: red\n"), ["FormatMissing", "UnknownKey"]);
        assert_eq!(kinds("fromat: 1\n"), ["UnknownKey"]);
        assert_eq!(kinds("fromat: [1]\n").iter().filter(|it| *it == "FormatMissing").count(), 0);
    }
}
