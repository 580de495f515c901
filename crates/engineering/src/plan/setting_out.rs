//! Where the lines of pipe lie in a room, measured from its walls: what whoever lays them, or drills beside them
//! later, holds a tape to.

use super::point::{Way, nearest_shares};
use super::{Bounds, Outline, Point, Route, Stretch};
use quantity::Length;

/// Lines of pipe across one direction, by their distances from a wall.
#[derive(Debug, Clone, PartialEq)]
pub struct DimensionChain {
    /// On the wall, square to the first line: where the distances begin.
    pub from: Point,
    /// Square to the lines, where they end: on the opposite wall, or on the last line if no wall stands square to it.
    pub to: Point,
    pub ends_at_wall: bool,
    /// From the wall to the middle of each line, in rising order.
    pub lines: Vec<Length>,
    /// The ends of the longest leg of each line: there it can be seen.
    pub legs: Vec<[Point; 2]>,
    /// The box round the lines that were measured.
    pub bounds: Bounds,
}

/// Lines that lie nearer to each other are one.
const SAME_LINE: f64 = 0.005;
/// A leg that slants more, as the sine of the angle, is no line of its direction.
const SLANT: f64 = 0.003;
/// A line that lies nearer to another with far more pipe is a jog or the side of a bulb.
const JOG: f64 = 0.02;
/// A shorter piece of pipe is the chord of a bend, not a line.
const SHORTEST: f64 = 0.02;

/// What is shorter and less than an eighth of the longest run is a stub of a tail.
const SHORTEST_RUN: f64 = 0.4;

/// Measures the runs and the turn lines of pipes in a room: one chain across the runs, one along them. Runs lie along the longest,
/// or along a wall if more of them do. There is none where no wall stands square to the first line.
///
/// A turn line is where runs turn back: the leg between two runs, or the crown of a bend. Legs that lie at another
/// angle are not measured, nor are stubs of tails among the runs.
pub fn setting_out(room: &Outline, runs: &[(&Route, Stretch)]) -> Vec<DimensionChain> {
    let pieces: Vec<Vec<Point>> = runs.iter().map(|(route, stretch)| points_in(route, stretch)).collect();
    let legs = || pieces.iter().flat_map(|points| points.windows(2)).map(|leg| leg[0].to(leg[1]));
    let Some(longest) = legs().max_by(|one, other| one.length().total_cmp(&other.length())) else { return Vec::new() };
    if longest.length() < SHORTEST {
        return Vec::new();
    }
    let along = most_lie_along(room, longest, legs);
    let across = normal_form(Way { x: -along.y, y: along.x });
    let bounds = Bounds::around(pieces.iter().flatten().copied());
    let mut chains = Vec::new();
    for direction in [across, along] {
        let mut lines: Vec<Line> = pieces.iter().flat_map(|points| lines(points, direction)).collect();
        lines.sort_by(|one, other| one.at.total_cmp(&other.at));
        let lines: Vec<Line> = lines.chunk_by(|one, other| other.at - one.at <= SAME_LINE).map(as_one).collect();
        let lines = without_jogs(lines);
        let lines = if direction == across { runs_among(lines) } else { turns_among(lines) };
        let lines = without_crowd(lines);
        chains.extend(chain(room, direction, &lines, bounds));
    }
    chains
}

/// The direction in which most of the pipe lies: that of its longest leg, or of a wall.
fn most_lie_along<Legs: Iterator<Item = Way>>(room: &Outline, longest: Way, legs: impl Fn() -> Legs) -> Way {
    const MOST_WALLS: usize = 64;
    let lies_along =
        |way: Way| legs().filter(|leg| leg.cross(way).abs() <= SLANT * leg.length()).map(Way::length).sum::<f64>();
    let longest = normal_form(longest);
    let walls = room.edges().take(MOST_WALLS).map(|(from, to)| normal_form(from.to(to)));
    let (along, _) = walls.fold((longest, lies_along(longest)), |best, wall| {
        let length = if wall == best.0 { 0.0 } else { lies_along(wall) };
        if length > best.1 + SHORTEST { (wall, length) } else { best }
    });
    along
}

