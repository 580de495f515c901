//! The sheet for whoever lays the floor: its layers, the screed with its bays, joints and edge strips, and the days it needs.

use super::Issue;
use super::sheet::{Drawing, Part, Sheet, Table, or_dash, yes_or_no};
use crate::plan::flag;
use crate::plan::ink::{Anchor, Ink, Words, fitting, number};
use crate::plan::paper::{Block, Spot};
use crate::plan::sleeves;
use crate::words::{count, sentence};
use check::{days_to_dry, screed_of_floor};
use design::{EdgeStrip, JointKind, PipePosition, Screed};
use engineering::plan::{Bounds, Outline, Point};
use quantity::{Area, Length};
use std::collections::BTreeSet;
use workings::{Crossed, ValueOf, on_storey, point, storeys};

pub fn sheet(issue: &Issue) -> Sheet {
    let has_screed = (0..issue.outcome.design.floors.len()).any(|floor| is_laid_in_screed(issue, floor));
    let mut sheet = Sheet::new("floors", if has_screed { "Screed and joints" } else { "Floor build-up" });
    for floor in 0..issue.outcome.design.floors.len() {
        if !issue.outcome.workings.floors[floor].rooms.is_empty() {
            build_up(issue, floor, &mut sheet);
        }
    }
    rooms(issue, &mut sheet);
    if has_screed {
        bays(issue, &mut sheet);
    }
    joints(issue, &mut sheet);
    fixed_things(issue, &mut sheet);
    sheet
}

fn is_laid_in_screed(issue: &Issue, floor: usize) -> bool {
    !issue.outcome.workings.floors[floor].rooms.is_empty()
        && screed_of_floor(&issue.outcome.design, &issue.outcome.workings, floor).is_some()
}

