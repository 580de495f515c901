//! What a revision changed, for a comment on a merge request.

use super::{Versions, became, fate, revision, short_rows, summary};
use crate::CAUTION;
use crate::findings::escaped_markdown as escaped;
use crate::words::{sentence, wrapped};

/// How many things and how many findings are shown; hosts cut comments that are too long, or refuse them.
const MOST_SHOWN: usize = 60;

pub fn markdown(versions: &Versions) -> String {
    let comparison = versions.comparison;
    let mut text = format!("<!-- hypocaust compare -->\n## {}\n\n", escaped(&sentence(&versions.heading())));
    text += &format!("{}\n\n**{}**\n", summary(comparison), escaped(&revision(comparison)));
    if !comparison.findings.is_empty() {
        text += "\n| finding | | at | |\n|---|---|---|---|\n";
    }
    for it in comparison.findings.iter().take(MOST_SHOWN) {
        let (severity, rule) = (it.finding.severity.word(), it.finding.rule.name);
        let (at, message) = (escaped(&sentence(&it.at)), escaped(&sentence(&it.finding.message)));
        text += &format!("| {} | **{severity}** `{rule}` | {at} | {message} |\n", became(it));
    }
    if !comparison.things.is_empty() {
        text += "\n| thing | | before | after |\n|---|---|---|---|\n";
    }
    for thing in comparison.things.iter().take(MOST_SHOWN) {
        let name = format!("**{}**{}", escaped(&sentence(&thing.at)), escaped(&sentence(&fate(thing))));
        let rows = short_rows(thing);
        if rows.is_empty() {
            text += &format!("| {name} | | | |\n");
        }
        for (number, [what, was, is]) in rows.iter().enumerate() {
            let name = if number == 0 { name.as_str() } else { "" };
            text += &format!("| {name} | {} | {} | {} |\n", escaped(what), escaped(was), escaped(is));
        }
    }
    if comparison.things.len() > MOST_SHOWN || comparison.findings.len() > MOST_SHOWN {
        text += "\nThere is more, which a comparison on the command line shows.\n";
    }
    text + &format!("\n---\n\n{}", wrapped(CAUTION, 120))
}