impl DimensionChain {
    /// The lines that lie evenly: the first and the last of each group of three or more, by position.
    pub fn even(&self) -> Vec<(usize, usize)> {
        let gap = |at: usize| (self.lines[at + 1] - self.lines[at]).in_metres();
        let (mut groups, mut first) = (Vec::new(), 0);
        while first + 1 < self.lines.len() {
            let mut last = first + 1;
            while last + 1 < self.lines.len() && (gap(last) - gap(first)).abs() <= SAME_LINE {
                last += 1;
            }
            if last - first >= 2 {
                groups.push((first, last));
            }
            first = last;
        }
        groups
    }
}

/// The points of a route within a stretch, with its two ends.
fn points_in(route: &Route, stretch: &Stretch) -> Vec<Point> {
    let mut points = vec![route.at(stretch.from)];
    for leg in route.legs_in(stretch) {
        let Some((_, to)) = route.part_in(leg, stretch) else { continue };
        let (from, end) = route.leg(leg);
        points.push(from.towards(end, to));
    }
    points.dedup();
    points
}

/// The direction of a leg, of length one, whichever way the water runs: rather to the right, or up.
fn normal_form(way: Way) -> Way {
    let length = way.length();
    let unit = Way { x: way.x / length, y: way.y / length };
    // What is meant to be level or plumb is taken to be so.
    let unit = match unit {
        Way { y, .. } if y.abs() < SLANT => Way { x: 1.0, y: 0.0 },
        Way { x, .. } if x.abs() < SLANT => Way { x: 0.0, y: 1.0 },
        unit => unit,
    };
    let forward = if unit.x.abs() >= unit.y.abs() { unit.x } else { unit.y };
    if forward < 0.0 { Way { x: -unit.x, y: -unit.y } } else { unit }
}

/// A line of pipe square to a direction.
#[derive(Debug, Clone, Copy)]
struct Line {
    /// In metres along the direction.
    at: f64,
    /// The longest leg of it: its ends.
    from: Point,
    to: Point,
    length: f64,
    /// Whether pipe turns back there.
    turns: bool,
}

/// The lines of a piece of pipe that lie square to a direction.
fn lines(points: &[Point], direction: Way) -> Vec<Line> {
    let place = |point: Point| point.x * direction.x + point.y * direction.y;
    let mut lines = Vec::new();
    // Which way the pipe went last, seen along the direction.
    let mut went = 0.0;
    for (number, leg) in points.windows(2).enumerate() {
        let way = leg[0].to(leg[1]);
        let (length, forward) = (way.length(), way.dot(direction));
        if forward.abs() <= SLANT * length {
            if length >= SHORTEST {
                let at = (place(leg[0]) + place(leg[1])) / 2.0;
                let beside = |leg: Option<&[Point]>| leg.map_or(0.0, |leg| leg[0].to(leg[1]).dot(direction));
                let before = number.checked_sub(1).and_then(|before| points.get(before..=number));
                let turns = beside(before) * beside(points.get(number + 1..=number + 2)) < 0.0;
                lines.push(Line { at, from: leg[0], to: leg[1], length, turns });
            }
            continue;
        }
        // The crown of a bend that is drawn as many short legs.
        if went * forward < 0.0 && number > 0 {
            let before = points[number - 1].to(points[number]);
            if before.dot(direction).abs() > SLANT * before.length() {
                lines.push(Line { at: place(leg[0]), from: leg[0], to: leg[0], length: 0.0, turns: true });
            }
        }
        went = forward;
    }
    lines
}

/// The lines without jogs and bulbs beside them: nobody lays a bulb by a tape.
fn without_jogs(lines: Vec<Line>) -> Vec<Line> {
    let mut kept = Vec::new();
    for near in lines.chunk_by(|one, other| other.at - one.at < JOG) {
        let longest = near.iter().map(|line| line.length).fold(0.0, f64::max);
        match longest > 0.0 {
            true => kept.extend(near.iter().filter(|line| line.length * 4.0 >= longest)),
            false => kept.extend(near.first()),
        }
    }
    kept
}

/// Lines that are one: where most of the pipe lies.
fn as_one(lines: &[Line]) -> Line {
    let all: f64 = lines.iter().map(|line| line.length).sum();
    let longest = lines.iter().max_by(|one, other| one.length.total_cmp(&other.length)).unwrap_or(&lines[0]);
    let at = match all > 0.0 {
        true => lines.iter().map(|line| line.at * line.length).sum::<f64>() / all,
        false => longest.at,
    };
    Line { at, length: all, turns: lines.iter().any(|line| line.turns), ..*longest }
}

