//! Steady conduction through a section of floor: for boards, plates and whatever no table holds for.
//!
//! The section reaches from the middle of a pipe to the middle between two pipes, and from the floor
//! surface to what lies below. It is cut into rectangles whose lines meet the pipe exactly at its
//! angles, so that the pipe runs along diagonals: each rectangle there is halved, and the half
//! outside the pipe is kept. Linear elements on right triangles couple along their legs only, which
//! makes the whole a net of conductances. Plates and foils are conductors along its lines.

use super::en1264::EmbeddedPipe;
use super::{FLOOR_FILM, FloorResponse};
use crate::out_of_range::{Method, OutOfRange};
use quantity::{
    Conductivity, HeatFlux, Length, Share, Temperature, TemperatureDifference, ThermalResistance,
    Transmittance,
};
use std::f64::consts::{FRAC_PI_2, PI};

/// One layer of a floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    pub thickness: Length,
    pub conductivity: Conductivity,
}

/// A floor as it repeats from pipe to pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section<'a> {
    /// From the surface down, the covering first. Where resistance is known instead of thickness and
    /// conductivity, any pair that gives it will do.
    pub layers: &'a [Layer],
    pub pitch: Length,
    pub pipe: EmbeddedPipe,
    /// Of the pipe, below the surface.
    pub axis_depth: Length,
    pub groove: Option<Groove>,
    pub plate: Option<Plate>,
    /// Water to inner wall; none for a wall as warm as the water.
    pub water_film: Option<Transmittance>,
    /// From the underside of the last layer to what lies below, film included.
    pub below: ThermalResistance,
}

/// A groove that holds the pipe: upright walls down to the pipe axis, and close about the lower half
/// of the pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Groove {
    /// Of the board's upper face, below the floor surface.
    pub top_depth: Length,
    pub width: Length,
    /// What fills it beside and above the pipe; air 0.03 W/(m·K).
    pub filler: Conductivity,
}

/// A plate or foil on a board: over its upper face, as far as `width` in all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plate {
    pub thickness: Length,
    pub conductivity: Conductivity,
    pub width: Length,
    pub course: Course,
}

/// How a plate passes the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// Down into the groove and about the lower half of the pipe.
    InGroove,
    /// Straight across, over the pipe.
    Across,
}

/// How the floor surface gives its heat to the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceFilm {
    /// 10.8 W/(m²·K) everywhere.
    Linear,
    /// The basic characteristic of EN 1264-2, at each point.
    Basic,
}

/// A temperature within a section, linear in those about it:
/// `room + water · (θ_water − θ_room) + below · (θ_below − θ_room)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Influence {
    pub water: f64,
    pub below: f64,
}

impl Influence {
    /// The temperature.
    pub fn temperature(
        &self,
        water: Temperature,
        room: Temperature,
        below: Temperature,
    ) -> Temperature {
        room + self.water * (water - room) + self.below * (below - room)
    }
}

/// A section with a linear surface film, for any temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct Conduction {
    pub response: FloorResponse,
    pub surface_mean: Influence,
    /// At the hottest point.
    pub surface_highest: Influence,
    /// Below each layer, where it is hottest.
    pub below_layers: Vec<Influence>,
    /// How far the response may be off by the fineness of the mesh.
    pub mesh_error: Share,
}

/// A section at given temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    pub upward: HeatFlux,
    pub downward: HeatFlux,
    pub surface_mean: Temperature,
    pub surface_highest: Temperature,
    /// Below each layer, where it is hottest.
    pub below_layers: Vec<Temperature>,
}

const CONDUCTION: Method = Method("the section through the floor");

pub fn experiment(section: &Section, n: usize) -> Result<(usize, usize, Conduction), OutOfRange> {
    let geometry = section.geometry()?;
    let mesh = Mesh::new(&geometry, n);
    let c = mesh.conduction(&geometry);
    Ok((mesh.x.len(), mesh.z.len(), c))
}
pub fn experiment_state(
    section: &Section,
    n: usize,
    w: f64,
    r: f64,
    b: f64,
    film: SurfaceFilm,
) -> Result<State, OutOfRange> {
    let geometry = section.geometry()?;
    let mesh = Mesh::new(&geometry, n);
    Ok(mesh.state(&geometry, film, w, r, b))
}

