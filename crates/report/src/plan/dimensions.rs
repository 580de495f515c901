//! Dimensions from the walls to the runs and turn lines of each loop.
//!
//! They are running dimensions, in the manner of ISO 129-1 (from memory): each figure is what a tape shows that is held
//! at the wall, so nobody on site has to add up. They stand outside the plan where a room looks out of it, else in the room.

use super::crowd::{Crowd, FULL, HEAVY};
use super::ink::{Anchor, GREY, Ink, SMALL, Words, fitting, width};
use super::paper::{Block, Margins, Sheet, Spot};
use super::scene::{Drawn, Scene};
use crate::words::sentence;
use engineering::plan::{Bounds, Outline, Point, Position, Stretch, setting_out};
use std::collections::BTreeMap;

/// The dimensions of a storey.
pub struct Dimensions<'o> {
    chains: Vec<Chain<'o>>,
    /// Round all that is drawn.
    bounds: Bounds,
    /// How many there are no more places for.
    pub left_out: usize,
    /// The loops of which nothing can be measured: their runs lie along no wall.
    pub unmeasured: Vec<&'o str>,
}

/// The distances from one wall.
struct Chain<'o> {
    from: Point,
    to: Point,
    ends_at_wall: bool,
    parts: Vec<Part>,
    room: &'o Outline,
    /// Round the lines that are measured.
    lines: Bounds,
    side: Option<Side>,
    tier: usize,
}

