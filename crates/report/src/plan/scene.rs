//! What is to be drawn of one storey.

use check::Outcome;
use engineering::plan::{Bounds, Part, Point, Route, split_at};
use quantity::Length;
use workings::{Crossing, LoopWorkings, OnStorey, Passage, Stretch, on_storey};

/// What is to be drawn of one storey.
pub struct Scene<'o> {
    pub outcome: &'o Outcome,
    pub on: OnStorey<'o>,
    /// The loops that have a route.
    pub loops: Vec<Drawn<'o>>,
    /// Round all that is drawn; nothing without a room's outline and without a route.
    pub bounds: Option<Bounds>,
}

/// A loop that has a route.
pub struct Drawn<'o> {
    /// By its position in the design.
    pub at: usize,
    pub name: &'o str,
    pub worked: &'o LoopWorkings,
    /// As it was laid, where the records say so, else as it is designed.
    pub route: &'o Route,
    /// Cut where it goes from one room to another.
    pub stretches: &'o [Stretch],
    pub passages: &'o [Passage],
    pub crossings: &'o [Crossing],
    /// The design's route, where the pipe was laid otherwise.
    pub designed: Option<&'o Route>,
    pub is_as_laid: bool,
    /// From the manifold to the middle of its length, and on back to the manifold.
    pub flow: Vec<Part>,
    pub back: Vec<Part>,
    /// Which pen draws it.
    pub pen: usize,
}

impl<'o> Scene<'o> {
    pub fn new(outcome: &'o Outcome, storey: Option<&'o str>) -> Scene<'o> {
        let on = on_storey(&outcome.design, storey);
        let loops = on.loops.iter().enumerate().filter_map(|(pen, &at)| Drawn::new(outcome, at, pen)).collect();
        let mut scene = Scene { outcome, on, loops, bounds: None };
        scene.bounds = scene.bounds();
        scene
    }

    fn bounds(&self) -> Option<Bounds> {
        let mut points: Vec<Point> = Vec::new();
        let corners = |bounds: Bounds| [bounds.low, bounds.high];
        points.extend(self.outlines().flat_map(|(_, _, outline)| corners(outline.bounds())));
        let routes = self.loops.iter().flat_map(|it| [Some(it.route), it.designed]).flatten();
        points.extend(routes.flat_map(|route| corners(route.bounds())));
        if points.is_empty() {
            return None;
        }
        for wall in self.walls() {
            let half = wall.thickness.map_or(0.0, |thickness| thickness.in_metres() / 2.0);
            let (from, to) = (wall.from, wall.to);
            let length = from.distance(to).in_metres();
            let (x, y) = match length > 0.0 {
                true => ((to.y - from.y).abs() / length * half, (to.x - from.x).abs() / length * half),
                false => (0.0, 0.0),
            };
            points.extend(
                [from, to].into_iter().flat_map(|it| [Point::new(it.x - x, it.y - y), Point::new(it.x + x, it.y + y)]),
            );
        }
        let design = &self.outcome.design;
        let joints = self.on.movement_joints.iter().filter_map(|&at| design.movement_joints.at(at)?.1.value.line);
        points.extend(joints.flat_map(|line| [workings::point(line.value.from), workings::point(line.value.to)]));
        let manifolds = self.on.manifolds.iter().filter_map(|&at| design.manifolds.at(at)?.1.value.at);
        points.extend(manifolds.map(|at| workings::point(at.value)));
        points.retain(|point| point.fault().is_none());
        Some(Bounds::around(points))
    }

    /// A loop by its position in the design, if it is drawn.
    pub fn drawn(&self, at: usize) -> Option<&Drawn<'o>> {
        self.loops.binary_search_by_key(&at, |it| it.at).ok().map(|found| &self.loops[found])
    }

    /// The rooms that have an outline: position, name, outline.
    pub fn outlines(&self) -> impl Iterator<Item = (usize, &'o str, &'o engineering::plan::Outline)> + '_ {
        self.on.rooms.iter().filter_map(|&at| match &self.outcome.workings.rooms[at].outline {
            Some(Ok(outline)) => Some((at, self.outcome.design.rooms.at(at)?.0, outline)),
            _ => None,
        })
    }

    /// The rooms that have none.
    pub fn without_outline(&self) -> impl Iterator<Item = &'o str> + '_ {
        let drawn = |at: &usize| matches!(self.outcome.workings.rooms[*at].outline, Some(Ok(_)));
        self.on.rooms.iter().filter(move |at| !drawn(at)).filter_map(|&at| Some(self.outcome.design.rooms.at(at)?.0))
    }

    /// The electric mats that have no outline.
    pub fn mats_without_outline(&self) -> impl Iterator<Item = &'o str> + '_ {
        let mats = self.on.electric_mats.iter().filter_map(|&at| self.outcome.design.electric_mats.at(at));
        mats.filter(|(_, entry)| entry.value.outline.is_none()).map(|(name, _)| name)
    }

    /// The points for measuring moisture whose place is given: name, place.
    pub fn moisture_points(&self) -> impl Iterator<Item = (&'o str, Point)> + use<'o, '_> {
        self.on.moisture_points.iter().filter_map(|&at| {
            let (name, entry) = self.outcome.design.records.moisture_points.at(at)?;
            let point = workings::point(entry.value.at?.value);
            point.fault().is_none().then_some((name, point))
        })
    }

    /// The walls whose line is given.
    pub fn walls(&self) -> impl Iterator<Item = Wall<'o>> + '_ {
        self.on.walls.iter().filter_map(|&at| {
            let (name, entry) = self.outcome.design.walls.at(at)?;
            let line = entry.value.line?.value;
            let (from, to) = (workings::point(line.from), workings::point(line.to));
            let drawn = from.fault().is_none() && to.fault().is_none();
            let thickness = entry.value.thickness.map(|it| it.value).filter(|it| *it > Length::ZERO);
            drawn.then_some(Wall { at, name, from, to, thickness, given: &entry.value })
        })
    }
}

