use super::super::point::tests::{Numbers, points};
use super::super::route_meetings;
use super::*;
use std::fmt::Write;

fn outline(pairs: &[(f64, f64)]) -> Outline {
    Outline::new(&points(pairs)).unwrap()
}

fn wanted(pattern: Pattern, spacing: f64, radius: f64) -> Wanted {
    Wanted {
        room: 0,
        pattern,
        spacing: Length::millimetres(spacing),
        bend_radius: Length::millimetres(radius),
        least_edge: Length::millimetres(58.0),
        area: None,
        manifold: None,
    }
}

fn floor<'a>(outline: &'a Outline, things: &'a [Outline]) -> Floor<'a> {
    let keep_clear = things.iter().map(|it| (it, Length::millimetres(58.0))).collect();
    Floor { outline, keep_clear, things: Vec::new(), bays: Vec::new() }
}

fn draw(name: &str, floors: &[Floor], passages: &[Passage], wanted: &[Wanted]) {
    let Ok(folder) = std::env::var("SHOW_LAYOUTS") else { return };
    let storey = Storey { floors: floors.to_vec(), passages: passages.to_vec(), drawn: Vec::new() };
    let laid = lay_out(&storey, wanted);
    let bounds = floors.iter().map(|it| it.outline.bounds()).reduce(|one, other| one.join(&other)).unwrap();
    let mut svg = String::new();
    let (wide, high) = (bounds.high.x - bounds.low.x + 0.4, bounds.high.y - bounds.low.y + 0.4);
    let _ = write!(
        svg,
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='{} {} {wide} {high}' width='{}'><rect x='-50' y='-50' width='100' height='100' fill='white'/>",
        bounds.low.x - 0.2,
        -bounds.high.y - 0.2,
        wide * 130.0
    );
    let path = |points: &[Point]| points.iter().map(|it| format!("{},{} ", it.x, -it.y)).collect::<String>();
    for floor in floors {
        let _ = write!(
            svg,
            "<polygon points='{}' fill='#eee' stroke='black' stroke-width='.02'/>",
            path(floor.outline.corners())
        );
        for (thing, _) in &floor.keep_clear {
            let _ = write!(svg, "<polygon points='{}' fill='#999'/>", path(thing.corners()));
        }
    }
    for passage in passages {
        let _ =
            write!(svg, "<polyline points='{}' stroke='#8c8' stroke-width='.12'/>", path(&[passage.from, passage.to]));
    }
    for (number, laid) in laid.iter().enumerate() {
        let Ok(laid) = laid else {
            println!("{name} {number}: {laid:?}");
            continue;
        };
        let about = format!(
            "{name} {number}: changed {:?} {:.1} mm, {:.1} %, {:.1} m, tight {} {:?} {:?}",
            laid.changed_pattern,
            laid.spacing.in_millimetres(),
            laid.covered.in_percent(),
            laid.route.length().in_metres(),
            laid.tight_turns,
            laid.without_tails,
            laid.uncovered,
        );
        println!("{about}");
        let colour = ["#c00", "#06c", "#080", "#a0a", "#c60", "#088"][number % 6];
        let _ = write!(
            svg,
            "<polyline points='{}' fill='none' stroke='{colour}' stroke-width='.016'/>",
            path(laid.route.points())
        );
        let y = -bounds.high.y - 0.1 + 0.08 * number as f64;
        let _ = write!(svg, "<text x='{}' y='{y}' font-size='.08'>{about}</text>", bounds.low.x - 0.1);
    }
    let all: Vec<&Route> = laid.iter().flatten().map(|laid| &laid.route).collect();
    println!("{name}: {} meetings", route_meetings(&all).all.len());
    svg.push_str("</svg>");
    std::fs::write(format!("{folder}/{name}.svg"), svg).unwrap();
}

