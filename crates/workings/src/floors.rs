//! Floors: layers, resistances, cover over the pipe.

use crate::{Figure, Gap, Subject, ValueOf, Worked, Workings};
use design::{BaseKind, Below, Design, Floor, Layer, Method, PipePosition, Placed};
use engineering::heat::materials::{self, Kind, Material};
use engineering::heat::{FLOOR_FILM, ground};
use quantity::*;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// What was worked out of a floor construction.
#[derive(Debug, Clone)]
pub struct FloorWorkings {
    /// In the order of the file, from the surface down.
    pub layers: Vec<LayerWorkings>,
    /// The layer that holds the pipe, by its position.
    pub pipe_layer: Result<usize, Gap>,
    /// How far the pipe's underside lies above the underside of its layer.
    pub pipe_lift: Worked<Length>,
    /// The outside diameter of the thickest pipe laid in it.
    pub pipe_outside: Result<Length, Gap>,
    /// The rooms that have this floor.
    pub rooms: Vec<usize>,
    /// The loops laid in it.
    pub loops: Vec<usize>,
    /// All its layers above the structural base.
    pub height: Worked<Length>,
    /// Of its layer over the crown of its thickest pipe.
    pub cover: Worked<Length>,
    /// R_o of EN 1264: surface film, coverings and what of the screed lies over the crown.
    pub resistance_above: Worked<ThermalResistance>,
    /// R_u of EN 1264: all below the pipe, with the film of a room or the outdoors below.
    pub resistance_below: Worked<ThermalResistance>,
    /// From the underside of its last layer to what lies below: the film of a room or the outdoors, or the ground.
    pub(crate) resistance_under: Result<ThermalResistance, Gap>,
    /// Of the insulation below the pipe alone; a studded board counts by its flat part.
    pub insulation_below: Worked<ThermalResistance>,
    /// It under each covering that its rooms bring; one where they bring none or all the same.
    pub variants: Vec<FloorVariant>,
    /// What the layers above the structural base weigh.
    pub mass: Worked<ArealMass>,
    /// Between inside and outside, of all its layers; of floors on the ground and over outdoor air.
    pub u_value: Worked<Transmittance>,
}

/// A floor under one of the coverings that rooms bring, as the closest loop under that meets it; of equally close ones that
/// of the thinnest pipe.
#[derive(Debug, Clone)]
pub struct FloorVariant {
    /// The covering in plain words, `oak-14-mm`, where there are several.
    pub covering: Option<String>,
    /// The rooms that bring it.
    pub rooms: Vec<usize>,
    /// A room with it, and the loop in that.
    pub(crate) example: Option<(usize, usize)>,
    /// Heat into the room for each square metre and kelvin between water and room.
    pub characteristic: Worked<Transmittance>,
    /// How fast it follows its water; worked out for the first that asks.
    pub(crate) pace: OnceLock<Result<FloorPace, Gap>>,
}

/// How fast a floor follows its water, room and what lies below kept as they are.
#[derive(Debug, Clone)]
pub struct FloorPace {
    /// From warm water on, all as cold as the room before, until the floor gives 63 % of its lasting heat.
    pub response: Figure<Duration>,
    /// The same until it gives 90 %.
    pub warm_up: Figure<Duration>,
    /// From the water's standing still until the floor gives 37 % of what it gave.
    pub cool_down: Figure<Duration>,
}

/// What was worked out of a layer.
#[derive(Debug, Clone)]
pub struct LayerWorkings {
    /// The standard material of this name, if there is one.
    pub material: Option<&'static Material>,
    pub conductivity: Option<Conductivity>,
    pub resistance: Worked<ThermalResistance>,
}

impl LayerWorkings {
    /// Whether its material is of this kind.
    pub fn is(&self, kind: Kind) -> bool {
        self.material.is_some_and(|material| material.kind == kind)
    }

    /// Whether it insulates: by its kind, or by its conductivity where the material is not a standard one.
    pub fn insulates(&self) -> bool {
        match self.material {
            Some(material) => material.kind == Kind::Insulation,
            None => self.conductivity.is_some_and(|it| it.in_watts_per_metre_kelvin() <= 0.065),
        }
    }
}

