//! Thermostats, zones and what they switch.

use crate::format::building::Room;
use crate::format::plan::Point;
use crate::read::{Given, List};
use crate::record::{named, record, words};
use crate::{Named, Ref};
use quantity::*;

record! {
    /// Thermostats, zones and what they switch.
    Controls {
        /// Rooms that answer to one thermostat.
        "zones" zones: Named<Zone>,
        /// The wiring centre that joins thermostats, actuators, pump and source.
        "wiring-centre" wiring_centre: Given<WiringCentre>,
        /// The actuators on the manifold's valves.
        "actuators" actuators: Given<Actuators>,
        /// Whether pump and source stop when every valve is shut.
        "interlock" interlock: Given<bool>,
        /// Whether the flow temperature follows the outdoor temperature.
        "weather-compensation" weather_compensation: Given<bool>,
        /// The flow that a by-pass keeps when every valve is shut.
        "by-pass" by_pass: Given<VolumeFlow>,
        /// Floor cooling, if there is any.
        "cooling" cooling: Given<Cooling>,
    }
}

words! {
    /// What a thermostat feels.
    Feels {
        /// The air of the room.
        "air" Air,
        /// The floor.
        "floor" Floor,
        /// Both.
        "air and floor" AirAndFloor,
    }
}

record! {
    /// Rooms that answer to one thermostat.
    Zone {
        /// The rooms.
        "rooms" rooms: List<Ref<Room>>,
        /// The loops, where a thermostat does not command whole rooms.
        "loops" loops: List<Ref<super::Loop>>,
        /// The thermostat.
        "thermostat" thermostat: Given<Thermostat>,
        /// The sensor in the floor.
        "floor-sensor" floor_sensor: Given<FloorSensor>,
        /// How many actuators it has.
        "actuators" actuators: Given<u32>,
        /// The channel of the wiring centre.
        "channel" channel: Given<u32>,
        /// Whether it can never shut.
        "always-open" always_open: Given<bool>,
        /// By how much the temperature is lowered at night.
        "set-back" set_back: Given<TemperatureDifference>,
    }
}
named!(Zone: Zone);

record! {
    /// A thermostat.
    Thermostat {
        /// What it feels; air if left out.
        "feels" feels: Given<Feels>,
        /// Where it is in plan, in metres.
        "at" at: Given<Point>,
        /// Its height above the floor.
        "height" height: Given<Length>,
        /// Whether it is on an outside wall.
        "on-outside-wall" on_outside_wall: Given<bool>,
        /// Its voltage.
        "voltage" voltage: Given<Voltage>,
        /// Whether it is inside the splash zone of a bath or shower.
        "in-splash-zone" in_splash_zone: Given<bool>,
    }
}

record! {
    /// A sensor in the floor.
    FloorSensor {
        /// The floor temperature at which it stops the heat.
        "limit" limit: Given<Temperature>,
        /// Where it is in plan, in metres.
        "at" at: Given<Point>,
        /// Whether it lies in a tube from which it can be drawn.
        "in-tube" in_tube: Given<bool>,
    }
}

record! {
    /// The wiring centre.
    WiringCentre {
        /// Its voltage for actuators.
        "voltage" voltage: Given<Voltage>,
        /// How many channels it has.
        "channels" channels: Given<u32>,
        /// How many actuators one channel can switch.
        "actuators-a-channel" actuators_a_channel: Given<u32>,
    }
}

words! {
    /// How an actuator stands without power.
    Normally {
        /// Shut.
        "closed" Closed,
        /// Open.
        "open" Open,
        /// Some the one, some the other.
        "mixed" Mixed,
    }
}

record! {
    /// The actuators on the manifold's valves.
    Actuators {
        /// Their voltage.
        "voltage" voltage: Given<Voltage>,
        /// How they stand without power.
        "normally" normally: Given<Normally>,
    }
}

record! {
    /// Floor cooling.
    Cooling {
        /// Whether a sensor keeps the surface above the dew point.
        "dew-point-guard" dew_point_guard: Given<bool>,
        /// The coolest that the surface may become.
        "coolest-surface" coolest_surface: Given<Temperature>,
        /// The water temperature while cooling.
        "flow-temperature" flow_temperature: Given<Temperature>,
    }
}
