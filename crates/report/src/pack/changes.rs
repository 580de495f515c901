//! What is other than it was issued: what the design says and what was worked out of it, thing by thing.

use super::Issue;
use super::identity::Identity;
use super::sheet::{Sheet, Table};
use crate::compare::{became, fate, rows, summary};
use check::Outcome;

pub fn sheet(issue: &Issue, issued: &Outcome) -> Sheet {
    let comparison = check::compare::compare(issued, issue.outcome);
    let (was, is) = (Identity::of(issued), &issue.identity);
    let mut sheet = Sheet::new("changes", "Against the issued design");
    let mut versions = Table::new(["*", "as issued", "this pack"]);
    for (name, was, is) in [
        ("revision", &*was.revision, &*is.revision),
        ("stage", was.stage, is.stage),
        ("issued", &*was.issued, &*is.issued),
        ("SHA-256 begins with", was.mark(), is.mark()),
    ] {
        versions.row([name, was, is]);
    }
    sheet.table(versions);
    sheet.words(format!("{}.", summary(&comparison)));
    sheet.heading("What the design says, and what was worked out");
    let mut table = Table::new(["*what", "as issued", "now"]);
    for thing in &comparison.things {
        table.head(format!("{}{}", thing.at, fate(thing)));
        for [what, before, after] in rows(thing) {
            table.row([what, before, after]);
        }
    }
    if table.rows.is_empty() {
        sheet.words("Nothing has changed.");
    }
    sheet.table(table);
    if !comparison.findings.is_empty() {
        sheet.heading("Findings");
        let mut table = Table::new(["*became", "rule", "at", "what was found"]);
        for change in &comparison.findings {
            let finding = &change.finding;
            table.row([became(change), finding.rule.name.to_string(), change.at.clone(), finding.message.clone()]);
        }
        sheet.table(table);
    }
    sheet
}