/// Works out the layers of a floor or of a room's covering.
pub(crate) fn layers(layers: &[Placed<Layer>], subject: impl Fn(usize) -> Subject) -> Vec<LayerWorkings> {
    layers
        .iter()
        .enumerate()
        .map(|(at, layer)| {
            let material = layer.material.as_ref().and_then(|name| materials::find(&name.value));
            let conductivity = layer
                .conductivity
                .map(|it| it.value)
                .or_else(|| by_resistance(layer))
                .or_else(|| material.and_then(|material| material.conductivity));
            LayerWorkings { material, conductivity, resistance: resistance(layer, material, subject(at)) }
        })
        .collect()
}

/// The conductivity that a stated resistance stands for.
fn by_resistance(layer: &Layer) -> Option<Conductivity> {
    let (resistance, thickness) = (layer.resistance?.value, layer.thickness?.value);
    let resists = resistance > ThermalResistance::ZERO && thickness > Length::ZERO;
    let conductivity = || thickness.in_metres() / resistance.in_square_metre_kelvin_per_watt();
    resists.then(|| Conductivity::watts_per_metre_kelvin(conductivity()))
}

fn resistance(
    layer: &Placed<Layer>,
    material: Option<&'static Material>,
    subject: Subject,
) -> Worked<ThermalResistance> {
    if let Some(stated) = &layer.resistance {
        return Ok(Figure::new(stated.value, "as stated", "the design").with_given("resistance", stated));
    }
    if layer.conductivity.is_none() && material.is_some_and(|it| it.kind == Kind::Membrane || it.kind == Kind::Metal) {
        let figure = Figure::new(ThermalResistance::ZERO, "none", "plain physics");
        return Ok(figure.assuming("membranes, foils and plates do not count as a resistance"));
    }
    let Some(thickness) = &layer.thickness else { return Err(gap(layer, subject, "thickness")) };
    if thickness.value < Length::ZERO {
        return Err(Gap::NoMethod("a layer is less than nothing thick".into()));
    }
    if material.is_some_and(|it| it.kind == Kind::AirGap) && layer.conductivity.is_none() {
        let value = materials::air_gap(thickness.value, materials::HeatGoes::Down)?;
        let figure = Figure::new(value, "air layer, heat going down", "EN ISO 6946, table from memory");
        return Ok(figure.with_given("thickness", thickness));
    }
    let (conductivity, at, source) = match (&layer.conductivity, material) {
        (Some(given), _) => (given.value, Some(given.at), "the design"),
        (None, Some(Material { conductivity: Some(conductivity), source, .. })) => {
            (*conductivity, None, source.words())
        }
        _ => return Err(gap(layer, subject, "conductivity")),
    };
    if conductivity <= Conductivity::ZERO {
        return Err(Gap::NoMethod("a layer's conductivity is not above nothing".into()));
    }
    let figure = Figure::new(ThermalResistance::of(thickness.value, conductivity), "thickness / conductivity", source);
    Ok(figure.with_given("thickness", thickness).with_at("conductivity", conductivity, at))
}

fn gap(layer: &Layer, subject: Subject, key: &'static str) -> Gap {
    if layer.broken { Gap::Unreadable } else { Gap::missing(subject, key) }
}

/// Works out every floor; rooms and loops must know which floor is theirs and what pipe is laid.
pub(crate) fn work_out(design: &Design, workings: &mut Workings) {
    let mut floors: Vec<FloorWorkings> = Vec::with_capacity(design.floors.len());
    let mut rooms_of = vec![Vec::new(); design.floors.len()];
    let mut loops_of = vec![Vec::new(); design.floors.len()];
    for (at, room) in workings.rooms.iter().enumerate() {
        if let Some(floor) = room.floor {
            rooms_of[floor].push(at);
            loops_of[floor].extend(&room.loops);
        }
    }
    for (at, floor) in design.floors.values().enumerate() {
        let (rooms, mut loops) = (std::mem::take(&mut rooms_of[at]), std::mem::take(&mut loops_of[at]));
        loops.sort_unstable();
        loops.dedup();
        floors.push(work_out_one(design, workings, at, floor, rooms, loops));
    }
    workings.floors = floors;
}

