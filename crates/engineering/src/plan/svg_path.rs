//! Routes and outlines written as an SVG path: `M 0 0 L 4 0 A 0.1 0.1 0 0 1 4 0.2 H 0 Z`.
//!
//! Lines and arcs only, as pipe is laid. Source: Scalable Vector Graphics (SVG) 1.1, second edition,
//! 8.3 (path data) and F.6 (arcs), from memory.

use super::{Point, PointFault};
use quantity::Length;
use std::f64::consts::{PI, TAU};
use std::fmt;
use std::ops::Range;

/// One line of a path: what comes after a move.
#[derive(Debug, Clone, PartialEq)]
pub struct PathLine {
    /// In metres; a closed line does not repeat its first point.
    pub points: Vec<Point>,
    /// It ends with `Z`.
    pub closed: bool,
    /// For each point the bytes of the text that lead to it; a closed line has one more, for the way back to its first point.
    pub written: Vec<Range<usize>>,
}

/// Why a text is no path of lines and arcs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathFault {
    /// The byte of the text at which it shows.
    pub at: usize,
    pub what: PathFaultKind,
}

/// What is wrong with a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PathFaultKind {
    /// The path does not begin with `M`.
    NoMove,
    /// A curve command: pipe is drawn with lines and arcs.
    Curve(char),
    /// A character that is no command.
    NoCommand(char),
    /// A number should stand here.
    NoNumber,
    /// A `0` or a `1` should stand here, the two flags of an arc.
    NoFlag,
    /// The point that is reached is none.
    Point(PointFault),
    /// An arc so large that it would take more than a thousand legs.
    ArcTooLarge,
}

impl fmt::Display for PathFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self.what {
            PathFaultKind::NoMove => f.write_str("a path begins with M and a point"),
            PathFaultKind::Curve(command) => {
                write!(f, "`{command}` draws a curve; draw pipe with lines and arcs: M L H V A Z")
            }
            PathFaultKind::NoCommand(command) => {
                write!(f, "`{command}` is no command; a path knows M L H V A Z")
            }
            PathFaultKind::NoNumber => f.write_str("a number is missing"),
            PathFaultKind::NoFlag => f.write_str("an arc wants a flag here, 0 or 1"),
            PathFaultKind::Point(fault) => write!(f, "{fault}"),
            PathFaultKind::ArcTooLarge => f.write_str("the arc is too large; radii are metres"),
        }
    }
}

/// How far a leg may lie from the arc that it stands for.
pub const ARC_TOLERANCE: Length = Length::millimetres(0.5);

const MOST_ARC_LEGS: f64 = 1000.0;

/// Reads the lines of a path, coordinates in metres, with arcs cut into legs no farther than
/// [`ARC_TOLERANCE`] from them.
///
/// An empty text is no lines. A line of a move alone has one point. What follows a `Z` without a move
/// begins where the closed line began.
pub fn svg_path(text: &str) -> Result<Vec<PathLine>, PathFault> {
    lines(text, |_| {})
}

/// The same path, written as it was but with each coordinate and each radius changed; the angles and flags of arcs stay.
pub fn changed_svg_path(text: &str, mut change: impl FnMut(f64) -> f64) -> Result<String, PathFault> {
    let mut lengths = Vec::new();
    lines(text, |length| lengths.push(length))?;
    let mut changed = String::with_capacity(text.len() + 2 * lengths.len());
    let mut end = 0;
    for length in lengths {
        changed.push_str(&text[end..length.start]);
        end = length.end;
        changed.push_str(&change(text[length].parse().unwrap_or(f64::NAN)).to_string());
        // `5.5.5` are two numbers, and `5.5` is one.
        if text[end..].starts_with(['.', '+', '-']) {
            changed.push(' ');
        }
    }
    changed.push_str(&text[end..]);
    Ok(changed)
}