/// A section in plain SI numbers, found to be one.
struct Geometry<'a> {
    layers: &'a [Layer],
    /// Depth of the underside of the last layer.
    depth: f64,
    half_pitch: f64,
    axis: f64,
    radius: f64,
    /// Through the pipe wall, for each m² of its outside.
    wall: f64,
    /// Along the pipe wall, W/K.
    shell: f64,
    groove: Option<(f64, f64, f64)>,
    /// Half width, W/K along it, course.
    plate: Option<(f64, f64, Course)>,
    below: f64,
}

impl Section<'_> {
    fn geometry(&self) -> Result<Geometry<'_>, OutOfRange> {
        let method = CONDUCTION;
        let pitch = method.takes("pipe spacing", self.pitch, 30.0..=1000.0)?;
        method.takes_number("number of layers", self.layers.len() as f64, 1.0..=30.0)?;
        let mut depth = 0.0;
        for layer in self.layers {
            depth += method.takes("thickness of a layer", layer.thickness, 0.01..=2000.0)?;
            method.takes("conductivity of a layer", layer.conductivity, 0.01..=500.0)?;
        }
        let outside = self.pipe.outside_with_sheath();
        let widest = 0.8 * self.pitch.in_millimetres();
        let radius = method.takes("outside diameter of the pipe", outside, 5.0..=widest)? / 2.0;
        // Half a millimetre keeps the pipe clear of both faces.
        let (least, most) = (radius * 1e3 + 0.5, (depth - radius) * 1e3 - 0.5);
        let axis = method.takes("depth of the pipe axis", self.axis_depth, least..=most)?;
        let below = method.takes("resistance below the floor", self.below, 0.001..=50.0)?;
        let (wall, shell) = self.wall(radius)?;

        let groove = match self.groove {
            Some(groove) => {
                let axis_mm = self.axis_depth.in_millimetres();
                let top = method.takes(
                    "depth of the board's upper face",
                    groove.top_depth,
                    0.5..=axis_mm,
                )?;
                let range = outside.in_millimetres()..=0.9 * self.pitch.in_millimetres();
                let width = method.takes("width of the groove", groove.width, range)?;
                let filler =
                    method.takes("conductivity of the filler", groove.filler, 0.01..=500.0)?;
                Some((top, width / 2.0, filler))
            }
            None => None,
        };
        let plate = match self.plate {
            Some(plate) => {
                let thickness =
                    method.takes("thickness of the plate", plate.thickness, 0.0..=5.0)?;
                let conductivity =
                    method.takes("conductivity of the plate", plate.conductivity, 0.0..=500.0)?;
                let narrowest = self
                    .groove
                    .map_or(f64::INFINITY, |groove| groove.width.in_millimetres());
                let range = narrowest..=self.pitch.in_millimetres();
                let width = method.takes("width of the plate", plate.width, range)?;
                Some((width / 2.0, thickness * conductivity, plate.course))
            }
            None => None,
        };
        Ok(Geometry {
            layers: self.layers,
            depth,
            half_pitch: pitch / 2.0,
            axis,
            radius,
            wall,
            shell,
            groove,
            plate,
            below: 1.0 / below,
        })
    }

    /// The pipe wall as a film on its outside, W/(m²·K), and as a conductor around it, W/K.
    ///
    /// Around the pipe the wall bears a share of its own conduction: its temperature swings fully
    /// outside, and on the inside as much as the film lets it. Between, the swing goes linearly with
    /// the logarithm of the radius, and counts by its square.
    fn wall(&self, radius: f64) -> Result<(f64, f64), OutOfRange> {
        let around = self.pipe.wall_resistance(CONDUCTION)?;
        let film = match self.water_film {
            Some(film) => {
                let film = CONDUCTION.takes("heat transfer of the water", film, 10.0..=1e5)?;
                1.0 / (PI * self.pipe.bore() * film)
            }
            None => 0.0,
        };
        let all = around + film;
        let pipe = self.pipe.outside.in_metres();
        let of_pipe = self.pipe.conductivity.in_watts_per_metre_kelvin();
        let pipe_log = (pipe / self.pipe.bore()).ln();
        let at_pipe = film + pipe_log / (2.0 * PI * of_pipe);
        let square = |outer: f64, inner: f64| (outer * outer + outer * inner + inner * inner) / 3.0;
        let mut shell = of_pipe * pipe_log * square(at_pipe / all, film / all);
        if let Some(sheath) = self.pipe.sheath {
            let of_sheath = sheath.conductivity.in_watts_per_metre_kelvin();
            shell += of_sheath * (2.0 * radius / pipe).ln() * square(1.0, at_pipe / all);
        }
        Ok((1.0 / (2.0 * PI * radius * all), radius * shell))
    }
}

