//! Rooms of every kind, laid out.

use super::super::point::tests::{Numbers, points};
use super::super::route_meetings;
use super::*;

fn outline(pairs: &[(f64, f64)]) -> Outline {
    Outline::new(&points(pairs)).unwrap()
}

fn wanted(pattern: Pattern, spacing: f64, radius: f64) -> Wanted {
    Wanted {
        room: 0,
        also: Vec::new(),
        pattern,
        spacing: Length::millimetres(spacing),
        outside: Length::millimetres(16.0),
        bend_radius: Length::millimetres(radius),
        least_edge: Length::millimetres(58.0),
        area: None,
        manifold: None,
        drawn: None,
    }
}

fn floor(outline: &Outline, things: &[Outline]) -> Floor {
    let keep_clear = things.iter().map(|it| (it.clone(), Length::millimetres(58.0))).collect();
    Floor { outline: outline.clone(), keep_clear, things: Vec::new(), bays: Vec::new(), edge_zone: None }
}

fn rectangle(x: f64, y: f64, wide: f64, deep: f64) -> Outline {
    outline(&[(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])
}

/// A room of a kind with things to keep clear in it, of sizes as rooms have them.
fn random_room(kind: &str, numbers: &mut Numbers) -> (Outline, Vec<Outline>) {
    let (w, d) = (numbers.between(2.5, 7.0), numbers.between(2.5, 6.0));
    let (a, b) = (numbers.between(0.35, 0.6), numbers.between(0.35, 0.6));
    match kind {
        "rectangle" => (rectangle(0.0, 0.0, w, d), vec![]),
        "L" => (outline(&[(0., 0.), (w, 0.), (w, d * a), (w * b, d * a), (w * b, d), (0., d)]), vec![]),
        "U" => {
            let (left, right) = (w * 0.35, w * 0.65);
            let corners = [(0., 0.), (w, 0.), (w, d), (right, d), (right, d * a), (left, d * a), (left, d), (0., d)];
            (outline(&corners), vec![])
        }
        "T" => {
            let (left, right) = (w * 0.3, w * (0.3 + b));
            let corners =
                [(0., 0.), (w, 0.), (w, d * a), (right, d * a), (right, d), (left, d), (left, d * a), (0., d * a)];
            (outline(&corners), vec![])
        }
        "trapezoid" => {
            let corners = [
                (0., 0.),
                (w, 0.),
                (w - numbers.between(0.0, 1.0), d),
                (numbers.between(0.0, 1.0), d - numbers.between(0.0, 0.8)),
            ];
            (outline(&corners), vec![])
        }
        "star-shaped" => {
            // Every corner is seen from the middle; walls slope every way.
            let count = 5 + numbers.below(5);
            let corner = |number: u32, far: f64| {
                let angle = std::f64::consts::TAU * f64::from(number) / f64::from(count);
                (far * angle.cos(), far * angle.sin())
            };
            let corners: Vec<(f64, f64)> = (0..count).map(|number| corner(number, numbers.between(1.8, 3.2))).collect();
            (outline(&corners), vec![])
        }
        "island" => {
            let (wide, deep) = (numbers.between(0.6, 1.4), numbers.between(0.6, 1.2));
            let at = (
                numbers.between(0.7, w - wide - 0.2).min(w - wide),
                numbers.between(0.7, d - deep - 0.2).min(d - deep),
            );
            (rectangle(0.0, 0.0, w, d), vec![rectangle(at.0, at.1, wide, deep)])
        }
        _ => {
            let count = 1 + numbers.below(3);
            let column = |numbers: &mut Numbers| {
                rectangle(numbers.between(0.3, w - 0.6), numbers.between(0.3, d - 0.6), 0.3, 0.3)
            };
            (rectangle(0.0, 0.0, w, d), (0..count).map(|_| column(numbers)).collect())
        }
    }
}

const KINDS: [&str; 8] = ["rectangle", "L", "U", "T", "trapezoid", "star-shaped", "island", "columns"];

fn lay(room: &Outline, things: &[Outline], wanted: Wanted) -> Result<Laid, NoField> {
    let storey = Storey { floors: vec![floor(room, things)], ..Storey::default() };
    lay_out(&storey, &[wanted]).pop().unwrap()
}

/// 640 rooms of eight kinds, half of them meanders, half spirals: no route crosses itself, comes nearer to a wall or turns more
/// tightly than it may, its ends lie together, the same question has the same answer, and the floor is covered or it is said
/// why not: never less than five sixths.
#[test]
fn rooms_of_every_kind() {
    let mut numbers = Numbers(97);
    let mut enough = 0;
    for kind in KINDS {
        for pattern in [Pattern::Meander, Pattern::Spiral] {
            let mut covered = Vec::new();
            for _ in 0..40 {
                let (room, things) = random_room(kind, &mut numbers);
                let spacing = [100.0, 150.0, 200.0][numbers.below(3) as usize];
                let radius = [60.0, 75.0, 80.0][numbers.below(3) as usize];
                let wanted = wanted(pattern, spacing, radius);
                let laid = lay(&room, &things, wanted.clone()).unwrap_or_else(|no| panic!("{kind} {room:?}: {no}"));
                let about = format!("{kind} {pattern:?} {spacing}/{radius} {:?} {things:?}", room.corners());
                assert!(route_meetings(&[&laid.route]).all.is_empty(), "crosses itself: {about}");
                let least = wanted.least_edge - Length::millimetres(0.01);
                let near = std::iter::once(&room).chain(&things);
                for edge in near.filter_map(|outline| outline.clearance(&laid.route, [laid.route.whole()])) {
                    assert!(edge.distance >= least, "{} from the edge: {about}", edge.distance);
                }
                let points = laid.route.points();
                assert!(points.iter().all(|point| room.contains(*point)), "outside: {about}");
                assert!(
                    points[0].distance(points[points.len() - 1]) < Length::millimetres(120.0),
                    "ends apart: {about}"
                );
                assert_eq!(lay(&room, &things, wanted.clone()).unwrap().route, laid.route, "{about}");
                assert_eq!(laid.tight_turns, [], "{about}");
                assert_eq!(laid.covered >= ENOUGH_COVERED, laid.uncovered.is_empty(), "{about}");
                assert!(laid.covered >= Share::percent(83.0), "{} {:?}: {about}", laid.covered, laid.uncovered);
                enough += usize::from(laid.uncovered.is_empty());
                covered.push(laid.covered.in_percent());
            }
            covered.sort_by(f64::total_cmp);
            let middle = covered[20];
            assert!(middle >= 95.0, "{kind} {pattern:?}: median {middle}");
        }
    }
    assert!(enough >= 560, "{enough} of 640");
}

/// Drawn elsewhere, turned, mirrored or from another corner on, rooms of every kind get the congruent routes.
#[test]
fn rooms_drawn_otherwise_get_the_congruent_routes() {
    let mut numbers = Numbers(11);
    let (mut sin, mut cos) = 0.5f64.sin_cos();
    for round in 0..48 {
        let kind = KINDS[round % KINDS.len()];
        let (room, things) = random_room(kind, &mut numbers);
        let bounds = room.bounds();
        let beside = rectangle(bounds.high.x + 0.1, bounds.low.y, numbers.between(2.0, 4.0), 3.0);
        let door = bounds.low.y + numbers.between(0.3, 1.2);
        let passage = Passage {
            rooms: [0, 1],
            from: Point::new(bounds.high.x + 0.05, door),
            to: Point::new(bounds.high.x + 0.05, door + 0.8),
            depth: Length::millimetres(100.0),
            only: Vec::new(),
        };
        let manifold = Point::new(bounds.high.x + 0.15, door + numbers.between(0.9, 1.5));
        let spacing = [150.0, 200.0][numbers.below(2) as usize];
        let lay = |map: &dyn Fn(Point) -> Point, start: usize| {
            let moved = |outline: &Outline| {
                let mut corners: Vec<Point> = outline.corners().iter().map(|&corner| map(corner)).collect();
                let count = corners.len();
                corners.rotate_left(start % count);
                Outline::new(&corners).unwrap()
            };
            let (rooms, things) = ([moved(&room), moved(&beside)], things.iter().map(moved).collect::<Vec<_>>());
            let storey = Storey {
                floors: vec![floor(&rooms[0], &things), floor(&rooms[1], &[])],
                passages: vec![Passage { from: map(passage.from), to: map(passage.to), ..passage.clone() }],
                drawn: Vec::new(),
            };
            let to = |room: usize, pattern: Pattern| Wanted {
                room,
                manifold: Some(map(manifold)),
                ..wanted(pattern, spacing, 80.0)
            };
            let all = [to(0, Pattern::Meander), to(0, Pattern::Spiral), to(1, Pattern::Spiral)];
            lay_out(&storey, &all[round % 2..]).into_iter().map(|laid| laid.map(|it| it.route)).collect::<Vec<_>>()
        };
        let here = lay(&|point| point, 0);
        (sin, cos) = (sin * 0.8 + cos * 0.6, cos * 0.8 - sin * 0.6);
        let maps: [&dyn Fn(Point) -> Point; 5] = [
            &|at| Point::new(at.x + 431_000.0, at.y + 5_430_000.0),
            &|at| Point::new(-at.y, at.x),
            &|at| Point::new(at.x * cos - at.y * sin + 3.0, at.x * sin + at.y * cos),
            &|at| Point::new(-at.x, at.y),
            &|at| Point::new(at.x * cos + at.y * sin, at.x * sin - at.y * cos - 8.0),
        ];
        for (number, map) in maps.iter().enumerate() {
            let there = lay(map, number);
            for (one, other) in here.iter().zip(&there) {
                let (Ok(one), Ok(other)) = (one, other) else {
                    assert_eq!(one, other);
                    continue;
                };
                assert_eq!(one.points().len(), other.points().len(), "{kind} {round} {number}");
                for (from, to) in one.points().iter().zip(other.points()) {
                    let off = map(*from).distance(*to);
                    assert!(off < Length::millimetres(0.1), "{kind} {round} {number}: {off} at {from:?}");
                }
            }
        }
    }
}

/// Common practice, no source: a loop takes its area over its spacing of pipe.
#[test]
fn a_large_rectangle_takes_its_area_over_its_spacing() {
    for (wide, deep) in [(6.0, 5.0), (8.0, 4.0), (5.5, 5.5), (10.0, 6.0)] {
        for spacing in [100.0, 150.0, 200.0] {
            for pattern in [Pattern::Meander, Pattern::Spiral] {
                let laid = lay(&rectangle(0.0, 0.0, wide, deep), &[], wanted(pattern, spacing, 50.0)).unwrap();
                let by_area = wide * deep / (spacing / 1000.0);
                let length = laid.route.length().in_metres();
                assert!(
                    (length / by_area - 1.0).abs() < 0.06,
                    "{wide} x {deep} at {spacing} {pattern:?}: {length} for {by_area}"
                );
                assert!((laid.spacing.in_millimetres() / spacing - 1.0).abs() < 0.1);
            }
        }
    }
}

/// Half of 150 mm is under a bend of 80 mm: each turn is a bulb, and every corner of the route fits the bend.
#[test]
fn turns_under_the_least_bend_become_bulbs() {
    for (pattern, spacing, radius) in [
        (Pattern::Meander, 150.0, 80.0),
        (Pattern::Meander, 120.0, 64.0),
        (Pattern::Spiral, 150.0, 80.0),
        (Pattern::Meander, 200.0, 80.0),
    ] {
        let laid = lay(&rectangle(0.0, 0.0, 4.2, 2.75), &[], wanted(pattern, spacing, radius)).unwrap();
        assert_eq!(laid.tight_turns, [], "{pattern:?} {spacing}");
        assert_eq!(laid.changed_pattern, None);
        let tightest =
            laid.route.corners().map(|corner| corner.largest_radius.in_millimetres()).fold(f64::INFINITY, f64::min);
        assert!(tightest >= radius - 1.0, "{pattern:?} {spacing}: {tightest}");
    }
    // Bulbs of 80 mm at 100 mm would touch: a spiral is laid instead.
    let laid = lay(&rectangle(0.0, 0.0, 4.2, 2.75), &[], wanted(Pattern::Meander, 100.0, 80.0)).unwrap();
    assert_eq!(laid.changed_pattern, Some(Changed::Spacing));
}

#[test]
fn what_cannot_be_laid_says_why() {
    let room = rectangle(0.0, 0.0, 4.0, 3.0);
    for spacing in [f64::NAN, 0.0, -150.0, f64::INFINITY] {
        assert_eq!(lay(&room, &[], wanted(Pattern::Meander, spacing, 75.0)).unwrap_err(), NoField::Measure);
    }
    let cupboard = rectangle(0.0, 0.0, 0.25, 3.0);
    for pattern in [Pattern::Meander, Pattern::Spiral] {
        assert_eq!(lay(&cupboard, &[], wanted(pattern, 150.0, 75.0)).unwrap_err(), NoField::TooNarrow);
        assert_eq!(
            lay(&room, std::slice::from_ref(&room), wanted(pattern, 150.0, 75.0)).unwrap_err(),
            NoField::TooNarrow
        );
        let field = rectangle(0.0, 0.0, 9000.0, 9000.0);
        assert_eq!(lay(&field, &[], wanted(pattern, 150.0, 75.0)).unwrap_err(), NoField::TooLarge);
        let star = |corners: u32| {
            let corner = |it: u32| {
                let (turn, reach) = (f64::from(it) / f64::from(corners), if it.is_multiple_of(2) { 4.0 } else { 3.6 });
                let (sin, cos) = (turn * std::f64::consts::TAU).sin_cos();
                Point::new(reach * cos, reach * sin)
            };
            Outline::new(&(0..corners).map(corner).collect::<Vec<_>>()).unwrap()
        };
        assert!(lay(&star(40), &[], wanted(pattern, 150.0, 75.0)).is_ok());
        assert_eq!(lay(&star(10_000), &[], wanted(pattern, 150.0, 75.0)).unwrap_err(), NoField::TooManyCorners);
    }
    // A hundred walls across each other, as a slip of the pen may have them.
    let across = |at: u32| {
        let at = f64::from(at) * 0.05;
        rectangle(at, at, at + 5.0, at + 5.0)
    };
    let across: Vec<Outline> = (0..100).map(across).collect();
    let wide = rectangle(0.0, 0.0, 12.0, 12.0);
    assert!(lay(&wide, &across[..20], wanted(Pattern::Spiral, 150.0, 75.0)).is_ok());
    assert_eq!(lay(&wide, &across, wanted(Pattern::Spiral, 150.0, 75.0)).unwrap_err(), NoField::CutUp);
    assert!(lay_out(&Storey::default(), &[]).is_empty());
    assert!(lay_out(&Storey::default(), &[wanted(Pattern::Meander, 150.0, 75.0)])[0].is_err());
}

/// A passage with the manifold between two rooms: tails go through the doorways, side by side, cross nothing, and the loops
/// of one room come out about as long.
#[test]
fn tails_go_through_doorways() {
    let (hall, one, two) =
        (rectangle(0.0, 0.0, 1.5, 5.6), rectangle(1.6, 0.0, 4.2, 2.75), rectangle(1.6, 2.85, 4.2, 2.75));
    let door = |rooms: [usize; 2], from: f64, to: f64| Passage {
        rooms,
        from: Point::new(1.55, from),
        to: Point::new(1.55, to),
        depth: Length::millimetres(100.0),
        only: Vec::new(),
    };
    let storey = Storey {
        floors: vec![floor(&hall, &[]), floor(&one, &[]), floor(&two, &[])],
        passages: vec![door([0, 1], 1.0, 1.9), door([0, 2], 3.9, 4.8)],
        drawn: Vec::new(),
    };
    let manifold = Point::new(0.2, 2.8);
    let to = |room: usize, pattern: Pattern| Wanted { room, manifold: Some(manifold), ..wanted(pattern, 150.0, 64.0) };
    let all = [to(1, Pattern::Meander), to(2, Pattern::Spiral), to(2, Pattern::Meander)];
    let laid: Vec<Laid> = lay_out(&storey, &all).into_iter().map(Result::unwrap).collect();
    let routes: Vec<&Route> = laid.iter().map(|laid| &laid.route).collect();
    assert!(route_meetings(&routes).all.is_empty());
    let wall = Outline::new(&points(&[(1.5, 0.0), (1.6, 0.0), (1.6, 5.6), (1.5, 5.6)])).unwrap();
    for (number, laid) in laid.iter().enumerate() {
        assert_eq!(laid.without_tails, None, "loop {number}");
        let points = laid.route.points();
        for end in [points[0], points[points.len() - 1]] {
            assert!(end.distance(manifold) < Length::millimetres(500.0), "loop {number} ends at {end:?}");
        }
        // Through the wall twice, in the doorway.
        let pieces = super::super::Areas::new([&wall]).pieces(&laid.route);
        let through: Vec<Point> =
            pieces.iter().filter(|it| it.area.is_some()).map(|it| laid.route.at(it.from)).collect();
        assert_eq!(through.len(), 2, "loop {number}");
        let door = if number == 0 { 1.0..1.9 } else { 3.9..4.8 };
        assert!(through.iter().all(|at| door.contains(&at.y)), "loop {number}: {through:?}");
        assert!(laid.covered >= ENOUGH_COVERED, "loop {number}: {:?}", laid.covered);
    }
    let (one, other) = (laid[1].route.length(), laid[2].route.length());
    assert!((one / other - 1.0).abs() < 0.15, "{one} and {other}");
    // Without a doorway there is no way; without a place of the manifold nothing leads anywhere.
    let shut = Storey { passages: Vec::new(), ..storey };
    assert_eq!(lay_out(&shut, &all[..1])[0].as_ref().unwrap().without_tails, Some(NoTails::NoPassage));
    let nowhere = Wanted { manifold: None, ..all[0].clone() };
    assert_eq!(lay_out(&shut, &[nowhere])[0].as_ref().unwrap().without_tails, Some(NoTails::NoManifold));
}

/// Between a doorway and the corner of the room, where no pair can turn in, the wall is named for the loop, and that is the
/// shorter way: its tails take the doorway, as if no wall were named.
#[test]
fn a_named_wall_bars_no_doorway() {
    let rooms = [rectangle(0.0, 3.3, 2.3, 4.7), rectangle(-3.9, 0.0, 3.8, 4.4)];
    let passage = |from: f64, to: f64, only: &[usize]| Passage {
        rooms: [0, 1],
        from: Point::new(-0.05, from),
        to: Point::new(-0.05, to),
        depth: Length::millimetres(100.0),
        only: only.to_vec(),
    };
    let laid = |passages: Vec<Passage>| {
        let floors = rooms.iter().map(|room| floor(room, &[])).collect();
        let manifold = Some(Point::new(2.25, 5.2));
        let wanted = Wanted { room: 1, manifold, ..wanted(Pattern::Spiral, 200.0, 70.0) };
        lay_out(&Storey { floors, passages, ..Storey::default() }, &[wanted]).pop().unwrap().unwrap()
    };
    let (doorway, named) = (passage(3.4, 4.2, &[]), passage(4.2, 4.4, &[0]));
    let by_doorway = laid(vec![doorway.clone()]);
    assert_eq!(by_doorway.without_tails, None);
    let with_named = laid(vec![doorway, named.clone()]);
    assert_eq!(with_named.without_tails, None);
    assert_eq!(with_named.route.points(), by_doorway.route.points());
    // Where there is no doorway it is told what bars the way.
    assert_eq!(laid(vec![named]).without_tails, Some(NoTails::NoRoom { room: 1, pairs: 0 }));
}

/// Two flats on one storey, their loops in turn: each is laid as if the other had none, whatever pipe that has, and what is
/// said of its loops names its own rooms.
#[test]
fn flats_are_laid_by_themselves() {
    let flat =
        |x: f64| [rectangle(x, 0.0, 1.5, 5.6), rectangle(x + 1.6, 0.0, 4.2, 2.75), rectangle(x + 1.6, 2.85, 4.2, 2.75)];
    let rooms: Vec<Outline> = flat(10.0).into_iter().chain(flat(0.0)).collect();
    let door = |rooms: [usize; 2], x: f64, y: f64, only: &[usize]| Passage {
        rooms,
        from: Point::new(x, y),
        to: Point::new(x, y + 0.9),
        depth: Length::millimetres(100.0),
        only: only.to_vec(),
    };
    let storey = Storey {
        floors: rooms.iter().map(|room| floor(room, &[])).collect(),
        passages: vec![
            door([0, 1], 11.55, 1.0, &[1]),
            door([3, 4], 1.55, 1.0, &[]),
            door([3, 5], 1.55, 3.9, &[]),
            door([0, 2], 11.55, 3.9, &[3]),
        ],
        drawn: Vec::new(),
    };
    let to = |room: usize, x: f64, pattern: Pattern| Wanted {
        room,
        manifold: Some(Point::new(x, 2.7)),
        ..wanted(pattern, 150.0, 64.0)
    };
    let thick = |wanted: Wanted| Wanted { outside: Length::millimetres(25.0), ..wanted };
    let ours = [to(4, 0.2, Pattern::Meander), to(5, 0.2, Pattern::Spiral)];
    let theirs = [thick(to(1, 10.2, Pattern::Spiral)), thick(to(2, 10.2, Pattern::Meander))];
    let alone: Vec<Laid> = lay_out(&storey, &ours).into_iter().map(Result::unwrap).collect();
    let [one, two] = ours;
    let [their_one, their_two] = theirs;
    let all = [one, their_one, two, their_two];
    let together: Vec<Laid> = lay_out(&storey, &all).into_iter().map(Result::unwrap).collect();
    for (number, (laid, wanted)) in together.iter().zip(&all).enumerate() {
        assert_eq!(laid.without_tails, None, "loop {number}");
        assert_eq!(laid.rooms.iter().map(|it| it.0).collect::<Vec<_>>(), [wanted.room], "loop {number}");
    }
    for (alone, together) in alone.iter().zip([&together[0], &together[2]]) {
        assert_eq!(alone.route.points(), together.route.points());
    }
}

/// A round hall of a thousand walls.
#[test]
fn many_corners_are_no_trouble() {
    let corner = |number: usize| {
        let angle = std::f64::consts::TAU * number as f64 / 1000.0;
        (6.0 * angle.cos(), 6.0 * angle.sin())
    };
    let round = outline(&(0..1000).map(corner).collect::<Vec<_>>());
    for pattern in [Pattern::Meander, Pattern::Spiral] {
        let laid = lay(&round, &[], wanted(pattern, 150.0, 75.0)).unwrap();
        assert!(route_meetings(&[&laid.route]).all.is_empty());
        assert!(laid.covered >= ENOUGH_COVERED, "{pattern:?}: {}", laid.covered);
    }
}

/// Along two outside walls the pipe lies at 100 mm, elsewhere at 200 mm, all in one loop: more pipe by what the zone takes.
#[test]
fn an_edge_zone_is_laid_closer() {
    let room = rectangle(0.0, 0.0, 6.0, 4.5);
    let walls = vec![[Point::new(0.0, 0.0), Point::new(6.0, 0.0)], [Point::new(6.0, 0.0), Point::new(6.0, 4.5)]];
    let (width, spacing) = (Length::metres(1.0), Length::millimetres(100.0));
    for pattern in [Pattern::Meander, Pattern::Spiral] {
        let zoned = Floor { edge_zone: Some(EdgeZone { width, spacing, walls: walls.clone() }), ..floor(&room, &[]) };
        let wanted = wanted(pattern, 200.0, 50.0);
        let storey = Storey { floors: vec![zoned], ..Storey::default() };
        let laid = lay_out(&storey, &[wanted]).pop().unwrap().unwrap();
        assert!(route_meetings(&[&laid.route]).all.is_empty());
        let zone = 6.0 + 3.5;
        let wanted = zone / 0.1 + (27.0 - zone) / 0.2;
        let length = laid.route.length().in_metres();
        assert!((length / wanted - 1.0).abs() < 0.08, "{pattern:?}: {length} for {wanted}");
        assert!(laid.covered >= ENOUGH_COVERED, "{pattern:?}: {}", laid.covered);
    }
}

/// A hundred pairs of rooms with a door between, the manifold at a wall of one of them: whatever their sizes, spacing and
/// number of loops, no pipe crosses another, all of it keeps its distance from the walls of its own room, and nearly all
/// loops are led to the manifold and cover their floor.
#[test]
fn two_rooms_and_a_door() {
    let mut numbers = Numbers(31);
    let (mut loops, mut led, mut covered) = (0, 0, 0);
    for _ in 0..100 {
        let (one, other, deep) = (numbers.between(2.5, 5.5), numbers.between(2.5, 5.5), numbers.between(2.5, 4.5));
        let rooms = [rectangle(0.0, 0.0, one, deep), rectangle(one + 0.1, 0.0, other, deep)];
        let jamb = numbers.between(0.2, deep - 1.1);
        let door = Passage {
            rooms: [0, 1],
            from: Point::new(one + 0.05, jamb),
            to: Point::new(one + 0.05, jamb + 0.9),
            depth: Length::millimetres(100.0),
            only: Vec::new(),
        };
        let manifold = match numbers.below(3) {
            0 => Point::new(one + 0.1 + numbers.between(0.4, other - 0.4), 0.05),
            1 => Point::new(one + 0.1 + numbers.between(0.4, other - 0.4), deep - 0.05),
            _ => Point::new(one + other + 0.05, numbers.between(0.4, deep - 0.4)),
        };
        let spacing = [100.0, 150.0, 200.0][numbers.below(3) as usize];
        let mut all = Vec::new();
        for room in 0..2 {
            for _ in 0..1 + numbers.below(5) / 4 {
                let pattern = [Pattern::Meander, Pattern::Spiral][numbers.below(2) as usize];
                all.push(Wanted { room, manifold: Some(manifold), ..wanted(pattern, spacing, 80.0) });
            }
        }
        let storey = Storey {
            floors: rooms.iter().map(|room| floor(room, &[])).collect(),
            passages: vec![door],
            drawn: Vec::new(),
        };
        let about = format!("{one} + {other} x {deep}, door at {jamb}, manifold {manifold:?}, {spacing} mm");
        let laid: Vec<Laid> = lay_out(&storey, &all).into_iter().map(Result::unwrap).collect();
        let routes: Vec<&Route> = laid.iter().map(|laid| &laid.route).collect();
        assert!(route_meetings(&routes).all.is_empty(), "pipes cross: {about}");
        for (laid, wanted) in laid.iter().zip(&all) {
            loops += 1;
            led += usize::from(laid.without_tails.is_none());
            covered += usize::from(laid.covered >= ENOUGH_COVERED);
            assert!(laid.covered >= Share::percent(80.0), "{:?}: {about}", laid.covered);
            if laid.without_tails.is_some() {
                let edge = rooms[wanted.room].clearance(&laid.route, [laid.route.whole()]).unwrap().distance;
                assert!(edge >= wanted.least_edge - Length::millimetres(0.01), "{edge} from the wall: {about}");
            }
        }
    }
    let most = |count: usize, percent: usize| assert!(100 * count >= percent * loops, "{count} of {loops}");
    most(led, 93);
    most(covered, 92);
}

/// One loop for two rooms in a row: its tails pass the first, whose runs are let into them, and go through the door once there
/// and once back.
#[test]
fn a_loop_through_two_rooms() {
    let (one, two) = (rectangle(0.0, 0.0, 3.2, 2.8), rectangle(3.3, 0.0, 2.9, 2.8));
    let passage = Passage {
        rooms: [0, 1],
        from: Point::new(3.25, 0.9),
        to: Point::new(3.25, 1.8),
        depth: Length::millimetres(100.0),
        only: Vec::new(),
    };
    let storey =
        Storey { floors: vec![floor(&one, &[]), floor(&two, &[])], passages: vec![passage], drawn: Vec::new() };
    let wall = Outline::new(&points(&[(3.2, 0.0), (3.3, 0.0), (3.3, 2.8), (3.2, 2.8)])).unwrap();
    for manifold in [(0.05, 1.2), (1.0, 2.75), (6.15, 2.0), (4.5, 0.05)] {
        for pattern in [Pattern::Meander, Pattern::Spiral] {
            for (room, also) in [(0, 1), (1, 0)] {
                let manifold = Some(Point::new(manifold.0, manifold.1));
                let wanted = Wanted { room, also: vec![also], manifold, ..wanted(pattern, 150.0, 80.0) };
                let laid = lay_out(&storey, &[wanted]).pop().unwrap().unwrap();
                let about = format!("{manifold:?} {pattern:?} {room}");
                assert!(route_meetings(&[&laid.route]).all.is_empty(), "{about}");
                assert_eq!((laid.without_tails, &laid.tight_turns[..]), (None, &[][..]), "{about}");
                let pieces = super::super::Areas::new([&wall]).pieces(&laid.route);
                assert_eq!(pieces.iter().filter(|it| it.area.is_some()).count(), 2, "{about}");
                assert_eq!(laid.rooms.len(), 2);
                for (room, covered) in &laid.rooms {
                    assert!(*covered >= Share::percent(90.0), "{about}: {covered} of {room}, {:?}", laid.uncovered);
                }
            }
        }
    }
}

/// One loop in a room that a movement joint cuts crosses the joint with flow and return, no more.
#[test]
fn a_loop_alone_crosses_a_joint_twice() {
    let (room, near, far) =
        (rectangle(0.0, 0.0, 9.0, 3.0), rectangle(0.0, 0.0, 5.0, 3.0), rectangle(5.0, 0.0, 4.0, 3.0));
    for manifold in [(0.05, 1.2), (3.0, 2.95), (8.95, 2.0)] {
        for pattern in [Pattern::Meander, Pattern::Spiral] {
            let floor = Floor { bays: vec![near.clone(), far.clone()], ..floor(&room, &[]) };
            let storey = Storey { floors: vec![floor], ..Storey::default() };
            let manifold = Some(Point::new(manifold.0, manifold.1));
            let laid = lay_out(&storey, &[Wanted { manifold, ..wanted(pattern, 200.0, 80.0) }]).pop().unwrap().unwrap();
            let about = format!("{manifold:?} {pattern:?}");
            assert!(route_meetings(&[&laid.route]).all.is_empty(), "{about}");
            assert_eq!((laid.without_tails, &laid.tight_turns[..]), (None, &[][..]), "{about}");
            let crossings =
                laid.route.points().windows(2).filter(|two| (two[0].x - 5.0) * (two[1].x - 5.0) < 0.0).count();
            assert_eq!(crossings, 2, "{about}");
            assert!(laid.covered >= Share::percent(90.0), "{about}: {} {:?}", laid.covered, laid.uncovered);
        }
    }
}

/// Several loops in a room that joints cut: each bay has its own loops, or each loop bays of its own, and across a joint lie
/// none but pairs of flow and return.
#[test]
fn several_loops_mind_the_joints() {
    let room = rectangle(0.0, 0.0, 12.0, 4.0);
    for (joints, count) in [(&[6.0][..], 2), (&[4.0, 8.0], 3), (&[5.0], 3), (&[4.0, 8.0], 2), (&[3.0, 6.0, 9.0], 2)] {
        let ends: Vec<f64> = std::iter::once(0.0).chain(joints.iter().copied()).chain([12.0]).collect();
        let bays = ends.windows(2).map(|two| rectangle(two[0], 0.0, two[1] - two[0], 4.0)).collect();
        for manifold in [(0.05, 2.0), (11.95, 1.2)] {
            for pattern in [Pattern::Meander, Pattern::Spiral] {
                let floor = Floor { bays: Vec::clone(&bays), ..floor(&room, &[]) };
                let storey = Storey { floors: vec![floor], ..Storey::default() };
                let manifold = Some(Point::new(manifold.0, manifold.1));
                let all = vec![Wanted { manifold, ..wanted(pattern, 200.0, 80.0) }; count];
                let laid: Vec<Laid> = lay_out(&storey, &all).into_iter().map(Result::unwrap).collect();
                let about = format!("joints at {joints:?}, {count} loops from {manifold:?} {pattern:?}");
                assert!(route_meetings(&laid.iter().map(|it| &it.route).collect::<Vec<_>>()).all.is_empty(), "{about}");
                for laid in &laid {
                    assert_eq!(laid.without_tails, None, "{about}");
                    for joint in joints {
                        let legs = laid.route.points().windows(2);
                        let crossings = legs.filter(|two| (two[0].x - joint) * (two[1].x - joint) < 0.0).count();
                        assert!(crossings == 0 || crossings == 2, "{crossings} at {joint}: {about}");
                    }
                    assert!(laid.covered >= Share::percent(88.0), "{about}: {} {:?}", laid.covered, laid.uncovered);
                }
            }
        }
    }
}

/// Of two loops in two bays one is drawn: the other keeps to its own bay.
#[test]
fn a_bay_with_a_drawn_loop_is_left_to_it() {
    let floor = Floor {
        bays: vec![rectangle(0.0, 0.0, 6.0, 4.0), rectangle(6.0, 0.0, 6.0, 4.0)],
        ..floor(&rectangle(0.0, 0.0, 12.0, 4.0), &[])
    };
    let storey = Storey { floors: vec![floor], ..Storey::default() };
    for pattern in [Pattern::Meander, Pattern::Spiral] {
        let manifold = Some(Point::new(0.05, 2.0));
        let all = vec![Wanted { manifold, ..wanted(pattern, 200.0, 80.0) }; 2];
        let before: Vec<Laid> = lay_out(&storey, &all).into_iter().map(Result::unwrap).collect();
        for drawn in 0..2 {
            let mut all = all.clone();
            all[drawn].drawn = Some(before[drawn].route.clone());
            let other = lay_out(&storey, &all).swap_remove(1 - drawn).unwrap();
            let about = format!("{pattern:?}, {drawn} drawn");
            // No more than tails lies in the bay of the drawn one.
            let strays = |route: &Route| {
                let legs = route.points().windows(2);
                let strays = legs.filter(|two| (two[0].towards(two[1], 0.5).x < 6.0) == (drawn == 0));
                strays.map(|two| two[0].metres_to(two[1])).sum::<f64>()
            };
            let (here, there) = (strays(&before[1 - drawn].route), strays(&other.route));
            assert!(there < here + 4.0, "{about}: {there} m, {here} m before");
            assert!(route_meetings(&[&before[drawn].route, &other.route]).all.is_empty(), "{about}");
        }
    }
}

/// Whichever way a hall is drawn, and in whichever order its bays are told, each loop has the same one.
#[test]
fn loops_have_the_same_bays_whichever_way_they_are_drawn() {
    let bays = [(0.0, 5.0), (5.0, 3.0), (8.0, 4.0)];
    let lay = |map: &dyn Fn(f64, f64) -> Point, backwards: bool, count: usize| -> Vec<f64> {
        let mapped = |from: f64, wide: f64| {
            let corners = [(from, 0.0), (from + wide, 0.0), (from + wide, 4.0), (from, 4.0)];
            Outline::new(&corners.map(|(x, y)| map(x, y))).unwrap()
        };
        let mut bays: Vec<Outline> = bays.iter().map(|&(from, wide)| mapped(from, wide)).collect();
        if backwards {
            bays.reverse();
        }
        let floor = Floor { bays, ..floor(&mapped(0.0, 12.0), &[]) };
        let storey = Storey { floors: vec![floor], ..Storey::default() };
        let manifold = Some(map(0.05, 1.4));
        let all = vec![Wanted { manifold, ..wanted(Pattern::Spiral, 200.0, 80.0) }; count];
        lay_out(&storey, &all).into_iter().map(|laid| laid.unwrap().route.length().in_metres()).collect()
    };
    for count in 2..5 {
        let here = lay(&Point::new, false, count);
        let maps: [&dyn Fn(f64, f64) -> Point; 3] =
            [&|x, y| Point::new(-y, x), &|x, y| Point::new(-x, y), &|x, y| Point::new(y + 3.0, x - 70.0)];
        for (number, map) in maps.into_iter().enumerate() {
            let there = lay(map, number > 0, count);
            let off = here.iter().zip(&there).map(|(one, other)| (one - other).abs()).fold(0.0, f64::max);
            assert!(off < 1e-3, "{count} loops, {number}: {here:?} {there:?}");
        }
    }
}

/// Which of the loops, each in a room by its number, get no tails from a manifold in a hall, the first of the rooms; none
/// crosses another.
fn without_tails_in(
    rooms: &[Outline],
    doors: &[(usize, Point, Point)],
    manifold: Point,
    loops: &[usize],
) -> Vec<usize> {
    let door = |&(room, from, to): &(usize, Point, Point)| Passage {
        rooms: [0, room],
        from,
        to,
        depth: Length::millimetres(100.0),
        only: Vec::new(),
    };
    let storey = Storey {
        floors: rooms.iter().map(|room| floor(room, &[])).collect(),
        passages: doors.iter().map(door).collect(),
        drawn: Vec::new(),
    };
    let to = |&room: &usize| Wanted { room, manifold: Some(manifold), ..wanted(Pattern::Spiral, 150.0, 64.0) };
    let laid = lay_out(&storey, &loops.iter().map(to).collect::<Vec<_>>());
    let laid: Vec<Laid> = laid.into_iter().map(Result::unwrap).collect();
    assert!(route_meetings(&laid.iter().map(|it| &it.route).collect::<Vec<_>>()).all.is_empty());
    for end in laid.iter().filter(|it| it.without_tails.is_none()).filter_map(|it| it.route.points().first()) {
        assert!(end.distance(manifold) < Length::millimetres(800.0), "begins at {end:?}");
    }
    (0..laid.len()).filter(|&at| laid[at].without_tails.is_some()).collect()
}

/// Eight pairs fit beside each other in a hall of 1.6 m, though not along both its walls; and none begins far from a manifold
/// that has nearly all of them to one side.
#[test]
fn pairs_fill_a_narrow_hall_from_one_wall() {
    let rooms = [
        rectangle(0.0, -0.2, 11.0, 1.6),
        rectangle(0.0, 1.5, 3.5, 4.0),
        rectangle(3.6, 1.5, 3.6, 4.0),
        rectangle(7.3, 1.5, 3.7, 4.0),
    ];
    let door = |room: usize, x: f64| (room, Point::new(x, 1.45), Point::new(x + 0.9, 1.45));
    let doors = [door(1, 1.5), door(2, 5.0), door(3, 9.0)];
    let without = without_tails_in(&rooms, &doors, Point::new(0.3, -0.15), &[1, 1, 2, 2, 2, 3, 3, 3]);
    assert_eq!(without, [0; 0]);
}

/// A manifold in the corner of a hall, with a room straight across and others past it: the wall beside the manifold keeps
/// nobody off, and the pair that goes across leaves the others room to turn.
#[test]
fn a_manifold_in_a_corner_leads_all_round() {
    let rooms = [
        rectangle(0.0, 0.0, 2.0, 10.4),
        rectangle(-4.1, 5.0, 4.0, 5.4),
        rectangle(-4.1, 2.6, 4.0, 2.3),
        rectangle(-4.1, 0.0, 4.0, 2.5),
        rectangle(2.1, 0.0, 4.0, 3.0),
        rectangle(-0.5, -5.0, 3.0, 4.9),
    ];
    let at_left = |room: usize, y: f64| (room, Point::new(-0.05, y), Point::new(-0.05, y + 0.9));
    let doors = [
        at_left(1, 9.3),
        at_left(2, 2.8),
        at_left(3, 0.3),
        (4, Point::new(2.05, 0.3), Point::new(2.05, 1.2)),
        (5, Point::new(0.6, -0.05), Point::new(1.5, -0.05)),
    ];
    let without = without_tails_in(&rooms, &doors, Point::new(1.95, 10.05), &[3, 2, 1, 4, 5]);
    assert_eq!(without, [0; 0]);
}

/// The pair that cuts slantwise through a long hall to the farthest door lies across the door before that: no other can come
/// to it there but by turning back upon itself, so all of them keep to the walls.
#[test]
fn a_short_cut_leaves_the_doors_on_its_way_free() {
    let rooms = [
        rectangle(0.0, 0.0, 16.46, 1.38),
        rectangle(0.0, 1.48, 4.9, 3.13),
        rectangle(5.0, 1.48, 3.47, 2.55),
        rectangle(8.57, 1.48, 3.5, 2.32),
        rectangle(12.16, 1.48, 4.3, 3.73),
    ];
    let door = |room: usize, from: f64, to: f64| (room, Point::new(from, 1.43), Point::new(to, 1.43));
    let doors = [door(1, 3.9, 4.7), door(2, 5.2, 6.0), door(3, 8.77, 9.77), door(4, 15.41, 16.26)];
    let without = without_tails_in(&rooms, &doors, Point::new(16.1, 0.05), &[4, 3, 2, 1]);
    assert_eq!(without, [0; 0]);
}

/// Two manifolds at one point, as where two bars hang one over the other, with their loops in turn; and both beside each other.
#[test]
fn two_manifolds_at_one_point() {
    let rooms = [rectangle(0.0, 0.0, 1.5, 5.6), rectangle(1.6, 0.0, 4.2, 2.75), rectangle(1.6, 2.85, 4.2, 2.75)];
    let door = |room: usize, y: f64| Passage {
        rooms: [0, room],
        from: Point::new(1.55, y),
        to: Point::new(1.55, y + 0.9),
        depth: Length::millimetres(100.0),
        only: Vec::new(),
    };
    let storey = Storey {
        floors: rooms.iter().map(|room| floor(room, &[])).collect(),
        passages: vec![door(1, 1.0), door(2, 3.9)],
        drawn: Vec::new(),
    };
    for apart in [0.0, 0.6] {
        let to = |room: usize, y: f64| Wanted {
            room,
            manifold: Some(Point::new(0.05, y)),
            ..wanted(Pattern::Spiral, 150.0, 64.0)
        };
        let laid = lay_out(&storey, &[to(1, 2.5), to(2, 2.5 + apart), to(1, 2.5), to(2, 2.5 + apart)]);
        let laid: Vec<Laid> = laid.into_iter().map(Result::unwrap).collect();
        assert!(route_meetings(&laid.iter().map(|it| &it.route).collect::<Vec<_>>()).all.is_empty(), "{apart}");
        for (number, laid) in laid.iter().enumerate() {
            assert_eq!(laid.without_tails, None, "loop {number}, {apart} m apart");
            assert!(laid.covered >= ENOUGH_COVERED, "loop {number}, {apart} m apart: {}", laid.covered);
        }
    }
}

/// 32 rooms as shapely 2.2.0 (GEOS 3.14.1) sees their routes, by `tests/reference/plan/measure_layouts.py`: none meets itself
/// or leaves the free floor, all keep their distance, and length and coverage are what is said of them.
#[test]
fn layouts_held_against_shapely() {
    const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/plan/layouts.json");
    let mut numbers = Numbers(1264);
    let mut scenes = Vec::new();
    for kind in KINDS {
        for (pattern, spacing, radius) in [
            (Pattern::Meander, 150.0, 80.0),
            (Pattern::Spiral, 100.0, 80.0),
            (Pattern::Meander, 200.0, 75.0),
            (Pattern::Spiral, 150.0, 60.0),
        ] {
            let (room, things) = random_room(kind, &mut numbers);
            let wanted = wanted(pattern, spacing, radius);
            let laid = lay(&room, &things, wanted.clone()).unwrap();
            scenes.push((room, things, wanted, laid));
        }
    }
    let pairs = |points: &[Point]| {
        let pairs: Vec<String> = points.iter().map(|it| format!("[{:.7},{:.7}]", it.x, it.y)).collect();
        format!("[{}]", pairs.join(","))
    };
    if std::env::var_os("WRITE_LAYOUTS").is_some() {
        let line = |(room, things, wanted, laid): &(Outline, Vec<Outline>, Wanted, Laid)| {
            let things: Vec<String> = things.iter().map(|it| pairs(it.corners())).collect();
            let (room, things, route) = (pairs(room.corners()), things.join(","), pairs(laid.route.points()));
            let (spacing, radius) = (wanted.spacing.in_metres(), wanted.bend_radius.in_metres());
            format!(
                r#"{{"room":{room},"keep_clear":[{things}],"spacing":{spacing},"bend_radius":{radius},"route":{route}}}"#
            )
        };
        let lines: Vec<String> = scenes.iter().map(line).collect();
        std::fs::write(FILE, format!("{{\"layouts\": [\n{}\n]}}\n", lines.join(",\n"))).unwrap();
    }
    let file: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(FILE).unwrap()).unwrap();
    let layouts = file["layouts"].as_array().unwrap();
    assert_eq!(layouts.len(), scenes.len());
    let (mut sum_off, mut near) = (0.0, 0);
    for (number, (layout, (_, _, wanted, laid))) in layouts.iter().zip(&scenes).enumerate() {
        let route = layout["route"].as_array().unwrap();
        let at = |pair: &serde_json::Value| Point::new(pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
        let off = |(there, here): (&serde_json::Value, &Point)| at(there).distance(*here) > Length::millimetres(0.1);
        let differs = route.len() != laid.route.points().len() || route.iter().zip(laid.route.points()).any(off);
        assert!(
            !differs,
            "layout {number} is laid otherwise now; tests/reference/plan/measure_layouts.py says how to write it anew"
        );
        let is = &layout["is"];
        assert_eq!((&is["simple"], &is["within"]), (&true.into(), &true.into()), "layout {number}");
        // Arcs are drawn in twelve pieces there, which cut them by a few tenths of a millimetre. Where the bends beside it have
        // no room a corner is not moved off what stands there.
        let short = wanted.least_edge.in_metres() - is["nearest"].as_f64().unwrap();
        assert!(short < 0.01, "layout {number}: {short} too near");
        near += i32::from(short > 0.5e-3);
        let length = is["length"].as_f64().unwrap();
        assert!((laid.route.length().in_metres() - length).abs() < 1e-3, "layout {number}: {length}");
        let covered = is["covered"].as_f64().unwrap();
        let off = laid.covered.in_fraction() - covered;
        assert!(off.abs() < 0.004, "layout {number}: {covered}, ours {}", laid.covered);
        sum_off += off / scenes.len() as f64;
        assert!(covered > 0.85 && (covered > 0.94 || !laid.uncovered.is_empty()), "layout {number}: {covered}");
    }
    assert!(sum_off.abs() < 0.0005, "on average {sum_off}");
    assert!(near <= 2, "{near} of {} too near", scenes.len());
}

/// A hall with two rooms above and two below, each with its doorway, and the manifold at one end of the hall or at its wall: some
/// rooms are an L or have an island, some are shared by two loops, and the hall has a loop of its own or none.
fn random_home(numbers: &mut Numbers) -> (Storey, Vec<Wanted>) {
    let (long, wide) = (numbers.between(6.5, 9.0), numbers.between(1.3, 1.9));
    let mut floors = vec![floor(&rectangle(0.0, 0.0, long, wide), &[])];
    let mut passages = Vec::new();
    let mut rooms = Vec::new();
    for above in [true, false] {
        let cut = long * numbers.between(0.4, 0.6);
        for (left, right) in [(0.0, cut - 0.05), (cut + 0.05, long)] {
            let deep = numbers.between(2.6, 4.2);
            // Its wall to the hall, and away from there.
            let y = |by: f64| if above { wide + 0.1 + by } else { -0.1 - by };
            let shape = numbers.below(5);
            let corners = match shape {
                0 => {
                    let (x, by) = (left + (right - left) * 0.6, deep * 0.6);
                    vec![(left, y(0.0)), (right, y(0.0)), (right, y(by)), (x, y(by)), (x, y(deep)), (left, y(deep))]
                }
                _ => vec![(left, y(0.0)), (right, y(0.0)), (right, y(deep)), (left, y(deep))],
            };
            let island = (shape == 1).then(|| {
                let (x, by) = ((left + right) / 2.0, deep * 0.55);
                rectangle(x - 0.6, y(by).min(y(by + 0.6)), 1.2, 0.6)
            });
            rooms.push(floors.len());
            let jamb = numbers.between(left + 0.1, right - 0.9);
            let wall = if above { wide + 0.05 } else { -0.05 };
            passages.push(Passage {
                rooms: [0, floors.len()],
                from: Point::new(jamb, wall),
                to: Point::new(jamb + 0.8, wall),
                depth: Length::millimetres(100.0),
                only: Vec::new(),
            });
            floors.push(floor(&outline(&corners), island.as_slice()));
        }
    }
    let manifold = match numbers.below(3) {
        0 => Point::new(0.05, wide / 2.0),
        1 => Point::new(long - 0.05, wide / 2.0),
        _ => Point::new(long / 2.0, 0.05),
    };
    let (spacing, radius) = ([100.0, 150.0, 200.0][numbers.below(3) as usize], [60.0, 75.0][numbers.below(2) as usize]);
    let mut all = Vec::new();
    if numbers.below(2) == 0 {
        rooms.push(0);
    }
    for room in rooms {
        for _ in 0..1 + usize::from(room > 0 && numbers.below(4) == 0) {
            let pattern = [Pattern::Meander, Pattern::Spiral][numbers.below(2) as usize];
            all.push(Wanted { room, manifold: Some(manifold), ..wanted(pattern, spacing, radius) });
        }
    }
    (Storey { floors, passages, drawn: Vec::new() }, all)
}

/// 40 homes with all their tails as shapely 2.2.0 (GEOS 3.14.1) sees them, by `tests/reference/plan/measure_layouts.py`: no route
/// meets itself or another, none leaves the free floor of the rooms but through doorways, and lengths and coverage are
/// what is said of them.
#[test]
fn homes_held_against_shapely() {
    const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/plan/homes.json");
    let mut numbers = Numbers(11855);
    let homes: Vec<(Storey, Vec<Wanted>, Vec<Laid>)> = (0..40)
        .map(|_| {
            let (storey, wanted) = random_home(&mut numbers);
            let laid = lay_out(&storey, &wanted).into_iter().map(Result::unwrap).collect();
            (storey, wanted, laid)
        })
        .collect();
    let pairs = |points: &[Point]| {
        let pairs: Vec<String> = points.iter().map(|it| format!("[{:.5},{:.5}]", it.x, it.y)).collect();
        format!("[{}]", pairs.join(","))
    };
    if std::env::var_os("WRITE_LAYOUTS").is_some() {
        let list = |items: Vec<String>| format!("[{}]", items.join(","));
        let line = |(storey, wanted, laid): &(Storey, Vec<Wanted>, Vec<Laid>)| {
            let rooms = storey.floors.iter().map(|floor| pairs(floor.outline.corners())).collect();
            let kept = |floor: &Floor| list(floor.keep_clear.iter().map(|(it, _)| pairs(it.corners())).collect());
            // Through the whole wall.
            let doorway = |it: &Passage| {
                let half = it.depth.in_metres() / 2.0;
                let corner = |at: Point, by: f64| Point::new(at.x, at.y + by);
                pairs(&[corner(it.from, -half), corner(it.to, -half), corner(it.to, half), corner(it.from, half)])
            };
            let one = |(wanted, laid): (&Wanted, &Laid)| {
                let (spacing, radius) = (wanted.spacing.in_metres(), wanted.bend_radius.in_metres());
                let (room, route) = (wanted.room, pairs(laid.route.points()));
                format!(r#"{{"room":{room},"spacing":{spacing},"bend_radius":{radius},"route":{route}}}"#)
            };
            format!(
                r#"{{"rooms":{},"keep_clear":{},"doorways":{},"loops":{}}}"#,
                list(rooms),
                list(storey.floors.iter().map(kept).collect()),
                list(storey.passages.iter().map(doorway).collect()),
                list(wanted.iter().zip(laid).map(one).collect())
            )
        };
        let lines: Vec<String> = homes.iter().map(line).collect();
        std::fs::write(FILE, format!("{{\"homes\": [\n{}\n]}}\n", lines.join(",\n"))).unwrap();
    }
    let file: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(FILE).unwrap()).unwrap();
    let stored = file["homes"].as_array().unwrap();
    assert_eq!(stored.len(), homes.len());
    let (mut loops, mut led, mut warm, mut sum_off) = (0, 0, 0, 0.0);
    for (number, (home, (_, wanted, laid))) in stored.iter().zip(&homes).enumerate() {
        let is = &home["is"];
        assert_eq!(is["crossings"], 0, "home {number}");
        for (at, laid) in laid.iter().enumerate() {
            let route = home["loops"][at]["route"].as_array().unwrap();
            let point = |pair: &serde_json::Value| Point::new(pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
            let off =
                |(there, here): (&serde_json::Value, &Point)| point(there).distance(*here) > Length::millimetres(0.1);
            assert!(
                route.len() == laid.route.points().len() && !route.iter().zip(laid.route.points()).any(off),
                "loop {at} of home {number} is laid otherwise now; tests/reference/plan/measure_layouts.py says how to write it anew"
            );
            let loop_is = &is["loops"][at];
            assert_eq!(
                (&loop_is["simple"], &loop_is["within"]),
                (&true.into(), &true.into()),
                "loop {at} of home {number}"
            );
            let length = loop_is["length"].as_f64().unwrap();
            assert!((laid.route.length().in_metres() - length).abs() < 5e-3, "loop {at} of home {number}: {length}");
            let (room, covered) = laid.rooms[0];
            assert_eq!(room, wanted[at].room);
            let theirs = is["covered"][room].as_f64().unwrap();
            let off = covered.in_fraction() - theirs;
            assert!(off.abs() < 0.004, "room {room} of home {number}: {theirs}, ours {covered}");
            assert!(theirs > 0.935 || !laid.uncovered.is_empty(), "room {room} of home {number}: {theirs}");
            sum_off += off;
            loops += 1;
            led += usize::from(laid.without_tails.is_none());
            warm += usize::from(theirs > 0.945);
        }
    }
    assert!((sum_off / f64::from(loops)).abs() < 0.0005, "on average {}", sum_off / f64::from(loops));
    assert!(led as f64 > 0.99 * f64::from(loops), "{led} of {loops} with their tails");
    assert!(warm as f64 > 0.99 * f64::from(loops), "{warm} of {loops} in a room that is covered");
}