/// The layers of a floor, and what its screed needs.
fn build_up(issue: &Issue, at: usize, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    let (Some((name, entry)), worked) = (outcome.design.floors.at(at), &outcome.workings.floors[at]) else { return };
    let given = &entry.value;
    sheet.heading(format!("Build-up: {name}"));
    let mut layers = Table::new(["#", "*layer, from the surface down", "#thickness", "pipe", "how held", "note"]);
    for (number, layer) in given.layers.iter().enumerate() {
        let layer = &layer.value;
        let notes = [
            layer.screed.map(|it| bound_with(it.value).to_string()),
            layer.strength_class.as_ref().map(|it| format!("strength {}", it.value)),
            layer.adhesive_class.as_ref().map(|it| format!("adhesive {}", it.value)),
            layer.highest_temperature.map(|it| format!("at most {}", it.value)),
            layer.laps.map(|it| format!("laps {}", it.value)),
            layer.taped.filter(|it| it.value).map(|_| "taped".to_string()),
            layer.joints_glued.filter(|it| it.value).map(|_| "joints glued".to_string()),
        ];
        layers.row([
            (number + 1).to_string(),
            layer.material.as_ref().map_or("not named".to_string(), |it| it.value.clone()),
            or_dash(layer.thickness.map(|it| it.value)),
            or_dash(layer.pipe.as_ref().map(|it| position(&it.value))),
            or_dash(layer.held.map(|it| it.value)),
            notes.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ]);
    }
    sheet.table(layers.without_empty_columns());

    let edge_strip = match &given.edge_strip {
        None => "not stated".to_string(),
        Some(strip) => match &strip.value {
            EdgeStrip::None => "none".to_string(),
            EdgeStrip::Strip(strip) => {
                let said = [
                    strip.thickness.map(|it| format!("{} thick", it.value)),
                    strip.movement.map(|it| format!("lets the floor move {}", it.value)),
                    strip.complete.map(|it| match it.value {
                        true => "from the base to the finished level, at every upright and step".to_string(),
                        false => "NOT complete: see the design".to_string(),
                    }),
                ];
                said.into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
        },
    };
    let mut facts = vec![
        ("construction", given.method.map_or("not stated".to_string(), |it| it.value.to_string())),
        ("height above the structural base", figure(&worked.height.value())),
        ("weight above the structural base", figure(&worked.mass.value())),
        ("edge strip", edge_strip),
    ];
    let screed = screed_of_floor(&outcome.design, &outcome.workings, at);
    let thickness = worked.pipe_layer.as_ref().ok().and_then(|layer| given.layers.get(*layer)?.value.thickness);
    let thickness = thickness.map(|it| it.value);
    if let Some(screed) = screed {
        facts.push(("screed round the pipe", screed.to_string()));
        facts.push(("cover over the crown of the pipe", figure(&worked.cover.value())));
        let area: Option<Area> = worked.rooms.iter().map(|room| outcome.workings.rooms[*room].area.value().ok()).sum();
        if let (Some(thickness), Some(area)) = (thickness, area) {
            let volume = area.in_square_metres() * thickness.in_metres();
            facts.push((
                "screed, about",
                format!("{volume:.1} m³: {area} x {thickness}, pipe and studs not taken off (plain arithmetic)"),
            ));
        }
        facts.push(("before first heat", before_heat(issue, screed)));
        if let (Some(thickness), Screed::SandCement | Screed::CalciumSulphate) = (thickness, screed) {
            let days = days_to_dry(&outcome.house, thickness);
            let (_, whose) = issue.limit("drying-time-not-programmed", "for-each-millimetre");
            facts.push((
                "drying, for the programme",
                format!("{days} ({whose}); a guess for planning, never leave to lay: measure"),
            ));
        }
    }
    sheet.table(Table::of_facts(facts));
    if given.base.as_ref().and_then(|base| base.kind).is_some_and(|kind| kind.value.is_timber()) && screed.is_some() {
        sheet.caution("A screed on a timber floor: do not lay it without a structural engineer's written word.");
    }
}

/// What binds a screed.
fn bound_with(screed: Screed) -> &'static str {
    match screed {
        Screed::SandCement => "bound with cement",
        Screed::CalciumSulphate => "bound with calcium sulphate",
        Screed::MasticAsphalt => "bound with bitumen",
        Screed::Special => "special screed, by its maker's figures",
    }
}

fn position(pipe: &PipePosition) -> String {
    match pipe {
        PipePosition::AtBase => "at base".into(),
        PipePosition::InMiddle => "in middle".into(),
        PipePosition::AtTop => "at top".into(),
        PipePosition::Lifted(by) => format!("{by} above its underside"),
    }
}

fn figure<Q: std::fmt::Display>(value: &Result<Q, workings::Gap>) -> String {
    value.as_ref().map_or("not worked out".to_string(), ToString::to_string)
}

/// How long a screed has to wait for its first heat.
pub fn before_heat(issue: &Issue, screed: Screed) -> String {
    let days = |limit: &str| {
        let (days, whose) = issue.limit("heated-too-soon", limit);
        format!("{days} at least, or its maker's days if they are more ({whose})")
    };
    match screed {
        Screed::SandCement => days("sand-cement"),
        Screed::CalciumSulphate => days("calcium-sulphate"),
        Screed::MasticAsphalt => "no waiting; as its maker says".to_string(),
        Screed::Special => "as its maker says".to_string(),
    }
}

