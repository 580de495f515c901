//! What a rule may look at.

use design::{Design, Floor, Loop, Manifold, Named, Place, Reading, Room};
use jiff::civil::Date;
use workings::{FloorWorkings, LoopWorkings, ManifoldWorkings, RoomWorkings, Subject, Workings};

/// A design with all that was worked out of it.
pub struct Inspection<'i> {
    /// What reading gave besides the design: faults, names and their uses, the texts.
    pub reading: &'i Reading,
    pub design: &'i Design,
    pub workings: &'i Workings,
    pub today: Date,
}

/// A named thing as a rule meets it: what the file gives, what was worked out, and where it stands.
#[derive(Debug, Clone, Copy)]
pub struct Item<'i, G, W> {
    pub name: &'i str,
    pub subject: Subject,
    /// Where the name stands.
    pub place: Place,
    pub given: &'i G,
    pub worked: &'i W,
}

impl<'i> Inspection<'i> {
    /// Every loop.
    pub fn loops(&self) -> impl Iterator<Item = Item<'i, Loop, LoopWorkings>> + use<'i> {
        items(&self.design.loops, &self.workings.loops, Subject::Loop)
    }

    /// Every room.
    pub fn rooms(&self) -> impl Iterator<Item = Item<'i, Room, RoomWorkings>> + use<'i> {
        items(&self.design.rooms, &self.workings.rooms, Subject::Room)
    }

    /// Every floor construction.
    pub fn floors(&self) -> impl Iterator<Item = Item<'i, Floor, FloorWorkings>> + use<'i> {
        items(&self.design.floors, &self.workings.floors, Subject::Floor)
    }

    /// Every manifold.
    pub fn manifolds(&self) -> impl Iterator<Item = Item<'i, Manifold, ManifoldWorkings>> + use<'i> {
        items(&self.design.manifolds, &self.workings.manifolds, Subject::Manifold)
    }

    /// The text at a place.
    pub fn text(&self, place: Place) -> &'i str {
        self.source(place).and_then(|text| text.get(place.range())).unwrap_or_default()
    }

    /// The whole text of the file that a place is in.
    pub fn source(&self, place: Place) -> Option<&'i str> {
        self.reading.sources.get(usize::from(place.file.0)).map(|source| source.text.as_str())
    }
}

fn items<'i, G, W>(
    given: &'i Named<G>,
    worked: &'i [W],
    subject: fn(usize) -> Subject,
) -> impl Iterator<Item = Item<'i, G, W>> {
    given.iter().zip(worked).enumerate().map(move |(at, ((name, entry), worked))| Item {
        name,
        subject: subject(at),
        place: entry.name_place,
        given: &entry.value,
        worked,
    })
}