fn work_out_one(
    design: &Design,
    workings: &Workings,
    at: usize,
    floor: &Floor,
    rooms: Vec<usize>,
    loops: Vec<usize>,
) -> FloorWorkings {
    let subject = Subject::Floor(at);
    let layers = layers(&floor.layers, |layer| Subject::Layer(at, layer));
    let pipe_layer = pipe_layer(floor, &layers, subject);
    let outside = loops
        .iter()
        .filter_map(|it| workings.loops[*it].pipe.as_ref().ok().map(|pipe| pipe.outside))
        .reduce(Length::max)
        .ok_or(Gap::NoMethod("no loop with a known pipe is laid in this floor".into()));
    let spacing = |it: &usize| Some(design.loops.at(*it)?.1.value.spacing?.value);
    let pitch = loops.iter().filter_map(spacing).filter(|it| *it > Length::ZERO).reduce(Length::min);
    let lift = pipe_layer.clone().and_then(|layer| pipe_lift(floor, at, layer, &outside));
    let cover = pipe_layer.clone().and_then(|layer| cover(floor, at, layer, &lift, &outside));
    let insulation_below = pipe_layer.clone().and_then(|layer| insulation_below(floor, &layers, layer, &lift));
    let mut it = FloorWorkings {
        height: height(floor, &layers, at),
        mass: mass(floor, &layers, at, pitch),
        u_value: u_value(floor, &layers, at, ThermalResistance::ZERO),
        resistance_above: Err(Gap::Unreadable),
        resistance_below: Err(Gap::Unreadable),
        resistance_under: Err(Gap::Unreadable),
        variants: Vec::new(),
        insulation_below,
        layers,
        pipe_layer,
        pipe_lift: lift,
        pipe_outside: outside,
        rooms,
        loops,
        cover,
    };
    it.resistance_above = it.above(None);
    it.resistance_below = it.below(floor, subject);
    it.resistance_under = it.under(floor, subject);
    it
}

/// The layer that says it holds the pipe, or the only screed of a construction that has its pipe there.
fn pipe_layer(floor: &Floor, layers: &[LayerWorkings], subject: Subject) -> Result<usize, Gap> {
    if let Some(at) = floor.layers.iter().position(|layer| layer.pipe.is_some()) {
        return Ok(at);
    }
    let in_screed = matches!(floor.method.map(|it| it.value), Some(Method::ClippedInScreed | Method::CastellatedTray));
    let is_screed = |at: &usize| {
        floor.layers[*at].screed.is_some() || layers[*at].material.is_some_and(|material| material.kind.is_screed())
    };
    let mut screeds = (0..layers.len()).filter(is_screed);
    match (in_screed, screeds.next(), screeds.next()) {
        (true, Some(only), None) => Ok(only),
        _ if floor.broken => Err(Gap::Unreadable),
        _ => Err(Gap::missing(subject, "layers/…/pipe")),
    }
}

/// How far the pipe's underside lies above the underside of its layer.
fn pipe_lift(floor: &Floor, at: usize, layer: usize, outside: &Result<Length, Gap>) -> Worked<Length> {
    let given = &floor.layers[layer];
    let tray = floor.tray.as_ref().and_then(|tray| tray.lifts_pipe);
    let thickness = || given.thickness.ok_or_else(|| gap(given, Subject::Layer(at, layer), "thickness"));
    match given.pipe.map(|it| it.value) {
        Some(PipePosition::Lifted(lift)) => {
            Ok(Figure::new(lift, "as stated", "the design").with_at("pipe", lift, given.pipe.map(|it| it.at)))
        }
        Some(PipePosition::InMiddle) => {
            let (thickness, outside) = (thickness()?, outside.clone()?);
            let figure =
                Figure::new((thickness.value - outside) / 2.0, "(thickness - outside diameter) / 2", "plain geometry");
            Ok(figure.with_given("thickness", &thickness).with("outside diameter", outside))
        }
        Some(PipePosition::AtTop) => {
            let (thickness, outside) = (thickness()?, outside.clone()?);
            let figure = Figure::new(thickness.value - outside, "thickness - outside diameter", "plain geometry");
            Ok(figure.with_given("thickness", &thickness).with("outside diameter", outside))
        }
        position => {
            let figure = match tray {
                Some(lift) => {
                    Figure::new(lift.value, "as the tray lifts it", "the design").with_given("lifts-pipe", &lift)
                }
                None => Figure::new(Length::ZERO, "at the base of its layer", "the design"),
            };
            Ok(if position.is_none() {
                figure.assuming("the pipe lies at the base of the only screed")
            } else {
                figure
            })
        }
    }
}

fn cover(
    floor: &Floor,
    at: usize,
    layer: usize,
    lift: &Worked<Length>,
    outside: &Result<Length, Gap>,
) -> Worked<Length> {
    let given = &floor.layers[layer];
    let thickness = given.thickness.ok_or_else(|| gap(given, Subject::Layer(at, layer), "thickness"))?;
    let outside = outside.clone()?;
    let lift = lift.as_ref().map_err(Gap::clone)?;
    let value = thickness.value - lift.value - outside;
    let figure = Figure::new(value, "thickness - pipe lift - outside diameter", "plain geometry");
    Ok(figure
        .with_given("thickness", &thickness)
        .with("pipe lift", lift.value)
        .with("outside diameter", outside)
        .assuming_all(&lift.assumptions))
}

