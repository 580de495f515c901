use super::super::point::tests::{Numbers, points};
use super::super::{Run, coverage, route_meetings};
use super::*;
use std::fmt::Write;

fn outline(pairs: &[(f64, f64)]) -> Outline {
    Outline::new(&points(pairs)).unwrap()
}

fn asked<'a>(room: &'a Outline, things: &'a [(&'a Outline, Length)], pattern: Pattern, spacing: f64) -> Asked<'a> {
    Asked {
        room,
        things,
        pattern,
        spacing: Length::millimetres(spacing),
        least_edge: Length::millimetres(58.0),
        bend_radius: Length::millimetres(75.0),
        entry: None,
    }
}

/// For the eye: SVGs of some fields, where a folder is named.
#[test]
fn show() {
    let Ok(folder) = std::env::var("SHOW_LAYOUTS") else { return };
    for (name, room, things, entry) in plans() {
        let things: Vec<(&Outline, Length)> = things.iter().map(|it| (it, Length::millimetres(75.0))).collect();
        for pattern in [Pattern::Meander, Pattern::Spiral] {
            for (spacing, radius) in [(150.0, 75.0), (150.0, 80.0), (100.0, 80.0), (200.0, 80.0)] {
                let mut asked = asked(&room, &things, pattern, spacing);
                asked.bend_radius = Length::millimetres(radius);
                asked.entry = Some(entry);
                let found = field(&asked);
                let Ok(field) = found else {
                    println!("{name} {pattern:?} {spacing}: {found:?}");
                    continue;
                };
                let run = Run { route: &field.route, stretch: field.route.whole(), spacing: asked.spacing };
                let clear: Vec<&Outline> = things.iter().map(|it| it.0).collect();
                let share = coverage(&room, &clear, &[run]).unwrap().covered.in_percent();
                let meetings = route_meetings(&[&field.route]).all.len();
                let about = format!(
                    "{name} {pattern:?} {spacing}/{radius}: as {:?} {:.1} mm, {share:.1} %, {:.1} m (area/spacing {:.1}), tight {}, narrow {:.2}, cut off {:.2}, meetings {meetings}",
                    field.pattern,
                    field.spacing.in_millimetres(),
                    field.route.length().in_metres(),
                    room.area().in_square_metres() / spacing * 1e3,
                    field.tight_turns,
                    field.too_narrow.in_square_metres(),
                    field.cut_off.in_square_metres(),
                );
                println!("{about}");
                let mut svg = String::new();
                let bounds = room.bounds();
                let (wide, high) = (bounds.high.x - bounds.low.x + 0.4, bounds.high.y - bounds.low.y + 0.4);
                let _ = write!(svg, "<svg xmlns='http://www.w3.org/2000/svg' viewBox='{} {} {wide} {high}' width='{}'><rect x='-50' y='-50' width='100' height='100' fill='white'/>", bounds.low.x - 0.2, -bounds.high.y - 0.2, wide * 130.0);
                let path = |points: &[Point]| points.iter().map(|it| format!("{},{} ", it.x, -it.y)).collect::<String>();
                let _ = write!(svg, "<polygon points='{}' fill='#eee' stroke='black' stroke-width='.02'/>", path(room.corners()));
                for (thing, _) in &things {
                    let _ = write!(svg, "<polygon points='{}' fill='#999' stroke='black' stroke-width='.01'/>", path(thing.corners()));
                }
                let _ = write!(svg, "<polyline points='{}' fill='none' stroke='#c00' stroke-width='.016'/>", path(field.route.points()));
                let _ = write!(svg, "<circle cx='{}' cy='{}' r='.05' fill='blue'/>", entry.x, -entry.y);
                let _ = write!(svg, "<text x='{}' y='{}' font-size='.12'>{about}</text></svg>", bounds.low.x - 0.1, -bounds.high.y - 0.05);
                std::fs::write(format!("{folder}/{name}-{pattern:?}-{spacing}-{radius}.svg"), svg).unwrap();
            }
        }
    }
}

fn plans() -> Vec<(&'static str, Outline, Vec<Outline>, Point)> {
    let rect = |x: f64, y: f64, w: f64, h: f64| outline(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]);
    vec![
        ("rect", rect(0.0, 0.0, 4.2, 2.75), vec![], Point::new(0.0, 1.0)),
        ("big", rect(0.0, 0.0, 5.0, 4.0), vec![], Point::new(2.0, 0.0)),
        ("ell", outline(&[(0., 0.), (5., 0.), (5., 2.2), (2.4, 2.2), (2.4, 4.5), (0., 4.5)]), vec![], Point::new(2.4, 4.0)),
        ("you", outline(&[(0., 0.), (6., 0.), (6., 3.5), (4., 3.5), (4., 1.7), (2., 1.7), (2., 3.5), (0., 3.5)]), vec![], Point::new(3.0, 0.0)),
        ("tee", outline(&[(0., 3.), (6., 3.), (6., 5.), (4., 5.), (4., 6.5), (2., 6.5), (2., 5.), (0., 5.)]), vec![], Point::new(3.0, 3.0)),
        ("trapezoid", outline(&[(0., 0.), (5., 0.), (4., 3.5), (0.7, 2.5)]), vec![], Point::new(2.0, 0.0)),
        ("island", rect(0.0, 0.0, 5.0, 4.0), vec![rect(2.0, 1.5, 1.2, 0.8)], Point::new(0.0, 2.0)),
        ("column", rect(0.0, 0.0, 5.0, 4.0), vec![rect(1.5, 2.5, 0.3, 0.3), rect(3.5, 1.2, 0.3, 0.3)], Point::new(5.0, 2.0)),
        ("star", outline(&[(3., 0.), (3.9, 1.9), (6., 2.2), (4.5, 3.6), (4.9, 5.7), (3., 4.7), (1.1, 5.7), (1.5, 3.6), (0., 2.2), (2.1, 1.9)]), vec![], Point::new(3.0, 0.0)),
        ("breast", outline(&[(0., 0.), (4.5, 0.), (4.5, 3.6), (2.8, 3.6), (2.8, 3.2), (1.6, 3.2), (1.6, 3.6), (0., 3.6)]), vec![], Point::new(0.0, 1.0)),
        ("corridor", rect(0.0, 0.0, 6.0, 1.0), vec![], Point::new(0.0, 0.5)),
        ("small", rect(0.0, 0.0, 1.6, 2.0), vec![], Point::new(0.0, 0.5)),
    ]
}
