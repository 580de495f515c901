//! What an editor tells of a place: what was found there, what the key asks for, what the thing is and what was worked out
//! of it.

use crate::completion::about_material;
use crate::context::{Context, On};
use crate::view::{Shown, View};
use check::Outcome;
use design::Shape;
use std::ops::Range;
use workings::Line;

/// Figures of a thing that are shown at most.
const MOST_FIGURES: usize = 40;

/// The text in Markdown and the bytes that it is about; nothing where there is nothing to tell. Without a check of the text as it is
/// now only that is told which the text says by itself.
pub fn at(context: Option<&Context>, view: Option<&View>, offset: usize) -> Option<(String, Range<usize>)> {
    let mut told = Vec::new();
    let mut bytes = None;
    if let Some((text, at)) = view.and_then(|view| findings(view, offset)) {
        told.push(text);
        bytes = Some(at);
    }
    if let Some(context) = context {
        told.extend(about(context));
        let outcome = view.filter(|view| view.file == check::FileId::new(0)).map(|view| &view.checked.outcome);
        told.extend(outcome.and_then(|outcome| worked(outcome, context)));
        if !told.is_empty() {
            bytes.get_or_insert(context.typed.clone());
        }
    }
    Some((told.join("\n\n---\n\n"), bytes?))
}

/// What was found there; the place that marks the least.
fn findings(view: &View, offset: usize) -> Option<(String, Range<usize>)> {
    let mut touched: Vec<Shown> = view.touched(&(offset..offset)).collect();
    // What marks the least says the most about this very place.
    touched.sort_by_key(|it| it.bytes.len());
    touched.dedup_by(|one, other| {
        one.finding.rule.name == other.finding.rule.name && one.finding.message == other.finding.message
    });
    let bytes = touched.first()?.bytes.clone();
    let texts: Vec<String> = touched.iter().map(finding).collect();
    Some((texts.join("\n\n---\n\n"), bytes))
}

fn finding(shown: &Shown) -> String {
    let (finding, outcome) = (shown.finding, &shown.view.checked.outcome);
    let summary = outcome.house.guidance(finding.rule).summary;
    let mut text = format!("{}: {}\n\n**{}**: {summary}", finding.severity.word(), finding.message, finding.rule.name);
    if let Some(limit) = &finding.limit {
        text.push_str(&format!("\n\nSource: {}", limit.whose(&outcome.sources)));
    }
    if let Some(page) = outcome.house.page_of(finding.rule) {
        text.push_str(&format!("\n\n[Guidance]({page})"));
    }
    if let Some(caution) = finding.rule.caution {
        text.push_str(&format!("\n\n{caution}"));
    }
    text
}

/// What the key asks for, and what the word behind it means.
fn about(context: &Context) -> Option<String> {
    let key = context.path.last().filter(|key| !key.is_empty())?;
    if context.on == On::Key {
        let record = context.shape.as_ref()?.record()?;
        let field = record.field(key)?;
        return Some(format!("**{key}**: {}\n\n{}", field.about.trim(), (field.shape)().words()));
    }
    let written = context.written.trim();
    let alternatives = context.shape.as_ref()?.alternatives();
    let word = alternatives.iter().find_map(|it| match it {
        Shape::Word(words) => words.iter().find(|(word, _)| *word == written),
        _ => None,
    });
    if let Some((word, about)) = word {
        return Some(format!("**{word}**: {}", about.trim()));
    }
    if key == "material" && alternatives.iter().any(|it| matches!(it, Shape::Text(_))) {
        return engineering::heat::materials::find(written).map(about_material);
    }
    let rule = (context.path.first().is_some_and(|it| it == "departures") && key == "rule")
        .then(|| check::RULES.iter().find(|rule| rule.name == written))
        .flatten()?;
    Some(format!("**{}**: {}", rule.name, check::Guidance::of(rule).summary))
}

/// What was worked out of the thing whose name stands there, or of the value there.
fn worked(outcome: &Outcome, context: &Context) -> Option<String> {
    let written = context.written.trim().trim_matches(['"', '\'']);
    // The use of a name tells of the thing.
    let named = context.shape.as_ref().filter(|_| context.on == On::Value).and_then(|shape| {
        shape.alternatives().iter().find_map(|it| match it {
            Shape::Name(kind) => Some(kind.block()),
            _ => None,
        })
    });
    if let Some(block) = named {
        return figures(outcome, block, written);
    }
    match &context.path[..] {
        [block, name] if context.on == On::Key || !context.given.is_empty() => match block.as_str() {
            "heat-source" | "water" if context.on == On::Key => one_figure(outcome, block, "", name),
            _ => figures(outcome, block, name),
        },
        [block] if context.on == On::Key => figures(outcome, block, ""),
        [block, name, key] => one_figure(outcome, block, name, key),
        _ => None,
    }
}

/// Every figure of a thing, with its value.
fn figures(outcome: &Outcome, block: &str, name: &str) -> Option<String> {
    let lines = workings::figures_of(&outcome.design, &outcome.workings, block, name);
    let shown = |line: &Line| Some((line.name.rsplit('.').next()?.to_string(), line.shown.clone()?));
    let rows: Vec<(String, String)> = lines.iter().filter_map(shown).take(MOST_FIGURES).collect();
    if rows.is_empty() {
        return None;
    }
    let rows: String = rows.iter().map(|(figure, value)| format!("| {figure} | {value} |\n")).collect();
    let of = if name.is_empty() { block.to_string() } else { format!("{block}/{name}") };
    Some(format!("| {} | worked out |\n|---|---|\n{rows}", cell(&of)))
}

/// The figure of a thing that is called like the key there, and how it came about.
fn one_figure(outcome: &Outcome, block: &str, name: &str, key: &str) -> Option<String> {
    let lines = workings::figures_of(&outcome.design, &outcome.workings, block, name);
    let figure = match key {
        "tails" => "tail-length",
        "presetting" => "presetting-kv",
        "duty" => "heat-needed",
        "outline" => "area",
        "layout" | "route" => "length",
        other => other,
    };
    let wanted: Vec<&Line> = lines.iter().filter(|line| line.name.rsplit('.').next() == Some(figure)).collect();
    let text = report::workings::text(outcome, &wanted);
    let text = text.trim_end();
    (!text.is_empty()).then(|| format!("```text\n{text}\n```"))
}

/// Text of a design within a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace(['\n', '\r'], " ")
}