/// What belongs to one loop, or to several that lie alike.
struct Part {
    name: String,
    /// In millimetres from the wall.
    lines: Vec<f64>,
    /// Where each of them can be seen.
    legs: Vec<[Point; 2]>,
    /// Which of them lie evenly.
    even: Vec<(usize, usize)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Side {
    Left,
    Right,
    Foot,
    Top,
}

/// The depth of a row of dimensions: a figure of five digits.
const TIER: f64 = 9.0;
/// The first row keeps so far off the plan.
const OFF: f64 = 2.5;
const MOST_TIERS: usize = 4;
const MOST_CHAINS: usize = 400;
/// More lines in one chain nobody can read.
const MOST_LINES: usize = 400;
/// Distances that differ less are the same, in millimetres.
const SAME: f64 = 5.0;

impl<'o> Dimensions<'o> {
    pub fn new(scene: &Scene<'o>, bounds: Bounds) -> Dimensions<'o> {
        let mut in_rooms: BTreeMap<usize, Vec<(&Drawn, Vec<Stretch>)>> = BTreeMap::new();
        for it in &scene.loops {
            for stretch in it.stretches {
                let Some(room) = stretch.room else { continue };
                let here = in_rooms.entry(room).or_default();
                let stretch = Stretch { from: stretch.from, to: stretch.to };
                match here.last_mut() {
                    Some((last, all)) if last.at == it.at => all.push(stretch),
                    _ => here.push((it, vec![stretch])),
                }
            }
        }
        let outlines: Vec<(usize, &'o Outline)> = scene.outlines().map(|(at, _, outline)| (at, outline)).collect();
        let mut chains: Vec<Chain> = Vec::new();
        let mut left_out = 0;
        let mut unmeasured = Vec::new();
        for &(room, outline) in &outlines {
            let Some(here) = in_rooms.get(&room) else { continue };
            let mut of_room = Vec::new();
            let mut passing = Vec::new();
            // Nobody reads the dimensions of more loops in one room, and each looks at all its walls.
            let most = (2_000_000 / outline.corners().len()).clamp(4, MOST_CHAINS);
            left_out += 2 * here.len().saturating_sub(most);
            for (it, stretches) in here.iter().take(most) {
                let runs = stretches.iter().map(|stretch| (it.route, *stretch));
                if it.worked.rooms.contains(&room) {
                    let chains = chains_of(outline, &runs.collect::<Vec<_>>(), it.name);
                    if chains.is_empty() {
                        unmeasured.push(it.name);
                    }
                    of_room.extend(chains);
                } else {
                    passing.extend(runs);
                }
            }
            of_room.extend(chains_of(outline, &passing, "tails"));
            let mut merged = merged(of_room);
            for chain in &mut merged {
                chain.side = chain.side_of(&outlines, bounds);
            }
            let room_for = MOST_CHAINS.saturating_sub(chains.len());
            left_out += merged.len().saturating_sub(room_for);
            chains.extend(merged.into_iter().take(room_for));
        }
        unmeasured.dedup();
        Dimensions { chains, bounds, left_out, unmeasured }
    }

    /// How much room the rows of dimensions outside the plan take at a scale.
    pub fn margins(&self, scale: f64) -> Margins {
        self.tiers(scale).1
    }

    /// Keeps the rows of a scale.
    pub fn arrange(&mut self, scale: f64) {
        for (at, tier) in self.tiers(scale).0 {
            self.chains[at].tier = tier;
        }
    }

    /// The row of each dimension outside the plan, so that none covers another, and the room for all rows.
    fn tiers(&self, scale: f64) -> (Vec<(usize, usize)>, Margins) {
        let mut tiers = Vec::new();
        let mut rows: BTreeMap<Side, Vec<f64>> = BTreeMap::new();
        let mut order: Vec<usize> = (0..self.chains.len()).filter(|at| self.chains[*at].side.is_some()).collect();
        order.sort_by(|one, other| self.chains[*one].span().0.total_cmp(&self.chains[*other].span().0));
        for at in order {
            let chain = &self.chains[at];
            let (begins, ends) = chain.span_with_figures(scale);
            let side = chain.side.unwrap_or(Side::Left);
            let between = 0.0008 * scale;
            let rows = rows.entry(side).or_default();
            let free = rows.iter().position(|reached| *reached + between <= begins);
            let tier = free.unwrap_or(rows.len());
            if tier < MOST_TIERS {
                match rows.get_mut(tier) {
                    Some(reached) => *reached = ends,
                    None => rows.push(ends),
                }
            }
            tiers.push((at, tier));
        }
        let depth = |side| match rows.get(&side).map_or(0, Vec::len) {
            0 => 3.0,
            rows => OFF + rows as f64 * TIER,
        };
        let margins = Margins {
            left: depth(Side::Left),
            right: depth(Side::Right),
            top: depth(Side::Top),
            foot: depth(Side::Foot),
        };
        (tiers, margins)
    }

    /// The lines that lead from the plan to the dimensions outside it: they lie below all else.
    pub fn leads(&self, sheet: &Sheet, ink: &mut Ink) {
        ink.group(&format!(r#"stroke="{GREY}" stroke-width="0.13""#), |ink| {
            for chain in &self.chains {
                let Some((side, Place { from, way, out })) = self.outside(sheet, chain) else { continue };
                let figures = chain.figures(sheet.scale);
                for at in figures.iter().map(|figure| figure.at) {
                    let there = from.off(way, at);
                    let room = chain.room.bounds();
                    let (low, high) = (sheet.spot(room.low), sheet.spot(room.high));
                    let back = match side {
                        Side::Left => Spot::new(low.x, there.y),
                        Side::Right => Spot::new(high.x, there.y),
                        Side::Foot => Spot::new(there.x, low.y),
                        Side::Top => Spot::new(there.x, high.y),
                    };
                    ink.line(back, there.off(out, 0.8));
                }
            }
        });
    }

    /// The dimensions themselves.
    pub fn draw(&mut self, sheet: &Sheet, ink: &mut Ink, crowd: &mut Crowd) {
        let mut left_out = 0;
        for chain in &self.chains {
            let outside = self.outside(sheet, chain).map(|(_, place)| place);
            match outside.or_else(|| in_room(sheet, crowd, chain)) {
                Some(place) => draw_chain(ink, crowd, sheet, chain, place),
                None => left_out += 1,
            }
        }
        self.left_out += left_out;
    }

    /// Where a chain outside the plan begins on the sheet, which way it runs, and which way is out.
    fn outside(&self, sheet: &Sheet, chain: &Chain) -> Option<(Side, Place)> {
        let side = chain.side.filter(|_| chain.tier < MOST_TIERS)?;
        let (from, to) = (sheet.spot(chain.from), sheet.spot(chain.to));
        let (low, high) = (sheet.spot(self.bounds.low), sheet.spot(self.bounds.high));
        let off = OFF + chain.tier as f64 * TIER;
        let (out, from) = match side {
            Side::Left => (Spot::new(-1.0, 0.0), Spot::new(low.x - off, from.y)),
            Side::Right => (Spot::new(1.0, 0.0), Spot::new(high.x + off, from.y)),
            Side::Foot => (Spot::new(0.0, 1.0), Spot::new(from.x, low.y + off)),
            Side::Top => (Spot::new(0.0, -1.0), Spot::new(from.x, high.y - off)),
        };
        Some((side, Place { from, way: sheet.spot(chain.from).way_to(to), out }))
    }
}

fn chains_of<'o>(room: &'o Outline, runs: &[(&engineering::plan::Route, Stretch)], name: &str) -> Vec<Chain<'o>> {
    let chains = setting_out(room, runs).into_iter().filter(|chain| chain.lines.len() <= MOST_LINES);
    let chain = |it: engineering::plan::DimensionChain| Chain {
        from: it.from,
        to: it.to,
        ends_at_wall: it.ends_at_wall,
        parts: vec![Part {
            name: name.to_string(),
            lines: it.lines.iter().map(|line| line.in_millimetres()).collect(),
            even: it.even(),
            legs: it.legs,
        }],
        room,
        lines: it.bounds,
        side: None,
        tier: 0,
    };
    chains.map(chain).collect()
}

/// Chains of one room that say the same become one, and so do those that lie one behind the other between the same
/// walls.
fn merged(mut chains: Vec<Chain>) -> Vec<Chain> {
    chains.sort_by(|one, other| one.first().total_cmp(&other.first()));
    let mut merged: Vec<Chain> = Vec::new();
    for mut chain in chains {
        let taken = merged.iter_mut().any(|known| known.takes(&mut chain));
        if !taken && merged.len() <= MOST_CHAINS {
            merged.push(chain);
        }
    }
    merged
}

impl Chain<'_> {
    /// Takes in a chain that says the same, or goes on where this one ends.
    fn takes(&mut self, other: &mut Chain) -> bool {
        let same = |one: f64, other: f64| (one - other).abs() <= SAME;
        let (Some(level), true) = (self.level(), self.level() == other.level()) else { return false };
        let place = |point: Point| if level { point.x * 1000.0 } else { point.y * 1000.0 };
        let same_walls = same(place(self.from), place(other.from))
            && same(place(self.to), place(other.to))
            && self.ends_at_wall == other.ends_at_wall;
        if !same_walls {
            return false;
        }
        let Some(new) = other.parts.first() else { return false };
        let alike = |part: &&mut Part| {
            part.lines.len() == new.lines.len() && part.lines.iter().zip(&new.lines).all(|(a, b)| same(*a, *b))
        };
        if let Some(part) = self.parts.iter_mut().find(alike) {
            part.name = format!("{}, {}", part.name, new.name);
        } else if self.parts.last().and_then(|part| part.lines.last()).is_some_and(|last| last + SAME < other.first()) {
            self.parts.append(&mut other.parts);
        } else {
            return false;
        }
        self.lines = Bounds::around([self.lines.low, self.lines.high, other.lines.low, other.lines.high]);
        true
    }

