//! Coordinates in plan are metres.
//!
//! A drawing counts in millimetres as often as in metres. A room that comes out six kilometres long has neither
//! loops nor heat.
//!
//! ## How it is worked out
//! The longest side of each outline, line and drawn route. From 300 m on, which is 0.3 m if it was meant in millimetres, it is taken
//! for millimetres: all such coordinates are told at once and offered as metres together, with those of shorter things that lie as
//! far out, and nothing is worked out of them until then. Between 60 m and 300 m, and under 0.3 m for the outline of a room, it is a
//! warning.
//!
//! ## Limit
//! No side of a room over 60 m in a house, nor all of them under 0.3 m: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]}
//! #                                                                                     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ the outline of hall has a side of 4000.0 m; these look like millimetres, and coordinates are metres
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! ```
//! ```yaml remedied
//! rooms:
//!   hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
//!   study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m²}
//! ```

use super::prelude::*;
use crate::remedy::Change;
use design::{Given, Line, List, Outline, Place, Placed, Point, Route};

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
    let millimetres_from = SHORTEST.get::<Length>(&RULE, inspection).value * 1000.0;
    let mut items = Items { inspection, millimetres_from, of_file: Vec::new(), far_out: Vec::new() };
    items.gather();
    let Items { of_file, far_out, .. } = items;
    let (longest, shortest) = (LONGEST.get::<Length>(&RULE, inspection), SHORTEST.get::<Length>(&RULE, inspection));
    let told = |item: &Item, what: String, limit| {
        let message = format!("{} has a side of {}; {what}", item.called, item.side);
        Finding::new(item.about, item.place, message).value(item.side).limit(limit)
    };
    let in_millimetres = || of_file.iter().filter(|item| item.side >= millimetres_from);
    if let Some(first) = in_millimetres().next() {
        let what = "these look like millimetres, and coordinates are metres".to_string();
        let mut finding = told(first, what, &longest);
        for item in in_millimetres().skip(1) {
            finding = finding.related(item.place, format!("{} has a side of {}", item.called, item.side));
        }
        // What was meant by them nobody can work out.
        finding.doubted = in_millimetres().map(|item| item.place).collect();
        // One remedy for all: a room in metres among walls in millimetres would be no better.
        let items = of_file.iter().map(|item| &item.far[..]).chain(far_out.iter().map(std::slice::from_ref));
        let together = items.flat_map(|far| {
            // Millimetres are whole. Where metres stand beside them only what is far out is divided.
            let from = if far.iter().all(is_whole) { 0.0 } else { millimetres_from.in_metres() };
            far.iter().map(move |far| smaller(far, from))
        });
        found.add(finding.remedy(Remedy::of("divide all these coordinates by 1000", together)));
    }
    for item in of_file.iter().filter(|item| item.side < millimetres_from) {
        let (side, told) = (item.side, |what, limit| told(item, what, limit));
        if side > longest.value {
            found.add_as(Warning, told(format!("{} is the most in a house", longest.value), &longest));
        } else if side < shortest.value && item.is_room {
            found.add_as(Warning, told(format!("no room is smaller than {}", shortest.value), &shortest));
        }
    }
}

/// Something that is drawn.
struct Item {
    about: Subject,
    /// What it is, in words.
    called: String,
    place: Place,
    side: Length,
    is_room: bool,
    /// Its points, where they look like millimetres.
    far: Vec<Far>,
}

struct Items<'f, 'i> {
    inspection: &'f Inspection<'i>,
    /// From here on a side is taken for millimetres.
    millimetres_from: Length,
    of_file: Vec<Item>,
    /// What is not odd in itself and lies where only a plan in millimetres goes, in metres.
    far_out: Vec<Far>,
}

/// Points that stand together in the file: a corner, or a line from one point to another.
struct Far {
    place: Place,
    from: Point,
    to: Option<Point>,
}

impl Items<'_, '_> {
    fn gather(&mut self) {
        let design = self.inspection.design;
        for (at, (name, entry)) in design.rooms.iter().enumerate() {
            let room = &entry.value;
            self.outline(Subject::Room(at), &room.outline, || format!("the outline of {name}"), true);
            for (unit, area) in room.keep_clear.iter() {
                let called = || format!("the keep-clear area {unit} of {name}");
                self.corners(Subject::Room(at), area.name_place, &area.value.corners, called, false, true);
            }
        }
        for (at, room) in design.rooms.values().enumerate() {
            for (line, fixing) in room.fixing_lines.iter() {
                self.line(Subject::Room(at), &fixing.value.line, || format!("the fixing line {line}"));
            }
            for (pane, glazing) in room.glazing.iter() {
                self.line(Subject::Room(at), &glazing.value.line, || format!("the glazing {pane}"));
            }
            for line in &room.outside_walls {
                self.line(Subject::Room(at), &Some(*line), || "an outside wall".into());
            }
        }
        for (at, (name, entry)) in design.uprights.iter().enumerate() {
            self.outline(Subject::Upright(at), &entry.value.outline, || format!("the outline of {name}"), false);
        }
        for (at, (name, entry)) in design.electric_mats.iter().enumerate() {
            self.outline(Subject::ElectricMat(at), &entry.value.outline, || format!("the outline of {name}"), false);
        }
        for (at, (name, entry)) in design.walls.iter().enumerate() {
            self.line(Subject::Wall(at), &entry.value.line, || format!("wall {name}"));
        }
        for (at, (name, entry)) in design.movement_joints.iter().enumerate() {
            self.line(Subject::MovementJoint(at), &entry.value.line, || format!("movement joint {name}"));
        }
        for (at, (name, entry)) in design.loops.iter().enumerate() {
            if let Some(route) = &entry.value.route
                && let Route::Points(points) = &route.value
            {
                self.corners(Subject::Loop(at), route.at, points, || format!("the route of {name}"), false, false);
            }
        }
        // A point alone has no side: it goes with the others.
        let manifolds = design.manifolds.values().filter_map(|it| it.at);
        let points = manifolds.chain(design.floor_holes.values().filter_map(|it| it.at));
        let far: Vec<Far> = points.filter(|at| self.is_far(&at.value)).map(|at| corner(&at)).collect();
        self.far_out.extend(far);
    }

