//! Loops, sleeves, manifolds and their ports.
//!
//! Each loop has its colour, and each its dashes on the way back; its name stands on the pipe again and again, so that
//! a copy in black and white reads as well.

use super::building::{label, near_field};
use super::crowd::{Crowd, FULL, HEAVY, LIGHT};
use super::ink::{Anchor, Ink, SMALL, Words, fitting, width};
use super::paper::{Block, Sheet, Spot};
use super::scene::{Drawn, Scene};
use super::sleeves::{assumed, sleeved};
use crate::words::sentence;
use engineering::plan::{Part, Point};
use quantity::Length;

/// Dark enough for a thin line on white, and told apart by those who do not see red or green.
const COLOURS: [&str; 8] = ["#1b5c9e", "#9c5700", "#2c7542", "#7b3a9c", "#00727a", "#8f2d58", "#5a6800", "#3f4b5a"];
/// Seven against eight colours: no pen is like another among fifty-six.
const DASHES: [&str; 7] =
    ["2.4 0.9", "1.1 0.7", "3.6 0.8 0.8 0.8", "4.8 0.9", "2 0.7 0.5 0.7 0.5 0.7", "0.6 0.6", "3 0.7 1 0.7 1 0.7"];

const FLOW_WIDTH: f64 = 0.5;
const BACK_WIDTH: f64 = 0.42;

/// So many arrows and names are enough for any sheet.
const MOST_SIGNS: usize = 4000;

pub fn colour(pen: usize) -> &'static str {
    COLOURS[pen % COLOURS.len()]
}

/// The attributes of the flow of a loop, and of its return.
pub fn pens(pen: usize) -> [String; 2] {
    let (colour, dashes) = (colour(pen), DASHES[pen % DASHES.len()]);
    [
        format!(r#"stroke="{colour}" stroke-width="{FLOW_WIDTH}""#),
        format!(r#"stroke="{colour}" stroke-width="{BACK_WIDTH}" stroke-dasharray="{dashes}""#),
    ]
}

/// Where the pipe was laid otherwise, the design's route; then sleeves, then the pipes in them.
pub fn draw(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    ink.group(r##"fill="none" stroke="#777" stroke-width="0.18" stroke-dasharray="0.5 0.9""##, |ink| {
        for (it, designed) in scene.loops.iter().filter_map(|it| Some((it, it.designed?))) {
            let spots: Vec<Spot> = designed.points().iter().map(|point| sheet.spot(*point)).collect();
            ink.named("designed-route", it.name, |ink| ink.shape(&spots, false, ""));
        }
    });
    for it in &scene.loops {
        sleeves(scene, sheet, ink, crowd, it);
    }
    ink.group(r#"fill="none" stroke-linejoin="round" stroke-linecap="butt""#, |ink| {
        for it in &scene.loops {
            let [flow, back] = pens(it.pen);
            ink.named("loop", it.name, |ink| {
                let (place, scaled) = (|point| sheet.spot(point), |length| sheet.scaled(length));
                ink.way(&it.back, place, scaled, &back);
                ink.way(&it.flow, place, scaled, &flow);
            });
            mark(sheet, crowd, it);
        }
    });
    arrows(scene, sheet, ink, crowd);
}

/// Tells the crowd where the pipes of a loop lie.
fn mark(sheet: &Sheet, crowd: &mut Crowd, it: &Drawn) {
    for part in it.way() {
        let (from, to) = (sheet.spot(part.from()), sheet.spot(part.to()));
        match part {
            Part::Straight { .. } => crowd.line(from, to, LIGHT),
            Part::Bend { .. } => crowd.line(from, to, HEAVY),
        }
    }
}

/// A sleeve is a short case round the pipe, to length: as given, else as long as it has to be.
fn sleeves(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, it: &Drawn) {
    ink.group(r##"fill="#fff" stroke="#000" stroke-width="0.25""##, |ink| {
        for (what, passage, length) in sleeved(scene, it) {
            let spot = sheet.spot(passage.at);
            let a_little = Length::millimetres(2.0);
            let ends = [passage.along - a_little, passage.along + a_little].map(|at| sheet.spot(it.route.at(at)));
            let way = ends[0].way_to(ends[1]);
            let length = length.or_else(|| assumed(scene.outcome, what));
            let half = length.map_or(4.0, |length| sheet.scaled(length)).clamp(1.0, 60.0) / 2.0;
            let corner = |along: f64, off: f64| {
                Spot::new(spot.x + way.x * along - way.y * off, spot.y + way.y * along + way.x * off)
            };
            let corners = [corner(-half, -0.75), corner(half, -0.75), corner(half, 0.75), corner(-half, 0.75)];
            ink.named("sleeve", what.name(&scene.outcome.design), |ink| ink.shape(&corners, true, ""));
            crowd.line(corner(-half, 0.0), corner(half, 0.0), HEAVY);
        }
    });
}

