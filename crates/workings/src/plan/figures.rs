//! The figures of the plan: what a reviewer would measure on the drawing, for those who ask.

use super::{BayWorkings, Crossed};
use crate::{Figure, Workings};
use design::{Design, Place};
use engineering::plan::{Corner, Point, RunSpacing};
use quantity::{Angle, Area, Length, Number, Share};

const GEOMETRY: &str = "plain geometry";

/// How much of the free floor of a room lies beside pipe, where its loops can be followed.
pub(crate) fn covered_share(workings: &Workings, room: usize) -> Option<Figure<Share>> {
    let laid = workings.plan.laid.get(room)?.as_ref()?;
    if laid.runs().is_empty() || !laid.unknown().is_empty() {
        return None;
    }
    let covered = laid.covered()?;
    let figure = Figure::new(covered.share, "free floor within half a spacing of a run / free-area", GEOMETRY);
    Some(match &workings.rooms[room].free_area {
        Ok(area) => figure.with("free-area", area.value),
        Err(_) => figure,
    })
}

/// The bays of screed that a room has a part in, with what they are judged by.
pub(crate) struct BaysOfRoom {
    pub number: Figure<Number>,
    pub area: Figure<Area>,
    pub side: Figure<Length>,
    pub ratio: Figure<Number>,
    pub inside_corners: Figure<Number>,
}

pub(crate) fn bays_of(workings: &Workings, room: usize) -> Option<BaysOfRoom> {
    let here = || workings.plan.bays.iter().filter(|bay| bay.rooms.contains(&room));
    let count = |number: usize| Number::new(number as f64);
    let greatest = |of: fn(&BayWorkings) -> f64| here().map(of).reduce(f64::max);
    let number = Figure::new(count(here().count()), "bays of screed that the room has a part in", GEOMETRY);
    let area = greatest(|it| it.bay.area().in_square_metres())?;
    let side = greatest(|it| it.bay.longest_side().in_metres())?;
    let ratio = greatest(|it| it.bay.least_rectangle().ratio())?;
    let corners = here().map(|it| it.bay.inside_corners().len()).sum();
    Some(BaysOfRoom {
        number,
        area: Figure::new(Area::square_metres(area), "area of the largest of its bays", GEOMETRY),
        side: Figure::new(Length::metres(side), "longest side of its bays", GEOMETRY),
        ratio: Figure::new(
            Number::new(ratio),
            "greatest ratio of the sides of the least rectangle round a bay",
            GEOMETRY,
        ),
        inside_corners: Figure::new(count(corners), "inside corners of its bays from which no joint goes", GEOMETRY),
    })
}

/// The usual distance from run to run of a loop, in the rooms that it heats.
pub fn spacing_drawn(workings: &Workings, at: usize) -> Option<Figure<Length>> {
    let mut own = RunSpacing::default();
    for room in &workings.loops[at].rooms {
        let laid = workings.plan.laid.get(*room)?.as_ref()?;
        laid.spacings().filter(|(of, _)| *of == at).for_each(|(_, spacing)| own.join(spacing));
    }
    let figure = Figure::new(own.median()?, "half of the runs lie as near to the next run or nearer", GEOMETRY);
    Some(figure.with("pipe with a run beside it", own.measured).with("pipe without", own.alone))
}

/// What of a route lies in no room.
pub(crate) fn outside_rooms(workings: &Workings, at: usize) -> Option<Figure<Length>> {
    let is_drawn = workings.rooms.iter().any(|room| matches!(room.outline, Some(Ok(_))));
    let stretches = workings.plan.stretches.get(at).filter(|it| is_drawn && !it.is_empty())?;
    let outside = super::length_in(stretches, None);
    Some(Figure::new(outside, "the part of the route within no room's outline, as in walls", GEOMETRY))
}

/// The tightest corner of a route.
pub(crate) fn tightest_bend(workings: &Workings, at: usize) -> Option<Figure<Length>> {
    let Some(Ok(route)) = &workings.loops[at].route else { return None };
    let bends = route.corners().filter(|corner| corner.largest_radius.in_metres().is_finite());
    // Of corners that are alike it is the first, whichever way the last digit is rounded.
    let micrometres = |corner: &Corner| (corner.largest_radius.in_millimetres() * 1e3).round();
    let tightest = bends.min_by(|one, other| micrometres(one).total_cmp(&micrometres(other)))?;
    let figure = Figure::new(tightest.largest_radius, "largest radius that fits the tightest corner", GEOMETRY);
    let figure = placed(figure, tightest.at, None).with("from the start", along_pipe(workings, at, tightest.along));
    Some(figure.with("turn", Angle::degrees(tightest.turn_degrees)))
}

/// A figure with a place of the plan; `on` is where that stands in the file on which the place lies.
fn placed<T>(figure: Figure<T>, at: Point, on: Option<Place>) -> Figure<T> {
    figure.with_at("x", Length::metres(at.x), on).with_at("y", Length::metres(at.y), on)
}

/// How far from its start, along the pipe with its bends, a place lies that is so far along the legs of a route.
fn along_pipe(workings: &Workings, at: usize, along: Length) -> Length {
    workings.plan.lying[at].as_ref().map_or(along, |lying| lying.along_pipe(along))
}

