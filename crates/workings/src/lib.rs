//! Works a design out: applies `engineering` to what the file says.
//!
//! Every figure keeps its formula, its inputs with their places, what was assumed, and its source. A
//! figure that cannot be worked out says what is missing. One pass, in the order of dependence: floors,
//! rooms, the plan, loops, manifolds, and then what the rooms get.
//!
//! Absent from this crate: limits and judgement.

mod figure;
mod floors;
mod heat;
mod loops;
mod manifolds;
mod plan;
mod rooms;
mod sheet;
mod subject;

pub use figure::{Figure, Gap, Input, ValueOf, Worked};
pub use floors::{FloorWorkings, LayerWorkings};
pub use loops::{LoopWorkings, PipeWorkings};
pub use manifolds::ManifoldWorkings;
pub use plan::{Crossed, Crossing, Passage, PlanWorkings, Stretch, crossed_by_name, leg_place};
pub use rooms::RoomWorkings;
pub use sheet::{Line, sheet};
pub use subject::Subject;

use design::Design;

/// All that was worked out; the lists are in the order of the design's own.
#[derive(Debug, Clone, Default)]
pub struct Workings {
    pub floors: Vec<FloorWorkings>,
    pub rooms: Vec<RoomWorkings>,
    pub loops: Vec<LoopWorkings>,
    pub manifolds: Vec<ManifoldWorkings>,
    pub plan: PlanWorkings,
}

/// Works everything out that the design has the inputs for.
pub fn work_out(design: &Design) -> Workings {
    let mut workings = Workings { rooms: rooms::begin(design), loops: loops::begin(design), ..Workings::default() };
    plan::work_out(design, &mut workings);
    floors::work_out(design, &mut workings);
    rooms::over_floors(design, &mut workings);
    loops::work_out(design, &mut workings);
    workings.manifolds = manifolds::work_out(design, &mut workings.loops);
    rooms::sum_up(design, &mut workings);
    workings
}
