//! Remedies: changes of the text, kept only when they are shown to work.

use crate::{Finding, Group, Inspection, Job, Outcome, Severity, look};
use design::Place;
use std::collections::HashSet;
use workings::Subject;

/// A change that may clear a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What it does, as an order: `lay L1 at 200 mm`.
    pub title: String,
    pub changes: Vec<Change>,
}

/// New text in place of old.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    pub place: Place,
    pub text: String,
}

impl Remedy {
    /// A remedy of one change.
    pub fn new(title: impl Into<String>, place: Place, text: impl Into<String>) -> Remedy {
        Remedy { title: title.into(), changes: vec![Change { place, text: text.into() }] }
    }

    /// A remedy of the changes that could be made out; none without any.
    pub fn of(title: impl Into<String>, changes: impl IntoIterator<Item = Change>) -> Option<Remedy> {
        let changes: Vec<Change> = changes.into_iter().collect();
        (!changes.is_empty()).then(|| Remedy { title: title.into(), changes })
    }
}

/// Adds an entry such as `sleeves: [W1]` to a block of keys, in the way the block is written.
///
/// `record` is the place of the block. The lines of an entry of several lines are indented with the
/// block; those after the first bring what they need beyond that. Nothing where the text gives no
/// safe place, as in an alias.
pub(crate) fn add_key(inspection: &Inspection, record: Place, entry: &str) -> Option<Change> {
    let text = inspection.source(record)?;
    let block = text.get(record.range())?;
    if block.is_empty() {
        return Some(Change { place: record, text: format!(" {{{entry}}}") });
    }
    if block.starts_with('{') {
        return add_in_braces(record, block, entry);
    }
    if block.starts_with(['*', '?', '[', '"', '\'', '|', '>']) {
        return None;
    }
    let indent = column(text, record.range().start);
    Some(new_lines(text, record, indent, entry.lines()))
}

/// Adds items to a list of which the places of the items are known, in the way the list is written.
pub(crate) fn add_items(inspection: &Inspection, items: &[Place], new: &[String]) -> Option<Change> {
    let (first, last) = (items.first()?, items.last()?);
    let text = inspection.source(*last)?;
    let written = text.get(last.range())?;
    match before(text, *first)? {
        '[' => Some(Change { place: last.after(), text: format!(", {}", new.join(", ")) }),
        ':' if items.len() == 1 => Some(Change { place: *last, text: format!("[{written}, {}]", new.join(", ")) }),
        '-' => {
            let dash = text.get(..last.range().start)?.trim_end().len() - 1;
            let lines: Vec<String> = new.iter().map(|item| format!("- {item}")).collect();
            Some(new_lines(text, *last, column(text, dash), lines.iter().map(String::as_str)))
        }
        _ => None,
    }
}

/// Takes an item out of a list of which the places of all items are known.
pub(crate) fn remove_item(inspection: &Inspection, items: &[Place], at: usize) -> Option<Change> {
    let item = *items.get(at)?;
    let text = inspection.source(item)?;
    let style = before(text, *items.first()?)?;
    let between = |from: u32, to: u32| Change { place: Place { start: from, end: to, ..item }, text: String::new() };
    match (style, items.get(at + 1)) {
        ('[', Some(next)) => Some(between(item.start, next.start)),
        ('[', None) if at > 0 => Some(between(items[at - 1].end, item.end)),
        ('[', None) => Some(Change { place: item, text: String::new() }),
        (':', None) => Some(Change { place: item, text: "[]".to_string() }),
        ('-', next) => {
            let dash = text.get(..item.range().start)?.trim_end().len() - 1;
            if next.is_none() && at == 0 {
                return Some(Change { place: Place { start: dash as u32, ..item }, text: "[]".to_string() });
            }
            let line = text.get(..dash)?.rfind('\n')?;
            let end = item.range().end + text.get(item.range().end..)?.find('\n')?;
            Some(between(line as u32, end as u32))
        }
        _ => None,
    }
}

/// A name as it is written in a design: in quotes where it needs them.
pub(crate) fn written(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
    let needs_none = name.chars().all(plain) && name.starts_with(|c: char| c.is_alphanumeric());
    if needs_none { name.to_string() } else { format!("{name:?}") }
}