/// Areas, edges and coverings of the rooms.
fn rooms(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    let mut table = Table::new(["*room", "storey", "floor", "#area", "#edge", "own covering", "loops"]);
    for ((name, entry), worked) in design.rooms.iter().zip(&issue.outcome.workings.rooms) {
        if worked.floor.is_none() {
            continue;
        }
        let given = &entry.value;
        let covering = given.covering.iter().map(|layer| {
            let material = layer.value.material.as_ref().map_or("not named", |it| it.value.as_str());
            layer.value.thickness.map_or(material.to_string(), |thickness| format!("{material} {}", thickness.value))
        });
        let covering: Vec<String> = covering.collect();
        let edge = match &worked.outline {
            Some(Ok(outline)) => Some(outline.perimeter()),
            _ => None,
        };
        let loops: Vec<&str> = worked.loops.iter().filter_map(|at| Some(design.loops.at(*at)?.0)).collect();
        table.row([
            name.to_string(),
            or_dash(given.storey.as_ref().map(|it| &it.value.name)),
            or_dash(given.floor.as_ref().map(|it| &it.value.name)),
            or_dash(worked.area.value().ok()),
            or_dash(edge),
            if covering.is_empty() { "–".into() } else { covering.join(", ") },
            if loops.is_empty() { "none".into() } else { loops.join(", ") },
        ]);
    }
    if table.rows.is_empty() {
        return;
    }
    sheet.heading("Rooms");
    sheet.words(
        "The edge is the length of the room's outline, doorways included: as much edge strip is needed, and more at columns and \
         other uprights.",
    );
    sheet.table(table.without_empty_columns());
}

/// The bays of the screed: a sketch of each storey, and their sizes.
fn bays(issue: &Issue, sheet: &mut Sheet) {
    let (design, plan) = (&issue.outcome.design, &issue.outcome.workings.plan);
    if plan.bays.is_empty() {
        sheet.heading("Bays");
        sheet.words("No bays are drawn: no room with a screed has an outline.");
        if !issue.is_as_built() {
            sheet.words("Bays and joints are to be agreed on a plan before the pipe is laid.");
        }
        return;
    }
    sheet.heading("Bays");
    let (most, side) =
        (issue.limit("bay-over-forty", "area-of-a-bay"), issue.limit("bay-side-over-eight", "side-of-a-bay"));
    sheet.words(format!(
        "What movement joints and walls cut the screed into. A bay of a heated screed is at most {} ({}) and {} along a side ({}).",
        most.0, most.1, side.0, side.1
    ));
    for storey in storeys(design) {
        let on = on_storey(design, storey);
        // The rooms of a storey stand in the order of the design.
        let here = |bay: &&(usize, &workings::BayWorkings)| {
            bay.1.rooms.iter().any(|room| on.rooms.binary_search(room).is_ok())
        };
        let numbered: Vec<(usize, &workings::BayWorkings)> = plan.bays.iter().enumerate().collect();
        let bays: Vec<(usize, &workings::BayWorkings)> = numbered.iter().filter(here).copied().collect();
        if bays.is_empty() {
            continue;
        }
        if let Some(storey) = storey {
            sheet.subheading(format!("Storey {storey}"));
        }
        let joints: Vec<(Point, Point)> = on
            .movement_joints
            .iter()
            .filter_map(|at| design.movement_joints.at(*at)?.1.value.line)
            .map(|line| (point(line.value.from), point(line.value.to)))
            .collect();
        let points = on.moisture_points.iter().filter_map(|at| design.records.moisture_points.at(*at));
        let points: Vec<(&str, Point)> =
            points.filter_map(|(name, entry)| Some((name, point(entry.value.at?.value)))).collect();
        if let Some(drawing) = sketch(&bays, &joints, &points) {
            sheet.parts.push(Part::Sketch(drawing));
        }
        let mut table = Table::new([
            "#bay",
            "rooms",
            "#area",
            "#long side",
            "#short side",
            "#longest edge",
            "#outer edge",
            "heated by",
        ]);
        for (at, bay) in &bays {
            let rooms: Vec<&str> = bay.rooms.iter().filter_map(|room| Some(design.rooms.at(*room)?.0)).collect();
            let rectangle = bay.bay.least_rectangle();
            table.row([
                (at + 1).to_string(),
                rooms.join(", "),
                bay.bay.area().to_string(),
                rectangle.long_side.to_string(),
                rectangle.short_side.to_string(),
                bay.bay.longest_side().to_string(),
                bay.bay.outline.perimeter().to_string(),
                heated_by(issue, bay),
            ]);
        }
        sheet.table(table);
    }
    sheet.words("Long and short side are those of the smallest rectangle that holds the bay.");
}

