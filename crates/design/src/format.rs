//! The records of the format, a file for each part of a design.

mod building;
mod construction;
mod controls;
mod electric;
mod house_standard;
mod pipework;
mod plan;
mod project;
mod records;
mod safety;
mod source;

pub use building::*;
pub use construction::*;
pub use controls::*;
pub use electric::*;
pub use house_standard::*;
pub use pipework::*;
pub use plan::*;
pub use project::*;
pub use records::*;
pub use safety::*;
pub use source::*;

use crate::read::{Given, List};
use crate::record::record;
use crate::{Named, Placed};

record! {
    /// A design: a building or a part of one, or a library of definitions shared by several designs.
    Design {
        /// The number of the format: 1.
        "format" format: Given<String>,
        /// What the design is called, its revision and stage, and who stands for it.
        "project" project: Project,
        /// Files of pipes, floors and other definitions shared by several designs; paths from this file.
        "library" library: List<String>,
        /// Where the building stands and under which rules.
        "site" site: Site,
        /// What warms the water.
        "heat-source" heat_source: HeatSource,
        /// The water in the circuit, if it is more than plain water, and the system that holds it.
        "water" water: Water,
        /// The storeys and their levels.
        "storeys" storeys: Named<Storey>,
        /// Pipes that loops and feeders are made of.
        "pipes" pipes: Named<Pipe>,
        /// Floor constructions.
        "floors" floors: Named<Floor>,
        /// The rooms that are heated, or that pipes pass through.
        "rooms" rooms: Named<Room>,
        /// Walls that stand on the floor.
        "walls" walls: Named<Wall>,
        /// Doorways and other openings in walls.
        "openings" openings: Named<Opening>,
        /// Movement joints and other joints in the floor.
        "movement-joints" movement_joints: Named<MovementJoint>,
        /// Flues, shafts, columns and stairs: what else stands up from the floor.
        "uprights" uprights: Named<Upright>,
        /// Holes through the floor for soil pipes, gullies and socket boxes.
        "floor-holes" floor_holes: Named<FloorHole>,
        /// Manifolds with their pumps and mixing sets.
        "manifolds" manifolds: Named<Manifold>,
        /// Loops of pipe in the floor.
        "loops" loops: Named<Loop>,
        /// Electric heating mats.
        "electric-mats" electric_mats: Named<ElectricMat>,
        /// Thermostats, zones and what they switch.
        "controls" controls: Controls,
        /// The parts that keep people and floors from harm.
        "safety" safety: Safety,
        /// What was done on site, and when.
        "records" records: Records,
        /// Findings accepted on purpose.
        "departures" departures: List<Departure>,
    }
}

impl Design {
    /// The stage, or `preliminary` while none is given.
    pub fn stage(&self) -> Stage {
        self.project.stage.map_or(Stage::Preliminary, |stage| stage.value)
    }

    /// The pipe that a loop or feeder names: one of `pipes`, or a standard size written out.
    pub fn pipe(&self, name: &str) -> Option<std::borrow::Cow<'_, Pipe>> {
        match self.pipes.get(name) {
            Some(pipe) => Some(std::borrow::Cow::Borrowed(pipe)),
            None => Pipe::from_designation(name).map(std::borrow::Cow::Owned),
        }
    }
}

/// What a list says when every value counts and its place does not.
pub fn values<T>(list: &[Placed<T>]) -> impl ExactSizeIterator<Item = &T> {
    list.iter().map(|placed| &placed.value)
}
