//! Storeys and rooms: what has to be warm.

use crate::format::construction::{Floor, Layer};
use crate::format::plan::{Line, Outline};
use crate::read::{Given, List};
use crate::record::{named, record, words};
use crate::{Named, Ref};
use quantity::*;

record! {
    /// A storey.
    Storey {
        /// The level of its finished floor above the building's zero.
        "level" level: Given<Length>,
    }
}
named!(Storey: Storey);

words! {
    /// What a room is used for.
    Use {
        /// Sitting, playing, general living.
        "living" Living,
        /// Eating.
        "dining" Dining,
        /// Cooking.
        "kitchen" Kitchen,
        /// Sleeping.
        "bedroom" Bedroom,
        /// Bathing or showering.
        "bathroom" Bathroom,
        /// A WC without bath or shower.
        "toilet" Toilet,
        /// Hall, corridor, landing.
        "hall" Hall,
        /// Washing and drying clothes.
        "utility" Utility,
        /// Desk work.
        "office" Office,
        /// Work with hands, light industry.
        "workshop" Workshop,
        /// A room mostly of glass.
        "conservatory" Conservatory,
        /// Guests, now and then.
        "guest room" GuestRoom,
        /// A hobby, now and then.
        "hobby room" HobbyRoom,
        /// Gatherings, for hours at a time.
        "assembly" Assembly,
        /// Selling.
        "shop" Shop,
        /// Teaching.
        "classroom" Classroom,
        /// Keeping things.
        "store" Store,
        /// Keeping a car.
        "garage" Garage,
        /// Anything else.
        "other" Other,
    }
}

words! {
    /// How a stated heat loss was found.
    HeatLossMethod {
        /// Worked out for this room by itself, with the elements around it.
        "room by room" RoomByRoom,
        /// A figure for the whole building, shared out.
        "whole building" WholeBuilding,
        /// So many watts a square metre.
        "rule of thumb" RuleOfThumb,
        /// Worked out with the extra loss of a tall room.
        "tall room" TallRoom,
    }
}

words! {
    /// What lies on the other side of an element of a room.
    OtherSide {
        /// Outdoor air.
        "outdoors" Outdoors,
        /// The ground.
        "ground" Ground,
        /// A room without heating.
        "unheated room" UnheatedRoom,
        /// A heated room.
        "heated room" HeatedRoom,
    }
}

record! {
    /// A room that is heated, or that pipes pass through.
    Room {
        /// What it is used for.
        "use" use_: Given<Use>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// The temperature that it is to have.
        "temperature" temperature: Given<Temperature>,
        /// The heat that it loses at the design outdoor temperature.
        "heat-loss" heat_loss: Given<Power>,
        /// How the heat loss was found.
        "heat-loss-method" heat_loss_method: Given<HeatLossMethod>,
        /// The part of the heat loss that goes through its own heated floor, if it was counted in.
        "floor-loss-included" floor_loss_included: Given<Power>,
        /// Walls, roofs and windows through which it loses heat, for a heat loss to be worked out.
        "fabric" fabric: Named<Element>,
        /// How often its air is changed.
        "air-change-rate" air_change_rate: Given<AirChangeRate>,
        /// Its floor construction.
        "floor" floor: Given<Ref<Floor>>,
        /// Layers laid in this room on top of its floor construction, from the surface down.
        "covering" covering: List<Layer>,
        /// The temperature of what lies below its floor, where it differs from the usual.
        "temperature-below" temperature_below: Given<Temperature>,
        /// Its height.
        "height" height: Given<Length>,
        /// The area of its floor, while there is no outline.
        "area" area: Given<Area>,
        /// Its corners in plan, in metres.
        "outline" outline: Given<Outline>,
        /// Parts of its floor that must stay free of pipe: units, baths, trays, hearths; `none` if there are none.
        "keep-clear" keep_clear: Named<Outline>,
        /// Lines along which something will be screwed to the floor.
        "fixing-lines" fixing_lines: Named<FixingLine>,
        /// Those of its sides that are outside walls, where `walls` do not say it.
        "outside-walls" outside_walls: List<Line>,
        /// Windows, glazed doors and rooflights.
        "glazing" glazing: Named<Glazing>,
        /// The strip along outside walls in which the pipe is laid closer.
        "edge-zone" edge_zone: Given<EdgeZone>,
        /// Other heat emitters in the room.
        "other-emitters" other_emitters: Named<Emitter>,
        /// The resistance of the thickest rug to be allowed for, or what is agreed about rugs.
        "rugs" rugs: Given<String>,
        /// The height that survey allows for the build-up.
        "height-for-build-up" height_for_build_up: Given<Length>,
        /// By how much the lowest stair riser differs from the others after the floor is laid.
        "stair-riser-difference" stair_riser_difference: Given<Length>,
        /// Whether it belongs to another dwelling than the rooms below.
        "over-other-dwelling" over_other_dwelling: Given<bool>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(Room: Room);

record! {
    /// A wall, roof or window through which a room loses heat.
    Element {
        /// Its area.
        "area" area: Given<Area>,
        /// Its heat transfer coefficient.
        "u-value" u_value: Given<Transmittance>,
        /// What lies on the other side; outdoors if left out.
        "to" to: Given<OtherSide>,
        /// The temperature on the other side, where it is known.
        "temperature" temperature: Given<Temperature>,
        /// What thermal bridges add to the heat transfer coefficient.
        "thermal-bridges" thermal_bridges: Given<Transmittance>,
    }
}
named!(Element: Label);

words! {
    /// What is fixed along a line.
    Fixing {
        /// The screws of a WC pan.
        "WC pan" WcPan,
        /// A door stop.
        "door stop" DoorStop,
        /// A threshold bar.
        "threshold bar" ThresholdBar,
        /// The sole plate of a stud wall.
        "sole plate" SolePlate,
        /// The shoe of a balustrade.
        "balustrade shoe" BalustradeShoe,
        /// Something else.
        "other" Other,
    }
}

record! {
    /// A line along which something will be screwed to the floor.
    FixingLine {
        /// What is fixed.
        "kind" kind: Given<Fixing>,
        /// The line, in metres.
        "line" line: Given<Line>,
    }
}
named!(FixingLine: Label);

words! {
    /// What kind of glazing it is.
    GlazingKind {
        /// A window.
        "window" Window,
        /// A glazed door.
        "door" Door,
        /// A rooflight or glazed roof.
        "rooflight" Rooflight,
    }
}

record! {
    /// A window, a glazed door or a rooflight.
    Glazing {
        /// What kind of glazing it is; a window if left out.
        "kind" kind: Given<GlazingKind>,
        /// Its area.
        "area" area: Given<Area>,
        /// How high its glass stands.
        "height" height: Given<Length>,
        /// Its heat transfer coefficient.
        "u-value" u_value: Given<Transmittance>,
        /// Where it stands in plan, in metres.
        "line" line: Given<Line>,
        /// Whether the stated heat loss has it.
        "in-heat-loss" in_heat_loss: Given<bool>,
    }
}
named!(Glazing: Label);

record! {
    /// The strip along outside walls in which the pipe is laid closer.
    EdgeZone {
        /// How deep it is.
        "width" width: Given<Length>,
        /// The spacing in it.
        "spacing" spacing: Given<Length>,
    }
}

record! {
    /// Another heat emitter in the room.
    Emitter {
        /// The heat that it gives at the design temperatures.
        "output" output: Given<Power>,
        /// What it is.
        "kind" kind: Given<String>,
    }
}
named!(Emitter: Label);