impl Geometry<'_> {
    /// Depth of the underside of each layer.
    fn undersides(&self) -> impl Iterator<Item = f64> {
        self.layers.iter().scan(0.0, |depth, layer| {
            *depth += layer.thickness.in_metres();
            Some(*depth)
        })
    }

    /// Conductivity at a point outside the pipe.
    fn conductivity(&self, x: f64, z: f64) -> f64 {
        if let Some((top, half_width, filler)) = self.groove
            && x < half_width
            && top < z
            && z < self.axis
        {
            return filler;
        }
        let layer = self
            .undersides()
            .zip(self.layers)
            .find(|(underside, _)| z < *underside);
        let layer = layer.map(|(_, layer)| layer).or(self.layers.last());
        layer.map_or(f64::NAN, |layer| {
            layer.conductivity.in_watts_per_metre_kelvin()
        })
    }
}

/// The lines of the mesh, and where among them the pipe runs.
struct Mesh {
    x: Vec<f64>,
    z: Vec<f64>,
    /// Angles from the crown to the side.
    angles: Vec<f64>,
    /// Line of the crown and line of the axis, among `z`.
    crown: usize,
    axis: usize,
}

impl Mesh {
    fn new(geometry: &Geometry, fineness: usize) -> Mesh {
        let &Geometry {
            axis,
            radius,
            half_pitch,
            depth,
            ..
        } = geometry;
        let step = FRAC_PI_2 / fineness as f64;
        let mut angles: Vec<f64> = (0..=fineness).map(|at| at as f64 * step).collect();
        // Every level that meets the pipe gets an angle, so that its line meets the pipe in a node.
        let mut levels: Vec<f64> = geometry.undersides().collect();
        levels.extend(geometry.groove.map(|(top, ..)| top));
        levels.sort_by(f64::total_cmp);
        let mut outside_pipe = vec![0.0, depth];
        for level in levels {
            let height = (level - axis).abs();
            if height >= radius {
                outside_pipe.push(level);
                continue;
            }
            let angle = (height / radius).acos();
            let nearest = (angle / step).round() as usize;
            let apart = angle - nearest as f64 * step;
            let end = nearest == 0 || nearest == fineness;
            if end && apart.abs() > 0.15 * step {
                angles.push(angle);
            } else if !end {
                if let Some(place) = angles.get_mut(nearest) {
                    if (*place - nearest as f64 * step).abs() > 1e-12
                        && (*place - angle).abs() > 0.05 * step
                    {
                        angles.push(angle);
                    } else {
                        *place = angle;
                    }
                }
            }
        }
        angles.sort_by(f64::total_cmp);

        let scale = 8.0 / fineness as f64;
        let near = Grading {
            least: 0.35 * radius * step,
            growth: 0.35 * scale,
            greatest: f64::INFINITY,
        };
        let mut across = vec![radius, half_pitch];
        let mut edges = vec![radius];
        if let Some((_, half_width, _)) = geometry.groove {
            across.push(half_width);
        }
        if let Some((half_width, ..)) = geometry.plate {
            across.push(half_width);
            edges.push(half_width);
        }
        let mut x: Vec<f64> = angles.iter().map(|angle| radius * angle.sin()).collect();
        let widest = Grading {
            greatest: half_pitch / 8.0 * scale,
            ..near
        };
        widest.fill(&mut x, across, &edges);

        let mut z = Vec::new();
        let (above, below): (Vec<f64>, Vec<f64>) =
            outside_pipe.iter().partition(|level| **level < axis);
        let mut upward: Vec<f64> = vec![-(axis - radius)];
        near.fill(
            &mut upward,
            above.iter().map(|level| -level).collect(),
            &[-(axis - radius)],
        );
        z.extend(upward.iter().rev().map(|level| -level));
        let crown = z.len() - 1;
        z.extend(
            angles
                .iter()
                .skip(1)
                .map(|angle| axis - radius * angle.cos()),
        );
        let middle = z.len() - 1;
        z.extend(
            angles
                .iter()
                .rev()
                .skip(1)
                .map(|angle| axis + radius * angle.cos()),
        );
        near.fill(&mut z, below, &[axis + radius]);
        Mesh {
            x,
            z,
            angles,
            crown,
            axis: middle,
        }
    }