/// The loops that heat a bay, those that no route is drawn of, and those that only pass.
fn heated_by(issue: &Issue, bay: &workings::BayWorkings) -> String {
    let (design, worked) = (&issue.outcome.design, &issue.outcome.workings);
    let names = |loops: &mut dyn Iterator<Item = usize>| {
        let names: Vec<&str> = loops.filter_map(|at| Some(design.loops.at(at)?.0)).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let heats = |at: &usize| worked.loops[*at].rooms.iter().any(|room| bay.rooms.contains(room));
    let drawn = |heating: bool| bay.loops.iter().map(|(at, _)| *at).filter(move |at| heats(at) == heating);
    let of_rooms: BTreeSet<usize> = bay.rooms.iter().flat_map(|room| &worked.rooms[*room].loops).copied().collect();
    let mut not_drawn = of_rooms.into_iter().filter(|at| !matches!(worked.loops[*at].route, Some(Ok(_))));
    let said = [
        names(&mut drawn(true)),
        names(&mut not_drawn).map(|names| format!("not drawn: {names}")),
        names(&mut drawn(false)).map(|names| format!("passing: {names}")),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    if said.is_empty() { "nothing".into() } else { said.join("; ") }
}

/// The bays of a storey with their numbers, and the points where their moisture is to be measured.
fn sketch(
    bays: &[(usize, &workings::BayWorkings)],
    joints: &[(Point, Point)],
    points: &[(&str, Point)],
) -> Option<Drawing> {
    const WIDE: f64 = 170.0;
    const HIGH: f64 = 110.0;
    const EDGE: f64 = 4.0;
    let corners = bays.iter().flat_map(|(_, bay)| bay.bay.outline.corners().iter().copied());
    let bounds = Bounds::around(corners);
    let (wide, high) = (bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
    let scales = (1..9).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(power)));
    let fits = |scale: &f64| wide * 1000.0 / scale <= WIDE && high * 1000.0 / scale <= HIGH;
    let scale = scales.into_iter().find(fits).filter(|_| wide > 0.0 && high > 0.0)?;
    let (sheet_wide, sheet_high) = (wide * 1000.0 / scale + 2.0 * EDGE, high * 1000.0 / scale + 2.0 * EDGE + 4.0);
    let spot = |at: Point| {
        Spot::new(EDGE + (at.x - bounds.low.x) * 1000.0 / scale, EDGE + (bounds.high.y - at.y) * 1000.0 / scale)
    };
    let mut ink = Ink::default();
    ink.group(r##"stroke="#000" stroke-width="0.5" stroke-linejoin="round""##, |ink| {
        for (_, bay) in bays {
            let spots: Vec<Spot> = bay.bay.outline.corners().iter().map(|at| spot(*at)).collect();
            ink.shape(&spots, true, if bay.heated { r##"fill="#fff""## } else { r##"fill="#ddd""## });
            for hole in &bay.bay.holes {
                let spots: Vec<Spot> = hole.corners().iter().map(|at| spot(*at)).collect();
                ink.shape(&spots, true, r##"fill="#fff""##);
            }
        }
    });
    ink.group(r##"stroke="#000" stroke-width="0.7" stroke-dasharray="2.4 0.7 0.6 0.7""##, |ink| {
        for (from, to) in joints {
            ink.line(spot(*from), spot(*to));
        }
    });
    for (at, bay) in bays {
        let middle = spot(inside(&bay.bay.outline, &bay.bay.holes));
        ink.circle(middle, 2.6, r##"fill="#fff" stroke="#000" stroke-width="0.35""##);
        let text = (at + 1).to_string();
        ink.words(Words::new(&text, Spot::new(middle.x, middle.y + 1.0), 2.8).anchor(Anchor::Middle).bold());
    }
    let within =
        |at: &Point| bounds.low.x <= at.x && at.x <= bounds.high.x && bounds.low.y <= at.y && at.y <= bounds.high.y;
    let points: Vec<&(&str, Point)> = points.iter().filter(|(_, at)| within(at)).collect();
    for (name, at) in &points {
        let foot = spot(*at);
        flag(&mut ink, foot);
        ink.words(Words::new(&fitting(&sentence(name), 2.2, 20.0), Spot::new(foot.x + 0.9, foot.y), 2.2).halo());
    }
    let foot = Block { x: 0.0, y: sheet_high - 4.0, wide: sheet_wide, high: 4.0 };
    let flags = if points.is_empty() { "" } else { "; flag: measure moisture" };
    let says = format!("1:{scale:.0}; dashed: joint; grey: not heated{flags}");
    ink.words(Words::new(&says, Spot::new(EDGE, foot.y + 2.6), 2.2));
    let (wide, high) = (sheet_wide.max(60.0), sheet_high);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"sans-serif\" fill=\"#000\">\n<title>bays of the screed</title>\n{}</svg>\n",
        ink.into_text(),
        w = number(wide),
        h = number(high)
    );
    Some(Drawing { svg, wide, high, says: format!("{} of screed", count(bays.len(), "bay", "bays")) })
}

/// A point well inside an outline: in the middle of the longest stretch half way up.
fn inside(outline: &Outline, holes: &[Outline]) -> Point {
    let bounds = outline.bounds();
    let y = (bounds.low.y + bounds.high.y) / 2.0 + 1e-7;
    let mut crossings: Vec<f64> = std::iter::once(outline)
        .chain(holes)
        .flat_map(Outline::edges)
        .filter(|(from, to)| (from.y > y) != (to.y > y))
        .map(|(from, to)| from.x + (to.x - from.x) * (y - from.y) / (to.y - from.y))
        .collect();
    crossings.sort_by(f64::total_cmp);
    let longest = crossings.chunks_exact(2).max_by(|one, other| (one[1] - one[0]).total_cmp(&(other[1] - other[0])));
    match longest {
        Some(ends) => Point::new((ends[0] + ends[1]) / 2.0, y),
        None => Point::new((bounds.low.x + bounds.high.x) / 2.0, y),
    }
}

/// The joints, and the pipes that cross them.
fn joints(issue: &Issue, sheet: &mut Sheet) {
    let (design, plan) = (&issue.outcome.design, &issue.outcome.workings.plan);
    if design.movement_joints.is_empty() {
        return;
    }
    let mut crossed: Vec<Vec<String>> = vec![Vec::new(); design.movement_joints.len()];
    let mut any_assumed = false;
    for ((name, entry), crossings) in design.loops.iter().zip(&plan.crossings) {
        for crossing in crossings {
            if let Crossed::MovementJoint(at) = crossing.what {
                let with = crossing.passages.len() - crossing.without_sleeve.len();
                let mut lengths: Vec<String> = Vec::new();
                for at in &crossing.sleeves {
                    let given = entry.value.sleeves.get(*at).and_then(|it| it.value.length).map(|it| it.value);
                    any_assumed |= given.is_none();
                    lengths.push(sleeves::printed(issue.outcome, crossing.what, given));
                }
                lengths.dedup();
                let of = if lengths.is_empty() { String::new() } else { format!(" of {}", lengths.join(", ")) };
                let sleeved = match (with, crossing.without_sleeve.is_empty()) {
                    (_, true) => format!("all in sleeves{of}"),
                    (0, false) => "none in a sleeve".to_string(),
                    (with, false) => format!("{with} in sleeves{of}"),
                };
                crossed[at].push(format!("{name}: {}, {sleeved}", count(crossing.passages.len(), "time", "times")));
            }
        }
    }
    sheet.heading("Joints");
    let mut table = Table::new([
        "*joint",
        "kind",
        "storey",
        "#length",
        "#width",
        "in the covering too",
        "from – to, in metres of the plan",
        "pipes that cross",
    ]);
    for ((name, entry), crossed) in design.movement_joints.iter().zip(crossed) {
        let given = &entry.value;
        let line = given.line.map(|line| line.value);
        let place = line.map(|it| format!("({}, {}) – ({}, {})", it.from.x, it.from.y, it.to.x, it.to.y));
        let length = line.map(|it| Length::metres((it.to.x - it.from.x).hypot(it.to.y - it.from.y)));
        table.row([
            name.to_string(),
            given.kind.map_or(JointKind::MovementJoint, |it| it.value).to_string(),
            or_dash(given.storey.as_ref().map(|it| &it.value.name)),
            or_dash(length),
            or_dash(given.width.map(|it| it.value)),
            yes_or_no(given.in_covering.map(|it| it.value)),
            or_dash(place),
            if crossed.is_empty() { "none that is drawn".into() } else { crossed.join("; ") },
        ]);
    }
    sheet.table(table.without_empty_columns());
    if any_assumed {
        sheet.words(format!("{}.", sleeves::ASSUMED));
    }
    sheet.words(
        "Only flow and return to a loop cross a movement joint, in sleeves; no pipe crosses a building joint. A joint goes through \
         the whole screed, and is carried through a stiff covering on the same line.",
    );
    if let Some(day) = design.records.joints_agreed {
        sheet.words(format!("Joints agreed with screeder and tiler on {}.", day.value));
    } else if !issue.is_as_built() {
        sheet.steps(["Layout of joints agreed with screeder and tiler, on (date) ……………… by ………………"]);
    }
}

/// What stands up from the floor or goes through it.
fn fixed_things(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    let place = |at: design::Point| format!("({}, {})", at.x, at.y);
    let mut table = Table::new(["*what", "kind", "storey", "edge strip", "where, in metres of the plan", "note"]);
    for (name, entry) in design.uprights.iter() {
        let given = &entry.value;
        table.row([
            name.to_string(),
            given.kind.map_or("upright".to_string(), |it| it.value.to_string()),
            or_dash(given.storey.as_ref().map(|it| &it.value.name)),
            yes_or_no(given.edge_strip.map(|it| it.value)),
            or_dash(
                given
                    .outline
                    .as_ref()
                    .and_then(|it| it.value.corners.first())
                    .map(|it| format!("from {}", place(it.value))),
            ),
            "–".into(),
        ]);
    }
    for (name, entry) in design.floor_holes.iter() {
        let given = &entry.value;
        let notes = [
            given.diameter.map(|it| format!("{} wide", it.value)),
            given.purpose.as_ref().map(|it| format!("for {}", it.value)),
            given.before_pipe.filter(|it| it.value).map(|_| "made before the pipe is laid".to_string()),
        ];
        table.row([
            name.to_string(),
            "hole through the floor".into(),
            or_dash(given.storey.as_ref().map(|it| &it.value.name)),
            "–".into(),
            or_dash(given.at.map(|it| place(it.value))),
            notes.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ]);
    }
    for (name, entry) in design.records.moisture_points.iter() {
        let given = &entry.value;
        table.row([
            name.to_string(),
            "point for measuring moisture".into(),
            or_dash(given.storey.as_ref().map(|it| &it.value.name)),
            "–".into(),
            or_dash(given.at.map(|it| place(it.value))),
            or_dash(given.room.as_ref().map(|it| format!("room {}", it.value.name))),
        ]);
    }
    if !table.rows.is_empty() {
        sheet.heading("Uprights, holes, points for measuring");
        sheet.table(table.without_empty_columns());
    }
}
