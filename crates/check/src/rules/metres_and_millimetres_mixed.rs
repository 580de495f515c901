//! Coordinates in plan are metres.
//!
//! A drawing counts in millimetres as often as in metres. A room that comes out six kilometres long has neither
//! loops nor heat.
//!
//! ## How it is worked out
//! The longest side of each outline, line and drawn route, be it points or an SVG path. From 300 m on, which is 0.3 m if it was
//! meant in millimetres, it is taken for millimetres: all such coordinates are told at once and offered as metres together, and
//! nothing is worked out of them until then. Between 60 m and 300 m, and under 0.3 m for the outline of a room, it is a warning; but where
//! each number over 60 is a thousand times one that another point has there, as 150 among 0.15, it is taken for millimetres too.
//! So is a point alone, as of a manifold, more than 60 m from all rooms that lies in or beside one as soon as it is divided.
//!
//! What is offered divides all numbers of an outline, a line, a route or a point if most of them are over 60, or if most in the file
//! are, and none is surely in metres, as 3.6 is. Else it divides only what is 300 or more: a slip among metres. Where whole numbers
//! under 60 stand beside it that may be either, nothing is offered. A path is divided whole, or where most of it is surely in metres the slip in
//! it, and stays as it is written, with its angles and flags.
//!
//! ## Limit
//! No side of a room over 60 m in a house, nor all of them under 0.3 m: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]}
//! #                                                                                              ^^^^^^^^^ the outline of hall has a side of 4000.0 m; these look like millimetres, and coordinates are metres
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! ```

use super::prelude::*;
use crate::remedy::Change;
use design::{Line, Outline, Place, Placed, Point, Route};
use engineering::plan::changed_svg_path;

pub static RULE: Rule = Rule {
    name: "metres-and-millimetres-mixed",
    group: Group::DesignFile,
    weights: [Error; 4],
    limits: &[LONGEST, SHORTEST],
    file: include_str!("metres_and_millimetres_mixed.rs"),
    check,
    ..Rule::USUAL
};

const LONGEST: Limit = Limit { name: "longest-side", value: "60 m", source: "common practice, no source" };
const SHORTEST: Limit = Limit { name: "least-longest-side", value: "0.3 m", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    let (longest, shortest) = (LONGEST.get::<Length>(&RULE, inspection), SHORTEST.get::<Length>(&RULE, inspection));
    let scale = Scale { longest: longest.value, shortest: shortest.value };
    let mut odd: Vec<Odd> = Vec::new();
    let mut rooms = None;
    each_drawn(inspection, &mut |it| {
        let found = match it.shape {
            Shape::Point(at) if scale.is_far(at) => {
                scale.strays(rooms.get_or_insert_with(|| scale.around_rooms(inspection)), at, &it)
            }
            _ => scale.odd(inspection, &it),
        };
        odd.extend(found);
    });
    let told = |it: &Odd, what: String, limit| {
        let message = format!("{}; {what}", it.shows());
        Finding::new(it.about, it.place, message).value(it.side).limit(limit)
    };
    if odd.iter().any(|it| it.is_slip || it.side >= scale.millimetres_from()) {
        let mut of_file = Tally::default();
        each_drawn(inspection, &mut |it| it.each_number(&mut |number| of_file.add(number, &scale)));
        let is_in_millimetres = |it: &Odd| {
            it.is_slip
                || it.side >= scale.millimetres_from()
                || of_file.is_mostly_millimetres() && it.side > longest.value
        };
        let (in_millimetres, others): (Vec<Odd>, Vec<Odd>) = odd.into_iter().partition(is_in_millimetres);
        odd = others;
        let (first, more) = in_millimetres.split_first().expect("there is one of them at least");
        let these = if first.is_slip { "this looks" } else { "these look" };
        let what = format!("{these} like millimetres, and coordinates are metres");
        let mut finding = told(first, what, &longest);
        for it in more {
            finding = finding.related(it.place, it.shows());
        }
        // What was meant by them nobody can work out.
        finding.doubted = in_millimetres.iter().map(|it| it.whole).collect();
        found.add(finding.remedy(in_metres(inspection, &scale, &of_file)));
    }
    for it in odd {
        let (side, told) = (it.side, |what, limit| told(&it, what, limit));
        if side > longest.value {
            found.add_as(Warning, told(format!("{} is the most in a house", longest.value), &longest));
        } else if side < shortest.value && it.is_room {
            found.add_as(Warning, told(format!("no room is smaller than {}", shortest.value), &shortest));
        }
    }
}

/// One remedy for all: a room in metres among walls in millimetres would be no better.
fn in_metres(inspection: &Inspection, scale: &Scale, of_file: &Tally) -> Option<Remedy> {
    let mut changes: Vec<Change> = Vec::new();
    let (mut leaves_some, mut is_doubtful) = (false, false);
    each_drawn(inspection, &mut |it| {
        let (mut of_it, mut is_far) = (Tally::default(), false);
        it.each_number(&mut |number| {
            of_it.add(number, scale);
            is_far |= (scale.millimetres_from().in_metres()..ON_A_GRID).contains(&number.abs());
        });
        // The lengths and radii of a path may be broken millimetres.
        let is_path = matches!(it.shape, Shape::Path { .. });
        let is_all = (is_path || of_it.metres == 0)
            && (of_it.is_mostly_millimetres() || (is_far || !is_path) && of_file.is_mostly_millimetres());
        // Whole numbers beside what is surely in millimetres may be either.
        let is_slip = if is_path { of_it.is_mostly_metres() } else { of_it.metres > 0 || of_it.either == 0 };
        is_doubtful |= is_far && !is_all && !is_slip;
        let from = if is_all { 0.0 } else { scale.millimetres_from().in_metres() };
        let slips = it.slips(scale).unwrap_or_default();
        let changed = it.changed(inspection, &mut |number| {
            let divides = number.abs() >= from || slips.contains(&number);
            leaves_some |= !divides && number != 0.0;
            is_doubtful |= is_far && !divides && number.abs() > scale.longest.in_metres();
            if divides { thousandth(number) } else { number }
        });
        // A path with escapes in its quotes stays.
        leaves_some |= changed.is_empty() && matches!(it.shape, Shape::Path { .. });
        changes.extend(changed);
    });
    if is_doubtful {
        return None;
    }
    // An alias is the same place once more.
    changes.sort_by_key(|it| it.place);
    changes.dedup();
    let title = match leaves_some {
        true => "divide by 1000 the coordinates that look like millimetres",
        false => "divide all coordinates by 1000",
    };
    Remedy::of(title, changes)
}

fn thousandth(number: f64) -> f64 {
    // To the hundredth of a millimetre, or 4200 / 1000 may print seventeen figures.
    // Added to nothing, a zero loses its sign.
    (number * 100.0).round() / 100_000.0 + 0.0
}

/// What a house measures.
struct Scale {
    longest: Length,
    shortest: Length,
}

impl Scale {
    /// From here on a side is taken for millimetres.
    fn millimetres_from(&self) -> Length {
        self.shortest * 1000.0
    }

    /// Whether a point lies where a house in millimetres has its points, and a national grid in metres has not.
    fn is_far(&self, at: Point) -> bool {
        (self.millimetres_from().in_metres()..ON_A_GRID).contains(&at.x.abs().max(at.y.abs()))
    }

    /// Something drawn, if its size is odd.
    fn odd(&self, inspection: &Inspection, it: &Drawn) -> Option<Odd> {
        let (mut side, at) = it.longest_side()?;
        if side <= self.longest {
            if it.points().any(|(at, _)| self.is_far(at)) {
                return None;
            }
            side = side.max(it.across());
        }
        let is_odd = side > self.longest || it.is_room && side < self.shortest;
        is_odd.then(|| Odd {
            about: it.about,
            called: (it.called)(),
            place: at.unwrap_or_else(|| first_line(inspection, it.place)),
            whole: it.place,
            side,
            is_room: it.is_room,
            is_point: false,
            is_slip: side > self.longest && it.slips(self).is_some(),
        })
    }

    /// Round all rooms that seem to be in metres: the least and the greatest of each coordinate.
    fn around_rooms(&self, inspection: &Inspection) -> Option<(Point, Point)> {
        let outlines = inspection.design.rooms.values().filter_map(|room| room.outline.as_ref());
        let corners = outlines.map(|it| &it.value.corners).filter(|all| !all.iter().any(|it| self.is_far(it.value)));
        corners.flatten().map(|it| (it.value, it.value)).reduce(|(low, high), (at, _)| {
            let low = Point { x: low.x.min(at.x), y: low.y.min(at.y) };
            (low, Point { x: high.x.max(at.x), y: high.y.max(at.y) })
        })
    }

    /// A point far from all rooms, if it lies at one with what is far out in it as millimetres.
    fn strays(&self, rooms: &Option<(Point, Point)>, at: Point, it: &Drawn) -> Option<Odd> {
        let (low, high) = rooms.as_ref()?;
        let off = |at: Point| {
            let beyond = |at: f64, low: f64, high: f64| (low - at).max(at - high).max(0.0);
            Length::metres(beyond(at.x, low.x, high.x).hypot(beyond(at.y, low.y, high.y)))
        };
        let divided = |it: f64| if it.abs() >= self.millimetres_from().in_metres() { thousandth(it) } else { it };
        let is_slip = off(at) > self.longest && off(Point { x: divided(at.x), y: divided(at.y) }) <= BESIDE_ROOMS;
        is_slip.then(|| Odd {
            about: it.about,
            called: (it.called)(),
            place: it.place,
            whole: it.place,
            side: off(at),
            is_room: false,
            is_point: true,
            is_slip,
        })
    }
}

/// A manifold may hang in a wall, or just beyond it.
const BESIDE_ROOMS: Length = Length::metres(1.0);

/// From here on coordinates are those of a national grid.
const ON_A_GRID: f64 = 1e5;

/// In what numbers seem to count.
#[derive(Default)]
struct Tally {
    metres: usize,
    millimetres: usize,
    either: usize,
}

impl Tally {
    fn add(&mut self, number: f64, scale: &Scale) {
        let size = number.abs();
        let is_short = size <= scale.longest.in_metres();
        *match size {
            0.0 => return,
            _ if size >= ON_A_GRID || is_short && size.fract() != 0.0 => &mut self.metres,
            _ if is_short => &mut self.either,
            _ => &mut self.millimetres,
        } += 1;
    }

    fn is_mostly_metres(&self) -> bool {
        self.metres > self.millimetres + self.either
    }

    fn is_mostly_millimetres(&self) -> bool {
        self.millimetres > self.metres + self.either
    }
}

/// Something drawn whose size is odd.
struct Odd {
    about: Subject,
    /// What it is, in words.
    called: String,
    /// Where it shows.
    place: Place,
    whole: Place,
    /// Its longest side, or how far a point lies from all rooms.
    side: Length,
    is_room: bool,
    is_point: bool,
    /// A few of its numbers are surely millimetres among metres.
    is_slip: bool,
}

impl Odd {
    /// How it shows, in words.
    fn shows(&self) -> String {
        match self.is_point {
            true => format!("{} lies {} from all rooms", self.called, self.side),
            false => format!("{} has a side of {}", self.called, self.side),
        }
    }
}

/// Something that is drawn.
struct Drawn<'d> {
    about: Subject,
    /// What it is, in words.
    called: &'d dyn Fn() -> String,
    place: Place,
    shape: Shape<'d>,
    is_room: bool,
}

enum Shape<'d> {
    /// Points that are joined to a line, or round an area.
    Points {
        all: &'d [Placed<Point>],
        is_closed: bool,
    },
    Line(Line),
    /// A point alone has no side: it goes with the others.
    Point(Point),
    /// An SVG path, and the points that it comes to.
    Path {
        written: &'d str,
        points: &'d [engineering::plan::Point],
    },
}

/// Tells all that is drawn.
fn each_drawn(inspection: &Inspection, tell: &mut dyn FnMut(Drawn)) {
    let design = inspection.design;
    let mut tell = |about, place, shape, is_room, called: &dyn Fn() -> String| {
        tell(Drawn { about, called, place, shape, is_room });
    };
    for (at, (name, entry)) in design.rooms.iter().enumerate() {
        let (about, room) = (Subject::Room(at), &entry.value);
        if let Some(outline) = &room.outline {
            tell(about, outline.at, around(&outline.value), true, &|| format!("the outline of {name}"));
        }
        for (unit, area) in room.keep_clear.iter() {
            let called = || format!("the keep-clear area {unit} of {name}");
            tell(about, area.name_place, around(&area.value), false, &called);
        }
        for (line, fixing) in room.fixing_lines.iter() {
            if let Some(given) = fixing.value.line {
                tell(about, given.at, Shape::Line(given.value), false, &|| format!("the fixing line {line}"));
            }
        }
        for (pane, glazing) in room.glazing.iter() {
            if let Some(given) = glazing.value.line {
                tell(about, given.at, Shape::Line(given.value), false, &|| format!("the glazing {pane}"));
            }
        }
        for line in &room.outside_walls {
            tell(about, line.at, Shape::Line(line.value), false, &|| "an outside wall".into());
        }
    }
    let uprights = design.uprights.iter().enumerate();
    let uprights = uprights.map(|(at, (name, it))| (Subject::Upright(at), name, &it.value.outline));
    let mats = design.electric_mats.iter().enumerate();
    let mats = mats.map(|(at, (name, it))| (Subject::ElectricMat(at), name, &it.value.outline));
    for (about, name, outline) in uprights.chain(mats) {
        if let Some(outline) = outline {
            tell(about, outline.at, around(&outline.value), false, &|| format!("the outline of {name}"));
        }
    }
    for (at, (name, entry)) in design.walls.iter().enumerate() {
        if let Some(line) = entry.value.line {
            tell(Subject::Wall(at), line.at, Shape::Line(line.value), false, &|| format!("wall {name}"));
        }
    }
    for (at, (name, entry)) in design.movement_joints.iter().enumerate() {
        if let Some(line) = entry.value.line {
            let called = || format!("movement joint {name}");
            tell(Subject::MovementJoint(at), line.at, Shape::Line(line.value), false, &called);
        }
    }
    for (at, ((name, entry), worked)) in design.loops.iter().zip(&inspection.workings.loops).enumerate() {
        let Some(route) = &entry.value.route else { continue };
        let shape = match &route.value {
            Route::Points(all) => Shape::Points { all, is_closed: false },
            Route::Path(path) => match &worked.route {
                Some(Ok(route)) => Shape::Path { written: &path.text, points: route.points() },
                // What is wrong with it is told already.
                _ => continue,
            },
        };
        tell(Subject::Loop(at), route.at, shape, false, &|| format!("the route of {name}"));
    }
    for (at, (name, entry)) in design.manifolds.iter().enumerate() {
        if let Some(given) = entry.value.at {
            tell(Subject::Manifold(at), given.at, Shape::Point(given.value), false, &|| format!("manifold {name}"));
        }
    }
    for (at, (name, entry)) in design.floor_holes.iter().enumerate() {
        if let Some(given) = entry.value.at {
            tell(Subject::FloorHole(at), given.at, Shape::Point(given.value), false, &|| format!("floor hole {name}"));
        }
    }
}

fn around(outline: &Outline) -> Shape<'_> {
    Shape::Points { all: &outline.corners, is_closed: true }
}

impl Drawn<'_> {
    /// Its points, each with its place where it has one of its own.
    fn points(&self) -> impl Iterator<Item = (Point, Option<Place>)> + Clone + '_ {
        let (listed, ends, along) = match &self.shape {
            Shape::Points { all, .. } => (*all, [None; 2], &[][..]),
            Shape::Line(line) => (&[][..], [Some(line.from), Some(line.to)], &[][..]),
            Shape::Point(at) => (&[][..], [Some(*at), None], &[][..]),
            Shape::Path { points, .. } => (&[][..], [None; 2], *points),
        };
        let listed = listed.iter().map(|it| (it.value, Some(it.at)));
        let others = ends.into_iter().flatten().chain(along.iter().map(|it| Point { x: it.x, y: it.y }));
        listed.chain(others.map(|at| (at, None)))
    }

    /// Its longest side, and of the two ends of it the place of the one farther out.
    fn longest_side(&self) -> Option<(Length, Option<Place>)> {
        let is_closed = matches!(self.shape, Shape::Points { is_closed: true, .. });
        let next = self.points().skip(1).chain(self.points().take(usize::from(is_closed)));
        let far_out = |at: Point| at.x.abs().max(at.y.abs());
        let sides = self.points().zip(next).map(|((from, at), (to, there))| {
            let place = if far_out(from) > far_out(to) { at } else { there };
            (Length::metres((to.x - from.x).hypot(to.y - from.y)), place)
        });
        sides.reduce(|longest, side| if side.0 > longest.0 { side } else { longest })
    }

    /// The longer side of the box round it: a round wall has many short ones.
    fn across(&self) -> Length {
        let side = |of: fn(Point) -> f64| {
            let all = || self.points().map(|(at, _)| of(at));
            all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min)
        };
        Length::metres(side(|at| at.x).max(side(|at| at.y)))
    }

    /// The numbers of its points that no house has, if another point has a thousandth of each at the same side.
    fn slips(&self, scale: &Scale) -> Option<Vec<f64>> {
        let Shape::Points { all, .. } = self.shape else { return None };
        let mut slips = Vec::new();
        for of in [|at: Point| at.x, |at: Point| at.y] {
            let is_usual = |number: &f64| number.abs() <= scale.longest.in_metres();
            let (mut usual, others): (Vec<f64>, Vec<f64>) = all.iter().map(|it| of(it.value)).partition(is_usual);
            usual.sort_unstable_by(f64::total_cmp);
            let is_known = |it: &f64| usual.binary_search_by(|usual| usual.total_cmp(&thousandth(*it))).is_ok();
            if !others.iter().all(is_known) {
                return None;
            }
            slips.extend(others);
        }
        slips.sort_unstable_by(f64::total_cmp);
        slips.dedup();
        (!slips.is_empty()).then_some(slips)
    }

    /// Tells each number that it is written with.
    fn each_number(&self, tell: &mut dyn FnMut(f64)) {
        if let Shape::Path { written, .. } = self.shape {
            let _ = changed_svg_path(written, |number| {
                tell(number);
                number
            });
        } else {
            self.points().for_each(|(at, _)| [at.x, at.y].into_iter().for_each(&mut *tell));
        }
    }

    /// The same with each number changed, as far as it is another then.
    fn changed(&self, inspection: &Inspection, change: &mut dyn FnMut(f64) -> f64) -> Vec<Change> {
        let mut point = |at: Point| {
            let changed = Point { x: change(at.x), y: change(at.y) };
            (changed != at, format!("[{}, {}]", changed.x, changed.y))
        };
        let one = |(is_other, text): (bool, String), place| is_other.then_some(Change { place, text });
        match &self.shape {
            Shape::Points { all, .. } => all.iter().filter_map(|it| one(point(it.value), it.at)).collect(),
            Shape::Line(line) => {
                let ((one_is, from), (other_is, to)) = (point(line.from), point(line.to));
                one((one_is || other_is, format!("[{from}, {to}]")), self.place).into_iter().collect()
            }
            Shape::Point(at) => one(point(*at), self.place).into_iter().collect(),
            Shape::Path { written, .. } => {
                let text = changed_as_written(inspection.text(self.place), written, change);
                text.map(|text| Change { place: self.place, text }).into_iter().collect()
            }
        }
    }
}

/// A path of the file with its lengths changed: within its quotes, in its lines. Nothing where it is written with anything that
/// stands for other signs.
fn changed_as_written(in_file: &str, path: &str, change: &mut dyn FnMut(f64) -> f64) -> Option<String> {
    let head = match in_file.chars().next()? {
        '"' | '\'' => 1,
        '|' | '>' => in_file.find('\n')?,
        _ => 0,
    };
    let lengths = |text: &str| {
        let mut all = Vec::new();
        let read = changed_svg_path(text, |length| {
            all.push(length);
            length
        });
        read.is_ok().then_some(all)
    };
    let inside = in_file.get(head..)?;
    let inside = inside.strip_suffix(['"', '\'']).unwrap_or(inside);
    if lengths(inside)? != lengths(path)? {
        return None;
    }
    let changed = changed_svg_path(inside, change).ok()?;
    Some(format!("{}{changed}{}", &in_file[..head], &in_file[head + inside.len()..]))
}

/// A place as far as the end of its line.
fn first_line(inspection: &Inspection, place: Place) -> Place {
    let line = inspection.text(place).lines().next().unwrap_or_default();
    Place { end: place.start + line.trim_end().len() as u32, ..place }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::Severity;
    use crate::bench::check;

    fn room(side: &str) -> Option<Severity> {
        let text = format!("rooms: {{hall: {{outline: [[0, 0], [{side}, 0], [{side}, 0.2], [0, 0.2]]}}}}\n");
        check(&text).findings.iter().find(|it| it.rule.name == RULE.name).map(|it| it.severity)
    }

    #[test]
    fn metres_beside_one_slip_stay_as_they_are() {
        let outcome = check("rooms: {hall: {outline: [[0, 0], [4.25, 0], [4.25, 3600], [0, 3.6]]}}\n");
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        let texts: Vec<&str> = finding.remedies[0].changes.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(texts, ["[4.25, 3.6]"]);
        assert_eq!(finding.remedies[0].title, "divide by 1000 the coordinates that look like millimetres");
    }

    #[test]
    fn the_limits_of_a_side() {
        assert_eq!((room("60"), room("60.1")), (None, Some(Severity::Warning)));
        assert_eq!((room("299"), room("300")), (Some(Severity::Warning), Some(Severity::Error)));
        assert_eq!((room("0.3"), room("0.29")), (None, Some(Severity::Warning)));
    }

    #[test]
    fn all_that_looks_like_millimetres_is_offered_together() {
        let text = "rooms: {hall: {floor: screeded, outline: [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]}}\nwalls: {W1: {line: \
                    [[4000, 0], [4000, 3000]]}}\nloops: {L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, route: [[200, \
                    300], [3800, 300], [3800, 450], [200, 450]]}}\nmanifolds: {M1: {at: [4200, 300]}}\n";
        let outcome = check(text);
        let findings: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        assert_eq!((findings.len(), findings[0].related.len()), (1, 2), "{findings:#?}");
        // What is worked out of them is not told of them too.
        let follows = outcome
            .findings
            .iter()
            .find(|it| ["bay-side-over-eight", "loop-over-maximum-length"].contains(&it.rule.name));
        assert!(follows.is_none(), "{follows:#?}");
        let changes = findings.iter().flat_map(|it| &it.remedies).flat_map(|it| &it.changes);
        let texts: Vec<&str> = changes.map(|it| it.text.as_str()).collect();
        assert!(
            texts.contains(&"[[4, 0], [4, 3]]") && texts.contains(&"[3.8, 0.45]") && texts.contains(&"[4.2, 0.3]"),
            "{texts:?}"
        );
    }

    /// A whole design in millimetres: what is short in itself, or a point alone, is offered with the rest.
    #[test]
    fn a_whole_design_in_millimetres() {
        let text = "rooms: {hall: {floor: screeded, outline: [[0, 0], [4000, 0], [4000, 3000], [0, 3000]], keep-clear: {pier: [[3900, 0], [4000, \
                    0], [4000, 50], [3900, 50]]}, fixing-lines: {pan: {kind: WC pan, line: [[1000, 1000], [1000, 1040]]}}, outside-walls: [[[0, \
                    0], [4000, 0]]]}}\nwalls: {W1: {line: [[4050, 0], [4050, 3000]]}, W2: {line: [[4050, 3000], [4100, 3000]]}}\nfloor-holes: \
                    {soil: {at: [3500, 500], before-pipe: true}}\nmanifolds: {M1: {at: [4200, 300]}}\n";
        let outcome = check(text);
        let findings: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == RULE.name).collect();
        let first = findings.iter().flat_map(|it| &it.remedies).next().unwrap();
        let texts: Vec<&str> = first.changes.iter().map(|it| it.text.as_str()).collect();
        for wanted in [
            "[3.9, 0.05]",
            "[[1, 1], [1, 1.04]]",
            "[[4.05, 3], [4.1, 3]]",
            "[3.5, 0.5]",
            "[4.2, 0.3]",
            "[[0, 0], [4, 0]]",
        ] {
            assert!(texts.contains(&wanted), "{wanted} is not in {texts:?}");
        }
    }

    fn found(text: &str) -> (String, Vec<crate::Finding>) {
        let outcome = check(text);
        let text = outcome.sources[0].text.to_string();
        (text, outcome.findings.into_iter().filter(|it| it.rule.name == RULE.name).collect())
    }

    /// A path is divided whole where most of it is in millimetres, be they broken; where it is as likely as not, and where numbers
    /// would be left that are no metres, nothing is offered: half of it divided would hide the slip.
    #[test]
    fn half_of_a_route_is_never_divided() {
        let routes = |route: &str| {
            let (_, findings) = found(&format!("loops: {{L1: {{room: hall, pipe: PE-X 16 x 2, route: {route}}}}}\n"));
            assert_eq!(findings.len(), 1, "{route}");
            let texts = findings[0].remedies.first().map(|remedy| remedy.changes.iter().map(|it| it.text.clone()));
            texts.map(Iterator::collect::<Vec<_>>)
        };
        let hairpins = routes("M 100 100 h 3600 a 37.5 37.5 0 0 1 0 75 h -3600 a 37.5 37.5 0 0 0 0 75 h 3600");
        let divided = "M 0.1 0.1 h 3.6 a 0.0375 0.0375 0 0 1 0 0.075 h -3.6 a 0.0375 0.0375 0 0 0 0 0.075 h 3.6";
        assert_eq!(hairpins, Some(vec![divided.to_string()]));
        assert_eq!(routes("M 50 50 h 3600 a 50 50 0 0 1 0 100 h -3600 a 50 50 0 0 0 0 100 h 3600"), None);
        assert_eq!(routes("[[50, 50], [380, 50], [380, 90], [50, 90]]"), None);
        assert_eq!(routes("[[37.5, 100], [400, 100], [400, 137.5], [37.5, 137.5]]"), None);
    }

    /// What is near to the zero of the drawing has small numbers and goes with the others.
    #[test]
    fn small_numbers_among_millimetres_are_millimetres() {
        let (_, findings) = found(
            "rooms: {shed: {floor: screeded, use: living, temperature: 20 °C, heat-loss: 300 W, outline: [[0, 0], [2400, 0], [2400, 1800], [0, \
             1800]], keep-clear: {pier: [[0, 0], [50, 0], [50, 40], [0, 40]], chest: [[0, 1600], [250, 1600], [250, 1800], [0, 1800]]}}}\n\
             manifolds: {M1: {ports: 1, at: [200, 250]}}\nuprights: {C1: {kind: column, outline: [[60, 50], [200, 50], [200, 240], [60, \
             240]]}}\nloops: {}\n",
        );
        assert_eq!(findings.len(), 1, "{findings:#?}");
        let remedy = &findings[0].remedies[0];
        assert_eq!(remedy.title, "divide all coordinates by 1000");
        let texts: Vec<&str> = remedy.changes.iter().map(|it| it.text.as_str()).collect();
        for wanted in ["[0.05, 0.04]", "[0.2, 0.25]", "[0.06, 0.05]"] {
            assert!(texts.contains(&wanted), "{wanted} is not in {texts:?}");
        }
    }

    /// The route of the base as a path in millimetres, in each way in which YAML may have it.
    #[test]
    fn a_path_in_millimetres_is_offered_as_it_is_written() {
        for (route, wanted) in [
            ("M 200 300 H 3800 v 150 L 200,450", "M 0.2 0.3 H 3.8 v 0.15 L 0.2,0.45"),
            ("\"M200 300H3800a75 75 0 01 0 150H200\"", "\"M0.2 0.3H3.8a0.075 0.075 0 01 0 0.15H0.2\""),
            ("'M 200 300 L 3800 300 3800 450'", "'M 0.2 0.3 L 3.8 0.3 3.8 0.45'"),
            (
                "\n      M 200 300 L 3800 300\n      L 3800 450 H 200",
                "\n      M 0.2 0.3 L 3.8 0.3\n      L 3.8 0.45 H 0.2",
            ),
            (
                ">-\n      M 200 300 L 3800 300\n      L 3800 450 H 200",
                ">-\n      M 0.2 0.3 L 3.8 0.3\n      L 3.8 0.45 H 0.2",
            ),
            ("M 0.2 0.3 H 3800 V 0.45", "M 0.2 0.3 H 3.8 V 0.45"),
        ] {
            let text = format!(
                "rooms: {{hall: {{outline: [[0, 0], [4, 0], [4, 3.5], [0, 3.5]]}}}}\nmanifolds: {{}}\nloops:\n  L1:\n    pipe: PEX-16\n    \
                 route: {route}\n"
            );
            let (text, findings) = found(&text);
            let [finding] = &findings[..] else { panic!("{route}: {findings:#?}") };
            assert!(finding.message.starts_with("the route of L1 has a side of 3"), "{}", finding.message);
            assert!(finding.leaves_values_out() && !text[finding.place.range()].contains('\n'), "{route}");
            let [remedy] = &finding.remedies[..] else { panic!("{route}: no remedy") };
            let edits: Vec<yaml_tree::Edit> = remedy
                .changes
                .iter()
                .map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() })
                .collect();
            let after = yaml_tree::apply(&text, &edits).unwrap();
            assert!(after.contains(&format!("route: {wanted}\n")), "{after}");
        }
    }

    /// A point of a route that was typed in millimetres is not far enough out to tell by itself; its neighbours tell.
    #[test]
    fn a_thousandth_that_another_point_has_tells_millimetres() {
        let route = |slip: &str| {
            found(&format!(
                "loops: {{L1: {{room: hall, pipe: PE-X 16 x 2, route: [[0.15, 3.7], [4.25, 3.7], [4.25, 3.55], [{slip}, 3.55]]}}}}\n"
            ))
            .1
        };
        let said = route("150");
        assert_eq!(
            said[0].message,
            "the route of L1 has a side of 145.8 m; this looks like millimetres, and coordinates are metres"
        );
        assert!(said[0].severity == Severity::Error && said[0].leaves_values_out());
        assert_eq!(said[0].remedies[0].changes[0].text, "[0.15, 3.55]");
        // A point that was lost, of 9.1 or of 0.91, is as likely.
        let said = route("91");
        assert!(said[0].severity == Severity::Warning && said[0].remedies.is_empty(), "{said:?}");
    }

    #[test]
    fn a_manifold_in_millimetres_by_itself() {
        let manifold = |at: &str| {
            let hall = "rooms: {hall: {outline: [[0, 0], [5, 0], [5, 6], [0, 6]]}}\n";
            found(&format!("{hall}manifolds: {{M1: {{ports: 2, at: {at}}}}}\n")).1
        };
        let said = manifold("[4550, 5900]");
        assert_eq!(
            said[0].message,
            "manifold M1 lies 7442.9 m from all rooms; this looks like millimetres, and coordinates are metres"
        );
        assert!(said[0].leaves_values_out());
        assert_eq!(said[0].remedies[0].changes[0].text, "[4.55, 5.9]");
        assert_eq!(manifold("[4550, 5.9]")[0].remedies[0].changes[0].text, "[4.55, 5.9]");
        // Not in the house in millimetres either.
        assert!(manifold("[45500, 5900]").is_empty());
    }

    /// In a long list the corner is marked at which the side ends, and the whole list is left out of what is worked out.
    #[test]
    fn a_corner_is_marked() {
        let (text, findings) = found(
            "loops:\n  L1:\n    pipe: PEX-16\n    route:\n      - [0.2, 0.3]\n      - [3800, 0.3]\n      - [3800, 0.45]\n      - [0.2, 0.45]\n",
        );
        assert_eq!(&text[findings[0].place.range()], "[3800, 0.3]");
        assert!(findings[0].leaves_values_out());
    }

    /// Rooms on a national grid lie far out and are metres.
    #[test]
    fn a_national_grid_is_let_be() {
        let text =
            "rooms: {hall: {outline: [[443000, 5300000], [443005, 5300000], [443005, 5300004], [443000, 5300004]]}}\n";
        assert_eq!(check(text).findings.iter().filter(|it| it.rule.name == RULE.name).count(), 0);
    }
}
