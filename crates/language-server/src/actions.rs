//! What can be done at a place: the remedies of what was found there, a departure, and changes that nobody needs but
//! somebody may want.

use crate::context::{Context, On};
use crate::snapshot::Snapshot;
use crate::view::{Shown, View};
use check::{Change, Finding, Job, Moved, Remedy, Rule, Workings};
use design::Shape;
use std::ops::Range;

/// Every remedy of the findings that the selection touches, with its finding; the first of each finding comes first.
///
/// Of a check that tried no remedies out these are only proposals: enough to know that there is nothing to offer.
pub fn remedies<'v>(view: &'v View, selected: &Range<usize>) -> Vec<(Shown<'v>, &'v Remedy, bool)> {
    let touched = view.touched(selected);
    let mut found: Vec<(Shown, &Remedy, usize)> = touched
        .flat_map(|shown| {
            let remedies = shown.finding.remedies.iter().enumerate();
            remedies.map(move |(at, remedy)| (shown.clone(), remedy, at)).collect::<Vec<_>>()
        })
        .collect();
    found.sort_by_key(|(shown, _, at)| (*at, std::cmp::Reverse(shown.finding.severity), shown.bytes.len()));
    found.into_iter().map(|(shown, remedy, at)| (shown, remedy, at == 0)).collect()
}

/// The changes of each remedy of a document that may be made unseen, as far as they do not meet.
pub fn slips(view: &View) -> Vec<Vec<Change>> {
    let mut slips: Vec<Vec<Change>> = Vec::new();
    for shown in view.findings().filter(|it| check::is_safe_to_mend(it.finding)) {
        let of_this = shown.finding.remedies.iter().flat_map(|it| &it.changes);
        let known = || slips.iter().flatten();
        let own: Vec<Change> = of_this.filter(|change| !known().any(|it| it == *change)).cloned().collect();
        let meets = |change: &Change| {
            known().any(|it| {
                it.place.file == change.place.file
                    && change.place.start < it.place.end.max(it.place.start + 1)
                    && it.place.start < change.place.end.max(change.place.start + 1)
            })
        };
        if own.iter().all(|change| change.place.file == view.file && !meets(change)) {
            slips.push(own);
        }
    }
    slips
}

/// A change that is worked out when it is chosen.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "camelCase")]
pub enum Later {
    Departure { rule: String, at: String },
    Split { name: String },
    Draw { name: String },
    Move { block: String, name: String },
}

/// What came of it.
pub enum Made {
    Remedy(Remedy),
    Moved(Moved),
}

impl Later {
    /// Works the change out; `before` is what was worked out last.
    pub fn make(&self, job: &Job, before: &Workings) -> Option<Made> {
        match self {
            Later::Departure { rule, at } => {
                let house =
                    job.house_standard.and_then(|path| Some(check::House::read(path, &(job.files)(path).ok()?)));
                let house = house.unwrap_or_default();
                let rule: &'static Rule = house.rules().find(|it| it.name == rule)?;
                check::departure(job, rule, at).map(Made::Remedy)
            }
            Later::Split { name } => check::split_loop(job, before, name).map(Made::Remedy),
            Later::Draw { name } => check::draw_layout(job, before, name).map(Made::Remedy),
            Later::Move { block, name } => check::move_to_library(job, block, name).map(Made::Moved),
        }
    }
}

/// A change that nobody needs.
#[derive(Debug, Clone, PartialEq)]
pub enum Wish {
    /// New text in place of the bytes.
    Rewrite { title: String, bytes: Range<usize>, text: String },
    /// Is worked out when it is chosen.
    Later { title: String, is_extraction: bool, later: Later },
}

/// What may be wished at a place of a design.
pub fn wishes(of: &Snapshot, context: &Context) -> Vec<Wish> {
    let mut wishes = Vec::new();
    if context.on == On::Value {
        let kinds = context.shape.iter().flat_map(Shape::alternatives).filter_map(|it| match it {
            Shape::Quantity { kind, .. } => Some(kind),
            _ => None,
        });
        let written = context.written.trim();
        let start = context.typed.start + context.written.len() - context.written.trim_start().len();
        for kind in kinds {
            for text in quantity::in_other_units(written, kind) {
                let bytes = start..start + written.len();
                wishes.push(Wish::Rewrite { title: format!("write `{text}`"), bytes, text });
            }
        }
    }
    if of.is_house_standard() {
        return wishes;
    }
    let later = |title: String, is_extraction: bool, later: Later| Wish::Later { title, is_extraction, later };
    match &context.path[..] {
        [block, name] if matches!(block.as_str(), "floors" | "pipes") && context.on == On::Key && !name.is_empty() => {
            let (block, name) = (block.clone(), name.clone());
            wishes.push(later(format!("move `{name}` into a library"), true, Later::Move { block, name }));
        }
        [block, name, ..] if block == "loops" => {
            let name = name.clone();
            let entry = of.outline().root(&of.text).and_then(|root| root.get("loops")?.get(&name));
            // In the spaces before a line a key of the line is read as another one.
            let Some(entry) = entry else { return wishes };
            let has = |key: &str| entry.get(key).is_some();
            if has("layout") && !has("route") {
                let wish = format!("draw the storey of {name} as it is laid out");
                wishes.push(later(wish, false, Later::Draw { name: name.clone() }));
            }
            if !has("route") && !has("length") {
                wishes.push(later(format!("split {name} into two loops"), false, Later::Split { name }));
            }
        }
        _ => {}
    }
    wishes
}

/// The departure that would accept a finding.
pub fn departure(shown: &Shown) -> Option<Later> {
    let finding: &Finding = shown.finding;
    let at = || finding.at(&shown.view.checked.outcome.design);
    finding.takes_departures().then(|| Later::Departure { rule: finding.rule.name.to_string(), at: at() })
}