/// The layers that count as built up on the base: all above what carries the floor.
fn above_base<'l>(floor: &'l Floor, layers: &[LayerWorkings]) -> &'l [Placed<Layer>] {
    let pipe_layer = pipe_layer(floor, layers, Subject::Design).unwrap_or(0);
    let in_slab = floor.method.is_some_and(|it| it.value == Method::EmbeddedInSlab);
    let below_pipe = |of: &dyn Fn(Kind) -> bool| {
        let carries = |layer: &LayerWorkings| layer.material.is_some_and(|it| of(it.kind));
        layers.iter().skip(pipe_layer + 1).position(carries).map(|at| pipe_layer + 1 + at)
    };
    let base = match floor.base.as_ref().and_then(|base| base.kind).map(|kind| kind.value) {
        // Between joists the layer that holds the pipe adds nothing to what stands above them.
        Some(BaseKind::Joists) if floor.method.is_some_and(|it| it.value == Method::SpreaderPlates) => Some(pipe_layer),
        Some(BaseKind::Joists | BaseKind::BoardedTimber) => {
            below_pipe(&|kind| matches!(kind, Kind::Timber | Kind::WoodBoard))
        }
        Some(BaseKind::Screed) => below_pipe(&|kind| kind.is_screed() || kind == Kind::MasticAsphalt),
        _ => None,
    };
    let structure = || {
        let built_up = layers.iter().rposition(|layer| {
            !layer.material.is_some_and(|it| matches!(it.kind, Kind::Concrete | Kind::Ground)) || in_slab
        });
        built_up.map_or(0, |at| at + 1)
    };
    &floor.layers[..base.unwrap_or_else(structure)]
}

fn height(floor: &Floor, layers: &[LayerWorkings], at: usize) -> Worked<Length> {
    let mut figure = Figure::new(Length::ZERO, "sum of the thicknesses above the structural base", "plain geometry");
    for (layer, given) in above_base(floor, layers).iter().enumerate() {
        match &given.thickness {
            Some(thickness) => {
                figure.value += thickness.value;
                figure = figure.with_given("thickness", thickness);
            }
            None if layers[layer].is(Kind::Membrane) => {}
            None => return Err(gap(given, Subject::Layer(at, layer), "thickness")),
        }
    }
    Ok(figure)
}

/// Between joists the insulation hangs on them as well, and the plates lie on it.
fn mass(floor: &Floor, layers: &[LayerWorkings], at: usize, pitch: Option<Length>) -> Worked<ArealMass> {
    let mut figure = Figure::new(
        ArealMass::ZERO,
        "sum of thickness x density above the structural base, of plates and of what hangs between joists with them",
        "plain physics",
    );
    let built_up = above_base(floor, layers).len();
    let pipe_layer = pipe_layer(floor, layers, Subject::Floor(at)).ok();
    let hangs = floor.method.is_some_and(|it| it.value == Method::SpreaderPlates) && pipe_layer == Some(built_up);
    for (layer, given) in floor.layers[..built_up + usize::from(hangs)].iter().enumerate() {
        if layers[layer].is(Kind::Membrane) {
            continue;
        }
        let Some(thickness) = given.thickness else { return Err(gap(given, Subject::Layer(at, layer), "thickness")) };
        let density = given.density.map(|it| it.value).or_else(|| layers[layer].material.and_then(|it| it.density));
        let density = match density {
            Some(density) => density,
            None if layers[layer].insulates() => {
                figure = figure.assuming_all(&["what insulates is taken to weigh 30 kg/m³"]);
                Density::kilograms_per_cubic_metre(30.0)
            }
            None => return Err(gap(given, Subject::Layer(at, layer), "density")),
        };
        // Joists carry; they are not carried.
        let own = if hangs && layer == built_up { 1.0 - crate::heat::joist_share(given) } else { 1.0 };
        figure.value += density * thickness.value * own;
        figure = figure.with_given("thickness", &thickness).with_at("density", density, given.density.map(|it| it.at));
    }
    if let Some(plates) = &floor.plates
        && let (Some(thickness), Some(width)) = (plates.thickness, plates.width)
        && let Some(metal) = materials::find(plates.material.as_ref().map_or("aluminium", |it| &it.value))
        && let (Some(density), Some(pitch)) = (metal.density, pitch)
    {
        let coverage = plates.coverage.map_or(1.0, |it| it.value.in_fraction().clamp(0.0, 1.0));
        let share = coverage * (width.value / pitch).min(1.0);
        figure.value += density * thickness.value * share;
        figure = figure
            .with_given("plate thickness", &thickness)
            .with("plate density", density)
            .with_number("share of the floor that plates cover", share);
    }
    Ok(figure)
}