/// Takes a name and all that stands under it out of a block: its lines, or its part of a `{…}`.
///
/// `whole` runs from the name to the end of its block. Nothing where the name stands alone in braces.
pub(crate) fn remove_entry(inspection: &Inspection, whole: Place) -> Option<Change> {
    let text = inspection.source(whole)?;
    let (start, end) = (whole.range().start, whole.range().end);
    let change = |from: usize, to: usize| {
        Some(Change { place: Place { start: from as u32, end: to as u32, ..whole }, text: String::new() })
    };
    let line = text.get(..start)?.rfind('\n').map_or(0, |at| at + 1);
    if text.get(line..start)?.trim().is_empty() {
        let written = start + text.get(start..end)?.trim_end().len();
        let rest = text.get(written..)?;
        let (behind, _) = rest.split_once('\n')?;
        let behind = behind.trim();
        return (behind.is_empty() || behind.starts_with('#')).then(|| change(line, written + rest.find('\n')? + 1))?;
    }
    let after = text.get(end..)?;
    if let Some(rest) = after.trim_start().strip_prefix(',') {
        return change(start, text.len() - rest.trim_start().len());
    }
    let before = text.get(..start)?.trim_end().strip_suffix(',')?;
    change(before.len(), end)
}

/// The last sign before a place that is neither space nor line end.
fn before(text: &str, place: Place) -> Option<char> {
    text.get(..place.range().start)?.trim_end().chars().next_back()
}

/// How far a byte is from the start of its line, in letters.
fn column(text: &str, at: usize) -> usize {
    text[..at].rsplit('\n').next().unwrap_or_default().chars().count()
}

/// Lines of the given indent under the line on which a block or an item ends.
fn new_lines<'l>(text: &str, under: Place, indent: usize, lines: impl Iterator<Item = &'l str>) -> Change {
    let written = text[under.range()].trim_end().len();
    let from = under.range().start + written;
    let rest = &text[from..];
    let end = rest.find('\n').unwrap_or(rest.len());
    let line_end = if rest[..end].ends_with('\r') { "\r\n" } else { "\n" };
    let at = (from + rest[..end].trim_end_matches('\r').len()) as u32;
    let text = lines.map(|line| format!("{line_end}{:indent$}{line}", "")).collect();
    Change { place: Place { start: at, end: at, ..under }, text }
}

/// An entry before the closing brace; before the first key where a comment stands at the end.
fn add_in_braces(record: Place, block: &str, entry: &str) -> Option<Change> {
    let inside = block.strip_prefix('{')?.strip_suffix('}')?;
    let kept = inside.trim_end();
    let insert = |offset: usize, text: String| {
        let at = record.start + offset as u32;
        Some(Change { place: Place { start: at, end: at, ..record }, text })
    };
    if inside.trim().is_empty() {
        return insert(1, entry.to_string());
    }
    if kept.rsplit('\n').next().is_some_and(|line| line.contains('#')) {
        return insert(1, format!("{entry}, "));
    }
    let comma = if kept.ends_with(',') { " " } else { ", " };
    insert(1 + kept.len(), format!("{comma}{entry}"))
}

/// Tries each remedy out on the text and keeps those that clear their finding and bring no new error.
pub(crate) fn keep_proven(job: &Job, outcome: &mut Outcome) {
    // A trial costs a whole check. Where a check is dear only the first remedies are tried, so that a check stays a
    // check; those that are not tried are not offered.
    let crossings: usize = outcome.workings.plan.passages.iter().map(Vec::len).sum();
    let mut trials = (4_000_000 / (job.bytes.len() + 100 * crossings).max(1)).clamp(2, 200);
    let mut before: HashSet<(&str, Subject)> = errors(&outcome.findings).collect();
    // What could not be looked at before may well be wrong once it can be: that is not the remedy's doing.
    before.extend(outcome.not_checked.iter().map(|it| (it.rule.name, it.about)));
    let before_all: HashSet<(&str, Subject)> =
        outcome.findings.iter().map(|it| (it.rule.name, it.about)).chain(before.iter().copied()).collect();
    let mut findings = std::mem::take(&mut outcome.findings);
    for at in 0..findings.len() {
        let proposed = std::mem::take(&mut findings[at].remedies);
        // The same thing may be wrong in two places: one fewer is a finding cleared.
        let times = findings.iter().filter(|it| same(it, &findings[at])).count();
        for remedy in proposed {
            if trials == 0 {
                break;
            }
            trials -= 1;
            let Some(after) = after(job, outcome, &remedy) else { continue };
            let cleared = after.findings.iter().filter(|it| same(it, &findings[at])).count() < times;
            let of_text = findings[at].rule.group == Group::DesignFile;
            let worse = after.findings.iter().any(|it| match it.rule.group {
                // A change that leads to text that makes no sense is no remedy, however little it weighs.
                Group::DesignFile => !before_all.contains(&(it.rule.name, it.about)),
                // Mended text lets more be looked at.
                _ => !of_text && it.severity == Severity::Error && !before.contains(&(it.rule.name, it.about)),
            });
            if cleared && !worse {
                findings[at].remedies.push(remedy);
            }
        }
    }
    outcome.findings = findings;
}

/// Every error by its identity.
fn errors(findings: &[Finding]) -> impl Iterator<Item = (&'static str, Subject)> {
    findings.iter().filter(|it| it.severity == Severity::Error).map(|it| (it.rule.name, it.about))
}

