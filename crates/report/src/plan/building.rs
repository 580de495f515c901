//! The building under the pipes: rooms, walls, doorways, joints, what must stay free of pipe.
//!
//! Line widths, hatches and the dash-dot of joints follow the habits of ISO 128 and ISO 7519, from memory.

use super::crowd::{Crowd, FULL, HEAVY};
use super::ink::{Anchor, BODY, BOLD, GREY, HEADING, Ink, SMALL, Words, fitting, width};
use super::paper::{Block, Sheet, Spot};
use super::scene::{Scene, Wall};
use crate::words::sentence;
use design::{JointKind, WallKind};
use engineering::plan::{Outline, Point, Position};
use quantity::Length;

/// Rooms, and what must stay free: what lies below walls and pipes.
pub fn ground(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    let design = &scene.outcome.design;
    ink.group(r##"fill="#fff" stroke="#000" stroke-width="0.25" stroke-linejoin="round""##, |ink| {
        for (_, name, outline) in scene.outlines() {
            let corners = spots(sheet, outline.corners());
            ink.named("room", name, |ink| ink.shape(&corners, true, ""));
            edges(crowd, &corners, HEAVY / 3);
        }
    });
    ink.group(r##"fill="none" stroke="#000" stroke-width="0.25" stroke-linejoin="round""##, |ink| {
        for &room in &scene.on.rooms {
            let Some((_, entry)) = design.rooms.at(room) else { continue };
            for (at, outline) in &scene.outcome.workings.rooms[room].keep_clear {
                let Some((name, _)) = entry.value.keep_clear.at(*at) else { continue };
                let corners = spots(sheet, outline.corners());
                ink.named("keep-clear-area", name, |ink| {
                    hatch(ink, &corners, &[1.0]);
                    ink.shape(&corners, true, "");
                });
                edges(crowd, &corners, 3 * HEAVY);
            }
        }
    });
    ink.group(r##"fill="none" stroke="#000" stroke-width="0.25""##, |ink| {
        for &at in &scene.on.electric_mats {
            let Some((name, entry)) = design.electric_mats.at(at) else { continue };
            let Some(Ok(outline)) = entry.value.outline.as_ref().map(|it| workings::outline(&it.value)) else {
                continue;
            };
            let corners = spots(sheet, outline.corners());
            ink.named("electric-mat", name, |ink| {
                hatch(ink, &corners, &[1.0, -1.0]);
                ink.shape(&corners, true, "");
            });
        }
    });
    ink.group(r##"fill="#fff" stroke="#000" stroke-width="0.35" stroke-linejoin="round""##, |ink| {
        for &at in &scene.on.uprights {
            let Some((name, entry)) = design.uprights.at(at) else { continue };
            let Some(Ok(outline)) = entry.value.outline.as_ref().map(|it| workings::outline(&it.value)) else {
                continue;
            };
            let corners = spots(sheet, outline.corners());
            ink.named("upright", name, |ink| {
                ink.shape(&corners, true, "");
                if let [a, b, c, d] = corners[..] {
                    ink.line(a, c);
                    ink.line(b, d);
                }
            });
            edges(crowd, &corners, HEAVY);
        }
        for &at in &scene.on.floor_holes {
            let Some((name, entry)) = design.floor_holes.at(at) else { continue };
            let Some(point) = entry.value.at.map(|at| workings::point(at.value)).filter(|it| it.fault().is_none())
            else {
                continue;
            };
            let spot = sheet.spot(point);
            let radius = entry.value.diameter.map_or(0.0, |it| sheet.scaled(it.value) / 2.0).clamp(0.6, 20.0);
            ink.named("hole-in-the-floor", name, |ink| {
                ink.circle(spot, radius, "");
                ink.line(Spot::new(spot.x - radius, spot.y), Spot::new(spot.x + radius, spot.y));
                ink.line(Spot::new(spot.x, spot.y - radius), Spot::new(spot.x, spot.y + radius));
            });
            crowd.fill(Block::around(spot, 2.0 * radius, 2.0 * radius), HEAVY);
        }
    });
}

