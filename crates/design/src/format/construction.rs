//! Floor constructions: layers and how they are put together.

use crate::Shape;
use crate::fault::Expected;
use crate::read::{Given, List, Reader, Value};
use crate::record::{named, record, words};
use quantity::*;
use serde_json::Value as Json;
use yaml_tree::{Kind, Node};

words! {
    /// How the heat gets into the floor.
    Method {
        /// Pipe clipped to insulation under a screed.
        "clipped-in-screed" ClippedInScreed,
        /// Pipe held between the studs of a tray under a screed.
        "castellated-tray" CastellatedTray,
        /// Pipe in a thin grooved board, bonded to a level base, covering bonded on top.
        "bonded-board" BondedBoard,
        /// Pipe in dry boards that float on the base, glued to each other.
        "floating-board" FloatingBoard,
        /// Pipe in metal plates between or over joists.
        "spreader-plates" SpreaderPlates,
        /// Pipe inside a structural slab.
        "embedded-in-slab" EmbeddedInSlab,
        /// An electric mat or cable.
        "electric-mat" ElectricMat,
    }
}

words! {
    /// What lies below the floor.
    Below {
        /// The ground.
        "ground" Ground,
        /// A heated room.
        "heated room" HeatedRoom,
        /// A room that is heated now and then.
        "part-heated room" PartHeatedRoom,
        /// A room without heating, a cellar, a crawl space.
        "unheated room" UnheatedRoom,
        /// Outdoor air.
        "outdoor air" OutdoorAir,
    }
}

/// Where the pipe lies in its layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PipePosition {
    /// The pipe's underside on the layer's underside.
    AtBase,
    /// The pipe's axis in the layer's middle.
    InMiddle,
    /// The pipe's crown at the layer's top, as in a groove.
    AtTop,
    /// The pipe's underside so far above the layer's underside.
    Lifted(Length),
}

impl PipePosition {
    const WORDS: &'static [(&'static str, &'static str)] = &[
        ("at base", "the pipe's underside on the layer's underside"),
        ("in middle", "the pipe's axis in the layer's middle"),
        ("at top", "the pipe's crown at the layer's top, as in a groove"),
    ];
}

impl Value for PipePosition {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(node)?;
        match text {
            "at base" => Some(PipePosition::AtBase),
            "in middle" => Some(PipePosition::InMiddle),
            "at top" => Some(PipePosition::AtTop),
            _ if text.starts_with(|c: char| c.is_ascii_digit() || c == '-') => {
                Length::read(node, reader).map(PipePosition::Lifted)
            }
            _ => {
                reader.unknown_word(node, Self::WORDS);
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![Shape::Word(Self::WORDS), Length::shape()])
    }

    fn plain(&self) -> Json {
        match self {
            PipePosition::AtBase => "at base".into(),
            PipePosition::InMiddle => "in middle".into(),
            PipePosition::AtTop => "at top".into(),
            PipePosition::Lifted(height) => height.plain(),
        }
    }
}

words! {
    /// What a screed is bound with.
    Screed {
        /// Sand and cement.
        "sand-cement" SandCement,
        /// Calcium sulphate, usually flowing.
        "calcium-sulphate" CalciumSulphate,
        /// Mastic asphalt.
        "mastic-asphalt" MasticAsphalt,
        /// A special screed; its maker's figures count.
        "special" Special,
    }
}

words! {
    /// How a layer is held.
    Held {
        /// Glued over its whole surface.
        "glued" Glued,
        /// Bedded in a full bed of adhesive.
        "full bed" FullBed,
        /// Stuck in dabs.
        "dabs" Dabs,
        /// Lying loose on what is below.
        "floating" Floating,
        /// Screwed to what is below.
        "screwed" Screwed,
        /// Nailed to what is below.
        "nailed" Nailed,
        /// Cast or laid in place.
        "cast" Cast,
        /// Fitted tightly between joists.
        "fitted tight" FittedTight,
    }
}

