//! Conduction held against scikit-fem 12.0.2: forty sections of floor, from `tests/reference/heat/make_floors.py`.

use super::conduction::{Course, GroovedBoard, Layer, Plate, Section, Storage};
use super::en1264::EmbeddedPipe;
use quantity::{Conductivity, Density, Duration, Length, SpecificHeat, ThermalResistance, Transmittance};
use serde_json::Value;

const METRES: fn(f64) -> Length = Length::metres;
const LAMBDA: fn(f64) -> Conductivity = Conductivity::watts_per_metre_kelvin;

fn number(of: &Value, key: &str) -> f64 {
    of[key].as_f64().unwrap_or_else(|| panic!("{key} in {of}"))
}

/// Does something with each floor: its place in the file, its kind, its section and storage, that of its plate, and the foreign
/// figures.
fn each_floor(check: impl Fn(&str, &Section, &[Storage], Option<Storage>, &Value)) {
    let text = include_str!("../../../../tests/reference/heat/floors.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let floors = file["floors"].as_array().unwrap();
    assert_eq!(floors.len(), 40);
    for (at, floor) in floors.iter().enumerate() {
        let given = floor["layers"].as_array().unwrap();
        let layer = |it: &Value| Layer {
            thickness: METRES(number(it, "thickness")),
            conductivity: LAMBDA(number(it, "conductivity")),
        };
        let storage = |it: &Value| Storage {
            density: Density::kilograms_per_cubic_metre(number(it, "density")),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(number(it, "specific_heat")),
        };
        let layers: Vec<Layer> = given.iter().map(layer).collect();
        let storage: Vec<Storage> = given.iter().map(storage).collect();
        let pipe = &floor["pipe"];
        let board = floor["board"].as_object().map(|_| {
            let board = &floor["board"];
            GroovedBoard {
                top_depth: METRES(number(board, "top")),
                groove_width: METRES(number(board, "groove")),
                filler: LAMBDA(number(board, "filler")),
                plate: board["plate"].as_object().map(|_| {
                    let plate = &board["plate"];
                    Plate {
                        thickness: METRES(number(plate, "thickness")),
                        conductivity: LAMBDA(number(plate, "conductivity")),
                        width: METRES(number(plate, "width")),
                        course: Course::InGroove,
                    }
                }),
            }
        });
        let section = Section {
            layers: &layers,
            pitch: METRES(number(floor, "pitch")),
            pipe: EmbeddedPipe {
                outside: METRES(number(pipe, "outside")),
                wall: METRES(number(pipe, "wall")),
                conductivity: LAMBDA(number(pipe, "conductivity")),
                sheath: None,
            },
            axis_depth: METRES(number(floor, "axis")),
            board,
            water_film: floor["water_film"].as_f64().map(Transmittance::watts_per_square_metre_kelvin),
            below: ThermalResistance::square_metre_kelvin_per_watt(number(floor, "below")),
        };
        let name = format!("floor {at}, {}", floor["kind"].as_str().unwrap());
        let metal = &floor["board"]["plate"];
        let metal = metal["density"].is_number().then(|| Storage {
            density: Density::kilograms_per_cubic_metre(number(metal, "density")),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(number(metal, "specific_heat")),
        });
        check(&name, &section, &storage, metal, &floor["is"]);
    }
}

#[track_caller]
fn close(name: &str, what: &str, ours: f64, theirs: f64, within: f64) {
    assert!((ours / theirs - 1.0).abs() < within, "{name}, {what}: {ours}, scikit-fem {theirs}");
}

#[test]
fn steady_heat_up_and_down_and_the_hottest_point() {
    each_floor(|name, section, _, _, theirs| {
        let ours = section.conduction().unwrap();
        let flux = |it: quantity::Transmittance| it.in_watts_per_square_metre_kelvin();
        // Behind a laminar film the wall, which is a conductor here, is no ring of one temperature.
        let within = if name.ends_with("laminar") { 0.003 } else { 0.002 };
        close(name, "up", flux(ours.response.up), number(theirs, "up"), within);
        close(name, "down", flux(ours.response.down), number(theirs, "down"), within);
        close(name, "across", flux(ours.response.up_across), number(theirs, "across"), 0.005);
        close(name, "highest", ours.surface_highest.water, number(theirs, "highest"), within);
    });
}

#[test]
fn warming_up_and_cooling_down() {
    each_floor(|name, section, storage, metal, theirs| {
        let ours = section.pace(storage, metal).unwrap();
        for (what, ours) in [("response", ours.response), ("warm_up", ours.warm_up), ("cool_down", ours.cool_down)] {
            let within = if name.ends_with("laminar") { 0.03 } else { 0.02 };
            close(name, what, Duration::in_seconds(ours), number(theirs, what), within);
        }
    });
}
