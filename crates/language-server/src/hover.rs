//! What an editor tells of a place that has findings: what each rule asks, its source, and its caution.

use crate::view::{Shown, View};
use std::ops::Range;

/// The text in Markdown and the bytes that it is about; nothing where nothing was found.
pub fn at(view: &View, offset: usize) -> Option<(String, Range<usize>)> {
    let mut touched: Vec<Shown> = view.touched(&(offset..offset)).collect();
    // What marks the least says the most about this very place.
    touched.sort_by_key(|it| it.bytes.len());
    touched.dedup_by_key(|it| it.finding.rule.name);
    let bytes = touched.first()?.bytes.clone();
    let texts: Vec<String> = touched.iter().map(text).collect();
    Some((texts.join("\n\n---\n\n"), bytes))
}

fn text(shown: &Shown) -> String {
    let rule = shown.finding.rule;
    let summary = shown.view.checked.outcome.house.guidance(rule).summary;
    let mut text = format!("**{}**: {summary}", rule.name);
    if let Some(limit) = &shown.finding.limit {
        text.push_str(&format!("\n\nSource: {}", limit.whose(&shown.view.checked.outcome.sources)));
    }
    if let Some(caution) = rule.caution {
        text.push_str(&format!("\n\n{caution}"));
    }
    text
}
