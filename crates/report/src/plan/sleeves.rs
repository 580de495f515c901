//! Sleeves: those that stand round the pipes, and the list of them. One whose length is not given is as long as the rule asks.

use super::ink::{BODY, GREY, Ink, SMALL, Words, fitting};
use super::panel::{LINE, heading};
use super::paper::{Block, Spot};
use super::scene::{Drawn, Scene};
use crate::words::sentence;
use check::Outcome;
use design::Serves;
use quantity::{Length, Quantity};
use std::collections::BTreeMap;
use workings::{Crossed, Crossing, Passage};

/// The passages of a loop that have a sleeve, each with what is passed and the length of the sleeve where it is given.
pub fn sleeved<'o>(
    scene: &Scene<'o>,
    it: &Drawn<'o>,
) -> impl Iterator<Item = (Crossed, &'o Passage, Option<Length>)> + use<'o> {
    let given = scene.outcome.design.loops.at(it.at).map(|(_, entry)| &entry.value);
    let passages = it.passages;
    it.crossings.iter().flat_map(move |crossing| {
        let with_sleeve = crossing.passages.iter().filter(|at| crossing.without_sleeve.binary_search(at).is_err());
        with_sleeve.filter_map(move |&number| {
            let passage = passages.get(number)?;
            Some((crossing.what, passage, length(given?, crossing, passage)))
        })
    })
}

fn length(given: &design::Loop, crossing: &Crossing, passage: &Passage) -> Option<Length> {
    let serves = |at: &&usize| {
        let sleeve = given.sleeves.get(**at);
        sleeve.is_some_and(|sleeve| match sleeve.value.serves.map(|serves| serves.value) {
            Some(Serves::Flow) => !passage.on_return,
            Some(Serves::Return) => passage.on_return,
            Some(Serves::Every) | None => true,
        })
    };
    let at = crossing.sleeves.iter().find(serves).or_else(|| crossing.sleeves.first())?;
    given.sleeves.get(*at)?.value.length.map(|length| length.value)
}

/// The sleeves at one thing that are as long as each other.
#[derive(Default)]
struct Row<'o> {
    count: usize,
    loops: Vec<&'o str>,
}

/// The rows of the list: what is passed, how long the sleeves are in tenths of a millimetre, how many and whose.
fn rows<'o>(scene: &Scene<'o>) -> BTreeMap<(Crossed, Option<u64>), Row<'o>> {
    let mut rows: BTreeMap<(Crossed, Option<u64>), Row> = BTreeMap::new();
    for it in &scene.loops {
        for (what, _, length) in sleeved(scene, it) {
            let length = length.map(|length| (length.in_millimetres() * 10.0).round() as u64);
            let row = rows.entry((what, length)).or_default();
            row.count += 1;
            if row.loops.last() != Some(&it.name) {
                row.loops.push(it.name);
            }
        }
    }
    rows
}

/// How long a sleeve has to be whose length is not given: as a joint asks, or through the wall and beyond both faces.
pub(crate) fn assumed(outcome: &Outcome, what: Crossed) -> Option<Length> {
    let limit = |name: &str| Length::parse(crate::limit(outcome, "sleeve-too-short", name).0).ok();
    match what {
        Crossed::MovementJoint(_) => limit("sleeve-at-joint"),
        Crossed::Wall(at) => {
            let thickness = outcome.design.walls.at(at)?.1.value.thickness?.value;
            Some(thickness + limit("beyond-each-side")? * 2.0)
        }
        Crossed::Opening(_) => None,
    }
}

/// A sleeve's length as it is printed: with a star where it is not given.
pub(crate) fn printed(outcome: &Outcome, what: Crossed, given: Option<Length>) -> String {
    match (given, assumed(outcome, what)) {
        (Some(given), _) => given.to_string(),
        (None, Some(assumed)) => format!("{assumed} *"),
        (None, None) => "–".into(),
    }
}

/// What the star says.
pub(crate) const ASSUMED: &str = "* length of the sleeve not given: what is asked for is assumed";

/// The list of sleeves, as far as it finds room; gives back where it ends.
pub fn list(scene: &Scene, ink: &mut Ink, inner: Block, from: f64, to: f64) -> f64 {
    const COLUMNS: [f64; 4] = [0.0, 32.0, 46.0, 62.0];
    let rows = rows(scene);
    let is_assumed =
        |(what, length): &(Crossed, Option<u64>)| length.is_none() && assumed(scene.outcome, *what).is_some();
    let any_assumed = rows.keys().any(is_assumed);
    let high = 9.0 + 1.2 + (rows.len() + usize::from(any_assumed)) as f64 * LINE;
    if rows.is_empty() || from + high > to {
        return from;
    }
    heading(ink, inner, from, "Sleeves");
    let mut y = from + 9.0;
    let mut line = |y: f64, cells: [&str; 4], colour: Option<&str>| {
        for (at, cell) in cells.into_iter().enumerate() {
            let wide = COLUMNS.get(at + 1).unwrap_or(&inner.wide) - COLUMNS[at];
            let words = fitting(&sentence(cell), SMALL, wide - 0.8);
            let words = Words::new(&words, Spot::new(inner.x + COLUMNS[at], y), SMALL);
            ink.words(colour.map_or(words, |colour| words.colour(colour)));
        }
    };
    line(y, ["at", "number", "long", "of loops"], Some(GREY));
    for ((what, length), row) in rows {
        y += LINE;
        let length = printed(scene.outcome, what, length.map(|length| Length::millimetres(length as f64 / 10.0)));
        let name = what.name(&scene.outcome.design);
        line(y, [name, &row.count.to_string(), &length, &row.loops.join(", ")], None);
    }
    if any_assumed {
        y += LINE;
        ink.words(Words::new(ASSUMED, Spot::new(inner.x, y), SMALL));
    }
    y + BODY / 2.0
}