    /// Angle lines on a quarter of the pipe.
    fn quarter(&self) -> usize {
        self.angles.len() - 1
    }

    /// Index along the quarter of a row of cells within the height of the pipe: 0 at crown and
    /// bottom.
    fn quarter_row(&self, row: usize) -> Option<(usize, Half)> {
        let quarter = self.quarter();
        if (self.crown..self.axis).contains(&row) {
            Some((row - self.crown, Half::Upper))
        } else if (self.axis..self.axis + quarter).contains(&row) {
            Some((quarter - 1 - (row - self.axis), Half::Lower))
        } else {
            None
        }
    }

    /// Which part of a cell lies outside the pipe.
    fn part(&self, column: usize, row: usize) -> Part {
        if column >= self.quarter() {
            return Part::Whole;
        }
        match self.quarter_row(row) {
            None => Part::Whole,
            Some((at, _)) if at < column => Part::Whole,
            Some((at, half)) if at == column => Part::Cut(half),
            Some(_) => Part::None,
        }
    }

    fn node(&self, column: usize, row: usize) -> usize {
        row * self.x.len() + column
    }

    fn nearest_row(&self, depth: f64) -> usize {
        let above = self.z.partition_point(|z| *z < depth);
        match (
            above.checked_sub(1).and_then(|at| self.z.get(at)),
            self.z.get(above),
        ) {
            (Some(low), Some(high)) if depth - low < high - depth => above - 1,
            (Some(_), None) => above - 1,
            _ => above,
        }
    }

    fn nearest_column(&self, x: f64) -> usize {
        let above = self.x.partition_point(|line| *line < x);
        match (
            above.checked_sub(1).and_then(|at| self.x.get(at)),
            self.x.get(above),
        ) {
            (Some(low), Some(high)) if x - low < high - x => above - 1,
            (Some(_), None) => above - 1,
            _ => above,
        }
    }

    /// Width of floor that each column of nodes stands for.
    fn widths(&self) -> Vec<f64> {
        let mut widths = vec![0.0; self.x.len()];
        for (column, ends) in self.x.windows(2).enumerate() {
            let half = (ends[1] - ends[0]) / 2.0;
            widths[column] += half;
            widths[column + 1] += half;
        }
        widths
    }

