//! Pipes, manifolds and loops.

use crate::Shape;
use crate::fault::{Expected, FaultKind};
use crate::format::building::{Room, Storey};
use crate::format::plan::{Crossing, Point, Route};
use crate::format::source::Pump;
use crate::read::{Given, List, Placed, Points, Reader, Value};
use crate::record::{named, record, words};
use crate::{Kind, Ref};
use quantity::*;
use serde_json::{Value as Json, json};
use yaml_tree::{Kind as NodeKind, Node};

words! {
    /// What a pipe is made of.
    PipeMaterial {
        /// Cross-linked polyethylene.
        "PE-X" Pex,
        /// Polyethylene of raised temperature resistance.
        "PE-RT" PeRt,
        /// Polybutylene.
        "PB" Polybutylene,
        /// Polypropylene.
        "PP-R" PolypropyleneRandom,
        /// Plastic with an aluminium layer.
        "multilayer" Multilayer,
        /// Copper.
        "copper" Copper,
        /// Steel.
        "steel" Steel,
    }
}

record! {
    /// A pipe.
    Pipe {
        /// What it is made of.
        "material" material: Given<PipeMaterial>,
        /// Its outside diameter.
        "outside-diameter" outside_diameter: Given<Length>,
        /// The thickness of its wall.
        "wall-thickness" wall_thickness: Given<Length>,
        /// Its bore, where it is not the outside diameter less two walls.
        "bore" bore: Given<Length>,
        /// The conductivity of its wall, where it is not the usual one.
        "conductivity" conductivity: Given<Conductivity>,
        /// The roughness of its bore, where it is not the usual one.
        "roughness" roughness: Given<Length>,
        /// The tightest radius, to its axis, that its maker allows it to be bent to.
        "least-bend-radius" least_bend_radius: Given<Length>,
        /// The longest loop that its maker allows.
        "longest-loop" longest_loop: Given<Length>,
        /// The coils it comes in.
        "coils" coils: List<Length>,
        /// Its application class by ISO 10508.
        "class" class: Given<u32>,
        /// The pressure that it stands in that class.
        "highest-pressure" highest_pressure: Given<Pressure>,
        /// The water temperature that it may not exceed.
        "highest-temperature" highest_temperature: Given<Temperature>,
        /// Whether a layer keeps oxygen out.
        "oxygen-barrier" oxygen_barrier: Given<bool>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(Pipe: Pipe);

impl Pipe {
    /// A pipe from a standard size written out: `multilayer 16 x 2`, `copper 15 x 0.7`, in millimetres.
    pub fn from_designation(text: &str) -> Option<Pipe> {
        let (material, outside, wall) = designation(text)?;
        let given = |value| Some(Placed { value, at: Default::default() });
        Some(Pipe {
            material: Some(Placed { value: material, at: Default::default() }),
            outside_diameter: given(outside),
            wall_thickness: given(wall),
            ..Pipe::default()
        })
    }
}

/// Material, outside diameter and wall of a size written out.
fn designation(text: &str) -> Option<(PipeMaterial, Length, Length)> {
    let (outside, wall) = text.trim_end().trim_end_matches("mm").split_once(['x', '×'])?;
    let (word, outside) = outside.trim_end().rsplit_once(' ')?;
    let material = [
        PipeMaterial::Pex,
        PipeMaterial::PeRt,
        PipeMaterial::Polybutylene,
        PipeMaterial::PolypropyleneRandom,
        PipeMaterial::Multilayer,
        PipeMaterial::Copper,
        PipeMaterial::Steel,
    ]
    .into_iter()
    .find(|material| material.word().eq_ignore_ascii_case(word.trim()))?;
    let millimetres = |text: &str| text.trim().parse::<f64>().ok().filter(|mm| mm.is_finite() && *mm > 0.0);
    let (outside, wall) = (millimetres(outside)?, millimetres(wall)?);
    (2.0 * wall < outside).then_some((material, Length::millimetres(outside), Length::millimetres(wall)))
}

/// The pipe of a loop or feeder: the name of one of `pipes`, or a standard size written out.
#[derive(Debug, Clone, PartialEq)]
pub struct PipeName(pub String);

impl Value for PipeName {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(node)?;
        Some(PipeName(match designation(text) {
            Some(_) => text.to_string(),
            None => reader.name(Kind::Pipe, text, node.place),
        }))
    }

    fn shape() -> Shape {
        Shape::Either(vec![Shape::Name(Kind::Pipe), Shape::Text("multilayer 16 x 2")])
    }

    fn plain(&self) -> Json {
        self.0.as_str().into()
    }
}

record! {
    /// A manifold with its pump and mixing set.
    Manifold {
        /// Where it is in plan, in metres.
        "at" at: Given<Point>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// Its height above the finished floor of its storey.
        "height" height: Given<Length>,
        /// How many loops it can take.
        "ports" ports: Given<u32>,
        /// The range that its flow gauges can show.
        "flow-gauge" flow_gauge: Given<Range<VolumeFlow>>,
        /// The pump that drives its loops.
        "pump" pump: Given<Pump>,
        /// The temperature of the water it sends to its loops, where that differs from the source's.
        "flow-temperature" flow_temperature: Given<Temperature>,
        /// How much cooler the water comes back than it left.
        "temperature-drop" temperature_drop: Given<TemperatureDifference>,
        /// Whether a mixing set makes its water cooler than the source's.
        "mixing-set" mixing_set: Given<bool>,
        /// The balancing valves at its ports.
        "valves" valves: Given<Valves>,
        /// The pressure that the manifold, its isolating valves and its mixing set take at the design flow.
        "pressure-loss" pressure_loss: Given<Pressure>,
        /// The pipe from the source to the manifold.
        "feeder" feeder: Given<Feeder>,
        /// The bore of its bars.
        "bore" bore: Given<Length>,
        /// The greatest flow that its maker allows.
        "greatest-flow" greatest_flow: Given<VolumeFlow>,
        /// The pressure that it stands.
        "highest-pressure" highest_pressure: Given<Pressure>,
        /// Whether both bars can be shut off.
        "isolating-valves" isolating_valves: Given<bool>,
        /// Whether both bars have fill and drain cocks.
        "fill-and-drain" fill_and_drain: Given<bool>,
        /// Whether both bars have air vents.
        "air-vents" air_vents: Given<bool>,
        /// The clear depth in front of it.
        "clearance" clearance: Given<Length>,
        /// Rooms that are to be joined to it later.
        "future-rooms" future_rooms: List<String>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(Manifold: Manifold);

record! {
    /// The balancing valves at the ports of a manifold.
    Valves {
        /// The flow coefficient Kv of a balancing valve when fully open.
        "kv-open" kv_open: Given<FlowCoefficient>,
        /// The flow coefficient Kv of the valve that an actuator closes.
        "kv-actuator" kv_actuator: Given<FlowCoefficient>,
        /// The table of settings, in rising order.
        "settings" settings: Points<ValveSetting>,
    }
}

record! {
    /// A setting of a balancing valve.
    ValveSetting {
        /// Turns open from shut, or the number on the scale.
        "turns" turns: Given<f64>,
        /// The flow coefficient Kv at that setting.
        "kv" kv: Given<FlowCoefficient>,
    }
}

record! {
    /// The pipe from the source to a manifold, there and back.
    Feeder {
        /// Its pipe.
        "pipe" pipe: Given<PipeName>,
        /// Its length, there and back together.
        "length" length: Given<Length>,
        /// The sum of the loss coefficients of its bends and fittings.
        "loss-coefficients" loss_coefficients: Given<f64>,
        /// The flow coefficient Kv of valves in it.
        "kv" kv: Given<FlowCoefficient>,
        /// Whether it is insulated.
        "insulated" insulated: Given<bool>,
        /// Whether it passes through unheated space or a floor void.
        "in-cold-space" in_cold_space: Given<bool>,
    }
}

words! {
    /// How a loop is to be laid in its room.
    Layout {
        /// There and back in parallel runs.
        "meander" Meander,
        /// Inwards and outwards side by side, flow next to return.
        "spiral" Spiral,
    }
}

/// How far a balancing valve is opened: by its scale, or by its flow coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Presetting {
    /// Turns open from shut, or the number on the scale.
    Turns(f64),
    /// The flow coefficient Kv.
    Kv(FlowCoefficient),
}

/// Up to here other values are read as well.
const MOST_TURNS: f64 = 1e12;

impl Value for Presetting {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let NodeKind::Scalar(scalar) = &node.kind
            && let Some(turns) =
                scalar.text.trim().strip_suffix("turns").or_else(|| scalar.text.trim().strip_suffix("turn"))
            && let Ok(turns) = turns.trim().parse::<f64>()
            && turns.is_finite()
        {
            let (kind, found) = ("a presetting", crate::read::shortened(scalar.text.trim()));
            let fault = match turns {
                // A nought with a sign is a nought.
                0.0..=MOST_TURNS => return Some(Presetting::Turns(turns + 0.0)),
                _ if turns < 0.0 => FaultKind::Negative { kind, found },
                _ => FaultKind::Unbelievable { kind, found },
            };
            reader.fault(node.place, fault);
            return None;
        }
        if let NodeKind::Scalar(scalar) = &node.kind
            && let Ok(number) = scalar.text.trim().parse::<f64>()
            && number.is_finite()
        {
            let number = number.to_string();
            let kind = "a presetting, in turns or as a flow coefficient Kv,";
            let meant = ["turns", "m³/h"].map(|unit| format!("{number} {unit}")).to_vec();
            reader.fault(node.place, FaultKind::BareNumber { kind, number, meant });
            return None;
        }
        FlowCoefficient::read(node, reader).map(Presetting::Kv)
    }

