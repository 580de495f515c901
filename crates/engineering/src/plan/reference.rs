//! Plan geometry held against shapely 2.2.0 (GEOS 3.14.1): 240 random plans, from
//! `tests/reference/plan/make_plans.py`.

use super::*;
use quantity::{Area, Length};
use serde_json::Value;

struct Plan<'a> {
    number: usize,
    given: &'a Value,
}

impl Plan<'_> {
    fn points(&self, key: &str) -> Vec<Point> {
        points(&self.given[key])
    }

    fn shapely(&self, key: &str) -> f64 {
        self.given["is"][key].as_f64().unwrap()
    }

    fn shapely_each(&self, key: &str) -> Vec<Option<f64>> {
        self.given["is"][key].as_array().unwrap().iter().map(Value::as_f64).collect()
    }

    #[track_caller]
    fn same(&self, what: &str, ours: f64, theirs: f64, within: f64) {
        let number = self.number;
        assert!((ours - theirs).abs() <= within, "plan {number}, {what}: {ours}, shapely {theirs}");
    }

    #[track_caller]
    fn same_length(&self, what: &str, ours: Length) {
        self.same(what, ours.in_metres(), self.shapely(what), 1e-8);
    }

    #[track_caller]
    fn same_area(&self, what: &str, ours: Area) {
        self.same(what, ours.in_square_metres(), self.shapely(what), 1e-8);
    }

    #[track_caller]
    fn same_count(&self, what: &str, ours: usize) {
        self.same(what, ours as f64, self.shapely(what), 0.0);
    }
}