/// How often a route crosses walls, doorways or joints; with the first places, each on what is crossed there.
pub(crate) fn crossings(
    design: &Design,
    workings: &Workings,
    at: usize,
    of: fn(Crossed) -> bool,
) -> Option<Figure<Number>> {
    const MOST_TOLD: usize = 20;
    let passages = workings.plan.passages.get(at)?;
    let here = || passages.iter().filter(|it| of(it.what));
    let number = here().count();
    if number == 0 {
        return None;
    }
    let what = "crossings of the route, each at x and y on what it crosses";
    let mut figure = Figure::new(Number::new(number as f64), what, GEOMETRY);
    for it in here().take(MOST_TOLD) {
        figure = placed(figure, it.at, Some(it.what.subject().place(design)))
            .with("from the start", along_pipe(workings, at, it.along))
            .with("angle", Angle::degrees(it.angle_degrees));
    }
    Some(figure)
}

#[cfg(test)]
mod tests {
    /// Two rooms, a doorway and a joint, drawn so that every figure follows from the coordinates by plain arithmetic.
    #[test]
    fn what_a_reviewer_would_measure() {
        let text = "format: 1
floors:
  s: {method: clipped-in-screed, below: ground, layers: [{material: cement screed, thickness: 65 mm, pipe: at base}]}
rooms:
  a: {floor: s, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}
  b: {floor: s, outline: [[4.1, 0], [8, 0], [8, 3], [4.1, 3]]}
walls: {W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}}
openings: {D1: {wall: W1, from: 1 m, to: 1.9 m}}
movement-joints: {J1: {line: [[2, 0], [2, 3]]}}
loops:
  L1: {room: b, pipe: PE-X 16 x 2, spacing: 200 mm, route: [[0.5, 1.2], [7.8, 1.2], [7.8, 1.4], [5, 1.4], [5, 1.6], [7.8, 1.6], [7.8, 1.8], [0.5, 1.8]]}
";
        let reading = design::read("house.ufh.yaml", text.as_bytes(), &|path| Err(path.to_string()));
        assert!(reading.faults.is_empty(), "{:#?}", reading.faults);
        let workings = crate::work_out(&reading.design);
        let figures: std::collections::HashMap<String, crate::Line> =
            crate::sheet(&reading.design, &workings).into_iter().map(|line| (line.name.clone(), line)).collect();
        let value = |name: &str| figures.get(name).map(|line| line.worked.as_ref().expect("it is worked out").value);
        for (name, wanted) in [
            ("loops.L1.length-outside-rooms", 0.2),
            ("loops.L1.spacing-drawn", 0.2),
            ("loops.L1.tightest-bend", 0.1),
            ("loops.L1.doorway-crossings", 2.0),
            ("loops.L1.joint-crossings", 2.0),
            ("rooms.a.bays", 2.0),
            ("rooms.a.bay-area-greatest", 6.0),
            ("rooms.a.bay-side-longest", 3.0),
            ("rooms.a.bay-ratio-greatest", 1.5),
            ("rooms.b.bays", 1.0),
            ("rooms.b.bay-area-greatest", 11.7),
            ("rooms.b.bay-inside-corners", 0.0),
        ] {
            let found = value(name).unwrap_or_else(|| panic!("{name} is not there"));
            assert!((found - wanted).abs() < 1e-6, "{name} is {found}, not {wanted}");
        }
        // Four runs 2.8 to 3.7 m long with 100 mm on each side, of 11.7 m².
        let covered = value("rooms.b.covered-share").expect("it is there");
        assert!((0.22..0.28).contains(&covered), "{covered}");
        assert_eq!(value("loops.L1.wall-crossings"), None);
        assert_eq!(value("rooms.a.covered-share"), None, "no loop heats it");
        let joints = figures["loops.L1.joint-crossings"].worked.as_ref().expect("it is worked out");
        let inputs = |name: &str| -> Vec<(&'static str, f64)> {
            let worked = figures[name].worked.as_ref().expect("it is worked out");
            worked.inputs.iter().map(|input| (input.name, (input.value * 1e6).round() / 1e6)).collect()
        };
        // Six right angles lie before the second crossing. Two have room for bends of 80 mm, those on short legs for 100 mm.
        let saved = 6.0 * 0.08 * (2.0 - std::f64::consts::PI / 2.0);
        let second = ((19.3 - saved) * 1e6).round() / 1e6;
        assert_eq!(
            inputs("loops.L1.joint-crossings"),
            [
                ("x", 2.0),
                ("y", 1.2),
                ("from the start", 1.5),
                ("angle", 90.0),
                ("x", 2.0),
                ("y", 1.8),
                ("from the start", second),
                ("angle", 90.0)
            ]
        );
        let line_of = |place: design::Place| text[..place.range().start].lines().count();
        let lines: Vec<Option<usize>> = joints.inputs.iter().map(|input| input.at.map(line_of)).collect();
        assert_eq!(lines[..4], [Some(9), Some(9), None, None], "the joint stands in line 9");
        let legs = (7.8 - 0.5) - 0.08 * (1.0 - std::f64::consts::FRAC_PI_4);
        let bend = inputs("loops.L1.tightest-bend");
        assert_eq!(bend[..2], [("x", 7.8), ("y", 1.2)]);
        assert!((bend[2].1 - legs).abs() < 1e-6, "{bend:?}");
    }
}
