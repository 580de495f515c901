//! What was done on site, and when.

use crate::Named;
use crate::format::building::{Room, Storey};
use crate::format::pipework::{Loop, Manifold};
use crate::format::plan::{Point, Route};
use crate::read::{Field, Given, List, Reader, Value};
use crate::record::{named, record, words};
use crate::{Ref, Shape};
use jiff::civil::Date;
use quantity::*;
use serde_json::Value as Json;
use yaml_tree::Node;

record! {
    /// What was done on site, and when.
    Records {
        /// Tests of the pipe under pressure, before it was covered.
        "pressure-test" pressure_tests: List<PressureTest>,
        /// The pressure that the loops kept while they were covered.
        "pressure-while-covering" pressure_while_covering: Given<PressureReadings>,
        /// The day the pipe was first covered, by screed, board or deck.
        "pipe-covered" pipe_covered: Given<Date>,
        /// The laying of screeds.
        "screed" screeds: List<ScreedRecord>,
        /// The day the floor was first heated.
        "first-heat" first_heat: Given<Date>,
        /// The water temperature day by day through the first heating.
        "heating-log" heating_log: List<HeatingDay>,
        /// The laying of coverings.
        "covering-laid" coverings_laid: List<CoveringRecord>,
        /// Tests of residual moisture.
        "moisture" moisture: List<MoistureTest>,
        /// Places marked for measuring moisture, in plan.
        "moisture-points" moisture_points: Named<MoisturePoint>,
        /// Photographs of the pipe before it was covered.
        "photographs" photographs: List<Photographs>,
        /// The plan of what was laid.
        "as-built" as_built: Given<AsBuilt>,
        /// The flows as they were set.
        "set-flows" set_flows: Named<SetFlow>,
        /// Flushing and treatment of the water.
        "water-treatment" water_treatment: Given<WaterTreatment>,
        /// Repairs of the pipe under the floor.
        "repairs" repairs: List<Repair>,
        /// What was handed over.
        "handover" handover: Given<Handover>,
        /// The lowest temperature on site while filled loops stood unheated.
        "lowest-site-temperature" lowest_site_temperature: Given<Temperature>,
        /// The day the layout of joints was agreed with screeder and tiler.
        "joints-agreed" joints_agreed: Given<Date>,
        /// The day the base was checked for flatness, cleaned and primed.
        "base-prepared" base_prepared: Given<Date>,
    }
}

words! {
    /// What a pressure test is made with.
    TestMedium {
        /// Water.
        "water" Water,
        /// Water with antifreeze.
        "water with antifreeze" WaterWithAntifreeze,
        /// Air or nitrogen: dangerous; stored energy.
        "air" Air,
    }
}

record! {
    /// A test of the pipe under pressure.
    PressureTest {
        /// The day.
        "date" date: Given<Date>,
        /// What it was made with; water if left out.
        "medium" medium: Given<TestMedium>,
        /// The pressure after settling.
        "pressure" pressure: Given<Pressure>,
        /// How long it was held.
        "duration" duration: Given<Duration>,
        /// The pressure at the end.
        "end-pressure" end_pressure: Given<Pressure>,
        /// The manifolds that were tested; all if left out.
        "manifolds" manifolds: List<Ref<Manifold>>,
        /// The loops that were tested; all if left out.
        "loops" loops: List<Ref<Loop>>,
        /// The written method for an air test.
        "method" method: Given<String>,
        /// Whether people were kept out during an air test.
        "people-kept-out" people_kept_out: Given<bool>,
    }
}

record! {
    /// The pressure that the loops kept while they were covered.
    PressureReadings {
        /// Read before.
        "before" before: Given<Pressure>,
        /// Read after.
        "after" after: Given<Pressure>,
    }
}

record! {
    /// The laying of a screed.
    ScreedRecord {
        /// The day it was laid.
        "laid" laid: Given<Date>,
        /// What it is bound with, where the floor does not say it.
        "screed" screed: Given<super::Screed>,
        /// The rooms; all if left out.
        "rooms" rooms: List<Ref<Room>>,
        /// The lowest temperature during laying and the three days after.
        "lowest-temperature" lowest_temperature: Given<Temperature>,
        /// The additive, as its supplier approved it.
        "additive" additive: Given<String>,
        /// The air that it entrained.
        "entrained-air" entrained_air: Given<Share>,
        /// The days that its maker asks for before first heat.
        "days-before-heat" days_before_heat: Given<u32>,
    }
}

