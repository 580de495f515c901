//! How fast a section of floor follows its water: conduction in time, on the same net.
//!
//! Each node holds the heat of the parts of its cells that are nearest to it. Time goes on in steps that grow as the
//! temperatures come to rest.

use super::{CONDUCTION, Course, Geometry, Half, Mesh, Part, Section, Sheet, Stuff, limit};
use crate::heat::FLOOR_FILM;
use crate::out_of_range::OutOfRange;
use quantity::{Density, Duration, SpecificHeat};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// What a layer holds of heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Storage {
    pub density: Density,
    pub specific_heat: SpecificHeat,
}

/// How fast a floor follows its water, room and what lies below kept as they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// From warm water on, all as cold as the room before, until the floor gives 63 % of its lasting heat.
    pub response: Duration,
    /// The same until it gives 90 %.
    pub warm_up: Duration,
    /// From the water's standing still until the floor gives 37 % of what it gave.
    pub cool_down: Duration,
}

/// Angles on a quarter of the pipe in the coarse and in the fine mesh.
const COARSE: usize = 2;
const FINE: usize = 4;
/// Steps of one length, before they double.
const STEPS: usize = 6;
const FIRST_STEP: f64 = 15.0;
/// Some four months: no floor that anyone heats takes as long.
const LONGEST: f64 = 1e7;

impl Section<'_> {
    /// How fast the section follows its water, of which each layer stores so much, and its plate if it has one; takes some two
    /// milliseconds.
    ///
    /// Units: as typed. Source: conduction in two dimensions and in time, by linear finite elements with the heat of
    /// each held at its corners, and the two-stage method of R. Alexander (SIAM J. Numer. Anal. 14 (1977) 1006) in time;
    /// within 1 % of finer meshes and steps, 2 % of plates. Water that stands still in the pipe shares its heat with the floor.
    /// Holds for: as [`Section::conduction`]; one storage a layer, 1 to 20 000 kg/m³ and 100 to 10 000 J/(kg·K).
    pub fn pace(&self, storage: &[Storage], plate: Option<Storage>) -> Result<Pace, OutOfRange> {
        let geometry = self.geometry()?;
        let layers = self.layers.len() as f64;
        CONDUCTION.takes_number("number of layers that store heat", storage.len() as f64, layers..=layers)?;
        let mut stored = Vec::with_capacity(storage.len());
        for layer in storage {
            let density = CONDUCTION.takes("density of a layer", layer.density, 1.0..=20_000.0)?;
            stored.push(density * CONDUCTION.takes("specific heat of a layer", layer.specific_heat, 100.0..=1e4)?);
        }
        let of_plate = match (self.board.and_then(|board| board.plate), plate) {
            (Some(plate), Some(metal)) => {
                let density = CONDUCTION.takes("density of the plate", metal.density, 1.0..=20_000.0)?;
                let heat = CONDUCTION.takes("specific heat of the plate", metal.specific_heat, 100.0..=1e4)?;
                plate.thickness.in_metres() * density * heat
            }
            _ => 0.0,
        };
        let bore = self.pipe.bore();
        let pipe = Pipe {
            // PE-X; half the section has half the pipe. Of metal there is so little that it does not matter.
            wall: 2.16e6 * PI * (geometry.radius * geometry.radius - bore * bore / 4.0) / 2.0,
            water: 4.18e6 * PI * bore * bore / 8.0,
            plate: of_plate,
        };
        let coarse = Mesh::new(&geometry, COARSE).pace(&geometry, &stored, &pipe, STEPS);
        let fine = Mesh::new(&geometry, FINE).pace(&geometry, &stored, &pipe, STEPS);
        let duration =
            |coarse: Duration, fine: Duration| Duration::seconds(limit(coarse.in_seconds(), fine.in_seconds()));
        Ok(Pace {
            response: duration(coarse.response, fine.response),
            warm_up: duration(coarse.warm_up, fine.warm_up),
            cool_down: duration(coarse.cool_down, fine.cool_down),
        })
    }
}

/// What half a pipe stores, J/K for each metre of it; and the plate, J/K for each m² of metal.
struct Pipe {
    wall: f64,
    water: f64,
    plate: f64,
}

/// What the temperatures of a section start from, and what moves them.
struct Run<'r> {
    mesh: &'r Mesh,
    geometry: &'r Geometry<'r>,
    /// Of each node.
    capacity: Vec<f64>,
    /// From each node to the water.
    to_water: &'r [f64],
    /// J/K of the water, which then floats; none for water that is held at one kelvin.
    water: Option<f64>,
    steps: usize,
}

