//! What a whole check costs, against a bare libyaml event loop over the same bytes. Run with `cargo bench -p tests`.

use check::{Job, check};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// A design without errors of so many rooms with a loop each, drawn with 28 points: about 1.2 kB a loop.
fn design(loops: usize) -> String {
    let mut text = String::from(
        "format: 1
project: {name: Bench, reference: B-1, revision: P1, stage: for comment, issued: 2026-05-04, designer: A, checker: B}
site: {outdoor-temperature: -3 °C, ground-temperature: 10 °C, jurisdiction: England}
heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K}
safety: {limit-thermostat: {setting: 45 °C, independent: true, without-power: true}, safety-valve: 3 bar}
floors:
  screeded:
    method: clipped-in-screed
    below: ground
    base: {kind: slab, flatness: 3 mm}
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - {material: cement screed, thickness: 65 mm, pipe: at base, screed: sand-cement}
      - {material: polyethylene membrane, thickness: 0.2 mm}
      - {material: PIR board, thickness: 130 mm, conductivity: 0.022 W/(m·K)}
      - {material: damp-proof membrane, thickness: 0.3 mm}
      - {material: concrete slab, thickness: 150 mm}
    edge-strip: {thickness: 10 mm, complete: true}
",
    );
    let vessel = 12 + 4 * loops;
    let _ = writeln!(
        text,
        "water: {{working-pressure: 1.5 bar, expansion-vessel: {{volume: {vessel} l, charge-pressure: 1 bar, static-height: 4 m}}}}"
    );
    let corner = |it: usize| ((it % 10) as f64 * 5.0, (it / 10) as f64 * 5.0);
    text.push_str("rooms:\n");
    for it in 0..loops {
        let (x, y) = corner(it);
        let (right, top, loss) = (x + 3.6, y + 2.4, 350 + it * 7 % 60);
        let _ = writeln!(
            text,
            "  room-{it}: {{use: living, temperature: 20 °C, heat-loss: {loss} W, heat-loss-method: room by room, floor: screeded, height: 2.4 m, keep-clear: none,\n    \
             outline: [[{x:.2}, {y:.2}], [{right:.2}, {y:.2}], [{right:.2}, {top:.2}], [{x:.2}, {top:.2}]]}}"
        );
    }
    text.push_str("controls:\n  zones:\n");
    for it in 0..loops {
        let _ = writeln!(
            text,
            "    Z{it}: {{rooms: [room-{it}], thermostat: {{feels: air, height: 1.3 m}}, always-open: true}}"
        );
    }
    text.push_str("walls:\n");
    for it in 0..loops {
        let (x, y) = corner(it);
        let (y, right) = (y - 0.05, x + 3.6);
        let _ = writeln!(text, "  W{it}: {{line: [[{x:.2}, {y:.2}], [{right:.2}, {y:.2}]], thickness: 100 mm}}");
    }
    text.push_str("manifolds:\n");
    for it in 0..loops {
        let (x, y) = corner(it);
        let (x, y) = (x + 0.15, y - 0.4);
        let _ = writeln!(
            text,
            "  M{it}: {{at: [{x:.2}, {y:.2}], ports: 2, flow-gauge: 0.5 to 5 l/min, pump: {{head: 30 kPa}}}}"
        );
    }
    text.push_str("loops:\n");
    for it in 0..loops {
        let (x, y) = corner(it);
        let _ = write!(
            text,
            "  L{it}:\n    manifold: M{it}\n    port: 1\n    room: room-{it}\n    pipe: multilayer 16 x 2\n    \
             spacing: 200 mm\n    sleeves: [W{it}]\n    route:\n"
        );
        let mut points = vec![(x + 0.3, y - 0.4)];
        for row in 0..12 {
            let level = y + 0.1 + 0.2 * f64::from(row);
            let (from, to) = if row % 2 == 0 { (0.3, 3.5) } else { (3.5, 0.3) };
            points.push((x + from, level));
            points.push((x + if row == 11 { 0.1 } else { to }, level));
        }
        points.extend([(x + 0.1, y + 0.3), (x + 0.1, y + 0.1), (x + 0.1, y - 0.4)]);
        for (x, y) in points {
            let _ = writeln!(text, "      - [{x:.3}, {y:.3}]");
        }
    }
    text
}

/// The same with three faults in each room, and remedies for some of them.
fn faulty(loops: usize) -> String {
    design(loops)
        .replace("spacing: 200 mm", "spacing: 150 mm")
        .replace("    sleeves: ", "    # sleeves: ")
        .replace("actuators: 1, ", "")
}

/// The same with nothing drawn: each loop is laid out by the program.
fn laid_out(loops: usize) -> String {
    let drawn = design(loops);
    let mut text = String::new();
    for line in drawn.lines() {
        match line.trim() {
            "route:" => text.push_str("    layout: spiral\n"),
            point if point.starts_with("- [") && point.ends_with(']') => {}
            _ => {
                text.push_str(line);
                text.push('\n');
            }
        }
    }
    text
}

const SIZES: [usize; 3] = [10, 100, 1000];

#[divan::bench(args = SIZES)]
fn libyaml_events(bencher: divan::Bencher, loops: usize) {
    let text = design(loops);
    bencher.bench(|| {
        let mut parser = libyaml_safer::Parser::new();
        let mut bytes = text.as_bytes();
        parser.set_input_string(&mut bytes);
        let mut events = 0;
        loop {
            let event = parser.parse().expect("the bench's own text is YAML");
            events += 1;
            if matches!(event.data, libyaml_safer::EventData::StreamEnd) {
                break events;
            }
        }
    });
}

#[divan::bench(args = SIZES)]
fn read(bencher: divan::Bencher, loops: usize) {
    let text = design(loops);
    bencher.bench(|| design::read("bench.ufh.yaml", text.as_bytes(), &|path| Err(path.to_string())).faults.len());
}

/// What a keystroke costs: everything but the trials of remedies.
#[divan::bench(args = SIZES)]
fn without_remedies(bencher: divan::Bencher, loops: usize) {
    let text = design(loops);
    bencher.bench(|| checked(&text, false));
}

#[divan::bench(args = SIZES)]
fn whole_check(bencher: divan::Bencher, loops: usize) {
    let text = design(loops);
    bencher.bench(|| checked(&text, true));
}

/// The same with something to find in every room.
#[divan::bench(args = SIZES)]
fn whole_check_faulty(bencher: divan::Bencher, loops: usize) {
    let text = faulty(loops);
    bencher.bench(|| checked(&text, true));
}

/// The same with loops that the program lays out.
#[divan::bench(args = SIZES)]
fn whole_check_laid_out(bencher: divan::Bencher, loops: usize) {
    let text = laid_out(loops);
    bencher.bench(|| checked(&text, true));
}

/// How many findings a check gives.
fn checked(text: &str, remedies: bool) -> usize {
    let job = Job {
        path: "bench.ufh.yaml",
        bytes: text.as_bytes(),
        files: &|path| Err(path.to_string()),
        house_standard: None,
        today: jiff::civil::date(2026, 6, 1),
        remedies,
    };
    check(&job).findings.len()
}