    fn first(&self) -> f64 {
        self.parts.first().and_then(|part| part.lines.first()).copied().unwrap_or(0.0)
    }

    /// Whether it runs level, or plumb; neither if it slants.
    fn level(&self) -> Option<bool> {
        let (x, y) = ((self.to.x - self.from.x).abs(), (self.to.y - self.from.y).abs());
        match (x > 0.0, y > 0.0) {
            _ if y <= 1e-6 * x => Some(true),
            _ if x <= 1e-6 * y => Some(false),
            _ => None,
        }
    }

    /// From where to where it reaches along its row, in metres.
    fn span(&self) -> (f64, f64) {
        let (one, other) = match self.level() {
            Some(true) => (self.from.x, self.to.x),
            _ => (self.from.y, self.to.y),
        };
        (one.min(other), one.max(other))
    }

    /// The same with its figures, which stand beside their places where these crowd.
    fn span_with_figures(&self, scale: f64) -> (f64, f64) {
        let (begins, ends) = self.span();
        let wanted: Vec<f64> = self.figures(scale).iter().map(|figure| figure.at).collect();
        let placed = apart(&wanted, PITCH);
        let (first, last) = (placed.first().map_or(0.0, |it| it.min(0.0)), placed.last().copied().unwrap_or(0.0));
        let metres = |sheet: f64| (sheet + PITCH / 2.0).max(0.0) * scale / 1000.0;
        let (before, behind) = (metres(-first), metres(last - (ends - begins) * 1000.0 / scale));
        let is_forward = match self.level() {
            Some(true) => self.from.x <= self.to.x,
            _ => self.from.y <= self.to.y,
        };
        if is_forward { (begins - before, ends + behind) } else { (begins - behind, ends + before) }
    }