/// Walls with their doorways, joints and fixing lines.
pub fn walls(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    let design = &scene.outcome.design;
    let mut of_walls = vec![Vec::new(); design.walls.len()];
    for &at in &scene.on.openings {
        let Some((name, entry)) = design.openings.at(at) else { continue };
        let Some(wall) = entry.value.wall.as_ref().and_then(|wall| design.walls.position(&wall.value.name)) else {
            continue;
        };
        if let (Some(from), Some(to)) = (entry.value.from, entry.value.to) {
            let (from, to) = (from.value.in_metres(), to.value.in_metres());
            of_walls[wall].push(Doorway { from: from.min(to), to: from.max(to), name, given: &entry.value });
        }
    }
    for wall in scene.walls() {
        let mut doorways = std::mem::take(&mut of_walls[wall.at]);
        doorways.sort_by(|one, other| one.from.total_cmp(&other.from));
        one_wall(sheet, ink, crowd, &wall, &doorways);
    }
    for &at in &scene.on.movement_joints {
        let Some((name, entry)) = design.movement_joints.at(at) else { continue };
        let Some(line) = entry.value.line.map(|line| line.value) else { continue };
        let ends = [workings::point(line.from), workings::point(line.to)];
        if ends.iter().any(|end| end.fault().is_some()) {
            continue;
        }
        let [from, to] = ends.map(|end| sheet.spot(end));
        let (dashes, wide) = match entry.value.kind.map(|kind| kind.value) {
            Some(JointKind::CrackInducer) => ("2.4 0.8 0.4 0.8 0.4 0.8", 0.25),
            Some(JointKind::BuildingJoint) => ("5 1 0.7 1", 0.7),
            Some(JointKind::MovementJoint) | None => ("5 1 0.7 1", 0.4),
        };
        ink.group(&format!(r##"stroke="#fff" stroke-width="{}""##, wide + 0.7), |ink| ink.line(from, to));
        ink.group(&format!(r##"stroke="#000" stroke-width="{wide}" stroke-dasharray="{dashes}""##), |ink| {
            ink.named("movement-joint", name, |ink| ink.line(from, to));
        });
        crowd.line(from, to, HEAVY);
    }
    ink.group(r##"stroke="#000" stroke-width="0.25" fill="none""##, |ink| {
        for &room in &scene.on.rooms {
            let Some((_, entry)) = design.rooms.at(room) else { continue };
            for (name, fixing) in entry.value.fixing_lines.iter() {
                let Some(line) = fixing.value.line.map(|line| line.value) else { continue };
                let (from, to) = (sheet.spot(workings::point(line.from)), sheet.spot(workings::point(line.to)));
                if !near_field(sheet, from) || !near_field(sheet, to) {
                    continue;
                }
                ink.named("fixing-line", name, |ink| {
                    ink.group(r#"stroke-dasharray="1 0.7" stroke-width="0.35""#, |ink| ink.line(from, to));
                    for end in [from, to] {
                        ink.line(Spot::new(end.x - 0.7, end.y - 0.7), Spot::new(end.x + 0.7, end.y + 0.7));
                        ink.line(Spot::new(end.x - 0.7, end.y + 0.7), Spot::new(end.x + 0.7, end.y - 0.7));
                    }
                });
                crowd.line(from, to, HEAVY);
            }
            for glazing in entry.value.glazing.values() {
                let Some(line) = glazing.line.map(|line| line.value) else { continue };
                let (from, to) = (sheet.spot(workings::point(line.from)), sheet.spot(workings::point(line.to)));
                if near_field(sheet, from) && near_field(sheet, to) {
                    let way = from.way_to(to);
                    for by in [-0.35, 0.35] {
                        let off = |spot: Spot| Spot::new(spot.x - way.y * by, spot.y + way.x * by);
                        ink.line(off(from), off(to));
                    }
                }
            }
        }
    });
}

/// The points for measuring moisture, each with the flag that the screeder leaves there: above the pipes, which they keep clear of.
pub fn flags(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    for (name, spot) in moisture_points(scene, sheet) {
        ink.named("moisture-point", name, |ink| flag(ink, spot));
        crowd.fill(Block { x: spot.x - 0.8, y: spot.y - FLAG_HIGH, wide: 3.2, high: FLAG_HIGH + 0.8 }, HEAVY);
    }
}

/// The points for measuring moisture that have a place on the sheet.
fn moisture_points<'o>(scene: &Scene<'o>, sheet: &Sheet) -> impl Iterator<Item = (&'o str, Spot)> {
    scene.moisture_points().map(|(name, at)| (name, sheet.spot(at))).filter(|(_, spot)| near_field(sheet, *spot))
}

const FLAG_HIGH: f64 = 4.0;

/// A flag whose pole stands on a spot.
pub fn flag(ink: &mut Ink, foot: Spot) {
    let up = |high: f64, aside: f64| Spot::new(foot.x + aside, foot.y - high);
    let pole = |ink: &mut Ink| ink.line(foot, up(FLAG_HIGH, 0.0));
    // White round the pole lifts it off the pipes.
    ink.group(r##"stroke="#fff" stroke-width="1""##, pole);
    ink.group(r##"fill="#000" stroke="#000" stroke-width="0.3" stroke-linejoin="round""##, |ink| {
        pole(ink);
        ink.shape(&[up(FLAG_HIGH, 0.0), up(FLAG_HIGH - 0.9, 2.2), up(FLAG_HIGH - 1.8, 0.0)], true, "");
        ink.circle(foot, 0.45, "");
    });
}

/// The names of all that was drawn, where they are least in the way: after the pipes.
pub fn names(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    let design = &scene.outcome.design;
    for &room in &scene.on.rooms {
        let Some((_, entry)) = design.rooms.at(room) else { continue };
        for (at, outline) in &scene.outcome.workings.rooms[room].keep_clear {
            let Some((name, _)) = entry.value.keep_clear.at(*at) else { continue };
            let (spots, box_around) = (spots(sheet, outline.corners()), outline.bounds());
            let box_around = [box_around.low, box_around.high].map(|it| sheet.spot(it));
            let wide = box_around[1].x - box_around[0].x;
            let text = fitting(&sentence(name), SMALL, wide.max(18.0));
            let middle = sheet.spot(inside(outline));
            let block = Block::around(middle, width(&text, SMALL), SMALL);
            if spots.len() >= 4 && wide >= block.wide + 1.0 && crowd.weight(block) < u32::from(FULL) {
                crowd.fill(block, FULL);
                let foot = Spot::new(middle.x, middle.y + SMALL * 0.36);
                ink.words(Words::new(&text, foot, SMALL).anchor(Anchor::Middle).halo());
            } else {
                label(ink, crowd, middle, &text, None);
            }
        }
    }
    for &at in &scene.on.uprights {
        let Some((name, entry)) = design.uprights.at(at) else { continue };
        let kind = entry.value.kind.map_or("", |kind| kind.value.word());
        if let Some(spot) = middle_of(sheet, entry.value.outline.as_ref()) {
            label(ink, crowd, spot, &with_kind(name, kind), None);
        }
    }
    for &at in &scene.on.floor_holes {
        let Some((name, entry)) = design.floor_holes.at(at) else { continue };
        let Some(spot) = entry.value.at.map(|at| sheet.spot(workings::point(at.value))) else { continue };
        let purpose = entry.value.purpose.as_ref().map_or("", |purpose| purpose.value.as_str());
        if near_field(sheet, spot) {
            label(ink, crowd, spot, &with_kind(name, purpose), None);
        }
    }
    for (name, spot) in moisture_points(scene, sheet) {
        label(ink, crowd, spot, name, None);
    }
    for &at in &scene.on.electric_mats {
        let Some((name, entry)) = design.electric_mats.at(at) else { continue };
        if let Some(spot) = middle_of(sheet, entry.value.outline.as_ref()) {
            label(ink, crowd, spot, &with_kind(name, "electric mat"), None);
        }
    }
    for wall in scene.walls() {
        wall_name(sheet, ink, crowd, &wall);
    }
    for &at in &scene.on.openings {
        let Some((name, entry)) = design.openings.at(at) else { continue };
        let Some(spot) = middle_of_opening(scene, sheet, at) else { continue };
        let clear = match (entry.value.clear_width, entry.value.from, entry.value.to) {
            (Some(clear), ..) => clear.value,
            (None, Some(from), Some(to)) => (to.value - from.value).abs(),
            _ => continue,
        };
        let bar = if entry.value.threshold_bar.is_some_and(|bar| bar.value) { ", bar" } else { "" };
        label(ink, crowd, spot, &format!("{name} {:.0}{bar}", clear.in_millimetres()), None);
    }
    for &at in &scene.on.movement_joints {
        let Some((name, entry)) = design.movement_joints.at(at) else { continue };
        let Some(line) = entry.value.line.map(|line| line.value) else { continue };
        // The signs say what a plain joint is.
        let kind = entry.value.kind.map_or(JointKind::MovementJoint, |kind| kind.value);
        let kind = if kind == JointKind::MovementJoint { "" } else { kind.word() };
        let spot = sheet.spot(workings::point(line.from)).middle(sheet.spot(workings::point(line.to)));
        if near_field(sheet, spot) {
            label(ink, crowd, spot, &with_kind(name, kind), None);
        }
    }
    for &room in &scene.on.rooms {
        let Some((_, entry)) = design.rooms.at(room) else { continue };
        for (name, fixing) in entry.value.fixing_lines.iter() {
            let Some(line) = fixing.value.line.map(|line| line.value) else { continue };
            let spot = sheet.spot(workings::point(line.from)).middle(sheet.spot(workings::point(line.to)));
            let kind = fixing.value.kind.map_or("fixing", |kind| kind.value.word());
            if near_field(sheet, spot) {
                label(ink, crowd, spot, &with_kind(name, kind), None);
            }
        }
    }
    for (at, name, outline) in scene.outlines() {
        room_name(scene, sheet, ink, crowd, (at, name, outline));
    }
}

/// A doorway in its wall, in metres along it.
#[derive(Clone)]
struct Doorway<'o> {
    from: f64,
    to: f64,
    name: &'o str,
    given: &'o design::Opening,
}

