//! What a rule may look at.

use crate::house::House;
use crate::zones::Zones;
use design::{Design, ElectricMat, Floor, Loop, Manifold, Named, Pipe, Place, Reading, Room, Stage};
use engineering::heat::materials;
use jiff::civil::Date;
use std::borrow::Cow;
use std::cell::OnceCell;
use std::collections::HashMap;
use workings::{FloorWorkings, LoopWorkings, ManifoldWorkings, MatWorkings, RoomWorkings, Subject, Workings};

/// A design with all that was worked out of it.
pub struct Inspection<'i> {
    /// What reading gave besides the design: faults, names and their uses, the texts.
    pub reading: &'i Reading,
    pub design: &'i Design,
    pub workings: &'i Workings,
    pub house: &'i House,
    pub today: Date,
    /// Which loops answer to which thermostat, as soon as anyone asks.
    pub(crate) zones: OnceCell<Zones>,
}

/// A pipe that is laid. A size written out is about the first loop that has it.
pub(crate) struct LaidPipe<'i> {
    pub name: &'i str,
    pub subject: Subject,
    pub place: Place,
    pub given: Cow<'i, Pipe>,
    pub loops: Vec<usize>,
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
    pub fn new(reading: &'i Reading, workings: &'i Workings, house: &'i House, today: Date) -> Inspection<'i> {
        Inspection { reading, design: &reading.design, workings, house, today, zones: OnceCell::new() }
    }

    /// Every loop.
    pub fn loops(&self) -> impl Iterator<Item = Item<'i, Loop, LoopWorkings>> + use<'i> {
        items(&self.design.loops, &self.workings.loops, Subject::Loop)
    }

    /// The loop at a position.
    pub fn loop_at(&self, at: usize) -> Option<Item<'i, Loop, LoopWorkings>> {
        let (name, entry) = self.design.loops.at(at)?;
        let worked = self.workings.loops.get(at)?;
        Some(Item { name, subject: Subject::Loop(at), place: entry.name_place, given: &entry.value, worked })
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

    /// Every electric mat.
    pub fn electric_mats(&self) -> impl Iterator<Item = Item<'i, ElectricMat, MatWorkings>> + use<'i> {
        items(&self.design.electric_mats, &self.workings.electric_mats, Subject::ElectricMat)
    }

    /// What sort of covering a room has: its own, or that of its floor. Of several layers the uppermost
    /// counts that is a covering.
    pub fn covering_of(&self, room: usize) -> Option<materials::Kind> {
        let room = self.workings.rooms.get(room)?;
        let floor = room.floor.and_then(|floor| self.workings.floors.get(floor));
        let layers = room.covering.iter().chain(floor.iter().flat_map(|floor| &floor.layers));
        layers.filter_map(|layer| layer.material).map(|material| material.kind).find(|kind| kind.is_covering())
    }

    /// Whether a block could be read whole. What seems to be missing from one that could not may only be
    /// misspelt, and that is said already.
    pub fn is_read(&self, block: Place) -> bool {
        if self.reading.is_cut_short {
            return false;
        }
        let before = |place: Place| (place.file, place.start) < (block.file, block.start);
        let beyond = |place: Place| place.file != block.file || place.start >= block.end;
        let (faults, doubted) = (&self.reading.faults, &self.reading.doubted);
        faults.get(faults.partition_point(|fault| before(fault.place))).is_none_or(|fault| beyond(fault.place))
            && doubted.get(doubted.partition_point(|place| before(*place))).is_none_or(|place| beyond(*place))
    }

    /// Where the file says its stage. There is such a place at every stage but `preliminary`.
    pub fn stage_place(&self) -> Place {
        self.design.project.stage.as_ref().map_or(self.design.project.place, |stage| stage.at)
    }

    /// Whether the pipe lies in the floor: nobody is told to lay it otherwise then.
    pub(crate) fn is_laid(&self) -> bool {
        self.design.stage() == Stage::AsBuilt
    }

    /// Every pipe that loops are made of, with those loops: named in `pipes`, or a size written out.
    pub(crate) fn laid_pipes(&self) -> Vec<LaidPipe<'i>> {
        let mut pipes: Vec<LaidPipe> = Vec::new();
        let mut known: HashMap<&str, usize> = HashMap::new();
        for (at, (_, entry)) in self.design.loops.iter().enumerate() {
            let Some(name) = entry.value.pipe.as_ref().map(|pipe| pipe.value.0.as_str()) else { continue };
            if let Some(known) = known.get(name) {
                pipes[*known].loops.push(at);
                continue;
            }
            let Some(given) = self.design.pipe(name) else { continue };
            let subject = self.design.pipes.position(name).map_or(Subject::Loop(at), Subject::Pipe);
            let place = subject.place(self.design);
            known.insert(name, pipes.len());
            pipes.push(LaidPipe { name, subject, place, given, loops: vec![at] });
        }
        pipes
    }

    /// The text at a place.
    pub fn text(&self, place: Place) -> &'i str {
        self.source(place).and_then(|text| text.get(place.range())).unwrap_or_default()
    }

    /// The whole text of the file that a place is in.
    pub fn source(&self, place: Place) -> Option<&'i str> {
        self.reading.sources.get(place.file.number()).map(|source| &*source.text)
    }
}

/// What is looked at is held against one house standard.
impl AsRef<House> for Inspection<'_> {
    fn as_ref(&self) -> &House {
        self.house
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
