//! Findings for people: each with the lines it marks, its source and what would clear it.

use crate::Summary;
use crate::excerpt::{Excerpt};
use crate::page::Page;
use crate::places::Texts;
use crate::words::{count, file_name, sentence};
use check::{Finding, NotChecked, Outcome, Related, Rule};
use codespan_reporting::diagnostic::{Diagnostic, Label, Severity as RendererSeverity};
use codespan_reporting::term::{Config, DisplayStyle, emit_to_write_style};
use std::collections::{HashMap, HashSet};

/// How many findings of one rule are shown with their lines; each further one has one line.
const SHOWN_OF_A_RULE: usize = 20;
/// How many findings of one design are shown with their lines.
const SHOWN_OF_A_DESIGN: usize = 200;
/// How many related places of a finding are shown.
const RELATED_SHOWN: usize = 6;
/// How many missing fields are named for a rule that could not look.
const MISSING_NAMED: usize = 4;

/// What was found in one design, what was not checked, the departures, and a line that sums it up.
pub fn text(outcome: &Outcome, coloured: bool) -> Vec<u8> {
    let mut page = Page::new(coloured);
    findings(&mut page, outcome);
    not_checked(&mut page, &outcome.not_checked);
    departures(&mut page, outcome);
    let path = outcome.sources.first().map_or("", |source| &source.path);
    page.push_bold(&file_name(path));
    page.push(&format!(": {}\n\n", Summary::of(outcome).sentence()));
    page.bytes
}

fn findings(page: &mut Page, outcome: &Outcome) {
    if outcome.findings.is_empty() {
        return;
    }
    let texts = Texts::new(&outcome.sources);
    let whole = Config::default();
    let one_line = Config { display_style: DisplayStyle::Short, ..Config::default() };
    let mut of_a_rule: HashMap<&str, usize> = HashMap::new();
    let mut after_one_line = false;
    for (at, finding) in outcome.findings.iter().enumerate() {
        let of_this_rule = of_a_rule.entry(finding.rule.name).or_default();
        *of_this_rule += 1;
        let shown = at < SHOWN_OF_A_DESIGN && *of_this_rule <= SHOWN_OF_A_RULE;
        if shown && after_one_line {
            page.push("\n");
        }
        after_one_line = !shown;
        let (excerpt, diagnostic) = diagnostic(&texts, finding);
        page.turn_to(finding.severity);
        let config = if shown { &whole } else { &one_line };
        emit_to_write_style(page, config, &excerpt, &diagnostic)
            .expect("the excerpt has every line that a label stands on, and a page takes every byte");
    }
    if after_one_line {
        page.push("\n");
    }
}

fn diagnostic(texts: &Texts, finding: &Finding) -> (Excerpt, Diagnostic<usize>) {
    let related = finding.related.iter().take(RELATED_SHOWN);
    let places = std::iter::once(finding.place).chain(related.clone().map(|it| it.place));
    let (excerpt, marks) = Excerpt::new(texts, places);
    let mut marks = marks.into_iter();
    let mut diagnostic = Diagnostic::new(RendererSeverity::Error)
        .with_code(finding.rule.name)
        .with_message(sentence(&finding.message))
        .with_labels(marks.next().flatten().map(|(file, range)| Label::primary(file, range)).into_iter().collect());
    let mut notes = Vec::new();
    for (related, mark) in related.zip(marks) {
        match mark {
            Some((file, range)) => {
                let label = Label::secondary(file, range).with_message(sentence(&related.message));
                diagnostic.labels.push(label);
            }
            None => notes.push(elsewhere(texts, related)),
        }
    }
    if finding.related.len() > RELATED_SHOWN {
        let more = finding.related.len() - RELATED_SHOWN;
        notes.push(format!("and {}", count(more, "more place", "more places")));
    }
    if let Some(limit) = &finding.limit {
        notes.push(format!("source: {}", limit.source));
    }
    if let Some(figure) = &finding.figure {
        notes.push(format!("workings: {}", sentence(figure)));
    }
    notes.extend(finding.rule.caution.map(|caution| format!("caution: {caution}")));
    notes.extend(finding.remedies.iter().map(|remedy| format!("remedy: {}", sentence(&remedy.title))));
    (excerpt, diagnostic.with_notes(notes))
}

/// A related place whose line cannot be shown beside the others.
fn elsewhere(texts: &Texts, related: &Related) -> String {
    let message = sentence(&related.message);
    match texts.of(related.place) {
        None => message.into_owned(),
        Some(text) => {
            let position = text.position(related.place.range().start);
            format!("{message}: {}:{}:{}", file_name(text.path), position.line, position.column)
        }
    }
}

fn not_checked(page: &mut Page, not_checked: &[NotChecked]) {
    if not_checked.is_empty() {
        return;
    }
    page.push_bold("Not checked");
    page.push("\n");
    let mut by_rule: Vec<(&Rule, Vec<&str>)> = Vec::new();
    let mut position: HashMap<&str, usize> = HashMap::new();
    let mut seen = HashSet::new();
    for it in not_checked {
        let at = *position.entry(it.rule.name).or_insert_with(|| {
            by_rule.push((it.rule, Vec::new()));
            by_rule.len() - 1
        });
        if seen.insert((it.rule.name, &*it.missing))
            && let Some((_, missing)) = by_rule.get_mut(at)
        {
            missing.push(&it.missing);
        }
    }
    for (rule, missing) in by_rule {
        let named: Vec<_> = missing.iter().take(MISSING_NAMED).map(|it| sentence(it)).collect();
        page.push(&format!("  {}: {}", rule.name, named.join(", ")));
        if missing.len() > MISSING_NAMED {
            page.push(&format!(" and {} more", missing.len() - MISSING_NAMED));
        }
        page.push("\n");
    }
    page.push("\n");
}

fn departures(page: &mut Page, outcome: &Outcome) {
    if outcome.departed.is_empty() {
        return;
    }
    page.push_bold("Departures");
    page.push("\n");
    for (finding, by) in &outcome.departed {
        let at = finding.about.path(&outcome.design);
        page.push(&format!("  {} at {}: {}\n", finding.rule.name, sentence(&at), sentence(&finding.message)));
        let Some(departure) = outcome.design.departures.get(*by).map(|it| &it.value) else { continue };
        let reason = departure.reason.as_ref().map_or("no reason", |it| &it.value);
        let agreed_by = departure.agreed_by.as_ref().map_or("nobody", |it| &it.value);
        let until = departure.until.map_or("no day".to_string(), |it| it.value.to_string());
        page.push(&format!("    {}; agreed by {}, until {until}\n", sentence(reason), sentence(agreed_by)));
    }
    page.push("\n");
}