/// For the eye: drawings of some floors, where a folder is named.
#[test]
fn show() {
    for (name, room, things, _) in plans() {
        for pattern in [Pattern::Meander, Pattern::Spiral] {
            for (spacing, radius) in [(150.0, 75.0), (150.0, 80.0), (100.0, 80.0), (200.0, 80.0)] {
                let name = format!("{name}-{pattern:?}-{spacing}-{radius}");
                draw(&name, &[floor(&room, &things)], &[], &[wanted(pattern, spacing, radius)]);
            }
        }
    }
    let rect = |x: f64, y: f64, w: f64, h: f64| outline(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]);
    let (hall, one, two) = (rect(0.0, 0.0, 1.5, 5.6), rect(1.6, 0.0, 4.2, 2.75), rect(1.6, 2.85, 4.2, 2.75));
    let floors = [floor(&hall, &[]), floor(&one, &[]), floor(&two, &[])];
    let door = |rooms: [usize; 2], from: (f64, f64), to: (f64, f64)| Passage {
        rooms,
        from: Point::new(from.0, from.1),
        to: Point::new(to.0, to.1),
        depth: Length::millimetres(100.0),
        only: None,
    };
    let doors = [door([0, 1], (1.55, 1.0), (1.55, 1.9)), door([0, 2], (1.55, 3.9), (1.55, 4.8))];
    let to = |room: usize, pattern: Pattern, spacing: f64| Wanted {
        room,
        manifold: Some(Point::new(0.2, 2.8)),
        ..wanted(pattern, spacing, 64.0)
    };
    use Pattern::{Meander, Spiral};
    draw("house-2", &floors, &doors, &[to(1, Meander, 150.0), to(2, Spiral, 150.0)]);
    draw("house-3", &floors, &doors, &[to(1, Spiral, 150.0), to(2, Spiral, 150.0), to(0, Spiral, 150.0)]);
    draw(
        "house-4",
        &floors,
        &doors,
        &[to(1, Meander, 100.0), to(1, Meander, 100.0), to(2, Spiral, 100.0), to(2, Spiral, 100.0)],
    );
    let (hall, a, b, c) =
        (rect(0.0, 0.0, 8.0, 1.4), rect(0.0, 1.5, 4.0, 3.5), rect(4.1, 1.5, 3.9, 3.5), rect(0.0, -4.1, 8.0, 4.0));
    let floors = [floor(&hall, &[]), floor(&a, &[]), floor(&b, &[]), floor(&c, &[])];
    let doors = [
        door([0, 1], (2.0, 1.45), (2.9, 1.45)),
        door([0, 2], (5.5, 1.45), (6.4, 1.45)),
        door([0, 3], (3.5, -0.05), (4.4, -0.05)),
    ];
    let to = |room: usize, pattern: Pattern, spacing: f64| Wanted {
        room,
        manifold: Some(Point::new(0.1, 0.7)),
        ..wanted(pattern, spacing, 64.0)
    };
    let all = [
        to(1, Meander, 150.0),
        to(2, Spiral, 150.0),
        to(3, Spiral, 200.0),
        to(3, Meander, 200.0),
        to(3, Meander, 200.0),
    ];
    draw("flat-5", &floors, &doors, &all);
}

fn plans() -> Vec<(&'static str, Outline, Vec<Outline>, Point)> {
    let rect = |x: f64, y: f64, w: f64, h: f64| outline(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]);
    vec![
        ("rect", rect(0.0, 0.0, 4.2, 2.75), vec![], Point::new(0.0, 1.0)),
        ("big", rect(0.0, 0.0, 5.0, 4.0), vec![], Point::new(2.0, 0.0)),
        (
            "ell",
            outline(&[(0., 0.), (5., 0.), (5., 2.2), (2.4, 2.2), (2.4, 4.5), (0., 4.5)]),
            vec![],
            Point::new(2.4, 4.0),
        ),
        (
            "you",
            outline(&[(0., 0.), (6., 0.), (6., 3.5), (4., 3.5), (4., 1.7), (2., 1.7), (2., 3.5), (0., 3.5)]),
            vec![],
            Point::new(3.0, 0.0),
        ),
        (
            "tee",
            outline(&[(0., 3.), (6., 3.), (6., 5.), (4., 5.), (4., 6.5), (2., 6.5), (2., 5.), (0., 5.)]),
            vec![],
            Point::new(3.0, 3.0),
        ),
        ("trapezoid", outline(&[(0., 0.), (5., 0.), (4., 3.5), (0.7, 2.5)]), vec![], Point::new(2.0, 0.0)),
        ("island", rect(0.0, 0.0, 5.0, 4.0), vec![rect(2.0, 1.5, 1.2, 0.8)], Point::new(0.0, 2.0)),
        (
            "column",
            rect(0.0, 0.0, 5.0, 4.0),
            vec![rect(1.5, 2.5, 0.3, 0.3), rect(3.5, 1.2, 0.3, 0.3)],
            Point::new(5.0, 2.0),
        ),
        (
            "star",
            outline(&[
                (3., 0.),
                (3.9, 1.9),
                (6., 2.2),
                (4.5, 3.6),
                (4.9, 5.7),
                (3., 4.7),
                (1.1, 5.7),
                (1.5, 3.6),
                (0., 2.2),
                (2.1, 1.9),
            ]),
            vec![],
            Point::new(3.0, 0.0),
        ),
        (
            "breast",
            outline(&[(0., 0.), (4.5, 0.), (4.5, 3.6), (2.8, 3.6), (2.8, 3.2), (1.6, 3.2), (1.6, 3.6), (0., 3.6)]),
            vec![],
            Point::new(0.0, 1.0),
        ),
        ("corridor", rect(0.0, 0.0, 6.0, 1.0), vec![], Point::new(0.0, 0.5)),
        ("small", rect(0.0, 0.0, 1.6, 2.0), vec![], Point::new(0.0, 0.5)),
    ]
}
