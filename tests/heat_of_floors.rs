//! What the heat of a floor costs, by the standard's tables and by conduction, and what it costs as loops are added.
//! Run with `cargo bench -p tests --bench heat_of_floors`.

use divan::Bencher;
use engineering::heat::conduction::{Course, GroovedBoard, Layer, Plate, Section, Storage};
use engineering::heat::en1264::{EmbeddedPipe, WetFloor};
use engineering::heat::loop_balance::HeatedFloor;
use quantity::*;

fn main() {
    divan::main();
}

const PIPE: EmbeddedPipe = EmbeddedPipe {
    outside: Length::millimetres(16.0),
    wall: Length::millimetres(2.0),
    conductivity: Conductivity::watts_per_metre_kelvin(0.35),
    sheath: None,
};

const fn layer(millimetres: f64, conductivity: f64) -> Layer {
    Layer {
        thickness: Length::millimetres(millimetres),
        conductivity: Conductivity::watts_per_metre_kelvin(conductivity),
    }
}

/// Tile, screed, insulation.
const SCREED: [Layer; 3] = [layer(10.0, 1.3), layer(65.0, 1.2), layer(100.0, 0.022)];
/// Boards, grooved polystyrene, mineral wool.
const PLATED: [Layer; 3] = [layer(15.0, 0.13), layer(30.0, 0.035), layer(120.0, 0.037)];

fn section(layers: &[Layer], axis_depth: f64, board: Option<GroovedBoard>) -> Section<'_> {
    Section {
        layers,
        pitch: Length::millimetres(200.0),
        pipe: PIPE,
        axis_depth: Length::millimetres(axis_depth),
        board,
        water_film: None,
        below: ThermalResistance::square_metre_kelvin_per_watt(0.17),
    }
}

fn plates() -> GroovedBoard {
    GroovedBoard {
        top_depth: Length::millimetres(15.0),
        groove_width: Length::millimetres(16.0),
        filler: Conductivity::watts_per_metre_kelvin(0.03),
        plate: Some(Plate {
            thickness: Length::millimetres(0.5),
            conductivity: Conductivity::watts_per_metre_kelvin(200.0),
            width: Length::millimetres(180.0),
            course: Course::InGroove,
        }),
    }
}

/// One loop by the standard: its characteristic, its limit, and the balance along its pipe.
#[divan::bench]
fn one_loop_by_the_standard(bencher: Bencher) {
    let floor = WetFloor {
        pitch: Length::millimetres(150.0),
        pipe: PIPE,
        cover: Length::millimetres(49.0),
        screed: Conductivity::watts_per_metre_kelvin(1.2),
        covering: ThermalResistance::square_metre_kelvin_per_watt(0.05),
        studs: None,
    };
    let below = ThermalResistance::square_metre_kelvin_per_watt(4.5);
    bencher.bench(|| {
        let characteristic = divan::black_box(&floor).characteristic().unwrap();
        let response = characteristic.response(floor.resistance_above().unwrap(), below).unwrap();
        let heated = HeatedFloor {
            area: Area::square_metres(12.0),
            response,
            room: Temperature::celsius(20.0),
            below: Temperature::celsius(10.0),
        };
        let flow = MassFlow::kilograms_per_second(0.03);
        heated.output(Temperature::celsius(38.0), flow, SpecificHeat::joules_per_kilogram_kelvin(4180.0)).unwrap()
    });
}

#[divan::bench]
fn screed_by_conduction(bencher: Bencher) {
    let section = section(&SCREED, 67.0, None);
    bencher.bench(|| divan::black_box(&section).conduction().unwrap());
}

#[divan::bench]
fn plates_by_conduction(bencher: Bencher) {
    let section = section(&PLATED, 23.0, Some(plates()));
    bencher.bench(|| divan::black_box(&section).conduction().unwrap());
}

/// How fast a floor follows its water.
#[divan::bench]
fn pace_of_a_screed(bencher: Bencher) {
    let section = section(&SCREED, 67.0, None);
    let stores = |density, heat| Storage {
        density: Density::kilograms_per_cubic_metre(density),
        specific_heat: SpecificHeat::joules_per_kilogram_kelvin(heat),
    };
    let storage = [stores(2300.0, 840.0), stores(2000.0, 1000.0), stores(30.0, 1400.0)];
    bencher.bench(|| divan::black_box(&section).pace(&storage, None).unwrap());
}

/// All the workings of a house on boards with plates: one construction, so many loops.
#[divan::bench(args = [10, 100, 1000])]
fn loops_over_one_construction(bencher: Bencher, loops: usize) {
    let mut text = String::from(
        "format: 1\nsite: {outdoor-temperature: -3 °C}\nheat-source: {kind: heat pump, flow-temperature: 40 °C}\nfloors:\n  boards:\n    \
         method: floating-board\n    below: heated room\n    plates: {material: aluminium, thickness: 0.4 mm, width: 180 mm}\n    layers:\n      \
         - {material: chipboard, thickness: 19 mm}\n      - {material: EPS, thickness: 30 mm, pipe: at top}\n      - {material: EPS, \
         thickness: 40 mm}\nmanifolds: {M1: {ports: 8}}\nrooms:\n",
    );
    for it in 0..loops {
        text += &format!("  r{it}: {{temperature: 20 °C, heat-loss: 500 W, floor: boards, area: 12 m²}}\n");
    }
    text += "loops:\n";
    for it in 0..loops {
        text += &format!("  L{it}: {{manifold: M1, room: r{it}, pipe: PE-X 16 x 2, spacing: 200 mm, tails: 8 m}}\n");
    }
    let reading = design::read("bench.ufh.yaml", text.as_bytes(), &|path| Err(path.to_string()));
    assert!(reading.faults.is_empty(), "{:#?}", reading.faults);
    bencher.bench_local(|| workings::work_out(&reading.design));
}