/// The lines where runs turn back, and those that are runs themselves, as the sides of a spiral are: a jog between two
/// runs that go on the same way, or a corner cut off, is neither.
fn turns_among(lines: Vec<Line>) -> Vec<Line> {
    lines.into_iter().filter(|line| line.turns || line.length >= SHORTEST_RUN).collect()
}

/// The lines without the stubs that only lead to a wall: short, and by far shorter than the runs.
fn runs_among(lines: Vec<Line>) -> Vec<Line> {
    let longest = lines.iter().map(|line| line.length).fold(0.0, f64::max);
    let is_run = |line: &Line| line.length >= SHORTEST_RUN || line.length >= longest / 8.0;
    lines.into_iter().filter(is_run).collect()
}

/// Of many lines only those that lie at the usual distance or farther: where the steps of a spiral fall between its
/// runs, the longer of two neighbours tells enough.
fn without_crowd(lines: Vec<Line>) -> Vec<Line> {
    const MANY: usize = 8;
    const CROWDED: f64 = 0.6;
    let mut gaps: Vec<f64> = lines.windows(2).map(|two| two[1].at - two[0].at).collect();
    if lines.len() < MANY {
        return lines;
    }
    gaps.sort_by(f64::total_cmp);
    // Crowded places have many gaps: the usual one is rather among the larger.
    let usual = gaps[gaps.len() * 2 / 3];
    let mut kept: Vec<Line> = Vec::with_capacity(lines.len());
    for line in lines {
        let near = |last: &Line| line.at - last.at < CROWDED * usual;
        while kept.last().is_some_and(|last| near(last) && last.length < line.length) {
            kept.pop();
        }
        if !kept.last().is_some_and(near) {
            kept.push(line);
        }
    }
    kept
}

fn chain(room: &Outline, direction: Way, lines: &[Line], bounds: Bounds) -> Option<DimensionChain> {
    let (first, last) = (lines.first()?, lines.last()?);
    let back = Way { x: -direction.x, y: -direction.y };
    let (from, to_first) = wall(room, first, back)?;
    let opposite = wall(room, last, direction);
    let whole = to_first + last.at - first.at + opposite.map_or(0.0, |(_, distance)| distance);
    let to = Point::new(from.x + direction.x * whole, from.y + direction.y * whole);
    let legs = lines.iter().map(|line| [line.from, line.to]).collect();
    let lines = lines.iter().map(|line| Length::metres(to_first + line.at - first.at)).collect();
    Some(DimensionChain { from, to, ends_at_wall: opposite.is_some(), lines, legs, bounds })
}