    /// Net without the films of surface and underside; and the conductance from each node to the
    /// water.
    fn net(&self, geometry: &Geometry) -> (Band, Vec<f64>) {
        let columns = self.x.len();
        let nodes = columns * self.z.len();
        let mut band = Band::new(nodes, columns + 1);
        for (row, levels) in self.z.windows(2).enumerate() {
            let (height, middle) = (levels[1] - levels[0], (levels[0] + levels[1]) / 2.0);
            for (column, lines) in self.x.windows(2).enumerate() {
                let part = self.part(column, row);
                if part == Part::None {
                    continue;
                }
                let width = lines[1] - lines[0];
                let conductivity = geometry.conductivity((lines[0] + lines[1]) / 2.0, middle);
                let along = conductivity * height / 2.0 / width;
                let down = conductivity * width / 2.0 / height;
                let [upper, lower] = [self.node(column, row), self.node(column, row + 1)];
                // What lies outside the pipe always has the right-hand leg.
                band.couple(upper + 1, lower + 1, down);
                if part == Part::Whole {
                    band.couple(upper, lower, down);
                }
                if part != Part::Cut(Half::Lower) {
                    band.couple(upper, upper + 1, along);
                }
                if part != Part::Cut(Half::Upper) {
                    band.couple(lower, lower + 1, along);
                }
            }
        }
        let mut to_water = vec![0.0; nodes];
        for (at, angles) in self.angles.windows(2).enumerate() {
            let arc = geometry.radius * (angles[1] - angles[0]);
            let rows = [(self.crown + at, self.crown + at + 1), {
                let bottom = self.axis + self.quarter();
                (bottom - at, bottom - at - 1)
            }];
            for (half, (row, next)) in rows.into_iter().enumerate() {
                let (one, other) = (self.node(at, row), self.node(at + 1, next));
                to_water[one] += geometry.wall * arc / 2.0;
                to_water[other] += geometry.wall * arc / 2.0;
                let mut around = geometry.shell;
                if half == 1
                    && let Some((_, plate, Course::InGroove)) = geometry.plate
                {
                    around += plate;
                }
                band.couple(one, other, around / arc);
            }
        }
        self.add_plate(geometry, &mut band);
        (band, to_water)
    }

    /// The plate on the board's upper face, and down to the pipe axis.
    fn add_plate(&self, geometry: &Geometry, band: &mut Band) {
        let (Some((half_width, plate, course)), Some((top, groove, _))) =
            (geometry.plate, geometry.groove)
        else {
            return;
        };
        let row = self.nearest_row(top);
        let end = self.nearest_column(half_width);
        let start = match course {
            Course::InGroove => self.nearest_column(groove),
            Course::Across => match self.quarter_row(row) {
                Some((at, Half::Upper)) => at,
                Some((_, Half::Lower)) => self.quarter(),
                None => 0,
            },
        };
        for (column, lines) in self.x.windows(2).enumerate().take(end).skip(start) {
            band.couple(
                self.node(column, row),
                self.node(column + 1, row),
                plate / (lines[1] - lines[0]),
            );
        }
        if course == Course::Across {
            return;
        }
        for (row, levels) in self.z.windows(2).enumerate().take(self.axis).skip(row) {
            band.couple(
                self.node(start, row),
                self.node(start, row + 1),
                plate / (levels[1] - levels[0]),
            );
        }
        for (column, lines) in self
            .x
            .windows(2)
            .enumerate()
            .take(start)
            .skip(self.quarter())
        {
            let row = self.axis;
            band.couple(
                self.node(column, row),
                self.node(column + 1, row),
                plate / (lines[1] - lines[0]),
            );
        }
    }

    /// Factors the net with a film on the surface that may differ from node to node.
    fn factored(
        &self,
        geometry: &Geometry,
        net: &Band,
        to_water: &[f64],
        film: impl Fn(usize) -> f64,
    ) -> Band {
        let mut band = net.clone();
        for (node, conductance) in to_water.iter().enumerate() {
            band.hold(node, *conductance);
        }
        let last = self.z.len() - 1;
        for (column, width) in self.widths().into_iter().enumerate() {
            band.hold(self.node(column, 0), film(column) * width);
            band.hold(self.node(column, last), geometry.below * width);
        }
        band.factor();
        band
    }

    fn underside_source(&self, geometry: &Geometry) -> Vec<f64> {
        let mut source = vec![0.0; self.x.len() * self.z.len()];
        let last = self.z.len() - 1;
        for (column, width) in self.widths().into_iter().enumerate() {
            source[self.node(column, last)] = geometry.below * width;
        }
        source
    }

    fn mean_of_row(&self, field: &[f64], row: usize) -> f64 {
        let start = self.node(0, row);
        let sum: f64 = self
            .widths()
            .iter()
            .zip(&field[start..])
            .map(|(width, value)| width * value)
            .sum();
        sum / self.x.last().copied().unwrap_or(1.0)
    }

