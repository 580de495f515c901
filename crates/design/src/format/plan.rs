//! What stands in plan: points, lines, outlines, walls, openings, joints.

use crate::fault::{Expected, FaultKind};
use crate::format::building::Storey;
use crate::read::{Given, List, Reader, Value, plain_list, shortened};
use crate::record::{named, record, words};
use crate::{Ref, Shape};
use jiff::civil::Date;
use quantity::Length;
use serde_json::{Value as Json, json};
use std::ops::Range;
use std::sync::OnceLock;
use yaml_tree::{Kind, Node, Scalar};

/// A point in plan, in metres from the drawing's zero: x to the right, y up the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    pub x: f64,
    pub y: f64,
}

impl Value for Point {
    const IS_A_LIST: bool = true;

    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let Kind::List(items) = &node.kind
            && let [x, y] = &items[..]
            && let (Some(x_value), Some(y_value)) = (coordinate(x), coordinate(y))
        {
            let wild = [(x, x_value), (y, y_value)].into_iter().find(|(_, value)| value.abs() > quantity::GREATEST);
            if let Some((node, _)) = wild {
                reader.unbelievable(node, "a coordinate");
                return None;
            }
            return Some(Point { x: x_value, y: y_value });
        }
        no_point(node, reader);
        None
    }

    fn shape() -> Shape {
        Shape::Point
    }

    fn plain(&self) -> Json {
        json!([self.x, self.y])
    }
}

/// Says what is wrong with a point.
fn no_point(node: &Node, reader: &mut Reader) {
    let items = match &node.kind {
        Kind::List(items) if !node.broken && !items.is_empty() => items,
        _ => return reader.wrong_shape(node, Expected::Point),
    };
    let no_number = items.iter().find(|it| coordinate(it).is_none());
    match no_number.map(|it| (it.place, it.as_text())) {
        Some((place, Some(found))) => {
            reader.fault(place, FaultKind::NoCoordinate { found: shortened(found) });
        }
        Some(_) => reader.wrong_shape(node, Expected::Point),
        None => {
            let better = decimal_commas(items);
            reader.fault(node.place, FaultKind::NotTwoNumbers { numbers: items.len(), better });
        }
    }
}

/// A point whose decimal points seem to be commas, as `[0,15, 3.55]` and `[0,15, 3,55]`, with points: a comma with nothing behind
/// it is one.
fn decimal_commas(items: &[Node]) -> Option<String> {
    let mut numbers: Vec<String> = Vec::new();
    let mut end = None;
    for it in items {
        let text = it.as_text()?;
        let is_whole = |text: &str| !text.is_empty() && text.bytes().all(|it| it.is_ascii_digit());
        match numbers.last_mut() {
            Some(before) if end.is_some_and(|end| it.place.start == end + 1) => {
                if !is_whole(before.strip_prefix('-').unwrap_or(before)) || !is_whole(text) {
                    return None;
                }
                before.push('.');
                before.push_str(text);
            }
            _ => numbers.push(text.to_string()),
        }
        end = Some(it.place.end);
    }
    (numbers.len() == 2).then(|| format!("[{}]", numbers.join(", ")))
}

/// A number without a unit: plan coordinates are metres.
fn coordinate(node: &Node) -> Option<f64> {
    match &node.kind {
        Kind::Scalar(scalar) => scalar.text.parse().ok().filter(|number: &f64| !number.is_nan()),
        _ => None,
    }
}

/// A straight line between two points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    pub from: Point,
    pub to: Point,
}

impl Value for Line {
    const IS_A_LIST: bool = true;

    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match node.as_list() {
            Some([from, to]) => {
                return Some(Line { from: Point::read(from, reader)?, to: Point::read(to, reader)? });
            }
            Some(points @ [_, _, ..]) => reader.fault(node.place, FaultKind::LineGoesOn { points: points.len() }),
            _ => reader.wrong_shape(node, Expected::Line),
        }
        None
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(Shape::Point), or_one: false, least: 2, most: Some(2) }
    }

    fn plain(&self) -> Json {
        json!([self.from.plain(), self.to.plain()])
    }
}

/// The corners of an area, in order, in either direction; the last is joined to the first.
#[derive(Debug, Clone, Default)]
pub struct Outline {
    pub corners: List<Point>,
}

impl Value for Outline {
    const IS_A_LIST: bool = true;

    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if !matches!(node.kind, Kind::List(_)) {
            reader.wrong_shape(node, Expected::Thing("a list of corners, each `[x, y]` in metres"));
            return None;
        }
        Some(Outline { corners: points_of(node, reader)? })
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(Shape::Point), or_one: false, least: 3, most: None }
    }

    fn plain(&self) -> Json {
        plain_list(&self.corners)
    }
}
named!(Outline: Label);

/// All points of a list. A drawing that lacks one of its points is another drawing.
fn points_of(node: &Node, reader: &mut Reader) -> Option<List<Point>> {
    let points: List<Point> = crate::Field::read(node, reader);
    (Some(points.len()) == node.as_list().map(<[_]>::len)).then_some(points)
}

/// A drawn route of pipe: points in metres, or an SVG path (lines and arcs) in metres.
#[derive(Debug, Clone)]
pub enum Route {
    Points(List<Point>),
    Path(Path),
}

/// A route as an SVG path.
#[derive(Debug, Clone)]
pub struct Path {
    pub text: String,
    /// How many bytes after the start of the value the text begins; nothing where the file has it otherwise, as on several lines.
    pub begins: Option<u32>,
    /// What was made out of its legs, once somebody asked.
    pub legs: OnceLock<Vec<PathLeg>>,
}