    /// Whether a point lies where a house in millimetres has its points, and a national grid in metres has not.
    fn is_far(&self, at: &Point) -> bool {
        (self.millimetres_from.in_metres()..1e5).contains(&at.x.abs().max(at.y.abs()))
    }

    fn outline(&mut self, about: Subject, given: &Given<Outline>, called: impl Fn() -> String, is_room: bool) {
        if let Some(outline) = given {
            self.corners(about, outline.at, &outline.value.corners, called, is_room, true);
        }
    }

    fn line(&mut self, about: Subject, given: &Given<Line>, called: impl Fn() -> String) {
        let Some(line) = given else { return };
        let side = distance(line.value.from, line.value.to);
        let far = Far { place: line.at, from: line.value.from, to: Some(line.value.to) };
        if self.is_odd(side, false) {
            self.of_file.push(Item { about, called: called(), place: line.at, side, is_room: false, far: vec![far] });
        } else if self.is_far(&line.value.from) || self.is_far(&line.value.to) {
            self.far_out.push(far);
        }
    }

    fn corners(
        &mut self,
        about: Subject,
        place: Place,
        corners: &List<Point>,
        called: impl Fn() -> String,
        is_room: bool,
        is_closed: bool,
    ) {
        let sides = corners.windows(2).map(|pair| distance(pair[0].value, pair[1].value));
        let last = corners.last().filter(|_| is_closed).zip(corners.first());
        let last = last.map(|(last, first)| distance(last.value, first.value));
        let Some(side) = sides.chain(last).reduce(Length::max) else { return };
        if side > LONGEST.get::<Length>(&RULE, self.inspection).value {
            let far = corners.iter().map(corner).collect();
            self.of_file.push(Item { about, called: called(), place, side, is_room, far });
        } else if corners.iter().any(|corner| self.is_far(&corner.value)) {
            self.far_out.extend(corners.iter().map(corner));
        } else if self.is_odd(side.max(across(corners)), is_room) {
            let side = side.max(across(corners));
            self.of_file.push(Item { about, called: called(), place, side, is_room, far: Vec::new() });
        }
    }

    fn is_odd(&self, side: Length, is_room: bool) -> bool {
        side > LONGEST.get::<Length>(&RULE, self.inspection).value
            || is_room && side < SHORTEST.get::<Length>(&RULE, self.inspection).value
    }
}

fn distance(from: Point, to: Point) -> Length {
    Length::metres((to.x - from.x).hypot(to.y - from.y))
}

/// The longer side of the box round points: a round wall has many short ones.
fn across(corners: &List<Point>) -> Length {
    let side = |of: fn(&Point) -> f64| {
        let all = || corners.iter().map(|corner| of(&corner.value));
        all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min)
    };
    Length::metres(side(|at| at.x).max(side(|at| at.y)))
}

fn corner(at: &Placed<Point>) -> Far {
    Far { place: at.at, from: at.value, to: None }
}

/// Whether all its numbers are whole.
fn is_whole(far: &Far) -> bool {
    [Some(far.from), far.to].into_iter().flatten().all(|it| it.x.fract() == 0.0 && it.y.fract() == 0.0)
}

/// The same points in metres: what is that large or larger is divided.
fn smaller(far: &Far, from: f64) -> Change {
    let metres = |number: f64| if number.abs() >= from { thousandth(number) } else { number };
    let point = |it: Point| format!("[{}, {}]", metres(it.x), metres(it.y));
    let text = match far.to {
        Some(to) => format!("[{}, {}]", point(far.from), point(to)),
        None => point(far.from),
    };
    Change { place: far.place, text }
}

fn thousandth(number: f64) -> f64 {
    // To the hundredth of a millimetre, or 4200 / 1000 may print seventeen figures.
    (number * 100.0).round() / 100_000.0
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
        assert_eq!(texts, ["[0, 0]", "[4.25, 0]", "[4.25, 3.6]", "[0, 3.6]"]);
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

    /// Rooms on a national grid lie far out and are metres.
    #[test]
    fn a_national_grid_is_let_be() {
        let text =
            "rooms: {hall: {outline: [[443000, 5300000], [443005, 5300000], [443005, 5300004], [443000, 5300004]]}}\n";
        assert_eq!(check(text).findings.iter().filter(|it| it.rule.name == RULE.name).count(), 0);
    }
}