/// The wall that stands square to a direction as seen from a line, and how far it is: the place on it.
fn wall(room: &Outline, line: &Line, direction: Way) -> Option<(Point, f64)> {
    // From the middle first: near a corner another wall may stand in the way.
    [0.5, 0.25, 0.75, 0.05, 0.95].into_iter().find_map(|share| {
        let eye = line.from.towards(line.to, share);
        let box_around = room.bounds();
        let (wide, high) = box_around.sides();
        let far = wide + high;
        let end = Point::new(eye.x + direction.x * far, eye.y + direction.y * far);
        let mut nearest: Option<(f64, bool)> = None;
        for (from, to) in room.edges() {
            let edge = from.to(to);
            let (of_ray, of_edge) = nearest_shares(eye, end, from, to);
            let (seen, hit) = (eye.towards(end, of_ray), from.towards(to, of_edge));
            if seen.metres_to(hit) > 1e-6 || of_ray <= 0.0 && edge.dot(direction) != 0.0 {
                continue;
            }
            let distance = eye.metres_to(hit);
            let square = edge.dot(direction).abs() <= SLANT * edge.length();
            if nearest.is_none_or(|(least, _)| distance < least) {
                nearest = Some((distance, square));
            }
        }
        let (distance, square) = nearest?;
        let at = Point::new(eye.x + direction.x * distance, eye.y + direction.y * distance);
        square.then_some((at, distance))
    })
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::points;
    use super::super::spacing::tests::serpentine;
    use super::super::svg_path;
    use super::*;

    fn room(corners: &[(f64, f64)]) -> Outline {
        Outline::new(&points(corners)).unwrap()
    }

    /// Tails that step aside: each line is seen where its longest leg lies.
    #[test]
    fn a_line_is_seen_where_it_lies() {
        let hall = room(&[(0.0, 0.0), (8.0, 0.0), (8.0, 2.0), (0.0, 2.0)]);
        let route =
            Route::new(&points(&[(0.0, 0.5), (3.0, 0.5), (3.3, 0.8), (7.9, 0.8), (7.9, 1.2), (0.0, 1.2)])).unwrap();
        let chains = setting_out(&hall, &[(&route, route.whole())]);
        let across = chains.iter().find(|it| it.from.x == it.to.x).unwrap();
        let lines: Vec<f64> = across.lines.iter().map(|it| it.in_millimetres().round()).collect();
        assert_eq!(lines, [500.0, 800.0, 1200.0]);
        let seen: Vec<[f64; 2]> =
            across.legs.iter().map(|leg| [leg[0].x.min(leg[1].x), leg[0].x.max(leg[1].x)]).collect();
        assert_eq!(seen, [[0.0, 3.0], [3.3, 7.9], [0.0, 7.9]]);
    }

    /// The longest leg slants by 2 cm, as past an island, and the others lie along the wall.
    #[test]
    fn a_slanting_run_does_not_hide_the_others() {
        let hall = room(&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]);
        let line =
            [(0.1, 0.1), (3.5, 0.1), (3.5, 0.25), (0.1, 0.25), (0.1, 0.4), (3.5, 0.4), (3.5, 0.57), (0.05, 0.55)];
        let route = Route::new(&points(&line)).unwrap();
        let chains = setting_out(&hall, &[(&route, route.whole())]);
        let across = chains.iter().find(|it| it.from.x == it.to.x).unwrap();
        let lines: Vec<f64> = across.lines.iter().map(|it| it.in_millimetres().round()).collect();
        assert_eq!(lines, [100.0, 250.0, 400.0]);
    }

    /// Each chain as text: from, to, and its lines in millimetres.
    fn measured(room: &Outline, route: &Route) -> Vec<String> {
        setting_out(room, &[(route, route.whole())])
            .iter()
            .map(|chain| {
                let lines: Vec<String> = chain.lines.iter().map(|it| format!("{:.0}", it.in_millimetres())).collect();
                let Point { x, y } = chain.from;
                format!("[{x:.2} {y:.2}] {} -> [{:.2} {:.2}]", lines.join(" "), chain.to.x, chain.to.y)
            })
            .collect()
    }

    /// Sides of bulbs and jogs lie nearer to a run than anyone measures: plain arithmetic.
    #[test]
    fn jogs_are_not_measured() {
        let line = |at: f64, length: f64| Line {
            at,
            from: Point::new(0.0, at),
            to: Point::new(length, at),
            length,
            turns: false,
        };
        let lines = vec![line(0.1, 3.0), line(0.115, 0.1), line(0.25, 3.0), line(0.4, 0.0), line(0.41, 0.0)];
        let kept: Vec<f64> = without_jogs(lines).iter().map(|line| line.at).collect();
        assert_eq!(kept, [0.1, 0.25, 0.4]);
        // Two runs as long as each other are both there, however near.
        assert_eq!(without_jogs(vec![line(0.1, 3.0), line(0.115, 2.0)]).len(), 2);
    }

    /// Steps that fall between runs are left out, however many they are; few lines are all told: plain arithmetic.
    #[test]
    fn crowded_lines_are_thinned() {
        let line = |at: f64, length: f64| Line {
            at,
            from: Point::new(0.0, at),
            to: Point::new(length, at),
            length,
            turns: false,
        };
        let mut lines: Vec<Line> = (0..20).map(|run| line(0.15 * f64::from(run), 3.0)).collect();
        lines.extend((4..8).map(|step| line(0.15 * f64::from(step) + 0.02, 0.6)));
        lines.sort_by(|one, other| one.at.total_cmp(&other.at));
        let kept = without_crowd(lines);
        assert!(kept.len() == 20 && kept.iter().all(|line| line.length == 3.0), "{kept:?}");
        let few = vec![line(0.05, 3.0), line(0.1, 0.5), line(0.25, 3.0)];
        assert_eq!(without_crowd(few).len(), 3);
    }

    /// Runs of 3 m at 150 mm, 200 mm off the left wall and 100 mm off the lower one: plain arithmetic.
    #[test]
    fn runs_and_turn_lines_of_a_meander() {
        let room = room(&[(0.0, 0.0), (3.5, 0.0), (3.5, 1.0), (0.0, 1.0)]);
        let route = serpentine(0.2, 0.1, 3.0, 6, 0.15);
        assert_eq!(
            measured(&room, &route),
            ["[1.70 0.00] 100 250 400 550 700 850 -> [1.70 1.00]", "[0.00 0.62] 200 3200 -> [3.50 0.62]"]
        );
        let chains = setting_out(&room, &[(&route, route.whole())]);
        assert_eq!(chains[0].even(), [(0, 5)]);
        assert_eq!(chains[1].even(), []);
    }

    /// Half circles of 75 mm radius turn the runs back: their crowns are the turn lines.
    #[test]
    fn the_crown_of_a_bend_is_a_turn_line() {
        let room = room(&[(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (0.0, 1.0)]);
        let path = "M 0.5 0.2 H 3 A 0.075 0.075 0 0 1 3 0.35 H 0.5 A 0.075 0.075 0 0 0 0.5 0.5 H 3";
        let route = Route::new(&svg_path(path).unwrap()[0].points).unwrap();
        let chains = setting_out(&room, &[(&route, route.whole())]);
        let lines = |chain: &DimensionChain| -> Vec<f64> {
            chain.lines.iter().map(|line| line.in_millimetres().round()).collect()
        };
        assert_eq!(lines(&chains[0]), [200.0, 350.0, 500.0]);
        assert_eq!(lines(&chains[1]), [425.0, 3075.0]);
    }

    /// A room that stands askew: its walls and its runs turned by 30°.
    #[test]
    fn walls_askew_are_measured_square() {
        let (sin, cos) = 30f64.to_radians().sin_cos();
        let turned = |corners: &[(f64, f64)]| -> Vec<Point> {
            corners.iter().map(|&(x, y)| Point::new(x * cos - y * sin, x * sin + y * cos)).collect()
        };
        let room = Outline::new(&turned(&[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)])).unwrap();
        let route = Route::new(&turned(&[(0.3, 0.4), (3.5, 0.4), (3.5, 0.6), (0.3, 0.6)])).unwrap();
        let chains = setting_out(&room, &[(&route, route.whole())]);
        let across: Vec<f64> = chains[0].lines.iter().map(|it| it.in_millimetres().round()).collect();
        assert_eq!(across, [400.0, 600.0]);
        assert!((chains[0].from.metres_to(chains[0].to) - 2.0).abs() < 1e-9 && chains[0].ends_at_wall);
        // One turn line; it is measured from the wall on the left.
        assert_eq!(chains[1].lines.len(), 1);
        assert!((chains[1].lines[0].in_metres() - 3.5).abs() < 1e-9);
    }

    #[test]
    fn in_a_room_with_a_corner_the_wall_that_is_seen_counts() {
        // The first run lies above the step, the last one right up to the far wall.
        let room = room(&[(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (5.0, 1.0), (5.0, 3.0), (0.0, 3.0)]);
        let route = Route::new(&points(&[(2.5, 1.2), (4.8, 1.2), (4.8, 2.9), (2.5, 2.9)])).unwrap();
        assert_eq!(measured(&room, &route)[0], "[3.65 1.00] 200 1900 -> [3.65 3.00]");
    }

    #[test]
    fn a_stub_that_leads_to_the_wall_is_no_run() {
        let room = room(&[(0.0, 0.0), (5.0, 0.0), (5.0, 3.0), (0.0, 3.0)]);
        let way = [(5.0, 2.5), (4.8, 2.5), (4.8, 0.2), (0.2, 0.2), (0.2, 0.4), (4.9, 0.4), (4.9, 2.6), (5.0, 2.6)];
        let route = Route::new(&points(&way)).unwrap();
        let chains = measured(&room, &route);
        assert!(chains[0].contains(" 200 400 ->"), "{chains:?}");
        assert!(chains[1].contains(" 200 4800 4900 ->"), "{chains:?}");
    }

    #[test]
    fn nothing_square_is_nothing_measured() {
        let triangle = room(&[(0.0, 0.0), (4.0, 0.0), (2.0, 3.0)]);
        let route = Route::new(&points(&[(1.9, 1.0), (2.1, 1.0), (2.1, 1.2), (1.9, 1.2)])).unwrap();
        let chains = setting_out(&triangle, &[(&route, route.whole())]);
        assert_eq!(chains.len(), 1, "only the base is square to anything: {chains:?}");
        assert!(!chains[0].ends_at_wall);
        assert_eq!(setting_out(&triangle, &[]), []);
    }
}