/// What a layer resists as insulation: whole, or by the flat part of a studded board.
fn insulation_below(
    floor: &Floor,
    layers: &[LayerWorkings],
    pipe_layer: usize,
    lift: &Worked<Length>,
) -> Worked<ThermalResistance> {
    let mut figure = Figure::new(
        ThermalResistance::ZERO,
        "sum of the insulation below the pipe; with joists in it, strips of both side by side",
        "EN 1264-4",
    );
    for (at, (given, layer)) in floor.layers.iter().zip(layers).enumerate().skip(pipe_layer) {
        if given.broken {
            return Err(Gap::Unreadable);
        }
        if !layer.insulates() {
            continue;
        }
        let resistance = match (&given.flat_thickness, layer.conductivity) {
            (Some(flat), Some(conductivity)) => ThermalResistance::of(flat.value, conductivity),
            // Of a grooved board only what lies below the pipe counts.
            (None, Some(conductivity)) if at == pipe_layer => {
                ThermalResistance::of(lift.value()?.max(Length::ZERO), conductivity)
            }
            _ => layer.resistance.value()?,
        };
        let thickness = given.thickness.map_or(Length::ZERO, |it| it.value);
        let whole = layer.resistance.value().unwrap_or(ThermalResistance::ZERO);
        // Of a layer that counts in part, the joists count in part as well.
        let part = if whole > ThermalResistance::ZERO { (resistance / whole).min(1.0) } else { 1.0 };
        let resistance = bridged(given, resistance, thickness * part);
        figure.value += resistance;
        figure = figure.with_at("resistance", resistance, Some(given.at));
    }
    Ok(figure)
}

impl FloorWorkings {
    /// Resistance of all layers above the one that holds the pipe, with a room's own covering on top.
    pub(crate) fn covering(&self, of_room: Option<&[LayerWorkings]>) -> Worked<ThermalResistance> {
        let pipe_layer = self.pipe_layer.clone()?;
        let mut figure = Figure::new(ThermalResistance::ZERO, "sum of the layers above the pipe's", "plain physics");
        for layer in of_room.unwrap_or_default().iter().chain(&self.layers[..pipe_layer]) {
            let resistance = layer.resistance.as_ref().map_err(Gap::clone)?;
            figure.value += resistance.value;
            let at = resistance.inputs.first().and_then(|input| input.at);
            figure = figure.with_at("resistance", resistance.value, at);
        }
        Ok(figure)
    }

    /// The same floor on so much more resistance.
    pub(crate) fn with_more_below(&self, more: ThermalResistance) -> FloorWorkings {
        let mut it = self.clone();
        it.resistance_under = it.resistance_under.map(|under| under + more);
        if let Ok(below) = &mut it.resistance_below {
            below.value += more;
        }
        it
    }

    /// R_o: film, covering, cover.
    pub(crate) fn above(&self, of_room: Option<&[LayerWorkings]>) -> Worked<ThermalResistance> {
        let covering = self.covering(of_room)?;
        let cover = self.cover.as_ref().map_err(Gap::clone)?;
        let conductivity = self.layers[self.pipe_layer.clone()?].conductivity;
        let conductivity =
            conductivity.ok_or(Gap::NoMethod("the conductivity of the pipe's layer is not known".into()))?;
        let film = ThermalResistance::square_metre_kelvin_per_watt(1.0 / FLOOR_FILM.in_watts_per_square_metre_kelvin());
        let value = film + covering.value + ThermalResistance::of(cover.value.max(Length::ZERO), conductivity);
        let figure = Figure::new(value, "1 / α + covering + cover / conductivity, α = 10.8 W/(m²·K)", "EN 1264-2");
        Ok(figure
            .with("covering", covering.value)
            .with("cover", cover.value)
            .with("conductivity", conductivity)
            .assuming_all(&cover.assumptions))
    }