/// Arrowheads in the direction of the water: full on the way out, hollow on the way back.
fn arrows(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    let mut left = MOST_SIGNS;
    for it in &scene.loops {
        let colour = colour(it.pen);
        for (parts, fill) in [(&it.flow, colour), (&it.back, "#fff")] {
            let style = format!(r#"fill="{fill}" stroke="{colour}" stroke-width="0.25" stroke-linejoin="round""#);
            ink.group(&style, |ink| arrows_along(parts, sheet, ink, crowd, &mut left));
        }
    }
}

fn arrows_along(parts: &[Part], sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, left: &mut usize) {
    const APART: f64 = 28.0;
    const LONG: f64 = 2.1;
    let mut since = APART;
    for part in parts {
        let (from, to) = (sheet.spot(part.from()), sheet.spot(part.to()));
        let long = from.to(to);
        let has_room = matches!(part, Part::Straight { .. }) && long >= 3.0 * LONG;
        if !has_room || since + long * 0.4 < APART || *left == 0 {
            since += long;
            continue;
        }
        let way = from.way_to(to);
        let many = (long / 75.0).floor().clamp(1.0, 8.0) as usize;
        for number in 0..many {
            let middle = |share: f64| from.off(way, long * (number as f64 + share) / many as f64);
            // Not in a sleeve and not in a wall, where there is a choice.
            let taken = |middle: &Spot| crowd.weight(Block::around(*middle, LONG, LONG)) / u32::from(HEAVY);
            let Some(middle) = [0.43, 0.58, 0.3, 0.72].map(middle).into_iter().min_by_key(taken) else { continue };
            let (tip, back) = (middle.off(way, LONG / 2.0), middle.off(way, -LONG / 2.0));
            let side = |by: f64| Spot::new(back.x - way.y * by, back.y + way.x * by);
            ink.shape(&[tip, side(0.75), side(-0.75)], true, "");
            crowd.line(tip, back, HEAVY);
            *left = left.saturating_sub(1);
        }
        since = long * 0.6 / many as f64;
    }
}

/// The names of the loops on their pipes.
pub fn names(scene: &Scene, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
    const APART: f64 = 170.0;
    let mut left = MOST_SIGNS;
    for it in &scene.loops {
        let text = fitting(&sentence(it.name), SMALL, 18.0);
        let (long, high) = (width(&text, SMALL) * 0.92 + 0.9, SMALL + 0.1);
        let mut since = APART;
        let mut named = false;
        for part in it.way() {
            let (from, to) = (sheet.spot(part.from()), sheet.spot(part.to()));
            let whole = from.to(to);
            since += whole;
            if !matches!(part, Part::Straight { .. }) || whole < long + 5.0 || since < APART || left == 0 {
                continue;
            }
            let way = from.way_to(to);
            let upright = way.y.abs() > way.x.abs();
            // On a slanting pipe the name stands level.
            let turned = upright && way.x.abs() < 0.05;
            let (wide, tall) = if turned { (high, long) } else { (long, high) };
            let shares = [0.62, 0.7, 0.55, 0.78, 0.3, 0.22, 0.86, 0.14];
            let free = shares.iter().find_map(|share| {
                let block = Block::around(from.off(way, whole * share), wide, tall);
                (crowd.weight(block) < u32::from(HEAVY) * 3 && near_field(sheet, block.middle())).then_some(block)
            });
            let Some(block) = free else { continue };
            crowd.fill(block, FULL);
            name_on_pipe(ink, block, &text, colour(it.pen), turned);
            (since, named, left) = (0.0, true, left - 1);
        }
        if !named && left > 0 {
            let longest = it.way().max_by(|one, other| one.length().in_metres().total_cmp(&other.length().in_metres()));
            let Some(part) = longest else { continue };
            let spot = sheet.spot(part.from()).middle(sheet.spot(part.to()));
            label(ink, crowd, spot, it.name, Some(colour(it.pen)));
            left -= 1;
        }
    }
}

fn name_on_pipe(ink: &mut Ink, block: Block, text: &str, colour: &str, turned: bool) {
    ink.block(block, r##"fill="#fff" stroke="none""##);
    let middle = block.middle();
    let foot = match turned {
        true => Spot::new(middle.x + SMALL * 0.36, middle.y),
        false => Spot::new(middle.x, middle.y + SMALL * 0.36),
    };
    let words = Words::new(text, foot, SMALL).anchor(Anchor::Middle).bold().colour(colour);
    ink.words(words.turned(if turned { 90.0 } else { 0.0 }));
}

/// The corners of a bar, one after the other.
pub type Bar = [Spot; 4];

/// Manifolds, each a bar behind the ends of its loops, and the ports at those ends. Gives back the bars, each with the name that is to
/// stand beside it.
pub fn manifolds<'o>(scene: &Scene<'o>, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) -> Vec<(Bar, &'o str)> {
    let design = &scene.outcome.design;
    let mut of_manifolds: Vec<Vec<&Drawn>> = vec![Vec::new(); design.manifolds.len()];
    for it in &scene.loops {
        if let Some(manifold) = it.worked.manifold {
            of_manifolds[manifold].push(it);
        }
    }
    let mut bars = Vec::new();
    for &at in &scene.on.manifolds {
        let Some((name, entry)) = design.manifolds.at(at) else { continue };
        let Some(middle) = entry.value.at.map(|at| workings::point(at.value)) else { continue };
        let spot = sheet.spot(middle);
        if !near_field(sheet, spot) {
            continue;
        }
        let bar = bar(sheet, middle, &of_manifolds[at]);
        ink.group(r##"fill="#fff" stroke="#000" stroke-width="0.6""##, |ink| {
            ink.named("manifold", name, |ink| ink.shape(&bar, true, r#"stroke-linejoin="miter""#));
        });
        bars.push((bar, name));
    }
    let mut left = MOST_SIGNS;
    // An end whose tails are not led is at no port.
    let led = |it: &&Drawn| !matches!(&it.worked.laid, Some(Ok(laid)) if laid.without_tails.is_some());
    let mut in_order: Vec<&Drawn> = scene.loops.iter().filter(led).collect();
    in_order.sort_by_key(|it| design.loops.at(it.at).and_then(|(_, entry)| entry.value.port).map(|port| port.value));
    for it in in_order {
        let number = design.loops.at(it.at).and_then(|(_, entry)| entry.value.port).map(|port| port.value);
        for flow in [true, false] {
            if left > 0 {
                port(sheet, ink, crowd, it, number, flow);
                left -= 1;
            }
        }
    }
    for ([from, to, other, last], _) in &bars {
        crowd.line(*from, *to, HEAVY);
        crowd.line(from.middle(*last), to.middle(*other), HEAVY);
        crowd.line(*last, *other, HEAVY);
    }
    bars
}

/// The names of manifolds, beside their bars.
pub fn manifold_names(bars: &[(Bar, &str)], ink: &mut Ink, crowd: &mut Crowd) {
    for (bar, name) in bars {
        let text = fitting(&sentence(name), SMALL + 0.3, 30.0);
        let size = SMALL + 0.3;
        let (wide, tall) = (width(&text, size) + 0.4, size + 0.4);
        let middle = bar[0].middle(bar[2]);
        // Beside the ends of the bar, along its sides, at its corners.
        let sides = (0..4).map(|at| bar[at].middle(bar[(at + 1) % 4]));
        let mut ways: Vec<Spot> = sides.chain(*bar).collect();
        ways.sort_by(|one, other| one.to(middle).total_cmp(&other.to(middle)));
        let places = ways.into_iter().map(|spot| {
            let way = middle.way_to(spot);
            spot.off(way, 1.0 + (way.x.abs() * wide + way.y.abs() * tall) / 2.0)
        });
        let candidates = places.chain([middle]).enumerate();
        let candidates = candidates.map(|(rank, at)| (Block::around(at, wide, tall), rank as u32));
        let Some(block) = crowd.take(candidates) else { continue };
        let foot = Spot::new(block.middle().x, block.middle().y + size * 0.36);
        ink.words(Words::new(&text, foot, size).anchor(Anchor::Middle).bold().halo());
    }
}

/// The bar that stands for a manifold: behind those ends of its loops that are near it. Its true size is not known.
fn bar(sheet: &Sheet, middle: Point, loops: &[&Drawn]) -> Bar {
    /// How far it reaches beyond its last ends, and to either side of them.
    const BEYOND: f64 = 2.6;
    const BESIDE: f64 = 1.3;
    let near = |end: &Point| end.distance(middle) <= Length::metres(0.8);
    let ends = loops.iter().flat_map(|it| it.ends()).filter(near).chain([middle]).map(|end| sheet.spot(end));
    let ends: Vec<Spot> = ends.collect();
    // How far the ends reach to both sides of the first along a direction.
    let reach = |way: Spot| {
        let along = |end: &Spot| (end.x - ends[0].x) * way.x + (end.y - ends[0].y) * way.y;
        ends.iter().map(along).fold((0.0, 0.0), |(low, high): (f64, f64), it| (low.min(it), high.max(it)))
    };
    let farthest = |from: Spot| ends.iter().copied().max_by(|a, b| from.to(*a).total_cmp(&from.to(*b))).unwrap_or(from);
    let one = farthest(ends[0]);
    let (level, plumb, slanting) = (Spot::new(1.0, 0.0), Spot::new(0.0, 1.0), one.way_to(farthest(one)));
    let breadth = |way: Spot| {
        let (low, high) = reach(Spot::new(-way.y, way.x));
        high - low
    };
    let upright = if breadth(level) < breadth(plumb) { level } else { plumb };
    // In a building that stands askew on the sheet it stands askew too.
    let way = if breadth(slanting) + BEYOND < breadth(upright) { slanting } else { upright };
    let off = Spot::new(-way.y, way.x);
    let ((low, high), (left, right)) = (reach(way), reach(off));
    let corner = |along: f64, beside: f64| ends[0].off(way, along).off(off, beside);
    [
        corner(low - BEYOND, left - BESIDE),
        corner(high + BEYOND, left - BESIDE),
        corner(high + BEYOND, right + BESIDE),
        corner(low - BEYOND, right + BESIDE),
    ]
}

/// The number of a port at the end of a pipe: white on colour where the water leaves, colour on white where it comes
/// back. Where ends crowd, the number stands farther along its own pipe, or off with a line to its end.
fn port(sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd, it: &Drawn, port: Option<u32>, flow: bool) {
    let text = port.map_or_else(|| "?".to_string(), |port| fitting(&port.to_string(), SMALL, 6.0));
    let high = 2.9;
    let wide = (width(&text, SMALL) + 1.0).max(high);
    let places = along_from_end(sheet, it, flow);
    let spot = places.first().copied().unwrap_or_else(|| sheet.spot(it.ends()[usize::from(!flow)]));
    // A sleeve or a wall is not hidden, where a few millimetres on the pipe lies free.
    let blocks = places.into_iter().map(|place| Block::around(place, wide, high)).enumerate();
    let weighed = blocks.map(|(steps, block)| (block, crowd.weight(block.within(0.2)), steps as u32));
    let free = weighed.filter(|(block, weight, _)| *weight < u32::from(FULL) && near_field(sheet, block.middle()));
    let free = free.min_by_key(|(_, weight, steps)| weight + 10 * steps).map(|(block, ..)| block);
    let colour = colour(it.pen);
    let block = match free {
        Some(block) => {
            crowd.fill(block.within(0.2), FULL);
            block
        }
        None => {
            let block = crowd.near(spot, wide, high);
            ink.group(&format!(r#"stroke="{colour}" stroke-width="0.25""#), |ink| ink.line(block.middle(), spot));
            block
        }
    };
    let (fill, words) = if flow { (colour, "#fff") } else { ("#fff", colour) };
    let style = format!(r#"rx="1.45" fill="{fill}" stroke="{colour}" stroke-width="0.35""#);
    let middle = block.middle();
    let foot = Spot::new(middle.x, middle.y + SMALL * 0.36);
    ink.named("port", it.name, |ink| {
        ink.block(block, &style);
        ink.words(Words::new(&text, foot, SMALL).anchor(Anchor::Middle).bold().colour(words));
    });
}

/// Spots along a pipe from where it leaves its manifold, or back from where it comes to it, as far as its number may stand off.
fn along_from_end(sheet: &Sheet, it: &Drawn, flow: bool) -> Vec<Spot> {
    const STEP: f64 = 1.1;
    const FARTHEST: f64 = 40.0;
    let mut spots = Vec::new();
    // How far along the sheet the next spot is, from where the part begins.
    let mut next = 0.0;
    let mut begins = 0.0;
    let mut over = |from: Spot, to: Spot| {
        let long = from.to(to);
        while next <= long && begins + next <= FARTHEST {
            spots.push(from.off(from.way_to(to), next));
            next += STEP;
        }
        next -= long;
        begins += long;
        begins + next <= FARTHEST
    };
    match flow {
        true => it.flow.iter().all(|part| over(sheet.spot(part.from()), sheet.spot(part.to()))),
        false => it.back.iter().rev().all(|part| over(sheet.spot(part.to()), sheet.spot(part.from()))),
    };
    spots
}
