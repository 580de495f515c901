//! What a revision changed, for people.

use super::{Versions, became, fate, revision, short_rows, summary};
use crate::CAUTION;
use crate::words::{sentence, wrapped};

pub fn text(versions: &Versions) -> String {
    let comparison = versions.comparison;
    let mut text = format!("{}\n", sentence(&versions.heading()));
    let mut follows = false;
    for thing in &comparison.things {
        if thing.only_follows() && !std::mem::replace(&mut follows, true) {
            text += "\nWhat follows\n";
        }
        text += &format!("\n{}{}\n", sentence(&thing.at), sentence(&fate(thing)));
        let rows = short_rows(thing);
        let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
        let (key, before) = (width(0), width(1));
        for [what, was, is] in &rows {
            let arrow = if was.is_empty() || is.is_empty() { "  " } else { "->" };
            let line = format!("  {what:key$}  {was:>before$} {arrow} {is}");
            text += &format!("{}\n", sentence(line.trim_end()));
        }
    }
    if !comparison.findings.is_empty() {
        text += "\nFindings\n";
    }
    for it in &comparison.findings {
        let (severity, rule) = (it.finding.severity.word(), it.finding.rule.name);
        text +=
            &format!("  {}: {severity}[{rule}] {}: {}\n", became(it), sentence(&it.at), sentence(&it.finding.message));
    }
    text += &format!("\n{}\n{}\n\n{}", summary(comparison), sentence(&revision(comparison)), wrapped(CAUTION, 100));
    text
}
