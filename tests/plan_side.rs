//! What the plan side of a check costs from ten to ten thousand loops. Run with `cargo bench -p tests --bench plan_side`.
//!
//! Each loop has its room, its wall and 28 points; the times ought to grow no worse than n log n.

use check::{Job, check};
use engineering::plan::{Areas, Line, Lines, Outline, Point, Route, cut_floors, least_between, lying_together};
use engineering::plan::{overlaps, pipe_gaps, pipe_meetings, route_meetings};
use quantity::Length;
use std::fmt::Write;

fn main() {
    divan::main();
}

const SIZES: [usize; 4] = [10, 100, 1000, 10_000];

/// A room of 3.6 m by 2.1 m, the wall south of it, and a meander from south of the wall and back.
struct Part {
    room: [Point; 4],
    wall: [Point; 2],
    manifold: Point,
    route: Vec<Point>,
}

/// So many of them, in rows, as square as can be.
fn parts(loops: usize) -> Vec<Part> {
    let wide = (loops as f64).sqrt().ceil() as usize;
    let part = |number: usize| {
        let (x, y) = ((number % wide) as f64 * 5.0, (number / wide) as f64 * 5.0);
        let at = |along: f64, up: f64| Point::new(x + along, y + up);
        let mut route = vec![at(0.25, -0.4)];
        for row in 0..12 {
            let level = 0.1 + 0.15 * f64::from(row);
            let (from, to) = if row % 2 == 0 { (0.25, 3.5) } else { (3.5, 0.25) };
            route.extend([at(from, level), at(if row == 11 { 0.1 } else { to }, level)]);
        }
        route.extend([at(0.1, 0.3), at(0.1, 0.1), at(0.1, -0.4)]);
        Part {
            room: [at(0.0, 0.0), at(3.6, 0.0), at(3.6, 2.1), at(0.0, 2.1)],
            wall: [at(0.0, -0.05), at(3.6, -0.05)],
            manifold: at(0.15, -0.4),
            route,
        }
    };
    (0..loops).map(part).collect()
}

/// The same in one room, each loop in its own corner of it.
fn in_one_room(loops: usize) -> (Outline, Vec<Route>) {
    let parts = parts(loops);
    let wide = (loops as f64).sqrt().ceil() * 5.0;
    let corners = [(-1.0, -1.0), (wide, -1.0), (wide, wide), (-1.0, wide)].map(|(x, y)| Point::new(x, y));
    (Outline::new(&corners).expect("a square"), routes(&parts))
}

fn outlines(parts: &[Part]) -> Vec<Outline> {
    parts.iter().map(|part| Outline::new(&part.room).expect("a rectangle")).collect()
}

fn routes(parts: &[Part]) -> Vec<Route> {
    parts.iter().map(|part| Route::new(&part.route).expect("a meander")).collect()
}

/// Where pipes cross each other and themselves, and come too near to each other, with their bends.
#[divan::bench(args = SIZES)]
fn meetings_and_gaps_of_pipes(bencher: divan::Bencher, loops: usize) {
    let (outside, radius) = (Length::millimetres(16.0), Length::millimetres(80.0));
    let routes = routes(&parts(loops));
    let routes: Vec<&Route> = routes.iter().collect();
    bencher.bench(|| {
        let bent: Vec<_> = routes.iter().map(|route| route.bent(radius)).collect();
        let lying = lying_together(&bent, least_between(outside));
        let pipes: Vec<_> = lying.iter().map(|it| (it, outside)).collect();
        pipe_meetings(&routes, &lying).all.len() + pipe_gaps(&pipes, Length::ZERO).all.len()
    });
}

/// One route of as many legs, to and fro across a hall.
#[divan::bench(args = SIZES)]
fn one_long_route(bencher: divan::Bencher, loops: usize) {
    let runs = 0..loops * 14;
    let point = |run: usize| {
        let (x, y) = (0.15 * run as f64, 20.0);
        if run.is_multiple_of(2) { [(x, 0.0), (x, y)] } else { [(x, y), (x, 0.0)] }
    };
    let points: Vec<Point> = runs.flat_map(point).map(|(x, y)| Point::new(x, y)).collect();
    let route = Route::new(&points).expect("a meander");
    bencher.bench(|| route_meetings(&[&route]).all.len());
}