impl Mesh {
    fn pace(&self, geometry: &Geometry, stored: &[f64], pipe: &Pipe, steps: usize) -> Pace {
        let (net, to_water) = self.net(geometry);
        let film = FLOOR_FILM.in_watts_per_square_metre_kelvin();
        let mut lasting = to_water.clone();
        self.factored(geometry, &net, &to_water, |_| film).solve(&mut lasting);
        let all = self.mean_of_row(&lasting, 0);

        let mut capacity = self.capacity(geometry, stored);
        let around: f64 = to_water.iter().sum();
        capacity.iter_mut().zip(&to_water).for_each(|(node, to)| *node += pipe.wall * to / around);
        self.store_in_plate(geometry, pipe.plate, &mut capacity);
        let mut run = Run { mesh: self, geometry, capacity, to_water: &to_water, water: None, steps };
        let still = vec![0.0; lasting.len()];
        // The share of its lasting heat that the floor still lacks, and that it still gives.
        let [response, warm_up] =
            run.until(still, [(-1f64).exp(), 0.1], |field| 1.0 - self.mean_of_row(field, 0) / all);
        run.water = Some(pipe.water);
        let [cool_down, _] = run.until(lasting, [(-1f64).exp(); 2], |field| self.mean_of_row(field, 0) / all);
        let [response, warm_up, cool_down] = [response, warm_up, cool_down].map(Duration::seconds);
        Pace { response, warm_up, cool_down }
    }
}

impl Run<'_> {
    /// When a share that falls from one reaches each of two levels, the higher first; in seconds.
    fn until(&self, mut field: Vec<f64>, levels: [f64; 2], share: impl Fn(&[f64]) -> f64) -> [f64; 2] {
        let (net, _) = self.mesh.net(self.geometry);
        let film = FLOOR_FILM.in_watts_per_square_metre_kelvin();
        let gamma = 1.0 - FRAC_1_SQRT_2;
        let dot = |of: &[f64]| -> f64 { self.to_water.iter().zip(of).map(|(to, it)| to * it).sum() };
        let around: f64 = self.to_water.iter().sum();
        let mut reached = [LONGEST; 2];
        let (mut time, mut step) = (0.0, FIRST_STEP * 6.0 / self.steps as f64);
        let mut last = share(&field);
        let mut water = 1.0;
        let mut stage = vec![0.0; field.len()];
        while time < LONGEST {
            let per_step = 1.0 / (gamma * step);
            let held: Vec<f64> = self.capacity.iter().map(|stores| stores * per_step).collect();
            let holds: Vec<f64> = held.iter().zip(self.to_water).map(|(held, to)| held + to).collect();
            let band = self.mesh.factored(self.geometry, &net, &holds, |_| film);
            // What one kelvin of the water makes of the section within a step.
            let mut by_water = self.to_water.to_vec();
            band.solve(&mut by_water);
            let floats = self.water.map(|stores| (stores * per_step, stores * per_step + around - dot(&by_water)));
            let onward = (1.0 - gamma) / gamma;
            for _ in 0..self.steps {
                let mut one_stage = |field: &[f64], water: f64| {
                    stage.iter_mut().zip(held.iter().zip(field)).for_each(|(it, (held, here))| *it = held * here);
                    band.solve(&mut stage);
                    let water = floats.map_or(1.0, |(held, sum)| (held * water + dot(&stage)) / sum);
                    stage.iter_mut().zip(&by_water).for_each(|(it, by)| *it += by * water);
                    (stage.clone(), water)
                };
                let (first, first_water) = one_stage(&field, water);
                field.iter_mut().zip(&first).for_each(|(here, first)| *here += onward * (first - *here));
                water += onward * (first_water - water);
                (field, water) = one_stage(&field, water);
                let now = share(&field);
                for (level, reached) in levels.iter().zip(&mut reached) {
                    if now <= *level && *reached == LONGEST {
                        // The share dies away as a power of e.
                        let part = (last / level).ln() / (last / now.max(1e-12)).ln();
                        *reached = time + step * part.clamp(0.0, 1.0);
                    }
                }
                if reached[1] < LONGEST {
                    return reached;
                }
                (last, time) = (now, time + step);
            }
            step *= 2.0;
        }
        reached
    }
}

impl Mesh {
    /// Adds the heat of the plate, J/K for each m² of it.
    fn store_in_plate(&self, geometry: &Geometry, stores: f64, capacity: &mut [f64]) {
        let mut piece = |one: usize, other: usize, length: f64| {
            capacity[one] += stores * length / 2.0;
            capacity[other] += stores * length / 2.0;
        };
        self.along_plate(geometry, &mut piece);
        let in_groove = |plate: &Sheet| plate.course == Course::InGroove;
        if geometry.board.and_then(|board| board.plate).is_some_and(|plate| in_groove(&plate)) {
            let bottom = self.axis + self.quarter();
            for (at, angles) in self.angles.windows(2).enumerate() {
                let arc = geometry.radius * (angles[1] - angles[0]);
                piece(self.node(at, bottom - at), self.node(at + 1, bottom - at - 1), arc);
            }
        }
    }