record! {
    /// A layer of a floor.
    Layer {
        /// What it is made of: a standard material, or any name with a conductivity or resistance beside it.
        "material" material: Given<String>,
        /// How thick it is.
        "thickness" thickness: Given<Length>,
        /// Its conductivity, where it is not the standard one.
        "conductivity" conductivity: Given<Conductivity>,
        /// Its thermal resistance, where a product states one.
        "resistance" resistance: Given<ThermalResistance>,
        /// Its density.
        "density" density: Given<Density>,
        /// Its specific heat capacity.
        "specific-heat" specific_heat: Given<SpecificHeat>,
        /// Where the pipe lies in it, for the layer that holds the pipe.
        "pipe" pipe: Given<PipePosition>,
        /// What a screed is bound with.
        "screed" screed: Given<Screed>,
        /// The strength class of a screed by EN 13813, such as F4.
        "strength-class" strength_class: Given<String>,
        /// The class of a tile adhesive by EN 12004, such as C2 S1.
        "adhesive-class" adhesive_class: Given<String>,
        /// The temperature that it may not exceed.
        "highest-temperature" highest_temperature: Given<Temperature>,
        /// The least cover over the pipe that its maker allows.
        "least-cover" least_cover: Given<Length>,
        /// How it is held.
        "held" held: Given<Held>,
        /// Whether the joints between its boards are glued.
        "joints-glued" joints_glued: Given<bool>,
        /// Whether the grooves beside the pipe are filled with adhesive or compound; of bonded boards so if left out.
        "grooves-filled" grooves_filled: Given<bool>,
        /// By how much it gives way under the floor's load.
        "compression" compression: Given<Length>,
        /// The thickness of a studded or castellated board without its studs.
        "flat-thickness" flat_thickness: Given<Length>,
        /// The share of the layer's volume that studs or fixings take.
        "stud-share" stud_share: Given<Share>,
        /// The share of the layer's width that joists or battens take.
        "joist-share" joist_share: Given<Share>,
        /// Whether its face is bare aluminium.
        "aluminium-faced" aluminium_faced: Given<bool>,
        /// How far its sheets lap.
        "laps" laps: Given<Length>,
        /// Whether the laps are taped.
        "taped" taped: Given<bool>,
        /// Whether it is reinforced or uncouples the covering.
        "reinforced" reinforced: Given<bool>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
        /// The keys of this block whose values are the maker's own figures.
        "from-maker" from_maker: List<String>,
    }
}

record! {
    /// A floor construction.
    Floor {
        /// How the heat gets into the floor.
        "method" method: Given<Method>,
        /// What lies below.
        "below" below: Given<Below>,
        /// The temperature of what lies below, where it differs from the usual.
        "temperature-below" temperature_below: Given<Temperature>,
        /// The layers, from the surface down.
        "layers" layers: List<Layer>,
        /// The step between possible spacings of a tray, board or plate.
        "module" module: Given<Length>,
        /// The strip round the edge.
        "edge-strip" edge_strip: Given<EdgeStrip>,
        /// The clips or staples that hold the pipe.
        "clips" clips: Given<Clips>,
        /// The tray that holds the pipe.
        "tray" tray: Given<Tray>,
        /// The metal plates or foil that spread the heat.
        "plates" plates: Given<Plates>,
        /// What the floor is built on.
        "base" base: Given<Base>,
        /// The joists that carry it.
        "joists" joists: Given<Joists>,
        /// Whether pipes or cables of other services lie in the layer that holds the heating pipe.
        "services-in-heated-layer" services_in_heated_layer: Given<bool>,
        /// The slab's edge and area, for the heat that it loses to the ground.
        "slab" slab: Given<Slab>,
        /// The load that the floor carries; domestic if left out.
        "load" load: Given<Load>,
        /// The tested heat output for each kelvin between water and room that a maker states.
        "tested-output" tested_output: Given<Transmittance>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}
named!(Floor: Floor);

words! {
    /// How heavily a floor is loaded.
    Load {
        /// As in a dwelling: up to 2 kN/m².
        "domestic" Domestic,
        /// Offices, shops, gatherings.
        "heavy" Heavy,
    }
}

/// An edge strip that is there and of which nothing more is known may be written `true`; none, `none`.
#[derive(Debug, Clone)]
pub enum EdgeStrip {
    /// No strip.
    None,
    /// A strip, with what is known of it.
    Strip(Strip),
}

impl Value for EdgeStrip {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            Kind::Scalar(scalar) if scalar.text == "none" => Some(EdgeStrip::None),
            Kind::Map(_) => Strip::read(node, reader).map(EdgeStrip::Strip),
            _ => {
                reader.wrong_shape(node, Expected::Thing("a block that describes the strip, or `none`"));
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![Strip::shape(), Shape::Word(&[("none", "there is no strip")])])
    }

    fn plain(&self) -> Json {
        match self {
            EdgeStrip::None => "none".into(),
            EdgeStrip::Strip(strip) => Value::plain(strip),
        }
    }
}

