//! What feeds what: a manifold its loops, a loop its rooms.

use crate::names::{Names, Text, What};
use design::{Definition, Design, Kind, Placed, Ref};
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

/// A manifold, a loop or a room.
#[derive(Debug, Clone)]
pub struct Fed {
    pub kind: Kind,
    pub name: String,
    pub file: Arc<Text>,
    pub whole: Range<usize>,
    pub name_at: Range<usize>,
}

/// A neighbour, and where it is named so.
#[derive(Debug, Clone)]
pub struct Neighbour {
    pub to: Fed,
    pub named_at: Vec<Range<usize>>,
}

/// The manifold, loop or room whose name stands at a byte.
pub fn at(names: &Names, offset: usize) -> Option<Fed> {
    let name = names.at(offset)?;
    match name.what {
        What::Thing(kind) => fed(names, kind, &name.text),
        What::Rule => None,
    }
}

/// The thing of that kind and name, as long as it is part of the tree.
pub fn fed(names: &Names, kind: Kind, name: &str) -> Option<Fed> {
    if !matches!(kind, Kind::Manifold | Kind::Loop | Kind::Room) {
        return None;
    }
    of_definition(names, names.reading.definitions.iter().find(|it| it.kind == kind && it.name == name)?)
}

/// What a thing feeds: of a manifold its loops, of a loop its rooms.
pub fn feeds(names: &Names, of: &Fed) -> Vec<Neighbour> {
    let pairs = pairs(&names.reading.design).into_iter().filter(|it| it.from == (of.kind, of.name.as_str()));
    gathered(names, pairs.map(|it| (it.to, it.at)))
}

/// What feeds a thing.
pub fn fed_by(names: &Names, of: &Fed) -> Vec<Neighbour> {
    let pairs = pairs(&names.reading.design).into_iter().filter(|it| it.to == (of.kind, of.name.as_str()));
    gathered(names, pairs.map(|it| (it.from, it.at)))
}

/// One thing that feeds another, and where that is written.
struct Pair<'d> {
    from: (Kind, &'d str),
    to: (Kind, &'d str),
    at: design::Place,
}

fn pairs(design: &Design) -> Vec<Pair<'_>> {
    fn named<T>(placed: &Placed<Ref<T>>) -> (&str, design::Place) {
        (placed.value.name.as_str(), placed.at)
    }
    let mut pairs = Vec::new();
    for (name, entry) in design.loops.iter() {
        let this = (Kind::Loop, name);
        if let Some((manifold, at)) = entry.value.manifold.as_ref().map(named) {
            pairs.push(Pair { from: (Kind::Manifold, manifold), to: this, at });
        }
        for (room, at) in entry.value.rooms.iter().map(named) {
            pairs.push(Pair { from: this, to: (Kind::Room, room), at });
        }
    }
    pairs
}

fn gathered<'d>(names: &Names, pairs: impl Iterator<Item = ((Kind, &'d str), design::Place)>) -> Vec<Neighbour> {
    let mut known: HashMap<(Kind, &str), usize> = HashMap::new();
    let given: HashMap<(Kind, &str), &Definition> =
        names.reading.definitions.iter().rev().map(|it| ((it.kind, it.name.as_str()), it)).collect();
    let mut found: Vec<Neighbour> = Vec::new();
    for (thing, at) in pairs {
        if let Some(at_once) = known.get(&thing) {
            found[*at_once].named_at.push(at.range());
        } else if let Some(to) = given.get(&thing).and_then(|it| of_definition(names, it)) {
            known.insert(thing, found.len());
            found.push(Neighbour { to, named_at: vec![at.range()] });
        }
    }
    found
}

fn of_definition(names: &Names, given: &Definition) -> Option<Fed> {
    let file = names.file(given.place.file)?.clone();
    let (whole, name_at) = (given.whole.range(), given.place.range());
    Some(Fed { kind: given.kind, name: given.name.clone(), file, whole, name_at })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nearby::Nearby;
    use std::path::Path;

    #[test]
    fn water_flows_from_manifold_to_loop_to_room() {
        let text = "format: 1\nrooms: {hall: {}, bath: {}}\nmanifolds: {M1: {}}\nloops: {L1: {manifold: M1, room: [hall, bath]}, L2: {manifold: M1}}\n";
        let nearby = Nearby::of(None, Arc::new(Vec::new()));
        let names = Names::read(Some(Path::new("a.ufh.yaml")), None, text.as_bytes(), &nearby);
        let at = |of: &str| super::at(&names, text.find(of).unwrap()).expect("it is one");
        let of = |found: Vec<Neighbour>| found.into_iter().map(|it| it.to.name).collect::<Vec<_>>();
        assert_eq!(of(feeds(&names, &at("M1"))), ["L1", "L2"]);
        assert_eq!(of(feeds(&names, &at("L1"))), ["hall", "bath"]);
        assert_eq!(of(fed_by(&names, &at("bath]"))), ["L1"]);
        assert_eq!(of(fed_by(&names, &at("L2"))), ["M1"]);
        assert!(feeds(&names, &at("hall")).is_empty());
    }
}