    /// The side on which its room looks out of the plan, so that no other room lies between.
    fn side_of(&self, outlines: &[(usize, &Outline)], bounds: Bounds) -> Option<Side> {
        let own = self.room.bounds();
        let sides = match self.level()? {
            true => [Side::Foot, Side::Top],
            false => [Side::Left, Side::Right],
        };
        let (begins, ends) = self.span();
        // What only touches the strip does not stand in it.
        let hair = 0.05;
        sides.into_iter().find(|side| {
            let (low, high) = match side {
                Side::Left => (Point::new(bounds.low.x, begins), Point::new(own.low.x, ends)),
                Side::Right => (Point::new(own.high.x, begins), Point::new(bounds.high.x, ends)),
                Side::Foot => (Point::new(begins, bounds.low.y), Point::new(ends, own.low.y)),
                Side::Top => (Point::new(begins, own.high.y), Point::new(ends, bounds.high.y)),
            };
            outlines.iter().all(|(_, outline)| {
                let other = outline.bounds();
                std::ptr::eq(*outline, self.room)
                    || other.low.x >= high.x - hair
                    || other.high.x <= low.x + hair
                    || other.low.y >= high.y - hair
                    || other.high.y <= low.y + hair
            })
        })
    }

    /// What a tape shows: at which places on the sheet it is read, and what it says there.
    fn figures(&self, scale: f64) -> Vec<Figure> {
        let mut figures = vec![Figure { at: 0.0, says: "0".to_string(), is_wall: true }];
        let figure = |millimetres: f64, is_wall: bool| Figure {
            at: millimetres / scale,
            says: format!("{millimetres:.0}"),
            is_wall,
        };
        for part in &self.parts {
            let within = |at: usize| part.shown_even(scale).any(|(first, last, _)| first < at && at < last);
            let lines = part.lines.iter().enumerate().filter(|(at, _)| !within(*at));
            figures.extend(lines.map(|(_, line)| figure(*line, false)));
        }
        if self.ends_at_wall {
            figures.push(figure(self.from.distance(self.to).in_millimetres(), true));
        }
        figures
    }
}

impl Part {
    /// The evenly spaced lines that are shown as such: first, last, and what is written between them. Where the words
    /// find no place each line has its figure.
    fn shown_even(&self, scale: f64) -> impl Iterator<Item = (usize, usize, String)> {
        self.even.iter().filter_map(move |&(first, last)| {
            let gaps = last - first;
            let gap = (self.lines[last] - self.lines[first]) / gaps as f64;
            let text = format!("{gaps} × {gap:.0}");
            let room = (self.lines[last] - self.lines[first]) / scale;
            (room >= width(&text, SMALL) + 2.0).then_some((first, last, text))
        })
    }
}

/// A figure of a chain.
struct Figure {
    /// In millimetres of the sheet from where the chain begins.
    at: f64,
    says: String,
    is_wall: bool,
}

/// The places of words of this height beside a line, as near as can be to where they belong, none on another.
fn apart(wanted: &[f64], high: f64) -> Vec<f64> {
    // Words that would cover each other form a pile round the mean of what they want.
    let mut piles: Vec<(f64, usize)> = Vec::new();
    for &want in wanted {
        piles.push((want, 1));
        while let [.., (below, of_below), (above, of_above)] = piles[..] {
            let needed = high * (of_below + of_above) as f64 / 2.0;
            if above - below >= needed {
                break;
            }
            // The mean of where the first of each pile would have to stand, for all words alike.
            let all = (of_below + of_above) as f64;
            let first = |middle: f64, of: usize| middle - high * (of as f64 - 1.0) / 2.0;
            let start = (first(below, of_below) * of_below as f64
                + (first(above, of_above) - high * of_below as f64) * of_above as f64)
                / all;
            piles.pop();
            piles.pop();
            piles.push((start + high * (all - 1.0) / 2.0, of_below + of_above));
        }
    }
    let places =
        |(middle, of): (f64, usize)| (0..of).map(move |at| middle + high * (at as f64 - (of as f64 - 1.0) / 2.0));
    piles.into_iter().flat_map(places).collect()
}

const PITCH: f64 = SMALL + 0.25;