/// The lines of a path; `length` is told where each of its lengths stands, in their order.
fn lines(text: &str, length: impl FnMut(Range<usize>)) -> Result<Vec<PathLine>, PathFault> {
    let mut reader = Reader { text, at: 0, length };
    let mut lines: Vec<PathLine> = Vec::new();
    let (mut start, mut here) = (Point::default(), Point::default());
    loop {
        reader.pass_space();
        let at = reader.at;
        let Some(command) = reader.command(lines.is_empty())? else { return Ok(lines) };
        if command.eq_ignore_ascii_case(&'z') {
            close(&mut lines, start, at..reader.at);
            here = start;
            continue;
        }
        let mut first = true;
        while first || reader.goes_on()? {
            let from = if first { at } else { reader.at };
            let origin = if command.is_ascii_lowercase() { here } else { Point::default() };
            let mut arc = None;
            let to = match command.to_ascii_lowercase() {
                'h' => Point { x: origin.x + reader.length()?, ..here },
                'v' => Point { y: origin.y + reader.length()?, ..here },
                'a' => {
                    let (wide, high) = (reader.length()?.abs(), reader.further()?.abs());
                    reader.pass_comma();
                    let tilt = reader.number()?.to_radians();
                    let (large, sweep) = (reader.flag()?, reader.flag()?);
                    arc = Some(Arc { wide, high, tilt, large, sweep });
                    reader.pass_comma();
                    reader.point(origin)?
                }
                _ => reader.point(origin)?,
            };
            if let Some(fault) = to.fault() {
                return Err(PathFault { at, what: PathFaultKind::Point(fault) });
            }
            if first && command.eq_ignore_ascii_case(&'m') {
                lines.push(PathLine { points: vec![to], closed: false, written: Vec::new() });
                start = to;
            } else {
                let line = open_line(&mut lines, here);
                if arc.is_some_and(|arc| !arc.add_legs(here, to, &mut line.points)) {
                    return Err(PathFault { at, what: PathFaultKind::ArcTooLarge });
                }
                line.points.push(to);
            }
            if let Some(line) = lines.last_mut() {
                line.written.resize(line.points.len(), from..reader.at);
            }
            here = to;
            first = false;
        }
    }
}

fn close(lines: &mut [PathLine], start: Point, written: Range<usize>) {
    if let Some(line) = lines.last_mut() {
        line.closed = true;
        match line.points.len() > 1 && line.points.last() == Some(&start) {
            true => drop(line.points.pop()),
            false => line.written.push(written),
        }
    }
}

/// The line to go on with: after a closed one a new one.
fn open_line(lines: &mut Vec<PathLine>, here: Point) -> &mut PathLine {
    match lines.last() {
        Some(line) if !line.closed => {}
        _ => lines.push(PathLine { points: vec![here], closed: false, written: Vec::new() }),
    }
    let last = lines.len() - 1;
    &mut lines[last]
}

struct Reader<'a, F> {
    text: &'a str,
    at: usize,
    /// Is told where each length stands.
    length: F,
}

