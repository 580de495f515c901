//! What it costs to solve a manifold as it stands: solves a second, by loops. Run with `cargo bench -p tests`.

use divan::counter::ItemsCount;
use engineering::water::fluids::Fluid;
use engineering::water::manifold::{Duty, Standing, balance, side_by_side};
use engineering::water::pipe_friction::{Line, Run};
use engineering::water::pump::{Head, PumpCurve};
use quantity::{FlowCoefficient, Length, MassFlow, Pressure, Temperature, VolumeFlow};

fn main() {
    divan::main();
}

const KV: fn(f64) -> FlowCoefficient = FlowCoefficient::cubic_metres_per_hour;

/// Pipe 16 × 2 of 20 to 119 m with an actuator valve.
fn lines(loops: usize) -> Vec<Line> {
    let water = Fluid::Water.at(Temperature::celsius(36.0)).expect("36 °C is in range");
    let line = |at: usize| {
        let metres = 20.0 + (at * 37 % 100) as f64;
        let run = Run {
            half_turns: 10,
            ..Run::straight(Length::metres(metres), Length::millimetres(12.0), Length::millimetres(0.007))
        };
        Line::new(&run, &water).and_then(|line| line.with_valve(KV(2.5))).expect("a usual loop")
    };
    (0..loops).map(line).collect()
}

fn open(loops: usize) -> Vec<Option<Line>> {
    lines(loops).into_iter().map(|line| line.with_valve(KV(1.1)).ok()).collect()
}

/// A pump whose curve reaches as far as the loops need.
fn points(loops: usize) -> Vec<(VolumeFlow, Pressure)> {
    [(0.0, 40.0), (1.5, 35.0), (3.0, 25.0), (6.0, 1.0)]
        .map(|(litres, kilopascals)| {
            (VolumeFlow::litres_per_minute(litres * loops as f64), Pressure::kilopascals(kilopascals))
        })
        .to_vec()
}

#[divan::bench(args = [1, 12, 200])]
fn as_it_stands(bencher: divan::Bencher, loops: usize) {
    let (lines, points) = (open(loops), points(loops));
    let head = Head::Curve(PumpCurve::new(&points).expect("a falling curve"));
    bencher.counter(ItemsCount::new(1usize)).bench(|| {
        Standing { loops: divan::black_box(&lines), common: None, head, density: None }.solve().expect("it flows")
    });
}

#[divan::bench(args = [2, 4])]
fn on_one_pump(bencher: divan::Bencher, manifolds: usize) {
    let (lines, points) = (open(12), points(12 * manifolds));
    let head = Head::Curve(PumpCurve::new(&points).expect("a falling curve"));
    let standing: Vec<Standing> =
        (0..manifolds).map(|_| Standing { loops: &lines, common: lines[0], head, density: None }).collect();
    bencher
        .counter(ItemsCount::new(1usize))
        .bench(|| side_by_side(divan::black_box(&standing), head).expect("it flows"));
}

#[divan::bench(args = [12, 200])]
fn presettings(bencher: divan::Bencher, loops: usize) {
    let mass_flow = MassFlow::kilograms_per_second(0.028);
    let duties: Vec<Duty> =
        lines(loops).into_iter().map(|line| Duty { line, mass_flow, balancing_valve: KV(1.1) }).collect();
    bencher.counter(ItemsCount::new(1usize)).bench(|| {
        let balance = balance(divan::black_box(&duties)).expect("it flows");
        duties.iter().map(|duty| balance.kv(duty)).collect::<Vec<_>>()
    });
}