    /// Node of the highest value in a row, the pipe left out.
    fn highest_of_row(&self, field: &[f64], row: usize) -> usize {
        let start = self.node(0, row);
        (start..start + self.x.len())
            .max_by(|a, b| field[*a].total_cmp(&field[*b]))
            .unwrap_or(start)
    }

    fn conduction(&self, geometry: &Geometry) -> Conduction {
        let (net, to_water) = self.net(geometry);
        let film = FLOOR_FILM.in_watts_per_square_metre_kelvin();
        let band = self.factored(geometry, &net, &to_water, |_| film);
        let mut by_water = to_water;
        band.solve(&mut by_water);
        let mut by_below = self.underside_source(geometry);
        band.solve(&mut by_below);
        let watts = Transmittance::watts_per_square_metre_kelvin;
        let last = self.z.len() - 1;
        let across = watts(film * self.mean_of_row(&by_below, 0));
        let at = |node: usize| Influence {
            water: by_water[node],
            below: by_below[node],
        };
        Conduction {
            response: FloorResponse {
                up: watts(film * self.mean_of_row(&by_water, 0)),
                down: watts(geometry.below * self.mean_of_row(&by_water, last)),
                up_across: across,
                down_across: across,
            },
            surface_mean: Influence {
                water: self.mean_of_row(&by_water, 0),
                below: self.mean_of_row(&by_below, 0),
            },
            surface_highest: at(self.highest_of_row(&by_water, 0)),
            below_layers: geometry
                .undersides()
                .map(|depth| at(self.highest_of_row(&by_water, self.nearest_row(depth))))
                .collect(),
            mesh_error: Share::ZERO,
        }
    }