    /// The heat that each node stores, J/K for each metre along the pipe.
    fn capacity(&self, geometry: &Geometry, stored: &[f64]) -> Vec<f64> {
        let mut capacity = vec![0.0; self.x.len() * self.z.len()];
        for (row, levels) in self.z.windows(2).enumerate() {
            for (column, lines) in self.x.windows(2).enumerate() {
                let part = self.part(column, row);
                let area = (lines[1] - lines[0]) * (levels[1] - levels[0]);
                let of_stuff = match geometry.stuff((lines[0] + lines[1]) / 2.0, (levels[0] + levels[1]) / 2.0) {
                    Stuff::Layer(at) => stored[at],
                    // Adhesive or compound; air stores next to nothing.
                    Stuff::Filler(conductivity) if conductivity > 0.1 => 1.6e6,
                    Stuff::Filler(_) => 1.2e3,
                };
                let (upper, lower) = (self.node(column, row), self.node(column, row + 1));
                let corners: &[usize] = match part {
                    Part::None => continue,
                    Part::Whole => &[upper, upper + 1, lower, lower + 1],
                    Part::Cut(Half::Upper) => &[upper, upper + 1, lower + 1],
                    Part::Cut(Half::Lower) => &[upper + 1, lower, lower + 1],
                };
                let area = if part == Part::Whole { area } else { area / 2.0 };
                for corner in corners {
                    capacity[*corner] += of_stuff * area / corners.len() as f64;
                }
            }
        }
        capacity
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat::conduction::Layer;
    use crate::heat::en1264::EmbeddedPipe;
    use quantity::{Conductivity, Length, ThermalResistance};

    const MM: fn(f64) -> Length = Length::millimetres;

    fn layers(of: &[(f64, f64, f64, f64)]) -> (Vec<Layer>, Vec<Storage>) {
        let layer = |(mm, conductivity, ..): &(f64, f64, f64, f64)| Layer {
            thickness: MM(*mm),
            conductivity: Conductivity::watts_per_metre_kelvin(*conductivity),
        };
        let storage = |(.., density, heat): &(f64, f64, f64, f64)| Storage {
            density: Density::kilograms_per_cubic_metre(*density),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(*heat),
        };
        (of.iter().map(layer).collect(), of.iter().map(storage).collect())
    }

    fn section(layers: &[Layer], pitch: f64, axis: f64) -> Section<'_> {
        Section {
            layers,
            pitch: MM(pitch),
            pipe: EmbeddedPipe {
                outside: MM(16.0),
                wall: MM(2.0),
                conductivity: Conductivity::watts_per_metre_kelvin(0.35),
                sheath: None,
            },
            axis_depth: MM(axis),
            board: None,
            water_film: None,
            below: ThermalResistance::square_metre_kelvin_per_watt(0.17),
        }
    }

    /// Tile, screed of 65 mm with the pipe at its base, insulation.
    const SCREED: [(f64, f64, f64, f64); 3] =
        [(10.0, 1.3, 2300.0, 840.0), (65.0, 1.2, 2000.0, 1000.0), (100.0, 0.035, 20.0, 1450.0)];

    /// Exact: a layer so conductive that it has one temperature, between two resistances, cools and warms by one power of
    /// e. The pipe stores 2.16 MJ/(m³·K) in its wall and 4.18 in its water.
    #[test]
    fn a_layer_of_one_temperature_follows_a_power_of_e() {
        let (layers, storage) =
            layers(&[(10.0, 0.1, 1.0, 100.0), (40.0, 500.0, 1000.0, 800.0), (40.0, 0.04, 1.0, 100.0)]);
        let section = section(&layers, 60.0, 30.0);
        let found = section.pace(&storage, None).unwrap();
        let (up, down) = (1.0 / (0.010 / 0.1 + 1.0 / 10.8), 1.0 / (0.040 / 0.04 + 0.17));
        let water = 2.0 * PI * 0.35 / 0.060 / (8f64 / 6.0).ln();
        let (outer, inner) = (PI * 0.008f64.powi(2) / 0.060, PI * 0.006f64.powi(2) / 0.060);
        let dry = 0.8e6 * (0.040 - outer) + 2.16e6 * (outer - inner);
        let wet = dry + 4.18e6 * inner;
        let close = |found: Duration, wanted: f64| {
            assert!((found.in_seconds() / wanted - 1.0).abs() < 0.01, "{found:?}, wanted {wanted} s");
        };
        close(found.cool_down, wet / (up + down));
        close(found.response, dry / (up + down + water));
        close(found.warm_up, 10f64.ln() * dry / (up + down + water));
    }