impl<F: FnMut(Range<usize>)> Reader<'_, F> {
    fn fault<T>(&self, what: PathFaultKind) -> Result<T, PathFault> {
        Err(PathFault { at: self.at, what })
    }

    fn next(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn pass_space(&mut self) {
        while matches!(self.next(), Some(b' ' | b'\t' | b'\r' | b'\n' | b'\x0c')) {
            self.at += 1;
        }
    }

    /// Passes space and at most one comma; tells whether there was a comma.
    fn pass_comma(&mut self) -> bool {
        self.pass_space();
        let comma = self.next() == Some(b',');
        if comma {
            self.at += 1;
            self.pass_space();
        }
        comma
    }

    /// The next command, or nothing at the end of the text.
    fn command(&mut self, at_start: bool) -> Result<Option<char>, PathFault> {
        let Some(command) = self.text[self.at..].chars().next() else { return Ok(None) };
        match command {
            'M' | 'm' => {}
            _ if at_start => return self.fault(PathFaultKind::NoMove),
            'L' | 'l' | 'H' | 'h' | 'V' | 'v' | 'A' | 'a' | 'Z' | 'z' => {}
            'C' | 'c' | 'S' | 's' | 'Q' | 'q' | 'T' | 't' => {
                return self.fault(PathFaultKind::Curve(command));
            }
            _ => return self.fault(PathFaultKind::NoCommand(command)),
        }
        self.at += 1;
        self.pass_space();
        Ok(Some(command))
    }

    /// Whether the same command goes on with more numbers.
    fn goes_on(&mut self) -> Result<bool, PathFault> {
        let number = |next| matches!(next, Some(b'0'..=b'9' | b'+' | b'-' | b'.'));
        match self.pass_comma() {
            true if !number(self.next()) => self.fault(PathFaultKind::NoNumber),
            _ => Ok(number(self.next())),
        }
    }

    fn digits(&mut self) -> usize {
        let start = self.at;
        while matches!(self.next(), Some(b'0'..=b'9')) {
            self.at += 1;
        }
        self.at - start
    }

    fn sign(&mut self) {
        if matches!(self.next(), Some(b'+' | b'-')) {
            self.at += 1;
        }
    }

    /// A number. It may follow the one before it without a space where it begins with a sign or, after
    /// a fraction, with a point: `1-2` and `.5.5` are two each.
    fn number(&mut self) -> Result<f64, PathFault> {
        let start = self.at;
        self.sign();
        let mut digits = self.digits();
        if self.next() == Some(b'.') {
            self.at += 1;
            digits += self.digits();
        }
        if digits == 0 {
            return Err(PathFault { at: start, what: PathFaultKind::NoNumber });
        }
        let mantissa = self.at;
        if matches!(self.next(), Some(b'e' | b'E')) {
            self.at += 1;
            self.sign();
            if self.digits() == 0 {
                self.at = mantissa;
            }
        }
        let number = self.text[start..self.at].parse();
        number.map_err(|_| PathFault { at: start, what: PathFaultKind::NoNumber })
    }

    /// A coordinate or a radius.
    fn length(&mut self) -> Result<f64, PathFault> {
        let start = self.at;
        let number = self.number()?;
        (self.length)(start..self.at);
        Ok(number)
    }

    /// A length that is not the first number of its command.
    fn further(&mut self) -> Result<f64, PathFault> {
        self.pass_comma();
        self.length()
    }

    fn point(&mut self, origin: Point) -> Result<Point, PathFault> {
        let (x, y) = (self.length()?, self.further()?);
        Ok(Point { x: origin.x + x, y: origin.y + y })
    }

    /// One of the two flags of an arc, one digit each, which may stand close together.
    fn flag(&mut self) -> Result<bool, PathFault> {
        self.pass_comma();
        let flag = match self.next() {
            Some(b'0') => false,
            Some(b'1') => true,
            _ => return self.fault(PathFaultKind::NoFlag),
        };
        self.at += 1;
        Ok(flag)
    }
}

/// The way that an arc goes from one point to another.
#[derive(Clone, Copy)]
struct Arc {
    /// The two radii of the ellipse, in metres.
    wide: f64,
    high: f64,
    /// The angle of the first, in radians.
    tilt: f64,
    /// The longer way round.
    large: bool,
    /// Towards growing angles.
    sweep: bool,
}

