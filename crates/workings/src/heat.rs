//! The heat of a floor, by the method that holds for its construction.

use crate::floors::{FloorWorkings, LayerWorkings};
use crate::loops::PipeWorkings;
use crate::{Figure, Gap, Subject, Worked};
use design::{Floor, Layer, Method, Placed};
use engineering::heat::conduction::{self, Conduction, Course, GroovedBoard, Influence, Pace, Plate, Section, Storage};
use engineering::heat::en1264::{EmbeddedPipe, PlateFloor, Studs, WetFloor};
use engineering::heat::loop_balance::HeatedFloor;
use engineering::heat::series::MassiveFloor;
use engineering::heat::{FloorResponse, materials, water_film};
use quantity::*;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// How a floor answers to warm water at a pitch: the figure, and the same as a linear response.
pub(crate) struct Heat {
    pub characteristic: Figure<Transmittance>,
    pub response: FloorResponse,
    /// The mean and the hottest point of the surface, where conduction gave them.
    pub surface: Option<[Influence; 2]>,
}

/// What a loop is laid in.
pub(crate) struct Laid<'w> {
    pub floor: &'w Floor,
    pub worked: &'w FloorWorkings,
    pub subject: Subject,
    /// The room's own covering, on top of the floor's layers.
    pub room_covering: (&'w [Placed<Layer>], &'w [LayerWorkings]),
    /// R of all layers above the pipe's, the room's own covering included.
    pub covering: &'w Worked<ThermalResistance>,
    /// R_o with the room's own covering.
    pub above: &'w Worked<ThermalResistance>,
}

/// Constructions that were solved by conduction, so that equal ones are solved once, whatever their names: by all loops of a design,
/// by rules that ask what another spacing would give, and by the workings after a change.
#[derive(Debug, Clone, Default)]
pub(crate) struct Solved(Arc<Mutex<HashMap<String, Result<Conduction, Gap>>>>);

impl Solved {
    /// More constructions than any design has.
    const MOST: usize = 500;

    fn conduction(&self, section: &Section) -> Result<Conduction, Gap> {
        // The print of a section has every number of it, exactly.
        let construction = format!("{section:?}");
        // Whoever panicked left nothing half done here.
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known().get(&construction) {
            return known.clone();
        }
        let fresh = section.conduction().map_err(Gap::from);
        let mut known = known();
        if known.len() >= Solved::MOST {
            known.clear();
        }
        known.insert(construction, fresh.clone());
        fresh
    }
}

/// The heat of a floor by the method that holds for it.
pub(crate) fn heat(laid: &Laid, pipe: &PipeWorkings, pitch: Length, solved: &Solved) -> Result<Heat, Gap> {
    let Some(method) = laid.floor.method else {
        return Err(if laid.floor.broken { Gap::Unreadable } else { Gap::missing(laid.subject, "method") });
    };
    if let Some(tested) = &laid.floor.tested_output {
        let figure = Figure::new(tested.value, "as tested", "the maker's test").with_given("tested-output", tested);
        return laid.with_losses(figure);
    }
    match method.value {
        Method::ClippedInScreed | Method::CastellatedTray => match in_screed(laid, pipe, pitch) {
            // Outside its range the standard says nothing; conduction has no such range.
            Err(Gap::NoMethod(reason)) => by_conduction(laid, pipe, pitch, solved)
                .map_err(|_| Gap::NoMethod(reason))
                .map(|heat| heat.assuming("outside the range of EN 1264-2's tables")),
            figure => laid.with_losses(figure?),
        },
        Method::ElectricMat => Err(Gap::NoMethod("an electric mat carries no water".into())),
        Method::BondedBoard | Method::FloatingBoard | Method::SpreaderPlates | Method::EmbeddedInSlab => {
            by_conduction(laid, pipe, pitch, solved)
        }
    }
}

impl Heat {
    fn assuming(mut self, what: &'static str) -> Heat {
        self.characteristic = self.characteristic.assuming(what);
        self
    }
}

