//! Electric mats: the alternative where water cannot reach.

use crate::Ref;
use crate::format::building::Room;
use crate::format::plan::Outline;
use crate::read::{Given, List};
use crate::record::{named, record, words};
use quantity::*;

record! {
    /// An electric heating mat or cable.
    ElectricMat {
        /// The room that it heats.
        "room" room: Given<Ref<Room>>,
        /// Its area.
        "area" area: Given<Area>,
        /// Its corners in plan, in metres.
        "outline" outline: Given<Outline>,
        /// Its power for each square metre.
        "power-density" power_density: Given<HeatFlux>,
        /// Its whole power, where it is stated.
        "power" power: Given<Power>,
        /// Its voltage.
        "voltage" voltage: Given<Voltage>,
        /// Whether it is the only heat in the room.
        "sole-heat" sole_heat: Given<bool>,
        /// Why it is electric: no height, no route for water, a small room far away.
        "reason" reason: Given<String>,
        /// Whether its cable has an earthed sheath or grid.
        "earthed" earthed: Given<bool>,
        /// Its protection against water by EN 60529, such as IPX7.
        "ingress-protection" ingress_protection: Given<String>,
        /// The residual-current device that protects it.
        "residual-current-device" residual_current_device: Given<ResidualCurrentDevice>,
        /// The current that its circuit or spur may carry.
        "circuit" circuit: Given<Current>,
        /// The current that its thermostat may switch.
        "thermostat-current" thermostat_current: Given<Current>,
        /// Whether thermostat or spur is inside the splash zone of a bath or shower.
        "control-in-splash-zone" control_in_splash_zone: Given<bool>,
        /// The floor temperature at which its sensor stops the heat.
        "floor-sensor-limit" floor_sensor_limit: Given<Temperature>,
        /// Whether its cable was shortened or crossed.
        "cut-or-crossed" cut_or_crossed: Given<bool>,
        /// The resistance on its label.
        "label-resistance" label_resistance: Given<ElectricalResistance>,
        /// The readings taken on site.
        "readings" readings: List<Reading>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(ElectricMat: ElectricMat);

record! {
    /// A residual-current device.
    ResidualCurrentDevice {
        /// The residual current at which it trips.
        "current" current: Given<Current>,
        /// Whether it waits before it trips.
        "time-delayed" time_delayed: Given<bool>,
    }
}

words! {
    /// When a reading was taken.
    ReadingStage {
        /// On the roll, before laying.
        "before laying" BeforeLaying,
        /// Laid, before covering.
        "after laying" AfterLaying,
        /// Covered.
        "after covering" AfterCovering,
    }
}

record! {
    /// A reading of a mat on site.
    Reading {
        /// When it was taken.
        "stage" stage: Given<ReadingStage>,
        /// The resistance of the cable.
        "resistance" resistance: Given<ElectricalResistance>,
        /// The resistance of its insulation.
        "insulation" insulation: Given<ElectricalResistance>,
    }
}