    fn shape() -> Shape {
        Shape::Either(vec![Shape::Text("2.5 turns"), FlowCoefficient::shape()])
    }

    fn plain(&self) -> Json {
        match self {
            Presetting::Turns(turns) => json!({"turns": turns}),
            Presetting::Kv(kv) => json!({"kv": kv.si()}),
        }
    }
}

record! {
    /// A loop of pipe in the floor.
    Loop {
        /// The manifold that feeds it.
        "manifold" manifold: Given<Ref<super::Manifold>>,
        /// The port of the manifold, counted from 1.
        "port" port: Given<u32>,
        /// The room or rooms that it heats.
        "room" rooms: List<Ref<Room>>,
        /// Its pipe: one of `pipes`, or a standard size written out.
        "pipe" pipe: Given<PipeName>,
        /// The distance between its runs, middle to middle.
        "spacing" spacing: Given<Length>,
        /// The length of its two tails together, from the manifold to the heated area and back.
        "tails" tails: Given<Length>,
        /// How it is to be laid; where no route is drawn, it is laid out so over the room's outline.
        "layout" layout: Given<Layout>,
        /// The way it is drawn, from the manifold and back: points in metres, or an SVG path in metres.
        "route" route: Given<Route>,
        /// The storey that it is laid on, where its room does not say it.
        "storey" storey: Given<Ref<Storey>>,
        /// The part of the room that it heats, where the room has several loops.
        "area" area: Given<Area>,
        /// Its whole length with both tails, where it is stated.
        "length" length: Given<Length>,
        /// The flow it is set to; worked out from the heat needed if left out.
        "flow" flow: Given<VolumeFlow>,
        /// How much cooler the water comes back than it left.
        "temperature-drop" temperature_drop: Given<TemperatureDifference>,
        /// The heat that it has to give to its room; shared out from the room if left out.
        "duty" duty: Given<Power>,
        /// How far its balancing valve is opened: `2.5 turns` of the manifold's table of settings, or a Kv such as `0.4 m³/h`.
        "presetting" presetting: Given<Presetting>,
        /// Sleeves round its pipe where it crosses walls and joints.
        "sleeves" sleeves: List<NamedSleeve>,
        /// The coil it is cut from.
        "coil" coil: Given<Length>,
        /// Couplings in the floor: how far each is along the loop.
        "couplings" couplings: List<Length>,
        /// How much of its tails is insulated.
        "insulated-tails" insulated_tails: Given<Length>,
        /// Whether its tails alone pass under keep-clear areas, in a sleeve or insulation, on purpose.
        "tails-under-keep-clear" tails_under_keep_clear: Given<bool>,
        /// The height of a hump in its way that has no vent.
        "unvented-rise" unvented_rise: Given<Length>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(Loop: Loop);

words! {
    /// Which of a loop's crossings a sleeve serves.
    Serves {
        /// The crossing of the flow tail.
        "flow" Flow,
        /// The crossing of the return tail.
        "return" Return,
        /// A sleeve of its own on every crossing.
        "every crossing" Every,
    }
}

words! {
    /// What fills a sleeve.
    SleeveFill {
        /// Nothing, or something soft that lets the pipe move.
        "soft" Soft,
        /// Mortar or hard sealant.
        "solid" Solid,
        /// A named fire-stopping system.
        "fire stopping" FireStopping,
    }
}

record! {
    /// A sleeve round the pipe where it crosses something; the bare name of a wall or joint means one on every crossing of it.
    Sleeve {
        /// The wall, opening or movement joint that it serves.
        "at" at: Given<Ref<Crossing>>,
        /// Which crossing it serves; every crossing if left out.
        "serves" serves: Given<Serves>,
        /// How long it is.
        "length" length: Given<Length>,
        /// How far it reaches beyond the crossing on its shorter side; half of what is over if left out.
        "shorter-side" shorter_side: Given<Length>,
        /// What fills it.
        "fill" fill: Given<SleeveFill>,
    }
}

/// A sleeve as it is written: a block, or the bare name of what it serves.
#[derive(Debug, Clone, Default)]
pub struct NamedSleeve(pub Sleeve);

impl std::ops::Deref for NamedSleeve {
    type Target = Sleeve;
    fn deref(&self) -> &Sleeve {
        &self.0
    }
}

impl Value for NamedSleeve {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            NodeKind::Map(_) => Sleeve::read(node, reader).map(NamedSleeve),
            NodeKind::Scalar(_) => {
                let at = Ref::read(node, reader)?;
                let at = Some(Placed { value: at, at: node.place });
                Some(NamedSleeve(Sleeve { place: node.place, at, ..Sleeve::default() }))
            }
            _ => {
                reader.wrong_shape(
                    node,
                    Expected::Thing("the name of a wall or joint, or a block that describes the sleeve"),
                );
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![Shape::Name(Kind::Crossing), Sleeve::shape()])
    }

    fn plain(&self) -> Json {
        Value::plain(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_written_out_is_a_pipe() {
        for (text, material, outside, wall) in [
            ("multilayer 16 x 2", PipeMaterial::Multilayer, 16.0, 2.0),
            ("PE-X 16x2.0", PipeMaterial::Pex, 16.0, 2.0),
            ("copper 15 × 0.7 mm", PipeMaterial::Copper, 15.0, 0.7),
        ] {
            let pipe = Pipe::from_designation(text).unwrap();
            assert_eq!(pipe.material.unwrap().value, material, "{text}");
            assert_eq!(pipe.outside_diameter.unwrap().value, Length::millimetres(outside));
            assert_eq!(pipe.wall_thickness.unwrap().value, Length::millimetres(wall));
        }
        for text in ["multilayer", "16 x 2", "multilayer 16 x 9", "multilayer nan x 2", "brass 16 x 2", "x", " x "] {
            assert!(Pipe::from_designation(text).is_none(), "{text}");
        }
    }
}
