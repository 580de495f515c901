//! Water held against open libraries, from `tests/reference/water/make_water.py`: properties against CoolProp 8.0.0 and
//! iapws 1.5.5, friction against fluids 1.3.1, and forty random manifolds against EPANET 2.2 in wntr 1.5.0.

use super::fluids::{Fluid, Glycol, Properties};
use super::manifold::{Operation, Standing, side_by_side};
use super::pipe_friction::{Line, Run, friction_factor};
use super::pump::{Head, PumpCurve};
use quantity::*;
use serde_json::Value;

fn file() -> Value {
    serde_json::from_str(include_str!("../../../../tests/reference/water/water.json")).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn rows(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

#[track_caller]
fn near(what: &str, found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within * wanted.abs(), "{what}: {found}, wanted {wanted} within {within}");
}

/// The libraries agree on water to 2e-5 in density and viscosity; the fits add what their page says.
#[test]
fn properties_agree_with_coolprop_and_iapws() {
    for row in rows(&file()["properties"]) {
        let fluid = match row["fluid"].as_str().unwrap() {
            "water" => Fluid::Water,
            name => Fluid::Mixture {
                glycol: if name == "propylene" { Glycol::Propylene } else { Glycol::Ethylene },
                mass_share: Share::percent(number(&row["mass_percent"])),
            },
        };
        let found = fluid.at(Temperature::celsius(number(&row["celsius"]))).unwrap();
        let within = match fluid {
            Fluid::Water => [5e-5, 8e-4, 1.3e-3, 8e-4],
            Fluid::Mixture { .. } => [1.1e-3; 4],
        };
        let ours = [
            ("density", found.density.in_kilograms_per_cubic_metre()),
            ("specific_heat", found.specific_heat.in_joules_per_kilogram_kelvin()),
            ("viscosity", found.viscosity.in_pascal_seconds()),
            ("conductivity", found.conductivity.in_watts_per_metre_kelvin()),
        ];
        for ((name, ours), within) in ours.into_iter().zip(within) {
            for theirs in rows(&row[name]) {
                near(&format!("{name} of {row}"), ours, number(theirs), within);
            }
        }
    }
}

#[test]
fn friction_agrees_with_fluids() {
    for row in rows(&file()["friction"]) {
        let [roughness, reynolds, theirs] = [0, 1, 2].map(|at| number(&row[at]));
        near(&row.to_string(), friction_factor(reynolds, roughness).unwrap(), theirs, 4e-5);
    }
}

fn line(of: &Value, fluid: &Properties) -> Line {
    let millimetres = |key: &str| Length::millimetres(number(&of[key]));
    let run = Run {
        half_turns: of["half_turns"].as_u64().unwrap_or_default() as u32,
        fittings: of["fittings"].as_f64().unwrap_or_default(),
        ..Run::straight(Length::metres(number(&of["length"])), millimetres("bore_mm"), millimetres("roughness_mm"))
    };
    let valves = of["kv"].as_array().map_or_else(|| vec![number(&of["kv"])], |all| all.iter().map(number).collect());
    let with = |line: Line, kv: f64| line.with_valve(FlowCoefficient::cubic_metres_per_hour(kv)).unwrap();
    valves.into_iter().fold(Line::new(&run, fluid).unwrap(), with)
}

/// EPANET takes Swamee–Jain and another bridge between laminar and turbulent, which is up to 2 % of the friction factor
/// and so 1 % of a flow; where all its flow is laminar, only its single precision is left.
#[test]
fn manifolds_agree_with_epanet() {
    let file = file();
    let (mut loops_seen, mut laminar_seen, mut worst) = (0, 0, 0.0f64);
    for (at, plant) in rows(&file["plants"]).iter().enumerate() {
        let fluid = Properties {
            density: Density::kilograms_per_cubic_metre(number(&plant["density"])),
            viscosity: Viscosity::pascal_seconds(number(&plant["viscosity"])),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin(4180.0),
            conductivity: Conductivity::watts_per_metre_kelvin(0.6),
        };
        let manifolds = rows(&plant["manifolds"]);
        let lines: Vec<Vec<Option<Line>>> = manifolds
            .iter()
            .map(|it| {
                let loops = rows(&it["loops"]).iter();
                loops.map(|it| (!it["shut"].as_bool().unwrap()).then(|| line(it, &fluid))).collect()
            })
            .collect();
        let points: Vec<(VolumeFlow, Pressure)> = plant["pump"]["curve"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|it| {
                let flow = VolumeFlow::cubic_metres_per_second(number(&it[0]));
                (flow, Pressure::pascals(number(&it[1])))
            })
            .collect();
        let head = match plant["pump"]["constant_pa"].as_f64() {
            Some(pascals) => Head::Constant(Pressure::pascals(pascals)),
            None => Head::Curve(PumpCurve::new(&points).unwrap()),
        };
        let standing: Vec<Standing> = manifolds
            .iter()
            .zip(&lines)
            .map(|(it, loops)| {
                let common = Some(&it["common"]).filter(|it| !it.is_null()).map(|it| line(it, &fluid));
                Standing { loops, common, head, density: None }
            })
            .collect();
        let found: Vec<Operation> = match &standing[..] {
            [alone] => vec![alone.solve().unwrap()],
            several => side_by_side(several, head).unwrap(),
        };
        for ((found, theirs), lines) in found.iter().zip(rows(&plant["is"])).zip(&lines) {
            let what = format!("plant {at}");
            near(&format!("{what}, pressure"), found.across.in_pascals(), number(&theirs["across"]), 0.02);
            for (line, theirs) in lines.iter().zip(rows(&theirs["flows"])) {
                let Some(line) = line else {
                    assert!(theirs.is_null());
                    continue;
                };
                let theirs = number(theirs);
                let ours = line.mass_flow(found.across).unwrap();
                let reynolds = line.pressure_drop(ours).unwrap().reynolds;
                let ours = ours.in_kilograms_per_second();
                near(&format!("{what}, flow at Re {reynolds:.0}"), ours, theirs, 0.012);
                // A laminar loop at the very pressure that EPANET has across the manifold.
                loops_seen += 1;
                worst = worst.max((ours / theirs - 1.0).abs());
                if reynolds < 1950.0 {
                    let across = Pressure::pascals(number(&rows(&plant["is"])[0]["across"]));
                    if standing.len() == 1 {
                        laminar_seen += 1;
                        let ours = line.mass_flow(across).unwrap().in_kilograms_per_second();
                        near(&format!("{what}, laminar flow"), ours, theirs, 2e-4);
                    }
                }
            }
        }
    }
    assert!(
        loops_seen > 200 && laminar_seen > 5 && worst < 0.01,
        "{loops_seen}, {laminar_seen} laminar, worst {worst}"
    );
}
