//! The parts that keep people and floors from harm.

use crate::read::Given;
use crate::record::record;
use quantity::*;

record! {
    /// The parts that keep people and floors from harm.
    Safety {
        /// The device that stops over-hot water by itself.
        "limit-thermostat" limit_thermostat: Given<LimitThermostat>,
        /// The pressure at which the safety valve opens.
        "safety-valve" safety_valve: Given<Pressure>,
        /// The link through which the system is filled.
        "filling-link" filling_link: Given<FillingLink>,
        /// Hot tap water on the same source.
        "hot-water" hot_water: Given<HotWater>,
    }
}

record! {
    /// The device that stops over-hot water by itself.
    LimitThermostat {
        /// The temperature at which it acts.
        "setting" setting: Given<Temperature>,
        /// Whether it is separate from the controller.
        "independent" independent: Given<bool>,
        /// Whether it acts when the power fails.
        "without-power" without_power: Given<bool>,
    }
}

record! {
    /// The link through which the system is filled.
    FillingLink {
        /// Whether it has a double check valve.
        "double-check-valve" double_check_valve: Given<bool>,
        /// Whether its hose is taken off after filling.
        "taken-off" taken_off: Given<bool>,
    }
}

record! {
    /// Hot tap water on the same source.
    HotWater {
        /// The temperature at which it is stored.
        "store-temperature" store_temperature: Given<Temperature>,
        /// The written scheme against Legionella, where the store is cooler.
        "scheme" scheme: Given<String>,
        /// The temperature to which bath taps are blended.
        "bath-temperature" bath_temperature: Given<Temperature>,
        /// Whether the floor's water is the same water.
        "shared-with-floor" shared_with_floor: Given<bool>,
    }
}