record! {
    /// The water temperature on a day of the first heating.
    HeatingDay {
        /// The day.
        "date" date: Given<Date>,
        /// The flow temperature.
        "flow-temperature" flow_temperature: Given<Temperature>,
    }
}

record! {
    /// The laying of a covering.
    CoveringRecord {
        /// The day.
        "date" date: Given<Date>,
        /// The rooms; all if left out.
        "rooms" rooms: List<Ref<Room>>,
        /// Whether the heating was on while the adhesive set.
        "heating-on" heating_on: Given<bool>,
    }
}

words! {
    /// How residual moisture is measured.
    MoistureMethod {
        /// By the carbide method, in per cent by mass.
        "carbide" Carbide,
        /// By a hygrometer on the surface, in per cent relative humidity.
        "hygrometer" Hygrometer,
    }
}

record! {
    /// A test of residual moisture.
    MoistureTest {
        /// The day.
        "date" date: Given<Date>,
        /// The room; all if left out.
        "rooms" rooms: List<Ref<Room>>,
        /// How it was measured; by the carbide method if left out.
        "method" method: Given<MoistureMethod>,
        /// What was measured.
        "moisture" moisture: Given<Share>,
    }
}

record! {
    /// A place marked for measuring moisture.
    MoisturePoint {
        /// Where, in metres.
        "at" at: Given<Point>,
        /// The room.
        "room" room: Given<Ref<Room>>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
    }
}
named!(MoisturePoint: Label);

record! {
    /// Photographs of the pipe before it was covered.
    Photographs {
        /// The day.
        "taken" taken: Given<Date>,
        /// The rooms that they show; all if left out.
        "rooms" rooms: List<Ref<Room>>,
        /// How many of each room.
        "of-each-room" of_each_room: Given<u32>,
        /// Whether a tape or rule is in view.
        "with-tape" with_tape: Given<bool>,
        /// Whether the manifold is shown with its labels.
        "manifold-labels" manifold_labels: Given<bool>,
        /// Whether they were taken before the pipe was covered.
        "before-covering" before_covering: Given<bool>,
    }
}

record! {
    /// The plan of what was laid.
    AsBuilt {
        /// The day it was measured.
        "date" date: Given<Date>,
        /// Whether first runs, turns and tails are dimensioned to walls.
        "dimensioned" dimensioned: Given<bool>,
        /// Who signed it.
        "signed-by" signed_by: Given<String>,
        /// The routes as they were laid, where they differ from the design.
        "routes" routes: Named<Route>,
    }
}

/// The flow that a loop was set to on site, under the loop's name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetFlow(pub VolumeFlow);

impl crate::Nameable for SetFlow {
    const KIND: crate::Kind = crate::Kind::Loop;
    const NAMES_STAND_ELSEWHERE: bool = true;
}

impl Value for SetFlow {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        VolumeFlow::read(node, reader).map(SetFlow)
    }

    fn shape() -> Shape {
        <Given<VolumeFlow> as Field>::shape()
    }

    fn plain(&self) -> Json {
        self.0.plain()
    }
}

record! {
    /// Flushing and treatment of the water.
    WaterTreatment {
        /// The day the loops were flushed.
        "flushed" flushed: Given<Date>,
        /// The inhibitor.
        "inhibitor" inhibitor: Given<String>,
        /// The biocide.
        "biocide" biocide: Given<String>,
        /// Whether a filter is fitted.
        "filter" filter: Given<bool>,
    }
}

record! {
    /// A repair of the pipe under the floor.
    Repair {
        /// The loop.
        "loop" of_loop: Given<Ref<Loop>>,
        /// Where, in metres.
        "at" at: Given<Point>,
        /// The day the loop was tested again.
        "tested-again" tested_again: Given<Date>,
        /// Whether it is protected from the screed.
        "protected" protected: Given<bool>,
        /// Whether it is marked on the plan.
        "on-plan" on_plan: Given<bool>,
    }
}

record! {
    /// What was handed over.
    Handover {
        /// The plan of what was laid.
        "plan" plan: Given<bool>,
        /// The photographs.
        "photographs" photographs: Given<bool>,
        /// The record of the pressure test.
        "pressure-test" pressure_test: Given<bool>,
        /// The log of the first heating.
        "heating-log" heating_log: Given<bool>,
        /// The flows as they were set.
        "set-flows" set_flows: Given<bool>,
        /// A guide to the controls.
        "controls-guide" controls_guide: Given<bool>,
        /// The limits for coverings and rugs.
        "covering-limits" covering_limits: Given<bool>,
        /// The notice at the manifold not to drill.
        "drill-notice" drill_notice: Given<bool>,
    }
}