impl Laid<'_> {
    /// What of the floor's width joists take, from the layer that holds the pipe downward.
    fn joist_share(&self) -> f64 {
        let pipe_layer = self.worked.pipe_layer.clone().unwrap_or(0);
        self.floor.layers.iter().skip(pipe_layer).map(|layer| joist_share(layer)).fold(0.0, f64::max)
    }

    /// What the file does not say of grooves, plates and joists and is taken to be so.
    fn assumed(&self, pitch: Length) -> Vec<&'static str> {
        let mut assumed = Vec::new();
        let Some(method) = self.floor.method.map(|it| it.value) else { return assumed };
        if self.grooves_filled().is_none() {
            match method {
                Method::BondedBoard => assumed.push(
                    "grooves-filled is not given: the grooves beside the pipe are taken as filled with adhesive of 0.9 W/(m·K)",
                ),
                Method::FloatingBoard | Method::SpreaderPlates => {
                    assumed.push("grooves-filled is not given: air is taken to stand in the grooves beside the pipe");
                }
                _ => {}
            }
        }
        if self.floor.plates.is_some() {
            assumed.push("plates are taken to follow the groove and to lie close about the lower half of the pipe");
        }
        if self.floor.plates.as_ref().and_then(|plates| plates.width).is_some_and(|width| width.value > pitch) {
            assumed.push("plates wider than the spacing count as wide as that");
        }
        if self.joist_share() > 0.0 {
            assumed.push("joists count as strips of floor over softwood of 0.13 W/(m·K), by their share of the width");
        }
        if method == Method::SpreaderPlates && self.joist_share() <= 0.0 {
            assumed.push("joist-share is not given: the joists between the insulation are left out");
        }
        assumed
    }

    fn grooves_filled(&self) -> Option<bool> {
        let pipe_layer = self.worked.pipe_layer.clone().ok()?;
        self.floor.layers.get(pipe_layer)?.grooves_filled.map(|it| it.value)
    }

    /// A characteristic with the downward loss by the resistances above and below the pipe.
    fn with_losses(&self, characteristic: Figure<Transmittance>) -> Result<Heat, Gap> {
        let above = self.above.as_ref().map_err(Gap::clone)?;
        let below = self.worked.resistance_below.as_ref().map_err(Gap::clone)?;
        Ok(Heat { response: response(characteristic.value, above.value, below.value)?, characteristic, surface: None })
    }
}

/// What of a layer's width joists or battens take.
pub(crate) fn joist_share(layer: &Layer) -> f64 {
    layer.joist_share.map_or(0.0, |share| share.value.in_fraction().clamp(0.0, 1.0))
}

/// Softwood, EN ISO 10456.
pub(crate) const JOISTS: Conductivity = Conductivity::watts_per_metre_kelvin(0.13);

/// Upward by the characteristic, downward by the resistances above and below the pipe.
fn response(up: Transmittance, above: ThermalResistance, below: ThermalResistance) -> Result<FloorResponse, Gap> {
    let per_kelvin = |resistance: ThermalResistance| 1.0 / resistance.in_square_metre_kelvin_per_watt();
    if below.in_square_metre_kelvin_per_watt() < 0.05 {
        return Err(Gap::NoMethod("next to nothing lies below the pipe; EN 1264-2 holds from 0.05 m²·K/W".into()));
    }
    let down = up * (above / below);
    Ok(FloorResponse {
        up,
        down,
        up_across: Transmittance::ZERO,
        down_across: Transmittance::watts_per_square_metre_kelvin(per_kelvin(below)) - down,
    })
}