fn points(value: &Value) -> Vec<Point> {
    let point = |pair: &Value| Point::new(pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(point).collect()
}

fn each_plan(check: impl Fn(&Plan)) {
    let text = include_str!("../../../../tests/reference/plan/plans.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let plans = file["plans"].as_array().unwrap();
    assert_eq!(plans.len(), 240);
    for (number, given) in plans.iter().enumerate() {
        check(&Plan { number, given });
    }
}

#[test]
fn outlines_and_areas() {
    each_plan(|plan| {
        let outline = |points: &[Point]| Outline::new(points).unwrap();
        let (room, other) = (outline(&plan.points("room")), outline(&plan.points("other")));
        plan.same_area("area", room.area());
        plan.same_length("perimeter", room.perimeter());
        let bounds = room.bounds();
        let sides = [bounds.low.x, bounds.low.y, bounds.high.x, bounds.high.y];
        for (ours, theirs) in sides.into_iter().zip(plan.shapely_each("bounds")) {
            plan.same("bounds", ours, theirs.unwrap(), 0.0);
        }
        let rectangle = room.least_rectangle();
        let area = (rectangle.long_side * rectangle.short_side).in_square_metres();
        let theirs: Vec<f64> = plan.shapely_each("rectangle").into_iter().flatten().collect();
        // The least slender of those that are as small to a thousandth.
        let smallest = theirs[0] * theirs[1];
        assert!((smallest - 1e-8..=smallest * 1.001).contains(&area), "plan {}", plan.number);
        // Of rectangles as small as each other shapely may take a slenderer one.
        let ratio = theirs[1] / theirs[0];
        assert!(rectangle.ratio() < ratio * (1.0 + 1e-6), "plan {}", plan.number);
        let keep_clear: Vec<Outline> =
            plan.given["keep_clear"].as_array().unwrap().iter().map(|points_of| outline(&points(points_of))).collect();
        let keep_clear: Vec<&Outline> = keep_clear.iter().collect();
        plan.same_area("free", free_area(&room, &keep_clear));
        plan.same_area("overlap", overlap(&room, &other));
        let probe = points(&Value::Array(vec![plan.given["probe"].clone()]))[0];
        let contains = plan.given["is"]["contains"].as_bool().unwrap();
        assert_eq!(room.contains(probe), contains, "plan {}", plan.number);
        plan.same_length("probe_to_edge", room.nearest_edge(probe).distance);

        let joint = plan.points("joint");
        let found = bays(&[&room], &[&joint], Length::ZERO);
        let mut areas: Vec<f64> = found.bays.iter().map(|bay| bay.area().in_square_metres()).collect();
        areas.sort_by(f64::total_cmp);
        let theirs = plan.shapely_each("bays");
        // Cut corners are good to a tenth of a millimetre.
        let theirs: Vec<f64> = theirs.into_iter().flatten().filter(|&area| area > 2e-3).collect();
        let areas: Vec<f64> = areas.into_iter().filter(|&area| area > 2e-3).collect();
        assert_eq!(areas.len(), theirs.len(), "plan {}", plan.number);
        for (ours, theirs) in areas.into_iter().zip(theirs) {
            plan.same("bays", ours, theirs, 1e-3);
        }
    });
}

/// The floor is looked at along lines, so the share is as good as it says of itself.
#[test]
fn coverage_of_the_free_floor() {
    let rough = std::cell::Cell::new(0);
    each_plan(|plan| {
        let outline = |points: &[Point]| Outline::new(points).unwrap();
        let room = outline(&plan.points("room"));
        let keep_clear: Vec<Outline> =
            plan.given["keep_clear"].as_array().unwrap().iter().map(|points_of| outline(&points(points_of))).collect();
        let routes = ["route", "second"].map(|key| Route::new(&plan.points(key)).unwrap());
        let spacings = [0, 1].map(|at| Length::metres(plan.given["spacings"][at].as_f64().unwrap()));
        let run = |(route, spacing)| Run { route, stretch: route.whole(), spacing };
        let runs: Vec<Run> = routes.iter().zip(spacings).map(run).collect();
        let ours = coverage(&room, &keep_clear.iter().collect::<Vec<_>>(), &runs);
        let (theirs, no_floor) = (plan.given["is"]["covered"].as_f64(), ours.is_none());
        let (Some(ours), Some(theirs)) = (ours, theirs) else {
            return assert!(no_floor && theirs.is_none(), "plan {}", plan.number);
        };
        let covered = ours.covered.in_fraction();
        // The circles of shapely have 256 sides.
        plan.same("covered", covered, theirs, ours.uncertainty.in_fraction() + 1e-4);
        rough.set(rough.get() + usize::from((covered - theirs).abs() > 0.01));
    });
    // Of some rooms next to nothing is free, and few lines lie across it.
    assert!(rough.get() <= 8, "{} of 240 plans are more than a hundredth off", rough.get());
}

#[test]
fn routes_in_rooms_and_through_lines() {
    each_plan(|plan| {
        let outline = |points: &[Point]| Outline::new(points).unwrap();
        let (room, other) = (outline(&plan.points("room")), outline(&plan.points("other")));
        let route = Route::new(&plan.points("route")).unwrap();
        let second = Route::new(&plan.points("second")).unwrap();
        plan.same_length("route_length", route.length());

        let pieces = Areas::new([&room, &other]).pieces(&route);
        plan.same_length("in_room", length_in(&pieces, Some(0)));
        plan.same_length("only_in_other", length_in(&pieces, Some(1)));
        let in_other = Areas::new([&other]).pieces(&route);
        plan.same_length("in_other", length_in(&in_other, Some(0)));
        let keep_clear: Vec<Outline> =
            plan.given["keep_clear"].as_array().unwrap().iter().map(|points_of| outline(&points(points_of))).collect();
        let under = Areas::new(&keep_clear).pieces(&route);
        plan.same_length("under_keep_clear", route.length() - length_in(&under, None));

        let drawn: Vec<Vec<Point>> = plan.given["lines"].as_array().unwrap().iter().map(points).collect();
        let lines = Lines::new(drawn.iter().map(|line| Line::Open(line)));
        let met = lines.meetings(&route);
        for (line, theirs) in plan.shapely_each("line_crossings").into_iter().enumerate() {
            plan.same("line_crossings", met.crossings(line) as f64, theirs.unwrap(), 0.0);
        }
        assert_eq!(met.all.len(), (0..4).map(|line| met.crossings(line)).sum::<usize>());
        let edge = Lines::new([Line::Closed(room.corners())]);
        plan.same_count("room_crossings", edge.meetings(&route).crossings(0));

        let among = route_meetings(&[&route, &second]).all;
        let of = |one: usize, other: usize| {
            let two = |meeting: &&RouteMeeting| (meeting.first.route, meeting.second.route) == (one, other);
            among.iter().filter(two).count()
        };
        plan.same_count("route_crossings", of(0, 1));
        plan.same_count("self_crossings", of(0, 0));

        let ends = plan.shapely_ends();
        let stretch = Stretch { from: ends[0], to: ends[1] };
        let nearest = room.clearance(&route, [stretch]).unwrap();
        plan.same_length("edge_clearance", nearest.distance);
        let found = lines.clearances(&route, [stretch], Length::metres(100.0));
        assert_eq!(found.len(), 4);
        for (ours, theirs) in found.iter().zip(plan.shapely_each("line_clearances")) {
            plan.same("line_clearances", ours.distance.in_metres(), theirs.unwrap(), 1e-8);
        }
    });
}

/// The routes as pipe lies, with their corners rounded: shapely has them from a script that rounds by itself.
#[test]
fn pipe_as_it_lies() {
    const RADIUS: Length = Length::metres(0.2);
    each_plan(|plan| {
        let room = Outline::new(&plan.points("room")).unwrap();
        let keep_clear: Vec<Outline> =
            plan.given["keep_clear"].as_array().unwrap().iter().map(|of| Outline::new(&points(of)).unwrap()).collect();
        let routes = ["route", "second"].map(|key| Route::new(&plan.points(key)).unwrap());
        let lie = |off: f64| routes.each_ref().map(|it| it.bent(RADIUS).lying(Length::millimetres(off), |_, _| true));
        let [lying, second] = lie(0.01);
        plan.same_length("bent_length", routes[0].rounded_length(RADIUS));
        plan.same_length("bent_length", lying.pipe);
        // What the pipe is long in the room, by the places where it comes in and goes out.
        let pieces = Areas::new([&room]).pieces(&lying.route);
        let along = |along: Length| lying.along_pipe(lying.along_drawn(along));
        let inside = pieces.iter().filter(|piece| piece.area.is_some());
        let in_room: Length = inside.map(|piece| along(piece.to) - along(piece.from)).sum();
        plan.same("bent_in_room", in_room.in_metres(), plan.shapely("bent_in_room"), 1e-3);
        let nearest = room.clearance(&lying.route, [lying.route.whole()]).unwrap();
        plan.same("bent_edge_distance", nearest.distance.in_metres(), plan.shapely("bent_edge_distance"), 1e-4);

        let [coarse, second_coarse] = lie(0.25);
        let drawn: Vec<Vec<Point>> = plan.given["lines"].as_array().unwrap().iter().map(points).collect();
        let met = Lines::new(drawn.iter().map(|line| Line::Open(line))).meetings(&coarse.route);
        for (line, theirs) in plan.shapely_each("bent_line_crossings").into_iter().enumerate() {
            plan.same("bent_line_crossings", met.crossings(line) as f64, theirs.unwrap(), 0.0);
        }
        let edge = Lines::new([Line::Closed(room.corners())]);
        plan.same_count("bent_room_crossings", edge.meetings(&coarse.route).crossings(0));
        let together = lying_together(&routes.each_ref().map(|route| route.bent(RADIUS)), Length::ZERO);
        let among = pipe_meetings(&routes.each_ref(), &together).all;
        let of = |one: usize, other: usize| {
            let two = |it: &&RouteMeeting| (it.first.route, it.second.route) == (one, other);
            among.iter().filter(two).count()
        };
        plan.same_count("bent_route_crossings", of(0, 1));
        plan.same_count("bent_self_crossings", of(0, 0));

        let keep_clear: Vec<&Outline> = keep_clear.iter().collect();
        let spacings = [0, 1].map(|at| Length::metres(plan.given["spacings"][at].as_f64().unwrap()));
        let run = |(lying, spacing): (_, _)| -> Run {
            let lying: &Lying = lying;
            Run { route: &lying.route, stretch: lying.route.whole(), spacing }
        };
        let runs: Vec<Run> = [&coarse, &second_coarse].into_iter().zip(spacings).map(run).collect();
        let (ours, theirs) = (coverage(&room, &keep_clear, &runs), plan.given["is"]["bent_covered"].as_f64());
        assert_eq!(ours.is_none(), theirs.is_none(), "plan {}", plan.number);
        if let (Some(ours), Some(theirs)) = (ours, theirs) {
            plan.same("bent_covered", ours.covered.in_fraction(), theirs, ours.uncertainty.in_fraction() + 1e-3);
        }
        assert!((second.pipe - second_coarse.pipe).abs() < Length::metres(1e-9));
    });
}

impl Plan<'_> {
    fn shapely_ends(&self) -> [Length; 2] {
        [0, 1].map(|end| Length::metres(self.given["stretch"][end].as_f64().unwrap()))
    }
}