/// Draws a chain from a spot along a way; the figures stand on the side that is out.
fn draw_chain(ink: &mut Ink, crowd: &mut Crowd, sheet: &Sheet, chain: &Chain, place: Place) {
    let Place { from, way, out } = place;
    let figures = chain.figures(sheet.scale);
    let end = figures.last().map_or(0.0, |figure| figure.at);
    let spot = |along: f64, off: f64| from.off(way, along).off(out, off);
    ink.group(r##"stroke="#000" stroke-width="0.18" fill="#fff""##, |ink| {
        ink.line(from, spot(end, 0.0));
        for line in chain.parts.iter().flat_map(|part| &part.lines) {
            let at = line / sheet.scale;
            ink.line(spot(at, -0.5), spot(at, 0.5));
        }
        ink.group(r#"stroke-width="0.35""#, |ink| {
            for figure in &figures[1..] {
                match figure.is_wall {
                    true => ink.line(spot(figure.at, -1.1), spot(figure.at, 1.1)),
                    false => ink.line(spot(figure.at - 0.6, -0.6), spot(figure.at + 0.6, 0.6)),
                }
            }
        });
        ink.circle(from, 0.7, "");
    });
    crowd.line(from, spot(end, 0.0), 3 * HEAVY);
    let wanted: Vec<f64> = figures.iter().map(|figure| figure.at).collect();
    let placed = apart(&wanted, PITCH);
    let turn = upright(out);
    for (figure, &at) in figures.iter().zip(&placed) {
        if (at - figure.at).abs() > 0.3 {
            ink.group(&format!(r#"stroke="{GREY}" stroke-width="0.13""#), |ink| {
                ink.line(spot(figure.at, 0.6), spot(at, 1.6));
            });
        }
        // Letters hang on their foot line: half a height to the side of where they are read.
        let down = Spot::new(turn.to_radians().sin(), turn.to_radians().cos());
        let foot = spot(at, 1.7).off(down, SMALL * 0.36);
        let anchor = if turned_over(out) { Anchor::End } else { Anchor::Start };
        ink.words(Words::new(&figure.says, foot, SMALL).anchor(anchor).turned(turn).halo());
        let long = width(&figure.says, SMALL);
        around(spot(at, 1.7), spot(at, 1.7 + long), SMALL * 0.5).into_iter().for_each(|block| crowd.fill(block, FULL));
    }
    let along_turn = upright(way);
    // Words along the line stand at the first of some places, or where least stands: so far along, on the side of the figures or not.
    let mut along = |text: &str, places: &[(f64, bool)], crowd: &mut Crowd| {
        let half = width(text, SMALL) / 2.0;
        let out_of = |is_out: bool| if is_out { out } else { Spot::new(-out.x, -out.y) };
        let spot = |at: f64, is_out: bool, off: f64| from.off(way, at).off(out_of(is_out), off);
        let blocks = |(at, is_out)| around(spot(at - half, is_out, 1.8), spot(at + half, is_out, 1.8), SMALL * 0.5);
        let weight = |place: &&(f64, bool)| {
            blocks(**place).into_iter().map(|block| crowd.weight(block) / u32::from(FULL)).sum::<u32>()
        };
        let Some(&(at, is_out)) = places.iter().min_by_key(weight) else { return };
        let down = Spot::new(along_turn.to_radians().sin(), along_turn.to_radians().cos());
        // Out may be up or down as the letters see it.
        let is_down = down.x * out_of(is_out).x + down.y * out_of(is_out).y > 0.0;
        let foot = spot(at, is_out, 1.0 + if is_down { SMALL * 0.76 } else { 0.0 });
        ink.words(Words::new(text, foot, SMALL).anchor(Anchor::Middle).turned(along_turn).halo());
        blocks((at, is_out)).into_iter().for_each(|block| crowd.fill(block, FULL));
    };
    let mut unnamed: Vec<String> = Vec::new();
    // Where the figure of a line stands, which others may have pushed aside.
    let stands = |line: f64| {
        let found = wanted.iter().zip(&placed).find(|(at, _)| (**at - line / sheet.scale).abs() < 1e-9);
        found.map_or(line / sheet.scale, |(_, stands)| *stands)
    };
    for part in &chain.parts {
        let name = fitting(&sentence(&part.name), SMALL, 34.0);
        let groups: Vec<(usize, usize, String)> = part.shown_even(sheet.scale).collect();
        let room = |first: usize, last: usize| (part.lines[last] - part.lines[first]) / sheet.scale;
        let widest = groups.iter().max_by(|one, other| room(one.0, one.1).total_cmp(&room(other.0, other.1)));
        let mut named = false;
        for group in &groups {
            let (first, last, text) = group;
            let with_name = format!("{name}: {text}");
            let (begins, ends) = (stands(part.lines[*first]), stands(part.lines[*last]));
            let best = widest.is_some_and(|widest| std::ptr::eq(widest, group));
            named |= best && room(*first, *last) >= width(&with_name, SMALL) + 2.0;
            let text = if best && named { &with_name } else { text };
            let middle = (part.lines[*first] + part.lines[*last]) / 2.0 / sheet.scale;
            along(text, &[((begins + ends) / 2.0, true), (middle, false)], crowd);
        }
        if !named {
            match name_place(part, &placed, sheet.scale, width(&name, SMALL) + 4.0) {
                Some(at) => along(&name, &[(at, true), (at, false)], crowd),
                None => unnamed.push(name),
            }
        }
    }
    if !unnamed.is_empty() {
        let text = fitting(&unnamed.join(", "), SMALL, 24.0);
        let half = width(&text, SMALL) / 2.0;
        let (first, last) = (placed.first().map_or(0.0, |it| it.min(0.0)), placed.last().map_or(end, |it| it.max(end)));
        let (before, behind) = (first - half - 1.6, last + half + 1.6);
        along(&text, &[(before, true), (behind, true), (before, false), (behind, false)], crowd);
    }
}