/// A leg of a path.
#[derive(Debug, Clone)]
pub struct PathLeg {
    pub length: Length,
    /// The bytes of the path's text that draw it.
    pub written: Range<usize>,
}

impl Path {
    fn read(node: &Node, scalar: &Scalar) -> Path {
        let text = scalar.text.to_string();
        // One more at each end are quotes; what else stands otherwise in the file was folded, or had escapes.
        let begins = match (scalar.quoted, node.place.range().len().checked_sub(text.len())) {
            (false, Some(0)) => Some(0),
            (true, Some(2)) => Some(1),
            _ => None,
        };
        Path { text, begins, legs: OnceLock::new() }
    }
}

impl Value for Route {
    const IS_A_LIST: bool = true;

    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            Kind::List(_) => points_of(node, reader).map(Route::Points),
            Kind::Scalar(scalar) => Some(Route::Path(Path::read(node, scalar))),
            _ => {
                reader.wrong_shape(node, Expected::Thing("a list of points, or an SVG path"));
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![
            Shape::List { of: Box::new(Shape::Point), or_one: false, least: 2, most: None },
            Shape::Text("M 8 1 L 6.2 1 L 6.2 0.2 A 0.1 0.1 0 0 1 6.1 0.1 H 0.2"),
        ])
    }

    fn plain(&self) -> Json {
        match self {
            Route::Points(points) => plain_list(points),
            Route::Path(path) => path.text.as_str().into(),
        }
    }
}

/// Routes stand under the names of their loops, in the record of what was laid.
impl crate::Nameable for Route {
    const KIND: crate::Kind = crate::Kind::Loop;
    const NAMES_STAND_ELSEWHERE: bool = true;
}

words! {
    /// What kind of wall it is.
    WallKind {
        /// A wall inside the building.
        "partition" Partition,
        /// A wall to the outdoors.
        "outside" Outside,
        /// A wall to another dwelling.
        "party" Party,
        /// A wall that must hold back fire.
        "fire" Fire,
    }
}

record! {
    /// A wall that stands on the floor.
    Wall {
        /// Its middle line in plan, in metres.
        "line" line: Given<Line>,
        /// How thick it is.
        "thickness" thickness: Given<Length>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// What kind of wall it is; a partition if left out.
        "kind" kind: Given<WallKind>,
    }
}
named!(Wall: Wall);

record! {
    /// A doorway or another opening in a wall, down to the floor.
    Opening {
        /// The wall that it is in.
        "wall" wall: Given<Ref<Wall>>,
        /// How far from the first point of the wall's line it begins.
        "from" from: Given<Length>,
        /// How far from the first point of the wall's line it ends.
        "to" to: Given<Length>,
        /// The clear width between the linings; from end to end if left out.
        "clear-width" clear_width: Given<Length>,
        /// Whether a threshold bar is screwed down in it.
        "threshold-bar" threshold_bar: Given<bool>,
    }
}
named!(Opening: Opening);

words! {
    /// What kind of joint it is.
    JointKind {
        /// A joint through the whole screed that lets both sides move.
        "movement joint" MovementJoint,
        /// A cut in the screed that says where it may crack.
        "crack inducer" CrackInducer,
        /// A joint through the whole building: no pipe of the heating may cross it.
        "building joint" BuildingJoint,
    }
}

record! {
    /// A joint in the floor.
    MovementJoint {
        /// Its line in plan, in metres.
        "line" line: Given<Line>,
        /// What kind of joint it is; a movement joint if left out.
        "kind" kind: Given<JointKind>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// How wide it is.
        "width" width: Given<Length>,
        /// Whether the covering has a joint on the same line.
        "in-covering" in_covering: Given<bool>,
    }
}
named!(MovementJoint: MovementJoint);

/// What a sleeve may serve: a wall, an opening or a movement joint.
#[derive(Debug, Clone, Default)]
pub struct Crossing;
named!(Crossing: Crossing);

words! {
    /// What else stands up from the floor.
    UprightKind {
        /// A flue.
        "flue" Flue,
        /// An open hearth.
        "hearth" Hearth,
        /// A shaft, open or walled.
        "shaft" Shaft,
        /// A lift shaft.
        "lift shaft" LiftShaft,
        /// A column.
        "column" Column,
        /// A stair.
        "stair" Stair,
    }
}

record! {
    /// Something that stands up from the floor.
    Upright {
        /// What it is.
        "kind" kind: Given<UprightKind>,
        /// Its corners in plan, in metres.
        "outline" outline: Given<Outline>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// Whether an edge strip runs round it.
        "edge-strip" edge_strip: Given<bool>,
    }
}
named!(Upright: Upright);

record! {
    /// A hole through the floor.
    FloorHole {
        /// Its middle in plan, in metres.
        "at" at: Given<Point>,
        /// How wide it is.
        "diameter" diameter: Given<Length>,
        /// What it is for.
        "for" purpose: Given<String>,
        /// The storey that it is on.
        "storey" storey: Given<Ref<Storey>>,
        /// The day it was made, or is to be made.
        "made" made: Given<Date>,
        /// Whether it is made before the pipe is laid.
        "before-pipe" before_pipe: Given<bool>,
    }
}
named!(FloorHole: FloorHole);

/// The corners or points of a list, without their places.
pub fn points(list: &List<Point>) -> impl ExactSizeIterator<Item = Point> + '_ {
    list.iter().map(|placed| placed.value)
}