    /// Twice as fine a mesh and four times as many steps move nothing by more than a per cent.
    #[test]
    fn mesh_and_steps_are_fine_enough() {
        let (layers, storage) = layers(&SCREED);
        let section = section(&layers, 150.0, 67.0);
        let found = section.pace(&storage, None).unwrap();
        let geometry = section.geometry().unwrap();
        let stored: Vec<f64> = SCREED.iter().map(|(.., density, heat)| density * heat).collect();
        let pipe = Pipe { wall: 2.16e6 * PI * 28e-6 / 2.0, water: 4.18e6 * PI * 36e-6 / 2.0, plate: 0.0 };
        let fine = Mesh::new(&geometry, 2 * FINE).pace(&geometry, &stored, &pipe, 4 * STEPS);
        for (found, fine) in
            [(found.response, fine.response), (found.warm_up, fine.warm_up), (found.cool_down, fine.cool_down)]
        {
            assert!((found / fine - 1.0).abs() < 0.01, "{found:?}, finer {fine:?}");
        }
    }

    /// Numerical solutions outside this project's code, 63 % of the heat after the water turns warm: some 1.9 h of a
    /// screed of 65 mm under tile, some 4.6 h of a slab of 200 mm, some 0.5 h of chipboard (here without its plate).
    #[test]
    fn a_slow_screed_and_a_quick_board_are_told_apart() {
        let hours = |of: &[(f64, f64, f64, f64)], pitch, axis| {
            let (layers, storage) = layers(of);
            let pace = section(&layers, pitch, axis).pace(&storage, None).unwrap();
            assert!(pace.response < pace.warm_up);
            pace.response.in_seconds() / 3600.0
        };
        let screed = hours(&SCREED, 150.0, 67.0);
        assert!((screed - 1.9).abs() < 0.1, "{screed}");
        let slab = hours(&[(200.0, 2.0, 2400.0, 1000.0), (100.0, 0.035, 20.0, 1450.0)], 150.0, 100.0);
        assert!((3.0..6.0).contains(&slab), "{slab}");
        let board =
            hours(&[(8.0, 1.3, 2300.0, 840.0), (20.0, 0.32, 1150.0, 1100.0), (50.0, 0.035, 20.0, 1450.0)], 150.0, 19.0);
        assert!(board < 0.8, "{board}");
    }

    /// Exact: a plate that is as warm as the layer it lies in adds its heat to that of the layer.
    #[test]
    fn a_plate_stores_heat() {
        use crate::heat::conduction::{GroovedBoard, Plate};
        let (layers, storage) =
            layers(&[(10.0, 0.1, 1.0, 100.0), (40.0, 500.0, 1000.0, 100.0), (40.0, 0.04, 1.0, 100.0)]);
        let mut section = section(&layers, 60.0, 30.0);
        let watts = Conductivity::watts_per_metre_kelvin;
        let plate = Plate { thickness: MM(2.0), conductivity: watts(200.0), width: MM(60.0), course: Course::InGroove };
        section.board =
            Some(GroovedBoard { top_depth: MM(20.0), groove_width: MM(16.0), filler: watts(0.03), plate: Some(plate) });
        let metal = Storage {
            density: Density::kilograms_per_cubic_metre(2700.0),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(900.0),
        };
        let cool_down = |metal| section.pace(&storage, metal).unwrap().cool_down.in_seconds();
        let (up, down) = (1.0 / (0.010 / 0.1 + 1.0 / 10.8), 1.0 / (0.040 / 0.04 + 0.17));
        // Half a plate: its upper face from the groove on, down the groove's wall for 10 mm, a quarter round the pipe.
        let length = 0.022 + 0.010 + PI / 2.0 * 0.008;
        let more = 0.002 * 2700.0 * 900.0 * length / 0.030 / (up + down);
        let found = cool_down(Some(metal)) - cool_down(None);
        assert!((found / more - 1.0).abs() < 0.02, "{found} s, wanted {more} s");
    }

    #[test]
    fn what_stores_nothing_is_refused() {
        let (layers, storage) = layers(&SCREED);
        let section = section(&layers, 150.0, 67.0);
        assert!(section.pace(&storage[..2], None).is_err());
        let nothing = Storage { density: Density::kilograms_per_cubic_metre(0.0), ..storage[0] };
        assert!(section.pace(&[nothing, storage[1], storage[2]], None).is_err());
    }
}