/// Which rooms the routes run through, walls passed and all.
#[divan::bench(args = SIZES)]
fn rooms_and_walls(bencher: divan::Bencher, loops: usize) {
    let parts = parts(loops);
    let (outlines, routes) = (outlines(&parts), routes(&parts));
    bencher.bench(|| {
        let areas = Areas::new(&outlines);
        let walls = Lines::new(parts.iter().map(|part| Line::Open(&part.wall)));
        let of_one = |route: &Route| areas.pieces(route).len() + walls.meetings(route).all.len();
        routes.iter().map(of_one).sum::<usize>()
    });
}

/// What the routes come near to.
#[divan::bench(args = SIZES)]
fn distances(bencher: divan::Bencher, loops: usize) {
    let parts = parts(loops);
    let routes = routes(&parts);
    bencher.bench(|| {
        let edges = Lines::new(parts.iter().map(|part| Line::Closed(&part.room)));
        let near = |route: &Route| edges.clearances(route, [route.whole()], Length::millimetres(70.0)).len();
        routes.iter().map(near).sum::<usize>()
    });
}

/// All routes in one room.
#[divan::bench(args = SIZES)]
fn one_room(bencher: divan::Bencher, loops: usize) {
    let (room, routes) = in_one_room(loops);
    bencher.bench(|| {
        let areas = Areas::new([&room]);
        routes.iter().map(|route| areas.pieces(route).len()).sum::<usize>()
    });
}

/// The screed of all rooms cut along as many joints, and rooms held against each other.
#[divan::bench(args = SIZES)]
fn bays_and_overlaps(bencher: divan::Bencher, loops: usize) {
    let parts = parts(loops);
    let outlines = outlines(&parts);
    let outlines: Vec<&Outline> = outlines.iter().collect();
    let joint = |part: &Part| {
        let [a, b, c, _] = part.room;
        [Point::new((a.x + b.x) / 2.0, a.y), Point::new((a.x + b.x) / 2.0, c.y)]
    };
    let joints: Vec<[Point; 2]> = parts.iter().map(joint).collect();
    let joints: Vec<&[Point]> = joints.iter().map(|joint| &joint[..]).collect();
    bencher.bench(|| cut_floors(&outlines, &joints, Length::millimetres(20.0)).len() + overlaps(&outlines).len());
}

/// The same plans as a design.
fn design(loops: usize) -> String {
    let mut text = String::from(
        "format: 1
heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
floors:
  screeded:
    method: clipped-in-screed
    below: ground
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - {material: cement screed, thickness: 65 mm, pipe: at base, screed: sand-cement}
      - {material: PIR board, thickness: 130 mm, conductivity: 0.022 W/(m·K)}
",
    );
    let point = |it: &Point| format!("[{:.3}, {:.3}]", it.x, it.y);
    let list = |points: &[Point]| points.iter().map(point).collect::<Vec<_>>().join(", ");
    let parts = parts(loops);
    let mut block = |key: &str, line: &dyn Fn(usize, &Part) -> String| {
        let _ = writeln!(text, "{key}:");
        for (number, part) in parts.iter().enumerate() {
            let _ = writeln!(text, "  {}", line(number, part));
        }
    };
    block("rooms", &|number, part| {
        format!("R{number}: {{temperature: 20 °C, heat-loss: 380 W, floor: screeded, outline: [{}]}}", list(&part.room))
    });
    block("walls", &|number, part| format!("W{number}: {{line: [{}], thickness: 100 mm}}", list(&part.wall)));
    block("manifolds", &|number, part| format!("M{number}: {{at: {}, ports: 2}}", point(&part.manifold)));
    block("loops", &|number, part| {
        format!(
            "L{number}: {{manifold: M{number}, port: 1, room: R{number}, pipe: multilayer 16 x 2, spacing: 150 mm, \
             sleeves: [W{number}], route: [{}]}}",
            list(&part.route)
        )
    });
    text
}

/// All that is worked out of a design, reading not counted.
#[divan::bench(args = SIZES, sample_count = 10)]
fn all_workings(bencher: divan::Bencher, loops: usize) {
    let design = design::read("bench.ufh.yaml", design(loops).as_bytes(), &|path| Err(path.to_string())).design;
    bencher.bench(|| workings::work_out(&design).loops.len());
}

/// The plan on paper, the check not counted.
#[divan::bench(args = SIZES, sample_count = 3)]
fn drawing(bencher: divan::Bencher, loops: usize) {
    let text = design(loops);
    let job = Job {
        path: "bench.ufh.yaml",
        bytes: text.as_bytes(),
        files: &|path| Err(path.to_string()),
        house_standard: None,
        today: jiff::civil::date(2026, 6, 1),
        remedies: false,
    };
    let outcome = check(&job);
    bencher.bench(|| report::plan::svg(&outcome, None, true).map(|svg| svg.len()));
}