impl Arc {
    /// Adds the points between the two ends; false if there are too many.
    ///
    /// An arc with a radius of zero is a straight line, and one whose radii cannot span the ends has
    /// them enlarged until they do (SVG 1.1, F.6.6).
    fn add_legs(self, from: Point, to: Point, points: &mut Vec<Point>) -> bool {
        let (mut wide, mut high) = (self.wide, self.high);
        if from == to || wide == 0.0 || high == 0.0 || !(wide.is_finite() && high.is_finite()) {
            return true;
        }
        // F.6.5, from ends to centre.
        let (sine, cosine) = self.tilt.sin_cos();
        let half = ((from.x - to.x) / 2.0, (from.y - to.y) / 2.0);
        let x = cosine * half.0 + sine * half.1;
        let y = cosine * half.1 - sine * half.0;
        let spans = (x / wide).hypot(y / high);
        if spans > 1.0 {
            (wide, high) = (wide * spans, high * spans);
        }
        let (x, y) = (x / wide, y / high);
        let square = x * x + y * y;
        let off = ((1.0 - square).max(0.0) / square).sqrt();
        let off = if self.large == self.sweep { -off } else { off };
        // On the unit circle the ends lie at ±(x, y) from the middle, and the centre square to them.
        let centre = (off * y, -off * x);
        let first = (y - centre.1).atan2(x - centre.0);
        let last = (-y - centre.1).atan2(-x - centre.0);
        let mut turn = (last - first).rem_euclid(TAU);
        if !self.sweep {
            turn -= TAU;
        }
        let middle = ((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
        let at = |angle: f64| {
            let (sine_of, cosine_of) = angle.sin_cos();
            let (u, v) = (wide * (centre.0 + cosine_of), high * (centre.1 + sine_of));
            Point { x: middle.0 + cosine * u - sine * v, y: middle.1 + sine * u + cosine * v }
        };
        // A leg over the angle φ lies up to r·(1 − cos φ/2) from its arc.
        let sagitta = ARC_TOLERANCE.in_metres() / wide.max(high);
        let widest = if sagitta < 1.0 { 2.0 * (1.0 - sagitta).acos() } else { PI };
        let legs = (turn.abs() / widest).ceil().max(1.0);
        if legs.is_nan() || legs > MOST_ARC_LEGS {
            return false;
        }
        let legs = legs as u32;
        points.extend((1..legs).map(|leg| at(first + turn * f64::from(leg) / f64::from(legs))));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::{Numbers, points};
    use super::super::{Outline, Route};
    use super::*;

    fn one(text: &str) -> Vec<Point> {
        let lines = svg_path(text).unwrap();
        assert_eq!(lines.len(), 1, "{lines:?}");
        lines[0].points.clone()
    }

    fn fault(text: &str) -> (usize, PathFaultKind) {
        let fault = svg_path(text).unwrap_err();
        (fault.at, fault.what)
    }

    #[test]
    fn lines_from_point_to_point() {
        let square = points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]);
        assert_eq!(one("M 0 0 L 4 0 L 4 3 L 0 3"), square);
        assert_eq!(one("M0,0H4V3H0"), square);
        assert_eq!(one("m0 0h4v3h-4"), square);
        assert_eq!(one("M 0 0 4 0 4,3\n0 , 3"), square);
        assert_eq!(one("m 0 0 4 0 0 3 -4 0"), square);
        assert_eq!(one(" M0 0l4-0 0+3-4-.0e0"), square);
        assert_eq!(one("M.5.5L1e-1-2.E1"), points(&[(0.5, 0.5), (0.1, -20.0)]));
    }

    #[test]
    fn each_point_knows_what_leads_to_it() {
        let written = |text: &'static str| {
            let line = svg_path(text).unwrap().swap_remove(0);
            assert_eq!(line.written.len(), line.points.len() + usize::from(line.closed), "{text}");
            let mut written: Vec<&str> = line.written.into_iter().map(|at| &text[at]).collect();
            // An arc is many legs.
            written.dedup();
            written
        };
        assert_eq!(written("M 0 0 H 4 V3L 1 3 "), ["M 0 0", "H 4", "V3", "L 1 3"]);
        assert_eq!(written("M0,0 4 0 4,3 z"), ["M0,0", "4 0", "4,3", "z"]);
        assert_eq!(
            written("M 0 0 H 4 A 0.1 0.1 0 0 1 4 0.2 H 0 V 0 Z"),
            ["M 0 0", "H 4", "A 0.1 0.1 0 0 1 4 0.2", "H 0", "V 0"]
        );
    }

    #[test]
    fn closed_lines_and_several() {
        let lines = svg_path("M0 0H4V3H0z M 1 1 L 2 1 L 2 2 L 1 1 Z l 0 5").unwrap();
        let closed: Vec<(usize, bool)> = lines.iter().map(|line| (line.points.len(), line.closed)).collect();
        assert_eq!(closed, [(4, true), (3, true), (2, false)]);
        assert_eq!(lines[2].points, points(&[(1.0, 1.0), (1.0, 6.0)]));
        assert_eq!(svg_path(" \n").unwrap(), []);
        assert_eq!(one("M 1 2"), points(&[(1.0, 2.0)]));
        assert_eq!(svg_path("M1 2ZZ").unwrap().len(), 1);
    }