/// A wall whose line is given.
#[derive(Clone, Copy)]
pub struct Wall<'o> {
    pub at: usize,
    pub name: &'o str,
    pub from: Point,
    pub to: Point,
    pub thickness: Option<Length>,
    pub given: &'o design::Wall,
}

impl<'o> Drawn<'o> {
    fn new(outcome: &'o Outcome, at: usize, pen: usize) -> Option<Drawn<'o>> {
        let worked = outcome.workings.loops.get(at)?;
        let plan = &outcome.workings.plan;
        let designed = worked.route.as_ref().and_then(|route| route.as_deref().ok());
        let as_laid = plan.as_laid.get(&at);
        let (route, stretches, passages, crossings) = match as_laid {
            Some(it) => (&it.route, &it.stretches, &it.passages, &it.crossings),
            None => (designed?, plan.stretches.get(at)?, plan.passages.get(at)?, plan.crossings.get(at)?),
        };
        let designed = designed.filter(|designed| designed.points() != route.points());
        let radius = worked.pipe.as_ref().map_or(Length::ZERO, |pipe| pipe.least_bend_radius);
        let bent = route.bent(radius);
        let (flow, back) = split_at(&bent.parts(), bent.length() / 2.0);
        let name = outcome.design.loops.at(at)?.0;
        let is_as_laid = as_laid.is_some();
        Some(Drawn { at, name, worked, route, stretches, passages, crossings, designed, is_as_laid, flow, back, pen })
    }

    /// Where it leaves the manifold, and where it comes back.
    pub fn ends(&self) -> [Point; 2] {
        let points = self.route.points();
        [points[0], points[points.len() - 1]]
    }

    /// How long it is, its corners rounded as they are drawn.
    pub fn length(&self) -> Length {
        self.way().map(Part::length).sum()
    }

    /// The whole way.
    pub fn way(&self) -> impl Iterator<Item = &Part> + Clone {
        self.flow.iter().chain(&self.back)
    }
}