    /// R_u: what of the pipe's layer lies below the pipe, the layers below it, the film or the ground below them.
    fn below(&self, floor: &Floor, subject: Subject) -> Worked<ThermalResistance> {
        let pipe_layer = self.pipe_layer.clone()?;
        let lift = self.pipe_lift.as_ref().map_err(Gap::clone)?;
        let below =
            floor.below.ok_or_else(|| if floor.broken { Gap::Unreadable } else { Gap::missing(subject, "below") })?;
        let mut figure = Figure::new(
            ThermalResistance::ZERO,
            "sum of the layers below the pipe + what is below them (film 0.17 to a room, 0.04 to the outdoors)",
            "EN 1264-2",
        );
        if lift.value > Length::ZERO {
            let conductivity = self.layers[pipe_layer].conductivity;
            let conductivity =
                conductivity.ok_or_else(|| gap(&floor.layers[pipe_layer], subject, "layers/…/conductivity"))?;
            let under = bridged(&floor.layers[pipe_layer], ThermalResistance::of(lift.value, conductivity), lift.value);
            figure.value += under;
            figure = figure.with("under the pipe", under);
        }
        for (layer, given) in self.layers.iter().zip(&floor.layers).skip(pipe_layer + 1) {
            let thickness = given.thickness.map_or(Length::ZERO, |it| it.value);
            let resistance = bridged(given, layer.resistance.value()?, thickness);
            figure.value += resistance;
            figure = figure.with_at("resistance", resistance, Some(given.at));
        }
        match below.value {
            Below::Ground => {
                if let Some(ground) = ground_resistance(floor, figure.value)? {
                    figure.value += ground;
                    figure = figure.with(GROUND, ground);
                } else {
                    figure = figure
                        .assuming("the ground itself does not count: its slab's area and perimeter are not given");
                }
            }
            Below::OutdoorAir => figure.value += ThermalResistance::square_metre_kelvin_per_watt(0.04),
            _ => figure.value += ThermalResistance::square_metre_kelvin_per_watt(0.17),
        }
        Ok(figure.assuming_all(&lift.assumptions))
    }
}

impl FloorWorkings {
    /// What lies under the last layer, as the resistance below the pipe counts it.
    fn under(&self, floor: &Floor, subject: Subject) -> Result<ThermalResistance, Gap> {
        let below =
            floor.below.ok_or_else(|| if floor.broken { Gap::Unreadable } else { Gap::missing(subject, "below") })?;
        let resistance = ThermalResistance::square_metre_kelvin_per_watt;
        Ok(match below.value {
            Below::Ground => {
                let all = self.resistance_below.as_ref().map_err(Gap::clone)?;
                let ground = all.inputs.iter().find(|input| input.name == GROUND);
                ground.map_or(ThermalResistance::ZERO, |input| resistance(input.value))
            }
            Below::OutdoorAir => resistance(0.04),
            _ => resistance(0.17),
        })
    }
}

/// The input that stands for the ground in what a floor resists below its pipe.
const GROUND: &str = "ground";

/// The resistance of a layer with joists in it: strips of wood and of its own stuff side by side.
fn bridged(layer: &Layer, own: ThermalResistance, thickness: Length) -> ThermalResistance {
    let over = crate::heat::joist_share(layer);
    let wood = ThermalResistance::of(thickness, crate::heat::JOISTS);
    if over <= 0.0 || wood <= ThermalResistance::ZERO || own <= ThermalResistance::ZERO {
        return own;
    }
    side_by_side(over, wood, own)
}

fn side_by_side(share: f64, one: ThermalResistance, other: ThermalResistance) -> ThermalResistance {
    let [one, other] = [one, other].map(|it| it.in_square_metre_kelvin_per_watt());
    ThermalResistance::square_metre_kelvin_per_watt(1.0 / (share / one + (1.0 - share) / other))
}

/// The resistance of all layers between films. With joists the mean of the upper limit, whole strips side by side, and of
/// the lower, each layer's strips by themselves: EN ISO 6946.
fn of_all_layers(
    floor: &Floor,
    layers: &[LayerWorkings],
    films: ThermalResistance,
) -> Result<(ThermalResistance, f64), Gap> {
    let over = floor.layers.iter().map(|layer| crate::heat::joist_share(layer)).fold(0.0, f64::max);
    let (mut between, mut across, mut lower) =
        (ThermalResistance::ZERO, ThermalResistance::ZERO, ThermalResistance::ZERO);
    for (given, layer) in floor.layers.iter().zip(layers) {
        let own = layer.resistance.value()?;
        let thickness = given.thickness.map_or(Length::ZERO, |it| it.value);
        between += own;
        across += if crate::heat::joist_share(given) > 0.0 {
            ThermalResistance::of(thickness, crate::heat::JOISTS)
        } else {
            own
        };
        lower += bridged(given, own, thickness);
    }
    if over <= 0.0 {
        return Ok((between, over));
    }
    let upper = side_by_side(over, across + films, between + films) - films;
    Ok(((upper + lower) / 2.0, over))
}