record! {
    /// The strip round the edge of a floor.
    Strip {
        /// How thick it is.
        "thickness" thickness: Given<Length>,
        /// How far it lets the floor move; 70 % of the thickness if left out.
        "movement" movement: Given<Length>,
        /// Whether it runs from the base up to the finished level, at every upright and step.
        "complete" complete: Given<bool>,
    }
}

record! {
    /// The clips or staples that hold the pipe.
    Clips {
        /// The distance between clips along a straight run.
        "spacing" spacing: Given<Length>,
        /// How long a clip is below the pipe.
        "length" length: Given<Length>,
    }
}

record! {
    /// The tray that holds the pipe.
    Tray {
        /// How far it lifts the pipe above its underside.
        "lifts-pipe" lifts_pipe: Given<Length>,
        /// Whether its edges are lapped stud over stud and taped at the edge strip.
        "lapped" lapped: Given<bool>,
        /// Whether it is fixed down.
        "fixed" fixed: Given<bool>,
        /// The share of the screed's volume that its studs take.
        "stud-share" stud_share: Given<Share>,
    }
}

record! {
    /// The metal plates or foil that spread the heat.
    Plates {
        /// The metal; aluminium if left out.
        "material" material: Given<String>,
        /// How thick the metal is.
        "thickness" thickness: Given<Length>,
        /// How wide a plate is across the pipe.
        "width" width: Given<Length>,
        /// Its conductivity, where it is not the standard one.
        "conductivity" conductivity: Given<Conductivity>,
        /// The gap between plates along the pipe.
        "gap" gap: Given<Length>,
        /// The share of the run's length that plates cover.
        "coverage" coverage: Given<Share>,
    }
}

words! {
    /// What a floor is built on.
    BaseKind {
        /// A concrete slab.
        "slab" Slab,
        /// Beams and blocks.
        "beam and block" BeamAndBlock,
        /// An old screed.
        "screed" Screed,
        /// A boarded timber floor.
        "boarded timber" BoardedTimber,
        /// Open joists.
        "joists" Joists,
    }
}

impl BaseKind {
    /// Whether timber carries it.
    pub fn is_timber(self) -> bool {
        matches!(self, BaseKind::BoardedTimber | BaseKind::Joists)
    }
}

record! {
    /// What the floor is built on.
    Base {
        /// What it is.
        "kind" kind: Given<BaseKind>,
        /// The largest gap under a straightedge of two metres.
        "flatness" flatness: Given<Length>,
        /// Whether it is clean and primed.
        "primed" primed: Given<bool>,
        /// Whether laitance is sanded off (calcium sulphate).
        "sanded" sanded: Given<bool>,
        /// The thickness of a stiff sheet screwed to it.
        "sheet-thickness" sheet_thickness: Given<Length>,
        /// The distance between the screws of that sheet.
        "screw-spacing" screw_spacing: Given<Length>,
        /// Who gave a structural engineer's word for the added load.
        "engineer" engineer: Given<String>,
        /// Whether the heating floor is fixed through to it.
        "fixed-through" fixed_through: Given<bool>,
        /// Whether clips, screws or pipes pierce a damp-proof or radon layer.
        "damp-layer-pierced" damp_layer_pierced: Given<bool>,
    }
}

record! {
    /// The joists that carry a floor.
    Joists {
        /// Their depth.
        "depth" depth: Given<Length>,
        /// Their width.
        "width" width: Given<Length>,
        /// The distance from joist to joist, middle to middle.
        "spacing" spacing: Given<Length>,
        /// Their clear span.
        "span" span: Given<Length>,
        /// Notches in their tops for the pipe.
        "notches" notches: List<Cut>,
        /// Holes through their middles for the pipe.
        "holes" holes: List<Cut>,
    }
}

record! {
    /// A notch or a hole in a joist.
    Cut {
        /// The depth of a notch, or the diameter of a hole.
        "size" size: Given<Length>,
        /// How far it is from the nearer support.
        "from-support" from_support: Given<Length>,
    }
}

record! {
    /// A slab's edge and area, for the heat that it loses to the ground (EN ISO 13370).
    Slab {
        /// The area of the whole slab.
        "area" area: Given<Area>,
        /// The length of its edge to the outdoors.
        "perimeter" perimeter: Given<Length>,
        /// How thick the outside walls are.
        "wall-thickness" wall_thickness: Given<Length>,
        /// The conductivity of the ground; 2.0 W/(m·K) if left out.
        "ground-conductivity" ground_conductivity: Given<Conductivity>,
    }
}
