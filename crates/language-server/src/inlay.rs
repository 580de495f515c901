//! What was worked out, shown beside loops, rooms and manifolds.

use crate::settings::Hints;
use crate::view::View;
use design::Place;
use std::fmt::Display;
use std::ops::Range;
use workings::{Line, Worked};

/// Figures beside a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Hint {
    /// At the end of the line on which the name stands.
    pub at: usize,
    pub label: String,
    /// The thing: its block and its name.
    pub block: &'static str,
    pub name: String,
}

/// The hints on the lines of a range, in the order of the text.
pub fn hints(view: &View, range: &Range<usize>, wanted: Hints) -> Vec<Hint> {
    let outcome = &view.checked.outcome;
    let (design, worked) = (&outcome.design, &outcome.workings);
    let Some((text, _)) = view.checked.text(view.file) else { return Vec::new() };
    let mut found: Vec<Hint> = Vec::new();
    let mut add = |place: Place, block: &'static str, name: &str, words: Vec<Option<String>>| {
        let words: Vec<String> = words.into_iter().flatten().collect();
        if words.is_empty() {
            return;
        }
        let start = place.range().end;
        let rest = text.get(start..).unwrap_or_default();
        let line = rest.find('\n').unwrap_or(rest.len());
        let at = start + rest[..line].trim_end().len();
        found.push(Hint { at, label: words.join(" · "), block, name: name.to_string() });
    };
    let here = |place: Place| {
        place.file == view.file && place.range().start < range.end && range.start <= line_end(text, place.range().end)
    };
    if wanted.loops {
        for ((name, entry), it) in
            design.loops.iter().zip(&worked.loops).filter(|((_, entry), _)| here(entry.name_place))
        {
            let surface = shown(&it.surface_temperature_highest).or_else(|| shown(&it.surface_temperature_mean));
            let words = vec![shown(&it.length), shown(&it.volume_flow), shown(&it.pressure_drop), surface];
            add(entry.name_place, "loops", name, words);
        }
    }
    if wanted.rooms {
        for ((name, entry), it) in
            design.rooms.iter().zip(&worked.rooms).filter(|((_, entry), _)| here(entry.name_place))
        {
            let heat = match (shown(&it.output), shown(&it.heat_needed)) {
                (Some(output), Some(needed)) => Some(format!("{output} of {needed}")),
                (Some(output), None) => Some(output),
                (None, Some(needed)) => Some(format!("{needed} needed")),
                (None, None) => None,
            };
            add(entry.name_place, "rooms", name, vec![heat, shown(&it.surface_temperature_mean)]);
        }
    }
    if wanted.manifolds {
        for ((name, entry), it) in
            design.manifolds.iter().zip(&worked.manifolds).filter(|((_, entry), _)| here(entry.name_place))
        {
            let head = match (shown(&it.head_needed), shown(&it.head_available)) {
                (Some(needed), Some(available)) => Some(format!("{needed} of {available}")),
                (Some(needed), None) => Some(format!("{needed} needed")),
                _ => None,
            };
            add(entry.name_place, "manifolds", name, vec![shown(&it.volume_flow), head]);
        }
    }
    found.sort_by_key(|hint| hint.at);
    // Of several things on one line nobody could tell whose figures they are.
    let mut single: Vec<Hint> = Vec::with_capacity(found.len());
    for several in found.chunk_by(|one, other| one.at == other.at).filter(|it| it.len() == 1) {
        single.extend_from_slice(several);
    }
    single
}

/// How the figures beside a name came about.
pub fn workings_of(view: &View, block: &str, name: &str) -> String {
    let outcome = &view.checked.outcome;
    let beside = match block {
        "loops" => {
            &["length", "volume-flow", "pressure-drop", "surface-temperature-highest", "surface-temperature-mean"][..]
        }
        "rooms" => &["output", "heat-needed", "surface-temperature-mean"],
        _ => &["volume-flow", "head-needed", "head-available"],
    };
    let lines = workings::figures_of(&outcome.design, &outcome.workings, block, name);
    let wanted: Vec<&Line> = lines
        .iter()
        .filter(|line| line.name.rsplit('.').next().is_some_and(|figure| beside.contains(&figure)))
        .collect();
    report::workings::text(outcome, &wanted).trim_end().to_string()
}

fn shown<T: Display>(worked: &Worked<T>) -> Option<String> {
    worked.as_ref().ok().map(|figure| figure.value.to_string())
}

fn line_end(text: &str, from: usize) -> usize {
    text.get(from..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| from + at)
}