/// Heat through the whole floor for each kelvin between inside and outside, averaged over the year.
fn u_value(floor: &Floor, layers: &[LayerWorkings], at: usize, more: ThermalResistance) -> Worked<Transmittance> {
    let missing = |key| if floor.broken { Gap::Unreadable } else { Gap::missing(Subject::Floor(at), key) };
    let below = floor.below.ok_or_else(|| missing("below"))?.value;
    let films = ThermalResistance::square_metre_kelvin_per_watt(0.17 + 0.04);
    let (of_layers, over) = of_all_layers(floor, layers, films)?;
    let of_layers = of_layers + more;
    let told =
        |figure: Figure<Transmittance>| if over > 0.0 { figure.with_number("joist-share", over) } else { figure };
    match below {
        Below::Ground => {
            let slab = floor.slab.as_ref().ok_or_else(|| missing("slab/area"))?;
            let area = slab.area.ok_or_else(|| missing("slab/area"))?;
            let perimeter = slab.perimeter.ok_or_else(|| missing("slab/perimeter"))?;
            let loss = ground_slab(slab, area.value, perimeter.value, of_layers).loss()?;
            let figure =
                Figure::new(loss.u, "U of a slab on the ground from its area, edge and layers", "EN ISO 13370");
            Ok(told(figure.with_given("area", &area).with_given("perimeter", &perimeter).with("layers", of_layers)))
        }
        Below::OutdoorAir => {
            let whole = of_layers.in_square_metre_kelvin_per_watt() + 0.17 + 0.04;
            let u = Transmittance::watts_per_square_metre_kelvin(1.0 / whole);
            Ok(told(Figure::new(u, "1 / (0.17 + layers + 0.04)", "EN ISO 6946").with("layers", of_layers)))
        }
        _ => Err(Gap::NoMethod("the U-value of a floor over a room is not worked out".into())),
    }
}

/// The heat through a floor if its layers resisted so much more.
pub fn u_value_if(
    design: &Design,
    workings: &Workings,
    at: usize,
    more: ThermalResistance,
) -> Result<Transmittance, Gap> {
    let (_, floor) = design.floors.at(at).ok_or(Gap::Unreadable)?;
    u_value(&floor.value, &workings.floors.get(at).ok_or(Gap::Unreadable)?.layers, at, more).value()
}

/// The slab of a floor as EN ISO 13370 sees it.
fn ground_slab(slab: &design::Slab, area: Area, perimeter: Length, layers: ThermalResistance) -> ground::GroundSlab {
    ground::GroundSlab {
        area,
        exposed_perimeter: perimeter,
        wall: slab.wall_thickness.map_or(Length::metres(0.3), |it| it.value),
        ground: slab.ground_conductivity.map_or(Conductivity::watts_per_metre_kelvin(2.0), |it| it.value),
        floor: layers,
    }
}

/// What the ground adds, where the slab's area and perimeter are given (EN ISO 13370).
fn ground_resistance(floor: &Floor, layers: ThermalResistance) -> Result<Option<ThermalResistance>, Gap> {
    let Some(slab) = &floor.slab else { return Ok(None) };
    let (Some(area), Some(perimeter)) = (slab.area, slab.perimeter) else { return Ok(None) };
    Ok(Some(ground_slab(slab, area.value, perimeter.value, layers).loss()?.of_ground))
}

impl FloorWorkings {
    /// The variant that a room has.
    pub fn variant_of(&self, room: usize) -> Option<usize> {
        self.variants.iter().position(|variant| variant.rooms.contains(&room))
    }

    /// The name of one of its figures of a variant: `floors.screeded.warm-up-time`, and the covering where there are several.
    pub fn figure_name(&self, floor: &str, figure: &str, variant: usize) -> String {
        match self.variants.get(variant).and_then(|variant| variant.covering.as_ref()) {
            Some(covering) => format!("floors.{floor}.{figure}.{covering}"),
            None => format!("floors.{floor}.{figure}"),
        }
    }
}