/// Where between two figures there is room for the name of a part: among its own lines, or else beside them.
fn name_place(part: &Part, figures: &[f64], scale: f64, needed: f64) -> Option<f64> {
    let (first, last) = (part.lines.first()? / scale, part.lines.last()? / scale);
    let evenly = |from: f64| {
        part.even.iter().any(|(one, other)| part.lines[*one] / scale <= from && from < part.lines[*other] / scale)
    };
    let hair = 1e-6;
    let gaps =
        figures.windows(2).map(|two| (two[0], two[1])).filter(|(from, to)| to - from >= needed && !evenly(*from));
    let beside = gaps.filter(|(from, to)| *to >= first - hair && *from <= last + hair);
    // Own lines lie on both sides of the best one.
    let own = |(from, to): &(f64, f64)| u8::from(*from >= first - hair) + u8::from(*to <= last + hair);
    beside.max_by(|a, b| own(a).cmp(&own(b)).then((a.1 - a.0).total_cmp(&(b.1 - b.0)))).map(|(a, b)| (a + b) / 2.0)
}

/// Where a chain stands on the sheet.
#[derive(Clone, Copy)]
struct Place {
    from: Spot,
    way: Spot,
    out: Spot,
}

/// A shorter line on the sheet is nothing to hold a tape to.
const LINE: f64 = 2.0;
/// What it costs to stand where a line does not lie: more than to write over some pipes.
const MISSED: u32 = 120;