/// Whether two findings have one identity.
fn same(one: &Finding, other: &Finding) -> bool {
    std::ptr::eq(one.rule, other.rule) && one.about == other.about
}

/// The check of the changed text; nothing if the change does not fit.
fn after(job: &Job, outcome: &Outcome, remedy: &Remedy) -> Option<Outcome> {
    let texts = changed(outcome, remedy)?;
    let files = |path: &str| {
        let own = outcome.sources.iter().position(|source| source.path == path);
        match own.and_then(|at| texts.get(at)) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => (job.files)(path),
        }
    };
    Some(look(&Job { bytes: texts.first()?.as_bytes(), files: &files, remedies: false, ..*job }))
}

/// The texts of all files after the change; nothing if a change does not fit its text.
fn changed(outcome: &Outcome, remedy: &Remedy) -> Option<Vec<String>> {
    let mut texts = Vec::with_capacity(outcome.sources.len());
    for (file, source) in outcome.sources.iter().enumerate() {
        let edits: Vec<yaml_tree::Edit> = remedy
            .changes
            .iter()
            .filter(|change| usize::from(change.place.file.0) == file)
            .map(|change| yaml_tree::Edit { range: change.place.range(), text: change.text.clone() })
            .collect();
        texts.push(yaml_tree::apply(&source.text, &edits).ok()?);
    }
    Some(texts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use design::Reading;
    use workings::Workings;

    /// What a text is after a change that looks at what was read of it.
    #[track_caller]
    fn changed(text: &str, change: impl Fn(&Inspection) -> Option<Change>) -> Option<String> {
        let reading: Reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
        assert_eq!(reading.faults.len(), 0, "{:?}", reading.faults);
        let workings = Workings::default();
        let today = jiff::civil::date(2026, 6, 1);
        let inspection = Inspection { reading: &reading, design: &reading.design, workings: &workings, today };
        let change = change(&inspection)?;
        let edit = yaml_tree::Edit { range: change.place.range(), text: change.text };
        let after = yaml_tree::apply(text, &[edit]).unwrap();
        let again = design::read("a.ufh.yaml", after.as_bytes(), &|_| Err(String::new()));
        assert_eq!(again.faults.len(), 0, "{after}\n{:?}", again.faults);
        Some(after)
    }

    /// The text with `tails: 5 m` added to its first loop.
    #[track_caller]
    fn with_tails(loops: &str) -> String {
        let text = format!("format: 1\nloops:\n{loops}\nrooms: {{hall: {{}}}}\n");
        let after = changed(&text, |it| add_key(it, it.design.loops.at(0)?.1.value.place, "tails: 5 m")).unwrap();
        let reading = design::read("a.ufh.yaml", after.as_bytes(), &|_| Err(String::new()));
        assert!(reading.design.loops.at(0).unwrap().1.value.tails.is_some(), "{after}");
        let after = after.strip_prefix("format: 1\nloops:\n").unwrap();
        after.strip_suffix("\nrooms: {hall: {}}\n").unwrap().to_string()
    }

    #[test]
    fn a_key_is_added_as_the_block_is_written() {
        for (before, after) in [
            ("  L1: {port: 1}", "  L1: {port: 1, tails: 5 m}"),
            ("  L1: {port: 1, } # the first", "  L1: {port: 1, tails: 5 m } # the first"),
            ("  L1: {}", "  L1: {tails: 5 m}"),
            ("  L1: { }", "  L1: {tails: 5 m }"),
            ("  L1:", "  L1: {tails: 5 m}"),
            ("  L1: {\n    port: 1,\n    room: hall\n  }", "  L1: {\n    port: 1,\n    room: hall, tails: 5 m\n  }"),
            ("  L1: {\n    port: 1 # first\n  }", "  L1: {tails: 5 m, \n    port: 1 # first\n  }"),
            ("  L1:\n    port: 1", "  L1:\n    port: 1\n    tails: 5 m"),
            ("  L1:\n    port: 1 # the first", "  L1:\n    port: 1 # the first\n    tails: 5 m"),
            (
                "    L1:\n        route:\n          - [0, 0]\n          - [1, 0]\n    L2: {}",
                "    L1:\n        route:\n          - [0, 0]\n          - [1, 0]\n        tails: 5 m\n    L2: {}",
            ),
            ("  L1:\r\n    port: 1\r\n  L2: {}", "  L1:\r\n    port: 1\r\n    tails: 5 m\r\n  L2: {}"),
        ] {
            assert_eq!(with_tails(before), after);
        }
    }

    #[test]
    fn a_name_is_quoted_where_it_must_be() {
        assert_eq!(written("W1-a"), "W1-a");
        assert_eq!(written("wall, north"), "\"wall, north\"");
        assert_eq!(written("-"), "\"-\"");
    }

    #[test]
    fn a_key_is_added_at_the_end_of_the_file_and_to_the_design_itself() {
        let text = "format: 1\nloops:\n  L1:\n    port: 1";
        let after = changed(text, |it| add_key(it, it.design.loops.at(0)?.1.value.place, "tails: 5 m"));
        assert_eq!(after.as_deref(), Some("format: 1\nloops:\n  L1:\n    port: 1\n    tails: 5 m"));
        let after = changed("format: 1\nloops: {L1: {}}\n", |it| add_key(it, it.design.place, "rooms:\n  hall: {}"));
        assert_eq!(after.as_deref(), Some("format: 1\nloops: {L1: {}}\nrooms:\n  hall: {}\n"));
    }

    fn sleeves(inspection: &Inspection) -> Vec<Place> {
        inspection.design.loops.at(0).unwrap().1.value.sleeves.iter().map(|it| it.at).collect()
    }

    const WALLS: &str = "\nwalls: {W1: {}, W2: {}}\n";

    #[test]
    fn an_item_is_added_as_the_list_is_written() {
        for (before, after) in [
            ("loops: {L1: {sleeves: [W1]}}", "loops: {L1: {sleeves: [W1, W2]}}"),
            ("loops: {L1: {sleeves: [ {at: W1} ]}}", "loops: {L1: {sleeves: [ {at: W1}, W2 ]}}"),
            ("loops: {L1: {sleeves: W1}}", "loops: {L1: {sleeves: [W1, W2]}}"),
            (
                "loops:\n  L1:\n    sleeves:\n      - W1 # a\n    port: 1",
                "loops:\n  L1:\n    sleeves:\n      - W1 # a\n      - W2\n    port: 1",
            ),
            (
                "loops:\n  L1:\n    sleeves:\n    - at: W1\n      fill: soft",
                "loops:\n  L1:\n    sleeves:\n    - at: W1\n      fill: soft\n    - W2",
            ),
        ] {
            let text = format!("format: 1\n{before}{WALLS}");
            let after = format!("format: 1\n{after}{WALLS}");
            assert_eq!(changed(&text, |it| add_items(it, &sleeves(it), &["W2".to_string()])), Some(after));
        }
        assert_eq!(
            changed("format: 1\nloops: {L1: {sleeves: []}}\n", |it| add_items(it, &sleeves(it), &["W2".to_string()])),
            None
        );
    }

    #[test]
    fn an_entry_is_taken_out_with_its_lines_or_its_comma() {
        for (before, after) in [
            ("  L1:\n    port: 1 # one\n  L2: {}", "  L2: {}"),
            ("  L1: {port: 1}\n  L2: {}", "  L2: {}"),
            ("  L1: {\n    port: 1 }  # one\n  L2: {}", "  L2: {}"),
            ("  {L1: {}, L2: {}}", "  {L2: {}}"),
        ] {
            let text = format!("format: 1\nloops:\n{before}\n");
            let whole = |it: &Inspection| it.reading.definitions.first().map(|first| first.whole);
            let after = format!("format: 1\nloops:\n{after}\n");
            assert_eq!(changed(&text, |it| remove_entry(it, whole(it)?)), Some(after));
        }
        let last = |it: &Inspection| remove_entry(it, it.reading.definitions.last()?.whole);
        let after = changed("format: 1\nloops: {L1: {}, L2: {}}\n", last);
        assert_eq!(after.as_deref(), Some("format: 1\nloops: {L1: {}}\n"));
        assert_eq!(changed("format: 1\nloops: {L1: {}}\n", last), None);
    }

    #[test]
    fn an_item_is_taken_out_with_its_comma_or_its_line() {
        for (before, at, after) in [
            ("loops: {L1: {sleeves: [W1, W2]}}", 0, "loops: {L1: {sleeves: [W2]}}"),
            ("loops: {L1: {sleeves: [W1, {at: W2}]}}", 1, "loops: {L1: {sleeves: [W1]}}"),
            ("loops: {L1: {sleeves: [W1]}}", 0, "loops: {L1: {sleeves: []}}"),
            ("loops: {L1: {sleeves: W1}}", 0, "loops: {L1: {sleeves: []}}"),
            ("loops:\n  L1:\n    sleeves:\n      - W1 # a\n      - W2", 0, "loops:\n  L1:\n    sleeves:\n      - W2"),
            (
                "loops:\n  L1:\n    sleeves:\n      - W1\n    port: 1",
                0,
                "loops:\n  L1:\n    sleeves:\n      []\n    port: 1",
            ),
        ] {
            let text = format!("format: 1\n{before}{WALLS}");
            let after = format!("format: 1\n{after}{WALLS}");
            assert_eq!(changed(&text, |it| remove_item(it, &sleeves(it), at)), Some(after));
        }
    }
}