/// Pipe in screed, EN 1264-2 types A and C.
fn wet(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<WetFloor, Gap> {
    let layer = laid.worked.pipe_layer.clone()?;
    let cover = laid.worked.cover.as_ref().map_err(Gap::clone)?;
    let covering = laid.covering.as_ref().map_err(Gap::clone)?;
    let screed = laid.worked.layers[layer].conductivity;
    let screed = screed.ok_or(Gap::missing(laid.subject, "layers/…/conductivity"))?;
    let stud_share = laid.floor.tray.as_ref().and_then(|tray| tray.stud_share).or(laid.floor.layers[layer].stud_share);
    Ok(WetFloor {
        pitch,
        pipe: embedded(pipe),
        // The cover is that over the thickest pipe of the floor; a thinner pipe at the same level has more.
        cover: cover.value + laid.worked.pipe_outside.clone()? - pipe.outside,
        screed,
        covering: covering.value,
        // Foam or plastic studs: 0.035 W/(m·K).
        studs: stud_share
            .map(|share| Studs { share: share.value, conductivity: Conductivity::watts_per_metre_kelvin(0.035) }),
    })
}

/// The most that a floor gives without a point of its surface being so much over the room, and the mean water at which it
/// gives that.
pub(crate) struct Most {
    pub heat_flux: Figure<HeatFlux>,
    pub water: Temperature,
}

pub(crate) fn most(
    laid: &Laid,
    pipe: &PipeWorkings,
    pitch: Length,
    over: TemperatureDifference,
    conduction: Option<[Influence; 2]>,
    floor: &HeatedFloor,
) -> Result<Most, Gap> {
    if let Some(surface) = conduction {
        let water = conduction::water_at_hottest(&floor.response, surface, floor.room, floor.below, over)?;
        let [mean, highest] = surface.map(|it| it.temperature(water, floor.room, floor.below));
        let flux = Figure::new(
            floor.response.upward(water, floor.room, floor.below),
            "heat flux at which (heat flux / 8.92)^(1 / 1.1) + ripple of the surface is over-room",
            "EN 1264-2, basic characteristic; steady conduction in two dimensions, ISO 11855-2 general method",
        )
        .with("over-room", over)
        .with("ripple then", highest - mean)
        .with("mean water then", water)
        .with("characteristic", floor.response.up);
        return Ok(Most { heat_flux: flux, water });
    }
    if laid.floor.tested_output.is_some() {
        return Err(Gap::NoMethod("the hottest point of a floor whose output was tested is not worked out".into()));
    }
    let limit = wet(laid, pipe, pitch)?.limit(over)?;
    let flux = Figure::new(
        limit.heat_flux,
        "φ x B_G x (Δθ / φ)^n_G where that is characteristic x Δθ, at most φ x 100 W/m²; φ = (over-room / 9 K)^1.1",
        "EN 1264-2, limit curve; tables as public copies give them",
    )
    .with("over-room", over)
    .with_number("φ", limit.phi)
    .with_number("B_G", limit.b_g)
    .with_number("n_G", limit.n_g)
    .with("characteristic", floor.response.up)
    .with("Δθ then", limit.mean_excess);
    Ok(Most { heat_flux: flux, water: floor.room + limit.mean_excess })
}

fn in_screed(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<Figure<Transmittance>, Gap> {
    let wet = wet(laid, pipe, pitch)?;
    let found = wet.characteristic()?;
    let figure = Figure::new(
        found.k_h,
        "B x a_B x a_T^m_T x a_U^m_U x a_D^m_D",
        "EN 1264-2, types A and C; tables as public copies give them",
    );
    let figure = figure
        .with("spacing", pitch)
        .with("outside diameter", pipe.outside)
        .with("wall", pipe.wall)
        .with("pipe conductivity", pipe.conductivity)
        .with("cover", wet.cover)
        .with("screed conductivity", found.screed)
        .with("covering", wet.covering)
        .with_number("B", found.b)
        .with_number("a_B", found.a_b)
        .with_number("a_T", found.a_t)
        .with_number("m_T", found.m_t)
        .with_number("a_U", found.a_u)
        .with_number("m_U", found.m_u)
        .with_number("a_D", found.a_d)
        .with_number("m_D", found.m_d);
    Ok(figure.assuming_all(&pipe.assumptions))
}

/// By steady conduction in two dimensions through the section from the middle of a pipe to the middle between two.
fn by_conduction(laid: &Laid, pipe: &PipeWorkings, pitch: Length, solved: &Solved) -> Result<Heat, Gap> {
    let conduction = solved.conduction(&Cut::new(laid, pipe, pitch, Strip::BesideJoists)?.section())?;
    let share = laid.joist_share();
    let conduction = match share > 0.0 {
        true => both_strips(
            share,
            conduction,
            solved.conduction(&Cut::new(laid, pipe, pitch, Strip::OverJoists)?.section())?,
        ),
        false => conduction,
    };
    let figure = Figure::new(
        conduction.response.up,
        "heat upward for each kelvin of the water over the room, from the temperatures in the section",
        "steady conduction in two dimensions, ISO 11855-2 general method",
    )
    .with("spacing", pitch)
    .with("outside diameter", pipe.outside)
    .with("wall", pipe.wall)
    .with("pipe conductivity", pipe.conductivity)
    .with("taken out for the mesh", conduction.mesh_error);
    let figure = if share > 0.0 { figure.with_number("joist-share", share) } else { figure };
    let figure = figure.assuming(
        "a surface film of 10.8 W/(m²·K), as the factors of EN 1264-2 have it; by its basic characteristic some 3 % less at 30 W/m², 1 % more at 100",
    );
    Ok(Heat {
        characteristic: figure.assuming_all(&laid.assumed(pitch)).assuming_all(&pipe.assumptions),
        surface: Some([conduction.surface_mean, conduction.surface_highest]),
        response: conduction.response,
    })
}

/// A strip of floor over a joist, or one that lies between joists.
#[derive(Clone, Copy, PartialEq)]
enum Strip {
    BesideJoists,
    OverJoists,
}

/// Strips over joists and between them, each counted by its width; the hottest point lies where it is hotter.
fn both_strips(over: f64, between_joists: Conduction, over_joists: Conduction) -> Conduction {
    let mean = |of: fn(&FloorResponse) -> Transmittance| {
        of(&between_joists.response) * (1.0 - over) + of(&over_joists.response) * over
    };
    let response = FloorResponse {
        up: mean(|it| it.up),
        down: mean(|it| it.down),
        up_across: mean(|it| it.up_across),
        down_across: mean(|it| it.down_across),
    };
    let share = |one: f64, other: f64| one * (1.0 - over) + other * over;
    let (one, other) = (between_joists.surface_mean, over_joists.surface_mean);
    let surface_mean = Influence { water: share(one.water, other.water), below: share(one.below, other.below) };
    let hottest = [between_joists.surface_highest, over_joists.surface_highest];
    let surface_highest = hottest.into_iter().max_by(|one, other| one.water.total_cmp(&other.water));
    Conduction {
        response,
        surface_mean,
        surface_highest: surface_highest.unwrap_or(surface_mean),
        mesh_error: between_joists.mesh_error.max(over_joists.mesh_error),
        ..between_joists
    }
}

/// A floor cut through from the middle of a pipe to the middle between two.
struct Cut {
    layers: Vec<conduction::Layer>,
    /// Of each layer, its number among those of the floor; none of a room's own covering.
    numbers: Vec<Option<usize>>,
    pitch: Length,
    pipe: EmbeddedPipe,
    axis_depth: Length,
    board: Option<GroovedBoard>,
    below: ThermalResistance,
}

impl Cut {
    fn new(laid: &Laid, pipe: &PipeWorkings, pitch: Length, strip: Strip) -> Result<Cut, Gap> {
        let pipe_layer = laid.worked.pipe_layer.clone()?;
        let lift = laid.worked.pipe_lift.as_ref().map_err(Gap::clone)?.value;
        let own = laid.floor.layers.iter().zip(&laid.worked.layers);
        let above = laid.room_covering.0.iter().zip(laid.room_covering.1);
        let (mut layers, mut numbers) = (Vec::new(), Vec::new());
        let (mut depth, mut pipe_layer_top) = (Length::ZERO, Length::ZERO);
        let mut axis_depth = None;
        for (at, (given, worked)) in above.chain(own).enumerate() {
            let resistance = worked.resistance.as_ref().map_err(Gap::clone)?.value;
            let thickness = given.thickness.map_or(Length::ZERO, |it| it.value);
            let of_floor = at.checked_sub(laid.room_covering.0.len());
            if of_floor == Some(pipe_layer) {
                pipe_layer_top = depth;
                axis_depth = Some(depth + thickness - lift - pipe.outside / 2.0);
            } else if resistance <= ThermalResistance::ZERO {
                // A membrane; it holds nothing back.
                continue;
            }
            // Where only a resistance is stated any thickness will do: 10 mm.
            let thickness = if thickness > Length::ZERO { thickness } else { Length::millimetres(10.0) };
            let conductivity = match strip == Strip::OverJoists && joist_share(given) > 0.0 {
                true => JOISTS,
                false => thickness_over(thickness, resistance),
            };
            layers.push(conduction::Layer { thickness, conductivity });
            numbers.push(of_floor);
            depth += thickness;
        }
        let grooved = matches!(
            laid.floor.method.map(|it| it.value),
            Some(Method::BondedBoard | Method::FloatingBoard | Method::SpreaderPlates)
        );
        Ok(Cut {
            layers,
            numbers,
            pitch,
            pipe: embedded(pipe),
            axis_depth: axis_depth.ok_or(Gap::Unreadable)?,
            board: if grooved { Some(board(laid, pipe, pitch, pipe_layer_top)?) } else { None },
            below: laid.worked.resistance_under.clone()?.max(ThermalResistance::square_metre_kelvin_per_watt(0.001)),
        })
    }

    fn section(&self) -> Section<'_> {
        Section {
            layers: &self.layers,
            pitch: self.pitch,
            pipe: self.pipe,
            axis_depth: self.axis_depth,
            board: self.board,
            water_film: Some(water_film::TURBULENT),
            below: self.below,
        }
    }
}

fn embedded(pipe: &PipeWorkings) -> EmbeddedPipe {
    EmbeddedPipe { outside: pipe.outside, wall: pipe.wall, conductivity: pipe.conductivity, sheath: None }
}

/// What a floor gives for each kelvin.
pub(crate) fn characteristic(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Worked<Transmittance> {
    heat(laid, pipe, pitch, &Solved::default()).map(|heat| heat.characteristic)
}

/// What a floor gives for each kelvin by the tables of the standard and by conduction, for whoever would compare them.
#[derive(Debug, Clone)]
pub struct BothMethods {
    pub standard: Worked<Transmittance>,
    pub conduction: Worked<Transmittance>,
    /// How much more the standard gives.
    pub difference: Worked<Share>,
}

/// Both methods for a floor at a pitch, each where it holds.
pub(crate) fn both(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> BothMethods {
    let standard = match laid.floor.method.map(|it| it.value) {
        None => Err(if laid.floor.broken { Gap::Unreadable } else { Gap::missing(laid.subject, "method") }),
        Some(Method::ClippedInScreed | Method::CastellatedTray) => in_screed(laid, pipe, pitch),
        Some(Method::FloatingBoard | Method::SpreaderPlates) if laid.floor.plates.is_some() => {
            over_plates(laid, pipe, pitch)
        }
        Some(Method::BondedBoard | Method::FloatingBoard | Method::SpreaderPlates) => {
            Err(Gap::NoMethod("EN 1264-2 has no table for grooved boards without plates".into()))
        }
        Some(Method::EmbeddedInSlab) => Err(Gap::NoMethod("EN 1264-2 has no table for pipe in a slab".into())),
        Some(Method::ElectricMat) => Err(Gap::NoMethod("an electric mat carries no water".into())),
    };
    let conduction = match laid.floor.method.map(|it| it.value) {
        Some(Method::ElectricMat) => Err(Gap::NoMethod("an electric mat carries no water".into())),
        _ => by_conduction(laid, pipe, pitch, &Solved::default()).map(|heat| heat.characteristic),
    };
    let difference = match (&standard, &conduction) {
        (Ok(standard), Ok(conduction)) => {
            let share = Share::fraction(standard.value / conduction.value - 1.0);
            Ok(Figure::new(share, "characteristic-by-standard / characteristic-by-conduction - 1", "plain arithmetic")
                .with("characteristic-by-standard", standard.value)
                .with("characteristic-by-conduction", conduction.value))
        }
        (Err(gap), _) | (_, Err(gap)) => Err(gap.clone()),
    };
    BothMethods { standard, conduction, difference }
}

/// Plates under a load layer, EN 1264-2 type B; some of its tables are from memory.
fn over_plates(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<Figure<Transmittance>, Gap> {
    let board = board(laid, pipe, pitch, Length::ZERO)?;
    let plate = board.plate.ok_or(Gap::missing(laid.subject, "plates"))?;
    let layer = laid.worked.pipe_layer.clone()?.checked_sub(1);
    let layer = layer.ok_or(Gap::NoMethod("EN 1264-2 type B wants a load layer over the plates".into()))?;
    let missing = |key| Gap::missing(laid.subject, key);
    let cover = laid.floor.layers[layer].thickness.ok_or(missing("layers/…/thickness"))?.value;
    let of_cover = laid.worked.layers[layer].conductivity.ok_or(missing("layers/…/conductivity"))?;
    let all = laid.covering.as_ref().map_err(Gap::clone)?.value;
    let found = PlateFloor {
        pitch,
        pipe_outside: pipe.outside,
        plate_thickness: plate.thickness,
        plate_conductivity: plate.conductivity,
        plate_width: plate.width,
        cover,
        cover_conductivity: of_cover,
        covering: (all - ThermalResistance::of(cover, of_cover)).max(ThermalResistance::ZERO),
    }
    .characteristic()?;
    let figure = Figure::new(found.k_h, "6.5 x a_B x a_T^m_T x a_U x a_WL x a_K", "EN 1264-2, type B");
    Ok(figure
        .with("spacing", pitch)
        .with("cover", cover)
        .with("cover conductivity", of_cover)
        .with("plate width", plate.width)
        .with_number("a_B", found.a_b)
        .with_number("a_T", found.a_t)
        .with_number("m_T", found.m_t)
        .with_number("a_U", found.a_u)
        .with_number("a_WL", found.a_wl)
        .with_number("a_K", found.a_k)
        .assuming("a_K of type B, and a_WL of very conductive plates, are from memory: no basis for a pass or a fail"))
}

/// How fast a floor follows its water.
pub(crate) fn pace(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<(Pace, Vec<&'static str>), Gap> {
    let cut = Cut::new(laid, pipe, pitch, Strip::BesideJoists)?;
    let mut assumed = Vec::new();
    if laid.joist_share() > 0.0 {
        assumed.push("of the strips between joists, which are most of the floor");
    }
    let of_room = laid.room_covering.0.iter().zip(laid.room_covering.1);
    // What holds nothing back is no layer of the section.
    let mut of_room =
        of_room.filter(|(_, worked)| worked.resistance.as_ref().is_ok_and(|it| it.value > ThermalResistance::ZERO));
    let storage = cut.numbers.iter().map(|number| {
        let (given, worked) = match number {
            Some(at) => (&laid.floor.layers[*at], &laid.worked.layers[*at]),
            None => of_room.next().ok_or(Gap::Unreadable)?,
        };
        let density = given.density.map(|it| it.value).or(worked.material.and_then(|it| it.density));
        let heat = given.specific_heat.map(|it| it.value).or(worked.material.and_then(|it| it.specific_heat));
        let mut taken = |what| {
            if !assumed.contains(&what) {
                assumed.push(what);
            }
        };
        let density = match density {
            Some(density) => density,
            None if worked.insulates() || worked.material.is_some() => {
                taken("what insulates is taken to weigh 30 kg/m³");
                Density::kilograms_per_cubic_metre(30.0)
            }
            None => return Err(Gap::missing(laid.subject, "layers/…/density")),
        };
        let specific_heat = heat.unwrap_or_else(|| {
            taken("a layer whose specific heat is not given is taken at 1000 J/(kg·K)");
            SpecificHeat::joules_per_kilogram_kelvin(1000.0)
        });
        Ok(Storage { density, specific_heat })
    });
    let storage = storage.collect::<Result<Vec<_>, Gap>>()?;
    let metal = laid.floor.plates.as_ref().map(|plates| plates.material.as_ref().map_or("aluminium", |it| &it.value));
    let metal = metal
        .and_then(materials::find)
        .and_then(|metal| Some(Storage { density: metal.density?, specific_heat: metal.specific_heat? }));
    Ok((cut.section().pace(&storage, metal)?, assumed))
}

/// The temperature at the underside of a layer of the floor, where the water makes it hottest.
pub(crate) fn under_layer(laid: &Laid, pipe: &PipeWorkings, pitch: Length, layer: usize) -> Result<Influence, Gap> {
    let cut = Cut::new(laid, pipe, pitch, Strip::BesideJoists)?;
    let at = cut.numbers.iter().position(|number| *number == Some(layer));
    let at = at.ok_or(Gap::NoMethod("the layer is a membrane, or no layer of the floor".into()))?;
    let found = cut.section().conduction()?;
    found.below_layers.get(at).copied().ok_or(Gap::Unreadable)
}

/// The conductivity at which a thickness has a resistance; next to none is as good as a metal.
fn thickness_over(thickness: Length, resistance: ThermalResistance) -> Conductivity {
    let conductivity = thickness.in_metres() / resistance.in_square_metre_kelvin_per_watt();
    Conductivity::watts_per_metre_kelvin(conductivity.clamp(0.011, 400.0))
}

/// The grooves of a board with their plates, as the floor describes them.
fn board(laid: &Laid, pipe: &PipeWorkings, pitch: Length, top_depth: Length) -> Result<GroovedBoard, Gap> {
    // A bonded board's grooves are filled with adhesive or compound; in a dry board air stands beside the pipe.
    let bonded = laid.floor.method.is_some_and(|it| it.value == Method::BondedBoard);
    let filled = laid.grooves_filled().unwrap_or(bonded);
    let plate = match &laid.floor.plates {
        None => None,
        Some(plates) => {
            let missing = |key| if plates.broken { Gap::Unreadable } else { Gap::missing(laid.subject, key) };
            let metal = plates.material.as_ref().map_or("aluminium", |it| &it.value);
            let standard = materials::find(metal).and_then(|material| material.conductivity);
            let conductivity = plates.conductivity.map(|it| it.value).or(standard);
            let coverage = plates.coverage.map_or(1.0, |it| it.value.in_fraction().clamp(0.0, 1.0));
            let thickness = plates.thickness.ok_or_else(|| missing("plates/thickness"))?.value;
            let width = plates.width.ok_or_else(|| missing("plates/width"))?.value;
            Some(Plate {
                // Gaps along the pipe thin the plate out.
                thickness: thickness * coverage,
                conductivity: conductivity.ok_or_else(|| missing("plates/conductivity"))?,
                width: width.min(pitch).max(pipe.outside),
                course: Course::InGroove,
            })
        }
    };
    Ok(GroovedBoard {
        top_depth,
        groove_width: pipe.outside,
        filler: Conductivity::watts_per_metre_kelvin(if filled { 0.9 } else { 0.03 }),
        plate,
    })
}

/// The response of pipe in screed at a pitch, within the range of EN 1264-2.
pub(crate) fn in_screed_at(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<FloorResponse, Gap> {
    match laid.floor.method.map(|it| it.value) {
        Some(Method::ClippedInScreed | Method::CastellatedTray) if laid.floor.tested_output.is_none() => {
            Ok(laid.with_losses(in_screed(laid, pipe, pitch)?)?.response)
        }
        _ => Err(Gap::NoMethod("only pipe in screed can be laid at any spacing".into())),
    }
}

/// The response of a floor at another pitch than its loop's; none of a floor that was tested at its own.
pub(crate) fn at_pitch(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<FloorResponse, Gap> {
    if laid.floor.tested_output.is_some() {
        return Err(Gap::NoMethod("the floor was tested at one spacing only".into()));
    }
    Ok(heat(laid, pipe, pitch, &Solved::default())?.response)
}

/// How much hotter than its mean the surface is above a pipe, for each W/m² that the water gives.
pub(crate) fn ripple(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<ThermalResistance, Gap> {
    let massive = [Method::ClippedInScreed, Method::CastellatedTray, Method::EmbeddedInSlab];
    if !laid.floor.method.is_some_and(|it| massive.contains(&it.value)) {
        return Err(Gap::NoMethod("the stripes of a floor whose output was tested are not worked out".into()));
    }
    let layer = laid.worked.pipe_layer.clone()?;
    let conductivity = laid.worked.layers[layer].conductivity;
    let conductivity = conductivity.ok_or(Gap::missing(laid.subject, "layers/…/conductivity"))?;
    let lift = laid.worked.pipe_lift.as_ref().map_err(Gap::clone)?.value;
    let cover = laid.worked.cover.as_ref().map_err(Gap::clone)?.value;
    let below = laid.worked.resistance_below.as_ref().map_err(Gap::clone)?.value;
    let floor = MassiveFloor {
        pitch,
        pipe: embedded(pipe),
        conductivity,
        // The cover is that over the thickest pipe of the floor; a thinner pipe at the same level has more.
        cover: cover + laid.worked.pipe_outside.clone()? - pipe.outside,
        below_axis: lift + pipe.outside / 2.0,
        covering: ThermalResistance::ZERO,
        below: below - ThermalResistance::of(lift, conductivity),
        water_film: None,
    };
    // Where only a resistance is stated any thickness will do: 10 mm.
    let mut layers = Vec::new();
    let of_room = laid.room_covering.0.iter().zip(laid.room_covering.1);
    for (given, worked) in of_room.chain(laid.floor.layers.iter().zip(&laid.worked.layers).take(layer)) {
        let resistance = worked.resistance.as_ref().map_err(Gap::clone)?.value;
        if resistance > ThermalResistance::ZERO {
            let thickness = given.thickness.map_or(Length::ZERO, |it| it.value);
            let thickness = if thickness > Length::ZERO { thickness } else { Length::millimetres(10.0) };
            layers.push(conduction::Layer { thickness, conductivity: thickness_over(thickness, resistance) });
        }
    }
    Ok(floor.ripple_under(&layers)?)
}