    #[test]
    fn arcs_keep_to_the_tolerance() {
        let area = |text: &str| Outline::new(&one(text)).unwrap().area().in_square_metres();
        let circle = area("M 2 0 A 2 2 0 0 1 -2 0 A 2 2 0 0 1 2 0 Z");
        assert!((circle - 4.0 * PI).abs() < 4.0 * PI * 0.0005, "{circle}");
        // Half of an ellipse, tilted; its ends span it.
        let ellipse = area("M 0 0 A 3 1 90 0 0 0 6 Z");
        assert!((ellipse - 1.5 * PI).abs() < 0.01, "{ellipse}");
        // The larger and the smaller way, to either side.
        let around = |flags: &str| one(&format!("M 0 0 A 1 1 0 {flags} 1 1"));
        let side = |points: &[Point]| {
            let middle = points[points.len() / 2];
            (middle.x - middle.y).signum()
        };
        let length = |points: &[Point]| Route::new(points).unwrap().length().in_metres();
        for (flags, is, to_the) in [("0 0", 0.5, -1.0), ("0,1", 0.5, 1.0), ("10", 1.5, -1.0), ("1 1", 1.5, 1.0)] {
            let points = around(flags);
            assert!((length(&points) - is * PI).abs() < 2e-3, "{flags}");
            assert_eq!(side(&points), to_the, "{flags}");
            let centre = if (to_the > 0.0) == (is < 1.0) { Point::new(0.0, 1.0) } else { Point::new(1.0, 0.0) };
            for two in points.windows(2) {
                let middle = two[0].towards(two[1], 0.5).metres_to(centre);
                assert!(middle > 1.0 - 0.0005 - 1e-9 && middle < 1.0 + 1e-9, "{flags} {middle}");
            }
        }
        // A bend of pipe: a quarter circle of 80 mm.
        let bend = one("M 0 0 H 1 a .08.08 0 01.08.08 V 1");
        let length = length(&bend);
        assert!((length - (1.0 + 0.08 * PI / 2.0 + 0.92)).abs() < 1e-3, "{length}");
    }

    #[test]
    fn arcs_that_are_none() {
        let line = points(&[(0.0, 0.0), (4.0, 0.0)]);
        assert_eq!(one("M 0 0 A 0 1 0 0 1 4 0"), line);
        assert_eq!(one("M 0 0 A 1 1 0 0 1 0 0"), points(&[(0.0, 0.0), (0.0, 0.0)]));
        // Radii too small to span the ends are enlarged: a half circle.
        let half = Route::new(&one("M 0 0 A 1 1 0 0 1 4 0")).unwrap().length().in_metres();
        assert!((half - 2.0 * PI).abs() < 5e-3, "{half}");
        assert_eq!(fault("M 0 0 A 1e8 1e8 0 1 1 4 0"), (6, PathFaultKind::ArcTooLarge));
    }

    #[test]
    fn faults_say_where() {
        assert_eq!(fault("L 0 0"), (0, PathFaultKind::NoMove));
        assert_eq!(fault("5 5"), (0, PathFaultKind::NoMove));
        assert_eq!(fault("M 0 0 C 1 1 2 2 3 3"), (6, PathFaultKind::Curve('C')));
        assert_eq!(fault("M 0 0 X"), (6, PathFaultKind::NoCommand('X')));
        assert_eq!(fault("M 0 0 é"), (6, PathFaultKind::NoCommand('é')));
        assert_eq!(fault("M 0 0 Z 5"), (8, PathFaultKind::NoCommand('5')));
        assert_eq!(fault("M 0"), (3, PathFaultKind::NoNumber));
        assert_eq!(fault("M 0 0 L"), (7, PathFaultKind::NoNumber));
        assert_eq!(fault("M 0 0 L 1,,2"), (10, PathFaultKind::NoNumber));
        assert_eq!(fault("M 0 0, L 1 2"), (7, PathFaultKind::NoNumber));
        assert_eq!(fault("M 0 0 L 1 - 2"), (10, PathFaultKind::NoNumber));
        assert_eq!(fault("M 0 0 A 1 1 0 2 0 4 4"), (14, PathFaultKind::NoFlag));
        assert_eq!(fault("M 0 0 L 1e999 0"), (6, PathFaultKind::Point(PointFault::NotFinite)));
        assert_eq!(fault("M 0 0 h 1e9"), (6, PathFaultKind::Point(PointFault::OffThePlan)));
        let curve = svg_path("M 0 0 q 1 1 2 2").unwrap_err();
        assert_eq!(curve.to_string(), "`q` draws a curve; draw pipe with lines and arcs: M L H V A Z");
    }