    fn state(
        &self,
        geometry: &Geometry,
        film: SurfaceFilm,
        water: f64,
        room: f64,
        below: f64,
    ) -> State {
        let (net, to_water) = self.net(geometry);
        let linear = FLOOR_FILM.in_watts_per_square_metre_kelvin();
        let underside = self.underside_source(geometry);
        let mut source: Vec<f64> = to_water
            .iter()
            .zip(&underside)
            .map(|(w, b)| w * (water - room) + b * (below - room))
            .collect();
        let mut films = vec![linear; self.x.len()];
        let rounds = if film == SurfaceFilm::Basic { 8 } else { 1 };
        let start = source.clone();
        for _ in 0..rounds {
            source.copy_from_slice(&start);
            let band = self.factored(geometry, &net, &to_water, |column| films[column]);
            band.solve(&mut source);
            if film == SurfaceFilm::Basic {
                for (film, excess) in films.iter_mut().zip(&source) {
                    *film = 8.92 * excess.abs().powf(0.1);
                }
            }
        }
        let at = |node: usize| Temperature::celsius(room + source[node]);
        let upward: f64 = self
            .widths()
            .iter()
            .zip(&films)
            .zip(&source)
            .map(|((w, f), t)| w * f * t)
            .sum::<f64>()
            / geometry.half_pitch;
        let last = self.z.len() - 1;
        State {
            upward: HeatFlux::watts_per_square_metre(upward),
            downward: HeatFlux::watts_per_square_metre(
                geometry.below * (self.mean_of_row(&source, last) - (below - room)),
            ),
            surface_mean: Temperature::celsius(room + self.mean_of_row(&source, 0)),
            surface_highest: at(self.highest_of_row(&source, 0)),
            below_layers: geometry
                .undersides()
                .map(|depth| at(self.highest_of_row(&source, self.nearest_row(depth))))
                .collect(),
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Half {
    Upper,
    Lower,
}

#[derive(Clone, Copy, PartialEq)]
enum Part {
    Whole,
    Cut(Half),
    None,
}

/// How fine the lines lie: at an edge, and how that grows away from it.
#[derive(Clone, Copy)]
struct Grading {
    least: f64,
    growth: f64,
    greatest: f64,
}

impl Grading {
    /// Carries lines on through all the stops beyond the last one.
    fn fill(&self, lines: &mut Vec<f64>, mut stops: Vec<f64>, edges: &[f64]) {
        stops.sort_by(f64::total_cmp);
        for stop in stops {
            let Some(&start) = lines.last() else { return };
            let span = stop - start;
            if span < 1e-7 {
                continue;
            }
            let spacing = |at: f64| {
                let nearest = edges
                    .iter()
                    .map(|edge| (at - edge).abs())
                    .fold(f64::INFINITY, f64::min);
                (self.least + self.growth * nearest).min(self.greatest)
            };
            // Lines so that each span between two of them holds one unit of ∫ dx / spacing.
            const SAMPLES: usize = 32;
            let mut sums = [0.0; SAMPLES + 1];
            for sample in 0..SAMPLES {
                let at = start + span * (sample as f64 + 0.5) / SAMPLES as f64;
                sums[sample + 1] = sums[sample] + span / SAMPLES as f64 / spacing(at);
            }
            let total = sums[SAMPLES];
            let cells = total.ceil().clamp(1.0, 60.0) as usize;
            let mut sample = 0;
            for cell in 1..cells {
                let wanted = total * cell as f64 / cells as f64;
                while sample + 1 < SAMPLES && sums[sample + 1] < wanted {
                    sample += 1;
                }
                let share = (wanted - sums[sample]) / (sums[sample + 1] - sums[sample]);
                lines.push(start + span * (sample as f64 + share) / SAMPLES as f64);
            }
            lines.push(stop);
        }
    }
}

/// A symmetric matrix with entries near its diagonal only; each row holds its own from the left end of
/// the band to the diagonal.
#[derive(Clone)]
struct Band {
    reach: usize,
    rows: Vec<f64>,
}

impl Band {
    fn new(size: usize, reach: usize) -> Band {
        Band {
            reach,
            rows: vec![0.0; size * (reach + 1)],
        }
    }

    /// A conductance between two nodes.
    fn couple(&mut self, one: usize, other: usize, conductance: f64) {
        let (low, high) = (one.min(other), one.max(other));
        let row = high * (self.reach + 1) + self.reach;
        self.rows[row] += conductance;
        self.rows[row - (high - low)] -= conductance;
        self.rows[low * (self.reach + 1) + self.reach] += conductance;
    }

    /// A conductance between a node and a held temperature.
    fn hold(&mut self, node: usize, conductance: f64) {
        self.rows[node * (self.reach + 1) + self.reach] += conductance;
    }

    /// Cholesky in place. Nodes that nothing couples, those within the pipe, stand alone.
    fn factor(&mut self) {
        let wide = self.reach + 1;
        let size = self.rows.len() / wide;
        for row in 0..size {
            let (done, rest) = self.rows.split_at_mut(row * wide);
            let here = &mut rest[..wide];
            let first = self.reach.saturating_sub(row);
            for at in first..self.reach {
                // Column of this entry, and the part of its row that both share.
                let column = row + at - self.reach;
                let there = &done[column * wide..(column + 1) * wide];
                let shift = self.reach - at;
                let shared = dot(&here[first..at], &there[first + shift..self.reach]);
                here[at] = (here[at] - shared) / there[self.reach];
            }
            let square = here[self.reach] - dot(&here[first..self.reach], &here[first..self.reach]);
            here[self.reach] = if square > 0.0 { square.sqrt() } else { 1.0 };
        }
    }

    /// The solution, in place of the right-hand side.
    fn solve(&self, values: &mut [f64]) {
        let wide = self.reach + 1;
        for row in 0..values.len() {
            let here = &self.rows[row * wide..(row + 1) * wide];
            let first = row.saturating_sub(self.reach);
            let known = dot(
                &here[self.reach - (row - first)..self.reach],
                &values[first..row],
            );
            values[row] = (values[row] - known) / here[self.reach];
        }
        for row in (0..values.len()).rev() {
            let here = &self.rows[row * wide..(row + 1) * wide];
            let first = row.saturating_sub(self.reach);
            let value = values[row] / here[self.reach];
            values[row] = value;
            for (entry, other) in here[self.reach - (row - first)..self.reach]
                .iter()
                .zip(&mut values[first..row])
            {
                *other -= entry * value;
            }
        }
    }
}

/// Sum of products, in four lanes so that the machine can take them together.
fn dot(left: &[f64], right: &[f64]) -> f64 {
    let (left, left_rest) = left.as_chunks::<4>();
    let (right, right_rest) = right.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for (a, b) in left.iter().zip(right) {
        for lane in 0..4 {
            sums[lane] += a[lane] * b[lane];
        }
    }
    let rest: f64 = left_rest.iter().zip(right_rest).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layer(mm: f64, conductivity: f64) -> Layer {
        Layer {
            thickness: Length::millimetres(mm),
            conductivity: Conductivity::watts_per_metre_kelvin(conductivity),
        }
    }

    fn pipe() -> EmbeddedPipe {
        EmbeddedPipe {
            outside: Length::millimetres(16.0),
            wall: Length::millimetres(2.0),
            conductivity: Conductivity::watts_per_metre_kelvin(0.35),
            sheath: None,
        }
    }

    #[test]
    fn try_out() {
        let layers = [
            layer(8.0, 1.3),
            layer(4.0, 0.9),
            layer(20.0, 0.32),
            layer(20.0, 0.13),
            layer(80.0, 0.037),
        ];
        let o9 = Section {
            layers: &layers,
            pitch: Length::millimetres(150.0),
            pipe: pipe(),
            axis_depth: Length::millimetres(20.0),
            groove: Some(Groove {
                top_depth: Length::millimetres(12.0),
                width: Length::millimetres(16.0),
                filler: Conductivity::watts_per_metre_kelvin(0.32),
            }),
            plate: None,
            water_film: None,
            below: ThermalResistance::square_metre_kelvin_per_watt(0.17),
        };
        for n in [4, 6, 8, 12, 16, 24, 32] {
            let t = std::time::Instant::now();
            let (nx, nz, c) = experiment(&o9, n).unwrap();
            let dt = t.elapsed();
            let s = experiment_state(&o9, n, 38.0, 20.0, 18.0, SurfaceFilm::Basic).unwrap();
            println!(
                "{n} {nx}x{nz} {dt:?} up {:.5} down {:.5} q {:.3} {:.3} mean {:.3} max {:.3}",
                c.response.up.in_watts_per_square_metre_kelvin(),
                c.response.down.in_watts_per_square_metre_kelvin(),
                s.upward.in_watts_per_square_metre(),
                s.downward.in_watts_per_square_metre(),
                s.surface_mean.in_celsius(),
                s.surface_highest.in_celsius()
            );
        }
        let layers = [layer(15.0, 0.13), layer(30.0, 0.035), layer(120.0, 0.037)];
        let o10 = Section {
            layers: &layers,
            pitch: Length::millimetres(200.0),
            axis_depth: Length::millimetres(23.0),
            groove: Some(Groove {
                top_depth: Length::millimetres(15.0),
                width: Length::millimetres(16.0),
                filler: Conductivity::watts_per_metre_kelvin(0.03),
            }),
            plate: Some(Plate {
                thickness: Length::millimetres(0.5),
                conductivity: Conductivity::watts_per_metre_kelvin(200.0),
                width: Length::millimetres(180.0),
                course: Course::InGroove,
            }),
            ..o9
        };
        for n in [4, 6, 8, 12, 16, 24, 32] {
            let t = std::time::Instant::now();
            let (nx, nz, c) = experiment(&o10, n).unwrap();
            let dt = t.elapsed();
            for film in [SurfaceFilm::Basic, SurfaceFilm::Linear] {
                let s = experiment_state(&o10, n, 42.0, 20.0, 20.0, film).unwrap();
                println!(
                    "{n} {nx}x{nz} {dt:?} up {:.5} down {:.5} q {:.3} {:.3} mean {:.3} max {:.3}",
                    c.response.up.in_watts_per_square_metre_kelvin(),
                    c.response.down.in_watts_per_square_metre_kelvin(),
                    s.upward.in_watts_per_square_metre(),
                    s.downward.in_watts_per_square_metre(),
                    s.surface_mean.in_celsius(),
                    s.surface_highest.in_celsius()
                );
            }
        }
    }
}
