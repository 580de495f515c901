//! What can be folded away, and what a selection grows to.

use crate::outline::At;
use crate::snapshot::Snapshot;
use std::ops::Range;

/// Lines that can be folded, counted from zero: the first one stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fold {
    pub first: u32,
    pub last: u32,
    pub is_comment: bool,
}

/// Every block and list of several lines, and comments that stand together.
pub fn folds(of: &Snapshot) -> Vec<Fold> {
    let (text, lines) = (&of.text, of.lines());
    let line = |offset: usize| lines.line(offset) - 1;
    let mut folds: Vec<Fold> = Vec::new();
    for item in of.outline().all(text) {
        let whole = item.whole();
        let written = text.get(whole.clone()).unwrap_or_default().trim_end().len();
        let (first, last) = (line(whole.start), line(whole.start + written));
        if item.parent().is_some() && last > first && folds.last().is_none_or(|it| it.first != first) {
            folds.push(Fold { first, last, is_comment: false });
        }
    }
    let mut run: Option<Fold> = None;
    for comment in of.outline().comments() {
        let at = line(comment.start);
        let start = lines.start(at + 1);
        if !text.get(start..comment.start).unwrap_or_default().trim().is_empty() {
            continue;
        }
        match &mut run {
            Some(fold) if fold.last + 1 == at => fold.last = at,
            _ => {
                folds.extend(run.filter(|fold| fold.last > fold.first));
                run = Some(Fold { first: at, last: at, is_comment: true });
            }
        }
    }
    folds.extend(run.filter(|fold| fold.last > fold.first));
    folds.sort_by_key(|fold| (fold.first, fold.last));
    folds
}

/// What a selection at a byte grows to, step by step: word, value, entry, block, all.
pub fn selections(of: &Snapshot, offset: usize) -> Vec<Range<usize>> {
    let text = of.text.as_str();
    let offset = text.floor_char_boundary(offset);
    let before = text[..offset]
        .rfind(|c: char| !in_word(c))
        .map_or(0, |at| at + text[at..].chars().next().map_or(1, char::len_utf8));
    let after = text[offset..].find(|c: char| !in_word(c)).map_or(text.len(), |at| offset + at);
    let mut steps: Vec<Range<usize>> = std::iter::once(before..after).collect();
    let mut grow = |range: Range<usize>| {
        let last = &steps[steps.len() - 1];
        if range.start <= last.start && last.end <= range.end && range != *last {
            steps.push(range);
        }
    };
    let items = std::iter::successors(of.outline().at(text, offset), |it: &At| it.parent());
    for item in items {
        item.key().into_iter().for_each(&mut grow);
        grow(item.value());
        grow(item.whole());
    }
    grow(0..text.len());
    steps
}

fn in_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '-' | '_' | '.')
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn snapshot(text: &str) -> Snapshot {
        Snapshot::new("a".into(), None, 1, Arc::new(text.into()))
    }

    #[test]
    fn blocks_and_comments_fold() {
        let of = snapshot(
            "# one\n# two\nrooms:\n  hall: {area: 1 m²,\n    use: living}\n  bath: {}\n# three\nloops:\n  L1:\n    port: 1\n",
        );
        let folds: Vec<(u32, u32, bool)> =
            folds(&of).into_iter().map(|it| (it.first, it.last, it.is_comment)).collect();
        assert_eq!(folds, [(0, 1, true), (2, 5, false), (3, 4, false), (7, 9, false), (8, 9, false)]);
        assert_eq!(super::folds(&snapshot("")), []);
    }

    #[test]
    fn a_selection_grows_to_the_whole() {
        let text = "rooms:\n  hall: {area: 12 m², use: living}\n";
        let of = snapshot(text);
        let steps = selections(&of, text.find("m²").unwrap());
        let steps: Vec<&str> = steps.into_iter().map(|it| &text[it]).collect();
        assert_eq!(
            steps,
            [
                "m²",
                "12 m²",
                "area: 12 m²",
                "{area: 12 m², use: living}",
                "hall: {area: 12 m², use: living}",
                "rooms:\n  hall: {area: 12 m², use: living}",
                text,
            ]
        );
        let of_nothing = selections(&snapshot(""), 0);
        assert!(of_nothing.len() == 1 && of_nothing[0].is_empty());
    }
}