    #[test]
    fn lengths_change_and_the_writing_stays() {
        let thousandth = |text: &str| changed_svg_path(text, |length| length / 1000.0).unwrap();
        assert_eq!(thousandth("M 0 0, 4000 0\n V 150"), "M 0 0, 4 0\n V 0.15");
        assert_eq!(thousandth("m0 0h4000v3e3H-20z"), "m0 0h4v3H-0.02z");
        assert_eq!(thousandth("M 1 1 A 75 80.5 45 0 1 100 150"), "M 0.001 0.001 A 0.075 0.0805 45 0 1 0.1 0.15");
        // Numbers and flags that stand close together.
        assert_eq!(
            thousandth("M.5.5l10-20+5-.0 a8 8 0 0110 2"),
            "M0.0005 0.0005l0.01 -0.02 0.005 -0 a0.008 0.008 0 010.01 0.002"
        );
        let tenfold = changed_svg_path("M 0 0 A8 5e0.5 0 1 4 4", |length| length * 10.0);
        assert_eq!(tenfold.as_deref(), Ok("M 0 0 A80 50 .5 0 1 40 40"));
        assert_eq!(changed_svg_path("M 0 0 C 1 1 2 2 3 3", |it| it).unwrap_err().at, 6);
        assert_eq!(changed_svg_path("", |it| it), Ok(String::new()));
    }

    /// Whatever can be read has the shape that it had.
    #[test]
    fn a_path_half_as_large_is_the_same_path() {
        let mut numbers = Numbers(71);
        const WRITTEN: [&str; 9] = ["0", "1", "-2", ".5", "+3", "4e1", "-.25", "6.", "50"];
        let mut read = 0;
        for _ in 0..20_000 {
            let mut one_of = |all: &[&'static str]| all[numbers.below(all.len() as u32) as usize];
            let mut text = "M 1 2".to_string();
            for _ in 0..4 {
                let command = one_of(&["L", "l", "h", "V", "A", "a", "Z", "m"]);
                text.push_str(command);
                let count = match command {
                    "A" | "a" => 7,
                    "h" | "V" => 1,
                    "Z" => 0,
                    _ => 2,
                };
                for number in 0..count {
                    let is_flag = count == 7 && [3, 4].contains(&number);
                    text.push_str(one_of(if is_flag { &["0", "1"] } else { &WRITTEN }));
                    text.push_str(one_of(&["", " ", ","]));
                }
            }
            // Arcs of another size have another number of legs: the ends of their lines stay.
            let Ok(lines) = svg_path(&text) else { continue };
            let half = changed_svg_path(&text, |it| it / 2.0).unwrap();
            let halved = svg_path(&half).unwrap_or_else(|fault| panic!("{text} {half} {fault}"));
            assert_eq!(lines.len(), halved.len(), "{text} {half}");
            for (line, half) in lines.iter().zip(&halved) {
                let (end, half) = (line.points[line.points.len() - 1], half.points[half.points.len() - 1]);
                assert!((end.x / 2.0 - half.x).abs() < 1e-9 && (end.y / 2.0 - half.y).abs() < 1e-9, "{text}");
            }
            read += 1;
        }
        assert!(read > 1000, "{read}");
    }

    #[test]
    fn any_text_gives_lines_or_a_fault() {
        let mut numbers = Numbers(67);
        let alphabet: Vec<char> = "MmLlHhVvAaZzCQ0011223.5-+e,  \né".chars().collect();
        for _ in 0..20_000 {
            let length = numbers.below(24);
            let text: String = std::iter::once('M')
                .chain((0..length).map(|_| alphabet[numbers.below(alphabet.len() as u32) as usize]))
                .collect();
            match svg_path(&text) {
                Ok(lines) => {
                    assert!(lines.iter().all(|line| !line.points.is_empty()));
                    let all = lines.iter().flat_map(|line| &line.points);
                    assert!(all.clone().all(|point| point.x.is_finite() && point.y.is_finite()));
                }
                Err(fault) => assert!(text.is_char_boundary(fault.at), "{text:?} {fault:?}"),
            }
        }
    }
}
