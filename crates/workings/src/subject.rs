//! What a figure or a finding is about, named so that the name outlives edits.

use design::{Block, Design, Named, Place};

/// A thing in a design, by its position in the order of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    Design,
    Project,
    Site,
    HeatSource,
    Water,
    Pipe(usize),
    Floor(usize),
    /// A layer of a floor, counted from the surface.
    Layer(usize, usize),
    Room(usize),
    Wall(usize),
    Opening(usize),
    MovementJoint(usize),
    Upright(usize),
    FloorHole(usize),
    Manifold(usize),
    Loop(usize),
    ElectricMat(usize),
    Controls,
    Zone(usize),
    Safety,
    Records,
    /// A departure, by its position in the list.
    Departure(usize),
}

impl Subject {
    /// The stable name: `loops/L1`, `floors/screeded/layers/2`, `heat-source`; a library's name for its own.
    pub fn path(self, design: &Design) -> String {
        fn named<T>(block: &str, of: &Named<T>, at: usize) -> String {
            format!("{block}/{}", of.at(at).map_or("?", |(name, _)| name))
        }
        match self {
            Subject::Design => "design".into(),
            Subject::Project => "project".into(),
            Subject::Site => "site".into(),
            Subject::HeatSource => "heat-source".into(),
            Subject::Water => "water".into(),
            Subject::Pipe(at) => named("pipes", &design.pipes, at),
            Subject::Floor(at) => named("floors", &design.floors, at),
            Subject::Layer(at, layer) => format!("{}/layers/{}", named("floors", &design.floors, at), layer + 1),
            Subject::Room(at) => named("rooms", &design.rooms, at),
            Subject::Wall(at) => named("walls", &design.walls, at),
            Subject::Opening(at) => named("openings", &design.openings, at),
            Subject::MovementJoint(at) => named("movement-joints", &design.movement_joints, at),
            Subject::Upright(at) => named("uprights", &design.uprights, at),
            Subject::FloorHole(at) => named("floor-holes", &design.floor_holes, at),
            Subject::Manifold(at) => named("manifolds", &design.manifolds, at),
            Subject::Loop(at) => named("loops", &design.loops, at),
            Subject::ElectricMat(at) => named("electric-mats", &design.electric_mats, at),
            Subject::Controls => "controls".into(),
            Subject::Zone(at) => named("controls/zones", &design.controls.zones, at),
            Subject::Safety => "safety".into(),
            Subject::Records => "records".into(),
            Subject::Departure(at) => format!("departures/{}", at + 1),
        }
    }

    /// Where it stands: its name if it has one, else its block; the start of the file if it is not there.
    pub fn place(self, design: &Design) -> Place {
        fn named<T>(of: &Named<T>, at: usize) -> Place {
            of.at(at).map(|(_, entry)| entry.name_place).unwrap_or_default()
        }
        match self {
            Subject::Design => Place::default(),
            Subject::Project => design.project.place,
            Subject::Site => design.site.place,
            Subject::HeatSource => design.heat_source.place,
            Subject::Water => design.water.place,
            Subject::Pipe(at) => named(&design.pipes, at),
            Subject::Floor(at) => named(&design.floors, at),
            Subject::Layer(at, layer) => design
                .floors
                .at(at)
                .and_then(|(_, floor)| floor.value.layers.get(layer))
                .map(|layer| layer.at)
                .unwrap_or_default(),
            Subject::Room(at) => named(&design.rooms, at),
            Subject::Wall(at) => named(&design.walls, at),
            Subject::Opening(at) => named(&design.openings, at),
            Subject::MovementJoint(at) => named(&design.movement_joints, at),
            Subject::Upright(at) => named(&design.uprights, at),
            Subject::FloorHole(at) => named(&design.floor_holes, at),
            Subject::Manifold(at) => named(&design.manifolds, at),
            Subject::Loop(at) => named(&design.loops, at),
            Subject::ElectricMat(at) => named(&design.electric_mats, at),
            Subject::Controls => design.controls.place,
            Subject::Zone(at) => named(&design.controls.zones, at),
            Subject::Safety => design.safety.place,
            Subject::Records => design.records.place,
            Subject::Departure(at) => design.departures.get(at).map(|it| it.at).unwrap_or_default(),
        }
    }

    /// Whether something in its block could not be read. What seems to be missing of it may only be misspelt.
    pub fn is_broken(self, design: &Design) -> bool {
        match self {
            Subject::Design => false,
            Subject::Layer(at, _) => Subject::Floor(at).is_broken(design),
            _ => self.block(design).is_some_and(Block::is_broken),
        }
    }

    /// Whether a key stands in its block and could not be read.
    pub fn has_unread(self, design: &Design, key: &str) -> bool {
        self.block(design).is_some_and(|block| block.has_unread(key))
    }

    /// Its block; nothing if the design has no such thing.
    pub fn block(self, design: &Design) -> Option<&dyn Block> {
        fn named<T: Block>(of: &Named<T>, at: usize) -> Option<&dyn Block> {
            of.at(at).map(|(_, entry)| &entry.value as &dyn Block)
        }
        match self {
            Subject::Design => Some(design),
            Subject::Project => Some(&design.project),
            Subject::Site => Some(&design.site),
            Subject::HeatSource => Some(&design.heat_source),
            Subject::Water => Some(&design.water),
            Subject::Pipe(at) => named(&design.pipes, at),
            Subject::Floor(at) => named(&design.floors, at),
            Subject::Layer(at, layer) => Some(&design.floors.at(at)?.1.value.layers.get(layer)?.value),
            Subject::Room(at) => named(&design.rooms, at),
            Subject::Wall(at) => named(&design.walls, at),
            Subject::Opening(at) => named(&design.openings, at),
            Subject::MovementJoint(at) => named(&design.movement_joints, at),
            Subject::Upright(at) => named(&design.uprights, at),
            Subject::FloorHole(at) => named(&design.floor_holes, at),
            Subject::Manifold(at) => named(&design.manifolds, at),
            Subject::Loop(at) => named(&design.loops, at),
            Subject::ElectricMat(at) => named(&design.electric_mats, at),
            Subject::Controls => Some(&design.controls),
            Subject::Zone(at) => named(&design.controls.zones, at),
            Subject::Safety => Some(&design.safety),
            Subject::Records => Some(&design.records),
            Subject::Departure(at) => Some(&design.departures.get(at)?.value),
        }
    }
}