/// The place in its room where a chain that cannot stand outside hides least.
fn in_room(sheet: &Sheet, crowd: &Crowd, chain: &Chain) -> Option<Place> {
    let (from, to) = (sheet.spot(chain.from), sheet.spot(chain.to));
    let way = from.way_to(to);
    let out = Spot::new(way.y, -way.x);
    let side = |point: Point| (sheet.spot(point).x - from.x) * out.x + (sheet.spot(point).y - from.y) * out.y;
    let Bounds { low, high } = chain.lines;
    let corners = [low, high, Point::new(low.x, high.y), Point::new(high.x, low.y)].map(side);
    let (least, most) = corners.iter().fold((f64::MAX, f64::MIN), |(a, b), it| (a.min(*it), b.max(*it)));
    let long = from.to(to);
    let figures = chain.figures(sheet.scale);
    // The plan's own directions: up the sheet is up the plan.
    let metres = |spot: Spot, by: f64| Point::new(spot.x * by, -spot.y * by);
    let shift = |point: Point, by: f64, along: f64| {
        let (side, on) = (metres(out, by * sheet.scale / 1000.0), metres(way, along));
        Point::new(point.x + side.x + on.x, point.y + side.y + on.y)
    };
    let steps = 72;
    let places = (0..=steps).map(|step| least + (most - least) * f64::from(step) / f64::from(steps));
    // The wall must stand there too, just where the tape is held.
    let stands = |by: f64| {
        let inside = |point| chain.room.position(point) == Position::Inside;
        inside(shift(chain.from, by, 0.01)) && !inside(shift(chain.from, by, -0.01))
    };
    // A tape is held where the lines lie: tails step aside, and a figure beside another line misleads.
    let legs: Vec<(f64, f64)> = (chain.parts.iter().flat_map(|part| &part.legs))
        .map(|leg| leg.map(side))
        .filter(|[from, to]| (from - to).abs() > LINE)
        .map(|[from, to]| (from.min(to) - LINE, from.max(to) + LINE))
        .collect();
    let missed = |by: f64| legs.iter().filter(|(from, to)| by < *from || *to < by).count() as u32 * MISSED;
    let weight = |blocks: Vec<Block>| blocks.into_iter().map(|block| crowd.weight(block)).sum::<u32>();
    let weighed = places.filter(|by| stands(*by)).map(|by| {
        let place = Place { from: from.off(out, by), way, out };
        let figures = figures.iter().map(|figure| {
            let at = place.from.off(way, figure.at);
            let long = width(&figure.says, SMALL);
            weight(around(at.off(out, 0.5), at.off(out, 1.7 + long), SMALL * 0.5))
        });
        let line = weight(around(place.from, place.from.off(way, long), 0.5));
        (place, figures.sum::<u32>(), line, missed(by))
    });
    // Along a run it would not be told from it; but better there than nowhere.
    let (place, figures, line, _) = weighed.min_by_key(|(_, figures, line, missed)| figures + line + missed)?;
    (figures + line / 4 < u32::from(FULL) * 8).then_some(place)
}

/// The turn of words that read along a direction, never head over heels: from the foot or the right of the sheet.
fn upright(way: Spot) -> f64 {
    let turn = (-way.y).atan2(way.x).to_degrees();
    if turn > 90.0 + 1e-6 {
        turn - 180.0
    } else if turn <= -90.0 + 1e-6 {
        turn + 180.0
    } else {
        turn
    }
}

/// Whether words along a direction had to be turned round to be read.
fn turned_over(way: Spot) -> bool {
    let turn = (-way.y).atan2(way.x).to_degrees();
    turn > 90.0 + 1e-6 || turn <= -90.0 + 1e-6
}

/// The blocks that a line of words takes, so much to each side: one where it runs level or plumb.
fn around(from: Spot, to: Spot, half: f64) -> Vec<Block> {
    let (wide, high) = ((to.x - from.x).abs(), (to.y - from.y).abs());
    if wide > 0.1 && high > 0.1 {
        let many = (from.to(to) / (2.0 * half)).clamp(1.0, 500.0).ceil();
        let way = from.way_to(to);
        let middle = |number: usize| from.off(way, from.to(to) * (number as f64 + 0.5) / many);
        return (0..many as usize).map(|number| Block::around(middle(number), 2.0 * half, 2.0 * half)).collect();
    }
    let (more_x, more_y) = if wide > high { (0.0, half) } else { (half, 0.0) };
    let (x, y) = (from.x.min(to.x) - more_x, from.y.min(to.y) - more_y);
    vec![Block { x, y, wide: wide + 2.0 * more_x, high: high + 2.0 * more_y }]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_do_not_cover_each_other() {
        for wanted in [&[0.0, 1.0, 2.0, 30.0, 30.5][..], &[0.0; 9], &[], &[5.0], &[0.0, 0.1, 40.0, 40.0, 40.0, 41.0]] {
            let places = apart(wanted, 2.0);
            assert_eq!(places.len(), wanted.len());
            assert!(places.windows(2).all(|two| two[1] - two[0] >= 2.0 - 1e-9), "{places:?}");
        }
        assert_eq!(apart(&[0.0, 10.0], 2.0), [0.0, 10.0]);
        assert_eq!(apart(&[5.0, 5.0], 2.0), [4.0, 6.0]);
    }

    #[test]
    fn words_are_read_from_the_foot_or_the_right() {
        for (x, y, turn) in [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 90.0), (0.0, -1.0, 90.0), (0.6, 0.8, -53.13)]
        {
            assert!((upright(Spot::new(x, y)) - turn).abs() < 0.01, "{x} {y}: {}", upright(Spot::new(x, y)));
        }
    }
}
