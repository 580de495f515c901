//! What warms the water, and the water.

use crate::Named;
use crate::read::{Given, List, Points};
use crate::record::{named, record, words};
use quantity::*;

words! {
    /// What warms the water.
    SourceKind {
        /// A heat pump.
        "heat pump" HeatPump,
        /// A gas or oil boiler that condenses its flue gas.
        "condensing boiler" CondensingBoiler,
        /// A gas or oil boiler that must not condense.
        "boiler" Boiler,
        /// A stove or boiler for wood, pellets or coal.
        "solid fuel" SolidFuel,
        /// Heat from a district network.
        "district heat" DistrictHeat,
        /// An electric boiler.
        "electric boiler" ElectricBoiler,
        /// A store that several sources feed.
        "thermal store" ThermalStore,
    }
}

record! {
    /// What warms the water.
    HeatSource {
        /// What it is.
        "kind" kind: Given<SourceKind>,
        /// The temperature of the water that it gives at the design outdoor temperature.
        "flow-temperature" flow_temperature: Given<Temperature>,
        /// The temperature of the water that comes back to it.
        "return-temperature" return_temperature: Given<Temperature>,
        /// How much cooler the floor's water comes back than it left, for loops that say nothing else.
        "temperature-drop" temperature_drop: Given<TemperatureDifference>,
        /// The highest water temperature that it can send out if its control fails.
        "highest-temperature" highest_temperature: Given<Temperature>,
        /// The heat that it gives at the design outdoor temperature.
        "output" output: Given<Power>,
        /// The part of the output kept for hot water.
        "hot-water-allowance" hot_water_allowance: Given<Power>,
        /// The least flow that it must have while it runs.
        "least-flow" least_flow: Given<VolumeFlow>,
        /// The least water that must always be in circuit for each kilowatt.
        "least-water" least_water: Given<SpecificVolume>,
        /// The content of a vessel that is always in circuit.
        "volume-vessel" volume_vessel: Given<Volume>,
        /// The pump that drives the primary circuit, where the manifolds have none.
        "pump" pump: Given<Pump>,
        /// Other circuits on the same source, such as radiators.
        "other-circuits" other_circuits: Named<OtherCircuit>,
        /// Whether the floor's water is kept apart by a heat exchanger.
        "heat-exchanger" heat_exchanger: Given<bool>,
        /// Whether surplus heat has somewhere safe to go (solid fuel).
        "heat-dump" heat_dump: Given<bool>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}

record! {
    /// Another circuit on the same source.
    OtherCircuit {
        /// What it feeds: radiators, a fan coil, a cylinder.
        "feeds" feeds: Given<String>,
        /// The flow temperature that it needs.
        "flow-temperature" flow_temperature: Given<Temperature>,
        /// The heat that it gives.
        "output" output: Given<Power>,
    }
}
named!(OtherCircuit: Label);

words! {
    /// What flows in the circuit.
    Fluid {
        /// Plain heating water.
        "water" Water,
        /// Water with propylene glycol.
        "propylene glycol" PropyleneGlycol,
        /// Water with ethylene glycol.
        "ethylene glycol" EthyleneGlycol,
    }
}

record! {
    /// The water in the circuit, and the system that holds it.
    Water {
        /// What flows in the circuit; plain water if left out.
        "fluid" fluid: Given<Fluid>,
        /// The glycol's share by mass.
        "mass-share" mass_share: Given<Share>,
        /// The glycol's share by volume, as on the drum.
        "volume-share" volume_share: Given<Share>,
        /// The pressure at which the system works.
        "working-pressure" working_pressure: Given<Pressure>,
        /// Whether parts of the system are of plain steel or cast iron.
        "steel-parts" steel_parts: Given<bool>,
        /// The water content of the system outside the loops.
        "other-content" other_content: Given<Volume>,
        /// The expansion vessel.
        "expansion-vessel" expansion_vessel: Given<ExpansionVessel>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}

record! {
    /// The expansion vessel.
    ExpansionVessel {
        /// Its nominal content.
        "volume" volume: Given<Volume>,
        /// The gas pressure with no water in it.
        "charge-pressure" charge_pressure: Given<Pressure>,
        /// The height of the water above it.
        "static-height" static_height: Given<Length>,
    }
}

record! {
    /// A circulating pump. Give the head it offers, or points of its curve.
    Pump {
        /// The pressure that it offers at the design flow, or keeps constant.
        "head" head: Given<Pressure>,
        /// Points of its curve.
        "curve" curve: Points<PumpPoint>,
    }
}

record! {
    /// A point of a pump's curve.
    PumpPoint {
        /// The flow.
        "flow" flow: Given<VolumeFlow>,
        /// The pressure at that flow.
        "head" head: Given<Pressure>,
    }
}