fn one_wall(sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, wall: &Wall, doorways: &[Doorway]) {
    let (from, to) = (sheet.spot(wall.from), sheet.spot(wall.to));
    let way = from.way_to(to);
    let whole = from.to(to);
    let half = wall.thickness.map_or(0.35, |thickness| sheet.scaled(thickness) / 2.0);
    let across = |along: f64| {
        let middle = from.off(way, along);
        [
            Spot::new(middle.x - way.y * half, middle.y + way.x * half),
            Spot::new(middle.x + way.y * half, middle.y - way.x * half),
        ]
    };
    let fill = match wall.given.kind.map(|kind| kind.value) {
        Some(WallKind::Outside) => "#8f8f8f",
        Some(WallKind::Party | WallKind::Fire) => "#6f6f6f",
        Some(WallKind::Partition) | None => "#c4c4c4",
    };
    // A wall of unknown thickness is a line, not a body.
    let style = match wall.thickness {
        Some(_) => format!(r##"fill="{fill}" stroke="#000" stroke-width="0.35" stroke-linejoin="miter""##),
        None => r##"fill="#000" stroke="none""##.to_string(),
    };
    ink.group(&style, |ink| {
        ink.named("wall", wall.name, |ink| {
            let mut reached = 0.0;
            let ends =
                doorways.iter().map(|it| (sheet.scaled(Length::metres(it.from)), sheet.scaled(Length::metres(it.to))));
            for (begins, ends) in ends.chain([(whole, whole)]) {
                let begins = begins.clamp(0.0, whole);
                if begins - reached > 1e-6 {
                    let [a, b] = across(reached);
                    let [c, d] = across(begins);
                    ink.shape(&[a, b, d, c], true, "");
                }
                reached = ends.clamp(reached, whole);
            }
        });
    });
    let strips = (2.0 * half / 0.8).clamp(1.0, 40.0).ceil();
    for strip in 0..=strips as usize {
        let off = half * (2.0 * strip as f64 / strips - 1.0);
        let aside = |spot: Spot| Spot::new(spot.x - way.y * off, spot.y + way.x * off);
        crowd.line(aside(from), aside(to), HEAVY / 2);
    }
    for doorway in doorways {
        let [a, b] = across(sheet.scaled(Length::metres(doorway.from)).clamp(0.0, whole));
        let [c, d] = across(sheet.scaled(Length::metres(doorway.to)).clamp(0.0, whole));
        // The name of the wall belongs on the wall.
        crowd.line(a.middle(b), c.middle(d), HEAVY);
        ink.group(r##"stroke="#000" stroke-width="0.13" fill="#fff""##, |ink| {
            ink.named("opening", doorway.name, |ink| {
                ink.shape(&[a, b, d, c], true, "");
                if doorway.given.threshold_bar.is_some_and(|bar| bar.value) {
                    ink.group(r#"stroke-width="0.5""#, |ink| ink.line(a.middle(b), c.middle(d)));
                }
            });
        });
    }
}

/// The name of a wall stands on it, or near it if pipes and doorways leave no place.
fn wall_name(sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, wall: &Wall) {
    let (from, to) = (sheet.spot(wall.from), sheet.spot(wall.to));
    let kind = match wall.given.kind.map(|kind| kind.value) {
        Some(kind @ (WallKind::Fire | WallKind::Party)) => kind.word(),
        _ => "",
    };
    let text = fitting(&sentence(&with_kind(wall.name, kind)), SMALL, 40.0);
    let (long, high) = (width(&text, SMALL) + 0.8, SMALL + 0.5);
    let upright = (to.x - from.x).abs() < (to.y - from.y).abs();
    let (wide, tall) = if upright { (high, long) } else { (long, high) };
    let shares = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9];
    let candidates = shares.iter().enumerate().map(|(rank, share)| {
        let middle = Spot::new(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share);
        (Block::around(middle, wide, tall), rank as u32 * 2)
    });
    let Some(block) = crowd.take(candidates) else { return };
    let middle = block.middle();
    ink.block(block.within(0.1), r##"fill="#fff" stroke="none""##);
    let foot = if upright {
        Spot::new(middle.x + SMALL * 0.36, middle.y)
    } else {
        Spot::new(middle.x, middle.y + SMALL * 0.36)
    };
    ink.words(Words::new(&text, foot, SMALL).anchor(Anchor::Middle).turned(if upright { 90.0 } else { 0.0 }));
}

/// Name, temperature and area of a room, where there is least below.
fn room_name(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, room: (usize, &str, &Outline)) {
    let (at, name, outline) = room;
    let design = &scene.outcome.design;
    let mut facts: Vec<String> = Vec::new();
    if let Some(temperature) = design.rooms.at(at).and_then(|(_, room)| room.value.temperature) {
        facts.push(format!("{:.0} °C", temperature.value.in_celsius()));
    }
    facts.push(outline.area().to_string());
    let facts = facts.join(" · ");
    let bounds = outline.bounds();
    let (low, high) = (sheet.spot(bounds.low), sheet.spot(bounds.high));
    let (room_wide, room_high) = (high.x - low.x, low.y - high.y);
    let size = if room_wide < 40.0 { BODY } else { HEADING };
    let name = fitting(&sentence(name), size, (room_wide - 6.0).max(16.0) / BOLD);
    let wide = (width(&name, size) * BOLD).max(width(&facts, BODY)) * 0.95 + 1.6;
    let tall = size + BODY + 2.4;
    let holds = |block: &Block| {
        // Back on the plan, to see whether the words lie within the room.
        let back = |spot: Spot| {
            let share = |from: f64, to: f64, at: f64| if to == from { 0.5 } else { (at - from) / (to - from) };
            Point::new(
                bounds.low.x + (bounds.high.x - bounds.low.x) * share(low.x, high.x, spot.x),
                bounds.low.y + (bounds.high.y - bounds.low.y) * share(low.y, high.y, spot.y),
            )
        };
        block.corners().into_iter().all(|corner| outline.position(back(corner)) == Position::Inside)
    };
    let middle = low.middle(high);
    // Rooms with a great many corners are asked at fewer places.
    let steps = if outline.corners().len() > 200 { 5 } else { 13 };
    let mut candidates: Vec<(Block, u32)> = Vec::new();
    if room_wide > wide && room_high > tall {
        for row in 0..steps {
            for column in 0..steps {
                let share = |step: usize| (step as f64 + 0.5) / steps as f64;
                let at = Spot::new(
                    low.x + wide / 2.0 + (room_wide - wide) * share(column),
                    high.y + tall / 2.0 + (room_high - tall) * share(row),
                );
                // A little air to each side, so that no bend is cut off.
                let block = Block::around(at, wide + 2.0, tall + 0.4);
                if holds(&block) {
                    candidates.push((block, (at.to(middle) / 4.0) as u32));
                }
            }
        }
    }
    let Some(block) = crowd.take(candidates) else {
        let text = format!("{name} · {facts}");
        return label(ink, crowd, sheet.spot(inside(outline)), &text, None);
    };
    let block = Block::around(block.middle(), wide, tall);
    // The pipe below shows through.
    ink.block(block, r##"fill="#fff" fill-opacity="0.6" stroke="none""##);
    let middle = block.middle();
    let name_at = Spot::new(middle.x, block.y + 0.6 + size * 0.85);
    ink.words(Words::new(&name, name_at, size).anchor(Anchor::Middle).bold().halo());
    ink.words(Words::new(&facts, Spot::new(middle.x, block.foot() - 0.9), BODY).anchor(Anchor::Middle).halo());
}

/// Small words near a spot, with a thin line to it if they stand off.
pub fn label(ink: &mut Ink, crowd: &mut Crowd, spot: Spot, text: &str, colour: Option<&str>) {
    let text = fitting(&sentence(text), SMALL, 45.0);
    let (wide, tall) = (width(&text, SMALL) * 0.92 + 0.6, SMALL + 0.4);
    let block = crowd.near(spot, wide, tall);
    leader(ink, block, spot);
    let foot = Spot::new(block.x + 0.3, block.foot() - 0.2 - SMALL * 0.16);
    ink.words(Words::new(&text, foot, SMALL).colour(colour.unwrap_or(super::ink::BLACK)).halo());
}

/// A thin line from words to what they are of, unless they stand close by.
pub fn leader(ink: &mut Ink, block: Block, spot: Spot) {
    let nearest = Spot::new(spot.x.clamp(block.x, block.right()), spot.y.clamp(block.y, block.foot()));
    if nearest.to(spot) > 2.6 {
        ink.group(&format!(r#"stroke="{GREY}" stroke-width="0.18""#), |ink| ink.line(nearest, spot));
    }
}

/// The middle of a doorway on the sheet.
pub fn middle_of_opening(scene: &Scene, sheet: &Sheet, at: usize) -> Option<Spot> {
    let (_, entry) = scene.outcome.design.openings.at(at)?;
    let wall = scene.outcome.design.walls.get(&entry.value.wall.as_ref()?.value.name)?;
    let line = wall.line?.value;
    let (from, to) = (sheet.spot(workings::point(line.from)), sheet.spot(workings::point(line.to)));
    let along = sheet.scaled((entry.value.from?.value + entry.value.to?.value) / 2.0);
    let spot = from.off(from.way_to(to), along.clamp(0.0, from.to(to)));
    near_field(sheet, spot).then_some(spot)
}

/// The middle of an outline of the design on the sheet, if it is one.
fn middle_of(sheet: &Sheet, outline: Option<&design::Placed<design::Outline>>) -> Option<Spot> {
    let outline = workings::outline(&outline?.value).ok()?;
    Some(sheet.spot(inside(&outline))).filter(|spot| near_field(sheet, *spot))
}

/// A point inside an outline, as near to the middle of its box as a coarse search finds.
pub fn inside(outline: &Outline) -> Point {
    let bounds = outline.bounds();
    let at = |x: f64, y: f64| {
        Point::new(bounds.low.x + (bounds.high.x - bounds.low.x) * x, bounds.low.y + (bounds.high.y - bounds.low.y) * y)
    };
    let shares = [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92];
    let all = shares.into_iter().flat_map(|y| shares.into_iter().map(move |x| (x, y)));
    let inside = all.map(|(x, y)| at(x, y)).find(|point| outline.position(*point) == Position::Inside);
    inside.unwrap_or(outline.corners()[0])
}

/// Whether a spot is on the sheet's field or near it: a slip of a digit elsewhere is not drawn off the paper.
pub fn near_field(sheet: &Sheet, spot: Spot) -> bool {
    let field = sheet.field;
    spot.x >= field.x && spot.x <= field.right() && spot.y >= field.y && spot.y <= field.foot()
}

/// `chimney, flue`; the kind alone where the name says no more.
fn with_kind(name: &str, kind: &str) -> String {
    if kind.is_empty() || kind == name {
        name.to_string()
    } else if kind.starts_with(name) || kind.ends_with(name) {
        kind.to_string()
    } else {
        format!("{name}, {kind}")
    }
}

/// Thin lines over an area, rising to the right (1) or to the left (-1).
pub fn hatch(ink: &mut Ink, corners: &[Spot], rises: &[f64]) {
    const APART: f64 = 2.4;
    /// A larger area is told by its outline alone.
    const MOST: usize = 4000;
    ink.group(&format!(r#"stroke="{GREY}" stroke-width="0.15""#), |ink| {
        for &rise in rises {
            // Each line is named by where it would meet the left edge of the sheet; edges cross a run of them.
            let level = |spot: Spot| (spot.y + rise * spot.x) / APART;
            let mut crossings: Vec<(i64, f64)> = Vec::new();
            for (at, from) in corners.iter().enumerate() {
                let to = corners[(at + 1) % corners.len()];
                let (low, high) = (level(*from).min(level(to)), level(*from).max(level(to)));
                for line in low.ceil() as i64..high.ceil() as i64 {
                    let share = (line as f64 - level(*from)) / (level(to) - level(*from));
                    crossings.push((line, from.x + (to.x - from.x) * share));
                    if crossings.len() > MOST {
                        return;
                    }
                }
            }
            crossings.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
            for line in crossings.chunk_by(|one, other| one.0 == other.0) {
                for ends in line.chunks_exact(2) {
                    let spot = |(line, x): (i64, f64)| Spot::new(x, line as f64 * APART - rise * x);
                    ink.line(spot(ends[0]), spot(ends[1]));
                }
            }
        }
    });
}

fn spots(sheet: &Sheet, points: &[Point]) -> Vec<Spot> {
    points.iter().map(|point| sheet.spot(*point)).collect()
}

fn edges(crowd: &mut Crowd, corners: &[Spot], weight: u16) {
    for (at, from) in corners.iter().enumerate() {
        crowd.line(*from, corners[(at + 1) % corners.len()], weight);
    }
}