/// Tells each floor its variants.
pub(crate) fn variants(design: &Design, workings: &mut Workings) {
    let all: Vec<_> = workings.floors.iter().map(|floor| variants_of(design, workings, floor)).collect();
    for (floor, variants) in workings.floors.iter_mut().zip(all) {
        floor.variants = variants;
    }
}

fn variants_of(design: &Design, workings: &Workings, floor: &FloorWorkings) -> Vec<FloorVariant> {
    // By all that tells one covering from another, so that the order of rooms and loops changes nothing.
    let mut coverings: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for room in floor.rooms.iter().filter(|room| !workings.rooms[**room].loops.is_empty()) {
        let covering = design.rooms.at(*room).map_or(&[][..], |(_, room)| &room.value.covering);
        coverings.entry(all_of(covering)).or_default().push(*room);
    }
    if coverings.is_empty() {
        let none = Gap::NoMethod("no loop is laid in this floor".into());
        let (example, pace) = (None, OnceLock::new());
        return vec![FloorVariant { covering: None, rooms: Vec::new(), example, characteristic: Err(none), pace }];
    }
    let several = coverings.len() > 1;
    let mut names: BTreeMap<String, usize> = BTreeMap::new();
    let mut variant = |rooms: Vec<usize>| {
        let layers = design.rooms.at(rooms[0]).map_or(&[][..], |(_, room)| &room.value.covering);
        let mut name = in_words(layers);
        let times = names.entry(name.clone()).or_default();
        *times += 1;
        if *times > 1 {
            name += &format!("-{times}");
        }
        let example = closest(design, workings, &rooms);
        let characteristic = example.map_or(Err(Gap::Unreadable), |(room, at)| {
            let worked = &workings.loops[at];
            match worked.rooms.first() == Some(&room) {
                true => worked.characteristic.clone(),
                false => crate::loops::in_room(design, workings, at, room, crate::heat::characteristic),
            }
        });
        FloorVariant { covering: several.then_some(name), rooms, example, characteristic, pace: OnceLock::new() }
    };
    coverings.into_values().map(&mut variant).collect()
}

/// The loop with the closest spacing and the thinnest pipe, by its name where they are alike, and its room.
fn closest(design: &Design, workings: &Workings, rooms: &[usize]) -> Option<(usize, usize)> {
    let of_room = |room: &usize| workings.rooms[*room].loops.iter().map(|at| (*room, *at)).collect::<Vec<_>>();
    let order = |(room, at): &(usize, usize)| {
        let (name, spacing) = design.loops.at(*at).map_or(("", None), |(name, it)| (name, it.value.spacing));
        let outside = workings.loops[*at].pipe.as_ref().ok().map(|pipe| pipe.outside.in_metres());
        let by = |length: Option<f64>| length.unwrap_or(f64::INFINITY).to_bits();
        let room = design.rooms.at(*room).map_or("", |(name, _)| name);
        (by(spacing.map(|it| it.value.in_metres())), by(outside), name, room)
    };
    rooms.iter().flat_map(of_room).min_by_key(order)
}

/// All of a covering that counts for its heat, so that equal ones are one.
fn all_of(covering: &[Placed<Layer>]) -> String {
    let of = |layer: &Placed<Layer>| {
        let name = layer.material.as_ref().map_or("", |it| it.value.as_str());
        let name = materials::find(name).map_or(name, |material| material.name);
        let numbers = [
            layer.thickness.map(|it| it.value.si()),
            layer.conductivity.map(|it| it.value.si()),
            layer.resistance.map(|it| it.value.si()),
            layer.density.map(|it| it.value.si()),
            layer.specific_heat.map(|it| it.value.si()),
        ];
        format!("{name} {numbers:?};")
    };
    covering.iter().map(of).collect()
}

/// A covering in plain words, without spaces: `oak-14-mm`, from the surface down.
fn in_words(covering: &[Placed<Layer>]) -> String {
    if covering.is_empty() {
        return "own-layers".into();
    }
    let of = |layer: &Placed<Layer>| {
        let name = layer.material.as_ref().map_or("a layer", |it| it.value.as_str());
        let name = materials::find(name).map_or(name, |material| material.name);
        match layer.thickness {
            Some(thickness) => format!("{name} {}", thickness.value),
            None => name.to_string(),
        }
    };
    let words = covering.iter().map(of).collect::<Vec<_>>().join(" on ").to_lowercase();
    words
        .split(|c: char| !c.is_alphanumeric() && c != '.')
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("-")
}
